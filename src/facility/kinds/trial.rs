//! A filter among a few places, read as a facility file is: for the tests of the kinds.

use std::collections::BTreeSet;
use std::path::Path;

use super::Sheds;
use crate::facility::model::{Filter, PlaceKind};
use crate::facility::{from_tree, sentences};
use crate::files::{Map, Source, yaml};
use crate::told::{Problem, Problems};

fn read(filter: &str) -> Result<(Filter, String), String> {
    let text = format!(
        "name: Trial\nreport in: US units\nday starts: 7 am\nsupplies:\n  Town: {{}}\nfilters:\n  Trial filter: {filter}\n\
         discharge points:\n  Pond: {{kind: surface water}}\n  Skip: {{kind: hauled away}}\n"
    );
    let problems = Problems::new();
    let tree = yaml::tree(&Source::new("facility.yaml", &text), &problems);
    let facility = tree.and_then(|tree| from_tree(&tree, Path::new(""), &problems));
    let Some(mut facility) = facility else {
        let told: Vec<String> = problems.in_order().iter().map(Problem::to_string_line).collect();
        return Err(told.join("\n"));
    };
    let said = sentences(&facility).into_iter().map(|(_, said)| said).find(|said| said.starts_with("Trial filter "));
    let filter = facility.places.drain(..).find_map(|place| match place.kind {
        PlaceKind::Filter(filter) => Some(*filter),
        _ => None,
    });
    filter.zip(said).ok_or_else(|| "no filter was read".to_owned())
}

/// A filter whose lines hold no error, with its sentence. Washes and changes were read, and pieces are named, where it sheds by them.
pub(super) fn filter(lines: &str) -> (Filter, String) {
    let (filter, sentence) = read(lines).unwrap();
    let sheds = filter.kind.sheds();
    assert_eq!(matches!(sheds, Sheds::Wash { .. }), filter.wash.is_some());
    assert_eq!(matches!(sheds, Sheds::Change { .. }), filter.change.is_some());
    let spends = matches!(sheds, Sheds::Change { .. } | Sheds::Roll { .. });
    assert_eq!(spends, filter.kind.declared().uses_up.is_some());
    (filter, sentence)
}

/// What is told of a filter that holds an error.
pub(super) fn problems(lines: &str) -> String {
    read(lines).map(|(_, sentence)| sentence).unwrap_err()
}

/// The keys of a map are those that its reader asks for. `filter` holds a `?` in the map: a key that nobody asks for stands
/// there, and the message lists those that are.
pub(super) fn keys_are_read(filter: &str, map: &Map) {
    let text = format!("filters:\n  F: {}\n", filter.replace('?', "zzzzzzzz: 1"));
    let problems = Problems::new();
    let tree = yaml::tree(&Source::new("facility.yaml", &text), &problems).unwrap();
    from_tree(&tree, Path::new("."), &problems);
    let told = problems.in_order();
    let unknown = told.iter().find(|problem| problem.to_string_line().contains("`zzzzzzzz` is not known in"));
    let hint = unknown.and_then(|problem| problem.hint.clone()).unwrap_or_else(|| panic!("{text}"));
    let keys = hint.strip_prefix("known here: ").unwrap_or_else(|| panic!("{hint}"));
    let known: BTreeSet<&str> = keys.split(", ").map(|key| key.trim_matches('`')).collect();
    let declared: BTreeSet<&str> = map.all().into_iter().map(|key| key.word()).collect();
    assert_eq!(known, declared, "{filter}");
}

//! What each proposal changes, on the picture of the site.

use crate::compare::{Alternative, Computed};
use crate::files::yaml::{Entry, Node, What};
use crate::page::document::{Diagram, Document};
use crate::report::case::{ComparedCase, middle_run};
use crate::report::picture::{Site, caption, picture_of_change};

/// Writes a picture for each proposal that puts a place in or takes one out.
pub fn write(case: &ComparedCase<'_>, doc: &mut Document) {
    pictures(case, true, doc);
}

/// Writes a picture for each option that alters places and does no more, for the annex.
pub fn of_altered(case: &ComparedCase<'_>, doc: &mut Document) {
    pictures(case, false, doc);
}

fn pictures(case: &ComparedCase<'_>, moves_places: bool, doc: &mut Document) {
    let Some((now, options)) = case.study.options.split_first() else { return };
    let mut headed = false;
    for option in options {
        let names = |of: &Computed| -> Vec<String> {
            of.alternative.facility.places.iter().map(|place| place.name.clone()).collect()
        };
        let (before, after) = (names(now), names(option));
        let moves = before.iter().any(|name| !after.contains(name)) || after.iter().any(|name| !before.contains(name));
        let altered = altered(&now.alternative, &option.alternative);
        if moves != moves_places || !moves && altered.is_empty() {
            continue;
        }
        if !headed {
            doc.heading(2, "What changes on the site");
            headed = true;
        }
        doc.heading(3, option.alternative.name.clone());
        let drawing = drawn(case, now, option, &altered);
        let (words, caption) = (drawing.words(), caption(&drawing, case.facility.system));
        doc.diagram(
            drawing,
            words,
            format!("{caption} All of it computed, without meters and logs.{}", middle_run(case)),
        );
    }
}

fn drawn(case: &ComparedCase<'_>, now: &Computed, option: &Computed, altered: &[String]) -> Diagram {
    let period = case.study.period;
    picture_of_change(
        Site { facility: &now.alternative.facility, ledger: &now.run.ledger, period },
        Site { facility: &option.alternative.facility, ledger: &option.run.ledger, period },
        altered,
    )
}

/// Names of places whose lines differ from those of the site as it stands.
fn altered(now: &Alternative, option: &Alternative) -> Vec<String> {
    let mut out = Vec::new();
    for group in entries(&option.tree) {
        let Some(was) = entries(&now.tree).iter().find(|entry| entry.key == group.key) else { continue };
        for place in entries(&group.value) {
            let same = entries(&was.value).iter().find(|entry| entry.key == place.key);
            if same.is_some_and(|same| same.value != place.value) {
                out.push(place.key.clone());
            }
        }
    }
    out
}

/// What a proposal types anew of places that stay, a place each: `Sand beds: washes every 24 h, not by log, or every 12 h`.
pub fn typed_anew(now: &Alternative, option: &Alternative) -> Vec<String> {
    let mut out = Vec::new();
    for group in entries(&option.tree) {
        let Some(was) = entries(&now.tree).iter().find(|entry| entry.key == group.key) else { continue };
        for place in entries(&group.value) {
            let Some(old) = entries(&was.value).iter().find(|entry| entry.key == place.key) else { continue };
            let lines: Vec<String> = entries(&place.value)
                .iter()
                .filter_map(|line| {
                    let before = entries(&old.value).iter().find(|known| known.key == line.key);
                    match before {
                        Some(known) if said(&known.value) == said(&line.value) => None,
                        Some(known) => {
                            Some(format!("{} {} (as it stands: {})", line.key, said(&line.value), said(&known.value)))
                        }
                        None => Some(format!("{} {}", line.key, said(&line.value))),
                    }
                })
                .collect();
            if !lines.is_empty() {
                out.push(format!("{}: {}", place.key, lines.join("; ")));
            }
        }
    }
    out
}

/// A value as it is typed, without its signs.
fn said(node: &Node) -> String {
    match &node.what {
        What::Map(entries) => {
            let all = entries.iter().map(|of| format!("{} {}", of.key, said(&of.value))).collect::<Vec<_>>().join(", ");
            all.strip_prefix("or ").map_or(all.clone(), str::to_owned)
        }
        What::List(all) => all.iter().map(said).collect::<Vec<_>>().join(", "),
        What::Text(text) => text.clone(),
        What::Nothing => "nothing".to_owned(),
    }
}

fn entries(node: &Node) -> &[Entry] {
    match &node.what {
        What::Map(entries) => entries,
        _ => &[],
    }
}

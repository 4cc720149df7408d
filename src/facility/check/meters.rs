//! A meter sits on a way that exists, and on one only.

use super::Checked;
use crate::facility::graph::{Carries, Way};
use crate::facility::model::Meter;
use crate::told::{Problem, nearest};

pub(super) fn all(checked: &Checked, meters: &[Meter]) {
    for (at, meter) in meters.iter().enumerate() {
        let twin = meters.iter().take(at).find(|other| {
            let is_one_water = match (&other.what, &meter.what) {
                (Some(one), Some(two)) => one.eq_ignore_ascii_case(two),
                _ => true,
            };
            (other.from, other.to) == (meter.from, meter.to) && is_one_water
        });
        if let Some(twin) = twin {
            // Which of them counts, or whether both do, decides what a limit is held against.
            checked.problems.add(
                Problem::error(&meter.place, format!("`{}` sits on the same way as `{}`", meter.name, twin.name)).hint(
                    "a meter that took another's place is one meter with a row `exchanged` in its records; for two side \
                     by side type their sum; of two in a row keep the one that the permit names",
                ),
            );
            continue;
        }
        let (Some(from), Some(to)) = (checked.get(meter.from), checked.get(meter.to)) else {
            continue;
        };
        let ways: Vec<&Way> =
            checked.graph.ways_between(meter.from, meter.to).filter(|way| way.carries.is_metered()).collect();
        // What fills or feeds a place may be what could not be read.
        if ways.is_empty() && (!checked.is_whole() || checked.problems.has_errors()) {
            continue;
        }
        if ways.is_empty() {
            let others = ends(checked, checked.graph.ways_from(meter.from));
            let hint = if others.is_empty() {
                format!("no water leaves `{}` in this file", from.name)
            } else {
                format!("from `{}` water goes to {others}", from.name)
            };
            checked.problems.add(
                Problem::error(
                    &meter.place,
                    format!("`{}` sits on a way that is not there: `{}` to `{}`", meter.name, from.name, to.name),
                )
                .hint(hint),
            );
            continue;
        }
        let mut carried: Vec<Carries> = ways.iter().map(|way| way.carries).collect();
        carried.sort();
        carried.dedup();
        let words: Vec<&str> = carried.iter().map(|carries| carries.words()).collect();
        let list = words.iter().map(|word| format!("`{word}`")).collect::<Vec<_>>().join(" or ");
        match &meter.what {
            None if carried.len() > 1 => checked.problems.add(
                Problem::error(
                    &meter.place,
                    format!(
                        "`{}` to `{}` is more than one way, and `{}` doesn't say which",
                        from.name, to.name, meter.name
                    ),
                )
                .hint(format!("write `what: {}`; the ways carry {list}", words.first().unwrap_or(&"water"))),
            ),
            Some(what) if !words.iter().any(|word| word.eq_ignore_ascii_case(what)) => {
                let near = nearest(what, words.iter().copied())
                    .map(|near| format!("did you mean `{near}`? "))
                    .unwrap_or_default();
                checked.problems.add(
                    Problem::error(&meter.place, format!("no `{what}` goes from `{}` to `{}`", from.name, to.name))
                        .hint(format!("{near}what goes there is {list}")),
                );
            }
            _ => {}
        }
    }
}

fn ends<'a>(checked: &Checked, ways: impl Iterator<Item = &'a Way>) -> String {
    let mut names: Vec<String> = Vec::new();
    for way in ways {
        let name = format!("`{}`", checked.name(way.to));
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names.join(", ")
}

//! Records that contradict one another: a sample of what flows from an outfall that was dry all that day, a count that
//! alone does not say since when.

use std::collections::{BTreeMap, BTreeSet};

use crate::facility::model::{DischargeKind, Facility, PlaceKind};
use crate::records::row::{Entry, Subject};
use crate::records::words::What;
use crate::records::{Look, Sample};
use crate::told::{Place, Problem, Problems};

/// Tells samples of a discharge to surface water on a day on which every look says dry.
pub(crate) fn dry_samples(facility: &Facility, samples: &[Sample], looks: &[Look], problems: &Problems) {
    let mut told = BTreeSet::new();
    let mut by_day: BTreeMap<_, Vec<&Look>> = BTreeMap::new();
    for look in looks {
        by_day.entry((look.at, look.day)).or_default().push(look);
    }
    for sample in samples {
        let Some(site) = facility.get(sample.at) else {
            continue;
        };
        let is_outfall =
            matches!(&site.kind, PlaceKind::DischargePoint(point) if point.kind == DischargeKind::SurfaceWater);
        let Some(of_day) = by_day.get(&(sample.at, sample.day)) else { continue };
        let Some(first) = of_day.first() else { continue };
        let dry = is_outfall && of_day.iter().all(|look| !look.flowing);
        if dry && told.insert((sample.at.0, sample.day)) {
            problems.add(
                Problem::warning(
                    &sample.source.place,
                    format!("a sample of {} on {}, and the look of that day says dry", site.name, sample.day),
                )
                .related(&first.source.place, "the look")
                .hint("look at both dates and at the place; a sample of it says that it flowed"),
            );
        }
    }
}

/// A log counts since its line before if so many in a hundred of its lines say so. Common practice, no source.
const MOST_SAY_SO: usize = 90;

/// Tells a count whose note does not say "since the last", where those of nearly all others of its kind do.
/// The places of those that were told.
pub(crate) fn counts_since(entries: &[Entry], problems: &Problems) -> Vec<Place> {
    let mut told = Vec::new();
    let mut series: BTreeMap<(Subject, What), Vec<&Entry>> = BTreeMap::new();
    for entry in entries.iter().filter(|entry| entry.says_something()) {
        if matches!(entry.what, What::Washes | What::Changed | What::Amount) {
            series.entry((entry.subject, entry.what)).or_default().push(entry);
        }
    }
    for all in series.into_values() {
        // The first has nothing before it.
        let later = all.get(1..).unwrap_or_default();
        let since = later.iter().filter(|entry| entry.since_the_last().is_some()).count();
        if since * 100 < later.len() * MOST_SAY_SO {
            continue;
        }
        for entry in later.iter().filter(|entry| entry.since_the_last().is_none()) {
            told.push(entry.place());
            problems.add(
                Problem::warning(
                    &entry.place(),
                    format!(
                        "{}, {}: this count is taken for its own day alone, and the others since the last line",
                        entry.row.name.text.trim(),
                        entry.row.stamp.date
                    ),
                )
                .hint("write `since the last line` in its note"),
            );
        }
    }
    told
}

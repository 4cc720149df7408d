//! Washes, wash minutes and changes counted in a log.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use crate::facility::model::{Facility, PlaceId};
use crate::quantity::{Cell, DayStart};
use crate::records::lost;
use crate::records::lost::says_lost;
use crate::records::meters::days_covered;
use crate::records::row::{Entry, SinceTheLast, Subject};
use crate::records::words::What;
use crate::records::{Repair, WashCount};
use crate::told::{Problem, Problems};
use crate::weather::snapped;

/// The counts of all filters, in order of time.
pub(crate) fn counts(
    facility: &Facility,
    entries: &[Entry],
    repairs: &mut Vec<Repair>,
    problems: &Problems,
) -> Vec<WashCount> {
    let mut minutes = minutes(entries, problems);
    let mut counts = Vec::new();
    let mut earlier = Earlier::default();
    let mut long: BTreeMap<(usize, What), Vec<(&Entry, u32)>> = BTreeMap::new();
    for entry in entries.iter().filter(|entry| entry.says_something() || says_lost(entry)) {
        if says_lost(entry) {
            if let (Subject::Place(place), What::Washes | What::Changed) = (entry.subject, entry.what) {
                earlier.counts.entry((place, entry.what)).or_default().push(entry);
            }
            continue;
        }
        if let (What::Reading, Subject::Meter(meter)) = (entry.what, entry.subject)
            && let Some(meter) = facility.meters.get(meter)
        {
            earlier.readings.entry(meter.from.0).or_default().push(entry);
        }
        let Subject::Place(place) = entry.subject else {
            continue;
        };
        if !matches!(entry.what, What::Washes | What::Changed) {
            continue;
        }
        let covered = days_of(facility, place, entry, &earlier, repairs);
        earlier.counts.entry((place, entry.what)).or_default().push(entry);
        let minutes = minutes.remove(&(place, entry.at)).map(|(value, _)| value);
        let Some(count) = count_of(entry, problems) else {
            continue;
        };
        let Some((first_day, days)) = covered else {
            continue;
        };
        if entry.since_the_last().is_some() {
            long.entry((place, entry.what)).or_default().push((entry, days));
        }
        counts.push(WashCount {
            filter: PlaceId(place),
            first_day,
            days,
            count,
            minutes,
            changes: entry.what == What::Changed,
            source: entry.source(),
        });
    }
    for entry in entries.iter().filter(|entry| !entry.says_something() || says_lost(entry)) {
        if matches!(entry.what, What::Washes | What::Changed) {
            repairs.push(Repair {
                place: entry.place(),
                sentence: format!(
                    "{}, {}: no count is written; it is not zero, and the washes of that day are computed",
                    entry.row.name.text.trim(),
                    entry.row.stamp.date
                ),
            });
        }
    }
    long.values().for_each(|counts| lost::tell(counts, problems));
    for (_, entry) in minutes.into_values() {
        problems.add(
            Problem::error(&entry.place(), "wash minutes without a count of washes at the same date and time")
                .hint("write the number of washes in a row of its own: washes"),
        );
    }
    counts
}

type Minutes<'a> = BTreeMap<(usize, chrono::NaiveDateTime), (f64, &'a Entry)>;

fn minutes<'a>(entries: &'a [Entry], problems: &Problems) -> Minutes<'a> {
    let mut all = BTreeMap::new();
    for entry in entries.iter().filter(|entry| entry.what == What::WashMinutes) {
        let Subject::Place(place) = entry.subject else {
            continue;
        };
        match &entry.cell {
            Cell::Number { value, .. } if !value.is_negative() => {
                let factor = match entry.unit() {
                    None => Some(1.0),
                    Some((unit, _)) => match unit.to_lowercase().as_str() {
                        "min" | "mins" | "minutes" | "minute" => Some(1.0),
                        "h" | "hour" | "hours" | "hr" | "hrs" => Some(60.0),
                        "s" | "sec" | "seconds" => Some(1.0 / 60.0),
                        _ => None,
                    },
                };
                match factor {
                    Some(factor) => {
                        all.insert((place, entry.at), (value.to_f64() * factor, entry));
                    }
                    None => problems
                        .add(Problem::error(&entry.place(), "wash minutes are told in min, s or h").hint("write min")),
                }
            }
            Cell::Blank | Cell::Missing(_) => {}
            _ => problems.add(
                Problem::error(&entry.place(), "wash minutes are a number, not below zero").hint("write it like 8"),
            ),
        }
    }
    all
}

fn count_of(entry: &Entry, problems: &Problems) -> Option<u32> {
    match &entry.cell {
        Cell::Number { value, .. } => match value.as_whole().and_then(|whole| u32::try_from(whole).ok()) {
            Some(count) => Some(count),
            None => {
                problems.add(
                    Problem::error(&entry.place(), format!("`{value}` is not a count: washes and changes are whole"))
                        .hint("write a whole number, 0 if there was none"),
                );
                None
            }
        },
        Cell::Word(word) if matches!(word.as_str(), "off" | "none" | "nil" | "no" | "zero") => Some(0),
        Cell::Word(word) if word == "yes" && entry.what == What::Changed => Some(1),
        // Strokes of a tally.
        Cell::Word(word) if word.len() <= 5 && word.bytes().all(|stroke| matches!(stroke, b'i' | b'|')) => {
            u32::try_from(word.len()).ok()
        }
        _ => {
            problems.add(
                Problem::error(&entry.place(), format!("`{}` is not a count", entry.row.value.text.trim()))
                    .hint("write a whole number, 0 if there was none"),
            );
            None
        }
    }
}

/// What came before in time: counts by filter and word, readings by the filter that the meter follows.
#[derive(Default)]
struct Earlier<'a> {
    counts: BTreeMap<(usize, What), Vec<&'a Entry>>,
    readings: BTreeMap<usize, Vec<&'a Entry>>,
}

/// What is told of a count since the last one that leaves no time between the two.
pub(crate) fn no_day_between(before: &Entry, entry: &Entry, day: DayStart) -> String {
    let name = entry.row.name.text.trim();
    format!(
        "{name}, {}: `{}` {} since the last row, and the row of {} before it counts all of its own day, up to {}: no time is left between \
         the two; left out. If it is of {} alone, take `since the last` out of its note",
        entry.row.stamp.date,
        entry.row.value.text.trim(),
        entry.what.words(),
        before.row.stamp.date,
        before.closes_at(day).format("%Y-%m-%d %H:%M"),
        entry.row.stamp.date
    )
}

/// The days a count covers: its own day, or those since the last count or reading.
fn days_of<'a>(
    facility: &Facility,
    place: usize,
    entry: &Entry,
    earlier: &Earlier<'a>,
    repairs: &mut Vec<Repair>,
) -> Option<(NaiveDate, u32)> {
    let Some(since) = entry.since_the_last() else {
        let (first, last) = entry.row.covers.unwrap_or((entry.day, entry.day));
        return Some((first, u32::try_from((last - first).num_days() + 1).unwrap_or(1)));
    };
    let (day, starts) = (facility.day(), facility.day_starts);
    let latest = |entries: Option<&Vec<&'a Entry>>| {
        let entries = entries?;
        entries.iter().rev().find(|other| other.closes_at(day) < entry.at).copied()
    };
    let count = latest(earlier.counts.get(&(place, entry.what)));
    let reading = latest(earlier.readings.get(&place));
    let last = match since {
        SinceTheLast::Entry => count.or(reading),
        SinceTheLast::Reading => match (count, reading) {
            (Some(a), Some(b)) => Some(if a.closes_at(day) > b.at { a } else { b }),
            (a, b) => a.or(b),
        },
    };
    let Some(last) = last else {
        let name = entry.row.name.text.trim();
        let before = earlier.counts.get(&(place, entry.what)).and_then(|counts| counts.last());
        repairs.push(Repair {
            place: entry.place(),
            sentence: before.map(|before| no_day_between(before, entry, day)).unwrap_or_else(|| format!(
                "{name}, {}: `{}` {} since the last count, and none is on file before it; left out. To count them, say from when: \
                 a row of the last day before them, with `{name}, {}, 0`",
                entry.row.stamp.date,
                entry.row.value.text.trim(),
                entry.what.words(),
                entry.what.words()
            )),
        });
        return None;
    };
    let (from, _) = snapped(last.closes_at(day), starts);
    let (to, _) = snapped(entry.at, starts);
    Some(days_covered(from, to, day))
}

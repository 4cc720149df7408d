//! Dates of records that were hardly meant: out of the order of their sheet, far from all others, a slip that came
//! months after its sample.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use crate::records::row::Entry;
use crate::records::words::What;
use crate::told::{Place, Problem, Problems};
use crate::weather::tell_order;

/// A row or two so many days from all others are asked about: a year off by one lies less than a year from a year's
/// records. Common practice, no source.
const FAR_DAYS: i64 = 300;

/// How many rows may be far from the others and still be asked about.
const FEW: usize = 2;

/// A laboratory's slip comes within weeks. Common practice, no source.
const SLIP_DAYS: i64 = 60;

/// Tells them. `entries` stand in order of time.
pub(crate) fn tell(entries: &[Entry], problems: &Problems) {
    let told = tell_by_sheet(entries, problems);
    tell_far(entries, &told, problems);
    for entry in entries.iter().filter(|entry| entry.what == What::Sample) {
        let taken = entry.row.stamp.date;
        let days = entry.row.received.map_or(0, |received| (received - taken).num_days());
        if days > SLIP_DAYS {
            problems.add(
                Problem::warning(
                    &entry.row.stamp_place,
                    format!("the result came {days} days after the sample was taken on {taken}"),
                )
                .hint("look at both dates; the day of receipt starts the clock of a notice"),
            );
        }
    }
}

/// The rows that break their sheet's order are told; their places.
fn tell_by_sheet(entries: &[Entry], problems: &Problems) -> Vec<Place> {
    let mut sheets: BTreeMap<&str, BTreeMap<u32, &Entry>> = BTreeMap::new();
    for entry in entries {
        let place = &entry.row.stamp_place;
        sheets.entry(&*place.file).or_default().entry(place.line).or_insert(entry);
    }
    let mut told = Vec::new();
    for rows in sheets.into_values() {
        let rows: Vec<&Entry> = rows.into_values().collect();
        for block in blocks(&rows) {
            let dated: Vec<(NaiveDate, Place)> =
                block.iter().map(|entry| (entry.row.stamp.date, entry.row.stamp_place.clone())).collect();
            told.extend(tell_order(&dated, problems));
        }
    }
    told
}

/// A sheet may hold one thing after another, each from its first day on: blocks of rows that share no kind of row.
fn blocks<'a>(rows: &[&'a Entry]) -> Vec<Vec<&'a Entry>> {
    let kind = |entry: &'a Entry| {
        let parameter = entry.row.parameter.as_ref().map_or("", |text| text.text.as_str());
        (entry.what, entry.row.name.text.as_str(), parameter)
    };
    let mut last: BTreeMap<_, usize> = BTreeMap::new();
    for (at, entry) in rows.iter().enumerate() {
        last.insert(kind(entry), at);
    }
    let mut out: Vec<Vec<&Entry>> = Vec::new();
    let mut ends = 0;
    for (at, entry) in rows.iter().enumerate() {
        match out.last_mut() {
            Some(block) if at <= ends => block.push(entry),
            _ => out.push(vec![entry]),
        }
        ends = ends.max(last.get(&kind(entry)).copied().unwrap_or(at));
    }
    out
}

/// A row or two that lie far from all others are told: the last record decides what is overdue.
fn tell_far(entries: &[Entry], told: &[Place], problems: &Problems) {
    let days = |near: &Entry, other: &Entry| (other.row.stamp.date - near.row.stamp.date).num_days().abs();
    let tell = |alone: &[&Entry], days: i64| {
        for entry in alone {
            let far = if days > 366 { "more than a year".to_owned() } else { format!("{days} days") };
            problems.add(
                Problem::warning(
                    &entry.row.stamp_place,
                    format!("{} is {far} from all other records", entry.row.stamp.date),
                )
                .hint("look at the year"),
            );
        }
    };
    let entries: Vec<&Entry> = entries.iter().filter(|entry| !told.contains(&entry.row.stamp_place)).collect();
    if entries.len() <= 2 * FEW {
        return;
    }
    for count in 1..=FEW {
        let (first, rest) = entries.split_at(count.min(entries.len()));
        if let (Some(a), Some(b)) = (first.last(), rest.first())
            && days(a, b) > FAR_DAYS
        {
            tell(first, days(a, b));
        }
        let (rest, last) = entries.split_at(entries.len().saturating_sub(count));
        if let (Some(a), Some(b)) = (rest.last(), last.first())
            && days(a, b) > FAR_DAYS
        {
            tell(last, days(a, b));
        }
    }
}

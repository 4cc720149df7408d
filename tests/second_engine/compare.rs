//! Holds the ledger of the engine against the days of the second one.

use std::collections::BTreeSet;

use bywash::balance::{Ledger, Node, Parcel, Way};
use bywash::facility::model::Facility;

use super::load::DayOut;
use super::solids;

/// Relative difference that two orders of the same sums may have.
const RELATIVE: f64 = 1e-9;
/// m³ or kg below which a difference is nothing.
const ABSOLUTE: f64 = 1e-9;
/// A count may differ when a trigger came this near to the next event.
const TIE: f64 = 1e-9;

/// The first thing on which the engines differ.
#[derive(Debug, Clone, PartialEq)]
pub enum Verdict {
    /// Nothing.
    Agree,
    /// A wash count, on a day on which it hung on less than a billionth: what follows that day is not compared.
    Tie,
    /// Something else, in words.
    Differ(String),
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= RELATIVE * a.abs().max(b.abs()) + ABSOLUTE
}

fn name(facility: &Facility, node: Node) -> String {
    match node {
        Node::Place(id) => facility.places[id.0].name.clone(),
        Node::Sludge(id) => format!("sludge of {}", facility.places[id.0].name),
        outside => format!("{outside:?}"),
    }
}

/// Compares every entry, wash count, closing volume and held mass, day by day; stops at the first difference.
pub fn compare(facility: &Facility, first: &Ledger, second: &[DayOut]) -> Verdict {
    for (day, ours) in second.iter().enumerate() {
        for (filter, count) in &ours.washes {
            let theirs = first.filter(*filter).and_then(|series| series.events.get(day)).copied().unwrap_or(0);
            if f64::from(theirs) != *count {
                if ours.ties.get(filter).is_some_and(|tie| *tie <= TIE) {
                    return Verdict::Tie;
                }
                let who = name(facility, Node::Place(*filter));
                return Verdict::Differ(format!(
                    "day {day}: `{who}` washes {theirs} times, by the second engine {count}"
                ));
            }
        }
        if let Some(difference) = entries(facility, first, day, ours).or_else(|| contents(facility, first, day, ours)) {
            return Verdict::Differ(format!("day {day}: {difference}"));
        }
    }
    Verdict::Agree
}

fn entries(facility: &Facility, first: &Ledger, day: usize, ours: &DayOut) -> Option<String> {
    let ways: BTreeSet<Way> = first.ways().iter().copied().chain(ours.entries.keys().copied()).collect();
    let parcels = solids::parcels(facility);
    let mut all = Vec::new();
    for way in ways {
        let index = first.way(&way);
        let load = ours.entries.get(&way);
        let mut pairs =
            vec![("water".to_owned(), index.map_or(0.0, |i| first.water(day, i)), load.map_or(0.0, |load| load.water))];
        for kind in 0..facility.solids.len() {
            for class in 0..8 {
                let parcel = Parcel { kind, class };
                let at = first.parcels().iter().position(|p| *p == parcel);
                let theirs = index.zip(at).and_then(|(i, p)| first.solids_by_parcel(day, i).get(p).copied());
                let at = parcels.iter().position(|(p, _)| *p == parcel);
                let mine = load.zip(at).and_then(|(load, p)| load.solids.get(p).copied());
                let what = format!("{} {class}", facility.solids[kind].name);
                pairs.push((what, theirs.unwrap_or(0.0), mine.unwrap_or(0.0)));
            }
        }
        for (c, dissolved) in facility.dissolved.iter().enumerate() {
            let theirs = index.map_or(0.0, |i| first.dissolved(day, i, c));
            let mine = load.and_then(|load| load.dissolved.get(c).copied()).unwrap_or(0.0);
            pairs.push((dissolved.name.clone(), theirs, mine));
        }
        for (what, theirs, mine) in pairs {
            if !near(theirs, mine) {
                all.push(format!(
                    "`{}` to `{}`, {}: {what} {theirs}, by the second engine {mine}",
                    name(facility, way.from),
                    name(facility, way.to),
                    way.purpose.words(),
                ));
            }
        }
    }
    (!all.is_empty()).then(|| all.join("\n    "))
}

fn contents(facility: &Facility, first: &Ledger, day: usize, ours: &DayOut) -> Option<String> {
    for (place, load) in &ours.closing {
        let theirs = first.store(*place)?;
        for (what, theirs, mine) in
            [("water", theirs.volume_m3.get(day), load.water), ("solids", theirs.solids_kg.get(day), load.solids_kg())]
        {
            let theirs = theirs.copied().unwrap_or(f64::NAN);
            if !near(theirs, mine) {
                let who = name(facility, Node::Place(*place));
                return Some(format!("`{who}` holds {what} {theirs}, by the second engine {mine}"));
            }
        }
    }
    for (place, mine) in &ours.held {
        let theirs = first.filter(*place).and_then(|series| series.held_kg.get(day)).copied().unwrap_or(0.0);
        // What is held after washes is a difference of all that came.
        let came: f64 = ours
            .entries
            .iter()
            .filter(|(way, _)| way.to == Node::Place(*place))
            .map(|(_, load)| load.solids_kg())
            .sum();
        if (theirs - mine).abs() > RELATIVE * (mine.abs() + came) + ABSOLUTE {
            let who = name(facility, Node::Place(*place));
            return Some(format!("`{who}` holds {theirs} kg, by the second engine {mine}"));
        }
    }
    None
}

//! Two engines, written apart from the same rules, must tell the same story.

#![cfg(test)]

#[cfg(test)]
mod second_engine;

use std::collections::BTreeMap;

use bywash::balance::{Draw, Ledger, Node};
use bywash::facility::Graph;
use bywash::facility::model::{Facility, PlaceId, PlaceKind};
use chrono::Days;
use second_engine::compare::{Verdict, compare};
use second_engine::generator::{WITH_MEMBRANES, case};
use second_engine::load::DayOut;
use second_engine::run;

/// A generator that makes facilities the program would refuse tests nothing.
#[test]
fn every_random_facility_has_no_loop_within_a_day() {
    for seed in 0..500 {
        let case = case(seed, 20);
        assert_eq!(Graph::of(&case.facility).order().len(), case.facility.places.len(), "seed {seed}");
    }
}

/// Everything that arrives at a place leaves it or stays: for water and for solids, place by place and day by day.
#[test]
fn no_place_of_the_second_engine_makes_or_loses_water_or_solids() {
    for seed in 0..100 {
        let case = case(seed, 100);
        let days = run(&case.facility, &case.weather, &case.timeline, case.first, case.days);
        let mut before: BTreeMap<PlaceId, (f64, f64)> = BTreeMap::new();
        for (d, day) in days.iter().enumerate() {
            let mut net: BTreeMap<PlaceId, (f64, f64, f64)> = BTreeMap::new();
            for (way, load) in &day.entries {
                assert!(
                    load.water >= 0.0 && load.solids.iter().all(|m| *m >= 0.0),
                    "seed {seed} day {d} {way:?} {load:?}"
                );
                for (node, sign) in [(way.from, -1.0), (way.to, 1.0)] {
                    if let Node::Place(place) = node {
                        let sum = net.entry(place).or_default();
                        sum.0 += sign * load.water;
                        sum.1 += sign * load.solids_kg();
                        sum.2 += load.water + load.solids_kg();
                    }
                }
            }
            let mut now: BTreeMap<PlaceId, (f64, f64)> = BTreeMap::new();
            for (place, held) in &day.held {
                now.insert(*place, (0.0, *held));
            }
            for (place, load) in &day.closing {
                now.insert(*place, (load.water, load.solids_kg()));
            }
            for (place, (water, solids, through)) in net {
                if matches!(case.facility.places[place.0].kind, PlaceKind::Supply(_) | PlaceKind::DischargePoint(_)) {
                    continue;
                }
                let after = now.get(&place).copied().unwrap_or_default();
                let Some(first) = before.get(&place).copied().or((d > 0).then_some((0.0, 0.0))) else {
                    continue;
                };
                let allowed = 1e-9 * through + 1e-9;
                assert!(
                    (water - (after.0 - first.0)).abs() <= allowed && (solids - (after.1 - first.1)).abs() <= allowed,
                    "seed {seed} day {d} {place:?} {:?}: in less out {water} {solids}, stored {first:?} {after:?}",
                    case.facility.places[place.0].name
                );
            }
            before = now;
        }
    }
}

/// Facilities and days of a run: `BYWASH_FACILITIES` and `BYWASH_DAYS` ask for more (or fewer) of them.
fn size() -> (u64, usize) {
    let (facilities, days) = if cfg!(debug_assertions) { (80, 120) } else { (1000, 400) };
    let asked = std::env::var("BYWASH_FACILITIES").ok().and_then(|text| text.parse().ok());
    let of_days = std::env::var("BYWASH_DAYS").ok().and_then(|text| text.parse().ok());
    (asked.unwrap_or(facilities), of_days.unwrap_or(days))
}

/// Share of the random facilities on which the engines must agree to the last entry of the last day.
///
/// All of 1,000 did over 400 days when last counted. One is left to rounding, which another machine's powers may turn: where
/// water is drawn, caught and sent back every day, what it leaves grows with every round. Each run prints the first
/// difference of every facility on which they part (`BYWASH_ONLY` prints one in full, `BYWASH_SHOW` a day of it). The share
/// must never be put down. Counted with membranes on 2026-11-29: of 1,200 two part, 424 from day 100 by 5e-8 of what a sounding
/// moves, and 1087 from day 88 by 6e-9 kg of peat; neither is explained yet, and 1087 lies beyond what a usual run takes.
fn agree_at_least() -> f64 {
    if cfg!(debug_assertions) { 1.0 } else { 0.999 }
}

/// All entries and contents of a day, first engine and second.
fn show(facility: &Facility, ledger: &Ledger, second: &[DayOut], day: usize) {
    let name = |node: Node| match node {
        Node::Place(id) => facility.places[id.0].name.clone(),
        other => format!("{other:?}"),
    };
    let ours = &second[day];
    println!("{:?} steps a day", facility.steps_per_day);
    for meter in &facility.meters {
        let (from, to) = (name(Node::Place(meter.from)), name(Node::Place(meter.to)));
        println!("meter on {from} to {to}, {:?}", meter.what);
    }
    for (index, place) in facility.places.iter().enumerate() {
        let takes = match &place.kind {
            PlaceKind::Use(of) => &of.takes_from,
            PlaceKind::Transfer(of) => &of.takes_from,
            PlaceKind::Filter(of) => &of.takes_from,
            _ => continue,
        };
        let from: Vec<String> = takes.iter().map(|id| name(Node::Place(*id))).collect();
        println!("{} takes from {from:?}", name(Node::Place(PlaceId(index))));
    }
    for way in ledger.ways() {
        let index = ledger.way(way).expect("a way of the ledger");
        let mine = ours.entries.get(way);
        let (water, solids) = mine.map_or((0.0, 0.0), |l| (l.water, l.solids_kg()));
        let theirs: f64 = ledger.solids_by_parcel(day, index).iter().sum();
        println!(
            "{} to {}, {}: {} | {water} m³, {theirs} | {solids} kg",
            name(way.from),
            name(way.to),
            way.purpose.words(),
            ledger.water(day, index),
        );
    }
    for (place, load) in &ours.closing {
        let theirs = ledger.store(*place).expect("a store");
        println!(
            "{} holds {} | {} m³, {} | {} kg",
            name(Node::Place(*place)),
            theirs.volume_m3[day],
            load.water,
            theirs.solids_kg[day],
            load.solids_kg()
        );
    }
    for (place, held) in &ours.held {
        let theirs = ledger.filter(*place).map_or(0.0, |f| f.held_kg[day]);
        println!(
            "{} holds {theirs} | {held} kg, events {:?} | {:?}, tie {:?}",
            name(Node::Place(*place)),
            ledger.filter(*place).map(|f| f.events[day]),
            ours.washes.get(place),
            ours.ties.get(place)
        );
        if let PlaceKind::Filter(filter) = &facility.places[place.0].kind {
            println!("  {:?}", second_engine::filters::rule(filter, 24.0));
        }
    }
}

#[test]
fn two_engines_written_apart_agree_on_random_facilities() {
    let (facilities, days) = size();
    let (mut agree, mut ties) = (0_u32, 0_u32);
    // One facility alone, with everything in which the engines differ on its first such day.
    let only: Option<u64> = std::env::var("BYWASH_ONLY").ok().and_then(|text| text.parse().ok());
    let membranes = WITH_MEMBRANES..WITH_MEMBRANES + facilities / 5;
    let all: Vec<u64> = only.map_or_else(|| (0..facilities).chain(membranes).collect(), |seed| vec![seed]);
    let facilities = all.len();
    for seed in all {
        let case = case(seed, days);
        let second = run(&case.facility, &case.weather, &case.timeline, case.first, case.days);
        let last = case.first.checked_add_days(Days::new(days as u64 - 1)).expect("a date");
        let period = (case.first, last);
        let first = bywash::balance::run(&case.facility, &case.weather, &case.timeline, period, &Draw::MIDDLE)
            .unwrap_or_else(|problems| panic!("facility {seed} is refused: {problems:?}"));
        match compare(&case.facility, &first.ledger, &second) {
            Verdict::Agree => agree += 1,
            Verdict::Tie => ties += 1,
            Verdict::Differ(how) if only.is_some() => {
                println!("facility {seed}: {how}");
                if let Some(day) = std::env::var("BYWASH_SHOW").ok().and_then(|d| d.parse().ok()) {
                    show(&case.facility, &first.ledger, &second, day);
                }
            }
            Verdict::Differ(how) => println!("facility {seed}: {}", how.lines().next().unwrap_or_default()),
        }
    }
    if only.is_some() {
        return;
    }
    println!("{agree} of {facilities} facilities agree over {days} days; {ties} were left at a tie");
    assert!(f64::from(agree) >= agree_at_least() * facilities as f64, "only {agree} of {facilities} agree");
    assert!(f64::from(ties) <= 0.01 * facilities as f64 + 1.0, "{ties} ties are too many to be chance");
}

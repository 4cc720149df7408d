//! Two engines, written apart from the same rules, must tell the same story.

#[cfg(test)]
mod second_engine;

use std::collections::BTreeMap;

use bywash::balance::Node;
use bywash::facility::Graph;
use bywash::facility::model::{PlaceId, PlaceKind};
use second_engine::generator::case;
use second_engine::run;

/// A generator that makes facilities the program would refuse tests nothing.
#[test]
fn every_random_facility_has_no_loop_within_a_day() {
    for seed in 0..500 {
        let case = case(seed, 20);
        assert_eq!(
            Graph::of(&case.facility).order().len(),
            case.facility.places.len(),
            "seed {seed}"
        );
    }
}

/// Everything that arrives at a place leaves it or stays: for water and for solids, place by place and day by day.
#[test]
fn no_place_of_the_second_engine_makes_or_loses_water_or_solids() {
    for seed in 0..100 {
        let case = case(seed, 100);
        let days = run(
            &case.facility,
            &case.weather,
            &case.timeline,
            case.first,
            case.days,
        );
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
                if matches!(
                    case.facility.places[place.0].kind,
                    PlaceKind::Supply(_) | PlaceKind::DischargePoint(_)
                ) {
                    continue;
                }
                let after = now.get(&place).copied().unwrap_or_default();
                let Some(first) = before
                    .get(&place)
                    .copied()
                    .or((d > 0).then_some((0.0, 0.0)))
                else {
                    continue;
                };
                let allowed = 1e-9 * through + 1e-9;
                assert!(
                    (water - (after.0 - first.0)).abs() <= allowed
                        && (solids - (after.1 - first.1)).abs() <= allowed,
                    "seed {seed} day {d} {place:?} {:?}: in less out {water} {solids}, stored {first:?} {after:?}",
                    case.facility.places[place.0].name
                );
            }
            before = now;
        }
    }
}

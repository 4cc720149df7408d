//! Pumps at their marks, composite grounds, and what is not known: cases worked by hand.

use approx::assert_relative_eq;

use super::site::*;
use crate::balance::{Basis, Node, Selector, Watch};
use crate::facility::model::*;
use crate::files::Given;
use crate::quantity::Stated;

/// 10 m³ a day into an empty sump; the pump starts at 40 and stops at 10, and is fast. By hand: 10, 20, 30, then 40 starts it:
/// 30 out. From 10 on again 20, 30, 40: every third day 30, and nothing between.
#[test]
fn a_pump_that_reached_its_mark_waits_for_the_mark_where_it_starts() {
    let mut site = Site::new();
    let town = site.supply("Town", None, &[]);
    let sewer = site.outside("Sewer");
    let sump = PlaceId(2);
    site.add(
        "Sump",
        PlaceKind::Tank(Box::new(Tank {
            pumped_out: Some(PumpedOut {
                to: to(sewer),
                rate: g(m3_d(1000.0)),
                starts_at_volume: Some(g(m3(40.0))),
                starts_at_level: None,
                stops_at_volume: Some(g(m3(10.0))),
                stops_at_level: None,
                running_at_the_start: false,
                when: None,
                place: crate::told::Place::file("test"),
            }),
            ..tank(100.0, 0.0, 0.0, Some(sewer))
        })),
    );
    site.add("Shed", PlaceKind::Use(user(10.0, 1.0, &[town], Some(sump))));
    let pumped = site.run(10).ledger.series(&Watch::Water(Selector::to(Node::Place(sewer)))).values;
    let hand = [0.0, 0.0, 0.0, 30.0, 0.0, 0.0, 30.0, 0.0, 0.0, 30.0];
    for (day, (ours, hand)) in pumped.iter().zip(hand).enumerate() {
        assert!((ours - hand).abs() < 1e-9, "day {day}: {ours}, by hand {hand}");
    }
}

/// 30 % of curve number 61 and 70 % of 74 (the grounds of TR-55, example 2-1): composite 70.1. 80 mm of rain:
/// S = 25400/70.1 − 254 = 108.3395 mm; Q = (80 − 21.6679)²/(80 + 86.6716) = 20.4152 mm, on 10,000 m² 204.152 m³. Ground by
/// ground it would be 0.3·10.7581 + 0.7·25.5147 = 21.0877 mm.
#[test]
fn grounds_run_off_by_one_composite_curve_number() {
    let mut site = Site::new();
    let brook = site.outside("Brook");
    let ground = |name: &str, area: f64, number: f64| Part {
        name: name.into(),
        area: g(m2(area)),
        runoff: RunoffRule::CurveNumber(g(part(number))),
        ground: GroundBefore::Average,
    };
    site.add(
        "Yard",
        PlaceKind::Catchment(Catchment {
            parts: vec![ground("a", 3000.0, 61.0), ground("b", 7000.0, 74.0)],
            solids: Vec::new(),
            goes_to: to(brook),
        }),
    );
    site.rain_mm = vec![80.0];
    let runoff = site.run(1).ledger.series(&Watch::Water(Selector::to(Node::Place(brook)))).values;
    assert_relative_eq!(runoff[0], 204.152, max_relative = 1e-5);
}

/// What the wash of a filter takes is not known: neither is what is drawn for it, nor what leaves as wash water.
#[test]
fn a_wash_that_is_not_known_marks_what_is_drawn_for_it_and_what_it_sends_away() {
    for known in [true, false] {
        let mut site = Site::new();
        let well = site.supply("Well", None, &[]);
        let drain = site.outside("Drain");
        let mut of = screen(1.0, 2.0, WashWater::OwnFiltered, drain);
        of.takes_from = vec![well];
        if let (false, Some(wash)) = (known, &mut of.wash) {
            wash.volume = Some(Given { stated: Stated::NotKnown, ..g(m3(2.0)) });
        }
        let f = site.add("Screen", PlaceKind::Filter(Box::new(of)));
        site.add("Shed", PlaceKind::Use(user(10.0, 0.0, &[f], None)));
        let run = site.run(3);
        for selector in [Selector::to(Node::Place(drain)), Selector::from(Node::Place(well))] {
            let basis = run.ledger.series(&Watch::Water(selector)).basis;
            assert!(basis.iter().all(|of| of.has(Basis::UNKNOWN) != known), "known: {known}");
        }
    }
}

//! Membranes: feed is permeate and reject, for water, solids and what is dissolved; worked by hand.

use super::site::*;
use crate::balance::{Basis, Node, Purpose, Run, Selector, Watch};
use crate::facility::kinds::{FilterKind, Membrane, OfTheFeed, Reject};
use crate::facility::model::*;
use crate::files::Given;
use crate::quantity::Stated;
use uom::si::f64::Ratio;

const NITRATE: usize = 0;

/// A mist house that needs 60 m³ a day of permeate, from a well with 40 mg/L of silt and 12 mg/L of nitrate.
struct Nursery {
    site: Site,
    well: PlaceId,
    membrane: PlaceId,
    mist: PlaceId,
    drain: PlaceId,
}

fn membrane(of_the_feed: OfTheFeed, to_place: PlaceId, held_back: Option<f64>) -> Filter {
    let reject = Reject { of_the_feed, to: to(to_place), dissolved_held_back: held_back.map(|d| g(part(d))) };
    Filter { stops: Capture::AllSolids(g(part(0.9))), ..filter(FilterKind::Membrane(Membrane { reject })) }
}

fn nursery(of_the_feed: OfTheFeed, held_back: Option<f64>) -> Nursery {
    let mut site = Site::new();
    site.solids("silt", None, 20.0, 60.0).dissolved("nitrate");
    let well = site.supply("Well", None, &[("silt", 40.0), ("nitrate", 12.0)]);
    let drain = site.outside("Drain");
    let kind = membrane(of_the_feed, drain, held_back);
    let membrane = site.add("Membrane", PlaceKind::Filter(Box::new(Filter { takes_from: vec![well], ..kind })));
    let mist = site.add("Mist house", PlaceKind::Use(user(60.0, 0.0, &[membrane], None)));
    Nursery { site, well, membrane, mist, drain }
}

fn passes(share: f64) -> OfTheFeed {
    OfTheFeed::Passes(g(part(share)))
}

/// Feed, permeate and reject of a day, by what is watched.
fn parted(of: &Nursery, run: &Run, watch: impl Fn(Selector) -> Watch, day: usize) -> [f64; 3] {
    let way = |from, to, purpose| {
        let selector = Selector { from: Some(Node::Place(from)), to: Some(Node::Place(to)), purpose: Some(purpose) };
        run.ledger.series(&watch(selector)).values[day]
    };
    [
        way(of.well, of.membrane, Purpose::Water),
        way(of.membrane, of.mist, Purpose::Water),
        way(of.membrane, of.drain, Purpose::Reject),
    ]
}

fn near(got: [f64; 3], expected: [f64; 3]) {
    for (got, expected) in got.iter().zip(expected) {
        assert!((got - expected).abs() <= 1e-12 * expected, "{got} {expected}");
    }
}

/// By hand, at a recovery of 75 %: 60 m³ of permeate take 60/0.75 = 80 m³, so 20 m³ are rejected. Silt: 80 × 40 = 3200 g come;
/// 90 % are stopped (2880 g), of the 320 g left a quarter flows off with the reject (80 g): 2960 g there, 148 mg/L, and
/// 240 g in the permeate, 4 mg/L. Nitrate, 95 % held back: 80 × 12 = 960 g come; the permeate has 60 × 12 × 0.05 = 36 g.
#[test]
fn a_membrane_parts_its_feed_as_worked_by_hand() {
    for of_the_feed in [passes(0.75), OfTheFeed::Rejected(g(part(0.25)))] {
        let of = nursery(of_the_feed, Some(0.95));
        let run = of.site.run(2);
        for day in 0..2 {
            near(parted(&of, &run, Watch::Water, day), [80.0, 60.0, 20.0]);
            near(parted(&of, &run, Watch::Solids, day), [3.2, 0.24, 2.96]);
            near(parted(&of, &run, |way| Watch::Dissolved(way, NITRATE), day), [0.96, 0.036, 0.924]);
        }
    }
}

#[test]
fn feed_is_permeate_and_reject_whatever_the_shares() {
    for i in 0..200_u32 {
        let f = |m: u32| f64::from((i * 7919 + m * 104_729) % 1000) / 1000.0;
        let of = nursery(passes(0.05 + 0.95 * f(1)), Some(f(2)));
        let run = of.site.run(1);
        let dissolved = |way| Watch::Dissolved(way, NITRATE);
        for [feed, permeate, reject] in
            [parted(&of, &run, Watch::Water, 0), parted(&of, &run, Watch::Solids, 0), parted(&of, &run, dissolved, 0)]
        {
            assert!(permeate > 0.0 || f(2) == 1.0);
            assert!((feed - permeate - reject).abs() <= 4.0 * f64::EPSILON * feed, "{feed} {permeate} {reject}");
        }
    }
}

#[test]
fn a_short_feed_is_parted_alike_and_the_use_goes_short() {
    let mut of = nursery(passes(0.75), Some(0.0));
    if let PlaceKind::Supply(well) = &mut of.site.facility.places[of.well.0].kind {
        well.gives_at_most = Some(g(m3_d(40.0)));
    }
    let run = of.site.run(1);
    near(parted(&of, &run, Watch::Water, 0), [40.0, 30.0, 10.0]);
    // What is dissolved is alike in all three.
    near(parted(&of, &run, |way| Watch::Dissolved(way, NITRATE), 0), [0.48, 0.36, 0.12]);
    assert_eq!(run.ledger.memos().len(), 1);
}

#[test]
fn what_runs_through_a_membrane_is_parted_too() {
    let mut site = Site::new();
    let well = site.supply("Well", None, &[]);
    let drain = site.outside("Drain");
    let out = site.outside("Irrigation");
    let kind = membrane(passes(0.8), drain, None);
    let membrane = site.add("Membrane", PlaceKind::Filter(Box::new(Filter { goes_to: Some(to(out)), ..kind })));
    site.add(
        "Feed pump",
        PlaceKind::Transfer(Transfer {
            amount: UseAmount::PerDay(g(m3_d(50.0))),
            when: When::default(),
            takes_from: vec![well],
            turn: 1,
            runs: None,
            goes_to: to(membrane),
        }),
    );
    let run = site.run(1);
    let sent = |to, purpose| {
        let from = Some(Node::Place(membrane));
        let way = Selector { from, to: Some(Node::Place(to)), purpose: Some(purpose) };
        run.ledger.series(&Watch::Water(way)).values[0]
    };
    assert!((sent(out, Purpose::Water) - 40.0).abs() < 1e-12);
    assert!((sent(drain, Purpose::Reject) - 10.0).abs() < 1e-12);
}

/// The meter stands: the feed is what passes and what it counted.
#[test]
fn a_meter_on_the_reject_says_how_much_it_was() {
    let mut of = nursery(passes(0.75), Some(0.95));
    let meter = of.site.meter(of.membrane, of.drain, Some("reject"));
    of.site.counted(meter, 0, 1, 18.0);
    let run = of.site.run(2);
    near(parted(&of, &run, Watch::Water, 0), [78.0, 60.0, 18.0]);
    near(parted(&of, &run, Watch::Water, 1), [80.0, 60.0, 20.0]);
    let unaccounted = Selector { from: None, to: None, purpose: Some(Purpose::Unaccounted) };
    assert!(run.ledger.series(&Watch::Water(unaccounted)).values.iter().all(|m3| *m3 == 0.0));
}

/// Nothing is claimed of salts or nutrients where nobody said what the membrane does with them, nor behind a pond or tank.
#[test]
fn what_is_dissolved_is_not_known_where_nothing_says_what_is_held_back() {
    for (held_back, unknown) in [(Some(0.0), false), (None, true)] {
        let mut of = nursery(passes(0.75), held_back);
        let tank_id = of.site.add("Tank", PlaceKind::Tank(Box::new(tank(500.0, 0.0, 500.0, Some(of.drain)))));
        let return_to = of.site.facility.places[of.mist.0].kind.clone();
        if let PlaceKind::Use(mut mist) = return_to {
            mist.returns = g(part(0.5));
            mist.goes_to = Some(to(tank_id));
            of.site.facility.places[of.mist.0].kind = PlaceKind::Use(mist);
        }
        let run = of.site.run(3);
        let basis = |from: PlaceId, to: PlaceId, purpose| {
            let way = Selector { from: Some(Node::Place(from)), to: Some(Node::Place(to)), purpose: Some(purpose) };
            let (_, dissolved) =
                run.ledger.total(&Watch::Dissolved(way, NITRATE), run.ledger.first_day(), run.ledger.date(2));
            let (_, water) = run.ledger.total(&Watch::Water(way), run.ledger.first_day(), run.ledger.date(2));
            assert!(!water.has(Basis::UNKNOWN));
            dissolved.has(Basis::UNKNOWN)
        };
        assert_eq!(basis(of.membrane, of.mist, Purpose::Water), unknown);
        assert_eq!(basis(of.membrane, of.drain, Purpose::Reject), unknown);
        assert_eq!(basis(tank_id, of.drain, Purpose::Spill), unknown);
        assert!(!basis(of.well, of.membrane, Purpose::Water));
    }
}

#[test]
fn a_recovery_not_known_leaves_feed_and_reject_not_known() {
    let not_known: Given<Ratio> = Given { stated: Stated::NotKnown, ..g(part(0.0)) };
    let of = nursery(OfTheFeed::Passes(not_known), Some(0.0));
    let run = of.site.run(1);
    for (from, to, purpose, unknown) in [
        (of.well, of.membrane, Purpose::Water, true),
        (of.membrane, of.drain, Purpose::Reject, true),
        (of.well, of.mist, Purpose::Water, false),
    ] {
        let way = Selector { from: Some(Node::Place(from)), to: Some(Node::Place(to)), purpose: Some(purpose) };
        let (_, basis) = run.ledger.total(&Watch::Water(way), run.ledger.first_day(), run.ledger.first_day());
        assert_eq!(basis.has(Basis::UNKNOWN), unknown);
    }
}

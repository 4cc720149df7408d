//! Soundings of sludge, and washes that take up what they clear: cases worked by hand.

use approx::assert_relative_eq;

use super::site::*;
use crate::balance::{FindingKind, MemoKind, Node, Purpose, Run, Selector, Watch};
use crate::facility::model::*;
use crate::records::LevelKind;

fn series(run: &Run, from: Node, to: Node, solids: bool) -> Vec<f64> {
    let selector = Selector { from: Some(from), to: Some(to), purpose: Some(Purpose::Unaccounted) };
    let watch = if solids { Watch::Solids(selector) } else { Watch::Water(selector) };
    run.ledger.series(&watch).values
}

/// A pond of 100 m² with upright walls, 2 m deep, 0.5 m of sludge at 10 % dry solids of grains of 2000 kg/m³.
fn pond(sludge: bool) -> (Site, PlaceId) {
    let mut site = Site::new();
    site.solids("silt", Some(2000.0), 20.0, 40.0);
    let brook = site.outside("Brook");
    let row = |level: f64| LevelRow { level: g(m(level)), area: g(m2(100.0)) };
    let pond = site.add(
        "Pond",
        PlaceKind::Pond(Box::new(Pond {
            shape: PondShape::Table { rows: vec![row(0.0), row(2.0)], spill_level: g(m(2.0)) },
            freeboard_above_spill: None,
            lowest_pump_level: None,
            cells: 1,
            seepage: None,
            sludge: sludge.then(|| SludgeState {
                depth: g(m(0.5)),
                measured_on: None,
                dry_solids: g(part(0.1)),
                clean_out_at: None,
            }),
            at_the_start: StartState { holding: None, level: Some(g(m(1.5))), solids: Vec::new() },
            filled_from: None,
            pumped_out: None,
            spills_to: Some(to(brook)),
        })),
    );
    (site, pond)
}

/// 0.5 m on 100 m² is 50 m³. A kg of grains takes 1/2000 + (1/0.1 − 1)/1000 = 0.0095 m³: 5263.158 kg with 47.36842 m³ of
/// water. At 0.8 m it is 80 m³: 3157.895 kg and 28.42105 m³ more. The surface stands at 1.5 m as before, so 30 of the 100 m³ over
/// it are gone.
#[test]
fn a_sounding_sets_the_sludge_and_the_difference_is_unaccounted() {
    let (mut site, pond) = pond(true);
    site.level(pond, 2, LevelKind::SludgeDepth, 0.8);
    let run = site.run(4);
    let store = run.ledger.store(pond).unwrap();
    assert_relative_eq!(store.sludge_m3[1], 50.0, max_relative = 1e-12);
    assert_relative_eq!(store.sludge_m3[2], 80.0, max_relative = 1e-12);
    assert_relative_eq!(store.sludge_depth_m[3], 0.8, max_relative = 1e-9);
    assert_relative_eq!(store.volume_m3[2], 70.0, max_relative = 1e-12);
    assert_relative_eq!(store.level_m[2], 1.5, max_relative = 1e-9);
    let gone = series(&run, Node::Place(pond), Node::Unaccounted, false);
    assert_relative_eq!(gone[2], 30.0, max_relative = 1e-12);
    let (sludge, other) = (Node::Sludge(pond), Node::Unaccounted);
    let water = series(&run, other, sludge, false);
    assert_relative_eq!(water[2], 28.421_052_631_578_95, max_relative = 1e-9);
    assert_eq!((water[1], water[3]), (0.0, 0.0));
    let kg = series(&run, other, sludge, true);
    assert_relative_eq!(kg[2], 3_157.894_736_842_105, max_relative = 1e-9);
    assert!(series(&run, sludge, other, true).iter().all(|m| *m == 0.0));
}

/// A bank that settled leaves 0.3 m where the gauge stands at 1.4 m of 2 m and 0.5 m: the gauge speaks, whichever row comes first, and on the
/// opening day too. A freeboard alone is taken from the bank: 2.5 − 0.7 = 1.8 m.
#[test]
fn of_a_gauge_and_a_freeboard_read_together_the_gauge_speaks() {
    for (first, second) in [(LevelKind::Level, LevelKind::Freeboard), (LevelKind::Freeboard, LevelKind::Level)] {
        let (mut site, pond) = pond(false);
        if let PlaceKind::Pond(pond) = &mut site.facility.places[pond.0].kind {
            pond.freeboard_above_spill = Some(g(m(0.5)));
        }
        let read = |kind| if kind == LevelKind::Level { 1.4 } else { 0.3 };
        for day in [0, 2] {
            site.level(pond, day, first, read(first));
            site.level(pond, day, second, read(second));
        }
        site.level(pond, 3, LevelKind::Freeboard, 0.7);
        let run = site.run(4);
        let store = run.ledger.store(pond).unwrap();
        assert_relative_eq!(store.level_m[0], 1.4, max_relative = 1e-9);
        assert_relative_eq!(store.level_m[2], 1.4, max_relative = 1e-9);
        assert_relative_eq!(store.level_m[3], 1.8, max_relative = 1e-9);
    }
}

/// Less than computed goes the other way: 50 to 20 m³ leaves 2/5 of 5263.158 kg, and 3157.895 kg are gone.
#[test]
fn less_sludge_than_computed_is_unaccounted_too_and_a_level_of_the_day_is_read_over_it() {
    let (mut site, pond) = pond(true);
    site.level(pond, 1, LevelKind::SludgeDepth, 0.2);
    site.level(pond, 1, LevelKind::Level, 1.5);
    let run = site.run(2);
    let kg = series(&run, Node::Sludge(pond), Node::Unaccounted, true);
    assert_relative_eq!(kg[1], 3_157.894_736_842_105, max_relative = 1e-9);
    let store = run.ledger.store(pond).unwrap();
    // 150 m³ in all, 20 of them sludge.
    assert_relative_eq!(store.volume_m3[1], 130.0, max_relative = 1e-12);
}

#[test]
fn a_sounding_on_the_first_day_is_the_sludge_at_the_start() {
    let (mut site, pond) = pond(true);
    site.level(pond, 0, LevelKind::SludgeDepth, 0.3);
    let run = site.run(2);
    let store = run.ledger.store(pond).unwrap();
    assert_relative_eq!(store.sludge_m3[0], 30.0, max_relative = 1e-12);
    assert_relative_eq!(store.volume_m3[0], 120.0, max_relative = 1e-12);
}

#[test]
fn a_sounding_without_sludge_in_the_file_is_said_not_to_count() {
    let (mut site, pond) = pond(false);
    site.level(pond, 1, LevelKind::SludgeDepth, 0.8);
    let run = site.run(3);
    assert!(run.notes.iter().any(|note| note.contains("sounded")));
    assert_eq!(run.ledger.store(pond).unwrap().sludge_m3[2], 0.0);
}

/// 30 m³ with 1 kg/m³, all caught; a wash at 2 kg takes 5 m³ of the filter's own and so catches 5 kg again: 5/2 ≥ 1. As
/// many as 30 m³ could make: 6, not ten thousand.
#[test]
fn a_filter_locked_in_washing_washes_no_oftener_than_its_water_could() {
    let mut site = Site::new();
    site.solids("silt", Some(2650.0), 20.0, 40.0);
    let town = site.supply("Town", None, &[("silt", 1000.0)]);
    let drain = site.outside("Drain");
    let mut of = screen(2.0, 5.0, WashWater::OwnFiltered, drain);
    of.takes_from = vec![town];
    let screen = site.add("Screen", PlaceKind::Filter(Box::new(of)));
    site.add("House", PlaceKind::Use(user(30.0, 0.0, &[screen], None)));
    let run = site.run(2);
    let series = run.ledger.filter(screen).unwrap();
    assert_eq!(series.events, [6, 6]);
    assert_relative_eq!(series.gross_m3[0], 60.0, max_relative = 1e-12);
    assert!(run.ledger.memos().iter().any(|memo| memo.kind == MemoKind::WashLock));
    let finding = run.findings.iter().find(|f| f.kind == FindingKind::WashLock).expect("it is said");
    assert_eq!(finding.days, [0, 1]);
}

/// 20 m³ metered at the inlet, 1.5 kg/m³, all caught, a wash at 10 kg with 2 m³ of its own: counted from the 20 m³ that
/// came (30 kg: due at 10, 20 and 30), 6 m³ wash and 14 pass on; the 16 asked for have no say in it.
#[test]
fn a_filter_whose_inlet_is_metered_is_counted_by_the_meter() {
    let mut site = Site::new();
    site.solids("silt", Some(2650.0), 20.0, 40.0);
    let town = site.supply("Town", None, &[("silt", 1500.0)]);
    let drain = site.outside("Drain");
    let mut of = screen(10.0, 2.0, WashWater::OwnFiltered, drain);
    of.takes_from = vec![town];
    let screen = site.add("Screen", PlaceKind::Filter(Box::new(of)));
    site.add("House", PlaceKind::Use(user(16.0, 0.0, &[screen], None)));
    let meter = site.meter(town, screen, None);
    site.counted(meter, 0, 1, 20.0);
    let run = site.run(1);
    let series = run.ledger.filter(screen).unwrap();
    assert_eq!(series.events, [3]);
    assert_relative_eq!(series.gross_m3[0], 20.0, max_relative = 1e-12);
    assert_relative_eq!(series.net_m3[0], 14.0, max_relative = 1e-12);
}

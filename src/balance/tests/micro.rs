//! Small cases worked by hand or by an independent script; tolerance 1e-9 relative unless said.

use approx::assert_relative_eq;

use super::site::*;
use crate::balance::{MemoKind, Node, Purpose, Run, Selector, Watch};
use crate::facility::kinds::{FilterKind, PressureScreen};
use crate::facility::model::*;
use crate::records::LevelKind;

fn water(run: &Run, from: Node, to: Node, purpose: Purpose, day: usize) -> f64 {
    let selector = Selector { from: Some(from), to: Some(to), purpose: Some(purpose) };
    run.ledger.series(&Watch::Water(selector)).values[day]
}

fn solids(run: &Run, from: Node, to: Node, purpose: Purpose, day: usize) -> f64 {
    let selector = Selector { from: Some(from), to: Some(to), purpose: Some(purpose) };
    run.ledger.series(&Watch::Solids(selector)).values[day]
}

/// Tank of 50 m³ with 10 that can't be drawn; A asks 30, B 20; 25 flow in.
fn micro_1(equal: bool) -> (Run, PlaceId, PlaceId, PlaceId) {
    let mut site = Site::new();
    let town = site.supply("Town", None, &[]);
    let out = site.outside("Drain");
    let t = site.add("Tank", PlaceKind::Tank(Box::new(tank(50.0, 10.0, 50.0, Some(out)))));
    let feed = site.add(
        "Feed",
        PlaceKind::Transfer(Transfer {
            amount: UseAmount::PerDay(g(m3_d(25.0))),
            when: When::default(),
            takes_from: vec![town],
            turn: 1,
            runs: None,
            goes_to: to(t),
        }),
    );
    let _ = feed;
    let a = site.add("A", PlaceKind::Use(user(30.0, 0.0, &[t], None)));
    let b = site.add("B", PlaceKind::Use(Use { turn: if equal { 1 } else { 2 }, ..user(20.0, 0.0, &[t], None) }));
    site.facility.steps_per_day = StepsPerDay::Exactly(1);
    (site.run(1), t, a, b)
}

#[test]
fn micro_case_1_turns_come_first_and_equal_turns_share_alike() {
    let (run, t, a, b) = micro_1(false);
    let drawn = |run: &Run, to: PlaceId| water(run, Node::Place(t), Node::Place(to), Purpose::Water, 0);
    assert_relative_eq!(drawn(&run, a), 30.0, max_relative = 1e-9);
    assert_relative_eq!(drawn(&run, b), 10.0, max_relative = 1e-9);
    let memos = run.ledger.memos();
    assert_eq!(memos.len(), 1);
    assert_eq!((memos[0].place, memos[0].kind), (b, MemoKind::Shortfall));
    assert_relative_eq!(memos[0].amount, 10.0, max_relative = 1e-9);
    assert_relative_eq!(run.ledger.store(t).unwrap().volume_m3[0], 35.0, max_relative = 1e-9);

    let (run, t, a, b) = micro_1(true);
    assert_relative_eq!(water(&run, Node::Place(t), Node::Place(a), Purpose::Water, 0), 24.0, max_relative = 1e-9);
    assert_relative_eq!(water(&run, Node::Place(t), Node::Place(b), Purpose::Water, 0), 16.0, max_relative = 1e-9);
    assert_relative_eq!(run.ledger.store(t).unwrap().volume_m3[0], 35.0, max_relative = 1e-9);
}

#[test]
fn micro_case_2_in_a_facility_a_filter_asks_for_its_washes_too() {
    let mut site = Site::new();
    site.solids("silt", None, 20.0, 60.0);
    // 20 g/m³, all stopped: γ = 0.02 kg/m³; S = 0.2 kg is brought about by a day of 10 m³ beforehand.
    let well = site.supply("Well", None, &[("silt", 20.0)]);
    let drain = site.outside("Drain");
    let f = site.add(
        "Screen",
        PlaceKind::Filter(Box::new(Filter {
            takes_from: vec![well],
            ..screen(0.5, 1.5, WashWater::OwnFiltered, drain)
        })),
    );
    let u = site.add("Use", PlaceKind::Use(user(100.0, 0.0, &[f], None)));
    let meter = site.meter(f, u, None);
    site.counted(meter, 0, 1, 10.0);
    let run = site.run(2);
    let series = run.ledger.filter(f).unwrap();
    assert_eq!(series.events, [0, 4]);
    assert_relative_eq!(series.held_kg[0], 0.2, max_relative = 1e-9);
    assert_relative_eq!(series.gross_m3[1], 106.0, max_relative = 1e-9);
    assert_relative_eq!(series.held_kg[1], 0.32, max_relative = 1e-9);
    assert_relative_eq!(
        water(&run, Node::Place(f), Node::Place(drain), Purpose::WashWater, 1),
        6.0,
        max_relative = 1e-9
    );
    // No event is lost: caught = removed + what is still held.
    assert_relative_eq!(
        solids(&run, Node::Place(f), Node::Place(drain), Purpose::WashWater, 1),
        0.2 + 2.12 - 0.32,
        max_relative = 1e-9
    );
}

#[test]
fn micro_case_4_recirculation_reaches_its_steady_state() {
    let mut site = Site::new();
    site.solids("peat", None, 20.0, 60.0);
    let town = site.supply("Town", None, &[]);
    let drain = site.outside("Drain");
    let tank_id = PlaceId(2);
    site.add(
        "Tank",
        PlaceKind::Tank(Box::new(Tank {
            filled_from: Some(FillRule {
                from: vec![town],
                up_to_volume: Some(g(m3(100.0))),
                up_to_level: None,
                place: crate::told::Place::file("test"),
                when: None,
            }),
            ..tank(200.0, 0.0, 100.0, Some(drain))
        })),
    );
    let f = site.add(
        "Filter",
        PlaceKind::Filter(Box::new(Filter {
            stops: Capture::AllSolids(g(part(0.5))),
            takes_from: vec![tank_id],
            ..filter(FilterKind::PressureScreen(PressureScreen { in_line: 1, self_cleaning: false }))
        })),
    );
    site.add(
        "Flood",
        PlaceKind::Use(Use { picks_up: concentrations(&[("peat", 20.0)]), ..user(80.0, 0.75, &[f], Some(tank_id)) }),
    );
    let run = site.run(60);
    let store = run.ledger.store(tank_id).unwrap();
    assert_relative_eq!(store.solids_kg[0], 1.2, max_relative = 1e-9);
    assert_relative_eq!(store.solids_kg[1], 1.8, max_relative = 1e-9);
    assert_relative_eq!(store.solids_kg[59], 2.4, max_relative = 1e-9);
    assert_relative_eq!(store.volume_m3[59], 100.0, max_relative = 1e-9);
    let held = &run.ledger.filter(f).unwrap().held_kg;
    assert_relative_eq!(held[59] - held[58], 0.96, max_relative = 1e-9);
}

/// A pond with upright sides of a given area: a level–area table.
fn upright(area_m2: f64, full_m3: f64, cells: u32, start_m3: f64, spills_to: PlaceId) -> Pond {
    let row = |level: f64| LevelRow { level: g(m(level)), area: g(m2(area_m2)) };
    Pond {
        shape: PondShape::Table { rows: vec![row(0.0), row(full_m3 / area_m2)], spill_level: g(m(full_m3 / area_m2)) },
        freeboard_above_spill: None,
        lowest_pump_level: None,
        cells,
        seepage: None,
        sludge: None,
        at_the_start: StartState { holding: Some(g(m3(start_m3))), level: None, solids: Vec::new() },
        filled_from: None,
        pumped_out: None,
        spills_to: Some(to(spills_to)),
    }
}

#[test]
fn micro_case_7_a_pond_fills_then_spills_into_the_next() {
    let mut site = Site::new();
    site.solids("perlite", None, 20.0, 60.0);
    let stream = site.supply("Stream", None, &[("perlite", 100.0)]);
    let out = site.outside("Outfall");
    let (first, second) = (PlaceId(3), PlaceId(2));
    site.add("Second", PlaceKind::Pond(Box::new(upright(100.0, 500.0, 1, 480.0, out))));
    site.add("First", PlaceKind::Pond(Box::new(upright(100.0, 1000.0, 1, 900.0, second))));
    site.add(
        "Inflow",
        PlaceKind::Transfer(Transfer {
            amount: UseAmount::PerDay(g(m3_d(300.0))),
            when: When::default(),
            takes_from: vec![stream],
            turn: 1,
            runs: None,
            goes_to: to(first),
        }),
    );
    let run = site.run(1);
    let spill = |from, to| {
        (
            water(&run, Node::Place(from), Node::Place(to), Purpose::Spill, 0),
            solids(&run, Node::Place(from), Node::Place(to), Purpose::Spill, 0),
        )
    };
    let (w, s) = spill(first, second);
    assert_relative_eq!(w, 200.0, max_relative = 1e-9);
    assert_relative_eq!(s, 3.685_767_78, max_relative = 2e-9);
    let (w, s) = spill(second, out);
    assert_relative_eq!(w, 180.0, max_relative = 1e-9);
    assert_relative_eq!(s, 0.642_883_346, max_relative = 2e-9);
    assert_relative_eq!(run.ledger.store(second).unwrap().solids_kg[0], 3.042_884_431, max_relative = 1e-9);
}

#[test]
fn micro_case_8_a_metered_return_puts_the_difference_where_it_came_from() {
    let mut site = Site::new();
    site.solids("peat", None, 20.0, 60.0);
    let town = site.supply("Town", None, &[("peat", 30.0)]);
    let drain = site.outside("Drain");
    let u = site.add("Use", PlaceKind::Use(user(80.0, 0.75, &[town], Some(drain))));
    let meter = site.meter(u, drain, None);
    site.counted(meter, 0, 1, 55.0);
    site.counted(meter, 1, 1, 66.0);
    let run = site.run(2);
    let here = Node::Place(u);
    assert_relative_eq!(water(&run, here, Node::Unaccounted, Purpose::Unaccounted, 0), 5.0, max_relative = 1e-9);
    assert_relative_eq!(solids(&run, here, Node::Unaccounted, Purpose::Unaccounted, 0), 0.15, max_relative = 1e-9);
    assert_relative_eq!(water(&run, Node::Unaccounted, here, Purpose::Unaccounted, 1), 6.0, max_relative = 1e-9);
    assert_eq!(water(&run, here, Node::Place(drain), Purpose::Return, 1), 66.0);
    let basis = run.ledger.series(&Watch::Water(Selector::to(Node::Place(drain)))).basis[0];
    assert!(basis.is_measured());
}

#[test]
fn micro_case_9_a_level_record_keeps_the_concentration() {
    let mut site = Site::new();
    site.solids("peat", None, 20.0, 60.0);
    let drain = site.outside("Drain");
    let t = site.add(
        "Tank",
        PlaceKind::Tank(Box::new(Tank {
            at_the_start: StartState {
                holding: Some(g(m3(812.0))),
                level: None,
                solids: concentrations(&[("peat", 50.0)]),
            },
            ..tank(1000.0, 0.0, 0.0, Some(drain))
        })),
    );
    site.level(t, 1, LevelKind::Holding, 800.0);
    let run = site.run(2);
    let store = run.ledger.store(t).unwrap();
    assert_relative_eq!(store.volume_m3[0], 812.0, max_relative = 1e-9);
    assert_relative_eq!(store.volume_m3[1], 800.0, max_relative = 1e-9);
    assert_relative_eq!(store.solids_kg[1] / store.volume_m3[1], 0.05, max_relative = 1e-9);
    let here = Node::Place(t);
    assert_relative_eq!(water(&run, here, Node::Unaccounted, Purpose::Unaccounted, 1), 12.0, max_relative = 1e-9);
    assert_relative_eq!(solids(&run, here, Node::Unaccounted, Purpose::Unaccounted, 1), 0.6, max_relative = 1e-9);
}

#[test]
fn micro_case_10_in_a_facility_the_log_counts_and_the_load_follows() {
    let mut site = Site::new();
    site.solids("silt", None, 20.0, 60.0);
    let well = site.supply("Well", None, &[("silt", 20.0)]);
    let drain = site.outside("Drain");
    let mut screen = screen(1.0, 0.0, WashWater::OwnFiltered, drain);
    screen.takes_from = vec![well];
    if let Some(wash) = &mut screen.wash {
        wash.removes = Some(g(part(0.9)));
    }
    let f = site.add("Screen", PlaceKind::Filter(Box::new(screen)));
    let u = site.add("Use", PlaceKind::Use(user(100.0, 0.0, &[f], None)));
    let meter = site.meter(f, u, None);
    site.counted(meter, 0, 1, 10.0);
    site.washes(f, 0, 0);
    site.washes(f, 1, 3);
    let run = site.run(2);
    let series = run.ledger.filter(f).unwrap();
    assert_eq!(series.events, [0, 3]);
    assert_relative_eq!(series.held_kg[1], 0.5557, max_relative = 1e-9);
    assert_relative_eq!(
        solids(&run, Node::Place(f), Node::Place(drain), Purpose::WashWater, 1),
        1.6443,
        max_relative = 1e-9
    );
}

/// Tank of 50 m³ kept at 50 by a float valve; a use asks 200 m³/d and returns 0.9.
fn micro_13(steps: StepsPerDay) -> (f64, f64, f64, u32) {
    let mut site = Site::new();
    let town = site.supply("Town", None, &[]);
    let drain = site.outside("Drain");
    let t = PlaceId(2);
    site.add(
        "Tank",
        PlaceKind::Tank(Box::new(Tank {
            filled_from: Some(FillRule {
                from: vec![town],
                up_to_volume: Some(g(m3(50.0))),
                up_to_level: None,
                place: crate::told::Place::file("test"),
                when: None,
            }),
            ..tank(50.0, 0.0, 50.0, Some(drain))
        })),
    );
    let u = site.add("Flood", PlaceKind::Use(user(200.0, 0.9, &[t], Some(t))));
    site.facility.steps_per_day = steps;
    let run = site.run(1);
    let memo = run.ledger.memos().iter().map(|m| m.amount).sum();
    (
        water(&run, Node::Place(t), Node::Place(u), Purpose::Water, 0),
        memo,
        water(&run, Node::Place(town), Node::Place(t), Purpose::TopUp, 0),
        run.steps_per_day,
    )
}

#[test]
fn micro_case_13_a_tank_that_turns_over_does_not_starve() {
    let (drawn, memo, top_up, _) = micro_13(StepsPerDay::Exactly(1));
    assert_relative_eq!(drawn, 50.0, max_relative = 1e-9);
    assert_relative_eq!(memo, 150.0, max_relative = 1e-9);
    assert_relative_eq!(top_up, 5.0, max_relative = 1e-9);
    let (drawn, memo, top_up, steps) = micro_13(StepsPerDay::AsNeeded);
    assert_eq!(steps, 4);
    assert_relative_eq!(drawn, 200.0, max_relative = 1e-9);
    assert_eq!(memo, 0.0);
    assert_relative_eq!(top_up, 20.0, max_relative = 1e-9);
}

/// A tank kept at 55 of 60 m³, 2 m³ its lowest, by a float valve through a filter; floods ask for 50 m³ a day and return 0.87. What the valve
/// pulls through a filter is what lacked at a step's opening. In one step a day the tank opens at 55 − 50 + 43.5 = 48.5 m³, of which 46.5 can be
/// drawn; in two each takes 25, and it opens at 55 − 25 + 21.75 = 51.75.
#[test]
fn a_tank_kept_full_through_a_filter_does_not_starve() {
    let run = |steps: StepsPerDay| {
        let mut site = Site::new();
        let town = site.supply("Town", None, &[]);
        let drain = site.outside("Drain");
        let pass = filter(FilterKind::PressureScreen(PressureScreen { in_line: 1, self_cleaning: true }));
        let bed = site.add("Screen", PlaceKind::Filter(Box::new(Filter { takes_from: vec![town], ..pass })));
        let t = PlaceId(3);
        let fill = FillRule {
            from: vec![bed],
            up_to_volume: Some(g(m3(55.0))),
            up_to_level: None,
            place: crate::told::Place::file("test"),
            when: None,
        };
        let kept = Tank { filled_from: Some(fill), ..tank(60.0, 2.0, 55.0, Some(drain)) };
        site.add("Tank", PlaceKind::Tank(Box::new(kept)));
        let u = site.add("Flood", PlaceKind::Use(user(50.0, 0.87, &[t], Some(t))));
        site.facility.steps_per_day = steps;
        let run = site.run(4);
        let drawn: Vec<f64> =
            (1..4).map(|day| water(&run, Node::Place(t), Node::Place(u), Purpose::Water, day)).collect();
        (run.steps_per_day, drawn)
    };
    let (_, once) = run(StepsPerDay::Exactly(1));
    assert!(once.iter().all(|drawn| *drawn < 47.0), "{once:?}");
    let (steps, drawn) = run(StepsPerDay::AsNeeded);
    assert_eq!(steps, 2);
    for drawn in drawn {
        assert_relative_eq!(drawn, 50.0, max_relative = 1e-9);
    }
}

#[test]
fn a_sample_on_a_result_replaces_its_mass_and_leaves_the_state_alone() {
    let mut site = Site::new();
    site.solids("peat", None, 20.0, 60.0);
    let town = site.supply("Town", None, &[("peat", 30.0)]);
    let drain = site.outside("Drain");
    let u = site.add("Use", PlaceKind::Use(user(80.0, 0.75, &[town], Some(drain))));
    site.sample(drain, 0, "total suspended solids", 50.0);
    site.level(u, 5, LevelKind::Holding, 1.0);
    let run = site.run(2);
    // 60 m³ at 50 mg/L instead of 30: 3 kg, of which 1.2 kg come from unaccounted.
    assert_relative_eq!(solids(&run, Node::Place(u), Node::Place(drain), Purpose::Return, 0), 3.0, max_relative = 1e-9);
    assert_relative_eq!(
        solids(&run, Node::Unaccounted, Node::Place(u), Purpose::Unaccounted, 0),
        1.2,
        max_relative = 1e-9
    );
    assert_relative_eq!(solids(&run, Node::Place(u), Node::Place(drain), Purpose::Return, 1), 1.8, max_relative = 1e-9);
}

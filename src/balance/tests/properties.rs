//! What must hold whatever the figures.

use approx::assert_relative_eq;

use super::site::*;
use crate::balance::{Node, Purpose, Run, Selector, Watch};
use crate::facility::model::*;

fn yard(site: &mut Site, parts: &[f64], curve: Option<f64>, goes_to: PlaceId) -> PlaceId {
    let parts = parts
        .iter()
        .map(|area| Part {
            name: "part".into(),
            area: g(m2(*area)),
            runoff: match curve {
                Some(number) => RunoffRule::CurveNumber(g(part(number))),
                None => RunoffRule::Share { runs_off: g(part(0.6)), first_soaked_up: Some(g(mm(4.0))) },
            },
            ground: GroundBefore::default(),
        })
        .collect();
    site.add("Yard", PlaceKind::Catchment(Catchment { parts, solids: Vec::new(), goes_to: to(goes_to) }))
}

fn runoff(rain: &[f64], parts: &[f64], curve: Option<f64>) -> Vec<f64> {
    let mut site = Site::new();
    let drain = site.outside("Drain");
    yard(&mut site, parts, curve, drain);
    site.rain_mm = rain.to_vec();
    let run = site.run(i64::try_from(rain.len()).unwrap());
    run.ledger.series(&Watch::Water(Selector::to(Node::Place(drain)))).values
}

#[test]
fn more_rain_never_gives_less_runoff() {
    let rain: Vec<f64> = (0..120).map(f64::from).collect();
    for curve in [None, Some(75.0), Some(98.0)] {
        let runoff = runoff(&rain, &[10_000.0], curve);
        assert!(runoff.windows(2).all(|w| w[1] >= w[0]), "{curve:?}");
        assert!(runoff[119] > 0.0 && runoff[1] == 0.0 || curve == Some(98.0));
    }
}

#[test]
fn splitting_an_area_changes_nothing() {
    for curve in [None, Some(85.0)] {
        let whole = runoff(&[25.0, 3.0], &[10_000.0], curve);
        let split = runoff(&[25.0, 3.0], &[2_500.0, 7_500.0], curve);
        for (a, b) in whole.iter().zip(&split) {
            assert_relative_eq!(a, b, max_relative = 1e-12);
        }
    }
}

/// A well, a screen washed at a load, a use; figures of water times `scale`.
fn filtered(mg_l: f64, scale: f64) -> (Run, PlaceId) {
    let mut site = Site::new();
    site.solids("silt", None, 20.0, 60.0);
    let well = site.supply("Well", None, &[("silt", mg_l)]);
    let drain = site.outside("Drain");
    let f = site.add(
        "Screen",
        PlaceKind::Filter(Box::new(Filter {
            takes_from: vec![well],
            ..screen(1.7 * scale, 0.6 * scale, WashWater::OwnFiltered, drain)
        })),
    );
    site.add("Use", PlaceKind::Use(user(90.0 * scale, 0.0, &[f], None)));
    (site.run(40), f)
}

#[test]
fn cleaner_inflow_never_washes_more() {
    let mut last = 0;
    for mg_l in [0.0, 1.0, 5.0, 20.0, 60.0, 200.0] {
        let (run, f) = filtered(mg_l, 1.0);
        let events = run.ledger.filter(f).unwrap().events.iter().sum::<u32>();
        assert!(events >= last, "{mg_l} mg/L: {events} after {last}");
        last = events;
    }
    assert!(last > 100);
}

#[test]
fn a_facility_twice_the_size_moves_twice_the_water() {
    let (one, f) = filtered(35.0, 1.0);
    let (two, _) = filtered(35.0, 2.0);
    let (a, b) = (one.ledger.filter(f).unwrap(), two.ledger.filter(f).unwrap());
    assert_eq!(a.events, b.events);
    for (x, y) in a.gross_m3.iter().zip(&b.gross_m3) {
        assert_relative_eq!(2.0 * x, *y, max_relative = 1e-12);
    }
}

#[test]
fn no_event_is_lost_over_any_span() {
    let (run, f) = filtered(35.0, 1.0);
    let here = Node::Place(f);
    let sum = |s: Selector| -> f64 { run.ledger.series(&Watch::Solids(s)).values.iter().sum() };
    let caught = sum(Selector::to(here)) - sum(Selector::from(here).purpose(Purpose::Water));
    let removed = sum(Selector::from(here).purpose(Purpose::WashWater));
    let held = *run.ledger.filter(f).unwrap().held_kg.last().unwrap();
    assert_relative_eq!(caught, removed + held, max_relative = 1e-9);
}

/// A pond with 100 mg/L of silt in it, filled to 1.5 m.
fn silty_pond(cells: u32, out: PlaceId) -> PlaceKind {
    PlaceKind::Pond(Box::new(Pond {
        shape: PondShape::Prismoid {
            length: g(m(40.0)),
            width: g(m(15.0)),
            depth: g(m(2.0)),
            side_slope: g(part(3.0)),
        },
        freeboard_above_spill: None,
        lowest_pump_level: None,
        cells,
        seepage: None,
        sludge: None,
        at_the_start: StartState { holding: None, level: Some(g(m(1.5))), solids: concentrations(&[("silt", 100.0)]) },
        filled_from: None,
        pumped_out: None,
        spills_to: Some(to(out)),
    }))
}

#[test]
fn a_pond_without_inflow_only_settles() {
    let mut site = Site::new();
    site.solids("silt", Some(2650.0), 18.0, 90.0);
    let out = site.outside("Outfall");
    let pond = site.add("Pond", silty_pond(3, out));
    let run = site.run(20);
    let store = run.ledger.store(pond).unwrap();
    assert!(store.solids_kg.windows(2).all(|w| w[1] < w[0]));
    let flows = run.ledger.select(&Selector::from(Node::Place(pond)));
    for way in flows {
        let of = run.ledger.ways()[way];
        let moved: f64 = (0..20).map(|d| run.ledger.water(d, way) + run.ledger.solids(d, way)).sum();
        assert!(of.purpose == Purpose::Settled || moved == 0.0, "{of:?}");
    }
    assert_relative_eq!(store.volume_m3[19], store.opening_m3, max_relative = 1e-12);
}

/// `uom` ends in the plan: one unit of each, in the ledger's units.
#[test]
fn one_unit_of_each_quantity_comes_out_as_one_in_the_ledgers_units() {
    let mut site = Site::new();
    site.solids("silt", None, 20.0, 60.0);
    // 1 kg/m³ in 1 m³/day; 1 m² under 1 m of rain; all runs off.
    let well = site.supply("Well", Some(1.0), &[("silt", 1000.0)]);
    let drain = site.outside("Drain");
    let u = site.add("Use", PlaceKind::Use(user(2.0, 1.0, &[well], Some(drain))));
    site.add(
        "Roof",
        PlaceKind::Catchment(Catchment {
            parts: vec![Part {
                name: "Roof".into(),
                area: g(m2(1.0)),
                runoff: RunoffRule::Share { runs_off: g(part(1.0)), first_soaked_up: Some(g(m(0.5))) },
                ground: GroundBefore::default(),
            }],
            solids: Vec::new(),
            goes_to: to(drain),
        }),
    );
    site.rain_mm = vec![1000.0];
    let run = site.run(1);
    let at = |selector: Selector| run.ledger.series(&Watch::Water(selector)).values[0];
    assert_relative_eq!(at(Selector::from(Node::Place(well))), 1.0, max_relative = 1e-12);
    assert_relative_eq!(at(Selector::from(Node::Rain)), 1.0, max_relative = 1e-12);
    assert_relative_eq!(at(Selector::to(Node::Retained)), 0.5, max_relative = 1e-12);
    let solids = run.ledger.series(&Watch::Solids(Selector::from(Node::Place(u)))).values[0];
    assert_relative_eq!(solids, 1.0, max_relative = 1e-12);
    assert_relative_eq!(run.ledger.memos()[0].amount, 1.0, max_relative = 1e-12);
}

/// A period that begins later opens with what the days before it left, and goes on as the whole run does.
#[test]
fn a_run_booked_from_a_later_day_is_the_tail_of_the_whole_run() {
    let mut site = Site::new();
    site.solids("silt", Some(2650.0), 18.0, 90.0);
    let out = site.outside("Outfall");
    let pond = site.add("Pond", silty_pond(2, out));
    yard(&mut site, &[10_000.0], None, pond);
    site.rain_mm = (0..20).map(|day| f64::from(day % 4) * 9.0).collect();
    let whole = site.run(20);
    let tail = site.run_since(12, 20);
    assert_eq!(tail.ledger.days(), 8);
    for day in 0..8 {
        for way in whole.ledger.ways().indices() {
            let (a, b) = (&whole.ledger, &tail.ledger);
            assert_eq!(a.water(day + 12, way).to_bits(), b.water(day, way).to_bits());
            assert_eq!(a.solids(day + 12, way).to_bits(), b.solids(day, way).to_bits());
        }
    }
    let (a, b) = (whole.ledger.store(pond).unwrap(), tail.ledger.store(pond).unwrap());
    assert_eq!(b.opening_m3.to_bits(), a.volume_m3[11].to_bits());
    assert_eq!(b.volume_m3[..], a.volume_m3[12..]);
}

/// The books of a tank filled by two supplies in order, kept by hand: what is drawn leaves first; the first supply gives
/// what is then lacking as far as it can, the second what is left; a meter on one of them says what it gave, and the other
/// fills what that leaves. Figures are of a plain generator of remainders.
#[test]
fn two_supplies_in_order_keep_the_books_of_the_tank_they_fill() {
    let mut seed: u64 = 9;
    let mut next = |most: u64| {
        seed = (seed * 48_271) % 2_147_483_647;
        (seed % most) as f64
    };
    for trial in 0..40 {
        let (first_most, second_most, demand) = (next(60), next(60), next(140));
        let metered: Option<Vec<f64>> = (trial % 3 == 0).then(|| (0..6).map(|_| next(40)).collect());
        let by_second = trial % 2 == 0;
        let mut site = Site::new();
        site.facility.steps_per_day = StepsPerDay::Exactly(1);
        let first = site.supply("First", Some(first_most), &[]);
        let second = site.supply("Second", Some(second_most), &[]);
        let drain = site.outside("Drain");
        let tank_id = PlaceId(3);
        site.add(
            "Tank",
            PlaceKind::Tank(Box::new(Tank {
                filled_from: Some(FillRule {
                    from: vec![first, second],
                    up_to_volume: Some(g(m3(150.0))),
                    up_to_level: None,
                    place: crate::told::Place::file("test"),
                    when: None,
                }),
                ..tank(200.0, 0.0, 100.0, Some(drain))
            })),
        );
        let floor = site.add("Floor", PlaceKind::Use(user(demand, 0.0, &[tank_id], None)));
        if let Some(amounts) = &metered {
            let meter = site.meter(if by_second { second } else { first }, tank_id, None);
            for (day, amount) in amounts.iter().enumerate() {
                site.counted(meter, day as i64, 1, *amount);
            }
        }
        let run = site.run(6);
        let series = |from: PlaceId, to: PlaceId| {
            let way = Selector { from: Some(Node::Place(from)), to: Some(Node::Place(to)), purpose: None };
            run.ledger.series(&Watch::Water(way)).values
        };
        let (drawn, a, b) = (series(tank_id, floor), series(first, tank_id), series(second, tank_id));
        let spilt = series(tank_id, drain);
        let mut holds: f64 = 100.0;
        for day in 0..6 {
            let takes = demand.min(holds);
            holds -= takes;
            let read = metered.as_ref().map(|amounts| amounts[day]);
            let lacking = (150.0 - holds - read.unwrap_or(0.0)).max(0.0);
            let (gives_a, gives_b) = match (read, by_second) {
                (Some(read), true) => (first_most.min(lacking), read),
                (Some(read), false) => (read, second_most.min(lacking)),
                (None, _) => (first_most.min(lacking), second_most.min((lacking - first_most).max(0.0))),
            };
            let over = (holds + gives_a + gives_b - 200.0).max(0.0);
            holds += gives_a + gives_b - over;
            for (got, expected) in [(drawn[day], takes), (a[day], gives_a), (b[day], gives_b), (spilt[day], over)] {
                assert!((got - expected).abs() < 1e-9, "trial {trial} day {day}: {got} and {expected} m3");
            }
        }
    }
}

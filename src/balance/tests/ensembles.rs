//! Ensembles: same bytes whatever the threads and lanes; a member is replayed from its seed and number.

use super::site::*;
use crate::balance::ensemble::ensemble_in_blocks;
use crate::balance::plan::{self, Compiled, Input};
use crate::balance::run::forcings;
use crate::balance::step::{Engine, Width};
use crate::balance::{DailySeries, Draw, Node, Purpose, Selector, Watch};
use crate::facility::model::*;

/// A yard, a pond with two cells, a screen and an overhead, with ranges everywhere.
fn site() -> (Site, PlaceId, PlaceId) {
    let mut site = Site::new();
    site.solids("silt", Some(2650.0), 18.0, 90.0);
    site.facility.solids[0].density = Some(given(
        uom::si::f64::MassDensity::new::<uom::si::mass_density::kilogram_per_cubic_meter>(1030.0),
        uom::si::f64::MassDensity::new::<uom::si::mass_density::kilogram_per_cubic_meter>(2650.0),
        "solids / silt / density",
    ));
    site.dissolved("salt");
    let well = site.supply("Well", Some(400.0), &[("salt", 300.0)]);
    let out = site.outside("Outfall");
    let pond = PlaceId(3);
    site.add(
        "Yard",
        PlaceKind::Catchment(Catchment {
            parts: vec![Part {
                name: "Yard".into(),
                area: g(m2(20_000.0)),
                runoff: RunoffRule::Share {
                    runs_off: given(part(0.5), part(0.9), "yard / runs off"),
                    first_soaked_up: Some(g(mm(3.0))),
                },
                ground: GroundBefore::default(),
            }],
            solids: vec![("silt".into(), given(mg_l(80.0), mg_l(400.0), "yard / solids / silt"))],
            goes_to: to(pond),
        }),
    );
    site.add(
        "Pond",
        PlaceKind::Pond(Box::new(Pond {
            shape: PondShape::Prismoid {
                length: given(m(40.0), m(44.0), "pond / length"),
                width: g(m(15.0)),
                depth: g(m(2.0)),
                side_slope: g(part(3.0)),
            },
            freeboard_above_spill: Some(g(m(0.5))),
            lowest_pump_level: Some(g(m(0.5))),
            cells: 2,
            seepage: Some(given(m_d(0.001), m_d(0.004), "pond / seepage")),
            sludge: Some(SludgeState {
                depth: g(m(0.2)),
                measured_on: None,
                dry_solids: g(part(0.08)),
                clean_out_at: None,
            }),
            at_the_start: StartState {
                holding: None,
                level: Some(g(m(1.5))),
                solids: concentrations(&[("silt", 30.0)]),
            },
            filled_from: None,
            pumped_out: None,
            spills_to: Some(to(out)),
        })),
    );
    let mut screen = screen(1.0, 0.5, WashWater::OwnFiltered, pond);
    screen.takes_from = vec![pond, well];
    let f = site.add("Screen", PlaceKind::Filter(Box::new(screen)));
    site.add(
        "Overhead",
        PlaceKind::Use(Use {
            returns: given(part(0.4), part(0.6), "overhead / returns"),
            when: When { not_when_rain_over: Some(given(mm(5.0), mm(15.0), "overhead / rain")), ..When::default() },
            ..user(90.0, 0.5, &[f], Some(pond))
        }),
    );
    site.rain_mm = (0..60).map(|i| if i % 7 == 3 { 10.0 + f64::from(i) } else { 0.0 }).collect();
    site.evaporation_mm = 4.0;
    (site, pond, out)
}

fn watches(site: &Site, pond: PlaceId, out: PlaceId) -> Vec<Watch> {
    let outfall = Selector::to(Node::Place(out));
    vec![
        Watch::Water(outfall),
        Watch::Solids(outfall.purpose(Purpose::Spill)),
        Watch::Dissolved(outfall, 0),
        Watch::Volume(pond),
        Watch::Level(pond),
        Watch::Freeboard(pond),
        Watch::SpillLeft(pond),
        Watch::SludgeDepth(pond),
        Watch::Events(PlaceId(site.facility.places.len() - 2)),
        Watch::FilterHeld(PlaceId(site.facility.places.len() - 2)),
    ]
}

fn bits(series: &[DailySeries]) -> Vec<Vec<u64>> {
    series.iter().map(|s| s.values.iter().map(|v| v.to_bits()).collect()).collect()
}

fn all<const L: usize>(threads: usize, members: u64) -> Vec<Vec<Vec<u64>>> {
    let (site, pond, out) = site();
    let watches = watches(&site, pond, out);
    rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap().install(|| {
        let ensemble = ensemble_in_blocks::<_, L>(
            &site.facility,
            &site.weather(60),
            &site.timeline,
            site.period(60),
            42,
            0..members,
            &watches,
            |_, series| bits(series),
        )
        .unwrap_or_else(|p| panic!("{:?}", p.in_order()));
        assert!(ensemble.worst_residual_share < 1e-12);
        ensemble.members
    })
}

#[test]
fn threads_and_lanes_do_not_change_a_bit() {
    let one = all::<8>(1, 21);
    assert_eq!(one.len(), 21);
    assert_eq!(one, all::<8>(2, 21));
    assert_eq!(one, all::<8>(7, 21));
    assert_eq!(one, all::<1>(2, 21));
    assert_ne!(one[0], one[1], "members differ");
}

#[test]
fn every_build_of_the_step_for_this_machine_gives_the_same_bits() {
    let (site, ..) = site();
    let period = site.period(60);
    let input =
        Input { facility: &site.facility, timeline: &site.timeline, first_day: period.0, days: 60, middle: None };
    let members: Vec<Compiled> =
        (0..8).map(|number| plan::compile(input, &Draw::member(42, number)).unwrap()).collect();
    let forcings = forcings(&site.weather(60), period.0, 60);
    let run = |width: Width| -> Vec<u64> {
        let params = std::array::from_fn(|lane| members[lane].plan.params.as_slice());
        let mut engine = Engine::<8>::new(&members[0].plan, params);
        engine.width = width;
        let mut bits = Vec::new();
        for (forcing, records) in forcings.iter().zip(&members[0].records) {
            engine.run_day(forcing, records);
            let water = engine.day.water.iter();
            let all = water.chain(engine.state.volume.iter()).chain(&*engine.state.mass);
            bits.extend(all.flat_map(|v| v.0.map(f64::to_bits)));
        }
        bits
    };
    let plain = run(Width::Any);
    assert!(plain.iter().any(|bits| *bits != 0));
    for width in Width::all() {
        assert!(run(width) == plain, "{width:?}");
    }
}

#[test]
fn a_member_is_replayed_from_its_seed_and_number_bit_for_bit() {
    let (site, pond, out) = site();
    let watches = watches(&site, pond, out);
    let members = all::<8>(2, 11);
    for number in [0_u64, 5, 10] {
        let run = site.run_as(60, &Draw::member(42, number));
        let series: Vec<DailySeries> = watches.iter().map(|w| run.ledger.series(w)).collect();
        let ours = bits(&series);
        for (watch, (a, b)) in watches.iter().zip(ours.iter().zip(&members[number as usize])) {
            assert_eq!(a, b, "{watch:?}");
        }
    }
}

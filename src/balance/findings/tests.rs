//! Findings on cases worked by hand; each says how.

use crate::balance::tests::site::*;
use crate::balance::{FacilityFinding, FindingKind, Run};
use crate::facility::kinds::{FilterKind, MediaLayer, ShallowMediaBed};
use crate::facility::model::*;
use uom::si::f64::{Time, VolumeRate};
use uom::si::time::minute;
use uom::si::volume_rate::cubic_meter_per_hour;

fn minutes(v: f64) -> Time {
    Time::new::<minute>(v)
}

fn m3_h(v: f64) -> VolumeRate {
    VolumeRate::new::<cubic_meter_per_hour>(v)
}

/// A US gallon a minute, m³/h, exact: 231 in³ × 60.
fn gpm(v: f64) -> VolumeRate {
    m3_h(v * 3.785_411_784e-3 * 60.0)
}

fn layer(kind: &str, grains_mm: f64, wash: Option<f64>) -> MediaLayer {
    MediaLayer {
        kind: kind.into(),
        depth: g(m(0.4)),
        grains: Some(g(mm(grains_mm))),
        voids: None,
        density: None,
        load_held_times: None,
        wash_flow_times: wash.map(|w| g(part(w))),
    }
}

/// Beds of some vessels, washed every day at a rate.
fn beds(
    vessels: u32,
    diameter_m: f64,
    rate: VolumeRate,
    with: WashWater,
    wash_to: PlaceId,
    media: Vec<MediaLayer>,
) -> Filter {
    Filter {
        wash: Some(Wash {
            cadence: Cadence {
                by_log: false,
                triggers: vec![Trigger::Clock(g(minutes(1440.0)))],
                at: None,
                never_between: None,
            },
            rate: Some(g(rate)),
            flux: None,
            lasts: Some(g(minutes(3.0))),
            vessels,
            volume: None,
            rinse: None,
            drained: None,
            with,
            to: to(wash_to),
            holds_before: None,
            removes: None,
        }),
        ..filter(FilterKind::ShallowMediaBed(ShallowMediaBed { vessels, diameter: g(m(diameter_m)), media }))
    }
}

/// A use of so many m³ a day in ten hours, through beds that are washed into a sewer.
fn washed_beds(
    make: impl FnOnce(PlaceId) -> Filter,
    use_m3_d: f64,
    celsius: f64,
    sewer_takes: Option<VolumeRate>,
) -> (Run, PlaceId, PlaceId) {
    let mut site = Site::new();
    site.temperature_c = celsius;
    let town = site.supply("Town", None, &[]);
    let sewer = site.outside("Sewer");
    if let PlaceKind::DischargePoint(point) = &mut site.facility.places[sewer.0].kind {
        point.takes_at_most = sewer_takes.map(g);
    }
    let mut beds = make(sewer);
    beds.takes_from = vec![town];
    let beds = site.add("Beds", PlaceKind::Filter(Box::new(beds)));
    site.add("House", PlaceKind::Use(Use { runs: Some(g(minutes(600.0))), ..user(use_m3_d, 0.0, &[beds], None) }));
    (site.run(3), beds, sewer)
}

fn found(run: &Run, place: PlaceId, kind: FindingKind) -> Option<&FacilityFinding> {
    run.findings.iter().find(|f| f.place == place && f.kind == kind)
}

#[test]
fn a_pump_of_120_gpm_is_too_small_for_a_bed_of_12_57_square_feet() {
    // 4 ft across is π/4·16 = 12.566 ft²; 120/12.566 = 9.549 gpm/ft², less than 15.
    let of = |rate| {
        washed_beds(
            |sewer| beds(2, 1.2192, gpm(rate), WashWater::OwnFiltered, sewer, vec![layer("silica sand", 0.5, None)]),
            200.0,
            15.0,
            None,
        )
    };
    let (run, beds_id, _) = of(120.0);
    let finding = found(&run, beds_id, FindingKind::WashPumpTooSmall).expect("it is too small");
    assert!(
        finding.sentence.contains("(9.5 gpm/ft2)") && finding.sentence.contains("(15.0 gpm/ft2)"),
        "{}",
        finding.sentence
    );
    // 188.5 gpm is just 15 gpm/ft².
    let (run, beds_id, _) = of(188.6);
    assert_eq!(found(&run, beds_id, FindingKind::WashPumpTooSmall), None);
}

#[test]
fn a_medium_that_needs_less_flow_than_sand_is_held_against_less() {
    // 15 × 0.6 = 9.0 gpm/ft², below the 9.549 there is.
    let (run, beds_id, _) = washed_beds(
        |sewer| {
            beds(2, 1.2192, gpm(120.0), WashWater::OwnFiltered, sewer, vec![layer("crushed glass", 0.5, Some(0.6))])
        },
        200.0,
        15.0,
        None,
    );
    assert_eq!(found(&run, beds_id, FindingKind::WashPumpTooSmall), None);
}

#[test]
fn a_wash_that_lifts_the_bed_in_cold_water_may_not_lift_it_in_warm() {
    // Wen and Yu for 0.9 mm sand of 2650 kg/m³, by hand:
    //  5 °C, ρ 999.97, µ 1.5182e-3: Ga = 7.29e-10·999.97·1650.03·9.80665/2.3049e-6 = 5117.8;
    //        Re = √(1135.69 + 208.81) − 33.7 = 2.9676; u = 2.9676·1.5182e-3/(999.97·9e-4) = 5.006e-3 m/s = 18.02 m/h.
    // 30 °C, ρ 995.65, µ 0.7973e-3: Ga = 7.29e-10·995.65·1654.35·9.80665/6.3569e-7 = 18524;
    //        Re = √(1135.69 + 755.78) − 33.7 = 9.7909; u = 9.7909·0.7973e-3/(995.65·9e-4) = 8.712e-3 m/s = 31.36 m/h.
    let run = |celsius| {
        washed_beds(
            |sewer| {
                // 25 m/h on 1.1310 m².
                beds(3, 1.2, m3_h(28.274), WashWater::OwnFiltered, sewer, vec![layer("silica sand", 0.9, None)])
            },
            300.0,
            celsius,
            None,
        )
    };
    let (cold, beds_id, _) = run(5.0);
    assert_eq!(found(&cold, beds_id, FindingKind::BelowFluidisation), None);
    let (warm, beds_id, _) = run(30.0);
    let finding = found(&warm, beds_id, FindingKind::BelowFluidisation).expect("it lies still");
    // The clock has come round at the end of each day.
    assert_eq!(finding.days, [0, 1, 2]);
    assert!((finding.amount - 31.36).abs() < 0.05, "{}", finding.amount);
}

#[test]
fn grains_of_an_unknown_density_are_said_not_to_be_judged() {
    let (run, beds_id, _) = washed_beds(
        |sewer| beds(2, 1.2, m3_h(1.0), WashWater::OwnFiltered, sewer, vec![layer("zeolite", 0.9, None)]),
        300.0,
        15.0,
        None,
    );
    assert_eq!(found(&run, beds_id, FindingKind::BelowFluidisation), None);
    assert!(run.notes.iter().any(|note| note.contains("zeolite")));
}

#[test]
fn sister_vessels_carry_the_flow_and_the_wash_of_the_one_that_is_washed() {
    // Three vessels of 1.2 m (1.13097 m² each), 900 m³ in ten hours: 90 m³/h, 26.5 m/h on all and 39.8 m/h on two. With
    // a wash of 37 m/h from its own water, 41.846 m³/h more: 131.846/2.26195 = 58.29 m/h; with clean water 39.79 m/h.
    let rate = m3_h(37.0 * 1.130_973_355_3);
    let media = || vec![layer("silica sand", 0.5, None)];
    let (run, beds_id, _) =
        washed_beds(|sewer| beds(3, 1.2, rate, WashWater::OwnFiltered, sewer, media()), 900.0, 15.0, None);
    let finding = found(&run, beds_id, FindingKind::SisterFlux).expect("two go on");
    assert!((finding.amount - 58.29).abs() < 0.01, "{}", finding.amount);

    let (run, beds_id, _) = washed_beds(
        |sewer| {
            let mut of = beds(3, 1.2, rate, WashWater::From(PlaceId(0)), sewer, media());
            // 40 m/h on three vessels: never passed.
            of.handles_at_most = Some(g(m3_h(40.0 * 3.392_920_066)));
            of
        },
        900.0,
        15.0,
        None,
    );
    assert_eq!(found(&run, beds_id, FindingKind::SisterFlux), None);

    let (run, beds_id, _) = washed_beds(
        |sewer| {
            let mut of = beds(3, 1.2, rate, WashWater::OwnFiltered, sewer, media());
            of.handles_at_most = Some(g(m3_h(40.0 * 3.392_920_066)));
            of
        },
        900.0,
        15.0,
        None,
    );
    let finding = found(&run, beds_id, FindingKind::SisterFlux).expect("58 is over 40");
    assert_eq!(finding.days, [0, 1, 2]);
}

#[test]
fn a_small_daily_volume_runs_faster_than_a_sewer_takes() {
    // 188 gpm (42.70 m³/h) for 3 min in each of two vessels: 4.27 m³ a day, little; but the sewer takes 100 gpm
    // (22.71 m³/h). To hold it back: (42.70 − 22.71)·6/60 = 1.999 m³.
    let (run, _, sewer) = washed_beds(
        |sewer| beds(2, 1.2192, gpm(188.0), WashWater::OwnFiltered, sewer, vec![layer("silica sand", 0.5, None)]),
        200.0,
        15.0,
        Some(gpm(100.0)),
    );
    assert_eq!(found(&run, sewer, FindingKind::SewerRate), None);
    let finding = found(&run, sewer, FindingKind::SewerPeak).expect("it is over");
    assert_eq!(finding.days, [0, 1, 2]);
    assert!((finding.amount - 42.70).abs() < 0.005, "{}", finding.amount);
    assert!(finding.sentence.contains("2.0 m³"), "{}", finding.sentence);
}

#[test]
fn media_against_sand_change_the_load_on_an_area_and_the_flux_but_not_a_pumps_flow() {
    // One vessel of 1 m²: 0.5 kg/m² × 1.1 = 0.55 kg before a wash; a flux of 30 m/h × 0.78 for 3 min = 1.17 m³.
    let diameter = (4.0 / std::f64::consts::PI).sqrt();
    let run = |flux: bool| {
        let mut site = Site::new();
        site.solids("silt", Some(2650.0), 20.0, 40.0);
        // All is caught: 0.3 kg a day in 10 m³.
        let town = site.supply("Town", None, &[("silt", 30.0)]);
        let drain = site.outside("Drain");
        let mut glass = layer("crushed glass", 0.6, Some(0.78));
        glass.load_held_times = Some(g(part(1.1)));
        let mut of = beds(1, diameter, m3_h(30.0), WashWater::From(town), drain, vec![glass]);
        of.takes_from = vec![town];
        let wash = of.wash.as_mut().unwrap();
        wash.cadence.triggers.clear();
        wash.holds_before =
            Some(g(uom::si::f64::ArealMassDensity::new::<uom::si::areal_mass_density::kilogram_per_square_meter>(0.5)));
        if flux {
            wash.rate = None;
            wash.flux = Some(g(m_d(30.0 * 24.0)));
        }
        let beds = site.add("Beds", PlaceKind::Filter(Box::new(of)));
        site.add("House", PlaceKind::Use(user(10.0, 0.0, &[beds], None)));
        let run = site.run(11);
        let events = run.ledger.filter(beds).unwrap().events.clone();
        let water = run
            .ledger
            .series(&crate::balance::Watch::Water(crate::balance::Selector::to(crate::balance::Node::Place(drain))))
            .values;
        (events, water)
    };
    // 0.3, 0.6 → a wash on the second day, 0.05 left; then at 0.55 each: by day 11 caught 3.3 = 6·0.55, the sixth just due.
    let (events, water) = run(true);
    assert_eq!(events, [0, 1, 0, 1, 0, 1, 0, 1, 0, 1, 1]);
    assert!((water[1] - 1.17).abs() < 1e-9, "{}", water[1]);
    let (events, water) = run(false);
    assert_eq!(events, [0, 1, 0, 1, 0, 1, 0, 1, 0, 1, 1]);
    assert!((water[1] - 1.5).abs() < 1e-9, "{}", water[1]);
}

/// 100 m³ a day over 200 m² is 5.787e-6 m/s; 200 m³ are 2.0 days of it; a year's 36,525 m³ are 182.6 times 200 m³.
#[test]
fn a_pond_is_worked_by_hand_beside_the_ledger() {
    let mut site = Site::new();
    site.solids("silt", Some(2650.0), 20.0, 40.0);
    let town = site.supply("Town", None, &[("silt", 100.0)]);
    let brook = site.outside("Brook");
    let row = |level: f64| LevelRow { level: g(m(level)), area: g(m2(200.0)) };
    let pond = site.add(
        "Pond",
        PlaceKind::Pond(Box::new(Pond {
            shape: PondShape::Table { rows: vec![row(0.0), row(1.0)], spill_level: g(m(1.0)) },
            freeboard_above_spill: None,
            lowest_pump_level: None,
            cells: 1,
            seepage: None,
            sludge: None,
            at_the_start: StartState { holding: None, level: Some(g(m(1.0))), solids: Vec::new() },
            filled_from: None,
            pumped_out: None,
            spills_to: Some(to(brook)),
        })),
    );
    site.add(
        "Stream",
        PlaceKind::Transfer(Transfer {
            amount: UseAmount::PerDay(g(m3_d(100.0))),
            when: When::default(),
            takes_from: vec![town],
            turn: 1,
            runs: None,
            goes_to: to(pond),
        }),
    );
    site.add(
        "Floor",
        PlaceKind::Use(Use {
            amount: UseAmount::Floods { area: g(m2(1200.0)), depth: g(m(0.02)), floods_a_day: g(part(2.0)), zones: 6 },
            ..user(1.0, 0.0, &[town], None)
        }),
    );
    let run = site.run(10);
    let words = &found(&run, pond, FindingKind::ByHand).unwrap().sentence;
    for part in
        ["100 m³ over 200 m², 15 °C", "overflow rate 0.0058 mm/s", "2.0 days in what", "a year's inflow (0.005)"]
    {
        assert!(words.contains(part), "{part}: {words}");
    }
    // The same in American units: 100/0.003785411784 gal, 200/0.3048² ft², 1.8·15 + 32 F.
    site.facility.system = crate::facility::model::UnitSystem::Us;
    let american = site.run(10);
    let words = &found(&american, pond, FindingKind::ByHand).unwrap().sentence;
    assert!(words.contains("26\u{202f}400 gal over 2\u{202f}150 ft², 59 F"), "{words}");
    assert!(!words.contains("m³") && !words.contains("°C"), "{words}");
    // 1200 m² · 0.02 m / 6 zones = 4 m³, twice a day in each of six.
    let floor = site.facility.find("Floor").unwrap();
    let words = &found(&run, floor, FindingKind::ByHand).unwrap().sentence;
    assert!(words.contains("takes 4.0 m³, 12 times a day"), "{words}");
}

/// 100 m³ a day into a full pond of 200 m³ that nothing says the way out of: all of it is told of, by day and in all.
#[test]
fn a_pond_without_an_outlet_that_runs_over_is_told() {
    for (outlet, told) in [(false, true), (true, false)] {
        let mut site = Site::new();
        let town = site.supply("Town", None, &[]);
        let brook = site.outside("Brook");
        let row = |level: f64| LevelRow { level: g(m(level)), area: g(m2(200.0)) };
        let pond = site.add(
            "Pond",
            PlaceKind::Pond(Box::new(Pond {
                shape: PondShape::Table { rows: vec![row(0.0), row(1.0)], spill_level: g(m(1.0)) },
                freeboard_above_spill: None,
                lowest_pump_level: None,
                cells: 1,
                seepage: None,
                sludge: None,
                at_the_start: StartState { holding: None, level: Some(g(m(1.0))), solids: Vec::new() },
                filled_from: None,
                pumped_out: None,
                spills_to: outlet.then(|| to(brook)),
            })),
        );
        site.add(
            "Stream",
            PlaceKind::Transfer(Transfer {
                amount: UseAmount::PerDay(g(m3_d(100.0))),
                when: When::default(),
                takes_from: vec![town],
                turn: 1,
                runs: None,
                goes_to: to(pond),
            }),
        );
        let run = site.run(3);
        let finding = found(&run, pond, FindingKind::NoOutlet);
        assert_eq!(finding.is_some(), told);
        if let Some(finding) = finding {
            assert_eq!(finding.days, [0, 1, 2]);
            for words in ["on 3 days", "300 m³ in all", "at most 100 m³ in a day", "`spills to`"] {
                assert!(finding.sentence.contains(words), "{words}: {}", finding.sentence);
            }
        }
    }
}

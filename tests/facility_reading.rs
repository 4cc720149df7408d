//! Whole facilities read from their folders.

#![cfg(test)]

use std::path::Path;

use bywash::facility;
use bywash::facility::model::{Facility, PlaceKind, Weir};
use bywash::files::{Source, Sources, yaml};
use bywash::told::{Problems, print};

fn read(folder: &str) -> Facility {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let mut sources = Sources::new(&path);
    let mut problems = Problems::new();
    let facility = facility::read(&path, &mut sources, &mut problems);
    assert!(problems.is_empty(), "{}", print(&problems, &sources, false));
    facility.expect("a facility without a problem is given")
}

#[test]
fn a_usual_facility_reads_without_a_problem() {
    let facility = read("tests/facilities/quillmere");
    assert_eq!(facility.places.len(), 14);
    assert_eq!(facility.meters.len(), 3);
}

#[test]
fn a_facility_with_one_of_every_kind_reads_without_a_problem() {
    let facility = read("tests/facilities/harrowmead");
    assert_eq!(facility.places.len(), 38);
    assert_eq!(facility.meters.len(), 4);
}

#[test]
fn the_rows_of_the_picture_are_kept_as_typed() {
    let text = std::fs::read_to_string("demo-facility/facility.yaml").unwrap();
    let rows = "picture: [[Well, Storage pond, Outfall 1], [Sand beds, Overhead yard]]\n";
    let problems = Problems::new();
    let tree = yaml::tree(&Source::new("facility.yaml", &format!("{text}{rows}")), &problems).unwrap();
    let facility = facility::from_tree(&tree, Path::new("demo-facility"), &problems).unwrap();
    assert!(!problems.has_errors());
    assert_eq!(facility.picture, [vec!["Well", "Storage pond", "Outfall 1"], vec!["Sand beds", "Overhead yard"]]);
}

#[test]
fn the_coefficient_of_a_broad_crest_is_a_plain_number_or_a_range_of_them() {
    let text = std::fs::read_to_string("demo-facility/facility.yaml").unwrap();
    for (typed, low, high) in [("0.9", 0.9, 0.9), ("0.85 to 0.95", 0.85, 0.95)] {
        let weir =
            format!("weir: {{shape: broad crested, width: 3 ft, coefficient: {typed}}}, looked at: every working day");
        let problems = Problems::new();
        let source = Source::new("facility.yaml", &text.replacen("looked at: every working day", &weir, 1));
        let tree = yaml::tree(&source, &problems).unwrap();
        let facility = facility::from_tree(&tree, Path::new("demo-facility"), &problems).unwrap();
        assert!(!problems.has_errors());
        let ends = facility.places.iter().find_map(|place| match &place.kind {
            PlaceKind::DischargePoint(point) => match &point.weir {
                Some(Weir::BroadCrested { coefficient, .. }) => coefficient.as_ref()?.ends(),
                _ => None,
            },
            _ => None,
        });
        assert_eq!(ends.map(|(from, to)| (from.value, to.value)), Some((low, high)), "{typed}");
    }
}

#[test]
fn the_demonstration_and_the_starter_read_without_a_problem() {
    read("demo-facility");
    read("templates");
}

#[test]
fn every_setting_place_and_meter_is_read_back_as_a_sentence() {
    let facility = read("tests/facilities/harrowmead");
    let told = facility::sentences(&facility);
    // The site as a whole, its rain, temperatures, evaporation and water; then what has a name.
    let named = facility.seasons.len() + facility.solids.len() + facility.dissolved.len();
    assert_eq!(told.len(), 5 + named + facility.places.len() + facility.meters.len());
    let of = |name: &str| {
        let found = told.iter().find(|(_, text)| text.starts_with(name));
        found.map(|(_, text)| text.as_str()).unwrap_or_default()
    };
    assert_eq!(
        of("Container yard"),
        "Container yard is rained on: on 9.5 acre 50 % to 70 % of the rain runs off, once 0.15 in is soaked up each day; it goes \
         to Yard strainer, carrying yard silt at 80 mg/L to 400 mg/L and potting mix at 20 mg/L to 100 mg/L."
    );
    assert_eq!(
        of("The water is"),
        "The water is at 55 F from Mar to May, 70 F from Jun to Aug, 58 F from Sep to Oct, 42 F from Nov to Feb."
    );
    assert_eq!(
        of("Grains of yard silt"),
        "Grains of yard silt weigh 2.65 times water; half of the mass is finer than 18 um, nine tenths finer than 90 um; \
         they hold 0.6 g/kg of total P."
    );
    assert_eq!(of("Bleed "), "Bleed moves 150 gal/day from Return tank to Bleed field, in the season `dormant`.");
    for (place, text) in &told {
        println!("{place} {text}");
    }
}

#[test]
fn values_reach_the_model_in_the_quantities_they_were_typed_in() {
    use bywash::facility::model::{Evaporation, PlaceKind, UseAmount};
    use chrono::NaiveDate;
    use uom::si::velocity::meter_per_second;
    use uom::si::volume_rate::cubic_meter_per_second;

    let facility = read("tests/facilities/harrowmead");
    let kind = |name: &str| &facility.get(facility.find(name).unwrap()).unwrap().kind;
    // 25 gpm for 20 h of 24: 25 × 231 in³ × (0.0254 m/in)³ / 60 s × 20/24.
    let PlaceKind::Transfer(loop_) = kind("Polishing loop") else { panic!("a transfer") };
    let UseAmount::PerDay(amount) = &loop_.amount else { panic!("a volume a day") };
    let expected = 25.0 * 231.0 * 0.0254_f64.powi(3) / 60.0 * 20.0 / 24.0;
    approx::assert_relative_eq!(
        amount.ends().unwrap().0.get::<cubic_meter_per_second>(),
        expected,
        max_relative = 1e-12
    );
    assert_eq!(amount.text, "25 gpm");
    assert_eq!(amount.key, "transfers / Polishing loop / amount");
    assert_eq!(amount.place.line, 110);
    // 150 gal/day stays a volume a day.
    let PlaceKind::Transfer(bleed) = kind("Bleed") else { panic!("a transfer") };
    let UseAmount::PerDay(amount) = &bleed.amount else { panic!("a volume a day") };
    approx::assert_relative_eq!(
        amount.ends().unwrap().0.get::<cubic_meter_per_second>(),
        150.0 * 231.0 * 0.0254_f64.powi(3) / 86_400.0,
        max_relative = 1e-12
    );
    let PlaceKind::Pond(pond) = kind("Storage pond") else { panic!("a pond") };
    let (low, high) = pond.seepage.as_ref().unwrap().ends().unwrap();
    approx::assert_relative_eq!(low.get::<meter_per_second>(), 0.04 * 0.0254 / 86_400.0, max_relative = 1e-12);
    approx::assert_relative_eq!(high.get::<meter_per_second>(), 0.08 * 0.0254 / 86_400.0, max_relative = 1e-12);

    // 1.0 in/month is spread over that month's own days.
    let facility = read("tests/facilities/quillmere");
    let Some(Evaporation::Months(months)) = &facility.weather.evaporation else { panic!("months") };
    for (date, inches, days) in [((2023, 2, 10), 1.0, 28.0), ((2024, 2, 10), 1.0, 29.0), ((2025, 7, 1), 5.0, 31.0)] {
        let date = NaiveDate::from_ymd_opt(date.0, date.1, date.2).unwrap();
        let rate = months.on(date).on(date).ends().unwrap().0.get::<meter_per_second>();
        approx::assert_relative_eq!(rate, inches * 0.0254 / days / 86_400.0, max_relative = 1e-12);
    }
}

#[test]
fn ways_lines_and_order_are_those_of_the_file() {
    use bywash::facility::{Carries, Graph, Line};
    let facility = read("tests/facilities/harrowmead");
    let graph = Graph::of(&facility);
    let id = |name: &str| facility.find(name).unwrap();
    let carried =
        |from: &str, to: &str| graph.ways_between(id(from), id(to)).map(|way| way.carries).collect::<Vec<_>>();
    assert_eq!(carried("Sand beds", "Settling pond"), [Carries::WashWater]);
    assert_eq!(carried("Storage pond", "Outfall 1"), [Carries::PumpedOut, Carries::Spill]);
    assert_eq!(carried("Town water", "Wash tank"), [Carries::TopUp]);
    assert_eq!(graph.line(id("Sand beds")), Some(Line::Pull));
    assert_eq!(graph.line(id("Drum")), Some(Line::Push));
    assert_eq!(graph.line(id("Settling pond")), None);
    assert_eq!(graph.order().len(), facility.places.len());
    let at = |name: &str| graph.order().iter().position(|place| *place == id(name)).unwrap();
    for way in graph.ways().iter().filter(|way| way.carries.is_flow()) {
        let position = |place| graph.order().iter().position(|other| *other == place).unwrap();
        assert!(position(way.from) < position(way.to), "{way:?}");
    }
    assert!(at("Shaker screen") < at("Drum") && at("Drum") < at("Return tank"));
}

/// What `facility.yaml` of the demonstration says with another exchange of its town meter: the sentence of the meter, or what
/// is told.
fn exchanged(row: &str) -> Result<String, String> {
    let folder = tempfile::tempdir().unwrap();
    let text = std::fs::read_to_string("demo-facility/facility.yaml").unwrap();
    let held = "[{on: 2025-05-12, old read: 4706, new read: 0}]";
    assert!(text.contains(held));
    std::fs::write(folder.path().join("facility.yaml"), text.replace(held, row)).unwrap();
    let mut sources = Sources::new(folder.path());
    let mut problems = Problems::new();
    let facility = facility::read(folder.path(), &mut sources, &mut problems);
    let wrong = problems.in_order().into_iter().find(|problem| problem.message.contains("digits can't read"));
    if let Some(wrong) = wrong {
        return Err(wrong.message.clone());
    }
    let sentences = facility::sentences(&facility.expect("a facility"));
    Ok(sentences.into_iter().map(|(_, text)| text).find(|text| text.contains("exchanged on")).expect("a meter"))
}

#[test]
fn an_exchange_says_what_the_new_meter_counts_in_and_is_read_back() {
    let said = exchanged("[{on: 2025-05-12, old read: 4706, new read: 3, counts in: m3, digits: 7}]").unwrap();
    let expected =
        "exchanged on 2025-05-12, when the old one read 4706 and the new one 3, which counts in m3, on 7 digits.";
    assert!(said.ends_with(expected), "{said}");
    // What the new one read is held against its own digits, whatever order the exchanges stand in.
    let two =
        "[{on: 2025-08-12, old read: 1234567, new read: 0}, {on: 2025-05-12, old read: 4706, new read: 3, digits: 7}]";
    assert!(exchanged(two).is_ok(), "{:?}", exchanged(two));
    let told = exchanged("[{on: 2025-05-12, old read: 4706, new read: 1234, digits: 3}]").unwrap_err();
    assert_eq!(told, "a meter with 3 digits can't read 1234");
}

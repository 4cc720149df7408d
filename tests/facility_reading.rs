//! Whole facilities read from their folders.

#![cfg(test)]

use std::path::Path;

use bywash::diagnostic::{Problems, print};
use bywash::facility::{self, model::Facility};
use bywash::files::Sources;

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
    assert_eq!(facility.places.len(), 36);
    assert_eq!(facility.meters.len(), 4);
}

#[test]
fn the_demonstration_and_the_starter_read_without_a_problem() {
    read("demo-facility");
    read("templates");
}

#[test]
fn every_place_and_meter_is_read_back_as_a_sentence() {
    let facility = read("tests/facilities/harrowmead");
    let told = facility::sentences(&facility);
    assert_eq!(told.len(), facility.places.len() + facility.meters.len());
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
        of("Bleed "),
        "Bleed moves 150 gal/day from Return tank to Bleed field, in the season `dormant`."
    );
    for (place, text) in &told {
        println!("{place} {text}");
    }
}

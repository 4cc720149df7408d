//! Whole facilities read from their folders.

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

//! The demonstration facility and the starter files are read without a problem, and the demonstration's story comes out.

#![cfg(test)]

use std::path::{Path, PathBuf};

use bywash::cli::new::STARTERS;
use bywash::facility::kinds::FilterKind;
use bywash::facility::model::Facility;
use bywash::files::{Sources, yaml};
use bywash::records::Timeline;
use bywash::rules::{Finding, Outcome};
use bywash::told::Problems;
use chrono::NaiveDate;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn told(problems: &Problems) -> String {
    problems.in_order().iter().map(|problem| format!("{}\n", problem.to_string_line())).collect()
}

fn is_yaml(folder: &Path, name: &str) {
    let problems = Problems::new();
    let mut sources = Sources::new(folder);
    let source = sources.text(name, None, &problems).expect(name);
    let tree = yaml::tree(&source, &problems);
    assert!(tree.is_some(), "{name}: {}", told(&problems));
    assert_eq!(told(&problems), "", "{name}");
}

#[test]
fn every_yaml_file_we_hand_out_is_one_that_our_reader_takes() {
    for name in [
        "facility.yaml",
        "prices.yaml",
        "letterhead.yaml",
        "proposals/tuned.yaml",
        "proposals/bags.yaml",
        "proposals/moving-media.yaml",
    ] {
        is_yaml(&root().join("demo-facility"), name);
    }
    is_yaml(&root().join("rules"), "sallowfen.yaml");
    for name in ["facility.yaml", "filters-to-copy.yaml", "letterhead.yaml", "rules.yaml"] {
        is_yaml(&root().join("templates"), name);
    }
}

/// Reads a folder's facility and records, and gives what was told.
fn read_all(folder: &Path) -> (Option<Facility>, Timeline, String) {
    let mut problems = Problems::new();
    let mut sources = Sources::new(folder);
    let facility = bywash::facility::read(folder, &mut sources, &mut problems);
    let timeline =
        facility.as_ref().map(|facility| bywash::records::read(facility, &mut sources, &problems)).unwrap_or_default();
    (facility, timeline, told(&problems))
}

#[test]
fn the_demonstration_is_read_without_a_problem() {
    let (facility, timeline, told) = read_all(&root().join("demo-facility"));
    assert_eq!(told, "");
    let facility = facility.unwrap();
    assert_eq!(facility.name, "Sallowfen Growers");
    assert!(timeline.observations.len() > 1000);
}

#[test]
fn the_wash_meter_went_past_its_last_number_and_agrees_with_the_wash_log() {
    let (facility, timeline, _) = read_all(&root().join("demo-facility"));
    let facility = facility.unwrap();
    let meter = facility.meters.iter().position(|m| m.name == "M3 wash");
    let metered: f64 =
        timeline.meter_spans.iter().filter(|span| Some(span.meter) == meter).map(|span| span.volume_m3).sum();
    let beds = facility.find("Sand beds").unwrap();
    let washes: u32 = timeline.washes.iter().filter(|wash| wash.filter == beds).map(|wash| wash.count).sum();
    // One wash as typed: 106 gpm for 3 minutes, three vessels. A US gallon is 231 cubic inches (NIST HB 44).
    let one_wash_m3 = 106.0 * 3.0 * 3.0 * 231.0 * 0.0254_f64.powi(3);
    let ratio = metered / (f64::from(washes) * one_wash_m3);
    assert!((0.95..1.05).contains(&ratio), "{ratio}");
    assert!(
        timeline.repairs.iter().any(|repair| repair.sentence.contains("M3 wash rolled over")),
        "{:#?}",
        timeline.repairs
    );
}

/// A folder made by `new`, with a facility file that may have been changed.
fn made_new(change: impl Fn(String) -> String) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in STARTERS {
        let path = folder.path().join(name);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        let text = if *name == "facility.yaml" { change((*text).to_string()) } else { (*text).to_string() };
        std::fs::write(path, text).unwrap();
    }
    folder
}

#[test]
fn a_folder_just_made_is_read_without_an_error() {
    let folder = made_new(|text| text);
    let (facility, _, told) = read_all(folder.path());
    assert!(facility.is_some(), "{told}");
    assert_eq!(told, "");
}

#[test]
fn every_filter_to_copy_works_when_it_is_copied() {
    let text = std::fs::read_to_string(root().join("templates/filters-to-copy.yaml")).unwrap();
    let blocks: Vec<&str> = text
        .split("\n\n")
        .filter(|block| block.contains("    kind: "))
        .map(|block| block.trim_start_matches("filters:").trim_matches('\n'))
        .collect();
    assert!(blocks.len() >= FilterKind::ALL.len());
    let mut kinds: Vec<&str> = Vec::new();
    for block in blocks {
        let name = block.trim_start().split(':').next().unwrap();
        kinds.extend(
            FilterKind::ALL.iter().map(|kind| kind.words).find(|words| block.contains(&format!("kind: {words}\n"))),
        );
        let folder = made_new(|facility| {
            // The one that stands there under the same name makes room for it.
            let copied = replaced(&facility, name).unwrap_or(facility);
            copied.replacen("\nfilters:\n", &format!("\nfilters:\n{block}\n"), 1)
        });
        let (facility, _, told) = read_all(folder.path());
        assert!(facility.is_some(), "{name}: {told}");
    }
    kinds.sort_unstable();
    kinds.dedup();
    assert_eq!(kinds.len(), FilterKind::ALL.len());
}

/// A facility file without the lines of one filter, if it has it.
fn replaced(facility: &str, name: &str) -> Option<String> {
    let start = facility.find(&format!("\n  {name}:\n"))?;
    let rest = facility.get(start + 1..)?;
    let mut length = 0;
    for (at, line) in rest.split_inclusive('\n').enumerate() {
        if at > 0 && !line.starts_with("   ") {
            break;
        }
        length += line.len();
    }
    Some(format!("{}\n{}", &facility[..start], &rest[length..]))
}

#[test]
fn the_prices_and_every_proposal_are_read_and_fit_the_facility() {
    let folder = root().join("demo-facility");
    let problems = Problems::new();
    let mut sources = Sources::new(&folder);
    let mut tree = |name: &str| {
        let source = sources.text(name, None, &problems).expect(name);
        yaml::tree(&source, &problems).expect(name)
    };
    let facility = tree("facility.yaml");
    let prices = bywash::compare::prices::read(&tree("prices.yaml"), &problems);
    assert!(prices.is_some(), "{}", told(&problems));
    for name in ["tuned", "bags", "moving-media"] {
        let proposal = bywash::compare::proposal::read(&tree(&format!("proposals/{name}.yaml")), &problems)
            .unwrap_or_else(|| panic!("{name}: {}", told(&problems)));
        bywash::compare::proposal::apply(&facility, &proposal, &problems);
    }
    assert_eq!(told(&problems), "");
}

#[test]
fn the_august_storm_lies_between_two_readings_and_a_weekend_in_one() {
    let folder = root().join("demo-facility");
    let mut problems = Problems::new();
    let mut sources = Sources::new(&folder);
    let facility = bywash::facility::read(&folder, &mut sources, &mut problems).unwrap();
    let period = facility.period.unwrap();
    let weather = bywash::weather::read(&facility, period, &[], &mut sources, &problems);
    assert_eq!(told(&problems), "");
    assert_eq!(weather.rain.len(), 365);
    assert!(weather.rain.iter().all(|day| day.depth_mm.is_some()));
    let day = |text: &str| {
        let date: NaiveDate = text.parse().unwrap();
        weather.rain[usize::try_from((date - period.0).num_days()).unwrap()]
    };
    let inches = |mm: f64| (mm / 25.4 * 100.0).round() / 100.0;
    let (first, second) = (day("2025-08-12"), day("2025-08-13"));
    assert_eq!((inches(first.high_mm), inches(second.high_mm)), (1.5, 1.4));
    // Read on Monday 23 December for Friday, Saturday and Sunday: no one of them is known.
    let friday = day("2024-12-20");
    assert!(!friday.measured && friday.low_mm < friday.high_mm);
    assert!(weather.readings.iter().any(|reading| reading.trace));
}

/// Reads everything of a folder and judges its records alone, without a computed run.
fn findings(folder: &Path) -> (Vec<Finding>, String) {
    let mut problems = Problems::new();
    let mut sources = Sources::new(folder);
    let facility = bywash::facility::read(folder, &mut sources, &mut problems).unwrap();
    let timeline = bywash::records::read(&facility, &mut sources, &problems);
    let period = facility.period.unwrap();
    let weather = bywash::weather::read(&facility, period, &timeline.rain, &mut sources, &problems);
    let (file, asked_at) = facility.rules.clone().unwrap();
    let rules = bywash::rules::read(&file, Some(&asked_at), &facility, &mut sources, &problems);
    let rules = rules.unwrap_or_else(|| panic!("{}", told(&problems)));
    let case = bywash::rules::Case {
        facility: &facility,
        rules: &rules,
        timeline: &timeline,
        weather: Some(&weather),
        ledger: None,
        period,
        as_of: timeline.last_day.unwrap_or(period.1),
        predict: &|_| Vec::new(),
    };
    (bywash::rules::judge(&case), told(&problems))
}

#[test]
fn the_records_of_the_year_tell_the_story_that_the_readme_promises() {
    let (findings, told) = findings(&root().join("demo-facility"));
    assert_eq!(told, "");
    let outcome = |id: &str| findings.iter().find(|finding| finding.id == id).unwrap_or_else(|| panic!("{id}"));
    for (id, expected) in [
        ("limit / TSS, month average", Outcome::Exceeded),
        // Nobody looks on weekends: whether a month without a sample had a discharge is not known.
        ("limit / TSS, highest day", Outcome::NotShown),
        ("limit / pH", Outcome::NotShown),
        ("limit / Settleable solids", Outcome::NotShown),
        ("limit / Dry season", Outcome::NotShown),
        ("limit / House drain shut", Outcome::NoDischarge),
        ("limit / Freeboard", Outcome::NotShown),
        ("limit / Wash water", Outcome::Met),
        ("limit / Well, permit year", Outcome::Met),
        ("limit / Sewer, any day", Outcome::Met),
        ("limit / Sewer, solids", Outcome::Met),
        ("limit / Sewer, rate", Outcome::PredictedWithin),
        ("notice / TSS, month average, Mar 2025", Outcome::Overdue),
        ("report / Monthly report for Jul 2025", Outcome::Overdue),
    ] {
        assert_eq!(outcome(id).outcome, expected, "{id}: {:#?}", outcome(id).sentences);
    }
    let highest = outcome("limit / TSS, highest day");
    assert_eq!(highest.figure.as_ref().unwrap().text, "46 mg/L");
    assert!(highest.missing.iter().all(|missing| missing.sentence.contains("not known whether")));
    // By hand: (46 + 29) / 2 = 37.5 mg/L in March.
    let average = outcome("limit / TSS, month average");
    assert_eq!(average.figure.as_ref().unwrap().text, "37.5 mg/L");
    // By hand: the gauge read 1.5 in, then 1.4 in; any 24 h had from 1.5 in (one reading) to 2.9 in (both).
    let dry = outcome("limit / Dry season");
    let storm = dry.windows.iter().find(|window| window.label == "13 Aug 2025").unwrap();
    assert_eq!(storm.outcome, Outcome::NotShown);
    assert!(storm.arithmetic.iter().any(|line| line.contains("from 1.5 in to 2.9 in")));
    // A weekend's total on Monday still shows that no day was over.
    assert!(outcome("limit / Wash water").sentences.iter().any(|s| s.contains("several days")));
}

#[test]
fn a_folder_just_made_has_rules_that_are_read_and_nothing_met_without_records() {
    let folder = made_new(|text| text);
    let (findings, told) = findings(folder.path());
    assert_eq!(told, "");
    assert!(!findings.is_empty());
    for finding in findings {
        assert!(finding.outcome != Outcome::Met, "{}", finding.id);
    }
}

//! A small site for the tests of rules: a pond that spills to an outfall, sand beds, a sewer, a field.
#![allow(dead_code)]

use std::path::Path;
use std::sync::OnceLock;

use bywash::balance::{Basis, Entry, Ledger, Node, Purpose, Shape, Way};
use bywash::facility;
use bywash::facility::model::Facility;
use bywash::files::Sources;
use bywash::records::{self, Timeline};
use bywash::rules::{self, Case, Drawn, Finding, LimitPlan, Outcome, RulesFile};
use bywash::told::{Problems, print};
use bywash::weather::{self, DailyWeather};
use chrono::NaiveDate;

pub const FACILITY: &str = "\
name: Test site
report in: US units
paper: letter
rules: rules.yaml
records: records
day starts: 7 am
weather:
  rain: {file: rain.csv, read at: 7 am, belongs to: the day that ended, a reading may cover: several days}
seasons:
  growing: 15 Apr to 15 Oct
meters:
  M1 out: {from: Pond, to: Outfall 1, counts in: gal, digits: 7}
  M2 wash: {from: Sand beds, to: Pond, what: wash water, counts in: gal, digits: 6}
  M3 sewer: {from: Sump, to: Town sewer, counts in: gal, digits: 6}
  M4 field: {from: Tank, to: Field, counts in: gal, digits: 6}
supplies:
  Well: {gives at most: 180 gpm}
uses:
  Overhead yard:
    kind: overhead
    amount: 9000 gal/day
    returns: 40 %
    takes from: Sand beds
    goes to: Pond
filters:
  Sand beds:
    kind: shallow media bed
    vessels: 4
    diameter: 48 in
    media: [{kind: silica sand, depth: 14 in}]
    takes from: Pond
    washes: {by: log, or every: 24 h}
    one wash: {rate: 188 gpm, lasts: 2 min, each: vessel}
    washed with: its own filtered water
    wash water to: Pond
    stops: not known
tanks:
  Sump:
    holds: 9000 gal
    at the start: {holding: 100 gal}
    filled from: {from: Well, up to: 200 gal}
    pumped out: {to: Town sewer, rate: 188 gpm, starts at: 8000 gal, stops at: 500 gal}
  Tank:
    holds: 9000 gal
    at the start: {holding: 100 gal}
    filled from: {from: Well, up to: 200 gal}
    overflows to: Field
ponds:
  Pond:
    shape: {length: 250 ft, width: 200 ft, depth: 10 ft, side slope: 3 to 1, measured at: spill level}
    freeboard above spill: 2.5 ft
    at the start: {level: 6.4 ft}
    filled from: {from: Well, up to: 8 ft}
    spills to: Outfall 1
discharge points:
  Outfall 1: {kind: surface water, into: Dorrel Brook}
  Town sewer: {kind: sewer}
  Field: {kind: land, area: 2 acre}
";

pub const COUNTING: &str = "\
authority: Water Board
permit: T-1
permit year starts: 1 Nov
how this permit counts:
  day: 7 am to 7 am
  week starts: Sunday
  a week over the edge of a month belongs to: the month it starts in
  several samples in a day: average
  below detection counts as: zero
  monthly average divides by: days sampled
  rounding: not rounded
  least data: not said
  a dry look covers: that day
";

pub fn d(text: &str) -> NaiveDate {
    text.parse().expect("a date")
}

/// Everything of a site read with the real readers.
pub struct Site {
    pub facility: Facility,
    pub rules: RulesFile,
    pub timeline: Timeline,
    pub weather: DailyWeather,
    pub period: (NaiveDate, NaiveDate),
    pub as_of: NaiveDate,
    pub ledger: Option<Ledger>,
}

pub const HEAD: &str = "date,place,what,parameter,value,unit,qualifier,paper,received,who,note\n";

/// Reads rules alone: the rules, and what was told.
pub fn read_rules(rules_text: &str) -> (Option<RulesFile>, String) {
    let folder = folder(rules_text, "", "date,rain,unit\n2025-01-01,0,in\n");
    let mut sources = Sources::new(folder.path());
    let mut problems = Problems::new();
    let facility = facility::read(folder.path(), &mut sources, &mut problems).expect("the test facility reads");
    let rules = rules::read("rules.yaml", None, &facility, &mut sources, &problems);
    let told = print(&problems, &sources, false);
    if rules.is_some() {
        schema_takes(rules_text);
    }
    (rules, told)
}

/// What the program takes the schema for editors takes too.
fn schema_takes(rules_text: &str) {
    static SCHEMA: OnceLock<jsonschema::Validator> = OnceLock::new();
    let schema = SCHEMA.get_or_init(|| jsonschema::draft202012::new(&rules::schema()).expect("a schema of its draft"));
    let options = serde_yaml::options! { strict_booleans: true, with_snippet: false };
    let seen: serde_json::Value = serde_yaml::from_str_with_options(rules_text, options).expect("YAML");
    let told: Vec<String> = schema.iter_errors(&seen).map(|told| format!("{}: {told}", told.instance_path())).collect();
    assert!(told.is_empty(), "{told:#?}\n{rules_text}");
}

fn folder(rules_text: &str, records_text: &str, rain: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let write = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).expect("a file");
    write("facility.yaml", FACILITY);
    write("rules.yaml", rules_text);
    write("rain.csv", rain);
    std::fs::create_dir(folder.path().join("records")).expect("a folder");
    write("records/records.csv", &format!("{HEAD}{records_text}"));
    folder
}

impl Site {
    /// A site with these limits (their lines under `limits:`, further in by two) and these record rows.
    pub fn new(limits: &str, records_text: &str, period: (&str, &str)) -> Self {
        Self::with(&format!("{COUNTING}limits:\n{limits}"), records_text, "date,rain,unit\n", period)
    }

    pub fn with(rules_text: &str, records_text: &str, rain: &str, period: (&str, &str)) -> Self {
        let folder = folder(rules_text, records_text, rain);
        Self::of(folder.path(), period)
    }

    pub fn of(directory: &Path, period: (&str, &str)) -> Self {
        let mut sources = Sources::new(directory);
        let mut problems = Problems::new();
        let facility = facility::read(directory, &mut sources, &mut problems);
        let told = |problems: &Problems| print(problems, &sources, false);
        let facility = facility.unwrap_or_else(|| panic!("{}", told(&problems)));
        let (path, place) = facility.rules.clone().expect("a rules file");
        let rules = rules::read(&path, Some(&place), &facility, &mut sources, &problems);
        let rules = rules.unwrap_or_else(|| panic!("{}", print(&problems, &sources, false)));
        let timeline = records::read(&facility, &mut sources, &problems);
        let period = (d(period.0), d(period.1));
        let weather = weather::read(&facility, period, &timeline.rain, &mut sources, &problems);
        assert!(!problems.has_errors(), "{}", print(&problems, &sources, false));
        Self { facility, rules, timeline, weather, period, as_of: period.1, ledger: None }
    }

    pub fn judge_with(&self, predict: &(dyn Fn(&LimitPlan) -> Vec<Drawn> + Sync)) -> Vec<Finding> {
        rules::judge(&Case {
            facility: &self.facility,
            rules: &self.rules,
            timeline: &self.timeline,
            weather: Some(&self.weather),
            ledger: self.ledger.as_ref(),
            period: self.period,
            as_of: self.as_of,
            predict,
        })
    }

    pub fn judge(&self) -> Vec<Finding> {
        self.judge_with(&|_| Vec::new())
    }

    /// The finding of the limit of this name.
    pub fn limit(&self, name: &str) -> Finding {
        let id = format!("limit / {name}");
        self.judge().into_iter().find(|finding| finding.id == id).expect("a finding of the limit")
    }

    /// A ledger whose only entries are the spills given: day and m³, on a computed basis.
    pub fn spills(&mut self, spills: &[(&str, f64)], basis: Basis) {
        let node = |name: &str| Node::Place(self.facility.find(name).expect("a place"));
        let way = Way { from: node("Pond"), to: node("Outfall 1"), purpose: Purpose::Spill };
        let days = (self.period.1 - self.period.0).num_days() as usize + 1;
        let mut ledger = Ledger::new(Shape {
            first_day: self.period.0,
            days,
            place_names: self.facility.places.iter().map(|place| place.name.clone()).collect(),
            outside: self.facility.places.iter().map(|_| false).collect(),
            ways: [way].into_iter().collect(),
            ..Shape::default()
        });
        let at = ledger.way(&way).expect("the one way");
        for (day, volume) in spills {
            let day = ledger.day_of(d(day)).expect("a day of the period");
            ledger.put(day, at, &Entry { water_m3: *volume, water_basis: basis, ..Entry::default() });
        }
        self.ledger = Some(ledger);
    }
}

/// A sample row.
pub fn sample(day: &str, at: &str, parameter: &str, value: &str, unit: &str) -> String {
    let (qualifier, value) = match value.chars().next() {
        Some(mark @ ('<' | '>')) => (mark.to_string(), &value[1..]),
        _ => (String::new(), value),
    };
    format!("{day} 09:00,{at},sample,{parameter},{value},{unit},{qualifier},,,,\n")
}

pub fn samples(parameter: &str, unit: &str, rows: &[(&str, &str)]) -> String {
    rows.iter().map(|(day, value)| sample(day, "Outfall 1", parameter, value, unit)).collect()
}

pub fn reading(day: &str, meter: &str, value: &str) -> String {
    format!("{day} 07:00,{meter},reading,,{value},gal,,,,,\n")
}

pub fn look(day: &str, word: &str) -> String {
    format!("{day} 07:30,Outfall 1,look,,{word},,,,,,\n")
}

pub fn outcome(site: &Site, name: &str) -> Outcome {
    site.limit(name).outcome
}

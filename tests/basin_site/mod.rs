//! A small yard whose basin is sized on four years of open weather.

use std::fs;
use std::path::Path;

use bywash::facility::model::Facility;
use bywash::files::{Sources, yaml};
use bywash::sizing;
use bywash::told::Problems;
use bywash::weather::{self, DailyWeather};
use chrono::NaiveDate;

/// A yard with one basin.
pub const FACILITY: &str = "\
name: Fernholt Yard
report in: metric units
paper: A4
day starts: 7 am
steps per day: 1
weather:
  rain: {file: rain.csv, read at: 7 am, belongs to: that day, a reading may cover: one day}
  pond evaporation: {Jan to Mar: 30 mm/month, Apr to Sep: 90 mm/month, Oct to Dec: 25 mm/month}
  water temperature: {Jan to Dec: 10 C}
solids:
  silt: {density: 2.65 times water, half finer than: 20 um, nine tenths finer than: 90 um}
supplies:
  Well: {gives at most: 2 m3/h}
rain falls on:
  Yard:
    area: 1.0 ha
    runs off: 70 % to 80 %
    first rain soaked up: 1 mm to 2 mm
    solids: {silt: 150 mg/L}
    goes to: Basin
uses:
  Benches:
    kind: bench
    amount: 60 m3/day
    returns: 30 % to 40 %
    picks up: {silt: 40 mg/L}
    takes from: Basin
    runs: 5 h/day
    goes to: Basin
ponds:
  Basin:
    shape: {length: 30 m, width: 15 m, depth: 2 m, side slope: 2 to 1, measured at: spill level}
    freeboard above spill: 0.5 m
    lowest pump level: 0.4 m
    seepage: 1 mm/day
    at the start: {level: 1 m}
    filled from: {from: Well, up to: 0.8 m}
    spills to: Ditch
discharge points:
  Ditch: {kind: surface water, into: Fern Water}
";

/// What the basin must do.
pub const DUTIES: &str = "\
pond: Basin
plot: {longest: 75 m, widest: 40 m, deepest: 3 m, steepest side: 2 to 1, length to width at least: 2 to 1, bank all round: 2 m}
freeboard: 0.5 m
settling pool: 0.4 m
cells: 3
settle: {particle: 20 um, density: 2.65 times water, water temperature: 10 C, at least: 75 %, flow: 120 m3/h, flow from: pump curve}
hold: {return water: 2 days, first rain: 10 mm}
storm: {every: 10 years, lasting: 24 h, from: the normal level}
storm depths: {source: table of the county, depths: [{every: 10 years, lasting: 24 h, depth: 60 mm}]}
spills: {no oftener than: 3 a year, lasting at most: 20 days}
clean out: {no oftener than every: 6 years, dry solids: 10 %}
shortage: {at most: 150 days a year}
least: volume
cost: {dug: 8 EUR per m3, lined: 12 EUR per m2}
";

/// Writes it, with four years of open weather.
pub fn site(dir: &Path, facility: &str, duties: &str) {
    let weather = fs::read_to_string("tests/data/daily-weather.csv").unwrap();
    let weather = weather.replacen("precipitation", "precipitation (mm)", 1);
    fs::write(dir.join("rain.csv"), weather).unwrap();
    fs::write(dir.join("facility.yaml"), facility).unwrap();
    fs::write(dir.join("basin.yaml"), duties).unwrap();
}

/// Reads it: the facility, its weather, the days there are, the duties.
pub fn read(dir: &Path) -> (Facility, DailyWeather, (NaiveDate, NaiveDate), sizing::Duties) {
    let mut problems = Problems::new();
    let mut sources = Sources::new(dir);
    let facility = bywash::facility::read(dir, &mut sources, &mut problems).unwrap();
    let period = weather::extent(&facility, &[], &mut sources, &problems).unwrap();
    let weather = weather::read(&facility, period, &[], &mut sources, &problems);
    let source = sources.text("basin.yaml", None, &problems).unwrap();
    let duties = sizing::read(&yaml::tree(&source, &problems).unwrap(), &problems).unwrap();
    (facility, weather, period, duties)
}

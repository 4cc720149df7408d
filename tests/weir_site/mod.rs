//! A small site whose ditch is read off a weir, as its folder.

use std::path::Path;

/// A yard, a pond and a ditch whose weir is read each morning.
const WEIR_SITE: &str = "\
name: Weir site
report in: US units
paper: letter
rules: rules.yaml
records: records
day starts: 7 am
period: 1 Jan 2025 to 31 Mar 2025
weather:
  rain: {file: rain.csv, read at: 7 am, belongs to: that day, a reading may cover: one day}
  pond evaporation: {Jan to Mar: 1 in/month, Apr to Sep: 4 in/month, Oct to Dec: 1 in/month}
meters:
  Ditch weir: {from: Pond, to: Ditch, weir: {coefficient: 2.5, exponent: 2.5, flow in: cfs, head in: ft, a reading stands for: that day}}
rain falls on:
  Yard: {area: 1.2 acre, runs off: 50 % to 70 %, first rain soaked up: 0.12 in, goes to: Pond}
ponds:
  Pond: {shape: {length: 60 ft, width: 40 ft, depth: 5 ft, side slope: 2 to 1, measured at: spill level}, freeboard above spill: 1 ft, seepage: 0.05 in/day, at the start: {level: 3 ft}, spills to: Ditch}
discharge points:
  Ditch: {kind: surface water, into: Reed Brook}
";

const WEIR_RULES: &str = "\
authority: Sedge Water Board
permit: SWB-3
holder: Weir site
in force: 1 Jan 2020 to 31 Dec 2030
permit year starts: 1 Jan
typed by: for an example
how this permit counts: {day: 7 am to 7 am, several samples in a day: average, below detection counts as: zero, monthly average divides by: days sampled}
limits:
  Flow: {words: \"60,000 gallons in any day\", at: Ditch, parameter: water, statistic: daily total, at most: 60000 gal}
";

/// Writes the site; a head on each morning but those left out, none of rain on those.
pub fn weir_site(dir: &Path, head: impl Fn(u32, u32) -> Option<&'static str>, no_rain: &[&str], looks: &str) -> String {
    let site = dir.join("weir");
    std::fs::create_dir_all(site.join("records")).unwrap();
    std::fs::write(site.join("facility.yaml"), WEIR_SITE).unwrap();
    std::fs::write(site.join("rules.yaml"), WEIR_RULES).unwrap();
    let (mut rain, mut heads) = (String::from("date,rain,unit\n"), String::new());
    for (month, days) in [(1, 31), (2, 28), (3, 31)] {
        for day in 1..=days {
            let date = format!("2025-{month:02}-{day:02}");
            if !no_rain.contains(&date.as_str()) {
                rain += &format!("{date},0,in\n");
            }
            if let Some(inches) = head(month, day) {
                heads += &format!("{date} 07:00,Ditch weir,head,,{inches},in,,,,,\n");
            }
        }
    }
    std::fs::write(site.join("rain.csv"), rain).unwrap();
    let columns = "date,place,what,parameter,value,unit,qualifier,paper,received,who,note\n";
    std::fs::write(site.join("records/weir.csv"), format!("{columns}{heads}{looks}")).unwrap();
    site.to_str().unwrap().to_owned()
}

/// The rules of the weir site with more limits, each on a line of its own.
pub fn with_limits(site: &str, limits: &str) -> String {
    let path = Path::new(site).join("rules.yaml");
    let rules = std::fs::read_to_string(&path).unwrap() + limits;
    std::fs::write(&path, &rules).unwrap();
    rules
}

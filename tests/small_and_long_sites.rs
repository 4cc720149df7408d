//! The report of a site with two places and no meter, over a month and over years: what such a site can't have takes no room.

#![cfg(test)]

use std::path::Path;

use assert_cmd::Command;
use bywash::page::pdf::read_back;

const FACILITY: &str = "name: Birch Corner
report in: US units
rules: rules.yaml
records: records
period: 1 Jun 2025 to 30 Jun 2025
weather:
  rain: {file: rain.csv, read at: 7 am, belongs to: the day that ended}
  pond evaporation: {Nov to Feb: 1 in/month, Mar to Oct: 4 in/month}
day starts: 7 am
solids:
  yard silt: {density: 2.65 times water, half finer than: 6 um, nine tenths finer than: 50 um}
rain falls on:
  Yard: {area: 0.5 acre, runs off: 60 %, solids: {yard silt: 100 mg/L}, goes to: Pond}
ponds:
  Pond:
    shape: {length: 60 ft, width: 40 ft, depth: 6 ft, side slope: 2 to 1, measured at: spill level}
    freeboard above spill: 1 ft
    seepage: 0.04 in/day
    at the start: {level: 5 ft}
    spills to: Ditch
discharge points:
  Ditch: {kind: surface water, into: Pennick Brook}
";

const RULES: &str = "authority: Pennick Board
permit: PB-1
holder: Birch Corner
permit year starts: 1 Nov
typed by: T. Aldwick; checked by nobody yet
how this permit counts:
  day: 7 am to 7 am
limits:
  Dry season:
    words: \"Nothing is to be discharged from June to September.\"
    at: Ditch
    statistic: no discharge
    in season: 1 Jun to 30 Sep
notices:
  monthly report due: not said
";

/// Writes the site: an inch of rain on the 12th, and a look on every day.
fn write(dir: &Path) {
    std::fs::create_dir_all(dir.join("records")).unwrap();
    std::fs::write(dir.join("facility.yaml"), FACILITY).unwrap();
    std::fs::write(dir.join("rules.yaml"), RULES).unwrap();
    let mut looks = String::from("date,place,what,parameter,value,unit,qualifier,paper,received,who,note\n");
    let mut rain = String::from("date,rain,unit\n");
    for day in 1..=30 {
        looks.push_str(&format!("2025-06-{day:02},Ditch,look,,dry,,,looks 25-06,,AB,\n"));
        rain.push_str(&format!("2025-06-{day:02},{},in\n", if day == 12 { "1.0" } else { "0" }));
    }
    rain.push_str("2025-07-01,0,in\n");
    std::fs::write(dir.join("records/looks.csv"), looks).unwrap();
    std::fs::write(dir.join("rain.csv"), rain).unwrap();
}

/// The words of its report and of the annex, with plain spaces.
fn words(dir: &Path, more: &[&str]) -> [String; 2] {
    let pdf = dir.join("out.pdf");
    Command::cargo_bin("bywash").unwrap().arg("report").arg(dir).arg("-o").arg(&pdf).args(more).assert().success();
    ["out.pdf", "out-annex.pdf"].map(|name| {
        let read = read_back(&std::fs::read(dir.join(name)).unwrap()).unwrap();
        read.pages.concat().join(" ").replace(['\u{202f}', '\u{a0}'], " ")
    })
}

#[test]
fn a_small_site_has_small_units_and_no_room_for_what_it_can_not_have() {
    let dir = tempfile::tempdir().unwrap();
    write(dir.path());
    let [report, annex] = words(dir.path(), &[]);
    // An inch on half an acre is 13,577 gal (27,154 gal on an acre), and on a pond of 60 by 40 ft some 1,500 more.
    assert!(!report.contains("million gal"), "{report}");
    assert!(report.contains("Water balance by month, gal") && report.contains("Jun 2025"), "{report}");
    for not_there in ["Supplies", "Crops", "In all", "Meters read", "Calibrations", "Filter washes", "Waste tickets"] {
        assert!(!report.contains(not_there), "{not_there}: {report}");
    }
    assert!(!report.contains("Computed against recorded"), "nothing was recorded to hold it against: {report}");
    assert!(report.contains("Pond marks and sludge none on file"), "a pond has a mark to be read: {report}");
    assert!(annex.contains("Yard: runs off") && !annex.contains("rain falls on / "), "{annex}");
}

#[test]
fn years_stand_where_months_would_fill_pages_and_the_annex_has_the_months() {
    let dir = tempfile::tempdir().unwrap();
    write(dir.path());
    let [report, annex] = words(dir.path(), &["--period", "1 Nov 2021 to 30 Jun 2025"]);
    assert!(report.contains("Water by year") && !report.contains("Water by month"), "{report}");
    for year in ["2021/22", "2022/23", "2023/24", "2024/25"] {
        assert!(report.contains(year), "{year}: {report}");
    }
    assert!(annex.contains("Water by month") && annex.contains("Feb 2023"), "{annex}");
    let [report, annex] = words(dir.path(), &["--period", "1 Nov 2023 to 30 Jun 2025"]);
    assert!(
        report.contains("Water by month") && !annex.contains("Water balance by month"),
        "twenty months have a row each"
    );
}

//! What the inspection report says in one place, it says in all: amounts that lack days, readings over several days, duties not
//! named on page 1, words of the holder's own.

#![cfg(test)]

mod weir_site;

use std::path::Path;

use assert_cmd::Command;
use bywash::page::pdf::read_back;
use weir_site::{weir_site, with_limits};

/// The words of a report, page after page, with plain spaces.
fn words(site: &str, dir: &Path) -> Vec<String> {
    let pdf = dir.join("words.pdf");
    Command::cargo_bin("bywash").unwrap().args(["report", site, "--draws", "20", "-o"]).arg(&pdf).assert().success();
    let read = read_back(&std::fs::read(&pdf).unwrap()).expect("a PDF");
    let plain = |line: String| line.replace('\u{202f}', "").replace('\u{a0}', " ");
    read.pages.into_iter().map(|lines| plain(lines.join(" "))).collect()
}

/// A dial in the weir's stead.
fn with_a_dial(site: &str) {
    let path = Path::new(site).join("facility.yaml");
    let text = std::fs::read_to_string(&path).unwrap();
    let meter = "  Ditch meter: {from: Pond, to: Ditch, counts in: gal, digits: 6, read at: 7 am}";
    let lines: Vec<&str> =
        text.lines().map(|line| if line.starts_with("  Ditch weir:") { meter } else { line }).collect();
    std::fs::write(&path, lines.join("\n") + "\n").unwrap();
}

#[test]
fn an_outfall_of_which_days_are_not_known_stands_on_page_1_with_the_least_that_left() {
    let dir = tempfile::tempdir().unwrap();
    // Read in January alone, and a day of March has no rain on file.
    let head = |month, day| (month == 1).then_some(if day <= 10 { "3" } else { "0" });
    let site = weir_site(dir.path(), head, &["2025-03-04"], "");
    let pages = words(&site, dir.path());
    // Ten days of 50,494 gal.
    assert!(pages[0].contains("Ditch, 10 days ≥ 0.50"), "{}", pages[0]);
    let table = pages.iter().find(|page| page.contains("What left the site, by discharge point")).unwrap();
    assert!(table.contains("at least 505000"), "{table}");
}

#[test]
fn a_day_in_a_reading_over_several_lacks_a_reading_of_its_own_and_is_not_said_to_be_without_a_discharge() {
    let dir = tempfile::tempdir().unwrap();
    let read = |day: u32, counts: u32| {
        format!("2025-{:02}-{:02} 07:00,Ditch meter,reading,,{counts},gal,,,,,\n", 1 + day / 32, 1 + (day - 1) % 31)
    };
    // Not read on 11 and 12 January, in which it counted 900 gal.
    let rows: String = (1..=31)
        .filter(|day| !(11..=12).contains(day))
        .map(|day| read(day, if day <= 10 { 100 } else { 1000 }))
        .collect();
    let site = weir_site(dir.path(), |_, _| None, &[], &rows);
    with_a_dial(&site);
    let path = Path::new(&site).join("rules.yaml");
    let rules = std::fs::read_to_string(&path).unwrap();
    let duty = "at most: 60000 gal, sample: {how often: once a day with a discharge}";
    std::fs::write(&path, rules.replace("at most: 60000 gal", duty)).unwrap();
    let all = words(&site, dir.path()).join(" ");
    // Words of two columns stand line by line.
    let told = [
        "11 Jan 2025: no reading of its own on file; what the meter counted over",
        "10-12 Jan 2025 may have been of it or not.",
    ];
    assert!(told.iter().all(|told| all.contains(told)), "{all}");
}

#[test]
fn page_1_counts_what_comes_due_beyond_what_it_names_and_points_to_words_of_the_holder_s_own() {
    let dir = tempfile::tempdir().unwrap();
    let site = weir_site(
        dir.path(),
        |month, _| Some(if month == 1 { "3" } else { "0" }),
        &[],
        "2025-03-20,Ditch,look,,dry,,,,,,\n",
    );
    let of = |name: &str| {
        format!(
            "  {name}: {{words: \"as it says\", at: Ditch, parameter: {name}, statistic: every sample, at most: 1 mg/L, sample: {{kind: grab, how often: once a month}}}}\n"
        )
    };
    with_limits(&site, &["zinc", "copper", "iron", "boron", "nickel"].map(of).concat());
    let words_of_own = "letterhead:\n  - Weir site\nparagraphs:\n  - heading: What we worked out ourselves\n    stands: after the first page\n    text: \"By our sheet zinc was 0.8 mg/L in January.\"\n";
    std::fs::write(Path::new(&site).join("letterhead.yaml"), words_of_own).unwrap();
    let pdf = dir.path().join("words.pdf");
    let args = ["report", &site, "--draws", "20", "--as-of", "2025-03-20", "-o"];
    Command::cargo_bin("bywash").unwrap().args(args).arg(&pdf).assert().success();
    let read = read_back(&std::fs::read(&pdf).unwrap()).expect("a PDF");
    let first = read.pages[0].join(" ").replace('\u{a0}', " ");
    assert!(first.contains("; 1 more under “Duties and notices”."), "{first}");
    assert!(
        first.contains("“What we worked out ourselves”, after this page, has words of the holder's own on zinc."),
        "{first}"
    );
}

/// A dial in the ditch, shut in January; of two days the look and the meter say otherwise.
#[test]
fn days_of_a_closed_season_have_their_dials_and_what_was_seen_and_every_meter_its_dials() {
    let dir = tempfile::tempdir().unwrap();
    let dials = [(1, 100), (2, 100), (3, 185), (4, 185)];
    let rows: String =
        dials.map(|(day, dial)| format!("2025-01-{day:02} 07:00,Ditch meter,reading,,{dial},gal,,,,,\n")).concat();
    let looks = "2025-01-01 15:00,Ditch,look,,flowing,,,,,,\n2025-01-02 15:00,Ditch,look,,dry,,,,,,\n";
    let low = "2025-01-09 06:30,Pond,freeboard,,0.9,ft,,slip 9,,,\n";
    let site = weir_site(dir.path(), |_, _| None, &[], &format!("{rows}{looks}{low}"));
    with_a_dial(&site);
    with_limits(
        &site,
        "  Shut: {words: \"nothing\", at: Ditch, statistic: no discharge}\n  Freeboard: {words: \"1 foot\", at: Pond, parameter: freeboard, statistic: every reading, at least: 1 ft}\n",
    );
    let annex = dir.path().join("annex.pdf");
    let pdf = dir.path().join("words.pdf");
    let args = ["report", &site, "--draws", "20", "-o"];
    let mut command = Command::cargo_bin("bywash").unwrap();
    command.args(args).arg(&pdf).arg("--annex").arg(&annex).assert().success();
    let plain = |path: &Path| {
        let read = read_back(&std::fs::read(path).unwrap()).expect("a PDF");
        let all: String = read.pages.concat().concat();
        all.replace(|c: char| c.is_whitespace(), "")
    };
    let all = plain(&pdf);
    for told in [
        // Words of two columns stand line by line.
        "2Jan2025:Ditchmeter100to185,85gal,lookedat:",
        "dry(lookandmeterdiffer)",
        "2Jan2025(85gal,dial100to185)",
        // 0.9 of 1 ft, read before 7:00 on the 9th.
        "0.1fttoolittle;readon9Jan2025,6:30,beforethedayturnedat",
    ] {
        assert!(all.contains(told), "{told}: {all}");
    }
    // What passed from the 1st to the 2nd is not known: water was seen, and the dial stood.
    let all = plain(&annex);
    assert!(all.contains("100on2Jan2025,7:00,185on4Jan2025,7:00,countsgal85"), "{all}");
}

/// Days on end share a window; a slip stands against a dry look; a gauge and a freeboard read together contradict the bank, 6 ft high.
#[test]
fn every_day_of_a_closed_season_is_named_and_readings_that_contradict_one_another_are_told() {
    let dir = tempfile::tempdir().unwrap();
    let flowing = ["10", "11", "14"].map(|day| format!("2025-01-{day} 15:00,Ditch,look,,flowing,,,,,,\n")).concat();
    let rows = "2025-01-12 15:00,Ditch,look,,dry,,,,,,\n2025-01-12 15:00,Ditch,sample,TSS,20,mg/L,,slip 5,,,\n\
        2025-01-09 08:00,Pond,level,,3.0,ft,,,,,\n2025-01-09 08:00,Pond,freeboard,,2.0,ft,,,,,\n\
        2025-01-20 08:00,Pond,level,,3.1,ft,,,,,\n2025-01-20 08:00,Pond,freeboard,,0.5,ft,,,,,\n";
    let site = weir_site(dir.path(), |_, _| None, &[], &format!("{flowing}{rows}"));
    with_a_dial(&site);
    with_limits(
        &site,
        "  Shut: {words: \"nothing\", at: Ditch, statistic: no discharge}\n  Freeboard: {words: \"1 foot\", at: Pond, parameter: freeboard, statistic: every reading, at least: 1 ft}\n",
    );
    let pages = words(&site, dir.path());
    assert!(pages[0].contains("4 days in all 10-14 Jan 2025"), "{}", pages[0]);
    let all: String = pages.concat().split_whitespace().collect();
    for told in [
        "10-12Jan2025,14Jan2025:Shut:exceeded",
        "12Jan2025:lookedat:dry,but",
        "sampled(lookandslipdiffer)",
        // 9 January: 3.0 + 2.0 ft; 20 January: 3.1 + 0.5.
        "on2of2readings,firston9Jan2025,byupto2.4ft",
        "0.5read",
    ] {
        assert!(all.contains(told), "{told}: {all}");
    }
}

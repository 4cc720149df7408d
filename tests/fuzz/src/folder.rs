//! The whole path: a site's folder with lines, values and cells changed, read, run, judged and printed. The first byte says
//! which site and what is made of it; then come changes, each of an operation, a file, a line and an argument.

use std::collections::BTreeMap;
use std::path::Path;

use bywash::cli::load::{self, Asked};
use bywash::cli::{compare, judged, size};
use bywash::facility;
use bywash::page::document::Document;
use bywash::page::{html, pdf, terminal};
use bywash::quantity::days_of;
use bywash::report::inspection::{self, json};
use bywash::report::screen;
use bywash::told::{Problems, print};
use chrono::Days;

/// Values that files are given: words of every kind of key, and figures that are hard.
const VALUES: [&str; 100] = [
    "not known",
    "not said",
    "0",
    "1",
    "0 %",
    "100 %",
    "50 % to 100 %",
    "0 gal",
    "1 gal",
    "1000000 gal",
    "0 gpm",
    "0.001 gpm",
    "100000 gpm",
    "0 ft",
    "0.01 ft",
    "1000 ft",
    "0 um",
    "1 um",
    "1000 um",
    "0 lb/ft2",
    "0.0001 lb/ft2",
    "100 lb/ft2",
    "0 mg/L",
    "0.001 mg/L",
    "100000 mg/L",
    "0 in/day",
    "100 in/day",
    "0 h/day",
    "24 h/day",
    "0 min",
    "24 h",
    "0.1 lb of solids",
    "every 1 day",
    "0 acre",
    "0.01 acre",
    "100 acre",
    "0.5 times water",
    "1 times water",
    "1.0001 times water",
    "20 times water",
    "-10 C",
    "0 C",
    "45 C",
    "32 F",
    "yes",
    "no",
    "1 to 1",
    "0 to 1",
    "100 to 1",
    "Mon to Sat",
    "Sun",
    "{season: growing}",
    "{season: dormant}",
    "Storage pond",
    "Settling pond",
    "Sand beds",
    "Outfall 1",
    "House drain",
    "Town sewer",
    "Sewer sump",
    "Return tank",
    "Well",
    "Town water",
    "Skip",
    "{Settling pond: 50 %, Town sewer: the rest}",
    "[Storage pond, Well]",
    "the rest",
    "daily maximum",
    "monthly average",
    "every reading",
    "daily total",
    "permit year total",
    "no discharge",
    "rate",
    "geometric mean",
    "rolling average of 7 days",
    "water",
    "pH",
    "total suspended solids",
    "freeboard",
    "1 Nov",
    "29 Feb",
    "7 am",
    "00:00",
    "23:59",
    "dry",
    "flowing",
    "trace",
    "out",
    "same",
    "lost",
    "<0.1",
    ">1000",
    "999999",
    "0.0000001",
    "1/16 in",
    "Pond",
    "Beds",
    "Ditch",
    "Yard",
];

/// The days that are run: enough for a week's average and a month's end.
const LAST: &str = "2024-12-04";
const MOST_DAYS: usize = 45;

type Files = Vec<(String, String)>;

/// The sites that changes begin with, cut to a month of records.
fn sites() -> &'static [Files] {
    thread_local! {
        // Kept for good: a run reads them once.
        static HELD: &'static [Files] = Box::leak(vec![small(), small(), site(false), site(true)].into_boxed_slice());
    }
    HELD.with(|held| *held)
}

/// The demonstration, or the starter of `bywash new`, with a month of records.
fn site(is_starter: bool) -> Files {
    let names: &[(&str, &str)] = if is_starter {
        &[
            ("templates/facility.yaml", "facility.yaml"),
            ("templates/rules.yaml", "rules.yaml"),
            ("templates/rain.csv", "rain.csv"),
            ("templates/records/lab.csv", "records/lab.csv"),
            ("templates/records/looks.csv", "records/looks.csv"),
            ("templates/records/meters.csv", "records/meters.csv"),
            ("templates/records/ponds.csv", "records/ponds.csv"),
            ("templates/records/washes.csv", "records/washes.csv"),
            ("templates/prices.yaml", "prices.yaml"),
            ("templates/basin.yaml", "basin.yaml"),
        ]
    } else {
        &[
            ("demo-facility/facility.yaml", "facility.yaml"),
            ("rules/sallowfen.yaml", "rules.yaml"),
            ("demo-facility/rain.csv", "rain.csv"),
            ("demo-facility/records/lab.csv", "records/lab.csv"),
            ("demo-facility/records/letters.csv", "records/letters.csv"),
            ("demo-facility/records/looks.csv", "records/looks.csv"),
            ("demo-facility/records/meters.csv", "records/meters.csv"),
            ("demo-facility/records/ponds.csv", "records/ponds.csv"),
            ("demo-facility/records/wash-log.csv", "records/wash-log.csv"),
            ("demo-facility/letterhead.yaml", "letterhead.yaml"),
            ("demo-facility/proposals/bags.yaml", "proposals/bags.yaml"),
            ("demo-facility/prices.yaml", "prices.yaml"),
            ("demo-facility/basin.yaml", "basin.yaml"),
        ]
    };
    let is_late = |line: &str| line.starts_with("20") && line.get(..10).is_some_and(|day| day > LAST);
    let cut = |text: String| -> String {
        text.lines()
            .filter(|line| !is_late(line))
            .map(|line| {
                let line = if line.starts_with("period:") { "period: 1 Nov 2024 to 30 Nov 2024" } else { line };
                format!("{}\n", line.replace("../rules/sallowfen.yaml", "rules.yaml"))
            })
            .collect()
    };
    names.iter().map(|(from, to)| ((*to).to_owned(), cut(super::kept(from)))).collect()
}

/// A site of a few places, with a week of records: many of it are tried in the time of one of the others.
fn small() -> Files {
    let text = super::sheet::SITE.replace("records: records", "rules: rules.yaml\nrecords: records");
    let rules = "\
authority: Fern Water Board
permit: FW-1
permit year starts: 1 Jan
how this permit counts:
  day: 7 am to 7 am
  several samples in a day: not said
  below detection counts as: not said
limits:
  Flow:
    at: Ditch
    parameter: water
    statistic: daily total
    at most: 20000 gal
    estimate: accepted
  TSS:
    at: Ditch
    parameter: total suspended solids
    statistic: monthly average
    at most: 30 mg/L
    sample: {kind: grab, how often: once a month with a discharge}
  Freeboard:
    at: Pond
    parameter: freeboard
    statistic: every reading
    at least: 1 ft
  Wash water:
    at: {wash water of: Beds}
    parameter: water
    statistic: monthly total
    at most: 40000 gal
notices:
  over a limit: {call within: 24 h of knowing}
";
    let records = "\
date,place,what,parameter,value,unit,qualifier,paper,received,who,note
2025-05-01 07:00,M1 well,reading,,4812345,gal,,,,EH,
2025-05-08 07:00,M1 well,reading,,4892345,gal,,,,EH,
2025-05-15 07:00,M1 well,reading,,4961345,gal,,,,EH,
2025-05-01 07:00,M2 wash,reading,,961240,x10 gal,,,,EH,
2025-05-12 07:00,M2 wash,reading,,964240,x10 gal,,,,EH,
2025-05-01,Beds,washes,,2,,,,,EH,
2025-05-06,Beds,washes,,9,,,,,EH,
2025-05-03 10:00,Ditch,sample,total suspended solids,18,mg/L,,slip 1,2025-05-09,EH,grab
2025-05-13 10:00,Ditch,sample,total suspended solids,4,mg/L,<,slip 2,2025-05-20,EH,grab
2025-05-05 15:00,Ditch,look,,dry,,,,,EH,
2025-05-07 15:00,Ditch,look,,flowing,,,,,EH,
2025-05-01 07:00,Pond,level,,4.0,ft,,,,EH,
2025-05-09 07:00,Pond,freeboard,,2.8,ft,,,,EH,
";
    let rain = "date,rain,unit\n2025-05-01,0,in\n2025-05-02,0.4,in\n2025-05-03,trace,in\n2025-05-07,1.2,in\n2025-05-20,0.1,in\n";
    let files =
        [("facility.yaml", text.as_str()), ("rules.yaml", rules), ("rain.csv", rain), ("records/kept.csv", records)];
    files.map(|(name, text)| (name.to_owned(), text.to_owned())).into()
}

/// Bytes that are asked one after another; none left is nought.
struct Bytes<'a>(&'a [u8]);

impl Bytes<'_> {
    fn next(&mut self) -> usize {
        match self.0.split_first() {
            Some((first, rest)) => {
                self.0 = rest;
                usize::from(*first)
            }
            None => 0,
        }
    }

    fn text(&mut self, length: usize) -> String {
        let (text, rest) = self.0.split_at(length.min(self.0.len()));
        self.0 = rest;
        String::from_utf8_lossy(text).into_owned()
    }
}

/// The files with the changes that the bytes say.
fn changed(files: &Files, bytes: &[u8]) -> BTreeMap<String, String> {
    let mut held: Vec<(String, Vec<String>)> =
        files.iter().map(|(name, text)| (name.clone(), text.lines().map(str::to_owned).collect())).collect();
    let mut bytes = Bytes(bytes);
    for _ in 0..12 {
        if bytes.0.is_empty() {
            break;
        }
        let (operation, file, high, low, argument) =
            (bytes.next(), bytes.next(), bytes.next(), bytes.next(), bytes.next());
        // Every other change is of the facility or its rules.
        let count = held.len();
        let Some((_, lines)) = held.get_mut(if file & 1 == 0 { file >> 1 & 1 } else { (file >> 1) % count }) else {
            continue;
        };
        if lines.is_empty() {
            continue;
        }
        let at = (high << 8 | low) % lines.len();
        let value = VALUES[argument % VALUES.len()];
        match operation % 12 {
            0 => {
                lines.remove(at);
            }
            1 => lines.insert(at, lines[at].clone()),
            2 => {
                let other = argument % lines.len();
                lines.swap(at, other);
            }
            3 | 4 => lines[at] = with_value(&lines[at], value),
            5 => {
                let other = lines[(at + argument) % lines.len()].split_once(": ").map(|(_, value)| value.to_owned());
                if let Some(other) = other {
                    lines[at] = with_value(&lines[at], &other);
                }
            }
            // A value within braces, or a cell of a table.
            6 | 7 => {
                let mut cells: Vec<&str> = lines[at].split(',').collect();
                let place = bytes.next() % cells.len();
                let of_braces = cells[place]
                    .split_once(": ")
                    .map(|(key, rest)| format!("{key}: {value}{}", if rest.ends_with('}') { "}" } else { "" }));
                cells[place] = of_braces.as_deref().unwrap_or(value);
                lines[at] = cells.join(",");
            }
            // Another digit.
            8 | 9 => {
                let places: Vec<usize> =
                    lines[at].char_indices().filter(|(_, c)| c.is_ascii_digit()).map(|(at, _)| at).collect();
                if let Some(place) = places.get(argument / 10 % places.len().max(1)) {
                    lines[at].replace_range(*place..*place + 1, &(argument % 10).to_string());
                }
            }
            10 => {
                let text = bytes.text(argument % 48);
                lines.insert(at, text);
            }
            _ => {
                let text = bytes.text(argument % 24);
                lines[at] = with_value(&lines[at], &text);
            }
        }
    }
    held.into_iter().map(|(name, lines)| (name, lines.join("\n") + "\n")).collect()
}

/// A line with another value behind its first colon; a table's line has none and is another.
fn with_value(line: &str, value: &str) -> String {
    match line.split_once(": ") {
        Some((key, _)) => format!("{key}: {value}"),
        None => format!("{line}{value}"),
    }
}

thread_local! {
    static FOLDER: tempfile::TempDir = tempfile::tempdir().expect("a folder");
}

/// Changes a site and makes its documents.
pub fn folder(bytes: &[u8]) -> bool {
    let Some((choice, rest)) = super::chosen(bytes) else {
        return false;
    };
    let sites = sites();
    let files = changed(&sites[usize::from(choice & 3)], rest);
    FOLDER.with(|folder| {
        for part in ["records", "proposals"] {
            let _ = std::fs::remove_dir_all(folder.path().join(part));
            std::fs::create_dir(folder.path().join(part)).expect("a folder");
        }
        for other in ["letterhead.yaml", "prices.yaml", "basin.yaml"] {
            let _ = std::fs::remove_file(folder.path().join(other));
        }
        for (name, text) in &files {
            std::fs::write(folder.path().join(name), text).expect("a file");
        }
        one(folder.path(), choice, &files)
    })
}

fn one(dir: &Path, choice: u8, files: &BTreeMap<String, String>) -> bool {
    let with_all = choice & 4 != 0;
    let further =
        |facility: Option<&facility::model::Facility>, sources: &mut bywash::files::Sources, problems: &Problems| {
            if with_all {
                compare::tell_problems(dir, facility, sources, problems);
                size::tell_problems(dir, sources, problems);
            }
        };
    let mut read = load::read(dir, &Asked::default(), &further);
    if let Ok(site) = &read
        && (days_of(site.period) > MOST_DAYS
            || site.before.as_ref().is_some_and(|(since, _)| days_of((*since, site.period.1)) > MOST_DAYS))
    {
        // Years are run elsewhere.
        let first = site.facility.period.map_or(site.period.0, |(first, _)| first);
        let Some(last) = first.checked_add_days(Days::new(20)) else {
            return false;
        };
        read = load::read(dir, &Asked { period: Some((first, last)), as_of: None }, &further);
    }
    let site = match read {
        Ok(site) => site,
        Err(unread) => {
            assert!(unread.problems.has_errors(), "it is not read, and nothing is told");
            if choice & 8 != 0 {
                super::fits(&print(&unread.problems, &unread.sources, false));
            }
            return false;
        }
    };
    assert!(!site.problems.has_errors());
    let Ok(judged) = judged::judge(&site, 0) else {
        // Told on stderr: what can't be run. A ledger that does not balance is the program's fault and no answer.
        let whole = bywash::balance::run_since(
            &site.facility,
            site.before.as_ref().map_or(&site.weather, |(_, weather)| weather),
            &site.timeline,
            site.before.as_ref().map_or(site.period.0, |(since, _)| *since),
            site.period,
            &bywash::balance::Draw::MIDDLE,
        );
        let problems = whole.expect_err("it was refused before");
        let told = print(&problems, &site.sources, false);
        assert!(problems.has_errors() && !told.contains("does not balance"), "{told}");
        return false;
    };
    let mut ledger = Vec::new();
    judged.run.ledger.write_csv(&mut ledger).expect("written to memory");
    is_finite(&String::from_utf8(ledger).expect("text"), files);
    let against = judged::against(&site);
    let case = judged.case(&site, &against);
    is_finite(&json::findings(&case).to_string(), files);
    // Drawing the site's picture takes longer than all the rest, and so few inputs ask for it.
    match choice >> 4 {
        0 | 1 => {
            let document = inspection::inspection(&case);
            printed(&document, files);
            drawn(&document);
        }
        2 => drawn(&inspection::annex(&case)),
        3 => assert!(html::render(&screen::page(&case)).trim_end().ends_with("</html>")),
        4..=7 => printed(&inspection::annex(&case), files),
        _ => {}
    }
    true
}

fn printed(document: &Document, files: &BTreeMap<String, String>) {
    is_finite(&terminal::render(document), files);
}

fn drawn(document: &Document) {
    let bytes = pdf::render(document).expect("it is drawn");
    assert!(bytes.starts_with(b"%PDF-") && bytes.trim_ascii_end().ends_with(b"%%EOF"));
}

/// No figure is infinite or no number, unless somebody typed that word.
fn is_finite(text: &str, files: &BTreeMap<String, String>) {
    let is_mark = |c: char| !(c.is_alphanumeric() || matches!(c, '-' | '\u{2212}' | '_'));
    for word in text.split(is_mark) {
        let bare = word.trim_start_matches(['-', '\u{2212}']);
        if matches!(bare, "NaN" | "inf" | "Infinity") && !files.values().any(|file| file.contains(bare)) {
            let at = text.find(word).unwrap_or(0);
            let before = text.get(..at).map_or(0, |head| head.char_indices().rev().nth(200).map_or(0, |(at, _)| at));
            let around: String = text.get(before..).unwrap_or_default().chars().take(400).collect();
            panic!("{word} is printed: {around}");
        }
    }
}

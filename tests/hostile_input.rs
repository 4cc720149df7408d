//! No file, however it is spoilt, makes the reader panic or hang; what is refused is told.

#![cfg(test)]

use std::path::Path;

use bywash::facility;
use bywash::files::Sources;
use bywash::told::{Problems, WIDTH, print};
use proptest::prelude::*;

fn read(bytes: &[u8]) -> (bool, String) {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("facility.yaml"), bytes).unwrap();
    let mut sources = Sources::new(folder.path());
    let mut problems = Problems::new();
    let facility = facility::read(folder.path(), &mut sources, &mut problems);
    if let Some(facility) = &facility {
        facility::sentences(facility);
        facility::Graph::of(facility);
    }
    let told = print(&problems, &sources, false);
    for line in told.lines() {
        assert!(line.chars().count() <= WIDTH, "too wide: {line}");
    }
    assert_eq!(facility.is_none(), problems.has_errors(), "{told}");
    (facility.is_some(), told)
}

/// The line of a file that was refused without a reason.
fn silent(told: &str, line: &str) -> Option<String> {
    told.contains("no reason was found").then(|| line.to_string())
}

fn whole(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/facilities").join(name).join("facility.yaml");
    std::fs::read_to_string(path).unwrap()
}

#[test]
fn bytes_that_are_no_text_are_refused_with_their_line() {
    let (_, told) = read(b"name: x\nreport in: \xff\xfe\n");
    assert!(told.contains("facility.yaml:2") || told.contains("this line is not UTF-8"), "{told}");
    for bytes in [
        &b"\0\0\0"[..],
        b"\xef\xbb\xbf",
        b"",
        b"\n",
        b"\xff",
        b"\xef\xbb\xbfname: x\r\n",
        b"# only a remark\n",
        b"---\n...\n",
        b"[]",
        b"{}",
        b"\"",
        b"- - - -",
    ] {
        assert!(!read(bytes).0);
    }
}

#[test]
fn a_missing_file_or_folder_says_what_is_expected() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("farm.yaml"), "name: x\n").unwrap();
    let mut sources = Sources::new(folder.path());
    let mut problems = Problems::new();
    assert!(facility::read(folder.path(), &mut sources, &mut problems).is_none());
    assert!(print(&problems, &sources, false).contains("the folder holds farm.yaml"));
    let nowhere = folder.path().join("nowhere");
    let mut problems = Problems::new();
    assert!(facility::read(&nowhere, &mut Sources::new(&nowhere), &mut problems).is_none());
    assert!(problems.has_errors());
}

#[test]
fn a_line_taken_out_or_said_twice_is_never_a_panic() {
    let mut refused = Vec::new();
    for name in ["quillmere", "harrowmead"] {
        let text = whole(name);
        let lines: Vec<&str> = text.lines().collect();
        for at in 0..lines.len() {
            let mut without = lines.clone();
            without.remove(at);
            refused.extend(silent(&read(without.join("\n").as_bytes()).1, lines[at]));
            let mut twice = lines.clone();
            twice.insert(at, lines[at]);
            read(twice.join("\n").as_bytes());
        }
    }
    assert!(refused.is_empty(), "{refused:#?}");
}

#[test]
fn every_value_swapped_for_a_hostile_one_is_never_a_panic() {
    let text = whole("harrowmead");
    let mut refused = Vec::new();
    let hostile = [
        "999999999999999999 gal", "-1 gpm", "0 ft", "NaN", "1e308 ft", "{}", "[]", "[[]]", "{a: {b: [c]}}", "not known", "0 %", "100 %", "\"\"", "'\u{202e}'",
        "Return tank", "[Return tank, Return tank]", "{Return tank: 100 %}", "1/999999999999999999 in", "0 um", "xxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxxx", "31 Dec to 1 Jan",
    ]
    .map(str::to_string);
    for (at, line) in text.lines().enumerate() {
        let Some((key, _)) = line.split_once(": ") else {
            continue;
        };
        // A few on each line, so that all meet all kinds of keys in time.
        for value in hostile.iter().cycle().skip(at * 3).take(3) {
            let changed: Vec<String> = text
                .lines()
                .enumerate()
                .map(|(index, line)| if index == at { format!("{key}: {value}") } else { line.to_string() })
                .collect();
            refused.extend(silent(&read(changed.join("\n").as_bytes()).1, &format!("{key}: {value}")));
        }
    }
    assert!(refused.is_empty(), "{refused:#?}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 150, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn letters_struck_at_random_are_never_a_panic(at in 0usize..4000, length in 0usize..12, put in "\\PC{0,8}|[{}\\[\\]:,#&*!|>%@`\"'\t\r\n -]{0,6}") {
        let mut letters: Vec<char> = whole("quillmere").chars().collect();
        let at = at.min(letters.len());
        let end = (at + length).min(letters.len());
        letters.splice(at..end, put.chars());
        let (_, told) = read(letters.into_iter().collect::<String>().as_bytes());
        prop_assert!(silent(&told, "").is_none());
    }

    #[test]
    fn any_bytes_at_all_are_never_a_panic(bytes in proptest::collection::vec(any::<u8>(), 0..400)) {
        read(&bytes);
    }

    #[test]
    fn any_text_is_a_value_or_a_refusal(text in "\\PC{0,24}|[-0-9., /%a-z]{0,16}") {
        use bywash::quantity as q;
        use q::{Kind, kind};
        if let Ok(range) = q::range::<kind::Volume>(&text) {
            prop_assert!(kind::Volume::to_si(range.low).is_finite() && kind::Volume::to_si(range.high).is_finite());
            prop_assert!(range.low <= range.high);
        }
        let _ = (q::stated::<kind::Temperature>(&text), q::date_and_maybe_time(&text), q::date_range(&text), q::months(&text), q::weekdays(&text));
        let _ = (q::clock(&text), q::span(&text), q::deadline(&text), q::how_often(&text), q::ratio(&text), q::count(&text), q::meter_unit(&text));
    }
}

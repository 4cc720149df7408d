//! Slips that people make when they first type a site and its sheets, and the words that they are answered with. Of 207 tried by hand when
//! the program was young, 7 changed figures without a word and 24 were answered poorly: their line pointed at another line, a unit a
//! hundred times as large was offered, the message was of what the slip led to. All of those 31 stand here, with those found since.

use std::path::Path;

use bywash::cli::{check, judged, load};

use crate::sites::of_the_tests;

/// A file's end, what stands there, what is typed in its place, and words that the answer has.
type Row = (&'static str, &'static str, &'static str, &'static [&'static str]);

/// Answered poorly once.
const POOR: &[Row] = &[
    (
        "facility.yaml",
        "    kind: washdown",
        "   kind: washdown",
        &["begins behind 3 spaces", "begin it behind 4 spaces"],
    ),
    (
        "facility.yaml",
        "{from: Well, up to: 8 ft}",
        "{from: Pond #1, up to: 8 ft}",
        &["taken as a remark", "\"Pond #1\""],
    ),
    ("facility.yaml", "  Storage pond:\n", "  Pond #1:\n", &["the colon with it", "\"Pond #1\":"]),
    ("facility.yaml", "{level: 5.6 ft}", "{level: 5 ft 6 in}", &["at the start 5 ft 6 in"]),
    ("facility.yaml", "600 gal/day", "12'000 gal/day", &["an apostrophe inside a number", "16,000 or 16000"]),
    ("facility.yaml", "15 Apr to 15 Oct", "15 Apr to 31 Sep", &["September has 30 days", "write 30 Sep"]),
    ("slips.csv", "2025-02-12 10:00", "14 Juli 2025", &["`Juli` is not a month", "did you mean july"]),
    ("slips.csv", "2025-02-12 10:00", "14 abr 2025", &["`abr` is not a month"]),
    ("slips.csv", "2025-02-12 10:00", "14 juil. 2025", &["`juil` is not a month", "write it like 2025-07-11"]),
    ("slips.csv", "2025-02-12 10:00", "6/7/2025", &["could mean two days", "date (day first)"]),
    ("rules.yaml", "at most: 7 mg/L", "at most: 7 s.u.", &["a pH"]),
    ("facility.yaml", "counts in: gal, digits: 7", "counts in: CCF, digits: 7", &["write what the dial shows, in CCF"]),
    (
        "facility.yaml",
        "counts in: gal, digits: 7",
        "counts in: kgal, digits: 7",
        &["write what the dial shows, in kgal"],
    ),
    ("facility.yaml", "0.15 in\n", "0.15 in.\n", &["0.15 in. is soaked up"]),
    ("facility.yaml", "amount: 600 gal/day", "amount: ?", &["a question mark is no value", "not known"]),
    ("rules.yaml", "{how often: once a week}", "{how often: quarterly}", &["due quarterly"]),
    ("rules.yaml", "{how often: once a week}", "{how often: quaterly}", &["did you mean `quarterly`"]),
    (
        "facility.yaml",
        "{from: Well, up to: 8 ft}",
        "[Well, Town water]",
        &["how far it is filled is missing", "[Well, Town water], up to: 8 ft}", "Well fills it first", "1 in all"],
    ),
    ("facility.yaml", "{from: Well, up to: 8 ft}", "{from: Wel, up to: 8 ft}", &["did you mean `Well`", "1 in all"]),
    ("meters.csv", "date,place,what,parameter,value", "date;place;what;parameter;value", &["parted by semicolons"]),
    ("meters.csv", "date,place,what,parameter,value", "date\tplace\twhat\tparameter\tvalue", &["parted by tabs"]),
    ("meters.csv", ",7138864,", ",\u{2193},", &["M1 well", "taken as what stands above it, 6771605"]),
    ("meters.csv", ",7138864,", ",|,", &["M1 well", "taken as what stands above it, 6771605"]),
    ("meters.csv", ",7138864,", ",71388O4,", &["has a letter among its figures", "was 7138804 meant"]),
    ("meters.csv", ",7138864,", ",-7138864,", &["below zero", "a dial counts from zero up"]),
    ("facility.yaml", "returns: 88 %", "returns: 0.88", &["a half is 50 %"]),
];

/// Changed figures without a word once.
const UNTOLD: &[Row] = &[
    ("slips.csv", "sample,TSS,31", "sample,total suspend solids,31", &["total suspend solids"]),
    ("rain.csv", "2025-03-14,", "2052-03-14,", &["out of the sheet's order", "was 2025-03-14 meant"]),
    ("rain.csv", "2025-03-14,", "2024-03-14,", &["out of the sheet's order", "was 2025-03-14 meant"]),
    ("slips.csv", "sample,TSS,31", "sample,TSS,-", &["no sample was taken"]),
    ("facility.yaml", "amount: 600 gal/day", "amount: 9.000 gal/day", &["may be 9 or 9 thousand"]),
    ("facility.yaml", "spills to: Outfall 1", "spills to: no outlet", &["has no outlet"]),
];

/// What a site's files are answered with: problems with their hints, and where there is no error, what is read back.
fn answer(folder: &Path) -> String {
    let further =
        |_: Option<&bywash::facility::model::Facility>, _: &mut bywash::files::Sources, _: &bywash::told::Problems| {};
    let said = |problems: &bywash::told::Problems| {
        let all = problems.in_order();
        let lines = all
            .iter()
            .map(|problem| format!("{} | {}", problem.to_string_line(), problem.hint.clone().unwrap_or_default()));
        lines.collect::<Vec<_>>().join("\n")
    };
    match load::read(folder, &load::Asked::default(), &further) {
        Err(unread) => {
            let errors = unread.problems.in_order();
            let count = errors.iter().filter(|problem| problem.severity == bywash::told::Severity::Error).count();
            format!("{}\n{count} in all", said(&unread.problems))
        }
        Ok(site) => {
            let back = check::read_back(&site);
            let sentences = back.site.into_iter().chain(back.permit).map(|(_, sentence)| sentence);
            let repairs = site.timeline.repairs.iter().chain(&site.weather.repairs).map(|one| one.sentence.clone());
            let told: Vec<String> = sentences.chain(back.records).chain(repairs).collect();
            let judged = judged::judge(&site, 0).expect("a run");
            let open = check::still_open(&site, &judged);
            format!("{}\n{}\n{}", said(&site.problems), told.join("\n"), open.join("\n"))
        }
    }
}

#[test]
fn a_slip_that_was_answered_poorly_is_answered_with_what_to_write() {
    let site = of_the_tests("quillmere");
    let copy = site.copy();
    let mut wrong = Vec::new();
    for (end, was, now, words) in POOR.iter().chain(UNTOLD) {
        let Some((file, text)) = site.changed().find(|(file, text)| file.ends_with(end) && text.contains(was)) else {
            wrong.push(format!("no `{was}` in {end}"));
            continue;
        };
        copy.put(file, &text.replacen(was, now, 1));
        let answer = answer(copy.folder());
        copy.put(file, text);
        for word in words.iter().filter(|word| !answer.contains(**word)) {
            let short: String = answer.chars().take(700).collect();
            wrong.push(format!("{end}: `{was}` typed as `{now}` lacks `{word}`:\n{short}"));
        }
    }
    assert!(wrong.is_empty(), "{} wrong\n{}", wrong.len(), wrong.join("\n\n"));
}

//! The rules file and the record sheets that go with a facility made from answers.

use std::fmt::Write as _;

use super::answers::Answers;
use super::facility::Site;
use crate::records::sheet::quoted;

const RULES: &str = include_str!("../../../templates/rules.yaml");
const HEADINGS: &str = "date,place,what,parameter,value,unit,qualifier,paper,received,who,note\n";

/// What the permit says: the head and the notices of the starter, and a blank of each limit that such a site often has.
pub(super) fn rules(answers: &Answers) -> String {
    let (head, rest) = RULES.split_once("\nlimits:\n").unwrap_or((RULES, ""));
    let notices = rest.split_once("\nnotices:\n").map_or("", |(_, notices)| notices);
    let hour = answers.day_starts.as_str();
    let mut out = head
        .replace("holder: Name of your nursery ", &format!("holder: {} ", quoted(&answers.name)))
        .replace("permit year starts: 1 Nov ", "permit year starts: 1 Jan ")
        .replace("in force: 1 Nov 2024 to 31 Oct 2029", "in force: 1 Jan 2025 to 31 Dec 2029")
        .replace("day: 7 am to 7 am", &format!("day: \"{hour} to {hour}\""))
        .lines()
        // The limits below are blank.
        .filter(|line| !line.starts_with("# Two limits stand below"))
        .fold(String::new(), |text, line| text + line + "\n");
    out.push_str(
        "\n# A blank for each limit that a permit often sets at places like yours: copy the permit's words, put its figures in place\n\
         # of the dots, take the # away, and the braces behind `limits:`. Strike what your permit does not have.\nlimits: {}\n",
    );
    let mut blank = |name: &str, at: &str, lines: &[&str]| {
        let _ = writeln!(out, "  # {}:\n  #   words: \"…\"\n  #   at: {}", quoted(name), quoted(at));
        for line in lines {
            let _ = writeln!(out, "  #   {line}");
        }
    };
    for outfall in &answers.outfalls {
        blank(
            &format!("TSS at {outfall}, highest day"),
            outfall,
            &[
                "parameter: total suspended solids",
                "statistic: daily maximum",
                "at most: … mg/L",
                "sample: {kind: grab, how often: once a month with a discharge}",
            ],
        );
        blank(
            &format!("pH at {outfall}"),
            outfall,
            &[
                "parameter: pH",
                "statistic: every reading",
                "at least: …",
                "at most: …",
                "sample: {kind: grab, how often: once a month with a discharge}",
            ],
        );
        blank(&format!("No discharge at {outfall}"), outfall, &["parameter: water", "statistic: no discharge"]);
    }
    if let Some(sewer) = &answers.sewer {
        let unit = if answers.metric { "m3" } else { "gal" };
        blank(
            &format!("Water to {sewer}, a day"),
            sewer,
            &["parameter: water", "statistic: daily total", &format!("at most: … {unit}")],
        );
    }
    for pond in &answers.ponds {
        let unit = if answers.metric { "m" } else { "ft" };
        blank(
            &format!("Freeboard of {pond}"),
            pond,
            &[
                "parameter: freeboard",
                "statistic: every reading",
                &format!("at least: … {unit}"),
                "sample: {how often: once a week}",
            ],
        );
    }
    let _ = write!(out, "\nnotices:\n{notices}");
    out
}

/// The record sheets that the site has something to write on, each with lines to copy.
pub(super) fn records(answers: &Answers, site: &Site<'_>) -> Vec<(String, String)> {
    let mut out = Vec::new();
    let hour = &answers.day_starts;
    let (depth, volume) = if answers.metric { ("m", "m3") } else { ("ft", "gal") };
    let mut sheet = |name: &str, words: &str, lines: Vec<String>| {
        if !lines.is_empty() {
            let lines: String = lines.iter().map(|line| format!("# {line}\n")).collect();
            out.push((format!("records/{name}.csv"), format!("# {words}\n{HEADINGS}{lines}")));
        }
    };
    let cell = |name: &str| {
        if name.contains([',', '"']) { format!("\"{}\"", name.replace('"', "\"\"")) } else { name.to_owned() }
    };
    sheet(
        "meters",
        "Dials as read: what the dial says, not the difference. `off, unchanged` where the pump stood still. Take the # away.",
        answers
            .meters
            .iter()
            .map(|(name, _)| format!("2025-07-11 {hour},{},reading,,412880,{volume},,,,,", cell(name)))
            .collect(),
    );
    sheet(
        "washes",
        "Washes and changes on that day; 0 if there were none. `since the last line` in the note where it covers several days.",
        site.logged().iter().map(|(name, what)| format!("2025-07-11,{},{what},,6,,,,,,", cell(name))).collect(),
    );
    let stores = answers.ponds.iter().map(|name| format!("2025-08-11 {hour},{},level,,6.6,{depth},,,,,", cell(name)));
    let tanks =
        answers.tanks.iter().map(|name| format!("2025-08-11 {hour},{},holding,,4000,{volume},,,,,", cell(name)));
    sheet(
        "ponds",
        "Levels on the gauge, freeboard from the bank's top down; what tanks hold.",
        stores.chain(tanks).collect(),
    );
    let points: Vec<&String> = answers.outfalls.iter().chain(&answers.sewer).collect();
    sheet(
        "lab",
        "Copied from the laboratory's slips; received is the day the slip came. For <0.1 write <0.1.",
        points
            .iter()
            .map(|name| {
                format!(
                    "2025-03-14 09:40,{},sample,total suspended solids,24,mg/L,,slip 31,2025-03-21,,grab",
                    cell(name)
                )
            })
            .collect(),
    );
    sheet(
        "looks",
        "Looks at each outfall: flowing, trickle or dry. A dry look is what shows that nothing left.",
        answers.outfalls.iter().map(|name| format!("2025-08-12 15:30,{},look,,dry,,,,,,", cell(name))).collect(),
    );
    sheet(
        "letters",
        "Calls, letters and reports sent; the note says which limit or month they are about.",
        points
            .iter()
            .map(|name| format!("2025-04-02 09:10,{},call,,,,,letter book 12,,,TSS of 30 Mar 2025", cell(name)))
            .collect(),
    );
    if out.is_empty() {
        out.push(("records/notes.csv".to_owned(), format!("# One observation a line.\n{HEADINGS}")));
    }
    out
}

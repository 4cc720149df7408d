//! What a note on a call, a letter or a report names: a limit or a parameter, a day or a month, a paper.

use chrono::{Datelike, NaiveDate};

use crate::quantity::parameter_name;
use crate::rules::window::windows::{Window, each_day};
use crate::rules::{Evidence, Limit, Subject};

/// Words in small letters, without what stands between them; a date in digits stays one word.
fn words(text: &str) -> Vec<String> {
    text.to_lowercase()
        .split(|c: char| !c.is_alphanumeric() && c != '-')
        .map(|word| word.trim_matches('-').to_owned())
        .filter(|word| !word.is_empty())
        .collect()
}

fn year_of(word: &str) -> Option<i32> {
    word.parse().ok().filter(|year| (1900..3000).contains(year))
}

/// A day of the month: `14`, `14th`.
fn day_of(word: &str) -> Option<u32> {
    let digits = word
        .strip_suffix("st")
        .or_else(|| word.strip_suffix("nd"))
        .or_else(|| word.strip_suffix("rd"))
        .or_else(|| word.strip_suffix("th"))
        .unwrap_or(word);
    digits.parse().ok().filter(|day| (1..=31).contains(day))
}

/// A day or a month that a note speaks of; what it leaves out may be anything.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct When {
    year: Option<i32>,
    month: u32,
    day: Option<u32>,
}

fn whens(text: &str) -> Vec<When> {
    let words = words(text);
    let mut out = Vec::new();
    for (at, word) in words.iter().enumerate() {
        let parts: Vec<&str> = word.split('-').collect();
        if let [year, month, rest @ ..] = parts.as_slice()
            && let (Some(year), Some(month)) =
                (year_of(year), month.parse().ok().filter(|month| (1..=12).contains(month)))
        {
            out.push(When { year: Some(year), month, day: rest.first().and_then(|day| day_of(day)) });
            continue;
        }
        let Some(month) = crate::quantity::month_named(word) else {
            continue;
        };
        let before = at.checked_sub(1).and_then(|before| words.get(before));
        let after = words.get(at + 1);
        let year = [after, words.get(at + 2), before].into_iter().flatten().find_map(|word| year_of(word));
        let day = [before, after].into_iter().flatten().find_map(|word| day_of(word));
        // "May" is a month; "may" beside no day or year is not.
        if word == "may" && year.is_none() && day.is_none() && !text.contains("May") {
            continue;
        }
        out.push(When { year, month, day });
    }
    out
}

/// The month that a note names with its year: `monthly report for August 2025`, `Aug 2025`, `2025-08`.
pub(crate) fn month_named(note: &str) -> Option<NaiveDate> {
    whens(note).into_iter().find_map(|when| NaiveDate::from_ymd_opt(when.year?, when.month, 1))
}

/// Whether a text names a window by one of its days, by one of its months, or by the paper of a result in it.
pub(crate) fn names_when(text: &str, window: &Window, evidence: &[Evidence]) -> bool {
    let papers = evidence.iter().filter_map(|shown| shown.paper.as_deref());
    let told = words(text).join(" ");
    let paper = papers
        .map(|paper| words(paper).join(" "))
        .any(|paper| !paper.is_empty() && format!(" {told} ").contains(&format!(" {paper} ")));
    paper
        || whens(text).into_iter().any(|when| {
            each_day(window.from, window.to).any(|day| {
                day.month() == when.month
                    && when.year.is_none_or(|year| day.year() == year)
                    && when.day.is_none_or(|of| day.day() == of)
            })
        })
}

/// Whether a text names a limit: by its own name, by its parameter in any writing that is read, or by what it is on.
pub(crate) fn names_what(text: &str, limit: &Limit) -> bool {
    let other: &[&str] = match limit.subject {
        Subject::Discharge => {
            &["discharge", "spill", "overflow", "flow", "flowing", "running", "ran", "discharging", "overflowing"]
        }
        Subject::ClockWindow | Subject::Hours | Subject::Water => &["water", "flow", "volume", "discharge"],
        Subject::Rate => &["rate", "flow"],
        Subject::Events => &["washes", "changes"],
        _ => &[],
    };
    let told = words(text);
    other.iter().any(|name| has(&told, name)) || names_itself(text, limit)
}

/// Whether a text has a name in it, word by word.
fn has(told: &[String], name: &str) -> bool {
    let name = words(name).join(" ");
    !name.is_empty() && format!(" {} ", told.join(" ")).contains(&format!(" {name} "))
}

/// Whether a text names a limit by its own name, or by its parameter in any writing that is read.
pub(crate) fn names_itself(text: &str, limit: &Limit) -> bool {
    let told = words(text);
    if has(&told, &limit.name) {
        return true;
    }
    let Some(parameter) = limit.parameter.as_deref().map(parameter_name) else {
        return false;
    };
    // As a letter has it: `P load on 28 Dec`.
    if parameter == parameter_name("total phosphorus") && has(&told, "p load") {
        return true;
    }
    const LONGEST: usize = 5;
    (0..told.len()).any(|from| {
        (from + 1..=told.len().min(from + LONGEST))
            .any(|to| told.get(from..to).is_some_and(|some| parameter_name(&some.join(" ")) == parameter))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn d(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn a_note_names_the_month_that_a_report_is_for() {
        let first = |year, month| NaiveDate::from_ymd_opt(year, month, 1);
        assert_eq!(month_named("monthly report for August 2025"), first(2025, 8));
        assert_eq!(month_named("DMR Aug 2025, sent by post"), first(2025, 8));
        assert_eq!(month_named("report 2025-08"), first(2025, 8));
        assert_eq!(month_named("may be late"), None);
        assert_eq!(month_named("letter book 41"), None);
        let may = Window::new(d("2025-05-01"), d("2025-05-31"));
        assert!(names_when("TSS May", &may, &[]) && !names_when("TSS may be over", &may, &[]));
    }

    #[test]
    fn a_note_names_a_window_by_a_day_of_it_its_month_or_a_paper() {
        let march = Window::new(d("2025-03-01"), d("2025-03-31"));
        let day = Window::new(d("2025-03-14"), d("2025-03-14"));
        let slip = Evidence {
            day: d("2025-03-14"),
            text: String::new(),
            place: None,
            paper: Some("slip 2025-031".to_owned()),
        };
        for (text, of_month, of_day) in [
            ("TSS March", true, true),
            ("TSS of 14 Mar 2025", true, true),
            ("TSS, Mar 20th", true, false),
            ("TSS 2025-03-14", true, true),
            ("TSS March 2024", false, false),
            ("called about slip 2025-031", true, true),
            ("called about slip 2025-03", true, true),
            ("all is well", false, false),
            ("sept. 2024 and May", false, false),
        ] {
            let evidence = std::slice::from_ref(&slip);
            assert_eq!(names_when(text, &march, evidence), of_month, "{text}");
            assert_eq!(names_when(text, &day, evidence), of_day, "{text}");
        }
    }
}

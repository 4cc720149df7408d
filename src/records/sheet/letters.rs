//! A table of what was rung, written and sent: what each row is, of which day it speaks, and what is left open.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{Datelike, NaiveDate};

use crate::quantity::{DateOrder, month_named, two_numbers};
use crate::records::sheet::cells::Cells;
use crate::records::sheet::draft::{About, Question, data};
use crate::records::sheet::grid::{GridRow, Tab};
use crate::records::sheet::headings::tokens;
use crate::records::sheet::layout::Layout;
use crate::records::sheet::mapping::{Column, Dates, Mapping, Table};
use crate::records::sheet::meaning::inner;
use crate::records::sheet::tab_dates::stamp_of;
use crate::records::words::What;

/// What a row may be.
pub(super) const ACTS: [&str; 4] = ["call", "letter", "report sent", "not read"];

/// So many rows tell what a column holds.
const LEAST_ROWS: usize = 3;

/// What the words of a cell say of how something was told: a call, a letter, or what others sent and who came.
fn act_meant(cell: &str) -> Option<&'static str> {
    let words = tokens(cell);
    let (first, last) = (words.first()?.as_str(), words.last()?.as_str());
    if words.len() > 1 && last == "in" || matches!(first, "received" | "incoming" | "visit" | "visited") {
        return Some("not read");
    }
    match first {
        "call" | "called" | "phone" | "phoned" | "telephone" | "telephoned" | "tel" | "rang" | "ring" => Some("call"),
        "letter" | "mail" | "mailed" | "post" | "posted" | "email" | "emailed" | "e" | "fax" | "faxed" | "hand"
        | "handed" | "courier" | "written" | "registered" | "portal" => Some("letter"),
        "report" | "reports" => Some("report sent"),
        _ => None,
    }
}

/// Whether a heading is of the words of a letter.
fn is_about(heading: &str) -> bool {
    const WORDS: [&str; 11] = [
        "what",
        "about",
        "subject",
        "re",
        "regarding",
        "concerning",
        "matter",
        "text",
        "message",
        "contents",
        "content",
    ];
    matches!(tokens(heading).as_slice(), [one] if WORDS.contains(&one.as_str()))
}

fn is_to(heading: &str) -> bool {
    const WORDS: [&str; 9] = ["who", "to", "to whom", "whom", "recipient", "addressee", "sent to", "with", "office"];
    WORDS.contains(&tokens(heading).join(" ").as_str())
}

/// The columns of a table of letters, where it is one; a cell that says neither call nor letter is asked about. `told` gives
/// what was said of a column.
pub(super) fn columns<'a>(
    tab: &Tab,
    layout: &Layout,
    told: impl Fn(usize, &str) -> Vec<&'a Column>,
    (asked, questions): (&mut BTreeSet<String>, &mut Vec<Question>),
) -> Vec<(usize, Column)> {
    let cells = |at: usize| data(tab, layout).map(move |row| row.cell(at)).filter(|text| !text.is_empty());
    let names = |at: usize, heading: &str| -> Option<BTreeMap<String, String>> {
        let all: Vec<&BTreeMap<String, String>> = told(at, heading)
            .into_iter()
            .filter_map(|column| if let Column::Act(names) = column { Some(names) } else { None })
            .collect();
        let mut merged = BTreeMap::new();
        for (cell, act) in all.iter().flat_map(|names| names.iter()) {
            merged.entry(cell.clone()).or_insert_with(|| act.clone());
        }
        (!all.is_empty()).then_some(merged)
    };
    let free = |at: usize, heading: &str| at != layout.date && told(at, heading).is_empty();
    let says_how = |at: usize| {
        let known = cells(at).filter(|cell| act_meant(cell).is_some()).count();
        known >= LEAST_ROWS && known * 4 >= cells(at).count() * 3
    };
    let headings = || layout.headings.iter().enumerate();
    let about = headings().find(|(at, heading)| {
        *at != layout.date && (told(*at, heading).contains(&&Column::About) || free(*at, heading) && is_about(heading))
    });
    let how = headings().find_map(|(at, heading)| {
        let said = names(at, heading);
        (said.is_some() || free(at, heading) && says_how(at)).then(|| (at, heading, said.unwrap_or_default()))
    });
    let (Some((about, _)), Some((how, heading, said))) = (about, how) else { return Vec::new() };
    let open: BTreeSet<&str> =
        cells(how).filter(|cell| act_meant(cell).is_none() && !said.contains_key(*cell)).collect();
    for cell in open {
        if !asked.insert(format!("{heading} {cell}")) {
            continue;
        }
        let options: Vec<String> =
            ACTS.map(|act| inner(&Column::Act([(cell.to_owned(), act.to_owned())].into()))).to_vec();
        questions.push(Question {
            flag: format!("--column '{heading}={}'", options.first().cloned().unwrap_or_default()),
            about: About::Column(heading.clone()),
            text: format!("`{cell}` in column `{heading}`: a call, a letter, a month's report, or nothing of yours?"),
            options,
        });
    }
    let to = headings().filter(|(at, heading)| free(*at, heading) && is_to(heading)).map(|(at, _)| (at, Column::To));
    [(how, Column::Act(said)), (about, Column::About)].into_iter().chain(to).collect()
}

/// A call, a letter or a report as a row of the table tells it.
pub(super) struct Told {
    pub what: What,
    /// What it is about, its dates with their years.
    pub note: String,
    /// Whether a day or a month stands in it, or was said of it.
    pub has_day: bool,
}

/// Whether a table's rows are calls and letters.
pub(super) fn is_of_letters(table: &Table) -> bool {
    table.columns.iter().any(|(_, column)| *column == Column::About)
}

/// What a row of letters says; none where it is nothing that was sent, or no table of letters.
pub(super) fn told(row: &GridRow, table: &Table, date: NaiveDate, cells: &Cells) -> Option<Told> {
    let cell = |wanted: &dyn Fn(&Column) -> bool| {
        table.columns.iter().find(|(_, column)| wanted(column)).map(|(at, _)| row.cell(*at)).unwrap_or_default()
    };
    let text = cell(&|column| *column == Column::About);
    if text.is_empty() {
        return None;
    }
    let names =
        table.columns.iter().find_map(|(_, column)| if let Column::Act(names) = column { Some(names) } else { None });
    let how = cell(&|column| matches!(column, Column::Act(_)));
    let act = names.and_then(|names| names.get(how)).map(String::as_str).or_else(|| act_meant(how));
    let order = match table.order {
        Dates::Order(order) => order,
        Dates::DayOfMonth(_) => DateOrder::MonthFirst,
    };
    let (mut note, mut has_day) = with_years(text, order, date);
    let is_report = has_day && tokens(text).iter().any(|word| matches!(word.as_str(), "report" | "reports"));
    let what = match act? {
        "call" => What::Call,
        "report sent" => What::ReportSent,
        "letter" if is_report && !tokens(text).contains(&"letter".to_owned()) => What::ReportSent,
        "letter" => What::Letter,
        _ => return None,
    };
    if let Some(said) = cells.about(date).filter(|_| !has_day) {
        has_day = true;
        if !said.is_empty() {
            note = format!("{said}: {note}");
        }
    }
    let to = cell(&|column| *column == Column::To);
    for (word, said) in [("to", to), ("by", how)] {
        if !said.is_empty() {
            note.push_str(&format!("; {word} {said}"));
        }
    }
    Some(Told { what, note, has_day })
}

/// A text with the year behind each date and month that has none: the last such day up to the day of the letter. Whether
/// there is any.
fn with_years(text: &str, order: DateOrder, date: NaiveDate) -> (String, bool) {
    let words: Vec<&str> = text.split_whitespace().collect();
    let mut out: Vec<String> = Vec::new();
    let mut any = false;
    let mut year_due: Option<i32> = None;
    for (at, word) in words.iter().enumerate() {
        let word = *word;
        let beside =
            |step: isize| at.checked_add_signed(step).and_then(|at| words.get(at)).copied().unwrap_or_default();
        if let Some(year) = year_due.take() {
            // Of `Dec 11` the year goes behind the day.
            out.push(format!("{word} {year}"));
            continue;
        }
        let end = word.trim_end_matches([',', ';', ':', ')']);
        let (bare, tail) = (end.trim_start_matches('('), word.get(end.len()..).unwrap_or_default());
        if let Some(day) = two_numbers(bare).filter(|_| !is_fraction(bare, beside(-1), beside(1))) {
            let (month, day_of_month) = match order {
                DateOrder::DayFirst if day.second <= 12 => (day.second, day.first),
                DateOrder::DayFirst => (day.first, day.second),
                _ if day.first <= 12 => (day.first, day.second),
                _ => (day.second, day.first),
            };
            if let Some(day) = last_before(day.year, month, day_of_month, date) {
                out.push(format!("{}{tail}", day.format("%-d %b %Y")));
                any = true;
                continue;
            }
        }
        let letters = bare.trim_end_matches('.');
        let is_month = letters.chars().all(char::is_alphabetic) && letters.starts_with(char::is_uppercase);
        if let Some(month) = month_named(letters).filter(|_| is_month) {
            any = true;
            let is_year = |text: &str| text.trim_end_matches([',', ';', '.']).len() == 4 && text.starts_with("20");
            let year = last_before(None, month, 1, date).map_or(date.year(), |day| day.year());
            let is_day = |text: &str| text.len() <= 2 && text.parse::<u32>().is_ok_and(|day| (1..=31).contains(&day));
            if is_year(beside(1)) || is_year(beside(2)) {
                out.push(word.to_owned());
            } else if is_day(beside(1)) {
                year_due = Some(year);
                out.push(word.to_owned());
            } else {
                out.push(format!("{bare} {year}{tail}"));
            }
            continue;
        }
        out.push(word.to_owned());
    }
    (out.join(" "), any)
}

/// `1/4` of `7 1/4` or `1/4 in` is no date.
fn is_fraction(text: &str, before: &str, after: &str) -> bool {
    const UNITS: [&str; 9] = ["in", "in.", "inch", "inches", "ft", "ft.", "feet", "mile", "\""];
    let parts = text.split_once('/').and_then(|(above, below)| Some((above.parse::<u32>().ok()?, below.parse().ok()?)));
    let Some((above, below)) = parts else { return false };
    matches!(below, 2_u32 | 4 | 8 | 16)
        && above < below
        && (before.bytes().all(|byte| byte.is_ascii_digit()) && !before.is_empty() || UNITS.contains(&after))
}

/// The day of a month in the year given, else the last one up to a date.
fn last_before(year: Option<i32>, month: u32, day: u32, date: NaiveDate) -> Option<NaiveDate> {
    if let Some(year) = year {
        return NaiveDate::from_ymd_opt(year, month, day);
    }
    [date.year(), date.year() - 1]
        .into_iter()
        .filter_map(|year| NaiveDate::from_ymd_opt(year, month, day))
        .find(|day| *day <= date)
}

/// Asks of which day each call and letter is that names none.
pub(super) fn ask(found: &[(&Tab, Layout)], mapping: &Mapping, questions: &mut Vec<Question>) {
    let mut asked: BTreeSet<NaiveDate> = BTreeSet::new();
    for (tab, layout) in found {
        let is_of = |table: &&Table| {
            layout.heading_row == table.heading_row && (tab.name.is_empty() || table.tabs.contains(&tab.name))
        };
        for table in mapping.tables.iter().filter(is_of).filter(|table| is_of_letters(table)) {
            for row in data(tab, layout) {
                let Ok(stamp) = stamp_of(row.cell(table.date), table, &tab.name, None) else { continue };
                let Some(told) = told(row, table, stamp.date, &mapping.cells) else { continue };
                if told.has_day || told.what == What::ReportSent || !asked.insert(stamp.date) {
                    continue;
                }
                let (on, day) = (stamp.date, stamp.date.format("%-d %b %Y"));
                let options = vec![format!("{on}={day}"), format!("{on}=not said")];
                questions.push(Question {
                    about: About::Letter,
                    text: format!(
                        "the {} of {day}, `{}`: of which day or month is it? Name the limit too where its words do not",
                        told.what.words(),
                        told.note
                    ),
                    flag: format!("--about \"{}\"", options.first().cloned().unwrap_or_default()),
                    options,
                });
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn year(text: &str, order: DateOrder, date: &str) -> String {
        with_years(text, order, date.parse().unwrap()).0
    }

    #[test]
    fn a_date_without_a_year_is_the_last_one_up_to_the_letter() {
        let us = |text, date| year(text, DateOrder::MonthFirst, date);
        assert_eq!(us("letter on 4/15 flow and freeboard", "2023-04-18"), "letter on 15 Apr 2023 flow and freeboard");
        assert_eq!(us("P load on 12/28 over 1 lb", "2024-01-08"), "P load on 28 Dec 2023 over 1 lb");
        assert_eq!(us("letter, ran 6/5 6/6 6/7", "2023-06-09"), "letter, ran 5 Jun 2023 6 Jun 2023 7 Jun 2023");
        assert_eq!(us("December report + year totals", "2024-01-26"), "December 2023 report + year totals");
        assert_eq!(us("Dec 11 flow", "2025-01-05"), "Dec 11 2024 flow");
        let metric = |text, date| year(text, DateOrder::DayFirst, date);
        assert_eq!(metric("solids 58 in the sample of 30.1.", "2025-02-06"), "solids 58 in the sample of 30 Jan 2025");
    }

    #[test]
    fn inches_and_small_words_are_no_dates() {
        for text in [
            "weir 7 1/4 in and water 7 3/4 in under coping, 2.7 in rain",
            "1/4 in over",
            "this may be late",
            "storm 2.66",
        ] {
            assert_eq!(
                with_years(text, DateOrder::MonthFirst, "2023-04-15".parse().unwrap()),
                (text.to_owned(), false)
            );
        }
    }

    #[test]
    fn what_others_sent_is_no_letter_of_the_grower_s() {
        for (cell, act) in [
            ("phone", "call"),
            ("mail rec'd stamp 6/28", "letter"),
            ("fax in", "not read"),
            ("email in", "not read"),
            ("visit", "not read"),
            ("e-mail", "letter"),
        ] {
            assert_eq!(act_meant(cell), Some(act), "{cell}");
        }
        assert_eq!(act_meant("pigeon"), None);
    }
}

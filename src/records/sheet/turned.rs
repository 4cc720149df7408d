//! Sheets that run the other way: the days of a month across, and down the side months (a station's rain) or what was read
//! (a log turned over). They are turned into rows of days, each cell with its own place.

use chrono::NaiveDate;

use crate::quantity::month_named;
use crate::records::sheet::grid::{GridRow, Origin, Tab};

/// The fewest days across that make a month: February's.
const LEAST_DAYS: u32 = 28;

/// The fewest things down the side of a log turned over.
const LEAST_THINGS: usize = 2;

/// Words of a title or a file's name that say that the numbers under days are rain.
const RAIN: [&str; 5] = ["precip", "precipitation", "rain", "rainfall", "prcp"];

/// Turns a tab that runs the other way; none where it does not.
pub(super) fn turned(tab: &Tab, file: &str) -> Option<Tab> {
    let (head, first) = tab.rows.iter().enumerate().find_map(|(at, row)| Some((at, days_across(row)?)))?;
    let heading = tab.rows.get(head)?;
    let last = (first..heading.cells.len()).take_while(|column| day(heading, *column).is_some()).last()?;
    let below: Vec<&GridRow> = tab.rows.iter().skip(head + 1).filter(|row| !row.is_blank()).collect();
    let title = tab.rows.get(..head)?;
    let labels: Vec<String> = below.iter().map(|row| label(row, first)).collect();
    let months = labels.iter().filter(|label| month_of(label).is_some()).count();
    let has_values = |row: &&GridRow| (first..=last).any(|column| !row.cell(column).is_empty());
    let things = below.iter().zip(&labels).filter(|(row, label)| has_values(row) && !label.is_empty()).count();
    let (title, rows) = if months > 0 && months * 2 >= things {
        let words: Vec<String> = title.iter().flat_map(|row| row.cells.iter().cloned()).collect();
        let words = format!("{file} {} {}", tab.name, words.join(" "));
        // Its words stand over no column of what comes of it.
        (&[][..], by_months(&below, &labels, (heading, first, last), &words))
    } else if things >= LEAST_THINGS {
        (title, over(&below, &labels, (heading, first, last)))
    } else {
        return None;
    };
    // The title stays above, for the month and the year that it names.
    let mut all: Vec<GridRow> = title.to_vec();
    let from = all.last().map_or(0, |row| row.number);
    all.extend((from + 1..).zip(rows).map(|(number, row)| GridRow { number, ..row }));
    Some(Tab { name: tab.name.clone(), rows: all })
}

fn day(row: &GridRow, column: usize) -> Option<u32> {
    let text = row.cell(column);
    (text.len() <= 2).then(|| text.parse().ok()).flatten()
}

/// The column of day 1, where the days of a month stand side by side.
fn days_across(row: &GridRow) -> Option<usize> {
    (0..row.cells.len()).find(|first| (1..=LEAST_DAYS).zip(*first..).all(|(number, at)| day(row, at) == Some(number)))
}

/// What stands before the first day.
fn label(row: &GridRow, first: usize) -> String {
    let cells = row.cells.get(..first).unwrap_or_default();
    cells.iter().filter(|cell| !cell.is_empty()).map(String::as_str).collect::<Vec<_>>().join(" ")
}

/// The month, and the year where one is named: `2023-01`, `01/2023`, `Jan 2023`, `2023 January`, `January`.
fn month_of(label: &str) -> Option<(u32, Option<i32>)> {
    let words: Vec<&str> = label.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let year_in = |word: &str| (word.len() == 4).then(|| word.parse().ok()).flatten().filter(is_year);
    let year = words.iter().find_map(|word| year_in(word));
    let number = |word: &str| (word.len() <= 2).then(|| word.parse().ok()).flatten().filter(|n| (1..=12).contains(n));
    match words.as_slice() {
        [one, other] if year.is_some() => {
            let month = if year_in(one).is_some() { other } else { one };
            Some((month_named(month).or_else(|| number(month))?, year))
        }
        [month] => Some((month_named(month)?, None)),
        _ => None,
    }
}

fn is_year(year: &i32) -> bool {
    (1980..=2100).contains(year)
}

/// The one year that words name.
fn year_in(words: &str) -> Option<i32> {
    let mut years: Vec<i32> = words
        .split(|c: char| !c.is_ascii_digit())
        .filter(|run| run.len() == 4)
        .filter_map(|run| run.parse().ok())
        .filter(is_year)
        .collect();
    years.sort_unstable();
    years.dedup();
    match years.as_slice() {
        [year] => Some(*year),
        _ => None,
    }
}

fn row(cells: Vec<String>, native: Vec<bool>, origins: Vec<Origin>) -> GridRow {
    GridRow { number: 0, cells, native, csv: None, origins }
}

fn origin(row: &GridRow, column: usize) -> Origin {
    Origin { number: row.number, column, csv: row.csv.clone() }
}

/// Months down and days across: a date, a number and a flag each. A letter or a sign behind a number is its flag, and so is
/// one alone.
fn by_months(
    below: &[&GridRow],
    labels: &[String],
    (heading, first, last): (&GridRow, usize, usize),
    words: &str,
) -> Vec<GridRow> {
    let lower = words.to_lowercase();
    let is_rain = lower.split(|c: char| !c.is_alphanumeric()).any(|word| RAIN.contains(&word));
    let head = ["date", if is_rain { "rain" } else { "value" }, "flag"].map(str::to_owned).to_vec();
    let mut out = vec![row(head, Vec::new(), vec![origin(heading, first); 3])];
    for (of, label) in below.iter().zip(labels) {
        let Some((month, year)) = month_of(label) else { continue };
        let year = year.or_else(|| year_in(words));
        for column in first..=last {
            let Some(number) = day(heading, column) else { continue };
            let text = of.cell(column);
            // No month has it, or nothing is written.
            let date = NaiveDate::from_ymd_opt(year.unwrap_or(2000), month, number);
            let Some(date) = date.filter(|_| !text.is_empty()) else { continue };
            let date = if year.is_some() { date.to_string() } else { date.format("%-d %b").to_string() };
            let (value, flag) = parted(text);
            out.push(row(
                vec![date, value, flag],
                vec![false, of.is_native(column), false],
                vec![origin(of, column); 3],
            ));
        }
    }
    out
}

/// A number and the flag behind it; what is no number is a flag where it is short.
fn parted(text: &str) -> (String, String) {
    let end = text.find(|c: char| !(c.is_ascii_digit() || ".,-".contains(c))).unwrap_or(text.len());
    let (number, flag) = text.split_at(end);
    let has_digit = number.bytes().any(|byte| byte.is_ascii_digit());
    match (has_digit, flag.trim()) {
        (true, flag) if flag.chars().count() <= 2 => (number.to_owned(), flag.to_owned()),
        (false, flag) if number.is_empty() && flag.chars().count() <= 2 => (String::new(), flag.to_owned()),
        _ => (text.to_owned(), String::new()),
    }
}

/// A log with its days across: each day a row, each thing a column.
fn over(below: &[&GridRow], labels: &[String], (heading, first, last): (&GridRow, usize, usize)) -> Vec<GridRow> {
    let things: Vec<(&GridRow, &String)> =
        below.iter().copied().zip(labels).filter(|(_, label)| !label.is_empty()).collect();
    let head: Vec<String> =
        std::iter::once("day".to_owned()).chain(things.iter().map(|(_, label)| (*label).clone())).collect();
    let origins = std::iter::once(origin(heading, first)).chain(things.iter().map(|(of, _)| origin(of, 0))).collect();
    let mut out = vec![row(head, Vec::new(), origins)];
    for column in first..=last {
        let cells = std::iter::once(heading.cell(column).to_owned());
        let cells: Vec<String> = cells.chain(things.iter().map(|(of, _)| of.cell(column).to_owned())).collect();
        if cells.iter().skip(1).all(String::is_empty) {
            continue;
        }
        let native = std::iter::once(false).chain(things.iter().map(|(of, _)| of.is_native(column))).collect();
        let origins = std::iter::once(origin(heading, column));
        out.push(row(cells, native, origins.chain(things.iter().map(|(of, _)| origin(of, column))).collect()));
    }
    out
}

//! Where the headings, the dates and the rows of a tab are.

use std::borrow::Cow;
use std::collections::BTreeSet;

use crate::quantity::{DateOrder, TwoNumbers, day_count, stamp, two_numbers};
use crate::records::sheet::grid::{GridRow, Tab};
use crate::records::sheet::headings::names_a_parameter;
use crate::records::sheet::said::is_total;
use crate::records::sheet::tab_dates::without_weekday;

/// What a tab looks like.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Layout {
    /// The number of the last heading row; 0 if there is none.
    pub heading_row: u32,
    /// The joined heading of each column.
    pub headings: Vec<String>,
    /// The column of dates.
    pub date: usize,
    /// Whether the dates are only days of a month.
    pub day_only: bool,
    /// The words that stand above the headings.
    pub title: String,
}

/// What a date cell looks like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Look {
    /// A date that means one day, and whether it names its year.
    Clear { year: bool },
    /// Two numbers, day and month in an order of their own.
    Numbers(TwoNumbers),
    /// A day of the month.
    Day(u32),
}

/// What a text looks like as a date, if it does.
pub(crate) fn look(text: &str) -> Option<Look> {
    let text = text.trim();
    if let Some(numbers) = two_numbers(text) {
        return Some(Look::Numbers(numbers));
    }
    // A dial's five digits are no date; under a heading that says so they are.
    if day_count(text).is_some() {
        return None;
    }
    let (text, weekdays) = without_weekday(text);
    if !weekdays.is_empty() && two_numbers(text).is_some() {
        return two_numbers(text).map(Look::Numbers);
    }
    let number = |part: &str| (!part.is_empty() && part.len() <= 4).then(|| part.parse::<u32>().ok()).flatten();
    if let Some(day) = number(text).filter(|day| (1..=31).contains(day))
        && text.len() <= 2
    {
        return Some(Look::Day(day));
    }
    let named = stamp(text, DateOrder::YearFirst, Some(2000)).ok()?;
    let year = text.contains(&named.date.format("%Y").to_string()) && stamp(text, DateOrder::YearFirst, None).is_ok()
        || stamp(text, DateOrder::YearFirst, None).is_ok();
    Some(Look::Clear { year })
}

/// Finds the dates and headings of a tab; none where no column holds dates.
pub(crate) fn layout(tab: &Tab) -> Option<Layout> {
    let rows: Vec<&GridRow> = tab.rows.iter().filter(|row| !row.is_blank()).collect();
    let width = rows.iter().map(|row| row.cells.len()).max()?;
    let named_date = |column: usize| rows.iter().take(12).any(|row| named_date_cell(row.cell(column)));
    let came_in = |column: usize| rows.iter().take(12).any(|row| says_it_came_in(row.cell(column)));
    let date_like = |row: &GridRow, column: usize| {
        let text = row.cell(column);
        let written = matches!(look(text), Some(Look::Clear { .. } | Look::Numbers(_)));
        (!row.is_native(column) && written) || (day_count(text).is_some() && named_date(column))
    };
    let day_like = |row: &GridRow, column: usize| matches!(look(row.cell(column)), Some(Look::Day(_)));
    let count = |column: usize, is: &dyn Fn(&GridRow, usize) -> bool| {
        let found = rows.iter().filter(|row| is(row, column)).count();
        // The day on which a bottle or a result came in is not the day it is of.
        let weight = if came_in(column) {
            1
        } else if named_date(column) {
            3
        } else {
            2
        };
        (found, found * weight)
    };
    let whole = best((0..width).map(|column| count(column, &date_like).1));
    let days = best((0..width).map(|column| if rising_days(&rows, column) { count(column, &day_like).1 } else { 0 }));
    // A few cells that a spreadsheet made dates of, such as a half inch, don't outweigh a column of days.
    let (date, day_only) = match (whole, days) {
        (Some(dates), Some(days)) => {
            let (found, of_dates) = count(dates, &date_like);
            let (of_month, of_days) = count(days, &day_like);
            // A column further right with no heading of dates may hold feet and inches: `2-3`.
            let stands_behind = days < dates && !named_date(dates) && of_month * 2 >= found;
            if found >= 2 && of_dates >= of_days && !stands_behind { (dates, false) } else { (days, true) }
        }
        (Some(dates), None) => (dates, false),
        (None, Some(days)) => (days, true),
        (None, None) => return None,
    };
    let is_date = |row: &GridRow| date_like(row, date) || day_only && day_like(row, date);
    let first = rows.iter().enumerate().position(|(at, row)| {
        let others = row.cells.iter().enumerate().filter(|(column, cell)| *column != date && !cell.is_empty()).count();
        is_date(row) && !is_total(row) && (others > 0 || rows.get(at + 1).is_some_and(|next| is_date(next)))
    })?;
    // A row that carries dials forward is data without a date, and no heading: it is told, not lost.
    let carries = |row: &GridRow| {
        let dials = row.cells.iter().filter(|cell| cell.len() >= 3 && cell.parse::<f64>().is_ok()).count();
        let named = row.cell(date);
        dials >= 2 && !named.is_empty() && !named_date_cell(named) && named.parse::<f64>().is_err()
    };
    let first = (0..first).rev().take_while(|at| rows.get(*at).is_some_and(|row| carries(row))).last().unwrap_or(first);
    let mut top = first;
    while top > 0 && first - top < 3 {
        let row = rows.get(top - 1)?;
        let mut texts: Vec<&String> = row.cells.iter().filter(|cell| !cell.is_empty()).collect();
        texts.sort_unstable();
        texts.dedup();
        // Two texts over the headings, one of which names a year, are a title: `Nursery;results 1st half 2025`.
        let is_title = top < first && texts.len() <= 2 && texts.iter().any(|text| names_a_year(text));
        if texts.len() < 2 || is_date(row) || is_title {
            break;
        }
        top -= 1;
    }
    let above = rows.get(top..first).unwrap_or_default();
    let caption = top.checked_sub(1).and_then(|over| rows.get(over)).and_then(|row| caption(row));
    let headings = (0..width).map(|column| heading(above, column));
    // `Result` under a line `TSS (mg/L)`: the line is its heading.
    let headings = headings.map(|heading| match caption {
        Some(caption) if is_of_any_result(&heading) => caption.to_owned(),
        _ => heading,
    });
    let headings = headings.collect();
    let title = rows
        .get(..top)
        .unwrap_or_default()
        .iter()
        .flat_map(|row| row.cells.iter())
        .filter(|cell| !cell.is_empty())
        .map(String::as_str)
        .collect::<Vec<_>>()
        .join(" ");
    let heading_row = rows.get(first)?.number - 1;
    Some(Layout { heading_row, headings, date, day_only, title })
}

/// The tables that stand side by side in a tab, each with a column of dates under the same heading; the tab itself where
/// it holds one.
pub(crate) fn side_by_side(tab: &Tab) -> Vec<Cow<'_, Tab>> {
    const LEAST_DATES: usize = 3;
    let starts = layout(tab).and_then(|layout| {
        let headings = tab.rows.iter().rev().find(|row| row.number <= layout.heading_row)?;
        let heading = headings.cell(layout.date);
        let below = || tab.rows.iter().filter(|row| row.number > layout.heading_row);
        let is_like = |column: usize| {
            !heading.is_empty()
                && headings.cell(column).eq_ignore_ascii_case(heading)
                && below().filter(|row| look(row.cell(column)).is_some()).count() >= LEAST_DATES
        };
        let dates: Vec<usize> = (0..headings.cells.len()).filter(|column| is_like(*column)).collect();
        // Each table begins where the headings of the first begin again.
        let (first, second) = (*dates.first()?, *dates.get(1)?);
        let apart = second - first;
        let same = |column: usize| {
            let heading = headings.cell(column);
            !heading.is_empty() && heading.eq_ignore_ascii_case(headings.cell(column + apart))
        };
        let start = (0..=first).find(|column| same(*column)).unwrap_or(first);
        Some(dates.iter().map(|date| date - (first - start)).collect::<Vec<usize>>())
    });
    let starts = starts.unwrap_or_default();
    if starts.len() < 2 {
        return vec![Cow::Borrowed(tab)];
    }
    (0..starts.len())
        .map(|at| {
            let from = if at == 0 { 0 } else { starts.get(at).copied().unwrap_or(0) };
            let to = starts.get(at + 1).map_or(usize::MAX, |next| next.saturating_sub(1));
            Cow::Owned(tab.part(from..=to))
        })
        .collect()
}

/// The words of a line that stands alone over a block of results and names what was measured.
fn caption(row: &GridRow) -> Option<&str> {
    // Of cells that are merged each has the text.
    let mut texts = row.cells.iter().map(String::as_str).filter(|cell| !cell.is_empty());
    let text = texts.next()?;
    (texts.all(|other| other == text) && names_a_parameter(text)).then_some(text)
}

/// Whether a heading is of a result of whatever was measured.
fn is_of_any_result(heading: &str) -> bool {
    const WORDS: [&str; 8] = ["result", "results", "value", "values", "concentration", "conc", "conc.", "measured"];
    WORDS.contains(&heading.trim().to_lowercase().as_str())
}

fn names_a_year(text: &str) -> bool {
    let mut runs = text.split(|c: char| !c.is_ascii_digit());
    runs.any(|run| run.len() == 4 && (run.starts_with("19") || run.starts_with("20")))
}

/// Whether a heading says that dates stand under it.
fn named_date_cell(text: &str) -> bool {
    let lower = text.to_lowercase();
    let is_taken = ["taken", "sampled", "collected"].iter().any(|word| lower == *word || lower == format!("{word} on"));
    (lower == "date" || lower.starts_with("date ") || lower == "day" || is_taken) && !says_it_came_in(text)
}

/// Whether a heading is of the day on which a bottle or a result came in.
fn says_it_came_in(text: &str) -> bool {
    let words = text.to_lowercase().replace("rec'd", "received");
    let words: Vec<&str> = words.split(|c: char| !c.is_alphabetic()).filter(|word| !word.is_empty()).collect();
    words.len() <= 3
        && words.iter().any(|word| {
            matches!(*word, "received" | "recd" | "reported" | "analysed" | "analyzed" | "completed" | "issued")
        })
}

/// The tables that stand below one another in a tab, each with headings of its own, and the last row of each but the last; the
/// tab itself where it holds one.
pub(super) fn one_below_another(tab: Cow<'_, Tab>) -> Vec<(Cow<'_, Tab>, Option<u32>)> {
    let Some(first) = layout(&tab) else { return vec![(tab, None)] };
    let known: Vec<String> =
        first.headings.iter().filter(|heading| !heading.is_empty()).map(|heading| heading.to_lowercase()).collect();
    let held = tab.rows.iter().rev().find(|row| row.number <= first.heading_row).map(|row| row.cells.clone());
    let own = held.iter().flatten().filter(|cell| !cell.is_empty()).map(|cell| cell.to_lowercase());
    let known: Vec<String> = known.into_iter().chain(own).collect();
    let below: Vec<&GridRow> = tab.rows.iter().filter(|row| row.number > first.heading_row).collect();
    // What stands right over the headings, a title of few words, goes with them.
    let is_title = |row: &&&GridRow| {
        row.cells.iter().filter(|cell| !cell.is_empty()).collect::<BTreeSet<_>>().len() <= 2
            && !row.cells.iter().any(|cell| look(cell).is_some())
    };
    let begins: Vec<u32> = (0..below.len())
        .filter(|at| {
            let over = below.get(..*at).unwrap_or_default().iter().rev().find(|row| !row.is_blank());
            // The same headings again go on with the table, but for those under a line that names what was measured.
            let is_another =
                |row: &GridRow| held.as_ref() != Some(&row.cells) || over.is_some_and(|over| caption(over).is_some());
            below.get(*at).is_some_and(|row| is_another(row) && heads_anew(row, &known))
        })
        .filter_map(|at| {
            let over = below.get(..at)?.iter().rev().take_while(is_title).last();
            Some(over.or(below.get(at))?.number)
        })
        .collect();
    if begins.is_empty() {
        return vec![(tab, None)];
    }
    let ends = begins.iter().map(|row| Some(row - 1)).chain([None]);
    let starts = [0].into_iter().chain(begins.iter().copied());
    starts
        .zip(ends)
        .map(|(from, to)| {
            let rows = tab.rows.iter().filter(|row| from <= row.number && to.is_none_or(|to| row.number <= to));
            (Cow::Owned(Tab { name: tab.name.clone(), rows: rows.cloned().collect() }), to)
        })
        .collect()
}

/// Whether a row is of headings, most of which are known from above.
fn heads_anew(row: &GridRow, known: &[String]) -> bool {
    const LEAST_KNOWN: usize = 3;
    let texts: Vec<String> = row.cells.iter().filter(|cell| !cell.is_empty()).map(|cell| cell.to_lowercase()).collect();
    let again = texts.iter().filter(|text| known.contains(text)).count();
    again >= LEAST_KNOWN && again * 2 >= texts.len() && !row.cells.iter().any(|cell| look(cell).is_some())
}

/// The first column with the best score above zero.
fn best(scores: impl Iterator<Item = usize>) -> Option<usize> {
    let mut held: Option<(usize, usize)> = None;
    for (column, score) in scores.enumerate() {
        if score > 0 && held.is_none_or(|(_, most)| score > most) {
            held = Some((column, score));
        }
    }
    held.map(|(column, _)| column)
}

/// Whether a column counts the days of a month up: at least five of them, hardly one below the last.
fn rising_days(rows: &[&GridRow], column: usize) -> bool {
    let days: Vec<u32> = rows
        .iter()
        .filter_map(|row| match look(row.cell(column)) {
            Some(Look::Day(day)) => Some(day),
            _ => None,
        })
        .collect();
    let falls = days.windows(2).filter(|pair| pair.first() >= pair.last()).count();
    // A line that was written again, or one out of its place.
    days.len() >= 5 && falls * 10 <= days.len()
}

/// The words above a column, top down, each once. A blank beside a heading over several columns belongs to it.
fn heading(above: &[&GridRow], column: usize) -> String {
    let mut parts: Vec<&str> = Vec::new();
    for (at, row) in above.iter().enumerate() {
        let lowest = at + 1 == above.len();
        let own = row.cell(column);
        let below = above.get(at + 1..).unwrap_or_default().iter().any(|lower| !lower.cell(column).is_empty());
        let text = if own.is_empty() && !lowest && below {
            (0..column).rev().map(|left| row.cell(left)).find(|text| !text.is_empty()).unwrap_or_default()
        } else {
            own
        };
        if !text.is_empty() && !parts.contains(&text) {
            parts.push(text);
        }
    }
    parts.join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn six_sevenths_is_a_date_and_six_point_seven_is_a_number() {
        let numbers = |first, second, year| Some(Look::Numbers(TwoNumbers { first, second, year }));
        assert_eq!(look("6/7"), numbers(6, 7, None));
        assert_eq!(look("11.07.2025"), numbers(11, 7, Some(2025)));
        assert_eq!(look("6.7"), None);
        assert_eq!(look("412880"), None);
        assert_eq!(look("31/12/25"), numbers(31, 12, Some(2025)));
        assert_eq!(look("3 Mar"), Some(Look::Clear { year: false }));
        assert_eq!(look("2025-03-03"), Some(Look::Clear { year: true }));
        assert_eq!(look("14"), Some(Look::Day(14)));
        assert_eq!(look("45/46"), None);
    }
}

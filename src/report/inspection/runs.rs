//! Days as runs of days, and the first few of many words.

use chrono::{Datelike, NaiveDate};

/// Most runs of days in one sentence.
const MOST_RUNS: usize = 200;

/// The first dozen, and how many more there are.
pub fn first_few(words: &[String]) -> String {
    match words.len() {
        0..=12 => words.join(", "),
        many => format!("{} and {} more", words.get(..12).unwrap_or_default().join(", "), many - 12),
    }
}

/// Days as runs: `2-3 Nov, 9-10 Nov 2024`; the year stands where it changes.
pub fn runs_text(days: &[NaiveDate]) -> String {
    let mut runs: Vec<(NaiveDate, NaiveDate)> = Vec::new();
    for date in days {
        match runs.last_mut() {
            Some((_, to)) if to.succ_opt() == Some(*date) => *to = *date,
            _ => runs.push((*date, *date)),
        }
    }
    let many = runs.len();
    let mut words: Vec<String> = Vec::new();
    for (at, (from, to)) in runs.iter().enumerate().take(MOST_RUNS) {
        let ends_year = runs.get(at + 1).is_none_or(|(next, _)| next.year() != to.year()) || at + 1 == MOST_RUNS;
        let ends_month = ends_year || runs.get(at + 1).is_none_or(|(next, _)| next.month() != to.month());
        let mut text = if from == to {
            from.format("%-d").to_string()
        } else if (from.month(), from.year()) == (to.month(), to.year()) {
            format!("{}–{}", from.format("%-d"), to.format("%-d"))
        } else {
            // Neither of its ends is of the month that the runs after it name.
            format!("{}–{}", from.format("%-d %b"), to.format("%-d %b"))
        };
        if ends_month && (from.month(), from.year()) == (to.month(), to.year()) {
            text.push_str(&to.format(" %b").to_string());
        }
        if ends_year {
            text.push_str(&to.format(" %Y").to_string());
        }
        words.push(text);
    }
    if many > MOST_RUNS {
        words.push(format!("and {} more stretches", many - MOST_RUNS));
    }
    words.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_are_told_as_runs_with_month_and_year_where_they_change() {
        let date = |y, m, d| NaiveDate::from_ymd_opt(y, m, d).unwrap();
        let days = [
            date(2024, 11, 2),
            date(2024, 11, 3),
            date(2024, 11, 9),
            date(2024, 12, 31),
            date(2025, 1, 1),
            date(2025, 3, 4),
        ];
        assert_eq!(runs_text(&days), "2–3, 9 Nov, 31 Dec–1 Jan, 4 Mar 2025");
        let days = [date(2024, 11, 30), date(2024, 12, 1), date(2024, 12, 7), date(2024, 12, 8)];
        assert_eq!(runs_text(&days), "30 Nov–1 Dec, 7–8 Dec 2024");
    }
}

//! The order of day and month in a column of dates, settled by the column as a whole.

use chrono::NaiveDate;

use crate::quantity::{DateOrder, Misread};

/// A date of plain numbers with day and month in an order of their own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TwoNumbers {
    /// The first number.
    pub first: u32,
    /// The second.
    pub second: u32,
    /// The year, where it follows.
    pub year: Option<i32>,
}

/// The two numbers that a date begins with, if it is one of plain numbers: `6/7`, `11.07.2025`, `7-14-25 07:00`.
pub fn two_numbers(text: &str) -> Option<TwoNumbers> {
    let date = text.split_whitespace().next().unwrap_or_default();
    let parts: Vec<&str> = date.trim_end_matches('.').split(['/', '-', '.']).collect();
    let number = |part: &str| (!part.is_empty() && part.len() <= 4).then(|| part.parse::<u32>().ok()).flatten();
    let [one, two, rest @ ..] = parts.as_slice() else {
        return None;
    };
    let (first, second) = (number(one)?, number(two)?);
    if one.len() > 2 || two.len() > 2 {
        return None;
    }
    let year = match rest {
        [] if date.contains('/') || date.ends_with('.') => None,
        [year] if year.len() == 4 => Some(year.parse().ok()?),
        [year] if year.len() == 2 => Some(2000 + year.parse::<i32>().ok()?),
        _ => return None,
    };
    let possible = (1..=31).contains(&first) && (1..=31).contains(&second) && first.min(second) <= 12;
    possible.then_some(TwoNumbers { first, second, year })
}

/// What columns of dates say of their order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Order {
    /// No date of theirs needs one.
    NotNeeded,
    /// Only this order fits every number.
    ByNumbers(DateOrder),
    /// Both fit, and only by this one do the dates run on from row to row; an example.
    ByRunningOn(DateOrder, String),
    /// Both fit; an example.
    Open(String),
    /// Neither fits all: one that is day first and one that is month first.
    Mixed(String, String),
}

impl Order {
    /// The order, where the columns say it.
    pub fn known(&self) -> Option<DateOrder> {
        match self {
            Self::ByNumbers(order) | Self::ByRunningOn(order, _) => Some(*order),
            Self::NotNeeded => Some(DateOrder::YearFirst),
            Self::Open(_) | Self::Mixed(..) => None,
        }
    }

    /// The order, or why it is not known, to be told once for the column `heading`.
    ///
    /// # Errors
    /// Where both orders fit, or neither.
    pub fn or_asked(&self, heading: &str) -> Result<DateOrder, Misread> {
        let hint = format!("call the column `{heading} (day first)` or `{heading} (month first)`");
        match self {
            Self::Open(example) => Err(Misread::new(format!(
                "dates like `{example}` could mean two days, and nothing in this column says whether the day or the month comes first"
            ))
            .hint(hint)),
            Self::Mixed(day, month) => Err(Misread::new(format!(
                "`{day}` can only be day first and `{month}` only month first: one of them is mistyped"
            ))
            .hint(hint)),
            settled => Ok(settled.known().unwrap_or_default()),
        }
    }
}

/// The order of columns (or tabs) of dates that were written by one hand.
pub fn order_of(columns: &[Vec<TwoNumbers>]) -> Order {
    let all: Vec<&TwoNumbers> = columns.iter().flatten().collect();
    let shown = |of: &TwoNumbers| match of.year {
        Some(year) => format!("{}/{}/{year}", of.first, of.second),
        None => format!("{}/{}", of.first, of.second),
    };
    let Some(example) = all.iter().find(|of| of.first != of.second).or(all.first()).map(|of| shown(of)) else {
        return Order::NotNeeded;
    };
    let only_day = all.iter().find(|of| of.first > 12);
    let only_month = all.iter().find(|of| of.second > 12);
    match (only_day, only_month) {
        (Some(_), None) => Order::ByNumbers(DateOrder::DayFirst),
        (None, Some(_)) => Order::ByNumbers(DateOrder::MonthFirst),
        (Some(day), Some(month)) => Order::Mixed(shown(day), shown(month)),
        (None, None) if all.iter().all(|of| of.first == of.second) => Order::ByNumbers(DateOrder::DayFirst),
        (None, None) => match (runs_on(columns, true), runs_on(columns, false)) {
            ((0, _), (back, _)) if back > 0 => Order::ByRunningOn(DateOrder::DayFirst, example),
            ((back, _), (0, _)) if back > 0 => Order::ByRunningOn(DateOrder::MonthFirst, example),
            ((_, Some(day)), (_, Some(month))) if day <= 7 && month >= 27 => {
                Order::ByRunningOn(DateOrder::DayFirst, example)
            }
            ((_, Some(day)), (_, Some(month))) if month <= 7 && day >= 27 => {
                Order::ByRunningOn(DateOrder::MonthFirst, example)
            }
            _ => Order::Open(example),
        },
    }
}

/// How often dates go back from row to row in an order, and the usual step in days.
fn runs_on(columns: &[Vec<TwoNumbers>], day_first: bool) -> (usize, Option<i64>) {
    let mut back = 0;
    let mut steps = Vec::new();
    for column in columns {
        let dates: Vec<Option<NaiveDate>> = column
            .iter()
            .map(|of| {
                let (day, month) = if day_first { (of.first, of.second) } else { (of.second, of.first) };
                NaiveDate::from_ymd_opt(of.year.unwrap_or(2024), month, day)
            })
            .collect();
        for pair in dates.windows(2) {
            if let [Some(before), Some(after)] = pair {
                let step = (*after - *before).num_days();
                back += usize::from(step < 0);
                steps.push(step);
            }
        }
    }
    steps.sort_unstable();
    (back, steps.get(steps.len() / 2).copied())
}

/// The order that a heading says: `date (month first)`; and the heading without it.
pub fn order_in_heading(heading: &str) -> (&str, Option<DateOrder>) {
    let found = heading.trim().strip_suffix(')').and_then(|text| text.rsplit_once('('));
    match found.and_then(|(bare, words)| Some((bare.trim(), DateOrder::from_words(words)?))) {
        Some((bare, order)) => (bare, Some(order)),
        None => (heading.trim(), None),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(texts: &[&str]) -> Order {
        order_of(&[texts.iter().filter_map(|text| two_numbers(text)).collect()])
    }

    #[test]
    fn one_date_that_leaves_no_choice_settles_the_column() {
        assert_eq!(of(&["3/4/2025", "14/4/2025"]).known(), Some(DateOrder::DayFirst));
        assert_eq!(of(&["3/4/2025", "4/14/2025"]).known(), Some(DateOrder::MonthFirst));
        assert_eq!(of(&["2025-04-03", "3 Apr 2025"]), Order::NotNeeded);
        assert_eq!(of(&["14/4/2025", "4/14/2025"]).known(), None);
        assert_eq!(of(&["3/4/2025", "5/6/2025"]), Order::Open("3/4/2025".into()));
        assert_eq!(order_in_heading("Date (Month first)"), ("Date", Some(DateOrder::MonthFirst)));
        assert_eq!(order_in_heading("TSS (mg/L)"), ("TSS (mg/L)", None));
    }

    /// Every run of days of a year, written either way, is never read the other way.
    #[test]
    fn a_run_of_days_is_never_read_in_the_other_order() {
        let first = NaiveDate::from_ymd_opt(2025, 1, 1).unwrap();
        for start in (0..360).step_by(3) {
            for (length, step) in [(2, 1), (5, 1), (6, 7), (4, 30), (12, 1)] {
                let days = (0..length).filter_map(|at| first.checked_add_days(chrono::Days::new(start + at * step)));
                let days: Vec<NaiveDate> = days.collect();
                for (order, pattern) in [(DateOrder::DayFirst, "%d/%m/%Y"), (DateOrder::MonthFirst, "%m/%d/%Y")] {
                    let texts: Vec<String> = days.iter().map(|day| day.format(pattern).to_string()).collect();
                    let read = of(&texts.iter().map(String::as_str).collect::<Vec<_>>());
                    let same_either_way = texts.iter().all(|text| text.get(..2) == text.get(3..5));
                    assert!(same_either_way || read.known().is_none_or(|read| read == order), "{texts:?}: {read:?}");
                }
            }
        }
    }
}

//! Dates and times as people write them in logs, in a named order.

use chrono::{NaiveDate, NaiveDateTime, NaiveTime};

use crate::quantity::{Misread, all_nearest};

/// Which part of a date of plain numbers comes first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum DateOrder {
    /// `2025-07-11`.
    #[default]
    YearFirst,
    /// `11/7/2025`.
    DayFirst,
    /// `7/11/2025`.
    MonthFirst,
}

impl DateOrder {
    /// The words of a mapping file.
    pub fn words(self) -> &'static str {
        match self {
            Self::YearFirst => "year first",
            Self::DayFirst => "day first",
            Self::MonthFirst => "month first",
        }
    }

    /// The order of these words.
    pub fn from_words(text: &str) -> Option<Self> {
        [Self::YearFirst, Self::DayFirst, Self::MonthFirst]
            .into_iter()
            .find(|order| order.words().eq_ignore_ascii_case(text.trim()))
    }
}

/// A date, and a time where one was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Stamp {
    /// The date.
    pub date: NaiveDate,
    /// The time on the wall.
    pub time: Option<NaiveTime>,
}

impl Stamp {
    /// The moment, with `unless` for a time that was not written.
    pub fn at(&self, unless: NaiveTime) -> NaiveDateTime {
        self.date.and_time(self.time.unwrap_or(unless))
    }
}

/// Reads a date with or without a time. A date with a named month or with the year in front is always clear; other
/// dates of plain numbers are read by `order` and refused if it is `YearFirst`. `year` completes a date without one.
pub fn stamp(text: &str, order: DateOrder, year: Option<i32>) -> Result<Stamp, Misread> {
    let text = text.trim();
    if text.is_empty() {
        return Err(Misread::new("no date is written here").hint("write it like 2025-07-11"));
    }
    if let Some(counted) = day_count(text) {
        return Ok(counted);
    }
    let (date_text, time_text) = split_time(text);
    let date = date(date_text, order, year)?;
    let time = match time_text {
        Some(written) => Some(clock(written).ok_or_else(|| {
            Misread::new(format!("`{written}` is not a time of day")).hint("write it like 07:00 or 7 am")
        })?),
        None => None,
    };
    Ok(Stamp { date, time })
}

/// A time of day: `07:00`, `7:30 am`, `7 am`, `0700`, `7h30`, `noon`.
fn clock(text: &str) -> Option<NaiveTime> {
    let lower = text.trim().to_lowercase().replace(['.', ' '], "");
    if lower == "noon" || lower == "12noon" {
        return NaiveTime::from_hms_opt(12, 0, 0);
    }
    let (body, half) = match (lower.strip_suffix("am"), lower.strip_suffix("pm")) {
        (Some(body), _) => (body, Some(false)),
        (_, Some(body)) => (body, Some(true)),
        _ => (lower.as_str(), None),
    };
    let parts: Vec<&str> = if body.contains(['h', ':']) {
        body.trim_end_matches('h').split(['h', ':']).collect()
    } else if body.len() == 4 && half.is_none() && body.is_ascii() {
        vec![body.get(..2)?, body.get(2..)?]
    } else if half.is_some() {
        vec![body]
    } else {
        return None;
    };
    let mut numbers = [0_u32; 3];
    if parts.len() > 3 {
        return None;
    }
    for (slot, part) in numbers.iter_mut().zip(&parts) {
        if part.is_empty() || part.len() > 2 || !part.bytes().all(|byte| byte.is_ascii_digit()) {
            return None;
        }
        *slot = part.parse().ok()?;
    }
    let [hour, minute, second] = numbers;
    let hour = match half {
        Some(_) if !(1..=12).contains(&hour) => return None,
        Some(afternoon) => hour % 12 + if afternoon { 12 } else { 0 },
        None => hour,
    };
    NaiveTime::from_hms_opt(hour, minute, second)
}

/// The month that a word names, 1 to 12: `Jul`, `july`, `Sept`.
pub(crate) fn month_named(word: &str) -> Option<u32> {
    let word = word.trim_end_matches('.').to_lowercase();
    if word.len() < 3 {
        return None;
    }
    crate::quantity::calendar::words::MONTHS
        .iter()
        .position(|month| month.starts_with(&word) || (word == "sept" && month.starts_with("sep")))
        .and_then(|at| u32::try_from(at + 1).ok())
}

fn split_time(text: &str) -> (&str, Option<&str>) {
    // A time begins at the first word that reads as a clock together with all that follows it.
    let starts = text
        .char_indices()
        .filter(|(_, c)| c.is_whitespace() || *c == 'T' || *c == ',')
        .map(|(at, c)| (at, at + c.len_utf8()));
    for (end, begin) in starts {
        let (head, tail) = (text.get(..end).unwrap_or_default(), text.get(begin..).unwrap_or_default());
        let tail = tail.trim().trim_start_matches("at ").trim_end_matches('Z');
        let head_has_digit = head.bytes().any(|byte| byte.is_ascii_digit());
        let four_digits = tail.len() == 4 && tail.bytes().all(|byte| byte.is_ascii_digit());
        // `11 July 2025`: four digits behind a month's name are a year.
        let year_stands_in_head = head.split(|c: char| !c.is_ascii_digit()).any(|run| run.len() == 4);
        if head_has_digit
            && (!four_digits || year_stands_in_head)
            && tail.starts_with(|c: char| c.is_ascii_digit() || c == 'n')
            && clock(tail).is_some()
        {
            return (head.trim().trim_end_matches(','), Some(tail));
        }
        if head_has_digit && tail.contains(':') && !tail.contains(char::is_whitespace) {
            return (head.trim().trim_end_matches(','), Some(tail));
        }
    }
    (text, None)
}

/// The date that a spreadsheet keeps as a count of days, `45852` or `45852.3125`, where it lies between 1990 and 2099: day
/// 1 is 1 Jan 1900, and 1900 counts as a leap year there, so that day 61 is 1 Mar (ECMA-376, part 1, 18.17.4.1).
pub fn day_count(text: &str) -> Option<Stamp> {
    const DAYS: std::ops::Range<i64> = 32_874..73_051;
    let (whole, part) = text.trim().split_once('.').unwrap_or((text.trim(), ""));
    let digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    if whole.len() != 5 || !digits(whole) || !digits(part) {
        return None;
    }
    let days: i64 = whole.parse().ok().filter(|days| DAYS.contains(days))?;
    let date = NaiveDate::from_ymd_opt(1899, 12, 30)?.checked_add_signed(chrono::Duration::days(days))?;
    let of_day: f64 = format!("0.{part}0").parse().ok()?;
    let minutes = (of_day * 1440.0).round().min(1439.0) as u32;
    let time = (!part.is_empty()).then(|| NaiveTime::from_hms_opt(minutes / 60, minutes % 60, 0)).flatten();
    Some(Stamp { date, time })
}

fn date(text: &str, order: DateOrder, year: Option<i32>) -> Result<NaiveDate, Misread> {
    let wrong = |why: String| Misread::new(why).hint("write it like 2025-07-11 or 11 Jul 2025");
    let tokens: Vec<&str> = text
        .split(|c: char| c.is_whitespace() || matches!(c, '/' | '-' | '.' | ',' | '\u{2013}'))
        .filter(|token| !token.is_empty() && !is_weekday(token))
        .collect();
    let number = |token: &str| -> Option<u32> {
        let bare = ["st", "nd", "rd", "th"].iter().find_map(|end| token.strip_suffix(end)).unwrap_or(token);
        (bare.len() <= 4).then(|| bare.parse().ok()).flatten()
    };
    let full_year = |token: &str| -> Option<i32> {
        let value: i32 = token.trim_start_matches(['\'', '\u{2019}']).parse().ok()?;
        match token.trim_start_matches(['\'', '\u{2019}']).len() {
            4 => Some(value),
            2 => Some(2000 + value),
            _ => None,
        }
    };
    let no_year = || wrong(format!("`{text}` has no year"));
    let named = tokens.iter().position(|token| month_named(token).is_some() && number(token).is_none());
    let (year, month, day) = match (named, tokens.as_slice()) {
        (Some(at), parts) if parts.len() == 2 || parts.len() == 3 => {
            let month = parts.get(at).and_then(|token| month_named(token)).unwrap_or(0);
            let others: Vec<&str> =
                parts.iter().enumerate().filter(|(i, _)| *i != at).map(|(_, token)| *token).collect();
            match others.as_slice() {
                [day] => (year.ok_or_else(no_year)?, month, number(day).unwrap_or(0)),
                [first, last] if first.len() == 4 => (full_year(first).unwrap_or(0), month, number(last).unwrap_or(0)),
                [first, last] => (full_year(last).unwrap_or(0), month, number(first).unwrap_or(0)),
                _ => (0, 0, 0),
            }
        }
        (None, [first, second, third]) if first.len() == 4 => {
            (full_year(first).unwrap_or(0), number(second).unwrap_or(0), number(third).unwrap_or(0))
        }
        (None, [first, second, rest @ ..]) if rest.len() <= 1 => {
            let year = match rest.first() {
                Some(token) => full_year(token).unwrap_or(0),
                None => year.ok_or_else(no_year)?,
            };
            let (a, b) = (number(first).unwrap_or(0), number(second).unwrap_or(0));
            match order {
                DateOrder::DayFirst => (year, b, a),
                DateOrder::MonthFirst => (year, a, b),
                DateOrder::YearFirst => return Err(of_no_order(text, (year, a, b), (first, second))),
            }
        }
        (None, [compact]) if compact.len() == 8 && compact.bytes().all(|byte| byte.is_ascii_digit()) => (
            compact.get(..4).and_then(full_year).unwrap_or(0),
            compact.get(4..6).and_then(number).unwrap_or(0),
            compact.get(6..).and_then(number).unwrap_or(0),
        ),
        _ => return Err(wrong(format!("`{text}` is not a date"))),
    };
    if !(1900..=2200).contains(&year) {
        return Err(wrong(format!("`{text}` is not a date between 1900 and 2200")));
    }
    NaiveDate::from_ymd_opt(year, month, day).ok_or_else(|| {
        if order == DateOrder::DayFirst && day <= 12 && month > 12 || order == DateOrder::MonthFirst && month > 12 {
            wrong(format!("`{text}` is no day when read with the {}", order.words()))
        } else {
            wrong(format!("there is no such day as `{text}`"))
        }
    })
}

/// A date of plain numbers where no order is known: what it can only mean, or both that it may.
fn of_no_order(text: &str, (year, a, b): (i32, u32, u32), words: (&str, &str)) -> Misread {
    let word = [words.0, words.1].into_iter().find(|word| word.chars().all(char::is_alphabetic));
    if let Some(word) = word {
        // Two months equally near are no help: `juil` is as near to June as to July.
        let near = match all_nearest(word, crate::quantity::calendar::words::MONTHS).as_slice() {
            [near] => format!("did you mean {near}? "),
            _ => String::new(),
        };
        return Misread::new(format!("`{word}` is not a month that is known here"))
            .hint(format!("{near}write it like 2025-07-11 or 11 Jul 2025"));
    }
    let day_first = NaiveDate::from_ymd_opt(year, b, a);
    let month_first = NaiveDate::from_ymd_opt(year, a, b);
    match (day_first, month_first) {
        (Some(x), Some(y)) if x != y => Misread::new(format!(
            "`{text}` could mean two days: it does not say whether the day or the month comes first"
        ))
        .hint(format!("write {x} or {y}")),
        (Some(only), _) | (_, Some(only)) => {
            Misread::new(format!("`{text}` is not how dates are written here")).hint(format!("write {only}"))
        }
        (None, None) => {
            Misread::new(format!("there is no such day as `{text}`")).hint("write it like 2025-07-11 or 11 Jul 2025")
        }
    }
}

fn is_weekday(token: &str) -> bool {
    const DAYS: [&str; 7] = ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"];
    let token = token.to_lowercase();
    token.len() >= 2
        && token.is_ascii()
        && token.chars().all(char::is_alphabetic)
        && DAYS.iter().any(|day| day.starts_with(&token))
        || matches!(token.as_str(), "tues" | "thurs" | "thur" | "wednes")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(text: &str, order: DateOrder) -> String {
        match stamp(text, order, Some(2025)) {
            Ok(stamp) => match stamp.time {
                Some(time) => format!("{} {}", stamp.date, time.format("%H:%M")),
                None => stamp.date.to_string(),
            },
            Err(refusal) => format!("refused: {}", refusal.message),
        }
    }

    #[test]
    fn clear_dates_need_no_order() {
        for text in [
            "2025-07-11",
            "11 Jul 2025",
            "July 11, 2025",
            "11-Jul-25",
            "Fri 11 July 2025",
            "2025/7/11",
            "20250711",
            "11th July",
        ] {
            assert_eq!(shown(text, DateOrder::YearFirst), "2025-07-11", "{text}");
        }
    }

    #[test]
    fn a_day_and_a_month_are_not_swapped_by_guess() {
        assert!(shown("11/7/2025", DateOrder::YearFirst).contains("two days"));
        assert_eq!(shown("11/7/2025", DateOrder::DayFirst), "2025-07-11");
        assert_eq!(shown("11/7/2025", DateOrder::MonthFirst), "2025-11-07");
        assert_eq!(shown("6/7", DateOrder::MonthFirst), "2025-06-07");
        assert!(shown("25/12/2025", DateOrder::MonthFirst).starts_with("refused"));
    }

    /// Days counted one by one from 1 Jan 1900 = 1, with the leap day that year never had.
    #[test]
    fn a_day_count_of_a_spreadsheet_is_the_day_that_counting_reaches() {
        let mut day = NaiveDate::from_ymd_opt(1900, 3, 1).unwrap();
        let mut count = 61;
        while count < 73_060 {
            let read = day_count(&count.to_string()).map(|stamp| stamp.date);
            let within = (1990..2100).contains(&chrono::Datelike::year(&day));
            assert_eq!(read, within.then_some(day), "{count}");
            (day, count) = (day.succ_opt().unwrap(), count + 1);
        }
        // The 194th day of 2025 at a quarter to eight.
        assert_eq!(shown("45851.322916667", DateOrder::YearFirst), "2025-07-13 07:45");
        assert_eq!(day_count("458510"), None);
    }

    #[test]
    fn a_date_that_can_only_be_one_day_is_not_said_to_be_two() {
        let hint = |text: &str| stamp(text, DateOrder::YearFirst, None).unwrap_err().hint.unwrap();
        assert_eq!(hint("14/07/2025"), "write 2025-07-14");
        assert_eq!(hint("7/14/25"), "write 2025-07-14");
        assert_eq!(hint("11/7/2025"), "write 2025-07-11 or 2025-11-07");
        assert!(hint("14 Juli 2025").contains("did you mean july?"));
    }

    #[test]
    fn a_time_is_read_with_its_date() {
        for text in [
            "2025-07-11 07:00",
            "2025-07-11T07:00",
            "2025-07-11 7 am",
            "11 July 2025, 7:00 AM",
            "2025-07-11 0700",
            "11 Jul 2025 07:00",
        ] {
            assert_eq!(shown(text, DateOrder::YearFirst), "2025-07-11 07:00", "{text}");
        }
        assert!(shown("2025-07-11 25:00", DateOrder::YearFirst).starts_with("refused"));
    }

    #[test]
    fn the_29th_of_february_of_a_common_year_is_refused() {
        assert!(shown("2025-02-29", DateOrder::YearFirst).starts_with("refused"));
        assert_eq!(shown("2024-02-29", DateOrder::YearFirst), "2024-02-29");
    }
}

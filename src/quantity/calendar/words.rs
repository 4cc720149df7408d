//! Dates, times of day, seasons, months and weekdays as people write them.

use chrono::{NaiveDate, NaiveDateTime, NaiveTime, Weekday};

use crate::quantity::number::{is_space, split_to};
use crate::quantity::{DateOrder, DayOfYear, DaySpan, Misread, Weekdays, nearest, stamp};

/// The months in small letters, January first.
pub(crate) const MONTHS: [&str; 12] = [
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
];
const WEEKDAYS: [&str; 7] = ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"];

/// A stretch of days; both ends belong to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum DateRange {
    /// From one date to another.
    Dates {
        /// The first day.
        first: NaiveDate,
        /// The last day.
        last: NaiveDate,
    },
    /// Every year from one day to another; crosses New Year when the first comes after the last.
    Yearly(DaySpan),
}

impl DateRange {
    /// Whether a day belongs to it.
    pub fn contains(&self, day: NaiveDate) -> bool {
        match *self {
            Self::Dates { first, last } => first <= day && day <= last,
            Self::Yearly(span) => span.contains(day),
        }
    }
}

/// A set of months.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct Months {
    /// Whether each month belongs, January first.
    pub has: [bool; 12],
}

fn words(text: &str) -> Vec<&str> {
    text.split(|c: char| is_space(c) || c == ',').filter(|word| !word.is_empty()).collect()
}

/// The number in `list` of a word: whole, or its first three letters or more.
fn position(list: &[&str], word: &str) -> Option<usize> {
    let lower = word.trim_end_matches('.').to_lowercase();
    let letters = lower.chars().count();
    list.iter().position(|name| *name == lower || letters >= 3 && name.starts_with(&lower))
}

/// The months' short names, January first.
pub(crate) const MONTH_NAMES: [&str; 12] =
    ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

/// The short name of a month, 1 to 12.
pub fn month_name(month: u32) -> &'static str {
    let at = month.checked_sub(1).map(|at| at as usize);
    at.and_then(|at| MONTH_NAMES.get(at)).copied().unwrap_or("?")
}

/// A month by name: 1 to 12.
pub fn month(text: &str) -> Result<u32, Misread> {
    let typed = text.trim_matches(is_space);
    match position(&MONTHS, typed) {
        Some(at) => Ok(at as u32 + 1),
        None => Err(Misread::new(format!("`{typed}` is not a month")).hint(match nearest(typed, MONTHS) {
            Some(near) => format!("did you mean {}? write it like Nov or November", capital(near)),
            None => "write it like Nov or November".into(),
        })),
    }
}

/// A weekday by name.
pub fn weekday(text: &str) -> Result<Weekday, Misread> {
    let typed = text.trim_matches(is_space);
    let wrong = || Misread::new(format!("`{typed}` is not a day of the week")).hint("write it like Mon or Monday");
    let at = position(&WEEKDAYS, typed).ok_or_else(wrong)?;
    Weekday::try_from(at as u8).map_err(|_| wrong())
}

fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

fn small_number(text: &str) -> Option<u32> {
    (text.len() <= 4 && !text.is_empty() && text.chars().all(|c| c.is_ascii_digit())).then(|| text.parse().ok())?
}

/// A date: `2024-05-03`, `3 May 2024` or `May 3, 2024`.
///
/// # Errors
/// For anything else; `5/3/2024` is refused because its order differs between countries.
pub fn date(text: &str) -> Result<NaiveDate, Misread> {
    const HINT: &str = "write it like 2024-05-03, 3 May 2024 or May 3, 2024";
    let typed = text.trim_matches(is_space);
    let none = || Misread::new(format!("there is no such date as `{typed}`")).hint("look at the calendar");
    let parts: Vec<&str> = typed.split('-').collect();
    if let [y, m, d] = parts[..]
        && y.len() == 4
        && let (Some(y), Some(m), Some(d)) = (small_number(y), small_number(m), small_number(d))
    {
        return NaiveDate::from_ymd_opt(y as i32, m, d).filter(|_| y > 0).ok_or_else(none);
    }
    if typed.contains('/') {
        // Said as of a log's date, with the one day or the two that it may be.
        return match stamp(typed, DateOrder::YearFirst, None) {
            Ok(read) => Err(Misread::new("a date with strokes").hint(format!("write {}", read.date))),
            Err(refusal) => Err(refusal),
        };
    }
    if let [a, b, year] = words(typed)[..]
        && year.len() == 4
        && let Some(year) = small_number(year)
    {
        let (day, name) = if a.starts_with(|c: char| c.is_ascii_digit()) { (a, b) } else { (b, a) };
        if let (Some(day), Some(at)) = (small_number(day), position(&MONTHS, name)) {
            return NaiveDate::from_ymd_opt(year as i32, at as u32 + 1, day).filter(|_| year > 0).ok_or_else(none);
        }
    }
    Err(Misread::new(format!("`{typed}` is not a date")).hint(HINT))
}

/// A date with a time of day, `2024-05-03T06:40` or `3 May 2024, 6:40 am`; a date alone has none.
pub fn date_and_maybe_time(text: &str) -> Result<(NaiveDate, Option<NaiveTime>), Misread> {
    let typed = text.trim_matches(is_space);
    if let Ok(day) = date(typed) {
        return Ok((day, None));
    }
    let iso = typed.get(..10).and_then(|head| date(head).ok().zip(typed.get(10..)));
    if let Some((day, rest)) = iso {
        let rest = rest.trim_start_matches(|c: char| is_space(c) || matches!(c, 'T' | 't' | ','));
        return clock(rest).map(|time| (day, Some(time)));
    }
    if let Some((head, tail)) = typed.rsplit_once(',')
        && let Ok(day) = date(head)
    {
        return clock(tail).map(|time| (day, Some(time)));
    }
    date(typed).map(|day| (day, None))
}

/// A date with a time of day.
///
/// # Errors
/// When either is missing or can't be read.
pub fn date_and_time(text: &str) -> Result<NaiveDateTime, Misread> {
    match date_and_maybe_time(text)? {
        (day, Some(time)) => Ok(day.and_time(time)),
        (_, None) => {
            Err(Misread::new("a date without its time").hint("write it like 2024-05-03T06:40 or 3 May 2024, 6:40 am"))
        }
    }
}

/// A day of every year: `15 Apr`, `April 15`.
pub fn day_of_year(text: &str) -> Result<DayOfYear, Misread> {
    let typed = text.trim_matches(is_space);
    let wrong = || Misread::new(format!("`{typed}` is not a day of the year")).hint("write it like 15 Apr");
    let [a, b] = words(typed)[..] else {
        return Err(wrong());
    };
    let (day, name) = if a.starts_with(|c: char| c.is_ascii_digit()) { (a, b) } else { (b, a) };
    let (Some(day), Some(at)) = (small_number(day), position(&MONTHS, name)) else {
        return Err(wrong());
    };
    let month = at as u32 + 1;
    let last = (28..=31).rev().find(|day| NaiveDate::from_ymd_opt(2024, month, *day).is_some()).unwrap_or(31);
    if !(1..=last).contains(&day) {
        let name = MONTHS.get(at).map(|name| capital(name)).unwrap_or_default();
        return Err(Misread::new(format!("there is no {typed}: {name} has {last} days"))
            .hint(format!("write {last} {} for its last day", month_name(month))));
    }
    Ok(DayOfYear { month, day })
}

/// `1 Nov 2024 to 31 Oct 2025`, or every year `15 Apr to 15 Oct`; both ends belong. `March 2025`, `2025-03` and `2025` are
/// a whole month and a whole year.
pub fn date_range(text: &str) -> Result<DateRange, Misread> {
    if let Some((first, last)) = month_or_year(text) {
        return Ok(DateRange::Dates { first, last });
    }
    let [left, right] = split_to(text)[..] else {
        return Err(Misread::new("a stretch of days has two ends with `to` between them")
            .hint("write it like 15 Apr to 15 Oct, or 1 Nov 2024 to 31 Oct 2025"));
    };
    if let (Ok(first), Ok(last)) = (day_of_year(left), day_of_year(right)) {
        return Ok(DateRange::Yearly(DaySpan { from: first, to: last }));
    }
    // A day and a month that the calendar does not have, `31 Sep`.
    for end in [left, right] {
        if let Err(refusal) = day_of_year(end)
            && refusal.message.starts_with("there is no")
        {
            return Err(refusal);
        }
    }
    match (date(left), date(right)) {
        (Ok(first), Ok(last)) if first <= last => Ok(DateRange::Dates { first, last }),
        (Ok(_), Ok(_)) => Err(Misread::new(format!("`{left}` is after `{right}`")).hint("write the first day first")),
        (Err(refusal), other) => Err(if other.is_ok() && day_of_year(left).is_ok() { both_years() } else { refusal }),
        (Ok(_), Err(refusal)) => Err(if day_of_year(right).is_ok() { both_years() } else { refusal }),
    }
}

/// First and last day of a month with its year, or of a year.
fn month_or_year(text: &str) -> Option<(NaiveDate, NaiveDate)> {
    let year_of = |word: &str| (word.len() == 4).then(|| small_number(word)).flatten().filter(|year| *year > 0);
    let parts: Vec<&str> =
        text.split(|c: char| is_space(c) || matches!(c, ',' | '-')).filter(|part| !part.is_empty()).collect();
    let (year, month) = match parts[..] {
        [year] => (year_of(year)?, None),
        [a, b] => match (year_of(a), year_of(b)) {
            (Some(year), None) => (year, Some(small_number(b).or_else(|| month(b).ok())?)),
            (None, Some(year)) => (year, Some(month(a).ok()?)),
            _ => return None,
        },
        _ => return None,
    };
    let first = NaiveDate::from_ymd_opt(i32::try_from(year).ok()?, month.unwrap_or(1), 1)?;
    let last = first.checked_add_months(chrono::Months::new(if month.is_some() { 1 } else { 12 }))?.pred_opt()?;
    Some((first, last))
}

fn both_years() -> Misread {
    Misread::new("one end has a year and the other has none").hint("write the year at both ends or at neither")
}

/// A month or `month to month`; may cross New Year.
pub fn months(text: &str) -> Result<Months, Misread> {
    let mut set = Months::default();
    match split_to(text)[..] {
        [one] => {
            let at = month(one)?;
            if let Some(slot) = set.has.get_mut(at as usize - 1) {
                *slot = true;
            }
        }
        [from, to] => fill(&mut set.has, month(from)? as usize - 1, month(to)? as usize - 1),
        _ => return Err(Misread::new("more than one `to`").hint("write it like Nov to Feb")),
    }
    Ok(set)
}

fn fill(set: &mut [bool], from: usize, to: usize) {
    let mut at = from;
    for _ in 0..set.len() {
        if let Some(slot) = set.get_mut(at) {
            *slot = true;
        }
        if at == to {
            break;
        }
        at = (at + 1) % set.len();
    }
}

/// `Mon`, `Mon to Sat`, `Mon, Wed, Fri`, `every day` or `working days`.
pub fn weekdays(text: &str) -> Result<Weekdays, Misread> {
    let lower = words(text).join(" ").to_lowercase();
    match lower.as_str() {
        "every day" | "daily" => return Ok(Weekdays::EVERY_DAY),
        "working days" | "every working day" => return Ok(Weekdays::WORKING_DAYS),
        "" => return Err(Misread::new("nothing is written here").hint("write it like Mon to Sat")),
        _ => {}
    }
    let mut set = Weekdays([false; 7]);
    for part in text.split(',').flat_map(|part| crate::quantity::number::split_word(part, "and")) {
        match split_to(part)[..] {
            [from, to] => fill(
                &mut set.0,
                weekday(from)?.num_days_from_monday() as usize,
                weekday(to)?.num_days_from_monday() as usize,
            ),
            [one] => {
                let at = weekday(one)?.num_days_from_monday() as usize;
                fill(&mut set.0, at, at);
            }
            _ => return Err(Misread::new("more than one `to`").hint("write it like Mon to Sat")),
        }
    }
    Ok(set)
}

/// A time of day: `7 am`, `7:30 pm`, `12 noon`, `midnight` (the day's start), `22:00`.
pub fn clock(text: &str) -> Result<NaiveTime, Misread> {
    const HINT: &str = "write it like 7 am, 7:30 pm, 12 noon, midnight or 22:00";
    let typed: String = text.trim_matches(is_space).to_lowercase();
    let wrong = || Misread::new(format!("`{}` is not a time of day", text.trim_matches(is_space))).hint(HINT);
    let squeezed: String = typed.chars().filter(|c| !is_space(*c) && *c != '.').collect();
    match squeezed.as_str() {
        "midnight" | "12midnight" => return NaiveTime::from_hms_opt(0, 0, 0).ok_or_else(wrong),
        "noon" | "12noon" => return NaiveTime::from_hms_opt(12, 0, 0).ok_or_else(wrong),
        _ => {}
    }
    let (figures, half) = if let Some(head) = squeezed.strip_suffix("am") {
        (head, Some(0))
    } else if let Some(head) = squeezed.strip_suffix("pm") {
        (head, Some(12))
    } else {
        (squeezed.as_str(), None)
    };
    let mut parts = figures.split(':');
    let hour = parts.next().and_then(small_number).ok_or_else(wrong)?;
    let minute = match parts.next() {
        Some(text) if text.len() == 2 => Some(small_number(text).ok_or_else(wrong)?),
        Some(_) => return Err(wrong()),
        None => None,
    };
    let second = match parts.next() {
        Some(text) if text.len() == 2 => small_number(text).ok_or_else(wrong)?,
        Some(_) => return Err(wrong()),
        None => 0,
    };
    if parts.next().is_some() || figures.len() > 8 {
        return Err(wrong());
    }
    let hour = match half {
        Some(_) if hour == 12 => {
            return Err(Misread::new("12 am and 12 pm are read both ways").hint("write 12 noon or midnight"));
        }
        Some(_) if hour == 0 || hour > 12 => return Err(wrong()),
        Some(add) => hour + add,
        None if minute.is_none() => {
            return Err(Misread::new("a bare number is not a time of day")
                .hint(format!("write {hour}:00, {hour} am or {hour} pm")));
        }
        None => hour,
    };
    if hour == 24 {
        return Err(
            Misread::new("24:00 is the next day's midnight").hint("write midnight, which is the start of a day")
        );
    }
    NaiveTime::from_hms_opt(hour, minute.unwrap_or(0), second).ok_or_else(wrong)
}

/// `7 am to 7 am`: two times of day; equal ends are the whole day.
pub fn clock_range(text: &str) -> Result<(NaiveTime, NaiveTime), Misread> {
    match split_to(text)[..] {
        [from, to] => Ok((clock(from)?, clock(to)?)),
        _ => {
            Err(Misread::new("two times of day with `to` between them are expected")
                .hint("write it like 22:00 to 5:00"))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(y: i32, m: u32, d: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(y, m, d).unwrap()
    }

    #[test]
    fn a_date_reads_the_same_in_all_three_forms_and_strokes_are_refused() {
        for text in ["2024-05-03", "3 May 2024", "May 3, 2024", "3 may 2024", " May 3,2024 "] {
            assert_eq!(date(text).unwrap(), day(2024, 5, 3), "{text}");
        }
        assert!(date("5/3/2024").unwrap_err().message.contains("the day or the month comes first"));
        for text in ["2024-02-30", "31 Jun 2024", "3 May 24", "24-05-03", "", "0000-01-01", "2024-05", "99999-01-01"] {
            assert!(date(text).is_err(), "{text}");
        }
    }

    #[test]
    fn a_time_may_follow_a_date() {
        let time = |h, m| Some(NaiveTime::from_hms_opt(h, m, 0).unwrap());
        assert_eq!(date_and_maybe_time("2024-05-03T06:40").unwrap(), (day(2024, 5, 3), time(6, 40)));
        assert_eq!(date_and_maybe_time("2025-07-11 07:00").unwrap(), (day(2025, 7, 11), time(7, 0)));
        assert_eq!(date_and_maybe_time("3 May 2024, 6:40 am").unwrap(), (day(2024, 5, 3), time(6, 40)));
        assert_eq!(date_and_maybe_time("May 3, 2024").unwrap(), (day(2024, 5, 3), None));
        assert!(date_and_time("2024-05-03").is_err());
    }

    #[test]
    fn a_season_crosses_new_year_and_both_ends_belong() {
        let dormant = date_range("16 Oct to 14 Apr").unwrap();
        for (y, m, d, inside) in
            [(2024, 10, 16, true), (2025, 1, 1, true), (2025, 4, 14, true), (2025, 4, 15, false), (2024, 10, 15, false)]
        {
            assert_eq!(dormant.contains(day(y, m, d)), inside);
        }
        let leap = date_range("29 Feb to 1 Mar").unwrap();
        assert!(leap.contains(day(2023, 2, 28)));
        assert!(!leap.contains(day(2024, 2, 28)));
        assert!(date_range("1 Nov 2024 to 31 Oct").unwrap_err().message.contains("one end has a year"));
        assert!(date_range("31 Oct 2025 to 1 Nov 2024").is_err());
        assert!(date_range("30 Feb to 1 Mar").is_err());
    }

    #[test]
    fn months_and_weekdays_wrap_round() {
        let winter = months("Nov to Feb").unwrap();
        assert_eq!(winter.has.iter().filter(|x| **x).count(), 4);
        assert!(winter.has[0] && winter.has[10]);
        assert!(months("Novembre").is_err());
        assert!(months("Sept").unwrap().has[8]);
        assert_eq!(weekdays("Mon to Sat").unwrap().0, [true, true, true, true, true, true, false]);
        assert_eq!(weekdays("Mon, Wed, Fri").unwrap().0, [true, false, true, false, true, false, false]);
        assert_eq!(weekdays("Sat to Mon").unwrap().0, [true, false, false, false, false, true, true]);
        assert_eq!(weekdays("working days").unwrap(), Weekdays::WORKING_DAYS);
    }

    #[test]
    fn the_clock_reads_am_pm_noon_midnight_and_24_hours() {
        for (text, h, m) in [
            ("7 am", 7, 0),
            ("7:30 am", 7, 30),
            ("7 p.m.", 19, 0),
            ("12 noon", 12, 0),
            ("midnight", 0, 0),
            ("22:00", 22, 0),
            ("5:00", 5, 0),
            ("07:00", 7, 0),
        ] {
            assert_eq!(clock(text).unwrap(), NaiveTime::from_hms_opt(h, m, 0).unwrap(), "{text}");
        }
        assert!(clock("12 am").unwrap_err().hint.unwrap().contains("midnight"));
        assert!(clock("7").unwrap_err().hint.unwrap().contains("7:00"));
        for text in ["24:00", "25:00", "7:5", "13 pm", "", "am", "7:60", "1:2:3:4"] {
            assert!(clock(text).is_err(), "{text}");
        }
    }
}

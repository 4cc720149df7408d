//! Spans of time, deadlines and how often something is done.

use crate::quantity::number::{Exact, is_space, leading_number};
use crate::quantity::{HowOften, Misread, Stretch, nearest, units};

/// A span of time: seconds, or months of the calendar (for keeping and sampling).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Span {
    /// Whole seconds.
    Seconds(u64),
    /// Months of the calendar; a year is twelve.
    Months(u32),
}

impl Span {
    /// Days, where it is a whole number of them.
    pub const fn whole_days(self) -> Option<u64> {
        match self {
            Self::Seconds(seconds) if seconds % 86_400 == 0 => Some(seconds / 86_400),
            _ => None,
        }
    }
}

/// When something must be done by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Deadline {
    /// So long after it became known.
    OfKnowing(Span),
    /// So long after the call about it.
    OfTheCall(Span),
    /// On this day of the month after.
    DayOfNextMonth(u32),
    /// So long before.
    Before(Span),
}

/// The longest span that is kept: a thousand years.
const MOST_SECONDS: f64 = 1000.0 * 366.0 * 86_400.0;

fn words(text: &str) -> Vec<String> {
    text.split(is_space).filter(|word| !word.is_empty()).map(str::to_lowercase).collect()
}

/// `24 h`, `30 days`, `2 weeks`, `3 years`.
///
/// # Errors
/// When the unit is not one of time, or months and years are not whole.
pub fn span(text: &str) -> Result<Span, Misread> {
    const HINT: &str = "write it like 24 h, 5 days, 2 weeks, 6 months or 3 years";
    let (number, rest) = match leading_number(text) {
        Ok(parts) => parts,
        Err(refusal) => {
            // "every day" says one day.
            match words(text).first().map(String::as_str) {
                Some("day" | "week" | "month" | "year" | "hour" | "quarter") => {
                    (Exact::whole(1), text.trim_matches(is_space))
                }
                _ => {
                    return Err(if refusal.hint.is_some() { refusal } else { refusal.hint(HINT) });
                }
            }
        }
    };
    if rest.is_empty() {
        return Err(Misread::new("a number without its unit; expected a length of time")
            .hint("units allowed here: s, min, h, days, weeks, months or years"));
    }
    if number.is_negative() {
        return Err(Misread::new("a length of time can't be below zero").hint(HINT));
    }
    let in_year = match rest.to_lowercase().as_str() {
        "month" | "months" => Some(1),
        "quarter" | "quarters" => Some(3),
        "year" | "years" | "yr" | "yrs" => Some(12),
        _ => None,
    };
    if let Some(each) = in_year {
        return number
            .as_whole()
            .and_then(|whole| u32::try_from(whole * each).ok())
            .filter(|months| *months <= 12_000)
            .map(Span::Months)
            .ok_or_else(|| Misread::new("months and years are counted whole").hint(HINT));
    }
    let Some(unit) =
        [units::S, units::MIN, units::H, units::DAY_1, units::WEEK].into_iter().find(|unit| unit.is_named(rest))
    else {
        let near = nearest(rest, ["s", "min", "hours", "days", "weeks", "months", "years"]);
        return Err(Misread::new(format!("`{rest}` is not a length of time"))
            .hint(near.map_or_else(|| HINT.to_string(), |near| format!("did you mean `{near}`? {HINT}"))));
    };
    let seconds = unit.to_si(number);
    if seconds > MOST_SECONDS {
        return Err(Misread::new("a span of more than a thousand years").hint(HINT));
    }
    if (seconds - seconds.round()).abs() > 1e-6 {
        return Err(Misread::new("a span finer than a second").hint(HINT));
    }
    Ok(Span::Seconds(seconds.round() as u64))
}

/// `24 h of knowing`, `5 days of the call`, `28th of the next month`, `before 2 days`.
pub fn deadline(text: &str) -> Result<Deadline, Misread> {
    const HINT: &str = "write it like 24 h of knowing, 28th of the next month, or before 2 days";
    let held = words(text);
    let all: Vec<&str> = held.iter().map(String::as_str).collect();
    match all[..] {
        ["before", ..] => span(&all.get(1..).unwrap_or_default().join(" ")).map(Deadline::Before),
        [.., "of", "knowing"] => span(&all.get(..all.len() - 2).unwrap_or_default().join(" ")).map(Deadline::OfKnowing),
        [.., "of", "the", "call"] => {
            span(&all.get(..all.len() - 3).unwrap_or_default().join(" ")).map(Deadline::OfTheCall)
        }
        [ordinal, "of", "the", "next", "month"] => {
            let figures: String = ordinal.chars().take_while(char::is_ascii_digit).collect();
            let tail = ordinal.get(figures.len()..).unwrap_or_default();
            match figures.parse::<u32>() {
                Ok(day) if (1..=31).contains(&day) && matches!(tail, "" | "st" | "nd" | "rd" | "th") => {
                    Ok(Deadline::DayOfNextMonth(day))
                }
                _ => Err(Misread::new(format!("`{ordinal}` is not a day of a month")).hint(HINT)),
            }
        }
        _ => Err(Misread::new(format!("`{}` is not a deadline", text.trim_matches(is_space))).hint(HINT)),
    }
}

/// `once a month with a discharge`, `2 times a week`, `every 5 days`, `every working day`, `every discharge`.
pub fn how_often(text: &str) -> Result<HowOften, Misread> {
    const HINT: &str = "write it like weekly, once a quarter, 2 times a month, once a month with a discharge, every 5 days, every working day or every discharge";
    let wrong = || {
        let typed = text.trim_matches(is_space);
        let near = nearest(typed, ["daily", "weekly", "monthly", "quarterly", "yearly", "annually"]);
        let near = near.map(|near| format!("did you mean `{near}`? ")).unwrap_or_default();
        Misread::new(format!("`{typed}` does not say how often")).hint(format!("{near}{HINT}"))
    };
    let held = words(text);
    let mut all: Vec<&str> = held.iter().map(String::as_str).collect();
    match all[..] {
        [word] if stretch_of(word).is_some() => {
            let each = stretch_of(word).unwrap_or(Stretch::Month);
            return Ok(HowOften::Times { times: 1, each, with_a_discharge: false });
        }
        [word, "with", "a", "discharge"] if stretch_of(word).is_some() => {
            let each = stretch_of(word).unwrap_or(Stretch::Month);
            return Ok(HowOften::Times { times: 1, each, with_a_discharge: true });
        }
        ["twice", "monthly"] | ["twice-monthly"] => return how_often("twice a month"),
        ["twice", "weekly"] | ["twice-weekly"] => return how_often("twice a week"),
        ["every", "working", "day"] => return Ok(HowOften::EveryWorkingDay),
        ["every", "discharge"] => return Ok(HowOften::EveryDischarge),
        ["every", "day" | "week" | "month" | "quarter" | "year"] => {
            let stretch = all.last().copied().unwrap_or_default();
            return how_often(&format!("once a {stretch}"));
        }
        ["every", stretch @ ("day" | "week" | "month" | "quarter" | "year"), "with", "a", "discharge"] => {
            return how_often(&format!("once a {stretch} with a discharge"));
        }
        ["every", ..] => {
            let between = span(&all.get(1..).unwrap_or_default().join(" "))?;
            let once = |each| HowOften::Times { times: 1, each, with_a_discharge: false };
            return match between {
                Span::Months(1) => Ok(once(Stretch::Month)),
                Span::Months(3) => Ok(once(Stretch::Quarter)),
                Span::Months(12) => Ok(once(Stretch::Year)),
                Span::Months(_) => {
                    Err(wrong().hint("write once a month, quarter or year, or count days: every 180 days"))
                }
                Span::Seconds(_) => between
                    .whole_days()
                    .filter(|days| (1..=3660).contains(days))
                    .and_then(|days| u32::try_from(days).ok())
                    .map(|days| HowOften::Every { days })
                    .ok_or_else(|| wrong().hint("count whole days, or write once a day, week, month, quarter or year")),
            };
        }
        _ => {}
    }
    let with_discharge = all.ends_with(&["with", "a", "discharge"]);
    if with_discharge {
        all.truncate(all.len() - 3);
    }
    let (times, stretch) = match all[..] {
        ["once", "a" | "per" | "each", stretch] => (1, stretch),
        ["twice", "a" | "per" | "each", stretch] => (2, stretch),
        [number, "times" | "time", "a" | "per" | "each", stretch] | [number, "a", stretch] => {
            (number.parse::<u32>().ok().filter(|n| (1..=1000).contains(n)).ok_or_else(wrong)?, stretch)
        }
        _ => return Err(wrong()),
    };
    let stretch = match stretch {
        "day" => Stretch::Day,
        "week" => Stretch::Week,
        "month" => Stretch::Month,
        "quarter" => Stretch::Quarter,
        "year" => Stretch::Year,
        _ => return Err(wrong()),
    };
    Ok(HowOften::Times { times, each: stretch, with_a_discharge: with_discharge })
}

/// The stretch that `monthly` and its like name.
fn stretch_of(word: &str) -> Option<Stretch> {
    Some(match word {
        "daily" => Stretch::Day,
        "weekly" => Stretch::Week,
        "monthly" => Stretch::Month,
        "quarterly" => Stretch::Quarter,
        "yearly" | "annually" | "annual" => Stretch::Year,
        _ => return None,
    })
}

/// `yes` or `no`.
///
/// # Errors
/// For `on`, `off`, `true`, `false` and anything else, naming yes and no.
pub fn yes_or_no(text: &str) -> Result<bool, Misread> {
    match text.trim_matches(is_space).to_lowercase().as_str() {
        "yes" => Ok(true),
        "no" => Ok(false),
        other => Err(Misread::new(format!("`{other}` is neither yes nor no")).hint("write yes or no")),
    }
}

/// `2 a day`: times in each day.
pub fn times_a_day(text: &str) -> Result<u32, Misread> {
    match how_often(text) {
        Ok(HowOften::Times { times, each: Stretch::Day, with_a_discharge: false }) => Ok(times),
        _ => Err(Misread::new(format!("`{}` is not a number of times a day", text.trim_matches(is_space)))
            .hint("write it like 2 a day")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spans_keep_months_apart_from_days() {
        assert_eq!(span("24 h").unwrap(), Span::Seconds(86_400));
        assert_eq!(span("5 days").unwrap().whole_days(), Some(5));
        assert_eq!(span("3 years").unwrap(), Span::Months(36));
        assert_eq!(span("30 min").unwrap(), Span::Seconds(1800));
        for text in ["3", "1.5 years", "5 dais", "-1 h", "99999999999 days", "", "0.0001 s"] {
            assert!(span(text).is_err(), "{text}");
        }
    }

    #[test]
    fn deadlines_and_duties_read_as_the_permit_says_them() {
        assert_eq!(deadline("24 h of knowing").unwrap(), Deadline::OfKnowing(Span::Seconds(86_400)));
        assert_eq!(deadline("5 days of the call").unwrap(), Deadline::OfTheCall(Span::Seconds(432_000)));
        assert_eq!(deadline("28th of the next month").unwrap(), Deadline::DayOfNextMonth(28));
        assert_eq!(deadline("before 2 days").unwrap(), Deadline::Before(Span::Seconds(172_800)));
        assert!(deadline("32nd of the next month").is_err());
        let monthly = HowOften::Times { times: 1, each: Stretch::Month, with_a_discharge: true };
        assert_eq!(how_often("once a month with a discharge").unwrap(), monthly);
        assert_eq!(how_often("every working day").unwrap(), HowOften::EveryWorkingDay);
        assert_eq!(how_often("every 5 days").unwrap(), HowOften::Every { days: 5 });
        assert_eq!(how_often("every discharge").unwrap(), HowOften::EveryDischarge);
        assert_eq!(times_a_day("2 a day").unwrap(), 2);
        assert_eq!(how_often("every month").unwrap(), how_often("once a month").unwrap());
        assert_eq!(how_often("every 3 months").unwrap(), how_often("once a quarter").unwrap());
        assert!(how_often("every 5 months").is_err());
        assert!(how_often("every 5 h").is_err());
        assert!(how_often("weekly-ish").is_err());
        assert!(times_a_day("2 a week").is_err());
    }

    #[test]
    fn only_yes_and_no_answer_yes_or_no() {
        assert_eq!(yes_or_no("Yes"), Ok(true));
        assert_eq!(yes_or_no("no"), Ok(false));
        for text in ["on", "off", "true", "false", "y", ""] {
            assert_eq!(yes_or_no(text).unwrap_err().hint.as_deref(), Some("write yes or no"));
        }
    }
}

//! Dates as a clipboard has them: days of a tab's month, `3 (Sat-Mon)`, tabs that name a year and tabs between them.

use chrono::{Datelike, Days, NaiveDate, Weekday};

use crate::quantity::{Cell, DateOrder, DecimalMark, Misread, Stamp, cell, month_named, stamp};
use crate::records::sheet::grid::Grid;
use crate::records::sheet::habits::{Habits, RowsTellOf, TabYear};
use crate::records::sheet::mapping::{Dates, Table};

/// The month that a name holds: `OCT 24`, `wash log March`.
pub(super) fn month_in(text: &str) -> Option<u32> {
    text.split(|c: char| !c.is_alphabetic()).find_map(month_named)
}

/// The year that a tab's own name holds: `March 2025`, `OCT 24`. Two figures are a year beside a month alone, and never
/// where they may be a day.
pub(super) fn year_named(name: &str) -> Option<i32> {
    let words: Vec<&str> = name.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let number = |word: &&str| word.parse::<i32>().ok();
    let four: Vec<i32> = words.iter().filter(|word| word.len() == 4).filter_map(number).collect();
    if let [year] = four.as_slice() {
        return (1980..=2100).contains(year).then_some(*year);
    }
    match words.as_slice() {
        [month, year] if month_named(month).is_some() && year.len() == 2 => {
            number(year).filter(|year| (15..=60).contains(year)).map(|year| 2000 + year)
        }
        _ => None,
    }
}

/// The year of a tab that is named by its month: its own, or what the tabs beside it leave. Of tabs before and after
/// both must agree; of one side alone the months must follow one another without a gap.
pub(super) fn year_of_tab(grid: &Grid, name: &str) -> Option<i32> {
    if let Some(year) = year_named(name) {
        return Some(year);
    }
    let months: Vec<(Option<u32>, Option<i32>)> =
        grid.tabs.iter().map(|tab| (month_in(&tab.name), year_named(&tab.name))).collect();
    let at = grid.tabs.iter().position(|tab| tab.name == name)?;
    let month = months.get(at)?.0?;
    let after = |(earlier, year): (u32, i32)| if month > earlier { year } else { year + 1 };
    let before = |(later, year): (u32, i32)| if month < later { year } else { year - 1 };
    let known = |(month, year): &(Option<u32>, Option<i32>)| Some(((*month)?, (*year)?));
    let left = months.get(..at)?.iter().rposition(|tab| known(tab).is_some());
    let right = months.get(at + 1..)?.iter().position(|tab| known(tab).is_some()).map(|found| at + 1 + found);
    let follow = |from: usize, to: usize| {
        months.get(from..=to).is_some_and(|tabs| {
            tabs.windows(2).all(|pair| match pair {
                [(Some(one), _), (Some(next), _)] => *next == one % 12 + 1,
                _ => false,
            })
        })
    };
    let from_left = left.and_then(|from| known(months.get(from)?)).map(after);
    let from_right = right.and_then(|to| known(months.get(to)?)).map(before);
    match (from_left, from_right) {
        (Some(one), Some(two)) => (one == two).then_some(one),
        (Some(one), None) => left.filter(|from| follow(*from, at)).map(|_| one),
        (None, Some(two)) => right.filter(|to| follow(at, *to)).map(|_| two),
        (None, None) => None,
    }
}

/// A date cell as it was understood.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Dated {
    pub stamp: Stamp,
    /// The first and last of the days that the row tells of, where they are not the date's own.
    pub covers: Option<(NaiveDate, NaiveDate)>,
}

/// The dates of the rows around one.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Around {
    pub last: Option<NaiveDate>,
    pub next: Option<NaiveDate>,
}

/// A date cell: a whole date, a day of the month, a ditto mark, or a span of days.
pub(super) fn date_of(text: &str, table: &Table, tab: &str, habits: &Habits, around: Around) -> Result<Dated, Misread> {
    if let Some(span) = span_of(text, table) {
        return match habits.rows_tell_of {
            Some(tells) => span.between(text, tells, around, stamp_of(text, table, tab, around.last).ok()),
            None => plain_span(text, &span, stamp_of(text, table, tab, around.last), around.last),
        };
    }
    let stamp = stamp_of(text, table, tab, around.last)?;
    let covers = (habits.rows_tell_of == Some(RowsTellOf::TheDayBefore))
        .then(|| stamp.date.pred_opt().map(|before| (before, before)))
        .flatten();
    Ok(Dated { stamp, covers })
}

/// A date cell that is no span. A day and month without a year, and one that the tab's name contradicts by a year, lie
/// nearest to the tab's month.
pub(super) fn stamp_of(text: &str, table: &Table, tab: &str, last: Option<NaiveDate>) -> Result<Stamp, Misread> {
    if cell(text, DecimalMark::Point) == Ok(Cell::Same) {
        return last
            .map(|date| Stamp { date, time: None })
            .ok_or_else(|| Misread::new("nothing stands above it to repeat").hint("write the date"));
    }
    let (text, _) = without_weekday(without_forward(text));
    let nearest = |read: Result<Stamp, Misread>, order: DateOrder| {
        let read = read?;
        let month = match table.order {
            Dates::DayOfMonth(month) => Some(month),
            Dates::Order(_) => month_in(tab),
        };
        let has_year = stamp(text, order, None).is_ok();
        Ok(match (month, table.year) {
            (Some(month), Some(year)) if !has_year => Stamp { date: near(read.date, month, year), ..read },
            _ => read,
        })
    };
    match table.order {
        Dates::Order(order) => match (lone_day(text), month_in(tab)) {
            (Some(day), Some(month)) => day_of_month(day, month, table.year.or(last.map(|date| date.year()))),
            _ => nearest(stamp(text, order, table.year), order),
        },
        Dates::DayOfMonth(month) => match (lone_day(text), with_month(text, month)) {
            (Some(day), _) | (None, Some(day)) => day_of_month(day, month, table.year),
            (None, None) => match beside_month(text, month) {
                Some((month_said, day)) => nearest(day_of_month(day, month_said, table.year), DateOrder::YearFirst),
                None => stamp(text, DateOrder::YearFirst, table.year),
            },
        },
    }
}

/// The date in its tab's year, where the answer says that dates far from the tab's month are of it.
pub(super) fn in_tab_year(stamp: Stamp, grid: &Grid, tab: &str, habits: &Habits) -> Stamp {
    let is_meant = habits.tab_year == Some(TabYear::OfTheTab) && is_of_another_year(stamp.date, grid, tab);
    match (month_in(tab), year_of_tab(grid, tab)) {
        (Some(month), Some(year)) if is_meant => Stamp { date: near(stamp.date, month, year), ..stamp },
        _ => stamp,
    }
}

/// The date in the year in which it lies nearest to a month of a year.
pub(super) fn near(date: NaiveDate, month: u32, year: i32) -> NaiveDate {
    let Some(middle) = NaiveDate::from_ymd_opt(year, month, 15) else { return date };
    let years = [year, year - 1, year + 1].into_iter();
    let dates = years.filter_map(|year| date.with_year(year));
    dates.min_by_key(|date| (*date - middle).num_days().abs()).unwrap_or(date)
}

/// A span of days without an answer about it: a number in front of it that is the very day on which it was read is a date.
fn plain_span(
    text: &str,
    span: &Span,
    read: Result<Stamp, Misread>,
    last: Option<NaiveDate>,
) -> Result<Dated, Misread> {
    let fits = span.weekdays.is_some_and(|(_, to)| read.as_ref().is_ok_and(|stamp| stamp.date.weekday() == to));
    let may_be_days = span.weekdays.is_some_and(|(from, to)| span.number == Some(length(from, to)));
    if !fits || may_be_days && last.is_some_and(|last| follows_badly(&read, last)) {
        return Err(Misread::new(format!("`{}` is a span of days, and no date", text.trim())).hint(
            "say once what such rows tell of: bywash sheet FILE --rows-tell-of \"their own day\"; or write the date on \
             which it was read",
        ));
    }
    read.map(|stamp| Dated { stamp, covers: None })
}

/// Whether a date does not follow the row above within about a week.
fn follows_badly(read: &Result<Stamp, Misread>, last: NaiveDate) -> bool {
    read.as_ref().is_ok_and(|stamp| !(0..=8).contains(&(stamp.date - last).num_days()))
}

fn day_of_month(day: u32, month: u32, year: Option<i32>) -> Result<Stamp, Misread> {
    let Some(year) = year else {
        return Err(Misread::new("the year is not known").hint("write `year: 2025` in the mapping file"));
    };
    NaiveDate::from_ymd_opt(year, month, day)
        .map(|date| Stamp { date, time: None })
        .ok_or_else(|| Misread::new(format!("month {month} of {year} has no day {day}")).hint("look at the date again"))
}

/// The only number of a cell, where it may be a day: `3`, `Mon 3rd`, `3 (Sat-Mon)`.
fn lone_day(text: &str) -> Option<u32> {
    let numbers: Vec<&str> = text.split(|c: char| !c.is_ascii_digit()).filter(|part| !part.is_empty()).collect();
    match numbers.as_slice() {
        [day] if day.len() <= 2 && month_in(text).is_none() => day.parse().ok(),
        _ => None,
    }
}

/// The day of `10/1` or `1/10` where the tab's month is one of the two, and only one.
fn with_month(text: &str, month: u32) -> Option<u32> {
    let (one, two) = text.trim().split_once(['/', '-', '.'])?;
    let (one, two): (u32, u32) = (one.parse().ok()?, two.parse().ok()?);
    match (one == month, two == month) {
        (true, _) => Some(two),
        (false, true) => Some(one),
        (false, false) => None,
    }
}

/// Several days in one date cell: `3 (Sat-Mon)`, `3-5 (Sat-Mon)`, and beside days of a month `7-9` or `6/7`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Span {
    /// A lone number before weekdays: how many days, or the first or last of them.
    number: Option<u32>,
    /// The first and the last day of the month.
    days: Option<(u32, u32)>,
    weekdays: Option<(Weekday, Weekday)>,
}

/// The most days of a span; more are a slip.
const MOST_DAYS: u32 = 10;

/// A span in a date cell.
pub(super) fn span_of(text: &str, table: &Table) -> Option<Span> {
    if let Some((before, rest)) = text.split_once('(') {
        let (inside, _) = rest.split_once(')')?;
        let (from, to) = inside.split_once(['-', '\u{2013}']).or_else(|| inside.split_once(" to "))?;
        let weekdays = (one_weekday(from)?, one_weekday(to)?);
        return Some(Span { number: lone_day(before), days: two_days(before), weekdays: Some(weekdays) });
    }
    let Dates::DayOfMonth(month) = table.order else { return None };
    let days = two_days(text).filter(|_| with_month(text, month).is_none() && beside_month(text, month).is_none());
    days.map(|days| Span { number: None, days: Some(days), weekdays: None })
}

/// `7-9`, `6/7`, `30-1`: two days, and nothing else.
fn two_days(text: &str) -> Option<(u32, u32)> {
    let (one, two) = text.split_once(['-', '\u{2013}', '/', '+', '&']).or_else(|| text.split_once(" to "))?;
    let day = |part: &str| part.trim().parse::<u32>().ok().filter(|day| (1..=31).contains(day));
    let days = (day(one)?, day(two)?);
    (days.0 != days.1).then_some(days)
}

impl Span {
    /// The days between the rows around it that fit its words: weekdays, days of the month and their number.
    fn between(&self, text: &str, tells: RowsTellOf, around: Around, as_date: Option<Stamp>) -> Result<Dated, Misread> {
        let refuse = |why: String| {
            Err(Misread::new(format!("`{}`: {why}", text.trim())).hint("write the date on which it was read"))
        };
        let beyond = match tells {
            RowsTellOf::TheirOwnDay => 0,
            RowsTellOf::TheDayBefore => 1,
        };
        // The day of the row before is told of by that row, or is the first of these.
        let (earliest, latest) = match (around.last, around.next) {
            (Some(last), Some(next)) => (last, next.min(last + Days::new(21))),
            (Some(last), None) => (last, last + Days::new(14)),
            (None, Some(next)) => (next - Days::new(14), next),
            (None, None) => return refuse("no row with a date stands beside it".into()),
        };
        let mut fitting: Vec<(NaiveDate, NaiveDate)> = Vec::new();
        for first in earliest.iter_days().skip(if beyond == 0 { 1 } else { 0 }).take_while(|day| *day < latest) {
            for days in 2..=MOST_DAYS {
                let last = first + Days::new(u64::from(days) - 1);
                if last + Days::new(beyond) < latest && self.fits(first, last, days) {
                    fitting.push((first, last));
                }
            }
        }
        // Without a row on one side only the nearest can be meant.
        let chosen = match (around.last, around.next) {
            (None, Some(_)) => fitting.last(),
            (Some(_), None) => fitting.first(),
            _ if fitting.len() > 1 => return refuse("several stretches of days between the rows around it fit".into()),
            _ => fitting.first(),
        };
        let Some((first, last)) = chosen.copied() else {
            let day = |day: Option<NaiveDate>| day.map_or("nothing".to_owned(), |day| day.to_string());
            return refuse(format!(
                "no days between the rows around it ({} and {}) fit these words",
                day(around.last),
                day(around.next)
            ));
        };
        let date = last + Days::new(beyond);
        let other = as_date.filter(|_| self.weekdays.is_none()).map(|stamp| stamp.date);
        if let Some(other) = other.filter(|other| *other > earliest && *other < latest && *other != date) {
            return refuse(format!("it may be {first} to {last}, or {other}"));
        }
        Ok(Dated { stamp: Stamp { date, time: None }, covers: Some((first, last)) })
    }

    fn fits(&self, first: NaiveDate, last: NaiveDate, days: u32) -> bool {
        let weekdays = self.weekdays.is_none_or(|(from, to)| first.weekday() == from && last.weekday() == to);
        let of_month = self.days.is_none_or(|(from, to)| first.day() == from && last.day() == to);
        let number = self.number.is_none_or(|n| n == days || n == first.day() || n == last.day());
        // A week more is no other reading of `Sat-Mon`.
        let short = self.weekdays.is_none_or(|(from, to)| days == length(from, to));
        weekdays && of_month && number && short
    }
}

/// Days from one weekday to another, both counted.
fn length(from: Weekday, to: Weekday) -> u32 {
    (to.num_days_from_monday() + 7 - from.num_days_from_monday()) % 7 + 1
}

/// The weekdays that a word may stand for: `Saturday`, `Sat.`, `Sa`; `T` and `S` are two each.
fn weekdays_meant(word: &str) -> Vec<Weekday> {
    use Weekday::{Fri, Mon, Sat, Sun, Thu, Tue, Wed};
    let lower = word.trim().trim_end_matches('.').to_lowercase();
    let named = |day: Weekday| {
        let whole = ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"];
        whole.get(day.num_days_from_monday() as usize).is_some_and(|whole| whole.starts_with(&lower))
    };
    let usual = matches!(lower.as_str(), "tues" | "thur" | "thurs" | "weds");
    if lower.is_empty() || !(lower.len() <= 3 || lower.ends_with("day") || usual) {
        return Vec::new();
    }
    if lower == "weds" {
        return vec![Wed];
    }
    [Mon, Tue, Wed, Thu, Fri, Sat, Sun].into_iter().filter(|day| named(*day)).collect()
}

fn one_weekday(word: &str) -> Option<Weekday> {
    match weekdays_meant(word).as_slice() {
        [day] => Some(*day),
        _ => None,
    }
}

/// A date without the weekday before or behind it, and what that may be: `Sa 1`, `2 M`, `Fri 01.08.`.
pub(super) fn without_weekday(text: &str) -> (&str, Vec<Weekday>) {
    let text = text.trim();
    let begins = |rest: &str| rest.trim().starts_with(|c: char| c.is_ascii_digit());
    if let Some((word, rest)) = text.split_once([' ', ','])
        && begins(rest)
    {
        let days = weekdays_meant(word);
        if !days.is_empty() {
            return (rest.trim_matches([' ', ',']), days);
        }
    }
    if let Some((rest, word)) = text.rsplit_once(' ')
        && begins(rest)
    {
        let days = weekdays_meant(word);
        if !days.is_empty() {
            return (rest.trim_end_matches([' ', ',']), days);
        }
    }
    (text, Vec::new())
}

/// A date without the words of a row that carries dials forward: `12/31 fwd`, `fwd 10/31`.
fn without_forward(text: &str) -> &str {
    const WORDS: [&str; 5] = ["fwd", "fwd.", "forward", "b/f", "c/f"];
    let text = text.trim();
    let is_word = |word: &str| WORDS.iter().any(|known| known.eq_ignore_ascii_case(word));
    match (text.split_once(' '), text.rsplit_once(' ')) {
        (Some((word, rest)), _) if is_word(word) => rest.trim(),
        (_, Some((rest, word))) if is_word(word) => rest.trim(),
        _ => text,
    }
}

/// Month and day of `12/31` on the tab of a neighbouring month, where it can be read one way only.
fn beside_month(text: &str, month: u32) -> Option<(u32, u32)> {
    let (one, two) = text.trim().trim_end_matches('.').split_once(['/', '.'])?;
    let (one, two): (u32, u32) = (one.parse().ok()?, two.parse().ok()?);
    let is_beside = |other: u32| other == month % 12 + 1 || other == (month + 10) % 12 + 1;
    match (is_beside(one), is_beside(two)) {
        (true, false) if two > 12 => Some((one, two)),
        (false, true) if one > 12 => Some((two, one)),
        _ => None,
    }
}

/// What a cell's own weekday says against its date: `Mon 4 Mar 2025`, which is a Tuesday.
pub(super) fn other_weekday(text: &str, date: NaiveDate) -> Option<String> {
    let beside = without_weekday(text).1;
    let words = text.split(|c: char| !c.is_alphabetic()).filter(|word| word.len() >= 3);
    let said: Vec<Vec<Weekday>> = if beside.is_empty() {
        words.map(weekdays_meant).filter(|days| !days.is_empty()).collect()
    } else {
        vec![beside]
    };
    match said.as_slice() {
        [days] if !days.contains(&date.weekday()) => Some(format!("`{}` is a {}", text.trim(), date.format("%A"))),
        _ => None,
    }
}

/// Whether a date lies more than half a year from the month that its tab is named by.
pub(super) fn is_of_another_year(date: NaiveDate, grid: &Grid, tab: &str) -> bool {
    let middle = || NaiveDate::from_ymd_opt(year_of_tab(grid, tab)?, month_in(tab)?, 15);
    middle().is_some_and(|middle| (date - middle).num_days().abs() > 183)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(order: Dates) -> Table {
        Table {
            tabs: Vec::new(),
            heading_row: 1,
            last_row: None,
            date: 0,
            order,
            year: Some(2025),
            time_column: None,
            time: None,
            mark: DecimalMark::Point,
            columns: Vec::new(),
        }
    }

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    /// 14 November 2025 is a Friday, so the three days are 15 to 17 November.
    #[test]
    fn a_span_is_of_the_days_between_its_rows_that_its_weekdays_and_numbers_name() {
        let read = |text: &str, tells, last: &str, next: &str| {
            let habits = Habits { rows_tell_of: Some(tells), ..Habits::default() };
            let day = |text: &str| (!text.is_empty()).then(|| day(text));
            let around = Around { last: day(last), next: day(next) };
            let dated = date_of(text, &table(Dates::DayOfMonth(11)), "Nov 25", &habits, around);
            dated.map(|dated| (dated.stamp.date.to_string(), dated.covers.map(|(a, b)| format!("{a} {b}"))))
        };
        let own = RowsTellOf::TheirOwnDay;
        let weekend = Ok(("2025-11-17".to_owned(), Some("2025-11-15 2025-11-17".to_owned())));
        for text in ["3 (Sat-Mon)", "15-17", "15-17 (Sat-Mon)", "15/17", "17 (Sa-Mo)"] {
            assert_eq!(read(text, own, "2025-11-14", "2025-11-18"), weekend, "{text}");
            assert_eq!(read(text, own, "2025-11-14", ""), weekend, "{text}");
            assert_eq!(read(text, own, "", "2025-11-18"), weekend, "{text}");
        }
        // Read the morning after: the row of Friday closes Thursday.
        assert_eq!(
            read("3 (Fri-Sun)", RowsTellOf::TheDayBefore, "2025-11-14", "2025-11-18"),
            Ok(("2025-11-17".to_owned(), Some("2025-11-14 2025-11-16".to_owned())))
        );
        assert_eq!(
            read("18", RowsTellOf::TheDayBefore, "2025-11-17", ""),
            Ok(("2025-11-18".to_owned(), Some("2025-11-17 2025-11-17".to_owned())))
        );
        // Weekdays, days and their number must agree with the dates around.
        for text in ["4 (Sat-Mon)", "3 (Sun-Tue)", "14-16 (Sat-Mon)", "16-18"] {
            assert!(read(text, own, "2025-11-14", "2025-11-18").is_err(), "{text}");
        }
        // Between rows far apart two weekends fit.
        assert!(read("3 (Sat-Mon)", own, "2025-11-07", "2025-11-25").is_err());
        assert!(read("3 (Sat-Mon)", own, "", "").is_err());
    }

    #[test]
    fn weekdays_forwards_and_the_year_s_turn_leave_the_date_that_is_meant() {
        let of_month = |month| table(Dates::DayOfMonth(month));
        let read = |text: &str, table: &Table, tab: &str| stamp_of(text, table, tab, None).map(|stamp| stamp.date);
        for text in ["3 M", "Mo 3", "Mon 3", "3"] {
            assert_eq!(read(text, &of_month(11), "Nov 25"), Ok(day("2025-11-03")), "{text}");
        }
        // Of a January, the end of the year before; of a December, the beginning of the next.
        assert_eq!(read("12/31 fwd", &of_month(1), "Jan 25"), Ok(day("2024-12-31")));
        assert_eq!(read("fwd 10/31", &table(Dates::Order(DateOrder::MonthFirst)), "Nov 25"), Ok(day("2025-10-31")));
        assert_eq!(read("1.1.", &table(Dates::Order(DateOrder::DayFirst)), "Dec 25"), Ok(day("2026-01-01")));
        assert_eq!(other_weekday("Tu 3", day("2025-11-03")).as_deref(), Some("`Tu 3` is a Monday"));
        assert_eq!(other_weekday("4 T", day("2025-11-04")), None);
    }

    #[test]
    fn two_figures_beside_a_month_are_a_tab_s_year_and_no_day() {
        for (name, year) in [
            ("OCT 24", Some(2024)),
            ("Jul 25", Some(2025)),
            ("March 2025", Some(2025)),
            ("Dec ", None),
            ("Nov 7", None),
            ("24 Oct 7", None),
            ("Sheet 24", None),
        ] {
            assert_eq!(year_named(name), year, "{name}");
        }
    }

    #[test]
    fn a_cell_s_weekday_is_held_against_its_date() {
        let date = NaiveDate::from_ymd_opt(2025, 3, 4).unwrap();
        assert_eq!(other_weekday("Mon 4 Mar 2025", date).unwrap(), "`Mon 4 Mar 2025` is a Tuesday");
        for text in ["Tue 4 Mar", "4 March", "3 (Sat-Mon)"] {
            assert_eq!(other_weekday(text, date), None, "{text}");
        }
    }

    #[test]
    fn a_number_of_days_is_no_day_of_the_month() {
        let table = table(Dates::DayOfMonth(11));
        let of = |text: &str| span_of(text, &table).map(|span| (span.number, span.days, span.weekdays));
        let weekend = Some((Weekday::Sat, Weekday::Mon));
        assert_eq!(of("3 (Sat-Mon)"), Some((Some(3), None, weekend)));
        assert_eq!(of("3-5 (Sa-Mo)"), Some((None, Some((3, 5)), weekend)));
        assert_eq!(of("6/7"), Some((None, Some((6, 7)), None)));
        assert_eq!((of("3 (checked)"), of("11/7"), of("10/31"), of("7")), (None, None, None, None));
        assert_eq!(length(Weekday::Sat, Weekday::Mon), 3);
        assert_eq!((with_month("10/1", 10), with_month("1/10", 10), with_month("2/3", 10)), (Some(1), Some(1), None));
    }
}

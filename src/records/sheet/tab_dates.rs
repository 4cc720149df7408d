//! Dates as a clipboard has them: days of a tab's month, `3 (Sat-Mon)`, tabs that name a year and tabs between them.

use chrono::{Datelike, NaiveDate, Weekday};

use crate::quantity::{Cell, DateOrder, DecimalMark, Misread, Stamp, cell, month_named, stamp};
use crate::records::sheet::grid::Grid;
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

/// A date cell: a whole date, a day of the month, or a ditto mark.
pub(super) fn date_of(text: &str, table: &Table, tab: &str, last: Option<NaiveDate>) -> Result<Stamp, Misread> {
    if cell(text, DecimalMark::Point) == Ok(Cell::Same) {
        return last
            .map(|date| Stamp { date, time: None })
            .ok_or_else(|| Misread::new("nothing stands above it to repeat").hint("write the date"));
    }
    let read = match table.order {
        Dates::Order(order) => match (lone_day(text), month_in(tab)) {
            (Some(day), Some(month)) => day_of_month(day, month, table.year.or(last.map(|date| date.year()))),
            _ => stamp(text, order, table.year),
        },
        Dates::DayOfMonth(month) => match (lone_day(text), with_month(text, month)) {
            (Some(day), _) | (None, Some(day)) => day_of_month(day, month, table.year),
            (None, None) => stamp(text, DateOrder::YearFirst, table.year),
        },
    };
    if let Some((days, from, to)) = span_of_weekdays(text) {
        let fits = read.as_ref().is_ok_and(|stamp| stamp.date.weekday() == to);
        if !fits || days == Some(length(from, to)) && last.is_some_and(|last| follows_badly(&read, last)) {
            return Err(Misread::new(format!("`{}` is a span of days, and no date", text.trim()))
                .hint("write the date on which it was read; what was counted since the row before goes with it"));
        }
    }
    read
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

/// A span like `(Sat-Mon)` in a date cell, with the number before it.
fn span_of_weekdays(text: &str) -> Option<(Option<u32>, Weekday, Weekday)> {
    let (before, rest) = text.split_once('(')?;
    let (inside, _) = rest.split_once(')')?;
    let (from, to) = inside.split_once(['-', '\u{2013}']).or_else(|| inside.split_once(" to "))?;
    let weekday = |word: &str| word.trim().trim_end_matches('.').parse::<Weekday>().ok();
    Some((lone_day(before), weekday(from)?, weekday(to)?))
}

/// Days from one weekday to another, both counted.
fn length(from: Weekday, to: Weekday) -> u32 {
    (to.num_days_from_monday() + 7 - from.num_days_from_monday()) % 7 + 1
}

/// What a cell's own weekday says against its date: `Mon 4 Mar 2025`, which is a Tuesday.
pub(super) fn other_weekday(text: &str, date: NaiveDate) -> Option<String> {
    let words: Vec<Weekday> = text
        .split(|c: char| !c.is_alphabetic())
        .filter(|word| word.len() >= 3)
        .filter_map(|word| word.parse().ok())
        .collect();
    match words.as_slice() {
        [said] if *said != date.weekday() => Some(format!("`{}` is a {}", text.trim(), date.format("%A"))),
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
        assert_eq!(span_of_weekdays("3 (Sat-Mon)"), Some((Some(3), Weekday::Sat, Weekday::Mon)));
        assert_eq!(length(Weekday::Sat, Weekday::Mon), 3);
        assert_eq!(span_of_weekdays("3 (checked)"), None);
        assert_eq!((with_month("10/1", 10), with_month("1/10", 10), with_month("2/3", 10)), (Some(1), Some(1), None));
    }
}

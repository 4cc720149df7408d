//! Days of the year, months, weekdays and how often: the calendar words of the user's files.

use chrono::{Datelike, NaiveDate, Weekday};

/// The most days of a period: a hundred years.
pub const MOST_DAYS: usize = 36_525;

/// Days of a period, both ends belonging to it; none where it ends before it begins.
pub fn days_of((first, last): (NaiveDate, NaiveDate)) -> usize {
    usize::try_from((last - first).num_days() + 1).unwrap_or(0)
}

/// What is told of a period of more than [`MOST_DAYS`].
pub fn too_long((first, last): (NaiveDate, NaiveDate)) -> String {
    format!("{first} to {last} is more than a hundred years, the most that are computed at once")
}

/// A day of any year: `15 Apr`. The 29 February means the 28th in other years.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct DayOfYear {
    /// Month, 1 to 12.
    pub month: u32,
    /// Day of the month, 1 to 31 (29 for February).
    pub day: u32,
}

impl DayOfYear {
    /// The date in a given year, with the 29 February moved to the 28th where there is none.
    pub fn in_year(&self, year: i32) -> Option<NaiveDate> {
        NaiveDate::from_ymd_opt(year, self.month, self.day)
            .or_else(|| NaiveDate::from_ymd_opt(year, self.month, self.day.saturating_sub(1)))
    }
}

/// A stretch of days of any year, both ends belonging to it; it may cross New Year.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct DaySpan {
    /// First day.
    pub from: DayOfYear,
    /// Last day.
    pub to: DayOfYear,
}

impl DaySpan {
    /// Whether a date falls in the span.
    pub fn contains(&self, date: NaiveDate) -> bool {
        let (Some(from), Some(to)) = (self.from.in_year(date.year()), self.to.in_year(date.year())) else {
            return false;
        };
        if self.from <= self.to { from <= date && date <= to } else { date >= from || date <= to }
    }
}

/// A value for each month of the year.
#[derive(Debug, Clone, PartialEq)]
pub struct ByMonth<T>(pub [T; 12]);

impl<T> ByMonth<T> {
    /// The value in the month of a date.
    pub fn on(&self, date: NaiveDate) -> &T {
        // `month0` is 0 to 11 for every date.
        &self.0[date.month0() as usize % 12]
    }
}

/// A set of weekdays.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Weekdays(pub [bool; 7]);

impl Weekdays {
    /// Every day of the week.
    pub const EVERY_DAY: Self = Self([true; 7]);
    /// Monday to Friday.
    pub const WORKING_DAYS: Self = Self([true, true, true, true, true, false, false]);

    /// Whether a weekday belongs to the set.
    pub fn contains(&self, day: Weekday) -> bool {
        self.0[day.num_days_from_monday() as usize % 7]
    }
}

/// How often something is due.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum HowOften {
    /// `3 times a month`, and `with a discharge` if only months with one count.
    Times {
        /// How many times in each stretch.
        times: u32,
        /// The stretch.
        each: Stretch,
        /// Only stretches in which there was a discharge.
        with_a_discharge: bool,
    },
    /// `every 10 days`.
    Every {
        /// Length in days.
        days: u32,
    },
    /// `every working day`.
    EveryWorkingDay,
    /// `every discharge`: each day with a discharge.
    EveryDischarge,
}

impl HowOften {
    /// Whether it turns on the day on which weeks start.
    pub fn is_by_week(self) -> bool {
        matches!(self, Self::Times { each: Stretch::Week, .. })
    }
}

/// A stretch of the calendar in which something is counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Stretch {
    /// A day.
    Day,
    /// A week, as the permit starts it.
    Week,
    /// A calendar month.
    Month,
    /// A quarter of the permit year.
    Quarter,
    /// A permit year.
    Year,
}

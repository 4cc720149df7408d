//! A made site: its outfalls with their meters, what is on file of them, and the limits typed.

use super::days::{DAY, Day, Minute};
use super::exact::Rat;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum When {
    /// A date without a time: of the permit's day of that name.
    Date(Day),
    At(Minute),
}

#[derive(Clone, Debug)]
pub struct Way {
    pub meter: String,
    pub tank: String,
    /// Readings in order: when, and the dial in m³.
    pub readings: Vec<(When, i64)>,
    /// Amounts typed for whole days, m³.
    pub amounts: Vec<(Day, i64)>,
    /// The first reading of a new meter that counts whole m³, where the one before it counted tenths.
    pub new_from: Option<usize>,
}

#[derive(Clone, Debug)]
pub struct Outfall {
    pub name: String,
    pub ways: Vec<Way>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Parameter {
    Solids,
    Ph,
    Water,
    Load,
    Freeboard,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mark {
    Is,
    Less,
    More,
    Void,
}

/// Where a sample is taken: an outfall, or the tank above the first way of the first outfall.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spot {
    Outfall(usize),
    Upstream,
}

#[derive(Clone, Debug)]
pub struct Sample {
    pub spot: Spot,
    pub when: When,
    pub parameter: Parameter,
    pub mark: Mark,
    pub value: Rat,
}

#[derive(Clone, Debug)]
pub struct Look {
    pub outfall: usize,
    pub when: When,
    pub flowing: bool,
}

#[derive(Clone, Debug)]
pub struct Level {
    pub when: When,
    pub freeboard: bool,
    /// Metres.
    pub value: Rat,
}

/// A depth of rain between two times.
#[derive(Clone, Debug)]
pub struct Rain {
    pub from: Minute,
    pub to: Minute,
    pub depth: Rat,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Several {
    Average,
    Highest,
    Lowest,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Below {
    Zero,
    Half,
    Limit,
    Number(Rat),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Divisor {
    Sampled,
    Discharge,
    Calendar,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Belongs {
    Starts,
    Ends,
    Most,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weighting {
    Arithmetic,
    Flow,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Least {
    Count(usize),
    TheDuty,
    EveryDischarge,
}

/// How a limit counts; none is `not said`.
#[derive(Clone, Debug)]
pub struct Counting {
    pub week_starts: Option<i64>,
    pub belongs: Option<Belongs>,
    pub several: Option<Several>,
    pub below: Option<Below>,
    pub below_geometric: Option<Rat>,
    pub divisor: Option<Divisor>,
    pub weighting: Option<Weighting>,
    pub least: Option<Least>,
    pub look_since_the_last: bool,
}

/// One answer to everything that was not said.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Said {
    pub week_starts: i64,
    pub belongs: Belongs,
    pub several: Several,
    pub below: Below,
    pub divisor: Divisor,
    pub weighting: Weighting,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stretch {
    Day,
    Week,
    Month,
    Quarter,
    Days(i64),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Duty {
    pub stretch: Stretch,
    pub with_a_discharge: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Window {
    Day,
    Week,
    Month,
    Season,
    Year,
    Rolling(i64),
    TwelveMonths,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Statistic {
    EveryReading,
    DailyMaximum,
    DailyMinimum,
    Maximum(Window),
    Average(Window),
    Total(Window),
    GeometricMean(Window),
    /// Rows of the table: from, to, how many may break the bound.
    Percentile(Vec<(usize, usize, usize)>),
    Removal,
    NoDischarge,
    /// Water may flow only between these minutes of the day.
    TimeOfDay(Minute, Minute),
    Rate,
}

impl Statistic {
    pub fn window(&self) -> Window {
        match self {
            Self::EveryReading
            | Self::DailyMaximum
            | Self::DailyMinimum
            | Self::NoDischarge
            | Self::TimeOfDay(..)
            | Self::Rate => Window::Day,
            Self::Maximum(w) | Self::Average(w) | Self::Total(w) | Self::GeometricMean(w) => *w,
            Self::Percentile(_) => Window::Year,
            Self::Removal => Window::Month,
        }
    }
}

/// A bound: the number, and whether the number itself is already outside.
pub type Bound = Option<(Rat, bool)>;

/// Day of a year: month and day.
pub type OfYear = (i64, i64);

#[derive(Clone, Debug)]
pub struct Except {
    pub over_mm: Rat,
    pub in_hours: i64,
    /// The level must have been below this before it, metres.
    pub below_m: Option<Rat>,
    pub after_days: Option<i64>,
    pub holds_days: i64,
}

#[derive(Clone, Debug)]
pub struct Limit {
    pub name: String,
    /// Outfalls by number; none is the pond.
    pub at: Vec<usize>,
    pub parameter: Parameter,
    pub statistic: Statistic,
    pub upper: Bound,
    pub lower: Bound,
    pub season: Option<(OfYear, OfYear)>,
    pub months: Option<(i64, i64)>,
    pub weekdays: Option<(i64, i64)>,
    pub in_force: (Option<Day>, Option<Day>),
    pub duty: Option<Duty>,
    pub except: Option<Except>,
    pub counting: Counting,
    /// A month's load is the mean of its results times its water.
    pub by_month: Option<Carry>,
}

/// What a month with water and without a result takes for its mean.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Carry {
    NotSaid,
    LastResult,
    LastMean,
}

#[derive(Clone, Debug)]
pub struct Site {
    pub day_start: Minute,
    pub year_starts: OfYear,
    pub in_force: Option<(Day, Day)>,
    pub outfalls: Vec<Outfall>,
    pub samples: Vec<Sample>,
    pub looks: Vec<Look>,
    pub levels: Vec<Level>,
    pub rain: Vec<Rain>,
    pub limits: Vec<Limit>,
    pub period: (Day, Day),
    pub as_of: Day,
}

impl Site {
    pub fn start_of(&self, day: Day) -> Minute {
        day * DAY + self.day_start
    }

    pub fn day_at(&self, minute: Minute) -> Day {
        (minute - self.day_start).div_euclid(DAY)
    }

    pub fn day_of(&self, when: When) -> Day {
        match when {
            When::Date(day) => day,
            When::At(minute) => self.day_at(minute),
        }
    }

    /// Whether something of this time is evidence: on file by the end of the day as of which is judged.
    pub fn is_evidence(&self, when: When) -> bool {
        self.day_of(when) <= self.as_of
    }

    /// The earliest and the latest time of a meter's reading, as it is on file.
    pub fn raw_time(&self, when: When) -> (Minute, Minute) {
        match when {
            When::Date(_) => self.reading_time(when),
            When::At(minute) => (minute, minute),
        }
    }

    /// The earliest and the latest time of a meter's reading. Within half an hour of the day's start it is at it.
    pub fn reading_time(&self, when: When) -> (Minute, Minute) {
        match when {
            When::Date(day) => (self.start_of(day), self.start_of(day + 1)),
            When::At(minute) => {
                let near = self.start_of(self.day_at(minute + 30));
                let at = if (minute - near).abs() <= 30 { near } else { minute };
                (at, at)
            }
        }
    }
}

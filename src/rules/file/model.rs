//! The rules file, read and checked: what the permit says, as the user typed it.

use chrono::{Datelike, NaiveDate, NaiveTime};

use crate::balance::Purpose;
use crate::facility::model::PlaceId;
use crate::quantity::{DayOfYear, DaySpan, HowOften, Unit, Weekdays};
use crate::records::LevelKind;
use crate::rules::window::statistics::Statistic;
use crate::rules::{Counting, Number, Switch};
use crate::told::Place;

/// A rules file.
#[derive(Debug, Clone)]
pub struct RulesFile {
    /// The file.
    pub place: Place,
    /// Who issued the permit.
    pub authority: String,
    /// Its number.
    pub permit: String,
    /// Who holds it.
    pub holder: Option<String>,
    /// First and last day it is in force.
    pub in_force: Option<(NaiveDate, NaiveDate)>,
    /// First day of the permit year.
    pub permit_year_starts: DayOfYear,
    /// Who typed it, when, and who checked it.
    pub typed_by: Option<String>,
    /// How it counts.
    pub counting: Counting,
    /// Limits, in file order.
    pub limits: Vec<Limit>,
    /// Notices.
    pub notices: Notices,
}

/// A limit of the permit.
#[derive(Debug, Clone)]
pub struct Limit {
    /// The user's own name.
    pub name: String,
    /// Where it was typed.
    pub place: Place,
    /// The permit's words.
    pub words: Option<String>,
    /// The point it holds at.
    pub at: Point,
    /// As printed: `Outfall 1`, `wash water of Sand beds`.
    pub at_text: String,
    /// The parameter as typed.
    pub parameter: Option<String>,
    /// What is judged.
    pub subject: Subject,
    /// The statistic.
    pub statistic: &'static Statistic,
    /// For rolling statistics: how many days.
    pub days: u32,
    /// The bound.
    pub bound: Bound,
    /// How often a sample or reading is due.
    pub sample: Option<SampleDuty>,
    /// Whether the permit accepts an estimate: it changes the wording, never the outcome.
    pub estimate_accepted: bool,
    /// For a load that is worked out by months.
    pub monthly_load: Option<MonthlyLoad>,
    /// Whether a call and a letter are due when it is broken, where the permit asks for them at all.
    pub asks_for_notice: bool,
    /// When it holds.
    pub holds: Holds,
    /// Conditions that must hold on a day for the limit to hold on it.
    pub only_when: Vec<Condition>,
    /// The storm that excuses a discharge.
    pub except: Option<Except>,
    /// The table of a percentile statistic: from, to (samples), how many may be over.
    pub allowance: Vec<(u32, u32, u32)>,
    /// Clock hours in which a discharge is allowed (time-of-day window); may cross midnight, then it belongs to the day it starts on.
    pub only_between: Option<(NaiveTime, NaiveTime)>,
    /// Below this a result counts as between detection and quantitation, with its unit.
    pub quantitation: Option<(Number, Option<Unit>)>,
    /// The detection limit, with its unit: that of the slips, which need not be the limit's.
    pub detection: Option<(Number, Option<Unit>)>,
    /// How it counts: the permit's way, with what this limit says otherwise.
    pub counting: Counting,
    /// Where the least data is said, or may be.
    pub least_data_at: Option<Place>,
}

/// Where a limit holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Point {
    /// One place, or several together (a group of discharge points).
    Places(Vec<PlaceId>),
    /// Ways of one purpose out of a place: `{wash water of: Sand beds}`.
    Of(Purpose, PlaceId),
    /// Ways of several purposes out of several places together: the wash water of a train that is only thought of.
    Streams(Vec<(Purpose, PlaceId)>),
    /// All water into a place: `{water into: Settling pond}`.
    Into(PlaceId),
    /// All water out of a place: `{water out of: Settling pond}`.
    OutOf(PlaceId),
    /// Water between two places: `{from: Sump, to: Town sewer}`.
    Way(PlaceId, PlaceId),
}

impl Point {
    /// Whether the water that it speaks of is what comes to a place, as it is named.
    pub fn arrives_at(&self, place: PlaceId) -> bool {
        match self {
            Self::Places(places) => places.contains(&place),
            Self::Into(to) | Self::Way(_, to) => *to == place,
            Self::Of(..) | Self::OutOf(_) | Self::Streams(_) => false,
        }
    }
}

/// What is judged.
#[derive(Debug, Clone, PartialEq)]
pub enum Subject {
    /// A laboratory or field parameter, by its name in small letters.
    Parameter(String),
    /// The mass of a parameter: same-day concentration × flow.
    Load(String),
    /// A volume of water, or its depth on an area.
    Water,
    /// Instantaneous flow.
    Rate,
    /// Level, freeboard, sludge depth or volume held of a store.
    Stage(LevelKind),
    /// Removal of a parameter between a first point and the limit's point.
    Removal(String, PlaceId),
    /// Whether anything is discharged at all.
    Discharge,
    /// Hours of flow in a day.
    Hours,
    /// Water outside the allowed clock hours.
    ClockWindow,
    /// Washes or changes of a filter.
    Events,
}

/// A bound, in the limit's unit.
#[derive(Debug, Clone, PartialEq)]
pub struct Bound {
    /// `at most`: equality is within.
    pub at_most: Option<Number>,
    /// `at least`: equality is within.
    pub at_least: Option<Number>,
    /// `below`: equality is over.
    pub below: Option<Number>,
    /// `above`: equality is under.
    pub above: Option<Number>,
    /// The unit; none for a pH, a count.
    pub unit: Option<Unit>,
    /// The unit as typed.
    pub unit_text: String,
    /// Decimals of the bound as typed.
    pub places: u32,
    /// As printed: `at most 30 mg/L`.
    pub text: String,
    /// Figures that what is held against it bears; none where it is counted and all of them are printed.
    pub figures: Option<u32>,
}

impl Bound {
    /// A bound without a unit, of a plain `at most` and `at least`.
    pub fn plain(at_most: Option<Number>, at_least: Option<Number>) -> Self {
        Self {
            at_most,
            at_least,
            below: None,
            above: None,
            unit: None,
            unit_text: String::new(),
            places: 0,
            text: String::new(),
            figures: None,
        }
    }

    /// The upper bound and whether equality is within.
    pub fn upper(&self) -> Option<(Number, bool)> {
        self.at_most.map(|bound| (bound, true)).or(self.below.map(|bound| (bound, false)))
    }

    /// The lower bound and whether equality is within.
    pub fn lower(&self) -> Option<(Number, bool)> {
        self.at_least.map(|bound| (bound, true)).or(self.above.map(|bound| (bound, false)))
    }
}

/// How often a sample or reading is due.
#[derive(Debug, Clone, PartialEq)]
pub struct SampleDuty {
    /// `grab`, `composite`; none where any kind will do.
    pub kind: Option<String>,
    /// How often.
    pub how_often: HowOften,
    /// As typed.
    pub text: String,
    /// Where.
    pub place: Place,
}

/// When a limit holds.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Holds {
    /// In these days of the year (any of them); always where empty.
    pub seasons: Vec<DaySpan>,
    /// In these months; always where empty.
    pub months: Vec<u32>,
    /// On these weekdays.
    pub weekdays: Option<Weekdays>,
    /// First and last day of this version of the limit.
    pub dates: Option<(Option<NaiveDate>, Option<NaiveDate>)>,
    /// `interim` or `final`, for print.
    pub stage: Option<String>,
}

impl Holds {
    /// Whether this version of the limit is in force on a date.
    pub fn in_dates(&self, date: NaiveDate) -> bool {
        self.dates.is_none_or(|(from, to)| from.is_none_or(|from| from <= date) && to.is_none_or(|to| date <= to))
    }

    /// Whether a date lies in its seasons and months.
    pub fn in_season(&self, date: NaiveDate) -> bool {
        (self.seasons.is_empty() || self.seasons.iter().any(|season| season.contains(date)))
            && (self.months.is_empty() || self.months.contains(&date.month()))
    }

    /// Whether the limit holds on a date.
    pub fn on(&self, date: NaiveDate) -> bool {
        self.in_dates(date) && self.in_season(date) && self.weekdays.is_none_or(|days| days.contains(date.weekday()))
    }
}

/// A condition on flow, rain or level under which a limit holds: a tier.
#[derive(Debug, Clone, PartialEq)]
pub struct Condition {
    /// What is looked at.
    pub of: ConditionOf,
    /// From this, in SI (m³/s for a flow, m for rain and level), inclusive.
    pub at_least: Option<Number>,
    /// Below this, exclusive, so that tiers meet without overlap.
    pub below: Option<Number>,
    /// The day that counts: 0 the same, 1 the day before.
    pub days_before: u32,
    /// As printed: `the river flow at Outfall 1 is at least 10 cfs`.
    pub text: String,
}

/// What a condition looks at.
#[derive(Debug, Clone, PartialEq)]
pub enum ConditionOf {
    /// A flow that is read at a place and written as a sample of this parameter: `river flow`.
    Reading(String, PlaceId),
    /// Rain of the day.
    Rain,
    /// The level of a store.
    Level(PlaceId),
}

/// The storm that excuses a discharge.
#[derive(Debug, Clone, PartialEq)]
pub struct Except {
    /// Rain over this, mm (exactly as typed, converted exactly).
    pub rain_over_mm: Number,
    /// As printed: `2.4 in`.
    pub rain_text: String,
    /// In any stretch of so many hours.
    pub in_any_h: u32,
    /// The level of a store before it: below this, m.
    pub before_it: Option<BeforeIt>,
    /// How many days after the storm a discharge is still excused by it.
    pub days_after: u32,
}

/// The storage that must have been available before a storm.
#[derive(Debug, Clone, PartialEq)]
pub struct BeforeIt {
    /// The store.
    pub store: PlaceId,
    /// Its level was below this, m.
    pub below_m: Number,
    /// As printed: `7 ft`.
    pub text: String,
}

/// What is to be told to whom, and when.
#[derive(Debug, Clone, PartialEq)]
pub struct Notices {
    /// A call is due so many hours after knowing.
    pub call_within_h: Option<u32>,
    /// A letter is due so many days after knowing.
    pub write_within_days: Option<u32>,
    /// Whether these days run from the call, and not from knowing.
    pub write_from_the_call: bool,
    /// Whether a report's day on a weekend moves to Monday; none where the permit does not say.
    pub due_on_a_weekend: Option<bool>,
    /// As typed.
    pub over_a_limit: Option<(String, Place)>,
    /// How violations are counted.
    pub count: Switch<CountRule>,
    /// Tiers of severity.
    pub tiers: Vec<Tier>,
    /// The day of the next month by which the monthly report is due.
    pub monthly_report: Option<(u32, Place)>,
    /// Meters and instruments that are checked once in each permit year, as typed.
    pub checked_yearly: Vec<(String, Place)>,
    /// Discharge points that are looked at after rain.
    pub after_rain: Vec<AfterRain>,
    /// How long records are kept, as typed.
    pub keep_records: Option<(String, Place)>,
}

impl Default for Notices {
    fn default() -> Self {
        Self {
            call_within_h: None,
            write_within_days: None,
            write_from_the_call: false,
            due_on_a_weekend: None,
            over_a_limit: None,
            count: Switch::NotSaid,
            tiers: Vec::new(),
            monthly_report: None,
            checked_yearly: Vec::new(),
            after_rain: Vec::new(),
            keep_records: None,
        }
    }
}

/// A discharge point that is looked at after so much rain within one of the gauge's days.
#[derive(Debug, Clone, PartialEq)]
pub struct AfterRain {
    /// The discharge point.
    pub at: PlaceId,
    /// Its name.
    pub name: String,
    /// So much rain or more, m.
    pub at_least_m: Number,
    /// As printed: `0.5 in`.
    pub text: String,
    /// A look on the day of the rain or so many days after it answers it.
    pub within_days: u32,
    /// As typed: `24 h`.
    pub within: String,
    /// Where it stands.
    pub place: Place,
}

impl AfterRain {
    /// `the day after`, `the 2 days after`.
    pub(crate) fn days_after(&self) -> String {
        match self.within_days {
            1 => "the day after".to_owned(),
            days => format!("the {days} days after"),
        }
    }
}

/// A load of which a month's is the mean of its results times its flow.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MonthlyLoad {
    /// What stands for the mean of a month with water and without a result; none where the permit does not say.
    pub without_result: Option<Carried>,
}

/// What stands for the mean of a month without a result.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Carried {
    /// The last result before the month.
    LastResult,
    /// The mean of the last month before it that has a result.
    LastMean,
}

/// How violations are counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum CountRule {
    /// One for each window over: a month's average is one.
    EachWindow,
    /// One for every day of a window over: a month's average is 28 to 31.
    EachDay,
}

/// A tier of severity: a share of measurements over a multiple of the limit in some months.
#[derive(Debug, Clone, PartialEq)]
pub struct Tier {
    /// Its name as typed.
    pub name: String,
    /// Multiple of the limit.
    pub times: Number,
    /// Whether a measurement equal to the multiple counts.
    pub or_equal: bool,
    /// The share from which it applies, 0 to 1.
    pub share: Number,
    /// Months looked at, ending with the period.
    pub months: u32,
    /// Where.
    pub place: Place,
}

//! The timeline: every observation in order, by what it is about.

use chrono::{NaiveDate, NaiveDateTime, NaiveTime};

use crate::facility::model::PlaceId;
use crate::told::Place;
use crate::weather::{LoggedRain, Repair, SourceSummary};

/// Who says so: where an observation was typed, and the paper it was copied from.
#[derive(Debug, Clone, PartialEq)]
pub struct Source {
    /// File and line.
    pub place: Place,
    /// The number of the sheet or slip.
    pub paper: Option<String>,
    /// The day it was received, for laboratory results.
    pub received: Option<NaiveDate>,
    /// Who wrote it.
    pub who: Option<String>,
    /// A note.
    pub note: Option<String>,
}

/// Everything the records say, sorted by time, then file and line.
#[derive(Debug, Clone, Default)]
pub struct Timeline {
    /// Every row as read, in order.
    pub observations: Vec<Observation>,
    /// What meters counted between two readings, by meter (index into `Facility::meters`), in order.
    pub meter_spans: Vec<MeterSpan>,
    /// Washes or changes logged, in order.
    pub washes: Vec<WashCount>,
    /// Laboratory samples and field readings, in order.
    pub samples: Vec<Sample>,
    /// Levels, freeboards and sludge depths, in order.
    pub levels: Vec<Level>,
    /// Looks at a discharge point, in order.
    pub looks: Vec<Look>,
    /// Readings of a rain gauge that stand among the records, in order: for `weather::read`.
    pub rain: Vec<LoggedRain>,
    /// Calls, letters, reports sent, clean-outs, calibrations, loads hauled, in order.
    pub acts: Vec<Act>,
    /// Repairs made on the way, each to be printed.
    pub repairs: Vec<Repair>,
    /// A table of each record source.
    pub sources: Vec<SourceSummary>,
    /// The last day on which anything was recorded.
    pub last_day: Option<NaiveDate>,
}

/// One row as read.
#[derive(Debug, Clone, PartialEq)]
pub struct Observation {
    /// The facility day.
    pub day: NaiveDate,
    /// The date as written.
    pub date: NaiveDate,
    /// The time, if written.
    pub time: Option<NaiveTime>,
    /// The name as written: a place or a meter.
    pub name: String,
    /// What it is, as written.
    pub what: String,
    /// The parameter of a sample, as written.
    pub parameter: Option<String>,
    /// The value as written.
    pub value: String,
    /// The value with a point before its decimals and nothing between its thousands; noughts in front are kept.
    pub digits: String,
    /// The unit as written.
    pub unit: Option<String>,
    /// Its qualifier.
    pub qualifier: Qualifier,
    /// Who says so.
    pub source: Source,
}

/// What stands before a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Qualifier {
    /// Nothing: the value itself.
    #[default]
    None,
    /// `<`: below it.
    Below,
    /// `>`: above it.
    Above,
    /// `E` or `est`: estimated.
    Estimated,
}

/// What a meter counted between two readings, or an amount typed for a span.
#[derive(Debug, Clone, PartialEq)]
pub struct MeterSpan {
    /// Index into `Facility::meters`.
    pub meter: usize,
    /// When the span began.
    pub from: NaiveDateTime,
    /// When it ended.
    pub to: NaiveDateTime,
    /// Whether the hours of its beginning and its end are on file; where not, it began or ended at some time of that day.
    pub hours_known: (bool, bool),
    /// The first facility day it covers.
    pub first_day: NaiveDate,
    /// How many facility days it covers (at least 1).
    pub days: u32,
    /// Whether both ends stand at the day's start (within half an hour of it, which is told as a repair), so that a
    /// one-day span is a day's total.
    pub on_the_day: bool,
    /// Volume, m³.
    pub volume_m3: f64,
    /// The volume exactly as a decimal of `unit`: for arithmetic in the permit's unit.
    pub counts: String,
    /// What `counts` counts: the meter's own unit (`x10 gal`), or that of a typed amount.
    pub unit: String,
    /// The reading that began the span (none for a typed amount).
    pub before: Option<Source>,
    /// The reading or amount that ended it.
    pub after: Source,
    /// The head over a weir that it was computed from, as written: `3 in`.
    pub head: Option<String>,
    /// Whether nobody read on this day and the reading before stands for it, as typed of the weir.
    pub carried: bool,
}

impl MeterSpan {
    /// Whether it was read, and not typed as an amount.
    pub fn is_read(&self) -> bool {
        self.before.is_some() || self.head.is_some()
    }
}

/// Washes of a filter (or changes of its bags) counted in a log.
#[derive(Debug, Clone, PartialEq)]
pub struct WashCount {
    /// The filter.
    pub filter: PlaceId,
    /// First facility day the count covers.
    pub first_day: NaiveDate,
    /// How many days it covers (a weekend's count covers several).
    pub days: u32,
    /// The count.
    pub count: u32,
    /// Minutes washed, where logged.
    pub minutes: Option<f64>,
    /// Whether it is a count of changes (bags, cartridges) and not of washes.
    pub changes: bool,
    /// Who says so.
    pub source: Source,
}

/// A laboratory result or a field reading.
#[derive(Debug, Clone, PartialEq)]
pub struct Sample {
    /// Where it was taken.
    pub at: PlaceId,
    /// When.
    pub day: NaiveDate,
    /// The time, if written.
    pub time: Option<NaiveTime>,
    /// The parameter, as written, trimmed, lower case.
    pub parameter: String,
    /// The value as a decimal text, exactly as written; none when it was lost or void.
    pub value: Option<String>,
    /// Its unit as written.
    pub unit: Option<String>,
    /// `<` or `>` or estimated.
    pub qualifier: Qualifier,
    /// `grab`, `composite` …, where the note or a column says so.
    pub kind: Option<String>,
    /// Who says so.
    pub source: Source,
}

/// Which level was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LevelKind {
    /// Level of the water on the gauge.
    Level,
    /// Bank top above the water.
    Freeboard,
    /// Depth of sludge.
    SludgeDepth,
    /// Volume held, for a tank.
    Holding,
}

/// A level that was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Level {
    /// The tank or pond.
    pub at: PlaceId,
    /// The day.
    pub day: NaiveDate,
    /// The time, if written.
    pub time: Option<NaiveTime>,
    /// Which level.
    pub kind: LevelKind,
    /// The value in m (m³ for a volume held).
    pub value_si: f64,
    /// The value as written.
    pub value: String,
    /// The unit as written.
    pub unit: String,
    /// Who says so.
    pub source: Source,
}

/// A look at a discharge point.
#[derive(Debug, Clone, PartialEq)]
pub struct Look {
    /// The discharge point.
    pub at: PlaceId,
    /// The day.
    pub day: NaiveDate,
    /// The time, if written.
    pub time: Option<NaiveTime>,
    /// Whether it flowed.
    pub flowing: bool,
    /// Who says so.
    pub source: Source,
}

/// Something done: a call, a letter, a report sent, a clean-out, a calibration, a load hauled.
#[derive(Debug, Clone, PartialEq)]
pub struct Act {
    /// `call`, `letter`, `report sent`, `clean-out`, `calibration`, `hauled`.
    pub what: String,
    /// The place or meter named.
    pub name: String,
    /// The day.
    pub day: NaiveDate,
    /// The time, if written.
    pub time: Option<NaiveTime>,
    /// An amount, where typed.
    pub value: Option<String>,
    /// Its unit.
    pub unit: Option<String>,
    /// Who says so.
    pub source: Source,
}

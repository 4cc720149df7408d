//! Weather by facility day.

use chrono::{NaiveDate, NaiveDateTime};

use crate::told::Place;
use crate::weather::{Repair, SourceSummary};

/// The weather of a stretch of days, one row per facility day from `first_day`.
#[derive(Debug, Clone)]
pub struct DailyWeather {
    /// The first day.
    pub first_day: NaiveDate,
    /// Rain of each day.
    pub rain: Vec<RainDay>,
    /// Rain of the days just before the first, the last of them last: how wet the ground was.
    pub rain_before: Vec<RainDay>,
    /// The readings behind it, in order of time and beyond the days too: what storms are judged by. Between readings
    /// that do not meet nothing was read.
    pub readings: Vec<RainReading>,
    /// Depth evaporated from open water each day, m; none where it is not known.
    pub evaporation_m: Vec<Option<f64>>,
    /// Where evaporation came from: a table of months, a pan, or a method.
    pub evaporation_method: Option<String>,
    /// Temperature of the water each day, °C; none where it is not known.
    pub water_temperature_c: Vec<Option<f64>>,
    /// Repairs made and things taken for granted on the way, each to be printed.
    pub repairs: Vec<Repair>,
    /// How complete each source is.
    pub sources: Vec<SourceSummary>,
}

impl DailyWeather {
    /// Weather of which nothing is known, for so many days from the first.
    pub fn nothing_known(first_day: NaiveDate, days: usize) -> Self {
        Self {
            first_day,
            rain: vec![RainDay::GAP; days],
            rain_before: Vec::new(),
            readings: Vec::new(),
            evaporation_m: vec![None; days],
            evaporation_method: None,
            water_temperature_c: vec![None; days],
            repairs: Vec::new(),
            sources: Vec::new(),
        }
    }

    /// How many days there are.
    pub fn days(&self) -> usize {
        self.rain.len()
    }

    /// The rain of a date, if it is one of the days.
    pub fn rain_on(&self, date: NaiveDate) -> Option<&RainDay> {
        self.rain.get(usize::try_from((date - self.first_day).num_days()).ok()?)
    }

    /// Depth of rain of a date, mm: of one of the days, or of those just before them.
    pub fn depth_mm_on(&self, date: NaiveDate) -> Option<f64> {
        let ahead = usize::try_from((self.first_day - date).num_days()).unwrap_or(0);
        let day = match ahead {
            0 => self.rain_on(date),
            ahead => self.rain_before.len().checked_sub(ahead).and_then(|at| self.rain_before.get(at)),
        };
        day?.depth_mm
    }
}

/// Rain of one day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RainDay {
    /// What is used for the day, mm; none in a gap.
    pub depth_mm: Option<f64>,
    /// The least the readings allow, mm.
    pub low_mm: f64,
    /// The most the readings allow, mm; infinite in a gap.
    pub high_mm: f64,
    /// Whether a gauge read this very day; false for a split of a reading over days.
    pub measured: bool,
}

impl RainDay {
    /// A day of which nothing was read.
    pub const GAP: Self = Self { depth_mm: None, low_mm: 0.0, high_mm: f64::INFINITY, measured: false };
}

/// One reading of the gauge.
#[derive(Debug, Clone, PartialEq)]
pub struct RainReading {
    /// When the stretch it covers began.
    pub from: NaiveDateTime,
    /// When it was read.
    pub to: NaiveDateTime,
    /// Depth, mm.
    pub depth_mm: f64,
    /// A trace: too little to measure.
    pub trace: bool,
    /// Where it was typed.
    pub place: Place,
}

impl RainReading {
    /// The most that it stands for, mm: a trace is less than half of the last digit of a gauge read to 0.01 in, which
    /// is the use of weather services (from memory, not checked against the text).
    pub fn most_mm(&self) -> f64 {
        if self.trace { TRACE_IS_BELOW_MM } else { self.depth_mm }
    }
}

/// 0.005 in.
const TRACE_IS_BELOW_MM: f64 = 0.127;

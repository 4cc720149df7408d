//! Weather by facility day.

use chrono::{NaiveDate, NaiveDateTime};

use crate::diagnostic::Place;

/// The weather of a stretch of days, one row per facility day from `first_day`.
#[derive(Debug, Clone)]
pub struct DailyWeather {
    /// The first day.
    pub first_day: NaiveDate,
    /// Rain of each day.
    pub rain: Vec<RainDay>,
    /// The readings behind it, in order of time: what storms are judged by.
    pub readings: Vec<RainReading>,
    /// Depth evaporated from open water each day, m; none where it is not known.
    pub evaporation_m: Vec<Option<f64>>,
    /// Whether evaporation came from a record (a pan) or from a method or table.
    pub evaporation_method: Option<String>,
    /// Temperature of the water each day, °C; none where it is not known.
    pub water_temperature_c: Vec<Option<f64>>,
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

//! Daily series of tanks, ponds and filters, and memo lines.

use std::fmt;

use crate::balance::Basis;
use crate::facility::model::PlaceId;

/// A tank or pond, day by day, at the close of each day. Levels are above the floor; a tank has none.
#[derive(Debug, Clone, PartialEq)]
pub struct StoreSeries {
    /// The tank or pond.
    pub place: PlaceId,
    /// Whether it is a pond.
    pub is_pond: bool,
    /// Volume at which it spills or overflows, m³.
    pub spill_volume_m3: f64,
    /// Volume below which nothing is drawn, m³.
    pub lowest_volume_m3: f64,
    /// Level at which it spills, m; none for a tank.
    pub spill_level_m: Option<f64>,
    /// Bank top above the spill level, m, where it was typed.
    pub freeboard_above_spill_m: Option<f64>,
    /// Volume of water at the start of the first day, m³.
    pub opening_m3: f64,
    /// Volume of water, m³ (wet sludge not counted).
    pub volume_m3: Vec<f64>,
    /// Level of the water surface, m; empty for a tank. Sludge lies under the water and lifts it.
    pub level_m: Vec<f64>,
    /// Bank top above the water, m; empty for a tank or where the bank top is not known.
    pub freeboard_m: Vec<f64>,
    /// Solids in the water, kg.
    pub solids_kg: Vec<f64>,
    /// How much more water it can take before it spills, m³.
    pub spill_left_m3: Vec<f64>,
    /// Volume of wet sludge, m³; all 0 for a tank.
    pub sludge_m3: Vec<f64>,
    /// Depth of wet sludge over the floor, m; empty for a tank.
    pub sludge_depth_m: Vec<f64>,
    /// Water surface, m²; empty for a tank.
    pub area_m2: Vec<f64>,
    /// Basis of the volume: metered on a day whose level was read, else computed.
    pub basis: Vec<Basis>,
}

/// What set off the washes or changes of a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum GoverningTrigger {
    /// Solids held.
    Solids,
    /// A clock interval.
    Clock,
    /// Hours with water flowing.
    RunningHours,
    /// Throughput.
    Throughput,
    /// A scheduled time.
    Schedule,
    /// The log says so.
    Log,
}

impl GoverningTrigger {
    /// The words printed.
    pub fn words(self) -> &'static str {
        match self {
            Self::Solids => "solids held",
            Self::Clock => "clock",
            Self::RunningHours => "running hours",
            Self::Throughput => "throughput",
            Self::Schedule => "schedule",
            Self::Log => "log",
        }
    }
}

impl fmt::Display for GoverningTrigger {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.words())
    }
}

/// A filter, day by day.
#[derive(Debug, Clone, PartialEq)]
pub struct FilterSeries {
    /// The filter.
    pub place: PlaceId,
    /// Whether its events are changes (bags, cartridges, a roll) and not washes.
    pub changes: bool,
    /// Whole washes or changes.
    pub events: Vec<u32>,
    /// Events that came due and could not be done that day for lack of time: carried over.
    pub carried: Vec<u32>,
    /// What set them off; none on a day without.
    pub trigger: Vec<Option<GoverningTrigger>>,
    /// Minutes spent washing, rinsing or changing.
    pub minutes: Vec<f64>,
    /// Hours with water flowing.
    pub running_h: Vec<f64>,
    /// Water that came to it, m³.
    pub gross_m3: Vec<f64>,
    /// Water it passed on, m³.
    pub net_m3: Vec<f64>,
    /// Solids it held at the close, kg.
    pub held_kg: Vec<f64>,
    /// Length of roll left at the close, m; empty for other kinds.
    pub roll_left_m: Vec<f64>,
    /// Hours in which water passed unfiltered (an empty roll).
    pub unfiltered_h: Vec<f64>,
    /// Basis of the count of events: metered where a log says, else computed.
    pub basis: Vec<Basis>,
}

/// Something worth a line that is no entry: no water moved.
#[derive(Debug, Clone, PartialEq)]
pub struct Memo {
    /// The day, counted from 0.
    pub day: usize,
    /// The place.
    pub place: PlaceId,
    /// What it says.
    pub kind: MemoKind,
    /// How much: m³ for a shortfall, events for washes.
    pub amount: f64,
}

/// What a memo says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum MemoKind {
    /// Water asked for and not given, m³.
    Shortfall,
    /// Washes or changes that came due and were carried over: it cannot keep up.
    CarriedOver,
    /// A wash takes up as much as it clears: the filter is locked in washing.
    WashLock,
    /// A meter's draw that the store's balance could not give, m³; supplied from `unaccounted`.
    DrawNotThere,
    /// Washes were logged at a load above the trigger at the close, events.
    LoggedTooFew,
}

impl MemoKind {
    /// The words printed.
    pub fn words(self) -> &'static str {
        match self {
            Self::Shortfall => "asked for and not given",
            Self::CarriedOver => "cannot keep up: carried over",
            Self::WashLock => "locked in washing",
            Self::DrawNotThere => "metered draw that the balance could not give",
            Self::LoggedTooFew => "fewer logged than the load asks for",
        }
    }
}

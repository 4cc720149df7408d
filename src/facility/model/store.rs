//! Tanks and ponds.

use chrono::NaiveDate;
use uom::si::f64::{Area, Length, Ratio, Velocity, Volume, VolumeRate};

use crate::facility::model::{Concentrations, Outflow, PlaceId, When};
use crate::files::Given;
use crate::told::Place;

/// A tank: mixed, no settling, no weather.
#[derive(Debug, Clone)]
pub struct Tank {
    /// The volume at which it overflows.
    pub holds: Given<Volume>,
    /// The volume below which nothing is drawn.
    pub lowest: Option<Given<Volume>>,
    /// What it holds at the start.
    pub at_the_start: StartState,
    /// Filled to a level by a float valve.
    pub filled_from: Option<FillRule>,
    /// Pumped out on its level.
    pub pumped_out: Option<PumpedOut>,
    /// Emptied by a tanker.
    pub emptied_by: Option<TankerRule>,
    /// Where its overflow goes; none for a tank that can't overflow without an error.
    pub overflows_to: Option<Outflow>,
}

/// A pond.
#[derive(Debug, Clone)]
pub struct Pond {
    /// Its shape up to the spill level.
    pub shape: PondShape,
    /// Bank top above the spill level.
    pub freeboard_above_spill: Option<Given<Length>>,
    /// The level below which no pump draws.
    pub lowest_pump_level: Option<Given<Length>>,
    /// Equal cells in series, at least 1.
    pub cells: u32,
    /// Depth lost through the bed in a day.
    pub seepage: Option<Given<Velocity>>,
    /// Sludge on the floor.
    pub sludge: Option<SludgeState>,
    /// What it holds at the start.
    pub at_the_start: StartState,
    /// Filled to a level by a float valve.
    pub filled_from: Option<FillRule>,
    /// Pumped out on its level.
    pub pumped_out: Option<PumpedOut>,
    /// Where its spill goes.
    pub spills_to: Option<Outflow>,
}

/// The shape of a pond. Levels are measured from the floor.
#[derive(Debug, Clone)]
#[expect(clippy::large_enum_variant, reason = "there is one for each pond, and it is read once")]
pub enum PondShape {
    /// Sloped sides on a rectangle, measured at the spill level.
    Prismoid {
        /// Length at the spill level.
        length: Given<Length>,
        /// Width at the spill level.
        width: Given<Length>,
        /// Spill level above the floor.
        depth: Given<Length>,
        /// Run to rise of the sides.
        side_slope: Given<Ratio>,
    },
    /// Levels and areas, lowest first, and the spill level.
    Table {
        /// At least two rows.
        rows: Vec<LevelRow>,
        /// The level at which it spills.
        spill_level: Given<Length>,
    },
}

/// One row of a level–area table.
#[derive(Debug, Clone)]
pub struct LevelRow {
    /// Level above the floor.
    pub level: Given<Length>,
    /// Water surface at that level.
    pub area: Given<Area>,
}

/// Sludge on the floor of a pond.
#[derive(Debug, Clone)]
pub struct SludgeState {
    /// Its depth.
    pub depth: Given<Length>,
    /// The day it was measured.
    pub measured_on: Option<NaiveDate>,
    /// Share of its wet mass that is dry solids.
    pub dry_solids: Given<Ratio>,
    /// The depth at which it is to be cleaned out.
    pub clean_out_at: Option<Given<Length>>,
}

/// What a store holds at the start.
#[derive(Debug, Clone, Default)]
pub struct StartState {
    /// A volume.
    pub holding: Option<Given<Volume>>,
    /// Or a level.
    pub level: Option<Given<Length>>,
    /// Solids and dissolved constituents in its water.
    pub solids: Concentrations,
}

/// A float valve: filled from a place up to a level or a volume.
#[derive(Debug, Clone)]
pub struct FillRule {
    /// Where the water comes from, in order: filters on pull lines, then supplies and stores. Each gives what those before
    /// it left lacking.
    pub from: Vec<PlaceId>,
    /// Up to this volume.
    pub up_to_volume: Option<Given<Volume>>,
    /// Or up to this level.
    pub up_to_level: Option<Given<Length>>,
    /// Where it was typed.
    pub place: Place,
    /// When it fills.
    pub when: Option<When>,
}

/// A pump that works on the level of the store it draws from.
#[derive(Debug, Clone)]
pub struct PumpedOut {
    /// Where the water goes.
    pub to: Outflow,
    /// The pump's rate.
    pub rate: Given<VolumeRate>,
    /// It starts when the store is at this volume.
    pub starts_at_volume: Option<Given<Volume>>,
    /// Or level.
    pub starts_at_level: Option<Given<Length>>,
    /// It stops at this volume.
    pub stops_at_volume: Option<Given<Volume>>,
    /// Or level.
    pub stops_at_level: Option<Given<Length>>,
    /// Whether it runs at the start.
    pub running_at_the_start: bool,
    /// When it may run.
    pub when: Option<When>,
    /// Where it was typed.
    pub place: Place,
}

/// A tanker that empties a store.
#[derive(Debug, Clone)]
pub struct TankerRule {
    /// Where it is hauled to.
    pub to: PlaceId,
    /// Whether records say when (`by: log`).
    pub by_log: bool,
    /// Else when it holds this.
    pub when_holding: Option<Given<Volume>>,
    /// Down to this.
    pub down_to: Option<Given<Volume>>,
    /// Where it was typed.
    pub place: Place,
}

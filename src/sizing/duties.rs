//! What a pond must do, as its owner wrote it.

use crate::files::Said;
use crate::told::Place;

/// One figure of a design: in SI, with the words as typed and where.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// In SI.
    pub si: f64,
    /// As typed: `1.5 ft`.
    pub text: String,
    /// Where it was typed.
    pub place: Place,
}

/// The ground there is.
#[derive(Debug, Clone, PartialEq)]
pub struct Plot {
    /// Longest, m, over the banks.
    pub longest: Figure,
    /// Widest, m, over the banks.
    pub widest: Figure,
    /// Deepest, m: floor to spill level.
    pub deepest: Figure,
    /// Steepest side, run over rise.
    pub steepest: Figure,
    /// Length over width at the spill level, at least.
    pub length_to_width: Option<Figure>,
    /// Width of the bank's top all round, m; nothing when it was not typed.
    pub bank: Option<Figure>,
}

/// A named particle is to settle.
#[derive(Debug, Clone, PartialEq)]
pub struct SettleDuty {
    /// Size, m.
    pub particle: Figure,
    /// Density, kg/m³.
    pub density: Figure,
    /// Temperature of the water, K.
    pub temperature: Figure,
    /// Share that is to settle, at least.
    pub share: Figure,
    /// Design flow, m³/s; none for the peak worked out from the facility.
    pub flow: Option<Figure>,
    /// Who says so, for a flow that was typed.
    pub flow_source: Option<String>,
    /// Rain at the peak, m/s, for a peak that is worked out.
    pub rain_at_peak: Option<Figure>,
    /// Where the duty was typed.
    pub place: Place,
}

/// Water is to be held for use.
#[derive(Debug, Clone, PartialEq)]
pub struct Hold {
    /// Whole days of return water.
    pub return_days: Option<Said<u32>>,
    /// Whole days of wash water.
    pub wash_days: Option<Said<u32>>,
    /// First rain, m, on everything that drains to the pond and on the pond itself.
    pub first_rain: Option<Figure>,
    /// Where the duty was typed.
    pub place: Place,
}

/// One row of the user's table of storms.
#[derive(Debug, Clone, PartialEq)]
pub struct StormDepth {
    /// Once in so many years.
    pub every_years: u32,
    /// Hours.
    pub lasting_h: f64,
    /// Depth, m.
    pub depth: Figure,
}

/// The level at which a storm finds the pond.
#[derive(Debug, Clone, PartialEq)]
pub enum StormFrom {
    /// The top of the layers under the storm's: everything else that is to be held is already there.
    Normal,
    /// So far below the spill level, m.
    BelowSpill(Figure),
}

/// A storm is to be contained.
#[derive(Debug, Clone, PartialEq)]
pub struct StormDuty {
    /// The storm, found in the user's table.
    pub storm: StormDepth,
    /// The level at which it finds the pond.
    pub from: StormFrom,
    /// Who made the table.
    pub source: String,
    /// Where the duty was typed.
    pub place: Place,
}

/// Which figure of the record a duty on spills is held against.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SpillsJudgedOn {
    /// Spills counted over the years simulated.
    TheCount,
    /// The upper end of the exact 95 % interval.
    TheUpperEnd,
}

/// Spills no oftener than.
#[derive(Debug, Clone, PartialEq)]
pub struct SpillDuty {
    /// A year, at most.
    pub a_year: f64,
    /// As typed: `once in 5 years`.
    pub text: String,
    /// What it is held against.
    pub judged_on: SpillsJudgedOn,
    /// Days that a spill lasts, at most: a pond that spills for longer spills as a matter of course, however seldom its
    /// spill begins.
    pub longest_days: u32,
    /// Whether that was typed; else it is common practice.
    pub longest_is_typed: bool,
    /// Days without a spill that part two spills.
    pub apart_days: u32,
    /// Where it was typed.
    pub place: Place,
}

/// Cleaned out no oftener than.
#[derive(Debug, Clone, PartialEq)]
pub struct CleanOutDuty {
    /// Every so many years, at least.
    pub every_years: f64,
    /// As typed.
    pub text: String,
    /// Share of the wet sludge's mass that is dry solids; the facility's when it was not typed.
    pub dry_solids: Option<Figure>,
    /// Where it was typed.
    pub place: Place,
}

/// Days on which a use gets less than it asks for.
#[derive(Debug, Clone, PartialEq)]
pub struct ShortageDuty {
    /// Days a year, at most.
    pub days_a_year: f64,
    /// As typed.
    pub text: String,
    /// Where it was typed.
    pub place: Place,
}

/// What is to be least.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Objective {
    /// Volume at the spill level.
    Volume,
    /// Ground over the banks.
    Footprint,
    /// Cost of digging and lining.
    Cost,
}

impl Objective {
    /// The words of the file.
    pub fn words(self) -> &'static str {
        match self {
            Self::Volume => "volume",
            Self::Footprint => "footprint",
            Self::Cost => "cost",
        }
    }
}

/// What digging and lining cost.
#[derive(Debug, Clone, PartialEq)]
pub struct UnitPrices {
    /// The money: `USD`.
    pub money: String,
    /// For a cubic metre dug, up to the bank top.
    pub dug: f64,
    /// As typed.
    pub dug_text: String,
    /// For a square metre lined, up to the bank top.
    pub lined: f64,
    /// As typed.
    pub lined_text: String,
    /// Who says so.
    pub by: Option<String>,
}

/// Steps of the grid, m; none for a step the program chooses.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Steps {
    /// Of depth.
    pub depth: Option<Figure>,
    /// Of length.
    pub length: Option<Figure>,
    /// Of width.
    pub width: Option<Figure>,
}

/// Everything a pond is sized for.
#[derive(Debug, Clone, PartialEq)]
pub struct Duties {
    /// The file.
    pub file: String,
    /// The pond, unless the command line names it.
    pub pond: Option<Said<String>>,
    /// A proposal that adds a pond which is not built, as typed.
    pub proposal: Option<Said<String>>,
    /// The ground there is.
    pub plot: Plot,
    /// Bank top over the spill level, m.
    pub freeboard: Figure,
    /// Depth from which nothing is drawn, over the sludge, m; the facility's when it was not typed.
    pub pool: Option<Figure>,
    /// Equal cells in series; the facility's when it was not typed.
    pub cells: Option<Said<u64>>,
    /// A particle to settle.
    pub settle: Option<SettleDuty>,
    /// Water to hold.
    pub hold: Option<Hold>,
    /// A storm to contain.
    pub storm: Option<StormDuty>,
    /// Spills no oftener than.
    pub spills: Option<SpillDuty>,
    /// Cleaned out no oftener than.
    pub clean_out: Option<CleanOutDuty>,
    /// Shortage at most.
    pub shortage: Option<ShortageDuty>,
    /// What is to be least.
    pub least: Objective,
    /// What it costs.
    pub prices: Option<UnitPrices>,
    /// Steps of the grid.
    pub steps: Steps,
}

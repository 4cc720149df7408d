//! What a pond must do, as its owner wrote it.

use crate::files::Said;
use crate::science::hydrology::RainfallType;
use crate::told::Place;

use super::{ForebayDuty, Ground, SpillRecord, SpillwayDuty};

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
    /// Length and width of the floor, m, at least.
    pub floor: Option<Figure>,
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
    /// How the peak of ground with a curve number is worked out, where that was typed.
    pub curve_peak: Option<CurvePeak>,
    /// Where the duty was typed.
    pub place: Place,
}

/// How the peak of ground with a curve number is worked out.
#[derive(Debug, Clone, PartialEq)]
pub enum CurvePeak {
    /// The rational method with a share that runs off at the peak.
    Share(Figure),
    /// The graphical method with a time of concentration (s) and a rainfall distribution.
    Graphical(Figure, RainfallType),
}

/// The overflow rate is kept: flow over the water surface above what settles.
#[derive(Debug, Clone, PartialEq)]
pub struct OverflowDuty {
    /// At most, m/s.
    pub most: Figure,
    /// The flow, m³/s; that of `settle` where it was not typed.
    pub flow: Option<Figure>,
    /// Where the duty was typed.
    pub place: Place,
}

/// Water stays for so long: volume over the sludge, up to the spill level, over the flow.
#[derive(Debug, Clone, PartialEq)]
pub struct DetentionDuty {
    /// Hours at least.
    pub hours: f64,
    /// As typed.
    pub text: String,
    /// The flow, m³/s; that of `settle` where it was not typed.
    pub flow: Option<Figure>,
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
    /// The highest from which the storm still fits, with everything under it that is to be held already there.
    Normal,
    /// So far below the spill level, m.
    BelowSpill(Figure),
    /// Whatever level the run has on each day: on how many was there room?
    Run,
}

/// What lets water out before a storm, down to the level from which the storm fits.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawdown {
    /// `pump` or `outlet`.
    pub by: &'static str,
    /// The room is free again within so many hours.
    pub within_h: f64,
    /// As typed: `48 h`.
    pub text: String,
    /// Where the water goes.
    pub to: Said<String>,
    /// Its rate, m³/s; the rate that frees the room in time where it was not typed.
    pub rate: Option<Figure>,
    /// Whether it goes on to the foot of the room for what is held, and so empties that too.
    pub empties_hold: bool,
    /// Where it was typed.
    pub place: Place,
}

/// A storm is to be contained.
#[derive(Debug, Clone, PartialEq)]
pub struct StormDuty {
    /// The storm, found in the user's table.
    pub storm: StormDepth,
    /// The level at which it finds the pond.
    pub from: StormFrom,
    /// Share of days that close with the room free, at least, where it was typed.
    pub room_on: Option<Figure>,
    /// What lets water out before it.
    pub drawdown: Option<Drawdown>,
    /// Who made the table.
    pub source: String,
    /// Where the duty was typed.
    pub place: Place,
}

impl StormDuty {
    /// Whether a shape is refused for too few days with the room free: where a share of days was typed, or the storm
    /// meets the run's own levels. Else the rule of operation is at fault and not the shape.
    pub fn refuses_without_room(&self) -> bool {
        self.room_on.is_some() || (matches!(self.from, StormFrom::Run) && self.drawdown.is_none())
    }
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
    /// Days that a spill lasts, at most, where that was typed.
    pub longest_days: Option<u32>,
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
    /// For a cubic metre cut; up to the bank top where nothing is said of the ground.
    pub dug: f64,
    /// As typed.
    pub dug_text: String,
    /// For a square metre lined, up to the bank top.
    pub lined: f64,
    /// As typed.
    pub lined_text: String,
    /// For a cubic metre filled in the banks, where it was typed.
    pub banked: Option<f64>,
    /// As typed.
    pub banked_text: String,
    /// For a cubic metre hauled away, as it lies on the truck, where it was typed.
    pub hauled: Option<f64>,
    /// As typed.
    pub hauled_text: String,
    /// For a cubic metre brought, as it lies on the truck, where it was typed.
    pub brought: Option<f64>,
    /// As typed.
    pub brought_text: String,
    /// For a metre of fence round the banks; nothing when it was not typed.
    pub fence: f64,
    /// As typed.
    pub fence_text: String,
    /// For ramp, gate and way; nothing when it was not typed.
    pub access: f64,
    /// As typed.
    pub access_text: String,
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
    /// How the ground lies; as high as the bank top where it was not typed.
    pub ground: Option<Ground>,
    /// Depth from which nothing is drawn, over the sludge, m; the facility's when it was not typed. Of a range first the
    /// least.
    pub pool: Option<Figure>,
    /// The range that its depth may be chosen from, where one is typed.
    pub pool_range: Option<PoolRange>,
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
    /// An overflow rate at most.
    pub overflow_rate: Option<OverflowDuty>,
    /// Water kept for so long.
    pub detention: Option<DetentionDuty>,
    /// Cleaned out no oftener than.
    pub clean_out: Option<CleanOutDuty>,
    /// A first cell for coarse solids.
    pub forebay: Option<ForebayDuty>,
    /// What an emergency spillway leaves of the freeboard.
    pub spillway: Option<SpillwayDuty>,
    /// Shortage at most.
    pub shortage: Option<ShortageDuty>,
    /// What is to be least.
    pub least: Objective,
    /// What it costs.
    pub prices: Option<UnitPrices>,
    /// Steps of the grid.
    pub steps: Steps,
}

/// Depths of a settling pool, of which one is to be chosen.
#[derive(Debug, Clone, PartialEq)]
pub struct PoolRange {
    /// The least, m.
    pub least_m: f64,
    /// The most, m.
    pub most_m: f64,
    /// As typed: `1 to 3 ft`.
    pub text: String,
}

impl PoolRange {
    /// Steps of the depths that are tried, m: a tenth of a metre and a quarter of a foot.
    const STEPS_M: [f64; 2] = [0.1, 0.25 * 0.3048];

    /// The depths that are tried, shallow ones first: both ends, and between them whole steps, which are the same for every
    /// range and both systems of units, so that a wider one never comes to a larger pond.
    pub fn depths_m(&self) -> Vec<f64> {
        let (least, most) = (self.least_m, self.most_m);
        let steps = Self::STEPS_M.into_iter().flat_map(|step| {
            (1..).map(move |count| f64::from(count) * step).take_while(move |m| *m < most).filter(move |m| *m > least)
        });
        let mut all: Vec<f64> = steps.chain([least, most]).collect();
        all.sort_by(f64::total_cmp);
        all.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
        all
    }
}

impl Duties {
    /// The same duties at each depth of the settling pool that is tried; these alone where one is typed.
    pub fn at_each_pool(&self) -> Vec<Self> {
        let Some(range) = &self.pool_range else { return vec![self.clone()] };
        range.depths_m().into_iter().map(|m| self.with_pool(m)).collect()
    }

    /// The same with the least depth of the settling pool that is asked for.
    #[must_use]
    pub fn at_the_least_pool(&self) -> Self {
        self.pool_range.as_ref().map_or_else(|| self.clone(), |range| self.with_pool(range.least_m))
    }

    fn with_pool(&self, m: f64) -> Self {
        let pool = self.pool.as_ref().map(|figure| Figure { si: m, ..figure.clone() });
        Self { pool, ..self.clone() }
    }

    /// Counts the spills of a daily series, m³: parted as typed.
    pub fn spill_record(&self, daily_m3: &[f64], known_days: usize) -> SpillRecord {
        SpillRecord::of(daily_m3, known_days, self.spills.as_ref().map_or(1, |duty| duty.apart_days))
    }
}

/// How duties are held against a pond.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Terms {
    /// The pond stands: levels typed for it are those levels, whatever shape is tried.
    pub stands: bool,
    /// A shape is refused for a duty that its run does not keep.
    pub keeps: bool,
}

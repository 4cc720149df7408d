//! One shape held against the duties.

use uom::si::f64::{Length, VolumeRate};
use uom::si::length::meter;
use uom::si::velocity::meter_per_second;
use uom::si::volume_rate::cubic_meter_per_second;

use crate::science::ponds::horizontal_velocity;

use super::duties::{Objective, SpillsJudgedOn, StormFrom};
use super::needs::share_settled;
use super::{Basin, Duties, Needs, Simulated, Stack};

/// The fastest that water may pass over settled solids, m/s: 15 to 20 mm/s is common practice, no source.
pub const MOST_SPEED_M_S: f64 = 0.015;

/// A duty, or what its volume stands on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Duty {
    /// Settle a named particle.
    Settle,
    /// Keep what settled from being stirred up.
    Stir,
    /// Have room for sludge between two clean-outs.
    CleanOut,
    /// Have room for the settling pool.
    Pool,
    /// Hold return water, wash water and first rain.
    Hold,
    /// Contain a storm.
    Storm,
    /// Spill no oftener than.
    Spills,
    /// No spill lasts longer than.
    LongestSpill,
    /// Run short on no more days than.
    Shortage,
}

impl Duty {
    /// Its name in print.
    pub fn words(self) -> &'static str {
        match self {
            Self::Settle => "settle the particle",
            Self::Stir => "let what settled lie",
            Self::CleanOut => "keep room for sludge between clean-outs",
            Self::Pool => "keep room for the settling pool",
            Self::Hold => "hold return water, wash water and first rain",
            Self::Storm => "contain the storm",
            Self::Spills => "spill no oftener than asked",
            Self::LongestSpill => "spill no longer than asked",
            Self::Shortage => "run short no oftener than asked",
        }
    }
}

impl Duty {
    /// What a pond does that fails it.
    pub fn fails(self) -> &'static str {
        match self {
            Self::Settle => "settles too little of the particle",
            Self::Stir => "stirs up what settled",
            Self::CleanOut => "has too little room for sludge",
            Self::Pool => "has no room for the settling pool",
            Self::Hold => "cannot hold the water it is to hold",
            Self::Storm => "cannot contain the storm",
            Self::Spills => "spills oftener than asked",
            Self::LongestSpill => "spills longer than asked",
            Self::Shortage => "runs short oftener than asked",
        }
    }
}

/// What a check is measured in, and which way it goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    /// A share, at least.
    Share,
    /// A volume with all that stands under it, m³: there must be room for it.
    Volume,
    /// Times a year, at most.
    TimesAYear,
    /// Days a year, at most.
    DaysAYear,
    /// Days, at most.
    Days,
    /// A speed, m/s, at most.
    Speed,
}

/// One duty held against one shape.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Check {
    /// The duty.
    pub duty: Duty,
    /// What it is measured in.
    pub measure: Measure,
    /// What the duty asks for.
    pub asked: f64,
    /// What the shape gives.
    pub has: f64,
}

impl Check {
    fn new(duty: Duty, measure: Measure, asked: f64, has: f64) -> Self {
        Self { duty, measure, asked, has }
    }

    /// Whether the shape does its duty. A figure that is not a number never does.
    pub fn is_met(&self) -> bool {
        match self.measure {
            // The bisection that finds levels leaves a hair.
            Measure::Volume => self.has >= self.asked - 1e-9 * (1.0 + self.asked.abs()),
            Measure::Share => self.has >= self.asked - 1e-12,
            Measure::TimesAYear | Measure::DaysAYear | Measure::Days | Measure::Speed => self.has <= self.asked + 1e-12,
        }
    }

    /// How much of the duty is done: 1 and over when it is met.
    pub fn done(&self) -> f64 {
        let (part, whole) = match self.measure {
            Measure::Volume | Measure::Share => (self.has, self.asked),
            Measure::TimesAYear | Measure::DaysAYear | Measure::Days | Measure::Speed => (self.asked, self.has),
        };
        if whole > 0.0 { part / whole } else { 1.0 }
    }
}

/// The duties with the figures that shapes are held against.
#[derive(Debug, Clone, PartialEq)]
pub struct Demands {
    /// The duties.
    pub duties: Duties,
    /// What the site sends.
    pub needs: Needs,
    /// Depth of the settling pool, m.
    pub pool_m: f64,
    /// Cells in series.
    pub cells: u32,
}

impl Demands {
    /// Wet sludge a year in a shape, m³: as if the water stood at the spill level, where most settles.
    pub fn sludge_m3_a_year(&self, basin: &Basin) -> f64 {
        self.needs.sludge.wet_m3_a_year(basin.area_m2(basin.depth_m), self.cells)
    }

    /// The volumes of a shape.
    pub fn stack(&self, basin: &Basin) -> Stack {
        let years = self.duties.clean_out.as_ref().map_or(0.0, |duty| duty.every_years);
        let sludge = if years > 0.0 { years * self.sludge_m3_a_year(basin) } else { 0.0 };
        Stack::of(basin, &self.needs, sludge, self.pool_m)
    }

    /// The level at which the storm finds a shape, m above the floor: what the user set, else the highest from which it
    /// still fits. None without a storm.
    pub fn storm_from_m(&self, basin: &Basin) -> Option<f64> {
        let storm = self.duties.storm.as_ref()?;
        Some(match &storm.from {
            StormFrom::BelowSpill(depth) => (basin.depth_m - depth.si).max(0.0),
            StormFrom::Normal => {
                let left = basin.capacity_m3() - self.stack(basin).storm_m3;
                basin.level_m(left.max(0.0)).min(basin.depth_m)
            }
        })
    }

    /// The level that is kept in ordinary times, m above the floor: where the storm finds the pond, else the top of what
    /// is held.
    pub fn normal_m(&self, basin: &Basin) -> f64 {
        self.storm_from_m(basin).unwrap_or_else(|| basin.level_m(self.stack(basin).held_top_m3)).min(basin.depth_m)
    }

    /// Volume under the level that the user set for the storm, m³: what is held must fit under it.
    fn under_storm_m3(&self, basin: &Basin) -> Option<f64> {
        match self.duties.storm.as_ref().map(|storm| &storm.from) {
            Some(StormFrom::BelowSpill(depth)) => Some(basin.volume_m3((basin.depth_m - depth.si).max(0.0))),
            _ => None,
        }
    }

    /// Duties that need no weather: settling, and the volumes stacked from the floor.
    pub fn fixed(&self, basin: &Basin) -> Vec<Check> {
        let stack = self.stack(basin);
        let capacity = basin.capacity_m3();
        let mut checks = Vec::new();
        if let Some(settle) = &self.duties.settle {
            let area = basin.area_m2(stack.pool_top_m.min(basin.depth_m));
            let share = share_settled(area, self.needs.peak_m3_s, self.needs.settling_m_s, self.cells);
            checks.push(Check::new(Duty::Settle, Measure::Share, settle.share.si, share));
            // The least section that the flow passes: half-way up the settling pool.
            let middle = stack.sludge_top_m + 0.5 * self.pool_m;
            let width = basin.width_m - 2.0 * basin.slope * (basin.depth_m - middle);
            let speed = horizontal_velocity(
                VolumeRate::new::<cubic_meter_per_second>(self.needs.peak_m3_s),
                Length::new::<meter>(width),
                Length::new::<meter>(self.pool_m),
            );
            let speed = speed.value.get::<meter_per_second>();
            checks.push(Check::new(Duty::Stir, Measure::Speed, MOST_SPEED_M_S, speed));
        }
        let set = self.under_storm_m3(basin);
        let under_storm = set.unwrap_or(capacity);
        if self.duties.clean_out.is_some() {
            checks.push(Check::new(Duty::CleanOut, Measure::Volume, stack.sludge_m3, under_storm));
        }
        if self.pool_m > 0.0 {
            checks.push(Check::new(Duty::Pool, Measure::Volume, stack.pool_top_m3, under_storm));
        }
        if self.duties.hold.is_some() {
            checks.push(Check::new(Duty::Hold, Measure::Volume, stack.held_top_m3, under_storm));
        }
        if self.duties.storm.is_some() {
            let under = set.unwrap_or(stack.held_top_m3);
            checks.push(Check::new(Duty::Storm, Measure::Volume, under + stack.storm_m3, capacity));
        }
        checks
    }

    /// Whether any duty turns on years of weather.
    pub fn needs_weather(&self) -> bool {
        self.duties.spills.is_some() || self.duties.shortage.is_some()
    }

    /// Duties that turn on years of weather.
    pub fn over_years(&self, run: &Simulated) -> Vec<Check> {
        let mut checks = Vec::new();
        if let Some(duty) = &self.duties.spills {
            let has = match duty.judged_on {
                SpillsJudgedOn::TheCount => run.spill.a_year(),
                SpillsJudgedOn::TheUpperEnd => run.spill.interval().map_or(f64::INFINITY, |(_, high)| high),
            };
            checks.push(Check::new(Duty::Spills, Measure::TimesAYear, duty.a_year, has));
            checks.push(Check::new(
                Duty::LongestSpill,
                Measure::Days,
                f64::from(duty.longest_days),
                run.spill.longest_days as f64,
            ));
        }
        if let Some(duty) = &self.duties.shortage {
            checks.push(Check::new(Duty::Shortage, Measure::DaysAYear, duty.days_a_year, run.shortage_a_year()));
        }
        checks
    }

    /// What is to be least, in m³, m² or money.
    pub fn objective(&self, basin: &Basin) -> f64 {
        match self.duties.least {
            Objective::Volume => basin.capacity_m3(),
            Objective::Footprint => basin.footprint_m2(),
            Objective::Cost => self.cost(basin).unwrap_or(f64::INFINITY),
        }
    }

    /// What digging and lining cost, where prices are given.
    pub fn cost(&self, basin: &Basin) -> Option<f64> {
        let prices = self.duties.prices.as_ref()?;
        Some(prices.dug * basin.dug_m3() + prices.lined * basin.lined_m2())
    }
}

//! One shape held against the duties.

use uom::si::f64::{Length, VolumeRate};
use uom::si::length::meter;
use uom::si::velocity::meter_per_second;
use uom::si::volume_rate::cubic_meter_per_second;

use crate::science::ponds::horizontal_velocity;

use super::duties::{Objective, SpillsJudgedOn, StormFrom, Terms, UnitPrices};
use super::held::storm_room;
use super::needs::share_settled;
use super::site::DRAWDOWN_STARTS_OVER_M;
use super::{Basin, Corners, Duties, Earth, Layer, Needs, Simulated, Stack};

/// Days that a spill lasts at most as a rule: common practice, no source.
pub const USUAL_LONGEST_SPILL_DAYS: f64 = 30.0;

/// The fastest that water may pass over settled solids, m/s: 15 to 20 mm/s is common practice, no source.
pub const MOST_SPEED_M_S: f64 = 0.015;

/// Levels are printed to a hundredth of a metre or a foot, m.
const LEVEL_M: f64 = 0.01;

/// A duty, or what its volume stands on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Duty {
    /// Settle a named particle.
    Settle,
    /// Keep the overflow rate.
    OverflowRate,
    /// Keep water for so long.
    Detention,
    /// Have room for sludge between two clean-outs.
    CleanOut,
    /// Have room for the settling pool.
    Pool,
    /// Hold return water, wash water and first rain.
    Hold,
    /// Contain a storm.
    Storm,
    /// Have the storm's room free when it comes.
    StormRoom,
    /// Free the storm's room in time.
    Drawdown,
    /// Spill no oftener than.
    Spills,
    /// No spill lasts longer than.
    LongestSpill,
    /// Run short on no more days than.
    Shortage,
    /// Have a forebay of a size.
    Forebay,
    /// Have the forebay cleaned out no oftener than.
    ForebayCleanOut,
    /// Keep freeboard over the water on the emergency spillway.
    Spillway,
}

impl Duty {
    /// Its name in print.
    pub fn words(self) -> &'static str {
        match self {
            Self::Settle => "settle the particle",
            Self::OverflowRate => "keep the overflow rate",
            Self::Detention => "keep the water long enough",
            Self::CleanOut => "keep room for sludge between clean-outs",
            Self::Pool => "keep room for the settling pool",
            Self::Hold => "hold the water that is to be held",
            Self::Storm => "contain the storm",
            Self::StormRoom => "have the storm’s room free",
            Self::Drawdown => "free the storm’s room in time",
            Self::Spills => "spill no oftener than asked",
            Self::LongestSpill => "spill no longer than asked",
            Self::Shortage => "run short no oftener than asked",
            Self::Forebay => "have a forebay as large as asked",
            Self::ForebayCleanOut => "fill the forebay no sooner than asked",
            Self::Spillway => "keep freeboard over the emergency spillway",
        }
    }
}

impl Duty {
    /// What a pond does that fails it.
    pub fn fails(self) -> &'static str {
        match self {
            Self::Settle => "settles too little of the particle",
            Self::OverflowRate => "has too fast an overflow rate",
            Self::Detention => "lets the water through too soon",
            Self::CleanOut => "has too little room for sludge",
            Self::Pool => "has no room for the settling pool",
            Self::Hold => "cannot hold the water it is to hold",
            Self::Storm => "cannot contain the storm",
            Self::StormRoom => "has the storm’s room free too seldom",
            Self::Drawdown => "frees the storm’s room too late",
            Self::Spills => "spills oftener than asked",
            Self::LongestSpill => "spills longer than asked",
            Self::Shortage => "runs short oftener than asked",
            Self::Forebay => "has no room for the forebay",
            Self::ForebayCleanOut => "fills its forebay too soon",
            Self::Spillway => "keeps too little freeboard over the emergency spillway",
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
    /// Hours, at most.
    Hours,
    /// Hours, at least.
    HoursAtLeast,
    /// Years, at least.
    YearsAtLeast,
    /// A height, m, at least.
    HeightAtLeast,
    /// A speed, m/s, at most.
    Speed,
}

impl Measure {
    /// Whether more is better.
    pub fn is_at_least(self) -> bool {
        matches!(self, Self::Share | Self::Volume | Self::HoursAtLeast | Self::YearsAtLeast | Self::HeightAtLeast)
    }
}

/// How a duty comes out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Comes {
    /// It is done.
    Done,
    /// It is not.
    NotDone,
    /// The figure is as asked, and the years are too few to show it.
    TooFewYears,
    /// It would be done from the level it asks for, and the run does not keep that.
    NotKept,
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
    /// How it comes out.
    pub comes: Comes,
}

impl Check {
    pub(super) fn new(duty: Duty, measure: Measure, asked: f64, has: f64) -> Self {
        // A figure that is not a number never does its duty.
        let done = match measure {
            // The steps that find levels leave a hair.
            Measure::Volume => has >= asked - 1e-9 * (1.0 + asked.abs()),
            _ if measure.is_at_least() => has >= asked - 1e-12,
            _ => has <= asked + 1e-12,
        };
        Self { duty, measure, asked, has, comes: if done { Comes::Done } else { Comes::NotDone } }
    }

    /// The same where another shape does no better: what is lacking then is said, and no shape refused for it.
    pub(super) fn not_refused(self) -> Self {
        if self.comes == Comes::NotDone { Self { comes: Comes::NotKept, ..self } } else { self }
    }

    /// The same where the years are enough to show it.
    fn shown_if(self, enough: bool) -> Self {
        if self.comes == Comes::Done && !enough { Self { comes: Comes::TooFewYears, ..self } } else { self }
    }

    /// Whether the shape is not to be refused for it.
    pub fn is_met(&self) -> bool {
        self.comes != Comes::NotDone
    }

    /// How much of the duty is done: 1 and over when it is met.
    pub fn done(&self) -> f64 {
        let (part, whole) = if self.measure.is_at_least() { (self.has, self.asked) } else { (self.asked, self.has) };
        if whole > 0.0 { part / whole } else { 1.0 }
    }
}

/// Something nobody typed that an engineer looks at: told, and no duty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Advice {
    /// `water passing over settled solids`.
    pub what: &'static str,
    /// What it is measured in.
    pub measure: Measure,
    /// What is usual, at most.
    pub usual: f64,
    /// What the shape gives.
    pub has: f64,
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
    /// How the duties are held against a pond.
    pub terms: Terms,
    /// The rate of a drawdown chosen where none is typed, m³/s; none while each shape may have its own.
    pub rate_m3_s: Option<f64>,
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
        let berm = self.berm_m3(basin);
        let pool_m = if self.terms.stands { self.pool_over_m(basin.level_m(sludge + berm)) } else { self.pool_m };
        Stack::of(basin, &self.needs, sludge, berm, pool_m)
    }

    /// Depth of the water that stays over the sludge, m: as deep as asked, and in a pond that stands up to the lowest level
    /// that its pumps draw from, where that lies higher by more than a level is printed to.
    pub fn pool_over_m(&self, sludge_top_m: f64) -> f64 {
        let pumps_m = self.needs.lowest_pump_m - sludge_top_m;
        if self.terms.stands && pumps_m > self.pool_m + LEVEL_M { pumps_m } else { self.pool_m }
    }

    /// The layers of a shape, from the floor up.
    pub fn layers(&self, basin: &Basin) -> Vec<Layer> {
        let over = self.duties.spillway.as_ref().map(|duty| duty.over(basin));
        self.stack(basin).layers(basin, self.storm_from_m(basin), over.as_ref())
    }

    /// The level at which the storm finds a shape, m above the floor: what the user set, else the highest from which it
    /// still fits. None without a storm.
    pub fn storm_from_m(&self, basin: &Basin) -> Option<f64> {
        let storm = self.duties.storm.as_ref()?;
        Some(match &storm.from {
            StormFrom::BelowSpill(depth) => (basin.depth_m - depth.si).max(0.0),
            StormFrom::Normal | StormFrom::Run => {
                let left = basin.capacity_m3() - self.stack(basin).storm_m3;
                basin.level_m(left.max(0.0)).min(basin.depth_m)
            }
        })
    }

    /// The level that is kept in ordinary times, m above the floor: where the storm finds the pond; without a storm the foot
    /// of the room for what is held, else the settling pool; never under that, from which nothing draws.
    pub fn normal_m(&self, basin: &Basin) -> f64 {
        let stack = self.stack(basin);
        let foot = || self.duties.hold.as_ref().map_or(0.0, |_| basin.level_m(self.sure_m3(basin, &stack)));
        let kept = self.storm_from_m(basin).unwrap_or_else(foot);
        kept.max(stack.pool_top_m).min(basin.depth_m)
    }

    /// The level down to which a drawdown lets water out, m above the floor: the level kept, or where it empties what is
    /// held too, the foot of that.
    pub fn drawn_down_to_m(&self, basin: &Basin) -> f64 {
        let empties =
            self.duties.storm.as_ref().and_then(|storm| storm.drawdown.as_ref()).is_some_and(|of| of.empties_hold);
        if !empties {
            return self.normal_m(basin);
        }
        self.hold_foot_m(basin).max(self.stack(basin).pool_top_m).min(basin.depth_m)
    }

    /// Foot of the room for what is held, m above the floor: right under that of the storm.
    pub fn hold_foot_m(&self, basin: &Basin) -> f64 {
        basin.level_m(self.sure_m3(basin, &self.stack(basin)))
    }

    /// The most that the pond holds, sludge and all, on a day that has the storm's room, m³: up to the level at which a
    /// drawdown would start, so that a level which it keeps is no level too high.
    pub fn most_before_storm_m3(&self, basin: &Basin) -> f64 {
        let most_m3 = basin.capacity_m3() - self.stack(basin).storm_m3;
        let drawn_down = self.duties.storm.as_ref().is_some_and(|storm| storm.drawdown.is_some());
        if !drawn_down || most_m3 <= 0.0 {
            return most_m3;
        }
        basin.volume_m3((basin.level_m(most_m3) + DRAWDOWN_STARTS_OVER_M).min(basin.depth_m))
    }

    /// What a pond with room for so much is sure to hold, with sludge and all, m³: what lies under the rooms of the storm and
    /// of what is held, which must stand empty for them.
    pub(super) fn sure_m3(&self, room: &Basin, stack: &Stack) -> f64 {
        let under_storm = self.under_storm_m3(room).unwrap_or_else(|| room.capacity_m3() - stack.storm_m3);
        (under_storm - stack.wash_m3 - stack.reuse_m3).max(0.0)
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
        self.fixed_between(&Corners::of(*basin))
    }

    /// The same at the best corners of a box of shapes: what not even they do, no shape of the box does.
    pub fn fixed_between(&self, corners: &Corners) -> Vec<Check> {
        let (room, surface) = (&corners.room, &corners.surface);
        let stack = self.stack(&corners.needs);
        let capacity = room.capacity_m3();
        let mut checks = Vec::new();
        if let Some(settle) = &self.duties.settle {
            checks.push(Check::new(Duty::Settle, Measure::Share, settle.share.si, self.settled(surface)));
        }
        if let Some(duty) = &self.duties.overflow_rate {
            let rate = self.overflow_m3_s(surface) / self.settling_area_m2(surface);
            checks.push(Check::new(Duty::OverflowRate, Measure::Speed, duty.most.si, rate));
        }
        if let Some(duty) = &self.duties.detention {
            let hours = self.stays_between_h(corners, &stack);
            checks.push(Check::new(Duty::Detention, Measure::HoursAtLeast, duty.hours, hours));
        }
        checks.extend(self.forebay_checks(corners));
        // The same for every shape of a plot: what the bank's height leaves.
        if let Some(duty) = &self.duties.spillway {
            let left = duty.over(room).left_m;
            checks.push(Check::new(Duty::Spillway, Measure::HeightAtLeast, duty.least.si, left));
        }
        let set = self.under_storm_m3(room);
        let under_storm = set.unwrap_or(capacity);
        if self.duties.clean_out.is_some() {
            checks.push(Check::new(Duty::CleanOut, Measure::Volume, stack.lost_m3(), under_storm));
        }
        if self.pool_m > 0.0 {
            checks.push(Check::new(Duty::Pool, Measure::Volume, stack.pool_top_m3, under_storm));
        }
        if self.duties.hold.is_some() {
            checks.push(Check::new(Duty::Hold, Measure::Volume, stack.held_top_m3, under_storm));
        }
        if let Some(storm) = &self.duties.storm {
            // What is held need not be there on the day that the run meets the storm.
            let held = if matches!(storm.from, StormFrom::Run) { stack.pool_top_m3 } else { stack.held_top_m3 };
            let under = set.unwrap_or(held);
            checks.push(Check::new(Duty::Storm, Measure::Volume, under + stack.storm_m3, capacity));
            if let Some(drawdown) = &storm.drawdown
                && let Some(rate) = drawdown.rate.as_ref().map(|rate| rate.si)
            {
                let hours = stack.storm_m3 / rate / 3600.0;
                checks.push(Check::new(Duty::Drawdown, Measure::Hours, drawdown.within_h, hours));
            }
        }
        checks
    }

    /// Water area over what settles, m²: at the top of the settling pool, where it is least.
    pub fn settling_area_m2(&self, basin: &Basin) -> f64 {
        basin.area_m2(self.stack(basin).pool_top_m.min(basin.depth_m))
    }

    /// Share of the particle that settles at the design flow.
    pub fn settled(&self, basin: &Basin) -> f64 {
        share_settled(self.settling_area_m2(basin), self.peak_m3_s(basin), self.needs.settling_m_s, self.cells)
    }

    /// What nobody typed and an engineer looks at.
    pub fn advice(&self, basin: &Basin, run: &Simulated) -> Vec<Advice> {
        let mut all = Vec::new();
        if self.duties.settle.is_some() && self.pool_m > 0.0 {
            // The least section that the flow passes: half-way up the settling pool.
            let stack = self.stack(basin);
            let pool_m = stack.pool_top_m - stack.sludge_top_m;
            let middle = stack.sludge_top_m + 0.5 * pool_m;
            let width = basin.width_m - 2.0 * basin.slope * (basin.depth_m - middle);
            let speed = horizontal_velocity(
                VolumeRate::new::<cubic_meter_per_second>(self.peak_m3_s(basin)),
                Length::new::<meter>(width),
                Length::new::<meter>(pool_m),
            );
            all.push(Advice {
                what: "water passing over what settled",
                measure: Measure::Speed,
                usual: MOST_SPEED_M_S,
                has: speed.value.get::<meter_per_second>(),
            });
        }
        if self.duties.spills.as_ref().is_some_and(|duty| duty.longest_days.is_none()) {
            all.push(Advice {
                what: "the longest spill",
                measure: Measure::Days,
                usual: USUAL_LONGEST_SPILL_DAYS,
                has: run.spill.longest_days as f64,
            });
        }
        all
    }

    /// Whether any duty turns on years of weather.
    pub fn needs_weather(&self) -> bool {
        let duties = &self.duties;
        duties.spills.is_some() || duties.shortage.is_some() || duties.storm.is_some() || duties.hold.is_some()
    }

    /// Whether a shape may be refused for what years of weather do.
    pub fn weather_may_refuse(&self) -> bool {
        let duties = &self.duties;
        let kept = self.terms.keeps && (duties.storm.is_some() || duties.hold.is_some());
        let room = duties.storm.as_ref().is_some_and(|storm| storm.refuses_without_room());
        duties.spills.is_some() || duties.shortage.is_some() || room || kept
    }

    /// Duties that turn on years of weather.
    pub fn over_years(&self, run: &Simulated) -> Vec<Check> {
        let mut checks = Vec::new();
        if let Some(storm) = &self.duties.storm {
            checks.push(storm_room(storm, run, self.terms));
        }
        if let Some(duty) = &self.duties.spills {
            let check = match duty.judged_on {
                SpillsJudgedOn::TheCount => {
                    Check::new(Duty::Spills, Measure::TimesAYear, duty.a_year, run.spill.a_year())
                        .shown_if(run.spill.can_show(duty.a_year))
                }
                SpillsJudgedOn::TheUpperEnd => {
                    let high = run.spill.interval().map_or(f64::INFINITY, |(_, high)| high);
                    Check::new(Duty::Spills, Measure::TimesAYear, duty.a_year, high)
                }
            };
            checks.push(check);
            if let Some(days) = duty.longest_days {
                let longest = run.spill.longest_days as f64;
                checks.push(Check::new(Duty::LongestSpill, Measure::Days, f64::from(days), longest));
            }
        }
        if let Some(duty) = &self.duties.shortage {
            let check = Check::new(Duty::Shortage, Measure::DaysAYear, duty.days_a_year, run.shortage_a_year());
            checks.push(check.shown_if(run.spill.years() >= 1.0));
        }
        checks
    }

    /// All duties of a shape and what years of weather did to it: a storm that fits only from a level that the run does
    /// not keep is not contained.
    pub fn checks(&self, basin: &Basin, run: &Simulated) -> Vec<Check> {
        let mut checks = self.fixed(basin);
        checks.extend(self.over_years(run));
        let kept = checks.iter().all(|check| check.duty != Duty::StormRoom || check.comes == Comes::Done);
        for check in checks.iter_mut().filter(|check| check.duty == Duty::Storm && check.comes == Comes::Done && !kept)
        {
            check.comes = Comes::NotKept;
        }
        // Room that is taken when something to hold comes holds nothing, whichever water took it.
        let taken = self.hold_is_taken(run);
        for check in checks.iter_mut().filter(|check| check.duty == Duty::Hold && check.comes == Comes::Done && taken) {
            check.comes = if self.terms.keeps { Comes::NotDone } else { Comes::NotKept };
        }
        checks
    }

    /// Whether something to hold found its room taken. Room that a supply fills is not free, whatever is let out again
    /// before the day closes: within the day it stands full.
    pub(super) fn hold_is_taken(&self, run: &Simulated) -> bool {
        self.duties.hold.is_some() && (run.hold.lacking > 0 || run.filled_into_hold)
    }

    /// Whether a run does all that a shape may be refused for over the years.
    pub fn passes(&self, run: &Simulated) -> bool {
        self.over_years(run).iter().all(Check::is_met) && !(self.terms.keeps && self.hold_is_taken(run))
    }

    /// What is to be least, in m³, m² or money.
    pub fn objective(&self, basin: &Basin) -> f64 {
        match self.duties.least {
            Objective::Volume => basin.capacity_m3(),
            Objective::Footprint => basin.footprint_m2(),
            Objective::Cost => self.cost(basin).unwrap_or(f64::INFINITY),
        }
    }

    /// The earth of a shape; none where nothing is said of the ground.
    pub fn earth(&self, basin: &Basin) -> Option<Earth> {
        Some(self.duties.ground.as_ref()?.earth(basin.cut_m3(), self.fill_m3(basin)))
    }

    /// Earth filled in a shape: its banks, and the berm of its forebay, m³.
    pub fn fill_m3(&self, basin: &Basin) -> f64 {
        basin.fill_m3() + self.berm_m3(basin)
    }

    fn berm_m3(&self, basin: &Basin) -> f64 {
        self.duties.forebay.as_ref().map_or(0.0, |duty| duty.berm_m3(basin))
    }

    /// What is cut and filled to make one shape of another that stands, m³: what stood is neither filled nor hauled anew.
    pub fn moved_between_m3(&self, from: &Basin, to: &Basin) -> (f64, f64) {
        ((to.cut_m3() - from.cut_m3()).max(0.0), (self.fill_m3(to) - self.fill_m3(from)).max(0.0))
    }

    /// What it costs to make one shape of another that stands, where prices are given: earth that the change fills and does
    /// not cut is brought, at the price of digging where none is given for that.
    pub fn cost_between(&self, from: &Basin, to: &Basin) -> Option<f64> {
        let prices = self.duties.prices.as_ref()?;
        let (cut_m3, fill_m3) = self.moved_between_m3(from, to);
        let prices = UnitPrices { brought: prices.brought.or(Some(prices.dug)), ..prices.clone() };
        Some(self.moved(&prices, cut_m3, fill_m3) + (laid(&prices, to) - laid(&prices, from)).max(0.0))
    }

    /// What earth, lining, a fence round the banks and the way to it cost, where prices are given.
    pub fn cost(&self, basin: &Basin) -> Option<f64> {
        let prices = self.duties.prices.as_ref()?;
        Some(self.moved(prices, basin.cut_m3(), self.fill_m3(basin)) + laid(prices, basin))
    }

    /// What it costs to cut and to fill so much.
    fn moved(&self, prices: &UnitPrices, cut_m3: f64, fill_m3: f64) -> f64 {
        let rest = self.duties.ground.as_ref().map_or(0.0, |ground| {
            let earth = ground.earth(cut_m3, fill_m3);
            let of = |price: Option<f64>, m3: f64| price.unwrap_or(0.0) * m3;
            of(prices.banked, fill_m3) + of(prices.hauled, earth.hauled_m3) + of(prices.brought, earth.brought_m3)
        });
        prices.dug * cut_m3 + rest
    }

    /// What no shape of a box comes under of what is to be least. Volume, ground, lining, fence, cut and fill only grow
    /// with a shape's sizes, but that a deeper floor asks for less fill under it where it stands over the ground. Money for
    /// earth does not: what is cut need not be brought. So cut and fill are taken as any that the corners leave between
    /// them; in those two the money is convex and made of two planes, and so is least where their border or a corner is.
    pub fn objective_at_least(&self, smallest: &Basin, corners: &Corners) -> f64 {
        let (Objective::Cost, Some(prices), Some(ground)) =
            (self.duties.least, &self.duties.prices, &self.duties.ground)
        else {
            return self.objective(smallest);
        };
        let cut = (smallest.cut_m3(), corners.room.cut_m3());
        // Of the smallest plan, what lies over the deepest floor that it can have; of the largest, all of it over the least.
        // The berm is shortest in the smallest plan with the deepest floor.
        let fill = (
            corners.needs.fill_over_m3(0.0) + self.berm_m3(&corners.needs),
            corners.surface.fill_m3() + self.berm_m3(&corners.surface),
        );
        let takes = 1.0 / ground.fill_of_cut();
        let mut at = vec![(cut.0, fill.0), (cut.0, fill.1), (cut.1, fill.0), (cut.1, fill.1)];
        let border =
            [(cut.0, cut.0 / takes), (cut.1, cut.1 / takes), (fill.0 * takes, fill.0), (fill.1 * takes, fill.1)];
        let within = |(c, f): &(f64, f64)| (cut.0..=cut.1).contains(c) && (fill.0..=fill.1).contains(f);
        at.extend(border.into_iter().filter(within));
        let moved = at.into_iter().map(|(c, f)| self.moved(prices, c, f)).fold(f64::INFINITY, f64::min);
        // A hair for what the two ways round differently.
        (moved + laid(prices, smallest)) * (1.0 - 1e-12)
    }
}

/// What does not turn on the ground: lining, fence and the way to it.
fn laid(prices: &UnitPrices, basin: &Basin) -> f64 {
    let (long, wide) = basin.over_banks_m();
    prices.lined * basin.lined_m2() + prices.fence * 2.0 * (long + wide) + prices.access
}

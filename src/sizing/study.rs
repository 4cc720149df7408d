//! The whole question: from a facility, its weather and the duties to the least pond, or to the duty that cannot be met.

mod demanded;

mod answers;

use chrono::{Days, NaiveDate};
use uom::si::f64::{Length, MassDensity, ThermodynamicTemperature};
use uom::si::length::meter;
use uom::si::mass_density::kilogram_per_cubic_meter;
use uom::si::thermodynamic_temperature::kelvin;
use uom::si::velocity::meter_per_second;

use crate::balance::{self, Assumption, Basis, Candidates, Draw, Node, Purpose, Seen, Selector};
use crate::facility::model::{Facility, PlaceId, PlaceKind, Pond};
use crate::records::Timeline;
use crate::science::particles::settling_velocity;
use crate::told::{Problem, Problems};
use crate::weather::DailyWeather;

use super::drainage::{Drained, drained};
use super::hand_rules::{HandRule, hand_rules};
use super::inflow::{Greatest, Inflow};
use super::peak::{self, Peak};
use super::search::{Found, least, least_by_depth, neighbours};
use super::site::{SludgeStore, Version, pool_of, records, uses_of, with_basin};
use super::spills::{LEAST_SPILL_M3, Simulated, SpillRecord};
use super::{Basin, Check, Demands, Duties, Duty, Grid, Layer, Needs, Stack};
use answers::{answer, first_year, impossible};
use demanded::demands;

/// Dry share of sludge where neither the duties nor the facility say: common practice, no source.
const USUAL_DRY_SHARE: f64 = 0.08;
/// Days run beforehand and not counted.
pub const WARM_UP_DAYS: usize = 365;
/// Shapes listed beside the least one.
const MOST_LISTED: usize = 6;
/// Linear sizes of the curve, times those of the pond found.
const CURVE: [f64; 9] = [0.6, 0.7, 0.8, 0.9, 1.0, 1.1, 1.2, 1.35, 1.5];

/// What a study reads.
#[derive(Debug, Clone, Copy)]
pub struct Site<'a> {
    /// The facility, with the pond in it.
    pub facility: &'a Facility,
    /// The pond.
    pub pond: PlaceId,
    /// Weather of the years.
    pub weather: &'a DailyWeather,
    /// First and last day of the years.
    pub period: (NaiveDate, NaiveDate),
}

/// What the duties were worked out from.
#[derive(Debug, Clone, PartialEq)]
pub struct Basics {
    /// What drains to the pond.
    pub drained: Vec<Drained>,
    /// The design flow: worked out, or none where it was typed.
    pub peak: Option<Peak>,
    /// The most return water, where it is to be held.
    pub returned: Option<Greatest>,
    /// The most wash water, where it is to be held.
    pub washed: Option<Greatest>,
    /// Dry share of the sludge, and whether it was typed.
    pub dry_share: (f64, bool),
    /// Dry solids that come in a year, kg.
    pub solids_kg_a_year: f64,
    /// The greatest rate of one filter's wash water to the pond, with the filter's name, m³/s.
    pub stuck_wash: Option<(String, f64)>,
    /// Uses that draw from the pond, by name.
    pub uses: Vec<String>,
    /// What the run took without a record.
    pub assumptions: Vec<Assumption>,
    /// Steps per day.
    pub steps_per_day: u32,
    /// Days whose rain is not known.
    pub unknown_days: usize,
    /// Days of the years.
    pub days: usize,
}

/// A spill of the run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spill {
    /// Its first day.
    pub first: NaiveDate,
    /// Days, first to last.
    pub days: usize,
    /// Volume, m³.
    pub m3: f64,
}

/// A case of the sensitivity table.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// `rain 20 % more`.
    pub what: &'static str,
    /// What years of weather did.
    pub run: Option<Simulated>,
    /// Share of the particle that settles.
    pub settled: Option<f64>,
    /// Years until the sludge store is full.
    pub clean_out_years: Option<f64>,
    /// Duties that fail.
    pub fails: Vec<Duty>,
}

/// A shape that does its duties, for the list.
#[derive(Debug, Clone, PartialEq)]
pub struct Listed {
    /// The shape.
    pub basin: Basin,
    /// What governs it: duties that fail one step smaller.
    pub governs: Vec<Duty>,
}

/// A shape one step smaller, and what it fails.
#[derive(Debug, Clone, PartialEq)]
pub struct Smaller {
    /// `shallower`, `shorter`, `narrower`.
    pub word: &'static str,
    /// The shape and its checks; none where the plot's own rules do not allow it.
    pub shape: Option<(Basin, Vec<Check>)>,
}

/// The least pond.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// The least shape of the fine grid.
    pub found: Found,
    /// The least shape of the coarse grid.
    pub coarse: Found,
    /// The fine grid.
    pub fine: Grid,
    /// Its layers.
    pub layers: Vec<Layer>,
    /// Their volumes.
    pub stack: Stack,
    /// The level kept in ordinary times, m above the floor.
    pub normal_m: f64,
    /// Every duty.
    pub checks: Vec<Check>,
    /// What years of weather did.
    pub run: Simulated,
    /// Its spills in order.
    pub spills: Vec<Spill>,
    /// Shapes one step smaller.
    pub smaller: Vec<Smaller>,
    /// Wet sludge a year, m³.
    pub sludge_m3_a_year: f64,
    /// Other shapes that do their duties, by depth.
    pub listed: Vec<Listed>,
    /// Size against spills: the same proportions, larger and smaller.
    pub curve: Vec<(Basin, Simulated)>,
    /// What if.
    pub cases: Vec<Case>,
    /// Hand rules beside it.
    pub rules: Vec<HandRule>,
    /// Volume, cost and ground.
    pub cost: Option<f64>,
}

impl Answer {
    /// What governs: duties that fail one step smaller, the one that fails most ways first.
    pub fn governs(&self) -> Vec<Duty> {
        governing(&self.smaller)
    }

    /// Years until the sludge store is full at the rate worked out; none without sludge or a store for it.
    pub fn clean_out_years(&self) -> Option<f64> {
        (self.sludge_m3_a_year > 0.0 && self.stack.sludge_m3 > 0.0)
            .then(|| self.stack.sludge_m3 / self.sludge_m3_a_year)
    }
}

fn governing(smaller: &[Smaller]) -> Vec<Duty> {
    let mut counts: Vec<(Duty, usize)> = Vec::new();
    for (_, checks) in smaller.iter().filter_map(|one| one.shape.as_ref()) {
        for check in checks.iter().filter(|check| !check.is_met()) {
            match counts.iter_mut().find(|(duty, _)| *duty == check.duty) {
                Some((_, count)) => *count += 1,
                None => counts.push((check.duty, 1)),
            }
        }
    }
    counts.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(&b.0)));
    counts.into_iter().map(|(duty, _)| duty).collect()
}

/// Why no shape does its duties.
#[derive(Debug, Clone, PartialEq)]
pub struct Impossible {
    /// Shapes looked at.
    pub shapes: usize,
    /// Of each duty the best that any shape of the plot gives, with that shape.
    pub best: Vec<(Check, Basin)>,
    /// The shape that comes nearest to all of them, with its checks.
    pub nearest: Option<(Basin, Vec<Check>)>,
}

/// How the question came out.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// A pond.
    Pond(Box<Answer>),
    /// No shape of the plot does its duties.
    None(Box<Impossible>),
}

/// The question and how it came out.
#[derive(Debug, Clone, PartialEq)]
pub struct Study {
    /// Duties with their figures.
    pub demands: Demands,
    /// What they were worked out from.
    pub basics: Basics,
    /// The grid of shapes.
    pub grid: Grid,
    /// How it came out.
    pub outcome: Outcome,
}

/// A facility compiled over the years, its first year run once beforehand where there is one.
fn candidates<'a>(
    facility: &Facility,
    weather: &DailyWeather,
    timeline: &'a Timeline,
    period: (NaiveDate, NaiveDate),
) -> Result<Candidates<'a>, Problems> {
    let candidates = Candidates::new(facility, weather, timeline, period)?;
    let warm_up = if candidates.days() >= WARM_UP_DAYS { WARM_UP_DAYS } else { 0 };
    Ok(candidates.warmed_up(warm_up))
}

/// What runs behind a search: one facility over the years.
struct Runner<'a> {
    site: Site<'a>,
    demands: &'a Demands,
    candidates: &'a Candidates<'a>,
    uses: &'a [PlaceId],
    unknown_days: usize,
}

impl Runner<'_> {
    fn simulate(&self, versions: &[Version]) -> Result<Vec<(Simulated, Vec<f64>)>, Problems> {
        let facilities: Vec<Facility> = versions
            .iter()
            .map(|version| with_basin(self.site.facility, self.site.pond, self.demands, version))
            .collect();
        let here = Node::Place(self.site.pond);
        let seen = [
            Seen::Water(Selector::from(here).purpose(Purpose::Spill)),
            Seen::Water(Selector::to(here)),
            Seen::Water(Selector::to(here).purpose(Purpose::Rain)),
            Seen::Volume(self.site.pond),
        ];
        let apart = self.demands.duties.spills.as_ref().map_or(1, |duty| duty.apart_days);
        let runs = self.candidates.run(&facilities, &seen, self.uses)?;
        Ok(runs
            .into_iter()
            .zip(versions)
            .map(|(run, version)| {
                let short = run.short_days;
                let mut series = run.series.into_iter();
                let spill = series.next().unwrap_or_default();
                let sum = |series: Option<Vec<f64>>| series.unwrap_or_default().iter().sum::<f64>();
                let inflow_m3 = sum(series.next());
                let rain_m3 = sum(series.next());
                let holds = series.next().unwrap_or_default();
                // Water over the sludge store that leaves just room for the storm.
                let stack = self.demands.stack(&version.basin);
                let sludge_m3 = version.sludge.m3(&version.basin, &stack);
                let most = version.basin.capacity_m3() - stack.storm_m3 - sludge_m3;
                let lacking = if stack.storm_m3 > 0.0 {
                    holds.iter().filter(|m3| **m3 > most + 1e-6 * (1.0 + most.abs())).count()
                } else {
                    0
                };
                let simulated = Simulated {
                    spill: SpillRecord::of(&spill, apart),
                    shortage_days: short,
                    inflow_m3,
                    rain_m3,
                    storm_room_lacking_days: lacking,
                    unknown_days: self.unknown_days,
                };
                (simulated, spill)
            })
            .collect())
    }

    fn runs(&self, basins: &[Basin]) -> Result<Vec<Simulated>, Problems> {
        let versions: Vec<Version> = basins.iter().map(|basin| Version::of(*basin)).collect();
        Ok(self.simulate(&versions)?.into_iter().map(|(run, _)| run).collect())
    }

    fn passes(&self, basins: &[Basin]) -> Result<Vec<bool>, Problems> {
        if !self.demands.needs_weather() {
            return Ok(vec![true; basins.len()]);
        }
        Ok(self.runs(basins)?.iter().map(|run| self.demands.over_years(run).iter().all(Check::is_met)).collect())
    }

    /// All checks of several shapes.
    fn checks(&self, basins: &[Basin]) -> Result<Vec<Vec<Check>>, Problems> {
        let runs =
            if self.demands.needs_weather() { self.runs(basins)? } else { vec![Simulated::default(); basins.len()] };
        Ok(basins
            .iter()
            .zip(&runs)
            .map(|(basin, run)| {
                let mut checks = self.demands.fixed(basin);
                checks.extend(self.demands.over_years(run));
                checks
            })
            .collect())
    }

    fn smaller(&self, grid: &Grid, basin: &Basin) -> Result<Vec<Smaller>, Problems> {
        let near = neighbours(grid, basin);
        let shapes: Vec<Basin> = near.iter().filter_map(|one| one.basin).collect();
        let mut checks = self.checks(&shapes)?.into_iter();
        Ok(near
            .into_iter()
            .map(|one| Smaller { word: one.word, shape: one.basin.and_then(|basin| Some((basin, checks.next()?))) })
            .collect())
    }
}

/// Answers the question. `progress` is told what is being done.
///
/// # Errors
/// What is wrong in the files for this question, or makes a balance impossible.
pub fn study(site: Site, duties: Duties, progress: &dyn Fn(&str)) -> Result<Study, Problems> {
    let problems = Problems::new();
    let Some(grid) = Grid::of(&duties, &problems) else {
        return Err(problems);
    };
    let Some(pond) = pond_of(site.facility, site.pond) else {
        problems.add(Problem::error(&site.facility.place, "the place to be sized is no pond"));
        return Err(problems);
    };
    let timeline = records(site.facility, site.period);
    progress("running the site over the years of weather");
    let (demands, basics) = demands(site, &duties, pond, &grid, &timeline, &problems)?;
    let uses = uses_of(site.facility, site.pond);
    if let Some(shortage) = &duties.shortage
        && uses.is_empty()
    {
        problems.add(
            Problem::error(&shortage.place, "nothing draws from this pond, so it can run nobody short")
                .hint("take the duty out"),
        );
        return Err(problems);
    }
    let reference = with_basin(site.facility, site.pond, &demands, &Version::of(largest(&grid).unwrap_or(grid.common)));
    let candidates = candidates(&reference, site.weather, &timeline, site.period)?;
    let runner =
        Runner { site, demands: &demands, candidates: &candidates, uses: &uses, unknown_days: basics.unknown_days };
    progress("searching the grid of shapes");
    let fixed = |basin: &Basin| demands.fixed(basin).iter().all(Check::is_met);
    let objective = |basin: &Basin| demands.objective(basin);
    let mut passes = |basins: &[Basin]| runner.passes(basins);
    let outcome = match least(&grid, &objective, &fixed, &mut passes)? {
        None => Outcome::None(Box::new(impossible(&grid, &demands, &runner)?)),
        Some(coarse) => {
            progress("refining around the best shape");
            let fine = grid.around(&coarse.basin);
            let found = least(&fine, &objective, &fixed, &mut passes)?.unwrap_or(coarse);
            progress("trying what could be otherwise");
            Outcome::Pond(Box::new(answer(&runner, &grid, fine, coarse, found, &basics, &timeline)?))
        }
    };
    if problems.has_errors() {
        return Err(problems);
    }
    Ok(Study { demands, basics, grid, outcome })
}

fn pond_of(facility: &Facility, pond: PlaceId) -> Option<&Pond> {
    match facility.get(pond).map(|place| &place.kind) {
        Some(PlaceKind::Pond(pond)) => Some(pond),
        _ => None,
    }
}

/// The shape of the grid with the most room.
fn largest(grid: &Grid) -> Option<Basin> {
    grid.plans().into_iter().flatten().max_by(|a, b| a.capacity_m3().total_cmp(&b.capacity_m3()))
}

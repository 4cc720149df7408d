//! The whole question: from a facility, its weather and the duties to the least pond, or to the duty that cannot be met.

mod answers;
mod cases;
mod demanded;
mod holding;
mod known;
mod operated;
mod paced;
mod pools;
mod this;
mod tried;
mod typed;
mod whole;

pub use cases::LESS_STORM;
pub use operated::Part;
pub use this::{Amount, Change, Standing, study_this};
pub use tried::{Held, Tried, Why};
pub use typed::AsTyped;
pub use whole::study;

use chrono::{Days, NaiveDate};
use rayon::prelude::*;
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

use super::circulating::{Around, circulating};
use super::columns::{least_by_depth, neighbours, spread};
use super::drainage::{Drained, drained};
use super::hand_rules::{Counted, HandRule, hand_rules};
use super::held::HoldRun;
use super::inflow::{Greatest, Inflow, WASH};
use super::peak::{self, Peak};
use super::search::{Aim, Found, Passed, Weather, least};
use super::site::{
    DRAWDOWN_STARTS_OVER_M, SludgeStore, Version, drawdown_to, filled_over_sludge_m, pool_of, records, uses_of,
    with_basin,
};
use super::spills::{Simulated, SpillRun, by_month};
use super::{Advice, Basin, Check, Comes, Corners, Demands, Duties, Duty, Grid, Layer, Needs, Stack, Terms};
use answers::first_year;
use demanded::{demands, settling_m_s};
use known::Known;
use paced::Paced;
use this::Changes;
use tried::tried;

/// Dry share of sludge where neither the duties nor the facility say: common practice, no source.
const USUAL_DRY_SHARE: f64 = 0.08;
/// Water freezes, K.
const FREEZING_K: f64 = 273.15;
/// Days run beforehand and not counted.
pub const WARM_UP_DAYS: usize = 365;
/// Days run to rule out shapes that are less than the best found, of all of them together, at the most: of 30 years the
/// lesser number of shapes.
const MOST_DAYS: usize = 4_000 * 10_958;
/// That many shapes of however many days, and no more of few days.
const MOST_SIMULATED: (usize, usize) = (4_000, 12_000);
/// Shapes listed beside the least one.
const MOST_LISTED: usize = 6;
/// Sizes of a kind of the coarse grid that the list of other shapes, and what no shape does, are taken from.
const COARSE: usize = 24;
/// Sizes of a kind among which a pond that its run keeps is looked for first.
const COARSE_KEPT: usize = 6;
/// Linear sizes of the curve, times those of the pond found; those that leave the plot are left out.
const CURVE: [f64; 11] = [0.6, 0.7, 0.8, 0.85, 0.9, 0.95, 1.0, 1.05, 1.1, 1.2, 1.35];

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
    /// Filters that draw from this pond and wash back into it, by name, and whether they do so straight.
    pub circulating: Vec<(String, bool)>,
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
    /// Duties that fail, each with by how much.
    pub fails: Vec<Check>,
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
    /// The step, m.
    pub step_m: f64,
    /// The shape and its checks; none where the plot's own rules do not allow it.
    pub shape: Option<(Basin, Vec<Check>)>,
}

/// What a slower drawdown would ask for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InTime {
    /// The rate that frees the storm's room of the pond found in time, m³/s.
    pub m3_s: f64,
    /// The least pond that its run keeps with no faster drawdown than frees its own room in time; none where none is kept.
    pub least: Option<Basin>,
}

/// The least pond.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// The least shape.
    pub found: Found,
    /// With the sizes that are typed for it.
    pub typed: AsTyped,
    /// What nobody typed and an engineer looks at.
    pub advice: Vec<Advice>,
    /// Rate at which water is let out before a storm, m³/s, where it is.
    pub drawdown_m3_s: Option<f64>,
    /// The least pond at the slowest rate that frees the storm's room in time, where this one takes a faster.
    pub in_time: Option<InTime>,
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
    /// Shapes one step smaller; none for a pond that was not searched for.
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
    /// Where no pond of the plot is kept as asked: what would have this one kept, each run and found to do every duty.
    pub cures: Vec<Change>,
    /// Duties that it does as found and not as it is printed and typed; nothing but where no other pond was found.
    pub missed_as_typed: Vec<Check>,
}

impl Answer {
    /// The pond itself as one of the sizes that were run.
    pub fn held(&self) -> Held {
        Held {
            basin: self.found.basin,
            layers: self.layers.clone(),
            stack: self.stack,
            normal_m: self.normal_m,
            checks: self.checks.clone(),
            advice: self.advice.clone(),
            run: self.run,
            cost: self.cost,
            drawdown_m3_s: self.drawdown_m3_s,
        }
    }

    /// Duties that the run does not keep.
    pub fn not_kept(&self) -> impl Iterator<Item = &Check> {
        self.checks.iter().filter(|check| check.comes == Comes::NotKept)
    }

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
    /// A pond that stands or is drawn, held against the duties, and what would make it do them.
    This(Box<Answer>, Vec<Change>),
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
    /// The sizes that stand behind it, each run and held against every duty, the smallest first.
    pub tried: Vec<Tried>,
    /// The pond that stands, where a least one is looked for.
    pub standing: Option<Standing>,
}

impl Study {
    /// Whether years of weather left shapes out, which takes that no shape between two nearly equal ones that fail passes.
    pub fn is_taken_between(&self) -> bool {
        let duties = &self.demands.duties;
        duties.spills.is_some() || duties.shortage.is_some()
    }
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
    /// Shapes that no search takes.
    refused: &'a [Basin],
    /// Runs of this facility and these candidates; none where they are others' or change from run to run.
    known: Option<&'a Known>,
}

impl Runner<'_> {
    fn simulate(&self, versions: &[Version]) -> Result<Vec<(Simulated, Vec<f64>)>, Problems> {
        let facilities: Vec<Facility> = versions
            .par_iter()
            .map(|version| with_basin(self.site.facility, self.site.pond, self.demands, version))
            .collect();
        let here = Node::Place(self.site.pond);
        let to = |purpose| Seen::Water(Selector::to(here).purpose(purpose));
        let seen = [
            Seen::Water(Selector::from(here).purpose(Purpose::Spill)),
            Seen::Volume(self.site.pond),
            Seen::Water(Selector::to(here)),
            to(Purpose::Rain),
            to(Purpose::Runoff),
            to(Purpose::Spill),
            to(Purpose::Bypass),
            Seen::Water(Selector::from(here).purpose(Purpose::PumpedOut)),
            to(Purpose::TopUp),
            to(Purpose::Unaccounted),
        ];
        // Wash water of filters that draw from this pond only comes back to it.
        let back = circulating(self.site.facility, self.site.pond)
            .into_iter()
            .flat_map(|id| WASH.map(|purpose| Seen::Water(Selector::between(Node::Place(id), here).purpose(purpose))));
        let around = Around::of(self.site.facility, self.site.pond);
        let over = around.as_ref().map_or(&[][..], Around::seen);
        let seen: Vec<Seen> = seen.into_iter().chain(WASH.map(to)).chain(back).chain(over.iter().copied()).collect();
        let rain_mm = self.rain_mm();
        let runs = self.candidates.run(&facilities, &seen, self.uses)?;
        Ok(runs
            .into_iter()
            .zip(versions.iter().zip(&facilities))
            .map(|(run, (version, facility))| {
                let (short, short_m3) = (run.short_days, run.short_m3);
                let mut series = run.series.into_iter();
                let spill = series.next().unwrap_or_default();
                let holds = series.next().unwrap_or_default();
                let mut more: Vec<Vec<f64>> = series.collect();
                let over = more.split_off(more.len().saturating_sub(over.len()));
                let came_back = around.as_ref().map(|around| around.came_back(&over)).unwrap_or_default();
                let sum = |at: usize| more.get(at).map_or(0.0, |of| of.iter().sum());
                let (let_out, filled) = (more.get(5).into_iter().flatten(), more.get(6).into_iter().flatten());
                // Water over the sludge store that leaves just room for the storm; and under that for what is to be held.
                let basin = &version.basin;
                let stack = self.demands.stack(basin);
                let sludge_m3 = version.sludge.m3(basin, &stack);
                let most = self.demands.most_before_storm_m3(basin) - sludge_m3;
                let lacks = |m3: &f64| stack.storm_m3 > 0.0 && *m3 > most + 1e-6 * (1.0 + most.abs());
                let filled_m = filled_over_sludge_m(facility, self.site.pond)
                    .map(|over_m| version.sludge.top_m(basin, &stack) + over_m);
                let known = spill.len().saturating_sub(self.unknown_days);
                let simulated = Simulated {
                    spill: self.demands.duties.spill_record(&spill, known),
                    shortage_days: short,
                    short_m3: short_m3.iter().sum(),
                    short_in: by_month(&short_m3, self.site.period.0),
                    inflow_m3: sum(0),
                    rain_m3: sum(1),
                    runoff_m3: sum(2) + sum(3) + sum(4),
                    let_out_m3: sum(5),
                    filled_m3: sum(6),
                    filled_and_let_out_m3: let_out
                        .zip(filled)
                        .map(|(out, filled): (&f64, &f64)| out.min(*filled))
                        .sum(),
                    storm_room_lacking_days: holds.iter().filter(|m3| lacks(m3)).count(),
                    longest_lacking_days: longest_stretch(&holds, &lacks),
                    hold: self.hold_run(basin, sludge_m3, &rain_mm, &holds, (&more, &came_back)),
                    filled_into_hold: self.demands.duties.hold.is_some()
                        && filled_m.is_some_and(|m| m > self.demands.hold_foot_m(basin) + DRAWDOWN_STARTS_OVER_M),
                    filled_into_storm: self.demands.duties.storm.is_some()
                        && filled_m.is_some_and(|m| basin.volume_m3(m) - sludge_m3 > most + 1e-6 * (1.0 + most.abs())),
                    unknown_days: self.unknown_days,
                };
                (simulated, spill)
            })
            .collect())
    }

    fn passes(&self, basins: &[Basin]) -> Result<Vec<Passed>, Problems> {
        // More surface catches more rain and loses more water: a larger pond may spill and run short oftener.
        let passed = |paced: &Paced| Passed { larger_is_better: true, other: paced.does };
        Ok(self.paced(basins, false, false)?.iter().map(passed).collect())
    }

    /// What is known of a shape without running it.
    fn passed_before(&self, basin: &Basin) -> Option<Passed> {
        self.known.and_then(|known| known.passed(self.demands, basin))
    }

    /// The least shape of a grid; `quick`, one that is nearly the least.
    fn least(&self, grid: &Grid, quick: bool) -> Result<Option<Found>, Problems> {
        let demands = self.demands;
        let is_refused = |corners: &Corners| {
            corners.needs == corners.room && corners.room == corners.surface && self.refused.contains(&corners.room)
        };
        let fixed =
            |corners: &Corners| demands.fixed_between(corners).iter().all(Check::is_met) && !is_refused(corners);
        let mut passes = |basins: &[Basin]| self.passes(basins);
        let before = |basin: &Basin| self.passed_before(basin);
        let weather = demands.weather_may_refuse().then_some(Weather {
            passes: &mut passes,
            before: Some(&before),
            larger_may_be_worse: true,
            most: if quick { 0 } else { self.most_simulated() },
        });
        let at_least = |smallest: &Basin, corners: &Corners| demands.objective_at_least(smallest, corners);
        let aim = Aim { of: &|basin| demands.objective(basin), at_least: Some(&at_least) };
        least(grid, aim, &fixed, weather)
    }

    fn most_simulated(&self) -> usize {
        (MOST_DAYS / self.candidates.days().max(1)).clamp(MOST_SIMULATED.0, MOST_SIMULATED.1)
    }

    /// A shape at the rate that suits it best, and whether its run then keeps all that it asks for.
    fn suited(&self, basin: &Basin) -> Result<(Option<f64>, bool), Problems> {
        if !self.demands.needs_weather() {
            return Ok((None, true));
        }
        let paced = self.best_paced(std::slice::from_ref(basin))?.pop();
        Ok(paced.map_or((None, false), |paced| {
            let checks = self.demands.checks(basin, &paced.run);
            (paced.rate_m3_s, checks.iter().all(|check| check.comes != Comes::NotKept))
        }))
    }

    /// All checks of several shapes, each at the rate that suits it best.
    fn checks(&self, basins: &[Basin]) -> Result<Vec<Vec<Check>>, Problems> {
        let runs: Vec<Simulated> = if self.demands.needs_weather() {
            self.best_paced(basins)?.into_iter().map(|paced| paced.run).collect()
        } else {
            vec![Simulated::default(); basins.len()]
        };
        Ok(basins.iter().zip(&runs).map(|(basin, run)| self.demands.checks(basin, run)).collect())
    }

    fn smaller(&self, grid: &Grid, basin: &Basin) -> Result<Vec<Smaller>, Problems> {
        let near = neighbours(grid, basin);
        let shapes: Vec<Basin> = near.iter().filter_map(|one| one.basin).collect();
        let mut checks = self.checks(&shapes)?.into_iter();
        Ok(near
            .into_iter()
            .map(|one| Smaller {
                word: one.word,
                step_m: one.step_m,
                shape: one.basin.and_then(|basin| Some((basin, checks.next()?))),
            })
            .collect())
    }
}

/// The uses that draw from the pond; a duty on shortage is told where there are none.
fn drawing_uses(site: Site, duties: &Duties) -> Result<Vec<PlaceId>, Problems> {
    let uses = uses_of(site.facility, site.pond);
    match &duties.shortage {
        Some(shortage) if uses.is_empty() => {
            let problems = Problems::new();
            problems.add(
                Problem::error(&shortage.place, "nothing draws from this pond, so it can run nobody short")
                    .hint("take the duty out"),
            );
            Err(problems)
        }
        _ => Ok(uses),
    }
}

fn pond_of(facility: &Facility, pond: PlaceId) -> Option<&Pond> {
    match facility.get(pond).map(|place| &place.kind) {
        Some(PlaceKind::Pond(pond)) => Some(pond),
        _ => None,
    }
}

/// The longest run of values on end of which each counts.
fn longest_stretch(values: &[f64], counts: &dyn Fn(&f64) -> bool) -> usize {
    let (mut longest, mut now) = (0, 0);
    for value in values {
        now = if counts(value) { now + 1 } else { 0 };
        longest = longest.max(now);
    }
    longest
}

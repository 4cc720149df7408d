//! The whole question: from a facility, its weather and the duties to the least pond, or to the duty that cannot be met.

use chrono::{Days, NaiveDate};
use uom::si::f64::{Length, MassDensity, ThermodynamicTemperature};
use uom::si::length::meter;
use uom::si::mass_density::kilogram_per_cubic_meter;
use uom::si::thermodynamic_temperature::kelvin;
use uom::si::velocity::meter_per_second;

use crate::balance::{self, Assumption, Basis, Candidates, Draw, Node, Purpose, Seen, Selector};
use crate::diagnostic::{Problem, Problems};
use crate::facility::model::{Facility, PlaceId, PlaceKind, Pond};
use crate::particles::settling_velocity;
use crate::records::Timeline;
use crate::weather::DailyWeather;

use super::drainage::{Drained, drained};
use super::hand_rules::{HandRule, hand_rules};
use super::inflow::{Greatest, Inflow};
use super::peak::{self, Peak};
use super::search::{Found, least, least_by_depth, neighbours};
use super::site::{SludgeStore, Version, pool_of, records, uses_of, with_basin};
use super::spills::{LEAST_SPILL_M3, Simulated, SpillRecord};
use super::{Basin, Check, Demands, Duties, Duty, Grid, Layer, Needs, Stack};

/// Dry share of sludge where neither the duties nor the facility say: common practice, no source.
const USUAL_DRY_SHARE: f64 = 0.08;
/// Days run beforehand and not counted.
pub const WARM_UP_DAYS: usize = 365;
/// Shapes listed beside the least one.
const MOST_LISTED: usize = 14;
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
    let warm_up = if candidates.days() >= WARM_UP_DAYS {
        WARM_UP_DAYS
    } else {
        0
    };
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
        let apart = self
            .demands
            .duties
            .spills
            .as_ref()
            .map_or(1, |duty| duty.apart_days);
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
                    holds
                        .iter()
                        .filter(|m3| **m3 > most + 1e-6 * (1.0 + most.abs()))
                        .count()
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
        Ok(self
            .simulate(&versions)?
            .into_iter()
            .map(|(run, _)| run)
            .collect())
    }

    fn passes(&self, basins: &[Basin]) -> Result<Vec<bool>, Problems> {
        if !self.demands.needs_weather() {
            return Ok(vec![true; basins.len()]);
        }
        Ok(self
            .runs(basins)?
            .iter()
            .map(|run| self.demands.over_years(run).iter().all(Check::is_met))
            .collect())
    }

    /// All checks of several shapes.
    fn checks(&self, basins: &[Basin]) -> Result<Vec<Vec<Check>>, Problems> {
        let runs = if self.demands.needs_weather() {
            self.runs(basins)?
        } else {
            vec![Simulated::default(); basins.len()]
        };
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
            .map(|one| Smaller {
                word: one.word,
                shape: one.basin.and_then(|basin| Some((basin, checks.next()?))),
            })
            .collect())
    }
}

/// Answers the question. `progress` is told what is being done.
///
/// # Errors
/// What is wrong in the files for this question, or makes a balance impossible.
pub fn study(site: Site, duties: Duties, progress: &dyn Fn(&str)) -> Result<Study, Problems> {
    let problems = Problems::new();
    let Some(grid) = Grid::of(&duties, site.facility.system, &problems) else {
        return Err(problems);
    };
    let Some(pond) = pond_of(site.facility, site.pond) else {
        problems.add(Problem::error(
            &site.facility.place,
            "the place to be sized is no pond",
        ));
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
            Problem::error(
                &shortage.place,
                "nothing draws from this pond, so it can run nobody short",
            )
            .hint("take the duty out"),
        );
        return Err(problems);
    }
    let reference = with_basin(
        site.facility,
        site.pond,
        &demands,
        &Version::of(largest(&grid).unwrap_or(grid.common)),
    );
    let candidates = candidates(&reference, site.weather, &timeline, site.period)?;
    let runner = Runner {
        site,
        demands: &demands,
        candidates: &candidates,
        uses: &uses,
        unknown_days: basics.unknown_days,
    };
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
            Outcome::Pond(Box::new(answer(
                &runner, &grid, fine, coarse, found, &basics, &timeline,
            )?))
        }
    };
    if problems.has_errors() {
        return Err(problems);
    }
    Ok(Study {
        demands,
        basics,
        grid,
        outcome,
    })
}

fn pond_of(facility: &Facility, pond: PlaceId) -> Option<&Pond> {
    match facility.get(pond).map(|place| &place.kind) {
        Some(PlaceKind::Pond(pond)) => Some(pond),
        _ => None,
    }
}

/// The shape of the grid with the most room.
fn largest(grid: &Grid) -> Option<Basin> {
    grid.plans()
        .into_iter()
        .flatten()
        .max_by(|a, b| a.capacity_m3().total_cmp(&b.capacity_m3()))
}

/// Works out what the site sends to the pond, with the largest pond of the plot in place, so that nothing upstream or
/// downstream runs short for lack of it.
fn demands(
    site: Site,
    duties: &Duties,
    pond: &Pond,
    grid: &Grid,
    timeline: &Timeline,
    problems: &Problems,
) -> Result<(Demands, Basics), Problems> {
    let facility = site.facility;
    let cells = duties.cells.as_ref().map_or(pond.cells.max(1), |said| {
        u32::try_from(said.value).unwrap_or(1)
    });
    let pool_m = duties
        .pool
        .as_ref()
        .map_or_else(|| pool_of(pond), |figure| figure.si);
    let mut demands = Demands {
        duties: duties.clone(),
        needs: Needs::default(),
        pool_m,
        cells,
    };
    let Some(largest) = largest(grid) else {
        let told = Problems::new();
        told.add(
            Problem::error(&duties.plot.steepest.place, "no pond of any size fits this plot: its sides meet before they reach a floor, or it is too short for its width")
                .hint("look at `steepest side`, `length to width at least` and the steps"),
        );
        return Err(told);
    };
    let base = with_basin(facility, site.pond, &demands, &Version::of(largest));
    let candidates = candidates(&base, site.weather, timeline, site.period)?;
    let inflow = Inflow::of(&candidates, &base, site.pond, site.weather, site.period.0)?;
    let (assumptions, unknown_solids) = first_year(site, &base, timeline)?;
    let drained = drained(facility, site.pond, problems);
    let runoff = |rain_m: f64| drained.iter().map(|one| one.runoff_m3(rain_m)).sum::<f64>();
    let typed_share = duties
        .clean_out
        .as_ref()
        .and_then(|duty| duty.dry_solids.as_ref().map(|figure| figure.si))
        .or_else(|| {
            pond.sludge
                .as_ref()?
                .dry_solids
                .ends()
                .map(|(low, _)| low.value)
                .filter(|share| *share > 0.0)
        });
    let dry_share = (
        typed_share.unwrap_or(USUAL_DRY_SHARE),
        typed_share.is_some(),
    );
    if let Some(duty) = &duties.clean_out
        && unknown_solids
    {
        problems.add(
            Problem::error(&duty.place, "solids that come to this pond are not known, so its sludge can't be worked out")
                .hint("give the solids of what runs to it and the shares that filters stop, or take the duty out"),
        );
    }
    let needs = &mut demands.needs;
    let (mut returned, mut washed) = (None, None);
    if let Some(hold) = &duties.hold {
        returned = hold
            .return_days
            .as_ref()
            .and_then(|days| inflow.most_returned(days.value));
        washed = hold
            .wash_days
            .as_ref()
            .and_then(|days| inflow.most_wash(days.value));
        needs.return_m3 = returned.map_or(0.0, |most| most.m3);
        needs.wash_m3 = washed.map_or(0.0, |most| most.m3);
        if let Some(rain) = &hold.first_rain {
            needs.first_rain_m = rain.si;
            needs.first_rain_runoff_m3 = runoff(rain.si);
        }
    }
    if let Some(storm) = &duties.storm {
        needs.storm_m = storm.storm.depth.si;
        needs.storm_runoff_m3 = runoff(storm.storm.depth.si);
    }
    if duties.clean_out.is_some() {
        needs.sludge = inflow.sludge(&candidates, facility, site.weather, dry_share.0);
    }
    let mut peak = None;
    if let Some(settle) = &duties.settle {
        needs.settling_m_s = settling_velocity(
            Length::new::<meter>(settle.particle.si),
            MassDensity::new::<kilogram_per_cubic_meter>(settle.density.si),
            ThermodynamicTemperature::new::<kelvin>(settle.temperature.si),
        )
        .value
        .get::<meter_per_second>();
        if !(needs.settling_m_s > 0.0) {
            problems.add(
                Problem::error(
                    &settle.density.place,
                    "a particle no denser than water never settles",
                )
                .hint("what floats is skimmed, not settled: name a particle that sinks"),
            );
        }
        match &settle.flow {
            Some(flow) => needs.peak_m3_s = flow.si,
            None => {
                let mut worked = peak::dry_weather(&base, site.pond);
                match &settle.rain_at_peak {
                    Some(rain) => peak::runoff(&mut worked, &drained, rain.si),
                    None => {
                        if let Some((_, m3)) = inflow.most_runoff().filter(|(_, m3)| *m3 > 0.0) {
                            worked.parts.push(peak::PeakPart {
                                from: "the wettest day's runoff, spread over 24 h".to_owned(),
                                what: "runoff",
                                m3_s: m3 / 86_400.0,
                            });
                            worked.left_out.push(
                                "runoff within a day: heavy rain runs off faster than a day's mean; write `rain at the peak`".to_owned(),
                            );
                        }
                    }
                }
                needs.peak_m3_s = worked.m3_s();
                if !(needs.peak_m3_s > 0.0) {
                    problems.add(
                        Problem::error(&settle.place, "no flow to this pond could be worked out, so nothing says what it must settle at")
                            .hint("write the flow and where it comes from: `flow: 620 gpm, flow from: pump curve`"),
                    );
                }
                peak = Some(worked);
            }
        }
    }
    if problems.has_errors() {
        let told = Problems::new();
        problems
            .in_order()
            .into_iter()
            .for_each(|problem| told.add(problem));
        return Err(told);
    }
    let stuck_wash = facility
        .places
        .iter()
        .filter_map(|place| match &place.kind {
            PlaceKind::Filter(filter) => {
                let wash = filter.wash.as_ref()?;
                let share = super::drainage::share_along(facility, &wash.to, site.pond, 0);
                let rate = share * peak::wash_rate(filter)?;
                (rate > 0.0).then(|| (place.name.clone(), rate))
            }
            _ => None,
        })
        .max_by(|a, b| a.1.total_cmp(&b.1));
    let days = candidates.days();
    let unknown_days = (0..days)
        .filter(|day| {
            let date = site.period.0.checked_add_days(Days::new(*day as u64));
            date.and_then(|date| site.weather.rain_on(date))
                .is_none_or(|rain| rain.depth_mm.is_none())
        })
        .count();
    let uses = uses_of(facility, site.pond);
    let basics = Basics {
        drained,
        peak,
        returned,
        washed,
        dry_share,
        solids_kg_a_year: inflow.solids_kg.iter().flatten().sum::<f64>() / inflow.years().max(1e-9),
        stuck_wash,
        uses: uses
            .iter()
            .filter_map(|id| facility.get(*id))
            .map(|place| place.name.clone())
            .collect(),
        assumptions,
        steps_per_day: candidates.steps_per_day(),
        unknown_days,
        days,
    };
    Ok((demands, basics))
}

/// One year with its ledger: what it assumed, and whether the solids that come to the pond are known.
fn first_year(
    site: Site,
    facility: &Facility,
    timeline: &Timeline,
) -> Result<(Vec<Assumption>, bool), Problems> {
    let end = site
        .period
        .0
        .checked_add_days(Days::new(365))
        .unwrap_or(site.period.1)
        .min(site.period.1);
    let run = balance::run(
        facility,
        site.weather,
        timeline,
        (site.period.0, end),
        &Draw::MIDDLE,
    )?;
    let to = Selector::to(Node::Place(site.pond));
    let unknown = run.ledger.select(&to).into_iter().any(|way| {
        (0..run.ledger.days()).any(|day| run.ledger.solids_basis(day, way).has(Basis::UNKNOWN))
    });
    Ok((run.assumptions, unknown))
}

fn answer(
    runner: &Runner,
    grid: &Grid,
    fine: Grid,
    coarse: Found,
    found: Found,
    basics: &Basics,
    timeline: &Timeline,
) -> Result<Answer, Problems> {
    let demands = runner.demands;
    let basin = found.basin;
    let stack = demands.stack(&basin);
    let mut ran = runner.simulate(&[Version::of(basin)])?.into_iter();
    let (run, daily) = ran.next().unwrap_or_default();
    let mut checks = demands.fixed(&basin);
    checks.extend(demands.over_years(&run));
    let smaller = runner.smaller(&fine, &basin)?;
    let listed = listed(runner, grid)?;
    let curve_shapes: Vec<Basin> = CURVE
        .iter()
        .map(|times| Basin {
            length_m: basin.length_m * times,
            width_m: basin.width_m * times,
            ..basin
        })
        .filter(|shape| shape.shape().is_some() && demands.stack(shape).pool_top_m < shape.depth_m)
        .collect();
    let curve = curve_shapes
        .iter()
        .copied()
        .zip(runner.runs(&curve_shapes)?)
        .collect();
    let cases = cases(runner, &basin, &run, basics, timeline)?;
    let drained_m2 = basics
        .drained
        .iter()
        .map(|one| one.share * one.area_m2)
        .sum();
    Ok(Answer {
        layers: stack.layers(&basin, demands.storm_from_m(&basin)),
        normal_m: demands.normal_m(&basin),
        sludge_m3_a_year: demands.sludge_m3_a_year(&basin),
        spills: events(
            &daily,
            runner.site.period.0,
            demands
                .duties
                .spills
                .as_ref()
                .map_or(1, |duty| duty.apart_days),
        ),
        rules: hand_rules(
            &basin,
            drained_m2,
            demands.needs.peak_m3_s,
            demands.needs.settling_m_s,
        ),
        cost: demands.cost(&basin),
        found,
        coarse,
        fine,
        stack,
        checks,
        run,
        smaller,
        listed,
        curve,
        cases,
    })
}

fn events(daily_m3: &[f64], first: NaiveDate, apart: u32) -> Vec<Spill> {
    let mut spills: Vec<(usize, usize, f64)> = Vec::new();
    for (day, amount) in daily_m3
        .iter()
        .enumerate()
        .filter(|(_, amount)| **amount >= LEAST_SPILL_M3)
    {
        match spills.last_mut() {
            Some((_, last, sum)) if day - *last <= apart as usize => {
                *last = day;
                *sum += amount;
            }
            _ => spills.push((day, day, *amount)),
        }
    }
    spills
        .into_iter()
        .filter_map(|(from, to, m3)| {
            Some(Spill {
                first: first.checked_add_days(Days::new(from as u64))?,
                days: to - from + 1,
                m3,
            })
        })
        .collect()
}

fn listed(runner: &Runner, grid: &Grid) -> Result<Vec<Listed>, Problems> {
    let demands = runner.demands;
    let fixed = |basin: &Basin| demands.fixed(basin).iter().all(Check::is_met);
    let objective = |basin: &Basin| demands.objective(basin);
    let mut shapes = least_by_depth(grid, &objective, &fixed, &mut |basins: &[Basin]| {
        runner.passes(basins)
    })?;
    shapes.sort_by(|a, b| objective(a).total_cmp(&objective(b)));
    shapes.truncate(MOST_LISTED);
    let near: Vec<Vec<Option<Basin>>> = shapes
        .iter()
        .map(|basin| {
            neighbours(grid, basin)
                .into_iter()
                .map(|one| one.basin)
                .collect()
        })
        .collect();
    let all: Vec<Basin> = near.iter().flatten().copied().flatten().collect();
    let mut checks = runner.checks(&all)?.into_iter();
    Ok(shapes
        .into_iter()
        .zip(near)
        .map(|(basin, near)| {
            let smaller: Vec<Smaller> = near
                .into_iter()
                .map(|one| Smaller {
                    word: "",
                    shape: one.and_then(|basin| Some((basin, checks.next()?))),
                })
                .collect();
            Listed {
                basin,
                governs: governing(&smaller),
            }
        })
        .collect())
}

fn cases(
    runner: &Runner,
    basin: &Basin,
    run: &Simulated,
    basics: &Basics,
    timeline: &Timeline,
) -> Result<Vec<Case>, Problems> {
    let demands = runner.demands;
    let weather_fails = |run: &Simulated| -> Vec<Duty> {
        demands
            .over_years(run)
            .iter()
            .filter(|check| !check.is_met())
            .map(|check| check.duty)
            .collect()
    };
    let mut cases = vec![Case {
        what: "as sized",
        run: Some(*run),
        settled: settled(demands, basin, demands.needs.peak_m3_s),
        clean_out_years: years(demands, basin, 1.0),
        fails: Vec::new(),
    }];
    for (what, times) in [("rain 20 % more", 1.2), ("rain 20 % less", 0.8)] {
        let mut weather = runner.site.weather.clone();
        for day in &mut weather.rain {
            day.depth_mm = day.depth_mm.map(|mm| mm * times);
        }
        let facility = with_basin(
            runner.site.facility,
            runner.site.pond,
            demands,
            &Version::of(*basin),
        );
        let candidates = candidates(&facility, &weather, timeline, runner.site.period)?;
        let other = Runner {
            candidates: &candidates,
            ..*runner
        };
        let run = other
            .runs(&[*basin])?
            .into_iter()
            .next()
            .unwrap_or_default();
        cases.push(Case {
            what,
            run: Some(run),
            settled: None,
            clean_out_years: None,
            fails: weather_fails(&run),
        });
    }
    let of = Version::of(*basin);
    let versions = [
        (
            "seepage 30 % more",
            Version {
                seepage_times: 1.3,
                ..of
            },
        ),
        (
            "seepage 30 % less",
            Version {
                seepage_times: 0.7,
                ..of
            },
        ),
        (
            "sludge store empty",
            Version {
                sludge: SludgeStore::Empty,
                ..of
            },
        ),
        (
            "one clean-out left out",
            Version {
                sludge: SludgeStore::Twice,
                ..of
            },
        ),
    ];
    let runs = runner.simulate(&versions.map(|(_, version)| version))?;
    for ((what, version), (run, _)) in versions.into_iter().zip(runs) {
        if version.sludge != SludgeStore::Full && demands.stack(basin).sludge_m3 <= 0.0 {
            continue;
        }
        cases.push(Case {
            what,
            run: Some(run),
            settled: None,
            clean_out_years: None,
            fails: weather_fails(&run),
        });
    }
    if demands.duties.clean_out.is_some() {
        for (what, times) in [("solids 25 % more", 1.25), ("solids 25 % less", 0.75)] {
            let years = years(demands, basin, times);
            let asked = demands
                .duties
                .clean_out
                .as_ref()
                .map_or(0.0, |duty| duty.every_years);
            let fails = if years.is_some_and(|years| years < asked - 1e-9) {
                vec![Duty::CleanOut]
            } else {
                Vec::new()
            };
            cases.push(Case {
                what,
                run: None,
                settled: None,
                clean_out_years: years,
                fails,
            });
        }
    }
    if let (Some(settle), Some((_, rate))) = (&demands.duties.settle, &basics.stuck_wash) {
        let share = settled(demands, basin, demands.needs.peak_m3_s + rate);
        let fails = if share.is_some_and(|share| share < settle.share.si) {
            vec![Duty::Settle]
        } else {
            Vec::new()
        };
        cases.push(Case {
            what: "a filter stuck in wash",
            run: None,
            settled: share,
            clean_out_years: None,
            fails,
        });
    }
    Ok(cases)
}

fn settled(demands: &Demands, basin: &Basin, flow_m3_s: f64) -> Option<f64> {
    demands.duties.settle.as_ref()?;
    let stack = demands.stack(basin);
    let area = basin.area_m2(stack.pool_top_m.min(basin.depth_m));
    Some(super::needs::share_settled(
        area,
        flow_m3_s,
        demands.needs.settling_m_s,
        demands.cells,
    ))
}

/// Years until the store made for the solids as typed is full of so many times as many.
fn years(demands: &Demands, basin: &Basin, times: f64) -> Option<f64> {
    demands.duties.clean_out.as_ref()?;
    let rate = times * demands.sludge_m3_a_year(basin);
    (rate > 0.0).then(|| demands.stack(basin).sludge_m3 / rate)
}

fn impossible(grid: &Grid, demands: &Demands, runner: &Runner) -> Result<Impossible, Problems> {
    let all: Vec<Basin> = grid.plans().into_iter().flatten().collect();
    let mut best: Vec<(Check, Basin)> = Vec::new();
    let mut nearest: Option<(f64, usize, Basin)> = None;
    for basin in &all {
        let checks = demands.fixed(basin);
        let least = checks
            .iter()
            .map(|check| check.done().min(1.0))
            .fold(1.0, f64::min);
        let failing = checks.iter().filter(|check| !check.is_met()).count();
        let better = nearest.as_ref().is_none_or(|(held, fails, other)| {
            let order = fails
                .cmp(&failing)
                .then(least.total_cmp(held))
                .then(basin.capacity_m3().total_cmp(&other.capacity_m3()));
            order.is_gt()
        });
        if better {
            nearest = Some((least, failing, *basin));
        }
        keep_best(&mut best, checks, basin);
    }
    // What weather asks for is best done by the shape with the most room, or the widest of that depth.
    if demands.needs_weather()
        && let Some(most) = largest(grid)
    {
        let run = runner.runs(&[most])?.into_iter().next().unwrap_or_default();
        keep_best(&mut best, demands.over_years(&run), &most);
    }
    let nearest = match nearest {
        Some((.., basin)) => {
            let checks = runner
                .checks(&[basin])?
                .into_iter()
                .next()
                .unwrap_or_default();
            Some((basin, checks))
        }
        None => None,
    };
    Ok(Impossible {
        shapes: all.len(),
        best,
        nearest,
    })
}

fn keep_best(best: &mut Vec<(Check, Basin)>, checks: Vec<Check>, basin: &Basin) {
    for check in checks {
        match best.iter_mut().find(|(held, _)| held.duty == check.duty) {
            Some(held) if check.done() > held.0.done() => *held = (check, *basin),
            Some(_) => {}
            None => best.push((check, *basin)),
        }
    }
}

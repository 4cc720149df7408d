//! One facility over years of weather with other figures in it, several versions side by side: what sizing runs.
//!
//! The versions must have the same places and ways; what differs are figures, such as the shape of a pond. The plan and
//! the days' records are compiled once; each version gives its parameters. No ledger is kept, only the sums asked for.

use std::ops::Add;

use chrono::NaiveDate;
use rayon::prelude::*;

use crate::balance::at::{StoreAt, UserAt, WayAt};
use crate::balance::lanes::V;
use crate::balance::plan::{self, Compiled, Draw, Input, Plan};
use crate::balance::run::forcings;
use crate::balance::step::{Engine, Forcing};
use crate::balance::{Parcel, Selector};
use crate::facility::model::{Facility, PlaceId};
use crate::quantity::days_of;
use crate::records::Timeline;
use crate::told::{Problem, Problems};
use crate::weather::DailyWeather;

/// Versions run side by side in one block.
const BLOCK: usize = 8;

/// A use that got less than it asked for by this much or more in a day, m³, ran short: below it is rounding.
const LEAST_SHORT_M3: f64 = 0.001;

/// A daily sum that is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Seen {
    /// Water over the selected ways, m³.
    Water(Selector),
    /// Water a store holds at the close of the day, m³.
    Volume(PlaceId),
    /// Solids of one parcel (index into [`Candidates::parcels`]) over the selected ways, kg.
    Parcel(Selector, usize),
}

/// A sum in the plan's terms.
#[derive(Debug)]
enum Sum {
    Water(Vec<WayAt>),
    /// One constituent's masses.
    Mass(Vec<WayAt>, usize),
    Volume(Option<StoreAt>),
}

/// What a version did.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CandidateRun {
    /// For each sum asked for, one value a day.
    pub series: Vec<Vec<f64>>,
    /// Days on which one of the uses named got less than it asked for.
    pub short_days: usize,
    /// What they got less on each of the days, m³; nothing on a day on which none ran short.
    pub short_m3: Vec<f64>,
}

/// A facility compiled for many versions of its figures, at the middle of every range.
#[derive(Debug)]
pub struct Candidates<'a> {
    timeline: &'a Timeline,
    first_day: NaiveDate,
    compiled: Compiled,
    forcings: Vec<Forcing>,
    warm_up_days: usize,
}

impl<'a> Candidates<'a> {
    /// Compiles a facility over a period, both days belonging to it.
    ///
    /// # Errors
    /// What makes a balance impossible.
    pub fn new(
        facility: &Facility,
        weather: &DailyWeather,
        timeline: &'a Timeline,
        period: (NaiveDate, NaiveDate),
    ) -> Result<Self, Problems> {
        let days = days_of(period);
        let input = Input { facility, timeline, first_day: period.0, days, middle: None };
        Ok(Self {
            timeline,
            first_day: period.0,
            compiled: plan::compile(input, &Draw::MIDDLE)?,
            forcings: forcings(weather, period.0, days),
            warm_up_days: 0,
        })
    }

    /// The same with other weather, for the same days.
    #[must_use]
    pub fn with_weather(self, weather: &DailyWeather) -> Self {
        let days = self.forcings.len();
        Self { forcings: forcings(weather, self.first_day, days), ..self }
    }

    /// The same with its first days run once beforehand and not counted, so that what the stores held at the start matters
    /// little.
    #[must_use]
    pub fn warmed_up(self, days: usize) -> Self {
        Self { warm_up_days: days.min(self.forcings.len()), ..self }
    }

    /// Days of the run.
    pub fn days(&self) -> usize {
        self.forcings.len()
    }

    /// Steps per day of the facility as compiled.
    pub fn steps_per_day(&self) -> u32 {
        self.compiled.plan.steps_per_day
    }

    /// Parcels of solids that occur.
    pub fn parcels(&self) -> &[Parcel] {
        &self.compiled.plan.parcels
    }

    /// Runs versions of the facility: for each, the daily sums asked for, and the days on which one of the uses named ran
    /// short. In the order given, the same whatever the number of threads.
    ///
    /// # Errors
    /// What makes a version's balance impossible, or a version whose places or ways are not those of the facility.
    pub fn run(&self, versions: &[Facility], seen: &[Seen], uses: &[PlaceId]) -> Result<Vec<CandidateRun>, Problems> {
        let plans: Vec<Result<Plan, Problems>> = versions.par_iter().map(|facility| self.plan_of(facility)).collect();
        let plans: Vec<Plan> = plans.into_iter().collect::<Result<_, _>>()?;
        // Blocks of the same steps per day, in order of first appearance.
        let mut blocks: Vec<Vec<usize>> = Vec::new();
        for (at, plan) in plans.iter().enumerate() {
            let fits =
                |block: &&mut Vec<usize>| block.len() < BLOCK && plans[block[0]].steps_per_day == plan.steps_per_day;
            match blocks.iter_mut().find(fits) {
                Some(block) => block.push(at),
                None => blocks.push(vec![at]),
            }
        }
        let done: Vec<Vec<(usize, CandidateRun)>> = blocks
            .par_iter()
            .map(|block| {
                let members: Vec<&Plan> = block.iter().map(|at| &plans[*at]).collect();
                let runs = if members.len() == 1 {
                    self.block::<1>(&members, seen, uses)
                } else {
                    self.block::<BLOCK>(&members, seen, uses)
                };
                block.iter().copied().zip(runs).collect()
            })
            .collect();
        let mut runs = vec![CandidateRun::default(); versions.len()];
        for (at, run) in done.into_iter().flatten() {
            runs[at] = run;
        }
        Ok(runs)
    }

    /// The plan with a version's parameters. Only its first day is compiled: days turn on dates and records, which are the
    /// same for all.
    fn plan_of(&self, facility: &Facility) -> Result<Plan, Problems> {
        let input = Input { facility, timeline: self.timeline, first_day: self.first_day, days: 1, middle: None };
        let version = plan::compile(input, &Draw::MIDDLE)?.plan;
        let ours = &self.compiled.plan;
        let same = version.params.len() == ours.params.len()
            && version.edges.len() == ours.edges.len()
            && version.stores.len() == ours.stores.len()
            && version.edges.iter().zip(&ours.edges).all(|(a, b)| a.way == b.way)
            && version.stores.iter().zip(&ours.stores).all(|(a, b)| a.cells == b.cells && a.hinges == b.hinges);
        if !same {
            let problems = Problems::new();
            problems.add(Problem::error(
                &facility.place,
                "a version of the facility has other places or ways than the one it was compiled from",
            ));
            return Err(problems);
        }
        Ok(Plan { params: version.params, steps_per_day: version.steps_per_day, ..ours.clone() })
    }

    fn block<const L: usize>(&self, members: &[&Plan], seen: &[Seen], uses: &[PlaceId]) -> Vec<CandidateRun> {
        let Some(plan) = members.first() else {
            return Vec::new();
        };
        let lanes: [&[f64]; L] = std::array::from_fn(|lane| members.get(lane).unwrap_or(plan).params.as_slice());
        let ways = |selector: &Selector| -> Vec<WayAt> {
            plan.edges.each().filter(|(_, e)| selector.matches(&e.way)).map(|(at, _)| at).collect()
        };
        let sums: Vec<Sum> = seen
            .iter()
            .map(|one| match one {
                Seen::Volume(place) => Sum::Volume(plan.stores.find(|s| s.place == *place)),
                Seen::Water(selector) => Sum::Water(ways(selector)),
                Seen::Parcel(selector, parcel) => Sum::Mass(ways(selector), *parcel),
            })
            .collect();
        let users: Vec<UserAt> =
            plan.users.each().filter(|(_, user)| uses.contains(&user.place)).map(|(at, _)| at).collect();
        let mut runs: Vec<CandidateRun> = members
            .iter()
            .map(|_| CandidateRun {
                series: vec![Vec::with_capacity(self.forcings.len()); seen.len()],
                short_days: 0,
                short_m3: Vec::with_capacity(self.forcings.len()),
            })
            .collect();
        let weighed = |edge: WayAt| sums.iter().any(|sum| matches!(sum, Sum::Mass(ways, _) if ways.contains(&edge)));
        let mut engine = Engine::<L>::watching(plan, lanes, weighed);
        let days = || self.forcings.iter().zip(&self.compiled.records);
        for (forcing, records) in days().take(self.warm_up_days) {
            engine.run_day(forcing, records);
        }
        for (forcing, records) in days() {
            engine.run_day(forcing, records);
            for (which, sum) in sums.iter().enumerate() {
                let total = match sum {
                    Sum::Water(ways) => ways.iter().map(|way| engine.day.water[*way]).fold(V::zero(), V::add),
                    Sum::Mass(ways, x) => ways.iter().map(|way| engine.day.entry(*way)[*x]).fold(V::zero(), V::add),
                    Sum::Volume(store) => store.map_or(V::zero(), |store| engine.state.volume[store]),
                };
                for (run, value) in runs.iter_mut().zip(total.0) {
                    run.series[which].push(value);
                }
            }
            for (lane, run) in runs.iter_mut().enumerate() {
                let short = users.iter().map(|user| engine.day.shortfall[*user].0[lane]);
                let m3 = short.filter(|m3| *m3 >= LEAST_SHORT_M3).fold(0.0, |sum, m3| sum + m3);
                run.short_days += usize::from(m3 > 0.0);
                run.short_m3.push(m3);
            }
        }
        runs
    }
}

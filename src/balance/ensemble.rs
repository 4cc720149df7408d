//! Many runs side by side: blocks of eight members, watched daily series only.
//!
//! No ledger is kept. Each member's watched series go to a closure (the ordinary rules run on them), and what it gives
//! is collected by number. Blocks are fixed, so the bytes do not depend on the number of threads; lanes do not see one
//! another, so a member is the same alone, among eight, and replayed by [`crate::balance::run`] from its seed and number.

use std::ops::{Add, Range};
use std::rc::Rc;

use chrono::NaiveDate;
use rayon::prelude::*;

use crate::balance::at::{FilterAt, Param, StoreAt, WayAt};
use crate::balance::lanes::V;
use crate::balance::plan::{self, Compiled, Draw, Input, Plan};
use crate::balance::run::{PondLevels, forcings, run};
use crate::balance::step::{Engine, Forcing, Width};
use crate::balance::{DailySeries, Node, Selector, Watch};
use crate::facility::model::{Facility, PlaceId};
use crate::quantity::days_of;
use crate::records::Timeline;
use crate::told::Problems;
use crate::weather::DailyWeather;

/// Members of a block.
const LANES: usize = 8;

/// What an ensemble gives.
#[derive(Debug, Clone)]
pub struct Ensemble<T> {
    /// What the closure gave for each member, in order of number.
    pub members: Vec<T>,
    /// Steps per day that were used.
    pub steps_per_day: u32,
    /// The largest difference of a member between what came in from outside less what went out and what is held more, as
    /// a share of what moved: rounding only.
    pub worst_residual_share: f64,
}

/// Runs members `numbers` of an ensemble over a period (both days belonging to it) and hands each member's watched
/// series to `each`, in the order of `watches`. Bases are those of the single run, the same for all members.
///
/// # Errors
/// As for [`run`].
#[expect(clippy::too_many_arguments, reason = "the arguments of one run, and what many runs need beside them")]
pub fn ensemble<T: Send>(
    facility: &Facility,
    weather: &DailyWeather,
    timeline: &Timeline,
    period: (NaiveDate, NaiveDate),
    seed: u64,
    numbers: Range<u64>,
    watches: &[Watch],
    each: impl Fn(u64, &[DailySeries]) -> T + Sync,
) -> Result<Ensemble<T>, Problems> {
    ensemble_in_blocks::<T, LANES>(facility, weather, timeline, period, seed, numbers, watches, each)
}

#[expect(clippy::too_many_arguments, reason = "the arguments of one run, and what many runs need beside them")]
pub(crate) fn ensemble_in_blocks<T: Send, const L: usize>(
    facility: &Facility,
    weather: &DailyWeather,
    timeline: &Timeline,
    period: (NaiveDate, NaiveDate),
    seed: u64,
    numbers: Range<u64>,
    watches: &[Watch],
    each: impl Fn(u64, &[DailySeries]) -> T + Sync,
) -> Result<Ensemble<T>, Problems> {
    // The ledger of the single run is let go of before members are run.
    let pattern: Vec<DailySeries> = {
        let single = run(facility, weather, timeline, period, &Draw::MIDDLE)?;
        watches.iter().map(|watch| single.ledger.series(watch)).collect()
    };
    let input = Input { facility, timeline, first_day: period.0, days: days_of(period), middle: None };
    let middle = plan::compile(input, &Draw::MIDDLE)?;
    let forcings = forcings(weather, input.first_day, input.days);
    let probes: Vec<Probe> = watches.iter().map(|w| Probe::new(w, &middle)).collect();
    let first = numbers.start;
    let count = usize::try_from(numbers.end.saturating_sub(numbers.start)).unwrap_or(0);
    let blocks = count.div_ceil(L);
    let done: Vec<Result<(Vec<T>, f64), Problems>> = (0..blocks)
        .into_par_iter()
        .map(|block| {
            let of_block = (count - block * L).min(L);
            let start = first + (block * L) as u64;
            let mut compiled = Vec::with_capacity(L);
            for lane in 0..L {
                // Lanes beyond the last member repeat it and are not looked at.
                let member = start + lane.min(of_block - 1) as u64;
                let input = Input { middle: Some(&middle), ..input };
                compiled.push(plan::compile(input, &Draw::member(seed, member))?);
            }
            let mut series: Vec<DailySeries> = pattern.clone();
            let mut values = vec![0.0; probes.len() * L * input.days];
            let residual = season::<L>(&middle, &compiled, &forcings, &probes, &mut values, input.days);
            let mut members = Vec::with_capacity(of_block);
            for lane in 0..of_block {
                for (probe, of) in series.iter_mut().enumerate() {
                    let at = (probe * L + lane) * input.days;
                    of.values.copy_from_slice(&values[at..at + input.days]);
                }
                members.push(each(start + lane as u64, &series));
            }
            Ok((members, residual))
        })
        .collect();
    let mut members = Vec::with_capacity(count);
    let mut worst = 0.0_f64;
    for block in done {
        let (of_block, residual) = block?;
        members.extend(of_block);
        worst = worst.max(residual);
    }
    Ok(Ensemble { members, steps_per_day: middle.plan.steps_per_day, worst_residual_share: worst })
}

/// A watched series, in the plan's terms.
#[derive(Debug, Clone)]
enum Probe {
    Water(Vec<WayAt>),
    /// Edges, and constituents.
    Mass(Vec<WayAt>, Vec<usize>),
    /// Edges, and constituents with the riders whose content weighs them.
    Bound(Vec<WayAt>, Vec<(usize, usize)>),
    Volume(StoreAt),
    Level(StoreAt),
    Freeboard(StoreAt),
    SpillLeft(StoreAt),
    SludgeDepth(StoreAt),
    Events(FilterAt),
    Minutes(FilterAt),
    FilterHeld(FilterAt),
    Nothing,
}

impl Probe {
    fn new(watch: &Watch, middle: &Compiled) -> Self {
        let plan = &middle.plan;
        let edges = |s: &Selector| -> Vec<WayAt> {
            plan.edges.each().filter(|(_, e)| s.matches(&e.way)).map(|(id, _)| id).collect()
        };
        let parcels = plan.parcels.len();
        let store = |p: &PlaceId| plan.stores.find(|s| s.place == *p);
        let filter = |p: &PlaceId| plan.filters.find(|f| f.place == *p);
        let pond = |p: &PlaceId| store(p).filter(|s| plan.stores[*s].pond);
        let kind = |kind: usize| -> Vec<usize> {
            (0..).zip(&plan.parcels).filter(|(_, of)| of.kind == kind).map(|(x, _)| x).collect()
        };
        match watch {
            Watch::Water(s) => Self::Water(edges(s)),
            Watch::Solids(s) => Self::Mass(edges(s), (0..parcels).collect()),
            Watch::SolidsOfKind(s, of) => Self::Mass(edges(s), kind(*of)),
            Watch::Dissolved(s, c) if parcels + c < plan.constituents => Self::Mass(edges(s), vec![parcels + c]),
            Watch::Dissolved(..) => Self::Nothing,
            Watch::Bound(s, name) => Self::Bound(
                edges(s),
                middle
                    .bound
                    .iter()
                    .enumerate()
                    .filter(|(_, rider)| rider.name.eq_ignore_ascii_case(name))
                    .flat_map(|(i, rider)| kind(rider.kind).into_iter().map(move |x| (i, x)))
                    .collect(),
            ),
            Watch::Volume(p) => store(p).map_or(Self::Nothing, Self::Volume),
            Watch::Level(p) => pond(p).map_or(Self::Nothing, Self::Level),
            Watch::Freeboard(p) => {
                pond(p).filter(|s| plan.stores[*s].freeboard_m.is_some()).map_or(Self::Nothing, Self::Freeboard)
            }
            Watch::SpillLeft(p) => store(p).map_or(Self::Nothing, Self::SpillLeft),
            Watch::SludgeDepth(p) => pond(p).map_or(Self::Nothing, Self::SludgeDepth),
            Watch::Events(p) => filter(p).map_or(Self::Nothing, Self::Events),
            Watch::Minutes(p) => filter(p).map_or(Self::Nothing, Self::Minutes),
            Watch::FilterHeld(p) => filter(p).map_or(Self::Nothing, Self::FilterHeld),
        }
    }

    /// Whether the series is of an edge's masses.
    fn weighs(&self, edge: WayAt) -> bool {
        match self {
            Self::Mass(edges, _) | Self::Bound(edges, _) => edges.contains(&edge),
            _ => false,
        }
    }

    fn read<const L: usize>(&self, engine: &Engine<'_, L>, members: &[Compiled]) -> V<L> {
        let plan = engine.plan;
        let level = |s: StoreAt, total: V<L>| {
            let mut out = total;
            for (lane, value) in out.0.iter_mut().enumerate() {
                *value = on_shape(plan, members, lane, s, |levels| levels.level_m(*value));
            }
            out
        };
        let volume = |s: StoreAt| engine.state.volume[s];
        let param = |p: Option<Param>| p.map_or(V::zero(), |p| engine.params[p]);
        match self {
            Self::Nothing => V::zero(),
            Self::Water(edges) => edges.iter().map(|edge| engine.day.water[*edge]).fold(V::zero(), V::add),
            Self::Mass(edges, xs) => {
                let mut total = V::zero();
                for edge in edges {
                    let entry = engine.day.entry(*edge);
                    for x in xs {
                        total += entry[*x];
                    }
                }
                total
            }
            Self::Bound(edges, xs) => {
                let mut total = V::zero();
                for edge in edges {
                    let entry = engine.day.entry(*edge);
                    for (rider, x) in xs {
                        let mut content = V::zero();
                        for (value, member) in content.0.iter_mut().zip(members) {
                            *value = member.bound[*rider].content;
                        }
                        total += entry[*x] * content;
                    }
                }
                total
            }
            Self::Volume(s) => volume(*s),
            Self::Level(s) => level(*s, volume(*s) + engine.sludge_m3(*s)),
            Self::Freeboard(s) => {
                let store = &plan.stores[*s];
                let top = param(store.spill_level_m) + param(store.freeboard_m);
                top - level(*s, volume(*s) + engine.sludge_m3(*s))
            }
            Self::SpillLeft(s) => (engine.params[plan.stores[*s].full_m3] - engine.sludge_m3(*s) - volume(*s)).pos(),
            Self::SludgeDepth(s) => {
                let mut depth = level(*s, engine.sludge_m3(*s));
                for (lane, value) in depth.0.iter_mut().enumerate() {
                    *value -= on_shape(plan, members, lane, *s, |levels| levels.floor_m());
                }
                depth
            }
            Self::Events(f) => engine.day.filters[*f].events,
            Self::Minutes(f) => engine.day.filters[*f].minutes,
            Self::FilterHeld(f) => engine.state.held.of(*f).iter().copied().fold(V::zero(), V::add),
        }
    }
}

fn on_shape(
    plan: &Plan,
    members: &[Compiled],
    lane: usize,
    store: StoreAt,
    read: impl Fn(&PondLevels<'_>) -> f64,
) -> f64 {
    let place = plan.stores[store].place;
    let shape = members[lane].shapes.iter().find(|(p, _)| *p == place);
    shape.map_or(0.0, |(_, shape)| read(&PondLevels { shape }))
}

/// One block over all days; gives the worst residual's share. Values go to `(probe · L + lane) · days + day`.
fn season<const L: usize>(
    middle: &Compiled,
    members: &[Compiled],
    forcings: &[Forcing],
    probes: &[Probe],
    values: &mut [f64],
    days: usize,
) -> f64 {
    let params: [&[f64]; L] = std::array::from_fn(|lane| members[lane].plan.params.as_slice());
    let watched = |edge: WayAt| probes.iter().any(|probe| probe.weighs(edge));
    let mut engine = Engine::<L>::watching(&middle.plan, params, watched);
    let signs = signs(&middle.plan);
    let start = held(&engine);
    let (mut net, mut moved) = (V::<L>::zero(), V::<L>::zero());
    for (forcing, records) in forcings.iter().zip(&middle.records) {
        engine.run_day(forcing, records);
        for &(edge, sign) in &signs {
            let water = engine.day.water[edge];
            net += water * sign;
            moved += water;
        }
        for (probe, of) in probes.iter().enumerate() {
            let read = of.read(&engine, members);
            for (lane, value) in read.0.iter().enumerate() {
                values[(probe * L + lane) * days + forcing.day] = *value;
            }
        }
    }
    let end = held(&engine);
    let left = (net - (end - start)).abs() / (moved + start + end + 1e-9);
    left.0.iter().copied().fold(0.0, f64::max)
}

/// Water held in stores and sludge, m³.
fn held<const L: usize>(engine: &Engine<'_, L>) -> V<L> {
    let mut total = V::zero();
    for volume in engine.state.volume.iter() {
        total += *volume;
    }
    let parcels = engine.plan.parcels.len();
    for store in engine.plan.stores.iter().filter(|s| s.pond) {
        total += engine.state.sludge[store.sludge + parcels];
    }
    total
}

/// Edges that cross the facility's boundary: in +1, out −1.
fn signs(plan: &Plan) -> Vec<(WayAt, f64)> {
    let inside = |node: Node| match node {
        Node::Place(place) => plan.inside[place],
        Node::Sludge(_) => true,
        _ => false,
    };
    plan.edges
        .each()
        .filter_map(|(id, edge)| match (inside(edge.way.from), inside(edge.way.to)) {
            (false, true) => Some((id, 1.0)),
            (true, false) => Some((id, -1.0)),
            _ => None,
        })
        .collect()
}

/// A season to be timed; gives place-days (turns of places × days × lanes).
#[doc(hidden)]
pub type Season = Box<dyn FnMut() -> u64>;

/// Steps a facility over a season with all lanes the same member, watching nothing, for measuring speed: one for each
/// width of vectors that this machine has, the widest first, with its name.
///
/// # Errors
/// As for [`run`].
#[doc(hidden)]
pub fn measure(
    facility: &Facility,
    weather: &DailyWeather,
    timeline: &Timeline,
    period: (NaiveDate, NaiveDate),
) -> Result<Vec<(String, Season)>, Problems> {
    let input = Input { facility, timeline, first_day: period.0, days: days_of(period), middle: None };
    let middle = Rc::new(plan::compile(input, &Draw::MIDDLE)?);
    let forcings: Rc<[Forcing]> = forcings(weather, input.first_day, input.days).into();
    let turns = (middle.plan.order.len() * forcings.len() * LANES) as u64 * u64::from(middle.plan.steps_per_day);
    let season = |width: Width| {
        let (middle, forcings) = (Rc::clone(&middle), Rc::clone(&forcings));
        let season = move || {
            let params: [&[f64]; LANES] = std::array::from_fn(|_| middle.plan.params.as_slice());
            let mut engine = Engine::<LANES>::watching(&middle.plan, params, |_| false);
            engine.width = width;
            for (forcing, records) in forcings.iter().zip(&middle.records) {
                engine.run_day(forcing, records);
            }
            turns
        };
        (format!("{width:?}"), Box::new(season) as Season)
    };
    Ok(Width::all().into_iter().map(season).collect())
}

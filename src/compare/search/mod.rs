//! Which train? From the kinds of stage that a user allows, every train of one to three stages is built, coarse before fine;
//! what can be refused is refused with its reason, the others are run on the same weather and the same draws, and what is not beaten
//! in cost, wash water, labour and landfill is found.
//!
//! A train is a proposal in the facility's own words, so that its water, money, service and limits are those of any other.

mod chains;
mod figures;
mod keys;
mod refused;
mod slot;
mod stages;
mod unbeaten;

use crate::compare::brought::Brought;
use crate::compare::prices::Prices;
use crate::compare::pumps::{Lifts, Pump};
use crate::compare::study::{Tick, beside};
use crate::compare::wash_limits::{self, sends_wash_water};
use crate::compare::{Alternative, Asked, Hauled, Study};
use crate::facility::model::{Facility, Filter, PlaceId, PlaceKind};
use crate::files::yaml::{Node, What};
use crate::told::{Problem, Problems};

pub use figures::{Figures, Measure, Outside};
pub use stages::{KeepsBack, Stages, Unit, WashWater, read, schema};

use refused::{Held, passed, refused};
use slot::Slot;

/// What the trains are built on.
#[derive(Debug, Clone, Copy)]
pub struct Ground<'a> {
    /// The facility's tree as it stands.
    pub tree: &'a Node,
    /// The facility as it stands.
    pub facility: &'a Facility,
    /// The tree of its rules, if there are any.
    pub rules: Option<&'a Node>,
    /// Prices.
    pub prices: &'a Prices,
}

/// A file of stages that fits its site.
#[derive(Debug)]
pub struct Search<'a> {
    /// The file.
    pub stages: Stages,
    /// The units in the order in which trains are built.
    pub units: Vec<Unit>,
    /// What a train must keep back: as typed, or as the site does; none where neither is told.
    pub keeps_back: Option<KeepsBack>,
    filters: Vec<Filter>,
    slot: Slot,
    ground: Ground<'a>,
}

/// A train that was built.
#[derive(Debug)]
pub struct Train {
    /// Its stages, source first: indices of units.
    pub stages: Vec<usize>,
    /// Its stages in words.
    pub name: String,
    /// What became of it.
    pub fate: Fate,
}

/// What became of a train.
#[derive(Debug)]
pub enum Fate {
    /// It was not run: why.
    Refused(String),
    /// It was run and is no answer: why.
    Apart(Figures, Vec<String>),
    /// It was run, and nothing is as good in all and better in one.
    Unbeaten(Figures),
    /// It was run and is beaten by a train or, where none is named, by the site as it stands.
    Beaten(Figures, Option<usize>),
}

impl Fate {
    /// The figures of a train that was run.
    pub fn figures(&self) -> Option<&Figures> {
        match self {
            Self::Refused(_) => None,
            Self::Apart(of, _) | Self::Unbeaten(of) | Self::Beaten(of, _) => Some(of),
        }
    }
}

/// What was found.
#[derive(Debug)]
pub struct Found {
    /// Every train that was built, the shortest first.
    pub trains: Vec<Train>,
    /// How many were cut off unrun by the most that is typed.
    pub cut: usize,
    /// The site as it stands.
    pub stands: Figures,
    /// Which train beats the site as it stands; none where it is not beaten.
    pub stands_beaten_by: Option<usize>,
    /// By what trains are held against one another.
    pub measures: Vec<Measure>,
    /// Why not by money, where it is not among the measures: the log lets nothing be told of it, or no train's is known.
    pub not_by_money: Vec<String>,
    /// Limits that every train and the site as it stands are predicted outside of.
    pub outside_anyhow: Vec<String>,
    /// How the waste of the trains compared is counted: of a mix, they are not held against one another by it.
    pub hauled: Hauled,
}

impl<'a> Search<'a> {
    /// Fits a file of stages to its site; what does not fit is told.
    pub fn new(stages: Stages, ground: Ground<'a>, problems: &Problems) -> Option<Self> {
        let slot = Slot::find(&stages, ground.tree, ground.facility, problems)?;
        let errors = problems.errors();
        let old: Vec<&Filter> = slot.old.iter().filter_map(|name| filter(ground.facility, name)).collect();
        let units = chains::in_order(&stages.units);
        let mut filters: Vec<Filter> = Vec::new();
        let mut wrong: Vec<&str> = Vec::new();
        for unit in &units {
            // A kind that is wrong in one size is wrong in others.
            if wrong.contains(&unit.kind.as_str()) {
                continue;
            }
            let alone = on_trial(unit, &stages, ground.facility);
            let proposal = slot.proposal(&[&alone], &stages);
            let before = problems.errors();
            let built = Alternative::proposed(ground.tree, ground.facility, &proposal, None, problems);
            match built.as_ref().and_then(|of| filter(&of.facility, &unit.name)) {
                Some(filter) => filters.push(filter.clone()),
                None => {
                    if problems.errors() == before {
                        let told = format!("`{}` can't be read as a filter", unit.name);
                        problems.add(Problem::error(&unit.said_at, told).hint("look at its lines"));
                    }
                    wrong.push(&unit.kind);
                }
            }
        }
        let lifts =
            |pump: &&Pump| pump.lifts == Lifts::WaterTo && pump.places.iter().any(|at| slot.old.contains(&at.value));
        let lifted = ground.prices.pumps.iter().find(lifts);
        if let (Some(pump), None) = (lifted, &stages.pump) {
            problems.add(
                Problem::error(
                    &stages.place,
                    format!("{} lifts the water to what a train stands for, and `pump` is not typed", pump.name),
                )
                .hint("write what it lifts without the loss of any filter: `pump: {head: 140 ft, efficiency: 55 %}`"),
            );
        }
        for price in stages.units.iter().flat_map(Unit::prices).filter(|price| price.money != ground.prices.money) {
            problems.add(
                Problem::error(&price.place, format!("`{}` is not in {}", price.text, ground.prices.money))
                    .hint(format!("turn it into {}; nothing is exchanged here", ground.prices.money)),
            );
        }
        let rule = &ground.prices.service;
        let keeps_back = match (&stages.keeps_back, rule.target_m) {
            (Some(typed), _) => Some(typed.clone()),
            (None, Some(size_m)) => passed(&old, size_m).map(|passed| KeepsBack {
                size_m,
                size_text: rule.target_text.clone(),
                share: 1.0 - passed,
            }),
            (None, None) => None,
        };
        if keeps_back.is_none() && problems.errors() == errors {
            problems.add(
                Problem::error(&stages.place, "it is not said how fine a train must be").hint(
                    "write it like `keeps back: {size: 25 um, at least: 60 %}`; else it is what the site does of `target size` in prices.yaml",
                ),
            );
        }
        (problems.errors() == errors).then_some(Self { stages, units, keeps_back, filters, slot, ground })
    }

    /// Whether nobody typed how much a unit can pass at once; never of a filter of the site that stays.
    pub fn has_no_capacity(&self, unit: &str) -> bool {
        let at = self.units.iter().position(|of| of.name == unit);
        let of = at.and_then(|at| Some((self.units.get(at)?, self.filters.get(at)?)));
        of.is_some_and(|(unit, filter)| unit.lines.is_some() && filter.handles_at_most.is_none())
    }

    /// The filters in whose place the trains are put, in the order of the water.
    pub fn in_place_of(&self) -> &[String] {
        &self.slot.old
    }

    /// Every train that there is, with why it is refused where it is; the site as it stands first in `asked`.
    fn trains(&self, stands: &Study) -> Vec<(Vec<usize>, Option<String>)> {
        let first = stands.options.first();
        let old: Vec<PlaceId> = self.slot.old.iter().filter_map(|name| self.ground.facility.find(name)).collect();
        let wash_limits =
            wash_limits::of(first.and_then(|of| of.alternative.rules.as_ref()), self.ground.facility, &old);
        let incoming = match (first, self.slot.old.first()) {
            (Some(of), Some(name)) => {
                let at = of.alternative.facility.find(name);
                at.and_then(|at| of.brought.get(at.0)).cloned().unwrap_or_default()
            }
            _ => Brought::default(),
        };
        let held = Held {
            wash_water: &self.stages.wash_water,
            wash_limits: &wash_limits,
            keeps_back: self.keeps_back.as_ref(),
            incoming: &incoming,
        };
        chains::chains(&self.units, self.stages.most_stages, self.stages.finer)
            .into_iter()
            .filter(|chain| !self.slot.is_as_it_stands(&self.of(chain)))
            .map(|chain| {
                let train: Vec<(&Unit, &Filter)> =
                    chain.iter().filter_map(|at| Some((self.units.get(*at)?, self.filters.get(*at)?))).collect();
                let why = refused(&train, &held);
                (chain, why)
            })
            .collect()
    }

    fn of(&self, chain: &[usize]) -> Vec<&Unit> {
        chain.iter().filter_map(|at| self.units.get(*at)).collect()
    }

    /// The site with a train in its place; what does not fit together is told.
    pub fn built(&self, chain: &[usize], limits_of: &Alternative, problems: &Problems) -> Option<Alternative> {
        let old: Vec<PlaceId> = self.slot.old.iter().filter_map(|name| self.ground.facility.find(name)).collect();
        let wash_limits = wash_limits::of(limits_of.rules.as_ref(), self.ground.facility, &old);
        let rules = self.ground.rules.map(|tree| wash_limits::only(tree, &wash_limits, false));
        let proposal = self.slot.proposal(&self.of(chain), &self.stages);
        let mut train =
            Alternative::proposed(self.ground.tree, self.ground.facility, &proposal, rules.as_ref(), problems)?;
        if let Some(tree) = self.ground.rules {
            let sends: Vec<&str> = chain
                .iter()
                .filter(|at| self.filters.get(**at).is_some_and(sends_wash_water))
                .filter_map(|at| Some(self.units.get(*at)?.name.as_str()))
                .collect();
            wash_limits::hold(&mut train, tree, &wash_limits, &sends, "wash water of the train");
        }
        Some(train)
    }

    /// How many trains will be run.
    pub fn to_run(&self, stands: &Study) -> usize {
        let all = self.trains(stands);
        all.iter().filter(|(_, refused)| refused.is_none()).count().min(self.stages.most_trains)
    }

    /// Builds the trains, refuses, runs, and finds what is not beaten. `stands` is the study of the site alone, held
    /// against the log.
    ///
    /// # Errors
    /// What makes a balance impossible, with its place in the file.
    pub fn found(&self, stands: &Study, asked: &Asked<'_>, tick: Tick<'_>) -> Result<Found, Problems> {
        let prices = self.slot.without_pumps(self.ground.prices);
        let mut trains = Vec::new();
        let (mut ran, mut cut) = (0, 0);
        for (chain, why) in self.trains(stands) {
            let name = slot::name_of(&self.of(&chain));
            let mut push = |fate| trains.push(Train { stages: chain.clone(), name: name.clone(), fate });
            if let Some(why) = why {
                push(Fate::Refused(why));
                continue;
            }
            if ran == self.stages.most_trains {
                cut += 1;
                push(Fate::Refused(format!("{ran} trains were run before it, the most that is asked for")));
                continue;
            }
            let problems = Problems::new();
            let before = stands.options.first().map(|of| &of.alternative);
            let Some(train) = before.and_then(|before| self.built(&chain, before, &problems)) else {
                let told = problems.in_order().first().map(|problem| problem.message.clone());
                push(Fate::Refused(told.unwrap_or_else(|| "it does not fit the site".to_owned())));
                continue;
            };
            ran += 1;
            let mut study = beside(stands, &train, &prices, asked, tick)?;
            study.try_money(asked, &prices)?;
            push(Fate::Unbeaten(Figures::of(&study, 1)));
        }
        Ok(ranked(trains, cut, Figures::of(stands, 0)))
    }
}

/// Finds what is not beaten among trains that were run, each not beaten so far.
fn ranked(mut trains: Vec<Train>, cut: usize, mut stands: Figures) -> Found {
    let all_are_outside = |limit: &str| {
        let mut ran = trains.iter().filter_map(|train| train.fate.figures()).peekable();
        ran.peek().is_some() && ran.all(|of| of.outside.iter().any(|other| other.name == limit))
    };
    let outside_anyhow: Vec<String> =
        stands.outside.iter().filter(|limit| all_are_outside(&limit.name)).map(|limit| limit.name.clone()).collect();
    // Trains that are no answer stand apart before money is asked for.
    for train in &mut trains {
        let Fate::Unbeaten(of) = &train.fate else { continue };
        let mut why: Vec<String> = [of.differences.clone(), of.service_unknown.clone()].concat();
        let outside = of.outside.iter().filter(|limit| !outside_anyhow.contains(&limit.name));
        let broken = of.broken.iter().map(|limit| &limit.with.name);
        let is_told = |name: &String| broken.clone().any(|known| known == name);
        why.extend(of.broken.iter().map(|limit| limit.words(&str::to_owned)));
        why.extend(outside.filter(|limit| !is_told(&limit.name)).map(Outside::words));
        why.extend(of.missing_but_money());
        why.extend(of.off_the_samples.iter().cloned());
        if !why.is_empty() {
            train.fate = Fate::Apart(of.clone(), why);
        }
    }
    let left = || trains.iter().filter_map(|train| if let Fate::Unbeaten(of) = &train.fate { Some(of) } else { None });
    let mut not_by_money: Vec<String> = Vec::new();
    let mut tell = |why: &String| {
        if !not_by_money.contains(why) {
            not_by_money.push(why.clone());
        }
    };
    left().flat_map(|of| &of.off_the_log).for_each(&mut tell);
    if left().count() > 0 && left().all(|of| !of.no_money.is_empty()) {
        left().flat_map(|of| &of.no_money).for_each(&mut tell);
    }
    let by_money = not_by_money.is_empty();
    for train in &mut trains {
        if let Fate::Unbeaten(of) = &train.fate
            && by_money
            && !of.no_money.is_empty()
        {
            train.fate = Fate::Apart(of.clone(), of.no_money.clone());
        }
    }
    let left: Vec<&Figures> =
        trains.iter().filter_map(|train| if let Fate::Unbeaten(of) = &train.fate { Some(of) } else { None }).collect();
    stands.compared_with(&left);
    let mut hauled = stands.hauled.clone();
    left.iter().for_each(|of| hauled.add(&of.hauled));
    // What is weighed dry says nothing beside what is weighed wet.
    let is_held = |measure: &Measure| match measure {
        Measure::Cost => by_money,
        Measure::Landfill => !hauled.is_mixed(),
        Measure::WashWater | Measure::Labour => true,
    };
    let measures: Vec<Measure> = Measure::ALL.into_iter().filter(is_held).collect();
    let mut found =
        Found { trains, cut, stands, stands_beaten_by: None, measures, not_by_money, outside_anyhow, hauled };
    rank(&mut found);
    found
}

/// Holds the trains that are answers, and the site as it stands, against one another.
fn rank(found: &mut Found) {
    let at: Vec<usize> = (0..found.trains.len())
        .filter(|at| matches!(found.trains.get(*at).map(|train| &train.fate), Some(Fate::Unbeaten(_))))
        .collect();
    // The site comes first, so that what equals it in all does not stand in front of it.
    // Whether it may be an answer comes before its figures: what is not decided never beats what may be one.
    let all: Vec<Vec<f64>> = std::iter::once(&found.stands)
        .chain(at.iter().filter_map(|at| found.trains.get(*at)?.fate.figures()))
        .map(|figures| match figures.lacks(&found.measures) {
            None => {
                let unkind = match (figures.stays.is_empty(), figures.open.is_empty() && figures.not_judged.is_empty())
                {
                    (true, true) => 0.0,
                    (true, false) => 1.0,
                    (false, _) => 2.0,
                };
                [vec![unkind], figures.held_by(&found.measures)].concat()
            }
            Some(_) => vec![f64::INFINITY; found.measures.len() + 1],
        })
        .collect();
    let beaten = unbeaten::beaten_by(&all);
    let which = |by: usize| by.checked_sub(1).and_then(|by| at.get(by).copied());
    // A site of which a figure is not known is neither beaten nor beats.
    let is_known = found.stands.lacks(&found.measures).is_none();
    found.stands_beaten_by = beaten.first().copied().flatten().and_then(which).filter(|_| is_known);
    for (at, by) in at.iter().zip(beaten.iter().skip(1)) {
        let Some(train) = found.trains.get_mut(*at) else { continue };
        if let (Fate::Unbeaten(of), Some(by)) = (&train.fate, by) {
            train.fate = Fate::Beaten(of.clone(), which(*by));
        }
    }
}

/// A filter of a facility.
fn filter<'a>(facility: &'a Facility, name: &str) -> Option<&'a Filter> {
    match &facility.get(facility.find(name)?)?.kind {
        PlaceKind::Filter(filter) => Some(filter),
        _ => None,
    }
}

/// A unit as it is read alone: where wash water may go nowhere, and it says nothing, it goes to any place, since its lines are to be
/// looked at and it is refused after that.
fn on_trial(unit: &Unit, stages: &Stages, facility: &Facility) -> Unit {
    let mut unit = unit.clone();
    let target = facility
        .places
        .iter()
        .find(|place| matches!(place.kind, PlaceKind::Pond(_) | PlaceKind::Tank(_) | PlaceKind::DischargePoint(_)));
    if let (WashWater::Nowhere, Some(word), Some(target)) =
        (&stages.wash_water, unit.lacks_a_way_for_wash_water(), target)
    {
        let text = Node { what: What::Text(target.name.clone()), place: unit.said_at.clone() };
        unit.lines = unit.with(word, &text);
    }
    unit
}

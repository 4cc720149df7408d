//! The facility as the second engine sees it: parcels, who takes from whom, the order of a day.

use std::collections::{BTreeMap, BTreeSet};

use bywash::balance::Parcel;
use bywash::facility::kinds::{FilterKind, GravityScreen, Membrane, MicroscreenDrum, MovingMedia};
use bywash::facility::model::{Facility, FillRule, Filter, PlaceId, PlaceKind, StepsPerDay, WashWater};
use bywash::records::Timeline;
use bywash::weather::DailyWeather;
use chrono::NaiveDate;

use super::given;
use super::load::Load;

/// Everything that does not change from day to day.
pub struct Site<'a> {
    pub facility: &'a Facility,
    pub weather: &'a DailyWeather,
    pub timeline: &'a Timeline,
    /// First day of the run.
    pub first: NaiveDate,
    /// Parcels with the share of their kind.
    pub parcels: Vec<(Parcel, f64)>,
    /// Steps per day.
    pub steps: u32,
    /// Places in the order of their turns.
    pub order: Vec<PlaceId>,
}

impl<'a> Site<'a> {
    pub fn new(facility: &'a Facility, weather: &'a DailyWeather, timeline: &'a Timeline, first: NaiveDate) -> Self {
        let mut site = Self {
            facility,
            weather,
            timeline,
            first,
            parcels: super::solids::parcels(facility),
            steps: 1,
            order: Vec::new(),
        };
        site.steps = match facility.steps_per_day {
            StepsPerDay::Exactly(steps) => steps,
            StepsPerDay::AsNeeded => site.steps_needed(),
        };
        site.order = site.turns();
        site
    }

    pub fn nothing(&self) -> Load {
        Load::none(self.parcels.len(), self.facility.dissolved.len())
    }

    pub fn ids(&self) -> impl Iterator<Item = PlaceId> + '_ {
        (0..self.facility.places.len()).map(PlaceId)
    }

    pub fn kind(&self, id: PlaceId) -> &'a PlaceKind {
        &self.facility.places[id.0].kind
    }

    pub fn filter(&self, id: PlaceId) -> Option<&'a Filter> {
        match self.kind(id) {
            PlaceKind::Filter(filter) => Some(filter),
            _ => None,
        }
    }

    pub fn is_filter(&self, id: PlaceId) -> bool {
        self.filter(id).is_some()
    }

    pub fn is_store(&self, id: PlaceId) -> bool {
        matches!(self.kind(id), PlaceKind::Tank(_) | PlaceKind::Pond(_))
    }

    pub fn fill_rule(&self, id: PlaceId) -> Option<&'a FillRule> {
        match self.kind(id) {
            PlaceKind::Tank(tank) => tank.filled_from.as_ref(),
            PlaceKind::Pond(pond) => pond.filled_from.as_ref(),
            _ => None,
        }
    }

    /// Sources, in order, of whatever asks for water: a use, a transfer, a filter on a pull line, a store filled
    /// through a filter.
    pub fn sources(&self, id: PlaceId) -> Vec<PlaceId> {
        match self.kind(id) {
            PlaceKind::Use(of) => of.takes_from.clone(),
            PlaceKind::Transfer(of) => of.takes_from.clone(),
            PlaceKind::Filter(of) => of.takes_from.clone(),
            _ => {
                let from = self.fill_rule(id).map_or(&[][..], |rule| &rule.from);
                from.iter().copied().filter(|from| self.is_filter(*from)).collect()
            }
        }
    }

    /// Its turn; what fills a store through a filter comes first.
    pub fn turn(&self, id: PlaceId) -> u32 {
        match self.kind(id) {
            PlaceKind::Use(of) => of.turn,
            PlaceKind::Transfer(of) => of.turn,
            PlaceKind::Filter(of) => of.turn,
            _ => 0,
        }
    }

    pub fn is_pull_filter(&self, id: PlaceId) -> bool {
        self.filter(id).is_some_and(|filter| !filter.takes_from.is_empty())
    }

    /// Who takes from a pull filter, in file order.
    pub fn takers(&self, filter: PlaceId) -> Vec<PlaceId> {
        self.ids().filter(|id| self.sources(*id).contains(&filter)).collect()
    }

    /// Pull filters with those nearest the uses first.
    pub fn filters_leaves_first(&self) -> Vec<PlaceId> {
        let mut left: BTreeSet<PlaceId> = self.ids().filter(|id| self.is_pull_filter(*id)).collect();
        let mut sorted = Vec::new();
        while !left.is_empty() {
            let ready: Vec<PlaceId> =
                left.iter().copied().filter(|f| self.takers(*f).iter().all(|t| !left.contains(t))).collect();
            assert!(!ready.is_empty(), "pull lines go round in a circle");
            for filter in ready {
                left.remove(&filter);
                sorted.push(filter);
            }
        }
        sorted
    }

    /// Where clean water for a filter's washes or rinse comes from.
    pub fn clean_water_from(&self, filter: &Filter) -> Vec<PlaceId> {
        let mut from = Vec::new();
        if let Some(wash) = &filter.wash
            && let WashWater::From(place) = wash.with
        {
            from.push(place);
        }
        if let FilterKind::MicroscreenDrum(MicroscreenDrum { rinse, .. }) = &filter.kind
            && let WashWater::From(place) = rinse.with
        {
            from.push(place);
        }
        from
    }

    /// Places that a flow of this place reaches within the same day.
    pub fn flows_on_to(&self, id: PlaceId) -> Vec<PlaceId> {
        let mut to = Vec::new();
        match self.kind(id) {
            PlaceKind::Supply(_) | PlaceKind::DischargePoint(_) => {}
            PlaceKind::Catchment(of) => to.extend(of.goes_to.targets()),
            PlaceKind::Use(of) => to.extend(of.goes_to.iter().flat_map(|way| way.targets())),
            PlaceKind::Transfer(of) => to.extend(of.goes_to.targets()),
            PlaceKind::Filter(of) => {
                to.extend(of.goes_to.iter().flat_map(|way| way.targets()));
                to.extend(of.above_that.iter().flat_map(|way| way.targets()));
                to.extend(of.wash.iter().flat_map(|wash| wash.to.targets()));
                to.extend(of.change.iter().flat_map(|change| change.to.iter().flat_map(|way| way.targets())));
                to.extend(of.screenings.iter().flat_map(|s| std::iter::once(s.to).chain(s.drains_back_to)));
                to.extend(of.spent_media_to);
                match &of.kind {
                    FilterKind::GravityScreen(GravityScreen { hosed_down: Some(hose) }) => to.extend(hose.to.targets()),
                    FilterKind::MovingMedia(MovingMedia { drip_to: Some(way), .. }) => to.extend(way.targets()),
                    FilterKind::MicroscreenDrum(MicroscreenDrum { rinse, .. }) => to.extend(rinse.to.targets()),
                    FilterKind::Membrane(Membrane { reject }) => to.extend(reject.to.targets()),
                    _ => {}
                }
                if self.is_pull_filter(id) {
                    to.extend(self.takers(id));
                }
            }
            PlaceKind::Tank(of) => {
                to.extend(of.overflows_to.iter().flat_map(|way| way.targets()));
                to.extend(of.pumped_out.iter().flat_map(|pump| pump.to.targets()));
                to.extend(of.emptied_by.iter().map(|tanker| tanker.to));
            }
            PlaceKind::Pond(of) => {
                to.extend(of.spills_to.iter().flat_map(|way| way.targets()));
                to.extend(of.pumped_out.iter().flat_map(|pump| pump.to.targets()));
            }
        }
        to
    }

    /// Topological order; a push filter goes before the store that washes it unless that store's flows reach it.
    fn turns(&self) -> Vec<PlaceId> {
        let mut after: BTreeMap<PlaceId, BTreeSet<PlaceId>> =
            self.ids().map(|id| (id, self.flows_on_to(id).into_iter().collect())).collect();
        for id in self.ids() {
            let Some(filter) = self.filter(id) else {
                continue;
            };
            if self.is_pull_filter(id) {
                continue;
            }
            for store in self.clean_water_from(filter) {
                if self.is_store(store) && !reaches(&after, store, id) {
                    after.entry(id).or_default().insert(store);
                }
            }
        }
        let mut waits: BTreeMap<PlaceId, usize> = self.ids().map(|id| (id, 0)).collect();
        for to in after.values().flatten() {
            *waits.entry(*to).or_insert(0) += 1;
        }
        let mut order = Vec::new();
        while let Some(next) = waits.iter().find(|(_, n)| **n == 0).map(|(id, _)| *id) {
            waits.remove(&next);
            order.push(next);
            for to in after.get(&next).into_iter().flatten() {
                if let Some(n) = waits.get_mut(to) {
                    *n -= 1;
                }
            }
        }
        assert!(waits.is_empty(), "flows go round in a circle within a day");
        order
    }

    /// Hours a day of the flow out of a use or transfer; everything else flows round the clock.
    pub fn own_hours(&self, id: PlaceId) -> f64 {
        let runs = match self.kind(id) {
            PlaceKind::Use(of) => of.runs.as_ref(),
            PlaceKind::Transfer(of) => of.runs.as_ref(),
            _ => None,
        };
        runs.map_or(24.0, |time| given::days(time) * 24.0)
    }

    /// Hours a day of flow through a push filter: the longest of all that may flow to it. Wash water and the like say
    /// nothing of hours; where nothing does, it is taken round the clock.
    pub fn push_hours(&self, filter: PlaceId) -> f64 {
        let passes_to = |from: &PlaceId| match self.kind(*from) {
            PlaceKind::Filter(of) => {
                let on = of.goes_to.iter().chain(&of.above_that);
                on.flat_map(|way| way.targets()).any(|to| to == filter)
            }
            _ => self.flows_on_to(*from).contains(&filter),
        };
        let hours = self
            .ids()
            .filter(passes_to)
            .map(|from| if self.is_filter(from) { self.push_hours(from) } else { self.own_hours(from) })
            .fold(0.0, f64::max);
        if hours > 0.0 { hours } else { 24.0 }
    }

    /// Hours a day of flow through what draws: a filter runs as long as the longest of those it serves.
    pub fn line_hours(&self, id: PlaceId) -> f64 {
        if self.is_filter(id) {
            // Float valves count only where nothing else does.
            let hours = self
                .takers(id)
                .into_iter()
                .filter(|taker| !self.is_store(*taker))
                .map(|taker| self.line_hours(taker))
                .fold(0.0, f64::max);
            if hours > 0.0 { hours } else { 24.0 }
        } else {
            self.own_hours(id)
        }
    }

    /// The least of 1, 2, 4, 8, 24 with design draws per step no more than what can be drawn.
    fn steps_needed(&self) -> u32 {
        let mut most = 0.0_f64;
        for store in self.ids() {
            let drawable = match self.kind(store) {
                PlaceKind::Tank(tank) => given::m3(&tank.holds) - tank.lowest.as_ref().map_or(0.0, given::m3),
                PlaceKind::Pond(_) => continue,
                _ => continue,
            };
            let design: f64 = self
                .ids()
                .filter_map(|id| match self.kind(id) {
                    PlaceKind::Use(of) => Some((id, given::demand(&of.amount))),
                    PlaceKind::Transfer(of) => Some((id, given::demand(&of.amount))),
                    _ => None,
                })
                .filter(|(id, _)| self.first_source(*id) == Some(store))
                .map(|(_, amount)| amount)
                .sum();
            if design > 0.0 {
                most = most.max(design / drawable);
            }
        }
        [1, 2, 4, 8, 24].into_iter().find(|r| most <= f64::from(*r)).unwrap_or(24)
    }

    /// The supply or store at the end of the chain of first sources.
    pub fn first_source(&self, id: PlaceId) -> Option<PlaceId> {
        let mut at = id;
        loop {
            let next = *self.sources(at).first()?;
            if !self.is_filter(next) {
                return Some(next);
            }
            at = next;
        }
    }
}

fn reaches(after: &BTreeMap<PlaceId, BTreeSet<PlaceId>>, from: PlaceId, to: PlaceId) -> bool {
    let mut seen = BTreeSet::new();
    let mut todo = vec![from];
    while let Some(at) = todo.pop() {
        if at == to {
            return true;
        }
        if seen.insert(at) {
            todo.extend(after.get(&at).into_iter().flatten());
        }
    }
    false
}

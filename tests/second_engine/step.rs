//! One step, from records to closing state.

use std::collections::BTreeMap;

use bywash::balance::{Node, Purpose};
use bywash::facility::kinds::{FilterKind, MovingMedia};
use bywash::facility::model::{Outflow, PlaceId, PlaceKind, When};
use chrono::NaiveDate;

use super::given;
use super::grains;
use super::load::{DayOut, Load};
use super::pull::Pulled;
use super::records::Today;
use super::runoff;
use super::samples;
use super::site::Site;
use super::solids;
use super::state::State;

/// Less water than this is no flow with a concentration of its own, m³.
pub const A_FLOW_M3: f64 = 1e-6;

/// Whether water tells the concentration of so much more of it: at least a thousandth of that, with no more solids than
/// its own weight.
pub fn speaks(load: &Load, more: f64) -> bool {
    let tells = load.water > 1e-3 * more && load.solids_kg() <= 1000.0 * load.water;
    load.water > A_FLOW_M3 && (more <= 0.0 || tells)
}

/// A step in the making.
pub struct Step<'a, 'b> {
    pub site: &'b Site<'a>,
    pub state: &'b mut State,
    pub out: &'b mut DayOut,
    pub date: NaiveDate,
    /// Length, days.
    pub days: f64,
    /// Whether it is the first of its day, and whether it is the last.
    pub starts_day: bool,
    pub ends_day: bool,
    pub today: Today,
    /// What supplies can still give, m³.
    pub limit_left: BTreeMap<PlaceId, f64>,
    /// What one cubic metre of each source carries at opening.
    pub opening: BTreeMap<PlaceId, Load>,
    /// Share caught of each parcel by each filter.
    pub eta: BTreeMap<PlaceId, Vec<f64>>,
    /// Settling velocity of each parcel, m/d.
    pub settles: Vec<f64>,
    /// What has arrived at each place, with the hours a day of its flow.
    pub arrived: BTreeMap<PlaceId, Vec<(Load, f64)>>,
    /// Water that was drawn for a screen's hose or spray.
    pub hosed: BTreeMap<PlaceId, Load>,
    /// Clean water that was drawn for a filter's washes.
    pub wash_water: BTreeMap<PlaceId, Load>,
}

impl<'a, 'b> Step<'a, 'b> {
    pub fn new(site: &'b Site<'a>, state: &'b mut State, out: &'b mut DayOut, date: NaiveDate, step: u32) -> Self {
        let days = 1.0 / f64::from(site.steps);
        let today = Today::of(site, date, step);
        let mut limit_left = BTreeMap::new();
        let mut opening = BTreeMap::new();
        let mut eta = BTreeMap::new();
        for id in site.ids() {
            match site.kind(id) {
                PlaceKind::Supply(supply) => {
                    limit_left.insert(id, given::supply_limit(supply, site.facility, site.weather, date) * days);
                    let (solids, dissolved) = solids::concentrations(site.facility, &site.parcels, &supply.brings);
                    let mut one = Load { water: 1.0, solids, dissolved };
                    for sampled in today.samples.iter().filter(|of| of.at == id) {
                        one = samples::replaced(site, &one, sampled);
                    }
                    opening.insert(id, one);
                }
                PlaceKind::Filter(filter) => {
                    eta.insert(id, solids::capture(filter, &site.parcels, date));
                }
                _ => {}
            }
        }
        for (id, store) in &mut state.stores {
            store.turn_done = false;
            opening.insert(*id, store.at_outlet());
        }
        // A roll that ran out is replaced on the next morning, or when a change is logged if the log has any.
        if step == 0 {
            for (id, held) in &mut state.filters {
                let PlaceKind::Filter(filter) = site.kind(*id) else {
                    continue;
                };
                if let FilterKind::MovingMedia(MovingMedia { roll, .. }) = &filter.kind {
                    let mut changes =
                        site.timeline.washes.iter().filter(|wash| wash.filter == *id && wash.changes).peekable();
                    let new = if changes.peek().is_some() {
                        changes.any(|wash| wash.first_day == date && wash.count > 0)
                    } else {
                        held.roll_left_m <= 0.0
                    };
                    if new {
                        held.roll_left_m = given::m(&roll.length);
                    }
                }
            }
        }
        let celsius = given::water_c(site.weather, date).unwrap_or(super::DEFAULT_WATER_C);
        let settles = site
            .parcels
            .iter()
            .map(|(p, _)| grains::settles_m_d(&site.facility.solids[p.kind], p.class, celsius))
            .collect();
        Self {
            site,
            state,
            out,
            date,
            days,
            starts_day: step == 0,
            ends_day: step + 1 == site.steps,
            today,
            limit_left,
            opening,
            eta,
            settles,
            arrived: BTreeMap::new(),
            hosed: BTreeMap::new(),
            wash_water: BTreeMap::new(),
        }
    }

    /// The whole step.
    pub fn run(mut self) {
        self.clean_out();
        let pulled = self.pull();
        self.draw(&pulled);
        for place in self.site.order.clone() {
            self.turn(place, &pulled);
        }
        self.close();
    }

    pub fn holds(&self, when: &When) -> bool {
        given::holds(when, self.site.facility, self.site.weather, self.date)
    }

    pub fn arrive(&mut self, to: PlaceId, load: Load, hours: f64) {
        self.arrived.entry(to).or_default().push((load, hours));
    }

    /// Everything that arrived at a place, and the longest hours of its flows.
    pub fn take_arrivals(&mut self, place: PlaceId) -> (Load, f64) {
        let mut sum = self.site.nothing();
        let mut hours = 0.0_f64;
        for (load, h) in self.arrived.remove(&place).unwrap_or_default() {
            if load.water > 0.0 {
                hours = hours.max(h);
            }
            sum.add(&load);
        }
        (sum, hours)
    }

    /// Sends a flow where it goes, with a meter's reading in place of the computed flow where there is one.
    pub fn send(&mut self, from: PlaceId, to: &Outflow, purpose: Purpose, load: &Load, hours: f64) {
        let mut clean = self.site.nothing();
        clean.water = 1.0;
        self.send_like(from, to, purpose, load, &clean, hours);
    }

    /// Sends a flow where it goes; `one` is what a cubic metre of it carries, also where none flows.
    pub fn send_like(&mut self, from: PlaceId, to: &Outflow, purpose: Purpose, load: &Load, one: &Load, hours: f64) {
        let targets = to.targets();
        let parts = given::split(to, load.water, self.days);
        let flows = load.water > A_FLOW_M3;
        for (i, (target, water)) in targets.iter().zip(parts).enumerate() {
            let mut part =
                if flows || targets.len() == 1 { load.at_same_concentration(water) } else { self.site.nothing() };
            if !flows && i == 0 {
                // Mass without water goes to the first.
                part = load.clone();
            }
            part.water = water;
            self.send_to(from, *target, purpose, &part, load, one, hours);
        }
    }

    /// Sends a part of a whole flow to one place; `one` is what a cubic metre carries where the flow does not tell.
    #[expect(clippy::too_many_arguments, reason = "one entry with all that it may need")]
    fn send_to(
        &mut self,
        from: PlaceId,
        to: PlaceId,
        purpose: Purpose,
        load: &Load,
        whole: &Load,
        one: &Load,
        hours: f64,
    ) {
        let mut moved = load.clone();
        if let Some(metered) = self.today.meter(from, to, purpose) {
            // One of several ways has the concentration of the whole flow; next to no water has none of its own.
            let flows = speaks(whole, metered - load.water);
            let like = if flows { whole } else { one };
            moved = like.at_same_concentration(metered);
            if !flows {
                let mut alone = load.clone();
                alone.water = 0.0;
                moved.add(&alone);
            }
            let difference = load.water - metered;
            let (node, other) = (Node::Place(from), Node::Unaccounted);
            let (mut lost, mut found) = (self.site.nothing(), self.site.nothing());
            if flows {
                lost = like.at_same_concentration(difference.max(0.0));
                found = like.at_same_concentration((-difference).max(0.0));
            } else {
                // What is taken from where it stood comes with all its mass.
                found.add(&one.at_same_concentration(metered));
            }
            lost.water = difference.max(0.0);
            found.water = (-difference).max(0.0);
            self.out.book(node, other, Purpose::Unaccounted, &lost);
            self.out.book(other, node, Purpose::Unaccounted, &found);
        }
        let moved = self.sampled(from, to, purpose, moved);
        self.out.book(Node::Place(from), Node::Place(to), purpose, &moved);
        if !moved.is_nothing() {
            self.arrive(to, moved, hours);
        }
    }

    fn turn(&mut self, place: PlaceId, pulled: &Pulled) {
        match self.site.kind(place) {
            PlaceKind::Supply(_) => {}
            PlaceKind::DischargePoint(_) => {
                self.arrived.remove(&place);
            }
            PlaceKind::Catchment(_) => self.catchment_turn(place),
            PlaceKind::Use(_) => self.use_turn(place),
            PlaceKind::Transfer(of) => {
                let hours = self.site.line_hours(place);
                let (load, _) = self.take_arrivals(place);
                self.send(place, &of.goes_to, Purpose::Water, &load, hours);
            }
            PlaceKind::Filter(_) => self.filter_turn(place, pulled),
            PlaceKind::Tank(_) | PlaceKind::Pond(_) => self.store_turn(place),
        }
    }

    fn catchment_turn(&mut self, place: PlaceId) {
        let PlaceKind::Catchment(of) = self.site.kind(place) else {
            return;
        };
        let rain_m = given::rain_m(self.site.weather, self.date).unwrap_or(0.0) * self.days;
        // The rules of runoff are about a day's rain, and a step has its even share of the day.
        let day_m = given::rain_m(self.site.weather, self.date).unwrap_or(0.0);
        let wet = given::ground(self.site.facility, self.site.weather, self.date);
        let fallen: f64 = of.parts.iter().map(|part| given::m2(&part.area)).sum::<f64>() * rain_m;
        let runoff = runoff::catchment_m3(&of.parts, day_m, wet) * self.days;
        let mut rain = self.site.nothing();
        rain.water = fallen;
        self.out.book(Node::Rain, Node::Place(place), Purpose::Rain, &rain);
        let (solids, dissolved) = solids::concentrations(self.site.facility, &self.site.parcels, &of.solids);
        let one = Load { water: 1.0, solids, dissolved };
        let load = one.times(runoff);
        let picked = Load { water: 0.0, ..load.clone() };
        self.out.book(Node::PickedUp, Node::Place(place), Purpose::PickedUp, &picked);
        let mut kept = self.site.nothing();
        kept.water = fallen - runoff;
        self.out.book(Node::Place(place), Node::Retained, Purpose::Retained, &kept);
        self.send_like(place, &of.goes_to, Purpose::Runoff, &load, &one, 24.0);
    }

    fn use_turn(&mut self, place: PlaceId) {
        let PlaceKind::Use(of) = self.site.kind(place) else {
            return;
        };
        let hours = self.site.line_hours(place);
        let (mut load, _) = self.take_arrivals(place);
        let (_, fed) = solids::concentrations(self.site.facility, &self.site.parcels, &of.feed_added);
        let mut feed = self.site.nothing();
        feed.dissolved = fed.iter().map(|c| c * load.water).collect();
        self.out.book(Node::Feed, Node::Place(place), Purpose::Feed, &feed);
        load.add(&feed);
        let returns = if of.goes_to.is_some() { given::share(&of.returns) } else { 0.0 };
        let back = load.times(returns);
        let mut kept = load.times(1.0 - returns);
        kept.water = load.water - back.water;
        self.out.book(Node::Place(place), Node::Crop, Purpose::Uptake, &kept);
        let (solids, dissolved) = solids::concentrations(self.site.facility, &self.site.parcels, &of.picks_up);
        let mut picked = Load { water: 1.0, solids, dissolved }.times(back.water);
        picked.water = 0.0;
        self.out.book(Node::PickedUp, Node::Place(place), Purpose::PickedUp, &picked);
        let mut back = back;
        back.add(&picked);
        if let Some(to) = &of.goes_to {
            self.send(place, to, Purpose::Return, &back, hours);
        }
    }
}

//! A store's turn: top-up, pump, tanker, climate, spill, settling; then level records and pore water.

use bywash::balance::{Node, Purpose};
use bywash::facility::model::{FillRule, Outflow, PlaceId, PlaceKind, PumpedOut, SludgeState, TankerRule};

use super::given;
use super::load::Load;
use super::records::Reading;
use super::stage::{Passed, WaterDay};
use super::state::sludge_of;
use super::step::{A_FLOW_M3, Step, speaks};

const WATER_KG_M3: f64 = 1000.0;

struct Rules<'a> {
    fill: Option<&'a FillRule>,
    pump: Option<&'a PumpedOut>,
    tanker: Option<&'a TankerRule>,
    overflow: Option<&'a Outflow>,
    seepage_m_d: f64,
    sludge: Option<&'a SludgeState>,
}

impl<'a> Rules<'a> {
    fn of(kind: &'a PlaceKind) -> Self {
        match kind {
            PlaceKind::Tank(tank) => Self {
                fill: tank.filled_from.as_ref(),
                pump: tank.pumped_out.as_ref(),
                tanker: tank.emptied_by.as_ref(),
                overflow: tank.overflows_to.as_ref(),
                seepage_m_d: 0.0,
                sludge: None,
            },
            PlaceKind::Pond(pond) => Self {
                fill: pond.filled_from.as_ref(),
                pump: pond.pumped_out.as_ref(),
                tanker: None,
                overflow: pond.spills_to.as_ref(),
                seepage_m_d: pond.seepage.as_ref().map_or(0.0, given::m_d),
                sludge: pond.sludge.as_ref(),
            },
            _ => Self { fill: None, pump: None, tanker: None, overflow: None, seepage_m_d: 0.0, sludge: None },
        }
    }
}

/// Climate of a step on a store.
struct Climate {
    rain: f64,
    evaporation: f64,
    seepage: f64,
    area_m2: f64,
}

impl Climate {
    fn net(&self) -> f64 {
        self.rain - self.evaporation - self.seepage
    }
}

/// The waters of a turn.
struct Turn {
    day: WaterDay,
    inflow: Load,
    climate: Climate,
    pumped: f64,
    hauled: f64,
}

impl Step<'_, '_> {
    /// Volume up to which a float valve fills, m³ of water.
    pub fn fill_volume(&self, place: PlaceId) -> f64 {
        let Some(rule) = self.site.fill_rule(place) else {
            return 0.0;
        };
        self.water_at(place, rule.up_to_volume.as_ref().map(given::m3), rule.up_to_level.as_ref().map(given::m))
    }

    /// Water held when the store stands at a volume or a level.
    fn water_at(&self, place: PlaceId, volume: Option<f64>, level: Option<f64>) -> f64 {
        let store = &self.state.stores[&place];
        match (volume, level, &store.shape) {
            (Some(volume), _, _) => volume,
            (None, Some(level), Some(shape)) => (shape.volume_at_level(level) - store.sludge_m3).max(0.0),
            _ => 0.0,
        }
    }

    /// Rain, evaporation and seepage by two passes over the area.
    fn climate(&self, place: PlaceId, inflow: f64, seepage_m_d: f64) -> Climate {
        let store = &self.state.stores[&place];
        let Some(shape) = &store.shape else {
            return Climate { rain: 0.0, evaporation: 0.0, seepage: 0.0, area_m2: 0.0 };
        };
        let rain = shape.footprint_m2 * given::rain_m(self.site.weather, self.date).unwrap_or(0.0) * self.days;
        let evaporates = given::evaporation_m(self.site.weather, self.date) * self.days;
        let seeps = seepage_m_d * self.days;
        let e = evaporates + seeps;
        let area = |water: f64| shape.area_at_volume(water + store.sludge_m3);
        let v0 = store.volume;
        let middle = (v0 + 0.5 * (inflow + rain - e * area(v0))).clamp(0.0, store.capacity());
        let area_m2 = area(middle);
        // What rounding leaves in an emptied pond stays.
        let there = v0 + inflow + rain;
        let loss = if there > A_FLOW_M3 { (e * area_m2).min(there) } else { 0.0 };
        let of = |part: f64| if e > 0.0 { loss * part / e } else { 0.0 };
        Climate { rain, evaporation: of(evaporates), seepage: of(seeps), area_m2 }
    }

    pub fn store_turn(&mut self, place: PlaceId) {
        let rules = Rules::of(self.site.kind(place));
        let (mut inflow, _) = self.take_arrivals(place);
        if let Some(fill) = rules.fill {
            let metered = |step: &Self, from: &PlaceId| step.today.meter(*from, place, Purpose::TopUp).is_some();
            let (first, then): (Vec<PlaceId>, Vec<PlaceId>) = fill.from.iter().partition(|from| metered(self, from));
            for from in first.into_iter().chain(then) {
                let topped = self.top_up(place, fill, from, &inflow, rules.seepage_m_d);
                inflow.add(&topped);
            }
        }
        let climate = self.climate(place, inflow.water, rules.seepage_m_d);
        let projected = self.state.stores[&place].volume + inflow.water + climate.net();

        let pumped = rules.pump.map_or(0.0, |pump| self.pumped(place, pump, projected));
        let hauled = rules.tanker.map_or(0.0, |tanker| self.hauled(place, tanker, projected - pumped));
        let hauled = if hauled > A_FLOW_M3 { hauled } else { 0.0 };
        let store = &self.state.stores[&place];
        let after = projected - pumped - hauled;
        let spill = (after - store.capacity()).max(0.0);
        let day = WaterDay {
            days: self.days,
            start_m3: store.volume,
            inflow_m3: inflow.water,
            climate_m3: climate.net(),
            pumped_m3: pumped + hauled,
            spilt_m3: spill,
        };
        self.through(place, &rules, &Turn { day, inflow, climate, pumped, hauled });
    }

    /// Solids and constituents go through the stages; everything is booked.
    fn through(&mut self, place: PlaceId, rules: &Rules, turn: &Turn) {
        let Turn { day, inflow, climate, pumped, hauled } = turn;
        let (pumped, hauled) = (*pumped, *hauled);
        let stages = day.stages();
        let pond = self.state.stores[&place].shape.is_some();
        let mut out = self.site.nothing();
        let mut over = self.site.nothing();
        let mut settled = self.site.nothing();
        let store = self.state.stores.get_mut(&place).expect("a store");
        for (stage, pumped_share) in &stages {
            for (p, cells) in store.solids.iter_mut().enumerate() {
                let speed = if pond { self.settles[p] } else { 0.0 };
                let Passed { out_kg, settled_kg } =
                    stage.run(cells, speed * climate.area_m2, inflow.solids[p] / day.days);
                out.solids[p] += out_kg * pumped_share;
                over.solids[p] += out_kg * (1.0 - pumped_share);
                settled.solids[p] += settled_kg;
            }
            for (c, cells) in store.dissolved.iter_mut().enumerate() {
                let Passed { out_kg, settled_kg } =
                    stage.run(cells, climate.seepage / day.days, inflow.dissolved[c] / day.days);
                out.dissolved[c] += out_kg * pumped_share;
                over.dissolved[c] += out_kg * (1.0 - pumped_share);
                settled.dissolved[c] += settled_kg;
            }
        }
        store.volume = day.end_m3().max(0.0);
        store.turn_done = true;
        out.water = pumped + hauled;
        over.water = day.spilt_m3;

        let here = Node::Place(place);
        let mut water = self.site.nothing();
        water.water = climate.rain;
        self.out.book(Node::Rain, here, Purpose::Rain, &water);
        water.water = climate.evaporation;
        self.out.book(here, Node::Evaporation, Purpose::Evaporation, &water);
        water.water = climate.seepage;
        water.dissolved = settled.dissolved.clone();
        self.out.book(here, Node::Seepage, Purpose::Seepage, &water);
        self.settle(place, rules, &settled);
        // A meter may count where the balance has no flow: then the water is taken as that nearest the outlet.
        let store = &self.state.stores[&place];
        let mut one = self.site.nothing();
        one.water = 1.0;
        if store.volume > A_FLOW_M3 {
            one = store.at_outlet();
        }
        let part = |out: &Load, water: f64| {
            if out.water > 0.0 { out.times(water / out.water) } else { self.site.nothing() }
        };
        let (by_pump, by_tanker) = (part(&out, pumped), part(&out, hauled));
        if let Some(pump) = rules.pump {
            self.send_like(place, &pump.to, Purpose::PumpedOut, &by_pump, &one, 24.0);
        }
        if let Some(tanker) = rules.tanker {
            let to = given::to_one(tanker.to);
            self.send_like(place, &to, Purpose::Hauled, &by_tanker, &one, 24.0);
        }
        match rules.overflow {
            Some(to) => self.send_like(place, to, Purpose::Spill, &over, &one, 24.0),
            None => self.out.book(here, Node::Unaccounted, Purpose::Unaccounted, &over),
        }
    }

    /// Solids that settled go to the sludge; their pore water is taken at the close of the step.
    fn settle(&mut self, place: PlaceId, rules: &Rules, settled: &Load) {
        let store = self.state.stores.get_mut(&place).expect("a store");
        if store.shape.is_none() {
            return;
        }
        let mut load = settled.only_solids();
        let mass = load.solids_kg();
        if let Some(sludge) = rules.sludge {
            let dry = given::share(&sludge.dry_solids);
            let pore = (mass * (1.0 / dry - 1.0) / WATER_KG_M3).min(store.volume);
            let share = if store.volume > 0.0 { pore / store.volume } else { 0.0 };
            load.water = pore;
            if super::PORE_WATER_CARRIES_DISSOLVED {
                load.dissolved = store.content().times(share).dissolved;
                for cell in store.dissolved.iter_mut().flatten() {
                    *cell *= 1.0 - share;
                }
            }
            store.volume -= pore;
        }
        let grains: f64 = load
            .solids
            .iter()
            .zip(&self.site.parcels)
            .map(|(kg, (p, _))| {
                let density = self.site.facility.solids[p.kind].density.as_ref();
                kg / density.map_or(WATER_KG_M3, given::kg_m3)
            })
            .sum();
        // Nobody who types no sludge is asked for its room.
        if rules.sludge.is_some() {
            store.sludge_m3 += load.water + grains;
        }
        store.sludge.add(&load);
        self.out.book(Node::Place(place), Node::Sludge(place), Purpose::Settled, &load);
    }

    /// A float valve straight from a supply or a store.
    fn top_up(&mut self, place: PlaceId, fill: &FillRule, from: PlaceId, inflow: &Load, seepage_m_d: f64) -> Load {
        if self.site.is_filter(from) {
            return self.site.nothing();
        }
        let projected =
            self.state.stores[&place].volume + inflow.water + self.climate(place, inflow.water, seepage_m_d).net();
        let metered = self.today.meter(from, place, Purpose::TopUp);
        let runs = fill.when.as_ref().is_none_or(|when| self.holds(when));
        let wanted = match metered {
            Some(metered) => metered,
            None if runs => (self.fill_volume(place) - projected).max(0.0),
            None => 0.0,
        };
        let load = if metered.is_some() { self.draw_metered(from, wanted) } else { self.draw_now(from, wanted) };
        self.out.book(Node::Place(from), Node::Place(place), Purpose::TopUp, &load);
        load
    }

    fn pumped(&mut self, place: PlaceId, pump: &PumpedOut, projected: f64) -> f64 {
        let m = |v: &Option<bywash::files::Given<_>>| v.as_ref().map(given::m3);
        let l = |v: &Option<bywash::files::Given<_>>| v.as_ref().map(given::m);
        let starts = self.water_at(place, m(&pump.starts_at_volume), l(&pump.starts_at_level));
        let stops = self.water_at(place, m(&pump.stops_at_volume), l(&pump.stops_at_level));
        let allowed = pump.when.as_ref().is_none_or(|when| self.holds(when));
        let rate = given::m3_d(&pump.rate) * self.days;
        let store = self.state.stores.get_mut(&place).expect("a store");
        if !allowed {
            store.pump_on = false;
            return 0.0;
        }
        // What rounding leaves over a mark is none.
        if projected + A_FLOW_M3 >= starts {
            store.pump_on = true;
        } else if projected <= stops + A_FLOW_M3 {
            store.pump_on = false;
        }
        let pumped = rate.min(projected - stops);
        let pumped = if store.pump_on && pumped > A_FLOW_M3 { pumped } else { 0.0 };
        if projected - pumped <= stops + A_FLOW_M3 {
            store.pump_on = false;
        }
        pumped
    }

    fn hauled(&mut self, place: PlaceId, tanker: &TankerRule, projected: f64) -> f64 {
        let down_to = tanker.down_to.as_ref().map_or(0.0, given::m3);
        if let Some(logged) = self.today.hauled.get(&place) {
            return logged.unwrap_or(projected - down_to).clamp(0.0, projected.max(0.0));
        }
        if tanker.by_log && self.has_haul_log(place) {
            return 0.0;
        }
        match &tanker.when_holding {
            Some(full) if projected + A_FLOW_M3 >= given::m3(full) => (projected - down_to).max(0.0),
            _ => 0.0,
        }
    }

    /// Whether anybody ever wrote down that a store was emptied.
    fn has_haul_log(&self, place: PlaceId) -> bool {
        let acts = &self.site.timeline.acts;
        acts.iter().any(|act| act.what == "hauled" && self.site.facility.find(&act.name) == Some(place))
    }

    /// All sludge leaves a pond that is cleaned out.
    pub fn clean_out(&mut self) {
        for place in self.today.cleaned.clone() {
            let Some(store) = self.state.stores.get_mut(&place) else {
                continue;
            };
            if store.shape.is_none() {
                continue;
            }
            store.sludge_m3 = 0.0;
            let gone = std::mem::replace(&mut store.sludge, self.site.nothing());
            self.out.book(Node::Sludge(place), Node::CleanedOut, Purpose::CleanOut, &gone);
        }
    }

    /// Sludge is what was sounded; the difference is unaccounted.
    fn soundings(&mut self) {
        for (place, depth) in self.today.soundings.clone() {
            let PlaceKind::Pond(pond) = self.site.kind(place) else {
                continue;
            };
            let Some(typed) = &pond.sludge else { continue };
            let store = self.state.stores.get_mut(&place).expect("a store");
            let shape = store.shape.as_ref().expect("a pond has a shape");
            let wanted = shape.sludge_m3(depth);
            let old = store.sludge.clone();
            // Of less than a thousandth of what was sounded it is not told what all of it is made of.
            let new = if store.sludge_m3 > wanted / 1000.0 {
                old.times(wanted / store.sludge_m3)
            } else {
                sludge_of(self.site, given::share(&typed.dry_solids), wanted)
            };
            let (mut lost, mut found) = (self.site.nothing(), self.site.nothing());
            lost.water = (old.water - new.water).max(0.0);
            found.water = (new.water - old.water).max(0.0);
            for i in 0..old.solids.len() {
                lost.solids[i] = (old.solids[i] - new.solids[i]).max(0.0);
                found.solids[i] = (new.solids[i] - old.solids[i]).max(0.0);
            }
            let more = wanted - store.sludge_m3;
            store.sludge_m3 = wanted;
            store.sludge = new;
            let water = (store.volume - more).max(0.0);
            let (here, other) = (Node::Sludge(place), Node::Unaccounted);
            self.out.book(here, other, Purpose::Unaccounted, &lost);
            self.out.book(other, here, Purpose::Unaccounted, &found);
            // The surface stands where it stood.
            if !self.today.levels.contains_key(&place) {
                self.hold(place, water);
            }
        }
    }

    /// So much water is there; the difference is unaccounted, at the mean concentration.
    fn hold(&mut self, place: PlaceId, reads: f64) {
        let Some(store) = self.state.stores.get_mut(&place) else {
            return;
        };
        let difference = store.volume - reads;
        let here = Node::Place(place);
        if difference > 0.0 {
            let lost = store.take_mean(difference);
            store.volume = reads;
            self.out.book(here, Node::Unaccounted, Purpose::Unaccounted, &lost);
        } else if difference < 0.0 {
            let mut found = self.site.nothing();
            found.water = -difference;
            if speaks(&store.content(), -difference) {
                found = store.content().at_same_concentration(-difference);
                store.take_mean(difference);
            }
            store.volume = reads;
            self.out.book(Node::Unaccounted, here, Purpose::Unaccounted, &found);
        }
    }

    /// G: soundings, level records, closing contents.
    pub fn close(&mut self) {
        self.soundings();
        let readings: Vec<(PlaceId, Reading)> = self.today.levels.iter().map(|(id, r)| (*id, *r)).collect();
        for (place, reading) in readings {
            let Some(store) = self.state.stores.get_mut(&place) else {
                continue;
            };
            let reads = match reading {
                Reading::Water(volume) => volume,
                Reading::UnderSurface(volume) => (volume - store.sludge_m3).max(0.0),
            };
            self.hold(place, reads);
        }
        if self.ends_day {
            for filter in self.state.filters.values_mut() {
                filter.days_since += 1.0;
            }
        }
        for (id, store) in &self.state.stores {
            self.out.closing.insert(*id, store.content());
        }
        for (id, filter) in &self.state.filters {
            self.out.held.insert(*id, filter.held.iter().sum());
        }
    }
}

//! Pull lines: what is needed, what is granted, what is drawn.

mod granted;

use crate::balance::at::{FilterAt, Param, StoreAt, WayAt};
use crate::balance::lanes::{M, V};
use crate::balance::plan::{Asker, DayRecords, First, NO_LIMIT, Op, RankGroup, Removal, Source};
use crate::balance::step::flow::A_FLOW_M3;
use crate::balance::step::stage::Drawing;
use crate::balance::step::wash::{self, WashState, Washed, Washing};
use crate::balance::step::{Engine, Forcing};

impl<const L: usize> Engine<'_, L> {
    /// Concentration of what a source gives, kg/m³.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub(super) fn source_kg_m3(&self, source: Source, x: usize) -> V<L> {
        match source {
            Source::Supply(s) => self.params[self.supply_concentration[s] + x],
            Source::Store(s) => self.drawn_kg_m3[(s, x)],
        }
    }

    /// Wet sludge of a pond, m³.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub(crate) fn sludge_m3(&self, s: StoreAt) -> V<L> {
        let store = &self.plan.stores[s];
        let mut sum = V::zero();
        if store.pond {
            for p in 0..self.plan.parcels.len() {
                sum += self.state.sludge[store.sludge + p] * self.params[store.grains_m3_kg + p];
            }
            sum += self.state.sludge[store.sludge + self.plan.parcels.len()];
        }
        sum
    }

    /// Volume that can't be drawn, m³ of water.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub(super) fn lowest_m3(&self, s: StoreAt) -> V<L> {
        let store = &self.plan.stores[s];
        if store.pond { (self.params[store.lowest_m3] - self.sludge_m3(s)).pos() } else { self.params[store.lowest_m3] }
    }

    #[cfg_attr(not(debug_assertions), inline(always))]
    pub(super) fn washing(&self, f: FilterAt) -> Washing<L> {
        let filter = &self.plan.filters[f];
        let p = |i: Param| self.params[i];
        let most = p(filter.most_events_d) * self.dt;
        Washing {
            per_load: p(filter.per_load),
            keeps: p(filter.keeps),
            clears_all: filter.clears_all,
            own_m3: p(filter.own_m3),
            clock_rate: p(filter.clock_d) * self.dt,
            running_rate: p(filter.running_d) * p(filter.running) * self.dt,
            per_throughput: p(filter.per_throughput),
            schedule_days: p(filter.schedule_days),
            starts_day: self.step == 0,
            most: if self.plan.steps_per_day > 1 { most.floor().max(V::splat(1.0)) } else { most.floor() },
        }
    }

    #[cfg_attr(not(debug_assertions), inline(always))]
    pub(super) fn wash_state(&self, f: FilterAt) -> WashState<L> {
        let parcels = self.plan.parcels.len();
        let mut held = V::zero();
        for p in 0..parcels {
            held += self.state.held[(f, p)];
        }
        WashState { held_kg: held, progress: self.state.progress[f] }
    }

    /// Events of the log that fall in this step.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub(super) fn logged(&self, f: FilterAt, records: &DayRecords) -> Option<f64> {
        let log = records.washes[f]?;
        let r = u64::from(self.plan.steps_per_day.max(1));
        let up_to = |step: u64| u64::from(log.count) * step / r;
        let step = u64::from(self.step);
        Some((up_to(step + 1) - up_to(step)) as f64)
    }

    /// Water of washes as records say: a meter on the wash water, else logged minutes at the wash's rate.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub(super) fn wash_water_recorded(&self, f: FilterAt, records: &DayRecords) -> Option<V<L>> {
        let filter = &self.plan.filters[f];
        let waste = filter.waste?;
        if let [item] = self.plan.outlets[waste].items.as_slice()
            && let Some(metered) = self.metered(item.edge, records)
        {
            return Some(V::splat(metered));
        }
        let minutes = records.washes[f]?.minutes?;
        if filter.changes {
            return None;
        }
        let rate = self.params[filter.m3_per_minute];
        rate.gt(V::zero()).any().then(|| rate * (minutes * self.dt))
    }

    /// The filter's own water of so many events.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub(super) fn own_water(&self, f: FilterAt, count: V<L>, records: &DayRecords) -> V<L> {
        let filter = &self.plan.filters[f];
        let own = self.params[filter.own_m3] * count;
        match self.wash_water_recorded(f, records) {
            Some(recorded) if filter.own_water => recorded,
            // Rinse and drained water are part of what was measured.
            Some(recorded) => own.min(recorded),
            None => own,
        }
    }

    /// Clean water that so many events take.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub(super) fn clean_water(&self, f: FilterAt, washed: &Washed<L>, records: &DayRecords) -> V<L> {
        let filter = &self.plan.filters[f];
        if filter.removal == Removal::Continuous {
            return self.continuous_water(f, washed.removed_kg, washed.gross_m3, records);
        }
        let own = self.params[filter.own_m3] * washed.count;
        match self.wash_water_recorded(f, records) {
            Some(recorded) => (recorded - own).pos(),
            None => self.params[filter.clean_m3] * washed.count,
        }
    }

    /// Water that goes with what is caught continuously; a membrane's as its meter says, else its share of the flow.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub(super) fn continuous_water(&self, f: FilterAt, caught: V<L>, flow: V<L>, records: &DayRecords) -> V<L> {
        let filter = &self.plan.filters[f];
        if let Some(reject) = &filter.reject {
            let water = self.wash_water_recorded(f, records).unwrap_or(flow * self.params[reject.share]);
            return flow.gt(V::splat(A_FLOW_M3)).pick(water, V::zero());
        }
        let least = self.params[filter.least_m3_d] * self.dt;
        let greatest = self.params[filter.greatest_m3_d] * self.dt;
        let water = (caught * self.params[filter.water_per_kg]).max(least).min(greatest);
        flow.gt(V::splat(A_FLOW_M3)).pick(water, V::zero())
    }

    /// The wet of what is left of a roll behind which water passes unfiltered: no more drips off. Without end for all others.
    fn wet_left(&self, f: FilterAt) -> V<L> {
        let filter = &self.plan.filters[f];
        match filter.roll.filter(|roll| roll.passes_unfiltered) {
            Some(roll) => self.state.roll[f] * self.params[filter.water_per_kg].over(self.params[roll.m_per_kg]),
            None => V::splat(f64::INFINITY),
        }
    }

    /// Washes and gross water for a net need.
    #[cfg_attr(not(debug_assertions), inline(always))]
    fn for_net(&self, f: FilterAt, net: V<L>, records: &DayRecords) -> Washed<L> {
        let filter = &self.plan.filters[f];
        let gamma = self.gamma[f];
        if filter.removal == Removal::Continuous {
            let mut washed = Washed::default();
            if filter.clean.is_some() {
                washed.gross_m3 = net;
                washed.removed_kg = gamma * net;
                return washed;
            }
            if let Some(reject) = &filter.reject {
                // F = N + rF.
                let share = self.params[reject.share];
                let by_share = net * share / (V::splat(1.0) - share);
                let extra = self.wash_water_recorded(f, records).unwrap_or(by_share);
                washed.gross_m3 = net + net.gt(V::splat(A_FLOW_M3)).pick(extra, V::zero());
                washed.removed_kg = gamma * washed.gross_m3;
                return washed;
            }
            // F = N + clamp(aγF, least, greatest).
            let slope = self.params[filter.water_per_kg] * gamma;
            let least = self.params[filter.least_m3_d] * self.dt;
            let greatest = (self.params[filter.greatest_m3_d] * self.dt).min(self.wet_left(f));
            let below_one = slope.lt(V::splat(1.0));
            let solved = (slope * net) / below_one.pick(V::splat(1.0) - slope, V::splat(1.0));
            let extra = below_one.pick(solved, greatest).max(least).min(greatest);
            let extra = net.gt(V::splat(A_FLOW_M3)).pick(extra, V::zero());
            washed.gross_m3 = net + extra;
            washed.removed_kg = gamma * washed.gross_m3;
            return washed;
        }
        let w = self.washing(f);
        let state = self.wash_state(f);
        let mut washed = match self.logged(f, records) {
            Some(k) => {
                let gross = net + self.own_water(f, V::splat(k), records);
                wash::logged(&w, &state, gamma, gross, k)
            }
            None => wash::for_net_need(&w, &state, gamma, net),
        };
        washed.gross_m3 = net + self.own_water(f, washed.count, records);
        washed
    }

    built_for_each_width!(
        pub(super) fn for_gross, for_gross_avx2, for_gross_avx512 =
            for_gross_body(f: FilterAt, gross: V<L>, gamma: V<L>, records: &DayRecords) -> (Washed<L>, V<L>)
    );

    /// Washes for gross water given, and what passes on.
    #[cfg_attr(not(debug_assertions), inline(always))]
    fn for_gross_body(&self, f: FilterAt, gross: V<L>, gamma: V<L>, records: &DayRecords) -> (Washed<L>, V<L>) {
        let filter = &self.plan.filters[f];
        if filter.removal == Removal::Continuous {
            let mut washed = Washed { gross_m3: gross, ..Washed::default() };
            washed.removed_kg = gamma * gross;
            let extra = if filter.clean.is_some() {
                V::zero()
            } else {
                self.continuous_water(f, washed.removed_kg, gross, records).min(self.wet_left(f)).min(gross)
            };
            return (washed, gross - extra);
        }
        let w = self.washing(f);
        let state = self.wash_state(f);
        let washed = match self.logged(f, records) {
            Some(k) => wash::logged(&w, &state, gamma, gross, k),
            None => wash::for_gross_given(&w, &state, gamma, gross),
        };
        let own = self.own_water(f, washed.count, records).min(gross);
        (washed, gross - own)
    }

    /// Grants groups of one rank each, in turn, from what there is; metered slots first and whole (`set_aside` where
    /// they are out of the room already).
    #[cfg_attr(not(debug_assertions), inline(always))]
    fn share_out(
        &mut self,
        groups: &[RankGroup],
        mut room: V<L>,
        uncapped: M<L>,
        set_aside: bool,
        records: &DayRecords,
    ) -> V<L> {
        let mut granted = V::zero();
        for group in groups {
            for &slot in group {
                if records.metered[self.plan.slots[slot].edge] {
                    let given = self.asked[slot];
                    self.given[slot] = given;
                    if !set_aside {
                        granted += given;
                        room = (room - given).pos();
                    }
                }
            }
        }
        for (index, group) in groups.iter().enumerate() {
            let mut sum = V::zero();
            for &slot in group {
                if !records.metered[self.plan.slots[slot].edge] {
                    sum += self.asked[slot];
                }
            }
            let ratio = room.over(sum);
            let mut f = ratio.min(V::splat(1.0));
            if uncapped.any() {
                // More than was asked for goes to the last rank that asks for any.
                let mut later = V::zero();
                for &slot in groups.iter().skip(index + 1).flatten() {
                    if !records.metered[self.plan.slots[slot].edge] {
                        later += self.asked[slot];
                    }
                }
                f = (uncapped & later.le(V::zero())).pick(ratio, f);
            }
            let mut here = V::zero();
            for &slot in group {
                if !records.metered[self.plan.slots[slot].edge] {
                    let given = self.asked[slot] * f;
                    self.given[slot] = given;
                    here += given;
                }
            }
            granted += here;
            room = (room - here).pos();
        }
        granted
    }

    built_for_each_width!(
        pub(super) fn pull_lines, pull_lines_avx2, pull_lines_avx512 =
            pull_lines_body(forcing: &Forcing, records: &DayRecords)
    );

    /// (B) to (D): needs and grants.
    #[cfg_attr(not(debug_assertions), inline(always))]
    fn pull_lines_body(&mut self, forcing: &Forcing, records: &DayRecords) {
        let plan = self.plan;
        let n = plan.constituents;
        let parcels = plan.parcels.len();
        self.grant.fill(V::zero());
        self.used_meter.fill(false);
        for (s, store) in plan.stores.each() {
            if !self.is_source[s] {
                continue;
            }
            let volume = self.state.volume[s];
            let there = (volume - self.lowest_m3(s)).pos();
            self.room[s] = there.gt(V::splat(A_FLOW_M3)).pick(there, V::zero());
            // What rounding leaves in an emptied store has no concentration.
            let holds = volume.gt(V::splat(A_FLOW_M3)).pick(volume, V::zero());
            let scale = V::splat(store.cells as f64).over(holds);
            for x in 0..n {
                let last = self.state.mass[store.first + x * store.cells + store.cells - 1];
                self.drawn_kg_m3[(s, x)] = last * scale;
            }
        }
        for (s, supply) in plan.supplies.each() {
            let most = self.params[supply.most_m3_d] * self.dt;
            self.supply_left[s] = self.is_on(supply.when, forcing).pick(most, V::zero());
        }
        // Metered draws are set aside before anybody is granted anything.
        for (edge, source) in &plan.draws {
            if let Some(metered) = self.metered(*edge, records) {
                let room = match *source {
                    Source::Supply(s) => &mut self.supply_left[s],
                    Source::Store(s) => &mut self.room[s],
                };
                *room = (*room - metered).pos();
            }
        }
        // Concentrations along pull lines by first sources, parents before children.
        for op in &plan.order {
            let Op::Filter(f) = *op else { continue };
            let filter = &plan.filters[f];
            let Some(first) = filter.first else { continue };
            let eta = filter.eta[forcing.month];
            let mut gamma = V::zero();
            for x in 0..n {
                let c = match first {
                    First::Source(source) => self.source_kg_m3(source, x),
                    First::Filter(parent) => self.filtrate_kg_m3[(parent, x)],
                };
                if x < parcels {
                    let caught = c * self.params[eta + x];
                    gamma += caught;
                    self.filtrate_kg_m3[(f, x)] = c - caught;
                } else {
                    self.filtrate_kg_m3[(f, x)] = c;
                }
            }
            self.gamma[f] = gamma;
            self.net[f] = V::zero();
            self.available[f] = V::zero();
            self.gross[f] = V::splat(self.metered_inlets(&filter.inlets, records).unwrap_or(0.0));
            self.clean[f] = V::zero();
            self.short[f] = M::all_or_none(false);
            self.washed[f] = Washed::default();
        }
        for (a, asker) in plan.askers.each() {
            self.unmet[a] = match *asker {
                Asker::User(u) => {
                    let user = &plan.users[u];
                    let demand = self.params[user.demand_m3_d] * self.dt;
                    // What meters say of some of its inlets is not asked of the others.
                    let metered = self.metered_inlets(&user.inlets, records).unwrap_or(0.0);
                    let wanted = self.is_on(Some(user.when), forcing).pick(demand, V::zero());
                    (wanted - metered).pos()
                }
                Asker::Fill(s) => {
                    let sludge = self.sludge_m3(s);
                    let mut set = V::zero();
                    let mut metered = 0.0;
                    if let Some(fill) = &plan.stores[s].fill {
                        let mark = self.mark_m3(fill.set_m3, fill.of_water, sludge);
                        set = self.is_on(fill.when, forcing).pick(mark, V::zero());
                        metered = self.metered_inlets(&fill.ways, records).unwrap_or(0.0);
                    }
                    (set - self.state.volume[s] - metered).pos()
                }
                Asker::Hose(f) => match plan.filters[f].hose {
                    Some((_, _, rate)) => self.params[rate] * self.dt,
                    None => V::zero(),
                },
                Asker::Spray(f) => match plan.filters[f].spray {
                    Some((_, rate, _)) => self.params[rate] * self.dt,
                    None => V::zero(),
                },
            };
        }
        // A filter that needs no water washes on its clock all the same: asked with nothing to deliver.
        for round in &plan.rounds {
            for &(asker, slot) in &round.leaves {
                let edge = plan.slots[slot].edge;
                self.asked[slot] = match self.metered(edge, records) {
                    Some(_) if self.used_meter[edge] => V::zero(),
                    Some(value) => {
                        self.used_meter[edge] = true;
                        V::splat(value)
                    }
                    None => self.unmet[asker],
                };
            }
            for ask in &round.asks {
                let f = ask.filter;
                let mut need = V::zero();
                for group in &ask.children {
                    for &slot in group {
                        need += self.asked[slot];
                    }
                }
                let inlets = &plan.filters[f].inlets;
                let washed = if inlets.iter().all(|e| records.metered[*e]) {
                    // Meters say what comes: counted by that from the start.
                    self.for_gross(f, self.gross[f], self.gamma[f], records).0
                } else {
                    self.for_net(f, self.net[f] + need, records)
                };
                let edge = plan.slots[ask.slot].edge;
                let most = self.params[plan.filters[f].most_m3_d];
                let mut gross = (washed.gross_m3 - self.gross[f]).pos();
                if most.lt(V::splat(NO_LIMIT)).any() {
                    gross = gross.min((most * self.dt - self.gross[f]).pos());
                }
                self.asked[ask.slot] = match self.metered(edge, records) {
                    Some(_) if self.used_meter[edge] => V::zero(),
                    Some(value) => {
                        self.used_meter[edge] = true;
                        V::splat(value)
                    }
                    None => gross,
                };
                if let Some(slot) = ask.clean {
                    let edge = plan.slots[slot].edge;
                    self.asked[slot] = match self.metered(edge, records) {
                        Some(_) if self.used_meter[edge] => V::zero(),
                        Some(value) => {
                            self.used_meter[edge] = true;
                            V::splat(value)
                        }
                        None => (self.clean_water(f, &washed, records) - self.clean[f]).pos(),
                    };
                }
                self.washed[f] = washed;
            }
            // A spray runs only where its filter is asked for water.
            for &(asker, slot) in &round.leaves {
                if let Asker::Spray(f) = plan.askers[asker]
                    && !records.metered[plan.slots[slot].edge]
                {
                    let needed = self.washed[f].gross_m3.gt(V::zero());
                    self.asked[slot] = needed.pick(self.asked[slot], V::zero());
                }
            }
            let never = M::all_or_none(false);
            for (source, groups) in &round.grants {
                let room = match *source {
                    Source::Supply(s) => self.supply_left[s],
                    Source::Store(s) => self.room[s],
                };
                let granted = self.share_out(groups, room, never, true, records);
                match *source {
                    Source::Supply(s) => self.supply_left[s] = (room - granted).pos(),
                    Source::Store(s) => self.room[s] = (room - granted).pos(),
                }
            }
            for ask in round.asks.iter().rev() {
                self.pass_down(ask, records);
            }
            for &(asker, slot) in &round.leaves {
                // What a meter says came off before.
                if !records.metered[plan.slots[slot].edge] {
                    self.unmet[asker] = (self.unmet[asker] - self.given[slot]).pos();
                }
            }
            for &(_, slot) in &round.leaves {
                let edge = plan.slots[slot].edge;
                self.grant[edge] += self.given[slot];
            }
            for ask in &round.asks {
                let edge = plan.slots[ask.slot].edge;
                self.grant[edge] += self.given[ask.slot];
                if let Some(slot) = ask.clean {
                    let edge = plan.slots[slot].edge;
                    self.grant[edge] += self.given[slot];
                }
            }
        }
        self.settle_down(records);
        self.give_back(records);
        for (a, asker) in plan.askers.each() {
            if let Asker::User(u) = *asker {
                let inlets = &plan.users[u].inlets;
                let all_metered = !inlets.is_empty() && inlets.iter().all(|e| records.metered[*e]);
                if !all_metered {
                    self.day.shortfall[u] += self.unmet[a];
                }
            }
        }
    }
}

#[cfg_attr(not(debug_assertions), inline(always))]
fn pick<const L: usize>(mask: M<L>, yes: &Washed<L>, no: &Washed<L>) -> Washed<L> {
    let mut progress = no.progress;
    for (to, from) in progress.iter_mut().zip(yes.progress) {
        *to = mask.pick(from, *to);
    }
    Washed {
        count: mask.pick(yes.count, no.count),
        carried: mask.pick(yes.carried, no.carried),
        locked: mask.pick(yes.locked, no.locked),
        gross_m3: mask.pick(yes.gross_m3, no.gross_m3),
        removed_kg: mask.pick(yes.removed_kg, no.removed_kg),
        held_kg: mask.pick(yes.held_kg, no.held_kg),
        progress,
        trigger: mask.pick(yes.trigger, no.trigger),
    }
}

//! Pull lines: what is needed, what is granted, what is drawn.

use crate::balance::lanes::{M, V};
use crate::balance::plan::{Asker, DayRecords, First, NO_LIMIT, Op, RankGroup, Removal, Source};
use crate::balance::step::flow::A_FLOW_M3;
use crate::balance::step::wash::{self, WashState, Washed, Washing};
use crate::balance::step::{Engine, Forcing, stage};

impl<const L: usize> Engine<'_, L> {
    /// Concentration of what a source gives, kg/m³.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub(super) fn source_kg_m3(&self, source: Source, x: usize) -> V<L> {
        match source {
            Source::Supply(s) => self.params[self.supply_concentration[s] + x],
            Source::Store(s) => self.drawn_kg_m3[s * self.plan.constituents + x],
        }
    }

    /// Wet sludge of a pond, m³.
    pub(crate) fn sludge_m3(&self, s: usize) -> V<L> {
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
    pub(super) fn lowest_m3(&self, s: usize) -> V<L> {
        let store = &self.plan.stores[s];
        if store.pond {
            (self.params[store.lowest_m3] - self.sludge_m3(s)).pos()
        } else {
            self.params[store.lowest_m3]
        }
    }

    pub(super) fn washing(&self, f: usize) -> Washing<L> {
        let filter = &self.plan.filters[f];
        let p = |i: usize| self.params[i];
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
            most: if self.plan.steps_per_day > 1 {
                most.floor().max(V::splat(1.0))
            } else {
                most.floor()
            },
        }
    }

    pub(super) fn wash_state(&self, f: usize) -> WashState<L> {
        let parcels = self.plan.parcels.len();
        let mut held = V::zero();
        for p in 0..parcels {
            held += self.state.held[f * parcels + p];
        }
        WashState {
            held_kg: held,
            progress: self.state.progress[f],
        }
    }

    /// Events of the log that fall in this step.
    pub(super) fn logged(&self, f: usize, records: &DayRecords) -> Option<f64> {
        let log = records.washes[f]?;
        let r = u64::from(self.plan.steps_per_day.max(1));
        let up_to = |step: u64| u64::from(log.count) * step / r;
        let step = u64::from(self.step);
        Some((up_to(step + 1) - up_to(step)) as f64)
    }

    /// Water of washes as records say: a meter on the wash water, else logged minutes at the wash's rate.
    pub(super) fn wash_water_recorded(&self, f: usize, records: &DayRecords) -> Option<V<L>> {
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
    pub(super) fn own_water(&self, f: usize, count: V<L>, records: &DayRecords) -> V<L> {
        let filter = &self.plan.filters[f];
        let own = self.params[filter.own_m3] * count;
        if filter.own_water {
            self.wash_water_recorded(f, records).unwrap_or(own)
        } else {
            own
        }
    }

    /// Clean water that so many events take.
    pub(super) fn clean_water(&self, f: usize, washed: &Washed<L>, records: &DayRecords) -> V<L> {
        let filter = &self.plan.filters[f];
        if filter.removal == Removal::Continuous {
            return self.continuous_water(f, washed.removed_kg, washed.gross_m3);
        }
        let own = self.params[filter.own_m3] * washed.count;
        match self.wash_water_recorded(f, records) {
            Some(recorded) => (recorded - own).pos(),
            None => self.params[filter.clean_m3] * washed.count,
        }
    }

    /// Water that goes with what is caught continuously.
    pub(super) fn continuous_water(&self, f: usize, caught: V<L>, flow: V<L>) -> V<L> {
        let filter = &self.plan.filters[f];
        let least = self.params[filter.least_m3_d] * self.dt;
        let greatest = self.params[filter.greatest_m3_d] * self.dt;
        let water = (caught * self.params[filter.water_per_kg])
            .max(least)
            .min(greatest);
        flow.gt(V::splat(A_FLOW_M3)).pick(water, V::zero())
    }

    /// Washes and gross water for a net need.
    fn for_net(&self, f: usize, net: V<L>, records: &DayRecords) -> Washed<L> {
        let filter = &self.plan.filters[f];
        let gamma = self.gamma[f];
        if filter.removal == Removal::Continuous {
            let mut washed = Washed::default();
            if filter.clean.is_some() {
                washed.gross_m3 = net;
                washed.removed_kg = gamma * net;
                return washed;
            }
            // F = N + clamp(aγF, least, greatest).
            let slope = self.params[filter.water_per_kg] * gamma;
            let least = self.params[filter.least_m3_d] * self.dt;
            let greatest = self.params[filter.greatest_m3_d] * self.dt;
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

    /// Washes for gross water given, and what passes on.
    pub(super) fn for_gross(
        &self,
        f: usize,
        gross: V<L>,
        gamma: V<L>,
        records: &DayRecords,
    ) -> (Washed<L>, V<L>) {
        let filter = &self.plan.filters[f];
        if filter.removal == Removal::Continuous {
            let mut washed = Washed {
                gross_m3: gross,
                ..Washed::default()
            };
            washed.removed_kg = gamma * gross;
            let extra = if filter.clean.is_some() {
                V::zero()
            } else {
                self.continuous_water(f, washed.removed_kg, gross)
                    .min(gross)
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
        let last = groups.len().saturating_sub(1);
        for (index, group) in groups.iter().enumerate() {
            let mut sum = V::zero();
            for &slot in group {
                if !records.metered[self.plan.slots[slot].edge] {
                    sum += self.asked[slot];
                }
            }
            let ratio = room.over(sum);
            let mut f = ratio.min(V::splat(1.0));
            if index == last {
                f = uncapped.pick(ratio, f);
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

    /// (B) to (D): needs and grants.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub(super) fn pull_lines(&mut self, forcing: &Forcing, records: &DayRecords) {
        let plan = self.plan;
        let n = plan.constituents;
        let parcels = plan.parcels.len();
        self.grant.fill(V::zero());
        self.used_meter.fill(false);
        for (s, store) in plan.stores.iter().enumerate() {
            let volume = self.state.volume[s];
            self.room[s] = (volume - self.lowest_m3(s)).pos();
            let scale = V::splat(store.cells as f64).over(volume);
            for x in 0..n {
                let last = self.state.mass[store.first + x * store.cells + store.cells - 1];
                self.drawn_kg_m3[s * n + x] = last * scale;
            }
        }
        for (s, supply) in plan.supplies.iter().enumerate() {
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
                    First::Filter(parent) => self.filtrate_kg_m3[parent * n + x],
                };
                if x < parcels {
                    let caught = c * self.params[eta + x];
                    gamma += caught;
                    self.filtrate_kg_m3[f * n + x] = c - caught;
                } else {
                    self.filtrate_kg_m3[f * n + x] = c;
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
        for (a, asker) in plan.askers.iter().enumerate() {
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
                    let set = plan.stores[s].fill.as_ref().map_or(V::zero(), |fill| {
                        let set = self.mark_m3(fill.set_m3, fill.of_water, sludge);
                        self.is_on(fill.when, forcing).pick(set, V::zero())
                    });
                    (set - self.state.volume[s]).pos()
                }
                Asker::Hose(f) => plan.filters[f]
                    .hose
                    .map_or(V::zero(), |(_, _, p)| self.params[p] * self.dt),
                Asker::Spray(f) => plan.filters[f]
                    .spray
                    .map_or(V::zero(), |(_, p, _)| self.params[p] * self.dt),
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
                let washed = self.for_net(f, self.net[f] + need, records);
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
        for (a, asker) in plan.askers.iter().enumerate() {
            if let Asker::User(u) = *asker {
                let inlets = &plan.users[u].inlets;
                let all_metered = !inlets.is_empty() && inlets.iter().all(|e| records.metered[*e]);
                if !all_metered {
                    self.day.shortfall[u] += self.unmet[a];
                }
            }
        }
    }

    fn pass_down(&mut self, ask: &crate::balance::plan::FilterAsk, records: &DayRecords) {
        let plan = self.plan;
        let f = ask.filter;
        let zero = V::zero();
        // What meters say comes in was counted from the start.
        let given = if records.metered[plan.slots[ask.slot].edge] {
            zero
        } else {
            self.given[ask.slot]
        };
        let metered_in = plan.filters[f].inlets.iter().any(|e| records.metered[*e]);
        let mut need = V::zero();
        for group in &ask.children {
            for &slot in group {
                need += self.asked[slot];
            }
        }
        let total = self.gross[f] + given;
        // Counted anew where other water came than the washes and the need together take.
        let wanted = self.washed[f].gross_m3;
        let short = (total - wanted).abs().gt(wanted * 1e-12);
        let mut room = need;
        self.available[f] = self.net[f] + need;
        if short.any() {
            let (washed, net) = self.for_gross(f, total, self.gamma[f], records);
            room = short.pick((net - self.net[f]).pos(), need);
            self.available[f] = short.pick(net, self.available[f]);
            let full = self.washed[f];
            self.washed[f] = pick(short, &washed, &full);
            self.short[f] = short;
        }
        let uncapped = if metered_in {
            short
        } else {
            M::all_or_none(false)
        };
        let granted = self.share_out(&ask.children, room, uncapped, false, records);
        self.net[f] += granted;
        self.gross[f] = total;
        if let Some(slot) = ask.clean {
            self.clean[f] += self.given[slot];
        }
    }

    /// What meters say of some inlets in this step, m³; none where none is metered.
    fn metered_inlets(&self, inlets: &[usize], records: &DayRecords) -> Option<f64> {
        inlets
            .iter()
            .filter_map(|edge| self.metered(*edge, records))
            .fold(None, |sum, value| Some(sum.unwrap_or(0.0) + value))
    }

    /// A filter that came to wash oftener with what a later source gave has less to pass on than it gave before: its
    /// last rank goes short first. From the sources towards the uses.
    fn settle_down(&mut self, records: &DayRecords) {
        let plan = self.plan;
        if plan.rounds.len() < 2 {
            return;
        }
        for op in &plan.order {
            let Op::Filter(f) = *op else { continue };
            let filter = &plan.filters[f];
            let metered = |e: &usize| records.metered[*e];
            if filter.first.is_none()
                || filter.inlets.iter().any(metered)
                || filter.children.iter().any(metered)
            {
                continue;
            }
            let (mut gross, mut taken) = (V::zero(), V::zero());
            for &edge in &filter.inlets {
                gross += self.grant[edge];
            }
            let other = (gross - self.gross[f]).abs().gt(self.gross[f] * 1e-12);
            if other.any() {
                let (washed, net) = self.for_gross(f, gross, self.gamma[f], records);
                let was = self.washed[f];
                self.washed[f] = pick(other, &washed, &was);
                self.available[f] = other.pick(net, self.available[f]);
                self.gross[f] = other.pick(gross, self.gross[f]);
            }
            for &edge in &filter.children {
                taken += self.grant[edge];
            }
            let cut = taken - self.available[f];
            let counts = cut.gt(taken * 1e-12);
            if counts.any() {
                self.cut_children(f, counts.pick(cut, V::zero()));
            }
        }
    }

    /// Takes back what a filter gave too much, from its last rank first.
    fn cut_children(&mut self, f: usize, mut cut: V<L>) {
        let plan = self.plan;
        let rank = |edge: usize| {
            let slot = plan.slots.iter().find(|slot| slot.edge == edge);
            slot.map_or(0, |slot| slot.rank)
        };
        let children = &plan.filters[f].children;
        let mut below = u32::MAX;
        while let Some(now) = children
            .iter()
            .map(|edge| rank(*edge))
            .filter(|r| *r < below)
            .max()
        {
            below = now;
            let mut sum = V::zero();
            for &edge in children.iter().filter(|edge| rank(**edge) == now) {
                sum += self.grant[edge];
            }
            let share = cut.min(sum).over(sum);
            for &edge in children.iter().filter(|edge| rank(**edge) == now) {
                let less = self.grant[edge] * share;
                self.grant[edge] = (self.grant[edge] - less).pos();
                let leaf = plan
                    .rounds
                    .iter()
                    .flat_map(|round| &round.leaves)
                    .find(|(_, slot)| plan.slots[*slot].edge == edge);
                if let Some((asker, _)) = leaf {
                    self.unmet[*asker] += less;
                }
            }
            cut = (cut - sum).pos();
        }
    }

    /// Only grants that are used are drawn: a filter that washes less than it asked for has water to spare, and clean
    /// water is for washes that are made. From the uses towards the sources.
    fn give_back(&mut self, records: &DayRecords) {
        let plan = self.plan;
        let zero = V::zero();
        for op in plan.order.iter().rev() {
            let Op::Filter(f) = *op else { continue };
            let filter = &plan.filters[f];
            if filter.first.is_none() {
                continue;
            }
            let mut taken = zero;
            for &child in &filter.children {
                taken += self.grant[child];
            }
            let spare = self.available[f] - taken;
            let counts = spare.gt(self.available[f] * 1e-12);
            if counts.any() {
                let spare = counts.pick(spare, zero);
                let mut back = spare;
                for &edge in filter.inlets.iter().rev() {
                    if records.metered[edge] {
                        continue;
                    }
                    let less = back.min(self.grant[edge]);
                    self.grant[edge] = (self.grant[edge] - less).pos();
                    back = (back - less).pos();
                    self.return_to_source(edge, less);
                }
                let gross = (self.gross[f] - (spare - back)).pos();
                let (again, _) = self.for_gross(f, gross, self.gamma[f], records);
                let was = self.washed[f];
                let same = (again.count - was.count).abs().lt(V::splat(0.5));
                let kept = Washed {
                    gross_m3: gross,
                    ..was
                };
                self.washed[f] = pick(counts, &pick(same, &again, &kept), &was);
                self.gross[f] = gross;
            }
            if let Some((edge, _)) = filter.clean
                && !records.metered[edge]
            {
                let used = self.clean_water(f, &self.washed[f], records);
                let less = (self.grant[edge] - used).pos();
                self.grant[edge] = self.grant[edge].min(used);
                self.return_to_source(edge, less);
            }
            if let Some((edge, _, _)) = filter.spray
                && !records.metered[edge]
            {
                let flows = self.gross[f].gt(V::splat(A_FLOW_M3));
                let less = flows.pick(zero, self.grant[edge]);
                self.grant[edge] = flows.pick(self.grant[edge], zero);
                self.return_to_source(edge, less);
            }
        }
    }

    /// Water granted and not used is there for draws at a place's turn.
    fn return_to_source(&mut self, edge: usize, water: V<L>) {
        let source = self.plan.draws.iter().find(|(of, _)| *of == edge);
        if let Some((_, Source::Supply(s))) = source {
            self.supply_left[*s] += water;
        }
    }

    /// (E): draws leave stores and supplies at the concentration of the opening.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub(super) fn draws(&mut self) {
        let plan = self.plan;
        let n = plan.constituents;
        for (s, store) in plan.stores.iter().enumerate() {
            let mut drawn = V::zero();
            let mut any = false;
            for (edge, source) in &plan.draws {
                if *source == Source::Store(s) {
                    drawn += self.grant[*edge];
                    any = true;
                }
            }
            if !any {
                continue;
            }
            self.supply_lack(s, drawn);
            let there = self.state.volume[s];
            let share = drawn.over(there).min(V::splat(1.0));
            self.state.volume[s] = (there - drawn).pos();
            for x in 0..n {
                let cells = &mut self.state.mass
                    [store.first + x * store.cells..store.first + (x + 1) * store.cells];
                let taken = stage::draw(cells, share);
                let c = taken.over(drawn);
                let nothing = drawn.gt(V::zero());
                let before = self.drawn_kg_m3[s * n + x];
                self.drawn_kg_m3[s * n + x] = nothing.pick(c, before);
            }
        }
        let mut buffer = std::mem::take(&mut self.buffer[0]);
        for (edge, source) in &plan.draws {
            let water = self.grant[*edge];
            for (x, slot) in buffer.iter_mut().enumerate().take(n) {
                *slot = self.source_kg_m3(*source, x);
            }
            self.book(*edge, water, &buffer, water);
        }
        self.buffer[0] = buffer;
    }

    /// A metered draw at a place's turn: taken as read. What the store does not have comes into it first, from
    /// `unaccounted` at its mean concentration.
    pub(super) fn metered_draw(&mut self, source: Source, want: V<L>, mass: &mut [V<L>]) -> V<L> {
        let n = self.plan.constituents;
        match source {
            Source::Supply(s) => {
                self.supply_left[s] = (self.supply_left[s] - want).pos();
                for (x, slot) in mass.iter_mut().enumerate().take(n) {
                    *slot = self.params[self.supply_concentration[s] + x] * want;
                }
            }
            Source::Store(s) => {
                self.supply_lack(s, want);
                let store = &self.plan.stores[s];
                let volume = self.state.volume[s];
                let share = want.over(volume).min(V::splat(1.0));
                self.state.volume[s] = (volume - want).pos();
                for (x, slot) in mass.iter_mut().enumerate().take(n) {
                    let cells = &mut self.state.mass
                        [store.first + x * store.cells..store.first + (x + 1) * store.cells];
                    *slot = stage::draw(cells, share);
                }
            }
        }
        want
    }

    /// What a store lacks of what is drawn comes into it from `unaccounted`, at its mean concentration; into an empty
    /// store it comes clean.
    fn supply_lack(&mut self, s: usize, drawn: V<L>) {
        let store = &self.plan.stores[s];
        let n = self.plan.constituents;
        let volume = self.state.volume[s];
        let lack = (drawn - volume).pos();
        let Some((_, back)) = self.plan.unaccounted[store.place.0] else {
            return;
        };
        if !lack.gt(V::zero()).any() {
            return;
        }
        let factor = lack.over(volume);
        self.day.lack[s] += lack;
        self.day.water[back] += lack;
        for x in 0..n {
            let cells = &mut self.state.mass
                [store.first + x * store.cells..store.first + (x + 1) * store.cells];
            for cell in cells {
                let more = *cell * factor;
                *cell += more;
                self.day.mass[back * n + x] += more;
            }
        }
        self.state.volume[s] = volume + lack;
    }

    /// A draw at a place's turn: what there is of `want`, with its mass in `mass`.
    pub(super) fn late_draw(&mut self, source: Source, want: V<L>, mass: &mut [V<L>]) -> V<L> {
        let n = self.plan.constituents;
        match source {
            Source::Supply(s) => {
                let water = want.min(self.supply_left[s]).pos();
                self.supply_left[s] = (self.supply_left[s] - water).pos();
                for (x, slot) in mass.iter_mut().enumerate().take(n) {
                    *slot = self.params[self.supply_concentration[s] + x] * water;
                }
                water
            }
            Source::Store(s) => {
                let store = &self.plan.stores[s];
                let volume = self.state.volume[s];
                let water = want.min((volume - self.lowest_m3(s)).pos()).pos();
                let share = water.over(volume).min(V::splat(1.0));
                self.state.volume[s] = (volume - water).pos();
                for (x, slot) in mass.iter_mut().enumerate().take(n) {
                    let cells = &mut self.state.mass
                        [store.first + x * store.cells..store.first + (x + 1) * store.cells];
                    *slot = stage::draw(cells, share);
                }
                water
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

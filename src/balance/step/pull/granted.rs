//! The pull lines once supplies are shared out: what each member of a line gets and passes on.

use super::*;
use crate::balance::step::flow::{solids_of, speaks};

impl<const L: usize> Engine<'_, L> {
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub(crate) fn pass_down(&mut self, ask: &crate::balance::plan::FilterAsk, records: &DayRecords) {
        let plan = self.plan;
        let f = ask.filter;
        let zero = V::zero();
        // What meters say comes in was counted from the start.
        let given = if records.metered[plan.slots[ask.slot].edge] { zero } else { self.given[ask.slot] };
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
        let all_metered = plan.filters[f].inlets.iter().all(|e| records.metered[*e]);
        // Where nothing came in this round, it stays as it was counted before.
        let as_before = given.le(total * 1e-12) & self.short[f];
        let short = (total - wanted).abs().gt(wanted * 1e-12) | as_before | M::all_or_none(all_metered);
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
        let uncapped = if metered_in { short } else { M::all_or_none(false) };
        let granted = self.share_out(&ask.children, room, uncapped, false, records);
        self.net[f] += granted;
        self.gross[f] = total;
        if let Some(slot) = ask.clean {
            self.clean[f] += self.given[slot];
        }
    }

    /// What meters say of some inlets in this step, m³; none where none is metered.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub(crate) fn metered_inlets(&self, inlets: &[WayAt], records: &DayRecords) -> Option<f64> {
        inlets
            .iter()
            .filter_map(|edge| self.metered(*edge, records))
            .fold(None, |sum, value| Some(sum.unwrap_or(0.0) + value))
    }

    /// A filter that came to wash oftener with what a later source gave has less to pass on than it gave before: its
    /// last rank goes short first. From the sources towards the uses.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub(crate) fn settle_down(&mut self, records: &DayRecords) {
        let plan = self.plan;
        if plan.rounds.len() < 2 {
            return;
        }
        for op in &plan.order {
            let Op::Filter(f) = *op else { continue };
            let filter = &plan.filters[f];
            let metered = |e: &WayAt| records.metered[*e];
            if filter.first.is_none() || filter.inlets.iter().any(metered) || filter.children.iter().any(metered) {
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
    #[cold]
    #[inline(never)]
    pub(crate) fn cut_children(&mut self, f: FilterAt, mut cut: V<L>) {
        let plan = self.plan;
        let rank = |edge: WayAt| {
            let slot = plan.slots.iter().find(|slot| slot.edge == edge);
            slot.map_or(0, |slot| slot.rank)
        };
        let children = &plan.filters[f].children;
        let mut below = u32::MAX;
        while let Some(now) = children.iter().map(|edge| rank(*edge)).filter(|r| *r < below).max() {
            below = now;
            let mut sum = V::zero();
            for &edge in children.iter().filter(|edge| rank(**edge) == now) {
                sum += self.grant[edge];
            }
            let share = cut.min(sum).over(sum);
            for &edge in children.iter().filter(|edge| rank(**edge) == now) {
                let less = self.grant[edge] * share;
                self.grant[edge] = (self.grant[edge] - less).pos();
                let leaf =
                    plan.rounds.iter().flat_map(|round| &round.leaves).find(|(_, slot)| plan.slots[*slot].edge == edge);
                if let Some((asker, _)) = leaf {
                    self.unmet[*asker] += less;
                }
            }
            cut = (cut - sum).pos();
        }
    }

    /// Only grants that are used are drawn: a filter that washes less than it asked for has water to spare, and clean
    /// water is for washes that are made. From the uses towards the sources.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub(crate) fn give_back(&mut self, records: &DayRecords) {
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
                let kept = Washed { gross_m3: gross, ..was };
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
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub(crate) fn return_to_source(&mut self, edge: WayAt, water: V<L>) {
        let source = self.plan.draws.iter().find(|(of, _)| *of == edge);
        if let Some((_, Source::Supply(s))) = source {
            self.supply_left[*s] += water;
        }
    }

    built_for_each_width!(pub(crate) fn draws, draws_avx2, draws_avx512 = draws_body());

    /// (E): draws leave stores and supplies at the concentration of the opening.
    #[cfg_attr(not(debug_assertions), inline(always))]
    fn draws_body(&mut self) {
        let plan = self.plan;
        let n = plan.constituents;
        for (s, store) in plan.stores.each() {
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
            let drawing = Drawing::new(share, store.cells);
            let draws = drawn.gt(V::zero());
            let per_m3 = V::splat(1.0).over(drawn);
            for x in 0..n {
                let cells = &mut self.state.mass[store.first + x * store.cells..store.first + (x + 1) * store.cells];
                let c = drawing.take(cells) * per_m3;
                let before = self.drawn_kg_m3[(s, x)];
                self.drawn_kg_m3[(s, x)] = draws.pick(c, before);
            }
        }
        for (edge, source) in &plan.draws {
            let water = self.grant[*edge];
            if water.gt(V::zero()).any() {
                let concentrations = match *source {
                    Source::Supply(s) => self.params.from(self.supply_concentration[s], n),
                    Source::Store(s) => self.drawn_kg_m3.of(s),
                };
                self.day.book(*edge, water, concentrations, water);
            }
        }
    }

    /// A metered draw at a place's turn: taken as read. What the store does not have comes into it first, from
    /// `unaccounted` at its mean concentration.
    pub(crate) fn metered_draw(&mut self, source: Source, want: V<L>, mass: &mut [V<L>]) -> V<L> {
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
                let drawing = Drawing::new(share, store.cells);
                for (x, slot) in mass.iter_mut().enumerate().take(n) {
                    let cells =
                        &mut self.state.mass[store.first + x * store.cells..store.first + (x + 1) * store.cells];
                    *slot = drawing.take(cells);
                }
            }
        }
        want
    }

    /// What a store lacks of what is drawn comes into it from `unaccounted`, at its mean concentration; into an empty
    /// store it comes clean.
    pub(crate) fn supply_lack(&mut self, s: StoreAt, drawn: V<L>) {
        let store = &self.plan.stores[s];
        let n = self.plan.constituents;
        let volume = self.state.volume[s];
        let lack = (drawn - volume).pos();
        let Some((_, back)) = self.plan.unaccounted[store.place] else {
            return;
        };
        if !lack.gt(V::zero()).any() {
            return;
        }
        let held = &self.state.mass[store.first..];
        let solids = solids_of(held, self.plan.parcels.len() * store.cells);
        let factor = speaks(volume, solids, lack).pick(lack.over(volume), V::zero());
        self.day.lack[s] += lack;
        self.day.water[back] += lack;
        for x in 0..n {
            let cells = &mut self.state.mass[store.first + x * store.cells..store.first + (x + 1) * store.cells];
            let mut came = V::zero();
            for cell in cells {
                let more = *cell * factor;
                *cell += more;
                came += more;
            }
            self.day.book_mass(back, x, came);
        }
        self.state.volume[s] = volume + lack;
    }

    /// A draw at a place's turn: what there is of `want`, with its mass in `mass`.
    pub(crate) fn late_draw(&mut self, source: Source, want: V<L>, mass: &mut [V<L>]) -> V<L> {
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
                let there = (volume - self.lowest_m3(s)).pos();
                let there = there.gt(V::splat(A_FLOW_M3)).pick(there, V::zero());
                let water = want.min(there).pos();
                let share = water.over(volume).min(V::splat(1.0));
                self.state.volume[s] = (volume - water).pos();
                let drawing = Drawing::new(share, store.cells);
                for (x, slot) in mass.iter_mut().enumerate().take(n) {
                    let cells =
                        &mut self.state.mass[store.first + x * store.cells..store.first + (x + 1) * store.cells];
                    *slot = drawing.take(cells);
                }
                water
            }
        }
    }
}

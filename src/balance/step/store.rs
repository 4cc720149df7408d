//! A tank's or pond's turn: fill, climate, outlets, spill, settling; and level records at the close.

use crate::balance::at::{OutletAt, Param, StoreAt};
use crate::balance::lanes::V;
use crate::balance::plan::DayRecords;
use crate::balance::rows::{Rows, RowsPer};
use crate::balance::step::flow::{A_FLOW_M3, SPEAKS, solids_of, speaks};
use crate::balance::step::stage::{MAX_CELLS, Settling, Shared, Stage};
use crate::balance::step::{Engine, Forcing};

/// A store's day as its constituents see it.
struct Turn<const L: usize> {
    /// Until it spills, or all of it.
    first: Stage<L>,
    /// While it spills, if it does.
    second: Stage<L>,
    spills: bool,
    /// Of the second stage's outflow, what is spill.
    spill_share: V<L>,
    /// Of what the outlets take, what the pump does.
    pump_share: V<L>,
    /// Whether a tanker may take the rest.
    hauls: bool,
    /// Area × time: times a settling velocity, the volume that it clears.
    settling_m3_m: V<L>,
    seeped: V<L>,
}

/// Where a store's masses go, by constituent, kg.
struct Masses<const L: usize> {
    pumped: Rows<L>,
    hauled: Rows<L>,
    spilled: Rows<L>,
    settled: Rows<L>,
}

impl<const L: usize> Masses<L> {
    /// Shares out what left and settled of a constituent while the store filled, and while it spilled.
    #[cfg_attr(not(debug_assertions), inline(always))]
    fn put(&mut self, x: usize, turn: &Turn<L>, filling: (V<L>, V<L>), spilling: (V<L>, V<L>)) {
        let spilled = spilling.0 * turn.spill_share;
        let out = filling.0 + (spilling.0 - spilled);
        self.pumped[x] = out * turn.pump_share;
        if turn.hauls {
            self.hauled[x] = out - self.pumped[x];
        }
        self.spilled[x] = spilled;
        self.settled[x] = filling.1 + spilling.1;
    }
}

impl<const L: usize> Engine<'_, L> {
    /// Water area at a total volume (sludge with it), m².
    #[cfg_attr(not(debug_assertions), inline(always))]
    fn area_m2(&self, s: StoreAt, total: V<L>) -> V<L> {
        let store = &self.plan.stores[s];
        area(&self.params, store.a0_m4, store.hinge_m3, store.hinge_slope, store.hinges, total)
    }

    /// A mark as volume of water: typed as a volume it is water; typed as a level, sludge lies under it.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub(super) fn mark_m3(&self, mark: Param, of_water: bool, sludge: V<L>) -> V<L> {
        if of_water { self.params[mark] } else { (self.params[mark] - sludge).pos() }
    }

    built_for_each_width!(
        pub(super) fn store, store_avx2, store_avx512 =
            store_body(s: StoreAt, forcing: &Forcing, records: &DayRecords)
    );

    #[cfg_attr(not(debug_assertions), inline(always))]
    fn store_body(&mut self, s: StoreAt, forcing: &Forcing, records: &DayRecords) {
        let plan = self.plan;
        let store = &plan.stores[s];
        let n = plan.constituents;
        let parcels = plan.parcels.len();
        let zero = V::zero();
        let one = V::splat(1.0);
        let dt = self.dt;
        let inbox = store.place;
        let sludge = self.sludge_m3(s);
        let full = (self.params[store.full_m3] - sludge).pos();
        let volume = self.state.volume[s];
        let (rain, climate_rate, seep_rate) = if store.pond {
            let seep = self.params[store.seepage_m_d] * dt;
            (self.params[store.crest_m2] * (forcing.rain_m * dt), seep + forcing.evaporation_m * dt, seep)
        } else {
            (zero, zero, zero)
        };

        // A float valve straight from a supply or store, on the projected close.
        let mut inflow = self.day.inbox_m3[inbox];
        for by_meter in [true, false] {
            // What meters say came in is there before the others are asked for what is lacking.
            let Some(fill) = &store.fill else { break };
            for &(edge, source) in &fill.direct {
                let metered = self.metered(edge, records);
                if metered.is_some() != by_meter {
                    continue;
                }
                let want = match metered {
                    Some(metered) => V::splat(metered),
                    None => {
                        // Projected by the same two passes, without what is still to fill.
                        let there = volume + inflow + rain;
                        let loss = if store.pond {
                            let first = self.area_m2(s, volume + sludge);
                            let middle = (volume + (inflow + rain - climate_rate * first) * 0.5).max(zero).min(full);
                            lost(climate_rate * self.area_m2(s, middle + sludge), there)
                        } else {
                            zero
                        };
                        let set = self.mark_m3(fill.set_m3, fill.of_water, sludge);
                        let on = self.is_on(fill.when, forcing);
                        on.pick((set - (there - loss)).pos(), zero)
                    }
                };
                if want.gt(zero).any() {
                    let mut buffer = std::mem::take(&mut self.buffer[0]);
                    let water = if metered.is_some() {
                        self.metered_draw(source, want, &mut buffer)
                    } else {
                        self.late_draw(source, want, &mut buffer)
                    };
                    self.day.book(edge, water, &buffer, one);
                    self.buffer[0] = buffer;
                    inflow = self.day.inbox_m3[inbox];
                }
            }
        }

        // Volume: two fixed passes for the area.
        let (climate, loss, area) = if store.pond {
            let first = self.area_m2(s, volume + sludge);
            let middle = (volume + (inflow + rain - climate_rate * first) * 0.5).max(zero).min(full);
            let area = self.area_m2(s, middle + sludge);
            let loss = lost(climate_rate * area, volume + inflow + rain);
            (rain - loss, loss, area)
        } else {
            (zero, zero, zero)
        };
        let projected = (volume + climate + inflow).pos();

        // Outlets: pump on level, tanker.
        let mut pumped = zero;
        if let Some(pump) = &store.pump {
            let on_at = self.mark_m3(pump.on_m3, pump.on_of_water, sludge);
            let off_at = self.mark_m3(pump.off_m3, pump.off_of_water, sludge);
            let was = self.state.pump_on[s];
            // What rounding leaves over a mark is none.
            let on = (projected + A_FLOW_M3).ge(on_at).pick(one, projected.le(off_at + A_FLOW_M3).pick(zero, was));
            let may = self.is_on(pump.when, forcing);
            let on = may.pick(on, zero);
            self.state.pump_on[s] = on;
            pumped = on * (self.params[pump.rate_m3_d] * dt).min((projected - off_at).pos());
            pumped = pumped.gt(V::splat(A_FLOW_M3)).pick(pumped, zero);
            // At the mark where it stops it stops, and waits for the mark where it starts.
            let down = (projected - pumped).le(off_at + A_FLOW_M3);
            self.state.pump_on[s] = down.pick(zero, on);
        }
        let mut hauled = zero;
        if let Some(tanker) = &store.tanker {
            let there = (projected - pumped).pos();
            let down = self.params[tanker.down_m3];
            hauled = match records.hauled[s] {
                Some(amount) if self.step + 1 == plan.steps_per_day.max(1) => match amount {
                    Some(m3) => V::splat(m3).min(there),
                    None => (there - down).pos(),
                },
                Some(_) => zero,
                None if tanker.by_log => zero,
                None => (there + A_FLOW_M3).ge(self.params[tanker.when_m3]).pick((there - down).pos(), zero),
            };
            hauled = hauled.gt(V::splat(A_FLOW_M3)).pick(hauled, zero);
        }
        let out = pumped + hauled;
        let before_spill = (projected - out).pos();
        let spill = (before_spill - full).pos();
        let closing = before_spill - spill;

        // Climate half before, half after the flows.
        let half = climate * 0.5;
        let post = climate.gt(zero).pick(half.min(closing * 0.5), climate - half.max(volume * -0.5));
        let from = (volume + climate - post).pos();
        let to = (closing - post).pos();
        let spilling = spill.gt(zero);
        let any_spill = spilling.any();
        let mut fill_part = one;
        if any_spill {
            let rise = inflow - out;
            let t = ((to - from).over(rise)).max(zero).min(one);
            let t = rise.gt(zero).pick(t, zero);
            // A fill that takes the whole step leaves no time to spill in.
            let t = (one - t).gt(V::splat(1e-12)).pick(t, zero);
            fill_part = spilling.pick(t, one);
        }
        let mut middle = to;
        if any_spill {
            middle = spilling.pick(from + (inflow - out) * fill_part, to).pos();
        }
        let second_part = one - fill_part;
        let start_of_second = fill_part.gt(zero).pick(middle, from);
        let first = Stage { tau: fill_part, from_m3: from, to_m3: start_of_second, in_m3: inflow, out_m3: out };
        let second = Stage {
            tau: second_part,
            from_m3: start_of_second,
            to_m3: spilling.pick(to, start_of_second),
            in_m3: inflow,
            out_m3: out + spill.over(second_part),
        };
        // Of the second stage's outflow, what is spill and what the outlets take.
        let spill_share = spill.over(out * second_part + spill);
        let pump_share = pumped.over(out);
        let seeped = loss * seep_rate.over(climate_rate);

        let mut masses = Masses {
            pumped: std::mem::take(&mut self.buffer[0]),
            hauled: std::mem::take(&mut self.buffer[1]),
            spilled: std::mem::take(&mut self.buffer[2]),
            settled: std::mem::take(&mut self.buffer[3]),
        };
        let turn = Turn {
            first,
            second,
            spills: any_spill,
            spill_share,
            pump_share,
            hauls: store.tanker.is_some(),
            settling_m3_m: area * dt,
            seeped,
        };
        // With a small number of cells known, loops over them unroll.
        match (store.pond, store.cells) {
            (false, 1) => self.carry_masses::<1, false>(s, &turn, &mut masses, 1),
            (true, 1) => self.carry_masses::<1, true>(s, &turn, &mut masses, 1),
            (true, 2) => self.carry_masses::<2, true>(s, &turn, &mut masses, 2),
            (true, 3) => self.carry_masses::<3, true>(s, &turn, &mut masses, 3),
            (_, n) => self.carry_masses::<MAX_CELLS, true>(s, &turn, &mut masses, n),
        }
        self.day.empty_inbox(inbox);
        let Masses { pumped: pump_mass, hauled: haul_mass, spilled: spill_mass, settled: mut settled_mass } = masses;

        // Settled solids take pore water with them.
        let mut pore = zero;
        if store.pond {
            for (p, settled) in settled_mass.iter().enumerate().take(parcels) {
                pore += *settled * self.params[store.pore_m3_kg + p];
                self.state.sludge[store.sludge + p] += *settled;
            }
            pore = pore.min(closing);
            self.state.sludge[store.sludge + parcels] += pore;
            let evaporated = (loss - seeped).pos();
            if let Some(edge) = store.rain {
                self.day.book_water(edge, rain);
            }
            if let Some(edge) = store.evaporation {
                self.day.book_water(edge, evaporated);
            }
            if let Some(edge) = store.seep {
                self.day.water[edge] += loss - evaporated;
                let entry = self.day.entry_mut(edge).iter_mut();
                for (to, mass) in entry.zip(&settled_mass[..]).skip(parcels) {
                    *to += *mass;
                }
                settled_mass[parcels..n].fill(zero);
            }
            if let Some(edge) = store.settled {
                self.day.book(edge, pore, &settled_mass, one);
            }
        }
        self.state.volume[s] = (closing - pore).pos();

        // Concentration of the last cell, for a meter that counted where nothing was computed to flow.
        let recorded = |outlet: OutletAt| self.outlet_recorded(outlet, records);
        let spill_recorded = recorded(store.spill);
        if spill_recorded
            || store.pump.as_ref().is_some_and(|p| recorded(p.outlet))
            || store.tanker.as_ref().is_some_and(|t| records.replaces(t.edge))
        {
            let closing = self.state.volume[s];
            let scale = closing.gt(V::splat(A_FLOW_M3)).pick(V::splat(store.cells as f64).over(closing), zero);
            let last = self.state.mass[store.first..].iter().skip(store.cells - 1);
            for (to, from) in settled_mass.iter_mut().zip(last.step_by(store.cells)).take(n) {
                *to = *from * scale;
            }
        }
        if let Some(pump) = &store.pump {
            self.send(pump.outlet, pumped, &pump_mass, &settled_mass, records);
        }
        if let Some(tanker) = &store.tanker {
            self.result(tanker.edge, store.place, hauled, hauled, &haul_mass, one, &settled_mass, records);
        }
        if any_spill || spill_recorded {
            self.send(store.spill, spill, &spill_mass, &settled_mass, records);
        }
        self.buffer[0] = pump_mass;
        self.buffer[1] = haul_mass;
        self.buffer[2] = spill_mass;
        self.buffer[3] = settled_mass;
    }

    /// Every constituent through the day of a store of `cells` cells, from its inbox into the masses of its outlets.
    #[cfg_attr(not(debug_assertions), inline(always))]
    fn carry_masses<const N: usize, const POND: bool>(
        &mut self,
        s: StoreAt,
        turn: &Turn<L>,
        masses: &mut Masses<L>,
        cells: usize,
    ) {
        if turn.spills {
            self.carry_stages::<N, POND, true>(s, turn, masses, cells);
        } else {
            self.carry_stages::<N, POND, false>(s, turn, masses, cells);
        }
    }

    #[cfg_attr(not(debug_assertions), inline(always))]
    fn carry_stages<const N: usize, const POND: bool, const SPILLS: bool>(
        &mut self,
        s: StoreAt,
        turn: &Turn<L>,
        masses: &mut Masses<L>,
        cells: usize,
    ) {
        let n = self.plan.constituents;
        let parcels = if POND { self.plan.parcels.len() } else { 0 };
        let first = Shared::<L, N>::new(&turn.first, cells);
        let second = Shared::<L, N>::new(if SPILLS { &turn.second } else { &turn.first }, cells);
        for x in 0..parcels {
            let s_x = self.settling[x] * turn.settling_m3_m;
            let rates = first.settling(s_x);
            let (out, settled) = self.carry_one(s, x, &first, &rates);
            let mut spilled = (V::zero(), V::zero());
            if SPILLS {
                let rates = second.settling(s_x);
                spilled = self.carry_one(s, x, &second, &rates);
            }
            masses.put(x, turn, (out, settled), spilled);
        }
        // What is dissolved, and everything in a tank, has one settling velocity: the seepage, or none.
        let rates = if POND { first.settling(turn.seeped) } else { first.staying() };
        let rates_2 = if POND { second.settling(turn.seeped) } else { second.staying() };
        for x in parcels..n {
            let filling = self.carry_one(s, x, &first, &rates);
            let mut spilled = (V::zero(), V::zero());
            if SPILLS {
                spilled = self.carry_one(s, x, &second, &rates_2);
            }
            masses.put(x, turn, filling, spilled);
        }
    }

    /// One constituent through one stage: what left with the outflow, and what settled.
    #[cfg_attr(not(debug_assertions), inline(always))]
    fn carry_one<const N: usize>(
        &mut self,
        s: StoreAt,
        x: usize,
        stage: &Shared<L, N>,
        rates: &Settling<L, N>,
    ) -> (V<L>, V<L>) {
        let store = &self.plan.stores[s];
        let inflow = self.day.inbox_kg[(store.place, x)];
        let first = store.first + x * stage.cells();
        let cells = &mut self.state.mass[first..first + stage.cells()];
        stage.carry(rates, cells, inflow)
    }

    pub(super) fn outlet_recorded(&self, outlet: OutletAt, records: &DayRecords) -> bool {
        self.plan.outlets[outlet].items.iter().any(|item| records.replaces(item.edge))
    }

    /// (G): the sludge is what a sounding says; the difference is unaccounted, made of what the sludge is made of. The water
    /// stands where it stood, so there is less of it over more sludge.
    pub(super) fn soundings(&mut self, records: &DayRecords) {
        let plan = self.plan;
        let parcels = plan.parcels.len();
        for (s, store) in plan.stores.each() {
            let (Some(sounding), Some(record)) = (store.sounding, records.sludges[s]) else {
                continue;
            };
            let wanted = self.params[record];
            let there = self.sludge_m3(s);
            // So little beside what was sounded has no make-up of its own.
            let some = there.gt(wanted * V::splat(SPEAKS));
            let factor = wanted.over(there);
            for i in 0..=parcels {
                let old = self.state.sludge[store.sludge + i];
                let new = some.pick(old * factor, self.params[sounding.made_of + i] * wanted);
                self.state.sludge[store.sludge + i] = new;
                let (less, more) = ((old - new).pos(), (new - old).pos());
                if i == parcels {
                    self.day.water[sounding.out] += less;
                    self.day.water[sounding.back] += more;
                } else {
                    self.day.book_mass(sounding.out, i, less);
                    self.day.book_mass(sounding.back, i, more);
                }
            }
            if records.levels[s].is_none() {
                let more = self.sludge_m3(s) - there;
                self.hold(s, (self.state.volume[s] - more).pos());
            }
        }
    }

    /// (G): the closing volume is the record; the difference is unaccounted, at the store's mean concentration, which
    /// stays.
    pub(super) fn level_records(&mut self, records: &DayRecords) {
        for s in self.plan.stores.indices() {
            if let Some((record, of_water)) = records.levels[s] {
                let wanted = self.mark_m3(record, of_water, self.sludge_m3(s));
                self.hold(s, wanted);
            }
        }
    }

    /// Makes a store hold so much water; the difference is unaccounted, at its mean concentration.
    fn hold(&mut self, s: StoreAt, wanted: V<L>) {
        let plan = self.plan;
        let n = plan.constituents;
        let store = &plan.stores[s];
        if let Some((out, back)) = plan.unaccounted[store.place] {
            let volume = self.state.volume[s];
            let less = (volume - wanted).pos();
            let more = (wanted - volume).pos();
            self.day.water[out] += less;
            self.day.water[back] += more;
            let held = &self.state.mass[store.first..];
            let solids = solids_of(held, plan.parcels.len() * store.cells);
            let known = less.gt(V::zero()) | speaks(volume, solids, more);
            let factor = known.pick(wanted.over(volume), V::splat(1.0));
            for x in 0..n {
                let cells = &mut self.state.mass[store.first + x * store.cells..store.first + (x + 1) * store.cells];
                let (mut lost, mut won) = (V::zero(), V::zero());
                for cell in cells {
                    let new = *cell * factor;
                    lost += (*cell - new).pos();
                    won += (new - *cell).pos();
                    *cell = new;
                }
                self.day.book_mass(out, x, lost);
                self.day.book_mass(back, x, won);
            }
            self.state.volume[s] = wanted;
        }
    }
}

/// What climate takes of the water there is; what rounding leaves in an emptied pond stays.
#[cfg_attr(not(debug_assertions), inline(always))]
fn lost<const L: usize>(would: V<L>, there: V<L>) -> V<L> {
    there.gt(V::splat(A_FLOW_M3)).pick(would.min(there), V::zero())
}

/// A(V) = √(A₀² + Σ Δσᵢ·max(0, V − Vᵢ)).
#[cfg_attr(not(debug_assertions), inline(always))]
pub(crate) fn area<const L: usize>(
    params: &RowsPer<Param, L>,
    a0: Param,
    hinge: Param,
    slope: Param,
    count: usize,
    volume: V<L>,
) -> V<L> {
    let mut square = params[a0];
    for i in 0..count {
        square += params[slope + i] * (volume - params[hinge + i]).pos();
    }
    square.pos().sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::balance::at::At;
    use approx::assert_relative_eq;

    #[test]
    fn micro_case_11_two_passes_find_the_area_of_the_day() {
        // A² = 160000 + 400 V, V = 1000, I = 40, rain 30 m³, loss 10 mm.
        let [a0, hinge, slope] = [0, 1, 2].map(Param::nth);
        let mut params = RowsPer::zeros(3);
        params[a0] = V([160_000.0]);
        params[slope] = V([400.0]);
        let a = |v: f64| area(&params, a0, hinge, slope, 1, V([v])).0[0];
        let (v, i, r, e) = (1000.0, 40.0, 30.0, 0.010);
        let middle = v + 0.5 * (i + r - e * a(v));
        let mean_area = a(middle);
        assert_relative_eq!(mean_area, 756.639_502_7, max_relative = 1e-9);
        assert_relative_eq!(v + i + r - e * mean_area, 1_062.433_605, max_relative = 1e-9);
    }
}

//! A filter's turn: what it catches, what passes, what its washes, changes or rinse carry away.

use crate::balance::at::{FilterAt, WayAt};
use crate::balance::lanes::V;
use crate::balance::plan::{DayRecords, Removal, Source};
use crate::balance::step::flow::{A_FLOW_M3, solids_of, speaks};
use crate::balance::step::{Engine, Forcing};

impl<const L: usize> Engine<'_, L> {
    built_for_each_width!(
        pub(super) fn filter, filter_avx2, filter_avx512 =
            filter_body(f: FilterAt, forcing: &Forcing, records: &DayRecords)
    );

    #[cfg_attr(not(debug_assertions), inline(always))]
    fn filter_body(&mut self, f: FilterAt, forcing: &Forcing, records: &DayRecords) {
        let plan = self.plan;
        let filter = &plan.filters[f];
        let n = plan.constituents;
        let parcels = plan.parcels.len();
        let zero = V::zero();
        let one = V::splat(1.0);
        let inbox = filter.place;
        let mut water = self.day.inbox_m3[inbox];
        let mut mass = std::mem::take(&mut self.buffer[0]);
        let mut caught = std::mem::take(&mut self.buffer[1]);
        let mut waste = std::mem::take(&mut self.buffer[2]);
        let mut extra = std::mem::take(&mut self.buffer[3]);
        mass[..n].copy_from_slice(self.day.inbox_kg.of(inbox));

        // Flow over capacity passes by, unfiltered.
        if !filter.pull
            && let Some(bypass) = filter.bypass
        {
            let most = self.params[filter.most_m3_d] * self.dt;
            let over = (water - most).pos();
            if over.gt(zero).any() || self.outlet_recorded(bypass, records) {
                let share = over.over(water);
                for (to, from) in extra.iter_mut().zip(mass.iter()).take(n) {
                    *to = *from * share;
                }
                self.send(bypass, over, &extra, &[], records);
                for (slot, gone) in mass.iter_mut().zip(extra.iter()).take(n) {
                    *slot = (*slot - *gone).pos();
                }
                water -= over;
                self.day.filters[f].bypassed_m3 += over;
            }
        }

        // What is caught, by parcel.
        let eta = filter.eta[forcing.month];
        let mut total_caught = zero;
        for p in 0..parcels {
            caught[p] = mass[p] * self.params[eta + p];
            total_caught += caught[p];
        }
        let mut unfiltered = zero;
        let mut rolls = zero;
        let mut wet = zero;
        if let Some(roll) = &filter.roll {
            let flows = water.gt(V::splat(A_FLOW_M3));
            let least = self.params[roll.least_m_d] * self.dt;
            let advance = flows.pick((total_caught * self.params[roll.m_per_kg]).max(least), zero);
            let left = self.state.roll[f];
            let length = self.params[roll.length_m];
            let out = advance.gt(left);
            wet = self.continuous_water(f, total_caught, water, records);
            if roll.passes_unfiltered {
                let filtered = out.pick(left.over(advance), one);
                unfiltered = flows.pick(one - filtered, zero);
                total_caught = zero;
                for slot in caught.iter_mut().take(parcels) {
                    *slot = *slot * filtered;
                    total_caught += *slot;
                }
                // The wet of what was wound on.
                wet = wet * filtered;
                self.state.roll[f] = (left - advance).pos();
                rolls = (out & left.gt(zero)).pick(one, zero);
            } else {
                let short = (advance - left).pos();
                let new = out.pick((short.over(length)).floor() + 1.0, zero);
                self.state.roll[f] = (left + new * length - advance).pos();
                rolls = new;
            }
        }

        let state = self.wash_state(f);
        let (washed, own) = if filter.pull {
            let washed = self.washed[f];
            let own = if filter.removal == Removal::Continuous {
                if filter.clean.is_some() {
                    zero
                } else if filter.roll.is_some() {
                    wet.min(water)
                } else {
                    self.continuous_water(f, total_caught, water, records).min(water)
                }
            } else {
                self.own_water(f, washed.count, records).min(water)
            };
            (washed, own)
        } else {
            let gamma = total_caught.over(water);
            let (washed, net) = self.for_gross(f, water, gamma, records);
            let own = if filter.roll.is_some() { wet.min(water) } else { water - net };
            (washed, own)
        };
        let removed = if filter.removal == Removal::Continuous {
            state.held_kg + total_caught
        } else {
            washed.removed_kg.min(state.held_kg + total_caught)
        };

        // Clean water from elsewhere.
        let mut clean = zero;
        if let Some((edge, source)) = filter.clean {
            if filter.pull {
                clean = self.grant[edge];
                for (x, slot) in extra.iter_mut().enumerate().take(n) {
                    *slot = self.source_kg_m3(source, x) * clean;
                }
            } else {
                let mut of = washed;
                if filter.removal == Removal::Continuous {
                    of.removed_kg = total_caught;
                }
                clean = match self.metered(edge, records) {
                    Some(metered) => self.metered_draw(source, V::splat(metered), &mut extra),
                    None => {
                        let want = self.clean_water(f, &of, records);
                        self.late_draw(source, want, &mut extra)
                    }
                };
                self.day.book(edge, clean, &extra, one);
            }
        }

        // A spray rejoins the filtered water.
        let mut spray = zero;
        let mut sprayed = std::mem::take(&mut self.buffer[5]);
        if let Some((edge, volume, source)) = filter.spray {
            if filter.pull {
                spray = self.grant[edge];
                for (x, slot) in sprayed.iter_mut().enumerate().take(n) {
                    *slot = self.source_kg_m3(source, x) * spray;
                }
            } else {
                spray = match self.metered(edge, records) {
                    Some(metered) => self.metered_draw(source, V::splat(metered), &mut sprayed),
                    None => {
                        let flows = water.gt(V::splat(A_FLOW_M3));
                        let want = flows.pick(self.params[volume] * self.dt, zero);
                        self.late_draw(source, want, &mut sprayed)
                    }
                };
                self.day.book(edge, spray, &sprayed, one);
            }
        }

        let mut net = if filter.pull { zero } else { water - own + spray };
        let mut own = own;
        if filter.pull {
            for &child in &filter.children {
                net += self.grant[child];
            }
            let has_meter = filter.children.iter().chain(&filter.inlets).any(|e| records.metered[*e]);
            let has_route = filter.waste.is_some() || filter.solids_to.is_some();
            if !has_meter && has_route {
                // Nothing is kept: what does not pass on has washed.
                own = (water + spray - net).pos();
            }
        }

        // Mass by m³ of filtrate: what passes, shared by water.
        let per_m3 = one.over(water);
        let flows = water.gt(V::splat(A_FLOW_M3));
        let own_share = flows.pick((own * per_m3).min(one), zero);
        for x in 0..n {
            let passed = if x < parcels { (mass[x] - caught[x]).pos() } else { mass[x] };
            waste[x] = passed * own_share;
            mass[x] = passed - waste[x];
        }
        // Of what is dissolved in what passes, a membrane turns back a share.
        if let Some(reject) = &filter.reject {
            let back = flows.pick(self.params[reject.dissolved], zero);
            for x in parcels..n {
                let gone = mass[x] * back;
                waste[x] += gone;
                mass[x] -= gone;
            }
        }
        if filter.clean.is_some() {
            for (to, from) in waste.iter_mut().zip(&extra[..]).take(n) {
                *to += *from;
            }
        }
        // What was held and caught, less what the events remove, in proportion.
        let held_and_caught = state.held_kg + total_caught;
        let share_removed = removed.over(held_and_caught).min(one);
        for (p, slot) in caught.iter_mut().enumerate().take(parcels) {
            let all = self.state.held[(f, p)] + *slot;
            let gone = all * share_removed;
            self.state.held[(f, p)] = (all - gone).pos();
            *slot = gone;
        }
        caught[parcels..].fill(zero);
        let waste_water = own + clean;
        if filter.solids_with_waste {
            for (to, from) in waste.iter_mut().zip(caught.iter()).take(parcels) {
                *to += *from;
            }
        }
        match (filter.waste, filter.solids_to) {
            (Some(outlet), solids_to) => {
                self.send(outlet, waste_water, &waste, &[], records);
                if !filter.solids_with_waste
                    && let Some(edge) = solids_to
                {
                    self.day.book(edge, zero, &caught, one);
                }
            }
            (None, Some(edge)) => {
                for (to, from) in waste.iter_mut().zip(caught.iter()).take(parcels) {
                    *to += *from;
                }
                self.day.book(edge, waste_water, &waste, one);
            }
            (None, None) => {}
        }

        // Filtered water.
        if filter.spray.is_some() {
            for (slot, more) in mass.iter_mut().zip(&sprayed[..]).take(n) {
                *slot += *more;
            }
        }
        if filter.pull {
            let balance = water + spray - own - net;
            if let Some((out, back)) = plan.unaccounted[filter.place] {
                let less = balance.pos();
                let more = (-balance).pos();
                // Rounding is no difference.
                let counts = (less + more).gt((water + net) * 1e-12);
                let less = counts.pick(less, zero);
                let more = counts.pick(more, zero);
                // What comes where nothing flows comes clean.
                let passing = (water + spray - own).pos();
                let flows = speaks(passing, solids_of(&mass, parcels), more);
                let share_less = flows.pick(less.over(passing), zero);
                let share_more = flows.pick(more.over(passing), zero);
                if counts.any() {
                    self.day.book(out, less, &mass, share_less);
                    self.day.book(back, more, &mass, share_more);
                    let keep = one - share_less + share_more;
                    for slot in mass.iter_mut().take(n) {
                        *slot = *slot * keep;
                    }
                }
            }
            for &child in &filter.children {
                let grant = self.grant[child];
                let share = grant.over(net);
                self.result(child, filter.place, grant, net, &mass, share, &[], records);
            }
        } else if let Some(outlet) = filter.net {
            self.send(outlet, net, &mass, &[], records);
            net = net.pos();
        }

        // Hosing down: its water runs off beside the screen.
        if let Some((edge, outlet, _)) = filter.hose {
            let hose = self.grant[edge];
            if let Some(source) = self.source_of_edge(edge) {
                for (x, slot) in extra.iter_mut().enumerate().take(n) {
                    *slot = self.source_kg_m3(source, x) * hose;
                }
                self.send(outlet, hose, &extra, &[], records);
            }
        }

        self.day.empty_inbox(inbox);
        if filter.removal == Removal::Events {
            self.state.progress[f] = washed.progress;
        }
        let over_load = if records.washes[f].is_some() {
            let close = held_and_caught - removed;
            (close * self.params[filter.per_load]).gt(V::splat(1.0 + 1e-9)).pick(one, zero)
        } else {
            zero
        };
        let minutes = self.params[filter.minutes];
        let dt = self.dt;
        let stats = &mut self.day.filters[f];
        let count = washed.count + rolls;
        stats.events += count;
        stats.carried = washed.carried;
        stats.locked = stats.locked.max(washed.locked);
        let fired = count.gt(zero);
        stats.trigger = fired.pick(washed.trigger, stats.trigger);
        stats.minutes += match records.washes[f].and_then(|w| w.minutes) {
            Some(logged) => V::splat(logged * dt),
            None => minutes * washed.count,
        };
        stats.gross_m3 += water;
        stats.net_m3 += net;
        stats.unfiltered += unfiltered * dt;
        stats.logged_too_few = over_load;

        self.buffer[0] = mass;
        self.buffer[1] = caught;
        self.buffer[2] = waste;
        self.buffer[3] = extra;
        self.buffer[5] = sprayed;
    }

    fn source_of_edge(&self, edge: WayAt) -> Option<Source> {
        self.plan.draws.iter().find(|(of, _)| *of == edge).map(|(_, source)| *source)
    }
}

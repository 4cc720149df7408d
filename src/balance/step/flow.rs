//! Flows: outlets with their splits, metered and sampled results, catchments, users.

use crate::balance::at::{CatchmentAt, OutletAt, UserAt, WayAt};
use crate::balance::lanes::{M, V};
use crate::balance::plan::{DayRecords, Outlet, Sampled};
use crate::balance::step::{Engine, Forcing};
use crate::facility::model::PlaceId;
use crate::science::hydrology::{Antecedent, antecedent_by_rain};
use uom::si::f64::Length;
use uom::si::length::meter;

/// Less water than this in a step is no flow, m³ (a thousandth of a litre, what rounding leaves of a difference): nothing
/// runs for it, it has no concentration of its own, and a meter that counted then has its water from where it stood.
pub(crate) const A_FLOW_M3: f64 = 1e-6;

/// What is less than this share of what a record says there is more of it has no concentration of its own.
pub(super) const SPEAKS: f64 = 1e-3;
/// Nor has what carries more solids than its own weight, kg/m³.
const MOST_SOLIDS: f64 = 1000.0;

/// Where water with its solids tells the concentration of `more` m³ of it.
#[cfg_attr(not(debug_assertions), inline(always))]
pub(super) fn speaks<const L: usize>(water: V<L>, solids: V<L>, more: V<L>) -> M<L> {
    let tells = water.gt(more * SPEAKS) & solids.le(water * MOST_SOLIDS);
    water.gt(V::splat(A_FLOW_M3)) & (more.le(V::zero()) | tells)
}

/// Dry, average or wet ground, as 0, 1 or 2; average where the rain before is not known.
fn ground_before(rain_five_m: f64, growing: bool) -> usize {
    if !rain_five_m.is_finite() {
        return 1;
    }
    match antecedent_by_rain(Length::new::<meter>(rain_five_m), growing) {
        Antecedent::Dry => 0,
        Antecedent::Average => 1,
        Antecedent::Wet => 2,
    }
}

/// Solids of a set of masses.
#[cfg_attr(not(debug_assertions), inline(always))]
pub(super) fn solids_of<const L: usize>(mass: &[V<L>], parcels: usize) -> V<L> {
    let mut sum = V::zero();
    for of in mass.iter().take(parcels) {
        sum += *of;
    }
    sum
}

impl<const L: usize> Engine<'_, L> {
    /// Sends water with its masses through an outlet. `still` are concentrations for a meter that counted where nothing
    /// was computed to flow; empty for none.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub(super) fn send(&mut self, outlet: OutletAt, water: V<L>, mass: &[V<L>], still: &[V<L>], records: &DayRecords) {
        let outlet = &self.plan.outlets[outlet];
        if let [only] = outlet.items.as_slice() {
            let one = V::splat(1.0);
            let from = outlet.from;
            self.result(only.edge, from, water, water, mass, one, still, records);
        } else {
            self.split(outlet, water, mass, still, records);
        }
    }

    built_for_each_width!(
        fn split, split_avx2, split_avx512 =
            split_body(outlet: &Outlet, water: V<L>, mass: &[V<L>], still: &[V<L>], records: &DayRecords)
    );

    /// Sends a flow through an outlet of several ways.
    #[cfg_attr(not(debug_assertions), inline(always))]
    fn split_body(&mut self, outlet: &Outlet, water: V<L>, mass: &[V<L>], still: &[V<L>], records: &DayRecords) {
        let flows = water.gt(V::splat(A_FLOW_M3));
        let mut left = water;
        let mut dry_rest = V::splat(1.0);
        for (i, item) in outlet.items.iter().enumerate() {
            if i == outlet.rest && !outlet.in_order {
                continue;
            }
            let most = self.params[item.most_m3_d] * self.dt;
            let amount = if outlet.in_order {
                if i == outlet.rest { left } else { left.min(most) }
            } else {
                (water * self.params[item.share]).min(most).min(left)
            };
            left = (left - amount).pos();
            // What carries no water (a wash of no volume) goes to the first.
            let dry = V::splat(if i == 0 { 1.0 } else { 0.0 });
            dry_rest = (dry_rest - dry).pos();
            let share = flows.pick(amount.over(water), dry);
            self.result(item.edge, outlet.from, amount, water, mass, share, still, records);
        }
        if !outlet.in_order {
            let item = &outlet.items[outlet.rest];
            let share = flows.pick(left.over(water), dry_rest);
            self.result(item.edge, outlet.from, left, water, mass, share, still, records);
        }
    }

    /// Books a resulting entry: `water` and `share` of the masses of a flow of `whole` m³. A meter's record replaces it
    /// and the place it comes from absorbs the difference, at the flow's own concentration both ways; a sample replaces
    /// its mass.
    #[cfg_attr(not(debug_assertions), inline(always))]
    #[expect(clippy::too_many_arguments, reason = "one entry with all that may replace it")]
    pub(super) fn result(
        &mut self,
        edge: WayAt,
        from: PlaceId,
        water: V<L>,
        whole: V<L>,
        mass: &[V<L>],
        share: V<L>,
        still: &[V<L>],
        records: &DayRecords,
    ) {
        if records.replaces(edge) {
            self.replaced(edge, from, water, whole, mass, share, still, records);
        } else {
            self.day.book(edge, water, mass, share);
        }
    }

    /// A result with a meter's or a sample's record in its place.
    #[cold]
    #[inline(never)]
    #[expect(clippy::too_many_arguments, reason = "one entry with all that may replace it")]
    fn replaced(
        &mut self,
        edge: WayAt,
        from: PlaceId,
        water: V<L>,
        whole: V<L>,
        mass: &[V<L>],
        share: V<L>,
        still: &[V<L>],
        records: &DayRecords,
    ) {
        let metered = self.metered(edge, records);
        let sampled = records.samples.iter().any(|s| s.edge == edge);
        let Some((out, back)) = self.plan.unaccounted[from] else {
            self.day.book(edge, water, mass, share);
            return;
        };
        let parcels = self.plan.parcels.len();
        let booked = metered.map_or(water, V::splat);
        let flows = speaks(whole, solids_of(mass, parcels), booked - water);
        let mut own = std::mem::take(&mut self.buffer[4]);
        for (x, slot) in own.iter_mut().enumerate().take(self.plan.constituents) {
            let at_rest = still.get(x).copied().unwrap_or_default();
            *slot = flows.pick(mass[x].over(whole), at_rest);
        }
        // At the flow's own concentration: what the meter shows more or less than the balance. Mass that came without
        // water stays with the entry.
        let less = (water - booked).pos();
        let more = (booked - water).pos();
        let none = V::zero();
        // What is taken from where it stood comes with all its mass: the flow itself brought none of it.
        self.day.book(out, less, &own, flows.pick(less, V::zero()));
        self.day.book(back, more, &own, flows.pick(more, booked));
        for (x, slot) in own.iter_mut().enumerate().take(self.plan.constituents) {
            let dry = (!flows).pick(mass[x] * share, none);
            *slot = *slot * booked + dry;
        }
        if sampled {
            for sample in records.samples.iter().filter(|s| s.edge == edge) {
                let meant = |x: usize| match sample.of {
                    Sampled::Solids => x < parcels,
                    Sampled::Kind(kind) => x < parcels && self.plan.parcels[x].kind == kind,
                    Sampled::Dissolved(c) => x == parcels + c,
                };
                let mut total = V::zero();
                for x in (0..self.plan.constituents).filter(|x| meant(*x)) {
                    total += own[x];
                }
                let wanted = booked * sample.kg_m3;
                // A billionth of it is nothing computed.
                let some = total.gt(wanted * 1e-9);
                let factor = wanted.over(total);
                for x in (0..self.plan.constituents).filter(|x| meant(*x)) {
                    // Where nothing was computed there is no split to keep: the first kind's own.
                    let new = some.pick(own[x] * factor, wanted * self.params[sample.stand_in + x]);
                    self.day.book_mass(out, x, (own[x] - new).pos());
                    self.day.book_mass(back, x, (new - own[x]).pos());
                    own[x] = new;
                }
            }
        }
        self.day.book(edge, booked, &own, V::splat(1.0));
        self.buffer[4] = own;
    }

    built_for_each_width!(
        pub(super) fn catchment, catchment_avx2, catchment_avx512 =
            catchment_body(c: CatchmentAt, forcing: &Forcing, records: &DayRecords)
    );

    #[cfg_attr(not(debug_assertions), inline(always))]
    fn catchment_body(&mut self, c: CatchmentAt, forcing: &Forcing, records: &DayRecords) {
        let plan = self.plan;
        let catchment = &plan.catchments[c];
        let dt = self.dt;
        let rain = V::splat(forcing.rain_m);
        let (mut fallen, mut runoff) = (V::zero(), V::zero());
        let growing = plan.growing[forcing.day];
        let ground = ground_before(forcing.rain_five_m, growing);
        for part in &catchment.parts {
            let area = self.params[part.area_m2];
            let first = self.params[part.first_m + if part.by_rain { ground } else { 0 }];
            let depth = if part.by_curve {
                // (P − 0.2 S)²/(P + 0.8 S); S far above any rain where no curve number is known.
                let excess = (rain - first * 0.2).pos();
                (excess * excess).over(excess + first)
            } else {
                (rain - first).pos() * self.params[part.share]
            };
            fallen += area * rain * dt;
            runoff += area * depth * dt;
        }
        self.day.book_water(catchment.rain, fallen);
        self.day.book_water(catchment.retained, (fallen - runoff).pos());
        if forcing.rain_m <= 0.0 && !self.outlet_recorded(catchment.outlet, records) {
            return;
        }
        let mut buffer = std::mem::take(&mut self.buffer[0]);
        for (x, slot) in buffer.iter_mut().enumerate().take(plan.constituents) {
            *slot = self.params[catchment.concentration + x] * runoff;
        }
        self.day.book(catchment.picked_up, V::zero(), &buffer, V::splat(1.0));
        let mut still = std::mem::take(&mut self.buffer[1]);
        for (x, slot) in still.iter_mut().enumerate().take(plan.constituents) {
            *slot = self.params[catchment.concentration + x];
        }
        self.send(catchment.outlet, runoff, &buffer, &still, records);
        self.buffer[0] = buffer;
        self.buffer[1] = still;
    }

    built_for_each_width!(
        pub(super) fn user, user_avx2, user_avx512 = user_body(u: UserAt, records: &DayRecords)
    );

    #[cfg_attr(not(debug_assertions), inline(always))]
    fn user_body(&mut self, u: UserAt, records: &DayRecords) {
        let plan = self.plan;
        let user = &plan.users[u];
        let n = plan.constituents;
        let inbox = user.place;
        let water = self.day.inbox_m3[inbox];
        let recorded = || user.outlet.is_some_and(|outlet| self.outlet_recorded(outlet, records));
        if !water.gt(V::zero()).any() && !recorded() {
            return;
        }
        let mut mass = std::mem::take(&mut self.buffer[0]);
        mass[..n].copy_from_slice(self.day.inbox_kg.of(inbox));
        self.day.empty_inbox(inbox);
        if let Some(edge) = user.feed_edge {
            for (x, slot) in mass.iter_mut().enumerate().take(n) {
                *slot += self.params[user.feed + x] * water;
            }
            for (x, slot) in self.day.entry_mut(edge).iter_mut().enumerate() {
                *slot += self.params[user.feed + x] * water;
            }
        }
        let share = self.params[user.returns];
        let back = water * share;
        if let Some(edge) = user.uptake {
            let kept = V::splat(1.0) - share;
            self.day.book(edge, water - back, &mass, kept);
            for slot in mass.iter_mut().take(n) {
                *slot = *slot - *slot * kept;
            }
        }
        if let Some(edge) = user.picked_up {
            for (x, slot) in mass.iter_mut().enumerate().take(n) {
                *slot += self.params[user.picks_up + x] * back;
            }
            for (x, slot) in self.day.entry_mut(edge).iter_mut().enumerate() {
                *slot += self.params[user.picks_up + x] * back;
            }
        }
        if let Some(outlet) = user.outlet {
            self.send(outlet, back, &mass, &[], records);
        }
        self.buffer[0] = mass;
    }
}

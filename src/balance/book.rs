//! What each day of a run comes to, written into the ledger.

use chrono::Days;

use crate::balance::at::Param;
use crate::balance::basis::{self, Unknowns, WeatherBasis};
use crate::balance::findings::Gather;
use crate::balance::lanes::V;
use crate::balance::plan::{Compiled, DayRecords, Input, Plan};
use crate::balance::run::{PondLevels, WATER_C, index_of, shape};
use crate::balance::step::{BY_CLOCK, BY_LOG, BY_RUNNING, BY_SCHEDULE, BY_SOLIDS, BY_THROUGHPUT, Engine};
use crate::balance::{Basis, Entry, FilterSeries, GoverningTrigger, Held, Ledger, Memo, MemoKind, Node, StoreSeries};
use crate::facility::model::PlaceId;
use crate::weather::DailyWeather;

/// The ledger as it is written, day by day.
pub(crate) struct Book<'a> {
    /// What was written.
    pub ledger: Ledger,
    plan: &'a Plan,
    weather: &'a DailyWeather,
    marks: Unknowns,
    unknown_kinds: bool,
    /// What a reader should know.
    pub notes: Vec<String>,
    /// What shows of the facility itself.
    pub gather: Gather,
    solids: Vec<f64>,
    dissolved: Vec<f64>,
    /// Days run before the first that is booked.
    lead: usize,
}

/// What a use did not get by rounding alone, m³.
const LEAST_SHORT_M3: f64 = 1e-9;

fn first_lane(v: V<1>) -> f64 {
    v.0[0]
}

impl<'a> Book<'a> {
    /// An empty ledger of a run's days.
    pub fn new(input: &Input<'_>, compiled: &'a Compiled, weather: &'a DailyWeather, lead: usize) -> Self {
        let plan = &compiled.plan;
        let days = input.days;
        let mut ledger = Ledger::new(shape(input, compiled));
        let value = |p: Param| plan.params[p];
        let dissolved = plan.constituents - plan.parcels.len();
        for store in &plan.stores {
            ledger.stores.push(StoreSeries {
                place: store.place,
                is_pond: store.pond,
                spill_volume_m3: value(store.full_m3),
                lowest_volume_m3: value(store.lowest_m3),
                spill_level_m: store.spill_level_m.map(value),
                freeboard_above_spill_m: store.freeboard_m.map(value),
                opening_m3: value(store.start_m3),
                volume_m3: Vec::with_capacity(days),
                level_m: Vec::new(),
                freeboard_m: Vec::new(),
                solids_kg: Vec::with_capacity(days),
                spill_left_m3: Vec::with_capacity(days),
                sludge_m3: Vec::with_capacity(days),
                sludge_depth_m: Vec::new(),
                area_m2: Vec::new(),
                basis: Vec::with_capacity(days),
            });
            let held = |node| Held::new(node, days, plan.parcels.len(), dissolved);
            ledger.held.push(held(Node::Place(store.place)));
            if store.pond {
                ledger.held.push(held(Node::Sludge(store.place)));
            }
        }
        for filter in &plan.filters {
            ledger.filters.push(FilterSeries {
                place: filter.place,
                changes: filter.changes,
                events: Vec::with_capacity(days),
                carried: Vec::with_capacity(days),
                trigger: Vec::with_capacity(days),
                minutes: Vec::with_capacity(days),
                running_h: Vec::with_capacity(days),
                gross_m3: Vec::with_capacity(days),
                net_m3: Vec::with_capacity(days),
                held_kg: Vec::with_capacity(days),
                roll_left_m: Vec::new(),
                unfiltered_h: Vec::with_capacity(days),
                basis: Vec::with_capacity(days),
            });
            ledger.held.push(Held::new(Node::Place(filter.place), days, plan.parcels.len(), dissolved));
        }
        let mut notes = Vec::new();
        if input.days > 0
            && weather.water_temperature_c.iter().all(Option::is_none)
            && !plan.stores.iter().all(|s| !s.pond)
        {
            notes.push(format!("no water temperature: {WATER_C} °C is taken (common practice, no source)"));
        }
        Self {
            ledger,
            plan,
            weather,
            marks: Unknowns::new(plan),
            unknown_kinds: compiled.unknown_kinds,
            notes,
            gather: Gather::new(plan),
            solids: vec![0.0; plan.parcels.len()],
            dissolved: vec![0.0; dissolved],
            lead,
        }
    }

    fn hold(&mut self, closes: usize, engine: &Engine<'_, 1>) {
        let plan = self.plan;
        let parcels = plan.parcels.len();
        let dissolved = plan.constituents - parcels;
        let mut put = |node: Node, water: f64, solids: &[f64], of: &[f64]| {
            let Some(held) = self.ledger.held.iter_mut().find(|h| h.node == node) else {
                return;
            };
            held.water_m3[closes] = water;
            let to = held.solids_kg.iter_mut().skip(closes * parcels);
            for (to, from) in to.zip(solids) {
                *to = *from;
            }
            let to = held.dissolved_kg.iter_mut().skip(closes * dissolved);
            for (to, from) in to.zip(of) {
                *to = *from;
            }
        };
        for (s, store) in plan.stores.each() {
            let state = &engine.state;
            let total = |x: usize| -> f64 {
                state.mass[store.first + x * store.cells..][..store.cells].iter().map(|m| first_lane(*m)).sum()
            };
            let solids: Vec<f64> = (0..parcels).map(total).collect();
            let of: Vec<f64> = (parcels..plan.constituents).map(total).collect();
            put(Node::Place(store.place), first_lane(state.volume[s]), &solids, &of);
            if store.pond {
                let sludge: Vec<f64> =
                    state.sludge[store.sludge..=store.sludge + parcels].iter().map(|m| first_lane(*m)).collect();
                put(Node::Sludge(store.place), sludge[parcels], &sludge[..parcels], &[]);
            }
        }
        for (f, filter) in plan.filters.each() {
            let held: Vec<f64> = engine.state.held.of(f).iter().map(|m| first_lane(*m)).collect();
            put(Node::Place(filter.place), 0.0, &held, &[]);
        }
    }

    /// What stores hold when the first day that is booked begins.
    pub fn opening(&mut self, engine: &Engine<'_, 1>) {
        self.hold(0, engine);
        if self.lead > 0 {
            for (series, volume) in self.ledger.stores.iter_mut().zip(engine.state.volume.iter()) {
                series.opening_m3 = first_lane(*volume);
            }
        }
    }

    /// A day before the first that is booked: what is not known on it marks the days after it too.
    pub fn day_before(&mut self, at: usize, compiled: &Compiled) {
        let records = &compiled.records[at];
        let date = self.ledger.first_day().checked_sub_days(Days::new((self.lead - at) as u64));
        let index = date.and_then(|date| index_of(self.weather, date));
        let weather = WeatherBasis::of(self.weather, index);
        basis::of_day(self.plan, records, weather, self.unknown_kinds, &mut self.marks, &|_| false);
    }

    /// A day that was run.
    pub fn day(&mut self, day: usize, engine: &Engine<'_, 1>, compiled: &Compiled) {
        let plan = self.plan;
        let records = &compiled.records[day + self.lead];
        let parcels = plan.parcels.len();
        let index = index_of(self.weather, self.ledger.date(day));
        let weather = WeatherBasis::of(self.weather, index);
        let short = |user| first_lane(engine.day.shortfall[user]) > LEAST_SHORT_M3;
        let bases = basis::of_day(plan, records, weather, self.unknown_kinds, &mut self.marks, &short);
        for (edge, basis) in bases.each() {
            let mass = engine.day.entry(edge);
            for (to, from) in self.solids.iter_mut().zip(mass) {
                *to = first_lane(*from);
            }
            for (to, from) in self.dissolved.iter_mut().zip(mass.iter().skip(parcels)) {
                *to = first_lane(*from);
            }
            let computed = first_lane(engine.day.water[edge]);
            // A metered entry is the record, bit for bit.
            let metered = records.metered_m3[edge];
            let is_record = records.metered[edge] && (metered - computed).abs() <= 1e-12 * metered;
            let water_m3 = if is_record { metered } else { computed };
            self.ledger.put(
                day,
                edge,
                &Entry {
                    water_m3,
                    water_basis: basis.water,
                    solids_kg: &self.solids,
                    solids_basis: basis.solids,
                    dissolved_kg: &self.dissolved,
                    dissolved_basis: &basis.dissolved,
                },
            );
        }
        self.hold(day + 1, engine);
        self.stores(day, engine, compiled, records);
        self.filters(day, engine, records);
        for (u, user) in plan.users.each() {
            let amount = first_lane(engine.day.shortfall[u]);
            self.memo(day, user.place, MemoKind::Shortfall, amount);
        }
        self.gather.day(day, plan, engine);
    }

    fn memo(&mut self, day: usize, place: PlaceId, kind: MemoKind, amount: f64) {
        if amount > LEAST_SHORT_M3 {
            self.ledger.memos.push(Memo { day, place, kind, amount });
        }
    }

    fn stores(&mut self, day: usize, engine: &Engine<'_, 1>, compiled: &Compiled, records: &DayRecords) {
        let plan = self.plan;
        for (s, store) in plan.stores.each() {
            let volume = first_lane(engine.state.volume[s]);
            let sludge = first_lane(engine.sludge_m3(s));
            let solids = self.ledger.held_at(Node::Place(store.place)).map_or(0.0, |h| h.solids(day + 1).iter().sum());
            let logged = records.levels[s].is_some();
            let basis = if logged {
                Basis::METERED
            } else if self.marks.store(s) {
                Basis::COMPUTED.or(Basis::UNKNOWN)
            } else {
                Basis::COMPUTED
            };
            let lack = first_lane(engine.day.lack[s]);
            self.memo(day, store.place, MemoKind::DrawNotThere, lack);
            let series = &mut self.ledger.stores[s];
            series.volume_m3.push(volume);
            series.solids_kg.push(solids);
            series.sludge_m3.push(sludge);
            series.spill_left_m3.push((series.spill_volume_m3 - sludge - volume).max(0.0));
            series.basis.push(basis);
            if let Some((_, shape)) = compiled.shapes.iter().find(|(p, _)| *p == store.place) {
                let levels = PondLevels { shape };
                let level = levels.level_m(volume + sludge);
                series.level_m.push(level);
                series.area_m2.push(levels.area_m2(level));
                series.sludge_depth_m.push(levels.level_m(sludge) - levels.floor_m());
                if let (Some(spill), Some(bank)) = (series.spill_level_m, series.freeboard_above_spill_m) {
                    series.freeboard_m.push(spill + bank - level);
                }
            }
        }
    }

    fn filters(&mut self, day: usize, engine: &Engine<'_, 1>, records: &DayRecords) {
        let plan = self.plan;
        for (f, filter) in plan.filters.each() {
            let did = &engine.day.filters[f];
            let log = records.washes[f];
            let held: f64 =
                self.ledger.held_at(Node::Place(filter.place)).map_or(0.0, |h| h.solids(day + 1).iter().sum());
            let carried = first_lane(did.carried);
            let locked = first_lane(did.locked) > 0.0;
            let events = first_lane(did.events);
            if locked {
                self.memo(day, filter.place, MemoKind::WashLock, 1.0);
            } else {
                self.memo(day, filter.place, MemoKind::CarriedOver, carried);
            }
            self.memo(day, filter.place, MemoKind::LoggedTooFew, first_lane(did.logged_too_few));
            let unknown = self.marks.filter(f) && plan.params[filter.per_load] > 0.0;
            let running = plan.params[filter.running] * 24.0;
            let series = &mut self.ledger.filters[f];
            series.events.push(count(events));
            series.carried.push(if locked { 0 } else { count(carried) });
            series.trigger.push(trigger(first_lane(did.trigger)));
            series.minutes.push(first_lane(did.minutes));
            let gross = first_lane(did.gross_m3);
            series.running_h.push(if gross > 0.0 { running } else { 0.0 });
            series.gross_m3.push(gross);
            series.net_m3.push(first_lane(did.net_m3));
            series.held_kg.push(held);
            series.unfiltered_h.push(first_lane(did.unfiltered) * running);
            if filter.roll.is_some() {
                series.roll_left_m.push(first_lane(engine.state.roll[f]));
            }
            series.basis.push(match log {
                Some(log) => log.basis,
                None if unknown => Basis::COMPUTED.or(Basis::UNKNOWN),
                None => Basis::COMPUTED,
            });
        }
    }
}

fn count(value: f64) -> u32 {
    // Whole and never negative by construction; the cast saturates.
    value.round() as u32
}

fn trigger(code: f64) -> Option<GoverningTrigger> {
    [
        (BY_SOLIDS, GoverningTrigger::Solids),
        (BY_CLOCK, GoverningTrigger::Clock),
        (BY_RUNNING, GoverningTrigger::RunningHours),
        (BY_THROUGHPUT, GoverningTrigger::Throughput),
        (BY_SCHEDULE, GoverningTrigger::Schedule),
        (BY_LOG, GoverningTrigger::Log),
    ]
    .into_iter()
    .find(|(of, _)| *of == code)
    .map(|(_, trigger)| trigger)
}

//! One run: the whole ledger of a facility over a period.

use chrono::{Datelike, Days, NaiveDate};

use crate::balance::basis::{self, Unknowns, WeatherBasis};
use crate::balance::findings::{FacilityFinding, Gather};
use crate::balance::lanes::V;
use crate::balance::plan::{self, Assumption, Compiled, Draw, Input, Plan};
use crate::balance::step::{
    BY_CLOCK, BY_LOG, BY_RUNNING, BY_SCHEDULE, BY_SOLIDS, BY_THROUGHPUT, Engine, Forcing,
};
use crate::balance::{
    Basis, BoundRider, Entry, FilterSeries, GoverningTrigger, Held, Ledger, Memo, MemoKind, Node,
    Residual, Shape, StoreSeries,
};
use crate::diagnostic::{Problem, Problems};
use crate::facility::model::{Facility, PlaceId, PlaceKind};
use crate::ponds;
use crate::records::Timeline;
use crate::weather::DailyWeather;

/// Temperature of the water where nothing says, °C.
const WATER_C: f64 = 15.0;

/// A run and what belongs to it.
#[derive(Debug, Clone)]
pub struct Run {
    /// The ledger.
    pub ledger: Ledger,
    /// What a reader should know about how the run was made.
    pub notes: Vec<String>,
    /// Every value used that no record gave, by key.
    pub assumptions: Vec<Assumption>,
    /// Steps per day that were used.
    pub steps_per_day: u32,
    /// What the run shows about the facility itself.
    pub findings: Vec<FacilityFinding>,
    /// The residual that is largest against its tolerance, recomputed from the entries.
    pub residual: Option<Residual>,
    /// Which run it is.
    pub draw: Draw,
}

/// Days of a period, both ends belonging to it; none where it ends before it begins.
pub(crate) fn days_of(period: (NaiveDate, NaiveDate)) -> usize {
    usize::try_from((period.1 - period.0).num_days() + 1)
        .unwrap_or(0)
        .min(crate::weather::MOST_DAYS)
}

/// The weather of each day of a run, in the step's terms.
pub(crate) fn forcings(weather: &DailyWeather, first: NaiveDate, days: usize) -> Vec<Forcing> {
    (0..days)
        .map(|day| {
            let date = first
                .checked_add_days(Days::new(day as u64))
                .unwrap_or(first);
            let index = index_of(weather, date);
            let rain_m = |date: NaiveDate| {
                weather
                    .depth_mm_on(date)
                    .filter(|mm| mm.is_finite() && *mm > 0.0)
                    .map_or(0.0, |mm| mm / 1000.0)
            };
            let evaporation_m = index
                .and_then(|i| weather.evaporation_m.get(i).copied().flatten())
                .filter(|e| e.is_finite() && *e > 0.0)
                .unwrap_or(0.0);
            let temperature = index
                .and_then(|i| weather.water_temperature_c.get(i).copied().flatten())
                .filter(|t| t.is_finite())
                .unwrap_or(WATER_C)
                .clamp(0.0, 40.0);
            let degree = (temperature.floor() as usize).min(39);
            Forcing {
                day,
                month: date.month0() as usize % 12,
                rain_m: rain_m(date),
                rain_before_m: date.pred_opt().map_or(0.0, rain_m),
                rain_five_m: (1..=5)
                    .map(|before| {
                        date.checked_sub_days(Days::new(before))
                            .and_then(|d| weather.depth_mm_on(d))
                            .map_or(f64::NAN, |mm| mm.max(0.0) / 1000.0)
                    })
                    .sum(),
                evaporation_m,
                degree,
                part_of_degree: temperature - degree as f64,
            }
        })
        .collect()
}

fn index_of(weather: &DailyWeather, date: NaiveDate) -> Option<usize> {
    usize::try_from((date - weather.first_day).num_days())
        .ok()
        .filter(|i| *i < weather.rain.len())
}

/// Runs a facility over a period (both days belonging to it), with one draw.
///
/// # Errors
/// What makes a balance impossible (each with its place in the facility's file), or a ledger that does not balance,
/// which would be an error of this program.
pub fn run(
    facility: &Facility,
    weather: &DailyWeather,
    timeline: &Timeline,
    period: (NaiveDate, NaiveDate),
    draw: &Draw,
) -> Result<Run, Problems> {
    let input = Input {
        facility,
        timeline,
        first_day: period.0,
        days: days_of(period),
        middle: None,
    };
    let compiled = plan::compile(input, draw)?;
    let forcings = forcings(weather, input.first_day, input.days);
    let mut book = Book::new(&input, &compiled, weather);
    let mut engine = Engine::<1>::new(&compiled.plan, [&compiled.plan.params]);
    book.opening(&engine);
    for (forcing, records) in forcings.iter().zip(&compiled.records) {
        engine.run_day(forcing, records);
        book.day(forcing.day, &engine, &compiled);
    }
    let mut ledger = book.ledger;
    ledger
        .memos
        .sort_by_key(|memo| (memo.day, memo.place, memo.kind));
    let residual = ledger.check_residuals().map_err(|error| {
        let problems = Problems::new();
        problems.add(Problem::error(&facility.place, error.to_string()));
        problems
    })?;
    let mut notes = compiled.notes.clone();
    notes.extend(book.notes);
    let water_c: Vec<f64> = forcings
        .iter()
        .map(|f| f.degree as f64 + f.part_of_degree)
        .collect();
    let findings = book
        .gather
        .finish(facility, &compiled.plan, &ledger, &water_c, &mut notes);
    Ok(Run {
        findings,
        ledger,
        notes,
        assumptions: compiled.assumptions.clone(),
        steps_per_day: compiled.plan.steps_per_day,
        residual,
        draw: *draw,
    })
}

/// The shape of a ledger.
pub(crate) fn shape(input: &Input<'_>, compiled: &Compiled) -> Shape {
    let facility = input.facility;
    Shape {
        first_day: input.first_day,
        days: input.days,
        place_names: facility.places.iter().map(|p| p.name.clone()).collect(),
        outside: facility
            .places
            .iter()
            .map(|p| matches!(p.kind, PlaceKind::Supply(_) | PlaceKind::DischargePoint(_)))
            .collect(),
        ways: compiled.plan.edges.iter().map(|e| e.way).collect(),
        kind_names: facility.solids.iter().map(|k| k.name.clone()).collect(),
        class_upper_m: compiled.class_upper_m.clone(),
        parcels: compiled.plan.parcels.clone(),
        dissolved_names: facility.dissolved.iter().map(|d| d.name.clone()).collect(),
        bound: compiled.bound.clone(),
    }
}

/// Content of solids-bound riders, drawn.
pub(crate) fn bound_riders(
    facility: &Facility,
    mut value: impl FnMut(&crate::files::Given<uom::si::f64::Ratio>) -> (f64, bool),
) -> Vec<BoundRider> {
    facility
        .solids
        .iter()
        .enumerate()
        .flat_map(|(kind, solids)| {
            solids
                .holds
                .iter()
                .map(move |(name, given)| (kind, name, given))
        })
        .map(|(kind, name, given)| {
            let (content, unknown) = value(given);
            BoundRider {
                name: name.clone(),
                kind,
                content,
                unknown,
            }
        })
        .collect()
}

/// Level, area and the rest of a pond from its volumes.
pub(crate) struct PondLevels<'a> {
    pub shape: &'a ponds::Shape,
}

impl PondLevels<'_> {
    /// Level of a total volume (sludge with it), m.
    pub fn level_m(&self, total_m3: f64) -> f64 {
        let volume = uom::si::f64::Volume::new::<uom::si::volume::cubic_meter>(total_m3);
        self.shape.level_at(volume).value.value
    }

    /// Water surface at a level, m².
    pub fn area_m2(&self, level_m: f64) -> f64 {
        let level = uom::si::f64::Length::new::<uom::si::length::meter>(level_m);
        self.shape.area_at(level).value.value
    }

    /// The floor, m.
    pub fn floor_m(&self) -> f64 {
        self.shape.lowest_level().value
    }
}

struct Book<'a> {
    ledger: Ledger,
    plan: &'a Plan,
    weather: &'a DailyWeather,
    marks: Unknowns,
    unknown_kinds: bool,
    evaporates: bool,
    notes: Vec<String>,
    gather: Gather,
    solids: Vec<f64>,
    dissolved: Vec<f64>,
}

fn first_lane(v: V<1>) -> f64 {
    v.0[0]
}

impl<'a> Book<'a> {
    fn new(input: &Input<'_>, compiled: &'a Compiled, weather: &'a DailyWeather) -> Self {
        let plan = &compiled.plan;
        let days = input.days;
        let mut ledger = Ledger::new(shape(input, compiled));
        let value = |p: usize| plan.params.get(p).copied().unwrap_or(0.0);
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
            ledger.held.push(Held::new(
                Node::Place(filter.place),
                days,
                plan.parcels.len(),
                dissolved,
            ));
        }
        let mut notes = Vec::new();
        if input.days > 0
            && weather.water_temperature_c.iter().all(Option::is_none)
            && !plan.stores.iter().all(|s| !s.pond)
        {
            notes.push(format!(
                "no water temperature: {WATER_C} °C is taken (common practice, no source)"
            ));
        }
        let facility = input.facility;
        Self {
            ledger,
            plan,
            weather,
            marks: Unknowns::new(plan),
            unknown_kinds: compiled.unknown_kinds,
            evaporates: facility.weather.evaporation.is_some(),
            notes,
            gather: Gather::new(plan, days),
            solids: vec![0.0; plan.parcels.len()],
            dissolved: vec![0.0; dissolved],
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
            if let Some(slot) = held.water_m3.get_mut(closes) {
                *slot = water;
            }
            let to = held.solids_kg.iter_mut().skip(closes * parcels);
            for (to, from) in to.zip(solids) {
                *to = *from;
            }
            let to = held.dissolved_kg.iter_mut().skip(closes * dissolved);
            for (to, from) in to.zip(of) {
                *to = *from;
            }
        };
        for (s, store) in plan.stores.iter().enumerate() {
            let state = &engine.state;
            let total = |x: usize| -> f64 {
                state
                    .mass
                    .iter()
                    .skip(store.first + x * store.cells)
                    .take(store.cells)
                    .map(|m| first_lane(*m))
                    .sum()
            };
            let solids: Vec<f64> = (0..parcels).map(total).collect();
            let of: Vec<f64> = (parcels..plan.constituents).map(total).collect();
            let volume = state.volume.get(s).copied().map_or(0.0, first_lane);
            put(Node::Place(store.place), volume, &solids, &of);
            if store.pond {
                let sludge: Vec<f64> = state
                    .sludge
                    .iter()
                    .skip(store.sludge)
                    .take(parcels + 1)
                    .map(|m| first_lane(*m))
                    .collect();
                let (solids, water) = sludge.split_at(parcels.min(sludge.len()));
                put(
                    Node::Sludge(store.place),
                    water.first().copied().unwrap_or(0.0),
                    solids,
                    &[],
                );
            }
        }
        for (f, filter) in plan.filters.iter().enumerate() {
            let held: Vec<f64> = engine
                .state
                .held
                .iter()
                .skip(f * parcels)
                .take(parcels)
                .map(|m| first_lane(*m))
                .collect();
            put(Node::Place(filter.place), 0.0, &held, &[]);
        }
    }

    fn opening(&mut self, engine: &Engine<'_, 1>) {
        self.hold(0, engine);
    }

    fn day(&mut self, day: usize, engine: &Engine<'_, 1>, compiled: &Compiled) {
        let plan = self.plan;
        let Some(records) = compiled.records.get(day) else {
            return;
        };
        let parcels = plan.parcels.len();
        let index = index_of(self.weather, self.ledger.date(day));
        let weather = WeatherBasis::of(self.weather, index, self.evaporates);
        let bases = basis::of_day(plan, records, weather, self.unknown_kinds, &mut self.marks);
        for (edge, basis) in bases.iter().enumerate() {
            let mass = engine.day.entry(edge);
            for (to, from) in self.solids.iter_mut().zip(mass) {
                *to = first_lane(*from);
            }
            for (to, from) in self.dissolved.iter_mut().zip(mass.iter().skip(parcels)) {
                *to = first_lane(*from);
            }
            let computed = engine.day.water.get(edge).copied().map_or(0.0, first_lane);
            // A metered entry is the record, bit for bit.
            let water_m3 = match (records.metered.get(edge), records.metered_m3.get(edge)) {
                (Some(true), Some(value)) if (value - computed).abs() <= 1e-12 * value => *value,
                _ => computed,
            };
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
        self.stores(day, engine, compiled);
        self.filters(day, engine, compiled);
        for (u, user) in plan.users.iter().enumerate() {
            let amount = engine.day.shortfall.get(u).copied().map_or(0.0, first_lane);
            self.memo(day, user.place, MemoKind::Shortfall, amount);
        }
        self.gather.day(day, plan, engine, records);
    }

    fn memo(&mut self, day: usize, place: PlaceId, kind: MemoKind, amount: f64) {
        // What rounding leaves is no shortfall.
        if amount > 1e-9 {
            self.ledger.memos.push(Memo {
                day,
                place,
                kind,
                amount,
            });
        }
    }

    fn stores(&mut self, day: usize, engine: &Engine<'_, 1>, compiled: &Compiled) {
        let plan = self.plan;
        for (s, store) in plan.stores.iter().enumerate() {
            let volume = engine.state.volume.get(s).copied().map_or(0.0, first_lane);
            let sludge = first_lane(engine.sludge_m3(s));
            let solids = self
                .ledger
                .held_at(Node::Place(store.place))
                .map_or(0.0, |h| h.solids(day + 1, plan.parcels.len()).iter().sum());
            let logged = compiled
                .records
                .get(day)
                .and_then(|r| r.levels.get(s).copied().flatten())
                .is_some();
            let basis = if logged {
                Basis::METERED
            } else if self.marks.store(s) {
                Basis::COMPUTED.or(Basis::UNKNOWN)
            } else {
                Basis::COMPUTED
            };
            let lack = engine.day.lack.get(s).copied().map_or(0.0, first_lane);
            self.memo(day, store.place, MemoKind::DrawNotThere, lack);
            let Some(series) = self.ledger.stores.get_mut(s) else {
                continue;
            };
            series.volume_m3.push(volume);
            series.solids_kg.push(solids);
            series.sludge_m3.push(sludge);
            series
                .spill_left_m3
                .push((series.spill_volume_m3 - sludge - volume).max(0.0));
            series.basis.push(basis);
            if let Some((_, shape)) = compiled.shapes.iter().find(|(p, _)| *p == store.place) {
                let levels = PondLevels { shape };
                let level = levels.level_m(volume + sludge);
                series.level_m.push(level);
                series.area_m2.push(levels.area_m2(level));
                series
                    .sludge_depth_m
                    .push(levels.level_m(sludge) - levels.floor_m());
                if let (Some(spill), Some(bank)) =
                    (series.spill_level_m, series.freeboard_above_spill_m)
                {
                    series.freeboard_m.push(spill + bank - level);
                }
            }
        }
    }

    fn filters(&mut self, day: usize, engine: &Engine<'_, 1>, compiled: &Compiled) {
        let plan = self.plan;
        for (f, filter) in plan.filters.iter().enumerate() {
            let Some(did) = engine.day.filters.get(f) else {
                continue;
            };
            let log = compiled
                .records
                .get(day)
                .and_then(|r| r.washes.get(f).copied().flatten());
            let held: f64 = self
                .ledger
                .held_at(Node::Place(filter.place))
                .map_or(0.0, |h| h.solids(day + 1, plan.parcels.len()).iter().sum());
            let carried = first_lane(did.carried);
            let locked = first_lane(did.locked) > 0.0;
            let events = first_lane(did.events);
            if locked {
                self.memo(day, filter.place, MemoKind::WashLock, 1.0);
            } else {
                self.memo(day, filter.place, MemoKind::CarriedOver, carried);
            }
            self.memo(
                day,
                filter.place,
                MemoKind::LoggedTooFew,
                first_lane(did.logged_too_few),
            );
            let unknown =
                self.marks.filter(f) && plan.params.get(filter.per_load).is_some_and(|l| *l > 0.0);
            let running = plan.params.get(filter.running).copied().unwrap_or(1.0) * 24.0;
            let Some(series) = self.ledger.filters.get_mut(f) else {
                continue;
            };
            series.events.push(count(events));
            series.carried.push(if locked { 0 } else { count(carried) });
            series.trigger.push(trigger(first_lane(did.trigger)));
            series.minutes.push(first_lane(did.minutes));
            let gross = first_lane(did.gross_m3);
            series
                .running_h
                .push(if gross > 0.0 { running } else { 0.0 });
            series.gross_m3.push(gross);
            series.net_m3.push(first_lane(did.net_m3));
            series.held_kg.push(held);
            series
                .unfiltered_h
                .push(first_lane(did.unfiltered) * running);
            if filter.roll.is_some() {
                series
                    .roll_left_m
                    .push(engine.state.roll.get(f).copied().map_or(0.0, first_lane));
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

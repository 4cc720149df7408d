//! Records by day, in the plan's terms: what the day step takes instead of what it would compute.

use std::collections::HashSet;

use chrono::NaiveDate;

use crate::balance::at::{FilterAt, Param, Per, StoreAt, SupplyAt, WayAt};
use crate::balance::plan::build::{Builder, Listed};
use crate::balance::plan::stores::level_of_record;
use crate::balance::{Basis, Node, Purpose, Way};
use crate::facility::model::{Meter, PlaceId};
use crate::quantity::{self, kind};
use crate::records::{Level, LevelKind, Qualifier, Sample};

/// What a sample fixes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Sampled {
    /// All solids.
    Solids,
    /// Solids of one kind.
    Kind(usize),
    /// A dissolved constituent.
    Dissolved(usize),
}

/// A sample on an entry: mass := flow × concentration.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct SampledEdge {
    pub edge: WayAt,
    pub of: Sampled,
    pub kg_m3: f64,
    /// Shares of the constituents where nothing was computed that could say how to split it.
    pub stand_in: Param,
    pub basis: Basis,
}

/// A wash log's day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct LoggedWash {
    pub count: u32,
    pub minutes: Option<f64>,
    pub basis: Basis,
}

/// The records of one day.
#[derive(Debug, Clone, Default)]
pub(crate) struct DayRecords {
    /// Whether an edge is metered, and its volume, m³.
    pub metered: Per<WayAt, bool>,
    pub metered_m3: Per<WayAt, f64>,
    pub metered_basis: Per<WayAt, Basis>,
    pub washes: Per<FilterAt, Option<LoggedWash>>,
    /// Volume at the close (a parameter), and whether it is of water alone or sludge with it.
    pub levels: Per<StoreAt, Option<(Param, bool)>>,
    /// Volume of sludge at the close (a parameter).
    pub sludges: Per<StoreAt, Option<Param>>,
    /// Hauled, m³; none in the inner option for a load of no stated size.
    pub hauled: Per<StoreAt, Option<Option<f64>>>,
    /// Sludge cleaned out at the start of the day.
    pub cleaned: Per<StoreAt, bool>,
    /// Supplies whose concentrations are sampled: the parameter, and whether solids or dissolved were.
    pub supplies: Vec<(SupplyAt, Param, Basis)>,
    pub samples: Vec<SampledEdge>,
}

impl DayRecords {
    /// Whether a meter or a sample has a record in an entry's place.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub fn replaces(&self, edge: WayAt) -> bool {
        self.metered[edge] || self.samples.iter().any(|s| s.edge == edge)
    }
}

/// The words a meter's `what` may use for a purpose.
fn meant(what: &str, purpose: Purpose) -> bool {
    use crate::facility::Carries;
    let carries = match purpose {
        Purpose::Water => Carries::Passed,
        Purpose::TopUp => Carries::TopUp,
        Purpose::Spill => Carries::Spill,
        Purpose::WashSupply => Carries::WashSupply,
        Purpose::DrainDown => Carries::DrainDown,
        Purpose::Spray => {
            return [Carries::SpraySupply, Carries::HosedDown].iter().any(|c| what.eq_ignore_ascii_case(c.words()))
                || what.eq_ignore_ascii_case(purpose.words());
        }
        _ => return what.eq_ignore_ascii_case(purpose.words()),
    };
    what.eq_ignore_ascii_case(carries.words()) || what.eq_ignore_ascii_case(purpose.words())
}

/// The edge a meter sits on: the one that `what` names, else the first between the two places.
pub(crate) fn edge_of_meter(b: &Builder<'_>, meter: &Meter) -> Option<WayAt> {
    let between = |purpose: Option<&str>| {
        b.plan.edges.find(|e| {
            e.way.from == Node::Place(meter.from)
                && e.way.to == Node::Place(meter.to)
                && purpose.is_none_or(|what| meant(what, e.way.purpose))
        })
    };
    match &meter.what {
        Some(what) if !what.eq_ignore_ascii_case("water") => between(Some(what)),
        _ => between(Some("water")).or_else(|| between(Some("top-up"))).or_else(|| between(None)),
    }
}

/// Builds the records of every day.
pub(crate) fn records(b: &mut Builder<'_>) -> Vec<DayRecords> {
    let days = b.input.days;
    let first = b.input.first_day;
    let empty = DayRecords {
        metered: Per::filled(b.plan.edges.len(), false),
        metered_m3: Per::filled(b.plan.edges.len(), 0.0),
        metered_basis: Per::filled(b.plan.edges.len(), Basis::default()),
        washes: Per::filled(b.plan.filters.len(), None),
        levels: Per::filled(b.plan.stores.len(), None),
        sludges: Per::filled(b.plan.stores.len(), None),
        hauled: Per::filled(b.plan.stores.len(), None),
        cleaned: Per::filled(b.plan.stores.len(), false),
        supplies: Vec::new(),
        samples: Vec::new(),
    };
    let timeline = b.input.timeline;
    let facility = b.input.facility;
    if b.input.middle.is_some() {
        // A member's records are the single run's, but for the parameters they bring.
        if timeline.levels.is_empty() && timeline.samples.is_empty() {
            return Vec::new();
        }
        let small = DayRecords { levels: empty.levels, sludges: empty.sludges, ..DayRecords::default() };
        let mut out = vec![small; days];
        levels(b, &mut out);
        samples(b, &mut out);
        return Vec::new();
    }
    let mut out = vec![empty; days];
    for (index, meter) in facility.meters.iter().enumerate() {
        let Some(edge) = edge_of_meter(b, meter) else {
            if timeline.meter_spans.iter().any(|s| s.meter == index) {
                b.notes.push(format!(
                    "meter {} sits on a way along which no water moves; its readings do not enter the balance",
                    meter.name
                ));
            }
            continue;
        };
        let readings = timeline.meter_days(facility, index, first, days);
        for (day, reading) in out.iter_mut().zip(readings) {
            let Some(reading) = reading else { continue };
            if !(reading.middle_m3.is_finite() && reading.middle_m3 >= 0.0) {
                continue;
            }
            let basis = if meter.weir.is_some() && !reading.metered {
                Basis::COMPUTED.or(Basis::ASSUMED)
            } else if meter.weir.is_some() {
                Basis::METERED.or(Basis::COMPUTED)
            } else if reading.metered {
                Basis::METERED
            } else {
                Basis::METERED.or(Basis::SHARED_OUT)
            };
            // Two meters in line on one way: the first in the file is booked.
            if !day.metered[edge] {
                day.metered[edge] = true;
                day.metered_m3[edge] = reading.middle_m3;
                day.metered_basis[edge] = basis;
            }
        }
    }
    for (number, filter) in b.plan.filters.each() {
        let logged = timeline.wash_days(filter.place, filter.changes, first, days);
        for (day, log) in out.iter_mut().zip(logged) {
            if let Some(log) = log {
                day.washes[number] = Some(LoggedWash {
                    count: log.count,
                    minutes: log.minutes,
                    basis: if log.logged { Basis::METERED } else { Basis::METERED.or(Basis::SHARED_OUT) },
                });
            }
        }
    }
    levels(b, &mut out);
    acts(b, &mut out);
    samples(b, &mut out);
    out
}

fn day_index(first: NaiveDate, day: NaiveDate) -> Option<usize> {
    usize::try_from((day - first).num_days()).ok()
}

/// The level records that say how much is held. Of a gauge and a freeboard read together the gauge speaks: a bank settles.
pub(crate) fn telling(levels: &[Level]) -> impl Iterator<Item = &Level> {
    let at_once = |record: &Level| (record.at, record.day, record.time);
    let gauged: HashSet<_> = levels.iter().filter(|record| record.kind == LevelKind::Level).map(at_once).collect();
    levels.iter().filter(move |record| record.kind != LevelKind::Freeboard || !gauged.contains(&at_once(record)))
}

fn levels(b: &mut Builder<'_>, out: &mut [DayRecords]) {
    let first = b.input.first_day;
    let starts = b.input.facility.day();
    for record in telling(&b.input.timeline.levels) {
        let Some(number) = b.plan.stores.find(|s| s.place == record.at) else {
            continue;
        };
        let Some(mut day) = day_index(first, record.day) else {
            continue;
        };
        // A record on the first day is the opening; one written at the day's start is the close of the day before.
        if day == 0 {
            continue;
        }
        if record.time == Some(starts.time) && !starts.bears_its_end {
            day -= 1;
        }
        if record.kind == LevelKind::SludgeDepth {
            let store = &b.plan.stores[number];
            let sounded = store.sounding.is_some();
            let full = b.plan.params[store.full_m3];
            let volume = b
                .shapes
                .iter()
                .find(|(place, _)| *place == record.at)
                .map(|(_, shape)| {
                    let depth = uom::si::f64::Length::new::<uom::si::length::meter>(record.value_si);
                    shape.volume_at(shape.lowest_level() + depth).value.value
                })
                .filter(|v| sounded && v.is_finite() && *v >= 0.0);
            if let Some(volume) = volume {
                let param = b.p(volume.min(full));
                if let Some(records) = out.get_mut(day) {
                    records.sludges[number] = Some(param);
                }
            }
            continue;
        }
        let total = match record.kind {
            LevelKind::SludgeDepth => None,
            LevelKind::Holding => Some(record.value_si),
            kind => {
                let store = &b.plan.stores[number];
                let spill = store.spill_level_m.map(|p| b.plan.params[p]);
                let freeboard = store.freeboard_m.map(|p| b.plan.params[p]);
                b.shapes.iter().find(|(place, _)| *place == record.at).zip(spill).and_then(|((_, shape), spill)| {
                    let level = level_of_record(kind, record.value_si, spill, freeboard)?;
                    Some(shape.volume_at(uom::si::f64::Length::new::<uom::si::length::meter>(level)).value.value)
                })
            }
        };
        if let Some(total) = total.filter(|t| t.is_finite() && *t >= 0.0) {
            let param = b.p(total);
            if let Some(records) = out.get_mut(day) {
                records.levels[number] = Some((param, record.kind == LevelKind::Holding));
            }
        }
    }
}

fn acts(b: &mut Builder<'_>, out: &mut [DayRecords]) {
    let first = b.input.first_day;
    for act in &b.input.timeline.acts {
        let Some(place) = b.input.facility.find(&act.name) else {
            continue;
        };
        let Some(number) = b.plan.stores.find(|s| s.place == place) else {
            continue;
        };
        let Some(day) = day_index(first, act.day).and_then(|d| out.get_mut(d)) else {
            continue;
        };
        match act.what.as_str() {
            "hauled" => {
                let text = act.value.as_ref().map(|v| format!("{v} {}", act.unit.as_deref().unwrap_or("")));
                let amount = text
                    .and_then(|t| quantity::stated::<kind::Volume>(&t).ok())
                    .and_then(|s| s.known())
                    .map(|range| 0.5 * (range.low.value + range.high.value));
                // Two loads of a day add up.
                day.hauled[number] = match (day.hauled[number], amount) {
                    (Some(Some(before)), Some(now)) => Some(Some(before + now)),
                    (_, amount) => Some(amount),
                };
            }
            "clean-out" => day.cleaned[number] = true,
            _ => {}
        }
    }
}

fn sampled(b: &Builder<'_>, parameter: &str) -> Option<Sampled> {
    if parameter.eq_ignore_ascii_case("total suspended solids")
        || parameter.eq_ignore_ascii_case("suspended solids")
        || parameter.eq_ignore_ascii_case("tss")
    {
        return Some(Sampled::Solids);
    }
    let same = |name: &str| name.eq_ignore_ascii_case(parameter);
    if let Some(kind) = b.input.facility.solids.iter().position(|k| same(&k.name)) {
        return Some(Sampled::Kind(kind));
    }
    b.input
        .facility
        .dissolved
        .iter()
        .position(|d| same(&d.name) || (d.one_ms_per_cm.is_some() && same("electrical conductivity")))
        .map(Sampled::Dissolved)
}

/// Concentration of a sample, kg/m³; none where it is censored, void or in a unit that is no concentration.
fn concentration(b: &mut Builder<'_>, sample: &Sample, of: Sampled) -> Option<f64> {
    if matches!(sample.qualifier, Qualifier::Below | Qualifier::Above) {
        return None;
    }
    let value: f64 = sample.value.as_ref()?.trim().parse().ok()?;
    let unit = sample.unit.as_deref().unwrap_or("mg/L").trim();
    let conductivity = match unit.to_ascii_lowercase().as_str() {
        "ms/cm" | "ds/m" => Some(value),
        "us/cm" | "µs/cm" | "μs/cm" => Some(value / 1000.0),
        _ => None,
    };
    if let Some(ms_cm) = conductivity {
        let Sampled::Dissolved(index) = of else {
            return None;
        };
        let one = b.input.facility.dissolved[index].one_ms_per_cm.as_ref()?;
        return Some(ms_cm * b.sampler.value(one));
    }
    let kg_m3 = match unit.to_ascii_lowercase().as_str() {
        "mg/l" | "g/m3" | "g/m³" | "ppm" => value / 1000.0,
        "ug/l" | "µg/l" | "μg/l" | "mg/m3" => value / 1e6,
        "g/l" | "kg/m3" | "kg/m³" => value,
        _ => return None,
    };
    (kg_m3.is_finite() && kg_m3 >= 0.0).then_some(kg_m3)
}

fn samples(b: &mut Builder<'_>, out: &mut [DayRecords]) {
    let first = b.input.first_day;
    let facility = b.input.facility;
    let hold =
        facility.hold_sample_for.as_ref().map_or(0.0, |g| b.sampler.value(g) / super::build::DAY_S).floor() as usize;
    // By place and what is sampled, in order of time: the mean of a day's samples, held until the next.
    let mut seen: Vec<(PlaceId, Sampled, usize, f64, u32)> = Vec::new();
    for sample in &b.input.timeline.samples {
        let Some(of) = sampled(b, &sample.parameter) else {
            continue;
        };
        let Some(day) = day_index(first, sample.day).filter(|d| *d < out.len()) else {
            continue;
        };
        let Some(kg_m3) = concentration(b, sample, of) else {
            continue;
        };
        match seen.iter_mut().find(|s| s.0 == sample.at && s.1 == of && s.2 == day) {
            Some(slot) => {
                let n = f64::from(slot.4);
                slot.3 = (slot.3 * n + kg_m3) / (n + 1.0);
                slot.4 += 1;
            }
            None => seen.push((sample.at, of, day, kg_m3, 1)),
        }
    }
    for &(at, of, day, kg_m3, _) in &seen {
        let next = seen.iter().filter(|s| s.0 == at && s.1 == of && s.2 > day).map(|s| s.2).min().unwrap_or(usize::MAX);
        for held in 0..=hold {
            let now = day + held;
            if now >= next || now >= out.len() {
                break;
            }
            let basis = if held == 0 { Basis::SAMPLED } else { Basis::SAMPLED.or(Basis::ASSUMED) };
            put(b, out, now, at, of, kg_m3, basis);
        }
    }
}

fn put(b: &mut Builder<'_>, out: &mut [DayRecords], day: usize, at: PlaceId, of: Sampled, kg_m3: f64, basis: Basis) {
    let records = &mut out[day];
    if let Listed::Supply(supply) = b.listed[at] {
        // On top of another sample of the same supply and day.
        let earlier = records.supplies.iter().find(|s| s.0 == supply).map(|s| s.1);
        let base = earlier.unwrap_or(b.plan.supplies[supply].concentration);
        let mut values: Vec<f64> = (0..b.plan.constituents).map(|x| b.plan.params[base + x]).collect();
        set_concentration(b, &mut values, of, kg_m3);
        let param = b.ps(values);
        records.supplies.retain(|s| s.0 != supply);
        records.supplies.push((supply, param, basis));
        return;
    }
    let is_outside = matches!(b.listed[at], Listed::Outside);
    let edges: Vec<WayAt> = b
        .plan
        .edges
        .each()
        .filter(|(id, edge)| {
            let Way { from, to, purpose } = edge.way;
            if b.plan.draws.iter().any(|(draw, _)| draw == id) {
                // Drawn at the store's own concentration.
                false
            } else if is_outside {
                // A sample is of water: what is scraped or carried off is none.
                to == Node::Place(at) && !matches!(purpose, Purpose::Screenings | Purpose::SpentMedia)
            } else {
                from == Node::Place(at)
                    && matches!(to, Node::Place(_))
                    && matches!(
                        purpose,
                        Purpose::Return | Purpose::Runoff | Purpose::Spill | Purpose::PumpedOut | Purpose::Water
                    )
            }
        })
        .map(|(id, _)| id)
        .collect();
    let mut shares = vec![0.0; b.plan.constituents];
    set_concentration(b, &mut shares, of, 1.0);
    let stand_in = b.ps(shares);
    for edge in edges {
        records.samples.push(SampledEdge { edge, of, kg_m3, stand_in, basis });
    }
}

/// Sets a sampled concentration in a set of concentrations: the split over kinds and classes stays as it was; where
/// there was nothing, the first kind's own spread stands in.
fn set_concentration(b: &Builder<'_>, values: &mut [f64], of: Sampled, kg_m3: f64) {
    let parcels = &b.plan.parcels;
    match of {
        Sampled::Dissolved(index) => {
            values[parcels.len() + index] = kg_m3;
        }
        Sampled::Solids | Sampled::Kind(_) => {
            let meant = |kind: usize| match of {
                Sampled::Kind(only) => kind == only,
                _ => true,
            };
            let total: f64 = values.iter().zip(parcels).filter(|(_, p)| meant(p.kind)).map(|(v, _)| v).sum();
            let stand_in = parcels.iter().find(|p| meant(p.kind)).map(|p| p.kind);
            for (slot, parcel) in values.iter_mut().zip(parcels) {
                if !meant(parcel.kind) {
                    continue;
                }
                if total > 0.0 {
                    *slot *= kg_m3 / total;
                } else if Some(parcel.kind) == stand_in {
                    *slot = kg_m3 * b.kinds[parcel.kind].shares[parcel.class];
                }
            }
        }
    }
}

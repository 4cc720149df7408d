//! Electrical energy: motors by the hours in which water flows, pumps by the water they lift.

use std::sync::Arc;

use super::{Fold, Kind, Quantities, Term, Weight, drawn};
use crate::balance::{Ledger, Node, Purpose, Selector, Watch};
use crate::compare::Alternative;
use crate::compare::pumps::{self, Lifts, Pump};
use crate::facility::model::{Facility, Filter, PlaceId, PlaceKind};

/// What a pump lifts into a pond or a tank: runoff, spills and wash water come there by themselves.
const INTO_STORES: [Purpose; 4] = [Purpose::Water, Purpose::TopUp, Purpose::Return, Purpose::PumpedOut];

/// What a pump lifts to whatever holds no water: all that passes it.
const TO_OTHERS: [Purpose; 7] = [
    Purpose::Water,
    Purpose::TopUp,
    Purpose::Return,
    Purpose::PumpedOut,
    Purpose::Runoff,
    Purpose::Spill,
    Purpose::Bypass,
];

/// Hours of a day.
const DAY_H: f64 = 24.0;

/// Filters in a row that are followed to see how long water flows.
const DEEPEST: usize = 12;

/// Hours in which water flows through a filter on a day of the single run: as long as the longest that takes from it or runs
/// to it on that day; all day where that does not say, as rain does not.
fn hours(facility: &Facility, ledger: &Ledger, id: PlaceId, day: usize, depth: usize) -> f64 {
    let Some(PlaceKind::Filter(filter)) = facility.get(id).map(|place| &place.kind) else { return DAY_H };
    let pull = !filter.takes_from.is_empty();
    let here = Node::Place(id);
    let selector = if pull { Selector::from(here).purpose(Purpose::Water) } else { Selector::to(here) };
    let mut longest: Option<f64> = None;
    for way in ledger.select(&selector) {
        let of = &ledger.ways()[way];
        let other = if pull { of.to } else { of.from };
        let washes = matches!(of.purpose, Purpose::WashSupply | Purpose::Spray);
        let Node::Place(other) = other else { continue };
        if washes || ledger.water(day, way) <= 1e-9 {
            continue;
        }
        let of_other = match facility.get(other).map(|place| &place.kind) {
            Some(PlaceKind::Use(of)) => of.runs.as_ref(),
            Some(PlaceKind::Transfer(of)) => of.runs.as_ref(),
            Some(PlaceKind::Filter(_)) if depth < DEEPEST => {
                let hours = hours(facility, ledger, other, day, depth + 1);
                longest = Some(longest.map_or(hours, |most| most.max(hours)));
                continue;
            }
            _ => None,
        };
        let hours =
            of_other.and_then(|runs| runs.ends()).map_or(DAY_H, |(low, high)| (low.value + high.value) / 7200.0);
        longest = Some(longest.map_or(hours, |most| most.max(hours)));
    }
    longest.unwrap_or(DAY_H)
}

/// The motor of a filter.
pub(super) fn motor(q: &mut Quantities, of: &Alternative, id: PlaceId, filter: &Filter, ledger: &Ledger) {
    let Some(motor) = &filter.motor else { return };
    let (name, facility) = (of.name_of(id), &of.facility);
    let old = of.old_name(name);
    // Hours of a day with flow are those of the single run: what sets them is how long the uses run, and on which days it rains.
    let to = Watch::Water(Selector::to(Node::Place(id)));
    let series = ledger.series(&to);
    let days: Vec<usize> = (0..).zip(&series.values).filter(|(_, v)| **v > 1e-9).map(|(day, _)| day).collect();
    let all: f64 = days.iter().map(|day| hours(facility, ledger, id, *day, 0)).sum();
    let a_day = if days.is_empty() { 0.0 } else { all / days.len() as f64 };
    let unknown = motor.is_not_known();
    let weight = drawn(motor, |power| power.value / 1000.0);
    let term = Term {
        watch: q.watch(to),
        // A motor that is not known counts hours alone, so that options with the same hours can still be compared.
        weight: (!unknown).then_some(weight),
        times: a_day,
    };
    let put = q.put(Kind::Energy, old, name, vec![term]);
    put.fold = Fold::DaysOn;
    put.missing = unknown.then(|| format!("the motor of {name} is not known"));
}

/// Whether a place needs a pump line of its own to be compared: its kind presses water through, its water is drawn from a pond
/// or a tank, or a pump lifted its water as the site stands, by itself or to a filter that is there no longer.
fn needs_pump(of: &Alternative, before: &Alternative, typed: &[&Pump], id: PlaceId) -> bool {
    let Some(place) = of.facility.get(id) else { return false };
    let by_kind = match &place.kind {
        PlaceKind::Filter(filter) => filter.kind.declared().needs_pump,
        PlaceKind::Transfer(_) => true,
        PlaceKind::Use(of_use) => of_use.takes_from.iter().any(|from| {
            let kind = of.facility.get(*from).map(|place| &place.kind);
            matches!(kind, Some(PlaceKind::Pond(_) | PlaceKind::Tank(_)))
        }),
        _ => false,
    };
    let had_pump = |name: &str| {
        let lifts = |pump: &&&Pump| pump.lifts == Lifts::WaterTo && pump.places.iter().any(|said| said.value == name);
        typed.iter().any(|pump| lifts(&pump))
    };
    let stands = |name: &str| of.facility.places.iter().any(|place| of.old_name(&place.name) == name);
    let was = before.facility.places.iter().find(|known| known.name == of.old_name(&place.name));
    let drew_from: &[PlaceId] = match was.map(|place| &place.kind) {
        Some(PlaceKind::Use(was)) => &was.takes_from,
        Some(PlaceKind::Transfer(was)) => &was.takes_from,
        Some(PlaceKind::Filter(was)) => &was.takes_from,
        Some(PlaceKind::Tank(was)) => was.filled_from.as_ref().map_or(&[], |fill| fill.from.as_slice()),
        Some(PlaceKind::Pond(was)) => was.filled_from.as_ref().map_or(&[], |fill| fill.from.as_slice()),
        _ => &[],
    };
    by_kind
        || was.is_some_and(|was| was.name != place.name && had_pump(&was.name))
        || drew_from.iter().map(|from| before.name_of(*from)).any(|from| had_pump(from) && !stands(from))
}

/// Water to a place that comes from another place of the same pump line, itself or through filters: one head lifts it once.
fn lifted_before(pump: &Pump, of: &Alternative, ledger: &Ledger, id: PlaceId, purposes: &[Purpose]) -> Vec<Watch> {
    let listed = |at: PlaceId| {
        let name = of.name_of(at);
        pump.names(name) || of.succeeds(name).is_some_and(|old| pump.names(old))
    };
    let sources = |at: PlaceId| -> Vec<PlaceId> {
        let ways = ledger.select(&Selector::to(Node::Place(at)).purpose(Purpose::Water));
        let from = ways.into_iter().filter_map(|way| match ledger.ways()[way].from {
            Node::Place(from) => Some(from),
            _ => None,
        });
        from.collect()
    };
    // Under pressure as far as filters go; a pond or a tank begins anew.
    let comes_lifted = |from: PlaceId| {
        let mut seen = vec![from];
        let mut next = 0;
        while let Some(at) = seen.get(next).copied() {
            next += 1;
            if !matches!(of.facility.get(at).map(|place| &place.kind), Some(PlaceKind::Filter(_))) {
                continue;
            }
            if listed(at) {
                return true;
            }
            for source in sources(at) {
                if !seen.contains(&source) {
                    seen.push(source);
                }
            }
        }
        false
    };
    let mut lifted: Vec<PlaceId> = sources(id).into_iter().filter(|from| *from != id && comes_lifted(*from)).collect();
    lifted.sort();
    lifted.dedup();
    let to = Node::Place(id);
    lifted
        .into_iter()
        .flat_map(|from| {
            purposes
                .iter()
                .map(move |purpose| Selector { to: Some(to), ..Selector::from(Node::Place(from)) }.purpose(*purpose))
        })
        .filter(|selector| !ledger.select(selector).is_empty())
        .map(Watch::Water)
        .collect()
}

/// Adds the energy of pumps: of each line typed, and of what needs a pump and has none. Such water is counted by its volume
/// alone, so that it drops out of a comparison only where the place is the same and the volume nearly (`within`, a share).
pub(crate) fn pumps(
    q: &mut Quantities,
    (of, before): (&Alternative, &Alternative),
    ledger: &Ledger,
    typed: &[&Pump],
    within: f64,
) {
    for (index, place) in of.facility.places.iter().enumerate() {
        let id = PlaceId(index);
        let names = of.names_for_prices(&place.name);
        let needs = needs_pump(of, before, typed, id);
        let stores = matches!(place.kind, PlaceKind::Tank(_) | PlaceKind::Pond(_));
        for lifts in [Lifts::WaterTo, Lifts::WashesOf] {
            let purposes: &[Purpose] = match lifts {
                Lifts::WaterTo if stores => &INTO_STORES,
                Lifts::WaterTo => &TO_OTHERS,
                Lifts::WashesOf => &[Purpose::WashSupply],
            };
            let watches: Vec<Watch> = purposes
                .iter()
                .map(|purpose| Selector::to(Node::Place(id)).purpose(*purpose))
                .filter(|selector| !ledger.select(selector).is_empty())
                .map(Watch::Water)
                .collect();
            if watches.is_empty() {
                continue;
            }
            let of_name = |name: &str| -> Vec<&Pump> {
                typed.iter().copied().filter(|pump| pump.lifts == lifts && pump.names(name)).collect()
            };
            // A pump typed for the successor stands in place of that of what it succeeds.
            let mut of_these = of_name(&place.name);
            if let Some(old) = of.succeeds(&place.name).filter(|_| of_these.is_empty()) {
                of_these = of_name(old);
            }
            for pump in &of_these {
                let head = drawn(&pump.head, |v| v.value);
                let efficiency = drawn(&pump.efficiency, |v| v.value);
                let weight: Weight = Arc::new(move |draw| pumps::kwh(1.0, head(draw), efficiency(draw)));
                let lifted: Vec<Watch> = match lifts {
                    Lifts::WaterTo => lifted_before(pump, of, ledger, id, purposes),
                    Lifts::WashesOf => Vec::new(),
                };
                let terms = watches
                    .iter()
                    .map(|watch| (watch, 1.0))
                    .chain(lifted.iter().map(|watch| (watch, -1.0)))
                    .map(|(watch, times)| Term { weight: Some(Arc::clone(&weight)), ..q.term(watch.clone(), times) })
                    .collect();
                let label = format!("{}, {}", place.name, pump.name);
                let id = format!("{}, {}", of.old_name(&place.name), pump.name);
                q.put(Kind::Energy, &id, &label, terms).missing = (pump.head.is_not_known()
                    || pump.efficiency.is_not_known())
                .then(|| format!("the pump {} is not known", pump.name));
            }
            if of_these.is_empty() && needs {
                let terms = watches.iter().map(|watch| q.term(watch.clone(), 1.0)).collect();
                // Another filter loses another pressure, so what replaces something does not pair with it.
                let by = names.last().copied().unwrap_or_default();
                let label = format!("{by}, {}", lifts.words());
                let missing = format!(
                    "no pump is typed for {} {}",
                    match lifts {
                        Lifts::WaterTo => "the water to",
                        Lifts::WashesOf => "the washes of",
                    },
                    place.name
                );
                let put = q.put(Kind::Energy, &label, &label, terms);
                put.missing = Some(missing);
                put.alike_within = within;
            }
        }
    }
}

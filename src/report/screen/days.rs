//! The ledger by the day, in the units of the report.

use std::collections::BTreeMap;

use crate::balance::{self, Node, WayAt};
use crate::facility::model::{PlaceId, UnitSystem};
use crate::page::html::{DayFilter, DayStore, DayWay, Days, Number, Scale, Series};
use crate::report::inspection::about::{Case, basis};
use crate::report::inspection::sampled::{missed, why_not_shown};
use crate::report::picture::of_entry;
use crate::report::screen::{jumps, on_file};
use crate::report::units::{self, Unit};

/// What lies outside and is drawn as a sign, with the sign's words.
const SIGNS: [(&str, Node); 6] = [
    ("rain", Node::Rain),
    ("evaporated", Node::Evaporation),
    ("taken up by crops", Node::Crop),
    ("seeped away", Node::Seepage),
    ("soaked in", Node::Retained),
    ("unaccounted for (+ short, \u{2212} over)", Node::Unaccounted),
];

/// Every node of the ledger, places first.
struct Nodes {
    all: Vec<Node>,
}

impl Nodes {
    fn of(case: &Case) -> Self {
        let mut all: Vec<Node> = (0..case.facility.places.len()).map(|at| Node::Place(PlaceId(at))).collect();
        let others = SIGNS.iter().map(|sign| sign.1);
        let ends = case.ledger.ways().iter().flat_map(|way| [way.from, way.to]);
        for node in others.chain(ends) {
            if !all.contains(&node) {
                all.push(node);
            }
        }
        Self { all }
    }

    fn index(&self, node: Node) -> usize {
        self.all.iter().position(|other| *other == node).unwrap_or(0)
    }
}

/// The days of a case.
pub fn days(case: &Case) -> Days {
    let system = case.facility.system;
    let nodes = Nodes::of(case);
    let range = case.ledger.days_between(case.period.0, case.period.1);
    let (volume, level, rain) = (units::volume(system), units::level(system), units::rain(system));
    // A day's solids are less than a year's: one digit more.
    let mass = Unit { digits: 1, ..units::mass(system) };
    let scale = |unit: Unit| Scale { name: unit.name, digits: unit.digits };
    let mut ways = Vec::new();
    for (at, way) in case.ledger.ways().each() {
        if !range.clone().any(|day| is_told(case, day, at)) {
            continue;
        }
        let hidden = match way.to {
            Node::Place(id) => missed(case, id).is_some(),
            _ => false,
        };
        let of = |value: &dyn Fn(usize) -> (f64, balance::Basis), unit: Unit, hidden: bool| {
            let figures = range.clone().map(value);
            let (values, basis) = figures.map(|(si, known)| figure(si, known, unit, hidden)).unzip();
            Series { values, basis }
        };
        ways.push(DayWay {
            from: nodes.index(way.from),
            to: nodes.index(way.to),
            purpose: way.purpose.words(),
            carries: of_entry(way.purpose),
            water: of(&|day| (case.ledger.water(day, at), case.ledger.water_basis(day, at)), volume, false),
            solids: of(&|day| (case.ledger.solids(day, at), case.ledger.solids_basis(day, at)), mass, hidden),
        });
    }
    let stores = case.ledger.stores().iter().map(|store| {
        let known = |values: &Vec<f64>, unit: Unit| {
            let days = range.clone().filter_map(|day| Some((*values.get(day)?, *store.basis.get(day)?)));
            let (values, basis) = days.map(|(si, of)| figure(si, of, unit, false)).unzip();
            Series { values, basis }
        };
        let level_m = (!store.level_m.is_empty()).then_some(&store.level_m);
        DayStore {
            node: nodes.index(Node::Place(store.place)),
            full: Number::of(volume.of(store.spill_volume_m3), volume.digits),
            spill_level: store.spill_level_m.map(|m| Number::of(level.of(m), level.digits)),
            volume: known(&store.volume_m3, volume),
            level: level_m.map(|values| known(values, level)),
        }
    });
    let filters = case.ledger.filters().iter().map(|filter| {
        let events = range.clone().filter_map(|day| Some((*filter.events.get(day)?, *filter.basis.get(day)?)));
        let count = Unit { name: "", per_si: 1.0, digits: 0 };
        let (values, basis) = events.map(|(events, of)| figure(f64::from(events), of, count, false)).unzip();
        let causes = range.clone().map(|day| filter.trigger.get(day).copied().flatten().map_or("", |by| by.words()));
        DayFilter {
            node: nodes.index(Node::Place(filter.place)),
            word: if filter.changes { "change" } else { "wash" },
            events: Series { values, basis },
            causes: causes.collect(),
        }
    });
    Days {
        first: case.period.0,
        count: range.len(),
        volume: scale(volume),
        drawn: match system {
            UnitSystem::Us => ("1000 gal", 1000.0),
            UnitSystem::Metric => ("m³", 10.0),
        },
        mass: scale(mass),
        level: scale(level),
        rain_unit: scale(rain),
        nodes: nodes.all.iter().map(|node| case.ledger.label(*node)).collect(),
        places: case.facility.places.len(),
        signs: SIGNS.iter().map(|(words, node)| (*words, nodes.index(*node))).collect(),
        held: held(case, &nodes, volume),
        stores: stores.collect(),
        filters: filters.collect(),
        ways,
        rain: rain_by_day(case, rain),
        records: on_file::records(case),
        spans: on_file::spans(case),
        jumps: jumps::jumps(case),
        leaves: jumps::outfalls(case).map(|id| id.0).collect(),
        sewers: jumps::sewers(case).map(|id| id.0).collect(),
        not_shown: not_shown(case, &nodes),
    }
}

/// Whether an entry has anything to tell: it is written in the ledger, or it depends on what is not known.
fn is_told(case: &Case, day: usize, way: WayAt) -> bool {
    case.ledger.is_written(day, way)
        || case.ledger.water_basis(day, way).has(balance::Basis::UNKNOWN)
        || case.ledger.solids_basis(day, way).has(balance::Basis::UNKNOWN)
}

/// A figure with the letter of its basis.
fn figure(si: f64, known: balance::Basis, unit: Unit, hidden: bool) -> (Number, char) {
    if known.has(balance::Basis::UNKNOWN) || hidden && si > 0.0 {
        return (Number::NotShown, '-');
    }
    let letter = basis(known).map_or('-', |basis| basis.letter().to_ascii_lowercase());
    (Number::of(unit.of(si), unit.digits), letter)
}

/// What places hold at the opening of the first day and at the close of each; what depends on something that is not known
/// is not shown.
fn held(case: &Case, nodes: &Nodes, unit: Unit) -> Vec<(usize, Series)> {
    let range = case.ledger.days_between(case.period.0, case.period.1);
    let mut all = Vec::new();
    for (index, node) in nodes.all.iter().enumerate() {
        let Some(held) = case.ledger.held_at(*node) else { continue };
        let store = match node {
            Node::Place(id) => case.ledger.store(*id),
            _ => None,
        };
        let values: Vec<Number> = (range.start..=range.end)
            .filter(|close| *close < held.water_m3.len())
            .map(|close| {
                let known = store.and_then(|store| store.basis.get(close.checked_sub(1)?)).copied().unwrap_or_default();
                figure(held.water(close), known, unit, false).0
            })
            .collect();
        if values.iter().any(|value| *value != Number::Exact(0)) {
            all.push((index, Series { values, basis: Vec::new() }));
        }
    }
    all
}

/// Rain; assumed is what is a share of a reading over several days.
fn rain_by_day(case: &Case, unit: Unit) -> Series {
    let days = case.period.0.iter_days().take_while(|day| *day <= case.period.1);
    let (values, basis) = days
        .map(|day| {
            let rain = case.weather.rain_on(day);
            let depth = rain.and_then(|rain| rain.depth_mm);
            let value = depth.map_or(Number::NotShown, |mm| Number::of(unit.of(mm), unit.digits));
            (value, if rain.is_some_and(|rain| rain.measured) { 'm' } else { 'a' })
        })
        .unzip();
    Series { values, basis }
}

fn not_shown(case: &Case, nodes: &Nodes) -> BTreeMap<usize, String> {
    let all = (0..case.facility.places.len()).map(PlaceId);
    all.filter_map(|id| Some((nodes.index(Node::Place(id)), why_not_shown(case, id)?))).collect()
}

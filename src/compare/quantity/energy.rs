//! Electrical energy: motors by the hours they run, pumps by the water they lift.

use std::sync::Arc;

use super::{Fold, Kind, Quantities, Term, Weight, drawn};
use crate::balance::{Ledger, Node, Purpose, Selector, Watch};
use crate::compare::Alternative;
use crate::compare::pumps::{self, Lifts, Pump};
use crate::facility::model::{Filter, PlaceId, PlaceKind};

/// What a pump may lift to a place: rain, runoff and spills come by themselves.
const LIFTED: [Purpose; 4] = [Purpose::Water, Purpose::TopUp, Purpose::Return, Purpose::PumpedOut];

/// The motor of a filter.
pub(super) fn motor(q: &mut Quantities, old: &str, name: &str, id: PlaceId, filter: &Filter, ledger: &Ledger) {
    let Some(motor) = &filter.motor else { return };
    // Hours of a day with flow are those of the single run: what sets them is how long the uses run.
    let to = Watch::Water(Selector::to(Node::Place(id)));
    let on = ledger.series(&to).values.iter().filter(|v| **v > 1e-9).count();
    let hours: f64 = ledger.filter(id).map_or(0.0, |series| series.running_h.iter().sum());
    let a_day = if on > 0 { hours / on as f64 } else { 0.0 };
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

/// Adds the energy of pumps: of each line typed, and of what a filter or a transfer is given without one. Such water is
/// counted by its volume alone, so that it drops out of a comparison only where the place is the same and the volume nearly (`within`, a share).
pub(crate) fn pumps(q: &mut Quantities, of: &Alternative, ledger: &Ledger, typed: &[&Pump], within: f64) {
    for (index, place) in of.facility.places.iter().enumerate() {
        let id = PlaceId(index);
        let names = of.names_for_prices(&place.name);
        let pumps: Vec<&Pump> = typed
            .iter()
            .copied()
            .filter(|pump| pump.places.iter().any(|said| names.iter().any(|name| *name == said.value)))
            .collect();
        let needs = match &place.kind {
            PlaceKind::Filter(filter) => filter.kind.declared().needs_pump,
            PlaceKind::Transfer(_) => true,
            _ => false,
        };
        for lifts in [Lifts::WaterTo, Lifts::WashesOf] {
            let purposes: &[Purpose] = match lifts {
                Lifts::WaterTo => &LIFTED,
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
            let of_these: Vec<&&Pump> = pumps.iter().filter(|pump| pump.lifts == lifts).collect();
            for pump in &of_these {
                let head = drawn(&pump.head, |v| v.value);
                let efficiency = drawn(&pump.efficiency, |v| v.value);
                let weight: Weight = Arc::new(move |draw| pumps::kwh(1.0, head(draw), efficiency(draw)));
                let terms = watches
                    .iter()
                    .map(|watch| Term { weight: Some(Arc::clone(&weight)), ..q.term(watch.clone(), 1.0) })
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

//! What is used up and what is hauled: bags, cartridges, rolls; wet waste with the media it comes on; what a tanker takes.

use std::sync::Arc;

use super::{Kind, Quantities, Term, Weight, by_log_alone, drawn};
use crate::balance::{Node, Purpose, Selector, Watch};
use crate::compare::Alternative;
use crate::facility::kinds::{Roll, Sheds};
use crate::facility::model::{DischargeKind, Filter, PlaceId, PlaceKind};

/// Pieces used up: all of a filter's at each change, rolls by the length that was wound on.
pub(super) fn used_up(q: &mut Quantities, id: PlaceId, filter: &Filter) -> Vec<Term> {
    match filter.kind.sheds() {
        Sheds::Change { pieces, .. } => vec![q.term(Watch::Events(id), f64::from(pieces))],
        Sheds::Roll { roll, .. } => {
            let Some(wet) = wet_times(roll) else {
                return vec![q.term(Watch::Events(id), 1.0)];
            };
            let length = drawn(&roll.length, |v| v.value);
            let width = drawn(&roll.width, |v| v.value);
            let dry = drawn(&roll.dry_weight, |v| v.value);
            let weight: Weight = Arc::new(move |draw| {
                let of_one = length(draw) * width(draw) * dry(draw) * (wet(draw) - 1.0) / 1000.0;
                if of_one > 0.0 { 1.0 / of_one } else { 0.0 }
            });
            drip_terms(q, id, &weight)
        }
        Sheds::Screenings | Sheds::Rinse(_) | Sheds::Wash { .. } => Vec::new(),
    }
}

/// Wet weight over dry of a roll, where it is typed and over 1: then the water that leaves with the cloth tells how much
/// of it was wound on.
fn wet_times(roll: &Roll) -> Option<Weight> {
    let wet = roll.wet_weight_times.as_ref()?;
    let low = wet.ends()?.0;
    (low.value > 1.0).then(|| drawn(wet, |v| v.value))
}

fn drip_terms(q: &mut Quantities, id: PlaceId, weight: &Weight) -> Vec<Term> {
    [Purpose::Drip, Purpose::SpentMedia]
        .into_iter()
        .map(|purpose| Term {
            weight: Some(Arc::clone(weight)),
            ..q.term(Watch::Water(Selector::from(Node::Place(id)).purpose(purpose)), 1.0)
        })
        .collect()
}

/// What is hauled from each discharge point that is hauled from: water, solids and the dry weight of spent media.
pub(super) fn wet_waste(q: &mut Quantities, of: &Alternative) {
    for (index, place) in of.facility.places.iter().enumerate() {
        let PlaceKind::DischargePoint(point) = &place.kind else {
            continue;
        };
        if point.kind != DischargeKind::HauledAway {
            continue;
        }
        let here = PlaceId(index);
        let to = Selector::to(Node::Place(here));
        let mut terms = vec![q.term(Watch::Water(to), 1000.0), q.term(Watch::Solids(to), 1.0)];
        let mut missing = None;
        let mut logged: Vec<(PlaceId, String, &str)> = Vec::new();
        for (number, other) in of.facility.places.iter().enumerate() {
            if let PlaceKind::Tank(tank) = &other.kind
                && let Some(tanker) = &tank.emptied_by
                && tanker.to == here
                && tanker.by_log
                && tanker.when_holding.is_none()
            {
                logged.push((PlaceId(number), other.name.clone(), "emptied"));
            }
            let PlaceKind::Filter(filter) = &other.kind else {
                continue;
            };
            if filter.spent_media_to != Some(here) {
                continue;
            }
            let id = PlaceId(number);
            if by_log_alone(filter) {
                logged.push((id, other.name.clone(), "changed"));
                continue;
            }
            match filter.kind.sheds() {
                Sheds::Change { pieces, dry_weight: Some(weight) } => {
                    let term = q.term(Watch::Events(id), f64::from(pieces));
                    terms.push(Term { weight: Some(drawn(weight, |v| v.value)), ..term });
                }
                Sheds::Roll { roll, .. } => match wet_times(roll) {
                    Some(wet) => {
                        let weight: Weight = Arc::new(move |draw| 1000.0 / (wet(draw) - 1.0));
                        terms.extend(drip_terms(q, id, &weight));
                    }
                    None => {
                        let (length, width, dry) = (
                            drawn(&roll.length, |v| v.value),
                            drawn(&roll.width, |v| v.value),
                            drawn(&roll.dry_weight, |v| v.value),
                        );
                        let weight: Weight = Arc::new(move |draw| length(draw) * width(draw) * dry(draw));
                        let term = q.term(Watch::Events(id), 1.0);
                        terms.push(Term { weight: Some(weight), ..term });
                    }
                },
                Sheds::Change { dry_weight: None, .. } | Sheds::Screenings | Sheds::Rinse(_) | Sheds::Wash { .. } => {
                    missing = Some(format!("what the spent media of {} weigh is not typed", other.name));
                }
            }
        }
        let old = of.old_name(&place.name).to_owned();
        q.put(Kind::WetWaste, &old, &place.name, terms).missing = missing;
        // What the log alone would tell is counted by what comes in: it drops out only where that is the same.
        for (from, name, word) in logged {
            let term = q.term(Watch::Water(Selector::to(Node::Place(from))), 1.0);
            let solids = q.term(Watch::Solids(Selector::to(Node::Place(from))), 1.0);
            let id = format!("{old}, {}", of.old_name(&name));
            q.put(Kind::WetWaste, &id, &format!("{}, {name}", place.name), vec![term, solids]).missing =
                Some(format!("{name} is {word} by the log alone: its line does not say when else"));
        }
    }
}

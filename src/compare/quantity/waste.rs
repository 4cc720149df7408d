//! What is used up and what is hauled: bags, cartridges, rolls; wet waste with the media it comes on; what a tanker takes.

use std::sync::Arc;

use uom::si::f64::Ratio;

use super::{Kind, Quantities, Term, Weight, by_log_alone, drawn};
use crate::balance::{Node, Purpose, Selector, Watch};
use crate::compare::Alternative;
use crate::compare::prices::Spent;
use crate::facility::kinds::{Roll, Sheds};
use crate::facility::model::{DischargeKind, Filter, PlaceId, PlaceKind};
use crate::files::Given;

/// Filters whose spent pieces are hauled, by how these are counted.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Hauled {
    /// Without the water in them, since it is not typed.
    pub dry: Vec<String>,
    /// With it.
    pub wet: Vec<String>,
}

impl Hauled {
    /// Adds those of another, each once.
    pub fn add(&mut self, other: &Self) {
        for (to, from) in [(&mut self.dry, &other.dry), (&mut self.wet, &other.wet)] {
            for name in from {
                if !to.contains(name) {
                    to.push(name.clone());
                }
            }
        }
    }

    /// Whether some are counted dry and others wet, so that they are not to be held against one another.
    pub fn is_mixed(&self) -> bool {
        !self.dry.is_empty() && !self.wet.is_empty()
    }
}

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
        Sheds::Screenings | Sheds::Rinse(_) | Sheds::Reject(_) | Sheds::Wash { .. } => Vec::new(),
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

/// Makes what a filter's spent pieces weigh that of their dry weight and solids with the share of water that is typed, in place
/// of the water that the ledger has with them. The terms from `before` on are their dry weight.
fn as_wet_as_typed(q: &mut Quantities, terms: &mut Vec<Term>, before: usize, spent: Selector, water: &Given<Ratio>) {
    let wet = drawn(water, |share| share.value);
    let times: Weight = Arc::new(move |draw| 1.0 / (1.0 - wet(draw)));
    for term in terms.iter_mut().skip(before) {
        let (dry, times) = (term.weight.clone(), Arc::clone(&times));
        term.weight = Some(Arc::new(move |draw| times(draw) * dry.as_ref().map_or(1.0, |dry| dry(draw))));
    }
    // The ledger's water with them goes out, and their solids come in with theirs.
    terms.push(q.term(Watch::Water(spent), -1000.0));
    let more: Weight = Arc::new(move |draw| times(draw) - 1.0);
    terms.push(Term { weight: Some(more), ..q.term(Watch::Solids(spent), 1.0) });
}

/// What is hauled from each discharge point that is hauled from: water, solids and the dry weight of spent media.
pub(super) fn wet_waste(q: &mut Quantities, of: &Alternative, spent: &[(String, Spent)]) {
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
        let mut hauled = Hauled::default();
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
            let known = of.names_for_prices(&other.name);
            let spent = of.spent.iter().chain(spent).find(|(name, _)| known.contains(&name.as_str())).map(|(_, of)| of);
            let before = terms.len();
            let is_wet = spent.is_some_and(|spent| spent.water.is_some())
                || matches!(filter.kind.sheds(), Sheds::Roll { roll, drip_to: None } if wet_times(roll).is_some());
            if is_wet { &mut hauled.wet } else { &mut hauled.dry }.push(other.name.clone());
            match filter.kind.sheds() {
                Sheds::Change { pieces, dry_weight }
                    if dry_weight.or(spent.and_then(|spent| spent.dry.as_ref())).is_some() =>
                {
                    let term = q.term(Watch::Events(id), f64::from(pieces));
                    let weight = dry_weight.or(spent.and_then(|spent| spent.dry.as_ref()));
                    terms.push(Term { weight: weight.map(|weight| drawn(weight, |v| v.value)), ..term });
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
                Sheds::Change { .. } | Sheds::Screenings | Sheds::Rinse(_) | Sheds::Reject(_) | Sheds::Wash { .. } => {
                    missing = Some(format!(
                        "what the spent media of {} weigh is not typed (prices.yaml, `used up: {{{}: {{dry weight: 300 g}}}}`)",
                        other.name, other.name
                    ));
                }
            }
            if let Some(water) = spent.and_then(|spent| spent.water.as_ref()) {
                let with_them = Selector { to: Some(Node::Place(here)), ..Selector::from(Node::Place(id)) };
                as_wet_as_typed(q, &mut terms, before, with_them, water);
            }
        }
        let old = of.old_name(&place.name).to_owned();
        let put = q.put(Kind::WetWaste, &old, &place.name, terms);
        put.missing = missing;
        put.hauled = hauled;
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

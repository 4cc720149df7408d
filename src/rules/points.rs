//! Where a limit holds: its ways in the ledger, and the meters that stand on them.

use crate::balance::{Ledger, Node, Selector};
use crate::facility::model::{Facility, Meter, PlaceId, PlaceKind};
use crate::rules::Point;

/// The ways of water that a point means. A supply means what is drawn from it; any other place what comes to it.
pub(crate) fn selectors(point: &Point, facility: &Facility) -> Vec<Selector> {
    let through = |id: &PlaceId| {
        let is_supply = matches!(
            facility.get(*id).map(|place| &place.kind),
            Some(PlaceKind::Supply(_))
        );
        if is_supply {
            Selector::from(Node::Place(*id))
        } else {
            Selector::to(Node::Place(*id))
        }
    };
    match point {
        Point::Places(places) => places.iter().map(through).collect(),
        Point::Of(purpose, place) => vec![Selector::from(Node::Place(*place)).purpose(*purpose)],
        Point::Into(place) => vec![Selector::to(Node::Place(*place))],
        Point::OutOf(place) => vec![Selector::from(Node::Place(*place))],
        Point::Way(from, to) => {
            vec![Selector {
                from: Some(Node::Place(*from)),
                to: Some(Node::Place(*to)),
                purpose: None,
            }]
        }
    }
}

/// The places whose samples, looks and readings speak for a point.
pub(crate) fn places(point: &Point) -> Vec<PlaceId> {
    match point {
        Point::Places(places) => places.clone(),
        Point::Of(_, place) | Point::Into(place) | Point::OutOf(place) | Point::Way(_, place) => {
            vec![*place]
        }
    }
}

fn meter_on(meter: &Meter, selector: &Selector) -> bool {
    let ends = selector
        .from
        .is_none_or(|node| node == Node::Place(meter.from))
        && selector.to.is_none_or(|node| node == Node::Place(meter.to));
    let purpose = match (selector.purpose, &meter.what) {
        (None, _) => true,
        (Some(purpose), Some(what)) => what.trim().eq_ignore_ascii_case(purpose.words()),
        (Some(_), None) => true,
    };
    ends && purpose
}

/// Meters that read a point's ways, and whether they read all of them.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct MetersOn {
    /// Indices into `Facility::meters`; of several on one way, the first in the file.
    pub meters: Vec<usize>,
    /// Whether every way that carries water has one.
    pub complete: bool,
}

/// The meters on a point's ways. With a ledger every way that it has must carry one; without, one is taken to see all.
pub(crate) fn meters_on(point: &Point, facility: &Facility, ledger: Option<&Ledger>) -> MetersOn {
    let selectors = selectors(point, facility);
    let mut found: Vec<usize> = Vec::new();
    for (index, meter) in facility.meters.iter().enumerate() {
        let twin = found
            .iter()
            .filter_map(|other| facility.meters.get(*other))
            .any(|other| {
                (other.from, other.to) == (meter.from, meter.to)
                    && (other.what == meter.what || other.what.is_none() || meter.what.is_none())
            });
        if !twin && selectors.iter().any(|selector| meter_on(meter, selector)) {
            found.push(index);
        }
    }
    let complete = !found.is_empty()
        && ledger.is_none_or(|ledger| {
            selectors
                .iter()
                .flat_map(|selector| ledger.select(selector))
                .all(|way| {
                    let Some(way) = ledger.ways().get(way) else {
                        return true;
                    };
                    if way.from == Node::Unaccounted || way.to == Node::Unaccounted {
                        return true;
                    }
                    found
                        .iter()
                        .filter_map(|index| facility.meters.get(*index))
                        .any(|meter| {
                            way.from == Node::Place(meter.from)
                                && way.to == Node::Place(meter.to)
                                && meter.what.as_ref().is_none_or(|what| {
                                    what.trim().eq_ignore_ascii_case(way.purpose.words())
                                })
                        })
                })
        });
    MetersOn {
        meters: found,
        complete,
    }
}

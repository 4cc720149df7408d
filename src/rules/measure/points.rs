//! Where a limit holds: its ways in the ledger, and the places that speak for it.

use crate::balance::{Node, Selector};
use crate::facility::model::{Facility, PlaceId, PlaceKind};
use crate::rules::Point;

/// The ways of water that a point means. A supply means what is drawn from it; any other place what comes to it.
pub(crate) fn selectors(point: &Point, facility: &Facility) -> Vec<Selector> {
    let through = |id: &PlaceId| {
        let is_supply = matches!(facility.get(*id).map(|place| &place.kind), Some(PlaceKind::Supply(_)));
        if is_supply { Selector::from(Node::Place(*id)) } else { Selector::to(Node::Place(*id)) }
    };
    match point {
        Point::Places(places) => places.iter().map(through).collect(),
        Point::Of(purpose, place) => vec![Selector::from(Node::Place(*place)).purpose(*purpose)],
        Point::Streams(streams) => {
            streams.iter().map(|(purpose, place)| Selector::from(Node::Place(*place)).purpose(*purpose)).collect()
        }
        Point::Into(place) => vec![Selector::to(Node::Place(*place))],
        Point::OutOf(place) => vec![Selector::from(Node::Place(*place))],
        Point::Way(from, to) => {
            vec![Selector { from: Some(Node::Place(*from)), to: Some(Node::Place(*to)), purpose: None }]
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
        Point::Streams(streams) => {
            let mut places: Vec<PlaceId> = streams.iter().map(|(_, place)| *place).collect();
            places.sort_unstable();
            places.dedup();
            places
        }
    }
}

//! The ways between places, the order in which a day's water passes them, and which line a filter is on.

use std::collections::{BTreeSet, VecDeque};

use crate::facility::kinds::{Sheds, Sprayed};
use crate::facility::model::{Facility, FillRule, Filter, Outflow, PlaceId, PlaceKind, SitePlace, WashWater};
use crate::told::Place;

/// What a way carries.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Carries {
    /// Water that the place it goes to draws.
    Drawn,
    /// A float valve's top-up.
    TopUp,
    /// Runoff of a catchment.
    Runoff,
    /// What comes back from a use.
    Return,
    /// Filtered water, or water that a transfer moves.
    Passed,
    /// Flow over a filter's capacity.
    Bypass,
    /// Water over a spill level or an overflow.
    Spill,
    /// Water pumped out on level.
    PumpedOut,
    /// Wash water of a filter, with its rinse to waste.
    WashWater,
    /// Rinse water of a drum.
    RinseWater,
    /// Reject of a membrane.
    Reject,
    /// Water that washes a filter, drawn from elsewhere.
    WashSupply,
    /// Water of a hose or a spray, drawn from elsewhere.
    SpraySupply,
    /// What a hose washed down.
    HosedDown,
    /// Screenings with their liquor.
    Screenings,
    /// Liquor that drains back from screenings.
    Liquor,
    /// Drained at a change of bags or cartridges.
    DrainDown,
    /// Spent media with what they hold.
    SpentMedia,
    /// Drip of moving media.
    Drip,
    /// Hauled by a tanker.
    Hauled,
}

impl Carries {
    /// The words of the file for it: a meter's `what`.
    pub fn words(self) -> &'static str {
        match self {
            Self::Drawn | Self::Passed => "water",
            Self::TopUp => "top-up",
            Self::Runoff => "runoff",
            Self::Return => "return",
            Self::Bypass => "bypass",
            Self::Spill => "overflow",
            Self::PumpedOut => "pumped out",
            Self::WashWater => "wash water",
            Self::RinseWater => "rinse water",
            Self::Reject => "reject",
            Self::WashSupply => "water for washing",
            Self::SpraySupply => "water for spraying",
            Self::HosedDown => "hosed down",
            Self::Screenings => "screenings",
            Self::Liquor => "liquor",
            Self::DrainDown => "drained",
            Self::SpentMedia => "spent media",
            Self::Drip => "drip",
            Self::Hauled => "hauled",
        }
    }

    /// Whether it passes on by itself in the same day; a draw waits until somebody takes it.
    pub fn is_flow(self) -> bool {
        !matches!(self, Self::Drawn | Self::TopUp | Self::WashSupply | Self::SpraySupply)
    }

    /// Whether it is water in a pipe or channel, so that a meter can sit on it.
    pub fn is_metered(self) -> bool {
        !matches!(self, Self::Screenings | Self::SpentMedia)
    }
}

/// A way between two places.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    /// Where it starts.
    pub from: PlaceId,
    /// Where it ends.
    pub to: PlaceId,
    /// What it carries.
    pub carries: Carries,
    /// Where it was typed; for draws, the place that draws.
    pub place: Place,
}

/// Which line a filter is on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Line {
    /// Driven by demand: it draws.
    Pull,
    /// Driven by what comes: it is flowed through.
    Push,
}

/// The ways of a facility.
#[derive(Debug, Clone)]
pub struct Graph {
    ways: Vec<Way>,
    order: Vec<PlaceId>,
    lines: Vec<Option<Line>>,
}

impl Graph {
    /// The ways of a checked facility.
    pub fn of(facility: &Facility) -> Self {
        let all = facility.places.iter().enumerate().map(|(at, place)| (PlaceId(at), place));
        Self::from_places(facility.places.len(), all)
    }

    /// The ways of the places that could be read.
    pub(super) fn from_places<'a>(count: usize, places: impl Iterator<Item = (PlaceId, &'a SitePlace)>) -> Self {
        let mut ways = Vec::new();
        let mut lines = vec![None; count];
        for (id, site) in places {
            if let PlaceKind::Filter(filter) = &site.kind
                && let Some(slot) = lines.get_mut(id.0)
            {
                *slot = Some(if filter.takes_from.is_empty() { Line::Push } else { Line::Pull });
            }
            ways_of(id, site, &mut ways);
        }
        let order = order(count, &ways);
        Self { ways, order, lines }
    }

    /// Every way, in the order of the places they were typed at.
    pub fn ways(&self) -> &[Way] {
        &self.ways
    }

    /// The ways from one place to another.
    pub fn ways_between(&self, from: PlaceId, to: PlaceId) -> impl Iterator<Item = &Way> {
        self.ways.iter().filter(move |way| way.from == from && way.to == to)
    }

    /// The ways out of a place.
    pub fn ways_from(&self, from: PlaceId) -> impl Iterator<Item = &Way> {
        self.ways.iter().filter(move |way| way.from == from)
    }

    /// The ways into a place.
    pub fn ways_to(&self, to: PlaceId) -> impl Iterator<Item = &Way> {
        self.ways.iter().filter(move |way| way.to == to)
    }

    /// All places so that every flow of a day goes from an earlier to a later one; file order where that leaves a choice.
    /// Places on a loop (an error of the file) are left out.
    pub fn order(&self) -> &[PlaceId] {
        &self.order
    }

    /// Which line a filter is on; `None` for what is no filter.
    pub fn line(&self, place: PlaceId) -> Option<Line> {
        self.lines.get(place.0).copied().flatten()
    }
}

fn ways_of(id: PlaceId, site: &SitePlace, ways: &mut Vec<Way>) {
    let mut add = |from: PlaceId, to: PlaceId, carries: Carries, place: &Place| {
        ways.push(Way { from, to, carries, place: place.clone() });
    };
    let here = &site.place;
    match &site.kind {
        PlaceKind::Supply(_) | PlaceKind::DischargePoint(_) => {}
        PlaceKind::Catchment(catchment) => out(id, &catchment.goes_to, Carries::Runoff, &mut add),
        PlaceKind::Use(a_use) => {
            for from in &a_use.takes_from {
                add(*from, id, Carries::Drawn, here);
            }
            if let Some(to) = &a_use.goes_to {
                out(id, to, Carries::Return, &mut add);
            }
        }
        PlaceKind::Transfer(transfer) => {
            for from in &transfer.takes_from {
                add(*from, id, Carries::Drawn, here);
            }
            out(id, &transfer.goes_to, Carries::Passed, &mut add);
        }
        PlaceKind::Filter(filter) => filter_ways(id, here, filter, &mut add),
        PlaceKind::Tank(tank) => {
            filled(id, tank.filled_from.as_ref(), &mut add);
            if let Some(pump) = &tank.pumped_out {
                out(id, &pump.to, Carries::PumpedOut, &mut add);
            }
            if let Some(tanker) = &tank.emptied_by {
                add(id, tanker.to, Carries::Hauled, &tanker.place);
            }
            if let Some(over) = &tank.overflows_to {
                out(id, over, Carries::Spill, &mut add);
            }
        }
        PlaceKind::Pond(pond) => {
            filled(id, pond.filled_from.as_ref(), &mut add);
            if let Some(pump) = &pond.pumped_out {
                out(id, &pump.to, Carries::PumpedOut, &mut add);
            }
            if let Some(spill) = &pond.spills_to {
                out(id, spill, Carries::Spill, &mut add);
            }
        }
    }
}

fn filled(id: PlaceId, fill: Option<&FillRule>, add: &mut impl FnMut(PlaceId, PlaceId, Carries, &Place)) {
    for (fill, from) in fill.into_iter().flat_map(|fill| fill.from.iter().map(move |from| (fill, from))) {
        add(*from, id, Carries::TopUp, &fill.place);
    }
}

fn filter_ways(id: PlaceId, here: &Place, filter: &Filter, add: &mut impl FnMut(PlaceId, PlaceId, Carries, &Place)) {
    for from in &filter.takes_from {
        add(*from, id, Carries::Drawn, here);
    }
    if let Some(to) = &filter.goes_to {
        out(id, to, Carries::Passed, add);
    }
    if let Some(over) = &filter.above_that {
        out(id, over, Carries::Bypass, add);
    }
    if let Some(wash) = &filter.wash {
        if let WashWater::From(source) = wash.with {
            add(source, id, Carries::WashSupply, here);
        }
        out(id, &wash.to, Carries::WashWater, add);
    }
    if let Some(to) = filter.change.as_ref().and_then(|change| change.to.as_ref()) {
        out(id, to, Carries::DrainDown, add);
    }
    if let Some(screenings) = &filter.screenings {
        add(id, screenings.to, Carries::Screenings, here);
        if let Some(back) = screenings.drains_back_to {
            add(id, back, Carries::Liquor, here);
        }
    }
    if let Some(to) = filter.spent_media_to {
        add(id, to, Carries::SpentMedia, here);
    }
    match filter.kind.sprayed() {
        Sprayed::Not => {}
        Sprayed::ByHand(hose) => {
            add(hose.with, id, Carries::SpraySupply, here);
            out(id, &hose.to, Carries::HosedDown, add);
        }
        Sprayed::InService(spray) => add(spray.with, id, Carries::SpraySupply, here),
    }
    match filter.kind.sheds() {
        Sheds::Roll { drip_to: Some(to), .. } => out(id, to, Carries::Drip, add),
        Sheds::Rinse(rinse) => {
            if let WashWater::From(source) = rinse.with {
                add(source, id, Carries::WashSupply, here);
            }
            out(id, &rinse.to, Carries::RinseWater, add);
        }
        Sheds::Reject(reject) => out(id, &reject.to, Carries::Reject, add),
        // Their ways are those of the filter's washes, changes, screenings and spent media.
        Sheds::Roll { drip_to: None, .. } | Sheds::Screenings | Sheds::Wash { .. } | Sheds::Change { .. } => {}
    }
}

fn out(id: PlaceId, to: &Outflow, carries: Carries, add: &mut impl FnMut(PlaceId, PlaceId, Carries, &Place)) {
    for (target, place) in to.named() {
        add(id, target, carries, place);
    }
}

/// Kahn's order over the flows of a day; the lowest number first.
fn order(count: usize, ways: &[Way]) -> Vec<PlaceId> {
    let (next, mut waiting) = neighbours(count, ways);
    let mut free: BTreeSet<usize> =
        waiting.iter().enumerate().filter(|(_, left)| **left == 0).map(|(at, _)| at).collect();
    let mut order = Vec::with_capacity(count);
    while let Some(at) = free.pop_first() {
        order.push(PlaceId(at));
        for to in next.get(at).into_iter().flatten() {
            if let Some(left) = waiting.get_mut(*to) {
                *left -= 1;
                if *left == 0 {
                    free.insert(*to);
                }
            }
        }
    }
    order
}

/// For each place the places its flows reach (each once), and how many places flow into it.
fn neighbours(count: usize, ways: &[Way]) -> (Vec<BTreeSet<usize>>, Vec<usize>) {
    let mut next = vec![BTreeSet::new(); count];
    let mut into = vec![0_usize; count];
    for way in ways.iter().filter(|way| way.carries.is_flow()) {
        if let Some(set) = next.get_mut(way.from.0)
            && way.to.0 < count
            && set.insert(way.to.0)
            && let Some(number) = into.get_mut(way.to.0)
        {
            *number += 1;
        }
    }
    (next, into)
}

/// The loops of a day: for each knot of places that flow into one another, its shortest loop as ways, beginning at the
/// place that is first in the file.
pub(super) fn loops(count: usize, graph: &Graph) -> Vec<Vec<Way>> {
    let ordered: BTreeSet<usize> = graph.order.iter().map(|id| id.0).collect();
    let (next, _) = neighbours(count, &graph.ways);
    let mut left: BTreeSet<usize> = (0..count).filter(|at| !ordered.contains(at)).collect();
    let mut found = Vec::new();
    while let Some(at) = left.first().copied() {
        let Some(through) = shortest(at, &next, &left) else {
            left.remove(&at);
            continue;
        };
        // The knot: what is reached from here and reaches back.
        let reached = reach(at, &next, &left);
        let knot: BTreeSet<usize> =
            reached.iter().copied().filter(|other| reach(*other, &next, &left).contains(&at)).take(300).collect();
        let mut best = through;
        for other in &knot {
            if let Some(candidate) = shortest(*other, &next, &knot)
                && candidate.len() < best.len()
            {
                best = candidate;
            }
        }
        let least = best.iter().enumerate().min_by_key(|(_, place)| **place).map_or(0, |(index, _)| index);
        best.rotate_left(least);
        let ways = best
            .iter()
            .zip(best.iter().cycle().skip(1))
            .filter_map(|(from, to)| {
                graph.ways_between(PlaceId(*from), PlaceId(*to)).find(|way| way.carries.is_flow()).cloned()
            })
            .collect();
        found.push(ways);
        for place in &knot {
            left.remove(place);
        }
        left.remove(&at);
    }
    found
}

fn reach(from: usize, next: &[BTreeSet<usize>], within: &BTreeSet<usize>) -> BTreeSet<usize> {
    let mut seen = BTreeSet::new();
    let mut queue = VecDeque::from([from]);
    while let Some(at) = queue.pop_front() {
        for to in next.get(at).into_iter().flatten() {
            if within.contains(to) && seen.insert(*to) {
                queue.push_back(*to);
            }
        }
    }
    seen
}

/// The shortest loop through a place, as the places on it.
fn shortest(from: usize, next: &[BTreeSet<usize>], within: &BTreeSet<usize>) -> Option<Vec<usize>> {
    let mut came: Vec<Option<usize>> = vec![None; next.len()];
    let mut queue = VecDeque::from([from]);
    while let Some(at) = queue.pop_front() {
        for to in next.get(at).into_iter().flatten().filter(|to| within.contains(to)) {
            if *to == from {
                let mut path = vec![at];
                let mut back = at;
                while back != from {
                    back = came.get(back).copied().flatten()?;
                    path.push(back);
                }
                path.reverse();
                return Some(path);
            }
            if let Some(slot) = came.get_mut(*to)
                && slot.is_none()
            {
                *slot = Some(at);
                queue.push_back(*to);
            }
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::Arc;

    fn graph(count: usize, ways: &[(usize, usize)]) -> Graph {
        let place = Place::line(&Arc::from("facility.yaml"), 1);
        let ways: Vec<Way> = ways
            .iter()
            .map(|(from, to)| Way {
                from: PlaceId(*from),
                to: PlaceId(*to),
                carries: Carries::Passed,
                place: place.clone(),
            })
            .collect();
        let order = order(count, &ways);
        Graph { ways, order, lines: vec![None; count] }
    }

    #[test]
    fn places_come_in_the_order_water_passes_them() {
        let graph = graph(5, &[(3, 1), (1, 0), (3, 0), (0, 4)]);
        assert_eq!(graph.order(), [2, 3, 1, 0, 4].map(PlaceId));
        assert!(loops(5, &graph).is_empty());
    }

    #[test]
    fn each_knot_tells_its_shortest_loop_from_the_first_place() {
        // 4 -> 2 -> 3 -> 4 and 3 -> 2 share a knot; 0 -> 0 is one by itself; 1 hangs behind.
        let graph = graph(6, &[(4, 2), (2, 3), (3, 4), (3, 2), (0, 0), (3, 1), (1, 5)]);
        let told: Vec<Vec<usize>> =
            loops(6, &graph).iter().map(|ways| ways.iter().map(|way| way.from.0).collect()).collect();
        assert_eq!(told, [vec![0], vec![2, 3]]);
    }
}

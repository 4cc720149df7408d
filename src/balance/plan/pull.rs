//! Pull lines as rounds of asking: every way from an asker to a source, tried in the order typed.
//!
//! A line with several sources is flattened to its paths, first source first, and a filter with several sources counts
//! each as a path of its own. Round j asks over every asker's j-th path for what is still lacking.

use std::collections::BTreeMap;

use crate::balance::plan::build::Builder;
use crate::balance::plan::{Asker, EdgeId, FilterAsk, First, RankGroup, Round, Slot, Source};
use crate::balance::{Node, Purpose};
use crate::facility::kinds::Sprayed;
use crate::facility::model::{PlaceId, PlaceKind};

/// Most rounds of a day.
const MOST_ROUNDS: usize = 4;

/// The source a place is, if it is one.
pub(crate) fn source_of(b: &Builder<'_>, place: PlaceId) -> Option<Source> {
    let number = b.index.get(place.0).copied()?;
    match b.facility().get(place)?.kind {
        PlaceKind::Supply(_) => Some(Source::Supply(number)),
        PlaceKind::Tank(_) | PlaceKind::Pond(_) => Some(Source::Store(number)),
        _ => None,
    }
}

/// Every path from a child up to a source: edges, nearest first.
fn paths(b: &mut Builder<'_>, child: PlaceId, parents: &[PlaceId], purpose: Purpose, depth: usize) -> Vec<Vec<EdgeId>> {
    let mut found = Vec::new();
    // A chain longer than this is a loop, which the check refuses.
    if depth > 12 {
        return found;
    }
    for &parent in parents {
        let edge = b.edge(Node::Place(parent), Node::Place(child), purpose, true);
        if source_of(b, parent).is_some() {
            found.push(vec![edge]);
        } else if let Some(PlaceKind::Filter(filter)) = b.facility().get(parent).map(|p| &p.kind) {
            for rest in paths(b, parent, &filter.takes_from, Purpose::Water, depth + 1) {
                let mut path = vec![edge];
                path.extend(rest);
                found.push(path);
            }
        }
        if found.len() >= MOST_ROUNDS {
            found.truncate(MOST_ROUNDS);
            break;
        }
    }
    found
}

struct Request {
    asker: Asker,
    rank: u32,
    paths: Vec<Vec<EdgeId>>,
}

fn requests(b: &mut Builder<'_>) -> Vec<Request> {
    let mut requests = Vec::new();
    let facility = b.facility();
    for (index, place) in facility.places.iter().enumerate() {
        let id = PlaceId(index);
        let number = b.index.get(index).copied().unwrap_or(0);
        let user = match &place.kind {
            PlaceKind::Use(u) => Some((&u.takes_from, u.turn)),
            PlaceKind::Transfer(t) => Some((&t.takes_from, t.turn)),
            _ => None,
        };
        if let Some((from, turn)) = user {
            let paths = paths(b, id, from, Purpose::Water, 0);
            let mut inlets: Vec<EdgeId> = paths.iter().filter_map(|p| p.first().copied()).collect();
            inlets.sort_unstable();
            inlets.dedup();
            if let Some(plan) = b.plan.users.get_mut(number) {
                plan.inlets = inlets;
            }
            requests.push(Request { asker: Asker::User(number), rank: turn, paths });
        }
        let fill = match &place.kind {
            PlaceKind::Tank(t) => t.filled_from.as_ref(),
            PlaceKind::Pond(p) => p.filled_from.as_ref(),
            _ => None,
        };
        if let Some(fill) = fill
            && matches!(facility.get(fill.from).map(|p| &p.kind), Some(PlaceKind::Filter(_)))
        {
            let paths = paths(b, id, &[fill.from], Purpose::TopUp, 0);
            requests.push(Request { asker: Asker::Fill(number), rank: 0, paths });
        }
        if let PlaceKind::Filter(filter) = &place.kind {
            let asked = match filter.kind.sprayed() {
                Sprayed::Not => None,
                Sprayed::ByHand(hose) => Some((hose.with, Asker::Hose(number))),
                // On a push line a spray is drawn at the screen's turn, when it is known that water flows.
                Sprayed::InService(_) if filter.takes_from.is_empty() => None,
                Sprayed::InService(spray) => Some((spray.with, Asker::Spray(number))),
            };
            if let Some((with, asker)) = asked {
                let paths = paths_direct(b, id, with, Purpose::Spray);
                requests.push(Request { asker, rank: 0, paths });
            }
        }
    }
    requests
}

/// Water that does not mix with what the filter filters: its edge is not gathered.
fn paths_direct(b: &mut Builder<'_>, child: PlaceId, parent: PlaceId, purpose: Purpose) -> Vec<Vec<EdgeId>> {
    if source_of(b, parent).is_none() {
        return Vec::new();
    }
    vec![vec![b.edge(Node::Place(parent), Node::Place(child), purpose, false)]]
}

fn from_place(b: &Builder<'_>, edge: EdgeId) -> Option<PlaceId> {
    match b.plan.edges.get(edge)?.way.from {
        Node::Place(place) => Some(place),
        _ => None,
    }
}

/// Compiles the rounds.
pub(crate) fn rounds(b: &mut Builder<'_>) {
    let requests = requests(b);
    b.plan.askers = requests.iter().map(|r| r.asker).collect();
    let count = requests.iter().map(|r| r.paths.len()).max().unwrap_or(0);
    for round in 0..count {
        let compiled = one_round(b, &requests, round);
        b.plan.rounds.push(compiled);
    }
    // First sources, inlets and children of pull filters.
    for number in 0..b.plan.filters.len() {
        let Some(place) = b.plan.filters.get(number).map(|f| f.place) else {
            continue;
        };
        let Some(PlaceKind::Filter(filter)) = b.facility().get(place).map(|p| &p.kind) else {
            continue;
        };
        let mut inlets = Vec::new();
        let mut children = Vec::new();
        for (id, edge) in b.plan.edges.iter().enumerate() {
            if !matches!(edge.way.purpose, Purpose::Water | Purpose::TopUp) {
                continue;
            }
            if edge.way.to == Node::Place(place) && edge.way.purpose == Purpose::Water {
                inlets.push(id);
            }
            if edge.way.from == Node::Place(place) {
                children.push(id);
            }
        }
        let first = filter.takes_from.first().and_then(|&parent| {
            source_of(b, parent).map(First::Source).or_else(|| {
                matches!(b.facility().get(parent).map(|p| &p.kind), Some(PlaceKind::Filter(_)))
                    .then(|| First::Filter(b.index.get(parent.0).copied().unwrap_or(0)))
            })
        });
        if let Some(plan) = b.plan.filters.get_mut(number)
            && plan.pull
        {
            plan.inlets = inlets;
            plan.children = children;
            plan.first = first;
        }
    }
    // Edges drawn from sources in the rounds.
    let mut draws: Vec<(EdgeId, Source)> = Vec::new();
    for slot in &b.plan.slots {
        if let Some(source) = from_place(b, slot.edge).and_then(|place| source_of(b, place))
            && !draws.contains(&(slot.edge, source))
        {
            draws.push((slot.edge, source));
        }
    }
    b.plan.draws = draws;
}

fn group(slots: &[usize], b: &Builder<'_>) -> Vec<RankGroup> {
    let mut by_rank: BTreeMap<u32, Vec<usize>> = BTreeMap::new();
    for &slot in slots {
        let rank = b.plan.slots.get(slot).map_or(0, |s| s.rank);
        by_rank.entry(rank).or_default().push(slot);
    }
    by_rank.into_values().collect()
}

fn one_round(b: &mut Builder<'_>, requests: &[Request], round: usize) -> Round {
    let mut leaves = Vec::new();
    // What is asked of a filter over one path upwards: (path from the filter on) → child slots.
    let mut of_filter: BTreeMap<(usize, Vec<EdgeId>), Vec<usize>> = BTreeMap::new();
    let mut of_source: BTreeMap<Source, Vec<usize>> = BTreeMap::new();
    let file = |slots: &mut BTreeMap<(usize, Vec<EdgeId>), Vec<usize>>,
                sources: &mut BTreeMap<Source, Vec<usize>>,
                b: &Builder<'_>,
                path: &[EdgeId],
                slot: usize| {
        let Some((&edge, rest)) = path.split_first() else {
            return;
        };
        let Some(place) = from_place(b, edge) else {
            return;
        };
        if let Some(source) = source_of(b, place) {
            sources.entry(source).or_default().push(slot);
        } else {
            slots.entry((rest.len(), rest.to_vec())).or_default().push(slot);
        }
    };
    for (index, request) in requests.iter().enumerate() {
        let Some(path) = request.paths.get(round) else {
            continue;
        };
        let Some(&edge) = path.first() else { continue };
        b.plan.slots.push(Slot { edge, rank: request.rank });
        let slot = b.plan.slots.len() - 1;
        leaves.push((index, slot));
        file(&mut of_filter, &mut of_source, b, path, slot);
    }
    let mut asks = Vec::new();
    // Longest way to the source first: a filter is asked after everything that takes from it.
    while let Some(((_, path), children)) = of_filter.pop_last() {
        let Some(&edge) = path.first() else { continue };
        let Some(Node::Place(filter_place)) = b.plan.edges.get(edge).map(|e| e.way.to) else {
            continue;
        };
        let Some(PlaceKind::Filter(filter)) = b.facility().get(filter_place).map(|p| &p.kind) else {
            continue;
        };
        let number = b.index.get(filter_place.0).copied().unwrap_or(0);
        b.plan.slots.push(Slot { edge, rank: filter.turn });
        let slot = b.plan.slots.len() - 1;
        file(&mut of_filter, &mut of_source, b, &path, slot);
        let clean = b.plan.filters.get(number).and_then(|f| f.clean).map(|(clean_edge, source)| {
            b.plan.slots.push(Slot { edge: clean_edge, rank: 0 });
            let clean_slot = b.plan.slots.len() - 1;
            of_source.entry(source).or_default().push(clean_slot);
            clean_slot
        });
        let groups = group(&children, b);
        asks.push(FilterAsk { filter: number, children: groups, slot, clean });
    }
    let grants = of_source.into_iter().map(|(source, slots)| (source, group(&slots, b))).collect();
    Round { leaves, asks, grants }
}

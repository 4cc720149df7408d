//! Pull lines as rounds of asking: every way from an asker to a source, tried in the order typed.
//!
//! A line with several sources is flattened to its paths, first source first, and a filter with several sources counts
//! each as a path of its own. Round j asks over every asker's j-th path for what is still lacking.

use std::collections::BTreeMap;

use crate::balance::at::{AskerAt, At, FilterAt, SlotAt, WayAt};
use crate::balance::plan::build::{Builder, Listed};
use crate::balance::plan::{Asker, FilterAsk, First, Op, RankGroup, Round, Slot, Source};
use crate::balance::{Node, Purpose};
use crate::facility::kinds::Sprayed;
use crate::facility::model::{PlaceId, PlaceKind};

/// Most rounds of a day.
const MOST_ROUNDS: usize = 4;

/// The source a place is, if it is one.
pub(crate) fn source_of(b: &Builder<'_>, place: PlaceId) -> Option<Source> {
    match b.listed[place] {
        Listed::Supply(supply) => Some(Source::Supply(supply)),
        Listed::Turn(Op::Store(store)) => Some(Source::Store(store)),
        _ => None,
    }
}

/// The filter a place is, if it is one.
fn filter_of(b: &Builder<'_>, place: PlaceId) -> Option<FilterAt> {
    match b.listed[place] {
        Listed::Turn(Op::Filter(filter)) => Some(filter),
        _ => None,
    }
}

/// Every path from a child up to a source: edges, nearest first.
fn paths(b: &mut Builder<'_>, child: PlaceId, parents: &[PlaceId], purpose: Purpose, depth: usize) -> Vec<Vec<WayAt>> {
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
    paths: Vec<Vec<WayAt>>,
}

fn requests(b: &mut Builder<'_>) -> Vec<Request> {
    let mut requests = Vec::new();
    for (index, place) in b.facility().places.iter().enumerate() {
        let id = PlaceId(index);
        match b.listed[id] {
            Listed::Turn(Op::User(user)) => {
                let (from, rank) = match &place.kind {
                    PlaceKind::Use(u) => (&u.takes_from, u.turn),
                    PlaceKind::Transfer(t) => (&t.takes_from, t.turn),
                    _ => continue,
                };
                let paths = paths(b, id, from, Purpose::Water, 0);
                let mut inlets: Vec<WayAt> = paths.iter().filter_map(|p| p.first().copied()).collect();
                inlets.sort_unstable();
                inlets.dedup();
                b.plan.users[user].inlets = inlets;
                requests.push(Request { asker: Asker::User(user), rank, paths });
            }
            Listed::Turn(Op::Store(store)) => {
                let fill = match &place.kind {
                    PlaceKind::Tank(t) => t.filled_from.as_ref(),
                    PlaceKind::Pond(p) => p.filled_from.as_ref(),
                    _ => None,
                };
                let through: Vec<PlaceId> = fill
                    .into_iter()
                    .flat_map(|fill| &fill.from)
                    .copied()
                    .filter(|from| filter_of(b, *from).is_some())
                    .collect();
                if !through.is_empty() {
                    let paths = paths(b, id, &through, Purpose::TopUp, 0);
                    requests.push(Request { asker: Asker::Fill(store), rank: 0, paths });
                }
            }
            Listed::Turn(Op::Filter(number)) => {
                let PlaceKind::Filter(filter) = &place.kind else { continue };
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
            _ => {}
        }
    }
    requests
}

/// Water that does not mix with what the filter filters: its edge is not gathered.
fn paths_direct(b: &mut Builder<'_>, child: PlaceId, parent: PlaceId, purpose: Purpose) -> Vec<Vec<WayAt>> {
    if source_of(b, parent).is_none() {
        return Vec::new();
    }
    vec![vec![b.edge(Node::Place(parent), Node::Place(child), purpose, false)]]
}

fn from_place(b: &Builder<'_>, edge: WayAt) -> Option<PlaceId> {
    match b.plan.edges[edge].way.from {
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
    for number in b.plan.filters.indices() {
        let place = b.plan.filters[number].place;
        let Some(PlaceKind::Filter(filter)) = b.facility().get(place).map(|p| &p.kind) else {
            continue;
        };
        if !b.plan.filters[number].pull {
            continue;
        }
        let mut inlets = Vec::new();
        let mut children = Vec::new();
        for (id, edge) in b.plan.edges.each() {
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
            let source = source_of(b, parent).map(First::Source);
            source.or_else(|| filter_of(b, parent).map(First::Filter))
        });
        let plan = &mut b.plan.filters[number];
        plan.inlets = inlets;
        plan.children = children;
        plan.first = first;
    }
    // Edges drawn from sources in the rounds.
    let mut draws: Vec<(WayAt, Source)> = Vec::new();
    for slot in &b.plan.slots {
        if let Some(source) = from_place(b, slot.edge).and_then(|place| source_of(b, place))
            && !draws.contains(&(slot.edge, source))
        {
            draws.push((slot.edge, source));
        }
    }
    b.plan.draws = draws;
}

fn group(slots: &[SlotAt], b: &Builder<'_>) -> Vec<RankGroup> {
    let mut by_rank: BTreeMap<u32, RankGroup> = BTreeMap::new();
    for &slot in slots {
        by_rank.entry(b.plan.slots[slot].rank).or_default().push(slot);
    }
    by_rank.into_values().collect()
}

fn one_round(b: &mut Builder<'_>, requests: &[Request], round: usize) -> Round {
    let mut leaves = Vec::new();
    // What is asked of a filter over one path upwards: (path from the filter on) → child slots.
    let mut of_filter: BTreeMap<(usize, Vec<WayAt>), Vec<SlotAt>> = BTreeMap::new();
    let mut of_source: BTreeMap<Source, Vec<SlotAt>> = BTreeMap::new();
    let file = |slots: &mut BTreeMap<(usize, Vec<WayAt>), Vec<SlotAt>>,
                sources: &mut BTreeMap<Source, Vec<SlotAt>>,
                b: &Builder<'_>,
                path: &[WayAt],
                slot: SlotAt| {
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
        let slot = b.plan.slots.push(Slot { edge, rank: request.rank });
        leaves.push((AskerAt::nth(index), slot));
        file(&mut of_filter, &mut of_source, b, path, slot);
    }
    let mut asks = Vec::new();
    // Longest way to the source first: a filter is asked after everything that takes from it.
    while let Some(((_, path), children)) = of_filter.pop_last() {
        let Some(&edge) = path.first() else { continue };
        let Node::Place(filter_place) = b.plan.edges[edge].way.to else {
            continue;
        };
        let (Some(number), Some(PlaceKind::Filter(filter))) =
            (filter_of(b, filter_place), b.facility().get(filter_place).map(|p| &p.kind))
        else {
            continue;
        };
        let slot = b.plan.slots.push(Slot { edge, rank: filter.turn });
        file(&mut of_filter, &mut of_source, b, &path, slot);
        let clean = b.plan.filters[number].clean.map(|(clean_edge, source)| {
            let clean_slot = b.plan.slots.push(Slot { edge: clean_edge, rank: 0 });
            of_source.entry(source).or_default().push(clean_slot);
            clean_slot
        });
        let groups = group(&children, b);
        asks.push(FilterAsk { filter: number, children: groups, slot, clean });
    }
    let grants = of_source.into_iter().map(|(source, slots)| (source, group(&slots, b))).collect();
    Round { leaves, asks, grants }
}

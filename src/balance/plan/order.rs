//! The order of turns within a day, and the steps per day.

use std::collections::BTreeSet;

use crate::balance::at::{Param, Per, StoreAt, WayAt};
use crate::balance::plan::build::{Builder, Listed, problem_at};
use crate::balance::plan::pull::source_of;
use crate::balance::plan::{Op, Source};
use crate::balance::{Node, Purpose};
use crate::facility::model::{Outflow, PlaceId, PlaceKind, StepsPerDay};

fn op_of(b: &Builder<'_>, place: PlaceId) -> Option<Op> {
    match b.listed[place] {
        Listed::Turn(op) => Some(op),
        Listed::Supply(_) | Listed::Outside => None,
    }
}

/// Sorts turns so that each place has all its inflows of the day before its turn. Draws are no flows: what is drawn was
/// there at the opening.
pub(crate) fn order(b: &mut Builder<'_>) {
    let drawn: BTreeSet<WayAt> = b.plan.draws.iter().map(|(edge, _)| *edge).collect();
    let mut after: Per<PlaceId, BTreeSet<PlaceId>> = Per::filled(b.listed.len(), BTreeSet::new());
    for (id, edge) in b.plan.edges.each() {
        let (Node::Place(from), Node::Place(to)) = (edge.way.from, edge.way.to) else {
            continue;
        };
        let is_draw = drawn.contains(&id)
            || (matches!(edge.way.purpose, Purpose::TopUp | Purpose::WashSupply | Purpose::Spray)
                && source_of(b, from).is_some());
        if !is_draw && op_of(b, from).is_some() && op_of(b, to).is_some() {
            after[from].insert(to);
        }
    }
    // A push filter washed from a tank stands before it, so that it draws at the opening concentration, unless the
    // tank's own water reaches the filter.
    let clean: Vec<(PlaceId, PlaceId)> = b
        .plan
        .filters
        .iter()
        .filter(|f| !f.pull)
        .filter_map(|f| match f.clean {
            Some((_, Source::Store(store))) => Some((f.place, b.plan.stores[store].place)),
            _ => None,
        })
        .collect();
    for (filter, tank) in clean {
        if !reaches(&after, tank, filter) {
            after[filter].insert(tank);
        } else {
            let note = format!(
                "{} is washed from {}, whose overflow reaches it: the wash draws after the tank's turn, from its \
                 closing water",
                b.name(filter),
                b.name(tank)
            );
            b.notes.push(note);
        }
    }
    let mut waiting: Per<PlaceId, usize> = Per::filled(after.len(), 0);
    for to in after.iter().flatten() {
        waiting[*to] += 1;
    }
    let mut ready: BTreeSet<PlaceId> =
        waiting.each().filter(|(_, count)| **count == 0).map(|(place, _)| place).collect();
    let mut done = 0;
    while let Some(place) = ready.pop_first() {
        done += 1;
        if let Some(op) = op_of(b, place) {
            b.plan.order.push(op);
        }
        for &to in &after[place] {
            waiting[to] -= 1;
            if waiting[to] == 0 {
                ready.insert(to);
            }
        }
    }
    if done < after.len()
        && let Some(first) = waiting.find(|count| *count > 0)
    {
        problem_at(
            b,
            first,
            "flows come back to where they started within one day; make one of the places on the way a tank or pond \
             that is drawn from"
                .to_owned(),
        );
    }
}

fn reaches(after: &Per<PlaceId, BTreeSet<PlaceId>>, from: PlaceId, to: PlaceId) -> bool {
    let mut seen = BTreeSet::new();
    let mut stack = vec![from];
    while let Some(place) = stack.pop() {
        if place == to {
            return true;
        }
        if seen.insert(place) {
            stack.extend(&after[place]);
        }
    }
    false
}

/// Whether an outflow leads to a place, straight or through filters.
fn comes_back(b: &Builder<'_>, outflow: Option<&Outflow>, to: PlaceId) -> bool {
    let mut ahead: Vec<PlaceId> = outflow.map(Outflow::targets).unwrap_or_default();
    let mut seen: BTreeSet<PlaceId> = BTreeSet::new();
    while let Some(place) = ahead.pop() {
        if place == to {
            return true;
        }
        if !seen.insert(place) {
            continue;
        }
        if let Some(PlaceKind::Filter(filter)) = b.facility().get(place).map(|p| &p.kind) {
            ahead.extend(filter.goes_to.iter().flat_map(Outflow::targets));
        }
    }
    false
}

/// The least of 1, 2, 4, 8, 24 steps with which what is drawn from each store in a step is there to be drawn: design
/// draws are what uses and transfers ask for on a day on which all run, over their first path; drawable is what lies
/// above the lowest volume when the store is full, or filled as far as its float valve fills it. What a float valve pulls through a
/// filter makes up for the step before: a step then finds the store as much lower as was drawn and did not come back.
pub(crate) fn steps_per_day(b: &mut Builder<'_>) {
    if let Some(middle) = b.input.middle {
        b.plan.steps_per_day = middle.plan.steps_per_day;
        return;
    }
    if let StepsPerDay::Exactly(steps) = b.facility().steps_per_day {
        b.plan.steps_per_day = steps.clamp(1, 24);
        return;
    }
    let mut drawn: Per<StoreAt, f64> = Per::filled(b.plan.stores.len(), 0.0);
    for (index, place) in b.facility().places.iter().enumerate() {
        let (mut from, outflow) = match &place.kind {
            PlaceKind::Use(u) => (u.takes_from.first().copied(), u.goes_to.as_ref()),
            PlaceKind::Transfer(t) => (t.takes_from.first().copied(), None),
            _ => continue,
        };
        let Listed::Turn(Op::User(user)) = b.listed[PlaceId(index)] else { continue };
        let demand = b.plan.params[b.plan.users[user].demand_m3_d];
        let returns = b.plan.params[b.plan.users[user].returns].clamp(0.0, 1.0);
        for _ in 0..12 {
            let Some(parent) = from else { break };
            if let Some(Source::Store(store)) = source_of(b, parent) {
                drawn[store] += demand;
                let fill = b.plan.stores[store].fill.as_ref();
                if fill.is_some_and(|fill| fill.direct.is_empty() && !fill.ways.is_empty()) {
                    let back = if comes_back(b, outflow, b.plan.stores[store].place) { returns } else { 0.0 };
                    drawn[store] += demand * (1.0 - back);
                }
                break;
            }
            match b.facility().get(parent).map(|p| &p.kind) {
                Some(PlaceKind::Filter(f)) => from = f.takes_from.first().copied(),
                _ => break,
            }
        }
    }
    let value = |p: Param| b.plan.params[p];
    let steps = [1_u32, 2, 4, 8, 24].into_iter().find(|&r| {
        drawn.iter().zip(&b.plan.stores).all(|(sum, store)| {
            let filled = store.fill.as_ref().map_or(value(store.full_m3), |fill| value(fill.set_m3));
            let drawable = (filled - value(store.lowest_m3)).max(0.0);
            sum / f64::from(r) <= drawable * (1.0 + 1e-9) || *sum == 0.0
        })
    });
    b.plan.steps_per_day = steps.unwrap_or(24);
    if b.plan.steps_per_day > 1 {
        let note = format!(
            "Each day is computed in {} steps, as a tank here fills and empties several times a day",
            b.plan.steps_per_day
        );
        b.notes.push(note);
    }
}

//! The order of turns within a day, and the steps per day.

use std::collections::BTreeSet;

use crate::balance::plan::build::{Builder, problem_at};
use crate::balance::plan::pull::source_of;
use crate::balance::plan::{Op, Source};
use crate::balance::{Node, Purpose};
use crate::facility::model::{PlaceId, PlaceKind, StepsPerDay};

fn op_of(b: &Builder<'_>, place: PlaceId) -> Option<Op> {
    let number = b.index.get(place.0).copied()?;
    Some(match b.facility().get(place)?.kind {
        PlaceKind::Catchment(_) => Op::Catchment(number),
        PlaceKind::Use(_) | PlaceKind::Transfer(_) => Op::User(number),
        PlaceKind::Filter(_) => Op::Filter(number),
        PlaceKind::Tank(_) | PlaceKind::Pond(_) => Op::Store(number),
        PlaceKind::Supply(_) | PlaceKind::DischargePoint(_) => return None,
    })
}

/// Sorts turns so that each place has all its inflows of the day before its turn. Draws are no flows: what is drawn was
/// there at the opening.
pub(crate) fn order(b: &mut Builder<'_>) {
    let places = b.plan.boxes;
    let drawn: BTreeSet<usize> = b.plan.draws.iter().map(|(edge, _)| *edge).collect();
    let mut after: Vec<BTreeSet<usize>> = vec![BTreeSet::new(); places];
    for (id, edge) in b.plan.edges.iter().enumerate() {
        let (Node::Place(from), Node::Place(to)) = (edge.way.from, edge.way.to) else {
            continue;
        };
        let is_draw = drawn.contains(&id)
            || (matches!(edge.way.purpose, Purpose::TopUp | Purpose::WashSupply | Purpose::Spray)
                && source_of(b, from).is_some());
        if !is_draw
            && op_of(b, from).is_some()
            && op_of(b, to).is_some()
            && let Some(set) = after.get_mut(from.0)
        {
            set.insert(to.0);
        }
    }
    // A push filter washed from a tank stands before it, so that it draws at the opening concentration, unless the
    // tank's own water reaches the filter.
    let clean: Vec<(usize, usize)> = b
        .plan
        .filters
        .iter()
        .filter(|f| !f.pull)
        .filter_map(|f| match f.clean {
            Some((_, Source::Store(store))) => b.plan.stores.get(store).map(|s| (f.place.0, s.place.0)),
            _ => None,
        })
        .collect();
    for (filter, tank) in clean {
        if !reaches(&after, tank, filter) {
            if let Some(set) = after.get_mut(filter) {
                set.insert(tank);
            }
        } else {
            let note = format!(
                "{} is washed from {}, whose overflow reaches it: the wash draws after the tank's turn, from its \
                 closing water",
                b.name(PlaceId(filter)),
                b.name(PlaceId(tank))
            );
            b.notes.push(note);
        }
    }
    let mut waiting = vec![0_usize; places];
    for set in &after {
        for &to in set {
            if let Some(count) = waiting.get_mut(to) {
                *count += 1;
            }
        }
    }
    let mut ready: BTreeSet<usize> = (0..places).filter(|&p| waiting.get(p).copied() == Some(0)).collect();
    let mut done = 0;
    while let Some(place) = ready.pop_first() {
        done += 1;
        if let Some(op) = op_of(b, PlaceId(place)) {
            b.plan.order.push(op);
        }
        for &to in after.get(place).into_iter().flatten() {
            if let Some(count) = waiting.get_mut(to) {
                *count -= 1;
                if *count == 0 {
                    ready.insert(to);
                }
            }
        }
    }
    if done < places
        && let Some(first) = (0..places).find(|&p| waiting.get(p).copied().unwrap_or(0) > 0)
    {
        problem_at(
            b,
            PlaceId(first),
            "flows come back to where they started within one day; make one of the places on the way a tank or pond \
             that is drawn from"
                .to_owned(),
        );
    }
}

fn reaches(after: &[BTreeSet<usize>], from: usize, to: usize) -> bool {
    let mut seen = BTreeSet::new();
    let mut stack = vec![from];
    while let Some(place) = stack.pop() {
        if place == to {
            return true;
        }
        if seen.insert(place) {
            stack.extend(after.get(place).into_iter().flatten().copied());
        }
    }
    false
}

/// The least of 1, 2, 4, 8, 24 steps with which what is drawn from each store in a step is there to be drawn: design
/// draws are what uses and transfers ask for on a day on which all run, over their first path; drawable is what lies
/// above the lowest volume when the store is full, or filled as far as its float valve fills it.
pub(crate) fn steps_per_day(b: &mut Builder<'_>) {
    if let Some(middle) = b.input.middle {
        b.plan.steps_per_day = middle.plan.steps_per_day;
        return;
    }
    if let StepsPerDay::Exactly(steps) = b.facility().steps_per_day {
        b.plan.steps_per_day = steps.clamp(1, 24);
        return;
    }
    let mut drawn = vec![0.0; b.plan.stores.len()];
    for place in &b.facility().places {
        let (mut from, number) = match &place.kind {
            PlaceKind::Use(u) => (u.takes_from.first().copied(), b.facility().find(&place.name)),
            PlaceKind::Transfer(t) => (t.takes_from.first().copied(), b.facility().find(&place.name)),
            _ => continue,
        };
        let user = number.and_then(|id| b.index.get(id.0)).and_then(|n| b.plan.users.get(*n));
        let Some(user) = user else { continue };
        let demand = b.plan.params.get(user.demand_m3_d).copied().unwrap_or(0.0);
        for _ in 0..12 {
            let Some(parent) = from else { break };
            match b.facility().get(parent).map(|p| &p.kind) {
                Some(PlaceKind::Filter(f)) => from = f.takes_from.first().copied(),
                Some(PlaceKind::Tank(_) | PlaceKind::Pond(_)) => {
                    if let Some(sum) = b.index.get(parent.0).and_then(|n| drawn.get_mut(*n)) {
                        *sum += demand;
                    }
                    break;
                }
                _ => break,
            }
        }
    }
    let value = |p: usize| b.plan.params.get(p).copied().unwrap_or(0.0);
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
            "{} steps per day, so that tanks that turn over several times a day do not starve",
            b.plan.steps_per_day
        );
        b.notes.push(note);
    }
}

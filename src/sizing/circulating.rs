//! Wash water that only comes back to the pond it was drawn from: whose it is, and over which places it comes.
//!
//! What comes back straight fills nothing, since as much was drawn. What comes back over a tank, a ditch or another pond fills
//! nothing either on the day that it was drawn; what those places let go of on other days was drawn before, and fills.

use crate::balance::{Node, Seen, Selector};
use crate::facility::model::{Facility, Filter, Outflow, PlaceId, PlaceKind, WashWater};

use super::inflow::WASH;

fn kind(facility: &Facility, id: PlaceId) -> Option<&PlaceKind> {
    facility.get(id).map(|place| &place.kind)
}

fn ids(facility: &Facility) -> impl Iterator<Item = PlaceId> {
    (0..facility.places.len()).map(PlaceId)
}

/// Where a place sends water; what a use returns is its return water and is not followed.
fn outflows(kind: &PlaceKind) -> Vec<&Outflow> {
    match kind {
        PlaceKind::Catchment(one) => vec![&one.goes_to],
        PlaceKind::Use(one) => one.goes_to.iter().collect(),
        PlaceKind::Transfer(one) => vec![&one.goes_to],
        PlaceKind::Filter(one) => {
            one.goes_to.iter().chain(&one.above_that).chain(one.wash.iter().map(|wash| &wash.to)).collect()
        }
        PlaceKind::Tank(one) => one.overflows_to.iter().chain(one.pumped_out.iter().map(|pump| &pump.to)).collect(),
        PlaceKind::Pond(one) => one.spills_to.iter().chain(one.pumped_out.iter().map(|pump| &pump.to)).collect(),
        PlaceKind::Supply(_) | PlaceKind::DischargePoint(_) => Vec::new(),
    }
}

/// Where a place draws water.
fn sources(kind: &PlaceKind) -> &[PlaceId] {
    match kind {
        PlaceKind::Transfer(one) => &one.takes_from,
        PlaceKind::Filter(one) => &one.takes_from,
        PlaceKind::Tank(one) => one.filled_from.as_ref().map_or(&[], |fill| &fill.from),
        PlaceKind::Pond(one) => one.filled_from.as_ref().map_or(&[], |fill| &fill.from),
        _ => &[],
    }
}

/// Whether all water at a place is drawn from the pond: the pond itself, filters on its lines, and tanks that nothing else
/// runs to.
fn is_from(facility: &Facility, at: PlaceId, pond: PlaceId, depth: usize) -> bool {
    if at == pond {
        return true;
    }
    if depth > facility.places.len() {
        return false;
    }
    let all = |sources: &[PlaceId]| sources.iter().all(|source| is_from(facility, *source, pond, depth + 1));
    match kind(facility, at) {
        Some(PlaceKind::Filter(filter)) => !filter.takes_from.is_empty() && all(&filter.takes_from),
        Some(PlaceKind::Tank(tank)) => {
            let filled: &[PlaceId] = tank.filled_from.as_ref().map_or(&[], |fill| &fill.from);
            let sends = |id: &PlaceId| {
                let to = kind(facility, *id).map(outflows).unwrap_or_default();
                to.iter().any(|out| out.targets().contains(&at))
            };
            let senders: Vec<PlaceId> = ids(facility).filter(sends).collect();
            // A transfer keeps nothing: its water is that of its sources.
            let is_ours = |id: &PlaceId| match kind(facility, *id) {
                Some(PlaceKind::Transfer(one)) => !one.takes_from.is_empty() && all(&one.takes_from),
                Some(PlaceKind::Filter(_)) => is_from(facility, *id, pond, depth + 1),
                Some(PlaceKind::Pond(_)) => *id == pond,
                _ => false,
            };
            !(filled.is_empty() && senders.is_empty()) && all(filled) && senders.iter().all(is_ours)
        }
        _ => false,
    }
}

/// Filters whose wash water was drawn from the pond: by themselves, or by a wash with its water.
pub(super) fn circulating(facility: &Facility, pond: PlaceId) -> Vec<PlaceId> {
    let washed_with_it = |filter: &Filter| match filter.wash.as_ref().map(|wash| &wash.with) {
        Some(WashWater::OwnFiltered) => true,
        Some(WashWater::From(from)) => is_from(facility, *from, pond, 0),
        None => false,
    };
    ids(facility)
        .filter(|id| {
            matches!(kind(facility, *id),
                Some(PlaceKind::Filter(filter)) if washed_with_it(filter) && is_from(facility, *id, pond, 0))
        })
        .collect()
}

/// Places over which wash water drawn from the pond comes back to it, and what is seen of them in a run.
#[derive(Debug)]
pub(super) struct Around {
    seen: Vec<Seen>,
    groups: Vec<Group>,
}

/// Places that share no water with those of another group. Of what is seen of them, so many are wash water that comes to
/// them, then all that comes to them, what passes between them, and what they send to the pond.
#[derive(Debug)]
struct Group {
    counts: [usize; 4],
}

impl Around {
    /// None where all such wash water comes back straight, or not at all.
    pub fn of(facility: &Facility, pond: PlaceId) -> Option<Self> {
        let filters = circulating(facility, pond);
        let washed_to = |id: &PlaceId| match kind(facility, *id) {
            Some(PlaceKind::Filter(filter)) => filter.wash.as_ref().map(|wash| wash.to.targets()).unwrap_or_default(),
            _ => Vec::new(),
        };
        let mut groups: Vec<Vec<PlaceId>> = Vec::new();
        for first in filters.iter().flat_map(washed_to) {
            let Some(mut places) = onward(facility, first, pond) else { continue };
            let (same, others): (Vec<_>, Vec<_>) =
                groups.into_iter().partition(|group| group.iter().any(|id| places.contains(id)));
            places.extend(same.into_iter().flatten());
            places.sort_unstable_by_key(|id| id.0);
            places.dedup();
            groups = others;
            groups.push(places);
        }
        let mut around = Self { seen: Vec::new(), groups: Vec::new() };
        let node = |id: &PlaceId| Node::Place(*id);
        let pairs = |from: &[PlaceId], to: &[PlaceId]| -> Vec<Selector> {
            from.iter().flat_map(|a| to.iter().map(move |b| Selector::between(node(a), node(b)))).collect()
        };
        for places in &groups {
            let washed = pairs(&filters, places);
            let parts = [
                washed.into_iter().flat_map(|of| WASH.map(|purpose| of.purpose(purpose))).collect(),
                places.iter().map(|id| Selector::to(node(id))).collect(),
                pairs(places, places),
                pairs(places, &[pond]),
            ];
            around.groups.push(Group { counts: parts.each_ref().map(Vec::len) });
            around.seen.extend(parts.into_iter().flatten().map(Seen::Water));
        }
        (!groups.is_empty()).then_some(around)
    }

    /// What is to be seen in a run.
    pub fn seen(&self) -> &[Seen] {
        &self.seen
    }

    /// Of each day what came back over these places on the day that it was drawn, m³: the same share of the day's wash water as
    /// the pond gets over the whole run of all that comes to them, and no more than what it got on that day.
    pub fn came_back(&self, series: &[Vec<f64>]) -> Vec<f64> {
        let days = series.first().map_or(0, Vec::len);
        let mut back = vec![0.0; days];
        let mut rest = series;
        for group in &self.groups {
            let [washed, all, between, sent] = group.counts.map(|count| {
                let (of, after) = rest.split_at(count.min(rest.len()));
                rest = after;
                let on = |day: usize| of.iter().map(|one| one.get(day).copied().unwrap_or(0.0)).sum();
                (0..days).map(on).collect::<Vec<f64>>()
            });
            let came: f64 = all.iter().sum::<f64>() - between.iter().sum::<f64>();
            let share = if came > 0.0 { (sent.iter().sum::<f64>() / came).clamp(0.0, 1.0) } else { 0.0 };
            let days = back.iter_mut().zip(washed.iter().zip(&sent));
            days.for_each(|(back, (washed, sent))| *back += (share * washed).min(*sent).max(0.0));
        }
        back
    }
}

/// A place and all those that its water passes on its way to the pond; none where none of it gets there.
fn onward(facility: &Facility, first: PlaceId, pond: PlaceId) -> Option<Vec<PlaceId>> {
    let (mut places, mut next, mut gets_there): (Vec<PlaceId>, _, _) = (Vec::new(), vec![first], false);
    while let Some(id) = next.pop() {
        gets_there |= id == pond && !places.is_empty();
        let passes = matches!(
            kind(facility, id),
            Some(PlaceKind::Transfer(_) | PlaceKind::Filter(_) | PlaceKind::Tank(_) | PlaceKind::Pond(_))
        );
        if id == pond || !passes || places.contains(&id) {
            continue;
        }
        places.push(id);
        next.extend(kind(facility, id).map(outflows).unwrap_or_default().iter().flat_map(|out| out.targets()));
        next.extend(ids(facility).filter(|other| kind(facility, *other).is_some_and(|of| sources(of).contains(&id))));
    }
    gets_there.then_some(places)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_comes_back_on_its_day_is_told_from_what_comes_later_and_from_other_water() {
        let around = Around { seen: Vec::new(), groups: vec![Group { counts: [1, 1, 1, 1] }] };
        // Ten of wash water a day, on the second day eight of other water; of all 28 half gets to the pond.
        let series = [[10.0, 10.0, 0.0], [10.0, 18.0, 0.0], [0.0, 0.0, 0.0], [2.0, 9.0, 3.0]].map(|of| of.to_vec());
        // Of the first day's five it got two; what it gets on the third was drawn before.
        assert_eq!(around.came_back(&series), [2.0, 5.0, 0.0]);
    }
}

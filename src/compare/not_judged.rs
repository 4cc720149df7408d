//! What of limits is not judged of an option: nobody but the authority knows, and a yes is no plain one.

use crate::compare::{Computed, Kind, Study};
use crate::facility::Graph;
use crate::facility::model::{DischargeKind, PlaceId, PlaceKind};
use crate::rules::{Limit, Point};

/// Water that is none, m³ a year.
const NO_WATER_M3: f64 = 1e-6;

/// How it is said that no water comes to a limit's point.
const NOTHING_TO_JUDGE: &str = "nothing flows";

impl Study {
    /// What of limits is not judged of an option, in words: `Wash water is not judged for Fine screen (ask the authority)`.
    pub fn not_judged(&self, option: usize) -> Vec<String> {
        let (Some(first), Some(of)) = (self.options.first(), self.options.get(option).filter(|_| option > 0)) else {
            return Vec::new();
        };
        let mut all: Vec<(String, Vec<&str>)> = Vec::new();
        let asked = of.alternative.limits_not_judged.iter().map(|one| (one.limit.as_str(), one.why.clone()));
        for (limit, why) in asked.chain(not_computed(first, of)) {
            match all.iter_mut().find(|(known, _)| *known == why) {
                Some((_, limits)) => limits.push(limit),
                None => all.push((why, vec![limit])),
            }
        }
        let words = |(why, limits): (String, Vec<&str>)| {
            let is = if limits.len() == 1 { "is" } else { "are" };
            format!("{} {is} not judged {why} (ask the authority)", limits.join(" and "))
        };
        all.into_iter().map(words).chain(unlimited(first, of)).collect()
    }
}

/// Limits of which nothing is computed for an option, where something is as the site stands or they are held against what stands in the
/// stead of what they speak of, and of what or why.
fn not_computed<'a>(first: &'a Computed, of: &'a Computed) -> impl Iterator<Item = (&'a str, String)> {
    let nothing = of.limits.iter().filter(|with| with.outcome.is_none() && !with.figure.starts_with(NOTHING_TO_JUDGE));
    nothing.filter_map(|limit| {
        let held = of.alternative.limits_held.iter().find(|(name, _)| *name == limit.name);
        let was = first.limits.iter().any(|was| was.name == limit.name && was.outcome.is_some());
        let why = match held {
            Some((_, stages)) => format!("for {stages}"),
            None if was => "with it, as nothing of it can be computed".to_owned(),
            None => return None,
        };
        Some((limit.name.as_str(), why))
    })
}

/// Points that get water with an option, get none as the site stands, and have no limit on file.
fn unlimited(first: &Computed, of: &Computed) -> Vec<String> {
    let Some(rules) = &of.alternative.rules else { return Vec::new() };
    let gets = |of: &Computed, name: &str| {
        let all = of.quantities.list.iter().enumerate();
        let mut of_it = all.filter(|(_, one)| one.kind == Kind::WentOut && one.id == name);
        of_it.any(|(at, _)| of.amounts.iter().any(|run| run.get(at).is_some_and(|m3| *m3 > NO_WATER_M3)))
    };
    let facility = &of.alternative.facility;
    let graph = Graph::of(facility);
    let points = facility.places.iter().enumerate().filter(|(index, place)| {
        let old = of.alternative.old_name(&place.name);
        let is_point = matches!(&place.kind, PlaceKind::DischargePoint(of) if of.kind != DischargeKind::HauledAway);
        is_point
            && gets(of, old)
            && !gets(first, old)
            && !rules.limits.iter().any(|limit| is_on(limit, &graph, PlaceId(*index)))
    });
    points
        .map(|(_, place)| {
            format!(
                "{} gets water that it does not get now, and no limit is on file for it (ask the authority)",
                place.name
            )
        })
        .collect()
}

/// Whether a limit is on water that comes to a place.
fn is_on(limit: &Limit, graph: &Graph, point: PlaceId) -> bool {
    let comes_from = |from: PlaceId| graph.ways_between(from, point).next().is_some();
    match &limit.at {
        Point::Of(_, from) | Point::OutOf(from) => comes_from(*from),
        Point::Streams(streams) => streams.iter().any(|(_, from)| comes_from(*from)),
        at => at.arrives_at(point),
    }
}

//! Supplies, catchments, uses and transfers.

use uom::si::f64::Time;

use crate::balance::plan::build::{Builder, DAY_S};
use crate::balance::plan::{CatchmentPlan, NO_LIMIT, PartPlan, SupplyPlan, UserPlan};
use crate::balance::{Node, Purpose};
use crate::facility::model::{GroundBefore, PlaceId, PlaceKind, RunoffRule, UseAmount};
use crate::files::Given;
use crate::science::hydrology::{Antecedent, CurveNumber, antecedent_by_table, retention};
use crate::told::Problem;

/// Grounds of one wetness with curve numbers: one composite number before the depth is worked out, as the method has it.
fn by_curve_number(b: &mut Builder<'_>, ground: GroundBefore, area_m2: f64, weighed: f64) -> PartPlan {
    let number = if area_m2 > 0.0 { CurveNumber::new(weighed / area_m2) } else { None };
    // No curve number: all soaks in, marked not known.
    let s = |ground| number.map_or(NO_LIMIT, |n| retention(antecedent_by_table(n, ground).value).value);
    let all = [Antecedent::Dry, Antecedent::Average, Antecedent::Wet];
    let retentions = match ground {
        GroundBefore::Dry => vec![s(Antecedent::Dry)],
        GroundBefore::Average => vec![number.map_or(NO_LIMIT, |n| retention(n).value)],
        GroundBefore::Wet => vec![s(Antecedent::Wet)],
        GroundBefore::ByRain => all.map(s).to_vec(),
    };
    PartPlan {
        area_m2: b.p(area_m2),
        by_curve: true,
        share: b.p(0.0),
        first_m: b.ps(retentions),
        by_rain: ground == GroundBefore::ByRain,
    }
}

pub(crate) fn supplies_and_catchments(b: &mut Builder<'_>) {
    for (index, place) in b.facility().places.iter().enumerate() {
        let id = PlaceId(index);
        match &place.kind {
            PlaceKind::Supply(supply) => {
                let most = supply.gives_at_most.as_ref().map(|g| b.sampler.drawn(g));
                let (values, unknown) = b.concentrations(&supply.brings);
                if supply.brings.is_empty() {
                    b.sampler.took(
                        format!("supplies / {} / brings", place.name),
                        "nothing typed: taken as no solids and nothing dissolved",
                    );
                }
                let when = supply.when.as_ref().map(|w| b.when(w));
                let plan = SupplyPlan {
                    // A limit that is not known is no limit.
                    most_m3_d: b.p(most.filter(|d| !d.unknown).map_or(NO_LIMIT, |d| d.value * DAY_S)),
                    concentration: b.ps(values),
                    when,
                    unknown,
                    unknown_most: most.is_some_and(|d| d.unknown),
                };
                b.plan.supplies.push(plan);
            }
            PlaceKind::Catchment(catchment) => {
                let mut parts = Vec::new();
                // Grounds with curve numbers, by how wet they are before: area, and area × number.
                let mut curves: Vec<(GroundBefore, f64, f64)> = Vec::new();
                let mut unknown_water = false;
                let mut by_share = false;
                for part in &catchment.parts {
                    let area = b.sampler.drawn(&part.area);
                    unknown_water |= area.unknown;
                    match &part.runoff {
                        RunoffRule::Share { runs_off, first_soaked_up } => {
                            let share = b.sampler.drawn(runs_off);
                            let first = first_soaked_up.as_ref().map(|g| b.sampler.drawn(g));
                            unknown_water |= share.unknown || first.is_some_and(|f| f.unknown);
                            by_share = true;
                            parts.push(PartPlan {
                                area_m2: b.p(area.value),
                                by_curve: false,
                                share: b.p(share.value.clamp(0.0, 1.0)),
                                first_m: b.p(first.map_or(0.0, |f| f.value)),
                                by_rain: false,
                            });
                        }
                        RunoffRule::CurveNumber(number) => {
                            let drawn = b.sampler.drawn(number);
                            unknown_water |= drawn.unknown;
                            if part.ground == GroundBefore::ByRain && b.facility().season("growing").is_none() {
                                b.problems.add(
                                    Problem::error(
                                        &number.place,
                                        "ground as the rain before says needs to know when things grow",
                                    )
                                    .hint("name a season, like growing: 15 Apr to 15 Oct, under `seasons`"),
                                );
                            }
                            let weighed = area.value * drawn.value;
                            match curves.iter_mut().find(|of| of.0 == part.ground) {
                                Some(of) => {
                                    of.1 += area.value;
                                    of.2 += weighed;
                                }
                                None => curves.push((part.ground, area.value, weighed)),
                            }
                        }
                    }
                }
                for (ground, area, weighed) in curves {
                    let plan = by_curve_number(b, ground, area, weighed);
                    parts.push(plan);
                }
                let (values, unknown_solids) = b.concentrations(&catchment.solids);
                let here = Node::Place(id);
                let plan = CatchmentPlan {
                    parts,
                    concentration: b.ps(values),
                    rain: b.edge(Node::Rain, here, Purpose::Rain, false),
                    retained: b.edge(here, Node::Retained, Purpose::Retained, false),
                    picked_up: b.edge(Node::PickedUp, here, Purpose::PickedUp, false),
                    outlet: b.outlet(id, &catchment.goes_to, Purpose::Runoff),
                    unknown_water,
                    unknown_solids,
                    by_share,
                };
                b.plan.catchments.push(plan);
            }
            _ => {}
        }
    }
}

/// Water asked for in a day, m³, and whether it is not known.
pub(crate) fn demand(b: &mut Builder<'_>, amount: &UseAmount) -> (f64, bool) {
    match amount {
        UseAmount::PerDay(volume_a_day) => {
            let drawn = b.sampler.drawn(volume_a_day);
            (drawn.value * DAY_S, drawn.unknown)
        }
        UseAmount::DepthPerDay { area, depth } => {
            let (a, d) = (b.sampler.drawn(area), b.sampler.drawn(depth));
            (a.value * d.value * DAY_S, a.unknown || d.unknown)
        }
        UseAmount::Floods { area, depth, floods_a_day, .. } => {
            let (a, d, n) = (b.sampler.drawn(area), b.sampler.drawn(depth), b.sampler.drawn(floods_a_day));
            (a.value * d.value * n.value, a.unknown || d.unknown || n.unknown)
        }
    }
}

/// Hours to run as a part of the day.
pub(crate) fn running_share(b: &mut Builder<'_>, runs: Option<&Given<Time>>) -> Option<f64> {
    let drawn = b.sampler.drawn(runs?);
    (!drawn.unknown).then(|| (drawn.value / DAY_S).clamp(1e-6, 1.0))
}

pub(crate) fn users(b: &mut Builder<'_>) {
    for (index, place) in b.facility().places.iter().enumerate() {
        let id = PlaceId(index);
        let here = Node::Place(id);
        let plan = match &place.kind {
            PlaceKind::Use(u) => {
                let (demand_m3_d, unknown_demand) = demand(b, &u.amount);
                let returns = b.sampler.drawn(&u.returns);
                // With nowhere to go, nothing comes back.
                let share = if u.goes_to.is_some() { returns.value.clamp(0.0, 1.0) } else { 0.0 };
                let (picks, unknown_picks) = b.concentrations(&u.picks_up);
                let (feed, unknown_feed) = b.concentrations(&u.feed_added);
                UserPlan {
                    place: id,
                    demand_m3_d: b.p(demand_m3_d.max(0.0)),
                    when: b.when(&u.when),
                    returns: b.p(share),
                    picks_up: b.ps(picks),
                    feed: b.ps(feed),
                    uptake: Some(b.edge(here, Node::Crop, Purpose::Uptake, false)),
                    feed_edge: (!u.feed_added.is_empty()).then(|| b.edge(Node::Feed, here, Purpose::Feed, false)),
                    picked_up: (!u.picks_up.is_empty()).then(|| b.edge(Node::PickedUp, here, Purpose::PickedUp, false)),
                    outlet: u.goes_to.as_ref().map(|to| b.outlet(id, to, Purpose::Return)),
                    unknown_water: unknown_demand || (returns.unknown && u.goes_to.is_some()),
                    unknown_solids: unknown_picks || unknown_feed,
                    inlets: Vec::new(),
                }
            }
            PlaceKind::Transfer(t) => {
                let (demand_m3_d, unknown_water) = demand(b, &t.amount);
                let none = vec![0.0; b.plan.constituents];
                UserPlan {
                    place: id,
                    demand_m3_d: b.p(demand_m3_d.max(0.0)),
                    when: b.when(&t.when),
                    returns: b.p(1.0),
                    picks_up: b.ps(none.clone()),
                    feed: b.ps(none),
                    uptake: None,
                    feed_edge: None,
                    picked_up: None,
                    outlet: Some(b.outlet(id, &t.goes_to, Purpose::Water)),
                    unknown_water,
                    unknown_solids: false,
                    inlets: Vec::new(),
                }
            }
            _ => continue,
        };
        b.plan.users.push(plan);
    }
}

//! Limits on the wash water of filters that are gone: they are held against the wash, rinse and reject water of all that stands in
//! their place, whatever it is called.

use std::collections::BTreeSet;

use crate::balance::Purpose;
use crate::compare::Alternative;
use crate::facility::kinds::Sprayed;
use crate::facility::model::{Facility, Filter, PlaceId, PlaceKind};
use crate::files::yaml::{Node, What};
use crate::rules::{self, Number, Point, RulesFile, Subject};
use crate::told::Problems;

/// What a filter may send away: the words of a limit's `at`.
const SENT: [Purpose; 3] = [Purpose::WashWater, Purpose::RinseWater, Purpose::Reject];

/// A limit on wash water.
#[derive(Debug, Clone)]
pub(super) struct WashLimit {
    /// Its name.
    pub(super) name: String,
    /// Whether it allows none at all.
    pub(super) forbids: bool,
}

/// The limits on the wash water of some filters of the site as it stands.
pub(super) fn of(rules: Option<&RulesFile>, filters: &[PlaceId]) -> Vec<WashLimit> {
    let limits = rules.map_or(&[][..], |rules| &rules.limits);
    limits
        .iter()
        .filter(|limit| matches!(&limit.at, Point::Of(purpose, of) if SENT.contains(purpose) && filters.contains(of)))
        .map(|limit| {
            let none = |most: Option<Number>| most.is_some_and(|most| most.compare(Number::ZERO).is_le());
            let forbids = limit.subject == Subject::Discharge || none(limit.bound.at_most) || none(limit.bound.below);
            WashLimit { name: limit.name.clone(), forbids }
        })
        .collect()
}

/// A rules file's tree with these limits alone or without them.
pub(super) fn only(tree: &Node, limits: &[WashLimit], wanted: bool) -> Node {
    let mut tree = tree.clone();
    if let What::Map(top) = &mut tree.what
        && let Some(all) = top.iter_mut().find(|entry| entry.key == "limits")
        && let What::Map(all) = &mut all.value.what
    {
        all.retain(|entry| limits.iter().any(|limit| limit.name == entry.key) == wanted);
    }
    tree
}

/// Whether a filter sends wash, rinse, hose or reject water away.
pub(super) fn sends_wash_water(filter: &Filter) -> bool {
    filter.wash.is_some() || filter.kind.flows_off_to().is_some() || matches!(filter.kind.sprayed(), Sprayed::ByHand(_))
}

/// Holds the limits on the wash water of filters that a proposal does away with against what it puts in and washes: a permit that
/// limits a filter's wash water means what comes in its stead too.
pub(super) fn hold_against_new(option: &mut Alternative, before: &Facility, tree: &Node) {
    let gone: Vec<PlaceId> = option.gone.iter().filter_map(|name| before.find(name)).collect();
    let limits = of(rules::from_tree(tree, before, &Problems::new()).as_ref(), &gone);
    let kept: BTreeSet<&str> = before
        .places
        .iter()
        .filter(|place| matches!(place.kind, PlaceKind::Filter(_)))
        .map(|place| place.name.as_str())
        .filter(|name| !option.gone.iter().any(|gone| gone == name))
        .collect();
    let is_new = |name: &str| !kept.contains(option.old_name(name));
    let puts_in: Vec<String> = option
        .facility
        .places
        .iter()
        .filter(|place| matches!(&place.kind, PlaceKind::Filter(filter) if sends_wash_water(filter)))
        .map(|place| place.name.clone())
        .filter(|name| is_new(name))
        .collect();
    let stages: Vec<&str> = puts_in.iter().map(String::as_str).collect();
    if hold(option, tree, &limits, &stages, &format!("wash water of {}", stages.join(", "))) {
        option.limits_gone.retain(|name| limits.iter().all(|limit| limit.name != *name));
    }
}

/// Holds the limits against a train: of its stages those that send wash water away. Whether there is one to hold.
pub(super) fn hold(train: &mut Alternative, tree: &Node, limits: &[WashLimit], stages: &[&str], at_text: &str) -> bool {
    let ids: Vec<PlaceId> = stages.iter().filter_map(|name| train.facility.find(name)).collect();
    let (Some(first), false, Some(rules)) = (stages.first(), limits.is_empty(), &mut train.rules) else {
        return false;
    };
    let mut tree = only(tree, limits, true);
    if let What::Map(top) = &mut tree.what
        && let Some(all) = top.iter_mut().find(|entry| entry.key == "limits")
        && let What::Map(all) = &mut all.value.what
    {
        for limit in all {
            say_at(&mut limit.value, first);
        }
    }
    let Some(read) = rules::from_tree(&tree, &train.facility, &Problems::new()) else { return false };
    let streams: Vec<(Purpose, PlaceId)> =
        ids.iter().flat_map(|id| SENT.into_iter().map(|purpose| (purpose, *id))).collect();
    for mut limit in read.limits {
        limit.at = Point::Streams(streams.clone());
        limit.at_text = at_text.to_owned();
        rules.limits.push(limit);
    }
    true
}

/// Has a limit's `at` name another filter.
fn say_at(limit: &mut Node, filter: &str) {
    let What::Map(lines) = &mut limit.what else { return };
    let Some(at) = lines.iter_mut().find(|line| line.key.trim() == "at") else { return };
    if let What::Map(points) = &mut at.value.what {
        for point in points {
            point.value.what = What::Text(filter.to_owned());
        }
    }
}

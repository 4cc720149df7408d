//! Limits on what is gone. Those on the wash water of filters are held against the wash, rinse and reject water of all that stands in
//! their place, whatever it is called; what can't be held so is told as not judged, and only what nothing stands for applies no longer.

use std::collections::BTreeSet;

use crate::balance::Purpose;
use crate::compare::{Alternative, proposal};
use crate::facility::kinds::Sprayed;
use crate::facility::model::{Facility, Filter, PlaceId, PlaceKind};
use crate::facility::{Carries, Graph};
use crate::files::yaml::{Entry, Node, What};
use crate::rules::{self, Limit, Number, Point, RulesFile, Subject};
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
    /// Where that water goes, where the limit is on a way there.
    to: Option<String>,
}

/// A limit that a proposal leaves to be asked about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotJudged {
    /// The limit.
    pub limit: String,
    /// Of what, or why: `for Fine screen`, `as it names Beds, which is gone`.
    pub why: String,
}

/// What became of a limit that was to be held against what stands in the stead of what is gone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Hold {
    /// It is held.
    Held,
    /// It can't be.
    NotRead,
    /// Nothing is sent where it holds.
    NothingSent,
}

/// The limits on the wash water of some filters of the site as it stands.
pub(super) fn of(rules: Option<&RulesFile>, facility: &Facility, filters: &[PlaceId]) -> Vec<WashLimit> {
    let graph = Graph::of(facility);
    let limits = rules.map_or(&[][..], |rules| &rules.limits);
    let one = |limit: &Limit| {
        let none = |most: Option<Number>| most.is_some_and(|most| most.compare(Number::ZERO).is_le());
        let to = match &limit.at {
            Point::Of(purpose, of) if SENT.contains(purpose) && filters.contains(of) => None,
            Point::Way(from, to) if filters.contains(from) && sends(&graph, *from, *to) => {
                Some(facility.get(*to)?.name.clone())
            }
            _ => return None,
        };
        let is_none = limit.subject == Subject::Discharge || none(limit.bound.at_most) || none(limit.bound.below);
        Some(WashLimit { name: limit.name.clone(), forbids: is_none && to.is_none(), to })
    };
    limits.iter().filter_map(one).collect()
}

/// Whether wash, rinse or reject water goes from one place to another, and no water of another kind.
fn sends(graph: &Graph, from: PlaceId, to: PlaceId) -> bool {
    let is_sent = |carries| matches!(carries, Carries::WashWater | Carries::RinseWater | Carries::Reject);
    graph.ways_between(from, to).next().is_some() && graph.ways_between(from, to).all(|way| is_sent(way.carries))
}

fn limits_of(tree: &mut Node) -> Option<&mut Vec<Entry>> {
    let What::Map(top) = &mut tree.what else { return None };
    match &mut top.iter_mut().find(|entry| entry.key == "limits")?.value.what {
        What::Map(all) => Some(all),
        _ => None,
    }
}

/// A rules file's tree with these limits alone or without them.
pub(super) fn only(tree: &Node, limits: &[WashLimit], wanted: bool) -> Node {
    let mut tree = tree.clone();
    if let Some(all) = limits_of(&mut tree) {
        all.retain(|entry| limits.iter().any(|limit| limit.name == entry.key) == wanted);
    }
    tree
}

/// A limit of a rules file's tree by itself, changed, as read for a facility; none where it can't be read.
fn read_alone(tree: &Node, name: &str, facility: &Facility, change: &dyn Fn(&mut Node)) -> Option<Limit> {
    let mut tree = tree.clone();
    let all = limits_of(&mut tree)?;
    all.retain(|entry| entry.key == name);
    all.iter_mut().for_each(|entry| change(&mut entry.value));
    rules::from_tree(&tree, facility, &Problems::new())?.limits.into_iter().next()
}

/// Whether a filter sends wash, rinse, hose or reject water away.
pub(super) fn sends_wash_water(filter: &Filter) -> bool {
    filter.wash.is_some() || filter.kind.flows_off_to().is_some() || matches!(filter.kind.sprayed(), Sprayed::ByHand(_))
}

/// Holds the limits that speak of what a proposal does away with against what it puts in: a permit that limits a filter's wash water
/// means what comes in its stead too. What can't be held so is not judged.
pub(super) fn hold_against_new(option: &mut Alternative, before: &Facility, tree: &Node) {
    let gone: Vec<PlaceId> = option.gone.iter().filter_map(|name| before.find(name)).collect();
    let Some(site) = rules::from_tree(tree, before, &Problems::new()) else { return };
    let limits = of(Some(&site), before, &gone);
    let kept: BTreeSet<&str> = before
        .places
        .iter()
        .map(|place| place.name.as_str())
        .filter(|name| !option.gone.iter().any(|gone| gone == name))
        .collect();
    let new: Vec<String> = option
        .facility
        .places
        .iter()
        .map(|place| place.name.clone())
        .filter(|name| !kept.contains(option.old_name(name)))
        .collect();
    let is_sender = |name: &&str| filter_of(&option.facility, name).is_some_and(sends_wash_water);
    let stages: Vec<&str> = new.iter().map(String::as_str).filter(is_sender).collect();
    if !stages.is_empty() {
        let at_text = format!("wash water of {}", stages.join(", "));
        for (name, became) in hold(option, tree, &limits, &stages, &at_text) {
            if became != Hold::NothingSent {
                option.limits_gone.retain(|gone| *gone != name);
            }
        }
    }
    beside_what_is_limited(option, before, &site, &gone, &stages);
    for name in option.limits_gone.clone() {
        let Some(limit) = site.limits.iter().find(|limit| limit.name == name) else { continue };
        if limits.iter().any(|of| of.name == name) {
            continue;
        }
        match of_what_is_gone(option, before, (tree, limit), &gone, &new) {
            Of::Nothing => continue,
            Of::Rest(rest) => {
                if let Some(rules) = &mut option.rules {
                    rules.limits.push(*rest);
                }
            }
            Of::Asked(why) => option.limits_not_judged.push(NotJudged { limit: name.clone(), why }),
        }
        option.limits_gone.retain(|gone| *gone != name);
    }
}

/// Where a permit limits the wash water of every filter of the site that sends any, and more of them are put beside these, nobody but the
/// authority knows whether it means those too.
fn beside_what_is_limited(
    option: &mut Alternative,
    before: &Facility,
    site: &RulesFile,
    gone: &[PlaceId],
    stages: &[&str],
) {
    let senders: Vec<PlaceId> = before
        .places
        .iter()
        .enumerate()
        .filter(|(_, place)| matches!(&place.kind, PlaceKind::Filter(filter) if sends_wash_water(filter)))
        .map(|(index, _)| PlaceId(index))
        .collect();
    let limits: Vec<Vec<WashLimit>> = senders.iter().map(|sender| of(Some(site), before, &[*sender])).collect();
    let is_of_all = !senders.is_empty() && limits.iter().all(|limits| !limits.is_empty());
    if stages.is_empty() || !is_of_all || senders.iter().any(|sender| gone.contains(sender)) {
        return;
    }
    for limit in limits.into_iter().flatten() {
        let why = format!("for {}", stages.join(" and "));
        option.limits_not_judged.push(NotJudged { limit: limit.name, why });
    }
}

/// What a limit that names what is gone, and is on no wash water, is of with a proposal.
enum Of {
    /// Nothing is left that it could be of.
    Nothing,
    /// Of the places of its list that are left.
    Rest(Box<Limit>),
    /// Nobody but the authority knows: why.
    Asked(String),
}

fn of_what_is_gone(
    option: &Alternative,
    before: &Facility,
    (tree, limit): (&Node, &Limit),
    gone: &[PlaceId],
    new: &[String],
) -> Of {
    let name_of = |id: &PlaceId| before.get(*id).map_or("", |place| place.name.as_str());
    let at: Vec<PlaceId> = match &limit.at {
        Point::Places(places) => places.clone(),
        Point::Of(_, of) | Point::Into(of) | Point::OutOf(of) => vec![*of],
        Point::Way(from, to) => vec![*from, *to],
        Point::Streams(streams) => streams.iter().map(|(_, of)| *of).collect(),
    };
    let at_gone: Vec<PlaceId> = at.iter().copied().filter(|id| gone.contains(id)).collect();
    if at_gone.is_empty() {
        // Its condition, or the place it begins at, is gone, and what it then means nobody wrote down.
        let named: Vec<&str> = gone.iter().map(name_of).filter(|name| names(tree, &limit.name, name)).collect();
        let is = if named.len() == 1 { "is" } else { "are" };
        return Of::Asked(format!("as it names {}, which {is} gone", named.join(" and ")));
    }
    if at_gone.len() < at.len() && matches!(limit.at, Point::Places(_)) {
        let without = |node: &mut Node| strike(node, &|name| at_gone.iter().any(|id| name_of(id) == name));
        return match read_alone(tree, &limit.name, &option.facility, &without) {
            Some(rest) => Of::Rest(Box::new(rest)),
            None => Of::Asked(format!("as it names {}, which is gone", name_of(&at_gone[0]))),
        };
    }
    let graph = Graph::of(&option.facility);
    let stands_for = |name: &&String| {
        let (Some(id), Some(was)) = (option.facility.find(name), at_gone.first().and_then(|id| before.get(*id))) else {
            return false;
        };
        let Some(is) = option.facility.get(id) else { return false };
        // Water on its way from what is gone may come from another place now, on its way to a place that is still there.
        let leads = match &limit.at {
            Point::Way(from, to) if gone.contains(from) && !gone.contains(to) => {
                let there = option.facility.places.iter().position(|of| option.old_name(&of.name) == name_of(to));
                there.is_some_and(|to| graph.ways_between(id, PlaceId(to)).next().is_some())
            }
            _ => true,
        };
        leads && is_of_a_sort(&was.kind, &is.kind) && does_it(limit, &is.kind)
    };
    let new: Vec<&str> = new.iter().filter(stands_for).map(String::as_str).collect();
    if new.is_empty() { Of::Nothing } else { Of::Asked(format!("for {}", new.join(" and "))) }
}

/// Whether one place may stand for another.
fn is_of_a_sort(a: &PlaceKind, b: &PlaceKind) -> bool {
    let sort = |kind: &PlaceKind| match kind {
        PlaceKind::Filter(_) => 0,
        PlaceKind::DischargePoint(_) => 1,
        PlaceKind::Tank(_) | PlaceKind::Pond(_) => 2,
        PlaceKind::Supply(_) => 3,
        PlaceKind::Use(_) | PlaceKind::Catchment(_) | PlaceKind::Transfer(_) => 4,
    };
    sort(a) == sort(b)
}

/// Whether a place does at all what a count of washes or changes limits.
fn does_it(limit: &Limit, kind: &PlaceKind) -> bool {
    match (kind, &limit.subject, limit.parameter.as_deref()) {
        (PlaceKind::Filter(filter), Subject::Events, Some("changes")) => filter.change.is_some(),
        (PlaceKind::Filter(filter), Subject::Events, _) => filter.wash.is_some(),
        _ => true,
    }
}

/// Whether a limit of a rules file's tree names a place.
fn names(tree: &Node, limit: &str, place: &str) -> bool {
    let mut tree = tree.clone();
    let all = limits_of(&mut tree);
    let found = all.and_then(|all| all.iter().find(|entry| entry.key == limit));
    found.is_some_and(|entry| proposal::names_one_of(&entry.value, &[place.to_owned()]))
}

/// Takes names out of the lists of a limit's `at`.
fn strike(limit: &mut Node, is_meant: &dyn Fn(&str) -> bool) {
    let What::Map(lines) = &mut limit.what else { return };
    let Some(at) = lines.iter_mut().find(|line| line.key.trim() == "at") else { return };
    if let What::List(all) = &mut at.value.what {
        all.retain(|node| !matches!(&node.what, What::Text(text) if is_meant(text.trim())));
    }
}

/// A filter of a facility.
fn filter_of<'a>(facility: &'a Facility, name: &str) -> Option<&'a Filter> {
    match &facility.get(facility.find(name)?)?.kind {
        PlaceKind::Filter(filter) => Some(filter),
        _ => None,
    }
}

/// Holds the limits against a train: of its stages those that send wash water away. What became of each.
pub(super) fn hold(
    train: &mut Alternative,
    tree: &Node,
    limits: &[WashLimit],
    stages: &[&str],
    at_text: &str,
) -> Vec<(String, Hold)> {
    let one = |limit: &WashLimit| {
        let became = hold_one(train, tree, limit, stages, at_text);
        (limit.name.clone(), became)
    };
    limits.iter().map(one).collect()
}

fn hold_one(train: &mut Alternative, tree: &Node, limit: &WashLimit, stages: &[&str], at_text: &str) -> Hold {
    let graph = Graph::of(&train.facility);
    let to = limit.to.as_ref().map(|to| train.facility.places.iter().position(|of| train.old_name(&of.name) == *to));
    let goes_there = |id: PlaceId| match to {
        None => true,
        Some(to) => to.is_some_and(|to| graph.ways_between(id, PlaceId(to)).next().is_some()),
    };
    let ids: Vec<(PlaceId, &str)> = stages
        .iter()
        .filter_map(|name| Some((train.facility.find(name)?, *name)))
        .filter(|(id, _)| goes_there(*id))
        .collect();
    if ids.is_empty() {
        return Hold::NothingSent;
    }
    let names: Vec<&str> = ids.iter().map(|(_, name)| *name).collect();
    let read =
        names.iter().find_map(|stage| read_alone(tree, &limit.name, &train.facility, &|limit| say_at(limit, stage)));
    let (Some(mut read), Some(rules)) = (read, &mut train.rules) else {
        let why = format!("for {}", names.join(" and "));
        train.limits_not_judged.push(NotJudged { limit: limit.name.clone(), why });
        return Hold::NotRead;
    };
    let streams = ids.iter().flat_map(|(id, _)| SENT.into_iter().map(|purpose| (purpose, *id)));
    read.at = Point::Streams(streams.collect());
    read.at_text = match &limit.to {
        Some(to) => format!("from {} to {to}", names.join(", ")),
        None => at_text.to_owned(),
    };
    rules.limits.push(read);
    train.limits_held.push((limit.name.clone(), names.join(" and ")));
    Hold::Held
}

/// Has a limit's `at` name the wash water of a filter.
fn say_at(limit: &mut Node, filter: &str) {
    let What::Map(lines) = &mut limit.what else { return };
    let Some(at) = lines.iter_mut().find(|line| line.key.trim() == "at") else { return };
    let (place, key_place) = (at.value.place.clone(), at.key_place.clone());
    let value = Node { what: What::Text(filter.to_owned()), place };
    at.value.what = What::Map(vec![Entry { key: format!("{} of", Purpose::WashWater.words()), key_place, value }]);
}

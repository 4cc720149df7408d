//! An option: the site as it stands or with a proposal applied, read and checked like any other, with the limits that
//! still apply to it.

use std::path::Path;

use crate::compare::paid::{PaidOnce, Regular};
use crate::compare::proposal::{Proposal, Renamed};
use crate::compare::pumps::Pump;
use crate::compare::wash_limits::{self, NotJudged};
use crate::compare::{prices, proposal};
use crate::facility;
use crate::facility::model::{Facility, PlaceId, PlaceKind};
use crate::files::yaml::{Node, What};
use crate::records::Timeline;
use crate::rules;
use crate::rules::RulesFile;
use crate::told::Problems;

/// The words for the site without any proposal.
pub const AS_IT_STANDS: &str = "As it stands";

/// An option that is compared.
#[derive(Debug, Clone)]
pub struct Alternative {
    /// Its name.
    pub name: String,
    /// The proposal's file; none for the site as it stands.
    pub file: Option<String>,
    /// Whether it is the existing site at its best.
    pub tuned: bool,
    /// The facility. A place that replaces another carries the keys of the other, so that values typed alike are drawn
    /// alike.
    pub facility: Facility,
    /// The tree it was read from, replaced places under their old names.
    pub tree: Node,
    /// Places that replace others: their names, and the names of what they replace.
    pub renamed: Renamed,
    /// Names of places and meters that are there no longer: removed, or replaced by something of another kind.
    pub gone: Vec<String>,
    /// Those of them that carry the very lines of what they replace: nothing but a name changes.
    pub only_renamed: Vec<String>,
    /// Places of the same kind as one that is there no longer, and whose place they take: their names, and the names of what they
    /// succeed.
    pub heirs: Renamed,
    /// What is bought once.
    pub pays_once: Vec<PaidOnce>,
    /// Prices of what is used up, from the proposal.
    pub used_up: Vec<(String, prices::Price)>,
    /// What is paid each month or year, from the proposal.
    pub pays_regularly: Vec<Regular>,
    /// What spent pieces weigh, from the proposal.
    pub spent: Vec<(String, prices::Spent)>,
    /// Labour minutes, from the proposal.
    pub labour: Vec<prices::Labour>,
    /// Pumps, from the proposal.
    pub pumps: Vec<Pump>,
    /// The rules, if there are any, without the limits of what is gone.
    pub rules: Option<RulesFile>,
    /// Names of limits that apply no longer: what they speak of is gone, and nothing stands in its stead.
    pub limits_gone: Vec<String>,
    /// Limits that speak of what is gone and can't be held against what stands in its stead.
    pub limits_not_judged: Vec<NotJudged>,
    /// Limits that are held against the wash water of what stands in the stead of what they speak of, and of what that is.
    pub limits_held: Vec<(String, String)>,
}

impl Alternative {
    /// The site without any proposal.
    pub fn as_it_stands(tree: &Node, directory: &Path, rules: Option<&Node>, problems: &Problems) -> Option<Self> {
        let facility = facility::from_tree(tree, directory, problems)?;
        let rules = match rules {
            None => None,
            Some(tree) => Some(rules::from_tree(tree, &facility, problems)?),
        };
        Some(Self {
            name: AS_IT_STANDS.to_owned(),
            file: None,
            tuned: false,
            facility,
            tree: tree.clone(),
            renamed: Renamed::new(),
            gone: Vec::new(),
            only_renamed: Vec::new(),
            heirs: Renamed::new(),
            pays_once: Vec::new(),
            used_up: Vec::new(),
            pays_regularly: Vec::new(),
            spent: Vec::new(),
            labour: Vec::new(),
            pumps: Vec::new(),
            rules,
            limits_gone: Vec::new(),
            limits_not_judged: Vec::new(),
            limits_held: Vec::new(),
        })
    }

    /// The site with a proposal. What does not fit together is told.
    pub fn proposed(
        tree: &Node,
        before: &Facility,
        proposal: &Proposal,
        rules: Option<&Node>,
        problems: &Problems,
    ) -> Option<Self> {
        let errors = problems.errors();
        let (patched, renamed) = proposal::apply(tree, proposal, problems);
        proposal::tell_orphans(&patched, proposal, problems);
        if problems.errors() > errors {
            return None;
        }
        // Read under the names that the user gave, so that messages speak of these; warnings of the file as it stands
        // have been told.
        let told = Problems::new();
        let named = facility::from_tree(&patched, &before.directory, &told);
        for mut problem in told.in_order() {
            if told.has_errors() {
                if let Some(meter) = proposal::meter_typed_at(tree, &problem.place) {
                    // The line was right until the proposal took its way.
                    problem.hint = Some(format!("add `remove: [{meter}]` to {}", proposal.file));
                }
                problems.add(problem);
            }
        }
        let named = named?;
        let only_renamed = proposal::only_renamed(tree, proposal);
        let quiet = Problems::new();
        let before_names = proposal::as_named_before(&patched, tree, &renamed);
        let (facility, tree) = before_names
            .and_then(|tree| {
                let mut facility = facility::from_tree(&tree, &before.directory, &quiet)?;
                for (of, with) in facility.places.iter_mut().zip(&named.places) {
                    of.name.clone_from(&with.name);
                }
                Some((facility, tree))
            })
            .unwrap_or((named, patched));
        let mut gone: Vec<String> = proposal.remove.iter().map(|said| said.value.clone()).collect();
        for (new, old) in &renamed {
            if kind_of(&facility, new) != kind_of(before, old) {
                gone.push(old.clone());
            }
        }
        let heirs = heirs(&facility, before, proposal, &renamed);
        let limits = rules;
        let (rules, limits_gone) = match limits {
            None => (None, Vec::new()),
            Some(tree) => {
                let (tree, without) = without_limits(tree, &gone);
                // Limits name places as they stand; a place of the same kind under a new name is still meant.
                let mut old_names = facility.clone();
                for (new, old) in &renamed {
                    if let Some(place) = old_names.places.iter_mut().find(|p| &p.name == new) {
                        place.name.clone_from(old);
                    }
                }
                let quiet = Problems::new();
                let rules = rules::from_tree(&tree, &old_names, &quiet);
                if quiet.has_errors() {
                    for problem in quiet.in_order() {
                        problems.add(problem);
                    }
                    return None;
                }
                (rules, without)
            }
        };
        let mut option = Self {
            name: proposal.name.clone(),
            file: Some(proposal.file.clone()),
            tuned: proposal.tuned,
            facility,
            tree,
            renamed,
            gone,
            only_renamed,
            heirs,
            pays_once: proposal.pays_once.clone(),
            used_up: proposal.used_up.clone(),
            pays_regularly: proposal.pays_regularly.clone(),
            spent: proposal.spent.clone(),
            labour: proposal.labour.clone(),
            pumps: proposal.pumps.clone(),
            rules,
            limits_gone,
            limits_not_judged: Vec::new(),
            limits_held: Vec::new(),
        };
        if let Some(tree) = limits {
            wash_limits::hold_against_new(&mut option, before, tree);
        }
        Some(option)
    }

    /// A place's name.
    pub fn name_of(&self, place: PlaceId) -> &str {
        self.facility.get(place).map_or("", |place| &place.name)
    }

    /// The name of a place as it stands: that of what it replaces, if it replaces something.
    pub fn old_name<'a>(&'a self, name: &'a str) -> &'a str {
        self.renamed.iter().find(|(new, _)| new == name).map_or(name, |(_, old)| old)
    }

    /// What a place succeeds that is there no longer and was of its kind.
    pub fn succeeds(&self, name: &str) -> Option<&str> {
        self.heirs.iter().find(|(new, _)| new == name).map(|(_, old)| old.as_str())
    }

    /// Names under which the price of a piece or a labour line of a place may stand: its own, and the old one where nothing but the
    /// name changes. What replaces something else has to be priced itself.
    pub fn names_for_prices<'a>(&'a self, name: &'a str) -> Vec<&'a str> {
        let old = self.old_name(name);
        if self.only_renamed.iter().any(|new| new == name) { vec![name, old] } else { vec![name] }
    }
}

/// Records that do not drive an option: rain alone is kept, as weather.
pub fn without_driving_records(timeline: &Timeline) -> Timeline {
    Timeline { rain: timeline.rain.clone(), ..Timeline::default() }
}

/// What succeeds a place of its own kind: what replaces it, or of a train put in the place of filters the first stage of that kind.
fn heirs(facility: &Facility, before: &Facility, proposal: &Proposal, renamed: &Renamed) -> Renamed {
    let alike =
        |new: &str, old: &str| kind_of(facility, new).is_some() && kind_of(facility, new) == kind_of(before, old);
    let mut out: Renamed = renamed.iter().filter(|(new, old)| new != old && alike(new, old)).cloned().collect();
    let stays = |name: &str| facility.find(name).is_some();
    for old in proposal.in_place_of.iter().filter(|old| !stays(old)) {
        let added = proposal.add.iter().map(|(_, entry)| entry.key.as_str());
        let free = |new: &&str| !out.iter().any(|(known, _)| known == new);
        let heir = added.filter(free).find(|new| alike(new, old)).map(str::to_owned);
        out.extend(heir.map(|new| (new, old.clone())));
    }
    out
}

fn kind_of(facility: &Facility, name: &str) -> Option<&'static str> {
    let place = facility.get(facility.find(name)?)?;
    Some(match &place.kind {
        PlaceKind::Filter(filter) => filter.kind.words(),
        PlaceKind::Supply(_) => "supply",
        PlaceKind::Catchment(_) => "catchment",
        PlaceKind::Use(of) => of.kind.words(),
        PlaceKind::Transfer(_) => "transfer",
        PlaceKind::Tank(_) => "tank",
        PlaceKind::Pond(_) => "pond",
        PlaceKind::DischargePoint(of) => of.kind.words(),
    })
}

/// A rules file's tree without the limits that name what is gone, and the names of these limits.
fn without_limits(tree: &Node, gone: &[String]) -> (Node, Vec<String>) {
    let mut tree = tree.clone();
    let mut without = Vec::new();
    if let What::Map(top) = &mut tree.what
        && let Some(limits) = top.iter_mut().find(|entry| entry.key == "limits")
        && let What::Map(limits) = &mut limits.value.what
    {
        limits.retain(|limit| {
            let meant = proposal::names_one_of(&limit.value, gone);
            if meant {
                without.push(limit.key.clone());
            }
            !meant
        });
    }
    (tree, without)
}

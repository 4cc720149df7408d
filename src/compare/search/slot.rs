//! Where a train stands on the site: the filters in whose place it is put, what they take their water from or give it to,
//! and what is changed for a train to stand there.

use crate::compare::prices::{Labour, Price, Prices};
use crate::compare::proposal::{SECTIONS, mentions, names_one_of};
use crate::compare::pumps::{Lifted, Lifts, Pump};
use crate::compare::search::{Stages, Unit};
use crate::compare::{Proposal, paid::PaidOnce};
use crate::facility::kinds::Counted;
use crate::facility::model::{Facility, PlaceKind};
use crate::files::Said;
use crate::files::yaml::{Entry, Node, What};
use crate::quantity::nearest;
use crate::told::{Place, Problem, Problems};

const TAKES_FROM: &str = "takes from";
const GOES_TO: &str = "goes to";

/// Where a train stands.
#[derive(Debug, Clone)]
pub(super) struct Slot {
    /// The filters as they stand, in the order of the water.
    pub(super) old: Vec<String>,
    /// Whether the water is drawn through them; else it runs through by itself.
    draws: bool,
    /// What the first takes its water from, or what the last gives it to, as typed.
    end: Node,
    /// Meters that sit on a way to or from them.
    meters: Vec<Said<String>>,
    /// Lines of other places that name the last of them (where they draw) or the first (where the water runs).
    named_by: Vec<(String, Entry)>,
}

impl Slot {
    /// Finds it on the site; what does not fit together is told.
    pub(super) fn find(stages: &Stages, tree: &Node, facility: &Facility, problems: &Problems) -> Option<Self> {
        let errors = problems.errors();
        let filters: Vec<&str> = facility
            .places
            .iter()
            .filter(|place| matches!(place.kind, PlaceKind::Filter(_)))
            .map(|place| place.name.as_str())
            .collect();
        let unknown = |said: &Said<String>| {
            let near = nearest(&said.value, filters.iter().copied());
            problems.add(Problem::error(&said.place, format!("the facility has no filter `{}`", said.value)).hint(
                match near {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => format!("its filters are: {}", filters.join(", ")),
                },
            ));
        };
        for said in stages.in_place_of.iter().filter(|said| !filters.contains(&said.value.as_str())) {
            unknown(said);
        }
        let old: Vec<String> = stages.in_place_of.iter().map(|said| said.value.clone()).collect();
        for unit in stages.units.iter().filter(|_| problems.errors() == errors) {
            if unit.lines.is_none() && !old.contains(&unit.name) {
                let told = format!("`{}` can't stay where a train stands in place of {}", unit.name, old.join(", "));
                problems.add(
                    Problem::error(&unit.said_at, told)
                        .hint("`like` names one of the filters under `in place of`; another is left where it is"),
                );
            }
            if unit.lines.is_some() && facility.places.iter().any(|place| place.name == unit.name) {
                problems.add(
                    Problem::error(&unit.said_at, format!("the site has a `{}` already", unit.name))
                        .hint("call the kind by another name"),
                );
            }
        }
        let first = stages.in_place_of.first()?;
        if problems.errors() > errors {
            return None;
        }
        let lines: Vec<&Entry> = old.iter().filter_map(|name| filter(tree, name)).collect();
        let draws = lines.first().and_then(|entry| line(&entry.value, TAKES_FROM)).is_some();
        let word = if draws { TAKES_FROM } else { GOES_TO };
        // Each but the end names its neighbour alone.
        for (at, (entry, said)) in lines.iter().zip(&stages.in_place_of).enumerate() {
            let beside = if draws { at.checked_sub(1).and_then(|at| old.get(at)) } else { old.get(at + 1) };
            let typed = line(&entry.value, word).map(|node| &node.what);
            let fits = match (beside, typed) {
                (_, None) => false,
                (None, Some(_)) => true,
                (Some(beside), Some(What::Text(text))) => text.trim() == beside,
                (Some(_), Some(_)) => false,
            };
            if !fits {
                let told = match beside {
                    Some(beside) => format!(
                        "`{}` does not say `{word}: {beside}`, so the water does not pass them in this order",
                        said.value
                    ),
                    None => format!("`{}` does not say `{word}`, as the others do", said.value),
                };
                problems.add(Problem::error(&said.place, told).hint(
                    "name filters that stand one after another, in the order of the water, with nothing between them",
                ));
            }
        }
        let ends = if draws { (old.last(), lines.first()) } else { (old.first(), lines.last()) };
        let (Some(named), Some(end)) = (ends.0, ends.1.and_then(|entry| line(&entry.value, word)).cloned()) else {
            return None;
        };
        let (mut meters, mut named_by) = (Vec::new(), Vec::new());
        for (section, place) in places(tree) {
            if old.contains(&place.key) {
                continue;
            }
            if section == "meters" {
                if names_one_of(&place.value, &old) {
                    meters.push(said(&place.key, &place.key_place));
                }
                continue;
            }
            let What::Map(entries) = &place.value.what else { continue };
            for entry in entries.iter().filter(|entry| entry.key.trim() != "kind") {
                if names_one_of(&entry.value, std::slice::from_ref(named)) {
                    named_by.push((place.key.clone(), entry.clone()));
                }
                let between: Vec<String> = old.iter().filter(|name| *name != named).cloned().collect();
                if names_one_of(&entry.value, &between) {
                    problems.add(
                        Problem::error(
                            &first.place,
                            format!("`{}` names a filter between the ends of {}", place.key, old.join(", ")),
                        )
                        .related(&entry.key_place, "here")
                        .hint(
                            "name fewer filters under `in place of`, so that water enters and leaves at the ends alone",
                        ),
                    );
                }
            }
        }
        (problems.errors() == errors).then_some(Self { old, draws, end, meters, named_by })
    }

    /// Whether the units are the filters that stand there now.
    pub(super) fn is_as_it_stands(&self, units: &[&Unit]) -> bool {
        units.len() == self.old.len() && units.iter().zip(&self.old).all(|(unit, old)| unit.name == *old)
    }

    /// What changes on the site for a train of these units, source first, with what it costs.
    pub(super) fn proposal(&self, units: &[&Unit], stages: &Stages) -> Proposal {
        let text = |name: &str| Node { what: What::Text(name.to_owned()), place: stages.place.clone() };
        let (word, named) = if self.draws { (TAKES_FROM, units.last()) } else { (GOES_TO, units.first()) };
        let named = named.map_or("", |unit| unit.name.as_str());
        let was = if self.draws { self.old.last() } else { self.old.first() }.map_or("", String::as_str);
        let map = |key: &str, place: &Place, value: Node| Node {
            what: What::Map(vec![Entry { key: key.to_owned(), key_place: place.clone(), value }]),
            place: place.clone(),
        };
        let (mut change, mut add) = (Vec::new(), Vec::new());
        for (at, unit) in units.iter().enumerate() {
            let beside = if self.draws { at.checked_sub(1).and_then(|at| units.get(at)) } else { units.get(at + 1) };
            let link = beside.map_or_else(|| self.end.clone(), |beside| text(&beside.name));
            match unit.with(word, &link) {
                Some(value) => {
                    let entry = Entry { key: unit.name.clone(), key_place: unit.said_at.clone(), value };
                    add.push(("filters".to_owned(), entry));
                }
                None => change.push((said(&unit.name, &unit.said_at), map(word, &unit.said_at, link))),
            }
        }
        if named != was {
            for (place, entry) in &self.named_by {
                let mut value = entry.value.clone();
                mentions(&mut value, was, named);
                change.push((said(place, &entry.key_place), map(&entry.key, &entry.key_place, value)));
            }
        }
        let gone = self.old.iter().filter(|old| !units.iter().any(|unit| unit.name == **old));
        let remove = gone.map(|old| said(old, &stages.place)).chain(self.meters.iter().cloned()).collect();
        let first = units.first().map_or("", |unit| unit.name.as_str());
        let pump = |name: &str, to: &str, of: &Lifted| Pump {
            name: name.to_owned(),
            lifts: Lifts::WaterTo,
            places: vec![said(to, &stages.place)],
            head: of.head.clone(),
            efficiency: of.efficiency.clone(),
            by: of.by.clone(),
            on: of.on,
        };
        let mut pumps: Vec<Pump> = stages.pump.iter().map(|of| pump("to the train", first, of)).collect();
        pumps.extend(units.iter().filter_map(|unit| Some(pump("through it", &unit.name, unit.head.as_ref()?))));
        Proposal {
            name: name_of(units),
            file: stages.place.file.to_string(),
            tuned: false,
            change,
            replace: Vec::new(),
            add,
            remove,
            in_place_of: self.old.clone(),
            pays_once: units.iter().filter_map(|unit| unit.bought()).collect(),
            pays_regularly: Vec::new(),
            used_up: units.iter().filter_map(|unit| Some((unit.name.clone(), unit.priced()?))).collect(),
            spent: units.iter().filter_map(|unit| Some((unit.name.clone(), unit.spent.clone()?))).collect(),
            labour: units.iter().filter_map(|unit| unit.work()).collect(),
            pumps,
        }
    }

    /// Prices without the pumps that bring water to the filters as they stand: what a train takes is typed with it.
    pub(super) fn without_pumps(&self, prices: &Prices) -> Prices {
        let mut prices = prices.clone();
        for pump in prices.pumps.iter_mut().filter(|pump| pump.lifts == Lifts::WaterTo) {
            pump.places.retain(|said| !self.old.contains(&said.value));
        }
        prices
    }
}

/// A train by its stages, source first.
pub(super) fn name_of(units: &[&Unit]) -> String {
    units.iter().map(|unit| unit.name.as_str()).collect::<Vec<_>>().join(", then ")
}

impl Unit {
    /// A price of as many as stand side by side.
    fn times(&self, price: &Price) -> Price {
        if self.count == 1 {
            return price.clone();
        }
        let n = f64::from(self.count);
        let text = format!("{} times {}", self.count, price.text);
        Price { low: price.low * n, high: price.high * n, text, ..price.clone() }
    }

    fn bought(&self) -> Option<PaidOnce> {
        let paid = self.pays_once.clone()?;
        Some(PaidOnce { what: self.name.clone(), price: self.times(&paid.price), of: None, ..paid })
    }

    /// The price of what it uses up: whole pieces are counted, all of them; of what is wound on, one length of each.
    fn priced(&self) -> Option<Price> {
        let price = self.used_up.as_ref()?;
        let kind = self.declared()?;
        let by_length = kind.uses_up.is_some_and(|pieces| pieces.counted == Counted::ByLength);
        Some(if by_length { self.times(price) } else { price.clone() })
    }

    fn work(&self) -> Option<Labour> {
        let n = f64::from(self.count);
        let of = self.labour.clone()?;
        let checks = of.checks.map(|(minutes, times)| (minutes * n, times));
        Some(Labour { place: self.name.clone(), checks, new_roll: of.new_roll.map(|minutes| minutes * n), ..of })
    }
}

fn said(name: &str, place: &Place) -> Said<String> {
    Said { value: name.to_owned(), text: name.to_owned(), place: place.clone(), key: name.to_owned() }
}

/// Every place and meter of a facility's file, with its section.
fn places(tree: &Node) -> impl Iterator<Item = (&str, &Entry)> {
    let top: &[Entry] = if let What::Map(top) = &tree.what { top } else { &[] };
    top.iter().filter(|section| SECTIONS.contains(&section.key.as_str())).flat_map(|section| {
        let all: &[Entry] = if let What::Map(all) = &section.value.what { all } else { &[] };
        all.iter().map(|place| (section.key.as_str(), place))
    })
}

fn filter<'a>(tree: &'a Node, name: &str) -> Option<&'a Entry> {
    places(tree).find(|(section, place)| *section == "filters" && place.key == name).map(|(_, place)| place)
}

fn line<'a>(lines: &'a Node, word: &str) -> Option<&'a Node> {
    let What::Map(entries) = &lines.what else { return None };
    entries.iter().find(|entry| entry.key.trim() == word).map(|entry| &entry.value)
}

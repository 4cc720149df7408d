//! What is counted of an option in each run: water and solids by where they end, washes, changes, what is used up, wet
//! waste, hours, energy, and what the uses are given.
//!
//! Each quantity is a sum of daily series that the day step gives, so that many runs need no ledger.

use std::fmt;
use std::sync::Arc;

use chrono::{Datelike, Days, NaiveDate};

use crate::balance::{Basis, DailySeries, Draw, Ledger, Node, Purpose, Selector, Watch};
use crate::compare::Alternative;
use crate::compare::prices::Spent;
use crate::facility::model::{Filter, PlaceId, PlaceKind};
use crate::files::Given;

/// What a quantity is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// Water from outside, m³.
    CameIn,
    /// Water to outside, m³.
    WentOut,
    /// Ponds and tanks fuller at the end, m³ (in less out: each run closes).
    Fuller,
    /// Solids from outside, kg.
    SolidsIn,
    /// Solids to outside and into sludge, kg.
    SolidsOut,
    /// Solids held more at the end in water and filters, kg (in less out).
    SolidsHeld,
    /// Washes.
    Washes,
    /// Wash and rinse water that filters send away, m³.
    WashWater,
    /// Changes of bags, cartridges or rolls.
    Changes,
    /// Bags, cartridges or rolls used up.
    UsedUp,
    /// Dry solids that filters take out, washed off, scraped off or gone with what is used up, kg.
    TakenOut,
    /// Wet waste to where it is hauled, kg.
    WetWaste,
    /// Wet sludge that gathers in ponds, kg.
    Sludge,
    /// Hours of labour.
    Labour,
    /// Hours in which filters wash or are changed.
    Downtime,
    /// Electrical energy of motors and pumps, kWh.
    Energy,
    /// Water delivered to a use, m³.
    Served,
    /// The largest day's water to a use, m³.
    Peak,
    /// Solids to a sewer over its base concentration, month by month, kg.
    Strong,
}

mod energy;
mod waste;

pub(crate) use energy::pumps;
pub use waste::Hauled;
use waste::{used_up, wet_waste};

type Weight = Arc<dyn Fn(&Draw) -> f64 + Send + Sync>;

#[derive(Clone)]
struct Term {
    watch: usize,
    weight: Option<Weight>,
    times: f64,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Fold {
    /// Sum over the days, for a year.
    Total,
    /// The largest day.
    Peak,
    /// Days on which the first term is not nought, for a year.
    DaysOn,
    /// The first term is water, the others mass: by the bill's months, which begin on a day of the month, what is over a
    /// concentration, kg/m³.
    Over(f64, u32),
}

/// One quantity of an option.
#[derive(Clone)]
pub struct Quantity {
    /// What it is.
    pub kind: Kind,
    /// What pairs it across options: the place's name as it stands.
    pub id: String,
    /// The place's name as printed.
    pub name: String,
    /// Why it can't be told; the amount then stands for what is known of it alone.
    pub missing: Option<String>,
    /// Where it can't be told: by which share two options may differ in what it is counted by and still be alike in it.
    pub alike_within: f64,
    /// Of waste that is hauled: what comes of it.
    pub hauled: Hauled,
    terms: Vec<Term>,
    constant: f64,
    fold: Fold,
}

impl fmt::Debug for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Quantity").field("kind", &self.kind).field("id", &self.id).finish_non_exhaustive()
    }
}

/// The quantities of an option with the series they need.
#[derive(Debug, Clone, Default)]
pub struct Quantities {
    /// The series, each once.
    pub watches: Vec<Watch>,
    /// The quantities.
    pub list: Vec<Quantity>,
}

/// How many years a period counts for: a permit year is one, whether it has 365 days or 366.
pub fn years(period: (NaiveDate, NaiveDate)) -> f64 {
    years_of_days((period.1 - period.0).num_days() as f64 + 1.0)
}

/// How many years so many days count for: see [`years`].
pub fn years_of_days(days: f64) -> f64 {
    let whole = (days / 365.25).round();
    if whole >= 1.0 && (days - whole * 365.25).abs() <= 1.0 { whole } else { days / 365.25 }
}

impl Quantities {
    /// The amounts of one run for a year.
    pub fn amounts(&self, draw: &Draw, series: &[DailySeries], years: f64) -> Vec<f64> {
        self.list.iter().map(|of| of.amount(draw, series, years)).collect()
    }

    fn watch(&mut self, watch: Watch) -> usize {
        match self.watches.iter().position(|known| *known == watch) {
            Some(at) => at,
            None => {
                self.watches.push(watch);
                self.watches.len() - 1
            }
        }
    }

    fn term(&mut self, watch: Watch, times: f64) -> Term {
        Term { watch: self.watch(watch), weight: None, times }
    }

    fn put(&mut self, kind: Kind, id: &str, name: &str, terms: Vec<Term>) -> &mut Quantity {
        self.list.push(Quantity {
            kind,
            id: id.to_owned(),
            name: name.to_owned(),
            missing: None,
            alike_within: 0.0,
            hauled: Hauled::default(),
            terms,
            constant: 0.0,
            fold: Fold::Total,
        });
        let last = self.list.len() - 1;
        &mut self.list[last]
    }
}

impl Quantity {
    fn amount(&self, draw: &Draw, series: &[DailySeries], years: f64) -> f64 {
        let of = |term: &Term| series.get(term.watch).map_or(&[][..], |s| &s.values);
        let weight = |term: &Term| term.times * term.weight.as_ref().map_or(1.0, |w| w(draw));
        match self.fold {
            Fold::Total => {
                let mut sum = 0.0;
                for term in &self.terms {
                    sum += weight(term) * of(term).iter().sum::<f64>();
                }
                self.constant + sum / years
            }
            Fold::DaysOn => {
                let mut sum = 0.0;
                for term in &self.terms {
                    sum += weight(term) * of(term).iter().filter(|v| **v > 1e-9).count() as f64;
                }
                self.constant + sum / years
            }
            Fold::Peak => {
                let days = self.terms.iter().map(|t| of(t).len()).max().unwrap_or(0);
                let mut sums = vec![0.0; days];
                for term in &self.terms {
                    let weight = weight(term);
                    for (sum, value) in sums.iter_mut().zip(of(term)) {
                        *sum += weight * value;
                    }
                }
                sums.into_iter().fold(0.0, f64::max)
            }
            Fold::Over(kg_m3, begins) => {
                let Some((water, mass)) = self.terms.split_first() else {
                    return 0.0;
                };
                let Some(first) = series.get(water.watch) else {
                    return 0.0;
                };
                let (mut over, mut month, mut m3, mut kg) = (0.0, None, 0.0, 0.0);
                let dates = first.first_day.iter_days();
                for ((day, volume), date) in first.values.iter().enumerate().zip(dates) {
                    let before = Days::new(u64::from(begins.saturating_sub(1)));
                    let now = date.checked_sub_days(before).map(|date| (date.year(), date.month()));
                    if month != now {
                        over += f64::max(0.0, kg - kg_m3 * m3);
                        (month, m3, kg) = (now, 0.0, 0.0);
                    }
                    m3 += volume;
                    kg += mass.iter().map(|t| of(t).get(day).copied().unwrap_or(0.0)).sum::<f64>();
                }
                (over + f64::max(0.0, kg - kg_m3 * m3)) / years
            }
        }
    }

    /// Whether one of its series rests on something not known.
    fn rests_on_unknown(&self, watches: &[Watch], ledger: &Ledger) -> bool {
        self.terms.iter().any(|term| {
            watches
                .get(term.watch)
                .is_some_and(|watch| ledger.series(watch).basis.iter().any(|basis| basis.has(Basis::UNKNOWN)))
        })
    }
}

/// The value of a given in a run, SI; not known gives 0.
fn drawn<Q: Copy + Send + Sync + 'static>(given: &Given<Q>, si: fn(Q) -> f64) -> Weight {
    let key = given.key.clone();
    let ends = given.ends().map(|(low, high)| (si(low), si(high)));
    Arc::new(move |draw: &Draw| {
        ends.map_or(0.0, |(low, high)| if low == high { low } else { low + draw.uniform(&key) * (high - low) })
    })
}

/// A sewer's base concentration, where it has one: kg/m³, and the day on which the bill's month begins.
pub type Base = (String, f64, u32);

/// Lists what is counted of an option. `ledger` is that of its single run; `bases` are sewers' base concentrations, `spent` what spent
/// pieces weigh by the prices file; `unknown`
/// says what is not known, for what rests on it.
pub fn quantities(
    of: &Alternative,
    ledger: &Ledger,
    (bases, spent): (&[Base], &[(String, Spent)]),
    unknown: Option<&str>,
) -> Quantities {
    let mut q = Quantities::default();
    account(&mut q, of, ledger);
    for (index, place) in of.facility.places.iter().enumerate() {
        let id = PlaceId(index);
        let old = of.old_name(&place.name).to_owned();
        match &place.kind {
            PlaceKind::Filter(filter) => one_filter(&mut q, of, ledger, id, filter),
            PlaceKind::Use(_) | PlaceKind::Transfer(_) => {
                for kind in [Kind::Served, Kind::Peak] {
                    let to = Selector::to(Node::Place(id)).purpose(Purpose::Water);
                    let term = q.term(Watch::Water(to), 1.0);
                    let put = q.put(kind, &old, &place.name, vec![term]);
                    if kind == Kind::Peak {
                        put.fold = Fold::Peak;
                    }
                }
            }
            PlaceKind::Pond(_) => {
                let to = Selector::to(Node::Sludge(id));
                let terms = vec![q.term(Watch::Water(to), 1000.0), q.term(Watch::Solids(to), 1.0)];
                q.put(Kind::Sludge, &old, &place.name, terms);
            }
            PlaceKind::DischargePoint(_) => {
                if let Some((_, base, begins)) = bases.iter().find(|(name, _, _)| *name == place.name) {
                    let to = Selector::to(Node::Place(id));
                    let terms = vec![q.term(Watch::Water(to), 1.0), q.term(Watch::Solids(to), 1.0)];
                    q.put(Kind::Strong, &old, &place.name, terms).fold = Fold::Over(*base, *begins);
                }
            }
            _ => {}
        }
    }
    wet_waste(&mut q, of, spent);
    let watches = q.watches.clone();
    for quantity in &mut q.list {
        if quantity.missing.is_none() && quantity.rests_on_unknown(&watches, ledger) {
            quantity.missing = Some(match unknown {
                Some(unknown) => unknown.to_owned(),
                None => format!("{} rests on something that is not known", quantity.name),
            });
        }
    }
    q
}

fn account(q: &mut Quantities, of: &Alternative, ledger: &Ledger) {
    let mut outside: Vec<Node> = ledger
        .ways()
        .iter()
        .flat_map(|way| [way.from, way.to])
        .filter(|node| ledger.is_outside(*node) && *node != Node::Unaccounted)
        .collect();
    outside.sort();
    outside.dedup();
    let (mut water, mut solids) = (Vec::new(), Vec::new());
    for node in outside {
        let name = ledger.label(node);
        let name = match node {
            Node::Place(place) => of.name_of(place).to_owned(),
            _ => name,
        };
        let id = of.old_name(&name).to_owned();
        for (selector, sign, kinds) in [
            (Selector::from(node), 1.0, (Kind::CameIn, Kind::SolidsIn)),
            (Selector::to(node), -1.0, (Kind::WentOut, Kind::SolidsOut)),
        ] {
            if ledger.select(&selector).is_empty() {
                continue;
            }
            let term = q.term(Watch::Water(selector), 1.0);
            water.push(Term { times: sign, ..term.clone() });
            q.put(kinds.0, &id, &name, vec![term]);
            let term = q.term(Watch::Solids(selector), 1.0);
            solids.push(Term { times: sign, ..term.clone() });
            q.put(kinds.1, &id, &name, vec![term]);
        }
    }
    q.put(Kind::Fuller, "stores", "Ponds and tanks fuller at the end", water);
    for (index, place) in of.facility.places.iter().enumerate() {
        if matches!(place.kind, PlaceKind::Pond(_)) {
            let node = Node::Sludge(PlaceId(index));
            let name = format!("sludge of {}", place.name);
            let id = format!("sludge of {}", of.old_name(&place.name));
            let terms =
                vec![q.term(Watch::Solids(Selector::to(node)), 1.0), q.term(Watch::Solids(Selector::from(node)), -1.0)];
            solids.extend(terms.iter().map(|term| Term { times: -term.times, ..term.clone() }));
            q.put(Kind::SolidsOut, &id, &name, terms);
        }
    }
    q.put(Kind::SolidsHeld, "stores", "still in ponds' water, tanks and filters", solids);
}

fn one_filter(q: &mut Quantities, of: &Alternative, ledger: &Ledger, id: PlaceId, filter: &Filter) {
    let name = of.name_of(id).to_owned();
    let old = of.old_name(&name).to_owned();
    let from = Selector::from(Node::Place(id));
    let changes = filter.kind.declared().uses_up.is_some();
    if filter.wash.is_some() || changes {
        if by_log_alone(filter) {
            logged_alone(q, &old, &name, id, changes);
            energy::motor(q, of, id, filter, ledger);
            return;
        }
        let kind = if changes { Kind::Changes } else { Kind::Washes };
        let term = q.term(Watch::Events(id), 1.0);
        q.put(kind, &old, &name, vec![term]);
        let term = q.term(Watch::Minutes(id), 1.0 / 60.0);
        q.put(Kind::Downtime, &old, &name, vec![term.clone()]);
        if changes {
            q.put(Kind::Labour, &old, &name, vec![term]);
            let used = used_up(q, id, filter);
            q.put(Kind::UsedUp, &old, &name, used);
        }
    }
    let terms: Vec<Term> = [Purpose::WashWater, Purpose::RinseWater, Purpose::Reject, Purpose::DrainDown]
        .into_iter()
        .filter(|purpose| !ledger.select(&from.purpose(*purpose)).is_empty())
        .map(|purpose| q.term(Watch::Water(from.purpose(purpose)), 1.0))
        .collect();
    if !terms.is_empty() {
        q.put(Kind::WashWater, &old, &name, terms);
    }
    const TAKEN_OUT: [Purpose; 5] =
        [Purpose::WashWater, Purpose::RinseWater, Purpose::Reject, Purpose::Screenings, Purpose::SpentMedia];
    let of_solids: Vec<Term> = TAKEN_OUT
        .into_iter()
        .filter(|purpose| !ledger.select(&from.purpose(*purpose)).is_empty())
        .map(|purpose| q.term(Watch::Solids(from.purpose(purpose)), 1.0))
        .collect();
    if !of_solids.is_empty() {
        q.put(Kind::TakenOut, &old, &name, of_solids);
    }
    energy::motor(q, of, id, filter, ledger);
}

/// Whether records alone say when a filter is washed or changed: without them it never is.
fn by_log_alone(filter: &Filter) -> bool {
    filter
        .wash
        .as_ref()
        .map(|w| (&w.cadence, w.holds_before.is_some()))
        .or(filter.change.as_ref().map(|c| (&c.cadence, false)))
        .is_some_and(|(cadence, load)| cadence.by_log && cadence.triggers.is_empty() && cadence.at.is_none() && !load)
}

/// What can't be told of a filter whose log alone says when. It is counted by the solids that reach it, so that it drops
/// out of a comparison only where these are the same.
fn logged_alone(q: &mut Quantities, old: &str, name: &str, id: PlaceId, changes: bool) {
    let kinds: &[Kind] = if changes {
        &[Kind::Changes, Kind::Downtime, Kind::Labour, Kind::UsedUp]
    } else {
        &[Kind::Washes, Kind::Downtime, Kind::WashWater]
    };
    for kind in kinds {
        let term = q.term(Watch::Solids(Selector::to(Node::Place(id))), 1.0);
        q.put(*kind, old, name, vec![term]).missing = Some(format!(
            "{name} is {} by the log alone: its line does not say when else",
            if changes { "changed" } else { "washed" }
        ));
    }
}

/// Adds hours that do not depend on the run: checks of a filter.
pub(crate) fn checks(q: &mut Quantities, old: &str, name: &str, hours_a_year: f64) {
    q.put(Kind::Labour, &format!("{old}, checks"), name, Vec::new()).constant = hours_a_year;
}

/// Adds hours that go with the pieces used up: new rolls.
pub(crate) fn hours_by_pieces(q: &mut Quantities, old: &str, name: &str, hours_each: f64) {
    let Some(pieces) = q.list.iter().find(|of| of.kind == Kind::UsedUp && of.id == old).cloned() else {
        return;
    };
    let terms = pieces.terms.iter().map(|term| Term { times: term.times * hours_each, ..term.clone() }).collect();
    q.put(Kind::Labour, &format!("{old}, new rolls"), name, terms).missing = pieces.missing;
}

/// Marks the labour of a filter as not told.
pub(crate) fn labour_not_told(q: &mut Quantities, old: &str, name: &str) {
    q.put(Kind::Labour, &format!("{old}, checks"), name, Vec::new()).missing =
        Some(format!("prices.yaml has no labour minutes for {name}, and has some for what it replaces"));
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A cubic metre a day, at 0.5 kg/m³ from 15 January to 14 February 2025 and clear otherwise, with 0.25 kg/m³ free: by calendar
    /// months 17 × 0.5 − 31 × 0.25 in January and nothing in February, by months from the 15th 31 × 0.5 − 31 × 0.25.
    #[test]
    fn a_surcharge_goes_by_the_months_of_the_bill() {
        let first_day = NaiveDate::from_ymd_opt(2025, 1, 1).unwrap();
        let series = |values: Vec<f64>| DailySeries { first_day, basis: vec![Basis::COMPUTED; values.len()], values };
        let strong = (0..90).map(|day| if (14..45).contains(&day) { 0.5 } else { 0.0 }).collect();
        let both = [series(vec![1.0; 90]), series(strong)];
        for (begins, expected) in [(1, 0.75), (15, 7.75)] {
            let mut q = Quantities::default();
            let anything = Selector::default();
            let terms = vec![q.term(Watch::Water(anything), 1.0), q.term(Watch::Solids(anything), 1.0)];
            q.put(Kind::Strong, "S", "S", terms).fold = Fold::Over(0.25, begins);
            let over = q.amounts(&Draw::MIDDLE, &both, 1.0)[0];
            assert!((over - expected).abs() < 1e-9, "{begins}: {over} is not {expected}");
        }
    }
}

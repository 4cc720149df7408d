//! Daily series read from a ledger: what rules, charts and ensembles look at.

use chrono::{Days, NaiveDate};

use crate::balance::at::WayAt;
use crate::balance::{Basis, Ledger, Node, Purpose, Way};
use crate::facility::model::PlaceId;

/// Which ways are meant: each field that is given must match.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Hash)]
pub struct Selector {
    /// Where they start.
    pub from: Option<Node>,
    /// Where they end.
    pub to: Option<Node>,
    /// What for.
    pub purpose: Option<Purpose>,
}

impl Selector {
    /// Ways that start at a node.
    pub fn from(node: Node) -> Self {
        Self { from: Some(node), ..Self::default() }
    }

    /// Ways that end at a node.
    pub fn to(node: Node) -> Self {
        Self { to: Some(node), ..Self::default() }
    }

    /// Ways from one node to another.
    pub fn between(from: Node, to: Node) -> Self {
        Self { from: Some(from), to: Some(to), ..Self::default() }
    }

    /// The same, for one purpose.
    #[must_use]
    pub fn purpose(self, purpose: Purpose) -> Self {
        Self { purpose: Some(purpose), ..self }
    }

    /// Whether a way is meant.
    pub fn matches(&self, way: &Way) -> bool {
        self.from.is_none_or(|node| node == way.from)
            && self.to.is_none_or(|node| node == way.to)
            && self.purpose.is_none_or(|purpose| purpose == way.purpose)
    }
}

/// A daily series that can be watched, in one run or in many.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Watch {
    /// Water over the selected ways, m³.
    Water(Selector),
    /// Solids over the selected ways, all kinds, kg.
    Solids(Selector),
    /// Solids of one kind, kg.
    SolidsOfKind(Selector, usize),
    /// A dissolved constituent (index into `Facility::dissolved`), kg.
    Dissolved(Selector, usize),
    /// A constituent bound to solids, by name, kg.
    Bound(Selector, String),
    /// Volume of a store at the close, m³.
    Volume(PlaceId),
    /// Level of a pond at the close, m above the floor.
    Level(PlaceId),
    /// Bank top above the water at the close, m.
    Freeboard(PlaceId),
    /// How much more a store can take before it spills, m³.
    SpillLeft(PlaceId),
    /// Depth of a pond's sludge, m.
    SludgeDepth(PlaceId),
    /// Washes or changes of a filter, events.
    Events(PlaceId),
    /// Minutes a filter spent washing or being changed.
    Minutes(PlaceId),
    /// Solids a filter holds at the close, kg.
    FilterHeld(PlaceId),
}

/// A value and a basis for each day.
#[derive(Debug, Clone, PartialEq)]
pub struct DailySeries {
    /// First day.
    pub first_day: NaiveDate,
    /// One value a day.
    pub values: Vec<f64>,
    /// Its basis; `Basis(0)` where nothing feeds the value (no such way, no such series).
    pub basis: Vec<Basis>,
}

impl DailySeries {
    /// A series of `days` zeros without a basis.
    pub fn empty(first_day: NaiveDate, days: usize) -> Self {
        Self { first_day, values: vec![0.0; days], basis: vec![Basis::default(); days] }
    }

    /// A series that nothing is known of, such as the freeboard of a pond without one.
    fn not_known(first_day: NaiveDate, days: usize) -> Self {
        Self { basis: vec![Basis::UNKNOWN; days], ..Self::empty(first_day, days) }
    }

    /// The date of a day.
    pub fn date(&self, day: usize) -> NaiveDate {
        self.first_day.checked_add_days(Days::new(day as u64)).unwrap_or(self.first_day)
    }

    /// The day of a date, if the series covers it.
    pub fn day_of(&self, date: NaiveDate) -> Option<usize> {
        let day = usize::try_from((date - self.first_day).num_days()).ok()?;
        (day < self.values.len()).then_some(day)
    }

    /// Value and basis on a date.
    pub fn on(&self, date: NaiveDate) -> Option<(f64, Basis)> {
        let day = self.day_of(date)?;
        Some((*self.values.get(day)?, *self.basis.get(day)?))
    }
}

impl Ledger {
    /// Indices of the ways a selector means.
    pub fn select(&self, selector: &Selector) -> Vec<WayAt> {
        self.ways().each().filter(|(_, way)| selector.matches(way)).map(|(at, _)| at).collect()
    }

    /// A daily series. Over several ways values add up and bases are combined by OR. A series of something that does
    /// not exist is 0 with no basis on every day.
    pub fn series(&self, watch: &Watch) -> DailySeries {
        match watch {
            Watch::Water(s) => self.over(s, |d, w| (self.water(d, w), self.water_basis(d, w))),
            Watch::Solids(s) => self.over(s, |d, w| (self.solids(d, w), self.solids_basis(d, w))),
            Watch::SolidsOfKind(s, kind) => {
                self.over(s, |d, w| (self.solids_of_kind(d, w, *kind), self.solids_basis(d, w)))
            }
            Watch::Dissolved(_, c) if *c >= self.shape().dissolved_names.len() => {
                DailySeries::empty(self.first_day(), self.days())
            }
            Watch::Dissolved(s, c) => self.over(s, |d, w| (self.dissolved(d, w, *c), self.dissolved_basis(d, w, *c))),
            Watch::Bound(s, name) => self.over(s, |d, w| (self.bound(d, w, name), self.bound_basis(d, w, name))),
            Watch::Volume(p) => self.of_store(*p, |s| &s.volume_m3),
            Watch::Level(p) => self.of_store(*p, |s| &s.level_m),
            Watch::Freeboard(p) => self.of_store(*p, |s| &s.freeboard_m),
            Watch::SpillLeft(p) => self.of_store(*p, |s| &s.spill_left_m3),
            Watch::SludgeDepth(p) => self.of_store(*p, |s| &s.sludge_depth_m),
            Watch::Events(p) => self.of_filter(*p, |f| f.events.iter().map(|&count| f64::from(count)).collect()),
            Watch::Minutes(p) => self.of_filter(*p, |f| f.minutes.clone()),
            Watch::FilterHeld(p) => self.of_filter(*p, |f| f.held_kg.clone()),
        }
    }

    /// Sum of a series between two dates, both belonging to it, with the OR of its bases.
    pub fn total(&self, watch: &Watch, from: NaiveDate, to: NaiveDate) -> (f64, Basis) {
        let series = self.series(watch);
        let mut sum = 0.0;
        let mut basis = Basis::default();
        for (day, (value, of)) in series.values.iter().zip(&series.basis).enumerate() {
            let date = series.date(day);
            if from <= date && date <= to {
                sum += value;
                basis = basis.or(*of);
            }
        }
        (sum, basis)
    }

    fn over(&self, selector: &Selector, value: impl Fn(usize, WayAt) -> (f64, Basis)) -> DailySeries {
        let mut series = DailySeries::empty(self.first_day(), self.days());
        let ways = self.select(selector);
        for (day, (sum, basis)) in series.values.iter_mut().zip(&mut series.basis).enumerate() {
            for &way in &ways {
                let (amount, of) = value(day, way);
                *sum += amount;
                *basis = basis.or(of);
            }
        }
        series
    }

    fn of_store(&self, place: PlaceId, values: impl Fn(&crate::balance::StoreSeries) -> &Vec<f64>) -> DailySeries {
        match self.store(place) {
            Some(store) if values(store).len() == self.days() => {
                DailySeries { first_day: self.first_day(), values: values(store).clone(), basis: store.basis.clone() }
            }
            _ => DailySeries::not_known(self.first_day(), self.days()),
        }
    }

    fn of_filter(&self, place: PlaceId, values: impl Fn(&crate::balance::FilterSeries) -> Vec<f64>) -> DailySeries {
        match self.filter(place) {
            Some(filter) => {
                DailySeries { first_day: self.first_day(), values: values(filter), basis: filter.basis.clone() }
            }
            None => DailySeries::not_known(self.first_day(), self.days()),
        }
    }
}

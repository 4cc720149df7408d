//! The ledger: what moved along each way on each day, and what each store and filter held.
//!
//! One run's ledger holds days × ways × (water, solids by parcel, dissolved constituents), with a basis beside each
//! quantity of each entry. Entries without solids take no room for parcels, and [`Ledger::forget_parcels`] leaves the sums of all.
//! Ways stand in a fixed order (the order of the facility's file, then of purposes), so the same inputs give the same bytes.
//!
//! Units: water m³, solids and dissolved kg, levels m above the pond's floor.

mod contents;
mod csv;
mod held;
mod residual;
mod series;
mod solids;
mod trace;

use chrono::{Days, NaiveDate};

use crate::balance::at::{At, FilterAt, Per, StoreAt, WayAt};
use crate::balance::ledger::solids::Solids;
use crate::balance::{Basis, Node, Parcel, Way};
use crate::facility::model::PlaceId;

pub use contents::{FilterSeries, GoverningTrigger, Memo, MemoKind, StoreSeries};
pub use held::Held;
pub use residual::{Quantity, Residual, ResidualError, Residuals};
pub use series::{DailySeries, Selector, Watch};
pub use trace::{Trace, TraceLine};

/// A constituent bound to solids: a fixed content of one kind, so that it needs no mass of its own.
#[derive(Debug, Clone, PartialEq)]
pub struct BoundRider {
    /// Name of the constituent: `total P`.
    pub name: String,
    /// Index into `Facility::solids`.
    pub kind: usize,
    /// Content, kg/kg.
    pub content: f64,
    /// Whether the content is `not known`.
    pub unknown: bool,
}

/// What a ledger is about, apart from figures: names, days, ways, parcels.
#[derive(Debug, Clone, Default)]
pub struct Shape {
    /// First day.
    pub first_day: NaiveDate,
    /// Days.
    pub days: usize,
    /// Names of places.
    pub place_names: Per<PlaceId, String>,
    /// Whether a place lies outside (supplies and discharge points).
    pub outside: Per<PlaceId, bool>,
    /// Ways in their fixed order.
    pub ways: Per<WayAt, Way>,
    /// Kinds of solids, by index into `Facility::solids`.
    pub kind_names: Vec<String>,
    /// Upper end of each size class, m; the first class starts at 0.
    pub class_upper_m: Vec<f64>,
    /// Parcels that occur.
    pub parcels: Vec<Parcel>,
    /// Dissolved constituents, by index into `Facility::dissolved`.
    pub dissolved_names: Vec<String>,
    /// Constituents bound to solids.
    pub bound: Vec<BoundRider>,
}

/// The daily double-entry water ledger of one run.
#[derive(Debug, Clone)]
pub struct Ledger {
    shape: Shape,
    water_m3: Vec<f64>,
    solids: Solids,
    /// Whether of each entry's solids their sum and those of each kind are left.
    summed: bool,
    dissolved_kg: Vec<f64>,
    water_basis: Vec<Basis>,
    solids_basis: Vec<Basis>,
    dissolved_basis: Vec<Basis>,
    pub(crate) held: Vec<Held>,
    pub(crate) stores: Per<StoreAt, StoreSeries>,
    pub(crate) filters: Per<FilterAt, FilterSeries>,
    pub(crate) memos: Vec<Memo>,
    residuals: Residuals,
}

impl Ledger {
    /// An empty ledger of the given shape: every entry 0, no basis.
    pub fn new(shape: Shape) -> Self {
        let cells = shape.days * shape.ways.len();
        let dissolved = cells * shape.dissolved_names.len();
        Self {
            water_m3: vec![0.0; cells],
            solids: Solids::none(cells, shape.parcels.len()),
            summed: false,
            dissolved_kg: vec![0.0; dissolved],
            water_basis: vec![Basis::default(); cells],
            solids_basis: vec![Basis::default(); cells],
            dissolved_basis: vec![Basis::default(); dissolved],
            held: Vec::new(),
            stores: Per::default(),
            filters: Per::default(),
            memos: Vec::new(),
            residuals: Residuals::default(),
            shape,
        }
    }

    /// What it is about, and no day of it.
    pub(crate) fn without_days(&self) -> Self {
        Self::new(Shape { days: 0, ..self.shape.clone() })
    }

    /// What the ledger is about: names, ways, parcels.
    pub fn shape(&self) -> &Shape {
        &self.shape
    }

    /// First day.
    pub fn first_day(&self) -> NaiveDate {
        self.shape.first_day
    }

    /// Number of days.
    pub fn days(&self) -> usize {
        self.shape.days
    }

    /// The date of a day, counted from 0; beyond the end it counts on.
    pub fn date(&self, day: usize) -> NaiveDate {
        self.shape.first_day.checked_add_days(Days::new(day as u64)).unwrap_or(self.shape.first_day)
    }

    /// The day of a date, if the ledger covers it.
    pub fn day_of(&self, date: NaiveDate) -> Option<usize> {
        let day = usize::try_from((date - self.shape.first_day).num_days()).ok()?;
        (day < self.shape.days).then_some(day)
    }

    /// Ways in their fixed order.
    pub fn ways(&self) -> &Per<WayAt, Way> {
        &self.shape.ways
    }

    /// The index of a way.
    pub fn way(&self, way: &Way) -> Option<WayAt> {
        self.shape.ways.find(|other| other == way)
    }

    /// Parcels of solids that occur, in order.
    pub fn parcels(&self) -> &[Parcel] {
        &self.shape.parcels
    }

    /// Index of a dissolved constituent by its name, any case.
    pub fn dissolved_index(&self, name: &str) -> Option<usize> {
        self.shape.dissolved_names.iter().position(|other| other.eq_ignore_ascii_case(name))
    }

    /// Where an entry stands; there is none of a day or a way that the ledger does not have.
    fn cell(&self, day: usize, way: WayAt) -> usize {
        let ways = self.shape.ways.len();
        assert!(day < self.shape.days && way.number() < ways, "no entry of day {day} and {way:?} in this ledger");
        day * ways + way.number()
    }

    /// Water of an entry, m³.
    pub fn water(&self, day: usize, way: WayAt) -> f64 {
        self.water_m3[self.cell(day, way)]
    }

    /// Basis of an entry's water; none where no entry is made.
    pub fn water_basis(&self, day: usize, way: WayAt) -> Basis {
        self.water_basis[self.cell(day, way)]
    }

    /// Solids of an entry by parcel, kg, in the order of [`Ledger::parcels`]. There are none to be asked for after
    /// [`Ledger::forget_parcels`].
    pub fn solids_by_parcel(&self, day: usize, way: WayAt) -> &[f64] {
        assert!(!self.summed, "the parcels of this ledger were forgotten");
        self.solids.of(self.cell(day, way))
    }

    /// Solids of an entry, all parcels, kg.
    pub fn solids(&self, day: usize, way: WayAt) -> f64 {
        let solids = self.solids.of(self.cell(day, way));
        if self.summed { solids[0] } else { solids.iter().sum() }
    }

    /// Solids of one kind in an entry, kg.
    pub fn solids_of_kind(&self, day: usize, way: WayAt, kind: usize) -> f64 {
        let solids = self.solids.of(self.cell(day, way));
        if self.summed { solids[1 + kind] } else { of_kind(solids, &self.shape.parcels, kind) }
    }

    /// Whether an entry has solids.
    pub(crate) fn has_solids(&self, day: usize, way: WayAt) -> bool {
        self.solids.any(self.cell(day, way))
    }

    /// Leaves of the solids of each entry their sum and the sum of each kind, and of what is held the sum: all that is asked of a run
    /// that was checked, in a seventh of the room where there are 14 parcels of one kind.
    pub fn forget_parcels(&mut self) {
        if self.summed {
            return;
        }
        let kinds = self.shape.kind_names.len();
        self.solids.map(1 + kinds, |solids, to| {
            to.push(solids.iter().sum());
            to.extend((0..kinds).map(|kind| of_kind(solids, &self.shape.parcels, kind)));
        });
        self.held.iter_mut().for_each(Held::forget_parcels);
        self.summed = true;
    }

    /// Basis of an entry's solids.
    pub fn solids_basis(&self, day: usize, way: WayAt) -> Basis {
        self.solids_basis[self.cell(day, way)]
    }

    /// Mass of a dissolved constituent in an entry, kg.
    pub fn dissolved(&self, day: usize, way: WayAt, constituent: usize) -> f64 {
        let count = self.shape.dissolved_names.len();
        self.dissolved_kg[self.cell(day, way) * count..][..count][constituent]
    }

    /// Basis of a dissolved constituent in an entry.
    pub fn dissolved_basis(&self, day: usize, way: WayAt, constituent: usize) -> Basis {
        let count = self.shape.dissolved_names.len();
        self.dissolved_basis[self.cell(day, way) * count..][..count][constituent]
    }

    /// Mass bound to solids in an entry, kg: content × mass of the kind that holds it, over all kinds that do. Together
    /// with a dissolved constituent of the same name it is the total.
    pub fn bound(&self, day: usize, way: WayAt, name: &str) -> f64 {
        self.shape
            .bound
            .iter()
            .filter(|rider| rider.name.eq_ignore_ascii_case(name))
            .map(|rider| rider.content * self.solids_of_kind(day, way, rider.kind))
            .sum()
    }

    /// Basis of a constituent bound to solids: that of the solids, and unknown where a content is not known.
    pub fn bound_basis(&self, day: usize, way: WayAt, name: &str) -> Basis {
        let unknown = self.shape.bound.iter().any(|rider| rider.unknown && rider.name.eq_ignore_ascii_case(name));
        let basis = self.solids_basis(day, way).or(Basis::ASSUMED);
        if unknown { basis.or(Basis::UNKNOWN) } else { basis }
    }

    /// The series of a tank or pond.
    pub fn store(&self, place: PlaceId) -> Option<&StoreSeries> {
        self.stores.iter().find(|store| store.place == place)
    }

    /// All tanks and ponds, in file order.
    pub fn stores(&self) -> &[StoreSeries] {
        self.stores.as_slice()
    }

    /// The series of a filter.
    pub fn filter(&self, place: PlaceId) -> Option<&FilterSeries> {
        self.filters.iter().find(|filter| filter.place == place)
    }

    /// All filters, in file order.
    pub fn filters(&self) -> &[FilterSeries] {
        self.filters.as_slice()
    }

    /// Memo lines in order of day: what was asked and not given, washes carried over. No water moved.
    pub fn memos(&self) -> &[Memo] {
        &self.memos
    }

    /// What stores, filters and sludge held at the end of each day.
    pub fn held(&self) -> &[Held] {
        &self.held
    }

    /// What a node holds, if it holds anything.
    pub fn held_at(&self, node: Node) -> Option<&Held> {
        self.held.iter().find(|held| held.node == node)
    }

    /// The printed name of a node: a place's own name, `sludge of Settling pond`, or the word for what lies outside.
    pub fn label(&self, node: Node) -> String {
        let name = |place: PlaceId| self.shape.place_names[place].clone();
        match node {
            Node::Place(place) => name(place),
            Node::Sludge(place) => format!("sludge of {}", name(place)),
            Node::Rain => "rain".to_owned(),
            Node::Evaporation => "evaporation".to_owned(),
            Node::Seepage => "seepage".to_owned(),
            Node::Crop => "crop".to_owned(),
            Node::Retained => "retained".to_owned(),
            Node::Feed => "feed".to_owned(),
            Node::Reacted => "reacted".to_owned(),
            Node::PickedUp => "picked up".to_owned(),
            Node::CleanedOut => "cleaned out".to_owned(),
            Node::Unaccounted => "unaccounted".to_owned(),
        }
    }

    /// Whether a node lies outside the facility.
    pub fn is_outside(&self, node: Node) -> bool {
        match node {
            Node::Place(place) => self.shape.outside[place],
            Node::Sludge(_) => false,
            _ => true,
        }
    }

    /// Puts an entry. Solids and dissolved are given in the ledger's order; shorter slices leave the rest at 0.
    pub fn put(&mut self, day: usize, way: WayAt, entry: &Entry<'_>) {
        let cell = self.cell(day, way);
        let constituents = self.shape.dissolved_names.len();
        self.water_m3[cell] = entry.water_m3;
        self.water_basis[cell] = entry.water_basis;
        self.solids_basis[cell] = entry.solids_basis;
        self.solids.put(cell, entry.solids_kg);
        for (to, from) in self.dissolved_kg[cell * constituents..][..constituents].iter_mut().zip(entry.dissolved_kg) {
            *to = *from;
        }
        let bases = &mut self.dissolved_basis[cell * constituents..][..constituents];
        for (to, from) in bases.iter_mut().zip(entry.dissolved_basis) {
            *to = *from;
        }
    }
}

/// The mass of one kind.
fn of_kind(solids: &[f64], parcels: &[Parcel], kind: usize) -> f64 {
    solids.iter().zip(parcels).filter(|(_, parcel)| parcel.kind == kind).map(|(mass, _)| mass).sum()
}

/// One entry, to be put into a ledger.
#[derive(Debug, Clone, Copy, Default)]
pub struct Entry<'a> {
    /// Water, m³.
    pub water_m3: f64,
    /// Basis of the water.
    pub water_basis: Basis,
    /// Solids by parcel, kg.
    pub solids_kg: &'a [f64],
    /// Basis of the solids.
    pub solids_basis: Basis,
    /// Dissolved by constituent, kg.
    pub dissolved_kg: &'a [f64],
    /// Basis of each dissolved constituent.
    pub dissolved_basis: &'a [Basis],
}

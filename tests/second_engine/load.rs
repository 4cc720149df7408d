//! Water with what is in it, and the entries of a day.

use std::collections::BTreeMap;

use bywash::balance::{Node, Purpose, Way};
use bywash::facility::model::PlaceId;

/// An amount of water with its solids by parcel and its dissolved constituents.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Load {
    /// Water, m³.
    pub water: f64,
    /// Solids by parcel, kg.
    pub solids: Vec<f64>,
    /// Dissolved constituents, kg.
    pub dissolved: Vec<f64>,
}

impl Load {
    pub fn none(parcels: usize, constituents: usize) -> Self {
        Self { water: 0.0, solids: vec![0.0; parcels], dissolved: vec![0.0; constituents] }
    }

    pub fn add(&mut self, other: &Self) {
        self.water += other.water;
        if self.solids.is_empty() {
            self.solids = vec![0.0; other.solids.len()];
            self.dissolved = vec![0.0; other.dissolved.len()];
        }
        for (a, b) in self.solids.iter_mut().zip(&other.solids) {
            *a += b;
        }
        for (a, b) in self.dissolved.iter_mut().zip(&other.dissolved) {
            *a += b;
        }
    }

    pub fn times(&self, share: f64) -> Self {
        Self {
            water: self.water * share,
            solids: self.solids.iter().map(|m| m * share).collect(),
            dissolved: self.dissolved.iter().map(|m| m * share).collect(),
        }
    }

    /// So much water at this load's concentrations; nothing in it when this load has no water.
    pub fn at_same_concentration(&self, water: f64) -> Self {
        if self.water > 0.0 {
            let mut load = self.times(water / self.water);
            load.water = water;
            load
        } else {
            let mut load = Self::none(self.solids.len(), self.dissolved.len());
            load.water = water;
            load
        }
    }

    pub fn only_solids(&self) -> Self {
        Self { water: 0.0, solids: self.solids.clone(), dissolved: vec![0.0; self.dissolved.len()] }
    }

    pub fn is_nothing(&self) -> bool {
        self.water == 0.0 && self.solids.iter().chain(&self.dissolved).all(|m| *m == 0.0)
    }

    pub fn solids_kg(&self) -> f64 {
        self.solids.iter().sum()
    }
}

/// What one day moved and left.
#[derive(Debug, Clone, Default)]
pub struct DayOut {
    /// Entries.
    pub entries: BTreeMap<Way, Load>,
    /// Washes or changes of each filter.
    pub washes: BTreeMap<PlaceId, f64>,
    /// Closest any of them came to a tie.
    pub ties: BTreeMap<PlaceId, f64>,
    /// Asked for and not given, m³.
    pub short: BTreeMap<PlaceId, f64>,
    /// Closing content of each store.
    pub closing: BTreeMap<PlaceId, Load>,
    /// Solids held by each filter at the close, kg.
    pub held: BTreeMap<PlaceId, f64>,
}

impl DayOut {
    pub fn book(&mut self, from: Node, to: Node, purpose: Purpose, load: &Load) {
        if !load.is_nothing() {
            self.entries.entry(Way { from, to, purpose }).or_default().add(load);
        }
    }

    /// Water of an entry, m³.
    pub fn water(&self, from: Node, to: Node, purpose: Purpose) -> f64 {
        self.entries.get(&Way { from, to, purpose }).map_or(0.0, |load| load.water)
    }
}

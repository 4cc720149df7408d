//! What a store, a filter or a pond's sludge held at the end of each day.

use crate::balance::Node;

/// Contents of one node: the opening, then the close of each day (days + 1 values).
#[derive(Debug, Clone, PartialEq)]
pub struct Held {
    /// The node.
    pub node: Node,
    /// Water, m³.
    pub water_m3: Vec<f64>,
    /// Solids by parcel, kg: `days + 1` runs of as many values as the ledger has parcels; after [`Ledger::forget_parcels`] of their
    /// sum.
    ///
    /// [`Ledger::forget_parcels`]: crate::balance::Ledger::forget_parcels
    pub solids_kg: Vec<f64>,
    /// Dissolved by constituent, kg: `days + 1` runs of as many values as the ledger has constituents.
    pub dissolved_kg: Vec<f64>,
}

impl Held {
    /// Nothing held, for `days` days.
    pub fn new(node: Node, days: usize, parcels: usize, constituents: usize) -> Self {
        Self {
            node,
            water_m3: vec![0.0; days + 1],
            solids_kg: vec![0.0; (days + 1) * parcels],
            dissolved_kg: vec![0.0; (days + 1) * constituents],
        }
    }

    /// Water after `closes` days (0 is the opening).
    pub fn water(&self, closes: usize) -> f64 {
        self.water_m3[closes]
    }

    /// Solids by parcel after `closes` days.
    pub fn solids(&self, closes: usize) -> &[f64] {
        let parcels = self.solids_kg.len() / self.water_m3.len();
        &self.solids_kg[closes * parcels..(closes + 1) * parcels]
    }

    /// Leaves of the solids their sum.
    pub(super) fn forget_parcels(&mut self) {
        self.solids_kg = (0..self.water_m3.len()).map(|closes| self.solids(closes).iter().sum()).collect();
    }

    /// Dissolved by constituent after `closes` days.
    pub fn dissolved(&self, closes: usize, constituents: usize) -> &[f64] {
        &self.dissolved_kg[closes * constituents..(closes + 1) * constituents]
    }
}

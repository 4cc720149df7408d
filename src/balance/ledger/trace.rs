//! From a printed figure back to its entries.

use chrono::NaiveDate;

use crate::balance::at::WayAt;
use crate::balance::{Basis, Ledger, Node, Way};

/// All entries of a node on a day, with what it held before and after.
#[derive(Debug, Clone, PartialEq)]
pub struct Trace {
    /// The node.
    pub node: Node,
    /// The day.
    pub date: NaiveDate,
    /// Water held at the opening, m³.
    pub opening_m3: f64,
    /// Water held at the close, m³.
    pub closing_m3: f64,
    /// Solids held at the opening, kg.
    pub opening_kg: f64,
    /// Solids held at the close, kg.
    pub closing_kg: f64,
    /// Entries, those that come in first.
    pub lines: Vec<TraceLine>,
}

/// One entry of a trace.
#[derive(Debug, Clone, PartialEq)]
pub struct TraceLine {
    /// Whether it comes in.
    pub comes_in: bool,
    /// The way.
    pub way: Way,
    /// Its index.
    pub index: WayAt,
    /// Water, m³.
    pub water_m3: f64,
    /// Its basis.
    pub water_basis: Basis,
    /// Solids, kg.
    pub solids_kg: f64,
    /// Their basis.
    pub solids_basis: Basis,
}

impl Ledger {
    /// Traces a node on a day (counted from 0): entries that are not zero or are metered.
    pub fn trace(&self, node: Node, day: usize) -> Trace {
        let held = self.held_at(node);
        let mut lines = Vec::new();
        for comes_in in [true, false] {
            for (index, way) in self.ways().each() {
                let end = if comes_in { way.to } else { way.from };
                if end == node && self.is_written(day, index) {
                    lines.push(TraceLine {
                        comes_in,
                        way: *way,
                        index,
                        water_m3: self.water(day, index),
                        water_basis: self.water_basis(day, index),
                        solids_kg: self.solids(day, index),
                        solids_basis: self.solids_basis(day, index),
                    });
                }
            }
        }
        Trace {
            node,
            date: self.date(day),
            opening_m3: held.map_or(0.0, |h| h.water(day)),
            closing_m3: held.map_or(0.0, |h| h.water(day + 1)),
            opening_kg: held.map_or(0.0, |h| h.solids(day).iter().sum()),
            closing_kg: held.map_or(0.0, |h| h.solids(day + 1).iter().sum()),
            lines,
        }
    }
}

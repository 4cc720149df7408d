//! The bookkeeping check, from the entries: for every place and day, in − out = change of what is held.
//!
//! Tolerance: 1e-9·(in + out) + 1e-12·(|S₀| + |S₁|) + 1e-12. A tolerance on throughput alone would fail for a large
//! pond with a drop through it.

use chrono::NaiveDate;

use crate::balance::at::{Per, WayAt};
use crate::balance::{Held, Ledger, Node, Parcel};

/// What a residual is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Quantity {
    /// Water, m³.
    Water,
    /// Solids of a parcel, kg.
    Solids(Parcel),
    /// A dissolved constituent by its index, kg.
    Dissolved(usize),
}

/// What is left of in − out − change of what is held, at one place, day and quantity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Residual {
    /// The place.
    pub node: Node,
    /// The day.
    pub date: NaiveDate,
    /// The quantity.
    pub quantity: Quantity,
    /// The residual, in the quantity's unit.
    pub amount: f64,
    /// The most it may be.
    pub tolerance: f64,
}

/// The ledger does not balance: an error of the program, never of the user's.
#[derive(Debug, Clone, thiserror::Error)]
#[error("the ledger does not balance at {place} on {date}: {amount:e} left over, tolerance {tolerance:e}")]
pub struct ResidualError {
    /// The place's label.
    pub place: String,
    /// The day.
    pub date: NaiveDate,
    /// The residual.
    pub amount: f64,
    /// The most it may be.
    pub tolerance: f64,
}

struct Sums {
    node: Node,
    into: Vec<f64>,
    out: Vec<f64>,
}

/// The largest residuals against their tolerances; none of an empty ledger.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Residuals {
    /// Of water, solids and dissolved constituents.
    pub of_all: Option<Residual>,
    /// Of water.
    pub of_water: Option<Residual>,
}

impl Residual {
    /// How many times its tolerance it is.
    fn times(&self) -> f64 {
        if self.amount.is_nan() { f64::INFINITY } else { self.amount.abs() / self.tolerance }
    }
}

impl Ledger {
    /// Checks that every place balances on every day, and that every entry is finite and not negative; keeps the largest
    /// residuals, recomputed from the entries.
    ///
    /// # Errors
    /// The residual that is largest against its tolerance, if it is over.
    pub(crate) fn check(&mut self) -> Result<(), ResidualError> {
        self.check_entries()?;
        self.residuals = self.largest_residuals();
        match self.residuals.of_all {
            Some(r) if r.amount.is_nan() || r.amount.abs() > r.tolerance => {
                Err(ResidualError { place: self.label(r.node), date: r.date, amount: r.amount, tolerance: r.tolerance })
            }
            _ => Ok(()),
        }
    }

    /// The largest residuals, as the ledger was checked when it was made.
    pub fn residuals(&self) -> Residuals {
        self.residuals
    }

    fn check_entries(&self) -> Result<(), ResidualError> {
        let bad = |value: &f64| !value.is_finite() || *value < 0.0;
        for day in 0..self.days() {
            for (index, way) in self.ways().each() {
                let dissolved =
                    (0..self.shape().dissolved_names.len()).map(|c| self.dissolved(day, index, c)).find(bad);
                if let Some(amount) = Some(self.water(day, index))
                    .filter(bad)
                    .or_else(|| self.solids_by_parcel(day, index).iter().copied().find(bad))
                    .or(dissolved)
                {
                    return Err(ResidualError {
                        place: self.label(way.from),
                        date: self.date(day),
                        amount,
                        tolerance: 0.0,
                    });
                }
            }
        }
        Ok(())
    }

    fn largest_residuals(&self) -> Residuals {
        let parcels = self.parcels().len();
        let constituents = self.shape().dissolved_names.len();
        let width = 1 + parcels + constituents;
        let mut nodes: Vec<Node> = self
            .ways()
            .iter()
            .flat_map(|way| [way.from, way.to])
            .chain(self.held.iter().map(|held| held.node))
            .filter(|node| !self.is_outside(*node))
            .collect();
        nodes.sort_unstable();
        nodes.dedup();
        let find = |node: Node| nodes.binary_search(&node).ok();
        let ends: Per<WayAt, (Option<usize>, Option<usize>)> =
            self.ways().iter().map(|way| (find(way.from), find(way.to))).collect();
        let mut sums: Vec<Sums> =
            nodes.iter().map(|&node| Sums { node, into: vec![0.0; width], out: vec![0.0; width] }).collect();
        let held: Vec<Option<&Held>> = nodes.iter().map(|node| self.held_at(*node)).collect();
        let mut worst = Residuals::default();
        for day in 0..self.days() {
            for sum in &mut sums {
                sum.into.fill(0.0);
                sum.out.fill(0.0);
            }
            for (way, &(from, to)) in ends.each() {
                let water = self.water(day, way);
                let solids = self.solids_by_parcel(day, way);
                let amounts = std::iter::once(water)
                    .chain(solids.iter().copied())
                    .chain((0..constituents).map(|c| self.dissolved(day, way, c)));
                for (slot, amount) in amounts.enumerate() {
                    if amount == 0.0 {
                        continue;
                    }
                    if let Some(from) = from {
                        sums[from].out[slot] += amount;
                    }
                    if let Some(to) = to {
                        sums[to].into[slot] += amount;
                    }
                }
            }
            for (sum, held) in sums.iter().zip(&held) {
                let of = |closes: usize| held.map(|held| (held, closes, held.solids(closes)));
                let (opens, closes) = (of(day), of(day + 1));
                for slot in 0..width {
                    let at = |of: Option<(&Held, usize, &[f64])>| {
                        of.map_or(0.0, |(held, closes, solids)| match slot {
                            0 => held.water(closes),
                            s if s <= parcels => solids[s - 1],
                            s => held.dissolved(closes, constituents)[s - 1 - parcels],
                        })
                    };
                    let (before, after) = (at(opens), at(closes));
                    let (into, out) = (sum.into[slot], sum.out[slot]);
                    let amount = into - out - (after - before);
                    let tolerance = 1e-9 * (into + out) + 1e-12 * (before.abs() + after.abs()) + 1e-12;
                    let times = if amount.is_nan() { f64::INFINITY } else { amount.abs() / tolerance };
                    let is_worse = |known: &Option<Residual>| known.is_none_or(|known| times > known.times());
                    let (of_all, of_water) = (is_worse(&worst.of_all), slot == 0 && is_worse(&worst.of_water));
                    if !of_all && !of_water {
                        continue;
                    }
                    let quantity = match slot {
                        0 => Quantity::Water,
                        s if s <= parcels => Quantity::Solids(self.parcels()[s - 1]),
                        s => Quantity::Dissolved(s - 1 - parcels),
                    };
                    let here = Residual { node: sum.node, date: self.date(day), quantity, amount, tolerance };
                    if of_all {
                        worst.of_all = Some(here);
                    }
                    if of_water {
                        worst.of_water = Some(here);
                    }
                }
            }
        }
        worst
    }
}

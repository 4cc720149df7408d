//! The ledger as CSV.

use std::io::Write;

use crate::balance::at::WayAt;
use crate::balance::{Basis, Ledger, Node};
use crate::files::inert;

impl Ledger {
    /// Heads of the columns of [`Ledger::write_csv`]: `date, from, to, purpose, water_m3, solids_kg, basis,
    /// solids_basis`, then one column for each kind of solids, each dissolved constituent with its basis, and each
    /// constituent bound to solids, kg.
    pub fn csv_head(&self) -> Vec<String> {
        let mut head: Vec<String> = ["date", "from", "to", "purpose", "water_m3", "solids_kg", "basis", "solids_basis"]
            .map(str::to_owned)
            .into();
        head.extend(self.shape().kind_names.iter().map(|n| inert(&format!("{n}_kg")).into_owned()));
        for name in &self.shape().dissolved_names {
            head.push(inert(&format!("{name}_kg")).into_owned());
            head.push(inert(&format!("{name}_basis")).into_owned());
        }
        for name in self.bound_names() {
            head.push(inert(&format!("{name}_in_solids_kg")).into_owned());
        }
        head
    }

    /// Names of constituents bound to solids, each once, in file order.
    pub fn bound_names(&self) -> Vec<String> {
        let mut names: Vec<String> = Vec::new();
        for rider in &self.shape().bound {
            if !names.contains(&rider.name) {
                names.push(rider.name.clone());
            }
        }
        names
    }

    /// Whether an entry is written: it is not zero, or it is metered.
    pub fn is_written(&self, day: usize, way: WayAt) -> bool {
        self.water(day, way) != 0.0
            || self.water_basis(day, way).has(Basis::METERED)
            || self.has_solids(day, way)
            || (0..self.shape().dissolved_names.len()).any(|c| self.dissolved(day, way, c) != 0.0)
    }

    /// Whether it is what a pond lost to air or ground, and nobody knows how much: no nought, and no number either.
    fn is_lost_unknown(&self, day: usize, way: WayAt) -> bool {
        matches!(self.ways()[way].to, Node::Evaporation | Node::Seepage)
            && self.water(day, way) == 0.0
            && self.water_basis(day, way).has(Basis::UNKNOWN)
    }

    /// The cells of one entry, in the order of [`Ledger::csv_head`].
    pub fn csv_row(&self, day: usize, way: WayAt) -> Vec<String> {
        let of = &self.ways()[way];
        let mut row = vec![
            self.date(day).to_string(),
            inert(&self.label(of.from)).into_owned(),
            inert(&self.label(of.to)).into_owned(),
            of.purpose.words().to_owned(),
            if self.is_lost_unknown(day, way) { String::new() } else { number(self.water(day, way)) },
            number(self.solids(day, way)),
            self.water_basis(day, way).to_string(),
            self.solids_basis(day, way).to_string(),
        ];
        for kind in 0..self.shape().kind_names.len() {
            row.push(number(self.solids_of_kind(day, way, kind)));
        }
        for c in 0..self.shape().dissolved_names.len() {
            row.push(number(self.dissolved(day, way, c)));
            row.push(self.dissolved_basis(day, way, c).to_string());
        }
        for name in self.bound_names() {
            row.push(number(self.bound(day, way, &name)));
        }
        row
    }

    /// Writes the ledger: entries by day, then in the order of ways; only those that are not zero or are metered, and
    /// what ponds lost where it is not known.
    ///
    /// # Errors
    /// What the writer could not write.
    pub fn write_csv(&self, to: impl Write) -> Result<(), ::csv::Error> {
        let mut writer = ::csv::Writer::from_writer(to);
        writer.write_record(self.csv_head())?;
        for day in 0..self.days() {
            for way in self.ways().indices() {
                if self.is_written(day, way) || self.is_lost_unknown(day, way) {
                    writer.write_record(self.csv_row(day, way))?;
                }
            }
        }
        writer.flush()?;
        Ok(())
    }
}

/// Shortest decimal that reads back as the same value; no exponent, no `-0`.
fn number(value: f64) -> String {
    if value == 0.0 { "0".to_owned() } else { format!("{value}") }
}

//! The solids of a ledger's entries. Half of all entries and more have none, so only those that have some take a row.

/// Masses by entry, kg; entries without any share the first row.
#[derive(Debug, Clone)]
pub(super) struct Solids {
    /// The row of each entry.
    row: Vec<u32>,
    kg: Vec<f64>,
    width: usize,
}

impl Solids {
    /// Nought for so many entries, of so many masses each.
    pub fn none(entries: usize, width: usize) -> Self {
        Self { row: vec![0; entries], kg: vec![0.0; width], width }
    }

    /// The masses of an entry.
    pub fn of(&self, entry: usize) -> &[f64] {
        &self.kg[self.row[entry] as usize * self.width..][..self.width]
    }

    /// Whether an entry has any.
    pub fn any(&self, entry: usize) -> bool {
        self.of(entry).iter().any(|kg| *kg != 0.0)
    }

    /// Puts the masses of an entry; fewer of them leave the rest as it was.
    pub fn put(&mut self, entry: usize, masses: &[f64]) {
        if self.row[entry] == 0 {
            // By its bits, so that what is read is what was put.
            if masses.iter().take(self.width).all(|kg| kg.to_bits() == 0) {
                return;
            }
            let row = u32::try_from(self.kg.len() / self.width);
            assert!(row.is_ok(), "more entries with solids than a ledger can hold");
            self.row[entry] = row.unwrap_or_default();
            self.kg.resize(self.kg.len() + self.width, 0.0);
        }
        let first = self.row[entry] as usize * self.width;
        for (to, from) in self.kg[first..][..self.width].iter_mut().zip(masses) {
            *to = *from;
        }
    }

    /// The same entries with other masses, worked out row by row: so many each.
    pub fn map(&mut self, width: usize, masses: impl Fn(&[f64], &mut Vec<f64>)) {
        let rows = self.kg.len().checked_div(self.width).unwrap_or(1);
        let mut kg = Vec::with_capacity(rows * width);
        for row in 0..rows {
            masses(&self.kg[row * self.width..][..self.width], &mut kg);
        }
        (self.kg, self.width) = (kg, width);
    }
}

#[cfg(test)]
mod tests {
    use super::Solids;

    #[test]
    fn what_is_put_is_read_and_entries_without_solids_take_no_row() {
        let mut solids = Solids::none(1_000, 3);
        solids.put(7, &[0.0, 2.0, 0.5]);
        solids.put(8, &[0.0; 3]);
        solids.put(9, &[-0.0]);
        assert_eq!((solids.of(7), solids.of(8)), (&[0.0, 2.0, 0.5][..], &[0.0; 3][..]));
        assert!(solids.any(7) && !solids.any(8) && !solids.any(9));
        assert!(solids.of(9)[0].is_sign_negative() && solids.of(8)[0].is_sign_positive());
        assert_eq!(solids.kg.len(), 3 * 3);
        // What was put before is put anew, where there are fewer masses only the first of them.
        solids.put(7, &[1.0]);
        assert_eq!(solids.of(7), [1.0, 2.0, 0.5]);
        solids.map(1, |row, to| to.push(row.iter().sum()));
        assert_eq!((solids.of(7), solids.of(999)), (&[3.5][..], &[0.0][..]));
    }
}

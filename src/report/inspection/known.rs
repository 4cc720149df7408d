//! What is known of an amount of which a part is not, and what left the site: one rule for page 1, months and places.

use chrono::NaiveDate;

use crate::balance::{Basis as Bits, DailySeries, Node, Selector, Watch};
use crate::page::document::{Basis, Cell, figures};
use crate::report::inspection::about::{Case, basis};
use crate::report::inspection::days::seen_unbooked;
use crate::report::inspection::places::discharge_ids;
use crate::report::units::{Figured, Unit};
use crate::told::named;

/// What stands where nothing is known of an amount.
pub const NOT_SHOWN: &str = "not shown";

/// An amount over some days: of days of which it depends on something not known, nothing is counted.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Known {
    /// The sum over the days of which it is known, in SI.
    pub sum: f64,
    /// Its basis.
    pub of: Bits,
    /// Whether days are left out.
    pub lacks: bool,
}

impl Known {
    /// Of a daily series between two days that both belong to it.
    pub fn between(series: &DailySeries, from: NaiveDate, to: NaiveDate) -> Self {
        let mut all = Self::default();
        for date in from.iter_days().take_while(|date| *date <= to) {
            let Some((value, of)) = series.on(date) else { continue };
            all.add(if of.has(Bits::UNKNOWN) {
                Self { lacks: true, ..Self::default() }
            } else {
                Self { sum: value, of, lacks: false }
            });
        }
        all.of = all.of.of_total(usize::try_from((to - from).num_days() + 1).unwrap_or(0));
        all
    }

    /// Adds another.
    pub fn add(&mut self, other: Self) {
        self.sum += other.sum;
        self.of = self.of.or(other.of);
        self.lacks |= other.lacks;
    }

    /// `at least 2 207` where days are left out, `not shown` where nothing is known, else the figure with its basis.
    pub fn cell(self, unit: Unit) -> Cell {
        self.cell_of(unit, Figured::Counted)
    }

    /// The same, of a weir with the figures that its heads bear.
    pub fn cell_of(self, unit: Unit, figured: Figured) -> Cell {
        if self.lacks {
            let prints = self.at_least(unit, figured);
            return prints.map_or_else(|| Cell::words(NOT_SHOWN), |words| at_least(words, self.of));
        }
        let (value, digits) = figured.of(unit, self.sum);
        match basis(self.of) {
            Some(known) => Cell::figure(value, digits, known),
            None => Cell::nothing(),
        }
    }

    /// Its number; none where it would print as at least nothing.
    fn at_least(self, unit: Unit, figured: Figured) -> Option<String> {
        let prints = unit.of(self.sum) >= 0.5 * 10_f64.powi(-i32::from(unit.digits));
        let (value, digits) = figured.of(unit, self.sum);
        prints.then(|| figures::number(value, digits))
    }

    /// `at least 1.41 million gal`, `1.65 million gal`; none where nothing is known.
    pub fn words(self, unit: Unit) -> Option<String> {
        if self.lacks {
            return self.at_least(unit, Figured::Counted).map(|number| format!("at least {number} {}", unit.name));
        }
        Some(figures::with_unit(unit.of(self.sum), unit.digits, unit.name))
    }
}

/// `at least 2 207`, marked by how it is known.
pub fn at_least(number: String, of: Bits) -> Cell {
    Cell::known(format!("at least {number}"), basis(of).unwrap_or(Basis::Computed))
}

/// The ways out of the site, hauliers and all, with what left by each, day by day; none where it was seen to flow and the
/// ledger moves nothing.
pub struct WaysOut<'a>(Vec<(&'a str, Option<DailySeries>)>);

impl<'a> WaysOut<'a> {
    /// Of a case.
    pub fn of(case: &Case<'a>) -> Self {
        let water = |id| case.ledger.series(&Watch::Water(Selector::to(Node::Place(id))));
        let out = discharge_ids(case).into_iter();
        Self(out.map(|id| (case.name(id), seen_unbooked(case, id).is_none().then(|| water(id)))).collect())
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// What left between two days that both belong to it.
    pub fn between(&self, from: NaiveDate, to: NaiveDate) -> Left<'a> {
        let mut all = Left::default();
        for (name, water) in &self.0 {
            let Some(series) = water else {
                all.without.push(*name);
                all.known.lacks = true;
                continue;
            };
            let known = Known::between(series, from, to);
            if known.lacks {
                all.in_part.push(*name);
            }
            all.known.add(known);
        }
        all
    }
}

/// What left the site over some days.
#[derive(Debug, Clone, Default)]
pub struct Left<'a> {
    /// What is known of it.
    pub known: Known,
    /// Ways out of which nothing is counted: seen flowing or sampled, and no volume known.
    pub without: Vec<&'a str>,
    /// Ways out of which some days are not known.
    pub in_part: Vec<&'a str>,
}

impl Left<'_> {
    /// What is not in it: `Outfall 1; and of Outfall 2 the days on which it is not known`; none where nothing lacks.
    pub fn lacking(&self) -> Option<String> {
        let without = (!self.without.is_empty()).then(|| named(&self.without).replace("; ", ", "));
        let part = (!self.in_part.is_empty())
            .then(|| format!("the days on which what left by {} is not known", named(&self.in_part)));
        let parts: Vec<String> = without.into_iter().chain(part).collect();
        (!parts.is_empty()).then(|| parts.join(", and without "))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::System;
    use crate::report::units;

    #[test]
    fn days_that_are_not_known_leave_the_sum_of_the_others_as_a_least() {
        let first = NaiveDate::from_ymd_opt(2023, 2, 1).unwrap();
        let last = NaiveDate::from_ymd_opt(2023, 2, 3).unwrap();
        let metered = Bits::METERED;
        let series = |basis: Vec<Bits>| DailySeries { first_day: first, values: vec![2.0, 40.0, 3.0], basis };
        let unit = units::volume(System::Metric);
        let some = Known::between(&series(vec![metered, metered.or(Bits::UNKNOWN), metered]), first, last);
        assert_eq!(some.cell(unit).text(), "at least 5.0");
        assert_eq!(some.words(unit).unwrap(), "at least 5.0 m³");
        let all = Known::between(&series(vec![metered; 3]), first, last);
        assert_eq!(all.cell(unit), Cell::figure(45.0, 1, crate::page::document::Basis::Metered));
        let none = Known::between(&series(vec![Bits::UNKNOWN; 3]), first, last);
        assert_eq!((none.cell(unit).text(), none.words(unit)), (NOT_SHOWN.to_owned(), None));
    }
}

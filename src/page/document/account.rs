//! The year's water in two columns, and how the account closes.

use serde::Serialize;

use crate::page::document::{Basis, Text, figures};

/// A line of the account.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AccountLine {
    /// What it is: `Taken up by crops and dried off beds`.
    pub name: String,
    /// How much, in the account's unit.
    pub amount: f64,
    /// How it is known; none for what is a difference.
    pub basis: Option<Basis>,
    /// Whether this is the unaccounted line: set in bold, never folded away.
    pub unaccounted: bool,
    /// Whether the amount is known; where not, it stands as `not known` and the amount is 0, or as the least that it was.
    pub known: bool,
    /// Whether days are left out of the amount: it stands as `≥ 8 555`.
    pub lacks: bool,
    /// The heading under which more is told of it: its page stands after the name.
    pub told_at: Option<String>,
}

impl AccountLine {
    /// A line with its basis.
    pub fn new(name: impl Into<String>, amount: f64, basis: Basis) -> Self {
        Self {
            name: name.into(),
            amount,
            basis: Some(basis),
            unaccounted: false,
            known: true,
            lacks: false,
            told_at: None,
        }
    }

    /// The unaccounted line.
    pub fn unaccounted(name: impl Into<String>, amount: f64) -> Self {
        Self { name: name.into(), amount, basis: None, unaccounted: true, known: true, lacks: false, told_at: None }
    }

    /// The same line where nobody knows the amount.
    pub fn not_known(self) -> Self {
        Self { amount: 0.0, basis: None, known: false, ..self }
    }

    /// The same line where it lacks days; where what they had is not known, its total is a least too.
    pub fn lacking(self, known: bool) -> Self {
        Self { lacks: true, known, ..self }
    }

    /// The amount as it is set: grouped digits, `≥` where days are left out, or `not known`; nothing where
    /// nothing was compared.
    pub fn figure(&self, digits: u8) -> String {
        match (self.known, self.unaccounted) {
            _ if self.lacks => at_least(self.amount, digits),
            (false, true) => "–".to_owned(),
            (false, false) => "not known".to_owned(),
            (true, _) => figures::number(self.amount, digits),
        }
    }
}

/// Came in, went out, totals, closure.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct WaterAccount {
    /// A sentence above it: `The year's water`.
    pub caption: Option<String>,
    /// The unit of every amount: `million US gallons`.
    pub unit: String,
    /// Digits after the decimal mark of every amount.
    pub digits: u8,
    /// What came in.
    pub came_in: Vec<AccountLine>,
    /// What went out, with what the stores gained and what is unaccounted.
    pub went_out: Vec<AccountLine>,
    /// The total of what came in.
    pub total_in: f64,
    /// The total of what went out.
    pub total_out: f64,
    /// The residual in words, when the balance was recomputed from the entries and closed; the double rule is drawn
    /// only then.
    pub residual: Option<String>,
    /// Sentences below.
    pub notes: Vec<Text>,
    /// What left the site, in a sentence, for a page that has no room for the account.
    #[serde(skip)]
    pub brief: String,
}

impl WaterAccount {
    /// A total as it is set: `≥` what is known where one of its lines is not known, `not shown` where none
    /// is. What is unaccounted is no part of what is known: it is the rest.
    pub fn total(&self, lines: &[AccountLine], total: f64) -> String {
        if !is_open(lines) {
            return figures::number(total, self.digits);
        }
        let known: f64 = lines.iter().filter(|line| !line.unaccounted).map(|line| line.amount).sum();
        if known > 0.0 { at_least(known, self.digits) } else { "not shown".to_owned() }
    }

    /// What a total is called: one that lacks something is of what is known, and what is unaccounted is not in it.
    pub fn total_name(lines: &[AccountLine]) -> &'static str {
        if is_open(lines) { "Total of what is known" } else { "Total" }
    }
}

/// Whether a total of these lines lacks something. What days without a volume let out is in what is unaccounted.
pub fn is_open(lines: &[AccountLine]) -> bool {
    lines.iter().any(|line| !line.known && !line.unaccounted)
}

fn at_least(amount: f64, digits: u8) -> String {
    format!("≥{}{}", figures::TIE, figures::number(amount, digits))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_total_with_a_part_that_is_not_known_is_a_least_and_what_is_unaccounted_is_no_part_of_it() {
        let account = WaterAccount::default();
        let line = |amount| AccountLine::new("Outfall", amount, Basis::Computed);
        let rest = || AccountLine::unaccounted("Unaccounted", 3.0);
        let of = |lines: &[AccountLine]| account.total(lines, lines.iter().map(|line| line.amount).sum());
        assert_eq!(of(&[line(5.0), rest()]), "8");
        assert_eq!(of(&[line(5.0), rest().not_known()]), "5");
        assert_eq!(of(&[line(5.0).lacking(true), rest()]), "8");
        assert_eq!(of(&[line(5.0), line(7.0).not_known(), rest()]), "≥\u{a0}5");
        assert_eq!(of(&[line(7.0).not_known(), rest()]), "not shown");
        assert_eq!(line(5.0).lacking(true).figure(0), "≥\u{a0}5");
        assert_eq!(WaterAccount::total_name(&[line(5.0), rest()]), "Total");
        assert_eq!(WaterAccount::total_name(&[line(7.0).not_known(), rest()]), "Total of what is known");
    }
}

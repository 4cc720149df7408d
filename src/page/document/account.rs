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
    /// Whether days are left out of it, so that it is the least that it was.
    pub least: bool,
}

impl AccountLine {
    /// A line with its basis.
    pub fn new(name: impl Into<String>, amount: f64, basis: Basis) -> Self {
        Self { name: name.into(), amount, basis: Some(basis), unaccounted: false, known: true, least: false }
    }

    /// The unaccounted line.
    pub fn unaccounted(name: impl Into<String>, amount: f64) -> Self {
        Self { name: name.into(), amount, basis: None, unaccounted: true, known: true, least: false }
    }

    /// The same line where nobody knows the amount.
    pub fn not_known(self) -> Self {
        Self { amount: 0.0, basis: None, known: false, ..self }
    }

    /// The same line where it lacks days; where what they had is not known, no total is made with it.
    pub fn at_least(self, known: bool) -> Self {
        Self { least: true, known, ..self }
    }

    /// The amount as it is set: grouped digits, or `not known`.
    pub fn figure(&self, digits: u8) -> String {
        match (self.known, self.least) {
            (_, true) => format!("at least {}", figures::number(self.amount, digits)),
            (false, false) => "not known".to_owned(),
            (true, false) => figures::number(self.amount, digits),
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
}

impl WaterAccount {
    /// A total as it is set; `not shown` where one of its lines is not known. What is unaccounted is no part of what is
    /// known: it is the rest.
    pub fn total(&self, lines: &[AccountLine], total: f64) -> String {
        if lines.iter().any(|line| !line.known && !line.unaccounted) {
            "not shown".to_owned()
        } else {
            figures::number(total, self.digits)
        }
    }
}

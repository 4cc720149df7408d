//! The table of limits: what the permit says, what the records show, how far apart they are.

use serde::Serialize;

use crate::page::document::{Basis, Text};

/// How a limit came out; each has a form of its own that survives a photocopy.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum OutcomeForm {
    /// Measured, and within.
    Met,
    /// Measured, and over.
    Exceeded,
    /// Measured, and under a least value.
    BelowMinimum,
    /// Measured, and outside a range.
    OutsideRange,
    /// The records do not show it.
    NotShown,
    /// Nothing was discharged.
    NoDischarge,
    /// The limit did not apply in the period.
    NotInForce,
    /// No window of the limit can be evaluated.
    NotEvaluable,
    /// Computed, and within in every draw.
    PredictedWithin,
    /// Computed, and outside in every draw.
    PredictedOutside,
    /// Computed, and the draws do not agree.
    Undecided,
}

impl OutcomeForm {
    /// Every form, in the order of the look's table.
    pub const ALL: [Self; 11] = [
        Self::Met,
        Self::Exceeded,
        Self::BelowMinimum,
        Self::OutsideRange,
        Self::NotShown,
        Self::NoDischarge,
        Self::NotInForce,
        Self::NotEvaluable,
        Self::PredictedWithin,
        Self::PredictedOutside,
        Self::Undecided,
    ];

    /// The words in the box.
    pub fn words(self) -> &'static str {
        match self {
            Self::Met => "met",
            Self::Exceeded => "exceeded",
            Self::BelowMinimum => "below minimum",
            Self::OutsideRange => "outside range",
            Self::NotShown => "not shown",
            Self::NoDischarge => "no discharge",
            Self::NotInForce => "not in force",
            Self::NotEvaluable => "not evaluable",
            Self::PredictedWithin => "predicted within",
            Self::PredictedOutside => "predicted outside",
            Self::Undecided => "undecided",
        }
    }
}

/// The data of a margin strip: how the worst value stands to the limit, all in the limit's own unit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Strip {
    /// The limit.
    pub limit: f64,
    /// The worst value.
    pub worst: f64,
    /// The least the worst value may have been, where it is a range.
    pub low: Option<f64>,
    /// The most the worst value may have been, where it is a range.
    pub high: Option<f64>,
    /// Whether the limit is a least value; the strip is then mirrored.
    pub is_minimum: bool,
    /// Whether the worst value was measured: a filled square, else an open one.
    pub measured: bool,
}

/// A row of the table of limits.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OutcomeRow {
    /// The limit in words: `TSS, month average`.
    pub limit: String,
    /// How it came out.
    pub outcome: OutcomeForm,
    /// What the permit says: `30 mg/L`.
    pub permit_says: String,
    /// The worst value there is: `38 mg/L`, `below 0.1`, `2 days`.
    pub worst: String,
    /// How the worst value is known.
    pub basis: Option<Basis>,
    /// The margin in words: `8 mg/L over`.
    pub margin: String,
    /// The margin drawn, where limit and worst value are figures.
    pub strip: Option<Strip>,
    /// When the worst value was.
    pub when: String,
    /// How many values there are: `9 samples`, `47 of 51 weeks`.
    pub how_many: String,
    /// The anchor of the heading where the evidence stands.
    pub anchor: Option<String>,
}

impl OutcomeRow {
    /// A row with a limit, an outcome and what the permit says; fill in the rest field by field.
    pub fn new(limit: impl Into<String>, outcome: OutcomeForm, permit_says: impl Into<String>) -> Self {
        Self {
            limit: limit.into(),
            outcome,
            permit_says: permit_says.into(),
            worst: String::new(),
            basis: None,
            margin: String::new(),
            strip: None,
            when: String::new(),
            how_many: String::new(),
            anchor: None,
        }
    }
}

/// The table of limits. Rows print in the order given: worst first, permit order within, is for the caller to see to.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct OutcomeTable {
    /// A sentence above it.
    pub caption: Option<String>,
    /// Its rows.
    pub rows: Vec<OutcomeRow>,
    /// What follows the rows that fit: `4 more met`, and the headings where each of them stands.
    pub more: Option<(String, Vec<String>)>,
    /// Notes below it, in small type, each beginning with its mark: `(a) …`.
    pub notes: Vec<Text>,
}

//! A value as the user gave it, with the place it was read from.

use std::ops::Mul;

use crate::quantity::{Range, Stated};
use crate::told::Place;

/// A value read from one of the user's files.
#[derive(Debug, Clone, PartialEq)]
pub struct Given<Q> {
    /// What it says, in `uom` quantities (SI inside).
    pub stated: Stated<Q>,
    /// The text as typed: `50 % to 70 %`.
    pub text: String,
    /// Where it was typed.
    pub place: Place,
    /// The keys that lead to it, joined with ` / `: `ponds / Storage pond / seepage`. It names the value in messages,
    /// in the list of assumptions, and as a variable in draws.
    pub key: String,
}

impl<Q: Copy> Given<Q> {
    /// Both ends, unless the value is not known.
    pub fn ends(&self) -> Option<(Q, Q)> {
        self.stated.known().map(|range| (range.low, range.high))
    }

    /// Whether the user wrote `not known`.
    pub fn is_not_known(&self) -> bool {
        matches!(self.stated, Stated::NotKnown)
    }
}

impl<Q: Copy + Mul<f64, Output = Q>> Given<Q> {
    /// Makes both ends so many times as large; the text stays as typed.
    pub fn scale(&mut self, times: f64) {
        if let Stated::Known(range) = self.stated {
            self.stated = Stated::Known(Range { low: range.low * times, high: range.high * times });
        }
    }
}

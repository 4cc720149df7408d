//! A value that is not a quantity, with its place.

use super::Given;
use crate::quantity::Stated;
use crate::told::Place;

/// A value read from one of the user's files that is not a quantity: a name, a date, a count, a word.
#[derive(Debug, Clone, PartialEq)]
pub struct Said<T> {
    /// What it says.
    pub value: T,
    /// The text as typed.
    pub text: String,
    /// Where it was typed.
    pub place: Place,
    /// The keys that lead to it, joined with ` / `.
    pub key: String,
}

impl<Q> From<Said<Stated<Q>>> for Given<Q> {
    fn from(said: Said<Stated<Q>>) -> Self {
        Self { stated: said.value, text: said.text, place: said.place, key: said.key }
    }
}

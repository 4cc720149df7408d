//! A computed value together with the method that gave it and whether the method holds there.

use crate::science::Method;

/// A value that knows its method, and whether the inputs lay where the method holds.
///
/// Out of range is an event that the result carries, never a silent clamp: the value is still what the record's
/// `outside` says it is (most often the equation's own answer), and `outside()` gives the sentence to print. Input
/// that no equation can answer (not a number, a negative size) gives a value that is not a number, marked outside.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ranged<Q> {
    /// The value.
    pub value: Q,
    /// The record of the method that gave it.
    pub method: &'static Method,
    /// Whether every input lay in the method's valid range.
    pub within: bool,
}

impl<Q> Ranged<Q> {
    /// A value by `method`; `within` says whether the inputs lay in its valid range.
    pub fn new(value: Q, method: &'static Method, within: bool) -> Self {
        Self { value, method, within }
    }

    /// What to print if the method was used outside its range.
    pub fn outside(&self) -> Option<&'static str> {
        (!self.within).then_some(self.method.outside)
    }

    /// The same event about another quantity derived from the value.
    pub fn map<R>(self, f: impl FnOnce(Q) -> R) -> Ranged<R> {
        Ranged { value: f(self.value), method: self.method, within: self.within }
    }

    /// Marks the result outside if `also` does not hold.
    pub fn and_within(mut self, also: bool) -> Self {
        self.within &= also;
        self
    }
}

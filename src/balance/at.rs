//! Indices that say what they count: one type for each list of the plan.
//!
//! An index comes from the plan that made the list, and opens no other list. A wrong one panics, as it does in a slice;
//! it never reads as 0 m³.

use std::marker::PhantomData;
use std::ops::{Add, Index, IndexMut};

use crate::facility::model::PlaceId;

/// An index into a list of its own.
pub trait At: Copy {
    /// The index of so many from the start.
    fn nth(number: usize) -> Self;
    /// How many stand before it.
    fn number(self) -> usize;
}

macro_rules! indices {
    ($($(#[$doc:meta])* $visible:vis $name:ident;)*) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        $visible struct $name(usize);

        impl At for $name {
            #[inline(always)]
            fn nth(number: usize) -> Self {
                Self(number)
            }

            #[inline(always)]
            fn number(self) -> usize {
                self.0
            }
        }
    )*};
}

indices! {
    /// A way of the ledger, and its entry on any day.
    pub WayAt;
    /// A supply.
    pub(crate) SupplyAt;
    /// A catchment.
    pub(crate) CatchmentAt;
    /// A use or a transfer.
    pub(crate) UserAt;
    /// A filter.
    pub(crate) FilterAt;
    /// A tank or pond.
    pub(crate) StoreAt;
    /// An outlet: where a flow goes.
    pub(crate) OutletAt;
    /// A `when`.
    pub(crate) WhenAt;
    /// One who asks for water.
    pub(crate) AskerAt;
    /// One asking over one way.
    pub(crate) SlotAt;
    /// A number of the plan, or the first of several that stand in a row.
    pub(crate) Param;
}

impl At for PlaceId {
    #[inline(always)]
    fn nth(number: usize) -> Self {
        Self(number)
    }

    #[inline(always)]
    fn number(self) -> usize {
        self.0
    }
}

impl Add<usize> for Param {
    type Output = Self;

    #[inline(always)]
    fn add(self, more: usize) -> Self {
        Self(self.0 + more)
    }
}

/// A list that only its own index opens.
#[derive(Debug, Clone, PartialEq)]
pub struct Per<I, T> {
    list: Vec<T>,
    by: PhantomData<fn(I)>,
}

impl<I, T> Default for Per<I, T> {
    fn default() -> Self {
        Self { list: Vec::new(), by: PhantomData }
    }
}

impl<I: At, T> Per<I, T> {
    /// The same value so many times.
    pub fn filled(count: usize, value: T) -> Self
    where
        T: Clone,
    {
        vec![value; count].into_iter().collect()
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.list.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// Adds one at the end; its index.
    pub fn push(&mut self, value: T) -> I {
        self.list.push(value);
        I::nth(self.list.len() - 1)
    }

    /// Sets all.
    pub fn fill(&mut self, value: T)
    where
        T: Clone,
    {
        self.list.fill(value);
    }

    /// Each in order.
    pub fn iter(&self) -> std::slice::Iter<'_, T> {
        self.list.iter()
    }

    /// Each in order, to change.
    pub fn iter_mut(&mut self) -> std::slice::IterMut<'_, T> {
        self.list.iter_mut()
    }

    /// The indices in order.
    pub fn indices(&self) -> impl DoubleEndedIterator<Item = I> + Clone + use<I, T> {
        (0..self.list.len()).map(I::nth)
    }

    /// Each with its index, in order.
    pub fn each(&self) -> impl DoubleEndedIterator<Item = (I, &T)> {
        self.list.iter().enumerate().map(|(number, value)| (I::nth(number), value))
    }

    /// The first that is wanted.
    pub fn find(&self, mut wanted: impl FnMut(&T) -> bool) -> Option<I> {
        self.each().find(|(_, value)| wanted(value)).map(|(at, _)| at)
    }

    /// All in a row.
    pub fn as_slice(&self) -> &[T] {
        &self.list
    }
}

impl<I: At, T> Index<I> for Per<I, T> {
    type Output = T;

    #[inline(always)]
    fn index(&self, at: I) -> &T {
        &self.list[at.number()]
    }
}

impl<I: At, T> IndexMut<I> for Per<I, T> {
    #[inline(always)]
    fn index_mut(&mut self, at: I) -> &mut T {
        &mut self.list[at.number()]
    }
}

impl<I, T> FromIterator<T> for Per<I, T> {
    fn from_iter<S: IntoIterator<Item = T>>(values: S) -> Self {
        Self { list: values.into_iter().collect(), by: PhantomData }
    }
}

impl<'a, I: At, T> IntoIterator for &'a Per<I, T> {
    type Item = &'a T;
    type IntoIter = std::slice::Iter<'a, T>;

    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}

impl<'a, I: At, T> IntoIterator for &'a mut Per<I, T> {
    type Item = &'a mut T;
    type IntoIter = std::slice::IterMut<'a, T>;

    fn into_iter(self) -> Self::IntoIter {
        self.iter_mut()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_index_opens_what_was_put_there() {
        let mut list: Per<StoreAt, f64> = Per::default();
        let (first, second) = (list.push(1.0), list.push(2.0));
        list[first] += 4.0;
        assert_eq!((list[first], list[second]), (5.0, 2.0));
        assert_eq!(list.find(|value| *value == 2.0), Some(second));
    }

    #[test]
    #[should_panic(expected = "index out of bounds")]
    fn a_wrong_index_is_no_nought() {
        let list: Per<StoreAt, f64> = Per::filled(2, 0.0);
        let _ = list[StoreAt::nth(2)];
    }
}

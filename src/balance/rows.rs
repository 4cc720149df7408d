//! Rows of lanes in memory, each at the start of a cache line: a load that straddles two lines costs twice.

use std::marker::PhantomData;
use std::ops::{Deref, DerefMut, Index, IndexMut};

use crate::balance::at::At;
use crate::balance::lanes::V;

/// Numbers of one cache line.
const LINE: usize = 8;

#[derive(Debug, Clone, Copy)]
#[repr(C, align(64))]
struct Line([f64; LINE]);

/// Rows of `L` numbers; a slice of [`V`].
#[derive(Debug, Clone)]
pub(crate) struct Rows<const L: usize> {
    lines: Vec<Line>,
    count: usize,
}

impl<const L: usize> Rows<L> {
    /// So many rows of zeros.
    pub fn zeros(count: usize) -> Self {
        Self { lines: vec![Line([0.0; LINE]); (count * L).div_ceil(LINE)], count }
    }
}

impl<const L: usize> Default for Rows<L> {
    #[inline(always)]
    fn default() -> Self {
        Self { lines: Vec::new(), count: 0 }
    }
}

impl<const L: usize> Deref for Rows<L> {
    type Target = [V<L>];

    #[inline(always)]
    fn deref(&self) -> &[V<L>] {
        // SAFETY: `V<L>` is `[f64; L]` and nothing else; the lines hold at least `count · L` numbers, all set, and lie at
        // least as V<L> must.
        unsafe { std::slice::from_raw_parts(self.lines.as_ptr().cast(), self.count) }
    }
}

impl<const L: usize> DerefMut for Rows<L> {
    #[inline(always)]
    fn deref_mut(&mut self) -> &mut [V<L>] {
        // SAFETY: as for `deref`; the borrow is exclusive.
        unsafe { std::slice::from_raw_parts_mut(self.lines.as_mut_ptr().cast(), self.count) }
    }
}

/// So many rows for each of a list, that only the list's own index opens: one, or one for each constituent.
#[derive(Debug, Clone)]
pub(crate) struct RowsPer<I, const L: usize> {
    rows: Rows<L>,
    each: usize,
    by: PhantomData<fn(I)>,
}

impl<I: At, const L: usize> RowsPer<I, L> {
    /// A row of zeros for each of so many.
    pub fn zeros(count: usize) -> Self {
        Self::several(count, 1)
    }

    /// `each` rows of zeros for each of so many.
    pub fn several(count: usize, each: usize) -> Self {
        Self { rows: Rows::zeros(count * each), each, by: PhantomData }
    }

    /// The rows of one.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub fn of(&self, at: I) -> &[V<L>] {
        &self.rows[at.number() * self.each..(at.number() + 1) * self.each]
    }

    /// The same, to change.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub fn of_mut(&mut self, at: I) -> &mut [V<L>] {
        &mut self.rows[at.number() * self.each..(at.number() + 1) * self.each]
    }

    /// So many rows from one on.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub fn from(&self, first: I, count: usize) -> &[V<L>] {
        &self.rows[first.number()..][..count]
    }

    /// All rows.
    pub fn iter(&self) -> std::slice::Iter<'_, V<L>> {
        self.rows.iter()
    }

    /// All rows, to change.
    pub fn iter_mut(&mut self) -> std::slice::IterMut<'_, V<L>> {
        self.rows.iter_mut()
    }

    /// Sets all rows.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub fn fill(&mut self, value: V<L>) {
        self.rows.fill(value);
    }
}

impl<I: At, const L: usize> Index<I> for RowsPer<I, L> {
    type Output = V<L>;

    #[inline(always)]
    fn index(&self, at: I) -> &V<L> {
        debug_assert_eq!(self.each, 1);
        &self.rows[at.number()]
    }
}

impl<I: At, const L: usize> IndexMut<I> for RowsPer<I, L> {
    #[inline(always)]
    fn index_mut(&mut self, at: I) -> &mut V<L> {
        debug_assert_eq!(self.each, 1);
        &mut self.rows[at.number()]
    }
}

impl<I: At, const L: usize> Index<(I, usize)> for RowsPer<I, L> {
    type Output = V<L>;

    #[inline(always)]
    fn index(&self, (at, row): (I, usize)) -> &V<L> {
        debug_assert!(row < self.each);
        &self.rows[at.number() * self.each + row]
    }
}

impl<I: At, const L: usize> IndexMut<(I, usize)> for RowsPer<I, L> {
    #[inline(always)]
    fn index_mut(&mut self, (at, row): (I, usize)) -> &mut V<L> {
        debug_assert!(row < self.each);
        &mut self.rows[at.number() * self.each + row]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_hold_what_is_put_into_them_and_lie_on_cache_lines() {
        let mut rows = Rows::<8>::zeros(3);
        rows[2] = V::splat(4.0);
        assert_eq!(rows.len(), 3);
        assert_eq!((rows[1], rows[2]), (V::zero(), V::splat(4.0)));
        assert_eq!(rows.as_ptr() as usize % 64, 0);
        let mut narrow = Rows::<1>::zeros(9);
        narrow[8] = V([1.0]);
        assert_eq!(narrow.iter().map(|v| v.0[0]).sum::<f64>(), 1.0);
    }
}

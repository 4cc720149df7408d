//! One value for each stated value: the middle of a range in the single run, a counter-based uniform draw in a member.

use std::collections::BTreeMap;
use std::marker::PhantomData;

use uom::Conversion;
use uom::si::{Dimension, Quantity, Units};

use crate::files::Given;
use crate::told::Place;

/// Which run: the single one, with the middle of each range, or a member of an ensemble, with one uniform draw from
/// each range for the whole run. Draws are keyed by seed, member and the value's key in the file, so that members are
/// paired across alternatives and a member can be replayed alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Draw {
    /// Seed of the ensemble.
    pub seed: u64,
    /// Number of the member; none for the single run.
    pub member: Option<u64>,
}

impl Draw {
    /// The single run.
    pub const MIDDLE: Self = Self { seed: 0, member: None };

    /// A member of an ensemble.
    pub fn member(seed: u64, member: u64) -> Self {
        Self { seed, member: Some(member) }
    }

    /// A number from 0 to below 1 for a variable; ½ for the single run.
    pub fn uniform(&self, key: &str) -> f64 {
        let Some(member) = self.member else {
            return 0.5;
        };
        let mut hash = 0xcbf2_9ce4_8422_2325_u64;
        for byte in key.bytes() {
            hash = (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
        }
        let mixed = mix(mix(mix(self.seed) ^ member) ^ hash);
        // 53 bits: exact in a double.
        (mixed >> 11) as f64 * (1.0 / 9_007_199_254_740_992.0)
    }
}

/// The finalizer of SplitMix64 (public domain), on a counter.
fn mix(value: u64) -> u64 {
    let mut z = value.wrapping_add(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

/// A value that the run used and that no record gave.
#[derive(Debug, Clone, PartialEq)]
pub struct Assumption {
    /// The keys that lead to it, or what it is about.
    pub key: String,
    /// The text as typed, or a sentence.
    pub text: String,
    /// Where it was typed; none for what the program took because nothing was typed.
    pub place: Option<Place>,
    /// Its source: `typed by the user` or `common practice, no source`.
    pub source: &'static str,
    /// Whether it is a range.
    pub is_range: bool,
    /// Whether it is `not known`.
    pub is_unknown: bool,
}

/// A quantity in SI base units.
pub(crate) trait Si: Copy {
    /// Its value in SI base units.
    fn si(self) -> f64;
}

impl<D, U> Si for Quantity<D, U, f64>
where
    D: Dimension + ?Sized,
    U: Units<f64> + ?Sized,
    f64: Conversion<f64>,
{
    fn si(self) -> f64 {
        self.value
    }
}

/// Draws values and remembers what was used.
#[derive(Debug)]
pub(crate) struct Sampler {
    pub draw: Draw,
    used: BTreeMap<String, Assumption>,
    /// Keys of values that were asked for and are not known, in order.
    unknown: Vec<String>,
}

/// A drawn value, and whether it is not known (then it is 0).
#[derive(Debug, Clone, Copy)]
pub(crate) struct Drawn {
    pub value: f64,
    pub unknown: bool,
}

impl Sampler {
    pub fn new(draw: Draw) -> Self {
        Self { draw, used: BTreeMap::new(), unknown: Vec::new() }
    }

    /// The value in SI base units; not known gives 0 and the mark.
    pub fn drawn<Q: Si>(&mut self, given: &Given<Q>) -> Drawn {
        if self.draw.member.is_none() && !self.used.contains_key(&given.key) {
            self.used.insert(
                given.key.clone(),
                Assumption {
                    key: given.key.clone(),
                    text: given.text.clone(),
                    place: Some(given.place.clone()),
                    source: "typed by the user",
                    is_range: given.ends().is_some_and(|(low, high)| low.si() != high.si()),
                    is_unknown: given.is_not_known(),
                },
            );
        }
        match given.ends() {
            Some((low, high)) => {
                let (low, high) = (low.si(), high.si());
                let value = if low == high { low } else { low + self.draw.uniform(&given.key) * (high - low) };
                Drawn { value: if value.is_finite() { value } else { 0.0 }, unknown: false }
            }
            None => {
                if self.draw.member.is_none() {
                    self.unknown.push(given.key.clone());
                }
                Drawn { value: 0.0, unknown: true }
            }
        }
    }

    /// How many values that are not known were asked for so far.
    pub fn unknowns(&self) -> usize {
        self.unknown.len()
    }

    /// Whether a value asked for since then is not known, but for those whose key has one of these words.
    pub fn unknown_since(&self, count: usize, but_for: &[&str]) -> bool {
        let told_apart = |key: &String| but_for.iter().any(|word| key.contains(word));
        self.unknown.iter().skip(count).any(|key| !told_apart(key))
    }

    /// The value alone.
    pub fn value<Q: Si>(&mut self, given: &Given<Q>) -> f64 {
        self.drawn(given).value
    }

    /// The value as a quantity; not known gives 0.
    pub fn quantity<D, U>(&mut self, given: &Given<Quantity<D, U, f64>>) -> Quantity<D, U, f64>
    where
        D: Dimension + ?Sized,
        U: Units<f64> + ?Sized,
    {
        Quantity { dimension: PhantomData, units: PhantomData, value: self.value(given) }
    }

    /// The value of an optional one.
    pub fn maybe<Q: Si>(&mut self, given: Option<&Given<Q>>) -> Option<f64> {
        given.map(|g| self.value(g))
    }

    /// Notes something that the program took because nothing was typed.
    pub fn took(&mut self, key: impl Into<String>, text: impl Into<String>) {
        if self.draw.member.is_none() {
            let key = key.into();
            self.used.entry(key.clone()).or_insert_with(|| Assumption {
                key,
                text: text.into(),
                place: None,
                source: "common practice, no source",
                is_range: false,
                is_unknown: false,
            });
        }
    }

    /// Everything used, by key.
    pub fn assumptions(self) -> Vec<Assumption> {
        self.used.into_values().collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn draws_depend_on_seed_member_and_key_alone_and_fill_the_interval() {
        let a = Draw::member(7, 3);
        assert_eq!(a.uniform("x").to_bits(), Draw::member(7, 3).uniform("x").to_bits());
        assert_ne!(a.uniform("x"), a.uniform("y"));
        assert_ne!(a.uniform("x"), Draw::member(7, 4).uniform("x"));
        assert_ne!(a.uniform("x"), Draw::member(8, 3).uniform("x"));
        assert_eq!(Draw::MIDDLE.uniform("x"), 0.5);
        let mean: f64 = (0..10_000).map(|m| Draw::member(1, m).uniform("x")).sum::<f64>() / 10_000.0;
        assert!((mean - 0.5).abs() < 0.01, "{mean}");
    }
}

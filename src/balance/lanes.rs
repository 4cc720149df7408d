//! Numbers side by side: one lane for each member of a block.
//!
//! Every operation is made of IEEE +, −, ×, ÷, square root and floor on each lane, and `exp` and `ln` are our own, so a
//! lane's bits do not depend on how many lanes run beside it. Plain array loops under operators: compilers turn them
//! into vector instructions.

use std::ops::{Add, AddAssign, BitAnd, BitOr, Div, Mul, Neg, Not, Sub, SubAssign};

/// `L` numbers.
#[derive(Debug, Clone, Copy, PartialEq)]
#[repr(transparent)]
pub(crate) struct V<const L: usize>(pub [f64; L]);

/// A mask: all bits set or none, for each lane.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct M<const L: usize>(pub [u64; L]);

impl<const L: usize> Default for V<L> {
    #[cfg_attr(not(debug_assertions), inline(always))]
    fn default() -> Self {
        Self([0.0; L])
    }
}

macro_rules! operator {
    ($trait:ident, $name:ident, $assign:tt) => {
        impl<const L: usize> $trait for V<L> {
            type Output = Self;
            #[cfg_attr(not(debug_assertions), inline(always))]
            fn $name(mut self, other: Self) -> Self {
                row_by_row::<L>();
                for i in 0..L {
                    self.0[i] $assign other.0[i];
                }
                self
            }
        }
        impl<const L: usize> $trait<f64> for V<L> {
            type Output = Self;
            #[cfg_attr(not(debug_assertions), inline(always))]
            fn $name(mut self, other: f64) -> Self {
                for i in 0..L {
                    self.0[i] $assign other;
                }
                self
            }
        }
    };
}

operator!(Add, add, +=);
operator!(Sub, sub, -=);
operator!(Mul, mul, *=);
operator!(Div, div, /=);

impl<const L: usize> AddAssign for V<L> {
    #[cfg_attr(not(debug_assertions), inline(always))]
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

/// Keeps a loop over rows a loop over rows. Left to itself the compiler turns eight rounds of it into columns and gathers
/// them from memory, which takes longer than the loop; a row is as wide as its vectors already. No instruction comes of it.
#[cfg_attr(not(debug_assertions), inline(always))]
fn row_by_row<const L: usize>() {
    #[cfg(all(target_arch = "x86_64", not(miri)))]
    if L > 1 {
        // SAFETY: nothing is executed.
        unsafe { std::arch::asm!("", options(nomem, nostack, preserves_flags)) };
    }
}

impl<const L: usize> SubAssign for V<L> {
    #[cfg_attr(not(debug_assertions), inline(always))]
    fn sub_assign(&mut self, other: Self) {
        *self = *self - other;
    }
}

impl<const L: usize> Neg for V<L> {
    type Output = Self;
    #[cfg_attr(not(debug_assertions), inline(always))]
    fn neg(mut self) -> Self {
        for i in 0..L {
            self.0[i] = -self.0[i];
        }
        self
    }
}

macro_rules! compare {
    ($name:ident, $op:tt) => {
        #[cfg_attr(not(debug_assertions), inline(always))]
        pub fn $name(self, other: Self) -> M<L> {
            let mut m = M([0; L]);
            for i in 0..L {
                m.0[i] = if self.0[i] $op other.0[i] { u64::MAX } else { 0 };
            }
            m
        }
    };
}

impl<const L: usize> V<L> {
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub fn splat(value: f64) -> Self {
        Self([value; L])
    }

    #[cfg_attr(not(debug_assertions), inline(always))]
    pub fn zero() -> Self {
        Self([0.0; L])
    }

    /// The lesser; the second where one is not a number.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub fn min(mut self, other: Self) -> Self {
        for i in 0..L {
            self.0[i] = if self.0[i] < other.0[i] { self.0[i] } else { other.0[i] };
        }
        self
    }

    /// The greater; the second where one is not a number.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub fn max(mut self, other: Self) -> Self {
        for i in 0..L {
            self.0[i] = if self.0[i] > other.0[i] { self.0[i] } else { other.0[i] };
        }
        self
    }

    /// Not below zero.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub fn pos(self) -> Self {
        self.max(Self::zero())
    }

    #[cfg_attr(not(debug_assertions), inline(always))]
    pub fn floor(mut self) -> Self {
        for i in 0..L {
            self.0[i] = self.0[i].floor();
        }
        self
    }

    #[cfg_attr(not(debug_assertions), inline(always))]
    pub fn sqrt(mut self) -> Self {
        for i in 0..L {
            self.0[i] = self.0[i].sqrt();
        }
        self
    }

    #[cfg_attr(not(debug_assertions), inline(always))]
    pub fn abs(mut self) -> Self {
        for i in 0..L {
            self.0[i] = self.0[i].abs();
        }
        self
    }

    compare!(lt, <);
    compare!(le, <=);
    compare!(gt, >);
    compare!(ge, >=);

    /// `self / other`, and 0 where `other` is not above zero.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub fn over(mut self, other: Self) -> Self {
        for i in 0..L {
            let d = if other.0[i] > 0.0 { other.0[i] } else { 1.0 };
            let n = if other.0[i] > 0.0 { self.0[i] } else { 0.0 };
            self.0[i] = n / d;
        }
        self
    }

    /// e to the power, relative error below 1e-14; 0 below −708, and never infinite.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub fn exp(mut self) -> Self {
        // x = k·ln 2 + r with |r| ≤ ½ ln 2; ln 2 in two parts so that r is exact to the last bits.
        const LOG2_E: f64 = std::f64::consts::LOG2_E;
        const LN2_HIGH: f64 = 6.931_471_803_691_238e-1;
        const LN2_LOW: f64 = 1.908_214_929_270_587_7e-10;
        // 1.5·2^52: adding it leaves the nearest integer in the low bits.
        const SHIFT: f64 = 6_755_399_441_055_744.0;
        for i in 0..L {
            let x = self.0[i];
            let x = if x < -708.0 { -708.0 } else { x };
            let x = if x > 708.0 { 708.0 } else { x };
            let shifted = x * LOG2_E + SHIFT;
            let k = shifted - SHIFT;
            let r = (x - k * LN2_HIGH) - k * LN2_LOW;
            let mut p = 1.0 / 6_227_020_800.0;
            p = p * r + 1.0 / 479_001_600.0;
            p = p * r + 1.0 / 39_916_800.0;
            p = p * r + 1.0 / 3_628_800.0;
            p = p * r + 1.0 / 362_880.0;
            p = p * r + 1.0 / 40_320.0;
            p = p * r + 1.0 / 5_040.0;
            p = p * r + 1.0 / 720.0;
            p = p * r + 1.0 / 120.0;
            p = p * r + 1.0 / 24.0;
            p = p * r + 1.0 / 6.0;
            p = p * r + 0.5;
            p = p * r + 1.0;
            p = p * r + 1.0;
            let scale = f64::from_bits((shifted.to_bits().wrapping_add(1023)) << 52);
            let y = p * scale;
            self.0[i] = if x <= -708.0 { 0.0 } else { y };
        }
        self
    }

    /// Natural logarithm of a positive, normal number; relative error below 1e-14 away from 1.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub fn ln(mut self) -> Self {
        const LN2_HIGH: f64 = 6.931_471_803_691_238e-1;
        const LN2_LOW: f64 = 1.908_214_929_270_587_7e-10;
        // 2^52, to turn a small integer in the low bits into a number without a conversion instruction.
        const TWO_52: f64 = 4_503_599_627_370_496.0;
        for i in 0..L {
            let bits = self.0[i].to_bits();
            // Mantissa in [√½, √2).
            let offset = bits.wrapping_sub(0x3FE6_A09E_667F_3BCD);
            // Biased so that it is never negative.
            let e_biased = (offset.wrapping_add(1024 << 52)) >> 52;
            let mantissa = f64::from_bits(bits.wrapping_sub(e_biased.wrapping_sub(1024) << 52));
            let e = f64::from_bits(0x4330_0000_0000_0000 | e_biased) - TWO_52 - 1024.0;
            let s = (mantissa - 1.0) / (mantissa + 1.0);
            let z = s * s;
            let mut p = 1.0 / 21.0;
            p = p * z + 1.0 / 19.0;
            p = p * z + 1.0 / 17.0;
            p = p * z + 1.0 / 15.0;
            p = p * z + 1.0 / 13.0;
            p = p * z + 1.0 / 11.0;
            p = p * z + 1.0 / 9.0;
            p = p * z + 1.0 / 7.0;
            p = p * z + 1.0 / 5.0;
            p = p * z + 1.0 / 3.0;
            let tail = 2.0 * s * (p * z);
            self.0[i] = e * LN2_HIGH + (2.0 * s + (tail + e * LN2_LOW));
        }
        self
    }
}

impl<const L: usize> M<L> {
    /// This mask's lanes from `yes`, the others from `no`.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub fn pick(self, yes: V<L>, no: V<L>) -> V<L> {
        let mut out = no;
        for i in 0..L {
            out.0[i] = f64::from_bits((self.0[i] & yes.0[i].to_bits()) | (!self.0[i] & no.0[i].to_bits()));
        }
        out
    }

    /// Whether any lane is set.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub fn any(self) -> bool {
        let mut all = 0;
        for i in 0..L {
            all |= self.0[i];
        }
        all != 0
    }

    #[cfg_attr(not(debug_assertions), inline(always))]
    pub fn all_or_none(value: bool) -> Self {
        Self([if value { u64::MAX } else { 0 }; L])
    }
}

impl<const L: usize> BitAnd for M<L> {
    type Output = Self;
    #[cfg_attr(not(debug_assertions), inline(always))]
    fn bitand(mut self, other: Self) -> Self {
        for i in 0..L {
            self.0[i] &= other.0[i];
        }
        self
    }
}

impl<const L: usize> BitOr for M<L> {
    type Output = Self;
    #[cfg_attr(not(debug_assertions), inline(always))]
    fn bitor(mut self, other: Self) -> Self {
        for i in 0..L {
            self.0[i] |= other.0[i];
        }
        self
    }
}

impl<const L: usize> Not for M<L> {
    type Output = Self;
    #[cfg_attr(not(debug_assertions), inline(always))]
    fn not(mut self) -> Self {
        for i in 0..L {
            self.0[i] = !self.0[i];
        }
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn exp_and_ln_stay_within_their_stated_error_and_within_range() {
        let mut x = -707.9_f64;
        while x < 700.0 {
            let ours = V([x]).exp().0[0];
            let std = x.exp();
            assert!((ours - std).abs() <= 1e-14 * std, "exp({x}): {ours} {std}");
            x += 0.377;
        }
        assert_eq!(V([-1e9]).exp().0[0], 0.0);
        assert_eq!(V([0.0]).exp().0[0], 1.0);
        let mut y = 1e-12_f64;
        while y < 1e12 {
            let ours = V([y]).ln().0[0];
            let std = y.ln();
            assert!((ours - std).abs() <= 1e-14 * std.abs().max(1e-3), "ln({y}): {ours} {std}");
            y *= 1.013;
        }
    }

    #[test]
    fn a_lane_gives_the_same_bits_alone_and_among_eight() {
        let xs = [-3.0, 0.1, 7.25, -700.0, 1e-9, 44.0, 0.5, -0.333];
        let wide = V(xs).exp();
        for (i, x) in xs.iter().enumerate() {
            assert_eq!(V([*x]).exp().0[0].to_bits(), wide.0[i].to_bits());
        }
        let ys = [3.0, 0.1, 7.25, 1e300, 1e-9, 44.0, 0.5, 0.999_999];
        let wide = V(ys).ln();
        for (i, y) in ys.iter().enumerate() {
            assert_eq!(V([*y]).ln().0[0].to_bits(), wide.0[i].to_bits());
        }
    }
}

//! Exact numbers: a fraction of whole numbers, its two infinities, and intervals of them.

use std::cmp::Ordering;
use std::ops::{Add, Div, Mul, Sub};

/// A fraction in lowest terms with a positive denominator.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rat {
    n: i128,
    d: i128,
}

fn gcd(a: i128, b: i128) -> i128 {
    if b == 0 { a.abs() } else { gcd(b, a % b) }
}

fn times(a: i128, b: i128) -> i128 {
    a.checked_mul(b).expect("the numbers stay small")
}

impl Rat {
    pub const ZERO: Self = Self { n: 0, d: 1 };

    pub fn new(n: i128, d: i128) -> Self {
        assert!(d != 0, "a fraction over zero");
        let g = gcd(n, d).max(1);
        let s = d.signum();
        Self { n: s * n / g, d: s * d / g }
    }

    pub fn whole(n: i64) -> Self {
        Self::new(i128::from(n), 1)
    }

    /// A decimal given as a whole number of tenths.
    pub fn tenths(n: i64) -> Self {
        Self::new(i128::from(n), 10)
    }

    pub fn to_f64(self) -> f64 {
        self.n as f64 / self.d as f64
    }

    pub fn parts(self) -> (i128, i128) {
        (self.n, self.d)
    }

    /// The decimal text, where it has one of at most three places.
    pub fn text(self) -> String {
        let thousandths = times(self.n, 1000) / self.d;
        assert_eq!(times(thousandths, self.d), times(self.n, 1000));
        let sign = if thousandths < 0 { "-" } else { "" };
        let (whole, rest) = (thousandths.abs() / 1000, thousandths.abs() % 1000);
        let rest = format!("{rest:03}");
        let rest = rest.trim_end_matches('0');
        if rest.is_empty() { format!("{sign}{whole}") } else { format!("{sign}{whole}.{rest}") }
    }
}

impl Add for Rat {
    type Output = Self;
    fn add(self, o: Self) -> Self {
        Self::new(times(self.n, o.d) + times(o.n, self.d), times(self.d, o.d))
    }
}

impl Sub for Rat {
    type Output = Self;
    fn sub(self, o: Self) -> Self {
        Self::new(times(self.n, o.d) - times(o.n, self.d), times(self.d, o.d))
    }
}

impl Mul for Rat {
    type Output = Self;
    fn mul(self, o: Self) -> Self {
        Self::new(times(self.n, o.n), times(self.d, o.d))
    }
}

impl Div for Rat {
    type Output = Self;
    fn div(self, o: Self) -> Self {
        Self::new(times(self.n, o.d), times(self.d, o.n))
    }
}

impl PartialOrd for Rat {
    fn partial_cmp(&self, o: &Self) -> Option<Ordering> {
        Some(self.cmp(o))
    }
}

impl Ord for Rat {
    fn cmp(&self, o: &Self) -> Ordering {
        times(self.n, o.d).cmp(&times(o.n, self.d))
    }
}

/// An end of an interval.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum End {
    Below,
    At(Rat),
    Above,
}

impl End {
    pub const ZERO: Self = Self::At(Rat::ZERO);

    pub fn rat(self) -> Option<Rat> {
        match self {
            Self::At(r) => Some(r),
            _ => None,
        }
    }

    pub fn plus(self, o: Self) -> Self {
        match (self, o) {
            (Self::At(a), Self::At(b)) => Self::At(a + b),
            (Self::At(_), other) => other,
            (other, _) => other,
        }
    }

    /// Times a positive number.
    pub fn scaled(self, by: Rat) -> Self {
        match self {
            Self::At(a) => Self::At(a * by),
            other => other,
        }
    }
}

/// What is known of a figure: its ends, and the value that the permit counts where the ends disagree.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Known {
    pub lo: End,
    pub hi: End,
    pub counted: Option<Rat>,
}

impl Known {
    pub fn point(x: Rat) -> Self {
        Self { lo: End::At(x), hi: End::At(x), counted: Some(x) }
    }

    /// Ends without a counted value, unless they are one.
    pub fn between(lo: End, hi: End) -> Self {
        let counted = (lo == hi).then(|| lo.rat()).flatten();
        Self { lo, hi, counted }
    }

    pub fn up_from_zero() -> Self {
        Self::between(End::ZERO, End::Above)
    }

    pub fn zero() -> Self {
        Self::point(Rat::ZERO)
    }

    pub fn plus(self, o: Self) -> Self {
        Self {
            lo: self.lo.plus(o.lo),
            hi: self.hi.plus(o.hi),
            counted: self.counted.zip(o.counted).map(|(a, b)| a + b),
        }
    }

    pub fn scaled(self, by: Rat) -> Self {
        Self { lo: self.lo.scaled(by), hi: self.hi.scaled(by), counted: self.counted.map(|c| c * by) }
    }

    /// The product of two that are nowhere below zero; a zero measured makes zero of anything.
    pub fn times(self, o: Self) -> Self {
        let product = |a: End, b: End| match (a, b) {
            (End::At(a), End::At(b)) => End::At(a * b),
            (End::At(Rat::ZERO), _) | (_, End::At(Rat::ZERO)) => End::ZERO,
            _ => End::Above,
        };
        let (lo, hi) = (product(self.lo, o.lo), product(self.hi, o.hi));
        let counted = if lo == hi { lo.rat() } else { self.counted.zip(o.counted).map(|(a, b)| a * b) };
        Self { lo, hi, counted }
    }

    pub fn sum(of: &[Self]) -> Self {
        of.iter().fold(Self::zero(), |sum, one| sum.plus(*one))
    }

    pub fn mean(of: &[Self]) -> Self {
        Self::sum(of).scaled(Rat::new(1, of.len() as i128))
    }

    pub fn highest(of: &[Self]) -> Self {
        Self::picked(of, |a, b| a > b)
    }

    pub fn lowest(of: &[Self]) -> Self {
        Self::picked(of, |a, b| a < b)
    }

    fn picked(of: &[Self], better: impl Fn(End, End) -> bool) -> Self {
        let best = |ends: Vec<End>| {
            let first = ends[0];
            ends.into_iter().fold(first, |best, end| if better(end, best) { end } else { best })
        };
        let lo = best(of.iter().map(|one| one.lo).collect());
        let hi = best(of.iter().map(|one| one.hi).collect());
        let counted: Option<Vec<End>> = of.iter().map(|one| one.counted.map(End::At)).collect();
        let counted = if lo == hi { lo.rat() } else { counted.and_then(|all| best(all).rat()) };
        Self { lo, hi, counted }
    }
}

/// Compares a product of fractions with a power of one, all above or at zero, without any limit on their size.
pub fn compare_product(of: &[Rat], with: Rat) -> Ordering {
    // Π nᵢ/dᵢ against (N/D)^k: Π nᵢ · D^k against N^k · Π dᵢ.
    let (mut left, mut right) = (vec![1_u32], vec![1_u32]);
    let (big_n, big_d) = with.parts();
    for one in of {
        let (n, d) = one.parts();
        grow(&mut left, n);
        grow(&mut left, big_d);
        grow(&mut right, big_n);
        grow(&mut right, d);
    }
    left.len().cmp(&right.len()).then_with(|| left.iter().rev().cmp(right.iter().rev()))
}

fn grow(number: &mut Vec<u32>, by: i128) {
    let by = u32::try_from(by).expect("a small number, at least zero");
    let mut carry = 0_u64;
    for digit in number.iter_mut() {
        let product = u64::from(*digit) * u64::from(by) + carry;
        *digit = product as u32;
        carry = product >> 32;
    }
    if carry > 0 {
        number.push(carry as u32);
    }
    while number.len() > 1 && number.last() == Some(&0) {
        number.pop();
    }
}

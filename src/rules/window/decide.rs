//! Holding a figure against a bound: rounded once, last, in whole numbers; equality is within.

use std::cmp::Ordering;

use crate::rules::{Bound, Interval, Number, Outcome, Rounding};

/// On which side of a bound a figure lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Side {
    /// Within, whatever the figure is between its ends.
    Within,
    /// Over the upper bound.
    Over,
    /// Under the lower bound.
    Under,
    /// The data allow both.
    Open,
}

impl Side {
    /// The outcome of measured data: `enough` says whether all that was due is there. What is over outranks what is
    /// missing; what is missing is never met.
    pub fn outcome(self, bound: &Bound, enough: bool) -> Outcome {
        let two_sided = bound.upper().is_some() && bound.lower().is_some();
        match self {
            Self::Over | Self::Under if two_sided => Outcome::OutsideRange,
            Self::Over => Outcome::Exceeded,
            Self::Under => Outcome::BelowMinimum,
            Self::Within if enough => Outcome::Met,
            Self::Within | Self::Open => Outcome::NotShown,
        }
    }
}

/// Holds a figure against a bound. What the permit says a result below detection counts as decides only where
/// `substitutes` (averages, totals and means of more than one value) and only between the ends.
pub fn side(figure: &Interval, bound: &Bound, rounding: Rounding, substitutes: bool) -> Side {
    let over = |value: Number, limit: Number, equality_is_within: bool| match value.rounded_against(rounding, limit) {
        Ordering::Greater => true,
        Ordering::Equal => !equality_is_within,
        Ordering::Less => false,
    };
    let under = |value: Number, limit: Number, equality_is_within: bool| match value.rounded_against(rounding, limit) {
        Ordering::Less => true,
        Ordering::Equal => !equality_is_within,
        Ordering::Greater => false,
    };
    let exact = figure.is_exact();
    let counted = figure.counted.filter(|_| substitutes || exact);
    let mut open = false;
    if let Some((limit, equal)) = bound.upper() {
        if over(figure.low, limit, equal) {
            return Side::Over;
        }
        if !exact && over(figure.high, limit, equal) {
            match counted {
                Some(value) if over(value, limit, equal) => return Side::Over,
                Some(_) => {}
                None => open = true,
            }
        }
    }
    if let Some((limit, equal)) = bound.lower() {
        if under(figure.high, limit, equal) {
            return Side::Under;
        }
        if !exact && under(figure.low, limit, equal) {
            match counted {
                Some(value) if under(value, limit, equal) => return Side::Under,
                Some(_) => {}
                None => open = true,
            }
        }
    }
    if open { Side::Open } else { Side::Within }
}

/// Whether a value alone lies outside a bound, not rounded.
pub(crate) fn is_outside(value: Number, bound: &Bound) -> bool {
    !matches!(side(&Interval::exactly(value), bound, Rounding::Not, false), Side::Within)
}

/// How far a value is inside a bound (below zero: outside), against the nearer bound; none without a bound.
pub fn margin(value: Number, bound: &Bound) -> Option<Number> {
    let above = bound.upper().map(|(limit, _)| limit.minus(value));
    let below = bound.lower().map(|(limit, _)| value.minus(limit));
    match (above, below) {
        (Some(above), Some(below)) => Some(above.or_less(below)),
        (above, below) => above.or(below),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::Tie;

    fn n(text: &str) -> Number {
        Number::parse(text).unwrap()
    }

    fn at_most(limit: &str) -> Bound {
        Bound::plain(Some(n(limit)), None)
    }

    fn exact(text: &str) -> Interval {
        Interval::exactly(n(text))
    }

    fn below(text: &str, counted: &str) -> Interval {
        Interval { low: Number::ZERO, high: n(text), counted: Some(n(counted)) }
    }

    #[test]
    fn shall_not_exceed_30_is_met_by_30_and_a_strict_bound_is_not() {
        assert_eq!(side(&exact("30"), &at_most("30"), Rounding::Not, true), Side::Within);
        assert_eq!(side(&exact("30.1"), &at_most("30"), Rounding::Not, true), Side::Over);
        let strict = Bound { at_most: None, below: Some(n("30")), ..at_most("30") };
        assert_eq!(side(&exact("30"), &strict, Rounding::Not, true), Side::Over);
        let least = Bound::plain(None, Some(n("2")));
        assert_eq!(side(&exact("2"), &least, Rounding::Not, true), Side::Within);
        assert_eq!(side(&exact("1.9"), &least, Rounding::Not, true), Side::Under);
    }

    /// 30.4 against 30: over as it stands, met at two digits; 30.5 becomes 31 half up and 30 half even (P091).
    #[test]
    fn rounding_first_or_not_at_all_can_turn_an_outcome() {
        let whole = |tie| Rounding::Decimals { places: 0, tie };
        assert_eq!(side(&exact("30.4"), &at_most("30"), Rounding::Not, true), Side::Over);
        let two = Rounding::Significant { digits: 2, tie: Tie::HalfUp };
        assert_eq!(side(&exact("30.4"), &at_most("30"), two, true), Side::Within);
        assert_eq!(side(&exact("30.5"), &at_most("30"), whole(Tie::HalfUp), true), Side::Over);
        assert_eq!(side(&exact("30.5"), &at_most("30"), whole(Tie::HalfEven), true), Side::Within);
    }

    #[test]
    fn a_single_result_below_a_detection_limit_above_the_limit_is_not_shown_whatever_it_counts_as() {
        assert_eq!(side(&below("5", "0"), &at_most("4"), Rounding::Not, false), Side::Open);
        assert_eq!(side(&below("5", "0"), &at_most("4"), Rounding::Not, true), Side::Within);
        assert_eq!(side(&below("5", "5"), &at_most("4"), Rounding::Not, true), Side::Over);
        assert_eq!(side(&below("5", "0"), &at_most("5"), Rounding::Not, false), Side::Within);
    }

    #[test]
    fn what_a_result_counts_as_may_equal_the_limit_and_is_then_within_at_most() {
        let mean = below("5", "4");
        assert_eq!(side(&mean, &at_most("4"), Rounding::Not, true), Side::Within);
        let strict = Bound { at_most: None, below: Some(n("4")), ..at_most("4") };
        assert_eq!(side(&mean, &strict, Rounding::Not, true), Side::Over);
        let least = Bound::plain(None, Some(n("4")));
        assert_eq!(side(&mean, &least, Rounding::Not, true), Side::Within);
        assert_eq!(side(&below("5", "3"), &least, Rounding::Not, true), Side::Under);
    }

    /// 5.0 and 9.0 have a mean of 7.0; each is outside 6 to 8 all the same.
    #[test]
    fn a_range_is_outside_on_either_side_and_its_ends_belong() {
        let range = Bound::plain(Some(n("9.0")), Some(n("6.0")));
        assert_eq!(side(&exact("6.0"), &range, Rounding::Not, false), Side::Within);
        assert_eq!(side(&exact("9.0"), &range, Rounding::Not, false), Side::Within);
        assert_eq!(side(&exact("5.0"), &range, Rounding::Not, false).outcome(&range, true), Outcome::OutsideRange);
        assert_eq!(side(&exact("9.1"), &range, Rounding::Not, false).outcome(&range, true), Outcome::OutsideRange);
        assert_eq!(margin(n("8.4"), &range), Some(n("0.6")));
    }

    #[test]
    fn what_is_over_outranks_what_is_missing_and_what_is_missing_is_never_met() {
        let bound = at_most("30");
        assert_eq!(Side::Over.outcome(&bound, false), Outcome::Exceeded);
        assert_eq!(Side::Within.outcome(&bound, false), Outcome::NotShown);
        assert_eq!(Side::Open.outcome(&bound, true), Outcome::NotShown);
        assert_eq!(Side::Within.outcome(&bound, true), Outcome::Met);
    }
}

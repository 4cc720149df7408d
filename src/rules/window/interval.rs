//! What a value may be at least and at most: results below detection, readings over several days, missing values.
//!
//! `<x` is [0, x], `>x` is [x, no upper end), a missing part of a total or a maximum is [0, no upper end). A statistic
//! that rises in every value is worked out on the low ends and on the high ends; percent removal crosses ends.

use std::cmp::Ordering;

use crate::rules::{Number, Tie};

/// Two ends, and what it counts as under the permit's own words where they say so.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// The least it can be.
    pub low: Number,
    /// The most it can be.
    pub high: Number,
    /// What it counts as; none where the permit does not say what a result below detection counts as.
    pub counted: Option<Number>,
}

impl Interval {
    /// A value known as it is.
    pub fn exactly(value: Number) -> Self {
        Self { low: value, high: value, counted: Some(value) }
    }

    /// Between two ends, nothing more being said.
    pub fn between(low: Number, high: Number) -> Self {
        Self { low, high, counted: (low == high).then_some(low) }
    }

    /// Missing from a total or a maximum.
    pub fn missing() -> Self {
        Self { low: Number::ZERO, high: Number::INFINITE, counted: None }
    }

    /// Whether both ends are the same.
    pub fn is_exact(&self) -> bool {
        self.low == self.high
    }

    /// The sum.
    #[must_use]
    pub fn plus(self, other: Self) -> Self {
        self.with(other, Number::plus)
    }

    /// The product of two values that are not below zero.
    #[must_use]
    pub fn times(self, other: Self) -> Self {
        self.with(other, Number::times)
    }

    /// Both ends and what it counts as, times a factor above zero.
    #[must_use]
    pub fn scaled(self, factor: Number) -> Self {
        self.times(Self::exactly(factor))
    }

    /// Over a divisor above zero; none where the divisor may be zero.
    pub fn over(self, divisor: Self) -> Option<Self> {
        let counted = match (self.counted, divisor.counted) {
            (Some(value), Some(divisor)) => value.over(divisor),
            _ => None,
        };
        Some(Self { low: self.low.over(divisor.high)?, high: self.high.over(divisor.low)?, counted })
    }

    /// The greater.
    #[must_use]
    pub fn or_more(self, other: Self) -> Self {
        self.with(other, Number::or_more)
    }

    /// The lesser.
    #[must_use]
    pub fn or_less(self, other: Self) -> Self {
        self.with(other, Number::or_less)
    }

    fn with(self, other: Self, join: fn(Number, Number) -> Number) -> Self {
        let counted = match (self.counted, other.counted) {
            (Some(a), Some(b)) => Some(join(a, b)),
            _ => None,
        };
        Self { low: join(self.low, other.low), high: join(self.high, other.high), counted }
    }
}

/// The sum; nothing for none.
pub fn total(values: &[Interval]) -> Interval {
    values.iter().fold(Interval::exactly(Number::ZERO), |sum, value| sum.plus(*value))
}

/// The plain mean; none for no values.
pub fn mean(values: &[Interval]) -> Option<Interval> {
    total(values).over(Interval::exactly(Number::count(values.len())))
}

/// A value with the weight that it has in a mean.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weighed {
    /// The value.
    pub value: Interval,
    /// Its weight, not below zero.
    pub weight: Interval,
}

/// The least that a mean weighted by weights between two ends can be, of points: weights of what is less than the mean are
/// at their high end, of what is more at their low end; a weight without upper end draws the mean to its value.
fn least_weighted(points: &[(Number, Interval)]) -> Option<Number> {
    let mut sorted: Vec<&(Number, Interval)> = points.iter().collect();
    sorted.sort_by(|a, b| a.0.compare(b.0));
    let drawn =
        sorted.iter().filter(|(_, weight)| !weight.high.is_finite()).map(|(value, _)| *value).reduce(Number::or_less);
    let mut best = drawn;
    for heavy in 0..=sorted.len() {
        let (mut sum, mut weight) = (Number::ZERO, Number::ZERO);
        for (at, (value, of)) in sorted.iter().enumerate() {
            let own = if at < heavy && of.high.is_finite() { of.high } else { of.low };
            if own.is_zero() {
                continue;
            }
            sum = sum.plus(value.times(own));
            weight = weight.plus(own);
        }
        if let Some(mean) = sum.over(weight) {
            best = Some(best.map_or(mean, |least| least.or_less(mean)));
        }
    }
    best
}

/// The mean weighted by flow, over all values in the intervals. None where nothing can have flowed.
pub fn weighted(values: &[Weighed]) -> Option<Interval> {
    let of = |pick: fn(&Interval) -> Number| -> Vec<(Number, Interval)> {
        values.iter().filter(|of| !of.weight.high.is_zero()).map(|of| (pick(&of.value), of.weight)).collect()
    };
    let low = least_weighted(&of(|value| value.low))?;
    let high = if values.iter().any(|of| !of.value.high.is_finite() && !of.weight.high.is_zero()) {
        Number::INFINITE
    } else {
        let mirrored: Vec<(Number, Interval)> =
            of(|value| value.high).into_iter().map(|(value, weight)| (value.negative(), weight)).collect();
        least_weighted(&mirrored)?.negative()
    };
    let exact = values.iter().all(|of| of.weight.is_exact());
    let counted: Option<Vec<(Number, Interval)>> =
        values.iter().filter(|of| !of.weight.high.is_zero()).map(|of| Some((of.value.counted?, of.weight))).collect();
    Some(Interval { low, high, counted: counted.filter(|_| exact).and_then(|counted| least_weighted(&counted)) })
}

/// The nth root of the product of n values. With a low end of 0 its low end is 0, and what counts as 0 is no counted
/// value in it. Roots are computed and taken to 15 significant digits, but never on the other side of a bound, nor off it,
/// than the product is of the bound's own power: that is compared exactly. None for no values.
pub fn geometric_mean(values: &[Interval], bounds: &[Number]) -> Option<Interval> {
    if values.is_empty() {
        return None;
    }
    let root = |ends: &[Number]| {
        if ends.iter().any(|end| !end.is_finite()) {
            return Number::INFINITE;
        }
        if ends.iter().any(|end| end.compare(Number::ZERO).is_le()) {
            return Number::ZERO;
        }
        let logs: f64 = ends.iter().map(|end| end.to_f64().ln()).sum();
        let computed = Number::computed((logs / ends.len() as f64).exp()).settled();
        let against = |mark: Number| -> Option<Ordering> {
            if mark.compare(Number::ZERO).is_le() {
                return None;
            }
            let product =
                ends.iter().try_fold(Number::whole(1), |product, end| Some(product.times(end.over(mark)?)))?;
            Some(product.against(Number::whole(1)))
        };
        // A root that is a short number is that number.
        let short = computed.to_significant(9, Tie::HalfEven);
        if against(short) == Some(Ordering::Equal) {
            return short;
        }
        for bound in bounds {
            let Some(side) = against(*bound) else {
                continue;
            };
            if side == Ordering::Equal {
                return *bound;
            }
            if computed.against(*bound) != side {
                let off = Number::quotient(1, 1_000_000_000_000);
                let near = match side {
                    Ordering::Less => Number::whole(1).minus(off),
                    _ => Number::whole(1).plus(off),
                };
                return bound.times(near);
            }
        }
        computed
    };
    let counted: Option<Vec<Number>> =
        values.iter().map(|value| value.counted.filter(|counted| !counted.is_zero() || value.is_exact())).collect();
    Some(Interval {
        low: root(&values.iter().map(|value| value.low).collect::<Vec<_>>()),
        high: root(&values.iter().map(|value| value.high).collect::<Vec<_>>()),
        counted: counted.map(|counted| root(&counted)),
    })
}

/// 100 × (in − out) / in, in percent: least with the low end of `entering` and the high end of `leaving`; without a lower
/// end where nothing may have entered. None where nothing entered at all.
pub fn percent_removal(entering: Interval, leaving: Interval) -> Option<Interval> {
    let removed = |entering: Number, leaving: Number| -> Option<Number> {
        if !leaving.is_finite() {
            return Some(Number::Float(f64::NEG_INFINITY));
        }
        Some(Number::whole(100).minus(leaving.times(Number::whole(100)).over(entering)?))
    };
    if entering.high.compare(Number::ZERO) != Ordering::Greater {
        return None;
    }
    let counted = match (entering.counted, leaving.counted) {
        (Some(entering), Some(leaving)) if !entering.is_zero() => removed(entering, leaving),
        _ => None,
    };
    Some(Interval {
        low: removed(entering.low, leaving.high).unwrap_or(Number::Float(f64::NEG_INFINITY)),
        high: removed(entering.high, leaving.low)?,
        counted,
    })
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::*;

    fn n(text: &str) -> Number {
        Number::parse(text).unwrap()
    }

    fn x(text: &str) -> Interval {
        Interval::exactly(n(text))
    }

    fn below(text: &str, counted: Option<&str>) -> Interval {
        Interval { low: Number::ZERO, high: n(text), counted: counted.map(n) }
    }

    /// 12, <5, <5: a spreadsheet's AVERAGE skips the text cells and says 12.
    #[test]
    fn results_below_detection_are_not_skipped_in_a_mean() {
        let mean = mean(&[x("12"), below("5", None), below("5", None)]).unwrap();
        assert_eq!(mean.low, n("4"));
        assert_eq!(mean.high, Number::quotient(22, 3));
        assert!(mean.counted.is_none());
    }

    /// P058, P060: zero (a permit clause seen) and full substitution (common state practice, from memory).
    #[test]
    fn what_a_result_below_detection_counts_as_changes_the_mean() {
        for (counted, expected) in [("0", "5"), ("5", "7.5"), ("2.5", "6.25")] {
            let values = [below("5", Some(counted)), x("8"), below("5", Some(counted)), x("12")];
            assert_eq!(mean(&values).unwrap().counted, Some(n(expected)));
        }
    }

    /// P054: a state's calculation sheet for discharge reports, which prints 5.90.
    #[test]
    fn an_arithmetic_mean_is_exact() {
        let values = ["5.3", "6.21", "4", "5.25", "8.72"].map(x);
        assert_eq!(mean(&values).unwrap().low, n("5.896"));
    }

    /// P055, P057: a state's calculation sheet; a Colorado footnote where "less than 2.2" enters as 1.
    #[test]
    fn a_geometric_mean_is_the_nth_root() {
        let plain = geometric_mean(&["50", "100", "150", "200"].map(x), &[]).unwrap();
        assert_relative_eq!(plain.low.to_f64(), 110.66819197, max_relative = 1e-9);
        let values = [below("2.2", Some("1")), x("10"), x("50"), x("126"), x("200")];
        let footnote = geometric_mean(&values, &[]).unwrap();
        assert_relative_eq!(footnote.counted.unwrap().to_f64(), 26.3071686526, max_relative = 1e-9);
        assert!(footnote.low.is_zero());
    }

    /// P051, P052, and 85 exactly at the boundary (40 CFR 133.101(j), from averages, not from daily removals).
    #[test]
    fn percent_removal_is_worked_out_from_averages_and_is_exact_at_the_boundary() {
        assert_eq!(percent_removal(x("200"), x("30")).unwrap().low, n("85"));
        assert_eq!(percent_removal(x("180"), x("27")).unwrap().low, n("85"));
        assert_eq!(percent_removal(x("150"), x("24")).unwrap().low, n("84"));
    }

    #[test]
    fn percent_removal_crosses_ends_and_is_undefined_where_nothing_may_have_entered() {
        let removal = percent_removal(x("100"), below("10", None)).unwrap();
        assert_eq!((removal.low, removal.high), (n("90"), n("100")));
        let open = percent_removal(below("10", None), x("1")).unwrap();
        assert!(!open.low.is_finite());
        assert_eq!(open.high, n("90"));
        assert!(percent_removal(x("0"), x("0")).is_none());
    }

    fn pair(value: Interval, weight: Interval) -> Weighed {
        Weighed { value, weight }
    }

    /// 10 m³ at 200 and 90 m³ at 20 mg/L: 110 plain, 38 weighted.
    #[test]
    fn a_mean_weighted_by_flow_is_not_the_plain_mean() {
        let values = [pair(x("200"), x("10")), pair(x("20"), x("90"))];
        assert_eq!(weighted(&values).unwrap().low, n("38"));
        assert_eq!(mean(&[x("200"), x("20")]).unwrap().low, n("110"));
        assert!(weighted(&[pair(x("5"), x("0"))]).is_none());
    }

    /// 200 with 10 to 30 m³, 20 with 90 m³: least (2000 + 1800)/100 = 38, most (6000 + 1800)/120 = 65; the quotient of
    /// ends would say 31.7 to 78. Of water with no upper end the mean may come to its own value.
    #[test]
    fn a_weighted_mean_takes_the_exact_range_and_not_the_quotient_of_ends() {
        let some = Interval::between(n("10"), n("30"));
        let mean = weighted(&[pair(x("200"), some), pair(x("20"), x("90"))]).unwrap();
        assert_eq!((mean.low, mean.high), (n("38"), n("65")));
        let open = weighted(&[pair(x("200"), Interval::missing()), pair(x("20"), x("90"))]).unwrap();
        assert_eq!((open.low, open.high), (n("20"), n("200")));
    }

    /// J6: 410 three times is 410; 205, 820 and 410 too, and a millionth more is over 410.
    #[test]
    fn a_geometric_mean_that_equals_its_limit_is_not_over_it() {
        let bound = [n("410")];
        let same = geometric_mean(&["410", "410", "410"].map(x), &bound).unwrap();
        assert_eq!(same.low, n("410"));
        let other = geometric_mean(&["205", "820", "410"].map(x), &bound).unwrap();
        assert_eq!(other.low, n("410"));
        let more = geometric_mean(&["205", "820", "410.000001"].map(x), &bound).unwrap();
        assert_eq!(more.low.against(n("410")), Ordering::Greater);
    }

    /// Week one: four samples, mean 10; week two: one sample, 60.
    #[test]
    fn a_mean_of_means_is_not_the_pooled_mean() {
        let week_one = mean(&["8", "12", "9", "11"].map(x)).unwrap();
        assert_eq!(mean(&[week_one, x("60")]).unwrap().low, n("35"));
        assert_eq!(mean(&["8", "12", "9", "11", "60"].map(x)).unwrap().low, n("20"));
    }

    #[test]
    fn one_missing_value_opens_the_upper_end_of_a_total_and_leaves_the_lower() {
        let sum = total(&[x("10"), Interval::missing(), x("5")]);
        assert_eq!(sum.low, n("15"));
        assert!(!sum.high.is_finite());
        assert!(sum.counted.is_none());
        assert!(mean(&[]).is_none());
    }
}

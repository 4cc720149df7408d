//! Where a function of one figure is nothing.

/// Halvings: the bracket of doubles a metre apart is closed after 53.
const HALVINGS: u32 = 100;

/// Where a continuous function is nothing between two ends, by halving the bracket that is kept all the time; none where
/// it has one sign at both ends.
pub fn root_between(of: &dyn Fn(f64) -> f64, low: f64, high: f64) -> Option<f64> {
    let (at_low, at_high) = (of(low), of(high));
    if at_low == 0.0 {
        return Some(low);
    }
    if at_high == 0.0 {
        return Some(high);
    }
    // What is no number has no sign.
    if at_low.is_nan() || at_high.is_nan() || (at_low > 0.0) == (at_high > 0.0) {
        return None;
    }
    let (mut low, mut high) = (low, high);
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if middle <= low.min(high) || middle >= low.max(high) {
            break;
        }
        let here = of(middle);
        if here == 0.0 {
            return Some(middle);
        }
        if here * at_low > 0.0 { low = middle } else { high = middle }
    }
    Some(0.5 * (low + high))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn a_root_is_found_between_ends_of_two_signs_and_none_is_made_up() {
        assert_relative_eq!(root_between(&|x| x * x - 2.0, 0.0, 5.0).unwrap(), 2f64.sqrt(), max_relative = 1e-15);
        // Falling, and at an end.
        assert_relative_eq!(root_between(&|x| 3.0 - x.exp(), 0.0, 2.0).unwrap(), 3f64.ln(), max_relative = 1e-15);
        assert_eq!(root_between(&|x| x - 1.0, 1.0, 2.0), Some(1.0));
        assert_eq!(root_between(&|x| x * x + 1.0, -1.0, 1.0), None);
        assert_eq!(root_between(&|_| f64::NAN, -1.0, 1.0), None);
    }
}

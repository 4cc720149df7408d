//! Size classes: eight by default, and the split of one at an opening.

use crate::science::numerics::normal;
use crate::science::particles::kind::SizeSpread;
use thiserror::Error;
use uom::si::f64::Length;
use uom::si::length::micrometer;

/// Upper ends of the default classes, µm.
const DEFAULT_EDGES_UM: [f64; 8] = [2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 300.0, 1000.0];

/// Why a list of class edges cannot be used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum ClassEdgesError {
    /// There is no edge.
    #[error("at least one upper end of a size class is needed")]
    None,
    /// An edge is not above the one before it, or not above zero.
    #[error("upper ends of size classes must rise and be above zero")]
    NotRising,
}

/// Size classes by their *upper* ends. The first runs from zero; what is coarser than the last upper end goes in
/// the last class.
#[derive(Debug, Clone, PartialEq)]
pub struct SizeClasses {
    upper: Vec<Length>,
}

impl Default for SizeClasses {
    /// Eight classes with upper ends 2, 5, 10, 20, 50, 100, 300, 1000 µm.
    fn default() -> Self {
        Self { upper: DEFAULT_EDGES_UM.iter().map(|&um| Length::new::<micrometer>(um)).collect() }
    }
}

impl SizeClasses {
    /// Classes with these upper ends, which must rise.
    pub fn new(upper: Vec<Length>) -> Result<Self, ClassEdgesError> {
        let mut before = 0.0;
        for edge in &upper {
            let um = edge.get::<micrometer>();
            if !(um.is_finite() && um > before) {
                return Err(ClassEdgesError::NotRising);
            }
            before = um;
        }
        if upper.is_empty() {
            return Err(ClassEdgesError::None);
        }
        Ok(Self { upper })
    }

    /// How many classes there are; at least one.
    pub fn count(&self) -> usize {
        self.upper.len()
    }

    /// Upper ends, rising.
    pub fn upper_ends(&self) -> &[Length] {
        &self.upper
    }

    /// Lower and upper end of each class, finest first. The first class, which runs from zero, is given a quarter of
    /// its upper end as its lower one, so that its middle in log size is half its upper end (1 µm by default).
    pub fn bounds(&self) -> Vec<(Length, Length)> {
        let mut lower = self.upper.first().map_or(Length::new::<micrometer>(0.0), |first| *first / 4.0);
        let mut bounds = Vec::with_capacity(self.upper.len());
        for &upper in &self.upper {
            bounds.push((lower, upper));
            lower = upper;
        }
        bounds
    }

    /// The size that stands for each class: √(lower·upper); half the upper end for the first.
    pub fn representative_sizes(&self) -> Vec<Length> {
        self.bounds()
            .into_iter()
            .map(|(lower, upper)| {
                Length::new::<micrometer>((lower.get::<micrometer>() * upper.get::<micrometer>()).sqrt())
            })
            .collect()
    }

    /// Share of mass in each class. Record: [`crate::science::particles::records::LOGNORMAL_SPREAD`]. The shares add up to one.
    pub fn mass_shares(&self, spread: &SizeSpread) -> Vec<f64> {
        let mut finer_before = 0.0;
        let last = self.upper.len().saturating_sub(1);
        self.upper
            .iter()
            .enumerate()
            .map(|(class, &upper)| {
                let finer = if class == last { 1.0 } else { finer_share(spread, upper) };
                let share = finer - finer_before;
                finer_before = finer;
                share
            })
            .collect()
    }

    /// Share of each class's mass that is coarser than `opening`. Record: [`crate::science::particles::records::CLASS_SPLIT`].
    pub fn coarser_than(&self, opening: Length) -> Vec<f64> {
        let cut = opening.get::<micrometer>();
        self.bounds()
            .into_iter()
            .map(|(lower, upper)| {
                let (lower, upper) = (lower.get::<micrometer>(), upper.get::<micrometer>());
                if cut <= lower {
                    1.0
                } else if cut >= upper {
                    0.0
                } else {
                    (upper / cut).ln() / (upper / lower).ln()
                }
            })
            .collect()
    }
}

fn finer_share(spread: &SizeSpread, size: Length) -> f64 {
    let position = (size / spread.median()).value.ln();
    let sigma = spread.sigma();
    if sigma > 0.0 {
        normal::share_below(position / sigma)
    } else if position >= 0.0 {
        1.0
    } else {
        0.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn um(value: f64) -> Length {
        Length::new::<micrometer>(value)
    }

    #[test]
    fn shares_that_do_not_add_up_would_lose_mass_at_the_inlet() {
        let classes = SizeClasses::default();
        for (median, d90) in [(10.0, 60.0), (0.5, 0.9), (5000.0, 9000.0), (20.0, 20.0)] {
            let spread = SizeSpread::lognormal(um(median), um(d90)).expect("rising sizes");
            let shares = classes.mass_shares(&spread);
            assert_eq!(shares.len(), 8);
            assert!(shares.iter().all(|share| (0.0..=1.0).contains(share)));
            assert!((shares.iter().sum::<f64>() - 1.0).abs() < 1e-15);
        }
    }

    #[test]
    fn half_the_mass_is_finer_than_the_median_and_a_tenth_coarser_than_d90() {
        let classes = SizeClasses::default();
        let spread = SizeSpread::lognormal(um(20.0), um(100.0)).expect("rising sizes");
        let shares = classes.mass_shares(&spread);
        assert!((shares.iter().take(4).sum::<f64>() - 0.5).abs() < 1e-12);
        assert!((shares.iter().skip(6).sum::<f64>() - 0.1).abs() < 1e-12);
    }

    #[test]
    fn a_class_cut_by_an_opening_is_split_in_log_size() {
        let shares = SizeClasses::default().coarser_than(um(200.0));
        let expected = (300.0f64 / 200.0).ln() / 3f64.ln();
        assert_eq!(shares.iter().take(6).copied().collect::<Vec<_>>(), vec![0.0; 6]);
        assert!((shares[6] - expected).abs() < 1e-12);
        assert_eq!(shares[7], 1.0);
        assert_eq!(SizeClasses::default().coarser_than(um(1.0))[0], 0.5);
    }

    #[test]
    fn the_size_that_stands_for_a_class_is_its_middle_in_log_size() {
        let sizes = SizeClasses::default().representative_sizes();
        assert!((sizes[0].get::<micrometer>() - 1.0).abs() < 1e-12);
        assert!((sizes[4].get::<micrometer>() - 1000f64.sqrt()).abs() < 1e-9);
    }

    #[test]
    fn edges_that_do_not_rise_are_refused() {
        assert_eq!(SizeClasses::new(vec![um(5.0), um(5.0)]), Err(ClassEdgesError::NotRising));
        assert_eq!(SizeClasses::new(vec![um(0.0)]), Err(ClassEdgesError::NotRising));
        assert_eq!(SizeClasses::new(vec![um(f64::NAN)]), Err(ClassEdgesError::NotRising));
        assert_eq!(SizeClasses::new(vec![]), Err(ClassEdgesError::None));
    }
}

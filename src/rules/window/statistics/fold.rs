//! What is made of the values of a window: one word each. Records are folded as intervals in `judge`; the plain numbers
//! of a computed run here.

use crate::rules::window::decide::{Side, side};
use crate::rules::{Bound, Divisor, Interval, Number, Rounding};

/// How the figure of a window comes from its days.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Fold {
    /// The sum.
    Total,
    /// The mean, as the permit divides and weighs.
    Average,
    /// The highest day.
    Highest,
    /// The lowest day.
    Lowest,
    /// The nth root of the product.
    Geometric,
    /// How many are over, against a table of allowances.
    Allowance,
    /// Percent removal between two points.
    Removal,
}

impl Fold {
    /// Whether what is already over can no longer come down while a window runs on.
    pub fn only_rises(self) -> bool {
        matches!(self, Self::Total | Self::Highest)
    }

    /// The figure of a computed run's days, of which `wet` flowed and `days` the window has; none where there is no value.
    /// A percentile's figure is the number of days over the bound.
    pub fn of_run(self, values: &[f64], days: usize, divisor: Divisor, bound: &Bound) -> Option<f64> {
        if values.is_empty() {
            return None;
        }
        let sum = || values.iter().sum::<f64>();
        Some(match self {
            Self::Total => sum(),
            Self::Average => {
                let by = match divisor {
                    Divisor::DaysSampled => values.len(),
                    Divisor::DaysWithDischarge => values.iter().filter(|value| **value > 0.0).count().max(1),
                    Divisor::CalendarDays => days,
                };
                sum() / by as f64
            }
            Self::Highest => values.iter().copied().fold(f64::NEG_INFINITY, f64::max),
            Self::Lowest => values.iter().copied().fold(f64::INFINITY, f64::min),
            Self::Geometric => {
                let logs: f64 = values.iter().map(|value| value.max(0.0).ln()).sum();
                (logs / values.len() as f64).exp()
            }
            Self::Allowance => values
                .iter()
                .filter(|value| {
                    let value = Interval::exactly(Number::computed(**value));
                    side(&value, bound, Rounding::Not, false) != Side::Within
                })
                .count() as f64,
            Self::Removal => return None,
        })
    }
}

//! How a limit of an option would come out, and how far its figure is from the bound.

use crate::rules::Outcome;

/// By what share of the other's figure one is clearly further (common practice, no source).
const FURTHER: f64 = 0.01;

/// A limit's prediction.
#[derive(Debug, Clone, PartialEq)]
pub struct Predicted {
    /// Its name.
    pub name: String,
    /// Its bound as printed.
    pub bound: String,
    /// Predicted within, predicted outside or undecided; none where nothing is computed for it.
    pub outcome: Option<Outcome>,
    /// The share of draws outside.
    pub share_outside: Option<f64>,
    /// The worst figure with its range, in the limit's unit; why there is none, where nothing is computed.
    pub figure: String,
    /// The worst figure in the middle of the ranges, and how far past its bound it is (less than nought within), in the limit's
    /// unit; none where it has none.
    pub past: Option<Past>,
}

/// A figure and its bound.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Past {
    /// The worst figure.
    pub worst: f64,
    /// What it may be at most.
    pub upper: Option<f64>,
    /// What it must be at least.
    pub lower: Option<f64>,
    /// Of a day's water, the limit's units in a cubic metre.
    pub per_m3: Option<f64>,
}

impl Past {
    /// How far it is past the nearer bound; less than nought within.
    pub(super) fn by(self) -> f64 {
        let over = [self.upper.map(|upper| self.worst - upper), self.lower.map(|lower| lower - self.worst)];
        over.into_iter().flatten().reduce(f64::max).unwrap_or(self.worst)
    }

    /// Whether so many times the figure, or so many m³ a day more, is over its bound.
    pub(super) fn carried_over(self, times: f64, more_m3: f64) -> bool {
        let more = more_m3 * self.per_m3.unwrap_or(0.0);
        self.upper.is_some_and(|upper| self.worst > 0.0 && (self.worst * times).max(self.worst + more) > upper)
    }
}

impl Predicted {
    /// Whether its figure is clearly nearer to being outside, or further outside, than another.
    pub(super) fn is_further_than(&self, was: &Self) -> bool {
        match (self.past, was.past) {
            (Some(with), Some(was)) => with.by() - was.by() > FURTHER * was.worst.abs(),
            _ => self.figure != was.figure || self.share_outside != was.share_outside,
        }
    }
}

//! How a limit of an option would come out, and how far its figure is from the bound.

use crate::compare::doubts::Doubt;
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
#[derive(Debug, Clone, PartialEq)]
pub struct Past {
    /// The worst figure in the middle of the ranges.
    pub worst: f64,
    /// The worst figure of every draw that has one.
    pub draws: Vec<f64>,
    /// What it may be at most.
    pub upper: Option<f64>,
    /// What it must be at least.
    pub lower: Option<f64>,
    /// Of a day's water, the limit's units in a cubic metre.
    pub per_m3: Option<f64>,
    /// Whether it is a share in % that is kept back: then what is sampled times what is computed is what comes through.
    pub is_removal: bool,
    /// The limit's unit.
    pub unit: String,
}

impl Past {
    /// How far it is past the nearer bound; less than nought within.
    pub(super) fn by(&self) -> f64 {
        let over = [self.upper.map(|upper| self.worst - upper), self.lower.map(|lower| lower - self.worst)];
        over.into_iter().flatten().reduce(f64::max).unwrap_or(self.worst)
    }

    /// What a figure may be by what the log has less and more than is computed.
    fn ends(&self, figure: f64, band: &Doubt) -> (f64, f64) {
        // Something was sampled where none is computed: then nought is no figure either.
        let times = |figure: f64, times: f64| if times.is_infinite() { times } else { figure * times };
        if self.is_removal {
            let through = 100.0 - figure;
            return (100.0 - times(through, band.high), 100.0 - times(through, band.low));
        }
        let more = figure + band.more_m3 * self.per_m3.unwrap_or(0.0);
        (times(figure, band.low), times(figure, band.high).max(more))
    }

    /// The ends of all draws.
    pub(super) fn range(&self, band: &Doubt) -> (f64, f64) {
        let all = self.draws.iter().map(|figure| self.ends(*figure, band));
        all.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), (a, b)| (low.min(a), high.max(b)))
    }

    /// The share of draws in which it may be past a bound.
    pub(super) fn may_be_past(&self, band: &Doubt) -> f64 {
        let may = |(low, high): (f64, f64)| {
            self.upper.is_some_and(|upper| high > upper) || self.lower.is_some_and(|lower| low < lower)
        };
        self.share(may, band)
    }

    /// The share of draws in which it is past a bound whichever end it is.
    pub(super) fn is_past(&self, band: &Doubt) -> f64 {
        let is = |(low, high): (f64, f64)| {
            self.upper.is_some_and(|upper| low > upper) || self.lower.is_some_and(|lower| high < lower)
        };
        self.share(is, band)
    }

    fn share(&self, is: impl Fn((f64, f64)) -> bool, band: &Doubt) -> f64 {
        let n = self.draws.iter().filter(|figure| is(self.ends(**figure, band))).count();
        n as f64 / self.draws.len().max(1) as f64
    }
}

impl Predicted {
    /// Whether its figure is clearly nearer to being outside, or further outside, than another.
    pub(super) fn is_further_than(&self, was: &Self) -> bool {
        match (&self.past, &was.past) {
            (Some(with), Some(was)) => with.by() - was.by() > FURTHER * was.worst.abs(),
            _ => self.figure != was.figure || self.share_outside != was.share_outside,
        }
    }
}

//! How a limit of an option would come out, and how far its figure is from the bound.

use crate::compare::doubts::Doubt;
use crate::compare::figures::quantile;
use crate::compare::season::{Least, least_of};
use crate::rules::Outcome;

/// By what share of the other's figure one is clearly further (common practice, no source).
const FURTHER: f64 = 0.01;

/// By what share of the other's figure one is no longer about as far (common practice, no source).
const FAR: f64 = 0.05;

/// What differs by less of a figure does not differ.
const NOISE: f64 = 1e-9;

/// Where two options' draws are held against one another: in the middle, and where a twentieth of them are further.
const MIDDLE_AND_MOST: [f64; 2] = [0.5, 0.95];

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
    /// The worst figure that half of the draws have less than.
    pub middle: f64,
    /// The worst figure of every draw that has one.
    pub draws: Vec<f64>,
    /// The worst figures of each such draw by the first and last month of their windows; empty where they are not known.
    pub windows: Vec<Vec<((i32, i32), f64)>>,
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
    /// How far a figure is past the nearer bound; less than nought within.
    fn by(&self, figure: f64) -> f64 {
        let over = [self.upper.map(|upper| figure - upper), self.lower.map(|lower| lower - figure)];
        over.into_iter().flatten().reduce(f64::max).unwrap_or(figure)
    }

    /// How far it is past the nearer bound where such a share of the draws are less far.
    fn by_at(&self, share: f64) -> f64 {
        let mut all: Vec<f64> = self.draws.iter().map(|figure| self.by(*figure)).collect();
        all.sort_by(f64::total_cmp);
        quantile(&all, share).unwrap_or_else(|| self.by(self.worst))
    }

    /// By what share of another's figure it is nearer to being outside, or further outside, at the most of these shares of the draws. It goes
    /// by no bound, so that it is the same at every limit.
    fn nearer_by(&self, was: &Self, at: &[f64]) -> f64 {
        let more = at.iter().map(|share| self.by_at(*share) - was.by_at(*share)).fold(0.0, f64::max);
        if more > 0.0 { more / was.middle.abs() } else { 0.0 }
    }

    /// What a figure may be by what the log has less and more than is computed, the least by itself.
    fn ends(&self, figure: f64, band: &Doubt, least: Least) -> (f64, f64) {
        // Something was sampled where none is computed: then nought is no figure either.
        let times = |figure: f64, times: f64| if times.is_infinite() { times } else { figure * times };
        if self.is_removal {
            let through = 100.0 - figure;
            return (100.0 - times(through, band.high), 100.0 - times(through, least.low));
        }
        let more = figure + band.more_m3 * self.per_m3.unwrap_or(0.0);
        let above = if band.more > 0.0 { (figure + band.more).max(band.floor) } else { figure };
        let below = (figure - least.less).max(0.0);
        (times(figure, least.low).min(below), times(figure, band.high).max(more).max(above))
    }

    /// The ends of the worst figure of each draw; by season, of each of its windows the end that is at the least within.
    fn ends_of_draws(&self, band: &Doubt, by_season: bool) -> Vec<(f64, f64)> {
        let of_all = Least { low: band.low, less: band.less };
        let ends = |(at, figure): (usize, &f64)| {
            let whole = self.ends(*figure, band, of_all);
            let windows = self.windows.get(at).filter(|_| by_season).into_iter().flatten();
            let least = |of: &((i32, i32), f64)| {
                let ((first, last), figure) = of;
                self.ends(*figure, band, least_of(&band.seasons, *first..=*last, of_all))
            };
            // Outside is so where one window is, whichever end it is.
            windows.map(least).fold(whole, |(low, high), (a, b)| match self.is_removal {
                true => (low, high.min(b)),
                false => (low.max(a), high),
            })
        };
        self.draws.iter().enumerate().map(ends).collect()
    }

    /// The ends of all draws.
    pub fn range(&self, band: &Doubt) -> (f64, f64) {
        let all = self.ends_of_draws(band, self.upper.is_some() || self.is_removal).into_iter();
        all.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), (a, b)| (low.min(a), high.max(b)))
    }

    /// The share of draws in which it may be past a bound.
    pub(super) fn may_be_past(&self, band: &Doubt) -> f64 {
        let may = |(low, high): (f64, f64)| {
            self.upper.is_some_and(|upper| high > upper) || self.lower.is_some_and(|lower| low < lower)
        };
        self.share(may, self.ends_of_draws(band, false))
    }

    /// The share of draws in which it is past a bound whichever end it is.
    pub(super) fn is_past(&self, band: &Doubt) -> f64 {
        let is = |(low, high): (f64, f64)| {
            self.upper.is_some_and(|upper| low > upper) || self.lower.is_some_and(|lower| high < lower)
        };
        self.share(is, self.ends_of_draws(band, self.upper.is_some() || self.is_removal))
    }

    fn share(&self, is: impl Fn((f64, f64)) -> bool, ends: Vec<(f64, f64)>) -> f64 {
        let n = ends.into_iter().filter(|ends| is(*ends)).count();
        n as f64 / self.draws.len().max(1) as f64
    }
}

impl Predicted {
    /// Whether any draw's figure, one by one from the least on, is nearer to being outside than another's, or further outside.
    pub(super) fn moves_nearer(&self, was: &Self) -> bool {
        let (Some(with), Some(was)) = (&self.past, &was.past) else { return self.share_outside > was.share_outside };
        let sorted = |of: &Past| {
            let mut all = of.draws.clone();
            all.sort_by(f64::total_cmp);
            all
        };
        let (a, b) = (sorted(with), sorted(was));
        let scale = NOISE * was.worst.abs();
        a.len() != b.len()
            || a.iter()
                .zip(&b)
                .any(|(a, b)| with.upper.is_some() && a - b > scale || with.lower.is_some() && b - a > scale)
    }

    /// Whether its figure is clearly nearer to being outside, or further outside, than another.
    pub(super) fn is_further_than(&self, was: &Self) -> bool {
        self.is_nearer_by(was, FURTHER, &MIDDLE_AND_MOST)
    }

    /// Whether its figure is so much nearer to being outside, or further outside, that the two are not about as far.
    pub(super) fn is_far_further_than(&self, was: &Self) -> bool {
        self.is_nearer_by(was, FAR, &MIDDLE_AND_MOST)
    }

    /// Whether its figure is nearer to being outside, or further outside, at all. So it is wherever all of its draws are outside and some of the
    /// other's are not.
    pub(super) fn is_nearer_than(&self, was: &Self) -> bool {
        self.is_nearer_by(was, NOISE, &[0.0, 0.5, 0.95])
    }

    fn is_nearer_by(&self, was: &Self, by: f64, at: &[f64]) -> bool {
        match (&self.past, &was.past) {
            (Some(with), Some(was)) => with.nearer_by(was, at) > by,
            _ => self.figure != was.figure || self.share_outside != was.share_outside,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compare::worse::tests::band;

    fn past(is_removal: bool) -> Past {
        Past {
            worst: 10.0,
            middle: 10.0,
            draws: vec![10.0],
            windows: Vec::new(),
            upper: Some(20.0),
            lower: None,
            per_m3: Some(100.0),
            is_removal,
            unit: "mg/L".to_owned(),
        }
    }

    /// By hand: 90 % kept back lets 10 % through; with half to twice as much through, 80 to 95 % are kept back.
    #[test]
    fn a_band_about_a_removal_is_of_what_comes_through() {
        assert_eq!(past(true).ends(90.0, &band(0.5, 2.0), Least { low: 0.5, less: 0.0 }), (80.0, 95.0));
    }

    /// Half to twice 10 is 5 to 20; 7 less is 3, and less than nought is nought; 0.3 m³ more at 100 to the m³ is 30 more; 15 more is 25.
    #[test]
    fn a_band_goes_by_what_is_furthest_either_way() {
        let ends = |band: &Doubt, less: f64| past(false).ends(10.0, band, Least { low: 0.5, less });
        assert_eq!(ends(&band(0.5, 2.0), 0.0), (5.0, 20.0));
        assert_eq!(ends(&band(0.5, 2.0), 7.0), (3.0, 20.0));
        assert_eq!(ends(&band(0.5, 2.0), 12.0), (0.0, 20.0));
        assert_eq!(ends(&Doubt { more_m3: 0.3, ..band(0.5, 2.0) }, 0.0), (5.0, 40.0));
        assert_eq!(ends(&Doubt { more: 15.0, ..band(0.5, 2.0) }, 0.0), (5.0, 25.0));
        assert_eq!(ends(&Doubt { more: 15.0, floor: 33.0, ..band(0.5, 2.0) }, 0.0), (5.0, 33.0));
        assert_eq!(ends(&Doubt { high: f64::INFINITY, ..band(0.5, 2.0) }, 0.0), (5.0, f64::INFINITY));
    }
}

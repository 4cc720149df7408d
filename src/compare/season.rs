//! The least that was sampled, by season: what a window's figure may be at the least goes by the samples of its own month and of the two
//! beside it, so that one winter's sample says nothing of a summer that samples bear out.

use std::collections::BTreeMap;
use std::ops::RangeInclusive;

use chrono::{Datelike, NaiveDate};

use crate::compare::Against;
use crate::compare::doubts::{FAR_OFF, beside, furthest, furthest_apart};

/// Months counted through the years.
pub(super) type MonthNo = i32;

pub(super) fn month_no(day: NaiveDate) -> MonthNo {
    day.year() * 12 + day.month0() as i32
}

/// The least of what is computed that was sampled: as so many times, and by how much less in the limit's unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Least {
    /// How many times what is computed.
    pub low: f64,
    /// How much less where what is computed lies far below the site's own figure.
    pub less: f64,
}

/// The least by the month of a window, where samples of that month or one beside it are near enough to speak of it.
pub type Seasons = BTreeMap<MonthNo, Least>;

/// The least of each month in whose season something was sampled that is not far off. A sample that is far off speaks where it is less, and
/// never puts the samples of other seasons out of court.
pub(super) fn seasons(here: &[&Against], figure: Option<f64>) -> Seasons {
    let all = || here.iter().flat_map(|of| of.pairs.iter().chain(&of.below)).map(|(day, ..)| month_no(*day));
    let (Some(first), Some(last)) = (all().min(), all().max()) else { return Seasons::new() };
    let of = |month: MonthNo| {
        let is_near = |day: NaiveDate| (month_no(day) - month).abs() <= 1;
        let in_season = |of: &Against| of.only(|(day, ..)| is_near(*day));
        let of_season: Vec<Against> = here.iter().map(|of| in_season(of)).collect();
        let near: Vec<Against> = of_season.iter().map(|of| beside(of, figure, true)).collect();
        let speaks = |(_, l, c): &(NaiveDate, f64, f64)| *l <= FAR_OFF * c && FAR_OFF * l >= *c;
        let is_sampled = near.iter().flat_map(|of| &of.pairs).any(speaks);
        let low = near.iter().filter_map(|of| furthest(of, false)).map(|of| of.0).fold(1.0, f64::min);
        let far = of_season.iter().filter_map(|of| furthest_apart(&beside(of, figure, false), false));
        let less = far.map(|of| of.by).fold(0.0, f64::max);
        is_sampled.then_some((month, Least { low, less }))
    };
    (first - 1..=last + 1).filter_map(of).collect()
}

/// The least of a window: the least of its months where all of them have a season that was sampled, else that of all samples.
pub(super) fn least_of(seasons: &Seasons, months: RangeInclusive<MonthNo>, of_all: Least) -> Least {
    months
        .map(|month| seasons.get(&month).copied().unwrap_or(of_all))
        .reduce(|a, b| Least { low: a.low.min(b.low), less: a.less.max(b.less) })
        .unwrap_or(of_all)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::compare::doubts::tests::samples;
    use proptest::prelude::*;

    const JANUARY: MonthNo = 2014 * 12;

    fn least(of: &[(u32, u32, f64, f64)], month: MonthNo) -> Least {
        let all = samples(of);
        let low = furthest(&beside(&all, Some(150.0), true), false).map_or(1.0, |of| of.0);
        let less = furthest_apart(&beside(&all, Some(150.0), false), false).map_or(0.0, |of| of.by);
        least_of(&seasons(&[&all], Some(150.0)), month..=month, Least { low, less })
    }

    /// 40 of 100 in February say nothing of a July whose own samples have 135 of 150, and all of a June that nobody sampled near.
    #[test]
    fn a_winters_sample_says_nothing_of_a_summer_that_samples_bear_out() {
        let of = [(2, 3, 40.0, 100.0), (7, 8, 135.0, 150.0)];
        for (month, low) in [(1, 0.4), (2, 0.4), (4, 0.4), (5, 0.9), (6, 0.9), (7, 0.9), (8, 0.4)] {
            assert!((least(&of, JANUARY + month).low - low).abs() < 1e-9, "{month}: {:?}", least(&of, JANUARY + month));
        }
        // A sample of July at three times what is computed is no reason to leave the others out.
        assert!((least(&[of[0], (7, 8, 450.0, 150.0)], JANUARY + 6).low - 0.4).abs() < 1e-9);
        // A year's mean has all months.
        let all = samples(&of);
        let year = least_of(&seasons(&[&all], Some(150.0)), JANUARY..=JANUARY + 11, Least { low: 0.4, less: 0.0 });
        assert!((year.low - 0.4).abs() < 1e-9);
    }

    proptest! {
        /// A sample that is far off, or that is less than all others beside it, never raises the least of any month.
        #[test]
        fn a_sample_that_is_off_never_makes_outside_firmer(
            of in prop::collection::vec((1_u32..13, 1_u32..28, 10.0_f64..900.0, 10.0_f64..900.0), 0..30),
            (month, day, computed) in (1_u32..13, 1_u32..28, 10.0_f64..900.0),
            times in prop_oneof![0.01_f64..0.05, 2.01_f64..10.0],
            window in 0..12,
        ) {
            let more: Vec<_> = of.iter().copied().chain([(month, day, computed * times, computed)]).collect();
            // Of less, what lies under every sample that there is.
            prop_assume!(times > 1.0 || of.iter().all(|(.., l, c)| l / c > times));
            let (was, now) = (least(&of, JANUARY + window), least(&more, JANUARY + window));
            prop_assert!(now.low <= was.low * (1.0 + 1e-12), "{was:?} {now:?}");
            prop_assert!(now.less >= was.less * (1.0 - 1e-12), "{was:?} {now:?}");
        }
    }
}

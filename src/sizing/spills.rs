//! What years of weather did: spills, their interval, days of shortage.

use chrono::{Datelike, NaiveDate};

use super::HoldRun;
use crate::compare::years_of_days;
use crate::science::numerics::permit_statistics::poisson_interval;

/// A day with less than this over the spill level, m³, is a day without a spill: below what any gauge shows.
pub const LEAST_SPILL_M3: f64 = 0.001;

/// Confidence of the interval of spills a year.
pub const CONFIDENCE: f64 = 0.95;

/// Spills parted by fewer days than this come of one wet spell: the pond was still nearly full, and the interval does not
/// take them as independent (common practice, no source).
pub const ONE_SPELL_DAYS: usize = 30;

/// A spill counts once for each so many days on which it spills, or part of them: else a pond that never stops spilling
/// would have spilled once (common practice, no source). It hangs on nothing that is asked.
pub const ANEW_DAYS: usize = 7;

/// A spill: first and last day, counted from 0, and its volume, m³.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpillRun {
    /// First day.
    pub first: usize,
    /// Last day.
    pub last: usize,
    /// Days between these on which it spilled, both counted.
    pub spilling: usize,
    /// m³.
    pub m3: f64,
}

impl SpillRun {
    /// Days, first to last.
    pub fn days(&self) -> usize {
        self.last - self.first + 1
    }

    /// How many spills it counts as.
    pub fn counts(&self) -> usize {
        self.spilling.div_ceil(ANEW_DAYS)
    }

    /// The spills of a daily series, m³, parted by at least `apart_days` days without one.
    pub fn of(daily_m3: &[f64], apart_days: u32) -> Vec<Self> {
        let mut spills: Vec<Self> = Vec::new();
        for (day, &m3) in daily_m3.iter().enumerate() {
            if m3 < LEAST_SPILL_M3 || !m3.is_finite() {
                continue;
            }
            match spills.last_mut() {
                Some(spill) if day - spill.last <= apart_days as usize => {
                    spill.last = day;
                    spill.spilling += 1;
                    spill.m3 += m3;
                }
                _ => spills.push(Self { first: day, last: day, spilling: 1, m3 }),
            }
        }
        spills
    }
}

/// The spills of a run of days.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SpillRecord {
    /// Days simulated.
    pub days: usize,
    /// Of these, days with rain on file: what years are counted by.
    pub known_days: usize,
    /// Days with a spill.
    pub spill_days: usize,
    /// Spills: runs of such days, parted by days without.
    pub runs: u32,
    /// The same, a long one counted once more for each week that it goes on.
    pub spills: u32,
    /// Wet spells with a spill: what is independent.
    pub spells: u32,
    /// Variance of the count over its mean, from the spills of each spell: 1 where each spell has one.
    pub spread: f64,
    /// Days of the longest spill, first to last.
    pub longest_days: usize,
    /// Water spilled, m³.
    pub spilled_m3: f64,
    /// Most in a day, m³.
    pub most_in_a_day_m3: f64,
}

impl SpillRecord {
    /// Counts the spills of a daily series, m³. Two spills are parted by at least `apart_days` days without one.
    pub fn of(daily_m3: &[f64], known_days: usize, apart_days: u32) -> Self {
        let spilling = daily_m3.iter().copied().filter(|m3| *m3 >= LEAST_SPILL_M3 && m3.is_finite());
        let runs = SpillRun::of(daily_m3, apart_days);
        let mut spells: Vec<(usize, usize)> = Vec::new();
        for run in &runs {
            match spells.last_mut() {
                Some((last, count)) if run.first - *last < ONE_SPELL_DAYS => {
                    *last = run.last;
                    *count += run.counts();
                }
                _ => spells.push((run.last, run.counts())),
            }
        }
        let spills: usize = runs.iter().map(SpillRun::counts).sum();
        let squares: usize = spells.iter().map(|(_, count)| count * count).sum();
        let whole = |count: usize| u32::try_from(count).unwrap_or(u32::MAX);
        Self {
            days: daily_m3.len(),
            known_days,
            spill_days: spilling.clone().count(),
            runs: whole(runs.len()),
            spills: whole(spills),
            spells: whole(spells.len()),
            spread: if spills > 0 { squares as f64 / spills as f64 } else { 1.0 },
            longest_days: runs.iter().map(SpillRun::days).max().unwrap_or(0),
            // A sum of nothing is −0.
            spilled_m3: spilling.clone().fold(0.0, |sum, m3| sum + m3),
            most_in_a_day_m3: spilling.fold(0.0, f64::max),
        }
    }

    /// Years with rain on file: whole ones are whole, whether they have 365 days or 366.
    pub fn years(&self) -> f64 {
        years_of_days(self.known_days as f64)
    }

    /// Spills a year; nothing for no days.
    pub fn a_year(&self) -> f64 {
        if self.known_days == 0 { 0.0 } else { f64::from(self.spills) / self.years() }
    }

    /// The 95 % interval of spills a year: exact (Garwood) where each came of a wet spell of its own. Where several came
    /// of one, the count varies more than independent spills would, by [`Self::spread`] times: that many fewer are taken
    /// as independent.
    pub fn interval(&self) -> Option<(f64, f64)> {
        let years = self.years();
        if years <= 0.0 {
            return None;
        }
        let spread = self.spread.max(1.0);
        let independent = f64::from(self.spills) / spread;
        let (fewer, more) = ((independent + 1e-9).floor() as u32, (independent - 1e-9).ceil().max(0.0) as u32);
        let low = poisson_interval(fewer, CONFIDENCE)?.0;
        let high = poisson_interval(more, CONFIDENCE)?.1;
        Some((low * spread / years, high * spread / years))
    }

    /// Whether the years can show that it spills no oftener than so: not one spill would be allowed in fewer.
    pub fn can_show(&self, a_year: f64) -> bool {
        self.years() >= 1.0 && self.years() * a_year >= 1.0 - 1e-9
    }
}

/// What a run over years of weather did to one pond.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Simulated {
    /// Its spills.
    pub spill: SpillRecord,
    /// Days on which a use that draws from it got less than it asked for.
    pub shortage_days: usize,
    /// What they got less in all, m³.
    pub short_m3: f64,
    /// Of these days, how many in each month, January first.
    pub short_in: [u32; 12],
    /// Water that came to it, rain on it included, m³.
    pub inflow_m3: f64,
    /// Rain that fell on it, m³.
    pub rain_m3: f64,
    /// Runoff that came to it, straight or over what spilled upstream, m³.
    pub runoff_m3: f64,
    /// Water that a supply filled in on purpose, m³.
    pub filled_m3: f64,
    /// Water that the drawdown or a pump on level let out, m³.
    pub let_out_m3: f64,
    /// Of that, what a supply filled in on the same day, m³.
    pub filled_and_let_out_m3: f64,
    /// Days that closed with less room than the storm needs.
    pub storm_room_lacking_days: usize,
    /// The longest stretch of such days.
    pub longest_lacking_days: usize,
    /// How the room for what is to be held was found, under the room of the storm.
    pub hold: HoldRun,
    /// Whether a supply fills on purpose into that room.
    pub filled_into_hold: bool,
    /// Whether a supply fills it on purpose higher than the level from which the storm fits.
    pub filled_into_storm: bool,
    /// Days of the run whose rain is not known (taken as none).
    pub unknown_days: usize,
}

/// So many of the days from a first one, by month, on which something is over nothing.
pub(super) fn by_month(daily: &[f64], first: NaiveDate) -> [u32; 12] {
    let mut months = [0; 12];
    for (date, _) in first.iter_days().zip(daily).filter(|(_, m3)| **m3 > 0.0) {
        if let Some(days) = months.get_mut(date.month0() as usize) {
            *days += 1;
        }
    }
    months
}

impl Simulated {
    /// Days of shortage a year.
    pub fn shortage_a_year(&self) -> f64 {
        if self.spill.days == 0 { 0.0 } else { self.shortage_days as f64 / self.spill.years() }
    }

    /// Share of rain and runoff that neither spilled nor was let out, with all that left in these ways held against them:
    /// water that was led or came back to the pond is not kept. None when neither came.
    pub fn share_kept(&self) -> Option<f64> {
        let came = self.rain_m3 + self.runoff_m3;
        (came > 0.0).then(|| (1.0 - (self.spill.spilled_m3 + self.let_out_m3) / came).max(0.0))
    }

    /// Share of days that closed with room for the storm.
    pub fn room_share(&self) -> f64 {
        if self.spill.days == 0 { 1.0 } else { 1.0 - self.storm_room_lacking_days as f64 / self.spill.days as f64 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn days_short_stand_in_their_months() {
        // From 30 January 2024: two days of January, 29 of February, then March.
        let mut daily = vec![0.0; 40];
        for (day, m3) in [(1, 2.0), (2, 1.0), (30, 4.0), (31, 0.5), (32, 0.0)] {
            daily[day] = m3;
        }
        let months = by_month(&daily, NaiveDate::from_ymd_opt(2024, 1, 30).unwrap());
        assert_eq!(months, [1, 2, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0]);
    }

    /// 5 and 3 m³ on days in a row are one spill of 8; 2 m³ four days on are another.
    #[test]
    fn a_spill_is_all_that_left_in_it() {
        let spills = SpillRun::of(&[0.0, 5.0, 3.0, 0.0, 0.0, 0.0, 2.0], 1);
        assert_eq!(
            spills,
            [
                SpillRun { first: 1, last: 2, spilling: 2, m3: 8.0 },
                SpillRun { first: 6, last: 6, spilling: 1, m3: 2.0 }
            ]
        );
    }

    fn record(daily: &[f64], apart: u32) -> SpillRecord {
        SpillRecord::of(daily, daily.len(), apart)
    }

    #[test]
    fn spills_on_neighbouring_days_are_one_and_a_dry_day_parts_two() {
        let daily = [0.0, 3.0, 2.0, 0.0, 1.0, 0.0, 0.0, 4.0, 0.0005];
        let one = record(&daily, 1);
        assert_eq!((one.spills, one.spill_days, one.longest_days), (3, 4, 2));
        assert_relative_eq!(one.spilled_m3, 10.0);
        assert_relative_eq!(one.most_in_a_day_m3, 4.0);
        let two = record(&daily, 2);
        assert_eq!((two.spills, two.longest_days), (2, 4));
        assert_eq!(record(&daily, 3).spills, 1);
        assert_eq!(record(&[], 1).spills, 0);
    }

    /// A pond that never stops spilling has one run of days with a spill, and is not one that spills once.
    #[test]
    fn a_spill_that_goes_on_is_counted_anew_each_week() {
        let whole_year = record(&[5.0; 365], 1);
        assert_eq!((whole_year.runs, whole_year.spills, whole_year.spells), (1, 53, 1));
        assert!(whole_year.a_year() > 50.0);
        // A week is one, a day more is two.
        assert_eq!((record(&[5.0; 7], 1).spills, record(&[5.0; 8], 1).spills), (1, 2));
    }

    /// Days without a spill between two that are not parted are no days that it goes on: a rule that parts fewer spills
    /// never counts more of them.
    #[test]
    fn parting_fewer_spills_never_counts_more() {
        // A day each, thirteen dry days between them.
        let mut daily = [0.0; 60];
        (daily[3], daily[17]) = (4.0, 4.0);
        let counts = |apart| (record(&daily, apart).runs, record(&daily, apart).spills);
        assert_eq!((counts(1), counts(13), counts(14)), ((2, 2), (2, 2), (1, 1)));
        let mut seed = 7_u64;
        for _ in 0..200 {
            let daily: Vec<f64> = (0..120)
                .map(|_| {
                    seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
                    if seed >> 62 == 0 { 2.0 } else { 0.0 }
                })
                .collect();
            let counts: Vec<u32> = (1..30).map(|apart| record(&daily, apart).spills).collect();
            assert!(counts.windows(2).all(|pair| pair[1] <= pair[0]), "{counts:?}");
        }
    }

    /// A spill more or less must not hang on whether the gauge's year was a leap year.
    #[test]
    fn five_spills_in_one_year_of_366_days_are_five_a_year() {
        let mut daily = vec![0.0; 366];
        for day in [10, 60, 110, 200, 300] {
            daily[day] = 5.0;
        }
        assert_relative_eq!(record(&daily, 1).a_year(), 5.0);
        assert_relative_eq!(record(&daily[..365], 1).a_year(), 5.0);
        // Half a year is no whole one.
        assert_relative_eq!(record(&daily[..183], 1).years(), 183.0 / 365.25);
        // Days without rain on file are no years: the five fell in the one year that has it.
        let mut long = vec![0.0; 3653];
        long[..366].copy_from_slice(&daily);
        assert_relative_eq!(SpillRecord::of(&long, 366, 1).a_year(), 5.0);
    }

    /// 3 in 20 years: 0.0309 to 0.4384 a year (scipy.stats.chi2.ppf; the same figures as in the room that computes it).
    #[test]
    fn three_spills_in_twenty_years_of_days_carry_the_exact_interval() {
        let mut daily = vec![0.0; 7305];
        for day in [100, 3000, 6000] {
            daily[day] = 50.0;
        }
        let apart = record(&daily, 1);
        assert_relative_eq!(apart.years(), 20.0);
        assert_relative_eq!(apart.a_year(), 0.15);
        let (low, high) = apart.interval().unwrap();
        assert_relative_eq!(low, 0.030_933_6, epsilon = 1e-6);
        assert_relative_eq!(high, 0.438_363_7, epsilon = 1e-6);
        // Each of the three spells spills three times: the rate is three times that, and so are both ends.
        for day in [100, 3000, 6000] {
            daily[day + 3] = 50.0;
            daily[day + 9] = 50.0;
        }
        let clustered = record(&daily, 1);
        assert_eq!((clustered.spills, clustered.spells), (9, 3));
        assert_relative_eq!(clustered.spread, 3.0);
        let (wide_low, wide_high) = clustered.interval().unwrap();
        assert_relative_eq!(wide_low, 3.0 * low, max_relative = 1e-9);
        assert_relative_eq!(wide_high, 3.0 * high, max_relative = 1e-9);
        // Nine spills far apart are known better.
        let mut far = vec![0.0; 7305];
        (0..9).for_each(|k| far[100 + 700 * k] = 50.0);
        let (_, far_high) = record(&far, 1).interval().unwrap();
        assert!(far_high < wide_high);
    }

    #[test]
    fn years_too_few_for_one_spill_show_nothing_of_how_seldom_it_spills() {
        let four = record(&vec![0.0; 1461], 1);
        assert!(!four.can_show(0.1) && four.can_show(0.25) && four.can_show(3.0));
        assert!(!four.can_show(0.0));
        assert!(!record(&[0.0; 90], 1).can_show(12.0));
    }
}

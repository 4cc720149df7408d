//! What years of weather did: spills, their interval, days of shortage.

use crate::compare::years_of_days;
use crate::science::numerics::permit_statistics::poisson_interval;

/// A day with less than this over the spill level, m³, is a day without a spill: below what any gauge shows.
pub const LEAST_SPILL_M3: f64 = 0.001;

/// Confidence of the interval of spills a year.
pub const CONFIDENCE: f64 = 0.95;

/// The spills of a run of days.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SpillRecord {
    /// Days simulated.
    pub days: usize,
    /// Days with a spill.
    pub spill_days: usize,
    /// Spills: runs of such days, parted by days without.
    pub spills: u32,
    /// Days of the longest spill, first to last.
    pub longest_days: usize,
    /// Water spilled, m³.
    pub spilled_m3: f64,
    /// Most in a day, m³.
    pub most_in_a_day_m3: f64,
}

impl SpillRecord {
    /// Counts the spills of a daily series, m³. Two spills are parted by at least `apart_days` days without one.
    pub fn of(daily_m3: &[f64], apart_days: u32) -> Self {
        let mut record = Self { days: daily_m3.len(), ..Self::default() };
        let mut began: Option<usize> = None;
        let mut last = 0usize;
        for (day, &amount) in daily_m3.iter().enumerate() {
            if amount < LEAST_SPILL_M3 || !amount.is_finite() {
                continue;
            }
            record.spill_days += 1;
            record.spilled_m3 += amount;
            record.most_in_a_day_m3 = record.most_in_a_day_m3.max(amount);
            match began {
                Some(_) if day - last <= apart_days as usize => {}
                _ => {
                    record.spills += 1;
                    began = Some(day);
                }
            }
            last = day;
            if let Some(first) = began {
                record.longest_days = record.longest_days.max(day - first + 1);
            }
        }
        record
    }

    /// Years simulated: whole ones are whole, whether they have 365 days or 366.
    pub fn years(&self) -> f64 {
        years_of_days(self.days as f64)
    }

    /// Spills a year; nothing for no days.
    pub fn a_year(&self) -> f64 {
        if self.days == 0 { 0.0 } else { f64::from(self.spills) / self.years() }
    }

    /// The exact 95 % interval of spills a year (Garwood), taking spills as independent of one another.
    pub fn interval(&self) -> Option<(f64, f64)> {
        let years = self.years();
        let (low, high) = poisson_interval(self.spills, CONFIDENCE).filter(|_| years > 0.0)?;
        Some((low / years, high / years))
    }
}

/// What a run over years of weather did to one pond.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Simulated {
    /// Its spills.
    pub spill: SpillRecord,
    /// Days on which a use that draws from it got less than it asked for.
    pub shortage_days: usize,
    /// Water that came to it, rain on it included, m³.
    pub inflow_m3: f64,
    /// Rain that fell on it, m³.
    pub rain_m3: f64,
    /// Days that closed with less room than the storm needs.
    pub storm_room_lacking_days: usize,
    /// Days of the run whose rain is not known (taken as none).
    pub unknown_days: usize,
}

impl Simulated {
    /// Days of shortage a year.
    pub fn shortage_a_year(&self) -> f64 {
        if self.spill.days == 0 { 0.0 } else { self.shortage_days as f64 / self.spill.years() }
    }

    /// Share of what came to it that did not spill; none when nothing came.
    pub fn share_caught(&self) -> Option<f64> {
        (self.inflow_m3 > 0.0).then(|| (1.0 - self.spill.spilled_m3 / self.inflow_m3).max(0.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn spills_on_neighbouring_days_are_one_and_a_dry_day_parts_two() {
        let daily = [0.0, 3.0, 2.0, 0.0, 1.0, 0.0, 0.0, 4.0, 0.0005];
        let one = SpillRecord::of(&daily, 1);
        assert_eq!((one.spills, one.spill_days, one.longest_days), (3, 4, 2));
        assert_relative_eq!(one.spilled_m3, 10.0);
        assert_relative_eq!(one.most_in_a_day_m3, 4.0);
        let two = SpillRecord::of(&daily, 2);
        assert_eq!((two.spills, two.longest_days), (2, 4));
        assert_eq!(SpillRecord::of(&daily, 3).spills, 1);
        assert_eq!(SpillRecord::of(&[], 1).spills, 0);
    }

    /// A spill more or less must not hang on whether the gauge's year was a leap year.
    #[test]
    fn five_spills_in_one_year_of_366_days_are_five_a_year() {
        let mut daily = vec![0.0; 366];
        for day in [10, 60, 110, 200, 300] {
            daily[day] = 5.0;
        }
        assert_relative_eq!(SpillRecord::of(&daily, 1).a_year(), 5.0);
        assert_relative_eq!(SpillRecord::of(&daily[..365], 1).a_year(), 5.0);
        // Half a year is no whole one.
        assert_relative_eq!(SpillRecord::of(&daily[..183], 1).years(), 183.0 / 365.25);
    }

    /// 3 in 20 years: 0.0309 to 0.4384 a year (scipy.stats.chi2.ppf; the same figures as in the room that computes it).
    #[test]
    fn three_spills_in_twenty_years_of_days_carry_the_exact_interval() {
        let mut daily = vec![0.0; 7305];
        for day in [100, 3000, 6000] {
            daily[day] = 50.0;
        }
        let record = SpillRecord::of(&daily, 1);
        assert_relative_eq!(record.years(), 20.0);
        assert_relative_eq!(record.a_year(), 0.15);
        let (low, high) = record.interval().unwrap();
        assert_relative_eq!(low, 0.030_933_6, epsilon = 1e-6);
        assert_relative_eq!(high, 0.438_363_7, epsilon = 1e-6);
    }
}

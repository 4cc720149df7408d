//! Statistics that a limit may name: one file each, one line in the list.

mod fold;

macro_rules! statistics {
    ($($file:ident :: $name:ident),* $(,)?) => {
        $(mod $file;)*
        /// Every statistic, in the order in which messages list them.
        pub const ALL: &[&Statistic] = &[$(&$file::$name),*];
    };
}

statistics!(
    every_reading::EVERY_READING,
    instantaneous_maximum::INSTANTANEOUS_MAXIMUM,
    instantaneous_minimum::INSTANTANEOUS_MINIMUM,
    daily_maximum::DAILY_MAXIMUM,
    daily_minimum::DAILY_MINIMUM,
    daily_average::DAILY_AVERAGE,
    daily_total::DAILY_TOTAL,
    weekly_average::WEEKLY_AVERAGE,
    weekly_total::WEEKLY_TOTAL,
    weekly_maximum::WEEKLY_MAXIMUM,
    monthly_average::MONTHLY_AVERAGE,
    monthly_maximum::MONTHLY_MAXIMUM,
    monthly_minimum::MONTHLY_MINIMUM,
    monthly_total::MONTHLY_TOTAL,
    rolling_average::ROLLING_AVERAGE,
    rolling_total::ROLLING_TOTAL,
    season_average::SEASON_AVERAGE,
    season_maximum::SEASON_MAXIMUM,
    season_total::SEASON_TOTAL,
    permit_year_average::PERMIT_YEAR_AVERAGE,
    permit_year_maximum::PERMIT_YEAR_MAXIMUM,
    permit_year_total::PERMIT_YEAR_TOTAL,
    twelve_month_average::TWELVE_MONTH_AVERAGE,
    twelve_month_total::TWELVE_MONTH_TOTAL,
    weekly_geometric_mean::WEEKLY_GEOMETRIC_MEAN,
    monthly_geometric_mean::MONTHLY_GEOMETRIC_MEAN,
    rolling_geometric_mean::ROLLING_GEOMETRIC_MEAN,
    percentile::PERCENTILE,
    percent_removal::PERCENT_REMOVAL,
    rate::RATE,
    duration::DURATION,
    time_of_day::TIME_OF_DAY,
    no_discharge::NO_DISCHARGE,
);

pub use fold::Fold;

use crate::rules::window::windows::WindowKind;

/// How the figure of a window comes from its readings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// Each reading on its own; of amounts over several days, what a day of them can have been.
    Each,
    /// A figure of the window, by a fold.
    Window(Fold),
    /// Judged day by day by its own file of the room.
    ByItself,
}

/// One statistic.
#[derive(Debug, Clone, Copy)]
pub struct Statistic {
    /// The words of the file; `N` stands for a number of days.
    pub words: &'static str,
    /// Other words for the same.
    pub also: &'static [&'static str],
    /// Its windows.
    pub window: WindowKind,
    /// How its figure is made.
    pub shape: Shape,
    /// Whether samples of a day become one value first.
    pub by_day: bool,
    /// Whether it speaks of a moment, which a composite sample can't show to be kept.
    pub instant: bool,
    /// Whether it is a mean or a total, in which results below detection count as the permit says.
    pub substitutes: bool,
    /// Whether it divides by a number of days.
    pub divides: bool,
    /// Whether it is a geometric mean.
    pub is_geometric: bool,
    /// What it means, in one sentence, with its source.
    pub means: &'static str,
}

impl Statistic {
    /// Whether each of the permit's days is held against the bound by itself.
    pub fn is_of_single_days(&self) -> bool {
        self.by_day && matches!(self.shape, Shape::Each)
    }

    /// Whether each reading or day stands for itself.
    pub fn is_each(&self) -> bool {
        self.shape == Shape::Each
    }

    /// A plain statistic of single readings, to be changed field by field.
    pub(crate) const fn plain(words: &'static str, window: WindowKind, shape: Shape, means: &'static str) -> Self {
        Self {
            words,
            also: &[],
            window,
            shape,
            by_day: false,
            instant: false,
            substitutes: false,
            divides: false,
            is_geometric: false,
            means,
        }
    }

    pub(crate) const fn also(mut self, also: &'static [&'static str]) -> Self {
        self.also = also;
        self
    }

    pub(crate) const fn by_day(mut self) -> Self {
        self.by_day = true;
        self
    }

    pub(crate) const fn instant(mut self) -> Self {
        self.instant = true;
        self
    }

    pub(crate) const fn substitutes(mut self) -> Self {
        self.substitutes = true;
        self
    }

    pub(crate) const fn divides(mut self) -> Self {
        self.divides = true;
        self
    }

    pub(crate) const fn geometric(mut self) -> Self {
        self.is_geometric = true;
        self
    }
}

/// The statistic of these words, and its number of days where the words hold one (`rolling 30 days average`).
pub fn named(text: &str) -> Option<(&'static Statistic, Option<u32>)> {
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase().replace('-', " ");
    let mut days = None;
    let general: Vec<String> = text
        .split(' ')
        .map(|word| match word.parse::<u32>() {
            Ok(number) if number > 0 && word != "12" => {
                days = Some(number);
                "N".to_owned()
            }
            _ => word.to_owned(),
        })
        .collect();
    let general = general.join(" ").replace("N day ", "N days ");
    let same = |words: &str| words.replace('-', " ") == general;
    ALL.iter()
        .find(|statistic| same(statistic.words) || statistic.also.iter().any(|also| same(also)))
        .map(|statistic| (*statistic, days))
        .filter(|(statistic, days)| statistic.words.contains('N') == days.is_some())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_statistic_answers_to_its_own_words_and_to_no_other() {
        for statistic in ALL {
            let words = statistic.words.replace('N', "30");
            let (found, days) = named(&words).unwrap_or_else(|| panic!("{words}"));
            assert_eq!(found.words, statistic.words);
            assert_eq!(days.is_some(), statistic.words.contains('N'));
            for also in statistic.also {
                assert_eq!(named(&also.replace('N', "7")).map(|(of, _)| of.words), Some(statistic.words), "{also}");
            }
            assert!(statistic.means.ends_with('.'), "{}", statistic.words);
        }
        assert!(named("monthly mode").is_none());
        assert_eq!(named("12-month rolling total").map(|(of, _)| of.words), Some("12-month rolling total"));
        assert_eq!(named("rolling 7-day average").unwrap().1, Some(7));
    }
}

//! How a permit counts: the switches that permits define differently, none of them hard-wired.

use chrono::{NaiveTime, Weekday};

use crate::rules::{Number, Tie};

/// What the permit says of a switch, or that it does not say.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Switch<T> {
    /// As typed.
    Is(T),
    /// `not said`: every answer is worked out, and printed where they differ.
    NotSaid,
}

impl<T: Copy> Switch<T> {
    /// What it says, or every answer that is possible.
    pub fn or_each(self, all: &[T]) -> Vec<T> {
        match self {
            Self::Is(value) => vec![value],
            Self::NotSaid => all.to_vec(),
        }
    }

    /// What it says.
    pub fn is(self) -> Option<T> {
        match self {
            Self::Is(value) => Some(value),
            Self::NotSaid => None,
        }
    }
}

/// What several samples of one day count as.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Several {
    /// Their mean (40 CFR 122.2, "daily discharge": the average over the day, for what is not a mass).
    Average,
    /// The highest (seen in California's standard provisions).
    Highest,
    /// The lowest.
    Lowest,
}

/// What a result below detection counts as in an average, a total or a mean.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Substitute {
    /// Nothing.
    Zero,
    /// Half of the detection limit.
    Half,
    /// The detection limit: the number after `<`.
    DetectionLimit,
    /// A number in the unit of the slip (a geometric mean can't take zero).
    Number(Number),
}

/// What a result between the detection limit and the quantitation level counts as.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum BetweenLevels {
    /// As measured.
    AsMeasured,
    /// The detection limit (seen in one state's instructions).
    DetectionLimit,
    /// Nothing (seen in permits of a federal region: below the minimum level counts zero).
    Zero,
}

/// What a monthly or weekly average is divided by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Divisor {
    /// Days sampled or measured (40 CFR 122.2: "daily discharges measured").
    DaysSampled,
    /// Days with a discharge.
    DaysWithDischarge,
    /// All days of the calendar.
    CalendarDays,
}

/// How days weigh in an average.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Weighting {
    /// All alike.
    Arithmetic,
    /// By the flow of the same day.
    FlowWeighted,
    /// The nth root of the product.
    Geometric,
}

/// How a figure is rounded: once, last.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Rounding {
    /// Not at all.
    Not,
    /// To decimals (below zero: tens, hundreds).
    Decimals {
        /// How many.
        places: i32,
        /// Ties.
        tie: Tie,
    },
    /// To significant digits.
    Significant {
        /// How many, at least 1.
        digits: u32,
        /// Ties.
        tie: Tie,
    },
}

/// Rounding as typed: a rule may speak of the limit's own digits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum RoundingRule {
    /// As it stands.
    Fixed(Rounding),
    /// To the decimals of the limit as typed.
    ToTheLimit(Tie),
}

/// The least data that a window needs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LeastData {
    /// What the sample duty asks for.
    TheSampleDuty,
    /// A result on every day with a discharge.
    EveryDischarge,
    /// So many results in each window.
    Count(u32),
}

/// What a dry look covers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum DryLook {
    /// That day.
    ThatDay,
    /// That day and the days back to the look before, if that was dry too.
    SinceTheLastDryLook,
}

/// Which month (or season, or year) owns a week that straddles its edge.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Straddling {
    /// The one it starts in.
    WhereItStarts,
    /// The one it ends in.
    WhereItEnds,
    /// The one with most of its days.
    WhereMostDaysAre,
}

/// The factor from concentration times flow to mass.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum LoadFactor {
    /// By the exact definitions of the units.
    Exact,
    /// mg/L × million gallons × 8.34 = lb, as permits print it: 0.065 % below the exact 8.345404.
    Rule834,
}

/// How this permit counts: once for all limits; a limit may say otherwise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Counting {
    /// The clock time at which the permit's day starts; none where the rules file doesn't say.
    pub day_starts: Option<NaiveTime>,
    /// First day of the permit's week.
    pub week_starts: Switch<Weekday>,
    /// Several samples in a day.
    pub several: Switch<Several>,
    /// Below detection.
    pub below_detection: Switch<Substitute>,
    /// Below detection in a geometric mean, where it differs.
    pub below_detection_geometric: Option<Substitute>,
    /// Between detection and quantitation.
    pub between_levels: BetweenLevels,
    /// What an average is divided by.
    pub divisor: Switch<Divisor>,
    /// Whether that was typed at the limit itself: calendar days then hold for a concentration too.
    pub divisor_of_limit: bool,
    /// How days weigh.
    pub weighting: Switch<Weighting>,
    /// Rounding.
    pub rounding: Switch<RoundingRule>,
    /// Least data.
    pub least_data: Switch<LeastData>,
    /// What a dry look covers.
    pub dry_look: Switch<DryLook>,
    /// The owner of a straddling week.
    pub straddling: Switch<Straddling>,
    /// From concentration and flow to mass.
    pub load_factor: LoadFactor,
    /// For how many days a level reading speaks, where a rule asks for the level before a storm.
    pub level_holds_days: u32,
}

impl Default for Counting {
    /// Nothing said, save what has no two readings.
    fn default() -> Self {
        Self {
            day_starts: None,
            week_starts: Switch::NotSaid,
            several: Switch::NotSaid,
            below_detection: Switch::NotSaid,
            below_detection_geometric: None,
            between_levels: BetweenLevels::AsMeasured,
            divisor: Switch::NotSaid,
            divisor_of_limit: false,
            weighting: Switch::Is(Weighting::Arithmetic),
            rounding: Switch::NotSaid,
            least_data: Switch::NotSaid,
            dry_look: Switch::Is(DryLook::ThatDay),
            straddling: Switch::NotSaid,
            load_factor: LoadFactor::Exact,
            level_holds_days: 7,
        }
    }
}

/// One way to count, with nothing left open: what a figure is worked out under.
#[derive(Debug, Clone, PartialEq)]
pub struct Counted {
    /// Several samples in a day.
    pub several: Several,
    /// Below detection.
    pub below_detection: Substitute,
    /// Below detection in a geometric mean, where the permit says so apart.
    pub below_detection_geometric: Option<Substitute>,
    /// What an average is divided by.
    pub divisor: Divisor,
    /// How days weigh.
    pub weighting: Weighting,
    /// Rounding.
    pub rounding: Rounding,
    /// First day of the week.
    pub week_starts: Weekday,
    /// The owner of a straddling week.
    pub straddling: Straddling,
    /// The words of what the permit does not say and this way takes: `several samples in a day count by their highest`.
    pub taken: Vec<String>,
}

/// Which switches can change the figure of a limit: only those are tried every way.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Matters {
    /// Several samples in a day.
    pub several: bool,
    /// Results below detection.
    pub below_detection: bool,
    /// The divisors that apply; none where nothing is divided.
    pub divisors: Vec<Divisor>,
    /// Weighting.
    pub weighting: bool,
    /// The first day of the week.
    pub week: bool,
    /// Who owns a week over an edge.
    pub straddling: bool,
}

/// Every answer to each switch that is tried where the permit does not say, in the order of the file's own words: the
/// one list for reading, trying and telling.
impl Several {
    /// Every answer.
    pub const ALL: [Self; 3] = [Self::Average, Self::Highest, Self::Lowest];
}

impl Substitute {
    /// Every answer that needs no number of the permit's.
    pub const ALL: [Self; 3] = [Self::Zero, Self::Half, Self::DetectionLimit];
}

impl Divisor {
    /// Every answer.
    pub const ALL: [Self; 3] = [Self::DaysSampled, Self::DaysWithDischarge, Self::CalendarDays];
}

impl Straddling {
    /// Every answer.
    pub const ALL: [Self; 3] = [Self::WhereItStarts, Self::WhereItEnds, Self::WhereMostDaysAre];
}

/// Every first day of a week.
pub const WEEKDAYS: [Weekday; 7] =
    [Weekday::Sun, Weekday::Mon, Weekday::Tue, Weekday::Wed, Weekday::Thu, Weekday::Fri, Weekday::Sat];

impl Counting {
    /// Every way to count that the permit's words allow, every combination, the first answer of each switch first.
    /// `limit_places` are the decimals of the limit as typed. Rounding that is not said is none.
    pub fn ways(&self, matters: &Matters, limit_places: u32) -> Vec<Counted> {
        let rounding = self.rounding.is().map_or(Rounding::Not, |rule| rule.resolved(limit_places));
        let mut ways = vec![Counted {
            several: self.several.is().unwrap_or(Several::Average),
            below_detection: self.below_detection.is().unwrap_or(Substitute::Zero),
            below_detection_geometric: self.below_detection_geometric,
            divisor: self.divisor.is().unwrap_or(Divisor::DaysSampled),
            weighting: self.weighting.is().unwrap_or(Weighting::Arithmetic),
            rounding,
            week_starts: self.week_starts.is().unwrap_or(Weekday::Sun),
            straddling: self.straddling.is().unwrap_or(Straddling::WhereItStarts),
            taken: Vec::new(),
        }];
        if matters.several && self.several == Switch::NotSaid {
            split(&mut ways, &Several::ALL, |way, value| {
                way.several = value;
                format!("several samples in a day count by their {}", several_words(value))
            });
        }
        if matters.below_detection && self.below_detection == Switch::NotSaid {
            split(&mut ways, &Substitute::ALL, |way, value| {
                way.below_detection = value;
                format!("a result below detection counts as {}", substitute_words(value))
            });
        }
        match (self.divisor, matters.divisors.as_slice()) {
            (_, []) => {}
            (Switch::Is(said), allowed) if allowed.contains(&said) => {}
            (_, [only]) => {
                for way in &mut ways {
                    way.divisor = *only;
                }
            }
            (_, allowed) => split(&mut ways, allowed, |way, value| {
                way.divisor = value;
                format!("the average is divided by {}", divisor_words(value))
            }),
        }
        if matters.weighting && self.weighting == Switch::NotSaid {
            let all = [Weighting::Arithmetic, Weighting::FlowWeighted];
            split(&mut ways, &all, |way, value| {
                way.weighting = value;
                format!("the average is {}", weighting_words(value))
            });
        }
        if matters.week && self.week_starts == Switch::NotSaid {
            split(&mut ways, &WEEKDAYS, |way, value| {
                way.week_starts = value;
                format!("the week starts on {}", weekday_words(value))
            });
        }
        if matters.straddling && self.straddling == Switch::NotSaid {
            split(&mut ways, &Straddling::ALL, |way, value| {
                way.straddling = value;
                format!("a week over the edge of a month belongs to {}", straddling_words(value))
            });
        }
        ways
    }
}

impl RoundingRule {
    /// The rounding for a limit typed with so many decimals.
    pub fn resolved(self, limit_places: u32) -> Rounding {
        match self {
            Self::Fixed(rounding) => rounding,
            Self::ToTheLimit(tie) => Rounding::Decimals { places: i32::try_from(limit_places).unwrap_or(0), tie },
        }
    }
}

fn split<T: Copy>(ways: &mut Vec<Counted>, all: &[T], set: impl Fn(&mut Counted, T) -> String) {
    let mut out = Vec::with_capacity(ways.len() * all.len());
    for value in all {
        for way in ways.iter() {
            let mut way = way.clone();
            let words = set(&mut way, *value);
            way.taken.push(words);
            out.push(way);
        }
    }
    *ways = out;
}

/// The words of [`Several`].
pub fn several_words(value: Several) -> &'static str {
    match value {
        Several::Average => "average",
        Several::Highest => "highest",
        Several::Lowest => "lowest",
    }
}

/// The words of [`Divisor`].
pub fn divisor_words(value: Divisor) -> &'static str {
    match value {
        Divisor::DaysSampled => "days sampled",
        Divisor::DaysWithDischarge => "days with a discharge",
        Divisor::CalendarDays => "calendar days",
    }
}

/// The words of [`Weighting`].
pub fn weighting_words(value: Weighting) -> &'static str {
    match value {
        Weighting::Arithmetic => "arithmetic",
        Weighting::FlowWeighted => "flow-weighted",
        Weighting::Geometric => "geometric",
    }
}

/// The words of [`DryLook`].
pub fn dry_look_words(value: DryLook) -> &'static str {
    match value {
        DryLook::ThatDay => "that day",
        DryLook::SinceTheLastDryLook => "the days since the last dry look",
    }
}

/// The words of [`Straddling`], after "belongs to".
pub fn straddling_words(value: Straddling) -> &'static str {
    match value {
        Straddling::WhereItStarts => "the month it starts in",
        Straddling::WhereItEnds => "the month it ends in",
        Straddling::WhereMostDaysAre => "the month with most of its days",
    }
}

/// The words of [`Substitute`], after "counts as".
pub fn substitute_words(value: Substitute) -> String {
    match value {
        Substitute::Zero => "zero".to_owned(),
        Substitute::Half => "half of the detection limit".to_owned(),
        Substitute::DetectionLimit => "the detection limit".to_owned(),
        Substitute::Number(number) => number.in_full(6),
    }
}

/// The words of [`Tie`].
pub fn tie_words(value: Tie) -> &'static str {
    match value {
        Tie::HalfUp => "half up",
        Tie::HalfEven => "half even",
        Tie::Truncate => "cut off",
    }
}

/// `rounded half up to 1 decimal`.
pub fn rounding_words(value: Rounding) -> String {
    let plural = |count: i64, what: &str| format!("{count} {what}{}", if count == 1 { "" } else { "s" });
    match value {
        Rounding::Not => String::from("not rounded"),
        Rounding::Decimals { places: 0, tie } => {
            format!("rounded {} to a whole number", tie_words(tie))
        }
        Rounding::Decimals { places, tie } => {
            format!("rounded {} to {}", tie_words(tie), plural(i64::from(places), "decimal"))
        }
        Rounding::Significant { digits, tie } => {
            format!("rounded {} to {}", tie_words(tie), plural(i64::from(digits), "significant digit"))
        }
    }
}

/// `Sunday`.
pub fn weekday_words(day: Weekday) -> &'static str {
    match day {
        Weekday::Mon => "Monday",
        Weekday::Tue => "Tuesday",
        Weekday::Wed => "Wednesday",
        Weekday::Thu => "Thursday",
        Weekday::Fri => "Friday",
        Weekday::Sat => "Saturday",
        Weekday::Sun => "Sunday",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_said_is_tried_every_way_and_what_is_said_only_one() {
        let matters = Matters {
            several: true,
            below_detection: true,
            divisors: vec![Divisor::DaysSampled, Divisor::DaysWithDischarge],
            week: true,
            straddling: true,
            ..Matters::default()
        };
        let open = Counting::default();
        assert_eq!(open.ways(&matters, 0).len(), 3 * 3 * 2 * 7 * 3);
        let said = Counting {
            several: Switch::Is(Several::Highest),
            rounding: Switch::Is(RoundingRule::ToTheLimit(Tie::HalfUp)),
            ..open
        };
        let one = Matters { several: true, ..Matters::default() };
        let ways = said.ways(&one, 1);
        assert_eq!(ways.len(), 1);
        assert_eq!(ways[0].several, Several::Highest);
        assert_eq!(ways[0].rounding, Rounding::Decimals { places: 1, tie: Tie::HalfUp });
        assert!(ways[0].taken.is_empty());
    }

    #[test]
    fn a_switch_that_cannot_change_a_figure_is_not_tried_and_rounding_never_is() {
        let ways = Counting::default().ways(&Matters::default(), 0);
        assert_eq!(ways.len(), 1);
        assert_eq!(ways[0].rounding, Rounding::Not);
    }

    /// Calendar days do not hold for a concentration unless typed at it: what applies is tried.
    #[test]
    fn a_divisor_that_does_not_apply_is_as_if_not_said() {
        let counting = Counting { divisor: Switch::Is(Divisor::CalendarDays), ..Counting::default() };
        let matters =
            Matters { divisors: vec![Divisor::DaysSampled, Divisor::DaysWithDischarge], ..Matters::default() };
        assert_eq!(counting.ways(&matters, 0).len(), 2);
    }
}

//! One limit under one answer to everything not said: its water, its samples, its duty.

use std::collections::BTreeMap;

use super::days::{Day, first_of_month, last_of_month, month_of, months_on, weekday};
use super::exact::{End, Known, Rat};
use super::given::{
    Below, Duty, Least, Limit, Mark, Parameter, Said, Sample, Several, Site, Spot, Statistic, Stretch, Window,
};
use super::water::{State, Water};
use super::windows::{in_force, in_season};

pub struct Seen<'a> {
    pub site: &'a Site,
    pub limit: &'a Limit,
    pub said: Said,
    /// By place of the limit.
    pub waters: &'a [Water<'a>],
    samples: BTreeMap<(usize, Day), Vec<&'a Sample>>,
}

fn number(spot: Spot) -> usize {
    match spot {
        Spot::Upstream => 0,
        Spot::Outfall(n) => n + 1,
    }
}

impl<'a> Seen<'a> {
    pub fn new(site: &'a Site, limit: &'a Limit, waters: &'a [Water<'a>], said: Said) -> Self {
        let parameter = match limit.parameter {
            Parameter::Load => Parameter::Solids,
            other => other,
        };
        let mut samples: BTreeMap<(usize, Day), Vec<&Sample>> = BTreeMap::new();
        for sample in &site.samples {
            let has_a_result = sample.mark != Mark::Void && site.is_evidence(sample.when);
            if sample.parameter == parameter && has_a_result {
                let key = (number(sample.spot), site.day_of(sample.when));
                samples.entry(key).or_default().push(sample);
            }
        }
        Self { site, limit, said, waters, samples }
    }

    /// The spot of a place of the limit.
    pub fn spot(&self, place: usize) -> Spot {
        Spot::Outfall(self.limit.at[place])
    }

    /// The results on file of one day at one spot.
    pub fn samples(&self, spot: Spot, day: Day) -> &[&'a Sample] {
        self.samples.get(&(number(spot), day)).map_or(&[], Vec::as_slice)
    }

    pub fn sampled(&self, spot: Spot, day: Day) -> bool {
        !self.samples(spot, day).is_empty()
    }

    pub fn known(&self, sample: &Sample) -> Known {
        let x = sample.value;
        match sample.mark {
            Mark::More => Known::between(End::At(x), End::Above),
            Mark::Less => Known {
                lo: End::ZERO,
                hi: End::At(x),
                counted: Some(match self.said.below {
                    Below::Zero => Rat::ZERO,
                    Below::Half => x * Rat::new(1, 2),
                    Below::Limit => x,
                    Below::Number(number) => number,
                }),
            },
            _ => Known::point(x),
        }
    }

    /// The values of one day at one spot.
    pub fn values(&self, spot: Spot, day: Day) -> Vec<Known> {
        let samples = self.samples(spot, day).iter();
        samples.map(|sample| self.known(sample)).collect()
    }

    /// The day's value by the switch.
    pub fn day_value(&self, spot: Spot, day: Day) -> Option<Known> {
        let values = self.values(spot, day);
        (!values.is_empty()).then(|| match self.said.several {
            Several::Average => Known::mean(&values),
            Several::Highest => Known::highest(&values),
            Several::Lowest => Known::lowest(&values),
        })
    }

    /// The stretches of the limit's duty that touch these days, the first and the last day of each.
    pub fn stretches(&self, duty: Duty, from: Day, to: Day) -> Vec<(Day, Day)> {
        let mut out = Vec::new();
        match duty.stretch {
            Stretch::Day => out.extend((from..=to).map(|d| (d, d))),
            Stretch::Week => {
                let starts = |d: &Day| weekday(*d) == self.said.week_starts;
                out.extend(((from - 6)..=to).filter(starts).map(|d| (d, d + 6)));
            }
            Stretch::Month => {
                let mut month = month_of(from);
                while first_of_month(month) <= to {
                    out.push((first_of_month(month), last_of_month(month)));
                    month = months_on(month, 1);
                }
            }
            Stretch::Quarter => {
                // Quarters of the permit year.
                let (year, month) = month_of(from);
                let into = (month - self.site.year_starts.0).rem_euclid(3);
                let mut month = months_on((year, month), -into);
                while first_of_month(month) <= to {
                    let last = months_on(month, 2);
                    out.push((first_of_month(month), last_of_month(last)));
                    month = months_on(month, 3);
                }
            }
            Stretch::Days(_) => {}
        }
        out
    }

    /// The duty that is the least data, if one is: else every day with a discharge, or every day.
    pub fn least_duty(&self) -> Option<Duty> {
        let at_an_outfall = !self.limit.at.is_empty();
        if at_an_outfall && self.limit.counting.least == Some(Least::EveryDischarge) {
            return None;
        }
        // A typed number of samples stands in its place where several are made one figure.
        let of_several = matches!(
            self.limit.statistic,
            Statistic::Average(_) | Statistic::GeometricMean(_) | Statistic::Percentile(_) | Statistic::Removal
        );
        if of_several && matches!(self.limit.counting.least, Some(Least::Count(_))) {
            return None;
        }
        self.limit.duty
    }

    /// Whether a stretch lies in force whole, and in season at all.
    pub fn lies_in(&self, from: Day, to: Day) -> bool {
        (from..=to).all(|d| in_force(self.site, self.limit, d)) && (from..=to).any(|d| in_season(self.limit, d))
    }

    fn sampled_in(&self, spot: Spot, from: Day, to: Day) -> bool {
        (from..=to).any(|d| self.sampled(spot, d))
    }

    fn dry_throughout(&self, place: usize, from: Day, to: Day) -> bool {
        (from..=to).filter(|d| in_season(self.limit, *d)).all(|d| self.waters[place].state(d) == State::Dry)
    }

    /// Closed stretches of a duty that touch the period, lie in force, and have no sample though one was due.
    pub fn without_sample(&self, duty: Duty, place: Option<usize>, spot: Spot) -> Vec<(Day, Day)> {
        super::duty::closed(self, duty)
            .into_iter()
            .filter(|(a, b)| !self.sampled_in(spot, *a, *b))
            .filter(|(a, b)| place.is_none_or(|place| !self.dry_throughout(place, *a, *b)))
            .collect()
    }

    /// Whether a window of several days has its least data at a place; `has` tells the days that count as sampled.
    pub fn enough(&self, place: usize, days: &[Day], has: &dyn Fn(Day) -> bool) -> bool {
        let averaged = !matches!(self.limit.statistic, Statistic::Maximum(_) | Statistic::Total(_));
        if let Some(Least::Count(n)) = self.limit.counting.least.filter(|_| averaged) {
            // Several samples of one day make one value.
            return days.iter().filter(|d| has(**d)).count() >= n;
        }
        let water = &self.waters[place];
        match self.least_duty() {
            None => days.iter().all(|d| has(*d) || water.state(*d) == State::Dry),
            Some(duty) => {
                let (from, to) = (days[0], days[days.len() - 1]);
                // A stretch over the window's edge has its sample wherever in it; an open one is not due yet.
                let due = |(a, b): &(Day, Day)| {
                    *b <= self.site.as_of && (*a..=*b).all(|d| in_force(self.site, self.limit, d))
                };
                let missing = |(a, b): (Day, Day)| !(a..=b).any(has) && !self.dry_throughout(place, a, b);
                let any = days.iter().any(|d| has(*d));
                // Of a longer stretch every window with a sample is judged.
                if self.duty_is_longer(nominal(self)) {
                    return any;
                }
                any && !self.stretches(duty, from, to).into_iter().filter(due).any(missing)
            }
        }
    }

    /// Whether the duty's stretch is longer than the limit's window.
    pub fn duty_is_longer(&self, window_days: usize) -> bool {
        let length = self.least_duty().map_or(0, |duty| match duty.stretch {
            Stretch::Day => 1,
            Stretch::Week => 7,
            Stretch::Month => 31,
            Stretch::Quarter => 92,
            Stretch::Days(n) => n as usize,
        });
        length > window_days
    }
}

/// Days of the limit's window where nothing cuts it.
pub fn nominal(seen: &Seen) -> usize {
    match seen.limit.statistic.window() {
        Window::Day => 1,
        Window::Week => 7,
        Window::Month => 31,
        Window::Rolling(n) => n as usize,
        Window::Season => {
            let from = seen.site.period.0;
            (from..from + 365).filter(|d| in_season(seen.limit, *d)).count()
        }
        Window::Year | Window::TwelveMonths => 366,
    }
}

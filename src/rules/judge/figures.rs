//! What a window makes of its values: means, extremes, shares over, removal.

use std::collections::BTreeSet;

use chrono::NaiveDate;

use crate::rules::judge::evaluate::{Figured, runs_text};
use crate::rules::judge::lacking::uncounted;
use crate::rules::judge::scene::Scene;
use crate::rules::judge::text;
use crate::rules::measure::{Flow, Flows, Sampled, day_number};
use crate::rules::window::decide::{Side, is_outside, side};
use crate::rules::window::interval;
use crate::rules::window::interval::Weighed;
use crate::rules::window::statistics::Fold;
use crate::rules::window::windows::day_label;
use crate::rules::{Counted, Divisor, Interval, Missing, Number, Weighting};

/// What a figure is made of beside its values.
pub(crate) struct Of<'a> {
    /// The limit and what is on file.
    pub scene: &'a Scene<'a>,
    /// How it counts.
    pub counted: &'a Counted,
    /// Water at the place.
    pub flows: &'a Flows,
    /// The window's days under the limit.
    pub days: &'a [NaiveDate],
}

impl Of<'_> {
    fn show(&self, value: &Interval) -> String {
        text::figure(value, &self.scene.limit.bound, false)
    }

    /// The figure of a window from its values, and for a removal from those at the first point.
    pub fn figure(&self, fold: Fold, values: &[&Sampled], entering: &[&Sampled]) -> Figured {
        let mut out = match fold {
            Fold::Average | Fold::Total if self.counted.weighting == Weighting::FlowWeighted => self.weighted(values),
            Fold::Average if self.counted.weighting == Weighting::Geometric => self.geometric(values),
            Fold::Average | Fold::Total => self.average(values),
            Fold::Geometric => self.geometric(values),
            Fold::Highest => self.extreme(values, "highest", Interval::or_more),
            Fold::Lowest => self.extreme(values, "lowest", Interval::or_less),
            Fold::Allowance => self.allowance(values),
            Fold::Removal => self.removal(values, entering),
        };
        out.evidence = values.iter().flat_map(|of| of.evidence.clone()).collect();
        out.known_on = values.iter().map(|of| of.known_on).max();
        if fold == Fold::Highest
            && let Some((bound, within)) = self.scene.limit.bound.upper()
        {
            out.over_on = values
                .iter()
                .filter(|of| {
                    let side = of.value.low.rounded_against(self.counted.rounding, bound);
                    side.is_gt() || (side.is_eq() && !within)
                })
                .map(|of| of.known_on)
                .min();
        }
        out
    }

    fn made(value: Interval, n: usize, line: String) -> Figured {
        Figured { n, arithmetic: vec![line], ..Figured::of(value) }
    }

    /// Days without a value on which there was surely a discharge, and on which there may have been.
    fn without_value(&self, values: &[&Sampled]) -> (usize, usize) {
        let bare = |flow: Flow| {
            self.days
                .iter()
                .filter(|day| !values.iter().any(|value| value.day == **day))
                .filter(|day| self.flows.on(**day) == flow)
                .count()
        };
        (bare(Flow::Flowing), bare(Flow::NotKnown))
    }

    fn average(&self, values: &[&Sampled]) -> Figured {
        let all: Vec<Interval> = values.iter().map(|of| of.value).collect();
        let sum = interval::total(&all);
        let (divisor, missing) = match self.counted.divisor {
            Divisor::DaysSampled => (Interval::exactly(Number::count(all.len())), false),
            Divisor::DaysWithDischarge => {
                let (sure, possible) = self.without_value(values);
                let least = all.len() + sure;
                (Interval::between(Number::count(least), Number::count(least + possible)), sure + possible > 0)
            }
            Divisor::CalendarDays => {
                let (sure, possible) = self.without_value(values);
                (Interval::exactly(Number::count(self.days.len())), sure + possible > 0)
            }
        };
        let sum = if missing { sum.plus(Interval::missing()) } else { sum };
        let mean = sum.over(divisor).unwrap_or_else(Interval::missing);
        let line = format!(
            "({}{}) ÷ {} = {}",
            text::results(values, " + "),
            if missing { " + what is missing" } else { "" },
            text::count(&divisor),
            text::with_counted(&mean, self.scene.limit)
        );
        let line = if all.len() == 1 && !missing && divisor.is_exact() && divisor.low.compare(Number::whole(1)).is_eq()
        {
            let below = values.iter().any(|of| of.is_below());
            let result = if below { format!(", {}", text::results(values, "")) } else { String::new() };
            format!("1 sample{result}: {}", text::with_counted(&mean, self.scene.limit))
        } else {
            line
        };
        let line = format!("{line}{}", self.other_ways(&mean, values));
        Self::made(mean, all.len(), line)
    }

    /// Where results below detection decide it: the mean with them as nothing and in full, beside the permit's own way.
    fn other_ways(&self, mean: &Interval, values: &[&Sampled]) -> String {
        let bound = &self.scene.limit.bound;
        let decides = is_outside(mean.low, bound) != is_outside(mean.high, bound);
        if !decides || !mean.high.is_finite() || !values.iter().any(|of| of.is_below()) {
            return String::new();
        }
        let ways = [(mean.low, "as zero"), (mean.high, "in full")];
        let others = ways.into_iter().filter(|(value, _)| mean.counted != Some(*value));
        let words = others.enumerate().map(|(at, (value, how))| {
            let with = if at == 0 { " with results below detection" } else { "" };
            format!("{}{with} {how}", self.show(&Interval::exactly(value)))
        });
        format!("; {}", words.collect::<Vec<_>>().join(", "))
    }

    fn weighted(&self, values: &[&Sampled]) -> Figured {
        let mut pairs: Vec<Weighed> = Vec::new();
        let mut missing: Vec<Missing> = Vec::new();
        // Of a day sampled at one place the others have water too, and what was in it.
        let days: BTreeSet<NaiveDate> = values.iter().map(|value| value.day).collect();
        for (day, of) in days.iter().flat_map(|day| self.flows.of.iter().map(move |of| (*day, of))) {
            let water = of.water.on(day_number(day));
            let value = values.iter().find(|value| value.day == day && value.place == of.place);
            if value.is_none() && water.value.high.is_zero() {
                continue;
            }
            // Water that nothing metered has no weight.
            for lack in uncounted(&water.missing, self.scene.case.as_of) {
                if !missing.contains(&lack) {
                    missing.push(lack);
                }
            }
            pairs.push(Weighed {
                value: value.map_or_else(Interval::missing, |value| value.value),
                weight: water.value,
            });
        }
        let mean = interval::weighted(&pairs);
        if mean.is_none() {
            missing.push(Missing {
                of: None,
                paper: None,
                sentence: "No water was metered on the days sampled, so nothing weighs.".to_owned(),
                would_show: None,
            });
        }
        let mean = mean.unwrap_or_else(Interval::missing);
        let products: Vec<String> = pairs
            .iter()
            .take(8)
            .map(|of| format!("{} × {}", text::plain(&of.value), text::plain(&of.weight)))
            .collect();
        let more = if pairs.len() > 8 { " + …" } else { "" };
        let line = format!(
            "({}{more}) ÷ the water (m³) = {}",
            products.join(" + "),
            text::with_counted(&mean, self.scene.limit)
        );
        Figured { missing, ..Self::made(mean, pairs.len(), line) }
    }

    fn geometric(&self, values: &[&Sampled]) -> Figured {
        let all: Vec<Interval> = values.iter().map(|of| of.value).collect();
        let bound = &self.scene.limit.bound;
        let bounds: Vec<Number> = bound.upper().into_iter().chain(bound.lower()).map(|(bound, _)| bound).collect();
        let mean = interval::geometric_mean(&all, &bounds).unwrap_or_else(Interval::missing);
        let line = format!(
            "({})^(1/{}) = {}",
            text::results(values, " × "),
            all.len(),
            text::with_counted(&mean, self.scene.limit)
        );
        let mut out = Self::made(mean, all.len(), line);
        if let Some(zero) = values.iter().find(|of| of.value.high.is_zero()) {
            out.arithmetic.push(format!(
                "{}: a result of 0 makes the whole mean 0. If it was below detection, write `<` and the detection limit \
                 as on the slip.",
                day_label(zero.day)
            ));
        }
        if mean.counted.is_none() && mean.low.is_zero() && mean.high.is_finite() && !mean.is_exact() {
            out.arithmetic.push(
                "A geometric mean can't take zero: the permit has to say what a result below detection counts as in it.".to_owned(),
            );
        }
        out
    }

    fn extreme(&self, values: &[&Sampled], word: &str, join: fn(Interval, Interval) -> Interval) -> Figured {
        let value = values.iter().map(|of| of.value).reduce(join).unwrap_or_else(Interval::missing);
        let line = format!("{word} of {}: {}", values.len(), self.show(&value));
        Self::made(value, values.len(), line)
    }

    fn allowance(&self, values: &[&Sampled]) -> Figured {
        let bound = &self.scene.limit.bound;
        let rounding = self.counted.rounding;
        let n = values.len();
        let (mut low, mut high) = (0, 0);
        for value in values {
            match side(&value.value, bound, rounding, false) {
                Side::Over | Side::Under => {
                    low += 1;
                    high += 1;
                }
                Side::Open => high += 1,
                Side::Within => {}
            }
        }
        let value = Interval::between(Number::count(low), Number::count(high));
        let size = u32::try_from(n).unwrap_or(u32::MAX);
        let row = self.scene.limit.allowance.iter().find(|(from, to, _)| *from <= size && size <= *to);
        let over = format!("{} of {n} samples not {}", text::count(&value), bound.text);
        match row {
            Some((_, _, allowed)) => Figured {
                against: Some(Number::whole(i128::from(*allowed))),
                ..Self::made(value, n, format!("{over}; {allowed} may be"))
            },
            None => Figured {
                against: Some(Number::whole(i128::MAX)),
                missing: vec![Missing {
                    of: None,
                    paper: None,
                    sentence: format!("The permit's table of allowances has no row for {n} samples."),
                    would_show: None,
                }],
                ..Self::made(value, n, over)
            },
        }
    }

    fn removal(&self, leaving: &[&Sampled], entering: &[&Sampled]) -> Figured {
        let both: Vec<(&Sampled, &Sampled)> = leaving
            .iter()
            .filter_map(|out| {
                let into = entering.iter().find(|into| into.day == out.day)?;
                Some((*into, *out))
            })
            .collect();
        let label = runs_text(
            &leaving.iter().chain(entering).map(|of| of.day).collect::<BTreeSet<_>>().into_iter().collect::<Vec<_>>(),
            3,
        );
        let ends: Vec<Interval> = both.iter().map(|(_, out)| out.value).collect();
        let begins: Vec<Interval> = both.iter().map(|(into, _)| into.value).collect();
        let undefined = Interval { low: Number::Float(f64::NEG_INFINITY), high: Number::INFINITE, counted: None };
        let (Some(mean_out), Some(mean_in)) = (interval::mean(&ends), interval::mean(&begins)) else {
            return Figured {
                missing: vec![Missing {
                    of: None,
                    paper: None,
                    sentence: format!("{label}: no day was sampled at both points."),
                    would_show: Some("Slips of the same days at both points.".to_owned()),
                }],
                ..Self::made(undefined, 0, "no day sampled at both points".to_owned())
            };
        };
        let value = interval::percent_removal(mean_in, mean_out);
        let in_unit = |of: &Interval| text::in_milligrams(of);
        let line = format!(
            "100 × ({} − {}) ÷ {} = {}",
            in_unit(&mean_in),
            in_unit(&mean_out),
            in_unit(&mean_in),
            value.map_or_else(|| "not defined".to_owned(), |value| text::with_counted(&value, self.scene.limit))
        );
        let mut out = Self::made(value.unwrap_or(undefined), both.len(), line);
        if value.is_none() {
            out.missing.push(Missing {
                of: None,
                paper: None,
                sentence: "What entered may have been nothing, so removal is not defined.".to_owned(),
                would_show: None,
            });
        }
        if both.len() < leaving.len().max(entering.len()) {
            out.arithmetic.push(format!(
                "{} days were sampled at both points, {} at one only.",
                both.len(),
                leaving.len() + entering.len() - 2 * both.len()
            ));
        }
        out
    }
}

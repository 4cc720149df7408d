//! Folds: the figure of a window from its readings, at both ends and as the permit counts.

use chrono::NaiveDate;

use crate::rules::discharge::{DischargeDays, Flow};
use crate::rules::interval::{self, Interval};
use crate::rules::readings::Reading;
use crate::rules::windows::{Window, each_day};
use crate::rules::{Counted, Divisor, Number, Weighting};

/// What a fold is given.
pub struct Inputs<'a> {
    /// The window.
    pub window: &'a Window,
    /// Whether the limit holds on a day.
    pub holds: &'a dyn Fn(NaiveDate) -> bool,
    /// Readings that touch the window, in order.
    pub readings: &'a [&'a Reading],
    /// For removal: readings at the first point.
    pub entering: &'a [&'a Reading],
    /// Whether readings are amounts over days that add up.
    pub amounts: bool,
    /// Whether the readings see all there is.
    pub complete: bool,
    /// Whether every day has its value (a computed run).
    pub every_day: bool,
    /// How it counts.
    pub counted: &'a Counted,
    /// What flowed when.
    pub days: &'a DischargeDays,
    /// Metered flow of a day, for weights.
    pub flow: &'a dyn Fn(NaiveDate) -> Option<Number>,
    /// The upper bound, for a percentile, and its table.
    pub bound: Option<Number>,
    /// From, to (samples), how many may be over.
    pub allowance: &'a [(u32, u32, u32)],
    /// The unit, for the arithmetic.
    pub unit: &'a str,
    /// Whether to write the arithmetic out.
    pub written: bool,
}

/// The figure of a window.
#[derive(Debug, Clone, PartialEq)]
pub struct Folded {
    /// The figure.
    pub value: Interval,
    /// How many values it rests on.
    pub n: usize,
    /// The arithmetic, line by line.
    pub arithmetic: Vec<String>,
    /// What it is held against, where that is not the bound itself: the allowance of a percentile.
    pub against: Option<Number>,
    /// What is missing that the figure itself shows: a weight, a table's row.
    pub lacking: Option<String>,
}

impl Folded {
    fn new(value: Interval, n: usize, arithmetic: Vec<String>) -> Self {
        Self {
            value,
            n,
            arithmetic,
            against: None,
            lacking: None,
        }
    }
}

impl Inputs<'_> {
    fn held_days(&self) -> impl Iterator<Item = NaiveDate> {
        each_day(self.window.from, self.window.to).filter(|day| (self.holds)(*day))
    }

    fn values(&self) -> Vec<Interval> {
        self.readings.iter().map(|reading| reading.value).collect()
    }

    /// Whether a reading lies whole in the window on days on which the limit holds.
    fn whole(&self, reading: &Reading) -> bool {
        self.window.contains(reading.first)
            && self.window.contains(reading.last)
            && (reading.first == reading.last
                || each_day(reading.first, reading.last).all(|day| (self.holds)(day)))
    }

    /// Days in the window that no reading covers and that are not shown dry.
    pub(crate) fn uncovered(&self) -> Vec<NaiveDate> {
        if self.every_day {
            return Vec::new();
        }
        self.held_days()
            .filter(|day| {
                !self.readings.iter().any(|reading| reading.covers(*day))
                    && self.days.on(*day) != Flow::Dry
            })
            .collect()
    }

    /// Days with a discharge and without a value.
    fn without_value(&self) -> usize {
        if self.every_day {
            return 0;
        }
        self.held_days()
            .filter(|day| {
                matches!(self.days.on(*day), Flow::Flowing | Flow::Computed)
                    && !self.readings.iter().any(|reading| reading.covers(*day))
            })
            .count()
    }
}

/// Joins terms of a sum for print, shortened in the middle.
fn terms(values: &[Interval], sign: &str) -> String {
    const MOST: usize = 8;
    let text = |value: &Interval| match value.counted {
        Some(counted) => counted.honest(6),
        None => format!("[{} to {}]", value.low.honest(6), end(value.high)),
    };
    if values.len() <= MOST {
        return values.iter().map(text).collect::<Vec<_>>().join(sign);
    }
    let zeros = values.iter().filter(|value| value.high.is_zero()).count();
    let rest = if zeros > 0 {
        format!(", {zeros} of them 0")
    } else {
        String::new()
    };
    let what = if sign.contains('×') {
        "product"
    } else {
        "sum"
    };
    format!("{what} of {} values{rest}", values.len())
}

fn end(value: Number) -> String {
    value.honest(6)
}

/// An interval for print: `38`, `4 to 7.33`, `at least 12`.
pub(crate) fn shown(value: &Interval) -> String {
    if value.is_exact() {
        return value.low.honest(4);
    }
    if !value.high.is_finite() {
        return format!("at least {}", value.low.honest(4));
    }
    if value.low.is_zero() {
        return format!("at most {}", value.high.honest(4));
    }
    format!("{} to {}", value.low.honest(4), value.high.honest(4))
}

fn counted_note(value: &Interval) -> String {
    match value.counted {
        Some(counted) if !value.is_exact() => format!(" (counted as {})", counted.honest(4)),
        _ => String::new(),
    }
}

/// The sum over the window. Parts of a reading that reach over its edge may lie in it or not; what is missing opens the
/// upper end.
pub(crate) fn total(inputs: &Inputs<'_>) -> Option<Folded> {
    if inputs.readings.is_empty() {
        return None;
    }
    let parts: Vec<Interval> = inputs
        .readings
        .iter()
        .map(|reading| {
            if inputs.whole(reading) {
                reading.value
            } else {
                Interval {
                    low: Number::ZERO,
                    counted: None,
                    ..reading.value
                }
            }
        })
        .collect();
    let mut sum = interval::total(&parts);
    let missing = if inputs.amounts {
        !inputs.uncovered().is_empty() || !inputs.complete
    } else {
        inputs.without_value() > 0
    };
    if missing {
        sum = sum.plus(Interval::missing());
    }
    let arithmetic = written(inputs, || {
        let rest = if missing { " + what is missing" } else { "" };
        format!(
            "{}{rest} = {} {}{}",
            terms(&parts, " + "),
            shown(&sum),
            inputs.unit,
            counted_note(&sum)
        )
    });
    Some(Folded::new(sum, inputs.readings.len(), arithmetic))
}

/// The average as the permit divides and weighs.
pub(crate) fn average(inputs: &Inputs<'_>) -> Option<Folded> {
    if inputs.readings.is_empty() {
        return None;
    }
    if inputs.amounts {
        return average_of_amounts(inputs);
    }
    let values = inputs.values();
    match inputs.counted.weighting {
        Weighting::Geometric => return geometric(inputs),
        Weighting::FlowWeighted => return weighted(inputs),
        Weighting::Arithmetic => {}
    }
    let (sum, days) = match inputs.counted.divisor {
        Divisor::DaysSampled => (interval::total(&values), values.len()),
        Divisor::DaysWithDischarge => {
            let missing = inputs.without_value();
            (with_missing(&values, missing), values.len() + missing)
        }
        Divisor::CalendarDays => {
            let days = inputs.held_days().count();
            let dry = inputs
                .held_days()
                .filter(|day| {
                    inputs.days.on(*day) == Flow::Dry
                        && !inputs.readings.iter().any(|reading| reading.covers(*day))
                })
                .count();
            (
                with_missing(&values, days.saturating_sub(values.len() + dry)),
                days,
            )
        }
    };
    let mean = sum.over(Interval::exactly(Number::count(days)))?;
    let arithmetic = written(inputs, || {
        let rest = if sum.high.is_finite() || values.iter().any(|value| !value.high.is_finite()) {
            ""
        } else {
            " + what is missing"
        };
        let unit = if inputs.unit.is_empty() {
            String::new()
        } else {
            format!(" {}", inputs.unit)
        };
        format!(
            "({}{rest}) ÷ {days} = {}{unit}{}",
            terms(&values, " + "),
            shown(&mean),
            counted_note(&mean)
        )
    });
    Some(Folded::new(mean, values.len(), arithmetic))
}

fn with_missing(values: &[Interval], missing: usize) -> Interval {
    let sum = interval::total(values);
    if missing > 0 {
        sum.plus(Interval::missing())
    } else {
        sum
    }
}

fn average_of_amounts(inputs: &Inputs<'_>) -> Option<Folded> {
    let sum = total(&Inputs {
        written: false,
        ..copy(inputs)
    })?;
    let covered = inputs
        .held_days()
        .filter(|day| inputs.readings.iter().any(|reading| reading.covers(*day)))
        .count();
    let calendar = inputs.held_days().count();
    let divisor = match inputs.counted.divisor {
        Divisor::DaysSampled => Interval::exactly(Number::count(covered)),
        Divisor::CalendarDays => Interval::exactly(Number::count(calendar)),
        Divisor::DaysWithDischarge => {
            let mut low = 0;
            let mut high = 0;
            for day in inputs.held_days() {
                let on: Vec<&&Reading> = inputs
                    .readings
                    .iter()
                    .filter(|reading| reading.covers(day))
                    .collect();
                let surely = on
                    .iter()
                    .any(|reading| reading.days() == 1 && !reading.value.low.is_zero());
                let maybe = on.iter().any(|reading| !reading.value.high.is_zero());
                low += usize::from(surely);
                high += usize::from(maybe);
            }
            // Readings over several days flowed on one of them at least.
            let spans = inputs
                .readings
                .iter()
                .filter(|reading| reading.days() > 1 && !reading.value.low.is_zero());
            low = low.max(usize::from(low == 0 && spans.count() > 0));
            Interval::between(Number::count(low), Number::count(high))
        }
    };
    // Days sampled: only what was measured counts, above and below the line; the days not covered are told apart.
    let value = if inputs.counted.divisor == Divisor::DaysSampled && inputs.complete {
        let parts: Vec<Interval> = inputs
            .readings
            .iter()
            .map(|r| {
                if inputs.whole(r) {
                    r.value
                } else {
                    Interval {
                        low: Number::ZERO,
                        counted: None,
                        ..r.value
                    }
                }
            })
            .collect();
        interval::total(&parts)
    } else {
        sum.value
    };
    let mean = value.over(divisor)?;
    let arithmetic = written(inputs, || {
        format!(
            "{} {} ÷ {} days = {} {}",
            shown(&value),
            inputs.unit,
            shown(&divisor),
            shown(&mean),
            inputs.unit
        )
    });
    Some(Folded::new(mean, sum.n, arithmetic))
}

fn copy<'a>(inputs: &Inputs<'a>) -> Inputs<'a> {
    Inputs { ..*inputs }
}

fn weighted(inputs: &Inputs<'_>) -> Option<Folded> {
    let mut pairs = Vec::new();
    for reading in inputs.readings {
        match (inputs.flow)(reading.first) {
            Some(flow) => pairs.push((reading.value, flow)),
            None => {
                let mut folded =
                    Folded::new(Interval::missing(), inputs.readings.len(), Vec::new());
                folded.lacking = Some(format!(
                    "No metered flow of {} to weigh its sample with.",
                    crate::rules::windows::day_label(reading.first)
                ));
                return Some(folded);
            }
        }
    }
    let mean = interval::flow_weighted(&pairs)?;
    let arithmetic = written(inputs, || {
        let products: Vec<String> = pairs
            .iter()
            .map(|(value, flow)| format!("{} × {}", shown(value), flow.honest(3)))
            .collect();
        format!(
            "({}) ÷ the flow = {} {}",
            products.join(" + "),
            shown(&mean),
            inputs.unit
        )
    });
    Some(Folded::new(mean, pairs.len(), arithmetic))
}

/// The geometric mean.
pub(crate) fn geometric(inputs: &Inputs<'_>) -> Option<Folded> {
    let values = inputs.values();
    let mean = interval::geometric_mean(&values)?;
    let arithmetic = written(inputs, || {
        format!(
            "({})^(1/{}) = {} {}{}",
            terms(&values, " × "),
            values.len(),
            shown(&mean),
            inputs.unit,
            counted_note(&mean)
        )
    });
    let lacking = values
        .iter()
        .any(|value| value.low.is_zero() && value.counted.is_none_or(Number::is_zero))
        .then(|| "A geometric mean can't take zero: the permit has to say what a result below detection counts as in it.".to_owned());
    let mut folded = Folded::new(mean, values.len(), arithmetic);
    if lacking.is_some() {
        folded.value.counted = None;
        folded.lacking = lacking;
    }
    Some(folded)
}

/// The highest daily value.
pub(crate) fn highest(inputs: &Inputs<'_>) -> Option<Folded> {
    let days = if inputs.amounts {
        day_ends_of_amounts(inputs)
    } else {
        inputs.values()
    };
    let value = days.into_iter().reduce(Interval::or_more)?;
    let missing = if inputs.amounts {
        !inputs.uncovered().is_empty()
    } else {
        inputs.without_value() > 0
    };
    let value = if missing {
        value.or_more(Interval::missing())
    } else {
        value
    };
    let n = inputs.readings.len();
    let arithmetic = written(inputs, || {
        format!("highest of {n}: {} {}", shown(&value), inputs.unit)
    });
    Some(Folded::new(value, n, arithmetic))
}

/// The lowest daily value.
pub(crate) fn lowest(inputs: &Inputs<'_>) -> Option<Folded> {
    let days = if inputs.amounts {
        day_ends_of_amounts(inputs)
    } else {
        inputs.values()
    };
    let value = days.into_iter().reduce(Interval::or_less)?;
    let n = inputs.readings.len();
    let arithmetic = written(inputs, || {
        format!("lowest of {n}: {} {}", shown(&value), inputs.unit)
    });
    Some(Folded::new(value, n, arithmetic))
}

/// The values that days can have had: single days as they are, one day of a longer reading between its even share and
/// the whole of it.
fn day_ends_of_amounts(inputs: &Inputs<'_>) -> Vec<Interval> {
    inputs
        .readings
        .iter()
        .map(|reading| {
            if reading.days() <= 1 {
                return reading.value;
            }
            let share = reading
                .value
                .low
                .over(Number::count(reading.days()))
                .unwrap_or(Number::ZERO);
            let low = if inputs.whole(reading) {
                share
            } else {
                Number::ZERO
            };
            Interval {
                low,
                high: reading.value.high,
                counted: None,
            }
        })
        .collect()
}

/// How many samples are over, against the table of allowances.
pub(crate) fn over_allowance(inputs: &Inputs<'_>) -> Option<Folded> {
    let bound = inputs.bound?;
    let n = inputs.readings.len();
    if n == 0 {
        return None;
    }
    let over = |pick: fn(&Interval) -> Number| {
        inputs
            .readings
            .iter()
            .filter(|reading| pick(&reading.value).against(bound).is_gt())
            .count()
    };
    let (low, high) = (over(|value| value.low), over(|value| value.high));
    let value = Interval::between(Number::count(low), Number::count(high));
    let size = u32::try_from(n).unwrap_or(u32::MAX);
    let row = inputs
        .allowance
        .iter()
        .find(|(from, to, _)| *from <= size && size <= *to);
    let arithmetic = written(inputs, || match row {
        Some((_, _, allowed)) => format!(
            "{} of {n} samples over {}; {allowed} may be",
            shown(&value),
            bound.honest(4)
        ),
        None => format!("{} of {n} samples over {}", shown(&value), bound.honest(4)),
    });
    let mut folded = Folded::new(value, n, arithmetic);
    match row {
        Some((_, _, allowed)) => folded.against = Some(Number::whole(i128::from(*allowed))),
        None => {
            folded.against = Some(Number::whole(i128::MAX));
            folded.value.high = Number::INFINITE;
            folded.value.counted = None;
            folded.lacking = Some(format!(
                "The permit's table of allowances has no row for {n} samples."
            ));
        }
    }
    Some(folded)
}

/// Percent removal from the averages at both points.
pub(crate) fn removal(inputs: &Inputs<'_>) -> Option<Folded> {
    let leaving = inputs.values();
    let entering: Vec<Interval> = inputs
        .entering
        .iter()
        .map(|reading| reading.value)
        .collect();
    let (mean_out, mean_in) = (interval::mean(&leaving)?, interval::mean(&entering)?);
    let n = leaving.len().min(entering.len());
    let Some(value) = interval::percent_removal(mean_in, mean_out) else {
        let mut folded = Folded::new(
            Interval {
                low: Number::Float(f64::NEG_INFINITY),
                high: Number::whole(100),
                counted: None,
            },
            n,
            written(inputs, || {
                format!("in: {}, out: {}", shown(&mean_in), shown(&mean_out))
            }),
        );
        folded.lacking =
            Some("What entered may have been nothing, so removal is not defined.".to_owned());
        return Some(folded);
    };
    let arithmetic = written(inputs, || {
        format!(
            "100 × ({} − {}) ÷ {} = {} %",
            shown(&mean_in),
            shown(&mean_out),
            shown(&mean_in),
            shown(&value)
        )
    });
    Some(Folded::new(value, n, arithmetic))
}

fn written(inputs: &Inputs<'_>, line: impl FnOnce() -> String) -> Vec<String> {
    if inputs.written {
        vec![line().trim_end().to_owned()]
    } else {
        Vec::new()
    }
}

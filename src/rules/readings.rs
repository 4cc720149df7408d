//! What was read: samples, meter spans, levels and counts as intervals in the limit's unit, each with its line and paper.

use chrono::NaiveDate;
use uom::si::f64::Area;

use crate::facility::model::{Facility, PlaceKind};
use crate::files::Given;
use crate::quantity::units;
use crate::records::{Level, Qualifier, Sample, Source, Timeline};
use crate::rules::convert::{amount_factor, between, factor, written_unit};
use crate::rules::metered::{hours, load, rate, volumes};
use crate::rules::points::{MetersOn, places};
use crate::rules::windows::{day_label, days_label, later};
use crate::rules::{
    BetweenLevels, Counted, Evidence, Interval, Limit, Missing, Number, Point, Several, Subject,
    Substitute, Switch, interval,
};

/// One reading: a day's value, or an amount over several days.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// First day it covers.
    pub first: NaiveDate,
    /// Last day it covers.
    pub last: NaiveDate,
    /// Its value in the limit's unit; for an amount the whole of it.
    pub value: Interval,
    /// As printed: `47 mg/L`.
    pub text: String,
    /// Records it rests on.
    pub evidence: Vec<Evidence>,
    /// The day on which it was known: received, or read.
    pub known_on: NaiveDate,
    /// Whether it is one result below or above what could be measured.
    pub censored: bool,
    /// Whether it is the mean of several samples of a day.
    pub of_several: bool,
}

impl Reading {
    /// A computed value of a day.
    pub fn computed(day: NaiveDate, value: f64) -> Self {
        Self {
            first: day,
            last: day,
            value: Interval::exactly(Number::computed(value)),
            text: String::new(),
            evidence: Vec::new(),
            known_on: day,
            censored: false,
            of_several: false,
        }
    }

    /// How many days it covers.
    pub fn days(&self) -> usize {
        usize::try_from((self.last - self.first).num_days() + 1).unwrap_or(1)
    }

    /// Whether it covers a day.
    pub fn covers(&self, day: NaiveDate) -> bool {
        self.first <= day && day <= self.last
    }
}

/// What was measured for a limit.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Measured {
    /// Readings in order.
    pub readings: Vec<Reading>,
    /// Results that can't be used, and why.
    pub refused: Vec<Missing>,
    /// Whether readings are amounts that add up (volumes, masses, counts) and not states (concentrations, levels).
    pub amounts: bool,
    /// Whether readings see all of what the limit speaks of; else their sum is only a part.
    pub complete: bool,
    /// Sentences on how it was put together.
    pub notes: Vec<String>,
}

pub(crate) fn evidence(day: NaiveDate, text: String, source: &Source) -> Evidence {
    Evidence {
        day,
        text,
        place: Some(source.place.clone()),
        paper: source.paper.clone(),
    }
}

fn known_on(day: NaiveDate, source: &Source) -> NaiveDate {
    source.received.map_or(day, |received| received.max(day))
}

/// What a result counts as in an average, from the permit's words on results below detection.
fn counted_as(limit: &Limit, number: Number) -> Option<Number> {
    let geometric = limit.statistic.is_geometric
        || limit.counting.weighting == Switch::Is(crate::rules::Weighting::Geometric);
    let rule = match limit
        .counting
        .below_detection_geometric
        .filter(|_| geometric)
    {
        Some(rule) => rule,
        None => limit.counting.below_detection.is()?,
    };
    Some(match rule {
        Substitute::Zero => Number::ZERO,
        Substitute::Half => number.over(Number::whole(2))?,
        Substitute::DetectionLimit => number,
        Substitute::Number(value) => value,
    })
}

/// A sample's value as an interval in the limit's unit.
fn sample_value(
    limit: &Limit,
    number: Number,
    qualifier: Qualifier,
    composite: bool,
) -> (Interval, bool) {
    let exact = Interval::exactly(number);
    let under_detection = limit
        .detection
        .filter(|level| number.compare(*level).is_lt());
    match (qualifier, under_detection) {
        (Qualifier::Above, _) => (
            Interval {
                low: number,
                high: Number::INFINITE,
                counted: Some(number),
            },
            true,
        ),
        (Qualifier::Below, _) => (
            Interval {
                low: Number::ZERO,
                high: number,
                counted: counted_as(limit, number),
            },
            true,
        ),
        (_, Some(level)) => (
            Interval {
                low: Number::ZERO,
                high: level,
                counted: counted_as(limit, level),
            },
            true,
        ),
        _ if composite && limit.statistic.instant => {
            // A composite is a mean: some moment was at least as high, so it can show that a limit was passed and
            // never that it was kept.
            if limit.bound.upper().is_some() {
                (
                    Interval {
                        low: number,
                        high: Number::INFINITE,
                        counted: None,
                    },
                    true,
                )
            } else {
                (
                    Interval {
                        low: Number::ZERO,
                        high: number,
                        counted: None,
                    },
                    true,
                )
            }
        }
        _ => {
            let between_levels = limit
                .quantitation
                .is_some_and(|level| number.compare(level).is_lt());
            if !between_levels {
                return (exact, false);
            }
            let counted = match limit.counting.between_levels {
                BetweenLevels::AsMeasured => return (exact, false),
                BetweenLevels::Zero => Number::ZERO,
                BetweenLevels::DetectionLimit => limit.detection.unwrap_or(number),
            };
            (
                Interval {
                    low: counted.or_less(number),
                    high: counted.or_more(number),
                    counted: Some(counted),
                },
                true,
            )
        }
    }
}

fn sample_text(sample: &Sample) -> String {
    let mark = match sample.qualifier {
        Qualifier::Below => "below ",
        Qualifier::Above => "above ",
        Qualifier::Estimated => "estimated ",
        Qualifier::None => "",
    };
    let unit = sample
        .unit
        .as_deref()
        .filter(|unit| !unit.is_empty())
        .map(|unit| format!(" {unit}"))
        .unwrap_or_default();
    format!(
        "{} {mark}{}{unit}",
        sample.parameter,
        sample.value.as_deref().unwrap_or("lost")
    )
}

const SAME_PARAMETER: [(&str, &str); 4] = [
    ("tss", "total suspended solids"),
    ("suspended solids", "total suspended solids"),
    ("ec", "electrical conductivity"),
    ("temp", "temperature"),
];

/// A parameter's name in small letters, a usual short form written out.
pub(crate) fn parameter_name(text: &str) -> String {
    let name = text
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
        .to_lowercase();
    SAME_PARAMETER
        .iter()
        .find(|(short, _)| *short == name)
        .map_or(name, |(_, long)| (*long).to_owned())
}

/// Samples of a parameter at a point, in the unit given, each as a reading. Lost, wrong-kind and unreadable ones are
/// refused with a reason.
pub(crate) fn samples(
    limit: &Limit,
    parameter: &str,
    at: &[crate::facility::model::PlaceId],
    unit: Option<&crate::quantity::Unit>,
    timeline: &Timeline,
    refused: &mut Vec<Missing>,
) -> Vec<Reading> {
    let mut out = Vec::new();
    let of_it = timeline
        .samples
        .iter()
        .filter(|sample| at.contains(&sample.at) && parameter_name(&sample.parameter) == parameter);
    for sample in of_it {
        let mut refuse = |why: String, show: &str| {
            refused.push(Missing {
                sentence: format!(
                    "{}: {why} ({}).",
                    day_label(sample.day),
                    sample.source.place
                ),
                would_show: Some(show.to_owned()),
            });
        };
        let Some(value) = &sample.value else {
            refuse(
                format!("the sample of {parameter} was lost or void"),
                "A laboratory slip for that day.",
            );
            continue;
        };
        if let (Some(asked), Some(kind)) = (
            limit.sample.as_ref().and_then(|duty| duty.kind.as_ref()),
            &sample.kind,
        ) && !kind.to_lowercase().contains(&asked.to_lowercase())
        {
            refuse(
                format!("the sample is a {kind}, and the permit asks for a {asked}"),
                "A sample of the kind asked for.",
            );
            continue;
        }
        let number = Number::parse(value);
        let converted = match (number, written_unit(sample.unit.as_deref())) {
            (Some(number), Ok(from)) => between(number, from.as_ref(), unit),
            _ => None,
        };
        let Some(number) = converted else {
            let unit = sample.unit.as_deref().unwrap_or("no unit");
            refuse(
                format!(
                    "`{value}` in {unit} can't be held against a limit in {}",
                    limit.bound.unit_text
                ),
                "The result in a unit of the same kind as the limit's.",
            );
            continue;
        };
        let composite = sample
            .kind
            .as_ref()
            .is_some_and(|kind| kind.to_lowercase().contains("composite"));
        let (value, censored) = sample_value(limit, number, sample.qualifier, composite);
        out.push(Reading {
            first: sample.day,
            last: sample.day,
            value,
            text: sample_text(sample),
            evidence: vec![evidence(sample.day, sample_text(sample), &sample.source)],
            known_on: known_on(sample.day, &sample.source),
            censored,
            of_several: false,
        });
    }
    out
}

/// One value a day, by the permit's rule for several samples in a day.
pub(crate) fn by_day(readings: Vec<Reading>, several: Several) -> Vec<Reading> {
    let mut out: Vec<Reading> = Vec::new();
    let mut at = 0;
    while let Some(first) = readings.get(at) {
        let same: Vec<&Reading> = readings
            .iter()
            .skip(at)
            .take_while(|other| other.first == first.first)
            .collect();
        at += same.len();
        if same.len() == 1 {
            out.push(first.clone());
            continue;
        }
        let values: Vec<Interval> = same.iter().map(|reading| reading.value).collect();
        let value = match several {
            Several::Average => interval::mean(&values).unwrap_or(first.value),
            Several::Highest => values
                .iter()
                .copied()
                .reduce(Interval::or_more)
                .unwrap_or(first.value),
            Several::Lowest => values
                .iter()
                .copied()
                .reduce(Interval::or_less)
                .unwrap_or(first.value),
        };
        out.push(Reading {
            first: first.first,
            last: first.last,
            value,
            text: format!(
                "{} of {} samples",
                crate::rules::counting::several_words(several),
                same.len()
            ),
            evidence: same
                .iter()
                .flat_map(|reading| reading.evidence.clone())
                .collect(),
            known_on: same
                .iter()
                .map(|reading| reading.known_on)
                .max()
                .unwrap_or(first.known_on),
            censored: false,
            of_several: several == Several::Average,
        });
    }
    out
}

/// The field's area of a point, where it is one discharge point with an area.
pub(crate) fn area<'a>(point: &Point, facility: &'a Facility) -> Option<&'a Given<Area>> {
    match places(point).as_slice() {
        [one] => match facility.get(*one).map(|place| &place.kind) {
            Some(PlaceKind::DischargePoint(point)) => point.area.as_ref(),
            _ => None,
        },
        _ => None,
    }
}

/// Everything measured for a limit under one way to count.
pub(crate) fn measured(
    limit: &Limit,
    counted: &Counted,
    facility: &Facility,
    timeline: &Timeline,
    meters: &MetersOn,
) -> Measured {
    let mut out = Measured {
        complete: true,
        ..Measured::default()
    };
    let unit = limit.bound.unit.as_ref();
    let at = places(&limit.at);
    match &limit.subject {
        Subject::Parameter(parameter) => {
            let readings = samples(limit, parameter, &at, unit, timeline, &mut out.refused);
            out.readings = if limit.statistic.by_day {
                by_day(readings, counted.several)
            } else {
                readings
            };
        }
        Subject::Stage(kind) => {
            let of_it = timeline
                .levels
                .iter()
                .filter(|level| at.contains(&level.at) && level.kind == *kind);
            out.readings = of_it
                .filter_map(|level| level_reading(level, limit))
                .collect();
        }
        Subject::Water => {
            out.amounts = true;
            out.complete = meters.complete;
            let factor = amount_factor(&limit.bound, area(&limit.at, facility));
            out.readings = volumes(meters, facility, timeline)
                .into_iter()
                .filter_map(|reading| {
                    Some(Reading {
                        value: reading.value.times(factor?),
                        ..reading
                    })
                })
                .collect();
        }
        Subject::Load(parameter) => load(
            limit, parameter, counted, facility, timeline, meters, &mut out,
        ),
        Subject::Rate => rate(limit, facility, timeline, meters, &mut out),
        Subject::Hours => hours(limit, facility, timeline, meters, &mut out),
        Subject::Events => {
            out.amounts = true;
            out.readings = timeline
                .washes
                .iter()
                .filter(|count| at.contains(&count.filter))
                .map(|count| {
                    let last = later(count.first_day, count.days.saturating_sub(1));
                    let what = if count.changes { "changes" } else { "washes" };
                    let text = format!(
                        "{} {what} over {}",
                        count.count,
                        days_label(count.first_day, last)
                    );
                    Reading {
                        first: count.first_day,
                        last,
                        value: Interval::exactly(Number::whole(i128::from(count.count))),
                        text: text.clone(),
                        evidence: vec![evidence(last, text, &count.source)],
                        known_on: last,
                        censored: false,
                        of_several: false,
                    }
                })
                .collect();
        }
        Subject::Removal(..) | Subject::Discharge | Subject::ClockWindow => {}
    }
    out.readings
        .sort_by_key(|reading| (reading.first, reading.last));
    out
}

fn level_reading(level: &Level, limit: &Limit) -> Option<Reading> {
    let from = units::named(&level.unit);
    let exact = Number::parse(&level.value)
        .and_then(|number| between(number, from.as_ref(), limit.bound.unit.as_ref()));
    let number = match (exact, &limit.bound.unit) {
        (Some(number), _) => number,
        (None, Some(unit)) => Number::computed(level.value_si).over(factor(unit))?,
        (None, None) => return None,
    };
    let text = format!("{} {}", level.value, level.unit);
    Some(Reading {
        first: level.day,
        last: level.day,
        value: Interval::exactly(number),
        text: text.clone(),
        evidence: vec![evidence(level.day, text, &level.source)],
        known_on: known_on(level.day, &level.source),
        censored: false,
        of_several: false,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn usual_short_names_of_a_parameter_mean_the_same() {
        assert_eq!(parameter_name(" TSS "), "total suspended solids");
        assert_eq!(
            parameter_name("Total  Suspended Solids"),
            "total suspended solids"
        );
        assert_eq!(parameter_name("nitrate N"), "nitrate n");
    }
}

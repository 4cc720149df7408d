//! What slips and field sheets say: results and levels as intervals in the unit they are held against.

use chrono::NaiveDate;

use super::clock::{Moment, day_number};
use super::flows::moment_in;
use crate::facility::model::{Facility, PlaceId};
use crate::quantity::{Unit, parameter_name, units};
use crate::records::{Level, LevelKind, Qualifier, Sample, Timeline};
use crate::rules::judge::case::Case;
use crate::rules::measure::convert::{between, factor, written_unit};
use crate::rules::measure::readings::{evidence, known_on};
use crate::rules::window::interval;
use crate::rules::window::windows::day_label;
use crate::rules::{
    BetweenLevels, Counted, Evidence, Interval, Limit, Missing, Number, Several, Statistic, Substitute,
};

/// A result below what could be measured: the number after `<`, and the unit of the slip.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Below {
    level: Number,
    unit: Option<Unit>,
}

/// One value: a result, or the results of a day as one.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Sampled {
    /// Where it was taken.
    pub place: PlaceId,
    /// The day.
    pub day: NaiveDate,
    /// When, where the hour is known.
    pub at: Option<Moment>,
    /// Least, most and what it counts as.
    pub value: Interval,
    /// As printed.
    pub text: String,
    /// Records behind it.
    pub evidence: Vec<Evidence>,
    /// The day on which it was known: received, or taken.
    pub known_on: NaiveDate,
    /// Whether it is one result beyond what could be measured.
    pub censored: bool,
    /// Whether one of its ends is open because it is the mean of a composite.
    pub composite: bool,
    /// Whether it is a mean of several results.
    pub is_mean: bool,
    /// Whether it is of the kind that the permit asks for: what it shows counts, but it is not the sample that is due.
    pub is_due_kind: bool,
    below: Option<Below>,
}

/// A result that can't be used, and why.
pub(crate) type Refused = Missing;

impl Sampled {
    /// Whether it is a result below what could be measured.
    pub fn is_below(&self) -> bool {
        self.below.is_some()
    }

    fn of_level(place: PlaceId, level: &Level, number: Number, facility: &Facility) -> Self {
        let text = format!("{} {}", level.value, level.unit);
        Self {
            place,
            day: level.day,
            at: level.time.map(|time| moment_in(level.day, time, facility.day())),
            value: Interval::exactly(number),
            text: text.clone(),
            evidence: vec![evidence(level.day, text, &level.source)],
            known_on: known_on(level.day, level.time, facility.day(), &level.source),
            censored: false,
            composite: false,
            is_mean: false,
            is_due_kind: true,
            below: None,
        }
    }

    /// The value with what it counts as under one way to count.
    fn counted(&self, rule: Option<Substitute>, unit: Option<&Unit>) -> Interval {
        let Some(below) = self.below else {
            return self.value;
        };
        let counted = rule.and_then(|rule| match rule {
            Substitute::Zero => Some(Number::ZERO),
            Substitute::Half => below.level.over(Number::whole(2)),
            Substitute::DetectionLimit => Some(below.level),
            // The permit's number is in the unit of the slip.
            Substitute::Number(value) => between(value, below.unit.as_ref(), unit),
        });
        Interval { counted, ..self.value }
    }
}

/// Whether values of a parameter may lie below zero.
fn signed(parameter: &str) -> bool {
    matches!(parameter, "temperature" | "level")
}

struct Meant {
    value: Interval,
    censored: bool,
    composite: bool,
    below: Option<Below>,
}

/// A result as an interval.
fn meant(limit: &Limit, parameter: &str, number: Number, sample: &Sample, held: Held<'_>) -> Meant {
    let least = if signed(parameter) { Number::Float(f64::NEG_INFINITY) } else { Number::ZERO };
    let open = |low: Number, high: Number, censored: bool, composite: bool| Meant {
        value: Interval { low, high, counted: None },
        censored,
        composite,
        below: None,
    };
    let is_composite = sample.kind.as_ref().is_some_and(|kind| kind.to_lowercase().contains("composite"));
    let unit = written_unit(sample.unit.as_deref()).ok().flatten();
    let detection = limit.detection.and_then(|(level, of)| between(level, of.as_ref(), held.unit));
    let quantitation = limit.quantitation.and_then(|(level, of)| between(level, of.as_ref(), held.unit));
    let below = |level: Number| Meant { below: Some(Below { level, unit }), ..open(least, level, true, false) };
    // Of a single moment a composite tells only that some moment was as high.
    let mean_of_moments = is_composite && (limit.statistic.instant || held.asks_for_grabs);
    match sample.qualifier {
        Qualifier::Above => return open(number, Number::INFINITE, true, false),
        Qualifier::Below => return below(number),
        _ => {}
    }
    if let Some(level) = detection.filter(|level| number.compare(*level).is_lt()) {
        return below(level);
    }
    if mean_of_moments {
        return match (limit.bound.upper(), limit.bound.lower()) {
            (Some(_), None) => open(number, Number::INFINITE, false, true),
            (None, Some(_)) => open(least, number, false, true),
            // Against a range some moment was as high, another as low.
            _ => Meant {
                value: Interval { low: least, high: Number::INFINITE, counted: None },
                censored: false,
                composite: true,
                below: None,
            },
        };
    }
    let between_levels = quantitation.is_some_and(|level| number.compare(level).is_lt());
    let counted = match limit.counting.between_levels {
        _ if !between_levels => number,
        BetweenLevels::AsMeasured => number,
        BetweenLevels::Zero => Number::ZERO,
        BetweenLevels::DetectionLimit => detection.unwrap_or(number),
    };
    Meant {
        value: Interval { low: counted.or_less(number), high: counted.or_more(number), counted: Some(counted) },
        censored: between_levels && counted.compare(number).is_ne(),
        composite: false,
        below: None,
    }
}

#[derive(Clone, Copy)]
struct Held<'a> {
    unit: Option<&'a Unit>,
    asks_for_grabs: bool,
}

fn sample_text(sample: &Sample) -> String {
    let mark = match sample.qualifier {
        Qualifier::Below => "below ",
        Qualifier::Above => "above ",
        Qualifier::Estimated => "estimated ",
        Qualifier::None => "",
    };
    let unit =
        sample.unit.as_deref().filter(|unit| !unit.is_empty()).map(|unit| format!(" {unit}")).unwrap_or_default();
    format!("{} {mark}{}{unit}", sample.parameter, sample.value.as_deref().unwrap_or("lost"))
}

/// Results of a parameter at a place by the end of a day, in a unit. Lost, wrong-kind and unreadable ones are refused
/// with a reason.
pub(crate) fn samples(
    limit: &Limit,
    case: &Case<'_>,
    parameter: &str,
    place: PlaceId,
    unit: Option<&Unit>,
    refused: &mut Vec<Refused>,
) -> Vec<Sampled> {
    let (timeline, as_of) = (case.timeline, case.as_of);
    let mut out = Vec::new();
    let asked = limit.sample.as_ref().and_then(|duty| duty.kind.as_ref()).map(|kind| kind.to_lowercase());
    let of_it = timeline
        .samples
        .iter()
        .filter(|sample| sample.at == place && sample.day <= as_of && parameter_name(&sample.parameter) == parameter);
    for sample in of_it {
        let mut refuse = |why: String, show: &str| {
            refused.push(Missing {
                of: None,
                paper: None,
                sentence: format!("{}: {why} ({}).", day_label(sample.day), sample.source.place),
                would_show: Some(show.to_owned()),
            });
        };
        let Some(value) = &sample.value else {
            refuse(format!("the sample of {parameter} was lost or void"), "A laboratory slip for that day.");
            continue;
        };
        let kind = sample.kind.as_ref().map(|kind| kind.to_lowercase());
        let is_due_kind = match (&asked, &kind) {
            (Some(asked), Some(kind)) => kind.contains(asked.as_str()),
            _ => true,
        };
        let asks_for_grabs = asked.as_ref().is_some_and(|asked| asked.contains("grab"));
        let composite = kind.as_ref().is_some_and(|kind| kind.contains("composite"));
        // A composite where grabs are due can show that a limit was passed.
        let still_shows = asks_for_grabs && composite;
        if !is_due_kind && !still_shows {
            refuse(
                format!(
                    "the sample is a {}, and the permit asks for a {}",
                    kind.unwrap_or_default(),
                    asked.clone().unwrap_or_default()
                ),
                "A sample of the kind asked for.",
            );
            continue;
        }
        let converted = match (Number::parse(value), written_unit(sample.unit.as_deref())) {
            (Some(number), Ok(from)) => between(number, from.as_ref(), unit),
            _ => None,
        };
        let Some(number) = converted else {
            let written = sample.unit.as_deref().unwrap_or("no unit");
            refuse(
                format!("`{value}` in {written} can't be held against a limit in {}", limit.bound.unit_text),
                "The result in a unit of the same kind as the limit's.",
            );
            continue;
        };
        let held = Held { unit, asks_for_grabs };
        let meant = meant(limit, parameter, number, sample, held);
        out.push(Sampled {
            place,
            day: sample.day,
            at: sample.time.map(|time| moment_in(sample.day, time, case.facility.day())),
            value: meant.value,
            text: sample_text(sample),
            evidence: vec![evidence(sample.day, sample_text(sample), &sample.source)],
            known_on: known_on(sample.day, sample.time, case.facility.day(), &sample.source),
            censored: meant.censored,
            composite: meant.composite,
            is_mean: false,
            is_due_kind,
            below: meant.below,
        });
    }
    out.sort_by_key(|sampled| (sampled.day, sampled.at));
    out
}

/// Levels of one kind read at a place by the end of a day, in the limit's unit.
pub(crate) fn levels(
    limit: &Limit,
    kind: LevelKind,
    place: PlaceId,
    facility: &Facility,
    timeline: &Timeline,
    as_of: NaiveDate,
) -> Vec<Sampled> {
    let mut out: Vec<Sampled> = timeline
        .levels
        .iter()
        .filter(|level| level.at == place && level.kind == kind && level.day <= as_of)
        .filter_map(|level| {
            let from = units::named(&level.unit);
            let exact = Number::parse(&level.value)
                .and_then(|number| between(number, from.as_ref(), limit.bound.unit.as_ref()));
            let number = match (exact, &limit.bound.unit) {
                (Some(number), _) => number,
                (None, Some(unit)) => Number::computed(level.value_si).over(factor(unit))?,
                (None, None) => return None,
            };
            Some(Sampled::of_level(place, level, number, facility))
        })
        .collect();
    out.sort_by_key(|sampled| (sampled.day, sampled.at));
    out
}

fn is_geometric(statistic: &Statistic, counted: &Counted) -> bool {
    statistic.is_geometric || counted.weighting == crate::rules::Weighting::Geometric
}

/// The rule for results below detection under one way to count: a geometric mean has its own, and can't take zero.
fn rule(statistic: &Statistic, counted: &Counted) -> Option<Substitute> {
    if !is_geometric(statistic, counted) {
        return Some(counted.below_detection);
    }
    let rule = counted.below_detection_geometric.unwrap_or(counted.below_detection);
    match rule {
        Substitute::Zero => None,
        Substitute::Number(number) if number.is_zero() => None,
        other => Some(other),
    }
}

/// Values with what they count as under one way to count; one a day by its rule for several samples, where `as_days`.
pub(crate) fn by_day(
    values: &[Sampled],
    as_days: bool,
    statistic: &Statistic,
    counted: &Counted,
    unit: Option<&Unit>,
) -> Vec<Sampled> {
    let geometric = is_geometric(statistic, counted);
    let rule = rule(statistic, counted);
    let one = |sampled: &Sampled| Sampled { value: sampled.counted(rule, unit), ..sampled.clone() };
    if !as_days {
        return values.iter().map(one).collect();
    }
    values
        .chunk_by(|a, b| day_number(a.day) == day_number(b.day))
        .filter_map(|same| {
            let (first, rest) = same.split_first()?;
            if rest.is_empty() {
                return Some(one(first));
            }
            let all: Vec<Interval> = same.iter().map(|of| of.counted(rule, unit)).collect();
            let value = match counted.several {
                Several::Average => interval::mean(&all)?,
                Several::Highest => all.into_iter().reduce(Interval::or_more)?,
                Several::Lowest => all.into_iter().reduce(Interval::or_less)?,
            };
            // In a geometric mean what several results below detection make of a day is not said.
            let value = match (geometric, same.iter().any(Sampled::is_below)) {
                (true, true) => Interval { counted: None, ..value },
                _ => value,
            };
            Some(Sampled {
                value,
                at: None,
                text: format!(
                    "{} of {} samples",
                    crate::rules::file::counting::several_words(counted.several),
                    same.len()
                ),
                evidence: same.iter().flat_map(|of| of.evidence.clone()).collect(),
                known_on: all_known_on(same)?,
                censored: false,
                composite: same.iter().any(|of| of.composite),
                is_mean: counted.several == Several::Average,
                is_due_kind: same.iter().any(|of| of.is_due_kind),
                ..first.clone()
            })
        })
        .collect()
}
/// When all results of a day were known: one that a later slip repeats was known with the first.
fn all_known_on(same: &[Sampled]) -> Option<NaiveDate> {
    let first = |of: &Sampled| same.iter().filter(|other| other.value == of.value).map(|other| other.known_on).min();
    same.iter().filter_map(first).max()
}

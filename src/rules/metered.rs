//! What meters say: volumes over spans, loads with same-day samples, rates and hours of flow.

use chrono::{NaiveDate, NaiveDateTime, NaiveTime, TimeDelta};

use crate::facility::model::Facility;
use crate::quantity::{Dimension, units};
use crate::records::{MeterSpan, Timeline};
use crate::rules::convert::{amount_factor, counted_m3, factor, load_factor};
use crate::rules::points::{MetersOn, places};
use crate::rules::readings::{Measured, Reading, area, by_day, evidence, samples};
use crate::rules::weirs;
use crate::rules::windows::{day_label, days_label, each_day, later};
use crate::rules::{Counted, Evidence, Interval, Limit, Missing, Number, Point};

/// What a meter counted between two readings, exactly, m³.
pub(crate) fn span_m3(span: &MeterSpan) -> Number {
    counted_m3(&span.counts, &span.unit).unwrap_or_else(|| Number::computed(span.volume_m3))
}

fn span_last(span: &MeterSpan) -> NaiveDate {
    later(span.first_day, span.days.saturating_sub(1))
}

fn span_evidence(span: &MeterSpan, facility: &Facility) -> Vec<Evidence> {
    let name = facility
        .meters
        .get(span.meter)
        .map(|meter| meter.name.clone())
        .unwrap_or_default();
    let counts =
        Number::parse(&span.counts).map_or_else(|| span.counts.clone(), |counts| counts.honest(6));
    let unit = &span.unit;
    let text = format!(
        "{name}: {counts} {unit} over {}",
        days_label(span.first_day, span_last(span))
    );
    vec![evidence(span_last(span), text, &span.after)]
}

/// Volumes that meters counted, in m³, as readings.
pub(crate) fn volumes(meters: &MetersOn, facility: &Facility, timeline: &Timeline) -> Vec<Reading> {
    let mut out: Vec<Reading> = timeline
        .meter_spans
        .iter()
        .filter(|span| meters.meters.contains(&span.meter))
        .map(|span| {
            let volume = span_m3(span);
            Reading {
                first: span.first_day,
                last: span_last(span),
                value: Interval::exactly(volume),
                text: span_evidence(span, facility)
                    .first()
                    .map(|of| of.text.clone())
                    .unwrap_or_default(),
                evidence: span_evidence(span, facility),
                known_on: span.to.date(),
                censored: false,
                of_several: false,
            }
        })
        .collect();
    out.sort_by_key(|reading| (reading.first, reading.last));
    out
}

/// Mass of a day = that day's concentration × that day's flow: products first, means of products after.
pub(crate) fn load(
    limit: &Limit,
    parameter: &str,
    counted: &Counted,
    facility: &Facility,
    timeline: &Timeline,
    meters: &MetersOn,
    out: &mut Measured,
) {
    out.amounts = true;
    out.complete = meters.complete;
    let Some(to_limit) = amount_factor(&limit.bound, area(&limit.at, facility)) else {
        return;
    };
    let to_limit = to_limit.scaled(load_factor(limit.counting.load_factor));
    let volumes = volumes(meters, facility, timeline);
    let found = samples(
        limit,
        parameter,
        &places(&limit.at),
        Some(&units::KG_M3),
        timeline,
        &mut out.refused,
    );
    for sample in by_day(found, counted.several) {
        let touching: Vec<&Reading> = volumes
            .iter()
            .filter(|volume| volume.covers(sample.first))
            .collect();
        if touching.is_empty() || !meters.complete {
            out.refused.push(Missing {
                sentence: format!(
                    "{}: a concentration, and no metered flow to go with it.",
                    day_label(sample.first)
                ),
                would_show: Some("A meter's reading of that very day.".to_owned()),
            });
            continue;
        }
        let volume = touching
            .iter()
            .fold(Interval::exactly(Number::ZERO), |sum, volume| {
                sum.plus(if volume.days() == 1 {
                    volume.value
                } else {
                    Interval {
                        low: Number::ZERO,
                        ..volume.value
                    }
                })
            });
        let volume = if volume.is_exact() {
            volume
        } else {
            Interval {
                counted: None,
                ..volume
            }
        };
        let mut evidence = sample.evidence.clone();
        evidence.extend(touching.iter().flat_map(|volume| volume.evidence.clone()));
        out.readings.push(Reading {
            value: sample.value.times(volume).times(to_limit),
            text: format!(
                "{} × {}",
                sample.text,
                touching
                    .iter()
                    .map(|v| v.text.as_str())
                    .collect::<Vec<_>>()
                    .join(" + ")
            ),
            evidence,
            known_on: touching
                .iter()
                .map(|volume| volume.known_on)
                .max()
                .unwrap_or(sample.known_on)
                .max(sample.known_on),
            ..sample
        });
    }
    out.notes.push(match limit.counting.load_factor {
        crate::rules::LoadFactor::Exact => {
            "Loads are worked out with the exact factors of the units.".to_owned()
        }
        crate::rules::LoadFactor::Rule834 => {
            "Loads are worked out with the permit's 8.34 (0.065 % below the exact factor)."
                .to_owned()
        }
    });
}

/// Flow at a moment: field readings of the rate; and of a meter's span its mean rate, which some moment reached.
pub(crate) fn rate(
    limit: &Limit,
    facility: &Facility,
    timeline: &Timeline,
    meters: &MetersOn,
    out: &mut Measured,
) {
    let at = places(&limit.at);
    for name in ["flow", "rate", "flow rate"] {
        out.readings.extend(samples(
            limit,
            name,
            &at,
            limit.bound.unit.as_ref(),
            timeline,
            &mut out.refused,
        ));
    }
    let Some(unit) = limit
        .bound
        .unit
        .filter(|unit| unit.dimension == Dimension::Flow)
    else {
        return;
    };
    weirs::heads(limit, facility, timeline, out);
    for span in timeline
        .meter_spans
        .iter()
        .filter(|span| meters.meters.contains(&span.meter))
    {
        let seconds = (span.to - span.from).num_seconds();
        let mean = span_m3(span)
            .over(Number::whole(i128::from(seconds)))
            .and_then(|rate| rate.over(factor(&unit)));
        if let Some(mean) = mean {
            out.readings.push(Reading {
                first: span.first_day,
                last: span_last(span),
                value: Interval {
                    low: mean,
                    high: if mean.is_zero() {
                        mean
                    } else {
                        Number::INFINITE
                    },
                    counted: None,
                },
                text: format!(
                    "a mean of {} {} or more at some moment",
                    mean.honest(2),
                    unit.name
                ),
                evidence: span_evidence(span, facility),
                known_on: span.to.date(),
                censored: false,
                of_several: false,
            });
        }
    }
}

/// Hours with flow in a day: the union of the spans in which a meter moved, never their sum; logged minutes of washes.
pub(crate) fn hours(
    limit: &Limit,
    facility: &Facility,
    timeline: &Timeline,
    meters: &MetersOn,
    out: &mut Measured,
) {
    let Some(unit) = limit.bound.unit else { return };
    let seconds_in_unit = match unit.dimension {
        Dimension::Time => factor(&unit),
        Dimension::PartOfDay => factor(&unit).times(SECONDS),
        _ => return,
    };
    let in_unit = |seconds: i64| {
        Number::whole(i128::from(seconds))
            .over(seconds_in_unit)
            .unwrap_or(Number::ZERO)
    };
    if let Point::Of(_, filter) = limit.at {
        for count in timeline
            .washes
            .iter()
            .filter(|count| count.filter == filter && count.days == 1)
        {
            let Some(minutes) = count.minutes else {
                continue;
            };
            let value = Number::computed(minutes * 60.0)
                .settled()
                .over(seconds_in_unit)
                .unwrap_or(Number::ZERO);
            out.readings.push(Reading {
                first: count.first_day,
                last: count.first_day,
                value: Interval::exactly(value),
                text: format!("{minutes} min washed"),
                evidence: vec![evidence(
                    count.first_day,
                    format!("{minutes} min washed"),
                    &count.source,
                )],
                known_on: count.first_day,
                censored: false,
                of_several: false,
            });
        }
        return;
    }
    let spans: Vec<&MeterSpan> = timeline
        .meter_spans
        .iter()
        .filter(|span| meters.meters.contains(&span.meter))
        .collect();
    let (Some(first), Some(last)) = (
        spans.iter().map(|span| span.first_day).min(),
        spans.iter().map(|span| span_last(span)).max(),
    ) else {
        return;
    };
    for day in each_day(first, last) {
        let (from, to) = day_ends(day, facility.day_starts);
        let clip = |span: &MeterSpan| (span.from.max(from), span.to.min(to));
        let touching: Vec<&&MeterSpan> = spans
            .iter()
            .filter(|span| clip(span).0 < clip(span).1)
            .collect();
        let all = union_seconds(&touching.iter().map(|span| clip(span)).collect::<Vec<_>>());
        if all < (to - from).num_seconds() {
            continue;
        }
        let moved: Vec<&&&MeterSpan> = touching
            .iter()
            .filter(|span| span.volume_m3 > 0.0)
            .collect();
        let most = union_seconds(&moved.iter().map(|span| clip(span)).collect::<Vec<_>>());
        out.readings.push(Reading {
            first: day,
            last: day,
            value: Interval::between(Number::ZERO, in_unit(most)),
            text: format!("at most {} {}", in_unit(most).honest(2), unit.name),
            evidence: moved
                .iter()
                .flat_map(|span| span_evidence(span, facility))
                .collect(),
            known_on: day,
            censored: false,
            of_several: false,
        });
    }
}

const SECONDS: Number = Number::whole(86_400);

/// Start and end of a day by the facility's clock; the civil day is taken as 24 h.
pub(crate) fn day_ends(day: NaiveDate, starts: NaiveTime) -> (NaiveDateTime, NaiveDateTime) {
    let from = day.and_time(starts);
    (
        from,
        from.checked_add_signed(TimeDelta::hours(24))
            .unwrap_or(from),
    )
}

/// Seconds covered by spans of time, each moment once.
pub fn union_seconds(spans: &[(NaiveDateTime, NaiveDateTime)]) -> i64 {
    let mut sorted = spans.to_vec();
    sorted.sort();
    let (mut sum, mut end) = (0, None::<NaiveDateTime>);
    for (from, to) in sorted {
        let from = end.map_or(from, |end| end.max(from));
        if to > from {
            sum += (to - from).num_seconds();
            end = Some(to);
        }
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two outfalls, 08 to 10 and 09 to 11: three hours together, four when added up.
    #[test]
    fn hours_of_two_points_at_once_are_counted_once() {
        let at = |hour: u32| {
            NaiveDate::from_ymd_opt(2025, 3, 14)
                .unwrap()
                .and_hms_opt(hour, 0, 0)
                .unwrap()
        };
        assert_eq!(union_seconds(&[(at(8), at(10)), (at(9), at(11))]), 3 * 3600);
        assert_eq!(union_seconds(&[(at(8), at(11)), (at(9), at(10))]), 3 * 3600);
        assert_eq!(union_seconds(&[]), 0);
    }
}

//! Hours with flow in a day: the union of the spans in which a meter moved, never their sum; logged minutes of washes.

use chrono::NaiveDate;

use super::clock::{DAY, Stretch, day_number};
use super::flows::Flows;
use crate::facility::model::PlaceId;
use crate::quantity::Dimension;
use crate::records::Timeline;
use crate::rules::measure::convert::factor;
use crate::rules::measure::readings::{Reading, evidence};
use crate::rules::{Interval, Limit, Number, Point};

/// Seconds covered by stretches of time, each moment once.
pub(crate) fn union_seconds(stretches: &[Stretch]) -> i64 {
    let mut sorted = stretches.to_vec();
    sorted.sort_unstable();
    let (mut sum, mut end) = (0, i64::MIN);
    for (from, to) in sorted {
        let from = from.max(end);
        if to > from {
            sum += to - from;
            end = to;
        }
    }
    sum
}

/// Seconds of one of the limit's unit; none where it is no time.
fn seconds_in(limit: &Limit) -> Option<Number> {
    let unit = limit.bound.unit?;
    match unit.dimension {
        Dimension::Time => Some(factor(&unit)),
        Dimension::PartOfDay => Some(factor(&unit).times(Number::whole(i128::from(super::clock::DAY)))),
        _ => None,
    }
}

fn washed(limit: &Limit, filter: PlaceId, timeline: &Timeline, one: Number) -> Vec<Reading> {
    timeline
        .washes
        .iter()
        .filter(|count| count.filter == filter && count.days == 1)
        .filter_map(|count| {
            let minutes = count.minutes?;
            let value = Number::computed(minutes * 60.0).settled().over(one)?;
            let text = format!("{minutes} min washed");
            Some(Reading {
                first: count.first_day,
                last: count.first_day,
                value: Interval::exactly(value),
                text: text.clone(),
                evidence: vec![evidence(count.first_day, text, &count.source)],
                known_on: count.first_day,
                censored: false,
                is_mean: limit.statistic.by_day,
            })
        })
        .collect()
}

/// The hours of each day of which something is on file, in the limit's unit: at most the union of the spans that moved;
/// with no upper end but the day where a way was not counted all day.
pub(crate) fn hours(
    limit: &Limit,
    flows: &Flows,
    timeline: &Timeline,
    days: impl Iterator<Item = NaiveDate>,
) -> Vec<Reading> {
    let Some(one) = seconds_in(limit) else {
        return Vec::new();
    };
    if let Point::Of(_, filter) = limit.at {
        return washed(limit, filter, timeline, one);
    }
    let in_unit = |seconds: i64| Number::whole(i128::from(seconds)).over(one).unwrap_or(Number::ZERO);
    let water = flows.water();
    let mut out = Vec::new();
    for day in days {
        let number = day_number(day);
        let whole = (number * DAY, (number + 1) * DAY);
        let sum = water.over(&[whole]);
        if sum.parts.is_empty() {
            continue;
        }
        let moved: Vec<Stretch> = sum
            .parts
            .iter()
            .filter(|(_, part)| !part.high.is_zero())
            .map(|(piece, _)| (piece.outer.0.max(whole.0), piece.outer.1.min(whole.1)))
            .collect();
        let most = if sum.missing.is_empty() { union_seconds(&moved) } else { DAY };
        out.push(Reading {
            first: day,
            last: day,
            value: Interval::between(Number::ZERO, in_unit(most)),
            text: format!("at most {} {}", in_unit(most).honest(2), limit.bound.unit.map_or("", |unit| unit.name)),
            evidence: sum.parts.iter().flat_map(|(piece, _)| piece.evidence.clone()).collect(),
            known_on: sum.parts.iter().map(|(piece, _)| piece.known_on).max().unwrap_or(day),
            censored: false,
            is_mean: false,
        });
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two outfalls, 08 to 10 and 09 to 11: three hours together, four when added up.
    #[test]
    fn hours_of_two_points_at_once_are_counted_once() {
        let h = 3600;
        assert_eq!(union_seconds(&[(8 * h, 10 * h), (9 * h, 11 * h)]), 3 * h);
        assert_eq!(union_seconds(&[(8 * h, 11 * h), (9 * h, 10 * h)]), 3 * h);
        assert_eq!(union_seconds(&[]), 0);
    }
}

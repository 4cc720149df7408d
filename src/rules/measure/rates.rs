//! Flow at a moment: field readings, heads over a weir, and of a meter's span its mean rate, which some moment reached.

use chrono::NaiveDate;

use super::clock::{DAY, Stretch, day_of_number, days_touched, moment_of, start_of};
use super::flows::{span_evidence, span_m3, span_time};
use super::samples::{Refused, Sampled, samples};
use crate::facility::model::Facility;
use crate::quantity::{Dimension, Unit};
use crate::records::{MeterSpan, Timeline};
use crate::rules::judge::case::Case;
use crate::rules::measure::convert::factor;
use crate::rules::measure::points::places;
use crate::rules::measure::readings::Reading;
use crate::rules::measure::weirs;
use crate::rules::{Interval, Limit, Number};

/// Everything that is on file of the rate at a limit's point, in the limit's unit, by the end of a day.
pub(crate) fn rates(limit: &Limit, case: &Case<'_>, meters: &[usize], refused: &mut Vec<Refused>) -> Vec<Reading> {
    let (facility, timeline, as_of) = (case.facility, case.timeline, case.as_of);
    let Some(unit) = limit.bound.unit.filter(|unit| unit.dimension == Dimension::Flow) else {
        return Vec::new();
    };
    let mut out: Vec<Reading> = Vec::new();
    for place in places(&limit.at) {
        for name in ["flow", "rate", "flow rate"] {
            let found = samples(limit, case, name, place, Some(&unit), refused);
            out.extend(found.into_iter().map(Reading::from));
        }
    }
    weirs::heads(limit, &unit, facility, timeline, as_of, &mut out, refused);
    let spans = spans(meters, facility, timeline, as_of);
    // A span that counted nothing shows a day dry, and no rate.
    for span in spans.iter().filter(|span| !span.volume.is_zero()) {
        // With the spans of other meters that run at the same time: some moment had what all of them make together.
        let hull = spans
            .iter()
            .filter(|other| other.meter != span.meter && !other.volume.is_zero())
            .filter(|other| other.time.0 < span.time.1 && other.time.1 > span.time.0)
            .fold(span.time, |hull, other| (hull.0.min(other.time.0), hull.1.max(other.time.1)));
        let inside = |time: Stretch| -> Vec<Span<'_>> {
            let within = |other: &&Span<'_>| time.0 <= other.time.0 && other.time.1 <= time.1;
            spans.iter().filter(within).copied().collect()
        };
        let one = mean_rate(&inside(span.time), span.time, &unit, facility);
        let all = mean_rate(&inside(hull), hull, &unit, facility);
        let more = all.filter(|all| {
            let low = one.as_ref().map_or(Number::ZERO, |one| one.value.low);
            all.value.low.compare(low).is_gt() && !out.contains(all)
        });
        out.extend(one);
        out.extend(more);
    }
    out.sort_by_key(|reading| (reading.first, reading.last));
    out
}

/// A meter's span with its time and volume.
#[derive(Clone, Copy)]
struct Span<'a> {
    meter: usize,
    time: Stretch,
    volume: Number,
    of: &'a MeterSpan,
}

/// The spans of a point's meters by the end of a day. Of hours that are not known the longest time tells the least rate.
fn spans<'a>(meters: &[usize], facility: &Facility, timeline: &'a Timeline, as_of: NaiveDate) -> Vec<Span<'a>> {
    timeline
        .meter_spans
        .iter()
        .filter(|span| meters.contains(&span.meter) && !span.carried)
        .filter(|span| span_time(span, facility.day()).0.1 <= start_of(as_of) + DAY)
        .map(|of| {
            let exact = of.hours_known == (true, true);
            let raw = |at| moment_of(at, facility.day());
            Span {
                meter: of.meter,
                time: if exact { (raw(of.from), raw(of.to)) } else { span_time(of, facility.day()).0 },
                volume: span_m3(of),
                of,
            }
        })
        .collect()
}

/// What the spans inside a time make on average: some moment had that much or more.
fn mean_rate(inside: &[Span<'_>], time: Stretch, unit: &Unit, facility: &Facility) -> Option<Reading> {
    let volume = inside.iter().fold(Number::ZERO, |sum, span| sum.plus(span.volume));
    let mean = volume.over(Number::whole(i128::from(time.1 - time.0)))?.over(factor(unit))?;
    let days = |span: &Span<'_>| days_touched(span_time(span.of, facility.day()).0);
    let first = day_of_number(inside.iter().map(|span| days(span).0).min()?);
    let last = day_of_number(inside.iter().map(|span| days(span).1).max()?);
    Some(Reading {
        first,
        last,
        value: Interval { low: mean, high: Number::INFINITE, counted: None },
        text: format!("a mean of {} {} or more at some moment", mean.honest(2), unit.name),
        evidence: inside.iter().map(|span| span_evidence(span.of, facility)).collect(),
        known_on: inside.iter().map(|span| span.of.to.date()).max()?,
        censored: false,
        is_mean: false,
    })
}

impl From<Sampled> for Reading {
    fn from(of: Sampled) -> Self {
        Self {
            first: of.day,
            last: of.day,
            value: of.value,
            text: of.text,
            evidence: of.evidence,
            known_on: of.known_on,
            censored: of.censored,
            is_mean: of.is_mean,
        }
    }
}

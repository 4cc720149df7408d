//! Discharge only within clock hours: a span of a meter lies inside, outside, or over the edge.

use chrono::{NaiveDate, NaiveDateTime, NaiveTime};

use crate::rules::case::{Case, Prepared};
use crate::rules::discharge::Flow;
use crate::rules::evaluate::{Judged, Judgement, runs_text};
use crate::rules::points::places;
use crate::rules::readings::evidence;
use crate::rules::windows::{Window, after, before, each_day, later};
use crate::rules::{Evidence, Limit, Missing, Outcome, WindowFinding};

/// The allowed hours that start on a day; hours over midnight belong to the day they start on.
fn allowed(day: NaiveDate, hours: (NaiveTime, NaiveTime)) -> (NaiveDateTime, NaiveDateTime) {
    let end = if hours.1 > hours.0 { day } else { after(day) };
    (day.and_time(hours.0), end.and_time(hours.1))
}

/// Whether a stretch of time lies wholly inside allowed hours (`true`), wholly outside (`false`), or over an edge.
fn inside(from: NaiveDateTime, to: NaiveDateTime, hours: (NaiveTime, NaiveTime)) -> Option<bool> {
    let windows = each_day(before(from.date()), to.date()).map(|day| allowed(day, hours));
    let mut touches = false;
    for (start, end) in windows {
        if start <= from && to <= end {
            return Some(true);
        }
        touches |= start < to && from < end;
    }
    (!touches).then_some(false)
}

/// Judges every meter span, look and sample against the hours.
pub(crate) fn evaluate(limit: &Limit, case: &Case<'_>, of: &Prepared) -> Judged {
    let mut out = Judged::default();
    let Some(hours) = limit.only_between else {
        return out;
    };
    let holds = |day: NaiveDate| limit.holds.on(day) && of.span.0 <= day && day <= of.span.1;
    let mut push = |first: NaiveDate,
                    last: NaiveDate,
                    outcome: Outcome,
                    shown: Evidence,
                    missing: Option<Missing>| {
        let window = Window::new(first, last);
        out.readings += 1;
        out.long += usize::from(first != last);
        out.windows.push(Judgement {
            finding: WindowFinding {
                label: window.label,
                from: first,
                to: last,
                outcome,
                figure: None,
                n: 1,
                needed: None,
                arithmetic: vec![shown.text.clone()],
                evidence: vec![shown],
                missing: missing.into_iter().collect(),
            },
            value: None,
            against: None,
            known_on: Some(last),
        });
    };
    for span in case
        .timeline
        .meter_spans
        .iter()
        .filter(|span| of.meters.meters.contains(&span.meter))
    {
        let last = later(span.first_day, span.days.saturating_sub(1));
        if !each_day(span.first_day, last).all(holds) {
            continue;
        }
        let text = format!(
            "a meter moved between {} and {}",
            span.from.format("%H:%M on %-d %b"),
            span.to.format("%H:%M on %-d %b %Y")
        );
        let shown = evidence(last, text, &span.after);
        if span.volume_m3 <= 0.0 {
            continue;
        }
        match inside(span.from, span.to, hours) {
            Some(true) => push(span.first_day, last, Outcome::Met, shown, None),
            Some(false) => push(span.first_day, last, Outcome::Exceeded, shown, None),
            None => {
                let missing = Missing {
                    sentence: format!(
                        "{}: a reading covers hours inside and outside those allowed.",
                        Window::new(span.first_day, last).label
                    ),
                    would_show: Some(format!(
                        "Readings at {} and {}.",
                        hours.0.format("%H:%M"),
                        hours.1.format("%H:%M")
                    )),
                };
                push(
                    span.first_day,
                    last,
                    Outcome::NotShown,
                    shown,
                    Some(missing),
                );
            }
        }
    }
    let at = places(&limit.at);
    for look in case
        .timeline
        .looks
        .iter()
        .filter(|look| at.contains(&look.at) && look.flowing && holds(look.day))
    {
        if let Some(time) = look.time {
            // The day is the facility's; which date it was makes no difference to whether the hour is allowed.
            let moment = look.day.and_time(time);
            let outcome = if inside(moment, moment, hours) == Some(true) {
                Outcome::Met
            } else {
                Outcome::Exceeded
            };
            push(
                look.day,
                look.day,
                outcome,
                evidence(
                    look.day,
                    format!("flowing at {}", time.format("%H:%M")),
                    &look.source,
                ),
                None,
            );
        }
    }
    let covered: Vec<(NaiveDate, NaiveDate)> = of
        .volumes
        .iter()
        .map(|span| (span.first, span.last))
        .collect();
    let open: Vec<NaiveDate> = each_day(of.span.0, of.span.1)
        .filter(|day| holds(*day) && of.days.on(*day) != Flow::Dry)
        .filter(|day| !covered.iter().any(|(from, to)| from <= day && day <= to))
        .collect();
    if !open.is_empty() {
        out.missing.push(Missing {
            sentence: format!(
                "{} have no record of when water flowed.",
                runs_text(&open, 3)
            ),
            would_show: Some("Meter readings at the ends of the allowed hours.".to_owned()),
        });
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn t(day: u32, hour: u32) -> NaiveDateTime {
        NaiveDate::from_ymd_opt(2025, 3, day)
            .unwrap()
            .and_hms_opt(hour, 0, 0)
            .unwrap()
    }

    #[test]
    fn night_hours_over_midnight_are_one_stretch() {
        let night = (
            NaiveTime::from_hms_opt(22, 0, 0).unwrap(),
            NaiveTime::from_hms_opt(6, 0, 0).unwrap(),
        );
        assert_eq!(inside(t(14, 23), t(15, 5), night), Some(true));
        assert_eq!(inside(t(14, 7), t(14, 20), night), Some(false));
        assert_eq!(inside(t(14, 20), t(15, 1), night), None);
        assert_eq!(inside(t(14, 23), t(14, 23), night), Some(true));
        assert_eq!(inside(t(14, 12), t(14, 12), night), Some(false));
    }
}

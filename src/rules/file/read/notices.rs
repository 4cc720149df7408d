//! Notices, the count of violations, tiers, the monthly report, and how long records are kept.

use super::exceptions::si;
use super::keys::{AfterRain as AfterRainKeys, Notices as Keys, OverALimit, Tier as TierKeys};
use crate::facility::model::{Facility, PlaceId, PlaceKind};
use crate::files::{Field, Said};
use crate::quantity::{Deadline, Dimension, Misread, Span, number};
use crate::rules::{AfterRain, Notices, Number, Switch, Tier};
use crate::told::nearest;

/// Reads the section; nothing is due where it is missing.
pub(crate) fn read(field: &Field<'_>, facility: &Facility) -> Notices {
    let mut out = Notices::default();
    let Some(mut map) = field.map::<Keys>() else {
        return out;
    };
    let over = map.get(&Keys::OVER_A_LIMIT);
    if over.is_there() && !over.says_not_said() {
        over_a_limit(&over, &mut out);
    }
    if let Some(rule) = map.read(&Keys::COUNT) {
        out.count = Switch::Is(rule.value);
    }
    let tiers = map.get(&Keys::TIERS);
    if tiers.is_there() && !tiers.says_not_said() {
        for (name, tier) in tiers.named() {
            out.tiers.extend(read_tier(name.value, &tier));
        }
    }
    let report = map.get(&Keys::MONTHLY_REPORT);
    if report.is_there() && !report.says_not_said() && !report.says("none") {
        match report.deadline().map(|said| said.value) {
            Some(Deadline::DayOfNextMonth(day)) => out.monthly_report = Some((day, report.place())),
            Some(_) => report.refuse("a day of the next month is expected", "write it like 28th of the next month"),
            None => {}
        }
    }
    out.due_on_a_weekend = map.read(&Keys::WEEKEND).map(|said| said.value);
    for item in map.get(&Keys::CHECKED).one_or_more() {
        out.checked_yearly.extend(item.text().map(|said| (said.value.trim().to_owned(), said.place)));
    }
    for (name, rain) in map.get(&Keys::AFTER_RAIN).named() {
        out.after_rain.extend(after_rain(&name, &rain, facility));
    }
    if let Some(span) = map.read(&Keys::KEEP_RECORDS) {
        out.keep_records = Some((span.text, span.place));
    }
    map.finish();
    out
}

/// `Outfall 1: {rain at least: 0.5 in, within: 24 h}`.
fn after_rain(name: &Said<String>, field: &Field<'_>, facility: &Facility) -> Option<AfterRain> {
    const MOST_DAYS: u64 = 14;
    let mut map = field.map::<AfterRainKeys>()?;
    let rain = si(&map.get(&AfterRainKeys::RAIN_AT_LEAST), Dimension::Length, "0.5 in");
    let within = map.get(&AfterRainKeys::WITHIN);
    let said = within.read();
    map.finish();
    let points =
        || facility.places.iter().enumerate().filter(|(_, site)| matches!(site.kind, PlaceKind::DischargePoint(_)));
    let Some((index, site)) = points().find(|(_, site)| site.name.eq_ignore_ascii_case(name.value.trim())) else {
        let near = nearest(&name.value, points().map(|(_, site)| site.name.as_str()));
        field.refuse(
            format!("there is no discharge point `{}`", name.value),
            near.map_or_else(|| "looks are of discharge points".to_owned(), |near| format!("did you mean `{near}`?")),
        );
        return None;
    };
    let said = said?;
    let days = match said.value {
        Span::Seconds(seconds) => Some(seconds.div_ceil(86_400)),
        Span::Months(_) => None,
    };
    let Some(within_days) = days.filter(|days| (1..=MOST_DAYS).contains(days)) else {
        within.refuse("hours or days are expected, at most 14 days", "write it like 24 h");
        return None;
    };
    let (at_least_m, text) = rain?;
    Some(AfterRain {
        at: PlaceId(index),
        name: site.name.clone(),
        at_least_m,
        text,
        within_days: within_days as u32,
        within: said.text,
        place: field.place(),
    })
}

fn over_a_limit(field: &Field<'_>, out: &mut Notices) {
    let Some(mut map) = field.map::<OverALimit>() else {
        return;
    };
    let mut text = Vec::new();
    for (key, is_call) in [(OverALimit::CALL, true), (OverALimit::WRITE, false)] {
        let due = map.get(&key);
        let Some(said) = due.read() else { continue };
        let (seconds, of_the_call) = match said.value {
            Deadline::OfKnowing(Span::Seconds(seconds)) => (seconds, false),
            Deadline::OfTheCall(Span::Seconds(seconds)) if !is_call => (seconds, true),
            _ => {
                due.refuse(
                    "a time of knowing is expected",
                    "write it like 24 h of knowing; for a letter also 5 days of knowing, or 5 days of the call",
                );
                continue;
            }
        };
        if of_the_call && out.call_within_h.is_none() {
            due.refuse("days of a call, and no call is asked for", "write `call within` too, or days of knowing");
            continue;
        }
        let hours = u32::try_from(seconds.div_ceil(3600)).unwrap_or(u32::MAX);
        if is_call {
            out.call_within_h = Some(hours);
        } else {
            out.write_within_days = Some(hours.div_ceil(24));
            out.write_from_the_call = of_the_call;
        }
        text.push(format!("{} {}", key.word, said.text));
    }
    map.finish();
    out.over_a_limit = Some((text.join(", "), field.place()));
}

pub(super) fn times(text: &str) -> Result<Number, Misread> {
    let typed = text.trim().trim_end_matches("the limit").trim().trim_end_matches("times").trim();
    number(typed).map(Number::from)
}

/// `66 %`, as the number before the sign.
pub(super) fn percent(text: &str) -> Result<Number, Misread> {
    let typed = text
        .trim()
        .strip_suffix('%')
        .ok_or_else(|| Misread::new("a share in percent is expected").hint("write it like 66 %"))?;
    Ok(Number::from(number(typed.trim())?))
}

/// `technical: {measurements at or over: 1.4 times the limit, share at least: 33 %, in: 6 months}`.
fn read_tier(name: String, field: &Field<'_>) -> Option<Tier> {
    let mut map = field.map::<TierKeys>()?;
    let or_equal = map.has(TierKeys::AT_OR_OVER);
    let mark = map.needs(if or_equal { &TierKeys::AT_OR_OVER } else { &TierKeys::OVER }).read();
    let share = map.read(&TierKeys::SHARE);
    let months = map.read(&TierKeys::IN);
    map.finish();
    let months = match months?.value {
        Span::Months(months) if months > 0 => months,
        _ => {
            field.refuse("`in` is a number of months", "write it like in: 6 months");
            return None;
        }
    };
    Some(Tier {
        name,
        times: mark?.value,
        or_equal,
        share: share?.value.over(Number::whole(100))?,
        months,
        place: field.place(),
    })
}

//! Notices, the count of violations, tiers, the monthly report, and how long records are kept.

use crate::files::Field;
use crate::quantity::{Deadline, Misread, Span, number};
use crate::rules::{CountRule, Notices, Number, Switch, Tier};

/// Reads the section; nothing is due where it is missing.
pub(crate) fn read(field: &Field<'_>) -> Notices {
    let mut out = Notices::default();
    let Some(mut map) = field.fields() else {
        return out;
    };
    let over = map.may("over a limit");
    if over.is_there() && !over.says_not_said() {
        over_a_limit(&over, &mut out);
    }
    let count = map.may("count of violations");
    if count.is_there() && !count.says_not_said() {
        let words = [
            ("one for each average or reading", CountRule::EachWindow),
            ("each average or reading", CountRule::EachWindow),
            ("one for every day", CountRule::EachDay),
            ("every day", CountRule::EachDay),
        ];
        if let Some(rule) = count.one_of(&words) {
            out.count = Switch::Is(rule.value);
        }
    }
    let tiers = map.may("severity tiers");
    if tiers.is_there() && !tiers.says_not_said() {
        for (name, tier) in tiers.named() {
            out.tiers.extend(read_tier(name.value, &tier));
        }
    }
    let report = map.may("monthly report due");
    if report.is_there() && !report.says_not_said() && !report.says("none") {
        match report.deadline().map(|said| said.value) {
            Some(Deadline::DayOfNextMonth(day)) => out.monthly_report = Some((day, report.place())),
            Some(_) => report.refuse("a day of the next month is expected", "write it like 28th of the next month"),
            None => {}
        }
    }
    let keep = map.may("keep records");
    if keep.is_there()
        && !keep.says_not_said()
        && let Some(span) = keep.span()
    {
        out.keep_records = Some((span.text, keep.place()));
    }
    map.finish();
    out
}

fn over_a_limit(field: &Field<'_>, out: &mut Notices) {
    let Some(mut map) = field.fields() else {
        return;
    };
    let mut text = Vec::new();
    for (key, is_call) in [("call within", true), ("write within", false)] {
        let due = map.may(key);
        if !due.is_there() || due.says_not_said() {
            continue;
        }
        let Some(said) = due.deadline() else { continue };
        let Deadline::OfKnowing(Span::Seconds(seconds)) = said.value else {
            due.refuse("a time of knowing is expected", "write it like 24 h of knowing, or 5 days of knowing");
            continue;
        };
        let hours = u32::try_from(seconds.div_ceil(3600)).unwrap_or(u32::MAX);
        if is_call {
            out.call_within_h = Some(hours);
        } else {
            out.write_within_days = Some(hours.div_ceil(24));
        }
        text.push(format!("{key} {}", said.text));
    }
    map.finish();
    out.over_a_limit = Some((text.join(", "), field.place()));
}

fn times(text: &str) -> Result<Number, Misread> {
    let typed = text.trim().trim_end_matches("the limit").trim().trim_end_matches("times").trim();
    number(typed).map(Number::from)
}

/// `technical: {measurements at or over: 1.4 times the limit, share at least: 33 %, in: 6 months}`.
fn read_tier(name: String, field: &Field<'_>) -> Option<Tier> {
    let mut map = field.fields()?;
    let or_equal = map.has("measurements at or over");
    let key = if or_equal { "measurements at or over" } else { "measurements over" };
    let mark = map.must(key, "measurements over: 1 times the limit").parse(
        "a multiple of the limit",
        "1.4 times the limit",
        times,
    );
    let share = map.must("share at least", "share at least: 66 %").parse("a share", "66 %", |text| {
        let typed = text
            .trim()
            .strip_suffix('%')
            .ok_or_else(|| Misread::new("a share in percent is expected").hint("write it like 66 %"))?;
        Ok(Number::from(number(typed.trim())?))
    });
    let months = map.must("in", "in: 6 months").span();
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

//! Each limit read back as one sentence, for a second person to sign off against the paper.

use crate::rules::file::counting::{
    WEEKDAYS, divisor_words, dry_look_words, rounding_words, several_words, straddling_words, substitute_words,
    weekday_words, weighting_words,
};
use crate::rules::predict::plan::matters;
use crate::rules::window::statistics::Shape;
use crate::rules::{
    BetweenLevels, Carried, Counting, LeastData, Limit, LoadFactor, RoundingRule, RulesFile, Subject, Switch,
};
use crate::told::Place;

fn said<T: Copy>(switch: Switch<T>, words: impl Fn(T) -> String) -> String {
    switch.is().map_or_else(|| "not said".to_owned(), words)
}

fn rounding(rule: RoundingRule, places: u32) -> String {
    rounding_words(rule.resolved(places))
}

/// How a limit counts, only what can change its figure.
fn counts(limit: &Limit, counting: &Counting) -> Vec<String> {
    let matters = matters(limit);
    let mut out = Vec::new();
    if matters.several {
        out.push(format!(
            "several samples in a day count by: {}",
            said(counting.several, |v| several_words(v).to_owned())
        ));
    }
    if limit.statistic.substitutes && !matches!(limit.subject, Subject::Water | Subject::Events) {
        let rule = match counting.below_detection_geometric.filter(|_| limit.statistic.is_geometric) {
            Some(value) => substitute_words(value),
            None => said(counting.below_detection, substitute_words),
        };
        out.push(format!("below detection counts as: {rule}"));
    }
    if limit.quantitation.is_some() {
        out.push(format!(
            "between detection and quantitation counts as: {}",
            match counting.between_levels {
                BetweenLevels::AsMeasured => "as measured",
                BetweenLevels::DetectionLimit => "the detection limit",
                BetweenLevels::Zero => "zero",
            }
        ));
    }
    if !matters.divisors.is_empty() {
        out.push(format!("divided by: {}", said(counting.divisor, |v| divisor_words(v).to_owned())));
    }
    if matters.weighting {
        out.push(format!("weighting: {}", said(counting.weighting, |v| weighting_words(v).to_owned())));
    }
    if matters.week {
        out.push(format!("the week starts on: {}", said(counting.week_starts, |v| weekday_words(v).to_owned())));
    }
    if matters.straddling {
        out.push(format!(
            "a week over the edge of a month belongs to: {}",
            said(counting.straddling, |v| straddling_words(v).to_owned())
        ));
    }
    if matches!(limit.subject, Subject::Discharge) {
        out.push(format!("a dry look covers: {}", said(counting.dry_look, |v| dry_look_words(v).to_owned())));
    }
    if !matches!(limit.statistic.shape, Shape::ByItself) {
        out.push(format!("rounding: {}", said(counting.rounding, |v| rounding(v, limit.bound.places))));
    }
    if matches!(limit.subject, Subject::Load(_)) {
        out.push(format!(
            "load factor: {}",
            match counting.load_factor {
                LoadFactor::Exact => "exact",
                LoadFactor::Rule834 => "8.34",
            }
        ));
    }
    if !matches!(limit.subject, Subject::Discharge | Subject::ClockWindow) {
        let least = said(counting.least_data, |v| match v {
            LeastData::TheSampleDuty => "the sample duty".to_owned(),
            LeastData::EveryDischarge => "every day with a discharge".to_owned(),
            LeastData::Count(count) => crate::told::many(count as usize, "result"),
        });
        out.push(format!("least data: {least}"));
    }
    out
}

fn subject_words(limit: &Limit) -> String {
    let parameter = limit.parameter.as_deref().unwrap_or("the parameter");
    match &limit.subject {
        Subject::Parameter(_) => of(limit, parameter),
        Subject::Load(_) => of(limit, &format!("the load of {parameter} (same-day concentration times flow)")),
        Subject::Water => of(limit, "water"),
        Subject::Rate => "the flow at any moment".to_owned(),
        Subject::Stage(kind) => of(
            limit,
            match kind {
                crate::records::LevelKind::Level => "the level",
                crate::records::LevelKind::Freeboard => "the freeboard",
                crate::records::LevelKind::SludgeDepth => "the depth of sludge",
                crate::records::LevelKind::Holding => "the volume held",
            },
        ),
        Subject::Removal(..) => {
            format!("the percent removal of {parameter}, from monthly averages,")
        }
        Subject::Discharge => "no discharge".to_owned(),
        Subject::Hours => "the hours of flow in a day".to_owned(),
        Subject::ClockWindow => "flow".to_owned(),
        Subject::Events => of(limit, parameter),
    }
}

/// `every reading of pH`, `the monthly average of water`.
fn of(limit: &Limit, what: &str) -> String {
    let words = limit.statistic.words.replace('N', &limit.days.to_string());
    let article = if words.starts_with("every") { "" } else { "the " };
    format!("{article}{words} of {what}")
}

/// The sentence of one limit.
pub fn sentence(limit: &Limit) -> String {
    let mut text = format!("{}: at {}, ", limit.name, limit.at_text);
    match limit.subject {
        Subject::Discharge => {
            text.push_str("nothing may be discharged");
            if let Some(except) = &limit.except {
                text.push_str(&format!(
                    ", except when more than {} of rain falls in some {} h",
                    except.rain_text, except.in_any_h
                ));
                if let Some(before) = &except.before_it {
                    text.push_str(&format!(" and the level was below {} before it", before.text));
                }
                text.push_str(&match except.days_after {
                    0 => " (on the storm's own days, none after them)".to_owned(),
                    days => format!(
                        " (on the storm's days, and {} after them)",
                        crate::rules::judge::no_discharge::day_count(days as usize)
                    ),
                });
            }
        }
        Subject::ClockWindow => {
            if let Some((from, to)) = limit.only_between {
                text.push_str(&format!(
                    "water may flow only between {} and {}",
                    from.format("%H:%M"),
                    to.format("%H:%M")
                ));
            }
        }
        _ => text.push_str(&format!("{} must be {}", subject_words(limit), limit.bound.text)),
    }
    if limit.subject != Subject::ClockWindow
        && let Some((from, to)) = limit.only_between
    {
        text.push_str(&format!(", of what flows between {} and {}", from.format("%H:%M"), to.format("%H:%M")));
    }
    if !limit.allowance.is_empty() {
        let rows: Vec<String> =
            limit.allowance.iter().map(|(from, to, may)| format!("{may} of {from} to {to}")).collect();
        text.push_str(&format!(", but for {} samples", rows.join(", ")));
    }
    if let Some((level, unit)) = limit.detection {
        let unit = unit.map_or(String::new(), |unit| format!(" {}", unit.name));
        text.push_str(&format!(", below detection under {}{unit}", level.in_full(6)));
    }
    if !limit.holds.seasons.is_empty() {
        let spans: Vec<String> = limit
            .holds
            .seasons
            .iter()
            .map(|span| format!("{} to {}", day_words(span.from), day_words(span.to)))
            .collect();
        text.push_str(&format!(", from {}", spans.join(" and ")));
    }
    if !limit.holds.months.is_empty() {
        let months: Vec<&str> = limit.holds.months.iter().map(|month| crate::quantity::month_name(*month)).collect();
        text.push_str(&format!(", in {}", months.join(", ")));
    }
    if let Some(days) = limit.holds.weekdays {
        let names: Vec<&str> = WEEKDAYS.into_iter().filter(|day| days.contains(*day)).map(weekday_words).collect();
        text.push_str(&format!(", on {}", names.join(", ")));
    }
    if let Some((from, to)) = limit.holds.dates {
        let from =
            from.map(|day| format!(" from {}", crate::rules::window::windows::day_label(day))).unwrap_or_default();
        let to = to.map(|day| format!(" to {}", crate::rules::window::windows::day_label(day))).unwrap_or_default();
        text.push_str(&format!(", in force{from}{to}"));
    }
    if let Some(stage) = &limit.holds.stage {
        text.push_str(&format!(" ({stage})"));
    }
    for condition in &limit.only_when {
        text.push_str(&format!(", only when {}", condition.text));
    }
    text.push('.');
    if let Some(duty) = &limit.sample {
        let kind = duty.kind.as_deref().map(|kind| format!("{kind} ")).unwrap_or_default();
        let what = match limit.subject {
            Subject::Stage(_) => "reading",
            Subject::Discharge => "look",
            _ => "sample",
        };
        text.push_str(&format!(" One {kind}{what} is due {}.", duty.text));
    }
    if limit.estimate_accepted {
        text.push_str(" The permit accepts an estimate.");
    }
    if let Some(of) = limit.monthly_load {
        text.push_str(" The load of a month is the mean of its results times its flow");
        text.push_str(match of.without_result {
            Some(Carried::LastResult) => "; a month with water and no result takes the last result before it.",
            Some(Carried::LastMean) => "; a month with water and no result takes the mean of the last month before it.",
            None => ".",
        });
    }
    let counts = counts(limit, &limit.counting);
    if !counts.is_empty() {
        text.push_str(&format!(" Counts: {}.", counts.join("; ")));
    }
    text
}

/// A way of counting, and the limits that count so.
type Way<'a> = (String, Vec<&'a str>);

/// How the limits of a file count, each thing once; where limits differ, what is not of most of them with their names.
pub fn counting_of_all(rules: &RulesFile) -> Vec<String> {
    // Each thing with the ways it is counted, and the limits that count so.
    let mut things: Vec<(String, Vec<Way<'_>>)> = Vec::new();
    for limit in &rules.limits {
        for words in counts(limit, &limit.counting) {
            let (thing, how) = words.split_once(": ").unwrap_or((words.as_str(), ""));
            let at = things.iter().position(|(known, _)| known == thing).unwrap_or_else(|| {
                things.push((thing.to_owned(), Vec::new()));
                things.len() - 1
            });
            let Some((_, ways)) = things.get_mut(at) else { continue };
            match ways.iter_mut().find(|(known, _)| known == how) {
                Some((_, names)) => names.push(&limit.name),
                None => ways.push((how.to_owned(), vec![&limit.name])),
            }
        }
    }
    let told = |(thing, ways): (String, Vec<Way<'_>>)| {
        let most = ways.iter().map(|(_, names)| names.len()).max().unwrap_or(0);
        let usual = ways.iter().position(|(_, names)| names.len() == most);
        let of = |(at, (how, names)): (usize, &Way<'_>)| {
            if Some(at) == usual { how.clone() } else { format!("{how} ({})", crate::told::named(names)) }
        };
        let how: Vec<String> = ways.iter().enumerate().map(of).collect();
        if how.iter().all(String::is_empty) { thing } else { format!("{thing}: {}", how.join(", ")) }
    };
    things.into_iter().map(told).collect()
}

fn day_words(day: crate::quantity::DayOfYear) -> String {
    format!("{} {}", day.day, crate::quantity::month_name(day.month))
}

/// Every limit and notice read back as a sentence, with the line it was typed on.
pub fn sentences(rules: &RulesFile) -> Vec<(Place, String)> {
    let mut out: Vec<(Place, String)> =
        rules.limits.iter().map(|limit| (limit.place.clone(), sentence(limit))).collect();
    if let Some((_, place)) = &rules.notices.over_a_limit {
        let mut parts = Vec::new();
        if let Some(hours) = rules.notices.call_within_h {
            parts.push(format!("a call is due within {hours} h of knowing"));
        }
        if let Some(days) = rules.notices.write_within_days {
            let since = if rules.notices.write_from_the_call { "the call" } else { "knowing" };
            let days = crate::rules::judge::no_discharge::day_count(days as usize);
            parts.push(format!("a letter within {days} of {since}"));
        }
        let exempt: Vec<&str> =
            rules.limits.iter().filter(|limit| !limit.asks_for_notice).map(|limit| limit.name.as_str()).collect();
        let but = if exempt.is_empty() { String::new() } else { format!("; not for {}", exempt.join("; ")) };
        out.push((place.clone(), format!("Over a limit: {}{but}.", parts.join(", and "))));
    }
    if let Some((day, place)) = &rules.notices.monthly_report {
        let weekend = match rules.notices.due_on_a_weekend {
            Some(true) => "; on a weekend, by the Monday after it",
            Some(false) => ", on a weekend too",
            None => "",
        };
        out.push((place.clone(), format!("A report of each month is due by day {day} of the next month{weekend}.")));
    }
    if let Some((_, place)) = rules.notices.checked_yearly.first() {
        let names: Vec<&str> = rules.notices.checked_yearly.iter().map(|(name, _)| name.as_str()).collect();
        let words = "to be checked once in each permit year; a row `calibration` of the name answers it.";
        out.push((place.clone(), format!("{}: {words}", names.join(", "))));
    }
    for rain in &rules.notices.after_rain {
        out.push((
            rain.place.clone(),
            format!(
                "{} is looked at within {} of {} of rain or more within a day of the gauge: a look on {} answers it; one on that \
                 day alone may have been before it, and where the day's rain is not on file, it is not known whether one was due.",
                rain.name,
                rain.within,
                rain.text,
                rain.days_after()
            ),
        ));
    }
    if let Some((text, place)) = &rules.notices.keep_records {
        out.push((place.clone(), format!("Records are kept for {text}.")));
    }
    out
}

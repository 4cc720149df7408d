//! Exceptions and tiers: the storm that excuses a discharge, conditions on flow, rain and level.

use super::keys::{Except as Keys, FlowCondition, LevelCondition, OfTheDay, OnlyWhen};
use crate::facility::model::Facility;
use crate::files::{Declares, Field, Fields, Keyed, Of};
use crate::quantity::{Dimension, Span, parameter_as_written, parameter_name};
use crate::rules::file::read::at::place;
use crate::rules::file::read::bound::typed;
use crate::rules::measure::convert::factor;
use crate::rules::{BeforeIt, Condition, ConditionOf, Except, Number};

/// A number in SI with the text as typed, of one dimension.
pub(super) fn si(field: &Field<'_>, dimension: Dimension, example: &str) -> Option<(Number, String)> {
    let said = field.parse("an amount", example, typed)?;
    match said.value.unit {
        Some(unit) if unit.dimension == dimension => Some((said.value.number.times(factor(&unit)), said.text)),
        _ => {
            field.refuse(format!("`{}` does not fit here", said.text), format!("write it like {example}"));
            None
        }
    }
}

/// `{rain over: 2.4 in, in any: 24 h, and before it: {Storage pond below: 7 ft}, and after it: 1 day}`.
pub(crate) fn except(field: &Field<'_>, facility: &Facility) -> Option<Except> {
    let mut map = field.map::<Keys>()?;
    let rain = si(&map.get(&Keys::RAIN_OVER), Dimension::Length, "2.4 in");
    let any = map.read(&Keys::IN_ANY);
    let before = map.get(&Keys::BEFORE_IT);
    let before_it = if before.is_there() && !before.says_not_said() { before_it(&before, facility) } else { None };
    let after = map.read(&Keys::AFTER_IT);
    map.finish();
    let any = any?;
    if any.text.contains("day") {
        field.refuse(
            "`in any` is any stretch of so many hours, and no day of the gauge",
            "write it in hours, like 24 h, if that is what the permit says",
        );
        return None;
    }
    let hours = match any.value {
        Span::Seconds(seconds) if seconds % 3600 == 0 && (1..=240).contains(&(seconds / 3600)) => {
            (seconds / 3600) as u32
        }
        _ => {
            field.refuse("`in any` is a whole number of hours, at most ten days", "write it like 24 h");
            return None;
        }
    };
    let days_after = match after.map(|said| said.value.whole_days()) {
        // Not said: none beyond the storm's own days.
        None => 0,
        Some(Some(days)) if days <= 60 => days as u32,
        Some(_) => {
            field.refuse("`and after it` is a whole number of days, at most 60", "write it like 1 day");
            return None;
        }
    };
    let (metres, text) = rain?;
    Some(Except {
        rain_over_mm: metres.times(Number::whole(1000)),
        rain_text: text,
        in_any_h: hours,
        before_it,
        days_after,
    })
}

fn before_it(field: &Field<'_>, facility: &Facility) -> Option<BeforeIt> {
    let mut out = None;
    for (key, value) in field.named() {
        let Some(name) = key.value.strip_suffix(" below") else {
            value.refuse(format!("`{}` is not known here", key.value), "write it like {Storage pond below: 7 ft}");
            continue;
        };
        let Some(store) = facility.find(name.trim()) else {
            value.refuse(format!("there is no place `{}`", name.trim()), "write the pond's own name");
            continue;
        };
        if let Some((below_m, text)) = si(&value, Dimension::Length, "7 ft") {
            out = Some(BeforeIt { store, below_m, text });
        }
    }
    out
}

/// A condition's field and its keys.
fn opened<'a, M: Declares>(of: &Keyed<'a, Of<M>>) -> (Field<'a>, Option<Fields<'a>>) {
    ((**of).clone(), of.open())
}

/// `only when: {flow: {at: Outfall 1, parameter: river flow, at least: 10 cfs, below: 50 cfs, of: the day before},
/// rain: {at least: 0.5 in}, level: {at: Storage pond, below: 7 ft}}`.
pub(crate) fn conditions(field: &Field<'_>, facility: &Facility) -> Vec<Condition> {
    let Some(mut map) = field.map::<OnlyWhen>() else {
        return Vec::new();
    };
    let mut out = Vec::new();
    for (key, dimension, example) in [
        ("flow", Dimension::Flow, "10 cfs"),
        ("rain", Dimension::Length, "0.5 in"),
        ("level", Dimension::Length, "7 ft"),
    ] {
        let (of, parts) = match key {
            "flow" => opened(&map.get(&OnlyWhen::FLOW)),
            "rain" => opened(&map.get(&OnlyWhen::RAIN)),
            _ => opened(&map.get(&OnlyWhen::LEVEL)),
        };
        let Some(mut parts) = parts else {
            continue;
        };
        let at = (key != "rain").then(|| place(&parts.get(&LevelCondition::AT), facility));
        let parameter =
            (key == "flow").then(|| parts.read(&FlowCondition::PARAMETER).map_or("flow".to_owned(), |said| said.value));
        let least = parts.get(&LevelCondition::AT_LEAST);
        let at_least = least.is_there().then(|| si(&least, dimension, example)).flatten();
        let under = parts.get(&LevelCondition::BELOW);
        let below = under.is_there().then(|| si(&under, dimension, example)).flatten();
        let day = parts.read(&OfTheDay::OF).map_or(0, |said| said.value);
        parts.finish();
        if at_least.is_none() && below.is_none() {
            of.refuse("a condition without a bound", format!("write at least: {example}, or below: {example}"));
            continue;
        }
        let mut words = Vec::new();
        words.extend(at_least.as_ref().map(|(_, text)| format!("at least {text}")));
        words.extend(below.as_ref().map(|(_, text)| format!("below {text}")));
        let (what, name) = match (key, at) {
            ("rain", _) => (ConditionOf::Rain, "the rain".to_owned()),
            (_, Some(Some((id, name)))) if key == "flow" => {
                let parameter = parameter.unwrap_or_default();
                let text = format!("the {} at {name}", parameter_as_written(&parameter));
                (ConditionOf::Reading(parameter_name(&parameter), id), text)
            }
            (_, Some(Some((id, name)))) => (ConditionOf::Level(id), format!("the level of {name}")),
            _ => continue,
        };
        let when = if day == 1 { " on the day before" } else { "" };
        out.push(Condition {
            of: what,
            at_least: at_least.map(|(value, _)| value),
            below: below.map(|(value, _)| value),
            days_before: day,
            text: format!("{name} is {}{when}", words.join(" and ")),
        });
    }
    map.finish();
    out
}

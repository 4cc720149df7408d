//! Tiers: whether a condition on flow, rain or level holds on a day, as far as the records tell.

use chrono::NaiveDate;

use crate::records::Timeline;
use crate::rules::convert::{factor, written_unit};
use crate::rules::readings::parameter_name;
use crate::rules::windows::earlier;
use crate::rules::{Condition, ConditionOf, Interval, Number};
use crate::weather::DailyWeather;

/// Whether all conditions hold on a day; none where a gauge is missing.
pub(crate) fn hold(
    conditions: &[Condition],
    day: NaiveDate,
    timeline: &Timeline,
    weather: Option<&DailyWeather>,
) -> Option<bool> {
    let each: Vec<Option<bool>> = conditions
        .iter()
        .map(|condition| holds(condition, day, timeline, weather))
        .collect();
    if each.contains(&Some(false)) {
        Some(false)
    } else if each.contains(&None) {
        None
    } else {
        Some(true)
    }
}

fn holds(
    condition: &Condition,
    day: NaiveDate,
    timeline: &Timeline,
    weather: Option<&DailyWeather>,
) -> Option<bool> {
    let day = earlier(day, condition.days_before);
    let value = match &condition.of {
        ConditionOf::Reading(parameter, place) => {
            let values: Vec<Interval> = timeline
                .samples
                .iter()
                .filter(|sample| {
                    sample.day == day
                        && sample.at == *place
                        && parameter_name(&sample.parameter) == *parameter
                })
                .filter_map(|sample| {
                    let number = Number::parse(sample.value.as_deref()?)?;
                    let unit = written_unit(sample.unit.as_deref()).ok()??;
                    Some(Interval::exactly(number.times(factor(&unit))))
                })
                .collect();
            crate::rules::interval::mean(&values)?
        }
        ConditionOf::Rain => {
            let weather = weather?;
            let at = usize::try_from((day - weather.first_day).num_days()).ok()?;
            let rain = weather.rain.get(at)?;
            let metres = |mm: f64| Number::computed(mm / 1000.0);
            Interval::between(metres(rain.low_mm), metres(rain.high_mm))
        }
        ConditionOf::Level(store) => {
            let level = timeline.levels.iter().rfind(|level| {
                level.at == *store
                    && level.day == day
                    && level.kind == crate::records::LevelKind::Level
            })?;
            Interval::exactly(Number::computed(level.value_si))
        }
    };
    let least = condition
        .at_least
        .unwrap_or(Number::Float(f64::NEG_INFINITY));
    let below = condition.below.unwrap_or(Number::INFINITE);
    if value.low.against(least).is_ge() && value.high.against(below).is_lt() {
        Some(true)
    } else if value.high.against(least).is_lt() || value.low.against(below).is_ge() {
        Some(false)
    } else {
        None
    }
}

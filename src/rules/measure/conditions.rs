//! Tiers: whether a condition on flow, rain or level holds on a day, as far as the records tell.

use chrono::NaiveDate;

use crate::facility::model::Facility;
use crate::quantity::parameter_name;
use crate::records::Timeline;

use crate::rules::measure::convert::{factor, written_unit};
use crate::rules::measure::rain_on;
use crate::rules::window::windows::earlier;
use crate::rules::{Condition, ConditionOf, Interval, Number};
use crate::weather::DailyWeather;

/// Whether all conditions hold on a day; none where a gauge is missing.
pub(crate) fn hold(
    conditions: &[Condition],
    day: NaiveDate,
    facility: &Facility,
    timeline: &Timeline,
    weather: Option<&DailyWeather>,
) -> Option<bool> {
    let each: Vec<Option<bool>> =
        conditions.iter().map(|condition| holds(condition, day, facility, timeline, weather)).collect();
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
    facility: &Facility,
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
                    sample.day == day && sample.at == *place && parameter_name(&sample.parameter) == *parameter
                })
                .filter_map(|sample| {
                    let number = Number::parse(sample.value.as_deref()?)?;
                    let unit = written_unit(sample.unit.as_deref()).ok()??;
                    Some(Interval::exactly(number.times(factor(&unit))))
                })
                .collect();
            crate::rules::window::interval::mean(&values)?
        }
        ConditionOf::Rain => rain_on(day, facility, weather?),
        ConditionOf::Level(store) => {
            let mut read = timeline
                .levels
                .iter()
                .filter(|level| {
                    level.at == *store && level.day == day && level.kind == crate::records::LevelKind::Level
                })
                .map(|level| Interval::exactly(Number::computed(level.value_si)));
            // Of several on one day, all from the least to the most.
            let first = read.next()?;
            read.fold(first, |all, one| Interval::between(all.low.or_less(one.low), all.high.or_more(one.high)))
        }
    };
    let least = condition.at_least.unwrap_or(Number::Float(f64::NEG_INFINITY));
    let below = condition.below.unwrap_or(Number::INFINITE);
    if value.low.against(least).is_ge() && value.high.against(below).is_lt() {
        Some(true)
    } else if value.high.against(least).is_lt() || value.low.against(below).is_ge() {
        Some(false)
    } else {
        None
    }
}

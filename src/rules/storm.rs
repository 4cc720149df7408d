//! Whether a storm and the storage before it excuse a discharge: shown, not so, or not to be told from the records.

use chrono::{Days, NaiveDate, NaiveDateTime, TimeDelta};
use uom::si::f64::{Length, Time};
use uom::si::length::{meter, millimeter};
use uom::si::time::hour;

use crate::facility::model::Facility;
use crate::hydrology::{RainReading, largest_depth};
use crate::quantity::Range;
use crate::records::{LevelKind, Timeline};
use crate::rules::metered::day_ends;
use crate::rules::readings::evidence;
use crate::rules::windows::day_label;
use crate::rules::{Evidence, Except, Missing, Number};
use crate::weather::DailyWeather;

/// A trace of rain is less than half of 0.01 in (common practice of gauge readers).
const TRACE_MM: f64 = 0.127;

/// What the records say of an excuse.
#[derive(Debug, Clone, PartialEq)]
pub struct Excuse {
    /// Yes, no, or not to be told.
    pub holds: Option<bool>,
    /// Sentences, the storm first.
    pub sentences: Vec<String>,
    /// Level readings it rests on.
    pub evidence: Vec<Evidence>,
    /// What would settle it.
    pub missing: Vec<Missing>,
    /// The day on which the storm began; none without one.
    pub storm_began: Option<NaiveDate>,
}

fn inches(mm: f64) -> String {
    Number::computed(mm / 25.4)
        .settled()
        .to_places(2, crate::rules::Tie::HalfUp)
        .honest(2)
}

/// A depth in the unit the limit was typed in.
fn depth(mm: f64, typed: &str) -> String {
    if !mm.is_finite() {
        return "no one knows how much".to_owned();
    }
    if typed.trim_end().ends_with("mm") {
        format!(
            "{} mm",
            Number::computed(mm)
                .settled()
                .to_places(1, crate::rules::Tie::HalfUp)
                .honest(1)
        )
    } else {
        format!("{} in", inches(mm))
    }
}

/// Rain around a day: from one window (and the days a storm's water takes to drain) before its start to its end.
fn rain_around(
    day: NaiveDate,
    except: &Except,
    facility: &Facility,
    weather: &DailyWeather,
) -> Option<(f64, f64, NaiveDateTime)> {
    let (start, end) = day_ends(day, facility.day_starts);
    let back = i64::from(except.in_any_h) + 24 * i64::from(except.days_after);
    let from = start.checked_sub_signed(TimeDelta::hours(back))?;
    let since =
        |moment: NaiveDateTime| Time::new::<hour>((moment - from).num_seconds() as f64 / 3600.0);
    let mut rows: Vec<RainReading> = Vec::new();
    let mut covered = from;
    for reading in weather
        .readings
        .iter()
        .filter(|reading| reading.to > from && reading.from < end)
    {
        if reading.from > covered {
            rows.push(RainReading {
                from: since(covered),
                to: since(reading.from),
                depth: None,
            });
        }
        let begins = reading.from.max(covered);
        if reading.to <= begins {
            continue;
        }
        let least = if reading.trace { 0.0 } else { reading.depth_mm };
        let most = if reading.trace {
            reading.depth_mm.max(TRACE_MM)
        } else {
            reading.depth_mm
        };
        rows.push(RainReading {
            from: since(begins),
            to: since(reading.to),
            depth: Some(Range {
                low: Length::new::<millimeter>(least),
                high: Length::new::<millimeter>(most),
            }),
        });
        covered = reading.to;
    }
    if covered < end {
        rows.push(RainReading {
            from: since(covered),
            to: since(end),
            depth: None,
        });
    }
    let storm = largest_depth(&rows, Time::new::<hour>(f64::from(except.in_any_h))).ok()?;
    let begin = if storm.depth.high.get::<meter>() > 0.0 {
        storm.high_span.0
    } else {
        since(start)
    };
    let began = from.checked_add_signed(TimeDelta::seconds(
        (begin.get::<hour>() * 3600.0).round() as i64,
    ))?;
    Some((
        storm.depth.low.get::<millimeter>(),
        storm.depth.high.get::<millimeter>(),
        began,
    ))
}

/// Whether a discharge on a day is excused, from records alone.
pub(crate) fn excuse(
    day: NaiveDate,
    except: &Except,
    holds_days: u32,
    facility: &Facility,
    timeline: &Timeline,
    weather: Option<&DailyWeather>,
) -> Excuse {
    let mut out = Excuse {
        holds: Some(false),
        sentences: Vec::new(),
        evidence: Vec::new(),
        missing: Vec::new(),
        storm_began: None,
    };
    let label = day_label(day);
    let Some((low, high, began)) =
        weather.and_then(|weather| rain_around(day, except, facility, weather))
    else {
        out.holds = None;
        out.missing.push(Missing {
            sentence: format!(
                "{label}: there is no rain record to tell whether a storm excuses the discharge."
            ),
            would_show: Some("A rain record of a station nearby.".to_owned()),
        });
        return out;
    };
    let limit = &except.rain_over_mm;
    let storm = if Number::computed(low).against(*limit).is_gt() {
        Some(true)
    } else if Number::computed(high).against(*limit).is_gt() {
        None
    } else {
        Some(false)
    };
    out.sentences.push(if (low - high).abs() < 1e-9 {
        format!("{label}: the most rain in any {} h was {}; the permit asks for over {}.", except.in_any_h, depth(low, &except.rain_text), except.rain_text)
    } else if high.is_finite() {
        format!(
            "{label}: the most rain in any {} h was somewhere from {} to {}; the permit asks for over {}.",
            except.in_any_h,
            depth(low, &except.rain_text),
            depth(high, &except.rain_text),
            except.rain_text
        )
    } else {
        format!(
            "{label}: the most rain in any {} h was at least {}, and a reading is missing; the permit asks for over {}.",
            except.in_any_h,
            depth(low, &except.rain_text),
            except.rain_text
        )
    });
    if storm == Some(false) {
        return out;
    }
    out.storm_began = Some(began.date());
    if storm.is_none() {
        out.missing.push(Missing {
            sentence: format!(
                "{label}: daily gauge readings don't tell how much fell in any {} h.",
                except.in_any_h
            ),
            would_show: Some("An hourly record from a station nearby would settle it.".to_owned()),
        });
    }
    let storage = match &except.before_it {
        None => Some(true),
        Some(before) => {
            let name = facility
                .get(before.store)
                .map_or("the store", |place| place.name.as_str());
            match level_before(before.store, began, holds_days, timeline, facility) {
                Some((on, level, text, shown)) => {
                    let is_below = level.against(before.below_m).is_lt();
                    let side = if is_below {
                        "below the mark"
                    } else {
                        "not below the mark"
                    };
                    out.sentences.push(format!(
                        "{name} stood at {text} on {} ({side} of {}).",
                        day_label(on),
                        before.text
                    ));
                    out.evidence.extend(shown);
                    Some(is_below)
                }
                None => {
                    out.missing.push(Missing {
                        sentence: format!(
                            "{label}: no level of {name} is on file in the {holds_days} days before the storm."
                        ),
                        would_show: Some(format!("A reading of {name} from those days.")),
                    });
                    None
                }
            }
        }
    };
    out.holds = match (storm, storage) {
        (_, Some(false)) => Some(false),
        (Some(true), Some(true)) => Some(true),
        _ => None,
    };
    if out.holds.is_some() {
        out.missing.clear();
    }
    out
}

type LevelBefore = (NaiveDate, Number, String, Vec<Evidence>);

/// The last level read at or before a moment, if it is not older than the days a reading holds.
fn level_before(
    store: crate::facility::model::PlaceId,
    moment: NaiveDateTime,
    holds_days: u32,
    timeline: &Timeline,
    facility: &Facility,
) -> Option<LevelBefore> {
    let oldest = moment
        .date()
        .checked_sub_days(Days::new(u64::from(holds_days)))?;
    timeline
        .levels
        .iter()
        .rfind(|level| {
            level.at == store
                && level.kind == LevelKind::Level
                && level.day >= oldest
                && level
                    .day
                    .and_time(level.time.unwrap_or(facility.day_starts))
                    <= moment
        })
        .map(|level| {
            let exact = Number::parse(&level.value)
                .zip(crate::quantity::units::named(&level.unit))
                .map(|(number, unit)| number.times(crate::rules::convert::factor(&unit)));
            let text = format!("{} {}", level.value, level.unit);
            let shown = vec![evidence(level.day, format!("level {text}"), &level.source)];
            (
                level.day,
                exact.unwrap_or_else(|| Number::computed(level.value_si)),
                text,
                shown,
            )
        })
}

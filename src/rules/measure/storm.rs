//! Storms over a stated depth in some hours, the storage before them, and whether they excuse a discharge: shown, not so,
//! or not to be told from the records.

use chrono::NaiveDate;

use crate::facility::model::{Facility, PlaceId};
use crate::quantity::DayStart;
use crate::records::{Level, LevelKind, Timeline};
use crate::rules::measure::readings::evidence;
use crate::rules::measure::{
    DAY, FAR, Moment, Rain, Stretch, day_at, day_number, day_of_number, days_touched, moment_in, possible_windows,
    rain_of, start_of, sure_windows,
};
use crate::rules::window::windows::day_label;
use crate::rules::{Evidence, Except, Missing, Number};
use crate::weather::DailyWeather;

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

impl Excuse {
    /// No storm at all.
    pub fn none() -> Self {
        Self { holds: Some(false), sentences: Vec::new(), evidence: Vec::new(), missing: Vec::new(), storm_began: None }
    }
}

/// One storm: sure to be over the stated depth, or only possible.
#[derive(Debug, Clone, PartialEq)]
struct Storm {
    /// From the first span with rain to the end of the last.
    time: Stretch,
    sure: bool,
    /// The moments at which it may have begun, one if it is sure, with the storage before each.
    begins: Vec<(Moment, Storage)>,
}

/// What is known of the level before a storm.
#[derive(Debug, Clone, PartialEq)]
struct Storage {
    was_below: Option<bool>,
    sentence: Option<String>,
    evidence: Vec<Evidence>,
    missing: Option<Missing>,
}

/// Every storm that can excuse a discharge under one exception.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Storms {
    except: Except,
    storms: Vec<Storm>,
    rain: Vec<Rain>,
    has_rain: bool,
}

fn inches(mm: f64) -> String {
    Number::computed(mm / 25.4).settled().to_places(2, crate::rules::Tie::HalfUp).honest(2)
}

/// A depth in the unit the limit was typed in.
fn depth(mm: f64, typed: &str) -> String {
    if !mm.is_finite() {
        return "no one knows how much".to_owned();
    }
    if typed.trim_end().ends_with("mm") {
        format!("{} mm", Number::computed(mm).settled().to_places(1, crate::rules::Tie::HalfUp).honest(1))
    } else {
        format!("{} in", inches(mm))
    }
}

impl Storms {
    /// The storms of an exception, from what is on file by the end of a day.
    pub fn of(
        except: &Except,
        holds_days: u32,
        facility: &Facility,
        timeline: &Timeline,
        weather: Option<&DailyWeather>,
        as_of: NaiveDate,
    ) -> Self {
        let rain = weather.map_or_else(
            || vec![Rain { time: (-FAR, FAR), low_mm: 0.0, high_mm: f64::INFINITY }],
            |weather| rain_of(facility, weather, as_of),
        );
        let mut storms = Vec::new();
        let storage = |began: Moment| level_before(except, began, holds_days, facility, timeline, as_of);
        for window in sure_windows(&rain, except) {
            let inside: Vec<&Rain> = rain
                .iter()
                .filter(|span| span.high_mm > 0.0 && span.high_mm.is_finite())
                .filter(|span| window.0 <= span.time.0 && span.time.1 <= window.1)
                .collect();
            if let (Some(first), Some(last)) = (inside.first(), inside.last()) {
                storms.push(Storm {
                    time: (first.time.0, last.time.1),
                    sure: true,
                    begins: vec![(first.time.0, storage(first.time.0))],
                });
            }
        }
        for window in possible_windows(&rain, except) {
            let touching: Vec<&Rain> = rain
                .iter()
                .filter(|span| span.high_mm > 0.0)
                .filter(|span| span.time.1 > window.0 && span.time.0 < window.1)
                .collect();
            if let (Some(first), Some(last)) = (touching.first(), touching.last()) {
                // Where nothing was read the rain may have begun at any time, and no level tells.
                let begins: Vec<(Moment, Storage)> = touching
                    .iter()
                    .map(|span| {
                        let from = if span.high_mm.is_finite() { span.time.0 } else { span.time.0.max(window.0) };
                        if span.high_mm.is_finite() || except.before_it.is_none() {
                            (from, storage(from))
                        } else {
                            (from, Storage::not_known(None))
                        }
                    })
                    .collect();
                let began = begins.first().map_or(first.time.0, |(from, _)| *from);
                storms.push(Storm { time: (began, last.time.1), sure: false, begins });
            }
        }
        Self { except: except.clone(), storms, rain, has_rain: weather.is_some() }
    }

    /// Whether a discharge within a day is excused; `when` is the time of it, as far as it is known.
    pub fn excuse(&self, day: NaiveDate, when: Option<Stretch>) -> Excuse {
        let number = day_number(day);
        let label = day_label(day);
        let mut out = Excuse::none();
        if !self.has_rain {
            out.holds = None;
            out.missing.push(Missing {
                of: None,
                paper: None,
                sentence: format!("{label}: there is no rain record to tell whether a storm excuses the discharge."),
                would_show: Some("A rain record of a station nearby.".to_owned()),
            });
            return out;
        }
        out.sentences.push(self.most_rain(number, &label));
        let mut open: Vec<Missing> = Vec::new();
        let mut excused = false;
        let mut unknown = false;
        for storm in &self.storms {
            let (first, last) = days_touched(storm.time);
            if number < first || number > last + i64::from(self.except.days_after) {
                continue;
            }
            out.storm_began.get_or_insert(day_of_number(first));
            // One that is sure has begun by its own first rain.
            let latest = self
                .storms
                .iter()
                .filter(|sure| sure.sure && !storm.sure)
                .filter(|sure| storm.time.0 <= sure.time.0 && sure.time.1 <= storm.time.1)
                .map(|sure| sure.time.0)
                .filter(|began| day_at(*began) <= number)
                .max();
            for (began, storage) in &storm.begins {
                if day_at(*began) > number || latest.is_some_and(|latest| *began > latest) {
                    continue;
                }
                let after_it_began = if day_at(*began) < number || *began <= number * DAY {
                    Some(true)
                } else {
                    match when {
                        Some((from, _)) if from >= *began => Some(true),
                        Some((from, to)) if to <= *began && from < *began => Some(false),
                        _ => None,
                    }
                };
                if after_it_began == Some(false) {
                    let line = format!("{label}: it flowed before the rain began.");
                    if storm.sure && !out.sentences.contains(&line) {
                        out.sentences.push(line);
                    }
                    continue;
                }
                if let Some(sentence) = &storage.sentence
                    && !out.sentences.contains(sentence)
                {
                    out.sentences.push(sentence.clone());
                    out.evidence.extend(storage.evidence.iter().cloned());
                }
                match (storm.sure, after_it_began, storage.was_below) {
                    (_, _, Some(false)) => {}
                    (true, Some(true), Some(true)) => excused = true,
                    (sure, time, below) => {
                        unknown = true;
                        if !sure {
                            open.push(self.not_told(number, &label, storm));
                        }
                        if time.is_none() {
                            open.push(Missing { of: None, paper: None,
                                sentence: format!(
                                    "{label}: the rain began within the day, and it is not known at what hour water flowed."
                                ),
                                would_show: Some(
                                    "The hour of the look, or of the reading.".to_owned(),
                                ),
                            });
                        }
                        if below.is_none() {
                            open.extend(storage.missing.clone());
                        }
                    }
                }
            }
        }
        if excused {
            out.holds = Some(true);
        } else if unknown {
            out.holds = None;
            for missing in open {
                if !out.missing.contains(&missing) {
                    out.missing.push(missing);
                }
            }
        }
        out
    }

    /// What is not told of a storm that may not have been one, or may have gone on: with one that is sure within it, how long.
    fn not_told(&self, day: i64, label: &str, perhaps: &Storm) -> Missing {
        let inside = |sure: &&Storm| sure.sure && perhaps.time.0 <= sure.time.0 && sure.time.1 <= perhaps.time.1;
        let ended = self.storms.iter().filter(inside).map(|sure| days_touched(sure.time).1).max();
        let may_end = days_touched(perhaps.time).1;
        let after = i64::from(self.except.days_after);
        let back = i64::from(self.except.in_any_h) * 3600;
        let unread = self
            .rain
            .iter()
            .any(|span| !span.high_mm.is_finite() && span.time.1 > day * DAY - back && span.time.0 < (day + 1) * DAY);
        let ended = ended.filter(|ended| *ended + after < day && *ended < may_end);
        let hours_decide = ended.is_some() && !unread;
        Missing {
            of: None,
            paper: None,
            sentence: if let (Some(ended), false) = (ended, unread) {
                format!(
                    "{label}: over {} surely fell by {}; the readings don't tell whether the {} h that had it went on to {}, and \
                     only then is the discharge excused.",
                    self.except.rain_text,
                    day_label(day_of_number(ended)),
                    self.except.in_any_h,
                    day_label(day_of_number(may_end)),
                )
            } else if unread {
                format!("{label}: no rain is on file for some of the hours before it.")
            } else {
                format!("{label}: the gauge's readings don't tell how much fell in any {} h.", self.except.in_any_h)
            },
            // Readings of a day each can't settle hours, but they do where the permit means the gauge's own days.
            would_show: Some(if hours_decide {
                format!(
                    "The rules file goes by any {} h: an hourly record from a station nearby would settle it, or the permit where it goes \
                     by the gauge's own days.",
                    self.except.in_any_h
                )
            } else {
                "An hourly record from a station nearby would settle it.".to_owned()
            }),
        }
    }

    /// The most rain in any of the stated hours that touch a day, for a sentence.
    fn most_rain(&self, day: i64, label: &str) -> String {
        let length = i64::from(self.except.in_any_h) * 3600;
        let near: Vec<&Rain> = self
            .rain
            .iter()
            .filter(|span| {
                span.time.1 > day * DAY - length - i64::from(self.except.days_after) * DAY
                    && span.time.0 < (day + 1) * DAY + length
            })
            .collect();
        let (mut low, mut high) = (0.0_f64, 0.0_f64);
        for (index, first) in near.iter().enumerate() {
            let span = first.time.1 - first.time.0;
            let windows = (span.div_euclid(length) + i64::from(span.rem_euclid(length) > 0)).max(1);
            low = low.max(first.low_mm / windows as f64);
            let (mut known, mut most) = (0.0, 0.0);
            for last in near.iter().skip(index) {
                if last.time.1 - first.time.0 <= length {
                    known += last.low_mm;
                    low = low.max(known);
                }
                if last.time.0 - first.time.1 < length {
                    most += last.high_mm;
                    high = high.max(most);
                } else {
                    break;
                }
            }
        }
        let asked = &self.except.rain_text;
        let hours = self.except.in_any_h;
        if (low - high).abs() < 1e-9 {
            format!(
                "{label}: the most rain in any {hours} h that touch it was {}; the permit asks for over {asked}.",
                depth(low, asked)
            )
        } else if high.is_finite() {
            format!(
                "{label}: the most rain in any {hours} h that touch it was somewhere from {} to {}; the permit asks for over {asked}.",
                depth(low, asked),
                depth(high, asked)
            )
        } else {
            format!(
                "{label}: the most rain in any {hours} h that touch it was at least {}, and some hours have no rain on file; the permit asks for over {asked}.",
                depth(low, asked)
            )
        }
    }
}

impl Storage {
    fn not_known(missing: Option<Missing>) -> Self {
        Self { was_below: None, sentence: None, evidence: Vec::new(), missing }
    }
}

/// A level's time: one moment, or the day where the hour is not known.
fn time_of(level: &Level, starts: DayStart) -> Stretch {
    match level.time {
        Some(time) => {
            let moment = moment_in(level.day, time, starts);
            (moment, moment)
        }
        None => (start_of(level.day), start_of(level.day) + DAY - 1),
    }
}

fn metres(level: &Level) -> Number {
    Number::parse(&level.value).zip(crate::quantity::units::named(&level.unit)).map_or_else(
        || Number::computed(level.value_si),
        |(number, unit)| number.times(crate::rules::measure::convert::factor(&unit)),
    )
}

/// The last level read at or before a storm's beginning, if it is not older than the days a reading holds.
fn level_before(
    except: &Except,
    began: Moment,
    holds_days: u32,
    facility: &Facility,
    timeline: &Timeline,
    as_of: NaiveDate,
) -> Storage {
    let Some(before) = &except.before_it else {
        return Storage { was_below: Some(true), ..Storage::not_known(None) };
    };
    let name = facility.get(before.store).map_or("the store", |place| place.name.as_str());
    let began_on = day_of_number(began.div_euclid(DAY));
    let candidates = last_levels(before.store, began, facility, timeline, as_of);
    let oldest = day_number(began_on) - i64::from(holds_days);
    let all_old = candidates.iter().all(|level| day_number(level.day) < oldest);
    if candidates.is_empty() || all_old {
        return Storage::not_known(Some(Missing {
            of: None,
            paper: None,
            sentence: format!(
                "{}: no level of {name} is on file in the {holds_days} days before the storm.",
                day_label(began_on)
            ),
            would_show: Some(format!("A reading of {name} from those days.")),
        }));
    }
    let below: Vec<Option<bool>> = candidates
        .iter()
        .map(|level| (day_number(level.day) >= oldest).then(|| metres(level).against(before.below_m).is_lt()))
        .collect();
    let agreed = below.first().copied().flatten().filter(|first| below.iter().all(|other| *other == Some(*first)));
    let sentences: Vec<String> = candidates
        .iter()
        .map(|level| {
            let side =
                if metres(level).against(before.below_m).is_lt() { "below the mark" } else { "not below the mark" };
            format!(
                "{name} stood at {} {} on {} ({side} of {}).",
                level.value,
                level.unit,
                day_label(level.day),
                before.text
            )
        })
        .collect();
    Storage {
        was_below: agreed,
        sentence: Some(sentences.join(" ")),
        evidence: candidates
            .iter()
            .map(|level| {
                let text = format!("level {} {}", level.value, level.unit);
                evidence(level.day, text, &level.source)
            })
            .collect(),
        missing: agreed.is_none().then(|| Missing {
            of: None,
            paper: None,
            sentence: format!(
                "{}: a level of {name} is known by its date only, and whether it was read before the rain decides.",
                day_label(began_on)
            ),
            would_show: Some("The hour at which the level was read.".to_owned()),
        }),
    }
}

/// The readings any of which may be the last at or before a moment.
fn last_levels<'a>(
    store: PlaceId,
    began: Moment,
    facility: &Facility,
    timeline: &'a Timeline,
    as_of: NaiveDate,
) -> Vec<&'a Level> {
    let all: Vec<(&Level, Stretch)> = timeline
        .levels
        .iter()
        .filter(|level| level.at == store && level.kind == LevelKind::Level && level.day <= as_of)
        .map(|level| (level, time_of(level, facility.day())))
        .filter(|(_, time)| time.0 <= began)
        .collect();
    // The last that is surely before; whatever may be later than it may be the last too.
    let sure = all.iter().filter(|(_, time)| time.1 <= began).map(|(_, time)| time.0).max();
    all.into_iter().filter(|(_, time)| sure.is_none_or(|sure| time.1 >= sure)).map(|(level, _)| level).collect()
}

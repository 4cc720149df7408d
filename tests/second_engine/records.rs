//! What the records say of one day.

use std::collections::{BTreeMap, BTreeSet};

use bywash::balance::Purpose;
use bywash::facility::Carries;
use bywash::facility::kinds::{FilterKind, Membrane};
use bywash::facility::model::{PlaceId, PlaceKind};
use bywash::records::{Level, LevelKind};
use chrono::NaiveDate;

use super::filters::Log;
use super::given;
use super::samples::{self, Sampled};
use super::shape::Shape;
use super::site::Site;

/// Records of one day, already spread evenly over days and steps.
#[derive(Debug, Clone, Default)]
pub struct Today {
    /// Metered water by way: from, to, the words typed for what it is.
    pub metered: BTreeMap<(PlaceId, PlaceId), (Option<String>, f64)>,
    /// Logged washes or changes.
    pub logs: BTreeMap<PlaceId, Log>,
    /// Levels read: the gauge volume up to that level, or the water held by a tank.
    pub levels: BTreeMap<PlaceId, Reading>,
    /// Depths of sludge sounded, m.
    pub soundings: BTreeMap<PlaceId, f64>,
    /// Ponds cleaned out at the start of the day.
    pub cleaned: BTreeSet<PlaceId>,
    /// Samples of this day, or held from an earlier one.
    pub samples: Vec<Sampled>,
    /// Loads hauled from a store, m³ where an amount was typed.
    pub hauled: BTreeMap<PlaceId, Option<f64>>,
}

/// What a level says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reading {
    /// Everything under the surface, m³ (of a pond: water and sludge).
    UnderSurface(f64),
    /// Water held, m³.
    Water(f64),
}

/// The day whose close a level is: its own, or the day before where it was read at the day's start. One of the first day
/// is the opening.
fn closes(site: &Site, level: &Level) -> Option<NaiveDate> {
    if level.day == site.first {
        return None;
    }
    if level.time == Some(site.facility.day_starts) {
        return level.day.pred_opt();
    }
    Some(level.day)
}

fn reading(site: &Site, level: &Level) -> Option<Reading> {
    match (site.kind(level.at), level.kind) {
        (_, LevelKind::Holding) => Some(Reading::Water(level.value_si)),
        (PlaceKind::Pond(pond), LevelKind::Level) => {
            Some(Reading::UnderSurface(Shape::of(pond).volume_at_level(level.value_si)))
        }
        (PlaceKind::Pond(pond), LevelKind::Freeboard) => {
            let shape = Shape::of(pond);
            let above = pond.freeboard_above_spill.as_ref().map(given::m)?;
            let bank = shape.spill_m + above;
            Some(Reading::UnderSurface(shape.volume_at_level(bank - level.value_si)))
        }
        _ => None,
    }
}

/// What a record of the first day says of the opening: the first in the list.
pub fn opening(site: &Site, place: PlaceId) -> Option<Reading> {
    let of = |level: &&Level| level.at == place && level.day == site.first;
    site.timeline.levels.iter().filter(of).find_map(|level| reading(site, level))
}

/// Depth of sludge sounded on the first day, m.
pub fn sounded_first(site: &Site, place: PlaceId) -> Option<f64> {
    let of = |level: &&Level| level.at == place && level.day == site.first && level.kind == LevelKind::SludgeDepth;
    site.timeline.levels.iter().find(of).map(|level| level.value_si)
}

impl Today {
    pub fn of(site: &Site, date: NaiveDate, step: u32) -> Self {
        let mut today = Self::default();
        let steps = f64::from(site.steps);
        let covers = |first: NaiveDate, days: u32| {
            let since = (date - first).num_days();
            since >= 0 && since < i64::from(days)
        };
        for span in &site.timeline.meter_spans {
            if covers(span.first_day, span.days)
                && let Some(meter) = site.facility.meters.get(span.meter)
            {
                let part = span.volume_m3 / f64::from(span.days) / steps;
                today.metered.entry((meter.from, meter.to)).or_insert((meter.what.clone(), 0.0)).1 += part;
            }
        }
        for wash in &site.timeline.washes {
            if !covers(wash.first_day, wash.days) {
                continue;
            }
            let index = u32::try_from((date - wash.first_day).num_days()).unwrap_or(0) * site.steps + step;
            let pieces = wash.days * site.steps;
            let upto = |i: u32| u64::from(wash.count) * u64::from(i) / u64::from(pieces);
            let count = u32::try_from(upto(index + 1) - upto(index)).unwrap_or(0);
            let log = today.logs.entry(wash.filter).or_default();
            log.count = Some(log.count.unwrap_or(0) + count);
            log.minutes = wash.minutes.map(|minutes| minutes / f64::from(pieces));
        }
        for act in &site.timeline.acts {
            if act.day != date {
                continue;
            }
            if act.what == "clean-out"
                && step == 0
                && let Some(place) = site.facility.find(&act.name)
            {
                today.cleaned.insert(place);
            }
            // A load leaves in the last step of its day.
            if act.what == "hauled"
                && let Some(place) = site.facility.find(&act.name)
            {
                let amount = act.value.as_ref().and_then(|value| value.parse::<f64>().ok());
                let last = step + 1 == site.steps;
                today.hauled.insert(place, if last { amount } else { Some(0.0) });
            }
        }
        if step + 1 == site.steps {
            let mine = |level: &&Level| closes(site, level) == Some(date);
            for level in site.timeline.levels.iter().filter(mine) {
                if level.kind == LevelKind::SludgeDepth {
                    today.soundings.insert(level.at, level.value_si);
                } else if let Some(reading) = reading(site, level) {
                    today.levels.insert(level.at, reading);
                }
            }
        }
        today.samples = samples::on(site, date);
        // The meter of all wash water, or of all that is drained at changes, gives its volume.
        for id in site.ids() {
            let Some(filter) = site.filter(id) else {
                continue;
            };
            let away = match (&filter.wash, &filter.change) {
                (Some(wash), _) => Some((&wash.to, Purpose::WashWater)),
                (None, Some(change)) => change.to.as_ref().map(|to| (to, Purpose::DrainDown)),
                (None, None) => match &filter.kind {
                    FilterKind::Membrane(Membrane { reject }) => Some((&reject.to, Purpose::Reject)),
                    _ => None,
                },
            };
            if let Some((to, purpose)) = away
                && let [only] = to.targets().as_slice()
                && let Some(volume) = today.meter(id, *only, purpose)
            {
                today.logs.entry(id).or_default().metered_m3 = Some(volume);
            }
        }
        today
    }

    /// The metered volume of a way, where there is one.
    pub fn meter(&self, from: PlaceId, to: PlaceId, purpose: Purpose) -> Option<f64> {
        let (what, volume) = self.metered.get(&(from, to))?;
        what.as_deref()
            .is_none_or(|words| {
                words.eq_ignore_ascii_case(words_of(purpose))
                    || (purpose == Purpose::Spray && words.eq_ignore_ascii_case(Carries::HosedDown.words()))
            })
            .then_some(*volume)
    }
}

/// What a meter calls it.
fn words_of(purpose: Purpose) -> &'static str {
    match purpose {
        Purpose::Spill => Carries::Spill.words(),
        Purpose::WashSupply => Carries::WashSupply.words(),
        Purpose::DrainDown => Carries::DrainDown.words(),
        Purpose::Spray => Carries::SpraySupply.words(),
        other => other.words(),
    }
}

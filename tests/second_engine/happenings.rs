//! Random weather and a few random records for a random facility.

use bywash::facility::Graph;
use bywash::facility::model::*;
use bywash::records::{Act, Level, LevelKind, Qualifier, Sample, Timeline, WashCount};
use bywash::weather::{DailyWeather, RainDay};
use chrono::{Days, NaiveDate};

use super::build::*;
use super::generator::{Cast, first_day};
use super::random::Rng;

/// A day before the first and `days` more.
pub fn weather(rng: &mut Rng, days: usize) -> DailyWeather {
    let mut weather = dry_weather(0);
    weather.first_day = first_day().pred_opt().expect("a date");
    for i in 0..=days {
        let depth_mm = if rng.chance(0.6) { 0.0 } else { rng.between(0.0, 35.0) * rng.between(0.0, 1.0) };
        let gap = rng.chance(0.01);
        weather.rain.push(RainDay {
            depth_mm: (!gap).then_some(depth_mm),
            low_mm: if gap { 0.0 } else { depth_mm },
            high_mm: if gap { f64::INFINITY } else { depth_mm },
            measured: !gap,
        });
        let warmth = (2.0 * std::f64::consts::PI * (i as f64 - 180.0) / 365.0).cos();
        weather.evaporation_m.push((!rng.chance(0.01)).then_some(0.003 + 0.0025 * warmth));
        weather.water_temperature_c.push(Some(13.0 + 15.0 * warmth));
    }
    weather
}

fn date(i: usize) -> NaiveDate {
    first_day().checked_add_days(Days::new(i as u64)).expect("a date")
}

/// Levels, freeboards, volumes held and depths of sludge; some on the first day, some at the day's start.
fn levels(rng: &mut Rng, facility: &Facility, cast: &Cast, days: usize, timeline: &mut Timeline) {
    for store in &cast.stores {
        if !rng.chance(0.35) {
            continue;
        }
        for _ in 0..rng.whole(1, 6) {
            let (kind, most) = match &facility.places[store.0].kind {
                PlaceKind::Tank(of) => (LevelKind::Holding, of.holds.ends().expect("known").0.value),
                PlaceKind::Pond(of) => {
                    let (PondShape::Table { spill_level: depth, .. } | PondShape::Prismoid { depth, .. }) = &of.shape;
                    let depth = depth.ends().expect("known").0.value;
                    match rng.whole(0, 5) {
                        0 => (LevelKind::Freeboard, 0.5 * depth),
                        1 | 2 => (LevelKind::SludgeDepth, 0.3 * depth),
                        3 => (LevelKind::Holding, 150.0),
                        _ => (LevelKind::Level, depth),
                    }
                }
                _ => continue,
            };
            let value_si = most * rng.between(0.3, 1.0);
            let day = if rng.chance(0.1) { 0 } else { rng.whole(1, days.saturating_sub(1).max(1)) };
            timeline.levels.push(Level {
                at: *store,
                day: date(day),
                time: rng.chance(0.2).then_some(facility.day_starts),
                kind,
                value_si,
                value: value_si.to_string(),
                unit: String::new(),
                source: source(),
            });
        }
    }
    timeline.levels.sort_by_key(|level| (level.day, level.at));
    timeline.levels.dedup_by_key(|level| (level.day, level.at));
}

/// Loads hauled and ponds cleaned out.
fn acts(rng: &mut Rng, facility: &Facility, cast: &Cast, days: usize, timeline: &mut Timeline) {
    for store in &cast.stores {
        let what = match &facility.places[store.0].kind {
            PlaceKind::Tank(of) if of.emptied_by.is_some() => "hauled",
            PlaceKind::Pond(_) => "clean-out",
            _ => continue,
        };
        if !rng.chance(0.4) {
            continue;
        }
        for _ in 0..rng.whole(1, 4) {
            let amount = (what == "hauled" && rng.chance(0.6)).then(|| rng.whole(1, 40));
            timeline.acts.push(Act {
                what: what.into(),
                name: facility.places[store.0].name.clone(),
                day: date(rng.whole(0, days - 1)),
                time: None,
                value: amount.map(|v| v.to_string()),
                unit: amount.map(|_| "m3".into()),
                source: source(),
            });
        }
    }
    timeline.acts.sort_by(|a, b| (a.day, &a.name).cmp(&(b.day, &b.name)));
    timeline.acts.dedup_by(|a, b| (a.day, &a.name) == (b.day, &b.name));
}

/// Samples at supplies, at what passes on, and at discharge points.
fn samples(rng: &mut Rng, facility: &Facility, cast: &Cast, days: usize, timeline: &mut Timeline) {
    let all: Vec<PlaceId> = (0..facility.places.len()).map(PlaceId).collect();
    for _ in 0..rng.whole(0, 3) {
        let at = if rng.chance(0.4) { rng.pick(&cast.supplies) } else { rng.pick(&all) };
        let parameter = match facility.dissolved.first() {
            Some(dissolved) if rng.chance(0.4) => dissolved.name.to_lowercase(),
            _ => "total suspended solids".into(),
        };
        for _ in 0..rng.whole(1, 6) {
            timeline.samples.push(Sample {
                at,
                day: date(rng.whole(0, days - 1)),
                time: None,
                parameter: parameter.clone(),
                value: Some(rng.whole(0, 200).to_string()),
                unit: Some("mg/L".into()),
                qualifier: if rng.chance(0.1) { Qualifier::Below } else { Qualifier::None },
                kind: None,
                source: source(),
            });
        }
    }
    timeline.samples.sort_by_key(|sample| (sample.day, sample.at));
}

/// Records of a few meters, levels and wash logs; sometimes none.
pub fn records(rng: &mut Rng, facility: &mut Facility, cast: &Cast, days: usize) -> Timeline {
    let mut timeline = Timeline::default();
    if rng.chance(0.4) {
        return timeline;
    }
    let graph = Graph::of(facility);
    let mut ways: Vec<(PlaceId, PlaceId, &str)> = graph
        .ways()
        .iter()
        .filter(|way| way.carries.is_metered())
        .map(|way| (way.from, way.to, way.carries.words()))
        .collect();
    ways.sort();
    ways.dedup();
    rng.shuffle(&mut ways);
    ways.truncate(rng.whole(0, 4));
    for (i, (from, to, what)) in ways.into_iter().enumerate() {
        if facility.meters.iter().any(|m| (m.from, m.to) == (from, to)) {
            continue;
        }
        let meter = facility.meters.len();
        facility.meters.push(Meter {
            name: format!("M{i}"),
            place: nowhere(),
            from,
            to,
            what: Some(what.into()),
            counts_in: "m3".into(),
            one_count_m3: 1.0,
            digits: 6,
            read_at: None,
            exchanged: Vec::new(),
            off_by: None,
            weir: None,
        });
        let mut at = rng.whole(0, 40);
        while at + 8 < days {
            let length = rng.whole(1, 7);
            let mut span = span(meter, 1, length as u32, rng.between(0.0, 40.0) * length as f64);
            span.first_day = date(at);
            span.from = date(at).and_hms_opt(0, 0, 0).expect("a time");
            span.to = date(at + length).and_hms_opt(0, 0, 0).expect("a time");
            timeline.meter_spans.push(span);
            at += length + rng.pick(&[0, 0, 1, 10]);
        }
    }
    levels(rng, facility, cast, days, &mut timeline);
    acts(rng, facility, cast, days, &mut timeline);
    samples(rng, facility, cast, days, &mut timeline);
    for filter in cast.pull.iter().chain(&cast.line) {
        let PlaceKind::Filter(of) = &facility.places[filter.0].kind else {
            continue;
        };
        if (of.wash.is_some() || of.change.is_some()) && rng.chance(0.25) {
            for _ in 0..rng.whole(1, 20) {
                timeline.washes.push(WashCount {
                    filter: *filter,
                    first_day: date(rng.whole(0, days - 1)),
                    days: 1,
                    count: rng.whole(0, 4) as u32,
                    minutes: (of.wash.is_some() && rng.chance(0.2)).then(|| rng.between(1.0, 30.0)),
                    changes: of.change.is_some(),
                    source: source(),
                });
            }
        }
    }
    timeline.washes.sort_by_key(|wash| (wash.first_day, wash.filter));
    timeline.washes.dedup_by_key(|wash| (wash.first_day, wash.filter));
    timeline
}

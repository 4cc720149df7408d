//! The middle of what the user gave, in m, m², m³, kg and days.

use bywash::facility::model::Facility;
use bywash::facility::model::{Outflow, PlaceId, Step, Supply, UseAmount, When};
use bywash::files::Given;
use bywash::told::Place;
use bywash::weather::DailyWeather;
use chrono::{Datelike, Days, NaiveDate};
use uom::si::f64::*;

use super::runoff::{self, Wetness};

pub const SECONDS: f64 = 86_400.0;

macro_rules! middle {
    ($name:ident, $quantity:ty, $factor:expr, $doc:literal) => {
        #[doc = $doc]
        pub fn $name(given: &Given<$quantity>) -> f64 {
            given.ends().map_or(0.0, |(low, high)| 0.5 * (low.value + high.value) * $factor)
        }
    };
}

middle!(share, Ratio, 1.0, "A ratio.");
middle!(m, Length, 1.0, "A length, m.");
middle!(m2, Area, 1.0, "An area, m².");
middle!(m3, Volume, 1.0, "A volume, m³.");
middle!(m3_d, VolumeRate, SECONDS, "A flow, m³/d.");
middle!(m_d, Velocity, SECONDS, "A speed, m/d.");
middle!(days, Time, 1.0 / SECONDS, "A time, days.");
middle!(kg, Mass, 1.0, "A mass, kg.");
middle!(kg_d, MassRate, SECONDS, "A mass rate, kg/d.");
middle!(kg_m2, ArealMassDensity, 1.0, "A load on an area, kg/m².");
middle!(kg_m3, MassDensity, 1.0, "A concentration, kg/m³.");

/// What a use or a transfer asks for on a day on which it runs, m³/d.
pub fn demand(amount: &UseAmount) -> f64 {
    match amount {
        UseAmount::PerDay(rate) => m3_d(rate),
        UseAmount::DepthPerDay { area, depth } => m2(area) * m_d(depth),
        UseAmount::Floods { area, depth, floods_a_day, .. } => m2(area) * m(depth) * share(floods_a_day),
    }
}

/// Whether all given conditions hold on a day.
pub fn holds(when: &When, facility: &Facility, weather: &DailyWeather, date: NaiveDate) -> bool {
    let season = when
        .season
        .as_ref()
        .is_none_or(|(name, _)| facility.season(name).is_some_and(|season| season.days.contains(date)));
    let days_of_year = when.days_of_year.is_none_or(|span| span.contains(date));
    let weekday = when.days.is_none_or(|days| days.contains(date.weekday()));
    let dates = when.dates.is_none_or(|(from, to)| from <= date && date <= to);
    let dry = when.not_when_rain_over.as_ref().is_none_or(|limit| {
        date.pred_opt().and_then(|yesterday| rain_m(weather, yesterday)).unwrap_or(0.0) <= m(limit)
    });
    season && days_of_year && weekday && dates && dry
}

fn index(weather: &DailyWeather, date: NaiveDate) -> Option<usize> {
    usize::try_from((date - weather.first_day).num_days()).ok()
}

/// Rain of a day, m.
pub fn rain_m(weather: &DailyWeather, date: NaiveDate) -> Option<f64> {
    weather.rain.get(index(weather, date)?)?.depth_mm.map(|mm| mm / 1000.0)
}

/// How wet the ground is by the rain of the five days before; average where one of them is not known.
pub fn ground(facility: &Facility, weather: &DailyWeather, date: NaiveDate) -> Wetness {
    let mut sum = 0.0;
    for before in 1..=5 {
        let day = date.checked_sub_days(Days::new(before)).expect("a date");
        match rain_m(weather, day) {
            Some(depth) => sum += depth,
            None => return Wetness::Average,
        }
    }
    let growing = facility.season("growing").is_some_and(|season| season.days.contains(date));
    runoff::wetness(sum, growing)
}

/// Evaporation of a day, m.
pub fn evaporation_m(weather: &DailyWeather, date: NaiveDate) -> f64 {
    index(weather, date).and_then(|i| weather.evaporation_m.get(i).copied().flatten()).unwrap_or(0.0)
}

/// Temperature of the water, °C.
pub fn water_c(weather: &DailyWeather, date: NaiveDate) -> Option<f64> {
    index(weather, date).and_then(|i| weather.water_temperature_c.get(i).copied().flatten())
}

/// The most a supply gives in a day, m³.
pub fn supply_limit(supply: &Supply, facility: &Facility, weather: &DailyWeather, date: NaiveDate) -> f64 {
    if supply.when.as_ref().is_some_and(|when| !holds(when, facility, weather, date)) {
        return 0.0;
    }
    supply.gives_at_most.as_ref().map_or(f64::INFINITY, m3_d)
}

/// Splits a flow among the places of an outflow: how much each gets, in order of the list.
pub fn split(outflow: &Outflow, flow_m3: f64, days: f64) -> Vec<f64> {
    match outflow {
        Outflow::InOrder(steps) => {
            let mut left = flow_m3;
            let last = steps.len().saturating_sub(1);
            steps
                .iter()
                .enumerate()
                .map(|(i, step)| {
                    let limit = match &step.at_most {
                        Some(limit) if i < last => m3_d(limit) * days,
                        _ => f64::INFINITY,
                    };
                    let part = left.min(limit);
                    left -= part;
                    part
                })
                .collect()
        }
        Outflow::Shares { shares, rest } => {
            let mut parts: Vec<f64> = shares
                .iter()
                .enumerate()
                .map(|(i, one)| {
                    let part = one.share.as_ref().map_or(0.0, share) * flow_m3;
                    match &one.at_most {
                        Some(limit) if i != *rest => part.min(m3_d(limit) * days),
                        _ => part,
                    }
                })
                .collect();
            let others: f64 = parts.iter().enumerate().filter(|(i, _)| i != rest).map(|(_, part)| part).sum();
            if let Some(part) = parts.get_mut(*rest) {
                *part = (flow_m3 - others).max(0.0);
            }
            parts
        }
    }
}

/// A way out to one place.
pub fn to_one(to: PlaceId) -> Outflow {
    let place = Place::file("facility.yaml");
    Outflow::InOrder(vec![Step { to, place, at_most: None }])
}

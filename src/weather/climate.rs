//! Evaporation from open water and temperature of the water, day by day.

use chrono::{Datelike, Duration, NaiveDate, NaiveTime};
use uom::si::f64::{HeatFluxDensity, Length, Ratio, ThermodynamicTemperature, Velocity};
use uom::si::heat_flux_density::watt_per_square_meter;
use uom::si::length::meter;
use uom::si::ratio::ratio;
use uom::si::thermodynamic_temperature::{degree_celsius, kelvin};
use uom::si::velocity::meter_per_second;

use crate::facility::model::{Evaporation, Facility, StationEquation, WaterTemperature};
use crate::files::{Given, Sources};
use crate::quantity::{Cell, Expected, kind};
use crate::science::hydrology::{
    DayWeather, Humidity, PenmanWind, hargreaves, open_water_from_reference, pan_evaporation, penman_monteith_daily,
    penman_open_water,
};
use crate::told::{Place, Problem, Problems};
use crate::weather::series::{Dated, Wanted, series};
use crate::weather::{Repair, SourceSummary, Stretch, gaps, spread};

/// What a daily series gives: a value for each day, where known, and how it came about.
pub(crate) struct Daily {
    pub values: Vec<Option<f64>>,
    pub method: Option<String>,
    pub sources: Vec<SourceSummary>,
    pub repairs: Vec<Repair>,
}

impl Daily {
    fn unknown(days: usize) -> Self {
        Self { values: vec![None; days], method: None, sources: Vec::new(), repairs: Vec::new() }
    }
}

/// Depth evaporated from open water each day, m.
pub(crate) fn evaporation(
    facility: &Facility,
    (first, days): (NaiveDate, usize),
    sources: &mut Sources,
    problems: &Problems,
) -> Daily {
    let mut out = Daily::unknown(days);
    match &facility.weather.evaporation {
        None => {}
        Some(Evaporation::Months(months)) => {
            out.method = Some("the table of months in the facility's file".into());
            out.values = dates(first, days)
                .map(|date| {
                    middle_rate(&months.on(date).on(date)).map(|rate| rate.get::<meter_per_second>() * 86_400.0)
                })
                .collect();
        }
        Some(Evaporation::Pan { file, place, times }) => {
            let Some(coefficient) = middle_ratio(times) else {
                return out;
            };
            if let Some(pan) = pan(file, place, sources, problems) {
                out.method = Some(format!("a pan, times {}", times.text));
                out.sources.extend(summary("evaporation pan", &pan));
                let stretches = pan_stretches(&pan, facility.day_starts);
                out.values = spread(&stretches, first, days, facility.day())
                    .into_iter()
                    .map(|day| {
                        day.middle
                            .map(|depth| pan_evaporation(Length::new::<meter>(depth), coefficient).value.get::<meter>())
                    })
                    .collect();
            }
        }
        Some(Evaporation::FromStation { file, place, by, times }) => {
            if let Some(daily) = station(facility, (file, place), *by, times, (first, days), sources, problems) {
                return daily;
            }
        }
        Some(Evaporation::FromTemperatures { place, times }) => {
            let Some(coefficient) = middle_ratio(times) else {
                return out;
            };
            let Some(latitude) =
                facility.latitude.as_ref().and_then(|given| given.ends()).map(|ends| (ends.0 + ends.1) * 0.5)
            else {
                problems.add(
                    Problem::error(place, "evaporation from temperatures needs the latitude")
                        .hint("write it at the top of the file, like latitude: 44.6 N"),
                );
                return out;
            };
            let Some((file, file_place)) = &facility.weather.temperatures else {
                problems.add(
                    Problem::error(place, "evaporation from temperatures needs a file of daily temperatures")
                        .hint("write it beside, like temperatures: {file: temperatures.csv}"),
                );
                return out;
            };
            let Some((lows, highs)) = temperatures(file, file_place, sources, problems) else {
                return out;
            };
            out.method = Some(format!("daily temperatures by Hargreaves and Samani, times {}", times.text));
            out.sources.extend(summary("air temperature, low", &lows));
            out.sources.extend(summary("air temperature, high", &highs));
            let mut outside = 0_usize;
            out.values = dates(first, days)
                .map(|date| {
                    let low = value_on(&lows, date)?;
                    let high = value_on(&highs, date)?;
                    let reference = hargreaves(
                        ThermodynamicTemperature::new::<kelvin>(high),
                        ThermodynamicTemperature::new::<kelvin>(low),
                        latitude,
                        date.ordinal(),
                    );
                    if !reference.within {
                        outside += 1;
                    }
                    let depth = open_water_from_reference(reference.value, coefficient).value.get::<meter>();
                    // A day below the method's range loses nothing worth counting.
                    depth.is_finite().then(|| depth.max(0.0))
                })
                .collect();
            if outside > 0 {
                out.repairs.push(Repair {
                    place: file_place.clone(),
                    sentence: format!(
                        "on {outside} of {days} days the temperatures are outside the range in which the method was tried; \
                         its value is used, never below zero"
                    ),
                });
            }
        }
    }
    out
}

/// Evaporation by a weather station's temperatures, humidity, wind at 2 m and radiation.
fn station(
    facility: &Facility,
    (file, place): (&str, &Place),
    by: StationEquation,
    times: &Given<Ratio>,
    (first, days): (NaiveDate, usize),
    sources: &mut Sources,
    problems: &Problems,
) -> Option<Daily> {
    let mut out = Daily::unknown(days);
    let coefficient = middle_ratio(times)?;
    let latitude = facility.latitude.as_ref().and_then(Given::ends);
    let elevation = facility.elevation.as_ref().and_then(Given::ends);
    let (Some(latitude), Some(elevation)) = (latitude, elevation) else {
        problems.add(
            Problem::error(place, "evaporation from a weather station needs the latitude and the elevation")
                .hint("write them at the top of the file, like latitude: 44.6 N and elevation: 310 ft"),
        );
        return None;
    };
    let latitude = (latitude.0 + latitude.1) * 0.5;
    let elevation = (elevation.0 + elevation.1) * 0.5;
    let wanted = |name, words, expected| Wanted { name, words, not: &[], expected };
    let temperature = Expected::of::<kind::Temperature>;
    let table = series(
        file,
        place,
        &[
            wanted("day's least temperature", &["low", "min", "minimum", "lowest", "tmin"][..], temperature()),
            wanted("day's greatest temperature", &["high", "max", "maximum", "highest", "tmax"][..], temperature()),
            wanted("mean relative humidity", &["humidity", "rh"][..], Expected::of::<kind::Share>()),
            wanted("mean wind at 2 m", &["wind"][..], Expected::of::<kind::Speed>()),
            wanted("radiation of the sun", &["radiation", "solar", "sun"][..], Expected::of::<kind::Radiation>()),
        ],
        sources,
        problems,
    )?;
    let mut columns = table.columns.into_iter();
    let air = |t: f64| (-60.0..=60.0).contains(&(t - 273.15));
    let lows = checked(columns.next()?, problems, air, "a temperature of the air");
    let highs = checked(columns.next()?, problems, air, "a temperature of the air");
    let share = |h: f64| (0.0..=1.0).contains(&h);
    let humid = checked(columns.next()?, problems, share, "a relative humidity");
    let winds = checked(columns.next()?, problems, |w| (0.0..=60.0).contains(&w), "a wind");
    let suns = checked(columns.next()?, problems, |r| (0.0..=600.0).contains(&r), "a day's mean radiation");
    let (words, method) = match by {
        StationEquation::PenmanOpenWater => ("Penman's equation for open water (1956)", false),
        StationEquation::PenmanMonteith => ("Penman and Monteith's reference", true),
    };
    out.method = Some(format!("a weather station by {words}, times {}", times.text));
    for (name, read) in [
        ("air temperature, low", &lows),
        ("air temperature, high", &highs),
        ("humidity", &humid),
        ("wind", &winds),
        ("radiation", &suns),
    ] {
        out.sources.extend(summary(name, read));
    }
    out.values = dates(first, days)
        .map(|date| {
            let weather = DayWeather {
                highest: ThermodynamicTemperature::new::<kelvin>(value_on(&highs, date)?),
                lowest: ThermodynamicTemperature::new::<kelvin>(value_on(&lows, date)?),
                humidity: Humidity::Mean(Ratio::new::<ratio>(value_on(&humid, date)?)),
                wind_2m: Velocity::new::<meter_per_second>(value_on(&winds, date)?),
                solar: HeatFluxDensity::new::<watt_per_square_meter>(value_on(&suns, date)?),
                elevation,
                latitude,
                day_of_year: date.ordinal(),
            };
            let depth = if method {
                let reference = penman_monteith_daily(&weather).value;
                open_water_from_reference(reference, coefficient).value
            } else {
                penman_open_water(&weather, PenmanWind::Of1956).value * coefficient
            };
            let depth = depth.get::<meter>();
            depth.is_finite().then(|| depth.max(0.0))
        })
        .collect();
    Some(out)
}

/// Temperature of the water each day, °C.
pub(crate) fn water_temperature(
    facility: &Facility,
    (first, days): (NaiveDate, usize),
    sources: &mut Sources,
    problems: &Problems,
) -> Daily {
    let mut out = Daily::unknown(days);
    match &facility.weather.water_temperature {
        None => {}
        Some(WaterTemperature::Months(months)) => {
            out.values = dates(first, days).map(|date| middle_celsius(months.on(date))).collect();
        }
        Some(WaterTemperature::File(file, place)) => {
            let wanted = [Wanted {
                name: "temperature of the water",
                words: &["temperature", "temp", "water"],
                not: &["air", "level"],
                expected: Expected::of::<kind::Temperature>(),
            }];
            if let Some(table) = series(file, place, &wanted, sources, problems) {
                let read = table.columns.into_iter().next().unwrap_or_default();
                let read =
                    checked(read, problems, |t| (-2.0..=45.0).contains(&(t - 273.15)), "the temperature of this water");
                out.sources.extend(summary("water temperature", &read));
                out.values = dates(first, days).map(|date| value_on(&read, date).map(|t| t - 273.15)).collect();
            }
        }
    }
    out
}

fn dates(first: NaiveDate, days: usize) -> impl Iterator<Item = NaiveDate> {
    (0..days).map(move |day| first + Duration::days(i64::try_from(day).unwrap_or(0)))
}

fn middle_ratio(given: &Given<Ratio>) -> Option<Ratio> {
    given.ends().map(|(low, high)| (low + high) * 0.5)
}

fn middle_rate(given: &Given<Velocity>) -> Option<Velocity> {
    given.ends().map(|(low, high)| (low + high) * 0.5)
}

fn middle_celsius(given: &Given<ThermodynamicTemperature>) -> Option<f64> {
    given.ends().map(|(low, high)| (low.get::<degree_celsius>() + high.get::<degree_celsius>()) * 0.5)
}

fn value_on(read: &[Dated], date: NaiveDate) -> Option<f64> {
    let from = read.partition_point(|dated| dated.stamp.date < date);
    let of_day: Vec<f64> =
        read.get(from..)?.iter().take_while(|dated| dated.stamp.date == date).filter_map(Dated::si).collect();
    (!of_day.is_empty()).then(|| of_day.iter().sum::<f64>() / of_day.len() as f64)
}

fn checked(read: Vec<Dated>, problems: &Problems, likely: impl Fn(f64) -> bool, what: &str) -> Vec<Dated> {
    read.into_iter()
        .filter(|dated| match (&dated.cell, dated.si()) {
            (_, Some(value)) if !likely(value) => {
                problems.add(
                    Problem::error(&dated.place, format!("this is hardly {what}"))
                        .hint("look at the value and at the unit in the heading"),
                );
                false
            }
            (_, Some(_)) => true,
            (Cell::Blank | Cell::Missing(_), None) => false,
            (_, None) => {
                problems.add(
                    Problem::error(&dated.place, "a number is due here")
                        .hint("leave the cell blank where nothing was read"),
                );
                false
            }
        })
        .collect()
}

fn temperatures(
    file: &str,
    place: &Place,
    sources: &mut Sources,
    problems: &Problems,
) -> Option<(Vec<Dated>, Vec<Dated>)> {
    let wanted = [
        Wanted {
            name: "day's least temperature",
            words: &["low", "min", "minimum", "least", "lowest", "tmin"],
            not: &[],
            expected: Expected::of::<kind::Temperature>(),
        },
        Wanted {
            name: "day's greatest temperature",
            words: &["high", "max", "maximum", "greatest", "highest", "tmax"],
            not: &[],
            expected: Expected::of::<kind::Temperature>(),
        },
    ];
    let table = series(file, place, &wanted, sources, problems)?;
    let mut columns = table.columns.into_iter();
    let likely = |t: f64| (-60.0..=60.0).contains(&(t - 273.15));
    let lows = checked(columns.next()?, problems, likely, "a temperature of the air");
    let highs = checked(columns.next()?, problems, likely, "a temperature of the air");
    for high in &highs {
        let low = value_on(&lows, high.stamp.date);
        if low.zip(high.si()).is_some_and(|(low, high)| low > high) {
            problems.add(
                Problem::error(&high.place, "the day's greatest temperature is below its least")
                    .hint("the two columns may be swapped"),
            );
        }
    }
    Some((lows, highs))
}

fn pan(file: &str, place: &Place, sources: &mut Sources, problems: &Problems) -> Option<Vec<Dated>> {
    let wanted = [Wanted {
        name: "depth evaporated from the pan",
        words: &["pan", "evaporation", "evap", "depth"],
        not: &["rain", "snow"],
        expected: Expected::of::<kind::RainDepth>(),
    }];
    let table = series(file, place, &wanted, sources, problems)?;
    let read = table.columns.into_iter().next()?;
    Some(checked(read, problems, |depth| (0.0..0.1).contains(&depth), "a depth evaporated in a day"))
}

/// A pan read on a date covers the days since its last reading, up to a week; else one day.
fn pan_stretches(pan: &[Dated], day_starts: NaiveTime) -> Vec<Stretch> {
    let mut stretches: Vec<Stretch> = Vec::new();
    for dated in pan {
        let to = dated.stamp.date.and_time(day_starts);
        let from = match stretches.last() {
            Some(last) if last.to >= to => continue,
            Some(last) if to - last.to <= Duration::days(7) => last.to,
            _ => to - Duration::days(1),
        };
        stretches.push(Stretch { from, to, amount: dated.si().unwrap_or(0.0) });
    }
    stretches
}

fn summary(name: &str, read: &[Dated]) -> Option<SourceSummary> {
    let dates: Vec<NaiveDate> = read.iter().map(|dated| dated.stamp.date).collect();
    Some(SourceSummary {
        name: name.into(),
        first: *dates.iter().min()?,
        last: *dates.iter().max()?,
        count: read.len(),
        gaps: gaps(&dates),
        repairs: 0,
    })
}

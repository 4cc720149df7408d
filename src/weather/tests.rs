//! Tests of the weather on small invented files. The facility of the records' tests is below this room, so a bare one
//! is made here.

use std::path::PathBuf;
use std::sync::Arc;

use approx::assert_relative_eq;
use chrono::{NaiveDate, NaiveTime};
use uom::si::angle::degree;
use uom::si::f64::{Angle, Ratio};
use uom::si::ratio::ratio;

use crate::facility::model::{
    Evaporation, Facility, Paper, RainFile, ReadingBelongs, StationEquation, StepsPerDay, UnitSystem, Weather,
};
use crate::files::{Given, Sources};
use crate::quantity::stamp;
use crate::quantity::{DateOrder, Range, Stated};
use crate::told::{Place, Problems};
use crate::weather::{DailyWeather, LoggedRain, read};

fn place() -> Place {
    Place::line(&Arc::from("facility.yaml"), 5)
}

fn date(text: &str) -> NaiveDate {
    NaiveDate::parse_from_str(text, "%Y-%m-%d").unwrap()
}

fn given<Q: Copy>(value: Q, text: &str) -> Given<Q> {
    Given { stated: Stated::Known(Range::exactly(value)), text: text.into(), place: place(), key: String::new() }
}

fn facility(day_starts: u32, read_at: u32, belongs: ReadingBelongs, several: bool) -> Facility {
    let hour = |hour| NaiveTime::from_hms_opt(hour, 0, 0).unwrap();
    Facility {
        name: "Test nursery".into(),
        place: place(),
        directory: PathBuf::new(),
        system: UnitSystem::Us,
        paper: Paper::Letter,
        rules: None,
        records: None,
        day_starts: hour(day_starts),
        day_bears_its_end: false,
        period: None,
        steps_per_day: StepsPerDay::AsNeeded,
        seasons: Vec::new(),
        elevation: None,
        latitude: None,
        weather: Weather {
            rain: Some(RainFile {
                file: "rain.csv".into(),
                place: place(),
                read_at: hour(read_at),
                belongs,
                may_cover_several_days: several,
            }),
            temperatures: None,
            evaporation: None,
            water_temperature: None,
        },
        solids: Vec::new(),
        dissolved: Vec::new(),
        meters: Vec::new(),
        places: Vec::new(),
        hold_sample_for: None,
        picture: Vec::new(),
    }
}

fn usual() -> Facility {
    facility(7, 7, ReadingBelongs::DayThatEnded, true)
}

fn weather(
    facility: &Facility,
    files: &[(&str, &str)],
    first: &str,
    last: &str,
    logged: &[LoggedRain],
) -> (DailyWeather, Problems) {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in files {
        std::fs::write(folder.path().join(name), text).unwrap();
    }
    let problems = Problems::new();
    let mut sources = Sources::new(folder.path());
    let weather = read(facility, (date(first), date(last)), logged, &mut sources, &problems);
    (weather, problems)
}

fn rain(facility: &Facility, text: &str, first: &str, last: &str) -> DailyWeather {
    let (weather, problems) = weather(facility, &[("rain.csv", text)], first, last, &[]);
    assert!(!problems.has_errors(), "{:#?}", problems.in_order());
    weather
}

/// 1.4 in × 25.4 = 35.56 mm, read at 7 am on the 13th: the day of the 12th.
#[test]
fn a_reading_at_the_day_s_start_belongs_to_the_day_that_ended() {
    let weather =
        rain(&usual(), "date,rain (in)\n2025-08-12,0\n2025-08-13,1.4\n2025-08-14,1.5\n", "2025-08-11", "2025-08-14");
    let depths: Vec<Option<f64>> = weather.rain.iter().map(|day| day.depth_mm).collect();
    assert_eq!(depths[0], Some(0.0));
    assert_relative_eq!(depths[1].unwrap(), 35.56, max_relative = 1e-12);
    assert_relative_eq!(depths[2].unwrap(), 38.1, max_relative = 1e-12);
    assert_eq!(depths[3], None);
    assert!(weather.rain[1].measured && weather.rain[1].low_mm == weather.rain[1].high_mm);
    assert_eq!(weather.rain[3].high_mm, f64::INFINITY);
}

/// 20 mm read on the 10th is the rain of the 9th: the day before the period says whether the yard is watered on its first.
#[test]
fn rain_of_the_days_before_the_period_is_kept() {
    let weather = rain(
        &usual(),
        "date,rain (mm)\n2025-08-09,0\n2025-08-10,20\n2025-08-11,0\n2025-08-12,3\n",
        "2025-08-10",
        "2025-08-11",
    );
    assert_eq!(weather.rain.len(), 2);
    assert_eq!(weather.depth_mm_on(date("2025-08-08")), Some(0.0));
    assert_eq!(weather.depth_mm_on(date("2025-08-09")), Some(20.0));
    assert_eq!(weather.depth_mm_on(date("2025-08-11")), Some(3.0));
    assert_eq!(weather.depth_mm_on(date("2025-08-01")), None);
}

#[test]
fn a_gauge_emptied_after_a_weekend_is_one_total_over_three_days() {
    let weather = rain(&usual(), "date,rain (mm)\n2025-08-08,0\n2025-08-11,30\n", "2025-08-08", "2025-08-10");
    for day in &weather.rain {
        assert_eq!((day.depth_mm, day.low_mm, day.high_mm, day.measured), (Some(10.0), 0.0, 30.0, false));
    }
    assert_eq!(weather.readings.len(), 2);
}

#[test]
fn where_a_reading_may_not_cover_several_days_the_hole_is_a_gap() {
    let facility = facility(7, 7, ReadingBelongs::DayThatEnded, false);
    let weather = rain(&facility, "date,rain (mm)\n2025-08-08,0\n2025-08-11,30\n", "2025-08-08", "2025-08-10");
    let depths: Vec<Option<f64>> = weather.rain.iter().map(|day| day.depth_mm).collect();
    assert_eq!(depths, [None, None, Some(30.0)]);
}

#[test]
fn a_blank_cell_is_not_a_dry_day() {
    let weather =
        rain(&usual(), "date,rain (mm)\n2025-08-08,0\n2025-08-09,\n2025-08-10,8\n", "2025-08-08", "2025-08-09");
    assert!(weather.rain.iter().all(|day| !day.measured && day.high_mm == 8.0 && day.depth_mm == Some(4.0)));
}

/// The gauge is read at 9 am and the permit's day starts at midnight: 15/24 of one reading and 9/24 of the next, and
/// anything from 0 to both. 15/24 × 24 + 9/24 × 48 = 15 + 18 = 33 mm.
#[test]
fn a_gauge_day_that_is_not_the_permit_s_day_leaves_bounds() {
    let facility = facility(0, 9, ReadingBelongs::DayThatEnded, true);
    let weather =
        rain(&facility, "date,rain (mm)\n2025-08-11,0\n2025-08-12,48\n2025-08-13,24\n", "2025-08-12", "2025-08-12");
    let day = weather.rain[0];
    // 9 h of the reading of the 12th (48 mm): 18 mm; 15 h of that of the 13th (24 mm): 15 mm.
    assert_eq!((day.depth_mm, day.low_mm, day.high_mm, day.measured), (Some(33.0), 0.0, 72.0, false));
}

#[test]
fn an_hourly_logger_measures_each_day_and_its_hole_is_a_gap() {
    let mut text = String::from("date,rain (mm)\n");
    for hour in 1..=48 {
        if hour == 30 {
            continue;
        }
        let day = 11 + (7 + hour) / 24;
        text.push_str(&format!("2025-08-{day} {:02}:00,1\n", (7 + hour) % 24));
    }
    let weather = rain(&usual(), &text, "2025-08-11", "2025-08-12");
    assert_relative_eq!(weather.rain[0].depth_mm.unwrap(), 24.0);
    assert!(weather.rain[0].measured);
    assert_eq!(weather.rain[1].depth_mm, None);
    assert_eq!(weather.rain[1].low_mm, 23.0);
}

#[test]
fn days_on_which_the_gauge_was_out_are_not_known_and_the_next_reading_is_of_its_own_day() {
    for word in ["out", "not known", "M", "broken"] {
        let text = format!("date,rain (mm)\n2025-08-12,0\n2025-08-15,{word}\n2025-08-16,5\n");
        let weather = rain(&usual(), &text, "2025-08-11", "2025-08-15");
        let depths: Vec<_> = weather.rain.iter().map(|day| day.depth_mm).collect();
        assert_eq!(depths, [Some(0.0), None, None, None, Some(5.0)], "{word}");
        assert!(weather.repairs.iter().any(|repair| repair.sentence.contains("the gauge was out")), "{word}");
    }
}

#[test]
fn a_gauge_that_was_out_for_a_part_of_its_day_does_not_measure_that_day() {
    let text = "date,rain (mm)\n2025-08-12,0\n2025-08-12 12:00,out\n2025-08-13,5\n";
    let weather = rain(&usual(), text, "2025-08-11", "2025-08-12");
    assert_eq!(weather.rain[0].depth_mm, Some(0.0));
    assert!(!weather.rain[1].measured && weather.rain[1].high_mm > 5.0, "{:?}", weather.rain[1]);
}

#[test]
fn a_trace_is_rain_too_little_to_measure() {
    let weather = rain(&usual(), "date,rain (in)\n2025-08-12,T\n", "2025-08-11", "2025-08-11");
    let day = weather.rain[0];
    assert_eq!((day.depth_mm, day.low_mm, day.high_mm), (Some(0.0), 0.0, 0.127));
    assert!(weather.readings[0].trace);
}

/// 25 mm typed as 25 in is 635 mm.
#[test]
fn twenty_five_inches_in_a_day_are_asked_about_and_a_unit_is_never_guessed() {
    let (_, problems) =
        weather(&usual(), &[("rain.csv", "date,rain (in)\n2025-08-12,25\n")], "2025-08-11", "2025-08-11", &[]);
    let told = problems.in_order();
    assert!(told[0].message.starts_with("635 mm (25.0 in)"), "{told:?}");
    let (_, problems) =
        weather(&usual(), &[("rain.csv", "date,rain\n2025-08-12,25\n2025-08-13,1\n")], "2025-08-11", "2025-08-11", &[]);
    let told = problems.in_order();
    assert_eq!(told.len(), 1);
    assert!(told[0].message.contains("has no unit"));
}

#[test]
fn snow_is_left_out_and_that_is_told() {
    let weather = rain(&usual(), "date,rain (mm),snowfall (cm)\n2025-01-12,3,12\n", "2025-01-11", "2025-01-11");
    assert_eq!(weather.rain[0].depth_mm, Some(3.0));
    assert!(weather.repairs[0].sentence.contains("`snowfall (cm)` is left out"));
}

#[test]
fn rain_among_the_records_joins_the_gauge_s_file_and_two_values_are_told() {
    let entry = |text: &str, depth_mm| LoggedRain {
        stamp: stamp(text, DateOrder::YearFirst, None).unwrap(),
        depth_mm,
        trace: false,
        out: false,
        total: false,
        place: Place::line(&Arc::from("records/a.csv"), 9),
    };
    let file = [("rain.csv", "date,rain (mm)\n2025-08-12,5\n2025-08-13,6\n")];
    let logged = [entry("2025-08-13 07:00", 6.0), entry("2025-08-14", 7.0)];
    let (joined, problems) = weather(&usual(), &file, "2025-08-11", "2025-08-13", &logged);
    assert!(problems.is_empty());
    let depths: Vec<Option<f64>> = joined.rain.iter().map(|day| day.depth_mm).collect();
    assert_eq!(depths, [Some(5.0), Some(6.0), Some(7.0)]);
    let (_, problems) = weather(&usual(), &file, "2025-08-11", "2025-08-13", &[entry("2025-08-13", 8.0)]);
    assert!(problems.in_order()[0].message.contains("6.00 mm and 8.00 mm"));
}

/// A pan of 6 mm times 0.7 loses 4.2 mm from the pond, not 6.
#[test]
fn pan_evaporation_is_not_taken_for_the_pond_s() {
    let mut facility = usual();
    facility.weather.rain = None;
    facility.weather.evaporation = Some(Evaporation::Pan {
        file: "pan.csv".into(),
        place: place(),
        times: given(Ratio::new::<ratio>(0.7), "0.70"),
    });
    let file = [("pan.csv", "date,pan (mm)\n2025-07-02,6\n2025-07-04,8\n")];
    let (weather, problems) = weather(&facility, &file, "2025-07-01", "2025-07-04", &[]);
    assert!(problems.is_empty(), "{:?}", problems.in_order());
    let depths: Vec<Option<f64>> = weather.evaporation_m.clone();
    assert_relative_eq!(depths[0].unwrap(), 0.0042, max_relative = 1e-12);
    assert_relative_eq!(depths[1].unwrap(), 0.0028, max_relative = 1e-12);
    assert_relative_eq!(depths[2].unwrap(), 0.0028, max_relative = 1e-12);
    assert_eq!(depths[3], None);
    assert_eq!(weather.evaporation_method.as_deref(), Some("a pan, times 0.70"));
}

/// FAO Irrigation and Drainage Paper 56, example 20 (from memory, not checked against the text): latitude 45.72 N,
/// July (day 196), 26.6 and 14.8 °C give 5.0 mm/day by Hargreaves.
#[test]
fn evaporation_from_temperatures_follows_the_published_example() {
    let mut facility = usual();
    facility.weather.rain = None;
    facility.latitude = Some(given(Angle::new::<degree>(45.72), "45.72 N"));
    facility.weather.temperatures = Some(("temperatures.csv".into(), place()));
    facility.weather.evaporation =
        Some(Evaporation::FromTemperatures { place: place(), times: given(Ratio::new::<ratio>(1.0), "1") });
    let file = [("temperatures.csv", "date,low (C),high (C)\n2025-07-15,14.8,26.6\n")];
    let (weather, problems) = weather(&facility, &file, "2025-07-15", "2025-07-16", &[]);
    assert!(problems.is_empty(), "{:?}", problems.in_order());
    assert!((weather.evaporation_m[0].unwrap() * 1000.0 - 5.0).abs() < 0.05);
    assert_eq!(weather.evaporation_m[1], None);
}

#[test]
fn swapped_temperature_columns_are_told() {
    let mut facility = usual();
    facility.weather.rain = None;
    facility.latitude = Some(given(Angle::new::<degree>(45.72), "45.72 N"));
    facility.weather.temperatures = Some(("t.csv".into(), place()));
    facility.weather.evaporation =
        Some(Evaporation::FromTemperatures { place: place(), times: given(Ratio::new::<ratio>(1.0), "1") });
    let (_, problems) =
        weather(&facility, &[("t.csv", "date,low (F),high (F)\n2025-07-15,80,58\n")], "2025-07-15", "2025-07-15", &[]);
    assert!(problems.in_order()[0].message.contains("below its least"));
}

/// FAO Irrigation and Drainage Paper 56, example 18 (from memory, not checked against the text): 50.80 N, 100 m, 6 July,
/// 21.5 and 12.3 °C, wind 2.078 m/s at 2 m, 22.07 MJ/m²/day; humidity there from its ends, here from their mean, 73.5 %,
/// so 3.787 mm for the 3.9 there. Open water by Penman (1956): 5.184 mm. Both worked with an independent script.
#[test]
fn evaporation_from_a_weather_station_follows_the_equation_that_is_named() {
    let of = |by, header: &str, row: &str| {
        let mut facility = usual();
        facility.weather.rain = None;
        facility.latitude = Some(given(Angle::new::<degree>(50.8), "50.80 N"));
        facility.elevation = Some(given(uom::si::f64::Length::new::<uom::si::length::meter>(100.0), "100 m"));
        facility.weather.evaporation = Some(Evaporation::FromStation {
            file: "station.csv".into(),
            place: place(),
            by,
            times: given(Ratio::new::<ratio>(1.0), "1"),
        });
        let text = format!("{header}\n{row}\n");
        let file = [("station.csv", text.as_str())];
        let (weather, problems) = weather(&facility, &file, "2025-07-06", "2025-07-07", &[]);
        assert!(problems.is_empty(), "{:?}", problems.in_order());
        assert_eq!(weather.evaporation_m[1], None);
        assert!(weather.evaporation_method.unwrap().contains("weather station"));
        weather.evaporation_m[0].unwrap() * 1000.0
    };
    let header = "date,low (C),high (C),humidity (%),wind (m/s),radiation (MJ/m2/day)";
    let row = "2025-07-06,12.3,21.5,73.5,2.078,22.07";
    let reference = of(StationEquation::PenmanMonteith, header, row);
    assert!((reference - 3.787).abs() < 0.02, "{reference}");
    let open = of(StationEquation::PenmanOpenWater, header, row);
    assert!((open - 5.184).abs() < 0.03, "{open}");
    let header = "date,low (F),high (F),humidity (%),wind (ft/s),radiation (W/m2)";
    let row = "2025-07-06,54.14,70.7,73.5,6.8176,255.44";
    let same = of(StationEquation::PenmanOpenWater, header, row);
    assert!((open - same).abs() < 0.001, "{same}");
}

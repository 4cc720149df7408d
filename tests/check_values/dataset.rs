//! Rows on the open weather file: they show that the copy here is the file that was described, and run the daily
//! methods over whole years of it.

use super::row::Row;
use bywash::science::hydrology::{CurveNumber, hargreaves, runoff_depth};
use uom::si::angle::degree;
use uom::si::f64::{Angle, Length, Ratio, ThermodynamicTemperature};
use uom::si::length::millimeter;
use uom::si::ratio::ratio;
use uom::si::thermodynamic_temperature::degree_celsius;

pub struct Day {
    pub date: String,
    pub rain_mm: f64,
    pub highest_c: f64,
    pub lowest_c: f64,
}

pub fn days(file: &str) -> Vec<Day> {
    let path = format!("{}/tests/data/{file}", env!("CARGO_MANIFEST_DIR"));
    let mut reader = csv::Reader::from_path(path).expect("the weather file is there");
    reader
        .records()
        .map(|record| {
            let record = record.expect("a day");
            let number = |column: usize| record[column].parse().expect("a number");
            Day { date: record[0].to_owned(), rain_mm: number(1), highest_c: number(2), lowest_c: number(3) }
        })
        .collect()
}

fn column(row: &Row, day: &Day) -> f64 {
    match row.text("col").split_whitespace().next() {
        Some("precipitation") => day.rain_mm,
        Some("temp_max") => day.highest_c,
        Some("temp_min") => day.lowest_c,
        other => panic!("{}: column {other:?}", row.id),
    }
}

pub fn value(row: &Row) -> Option<f64> {
    if !row.quantity.starts_with("dataset_") {
        return None;
    }
    let mut days = days(row.text("file"));
    if row.has("year") {
        days.retain(|day| day.date.starts_with(row.text("year")));
    }
    let column = |day: &Day| column(row, day);
    Some(match row.quantity.as_str() {
        "dataset_row_count" => days.len() as f64,
        "dataset_sum" => days.iter().map(column).sum(),
        "dataset_max" => days.iter().map(column).fold(f64::MIN, f64::max),
        "dataset_min" => days.iter().map(column).fold(f64::MAX, f64::min),
        "dataset_count_gt" => days.iter().filter(|day| column(day) > row.number("gt")).count() as f64,
        "dataset_hargreaves_sum" => {
            let celsius = ThermodynamicTemperature::new::<degree_celsius>;
            let latitude = Angle::new::<degree>(row.number("lat"));
            (1u32..)
                .zip(&days)
                .map(|(day_of_year, day)| {
                    hargreaves(celsius(day.highest_c), celsius(day.lowest_c), latitude, day_of_year)
                        .value
                        .get::<millimeter>()
                })
                .sum()
        }
        "dataset_cn_runoff_sum" => {
            let cn = CurveNumber::new(row.number("CN")).expect("a curve number");
            days.iter()
                .map(|day| {
                    let rain = Length::new::<millimeter>(day.rain_mm);
                    runoff_depth(rain, cn, Ratio::new::<ratio>(0.2)).value.get::<millimeter>()
                })
                .sum()
        }
        _ => return None,
    })
}

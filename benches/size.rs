//! How fast a pond is sized: 50 candidates over 30 years, and the whole search over 30 years.
//!
//! Aims on two cores: the first under 2 s, the second under 5 s.

#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a measurement whose input does not read may stop"
)]

use std::path::Path;

use bywash::balance::{Candidates, Node, Purpose, Seen, Selector};
use bywash::diagnostic::Problems;
use bywash::facility::model::Facility;
use bywash::files::{Sources, yaml};
use bywash::sizing::{self, Basin, Demands, Duties, Needs, Site, Version};
use bywash::weather::{self, DailyWeather};
use chrono::{Days, NaiveDate};

const YEARS: u64 = 30;

struct Read {
    facility: Facility,
    duties: Duties,
    weather: DailyWeather,
    period: (NaiveDate, NaiveDate),
}

/// The demonstration with its one year of weather repeated, scaled up and down a little from year to year.
fn demonstration() -> Read {
    let folder = Path::new("demo-facility");
    let mut problems = Problems::new();
    let mut sources = Sources::new(folder);
    let facility = bywash::facility::read(folder, &mut sources, &mut problems)
        .expect("the demonstration is read");
    let (first, _) = weather::extent(&facility, &[], &mut sources, &problems).expect("it has rain");
    let year = weather::read(
        &facility,
        (first, first + Days::new(364)),
        &[],
        &mut sources,
        &problems,
    );
    let mut weather = year.clone();
    for again in 1..YEARS {
        let times = 0.7 + 0.6 * (again % 7) as f64 / 6.0;
        weather.rain.extend(year.rain.iter().map(|day| {
            let mut day = *day;
            day.depth_mm = day.depth_mm.map(|mm| mm * times);
            day
        }));
        weather.evaporation_m.extend_from_slice(&year.evaporation_m);
        weather
            .water_temperature_c
            .extend_from_slice(&year.water_temperature_c);
    }
    let source = sources
        .text("basin.yaml", None, &problems)
        .expect("it has duties");
    let tree = yaml::tree(&source, &problems).expect("they are YAML");
    let duties = sizing::read(&tree, &problems).expect("they are read");
    let period = (first, first + Days::new(365 * YEARS - 1));
    Read {
        facility,
        duties,
        weather,
        period,
    }
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn fifty_ponds_over_thirty_years(bencher: divan::Bencher) {
    let read = demonstration();
    let pond = read.facility.find("Storage pond").expect("it is there");
    let demands = Demands {
        duties: read.duties.clone(),
        needs: Needs::default(),
        pool_m: 0.5,
        cells: 1,
    };
    let versions: Vec<Facility> = (0..50)
        .map(|k| {
            let basin = Basin {
                length_m: 60.0 + f64::from(k),
                width_m: 45.0,
                depth_m: 2.5,
                slope: 3.0,
                freeboard_m: 0.6,
                bank_m: 0.0,
            };
            sizing::with_basin(&read.facility, pond, &demands, &Version::of(basin))
        })
        .collect();
    let records = sizing::records(&read.facility, read.period);
    let candidates =
        Candidates::new(&versions[0], &read.weather, &records, read.period).expect("it runs");
    let seen = [Seen::Water(
        Selector::from(Node::Place(pond)).purpose(Purpose::Spill),
    )];
    bencher.bench(|| candidates.run(&versions, &seen, &[]).expect("they run"));
}

#[divan::bench(sample_count = 2, sample_size = 1)]
fn the_whole_search_over_thirty_years(bencher: divan::Bencher) {
    let read = demonstration();
    let pond = read.facility.find("Storage pond").expect("it is there");
    let site = Site {
        facility: &read.facility,
        pond,
        weather: &read.weather,
        period: read.period,
    };
    bencher.bench(|| sizing::study(site, read.duties.clone(), &|_| {}).expect("it is answered"));
}

fn main() {
    divan::main();
}

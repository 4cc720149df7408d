//! How fast a pond is sized: 50 candidates over 30 years, and the whole search over 30 years.
//!
//! `cargo bench --bench size`. Aims on two idle cores: the first under 2 s, the search for the least under 5 s; the
//! second bench also makes the list of other shapes, the curve and the table of what could be otherwise.

use std::path::Path;

use bywash::balance::{Candidates, Node, Purpose, Seen, Selector};
use bywash::facility::model::Facility;
use bywash::files::{Sources, yaml};
use bywash::sizing::{self, Basin, Demands, Duties, Needs, Site, Terms, Version};
use bywash::told::Problems;
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
fn demonstration() -> Option<Read> {
    let folder = Path::new("demo-facility");
    let mut problems = Problems::new();
    let mut sources = Sources::new(folder);
    let facility = bywash::facility::read(folder, &mut sources, &mut problems)?;
    let (first, _) = weather::extent(&facility, &[], &mut sources, &problems)?;
    let year = weather::read(&facility, (first, first + Days::new(364)), &[], &mut sources, &problems);
    let mut weather = year.clone();
    for again in 1..YEARS {
        let times = 0.7 + 0.6 * (again % 7) as f64 / 6.0;
        weather.rain.extend(year.rain.iter().map(|day| {
            let mut day = *day;
            day.depth_mm = day.depth_mm.map(|mm| mm * times);
            day
        }));
        weather.evaporation_m.extend_from_slice(&year.evaporation_m);
        weather.water_temperature_c.extend_from_slice(&year.water_temperature_c);
    }
    let source = sources.text("basin.yaml", None, &problems)?;
    let tree = yaml::tree(&source, &problems)?;
    let duties = sizing::read(&tree, &problems)?;
    let period = (first, first + Days::new(365 * YEARS - 1));
    Some(Read { facility, duties, weather, period })
}

/// What a bench cannot go on without: told, and nothing measured.
fn told<T>(found: Option<T>, what: &str) -> Option<T> {
    if found.is_none() {
        eprintln!("nothing is measured: {what}");
    }
    found
}

#[divan::bench(sample_count = 3, sample_size = 1)]
fn fifty_ponds_over_thirty_years(bencher: divan::Bencher) {
    let Some(read) = told(demonstration(), "the demonstration can't be read") else {
        return;
    };
    let Some(pond) = told(read.facility.find("Storage pond"), "it has no such pond") else {
        return;
    };
    let demands = Demands {
        duties: read.duties.clone(),
        needs: Needs::default(),
        pool_m: 0.5,
        cells: 1,
        terms: Terms::default(),
        rate_m3_s: None,
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
                lie: None,
            };
            sizing::with_basin(&read.facility, pond, &demands, &Version::of(basin))
        })
        .collect();
    let records = sizing::records(&read.facility, read.period);
    let compiled = versions.first().and_then(|first| Candidates::new(first, &read.weather, &records, read.period).ok());
    let Some(candidates) = told(compiled, "it does not compile") else {
        return;
    };
    let seen = [Seen::Water(Selector::from(Node::Place(pond)).purpose(Purpose::Spill))];
    bencher.bench(|| candidates.run(&versions, &seen, &[]).is_ok());
}

#[divan::bench(sample_count = 2, sample_size = 1)]
fn the_whole_study_over_thirty_years(bencher: divan::Bencher) {
    let Some(read) = told(demonstration(), "the demonstration can't be read") else {
        return;
    };
    let Some(pond) = told(read.facility.find("Storage pond"), "it has no such pond") else {
        return;
    };
    let site = Site { facility: &read.facility, pond, weather: &read.weather, period: read.period };
    bencher.bench(|| sizing::study(site, read.duties.clone(), &|_| {}).is_ok());
}

fn main() {
    divan::main();
}

//! Speed of the balance: place-days a second, and 10,000 seasons.
//!
//! `cargo bench --bench balance`

#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a measurement whose input does not read may stop"
)]

use std::path::Path;

use bywash::balance::{Watch, ensemble, measure};
use bywash::facility::model::{Facility, StepsPerDay};
use bywash::files::Sources;
use bywash::records::Timeline;
use bywash::rules;
use bywash::rules::LimitPlan;
use bywash::told::Problems;
use bywash::weather::{DailyWeather, RainDay};
use chrono::NaiveDate;
use divan::counter::ItemsCount;

fn main() {
    divan::main();
}

fn facility(folder: &str, steps: StepsPerDay) -> Facility {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let mut sources = Sources::new(&path);
    let mut problems = Problems::new();
    let mut facility = bywash::facility::read(&path, &mut sources, &mut problems).expect("it reads");
    facility.steps_per_day = steps;
    facility
}

fn period(days: i64) -> (NaiveDate, NaiveDate) {
    let first = NaiveDate::from_ymd_opt(2024, 11, 1).expect("a date");
    (first, first + chrono::Duration::days(days - 1))
}

fn weather(days: usize) -> DailyWeather {
    let mut weather = DailyWeather::nothing_known(period(1).0, days);
    for (i, day) in weather.rain.iter_mut().enumerate() {
        let mm = match i {
            i if i % 50 == 7 => 60.0,
            i if i % 6 == 0 => 9.0,
            _ => 0.0,
        };
        *day = RainDay { depth_mm: Some(mm), low_mm: mm, high_mm: mm, measured: true };
    }
    weather.evaporation_m.fill(Some(0.003));
    weather.water_temperature_c.fill(Some(14.0));
    weather
}

/// One core; items are place-days (turns of places).
#[divan::bench(args = ["tests/facilities/harrowmead", "tests/facilities/quillmere", "demo-facility"], sample_count = 20)]
fn place_days(bencher: divan::Bencher, folder: &str) {
    let facility = facility(folder, StepsPerDay::Exactly(1));
    let weather = weather(365);
    let seasons = measure(&facility, &weather, &Timeline::default(), period(365))
        .unwrap_or_else(|p| panic!("{:?}", p.in_order()));
    let (_, mut season) = seasons.into_iter().next().expect("a machine has a width");
    let items = season();
    bencher.counter(ItemsCount::new(items)).bench_local(|| divan::black_box(season()));
}

/// All cores; items are seasons of 184 days, each held against every limit of the demonstration's rules.
#[divan::bench(args = [StepsPerDay::AsNeeded, StepsPerDay::Exactly(1), StepsPerDay::Exactly(8)], sample_count = 1, sample_size = 1)]
fn ten_thousand_seasons_with_rules(bencher: divan::Bencher, steps: &StepsPerDay) {
    let facility = facility("demo-facility", *steps);
    let weather = weather(184);
    let timeline = Timeline::default();
    let mut sources = Sources::new(Path::new("demo-facility"));
    let rules = "../rules/sallowfen.yaml";
    let rules = rules::read(rules, None, &facility, &mut sources, &Problems::new()).expect("it reads");
    let plans = rules::plans(&rules, &facility, &timeline, Some(&weather), period(184));
    let mut watches: Vec<Watch> = Vec::new();
    for watch in plans.iter().flat_map(|plan| &plan.watches) {
        if !watches.contains(watch) {
            watches.push(watch.clone());
        }
    }
    let at = |watch: &Watch| watches.iter().position(|known| known == watch);
    let places: Vec<Vec<usize>> = plans.iter().map(|plan| plan.watches.iter().filter_map(at).collect()).collect();
    bencher.counter(ItemsCount::new(10_000_u64)).bench_local(|| {
        let ensemble = ensemble(&facility, &weather, &timeline, period(184), 1, 0..10_000, &watches, |_, series| {
            let outside = |(plan, places): (&LimitPlan, &Vec<usize>)| {
                let own: Vec<_> = places.iter().filter_map(|at| series.get(*at)).collect();
                plan.drawn(&own).outside == Some(true)
            };
            plans.iter().zip(&places).map(outside).filter(|out| *out).count()
        });
        ensemble.expect("it runs").members.iter().sum::<usize>()
    });
}

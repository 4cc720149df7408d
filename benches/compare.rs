//! Speed of comparing: 10,000 draws of three options of the demonstration.
//!
//! `cargo bench --bench compare`

#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a measurement whose input does not read may stop"
)]

use std::path::Path;

use bywash::compare::{Alternative, Asked, prices, proposal, study, without_driving_records};
use bywash::facility;
use bywash::files::{Source, Sources, yaml};
use bywash::told::Problems;
use bywash::{records, weather};

fn main() {
    divan::main();
}

fn node(path: &str) -> yaml::Node {
    let text = std::fs::read_to_string(path).expect("it is there");
    yaml::tree(&Source::new(path, &text), &Problems::new()).expect("it reads")
}

/// As it stands and two proposals, outcomes and money with them.
#[divan::bench(args = [1_000, 10_000], sample_count = 1, sample_size = 1)]
fn three_options(bencher: divan::Bencher, draws: u64) {
    let directory = Path::new("demo-facility");
    let mut sources = Sources::new(directory);
    let problems = Problems::new();
    let tree = facility::tree(directory, &mut sources, &problems).expect("it reads");
    let rules = node("rules/sallowfen.yaml");
    let first = Alternative::as_it_stands(&tree, directory, Some(&rules), &problems).expect("it reads");
    let facility = first.facility.clone();
    let mut options = vec![first];
    for name in ["tuned", "bags"] {
        let read = proposal::read(&node(&format!("demo-facility/proposals/{name}.yaml")), &problems).expect("it reads");
        options.extend(Alternative::proposed(&tree, &facility, &read, Some(&rules), &problems));
    }
    let prices = prices::read(&node("demo-facility/prices.yaml"), &problems).expect("it reads");
    let period = facility.period.expect("it is typed");
    let timeline = records::read(&facility, &mut sources, &problems);
    let weather = weather::read(&facility, period, &timeline.rain, &mut sources, &problems);
    let timeline = without_driving_records(&timeline);
    bencher.bench_local(|| {
        let asked = Asked {
            options: &options,
            prices: &prices,
            weather: &weather,
            timeline: &timeline,
            log: &timeline,
            period,
            draws,
        };
        let study = study(&asked, &|_| {}).expect("it runs");
        study.present_more(2, 0).spread()
    });
}

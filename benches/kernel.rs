//! The engine's day against a kernel of the same exact day written by hand, both in one run, in turn, on one core.
//!
//! `cargo bench --bench kernel`

#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a measurement whose input does not read may stop"
)]

#[path = "support/exact_kernel.rs"]
mod exact_kernel;

use std::hint::black_box;
use std::path::Path;
use std::time::Instant;

use bywash::balance::{Season, measure};
use bywash::facility::model::StepsPerDay;
use bywash::files::Sources;
use bywash::records::Timeline;
use bywash::told::Problems;
use bywash::weather::{DailyWeather, RainDay};
use chrono::NaiveDate;

const TURNS: usize = 41;
const FOLDERS: [&str; 3] = ["demo-facility", "tests/facilities/harrowmead", "tests/facilities/quillmere"];

fn main() {
    let mut sides: Vec<(String, Season)> = kernels();
    let kernels = sides.len();
    for folder in FOLDERS {
        let seasons = seasons(folder).into_iter();
        sides.extend(seasons.map(|(width, season)| (format!("{folder}, {width}"), season)));
    }
    let mut rates: Vec<Vec<f64>> = vec![Vec::new(); sides.len()];
    for _ in 0..TURNS {
        for ((_, season), rates) in sides.iter_mut().zip(&mut rates) {
            let begun = Instant::now();
            let mut items = 0;
            while begun.elapsed().as_millis() < 20 {
                items += season();
            }
            rates.push(items as f64 / begun.elapsed().as_secs_f64() / 1e6);
        }
    }
    let medians: Vec<f64> = rates.iter_mut().map(|rates| median(rates)).collect();
    println!(
        "million place-days a second on a core, medians of {TURNS}; beside it, how many times the kernel of that width"
    );
    for (at, ((name, _), rate)) in sides.iter().zip(&medians).enumerate() {
        let like = sides.iter().take(kernels).position(|(kernel, _)| at >= kernels && name.ends_with(width_of(kernel)));
        let times =
            like.and_then(|like| medians.get(like)).map_or_else(String::new, |kernel| format!("{:.2}", rate / kernel));
        println!("{rate:>8.1}  {times:>5}  {name}");
    }
}

fn width_of(kernel: &str) -> &str {
    kernel.rsplit(' ').next().unwrap_or_default()
}

/// Twelve filters and four ponds that spill daily, with the plain instructions and with AVX2.
fn kernels() -> Vec<(String, Season)> {
    const ITEMS: u64 = 365 * 16 * exact_kernel::LANES as u64;
    let plain = || {
        black_box(exact_kernel::plain::year(12, 4, black_box(60.0)));
        ITEMS
    };
    let mut kernels: Vec<(String, Season)> = vec![("kernel, Any".to_owned(), Box::new(plain))];
    #[cfg(target_arch = "x86_64")]
    if std::arch::is_x86_feature_detected!("avx2") {
        let avx2 = || {
            // SAFETY: the machine was found to have it.
            black_box(unsafe { exact_kernel::avx2::year(12, 4, black_box(60.0)) });
            ITEMS
        };
        kernels.push(("kernel, Avx2".to_owned(), Box::new(avx2)));
    }
    kernels
}

fn seasons(folder: &str) -> Vec<(String, Season)> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let mut sources = Sources::new(&path);
    let mut facility = bywash::facility::read(&path, &mut sources, &mut Problems::new()).expect("it reads");
    facility.steps_per_day = StepsPerDay::Exactly(1);
    let first = NaiveDate::from_ymd_opt(2024, 11, 1).expect("a date");
    let mut weather = DailyWeather::nothing_known(first, 365);
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
    let period = (first, first + chrono::Duration::days(364));
    measure(&facility, &weather, &Timeline::default(), period).unwrap_or_else(|told| panic!("{:?}", told.in_order()))
}

fn median(rates: &mut [f64]) -> f64 {
    rates.sort_by(f64::total_cmp);
    rates.get(rates.len() / 2).copied().unwrap_or_default()
}

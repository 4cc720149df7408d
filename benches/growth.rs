//! How time and memory grow with places, years, draws, limits and records: the program itself on made-up sites.
//!
//! `cargo bench --bench growth`, or one table of it: `cargo bench --bench growth -- years`. Memory is read from `/proc`,
//! so on Linux alone.

#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a measurement whose input does not read may stop"
)]

#[path = "support/many_places.rs"]
mod many_places;

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use many_places::Site;

/// What is measured at its middle, the other sizes being as here.
const USUAL: Site = Site { blocks: 6, years: 10, limits: 10, readings_a_day: 1 };

fn main() {
    let wanted: Vec<String> = std::env::args().skip(1).filter(|word| !word.starts_with('-')).collect();
    let asked = |name: &str| wanted.is_empty() || wanted.iter().any(|word| word == name);
    if asked("places") {
        let sizes = [1, 6, 12, 24, 48].map(|blocks| (places(blocks), Site { blocks, ..USUAL }));
        table("places (10 years, 10 limits)", &sizes, &["report", "--draws", "0"]);
    }
    if asked("years") {
        let sizes = [1, 3, 10, 30, 90].map(|years| (years as usize, Site { years, ..USUAL }));
        table("years (52 places, 10 limits)", &sizes, &["report", "--draws", "0"]);
    }
    if asked("limits") {
        let sizes = [4, 8, 16, 32, 64].map(|limits| (limits, Site { limits, ..USUAL }));
        table("limits (52 places, 10 years)", &sizes, &["report", "--draws", "0"]);
    }
    if asked("records") {
        let years = 3;
        let dials = 10 * 365 * years as usize;
        let sizes = [1, 3, 9, 27].map(|n| (n as usize * dials, Site { years, readings_a_day: n, ..USUAL }));
        table("readings of ten meters (52 places, 3 years)", &sizes, &["report", "--draws", "0"]);
    }
    if asked("draws") {
        let sizes = [10, 30, 100, 300].map(|draws| (draws, Site { years: 1, ..USUAL }));
        draws("draws (52 places, a year, 10 limits)", &sizes);
    }
    if asked("large") {
        let sizes = [(places(7), Site { blocks: 7, years: 30, limits: 40, readings_a_day: 1 })];
        table("58 places, 30 years, 40 limits", &sizes, &["report", "--draws", "0"]);
    }
}

fn places(blocks: usize) -> usize {
    blocks * 8 + blocks.div_ceil(2) + 1
}

fn table(name: &str, sizes: &[(usize, Site)], words: &[&str]) {
    let runs: Vec<_> = sizes.iter().map(|(size, site)| (*size, run(site, words))).collect();
    print(name, &runs);
}

fn draws(name: &str, sizes: &[(usize, Site)]) {
    let runs: Vec<_> =
        sizes.iter().map(|(size, site)| (*size, run(site, &["report", "--draws", &size.to_string()]))).collect();
    print(name, &runs);
}

/// Each size with its time, its memory, and the powers with which both grow from the size before.
fn print(name: &str, runs: &[(usize, (Duration, u64))]) {
    println!("\n{name}\n{:>10} {:>9} {:>8} {:>7} {:>7}", "", "s", "MB", "time^", "memory^");
    let mut before: Option<&(usize, (Duration, u64))> = None;
    for run @ (size, (time, memory)) in runs {
        let power = |now: f64, then: f64, sizes: f64| format!("{:.2}", (now / then).ln() / sizes.ln());
        let (by_time, by_memory) = before.map_or_else(Default::default, |(size_then, (time_then, memory_then))| {
            let sizes = *size as f64 / *size_then as f64;
            (
                power(time.as_secs_f64(), time_then.as_secs_f64(), sizes),
                power(*memory as f64, *memory_then as f64, sizes),
            )
        });
        println!("{size:>10} {:>9.2} {:>8.0} {by_time:>7} {by_memory:>7}", time.as_secs_f64(), *memory as f64 / 1024.0);
        before = Some(run);
    }
}

/// The shortest of three runs (of one, where that takes long), and the most memory in KB.
fn run(site: &Site, words: &[&str]) -> (Duration, u64) {
    let dir = folder();
    many_places::write(&dir, site);
    let mut best = (Duration::MAX, 0);
    for _ in 0..3 {
        let once = once(&dir, words);
        best = (best.0.min(once.0), best.1.max(once.1));
        if once.0 > Duration::from_secs(20) {
            break;
        }
    }
    best
}

fn folder() -> PathBuf {
    let dir = Path::new(env!("CARGO_TARGET_TMPDIR")).join("growth");
    let _ = std::fs::remove_dir_all(&dir);
    dir
}

fn once(dir: &Path, words: &[&str]) -> (Duration, u64) {
    let begun = Instant::now();
    let mut command = Command::new(env!("CARGO_BIN_EXE_bywash"));
    command.args(words).arg(dir).stdout(Stdio::null()).stderr(Stdio::piped());
    let mut child = command.spawn().expect("it starts");
    let status = format!("/proc/{}/status", child.id());
    let mut most = 0;
    let ended = loop {
        if let Some(ended) = child.try_wait().expect("it can be waited for") {
            break ended;
        }
        if let Ok(text) = std::fs::read_to_string(&status) {
            let peak = text.lines().find_map(|line| line.strip_prefix("VmHWM:"));
            let kb = peak.and_then(|rest| rest.split_whitespace().next()).and_then(|kb| kb.parse().ok());
            most = most.max(kb.unwrap_or(0));
        }
        std::thread::sleep(Duration::from_millis(2));
    };
    let took = begun.elapsed();
    if !ended.success() {
        let mut said = String::new();
        let _ = std::io::Read::read_to_string(&mut child.stderr.take().expect("it is read"), &mut said);
        panic!("{words:?}: {said}");
    }
    (took, most)
}

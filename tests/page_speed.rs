//! How fast the page is where much is on it: 54 places, ten years, 36,000 records. A measure and no test, since what it finds
//! hangs on the machine and on what else that does:
//!
//! `cargo test --release --test page_speed -- --ignored --nocapture`

#![cfg(test)]

mod browser;

use std::fmt::Write as _;
use std::path::Path;
use std::time::Instant;

use assert_cmd::Command;
use browser::Browser;
use chrono::{Datelike, NaiveDate};
use serde_json::Value;

const BLOCKS: usize = 6;
const YEARS: i32 = 10;
/// Steps of the slider, and how often the page is opened.
const STEPS: usize = 120;
const TIMES: usize = 7;

/// Numbers between 0 and 1, always the same.
fn random(seed: &mut u64) -> f64 {
    *seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
    (*seed >> 11) as f64 / (1_u64 << 53) as f64
}

/// Blocks of a nursery, each with its ground, uses, filter, tank and ponds, spilling one into the other.
fn facility() -> String {
    let each = |line: &dyn Fn(usize) -> String| (1..=BLOCKS).map(line).collect::<String>();
    let meters = each(&|k| {
        let wash =
            format!("  W{k}: {{from: Beds {k}, to: Settling pond {k}, what: wash water, counts in: gal, digits: 8}}\n");
        format!(
            "  F{k}: {{from: Well, to: Storage pond {k}, counts in: gal, digits: 8}}\n{}",
            if k > 2 { wash } else { String::new() }
        )
    });
    let ground = each(&|k| {
        format!(
            "  Yard {k}: {{area: {k}.5 acre, runs off: 50 % to 70 %, first rain soaked up: 0.12 in, solids: {{silt: 60 mg/L to 300 mg/L}}, goes to: Settling pond {k}}}\n  \
             Roofs {k}: {{area: 2.{k} acre, runs off: 90 % to 95 %, goes to: Storage pond {k}}}\n"
        )
    });
    let uses = each(&|k| {
        format!(
            "  Benches {k}: {{kind: bench, amount: 9000 gal/day, returns: 40 %, picks up: {{silt: 40 mg/L}}, takes from: Tank {k}, runs: 8 h/day, goes to: Settling pond {k}}}\n  \
             Sprinklers {k}: {{kind: overhead, area: 3.{k} acre, depth: 0.2 in/day, returns: 45 %, picks up: {{silt: 40 mg/L}}, takes from: Beds {k}, runs: 8 h/day, goes to: Settling pond {k}}}\n"
        )
    });
    let filters = each(&|k| {
        format!(
            "  Beds {k}:\n    kind: shallow media bed\n    vessels: 3\n    diameter: 36 in\n    media: [{{kind: silica sand, depth: 15 in, grains: 0.9 mm, voids: 42 %}}]\n    \
             takes from: Storage pond {k}\n    washes: {{every: 12 h}}\n    one wash: {{rate: 106 gpm, lasts: 3 min, each: vessel}}\n    washed with: its own filtered water\n    \
             wash water to: Settling pond {k}\n    holds before a wash: 0.3 lb/ft2\n    one wash removes: 90 %\n    stops: {{100 um: 95 %, 50 um: 80 %, 10 um: 15 %}}\n    stands still for: 0 min\n"
        )
    });
    let tanks = each(&|k| {
        format!(
            "  Tank {k}: {{holds: 18000 gal, lowest: 500 gal, at the start: {{holding: 15000 gal}}, filled from: {{from: Beds {k}, up to: 16000 gal}}, overflows to: Settling pond {k}}}\n"
        )
    });
    let ponds = each(&|k| {
        let next = if k % 2 == 0 || k == BLOCKS {
            format!("Outfall {}", k.div_ceil(2))
        } else {
            format!("Storage pond {}", k + 1)
        };
        let shape = |long: usize, wide: usize, deep: usize| {
            format!(
                "shape: {{length: {long} ft, width: {wide} ft, depth: {deep} ft, side slope: 3 to 1, measured at: spill level}}, freeboard above spill: 1.5 ft"
            )
        };
        format!(
            "  Settling pond {k}: {{{}, seepage: 0.05 in/day, at the start: {{level: 5 ft}}, spills to: Storage pond {k}}}\n  \
             Storage pond {k}: {{{}, lowest pump level: 1.5 ft, seepage: 0.05 in/day, at the start: {{level: 5.4 ft}}, filled from: {{from: Well, up to: 7.5 ft}}, spills to: {next}}}\n",
            shape(140 + k, 50, 6),
            shape(220 + k, 150, 9)
        )
    });
    let outfalls = (1..=BLOCKS.div_ceil(2))
        .map(|k| format!("  Outfall {k}: {{kind: surface water, into: Sedge Brook}}\n"))
        .collect::<String>();
    format!(
        "name: Withymere Growers\nreport in: US units\npaper: letter\nrules: rules.yaml\nrecords: records\nday starts: 7 am\n\
         period: 1 Jan 2006 to 31 Dec {}\nweather:\n  rain: {{file: rain.csv, read at: 7 am, belongs to: that day, a reading may cover: one day}}\n  \
         pond evaporation: {{Jan to Mar: 1 in/month, Apr to Sep: 4 in/month, Oct to Dec: 1 in/month}}\n  water temperature: {{Jan to Dec: 54 F}}\n\
         solids:\n  silt: {{density: 2.65 times water, half finer than: 6 um, nine tenths finer than: 50 um}}\n\
         meters:\n{meters}supplies:\n  Well: {{gives at most: 300 gpm}}\nrain falls on:\n{ground}uses:\n{uses}filters:\n{filters}tanks:\n{tanks}ponds:\n{ponds}discharge points:\n{outfalls}",
        2005 + YEARS
    )
}

const RULES: &str = "\
authority: Sedge Water Board
permit: SWB-17
holder: Withymere Growers
in force: 1 Jan 2000 to 31 Dec 2030
permit year starts: 1 Jan
typed by: an example
how this permit counts: {day: 7 am to 7 am, several samples in a day: average, below detection counts as: zero, monthly average divides by: days sampled}
limits:
  TSS, month average: {words: \"30 mg/L, monthly average\", at: Outfall 1, parameter: total suspended solids, statistic: monthly average, at most: 30 mg/L}
  Outfall flow: {words: \"500,000 gallons in any day\", at: Outfall 1, parameter: water, statistic: daily total, at most: 500000 gal, estimate: accepted}
";

fn write_site(dir: &Path) {
    let file = |name: &str, text: &str| std::fs::write(dir.join(name), text).unwrap();
    std::fs::create_dir_all(dir.join("records")).unwrap();
    file("facility.yaml", &facility());
    file("rules.yaml", RULES);
    // Four years of open weather, over again.
    let weather = std::fs::read_to_string("tests/data/daily-weather.csv").unwrap();
    let rain: Vec<&str> = weather.lines().skip(1).map(|line| line.split(',').nth(1).unwrap()).collect();
    let first = NaiveDate::from_ymd_opt(2006, 1, 1).unwrap();
    let days: Vec<NaiveDate> = first.iter_days().take_while(|day| day.year() < 2006 + YEARS).collect();
    let mut gauge = String::from("date,rain,unit\n");
    let mut readings = String::from("date,place,what,parameter,value,unit,qualifier,paper,received,who,note\n");
    let meters: Vec<String> =
        (1..=BLOCKS).map(|k| format!("F{k}")).chain((3..=BLOCKS).map(|k| format!("W{k}"))).collect();
    let mut dials = vec![100_000.0; meters.len()];
    let mut seed = 11;
    let mut lab = String::from("date,place,what,parameter,value,unit,qualifier,paper,received,who,note\n");
    for (at, day) in days.iter().enumerate() {
        let _ = writeln!(gauge, "{day},{},mm", rain[at % rain.len()]);
        for (meter, dial) in meters.iter().zip(&mut dials) {
            let _ =
                writeln!(readings, "{day} 07:00,{meter},reading,,{:.0},gal,,sheet {},,EH,", dial, day.format("%y-%m"));
            *dial += (if meter.starts_with('F') { 9_000.0 } else { 1_900.0 } * (0.6 + 0.8 * random(&mut seed))).round();
        }
        if day.day() == 8 {
            let _ = writeln!(
                lab,
                "{day} 10:00,Outfall 1,sample,total suspended solids,{:.0},mg/L,,slip {at},{},DT,grab",
                8.0 + 20.0 * random(&mut seed),
                *day + chrono::Days::new(8)
            );
        }
    }
    file("rain.csv", &gauge);
    file("records/meters.csv", &readings);
    file("records/lab.csv", &lab);
}

fn spread(name: &str, mut ms: Vec<f64>) {
    ms.sort_by(f64::total_cmp);
    let at = |share: f64| ms[((ms.len() - 1) as f64 * share).round() as usize];
    println!("{name}: median {:.0} ms, 95 of 100 {:.0} ms, most {:.0} ms", at(0.5), at(0.95), at(1.0));
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(|one| one.as_f64().unwrap()).collect()
}

#[test]
#[ignore = "a measure: it takes a minute and tells nothing by itself"]
fn how_fast_the_page_of_many_places_over_ten_years_is() {
    let dir = Path::new(env!("CARGO_TARGET_TMPDIR")).join("many-places");
    let _ = std::fs::remove_dir_all(&dir);
    write_site(&dir);
    let begun = Instant::now();
    Command::cargo_bin("bywash").unwrap().arg("page").arg(&dir).args(["--draws", "0"]).assert().success();
    let page = dir.join("page.html");
    let text = std::fs::read_to_string(&page).unwrap();
    println!("made in {:.1} s; {:.1} MB", begun.elapsed().as_secs_f64(), text.len() as f64 / 1e6);
    let Some(browser) = Browser::open() else { return };
    let (mut paints, mut readies) = (Vec::new(), Vec::new());
    for _ in 0..TIMES {
        browser.go(&page, "#site");
        browser.until("return performance.getEntriesByType('paint').length > 0");
        let times = "return [performance.getEntriesByName('first-contentful-paint')[0].startTime, performance.getEntriesByName('ready')[0]?.startTime || 0]";
        let times = numbers(&browser.js(times));
        paints.push(times[0]);
        readies.push(times[1]);
    }
    println!("places drawn: {}", browser.js("return document.querySelectorAll('svg.site a.place').length"));
    spread("first paint", paints);
    spread("the slider answers after", readies);
    // A step by the slider: the script's own time, then with style, layout and paint of the frame it asks for.
    let step = format!(
        "const done = arguments[arguments.length - 1]; const slider = document.getElementById('day'); \
         const [own, whole] = [[], []]; let left = {STEPS}; \
         const step = () => {{ if (left-- === 0) return done([own, whole]); \
           slider.value = (Number(slider.value) + 37) % Number(slider.max); const begun = performance.now(); \
           slider.dispatchEvent(new Event('input')); own.push(performance.now() - begun); \
           const channel = new MessageChannel(); \
           channel.port1.onmessage = () => {{ whole.push(performance.now() - begun); setTimeout(step, 150); }}; \
           requestAnimationFrame(() => channel.port2.postMessage(0)); }}; step();"
    );
    let before = browser.worked();
    let steps = browser.js_later(&step);
    let worked = browser.worked() - before;
    spread("a step, the script", numbers(&steps[0]));
    spread("a step, to the end of its frame", numbers(&steps[1]));
    // With what opens once the hand rests.
    println!("a step, the work of the page’s thread: {:.0} ms", 1000.0 * worked / STEPS as f64);
}

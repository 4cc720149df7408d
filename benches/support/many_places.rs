//! A made-up site of any size: blocks of a nursery, each with its ground, uses, filter, tank and ponds, spilling one into the
//! other, with dials read each morning and a sample a month. Measures of speed are made on it.

use std::fmt::Write as _;
use std::path::Path;

use chrono::{Datelike, NaiveDate};

/// How large the site is.
#[derive(Debug, Clone, Copy)]
pub struct Site {
    /// Blocks of eight places; one well for all, an outfall for two.
    pub blocks: usize,
    /// Years of weather, from 2006.
    pub years: i32,
    /// Limits of the permit.
    pub limits: usize,
    /// Readings of each dial in a day.
    pub readings_a_day: u32,
}

/// Numbers between 0 and 1, always the same.
fn random(seed: &mut u64) -> f64 {
    *seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
    (*seed >> 11) as f64 / (1_u64 << 53) as f64
}

/// Blocks of a nursery, each with its ground, uses, filter, tank and ponds, spilling one into the other.
fn facility(&Site { blocks, years, .. }: &Site) -> String {
    let each = |line: &dyn Fn(usize) -> String| (1..=blocks).map(line).collect::<String>();
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
        let next = if k % 2 == 0 || k == blocks {
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
    let outfalls = (1..=blocks.div_ceil(2))
        .map(|k| format!("  Outfall {k}: {{kind: surface water, into: Sedge Brook}}\n"))
        .collect::<String>();
    format!(
        "name: Withymere Growers\nreport in: US units\npaper: letter\nrules: rules.yaml\nrecords: records\nday starts: 7 am\n\
         period: 1 Jan 2006 to 31 Dec {}\nweather:\n  rain: {{file: rain.csv, read at: 7 am, belongs to: that day, a reading may cover: one day}}\n  \
         pond evaporation: {{Jan to Mar: 1 in/month, Apr to Sep: 4 in/month, Oct to Dec: 1 in/month}}\n  water temperature: {{Jan to Dec: 54 F}}\n\
         solids:\n  silt: {{density: 2.65 times water, half finer than: 6 um, nine tenths finer than: 50 um}}\n\
         meters:\n{meters}supplies:\n  Well: {{gives at most: 300 gpm}}\nrain falls on:\n{ground}uses:\n{uses}filters:\n{filters}tanks:\n{tanks}ponds:\n{ponds}discharge points:\n{outfalls}",
        2005 + years
    )
}

/// The first so many limits of each kind in turn: on water at every outfall, filter and well, on results, on freeboard.
fn rules(&Site { blocks, limits, .. }: &Site) -> String {
    let outfalls: Vec<String> = (1..=blocks.div_ceil(2)).map(|k| format!("Outfall {k}")).collect();
    let beds: Vec<String> = (1..=blocks).map(|k| format!("{{wash water of: Beds {k}}}")).collect();
    let ponds: Vec<String> =
        (1..=blocks).flat_map(|k| [format!("Storage pond {k}"), format!("Settling pond {k}")]).collect();
    let mut kinds = [
        on_results(&outfalls, &["total suspended solids", "nitrate", "total phosphorus", "ammonia"]),
        on_water(&outfalls, "estimate: accepted"),
        on_water(&beds, "estimate: accepted"),
        on_water(&["Well".to_owned()], "estimate: accepted"),
        ponds
            .iter()
            .map(|pond| format!("at: {pond}, parameter: freeboard, statistic: every reading, at least: 0.2 ft"))
            .collect(),
    ]
    .map(Vec::into_iter);
    let mut text = String::from(
        "authority: Sedge Water Board\npermit: SWB-17\nholder: Withymere Growers\nin force: 1 Jan 2000 to 31 Dec 2130\n\
         permit year starts: 1 Jan\ntyped by: an example\n\
         how this permit counts: {day: 7 am to 7 am, several samples in a day: average, below detection counts as: zero, monthly average divides by: days sampled}\n\
         limits:\n",
    );
    let mut written = 0;
    while written < limits {
        let before = written;
        for kind in &mut kinds {
            let Some(limit) = kind.next().filter(|_| written < limits) else { continue };
            let _ = writeln!(text, "  Limit {written}: {{words: \"an example\", {limit}}}");
            written += 1;
        }
        assert!(written > before, "{written} limits are all that there are for {blocks} blocks");
    }
    text
}

fn on_water(places: &[String], how: &str) -> Vec<String> {
    let limit = |place: &String| {
        [("daily total", 500_000_u64), ("monthly total", 5_000_000), ("permit year total", 40_000_000)].map(
            |(statistic, gallons)| {
                format!("at: {place}, parameter: water, statistic: {statistic}, at most: {gallons} gal, {how}")
            },
        )
    };
    places.iter().flat_map(limit).collect()
}

fn on_results(places: &[String], parameters: &[&str]) -> Vec<String> {
    let limit = |parameter: &&str| {
        let limit = |place: &String| {
            [("monthly average", 30), ("daily maximum", 60)].map(|(statistic, mg)| {
                format!("at: {place}, parameter: {parameter}, statistic: {statistic}, at most: {mg} mg/L")
            })
        };
        places.iter().flat_map(limit).collect::<Vec<_>>()
    };
    parameters.iter().flat_map(limit).collect()
}

/// Writes it into a folder.
pub fn write(dir: &Path, site: &Site) {
    let Site { blocks, years, readings_a_day, .. } = *site;
    let file = |name: &str, text: &str| std::fs::write(dir.join(name), text).unwrap();
    std::fs::create_dir_all(dir.join("records")).unwrap();
    file("facility.yaml", &facility(site));
    file("rules.yaml", &rules(site));
    // Four years of open weather, over again.
    let weather = std::fs::read_to_string("tests/data/daily-weather.csv").unwrap();
    let rain: Vec<&str> = weather.lines().skip(1).map(|line| line.split(',').nth(1).unwrap()).collect();
    let first = NaiveDate::from_ymd_opt(2006, 1, 1).unwrap();
    let days: Vec<NaiveDate> = first.iter_days().take_while(|day| day.year() < 2006 + years).collect();
    let mut gauge = String::from("date,rain,unit\n");
    let mut readings = String::from("date,place,what,parameter,value,unit,qualifier,paper,received,who,note\n");
    let meters: Vec<String> =
        (1..=blocks).map(|k| format!("F{k}")).chain((3..=blocks).map(|k| format!("W{k}"))).collect();
    let mut dials = vec![100_000.0; meters.len()];
    let mut seed = 11;
    let mut lab = String::from("date,place,what,parameter,value,unit,qualifier,paper,received,who,note\n");
    for (at, day) in days.iter().enumerate() {
        let _ = writeln!(gauge, "{day},{},mm", rain[at % rain.len()]);
        for (meter, dial) in meters.iter().zip(&mut dials) {
            let a_day = if meter.starts_with('F') { 9_000.0 } else { 1_900.0 };
            for reading in 0..readings_a_day {
                let minutes = reading * (16 * 60 / readings_a_day);
                let (hour, minute) = (7 + minutes / 60, minutes % 60);
                let sheet = day.format("%y-%m");
                let _ = writeln!(
                    readings,
                    "{day} {hour:02}:{minute:02},{meter},reading,,{:.0},gal,,sheet {sheet},,EH,",
                    // Eight digits.
                    *dial % 1e8
                );
                *dial += (a_day / f64::from(readings_a_day) * (0.6 + 0.8 * random(&mut seed))).round();
            }
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

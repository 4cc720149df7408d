//! A pond found, typed into the facility file as it is printed, does what it was found to do.

use std::fs;

use bywash::facility::model::UnitSystem;
use bywash::files::Sources;
use bywash::page::document::Block;
use bywash::report::basin::{BasinCase, document};
use bywash::sizing::{self, Basin, Check, Comes, Duty, Outcome, Site, Study};
use bywash::told::Problems;
use chrono::NaiveDate;

use super::basin_site::{DUTIES, FACILITY, read, site};

/// A small generator, so that the sites are the same on every machine.
pub(super) struct Dice(pub(super) u64);

impl Dice {
    pub(super) fn between(&mut self, low: f64, high: f64) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        low + (high - low) * ((self.0 >> 33) as f64 / f64::from(1u32 << 31))
    }

    pub(super) fn one_of<'a>(&mut self, of: &[&'a str]) -> &'a str {
        of[(self.between(0.0, of.len() as f64) as usize).min(of.len() - 1)]
    }
}

/// An invented site and its duties.
fn invented(dice: &mut Dice) -> (String, String) {
    // A pond found may be shallower than the present one stands at the start, and could not be typed with that.
    let facility = FACILITY
        .replace("at the start: {level: 1 m}", "at the start: {level: 0.4 m}")
        .replace("metric units", dice.one_of(&["US units", "metric units"]))
        .replace("area: 1.0 ha", &format!("area: {:.2} ha", dice.between(0.3, 1.5)))
        .replace("silt: 150 mg/L", &format!("silt: {:.0} mg/L", dice.between(20.0, 900.0)))
        .replace("silt: 40 mg/L", &format!("silt: {:.0} mg/L", dice.between(5.0, 300.0)))
        .replace("amount: 60 m3/day", &format!("amount: {:.0} m3/day", dice.between(10.0, 90.0)))
        .replace("gives at most: 2 m3/h", &format!("gives at most: {:.1} m3/h", dice.between(0.5, 8.0)))
        .replace(
            "    filled from: {from: Well, up to: 0.8 m}\n",
            dice.one_of(&["", "    filled from: {from: Well, up to: 0.8 m}\n"]),
        );
    let drawdown =
        dice.one_of(&["", ", drawdown: {by: pump, within: 48 h, to: Ditch, down to: the foot of what is held}"]);
    let duties = DUTIES
        .replace("longest: 75 m, widest: 40 m", "longest: 120 m, widest: 60 m")
        .replace("least: volume", dice.one_of(&["least: volume", "least: cost", "least: footprint"]))
        .replace("at least: 75 %", &format!("at least: {:.0} %", dice.between(40.0, 85.0)))
        .replace("every: 6 years", &format!("every: {:.0} years", dice.between(2.0, 12.0)))
        .replace("cells: 3", dice.one_of(&["cells: 1", "cells: 2", "cells: 3"]))
        .replace("no oftener than: 3 a year", "no oftener than: 30 a year")
        .replace("from: the normal level", &format!("from: the normal level{drawdown}"));
    // Most are not asked what only a run of many shapes can tell: that takes the most time, and is rounded no otherwise.
    let mut duties = duties;
    if dice.between(0.0, 1.0) < 0.8 {
        let years = |line: &&str| !line.starts_with("spills") && !line.starts_with("shortage");
        duties = duties.lines().filter(years).map(|line| format!("{line}\n")).collect();
    }
    if drawdown.is_empty() {
        duties = duties
            .lines()
            .filter(|line| !line.starts_with("hold") && !line.starts_with("storm"))
            .map(|line| format!("{line}\n"))
            .collect();
    }
    // Where nothing draws from it all water under the rooms stays, and a side too many rounded down lets it through too soon.
    let drawn = dice.between(0.0, 1.0) < 0.4;
    let facility = if drawn { facility } else { facility.replace("takes from: Basin", "takes from: Well") };
    if !drawn {
        duties = duties.lines().filter(|line| !line.starts_with("shortage")).map(|line| format!("{line}\n")).collect();
    }
    let hours = dice.between(10.0, if drawn { 60.0 } else { 400.0 });
    let detention = dice
        .one_of(&["", "asked"])
        .replace("asked", &format!("detention: {{at least: {hours:.2} h, flow: 10 m3/h}}\n"));
    // Steps round in no system of units, and wide enough apart for a search that takes no time.
    let steps = format!(
        "steps: {{depth: {:.3} m, length: {:.3} m, width: {:.3} m}}\n",
        dice.between(0.15, 0.3),
        dice.between(3.0, 6.0),
        dice.between(2.0, 4.0)
    );
    (facility, format!("{duties}{detention}{steps}"))
}

fn study(dir: &std::path::Path, this: bool, paragraph: &mut String) -> Study {
    let day = |year, month, day| NaiveDate::from_ymd_opt(year, month, day).unwrap();
    let (facility, weather, _, duties) = read(dir);
    let pond = facility.find("Basin").unwrap();
    let period = (day(2012, 11, 20), day(2012, 12, 31));
    let at = Site { facility: &facility, pond, weather: &weather, period };
    let study = if this { sizing::study_this(at, duties, &|_| {}) } else { sizing::study(at, duties, &|_| {}) };
    let study = study.unwrap_or_else(|told| panic!("{:?}", told.in_order()));
    let case = BasinCase {
        study: &study,
        facility: &facility,
        pond,
        not_built: false,
        weather: &weather,
        period,
        present: None,
        log: &[],
        files: &[],
        digest: "",
        warnings: &[],
    };
    for block in document(&case).blocks {
        if let Block::Paragraph(text) = block {
            paragraph.push_str(&text.text.words().replace('\u{a0}', " "));
            paragraph.push(' ');
        }
    }
    study
}

/// The figure in `length: 26.3 m`.
fn figure(words: &str) -> f64 {
    words.split(' ').find_map(|word| word.parse().ok()).unwrap_or_else(|| panic!("{words}"))
}

/// What stands between two words.
fn between<'a>(text: &'a str, before: &str, after: &str) -> Option<&'a str> {
    let rest = &text[text.find(before)? + before.len()..];
    Some(rest[..rest.find(after)?].trim())
}

fn does(check: &Check) -> bool {
    matches!(check.comes, Comes::Done | Comes::TooFewYears)
}

/// How long a pond found keeps its water, h, where that is asked.
fn kept_h(study: &Study) -> Option<f64> {
    let Outcome::Pond(answer) = &study.outcome else { return None };
    let is_it = |check: &&Check| check.duty == Duty::Detention && does(check);
    answer.checks.iter().find(is_it).map(|check| check.has)
}

/// A pond with one of its printed sizes one step smaller, where that still is a rounding of the size found, and the plot's
/// rule of length to width allows it.
fn one_step_smaller(found: &Basin, typed: &Basin, system: UnitSystem) -> Vec<Basin> {
    let (side_m, depth_m) = match system {
        UnitSystem::Us => (0.03048, 0.003048),
        UnitSystem::Metric => (0.01, 0.01),
    };
    let mut all = Vec::new();
    if typed.length_m > found.length_m + 1e-6 && typed.length_m - side_m >= 2.0 * typed.width_m {
        all.push(Basin { length_m: typed.length_m - side_m, ..*typed });
    }
    if typed.width_m > found.width_m + 1e-6 {
        all.push(Basin { width_m: typed.width_m - side_m, ..*typed });
    }
    if typed.depth_m > found.depth_m + 1e-6 {
        all.push(Basin { depth_m: typed.depth_m - depth_m, ..*typed });
    }
    all
}

/// A pond as it would be typed.
fn shape(basin: &Basin, system: UnitSystem) -> String {
    let (unit, per_m) = match system {
        UnitSystem::Us => ("ft", 1.0 / 0.3048),
        UnitSystem::Metric => ("m", 1.0),
    };
    let [length, width, depth] =
        [basin.length_m, basin.width_m, basin.depth_m].map(|m| format!("{:.2} {unit}", m * per_m));
    format!("length: {length}, width: {width}, depth: {depth}")
}

/// Sites in which a step smaller is tried: each takes three more studies.
const STEPPED: usize = 20;

#[test]
fn a_pond_found_and_typed_as_printed_does_every_duty_and_no_smaller_rounding_of_it_does() {
    let dir = tempfile::tempdir().unwrap();
    let mut dice = Dice(7);
    let mut typed = 0;
    let mut stepped = [0, 0];
    for at in 0..60 {
        if typed == 20 {
            break;
        }
        let (facility, mut duties) = invented(&mut dice);
        site(dir.path(), &facility, &duties);
        let mut printed = String::new();
        let mut found = study(dir.path(), false, &mut printed);
        // Steps wide apart leave a pond more than it needs. Asked as long as it keeps the water, it can't be rounded down all
        // ways; it stays the least, since no smaller one kept it that long.
        if let Some((from, hours)) = between(&duties, "detention: {at least: ", " h,").zip(kept_h(&found)) {
            duties =
                duties.replace(&format!("at least: {from} h,"), &format!("at least: {:.9} h,", hours * (1.0 - 1e-7)));
            site(dir.path(), &facility, &duties);
            printed.clear();
            found = study(dir.path(), false, &mut printed);
        }
        let Outcome::Pond(answer) = &found.outcome else { continue };
        if answer.checks.iter().any(|check| !matches!(check.comes, Comes::Done | Comes::TooFewYears)) {
            continue;
        }
        // `26.3 m long, 13 m wide and 2.44 m deep at the spill level.`
        let sides = &printed[..printed.find(" at the spill level").expect("the sides")];
        let words: Vec<&str> = sides.rsplitn(10, ' ').collect();
        let [_, depth_unit, depth, _, _, width_unit, width, _, length_unit, rest] = words.as_slice() else {
            panic!("{sides}")
        };
        let length = rest.rsplit(' ').next().unwrap();
        let old = "length: 30 m, width: 15 m, depth: 2 m";
        let new = format!("length: {length} {length_unit}, width: {width} {width_unit}, depth: {depth} {depth_unit}")
            .replace(",,", ",");
        let new = new.replace("wide", "");
        let mut as_typed = facility.replace(old, &new);
        assert_ne!(as_typed, facility, "{new}");
        // Beside each stands what is typed now.
        if let Some(level) = between(&printed, "filled up to ", " (") {
            as_typed = as_typed.replace("up to: 0.8 m", &format!("up to: {level}"));
        }
        if let Some(level) = between(&printed, "drawn from no lower than ", " (") {
            as_typed = as_typed.replace("lowest pump level: 0.4 m", &format!("lowest pump level: {level}"));
        }
        site(dir.path(), &as_typed, &duties);
        let held = study(dir.path(), true, &mut String::new());
        let Outcome::This(this, _) = &held.outcome else { panic!() };
        for check in &this.checks {
            assert!(does(check), "{at}: {new}: {check:?}\n{facility}\n{duties}\n{printed}");
        }
        typed += 1;
        if typed > STEPPED {
            continue;
        }
        let system = if facility.contains("US units") { UnitSystem::Us } else { UnitSystem::Metric };
        let as_printed = answer.typed.of(system);
        assert!(
            new.split(", ").zip(shape(&as_printed, system).split(", ")).all(|(a, b)| figure(a) == figure(b)),
            "{new}"
        );
        for less in one_step_smaller(&answer.found.basin, &as_printed, system) {
            site(dir.path(), &as_typed.replace(&new, &shape(&less, system)), &duties);
            // Not even to be typed: filled above its spill level.
            if bywash::facility::read(dir.path(), &mut Sources::new(dir.path()), &mut Problems::new()).is_none() {
                continue;
            }
            let Outcome::This(this, _) = study(dir.path(), true, &mut String::new()).outcome else { panic!() };
            assert!(
                !this.checks.iter().all(does),
                "{at}: {less:?} does as well as {as_printed:?}\n{facility}\n{duties}"
            );
            stepped[usize::from(system == UnitSystem::Us)] += 1;
        }
    }
    println!("{typed} typed, {stepped:?} a step smaller");
    assert!(stepped.iter().all(|count| *count > 0), "{stepped:?}: both systems of units");
    assert!(typed >= 20, "{typed} of 60 sites had a pond");
    assert!(fs::exists(dir.path()).unwrap());
}

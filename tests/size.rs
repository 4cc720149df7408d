//! `size` as a user meets it, on four years of open weather: figures held against arithmetic by hand, the least shape
//! against every shape of the grid.

#![cfg(test)]

#[path = "size/asked.rs"]
mod asked;
mod basin_site;
#[path = "size/cells.rs"]
mod cells;
#[path = "size/laws.rs"]
mod laws;
#[path = "size/run.rs"]
mod run;
#[path = "size/typed.rs"]
mod typed;
#[path = "size/what_if.rs"]
mod what_if;

use std::fs;
use std::path::Path;

use approx::assert_relative_eq;
use assert_cmd::Command;
use basin_site::{DUTIES, FACILITY, read, site};
use bywash::balance::{Candidates, Node, Purpose, Seen, Selector};
use bywash::facility::model::Facility;
use bywash::files::{Sources, yaml};
use bywash::sizing;
use bywash::sizing::{Amount, Basin, Check, Outcome, Simulated, Site, SpillRecord, Study, Version};
use bywash::told::Problems;
use chrono::NaiveDate;
use serde_json::Value;

fn size(dir: &Path, more: &[&str]) -> (Value, String) {
    let output = Command::cargo_bin("bywash").unwrap().arg("size").arg(dir).arg("--json").args(more).output().unwrap();
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.success(), "{told}");
    (serde_json::from_slice(&output.stdout).unwrap(), told)
}

fn number(value: &Value, at: &str) -> f64 {
    value.pointer(at).and_then(Value::as_f64).unwrap_or_else(|| panic!("{at} in {value:#}"))
}

fn duty<'a>(value: &'a Value, name: &str) -> &'a Value {
    value["duties"].as_array().unwrap().iter().find(|one| one["duty"] == name).unwrap_or_else(|| panic!("{name}"))
}

/// What the pond's surface and the yard get is worked out here from the totals of the weather file alone.
#[test]
fn four_years_of_open_weather_come_out_as_arithmetic_by_hand_says() {
    let dir = tempfile::tempdir().unwrap();
    site(dir.path(), FACILITY, DUTIES);
    let pdf = dir.path().join("basin.pdf");
    let (found, told) =
        size(dir.path(), &["-o", pdf.to_str().unwrap(), "--tables", dir.path().join("t.xlsx").to_str().unwrap()]);
    assert!(fs::read(&pdf).unwrap().starts_with(b"%PDF-"), "{told}");
    assert!(fs::metadata(dir.path().join("t.xlsx")).unwrap().len() > 1000);
    assert_eq!(found["found"], true);
    assert_eq!((found["first_day"].as_str(), found["last_day"].as_str()), (Some("2012-01-01"), Some("2015-12-31")));
    // 1 461 days with one leap day are 4 years of 365.25.
    assert_eq!(number(&found, "/over_the_years/days"), 1461.0);
    assert_relative_eq!(number(&found, "/years"), 4.0);

    // The file's 1 461 values of precipitation add up to 4 426.0 mm (awk). All of it falls on the pond within its bank top:
    // with sides 2 to 1 and 0.5 m of freeboard that is 2 m longer and wider than the water at the spill level.
    let (length, width, depth) = (
        number(&found, "/pond_found/length_m"),
        number(&found, "/pond_found/width_m"),
        number(&found, "/pond_found/depth_m"),
    );
    let crest = (length + 2.0) * (width + 2.0);
    assert_relative_eq!(number(&found, "/over_the_years/rain_on_the_pond_m3"), 4.426 * crest, max_relative = 1e-9);

    // Over the banks: 2 m more on each side, on a plot of 75 × 40 m; and at least twice as long as wide.
    assert!(length + 6.0 <= 75.0 + 1e-9 && width + 6.0 <= 40.0 + 1e-9 && depth <= 3.0 && length >= 2.0 * width - 1e-9);
    // Prismoid by Simpson's rule on floor, middle and spill level.
    let plan = |up: f64| (length - 4.0 * (depth - up)) * (width - 4.0 * (depth - up));
    let volume = depth / 6.0 * (plan(0.0) + 4.0 * plan(depth / 2.0) + plan(depth));
    assert_relative_eq!(number(&found, "/pond_found/volume_m3"), volume, max_relative = 1e-9);
    // 8 EUR a cubic metre dug and 12 EUR a square metre lined.
    let cost = 8.0 * number(&found, "/pond_found/cut_m3") + 12.0 * number(&found, "/pond_found/lined_m2");
    assert_relative_eq!(number(&found, "/cost"), cost, max_relative = 1e-12);
    // Nothing is said of the ground: the cut is all that there is up to the bank top, 0.5 m over the spill level.
    let to_the_top = (depth + 0.5) / 6.0 * (plan(0.0) + 4.0 * plan((depth + 0.5) / 2.0) + crest);
    assert_relative_eq!(number(&found, "/pond_found/cut_m3"), to_the_top, max_relative = 1e-9);
    assert_relative_eq!(number(&found, "/pond_found/volume_up_to_bank_top_m3"), to_the_top, max_relative = 1e-9);

    let layer = |name: &str| {
        let all = found["layers"].as_array().unwrap();
        all.iter().find(|one| one["layer"] == name).unwrap_or_else(|| panic!("{name}"))
    };
    // Storm of 60 mm: 1 ha × 80 % × (60 − 1) mm from the yard, 60 mm on the pond.
    assert_relative_eq!(number(layer("Storm"), "/volume_m3"), 472.0 + 0.06 * crest, max_relative = 1e-6);
    // Held: two days of return water at the middle of 30 % to 40 % of 60 m³ a day (asked in full on dry days), first rain
    // of 10 mm: 1 ha × 80 % × 9 mm, and on the pond.
    let held = 2.0 * 60.0 * 0.35 + 72.0 + 0.01 * crest;
    assert_relative_eq!(number(layer("Return water and first rain"), "/volume_m3"), held, max_relative = 1e-6);

    // 20 µm quartz in water of 10 °C: Ferguson and Church with C1 18 and C2 1 by hand. ν = 1.306e-6 m²/s, R = 1.6508:
    // w = R g d² / (18 ν + √(0.75 R g d³)) = 6.4755e-9 / (2.3508e-5 + 3.12e-7) m/s = 0.2718 mm/s, at the pool's top.
    let pool_top = number(layer("Settling pool"), "/to_m");
    let settled = 1.0 - (1.0 + 0.2718e-3 * plan(pool_top) / (3.0 * 120.0 / 3600.0)).powi(-3);
    assert_relative_eq!(number(duty(&found, "settle the particle"), "/has"), settled, max_relative = 2e-3);

    // Half-way up the pool of 0.4 m the section is as wide as the water there: 120 m³/h through it. Nobody typed a speed:
    // that is advice.
    let middle = pool_top - 0.2;
    let section = 0.4 * (width - 4.0 * (depth - middle));
    let advice = found["advice"].as_array().unwrap();
    assert_eq!((advice.len(), advice[0]["what"].as_str()), (1, Some("water passing over what settled")));
    assert_relative_eq!(number(&advice[0], "/has"), 120.0 / 3600.0 / section, max_relative = 1e-9);

    // A pond that its own run keeps is looked for first: every duty is done, what is held and the storm find their room, and one
    // step smaller any way breaks a duty.
    for one in found["duties"].as_array().unwrap() {
        assert_eq!(one["comes_out"], "does it", "{one:#}");
    }
    assert_eq!(number(&found, "/over_the_years/days_without_room_for_the_storm"), 0.0);
    for one in found["one_step_smaller"].as_array().unwrap() {
        let breaks = one["shape"].is_null() || !one["fails"].as_array().unwrap().is_empty();
        assert!(breaks, "{one:#}");
    }
    // Spills a year and the share kept follow from the counts.
    let (spills, runs, spilled, runoff) = (
        number(&found, "/over_the_years/spills"),
        number(&found, "/over_the_years/runs_of_days_with_a_spill"),
        number(&found, "/over_the_years/spilled_m3"),
        number(&found, "/over_the_years/runoff_m3"),
    );
    assert_relative_eq!(number(&found, "/over_the_years/spills_a_year"), spills / 4.0);
    // What came back from the benches is no rain caught.
    let came = 4.426 * crest + runoff;
    assert!(came < number(&found, "/over_the_years/inflow_m3"));
    let kept = number(&found, "/over_the_years/share_neither_spilled_nor_let_out");
    assert_relative_eq!(kept, 1.0 - spilled / came, max_relative = 1e-9);
    let listed: f64 = found["spills"].as_array().unwrap().iter().map(|one| one["m3"].as_f64().unwrap()).sum();
    assert_eq!(found["spills"].as_array().unwrap().len() as f64, runs);
    assert_relative_eq!(listed, spilled, max_relative = 1e-9);
}

/// Every shape of the coarse grid, run by itself over the four years, held against every duty.
#[test]
fn the_least_pond_is_the_one_that_holding_every_shape_against_every_duty_finds() {
    let dir = tempfile::tempdir().unwrap();
    // Without the duties that need no weather nothing spares a run.
    let duties: String = DUTIES
        .lines()
        .filter(|line| !["settle:", "hold:", "storm", "clean out:", "steps:"].iter().any(|head| line.starts_with(head)))
        .map(|line| format!("{line}\n"))
        .chain(["steps: {depth: 0.5 m, length: 10 m, width: 5 m}\n".to_owned()])
        .collect();
    for least in ["least: volume", "least: footprint", "least: cost"] {
        site(dir.path(), FACILITY, &duties.replace("least: volume", least));
        let (facility, weather, _, duties) = read(dir.path());
        // One wet half-year is enough for the two ways to differ, and quick.
        let day = |year, month, day| NaiveDate::from_ymd_opt(year, month, day).unwrap();
        let period = (day(2012, 10, 1), day(2013, 3, 31));
        let pond = facility.find("Basin").unwrap();
        let at = Site { facility: &facility, pond, weather: &weather, period };
        let study: Study = sizing::study(at, duties, &|_| {}).unwrap_or_else(|told| panic!("{:?}", told.in_order()));
        let Outcome::Pond(answer) = &study.outcome else { panic!("{least}: no pond") };
        let every = study.grid.plans().into_iter().flatten().count();
        assert!(every > 30, "{every}");
        let least_of_all = laws::least_of_every_shape(&study, (&facility, pond), &weather, period).unwrap();
        assert_eq!(answer.found.basin, least_of_all, "{least}");
        assert!(answer.found.simulated < every, "{} of {every}", answer.found.simulated);
        // What governs is broken one step smaller.
        let governs = answer.governs();
        assert!(!governs.is_empty());
        assert!(
            answer
                .smaller
                .iter()
                .filter_map(|one| one.shape.as_ref())
                .all(|(_, checks)| checks.iter().any(|c| !c.is_met()))
        );
    }
}

#[test]
fn a_plot_too_small_is_told_with_the_duty_that_cannot_be_met_and_by_how_much() {
    let dir = tempfile::tempdir().unwrap();
    site(dir.path(), FACILITY, &DUTIES.replace("longest: 75 m, widest: 40 m", "longest: 30 m, widest: 18 m"));
    let pdf = dir.path().join("none.pdf");
    let (found, _) = size(dir.path(), &["-o", pdf.to_str().unwrap()]);
    assert_eq!(found["found"], false);
    let best = found["best_of_each_duty"].as_array().unwrap();
    let storm = best.iter().find(|one| one["check"]["duty"] == "contain the storm").unwrap();
    assert_eq!(storm["check"]["does_it"], false);
    // No shape is larger than 24 × 12 m at the spill level: 26 × 14 m within the bank top get 60 mm, the yard gives 472 m³.
    let asked = number(storm, "/check/asked");
    assert!(asked > 472.0 && number(storm, "/check/has") < asked, "{storm:#}");
    assert!(fs::read(pdf).unwrap().starts_with(b"%PDF-"));
}

#[test]
fn a_pond_that_is_not_built_is_sized_from_a_proposal_that_describes_it() {
    let dir = tempfile::tempdir().unwrap();
    let duties = DUTIES
        .replace("pond: Basin", "pond: Second basin\nwith proposal: second.yaml")
        .replace("hold: {return water: 2 days, first rain: 10 mm}\n", "")
        .replace("shortage: {at most: 150 days a year}\n", "")
        .replace("settling pool: 0.4 m\n", "settling pool: 0.2 m\n");
    site(dir.path(), FACILITY, &duties);
    let proposal = "\
name: A second basin under the first
change:
  Basin: {spills to: Second basin}
add:
  ponds:
    Second basin:
      shape: {length: 20 m, width: 10 m, depth: 1.5 m, side slope: 2 to 1, measured at: spill level}
      freeboard above spill: 0.5 m
      seepage: 2 mm/day
      at the start: {level: 0.2 m}
      spills to: Ditch
";
    fs::write(dir.path().join("second.yaml"), proposal).unwrap();
    let (found, _) = size(dir.path(), &[]);
    assert_eq!((found["pond"].as_str(), found["not_built"].as_bool()), (Some("Second basin"), Some(true)));
    // What the yard sheds in the storm comes through the first basin, taken as full, with the rain on its 32 × 17 m: that
    // and the rain on the second basin is what the room is for.
    let storm = duty_anywhere(&found, "contain the storm");
    assert!(number(storm, "/asked") > 472.0 + 0.06 * 32.0 * 17.0, "{storm:#}");
}

fn duty_anywhere<'a>(found: &'a Value, name: &str) -> &'a Value {
    if found["found"] == true {
        return duty(found, name);
    }
    let best = found["best_of_each_duty"].as_array().unwrap();
    &best.iter().find(|one| one["check"]["duty"] == name).unwrap()["check"]
}

#[test]
fn the_same_files_give_the_same_bytes_whatever_the_number_of_threads() {
    let dir = tempfile::tempdir().unwrap();
    site(dir.path(), FACILITY, DUTIES);
    let made: Vec<(Vec<u8>, Vec<u8>)> = ["1", "3"]
        .iter()
        .map(|threads| {
            let pdf = dir.path().join(format!("{threads}.pdf"));
            let output = Command::cargo_bin("bywash")
                .unwrap()
                .env("RAYON_NUM_THREADS", threads)
                .arg("size")
                .arg(dir.path())
                .args(["--period", "1 Nov 2012 to 28 Feb 2013", "--json", "-o"])
                .arg(&pdf)
                .output()
                .unwrap();
            assert!(output.status.success());
            // Off a terminal no progress is shown: where the document and its annex are, and no more.
            assert_eq!(String::from_utf8_lossy(&output.stderr).lines().count(), 2);
            (output.stdout, fs::read(pdf).unwrap())
        })
        .collect();
    assert_eq!(made[0], made[1]);
}

#[test]
fn what_is_wrong_with_the_question_is_told_all_at_once_and_ends_with_one() {
    let dir = tempfile::tempdir().unwrap();
    let run = |duties: &str, more: &[&str]| {
        site(dir.path(), FACILITY, duties);
        let output = Command::cargo_bin("bywash").unwrap().arg("size").arg(dir.path()).args(more).output().unwrap();
        assert_eq!(output.status.code(), Some(1));
        String::from_utf8_lossy(&output.stderr).into_owned()
    };
    let told = run(&DUTIES.replace("deepest: 3 m", "deepest: 3").replace("least: volume", "least: trouble"), &[]);
    assert!(told.contains("a number without its unit") && told.contains("trouble"), "{told}");
    let told = run(DUTIES, &["--pond", "Basni"]);
    assert!(told.contains("there is no pond `Basni`") && told.contains("did you mean `Basin`?"), "{told}");
    let told = run(&DUTIES.replace("2.65 times water, water", "0.3 times water, water"), &[]);
    assert!(told.contains("a particle no denser than water never settles"), "{told}");
    let told = run(&DUTIES.replace("freeboard: 0.5 m", "freeboard: 30 m"), &[]);
    assert!(told.contains("freeboard and banks take up the whole plot"), "{told}");
    let missing = Command::cargo_bin("bywash").unwrap().arg("size").arg(dir.path().join("nowhere")).output().unwrap();
    assert_eq!(missing.status.code(), Some(1));
}

/// The least pond of a site's period.
fn least_pond(dir: &Path, period: (NaiveDate, NaiveDate)) -> Basin {
    let (facility, weather, _, duties) = read(dir);
    let pond = facility.find(&duties.pond.as_ref().unwrap().value).unwrap();
    let at = Site { facility: &facility, pond, weather: &weather, period };
    let study = sizing::study(at, duties, &|_| {}).unwrap_or_else(|told| panic!("{:?}", told.in_order()));
    match study.outcome {
        Outcome::Pond(answer) => answer.found.basin,
        Outcome::None(none) => panic!("no pond: {:?}", none.best),
        Outcome::This(..) => unreachable!("a least pond was asked for"),
    }
}

/// A duties file with every length in feet, the foot being 0.3048 m exactly.
fn in_feet(duties: &str) -> String {
    let in_feet = |word: &str| {
        let metres: Option<f64> = word.parse().ok();
        metres.map(|metres| format!("{:.12}", metres / 0.3048))
    };
    let words: Vec<&str> = duties.split(' ').collect();
    let mut out: Vec<String> = Vec::new();
    for (at, word) in words.iter().enumerate() {
        let ends = |word: &&str| {
            word.strip_prefix('m').is_some_and(|rest| rest.is_empty() || rest.starts_with([',', '}', '\n']))
        };
        let before = at.checked_sub(1).and_then(|before| words.get(before)).and_then(|before| in_feet(before));
        let typed = if words.get(at + 1).is_some_and(ends) { in_feet(word) } else { None };
        match (typed, before) {
            (Some(feet), _) => out.push(feet),
            (None, Some(_)) if ends(word) => out.push(word.replacen('m', "ft", 1)),
            _ => out.push((*word).to_owned()),
        }
    }
    out.join(" ")
}

#[test]
fn every_system_of_units_comes_to_the_same_least_pond() {
    let day = |year, month, day| NaiveDate::from_ymd_opt(year, month, day).unwrap();
    let same = |a: &Basin, b: &Basin| {
        assert_relative_eq!(a.length_m, b.length_m, epsilon = 1e-9);
        assert_relative_eq!(a.width_m, b.width_m, epsilon = 1e-9);
        assert_relative_eq!(a.depth_m, b.depth_m, epsilon = 1e-9);
    };
    // Two small duties, reported in either system, their lengths typed in either.
    let own_steps = DUTIES
        .replace("steps: {depth: 1 m, length: 34 m, width: 16 m}\n", "")
        .replace("no oftener than: 3 a year", "no oftener than: 13 a year");
    let small = own_steps
        .replace("longest: 75 m, widest: 40 m, deepest: 3 m", "longest: 66 m, widest: 33 m, deepest: 2.6 m")
        .replace("least: volume", "least: cost")
        .replace("lasting at most: 20 days", "lasting at most: 25 days");
    let autumn = (day(2012, 10, 1), day(2012, 12, 31));
    for duties in [own_steps, small] {
        let feet = in_feet(&duties);
        assert!(feet.contains("ft, widest") && feet.contains("60 mm"), "{feet}");
        let ponds: Vec<Basin> =
            [("metric units", &duties), ("US units", &duties), ("metric units", &feet), ("US units", &feet)]
                .iter()
                .map(|(units, duties)| {
                    let dir = tempfile::tempdir().unwrap();
                    site(dir.path(), &FACILITY.replace("metric units", units), duties);
                    least_pond(dir.path(), autumn)
                })
                .collect();
        for other in &ponds[1..] {
            same(&ponds[0], other);
        }
    }
    // The demonstration over its wettest weeks, with a duty that weeks can do.
    let ponds: Vec<Basin> = ["US units", "metric units"]
        .iter()
        .map(|units| {
            let dir = tempfile::tempdir().unwrap();
            let text = |name: &str| fs::read_to_string(Path::new("demo-facility").join(name)).unwrap();
            fs::write(dir.path().join("facility.yaml"), text("facility.yaml").replace("US units", units)).unwrap();
            fs::write(
                dir.path().join("basin.yaml"),
                text("basin.yaml")
                    .replace("than: 5 a year, lasting at most: 14", "than: 60 a year, lasting at most: 30"),
            )
            .unwrap();
            fs::write(dir.path().join("rain.csv"), text("rain.csv")).unwrap();
            least_pond(dir.path(), (day(2025, 3, 10), day(2025, 4, 20)))
        })
        .collect();
    same(&ponds[0], &ponds[1]);
}

#[test]
fn the_present_pond_is_told_and_drawn_beside_the_one_found() {
    let dir = tempfile::tempdir().unwrap();
    site(dir.path(), FACILITY, &DUTIES.replace("no oftener than: 3 a year", "no oftener than: 13 a year"));
    let (found, _) = size(dir.path(), &["--period", "1 Nov 2012 to 28 Feb 2013"]);
    let tables = found["tables"].as_array().unwrap();
    let drawn = tables.iter().find(|of| of["heads"][1] == "What" && of["heads"][0] == "Pond").expect("the drawing");
    let heads: Vec<&str> = drawn["heads"].as_array().unwrap().iter().filter_map(Value::as_str).collect();
    let column =
        |head: &str| heads.iter().position(|known| known.starts_with(head)).unwrap_or_else(|| panic!("{heads:?}"));
    let (from, to, m3) = (column("From"), column("To"), column("Volume"));
    // 30 × 15 m, 2 m deep, 2 to 1: floor 22 × 7 m, half-way 26 × 11 m. Simpson: 2/6 × (154 + 4 × 286 + 450) = 582.67 m³.
    let volume: f64 = drawn["rows"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|row| row[0] == "The present pond" && row[1] != "Freeboard")
        .filter_map(|row| row[m3].as_f64())
        .sum();
    assert_relative_eq!(volume, 582.67, epsilon = 0.2);
    let length = |what: &str| {
        let rows = drawn["rows"].as_array().unwrap();
        let row =
            rows.iter().find(|row| row[0] == "The present pond" && row[1] == what).unwrap_or_else(|| panic!("{what}"));
        (row[from].as_f64().unwrap(), row[to].as_f64().unwrap())
    };
    assert_eq!((length("floor").0, length("water at the spill level").1), (22.0, 15.0));
    assert_eq!(length("bank top, inner edge"), (32.0, 17.0));
    // And on the page, with how many times the pond found holds it.
    let output = Command::cargo_bin("bywash")
        .unwrap()
        .arg("size")
        .arg(dir.path())
        .args(["--period", "1 Nov 2012 to 28 Feb 2013", "-o"])
        .arg(dir.path().join("basin.pdf"))
        .output()
        .unwrap();
    let page: String = String::from_utf8_lossy(&output.stderr).split_whitespace().collect::<Vec<_>>().join(" ");
    let times = number(&found, "/pond_found/volume_m3") / 582.67;
    assert!(page.contains(&format!("{times:.1} times the present pond, which holds 583 m³")), "{page}");
    assert!(page.contains("no level of this pond is on file"), "{page}");
}

/// The study of a site's wet half-year.
fn half_year(dir: &Path, this: bool) -> Study {
    let day = |year, month, day| NaiveDate::from_ymd_opt(year, month, day).unwrap();
    let (facility, weather, _, duties) = read(dir);
    let pond = facility.find("Basin").unwrap();
    let at = Site { facility: &facility, pond, weather: &weather, period: (day(2012, 10, 1), day(2013, 3, 31)) };
    let study = if this { sizing::study_this(at, duties, &|_| {}) } else { sizing::study(at, duties, &|_| {}) };
    study.unwrap_or_else(|told| panic!("{:?}", told.in_order()))
}

const WEATHER_ONLY: &str = "\
pond: Basin
plot: {longest: 75 m, widest: 40 m, deepest: 3 m, steepest side: 2 to 1, length to width at least: 2 to 1, bank all round: 2 m}
freeboard: 0.5 m
settling pool: 0.4 m
storm: {every: 10 years, lasting: 24 h, from: the normal level}
storm depths: {source: table of the county, depths: [{every: 10 years, lasting: 24 h, depth: 60 mm}]}
spills: {no oftener than: 8 a year, lasting at most: 20 days}
least: volume
cost: {dug: 8 EUR per m3, lined: 12 EUR per m2}
";

#[test]
fn a_larger_plot_or_an_easier_duty_never_gives_a_larger_pond_over_years_of_weather() {
    let dir = tempfile::tempdir().unwrap();
    let least = |duties: &str| {
        site(dir.path(), FACILITY, duties);
        match half_year(dir.path(), false).outcome {
            Outcome::Pond(answer) => {
                assert!(answer.found.proved);
                answer.found.basin.capacity_m3()
            }
            _ => f64::INFINITY,
        }
    };
    let mut before = f64::INFINITY;
    for longest in [44.0, 48.7, 49.1, 58.0, 75.0, 200.0] {
        let now = least(&WEATHER_ONLY.replace("longest: 75 m", &format!("longest: {longest} m")));
        assert!(now <= before, "{longest}: {now} after {before}");
        before = now;
    }
    assert!(before.is_finite());
    for easier in ["no oftener than: 12 a year", "no oftener than: 30 a year"] {
        let now = least(&WEATHER_ONLY.replace("no oftener than: 8 a year", easier));
        assert!(now <= before, "{easier}: {now} after {before}");
    }
    assert!(least(&WEATHER_ONLY.replace("freeboard: 0.5 m", "freeboard: 0.3 m")) <= before);
}

#[test]
fn days_without_rain_on_file_are_no_years_and_too_few_years_show_nothing() {
    let dir = tempfile::tempdir().unwrap();
    let duties = WEATHER_ONLY
        .replace("no oftener than: 8 a year, lasting at most: 20 days", "no oftener than: 0.1 a year")
        .replace("longest: 75 m, widest: 40 m, deepest: 3 m", "longest: 400 m, widest: 200 m, deepest: 6 m");
    site(dir.path(), FACILITY, &duties);
    let (found, told) = size(dir.path(), &["--period", "1 Jan 1970 to 31 Dec 2015"]);
    assert!(told.contains("rain is on file from 2012-01-01 to 2015-12-31"), "{told}");
    assert_eq!((found["first_day"].as_str(), number(&found, "/years")), (Some("2012-01-01"), 4.0));
    let spills = duty_anywhere(&found, "spill no oftener than asked");
    if number(spills, "/has") == 0.0 {
        assert_eq!(spills["comes_out"], "not shown");
    }
    // A year missing in the file's middle is no year either.
    let rain = fs::read_to_string(dir.path().join("rain.csv")).unwrap();
    let without: String = rain.lines().filter(|line| !line.contains("2014")).map(|line| format!("{line}\n")).collect();
    site(dir.path(), FACILITY, &WEATHER_ONLY.replace("8 a year", "20 a year"));
    fs::write(dir.path().join("rain.csv"), without).unwrap();
    let (found, _) = size(dir.path(), &[]);
    assert_eq!((number(&found, "/days_with_unknown_rain"), number(&found, "/years")), (365.0, 3.0));
    let spills = number(&found, "/over_the_years/spills");
    assert_relative_eq!(number(&found, "/over_the_years/spills_a_year"), spills / 3.0);
}

#[test]
fn a_storm_is_contained_only_where_the_run_keeps_its_level() {
    let dir = tempfile::tempdir().unwrap();
    let run = |duties: &str| {
        site(dir.path(), FACILITY, duties);
        size(dir.path(), &["--period", "1 Oct 2012 to 30 Sep 2013"]).0
    };
    let lacking = |of: &Value| number(of, "/over_the_years/days_without_room_for_the_storm");
    // With nothing that lets water out, the pond is as large as keeps the room on every day.
    let by_its_size = run(WEATHER_ONLY);
    assert_eq!(duty(&by_its_size, "contain the storm")["comes_out"], "does it");
    assert_eq!((lacking(&by_its_size), number(&by_its_size, "/over_the_years/let_out_m3")), (0.0, 0.0));
    let level = "from: the normal level";
    let pumped =
        run(&WEATHER_ONLY.replace(level, &format!("{level}, drawdown: {{by: pump, within: 24 h, to: Ditch}}")));
    let volume = |of: &Value| number(of, "/pond_found/volume_m3");
    assert!(volume(&pumped) < volume(&by_its_size));
    // The room of the storm in 24 hours; the run lets that water out and has the room.
    let storm = pumped["layers"].as_array().unwrap().iter().find(|one| one["layer"] == "Storm").unwrap();
    // Forty steps of rates make a tenfold; a faster one than the next is said.
    let (rate, in_time) = (number(&pumped, "/drawdown_m3_s"), number(storm, "/volume_m3") / 86_400.0);
    assert!(rate >= in_time * (1.0 - 1e-6), "{rate} {in_time}");
    assert_eq!(pumped["drawdown_in_time"].is_null(), rate <= in_time * 10f64.powf(1.0 / 40.0) * (1.0 + 1e-6));
    assert!(number(&pumped, "/over_the_years/let_out_m3") > 0.0);
    let longest = number(&pumped, "/over_the_years/longest_without_room_for_the_storm_days");
    let comes_out = duty(&pumped, "contain the storm")["comes_out"].as_str().unwrap().to_owned();
    assert_eq!(comes_out == "does it", longest <= 2.0, "{comes_out} with {longest}");
    // Asked of the run's own levels, a share of days is a duty that shapes are refused for.
    let own = run(&WEATHER_ONLY.replace(level, "from: the run's own levels, room on at least: 100 %"));
    let room = duty_anywhere(&own, "have the storm’s room free");
    assert_eq!(room["comes_out"], if number(room, "/has") >= 1.0 { "does it" } else { "does not" });
}

#[test]
fn a_pond_that_stands_is_held_against_its_duties_with_what_would_make_it() {
    let dir = tempfile::tempdir().unwrap();
    let duties = WEATHER_ONLY.replace(
        "storm: {every: 10 years, lasting: 24 h, from: the normal level}\nstorm depths: {source: table of the county, depths: [{every: 10 years, lasting: 24 h, depth: 60 mm}]}\n",
        "",
    );
    // How long spills last only falls with depth; how many there are may rise where one falls apart in two.
    let duties = duties.replace(
        "no oftener than: 8 a year, lasting at most: 20 days",
        "no oftener than: 100 a year, lasting at most: 2 days",
    );
    // A valve keeps the volume that it keeps in the pond as described: without one the site is the same for every shape.
    let site_text = FACILITY.replace("    filled from: {from: Well, up to: 0.8 m}\n", "");
    assert!(site_text.len() < FACILITY.len());
    site(dir.path(), &site_text, &duties);
    let Outcome::Pond(least) = half_year(dir.path(), false).outcome else { panic!("no pond") };
    let least = least.found.basin;
    let built = |depth_m: f64| {
        let shape = format!(
            "shape: {{length: {} m, width: {} m, depth: {depth_m:.6} m, side slope: 2 to 1",
            least.length_m, least.width_m
        );
        let facility = site_text.replace("shape: {length: 30 m, width: 15 m, depth: 2 m, side slope: 2 to 1", &shape);
        site(dir.path(), &facility, &duties);
        half_year(dir.path(), true).outcome
    };
    // The least pond, once built, does its duties; a tenth shallower it does not, and no more than that tenth is lacking.
    let Outcome::This(answer, changes) = built(least.depth_m) else { panic!() };
    assert!(answer.checks.iter().all(Check::is_met) && changes.is_empty(), "{:?}", answer.checks);
    let Outcome::This(answer, changes) = built(0.9 * least.depth_m) else { panic!() };
    assert!(!answer.checks.iter().all(Check::is_met));
    let change = |word: &str| changes.iter().find(|one| one.what.starts_with(word)).unwrap_or_else(|| panic!("{word}"));
    let Some(Amount::Length(deeper)) = change("floor lower").amount else { panic!("{changes:?}") };
    // No more than that tenth, within the step of 5 cm in which a depth is typed.
    assert!(deeper <= 0.1 * least.depth_m + 0.05, "{deeper} of {}", 0.1 * least.depth_m);
    // What it digs and costs is what the two shapes differ by.
    let (shape, was) = (change("floor").shape.unwrap(), answer.found.basin);
    let (earth, lined) = (shape.dug_m3() - was.dug_m3(), shape.lined_m2() - was.lined_m2());
    assert_relative_eq!(change("floor").earth_m3.unwrap(), earth, max_relative = 1e-9);
    assert_relative_eq!(change("floor").cost.unwrap(), 8.0 * earth + 12.0 * lined, max_relative = 1e-9);
    assert!(change("bank").amount.is_some() && change("less ground").amount.is_some());
    // The command says the same and draws it.
    let pdf = dir.path().join("this.pdf");
    let (found, _) = size(dir.path(), &["--this", "Basin", "-o", pdf.to_str().unwrap()]);
    assert!(found["changes"].is_array() && fs::read(pdf).unwrap().starts_with(b"%PDF-"));
}

#[test]
fn the_example_that_help_shows_works_on_the_demonstration() {
    let help = Command::cargo_bin("bywash").unwrap().args(["size", "--help"]).output().unwrap();
    let help = String::from_utf8_lossy(&help.stdout).into_owned();
    let example = help.lines().find_map(|line| line.trim().strip_prefix("bywash size ")).expect("an example");
    assert!(!example.contains('"'), "{example}: split by spaces below");
    let dir = tempfile::tempdir().unwrap();
    let args: Vec<String> = example
        .split(' ')
        .map(|word| match word {
            "basin.pdf" => dir.path().join(word).to_string_lossy().into_owned(),
            word => word.to_owned(),
        })
        .collect();
    // A few weeks of its year: what is asked is whether the words are right.
    let mut run = Command::cargo_bin("bywash").unwrap();
    let output = run.arg("size").args(args).args(["--period", "1 Jun 2025 to 20 Jun 2025"]).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    assert!(fs::read(dir.path().join("basin.pdf")).unwrap().starts_with(b"%PDF-"));
}

#[test]
fn the_duties_files_we_hand_out_are_read_without_a_problem() {
    for folder in ["demo-facility", "templates"] {
        let problems = Problems::new();
        let mut sources = Sources::new(Path::new(folder));
        let source = sources.text("basin.yaml", None, &problems).unwrap();
        let duties = yaml::tree(&source, &problems).and_then(|tree| sizing::read(&tree, &problems));
        let told: Vec<String> = problems.in_order().iter().map(|problem| problem.to_string_line()).collect();
        assert!(duties.is_some() && told.is_empty(), "{folder}: {told:?}");
    }
}

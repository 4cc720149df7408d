//! Which train? On a made-up site: what a train must do to be run, facts of the trade, laws, and what is printed.

#![cfg(test)]

mod rainy_copy;

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use bywash::compare::search::{self, Ground, Search};
use bywash::compare::{Alternative, Asked, COMPARED, Kind, Study, prices, study, without_driving_records};
use bywash::facility::{self, model::Facility};
use bywash::files::{Source, Sources, yaml};
use bywash::records::{self, Timeline};
use bywash::told::Problems;
use bywash::weather::{self, DailyWeather};
use rainy_copy::rainy_copy;
use serde_json::Value;

/// A copy of the made-up site with a year's rain.
struct Folder {
    dir: PathBuf,
    _temporary: tempfile::TempDir,
}

impl Folder {
    fn new() -> Self {
        let names = ["facility.yaml", "rules.yaml", "prices.yaml", "stages.yaml"];
        let (temporary, dir) = rainy_copy("tests/trains_site", &names);
        Self { dir, _temporary: temporary }
    }

    fn read(&self, file: &str) -> String {
        std::fs::read_to_string(self.dir.join(file)).unwrap()
    }

    /// A line of a file put in place of another.
    fn change(&self, file: &str, was: &str, now: &str) {
        let text = self.read(file);
        assert!(text.contains(was), "{file}: {was}");
        std::fs::write(self.dir.join(file), text.replacen(was, now, 1)).unwrap();
    }

    /// The kinds of stages.yaml, each with its name and its lines.
    fn kinds(&self) -> (String, Vec<String>) {
        let text = self.read("stages.yaml");
        let (head, kinds) = text.split_once("stages:\n").unwrap();
        let mut all: Vec<String> = Vec::new();
        for line in kinds.split_inclusive('\n') {
            if !line.starts_with("    ") {
                all.push(String::new());
            }
            all.last_mut().unwrap().push_str(line);
        }
        (format!("{head}stages:\n"), all)
    }

    fn with_kinds(&self, head: &str, kinds: &[String]) {
        std::fs::write(self.dir.join("stages.yaml"), format!("{head}{}", kinds.concat())).unwrap();
    }

    fn searched(&self, draws: u32) -> Value {
        let out = Command::cargo_bin("bywash")
            .unwrap()
            .arg("compare")
            .arg(&self.dir)
            .args(["--search", "--json", "--draws", &draws.to_string()])
            .output()
            .unwrap();
        assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
        serde_json::from_slice(&out.stdout).unwrap()
    }
}

/// Trains with what became of them and why, by their stages.
fn trains(all: &Value) -> Vec<(Vec<&str>, &str, String, &Value)> {
    let trains = all["trains"].as_array().unwrap().iter();
    trains
        .map(|train| {
            let stages = train["stages"].as_array().unwrap().iter().map(|stage| stage.as_str().unwrap()).collect();
            (stages, train["became"].as_str().unwrap(), train["why"].to_string(), &train["figures"])
        })
        .collect()
}

fn median(figures: &Value, key: &str) -> f64 {
    figures[key]["median"].as_f64().unwrap_or_else(|| panic!("{key}: {figures}"))
}

const COST: &str = "costs_more_worth_today";
const HELD_BY: [&str; 4] = [COST, "wash_water_m3", "labour_h", "wet_waste_kg"];

fn three(value: f64) -> f64 {
    format!("{value:.2e}").parse().unwrap()
}

/// By the definition, from the figures that are printed: each against every other and the site.
#[test]
fn what_is_said_not_to_be_beaten_is_so_by_its_own_figures_and_the_rest_is_beaten() {
    let found = Folder::new().searched(20);
    let held = |figures: &Value| HELD_BY.map(|key| three(median(figures, key)));
    let all = trains(&found);
    let mut compared: Vec<([f64; 4], bool)> = all
        .iter()
        .filter(|train| ["beaten", "not beaten"].contains(&train.1))
        .map(|train| (held(train.3), train.1 == "beaten"))
        .collect();
    assert!(compared.len() > 6, "{compared:?}");
    compared.push((held(&found["as_it_stands"]), !found["as_it_stands_beaten_by"].is_null()));
    for (of, is_beaten) in &compared {
        let beats = |other: &[f64; 4]| (0..4).all(|i| other[i] <= of[i]) && (0..4).any(|i| other[i] < of[i]);
        assert_eq!(compared.iter().any(|(other, _)| beats(other)), *is_beaten, "{of:?}");
    }
    assert!(compared.iter().any(|(_, is_beaten)| *is_beaten) && compared.iter().any(|(_, is_beaten)| !is_beaten));
}

/// Samples at the drain agree on average with what is computed there, and are far over it on two days: no train that changes it is
/// shown to keep its limit. Such a train is marked, and beats none that is not.
#[test]
fn what_a_limit_leaves_not_decided_is_marked_and_beats_nothing_that_is_not() {
    let folder = Folder::new();
    folder.change("facility.yaml", "rules: rules.yaml", "rules: rules.yaml\nrecords: records");
    folder.change(
        "rules.yaml",
        "limits:\n",
        "limits:\n  Drain solids:\n    at: Drain\n    parameter: total suspended solids\n    statistic: daily maximum\n    at most: 9000 mg/L\n",
    );
    std::fs::create_dir(folder.dir.join("records")).unwrap();
    let head = "date,place,what,parameter,value,unit,qualifier,paper,received,who,note\n";
    let sampled = |day| if [14, 15].contains(&day) { 4000 } else { 600 };
    let samples: String = (1..=31)
        .map(|day| format!("2012-08-{day:02} 09:00,Drain,sample,total suspended solids,{},mg/L,,,,,\n", sampled(day)))
        .collect();
    std::fs::write(folder.dir.join("records/lab.csv"), format!("{head}{samples}")).unwrap();
    let found = folder.searched(20);
    let open = |figures: &Value| f64::from(u8::from(!figures["not_decided"].as_array().unwrap().is_empty()));
    let held = |figures: &Value| {
        let [a, b, c, d] = HELD_BY.map(|key| three(median(figures, key)));
        [open(figures), a, b, c, d]
    };
    let all = trains(&found);
    let run = || all.iter().filter(|train| ["beaten", "not beaten"].contains(&train.1));
    let mut compared: Vec<([f64; 5], bool)> = run().map(|train| (held(train.3), train.1 == "beaten")).collect();
    assert!(compared.iter().any(|(of, _)| of[0] > 0.0), "{found:#}");
    compared.push((held(&found["as_it_stands"]), !found["as_it_stands_beaten_by"].is_null()));
    for (of, is_beaten) in &compared {
        let beats = |other: &[f64; 5]| (0..5).all(|i| other[i] <= of[i]) && (0..5).any(|i| other[i] < of[i]);
        assert_eq!(compared.iter().any(|(other, _)| beats(other)), *is_beaten, "{of:?} {compared:?}");
    }
    let why = run().map(|train| train.3["not_decided"].to_string()).find(|why| why.contains("Drain solids"));
    assert!(why.is_some_and(|why| why.contains("by what was sampled it may be up to")), "{all:?}");
}

/// A stricter limit on what goes to the drain is never kinder to a train, whatever the samples there have more than is computed.
#[test]
fn a_stricter_limit_never_gives_a_kinder_answer() {
    let folder = Folder::new();
    folder.change("facility.yaml", "rules: rules.yaml", "rules: rules.yaml\nrecords: records");
    std::fs::create_dir(folder.dir.join("records")).unwrap();
    let head = "date,place,what,parameter,value,unit,qualifier,paper,received,who,note\n";
    let samples: String = (1..=31)
        .map(|day| format!("2012-08-{day:02} 09:00,Drain,sample,total suspended solids,750,mg/L,,,,,\n"))
        .collect();
    std::fs::write(folder.dir.join("records/lab.csv"), format!("{head}{samples}")).unwrap();
    let rules = folder.read("rules.yaml");
    let mut last: Vec<(String, u8)> = Vec::new();
    let mut seen = BTreeSet::new();
    for at_most in [90_000, 9_000, 5_000, 800, 700, 560, 100] {
        let limit = format!(
            "limits:\n  Drain solids:\n    at: Drain\n    parameter: total suspended solids\n    statistic: daily maximum\n    \
             at most: {at_most} mg/L\n"
        );
        std::fs::write(folder.dir.join("rules.yaml"), rules.replacen("limits:\n", &limit, 1)).unwrap();
        let found = folder.searched(20);
        let kind = |(_, became, why, figures): &(Vec<&str>, &str, String, &Value)| -> u8 {
            let any = |key: &str| figures[key].as_array().is_some_and(|open| !open.is_empty());
            match (*became, any("stays_outside_of"), any("not_decided")) {
                ("apart", ..) if why.contains("Drain solids") => 0,
                (_, true, _) => 1,
                (_, _, true) => 2,
                _ => 3,
            }
        };
        let all: Vec<(String, u8)> = trains(&found).iter().map(|train| (train.0.join(", "), kind(train))).collect();
        for ((name, now), (known, before)) in all.iter().zip(&last) {
            assert_eq!(name, known);
            assert!(now <= before, "{name} at {at_most} mg/L: {before} became {now}");
        }
        seen.extend(all.iter().map(|(_, kind)| *kind));
        last = all;
    }
    assert_eq!(seen.into_iter().collect::<Vec<_>>(), [0, 2, 3]);
}

/// Counted by hand: 200, 100, 50 (beds and two numbers of bags), 25, 25, 10, 10 µm, each at least 1.5 times finer than the one before.
#[test]
fn every_train_is_there_and_the_site_itself_is_not_among_them() {
    let folder = Folder::new();
    folder.change("stages.yaml", "sizes: 100 um", "sizes: [200 um, 100 um]");
    let two = "    side by side:\n      2: {housings: 2, changed: {after: 2 kg of solids}}\n";
    folder.change("stages.yaml", "    used up: {price: 5.00", &format!("{two}    used up: {{price: 5.00"));
    // Nothing keeps back all of it, so that none is run.
    folder.change("stages.yaml", "at least: 60 %", "at least: 100 %");
    let found = folder.searched(0);
    let units = [200, 100, 50, 50, 50, 25, 25, 10, 10];
    let mut expected = 0;
    for a in units {
        expected += 1;
        for b in units.into_iter().filter(|b| 2 * a >= 3 * b) {
            expected += 1 + units.into_iter().filter(|c| 2 * b >= 3 * c).count();
        }
    }
    let all = trains(&found);
    assert_eq!(all.len(), expected - 1);
    let names: BTreeSet<_> = all.iter().map(|train| train.0.clone()).collect();
    assert_eq!(names.len(), all.len());
    assert!(!names.contains(&vec!["Beds"]) && names.contains(&vec!["Screen 200 um", "Beds", "Bags 10 um (2)"]));
}

#[test]
fn one_kind_more_never_makes_the_best_dearer() {
    let folder = Folder::new();
    let (head, kinds) = folder.kinds();
    let cheapest = |found: &Value| {
        let all = trains(found);
        let of = all.iter().filter(|train| train.1 == "not beaten").map(|train| median(train.3, COST));
        of.fold(if found["as_it_stands_beaten_by"].is_null() { 0.0 } else { f64::INFINITY }, f64::min)
    };
    let all = cheapest(&folder.searched(20));
    for left_out in 0..kinds.len() {
        let mut fewer = kinds.clone();
        fewer.remove(left_out);
        folder.with_kinds(&head, &fewer);
        assert!(all <= cheapest(&folder.searched(20)), "{}", kinds[left_out]);
    }
}

#[test]
fn the_order_of_kinds_in_the_file_changes_nothing() {
    let folder = Folder::new();
    let (head, mut kinds) = folder.kinds();
    let before = folder.searched(20);
    kinds.reverse();
    folder.with_kinds(&head, &kinds);
    let after = folder.searched(20);
    let all = |found: &Value| -> Vec<(String, String, Option<[String; 4]>)> {
        let figures = |of: &Value| of.is_object().then(|| HELD_BY.map(|key| format!("{:.9e}", median(of, key))));
        trains(found)
            .into_iter()
            .map(|(stages, became, why, of)| (stages.join(" > "), became.to_owned() + &why, figures(of)))
            .collect()
    };
    for (one, other) in all(&before).iter().zip(&all(&after)) {
        assert_eq!(one, other);
    }
    assert_eq!(all(&before).len(), all(&after).len());
}

#[test]
fn where_no_wash_water_may_go_bags_are_what_is_left() {
    let washing = |stage: &&str| stage.starts_with("Screen") || stage.starts_with("Beds");
    for (file, was, now, why) in [
        ("stages.yaml", "wash water to: Drain", "wash water to: nowhere", "has nowhere to go"),
        ("rules.yaml", "at most: 6 m3", "at most: 0 m3", "the limit Wash water allows none"),
    ] {
        let folder = Folder::new();
        folder.change(file, was, now);
        let found = folder.searched(0);
        let all = trains(&found);
        let (refused, ran): (Vec<_>, Vec<_>) = all.iter().partition(|train| train.1 == "refused");
        assert!(!ran.is_empty() && ran.iter().all(|train| !train.0.iter().any(washing)), "{file}");
        for train in &refused {
            assert_eq!(train.2.contains(why), train.0.iter().any(washing), "{train:?}");
        }
    }
}

#[test]
fn a_train_too_coarse_or_before_a_stage_that_takes_less_is_refused_with_its_figure() {
    let folder = Folder::new();
    folder.change("stages.yaml", "    used up: {price: 5.00", "    takes at most: 45 mg/L\n    used up: {price: 5.00");
    let found = folder.searched(0);
    let why = |wanted: &[&str]| trains(&found).into_iter().find(|train| train.0 == wanted).unwrap().2;
    // Openings of 100 µm stop nothing of 50 µm; a 100 µm screen a few of the 80 mg/L that come, beds over half of them.
    assert!(why(&["Screen 100 um"]).contains("keeps back 0 % of 50 µm, and 60 % is asked for"));
    assert!(why(&["Bags 25 um"]).contains("80 mg/L would come to Bags 25 um, which takes 45 mg/L at most"));
    assert!(why(&["Screen 100 um", "Bags 25 um"]).contains("which takes 45 mg/L"));
    assert!(!why(&["Beds", "Bags 25 um"]).contains("takes"));
}

/// A limit on the wash water of filters that go holds for all the wash water of a train, two streams of it together.
#[test]
fn the_limit_on_wash_water_is_held_against_the_whole_train() {
    let folder = Folder::new();
    // By hand: a wash of the beds is 22 m3/h for 3 minutes, two vessels, 2.2 m3, and no oftener than once a day, since at most
    // 2 kg come in a day and beds stop half of them; one of the screen is 10 m3/h for 20 s, 0.056 m3. On days with both they are over.
    folder.change("facility.yaml", "rate: 20 m3/h to 24 m3/h", "rate: 22 m3/h");
    folder.change("rules.yaml", "at most: 6 m3", "at most: 2.23 m3");
    let found = folder.searched(20);
    let all = trains(&found);
    let of = |wanted: &[&str]| all.iter().find(|train| train.0 == wanted).unwrap();
    let both = of(&["Screen 100 um", "Beds"]);
    assert!(both.1 == "apart" && both.2.contains("predicted outside of Wash water"), "{both:?}");
    // Each stream alone is within.
    for alone in [&["Screen 100 um", "Bags 25 um"], &["Beds", "Bags 25 um"]] {
        assert!(["beaten", "not beaten"].contains(&of(alone).1), "{:?}", of(alone));
    }
    assert_eq!(found["as_it_stands"]["predicted_outside"], serde_json::json!([]));
}

#[test]
fn without_a_price_there_is_no_ranking_by_money_and_the_rest_is_still_held() {
    let folder = Folder::new();
    let labour = "  labour: {price: 20 EUR per h, by: \"invented\"}\n";
    folder.change("prices.yaml", labour, "");
    let found = folder.searched(20);
    assert_eq!(found["held_by"], serde_json::json!(["wash_water_m3", "labour_h", "wet_waste_kg"]));
    assert!(found["not_by_money"].to_string().contains("no price of `labour`"), "{}", found["not_by_money"]);
    assert!(trains(&found).iter().any(|train| train.1 == "not beaten"));
    for train in trains(&found).iter().filter(|train| train.1 == "not beaten") {
        assert!(train.3[COST]["not_compared"].is_array());
    }
}

/// Three washes a day on file, and the ranges give less than one: what a train would save turns on it.
#[test]
fn where_the_log_contradicts_the_computation_there_is_no_ranking_by_money() {
    let folder = Folder::new();
    folder.change("facility.yaml", "rules: rules.yaml", "rules: rules.yaml\nrecords: records");
    folder.change("facility.yaml", "washes: {after", "washes: {by: log, or after");
    let mut log = String::from("date,place,what,parameter,value,unit,qualifier,paper,received,who,note\n");
    for line in folder.read("rain.csv").lines().skip(1) {
        log.push_str(&format!("{},Beds,washes,,3,,,,,,\n", line.split(',').next().unwrap()));
    }
    std::fs::create_dir(folder.dir.join("records")).unwrap();
    std::fs::write(folder.dir.join("records/log.csv"), log).unwrap();
    let found = folder.searched(20);
    assert_eq!(found["held_by"], serde_json::json!(["wash_water_m3", "labour_h", "wet_waste_kg"]));
    let why = found["not_by_money"].to_string();
    assert!(why.contains("washes of Beds computed") && why.contains("logged"), "{why}");
    assert!(trains(&found).iter().any(|train| train.1 == "not beaten"));
}

/// The flow of a wash is not known: nought would look like a site without wash water, and bags would still have a figure.
#[test]
fn what_is_not_known_of_the_site_is_never_printed_as_nought() {
    let folder = Folder::new();
    folder.change("facility.yaml", "rate: 20 m3/h to 24 m3/h", "rate: not known");
    let found = folder.searched(0);
    let now = &found["as_it_stands"];
    assert!(now["wash_water_m3"]["not_compared"].is_array(), "{now}");
    assert!(found["as_it_stands_beaten_by"].is_null());
    for train in trains(&found).iter().filter(|train| train.1 == "not beaten" || train.1 == "beaten") {
        assert!(!train.2.contains("as it stands") && !train.0.contains(&"Beds"), "{train:?}");
    }
}

#[test]
fn what_is_cut_off_is_told_and_never_left_out_without_a_word() {
    let folder = Folder::new();
    folder.change("stages.yaml", "each finer by", "trains at most: 5\neach finer by");
    let found = folder.searched(0);
    let all = trains(&found);
    let cut = all.iter().filter(|train| train.2.contains("5 trains were run before it")).count();
    assert!(cut > 0 && found["left_out"] == cut, "{cut}");
    assert_eq!(all.iter().filter(|train| train.1 != "refused").count(), 5);
}

/// The site and the search over it, in this process.
struct Site {
    tree: yaml::Node,
    rules: yaml::Node,
    facility: Facility,
    prices: prices::Prices,
    weather: DailyWeather,
    timeline: Timeline,
    stages: search::Stages,
}

fn node(name: &str, text: &str) -> yaml::Node {
    let problems = Problems::new();
    let node = yaml::tree(&Source::new(name, text), &problems).unwrap();
    assert!(problems.is_empty());
    node
}

impl Site {
    fn of(folder: &Folder) -> Self {
        let problems = Problems::new();
        let mut sources = Sources::new(&folder.dir);
        let tree = facility::tree(&folder.dir, &mut sources, &problems).unwrap();
        let facility = facility::from_tree(&tree, &folder.dir, &problems).unwrap();
        let timeline = records::read(&facility, &mut sources, &problems);
        let period = facility.period.unwrap();
        let weather = weather::read(&facility, period, &timeline.rain, &mut sources, &problems);
        let prices = prices::read(&node("prices.yaml", &folder.read("prices.yaml")), &problems).unwrap();
        let stages = search::read(&node("stages.yaml", &folder.read("stages.yaml")), &problems).unwrap();
        let rules = node("rules.yaml", &folder.read("rules.yaml"));
        assert!(!problems.has_errors(), "{:?}", problems.in_order());
        Self { tree, rules, facility, prices, weather, timeline: without_driving_records(&timeline), stages }
    }

    /// The site as it stands beside trains of these units.
    fn studied(&self, wanted: &[&[&str]], draws: u64) -> Study {
        let problems = Problems::new();
        let (tree, facility, prices) = (&self.tree, &self.facility, &self.prices);
        let ground = Ground { tree, facility, rules: Some(&self.rules), prices };
        let search = Search::new(self.stages.clone(), ground, &problems).unwrap();
        let stands = Alternative::as_it_stands(tree, &facility.directory, Some(&self.rules), &problems).unwrap();
        let at = |name: &str| search.units.iter().position(|unit| unit.name == name).unwrap();
        let mut options = vec![stands.clone()];
        for train in wanted {
            let chain: Vec<usize> = train.iter().map(|name| at(name)).collect();
            options.push(search.built(&chain, &stands, &problems).unwrap());
        }
        assert!(!problems.has_errors(), "{:?}", problems.in_order());
        let asked = Asked {
            options: &options,
            prices,
            weather: &self.weather,
            timeline: &self.timeline,
            log: &self.timeline,
            period: facility.period.unwrap(),
            draws,
        };
        study(&asked, &|_| {}).unwrap()
    }
}

/// A figure of one stage in the single run.
fn figure(study: &Study, option: usize, kind: Kind, stage: &str) -> f64 {
    study.paired(option, kind).into_iter().find(|paired| paired.id == stage).unwrap().values[0]
}

#[test]
fn a_train_of_the_filters_that_stand_there_has_their_figures_in_every_draw() {
    let folder = Folder::new();
    // Each typed pump has a line of its own in the bill, so the site's is taken away on both sides.
    folder.change(
        "prices.yaml",
        "pumps:\n  Booster: {water to: Beds, head: 30 m, efficiency: 50 %, by: \"invented\"}\n",
        "",
    );
    folder.change("stages.yaml", "pump: {head: 28 m, efficiency: 50 %}\n", "");
    folder.change("stages.yaml", "    pump: {head: 2 m, efficiency: 50 %}\n", "");
    let study = Site::of(&folder).studied(&[&["Beds"]], 12);
    for kind in COMPARED {
        let more = study.more(1, 0, kind);
        assert!(more.is_nought(), "{kind:?}: {more:?}");
    }
    let money = study.present_more(1, 0);
    assert!(money.is_nought(), "{money:?}");
    assert!(study.total(0, Kind::WashWater).values.iter().any(|v| *v != study.total(0, Kind::WashWater).values[0]));
    let outcomes =
        |option: usize| study.options[option].limits.iter().map(|l| (l.outcome, l.figure.clone())).collect::<Vec<_>>();
    assert_eq!(outcomes(1), outcomes(0));
}

/// Fewer than two or three stages down to 10 µm clog too often, and what is taken out first by simple means spares the fine
/// stage (common practice, no source).
#[test]
fn a_stage_in_front_spares_the_fine_one_and_a_second_spares_it_more() {
    let trains: [&[&str]; 4] = [
        &["Bags 10 um"],
        &["Bags 25 um", "Bags 10 um"],
        &["Beds", "Bags 10 um"],
        &["Bags 50 um", "Bags 25 um", "Bags 10 um"],
    ];
    let study = Site::of(&Folder::new()).studied(&trains, 0);
    let changes = |option: usize| figure(&study, option, Kind::Changes, "Bags 10 um");
    assert!(changes(1) > 1.5 * changes(2), "{} {}", changes(1), changes(2));
    assert!(changes(1) > 1.5 * changes(3), "{} {}", changes(1), changes(3));
    assert!(changes(2) > changes(4), "{} {}", changes(2), changes(4));
    // A bag of 1 kg takes what is coarser than its opening, four fifths of it: by hand, 7.32 m3 · 1000 · 0.08 kg/m3 at a whole year.
    let comes_kg = 366.0 * 20.0 * 0.080;
    assert!(changes(1) < comes_kg * 0.8 && changes(1) > 0.5 * comes_kg, "{} of {comes_kg}", changes(1));
}

/// Crushed glass in place of sand: a fifth to a quarter less wash water, and finer (common practice, no source).
#[test]
fn crushed_glass_takes_a_fifth_to_a_quarter_less_wash_water_and_lets_less_through() {
    let folder = Folder::new();
    let beds = folder.read("facility.yaml");
    let lines = beds.split_once("  Beds:\n").unwrap().1.split_once("\ndischarge").unwrap().0;
    let glass: String = lines
        .lines()
        .filter(|line| !line.contains("takes from") && !line.trim().is_empty())
        .map(|line| format!("  {line}\n"))
        .collect::<String>()
        .replace(
            "kind: silica sand, ",
            "kind: crushed glass, compared with sand: {wash flow: 0.75 times to 0.80 times}, ",
        )
        .replace("50 um: 80 %, 30 um: 50 %, 10 um: 15 %", "50 um: 85 %, 30 um: 60 %, 10 um: 20 %")
        // The same occasions to wash, so that the water of one is what differs.
        .replace("after: 1.2 kg of solids", "every: 12 h");
    let text = folder.read("stages.yaml");
    let glass =
        format!("{text}  Glass:\n    figures from: common practice, no source\n    lines:\n{glass}    sizes: 40 um\n");
    std::fs::write(folder.dir.join("stages.yaml"), glass).unwrap();
    folder.change("facility.yaml", "washes: {after: 1.2 kg of solids}", "washes: {every: 12 h}");
    // By area: what is typed as the flow of a pump stays as it is.
    for file in ["facility.yaml", "stages.yaml"] {
        folder.change(file, "rate: 20 m3/h to 24 m3/h", "rate: 37 m/h");
    }
    let study = Site::of(&folder).studied(&[&["Glass 40 um"]], 40);
    let (sand, glass) = (study.total(0, Kind::WashWater), study.total(1, Kind::WashWater));
    let times = glass.values[0] / sand.values[0];
    assert!((0.75..=0.80).contains(&times), "{times}");
    let served = study.service.iter().find(|served| served.option == 1).unwrap();
    assert!(served.differences.is_empty() && served.lines.iter().all(|line| line.alike), "{served:?}");
    let drip = served.lines.iter().find(|line| line.what == bywash::compare::What::Coarse).unwrap();
    assert!(drip.after < drip.before, "{drip:?}");
}

#[test]
fn the_document_draws_them_beside_the_site_and_the_annex_has_every_train() {
    let folder = Folder::new();
    let pdf = folder.dir.join("trains.pdf");
    let out = Command::cargo_bin("bywash")
        .unwrap()
        .arg("compare")
        .arg(&folder.dir)
        .args(["--search", "--draws", "20"])
        .output()
        .unwrap();
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    let words = |path: &Path| {
        let out = std::process::Command::new("pdftotext").args(["-layout", path.to_str().unwrap(), "-"]).output();
        out.ok().map(|out| String::from_utf8_lossy(&out.stdout).into_owned())
    };
    let (Some(main), Some(annex)) = (words(&pdf), words(&folder.dir.join("trains-annex.pdf"))) else {
        eprintln!("pdftotext is missing: the words of the PDF are not looked at");
        return;
    };
    for said in
        ["left to choose from", "now", "Costs more than now over 10 years", "common practice", "none is metered"]
    {
        assert!(main.contains(said), "{said}: {main}");
    }
    for said in ["Every train that was not run", "keeps back 0 % of 50 µm", "Every train that was run", "Screen 100 µm"]
    {
        assert!(annex.contains(said), "{said}");
    }
    let verified = Command::cargo_bin("bywash").unwrap().arg("verify").arg(&pdf).arg(&folder.dir).output().unwrap();
    let said = String::from_utf8_lossy(&verified.stdout).into_owned();
    assert!(verified.status.success() && said.starts_with("Yes"), "{said}");
}

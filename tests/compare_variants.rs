//! One made-up site and what an honest adviser would say of it as its log, its samples, its limits and its prices are varied, one thing
//! at a time. What is expected was written down before, from the lines of the site alone.

#![cfg(test)]

mod rainy_copy;

use std::path::PathBuf;

use assert_cmd::Command;
use rainy_copy::rainy_copy;
use serde_json::Value;

const HEAD: &str = "date,place,what,parameter,value,unit,qualifier,paper,received,who,note\n";

struct Site {
    dir: PathBuf,
    rows: String,
    _temporary: tempfile::TempDir,
}

impl Site {
    fn new() -> Self {
        let names =
            ["facility", "rules", "prices", "proposals/tuned", "proposals/bags", "proposals/none", "proposals/same"]
                .map(|name| format!("{name}.yaml"));
        let (temporary, dir) = rainy_copy("tests/variants_site", &names.each_ref().map(String::as_str));
        std::fs::create_dir_all(dir.join("records")).unwrap();
        Self { dir, rows: HEAD.to_owned(), _temporary: temporary }
    }

    fn change(&self, file: &str, was: &str, now: &str) {
        let text = std::fs::read_to_string(self.dir.join(file)).unwrap();
        assert!(text.contains(was), "{file}: {was}");
        std::fs::write(self.dir.join(file), text.replace(was, now)).unwrap();
    }

    /// A slip for the middle of each month at a place.
    fn sampled(&mut self, place: &str, slip: impl Fn(u32) -> String) {
        for month in 1..=12 {
            self.rows.push_str(&format!(
                "2012-{month:02}-14 10:00,{place},sample,total suspended solids,{},,,,\n",
                slip(month)
            ));
        }
    }

    /// So many washes of the beds in every hundred days.
    fn washed(&mut self, in_100_days: u32) {
        self.rows.push_str("2011-12-31,Beds,washes,,1,,,,,,\n");
        let days = chrono::NaiveDate::from_ymd_opt(2012, 1, 1).unwrap().iter_days().take(366);
        for (day, date) in (0..).zip(days) {
            let washes = (day + 1) * in_100_days / 100 - day * in_100_days / 100;
            self.rows.push_str(&format!("{date},Beds,washes,,{washes},,,,,,\n"));
        }
    }

    fn run(&self, args: &[&str]) -> String {
        std::fs::write(self.dir.join("records/all.csv"), &self.rows).unwrap();
        let mut command = Command::cargo_bin("bywash").unwrap();
        let out = command.arg("compare").arg(&self.dir).args(["--draws", "20"]).args(args).output().unwrap();
        assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
        String::from_utf8_lossy(&[out.stdout, out.stderr].concat()).into_owned()
    }

    fn json(&self) -> Value {
        let all = self.run(&["--json"]);
        serde_json::from_str(&all[..=all.rfind('}').unwrap()]).unwrap()
    }

    fn words(&self) -> String {
        let pdf = self.dir.join("case.pdf");
        self.run(&["-o", pdf.to_str().unwrap()]).split_whitespace().collect::<Vec<_>>().join(" ")
    }
}

fn option<'a>(all: &'a Value, name: &str) -> &'a Value {
    all["options"].as_array().unwrap().iter().find(|of| of["name"] == name).unwrap_or_else(|| panic!("{name}"))
}

fn answer(all: &Value, name: &str) -> String {
    option(all, name)["an_answer"].as_str().unwrap().to_owned()
}

/// The worst figure of a limit of an option.
fn figure(all: &Value, name: &str, limit: &str) -> f64 {
    let limits = option(all, name)["limits"].as_array().unwrap();
    let of = limits.iter().find(|of| of["name"] == limit).unwrap()["figure"].as_str().unwrap();
    of.split(' ').next().unwrap().parse().unwrap()
}

/// A slip with a figure, or below it.
fn slip(value: f64, qualifier: &str) -> String {
    format!("{value:.0},mg/L,{qualifier}")
}

/// The year on file as it is computed: 1.56 washes a day (3.2 kg a day of which 58 % are caught, 1.2 kg a wash), samples as the site has them.
fn in_good_order(site: &mut Site) {
    site.washed(156);
    site.sampled("Sewer", |month| slip(if month % 2 == 0 { 590.0 } else { 550.0 }, ""));
    site.sampled("Brook", |month| slip(if month % 2 == 0 { 38.0 } else { 35.0 }, ""));
}

/// A permit that limits the wash water of the beds means what is washed in their stead: a screen that sends 10 m³/h in one minute twice a
/// day, 0.33 m³, is outside of 0.1 m³ a day, and with bags nothing is left to limit.
#[test]
fn a_limit_on_the_wash_water_of_what_is_gone_holds_for_what_is_washed_in_its_stead() {
    let site = Site::new();
    site.change(
        "rules.yaml",
        "limits:\n",
        "limits:\n  Wash water:\n    words: \"Filter wash water: not more than 0.1 cubic metres a day.\"\n    at: {wash water of: Beds}\n    \
         parameter: water\n    statistic: daily total\n    at most: 0.1 m3\n",
    );
    let outcome = |all: &Value| {
        let option = all["options"].as_array().unwrap().iter().find(|of| of["name"] == "Inlet bags").unwrap().clone();
        let gone = option["limits_that_apply_no_longer"].to_string();
        let limits = option["limits"].as_array().unwrap().clone();
        let found = limits.iter().find(|limit| limit["name"] == "Wash water").map(|limit| limit["outcome"].to_string());
        (gone, found)
    };
    let (gone, found) = outcome(&site.json());
    assert!(gone.contains("Wash water") && found.is_none_or(|outcome| outcome == "null"), "bags");
    let bags = std::fs::read_to_string(site.dir.join("proposals/bags.yaml")).unwrap();
    let (from, to) = (bags.find("    kind: bag").unwrap(), bags.find("    takes from").unwrap());
    let screen = "    kind: pressure screen\n    in line: 1\n    cleaned: by itself\n    opening: 50 um\n    stops: {bigger than the opening: 80 %}\n    \
        washes: {every: 12 h}\n    one wash: {rate: 10 m3/h, lasts: 1 min, each: body}\n    washed with: its own filtered water\n    \
        wash water to: Sewer\n";
    let text = format!("{}{screen}{}", &bags[..from], &bags[to..]).replace("    spent media to: Skip\n", "");
    std::fs::write(site.dir.join("proposals/bags.yaml"), text).unwrap();
    let (gone, found) = outcome(&site.json());
    assert!(!gone.contains("Wash water"), "{gone}");
    assert_eq!(found.as_deref(), Some("\"predicted outside\""));
}

#[test]
fn what_changes_nothing_is_said_to_change_nothing_whatever_is_doubted() {
    let mut site = Site::new();
    // Half of the washes that are computed, three times the solids, and a limit that the site is computed outside of.
    site.washed(78);
    site.sampled("Sewer", |_| slip(1700.0, ""));
    site.change("rules.yaml", "at most: 900 mg/L", "at most: 400 mg/L");
    let all = site.json();
    assert_eq!(
        (answer(&all, "The same again").as_str(), &option(&all, "The same again")["verdict"]["verdict"]),
        ("changes nothing", &Value::from("same"))
    );
    let words = site.words();
    assert!(
        words.contains("The same again It changes nothing: water, solids, money and limits are those of the site"),
        "{words}"
    );
    assert_ne!(answer(&all, "Tuned"), "changes nothing");
}

#[test]
fn a_year_in_good_order_gives_a_plain_yes_and_no_filter_is_a_no() {
    let mut site = Site::new();
    in_good_order(&mut site);
    site.change("rules.yaml", "at most: 900 mg/L", "at most: 2000 mg/L");
    let all = site.json();
    assert_eq!((answer(&all, "Tuned").as_str(), answer(&all, "No filters").as_str()), ("yes", "no (limit, service)"));
    let words = site.words();
    assert!(words.contains("Sewer solids has no water left to judge"), "{words}");
    assert_eq!(words.matches("does not serve Benches alike").count(), 1, "{words}");
}

/// The limit at half to double of what is computed with the option, and finely about it and about what samples have: never kinder for being
/// stricter.
#[test]
fn a_limit_swept_through_what_is_computed_and_sampled_is_never_kinder_for_being_stricter() {
    let kindness = |answer: &str| match answer {
        of if of.starts_with("no (") => 0,
        "does not comply" => 1,
        "pays, but does not comply" => 2,
        of if of.starts_with("not decided") => 3,
        of if of.starts_with("yes, ") => 4,
        "yes" => 5,
        other => panic!("{other}"),
    };
    let at = |bound: f64| {
        let mut site = Site::new();
        in_good_order(&mut site);
        site.change("rules.yaml", "at most: 900 mg/L", &format!("at most: {bound:.1} mg/L"));
        site.json()
    };
    let computed = figure(&at(900.0), "Tuned", "Sewer solids");
    let told: Vec<(f64, String)> = [0.5, 0.69, 0.72, 0.9, 0.999, 1.001, 1.02, 1.05, 1.1, 2.0]
        .into_iter()
        .map(|times| (times, answer(&at(times * computed), "Tuned")))
        .collect();
    assert!(told.is_sorted_by_key(|(_, answer)| kindness(answer)), "{told:?}");
    // What an adviser would say: outside by a third more than the site at half of it, unknown just beside it, a yes at double.
    let of = |times: f64| told.iter().find(|of| of.0 == times).unwrap().1.as_str();
    assert_eq!((of(0.5), of(1.001), of(2.0)), ("no (limit)", "not decided (limit)", "yes"), "{told:?}");
}

/// Every price doubled or halved doubles or halves what is saved, and tells no other answer.
#[test]
fn money_goes_with_all_prices_and_answers_do_not() {
    let with = |times: f64| {
        let mut site = Site::new();
        in_good_order(&mut site);
        site.change("rules.yaml", "at most: 900 mg/L", "at most: 2000 mg/L");
        for (file, price, unit) in [
            ("prices.yaml", 0.5, " EUR per m3"),
            ("prices.yaml", 22.0, " EUR per h"),
            ("prices.yaml", 0.2, " EUR per kWh"),
            ("prices.yaml", 150.0, " EUR per 1000 kg"),
            ("prices.yaml", 2.5, " EUR per m3"),
            ("prices.yaml", 6.0, " EUR each"),
            ("proposals/bags.yaml", 1800.0, " EUR, lasts"),
        ] {
            let typed = match price {
                0.5 | 0.2 | 2.5 | 6.0 => format!("price: {price:.2}{unit}"),
                _ => format!("price: {price}{unit}"),
            };
            site.change(file, &typed, &format!("price: {}{unit}", price * times));
        }
        site.json()
    };
    let (half, as_typed, double) = (with(0.5), with(1.0), with(2.0));
    for name in ["Tuned", "Inlet bags"] {
        let more = |all: &Value| option(all, name)["more_than_as_it_stands"]["worth_today"]["median"].as_f64().unwrap();
        let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-6 * b.abs(), "{name}: {a} {b}");
        near(more(&double), 2.0 * more(&as_typed));
        near(more(&half), 0.5 * more(&as_typed));
        assert_eq!((answer(&half, name), answer(&double, name)), (answer(&as_typed, name), answer(&as_typed, name)));
    }
}

/// No slip: the solids are as computed. Twelve slips below 600 mg/L say that there is no more, far under the limit of 5 000: no condition.
#[test]
fn slips_below_detection_are_known_to_be_below_it() {
    let of = |slips: Option<&str>| {
        let mut site = Site::new();
        site.washed(156);
        if let Some(qualifier) = slips {
            site.sampled("Sewer", |_| slip(600.0, qualifier));
        }
        site.change("rules.yaml", "at most: 900 mg/L", "at most: 5000 mg/L");
        let all = site.json();
        (answer(&all, "Tuned"), option(&all, "Tuned")["only_if_nobody_has_shown"].to_string())
    };
    let (none, why) = of(None);
    assert!(
        none == "yes, if" && why.contains("the solids at Sewer are as computed (no slip has a figure of them)"),
        "{why}"
    );
    assert_eq!(of(Some("<")), ("yes".to_owned(), "null".to_owned()));
    // And below 600 while the option may have 600 × 1.4: not known to be within 830.
    let mut site = Site::new();
    site.washed(156);
    site.sampled("Sewer", |_| slip(650.0, "<"));
    let computed = figure(&site.json(), "Tuned", "Sewer solids");
    site.change("rules.yaml", "at most: 900 mg/L", &format!("at most: {:.0} mg/L", 1.05 * computed));
    let all = site.json();
    assert_eq!(answer(&all, "Tuned"), "not decided (limit)");
    assert!(option(&all, "Tuned")["verdict"].to_string().contains("by what was sampled it may be up to"));
    // They stand beside what is computed, as what they are.
    let words = site.words();
    assert!(words.contains("Suspended solids at Sewer, all 12 below") && words.contains("as it may be"), "{words}");
}

/// 950 mg/L in July of at most 900: what raises what it has by a third is a no, and is not told as if the site kept it.
#[test]
fn what_the_records_have_exceeded_is_told_as_exceeded() {
    let mut site = Site::new();
    site.washed(156);
    site.sampled("Sewer", |month| slip(if month == 7 { 950.0 } else { 570.0 }, ""));
    site.sampled("Brook", |month| slip(if month == 7 { 70.0 } else { 37.0 }, ""));
    let all = site.json();
    assert_eq!((answer(&all, "Tuned").as_str(), answer(&all, "Inlet bags").as_str()), ("no (limit)", "no (limit)"));
    let words = site.words();
    assert!(
        words.contains("further outside of Sewer solids (at most 900 mg/L), which the records have exceeded"),
        "{words}"
    );
    assert!(
        words.contains("exceeded by its records as it stands") && !words.contains("undecided as it stands"),
        "{words}"
    );
}

/// Half of the washes logged that are computed: money rests on them and has no verdict, for whatever changes them.
#[test]
fn half_of_the_washes_on_file_bears_no_verdict() {
    let mut site = Site::new();
    site.washed(78);
    site.sampled("Sewer", |_| slip(570.0, ""));
    site.change("rules.yaml", "at most: 900 mg/L", "at most: 2000 mg/L");
    let all = site.json();
    assert_eq!(answer(&all, "Tuned"), "not decided");
    assert!(option(&all, "Tuned")["verdict"].to_string().contains("washes of Beds computed"));
}

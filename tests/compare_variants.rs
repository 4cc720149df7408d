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
    draws: u32,
    _temporary: tempfile::TempDir,
}

impl Site {
    fn new() -> Self {
        let names =
            ["facility", "rules", "prices", "proposals/tuned", "proposals/bags", "proposals/none", "proposals/same"]
                .map(|name| format!("{name}.yaml"));
        let (temporary, dir) = rainy_copy("tests/variants_site", &names.each_ref().map(String::as_str));
        std::fs::create_dir_all(dir.join("records")).unwrap();
        Self { dir, rows: HEAD.to_owned(), draws: 20, _temporary: temporary }
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
        let out = command
            .arg("compare")
            .arg(&self.dir)
            .args(["--draws", &self.draws.to_string()])
            .args(args)
            .output()
            .unwrap();
        assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
        String::from_utf8_lossy(&[out.stdout, out.stderr].concat()).into_owned()
    }

    fn json(&self) -> Value {
        // What is told of the files stands behind it.
        serde_json::Deserializer::from_str(&self.run(&["--json"])).into_iter().next().unwrap().unwrap()
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

/// The site with its beds replaced by a screen that is washed twice a day, 10 m³/h for a minute.
fn with_a_screen(site: &Site, more: &str) {
    let screen = "name: Fine screen\nreplace:\n  Beds:\n    by: Fine screen\n    kind: pressure screen\n    in line: 1\n    cleaned: by itself\n    \
        opening: 50 um\n    stops: {bigger than the opening: 80 %}\n    washes: {every: 12 h}\n    one wash: {rate: 10 m3/h, lasts: 1 min, each: \
        body}\n    washed with: its own filtered water\n    wash water to: Sewer\n    takes from: River\nremove: [M wash]\npumps:\n  Screen \
        booster: {water to: Fine screen, head: 28 m, efficiency: 50 %}\nlabour minutes:\n  Fine screen: {a check: 1 min, how often: once a \
        day}\npays once:\n  Screen: {price: 900 EUR, lasts: 15 years}\n";
    std::fs::write(site.dir.join("proposals/screen.yaml"), format!("{screen}{more}")).unwrap();
}

fn outcome(all: &Value, name: &str, limit: &str) -> Option<String> {
    let limits = option(all, name)["limits"].as_array().unwrap();
    limits.iter().find(|of| of["name"] == limit).map(|of| of["outcome"].as_str().unwrap().to_owned())
}

/// Two limits on the wash water of filters that both go are each held against what is washed in their stead, and so is one on the way from
/// there to the sewer, and one on its minutes: 0.33 m³ and 2 minutes a day.
#[test]
fn every_limit_on_the_wash_water_of_what_is_gone_is_held_by_itself() {
    let site = Site::new();
    let limit = |name: &str, at: &str, rest: &str| format!("  {name}:\n    at: {at}\n    {rest}\n");
    let water = |most: &str| format!("parameter: water\n    statistic: daily total\n    at most: {most} m3");
    let all = [
        limit("Bed water", "{wash water of: Beds}", &water("0.1")),
        limit("Return water", "{wash water of: Return screen}", &water("0.5")),
        limit("Way", "{from: Beds, to: Sewer}", &water("0.2")),
        limit("Minutes", "{wash water of: Beds}", "statistic: duration\n    at most: 1 min/day"),
    ];
    site.change("rules.yaml", "limits:\n", &format!("limits:\n{}", all.concat()));
    with_a_screen(&site, "");
    site.change(
        "proposals/screen.yaml",
        "remove: [M wash]",
        "remove: [M wash, Return screen]\nchange:\n  Benches: {goes to: Brook}",
    );
    let all = site.json();
    let of = |limit: &str| outcome(&all, "Fine screen", limit).unwrap_or_else(|| "none".to_owned());
    let all_of = ["Bed water", "Return water", "Way", "Minutes"].map(of);
    assert_eq!(all_of, ["predicted outside", "predicted within", "predicted outside", "predicted outside"]);
    assert_eq!(option(&all, "Fine screen")["limits_that_apply_no_longer"], serde_json::json!([]));
    // Bags send nothing there, and the return screen stays.
    let gone = option(&all, "Inlet bags")["limits_that_apply_no_longer"].to_string();
    assert!(
        ["Bed water", "Way", "Minutes"].iter().all(|name| gone.contains(name)) && !gone.contains("Return water"),
        "{gone}"
    );
    assert_eq!(outcome(&all, "Inlet bags", "Return water").as_deref(), Some("predicted within"));
}

/// A limit on how much is kept back since the beds says nothing of what stands in their stead: it neither applies no longer nor is kept.
#[test]
fn a_limit_that_can_not_be_held_against_what_is_put_in_is_not_judged_and_no_yes_is_plain() {
    let plain = |rules: &str| {
        let mut site = Site::new();
        in_good_order(&mut site);
        site.change("rules.yaml", "at most: 900 mg/L", "at most: 5000 mg/L");
        site.change("rules.yaml", "at most: 60 mg/L", "at most: 900 mg/L");
        site.change("rules.yaml", "limits:\n", &format!("limits:\n{rules}"));
        site.change("prices.yaml", "coarser solids alike within: 6 mg/L", "coarser solids alike within: 60 mg/L");
        with_a_screen(&site, "");
        site
    };
    let all = plain("").json();
    let before = answer(&all, "Fine screen");
    assert!(before.starts_with("yes") && !before.contains("but"), "{before}");
    let kept_back = "  Kept back:\n    at: Brook\n    parameter: total suspended solids\n    statistic: percent removal\n    between here and: \
                     Beds\n    at least: 5 %\n";
    let site = plain(kept_back);
    let all = site.json();
    let of = option(&all, "Fine screen");
    assert_eq!(of["limits_that_apply_no_longer"], serde_json::json!([]));
    let words = "Kept back is not judged as it names Beds, which is gone (ask the authority)";
    assert_eq!(of["limits_not_judged"], serde_json::json!([words]));
    assert!(answer(&all, "Fine screen").ends_with("but (limit)"), "{}", answer(&all, "Fine screen"));
    assert!(site.words().contains(words));
    // Nor is water that goes where it did not go, and where nobody wrote down a limit.
    let site = plain("");
    with_a_screen(&site, "add:\n  discharge points:\n    Ditch: {kind: surface water, into: Harl Brook}\n");
    site.change("proposals/screen.yaml", "wash water to: Sewer", "wash water to: Ditch");
    let all = site.json();
    let words = "Ditch gets water that it does not get now, and no limit is on file for it (ask the authority)";
    assert_eq!(option(&all, "Fine screen")["limits_not_judged"], serde_json::json!([words]));
    assert!(answer(&all, "Fine screen").ends_with("but (limit)"));
}

/// Half of the return of 20 m³ a day that is computed to come to the brook is what an option saves there; on the day of each month on which
/// somebody looked it was dry. One look that saw water would not be enough; seven of twelve speak for the computation.
#[test]
fn dry_looks_on_days_with_water_computed_are_told_and_are_a_condition_where_it_turns_on_them() {
    let of = |wet: u32| {
        let mut site = Site::new();
        in_good_order(&mut site);
        site.change("rules.yaml", "at most: 900 mg/L", "at most: 2000 mg/L");
        for limit in [
            "  Brook flow:\n    at: Brook\n    parameter: water\n    statistic: daily total\n    at most: 100 m3\n",
            "  No flow:\n    at: Brook\n    statistic: no discharge\n",
        ] {
            site.change("rules.yaml", "limits:\n", &format!("limits:\n{limit}"));
        }
        site.change("proposals/tuned.yaml", "change:\n", "change:\n  Benches: {returns: 25 %}\n");
        for month in 1..=12 {
            let seen = if month <= wet { "flowing" } else { "dry" };
            site.rows.push_str(&format!("2012-{month:02}-20,Brook,look,,{seen},,,,,,\n"));
        }
        let all = site.json();
        (
            option(&all, "Tuned")["only_if_nobody_has_shown"].to_string(),
            outcome(&all, "As it stands", "No flow").unwrap(),
            site.words(),
        )
    };
    let (only_if, no_flow, words) = of(0);
    let seen = "on all 12 days with water computed on which somebody looked it was dry";
    assert!(only_if.contains(&format!("the water at Brook is as computed ({seen})")), "{only_if}");
    assert!(words.contains(&format!("Brook: {seen}.")), "{words}");
    // Nor is it believed that water flows there every day.
    assert_eq!(no_flow, "undecided");
    let (only_if, no_flow, words) = of(7);
    assert!(!only_if.contains("the water at Brook"), "{only_if}");
    assert!(
        words.contains("Brook: on 5 of 12 days with water computed on which somebody looked it was dry."),
        "{words}"
    );
    assert_eq!(no_flow, "predicted outside");
}

/// The benches draw 40 m³ a day through the beds, and their washes some more: 21 metered are half of it, 42 are it.
#[test]
fn a_meter_far_off_what_is_computed_at_a_place_of_the_train_is_a_condition() {
    let of = |a_day: u32| {
        let mut site = Site::new();
        in_good_order(&mut site);
        site.change("rules.yaml", "at most: 900 mg/L", "at most: 2000 mg/L");
        site.change(
            "facility.yaml",
            "meters:\n",
            "meters:\n  M river: {from: River, to: Beds, what: water, counts in: m3, digits: 6}\n",
        );
        let first = chrono::NaiveDate::from_ymd_opt(2012, 1, 1).unwrap();
        for (at, day) in (0..).zip(first.iter_days().step_by(30).take(13)) {
            site.rows.push_str(&format!("{day},M river,reading,,{},,,,,,\n", 1000 + at * 30 * a_day));
        }
        let all = site.run(&["--json", "--with", "proposals/tuned.yaml"]);
        let all: Value = serde_json::from_str(&all[..=all.rfind('}').unwrap()]).unwrap();
        let only_if = option(&all, "Tuned")["only_if_nobody_has_shown"].to_string();
        let pdf = site.dir.join("case.pdf");
        let words = site.run(&["--with", "proposals/tuned.yaml", "-o", pdf.to_str().unwrap()]);
        (only_if, words.split_whitespace().collect::<Vec<_>>().join(" "))
    };
    let (only_if, words) = of(21);
    assert!(
        only_if.contains("the water at meter M river is as computed (5") && only_if.contains("% less was metered)"),
        "{only_if}"
    );
    assert!(words.contains("Meter M river"), "{words}");
    let (only_if, _) = of(42);
    assert_eq!(only_if, "null");
}

/// 35 mg/L of at most 60 sampled in each month shows that the brook is within; fewer samples show less, and never read kinder.
#[test]
fn the_table_of_limits_never_reads_kinder_with_fewer_samples() {
    let of = |months: &[u32], mg_l: f64| {
        let mut site = Site::new();
        site.washed(156);
        for month in months {
            site.rows.push_str(&format!(
                "2012-{month:02}-14 10:00,Brook,sample,total suspended solids,{},,,,\n",
                slip(mg_l, "")
            ));
        }
        let all = site.json();
        let limits = option(&all, "As it stands")["limits"].as_array().unwrap().clone();
        let brook = limits.iter().find(|of| of["name"] == "Brook solids").unwrap().clone();
        let text = |key: &str| brook[key].as_str().map(str::to_owned);
        // Within is kind, what is open is not, and so is what only the computation says.
        let kindness =
            u8::from(text("outcome").as_deref() == Some("predicted within") && text("as_computed_alone").is_none());
        (kindness, text("as_computed_alone"), site.words())
    };
    let all: Vec<u32> = (1..=12).collect();
    let full = of(&all, 35.0);
    assert_eq!((full.0, full.1), (1, None));
    let (kindness, why, words) = of(&all[..2], 35.0);
    assert_eq!((kindness, why.as_deref()), (0, Some("sampled in 2 months alone")));
    assert!(words.contains("as computed"), "{words}");
    let none = of(&[], 35.0);
    assert_eq!((none.0, none.1.as_deref()), (0, Some("never sampled")));
    // Where all of them say that it may be over, none of them say no more.
    assert_eq!(of(&all, 90.0).0, 0);
}

/// Without a target size nobody knows what reaches the benches: that is no no, but for what costs more anyhow.
#[test]
fn what_nobody_knows_of_the_service_is_not_decided_and_no_no() {
    let mut site = Site::new();
    in_good_order(&mut site);
    site.change("rules.yaml", "at most: 900 mg/L", "at most: 2000 mg/L");
    site.change("prices.yaml", "  target size: 50 um\n", "");
    std::fs::write(
        site.dir.join("proposals/dear.yaml"),
        "name: A gauge\npays once:\n  Gauge: {price: 30000 EUR, lasts: 10 years}\n",
    )
    .unwrap();
    let all = site.json();
    assert_eq!((answer(&all, "Tuned").as_str(), answer(&all, "A gauge").as_str()), ("not decided", "no (cost)"));
    assert!(option(&all, "Tuned")["verdict"]["why"].to_string().contains("no target size is typed"));
}

/// What is `tuned` and changes nothing is remarked, and so is a filter that lets any flow through.
#[test]
fn what_is_tuned_and_changes_nothing_and_what_may_pass_any_flow_is_told() {
    let mut site = Site::new();
    in_good_order(&mut site);
    site.change("proposals/same.yaml", "name: The same again\n", "name: The same again\ntuned: yes\n");
    let words = site.words();
    assert!(words.contains("It says `tuned: yes` all the same"), "{words}");
    assert!(words.contains("How much Inlet bags can pass at once: no `handles at most` is typed"), "{words}");
    site.change(
        "proposals/bags.yaml",
        "    housings: 2\n",
        "    housings: 2\n    handles at most: 12 m3/h\n    above that goes to: Brook\n",
    );
    assert!(!site.words().contains("can pass at once"));
}

/// Draws that count by the log are said to repeat what they are held against, and no more.
#[test]
fn what_the_draws_repeat_is_told_by_name() {
    let mut site = Site::new();
    site.draws = 60;
    site.washed(156);
    site.sampled("Sewer", |_| slip(900.0, "<"));
    // Trees with water of their own, which no proposal touches.
    site.change("facility.yaml", "\nuses:\n", "\n  Well: {gives at most: 50 m3/day, brings: {silt: 80 mg/L}}\nuses:\n  Trees: {kind: drip, amount: 5 m3/day, returns: 20 %, takes from: Well, runs: 2 h/day, goes to: Ditch}\n");
    site.change("facility.yaml", "  Skip:", "  Ditch: {kind: surface water, into: Harl Brook}\n  Skip:");
    site.change("prices.yaml", "  labour:", "  well:   {price: 0.10 EUR per m3, by: \"invented\"}\n  labour:");
    site.sampled("Ditch", |_| slip(2000.0, ""));
    site.change("facility.yaml", "washes: {after: 1.2 kg of solids}", "washes: {after: 1.15 kg to 1.25 kg of solids}");
    let words = site.words();
    assert!(words.contains("draws repeat washes of Beds, and count by"), "{words}");
    assert!(words.contains("All samples of suspended solids at Sewer are below detection"), "{words}");
    assert!(words.contains("Not held against: suspended solids at Ditch computed"), "{words}");
}

//! Comparing: options that are the same cost the same, water and solids close, and the money of a small site agrees with
//! what can be reckoned by hand.

#![cfg(test)]

use std::path::{Path, PathBuf};

use assert_cmd::Command;
use bywash::balance::Purpose;
use bywash::compare::{
    Alternative, Asked, COMPARED, Category, Study, Verdict, prices, proposal, study, without_driving_records,
};
use bywash::facility::{self, model::Facility};
use bywash::files::{Source, Sources, yaml};
use bywash::records::{self, Timeline};
use bywash::told::Problems;
use bywash::weather::{self, DailyWeather};
use serde_json::Value;

/// The demonstration, with options made of the proposals given as text.
struct Site {
    options: Vec<Alternative>,
    prices: prices::Prices,
    weather: DailyWeather,
    timeline: Timeline,
    facility: Facility,
}

fn node(name: &str, text: &str) -> yaml::Node {
    let problems = Problems::new();
    let node = yaml::tree(&Source::new(name, text), &problems).unwrap();
    assert!(problems.is_empty());
    node
}

/// The demonstration's file with a range among the lines of the sand beds, so that a draw of theirs shows.
fn facility_text() -> String {
    let text = std::fs::read_to_string("demo-facility/facility.yaml").unwrap();
    let ranged = text.replace("rate: 106 gpm", "rate: 90 gpm to 120 gpm");
    assert_ne!(text, ranged);
    ranged
}

fn demo(proposals: &[(&str, &str)]) -> (Site, Problems) {
    let directory = Path::new("demo-facility");
    let mut sources = Sources::new(directory);
    let problems = Problems::new();
    let quiet = Problems::new();
    let tree = node("facility.yaml", &facility_text());
    let facility = facility::from_tree(&tree, directory, &quiet).unwrap();
    let rules = node("rules.yaml", &std::fs::read_to_string("rules/sallowfen.yaml").unwrap());
    let timeline = records::read(&facility, &mut sources, &quiet);
    let period = facility.period.unwrap();
    let weather = weather::read(&facility, period, &timeline.rain, &mut sources, &quiet);
    let text = std::fs::read_to_string("demo-facility/prices.yaml").unwrap();
    let prices = prices::read(&node("prices.yaml", &text), &problems).unwrap();
    let mut options = vec![Alternative::as_it_stands(&tree, directory, Some(&rules), &quiet).unwrap()];
    for (name, text) in proposals {
        let proposal = proposal::read(&node(name, text), &problems).unwrap();
        options.extend(Alternative::proposed(&tree, &facility, &proposal, Some(&rules), &problems));
    }
    let site = Site { options, prices, weather, timeline: without_driving_records(&timeline), facility };
    (site, problems)
}

fn computed(site: &Site, draws: u64) -> Study {
    let asked = Asked {
        options: &site.options,
        prices: &site.prices,
        weather: &site.weather,
        timeline: &site.timeline,
        log: &site.timeline,
        period: site.facility.period.unwrap(),
        draws,
    };
    study(&asked, &|_| {}).unwrap()
}

/// The lines of the sand beds as they stand in the demonstration, under another name.
fn renamed() -> String {
    let text = facility_text();
    let from = text.find("  Sand beds:\n").unwrap() + "  Sand beds:\n".len();
    let lines: String =
        text[from..].lines().take_while(|line| line.starts_with("    ")).map(|line| format!("{line}\n")).collect();
    format!("name: Only a new name\nreplace:\n  Sand beds:\n    by: Old beds\n{lines}")
}

const NOTHING: &str = "name: Nothing at all\ntuned: yes\n";

#[test]
fn a_proposal_that_changes_nothing_or_only_a_name_differs_by_exactly_nought_in_every_draw() {
    let (site, problems) = demo(&[("nothing.yaml", NOTHING), ("name.yaml", &renamed())]);
    assert!(!problems.has_errors(), "{:?}", problems.in_order());
    let study = computed(&site, 12);
    for option in [1, 2] {
        for kind in COMPARED {
            let more = study.more(option, 0, kind);
            assert!(more.is_nought(), "{option} {kind:?}: {more:?}");
        }
        for category in Category::ALL {
            let more = study.cost_more(option, 0, category);
            assert!(more.is_nought(), "{option} {category:?}: {more:?}");
        }
        let money = study.present_more(option, 0);
        assert_eq!(money.values.len(), 13);
        assert!(money.values.iter().all(|v| *v == 0.0), "{money:?}");
        assert_eq!(study.verdict(option, 0), Verdict::Same);
        assert_eq!(study.options[option].limits, study.options[0].limits);
    }
    // The draws are no dead letter: the wash water of the beds differs from member to member.
    let wash = study.total(0, bywash::compare::Kind::WashWater);
    assert!(wash.values.iter().any(|v| *v != wash.values[0]));
}

#[test]
fn water_and_solids_close_for_every_option_of_the_demonstration() {
    let read = |name: &str| std::fs::read_to_string(format!("demo-facility/proposals/{name}")).unwrap();
    let (tuned, bags, roll) = (read("tuned.yaml"), read("bags.yaml"), read("moving-media.yaml"));
    let (site, problems) = demo(&[("tuned.yaml", &tuned), ("bags.yaml", &bags), ("moving-media.yaml", &roll)]);
    assert!(!problems.has_errors(), "{:?}", problems.in_order());
    let study = computed(&site, 0);
    assert_eq!(study.options.len(), 4);
    let (from, to) = study.period;
    for of in &study.options {
        let name = &of.alternative.name;
        let account = of.run.ledger.account(from, to);
        let moved = account.total_in_m3();
        assert!(moved > 10_000.0, "{name}: {moved}");
        assert!(account.closure_m3.abs() < 1e-6 * moved, "{name}: {account:?}");
        // Nothing is unaccounted where no record drives.
        assert_eq!(account.unaccounted_in_m3 + account.unaccounted_out_m3, 0.0);
        let solids = |list: &[(bywash::balance::Node, bywash::balance::Amount)]| -> f64 {
            list.iter().map(|(_, amount)| amount.solids_kg).sum()
        };
        let (came, went) = (solids(&account.came_in), solids(&account.went_out));
        assert!(
            (came - went - account.stores_gain_kg).abs() < 1e-6 * came,
            "{name}: {came} in, {went} out, {} held more",
            account.stores_gain_kg
        );
        let worst = of.run.ledger.residuals().of_all.unwrap();
        assert!(worst.amount.abs() <= worst.tolerance, "{name}: {worst:?}");
    }
    // The quantities agree with the ledger: what the sand beds sent to the settling pond as wash water.
    let first = &study.options[0];
    let beds = first.alternative.facility.find("Sand beds").unwrap();
    let wash = first
        .run
        .ledger
        .amount(from, to, |way| way.from == bywash::balance::Node::Place(beds) && way.purpose == Purpose::WashWater);
    let counted = study.paired(0, bywash::compare::Kind::WashWater);
    let of_beds = counted.iter().find(|of| of.id == "Sand beds").unwrap();
    assert!((of_beds.values[0] - wash.water_m3).abs() < 1e-9 * wash.water_m3);
}

#[test]
fn what_still_names_a_removed_place_is_told_by_name_and_line() {
    let (_, problems) = demo(&[("gone.yaml", "name: No beds\nremove: [Sand beds]\n")]);
    let told: Vec<String> = problems.in_order().iter().map(|problem| problem.to_string_line()).collect();
    for name in ["Overhead yard", "Return tank", "M3 wash"] {
        assert!(
            told.iter()
                .any(|line| line.contains(name) && line.contains("Sand beds") && line.contains("facility.yaml:")),
            "{name}: {told:?}"
        );
    }
}

/// A copy of the small site with the rain of 2012 in the weather file as its gauge.
fn small_site(to: &Path) -> PathBuf {
    let dir = to.join("site");
    std::fs::create_dir_all(dir.join("proposals")).unwrap();
    for name in ["facility.yaml", "prices.yaml", "proposals/long-bags.yaml", "proposals/tuned.yaml"] {
        std::fs::copy(Path::new("tests/compare_site").join(name), dir.join(name)).unwrap();
    }
    let mut rain = String::from("date,rain,unit\n");
    for (date, mm) in rain_of_2012() {
        rain.push_str(&format!("{date},{mm},mm\n"));
    }
    std::fs::write(dir.join("rain.csv"), rain).unwrap();
    dir
}

/// Date and millimetres of each day of 2012 in the open weather file.
fn rain_of_2012() -> Vec<(String, f64)> {
    let text = std::fs::read_to_string("tests/data/daily-weather.csv").unwrap();
    text.lines()
        .filter(|line| line.starts_with("2012-"))
        .map(|line| {
            let mut cells = line.split(',');
            let date = cells.next().unwrap().to_owned();
            (date, cells.next().unwrap().parse().unwrap())
        })
        .collect()
}

fn json_of(args: &[&str], dir: &Path) -> Value {
    let (value, told) = json_and_words(args, dir);
    assert!(told.is_empty(), "off a terminal there is no progress");
    value
}

fn json_and_words(args: &[&str], dir: &Path) -> (Value, String) {
    let out = Command::cargo_bin("bywash").unwrap().arg("compare").arg(dir).args(args).arg("--json").output().unwrap();
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    (serde_json::from_slice(&out.stdout).unwrap(), String::from_utf8_lossy(&out.stderr).into_owned())
}

fn close(value: &Value, expected: f64) {
    let value = value.as_f64().unwrap();
    assert!((value - expected).abs() <= 1e-6 * expected.abs().max(1.0), "{value} is not {expected}");
}

/// The open weather of 2012 (366 days) and a site without ranges: 10 m³ a day with 100 g/m³ give 1 kg a day, so a bag of
/// 1 kg is changed each day and one of 2 kg every other day.
#[test]
fn a_year_of_open_weather_costs_what_can_be_reckoned_by_hand() {
    let temporary = tempfile::tempdir().unwrap();
    let dir = small_site(temporary.path());
    let all = json_of(&["--draws", "3"], &dir);
    let days = 366.0;
    assert_eq!(rain_of_2012().len(), 366);
    let rain_m3: f64 = rain_of_2012().iter().map(|(_, mm)| mm).sum::<f64>() / 1000.0 * 1000.0;
    let options = all["options"].as_array().unwrap();
    let names: Vec<&str> = options.iter().map(|of| of["name"].as_str().unwrap()).collect();
    assert_eq!(names, ["As it stands", "As it stands, but tuned", "Long bags in place of the bags"]);
    let (now, tuned, long) = (&options[0], &options[1], &options[2]);
    for of in options {
        close(&of["a_year_by_place"]["came_in_m3"]["Town"], 10.0 * days);
        close(&of["a_year_by_place"]["came_in_m3"]["rain"], rain_m3);
        close(&of["a_year_by_place"]["went_out_m3"]["Brook"], rain_m3);
        close(&of["a_year_by_place"]["went_out_m3"]["crop"], 10.0 * days);
        close(&of["a_year"]["solids_in_kg"]["middle_run"], days);
    }
    for (of, changes, bought) in [(now, 366.0, 0.0), (tuned, 292.0, 0.0), (long, 183.0, 1000.0)] {
        close(&of["a_year"]["changes"]["middle_run"], changes);
        close(&of["costs_a_year"]["supply"]["middle_run"], 10.0 * days * 2.0);
        close(&of["costs_a_year"]["used_up"]["middle_run"], changes * 5.0);
        close(&of["a_year"]["labour_h"]["middle_run"], changes * 3.0 / 60.0);
        close(&of["costs_a_year"]["labour"]["middle_run"], changes * 20.0 * 3.0 / 60.0);
        let load = match changes as u32 {
            292 => 1.25,
            183 => 2.0,
            _ => 1.0,
        };
        // Solids carried off in whole bags, and the bags' own weight.
        let waste = changes * (load + 0.2);
        close(&of["a_year"]["wet_waste_kg"]["middle_run"], waste);
        // 10 m³ a day by a head at which a cubic metre takes 0.1 kWh, at 50 %: 0.2 kWh; by half of it for the long bags.
        let energy = 10.0 * days * if changes == 183.0 { 0.1 } else { 0.2 };
        close(&of["a_year"]["energy_kwh"]["middle_run"], energy);
        let a_year = 7320.0 + changes * (5.0 + 1.0) + waste * 0.1 + energy * 0.1;
        close(&of["running_a_year"]["middle_run"], a_year);
        // At 0 % ten years are ten times one; the housing lasts just as long.
        close(&of["worth_today"]["middle_run"], 10.0 * a_year + bought);
    }
    let more = |of: &Value| of["more_than_as_it_stands"]["worth_today"]["median"].as_f64().unwrap();
    // (183 − 366) × 6 + (402.6 − 439.2) × 0.1 + (366 − 732) × 0.1 = −1138.26 a year.
    assert!((more(long) - (1000.0 - 11382.6)).abs() < 1e-3, "{}", more(long));
    assert_eq!(long["verdict"]["verdict"], "saves");
    assert_eq!(long["verdict"]["share_of_draws"], 1.0);
    // A bag of the long kind may cost p: 183 (p + 1) + 40.26 + 36.6 + 100 = 366 × 6 + 43.92 + 73.2, so p = 10.6736.
    let evens = long["break_evens"].as_array().unwrap();
    let price = evens.iter().find(|even| even["what"] == "Price of a bag, Long bags").unwrap();
    let factor = price["factor"].as_f64().unwrap();
    assert!((factor * 5.0 - 10.6736).abs() < 0.01, "{factor}");
    // Labour alone cannot turn it round: none is told, and no value.
    let labour = evens.iter().find(|even| even["what"] == "Price of labour").unwrap();
    assert!(labour["factor"].is_null() && labour["value"].is_null());
    // Without records nothing was checked against this site.
    assert_eq!(all["against_log"].as_array().unwrap().len(), 0);
}

#[test]
fn without_the_existing_site_at_its_best_or_a_target_size_there_is_no_verdict() {
    let temporary = tempfile::tempdir().unwrap();
    let dir = small_site(temporary.path());
    let all = json_of(&["--draws", "2", "--with", "proposals/long-bags.yaml"], &dir);
    let verdict = &all["options"][1]["verdict"];
    assert_eq!(verdict["verdict"], "none");
    assert!(verdict["why"][0].as_str().unwrap().contains("tuned"));
    let prices = std::fs::read_to_string(dir.join("prices.yaml")).unwrap();
    std::fs::write(
        dir.join("prices.yaml"),
        prices
            .replace("  Long bags: {", "  Other bags: {")
            .replace("  target size: 50 um\n", "  water and peak alike within: 1 %\n"),
    )
    .unwrap();
    let (all, told) = json_and_words(&["--draws", "2"], &dir);
    // A price for a place that no option has is told with its line.
    assert!(told.contains("prices.yaml:") && told.contains("`Other bags`"), "{told}");
    let long = &all["options"][2];
    assert_eq!(long["verdict"]["verdict"], "none");
    let why = long["verdict"]["why"].to_string();
    assert!(why.contains("Long bags") && why.contains("target size"), "{why}");
    // The cell says so, and the other cells stand.
    assert!(long["costs_a_year"]["used_up"]["not_compared"].is_array());
    close(&long["costs_a_year"]["labour"]["middle_run"], 183.0);
}

/// The verdict of the option named, and its reasons.
fn verdict_of(all: &Value, name: &str) -> (String, String) {
    let options = all["options"].as_array().unwrap();
    let of = options.iter().find(|of| of["name"] == name).unwrap();
    (of["verdict"]["verdict"].as_str().unwrap().to_owned(), of["verdict"]["why"].to_string())
}

const LONG: &str = "Long bags in place of the bags";

#[test]
fn a_filter_of_the_same_kind_takes_over_the_pump_until_one_is_typed_for_it() {
    let temporary = tempfile::tempdir().unwrap();
    let dir = small_site(temporary.path());
    let prices = std::fs::read_to_string(dir.join("prices.yaml")).unwrap();
    let without: String =
        prices.lines().filter(|line| !line.contains("water to: Long bags")).map(|line| format!("{line}\n")).collect();
    assert_ne!(without, prices);
    std::fs::write(dir.join("prices.yaml"), &without).unwrap();
    let all = json_of(&["--draws", "2"], &dir);
    assert_eq!(verdict_of(&all, LONG).0, "saves");
    let energy = |option: usize| all["options"][option]["a_year"]["energy_kwh"]["middle_run"].as_f64().unwrap();
    assert!(energy(0) > 0.0 && (energy(2) / energy(0) - 1.0).abs() < 1e-6, "{} and {}", energy(0), energy(2));
    // One typed for it stands in place of the other and is not added to it; water may run by itself.
    let file = dir.join("proposals/long-bags.yaml");
    let mut proposal = std::fs::read_to_string(&file).unwrap();
    proposal.push_str("pumps:\n  None: {water to: Long bags, head: 0 m, efficiency: 50 %}\n");
    std::fs::write(&file, proposal).unwrap();
    let all = json_of(&["--draws", "2"], &dir);
    assert_eq!(verdict_of(&all, LONG).0, "saves");
    close(&all["options"][2]["a_year"]["energy_kwh"]["middle_run"], 0.0);
}

#[test]
fn what_the_log_alone_tells_is_not_compared_where_an_option_changes_what_reaches_it() {
    let temporary = tempfile::tempdir().unwrap();
    let dir = small_site(temporary.path());
    let file = dir.join("facility.yaml");
    let text = std::fs::read_to_string(&file).unwrap();
    // A second filter behind the bags, changed by the log alone: what the bags let through is all it gets.
    let text = text
        .replace("takes from: Bags", "takes from: Guard")
        .replace("stops: {all solids: 100 %}", "stops: {all solids: 90 %}")
        .replace(
            "\ndischarge points:",
            "  Guard:\n    kind: bag\n    opening: 5 um\n    housings: 1\n    stops: {all solids: 100 %}\n    changed: {by: log}\n    \
             one change: {lasts: 3 min}\n    bag: {dry weight: 200 g}\n    takes from: Bags\n    spent media to: Skip\n\n\
             discharge points:",
        );
    std::fs::write(&file, text).unwrap();
    let mut prices = std::fs::read_to_string(dir.join("prices.yaml")).unwrap();
    prices = prices.replace("used up:\n", "used up:\n  Guard: {price: 5.00 EUR each}\n");
    std::fs::write(dir.join("prices.yaml"), prices).unwrap();
    let all = json_of(&["--draws", "2"], &dir);
    // The long bags stop all of it, so the guard would be changed less often, and nobody can say how much less.
    let (verdict, why) = verdict_of(&all, LONG);
    assert_eq!(verdict, "none");
    assert!(why.contains("Guard is changed by the log alone"), "{why}");
    // Nothing that reaches it differs with the tuned one.
    assert_eq!(verdict_of(&all, "As it stands, but tuned").0, "saves");
}

#[test]
fn a_tank_that_a_tanker_empties_by_the_log_alone_is_not_compared() {
    let temporary = tempfile::tempdir().unwrap();
    let dir = small_site(temporary.path());
    let file = dir.join("facility.yaml");
    let text = std::fs::read_to_string(&file).unwrap();
    let text = text
        .replace("one change: {lasts: 3 min}", "one change: {lasts: 3 min, drains: 20 L, to: Slops}")
        .replace(
            "\ndischarge points:",
            "\ntanks:\n  Slops:\n    holds: 100 m3\n    at the start: {holding: 0 m3}\n    emptied by: {kind: tanker, to: Hauled, by: log}\n    \
             overflows to: Brook\n\ndischarge points:\n  Hauled: {kind: hauled away}",
        );
    std::fs::write(&file, text).unwrap();
    let mut prices = std::fs::read_to_string(dir.join("prices.yaml")).unwrap();
    prices = prices.replace("\nused up:", "  hauled: {price: 100 EUR per 1000 kg}\n\nused up:");
    std::fs::write(dir.join("prices.yaml"), prices).unwrap();
    let all = json_of(&["--draws", "2"], &dir);
    let (verdict, why) = verdict_of(&all, LONG);
    assert_eq!(verdict, "none");
    assert!(why.contains("Slops is emptied by the log alone"), "{why}");
}

#[test]
fn a_difference_that_is_lost_in_what_the_site_costs_anyhow_is_called_hardly_any() {
    let temporary = tempfile::tempdir().unwrap();
    let dir = small_site(temporary.path());
    std::fs::write(
        dir.join("proposals/gauge.yaml"),
        "name: A gauge\nchange:\n  Bags:\n    changed: {after: 1 kg of solids}\npays once:\n  Gauge: {price: 30 EUR, lasts: 10 years}\n",
    )
    .unwrap();
    let all = json_of(&["--draws", "2"], &dir);
    assert_eq!(verdict_of(&all, "A gauge").0, "hardly differs");
    let dear = std::fs::read_to_string(dir.join("proposals/gauge.yaml")).unwrap();
    std::fs::write(dir.join("proposals/gauge.yaml"), dear.replace("30 EUR", "3000 EUR")).unwrap();
    let all = json_of(&["--draws", "2"], &dir);
    assert_eq!(verdict_of(&all, "A gauge").0, "costs more");
}

#[test]
fn ten_mistakes_in_prices_and_proposals_are_told_at_once_each_with_its_line() {
    let temporary = tempfile::tempdir().unwrap();
    let dir = small_site(temporary.path());
    std::fs::write(
        dir.join("prices.yaml"),
        "money: EUR\nyears compared: 10\ndiscount rate: 5\nprices:\n  town: 2.00 EUR per m3\n  labour: {price: 28 to 24 EUR per h}\n  \
         skip: {price: 100 EUR/tonne}\n  power: {price: $0.10 per kWh}\npumps:\n  P: {water to: Bags, head: 60 psi, efficiency: 50 %}\n\
         tariffs:\n  Skip: {base: 38 EUR}\nused up:\n  Bags: {price: not known}\n",
    )
    .unwrap();
    std::fs::write(
        dir.join("proposals/tuned.yaml"),
        "tuned: true\nchanges:\n  Bags:\n    changed: {after: 2 kg of solids}\n",
    )
    .unwrap();
    std::fs::write(
        dir.join("proposals/long-bags.yaml"),
        "name: Long bags\nreplace:\n  Bag:\n    by: Long bags\n    kind: bag\npays once:\n  Housing: {price: 1000 EUR, lasts: 10}\n",
    )
    .unwrap();
    let out = Command::cargo_bin("bywash").unwrap().arg("compare").arg(&dir).assert().code(1);
    let told = String::from_utf8_lossy(&out.get_output().stderr).into_owned();
    // A piece of each message, the line it stands on, and a piece of what would be right.
    for (line, says, right) in [
        ("prices.yaml:2:", "a number without its unit", "years"),
        ("prices.yaml:3:", "percentage", "5 %"),
        ("prices.yaml:5:", "keys with values", "{key: value}"),
        ("prices.yaml:6:", "28 to 24", "lower end first"),
        ("prices.yaml:7:", "no amount with its money", "5.40 USD per 1000 gal"),
        ("prices.yaml:8:", "the sign $", "a word after the amount"),
        ("prices.yaml:10:", "a pressure stands here", "1 psi is 2.31 ft"),
        ("prices.yaml:12:", "`38 EUR` is not a price for a month", "38 USD per month"),
        ("prices.yaml:14:", "not known is no price", "leave the line out"),
        ("tuned.yaml:1:", "no `name`", "write it like `name:"),
        ("tuned.yaml:1:", "`true` is neither yes nor no", "write yes or no"),
        ("tuned.yaml:2:", "`changes` is not known", "did you mean `change`"),
        ("long-bags.yaml:3:", "the facility has no `Bag`", "did you mean `Bags`"),
        ("long-bags.yaml:7:", "a number without its unit", "years"),
    ] {
        let message = told
            .split("\nerror: ")
            .find(|one| one.contains(line) && one.replace("\n       ", " ").contains(says))
            .unwrap_or_else(|| panic!("{line} {says}: {told}"));
        let flowing = message.replace("\n  ", " ").replace("\n       ", " ");
        assert!(flowing.contains(right), "{right}: {message}");
    }
    assert!(told.contains("14 errors"), "{told}");
}

/// An output is written whole or not at all: a run that is cut off leaves the older file as it was, and nothing beside it.
#[cfg(unix)]
#[test]
fn a_comparison_cut_off_by_ctrl_c_leaves_the_older_output_whole() {
    use std::os::unix::process::ExitStatusExt;
    let temporary = tempfile::tempdir().unwrap();
    let out = temporary.path().join("case.pdf");
    std::fs::write(&out, "%PDF-1.7, the older one").unwrap();
    let mut child = std::process::Command::new(env!("CARGO_BIN_EXE_bywash"))
        .args(["compare", "demo-facility", "--draws", "100000", "-o"])
        .arg(&out)
        .stdout(std::process::Stdio::null())
        .stderr(std::process::Stdio::null())
        .spawn()
        .unwrap();
    std::thread::sleep(std::time::Duration::from_millis(700));
    let killed = std::process::Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap();
    assert!(killed.success());
    // Where the shell of a build farm has interrupts ignored, the child inherits that: end it the hard way.
    let began = std::time::Instant::now();
    let status = loop {
        if let Some(status) = child.try_wait().unwrap() {
            break status;
        }
        if began.elapsed().as_secs() > 2 {
            child.kill().unwrap();
        }
        std::thread::sleep(std::time::Duration::from_millis(50));
    };
    assert!(status.signal().is_some(), "it was cut off, not done: {status}");
    assert_eq!(std::fs::read_to_string(&out).unwrap(), "%PDF-1.7, the older one");
    let left: Vec<_> = std::fs::read_dir(temporary.path()).unwrap().collect();
    assert_eq!(left.len(), 1, "{left:?}");
}

#[test]
fn every_table_of_the_case_stands_in_its_json_under_its_name() {
    let temporary = tempfile::tempdir().unwrap();
    let dir = small_site(temporary.path());
    let all = json_of(&["--draws", "2"], &dir);
    let tables = all["tables"].as_array().unwrap();
    let names: Vec<&str> = tables.iter().map(|of| of["table"].as_str().unwrap()).collect();
    for name in ["Side by side, a year", "Service of each use", "Prices", "Pumps", "Costs a year, EUR"] {
        assert!(names.contains(&name), "{name}: {names:?}");
    }
    for of in tables {
        let heads = of["heads"].as_array().unwrap().len();
        for row in of["rows"].as_array().unwrap() {
            assert!(row.as_array().unwrap().len() <= heads, "{of}");
        }
    }
}

#[test]
fn prices_in_another_money_are_refused_with_their_line() {
    let temporary = tempfile::tempdir().unwrap();
    let dir = small_site(temporary.path());
    let prices = std::fs::read_to_string(dir.join("prices.yaml")).unwrap();
    std::fs::write(dir.join("prices.yaml"), prices.replace("2.00 EUR per m3", "2.00 USD per m3")).unwrap();
    let out = Command::cargo_bin("bywash").unwrap().arg("compare").arg(&dir).assert().code(1);
    let told = String::from_utf8_lossy(&out.get_output().stderr).into_owned();
    assert!(told.contains("prices.yaml:") && told.contains("is in USD") && told.contains("EUR"), "{told}");
}

#[test]
fn an_option_that_gives_a_use_less_water_has_no_verdict_and_says_by_how_much() {
    let temporary = tempfile::tempdir().unwrap();
    let dir = small_site(temporary.path());
    std::fs::write(
        dir.join("proposals/less.yaml"),
        "name: Half the water\nchange:\n  Town:\n    gives at most: 5 m3/day\n",
    )
    .unwrap();
    let all = json_of(&["--draws", "2"], &dir);
    let less = all["options"].as_array().unwrap().iter().find(|of| of["name"] == "Half the water").unwrap();
    assert_eq!(less["verdict"]["verdict"], "none");
    let why = less["verdict"]["why"].to_string();
    assert!(why.contains("Drip") && why.contains("−50.0 %"), "{why}");
}

/// A log made by hand: one bag a day, which 100 mg/L alone explain (at 1 kg a bag and 10 m³ a day).
#[test]
fn a_fit_finds_the_value_behind_a_log_and_says_what_the_log_does_not_pin() {
    let temporary = tempfile::tempdir().unwrap();
    let dir = small_site(temporary.path());
    let text = std::fs::read_to_string(dir.join("facility.yaml")).unwrap();
    std::fs::write(
        dir.join("facility.yaml"),
        text.replace("silt: 100 mg/L", "silt: 60 mg/L to 160 mg/L")
            .replace("area: 1000 m2", "area: 900 m2 to 1100 m2")
            .replace("period: ", "records: records\nperiod: "),
    )
    .unwrap();
    std::fs::create_dir_all(dir.join("records")).unwrap();
    let mut log = String::from("date,place,what,parameter,value,unit,qualifier,paper,received,who,note\n");
    log.push_str("2011-12-31,Bags,changed,,0,,,,,,\n");
    for (date, _) in rain_of_2012() {
        log.push_str(&format!("{date},Bags,changed,,1,,,,,,\n"));
    }
    std::fs::write(dir.join("records/log.csv"), log).unwrap();
    let all = json_of(
        &[
            "--draws",
            "2",
            "--fit",
            "Town / brings / silt,Roof / area",
            "--fit-on",
            "1 Jan 2012 to 30 Jun 2012",
            "--test-on",
            "1 Jul 2012 to 31 Dec 2012",
        ],
        &dir,
    );
    let values = all["fit"]["values"].as_array().unwrap();
    let silt: f64 = values[0]["fits_best"].as_str().unwrap().trim_end_matches(" mg/L").parse().unwrap();
    assert!((silt - 100.0).abs() < 1.5, "{silt}");
    assert!(values[0]["as_good"].is_array(), "the log pins the silt");
    assert!(values[1]["as_good"].is_null(), "the log says nothing of the roof");
    let tested = all["fit"]["tested_error"]["fitted"].as_f64().unwrap();
    assert!(tested < 0.05, "{tested}");
    assert!(all["fit"]["tested_error"]["middle"].as_f64().unwrap() > tested);
    assert!(!all["against_log"].as_array().unwrap().is_empty());
}

/// A log with noise made by hand: on every seventh day the change was forgotten, on every fifth a bag was changed too many.
/// In the 182 days from 1 January to 30 June 2012 that makes 182 − 26 + 36 = 192 changes, so the log alone says
/// 100 × 192/182 = 105.5 mg/L, and the true value is 100.
#[test]
fn a_fit_to_a_noisy_log_gives_an_interval_that_holds_the_true_value_and_is_not_the_whole_range() {
    let temporary = tempfile::tempdir().unwrap();
    let dir = small_site(temporary.path());
    let text = std::fs::read_to_string(dir.join("facility.yaml")).unwrap();
    std::fs::write(
        dir.join("facility.yaml"),
        text.replace("silt: 100 mg/L", "silt: 50 mg/L to 250 mg/L").replace("period: ", "records: records\nperiod: "),
    )
    .unwrap();
    std::fs::create_dir_all(dir.join("records")).unwrap();
    let mut log = String::from("date,place,what,parameter,value,unit,qualifier,paper,received,who,note\n");
    log.push_str("2011-12-31,Bags,changed,,0,,,,,,\n");
    let mut first_half = 0;
    for (day, (date, _)) in (1..).zip(rain_of_2012()) {
        let count = 1 - i32::from(day % 7 == 0) + i32::from(day % 5 == 0);
        if day <= 182 {
            first_half += count;
        }
        log.push_str(&format!("{date},Bags,changed,,{count},,,,,,\n"));
    }
    assert_eq!(first_half, 192);
    std::fs::write(dir.join("records/log.csv"), log).unwrap();
    let all = json_of(
        &[
            "--draws",
            "2",
            "--fit",
            "Town / brings / silt",
            "--fit-on",
            "1 Jan 2012 to 30 Jun 2012",
            "--test-on",
            "1 Jul 2012 to 31 Dec 2012",
        ],
        &dir,
    );
    let value = &all["fit"]["values"][0];
    let figure = |text: &Value| -> f64 {
        let text = text.as_str().unwrap();
        text.trim_end_matches(" mg/L").parse().unwrap()
    };
    let (low, high) = (figure(&value["as_good"][0]), figure(&value["as_good"][1]));
    assert!(low < 100.0 && 100.0 < high, "{low} to {high}");
    assert!(high - low < 40.0, "{low} to {high} of 50 to 250");
    let best = figure(&value["fits_best"]);
    assert!((best - 105.5).abs() < 3.0, "{best}");
    assert_eq!(value["at_the_end_of_its_range"], false);
}

#[test]
fn a_value_without_a_range_cannot_be_fitted_and_the_message_says_what_to_type() {
    let temporary = tempfile::tempdir().unwrap();
    let dir = small_site(temporary.path());
    let out = Command::cargo_bin("bywash")
        .unwrap()
        .arg("compare")
        .arg(&dir)
        .args(["--draws", "0", "--json", "--fit", "Town / brings / silt"])
        .args(["--fit-on", "1 Jan 2012 to 30 Jun 2012"])
        .args(["--test-on", "1 Jul 2012 to 31 Dec 2012"])
        .assert()
        .code(1);
    let err = String::from_utf8_lossy(&out.get_output().stderr).into_owned();
    assert!(err.contains("100 mg/L") && err.contains("range"), "{err}");
}

/// Bags changed each fortnight alone: 366 days hold 26 whole fortnights, and each change is of both bags at work.
#[test]
fn a_change_by_the_calendar_uses_up_every_bag_at_work() {
    let temporary = tempfile::tempdir().unwrap();
    let dir = small_site(temporary.path());
    let file = dir.join("proposals/long-bags.yaml");
    let text = std::fs::read_to_string(&file).unwrap();
    let text = text
        .replace("housings: 1", "housings: 3\n    working at once: 2")
        .replace("after: 2 kg of solids", "every: 14 days");
    std::fs::write(&file, text).unwrap();
    let all = json_of(&["--draws", "0"], &dir);
    let long = &all["options"][2]["a_year_by_place"];
    close(&long["changes"]["Long bags"], 26.0);
    close(&long["used_up"]["Long bags"], 52.0);
    // Wet waste carries the dry weight of both: 52 × 0.2 kg beside what they caught.
    let waste = all["options"][2]["a_year"]["wet_waste_kg"]["middle_run"].as_f64().unwrap();
    assert!((waste - 52.0 * 0.2 - 26.0 * 14.0).abs() < 2.0, "{waste}");
}

#[test]
fn a_life_of_nothing_part_years_and_a_rate_nobody_lends_at_are_refused() {
    let temporary = tempfile::tempdir().unwrap();
    let dir = small_site(temporary.path());
    for (file, was, typed, says) in [
        ("prices.yaml", "discount rate: 0 %", "discount rate: 400 %", "from 0 % to 50 %"),
        ("prices.yaml", "years compared: 10 years", "years compared: 2 months", "not 1 to 100 whole years"),
        ("proposals/long-bags.yaml", "lasts: 10 years", "lasts: 0 years", "lasts no time at all"),
    ] {
        let file = dir.join(file);
        let before = std::fs::read_to_string(&file).unwrap();
        assert!(before.contains(was), "{was}");
        std::fs::write(&file, before.replace(was, typed)).unwrap();
        let out = Command::cargo_bin("bywash").unwrap().arg("compare").arg(&dir).assert().code(1);
        let told = String::from_utf8_lossy(&out.get_output().stderr).into_owned();
        assert!(told.contains(says), "{says}: {told}");
        std::fs::write(&file, before).unwrap();
    }
}

#[test]
fn few_draws_from_a_range_or_half_a_year_bear_no_verdict() {
    let temporary = tempfile::tempdir().unwrap();
    let dir = small_site(temporary.path());
    let file = dir.join("prices.yaml");
    let prices = std::fs::read_to_string(&file).unwrap();
    std::fs::write(&file, prices.replace("price: 20 EUR per h", "price: 19 to 21 EUR per h")).unwrap();
    let (verdict, why) = verdict_of(&json_of(&["--draws", "1"], &dir), LONG);
    assert!(verdict == "none" && why.contains("too few"), "{why}");
    assert_eq!(verdict_of(&json_of(&["--draws", "20"], &dir), LONG).0, "saves");
    std::fs::write(&file, prices).unwrap();
    let file = dir.join("facility.yaml");
    let facility = std::fs::read_to_string(&file).unwrap();
    std::fs::write(&file, facility.replace("to 31 Dec 2012", "to 30 Jun 2012")).unwrap();
    let (verdict, why) = verdict_of(&json_of(&["--draws", "0"], &dir), LONG);
    // January to June of a leap year.
    assert!(verdict == "none" && why.contains("182 days"), "{why}");
}

#[test]
fn nothing_turns_round_what_changes_nothing_and_the_cheapest_tuning_is_the_yardstick() {
    let temporary = tempfile::tempdir().unwrap();
    let dir = small_site(temporary.path());
    std::fs::write(dir.join("proposals/nothing.yaml"), "name: Nothing\n").unwrap();
    // Fewer changes than the other tuned one, and later by the name of its file.
    std::fs::write(
        dir.join("proposals/ztuned.yaml"),
        "name: Fuller bags\ntuned: yes\nchange:\n  Bags:\n    changed: {after: 1.5 kg of solids}\n",
    )
    .unwrap();
    let all = json_of(&["--draws", "0"], &dir);
    let options = all["options"].as_array().unwrap();
    let nothing = options.iter().find(|of| of["name"] == "Nothing").unwrap();
    assert_eq!(nothing["break_evens"].as_array().unwrap().len(), 0);
    assert_eq!(all["yardstick"], "Fuller bags");
    // Its line would lie on nought: the chart says so and leaves it out.
    let (name, drawn) = table(&all, "What each option has cost more");
    assert!(name.contains("Nothing") && !drawn["heads"].to_string().contains("Nothing"), "{name}: {}", drawn["heads"]);
    assert!(drawn["heads"].to_string().contains("Long bags"), "{}", drawn["heads"]);
    // And beside the others it is told once, as the same.
    let (_, beside) = table(&all, "Side by side, a year");
    let column = heads(beside).iter().position(|head| head == "Nothing").unwrap();
    let rows = beside["rows"].as_array().unwrap();
    let (answers, others): (Vec<_>, Vec<_>) = rows.iter().partition(|row| row[0] == "An answer");
    let (backs, figures): (Vec<_>, Vec<_>) = others.into_iter().partition(|row| row[0] == "Paid back");
    // Of what the site has none of it has none.
    let is_the_same = |row: &&Value| row[column] == if row[1] == "0" { "0" } else { "the same" };
    assert!(figures.len() >= 3 && figures.iter().all(is_the_same), "{beside:#}");
    assert_eq!(backs[0][column], "–");
    assert_eq!(answers[0][column], "changes nothing");
}

/// A table by the beginning of its name.
fn table<'a>(all: &'a Value, name: &str) -> (&'a str, &'a Value) {
    let tables = all["tables"].as_array().unwrap();
    let names: Vec<&str> = tables.iter().filter_map(|of| of["table"].as_str()).collect();
    let at = names.iter().position(|known| known.starts_with(name)).unwrap_or_else(|| panic!("{name}: {names:?}"));
    (names[at], &tables[at])
}

fn heads(table: &Value) -> Vec<String> {
    table["heads"].as_array().unwrap().iter().map(|head| head.as_str().unwrap().to_owned()).collect()
}

#[test]
fn a_site_without_rain_and_records_gets_sentences_and_no_tables_of_what_is_not_compared() {
    let temporary = tempfile::tempdir().unwrap();
    let dir = temporary.path().join("new");
    assert!(Command::cargo_bin("bywash").unwrap().arg("new").arg(&dir).output().unwrap().status.success());
    let out = Command::cargo_bin("bywash")
        .unwrap()
        .arg("compare")
        .arg(&dir)
        .args(["--draws", "2", "--json"])
        .output()
        .unwrap();
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    let all: Value = serde_json::from_slice(&out.stdout).unwrap();
    for of in all["tables"].as_array().unwrap() {
        // The annex lists every account in full.
        let name = of["table"].as_str().unwrap();
        if name.contains("by where it comes from") || name.starts_with("Service") {
            continue;
        }
        for row in of["rows"].as_array().unwrap().iter().filter_map(Value::as_array) {
            let figures: Vec<&Value> = row.iter().skip(1).filter(|cell| !cell.is_null()).collect();
            let nothing = !figures.is_empty() && figures.iter().all(|cell| *cell == "not compared");
            assert!(!nothing, "{name}: {row:?}");
        }
    }
}

#[test]
fn a_meter_whose_way_a_proposal_takes_is_told_with_the_line_to_add() {
    let text = std::fs::read_to_string("demo-facility/proposals/bags.yaml").unwrap();
    let without: String =
        text.lines().filter(|line| !line.starts_with("remove:")).map(|line| format!("{line}\n")).collect();
    assert_ne!(text, without);
    let (_, problems) = demo(&[("proposals/bags.yaml", &without)]);
    let hints: Vec<String> = problems.in_order().into_iter().filter_map(|problem| problem.hint).collect();
    assert!(hints.iter().any(|hint| hint.contains("add `remove: [M3 wash]` to proposals/bags.yaml")), "{hints:?}");
}

/// The laboratory's sheets of the demonstration give a month over the limit, and its computed solids lie far below them.
#[test]
fn no_limit_is_called_kept_where_the_computation_is_far_off_the_samples() {
    let all = json_of(&["--draws", "3", "--with", "proposals/tuned.yaml"], Path::new("demo-facility"));
    let name = "TSS, month average";
    let shown = all["records_show"].as_array().unwrap();
    assert!(shown.iter().any(|of| of["limit"] == name && of["outcome"] == "exceeded"), "{shown:?}");
    for option in all["options"].as_array().unwrap() {
        let limits = option["limits"].as_array().unwrap();
        let limit = limits.iter().find(|of| of["name"] == name).unwrap();
        assert!(limit["far_off_the_log"].as_str().unwrap().contains("too low"));
        assert_eq!(limit["outcome"], "undecided");
    }
    // Page 1 holds the computation against the papers: six slips of 18, 22, 46, 29, 24 and 27 mg/L, and 557 washes counted by hand.
    let (_, log) = table(&all, "How far to believe it");
    let on_file = |what: &str| {
        let rows = log["rows"].as_array().unwrap();
        let row = rows.iter().find(|row| row[0].as_str().unwrap().starts_with(what));
        row.unwrap_or_else(|| panic!("{what}: {log:#}"))[1].as_str().unwrap().replace('\u{a0}', " ")
    };
    assert_eq!(on_file("Suspended solids at Outfall 1, mean of 6"), "27.7 mg/L");
    assert_eq!(on_file("Washes of Sand beds"), "557");
}

//! What a comparison may claim: at the log, of filters that were put to the test, of pumps and motors, of money over years. Every
//! figure is reckoned here anew from the small site's round numbers.

#![cfg(test)]

use std::path::{Path, PathBuf};

use assert_cmd::Command;
use serde_json::Value;

/// Days of 2012.
const DAYS: f64 = 366.0;

const LONG: &str = "Long bags in place of the bags";

fn rain_of_2012() -> Vec<(String, f64)> {
    let text = std::fs::read_to_string("tests/data/daily-weather.csv").unwrap();
    text.lines()
        .filter(|line| line.starts_with("2012-"))
        .map(|line| {
            let mut cells = line.split(',');
            (cells.next().unwrap().to_owned(), cells.next().unwrap().parse().unwrap())
        })
        .collect()
}

/// A copy of the small site.
struct Site {
    dir: PathBuf,
    _temporary: tempfile::TempDir,
}

impl Site {
    fn new() -> Self {
        let temporary = tempfile::tempdir().unwrap();
        let dir = temporary.path().join("site");
        std::fs::create_dir_all(dir.join("proposals")).unwrap();
        for name in ["facility.yaml", "prices.yaml", "proposals/long-bags.yaml", "proposals/tuned.yaml"] {
            std::fs::copy(Path::new("tests/compare_site").join(name), dir.join(name)).unwrap();
        }
        let mut rain = String::from("date,rain,unit\n");
        for (date, mm) in rain_of_2012() {
            rain.push_str(&format!("{date},{mm},mm\n"));
        }
        std::fs::write(dir.join("rain.csv"), rain).unwrap();
        Self { dir, _temporary: temporary }
    }

    /// A line of a file put in place of another.
    fn change(&self, file: &str, was: &str, now: &str) {
        let text = std::fs::read_to_string(self.dir.join(file)).unwrap();
        assert!(text.contains(was), "{file}: {was}");
        std::fs::write(self.dir.join(file), text.replacen(was, now, 1)).unwrap();
    }

    fn write(&self, file: &str, text: &str) {
        std::fs::write(self.dir.join(file), text).unwrap();
    }

    /// A log of changes: so many on each day, by the number of the day from 1.
    fn log(&self, changes: impl Fn(usize) -> u32) {
        let facility = std::fs::read_to_string(self.dir.join("facility.yaml")).unwrap();
        if !facility.contains("records: ") {
            self.change("facility.yaml", "period: ", "records: records\nperiod: ");
        }
        std::fs::create_dir_all(self.dir.join("records")).unwrap();
        let mut log = String::from("date,place,what,parameter,value,unit,qualifier,paper,received,who,note\n");
        log.push_str("2011-12-31,Bags,changed,,0,,,,,,\n");
        for (day, (date, _)) in (1..).zip(rain_of_2012()) {
            log.push_str(&format!("{date},Bags,changed,,{},,,,,,\n", changes(day)));
        }
        self.write("records/log.csv", &log);
    }

    fn compared(&self, draws: u32) -> Value {
        let out = Command::cargo_bin("bywash")
            .unwrap()
            .arg("compare")
            .arg(&self.dir)
            .args(["--json", "--draws", &draws.to_string()])
            .output()
            .unwrap();
        assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
        serde_json::from_slice(&out.stdout).unwrap()
    }

    /// What the command says beside its page.
    fn told(&self, draws: u32) -> String {
        let mut command = Command::cargo_bin("bywash").unwrap();
        command.arg("compare").arg(&self.dir).args(["--draws", &draws.to_string()]);
        let out = command.arg("-o").arg(self.dir.join("case.pdf")).output().unwrap();
        let all = [out.stdout, out.stderr].concat();
        String::from_utf8_lossy(&all).split_whitespace().collect::<Vec<_>>().join(" ")
    }

    fn refused(&self) -> String {
        let out = Command::cargo_bin("bywash").unwrap().arg("compare").arg(&self.dir).assert().code(1);
        String::from_utf8_lossy(&out.get_output().stderr).replace("\n       ", " ")
    }
}

fn option<'a>(all: &'a Value, name: &str) -> &'a Value {
    all["options"].as_array().unwrap().iter().find(|of| of["name"] == name).unwrap()
}

fn verdict(all: &Value, name: &str) -> (String, String) {
    let of = option(all, name);
    (of["verdict"]["verdict"].as_str().unwrap().to_owned(), of["verdict"]["why"].to_string())
}

fn more(all: &Value, name: &str) -> f64 {
    option(all, name)["more_than_as_it_stands"]["worth_today"]["median"].as_f64().unwrap()
}

fn close(value: f64, expected: f64) {
    assert!((value - expected).abs() <= 1e-6 * expected.abs().max(1.0), "{value} is not {expected}");
}

/// What the long bags cost more over ten years at 0 % than bags changed so many times: 183 changes of theirs at 6 EUR with 2.2 kg
/// of waste each at 0.1 EUR, half the power, and the housing.
fn long_more_than(changes: f64, of_a_load_kg: f64) -> f64 {
    let waste = 183.0 * 2.2 - changes * (of_a_load_kg + 0.2);
    10.0 * ((183.0 - changes) * 6.0 + waste * 0.1 - DAYS * 0.1) + 1000.0
}

#[test]
fn a_log_that_the_model_does_not_repeat_takes_the_verdict_and_shows_the_money_at_the_log() {
    let site = Site::new();
    site.log(|_| 1);
    let all = site.compared(3);
    assert_eq!(verdict(&all, LONG).0, "saves");
    assert!(all["at_the_log"].is_null() && all["repeats_the_log"]["weights"].is_null());
    close(more(&all, LONG), long_more_than(DAYS, 1.0));
    // A change every fourth day: 91 logged, 366 computed.
    site.log(|day| u32::from(day % 4 == 0));
    let all = site.compared(3);
    let (of, why) = verdict(&all, LONG);
    assert_eq!(of, "none");
    assert!(why.contains("366 changes of Bags computed, 91 logged"), "{why}");
    assert!(why.contains("look at its `after: 1 kg of solids`"), "{why}");
    // As computed it saves; with bags that last until they are changed as logged it costs.
    close(more(&all, LONG), long_more_than(DAYS, 1.0));
    let at_log = all["at_the_log"]["worth_today_more"][1].as_f64().unwrap();
    let expected = long_more_than(91.0, 4.0);
    assert!(expected > 5000.0 && (at_log - expected).abs() < 50.0, "{at_log} is not {expected}");
    // What changes nothing at the bags is told as before.
    site.write("proposals/gauge.yaml", "name: A gauge\npays once:\n  Gauge: {price: 3000 EUR, lasts: 10 years}\n");
    assert_eq!(verdict(&site.compared(3), "A gauge").0, "costs more");
}

/// With a range that holds what the log shows, the draws that repeat it decide, and the answer turns round where the money does: the
/// fewer changes are logged, the less the long bags save.
#[test]
fn with_a_range_that_holds_it_the_log_decides_and_scaling_it_turns_the_verdict_round() {
    let site = Site::new();
    site.change("facility.yaml", "after: 1 kg of solids", "after: 0.5 kg to 6 kg of solids");
    let mut before = f64::NEG_INFINITY;
    for (every, says) in [(1, "saves"), (4, "costs more")] {
        site.log(|day| u32::from(day % every == 0));
        let all = site.compared(700);
        let logged = (366 / every) as f64;
        let (of, why) = verdict(&all, LONG);
        assert_eq!(of, says, "{every}: {why}");
        let money = more(&all, LONG);
        let expected = long_more_than(logged, every as f64);
        // Within a quarter of the changes that were logged, at 6 EUR and more each.
        assert!((money - expected).abs() < 10.0 * 0.15 * logged * 6.5, "{every}: {money} is not {expected}");
        assert!(money > before);
        before = money;
        // The weighted mean of the changes lies at the log.
        let of = &all["repeats_the_log"];
        let weights: Vec<f64> = of["weights"].as_array().unwrap().iter().map(|w| w.as_f64().unwrap()).collect();
        let computed = of["things"][0]["computed_si"].as_array().unwrap();
        let computed: Vec<f64> = computed.iter().skip(1).map(|c| c.as_f64().unwrap()).collect();
        let sum: f64 = weights.iter().sum();
        let mean = weights.iter().zip(&computed).map(|(w, c)| w * c).sum::<f64>() / sum;
        assert!((mean / logged - 1.0).abs() < 0.08, "{mean} for {logged}");
        let squares: f64 = weights.iter().map(|w| w * w).sum();
        close(of["as_good_as"].as_f64().unwrap(), sum * sum / squares);
    }
}

#[test]
fn a_log_that_changes_its_ways_in_the_period_kept_out_bears_no_verdict() {
    let site = Site::new();
    site.change("facility.yaml", "after: 1 kg of solids", "after: 0.8 kg to 1.3 kg of solids");
    site.log(|_| 1);
    assert_eq!(verdict(&site.compared(200), LONG).0, "saves");
    site.log(|day| u32::from(day < 245 || day % 6 == 0));
    let (of, why) = verdict(&site.compared(200), LONG);
    assert!(of == "none" && why.contains("do not repeat the log after it"), "{why}");
}

#[test]
fn where_prices_alone_are_ranges_all_draws_count_alike() {
    let site = Site::new();
    site.log(|_| 1);
    site.change("prices.yaml", "price: 20 EUR per h", "price: 15 to 25 EUR per h");
    let all = site.compared(40);
    assert!(all["repeats_the_log"]["weights"].is_null());
    close(all["repeats_the_log"]["as_good_as"].as_f64().unwrap(), 40.0);
    assert_eq!(verdict(&all, LONG).0, "saves");
}

#[test]
fn washes_are_among_what_turns_an_answer_round() {
    let all = Site::new().compared(0);
    let evens = option(&all, LONG)["break_evens"].as_array().unwrap();
    // Bags wash nothing: their life is varied instead, and no break-even of washes is made up.
    assert!(evens.iter().all(|even| !even["what"].as_str().unwrap().starts_with("Washes")));
    let site = Site::new();
    site.with_beds();
    let all = site.compared(0);
    let evens = option(&all, "No beds")["break_evens"].as_array().unwrap();
    let washes = evens.iter().find(|even| even["what"] == "Washes of Beds").unwrap();
    // 366 washes of 2 m³ at 2 EUR against 500 EUR a year for a contract: 125 washes cost the same.
    assert_eq!(washes["typed"], "366 a year computed");
    let at: f64 = washes["value"].as_str().unwrap().trim_end_matches(" a year").parse().unwrap();
    assert!((at - 125.0).abs() <= 2.0, "{at}");
}

impl Site {
    /// Beds before the bags, washed once a day with 2 m³ of what they filter; an option without them that pays a contract.
    fn with_beds(&self) {
        self.change(
            "facility.yaml",
            "filters:\n",
            "filters:\n  Beds:\n    kind: shallow media bed\n    vessels: 1\n    diameter: 1 m\n    media: [{kind: silica sand, depth: 0.4 m, grains: \
             0.9 mm, voids: 42 %}]\n    takes from: Town\n    washes: {every: 24 h}\n    one wash: {uses: 2 m3}\n    washed \
             with: its own filtered water\n    wash water to: Brook\n    stops: {all solids: 0 %}\n",
        );
        self.change(
            "facility.yaml",
            "    bag: {dry weight: 200 g}\n    takes from: Town",
            "    bag: {dry weight: 200 g}\n    takes from: Beds",
        );
        self.change("prices.yaml", "pumps: ", "pumps:\n  Lift: {water to: Beds, head: 0 m, efficiency: 50 %}\n #");
        self.write(
            "proposals/none.yaml",
            "name: No beds\nremove: [Beds]\nchange:\n  Bags: {takes from: Town}\npays regularly:\n  Contract: {price: 500 EUR per year}\n",
        );
        std::fs::remove_file(self.dir.join("proposals/long-bags.yaml")).unwrap();
    }

    /// A pond between the town and the bags, in which all that is coarse settles.
    fn with_pond(&self) {
        self.change(
            "facility.yaml",
            "\ndischarge points:",
            "\nponds:\n  Reservoir:\n    shape: {length: 60 m, width: 40 m, depth: 3 m, side slope: 2 to 1, measured at: spill level}\n    freeboard above spill: 0.5 m\n    at the start: \
             {level: 2 m}\n    filled from: {from: Town, up to: 2 m}\n    spills to: Brook\n\ndischarge points:",
        );
        self.change(
            "facility.yaml",
            "    bag: {dry weight: 200 g}\n    takes from: Town",
            "    bag: {dry weight: 200 g}\n    takes from: Reservoir",
        );
        self.change("proposals/long-bags.yaml", "takes from: Town", "takes from: Reservoir");
        self.write(
            "proposals/none.yaml",
            "name: No bags\nremove: [Bags]\nchange:\n  Drip: {takes from: Reservoir}\npumps:\n  Booster now: {water to: Drip, head: 36 m, efficiency: \
             50 %}\n",
        );
        self.write(
            "proposals/sieve.yaml",
            "name: A sieve\nreplace:\n  Bags:\n    by: Sieve\n    kind: gravity screen\n    opening: 5 mm\n    stops: {bigger than the opening: 100 %}\n    \
             handles at most: 100 m3/h\n    above that goes to: Brook\n    screenings: {dry solids: 15 %, to: Skip}\n    takes from: Reservoir\npumps:\n  Booster \
             now: {water to: Sieve, head: 36 m, efficiency: 50 %}\n",
        );
    }
}

/// Behind a pond that settles all that is coarse nothing puts a filter to the test: only stated solids do.
#[test]
fn no_filter_and_a_wide_sieve_have_no_verdict_behind_a_pond_and_test_solids_tell_why() {
    let site = Site::new();
    site.with_pond();
    let all = site.compared(2);
    for name in ["No bags", "A sieve"] {
        let (of, why) = verdict(&all, name);
        assert_eq!(of, "none", "{name}");
        assert!(why.contains("nothing was put to the test") && why.contains("100 % of solids of"), "{name}: {why}");
    }
    // The long bags stop at each size what the bags do.
    assert_ne!(verdict(&all, LONG).0, "none", "{}", verdict(&all, LONG).1);
    site.change("prices.yaml", "target size: 50 um", "target size: 50 um\n  test solids: 5 mg/L");
    let all = site.compared(2);
    for name in ["No bags", "A sieve"] {
        let (of, why) = verdict(&all, name);
        assert!(of == "none" && why.contains("5.0 mg/L come through, 0.0 as it stands"), "{name}: {why}");
    }
    assert_ne!(verdict(&all, LONG).0, "none");
    // Bags that let a tenth of each size through: half a milligram of the five, within the one that is taken as the same; of
    // twenty, two.
    site.change("proposals/long-bags.yaml", "all solids: 100 %", "all solids: 90 %");
    assert_ne!(verdict(&site.compared(2), LONG).0, "none");
    site.change("prices.yaml", "test solids: 5 mg/L", "test solids: 20 mg/L");
    let (of, why) = verdict(&site.compared(2), LONG);
    assert!(of == "none" && why.contains("2.0 mg/L come through, 0.0 as it stands"), "{why}");
}

#[test]
fn samples_far_off_the_computed_solids_bear_no_verdict() {
    let site = Site::new();
    site.change("facility.yaml", "period: ", "records: records\nperiod: ");
    std::fs::create_dir_all(site.dir.join("records")).unwrap();
    for (mg_l, says) in [(100, "saves"), (30, "none"), (400, "none")] {
        let mut rows = String::from("date,place,what,parameter,value,unit,qualifier,paper,received,who,note\n");
        for month in 1..=12 {
            rows.push_str(&format!("2012-{month:02}-10,Town,sample,total suspended solids,{mg_l},mg/L,,,,,\n"));
        }
        site.write("records/log.csv", &rows);
        let (of, why) = verdict(&site.compared(2), LONG);
        assert_eq!(of, says, "{mg_l}: {why}");
        assert!(of == "saves" || why.contains("suspended solids at Town"), "{why}");
    }
}

/// A housing of 3000 EUR: at a tenth of the solids 37 changes become 18, which do not pay for it (2196 EUR a year at a fifth, 1098 at a
/// tenth, and 366 of power), so that the yes rests on solids.
#[test]
fn a_yes_that_turns_on_solids_says_in_how_few_months_they_were_sampled_and_samples_that_turn_it_take_it() {
    let site = Site::new();
    site.change("proposals/long-bags.yaml", "price: 1000 EUR", "price: 3000 EUR");
    let rests = |all: &Value| option(all, LONG)["only_if_nobody_has_shown"].clone();
    let all = site.compared(2);
    assert_eq!(rests(&all), "the solids are as computed (no slip has a figure of them)");
    assert_eq!(option(&all, LONG)["an_answer"], "yes, if");
    site.change("facility.yaml", "period: ", "records: records\nperiod: ");
    std::fs::create_dir_all(site.dir.join("records")).unwrap();
    let sampled = |months: u32, mg_l: &dyn Fn(u32) -> u32| {
        let mut rows = String::from("date,place,what,parameter,value,unit,qualifier,paper,received,who,note\n");
        for month in 1..=months {
            let value = mg_l(month);
            rows.push_str(&format!("2012-{month:02}-10,Town,sample,total suspended solids,{value},mg/L,,,,,\n"));
        }
        site.write("records/log.csv", &rows);
        site.compared(2)
    };
    assert_eq!(rests(&sampled(1, &|_| 100)), "the solids are as computed (sampled in 1 month alone)");
    assert_eq!(rests(&sampled(3, &|_| 100)), "the solids are as computed (sampled in 3 months alone)");
    // Months with water in which nobody sampled: three of them leave open what they had, two do not.
    assert_eq!(rests(&sampled(4, &|_| 100)), "the solids are as computed from May to Dec, when nobody sampled");
    assert_eq!(rests(&sampled(9, &|_| 100)), "the solids are as computed from Oct to Dec, when nobody sampled");
    let all = sampled(10, &|_| 100);
    assert!(rests(&all).is_null() && option(&all, LONG)["an_answer"] == "yes", "{}", rests(&all));
    // One month at a fifth: the mean is as computed, and as in that month it would not pay.
    let (of, why) = verdict(&sampled(12, &|month| if month == 6 { 20 } else { 100 }), LONG);
    assert!(of == "none" && why.contains("20 mg/L sampled, 100 computed"), "{of}: {why}");
    // At 1000 EUR it pays at a tenth too, and no sample turns it.
    site.change("proposals/long-bags.yaml", "price: 3000 EUR", "price: 1000 EUR");
    assert_eq!(verdict(&sampled(12, &|month| if month == 6 { 20 } else { 100 }), LONG).0, "saves");
}

/// A pump to a filter lifts runoff as well as returns; 36.70978 m at 50 % are 0.2 kWh a cubic metre. A motor runs six hours on a dry
/// day, when returns flow, and all day when it rains.
#[test]
fn a_pump_is_charged_for_runoff_and_a_motor_for_the_hours_of_flow() {
    let site = Site::new();
    site.change(
        "facility.yaml",
        "    returns: 0 %\n",
        "    returns: 50 %\n    runs: 6 h/day\n    goes to: Yard screen\n",
    );
    site.change(
        "facility.yaml",
        "filters:\n",
        "filters:\n  Yard screen:\n    kind: vibrating screen\n    decks: [{opening: 300 um, stops: {bigger than the opening: 95 %}}]\n    handles at \
         most: 100 m3/h\n    above that goes to: Brook\n    motor: 1.5 kW\n    screenings: {dry solids: 15 %, to: Skip}\n    goes to: Brook\n",
    );
    let energy = |all: &Value| option(all, "As it stands")["a_year"]["energy_kwh"]["middle_run"].as_f64().unwrap();
    let to_bags = 10.0 * DAYS * 0.2;
    site.change(
        "prices.yaml",
        "pumps: ",
        "pumps:\n  Yard lift: {water to: Yard screen, head: 0 m, efficiency: 50 %}\n #",
    );
    close(energy(&site.compared(0)), to_bags + 1.5 * 6.0 * DAYS);
    site.change("prices.yaml", "head: 0 m", "head: 36.70978 m");
    close(energy(&site.compared(0)), to_bags + 1.5 * 6.0 * DAYS + 5.0 * DAYS * 0.2);
    // The roof too: each millimetre on 1000 m² is a cubic metre.
    site.change(
        "facility.yaml",
        "    runs off: 100 %\n    goes to: Brook",
        "    runs off: 100 %\n    goes to: Yard screen",
    );
    let wet = rain_of_2012().iter().filter(|(_, mm)| *mm > 0.0).count() as f64;
    let rain: f64 = rain_of_2012().iter().map(|(_, mm)| mm).sum();
    assert!(wet > 50.0 && wet < 300.0);
    let expected = to_bags + 1.5 * (24.0 * wet + 6.0 * (DAYS - wet)) + (5.0 * DAYS + rain) * 0.2;
    close(energy(&site.compared(0)), expected);
}

#[test]
fn a_pump_does_not_go_with_the_filter_it_fed() {
    let site = Site::new();
    site.write("proposals/none.yaml", "name: No bags\nremove: [Bags]\nchange:\n  Drip: {takes from: Town}\n");
    let (of, why) = verdict(&site.compared(2), "No bags");
    assert!(of == "none" && why.contains("no pump is typed for the water to Drip"), "{why}");
    // A kind that needs none by itself stands where the pump was.
    site.write(
        "proposals/none.yaml",
        "name: A sieve\nreplace:\n  Bags:\n    by: Sieve\n    kind: gravity screen\n    opening: 5 mm\n    stops: {bigger than the opening: 100 %}\n    \
         handles at most: 100 m3/h\n    above that goes to: Brook\n    screenings: {dry solids: 15 %, to: Skip}\n    takes from: Town\n",
    );
    let (of, why) = verdict(&site.compared(2), "A sieve");
    assert!(of == "none" && why.contains("no pump is typed for the water to Sieve"), "{why}");
}

#[test]
fn costs_each_month_and_renewals_go_with_their_place_and_come_when_they_are_due() {
    let site = Site::new();
    let before = more(&site.compared(0), LONG);
    site.change(
        "prices.yaml",
        "used up:\n",
        "pays regularly:\n  Contract: {price: 100 EUR per month, of: Bags}\nused up:\n",
    );
    let all = site.compared(0);
    // The long bags are of the same kind, and take the contract over.
    close(more(&all, LONG), before);
    let paid = |all: &Value, name| option(all, name)["costs_a_year"]["paid_regularly"]["middle_run"].as_f64().unwrap();
    close(paid(&all, "As it stands"), 1200.0);
    close(paid(&all, LONG), 1200.0);
    // Unless one of their own is typed.
    site.change(
        "prices.yaml",
        "pays regularly:\n",
        "pays regularly:\n  Other: {price: 40 EUR per month, of: Long bags}\n",
    );
    let all = site.compared(0);
    close(more(&all, LONG), before - 10.0 * (1200.0 - 480.0));
    close(paid(&all, LONG), 480.0);
    // Bought after 3 and 7 years, with a quarter of the second left at the tenth; for the long bags, which are new, after 4 and 8,
    // with half of the second left.
    site.change(
        "prices.yaml",
        "used up:\n",
        "renews:\n  Housing: {price: 500 EUR, first after: 3 years, lasts: 4 years, of: Bags}\nused up:\n",
    );
    close(more(&site.compared(0), LONG), before - 7_200.0 - (1000.0 - 125.0) + (1000.0 - 250.0));
    // Without a place both pay, and nothing differs.
    site.change("prices.yaml", "lasts: 4 years, of: Bags", "lasts: 4 years");
    close(more(&site.compared(0), LONG), before - 7_200.0);
}

/// At 5 % with power rising by 4 % a year and all else by 1 %, year by year.
#[test]
fn prices_that_rise_are_summed_year_by_year() {
    let site = Site::new();
    site.change(
        "prices.yaml",
        "discount rate: 0 %",
        "discount rate: 5 %\ndiscount rate is: nominal\nprices rise: {all: 1 %, power: 4 %}",
    );
    let (mut worth, power) = (1000.0, -DAYS * 0.1);
    let rest = (183.0 - DAYS) * 6.0 + (183.0 * 2.2 - DAYS * 1.2) * 0.1;
    for year in 1..=10 {
        worth += (rest * 1.01_f64.powi(year) + power * 1.04_f64.powi(year)) / 1.05_f64.powi(year);
    }
    close(more(&site.compared(0), LONG), worth);
}

/// Cartridges of 300 g, six at each change, at 60 % water: what is dry is 40 % of what is hauled.
#[test]
fn spent_cartridges_are_hauled_as_wet_as_typed() {
    let site = Site::new();
    site.write(
        "proposals/long-bags.yaml",
        "name: Cartridges\nreplace:\n  Bags:\n    by: Cartridges\n    kind: cartridge\n    opening: 20 um\n    elements: 6\n    stops: {all solids: 100 \
         %}\n    changed: {after: 2 kg of solids}\n    one change: {lasts: 3 min}\n    takes from: Town\n    spent media to: Skip\npumps:\n  P: {water to: \
         Cartridges, head: 1 m, efficiency: 50 %}\nused up:\n  Cartridges: {price: 5 EUR each}\n",
    );
    site.change("prices.yaml", "\n  Small booster:", "\n #");
    site.change("prices.yaml", "  Long bags:", " #");
    let (of, why) = verdict(&site.compared(0), "Cartridges");
    assert!(of == "none" && why.contains("dry weight: 300 g"), "{why}");
    let file = "proposals/long-bags.yaml";
    site.change(file, "price: 5 EUR each", "price: 5 EUR each, dry weight: 300 g");
    let waste = |all: &Value| option(all, "Cartridges")["a_year"]["wet_waste_kg"]["middle_run"].as_f64().unwrap();
    let dry = 183.0 * (2.0 + 6.0 * 0.3);
    close(waste(&site.compared(0)), dry);
    site.change(file, "dry weight: 300 g", "dry weight: 300 g, water when hauled: 60 %");
    close(waste(&site.compared(0)), dry / 0.4);
}

#[test]
fn prices_that_say_another_thing_than_is_asked_are_refused() {
    for (file, was, typed, says) in [
        (
            "proposals/long-bags.yaml",
            "price: 1000 EUR",
            "price: 1000 EUR per month",
            "`1000 EUR per month` is not the price of something bought once",
        ),
        ("proposals/long-bags.yaml", "price: 1000 EUR", "price: 14.000 EUR", "may part thousands"),
        (
            "prices.yaml",
            "used up:\n",
            "pays regularly:\n  C: {price: 900 EUR}\nused up:\n",
            "is not paid each month or year",
        ),
        ("prices.yaml", "used up:\n", "prices rise: {power: 40 %}\nused up:\n", "is not how much a price rises"),
    ] {
        let site = Site::new();
        site.change(file, was, typed);
        let told = site.refused();
        assert!(told.contains(says), "{says}: {told}");
    }
}

/// The page says who buys nothing, and when what was paid comes back.
#[test]
fn the_page_tells_what_buys_nothing_and_when_it_pays_back() {
    let text = |site: &Site| {
        let pdf = site.dir.join("case.pdf");
        let out = Command::cargo_bin("bywash")
            .unwrap()
            .arg("compare")
            .arg(&site.dir)
            .args(["--draws", "20"])
            .arg("-o")
            .arg(&pdf)
            .output();
        assert!(out.unwrap().status.success());
        let words =
            std::process::Command::new("pdftotext").arg(&pdf).arg("-").output().expect("pdftotext is needed").stdout;
        String::from_utf8_lossy(&words).split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let site = Site::new();
    let words = text(&site);
    // 1000 EUR against 1138.26 a year: back in the first year.
    assert!(words.contains("back in year 1"), "{words}");
    assert!(!words.contains("Buys nothing"));
    let file = "proposals/long-bags.yaml";
    let proposal = std::fs::read_to_string(site.dir.join(file)).unwrap();
    site.write(file, proposal.split("pays once").next().unwrap());
    let words = text(&site);
    assert!(words.contains("Buys nothing Long bags"), "{words}");
}

/// A roof's rain puts the brook over half a cubic metre a day whatever the bags: what saves stays outside.
#[test]
fn what_pays_and_stays_outside_of_a_limit_is_told_as_that_in_one_word() {
    let site = Site::new();
    site.change("facility.yaml", "period: ", "rules: rules.yaml\nperiod: ");
    let at_most = |m3: &str| {
        let limit =
            format!("  Brook flow: {{at: Brook, parameter: water, statistic: daily total, at most: {m3} m3}}\n");
        let head = "authority: Board (invented)\npermit: T-1\npermit year starts: 1 Jan\nhow this permit counts: {day: midnight to midnight, \
                    rounding: not said}\n";
        site.write("rules.yaml", &format!("{head}limits:\n{limit}"));
        let all = site.compared(20);
        (option(&all, LONG)["an_answer"].clone(), option(&all, LONG)["stays_outside_of"].to_string())
    };
    let (answer, stays) = at_most("0.5");
    assert!(answer == "pays, but does not comply" && stays.contains("Brook flow"), "{answer} {stays}");
    let words = site.told(20);
    assert!(words.contains("Pays, but does not comply: it stays outside of Brook flow (at most 0.5 m3"), "{words}");
    assert!(!words.contains("Yes"), "{words}");
    let (answer, stays) = at_most("5000");
    assert!(answer == "yes" && stays == "[]", "{answer} {stays}");
}

/// 366 washes of 2 m³ at 2 EUR are 1464 EUR a year, half of them 732 and double 2928: a contract between these turns on them, and so does
/// the sum that is saved over one of 500 EUR. Where no condition is told, typing half or double changes nothing.
#[test]
fn a_condition_on_washes_that_nobody_logged_stands_where_half_or_double_is_another_sum_and_is_never_missed() {
    for (price, wanted, another) in [(500, true, false), (1000, true, true), (2000, true, true), (4000, false, false)] {
        let answer = |every: &str| {
            let site = Site::new();
            site.with_beds();
            site.change("facility.yaml", "washes: {every: 24 h}", &format!("washes: {{every: {every}}}"));
            site.change("proposals/none.yaml", "500 EUR", &format!("{price} EUR"));
            let all = site.compared(2);
            let of = option(&all, "No beds");
            let is_told = of["only_if_nobody_has_shown"].to_string().contains("the washes of Beds are as computed");
            (of["verdict"]["verdict"].to_string(), is_told)
        };
        let (as_typed, is_told) = answer("24 h");
        assert_eq!(is_told, wanted, "{price}");
        let is_another = [answer("48 h"), answer("12 h")].iter().any(|(other, _)| *other != as_typed);
        assert_eq!(is_another, another, "{price}");
    }
}

/// Twice as many washes logged as computed is no fault of a clock that sets too many off.
#[test]
fn a_clock_is_advised_only_where_fewer_were_logged() {
    for (a_day, of_the_clock) in [(2, false), (0, true)] {
        let site = Site::new();
        site.with_beds();
        site.change("facility.yaml", "period: ", "records: records\nperiod: ");
        std::fs::create_dir_all(site.dir.join("records")).unwrap();
        let mut log = String::from("date,place,what,parameter,value,unit,qualifier,paper,received,who,note\n");
        for (day, (date, _)) in (0..).zip(rain_of_2012()) {
            log.push_str(&format!("{date},Beds,washes,,{},,,,,,\n", a_day.max(i32::from(day % 3 == 0))));
        }
        site.write("records/log.csv", &log);
        let why = verdict(&site.compared(20), "No beds").1;
        assert!(why.contains("which no draw repeats"), "{why}");
        assert_eq!(why.contains("every: 24 h"), of_the_clock, "{why}");
        assert!(of_the_clock || why.contains("look at the log"), "{why}");
    }
}

/// Four washes a day in the log and 8 m³ of them by the meter, 2 m³ each: the clock of 24 h is off, and no load of solids.
#[test]
fn a_clock_that_log_and_meter_speak_against_is_named() {
    let site = Site::new();
    site.with_beds();
    site.change(
        "facility.yaml",
        "period: ",
        "records: records\nmeters:\n  M wash: {from: Beds, to: Brook, what: wash water, counts in: m3, digits: 6}\nperiod: ",
    );
    site.change("proposals/none.yaml", "remove: [Beds]", "remove: [Beds, M wash]");
    std::fs::create_dir_all(site.dir.join("records")).unwrap();
    let mut log = String::from("date,place,what,parameter,value,unit,qualifier,paper,received,who,note\n");
    for (day, (date, _)) in (0..).zip(rain_of_2012()) {
        log.push_str(&format!("{date},Beds,washes,,4,,,,,,\n"));
        log.push_str(&format!("{date} 00:00,M wash,reading,,{},m3,,,,,\n", 1000 + 8 * day));
    }
    site.write("records/log.csv", &log);
    let why = verdict(&site.compared(20), "No beds").1;
    let of = "`every: 24 h` sets them off in the computation, and by log and meter there is one every 6 h: look at that line";
    assert!(why.contains(of) && !why.contains("solids that reach"), "{why}");
}

/// One sample of June beside ten of every other month that agree. At twelve times the solids there are twelve times the changes and twelve
/// times what they cost, and as much power and housing: what is told can be made again from the slip and the prices.
#[test]
fn money_with_as_many_solids_as_a_months_samples_is_made_again_at_their_own_ratio() {
    let told = |mg_l: u32| {
        let site = Site::new();
        site.change("facility.yaml", "period: ", "records: records\nperiod: ");
        std::fs::create_dir_all(site.dir.join("records")).unwrap();
        let mut rows = String::from("date,place,what,parameter,value,unit,qualifier,paper,received,who,note\n");
        for (month, day) in (1..=12).flat_map(|month| (11..=20).map(move |day| (month, day))) {
            let (value, note) = if month == 6 { (mg_l, "checked") } else { (100, "") };
            if month != 6 || day == 11 {
                rows.push_str(&format!(
                    "2012-{month:02}-{day},Town,sample,total suspended solids,{value},mg/L,,,,,{note}\n"
                ));
            }
        }
        site.write("records/log.csv", &rows);
        site.told(20)
    };
    let with_times =
        |times: f64| 10.0 * times * ((183.0 - 366.0) * 6.0 + (183.0 * 2.2 - 366.0 * 1.2) * 0.1) - 366.0 + 1000.0;
    assert!((with_times(12.0) + 131_500.0).abs() < 1_000.0 && (with_times(20.0) + 219_500.0).abs() < 1_000.0);
    let words = told(1200);
    let of = "with 12 times the solids everywhere on the site (at Town in Jun 2012 1200 mg/L sampled, 100 computed) it saves 130 000 EUR";
    assert!(words.contains(of), "{words}");
    let words = told(3000);
    let of = "with 20 times the solids everywhere on the site, the most that is tried (sampled: 30 times, \
              at Town in Jun 2012 3000 mg/L sampled, 100 computed) it saves 220 000 EUR";
    assert!(words.contains(of), "{words}");
}

/// The case and its annex in words.
fn printed(site: &Site, draws: u32) -> String {
    let mut command = Command::cargo_bin("bywash").unwrap();
    command.arg("compare").arg(&site.dir).args(["--draws", &draws.to_string()]);
    let out = command.arg("-o").arg(site.dir.join("case.pdf")).output().unwrap();
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    let words = |name: &str| {
        let out = std::process::Command::new("pdftotext").arg(site.dir.join(name)).arg("-").output();
        String::from_utf8_lossy(&out.expect("pdftotext is needed").stdout).into_owned()
    };
    let all = [words("case.pdf"), words("case-annex.pdf")].concat();
    all.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The row of a table that begins so, as printed.
fn row(all: &Value, table: &str, name: &str) -> Vec<String> {
    row_of(all, table, "rows", name)
}

/// The same of a table's rows, or its heads.
fn row_of(all: &Value, table: &str, part: &str, name: &str) -> Vec<String> {
    let is_it = |of: &&Value| of["table"].as_str().is_some_and(|known| known.starts_with(table));
    let table = all["tables"].as_array().unwrap().iter().find(is_it).unwrap_or_else(|| panic!("{table}"));
    let words = |cell: &Value| cell.as_str().map_or_else(|| cell.to_string(), str::to_owned);
    let of = |row: &Value| row.as_array().unwrap().iter().map(words).collect::<Vec<_>>();
    if part == "heads" {
        return of(&table["heads"]);
    }
    let mut rows = table[part].as_array().unwrap().iter().map(of);
    rows.find(|row| row[0].starts_with(name)).unwrap_or_else(|| panic!("{name}: {table}"))
}

/// `+1 230 (900 to 1 500)` as 1230.
fn first_figure(cell: &str) -> f64 {
    let bare = cell.split(" (").next().unwrap().split('\u{a0}').next().unwrap();
    let bare: String = bare.chars().filter(|c| c.is_ascii_digit() || matches!(c, '.' | '-' | '−')).collect();
    bare.replace('−', "-").parse().unwrap_or_else(|_| panic!("{cell}"))
}

/// A housing whose price is hardly known stands in both rows with the same draws: what is apart is the changes alone.
#[test]
fn money_as_logged_is_money_as_computed_but_for_the_washes() {
    let site = Site::new();
    site.change("proposals/long-bags.yaml", "price: 1000 EUR", "price: 100 to 9900 EUR");
    site.log(|day| u32::from(day % 4 == 0));
    let all = site.compared(3);
    let at_log = all["at_the_log"]["worth_today_more"][1].as_f64().unwrap();
    let apart = long_more_than(91.0, 4.0) - long_more_than(DAYS, 1.0);
    assert!((at_log - more(&all, LONG) - apart).abs() < 50.0, "{at_log} {}", more(&all, LONG));
}

/// The price at which the long bags cost the same is typed, and they do: in the median of the draws that the log weighs.
#[test]
fn a_price_turns_the_answer_round_in_the_draws_that_count() {
    let site = Site::new();
    site.change("facility.yaml", "after: 1 kg of solids", "after: 0.9 kg to 1.2 kg of solids");
    site.log(|_| 1);
    let all = site.compared(60);
    assert!(all["repeats_the_log"]["weights"].is_array());
    let evens = option(&all, LONG)["break_evens"].as_array().unwrap();
    let price = evens.iter().find(|even| even["what"] == "Price of a bag, Bags").unwrap();
    let typed = 5.0 * price["factor"].as_f64().unwrap();
    site.change("prices.yaml", "price: 5.00 EUR each", &format!("price: {typed:.4} EUR each"));
    let at = more(&site.compared(60), LONG);
    assert!(at.abs() < 20.0, "{at} at {typed}");
}

impl Site {
    /// Bags that some draws change as logged, beds that none washes as logged, and a stand of which hardly anybody knows the price.
    fn with_beds_off_the_log(&self) {
        self.with_beds();
        self.change("facility.yaml", "after: 1 kg of solids", "after: 0.9 kg to 1.2 kg of solids");
        self.log(|_| 1);
        let mut log = std::fs::read_to_string(self.dir.join("records/log.csv")).unwrap();
        for (day, (date, _)) in (1..).zip(rain_of_2012()) {
            log.push_str(&format!("{date},Beds,washes,,{},,,,,,\n", u32::from(day % 4 == 0)));
        }
        self.write("records/log.csv", &log);
        let none = std::fs::read_to_string(self.dir.join("proposals/none.yaml")).unwrap();
        self.write(
            "proposals/none.yaml",
            &format!("{none}pays once:\n  Stand: {{price: 100 to 9900 EUR, lasts: 15 years}}\n"),
        );
    }
}

#[test]
fn the_page_tells_what_weighs_the_draws_where_something_else_is_off_the_log() {
    let site = Site::new();
    site.with_beds_off_the_log();
    let words = printed(&site, 30);
    assert!(words.contains("draws repeat changes of Bags, and count by how well they do"), "{words}");
    assert!(words.contains("as hardly any draw repeats it: washes of Beds"), "{words}");
    // Of 30 draws no more than 30 count, and 50 are needed to tell what drives the answer.
    assert!(words.contains("too few to tell which range") && !words.contains("no range stands out"), "{words}");
    assert!(words.contains("Hours of labour, as typed: Bags, 3 min a change"), "{words}");
}

/// What is paid at the start is cash, in all tables alike: the draws' own median, a third of which is left after ten of fifteen years at
/// no interest, and which is back when the saving of so many years is as much.
#[test]
fn cash_at_the_start_its_rest_and_its_return_are_told_apart_and_alike_in_all_tables() {
    let site = Site::new();
    site.with_beds_off_the_log();
    let all = site.compared(30);
    let of = |table: &str, name: &str, option: &str| {
        let heads = row_of(&all, table, "heads", "");
        let at = heads.iter().position(|head| head.starts_with(option)).unwrap();
        row(&all, table, name)[at].clone()
    };
    let cell = |table: &str, name: &str| of(table, name, "No beds");
    let start = first_figure(&cell("Side by side", "Paid at the start"));
    assert!(start > 100.0 && start != 5000.0, "{start}");
    assert_eq!(first_figure(&cell("Costs a year", "Paid at the start")), start);
    assert_eq!(first_figure(&cell("Paid by year", "at the start")), start);
    let left = first_figure(&cell("Side by side", "What is left of it after 10 years"));
    assert!((left + start / 3.0).abs() < 0.01 * start, "{left} of {start}");
    let saves = -option(&all, "No beds")["more_than_as_it_stands"]["running_a_year"]["median"].as_f64().unwrap();
    assert_eq!(cell("Side by side", "Paid back"), format!("in year {}", (start / saves).ceil()));
    let each = |option: &str| first_figure(&of("Paid by year", "1 to 10, each", option));
    let (now, then) = (each("As it stands"), each("No beds"));
    assert!((now - then - saves).abs() < 0.01 * now, "{now} {then} {saves}");
}

/// Ten cubic metres a day with 100 mg/L: a kilogram a day, all of which the bags stop.
#[test]
fn solids_that_a_filter_takes_out_are_told() {
    let all = Site::new().compared(0);
    let of = |name: &str, filter: &str| {
        option(&all, name)["a_year_by_place"]["solids_taken_out_kg"][filter].as_f64().unwrap()
    };
    assert!((of("As it stands", "Bags") - DAYS).abs() < 1.5);
    assert!((of(LONG, "Long bags") - DAYS).abs() < 2.5);
    let heads = row_of(&all, "What each filter does", "heads", "");
    let at = heads.iter().position(|head| head.starts_with("Dry solids taken out")).unwrap();
    assert!((first_figure(&row(&all, "What each filter does", "Bags")[at]) - DAYS).abs() < 1.5);
}

/// One rain a month: the month's average is that day's; a second one with other water in it makes two figures of them.
#[test]
fn a_month_with_water_on_a_single_day_says_why_both_limits_have_one_figure() {
    for (rains, is_told) in [(&["2012-03-03"][..], true), (&["2012-03-03", "2012-03-04"][..], false)] {
        let site = Site::new();
        site.change("facility.yaml", "period: ", "rules: rules.yaml\nperiod: ");
        site.change("facility.yaml", "    goes to: Brook", "    goes to: Brook\n    solids: {silt: 50 mg/L}");
        let mut rain = String::from("date,rain,unit\n");
        for (date, _) in rain_of_2012() {
            rain.push_str(&format!("{date},{},mm\n", if rains.contains(&date.as_str()) { 10 } else { 0 }));
        }
        site.write("rain.csv", &rain);
        site.write(
            "rules.yaml",
            "authority: Board (invented)\npermit: T-1\npermit year starts: 1 Jan\nhow this permit counts: {day: midnight to midnight, \
             rounding: not said}\nlimits:\n  Highest day: {at: Brook, parameter: total suspended solids, statistic: daily maximum, at most: 60 \
             mg/L}\n  Month: {at: Brook, parameter: total suspended solids, statistic: monthly average, at most: 30 mg/L}\n",
        );
        let words = printed(&site, 2);
        assert_eq!(words.contains("water comes on a single day"), is_told, "{words}");
    }
}

/// 50 mg/L run off and 200 were sampled on days of rain: four times as much stands beside the worst figure, and the mass is not shown.
#[test]
fn samples_far_over_what_is_computed_stand_beside_the_worst_figure_and_the_mass() {
    let site = Site::new();
    site.change("facility.yaml", "period: ", "rules: rules.yaml\nrecords: records\nperiod: ");
    site.change("facility.yaml", "    goes to: Brook", "    goes to: Brook\n    solids: {silt: 50 mg/L}");
    site.write(
        "rules.yaml",
        "authority: Board (invented)\npermit: T-1\npermit year starts: 1 Jan\nhow this permit counts: {day: midnight to midnight, \
         rounding: not said}\nlimits:\n  Highest day: {at: Brook, parameter: total suspended solids, statistic: daily maximum, at most: 300 \
         mg/L}\n",
    );
    std::fs::create_dir_all(site.dir.join("records")).unwrap();
    let mut log = String::from("date,place,what,parameter,value,unit,qualifier,paper,received,who,note\n");
    for (date, _) in rain_of_2012().iter().filter(|(_, mm)| *mm > 5.0).take(6) {
        log.push_str(&format!("{date},Brook,sample,total suspended solids,200,mg/L,,,,,\n"));
    }
    site.write("records/log.csv", &log);
    let words = printed(&site, 2);
    let told = "Solids to Brook are no figure to go by: samples there have 200 mg/L on average, and 50 are computed on the same days.";
    assert!(words.contains(told), "{words}");
    // Words of two columns stand line by line.
    assert!(words.contains("; by the samples") && words.contains("up to 200 mg/L"), "{words}");
}

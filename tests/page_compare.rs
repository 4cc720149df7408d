//! The page of a comparison answers at other prices as `compare` does: 200 settings at random, in a real browser.

#![cfg(test)]

mod browser;
mod report_sample;

use std::path::Path;

use browser::Browser;
use bywash::compare::{
    Alternative, Asked, Study, Verdict, break_evens, prices, proposal, study, without_driving_records,
};
use bywash::facility;
use bywash::files::{Source, Sources, yaml};
use bywash::page::html::{Page, render};
use bywash::records;
use bywash::report::screen::case::answer;
use bywash::told::Problems;
use bywash::weather;
use serde_json::{Value, json};

fn node(path: &str) -> yaml::Node {
    let text = std::fs::read_to_string(path).unwrap();
    yaml::tree(&Source::new(path, &text), &Problems::new()).unwrap()
}

/// The demonstration's options, and something that is bought and bought again.
fn options(problems: &Problems) -> Vec<Alternative> {
    let directory = Path::new("demo-facility");
    let tree = node("demo-facility/facility.yaml");
    let facility = facility::from_tree(&tree, directory, problems).unwrap();
    let rules = node("rules/sallowfen.yaml");
    let mut options = vec![Alternative::as_it_stands(&tree, directory, Some(&rules), problems).unwrap()];
    for name in ["tuned", "bags", "moving-media"] {
        let proposal = proposal::read(&node(&format!("demo-facility/proposals/{name}.yaml")), problems).unwrap();
        options.extend(Alternative::proposed(&tree, &facility, &proposal, Some(&rules), problems));
    }
    options
}

fn word(of: &Verdict) -> &'static str {
    match of {
        Verdict::None(_) => "none",
        Verdict::Same => "same",
        Verdict::Hardly(_) => "hardly",
        Verdict::Saves(_) => "saves",
        Verdict::Costs(_) => "costs",
        Verdict::Open(_) => "open",
        Verdict::Worse(_, money) => word(money),
    }
}

/// Numbers between 0 and 1, always the same.
fn random(seed: &mut u64) -> f64 {
    *seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
    (*seed >> 11) as f64 / (1_u64 << 53) as f64
}

#[test]
fn the_page_answers_at_two_hundred_other_prices_as_compare_does() {
    let Some(browser) = Browser::open() else { return };
    let quiet = Problems::new();
    let options = options(&quiet);
    let facility = &options[0].facility;
    let mut sources = Sources::new(Path::new("demo-facility"));
    let timeline = records::read(facility, &mut sources, &quiet);
    let period = facility.period.unwrap();
    let weather = weather::read(facility, period, &timeline.rain, &mut sources, &quiet);
    let timeline = without_driving_records(&timeline);
    let prices = prices::read(&node("demo-facility/prices.yaml"), &quiet).unwrap();
    let (weather, timeline) = (&weather, &timeline);
    let asked = Asked { options: &options, prices: &prices, weather, timeline, log: timeline, period, draws: 24 };
    let study = study(&asked, &|_| {}).unwrap_or_else(|_| panic!("a study"));
    let answer = answer(&study, &|option| study.options[option].alternative.name.clone());
    let (keys, lives): (Vec<String>, Vec<String>) = (
        answer.prices.iter().map(|one| one.key.clone()).collect(),
        answer.lives.iter().map(|one| one.name.clone()).collect(),
    );
    assert!(keys.len() > 8 && !lives.is_empty(), "{keys:?}, {lives:?}");
    let typed: Vec<String> = answer.prices.iter().map(|one| one.typed.clone()).collect();
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join("page-of-a-comparison.html");
    let page = Page { document: Some(report_sample::sample()), answer: Some(answer), ..Page::default() };
    std::fs::write(&path, render(&page)).unwrap();
    browser.go(&path, "");

    let mut seed = 7;
    let mut settings: Vec<(Vec<f64>, Vec<f64>)> = vec![(vec![1.0; keys.len()], vec![1.0; lives.len()])];
    for _ in 0..200 {
        // From a tenth to ten times, evenly in proportion; a life from a half to twice.
        let prices = keys.iter().map(|_| 10_f64.powf(2.0 * random(&mut seed) - 1.0)).collect();
        let lives = lives.iter().map(|_| 2_f64.powf(2.0 * random(&mut seed) - 1.0)).collect();
        settings.push((prices, lives));
    }
    let asked_of_page: Vec<Value> = settings.iter().map(|(prices, lives)| json!([prices, lives])).collect();
    let script = format!(
        "return {}.map(([prices, lives]) => {{ const detail = {{ prices, lives }}; \
         document.dispatchEvent(new CustomEvent('answer-at', {{ detail }})); return [detail.found, detail.evens]; }})",
        json!(asked_of_page)
    );
    let found = browser.js(&script);
    let mut told: Vec<&str> = Vec::new();
    for ((prices, life), of_page) in settings.iter().zip(found.as_array().unwrap()) {
        let at = |key: &str| keys.iter().position(|known| known == key).map_or(1.0, |at| prices[at]);
        let life = |option: &str, what: &str| {
            let name = if option.is_empty() { what.to_owned() } else { format!("{option}, {what}") };
            lives.iter().position(|known| *known == name).map_or(1.0, |at| life[at])
        };
        let moved: Study = study.at_prices(&at, &life);
        for option in 1..study.options.len() {
            let of = &of_page[0][option - 1];
            let verdict = moved.verdict(option, 0);
            assert_eq!(of["verdict"], word(&verdict), "{verdict:?} and {of} at {prices:?}");
            assert_eq!(of["limits"] != "", !verdict.worse().is_empty(), "{verdict:?} and {of}");
            told.push(word(&verdict));
            let money = moved.present_more(option, 0);
            let Some(range) = money.spread() else { continue };
            let most = money.values.iter().fold(1.0_f64, |most, value| most.max(value.abs()));
            for (shown, reckoned) in
                [range.low, range.median, range.high].iter().enumerate().map(|(at, value)| (&of["range"][at], value))
            {
                assert!((shown.as_f64().unwrap() - reckoned).abs() <= 1e-6 * most, "{shown} and {reckoned}");
            }
            assert_eq!(of["share"].as_f64(), money.share_below_nought());
        }
    }
    for wanted in ["saves", "costs", "open"] {
        assert!(told.contains(&wanted), "no setting came to {wanted}");
    }
    // Break-evens, as typed: those of the model itself, found by halving.
    let mut met = 0;
    for option in 1..study.options.len() {
        let evens = break_evens(&study, &asked, option).unwrap_or_else(|_| panic!("break-evens"));
        for even in evens {
            let Some(at) = typed.iter().position(|text| *text == even.typed) else { continue };
            let Some(of_page) = found[0][1][option - 1][at].as_f64() else { continue };
            let factor = even.factor.unwrap_or_else(|| panic!("{} at {of_page} times on the page", even.what));
            assert!((of_page / factor - 1.0).abs() < 2e-3, "{}: {of_page} and {factor}", even.what);
            met += 1;
        }
    }
    assert!(met > 0, "no break-even to compare");

    // By hand: a slider, the answer told, all as typed again.
    let move_ = "const one = document.querySelector('.sliders input'); one.value = 1; one.dispatchEvent(new Event('input')); \
        return document.getElementById('answer-words').textContent";
    assert!(browser.text(move_).starts_with("At these prices: "));
    let back =
        "document.getElementById('as-typed').click(); return document.getElementById('answer-words').textContent";
    assert!(browser.text(back).starts_with("As typed: "));
    assert_eq!(browser.console(), Vec::<String>::new());
}

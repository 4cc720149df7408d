//! How fast the page is where much is on it: 54 places, ten years, 36,000 records. A measure and no test, since what it finds
//! hangs on the machine and on what else that does:
//!
//! `cargo test --release --test page_speed -- --ignored --nocapture`

#![cfg(test)]

mod browser;
#[path = "../benches/support/many_places.rs"]
mod many_places;

use std::path::Path;
use std::time::Instant;

use assert_cmd::Command;
use browser::Browser;
use many_places::Site;
use serde_json::Value;

/// Steps of the slider, and how often the page is opened.
const STEPS: usize = 120;
const TIMES: usize = 7;

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
    many_places::write(&dir, &Site { blocks: 6, years: 10, limits: 2, readings_a_day: 1 });
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

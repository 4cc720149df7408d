//! The page in a real browser: opened, clicked through to a paper, moved by the keys, searched, read by the rules of
//! accessibility, in light and dark, broad and narrow.

#![cfg(test)]

mod browser;

use std::path::PathBuf;
use std::sync::OnceLock;

use assert_cmd::Command;
use browser::{Browser, RULES, is_quiet};
use serde_json::json;

/// The demonstration's page, made once.
fn demo() -> PathBuf {
    static PAGE: OnceLock<PathBuf> = OnceLock::new();
    let make = || {
        let path = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("page-of-the-demonstration.html");
        let args = ["page", "demo-facility", "--draws", "10", "-o"];
        Command::cargo_bin("bywash").unwrap().args(args).arg(&path).assert().success();
        path
    };
    PAGE.get_or_init(make).clone()
}

#[test]
fn a_figure_opens_to_its_arithmetic_and_paper_and_back_is_back() {
    let Some(browser) = Browser::open() else { return };
    browser.go(&demo(), "");
    browser.js("document.querySelector('.limits a.opens').click()");
    browser.until("return document.getElementById('working').open");
    let words = browser.text("return document.getElementById('working').textContent");
    // March's two results, as they stand on the laboratory's slips.
    for wanted in ["TSS, month average: exceeded", "Mar 2025", "37.5 mg/L", "lab.csv", "paper slip 25-"] {
        assert!(words.contains(wanted), "{wanted} in {words}");
    }
    browser.js("history.back()");
    browser.until("return !document.getElementById('working').open");
    // The same address, mailed.
    let address = browser.text("return document.querySelector('.limits a.opens').hash");
    browser.go(&demo(), &address);
    browser.until("return document.getElementById('working').open");
    // Escape shuts it.
    browser.press("\u{e00c}");
    browser.until("return !document.getElementById('working').open");
    is_quiet(&browser);
}

#[test]
fn a_click_on_the_picture_opens_a_places_day_that_adds_up_down_to_its_records() {
    let Some(browser) = Browser::open() else { return };
    browser.go(&demo(), "#site@2025-03-14");
    browser.until("return document.querySelector('svg.site').classList.contains('by-day')");
    let click = "document.querySelector('a.place[href=\"#place-settling-pond\"]').dispatchEvent(new MouseEvent('click', {bubbles: true, cancelable: true}))";
    browser.js(click);
    browser.until("return location.hash === '#place-settling-pond@2025-03-14'");
    let opened = browser.text("return document.getElementById('opened').textContent");
    for wanted in ["Settling pond on 14 Mar 2025", "Held at the day’s opening", "Its water adds up", "meters.csv"] {
        assert!(opened.contains(wanted), "{wanted} in {opened}");
    }
    // Added up once more from what is printed: what it held and all terms give what it holds.
    let sum = "const rows = [...document.querySelectorAll('#opened table')[0].tBodies[0].rows]; \
        const number = (row) => Number(row.cells[2].textContent.replace(/[^0-9.]/g, '')); \
        const last = number(rows.pop()); \
        return rows.reduce((sum, row) => sum + (row.cells[0].textContent.startsWith('\u{2212}') ? -1 : 1) * number(row), 0) - last";
    let off = browser.js(sum).as_f64().unwrap();
    assert!(off.abs() <= 8.0, "off by {off} gal");
    browser.js("history.back()");
    browser.until("return location.hash === '#site@2025-03-14'");
    browser.until("return !document.getElementById('opened').textContent.includes('Settling pond on')");
    // A way, by its address.
    browser.go(&demo(), "#way-sand-beds-to-settling-pond-wash-water@2025-03-14");
    browser.until("return document.getElementById('opened').textContent.includes('Metered on this way')");
    assert!(browser.text("return document.getElementById('opened').textContent").contains("M3 wash"));
    is_quiet(&browser);
}

#[test]
fn the_keys_alone_move_the_picture_jump_and_search() {
    let Some(browser) = Browser::open() else { return };
    browser.dress(1280, 1000, "light", "reduce");
    browser.go(&demo(), "");
    // Tab leads from the top to the slider.
    let mut steps = 0;
    while browser.text("return document.activeElement.id") != "day" {
        browser.press("\u{e004}");
        steps += 1;
        assert!(steps < 150, "the slider is never reached");
    }
    browser.press("\u{e014}\u{e014}\u{e014}");
    browser.until("return document.getElementById('day-words').textContent.startsWith('4 Nov 2024')");
    browser.until("return location.hash === '#site@2024-11-04'");
    // End, then to the button before the day: Enter steps.
    browser.press("\u{e010}");
    browser.until("return document.getElementById('day-words').textContent.startsWith('31 Oct 2025')");
    browser.press("\u{e004}\u{e007}");
    browser.until("return document.getElementById('day-words').textContent.startsWith('30 Oct 2025')");
    // The list of days: to it, and to its first day, the worst of a limit.
    browser.press("\u{e004}\u{e004}\u{e004}\u{e004}");
    assert_eq!(browser.text("return document.activeElement.id"), "jump");
    browser.press("\u{e015}");
    browser.until("return document.getElementById('day-words').textContent.startsWith('1 Mar 2025')");
    // The first place after it opens by Enter and gets the focus.
    while browser.text("return document.activeElement.getAttribute('class') || ''").split(' ').next() != Some("place") {
        browser.press("\u{e004}");
        steps += 1;
        assert!(steps < 300, "no place is ever reached");
    }
    browser.press("\u{e007}");
    browser.until("return document.activeElement.id === 'opened' && location.hash.includes('@2025-03-01')");
    // Search for a paper's number, and go to the day it is of.
    browser.js("document.getElementById('search').focus()");
    browser.press("slip 25-031");
    browser.until("return document.querySelectorAll('#found a').length > 0");
    browser.press("\u{e007}");
    browser.until("return location.hash.startsWith('#site@2025-')");
    assert!(browser.text("return document.getElementById('opened').textContent").contains("slip 25-031"));
    is_quiet(&browser);
}

#[test]
fn a_search_finds_a_place_on_a_day_a_months_sum_and_the_end_of_a_long_sentence() {
    let Some(browser) = Browser::open() else { return };
    browser.go(&demo(), "");
    let first = |asked: &str| {
        let ask = "document.getElementById('search').value = ASKED; \
            document.getElementById('search').dispatchEvent(new Event('input'))";
        browser.js(&ask.replace("ASKED", &json!(asked).to_string()));
        browser.until("return document.querySelectorAll('#found a').length > 0");
        browser.text("return document.querySelector('#found a').textContent")
    };
    assert_eq!(first("14 March 2025 Storage pond"), "Storage pond, 14 Mar 2025");
    let sum = first("April 2025 Outfall 1");
    assert!(sum.starts_with("Outfall 1, Apr 2025: left, gal 492") && sum.ends_with("days 6"), "{sum}");
    // A question as one would say it; a day stands in the spans that hold it.
    assert_eq!(first("What was the lowest freeboard?"), "Freeboard: not shown");
    first("what went to the sewer on 7 June 2025?");
    let found = browser.text("return document.getElementById('found').textContent");
    assert!(found.contains("Sewer, any day") && found.contains("6-8 Jun 2025"), "{found}");
    // The end of a sentence of well over the letters that are shown.
    let long = browser.text(
        "const long = [...document.querySelectorAll('main p')].map(p => p.textContent.trim().replace(/\\s+/g, ' ')) \
            .find(words => words.length > 300 && !words.includes('\u{202f}')); return long",
    );
    let last: Vec<&str> = long.split(' ').rev().take(6).collect();
    let asked = last.into_iter().rev().collect::<Vec<_>>().join(" ");
    let found = first(&asked);
    assert!(found.contains('…'), "{asked}: {found}");
    // Where nothing has all of the words, what has most of them, and it is said.
    assert!(!first("Storage pond freeboard xyzzy").is_empty());
    assert!(browser.text("return document.getElementById('found-count').textContent").starts_with("nothing has all"));
    // A figure is found whole: 7.5, and not 37.5 alone.
    first("7.5");
    let whole = "return [...document.querySelectorAll('#found a')].every(hit => /(?<![\\d.])7\\.5(?!\\d)/.test(hit.textContent))";
    assert_eq!(browser.js(whole), json!(true));
    // What the page has under another word.
    let storm = first("cloudburst");
    assert!(storm.to_lowercase().contains("storm"), "{storm}");
    is_quiet(&browser);
}

#[test]
fn a_limits_window_tells_first_what_is_wrong_and_leaves_the_search_free() {
    let Some(browser) = Browser::open() else { return };
    browser.go(&demo(), "");
    browser.js("document.querySelector('.limits a.opens').click()");
    browser.until("return document.getElementById('working').open");
    let outcomes = browser
        .text("return [...document.querySelectorAll('#working tbody tr')].map(row => row.cells[1].textContent).join()");
    let ranks = outcomes.split(',').map(|outcome| match outcome {
        "exceeded" => 0,
        "not shown" => 1,
        "met" => 2,
        "no discharge" => 3,
        other => panic!("{other}"),
    });
    assert!(ranks.is_sorted() && outcomes.contains("not shown") && outcomes.contains("met"), "{outcomes}");
    let count = format!("Of {}: 1 exceeded, ", outcomes.split(',').count());
    assert!(browser.text("return document.getElementById('working').textContent").contains(&count), "{count}");
    let free = "const box = document.getElementById('search').getBoundingClientRect(); \
        return document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2).id";
    assert_eq!(browser.text(free), "search");
    browser.js("document.getElementById('search').value = 'Freeboard'; \
            document.getElementById('search').dispatchEvent(new Event('input')); \
            [...document.querySelectorAll('#found a')].find(hit => hit.textContent.startsWith('Freeboard: ')).click()");
    browser.until("return location.hash === '#limit-freeboard' || document.getElementById('working-title').textContent.startsWith('Freeboard')");
    is_quiet(&browser);
}

#[test]
fn a_day_drawn_is_the_days_ledger_and_the_whole_period_comes_back_as_it_was() {
    let Some(browser) = Browser::open() else { return };
    browser.go(&demo(), "#site");
    let whole = browser.text("return document.querySelector('svg.site').textContent");
    browser.js("const day = document.getElementById('day'); day.value = 133; day.dispatchEvent(new Event('input'))");
    browser.until("return document.getElementById('day-words').textContent.startsWith('14 Mar 2025')");
    let label = "const band = [...document.querySelectorAll('a.way')].find(way => way.getAttribute('href').endsWith('#way-storage-pond-to-outfall-1-spill-or-bypass')); \
        return document.querySelector(`.label[data-way='${band.dataset.way}'] text.day`).textContent";
    let drawn: f64 = browser.text(label).parse().unwrap();
    let csv = Command::cargo_bin("bywash").unwrap().args(["ledger", "demo-facility"]).output().unwrap().stdout;
    let of_day = String::from_utf8(csv).unwrap();
    let line = of_day.lines().find(|line| line.starts_with("2025-03-14,Storage pond,Outfall 1,spill")).unwrap();
    // A thousand gallons are 3.785 411 784 m³ (NIST Handbook 44, appendix C).
    let thousands = line.split(',').nth(4).unwrap().parse::<f64>().unwrap() / 3.785_411_784;
    assert!((drawn - thousands).abs() <= 0.5, "{drawn} drawn, {thousands} in the ledger");
    let level = "return Number(document.querySelector('a.place[href=\"#place-storage-pond\"] .store-level').getAttribute('height'))";
    assert!(browser.js(level).as_f64().unwrap() > 10.0);
    browser.js("document.getElementById('whole').click()");
    browser.until("return !document.querySelector('svg.site').classList.contains('by-day')");
    let back = "const copy = document.querySelector('svg.site').cloneNode(true); copy.querySelectorAll('.day').forEach(one => one.remove()); return copy.textContent";
    let plain = |text: &str| text.split_whitespace().collect::<String>();
    assert_eq!(plain(&browser.text(back)), plain(&whole));
    is_quiet(&browser);
}

#[test]
fn a_chart_tells_its_values_by_key_and_has_its_table() {
    let Some(browser) = Browser::open() else { return };
    browser.go(&demo(), "");
    browser.js("document.querySelector('.chart').focus()");
    browser.press("\u{e014}\u{e014}");
    browser.until("return document.querySelector('.readout').textContent.length > 10");
    browser.js("document.querySelectorAll('details[data-chart]').forEach(one => one.open = true)");
    let filled = "return [...document.querySelectorAll('details[data-chart]')].every(one => one.querySelectorAll('tbody tr').length > 3)";
    browser.until(filled);
    is_quiet(&browser);
}

#[test]
fn the_rules_of_accessibility_hold_in_light_and_dark_and_nothing_runs_over_when_narrow_or_zoomed() {
    let Some(browser) = Browser::open() else { return };
    for (scheme, width) in [("light", 1280), ("dark", 1280), ("light", 640), ("dark", 360)] {
        browser.dress(width, 900, scheme, "no-preference");
        browser.go(&demo(), "#place-settling-pond@2025-03-14");
        assert_eq!(browser.js(RULES), json!([]), "{scheme}, {width}");
        // 640 is a screen of 1280 zoomed to 200 %.
        assert_eq!(browser.js("return document.documentElement.scrollWidth > innerWidth"), json!(false), "{width}");
    }
    is_quiet(&browser);
}

#[test]
fn words_of_the_files_stay_words() {
    let Some(browser) = Browser::open() else { return };
    let dir = tempfile::tempdir().unwrap();
    let nasty = "</script><img src=x onerror=document.title='taken'>";
    copy_with(std::path::Path::new("demo-facility"), &dir.path().join("demo-facility"), "Floor bags", nasty);
    copy_with(std::path::Path::new("rules"), &dir.path().join("rules"), "Floor bags", nasty);
    let page = dir.path().join("page.html");
    let mut command = Command::cargo_bin("bywash").unwrap();
    command
        .arg("page")
        .arg(dir.path().join("demo-facility"))
        .args(["--draws", "0", "-o"])
        .arg(&page)
        .assert()
        .success();
    browser.go(&page, "#site@2025-03-14");
    browser.js("document.getElementById('search').value = 'onerror'; document.getElementById('search').dispatchEvent(new Event('input'))");
    browser.until("return document.querySelectorAll('#found a').length > 0");
    browser.js("document.querySelector('#found a').click()");
    browser.until("return document.getElementById('opened').textContent.includes('onerror=')");
    assert_eq!(browser.js("return [document.images.length, document.scripts.length]"), json!([0, 3]));
    assert!(browser.text("return document.title").starts_with("Permit-year record"));
    is_quiet(&browser);
}

/// A folder with a name in its files exchanged for another.
fn copy_with(from: &std::path::Path, to: &std::path::Path, name: &str, other: &str) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        let target = to.join(path.file_name().unwrap());
        let kind = path.extension().and_then(|kind| kind.to_str()).unwrap_or("");
        if path.is_dir() {
            copy_with(&path, &target, name, other);
        } else if kind == "yaml" {
            let text = std::fs::read_to_string(&path).unwrap();
            std::fs::write(target, text.replace(name, &format!("\"{other}\""))).unwrap();
        } else if kind == "csv" {
            std::fs::write(target, std::fs::read_to_string(&path).unwrap().replace(name, other)).unwrap();
        }
    }
}

/// A program that is ended with the test.
struct Running(std::process::Child);

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

#[test]
fn a_watched_page_is_made_anew_on_a_save_and_keeps_its_place_and_the_last_good_page() {
    let Some(browser) = Browser::open() else { return };
    let dir = tempfile::tempdir().unwrap();
    let site = dir.path().join("demo-facility");
    copy_with(std::path::Path::new("demo-facility"), &site, "no such name", "");
    copy_with(std::path::Path::new("rules"), &dir.path().join("rules"), "no such name", "");
    let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_bywash"));
    let _watch = Running(command.arg("page").arg(&site).args(["--watch", "--draws", "0"]).spawn().unwrap());
    let page = site.join("page.html");
    let until = |what: &str, wanted: &dyn Fn(&str) -> bool| {
        let begun = std::time::Instant::now();
        // A debug build takes its time.
        while !std::fs::read_to_string(&page).is_ok_and(|text| wanted(&text)) {
            assert!(begun.elapsed().as_secs() < 120, "never {what}");
            std::thread::sleep(std::time::Duration::from_millis(50));
        }
    };
    until("made", &|text| text.contains("Sallowfen Growers"));
    browser.go(&page, "#place-settling-pond@2025-03-14");
    browser.until("return document.getElementById('opened').textContent.includes('Settling pond on')");
    let back = "dispatchEvent(new Event('blur')); dispatchEvent(new Event('focus'))";

    // Saved by writing over it.
    let file = site.join("facility.yaml");
    let good = std::fs::read_to_string(&file).unwrap();
    std::fs::write(&file, good.replace("name: Sallowfen Growers", "name: Reedmoor Growers")).unwrap();
    until("made anew", &|text| text.contains("Reedmoor Growers"));
    browser.js(back);
    browser
        .until("return document.readyState === 'complete' && document.body.textContent.includes('Reedmoor Growers')");
    assert_eq!(browser.text("return location.hash"), "#place-settling-pond@2025-03-14");
    browser.until("return document.getElementById('day').value === '133'");
    browser.until("return document.getElementById('opened').textContent.includes('Settling pond on 14 Mar 2025')");

    // Half saved: the last page stays, and says so with file and line.
    std::fs::write(&file, good.replace("takes from: Storage pond", "takes from: Storage pnod")).unwrap();
    until("told", &|text| text.contains("Below is the page as it was before"));
    let text = std::fs::read_to_string(&page).unwrap();
    assert!(
        text.contains("Reedmoor Growers") && text.contains("error: facility.yaml:") && text.contains("Storage pnod")
    );

    // Mended, by an editor that moves the new file into place.
    std::fs::write(site.join("facility.yaml~"), &good).unwrap();
    std::fs::rename(site.join("facility.yaml~"), &file).unwrap();
    until("mended", &|text| !text.contains("as it was before") && text.contains("Sallowfen Growers"));
    // A file outside the folder counts as well.
    let rules = dir.path().join("rules/sallowfen.yaml");
    let permit = std::fs::read_to_string(&rules).unwrap();
    std::fs::write(&rules, permit.replace("LDW-0263", "LDW-0264")).unwrap();
    until("the rules read again", &|text| text.contains("LDW-0264"));
    browser.js(back);
    browser.until("return document.readyState === 'complete' && document.body.textContent.includes('LDW-0264')");
    is_quiet(&browser);
}

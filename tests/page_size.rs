//! The page of a basin: at each stop of its slider it says what the search found and what the document prints, in a real
//! browser; by keys alone, without a script too.

#![cfg(test)]

mod basin_site;
mod browser;

use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use assert_cmd::Command;
use basin_site::{DUTIES, FACILITY, read, site};
use browser::{Browser, RULES, is_quiet};
use bywash::page::html::render;
use bywash::report::basin::{BasinCase, document};
use bywash::report::screen;
use bywash::sizing::{self, Basin, Check, Comes, Duty, Held, Measure, Outcome, Site, Stack, Study, Tried, Why};
use chrono::NaiveDate;
use serde_json::{Value, json};

/// A basin whose page was written.
struct Made {
    study: Study,
    page: PathBuf,
    _folder: tempfile::TempDir,
}

/// Sizes the basin of a yard on its wet half-year, or holds the one that stands against its duties.
fn made(facility: &str, duties: &str, this: bool) -> Made {
    let folder = tempfile::tempdir().unwrap();
    site(folder.path(), facility, duties);
    let (facility, weather, _, duties) = read(folder.path());
    let day = |year, month, day| NaiveDate::from_ymd_opt(year, month, day).unwrap();
    let period = (day(2012, 10, 1), day(2013, 3, 31));
    let pond = facility.find("Basin").unwrap();
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
    let page = folder.path().join("basin.html");
    std::fs::write(&page, render(&screen::basin::page(&case))).unwrap();
    assert!(!document(&case).blocks.is_empty());
    Made { study, page, _folder: folder }
}

/// The basin sized as asked, once for all tests.
fn found() -> &'static Made {
    static MADE: OnceLock<Made> = OnceLock::new();
    MADE.get_or_init(|| made(FACILITY, DUTIES, false))
}

/// The duties that no year of weather decides: quick to search.
fn without_years() -> String {
    let asks = |line: &&str| !["storm", "spills:", "shortage:"].iter().any(|head| line.starts_with(head));
    DUTIES.lines().filter(asks).map(|line| format!("{line}\n")).collect()
}

/// A figure as printed: thin spaces part its thousands.
fn figure(word: &str) -> Option<f64> {
    word.replace('\u{202f}', "").replace('\u{2212}', "-").parse().ok()
}

/// The figures among words.
fn figures(words: &str) -> Vec<f64> {
    words.split([' ', '\u{a0}']).filter_map(figure).collect()
}

/// Whether a printed figure is the one computed, to half of its last digit; `about` where it has four digits of its own.
fn is_printed(printed: f64, computed: f64, last: f64) -> bool {
    (printed - computed).abs() <= 0.51 * last + 6e-4 * computed.abs()
}

/// A figure of a check read back from its words.
fn read_back(measure: Measure, words: &str) -> f64 {
    let first = figures(words).first().copied();
    match measure {
        Measure::Share => first.unwrap() / 100.0,
        Measure::TimesAYear if words.contains("once in") => 1.0 / first.unwrap(),
        Measure::TimesAYear | Measure::DaysAYear => first.unwrap_or(0.0),
        Measure::Speed => first.unwrap() / 1000.0,
        _ => first.unwrap(),
    }
}

/// Half of the last digit of what is printed, by the kind of figure.
fn last_digit(measure: Measure, value: f64) -> f64 {
    match measure {
        Measure::Share => 0.01,
        Measure::TimesAYear if value > 0.0 && value < 1.0 => 1e-3 + value * value * 0.1,
        Measure::TimesAYear | Measure::DaysAYear if value < 10.0 => 0.01,
        Measure::TimesAYear | Measure::DaysAYear if value < 100.0 => 0.1,
        Measure::Speed => 1e-4,
        Measure::Hours | Measure::HoursAtLeast if value < 10.0 => 0.1,
        _ => 1.0,
    }
}

/// A room as its duty has it: what lies under it neither asked nor there.
fn of_its_own(check: &Check, stack: &Stack) -> Check {
    let under = match check.duty {
        Duty::Pool => stack.sludge_m3 + stack.berm_m3,
        Duty::Hold => stack.pool_top_m3,
        Duty::Storm => check.asked - stack.storm_m3,
        _ => 0.0,
    };
    Check { asked: check.asked - under, has: check.has - under, ..*check }
}

/// A row of the duties: duty, asked, what the pond gives, how it comes out.
fn is_row_of(row: &Value, check: &Check, stack: &Stack) {
    let check = &of_its_own(check, stack);
    let cell = |at: usize| row[at].as_str().unwrap().to_owned();
    let duty = check.duty.words();
    assert!(cell(0).to_lowercase().starts_with(&duty.to_lowercase()), "{row} for {duty}");
    let near = |words: &str, value: f64| {
        assert!(is_printed(read_back(check.measure, words), value, last_digit(check.measure, value)), "{row}: {value}");
    };
    if !cell(1).contains("every day") {
        near(&cell(1), check.asked);
    }
    // What a pump let out stands beside the spills.
    let gives = cell(2).split("; ").next().unwrap().to_owned();
    if check.measure == Measure::Volume && check.comes != Comes::NotDone {
        // Of a room that fits its volume and where it lies stand there, or all that is left for it.
        let first = figures(&gives).first().copied().unwrap();
        let near = |value: f64| is_printed(first, value, last_digit(check.measure, value));
        assert!(near(check.asked) || near(check.has), "{row}: {check:?}");
    } else if check.measure == Measure::Volume && check.has <= 0.0 {
        assert_eq!(gives, "none", "{row}");
    } else {
        near(&gives, check.has);
    }
    let comes = cell(3);
    match check.comes {
        Comes::Done => assert_eq!(comes, "does it", "{row}"),
        // The storm's room is kept by a rule of operation (a), what is held for use by what fills it (c).
        Comes::NotKept => assert!(["not kept (a)", "not kept (c)"].contains(&comes.as_str()), "{row}"),
        Comes::TooFewYears => assert_eq!(comes, "not shown (b)", "{row}"),
        Comes::NotDone => {
            assert!(comes == "does not" || comes.starts_with("does not: "), "{row}");
            if let Some(by) = figures(&comes).first() {
                let lacks = (check.asked - check.has).abs();
                let per = match check.measure {
                    Measure::Share => 100.0,
                    Measure::Speed => 1000.0,
                    _ => 1.0,
                };
                let last = per * last_digit(check.measure, lacks);
                assert!(is_printed(*by, per * lacks, last), "{row}: lacks {lacks}");
            }
        }
    }
}

/// Sizes in words, in metres.
fn is_of(words: &str, basin: &Basin) {
    let printed = figures(words);
    for wanted in [basin.length_m, basin.width_m, basin.depth_m] {
        assert!(printed.iter().any(|one| is_printed(*one, wanted, 0.01)), "{wanted} in {words}");
    }
    assert!(printed.iter().any(|one| is_printed(*one, basin.capacity_m3(), 1.0)), "{} in {words}", basin.capacity_m3());
}

fn fails(held: &Held) -> Vec<&'static str> {
    held.checks.iter().filter(|check| check.comes == Comes::NotDone).map(|check| check.duty.fails()).collect()
}

/// What the page shows when the slider stands at a stop: what is told, the panel's words, the rows of its duties.
const SHOWN: &str = "const slider = document.getElementById('size-at'); slider.value = AT; slider.dispatchEvent(new Event('input')); \
    const seen = [...document.querySelectorAll('.size')].filter(one => one.checkVisibility()); \
    const rows = (table) => [...table.tBodies[0].rows].map(row => [...row.cells].map(cell => cell.textContent)); \
    return [seen.length, document.getElementById('size-words').textContent, slider.getAttribute('aria-valuetext'), \
        seen[0].querySelector('p').textContent, rows(seen[0].querySelector('table')), seen[0].querySelectorAll('svg').length, seen[0].textContent]";

fn each_stop_is_right(browser: &Browser, made: &Made) {
    browser.go(&made.page, "");
    let tried = &made.study.tried;
    assert_eq!(browser.js("return document.querySelectorAll('.size').length"), json!(tried.len()));
    let listed = browser.js(
        "return [...document.querySelectorAll('#sizes-table details')].map(one => [one.querySelector('summary').textContent, \
         [...one.querySelector('table').tBodies[0].rows].map(row => [...row.cells].map(cell => cell.textContent))])",
    );
    for (at, of) in tried.iter().enumerate() {
        let shown = browser.js(&SHOWN.replace("AT", &at.to_string()));
        let text = |at: usize| shown[at].as_str().unwrap();
        assert_eq!(shown[0], json!(1), "one panel is seen");
        is_of(text(1), &of.held.basin);
        is_of(text(3), &of.held.basin);
        assert_eq!(text(1), format!("{} of {}. {}", at + 1, tried.len(), text(2)));
        assert!(shown[5].as_u64().unwrap() >= 1, "it is drawn");
        for words in [text(1), text(3)] {
            let fails = fails(&of.held);
            assert!(fails.iter().all(|one| words.contains(one)), "{fails:?} in {words}");
            assert_eq!(words.contains("does every duty"), of.held.does_all(), "{words}");
        }
        let rows = shown[4].as_array().unwrap();
        assert_eq!(rows.len(), of.held.checks.len());
        rows.iter().zip(&of.held.checks).for_each(|(row, check)| is_row_of(row, check, &of.held.stack));
        // The list, which is all there is without a script, has the same.
        assert_eq!(listed[at][0].as_str().unwrap(), text(2));
        let lines = listed[at][1].as_array().unwrap();
        assert_eq!(lines.len(), rows.len());
        for (row, line) in rows.iter().zip(lines) {
            let (has, comes) = (row[2].as_str().unwrap(), row[3].as_str().unwrap());
            let has = has.split("; ").next().unwrap();
            assert_eq!((&line[0], line[2].as_str()), (&row[0], comes.split(" (").next()));
            assert_eq!(line[1].as_str().unwrap(), has, "{row} {line}");
        }
    }
    is_quiet(browser);
}

/// The rows of the document's own table of this caption.
fn of_document(browser: &Browser, caption: &str) -> Value {
    browser.js(&format!(
        "const table = [...document.querySelectorAll('article table')].find(one => !one.closest('#sizes') && one.caption && one.caption.textContent === '{caption}'); \
         return [...table.tBodies[0].rows].map(row => [...row.cells].map(cell => cell.textContent))"
    ))
}

fn position(study: &Study, is: impl Fn(&Tried) -> bool) -> usize {
    study.tried.iter().position(is).unwrap()
}

#[test]
fn each_stop_of_the_least_ponds_slider_says_what_the_search_found_and_the_document_prints() {
    let Some(browser) = Browser::open() else { return };
    let made = found();
    let Outcome::Pond(answer) = &made.study.outcome else { panic!("no pond") };
    each_stop_is_right(&browser, made);
    // The pond found: the very rows of the document.
    let at = position(&made.study, |of| of.why.contains(&Why::Itself));
    assert_eq!(made.study.tried[at].held, answer.held());
    let shown = browser.js(&SHOWN.replace("AT", &at.to_string()));
    assert_eq!(shown[4], of_document(&browser, "The duties"));
    let governs = browser.text("return [...document.querySelectorAll('article h2')].find(one => one.textContent === 'What governs').parentElement.querySelector('strong').textContent");
    assert!(shown[6].as_str().unwrap().contains(&format!("What governs: {governs}.")), "{governs} in {}", shown[6]);
    // One step smaller each way: what the document says that it fails.
    let document = browser.text("return [...document.querySelectorAll('article h2')].find(one => one.textContent === 'What governs').parentElement.textContent");
    for one in &answer.smaller {
        let Some((basin, checks)) = &one.shape else { continue };
        let of = &made.study.tried[position(&made.study, |of| of.held.basin == *basin)];
        assert_eq!(&of.held.checks, checks);
        assert!(fails(&of.held).iter().all(|words| document.contains(words)), "{document}");
    }
    // The curve's and the list's shapes are all there, as they were run.
    for (basin, run) in &answer.curve {
        assert_eq!(made.study.tried[position(&made.study, |of| of.held.basin == *basin)].held.run, *run);
    }
    let listed = of_document(&browser, "The pond found, and of a coarse choice the least of other depths");
    let row = &listed[0];
    assert_eq!(row[0], "the pond found");
    assert_eq!(row.as_array().unwrap().last().unwrap().as_str().unwrap(), governs);
    let found_m = answer.found.basin.depth_m;
    let others = answer.listed.iter().filter(|one| (one.basin.depth_m / found_m - 1.0).abs() > 0.01);
    for (one, row) in others.zip(listed.as_array().unwrap().iter().skip(1)) {
        let at = position(&made.study, |of| of.held.basin == one.basin);
        let shown = browser.js(&SHOWN.replace("AT", &at.to_string()));
        let governs = row.as_array().unwrap().last().unwrap().as_str().unwrap();
        assert!(shown[6].as_str().unwrap().contains(&format!("What governs: {governs}.")), "{row} in {}", shown[6]);
        assert!(made.study.tried[at].held.checks.iter().all(Check::is_met));
    }
    // Smaller and larger, shallower and deeper.
    let found = answer.found.basin;
    let has = |is: &dyn Fn(&Basin) -> bool| made.study.tried.iter().any(|of| is(&of.held.basin));
    assert!(has(&|one| one.depth_m < 0.8 * found.depth_m && one.length_m == found.length_m));
    assert!(has(&|one| one.depth_m == found.depth_m && one.length_m < 0.96 * found.length_m));
    assert!(has(&|one| one.capacity_m3() > 1.1 * found.capacity_m3()));
}

#[test]
fn each_stop_for_a_pond_that_stands_shows_it_and_what_would_make_it() {
    let Some(browser) = Browser::open() else { return };
    // Three weeks of return water, at 35 % of 60 m³ a day 441 m³, do not fit over what settles.
    let duties = without_years();
    let made = made(FACILITY, &duties.replace("return water: 2 days", "return water: 5 days"), true);
    let Outcome::This(answer, changes) = &made.study.outcome else { panic!("not this") };
    each_stop_is_right(&browser, &made);
    let at = position(&made.study, |of| of.why.contains(&Why::Itself));
    let shown = browser.js(&SHOWN.replace("AT", &at.to_string()));
    assert_eq!(shown[4], of_document(&browser, "The duties"));
    assert!(!answer.held().does_all(), "the pond is too small");
    let document = of_document(&browser, "What would make it do every duty");
    let mut met = 0;
    for change in changes.iter().filter(|change| change.amount.is_some()) {
        let of = &made.study.tried[position(&made.study, |of| of.why.contains(&Why::Change(Box::new(change.clone()))))];
        assert!(of.held.does_all() && change.shape.is_none_or(|shape| shape == of.held.basin), "{change:?}");
        let at = position(&made.study, |other| std::ptr::eq(other, of));
        let told = browser.js(&SHOWN.replace("AT", &at.to_string()));
        let rows = document.as_array().unwrap();
        let row =
            rows.iter().find(|row| row[0].as_str().unwrap().to_lowercase() == change.what.to_lowercase()).unwrap();
        let words = format!("{} {}", row[0].as_str().unwrap(), row[1].as_str().unwrap());
        assert!(told[3].as_str().unwrap().starts_with(&words), "{words} in {told}");
        met += 1;
    }
    assert!(met >= 1, "{changes:?}");
}

#[test]
fn where_no_pond_does_its_duties_each_stop_shows_what_fails_and_by_how_much() {
    let Some(browser) = Browser::open() else { return };
    let duties = DUTIES.replace("longest: 75 m, widest: 40 m", "longest: 30 m, widest: 18 m");
    let made = made(FACILITY, &duties, false);
    let Outcome::None(impossible) = &made.study.outcome else { panic!("a pond") };
    each_stop_is_right(&browser, &made);
    let nearest = impossible.nearest.as_ref().unwrap();
    let at = position(&made.study, |of| of.why.contains(&Why::Nearest));
    assert_eq!((made.study.tried[at].held.basin, &made.study.tried[at].held.checks), (nearest.0, &nearest.1));
    let shown = browser.js(&SHOWN.replace("AT", &at.to_string()));
    assert_eq!(shown[4], of_document(&browser, "The duties"));
    assert!(shown[4].to_string().contains("does not: "));
}

#[test]
fn the_keys_alone_choose_a_size_and_its_address_can_be_mailed() {
    let Some(browser) = Browser::open() else { return };
    let made = found();
    let itself = position(&made.study, |of| of.why.contains(&Why::Itself));
    browser.go(&made.page, "");
    let seen =
        "return [...document.querySelectorAll('.size')].filter(one => one.checkVisibility()).map(one => one.id).join()";
    assert_eq!(browser.text(seen), format!("size-{}", itself + 1));
    let mut steps = 0;
    while browser.text("return document.activeElement.id") != "size-at" {
        browser.press("\u{e004}");
        steps += 1;
        assert!(steps < 150, "the slider is never reached");
    }
    browser.press("\u{e014}");
    browser.until(&format!("return location.hash === '#size-{}'", itself + 2));
    assert_eq!(browser.text(seen), format!("size-{}", itself + 2));
    browser.press("\u{e011}");
    browser.until("return location.hash === '#size-1'");
    assert_eq!(browser.js("return document.getElementById('size-less').disabled"), json!(true));
    assert_eq!(browser.text("return document.getElementById('size-words').getAttribute('role')"), "status");
    // Past the button that goes no further down: the next larger, then back to the pond found.
    browser.press("\u{e004}\u{e007}");
    browser.until("return location.hash === '#size-2'");
    browser.press("\u{e004}\u{e007}");
    browser.until(&format!("return location.hash === '#size-{}'", itself + 1));
    // One kind of sizes alone: the pond found and those one step smaller.
    browser.js("const of = document.getElementById('sizes-of'); of.value = [...of.options].find(one => one.textContent.startsWith('one step')).value; of.dispatchEvent(new Event('change'))");
    let Outcome::Pond(answer) = &made.study.outcome else { panic!("no pond") };
    let near = 1 + answer.smaller.iter().filter(|one| one.shape.is_some()).count();
    assert_eq!(browser.js("return Number(document.getElementById('size-at').max)"), json!(near - 1));
    // A mailed address opens at its size, and back is back.
    browser.go(&made.page, "#size-3");
    assert_eq!(browser.text(seen), "size-3");
    browser.js("location.hash = '#size-4'");
    browser.until("return document.getElementById('size-4').checkVisibility()");
    browser.js("history.back()");
    browser.until("return document.getElementById('size-3').checkVisibility()");
    is_quiet(&browser);
}

#[test]
fn a_size_is_picked_by_its_name_in_a_list_that_keeps_step_with_slider_and_choice() {
    let Some(browser) = Browser::open() else { return };
    let made = found();
    browser.go(&made.page, "");
    let itself = position(&made.study, |of| of.why.contains(&Why::Itself));
    let state = "const list = document.getElementById('size-list'); const slider = document.getElementById('size-at'); \
        const seen = [...document.querySelectorAll('.size')].filter(one => one.checkVisibility()); \
        return [list.value, slider.value, seen.map(one => one.id).join(), list.options.length, list.selectedOptions[0].textContent, \
            document.querySelector('label[for=size-list]').textContent.trim(), seen[0].dataset.words, document.getElementById('size-words').textContent]";
    let is_at = |at: usize, place: usize, many: usize| {
        let now = browser.js(state);
        let text = |cell: usize| now[cell].as_str().unwrap();
        assert_eq!((text(0), text(1), text(2)), (&*at.to_string(), &*place.to_string(), &*format!("size-{}", at + 1)));
        assert_eq!((&now[3], text(5)), (&json!(many), "Size"));
        // Its name begins as what is told of it does, and the same is told to who does not see it.
        let why = text(4).rsplit_once(": ").unwrap().0;
        assert!(!why.is_empty() && text(6).starts_with(why) && text(7).ends_with(text(6)), "{now}");
    };
    let all = made.study.tried.len();
    is_at(itself, itself, all);
    // No two sizes have one name.
    let names = browser.js("return [...document.getElementById('size-list').options].map(one => one.textContent)");
    let names: Vec<&str> = names.as_array().unwrap().iter().map(|one| one.as_str().unwrap()).collect();
    let mut apart = names.clone();
    apart.sort_unstable();
    apart.dedup();
    assert_eq!(apart.len(), all, "{names:?}");
    // By keys alone: the list is reached, and a key down in it is the next larger.
    let mut steps = 0;
    while browser.text("return document.activeElement.id") != "size-list" {
        browser.press("\u{e004}");
        steps += 1;
        assert!(steps < 150, "the list is never reached");
    }
    browser.press("\u{e015}");
    browser.until(&format!("return location.hash === '#size-{}'", itself + 2));
    is_at(itself + 1, itself + 1, all);
    // The slider moves the list.
    browser.js(
        "const slider = document.getElementById('size-at'); slider.value = 0; slider.dispatchEvent(new Event('input'))",
    );
    is_at(0, 0, all);
    // A choice leaves its own sizes in both; another size's address brings all of them back.
    browser.js("const of = document.getElementById('sizes-of'); of.value = [...of.options].find(one => one.textContent.startsWith('one step')).value; of.dispatchEvent(new Event('change'))");
    let Outcome::Pond(answer) = &made.study.outcome else { panic!("no pond") };
    let near = 1 + answer.smaller.iter().filter(|one| one.shape.is_some()).count();
    let listed = browser.js("return [...document.getElementById('size-list').options].map(one => one.textContent)");
    assert_eq!(listed.as_array().unwrap().len(), near, "{listed}");
    assert!(listed.to_string().contains("One step shallower"), "{listed}");
    browser.js("location.hash = '#size-1'");
    browser.until("return document.getElementById('size-1').checkVisibility()");
    is_at(0, 0, all);
    is_quiet(&browser);
}

#[test]
fn what_fails_is_counted_among_the_rows_that_count() {
    let Some(browser) = Browser::open() else { return };
    let duties = include_str!("basin_site/cells-and-earth.yaml").replace("at least: 1 %", "at least: 99.9 %");
    let made = made(FACILITY, &duties, true);
    browser.go(&made.page, "");
    let at = position(&made.study, |of| of.why.contains(&Why::Itself));
    let shown = browser.js(&SHOWN.replace("AT", &at.to_string()));
    // Settling, forebay, spillway and pool: four rows, of which the spillway's is an illustration.
    assert_eq!(shown[4].as_array().unwrap().len(), 4);
    let words = "It fails 1 of 3 duties (the emergency spillway, an illustration, not counted): it settles too little";
    assert!(shown[3].as_str().unwrap().contains(words), "{shown}");
    let page = browser.text("return document.querySelector('article').textContent");
    assert!(
        page.contains("No: 1 of 3 duties (the emergency spillway, an illustration, not counted) is not done."),
        "{page}"
    );
}

#[test]
fn the_rules_of_accessibility_hold_and_without_a_script_the_table_says_it_all() {
    let Some(browser) = Browser::open() else { return };
    let made = found();
    // The last is 360 px at 200 %.
    for (scheme, width) in [("light", 1280), ("dark", 1280), ("light", 640), ("dark", 360), ("light", 180)] {
        browser.dress(width, 900, scheme, "no-preference");
        browser.go(&made.page, "#size-2");
        assert_eq!(browser.js(RULES), json!([]), "{scheme}, {width}");
        assert_eq!(browser.js("return document.documentElement.scrollWidth > innerWidth"), json!(false), "{width}");
        // The list of sizes is as wide as its column, each size of it opened too.
        let wide = "const list = document.getElementById('sizes-table'); [list, ...list.querySelectorAll('details')].forEach(one => one.open = true); \
            return [...list.querySelectorAll('*')].filter(one => one.scrollWidth > one.clientWidth + 1 && one.clientWidth > 0 && getComputedStyle(one).display !== 'inline').map(one => one.tagName)";
        if width >= 360 {
            assert_eq!(browser.js(wide), json!([]), "{width}");
        }
        // Both ponds are marked on the slider, with words, inside of it.
        let marks = "const box = document.getElementById('size-marks').getBoundingClientRect(); \
            return [...document.querySelectorAll('#size-marks text')].map(one => { const at = one.getBoundingClientRect(); return [one.textContent, at.left >= box.left - 1 && at.right <= box.right + 1, at.top]; })";
        let marks = browser.js(marks);
        assert_eq!(
            (&marks[0][0], marks[1][0].as_str().unwrap().starts_with("The present pond")),
            (&json!("The pond found"), true)
        );
        assert!(marks[0][1] == true && marks[1][1] == true && marks[0][2] != marks[1][2], "{width}: {marks}");
    }
    let shown = browser.without_scripts(&made.page);
    assert!(
        shown.contains("Every size that was run, duty by duty") && shown.contains("By volume, the smallest first.")
    );
    assert!(!shown.contains("Next smaller") && !shown.contains("Which sizes"), "what needs a script is not there");
    assert_eq!(shown.matches("This size").count(), 0);
    is_quiet(&browser);
}

#[test]
fn the_command_writes_the_page_beside_the_basin_and_replaces_nothing_else() {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path();
    let nothing_held = without_years()
        .lines()
        .filter(|line| !line.starts_with("hold:"))
        .map(|line| format!("{line}\n"))
        .collect::<String>();
    site(at, FACILITY, &nothing_held);
    let run = |more: &[&str]| {
        let period = ["size", ".", "--period", "1 Nov 2012 to 28 Feb 2013"];
        let output = Command::cargo_bin("bywash").unwrap().current_dir(at).args(period).args(more).output().unwrap();
        (output.status.code().unwrap(), String::from_utf8_lossy(&output.stderr).into_owned())
    };
    let (status, told) = run(&["--page", "basin.html"]);
    assert!(status == 0 && told.contains("Its page is in basin.html."), "{told}");
    let page = std::fs::read_to_string(at.join("basin.html")).unwrap();
    assert!(page.contains("Least pond: Basin") && page.contains("id=\"size-at\"") && at.join("basin.pdf").exists());
    let verify =
        Command::cargo_bin("bywash").unwrap().current_dir(at).args(["verify", "basin.html", "."]).output().unwrap();
    assert!(String::from_utf8_lossy(&verify.stdout).starts_with("Yes: to the last byte"), "{verify:?}");
    let (status, told) = run(&["--this", "Basin", "--page", "basin.html"]);
    assert!(
        status == 0 && std::fs::read_to_string(at.join("basin.html")).unwrap().contains("This pond: Basin"),
        "{told}"
    );
    for (target, says) in [
        ("facility.yaml", "one of the files this is made from"),
        ("basin.pdf", "is not a page"),
        ("new.pdf", "two outputs"),
    ] {
        let (status, told) = run(&["-o", "new.pdf", "--page", target]);
        assert!(status == 1 && told.contains(says), "{target}: {told}");
    }
    assert!(Path::exists(&at.join("facility.yaml")) && !at.join("new.pdf").exists());
}

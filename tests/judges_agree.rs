//! Two judges, written apart from the same rules, must come to the same outcomes.

#![cfg(test)]

mod judging_laws;
mod second_judge;

use std::collections::{BTreeMap, BTreeSet};
use std::time::{Duration, Instant};

use bywash::facility;
use bywash::files::Sources;
use bywash::records;
use bywash::rules::{self, Case, Finding, WindowFinding};
use bywash::told::{Problems, print};
use bywash::weather;
use chrono::{DateTime, NaiveDate};
use second_judge::days::{Day, iso};
use second_judge::duty::Kept;
use second_judge::generate;
use second_judge::given::{Limit, Parameter, Site, Statistic, Window};
use second_judge::judge::{duty_kept, judge};
use second_judge::outcome::{Judged, Outcome};
use second_judge::shrink::shrink;
use second_judge::windows::{chosen, in_force};
use second_judge::write::{Files, duty, files, statistic};

fn naive(day: Day) -> NaiveDate {
    DateTime::from_timestamp(day * 86_400, 0).expect("a date").date_naive()
}

/// What the program finds, through the files.
fn program(site: &Site, files: &Files) -> Result<Vec<Finding>, String> {
    let folder = tempfile::tempdir().expect("a folder");
    let write = |name: &str, text: &str| std::fs::write(folder.path().join(name), text).expect("a file");
    write("facility.yaml", &files.facility);
    write("rules.yaml", &files.rules);
    write("rain.csv", &files.rain);
    std::fs::create_dir(folder.path().join("records")).expect("a folder");
    write("records/records.csv", &files.records);
    let mut sources = Sources::new(folder.path());
    let mut problems = Problems::new();
    let told = |problems: &Problems, sources: &Sources| print(problems, sources, false);
    let Some(facility) = facility::read(folder.path(), &mut sources, &mut problems) else {
        return Err(told(&problems, &sources));
    };
    let (path, place) = facility.rules.clone().expect("a rules file");
    let Some(rules) = rules::read(&path, Some(&place), &facility, &mut sources, &problems) else {
        return Err(told(&problems, &sources));
    };
    let timeline = records::read(&facility, &mut sources, &problems);
    let period = (naive(site.period.0), naive(site.period.1));
    let weather = weather::read(&facility, period, &timeline.rain, &mut sources, &problems);
    if problems.has_errors() {
        return Err(told(&problems, &sources));
    }
    Ok(rules::judge(&Case {
        facility: &facility,
        rules: &rules,
        timeline: &timeline,
        weather: Some(&weather),
        ledger: None,
        period,
        as_of: naive(site.as_of),
        predict: &|_| Vec::new(),
    }))
}

fn outcome(words: &str) -> Option<Outcome> {
    Some(match words {
        "exceeded" | "below minimum" | "outside range" | "outside its range" => Outcome::Exceeded,
        "not shown" => Outcome::NotShown,
        "met" => Outcome::Met,
        "no discharge" => Outcome::NoDischarge,
        "not evaluable" => Outcome::NotEvaluable,
        "not in force" => Outcome::NotInForce,
        _ => return None,
    })
}

type Key = (String, String);

/// The worst outcome by window, and the ends of that window's figure.
fn mine(windows: &[Judged]) -> BTreeMap<Key, (Outcome, Option<(f64, f64)>)> {
    let mut out: BTreeMap<Key, (Outcome, Option<(f64, f64)>)> = BTreeMap::new();
    for window in windows.iter().filter(|window| !window.aside) {
        let key = (iso(window.from), iso(window.to));
        let figure = window.figure.map(|figure| (figure.lo, figure.hi));
        let now = (window.outcome, figure);
        let entry = out.entry(key).or_insert(now);
        if now.0 > entry.0 {
            *entry = now;
        }
    }
    out
}

fn near(a: f64, b: f64) -> bool {
    a == b || (a - b).abs() <= 1e-9 * a.abs().max(b.abs())
}

/// Whether the days told as over are the same: the program puts days beside one another together.
fn days_over(windows: &[Judged], finding: &Finding) -> Option<&'static str> {
    let over = |judged: &&Judged| judged.outcome == Outcome::Exceeded;
    let days: BTreeSet<String> =
        windows.iter().filter(|window| !window.aside).filter(over).map(|window| iso(window.from)).collect();
    let runs: Vec<(String, String)> = windows
        .iter()
        .filter(|window| window.aside)
        .filter(over)
        .map(|window| (iso(window.from), iso(window.to)))
        .collect();
    let told: Vec<(String, String)> = finding
        .windows
        .iter()
        .filter(|window| outcome(window.outcome.words()) == Some(Outcome::Exceeded))
        .map(|window| (window.from.to_string(), window.to.to_string()))
        .collect();
    let within = |day: &String, run: &(String, String)| run.0 <= *day && *day <= run.1;
    if days.iter().any(|day| !told.iter().any(|run| within(day, run))) {
        return Some("a day over that is not told");
    }
    let certain = |run: &(String, String)| runs.contains(run) || days.iter().any(|day| within(day, run));
    (!told.iter().all(certain)).then_some("a day told as over that is not")
}

/// Whether both ways of counting violations come to the same: one a window, or the days in force of all of them together.
fn counts_differ(windows: &[Judged], site: &Site, limit: &Limit, finding: &Finding) -> Option<String> {
    if limit.statistic.window() == Window::Day {
        return None;
    }
    let words = "how violations are counted: one for each ";
    let told = finding.sentences.iter().find(|told| told.contains(words))?;
    let numbers: Vec<u64> =
        told.split(|c: char| !c.is_ascii_digit()).filter_map(|number| number.parse().ok()).collect();
    let over = windows.iter().filter(|window| window.outcome == Outcome::Exceeded && !window.aside);
    let days: BTreeSet<Day> = over
        .clone()
        .flat_map(|window| window.from..=window.to.min(site.as_of))
        .filter(|day| in_force(site, limit, *day) && chosen(limit, *day))
        .collect();
    let ours = [over.count() as u64, days.len() as u64];
    (numbers != ours).then(|| format!("violations {ours:?} for {numbers:?}"))
}

/// How the two differ on one limit: a class, and the details.
fn difference(site: &Site, number: usize, findings: &[Finding]) -> Option<(String, String)> {
    let limit = &site.limits[number];
    let ours = judge(site, limit);
    let id = format!("limit / {}", limit.name);
    let Some(finding) = findings.iter().find(|finding| finding.id == id) else {
        let class = "no finding".to_owned();
        return (ours.outcome != Outcome::NotInForce).then(|| (class, format!("{ours:#?}")));
    };
    let words = finding.outcome.words();
    let theirs = outcome(words);
    let mut listed = format!("second: {:?} under {} answers\n", ours.outcome, ours.answers);
    for window in &ours.windows {
        listed += &format!(
            "    {} to {} {:?} {:?}{}\n",
            iso(window.from),
            iso(window.to),
            window.outcome,
            window.figure.map(|figure| (figure.lo, figure.hi, figure.counted)),
            if window.aside { " (aside)" } else { "" }
        );
    }
    listed += &format!("program: {words}\n");
    for window in &finding.windows {
        listed += &format!(
            "    {} to {} {} {:?} {:?}\n",
            window.from,
            window.to,
            window.outcome.words(),
            window.figure.as_ref().map(|figure| &figure.text),
            window.missing.iter().map(|m| &m.sentence).collect::<Vec<_>>(),
        );
    }
    for sentence in &finding.sentences {
        listed += &format!("    {sentence}\n");
    }
    // Where hours without rain on file lie near, how far a storm may reach is not said: both may say *not shown* or
    // *exceeded*, and neither *met*.
    let open = |outcome: Option<Outcome>| matches!(outcome, Some(Outcome::NotShown | Outcome::Exceeded));
    if limit.except.is_some() && rain_is_missing(site) && open(theirs) && open(Some(ours.outcome)) {
        return None;
    }
    if theirs != Some(ours.outcome) {
        return Some((format!("{:?} for {words}", ours.outcome), listed));
    }
    if ours.answers > 1 {
        return None;
    }
    let mine = mine(&ours.windows);
    if limit.statistic == Statistic::Rate {
        return None;
    }
    if matches!(limit.statistic, Statistic::NoDischarge | Statistic::TimeOfDay(..)) {
        return days_over(&ours.windows, finding).map(|class| (class.to_owned(), listed.clone()));
    }
    let mut told: BTreeMap<Key, Vec<&WindowFinding>> = BTreeMap::new();
    for window in &finding.windows {
        let key = (window.from.to_string(), window.to.to_string());
        told.entry(key).or_default().push(window);
    }
    for (key, windows) in &told {
        // Days not shown are told together.
        let with_others = finding.windows.iter().any(|window| {
            limit.statistic.window() == Window::Day
                && window.outcome.words() == "not shown"
                && window.from.to_string() <= key.0
                && key.1 <= window.to.to_string()
        });
        let theirs = windows.iter().filter_map(|window| outcome(window.outcome.words())).max();
        let Some((outcome_mine, figure)) = mine.get(key) else {
            if theirs == Some(Outcome::Exceeded) && limit.statistic.window() != Window::Day {
                return Some(("a window over that is none".into(), format!("{key:?}\n{listed}")));
            }
            continue;
        };
        if theirs != Some(*outcome_mine) && !(with_others && *outcome_mine == Outcome::NotShown) {
            let class = format!("window {outcome_mine:?} for {theirs:?}");
            return Some((class, format!("{key:?}\n{listed}")));
        }
        // The figure of a window that is not over says no more than what was so far.
        let [window] = windows.as_slice() else {
            continue;
        };
        if window.to > naive(site.as_of) {
            continue;
        }
        let (Some((lo, hi)), Some(printed)) = (figure, &window.figure) else {
            continue;
        };
        let (low, high) = (printed.low, printed.high);
        if !near(*lo, low) || !near(*hi, high) {
            return Some(("figure".into(), format!("{key:?} {lo} {hi} for {low} {high}\n{listed}")));
        }
    }
    if let Some(class) = counts_differ(&ours.windows, site, limit, finding) {
        return Some((class, listed));
    }
    // Windows of which only one tells.
    for (key, (outcome, _)) in &mine {
        let told = finding.windows.iter().any(|window| (window.from.to_string(), window.to.to_string()) == *key);
        if !told && *outcome == Outcome::Exceeded {
            return Some(("exceeded window not listed".into(), format!("{key:?}\n{listed}")));
        }
    }
    None
}

/// Whether some hour about the period has no rain on file.
fn rain_is_missing(site: &Site) -> bool {
    let from = site.start_of(site.period.0 - 6);
    let to = site.start_of(site.as_of + 1);
    let covered: i64 =
        site.rain.iter().filter(|rain| rain.to <= to).map(|rain| (rain.to.min(to) - rain.from.max(from)).max(0)).sum();
    covered < to - from
}

/// How the two differ on the sample duty of a limit at one of its places.
fn duty_difference(site: &Site, number: usize, findings: &[Finding]) -> Option<(String, String)> {
    let limit = &site.limits[number];
    let often = duty(limit.duty?);
    // Duties of one name are one duty, and one limit's season is not the other's.
    let same = |other: &&Limit| {
        other.duty == limit.duty && other.parameter == limit.parameter
            || matches!(limit.parameter, Parameter::Load | Parameter::Solids)
                && matches!(other.parameter, Parameter::Load | Parameter::Solids)
                && other.duty == limit.duty
    };
    if site.limits.iter().filter(same).count() > 1 || limit.at.len() > 1 {
        return None;
    }
    let (what, at, place) = match limit.parameter {
        Parameter::Freeboard => ("Reading of", "Pond".to_owned(), None),
        Parameter::Ph => ("Sample of pH", site.outfalls[0].name.clone(), Some(0)),
        _ => ("Sample of TSS", site.outfalls[0].name.clone(), Some(0)),
    };
    let ours = duty_kept(site, limit, place)?;
    let is_it = |finding: &&Finding| {
        finding.id.starts_with(&format!("duty / {what}")) && finding.id.ends_with(&format!(" at {at}, {often}"))
    };
    let Some(finding) = findings.iter().find(is_it) else {
        let others: Vec<&str> = findings.iter().map(|finding| finding.id.as_str()).collect();
        return (ours != Kept::NothingDue).then(|| (format!("duty {ours:?}, not found"), format!("{others:#?}")));
    };
    let words = finding.outcome.words();
    let theirs = match words {
        "done" => Some(Kept::Done),
        "overdue" => Some(Kept::Missed),
        "not shown" => Some(Kept::NotShown),
        "nothing due" => Some(Kept::NothingDue),
        _ => None,
    };
    (theirs != Some(ours)).then(|| {
        let mut listed = String::new();
        for window in &finding.windows {
            let (from, to) = (window.from, window.to);
            listed += &format!("    {from} to {to} {}\n", window.outcome.words());
        }
        for sentence in &finding.sentences {
            listed += &format!("    {sentence}\n");
        }
        (format!("duty {ours:?} for {words}"), listed)
    })
}

/// The first lines of a file.
fn beginning(text: &str) -> String {
    let lines: Vec<&str> = text.lines().collect();
    if lines.len() <= 40 {
        return text.to_owned();
    }
    format!("{}\n... {} lines\n", lines[..40].join("\n"), lines.len())
}

/// The smallest site found on which the judges part in the same way.
fn print_smallest(site: &Site, number: usize, class: &str) {
    let part = |site: &Site| {
        let findings = program(site, &files(site)).ok()?;
        let found = [difference(site, 0, &findings), duty_difference(site, 0, &findings)];
        let same = |(found, _): &(String, String)| found == class;
        found.into_iter().flatten().find(same)
    };
    let small = shrink(site, number, &|site| part(site).is_some());
    let files = files(&small);
    println!(
        "period {} to {} as of {}\n{}\n{}\n{}",
        iso(small.period.0),
        iso(small.period.1),
        iso(small.as_of),
        files.rules,
        beginning(&files.records),
        beginning(&files.rain),
    );
    match part(&small) {
        Some((_, details)) => println!("{details}"),
        None => println!("alone they agree"),
    }
}

fn asked(name: &str) -> Option<u64> {
    std::env::var(name).ok().and_then(|text| text.parse().ok())
}

#[test]
fn two_judges_written_apart_agree_on_random_sites() {
    let sites = asked("BYWASH_SITES").unwrap_or(if cfg!(debug_assertions) { 60 } else { 4000 });
    let first = asked("BYWASH_SEED").unwrap_or(0);
    let about = std::env::var("BYWASH_ABOUT").unwrap_or_default();
    let show = asked("BYWASH_SHOW").unwrap_or(1);
    let mut tally: BTreeMap<(String, String), u64> = BTreeMap::new();
    let mut spent = [Duration::ZERO; 2];
    let (mut limits, mut differ, mut duties_differ) = (0_u64, 0_u64, 0_u64);
    for seed in first..first + sites {
        let began = Instant::now();
        let site = generate::site(seed);
        spent[0] += began.elapsed();
        let began = Instant::now();
        let files = files(&site);
        let findings = match program(&site, &files) {
            Ok(findings) => findings,
            Err(told) => panic!("site {seed} is refused: {told}\n{}", files.rules),
        };
        spent[1] += began.elapsed();
        for number in 0..site.limits.len() {
            limits += 1;
            let found = difference(&site, number, &findings);
            let kept = duty_difference(&site, number, &findings);
            differ += u64::from(found.is_some());
            duties_differ += u64::from(kept.is_some());
            for (class, _) in [found, kept].into_iter().flatten() {
                let limit = &site.limits[number];
                let what = format!("{:?} {}", limit.parameter, statistic(&limit.statistic));
                let key = (what, class);
                *tally.entry(key.clone()).or_default() += 1;
                let wanted = format!("{}: {}", key.0, key.1).contains(&about);
                if tally[&key] <= show && wanted {
                    println!("=== site {seed}, {}: {key:?}", limit.name);
                    print_smallest(&site, number, &key.1);
                }
            }
        }
    }
    println!("made in {:?}, judged by the program in {:?}", spent[0], spent[1]);
    for ((what, class), times) in &tally {
        println!("{times:6}  {what}: {class}");
    }
    println!("{} of {limits} limits agree; {duties_differ} duties differ", limits - differ);
    assert_eq!((differ, duties_differ), (0, 0), "the judges differ");
}

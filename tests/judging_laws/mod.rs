//! Laws of judging, held on made sites: what may change an outcome, and in which direction.

use std::collections::BTreeMap;

use bywash::rules::{Finding, Outcome};

use super::program;
use super::second_judge::exact::Rat;
use super::second_judge::generate;
use super::second_judge::given::{Below, Divisor, Parameter, Several, Site, Statistic, Window};
use super::second_judge::write::{Files, files};

/// How many sites a law is held on.
fn sites() -> std::ops::Range<u64> {
    let from = 50_000;
    from..from + if cfg!(debug_assertions) { 5 } else { 200 }
}

fn judged(site: &Site, files: &Files) -> Vec<Finding> {
    program(site, files).unwrap_or_else(|told| panic!("{told}\n{}\n{}", files.rules, files.records))
}

fn outcomes(site: &Site, files: &Files) -> BTreeMap<String, Outcome> {
    judged(site, files)
        .into_iter()
        .filter(|finding| finding.id.starts_with("limit / "))
        .map(|finding| (finding.name.clone(), finding.outcome))
        .collect()
}

fn shown(seed: u64, files: &Files) -> String {
    format!("site {seed}\n{}\n{}\n{}", files.rules, files.records, files.rain)
}

type Ends = (String, String);

/// Outcome and printed figure of every window of more than a day, by limit, ends and label.
fn wide_windows(site: &Site) -> BTreeMap<(String, Ends, String), (Outcome, Option<String>)> {
    let mut out = BTreeMap::new();
    for finding in judged(site, &files(site)) {
        let wide =
            site.limits.iter().any(|limit| limit.name == finding.name && limit.statistic.window() != Window::Day);
        for window in finding.windows.iter().filter(|_| wide) {
            // A duty's own stretch without its sample is no window of the limit.
            if window.figure.is_none() {
                continue;
            }
            let ends = (window.from.to_string(), window.to.to_string());
            let figure = window.figure.as_ref().map(|figure| figure.text.clone());
            out.insert((finding.name.clone(), ends, window.label.clone()), (window.outcome, figure));
        }
    }
    out
}

/// The period chooses which windows are listed, never what is in them.
#[test]
fn a_window_comes_out_alike_whatever_period_is_asked_for() {
    let mut compared = 0;
    for seed in sites() {
        let mut site = generate::site(seed);
        // Where the permit leaves ways to count open, the worst of the period may be another way's.
        site.limits.retain(|limit| !leaves_open(limit));
        if site.limits.is_empty() {
            continue;
        }
        let (from, to) = site.period;
        let shorter = Site { period: (from, from + (to - from) / 2), ..site.clone() };
        let (long, short) = (wide_windows(&site), wide_windows(&shorter));
        for (key, window) in &short {
            if let Some(same) = long.get(key) {
                compared += 1;
                assert_eq!(same, window, "{key:?}\n{}", shown(seed, &files(&site)));
            }
        }
    }
    assert!(compared > 20, "{compared} windows");
}

/// Whether the permit leaves some way to count open.
fn leaves_open(limit: &super::Limit) -> bool {
    let of = &limit.counting;
    of.week_starts.is_none()
        || of.belongs.is_none()
        || of.several.is_none()
        || of.below.is_none()
        || of.divisor.is_none()
        || of.weighting.is_none()
}

/// What is not said comes out as the worst of all answers typed one by one.
#[test]
fn not_said_is_the_worst_over_all_answers_typed_one_by_one() {
    let mut tried = 0;
    for seed in sites() {
        let site = generate::site(seed);
        for number in 0..site.limits.len() {
            let alone = |change: &dyn Fn(&mut super::Limit)| {
                let mut limit = site.limits[number].clone();
                change(&mut limit);
                let one = Site { limits: vec![limit], ..site.clone() };
                outcomes(&one, &files(&one)).into_values().next()
            };
            let statistic = &site.limits[number].statistic;
            let open = |which: usize| -> Option<Outcome> {
                alone(&|limit| match which {
                    0 => limit.counting.several = None,
                    1 => limit.counting.below = None,
                    _ => limit.counting.divisor = None,
                })
            };
            let several = [Several::Average, Several::Highest, Several::Lowest]
                .map(|answer| alone(&|limit| limit.counting.several = Some(answer)));
            let below = [Below::Zero, Below::Half, Below::Limit]
                .map(|answer| alone(&|limit| limit.counting.below = Some(answer)));
            let mut all = vec![(0, several.to_vec()), (1, below.to_vec())];
            if matches!(statistic, Statistic::Average(_)) {
                // Calendar days apply to water and loads alone.
                let mut answers = vec![Divisor::Sampled, Divisor::Discharge];
                if matches!(site.limits[number].parameter, Parameter::Water | Parameter::Load) {
                    answers.push(Divisor::Calendar);
                }
                if site.limits[number].parameter == Parameter::Freeboard {
                    answers.truncate(1);
                }
                let of = answers.into_iter().map(|answer| alone(&|limit| limit.counting.divisor = Some(answer)));
                all.push((2, of.collect()));
            }
            for (which, answers) in all {
                tried += 1;
                assert_eq!(
                    open(which),
                    answers.iter().copied().flatten().min(),
                    "{which} of {}: {answers:?}\n{}",
                    site.limits[number].name,
                    shown(seed, &files(&site))
                );
            }
        }
    }
    assert!(tried > 20, "{tried} switches");
}

/// Whether what was shown to be kept, or not kept, was so before.
fn worse_or_same(looser: Outcome, stricter: Outcome) -> bool {
    let kept = |outcome: Outcome| matches!(outcome, Outcome::Met);
    (!looser.is_exceeded() || stricter.is_exceeded()) && (!kept(stricter) || kept(looser))
}

/// A number cut to three decimals, as many as a bound is written with.
fn whole_thousandths(of: Rat) -> Rat {
    let (n, d) = of.parts();
    Rat::new(n * 1000 / d, 1000)
}

/// A stricter limit never comes out better.
#[test]
fn a_stricter_limit_never_improves() {
    let tenth = Rat::new(1, 10);
    for seed in sites() {
        let site = generate::site(seed);
        let mut stricter = site.clone();
        for limit in &mut stricter.limits {
            limit.upper = limit.upper.map(|(bound, strict)| (bound - whole_thousandths(bound * tenth), strict));
            if limit.upper.is_none() {
                limit.lower = limit.lower.map(|(bound, strict)| (bound + whole_thousandths(bound * tenth), strict));
            }
            if let (Some((upper, _)), Some((lower, _))) = (limit.upper, limit.lower)
                && upper < lower
            {
                limit.lower = None;
            }
        }
        let same_sides = |name: &str| {
            let of = |site: &Site| {
                let limit = site.limits.iter().find(|limit| limit.name == name)?;
                Some((limit.upper.is_some(), limit.lower.is_some()))
            };
            of(&site) == of(&stricter)
        };
        let (before, after) = (outcomes(&site, &files(&site)), outcomes(&stricter, &files(&stricter)));
        for (name, outcome) in before.iter().filter(|(name, _)| same_sides(name)) {
            assert!(
                worse_or_same(*outcome, after[name]),
                "{name}: {outcome} became {}\n{}",
                after[name],
                shown(seed, &files(&site))
            );
        }
    }
}

/// Less is on file: a meter's reading in between is gone. Nothing that was not kept before is kept after it.
#[test]
fn a_reading_less_never_makes_a_limit_met() {
    let mut tried = 0;
    for seed in sites() {
        let site = generate::site(seed);
        let written = files(&site);
        let rows: Vec<&str> = written.records.lines().collect();
        let meter = |row: &str| row.split(',').nth(1).map(str::to_owned);
        let reading = |row: &&str| row.contains(",reading,");
        let between = (1..rows.len().saturating_sub(1)).find(|at| {
            let same = |other: usize| meter(rows[other]) == meter(rows[*at]) && reading(&rows[other]);
            reading(&rows[*at]) && same(at - 1) && same(at + 1)
        });
        let Some(gone) = between else { continue };
        let fewer: String =
            rows.iter().enumerate().filter(|(at, _)| *at != gone).map(|(_, row)| format!("{row}\n")).collect();
        let less = Files {
            facility: written.facility.clone(),
            rules: written.rules.clone(),
            records: fewer,
            rain: written.rain.clone(),
        };
        let (before, after) = (outcomes(&site, &written), outcomes(&site, &less));
        tried += 1;
        for (name, outcome) in &after {
            let was = before[name];
            assert!(
                *outcome != Outcome::Met || matches!(was, Outcome::Met | Outcome::NoDischarge),
                "{name}: {was} became met without line {gone}\n{}",
                shown(seed, &written)
            );
        }
    }
    assert!(tried > 0, "no site has a reading to take away");
}

/// The order of rows, and of the places in a limit, changes nothing; nor does the unit of a limit, or of its records.
#[test]
fn order_and_units_change_nothing() {
    for seed in sites() {
        let site = generate::site(seed);
        let written = files(&site);
        let before = outcomes(&site, &written);
        let (head, rows) = written.records.split_once('\n').expect("a heading");
        let mut turned: Vec<&str> = rows.lines().collect();
        turned.reverse();
        let reversed = Files {
            facility: written.facility.clone(),
            rules: written.rules.replace("[Outfall 1, Outfall 2]", "[Outfall 2, Outfall 1]"),
            records: format!("{head}\n{}\n", turned.join("\n")),
            rain: written.rain.clone(),
        };
        assert_eq!(before, outcomes(&site, &reversed), "{}", shown(seed, &written));
        let in_grams = Files {
            facility: written.facility.clone(),
            rules: in_other_units(&written.rules),
            records: written.records.replace(",mg/L,", ",g/m3,"),
            rain: written.rain.clone(),
        };
        assert_eq!(before, outcomes(&site, &in_grams), "{}", shown(seed, &written));
    }
}

/// Days that bear the date on which they end are the same days a date later: with every hour on file a date earlier, and
/// what has a date alone as it was, all comes out as it did.
#[test]
fn days_that_bear_their_end_are_the_same_days_under_another_date() {
    let mut tried = 0;
    let from = sites().start;
    for seed in from..from + 2 * (sites().end - from) {
        let mut site = generate::site(seed);
        // The day of an exchange stands in the facility's file, under its own date.
        site.outfalls.iter_mut().flat_map(|of| &mut of.ways).for_each(|way| way.new_from = None);
        if site.day_start == 0 {
            continue;
        }
        let mut written = files(&site);
        // Seen at the very hour, a thing is of the day that ends or of the one that begins.
        let start = format!(" {},", super::second_judge::days::clock(site.day_start));
        // A dial read before the day's start would, a date earlier, stand before one that has that date alone.
        let hour = |row: &str| row.split_once(',')?.0.split_once(' ').map(|(_, hour)| format!(" {hour},"));
        let kept = |row: &&str| match row.contains(",reading,") {
            true => hour(row).is_none_or(|hour| hour >= start),
            false => !row.contains(&start),
        };
        written.records = written.records.lines().filter(kept).map(|row| format!("{row}\n")).collect();
        let named = "day starts: 7 am\n";
        assert!(written.facility.contains(named), "{}", written.facility);
        let other = Files {
            facility: written.facility.replace(named, &format!("{named}a day bears: the date it ends on\n")),
            rules: written.rules.clone(),
            records: a_date_earlier(&written.records),
            rain: a_date_earlier(&written.rain),
        };
        tried += 1;
        assert_eq!(outcomes(&site, &written), outcomes(&site, &other), "{}", shown(seed, &other));
    }
    assert!(tried > 0, "no site starts its days within a date");
}

/// Rows that have an hour, a date earlier.
fn a_date_earlier(rows: &str) -> String {
    rows.lines()
        .map(|row| {
            let (when, rest) = row.split_once(',').unwrap_or((row, ""));
            let earlier = when.split_once(' ').and_then(|(date, hour)| {
                let before = date.parse::<chrono::NaiveDate>().ok()?.pred_opt()?;
                Some(format!("{before} {hour},{rest}\n"))
            });
            earlier.unwrap_or_else(|| format!("{row}\n"))
        })
        .collect()
}

/// The bounds of a rules file in smaller units: mg/L as µg/L, m³ as L, kg as g, m as cm.
fn in_other_units(rules: &str) -> String {
    rules
        .lines()
        .map(|line| {
            let bound = ["at most: ", "at least: ", "below: ", "above: "]
                .iter()
                .find_map(|key| line.trim_start().strip_prefix(key));
            let parts = bound.and_then(|bound| bound.split_once(' '));
            let Some((number, unit)) = parts else {
                return format!("{line}\n");
            };
            let (factor, other) = match unit {
                "mg/L" => (3, "ug/L"),
                "m3" => (3, "L"),
                "kg" => (3, "g"),
                "m" => (2, "cm"),
                _ => return format!("{line}\n"),
            };
            let moved = shifted(number, factor);
            let (head, _) = line.split_at(line.len() - number.len() - unit.len() - 1);
            format!("{head}{moved} {other}\n")
        })
        .collect()
}

/// A decimal with its point moved to the right.
fn shifted(number: &str, places: usize) -> String {
    let (whole, part) = number.split_once('.').unwrap_or((number, ""));
    let mut digits = part.to_owned();
    while digits.len() < places {
        digits.push('0');
    }
    let (more, rest) = digits.split_at(places);
    let moved = format!("{whole}{more}");
    let moved = match moved.trim_start_matches('0') {
        "" => "0",
        number => number,
    };
    if rest.is_empty() { moved.to_owned() } else { format!("{moved}.{rest}") }
}

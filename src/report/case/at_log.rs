//! The answer at the log, in few lines for page 1: what the draws count by, what the money is where the washes are as logged,
//! and what a fit found.

use crate::compare::{Cell, LEAST_DRAWS, Looked, Measure, Thing};
use crate::page::document::{Text, figures};
use crate::report::case::verdict::with_money;
use crate::report::case::{ComparedCase, three, units};
use crate::report::inspection::about::month;

/// The rows of page 1; none where nothing was logged that the money could turn on.
pub fn rows(case: &ComparedCase<'_>) -> Vec<(String, Text)> {
    let mut rows = Vec::new();
    rows.extend(
        weighed(case).map(|words| (format!("Draws at the {}", case.study.repeated.held_against()), Text::from(words))),
    );
    rows.extend(fitted(case).map(|words| ("The fit".to_owned(), Text::from(words))));
    rows
}

/// What somebody saw at the points of discharge beside what is computed there; none where the two agree.
pub fn seen(case: &ComparedCase<'_>) -> Option<(String, Text)> {
    let told = |of: &Looked| (of.dry + of.not_computed > 0).then(|| format!("{}: {}.", of.name, of.words()));
    let told: Vec<String> = case.study.on_file.looked.iter().filter_map(told).collect();
    let words = format!("{} A look is of one moment.", told.join(" "));
    (!told.is_empty()).then(|| ("Looks".to_owned(), Text::from(words)))
}

/// How the draws count, and what the money would be if all counted alike.
fn weighed(case: &ComparedCase<'_>) -> Option<String> {
    let of = &case.study.repeated;
    of.weights.as_ref()?;
    let all = figures::number(case.study.draws.len().saturating_sub(1) as f64, 0);
    let is_off = case.study.is_off_the_log();
    let held = |thing: &&Thing| thing.explained && !thing.below_alone;
    let names = |of: Vec<&Thing>| named(&of.into_iter().map(|thing| thing.what.as_str()).collect::<Vec<_>>());
    let below = names(of.things.iter().filter(|thing| thing.explained && thing.below_alone).collect());
    let not = names(of.things.iter().filter(|thing| !thing.explained).collect());
    let to = match names(of.things.iter().filter(held).collect()) {
        none if none.is_empty() => format!("have {below} as low as every sample, below detection,"),
        held => format!("repeat {held},"),
    };
    let mut words = format!(
        "{} of {all} draws {to} and count by how well they do (as good as {} equal ones)",
        figures::number(of.repeating as f64, 0),
        figures::number(of.effective, 0)
    );
    if is_off {
        words.push_str(&format!(
            ": by them go all medians, ranges and shares of draws here. Left out of that, as hardly any draw repeats it: {not}"
        ));
    }
    if of.effective < LEAST_DRAWS as f64 {
        words.push_str(if is_off { "; those that count are too few to go by" } else { ": too few to go by" });
    }
    words.push('.');
    if !below.is_empty() && of.things.iter().any(|thing| held(&thing)) {
        words.push_str(&format!(
            " All samples of {below} are below detection, and say no more than that there is little."
        ));
    }
    // What is off has a verdict's words on it.
    if is_off {
        return Some(words);
    }
    // What no draw repeats weighs nothing, and is not among what is repeated.
    let not_held: Vec<String> =
        of.things.iter().filter(|thing| !thing.explained).map(|thing| case.study.off_words(thing)).collect();
    if !not_held.is_empty() {
        let turns = if case.study.options.len() > 1 { "; no option’s money turns on it" } else { "" };
        words.push_str(&format!(" Not held against: {}{turns}.", not_held.join("; ")));
    }
    if let Some((_, (from, to))) = of.split {
        let told: Vec<String> = of
            .things
            .iter()
            .filter(|thing| thing.explained && !thing.kept_out.is_empty())
            .filter(|thing| case.options().skip(1).any(|option| case.study.turns_on(thing, option, 0)))
            .filter_map(|thing| {
                let weights = of.weights.as_ref()?;
                let pairs = || thing.kept_out.iter().zip(weights.iter()).skip(1).filter(|(_, w)| **w > 0.0);
                let total: f64 = pairs().map(|(_, w)| w).sum();
                let mean = |of: fn(&(f64, f64)) -> f64| pairs().map(|(pair, w)| of(pair) * w / total).sum::<f64>();
                let (logged, computed) = (mean(|pair| pair.0), mean(|pair| pair.1));
                Some(match thing.measure {
                    Measure::Events => format!(
                        "{} {} computed, {} logged",
                        figures::number(computed, 0),
                        thing.what,
                        figures::number(logged, 0)
                    ),
                    _ => format!("{} {}", thing.what, off(logged, computed)),
                })
            })
            .collect();
        if !told.is_empty() {
            words.push_str(&format!(" Kept out of that, {} to {}: {}.", month(from), month(to), told.join("; ")));
        }
    }
    let plain = options(case, |option| Some(more(case, median(&case.study.present_more(option, 0).unweighted())?)));
    if !plain.is_empty() {
        words.push_str(&format!(" With all draws alike: {}.", plain.join("; ")));
    }
    Some(words)
}

/// Names of what was logged, each measure's places together.
fn named(names: &[&str]) -> String {
    const SOLIDS: &str = "suspended solids at ";
    let (solids, others): (Vec<&str>, Vec<&str>) = names.iter().partition(|name| name.starts_with(SOLIDS));
    let places: Vec<&str> = solids.iter().filter_map(|name| name.strip_prefix(SOLIDS)).collect();
    let solids = (!places.is_empty()).then(|| format!("{SOLIDS}{}", in_a_row(&places)));
    in_a_row(&others.into_iter().map(str::to_owned).chain(solids).collect::<Vec<_>>())
}

/// `a, b and c`.
fn in_a_row<S: AsRef<str>>(names: &[S]) -> String {
    let names: Vec<&str> = names.iter().map(AsRef::as_ref).collect();
    match names.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        _ => names.join(", "),
    }
}

/// What the money was made to repeat, for the row of the table on page 1: `washes of Sand beds 205 and not 730`.
pub fn made_to_repeat(case: &ComparedCase<'_>) -> Option<String> {
    let made: Vec<String> = case
        .at_log?
        .made
        .iter()
        .map(|(what, logged, computed)| {
            let water = what.starts_with("meter");
            let one = |value: f64| {
                let unit = units(case).water;
                if water { figures::with_unit(three(unit.of(value)), 0, unit.name) } else { figures::number(value, 0) }
            };
            format!("{what} {} and not {}", one(*logged), one(*computed))
        })
        .collect();
    let without: Vec<String> = (1..)
        .zip(&case.at_log?.more)
        .filter(|(option, more)| more.is_none() && case.study.present_more(*option, 0).is_whole())
        .map(|(option, _)| case.short(option))
        .collect();
    let own = if without.is_empty() {
        String::new()
    } else {
        format!(
            " {}: washed by another rule, of which the log tells nothing, so not compared there.",
            without.join(", ")
        )
    };
    Some(format!(
        "As logged: {}; the medians above, moved by what that alone changes in the middle of the ranges.{own}",
        made.join(", ")
    ))
}

/// `Tuned 14 000 USD more` of each option that has such words.
fn options(case: &ComparedCase<'_>, of: impl Fn(usize) -> Option<String>) -> Vec<String> {
    case.options().skip(1).filter_map(|option| Some(format!("{} {}", case.short(option), of(option)?))).collect()
}

fn median(cell: &Cell) -> Option<f64> {
    cell.spread().map(|of| of.median)
}

fn more(case: &ComparedCase<'_>, value: f64) -> String {
    if value.abs() < 0.5 {
        return "the same".to_owned();
    }
    format!("{} {}", with_money(case, value.abs()), if value < 0.0 { "less" } else { "more" })
}

fn off(logged: f64, computed: f64) -> String {
    let share = computed / logged - 1.0;
    let word = if share > 0.0 { "high" } else { "low" };
    format!("{}{}% too {word}", figures::number(100.0 * share.abs(), 0), figures::TIE)
}

/// What the fit found, with the line that takes it over.
fn fitted(case: &ComparedCase<'_>) -> Option<String> {
    let fit = case.fit?;
    let percent = |share: f64| format!("{}{}%", figures::number(100.0 * share, 0), figures::TIE);
    let values: Vec<String> = fit
        .values
        .iter()
        .map(|value| {
            let path: Vec<&str> = value.key.split(" / ").collect();
            let (last, place) = (path.last().copied().unwrap_or_default(), path.get(1).copied().unwrap_or_default());
            match &value.pinned {
                _ if value.at_end => format!("{place}, {last}: {} at the end of its range, so widen it", value.value),
                None => format!("{place}, {last}: the log does not pin it"),
                Some((low, high)) => format!(
                    "{place}, {last}: {} fits best. To take it over, write `{last}: {low} to {high}` there in facility.yaml",
                    value.value
                ),
            }
        })
        .collect();
    Some(format!(
        "{}. In the period kept out it is off by {}, and by {} in the middle of the ranges.",
        values.join("; "),
        percent(fit.tested_error.1),
        percent(fit.tested_error.0)
    ))
}

//! Every limit of a rules file judged: records first, what is computed only predicted, worst first.

pub(crate) mod amount_means;
pub(crate) mod amounts;
mod by_level;
pub(crate) mod case;
pub(crate) mod clock_window;
pub(crate) mod each;
pub(crate) mod evaluate;
pub(crate) mod figures;
pub(crate) mod finding;
pub(crate) mod lacking;
pub(crate) mod likely;
pub(crate) mod loads;
mod monthly_loads;
pub(crate) mod no_discharge;
mod on_file;
pub(crate) mod scene;
pub(crate) mod text;
pub(crate) mod tiers;
mod typed;
pub(crate) mod values;

use chrono::Weekday;
use rayon::prelude::*;

use crate::rules::duty::stretch_words;
use crate::rules::duty::{duties, notices};
use crate::rules::judge::case::Case;
use crate::rules::judge::evaluate::{Judged as Windows, Judgement, evaluate, how_many};
use crate::rules::judge::scene::Scene;
use crate::rules::measure::is_off_a_weir;
use crate::rules::predict::plan::plan;
use crate::rules::predict::predicted::{beside, predicted};
use crate::rules::window::decide::is_outside;
use crate::rules::window::statistics::{Fold, Shape};
use crate::rules::window::windows::{Window, each_day};
use crate::rules::{
    Bound, CountRule, Counted, Finding, FindingKind, HEAD_FIGURES, Judged, Limit, Number, Outcome, StripData, Subject,
    Switch,
};

/// A window over a limit, for the notices it asks for.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Exceeded {
    /// The limit.
    pub limit: usize,
    /// The window.
    pub window: Window,
    /// When it was known.
    pub known_on: chrono::NaiveDate,
    /// Records it rests on.
    pub evidence: Vec<crate::rules::Evidence>,
}

/// Judges a case: limits, duties, notices and reports due, worst first and in the permit's order within one outcome.
pub fn judge(case: &Case<'_>) -> Vec<Finding> {
    Limits::judged(case).findings(case)
}

/// The findings of some limits alone, by their index, in that order: no duties, notices and reports.
pub fn judge_limits(case: &Case<'_>, which: &[usize]) -> Vec<Finding> {
    let judged: Vec<Option<OfLimit>> = which.par_iter().map(|index| judge_limit(*index, case)).collect();
    judged.into_iter().flatten().map(|judged| judged.finding).collect()
}

/// Every limit of a rules file judged, side by side: none looks at another.
pub struct Limits {
    of: Vec<Option<OfLimit>>,
}

impl Limits {
    /// Judges them.
    pub fn judged(case: &Case<'_>) -> Self {
        Self { of: (0..case.rules.limits.len()).into_par_iter().map(|index| judge_limit(index, case)).collect() }
    }

    /// Judges some of them again, by a case that predicts otherwise.
    pub fn judge_again(&mut self, case: &Case<'_>, which: &[usize]) {
        let again: Vec<Option<OfLimit>> = which.par_iter().map(|index| judge_limit(*index, case)).collect();
        for (index, judged) in which.iter().zip(again) {
            if let Some(of) = self.of.get_mut(*index) {
                *of = judged;
            }
        }
    }

    /// Their findings with those of duties, notices and reports due.
    pub fn findings(self, case: &Case<'_>) -> Vec<Finding> {
        let mut findings = Vec::new();
        let mut exceeded = Vec::new();
        let mut weeks = Vec::new();
        for judged in self.of {
            weeks.push(judged.as_ref().and_then(|judged| judged.week));
            if let Some(judged) = judged {
                findings.push(judged.finding);
                exceeded.extend(judged.exceeded);
            }
        }
        findings.extend(duties::findings(case, &weeks));
        findings.extend(notices::findings(case, &exceeded));
        // A stable sort keeps the order of the file within one outcome.
        findings.sort_by_key(|finding| finding.outcome);
        findings
    }
}

/// The start of every finding on a limit.
fn started(limit: &Limit) -> Finding {
    let (id, at) = (format!("limit / {}", limit.name), limit.at_text.clone());
    Finding {
        words: limit.words.clone(),
        place: Some(limit.place.clone()),
        limit: Some(Judged {
            text: limit.bound.text.clone(),
            at_most: limit.bound.upper().map(|(bound, _)| bound.to_f64()),
            at_least: limit.bound.lower().map(|(bound, _)| bound.to_f64()),
            unit: limit.bound.unit_text.clone(),
        }),
        ..Finding::new(id, FindingKind::Limit, limit.name.clone(), at, Outcome::NotShown)
    }
}

/// What the other way to count takes that the main one does not.
fn difference(main: &Counted, other: &Counted) -> Vec<String> {
    other.taken.iter().filter(|words| !main.taken.contains(words)).cloned().collect()
}

/// Whether all that is on file of a rate are totals of a meter, of which none is over in the mean: they say nothing of the
/// most at a moment, so the limit is without a record of its own.
fn only_mean_rates(limit: &Limit, windows: &Windows) -> bool {
    limit.subject == Subject::Rate
        && windows.windows.iter().all(|window| {
            window.finding.outcome == Outcome::NotShown && window.value.is_none_or(|value| !value.high.is_finite())
        })
}

/// A limit judged.
struct OfLimit {
    finding: Finding,
    /// What notices are asked for.
    exceeded: Vec<Exceeded>,
    /// The first day of the week that it was counted by; its duty goes by the same.
    week: Option<Weekday>,
}

/// Judges one limit.
fn judge_limit(index: usize, case: &Case<'_>) -> Option<OfLimit> {
    let typed = case.rules.limits.get(index)?;
    // What is worked out from heads is printed with the figures that a head bears; what is held against the limit keeps all of its digits.
    let off_a_weir = typed.subject == Subject::Water && is_off_a_weir(&typed.at, case.facility);
    let figures = off_a_weir.then_some(HEAD_FIGURES);
    let limit = &Limit { bound: Bound { figures, ..typed.bound.clone() }, ..typed.clone() };
    let mut finding = started(limit);
    let scene = Scene::new(limit, case);
    let mut tried: Vec<(Counted, Windows, Outcome)> = Vec::new();
    for counted in limit.counting.ways(&scene.matters(), limit.bound.places) {
        let windows = evaluate(&scene, &counted);
        let outcome = windows.outcome();
        tried.push((counted, windows, outcome));
    }
    let nothing = |windows: &Windows| windows.windows.is_empty() && windows.not_evaluable == 0;
    if !scene.ever_in_force() && tried.iter().all(|(_, windows, _)| nothing(windows)) {
        finding.outcome = Outcome::NotInForce;
        finding.sentences.push("The limit was not in force on any day of the period.".to_owned());
        return Some(OfLimit { finding, exceeded: Vec::new(), week: None });
    }
    // A way to count under which no window is the limit's says nothing beside one under which some are.
    if tried.iter().any(|(_, windows, _)| !nothing(windows)) {
        tried.retain(|(_, windows, _)| !nothing(windows) || !windows.missing.is_empty());
    }
    let worst = tried.iter().map(|(_, _, outcome)| *outcome).min()?;
    let main = tried.iter().position(|(_, _, outcome)| *outcome == worst)?;
    let (counted, windows, outcome) = tried.get(main)?.clone();
    let other = tried
        .iter()
        .filter(|(_, _, other)| *other != outcome)
        .min_by_key(|(way, _, _)| difference(&counted, way).len());
    if let Some((way, _, other)) = other {
        finding.other_answer = Some((difference(&counted, way).join(" and "), *other));
        finding.sentences.push(format!(
            "The permit does not say all of how this counts: if {}, it is {outcome}; if {}, it is {other}.",
            difference(way, &counted).join(" and "),
            difference(&counted, way).join(" and ")
        ));
    }
    finding.outcome = outcome;
    fill(&mut finding, limit, &windows);
    let measured = (windows.readings > 0 && !only_mean_rates(limit, &windows))
        || matches!(outcome, Outcome::NoDischarge | Outcome::Met | Outcome::NotEvaluable);
    let plan = plan(index, case.rules, case.facility, case.timeline, case.weather, case.period);
    let has_duty = limit.sample.is_some();
    if !measured && !has_duty && !outcome.is_exceeded() {
        predicted(&mut finding, limit, plan.as_ref(), case);
    } else if finding.outcome == Outcome::NotShown {
        beside(&mut finding, limit, plan.as_ref(), case);
    }
    counted_violations(&mut finding, &scene, &windows);
    tiers::sentences(&mut finding, limit, case, &windows);
    by_level::tell(&mut finding, limit, case);
    on_file::tell(&mut finding, limit, &windows);
    typed::tell(&mut finding, limit, &scene.flows, case);
    let exceeded = windows
        .windows
        .iter()
        .filter(|window| window.finding.outcome.is_exceeded())
        .map(|window| Exceeded {
            limit: index,
            window: Window { label: window.finding.label.clone(), from: window.finding.from, to: window.finding.to },
            known_on: window.known_on.unwrap_or(window.finding.to),
            evidence: window.finding.evidence.clone(),
        })
        .collect();
    Some(OfLimit { finding, exceeded, week: Some(counted.week_starts) })
}

/// The number that stands for a window: the end that alone decides it, else what it counts as.
fn telling(judgement: &Judgement, limit: &Limit) -> Option<Number> {
    let value = judgement.value?;
    let bound = held_against(judgement, limit);
    let over = judgement.finding.outcome.is_exceeded();
    let met = judgement.finding.outcome == Outcome::Met;
    let upper = bound.upper().is_some();
    // Of a range the end that is nearer to its bound.
    if over && is_outside(value.low, &bound) && is_outside(value.high, &bound) {
        return Some(if upper && value.low.is_finite() { value.low } else { value.high });
    }
    if met && !is_outside(value.low, &bound) && !is_outside(value.high, &bound) {
        return Some(match (bound.upper(), bound.lower()) {
            (Some((top, _)), Some((bottom, _))) => {
                let (below, above) = (value.low.minus(bottom), top.minus(value.high));
                if below.compare(above).is_lt() { value.low } else { value.high }
            }
            (Some(_), None) => value.high,
            _ => value.low,
        });
    }
    if let Some(counted) = value.counted {
        return Some(counted);
    }
    let wanted = if upper == over { value.low } else { value.high };
    Some(if wanted.is_finite() { wanted } else { value.low })
}

/// What a window was held against.
fn held_against(judgement: &Judgement, limit: &Limit) -> Bound {
    match judgement.against {
        Some(allowed) => Bound { figures: limit.bound.figures, ..Bound::plain(Some(allowed), None) },
        None => limit.bound.clone(),
    }
}

/// Which window is worst: the outcome first, then the least margin, then a figure that is known before one that may be
/// less (a result below detection), then the earliest. Where something is not shown, a window without a value (nothing
/// flowed in it) is no worst one.
fn worst<'a>(windows: &'a Windows, limit: &Limit) -> Option<&'a Judgement> {
    let margin = |judgement: &Judgement| {
        let bound = held_against(judgement, limit);
        telling(judgement, limit).and_then(|value| crate::rules::window::decide::margin(value, &bound))
    };
    let lacks = windows.windows.iter().any(|judgement| judgement.finding.outcome == Outcome::NotShown);
    let with_value: Vec<(&Judgement, Number)> = windows
        .windows
        .iter()
        .filter(|judgement| !lacks || judgement.finding.n > 0)
        .filter_map(|judgement| Some((judgement, margin(judgement)?)))
        .collect();
    let exceeded = with_value.iter().any(|(judgement, _)| judgement.finding.outcome.is_exceeded());
    with_value
        .into_iter()
        .filter(|(judgement, _)| judgement.finding.outcome.is_exceeded() == exceeded)
        .min_by(|a, b| a.1.compare(b.1).then_with(|| may_be_less(a.0).cmp(&may_be_less(b.0))))
        .map(|(judgement, _)| judgement)
}

fn may_be_less(judgement: &Judgement) -> bool {
    judgement.value.is_some_and(|value| !value.is_exact())
}

fn fill(finding: &mut Finding, limit: &Limit, windows: &Windows) {
    finding.n = windows.readings;
    finding.how_many = how_many(limit, windows);
    finding.windows = windows.windows.iter().map(|judgement| judgement.finding.clone()).collect();
    finding.missing = windows.missing.clone();
    for judgement in windows.windows.iter().filter(|judgement| judgement.finding.outcome == Outcome::NotShown) {
        for missing in &judgement.finding.missing {
            if !finding.missing.contains(missing) {
                finding.missing.push(missing.clone());
            }
        }
    }
    if matches!(limit.subject, Subject::Discharge) {
        discharge(finding, limit, windows);
    } else if let Some(judgement) = worst(windows, limit) {
        finding.worst_when = Some(judgement.finding.label.clone());
        finding.figure.clone_from(&judgement.finding.figure);
        finding.evidence.clone_from(&judgement.finding.evidence);
        let decided = matches!(judgement.finding.outcome, Outcome::Met) || judgement.finding.outcome.is_exceeded();
        let bound = held_against(judgement, limit);
        let number = telling(judgement, limit);
        let exact = judgement.value.is_some_and(|value| value.is_exact());
        if let Some((value, words, size)) = number.and_then(|number| text::margin_of(number, &bound))
            && (decided || exact)
        {
            // Between two ends the one that decides tells the least that the margin is.
            let at_least = !exact && judgement.value.is_some_and(|of| of.counted.is_none() || of.counted != number);
            let said = |words: String| if at_least && value != 0.0 { format!("at least {words}") } else { words };
            finding.margin = Some(said(words));
            finding.margin_size = size.map(said);
            finding.margin_value = Some(value);
        }
        strip(finding, limit, judgement, number);
        if matches!(limit.statistic.shape, Shape::Window(_))
            && windows.stretches.is_none_or(|(have, due)| have >= due)
            && judgement.finding.n > 0
        {
            let s = if judgement.finding.n == 1 { "" } else { "s" };
            let noun = if matches!(limit.subject, Subject::Water | Subject::Events) { "reading" } else { "sample" };
            finding.how_many = match (windows.stretches, &limit.sample) {
                (Some((have, due)), Some(duty)) if due > 1 => {
                    let many = stretch_words(duty.how_often).1;
                    match (have, due) {
                        (have, due) if have >= due => format!("{due} {many}"),
                        (have, due) => format!("{have} of {due} {many}"),
                    }
                }
                _ => format!("{} {noun}{s}", judgement.finding.n),
            };
        }
        if let Some(line) = judgement.finding.arithmetic.first() {
            finding.sentences.insert(0, format!("{}: {line}.", judgement.finding.label).replace("..", "."));
        }
    }
    outside_at_both_ends(finding, limit, windows);
    finding.dates = windows
        .windows
        .iter()
        .filter(|judgement| judgement.finding.outcome.is_exceeded())
        .map(|judgement| judgement.finding.from)
        .collect();
    spans_note(finding, limit, windows);
    finding.sentences.extend(windows.notes.iter().cloned());
    finding.likelihood.clone_from(&windows.likelihood);
}

/// Under a limit for a day: what readings over several days show.
fn spans_note(finding: &mut Finding, limit: &Limit, windows: &Windows) {
    let by_day =
        matches!(limit.statistic.shape, Shape::Each) && matches!(limit.subject, Subject::Water | Subject::Events);
    if by_day && windows.long > 0 && finding.outcome == Outcome::Met {
        finding.sentences.insert(
            0,
            "Readings cover several days. The largest total between two of them is within the limit for one day, so no \
             single day of the permit can have been over."
                .to_owned(),
        );
    }
}

/// Of what was outside a range at both of its ends the figure is both.
fn outside_at_both_ends(finding: &mut Finding, limit: &Limit, windows: &Windows) {
    let (Some((upper, _)), Some((lower, _))) = (limit.bound.upper(), limit.bound.lower()) else {
        return;
    };
    let values: Vec<_> = windows.windows.iter().filter_map(|judgement| judgement.value).collect();
    let low = values.iter().map(|value| value.low).reduce(Number::or_less);
    let high = values.iter().map(|value| value.high).reduce(Number::or_more);
    if let (Some(low), Some(high), Some(figure)) = (low, high, finding.figure.as_mut())
        && low.compare(lower).is_lt()
        && high.compare(upper).is_gt()
    {
        figure.text = text::figure(&crate::rules::Interval::between(low, high), &limit.bound, false);
        figure.low = low.to_f64();
        figure.high = high.to_f64();
    }
}

fn strip(finding: &mut Finding, limit: &Limit, judgement: &Judgement, number: Option<Number>) {
    let (Some(value), Some(number)) = (judgement.value, number) else {
        return;
    };
    let upper = limit.bound.upper().map(|(bound, _)| bound);
    let lower = limit.bound.lower().map(|(bound, _)| bound);
    let nearer_is_lower = match (upper, lower) {
        (Some(upper), Some(lower)) => number.minus(lower).compare(upper.minus(number)).is_lt(),
        (None, Some(_)) => true,
        _ => false,
    };
    let limit = if nearer_is_lower { lower } else { upper };
    if let Some(limit) = judgement.against.or(limit) {
        finding.strip = Some(StripData {
            limit: limit.to_f64(),
            worst: number.to_f64(),
            low: value.low.to_f64(),
            high: value.high.to_f64(),
            is_minimum: nearer_is_lower,
        });
    }
}

/// The finding of a limit on any discharge: how many days, when.
fn discharge(finding: &mut Finding, limit: &Limit, windows: &Windows) {
    let needs_storage = limit.except.as_ref().is_some_and(|except| except.before_it.is_some());
    let telling: Vec<&Judgement> = windows
        .windows
        .iter()
        .filter(|judgement| judgement.value.is_some() && judgement.finding.outcome != Outcome::Met)
        .collect();
    if let Some(first) = telling.iter().min_by_key(|judgement| judgement.finding.outcome) {
        finding.worst_when = Some(first.finding.label.clone());
        // Days that are not shown are no part of those that were over.
        let alike = || telling.iter().filter(|other| other.finding.outcome == first.finding.outcome);
        // Of what a meter counted over several days the days are not known one by one; one of them it was.
        let (told, untold): (Vec<&&Judgement>, Vec<_>) = alike().partition(|one| one.finding.figure.is_some());
        let days = told.iter().map(|judgement| judgement.finding.n).sum::<usize>() + untold.len();
        if let Some(figure) = told.iter().find_map(|one| one.finding.figure.as_ref()) {
            let mut figure = figure.clone();
            let least = if untold.is_empty() { "" } else { "at least " };
            let in_all = if alike().count() > 1 { " in all" } else { "" };
            figure.text = format!("{least}{}{in_all}", no_discharge::day_count(days));
            finding.figure = Some(figure);
        }
    }
    for judgement in &telling {
        finding.sentences.extend(judgement.finding.arithmetic.iter().cloned());
        finding.evidence.extend(judgement.finding.evidence.iter().cloned());
    }
    let excused = windows.windows.iter().filter(|judgement| judgement.finding.outcome == Outcome::Met).count();
    if excused > 0 {
        finding.sentences.push(format!(
            "{excused} discharge{} excused by a storm{}.",
            if excused == 1 { " was" } else { "s were" },
            if needs_storage { " with storage available before it" } else { "" }
        ));
    }
    finding.how_many = no_discharge::day_count(windows.readings);
}

/// The count of violations under the rule the user typed: windows, or days in force in the union of the windows.
fn counted_violations(finding: &mut Finding, scene: &Scene<'_>, windows: &Windows) {
    let over: Vec<&Judgement> =
        windows.windows.iter().filter(|judgement| judgement.finding.outcome.is_exceeded()).collect();
    if over.is_empty() {
        return;
    }
    let each_window = over.len();
    let one_of_these = |judgement: &&&Judgement| {
        matches!(scene.limit.statistic.shape, Shape::Each | Shape::ByItself)
            && judgement.finding.from != judgement.finding.to
            && judgement.finding.n <= 1
    };
    // What is sure of a run without being sure of a day is one violation, not one for every day.
    let runs = over.iter().filter(one_of_these).count();
    let days: std::collections::BTreeSet<chrono::NaiveDate> = over
        .iter()
        .filter(|judgement| !one_of_these(judgement))
        // A total may be over before its window has ended: days that have not come are not counted.
        .flat_map(|judgement| each_day(judgement.finding.from, judgement.finding.to.min(scene.case.as_of)))
        .filter(|day| scene.in_force(*day) && scene.on_weekday(*day))
        .collect();
    let each_day = days.len() + runs;
    let total = matches!(scene.limit.statistic.shape, Shape::Window(Fold::Total));
    let (each, every) = if total { ("total", "every day that it is of") } else { ("average or reading", "every day") };
    // What is not decided may be over too.
    let open = windows.windows.iter().any(|judgement| judgement.finding.outcome == Outcome::NotShown);
    let least = if open { "at least " } else { "" };
    finding.sentences.push(match scene.case.rules.notices.count {
        Switch::Is(CountRule::EachWindow) => format!("Count under the rule typed (one for each average, day or reading): {least}{each_window}."),
        Switch::Is(CountRule::EachDay) => format!("Count under the rule typed (one for every day of it): {least}{each_day}."),
        Switch::NotSaid if each_window == each_day => format!("Over {least}{each_window} time{}.", if each_window == 1 { "" } else { "s" }),
        Switch::NotSaid => format!(
            "The permit does not say how violations are counted: one for each {each} makes {least}{each_window}, one for {every} \
             makes {least}{each_day}."
        ),
    });
}

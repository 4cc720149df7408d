//! How an option's limits would come out: computed for every option, so never more than predicted.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use crate::balance::{Basis, DailySeries, Run};
use crate::compare::doubts::is_of_solids;
use crate::compare::figures::plain;
use crate::compare::predicted::{Past, Predicted};
use crate::compare::runs::Shared;
use crate::compare::season::month_no;
use crate::compare::{Alternative, Cell};
use crate::rules;
use crate::rules::{Drawn, Finding, LimitPlan, Outcome, Subject};

/// What is said where no water comes to a limit's point in any run.
pub const NOTHING_FLOWS: &str = "nothing flows";

/// Predicts every limit of an option from its single run and the first members.
pub(crate) fn predicted(
    of: &Alternative,
    run: &Run,
    shared: &Shared<'_>,
    plans: &[LimitPlan],
    drawn: &[Vec<Drawn>],
) -> Vec<Predicted> {
    let Some(rules) = &of.rules else {
        return Vec::new();
    };
    let of_plan = |plan: &LimitPlan| -> Vec<Drawn> {
        match plans.iter().position(|known| known.index == plan.index) {
            Some(at) => drawn.iter().filter_map(|of| of.get(at).cloned()).collect(),
            None => Vec::new(),
        }
    };
    // A rate at a moment is judged by what is typed of pumps: the rules know how.
    let unplanned: Vec<usize> =
        (0..rules.limits.len()).filter(|index| plans.iter().all(|plan| plan.index != *index)).collect();
    let case = rules::Case {
        facility: &of.facility,
        rules,
        timeline: shared.timeline,
        weather: Some(shared.weather),
        ledger: Some(&run.ledger),
        period: shared.period,
        as_of: shared.period.1,
        predict: &of_plan,
    };
    let findings: Vec<Finding> = rules::judge_limits(&case, &unplanned);
    rules
        .limits
        .iter()
        .enumerate()
        .map(|(index, limit)| {
            let nothing = |why: &str| Predicted {
                name: limit.name.clone(),
                bound: limit.bound.text.clone(),
                outcome: None,
                share_outside: None,
                figure: why.to_owned(),
                past: None,
            };
            if let Some(plan) = plans.iter().find(|plan| plan.index == index) {
                return from_plan(plan, run, &of_plan(plan)).unwrap_or_else(nothing);
            }
            let id = format!("limit / {}", limit.name);
            match findings.iter().find(|finding| finding.id == id) {
                Some(finding)
                    if matches!(
                        finding.outcome,
                        Outcome::PredictedWithin | Outcome::PredictedOutside | Outcome::Undecided
                    ) =>
                {
                    Predicted {
                        outcome: Some(finding.outcome),
                        share_outside: finding.share_outside,
                        ..nothing(finding.figure.as_ref().map_or("", |figure| &figure.text))
                    }
                }
                _ => nothing("the ledger does not follow it"),
            }
        })
        .collect()
}

fn from_plan(plan: &LimitPlan, run: &Run, drawn: &[Drawn]) -> Result<Predicted, &'static str> {
    let series: Vec<DailySeries> = plan.series(&run.ledger);
    let unknown = series.iter().any(|series| {
        series.basis.iter().enumerate().any(|(day, basis)| {
            let date = series.date(day);
            plan.span.0 <= date && date <= plan.span.1 && basis.has(Basis::UNKNOWN)
        })
    });
    if unknown {
        return Err("it rests on something that is not known");
    }
    let middle = plan.drawn(&series);
    let is_days = plan.limit.subject == Subject::Discharge;
    let worst = Cell {
        values: middle.worst.into_iter().chain(drawn.iter().filter_map(|of| of.worst)).collect(),
        ..Cell::default()
    };
    let outside: Vec<Option<bool>> =
        if drawn.is_empty() { vec![middle.outside] } else { drawn.iter().map(|of| of.outside).collect() };
    let over = outside.iter().filter(|of| **of == Some(true)).count();
    let share = over as f64 / outside.len().max(1) as f64;
    let outcome = if drawn.is_empty() {
        // One run alone decides nothing.
        Outcome::Undecided
    } else if outside.iter().all(|of| *of == Some(false)) {
        Outcome::PredictedWithin
    } else if over == outside.len() {
        Outcome::PredictedOutside
    } else {
        Outcome::Undecided
    };
    if worst.values.is_empty() {
        // Nothing flowed in any run: nothing could be over.
        return match outcome {
            Outcome::PredictedWithin => Ok(Predicted {
                name: plan.limit.name.clone(),
                bound: plan.limit.bound.text.clone(),
                outcome: Some(outcome),
                share_outside: Some(0.0),
                figure: NOTHING_FLOWS.to_owned(),
                past: None,
            }),
            _ => Err("nothing flows in the computation"),
        };
    }
    let of_draws: Vec<f64> = drawn.iter().filter_map(|of| of.worst).collect();
    let of_draws_alone = !of_draws.is_empty();
    let draws = if of_draws.is_empty() { worst.values.clone() } else { of_draws };
    let mut sorted = draws.clone();
    sorted.sort_by(f64::total_cmp);
    let (low, high) = (sorted.first().copied().unwrap_or(0.0), sorted.last().copied().unwrap_or(0.0));
    // A figure that some draw has: half a day over is none.
    let half = sorted.get(sorted.len().saturating_sub(1) / 2).copied().unwrap_or(0.0);
    let at = worst.values.first().copied().unwrap_or(0.0);
    let digits = if is_days || high.abs() >= 100.0 {
        0
    } else if high.abs() >= 10.0 {
        1
    } else {
        2
    };
    let round = |value: f64| -> String {
        let step = if value.abs() >= 1000.0 { 10_f64.powf(value.abs().log10().floor() - 2.0) } else { 1.0 };
        if digits == 0 { plain((value / step).round() * step, 0) } else { plain(value, digits) }
    };
    let (low, middle, high) = (round(low), round(half), round(high));
    let unit = match (is_days, middle.as_str()) {
        (true, "1") => "day",
        (true, _) => "days",
        (false, _) => plan.limit.bound.unit_text.as_str(),
    };
    let figure = with_range(&low, &middle, &high, unit);
    Ok(Predicted {
        name: plan.limit.name.clone(),
        bound: plan.limit.bound.text.clone(),
        outcome: Some(outcome),
        share_outside: Some(share),
        figure: figure.trim().to_owned(),
        past: Some(Past {
            worst: at,
            middle: half,
            draws,
            windows: if of_draws_alone { windows(plan, drawn) } else { Vec::new() },
            per_m3: per_m3(plan, &series, at),
            // Where no discharge is allowed no day may have any.
            upper: plan.limit.bound.upper().map(|(bound, _)| bound.to_f64()).or(is_days.then_some(0.0)),
            lower: plan.limit.bound.lower().map(|(bound, _)| bound.to_f64()),
            is_removal: matches!(plan.limit.subject, Subject::Removal(..)),
            unit: unit.to_owned(),
        }),
    })
}

/// `7.0 mg/L (5.2 to 12.1)`; where half of the draws or more have one end, the other: `7.0 mg/L (up to 12.1)`.
fn with_range(low: &str, middle: &str, high: &str, unit: &str) -> String {
    let range = match (low == middle, middle == high) {
        (true, true) => return format!("{middle} {unit}"),
        (true, false) => format!("up to {high}"),
        (false, true) => format!("down to {low}"),
        (false, false) => format!("{low} to {high}"),
    };
    format!("{middle} {unit} ({range})")
}

/// The worst figures of each draw by the first and last month of their windows; empty of limits whose windows' figures are not what is held
/// against the bound.
fn windows(plan: &LimitPlan, drawn: &[Drawn]) -> Vec<Vec<((i32, i32), f64)>> {
    if !is_of_solids(&plan.limit) {
        return Vec::new();
    }
    let is_upper = plan.limit.bound.upper().is_some();
    let of = |drawn: &Drawn| {
        let mut months: BTreeMap<(i32, i32), f64> = BTreeMap::new();
        for ((first, last), figure) in &drawn.windows {
            let worst = months.entry((month_no(*first), month_no(*last))).or_insert(*figure);
            *worst = if is_upper { worst.max(*figure) } else { worst.min(*figure) };
        }
        let all = months.values().copied();
        let worst = if is_upper { all.reduce(f64::max) } else { all.reduce(f64::min) };
        let is_held = drawn.worst.zip(worst).is_some_and(|(a, b)| (a - b).abs() <= 1e-9 * a.abs());
        if is_held { months.into_iter().collect() } else { Vec::new() }
    };
    drawn.iter().filter(|of| of.worst.is_some()).map(of).collect()
}

/// The units of a limit on a day's water in a cubic metre, by the worst day's figure and the most that came on a day.
fn per_m3(plan: &LimitPlan, series: &[DailySeries], worst: f64) -> Option<f64> {
    if plan.limit.subject != Subject::Water || !plan.limit.statistic.is_of_single_days() {
        return None;
    }
    let on = |date: NaiveDate| series.iter().filter_map(|series| series.on(date)).map(|(m3, _)| m3).sum::<f64>();
    let most = plan.span.0.iter_days().take_while(|date| *date <= plan.span.1).map(on).fold(0.0, f64::max);
    (most > 0.0).then(|| worst / most)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_middle_that_is_an_end_is_not_told_twice() {
        let of = |low, middle, high| with_range(low, middle, high, "mg/L");
        assert_eq!(of("5.2", "7.0", "12.1"), "7.0 mg/L (5.2 to 12.1)");
        assert_eq!(of("7.0", "7.0", "12.1"), "7.0 mg/L (up to 12.1)");
        assert_eq!(of("7.0", "12.1", "12.1"), "12.1 mg/L (down to 7.0)");
        assert_eq!(of("7.0", "7.0", "7.0"), "7.0 mg/L");
    }
}

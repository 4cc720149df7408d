//! How an option's limits would come out: computed for every option, so never more than predicted.

use crate::balance::{Basis, DailySeries, Run};
use crate::compare::figures::plain;
use crate::compare::runs::Shared;
use crate::compare::{Alternative, Cell};
use crate::rules;
use crate::rules::{Drawn, Finding, LimitPlan, Outcome, Subject};

/// A limit's prediction.
#[derive(Debug, Clone, PartialEq)]
pub struct Predicted {
    /// Its name.
    pub name: String,
    /// Its bound as printed.
    pub bound: String,
    /// Predicted within, predicted outside or undecided; none where nothing is computed for it.
    pub outcome: Option<Outcome>,
    /// The share of draws outside.
    pub share_outside: Option<f64>,
    /// The worst figure with its range, in the limit's unit; why there is none, where nothing is computed.
    pub figure: String,
}

/// By how much larger a share of the draws an option is outside of a limit for it to be worse by it (common practice, no source).
const CLEARLY: f64 = 0.05;

/// A limit by which an option comes out worse than another.
#[derive(Debug, Clone, PartialEq)]
pub struct Worse {
    /// Its prediction with the option.
    pub with: Predicted,
    /// How the other comes out.
    pub was: Option<Outcome>,
    /// The share of the other's draws outside.
    pub was_outside: Option<f64>,
}

impl Worse {
    /// Whether it is predicted outside, and the other is not.
    pub fn is_outside(&self) -> bool {
        self.with.outcome == Some(Outcome::PredictedOutside)
    }
}

/// Limits by which an option comes out worse than another: it is predicted outside of one and the other is not, or it is outside in clearly
/// more of the draws. Those that are predicted outside come first.
pub fn worse(of: &[Predicted], than: &[Predicted]) -> Vec<Worse> {
    let mut out: Vec<Worse> = of
        .iter()
        .filter_map(|with| {
            let other = than.iter().find(|other| other.name == with.name);
            let (was, was_outside) = (other.and_then(|of| of.outcome), other.and_then(|of| of.share_outside));
            let outside = with.outcome == Some(Outcome::PredictedOutside) && was != Some(Outcome::PredictedOutside);
            let oftener = with.share_outside? - was_outside.unwrap_or(0.0) > CLEARLY;
            (outside || oftener).then(|| Worse { with: with.clone(), was, was_outside })
        })
        .collect();
    out.sort_by_key(|of| !of.is_outside());
    out
}

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
    let findings: Vec<Finding> = rules::judge(&rules::Case {
        facility: &of.facility,
        rules,
        timeline: shared.timeline,
        weather: Some(shared.weather),
        ledger: Some(&run.ledger),
        period: shared.period,
        as_of: shared.period.1,
        predict: &of_plan,
    });
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
                figure: "nothing flows".to_owned(),
            }),
            _ => Err("nothing flows in the computation"),
        };
    }
    let low = worst.values.iter().copied().fold(f64::INFINITY, f64::min);
    let high = worst.values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
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
    let (low, middle, high) = (round(low), round(at), round(high));
    let unit = match (is_days, middle.as_str()) {
        (true, "1") => "day",
        (true, _) => "days",
        (false, _) => plan.limit.bound.unit_text.as_str(),
    };
    let figure = if low == high { format!("{middle} {unit}") } else { format!("{middle} {unit} ({low} to {high})") };
    Ok(Predicted {
        name: plan.limit.name.clone(),
        bound: plan.limit.bound.text.clone(),
        outcome: Some(outcome),
        share_outside: Some(share),
        figure: figure.trim().to_owned(),
    })
}

//! What the ledger computes of a limit that has no records: predicted, never shown.

use std::collections::BTreeSet;

use chrono::NaiveDate;

use crate::balance::{Basis, Ledger, Node, Selector, Watch};
use crate::rules::judge::case::Case;
use crate::rules::judge::evaluate::runs_text;
use crate::rules::judge::no_discharge::day_count;
use crate::rules::judge::text;
use crate::rules::measure::points::places;
use crate::rules::measure::typed_rate::{rate_text, typed_rate};
use crate::rules::window::decide::{Side, side};
use crate::rules::window::windows::days_label;
use crate::rules::{Drawn, Finding, Interval, Limit, LimitPlan, Missing, Number, Outcome, StripData, Subject};

/// Whether something the plan's series depend on is not known in the days judged.
fn depends_on_unknown(plan: &LimitPlan, ledger: &Ledger) -> bool {
    plan.series(ledger).iter().any(|series| {
        series.basis.iter().enumerate().any(|(day, basis)| {
            let date = series.date(day);
            plan.span.0 <= date && date <= plan.span.1 && basis.has(Basis::UNKNOWN)
        })
    })
}

/// Less than half a gallon in a day is rounding, and no water that anybody would see, m³.
const NOTHING_M3: f64 = 0.0019;
/// Most runs of days named in a sentence.
const MOST_RUNS: usize = 3;

const UNKNOWN: &str = "The ledger works it out from something that is not known, so no figure is shown.";

/// Days on which water was seen to leave at the limit's point or was sampled there, and those of them on which the ledger moves none there.
fn seen_flowing(limit: &Limit, plan: &LimitPlan, ledger: &Ledger, case: &Case<'_>) -> (usize, Vec<NaiveDate>) {
    let (mut seen, mut without) = (BTreeSet::new(), BTreeSet::new());
    for place in places(&limit.at) {
        let water = ledger.series(&Watch::Water(Selector::to(Node::Place(place))));
        let looks = case.timeline.looks.iter().filter(|look| look.at == place && look.flowing).map(|look| look.day);
        let samples = case.timeline.samples.iter().filter(|sample| sample.at == place && sample.value.is_some());
        for day in looks.chain(samples.map(|sample| sample.day)) {
            if plan.span.0 <= day && day <= plan.span.1 {
                seen.insert(day);
                if water.on(day).is_none_or(|(m3, _)| m3 < NOTHING_M3) {
                    without.insert(day);
                }
            }
        }
    }
    (seen.len(), without.into_iter().collect())
}

/// A limit without any record of its own: what every draw says.
pub(crate) fn predicted(finding: &mut Finding, limit: &Limit, plan: Option<&LimitPlan>, case: &Case<'_>) {
    if limit.subject == Subject::Rate {
        typed(finding, limit, case);
        return;
    }
    let (Some(plan), Some(ledger)) = (plan, case.ledger) else {
        return;
    };
    if depends_on_unknown(plan, ledger) {
        finding.sentences.insert(0, UNKNOWN.to_owned());
        finding.missing.push(Missing {
            of: None,
            paper: None,
            sentence: UNKNOWN.to_owned(),
            would_show: Some("A record of it, or the value that is not known.".to_owned()),
        });
        return;
    }
    let middle = plan.drawn(&plan.series(ledger));
    if middle.worst.is_none() {
        return;
    }
    let draws = (case.predict)(plan);
    let (outcome, share) = agreed(&middle, &draws);
    let (seen, without) = seen_flowing(limit, plan, ledger, case);
    // Looks stand above a computation: one that misses most of the days seen flowing shows nothing.
    // Where the most is limited, more water than the ledger has leaves what is outside outside.
    let stands = outcome == Outcome::PredictedOutside && limit.bound.upper().is_some();
    if without.len() * 2 > seen && !stands {
        let days = runs_text(&without, MOST_RUNS);
        let sentence = format!(
            "Seen flowing or sampled on {}, though the ledger moves no water on {}: {days}.",
            day_count(seen),
            if without.len() == seen { "any of them".to_owned() } else { without.len().to_string() },
        );
        finding.sentences.insert(0, sentence);
        finding.missing.clear();
        finding.missing.push(Missing {
            of: None,
            paper: None,
            sentence: "Seen flowing or sampled when the ledger moves no water: what left is not known.".to_owned(),
            would_show: Some("A meter, or what was estimated on those days.".to_owned()),
        });
        return;
    }
    finding.outcome = outcome;
    finding.share_outside = share;
    finding.missing.clear();
    finding.windows.clear();
    let figures: Vec<f64> = draws.iter().filter_map(|drawn| drawn.worst).chain(middle.worst).collect();
    let low = figures.iter().copied().fold(f64::INFINITY, f64::min);
    let high = figures.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let is_days = limit.subject == Subject::Discharge;
    let mut figure = text::computed(middle.worst, low, high, &limit.bound);
    if is_days {
        "days".clone_into(&mut figure.unit);
        figure.text = if (high - low).abs() < 0.5 {
            day_count(low.max(0.0) as usize)
        } else {
            format!("{low:.0} to {high:.0} days")
        };
    }
    finding.worst_when = middle.when.map(|(from, to)| days_label(from, to));
    let number = middle.worst.map(Number::computed);
    if let Some((value, words, size)) =
        number.and_then(|number| text::margin_of(number, &limit.bound)).filter(|_| !is_days)
    {
        finding.margin = Some(words);
        finding.margin_size = size;
        finding.margin_value = Some(value);
    }
    let upper = limit.bound.upper().map(|(bound, _)| bound.to_f64());
    let lower = limit.bound.lower().map(|(bound, _)| bound.to_f64());
    if let (Some(bound), Some(worst), false) = (upper.or(lower), middle.worst, is_days) {
        finding.strip = Some(StripData { limit: bound, worst, low, high, is_minimum: upper.is_none() });
    }
    finding.figure = Some(figure);
    finding.how_many = if matches!(limit.subject, Subject::Water | Subject::Discharge) {
        "no meter".to_owned()
    } else {
        "no sample".to_owned()
    };
    let drawn = if draws.is_empty() {
        "one run in the middle of every range".to_owned()
    } else {
        format!("{} draws", draws.len())
    };
    let what = match outcome {
        Outcome::PredictedWithin => "within the limit in each".to_owned(),
        Outcome::PredictedOutside => "outside the limit in each".to_owned(),
        _ => match share {
            Some(share) => format!(
                "outside the limit in {} % of them",
                Number::computed(share * 100.0).settled().to_significant(2, crate::rules::Tie::HalfUp).honest(1)
            ),
            None => "not decided".to_owned(),
        },
    };
    finding.sentences.insert(
        0,
        format!("No record of this is on file. It is worked out by the ledger ({drawn}): {what}. A computed figure is no proof."),
    );
    if outcome == Outcome::PredictedOutside
        && let Some(words) = windows_outside(&middle, limit)
    {
        finding.sentences.push(words);
    }
    if !without.is_empty() {
        finding.sentences.push(format!(
            "Seen flowing or sampled, though the ledger moves no water: {}. What left then is in no figure here.",
            runs_text(&without, MOST_RUNS)
        ));
    }
    if limit.estimate_accepted {
        finding.sentences.push(
            "The permit, as typed, accepts an estimate; whether this is one is for the authority to say.".to_owned(),
        );
    }
}

/// On how many days, or in how many windows, the middle run is outside; none where it has one window alone.
fn windows_outside(middle: &Drawn, limit: &Limit) -> Option<String> {
    let outside = |value: f64| {
        let value = Interval::exactly(Number::computed(value));
        matches!(side(&value, &limit.bound, crate::rules::Rounding::Not, false), Side::Over | Side::Under)
    };
    let count = middle.windows.iter().filter(|(_, value)| outside(*value)).count();
    let by_day = middle.windows.iter().all(|((from, to), _)| from == to);
    let all = middle.windows.len();
    (all > 1 && count > 0).then(|| match by_day {
        true => {
            format!("Computed outside on {}, with each assumed value in the middle of its range.", day_count(count))
        }
        false => {
            format!("Computed outside in {count} of {all} windows, with each assumed value in the middle of its range.")
        }
    })
}

/// Within or outside only where every draw agrees; else undecided, with the share outside.
fn agreed(middle: &Drawn, draws: &[Drawn]) -> (Outcome, Option<f64>) {
    if draws.is_empty() {
        return match middle.outside {
            Some(true) => (Outcome::Undecided, Some(1.0)),
            Some(false) => (Outcome::Undecided, Some(0.0)),
            None => (Outcome::Undecided, None),
        };
    }
    let outside = draws.iter().filter(|drawn| drawn.outside == Some(true)).count();
    let within = draws.iter().filter(|drawn| drawn.outside == Some(false)).count();
    let share = outside as f64 / draws.len() as f64;
    if within == draws.len() {
        (Outcome::PredictedWithin, Some(0.0))
    } else if outside == draws.len() {
        (Outcome::PredictedOutside, Some(1.0))
    } else {
        (Outcome::Undecided, Some(share))
    }
}

/// A figure beside one that is not shown: the middle run's, never mixed with what was measured.
pub(crate) fn beside(finding: &mut Finding, limit: &Limit, plan: Option<&LimitPlan>, case: &Case<'_>) {
    if limit.subject == Subject::Rate {
        if let Some((rate, lines)) = typed_rate(limit, case.facility) {
            finding.sentences.push(format!(
                "As the facility's file states it: {} ({}, alone and all at once). Typed, beside what was measured, and no proof.",
                rate_text(&rate, &limit.bound),
                lines.join("; ")
            ));
        }
        return;
    }
    let (Some(plan), Some(ledger)) = (plan, case.ledger) else {
        return;
    };
    if matches!(limit.subject, Subject::Discharge) || depends_on_unknown(plan, ledger) {
        return;
    }
    let drawn = plan.drawn(&plan.series(ledger));
    let (Some(worst), Some(outside)) = (drawn.worst, drawn.outside) else {
        return;
    };
    // That a computation stays within would only fill the gap with a pass.
    if outside {
        let figure = text::computed(Some(worst), worst, worst, &limit.bound);
        let when = drawn.when.map_or_else(String::new, |(from, to)| format!(" ({})", days_label(from, to)));
        finding.sentences.push(format!(
            "In the ledger, which takes what was measured where it was, the worst is {}{when}, outside the limit: a \
             computation, and no proof.",
            figure.text,
        ));
        finding.beside = Some((figure, drawn.when.map(|(from, to)| days_label(from, to))));
    }
    for window in &mut finding.windows {
        if window.outcome != Outcome::NotShown {
            continue;
        }
        let computed = drawn.windows.iter().find(|(of, _)| *of == (window.from, window.to));
        if let Some((_, value)) = computed {
            window.arithmetic.push(format!(
                "worked out by the ledger: {}",
                text::computed(Some(*value), *value, *value, &limit.bound).text
            ));
        }
    }
}

/// A rate typed in the facility's file: predicted from it, as nothing else is known.
fn typed(finding: &mut Finding, limit: &Limit, case: &Case<'_>) {
    let Some((rate, lines)) = typed_rate(limit, case.facility) else {
        return;
    };
    // What was counted between two readings ran at its mean or faster at some moment.
    let counted = finding.windows.iter().filter_map(|window| window.figure.as_ref()).map(|figure| figure.low);
    if let Some(counted) = counted.reduce(f64::max).filter(|counted| *counted > rate.high.to_f64()) {
        finding.sentences.push(format!(
            "As the facility's file states it: {}. A meter counted more, {} at some moment at least: no figure is shown.",
            lines.join("; "),
            text::computed(Some(counted), counted, counted, &limit.bound).text
        ));
        return;
    }
    let judge = |number: Number| side(&Interval::exactly(number), &limit.bound, crate::rules::Rounding::Not, false);
    finding.outcome = match (judge(rate.low), judge(rate.high)) {
        (Side::Within, Side::Within) => Outcome::PredictedWithin,
        (Side::Over, _) => Outcome::PredictedOutside,
        _ => Outcome::Undecided,
    };
    finding.worst_when = None;
    let ends = (limit.bound.upper().map(|(bound, _)| bound), limit.bound.lower().map(|(bound, _)| bound));
    let worst = if ends.0.is_some() { rate.high.to_f64() } else { rate.low.to_f64() };
    finding.strip = ends.0.or(ends.1).map(|bound| StripData {
        limit: bound.to_f64(),
        worst,
        low: rate.low.to_f64(),
        high: rate.high.to_f64(),
        is_minimum: ends.0.is_none(),
    });
    finding.sentences.clear();
    finding.missing.clear();
    finding.windows.clear();
    // What a meter counted in a day is no rate.
    finding.evidence.clear();
    let mut figure = text::computed(Some(rate.low.to_f64()), rate.low.to_f64(), rate.high.to_f64(), &limit.bound);
    figure.text = rate_text(&rate, &limit.bound);
    finding.figure = Some(figure);
    let telling = if finding.outcome == Outcome::PredictedOutside { rate.low } else { rate.high };
    if let Some((value, words, size)) = text::margin_of(telling, &limit.bound) {
        finding.margin = Some(words);
        finding.margin_size = size;
        finding.margin_value = Some(value);
    }
    finding.how_many = "no record".to_owned();
    finding.sentences.insert(
        0,
        format!(
            "No rate was read. As the facility's file states it: {}.{} What is typed was not measured, and is no proof.",
            lines.join("; "),
            if lines.len() > 1 { " The rate lies between the largest of them alone and all of them at once." } else { "" }
        ),
    );
    if limit.estimate_accepted {
        finding.sentences.push(
            "The permit, as typed, accepts an estimate; whether this is one is for the authority to say.".to_owned(),
        );
    }
}

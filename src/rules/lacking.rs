//! What is missing for a limit to be shown, and what would show it.

use std::collections::BTreeSet;

use chrono::NaiveDate;

use crate::rules::case::Prepared;
use crate::rules::discharge::Flow;
use crate::rules::duty::DueStretch;
use crate::rules::evaluate::runs_text;
use crate::rules::readings::Reading;
use crate::rules::statistics::Inputs;
use crate::rules::windows::{Window, day_label, each_day};
use crate::rules::{LeastData, Limit, Missing, Subject, Switch};

/// The least data that a limit asks for, in order: what it says, else its sample duty, else every day with a discharge.
pub(crate) fn least(limit: &Limit) -> LeastData {
    match limit.counting.least_data {
        Switch::Is(LeastData::TheSampleDuty) if limit.sample.is_none() => LeastData::EveryDischarge,
        Switch::Is(least) => least,
        Switch::NotSaid if limit.sample.is_some() => LeastData::TheSampleDuty,
        Switch::NotSaid => LeastData::EveryDischarge,
    }
}

/// What a missing stretch of a duty says.
pub(crate) fn lacking_sentence(due: &DueStretch, limit: &Limit) -> Missing {
    let what = match &limit.subject {
        Subject::Stage(_) => "reading",
        _ => "result",
    };
    let because = match due.because {
        Some((day, false)) => format!(" had a discharge ({}) and", day_label(day)),
        Some((day, true)) => format!(
            " had a discharge by our computation ({}) and",
            day_label(day)
        ),
        None => String::new(),
    };
    let found = if due.have == 0 {
        format!("no {what}")
    } else {
        format!("{} of {} {what}s", due.have, due.times)
    };
    Missing {
        sentence: format!("{}{because} has {found} on file.", due.window.label)
            .replace(" and has no", " and no")
            .replace("and has ", "and "),
        would_show: match &limit.subject {
            Subject::Stage(_) => Some("Cannot be made up.".to_owned()),
            _ => Some(
                "A laboratory slip for it, if there is one; else it cannot be made up.".to_owned(),
            ),
        },
    }
}

/// What is missing in a window under the least data that holds.
pub(crate) fn missing_in(
    limit: &Limit,
    inputs: &Inputs<'_>,
    duty: &Option<Vec<DueStretch>>,
    of: &Prepared,
) -> Vec<Missing> {
    let mut out = Vec::new();
    if inputs.amounts {
        let uncovered: Vec<NaiveDate> = inputs
            .uncovered()
            .into_iter()
            .filter(|day| *day <= of.judged_to)
            .collect();
        if !uncovered.is_empty() {
            out.push(uncovered_days(&uncovered));
        }
        if !inputs.complete {
            out.push(not_all_metered());
        }
        return out;
    }
    match least(limit) {
        LeastData::TheSampleDuty => {
            for due in duty.iter().flatten().filter(|due| due.lacks()) {
                if due.window.from <= inputs.window.to && due.window.to >= inputs.window.from {
                    out.push(lacking_sentence(due, limit));
                }
            }
        }
        LeastData::EveryDischarge => {
            let lacking =
                lacking_discharge_days(limit, inputs.window, inputs.readings, of, inputs.holds);
            out.extend(lacking);
        }
        LeastData::Count(count) => {
            if inputs.readings.len() < count as usize {
                out.push(Missing {
                    sentence: format!(
                        "{}: {} of the {count} results that the permit asks for at least.",
                        inputs.window.label,
                        inputs.readings.len()
                    ),
                    would_show: None,
                });
            }
        }
    }
    if matches!(limit.subject, Subject::Removal(..))
        && inputs.entering.is_empty() != inputs.readings.is_empty()
    {
        out.push(Missing {
            sentence: format!(
                "{}: results at one of the two points only.",
                inputs.window.label
            ),
            would_show: None,
        });
    }
    out
}

pub(crate) fn uncovered_days(days: &[NaiveDate]) -> Missing {
    Missing {
        sentence: format!("No meter reading covers {}.", runs_text(days, 3)),
        would_show: Some("A reading that covers them, if one was written down.".to_owned()),
    }
}

pub(crate) fn not_all_metered() -> Missing {
    Missing {
        sentence: "Not every way that carries this water has a meter: what is metered is a part."
            .to_owned(),
        would_show: Some("A meter on each way.".to_owned()),
    }
}

/// Days with a discharge that have no result; for a level, which has no discharge, days without a reading.
pub(crate) fn lacking_discharge_days(
    limit: &Limit,
    window: &Window,
    found: &[&Reading],
    of: &Prepared,
    holds: &dyn Fn(NaiveDate) -> bool,
) -> Option<Missing> {
    let covered: BTreeSet<NaiveDate> = found
        .iter()
        .flat_map(|reading| each_day(reading.first, reading.last))
        .collect();
    let is_due = |day: NaiveDate| match limit.subject {
        Subject::Stage(_) => true,
        Subject::Hours => of.days.on(day) != Flow::Dry,
        _ => matches!(of.days.on(day), Flow::Flowing | Flow::Computed),
    };
    let lacking: Vec<NaiveDate> = each_day(window.from, window.to.min(of.judged_to))
        .filter(|day| holds(*day) && is_due(*day) && !covered.contains(day))
        .collect();
    if lacking.is_empty() {
        return None;
    }
    let computed = lacking.iter().all(|day| of.days.on(*day) == Flow::Computed);
    let what = match limit.subject {
        Subject::Stage(_) => "no reading on file",
        Subject::Hours => "no record of its hours",
        _ if computed => "a discharge by our computation and no result on file",
        _ => "a discharge and no result on file",
    };
    let verb = if matches!(limit.subject, Subject::Stage(_)) {
        "has"
    } else {
        "had"
    };
    Some(Missing {
        sentence: format!("{} {verb} {what}.", runs_text(&lacking, 3)),
        would_show: Some(
            "A slip of those days, if there is one; else it cannot be made up.".to_owned(),
        ),
    })
}

pub(crate) fn needed_in(
    limit: &Limit,
    window: &Window,
    duty: &Option<Vec<DueStretch>>,
) -> Option<usize> {
    match (least(limit), duty) {
        (LeastData::Count(count), _) => Some(count as usize),
        (LeastData::TheSampleDuty, Some(duty)) => Some(
            duty.iter()
                .filter(|due| window.contains(due.window.to))
                .map(|due| due.times as usize)
                .sum(),
        ),
        _ => None,
    }
}

//! A limit held against records, window by window, under one way to count.

use std::collections::BTreeSet;

use chrono::NaiveDate;

use crate::rules::case::{Case, Prepared};
use crate::rules::decide::{Side, side};
use crate::rules::discharge::Flow;
use crate::rules::duty::{DueStretch, DutyInputs, due, stretch_words};
use crate::rules::plan::calendar;
use crate::rules::readings::{self, Reading, by_day, measured, samples};
use crate::rules::statistics::{Inputs, Shape};
use crate::rules::text;
use crate::rules::windows::{Window, WindowKind, after, day_label, days_label, each_day, windows};
use crate::rules::{
    Bound, Counted, Interval, LeastData, Limit, Missing, Number, Outcome, Subject, Switch,
    WindowFinding, conditions,
};

/// One window judged, with its figure as numbers beside the finding.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Judgement {
    /// The window's finding.
    pub finding: WindowFinding,
    /// Its figure.
    pub value: Option<Interval>,
    /// What it was held against, where that is not the bound.
    pub against: Option<Number>,
    /// The day on which all of it was known.
    pub known_on: Option<NaiveDate>,
}

/// A limit judged under one way to count.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Judged {
    /// Windows in order of time.
    pub windows: Vec<Judgement>,
    /// How many readings there were.
    pub readings: usize,
    /// Of amounts: how many covered more than a day.
    pub long: usize,
    /// Stretches in which a sample was due: on file, and due.
    pub stretches: Option<(usize, usize)>,
    /// What is missing that belongs to no window.
    pub missing: Vec<Missing>,
    /// Sentences for the finding.
    pub notes: Vec<String>,
}

impl Judged {
    /// The outcome over the period: exceeded outranks not shown outranks met.
    pub fn outcome(&self) -> Outcome {
        let worst = self
            .windows
            .iter()
            .map(|window| window.finding.outcome)
            .min();
        match worst {
            Some(outcome) if outcome.is_exceeded() => outcome,
            _ if !self.missing.is_empty() => Outcome::NotShown,
            Some(Outcome::NoDischarge | Outcome::NotInForce) | None => {
                worst.unwrap_or(Outcome::NotShown)
            }
            Some(outcome) => outcome,
        }
    }
}

/// Days joined into runs for print: `3 Mar 2025, 5-8 Mar 2025`, shortened after `most` runs.
pub(crate) fn runs(days: &[NaiveDate]) -> Vec<(NaiveDate, NaiveDate)> {
    let mut out: Vec<(NaiveDate, NaiveDate)> = Vec::new();
    for day in days {
        match out.last_mut() {
            Some((_, to)) if after(*to) == *day => *to = *day,
            _ => out.push((*day, *day)),
        }
    }
    out
}

pub(crate) fn runs_text(days: &[NaiveDate], most: usize) -> String {
    let runs = runs(days);
    let mut text: Vec<String> = runs
        .iter()
        .take(most)
        .map(|(from, to)| days_label(*from, *to))
        .collect();
    if runs.len() > most {
        text.push(format!("{} more", runs.len() - most));
    }
    text.join(", ")
}

/// Holds a limit against the records.
pub(crate) fn evaluate(limit: &Limit, counted: &Counted, case: &Case<'_>, of: &Prepared) -> Judged {
    let holds = |day: NaiveDate| limit.holds.on(day) && condition(limit, day, case) != Some(false);
    let mut found = measured(limit, counted, case.facility, case.timeline, &of.meters);
    let mut entering: Vec<Reading> = Vec::new();
    if let Subject::Removal(parameter, first) = &limit.subject {
        let unit = Some(crate::quantity::units::KG_M3);
        let at = readings_places(limit);
        found.readings = by_day(
            samples(
                limit,
                parameter,
                &at,
                unit.as_ref(),
                case.timeline,
                &mut found.refused,
            ),
            counted.several,
        );
        entering = by_day(
            samples(
                limit,
                parameter,
                &[*first],
                unit.as_ref(),
                case.timeline,
                &mut found.refused,
            ),
            counted.several,
        );
    }
    let calendar = calendar(case.rules, counted);
    let earliest = of.earliest;
    let windows = windows(
        limit.statistic.window,
        of.span,
        limit.days,
        &limit.holds.seasons,
        earliest,
        &calendar,
    );
    let widest = windows
        .iter()
        .map(|window| window.from)
        .min()
        .unwrap_or(of.span.0)
        .min(of.span.0);
    let last = windows
        .iter()
        .map(|window| window.to)
        .max()
        .unwrap_or(of.span.1)
        .max(of.span.1);
    let held: Vec<&Reading> = found
        .readings
        .iter()
        .filter(|reading| reading.last >= widest && reading.first <= last)
        .filter(|reading| each_day(reading.first, reading.last).any(&holds))
        .collect();
    let entering: Vec<&Reading> = entering
        .iter()
        .filter(|reading| holds(reading.first))
        .collect();
    let mut out = Judged {
        readings: held
            .iter()
            .filter(|reading| reading.last >= of.span.0 && reading.first <= of.span.1)
            .count(),
        long: held.iter().filter(|reading| reading.days() > 1).count(),
        notes: found.notes.clone(),
        ..Judged::default()
    };
    let duty = stretches_due(limit, &held, &holds, case, of, calendar);
    if let Some(duty) = &duty {
        let ended: Vec<&DueStretch> = duty.iter().filter(|due| due.ended).collect();
        out.stretches = Some((ended.iter().filter(|due| !due.lacks()).count(), ended.len()));
    }
    let flow = |day: NaiveDate| -> Option<Number> {
        let touching: Vec<&Reading> = of
            .volumes
            .iter()
            .filter(|volume| volume.covers(day))
            .collect();
        if touching.is_empty()
            || !of.meters.complete
            || touching.iter().any(|volume| volume.days() > 1)
        {
            return None;
        }
        Some(
            touching
                .iter()
                .fold(Number::ZERO, |sum, volume| sum.plus(volume.value.low)),
        )
    };
    match limit.statistic.shape {
        Shape::Each => each(limit, counted, &found, &held, &duty, of, &holds, &mut out),
        Shape::Window(fold) => {
            for window in &windows {
                if !each_day(window.from, window.to).any(&holds) {
                    continue;
                }
                let inside: Vec<&Reading> = held
                    .iter()
                    .filter(|reading| reading.last >= window.from && reading.first <= window.to)
                    .copied()
                    .collect();
                let entered: Vec<&Reading> = entering
                    .iter()
                    .filter(|reading| window.contains(reading.first))
                    .copied()
                    .collect();
                let inputs = Inputs {
                    window,
                    holds: &holds,
                    readings: &inside,
                    entering: &entered,
                    amounts: found.amounts,
                    complete: found.complete,
                    every_day: false,
                    counted,
                    days: &of.days,
                    flow: &flow,
                    bound: limit.bound.upper().map(|(bound, _)| bound),
                    allowance: &limit.allowance,
                    unit: &limit.bound.unit_text,
                    written: true,
                };
                let missing = missing_in(limit, &inputs, &duty, of);
                let needed = needed_in(limit, window, &duty);
                let Some(folded) = fold(&inputs) else {
                    if let Some(judgement) = nothing_in(limit, window, missing, needed, of, &holds)
                    {
                        out.windows.push(judgement);
                    }
                    continue;
                };
                let evidence = inside
                    .iter()
                    .flat_map(|reading| reading.evidence.clone())
                    .collect::<Vec<_>>();
                let known_on = inside
                    .iter()
                    .map(|reading| reading.known_on)
                    .max()
                    .map(|day| day.max(window.to));
                let mut judgement = decided(
                    limit,
                    counted,
                    window.clone(),
                    folded.value,
                    folded.against,
                    missing,
                );
                judgement.finding.n = folded.n;
                judgement.finding.needed = needed;
                judgement.finding.arithmetic.splice(0..0, folded.arithmetic);
                judgement.finding.evidence = evidence;
                judgement.known_on = known_on;
                if let Some(lacking) = folded.lacking {
                    judgement.finding.missing.push(Missing {
                        sentence: lacking,
                        would_show: None,
                    });
                    if judgement.finding.outcome == Outcome::Met {
                        judgement.finding.outcome = Outcome::NotShown;
                    }
                }
                out.windows.push(judgement);
            }
            if limit.statistic.window == WindowKind::Rolling
                || limit.statistic.window == WindowKind::TwelveMonths
            {
                out.notes.push(format!(
                    "Windows that begin before {} can't be evaluated: {} full windows are.",
                    day_label(earliest),
                    windows.len()
                ));
            }
        }
        Shape::ByItself => {}
    }
    unknown_tiers(limit, case, &mut out);
    out.missing.extend(found.refused.into_iter().take(20));
    // What was refused is told, and makes the outcome not shown only through the duty or a window it leaves open.
    let told = std::mem::take(&mut out.missing);
    out.notes
        .extend(told.into_iter().map(|missing| missing.sentence));
    out.windows
        .sort_by_key(|judgement| (judgement.finding.from, judgement.finding.to));
    out
}

fn readings_places(limit: &Limit) -> Vec<crate::facility::model::PlaceId> {
    crate::rules::points::places(&limit.at)
}

fn condition(limit: &Limit, day: NaiveDate, case: &Case<'_>) -> Option<bool> {
    if limit.only_when.is_empty() {
        return Some(true);
    }
    conditions::hold(&limit.only_when, day, case.timeline, case.weather)
}

/// A window over a limit on a day whose tier is not known is not shown: the limit may not have held.
fn unknown_tiers(limit: &Limit, case: &Case<'_>, out: &mut Judged) {
    if limit.only_when.is_empty() {
        return;
    }
    for judgement in &mut out.windows {
        let unknown: Vec<NaiveDate> = each_day(judgement.finding.from, judgement.finding.to)
            .filter(|day| limit.holds.on(*day) && condition(limit, *day, case).is_none())
            .collect();
        if !unknown.is_empty() && judgement.finding.outcome.is_exceeded() {
            judgement.finding.outcome = Outcome::NotShown;
            judgement.finding.missing.push(Missing {
                sentence: format!(
                    "Whether {} is not on file for {}, so it is not known whether the limit held.",
                    limit
                        .only_when
                        .iter()
                        .map(|of| of.text.as_str())
                        .collect::<Vec<_>>()
                        .join(" and "),
                    runs_text(&unknown, 3)
                ),
                would_show: Some("The gauge's record of those days.".to_owned()),
            });
        }
    }
}

/// The least data that a limit asks for, in order: what it says, else its sample duty, else every day with a discharge.
fn least(limit: &Limit) -> LeastData {
    match limit.counting.least_data {
        Switch::Is(LeastData::TheSampleDuty) if limit.sample.is_none() => LeastData::EveryDischarge,
        Switch::Is(least) => least,
        Switch::NotSaid if limit.sample.is_some() => LeastData::TheSampleDuty,
        Switch::NotSaid => LeastData::EveryDischarge,
    }
}

pub(crate) fn stretches_due(
    limit: &Limit,
    held: &[&Reading],
    holds: &dyn Fn(NaiveDate) -> bool,
    case: &Case<'_>,
    of: &Prepared,
    calendar: crate::rules::windows::Calendar,
) -> Option<Vec<DueStretch>> {
    let duty = limit.sample.as_ref()?;
    let on_file: Vec<NaiveDate> = held.iter().map(|reading| reading.last).collect();
    let has_days = !matches!(limit.subject, Subject::Stage(_));
    Some(due(&DutyInputs {
        how_often: duty.how_often,
        span: of.span,
        on_file: &on_file,
        days: has_days.then_some(&of.days),
        holds,
        as_of: case.as_of,
        calendar,
    }))
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
fn missing_in(
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

fn uncovered_days(days: &[NaiveDate]) -> Missing {
    Missing {
        sentence: format!("No meter reading covers {}.", runs_text(days, 3)),
        would_show: Some("A reading that covers them, if one was written down.".to_owned()),
    }
}

fn not_all_metered() -> Missing {
    Missing {
        sentence: "Not every way that carries this water has a meter: what is metered is a part."
            .to_owned(),
        would_show: Some("A meter on each way.".to_owned()),
    }
}

/// Days with a discharge that have no result; for a level, which has no discharge, days without a reading.
fn lacking_discharge_days(
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

fn needed_in(limit: &Limit, window: &Window, duty: &Option<Vec<DueStretch>>) -> Option<usize> {
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

/// A window without any reading: no discharge where that is shown, not shown where something was due, else passed over.
fn nothing_in(
    limit: &Limit,
    window: &Window,
    missing: Vec<Missing>,
    needed: Option<usize>,
    of: &Prepared,
    holds: &dyn Fn(NaiveDate) -> bool,
) -> Option<Judgement> {
    let is_level = matches!(limit.subject, Subject::Stage(_));
    let dry = !is_level
        && each_day(window.from, window.to)
            .filter(|day| holds(*day))
            .all(|day| of.days.on(day) == Flow::Dry);
    let outcome = if dry {
        Outcome::NoDischarge
    } else if !missing.is_empty() {
        Outcome::NotShown
    } else {
        return None;
    };
    Some(Judgement {
        finding: WindowFinding {
            label: window.label.clone(),
            from: window.from,
            to: window.to,
            outcome,
            figure: None,
            n: 0,
            needed,
            arithmetic: Vec::new(),
            evidence: Vec::new(),
            missing: if dry { Vec::new() } else { missing },
        },
        value: None,
        against: None,
        known_on: None,
    })
}

/// A figure held against the bound.
fn decided(
    limit: &Limit,
    counted: &Counted,
    window: Window,
    value: Interval,
    against: Option<Number>,
    missing: Vec<Missing>,
) -> Judgement {
    let bound = match against {
        Some(allowed) => Bound::plain(Some(allowed), None),
        None => limit.bound.clone(),
    };
    let side_of = side(
        &value,
        &bound,
        counted.rounding,
        limit.statistic.substitutes,
    );
    let outcome = side_of.outcome(&bound, missing.is_empty());
    let mut arithmetic = Vec::new();
    if counted.rounding != crate::rules::Rounding::Not {
        let rounded = Interval {
            low: value.low.rounded(counted.rounding),
            high: value.high.rounded(counted.rounding),
            counted: value
                .counted
                .map(|counted_as| counted_as.rounded(counted.rounding)),
        };
        if rounded != value {
            arithmetic.push(format!(
                "{}: {}",
                crate::rules::counting::rounding_words(counted.rounding),
                text::figure(&rounded, &limit.bound, false)
            ));
        }
    }
    if side_of == Side::Open
        && limit.statistic.substitutes
        && limit.counting.below_detection == Switch::NotSaid
    {
        let at = |number: Number| {
            let side = side(&Interval::exactly(number), &bound, counted.rounding, true);
            format!(
                "{} ({})",
                text::figure(&Interval::exactly(number), &limit.bound, false),
                side.outcome(&bound, true)
            )
        };
        if value.high.is_finite() {
            arithmetic.push(format!(
                "Results below detection counted as zero: {}; at the detection limit: {}. The permit does not say which.",
                at(value.low),
                at(value.high)
            ));
        }
    }
    Judgement {
        finding: WindowFinding {
            label: window.label,
            from: window.from,
            to: window.to,
            outcome,
            figure: Some(text::figure_of(&value, &limit.bound, false)),
            n: 0,
            needed: None,
            arithmetic,
            evidence: Vec::new(),
            missing,
        },
        value: Some(value),
        against,
        known_on: None,
    }
}

/// Each reading on its own, and what was due and is not on file.
#[allow(clippy::too_many_arguments)]
fn each(
    limit: &Limit,
    counted: &Counted,
    found: &readings::Measured,
    held: &[&Reading],
    duty: &Option<Vec<DueStretch>>,
    of: &Prepared,
    holds: &dyn Fn(NaiveDate) -> bool,
    out: &mut Judged,
) {
    let inside = |reading: &&&Reading| reading.last >= of.span.0 && reading.first <= of.span.1;
    let window = Window::new(of.span.0, of.span.1);
    if found.amounts {
        amounts_each(limit, counted, found, held, of, holds, out);
        return;
    }
    for reading in held.iter().filter(inside) {
        let label = Window::new(reading.first, reading.last);
        let missing = if matches!(limit.subject, Subject::Rate) && !reading.value.high.is_finite() {
            vec![Missing {
                sentence: format!("{}: a meter's total shows only its mean rate.", label.label),
                would_show: Some("A reading of the rate itself, or a record of minutes and volume of each event.".to_owned()),
            }]
        } else {
            Vec::new()
        };
        let mut judgement = decided(limit, counted, label, reading.value, None, missing);
        if let Some(figure) = &mut judgement.finding.figure {
            *figure = text::figure_of(&reading.value, &limit.bound, reading.censored);
        }
        judgement.finding.n = 1;
        if !reading.text.is_empty() {
            judgement.finding.arithmetic.insert(0, reading.text.clone());
        }
        judgement.finding.evidence.clone_from(&reading.evidence);
        judgement.known_on = Some(reading.known_on);
        if judgement.finding.outcome == Outcome::NotShown && judgement.finding.missing.is_empty() {
            judgement.finding.missing.push(Missing {
                sentence: format!(
                    "{}: {} does not tell on which side of the limit it is.",
                    judgement.finding.label,
                    judgement
                        .finding
                        .figure
                        .as_ref()
                        .map(|figure| figure.text.clone())
                        .unwrap_or_default()
                ),
                would_show: Some("A method with a detection limit below the limit.".to_owned()),
            });
        }
        out.windows.push(judgement);
    }
    let readings: Vec<&Reading> = held.iter().filter(inside).copied().collect();
    match least(limit) {
        LeastData::TheSampleDuty => {
            for due in duty.iter().flatten().filter(|due| due.lacks()) {
                out.windows
                    .push(not_on_file(&due.window, lacking_sentence(due, limit)));
            }
        }
        LeastData::EveryDischarge => {
            if let Some(missing) = lacking_discharge_days(limit, &window, &readings, of, holds) {
                out.windows.push(not_on_file(&window, missing));
            }
        }
        LeastData::Count(count) if readings.len() < count as usize => {
            out.windows.push(not_on_file(
                &window,
                Missing {
                    sentence: format!(
                        "{} of the {count} results that the permit asks for at least.",
                        readings.len()
                    ),
                    would_show: None,
                },
            ));
        }
        LeastData::Count(_) => {}
    }
    nothing_at_all(limit, of, holds, out);
}

/// Where there is no window at all: no discharge if every day is shown dry, else what would be needed to show it.
fn nothing_at_all(
    limit: &Limit,
    of: &Prepared,
    holds: &dyn Fn(NaiveDate) -> bool,
    out: &mut Judged,
) {
    if !out.windows.is_empty() {
        return;
    }
    let window = Window::new(of.span.0, of.span.1.min(of.judged_to));
    let days: Vec<NaiveDate> = each_day(window.from, window.to)
        .filter(|day| holds(*day))
        .collect();
    let is_level = matches!(limit.subject, Subject::Stage(_));
    if !is_level && !days.is_empty() && days.iter().all(|day| of.days.on(*day) == Flow::Dry) {
        let mut judgement = not_on_file(
            &window,
            Missing {
                sentence: String::new(),
                would_show: None,
            },
        );
        judgement.finding.outcome = Outcome::NoDischarge;
        judgement.finding.missing.clear();
        out.windows.push(judgement);
        return;
    }
    let open = days
        .iter()
        .filter(|day| of.days.on(**day) == Flow::NotKnown)
        .count();
    let sentence = if is_level {
        "No reading is on file.".to_owned()
    } else {
        format!(
            "No result is on file, and {open} of {} days are not shown dry.",
            days.len()
        )
    };
    out.windows.push(not_on_file(
        &window,
        Missing {
            sentence,
            would_show: None,
        },
    ));
}

fn not_on_file(window: &Window, missing: Missing) -> Judgement {
    Judgement {
        finding: WindowFinding {
            label: window.label.clone(),
            from: window.from,
            to: window.to,
            outcome: Outcome::NotShown,
            figure: None,
            n: 0,
            needed: None,
            arithmetic: Vec::new(),
            evidence: Vec::new(),
            missing: vec![missing],
        },
        value: None,
        against: None,
        known_on: None,
    }
}

/// Amounts under a limit for a day: a reading of one day is that day's; of a longer one, some day had its even share at
/// least and no day had more than the whole of it (with what other readings touch that day).
fn amounts_each(
    limit: &Limit,
    counted: &Counted,
    found: &readings::Measured,
    held: &[&Reading],
    of: &Prepared,
    holds: &dyn Fn(NaiveDate) -> bool,
    out: &mut Judged,
) {
    let most_on = |day: NaiveDate| {
        held.iter()
            .filter(|reading| reading.covers(day))
            .fold(Number::ZERO, |sum, reading| sum.plus(reading.value.high))
    };
    let open_end = |value: Number| {
        if found.complete {
            value
        } else {
            Number::INFINITE
        }
    };
    let mut singles: Vec<NaiveDate> = held
        .iter()
        .filter(|reading| reading.days() == 1)
        .map(|reading| reading.first)
        .collect();
    singles.dedup();
    let missing = || {
        if found.complete {
            Vec::new()
        } else {
            vec![not_all_metered()]
        }
    };
    for day in singles
        .into_iter()
        .filter(|day| of.span.0 <= *day && *day <= of.span.1 && holds(*day))
    {
        let on: Vec<&&Reading> = held
            .iter()
            .filter(|reading| reading.days() == 1 && reading.first == day)
            .collect();
        let sum = on
            .iter()
            .fold(Number::ZERO, |sum, reading| sum.plus(reading.value.low));
        let value = Interval::between(sum, open_end(most_on(day)));
        let mut judgement = decided(
            limit,
            counted,
            Window::new(day, day),
            value,
            None,
            missing(),
        );
        judgement.finding.n = on.len();
        judgement
            .finding
            .arithmetic
            .splice(0..0, on.iter().map(|reading| reading.text.clone()));
        judgement.finding.evidence = on
            .iter()
            .flat_map(|reading| reading.evidence.clone())
            .collect();
        judgement.known_on = on.iter().map(|reading| reading.known_on).max();
        out.windows.push(judgement);
    }
    let long = held.iter().filter(|reading| reading.days() > 1);
    for reading in long.filter(|reading| reading.last >= of.span.0 && reading.first <= of.span.1) {
        let days: Vec<NaiveDate> = each_day(reading.first, reading.last)
            .filter(|day| holds(*day))
            .collect();
        let share = reading
            .value
            .low
            .over(Number::count(reading.days()))
            .unwrap_or(Number::ZERO);
        let most = days
            .iter()
            .map(|day| most_on(*day))
            .fold(Number::ZERO, Number::or_more);
        let whole =
            days.len() == reading.days() && reading.first >= of.span.0 && reading.last <= of.span.1;
        let least_bound_only = limit.bound.upper().is_none();
        let value = if least_bound_only {
            // Some day had the even share at most; no day need have had anything.
            Interval::between(
                Number::ZERO,
                reading
                    .value
                    .high
                    .over(Number::count(reading.days()))
                    .unwrap_or(most),
            )
        } else {
            Interval::between(if whole { share } else { Number::ZERO }, open_end(most))
        };
        let mut judgement = decided(
            limit,
            counted,
            Window::new(reading.first, reading.last),
            value,
            None,
            missing(),
        );
        judgement.finding.n = 1;
        judgement.finding.arithmetic.insert(0, reading.text.clone());
        judgement.finding.arithmetic.insert(
            1,
            format!(
                "over {} days: some day had {} or more, and no day more than {}",
                reading.days(),
                share.honest(1),
                if most.is_finite() {
                    most.honest(1)
                } else {
                    "is not known".to_owned()
                }
            ),
        );
        judgement.finding.evidence.clone_from(&reading.evidence);
        judgement.known_on = Some(reading.known_on);
        if judgement.finding.outcome == Outcome::NotShown && judgement.finding.missing.is_empty() {
            judgement.finding.missing.push(Missing {
                sentence: format!(
                    "{}: one reading covers {} days, and the limit is for one.",
                    judgement.finding.label,
                    reading.days()
                ),
                would_show: Some(format!(
                    "A reading between {} and {} would have settled it.",
                    day_label(reading.first),
                    day_label(reading.last)
                )),
            });
        }
        out.windows.push(judgement);
    }
    let uncovered: Vec<NaiveDate> = each_day(of.span.0, of.span.1.min(of.judged_to))
        .filter(|day| holds(*day) && of.days.on(*day) != Flow::Dry)
        .filter(|day| !held.iter().any(|reading| reading.covers(*day)))
        .collect();
    if !held.is_empty() && !uncovered.is_empty() {
        for (from, to) in runs(&uncovered) {
            let days: Vec<NaiveDate> = each_day(from, to).collect();
            out.windows
                .push(not_on_file(&Window::new(from, to), uncovered_days(&days)));
        }
    }
    nothing_at_all(limit, of, holds, out);
}

/// `5 of 6 months`, `9 samples`.
pub(crate) fn how_many(limit: &Limit, judged: &Judged) -> String {
    if let (Some((have, due)), Some(duty)) = (judged.stretches, &limit.sample)
        && have < due
    {
        return format!("{have} of {due} {}", stretch_words(duty.how_often).1);
    }
    let noun = match &limit.subject {
        Subject::Stage(_) | Subject::Rate => "reading",
        Subject::Water | Subject::Events | Subject::Hours if judged.long > 0 => "span",
        Subject::Water | Subject::Events | Subject::Hours => "day",
        Subject::Parameter(_) if limit.statistic.instant => "reading",
        _ => "sample",
    };
    let s = if judged.readings == 1 { "" } else { "s" };
    format!("{} {noun}{s}", judged.readings)
}

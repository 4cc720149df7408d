//! A limit held against records, window by window, under one way to count.

use chrono::NaiveDate;

use crate::rules::case::{Case, Prepared};
use crate::rules::decide::{Side, side};
use crate::rules::discharge::Flow;
use crate::rules::duty::{DueStretch, DutyInputs, due, stretch_words};
use crate::rules::each::{Each, each};
use crate::rules::lacking::{missing_in, needed_in};
use crate::rules::likely;
use crate::rules::plan::calendar;
use crate::rules::readings::{Reading, by_day, measured, samples};
use crate::rules::statistics::{Inputs, Shape};
use crate::rules::text;
use crate::rules::windows::{Window, WindowKind, after, day_label, days_label, each_day, windows};
use crate::rules::{
    Bound, Counted, Interval, Limit, Missing, Number, Outcome, Subject, Switch, WindowFinding,
    conditions,
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
        Shape::Each => each(
            &Each {
                limit,
                counted,
                found: &found,
                held: &held,
                duty: &duty,
                of,
                holds: &holds,
            },
            &mut out,
        ),
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
                // Of one result alone what it counts as decides nothing: it is no average.
                let single = matches!(inside.as_slice(), [one] if one.censored);
                let mut judgement = decided(
                    limit,
                    counted,
                    window.clone(),
                    folded.value,
                    folded.against,
                    limit.statistic.substitutes && !single,
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
            let months = out.windows.iter().filter(|w| w.finding.n > 0).count();
            out.notes.extend(likely::next_month(limit, &held, months));
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
pub(crate) fn decided(
    limit: &Limit,
    counted: &Counted,
    window: Window,
    value: Interval,
    against: Option<Number>,
    substitutes: bool,
    missing: Vec<Missing>,
) -> Judgement {
    let bound = match against {
        Some(allowed) => Bound::plain(Some(allowed), None),
        None => limit.bound.clone(),
    };
    let side_of = side(&value, &bound, counted.rounding, substitutes);
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
    if side_of == Side::Open && substitutes && limit.counting.below_detection == Switch::NotSaid {
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

//! Limits on single readings and single days: each on its own, with what was due and is not on file.

use chrono::NaiveDate;

use crate::rules::case::Prepared;
use crate::rules::discharge::Flow;
use crate::rules::duty::DueStretch;
use crate::rules::evaluate::{Judged, Judgement, decided, runs};
use crate::rules::lacking::{
    lacking_discharge_days, lacking_sentence, least, not_all_metered, uncovered_days,
};
use crate::rules::readings::{self, Reading};
use crate::rules::text;
use crate::rules::windows::{Window, day_label, each_day};
use crate::rules::{
    Counted, Interval, LeastData, Limit, Missing, Number, Outcome, Subject, WindowFinding,
};

/// What single readings are judged by.
#[derive(Clone, Copy)]
pub(crate) struct Each<'a> {
    /// The limit.
    pub limit: &'a Limit,
    /// How it counts.
    pub counted: &'a Counted,
    /// What was measured.
    pub found: &'a readings::Measured,
    /// Readings on days on which the limit holds.
    pub held: &'a [&'a Reading],
    /// Stretches in which a sample is due.
    pub duty: &'a Option<Vec<DueStretch>>,
    /// The days judged.
    pub of: &'a Prepared,
    /// Whether the limit holds on a day.
    pub holds: &'a dyn Fn(NaiveDate) -> bool,
}

/// Each reading on its own, and what was due and is not on file.
pub(crate) fn each(inputs: &Each<'_>, out: &mut Judged) {
    let Each {
        limit,
        counted,
        found,
        held,
        duty,
        of,
        holds,
    } = *inputs;
    let inside = |reading: &&&Reading| reading.last >= of.span.0 && reading.first <= of.span.1;
    let window = Window::new(of.span.0, of.span.1);
    if found.amounts {
        amounts_each(inputs, out);
        return;
    }
    for reading in held.iter().filter(inside) {
        let label = Window::new(reading.first, reading.last);
        let mut judgement = decided(
            limit,
            counted,
            label,
            reading.value,
            None,
            reading.of_several,
            Vec::new(),
        );
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
            judgement
                .finding
                .missing
                .push(undecided(limit, reading, &judgement));
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

/// Why a single reading does not tell on which side of the limit it is.
fn undecided(limit: &Limit, reading: &Reading, judgement: &Judgement) -> Missing {
    if matches!(limit.subject, Subject::Rate) {
        return Missing {
            sentence:
                "A meter's total over a time shows only its mean rate, and some moment had more."
                    .to_owned(),
            would_show: Some(
                "A reading of the rate itself, or a record of minutes and volume of each event."
                    .to_owned(),
            ),
        };
    }
    let figure = judgement
        .finding
        .figure
        .as_ref()
        .map(|figure| figure.text.clone())
        .unwrap_or_default();
    let composite = limit.statistic.instant
        && !reading.value.high.is_finite()
        && reading.value.counted.is_none();
    Missing {
        sentence: format!(
            "{}: {figure} does not tell on which side of the limit it is{}.",
            judgement.finding.label,
            if composite {
                ", being the mean of a composite"
            } else {
                ""
            }
        ),
        would_show: Some(if composite {
            "Single samples.".to_owned()
        } else if matches!(limit.subject, Subject::Hours) {
            "Readings of the meter when the flow begins and ends.".to_owned()
        } else {
            "A method with a detection limit below the limit.".to_owned()
        }),
    }
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
    } else if matches!(
        limit.subject,
        Subject::Water | Subject::Rate | Subject::Hours
    ) {
        format!(
            "No meter reading is on file, and {open} of {} days are not shown dry.",
            days.len()
        )
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
fn amounts_each(inputs: &Each<'_>, out: &mut Judged) {
    let Each {
        limit,
        counted,
        found,
        held,
        of,
        holds,
        ..
    } = *inputs;
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
            false,
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
            false,
            missing(),
        );
        if judgement.finding.outcome == Outcome::Met && !least_bound_only {
            // The most that one day can have been is what tells.
            let most = Interval::between(Number::ZERO, value.high);
            if let Some(figure) = &mut judgement.finding.figure {
                figure.text = text::figure(&most, &limit.bound, false);
            }
        }
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

//! No discharge, save in a storm: judged day by day from meters, looks and samples.

use chrono::NaiveDate;

use crate::rules::case::{Case, Prepared};
use crate::rules::discharge::Flow;
use crate::rules::evaluate::{Judged, Judgement, runs, runs_text};
use crate::rules::storm::{Excuse, excuse};
use crate::rules::windows::{Window, each_day};
use crate::rules::{Interval, Limit, Missing, Number, Outcome, WindowFinding, conditions, text};

/// The excuse of a day: none needed where the limit has no exception.
fn excuse_of(day: NaiveDate, limit: &Limit, case: &Case<'_>) -> Excuse {
    match &limit.except {
        Some(except) => excuse(
            day,
            except,
            limit.counting.level_holds_days,
            case.facility,
            case.timeline,
            case.weather,
        ),
        None => Excuse {
            holds: Some(false),
            sentences: Vec::new(),
            evidence: Vec::new(),
            missing: Vec::new(),
            storm_began: None,
        },
    }
}

fn outcome_of(excused: Option<bool>) -> Outcome {
    match excused {
        Some(true) => Outcome::Met,
        Some(false) => Outcome::Exceeded,
        None => Outcome::NotShown,
    }
}

/// Judges every day of the span on which the limit holds.
pub(crate) fn evaluate(limit: &Limit, case: &Case<'_>, of: &Prepared) -> Judged {
    let mut out = Judged::default();
    let held: Vec<NaiveDate> = each_day(of.span.0, of.span.1)
        .filter(|day| limit.holds.on(*day))
        .filter(|day| {
            limit.only_when.is_empty()
                || conditions::hold(&limit.only_when, *day, case.timeline, case.weather)
                    != Some(false)
        })
        .collect();
    let on = |flow: Flow| -> Vec<NaiveDate> {
        held.iter()
            .filter(|day| of.days.on(**day) == flow)
            .copied()
            .collect()
    };
    flowing(limit, case, of, &on(Flow::Flowing), &mut out);
    let settled = meter_moved(limit, case, of, &held, &mut out);
    let dry = on(Flow::Dry);
    out.readings = dry.len() + on(Flow::Flowing).len();
    if !dry.is_empty() {
        let (from, to) = (
            dry.first().copied().unwrap_or(of.span.0),
            dry.last().copied().unwrap_or(of.span.1),
        );
        let mut judgement = window(Window::new(from, to), Outcome::NoDischarge, dry.len());
        judgement.finding.label = format!("{} days shown dry", dry.len());
        judgement.finding.evidence = dry
            .iter()
            .filter_map(|day| of.days.day(*day))
            .flat_map(|day| day.evidence.clone())
            .collect();
        out.windows.push(judgement);
    }
    let computed: Vec<NaiveDate> = on(Flow::Computed)
        .into_iter()
        .filter(|day| !settled.contains(day))
        .collect();
    if !computed.is_empty() {
        open(
            &computed,
            format!(
                "{} had water leaving by our computation, and no look or meter.",
                runs_text(&computed, 3)
            ),
            "A look or a photograph of those days.",
            &mut out,
        );
    }
    let unknown: Vec<NaiveDate> = on(Flow::NotKnown)
        .into_iter()
        .filter(|day| !settled.contains(day))
        .collect();
    if !unknown.is_empty() {
        let weekend = unknown.iter().all(|day| {
            matches!(
                chrono::Datelike::weekday(day),
                chrono::Weekday::Sat | chrono::Weekday::Sun
            )
        });
        let which = if weekend { "weekend days" } else { "days" };
        let s = if unknown.len() == 1 {
            which.trim_end_matches('s')
        } else {
            which
        };
        let verb = if unknown.len() == 1 { "has" } else { "have" };
        open(
            &unknown,
            format!(
                "{} {s} ({}) {verb} no look at {} on file.",
                unknown.len(),
                runs_text(&unknown, 2),
                limit.at_text
            ),
            "A look on each day, a meter, or words of the permit on what a dry look covers.",
            &mut out,
        );
    }
    out.windows
        .sort_by_key(|judgement| (judgement.finding.outcome, judgement.finding.from));
    out
}

fn open(days: &[NaiveDate], sentence: String, show: &str, out: &mut Judged) {
    let (Some(from), Some(to)) = (days.first(), days.last()) else {
        return;
    };
    let mut judgement = window(Window::new(*from, *to), Outcome::NotShown, 0);
    judgement.finding.missing.push(Missing {
        sentence,
        would_show: Some(show.to_owned()),
    });
    out.windows.push(judgement);
}

fn window(window: Window, outcome: Outcome, n: usize) -> Judgement {
    Judgement {
        finding: WindowFinding {
            label: window.label,
            from: window.from,
            to: window.to,
            outcome,
            figure: None,
            n,
            needed: None,
            arithmetic: Vec::new(),
            evidence: Vec::new(),
            missing: Vec::new(),
        },
        value: None,
        against: None,
        known_on: None,
    }
}

/// Runs of days on which it flowed, each day with its own excuse, joined where they came out alike.
fn flowing(limit: &Limit, case: &Case<'_>, of: &Prepared, days: &[NaiveDate], out: &mut Judged) {
    for (from, to) in runs(days) {
        let mut current: Option<(Outcome, Vec<NaiveDate>, Vec<Excuse>)> = None;
        for day in each_day(from, to) {
            let excused = excuse_of(day, limit, case);
            let outcome = outcome_of(excused.holds);
            match &mut current {
                Some((same, days, excuses)) if *same == outcome => {
                    days.push(day);
                    excuses.push(excused);
                }
                _ => {
                    if let Some(done) = current.take() {
                        out.windows.push(flow_window(limit, of, done));
                    }
                    current = Some((outcome, vec![day], vec![excused]));
                }
            }
        }
        if let Some(done) = current {
            out.windows.push(flow_window(limit, of, done));
        }
    }
}

fn flow_window(
    limit: &Limit,
    of: &Prepared,
    run: (Outcome, Vec<NaiveDate>, Vec<Excuse>),
) -> Judgement {
    let (outcome, days, excuses) = run;
    let (from, to) = (
        days.first().copied().unwrap_or(of.span.0),
        days.last().copied().unwrap_or(of.span.0),
    );
    let mut judgement = window(Window::new(from, to), outcome, days.len());
    let value = Interval::exactly(Number::count(days.len()));
    judgement.value = Some(value);
    let mut figure = text::figure_of(&value, &limit.bound, false);
    figure.text = day_count(days.len());
    "days".clone_into(&mut figure.unit);
    judgement.finding.figure = Some(figure);
    judgement.known_on = Some(to);
    for day in days.iter().filter_map(|day| of.days.day(*day)) {
        judgement.finding.evidence.extend(day.evidence.clone());
    }
    for excuse in excuses {
        for sentence in excuse.sentences {
            if !judgement.finding.arithmetic.contains(&sentence) {
                judgement.finding.arithmetic.push(sentence);
            }
        }
        for shown in excuse.evidence {
            if !judgement.finding.evidence.contains(&shown) {
                judgement.finding.evidence.push(shown);
            }
        }
        judgement.finding.missing.extend(excuse.missing);
    }
    judgement
}

pub(crate) fn day_count(days: usize) -> String {
    if days == 1 {
        "1 day".to_owned()
    } else {
        format!("{days} days")
    }
}

/// Meters that moved over several days on which the limit held: some day flowed, though it is not known which.
fn meter_moved(
    limit: &Limit,
    case: &Case<'_>,
    of: &Prepared,
    held: &[NaiveDate],
    out: &mut Judged,
) -> Vec<NaiveDate> {
    let mut settled = Vec::new();
    for reading in of
        .volumes
        .iter()
        .filter(|reading| reading.days() > 1 && !reading.value.low.is_zero())
    {
        let days: Vec<NaiveDate> = each_day(reading.first, reading.last).collect();
        if !days.iter().all(|day| held.contains(day))
            || days.iter().any(|day| of.days.on(*day) == Flow::Flowing)
        {
            continue;
        }
        let open: Vec<NaiveDate> = days
            .iter()
            .filter(|day| of.days.on(**day) != Flow::Dry)
            .copied()
            .collect();
        let excuses: Vec<Excuse> = open
            .iter()
            .map(|day| excuse_of(*day, limit, case))
            .collect();
        let outcome = if excuses.iter().all(|excuse| excuse.holds == Some(false)) {
            Outcome::Exceeded
        } else if excuses.iter().all(|excuse| excuse.holds == Some(true)) {
            Outcome::Met
        } else {
            Outcome::NotShown
        };
        let mut judgement = flow_window(
            limit,
            of,
            (outcome, vec![reading.first, reading.last], excuses),
        );
        judgement.finding.figure = None;
        judgement.finding.n = 1;
        judgement.value = Some(Interval::between(
            Number::whole(1),
            Number::count(open.len()),
        ));
        judgement.finding.arithmetic.insert(0, reading.text.clone());
        judgement.finding.evidence.clone_from(&reading.evidence);
        judgement.known_on = Some(reading.known_on);
        out.windows.push(judgement);
        settled.extend(open);
    }
    settled
}

//! No discharge, save in a storm: judged day by day from meters, looks and samples.

use chrono::{Datelike, NaiveDate, Weekday};

use crate::rules::judge::evaluate::{
    Judged, Judgement, labelled, not_on_file, runs, runs_text, tier_not_known, without_figure,
};
use crate::rules::judge::scene::Scene;
use crate::rules::judge::text;
use crate::rules::measure::storm::Excuse;
use crate::rules::measure::{Flow, Flows, day_number, day_of_number};
use crate::rules::window::windows::{Window, each_day};
use crate::rules::{Interval, Missing, Number, Outcome};

/// One place of a limit, with what shows its water.
struct Here<'a> {
    scene: &'a Scene<'a>,
    flows: Flows,
    /// Its name, where the limit has several.
    place: Option<String>,
}

/// The excuse of water seen within a day: of all that was seen, the one that is excused least.
fn excuse_of(here: &Here<'_>, day: NaiveDate) -> Excuse {
    let Some(storms) = &here.scene.storms else {
        return Excuse::none();
    };
    let seen = here.flows.seen_on(day);
    let mut all: Vec<Excuse> = seen.iter().map(|seen| storms.excuse(day, seen.when)).collect();
    if all.is_empty() {
        all.push(storms.excuse(day, None));
    }
    let rank = |of: &Excuse| match of.holds {
        Some(false) => 0,
        None => 1,
        Some(true) => 2,
    };
    all.into_iter().min_by_key(rank).unwrap_or_else(Excuse::none)
}

fn outcome_of(excused: Option<bool>) -> Outcome {
    match excused {
        Some(true) => Outcome::Met,
        Some(false) => Outcome::Exceeded,
        None => Outcome::NotShown,
    }
}

/// Judges every day of the period on which the limit holds, each place by itself.
pub(crate) fn evaluate(scene: &Scene<'_>) -> Judged {
    let mut out = Judged::default();
    let several = scene.flows.of.len() > 1;
    for (at, of) in scene.flows.of.iter().enumerate() {
        let name = scene.case.facility.get(of.place).map(|site| site.name.clone());
        out.add(one_place(&Here { scene, flows: scene.flows.at(at), place: name.filter(|_| several) }));
    }
    out
}

fn one_place(here: &Here<'_>) -> Judged {
    let scene = here.scene;
    let mut out = Judged::default();
    let held = scene.days();
    let (known, unknown_tier): (Vec<NaiveDate>, Vec<NaiveDate>) =
        held.iter().copied().partition(|day| scene.condition(*day) == Some(true));
    let on =
        |flow: Flow| -> Vec<NaiveDate> { known.iter().copied().filter(|day| here.flows.on(*day) == flow).collect() };
    let flowed = on(Flow::Flowing);
    flowing(here, &flowed, &mut out);
    let settled = meter_moved(here, &known, &mut out);
    let dry = on(Flow::Dry);
    out.readings = dry.len() + flowed.len();
    if let (Some(from), Some(to)) = (dry.first(), dry.last()) {
        let mut judgement = without_figure(Window::new(*from, *to), Outcome::NoDischarge, Vec::new());
        judgement.finding.n = dry.len();
        judgement.finding.label = format!("{} shown dry", day_count(dry.len()));
        judgement.finding.evidence = dry.iter().flat_map(|day| here.flows.shown_on(*day)).collect();
        out.windows.push(judgement);
    }
    let not_known: Vec<NaiveDate> = on(Flow::NotKnown).into_iter().filter(|day| !settled.contains(day)).collect();
    let (computed, unknown): (Vec<NaiveDate>, Vec<NaiveDate>) =
        not_known.into_iter().partition(|day| here.flows.computed_on(*day));
    if !computed.is_empty() {
        open(
            &computed,
            Missing {
                of: None,
                paper: None,
                sentence: format!(
                    "{} had water leaving by our computation, and no look or meter.",
                    runs_text(&computed, 3)
                ),
                would_show: Some("A look or a photograph of those days.".to_owned()),
            },
            &mut out,
        );
    }
    if !unknown.is_empty() {
        let weekend = unknown.iter().all(|day| matches!(day.weekday(), Weekday::Sat | Weekday::Sun));
        let which = match (weekend, unknown.len()) {
            (true, 1) => "weekend day",
            (true, _) => "weekend days",
            (false, 1) => "day",
            (false, _) => "days",
        };
        let verb = if unknown.len() == 1 { "has" } else { "have" };
        open(
            &unknown,
            Missing {
                of: None,
                paper: None,
                sentence: format!(
                    "{} {which} ({}) {verb} no look at {} on file.",
                    unknown.len(),
                    runs_text(&unknown, 2),
                    here.place.as_ref().unwrap_or(&scene.limit.at_text)
                ),
                would_show: Some(if scene.limit.counting.dry_look.is().is_some() {
                    "A look on each day, or a meter.".to_owned()
                } else {
                    "A look on each day, a meter, or words of the permit on what a dry look covers.".to_owned()
                }),
            },
            &mut out,
        );
    }
    if !unknown_tier.is_empty() {
        open(&unknown_tier, tier_not_known(scene.limit, &unknown_tier), &mut out);
    }
    out.windows.sort_by_key(|judgement| (judgement.finding.outcome, judgement.finding.from));
    out
}

fn open(days: &[NaiveDate], missing: Missing, out: &mut Judged) {
    let (Some(from), Some(to)) = (days.first(), days.last()) else {
        return;
    };
    out.windows.push(not_on_file(Window::new(*from, *to), missing));
}

/// Runs of days on which it flowed, each day with its own excuse, joined where they came out alike.
fn flowing(here: &Here<'_>, days: &[NaiveDate], out: &mut Judged) {
    for (from, to) in runs(days) {
        let mut current: Option<(Outcome, Vec<NaiveDate>, Vec<Excuse>)> = None;
        for day in each_day(from, to) {
            let excused = excuse_of(here, day);
            let outcome = outcome_of(excused.holds);
            match &mut current {
                Some((same, days, excuses)) if *same == outcome => {
                    days.push(day);
                    excuses.push(excused);
                }
                _ => {
                    if let Some((outcome, days, excuses)) = current.take() {
                        out.windows.push(flow_window(here, outcome, &days, excuses));
                    }
                    current = Some((outcome, vec![day], vec![excused]));
                }
            }
        }
        if let Some((outcome, days, excuses)) = current {
            out.windows.push(flow_window(here, outcome, &days, excuses));
        }
    }
}

fn flow_window(here: &Here<'_>, outcome: Outcome, days: &[NaiveDate], excuses: Vec<Excuse>) -> Judgement {
    let (from, to) = (days.first().copied().unwrap_or_default(), days.last().copied().unwrap_or_default());
    let window = labelled(&Window::new(from, to), here.place.as_deref());
    let mut judgement = without_figure(window, outcome, Vec::new());
    judgement.finding.n = days.len();
    let value = Interval::exactly(Number::count(days.len()));
    judgement.value = Some(value);
    let mut figure = text::figure_of(&value, &here.scene.limit.bound, false);
    figure.text = day_count(days.len());
    "days".clone_into(&mut figure.unit);
    judgement.finding.figure = Some(figure);
    // Each day is a window of its own: the run is known with its first.
    judgement.known_on = Some(known_on(here, from));
    for day in days {
        judgement.finding.evidence.extend(here.flows.shown_on(*day));
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
        for missing in excuse.missing {
            if !judgement.finding.missing.contains(&missing) {
                judgement.finding.missing.push(missing);
            }
        }
    }
    judgement
}

/// When a day's discharge was known: by a look or a sample, else when its meter was read.
fn known_on(here: &Here<'_>, day: NaiveDate) -> NaiveDate {
    let number = day_number(day);
    let seen = here.flows.looks_and_samples();
    if let Some(known_on) = seen.iter().filter(|(of, _)| *of == number).map(|(_, seen)| seen.known_on).min() {
        return known_on;
    }
    let water = here.flows.water();
    let pieces = water.channels.iter().flat_map(|channel| &channel.pieces);
    pieces
        .filter(|piece| !piece.amount.is_zero() && piece.days() == (number, number))
        .map(|piece| piece.known_on)
        .min()
        .unwrap_or(day)
}

pub(crate) fn day_count(days: usize) -> String {
    if days == 1 { "1 day".to_owned() } else { format!("{days} days") }
}

/// Meters that moved over several days: one of these days had a discharge, though it is not known which.
fn meter_moved(here: &Here<'_>, held: &[NaiveDate], out: &mut Judged) -> Vec<NaiveDate> {
    let mut settled = Vec::new();
    let water = here.flows.water();
    for piece in water.channels.iter().flat_map(|channel| &channel.pieces) {
        let (first, last) = piece.days();
        if first == last || piece.amount.is_zero() {
            continue;
        }
        let days: Vec<NaiveDate> = (first..=last).map(day_of_number).collect();
        let touched: Vec<NaiveDate> = days.iter().copied().filter(|day| held.binary_search(day).is_ok()).collect();
        if touched.is_empty() || days.iter().any(|day| here.flows.on(*day) == Flow::Flowing) {
            continue;
        }
        let open: Vec<NaiveDate> = days
            .iter()
            .copied()
            .filter(|day| !water.channels.iter().all(|channel| channel.dry.contains(&day_number(*day))))
            .collect();
        // A look cannot take back what a meter counted.
        let open = if open.is_empty() { days.clone() } else { open };
        let excuses: Vec<Excuse> = open.iter().map(|day| excuse_of(here, *day)).collect();
        // A run with a day that is excused, or not under the limit, is not shown.
        let none_excused = excuses.iter().all(|excuse| excuse.holds == Some(false));
        let listed = open.iter().all(|day| held.binary_search(day).is_ok());
        let outcome = if listed && none_excused { Outcome::Exceeded } else { Outcome::NotShown };
        let ends: Vec<NaiveDate> = open.first().into_iter().chain(open.last()).copied().collect();
        let mut judgement = flow_window(here, outcome, &ends, excuses);
        judgement.finding.figure = None;
        judgement.finding.n = 1;
        judgement.value = Some(Interval::between(Number::whole(1), Number::count(open.len())));
        judgement.finding.arithmetic.insert(0, piece.text.clone());
        judgement.finding.evidence.clone_from(&piece.evidence);
        judgement.known_on = Some(piece.known_on);
        if outcome == Outcome::NotShown && judgement.finding.missing.is_empty() {
            judgement.finding.missing.push(Missing {
                of: None,
                paper: None,
                sentence: format!(
                    "{}: a meter moved, and it is not known on which of these days.",
                    judgement.finding.label
                ),
                would_show: Some("A look on each of these days.".to_owned()),
            });
        }
        out.windows.push(judgement);
        settled.extend(touched.into_iter().filter(|day| open.contains(day)));
    }
    settled
}

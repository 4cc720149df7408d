//! Gaps in what is to be sampled, read and looked at: findings of their own, apart from the limits.

use std::collections::BTreeSet;

use chrono::{NaiveDate, NaiveTime, Weekday};

use crate::facility::model::{PlaceId, PlaceKind};
use crate::quantity::{HowOften, Stretch};
use crate::records::Look;
use crate::rules::duty::after_rain;
use crate::rules::duty::{DueStretch, DutyInputs, due, stretch_words};
use crate::rules::judge::case::Case;
use crate::rules::judge::lacking::{lacking_sentence, stretches_of};
use crate::rules::judge::scene::Scene;
use crate::rules::measure::{Flow, Flows, Piece, day_number, day_of_number, span_evidence};
use crate::rules::predict::plan::{calendar, first_way};
use crate::rules::window::windows::{day_label, days_label};
use crate::rules::{Evidence, Finding, FindingKind, Limit, Missing, Outcome, Point, Subject, TOO_LATE, WindowFinding};

/// Findings on every duty to sample, read or look, in file order; a duty that two limits share is told once. `weeks` has
/// for each limit the first day of the week by which it was judged.
pub(crate) fn findings(case: &Case<'_>, weeks: &[Option<Weekday>]) -> Vec<Finding> {
    let mut out = Vec::new();
    let mut seen: Vec<(Point, Subject, HowOften)> = Vec::new();
    for (index, limit) in case.rules.limits.iter().enumerate() {
        let Some(duty) = &limit.sample else { continue };
        let subject = match &limit.subject {
            Subject::Load(parameter) => Subject::Parameter(parameter.clone()),
            other => other.clone(),
        };
        let key = (limit.at.clone(), subject, duty.how_often);
        if seen.contains(&key) {
            continue;
        }
        seen.push(key);
        out.extend(of_limit(limit, weeks.get(index).copied().flatten(), case));
    }
    for (index, place) in case.facility.places.iter().enumerate() {
        // Where the permit itself asks for looks, theirs is the duty.
        let asked = |limit: &Limit| {
            limit.subject == Subject::Discharge
                && limit.sample.is_some()
                && matches!(&limit.at, Point::Places(places) if places.contains(&PlaceId(index)))
        };
        if let PlaceKind::DischargePoint(point) = &place.kind
            && let Some(how_often) = point.looked_at
            && !case.rules.limits.iter().any(asked)
        {
            out.extend(looks(PlaceId(index), &place.name, how_often, case));
        }
    }
    out.extend(after_rain::findings(case));
    out
}

fn what_is_due(limit: &Limit) -> String {
    match &limit.subject {
        Subject::Parameter(_) | Subject::Load(_) | Subject::Removal(..) => {
            format!("Sample of {}", limit.parameter.as_deref().unwrap_or(&limit.name))
        }
        Subject::Stage(_) => {
            format!("Reading of {}", limit.parameter.clone().unwrap_or_else(|| limit.name.to_lowercase()))
        }
        Subject::Discharge => "Look".to_owned(),
        _ => format!("Reading for {}", limit.name),
    }
}

fn of_limit(limit: &Limit, week: Option<Weekday>, case: &Case<'_>) -> Vec<Finding> {
    let (Some(duty), Some(counted)) = (&limit.sample, first_way(limit)) else {
        return Vec::new();
    };
    let scene = Scene::new(limit, case);
    if !scene.ever_in_force() {
        return Vec::new();
    }
    let on_file = on_file(&scene, duty.how_often);
    let several = on_file.len() > 1;
    let mut out = Vec::new();
    for (at, (place, held)) in on_file.iter().enumerate() {
        let days: Vec<NaiveDate> = held.iter().filter(|row| row.is_due_kind).map(|row| row.day).collect();
        let flows = scene.flows.at(at);
        let Some(stretches) = by_week(&scene, &flows, &days, duty.how_often, week) else {
            continue;
        };
        let at_text = if several { place.as_str() } else { &limit.at_text };
        let name = format!("{} at {at_text}, {}", what_is_due(limit), duty.text);
        let mut finding = started(format!("duty / {name}"), name, at_text, Some(duty.place.clone()));
        finding.words.clone_from(&limit.words);
        finding.about = Some((format!("{}, {}", what_is_due(limit), duty.text), at_text.to_owned()));
        fill(&mut finding, &stretches, duty.how_often, |due| {
            let missing = lacking_sentence(due, limit, case.timeline);
            match counted_over(&flows, due).filter(|_| due.not_known) {
                Some(span) => Missing { sentence: format!("{}: {span}", due.window.label), ..missing },
                None => missing,
            }
        });
        finding.evidence = held.iter().flat_map(|row| row.evidence.clone()).collect();
        out.push(finding);
        let now = (case.as_of, case.as_of);
        let open = stretches_of(&scene, &flows, &days, duty.how_often, &counted, now);
        out.extend(running(limit, &days, &open.unwrap_or_default(), at_text, case));
    }
    out
}

/// The stretches under the permit's week. Where it does not say when that starts, the limit's own week, unless under another
/// something is missing that under this is not, or is only open: then that which leaves most missing, of equal ones the first.
fn by_week(
    scene: &Scene<'_>,
    flows: &Flows,
    days: &[NaiveDate],
    how_often: HowOften,
    week: Option<Weekday>,
) -> Option<Vec<DueStretch>> {
    let weekly = crate::rules::Matters { week: how_often.is_by_week(), ..crate::rules::Matters::default() };
    let limit = scene.limit;
    let period = scene.case.period;
    limit
        .counting
        .ways(&weekly, limit.bound.places)
        .iter()
        .filter_map(|way| Some((way.week_starts, stretches_of(scene, flows, days, how_often, way, period)?)))
        .rev()
        .max_by_key(|(starts, due)| {
            let surely = due.iter().filter(|due| due.surely_lacks()).count();
            let maybe = due.iter().filter(|due| due.lacks()).count();
            let any = due.iter().any(|due| due.ended);
            (surely > 0, maybe > 0, any, week == Some(*starts), surely, maybe)
        })
        .map(|(_, due)| due)
}

/// One sample or reading on file.
struct OnFile {
    day: NaiveDate,
    is_due_kind: bool,
    evidence: Vec<Evidence>,
}

/// What is on file at each place.
fn on_file(scene: &Scene<'_>, how_often: HowOften) -> Vec<(String, Vec<OnFile>)> {
    let name = |at: usize| {
        scene
            .flows
            .of
            .get(at)
            .and_then(|of| scene.case.facility.get(of.place))
            .map_or_else(String::new, |site| site.name.clone())
    };
    if scene.limit.subject == Subject::Discharge {
        let looked = |place: PlaceId| {
            let looks = scene.case.timeline.looks.iter();
            let here = looks.filter(move |look| look.at == place && look.day <= scene.case.as_of);
            here.map(|look| OnFile { day: look.day, is_due_kind: true, evidence: vec![seen(look)] }).collect()
        };
        return scene.flows.of.iter().enumerate().map(|(at, of)| (name(at), looked(of.place))).collect();
    }
    if scene.limit.subject == Subject::Rate {
        let rates = scene.rates.iter().map(|reading| OnFile {
            day: reading.last,
            is_due_kind: true,
            evidence: reading.evidence.clone(),
        });
        return vec![(name(0), rates.collect())];
    }
    if scene.values.is_empty() {
        let read_by_day = matches!(how_often, HowOften::EveryDischarge | HowOften::Times { each: Stretch::Day, .. });
        if !read_by_day && scene.limit.subject != Subject::Events && !scene.flows.meters.is_empty() {
            return vec![(name(0), dials_read(scene))];
        }
        let pieces = scene.flows.water();
        let read = pieces.channels.iter().chain(&scene.washes.channels).flat_map(|channel| &channel.pieces);
        // A day for which the reading before stands was not read.
        let read = read.filter(|piece| !piece.carried).map(|piece| OnFile {
            day: day_of_number(piece.days().1),
            is_due_kind: true,
            evidence: piece.evidence.clone(),
        });
        let mut read: Vec<OnFile> = read.collect();
        read.sort_by_key(|row| row.day);
        return vec![(name(0), read)];
    }
    scene
        .values
        .iter()
        .enumerate()
        .map(|(at, values)| {
            let rows = values.iter().map(|value| OnFile {
                day: value.day,
                is_due_kind: value.is_due_kind,
                evidence: value.evidence.clone(),
            });
            (name(at), rows.collect())
        })
        .collect()
}

/// Each reading of a point's meters on the date on which it was read. One that closes a day stands for that day only where days
/// are asked for: who reads on Mondays has not read in the week that ends with a Sunday.
fn dials_read(scene: &Scene<'_>) -> Vec<OnFile> {
    let spans =
        scene.case.timeline.meter_spans.iter().filter(|span| scene.flows.meters.contains(&span.meter) && !span.carried);
    let mut seen = BTreeSet::new();
    let mut out = Vec::new();
    for span in spans {
        let evidence = span_evidence(span, scene.case.facility);
        let last = evidence.day;
        let dates = match &span.before {
            Some(_) => vec![span.from, span.to],
            // An amount, or a head over a weir, stands for its last day.
            None => vec![last.and_time(NaiveTime::MIN)],
        };
        let new = dates.into_iter().filter(|at| at.date() <= scene.case.as_of && seen.insert((span.meter, *at)));
        out.extend(new.map(|at| OnFile { day: at.date(), is_due_kind: true, evidence: vec![evidence.clone()] }));
    }
    out.sort_by_key(|row| row.day);
    out
}

/// Of a day that a reading over several tells of, with water in it: what is known, and what is not.
fn counted_over(flows: &Flows, due: &DueStretch) -> Option<String> {
    let day = (due.window.from == due.window.to).then(|| day_number(due.window.from))?;
    let water = flows.water();
    let over = |piece: &&Piece| {
        let (first, last) = piece.days();
        first < last && (first..=last).contains(&day) && !piece.amount.is_zero()
    };
    let piece = water.channels.iter().flat_map(|way| &way.pieces).find(over)?;
    let days = days_label(day_of_number(piece.days().0), day_of_number(piece.days().1));
    Some(format!("no reading of its own on file; what the meter counted over {days} may have been of it or not."))
}

pub(super) fn started(id: String, name: String, at: &str, place: Option<crate::told::Place>) -> Finding {
    Finding { place, ..Finding::new(id, FindingKind::Monitoring, name, at.to_owned(), Outcome::Done) }
}

pub(super) fn fill(
    finding: &mut Finding,
    stretches: &[DueStretch],
    how_often: HowOften,
    sentence: impl Fn(&DueStretch) -> Missing,
) {
    let ended: Vec<&DueStretch> = stretches.iter().filter(|due| due.ended).collect();
    let lacking: Vec<&&DueStretch> = ended.iter().filter(|due| due.surely_lacks()).collect();
    let open: Vec<&&DueStretch> = ended.iter().filter(|due| due.lacks() && due.not_known).collect();
    let (one, many) = stretch_words(how_often);
    let had = ended.iter().filter(|due| !due.lacks() && due.not_known).count();
    let due = ended.len() - open.len() - had;
    let noun = if due == 1 { one } else { many };
    finding.n = due - lacking.len();
    finding.how_many = format!("{} of {due} {noun}", finding.n);
    finding.outcome = if !lacking.is_empty() {
        Outcome::Overdue
    } else if !open.is_empty() {
        Outcome::NotShown
    } else if due + had == 0 {
        "none due".clone_into(&mut finding.how_many);
        Outcome::NothingDue
    } else {
        Outcome::Done
    };
    finding.dates = lacking.iter().map(|due| due.window.from).collect();
    let known = if open.is_empty() && had == 0 { "" } else { " known to be due" };
    // Of these it is not known, or is known not to be so, that one was due.
    let more = if had > 0 { format!(", and for {had} more") } else { String::new() };
    finding.sentences.push(match finding.outcome {
        Outcome::NothingDue => "Nothing was due yet.".to_owned(),
        _ if due + had == 0 => format!("It is not known of any {one} whether something was due."),
        _ => format!("On file for {}{known}{more}.", finding.how_many),
    });
    for due in open {
        finding.missing.push(sentence(due));
    }
    for due in lacking {
        let missing = sentence(due);
        finding.windows.push(WindowFinding {
            label: due.window.label.clone(),
            from: due.window.from,
            to: due.window.to,
            outcome: Outcome::Overdue,
            figure: None,
            n: due.have as usize,
            needed: Some(due.times as usize),
            arithmetic: Vec::new(),
            evidence: Vec::new(),
            missing: vec![missing.clone()],
        });
        finding.missing.push(missing);
    }
}

/// The stretch that runs on the day of judgement, where nothing is on file in it yet: due by its end.
fn running(
    limit: &Limit,
    on_file: &[NaiveDate],
    stretches: &[DueStretch],
    at: &str,
    case: &Case<'_>,
) -> Option<Finding> {
    let duty = limit.sample.as_ref()?;
    let HowOften::Times { with_a_discharge: false, .. } = duty.how_often else {
        return None;
    };
    let open = stretches.iter().find(|due| !due.ended && due.window.contains(case.as_of))?;
    let have = on_file.iter().filter(|day| open.window.contains(**day)).count();
    if have >= open.times as usize {
        return None;
    }
    let name = format!("{} at {at}", what_is_due(limit));
    let mut finding = started(format!("duty due / {name}"), name, at, Some(duty.place.clone()));
    finding.outcome = Outcome::Due;
    finding.due = Some(open.window.to);
    finding.how_many.clone_from(&duty.text);
    finding.about = Some((what_is_due(limit), at.to_owned()));
    finding.sentences.push(format!(
        "{}: by {}, for the {} under way.",
        duty.text,
        day_label(open.window.to),
        stretch_words(duty.how_often).0
    ));
    Some(finding)
}

fn looks(place: PlaceId, name: &str, how_often: HowOften, case: &Case<'_>) -> Option<Finding> {
    let (from, to) = case.period;
    let in_force = case.rules.in_force.unwrap_or((from, to));
    let span = (from.max(in_force.0), to.min(in_force.1).min(case.as_of));
    if span.0 > span.1 {
        return None;
    }
    let counted = case.rules.counting.ways(&crate::rules::Matters::default(), 0).into_iter().next()?;
    let looked: Vec<_> = case.timeline.looks.iter().filter(|look| look.at == place && look.day <= case.as_of).collect();
    let on_file: Vec<NaiveDate> = looked.iter().map(|look| look.day).collect();
    let flows = Flows::of(
        &Point::Places(vec![place]),
        case.rules.counting.dry_look.is().unwrap_or(crate::rules::DryLook::ThatDay),
        case.facility,
        case.timeline,
        case.ledger,
        case.as_of,
    );
    // A look is due whether or not it is dry; only "every discharge" turns on what flowed.
    let by_discharge = matches!(how_often, HowOften::EveryDischarge | HowOften::Times { with_a_discharge: true, .. });
    let flow = |day: NaiveDate| flows.on(day);
    let stretches = due(&DutyInputs {
        how_often,
        span,
        on_file: &on_file,
        flow: by_discharge.then_some(&flow as &dyn Fn(NaiveDate) -> Flow),
        in_force: &|day| in_force.0 <= day && day <= in_force.1,
        in_season: &|_| true,
        holds: &|_| true,
        as_of: case.as_of,
        first_record: case.timeline.observations.first().map(|row| row.day),
        calendar: calendar(case.rules, &counted),
    });
    let text = how_often_text(how_often);
    let title = format!("Own routine: look at {name}, {text}");
    let mut finding =
        started(format!("duty / {title}"), title, name, case.facility.get(place).map(|place| place.place.clone()));
    finding.kind = FindingKind::Routine;
    fill(&mut finding, &stretches, how_often, |due| Missing {
        of: None,
        paper: None,
        sentence: format!("{}: no look at {name} on file.", due.window.label),
        would_show: Some(TOO_LATE.to_owned()),
    });
    finding.evidence = looked.into_iter().map(seen).collect();
    Some(finding)
}

pub(super) fn seen(look: &Look) -> Evidence {
    Evidence {
        day: look.day,
        text: if look.flowing { "flowing".to_owned() } else { "dry".to_owned() },
        place: Some(look.source.place.clone()),
        paper: look.source.paper.clone(),
    }
}

/// `once a week`, `every working day`.
pub(crate) fn how_often_text(how_often: HowOften) -> String {
    match how_often {
        HowOften::Times { times, each, with_a_discharge } => {
            let each = match each {
                Stretch::Day => "day",
                Stretch::Week => "week",
                Stretch::Month => "month",
                Stretch::Quarter => "quarter",
                Stretch::Year => "year",
            };
            let times = if times == 1 { "once".to_owned() } else { format!("{times} times") };
            format!("{times} a {each}{}", if with_a_discharge { " with a discharge" } else { "" })
        }
        HowOften::Every { days: 1 } => "every day".to_owned(),
        HowOften::Every { days } => format!("every {days} days"),
        HowOften::EveryWorkingDay => "every working day".to_owned(),
        HowOften::EveryDischarge => "every discharge".to_owned(),
    }
}

//! Gaps in what is to be sampled, read and looked at: findings of their own, apart from the limits.

use chrono::NaiveDate;

use crate::facility::model::{PlaceId, PlaceKind};
use crate::quantity::{HowOften, Stretch};
use crate::rules::case::{Case, Prepared};
use crate::rules::discharge::{DischargeDays, Flow};
use crate::rules::duty::{DueStretch, DutyInputs, due, stretch_words};
use crate::rules::evaluate::stretches_due;
use crate::rules::lacking::lacking_sentence;
use crate::rules::plan::{calendar, matters, span_of};
use crate::rules::readings::{Reading, measured};
use crate::rules::windows::{day_label, later};
use crate::rules::{
    Counted, Evidence, Finding, FindingKind, Limit, Missing, Outcome, Point, Subject, WindowFinding,
};

/// Findings on every duty to sample, read or look, in file order; a duty that two limits share is told once.
pub(crate) fn findings(case: &Case<'_>) -> Vec<Finding> {
    let mut out = Vec::new();
    let mut seen: Vec<(Point, Subject, HowOften)> = Vec::new();
    for limit in &case.rules.limits {
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
        out.extend(of_limit(limit, case));
    }
    for (index, place) in case.facility.places.iter().enumerate() {
        if let PlaceKind::DischargePoint(point) = &place.kind
            && let Some(how_often) = point.looked_at
        {
            out.extend(looks(PlaceId(index), &place.name, how_often, case));
        }
    }
    out
}

fn what_is_due(limit: &Limit) -> String {
    match &limit.subject {
        Subject::Parameter(_) | Subject::Load(_) | Subject::Removal(..) => {
            format!(
                "Sample of {}",
                limit.parameter.as_deref().unwrap_or(&limit.name)
            )
        }
        Subject::Stage(_) => format!("Reading of {}", limit.name.to_lowercase()),
        _ => format!("Reading for {}", limit.name),
    }
}

fn of_limit(limit: &Limit, case: &Case<'_>) -> Vec<Finding> {
    let Some(duty) = &limit.sample else {
        return Vec::new();
    };
    let Some(counted) = limit
        .counting
        .ways(matters(limit), limit.bound.places)
        .into_iter()
        .next()
    else {
        return Vec::new();
    };
    let Some(of) = Prepared::new(limit, &counted, case) else {
        return Vec::new();
    };
    let found = on_file(limit, &counted, case, &of);
    let held: Vec<&Reading> = found.iter().collect();
    let holds = |day: NaiveDate| limit.holds.on(day);
    let Some(stretches) = stretches_due(
        limit,
        &held,
        &holds,
        case,
        &of,
        calendar(case.rules, &counted),
    ) else {
        return Vec::new();
    };
    let name = format!("{} at {}, {}", what_is_due(limit), limit.at_text, duty.text);
    let mut finding = started(
        format!("duty / {name}"),
        name,
        &limit.at_text,
        Some(duty.place.clone()),
    );
    finding.words.clone_from(&limit.words);
    fill(&mut finding, &stretches, duty.how_often, |due| {
        lacking_sentence(due, limit)
    });
    finding.evidence = held
        .iter()
        .flat_map(|reading| reading.evidence.clone())
        .collect();
    let mut out = vec![finding];
    out.extend(running(limit, &held, case, &counted));
    out
}

fn on_file(limit: &Limit, counted: &Counted, case: &Case<'_>, of: &Prepared) -> Vec<Reading> {
    let as_sampled = match &limit.subject {
        Subject::Load(parameter) | Subject::Removal(parameter, _) => {
            let mut limit = limit.clone();
            limit.subject = Subject::Parameter(parameter.clone());
            limit.bound.unit = Some(crate::quantity::units::KG_M3);
            limit
        }
        _ => limit.clone(),
    };
    measured(
        &as_sampled,
        counted,
        case.facility,
        case.timeline,
        &of.meters,
    )
    .readings
}

fn started(id: String, name: String, at: &str, place: Option<crate::diagnostic::Place>) -> Finding {
    Finding {
        id,
        kind: FindingKind::Monitoring,
        name,
        words: None,
        place,
        at: at.to_owned(),
        outcome: Outcome::Done,
        other_answer: None,
        limit: None,
        figure: None,
        margin: None,
        margin_value: None,
        strip: None,
        worst_when: None,
        how_many: String::new(),
        n: 0,
        dates: Vec::new(),
        windows: Vec::new(),
        sentences: Vec::new(),
        missing: Vec::new(),
        evidence: Vec::new(),
        due: None,
        share_outside: None,
    }
}

fn fill(
    finding: &mut Finding,
    stretches: &[DueStretch],
    how_often: HowOften,
    sentence: impl Fn(&DueStretch) -> Missing,
) {
    let ended: Vec<&DueStretch> = stretches.iter().filter(|due| due.ended).collect();
    let lacking: Vec<&&DueStretch> = ended.iter().filter(|due| due.lacks()).collect();
    let (one, many) = stretch_words(how_often);
    let noun = if ended.len() == 1 { one } else { many };
    finding.n = ended.len() - lacking.len();
    finding.how_many = format!("{} of {} {noun}", finding.n, ended.len());
    finding.outcome = if lacking.is_empty() {
        Outcome::Done
    } else {
        Outcome::Overdue
    };
    finding.dates = lacking.iter().map(|due| due.window.from).collect();
    finding.sentences.push(if lacking.is_empty() {
        format!("On file for {}.", finding.how_many)
    } else {
        format!(
            "On file for {}; what is missing cannot be made up once its time is over.",
            finding.how_many
        )
    });
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
    held: &[&Reading],
    case: &Case<'_>,
    counted: &Counted,
) -> Option<Finding> {
    let duty = limit.sample.as_ref()?;
    let HowOften::Times {
        times,
        each,
        with_a_discharge: false,
    } = duty.how_often
    else {
        return None;
    };
    span_of(case.rules, limit, (case.as_of, case.as_of))?;
    let stretch = crate::rules::windows::stretch(case.as_of, each, &calendar(case.rules, counted));
    let have = held
        .iter()
        .filter(|reading| stretch.contains(reading.last))
        .count();
    if have >= times as usize || stretch.to <= case.as_of {
        return None;
    }
    let name = format!("{} at {}", what_is_due(limit), limit.at_text);
    let mut finding = started(
        format!("duty due / {name}"),
        name,
        &limit.at_text,
        Some(duty.place.clone()),
    );
    finding.outcome = Outcome::Due;
    finding.due = Some(stretch.to);
    finding.how_many.clone_from(&duty.text);
    finding.sentences.push(format!(
        "{}: by {} for the {} that runs.",
        duty.text,
        day_label(stretch.to),
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
    let counted = case
        .rules
        .counting
        .ways(crate::rules::Matters::default(), 0)
        .into_iter()
        .next()?;
    let looked: Vec<_> = case
        .timeline
        .looks
        .iter()
        .filter(|look| look.at == place)
        .collect();
    let on_file: Vec<NaiveDate> = looked.iter().map(|look| look.day).collect();
    let days = DischargeDays::of(
        &Point::Places(vec![place]),
        (span.0, later(span.1, 7)),
        counted.dry_look,
        case.facility,
        case.timeline,
        case.ledger,
    );
    // A look is due whether or not it is dry; only "every discharge" turns on what flowed.
    let by_discharge = matches!(
        how_often,
        HowOften::EveryDischarge
            | HowOften::Times {
                with_a_discharge: true,
                ..
            }
    );
    let stretches = due(&DutyInputs {
        how_often,
        span,
        on_file: &on_file,
        days: by_discharge.then_some(&days),
        holds: &|_| true,
        as_of: case.as_of,
        calendar: calendar(case.rules, &counted),
    });
    let text = how_often_text(how_often);
    let title = format!("Look at {name}, {text}");
    let mut finding = started(
        format!("duty / {title}"),
        title,
        name,
        case.facility.get(place).map(|place| place.place.clone()),
    );
    fill(&mut finding, &stretches, how_often, |due| Missing {
        sentence: format!("{}: no look at {name} on file.", due.window.label),
        would_show: Some("Cannot be made up.".to_owned()),
    });
    let flowed = days
        .discharging(span.0, span.1)
        .iter()
        .filter(|day| days.on(**day) == Flow::Flowing)
        .count();
    finding
        .sentences
        .push(format!("{flowed} days are shown with a discharge."));
    finding.evidence = looked
        .iter()
        .map(|look| Evidence {
            day: look.day,
            text: if look.flowing {
                "flowing".to_owned()
            } else {
                "dry".to_owned()
            },
            place: Some(look.source.place.clone()),
            paper: look.source.paper.clone(),
        })
        .collect();
    Some(finding)
}

/// `once a week`, `every working day`.
pub(crate) fn how_often_text(how_often: HowOften) -> String {
    match how_often {
        HowOften::Times {
            times,
            each,
            with_a_discharge,
        } => {
            let each = match each {
                Stretch::Day => "day",
                Stretch::Week => "week",
                Stretch::Month => "month",
                Stretch::Quarter => "quarter",
                Stretch::Year => "year",
            };
            let times = if times == 1 {
                "once".to_owned()
            } else {
                format!("{times} times")
            };
            format!(
                "{times} a {each}{}",
                if with_a_discharge {
                    " with a discharge"
                } else {
                    ""
                }
            )
        }
        HowOften::Every { days: 1 } => "every day".to_owned(),
        HowOften::Every { days } => format!("every {days} days"),
        HowOften::EveryWorkingDay => "every working day".to_owned(),
        HowOften::EveryDischarge => "every discharge".to_owned(),
    }
}

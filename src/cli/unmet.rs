//! What does not meet: a parameter on file that no limit names, a limit whose parameter no record has, records later than the day
//! as of which is judged, a pond's own mark above its limit.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use crate::facility::model::{Facility, PlaceKind};
use crate::quantity::parameter_name;
use crate::records::{LevelKind, Timeline};
use crate::rules::{ConditionOf, Point, RulesFile, Subject};
use crate::told::{Place, Problem, Problems, Severity, nearest};

/// Tells parameters and limits that do not meet. A name that is nearly another's is a warning; else it is worth knowing.
pub fn tell_names(facility: &Facility, rules: &RulesFile, timeline: &Timeline, problems: &Problems) {
    if timeline.samples.is_empty() {
        return;
    }
    // By the name that is compared: as written first, where, and how often.
    let mut on_file: BTreeMap<String, (&str, &Place, usize)> = BTreeMap::new();
    for sample in &timeline.samples {
        on_file.entry(parameter_name(&sample.parameter)).or_insert((&sample.parameter, &sample.source.place, 0)).2 += 1;
    }
    let mut asked: BTreeMap<String, (&str, &Place)> = BTreeMap::new();
    for limit in &rules.limits {
        if let Subject::Parameter(name) | Subject::Load(name) | Subject::Removal(name, _) = &limit.subject {
            let written = limit.parameter.as_deref().unwrap_or(name);
            asked.entry(parameter_name(name)).or_insert((written, &limit.place));
        }
        for condition in &limit.only_when {
            if let ConditionOf::Reading(name, _) = &condition.of {
                asked.entry(parameter_name(name)).or_insert((name, &limit.place));
            }
        }
    }
    let followed = |name: &str| {
        let dissolved = facility.dissolved.iter().map(|of| of.name.as_str());
        let solids = facility.solids.iter().map(|of| of.name.as_str());
        dissolved.chain(solids).any(|of| parameter_name(of) == name) || name == "total suspended solids"
    };
    for (name, (written, place, count)) in &on_file {
        if asked.contains_key(name) || followed(name) {
            continue;
        }
        let near = nearest(written, asked.values().map(|(written, _)| *written));
        let times = if *count == 1 { "once".to_owned() } else { format!("{count} times") };
        tell(
            place,
            format!("no limit names `{written}`, which is on file {times}"),
            near,
            "it is kept, and held against nothing",
            problems,
        );
    }
    for (name, (written, place)) in &asked {
        if on_file.contains_key(name) {
            continue;
        }
        let others = on_file.iter().filter(|(other, _)| !asked.contains_key(*other)).map(|(_, (written, ..))| *written);
        tell(
            place,
            format!("no sample on file is of `{written}`"),
            nearest(written, others),
            "nothing shows how this limit comes out before there is one",
            problems,
        );
    }
}

fn tell(place: &Place, message: String, near: Option<&str>, else_hint: &str, problems: &Problems) {
    problems.add(match near {
        Some(near) => Problem::warning(place, message).hint(format!("did you mean `{near}`?")),
        None => Problem::new(Severity::Note, place, message).hint(else_hint),
    });
}

/// Tells records later than the day as of which is judged, where that day was asked for.
pub fn tell_later(timeline: &Timeline, as_of: NaiveDate, problems: &Problems) {
    let mut later = timeline.observations.iter().filter(|seen| seen.date > as_of);
    if let Some(first) = later.next() {
        let count = later.count() + 1;
        let records = if count == 1 { "record is" } else { "records are" };
        problems.add(
            Problem::warning(
                &first.source.place,
                format!("{count} {records} later than {as_of}, the day as of which is judged"),
            )
            .hint("look at their dates, or at --as-of"),
        );
    }
}

/// Tells a mark at which a pond is to be cleaned out that lies above what the permit allows to lie in it.
pub fn tell_clean_out(facility: &Facility, rules: &RulesFile, problems: &Problems) {
    for limit in rules.limits.iter().filter(|limit| limit.subject == Subject::Stage(LevelKind::SludgeDepth)) {
        let Some(most) = limit.bound.at_most.or(limit.bound.below).zip(limit.bound.unit) else { continue };
        let most_m = most.1.to_si_f64(most.0.to_f64());
        let Point::Places(ids) = &limit.at else { continue };
        for place in ids.iter().filter_map(|id| facility.get(*id)) {
            let PlaceKind::Pond(pond) = &place.kind else { continue };
            let Some(mark) = pond.sludge.as_ref().and_then(|sludge| sludge.clean_out_at.as_ref()) else { continue };
            if mark.ends().is_some_and(|(low, _)| low.value > most_m) {
                problems.add(
                    Problem::warning(
                        &mark.place,
                        format!(
                            "{} is to be cleaned out at {}, and “{}” allows {}",
                            place.name, mark.text, limit.name, limit.bound.text
                        ),
                    )
                    .related(&limit.place, "the limit")
                    .hint("a mark that is reached before the permit's depth is gives the time to clean it out"),
                );
            }
        }
    }
}

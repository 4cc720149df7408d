//! What is missing for a limit to be shown, and what would show it.

use chrono::NaiveDate;

use crate::quantity::{HowOften, parameter_as_written, parameter_name};
use crate::records::Timeline;
use crate::rules::duty::{DueStretch, DutyInputs, due};
use crate::rules::judge::evaluate::{all_dry, duty_over, runs_text};
use crate::rules::judge::scene::{Scene, counts_samples};
use crate::rules::measure::points::places;
use crate::rules::measure::{Flow, Flows, Sampled, channels_text};
use crate::rules::window::windows::{Listed, day_label};
use crate::rules::{Counted, LeastData, Limit, Missing, Subject, Switch, TOO_LATE};

/// The least data that a limit asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Least {
    /// What the sample duty asks for.
    Duty,
    /// A value on every day with a discharge.
    EveryDischarge,
    /// A value on every day.
    EveryDay,
    /// So many values in each window.
    Count(u32),
}

/// The least data of a limit, in order: typed; else its sample duty; else, at a discharge, every day with one; else
/// every day. A number of samples concerns what is made of several; a level has no discharge and keeps its own duty.
pub(crate) fn least(limit: &Limit) -> Least {
    let is_level = matches!(limit.subject, Subject::Stage(_));
    match limit.counting.least_data {
        Switch::Is(LeastData::Count(count)) if counts_samples(limit) => Least::Count(count),
        Switch::Is(LeastData::EveryDischarge) if !is_level => Least::EveryDischarge,
        _ if limit.sample.is_some() => Least::Duty,
        _ if is_level => Least::EveryDay,
        _ => Least::EveryDischarge,
    }
}

/// The stretches of a limit's sample duty at one of its places, over a span of days; none without a duty.
pub(crate) fn stretches_due(
    scene: &Scene<'_>,
    flows: &Flows,
    values: &[Sampled],
    counted: &Counted,
    span: (NaiveDate, NaiveDate),
) -> Option<Vec<DueStretch>> {
    let duty = scene.limit.sample.as_ref()?;
    let on_file: Vec<NaiveDate> = values.iter().filter(|value| value.is_due_kind).map(|value| value.day).collect();
    stretches_of(scene, flows, &on_file, duty.how_often, counted, span)
}

/// The stretches of a duty of which something is on file on these days.
pub(crate) fn stretches_of(
    scene: &Scene<'_>,
    flows: &Flows,
    on_file: &[NaiveDate],
    how_often: HowOften,
    counted: &Counted,
    span: (NaiveDate, NaiveDate),
) -> Option<Vec<DueStretch>> {
    let by_discharge = matches!(how_often, HowOften::EveryDischarge | HowOften::Times { with_a_discharge: true, .. });
    let has_discharge = match scene.limit.subject {
        Subject::Stage(_) | Subject::Events => false,
        // A look is due whether or not it is dry.
        Subject::Discharge => by_discharge,
        _ => true,
    };
    let flow = |day: NaiveDate| flows.on(day);
    Some(due(&DutyInputs {
        how_often,
        span,
        on_file,
        flow: has_discharge.then_some(&flow as &dyn Fn(NaiveDate) -> Flow),
        in_force: &|day| scene.in_force(day),
        in_season: &|day| scene.in_season(day),
        holds: &|day| scene.holds(day),
        as_of: scene.case.as_of,
        first_record: scene.case.timeline.observations.first().map(|row| row.day),
        calendar: scene.calendar(counted),
    }))
}

/// What a missing stretch of a duty says.
pub(crate) fn lacking_sentence(due: &DueStretch, limit: &Limit, timeline: &Timeline) -> Missing {
    let what = match &limit.subject {
        Subject::Parameter(_) | Subject::Load(_) | Subject::Removal(..) => "result",
        Subject::Discharge => "look",
        Subject::Events => "count",
        Subject::Water | Subject::Rate | Subject::Stage(_) | Subject::Hours | Subject::ClockWindow => "reading",
    };
    if due.not_known {
        return Missing {
            of: Some((due.window.from, due.window.to)),
            paper: None,
            sentence: format!(
                "{}: no {what} on file, and it is not known whether there was a discharge.",
                due.window.label
            ),
            would_show: Some(match what {
                "result" => "A look or a meter for each day, or a laboratory slip for it.".to_owned(),
                _ => "A look for each day, or the sheet it is on.".to_owned(),
            }),
        };
    }
    let found = if due.have == 0 { format!("no {what}") } else { format!("{} of {} {what}s", due.have, due.times) };
    let sentence = match due.because {
        Some(day) if day_label(day) == due.window.label => {
            format!("{} had a discharge and {found} on file.", due.window.label)
        }
        Some(day) => format!("{} had a discharge ({}) and {found} on file.", due.window.label, day_label(day)),
        None => format!("{} has {found} on file.", due.window.label),
    };
    let slip = slip_without(due, limit, timeline);
    Missing {
        of: Some((due.window.from, due.window.to)),
        paper: slip.as_ref().map(|(paper, _)| paper.clone()),
        sentence,
        would_show: match &limit.subject {
            Subject::Stage(_) | Subject::Discharge => Some(TOO_LATE.to_owned()),
            _ if what != "result" => Some("The sheet, if there is one; else it is too late to get one.".to_owned()),
            _ => Some(slip.map_or_else(
                || "A laboratory slip for it, if there is one; else it is too late to get one.".to_owned(),
                |(_, words)| words,
            )),
        },
    }
}

/// The slip of the stretch that has other results of the place and lacks this one: where to look first.
fn slip_without(due: &DueStretch, limit: &Limit, timeline: &Timeline) -> Option<(String, String)> {
    let (Subject::Parameter(wanted) | Subject::Load(wanted)) = &limit.subject else { return None };
    let (wanted, at) = (parameter_name(wanted), places(&limit.at));
    let inside = |day: NaiveDate| due.window.from <= day && day <= due.window.to;
    let of_stretch = || timeline.samples.iter().filter(|sample| at.contains(&sample.at) && inside(sample.day));
    let has_it =
        |day: NaiveDate| of_stretch().any(|other| other.day == day && parameter_name(&other.parameter) == wanted);
    let sample = of_stretch().find(|sample| sample.source.paper.is_some() && !has_it(sample.day))?;
    let mut others: Vec<String> = of_stretch()
        .filter(|other| other.source.paper == sample.source.paper)
        .map(|other| parameter_as_written(&other.parameter))
        .collect();
    others.sort();
    others.dedup();
    let paper = sample.source.paper.clone()?;
    let words = format!(
        "Look on {paper} of {}: it is on file with {} and without this.",
        day_label(sample.day),
        others.join(", ")
    );
    Some((paper, words))
}

/// Stretches that are longer than a window: they are told once, and windows without a value are not listed.
pub(crate) fn longer_than(due: &DueStretch, window: &Listed) -> bool {
    due.window.days() > window.whole.days()
}

/// What a window of samples lacks under the least data that holds; `values` are one a day.
pub(crate) fn window_lacks(
    scene: &Scene<'_>,
    flows: &Flows,
    window: &Listed,
    values: &[&Sampled],
    duty: &Option<Vec<DueStretch>>,
) -> Vec<Missing> {
    let limit = scene.limit;
    match least(limit) {
        Least::Duty => duty
            .iter()
            .flatten()
            .filter(|due| due.lacks() && !longer_than(due, window))
            .filter(|due| due.window.from <= window.window.to && due.window.to >= window.window.from)
            .map(|due| lacking_sentence(due, limit, scene.case.timeline))
            .collect(),
        Least::Count(count) if values.len() < count as usize => vec![Missing {
            of: None,
            paper: None,
            sentence: format!(
                "{}: {} on file, and the permit asks for at least {count}.",
                window.window.label,
                if values.is_empty() { "no result".to_owned() } else { crate::told::many(values.len(), "result") }
            ),
            would_show: None,
        }],
        Least::Count(_) => Vec::new(),
        Least::EveryDischarge | Least::EveryDay => {
            // A week that counts whole is held on all of its days, those out of season with it.
            let mut held = scene.days_of(window);
            held.retain(|day| *day <= scene.case.as_of);
            lacking_days(scene, flows, &held, values).into_iter().map(|(_, missing)| missing).collect()
        }
    }
}

/// The duty of each place over the days that windows reach; `samples` are one a day, place by place.
pub(crate) fn places_due(
    scene: &Scene<'_>,
    counted: &Counted,
    windows: &[Listed],
    samples: &[Vec<Sampled>],
) -> Vec<Option<Vec<DueStretch>>> {
    let of_place = |(at, of): (usize, &Vec<Sampled>)| duty_over(scene, &scene.flows.at(at), of, counted, windows);
    samples.iter().enumerate().map(of_place).collect()
}

/// What a window of several places together lacks at each of them: nothing at one that was dry throughout, else its own
/// least data, and one value at least where another place has one.
pub(crate) fn places_lack(
    scene: &Scene<'_>,
    window: &Listed,
    samples: &[Vec<Sampled>],
    duties: &[Option<Vec<DueStretch>>],
) -> Vec<Missing> {
    let days = scene.days_of(window);
    let on_them = |value: &&Sampled| days.binary_search(&value.day).is_ok();
    let any = samples.iter().flatten().any(|value| on_them(&value));
    let of_place = |(at, (samples, duty)): (usize, (&Vec<Sampled>, &Option<Vec<DueStretch>>))| {
        let flows = scene.flows.at(at);
        let inside: Vec<&Sampled> = samples.iter().filter(on_them).collect();
        if inside.is_empty() && all_dry(&flows, days.iter().copied()) {
            return Vec::new();
        }
        let mut missing = window_lacks(scene, &flows, window, &inside, duty);
        if missing.is_empty() && inside.is_empty() && any {
            missing.push(Missing {
                of: None,
                paper: None,
                sentence: format!("{}: no result on file.", window.window.label),
                would_show: None,
            });
        }
        let place = flows.of.first();
        let place = place.and_then(|of| scene.case.facility.get(of.place));
        if let (Some(place), true) = (place, scene.flows.of.len() > 1) {
            for missing in &mut missing {
                let told = missing.sentence.trim_end_matches('.');
                missing.sentence = format!("{told} ({}).", place.name);
            }
        }
        missing
    };
    let places = samples.iter().zip(duties).enumerate();
    places.flat_map(of_place).collect()
}

/// Days that need a value and have none: with a discharge, or with one that is not known; of a level every day.
pub(crate) fn lacking_days(
    scene: &Scene<'_>,
    flows: &Flows,
    days: &[NaiveDate],
    values: &[&Sampled],
) -> Vec<(Vec<NaiveDate>, Missing)> {
    let every_day = least(scene.limit) == Least::EveryDay;
    let bare: Vec<NaiveDate> =
        days.iter().copied().filter(|day| !values.iter().any(|value| value.day == *day)).collect();
    let of = |flow: Flow| -> Vec<NaiveDate> {
        bare.iter().copied().filter(|day| every_day || flows.on(*day) == flow).collect()
    };
    let mut out = Vec::new();
    let without = of(Flow::Flowing);
    if !without.is_empty() {
        let (verb, what) =
            if every_day { ("has", "no reading on file") } else { ("had", "a discharge and no result on file") };
        let missing = Missing {
            of: None,
            paper: None,
            sentence: format!("{} {verb} {what}.", runs_text(&without, 3)),
            would_show: Some("A slip of those days, if there is one; else it is too late to get one.".to_owned()),
        };
        out.push((without, missing));
    }
    if !every_day {
        let open = of(Flow::NotKnown);
        if !open.is_empty() {
            let computed = open.iter().filter(|day| flows.computed_on(**day)).count();
            let also = if computed > 0 {
                format!(" (on {computed} of them water left by our computation)")
            } else {
                String::new()
            };
            let missing = Missing {
                of: None,
                paper: None,
                sentence: format!(
                    "{}: no result on file, and it is not known whether there was a discharge{also}.",
                    runs_text(&open, 3)
                ),
                would_show: Some("A look or a meter for each of those days.".to_owned()),
            };
            out.push((open, missing));
        }
    }
    out
}

/// Water of which nothing was counted, by way. What was not counted up to the day of the report, the next reading counts.
pub(crate) fn uncounted(missing: &[(&str, bool, Vec<NaiveDate>)], as_of: NaiveDate) -> Vec<Missing> {
    let mut out = Vec::new();
    let bare: Vec<&str> = missing.iter().filter(|(_, counted, _)| !counted).map(|(name, _, _)| *name).collect();
    for (name, _, days) in missing.iter().filter(|(_, counted, _)| *counted) {
        out.push(Missing {
            of: None,
            paper: None,
            sentence: format!("No reading of {name} covers {}.", runs_text(days, 3)),
            would_show: Some(match days.as_slice() {
                // Of so many days no reading may be on file at all.
                [first, .., last] if *last >= as_of && days.len() > 31 => {
                    let next = last.succ_opt().unwrap_or(*last);
                    format!("Readings from {} to {}, where they were written down.", day_label(*first), day_label(next))
                }
                [.., last] if *last >= as_of => {
                    let next = last.succ_opt().unwrap_or(*last);
                    format!("A reading on {} settles it, once it is copied.", day_label(next))
                }
                [_] => "A reading that covers it, if one was written down.".to_owned(),
                _ => "A reading that covers them, if one was written down.".to_owned(),
            }),
        });
    }
    if !bare.is_empty() {
        out.push(Missing {
            of: None,
            paper: None,
            sentence: format!("{} has no meter.", sentence_case(&channels_text(&bare))),
            would_show: Some("A meter there, or a look on each day without water.".to_owned()),
        });
    }
    out
}

fn sentence_case(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

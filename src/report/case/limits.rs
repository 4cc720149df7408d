//! How the options' limits come out, held against what the records show and against whether the computation repeats the log.

use crate::compare::{Measure, Predicted};
use crate::page::document::{Text, figures};
use crate::report::case::ComparedCase;
use crate::rules::{Outcome, Subject};

/// Why the computation decides nothing about a limit: what it rests on is computed far off the log at that point, or the
/// inspection report, which follows meters and logs, has it the other way.
pub fn far_off(case: &ComparedCase<'_>, name: &str) -> Option<String> {
    off_at_its_point(case, name).or_else(|| {
        let here = case.study.options.first()?.limits.iter().find(|limit| limit.name == name)?.outcome?;
        let report = case.recorded.iter().find(|(known, _)| known == name)?.1;
        let apart = is_kept(here)? != is_kept(report)?;
        apart.then(|| {
            format!(
                "the inspection report, which follows meters and logs, has it {}, and the computation without them {}",
                report.words(),
                here.words()
            )
        })
    })
}

/// Whether an outcome says that a limit is kept, or that it is not; none where it says neither.
fn is_kept(outcome: Outcome) -> Option<bool> {
    match outcome {
        Outcome::Met | Outcome::PredictedWithin => Some(true),
        Outcome::Exceeded | Outcome::BelowMinimum | Outcome::OutsideRange | Outcome::PredictedOutside => Some(false),
        _ => None,
    }
}

fn off_at_its_point(case: &ComparedCase<'_>, name: &str) -> Option<String> {
    let rules = case.study.options.first()?.alternative.rules.as_ref()?;
    let limit = rules.limits.iter().find(|limit| limit.name == name)?;
    let is_solids = |parameter: &str| ["total suspended solids", "suspended solids", "tss"].contains(&parameter);
    let measure = match &limit.subject {
        Subject::Parameter(of) | Subject::Load(of) | Subject::Removal(of, _) if is_solids(&of.to_lowercase()) => {
            Measure::Solids
        }
        Subject::Events => Measure::Events,
        _ => return None,
    };
    case.log.iter().filter(|of| of.measure == measure).find_map(|of| {
        let place = &case.facility.get(of.at)?.name;
        if !limit.at_text.ends_with(place.as_str()) {
            return None;
        }
        let times = of.times()?;
        of.is_far_off().then(|| {
            format!(
                "{} are computed {}{}% too {}",
                of.what,
                figures::number(100.0 * (times - 1.0).abs(), 0),
                figures::TIE,
                if times < 1.0 { "low" } else { "high" }
            )
        })
    })
}

/// How a limit comes out: undecided where what it rests on is computed far off the log.
pub fn outcome(case: &ComparedCase<'_>, limit: &Predicted) -> Option<Outcome> {
    match limit.outcome {
        Some(Outcome::PredictedWithin | Outcome::PredictedOutside) if far_off(case, &limit.name).is_some() => {
            Some(Outcome::Undecided)
        }
        of => of,
    }
}

/// How an option's limits come out, counted: `1 outside, 1 undecided, 2 within`; none where nothing is predicted of any.
pub fn counted(case: &ComparedCase<'_>, option: usize) -> Option<String> {
    let limits = &case.study.options.get(option)?.limits;
    let n = |wanted: Outcome| limits.iter().filter(|limit| outcome(case, limit) == Some(wanted)).count();
    let parts: Vec<String> = [
        (n(Outcome::PredictedOutside), "outside"),
        (n(Outcome::Undecided), "undecided"),
        (n(Outcome::PredictedWithin), "within"),
    ]
    .into_iter()
    .filter(|(n, _)| *n > 0)
    .map(|(n, word)| format!("{n}{}{word}", figures::TIE))
    .collect();
    (!parts.is_empty()).then(|| parts.join(", "))
}

/// How the limits' predictions change with an option, if they do; those by which it is worse stand in its verdict.
pub fn changes(case: &ComparedCase<'_>, option: usize) -> Option<String> {
    let (before, of) = (case.study.options.first()?, case.study.options.get(option)?);
    let words = |outcome: Option<Outcome>| outcome.map_or("not computed", Outcome::words);
    let worse = case.study.worse_limits(option, 0);
    let told = |name: &str| worse.iter().any(|of| of.with.name == name);
    let mut parts: Vec<String> = before
        .limits
        .iter()
        .filter(|limit| !told(&limit.name))
        .filter_map(|limit| {
            let now = of.limits.iter().find(|other| other.name == limit.name)?;
            let (was, now) = (outcome(case, limit), outcome(case, now));
            (was != now).then(|| format!("{} goes from {} to {}", limit.name, words(was), words(now)))
        })
        .collect();
    if parts.is_empty() {
        return None;
    }
    let more = parts.len().saturating_sub(2);
    parts.truncate(2);
    let mut words = format!("Limits: {}", parts.join("; "));
    if more > 0 {
        words.push_str(&format!("; {more} more"));
    }
    Some(format!("{words}."))
}

/// Whether the site complies, for page 1: what is outside in every option, what the records show, what can't be claimed, and
/// what applies no longer. None where nothing is known of any limit.
pub fn page_one(case: &ComparedCase<'_>) -> Option<Text> {
    let first = case.study.options.first()?;
    let mut text = Text::new().bold("The limits. ");
    let mut said = false;
    let mut say = |words: String| {
        said = true;
        text = std::mem::take(&mut text).plain(words);
    };
    let everywhere: Vec<&str> = first
        .limits
        .iter()
        .filter(|limit| {
            case.study
                .options
                .iter()
                .filter_map(|of| of.limits.iter().find(|other| other.name == limit.name))
                .all(|of| outcome(case, of) == Some(Outcome::PredictedOutside))
        })
        .map(|limit| limit.name.as_str())
        .collect();
    if !everywhere.is_empty() {
        say(format!("Predicted outside in every draw of every option it applies to: {}. ", some(&everywhere)));
    }
    let recorded: Vec<String> = case
        .recorded
        .iter()
        .filter(|(_, outcome)| matches!(outcome, Outcome::Exceeded | Outcome::BelowMinimum | Outcome::OutsideRange))
        .map(|(name, recorded)| {
            let computed = first.limits.iter().find(|limit| limit.name == *name).and_then(|limit| outcome(case, limit));
            format!("{name} {} (computed: {})", recorded.words(), computed.map_or("nothing", Outcome::words))
        })
        .collect();
    if !recorded.is_empty() {
        say(format!("As it stands, the records show {}. ", some(&recorded)));
    }
    let mut doubted: Vec<(String, Vec<&str>)> = Vec::new();
    for limit in first.limits.iter().filter(|limit| limit.outcome.is_some()) {
        if let Some(why) = far_off(case, &limit.name) {
            match doubted.iter_mut().find(|(known, _)| *known == why) {
                Some((_, names)) => names.push(&limit.name),
                None => doubted.push((why, vec![&limit.name])),
            }
        }
    }
    for (why, names) in &doubted {
        say(format!("No gain is claimed for {}: {why}. ", some(names)));
    }
    let mut gone: Vec<(&[String], Vec<String>)> = Vec::new();
    for option in case.options().skip(1) {
        let names = case.study.options.get(option).map_or(&[][..], |of| &of.alternative.limits_gone);
        match gone.iter_mut().find(|(known, _)| *known == names) {
            Some((_, options)) => options.push(case.short(option)),
            None if names.is_empty() => {}
            None => gone.push((names, vec![case.short(option)])),
        }
    }
    for (names, options) in &gone {
        say(format!("With {}, the limit {} applies no longer. ", options.join(" and "), some(names)));
    }
    let any = first.limits.iter().any(|limit| limit.outcome.is_some());
    let same = |option: usize| changes(case, option).is_none() && case.study.worse_limits(option, 0).is_empty();
    if any && case.options().skip(1).all(same) {
        say("No limit is predicted to come out otherwise than as it stands.".to_owned());
    }
    said.then_some(text)
}

/// Names in a row, the first three where there are many.
fn some<S: AsRef<str>>(names: &[S]) -> String {
    let first: Vec<&str> = names.iter().take(3).map(AsRef::as_ref).collect();
    match names.len().saturating_sub(3) {
        0 => first.join("; "),
        more => format!("{}; {more} more", first.join("; ")),
    }
}

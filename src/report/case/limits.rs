//! How the options' limits come out, held against what the records show and against whether the computation repeats the log.

use crate::compare::{NOTHING_FLOWS, Predicted};
use crate::page::document::{Text, figures};
use crate::report::case::ComparedCase;
use crate::rules::Outcome;

/// How a limit comes out: undecided where the computation is not believed about it.
pub fn outcome(case: &ComparedCase<'_>, limit: &Predicted) -> Option<Outcome> {
    case.study.believed(limit)
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
    let exceeded = |name: &String| case.study.on_file.exceeded.contains(name);
    let worse = case.study.worse_limits(option, 0);
    let told = |name: &str| worse.iter().any(|of| of.with.name == name);
    let mut parts: Vec<String> = before
        .limits
        .iter()
        .filter(|limit| !told(&limit.name))
        .filter_map(|limit| {
            let with = of.limits.iter().find(|other| other.name == limit.name)?;
            let (was, now) = (outcome(case, limit), outcome(case, with));
            let from = if exceeded(&limit.name) { "exceeded, by the records," } else { words(was) };
            (was != now).then(|| match with.figure.starts_with(NOTHING_FLOWS) {
                true => format!("{} has no water left to judge", limit.name),
                false => format!("{} goes from {from} to {}", limit.name, words(now)),
            })
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
    if let Some(words) = recorded(case) {
        say(format!("{words} "));
    }
    let mut doubted: Vec<(String, Vec<&str>)> = Vec::new();
    for limit in first.limits.iter().filter(|limit| limit.outcome.is_some()) {
        let Some(words) = doubted_words(case, &limit.name) else { continue };
        match doubted.iter_mut().find(|(known, _)| *known == words) {
            Some((_, names)) => names.push(&limit.name),
            None => doubted.push((words, vec![&limit.name])),
        }
    }
    for (words, names) in &doubted {
        say(words.replace("{}", &some(names)));
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
        say(format!("With {}, the limit {} no longer applies. ", options.join(" and "), some(names)));
    }
    let nowhere = |name: &str| {
        let mut all = case.study.options.iter().flat_map(|of| &of.limits).filter(|of| of.name == name);
        all.all(|of| of.outcome.is_none())
    };
    let not: Vec<&str> = first.limits.iter().map(|of| of.name.as_str()).filter(|name| nowhere(name)).collect();
    if !not.is_empty() {
        say(format!("Not computed for any option: {}. ", some(&not)));
    }
    let any = first.limits.iter().any(|limit| limit.outcome.is_some());
    let same = |option: usize| changes(case, option).is_none() && case.study.worse_limits(option, 0).is_empty();
    if any && case.options().skip(1).all(same) {
        say("No option is predicted to change how a limit comes out.".to_owned());
    }
    said.then_some(text)
}

/// What the records show of limits as the site stands; none where they show none exceeded.
pub fn recorded(case: &ComparedCase<'_>) -> Option<String> {
    let first = case.study.options.first()?;
    let recorded: Vec<String> = case
        .recorded
        .iter()
        .filter(|of| of.is_exceeded())
        .map(|of| {
            let (name, recorded) = (&of.limit, of.outcome.words());
            let computed = first.limits.iter().find(|limit| limit.name == *name).and_then(|limit| limit.outcome);
            format!("{name} {recorded} (computed: {})", computed.map_or("nothing", Outcome::words))
        })
        .collect();
    (!recorded.is_empty()).then(|| format!("As it stands, the records show {}.", some(&recorded)))
}

/// Why the computation is not believed about a limit, `{}`, where that leaves some option's outcome undecided.
fn doubted_words(case: &ComparedCase<'_>, limit: &str) -> Option<String> {
    let doubt = case.study.doubts.iter().find(|doubt| doubt.limit == limit)?;
    if doubt.is_of_the_report() {
        return Some(
            match doubt.decides_nothing {
                true => "The inspection report has {} kept and the computation outside: no gain is claimed for it. ",
                false => "Nothing shows that a change would keep {}. ",
            }
            .to_owned(),
        );
    }
    let mut of = case.study.options.iter().flat_map(|of| &of.limits).filter(|of| of.name == limit);
    let ends = doubt.ends.join("; ");
    of.any(|of| outcome(case, of) != of.outcome)
        .then(|| format!("{{}} may be as far from what is computed as these were: {ends}. "))
}

/// Names in a row, the first three where there are many.
fn some<S: AsRef<str>>(names: &[S]) -> String {
    let first: Vec<&str> = names.iter().take(3).map(AsRef::as_ref).collect();
    match names.len().saturating_sub(3) {
        0 => first.join("; "),
        more => format!("{}; {more} more", first.join("; ")),
    }
}

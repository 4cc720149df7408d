//! How the options' limits come out, held against what the records show and against whether the computation repeats the log.

use std::collections::BTreeMap;

use chrono::Datelike;

use crate::balance::{Node, Selector, Watch};
use crate::compare::{Doubt, NOTHING_FLOWS, Predicted};
use crate::facility::model::PlaceId;
use crate::page::document::{Text, figures};
use crate::report::case::tables::outcome_words;
use crate::report::case::{ComparedCase, digits, one_form, three};
use crate::rules::{Outcome, Subject};

/// How a limit comes out: undecided where the computation is not believed about it.
pub fn outcome(case: &ComparedCase<'_>, limit: &Predicted) -> Option<Outcome> {
    case.study.believed(limit)
}

/// Why a limit that comes out within is so as computed alone: nobody sampled there, or hardly anybody. So fewer samples never read kinder.
pub fn as_computed(case: &ComparedCase<'_>, limit: &Predicted) -> Option<String> {
    let is_within = outcome(case, limit) == Some(Outcome::PredictedWithin) && !limit.figure.starts_with(NOTHING_FLOWS);
    is_within.then(|| case.study.hardly_sampled(&limit.name)).flatten()
}

/// How a limit comes out, in words: `predicted within`, `within as computed (never sampled)`.
pub fn in_words(case: &ComparedCase<'_>, limit: &Predicted) -> String {
    match (outcome(case, limit), as_computed(case, limit)) {
        (_, Some(why)) => format!("within as computed ({why})"),
        (of, None) => of.map_or("not computed", Outcome::words).to_owned(),
    }
}

/// How an option's limits come out, counted: `1 outside, 1 undecided, 2 within`; none where nothing is predicted of any.
pub fn counted(case: &ComparedCase<'_>, option: usize) -> Option<String> {
    let limits = &case.study.options.get(option)?.limits;
    let all = |wanted: Outcome| limits.iter().filter(move |limit| outcome(case, limit) == Some(wanted));
    let within =
        |is_so: bool| all(Outcome::PredictedWithin).filter(|limit| as_computed(case, limit).is_some() == is_so).count();
    let parts: Vec<String> = [
        (all(Outcome::PredictedOutside).count(), "outside"),
        (all(Outcome::Undecided).count(), "undecided"),
        (within(true), "as computed within"),
        (within(false), "within"),
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
            let from = match exceeded(&limit.name) {
                true => "exceeded, by the records,".to_owned(),
                false => in_words(case, limit),
            };
            (was != now).then(|| match with.figure.starts_with(NOTHING_FLOWS) {
                true => format!("{} has no water left to judge", limit.name),
                false => format!("{} goes from {from} to {}", limit.name, in_words(case, with)),
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
    let is_told = |name: &str| {
        doubted.iter().any(|(_, names)| names.contains(&name))
            || everywhere.contains(&name)
            || case.recorded.iter().any(|of| of.is_exceeded() && of.limit == name)
    };
    let besides: Vec<String> = first
        .limits
        .iter()
        .filter(|limit| outcome(case, limit) == Some(Outcome::Undecided) && !is_told(&limit.name))
        .map(|limit| {
            let words = outcome_words(case, Some(limit));
            let words = words.trim_start_matches("undecided").trim_start_matches([':', ',', ' ']);
            format!("{} (computed: {}; {words})", limit.name, one_form(&limit.figure))
        })
        .collect();
    if !besides.is_empty() {
        say(format!("Not decided either: {}. ", some(&besides)));
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
            let limit = first.limits.iter().find(|limit| limit.name == *name);
            let Some(limit) = limit.filter(|limit| limit.outcome.is_some()) else {
                return format!("{name} {recorded} (nothing is computed of it)");
            };
            let unit = limit.past.as_ref().map_or("", |past| past.unit.as_str());
            let on_file = of
                .worst
                .map(|worst| format!("{} on file, ", figures::with_unit(three(worst), digits(three(worst)), unit)));
            let words = outcome_words(case, Some(limit));
            format!("{name} {recorded} ({}computed {}: {words})", on_file.unwrap_or_default(), one_form(&limit.figure))
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

/// How much the worst figure of the draws may be by what was sampled at the limit's point: `by the samples up to 57.4 mg/L`; none where
/// that is no more, or no upper limit.
pub fn by_the_samples(case: &ComparedCase<'_>, limit: &Predicted) -> Option<String> {
    /// Less than this share more is no more (common practice, no source).
    const MORE: f64 = 0.01;
    let past = limit.past.as_ref().filter(|past| past.upper.is_some() && !past.is_removal)?;
    let of_limit = |doubt: &&Doubt| doubt.limit == limit.name && doubt.how == "sampled";
    let doubt = case.study.doubts.iter().find(of_limit)?;
    let most = past.draws.iter().copied().fold(past.middle, f64::max);
    let (_, high) = past.range(doubt);
    let words = || figures::with_unit(three(high), digits(three(high)), &past.unit);
    match high.is_finite() {
        true => (high > most * (1.0 + MORE)).then(|| format!("by the samples up to {}", words())),
        false => Some("by the samples far more".to_owned()),
    }
}

/// Why limits on the solids of a water have one worst figure, whether of a day or of a month: the month has water on a single day.
pub fn of_one_day(case: &ComparedCase<'_>) -> Option<String> {
    let first = case.study.options.first()?;
    let rules = first.alternative.rules.as_ref()?;
    let alike = |limit: &Predicted| {
        let of = |name: &str| rules.limits.iter().find(|of| of.name == name);
        let this = of(&limit.name).filter(|of| matches!(of.subject, Subject::Parameter(_)))?;
        let other = first.limits.iter().find(|other| {
            let it = of(&other.name);
            other.name != limit.name
                && other.figure == limit.figure
                && it.is_some_and(|it| it.at_text == this.at_text && it.subject == this.subject)
        })?;
        Some((this, other))
    };
    let (this, other) = first.limits.iter().filter(|limit| limit.past.is_some()).find_map(alike)?;
    let mut places = (0..first.alternative.facility.places.len()).map(PlaceId);
    let to = Selector::to(Node::Place(places.find(|place| this.at.arrives_at(*place))?));
    let water = first.run.ledger.series(&Watch::Water(to));
    let solids = first.run.ledger.series(&Watch::Solids(to));
    let mut months: BTreeMap<(i32, u32), (usize, f64)> = BTreeMap::new();
    for (day, (m3, kg)) in water.values.iter().zip(&solids.values).enumerate().filter(|(_, (m3, _))| **m3 > 0.0) {
        let date = water.date(day);
        let (days, most) = months.entry((date.year(), date.month())).or_default();
        *days += 1;
        *most = most.max(kg / m3);
    }
    let (days, _) = months.into_values().max_by(|a, b| a.1.total_cmp(&b.1))?;
    (days == 1).then(|| {
        format!(
            "{} and {} have one worst figure, as in the month in which it is worst water comes on a single day.",
            this.name, other.name
        )
    })
}

/// Names in a row, the first three where there are many.
fn some<S: AsRef<str>>(names: &[S]) -> String {
    let first: Vec<&str> = names.iter().take(3).map(AsRef::as_ref).collect();
    match names.len().saturating_sub(3) {
        0 => first.join("; "),
        more => format!("{}; {more} more", first.join("; ")),
    }
}

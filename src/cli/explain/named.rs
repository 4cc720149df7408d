//! What a name on the command line may stand for, whole or by a part of it.

use std::fmt::Write as _;

use crate::cli::judged::Judged;
use crate::cli::load::{self, Site};
use crate::facility::model::{Meter, PlaceId};
use crate::quantity::{all_nearest, parameter_as_written, parameter_name};
use crate::rules::window::statistics;
use crate::rules::{Finding, Statistic};
use crate::science::{self, Method};

/// Something that can be explained.
#[derive(Clone, Copy)]
pub(super) enum Subject<'a> {
    /// A limit or a duty.
    Finding(&'a Finding),
    /// A place, of which a day must be named.
    Place(PlaceId),
    /// A meter.
    Meter(&'a Meter),
    /// What is measured in water.
    Parameter,
    /// How a figure is made of readings.
    Statistic(&'static Statistic),
    /// An equation.
    Method(&'static Method),
}

/// Names listed where several are meant.
const MOST_LISTED: usize = 8;

/// What can be explained of a site, by name, in the order in which names are looked for.
pub(super) fn all<'a>(site: &'a Site, judged: &'a Judged) -> Vec<(String, Subject<'a>)> {
    let findings = judged.findings.iter();
    let mut out: Vec<(String, Subject)> =
        findings.clone().map(|finding| (finding.name.clone(), Subject::Finding(finding))).collect();
    out.extend(findings.map(|finding| (finding.id.clone(), Subject::Finding(finding))));
    let places = site.facility.places.iter().enumerate();
    out.extend(places.map(|(at, place)| (place.name.clone(), Subject::Place(PlaceId(at)))));
    out.extend(site.facility.meters.iter().map(|meter| (meter.name.clone(), Subject::Meter(meter))));
    let of_limits = site.rules.iter().flat_map(|rules| &rules.limits).filter_map(|limit| limit.parameter.clone());
    let on_file = site.timeline.samples.iter().map(|sample| sample.parameter.clone());
    let mut parameters: Vec<String> = of_limits.chain(on_file).map(|typed| parameter_as_written(&typed)).collect();
    parameters.sort();
    parameters.dedup();
    out.extend(parameters.into_iter().map(|name| (name, Subject::Parameter)));
    for statistic in statistics::ALL {
        let words = std::iter::once(&statistic.words).chain(statistic.also);
        out.extend(words.map(|words| ((*words).to_owned(), Subject::Statistic(statistic))));
    }
    for method in science::all() {
        out.extend([method.id, method.name].map(|name| (name.to_owned(), Subject::Method(method))));
    }
    out
}

/// The one thing that a name stands for: its whole name in any case, else a name that holds every word of it.
///
/// # Errors
/// When there is none or more than one: what to write.
pub(super) fn find<'a>(names: &[(String, Subject<'a>)], typed: &str) -> Result<(String, Subject<'a>), String> {
    let same = |name: &str| name.trim().eq_ignore_ascii_case(typed.trim());
    if let Some(found) = names.iter().find(|(name, _)| same(name)) {
        return Ok(found.clone());
    }
    // `TSS` is total suspended solids.
    let parameter = parameter_name(typed);
    let written =
        names.iter().find(|(name, subject)| matches!(subject, Subject::Parameter) && parameter_name(name) == parameter);
    if let Some(found) = written {
        return Ok(found.clone());
    }
    let wanted = words(typed);
    let holds = |name: &str| {
        let own = words(name);
        !wanted.is_empty() && wanted.iter().all(|word| own.iter().any(|own| own.starts_with(word.as_str())))
    };
    let mut parts: Vec<&(String, Subject)> = Vec::new();
    for found in names.iter().filter(|(name, _)| holds(name)) {
        if !parts.iter().any(|held| is_same(held.1, found.1)) {
            parts.push(found);
        }
    }
    // What a name of the site's own begins with stands above its words found in another.
    let begins = |name: &str| name.to_lowercase().starts_with(&typed.trim().to_lowercase());
    let is_own = |subject: &Subject| !matches!(subject, Subject::Statistic(_) | Subject::Method(_));
    let has_own = parts.iter().any(|(_, subject)| is_own(subject));
    if parts.len() > 1 {
        let mut first: Vec<&(String, Subject)> =
            names.iter().filter(|(name, subject)| (is_own(subject) || !has_own) && begins(name)).collect();
        // `B.1` begins `B.10` too; a notice or a duty of a limit begins with the limit's name.
        let whole = |name: &str| !name.get(typed.trim().len()..).unwrap_or_default().starts_with(char::is_alphanumeric);
        if first.iter().any(|(name, _)| whole(name)) {
            first.retain(|(name, _)| whole(name));
        }
        if let Some(of_all) = first.iter().min_by_key(|(name, _)| name.len()).copied()
            && first.iter().all(|(name, _)| name.starts_with(of_all.0.as_str()))
        {
            first = vec![of_all];
        }
        if !first.is_empty() {
            parts = first;
        }
    }
    match parts.as_slice() {
        [only] => Ok((*only).clone()),
        [] => {
            let near = all_nearest(typed, names.iter().map(|(name, _)| name.as_str()));
            let mut near: Vec<&str> = near.into_iter().take(MOST_LISTED).collect();
            near.dedup();
            Err(match near.as_slice() {
                [] => format!(
                    "there is no limit, duty, place, meter, parameter, statistic or method `{typed}`; `bywash check` reads \
                     back all that the site has"
                ),
                near => format!("there is nothing called `{typed}`; did you mean {}?", listed(near)),
            })
        }
        several => {
            let mut out = format!("`{typed}` may mean one of these; write one of them:");
            for (name, _) in several.iter().take(MOST_LISTED) {
                let _ = write!(out, "\n  \"{name}\"");
            }
            if several.len() > MOST_LISTED {
                let _ = write!(out, "\n  and {} more", several.len() - MOST_LISTED);
            }
            Err(out)
        }
    }
}

fn is_same(a: Subject, b: Subject) -> bool {
    match (a, b) {
        (Subject::Finding(a), Subject::Finding(b)) => a.id == b.id,
        (Subject::Statistic(a), Subject::Statistic(b)) => a.words == b.words,
        (Subject::Method(a), Subject::Method(b)) => a.id == b.id,
        (Subject::Place(a), Subject::Place(b)) => a == b,
        (Subject::Meter(a), Subject::Meter(b)) => a.name == b.name,
        _ => false,
    }
}

fn words(text: &str) -> Vec<String> {
    text.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).map(str::to_lowercase).collect()
}

fn listed(names: &[&str]) -> String {
    let quoted: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
    match quoted.as_slice() {
        [all @ .., last] if !all.is_empty() => format!("{} or {last}", all.join(", ")),
        _ => quoted.concat(),
    }
}

/// A meter: its way, and what is on file of it.
pub(super) fn meter(site: &Site, meter: &Meter) -> String {
    let name = |at| site.facility.get(at).map_or("?", |place| place.name.as_str());
    let mut out = format!(
        "{}, from {} to {}, counts in {}\n",
        meter.name,
        name(meter.from),
        name(meter.to),
        meter.counts_in_now()
    );
    let _ = writeln!(out, "  typed at {}", meter.place);
    for source in site.timeline.sources.iter().filter(|source| source.name.starts_with(meter.name.as_str())) {
        load::wrapped(&mut out, &super::super::check::source(source));
    }
    for repair in site.timeline.repairs.iter().filter(|repair| repair.sentence.contains(meter.name.as_str())) {
        load::wrapped(&mut out, &format!("{}: {}", repair.place, repair.sentence));
    }
    out
}

/// A parameter: the limits that hold it, and its results by place.
pub(super) fn parameter(site: &Site, judged: &Judged, name: &str) -> String {
    let is_it = |typed: &str| parameter_name(typed) == parameter_name(name);
    let mut out = format!("{name}\n");
    let limits = site.rules.iter().flat_map(|rules| &rules.limits);
    for limit in limits.filter(|limit| limit.parameter.as_deref().is_some_and(is_it)) {
        let outcome = judged.findings.iter().find(|finding| finding.place.as_ref() == Some(&limit.place));
        let outcome = outcome.map_or_else(String::new, |finding| format!(": {}", finding.outcome));
        load::wrapped(&mut out, &format!("{}, {} at {}{outcome}", limit.name, limit.statistic.words, limit.at_text));
    }
    for (at, place) in site.facility.places.iter().enumerate() {
        let samples: Vec<_> = site
            .timeline
            .samples
            .iter()
            .filter(|sample| sample.at == PlaceId(at) && is_it(&sample.parameter))
            .collect();
        if let (Some(first), Some(last)) = (samples.first(), samples.last()) {
            let count = samples.len();
            let results = if count == 1 { "result" } else { "results" };
            load::wrapped(
                &mut out,
                &format!("{}: {count} {results} on file, {} to {}", place.name, first.day, last.day),
            );
        }
    }
    out
}

/// What a statistic means.
pub(super) fn statistic(of: &Statistic) -> String {
    let mut out = format!("{}\n", of.words);
    load::wrapped(&mut out, of.means);
    out
}

/// An equation with its symbols and source.
pub(super) fn method(of: &Method) -> String {
    let mut out = format!("{} ({})\n", of.name, of.id);
    load::wrapped(&mut out, of.equation);
    for (symbol, meaning, unit) in of.symbols {
        load::wrapped(&mut out, &format!("{symbol}: {meaning}, {unit}"));
    }
    load::wrapped(&mut out, &format!("holds: {}", of.valid_range));
    load::wrapped(&mut out, &format!("outside: {}", of.outside));
    load::wrapped(&mut out, &format!("source: {} ({})", of.source, of.standing.words()));
    out
}

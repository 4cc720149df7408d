//! Results that no limit asks for: on file all the same, and nothing on file is left out.

use std::collections::HashSet;

use crate::page::document::{Cell, Column, Document, Table};
use crate::quantity::{parameter_as_written, parameter_name};
use crate::records::{Qualifier, Sample};
use crate::report::inspection::about::{Case, day, trace};
use crate::rules::{ConditionOf, Finding, Limit, Point, Subject};
use crate::told::{Place, many};

/// Most results printed.
const MOST: usize = 300;

/// Writes the section; nothing where every result is held against a limit.
pub fn write(case: &Case, doc: &mut Document) {
    let samples = samples(case);
    if samples.is_empty() {
        return;
    }
    doc.heading(2, "Results that no limit asks for");
    let mut table = Table::new(vec![
        Column::words("Day"),
        Column::words("Place"),
        Column::words("Parameter"),
        Column::words("Result"),
        Column::words("Paper"),
    ]);
    for sample in samples.iter().take(MOST) {
        let at = case.facility.get(sample.at).map_or("", |place| place.name.as_str());
        table.traced(
            vec![
                Cell::words(day(sample.day)),
                Cell::words(at),
                Cell::words(parameter_as_written(&sample.parameter)),
                Cell::words(result(sample)),
                sample.source.paper.as_ref().map_or_else(Cell::nothing, |paper| Cell::words(paper.clone())),
            ],
            trace(&sample.source.place),
        );
    }
    if samples.len() > MOST {
        table.note(format!("{} more stand in the record files.", samples.len() - MOST));
    }
    doc.table(table);
}

/// Writes the results that are below what could be measured: who compares laboratories looks at their limits.
pub fn below_detection(case: &Case, doc: &mut Document) {
    let samples = below(case);
    if samples.is_empty() {
        return;
    }
    doc.heading(2, "Results below detection");
    let mut table = Table::new(vec![
        Column::words("Parameter"),
        Column::words("Place"),
        Column::words("Day"),
        Column::words("Below"),
        Column::words("Paper"),
    ]);
    for sample in samples.iter().take(MOST) {
        let at = case.facility.get(sample.at).map_or("", |place| place.name.as_str());
        let limit = result(sample);
        table.traced(
            vec![
                Cell::words(parameter_as_written(&sample.parameter)),
                Cell::words(at),
                Cell::words(day(sample.day)),
                Cell::words(limit.trim_start_matches('<')),
                sample.source.paper.as_ref().map_or_else(Cell::nothing, |paper| Cell::words(paper.clone())),
            ],
            trace(&sample.source.place),
        );
    }
    if samples.len() > MOST {
        table.note(format!("{} more stand in the record files.", samples.len() - MOST));
    }
    table.note("“Below” is the least that the laboratory could tell, as the slip has it.");
    doc.table(table);
}

/// `2 results are below detection: each stands in the annex, with what could be told.`
pub fn how_many_below(case: &Case) -> Option<String> {
    let n = below(case).len();
    let is = if n == 1 { "is" } else { "are" };
    (n > 0).then(|| {
        format!("{} {is} below detection: the annex lists {}.", many(n, "result"), if n == 1 { "it" } else { "them" })
    })
}

/// Results of the period below what could be measured, by parameter, place and day.
fn below<'a>(case: &Case<'a>) -> Vec<&'a Sample> {
    let (from, to) = case.period;
    let of_period = case.timeline.samples.iter().filter(|sample| from <= sample.day && sample.day <= to);
    let mut samples: Vec<&Sample> =
        of_period.filter(|sample| sample.value.is_some() && sample.qualifier == Qualifier::Below).collect();
    samples.sort_by_key(|sample| (parameter_name(&sample.parameter), sample.at.0, sample.day));
    samples
}

/// How many there are, for the report itself: `12 results on file that no limit asks for stand in the annex.`
pub fn how_many(case: &Case) -> Option<String> {
    let n = samples(case).len();
    let stand = if n == 1 { "stands" } else { "stand" };
    (n > 0).then(|| format!("{} that no limit asks for {stand} in the annex.", many(n, "result")))
}

/// Results of the period that no limit of their parameter was held against, in order. One that merely showed that water
/// flowed is among them; one that is lost or void is not, where a limit would have asked for it: it is told as a repair.
fn samples<'a>(case: &Case<'a>) -> Vec<&'a Sample> {
    let used: HashSet<(String, &Place)> = case
        .findings
        .iter()
        .flat_map(|finding| parameters_of(case, finding).into_iter().map(move |parameter| (parameter, finding)))
        .flat_map(|(parameter, finding)| {
            let windows = finding.windows.iter().flat_map(|window| &window.evidence);
            let places = finding.evidence.iter().chain(windows).filter_map(|evidence| evidence.place.as_ref());
            places.map(move |place| (parameter.clone(), place))
        })
        .collect();
    let (from, to) = case.period;
    let is_asked = |sample: &Sample| match &sample.value {
        Some(_) => used.contains(&(parameter_name(&sample.parameter), &sample.source.place)),
        None => case.limits.iter().any(|limit| is_of(limit, sample)),
    };
    let of_period = case.timeline.samples.iter().filter(|sample| from <= sample.day && sample.day <= to);
    of_period.filter(|sample| !is_asked(sample)).collect()
}

/// The parameters that a limit asks for, by the names that are compared: what it is of, and what it turns on.
fn parameters(limit: &Limit) -> Vec<String> {
    let conditions = limit.only_when.iter().filter_map(|condition| match &condition.of {
        ConditionOf::Reading(name, _) => Some(parameter_name(name)),
        _ => None,
    });
    let subject = match &limit.subject {
        Subject::Parameter(name) | Subject::Load(name) | Subject::Removal(name, _) => Some(parameter_name(name)),
        _ => None,
    };
    conditions.chain(subject).collect()
}

fn parameters_of(case: &Case, finding: &Finding) -> Vec<String> {
    let limit = case.limits.iter().find(|limit| Some(&limit.place) == finding.place.as_ref());
    limit.map(parameters).unwrap_or_default()
}

/// Whether a limit is of a sample's parameter, at its place.
fn is_of(limit: &Limit, sample: &Sample) -> bool {
    let is_at = match &limit.at {
        Point::Places(places) => places.contains(&sample.at),
        Point::Streams(streams) => streams.iter().any(|(_, place)| *place == sample.at),
        Point::Of(_, place) | Point::Into(place) | Point::OutOf(place) | Point::Way(_, place) => *place == sample.at,
    };
    is_at && parameters(limit).contains(&parameter_name(&sample.parameter))
}

/// A result as it was typed.
fn result(sample: &Sample) -> String {
    let Some(value) = &sample.value else { return "lost or void".to_owned() };
    let sign = match sample.qualifier {
        Qualifier::None => "",
        Qualifier::Below => "<",
        Qualifier::Above => ">",
        Qualifier::Estimated => "about ",
    };
    format!("{sign}{value} {}", sample.unit.as_deref().unwrap_or("")).trim_end().to_owned()
}

//! What is on file, row by row, with file, line and paper.

use std::collections::BTreeSet;

use chrono::NaiveDate;

use crate::page::html::{DayRecord, DaySpan, Paper};
use crate::records::{Observation, Qualifier, Source};
use crate::report::inspection::about::{Case, file_name};

fn paper(source: &Source) -> Paper {
    Paper { file: file_name(&source.place.file).to_owned(), line: source.place.line, paper: source.paper.clone() }
}

fn day_of(case: &Case, day: NaiveDate) -> i64 {
    (day - case.period.0).num_days()
}

/// The rows of the period.
pub fn records(case: &Case) -> Vec<DayRecord> {
    let line = |source: &Source| (source.place.file.to_string(), source.place.line);
    let looks: BTreeSet<_> = case.timeline.looks.iter().map(|look| line(&look.source)).collect();
    let samples: BTreeSet<_> = case.timeline.samples.iter().map(|sample| line(&sample.source)).collect();
    let (from, to) = case.period;
    let rows = case.timeline.observations.iter().filter(|row| from <= row.day && row.day <= to);
    rows.map(|row| DayRecord {
        day: day_of(case, row.day),
        name: row.name.clone(),
        words: words(row),
        mark: match line(&row.source) {
            at if looks.contains(&at) => "look",
            at if samples.contains(&at) => "sample",
            _ => "other",
        },
        paper: paper(&row.source),
        note: [row.source.who.as_deref(), row.source.note.as_deref()]
            .into_iter()
            .flatten()
            .collect::<Vec<_>>()
            .join("; "),
    })
    .collect()
}

/// A row in words: `sample, total suspended solids < 5 mg/L, 8:30`.
fn words(row: &Observation) -> String {
    let mut words = row.what.clone();
    if let Some(parameter) = row.parameter.as_deref().filter(|parameter| *parameter != row.what) {
        words.push_str(&format!(" of {parameter}"));
    }
    let before = match row.qualifier {
        Qualifier::None => "",
        Qualifier::Below => "< ",
        Qualifier::Above => "> ",
        Qualifier::Estimated => "estimated ",
    };
    // Slips that carry the sign with the figure have it once.
    let before = if row.value.trim_start().starts_with(['<', '>']) { "" } else { before };
    if !row.value.is_empty() {
        words.push_str(&format!(": {before}{}", row.value));
    }
    // A value written with its unit has it once.
    let has_one = row.value.contains(|c: char| c.is_alphabetic() || c == '\'' || c == '"');
    if let Some(unit) = row.unit.as_ref().filter(|_| !has_one) {
        words.push_str(&format!(" {unit}"));
    }
    if let Some(time) = row.time {
        words.push_str(&format!(", at {}", time.format("%-H:%M")));
    }
    words
}

/// What meters counted in spans that touch the period.
pub fn spans(case: &Case) -> Vec<DaySpan> {
    let (from, to) = case.period;
    let mut spans = Vec::new();
    for span in &case.timeline.meter_spans {
        let first = day_of(case, span.first_day);
        let Some(meter) = case.facility.meters.get(span.meter) else { continue };
        if first + i64::from(span.days) <= 0 || span.first_day > to || span.to.date() < from {
            continue;
        }
        let head = span.head.as_ref().map(|head| format!(" computed from {head} over the weir"));
        let dial = head.or_else(|| match &span.before {
            Some(_) => {
                case.rows.seen_at(case.timeline, &span.after.place).map(|seen| format!(" to dial {}", seen.digits))
            }
            None => None,
        });
        let dial = dial.unwrap_or_default();
        let plain = span.unit.starts_with(|c: char| c.is_alphabetic() && c != 'x');
        spans.push(DaySpan {
            meter: meter.name.clone(),
            ends: (meter.from.0, meter.to.0),
            days: (first, span.days),
            words: format!("{}{}{}{dial}", span.counts, if plain { " " } else { " counts of " }, span.unit),
            before: span.before.as_ref().map(paper),
            after: paper(&span.after),
        });
    }
    spans
}

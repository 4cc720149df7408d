//! Each limit: the permit's words, the outcome, every window with its arithmetic and evidence, what is missing.

use crate::page::document::{Basis, Cell, Column, Document, Table, Text};
use crate::report::inspection::about::{Case, day, measured, trace};
use crate::report::inspection::lacking::told_once;
use crate::rules::{Evidence, Finding, FindingKind, Outcome, Provenance, WindowFinding};

/// Most lines of evidence printed for one window; `explain` prints all of them.
const MOST_EVIDENCE: usize = 8;
/// Most windows with their working printed for one limit.
const MOST_WORKED: usize = 6;
/// Windows printed for one limit; the others are counted by outcome.
const FEW_WINDOWS: usize = 14;
/// Most missing things named one by one for one limit.
const MOST_MISSING: usize = 8;

/// Writes the section.
pub fn write(case: &Case, doc: &mut Document) {
    let limits: Vec<&Finding> = case.findings.iter().filter(|finding| finding.kind == FindingKind::Limit).collect();
    if limits.is_empty() {
        return;
    }
    doc.heading(2, "Each limit, with its evidence");
    doc.paragraph(
        "The permit's own words first, as typed. Then what our records show, window by window, with the arithmetic. \
         “bywash explain” prints any of these in full.",
    );
    for finding in limits {
        one(finding, doc);
    }
}

fn one(finding: &Finding, doc: &mut Document) {
    doc.anchored(3, finding.name.clone(), finding.id.clone());
    let folio = finding.place.as_ref().map(trace).unwrap_or_default();
    if let Some(words) = &finding.words {
        doc.traced(Text::new().italic(format!("“{}”", words.trim())), folio);
    }
    let mut text = Text::new().bold(capital(finding.outcome.words()));
    text = text.plain(format!(" at {}", finding.at));
    if let Some(limit) = &finding.limit {
        text = text.plain(format!(", {}", limit.text));
    }
    if let Some(figure) = &finding.figure {
        let basis = match figure.provenance {
            Provenance::Measured => measured(&figure.unit),
            Provenance::Computed => Basis::Computed,
        };
        text = text.plain("; worst ").figure(figure.text.clone(), basis);
    }
    if let Some(when) = &finding.worst_when {
        text = text.plain(format!(" ({when})"));
    }
    text = text.plain(format!("; {}.", or_nothing(&finding.how_many)));
    doc.paragraph(text);
    for sentence in &finding.sentences {
        doc.paragraph(sentence.as_str());
    }
    if let Some((turns_on, outcome)) = &finding.other_answer {
        doc.paragraph(format!(
            "The permit does not say all of how this counts: if {turns_on}, the outcome would be {outcome}."
        ));
    }
    windows(finding, doc);
    let all = told_once(&finding.missing);
    if !all.is_empty() {
        doc.list(
            all.iter()
                .take(MOST_MISSING)
                .map(|missing| {
                    let mut text = missing.sentence.clone();
                    if let Some(show) = &missing.would_show {
                        text.push(' ');
                        text.push_str(show);
                    }
                    Text::from(text)
                })
                .collect(),
        );
        if all.len() > MOST_MISSING {
            doc.paragraph(format!("And {} more like these; “bywash explain” prints them.", all.len() - MOST_MISSING));
        }
    }
}

fn windows(finding: &Finding, doc: &mut Document) {
    if finding.windows.is_empty() {
        if !finding.evidence.is_empty() {
            doc.table(evidence_table(&finding.evidence));
        }
        return;
    }
    let mut table = Table::new(vec![
        Column::words("Window"),
        Column::words("Outcome"),
        Column::words("Figure"),
        Column::figures("n", ""),
        Column::words("Arithmetic"),
    ]);
    let shown = shown(finding);
    let mut worked = 0;
    for window in shown.iter().filter_map(|at| finding.windows.get(*at)) {
        table.traced(
            vec![
                Cell::words(window.label.clone()),
                Cell::words(window.outcome.words()),
                figure_cell(window),
                Cell::number(window.n as f64, 0),
                Cell::words(window.arithmetic.join("; ")),
            ],
            window.evidence.first().and_then(|evidence| evidence.place.as_ref()).map(trace).unwrap_or_default(),
        );
    }
    for (words, count) in left_out(finding, &shown) {
        table.note(format!("{count} more {words}; “bywash explain” prints them."));
    }
    doc.table(table);
    for window in &finding.windows {
        let tells = matches!(window.outcome, Outcome::Exceeded | Outcome::BelowMinimum | Outcome::OutsideRange);
        if tells && worked < MOST_WORKED && !window.evidence.is_empty() {
            worked += 1;
            doc.paragraph(Text::new().bold(format!("{}: what it rests on", window.label)));
            doc.table(evidence_table(&window.evidence));
        }
    }
}

/// Which windows are printed, in order of time: all of a few; of many, those over first, then those not shown, then the
/// ones nearest to the limit.
fn shown(finding: &Finding) -> Vec<usize> {
    let all = finding.windows.len();
    if all <= FEW_WINDOWS {
        return (0..all).collect();
    }
    let is_minimum = finding.limit.as_ref().is_some_and(|limit| limit.at_most.is_none());
    let nearness = |window: &WindowFinding| match &window.figure {
        Some(figure) if is_minimum => -figure.low,
        Some(figure) => figure.high,
        None => f64::NEG_INFINITY,
    };
    let mut order: Vec<usize> = (0..all).collect();
    order.sort_by(|a, b| match (finding.windows.get(*a), finding.windows.get(*b)) {
        (Some(a), Some(b)) => a.outcome.cmp(&b.outcome).then(nearness(b).total_cmp(&nearness(a))),
        _ => std::cmp::Ordering::Equal,
    });
    order.truncate(FEW_WINDOWS);
    order.sort_unstable();
    order
}

/// How many windows of each outcome are not printed.
fn left_out(finding: &Finding, shown: &[usize]) -> Vec<(String, usize)> {
    let mut out: Vec<(Outcome, usize)> = Vec::new();
    for (at, window) in finding.windows.iter().enumerate() {
        if shown.contains(&at) {
            continue;
        }
        match out.iter_mut().find(|(outcome, _)| *outcome == window.outcome) {
            Some((_, count)) => *count += 1,
            None => out.push((window.outcome, 1)),
        }
    }
    out.sort();
    out.into_iter().map(|(outcome, count)| (outcome.words().to_owned(), count)).collect()
}

fn figure_cell(window: &WindowFinding) -> Cell {
    match &window.figure {
        None => Cell::nothing(),
        Some(figure) => Cell::known(
            figure.text.clone(),
            match figure.provenance {
                Provenance::Measured => measured(&figure.unit),
                Provenance::Computed => Basis::Computed,
            },
        ),
    }
}

/// A table of evidence: day, what it says, the paper, and the file and line in the folio column.
pub fn evidence_table(evidence: &[Evidence]) -> Table {
    let mut table = Table::new(vec![Column::words("Day"), Column::words("What it says"), Column::words("Paper")]);
    for one in evidence.iter().take(MOST_EVIDENCE) {
        table.traced(
            vec![
                Cell::words(day(one.day)),
                Cell::words(one.text.clone()),
                match &one.paper {
                    Some(paper) => Cell::words(paper.clone()),
                    None => Cell::nothing(),
                },
            ],
            one.place.as_ref().map(trace).unwrap_or_default(),
        );
    }
    if evidence.len() > MOST_EVIDENCE {
        table.note(format!("{} more lines like these.", evidence.len() - MOST_EVIDENCE));
    }
    table
}

fn capital(words: &str) -> String {
    let mut chars = words.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

fn or_nothing(words: &str) -> &str {
    if words.is_empty() { "nothing on file" } else { words }
}

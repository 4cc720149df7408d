//! Every window of every limit, for the annex: figure, arithmetic, paper.

use std::collections::{BTreeMap, BTreeSet};

use chrono::Datelike;

use crate::page::document::{Cell, Column, Document, Table, Text};
use crate::report::inspection::about::{Case, day, said, trace};
use crate::report::inspection::beside;
use crate::report::inspection::lacking::told_in_full;
use crate::report::inspection::limits::without_label;
use crate::report::inspection::page_one::basis_of;
use crate::report::inspection::paper_trail::{papers, turned};
use crate::rules::{Evidence, Finding, FindingKind, Outcome, WindowFinding};

/// Most lines of evidence printed below one limit.
const MOST_EVIDENCE: usize = 200;

/// Most windows of one limit that are all printed: two years of days. Of more, those that came out well stand for their
/// month by the nearest to the limit.
const MOST_WINDOWS: usize = 731;

/// Writes the section.
pub fn write(case: &Case, doc: &mut Document) {
    let limits: Vec<&Finding> = case.findings.iter().filter(|finding| finding.kind == FindingKind::Limit).collect();
    if limits.is_empty() {
        return;
    }
    doc.heading(2, "Every window of every limit");
    for finding in limits {
        one(case, finding, doc);
    }
}

fn one(case: &Case, finding: &Finding, doc: &mut Document) {
    doc.anchored(3, format!("{}: {}", finding.name, finding.outcome), finding.id.clone());
    if let Some(words) = &finding.words {
        doc.traced(
            Text::new().italic(format!("“{}”", words.trim())),
            finding.place.as_ref().map(trace).unwrap_or_default(),
        );
    }
    for sentence in &finding.sentences {
        doc.paragraph(said(sentence));
    }
    if finding.windows.is_empty() {
        if !finding.evidence.is_empty() {
            doc.table(evidence_table(&finding.evidence));
        }
    } else {
        let table = windows(case, finding);
        if !table.rows.is_empty() {
            doc.table(table);
        }
    }
    let all = told_in_full(&finding.missing);
    if !all.is_empty() {
        let words =
            |sentence: &str, show: Option<&str>| said(format!("{sentence} {}", show.unwrap_or_default()).trim());
        doc.list(all.iter().map(|m| Text::from(words(&m.sentence, m.would_show.as_deref()))).collect());
    }
}

fn windows(case: &Case, finding: &Finding) -> Table {
    let mut table = Table::new(vec![
        Column::words("Window"),
        Column::words("Outcome"),
        Column::words("Figure"),
        Column::words("Arithmetic"),
        Column::words("Paper"),
    ])
    .wide();
    // A window of which nothing is on file stands in the list of what is missing.
    let is_empty = |window: &&WindowFinding| {
        window.outcome == Outcome::NotShown && window.figure.is_none() && window.arithmetic.is_empty()
    };
    let empty = finding.windows.iter().filter(is_empty).count();
    let spoken: Vec<&WindowFinding> = finding.windows.iter().filter(|window| !is_empty(window)).collect();
    let printed = if spoken.len() > MOST_WINDOWS { nearest_of_months(finding, &spoken) } else { spoken.clone() };
    for window in &printed {
        table.row(vec![
            Cell::words(window.label.clone()),
            Cell::words(window.outcome.words()),
            window.figure.as_ref().map_or_else(Cell::nothing, |f| Cell::known(said(&f.text), basis_of(f))),
            Cell::words(said(&explained(case, finding, window))),
            Cell::words(papers(case, &window.evidence)),
        ]);
    }
    if finding.windows.iter().any(|window| turned(case, &window.evidence).is_some()) {
        table.note("Of two dials the first was read where the metered span begins, the second where it ends.");
    }
    table.without_empty_columns();
    let left_out = spoken.len() - printed.len();
    if left_out > 0 {
        table.note(format!(
            "Of those that came out well, the nearest to the limit in each month; {left_out} more are in what \
             “bywash report --json” prints."
        ));
    }
    if empty > 0 && !table.rows.is_empty() {
        let words = if empty == 1 {
            "1 more is not shown: it stands".to_owned()
        } else {
            format!("{empty} more are not shown: they stand")
        };
        table.note(format!("{words} below."));
    }
    table
}

/// All windows that did not come out well, and of the others the nearest to each bound in each month.
fn nearest_of_months<'a>(finding: &Finding, windows: &[&'a WindowFinding]) -> Vec<&'a WindowFinding> {
    let is_well = |window: &WindowFinding| {
        matches!(window.outcome, Outcome::Met | Outcome::PredictedWithin | Outcome::NoDischarge)
    };
    let (below, above) =
        finding.limit.as_ref().map_or((true, true), |limit| (limit.at_most.is_some(), limit.at_least.is_some()));
    let mut nearest: BTreeMap<(i32, u32, bool), (usize, f64)> = BTreeMap::new();
    let mut kept: BTreeSet<usize> = BTreeSet::new();
    for (at, window) in windows.iter().enumerate() {
        let Some(figure) = window.figure.as_ref().filter(|_| is_well(window)) else {
            kept.insert(at);
            continue;
        };
        for (is_counted, is_floor, value) in [(below, false, figure.high), (above, true, -figure.low)] {
            let key = (window.from.year(), window.from.month(), is_floor);
            if is_counted && nearest.get(&key).is_none_or(|(_, known)| value > *known) {
                nearest.insert(key, (at, value));
            }
        }
    }
    kept.extend(nearest.into_values().map(|(at, _)| at));
    kept.into_iter().filter_map(|at| windows.get(at).copied()).collect()
}

/// How a window's figure comes about, and what is told beside it.
fn explained(case: &Case, finding: &Finding, window: &WindowFinding) -> String {
    let mut words = beside::told(case, finding, window);
    words.extend(Some(arithmetic(case, window)).filter(|words| !words.is_empty()));
    words.join("; ")
}

/// The arithmetic of a window, with the dials where a meter counted; of a single result its figure says it.
fn arithmetic(case: &Case, window: &WindowFinding) -> String {
    if let Some(turned) = turned(case, &window.evidence) {
        return turned;
    }
    if window.n == 1 && window.outcome == Outcome::Met {
        return String::new();
    }
    let lines = window.arithmetic.iter().map(|line| without_label(line.trim_end_matches('.'), &window.label));
    lines.collect::<Vec<_>>().join("; ")
}

/// A table of evidence: day, what it says, the paper, and the file and line in the folio column.
fn evidence_table(evidence: &[Evidence]) -> Table {
    let mut table = Table::new(vec![Column::words("Day"), Column::words("What it says"), Column::words("Paper")]);
    for one in evidence.iter().take(MOST_EVIDENCE) {
        table.traced(
            vec![
                Cell::words(day(one.day)),
                Cell::words(said(&one.text)),
                one.paper.as_ref().map_or_else(Cell::nothing, |paper| Cell::words(paper.clone())),
            ],
            one.place.as_ref().map(trace).unwrap_or_default(),
        );
    }
    if evidence.len() > MOST_EVIDENCE {
        table.note(format!("{} more lines; “bywash explain” prints them.", evidence.len() - MOST_EVIDENCE));
    }
    table
}

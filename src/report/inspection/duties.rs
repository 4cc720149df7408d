//! Duties and notices: samples, looks and readings due, calls, letters and reports.

use crate::page::document::{Cell, Column, Document, Table};
use crate::report::inspection::about::{Case, day, trace};
use crate::report::inspection::lacking::told_once;
use crate::rules::{Finding, FindingKind};

/// Writes the section.
pub fn write(case: &Case, doc: &mut Document) {
    let rows: Vec<&Finding> = case
        .findings
        .iter()
        .filter(|finding| matches!(finding.kind, FindingKind::Monitoring | FindingKind::Routine | FindingKind::Notice))
        .collect();
    if rows.is_empty() {
        return;
    }
    doc.heading(2, "Duties and notices");
    doc.paragraph(format!(
        "Judged as of {}. A duty to sample or to call is separate from the limit itself: a month without its sample is a \
         gap even where nothing was over.",
        day(case.as_of)
    ));
    let mut table = Table::new(vec![
        Column::words("Duty"),
        Column::words("Outcome"),
        Column::words("Due"),
        Column::words("What is on file").wide(220.0),
    ])
    .caption("Duties and notices")
    .wide();
    for finding in rows {
        let mut words = finding.sentences.join(" ");
        if words.is_empty() {
            words.clone_from(&finding.how_many);
        }
        let mut row = vec![
            Cell::words(finding.name.clone()),
            Cell::words(finding.outcome.words()),
            finding.due.map_or_else(Cell::nothing, |due| Cell::words(day(due))),
        ];
        let all = told_once(&finding.missing);
        for missing in all.iter().take(3) {
            words.push(' ');
            words.push_str(&missing.sentence);
        }
        if all.len() > 3 {
            words.push_str(&format!(" {} more like these.", all.len() - 3));
        }
        row.push(Cell::words(words.trim().to_owned()));
        table.traced(row, finding.place.as_ref().map(trace).unwrap_or_default());
    }
    doc.table(table);
}

//! The closing chapters: facility findings, assumptions, worklist, methods, files, glossary, cautions, space to sign.

use crate::methods;
use crate::report::case::{Case, day};
use crate::report::document::{Cell, Column, Document, Table, Text, figures};
use crate::report::{cautions, glossary};
use crate::rules::FindingKind;

/// What the computation found about the facility itself.
pub fn facility(case: &Case, doc: &mut Document) {
    let rows: Vec<_> = case
        .findings
        .iter()
        .filter(|finding| finding.kind == FindingKind::Facility)
        .collect();
    if rows.is_empty() {
        return;
    }
    doc.heading(2, "Findings about the facility");
    doc.paragraph("Not limits of the permit: things in the files or the computation that an engineer would ask about.");
    let mut table = Table::new(vec![
        Column::words("Place"),
        Column::words("What was found"),
    ]);
    for finding in rows {
        let mut words = finding.sentences.join(" ");
        if !finding.how_many.is_empty() {
            words.push_str(&format!(" ({})", finding.how_many));
        }
        table.traced(
            vec![Cell::words(finding.at.clone()), Cell::words(words)],
            finding
                .place
                .as_ref()
                .map(ToString::to_string)
                .unwrap_or_default(),
        );
    }
    doc.table(table);
}

/// Every assumed value.
pub fn assumptions(case: &Case, doc: &mut Document) {
    doc.heading(2, "Assumptions");
    if case.assumptions.is_empty() {
        doc.paragraph("Nothing was assumed beyond what the files say.");
        return;
    }
    doc.paragraph(
        "Values taken without a record. A range is one draw for the whole run; the single run uses its middle. Whoever \
         signs this report stands for them.",
    );
    let mut table = Table::new(vec![
        Column::words("No."),
        Column::words("What"),
        Column::words("Value"),
        Column::words("Source"),
    ])
    .caption("Assumptions")
    .wide();
    for (i, assumption) in case.assumptions.iter().enumerate() {
        table.traced(
            vec![
                Cell::words(format!("{}", i + 1)),
                Cell::words(assumption.what.clone()),
                Cell::words(assumption.value.clone()),
                Cell::words(assumption.source.clone()),
            ],
            assumption.place.clone(),
        );
    }
    doc.table(table);
}

/// What would change the outcome.
pub fn worklist(case: &Case, doc: &mut Document) {
    if case.worklist.is_empty() {
        return;
    }
    doc.heading(2, "What would change the outcomes");
    doc.paragraph("What to find out next, the most useful first.");
    doc.definitions(
        case.worklist
            .iter()
            .map(|(what, effect)| (what.clone(), Text::from(effect))),
    );
}

/// Methods and their sources.
pub fn methods(_case: &Case, doc: &mut Document) {
    doc.heading(2, "Methods and sources");
    doc.paragraph(
        "Each method with its equation, the range it is good for, what happens outside it, and where it comes from. \
         “From memory” means that the source's own text was not at hand when the method was written down.",
    );
    for method in methods::all() {
        doc.heading(3, method.name);
        doc.traced(method.equation, method.id);
        doc.paragraph(format!(
            "Valid: {}. Outside: {}. Source: {}.",
            method.valid_range.trim_end_matches('.'),
            method.outside.trim_end_matches('.'),
            method.source.trim_end_matches('.')
        ));
    }
}

/// The files read, with their fingerprints.
pub fn files(case: &Case, doc: &mut Document) {
    doc.heading(2, "Files read and their fingerprints");
    doc.paragraph(
        "A fingerprint (SHA-256) changes when a single letter of the file changes. The same files and the same program give \
         the same report, byte for byte.",
    );
    let mut table = Table::new(vec![
        Column::words("File"),
        Column::figures("Bytes", ""),
        Column::words("SHA-256"),
    ])
    .caption("Files read")
    .wide();
    for file in case.files {
        table.row(vec![
            Cell::words(file.path.clone()),
            Cell::number(file.bytes as f64, 0),
            Cell::words(split_digest(&file.sha256)),
        ]);
    }
    table.note(format!(
        "All of them together: {}. Program: bywash {}.",
        split_digest(case.digest),
        env!("CARGO_PKG_VERSION")
    ));
    doc.table(table);
}

fn split_digest(digest: &str) -> String {
    let mut words = String::new();
    for (i, c) in digest.chars().enumerate() {
        if i > 0 && i % 16 == 0 {
            words.push(' ');
        }
        words.push(c);
    }
    words
}

/// Words of the trade.
pub fn glossary(_case: &Case, doc: &mut Document) {
    doc.heading(2, "Words used");
    doc.definitions(
        glossary::TERMS
            .iter()
            .map(|(term, meaning)| ((*term).to_owned(), Text::from(format!("{meaning}.")))),
    );
}

/// The cautions in full.
pub fn cautions(case: &Case, doc: &mut Document) {
    doc.heading(2, "Cautions");
    let mut text: Vec<Text> = cautions::STANDING
        .text
        .iter()
        .map(|t| Text::from(*t))
        .collect();
    if case.draws > 0 {
        text.push(Text::from(format!(
            "Predicted outcomes rest on {} draws from the ranges typed; “predicted within” means that all of them were within.",
            figures::number(case.draws as f64, 0)
        )));
    }
    doc.caution(cautions::STANDING.head, text);
    for danger in cautions::DANGERS {
        doc.caution(
            danger.head,
            danger.text.iter().map(|t| Text::from(*t)).collect(),
        );
    }
}

/// Space to sign; never signed in advance.
pub fn signature(case: &Case, doc: &mut Document) {
    doc.heading(2, "To be signed by a person");
    doc.paragraph(format!(
        "Left blank by the program. The official certification text is the authority's own; it is not repeated here. Figures as of {}.",
        day(case.as_of)
    ));
    doc.signature(vec![
        "Prepared by, and date".to_owned(),
        "Checked against the papers by, and date".to_owned(),
        "Signed for the permit holder, and date".to_owned(),
    ]);
}

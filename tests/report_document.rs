//! The report's document becomes pages, sheets and plain text, whatever is in it.

mod report_sample;

use std::process::Command;

use bywash::report::document::{Cell, Column, Document, Paper, Table, Text};
use bywash::report::pdf;
use report_sample::sample;

/// Writes the file where a person can look at it, and returns its path.
fn kept(name: &str, bytes: &[u8]) -> std::path::PathBuf {
    let path = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::write(&path, bytes).unwrap();
    path
}

fn qpdf_finds_no_fault(path: &std::path::Path) {
    match Command::new("qpdf").arg("--check").arg(path).output() {
        Ok(out) => {
            let said = String::from_utf8_lossy(&out.stdout).into_owned()
                + &String::from_utf8_lossy(&out.stderr);
            assert!(out.status.success(), "{said}");
            assert!(!said.contains("WARNING"), "{said}");
        }
        Err(_) => println!("qpdf is not installed: the file's syntax was not checked"),
    }
}

#[test]
fn every_block_becomes_a_sound_file_on_both_papers() {
    for (paper, name) in [
        (Paper::Letter, "sample-letter.pdf"),
        (Paper::A4, "sample-a4.pdf"),
    ] {
        let mut doc = sample();
        doc.paper = paper;
        doc.working_copy = paper == Paper::A4;
        assert_eq!(pdf::layout_faults(&doc), Vec::<String>::new());
        let bytes = pdf::render(&doc).unwrap();
        assert!(bytes.starts_with(b"%PDF-1.7"));
        qpdf_finds_no_fault(&kept(name, &bytes));
    }
}

#[test]
fn the_same_document_always_gives_the_same_bytes() {
    let doc = sample();
    let first = pdf::render(&doc).unwrap();
    for _ in 0..9 {
        assert!(pdf::render(&doc).unwrap() == first);
    }
}

/// Text that has broken layouts before: endless words, other scripts, marks that cannot be seen, nothing at all.
fn awkward() -> Vec<String> {
    vec![
        String::new(),
        " ".to_owned(),
        "W".repeat(900),
        "🌱🚿👩‍🌾 水が足りない مرحبا بالعالم \u{202e}backwards\u{202c}".to_owned(),
        "tab\tnewline\nnull\u{0}bell\u{7}".to_owned(),
        "a/b_c-d.e ".repeat(40),
        "\u{a0}".repeat(300),
        "1\u{202f}000\u{202f}000\u{202f}000\u{202f}000\u{202f}000\u{202f}000 gal".to_owned(),
        "(un(balanced \\ parens %".to_owned(),
    ]
}

#[test]
fn no_text_however_awkward_sticks_out_of_its_page() {
    for text in awkward() {
        let mut doc = Document::new(text.clone(), text.clone(), text.clone());
        doc.permit_line(text.clone(), text.clone());
        doc.heading(2, text.clone());
        doc.heading(3, text.clone());
        doc.traced(
            Text::new().bold(text.clone()).italic(text.clone()),
            text.clone(),
        );
        doc.list(vec![Text::from(&text), Text::from(&text)]);
        doc.definitions([(text.clone(), text.clone())]);
        doc.caution(text.clone(), vec![Text::from(&text)]);
        doc.signature(vec![text.clone()]);
        for columns in [1, 3, 14] {
            for wide in [false, true] {
                let mut table = Table::new(
                    (0..columns)
                        .map(|i| {
                            if i % 2 == 0 {
                                Column::words(text.clone())
                            } else {
                                Column::figures(text.clone(), text.clone())
                            }
                        })
                        .collect(),
                )
                .caption(text.clone());
                table.wide = wide;
                table.traced(
                    (0..columns).map(|_| Cell::words(text.clone())).collect(),
                    text.clone(),
                );
                table.row((0..columns).map(|_| Cell::number(-1.5e12, 6)).collect());
                table.group(text.clone());
                table.closed(
                    (0..columns).map(|_| text.clone().into()).collect(),
                    text.clone(),
                );
                table.note(text.clone());
                doc.table(table);
            }
        }
        doc.outcomes({
            let mut table = report_sample::outcomes();
            for row in &mut table.rows {
                row.limit.clone_from(&text);
                row.worst.clone_from(&text);
                row.permit_says.clone_from(&text);
                row.margin.clone_from(&text);
                row.when.clone_from(&text);
                row.how_many.clone_from(&text);
                row.mark = Some(text.clone());
            }
            table
        });
        let mut diagram = report_sample::diagram();
        for place in &mut diagram.places {
            place.name.clone_from(&text);
            place.kind.clone_from(&text);
        }
        for name in &mut diagram.outside {
            name.name.clone_from(&text);
        }
        doc.diagram(diagram, text.clone(), text.clone());
        let mut chart = report_sample::year_chart();
        for panel in &mut chart.panels {
            panel.quantity.clone_from(&text);
            panel.unit.clone_from(&text);
            for series in &mut panel.series {
                series.name.clone_from(&text);
            }
            for limit in &mut panel.limits {
                limit.words.clone_from(&text);
            }
        }
        doc.chart(chart, text.clone(), text.clone());
        let faults = pdf::layout_faults(&doc);
        assert!(
            faults.is_empty(),
            "{text:?}: {:#?}",
            faults.iter().take(5).collect::<Vec<_>>()
        );
        let bytes = pdf::render(&doc).unwrap();
        qpdf_finds_no_fault(&kept("awkward.pdf", &bytes));
    }
}

#[test]
fn a_table_of_two_hundred_rows_goes_over_pages_and_loses_none() {
    let mut doc = Document::new("Long", "Somewhere", "a year");
    let mut table = report_sample::long_table(200);
    for (i, row) in table.rows.iter_mut().enumerate() {
        row.cells[1] = format!("row-number-{i}-end").into();
    }
    doc.table(table);
    assert_eq!(pdf::layout_faults(&doc), Vec::<String>::new());
    let path = kept("long.pdf", &pdf::render(&doc).unwrap());
    qpdf_finds_no_fault(&path);
    match Command::new("pdftotext")
        .arg("-layout")
        .arg(&path)
        .arg("-")
        .output()
    {
        Ok(out) => {
            let text = String::from_utf8_lossy(&out.stdout);
            for i in 0..200 {
                assert!(
                    text.contains(&format!("row-number-{i}-end")),
                    "row {i} is lost"
                );
            }
            assert!(text.contains("page 2 of"));
        }
        Err(_) => println!("pdftotext is not installed: the text was not read back"),
    }
}

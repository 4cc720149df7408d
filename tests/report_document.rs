//! The report's document becomes pages, sheets and plain text, whatever is in it.

#![cfg(test)]

mod report_sample;

use std::process::Command;

use bywash::page::document::{
    Basis, Cell, Chart, Column, Diagram, DiagramPlace, Document, Hue, Mark, Panel, Paper, Series, Stretch, Strip,
    Table, Text, Way,
};
use bywash::page::draw::SvgCanvas;
use bywash::page::tables::csv_text;
use bywash::page::{charts, diagram, pdf, terminal};
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
            let said = String::from_utf8_lossy(&out.stdout).into_owned() + &String::from_utf8_lossy(&out.stderr);
            assert!(out.status.success(), "{said}");
            assert!(!said.contains("WARNING"), "{said}");
        }
        Err(_) => println!("qpdf is not installed: the file's syntax was not checked"),
    }
}

#[test]
fn every_block_becomes_a_sound_file_on_both_papers() {
    for (paper, name) in [(Paper::Letter, "sample-letter.pdf"), (Paper::A4, "sample-a4.pdf")] {
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
        doc.traced(Text::new().bold(text.clone()).italic(text.clone()), text.clone());
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
                table.traced((0..columns).map(|_| Cell::words(text.clone())).collect(), text.clone());
                table.row((0..columns).map(|_| Cell::number(-1.5e12, 6)).collect());
                table.group(text.clone());
                table.closed((0..columns).map(|_| text.clone().into()).collect(), text.clone());
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
        assert!(faults.is_empty(), "{text:?}: {:#?}", faults.iter().take(5).collect::<Vec<_>>());
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
    match Command::new("pdftotext").arg("-layout").arg(&path).arg("-").output() {
        Ok(out) => {
            let text = String::from_utf8_lossy(&out.stdout);
            for i in 0..200 {
                assert!(text.contains(&format!("row-number-{i}-end")), "row {i} is lost");
            }
            assert!(text.contains("page 2 of"));
        }
        Err(_) => println!("pdftotext is not installed: the text was not read back"),
    }
}

#[test]
fn the_terminal_never_goes_past_eighty_columns_nor_prints_a_control() {
    let mut docs = vec![sample()];
    for text in awkward() {
        let mut doc = sample();
        doc.facility.clone_from(&text);
        doc.paragraph(text.clone());
        doc.heading(2, text.clone());
        doc.definitions([(text.clone(), text.clone())]);
        let mut table = Table::new(vec![Column::words(text.clone()), Column::figures("a", "b")]);
        table.row(vec![text.clone().into(), text.clone().into()]);
        doc.table(table);
        docs.push(doc);
    }
    for doc in docs {
        for shown in [terminal::render(&doc), terminal::render_blocks(&doc, &doc.blocks)] {
            for line in shown.lines() {
                assert!(line.chars().count() <= 80, "{line}");
                assert!(!line.chars().any(char::is_control), "{line:?}");
            }
        }
    }
    let summary = terminal::render(&sample());
    for words in ["EXCEEDED", "[predicted within]", "38 mg/L", "UNACCOUNTED", "Call the Board"] {
        assert!(summary.contains(words), "the summary lacks {words}");
    }
    assert!(!summary.contains("Tables of every kind"), "the summary ends at the page break");
}

#[test]
fn a_table_as_csv_keeps_every_figure_its_basis_and_its_trace() {
    let mut table = Table::new(vec![Column::words("Filter"), Column::figures("Wash", "gal")]);
    table.group("Train 1");
    table.traced(vec!["=Drum, \"old\"".into(), Cell::figure(15040.5, 1, Basis::Metered)], "meters.csv 4");
    table.row(vec!["Bed".into(), Cell::figure(-0.04, 1, Basis::Assumed)]);
    table.sum(vec!["Total".into(), Cell::number(15040.46, 1)]);
    assert_eq!(
        csv_text(&table).unwrap(),
        "Group,Filter,\"Wash, gal\",\"Wash, basis\",Kind of row,Trace\n\
         Train 1,\"'=Drum, \"\"old\"\"\",15040.5,metered,,meters.csv 4\n\
         Train 1,Bed,0.0,assumed,,\n\
         Train 1,Total,15040.5,,sum,\n"
    );
    assert_eq!(csv_text(&Table::new(Vec::new())).unwrap(), "");
}

#[cfg(feature = "xlsx")]
#[test]
fn a_workbook_has_a_sheet_for_each_table_and_reads_back_the_same_figures() {
    use calamine::{Data, Reader};
    let doc = sample();
    let tables = doc.tables();
    let bytes = bywash::page::tables::workbook(&tables).unwrap();
    assert!(bytes == bywash::page::tables::workbook(&tables).unwrap());
    let mut book = calamine::Xlsx::new(std::io::Cursor::new(bytes)).unwrap();
    assert_eq!(book.sheet_names().len(), tables.len());
    let sheet = book.worksheet_range("Season by month").unwrap();
    assert!(sheet.rows().any(|row| row.contains(&Data::Float(12040.0))));
    assert!(bywash::page::tables::workbook(&[]).is_ok());
    let all = doc.all_tables();
    let all: Vec<(String, &Table)> = all.iter().map(|(name, table)| (name.clone(), table)).collect();
    let bytes = bywash::page::tables::workbook(&all).unwrap();
    let mut book = calamine::Xlsx::new(std::io::Cursor::new(bytes)).unwrap();
    let names = book.sheet_names();
    assert_eq!(names.len(), tables.len() + 5, "limits, water, diagram and two charts: {names:?}");
    let rain = book.worksheet_range("Rain, discharge and pond level").unwrap();
    assert_eq!(rain.height(), 366);
}

#[test]
fn a_drawing_is_the_same_in_svg_as_on_the_page() {
    let chart = report_sample::year_chart();
    let mut svg = SvgCanvas::new(495.0, charts::height(&chart), "rain <&> discharge");
    charts::draw(&mut svg, &chart, &charts::Frame::alone(495.0), 0.0);
    let text = svg.finish();
    assert!(text.contains("at most 30 mg/L, limit 4") && text.contains("rain &lt;&amp;&gt; discharge"));
    let sheets = diagram::sheets(&report_sample::diagram(), 495.0, 600.0);
    assert_eq!(sheets.len(), 1);
    let mut svg = SvgCanvas::new(495.0, sheets[0].height, "facility");
    diagram::draw(&mut svg, &sheets[0], 0.0, 0.0);
    assert!(svg.finish().contains("Settling pond"));
}

/// A facility with as many places as asked, each on the way to the next.
fn long_diagram(count: usize) -> Diagram {
    let mut diagram = Diagram::default();
    for i in 0..count {
        diagram.places.push(DiagramPlace::new("filter", format!("Place {i}")));
        if i > 0 {
            let way = Way::new(format!("Place {}", i - 1), format!("Place {i}"));
            diagram.ways.push(way.volume(1.5).figure("1.5", Basis::Computed));
        }
    }
    diagram
}

#[test]
fn no_place_or_figure_is_lost_however_large_the_facility() {
    for count in [0, 1, 2, 7, 25, 26, 60, 90] {
        let diagram = long_diagram(count);
        let sheets = diagram::sheets(&diagram, 495.0, 620.0);
        let places: usize = sheets.iter().map(|sheet| sheet.places.len()).sum();
        assert_eq!(places, count);
        assert!(count <= 25 || sheets.len() > 1);
        for sheet in &sheets {
            assert!(sheet.height <= 640.0, "{count} places: {} high", sheet.height);
            let labels = sheet.routes.iter().filter(|route| route.label.is_some()).count();
            assert_eq!(labels, sheet.routes.len());
            for (i, a) in sheet.places.iter().enumerate() {
                assert!(sheet.places.iter().skip(i + 1).all(|b| !a.area.meets(&b.area)));
            }
        }
    }
}

#[test]
fn a_reader_who_listens_is_told_headings_tables_and_figures() {
    let path = kept("tagged.pdf", &pdf::render(&sample()).unwrap());
    match Command::new("pdfinfo").arg("-struct-text").arg(&path).output() {
        Ok(out) => {
            let text = String::from_utf8_lossy(&out.stdout);
            for words in ["H1", "H2", "Table", "TR", "TH", "Figure", "Caption", "Well"] {
                assert!(text.contains(words), "the structure lacks {words}");
            }
        }
        Err(_) => println!("pdfinfo is not installed: the structure was not read back"),
    }
}

#[test]
fn charts_of_extremes_stay_on_their_page() {
    let wild = [
        None,
        Some(f64::NAN),
        Some(f64::INFINITY),
        Some(f64::NEG_INFINITY),
        Some(1e300),
        Some(-1e300),
        Some(1e-300),
        Some(0.0),
        Some(-0.0),
    ];
    let first = chrono::NaiveDate::from_ymd_opt(2024, 2, 29).unwrap();
    let mut doc = Document::new("Extremes", "Somewhere", "ten years");
    for count in [0, 1, 9, 366, 3650] {
        for mark in [Mark::Line, Mark::Bars, Mark::Stacked, Mark::Points] {
            let values: Vec<Option<f64>> = wild.into_iter().cycle().take(count + 3).collect();
            let mut series = Series::new("wild", mark, Hue::Straw, Basis::Assumed, values);
            series.ranges = vec![Some((f64::NAN, 1e9)), Some((5.0, -5.0)), None];
            let panel = Panel::new("Wild", "")
                .series(series.clone())
                .series(series)
                .limit(f64::NAN, "none")
                .limit(1e301, "far away")
                .missing(vec![Stretch { first: 5, last: 2 }, Stretch { first: 0, last: 99_999 }]);
            let chart = Chart::over_days(first, count)
                .season("out of range", 7, 99_999)
                .panel(panel.clone())
                .panel(panel.fitted());
            doc.chart(chart, "wild", "wild");
        }
    }
    doc.chart(Chart::over_days(first, 0), "nothing", "nothing");
    let names: Vec<String> = (0..200).map(|i| format!("Class number {i}")).collect();
    let values = (0..200).map(|i| Some(f64::from(i))).collect();
    let bars = Series::new("many", Mark::Bars, Hue::Loam, Basis::Metered, values);
    let chart = Chart::over_classes(names).panel(Panel::new("Many", "kg").series(bars));
    doc.chart(chart, "many", "many");
    let mut limits = report_sample::outcomes();
    for (row, worst) in limits.rows.iter_mut().zip(wild.into_iter().flatten()) {
        for (limit, is_minimum) in [(0.0, false), (0.0, true), (-3.0, false), (f64::NAN, false)] {
            row.strip = Some(Strip {
                limit,
                worst,
                low: Some(f64::NEG_INFINITY),
                high: Some(f64::INFINITY),
                is_minimum,
                measured: true,
            });
        }
    }
    doc.outcomes(limits);
    let faults = pdf::layout_faults(&doc);
    assert!(faults.is_empty(), "{:#?}", faults.iter().take(5).collect::<Vec<_>>());
    qpdf_finds_no_fault(&kept("extremes.pdf", &pdf::render(&doc).unwrap()));
    assert!(terminal::render_blocks(&doc, &doc.blocks).len() > 100);
}

#[test]
fn no_figure_is_parted_however_many_columns_a_table_has() {
    let mut doc = Document::new("Many columns", "Somewhere", "a year");
    for wide in [false, true] {
        let mut columns = vec![Column::words("Month")];
        columns.extend((0..16).map(|i| Column::figures(format!("Place {i}"), "gal")));
        let mut table = Table::new(columns).caption("By place");
        table.wide = wide;
        for month in ["November", "December"] {
            let mut cells: Vec<Cell> = vec![month.into()];
            cells.extend((0..16).map(|i| Cell::figure(1_000_000.0 + f64::from(i), 1, Basis::Metered)));
            table.traced(cells, "ledger 4");
        }
        doc.table(table);
    }
    assert_eq!(pdf::layout_faults(&doc), Vec::<String>::new());
    let path = kept("columns.pdf", &pdf::render(&doc).unwrap());
    qpdf_finds_no_fault(&path);
    match Command::new("pdftotext").arg("-layout").arg(&path).arg("-").output() {
        Ok(out) => {
            let text = String::from_utf8_lossy(&out.stdout);
            // The reader turns thin spaces into plain ones.
            let text = text.replace('\u{202f}', " ");
            for i in 0..16 {
                let figure = format!("1 000 {i:03}.0");
                assert_eq!(text.matches(&figure).count(), 4, "{figure} is parted or lost");
            }
        }
        Err(_) => println!("pdftotext is not installed: the text was not read back"),
    }
}

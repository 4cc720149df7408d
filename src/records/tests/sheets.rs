//! Three invented clipboard workbooks of different habits, and how they go through without being edited.

use rust_xlsxwriter::{Format, Workbook, Worksheet};

use super::fixture::{BEDS, STORAGE, date, facility, read_files};
use crate::facility::model::{Facility, PlaceId};
use crate::files::Sources;
use crate::quantity::{DateOrder, DecimalMark, System};
use crate::records::Timeline;
use crate::records::row::SinceTheLast;
use crate::records::sheet::{About, Answers, Applied, Grid, Mapping, apply, changes, draft};
use crate::told::Problems;

/// Rows of texts from a row and column on.
fn texts(sheet: &mut Worksheet, first_row: u32, rows: &[&[&str]]) {
    for (at, row) in rows.iter().enumerate() {
        for (column, text) in row.iter().enumerate() {
            if !text.is_empty() {
                sheet.write_string(first_row + at as u32, column as u16, *text).unwrap();
            }
        }
    }
}

pub(super) struct Through {
    pub(super) questions: Vec<About>,
    pub(super) told: Vec<String>,
    applied: Applied,
    mapping: Mapping,
    pub(super) timeline: Timeline,
}

/// Drafts a mapping, writes it beside the sheet, and reads the folder of records by it.
pub(super) fn through(facility: &Facility, name: &str, bytes: &[u8], answers: &Answers) -> Through {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join(name), bytes).unwrap();
    let problems = Problems::new();
    let mut sources = Sources::new(folder.path());
    let grid = Grid::open(name, None, &mut sources, &problems).unwrap();
    let first = draft(facility, &grid, name, &Answers::default());
    let draft = draft(facility, &grid, name, answers);
    assert!(draft.questions.is_empty(), "{:#?}", draft.questions);
    let applied = apply(&grid, &draft.mapping, &problems);
    assert!(problems.is_empty(), "{:#?}", problems.in_order());
    let yaml = draft.mapping.to_yaml();
    let files = [(name, bytes), (&Mapping::file_of(name), yaml.as_bytes())];
    let (timeline, problems) = read_files(facility, &files);
    assert!(problems.is_empty(), "{:#?}", problems.in_order());
    Through {
        questions: first.questions.into_iter().map(|question| question.about).collect(),
        told: draft.told,
        applied,
        mapping: draft.mapping,
        timeline,
    }
}

/// `(first day, days, counts)` of a meter's spans.
fn spans(timeline: &Timeline, meter: usize) -> Vec<(String, u32, String)> {
    timeline.spans_of(meter).map(|(_, span)| (span.first_day.to_string(), span.days, span.counts.clone())).collect()
}

fn said(spans: &[(&str, u32, &str)]) -> Vec<(String, u32, String)> {
    spans.iter().map(|(day, days, counts)| ((*day).to_string(), *days, (*counts).to_string())).collect()
}

fn us_wash_log() -> Vec<u8> {
    let mut book = Workbook::new();
    let head = ["Date", "Time", "M3 wash (gal)", "Sand beds washes", "Rain (in)", "Init.", "Notes"];
    let march: [&[&str]; 5] = [
        &head,
        &["3/3", "7:00 AM", "412,880 ", "2", "0", "JM", ""],
        &["3/5", "7:00 AM", "415,900", "3", "T", "JM", ""],
        &["3/7", "\"", "418,940", "3", ".25", "\"", "beds slow"],
        &["Total", "", "6,060", "8", ".25", "", ""],
    ];
    let april: [&[&str]; 3] = [
        &head,
        &["4/2", "7:00 AM", "452,000", "40", "0.5", "RQ", ""],
        &["4/4", "7:00 AM", "455,000", "4", "", "RQ", ""],
    ];
    for (name, rows) in [("March", &march[..]), ("April", &april[..])] {
        let sheet = book.add_worksheet().set_name(name).unwrap();
        sheet.merge_range(0, 0, 0, 6, "Wash log 2025, east beds", &Format::new()).unwrap();
        texts(sheet, 2, rows);
    }
    book.save_to_buffer().unwrap()
}

/// Readings at 07:00 on the 3rd, 5th and 7th of March and the 2nd and 4th of April:
/// 415,900 − 412,880 = 3,020 for the 3rd and 4th; 418,940 − 415,900 = 3,040 for the 5th and 6th;
/// 452,000 − 418,940 = 33,060 for the 26 days from 7 March to 1 April; 455,000 − 452,000 = 3,000 for 2 and 3 April.
#[test]
fn a_us_wash_log_with_a_title_month_tabs_ditto_marks_and_totals_goes_through() {
    let answers = Answers { counts: Some(Some(SinceTheLast::Entry)), lost: Some(Vec::new()), ..Answers::default() };
    let went = through(&facility(), "wash log.xlsx", &us_wash_log(), &answers);
    // What a count covers where days have no row, and whether rows are lost; nothing else.
    assert_eq!(went.questions, [About::Counts, About::Lost]);
    assert_eq!(went.mapping.tables.len(), 1, "both months are of one layout");
    assert!(went.told.iter().any(|told| told.contains("month first")), "{:?}", went.told);
    assert_eq!(
        spans(&went.timeline, 2),
        said(&[
            ("2025-03-03", 2, "3020"),
            ("2025-03-05", 2, "3040"),
            ("2025-03-07", 26, "33060"),
            ("2025-04-02", 2, "3000")
        ])
    );
    assert!(went.timeline.meter_spans.iter().all(|span| span.on_the_day));
    // The 2 washes of the first row are since a row that is not on file.
    let washes: Vec<_> = went.timeline.washes.iter().map(|wash| (wash.first_day, wash.days, wash.count)).collect();
    assert_eq!(
        washes,
        [
            (date("2025-03-03"), 2, 3),
            (date("2025-03-05"), 2, 3),
            (date("2025-03-07"), 26, 40),
            (date("2025-04-02"), 2, 4)
        ]
    );
    assert!(went.timeline.repairs.iter().any(|repair| repair.sentence.contains("none is on file before it")));
    // 0.25 in = 6.35 mm, 0.5 in = 12.7 mm; the blank of 4 April is no reading.
    let rain: Vec<_> =
        went.timeline.rain.iter().map(|reading| ((reading.depth_mm * 100.0).round() / 100.0, reading.trace)).collect();
    assert_eq!(rain, [(0.0, false), (0.0, true), (6.35, false), (12.7, false)]);
    let third =
        went.timeline.observations.iter().find(|row| row.date == date("2025-03-07") && row.what == "reading").unwrap();
    assert_eq!(third.source.who.as_deref(), Some("JM"));
    assert_eq!(third.source.note.as_deref(), Some("beds slow"));
    assert_eq!(third.source.place.to_string(), "records/wash log.xlsx, tab March, cell C6");
    let skipped: Vec<_> = went.applied.skipped.iter().map(|row| row.why).collect();
    assert_eq!(skipped, ["a total"]);
}

fn metric_pond_book() -> Vec<u8> {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet().set_name("Pond book").unwrap();
    let plain = Format::new();
    sheet.merge_range(0, 0, 0, 5, "Pond book", &plain).unwrap();
    sheet.merge_range(1, 0, 2, 0, "Date", &plain).unwrap();
    sheet.merge_range(1, 1, 2, 1, "M5 sewer [m3]", &plain).unwrap();
    sheet.merge_range(1, 2, 1, 3, "Storage pond", &plain).unwrap();
    sheet.merge_range(1, 4, 1, 5, "Outfall 1", &plain).unwrap();
    texts(
        sheet,
        2,
        &[
            &["", "", "level (m)", "freeboard (m)", "TSS (mg/L)", "pH"],
            &["11.07.2025", "1.204,5", "1,98", "0,62", "<5", "7,4"],
            &["12.07.2025", "1.231,0", "1,97", "0,63", "12,5", "7,6"],
            &["14.07.2025", "1.290,5", "2", "", "-", ""],
            &["Average", "", "1,98", "0,63", "8,75", "7,5"],
        ],
    );
    // A number of the workbook itself has a point in the file whatever is shown: 1.995 m.
    sheet.write_number(5, 2, 1.995).unwrap();
    book.save_to_buffer().unwrap()
}

/// 1231.0 − 1204.5 = 26.5 m³ for the 11th; 1290.5 − 1231.0 = 59.5 m³ for the 12th and 13th.
#[test]
fn a_metric_pond_book_with_decimal_commas_and_merged_headings_goes_through() {
    let mut facility = facility();
    facility.system = System::Metric;
    let went = through(&facility, "pond book.xlsx", &metric_pond_book(), &Answers::default());
    assert!(went.questions.is_empty(), "{:?}", went.questions);
    assert_eq!(went.mapping.tables[0].mark, DecimalMark::Comma);
    assert_eq!(spans(&went.timeline, 4), said(&[("2025-07-11", 1, "26.5"), ("2025-07-12", 2, "59.5")]));
    let levels: Vec<_> =
        went.timeline.levels.iter().map(|level| (level.at, level.value.as_str(), level.value_si)).collect();
    assert!(levels.iter().all(|(at, _, _)| *at == PlaceId(STORAGE)));
    let mut values: Vec<f64> = levels.iter().map(|(_, _, metres)| *metres).collect();
    values.sort_by(f64::total_cmp);
    assert_eq!(values, [0.62, 0.63, 1.97, 1.98, 1.995]);
    let samples: Vec<_> =
        went.timeline.samples.iter().map(|sample| (sample.parameter.as_str(), sample.value.as_deref())).collect();
    assert!(
        samples.contains(&("total suspended solids", Some("5")))
            && samples.contains(&("total suspended solids", Some("12.5")))
    );
    assert!(samples.contains(&("pH", Some("7.6"))));
    // The dash of the 14th says that no sample was taken.
    assert!(samples.iter().all(|(_, value)| value.is_some()));
}

fn messy_log() -> Vec<u8> {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet();
    let head: &[&str] =
        &["Date", "Well meter", "wash count", "Storage level ft", "Outfall", "by", "remarks", "pump hrs"];
    texts(sheet, 0, &[&["EAST SIDE"], &["please fill in every morning"]]);
    texts(
        sheet,
        3,
        &[
            head,
            &["", "1,000,500", "2", "6.6", "dry", "JM"],
            &["July 11, 2025", "", "off", "same", "dry", "\""],
            &["7/12/2025", "1,010,000", "3", "6.5", "flowing", "RQ", "pump tripped", "4"],
            &[],
            head,
            &["7/13/2025", "same", "0", "6.4", "dry", "RQ"],
            &["7/14/2025", "n/a", "1", "", "dry", "RQ"],
            &["7/15/2025", "1,022,000", "2", "6.2", "Dry ", "RQ"],
            &["July total", "21,500", "8"],
        ],
    );
    let dates = Format::new().set_num_format("yyyy-mm-dd");
    let day = rust_xlsxwriter::ExcelDateTime::from_ymd(2025, 7, 10).unwrap();
    sheet.write_datetime_with_format(4, 0, &day, &dates).unwrap();
    sheet.write_number(5, 1, 1_004_500.0).unwrap();
    book.save_to_buffer().unwrap()
}

/// No times: read when the day starts. 4,000 for the 10th, 5,500 for the 11th; "same" on the 13th: 0 for the 12th; none on
/// the 14th, so 12,000 for the 13th and 14th.
#[test]
fn a_messy_log_with_mixed_dates_words_and_headings_twice_goes_through() {
    let went = through(&facility(), "misc.xlsx", &messy_log(), &Answers::default());
    assert!(went.questions.is_empty(), "{:?}", went.questions);
    assert_eq!(
        spans(&went.timeline, 0),
        said(&[
            ("2025-07-10", 1, "4000"),
            ("2025-07-11", 1, "5500"),
            ("2025-07-12", 1, "0"),
            ("2025-07-13", 2, "12000")
        ])
    );
    let washes: Vec<_> = went.timeline.washes.iter().map(|wash| (wash.first_day, wash.count)).collect();
    let on = |day: &str| date(day);
    assert_eq!(
        washes,
        [
            (on("2025-07-10"), 2),
            (on("2025-07-11"), 0),
            (on("2025-07-12"), 3),
            (on("2025-07-13"), 0),
            (on("2025-07-14"), 1),
            (on("2025-07-15"), 2)
        ]
    );
    assert!(went.timeline.washes.iter().all(|wash| wash.filter == PlaceId(BEDS)));
    let levels: Vec<&str> = went.timeline.levels.iter().map(|level| level.value.as_str()).collect();
    assert_eq!(levels, ["6.6", "6.6", "6.5", "6.4", "6.2"]);
    let flowing: Vec<_> = went.timeline.looks.iter().filter(|look| look.flowing).map(|look| look.day).collect();
    assert_eq!(flowing, [on("2025-07-12")]);
    assert_eq!(went.timeline.looks.len(), 6);
    let skipped: Vec<_> = went.applied.skipped.iter().map(|row| row.why).collect();
    assert_eq!(skipped, ["headings again", "a total"]);
    assert!(went.told.iter().any(|told| told.contains("`pump hrs` is not read")), "{:?}", went.told);
}

#[test]
fn a_month_sheet_that_numbers_its_days_takes_month_and_year_from_its_tab() {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet().set_name("March 2025").unwrap();
    texts(sheet, 0, &[&["Day", "M3 wash"]]);
    for day in 1..=6_u32 {
        sheet.write_number(day, 0, f64::from(day)).unwrap();
        sheet.write_number(day, 1, f64::from(1000 + 100 * day)).unwrap();
    }
    let went = through(&facility(), "log.xlsx", &book.save_to_buffer().unwrap(), &Answers::default());
    let first = &spans(&went.timeline, 2)[0];
    assert_eq!((first.0.as_str(), first.2.as_str()), ("2025-03-01", "100"));
    assert_eq!(spans(&went.timeline, 2).len(), 5);
}

#[test]
fn a_csv_with_semicolons_is_read_with_decimal_commas() {
    let text = "Datum book;;\nDate;M5 sewer;Storage pond level (m)\n13.07.2025;1.204;1,98\n14.07.2025;1.231;1,97\n15.07.2025;1.250;\n";
    let went = through(&facility(), "book.csv", text.as_bytes(), &Answers::default());
    assert_eq!(spans(&went.timeline, 4), said(&[("2025-07-13", 1, "27"), ("2025-07-14", 1, "19")]));
    assert_eq!(went.timeline.levels[0].value, "1.98");
    assert_eq!(went.timeline.levels[0].source.place.to_string(), "records/book.csv:3");
}

/// 3/4 and 5/6 are 4 March and 6 May, or 3 April and 5 June: nothing in the sheet says which.
#[test]
fn dates_that_could_mean_two_days_are_asked_and_never_guessed() {
    let text = "Date,M3 wash\n3/4/2025,1000\n5/6/2025,2000\n";
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("a.csv"), text).unwrap();
    let problems = Problems::new();
    let grid = Grid::open("a.csv", None, &mut Sources::new(folder.path()), &problems).unwrap();
    let asked = draft(&facility(), &grid, "a.csv", &Answers::default()).questions;
    assert_eq!(
        asked.iter().map(|question| &question.about).collect::<Vec<_>>(),
        [&About::Dates, &About::Column("M3 wash".into())]
    );
    assert_eq!(asked[0].flag, "--dates \"day first\"");
    let answers = Answers {
        dates: Some(DateOrder::MonthFirst),
        columns: vec![(
            "M3 wash".into(),
            crate::records::sheet::column_on_a_line("place: M3 wash, what: reading").unwrap(),
        )],
        ..Answers::default()
    };
    let went = through(&facility(), "a.csv", text.as_bytes(), &answers);
    assert_eq!(spans(&went.timeline, 2)[0].0, "2025-03-04");
}

#[test]
fn a_column_of_places_gives_each_result_to_its_own_place_and_an_unknown_one_is_asked_about() {
    let text =
        "Date,Outfall,TSS (mg/L),pH\n2025-03-14,001,22,7.1\n2025-03-14,Settling pond,132,7.4\n2025-03-28,\",18,7.0\n";
    let went = through(&facility(), "lab.csv", text.as_bytes(), &Answers::default());
    assert_eq!(went.questions, []);
    let samples: Vec<_> = went.timeline.samples.iter().map(|s| (s.at, s.day.to_string())).collect();
    let place = |name: &str| facility().find(name).unwrap();
    for (name, date, count) in
        [("Outfall 1", "2025-03-14", 2), ("Settling pond", "2025-03-14", 2), ("Settling pond", "2025-03-28", 2)]
    {
        assert_eq!(samples.iter().filter(|(at, day)| *at == place(name) && day == date).count(), count, "{samples:?}");
    }

    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("lab.csv"), text.replace("001", "Ditch")).unwrap();
    let grid = Grid::open("lab.csv", None, &mut Sources::new(folder.path()), &Problems::new()).unwrap();
    let asked = draft(&facility(), &grid, "lab.csv", &Answers::default()).questions;
    assert_eq!(asked.len(), 1, "{asked:#?}");
    assert_eq!(asked[0].text, "column B `Outfall`: which place is `Ditch`?");
    assert_eq!(asked[0].flag, "--column 'Outfall=place of the row: {\"Ditch\": Outfall 1}'");
    let answer = crate::records::sheet::column_on_a_line("place of the row: {\"Ditch\": Outfall 1}").unwrap();
    let answers = Answers { columns: vec![("Outfall".to_string(), answer)], ..Answers::default() };
    assert_eq!(draft(&facility(), &grid, "lab.csv", &answers).questions, []);
}

#[test]
fn rows_new_changed_and_gone_are_told_by_their_dates() {
    let answers = Answers::default();
    let head = "Date,M3 wash\n";
    let before = through(
        &facility(),
        "a.csv",
        format!("{head}2025-07-11,1000\n2025-07-12,2000\n2025-07-13,3000\n").as_bytes(),
        &answers,
    );
    let after = through(
        &facility(),
        "a.csv",
        format!("{head}2025-07-11,1000\n2025-07-12,2100\n2025-07-14,4000\n").as_bytes(),
        &answers,
    );
    let told = changes(&before.applied.digests, &after.applied.digests);
    assert_eq!(told.new, ["2025-07-14"]);
    assert_eq!(told.changed, ["2025-07-12"]);
    assert_eq!(told.gone, ["2025-07-13"]);
}

#[test]
fn a_workbook_without_a_mapping_is_told_and_not_passed_over() {
    let (_, problems) = read_files(&facility(), &[("misc.xlsx", &messy_log())]);
    assert!(problems.in_order()[0].message.contains("no mapping file"));
}

#[test]
fn values_without_a_date_are_told_and_not_passed_over() {
    let sheet = b"Date,M3 wash\n2025-07-11,1000\n2025-07-12,1500\n2025-07-13,1700\n,2000\n2025-07-14,3000\n";
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("a.csv"), sheet).unwrap();
    let problems = Problems::new();
    let grid = Grid::open("a.csv", None, &mut Sources::new(folder.path()), &problems).unwrap();
    let drafted = draft(&facility(), &grid, "a.csv", &Answers::default());
    apply(&grid, &drafted.mapping, &problems);
    assert_eq!(problems.in_order()[0].message, "values and no date");
    assert_eq!(problems.in_order()[0].place.line, 5);
}

/// Whatever a heading says, every answer that is offered can be typed: it answers its question, and the sheet is then
/// read without a complaint about the column.
#[test]
fn every_answer_that_is_offered_works_when_it_is_typed() {
    let headings = [
        "Well M1",
        "M1",
        "Well",
        "PONDS Settling ft",
        "Settling",
        "Storage pond",
        "Storage (in)",
        "Sand beds",
        "Outfall 1",
        "level",
        "meter",
        "washes",
        "TSS",
        "Rain",
        "pH",
        "freeboard ft",
        "Nitrate-N (mg/L)",
        "sludge",
        "M3 wash amount",
        "Return tank",
        "tank holding",
        "wash min",
        "Outfall 001 flow?",
    ];
    for heading in headings {
        let text = format!("Date,{heading}\n2025-07-11,1\n2025-07-12,2\n2025-07-13,3\n2025-07-14,4\n");
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("a.csv"), &text).unwrap();
        let grid = Grid::open("a.csv", None, &mut Sources::new(folder.path()), &Problems::new()).unwrap();
        let asked = draft(&facility(), &grid, "a.csv", &Answers::default()).questions;
        for question in &asked {
            let About::Column(name) = &question.about else { continue };
            assert!(question.flag.contains(&question.options[0]), "{question:?}");
            for option in &question.options {
                let column = crate::records::sheet::column_on_a_line(option)
                    .unwrap_or_else(|why| panic!("{heading}: `{option}`: {why}"));
                let answers = Answers { columns: vec![(name.clone(), column)], ..Answers::default() };
                let after = draft(&facility(), &grid, "a.csv", &answers);
                assert!(after.questions.is_empty(), "{heading}: `{option}` asks {:?}", after.questions);
                let problems = Problems::new();
                let applied = apply(&grid, &after.mapping, &problems);
                let told: Vec<String> = problems.in_order().iter().map(|problem| problem.message.clone()).collect();
                assert!(told.is_empty(), "{heading}: `{option}`: {told:?}");
                let read = Problems::new();
                crate::records::timeline_of(&facility(), applied.rows, &[], &read);
                // A bare number is no look and no changed name; all else is read.
                let errors: Vec<String> = read.in_order().iter().map(|problem| problem.message.clone()).collect();
                assert!(
                    errors.iter().all(|told| told.contains("does not say whether it flowed")),
                    "{heading}: `{option}`: {errors:?}"
                );
            }
        }
    }
}

/// The answer of the first evening: the heading's ft goes with what is typed; a meter is offered before its place.
#[test]
fn the_unit_of_a_heading_goes_with_an_answer_that_names_none() {
    let text =
        "Date,PONDS Settling ft,Well M1\n2025-07-11,2 1/4,1000\n2025-07-12,2.5,2000\n2025-07-13,\"2'8\"\"\",3000\n";
    let column = crate::records::sheet::column_on_a_line("place: Settling pond, what: level").unwrap();
    let answers = Answers { columns: vec![("PONDS Settling ft".into(), column)], ..Answers::default() };
    let went = through(&facility(), "a.csv", text.as_bytes(), &answers);
    let metres: Vec<f64> = went.timeline.levels.iter().map(|level| level.value_si).collect();
    for (read, feet) in metres.iter().zip([2.25, 2.5, 2.0 + 8.0 / 12.0]) {
        approx::assert_relative_eq!(*read, feet * 0.3048, max_relative = 1e-12);
    }
    assert_eq!(metres.len(), 3);
    assert_eq!(spans(&went.timeline, 0).len(), 2, "M1 well is read");
}

#[test]
fn a_blank_behind_a_tab_s_name_and_totals_by_their_short_words_do_not_stop_a_workbook() {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet().set_name("Dec ").unwrap();
    texts(
        sheet,
        0,
        &[
            &["Date", "M3 wash"],
            &["12/2/2025", "1000"],
            &["12/3/2025", "1100"],
            &["12/14/2025", "2100"],
            &["Week tot", "1,100"],
            &["tot.", "1,100"],
            &["ave", "366"],
        ],
    );
    let went = through(&facility(), "a.xlsx", &book.save_to_buffer().unwrap(), &Answers::default());
    assert_eq!(went.mapping.tables[0].tabs, ["Dec "]);
    assert_eq!(spans(&went.timeline, 2), said(&[("2025-12-02", 1, "100"), ("2025-12-03", 11, "1000")]));
    assert_eq!(went.applied.skipped.iter().filter(|row| row.why == "a total").count(), 3);
}

/// Day counts of a spreadsheet, as numbers of the workbook and as text of a CSV: 45852 is 14 Jul 2025 (see `day_count`).
#[test]
fn dates_that_are_day_counts_are_read_under_a_heading_of_dates_and_a_dial_is_none() {
    let text = "Date,M3 wash\n45852,45852\n45853,45952\n45854,46052\n";
    let went = through(&facility(), "a.csv", text.as_bytes(), &Answers::default());
    assert_eq!(spans(&went.timeline, 2), said(&[("2025-07-14", 1, "100"), ("2025-07-15", 1, "100")]));
    let mut book = Workbook::new();
    let sheet = book.add_worksheet();
    texts(sheet, 0, &[&["Date", "M3 wash"]]);
    for day in 0..4_u32 {
        sheet.write_number(day + 1, 0, f64::from(45_852 + day)).unwrap();
        sheet.write_number(day + 1, 1, f64::from(45_852 + 100 * day)).unwrap();
    }
    let went = through(&facility(), "a.xlsx", &book.save_to_buffer().unwrap(), &Answers::default());
    assert_eq!(spans(&went.timeline, 2)[0], ("2025-07-14".to_string(), 1, "100".to_string()));
}

/// A February whose tab is lost: 1 wash since the row before on 1 Mar is one wash of 1 Mar's row, not of the 29 days since
/// 31 Jan. Asked of the sheet; said, the count covers from 1 Mar on; not said, each is told.
#[test]
fn a_count_after_a_lost_month_is_asked_about_and_covers_no_day_whose_row_is_lost() {
    let mut text = String::from("Date,Sand beds washes\n");
    for day in [25, 27, 29, 31] {
        text.push_str(&format!("2025-01-{day},4\n"));
    }
    text.push_str("2025-03-02,1\n2025-03-04,5\n");
    let counts = Answers { counts: Some(Some(SinceTheLast::Entry)), ..Answers::default() };
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("a.csv"), &text).unwrap();
    let grid = Grid::open("a.csv", None, &mut Sources::new(folder.path()), &Problems::new()).unwrap();
    let asked = draft(&facility(), &grid, "a.csv", &counts).questions;
    assert_eq!(asked.len(), 1, "{asked:#?}");
    assert_eq!(asked[0].flag, "--lost \"2025-02-01 to 2025-03-01\"");
    assert_eq!(asked[0].options[1], "nothing");

    let days = crate::records::sheet::lost_days("2025-02-01 to 2025-03-01").unwrap();
    let said = Answers { lost: Some(days.into_iter().collect()), ..counts };
    let went = through(&facility(), "a.csv", text.as_bytes(), &said);
    let of_march = |timeline: &Timeline| {
        timeline
            .washes
            .iter()
            .filter(|wash| wash.first_day > date("2025-01-31"))
            .map(|w| (w.first_day, w.days, w.count))
            .collect::<Vec<_>>()
    };
    assert_eq!(of_march(&went.timeline)[1], (date("2025-03-02"), 2, 5));
    let whole: Vec<_> = went.timeline.washes.iter().filter(|wash| wash.count == 1).collect();
    assert!(whole.iter().all(|wash| wash.first_day >= date("2025-03-01") && wash.days <= 2), "{whole:?}");

    let rows: String = ["2025-01-27", "2025-01-29", "2025-01-31", "2025-03-02", "2025-03-04"]
        .iter()
        .map(|day| format!("{day},Sand beds,washes,,1,,,,,,since the last row\n"))
        .collect();
    let told = super::fixture::told(&rows);
    assert_eq!(told.len(), 1, "{told:#?}");
    assert!(told[0].contains("taken for the 30 days since"), "{told:?}");
    let lost = rows.replace("2025-03-02", "2025-03-01,Sand beds,washes,,lost,,,,,,\n2025-03-02");
    assert_eq!(super::fixture::told(&lost), [0; 0].map(|_: i32| String::new()));
}

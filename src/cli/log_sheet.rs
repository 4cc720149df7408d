//! `log-sheet`: a month's blank sheet to print and hang on a clipboard, made from the facility.

use std::path::PathBuf;
use std::process::ExitCode;

use chrono::{Datelike, Days, Months, NaiveDate};
use clap::Args as ClapArgs;

use crate::cli::load;
use crate::facility::model::{DischargeKind, Facility, Paper, PlaceId, PlaceKind};
use crate::files::{Content, Sources, check_targets, write_whole};
use crate::page::document;
use crate::page::document::{Cell, Column, Document, Table, Text};
use crate::page::pdf;
use crate::quantity::System;
use crate::records::LevelKind;
use crate::rules::{Point, RulesFile, Subject};
use crate::told::{Problems, print};
use crate::{facility, records, rules};

/// What `log-sheet` is told.
#[derive(Debug, Clone, ClapArgs)]
#[command(
    about = "Make a blank month sheet to print: a line for each day, a column for each thing to read",
    before_help = "Example:  bywash log-sheet my-nursery --month 2026-03\n\
                   Its columns are the facility's meters, washes, ponds and outfalls; below stands which samples are due \
                   by the rules file.",
    after_help = "Without --month it is the month after the last record. When a filled sheet is typed into the records, its \
                  number goes into the column `paper`; keep the sheet."
)]
pub struct Args {
    /// The facility's folder
    #[arg(value_name = "DIR", default_value = ".")]
    pub directory: PathBuf,
    /// The month, like 2026-03
    #[arg(long, value_name = "YYYY-MM", value_parser = month)]
    pub month: Option<NaiveDate>,
    /// Where to write it [default: log-sheet-YYYY-MM.pdf in DIR]
    #[arg(short, long, value_name = "FILE")]
    pub output: Option<PathBuf>,
}

/// The first day of a month written like 2026-03.
fn month(text: &str) -> Result<NaiveDate, String> {
    let wrong = || "write the month like 2026-03".to_string();
    let (year, month) = text.trim().split_once('-').ok_or_else(wrong)?;
    let digits = year.len() == 4
        && month.len() == 2
        && [year, month].iter().all(|part| part.bytes().all(|b| b.is_ascii_digit()));
    let (Ok(year), Ok(month)) = (year.parse::<i32>(), month.parse::<u32>()) else {
        return Err(wrong());
    };
    NaiveDate::from_ymd_opt(year, month, 1).filter(|_| digits && (1980..=2100).contains(&year)).ok_or_else(wrong)
}

/// Writes the sheet. Gives 0, or 1 when it could not.
pub fn run(args: &Args) -> ExitCode {
    match work(args) {
        Ok(path) => {
            load::to_stderr(&format!("Wrote {}\n", path.display()));
            ExitCode::SUCCESS
        }
        Err(message) => {
            load::to_stderr(&message);
            ExitCode::from(1)
        }
    }
}

fn work(args: &Args) -> Result<PathBuf, String> {
    let mut sources = Sources::new(&args.directory);
    let mut problems = Problems::new();
    let read = facility::read(&args.directory, &mut sources, &mut problems);
    let Some(facility) = read.filter(|_| !problems.has_errors()) else {
        return Err(print(&problems, &sources, false));
    };
    let first = match args.month {
        Some(first) => first,
        None => {
            // What is wrong in the records is told by other commands; here only their last day counts.
            let last = records::read(&facility, &mut sources, &Problems::new()).last_day;
            last.and_then(|day| day.with_day(1))
                .and_then(|day| day.checked_add_months(Months::new(1)))
                .ok_or("error: there is no record yet; say which month with --month 2026-03\n")?
        }
    };
    let rules = match &facility.rules {
        Some((file, asked_at)) => {
            let read = rules::read(file, Some(asked_at), &facility, &mut sources, &problems);
            if problems.has_errors() {
                return Err(print(&problems, &sources, false));
            }
            read
        }
        None => None,
    };
    let path = match &args.output {
        Some(path) => path.clone(),
        None => args.directory.join(format!("log-sheet-{}.pdf", first.format("%Y-%m"))),
    };
    check_targets(&[(&path, Content::Pdf)], &sources).map_err(|cause| format!("error: {cause}\n"))?;
    let document = sheet(&facility, rules.as_ref(), first);
    let bytes = pdf::render(&document).map_err(|cause| format!("error: {cause}\n"))?;
    write_whole(&path, &bytes).map_err(|cause| format!("error: {cause}\n"))?;
    Ok(path)
}

/// The document of a month's sheet; `first` is the month's first day.
pub(crate) fn sheet(facility: &Facility, rules: Option<&RulesFile>, first: NaiveDate) -> Document {
    let month = first.format("%B %Y").to_string();
    let mut doc = Document::new("Log sheet", facility.name.clone(), month.clone());
    doc.paper = match facility.paper {
        Paper::Letter => document::Paper::Letter,
        Paper::A4 => document::Paper::A4,
    };
    doc.paragraph(Text::new().plain(format!(
        "Read at {}, when our day starts. Write the time beside a reading taken more than half an hour from it. Nothing \
         read: leave the line blank. Nothing used, washed or fallen: write 0. Too little rain to measure: T. \
         Sheet number: ____________",
        facility.day_starts.format("%H:%M")
    )));
    let columns = columns(facility, rules);
    let parts = columns.len().div_ceil(MOST_COLUMNS).max(1);
    for (part, heads) in columns.chunks(columns.len().div_ceil(parts).max(1)).enumerate() {
        if part > 0 {
            doc.push(document::Block::PageBreak);
        }
        doc.table(days(heads, first));
        // Where the days take more pages than one, the room below the first of them is for the samples.
        if part == 0 && parts > 1 {
            doc.table(samples());
        }
    }
    if let Some(due) = rules.and_then(|rules| due(rules, first)) {
        doc.table(due);
    }
    if parts <= 1 {
        doc.table(samples());
    }
    doc
}

/// Columns of one page beside the day and the initials.
const MOST_COLUMNS: usize = 9;

/// A head and the unit below it.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Head {
    text: String,
    unit: String,
}

/// What is read: meters, washes and changes, ponds, outfalls, rain.
fn columns(facility: &Facility, rules: Option<&RulesFile>) -> Vec<Head> {
    let mut heads = Vec::new();
    let mut head = |text: String, unit: &str| {
        heads.push(Head { text, unit: unit.to_string() });
    };
    for meter in &facility.meters {
        head(format!("{} dial", meter.name), meter.counts_in_now());
    }
    let length = match facility.system {
        System::Us => "ft",
        System::Metric => "m",
    };
    // A freeboard or a depth of sludge that the permit limits is read for itself.
    let limited = |place: usize, wanted: LevelKind| {
        rules.is_some_and(|rules| {
            rules.limits.iter().any(|limit| {
                limit.subject == Subject::Stage(wanted)
                    && matches!(&limit.at, Point::Places(places) if places.contains(&PlaceId(place)))
            })
        })
    };
    for (place, site) in facility.places.iter().enumerate() {
        match &site.kind {
            PlaceKind::Filter(filter) => {
                if filter.wash.is_some() {
                    head(format!("{} washes", site.name), "");
                }
                if filter.change.is_some() {
                    head(format!("{} changed", site.name), "");
                }
            }
            PlaceKind::Pond(_) => {
                head(format!("{} level", site.name), length);
                if limited(place, LevelKind::Freeboard) {
                    head(format!("{} freeboard", site.name), length);
                }
                if limited(place, LevelKind::SludgeDepth) {
                    head(format!("{} sludge depth", site.name), length);
                }
            }
            PlaceKind::DischargePoint(point)
                if point.looked_at.is_some() || point.kind == DischargeKind::SurfaceWater =>
            {
                head(format!("{} flowing or dry", site.name), "");
            }
            _ => {}
        }
    }
    if facility.weather.rain.is_some() {
        head(
            "Rain".to_string(),
            match facility.system {
                System::Us => "in",
                System::Metric => "mm",
            },
        );
    }
    heads
}

/// A line to write on, about as wide as its column.
fn blank(columns: usize) -> String {
    // 495 pt across, less the day and the initials; 4.3 pt a stroke at the size of tables.
    let room = 425.0 / columns.max(1) as f64 - 10.0;
    let strokes = (room / 4.3).floor().clamp(5.0, 24.0);
    "_".repeat(strokes as usize)
}

/// A line for initials, about 15 mm.
const INITIALS: &str = "__________";

fn days(heads: &[Head], first: NaiveDate) -> Table {
    let mut columns = vec![Column::words("Day")];
    columns.extend(heads.iter().map(|head| Column {
        head: head.text.clone(),
        unit: (!head.unit.is_empty()).then(|| head.unit.clone()),
        ..Column::words("")
    }));
    columns.push(Column::words("By"));
    let mut table = Table::new(columns).wide();
    let line = blank(heads.len());
    let mut day = first;
    while day.month() == first.month() {
        let mut cells: Vec<Cell> = vec![day.format("%a %-d").to_string().into()];
        cells.extend(heads.iter().map(|_| Cell::words(line.as_str())));
        cells.push(INITIALS.into());
        table.row(cells);
        match day.checked_add_days(Days::new(1)) {
            Some(next) => day = next,
            None => break,
        }
    }
    table
}

/// The samples and readings that the rules file asks for in this month.
fn due(rules: &RulesFile, first: NaiveDate) -> Option<Table> {
    let last = first.checked_add_months(Months::new(1))?.pred_opt()?;
    let mut table = Table::new(vec![
        Column::words("Due by the rules file"),
        Column::words("Where"),
        Column::words("What"),
        Column::words("How often"),
    ])
    .wide();
    for limit in &rules.limits {
        let Some(sample) = &limit.sample else {
            continue;
        };
        let seasons = &limit.holds.seasons;
        let in_season = seasons.is_empty() || seasons.iter().any(|span| span.contains(first) || span.contains(last));
        if !in_season {
            continue;
        }
        let what = match &limit.subject {
            Subject::Parameter(name) | Subject::Load(name) | Subject::Removal(name, _) => name.clone(),
            Subject::Stage(LevelKind::Level) => "level".into(),
            Subject::Stage(LevelKind::Freeboard) => "freeboard".into(),
            Subject::Stage(LevelKind::SludgeDepth) => "sludge depth".into(),
            Subject::Stage(LevelKind::Holding) => "volume held".into(),
            Subject::Discharge | Subject::Hours | Subject::ClockWindow => "look".into(),
            Subject::Water | Subject::Rate => "meter".into(),
            Subject::Events => "count".into(),
        };
        table.row(vec![
            limit.name.clone().into(),
            limit.at_text.clone().into(),
            what.into(),
            sample.text.clone().into(),
        ]);
    }
    (!table.rows.is_empty()).then_some(table)
}

/// Lines for samples taken.
fn samples() -> Table {
    let mut table = Table::new(vec![
        Column::words("Sample: day and time"),
        Column::words("Where"),
        Column::words("What"),
        Column::words("Slip"),
        Column::words("By"),
    ])
    .wide();
    for _ in 0..SAMPLE_LINES {
        table.row(vec![
            "_".repeat(18).into(),
            "_".repeat(18).into(),
            "_".repeat(24).into(),
            "_".repeat(14).into(),
            INITIALS.into(),
        ]);
    }
    table
}

/// Lines for samples on a sheet.
const SAMPLE_LINES: usize = 4;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::page::document::Block;
    use std::path::Path;

    fn demo() -> Args {
        Args {
            directory: Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-facility"),
            month: month("2026-02").ok(),
            output: None,
        }
    }

    fn pages(bytes: &[u8]) -> usize {
        lopdf::Document::load_mem(bytes).unwrap().get_pages().len()
    }

    #[test]
    fn a_month_is_read_only_in_one_form() {
        assert_eq!(month("2026-03"), Ok(NaiveDate::from_ymd_opt(2026, 3, 1).unwrap()));
        for text in ["2026-13", "2026-3", "March", "03-2026", "", "+026-03"] {
            assert!(month(text).is_err(), "{text}");
        }
    }

    #[test]
    fn the_demonstration_s_sheet_has_a_line_for_each_day_and_a_column_for_each_thing_read() {
        let folder = tempfile::tempdir().unwrap();
        let args = Args { output: Some(folder.path().join("sheet.pdf")), ..demo() };
        let path = work(&args).unwrap();
        let bytes = std::fs::read(&path).unwrap();
        assert!(pages(&bytes) <= 3);
        work(&args).unwrap();
        assert_eq!(std::fs::read(&path).unwrap(), bytes, "the same sheet has the same bytes");
        let mut problems = Problems::new();
        let mut sources = Sources::new(&args.directory);
        let facility = facility::read(&args.directory, &mut sources, &mut problems).unwrap();
        let document = sheet(&facility, None, month("2026-02").unwrap());
        assert!(pdf::layout_faults(&document).is_empty(), "{:?}", pdf::layout_faults(&document));
        let tables: Vec<&Table> = document
            .blocks
            .iter()
            .filter_map(|block| match block {
                Block::Table(table) => Some(table),
                _ => None,
            })
            .collect();
        assert_eq!(tables[0].rows.len(), 28);
        let heads: Vec<&str> =
            tables.iter().flat_map(|table| table.columns.iter().map(|column| column.head.as_str())).collect();
        for meter in &facility.meters {
            assert!(heads.contains(&format!("{} dial", meter.name).as_str()), "{heads:?}");
        }
    }

    #[test]
    fn initials_fit_their_column_and_samples_stand_below_the_first_days_of_a_long_sheet() {
        let mut problems = Problems::new();
        let args = demo();
        let mut sources = Sources::new(&args.directory);
        let facility = facility::read(&args.directory, &mut sources, &mut problems).unwrap();
        // The longest month.
        let document = sheet(&facility, None, month("2026-03").unwrap());
        let bytes = pdf::render(&document).unwrap();
        let file = lopdf::Document::load_mem(&bytes).unwrap();
        let pages: Vec<u32> = file.get_pages().keys().copied().collect();
        assert_eq!(pages.len(), 2, "samples do not start a page of their own");
        // A stroke is 4.3 pt wide, 10 mm are 28.3 pt.
        assert!(INITIALS.len() as f64 * 4.3 > 28.3);
    }

    #[test]
    fn a_small_site_s_sheet_is_one_page() {
        let mut problems = Problems::new();
        let args = demo();
        let mut sources = Sources::new(&args.directory);
        let mut facility = facility::read(&args.directory, &mut sources, &mut problems).unwrap();
        facility.meters.truncate(2);
        facility.places.retain(|site| matches!(site.kind, PlaceKind::Pond(_)));
        let document = sheet(&facility, None, month("2026-03").unwrap());
        assert_eq!(pages(&pdf::render(&document).unwrap()), 1);
    }
}

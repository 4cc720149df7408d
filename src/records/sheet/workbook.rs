//! XLSX workbooks: cells as text, merged cells spread out; bounded, whatever the file says of itself.

use std::collections::BTreeMap;
use std::io::{Cursor, Read};
use std::panic::{AssertUnwindSafe, catch_unwind};

use calamine::{Data, Reader, SheetType, Xlsx};

use super::grid::{GridRow, Tab, clean, letters};
use crate::files::{self, MOST_LETTERS};
use crate::told::{Place, Problem, Problems};

/// The most cells of a workbook that are read.
const MOST_CELLS: usize = 5_000_000;

/// The most columns of a tab, as of any table.
const MOST_COLUMNS: u32 = files::MOST_COLUMNS as u32;

/// The most letters of all cells together: one shared text may stand in a million cells.
const MOST_TEXT: usize = 64 << 20;

/// The most bytes that the parts of a workbook may unpack to.
const MOST_UNPACKED: u64 = 64 << 20;

/// The tabs of a workbook. What is wrong is told.
pub(super) fn workbook(name: &str, bytes: &[u8], problems: &Problems) -> Option<Vec<Tab>> {
    // A file that is broken in a way its reader did not foresee is the file's fault, and told like any other.
    let read = catch_unwind(AssertUnwindSafe(|| tabs(bytes)));
    match read.unwrap_or_else(|_| Err("it is broken inside".into())) {
        Ok(tabs) => Some(tabs),
        Err(why) => {
            problems.add(
                Problem::error(&Place::file(name), format!("this workbook can't be read: {why}"))
                    .hint("open it and save it again as .xlsx, or save the sheet as CSV"),
            );
            None
        }
    }
}

fn tabs(bytes: &[u8]) -> Result<Vec<Tab>, String> {
    is_within_bounds(bytes)?;
    let mut book: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).map_err(|wrong| wrong.to_string())?;
    let names: Vec<String> = book
        .sheets_metadata()
        .iter()
        .filter(|sheet| sheet.typ == SheetType::WorkSheet)
        .map(|sheet| sheet.name.clone())
        .collect();
    let mut left = Left { cells: MOST_CELLS, text: MOST_TEXT };
    let mut tabs = Vec::new();
    for name in names {
        let mut rows = rows(&mut book, &name, &mut left).map_err(|wrong| format!("tab {name}: {wrong}"))?;
        for region in book.merge_cells_by_sheet_name(&name).unwrap_or_default() {
            spread_merged(&mut rows, region.start, region.end);
        }
        let rows = rows.into_values().filter(|row| !row.is_blank()).collect();
        tabs.push(Tab { name, rows });
    }
    Ok(tabs)
}

/// What may still be read of a workbook.
struct Left {
    cells: usize,
    text: usize,
}

type Rows = BTreeMap<u32, GridRow>;

/// The cells that hold something, one after another: a stray cell far out costs nothing.
fn rows(book: &mut Xlsx<Cursor<&[u8]>>, name: &str, left: &mut Left) -> Result<Rows, String> {
    let mut reader = book.worksheet_cells_reader(name).map_err(|wrong| wrong.to_string())?;
    let mut rows = Rows::new();
    while let Some(cell) = reader.next_cell().map_err(|wrong| wrong.to_string())? {
        let (row, column) = cell.get_position();
        let value = Data::from(cell.get_value().clone());
        let native = matches!(value, Data::Int(_) | Data::Float(_));
        let text = text(&value);
        if text.is_empty() {
            continue;
        }
        if column >= MOST_COLUMNS {
            return Err(format!("it has more than {MOST_COLUMNS} columns"));
        }
        if text.len() > MOST_LETTERS && text.chars().count() > MOST_LETTERS {
            let cell = format!("{}{}", letters(column as usize), row.saturating_add(1));
            return Err(format!("cell {cell} has more than {MOST_LETTERS} letters"));
        }
        left.text = left
            .text
            .checked_sub(text.len())
            .ok_or_else(|| format!("its cells hold more than {} MB", MOST_TEXT >> 20))?;
        left.cells = left.cells.checked_sub(1).ok_or_else(|| format!("it has more than {MOST_CELLS} cells"))?;
        let row = rows.entry(row).or_insert_with(|| GridRow {
            number: row.saturating_add(1),
            cells: Vec::new(),
            native: Vec::new(),
            csv: None,
            origins: Vec::new(),
        });
        put(row, column as usize, text, native);
    }
    Ok(rows)
}

fn put(row: &mut GridRow, column: usize, text: String, native: bool) {
    if row.cells.len() <= column {
        row.cells.resize(column + 1, String::new());
    }
    if row.native.len() <= column {
        row.native.resize(column + 1, false);
    }
    if let (Some(cell), Some(mark)) = (row.cells.get_mut(column), row.native.get_mut(column)) {
        *cell = text;
        *mark = native;
    }
}

fn text(value: &Data) -> String {
    match value {
        Data::Empty => String::new(),
        Data::String(text) | Data::DateTimeIso(text) | Data::DurationIso(text) => clean(text),
        Data::Int(value) => value.to_string(),
        Data::Float(value) => float(*value),
        Data::Bool(value) => if *value { "yes" } else { "no" }.to_string(),
        Data::DateTime(moment) => date_text(moment),
        Data::Error(wrong) => wrong.to_string(),
    }
}

/// A merged cell says the same in all its columns and rows, where nothing else is written.
fn spread_merged(rows: &mut Rows, (r0, c0): (u32, u32), (r1, c1): (u32, u32)) {
    const MOST_SPREAD: u32 = 400;
    let Some((text, native)) = rows.get(&r0).map(|row| (row.cell(c0 as usize).to_string(), row.is_native(c0 as usize)))
    else {
        return;
    };
    if text.is_empty()
        || c1 >= MOST_COLUMNS
        || c1.saturating_sub(c0) > MOST_SPREAD
        || r1.saturating_sub(r0) > MOST_SPREAD
    {
        return;
    }
    for (_, row) in rows.range_mut(r0..=r1.max(r0)) {
        for column in c0..=c1.max(c0) {
            let column = column as usize;
            if row.cell(column).is_empty() {
                put(row, column, text.clone(), native);
            }
        }
    }
}

/// Unpacks every part and counts: what a workbook says of its own size may be untrue.
fn is_within_bounds(bytes: &[u8]) -> Result<(), String> {
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).map_err(|wrong| wrong.to_string())?;
    let mut left = MOST_UNPACKED;
    for index in 0..archive.len() {
        let part = archive.by_index(index).map_err(|wrong| wrong.to_string())?;
        let unpacked =
            std::io::copy(&mut part.take(left + 1), &mut std::io::sink()).map_err(|wrong| wrong.to_string())?;
        left =
            left.checked_sub(unpacked).ok_or_else(|| format!("it unpacks to more than {} MB", MOST_UNPACKED >> 20))?;
    }
    Ok(())
}

/// The shortest text of a number; a sum that a spreadsheet carries in binary loses its stray digits.
fn float(value: f64) -> String {
    let shortest = format!("{value}");
    let digits = shortest.bytes().filter(u8::is_ascii_digit).count();
    if digits <= 15 {
        return shortest;
    }
    // 15 significant digits are what a spreadsheet shows at most.
    let whole = format!("{:.0}", value.abs().trunc()).len();
    let places = 15_usize.saturating_sub(whole);
    let text = format!("{value:.places$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_string() } else { text }
}

fn date_text(moment: &calamine::ExcelDateTime) -> String {
    let (year, month, day, hour, minute, second, _) = moment.to_ymd_hms_milli();
    let clock = format!("{hour:02}:{minute:02}");
    if moment.as_f64() < 1.0 || moment.is_duration() {
        clock
    } else if (hour, minute, second) == (0, 0, 0) {
        format!("{year:04}-{month:02}-{day:02}")
    } else {
        format!("{year:04}-{month:02}-{day:02} {clock}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_of_a_workbook_is_the_one_that_is_shown() {
        assert_eq!(float(0.1 + 0.2), "0.3");
        assert_eq!(float(412_880.0), "412880");
        assert_eq!(float(6.6), "6.6");
    }

    #[test]
    fn a_stray_cell_far_out_and_a_broken_file_are_told_and_not_a_crash() {
        let mut book = rust_xlsxwriter::Workbook::new();
        let sheet = book.add_worksheet();
        sheet.write_string(0, 0, "Date").unwrap();
        sheet.write_string(1_048_575, 3, "x").unwrap();
        let bytes = book.save_to_buffer().unwrap();
        assert_eq!(tabs(&bytes).unwrap()[0].rows.len(), 2);
        sheet_is_refused(&{
            let mut book = rust_xlsxwriter::Workbook::new();
            book.add_worksheet().write_string(0, 16_000, "x").unwrap();
            book.save_to_buffer().unwrap()
        });
        for cut in [0, 10, bytes.len() / 2, bytes.len() - 3] {
            sheet_is_refused(&bytes[..cut]);
        }
    }

    #[test]
    fn a_small_file_that_unpacks_to_a_large_one_is_refused_whatever_it_says_of_itself() {
        use std::io::Write;
        let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
        zip.start_file("xl/sharedStrings.xml", zip::write::SimpleFileOptions::default()).unwrap();
        let nought = vec![0; 1 << 20];
        for _ in 0..65 {
            zip.write_all(&nought).unwrap();
        }
        let mut bytes = zip.finish().unwrap().into_inner();
        assert!(bytes.len() < 1 << 20);
        assert!(is_within_bounds(&bytes).unwrap_err().contains("64 MB"));
        // The directory's word for the unpacked size, 24 bytes into its entry, made small.
        let entry = bytes.windows(4).rposition(|four| four == b"PK\x01\x02").unwrap();
        bytes[entry + 24..entry + 28].copy_from_slice(&1000_u32.to_le_bytes());
        assert!(is_within_bounds(&bytes).is_err());
    }

    #[test]
    fn a_cell_beyond_measure_is_told() {
        let mut book = rust_xlsxwriter::Workbook::new();
        book.add_worksheet().write_string(4, 2, "x".repeat(MOST_LETTERS + 1)).unwrap();
        let bytes = book.save_to_buffer().unwrap();
        assert!(tabs(&bytes).unwrap_err().contains("cell C5"));
    }

    fn sheet_is_refused(bytes: &[u8]) {
        let problems = Problems::new();
        assert!(workbook("a.xlsx", bytes, &problems).is_none());
        assert_eq!(problems.errors(), 1);
    }
}

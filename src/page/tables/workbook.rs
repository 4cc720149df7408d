//! Tables as an XLSX workbook, one sheet each.

use std::collections::BTreeSet;
use std::io::{Cursor, Read, Write};

use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, FormatBorder, Formula, Workbook, utility};

use zip::write::SimpleFileOptions;
use zip::{ZipArchive, ZipWriter};

use crate::page::document::Table;
use crate::page::tables::{Flat, FlatTable, TableError, flat};

/// The most rows a sheet holds.
const MOST_ROWS: usize = 1_048_575;
/// The most characters a sheet's name has.
const MOST_NAME: usize = 31;
/// The most characters a cell holds.
const MOST_CHARS: usize = 32_767;

/// The tables as a workbook: one sheet a table, named by its caption. The same tables give the same bytes.
///
/// # Errors
/// When a table has more rows or columns than a sheet holds, or the writer refuses.
pub fn workbook(tables: &[(String, &Table)]) -> Result<Vec<u8>, TableError> {
    let failed = |error: rust_xlsxwriter::XlsxError| TableError::Workbook(error.to_string());
    let mut book = Workbook::new();
    // A fixed date: the clock has no place in what is written.
    let date = ExcelDateTime::from_ymd(2000, 1, 1).map_err(failed)?;
    let properties = DocProperties::new()
        .set_creation_datetime(&date)
        .set_author(concat!("bywash ", env!("CARGO_PKG_VERSION")))
        .set_comment(concat!("Written by bywash ", env!("CARGO_PKG_VERSION")));
    book.set_properties(&properties);
    let head = Format::new()
        .set_bold()
        .set_text_wrap()
        .set_border_top(FormatBorder::Thin)
        .set_border_bottom(FormatBorder::Thin);
    let mut taken = BTreeSet::new();
    for (name, table) in tables {
        let flat = flat(table);
        if flat.rows.len() > MOST_ROWS || flat.heads.len() > 16_384 {
            return Err(TableError::Workbook(format!(
                "\"{name}\" has {} rows and {} columns; a sheet holds {MOST_ROWS} and 16384",
                flat.rows.len(),
                flat.heads.len()
            )));
        }
        let sheet = book.add_worksheet();
        sheet.set_name(sheet_name(name, &mut taken)).map_err(failed)?;
        for (column, words) in (0u16..).zip(&flat.heads) {
            sheet.write_string_with_format(0, column, shortened(words), &head).map_err(failed)?;
            let width = words.chars().count().clamp(8, 28);
            sheet.set_column_width(column, width as f64 + 2.0).map_err(failed)?;
        }
        sheet.set_freeze_panes(1, 0).map_err(failed)?;
        for (row, cells) in (1u32..).zip(&flat.rows) {
            for (column, cell) in (0u16..).zip(cells) {
                match cell {
                    Flat::Words(words) => {
                        sheet.write_string(row, column, shortened(words)).map_err(failed)?;
                    }
                    Flat::Number(value, digits) => {
                        let format = Format::new().set_num_format(pattern(*digits));
                        match summed(&flat, row, column, *value) {
                            Some(formula) => sheet.write_formula_with_format(row, column, formula, &format),
                            None => sheet.write_number_with_format(row, column, *value, &format),
                        }
                        .map_err(failed)?;
                    }
                    Flat::Empty => {}
                }
            }
        }
    }
    if tables.is_empty() {
        book.add_worksheet();
    }
    named(&book.save_to_buffer().map_err(failed)?)
}

/// The file with this program's name in its properties: the writer puts another's there.
fn named(book: &[u8]) -> Result<Vec<u8>, TableError> {
    const PROPERTIES: &str = "docProps/app.xml";
    let failed = |error: zip::result::ZipError| TableError::Workbook(error.to_string());
    let mut parts = ZipArchive::new(Cursor::new(book)).map_err(failed)?;
    let mut out = ZipWriter::new(Cursor::new(Vec::new()));
    for at in 0..parts.len() {
        let mut part = parts.by_index(at).map_err(failed)?;
        if part.name().map_err(failed)? != PROPERTIES {
            out.raw_copy_file(part).map_err(failed)?;
            continue;
        }
        let mut text = String::new();
        part.read_to_string(&mut text).map_err(|error| failed(error.into()))?;
        let (head, rest) = text.split_once("<Application>").unwrap_or((&text, ""));
        let rest = rest.split_once("</Application>").map_or("", |(_, rest)| rest);
        let own = format!("{head}<Application>bywash</Application>{rest}");
        let same = SimpleFileOptions::default().last_modified_time(part.last_modified().unwrap_or_default());
        out.start_file(PROPERTIES, same).map_err(failed)?;
        out.write_all(own.as_bytes()).map_err(|error| failed(error.into()))?;
    }
    Ok(out.finish().map_err(failed)?.into_inner())
}

/// The formula of a total that is the sum of what stands above it; none for a total that is more or less than that, such
/// as the worst of them.
fn summed(flat: &FlatTable, row: u32, column: u16, value: f64) -> Option<Formula> {
    let at = usize::try_from(row).ok()?.checked_sub(1)?;
    let (_, first) = flat.sums.iter().find(|(sum, _)| *sum == at)?;
    let above = flat.rows.get(*first..at)?;
    let cell = |cells: &Vec<Flat>| match cells.get(usize::from(column)) {
        Some(Flat::Number(value, _)) => *value,
        _ => 0.0,
    };
    let sum: f64 = above.iter().map(cell).sum();
    let close = (sum - value).abs() <= 1e-9 * value.abs().max(1.0);
    let range = utility::cell_range(u32::try_from(*first).ok()? + 1, column, row.checked_sub(1)?, column);
    (close && above.len() > 1).then(|| Formula::new(format!("=SUM({range})")).set_result(value.to_string()))
}

fn pattern(digits: u8) -> String {
    if digits == 0 { "#,##0".to_owned() } else { format!("#,##0.{}", "0".repeat(usize::from(digits.min(12)))) }
}

fn shortened(words: &str) -> String {
    words.chars().take(MOST_CHARS).collect()
}

/// A name a sheet may have: no marks that are not allowed, 31 characters, none twice.
fn sheet_name(name: &str, taken: &mut BTreeSet<String>) -> String {
    let clean: String =
        name.chars().filter(|c| !c.is_control()).map(|c| if "[]:*?/\\".contains(c) { ' ' } else { c }).collect();
    let clean = clean.split_whitespace().collect::<Vec<_>>().join(" ");
    let clean = clean.trim_matches('\'').trim();
    // Of a caption that is a sentence its first part is name enough.
    let first = clean.split([',', ';', '.']).next().unwrap_or(clean).trim();
    let clean = if clean.chars().count() > MOST_NAME && first.chars().count() >= 8 { first } else { clean };
    let clean = if clean.is_empty() || clean.eq_ignore_ascii_case("history") { "Table" } else { clean };
    let mut number = 1;
    loop {
        let suffix = if number == 1 { String::new() } else { format!(" {number}") };
        let mut tried = String::new();
        // Sheets count their characters in UTF-16.
        for c in clean.chars() {
            if tried.encode_utf16().count() + c.len_utf16() + suffix.len() > MOST_NAME {
                break;
            }
            tried.push(c);
        }
        // A long caption is cut between words.
        let ends =
            tried.len() == clean.len() || clean.get(tried.len()..).is_some_and(|rest| rest.starts_with([' ', ',']));
        if !ends && let Some(space) = tried.rfind(' ') {
            tried.truncate(space);
        }
        let tried = format!("{}{suffix}", tried.trim_end_matches([' ', ',', ';']).trim_end_matches('\''));
        if taken.insert(tried.to_lowercase()) {
            return tried;
        }
        number += 1;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sheet_names_are_legal_and_never_the_same() {
        let mut taken = BTreeSet::new();
        for name in ["", "History", "a/b:c*?[d]", "'quoted'", "Washes", "washes"] {
            let name = sheet_name(name, &mut taken);
            assert!(!name.is_empty() && !name.contains(['/', ':', '*', '?', '[', ']', '\\']));
        }
        let long = "x".repeat(80);
        let (a, b) = (sheet_name(&long, &mut taken), sheet_name(&long, &mut taken));
        assert_ne!(a, b);
        assert!(a.chars().count() <= 31 && b.chars().count() <= 31);
    }
}

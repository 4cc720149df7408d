//! Tables as an XLSX workbook, one sheet each.

use std::collections::BTreeSet;

use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, FormatBorder, Workbook};

use crate::page::document::Table;
use crate::page::tables::{Flat, TableError, flat};

/// The most rows a sheet holds.
const MOST_ROWS: usize = 1_048_575;
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
    book.set_properties(&DocProperties::new().set_creation_datetime(&date));
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
                        sheet.write_number_with_format(row, column, *value, &format).map_err(failed)?;
                    }
                    Flat::Empty => {}
                }
            }
        }
    }
    if tables.is_empty() {
        book.add_worksheet();
    }
    book.save_to_buffer().map_err(failed)
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
    let clean = clean.trim().trim_matches('\'').trim();
    let clean = if clean.is_empty() || clean.eq_ignore_ascii_case("history") { "Table" } else { clean };
    let mut number = 1;
    loop {
        let suffix = if number == 1 { String::new() } else { format!(" {number}") };
        let mut tried = String::new();
        // Sheets count their characters in UTF-16.
        for c in clean.chars() {
            if tried.encode_utf16().count() + c.len_utf16() + suffix.len() > 31 {
                break;
            }
            tried.push(c);
        }
        let tried = format!("{}{suffix}", tried.trim_end().trim_end_matches('\''));
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

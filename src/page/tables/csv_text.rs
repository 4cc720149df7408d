//! A table as CSV.

use crate::files::inert;
use crate::page::document::Table;
use crate::page::tables::{Flat, TableError, flat};

/// A table as CSV (RFC 4180 quoting, LF line ends): figures with a point and no grouping, a column for each basis, traces
/// last. Words that a spreadsheet would take for a formula get an apostrophe in front.
///
/// # Errors
/// When the writer refuses, which plain tables do not bring about.
pub fn csv_text(table: &Table) -> Result<String, TableError> {
    let failed = |error: &dyn std::fmt::Display| TableError::Csv(error.to_string());
    let flat = flat(table);
    let mut writer = csv::Writer::from_writer(Vec::new());
    if !flat.heads.is_empty() {
        writer.write_record(flat.heads.iter().map(|head| inert(head).into_owned())).map_err(|error| failed(&error))?;
    }
    for row in &flat.rows {
        if row.is_empty() {
            continue;
        }
        let record: Vec<String> = row
            .iter()
            .map(|cell| match cell {
                Flat::Words(words) => inert(words).into_owned(),
                Flat::Number(value, digits) => {
                    let text = format!("{:.*}", usize::from((*digits).min(12)), value);
                    // No minus before a figure that rounds to nought.
                    if text.trim_start_matches('-').chars().all(|c| c == '0' || c == '.') {
                        text.trim_start_matches('-').to_owned()
                    } else {
                        text
                    }
                }
                Flat::Empty => String::new(),
            })
            .collect();
        writer.write_record(record).map_err(|error| failed(&error))?;
    }
    let bytes = writer.into_inner().map_err(|error| failed(&error))?;
    String::from_utf8(bytes).map_err(|error| failed(&error))
}

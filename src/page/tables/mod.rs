//! The document's tables as files for other programs: CSV text and XLSX workbooks.

mod csv_text;
mod json;
#[cfg(feature = "xlsx")]
mod workbook;

pub use csv_text::csv_text;
pub use json::tables_json;
#[cfg(feature = "xlsx")]
pub use workbook::workbook;

use crate::page::document::{Basis, Cell, RowKind, Table, Value};

/// Why tables could not be written.
#[derive(Debug, thiserror::Error)]
pub enum TableError {
    /// The CSV writer refused.
    #[error("the table could not be written as CSV: {0}")]
    Csv(String),
    /// The workbook writer refused.
    #[error("the tables could not be written as a workbook: {0}")]
    Workbook(String),
}

/// What a cell of a flat table holds.
#[derive(Debug, Clone, PartialEq)]
enum Flat {
    Words(String),
    Number(f64, u8),
    Empty,
}

/// A table without page dress: each figure column is followed by its basis where any of its cells has one, and the traces
/// stand in a last column.
struct FlatTable {
    heads: Vec<String>,
    rows: Vec<Vec<Flat>>,
    /// Rows that are sums: their index, and that of the first row they sum.
    #[cfg_attr(not(feature = "xlsx"), expect(dead_code, reason = "CSV has no formulas"))]
    sums: Vec<(usize, usize)>,
}

fn flat(table: &Table) -> FlatTable {
    let count = table.columns.len();
    let with_basis: Vec<bool> = (0..count)
        .map(|i| table.rows.iter().any(|row| row.cells.get(i).is_some_and(|cell| cell.basis.is_some())))
        .collect();
    let grouped = table.rows.iter().any(|row| row.kind == RowKind::Group);
    let summed = table.rows.iter().any(|row| matches!(row.kind, RowKind::Sum | RowKind::Closed { .. }));
    let traced = table.rows.iter().any(|row| row.folio.is_some());
    let mut heads = Vec::new();
    if grouped {
        heads.push("Group".to_owned());
    }
    for (column, has_basis) in table.columns.iter().zip(&with_basis) {
        heads.push(column.head_with_unit());
        if *has_basis {
            heads.push(format!("{}, basis", column.head));
        }
    }
    if summed {
        heads.push("Kind of row".to_owned());
    }
    if traced {
        heads.push("Trace".to_owned());
    }
    let mut group = String::new();
    let mut rows = Vec::new();
    let mut sums = Vec::new();
    let mut first = 0;
    for row in &table.rows {
        if row.kind == RowKind::Group {
            group = row.cells.first().map(Cell::text).unwrap_or_default();
            first = rows.len();
            continue;
        }
        if matches!(row.kind, RowKind::Sum | RowKind::Closed { .. }) {
            sums.push((rows.len(), first));
            first = rows.len() + 1;
        }
        let mut cells = Vec::new();
        if grouped {
            cells.push(Flat::Words(group.clone()));
        }
        for (i, has_basis) in with_basis.iter().enumerate() {
            let cell = row.cells.get(i);
            cells.push(cell.map_or(Flat::Empty, flat_cell));
            if *has_basis {
                let word = cell.and_then(|cell| cell.basis).map(Basis::word);
                cells.push(word.map_or(Flat::Empty, |word| Flat::Words(word.to_owned())));
            }
        }
        if summed {
            cells.push(match &row.kind {
                RowKind::Sum => Flat::Words("sum".to_owned()),
                RowKind::Closed { residual } => Flat::Words(format!("closed balance, {residual}")),
                RowKind::Plain | RowKind::Group => Flat::Empty,
            });
        }
        if traced {
            cells.push(row.folio.as_ref().map_or(Flat::Empty, |trace| Flat::Words(trace.clone())));
        }
        rows.push(cells);
    }
    FlatTable { heads, rows, sums }
}

fn flat_cell(cell: &Cell) -> Flat {
    match &cell.value {
        Value::Words(text) => {
            let words = text.words();
            if words.is_empty() { Flat::Empty } else { Flat::Words(words) }
        }
        Value::Number { value, digits } if value.is_finite() => Flat::Number(*value, *digits),
        Value::Number { .. } | Value::Nothing => Flat::Empty,
    }
}

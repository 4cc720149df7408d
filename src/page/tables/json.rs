//! Tables as JSON.

use serde_json::{Value, json};

use crate::page::document::Table;
use crate::page::tables::{Flat, flat};

/// Tables as a list of their names, heads and rows; figures are numbers, as in the workbook.
pub fn tables_json(tables: &[(String, Table)]) -> Value {
    tables
        .iter()
        .map(|(name, table)| {
            let flat = flat(table);
            let rows: Vec<Vec<Value>> = flat
                .rows
                .iter()
                .filter(|row| !row.is_empty())
                .map(|row| {
                    row.iter()
                        .map(|cell| match cell {
                            Flat::Words(words) => json!(words),
                            Flat::Number(value, _) => json!(value),
                            Flat::Empty => Value::Null,
                        })
                        .collect()
                })
                .collect();
            json!({ "table": name, "heads": flat.heads, "rows": rows })
        })
        .collect()
}

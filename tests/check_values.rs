//! Published and independently computed values, one row each in `tests/data/check-values.csv`, against our functions.
//!
//! A row names a quantity; one arm of a `match` in a file of `tests/check_values/` computes it. To add rows: put them
//! in the CSV with all columns; if the quantity is new add an arm, or a file with a `value` function and a line in
//! `computed`. Rows that are not used, and why, stand in `tests/data/unused-check-values.md`.

#![cfg(test)]

#[path = "check_values/dataset.rs"]
mod dataset;
#[path = "check_values/hydraulics.rs"]
mod hydraulics;
#[path = "check_values/hydrology.rs"]
mod hydrology;
#[path = "check_values/ponds.rs"]
mod ponds;
#[path = "check_values/row.rs"]
mod row;
#[path = "check_values/statistics.rs"]
mod statistics;
#[path = "check_values/water_and_settling.rs"]
mod water_and_settling;

use row::Row;

/// The row's value by our functions, in the row's unit; nothing if no file knows the quantity.
fn computed(row: &Row) -> Option<f64> {
    water_and_settling::value(row)
        .or_else(|| ponds::value(row))
        .or_else(|| hydrology::value(row))
        .or_else(|| hydraulics::value(row))
        .or_else(|| statistics::value(row))
        .or_else(|| dataset::value(row))
}

#[test]
fn a_published_value_that_we_do_not_reproduce_would_make_every_figure_built_on_it_wrong() {
    let rows = row::read();
    let mut wrong = Vec::new();
    for row in &rows {
        let Some(value) = computed(row) else {
            wrong.push(format!("{}: nothing computes `{}`", row.id, row.quantity));
            continue;
        };
        let expected = row.expected();
        let allowed = row.allowed_difference();
        // A value of no number fails.
        if value.is_nan() || (value - expected).abs() > allowed {
            wrong.push(format!(
                "{}: {} ({}) gives {value}, expected {expected} ± {allowed} {}\n    {}",
                row.id, row.quantity, row.inputs, row.unit, row.source
            ));
        }
    }
    assert!(wrong.is_empty(), "{} of {} rows:\n{}", wrong.len(), rows.len(), wrong.join("\n"));
}

#[test]
fn rows_lost_from_the_table_would_silently_weaken_it() {
    let rows = row::read();
    assert!(rows.len() >= 300, "{} rows", rows.len());
    let mut ids: Vec<&str> = rows.iter().map(|row| row.id.as_str()).collect();
    ids.sort_unstable();
    ids.dedup();
    assert_eq!(ids.len(), rows.len(), "an id stands twice");
}

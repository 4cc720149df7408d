//! How a sheet was understood, in words.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use super::Told;
use crate::records::sheet::{Applied, Changes, Column, Grid, Mapping, changes, heading_of, letters, without_braces};

/// Rows shown as understood.
const ROWS_SHOWN: usize = 5;

/// Rows left out that are shown.
const SKIPPED_SHOWN: usize = 12;

/// Rows new, changed or gone that are shown of each.
const CHANGES_SHOWN: usize = 20;

pub(super) fn show(grid: &Grid, mapping: &Mapping, applied: &Applied, told: &mut Told) {
    for table in &mapping.tables {
        let tabs = if table.tabs.is_empty() { String::new() } else { format!("{}: ", table.tabs.join(", ")) };
        let _ = writeln!(
            told.out,
            "{tabs}headings in row {}{}, dates in column {} {}",
            table.heading_row,
            table.last_row.map_or_else(String::new, |row| format!(", rows down to {row}")),
            letters(table.date),
            table.order.words(table.year)
        );
        if let Some(column) = table.time_column {
            let _ =
                writeln!(told.out, "  {:<3} {:<28} time of the row", letters(column), heading_of(grid, table, column));
        }
        for (at, column) in &table.columns {
            let heading = heading_of(grid, table, *at);
            let _ = writeln!(told.out, "  {:<3} {:<28} {}", letters(*at), heading, without_braces(&column.text()));
        }
    }
    let _ = writeln!(told.out, "Rows as understood ({} in all):", applied.understood.len());
    // Each letter is read back: what it is taken to be about decides whether a notice is on file.
    let of_letters = mapping.tables.iter().flat_map(|table| &table.columns).any(|(_, column)| *column == Column::About);
    let shown = if of_letters { usize::MAX } else { ROWS_SHOWN };
    for row in applied.understood.iter().take(shown) {
        let time = row.stamp.time.map(|time| format!(" {}", time.format("%H:%M"))).unwrap_or_default();
        let _ = writeln!(told.out, "  {}{time}  {}", row.stamp.date, row.text);
    }
    if !applied.skipped.is_empty() {
        let _ = writeln!(told.out, "Rows left out ({}):", applied.skipped.len());
        for row in applied.skipped.iter().take(SKIPPED_SHOWN) {
            let _ = writeln!(told.out, "  {}  {}: {}", row.place, row.why, row.text);
        }
        if applied.skipped.len() > SKIPPED_SHOWN {
            let _ = writeln!(told.out, "  and {} more", applied.skipped.len() - SKIPPED_SHOWN);
        }
    }
}

pub(super) fn show_changes(before: &BTreeMap<String, String>, applied: &Applied, told: &mut Told) {
    let changes = changes(before, &applied.digests);
    if changes == Changes::default() {
        let _ = writeln!(told.out, "No row is new, changed or gone since this was last run.");
        return;
    }
    for (word, rows) in [("new", &changes.new), ("changed", &changes.changed), ("gone", &changes.gone)] {
        if rows.is_empty() {
            continue;
        }
        let shown: Vec<&str> = rows.iter().take(CHANGES_SHOWN).map(String::as_str).collect();
        let more = rows.len().saturating_sub(CHANGES_SHOWN);
        let more = if more > 0 { format!(", and {more} more") } else { String::new() };
        let _ = writeln!(told.out, "Rows {word} ({}): {}{more}", rows.len(), shown.join(", "));
    }
}

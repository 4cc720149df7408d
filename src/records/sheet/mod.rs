//! Sheets as people keep them: opened, a mapping drafted, read by it.
//!
//! `bywash sheet` drafts a mapping file beside a sheet; from then on [`crate::records::read`] reads the sheet by it. The
//! sheet itself is never changed.

mod apply;
mod before;
mod cells;
mod changes;
mod column_units;
mod counts;
mod draft;
mod factor;
mod gaps;
mod grid;
mod habits;
mod headings;
mod layout;
mod letters;
mod mapping;
mod marks;
mod meaning;
mod misplaced;
mod offers;
mod said;
mod sums;
mod tab_dates;
mod turned;
mod values;
#[cfg(feature = "xlsx")]
mod workbook;

pub(crate) use apply::{Applied, apply};
pub(crate) use before::with_those_before;
pub(crate) use cells::Cells;
pub(crate) use changes::{Changes, changes};
pub(crate) use draft::{About, Answers, Question, draft};
pub(crate) use grid::{Grid, letters};
pub(crate) use habits::{Habit, Habits};
pub(crate) use mapping::{Column, Mapping, column_on_a_line, quoted, since_named, without_braces};
pub(crate) use misplaced::misplaced;

pub(crate) use said::lost_days;

use crate::files::Sources;
use crate::records::row::Row;
use crate::told::{Place, Problem, Problems};

/// The heading of a column in the first tab of a table.
pub(crate) fn heading_of(grid: &Grid, table: &mapping::Table, column: usize) -> String {
    let tab = grid.tabs.iter().find(|tab| table.tabs.first().is_none_or(|name| *name == tab.name));
    tab.and_then(|tab| tab.rows.iter().rev().find(|row| row.number <= table.heading_row))
        .map(|row| row.cell(column).to_string())
        .unwrap_or_default()
}

/// The rows of a sheet by its mapping file.
pub(crate) fn rows(name: &str, asked_at: &Place, sources: &mut Sources, problems: &Problems) -> Vec<Row> {
    let Some(source) = sources.text(&Mapping::file_of(name), Some(asked_at), problems) else {
        return Vec::new();
    };
    let Some(mapping) = Mapping::read(&source, problems) else {
        return Vec::new();
    };
    let own = name.rsplit('/').next().unwrap_or(name);
    if mapping.sheet != own {
        problems.add(
            Problem::error(
                &Place::file(&source.name),
                format!("this is the mapping of `{}`, and stands beside `{own}`", mapping.sheet),
            )
            .hint(format!("run again: bywash sheet \"{name}\"")),
        );
        return Vec::new();
    }
    match Grid::open(name, Some(asked_at), sources, problems) {
        Some(grid) => apply(&grid, &mapping, problems).rows,
        None => Vec::new(),
    }
}

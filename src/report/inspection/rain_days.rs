//! The rain of each day, as the year's water took it.

use chrono::{Datelike, NaiveDate};

use crate::page::document::{Basis, Cell, Column, Document, Table};
use crate::report::inspection::about::Case;
use crate::report::units;

/// Months that stand side by side.
const MONTHS_ACROSS: usize = 12;
/// Periods of more months than this are too long to be read day by day on paper.
const MOST_MONTHS: usize = 24;

/// Writes the section; nothing where no rain is known.
pub fn write(case: &Case, doc: &mut Document) {
    let months = case.months();
    if months.len() > MOST_MONTHS || case.weather.rain.iter().all(|day| day.depth_mm.is_none()) {
        return;
    }
    let unit = units::rain(case.facility.system);
    doc.heading(2, "Rain of each day");
    for some in months.chunks(MONTHS_ACROSS) {
        let mut columns = vec![Column::words("Day")];
        columns.extend(
            some.iter().map(|(from, _)| Column::figures(from.format("%b").to_string(), from.format("%Y").to_string())),
        );
        let mut table = Table::new(columns).caption(format!("Rain, {}", unit.name)).wide();
        for day in 1..=31 {
            let mut cells = vec![Cell::words(day.to_string())];
            cells.extend(some.iter().map(|(from, to)| match from.with_day(day) {
                Some(date) if *from <= date && date <= *to => fallen(case, date, unit),
                _ => Cell::nothing(),
            }));
            table.row(cells);
        }
        table.note("In brackets: a share of a reading over several days. “?”: not known.");
        doc.table(table);
    }
}

fn fallen(case: &Case, date: NaiveDate, unit: units::Unit) -> Cell {
    let index = usize::try_from((date - case.weather.first_day).num_days()).ok();
    let Some(day) = index.and_then(|index| case.weather.rain.get(index)) else { return Cell::words("?") };
    match day.depth_mm {
        None => Cell::words("?"),
        // Nothing fell: a figure that stands out where something did.
        Some(depth) if depth == 0.0 && day.measured => Cell::words("0"),
        Some(depth) => {
            let basis = if day.measured { Basis::Metered } else { Basis::Assumed };
            Cell::figure(unit.of(depth), unit.digits, basis)
        }
    }
}

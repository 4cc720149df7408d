//! A cell's value with its unit and note, by what was said of the sheet's words.

use crate::quantity::{Cell, DecimalMark, cell, units};
use crate::records::heads::as_a_number;
use crate::records::sheet::cells::{Cells, says_flow};
use crate::records::sheet::mapping::Column;

/// A value of a place with its unit and note, by what was said of its words: what stood there is kept in the note.
pub(super) fn said_of(
    (value, mark): (&str, DecimalMark),
    (column, name): (&Column, &str),
    note: Option<&str>,
    cells: &Cells,
) -> (String, Option<String>, Option<String>) {
    let Column::Values { what, parameter, unit, .. } = column else {
        return (value.to_owned(), None, note.map(str::to_owned));
    };
    let as_written = || as_written(value, note);
    // A head is what it says, whatever such a cell stood for while the column was one of looks.
    let is_number = || as_a_number(value).is_some() || matches!(cell(value, mark), Ok(Cell::Number { .. }));
    if says_flow(what)
        && !(what.eq_ignore_ascii_case("head") && is_number())
        && let Some(said) = cells.look(value, name)
    {
        return (if said == "not said" { "-".to_owned() } else { said.to_owned() }, None, as_written());
    }
    if what.eq_ignore_ascii_case("sample")
        && let Some((limit, of_limit)) = cells.below(value, parameter.as_deref())
    {
        return (limit, of_limit.or_else(|| unit.clone()), as_written());
    }
    let unit = if has_own_unit(value, mark, unit.as_deref()) { None } else { unit.clone() };
    (value.to_owned(), unit, note.map(str::to_owned))
}

/// A look at which nothing was written, as it is typed after `--look`.
pub(super) const BLANK: &str = "blank";

/// A note, and what stood in the cell.
pub(super) fn as_written(value: &str, note: Option<&str>) -> Option<String> {
    let written = format!("as written: {value}");
    Some(note.map_or_else(|| written.clone(), |note| format!("{note}; {written}")))
}

/// Whether a value names another unit than its column, of the same kind: `14900 ug/L` under mg/L is read in its own.
fn has_own_unit(value: &str, mark: DecimalMark, column: Option<&str>) -> bool {
    let Ok(Cell::Number { behind, .. }) = cell(value, mark) else { return false };
    let Some((own, column)) = units::named(&behind).zip(column.and_then(units::named)) else { return false };
    // One letter more often stands for a remark than for another measure.
    behind.chars().count() > 1 && own.dimension == column.dimension && own.factor() != column.factor()
}

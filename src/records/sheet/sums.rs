//! Sums in a cell: `9+8+8` in a column of counts or amounts, asked about once for a sheet.

use crate::quantity::{Cell, CellSign, Decimal, DecimalMark, cell};
use crate::records::sheet::draft::{Question, data};
use crate::records::sheet::grid::Tab;
use crate::records::sheet::habits::{Habit, Sums};
use crate::records::sheet::layout::Layout;
use crate::records::sheet::mapping::{Column, Mapping};

/// The total of `9+8+8`; none where a cell is no sum of plain numbers.
pub(super) fn total(text: &str, mark: DecimalMark) -> Option<Decimal> {
    let parts: Vec<&str> = text.split('+').collect();
    if parts.len() < 2 {
        return None;
    }
    parts.into_iter().try_fold(Decimal::ZERO, |sum, part| match cell(part, mark) {
        Ok(Cell::Number { value, sign: CellSign::None, behind }) if behind.is_empty() && !value.is_negative() => {
            sum.plus(value)
        }
        _ => None,
    })
}

/// What is read in place of a sum, as its keeper said; none for any other cell.
pub(super) fn said_of_sum(text: &str, mark: DecimalMark, what: &str, said: Option<Sums>) -> Option<String> {
    let total = total(text, mark).filter(|_| adds_up(what))?;
    match said? {
        Sums::Add => Some(total.to_string()),
        Sums::NotRead => Some("not read".to_owned()),
    }
}

/// Whether what is recorded may be added: a count or an amount; no reading, no result.
fn adds_up(what: &str) -> bool {
    ["washes", "wash minutes", "changed", "amount", "rain"].iter().any(|word| what.eq_ignore_ascii_case(word))
}

/// Asks once for all sums of a sheet.
pub(super) fn ask(found: &[(&Tab, Layout)], mapping: &Mapping, questions: &mut Vec<Question>) {
    if mapping.habits.sums.is_some() {
        return;
    }
    let (mut first, mut count) = (None, 0);
    for (tab, layout) in found {
        let is_of = |table: &&crate::records::sheet::mapping::Table| {
            layout.heading_row == table.heading_row && (tab.name.is_empty() || table.tabs.contains(&tab.name))
        };
        for table in mapping.tables.iter().filter(is_of) {
            for (at, column) in &table.columns {
                let Column::Values { what, .. } = column else { continue };
                let sums = data(tab, layout)
                    .map(|row| row.cell(*at))
                    .filter(|text| adds_up(what) && total(text, table.mark).is_some());
                for text in sums {
                    count += 1;
                    first.get_or_insert_with(|| text.to_owned());
                }
            }
        }
    }
    let Some(text) = first else { return };
    let more =
        if count == 1 { String::new() } else { format!(" and {} like it", crate::told::many(count - 1, "cell")) };
    questions.push(Habit::Sums.question(format!("`{text}`{more}: is it the sum that counts?")));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_plain_numbers_are_added() {
        for (text, mark, sum) in [
            ("9+8+8", DecimalMark::Point, Some("25")),
            ("9 + 8", DecimalMark::Point, Some("17")),
            ("1,5+0,25", DecimalMark::Comma, Some("1.75")),
            ("9", DecimalMark::Point, None),
            ("9+", DecimalMark::Point, None),
            ("9+8 gal", DecimalMark::Point, None),
            ("9+<8", DecimalMark::Point, None),
            ("9+-8", DecimalMark::Point, None),
        ] {
            assert_eq!(total(text, mark).map(|sum| sum.to_string()).as_deref(), sum, "{text}");
        }
        assert_eq!(said_of_sum("9+8", DecimalMark::Point, "reading", Some(Sums::Add)), None);
        assert_eq!(said_of_sum("9+8", DecimalMark::Point, "washes", Some(Sums::NotRead)).as_deref(), Some("not read"));
    }
}

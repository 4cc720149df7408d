//! Tables of comma-separated text, with the place of every cell.

use std::borrow::Cow;

use super::Source;
use super::quotes::{CellSpan, cells};
use crate::quantity::{DateOrder, order_in_heading, order_of, two_numbers};
use crate::told::{Place, Problem, Problems, nearest};

/// The most rows a table may have.
pub const MOST_ROWS: usize = 2_000_000;

/// The most columns a table may have.
pub const MOST_COLUMNS: usize = 1000;

/// The most letters of a cell.
pub const MOST_LETTERS: usize = 1000;

/// Stands for a ditto mark while a text is split into cells: a byte that no sheet holds.
const DITTO: &str = "\u{1}";

/// A table that was read.
#[derive(Debug, Clone)]
pub struct Sheet<'a> {
    source: &'a Source,
    delimiter: u8,
    /// The headings, trimmed.
    pub headings: Vec<String>,
    /// The row of the headings.
    pub heading: Row,
    /// The rows under the headings, in file order; empty lines and lines that begin with `#` are left out.
    pub rows: Vec<Row>,
}

/// One row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// Its line, counted from 1.
    pub line: u32,
    cells: csv::StringRecord,
    start: usize,
}

impl Row {
    /// A cell, trimmed; empty where the row is too short.
    pub fn cell(&self, column: usize) -> &str {
        match self.cells.get(column).unwrap_or_default().trim() {
            DITTO => "\"",
            cell => cell,
        }
    }

    /// How many cells the row has.
    pub fn len(&self) -> usize {
        self.cells.len()
    }

    /// Whether every cell is empty.
    pub fn is_empty(&self) -> bool {
        self.cells.iter().all(|cell| cell.trim().is_empty())
    }
}

/// Splits a text into rows, a line each. Gives `None` after telling what is wrong.
pub fn rows(source: &Source, delimiter: u8, problems: &Problems) -> Option<Vec<Row>> {
    let text = paired(source, delimiter, problems)?;
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(delimiter)
        .comment(Some(b'#'))
        .from_reader(text.as_bytes());
    let mut rows = Vec::new();
    let mut record = csv::StringRecord::new();
    loop {
        match reader.read_record(&mut record) {
            Ok(false) => return Some(rows),
            Ok(true) => {}
            Err(wrong) => {
                let line = wrong.position().map_or(0, csv::Position::line);
                let mut place = Place::file(&source.name);
                place.line = u32::try_from(line).unwrap_or(0);
                problems.add(
                    Problem::error(&place, "this row can't be read as a table")
                        .hint("look for a quote that is not closed"),
                );
                return None;
            }
        }
        let at = record.position().map_or(0, |position| usize::try_from(position.byte()).unwrap_or(0));
        let start = first_row_at(source, at);
        let row = Row { line: source.place(start, start).line, cells: record.clone(), start };
        if rows.len() >= MOST_ROWS {
            problems.add(
                Problem::error(&Place::line(&source.name, row.line), format!("more than {MOST_ROWS} rows"))
                    .hint("split the file"),
            );
            return None;
        }
        if !row.is_empty() {
            rows.push(row);
        }
    }
}

/// The text with each ditto mark as a letter of its own, where every quote is closed on its line and no cell is beyond
/// measure; else tells of each line that is not so.
fn paired<'a>(source: &'a Source, delimiter: u8, problems: &Problems) -> Option<Cow<'a, str>> {
    let mut text = Cow::Borrowed(source.text.as_str());
    let mut is_sound = true;
    let mut tell = |from: usize, to: usize, message: String, hint: &str| {
        is_sound = false;
        problems.add(Problem::error(&source.place(from, to), message).hint(hint));
    };
    let mut start = 0;
    for line in source.text.split_inclusive('\n') {
        let from = start;
        start += line.len();
        let line = line.trim_end_matches('\n');
        if line.is_empty() || line.starts_with('#') {
            continue;
        }
        match cells(line, delimiter) {
            Err(wrong) => tell(from + wrong.at, from + wrong.at + 1, wrong.message.to_owned(), wrong.hint),
            Ok(cells) if cells.len() > MOST_COLUMNS => {
                tell(from, from + 1, format!("this row has more than {MOST_COLUMNS} cells"), "is this a table?");
            }
            Ok(cells) => {
                for CellSpan { bytes, is_ditto } in cells {
                    let (first, last) = (from + bytes.start, from + bytes.end);
                    if is_ditto {
                        let blanks = line.get(bytes).map_or(0, |cell| cell.len() - cell.trim_start().len());
                        text.to_mut().replace_range(first + blanks..first + blanks + 1, DITTO);
                    } else if bytes.len() > MOST_LETTERS
                        && line.get(bytes).is_some_and(|cell| cell.chars().count() > MOST_LETTERS)
                    {
                        let message = format!("this cell has more than {MOST_LETTERS} letters");
                        tell(first, last, message, "shorten it, or look for a quote that is not closed");
                    }
                }
            }
        }
    }
    is_sound.then_some(text)
}

/// The reader's position of a row may stand before empty lines and remarks.
fn first_row_at(source: &Source, from: usize) -> usize {
    let mut at = from;
    while let Some(line) = source.text.get(at..).and_then(|rest| rest.split_inclusive('\n').next()) {
        if line.trim_end_matches('\n').is_empty() || line.starts_with('#') {
            at += line.len();
        } else {
            break;
        }
    }
    at.min(source.text.len())
}

/// The place of a cell of a row.
pub fn place(source: &Source, delimiter: u8, row: &Row, column: usize) -> Place {
    let rest = source.text.get(row.start..).unwrap_or_default();
    let line = rest.lines().next().unwrap_or_default();
    let end = row.start + line.len();
    match cells(line, delimiter).ok().and_then(|cells| cells.into_iter().nth(column)) {
        Some(cell) => trimmed_place(source, row.start + cell.bytes.start, row.start + cell.bytes.end),
        // The row is too short: its end.
        None => source.place(end, end),
    }
}

fn trimmed_place(source: &Source, from: usize, to: usize) -> Place {
    let text = source.text.get(from..to).unwrap_or_default();
    let lead = text.len() - text.trim_start().len();
    source.place(from + lead, (from + lead + text.trim().len()).max(from + lead))
}

impl<'a> Sheet<'a> {
    /// Reads a table whose first row is its headings.
    pub fn read(source: &'a Source, delimiter: u8, problems: &Problems) -> Option<Self> {
        let mut all = rows(source, delimiter, problems)?;
        if all.is_empty() {
            problems.add(
                Problem::error(&Place::file(&source.name), "this table has no row")
                    .hint("the first row names the columns"),
            );
            return None;
        }
        let heading = all.remove(0);
        let headings: Vec<String> = (0..heading.len()).map(|at| heading.cell(at).to_string()).collect();
        let sheet = Self { source, delimiter, headings, heading, rows: all };
        for (at, name) in sheet.headings.iter().enumerate() {
            if !name.is_empty() && sheet.headings.iter().take(at).any(|other| other.eq_ignore_ascii_case(name)) {
                problems.add(
                    Problem::error(&sheet.heading_place(at), format!("two columns are called `{name}`"))
                        .hint("rename one of them"),
                );
            }
        }
        Some(sheet)
    }

    /// The number of a column by its heading, in any case.
    pub fn column(&self, heading: &str) -> Option<usize> {
        self.headings.iter().position(|name| name.eq_ignore_ascii_case(heading))
    }

    /// The number of a column of dates by its heading, which may say their order: `date (month first)`.
    pub fn column_of_dates(&self, heading: &str) -> Option<usize> {
        self.headings.iter().position(|name| order_in_heading(name).0.eq_ignore_ascii_case(heading))
    }

    /// The order of a column's dates: as its heading says, else as its dates say together; else it is asked, once for the
    /// column, and the rows that need it can't be read.
    pub fn order_of_dates(&self, column: usize, problems: &Problems) -> Option<DateOrder> {
        let heading = self.headings.get(column).map(String::as_str).unwrap_or_default();
        let (bare, said) = order_in_heading(heading);
        if said.is_some() {
            return said;
        }
        let rows: Vec<_> = self.rows.iter().filter_map(|row| Some((row, two_numbers(row.cell(column))?))).collect();
        let settled = order_of(&[rows.iter().map(|(_, numbers)| *numbers).collect()]);
        match (settled.or_asked(bare), rows.first()) {
            (Ok(order), _) => Some(order),
            (Err(refusal), Some((row, _))) => {
                problems.add(Problem::misread(&self.place(row, column), refusal));
                None
            }
            (Err(_), None) => None,
        }
    }

    /// The number of a column that must be there; a missing one is told with the nearest heading.
    pub fn needed(&self, heading: &str, problems: &Problems) -> Option<usize> {
        let found = self.column(heading);
        if found.is_none() {
            let near = nearest(heading, self.headings.iter().map(String::as_str));
            let hint = match near {
                Some(near) => format!("did you mean `{heading}` where it says `{near}`?"),
                None => format!("the columns are: {}", self.headings.join(", ")),
            };
            let place = Place::line(&self.source.name, self.heading.line);
            problems.add(Problem::error(&place, format!("there is no column `{heading}`")).hint(hint));
        }
        found
    }

    /// The place of a cell.
    pub fn place(&self, row: &Row, column: usize) -> Place {
        place(self.source, self.delimiter, row, column)
    }

    /// The place of a heading.
    pub fn heading_place(&self, column: usize) -> Place {
        self.place(&self.heading, column)
    }

    /// Tells of rows that have more cells than there are headings.
    pub fn tell_ragged(&self, problems: &Problems) {
        for row in &self.rows {
            if row.len() > self.headings.len() {
                let message = format!("this row has {} cells and there are {} columns", row.len(), self.headings.len());
                problems.add(
                    Problem::error(&self.place(row, self.headings.len()), message)
                        .hint("a comma inside a text needs quotes around the text; a comma inside a number must go"),
                );
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cell_knows_its_place_behind_remarks_quotes_and_empty_lines() {
        let text =
            "# remark, with comma\n\ndate,place,note\n# another\n2025-07-11,\"Pond, west\", wet \n\n2025-07-12,Well\n";
        let source = Source::new("records/a.csv", text);
        let problems = Problems::new();
        let sheet = Sheet::read(&source, b',', &problems).unwrap();
        assert_eq!(sheet.headings, ["date", "place", "note"]);
        assert_eq!(sheet.rows.len(), 2);
        let first = &sheet.rows[0];
        assert_eq!((first.line, first.cell(1), first.cell(2)), (5, "Pond, west", "wet"));
        let place = sheet.place(first, 2);
        assert_eq!((place.line, place.column, place.length), (5, 26, 3));
        assert_eq!(sheet.place(first, 1).column, 12);
        assert_eq!((sheet.rows[1].line, sheet.rows[1].cell(2)), (7, ""));
        assert_eq!(sheet.needed("palce", &problems), None);
        assert!(problems.in_order()[0].hint.as_deref().unwrap().contains("`place`"));
    }

    #[test]
    fn a_stray_quote_never_swallows_the_rows_after_it() {
        for (second, message) in [
            ("2025-07-12,\"Well,2", "this quote is not closed on its line"),
            ("2025-07-12,Well,\"2\n", "this quote is not closed on its line"),
            ("2025-07-12,\"Well\" 1,2", "more stands behind the quote that closes this cell"),
        ] {
            let source = Source::new("a.csv", &format!("date,place,value\n{second}\n2025-07-13,\"Drain\",3\n"));
            let problems = Problems::new();
            assert!(Sheet::read(&source, b',', &problems).is_none());
            let told = problems.in_order();
            assert_eq!((told.len(), told[0].place.line, told[0].message.as_str()), (1, 2, message));
        }
        let source = Source::new("a.csv", "date,place,value\n2025-07-12,Well,2\n2025-07-13,\", \" \n\",Well,4\n");
        let problems = Problems::new();
        let sheet = Sheet::read(&source, b',', &problems).unwrap();
        let all: Vec<[&str; 3]> = sheet.rows.iter().map(|row| [row.cell(0), row.cell(1), row.cell(2)]).collect();
        assert_eq!(all, [["2025-07-12", "Well", "2"], ["2025-07-13", "\"", "\""], ["\"", "Well", "4"]]);
        assert_eq!((sheet.place(&sheet.rows[1], 2).line, sheet.place(&sheet.rows[1], 2).column), (3, 15));
    }

    #[test]
    fn a_cell_or_a_row_beyond_measure_is_told() {
        for row in [format!("{}\n", "x".repeat(MOST_LETTERS + 1)), format!("{}\n", ",".repeat(MOST_COLUMNS))] {
            let source = Source::new("a.csv", &row);
            let problems = Problems::new();
            assert!(rows(&source, b',', &problems).is_none());
            assert_eq!(problems.errors(), 1);
        }
    }

    #[test]
    fn a_row_with_a_cell_too_many_is_told() {
        let source = Source::new("a.csv", "date,value\n2025-07-11,1,000\n");
        let problems = Problems::new();
        Sheet::read(&source, b',', &problems).unwrap().tell_ragged(&problems);
        let told = problems.in_order();
        assert_eq!((told[0].place.line, told[0].place.column), (2, 14));
    }
}

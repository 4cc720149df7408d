//! A sheet as it was kept: tabs of rows of cells, CSV or XLSX, every cell a text with its place.

use std::ops::RangeInclusive;
use std::sync::Arc;

use crate::files::{self, Sources, cell_place};
use crate::records::sheet::turned::turned;
#[cfg(not(feature = "xlsx"))]
use crate::told::Problem;
use crate::told::{Place, Problems};

/// A sheet that was opened.
#[derive(Debug, Clone)]
pub(crate) struct Grid {
    /// The file as the user knows it.
    pub file: Arc<str>,
    /// Its tabs; a CSV has one, without a name.
    pub tabs: Vec<Tab>,
    /// What separates the cells of a CSV.
    pub delimiter: Option<u8>,
    csv: Option<(Arc<files::Source>, u8)>,
}

/// A tab.
#[derive(Debug, Clone)]
pub(crate) struct Tab {
    pub name: String,
    pub rows: Vec<GridRow>,
}

/// A row.
#[derive(Debug, Clone)]
pub(crate) struct GridRow {
    /// Its number as the user's program shows it (a line, for a CSV), counted from 1.
    pub number: u32,
    /// Its cells as text, trimmed.
    pub cells: Vec<String>,
    /// Which cells are numbers of the workbook itself, always with a decimal point here.
    pub native: Vec<bool>,
    pub csv: Option<files::Row>,
    /// Of a sheet that was turned, where each cell stands in the file; else nothing.
    pub origins: Vec<Origin>,
}

/// Where a cell stands in the file.
#[derive(Debug, Clone)]
pub(crate) struct Origin {
    pub number: u32,
    pub column: usize,
    pub csv: Option<files::Row>,
}

impl Tab {
    /// These of its columns alone; the others are blank.
    pub fn part(&self, columns: RangeInclusive<usize>) -> Self {
        let rows = self.rows.iter().map(|row| {
            let cells = row.cells.iter().enumerate();
            let cells = cells.map(|(at, cell)| if columns.contains(&at) { cell.clone() } else { String::new() });
            GridRow { cells: cells.collect(), ..row.clone() }
        });
        Self { name: self.name.clone(), rows: rows.filter(|row| !row.is_blank()).collect() }
    }
}

impl GridRow {
    /// A cell; empty where the row is too short.
    pub fn cell(&self, column: usize) -> &str {
        self.cells.get(column).map_or("", String::as_str)
    }

    /// Whether a cell is a number of the workbook and not a text that looks like one.
    pub fn is_native(&self, column: usize) -> bool {
        self.native.get(column).copied().unwrap_or(false)
    }

    /// Whether nothing is written in it.
    pub fn is_blank(&self) -> bool {
        self.cells.iter().all(String::is_empty)
    }
}

impl Grid {
    /// Opens a CSV or XLSX file. What is wrong is told.
    pub fn open(name: &str, asked_at: Option<&Place>, sources: &mut Sources, problems: &Problems) -> Option<Self> {
        if is_workbook(name) {
            let bytes = sources.bytes(name, asked_at, problems)?;
            let file = Sources::name_of(name);
            return Some(Self {
                tabs: straight(workbook(&file, &bytes, problems)?, &file),
                file: Arc::from(file.as_str()),
                delimiter: None,
                csv: None,
            });
        }
        let source = sources.text(name, asked_at, problems)?;
        let delimiter = delimiter(&source.text);
        let rows = files::rows(&source, delimiter, problems)?
            .into_iter()
            .map(|row| GridRow {
                number: row.line,
                cells: (0..row.len()).map(|at| clean(row.cell(at))).collect(),
                native: Vec::new(),
                csv: Some(row),
                origins: Vec::new(),
            })
            .collect();
        let tabs = straight(vec![Tab { name: String::new(), rows }], &source.name);
        Some(Self { file: Arc::clone(&source.name), tabs, delimiter: Some(delimiter), csv: Some((source, delimiter)) })
    }

    /// The place of a cell: line and column of a CSV, the cell's own name for a workbook (`wash.xlsx, tab Mar, cell
    /// C14`).
    pub fn place(&self, tab: &Tab, row: &GridRow, column: usize) -> Place {
        if let Some(origin) = row.origins.get(column) {
            return match (&self.csv, &origin.csv) {
                (Some((source, delimiter)), Some(csv)) => cell_place(source, *delimiter, csv, origin.column),
                _ => self.cell(tab, origin.number, origin.column),
            };
        }
        match (&self.csv, &row.csv) {
            (Some((source, delimiter)), Some(csv)) => cell_place(source, *delimiter, csv, column),
            _ => self.cell(tab, row.number, column),
        }
    }

    fn cell(&self, tab: &Tab, number: u32, column: usize) -> Place {
        Place::file(&format!("{}, tab {}, cell {}{number}", self.file, tab.name, letters(column)))
    }
}

/// Tabs with those that run the other way turned into rows of days.
fn straight(tabs: Vec<Tab>, file: &str) -> Vec<Tab> {
    let name = file.rsplit('/').next().unwrap_or(file);
    tabs.into_iter().map(|tab| turned(&tab, name).unwrap_or(tab)).collect()
}

/// Whether a name is that of a workbook.
pub(crate) fn is_workbook(name: &str) -> bool {
    name.rsplit('.').next().is_some_and(|end| end.eq_ignore_ascii_case("xlsx"))
}

/// The letters of a column, counted from 0: `A`, `Z`, `AA`.
pub(crate) fn letters(column: usize) -> String {
    let mut left = column + 1;
    let mut out = Vec::new();
    while left > 0 {
        left -= 1;
        out.push(char::from(b'A' + u8::try_from(left % 26).unwrap_or(0)));
        left /= 26;
    }
    out.iter().rev().collect()
}

/// The number of a column by its letters.
pub(crate) fn column_of(letters: &str) -> Option<usize> {
    let letters = letters.trim();
    if letters.is_empty() || letters.len() > 3 {
        return None;
    }
    let mut number = 0_usize;
    for letter in letters.bytes() {
        if !letter.is_ascii_alphabetic() {
            return None;
        }
        number = number * 26 + usize::from(letter.to_ascii_uppercase() - b'A') + 1;
    }
    Some(number - 1)
}

/// Which of comma, semicolon and tab stands in most of the first lines, and most often.
fn delimiter(text: &str) -> u8 {
    let score = |mark: char| {
        let counts: Vec<usize> = text
            .lines()
            .filter(|line| !line.trim().is_empty())
            .take(40)
            .map(|line| line.split('"').step_by(2).map(|part| part.matches(mark).count()).sum())
            .collect();
        (counts.iter().filter(|count| **count > 0).count(), counts.iter().sum::<usize>())
    };
    let marks = [(b',', score(',')), (b';', score(';')), (b'\t', score('\t'))];
    // A semicolon or a tab that stands in as many lines as the comma wins: commas are decimal marks there.
    let best = marks.iter().map(|(_, (lines, _))| *lines).max().unwrap_or(0);
    let semicolon = marks.iter().find(|(mark, (lines, _))| *mark != b',' && *lines == best && best > 0);
    semicolon.map_or(b',', |(mark, _)| *mark)
}

/// Trimmed, line breaks inside a cell as spaces.
pub(super) fn clean(text: &str) -> String {
    text.split(['\n', '\r'])
        .map(str::trim)
        .filter(|part| !part.is_empty())
        .collect::<Vec<_>>()
        .join(" ")
        .trim()
        .to_string()
}

#[cfg(not(feature = "xlsx"))]
fn workbook(name: &str, _: &[u8], problems: &Problems) -> Option<Vec<Tab>> {
    problems.add(
        Problem::error(&Place::file(name), "this build of bywash does not read workbooks")
            .hint("save the sheet as CSV"),
    );
    None
}

#[cfg(feature = "xlsx")]
use super::workbook::workbook;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_are_named_as_spreadsheets_name_them() {
        for (number, name) in [(0, "A"), (25, "Z"), (26, "AA"), (701, "ZZ"), (702, "AAA")] {
            assert_eq!(letters(number), name);
            assert_eq!(column_of(name), Some(number));
        }
        assert_eq!(column_of("1"), None);
    }

    #[test]
    fn a_semicolon_between_cells_leaves_the_comma_to_decimals() {
        assert_eq!(delimiter("a;b\n1,5;2,5\n"), b';');
        assert_eq!(delimiter("a,b\n1.5,2.5\n"), b',');
        assert_eq!(delimiter("Wash log 2025\na,b\n\"1;5\",2\n"), b',');
    }
}

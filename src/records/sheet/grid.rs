//! A sheet as it was kept: tabs of rows of cells, CSV or XLSX, every cell a text with its place.

use std::sync::Arc;

use crate::diagnostic::{Place, Problem, Problems};
use crate::files::{self, Sources, cell_place};

/// The most cells of a workbook that are looked at.
#[cfg(feature = "xlsx")]
const MOST_CELLS: usize = 5_000_000;

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
    native: Vec<bool>,
    csv: Option<files::Row>,
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
    pub fn open(
        name: &str,
        asked_at: Option<&Place>,
        sources: &mut Sources,
        problems: &Problems,
    ) -> Option<Self> {
        if is_workbook(name) {
            let bytes = sources.bytes(name, asked_at, problems)?;
            return workbook(&Sources::name_of(name), &bytes, problems);
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
            })
            .collect();
        Some(Self {
            file: Arc::clone(&source.name),
            tabs: vec![Tab {
                name: String::new(),
                rows,
            }],
            delimiter: Some(delimiter),
            csv: Some((source, delimiter)),
        })
    }

    /// The place of a cell: line and column of a CSV, the cell's own name for a workbook (`wash.xlsx, tab Mar, cell
    /// C14`).
    pub fn place(&self, tab: &Tab, row: &GridRow, column: usize) -> Place {
        match (&self.csv, &row.csv) {
            (Some((source, delimiter)), Some(csv)) => cell_place(source, *delimiter, csv, column),
            _ => Place::file(&format!(
                "{}, tab {}, cell {}{}",
                self.file,
                tab.name,
                letters(column),
                row.number
            )),
        }
    }
}

/// Whether a name is that of a workbook.
pub(crate) fn is_workbook(name: &str) -> bool {
    name.rsplit('.')
        .next()
        .is_some_and(|end| end.eq_ignore_ascii_case("xlsx"))
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
            .map(|line| {
                line.split('"')
                    .step_by(2)
                    .map(|part| part.matches(mark).count())
                    .sum()
            })
            .collect();
        (
            counts.iter().filter(|count| **count > 0).count(),
            counts.iter().sum::<usize>(),
        )
    };
    let marks = [(b',', score(',')), (b';', score(';')), (b'\t', score('\t'))];
    // A semicolon or a tab that stands in as many lines as the comma wins: commas are decimal marks there.
    let best = marks
        .iter()
        .map(|(_, (lines, _))| *lines)
        .max()
        .unwrap_or(0);
    let semicolon = marks
        .iter()
        .find(|(mark, (lines, _))| *mark != b',' && *lines == best && best > 0);
    semicolon.map_or(b',', |(mark, _)| *mark)
}

/// Trimmed, line breaks inside a cell as spaces.
fn clean(text: &str) -> String {
    text.split(['\n', '\r'])
        .map(str::trim)
        .filter(|part| !part.is_empty())
        .collect::<Vec<_>>()
        .join(" ")
        .trim()
        .to_string()
}

#[cfg(not(feature = "xlsx"))]
fn workbook(name: &str, _: &[u8], problems: &Problems) -> Option<Grid> {
    problems.add(
        Problem::error(
            &Place::file(name),
            "this build of bywash does not read workbooks",
        )
        .hint("save the sheet as CSV"),
    );
    None
}

#[cfg(feature = "xlsx")]
fn workbook(name: &str, bytes: &[u8], problems: &Problems) -> Option<Grid> {
    use calamine::{Data, Reader, Xlsx};

    let refuse = |why: String| {
        problems.add(
            Problem::error(
                &Place::file(name),
                format!("this workbook can't be read: {why}"),
            )
            .hint("open it and save it again as .xlsx, or save the sheet as CSV"),
        );
    };
    let mut book: Xlsx<_> = match Xlsx::new(std::io::Cursor::new(bytes)) {
        Ok(book) => book,
        Err(wrong) => {
            refuse(wrong.to_string());
            return None;
        }
    };
    let mut tabs = Vec::new();
    let mut cells_left = MOST_CELLS;
    for tab in book.sheet_names().clone() {
        let range = match book.worksheet_range(&tab) {
            Ok(range) => range,
            Err(wrong) => {
                refuse(format!("tab {tab}: {wrong}"));
                return None;
            }
        };
        let (height, width) = range.get_size();
        match cells_left.checked_sub(height.saturating_mul(width)) {
            Some(left) => cells_left = left,
            None => {
                refuse(format!("it has more than {MOST_CELLS} cells"));
                return None;
            }
        }
        let (top, left) = range.start().unwrap_or((0, 0));
        let left = left as usize;
        let mut rows: Vec<GridRow> = range
            .rows()
            .enumerate()
            .map(|(at, cells)| {
                let mut texts = vec![String::new(); left];
                let mut native = vec![false; left];
                native.extend(
                    cells
                        .iter()
                        .map(|cell| matches!(cell, Data::Int(_) | Data::Float(_))),
                );
                texts.extend(cells.iter().map(|cell| match cell {
                    Data::Empty => String::new(),
                    Data::String(text) | Data::DateTimeIso(text) | Data::DurationIso(text) => {
                        clean(text)
                    }
                    Data::Int(value) => value.to_string(),
                    Data::Float(value) => float(*value),
                    Data::Bool(value) => if *value { "yes" } else { "no" }.to_string(),
                    Data::DateTime(moment) => date_text(moment),
                    Data::Error(wrong) => format!("{wrong}"),
                }));
                GridRow {
                    number: top + u32::try_from(at).unwrap_or(0) + 1,
                    cells: texts,
                    native,
                    csv: None,
                }
            })
            .collect();
        let merged = book.merge_cells_by_sheet_name(&tab).unwrap_or_default();
        for region in merged {
            spread_merged(&mut rows, top, (region.start, region.end));
        }
        rows.retain(|row| !row.is_blank());
        tabs.push(Tab { name: tab, rows });
    }
    Some(Grid {
        file: Arc::from(name),
        tabs,
        delimiter: None,
        csv: None,
    })
}

/// A merged cell says the same in all its columns on its first row; further rows of it stay blank but in one column
/// (a date over two lines).
#[cfg(feature = "xlsx")]
fn spread_merged(rows: &mut [GridRow], top: u32, ((r0, c0), (r1, c1)): ((u32, u32), (u32, u32))) {
    const MOST_SPREAD: u32 = 400;
    let Some(text) = r0
        .checked_sub(top)
        .and_then(|at| rows.get(at as usize))
        .map(|row| row.cell(c0 as usize).to_string())
    else {
        return;
    };
    if text.is_empty() || c1.saturating_sub(c0) > MOST_SPREAD || r1.saturating_sub(r0) > MOST_SPREAD
    {
        return;
    }
    for row in r0..=r1 {
        let Some(row) = row
            .checked_sub(top)
            .and_then(|at| rows.get_mut(at as usize))
        else {
            continue;
        };
        for column in c0..=c1 {
            let column = column as usize;
            while row.cells.len() <= column {
                row.cells.push(String::new());
            }
            if let Some(cell) = row.cells.get_mut(column)
                && cell.is_empty()
            {
                cell.clone_from(&text);
            }
        }
    }
}

/// The shortest text of a number; a sum that a spreadsheet carries in binary loses its stray digits.
#[cfg(feature = "xlsx")]
fn float(value: f64) -> String {
    let shortest = format!("{value}");
    let digits = shortest.bytes().filter(u8::is_ascii_digit).count();
    if digits <= 15 {
        return shortest;
    }
    // 15 significant digits are what a spreadsheet shows at most.
    let whole = format!("{:.0}", value.abs().trunc()).len();
    let places = 15_usize.saturating_sub(whole);
    let text = format!("{value:.places$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_string()
    } else {
        text
    }
}

#[cfg(feature = "xlsx")]
fn date_text(moment: &calamine::ExcelDateTime) -> String {
    let (year, month, day, hour, minute, second, _) = moment.to_ymd_hms_milli();
    let clock = format!("{hour:02}:{minute:02}");
    if moment.as_f64() < 1.0 || moment.is_duration() {
        clock
    } else if (hour, minute, second) == (0, 0, 0) {
        format!("{year:04}-{month:02}-{day:02}")
    } else {
        format!("{year:04}-{month:02}-{day:02} {clock}")
    }
}

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

    #[cfg(feature = "xlsx")]
    #[test]
    fn a_number_of_a_workbook_is_the_one_that_is_shown() {
        assert_eq!(float(0.1 + 0.2), "0.3");
        assert_eq!(float(412_880.0), "412880");
        assert_eq!(float(6.6), "6.6");
    }
}

//! Tables: columns, rows, sums, balances, notes.

use serde::Serialize;

use crate::page::document::figures::number;
use crate::page::document::{Basis, Text};

/// How the cells of a column stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Align {
    /// Words, from the left.
    #[default]
    Left,
    /// Figures, on the decimal mark.
    Decimal,
    /// To the right.
    Right,
}

/// A hint at a column's width. Widths are worked out from the contents; a hint is a floor or a share of what is spare.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Width {
    /// As wide as the contents ask, narrower when there is no room.
    #[default]
    Natural,
    /// This many points.
    Points(f32),
}

/// A column of a table.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Column {
    /// Its head.
    pub head: String,
    /// The unit of every figure in it, said once, in the head.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    /// How its cells stand.
    pub align: Align,
    /// How wide it would like to be.
    pub width: Width,
}

impl Column {
    /// A column of words.
    pub fn words(head: impl Into<String>) -> Self {
        Self { head: head.into(), ..Self::default() }
    }

    /// A column of figures in `unit`, on the decimal mark; an empty unit prints none.
    pub fn figures(head: impl Into<String>, unit: impl Into<String>) -> Self {
        let unit = unit.into();
        Self {
            head: head.into(),
            unit: (!unit.is_empty()).then_some(unit),
            align: Align::Decimal,
            width: Width::Natural,
        }
    }

    /// The same column, to the right.
    pub fn right(mut self) -> Self {
        self.align = Align::Right;
        self
    }

    /// The same column, of this width in points.
    pub fn wide(mut self, points: f32) -> Self {
        self.width = Width::Points(points);
        self
    }

    /// Head and unit on one line: `Wash water, gal`.
    pub fn head_with_unit(&self) -> String {
        match &self.unit {
            Some(unit) => format!("{}, {unit}", self.head),
            None => self.head.clone(),
        }
    }
}

/// What a cell holds.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Value {
    /// Words.
    Words(Text),
    /// A figure, and how many digits to print after the decimal mark.
    Number {
        /// The figure, in the column's unit.
        value: f64,
        /// Digits after the decimal mark.
        digits: u8,
    },
    /// Nothing to show; printed as a dash, empty in CSV and XLSX.
    Nothing,
}

/// A cell of a table.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Cell {
    /// What it holds.
    pub value: Value,
    /// How the figure is known, if it is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub basis: Option<Basis>,
    /// The mark of a note below the table, such as `a`; printed `(a)`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mark: Option<String>,
}

impl Cell {
    /// Words.
    pub fn words(text: impl Into<Text>) -> Self {
        Self { value: Value::Words(text.into()), basis: None, mark: None }
    }

    /// A figure that is only counted, or whose basis the row tells in words.
    pub fn number(value: f64, digits: u8) -> Self {
        Self { value: Value::Number { value, digits }, basis: None, mark: None }
    }

    /// A figure with its basis.
    pub fn figure(value: f64, digits: u8, basis: Basis) -> Self {
        Self { basis: Some(basis), ..Self::number(value, digits) }
    }

    /// Words that stand for a figure (`below 0.1`, `140 to 230`), with their basis.
    pub fn known(text: impl Into<Text>, basis: Basis) -> Self {
        Self { basis: Some(basis), ..Self::words(text) }
    }

    /// Nothing to show.
    pub fn nothing() -> Self {
        Self { value: Value::Nothing, basis: None, mark: None }
    }

    /// The same cell with the mark of a note.
    pub fn marked(mut self, mark: impl Into<String>) -> Self {
        self.mark = Some(mark.into());
        self
    }

    /// The cell as plain text: grouped figure, brackets if assumed, mark of the note.
    pub fn text(&self) -> String {
        let plain = match &self.value {
            Value::Words(text) => text.words(),
            Value::Number { value, digits } => number(*value, *digits),
            Value::Nothing => "–".to_owned(),
        };
        let dressed = match self.basis {
            Some(basis) if !plain.is_empty() => basis.dress(&plain),
            _ => plain,
        };
        match &self.mark {
            Some(mark) => format!("{dressed} ({mark})"),
            None => dressed,
        }
    }
}

impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        Self::words(text)
    }
}

impl From<String> for Cell {
    fn from(text: String) -> Self {
        Self::words(text)
    }
}

impl From<Text> for Cell {
    fn from(text: Text) -> Self {
        Self::words(text)
    }
}

/// What a row is.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum RowKind {
    /// An ordinary row.
    #[default]
    Plain,
    /// Words over the rows that follow; only its first cell is printed.
    Group,
    /// A sum: a single rule above it.
    Sum,
    /// A balance that was recomputed from the entries and closed: a double rule below it, the residual beside it. Use
    /// it for nothing else.
    Closed {
        /// The residual in words, such as `residual 0.0 gal`.
        residual: String,
    },
}

/// A row of a table.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Row {
    /// One cell a column; missing ones print empty, those beyond the columns are not printed.
    pub cells: Vec<Cell>,
    /// What the row is.
    pub kind: RowKind,
    /// The trace of the row, in the folio column: `meters.csv 412`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub folio: Option<String>,
    /// The anchor of what it tells, where it stands with others under one heading.
    #[serde(skip)]
    pub anchor: Option<String>,
}

impl Row {
    /// An ordinary row.
    pub fn new(cells: Vec<Cell>) -> Self {
        Self { cells, ..Self::default() }
    }

    /// The same row with its trace.
    pub fn folio(mut self, trace: impl Into<String>) -> Self {
        self.folio = Some(trace.into());
        self
    }

    /// The same row, to be found under an anchor.
    pub fn anchor(mut self, anchor: impl Into<String>) -> Self {
        self.anchor = Some(anchor.into());
        self
    }

    /// The same row as another kind of row.
    pub fn kind(mut self, kind: RowKind) -> Self {
        self.kind = kind;
        self
    }
}

/// A table.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Table {
    /// A sentence above it; it names the sheet of a workbook as well.
    pub caption: Option<String>,
    /// Its columns.
    pub columns: Vec<Column>,
    /// Its rows.
    pub rows: Vec<Row>,
    /// Notes below it, in small type. Begin a note that a mark leads to with the mark: `(a) …`.
    pub notes: Vec<Text>,
    /// Whether it takes all twelve columns of the page; folio words then stand in a last column of their own.
    pub wide: bool,
    /// Whether its rows stand on one page where one holds them: a sum is read with its terms.
    pub whole: bool,
}

impl Table {
    /// An empty table with these columns.
    pub fn new(columns: Vec<Column>) -> Self {
        Self { columns, ..Self::default() }
    }

    /// The same table with a caption.
    pub fn caption(mut self, caption: impl Into<String>) -> Self {
        self.caption = Some(caption.into());
        self
    }

    /// The same table over all twelve columns of the page.
    pub fn wide(mut self) -> Self {
        self.wide = true;
        self
    }

    /// The same table on one page, where one holds it.
    pub fn whole(mut self) -> Self {
        self.whole = true;
        self
    }

    /// Takes away columns in which no row says anything.
    pub fn without_empty_columns(&mut self) -> &mut Self {
        for at in (0..self.columns.len()).rev() {
            let says = |row: &Row| row.cells.get(at).is_some_and(|cell| !cell.text().is_empty());
            if self.rows.is_empty() || self.rows.iter().any(says) {
                continue;
            }
            self.columns.remove(at);
            for row in &mut self.rows {
                if at < row.cells.len() {
                    row.cells.remove(at);
                }
            }
        }
        self
    }

    /// Adds an ordinary row.
    pub fn row(&mut self, cells: Vec<Cell>) -> &mut Self {
        self.rows.push(Row::new(cells));
        self
    }

    /// Adds an ordinary row with its trace.
    pub fn traced(&mut self, cells: Vec<Cell>, trace: impl Into<String>) -> &mut Self {
        self.rows.push(Row::new(cells).folio(trace));
        self
    }

    /// Adds words over the rows that follow.
    pub fn group(&mut self, words: impl Into<Text>) -> &mut Self {
        self.rows.push(Row::new(vec![Cell::words(words)]).kind(RowKind::Group));
        self
    }

    /// Adds a sum.
    pub fn sum(&mut self, cells: Vec<Cell>) -> &mut Self {
        self.rows.push(Row::new(cells).kind(RowKind::Sum));
        self
    }

    /// Adds a balance that was recomputed and closed, with its residual in words.
    pub fn closed(&mut self, cells: Vec<Cell>, residual: impl Into<String>) -> &mut Self {
        self.rows.push(Row::new(cells).kind(RowKind::Closed { residual: residual.into() }));
        self
    }

    /// Adds a note below the table.
    pub fn note(&mut self, note: impl Into<Text>) -> &mut Self {
        self.notes.push(note.into());
        self
    }
}

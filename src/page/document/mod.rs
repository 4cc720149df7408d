//! The report before it is printed: blocks that say what is on the page, and nothing about PDF, terminals or sheets.
//!
//! ```
//! use bywash::page::document::{Basis, Cell, Column, Document, Table, Text};
//!
//! let mut doc = Document::new("Permit-year record", "Quillmere Growers", "1 Nov 2024 to 31 Oct 2025");
//! doc.digest = "0f3a9c1e".to_owned();
//! doc.heading(2, "Wash water");
//! doc.paragraph(Text::new().plain("The drum was washed ").figure("1 210", Basis::Computed).plain(" times."));
//! let mut table = Table::new(vec![Column::words("Filter"), Column::figures("Wash water", "gal")]).caption("Washes");
//! table.traced(vec!["Drum".into(), Cell::figure(15_040.0, 0, Basis::Metered)], "meters.csv 412");
//! table.sum(vec!["Total".into(), Cell::figure(15_040.0, 0, Basis::Metered)]);
//! doc.table(table);
//! assert_eq!(doc.blocks.len(), 3);
//! ```

mod account;
mod calendar;
mod chart;
mod diagram;
pub mod figures;
mod flat;
mod made;
mod outcome;
mod pond;
mod table;
mod text;

pub use account::{AccountLine, WaterAccount, is_open};
pub use calendar::{Calendar, CalendarMonth, DayMark};
pub(crate) use chart::date_text;
pub use chart::{Axis, Chart, Hue, LimitLine, Mark, Panel, Season, Series, Stretch};
pub use diagram::{
    Carries, Change, Cue, Diagram, DiagramPlace, DrawnFigure, NOT_KNOWN, OutsideName, PlaceMark, Side, Sign, Way,
};
pub use made::{Made, Part};
pub use outcome::{OutcomeForm, OutcomeRow, OutcomeTable, Strip};
pub use pond::{DrawnPond, Pattern, PondBank, PondBerm, PondDrawing, PondLayer, PondLevel, PondPlan};
pub use table::{Align, Cell, Column, Row, RowKind, Table, Value, Width};
pub use text::{Basis, Run, Style, Text};

use chrono::NaiveDate;
use serde::Serialize;

/// The sheet of paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Paper {
    /// 8.5 by 11 inches.
    #[default]
    Letter,
    /// 210 by 297 mm.
    A4,
}

/// A heading.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Heading {
    /// 1 for the title of the document (once), 2 for a section, 3 for a sub-head.
    pub level: u8,
    /// Its words; the bookmark's as well.
    pub text: String,
    /// What links call it; the words themselves unless set otherwise.
    pub anchor: String,
    /// What else stands under it and is linked to.
    pub also: Vec<String>,
}

/// A paragraph, with its trace in the folio column.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct Paragraph {
    /// The words.
    pub text: Text,
    /// Its trace: `entry 1 208`, `method 7`.
    pub folio: Option<String>,
}

/// A list of points or of numbered steps.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct List {
    /// Whether the points are numbered.
    pub numbered: bool,
    /// The points.
    pub items: Vec<Text>,
}

/// A row of terms and what is said of them.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Definition {
    /// The term, in bold.
    pub term: String,
    /// What is said of it.
    pub text: Text,
    /// Its trace.
    pub folio: Option<String>,
    /// What is said of it on page 1 where there is no room for more; nothing: the row is left out.
    #[serde(skip)]
    pub shorter: Option<Text>,
}

/// A caution: heavy rules above and below.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Caution {
    /// Its head, in bold.
    pub head: String,
    /// Its paragraphs.
    pub text: Vec<Text>,
}

/// What a figure shows.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Drawing {
    /// A chart.
    Chart(Chart),
    /// The diagram of the facility.
    Diagram(Diagram),
    /// A calendar of marks.
    Calendar(Calendar),
    /// Ponds in plan and section.
    Pond(PondDrawing),
}

/// A drawing with its words.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Figure {
    /// What is drawn.
    pub drawing: Drawing,
    /// What a reader who cannot see it should be told.
    pub alt: String,
    /// The sentence below it.
    pub caption: String,
    /// Its trace.
    pub folio: Option<String>,
}

/// A block of the document.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Block {
    /// A heading.
    Heading(Heading),
    /// A paragraph.
    Paragraph(Paragraph),
    /// A list.
    List(List),
    /// Terms and what is said of them.
    Definitions(Vec<Definition>),
    /// Terms in the folio column and what is said of them in the body, set close: page 1.
    Margin(Vec<Definition>),
    /// A table.
    Table(Table),
    /// The table of limits.
    Outcomes(OutcomeTable),
    /// Came in, went out.
    Water(WaterAccount),
    /// A caution.
    Caution(Caution),
    /// Space to sign, a line for each label.
    Signature(Vec<String>),
    /// A chart or the diagram.
    Figure(Figure),
    /// Its sections with their pages, where it has pages.
    Contents,
    /// The rest goes on a new page, unless this one holds only a few lines that ran over.
    PageBreak,
}

/// A document.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Document {
    /// Its title line.
    pub title: String,
    /// Whose facility it is.
    pub facility: String,
    /// The period in words.
    pub period: String,
    /// Lines about the permit, the rules and the date of judging, below the title.
    pub permit_lines: Vec<(String, String)>,
    /// The SHA-256 of what was read, in hexadecimal; its first 8 digits stand at the foot of every page.
    pub digest: String,
    /// Whether data are incomplete: the words "working copy" stand on every page.
    pub working_copy: bool,
    /// The sheet.
    pub paper: Paper,
    /// The language's tag: `en-US`.
    pub language: String,
    /// The date the document carries in its properties: the date of judging. None writes no date.
    #[serde(serialize_with = "optional_date")]
    pub dated: Option<NaiveDate>,
    /// How it was made. None where nothing was published.
    #[serde(skip)]
    pub made: Option<Made>,
    /// The blocks.
    pub blocks: Vec<Block>,
}

fn optional_date<S: serde::Serializer>(date: &Option<NaiveDate>, serializer: S) -> Result<S::Ok, S::Error> {
    match date {
        Some(date) => date_text(date, serializer),
        None => serializer.serialize_none(),
    }
}

fn terms<T: Into<String>, U: Into<Text>>(rows: impl IntoIterator<Item = (T, U)>) -> Vec<Definition> {
    rows.into_iter()
        .map(|(term, text)| Definition { term: term.into(), text: text.into(), folio: None, shorter: None })
        .collect()
}

impl Document {
    /// An empty document on Letter paper in US English.
    pub fn new(title: impl Into<String>, facility: impl Into<String>, period: impl Into<String>) -> Self {
        Self {
            title: title.into(),
            facility: facility.into(),
            period: period.into(),
            permit_lines: Vec::new(),
            digest: String::new(),
            working_copy: false,
            paper: Paper::Letter,
            language: "en-US".to_owned(),
            dated: None,
            made: None,
            blocks: Vec::new(),
        }
    }

    /// Adds a line under the title: a label and what it says.
    pub fn permit_line(&mut self, label: impl Into<String>, text: impl Into<String>) -> &mut Self {
        self.permit_lines.push((label.into(), text.into()));
        self
    }

    /// Adds a block.
    pub fn push(&mut self, block: Block) -> &mut Self {
        self.blocks.push(block);
        self
    }

    /// Adds a heading whose words are its anchor: 2 for a section, 3 for a sub-head.
    pub fn heading(&mut self, level: u8, text: impl Into<String>) -> &mut Self {
        let text = text.into();
        self.push(Block::Heading(Heading { level, anchor: text.clone(), text, also: Vec::new() }))
    }

    /// Adds a heading with an anchor of its own.
    pub fn anchored(&mut self, level: u8, text: impl Into<String>, anchor: impl Into<String>) -> &mut Self {
        self.anchored_all(level, text, vec![anchor.into()])
    }

    /// Adds a heading over several things that are linked to, each by its own anchor.
    pub fn anchored_all(&mut self, level: u8, text: impl Into<String>, anchors: Vec<String>) -> &mut Self {
        let text = text.into();
        let mut anchors = anchors.into_iter();
        let anchor = anchors.next().unwrap_or_else(|| text.clone());
        self.push(Block::Heading(Heading { level, text, anchor, also: anchors.collect() }))
    }

    /// Adds a paragraph.
    pub fn paragraph(&mut self, text: impl Into<Text>) -> &mut Self {
        self.push(Block::Paragraph(Paragraph { text: text.into(), folio: None }))
    }

    /// Adds a paragraph with its trace in the folio column.
    pub fn traced(&mut self, text: impl Into<Text>, folio: impl Into<String>) -> &mut Self {
        self.push(Block::Paragraph(Paragraph { text: text.into(), folio: Some(folio.into()) }))
    }

    /// Adds a list of points.
    pub fn list(&mut self, items: Vec<Text>) -> &mut Self {
        self.push(Block::List(List { numbered: false, items }))
    }

    /// Adds a list of numbered steps.
    pub fn numbered(&mut self, items: Vec<Text>) -> &mut Self {
        self.push(Block::List(List { numbered: true, items }))
    }

    /// Adds terms and what is said of them.
    pub fn definitions<T, U>(&mut self, rows: impl IntoIterator<Item = (T, U)>) -> &mut Self
    where
        T: Into<String>,
        U: Into<Text>,
    {
        self.push(Block::Definitions(terms(rows)))
    }

    /// Adds terms in the folio column with what is said of them beside it, set close.
    pub fn margin<T, U>(&mut self, rows: impl IntoIterator<Item = (T, U)>) -> &mut Self
    where
        T: Into<String>,
        U: Into<Text>,
    {
        self.push(Block::Margin(terms(rows)))
    }

    /// Adds a table.
    pub fn table(&mut self, table: Table) -> &mut Self {
        self.push(Block::Table(table))
    }

    /// Adds the table of limits.
    pub fn outcomes(&mut self, table: OutcomeTable) -> &mut Self {
        self.push(Block::Outcomes(table))
    }

    /// Adds the account of water.
    pub fn water(&mut self, account: WaterAccount) -> &mut Self {
        self.push(Block::Water(account))
    }

    /// Adds a caution.
    pub fn caution(&mut self, head: impl Into<String>, text: Vec<Text>) -> &mut Self {
        self.push(Block::Caution(Caution { head: head.into(), text }))
    }

    /// Adds space to sign: a line for each label.
    pub fn signature(&mut self, labels: Vec<String>) -> &mut Self {
        self.push(Block::Signature(labels))
    }

    /// Adds a chart with the words for those who cannot see it, and its caption.
    pub fn chart(&mut self, chart: Chart, alt: impl Into<String>, caption: impl Into<String>) -> &mut Self {
        self.push(Block::Figure(Figure {
            drawing: Drawing::Chart(chart),
            alt: alt.into(),
            caption: caption.into(),
            folio: None,
        }))
    }

    /// Adds the diagram with the words for those who cannot see it, and its caption.
    pub fn diagram(&mut self, diagram: Diagram, alt: impl Into<String>, caption: impl Into<String>) -> &mut Self {
        self.push(Block::Figure(Figure {
            drawing: Drawing::Diagram(diagram),
            alt: alt.into(),
            caption: caption.into(),
            folio: None,
        }))
    }

    /// Adds a calendar with the words for those who cannot see it, and its caption.
    pub fn calendar(&mut self, calendar: Calendar, alt: impl Into<String>, caption: impl Into<String>) -> &mut Self {
        self.push(Block::Figure(Figure {
            drawing: Drawing::Calendar(calendar),
            alt: alt.into(),
            caption: caption.into(),
            folio: None,
        }))
    }

    /// Adds ponds in plan and section with the words for those who cannot see them, and the caption.
    pub fn ponds(&mut self, ponds: PondDrawing, alt: impl Into<String>, caption: impl Into<String>) -> &mut Self {
        self.push(Block::Figure(Figure {
            drawing: Drawing::Pond(ponds),
            alt: alt.into(),
            caption: caption.into(),
            folio: None,
        }))
    }

    /// Ends the page. What stands before the first page break is the summary that a terminal shows.
    pub fn page_break(&mut self) -> &mut Self {
        self.push(Block::PageBreak)
    }

    /// The blocks before the first page break.
    pub fn first_page(&self) -> &[Block] {
        let end = self.blocks.iter().position(|block| matches!(block, Block::PageBreak)).unwrap_or(self.blocks.len());
        self.blocks.get(..end).unwrap_or(&self.blocks)
    }

    /// Every table with a caption or a number to call it by, in order: for CSV and XLSX.
    pub fn tables(&self) -> Vec<(String, &Table)> {
        self.blocks
            .iter()
            .filter_map(|block| match block {
                Block::Table(table) => Some(table),
                _ => None,
            })
            .enumerate()
            .map(|(i, table)| {
                let name = table.caption.clone().unwrap_or_else(|| format!("Table {}", i + 1));
                (name, table)
            })
            .collect()
    }
}

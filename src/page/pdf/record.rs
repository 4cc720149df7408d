//! What is drawn on each sheet, and the structure it belongs to, before it becomes PDF.

use std::collections::BTreeMap;

use crate::page::draw::{Area, Canvas, Colour, Pen, Point, Type};

/// Something drawn.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// A stroked line.
    Line(Vec<Point>, Pen),
    /// A filled shape.
    Fill(Vec<Point>, Colour),
    /// Words from the start of their baseline.
    Words(Point, String, Type),
}

/// What an element of the structure holds, in reading order.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kid {
    /// Another element.
    Element(usize),
    /// Marked content: sheet and number on it.
    Mark(usize, usize),
    /// A link, by its number.
    Link(usize),
}

/// An element of the structure.
#[derive(Debug, Clone, PartialEq)]
pub struct Element {
    /// Its standard type: `P`, `H2`, `Table`, …
    pub tag: &'static str,
    /// The element it is in.
    pub parent: Option<usize>,
    /// What it holds.
    pub kids: Vec<Kid>,
    /// The words for those who cannot see it.
    pub alt: Option<String>,
    /// For heads of tables: `Row` or `Column`.
    pub scope: Option<&'static str>,
    /// For figures: the sheet and where on it.
    pub bounds: Option<(usize, Area)>,
}

/// A sheet: what carries no meaning, drawn first, then content in reading order.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Sheet {
    /// Rules, heads, feet.
    pub under: Vec<Shape>,
    /// Content by the element it belongs to; the index is the mark's number.
    pub marks: Vec<(usize, Vec<Shape>)>,
}

/// Words that lead to a heading.
#[derive(Debug, Clone, PartialEq)]
pub struct Link {
    /// The sheet they are on.
    pub sheet: usize,
    /// Where on it.
    pub area: Area,
    /// The anchor they lead to.
    pub anchor: String,
    /// Their element.
    pub element: usize,
}

/// The number of the page on which an anchor stands, filled in when every sheet is set.
#[derive(Debug, Clone, PartialEq)]
pub struct PageNumber {
    /// The sheet it is printed on.
    pub sheet: usize,
    /// Where its last figure ends.
    pub end: Point,
    /// How it is set.
    pub kind: Type,
    /// What it is the page of; of several, the first and the last page of them.
    pub anchors: Vec<String>,
    /// Its element.
    pub element: usize,
}

/// A bookmark.
#[derive(Debug, Clone, PartialEq)]
pub struct Bookmark {
    /// 2 for a section, 3 for a sub-head.
    pub level: u8,
    /// Its words.
    pub text: String,
    /// The sheet.
    pub sheet: usize,
    /// Distance from the top of the sheet.
    pub y: f32,
}

/// What begins above this, points from the top, stands at the top of its sheet.
const TOP_OF_SHEET: f32 = 110.0;

/// Everything that the writer needs.
#[derive(Debug, Clone)]
pub struct Record {
    /// Width of every sheet.
    pub width: f32,
    /// Height of every sheet.
    pub height: f32,
    /// The sheets.
    pub sheets: Vec<Sheet>,
    /// The structure; the first element is the document.
    pub elements: Vec<Element>,
    /// The links.
    pub links: Vec<Link>,
    /// The page numbers to fill in.
    pub page_numbers: Vec<PageNumber>,
    /// The bookmarks in order.
    pub bookmarks: Vec<Bookmark>,
    /// Where each anchor is: sheet and distance from the top.
    pub anchors: BTreeMap<String, (usize, f32)>,
    /// Words that stick out of the sheet's block: none, if the layout is right.
    pub overflows: Vec<String>,
    /// Left and right edge of the block.
    pub edges: (f32, f32),
    stack: Vec<usize>,
    artifact: usize,
}

impl Record {
    /// No sheets yet; `edges` are the left and right edge of the block.
    pub fn new(width: f32, height: f32, edges: (f32, f32)) -> Self {
        Self {
            width,
            height,
            sheets: Vec::new(),
            elements: vec![Element {
                tag: "Document",
                parent: None,
                kids: Vec::new(),
                alt: None,
                scope: None,
                bounds: None,
            }],
            links: Vec::new(),
            page_numbers: Vec::new(),
            bookmarks: Vec::new(),
            anchors: BTreeMap::new(),
            overflows: Vec::new(),
            edges,
            stack: vec![0],
            artifact: 0,
        }
    }

    /// Index of the sheet drawn on.
    pub fn sheet(&self) -> usize {
        self.sheets.len().saturating_sub(1)
    }

    /// The heading under which a sheet goes on: the last one before it, where no other stands at its top.
    pub fn goes_on_at(&self, sheet: usize) -> Option<&str> {
        let before = self.bookmarks.iter().rev().find(|mark| mark.sheet < sheet)?;
        let first = self.bookmarks.iter().find(|mark| mark.sheet == sheet);
        first.is_none_or(|first| first.y > TOP_OF_SHEET).then_some(before.text.as_str())
    }

    /// Begins an element inside the one that is open.
    pub fn open(&mut self, tag: &'static str) -> usize {
        let parent = self.stack.last().copied();
        let index = self.elements.len();
        self.elements.push(Element { tag, parent, kids: Vec::new(), alt: None, scope: None, bounds: None });
        if let Some(parent) = parent.and_then(|p| self.elements.get_mut(p)) {
            parent.kids.push(Kid::Element(index));
        }
        self.stack.push(index);
        index
    }

    /// Ends the element that is open.
    pub fn close(&mut self) {
        if self.stack.len() > 1 {
            self.stack.pop();
        }
    }

    /// Opens an element again, for content that goes on in another place.
    pub fn reopen(&mut self, element: usize) {
        self.stack.push(element);
    }

    /// What is drawn from here on carries no meaning of its own.
    pub fn begin_artifact(&mut self) {
        self.artifact += 1;
    }

    /// Ends [`Self::begin_artifact`].
    pub fn end_artifact(&mut self) {
        self.artifact = self.artifact.saturating_sub(1);
    }

    fn current(&self) -> usize {
        self.stack.last().copied().unwrap_or(0)
    }

    fn in_figure(&self) -> bool {
        self.elements.get(self.current()).is_some_and(|element| element.tag == "Figure")
    }

    fn mark(&mut self, shape: Shape) {
        let element = self.current();
        let sheet_index = self.sheet();
        let Some(sheet) = self.sheets.last_mut() else {
            return;
        };
        match sheet.marks.last_mut() {
            Some((last, shapes)) if *last == element => shapes.push(shape),
            _ => {
                let number = sheet.marks.len();
                sheet.marks.push((element, vec![shape]));
                if let Some(element) = self.elements.get_mut(element) {
                    element.kids.push(Kid::Mark(sheet_index, number));
                }
            }
        }
    }

    fn under(&mut self, shape: Shape) {
        if let Some(sheet) = self.sheets.last_mut() {
            sheet.under.push(shape);
        }
    }

    fn put(&mut self, shape: Shape, has_meaning: bool) {
        if self.artifact == 0 && has_meaning {
            self.mark(shape);
        } else {
            self.under(shape);
        }
    }
}

impl Canvas for Record {
    fn line(&mut self, points: &[Point], pen: Pen) {
        let figure = self.in_figure();
        self.put(Shape::Line(points.to_vec(), pen), figure);
    }

    fn fill(&mut self, points: &[Point], colour: Colour) {
        let figure = self.in_figure();
        self.put(Shape::Fill(points.to_vec(), colour), figure);
    }

    fn words(&mut self, start: Point, words: &str, kind: Type) {
        if words.is_empty() {
            return;
        }
        let right = start.x + kind.width(words.trim_end());
        let fits = start.x >= self.edges.0 - 0.5
            && right <= self.edges.1 + 0.5
            && start.y > 20.0
            && start.y < self.height - 20.0
            && kind.size >= 7.5;
        if !fits {
            self.overflows.push(format!(
                "sheet {}: \"{words}\" from {:.1} to {right:.1} at {:.1}, {} pt",
                self.sheets.len(),
                start.x,
                start.y,
                kind.size
            ));
        }
        self.put(Shape::Words(start, words.to_owned(), kind), true);
    }
}

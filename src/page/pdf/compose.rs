//! The page: grid, cursor, heads and feet, lines of text.

use crate::page::diagram;
use crate::page::document::Hue;
use crate::page::document::{Diagram, Document, Paper, Text};
use crate::page::draw::{Anchor, Area, Canvas, INK, Line, Pen, SLATE, Type, at, fitted, hue, wrap};
use crate::page::pdf::record::{Bookmark, Kid, Link, PageNumber, Record};

/// Height of a line.
pub const LINE: f32 = 13.0;
/// Height of a line of small type.
pub const SMALL_LINE: f32 = 9.75;
/// Height of a line that is set close: page 1.
pub const CLOSE: f32 = 10.0;
/// Type of what is set close.
pub const CLOSE_TYPE: f32 = 8.0;
/// Small type: folio, notes.
pub const SMALL: f32 = 7.5;
/// Type of tables.
pub const TABLE: f32 = 8.5;
/// Type of the body.
pub const BODY: f32 = 9.5;
/// The sentence at the foot of every page.
pub const WHO_DECIDES: &str = "The holder's own figures. The permitting authority decides.";

/// The grid of a sheet.
#[derive(Debug, Clone, Copy)]
pub struct Grid {
    /// Width of the sheet.
    pub width: f32,
    /// Height of the sheet.
    pub height: f32,
    /// Left edge of the block.
    pub left: f32,
    /// Right edge of the block.
    pub right: f32,
    /// Top of the block.
    pub top: f32,
    /// Bottom of the block.
    pub bottom: f32,
}

impl Grid {
    /// The grid of a paper.
    pub fn of(paper: Paper) -> Self {
        let (width, height) = match paper {
            Paper::Letter => (612.0, 792.0),
            Paper::A4 => (595.28, 841.89),
        };
        Self { width, height, left: 72.0, right: width - 45.0, top: 52.0, bottom: height - 64.0 }
    }

    /// Left edge of a column, counted from 1.
    pub fn column(&self, number: u8) -> f32 {
        let each = (self.right - self.left - 11.0 * 9.0) / 12.0;
        self.left + f32::from(number.saturating_sub(1)) * (each + 9.0)
    }

    /// Left edge of the body (column 3).
    pub fn body(&self) -> f32 {
        self.column(3)
    }

    /// Width of the folio column (columns 1 and 2).
    pub fn folio_width(&self) -> f32 {
        self.body() - 9.0 - self.left
    }

    /// Width of the body.
    pub fn body_width(&self) -> f32 {
        self.right - self.body()
    }
}

/// Sets blocks one below the other.
pub struct Composer<'a> {
    /// What is set.
    pub doc: &'a Document,
    /// What has been drawn.
    pub record: Record,
    /// The grid.
    pub grid: Grid,
    /// The cursor: distance from the top of the sheet to the top of the next line.
    pub y: f32,
    /// How close the lines of page 1 stand: 1, or a little less where it would else run over by a few lines.
    squeeze: f32,
    /// Height that stands below the last lines of the words that are set, on one sheet with them.
    pub led: f32,
    /// Whether the next words go on without what they lead to: it is too tall to go with them and their heading.
    pub unled: bool,
    /// Whether the next table may part after its first row: much is said before it, and its heading stands with it.
    pub one_row: bool,
    /// Whether what is set has been led to: it begins on the sheet on which the words before it end.
    pub follows: bool,
    /// The picture laid out last: its height is asked for before it is drawn.
    pictured: Option<(&'a Diagram, Vec<diagram::Sheet>)>,
}

impl<'a> Composer<'a> {
    /// A composer on its first, empty sheet.
    pub fn new(doc: &'a Document, squeeze: f32) -> Self {
        let grid = Grid::of(doc.paper);
        let mut composer = Self {
            doc,
            record: Record::new(grid.width, grid.height, (grid.left, grid.right)),
            grid,
            y: grid.top,
            squeeze,
            led: 0.0,
            unled: false,
            one_row: false,
            follows: false,
            pictured: None,
        };
        composer.new_page();
        composer
    }

    /// A height on page 1, as close as that is set.
    pub fn close(&self, height: f32) -> f32 {
        height * self.squeeze
    }

    /// The sheets of a picture.
    pub fn sheets(&mut self, drawn: &'a Diagram) -> Vec<diagram::Sheet> {
        if let Some((held, sheets)) = &self.pictured
            && std::ptr::eq(*held, drawn)
        {
            return sheets.clone();
        }
        // Room for the heading above, the caption and the title of a sheet.
        let page = self.grid.bottom - self.grid.top - 7.0 * LINE;
        let sheets = diagram::sheets(drawn, self.grid.right - self.grid.left, page);
        self.pictured = Some((drawn, sheets.clone()));
        sheets
    }

    /// Goes to a new sheet.
    pub fn new_page(&mut self) {
        self.record.sheets.push(crate::page::pdf::record::Sheet::default());
        self.y = self.grid.top;
    }

    /// Whether nothing stands on the sheet yet.
    pub fn at_top(&self) -> bool {
        self.y <= self.grid.top + 0.1
    }

    /// Goes to a new sheet unless `height` still fits; returns whether it did.
    pub fn need(&mut self, height: f32) -> bool {
        if self.y + height > self.grid.bottom + 0.1 && !self.at_top() {
            self.new_page();
            return true;
        }
        false
    }

    /// Moves the cursor down, unless it stands at the top of a sheet.
    pub fn skip(&mut self, height: f32) {
        if !self.at_top() {
            self.y += height;
        }
    }

    /// Draws a line of text with its start at `x` and the top of its line at `y`.
    pub fn line(&mut self, line: &Line, x: f32, y: f32, leading: f32) {
        let baseline = y + leading * 0.75;
        let mut x = x;
        for piece in &line.pieces {
            match &piece.link {
                Some(anchor) => {
                    let element = self.record.open("Link");
                    let kind = piece.kind.colour(hue(Hue::Pool));
                    self.record.words(at(x, baseline), &piece.text, kind);
                    let area = Area { x, y, width: piece.width, height: leading };
                    self.link(area, anchor, element);
                    self.record.close();
                }
                None => self.record.words(at(x, baseline), &piece.text, piece.kind),
            }
            x += piece.width;
        }
    }

    fn link(&mut self, area: Area, anchor: &str, element: usize) {
        let number = self.record.links.len();
        self.record.links.push(Link { sheet: self.record.sheet(), area, anchor: anchor.to_owned(), element });
        if let Some(element) = self.record.elements.get_mut(element) {
            element.kids.push(Kid::Link(number));
        }
    }

    /// Sets text from the cursor down, over as many sheets as it takes, in the element that is open.
    pub fn flow(&mut self, text: &Text, kind: Type, x: f32, width: f32, leading: f32) {
        let led = std::mem::take(&mut self.led);
        self.flow_led(text, kind, x, width, leading);
        self.led = led;
    }

    /// The same, and the last of it stands on one sheet with what it leads to.
    pub fn flow_led(&mut self, text: &Text, kind: Type, x: f32, width: f32, leading: f32) {
        let lines = wrap(text, kind, width);
        let count = lines.len();
        for (i, line) in lines.iter().enumerate() {
            // No first line alone at the foot of a sheet, and no last one alone at the top.
            let together = match i {
                0 if count <= 3 => count,
                0 => 2,
                _ if count >= 4 && i + 2 == count => 2,
                _ => 1,
            };
            let last = i + together >= count;
            self.need(leading * together as f32 + if last { self.led } else { 0.0 });
            self.line(line, x, self.y, leading);
            self.y += leading;
        }
    }

    /// Sets a trace in the folio column beside the line whose top is at `y` on the sheet drawn on; it takes no more than
    /// `room` points downwards. Returns its height.
    pub fn folio(&mut self, words: &str, y: f32, room: f32) -> f32 {
        let kind = Type::plain(SMALL).colour(SLATE);
        let lines = wrap(&Text::from(words), kind, self.grid.folio_width());
        let most = ((room / SMALL_LINE).floor() as usize).max(1);
        let left = self.grid.left;
        let count = lines.len().min(most);
        self.record.open("Note");
        for (i, line) in lines.iter().take(most).enumerate() {
            // On the baseline of the body beside it.
            let top = y + LINE * 0.75 - SMALL_LINE * 0.75 + i as f32 * SMALL_LINE;
            if i + 1 == most && lines.len() > most {
                let words: String = line.pieces.iter().map(|p| p.text.as_str()).collect();
                let short = fitted(&format!("{words} …"), kind, self.grid.folio_width());
                self.record.words(at(left, top + SMALL_LINE * 0.75), &short, kind);
            } else {
                self.line(line, left, top, SMALL_LINE);
            }
        }
        self.record.close();
        count as f32 * SMALL_LINE
    }

    /// A rule across, at the cursor or elsewhere.
    pub fn rule(&mut self, x0: f32, x1: f32, y: f32, pen: Pen) {
        self.record.line(&[at(x0, y), at(x1, y)], pen);
    }

    /// Notes a heading as bookmark and anchor.
    pub fn bookmark(&mut self, level: u8, text: &str, anchor: &str, y: f32) {
        let sheet = self.record.sheet();
        self.record.bookmarks.push(Bookmark { level, text: text.to_owned(), sheet, y });
        self.record.anchors.entry(anchor.to_owned()).or_insert((sheet, y));
    }

    /// Title, facility and period, lines about the permit.
    pub fn title(&mut self) {
        let (left, right) = (self.grid.left, self.grid.right);
        let width = right - left;
        self.record.open("H1");
        self.flow(&Text::from(&self.doc.title), Type::plain(20.0), left, width, 26.0);
        self.record.close();
        self.record.open("P");
        let named = Text::new().bold(self.doc.facility.clone()).plain("  |  ").plain(self.doc.period.clone());
        self.flow(&named, Type::plain(10.5), left, width, LINE);
        self.record.close();
        for (label, words) in &self.doc.permit_lines {
            self.record.open("P");
            let text = Text::new().bold(format!("{label}  ")).plain(words.clone());
            // However close the page is set, its lines do not touch.
            self.flow(&text, Type::plain(TABLE), left, width, self.close(CLOSE + 1.0).max(CLOSE));
            self.record.close();
        }
        self.y += 3.0;
        self.rule(left, right, self.y, Pen::ink(0.6));
        self.y += 9.0;
    }

    /// Prints the page numbers of a sheet, which is the last of those in the record.
    fn page_numbers(&mut self, sheet: usize) {
        let numbers: Vec<PageNumber> =
            self.record.page_numbers.iter().filter(|number| number.sheet == sheet).cloned().collect();
        for number in numbers {
            let pages =
                || number.anchors.iter().filter_map(|anchor| self.record.anchors.get(anchor)).map(|(page, _)| *page);
            let (Some(first), Some(last)) = (pages().min(), pages().max()) else {
                continue;
            };
            let words = if first == last { (first + 1).to_string() } else { format!("{}–{}", first + 1, last + 1) };
            self.record.reopen(number.element);
            self.record.set(number.end, &words, number.kind, Anchor::End);
            self.record.close();
        }
    }

    /// Draws the head and foot of every sheet.
    pub fn heads_and_feet(&mut self) {
        let count = self.record.sheets.len();
        let digest: String = self.doc.digest.chars().take(8).collect();
        let kind = Type::plain(SMALL).colour(SLATE);
        let (left, right) = (self.grid.left, self.grid.right);
        let sheets = std::mem::take(&mut self.record.sheets);
        for (i, sheet) in sheets.into_iter().enumerate() {
            self.record.sheets.push(sheet);
            self.page_numbers(i);
            self.record.begin_artifact();
            let y = self.grid.top - 20.0;
            let mut room = right - left;
            if self.doc.working_copy {
                let bold = Type::bold(BODY).colour(INK);
                let used = self.record.set(at(right, y), "working copy", bold, Anchor::End);
                room -= used + 12.0;
            }
            if i > 0 {
                let named = format!("{}  |  {}", self.doc.facility, self.doc.period);
                let words = match self.record.goes_on_at(i) {
                    // Every sheet says of which days it is; the facility stands where it has room beside that.
                    Some(section) => [format!("{named}  |  {section}, continued"), format!("{named}  |  {section}")]
                        .into_iter()
                        .find(|words| kind.width(words) <= room)
                        .unwrap_or_else(|| format!("{}  |  {section}, continued", self.doc.period)),
                    None => named,
                };
                let words = fitted(&words, kind, room);
                self.record.set(at(left, y), &words, kind, Anchor::Start);
            }
            let y = self.grid.bottom + 30.0;
            self.record.set(at(left, y), WHO_DECIDES, kind, Anchor::Start);
            let number = if digest.is_empty() {
                format!("page {} of {count}", i + 1)
            } else {
                format!("page {} of {count}   {digest}", i + 1)
            };
            self.record.set(at(right, y), &number, kind, Anchor::End);
            self.record.end_artifact();
        }
    }
}

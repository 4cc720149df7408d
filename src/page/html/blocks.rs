//! Each block of the document as HTML.

use maud::{Markup, html};
use serde_json::Value;

use crate::page::document::{Block, Caution, Definition, Heading, List, Paragraph, Style, Text};
use crate::page::html::Page;
use crate::page::html::anchors::Anchors;
use crate::page::html::days::Named;

/// Writes the blocks of a page's documents.
pub struct Writer<'a> {
    /// What is written.
    pub page: &'a Page,
    /// Names that links lead to.
    pub anchors: &'a Anchors,
    /// The days of the picture.
    pub days: Option<&'a Named<'a>>,
    /// Which document is being written.
    pub part: usize,
    /// The values of the charts drawn so far.
    pub charts: Vec<Value>,
    /// Whether the picture by the day is on the page already.
    pub is_alive: bool,
}

impl<'a> Writer<'a> {
    /// A writer at the first document.
    pub fn new(page: &'a Page, anchors: &'a Anchors, days: Option<&'a Named<'a>>) -> Self {
        Self { page, anchors, days, part: 0, charts: Vec::new(), is_alive: false }
    }

    /// A block.
    pub fn block(&mut self, block: &Block) -> Markup {
        match block {
            Block::Heading(heading) => self.heading(heading),
            Block::Paragraph(paragraph) => self.paragraph(paragraph),
            Block::List(list) => self.list(list),
            Block::Definitions(rows) => self.definitions(rows, "terms"),
            Block::Margin(rows) => self.definitions(rows, "margin"),
            Block::Table(table) => self.table(table),
            Block::Outcomes(table) => self.outcomes(table),
            Block::Water(account) => self.water(account),
            Block::Caution(caution) => self.caution(caution),
            Block::Signature(labels) => html! { div.signature { @for label in labels { p { (label) } } } },
            Block::Figure(figure) => self.figure(figure),
            Block::Contents | Block::PageBreak => html! {},
        }
    }

    /// A heading; behind that of a judged figure, the way to its working.
    pub fn heading(&self, heading: &Heading) -> Markup {
        let name = self.anchors.find(self.part, &heading.anchor);
        let others = heading.also.iter().filter_map(|anchor| self.anchors.find(self.part, anchor));
        let opens: Vec<(&str, &str)> = std::iter::once(&heading.anchor)
            .chain(&heading.also)
            .filter(|_| self.part == 0)
            .filter_map(|anchor| self.working(anchor).zip(self.title(anchor)))
            .collect();
        html! {
            @for name in others { span id=(name) {} }
            @if heading.level <= 2 { h2 id=[name] { (heading.text) } } @else { h3 id=[name] { (heading.text) } }
            @match opens.as_slice() {
                [] => {},
                [(name, _)] => p.small {
                    a href={ "#working-" (name) } { "Every window, with its arithmetic, records and papers" }
                },
                several => p.small {
                    "Every window, with its arithmetic, records and papers: "
                    @for (at, (name, title)) in several.iter().enumerate() {
                        @if at > 0 { "; " }
                        a href={ "#working-" (name) } { (title) }
                    }
                },
            }
        }
    }

    /// The name of a judged figure whose working is on the page.
    pub fn working(&self, anchor: &str) -> Option<&str> {
        self.page.workings.iter().find(|working| working.anchor == anchor)?;
        self.anchors.find(0, anchor)
    }

    fn title(&self, anchor: &str) -> Option<&str> {
        let working = self.page.workings.iter().find(|working| working.anchor == anchor)?;
        Some(&working.title)
    }

    /// Running text.
    pub fn text(&self, text: &Text) -> Markup {
        html! {
            @for run in &text.runs {
                @match (&run.link, run.style) {
                    (Some(anchor), _) => (self.link(&run.text, anchor)),
                    (None, Style::Plain) => (run.text),
                    (None, Style::Bold) => strong { (run.text) },
                    (None, Style::Italic) => i { (run.text) },
                }
            }
        }
    }

    /// Words that lead to a heading; words alone where there is none.
    pub fn link(&self, words: &str, anchor: &str) -> Markup {
        match self.anchors.find(self.part, anchor) {
            Some(name) => html! { a href={ "#" (name) } { (words) } },
            None => html! { (words) },
        }
    }

    /// Notes in small type.
    pub fn notes(&self, notes: &[Text]) -> Markup {
        html! { @for note in notes { p.small { (self.text(note)) } } }
    }

    fn paragraph(&self, paragraph: &Paragraph) -> Markup {
        html! {
            div.traced {
                p { (self.text(&paragraph.text)) }
                @if let Some(folio) = paragraph.folio.as_deref().filter(|folio| !folio.is_empty()) { p.folio { (folio) } }
            }
        }
    }

    fn list(&self, list: &List) -> Markup {
        let items = html! { @for item in &list.items { li { (self.text(item)) } } };
        if list.numbered {
            html! { ol { (items) } }
        } else {
            html! { ul { (items) } }
        }
    }

    fn definitions(&self, rows: &[Definition], class: &str) -> Markup {
        html! {
            dl class=(class) {
                @for row in rows {
                    div {
                        dt { (row.term) }
                        dd {
                            (self.text(&row.text))
                            @if let Some(folio) = &row.folio { " " span.folio { (folio) } }
                        }
                    }
                }
            }
        }
    }

    fn caution(&self, caution: &Caution) -> Markup {
        html! {
            div.caution {
                p { strong { (caution.head) } }
                @for text in &caution.text { p { (self.text(text)) } }
            }
        }
    }
}

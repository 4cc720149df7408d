//! The sections of a document, each with the page on which it stands.

use crate::page::document::{Block, Text};
use crate::page::draw::{Type, at};
use crate::page::pdf::compose::{Composer, LINE, TABLE};
use crate::page::pdf::record::PageNumber;

impl Composer<'_> {
    /// Sets the list of sections.
    pub fn contents(&mut self) {
        let (body, width) = (self.grid.body(), self.grid.body_width());
        let room = 30.0;
        self.record.open("TOC");
        let doc = self.doc;
        for block in &doc.blocks {
            let Block::Heading(heading) = block else { continue };
            if heading.level != 2 {
                continue;
            }
            self.need(LINE);
            self.record.open("TOCI");
            let words = Text::new().link(heading.text.clone(), heading.anchor.clone());
            self.flow(&words, Type::plain(TABLE), body, width - room, LINE);
            let element = self.record.open("Span");
            self.record.close();
            self.record.page_numbers.push(PageNumber {
                sheet: self.record.sheet(),
                end: at(body + width, self.y - LINE * 0.25),
                kind: Type::plain(TABLE),
                anchors: vec![heading.anchor.clone()],
                element,
            });
            self.record.close();
        }
        self.record.close();
        self.y += 5.0;
    }
}

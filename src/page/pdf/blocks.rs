//! Headings, paragraphs, lists, terms, cautions, space to sign.

use crate::page::document::{Block, Caution, Definition, Heading, List, Paragraph, Text};
use crate::page::draw::{Canvas, Pen, Type, at, extent, wrap};
use crate::page::pdf::compose::{BODY, CLOSE, CLOSE_TYPE, Composer, LINE, SMALL, SMALL_LINE, TABLE};

/// Share of a sheet below which what stands on it is followed by the next section in place of a new sheet.
const LITTLE: f32 = 0.4;

impl<'a> Composer<'a> {
    /// Sets a block.
    pub fn block(&mut self, block: &'a Block) {
        match block {
            Block::Heading(heading) => self.heading(heading),
            Block::Paragraph(paragraph) => self.paragraph(paragraph),
            Block::List(list) => self.list(list),
            Block::Definitions(rows) => self.definitions(rows),
            Block::Margin(rows) => self.margin(rows),
            Block::Table(table) => self.table(table),
            Block::Outcomes(table) => self.outcomes(table),
            Block::Water(account) => self.water(account),
            Block::Caution(caution) => self.caution(caution),
            Block::Signature(labels) => self.signature(labels),
            Block::Figure(figure) => self.figure(figure),
            Block::Contents => self.contents(),
            Block::PageBreak => {
                // A few lines that ran over from the sheet before are no reason to leave the rest of this one blank.
                let used = (self.y - self.grid.top) / (self.grid.bottom - self.grid.top);
                if !self.at_top() && (self.record.sheets.len() == 1 || used > LITTLE) {
                    self.new_page();
                }
            }
        }
    }

    fn heading(&mut self, heading: &Heading) {
        let (left, body, width) = (self.grid.left, self.grid.body(), self.grid.body_width());
        let (tag, kind, leading) = match heading.level {
            0 | 1 => ("H1", Type::plain(20.0), 26.0),
            2 => ("H2", Type::plain(LINE), 26.0),
            _ => ("H3", Type::bold(10.5), LINE),
        };
        let section = heading.level <= 2;
        let lines = wrap(&Text::from(&heading.text), kind, width).len() as f32;
        self.skip(if section { LINE } else { 8.0 });
        self.need(lines * leading + 2.0 * LINE);
        if section {
            let end = left + self.grid.folio_width();
            self.rule(left, end, self.y, Pen::ink(0.6));
        }
        self.bookmark(heading.level, &heading.text, &heading.anchor, self.y);
        let here = (self.record.sheet(), self.y);
        for anchor in &heading.also {
            self.record.anchors.entry(anchor.clone()).or_insert(here);
        }
        self.record.open(tag);
        let lines = wrap(&Text::from(&heading.text), kind, width);
        for (i, line) in lines.iter().enumerate() {
            // The first line of a section hangs close below its notch.
            let pitch = if section && i == 0 { 20.0 } else { leading };
            self.need(leading);
            self.line(line, body, self.y, pitch);
            self.y += leading;
        }
        self.record.close();
    }

    fn paragraph(&mut self, paragraph: &Paragraph) {
        let (body, width) = (self.grid.body(), self.grid.body_width());
        self.beside(paragraph.folio.as_deref(), |composer| {
            composer.record.open("P");
            composer.flow_led(&paragraph.text, Type::plain(BODY), body, width, LINE);
            composer.record.close();
        });
        self.y += 5.0;
    }

    /// Sets something with a trace beside its first line.
    fn beside(&mut self, folio: Option<&str>, set: impl FnOnce(&mut Self)) {
        let Some(words) = folio else {
            set(self);
            return;
        };
        self.need(2.0 * LINE);
        let (sheet, top) = (self.record.sheet(), self.y);
        let room = self.grid.bottom - top;
        let used = self.folio(words, top, room);
        set(self);
        if self.record.sheet() == sheet {
            self.y = self.y.max(top + used);
        }
    }

    fn list(&mut self, list: &List) {
        let (body, width) = (self.grid.body(), self.grid.body_width());
        self.record.open("L");
        for (i, item) in list.items.iter().enumerate() {
            let label = if list.numbered { format!("{}.", i + 1) } else { "–".to_owned() };
            // A label goes with the lines that its text keeps together.
            let hang = if list.numbered { 20.0 } else { 13.0 };
            let lines = wrap(item, Type::plain(BODY), width - hang).len();
            self.need(LINE * if lines <= 3 { lines } else { 2 } as f32);
            self.record.open("LI");
            self.record.open("Lbl");
            self.record.words(at(body, self.y + LINE * 0.75), &label, Type::plain(BODY));
            self.record.close();
            self.record.open("LBody");
            self.flow(item, Type::plain(BODY), body + hang, width - hang, LINE);
            self.record.close();
            self.record.close();
            self.y += 2.0;
        }
        self.record.close();
        self.y += 3.0;
    }

    fn definitions(&mut self, rows: &[Definition]) {
        let (body, width) = (self.grid.body(), self.grid.body_width());
        let widest = rows.iter().map(|row| extent(&Text::from(&row.term), Type::bold(BODY)).1).fold(0.0_f32, f32::max);
        let term = widest.min(width * 0.3);
        let gap = 12.0;
        self.record.open("L");
        for row in rows {
            let mut lines = wrap(&Text::from(&row.term), Type::bold(BODY), term);
            if lines.len() > 6 {
                // A term as long as a paragraph stands above what is said of it.
                let words = Text::new().bold(row.term.clone());
                self.record.open("P");
                self.flow(&words, Type::plain(BODY), body, width, LINE);
                self.record.close();
                lines.clear();
            }
            self.record.open("LI");
            self.need(LINE * lines.len().max(2) as f32);
            self.beside(row.folio.as_deref(), |composer| {
                composer.record.open("Lbl");
                let (sheet, top) = (composer.record.sheet(), composer.y);
                for (i, line) in lines.iter().enumerate() {
                    composer.line(line, body, top + i as f32 * LINE, LINE);
                }
                composer.record.close();
                composer.record.open("LBody");
                let kind = Type::plain(BODY);
                composer.flow(&row.text, kind, body + term + gap, width - term - gap, LINE);
                composer.record.close();
                if composer.record.sheet() == sheet {
                    composer.y = composer.y.max(top + lines.len() as f32 * LINE);
                }
            });
            self.record.close();
            self.y += 2.0;
        }
        self.record.close();
        self.y += 3.0;
    }

    fn margin(&mut self, rows: &[Definition]) {
        let (left, body, width) = (self.grid.left, self.grid.body(), self.grid.body_width());
        let (term, text) = (Type::bold(CLOSE_TYPE), Type::plain(CLOSE_TYPE));
        let close = self.close(CLOSE);
        self.record.open("L");
        for row in rows {
            let lines = wrap(&Text::from(&row.term), term, self.grid.folio_width());
            self.record.open("LI");
            self.need(close * lines.len().max(2) as f32);
            self.record.open("Lbl");
            let (sheet, top) = (self.record.sheet(), self.y);
            for (i, line) in lines.iter().enumerate() {
                self.line(line, left, top + i as f32 * close, close);
            }
            self.record.close();
            self.record.open("LBody");
            self.flow(&row.text, text, body, width, close);
            self.record.close();
            if self.record.sheet() == sheet {
                self.y = self.y.max(top + lines.len() as f32 * close);
            }
            self.record.close();
            self.y += 1.5;
        }
        self.record.close();
        self.y += 1.5;
    }

    /// What of a caution stays on one sheet: all of it where a sheet holds it.
    pub fn caution_height(&self, caution: &Caution) -> f32 {
        let lines = |text: &Text| wrap(text, Type::plain(BODY), self.grid.body_width()).len();
        let lines: usize = 1 + caution.text.iter().map(lines).sum::<usize>();
        let height = lines as f32 * LINE + caution.text.len() as f32 * 3.0 + 12.0;
        let page = self.grid.bottom - self.grid.top;
        height.min(if height > page { 4.0 * LINE } else { page })
    }

    fn caution(&mut self, caution: &Caution) {
        let (body, width, right) = (self.grid.body(), self.grid.body_width(), self.grid.right);
        self.skip(6.0);
        self.need(self.caution_height(caution));
        self.bookmark(3, &caution.head, &format!("caution / {}", caution.head), self.y);
        self.rule(body, right, self.y, Pen::ink(1.2));
        self.y += 5.0;
        self.record.open("Sect");
        self.record.open("P");
        let head = Text::new().bold(caution.head.clone());
        self.flow(&head, Type::plain(BODY), body, width, LINE);
        self.record.close();
        for text in &caution.text {
            self.record.open("P");
            self.flow(text, Type::plain(BODY), body, width, LINE);
            self.record.close();
            self.y += 3.0;
        }
        self.record.close();
        self.y += 2.0;
        self.rule(body, right, self.y, Pen::ink(1.2));
        self.y += 9.0;
    }

    /// Height of the lines to sign on.
    pub fn signature_height(labels: &[String]) -> f32 {
        labels.len() as f32 * 2.6 * LINE
    }

    fn signature(&mut self, labels: &[String]) {
        let (body, right) = (self.grid.body(), self.grid.right);
        // Who signs has all lines on one sheet.
        self.need(Self::signature_height(labels).min(self.grid.bottom - self.grid.top));
        for label in labels {
            self.need(2.6 * LINE);
            self.y += 1.6 * LINE;
            self.rule(body, right, self.y, Pen::ink(0.6));
            self.record.open("P");
            self.flow(&Text::from(label), Type::plain(TABLE), body, right - body, LINE);
            self.record.close();
        }
        self.y += LINE;
    }

    /// Height of the notes of a table.
    pub fn notes_height(notes: &[Text], width: f32) -> f32 {
        let lines: usize = notes.iter().map(|note| wrap(note, Type::plain(SMALL), width).len()).sum();
        if lines == 0 { 0.0 } else { 3.0 + lines as f32 * SMALL_LINE }
    }

    /// Sets notes in small type.
    pub fn notes(&mut self, notes: &[Text], x: f32, width: f32) {
        if notes.is_empty() {
            return;
        }
        self.y += 3.0;
        for note in notes {
            self.record.open("Note");
            self.flow(note, Type::plain(SMALL), x, width, SMALL_LINE);
            self.record.close();
        }
    }
}

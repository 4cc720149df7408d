//! The table of limits, over all twelve columns: a line or two for each limit.

use crate::page::document::{OutcomeRow, OutcomeTable, Style, Text};
use crate::page::draw::{Area, Line, MIST, Pen, SLATE, Type, at, at_most, margin_strip, outcome_box, wrap};
use crate::page::pdf::compose::{Composer, LINE};
use crate::page::pdf::record::PageNumber;

const GAP: f32 = 5.0;
/// Type of this table, and the height of its lines.
const SIZE: f32 = 8.0;
const PITCH: f32 = 9.75;
/// Height of an outcome's box here, and of a row that holds no more than it.
const BOX: f32 = 13.0;
const LEAST: f32 = 15.5;
/// The least height of a row however close page 1 is set: boxes of two rows do not touch.
const TIGHT: f32 = 14.0;
const HEADS: [&str; 8] = ["Limit", "Outcome", "Worst we have", "When", "Allowed", "Margin", "On file", "Page"];
const HEAD: f32 = PITCH + 6.0;
/// Widths of all columns but the first.
const FIXED: [f32; 7] = [75.0, 67.0, 58.0, 54.0, 50.0, 57.0, 20.0];

type Slots = [(f32, f32); 8];

struct Laid {
    cells: [Vec<Line>; 5],
    height: f32,
}

impl Composer<'_> {
    fn outcome_slots(&self) -> Slots {
        let width = self.grid.right - self.grid.left;
        let limit = width - FIXED.iter().sum::<f32>() - 7.0 * GAP;
        let mut x = self.grid.left;
        let mut slots = [(0.0, 0.0); 8];
        for (slot, width) in slots.iter_mut().zip(std::iter::once(limit).chain(FIXED)) {
            *slot = (x, width);
            x += width + GAP;
        }
        slots
    }

    /// Sets the table of limits.
    pub fn outcomes(&mut self, table: &OutcomeTable) {
        let slots = self.outcome_slots();
        let (left, right) = (self.grid.left, self.grid.right);
        self.skip(2.0);
        self.need(HEAD + 3.0 * LEAST);
        self.record.open("Table");
        if let Some(caption) = &table.caption {
            self.record.open("Caption");
            self.flow(&Text::from(caption), Type::bold(10.5), left, right - left, LINE);
            self.record.close();
            self.y += 3.0;
        }
        // Where no section follows there is no page to name.
        let pages = table.rows.iter().any(|row| row.anchor.is_some());
        self.outcome_head(&slots, (false, pages));
        if table.rows.is_empty() {
            self.record.open("TR");
            self.record.open("TD");
            let kind = Type::plain(SIZE).style(Style::Italic).colour(SLATE);
            self.flow(&Text::from("no limits"), kind, left, right - left, PITCH);
            self.record.close();
            self.record.close();
        }
        for (i, row) in table.rows.iter().enumerate() {
            if i > 0 && i % 5 == 0 {
                self.rule(left, right, self.y, Pen::solid(MIST, 0.25));
            }
            self.outcome_row(row, &slots, pages);
        }
        if let Some((words, anchors)) = &table.more {
            self.record.open("TR");
            let (x, width) = slots[0];
            let words = match anchors.first() {
                Some(first) => Text::new().link(words.clone(), first.clone()),
                None => Text::from(words),
            };
            let wide = width + GAP + FIXED.iter().take(5).sum::<f32>() + 4.0 * GAP;
            let lines = at_most(wrap(&words, Type::plain(SIZE), wide), 1);
            self.cell(&lines, x, self.y + 3.0);
            if pages {
                self.page_number(anchors, &slots, self.y + 3.0);
            }
            self.record.close();
            self.y += PITCH + 4.0;
        }
        self.rule(left, right, self.y + 1.0, Pen::ink(0.6));
        self.y += 1.0;
        self.record.close();
        self.notes(&table.notes, left, right - left);
        self.y += 5.0;
    }

    fn outcome_head(&mut self, slots: &Slots, (again, pages): (bool, bool)) {
        let (left, right) = (self.grid.left, self.grid.right);
        self.rule(left, right, self.y, Pen::ink(0.6));
        if again {
            self.record.begin_artifact();
        } else {
            self.record.open("TR");
        }
        let heads = if pages { HEADS.len() } else { HEADS.len() - 1 };
        for (words, (x, width)) in HEADS.iter().zip(slots).take(heads) {
            if !again {
                let head = self.record.open("TH");
                if let Some(element) = self.record.elements.get_mut(head) {
                    element.scope = Some("Column");
                }
            }
            for line in &wrap(&Text::from(*words), Type::bold(SIZE), width + 2.0) {
                self.line(line, *x, self.y + 3.0, PITCH);
            }
            if !again {
                self.record.close();
            }
        }
        if again {
            self.record.end_artifact();
        } else {
            self.record.close();
        }
        self.y += HEAD;
        self.rule(left, right, self.y, Pen::ink(0.6));
        self.y += 1.0;
    }

    fn outcome_row(&mut self, row: &OutcomeRow, slots: &Slots, pages: bool) {
        let laid = lay(row, slots, (self.close(PITCH), self.close(LEAST).max(TIGHT)));
        if self.y + laid.height > self.grid.bottom && self.y > self.grid.top + HEAD + 4.0 {
            self.rule(self.grid.left, self.grid.right, self.y + 1.0, Pen::solid(MIST, 0.25));
            self.new_page();
            self.outcome_head(slots, (true, pages));
        }
        let top = self.y + 2.0;
        let [limit, worst, when, permit, many] = &laid.cells;
        self.record.open("TR");
        let head = self.record.open("TH");
        if let Some(element) = self.record.elements.get_mut(head) {
            element.scope = Some("Row");
        }
        self.lines(limit, slots[0].0, top);
        self.record.close();
        self.record.open("TD");
        let area = Area { x: slots[1].0, y: self.y + 1.25, width: slots[1].1, height: BOX.min(laid.height - 3.5) };
        outcome_box(&mut self.record, area, row.outcome, None);
        self.record.close();
        self.cell(worst, slots[2].0, top);
        self.cell(when, slots[3].0, top);
        self.cell(permit, slots[4].0, top);
        if let Some(strip) = &row.strip {
            margin_strip(&mut self.record, (slots[5].0, self.y + 3.8), slots[5].1, strip);
        }
        self.record.open("TD");
        let margin = Text::from(if row.margin.is_empty() { "–" } else { row.margin.as_str() });
        if row.strip.is_none() {
            self.lines(&at_most(wrap(&margin, Type::plain(SIZE), slots[5].1), 4), slots[5].0, top);
        } else if let Some(element) = self.record.elements.last_mut() {
            // The strip is drawn; its words are for those who cannot see it.
            element.alt = Some(row.margin.clone());
        }
        self.record.close();
        self.cell(many, slots[6].0, top);
        if let Some(anchor) = &row.anchor {
            self.page_number(std::slice::from_ref(anchor), slots, top);
        }
        self.record.close();
        self.y += laid.height;
    }

    fn page_number(&mut self, anchors: &[String], slots: &Slots, top: f32) {
        let element = self.record.open("TD");
        self.record.close();
        let (x, width) = slots[7];
        self.record.page_numbers.push(PageNumber {
            sheet: self.record.sheet(),
            end: at(x + width, top + PITCH * 0.75),
            kind: Type::plain(SIZE),
            anchors: anchors.to_vec(),
            element,
        });
    }

    fn cell(&mut self, lines: &[Line], x: f32, top: f32) {
        self.record.open("TD");
        self.lines(lines, x, top);
        self.record.close();
    }

    fn lines(&mut self, lines: &[Line], x: f32, top: f32) {
        for (i, line) in lines.iter().enumerate() {
            let pitch = self.close(PITCH);
            self.line(line, x, top + i as f32 * pitch, pitch);
        }
    }
}

fn lay(row: &OutcomeRow, slots: &Slots, (pitch, least): (f32, f32)) -> Laid {
    let plain = Type::plain(SIZE);
    // A cell of this table is a few words; what is longer by mistake is cut so that the row stays on its page.
    let set = |text: Text, column: usize, kind: Type| {
        at_most(wrap(&text, kind, slots.get(column).map_or(60.0, |slot| slot.1)), 5)
    };
    let limit = match &row.anchor {
        Some(anchor) => Text::new().link(row.limit.clone(), anchor.clone()),
        None => Text::from(&row.limit),
    };
    let worst = match row.basis {
        Some(basis) if !row.worst.is_empty() => Text::new().figure(row.worst.clone(), basis),
        _ => Text::from(dash(&row.worst)),
    };
    let cells = [
        // Its own section prints a long name whole.
        at_most(set(limit, 0, plain), 3),
        set(worst, 2, plain),
        set(Text::from(dash(&row.when)), 3, plain),
        set(Text::from(&row.permit_says), 4, plain),
        set(Text::from(&row.how_many), 6, plain.colour(SLATE)),
    ];
    let lines = cells.iter().map(Vec::len).max().unwrap_or(1);
    let margin = if row.strip.is_none() { set(Text::from(&row.margin), 5, plain).len() } else { 1 };
    Laid { height: (lines.max(margin) as f32 * pitch + 4.0).max(least), cells }
}

fn dash(words: &str) -> &str {
    if words.is_empty() { "–" } else { words }
}

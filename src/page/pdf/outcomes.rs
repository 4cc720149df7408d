//! The table of limits, over all twelve columns.

use crate::page::document::{OutcomeRow, OutcomeTable, Style, Text};
use crate::page::draw::{
    Area, BOX_HEIGHT, Line, MIST, Pen, SLATE, STRIP, Type, at_most, margin_strip, outcome_box, wrap,
};
use crate::page::pdf::compose::{Composer, LINE, TABLE};

const GAP: f32 = 9.0;
const HEADS: [&str; 6] = ["Limit", "Outcome", "Worst we have", "Permit says", "Margin", "When, how many"];
const HEAD: f32 = 2.0 * 11.0 + 6.0;

struct Laid {
    limit: Vec<Line>,
    worst: Vec<Line>,
    permit: Vec<Line>,
    margin: Vec<Line>,
    when: Vec<Line>,
    height: f32,
}

impl Composer<'_> {
    fn outcome_slots(&self) -> [(f32, f32); 6] {
        let width = self.grid.right - self.grid.left;
        let fixed = [87.0, 68.0, 58.0, STRIP.0, 66.0];
        let limit = width - fixed.iter().sum::<f32>() - 5.0 * GAP;
        let mut x = self.grid.left;
        let mut slots = [(0.0, 0.0); 6];
        for (slot, width) in slots.iter_mut().zip(std::iter::once(limit).chain(fixed)) {
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
        self.need(HEAD + 3.0 * LINE + 2.0 * LINE);
        self.record.open("Table");
        if let Some(caption) = &table.caption {
            self.record.open("Caption");
            self.flow(&Text::from(caption), Type::bold(10.5), left, right - left, LINE);
            self.record.close();
            self.y += 3.0;
        }
        self.outcome_head(&slots, false);
        if table.rows.is_empty() {
            self.record.open("TR");
            self.record.open("TD");
            let kind = Type::plain(TABLE).style(Style::Italic).colour(SLATE);
            self.flow(&Text::from("no limits"), kind, left, right - left, LINE);
            self.record.close();
            self.record.close();
        }
        for (i, row) in table.rows.iter().enumerate() {
            if i > 0 && i % 5 == 0 {
                self.rule(left, right, self.y, Pen::solid(MIST, 0.25));
            }
            self.outcome_row(row, &slots);
        }
        self.rule(left, right, self.y + 1.0, Pen::ink(0.6));
        self.y += 1.0;
        self.record.close();
        self.notes(&table.notes, left, right - left);
        self.y += 7.0;
    }

    fn outcome_head(&mut self, slots: &[(f32, f32); 6], again: bool) {
        let (left, right) = (self.grid.left, self.grid.right);
        self.rule(left, right, self.y, Pen::ink(0.6));
        if again {
            self.record.begin_artifact();
        } else {
            self.record.open("TR");
        }
        for (words, (x, width)) in HEADS.iter().zip(slots) {
            if !again {
                let head = self.record.open("TH");
                if let Some(element) = self.record.elements.get_mut(head) {
                    element.scope = Some("Column");
                }
            }
            let lines = wrap(&Text::from(*words), Type::bold(TABLE), *width);
            let top = self.y + HEAD - 3.0 - lines.len() as f32 * 11.0;
            for (i, line) in lines.iter().enumerate() {
                self.line(line, *x, top + i as f32 * 11.0, 11.0);
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
        self.y += 2.0;
    }

    fn outcome_row(&mut self, row: &OutcomeRow, slots: &[(f32, f32); 6]) {
        let laid = lay(row, slots);
        if self.y + laid.height > self.grid.bottom && self.y > self.grid.top + HEAD + 4.0 {
            self.rule(self.grid.left, self.grid.right, self.y + 1.0, Pen::solid(MIST, 0.25));
            self.new_page();
            self.outcome_head(slots, true);
        }
        let top = self.y;
        self.record.open("TR");
        self.column(&laid.limit, slots[0].0, top);
        self.record.open("TD");
        let area = Area { x: slots[1].0, y: top + 3.0, width: slots[1].1, height: BOX_HEIGHT };
        outcome_box(&mut self.record, area, row.outcome, row.mark.as_deref());
        self.record.close();
        self.column(&laid.worst, slots[2].0, top);
        self.column(&laid.permit, slots[3].0, top);
        self.record.open("TD");
        let mut below = top;
        if let Some(strip) = &row.strip {
            margin_strip(&mut self.record, slots[4].0, top + 3.5, strip);
            below += LINE;
        }
        for (i, line) in laid.margin.iter().enumerate() {
            self.line(line, slots[4].0, below + i as f32 * LINE, LINE);
        }
        self.record.close();
        self.column(&laid.when, slots[5].0, top);
        self.record.close();
        self.y += laid.height;
    }

    fn column(&mut self, lines: &[Line], x: f32, top: f32) {
        self.record.open("TD");
        for (i, line) in lines.iter().enumerate() {
            self.line(line, x, top + i as f32 * LINE, LINE);
        }
        self.record.close();
    }
}

/// A cell of this table is a few words; what is longer by mistake is cut so that the row stays on its page.
fn cell(text: &Text, kind: Type, width: f32) -> Vec<Line> {
    at_most(wrap(text, kind, width), 18)
}

fn lay(row: &OutcomeRow, slots: &[(f32, f32); 6]) -> Laid {
    let plain = Type::plain(TABLE);
    let slate = plain.colour(SLATE);
    let limit_text = match &row.anchor {
        Some(anchor) => Text::new().link(row.limit.clone(), anchor.clone()),
        None => Text::from(&row.limit),
    };
    let worst_text = match row.basis {
        Some(basis) if !row.worst.is_empty() => Text::new().figure(row.worst.clone(), basis),
        _ => Text::from(dash(&row.worst)),
    };
    let limit = cell(&limit_text, plain, slots[0].1);
    let worst = cell(&worst_text, plain, slots[2].1);
    let permit = cell(&Text::from(&row.permit_says), plain, slots[3].1);
    let margin_words = if row.strip.is_some() { row.margin.as_str() } else { dash(&row.margin) };
    let margin = if margin_words.is_empty() { Vec::new() } else { cell(&Text::from(margin_words), plain, slots[4].1) };
    let mut when = cell(&Text::from(dash(&row.when)), plain, slots[5].1);
    if !row.how_many.is_empty() {
        when.extend(cell(&Text::from(&row.how_many), slate, slots[5].1));
    }
    let margin_lines = margin.len() + usize::from(row.strip.is_some());
    let lines = [limit.len(), worst.len(), permit.len(), margin_lines, when.len(), 2].into_iter().max().unwrap_or(2);
    Laid { height: lines as f32 * LINE, limit, worst, permit, margin, when }
}

fn dash(words: &str) -> &str {
    if words.is_empty() { "–" } else { words }
}

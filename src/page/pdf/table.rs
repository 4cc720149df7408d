//! Tables: widths from the contents, figures on the decimal mark, heads repeated on every sheet.

use crate::page::document::{Align, Basis, Cell, Row, RowKind, Style, Table, Text, Value};
use crate::page::draw::{Anchor, Canvas, Line, MIST, Pen, SLATE, Type, at, at_most, wrap};
use crate::page::fonts;
use crate::page::pdf::columns::{Slot, parted, slots};
use crate::page::pdf::compose::{Composer, LINE, SMALL, SMALL_LINE, TABLE};

/// Rows of a table that is not parted where it can stand whole.
const FEW_ROWS: usize = 5;

/// Rows after which a table may part, one less where they are taller than this.
const FIRST_ROWS: usize = 3;
const TALL: f32 = 6.0 * LINE;

/// How a cell is set: by its basis, and by the row it is in.
pub fn kind_of(cell: &Cell, row: &RowKind) -> Type {
    let style = match (cell.basis, row) {
        (Some(basis), _) => basis.style(),
        (None, RowKind::Group) => Style::Bold,
        (None, _) => Style::Plain,
    };
    Type::plain(TABLE).style(style)
}

/// The cell's words, dressed.
pub fn words_of(cell: &Cell) -> Text {
    match (&cell.value, cell.basis) {
        (Value::Words(text), basis) => {
            let text = if basis == Some(Basis::Assumed) {
                let mut dressed = Text::from("[");
                dressed.runs.extend(text.runs.iter().cloned());
                dressed.plain("]")
            } else {
                text.clone()
            };
            match &cell.mark {
                Some(mark) => text.plain(format!(" ({mark})")),
                None => text,
            }
        }
        _ => Text::from(cell.text()),
    }
}

/// A figure in two parts: before the decimal mark, and from it on. None for words.
pub fn parts(cell: &Cell) -> Option<(String, String)> {
    if let Value::Words(text) = &cell.value
        && !text.words().trim_start_matches(['−', '+']).chars().all(is_figure)
    {
        return None;
    }
    let text = fonts::clean(&cell.text());
    if text == "–" {
        return None;
    }
    match text.find(['.', ']']).or_else(|| text.find(" (")) {
        Some(i) => {
            let (a, b) = text.split_at(i);
            Some((a.to_owned(), b.to_owned()))
        }
        None => Some((text, String::new())),
    }
}

/// The two parts of a figure that stands on the decimal mark of its column; none for words, and for figures in a column
/// too narrow for them.
fn figure_in(cell: &Cell, align: Align, slot: Slot, row: &RowKind) -> Option<(String, String)> {
    if align != Align::Decimal || *row == RowKind::Group {
        return None;
    }
    let (before, after) = parts(cell)?;
    let kind = kind_of(cell, row);
    let fits = kind.width(&before) + slot.after <= slot.width + 0.1 && kind.width(&after) <= slot.after + 0.1;
    fits.then_some((before, after))
}

fn is_figure(c: char) -> bool {
    c.is_ascii_digit() || c == '.' || c == '\u{202f}'
}

impl Composer<'_> {
    /// Sets a table, in parts where its figures would not fit across.
    pub fn table(&mut self, table: &Table) {
        let width = if table.wide { self.grid.right - self.grid.left } else { self.grid.body_width() };
        // In a wide table traces take a column of their own.
        let traced = table.wide && table.rows.iter().any(|row| row.folio.is_some());
        let width = if traced { width - 60.0 } else { width };
        for part in parted(table, width) {
            self.one_table(&part);
        }
    }

    fn one_table(&mut self, table: &Table) {
        let (x, width) = self.span(table);
        // In a wide table traces get a last column of their own.
        let traced = table.wide && table.rows.iter().any(|row| row.folio.is_some());
        let with_folio;
        let table = if traced {
            with_folio = with_trace_column(table);
            &with_folio
        } else {
            table
        };
        self.skip(4.0);
        let slots = slots(table, x, width);
        let right = slots.last().map_or(x + width, |slot| slot.x + slot.width).min(x + width);
        let head = self.head_height(table, &slots);
        let (least, liked) = self.together(table, &slots, width);
        let above = head + if table.caption.is_some() { LINE + 3.0 } else { 0.0 };
        if self.follows {
            self.need(above + least);
        } else {
            self.need_either(above + least, above + liked);
        }
        self.one_row = false;
        self.record.open("Table");
        if let Some(caption) = &table.caption {
            self.record.open("Caption");
            self.flow(&Text::from(caption), Type::bold(TABLE), x, width, LINE);
            self.record.close();
            self.y += 2.0;
            self.need(head + 2.0 * LINE);
        }
        self.table_head(table, &slots, (x, right), head, false);
        if table.rows.is_empty() {
            self.record.open("TR");
            self.record.open("TD");
            let kind = Type::plain(TABLE).style(Style::Italic).colour(SLATE);
            self.flow(&Text::from("no rows"), kind, x, width, LINE);
            self.record.close();
            self.record.close();
        }
        let mut run = 0;
        let count = table.rows.len();
        let page = self.grid.bottom - self.grid.top;
        let below = 1.0 + Self::notes_height(&table.notes, width).min(0.3 * page);
        for (i, row) in table.rows.iter().enumerate() {
            let group = row.kind == RowKind::Group;
            if group {
                run = 0;
            }
            let is_total = matches!(row.kind, RowKind::Sum | RowKind::Closed { .. });
            if run == 5 && !is_total && !group {
                self.rule(x, right, self.y, Pen::solid(MIST, 0.25));
                run = 0;
            }
            // The last rows stand together, and the notes with them.
            let keep = match count - i {
                1 => below,
                2 => LINE + below,
                _ if group => LINE,
                _ => 0.0,
            };
            self.row(table, row, &slots, (x, right), head, keep);
            // A sum within a table is of what stands above it, and no heading of what follows.
            if matches!(row.kind, RowKind::Sum) && i + 1 < count {
                self.rule(x, right, self.y + 0.5, Pen::ink(0.3));
                self.y += 1.5;
            }
            if !group {
                run += 1;
            }
        }
        self.rule(x, right, self.y + 1.0, Pen::ink(0.6));
        self.y += 1.0;
        self.record.close();
        self.notes(&table.notes, x, width);
        self.y += 9.0;
    }

    /// Height of the head of a table and of the rows that stand with it: what it cannot do without, and what is liked.
    pub fn rows_together(&self, table: &Table) -> (f32, f32) {
        let (x, full) = self.span(table);
        let traced = table.wide && table.rows.iter().any(|row| row.folio.is_some());
        let with_folio;
        let table = match parted(table, if traced { full - 60.0 } else { full }).into_iter().next() {
            Some(first) if traced => {
                with_folio = with_trace_column(&first);
                &with_folio
            }
            Some(first) => {
                with_folio = first;
                &with_folio
            }
            None => table,
        };
        let slots = slots(table, x, full);
        let above = self.head_height(table, &slots) + if table.caption.is_some() { LINE + 3.0 } else { 0.0 };
        let (least, liked) = self.together(table, &slots, full);
        (above + least, above + liked)
    }

    fn span(&self, table: &Table) -> (f32, f32) {
        if table.wide {
            (self.grid.left, self.grid.right - self.grid.left)
        } else {
            (self.grid.body(), self.grid.body_width())
        }
    }

    /// Rows that stand with the head: the first three, after which a table may part; liked is all of a few, with the notes,
    /// since a row or two over the page would be lost there.
    fn together(&self, table: &Table, slots: &[Slot], width: f32) -> (f32, f32) {
        let page = self.grid.bottom - self.grid.top;
        let height = |row: &Row| -> f32 {
            let cells = table.columns.iter().zip(slots).zip(&row.cells);
            let tall = cells.map(|((column, slot), cell)| match figure_in(cell, column.align, *slot, &row.kind) {
                Some(_) => 1,
                None if row.kind == RowKind::Group => 1,
                None => wrap(&words_of(cell), kind_of(cell, &row.kind), slot.width).len(),
            });
            let lines = tall.max().unwrap_or(1).max(1) as f32 * LINE;
            let trace = row.folio.as_ref().filter(|_| !table.wide).map_or(0.0, |words| {
                wrap(&Text::from(words.as_str()), Type::plain(SMALL), self.grid.folio_width()).len() as f32 * SMALL_LINE
                    + 3.25
            });
            let rules = match row.kind {
                RowKind::Sum => 5.5,
                RowKind::Closed { .. } => 9.0,
                _ => 0.0,
            };
            lines.max(if trace > LINE { trace } else { 0.0 }) + rules
        };
        let notes = 1.0 + Self::notes_height(&table.notes, width).min(0.3 * page);
        let all = || table.rows.iter().map(height).sum::<f32>().max(LINE) + notes;
        // A heading within the table goes with the rows below it; of tall rows two are enough.
        let groups = table.rows.iter().take(FIRST_ROWS).filter(|row| row.kind == RowKind::Group).count();
        let two: f32 = table.rows.iter().take(FIRST_ROWS - 1 + groups).map(height).sum();
        let first = if self.one_row { 1 + groups } else { FIRST_ROWS + groups - usize::from(two > TALL) };
        let begins = if table.rows.len() <= first {
            all()
        } else {
            table.rows.iter().take(first).map(height).sum::<f32>() + 1.0
        };
        let whole = if table.whole || table.rows.len() <= FEW_ROWS { all() } else { begins };
        // Rows as tall as half a page may part.
        let least = if table.whole { whole } else { begins };
        (least.min(0.5 * page), whole.min(0.5 * page))
    }

    fn head_height(&self, table: &Table, slots: &[Slot]) -> f32 {
        let lines = table
            .columns
            .iter()
            .zip(slots)
            .map(|(column, slot)| head_lines(column, slot.width).len())
            .max()
            .unwrap_or(1);
        lines as f32 * 11.0 + 6.0
    }

    fn table_head(&mut self, table: &Table, slots: &[Slot], (x, right): (f32, f32), height: f32, again: bool) {
        if again {
            self.record.begin_artifact();
        }
        self.rule(x, right, self.y, Pen::ink(0.6));
        if !again {
            self.record.open("TR");
        }
        for (column, slot) in table.columns.iter().zip(slots) {
            if !again {
                let head = self.record.open("TH");
                if let Some(element) = self.record.elements.get_mut(head) {
                    element.scope = Some("Column");
                }
            }
            let lines = head_lines(column, slot.width);
            let top = self.y + height - 3.0 - lines.len() as f32 * 11.0;
            for (i, line) in lines.iter().enumerate() {
                let start = match column.align {
                    Align::Left => slot.x,
                    Align::Decimal | Align::Right => slot.x + slot.width - line.width,
                };
                self.line(line, start, top + i as f32 * 11.0, 11.0);
            }
            if !again {
                self.record.close();
            }
        }
        if !again {
            self.record.close();
        }
        self.y += height;
        self.rule(x, right, self.y, Pen::ink(0.6));
        self.y += 1.0;
        if again {
            self.record.end_artifact();
        }
    }

    fn row(&mut self, table: &Table, row: &Row, slots: &[Slot], (x, right): (f32, f32), head: f32, keep: f32) {
        let cells: Vec<(Slot, Align, &Cell)> = table
            .columns
            .iter()
            .zip(slots)
            .zip(&row.cells)
            .map(|((column, slot), cell)| (*slot, column.align, cell))
            .collect();
        let figures: Vec<Option<(String, String)>> =
            cells.iter().map(|(slot, align, cell)| figure_in(cell, *align, *slot, &row.kind)).collect();
        let laid: Vec<Vec<Line>> = cells
            .iter()
            .zip(&figures)
            .map(|((slot, _, cell), figure)| {
                if row.kind == RowKind::Group {
                    return wrap(&words_of(cell), kind_of(cell, &row.kind), right - slot.x);
                }
                if figure.is_some() {
                    return vec![Line::default()];
                }
                wrap(&words_of(cell), kind_of(cell, &row.kind), slot.width)
            })
            .collect();
        let tall = laid.iter().map(Vec::len).max().unwrap_or(1).max(1);
        let extra = match row.kind {
            RowKind::Closed { .. } => 7.0,
            RowKind::Sum => 2.0,
            _ => 0.0,
        };
        let page = self.grid.bottom - self.grid.top - head - 2.0;
        let whole = tall as f32 * LINE + extra;
        let wanted = whole.min(page.max(LINE)) + keep;
        self.need_with_head(wanted, table, slots, (x, right), head);
        if matches!(row.kind, RowKind::Sum | RowKind::Closed { .. }) {
            self.rule(x, right, self.y + 1.0, Pen::ink(0.6));
            self.y += 2.0;
        }
        let folio = if table.wide { None } else { row.folio.as_deref() };
        let residual = match &row.kind {
            RowKind::Closed { residual } => Some(residual.as_str()),
            _ => None,
        };
        let beside = match (folio, residual) {
            (Some(trace), Some(residual)) => Some(format!("{trace}; {residual}")),
            (Some(trace), None) => Some(trace.to_owned()),
            (None, Some(residual)) if !table.wide => Some(residual.to_owned()),
            _ => None,
        };
        let element = self.record.open("TR");
        let mut folio_height = 0.0;
        let top = self.y;
        let sheet = self.record.sheet();
        if let Some(anchor) = &row.anchor {
            self.record.anchors.insert(anchor.clone(), (sheet, top));
        }
        let mut elements = Vec::new();
        for (i, (_, align, _)) in cells.iter().enumerate() {
            // The first column names its row.
            let names = i == 0 && *align == Align::Left;
            let cell = self.record.open(if names { "TH" } else { "TD" });
            if names && let Some(element) = self.record.elements.get_mut(cell) {
                element.scope = Some("Row");
            }
            elements.push(cell);
            self.record.close();
        }
        for number in 0..tall {
            if self.y + LINE > self.grid.bottom + 0.1 {
                self.record.close();
                self.break_table(table, slots, (x, right), head);
                self.record.reopen(element);
            }
            let y = self.y;
            for ((((slot, align, cell), lines), element), figure) in
                cells.iter().zip(&laid).zip(&elements).zip(&figures)
            {
                self.record.reopen(*element);
                let kind = kind_of(cell, &row.kind);
                match figure {
                    Some((before, after)) => {
                        if number == 0 {
                            let axis = slot.x + slot.width - slot.after;
                            let base = y + LINE * 0.75;
                            // One string, so that the figure is copied whole.
                            let start = axis - kind.width(before);
                            let figure = format!("{before}{after}");
                            self.record.set(at(start, base), &figure, kind, Anchor::Start);
                        }
                    }
                    None => {
                        if let Some(line) = lines.get(number) {
                            let start = match align {
                                Align::Left => slot.x,
                                Align::Decimal | Align::Right => {
                                    if row.kind == RowKind::Group {
                                        slot.x
                                    } else {
                                        slot.x + slot.width - line.width
                                    }
                                }
                            };
                            self.line(line, start, y, LINE);
                        }
                    }
                }
                self.record.close();
            }
            self.y += LINE;
        }
        if let Some(words) = beside {
            // A trace takes the height it needs: rows with long traces are as tall as their trace.
            self.record.open("TD");
            let (sheet_now, y_now) = (self.record.sheet(), self.y);
            if sheet_now == sheet {
                let room = (y_now - top).max(LINE);
                folio_height = self.folio(&words, top, room.max(2.0 * SMALL_LINE + 3.0));
            } else {
                self.folio(&words, y_now - LINE, LINE);
            }
            self.record.close();
        }
        self.record.close();
        if self.record.sheet() == sheet && folio_height > LINE {
            self.y = self.y.max(top + folio_height + 3.25);
        }
        if let RowKind::Closed { residual } = &row.kind {
            for y in [self.y + 1.0, self.y + 3.1] {
                self.rule(x, right, y, Pen::ink(0.6));
            }
            self.y += 5.0;
            if table.wide {
                self.record.open("Note");
                self.flow(&Text::from(residual), Type::plain(SMALL), x, right - x, SMALL_LINE);
                self.record.close();
            }
        }
    }

    fn need_with_head(&mut self, height: f32, table: &Table, slots: &[Slot], span: (f32, f32), head: f32) {
        let fits = self.y + height <= self.grid.bottom + 0.1;
        // With nothing above but a head set again, going on would not help.
        let at_head = self.y <= self.grid.top + head + 2.0;
        if !fits && !at_head {
            self.break_table(table, slots, span, head);
        }
    }

    fn break_table(&mut self, table: &Table, slots: &[Slot], span: (f32, f32), head: f32) {
        self.rule(span.0, span.1, self.y + 1.0, Pen::solid(MIST, 0.25));
        self.new_page();
        self.table_head(table, slots, span, head, true);
    }
}

fn with_trace_column(table: &Table) -> Table {
    let mut copy = table.clone();
    let count = copy.columns.len();
    copy.columns.push(crate::page::document::Column::words("Trace"));
    for row in &mut copy.rows {
        if let Some(trace) = row.folio.take() {
            row.cells.resize(count, Cell::words(""));
            row.cells.push(Cell::words(trace));
        }
    }
    copy
}

fn head_lines(column: &crate::page::document::Column, width: f32) -> Vec<Line> {
    let kind = Type::bold(TABLE);
    let mut lines = at_most(wrap(&Text::from(&column.head), kind, width), 8);
    if let Some(unit) = &column.unit {
        let slate = Type::plain(TABLE).colour(SLATE);
        lines.extend(at_most(wrap(&Text::from(unit), slate, width), 4));
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::page::document::{Column, Document};
    use crate::page::pdf::record::Shape;

    /// A sum in the midst of a table has a rule above it and one below: it is no heading of what follows.
    #[test]
    fn a_sum_within_a_table_is_ruled_off_from_what_follows() {
        let rules = |sum_at: Option<usize>| {
            let mut table = Table::new(vec![Column::words("Day"), Column::figures("Water", "gal")]);
            for at in 0..4 {
                let cells = vec![Cell::words("x"), Cell::number(1.0, 0)];
                if sum_at == Some(at) {
                    table.sum(cells)
                } else {
                    table.row(cells)
                };
            }
            let doc = Document::new("Title", "Site", "2025");
            let mut composer = Composer::new(&doc, 1.0);
            composer.table(&table);
            let sheet = composer.record.sheets.first().unwrap();
            let shapes = sheet.under.iter().chain(sheet.marks.iter().flat_map(|(_, shapes)| shapes));
            shapes.filter(|shape| matches!(shape, Shape::Line(..))).count()
        };
        assert_eq!((rules(Some(1)) - rules(None), rules(Some(3)) - rules(None)), (2, 1));
    }
}

//! Tables: widths from the contents, figures on the decimal mark, heads repeated on every sheet.

use super::super::document::{Align, Basis, Cell, Row, RowKind, Style, Table, Text, Value, Width};
use super::super::draw::{Anchor, Canvas, Line, MIST, Pen, SLATE, Type, at, at_most, extent, wrap};
use super::super::fonts;
use super::compose::{Composer, LINE, SMALL, SMALL_LINE, TABLE};

const GAP: f32 = 9.0;

/// Where a column stands.
#[derive(Debug, Clone, Copy)]
struct Slot {
    x: f32,
    width: f32,
    /// Widest part after the decimal mark, mark counted in.
    after: f32,
}

fn kind_of(cell: &Cell, row: &RowKind) -> Type {
    let style = match (cell.basis, row) {
        (Some(basis), _) => basis.style(),
        (None, RowKind::Group) => Style::Bold,
        (None, _) => Style::Plain,
    };
    Type::plain(TABLE).style(style)
}

/// The cell's words, dressed.
fn words_of(cell: &Cell) -> Text {
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
fn parts(cell: &Cell) -> Option<(String, String)> {
    if let Value::Words(text) = &cell.value
        && !text
            .words()
            .trim_start_matches(['−', '+'])
            .chars()
            .all(is_figure)
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
    let fits = kind.width(&before) + slot.after <= slot.width + 0.1
        && kind.width(&after) <= slot.after + 0.1;
    fits.then_some((before, after))
}

fn is_figure(c: char) -> bool {
    c.is_ascii_digit() || c == '.' || c == '\u{202f}'
}

impl Composer<'_> {
    /// Sets a table.
    pub fn table(&mut self, table: &Table) {
        let (x, width) = if table.wide {
            (self.grid.left, self.grid.right - self.grid.left)
        } else {
            (self.grid.body(), self.grid.body_width())
        };
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
        let right = slots
            .last()
            .map_or(x + width, |slot| slot.x + slot.width)
            .min(x + width);
        let head = self.head_height(table, &slots);
        self.need(
            head + 3.0 * LINE
                + if table.caption.is_some() {
                    LINE + 3.0
                } else {
                    0.0
                },
        );
        self.record.open("Table");
        if let Some(caption) = &table.caption {
            self.record.open("Caption");
            self.flow(&Text::from(caption), Type::bold(TABLE), x, width, LINE);
            self.record.close();
            self.y += 2.0;
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
            let keep = if group || i + 2 == count { LINE } else { 0.0 };
            self.row(table, row, &slots, (x, right), head, keep);
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

    fn table_head(
        &mut self,
        table: &Table,
        slots: &[Slot],
        (x, right): (f32, f32),
        height: f32,
        again: bool,
    ) {
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

    fn row(
        &mut self,
        table: &Table,
        row: &Row,
        slots: &[Slot],
        (x, right): (f32, f32),
        head: f32,
        keep: f32,
    ) {
        let cells: Vec<(Slot, Align, &Cell)> = table
            .columns
            .iter()
            .zip(slots)
            .zip(&row.cells)
            .map(|((column, slot), cell)| (*slot, column.align, cell))
            .collect();
        let figures: Vec<Option<(String, String)>> = cells
            .iter()
            .map(|(slot, align, cell)| figure_in(cell, *align, *slot, &row.kind))
            .collect();
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
        let folio = if table.wide {
            None
        } else {
            row.folio.as_deref()
        };
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
        let mut elements = Vec::new();
        for _ in &cells {
            elements.push(self.record.open("TD"));
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
                            self.record.set(at(axis, base), before, kind, Anchor::End);
                            self.record.set(at(axis, base), after, kind, Anchor::Start);
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
                self.flow(
                    &Text::from(residual),
                    Type::plain(SMALL),
                    x,
                    right - x,
                    SMALL_LINE,
                );
                self.record.close();
            }
        }
    }

    fn need_with_head(
        &mut self,
        height: f32,
        table: &Table,
        slots: &[Slot],
        span: (f32, f32),
        head: f32,
    ) {
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
    copy.columns
        .push(super::super::document::Column::words("Trace"));
    for row in &mut copy.rows {
        if let Some(trace) = row.folio.take() {
            row.cells.resize(count, Cell::words(""));
            row.cells.push(Cell::words(trace));
        }
    }
    copy
}

fn head_lines(column: &super::super::document::Column, width: f32) -> Vec<Line> {
    let kind = Type::bold(TABLE);
    let mut lines = at_most(wrap(&Text::from(&column.head), kind, width), 8);
    if let Some(unit) = &column.unit {
        let slate = Type::plain(TABLE).colour(SLATE);
        lines.extend(at_most(wrap(&Text::from(unit), slate, width), 4));
    }
    lines
}

/// Works out where the columns stand: as wide as their contents ask, narrower between words when there is no room, and
/// through words when nothing else helps.
fn slots(table: &Table, x: f32, width: f32) -> Vec<Slot> {
    let count = table.columns.len();
    if count == 0 {
        return Vec::new();
    }
    let gap = if count > 12 { 4.0 } else { GAP };
    let room = (width - gap * (count - 1) as f32).max(count as f32 * 6.0);
    let mut least = Vec::with_capacity(count);
    let mut natural = Vec::with_capacity(count);
    let mut after = Vec::with_capacity(count);
    for (i, column) in table.columns.iter().enumerate() {
        let (mut low, mut high) = extent(&Text::from(&column.head), Type::bold(TABLE));
        high = high.min(low.max(54.0));
        if let Some(unit) = &column.unit {
            let (unit_low, unit_high) = extent(&Text::from(unit), Type::plain(TABLE));
            low = low.max(unit_low);
            high = high.max(unit_high);
        }
        let (mut left_part, mut right_part) = (0.0_f32, 0.0_f32);
        for row in table.rows.iter().filter(|row| row.kind != RowKind::Group) {
            let Some(cell) = row.cells.get(i) else {
                continue;
            };
            let kind = kind_of(cell, &row.kind);
            match parts(cell) {
                Some((before, rest)) if column.align == Align::Decimal => {
                    left_part = left_part.max(kind.width(&before));
                    right_part = right_part.max(kind.width(&rest));
                }
                _ => {
                    let (cell_low, cell_high) = extent(&words_of(cell), kind);
                    low = low.max(cell_low);
                    high = high.max(cell_high);
                }
            }
        }
        let figures = left_part + right_part;
        // A word longer than a fifth of the table breaks, so that it does not starve the other columns.
        low = low.min(room * 0.2).max(figures);
        high = high.max(figures).max(low);
        if let Width::Points(points) = column.width
            && points.is_finite()
        {
            low = low.min(points.max(6.0)).max(figures);
            high = points.max(low);
        }
        least.push(low);
        natural.push(high);
        after.push(right_part);
    }
    let widths = share(&least, &natural, room);
    let used: f32 = widths.iter().sum();
    let spare = (room - used).max(0.0);
    let wider = if count > 1 {
        (spare / (count - 1) as f32).min(18.0)
    } else {
        0.0
    };
    let mut start = x;
    widths
        .iter()
        .zip(&after)
        .map(|(width, after)| {
            let slot = Slot {
                x: start,
                width: *width,
                after: *after,
            };
            start += width + gap + wider;
            slot
        })
        .collect()
}

/// Widths that fill no more than `room`: every column gets what it asks for up to one common width, and no less than its
/// longest word while that is possible.
fn share(least: &[f32], natural: &[f32], room: f32) -> Vec<f32> {
    if natural.iter().sum::<f32>() <= room {
        return natural.to_vec();
    }
    let floors: Vec<f32> = if least.iter().sum::<f32>() <= room {
        least.to_vec()
    } else {
        // Words must break: no floor is higher than the level that fits.
        let level = level(room, |level| least.iter().map(|low| low.min(level)).sum());
        least.iter().map(|low| low.min(level)).collect()
    };
    let width = |low: f32, high: f32, level: f32| high.min(low.max(level));
    let level = level(room, |level| {
        floors
            .iter()
            .zip(natural)
            .map(|(low, high)| width(*low, *high, level))
            .sum()
    });
    floors
        .iter()
        .zip(natural)
        .map(|(low, high)| width(*low, *high, level))
        .collect()
}

/// The highest level at which `total` stays within `room`.
fn level(room: f32, total: impl Fn(f32) -> f32) -> f32 {
    let (mut low, mut high) = (0.0_f32, room);
    for _ in 0..40 {
        let middle = (low + high) / 2.0;
        if total(middle) <= room {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}

//! Where the columns of a table stand.

use crate::page::document::{Align, Cell, Column, Row, RowKind, Table, Text, Width};
use crate::page::draw::{Type, extent, widest_figure, wrap};
use crate::page::pdf::compose::TABLE;
use crate::page::pdf::table::{kind_of, parts, words_of};

const GAP: f32 = 9.0;

/// Where a column stands.
#[derive(Debug, Clone, Copy)]
pub struct Slot {
    /// Its left edge.
    pub x: f32,
    /// Its width.
    pub width: f32,
    /// Widest part after the decimal mark, mark counted in.
    pub after: f32,
}

/// What the columns ask for, in points.
struct Measure {
    /// Widest figure, or longest word; a long word counts no more than a fifth of the room.
    least: Vec<f32>,
    /// Everything on one line.
    natural: Vec<f32>,
    /// Widest part after the decimal mark.
    after: Vec<f32>,
    /// What a column cannot do without: its widest figure, or a few letters.
    needed: Vec<f32>,
}

fn measure(table: &Table, room: f32) -> Measure {
    let count = table.columns.len();
    let mut needed = Vec::with_capacity(count);
    let mut least = Vec::with_capacity(count);
    let mut natural = Vec::with_capacity(count);
    let mut after = Vec::with_capacity(count);
    for (i, column) in table.columns.iter().enumerate() {
        let (mut low, mut high) = extent(&Text::from(&column.head), Type::bold(TABLE));
        high = high.min(low.max(62.0));
        if let Some(unit) = &column.unit {
            let (unit_low, unit_high) = extent(&Text::from(unit), Type::plain(TABLE));
            low = low.max(unit_low);
            high = high.max(unit_high);
        }
        let (mut left_part, mut right_part) = (0.0_f32, 0.0_f32);
        let mut in_words = 0.0_f32;
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
                    in_words = in_words.max(widest_figure(&words_of(cell), kind));
                }
            }
        }
        // A figure among words is no more parted than one alone.
        let figures = (left_part + right_part).max(in_words.min(room * 0.3));
        // A word longer than a fifth of the table breaks, so that it does not starve the other columns.
        low = low.min(room * 0.2).max(figures);
        high = high.max(figures).max(low);
        if let Width::Points(points) = column.width
            && points.is_finite()
        {
            low = low.min(points.max(6.0)).max(figures);
            high = points.max(low);
        }
        needed.push(figures.max(low.min(30.0)));
        least.push(low);
        natural.push(high);
        after.push(right_part);
    }
    Measure { least, natural, after, needed }
}

/// The table in parts whose figures fit across, each with the first column; one part for most tables.
pub fn parted(table: &Table, width: f32) -> Vec<Table> {
    let Measure { least, needed, .. } = measure(table, width);
    let gap = if needed.len() > 12 { 4.0 } else { GAP };
    let whole: f32 = needed.iter().map(|need| need + gap).sum::<f32>() - gap;
    if whole <= width || needed.len() < 3 {
        return vec![table.clone()];
    }
    let first = least.first().copied().unwrap_or(0.0).min(width * 0.3);
    let grouped = |most: usize| {
        let mut groups: Vec<Vec<usize>> = Vec::new();
        let mut used = width;
        for (i, need) in needed.iter().enumerate().skip(1) {
            match groups.last_mut() {
                Some(group) if used + need + GAP <= width && group.len() < most => {
                    group.push(i);
                    used += need + GAP;
                }
                _ => {
                    groups.push(vec![i]);
                    used = first + need + GAP;
                }
            }
        }
        groups
    };
    // As many parts as it takes, each with as many columns: none alone in a part of its own beside a crowded one.
    let least_parts = grouped(usize::MAX).len();
    let groups = grouped((needed.len() - 1).div_ceil(least_parts.max(1)));
    let many = groups.len();
    groups
        .into_iter()
        .enumerate()
        .map(|(number, group)| {
            let pick = |i: &usize| table.columns.get(*i).cloned();
            let columns = std::iter::once(&0).chain(&group).filter_map(pick).collect();
            let rows = table
                .rows
                .iter()
                .map(|row| Row {
                    cells: std::iter::once(&0)
                        .chain(&group)
                        .map(|i| row.cells.get(*i).cloned().unwrap_or(Cell::words("")))
                        .collect(),
                    kind: row.kind.clone(),
                    folio: row.folio.clone(),
                    anchor: row.anchor.clone(),
                })
                .collect();
            let caption = table.caption.as_deref().unwrap_or("Table");
            let last = number + 1 == many;
            Table {
                caption: Some(format!("{caption} (part {} of {many})", number + 1)),
                columns,
                rows,
                notes: if last { table.notes.clone() } else { Vec::new() },
                wide: table.wide,
                whole: table.whole,
            }
        })
        .collect()
}

/// Works out where the columns stand: as wide as their contents ask, narrower between words when there is no room, and
/// through words when nothing else helps.
pub fn slots(table: &Table, x: f32, width: f32) -> Vec<Slot> {
    let count = table.columns.len();
    if count == 0 {
        return Vec::new();
    }
    let gap = if count > 12 { 4.0 } else { GAP };
    let room = (width - gap * (count - 1) as f32).max(count as f32 * 6.0);
    let measure = measure(table, room);
    let widths = lowest(table, &measure, share(&measure, room));
    let used: f32 = widths.iter().sum();
    let spare = (room - used).max(0.0);
    let wider = if count > 1 { (spare / (count - 1) as f32).min(18.0) } else { 0.0 };
    let mut start = x;
    widths
        .iter()
        .zip(&measure.after)
        .map(|(width, after)| {
            let slot = Slot { x: start, width: *width, after: *after };
            start += width + gap + wider;
            slot
        })
        .collect()
}

/// Widths that fill no more than `room`: every column gets what it asks for up to one common width, and no less than its
/// longest word while that is possible.
fn share(measure: &Measure, room: f32) -> Vec<f32> {
    let Measure { least, natural, needed, .. } = measure;
    if natural.iter().sum::<f32>() <= room {
        return natural.clone();
    }
    let floors: Vec<f32> = if least.iter().sum::<f32>() <= room {
        least.clone()
    } else if needed.iter().sum::<f32>() <= room {
        // Words must break, figures need not.
        let floor = |low: f32, need: f32, level: f32| need.max(low.min(level));
        let level = level(room, |level| {
            let both = least.iter().zip(needed);
            both.map(|(low, need)| floor(*low, *need, level)).sum()
        });
        let both = least.iter().zip(needed);
        both.map(|(low, need)| floor(*low, *need, level)).collect()
    } else {
        // No floor is higher than the level that fits.
        let level = level(room, |level| least.iter().map(|low| low.min(level)).sum());
        least.iter().map(|low| low.min(level)).collect()
    };
    let width = |low: f32, high: f32, level: f32| high.min(low.max(level));
    let level = level(room, |level| floors.iter().zip(natural).map(|(low, high)| width(*low, *high, level)).sum());
    floors.iter().zip(natural).map(|(low, high)| width(*low, *high, level)).collect()
}

/// Rows that are looked at to find out how high a table gets, evenly over it.
const LOOKED_AT: usize = 32;
/// By how much a column gets wider at the cost of another, in points: what one word more on its line takes.
const STEPS: [f32; 3] = [6.0, 14.0, 32.0];
/// Parts of what a column lacks that all others give it together.
const SHARES: [f32; 4] = [0.25, 0.5, 0.75, 1.0];
/// Most such changes.
const CHANGES: usize = 24;

/// What a column holds in the rows looked at, its head first: text, cut and width on one line.
struct Stack {
    cells: Vec<(Text, Type, f32)>,
    /// Lines of each at a width that was tried.
    tried: Vec<(f32, Vec<usize>)>,
}

impl Stack {
    fn lines(&mut self, width: f32) -> &[usize] {
        let at = self.tried.iter().position(|(known, _)| (known - width).abs() < 0.01).unwrap_or_else(|| {
            let lines = |(text, kind, whole): &(Text, Type, f32)| {
                if *whole <= width + 0.01 { 1 } else { wrap(text, *kind, width).len() }
            };
            self.tried.push((width, self.cells.iter().map(lines).collect()));
            self.tried.len() - 1
        });
        self.tried.get(at).map_or(&[], |(_, lines)| lines)
    }
}

/// The widths with which the table takes the fewest lines: a column gives what it does not need to one whose words break.
fn lowest(table: &Table, measure: &Measure, mut widths: Vec<f32>) -> Vec<f32> {
    let short = |(width, natural): (&f32, &f32)| *width + 0.01 < *natural;
    if widths.len() < 2 || !widths.iter().zip(&measure.natural).any(short) {
        return widths;
    }
    let step = table.rows.len().div_ceil(LOOKED_AT).max(1);
    let rows: Vec<&Row> = table.rows.iter().filter(|row| row.kind != RowKind::Group).step_by(step).collect();
    let stack = |(i, column): (usize, &Column)| {
        let cell = |row: &&Row| {
            let cell = row.cells.get(i)?;
            let figure = column.align == Align::Decimal && parts(cell).is_some();
            let (text, kind) = (words_of(cell), kind_of(cell, &row.kind));
            let whole = if figure { 0.0 } else { extent(&text, kind).1 };
            Some((text, kind, whole))
        };
        let head =
            (Text::from(&column.head), Type::bold(TABLE), extent(&Text::from(&column.head), Type::bold(TABLE)).1);
        let nothing = || (Text::new(), Type::plain(TABLE), 0.0);
        let cells = rows.iter().map(|row| cell(row).unwrap_or_else(nothing));
        Stack { cells: std::iter::once(head).chain(cells).collect(), tried: Vec::new() }
    };
    let mut stacks: Vec<Stack> = table.columns.iter().enumerate().map(stack).collect();
    // The lines of the rows, and of as few the lines of their cells.
    let mut height = |widths: &[f32]| -> (usize, usize) {
        let mut most = vec![1; rows.len() + 1];
        let mut all = 0;
        for (stack, width) in stacks.iter_mut().zip(widths) {
            for (most, lines) in most.iter_mut().zip(stack.lines(*width)) {
                *most = (*most).max(*lines);
                all += lines;
            }
        }
        (most.iter().sum(), all)
    };
    let mut now = height(&widths);
    for _ in 0..CHANGES {
        let mut best: Option<((usize, usize), Vec<f32>)> = None;
        for from in 0..widths.len() {
            for to in (0..widths.len()).filter(|to| *to != from) {
                for step in STEPS {
                    let mut tried = widths.clone();
                    let (Some(gives), Some(takes)) = (widths.get(from), widths.get(to)) else { continue };
                    let least = measure.least.get(from).copied().unwrap_or(f32::MAX);
                    let natural = measure.natural.get(to).copied().unwrap_or(0.0);
                    if gives - step < least || *takes + 0.01 >= natural {
                        continue;
                    }
                    if let Some(width) = tried.get_mut(from) {
                        *width -= step;
                    }
                    if let Some(width) = tried.get_mut(to) {
                        *width += step;
                    }
                    let lines = height(&tried);
                    if lines < best.as_ref().map_or(now, |(lines, _)| *lines) {
                        best = Some((lines, tried));
                    }
                }
            }
        }
        // One column may need a little of several others.
        for to in 0..widths.len() {
            let spare = |at: usize| {
                let (width, least) =
                    (widths.get(at).copied().unwrap_or(0.0), measure.least.get(at).copied().unwrap_or(0.0));
                if at == to { 0.0 } else { (width - least).max(0.0) }
            };
            let all: f32 = (0..widths.len()).map(spare).sum();
            let short = measure.natural.get(to).copied().unwrap_or(0.0) - widths.get(to).copied().unwrap_or(0.0);
            if short <= 0.01 || all <= 0.01 {
                continue;
            }
            for part in SHARES {
                let taken = (short * part).min(all);
                let given = |at: usize| if at == to { -taken } else { taken * spare(at) / all };
                let tried: Vec<f32> = widths.iter().enumerate().map(|(at, width)| width - given(at)).collect();
                let lines = height(&tried);
                if lines < best.as_ref().map_or(now, |(lines, _)| *lines) {
                    best = Some((lines, tried));
                }
            }
        }
        let Some((lines, better)) = best else { break };
        (now, widths) = (lines, better);
    }
    widths
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

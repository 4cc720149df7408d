//! The year's water: two columns, totals, how the account closes.

use crate::page::document::{AccountLine, Basis, Text, WaterAccount, figures};
use crate::page::draw::{Anchor, Canvas, Line, Pen, SLATE, Type, at, at_most, wrap};
use crate::page::pdf::compose::{CLOSE, CLOSE_TYPE, Composer, SMALL};
use crate::page::pdf::record::PageNumber;

const GUTTER: f32 = 18.0;
/// Room for the letter of the basis.
const LETTER: f32 = 14.0;

struct Half<'a> {
    x: f32,
    width: f32,
    head: &'static str,
    lines: &'a [AccountLine],
    total: f64,
}

impl Composer<'_> {
    /// Sets the account of water.
    pub fn water(&mut self, account: &WaterAccount) {
        let close = self.close(CLOSE);
        let (left, right) = (self.grid.left, self.grid.right);
        let each = (right - left - GUTTER) / 2.0;
        let halves = [
            Half { x: left, width: each, head: "Came in", lines: &account.came_in, total: account.total_in },
            Half {
                x: left + each + GUTTER,
                width: each,
                head: "Went out",
                lines: &account.went_out,
                total: account.total_out,
            },
        ];
        let tallest = halves.iter().map(|half| self.half_height(half, account)).fold(0.0_f32, f32::max);
        // With the caption above, totals, closure and notes below.
        let notes: usize =
            account.notes.iter().map(|note| wrap(note, Type::plain(CLOSE_TYPE), right - left).len()).sum();
        let whole = tallest + 4.3 * close + notes as f32 * close;
        self.skip(6.0);
        self.need(whole.min(self.grid.bottom - self.grid.top));
        self.record.open("Sect");
        let caption = match &account.caption {
            Some(caption) => format!("{caption}, {}", account.unit),
            None => account.unit.clone(),
        };
        let mut legend = String::new();
        for basis in [Basis::Metered, Basis::Sampled, Basis::Computed, Basis::Assumed] {
            legend.push_str(&format!("   {} {}", basis.letter(), basis.word()));
        }
        self.record.open("P");
        let base = self.y + close * 0.75;
        let used = self.record.set(at(left, base), &caption, Type::bold(10.5), Anchor::Start);
        self.record.close();
        self.record.open("Note");
        let slate = Type::plain(SMALL).colour(SLATE);
        if used + slate.width(&legend) > right - left {
            self.y += close;
        }
        self.record.set(at(right, self.y + close * 0.75), &legend, slate, Anchor::End);
        self.record.close();
        self.y += close;
        let top = self.y + 2.0;
        let (first_sheet, mut foot) = (self.record.sheet(), top);
        for half in &halves {
            // A half that runs over goes on below; the other half begins at the same height on the first sheet only when
            // both fit, which they do unless an account has fifty lines.
            if self.record.sheet() == first_sheet {
                self.y = top;
            }
            self.half(half, account);
            foot = foot.max(self.y);
        }
        if self.record.sheet() == first_sheet {
            // Totals stand level.
            self.y = foot;
        }
        let kind = Type::bold(CLOSE_TYPE);
        self.need(close + 12.0);
        self.y += 1.0;
        for half in &halves {
            let end = half.x + half.width - LETTER;
            let figure = account.total(half.lines, half.total);
            let base = self.y + 2.0 + close * 0.75;
            self.rule(half.x, half.x + half.width, self.y, Pen::ink(0.6));
            self.record.open("P");
            self.record.set(at(half.x, base), WaterAccount::total_name(half.lines), kind, Anchor::Start);
            self.record.set(at(end, base), &figure, kind, Anchor::End);
            self.record.close();
            if account.residual.is_some() {
                for y in [self.y + close + 4.0, self.y + close + 6.1] {
                    self.rule(half.x, half.x + half.width, y, Pen::ink(0.6));
                }
            }
        }
        self.y += close + 9.0;
        if let Some(residual) = &account.residual {
            self.record.open("Note");
            self.flow(&Text::from(residual), slate, left, right - left, 9.75);
            self.record.close();
        }
        self.y += 1.0;
        for note in &account.notes {
            self.record.open("P");
            self.flow(note, Type::plain(CLOSE_TYPE), left, right - left, close);
            self.record.close();
        }
        self.record.close();
        self.y += 7.0;
    }

    fn half_height(&self, half: &Half<'_>, account: &WaterAccount) -> f32 {
        let close = self.close(CLOSE);
        let lines: usize = half.lines.iter().map(|line| names(line, name_room(half, account)).len()).sum();
        lines as f32 * close + close + 6.0
    }

    fn half(&mut self, half: &Half<'_>, account: &WaterAccount) {
        let close = self.close(CLOSE);
        self.record.open("Table");
        let end = half.x + half.width;
        self.rule(half.x, end, self.y, Pen::ink(0.6));
        self.record.open("TR");
        let head = self.record.open("TH");
        if let Some(element) = self.record.elements.get_mut(head) {
            element.scope = Some("Column");
        }
        let base = self.y + 2.0 + close * 0.75;
        self.record.set(at(half.x, base), half.head, Type::bold(CLOSE_TYPE), Anchor::Start);
        self.record.close();
        self.record.close();
        self.y += close + 4.0;
        self.rule(half.x, end, self.y, Pen::ink(0.6));
        self.y += 1.0;
        for line in half.lines {
            let names = names(line, name_room(half, account));
            self.need(names.len() as f32 * close);
            self.record.open("TR");
            let cell = self.record.open("TD");
            for (i, name) in names.iter().enumerate() {
                self.line(name, half.x, self.y + i as f32 * close, close);
            }
            self.record.close();
            if let (Some(anchor), Some(last)) = (&line.told_at, names.last()) {
                let kind = Type::bold(CLOSE_TYPE);
                self.record.page_numbers.push(PageNumber {
                    sheet: self.record.sheet(),
                    end: at(
                        half.x + last.width + kind.width(PAGE_ROOM),
                        self.y + (names.len() - 1) as f32 * close + close * 0.75,
                    ),
                    kind,
                    anchors: vec![anchor.clone()],
                    element: cell,
                });
            }
            let base = self.y + (names.len() as f32 - 1.0) * close + close * 0.75;
            let mut kind = Type::plain(CLOSE_TYPE);
            if line.unaccounted {
                kind = Type::bold(CLOSE_TYPE);
            }
            if let Some(basis) = line.basis {
                kind = kind.style(basis.style());
            }
            self.record.open("TD");
            let figure = line.figure(account.digits);
            let figures_end = end - LETTER;
            match line.basis {
                Some(Basis::Assumed) => {
                    let wide = kind.width(&figure);
                    self.record.set(at(figures_end, base), &figure, kind, Anchor::End);
                    self.record.set(at(figures_end - wide, base), "[", kind, Anchor::End);
                    self.record.set(at(figures_end, base), "]", kind, Anchor::Start);
                }
                _ => {
                    self.record.set(at(figures_end, base), &figure, kind, Anchor::End);
                }
            }
            self.record.close();
            self.record.open("TD");
            if let Some(basis) = line.basis {
                let small = Type::plain(SMALL).colour(SLATE);
                self.record.set(at(end, base), &basis.letter().to_string(), small, Anchor::End);
            }
            self.record.close();
            self.record.close();
            self.y += names.len() as f32 * close;
        }
        self.record.close();
    }
}

/// The names of a line, with room after the last of them where a page's number stands.
fn names(line: &AccountLine, room: f32) -> Vec<Line> {
    let kind = Type::plain(CLOSE_TYPE);
    if line.told_at.is_none() {
        return at_most(wrap(&name_of(line), kind, room), 6);
    }
    let name = Text::new().bold(format!("{}, page{}", line.name, figures::TIE));
    let held = Text::new().bold(format!("{}, page{}{PAGE_ROOM}", line.name, figures::TIE));
    // The number is no part of the words, and keeps its word beside it.
    let mut lines = wrap(&held, kind, room);
    if let Some(last) = lines.last_mut()
        && let Some(piece) = last.pieces.last_mut()
        && let Some(words) = piece.text.strip_suffix(PAGE_ROOM)
    {
        piece.text = words.to_owned();
        let wide = piece.kind.width(PAGE_ROOM);
        piece.width -= wide;
        last.width -= wide;
        return lines;
    }
    wrap(&name, kind, room)
}

/// What a page's number takes at most.
const PAGE_ROOM: &str = "00";

fn name_of(line: &AccountLine) -> Text {
    if line.unaccounted { Text::new().bold(line.name.clone()) } else { Text::from(&line.name) }
}

fn name_room(half: &Half<'_>, account: &WaterAccount) -> f32 {
    let widest = half
        .lines
        .iter()
        .map(|line| line.figure(account.digits))
        .chain([account.total(half.lines, half.total)])
        .map(|figure| Type::bold(CLOSE_TYPE).width(&figure))
        .fold(0.0_f32, f32::max);
    (half.width - LETTER - widest - 12.0).max(60.0)
}

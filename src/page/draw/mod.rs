//! Drawing in points, so that one drawing function serves the PDF and SVG.

mod hatch;
mod outcome;
mod palette;
mod strip;
mod svg;
mod wrap;

pub use hatch::{Hatch, hatch_rect};
pub use outcome::outcome_box;
pub use palette::{
    Colour, INK, MIST, PALETTE, SLATE, STONE, Swatch, TINT, WHITE, contrast, hue, hue_dash, hue_hatch, hue_width,
};
pub use strip::margin_strip;
pub use svg::SvgCanvas;
pub(crate) use svg::hex;
pub use wrap::{Line, Piece, at_most, extent, widest_figure, wrap};

use crate::page::document::Style;
use crate::page::fonts;

/// A point on the sheet: points from the left and from the top.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// From the left.
    pub x: f32,
    /// From the top.
    pub y: f32,
}

/// A point from its two distances.
pub fn at(x: f32, y: f32) -> Point {
    Point { x, y }
}

/// A rectangle: its top left corner and its size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Area {
    /// From the left.
    pub x: f32,
    /// From the top.
    pub y: f32,
    /// Width.
    pub width: f32,
    /// Height.
    pub height: f32,
}

impl Area {
    /// Its right edge.
    pub fn right(&self) -> f32 {
        self.x + self.width
    }

    /// Its bottom edge.
    pub fn bottom(&self) -> f32 {
        self.y + self.height
    }

    /// Whether the two share more than an edge.
    pub fn meets(&self, other: &Self) -> bool {
        self.x < other.right() && other.x < self.right() && self.y < other.bottom() && other.y < self.bottom()
    }

    fn corners(&self) -> [Point; 4] {
        [at(self.x, self.y), at(self.right(), self.y), at(self.right(), self.bottom()), at(self.x, self.bottom())]
    }
}

/// How a line is drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pen {
    /// Its colour.
    pub colour: Colour,
    /// Its width in points.
    pub width: f32,
    /// Dash, gap, dash, gap in points; empty for a solid line.
    pub dash: &'static [f32],
}

impl Pen {
    /// A solid line in ink.
    pub fn ink(width: f32) -> Self {
        Self::solid(INK, width)
    }

    /// A solid line in a colour.
    pub fn solid(colour: Colour, width: f32) -> Self {
        Self { colour, width, dash: &[] }
    }

    /// The same pen with dashes.
    pub fn dashed(mut self, dash: &'static [f32]) -> Self {
        self.dash = dash;
        self
    }
}

/// How words are set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Type {
    /// The cut.
    pub style: Style,
    /// The size in points, never under 7.5.
    pub size: f32,
    /// The colour.
    pub colour: Colour,
}

impl Type {
    /// Ink, plain.
    pub fn plain(size: f32) -> Self {
        Self { style: Style::Plain, size, colour: INK }
    }

    /// Ink, bold.
    pub fn bold(size: f32) -> Self {
        Self { style: Style::Bold, ..Self::plain(size) }
    }

    /// The same in a cut.
    pub fn style(mut self, style: Style) -> Self {
        self.style = style;
        self
    }

    /// The same in a colour.
    pub fn colour(mut self, colour: Colour) -> Self {
        self.colour = colour;
        self
    }

    /// How wide `text` would be.
    pub fn width(&self, text: &str) -> f32 {
        fonts::width(text, self.style, self.size)
    }
}

/// Where the words stand to their point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// Begin at it.
    Start,
    /// Centre on it.
    Middle,
    /// End at it.
    End,
}

/// A part of the site's picture, by the number of its way or place on the sheet: a screen may change it by itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// A way.
    Way(usize),
    /// The figure beside a way.
    Label(usize),
    /// A place.
    Place(usize),
    /// The figure of a place.
    Figure(usize),
    /// A sign of a place: the place, then which of its signs.
    Sign(usize, usize),
    /// A name outside.
    Name(usize),
    /// The key.
    Key,
}

/// Something to draw on.
pub trait Canvas {
    /// What is drawn from here on belongs to a part, until [`Canvas::end`]. Most canvases need not know.
    fn begin(&mut self, _part: Part) {}

    /// The part that was begun last is drawn.
    fn end(&mut self) {}

    /// A line through the points.
    fn line(&mut self, points: &[Point], pen: Pen);

    /// A closed shape, filled.
    fn fill(&mut self, points: &[Point], colour: Colour);

    /// Words with their baseline's start at `start`. The words are as [`fonts::clean`] leaves them.
    fn words(&mut self, start: Point, words: &str, kind: Type);

    /// A stroked rectangle.
    fn frame(&mut self, area: Area, pen: Pen) {
        let [a, b, c, d] = area.corners();
        self.line(&[a, b, c, d, a, b], pen);
    }

    /// A filled rectangle.
    fn block(&mut self, area: Area, colour: Colour) {
        self.fill(&area.corners(), colour);
    }

    /// Words that begin, centre or end at a point; returns their width.
    fn set(&mut self, point: Point, words: &str, kind: Type, anchor: Anchor) -> f32 {
        let clean = fonts::clean(words);
        let width = kind.width(&clean);
        let x = match anchor {
            Anchor::Start => point.x,
            Anchor::Middle => point.x - width / 2.0,
            Anchor::End => point.x - width,
        };
        self.words(at(x, point.y), &clean, kind);
        width
    }
}

/// `text`, shortened with an ellipsis until it is no wider than `room`.
pub fn fitted(text: &str, kind: Type, room: f32) -> String {
    let clean = fonts::clean(text);
    if kind.width(&clean) <= room {
        return clean;
    }
    let room = room - kind.width("…");
    let mut kept = String::new();
    let mut used = 0.0;
    for c in clean.chars() {
        used += fonts::char_width(c, kind.style, kind.size);
        if used > room {
            break;
        }
        kept.push(c);
    }
    if room < 0.0 {
        return String::new();
    }
    kept.truncate(kept.trim_end().len());
    kept.push('…');
    kept
}

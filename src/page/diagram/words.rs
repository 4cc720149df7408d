//! What stands in a place: its kind, its name, its figure, and the figures of its signs.

use crate::page::document::{Diagram, DiagramPlace, DrawnFigure, PlaceMark, Sign, Style, Text};
use crate::page::draw::{Area, SLATE, Type, at_most, wrap};

/// Height of a line in a place.
pub const LINE: f32 = 10.5;
/// White at the left and the right of the words.
pub const INDENT: f32 = 5.0;
/// Width of a sign without its figure.
const SIGN: f32 = 8.0;
/// White between two signs.
const APART: f32 = 3.0;

/// What stands in a place, line by line.
#[derive(Debug, Clone, Default)]
pub struct BoxWords {
    pub lines: Vec<(String, Type)>,
    /// How many of them, the last ones, are its figure.
    pub figure: usize,
    /// Whether the signs of the top, of the foot take a line of their own.
    pub top_alone: bool,
    pub foot_alone: bool,
    /// Whether the name is cut.
    pub cut: bool,
}

impl BoxWords {
    /// How many lines it takes.
    pub fn lines(&self) -> usize {
        self.lines.len() + usize::from(self.top_alone) + usize::from(self.foot_alone)
    }
}

/// How a figure is set.
pub fn figure_type(figure: &DrawnFigure) -> Type {
    Type::plain(7.5).style(match figure.basis.style() {
        Style::Bold => Style::Plain,
        other => other,
    })
}

/// The words of all places. Names are set in one size, long ones on two lines.
pub fn words(diagram: &Diagram, width: f32) -> Vec<BoxWords> {
    let room = width - 2.0 * INDENT;
    let fits = |size: f32| diagram.places.iter().all(|place| Type::bold(size).width(&place.name) <= room);
    let size = [9.5, 8.5].into_iter().find(|size| fits(*size)).unwrap_or(8.5);
    diagram.places.iter().map(|place| of(place, room, size)).collect()
}

fn of(place: &DiagramPlace, room: f32, size: f32) -> BoxWords {
    let small = Type::plain(7.5).colour(SLATE);
    let mut words = BoxWords::default();
    let set = |words: &mut BoxWords, text: &str, kind: Type, most: usize| -> bool {
        let lines = wrap(&Text::from(text), kind, room);
        let cut = lines.len() > most;
        for line in at_most(lines, most) {
            words.lines.push((line.pieces.iter().map(|piece| piece.text.as_str()).collect(), kind));
        }
        cut
    };
    set(&mut words, &place.kind, small, 1);
    // A long name is set smaller before it takes two lines or a word is parted.
    let least = Type::bold(7.5);
    let bold = Type::bold(size);
    let parted = place.name.split(' ').any(|word| bold.width(word) > room);
    let bold =
        if parted || (bold.width(&place.name) > room && least.width(&place.name) <= room) { least } else { bold };
    words.cut = set(&mut words, &place.name, bold, 4);
    if let Some(change) = place.change {
        set(&mut words, change.words(), Type::plain(7.5), 1);
    }
    let named = words.lines.len();
    match (&place.figure, &place.size) {
        (Some(figure), _) => set(&mut words, &figure.basis.dress(&figure.text), figure_type(figure), 2),
        (None, Some(size)) => set(&mut words, size, small, 1),
        (None, None) => false,
    };
    words.figure = words.lines.len() - named;
    let beside = |line: Option<&(String, Type)>| line.map_or(0.0, |(text, kind)| kind.width(text));
    let top = marks_width(&place.marks, true);
    words.top_alone = top > 0.0 && beside(words.lines.first()) + APART + top > room + 3.0;
    let foot = marks_width(&place.marks, false);
    let last = if words.figure > 0 { beside(words.lines.last()) } else { 0.0 };
    words.foot_alone = foot > 0.0 && (words.figure == 0 || last + APART + foot > room + 3.0);
    words
}

/// Whether a sign stands at the top.
pub fn at_top(sign: Sign) -> bool {
    matches!(sign, Sign::Rain | Sign::Up)
}

fn mark_width(mark: &PlaceMark) -> f32 {
    SIGN + figure_type(&mark.figure).width(&mark.figure.basis.dress(&mark.figure.text))
}

fn marks_width(marks: &[PlaceMark], top: bool) -> f32 {
    let widths: Vec<f32> = marks.iter().filter(|mark| at_top(mark.sign) == top).map(mark_width).collect();
    widths.iter().sum::<f32>() + APART * widths.len().saturating_sub(1) as f32
}

/// Where the signs of a place stand, from the right: whether at the top, and the middle of the sign.
pub fn mark_spots(area: Area, marks: &[PlaceMark]) -> Vec<(bool, f32)> {
    let mut ends = (area.right() - 3.0, area.right() - 3.0);
    let mut spots = Vec::new();
    for mark in marks.iter().rev() {
        let top = at_top(mark.sign);
        let end = if top { &mut ends.0 } else { &mut ends.1 };
        let start = *end - mark_width(mark);
        spots.push((top, start + SIGN / 2.0 - 1.0));
        *end = start - APART;
    }
    spots.reverse();
    spots
}

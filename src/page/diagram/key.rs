//! The key of a sheet: what each pattern, sign and width stands for.

use crate::page::diagram::draw::{band, sign};
use crate::page::diagram::net::{BAND, HAIR, Scale, THIN};
use crate::page::document::{Carries, Diagram, NOT_KNOWN, Side, Sign, Style, figures};
use crate::page::draw::{Anchor, Canvas, Pen, SLATE, Type, at};

/// Height of a line of the key.
const LINE: f32 = 13.0;
const SAMPLE: f32 = 24.0;
const APART: f32 = 12.0;

/// What a line of the key shows beside its words.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Shown {
    Way(Carries, f32),
    /// The line and the band of what a way carries.
    Both(Carries),
    Sign(Sign),
    /// The facility line.
    Line,
    Bar,
    Words(Style),
}

#[derive(Debug, Clone)]
struct Entry {
    shown: Shown,
    words: String,
    x: f32,
    line: usize,
}

/// The key, laid out.
#[derive(Debug, Clone)]
pub struct Key {
    entries: Vec<Entry>,
    /// Its height.
    pub height: f32,
}

impl Key {
    /// The key of what stands in a picture.
    pub fn of(diagram: &Diagram, scale: Scale, width: f32) -> Self {
        let mut wanted: Vec<(Shown, String)> = Vec::new();
        let (sample, wide) = scale.sample().unwrap_or((0.0, THIN));
        for carries in Carries::ALL {
            let drawn = |broad: bool| {
                diagram.ways.iter().any(|way| way.carries == carries && (scale.width(way) >= BAND) == broad)
            };
            let shown = match (drawn(false), drawn(true)) {
                (true, true) => Shown::Both(carries),
                (true, false) => Shown::Way(carries, THIN),
                (false, true) => Shown::Way(carries, 5.0),
                (false, false) => continue,
            };
            wanted.push((shown, carries.words().to_owned()));
        }
        if let Some(least) = scale.least() {
            let digits = u8::from(sample < 10.0) + u8::from(sample < 1.0);
            let amount = |v: f64| figures::number(v, if v == v.round() { 0 } else { digits });
            let unit = &diagram.unit;
            wanted.push((Shown::Way(Carries::Water, wide), format!("this wide = {} {unit}", amount(sample))));
            let round = two_figures(least);
            wanted.push((Shown::Way(Carries::Water, THIN), format!("a line: less than {} {unit}", amount(round))));
        }
        if diagram.ways.iter().any(|way| way.volume.is_none() && way.figure.is_none()) {
            wanted.push((Shown::Way(Carries::Water, HAIR), "thin: nothing booked in the period".to_owned()));
        }
        let marks = diagram.places.iter().flat_map(|place| &place.marks).map(|mark| &mark.figure);
        if diagram.ways.iter().filter_map(|way| way.figure.as_ref()).chain(marks).any(|of| of.text == NOT_KNOWN) {
            wanted.push((Shown::Words(Style::Plain), format!("{NOT_KNOWN} not known: it may have flowed")));
        }
        if diagram.ways.iter().any(|way| way.draws && way.volume.is_some()) {
            wanted.push((Shown::Bar, "starts at a bar: drawn off by the place it leads to".to_owned()));
        }
        if diagram.outside.iter().any(|name| name.side == Side::Right) {
            wanted.push((Shown::Line, "facility line: what crosses it leaves".to_owned()));
        }
        let used =
            |sign: Sign| diagram.places.iter().flat_map(|place| &place.marks).filter(move |mark| mark.sign == sign);
        for sign in [Sign::Rain, Sign::Up, Sign::Down, Sign::Unaccounted] {
            let mut words: Vec<&str> = Vec::new();
            for mark in used(sign) {
                if !words.contains(&mark.words.as_str()) {
                    words.push(&mark.words);
                }
            }
            if !words.is_empty() {
                wanted.push((Shown::Sign(sign), words.join(" or ")));
            }
        }
        if diagram.ways.iter().any(|way| way.figure.is_some()) {
            for (style, words) in [
                (Style::Plain, "1.2 metered or sampled"),
                (Style::Italic, "1.2 computed"),
                (Style::Italic, "[1.2] assumed"),
            ] {
                wanted.push((Shown::Words(style), words.to_owned()));
            }
        }
        let mut entries = Vec::new();
        let (mut x, mut line) = (0.0, 0);
        for (shown, words) in wanted {
            let sample = match shown {
                Shown::Way(..) | Shown::Bar => SAMPLE + 4.0,
                Shown::Both(_) => 2.0 * SAMPLE + 6.0,
                Shown::Sign(_) => 9.0,
                Shown::Line => 6.0,
                Shown::Words(_) => 0.0,
            };
            let taken = sample + Type::plain(7.5).width(&words);
            if x > 0.0 && x + taken > width {
                (x, line) = (0.0, line + 1);
            }
            entries.push(Entry { shown, words, x, line });
            x += taken + APART;
        }
        let lines = if entries.is_empty() { 0 } else { line + 1 };
        Self { entries, height: lines as f32 * LINE + if lines > 0 { 5.0 } else { 0.0 } }
    }

    /// Draws it with its top left corner at `x`, `y`.
    pub fn draw(&self, canvas: &mut dyn Canvas, x: f32, y: f32) {
        let small = Type::plain(7.5).colour(SLATE);
        for entry in &self.entries {
            let (x, base) = (x + entry.x, y + 5.0 + entry.line as f32 * LINE + 9.0);
            let middle = base - 2.7;
            match entry.shown {
                Shown::Way(carries, width) => {
                    band(canvas, &[at(x, middle), at(x + SAMPLE, middle)], carries, width);
                    canvas.set(at(x + SAMPLE + 4.0, base), &entry.words, small, Anchor::Start);
                }
                Shown::Both(carries) => {
                    band(canvas, &[at(x, middle), at(x + SAMPLE, middle)], carries, THIN);
                    band(canvas, &[at(x + SAMPLE + 2.0, middle), at(x + 2.0 * SAMPLE + 2.0, middle)], carries, 5.0);
                    canvas.set(at(x + 2.0 * SAMPLE + 6.0, base), &entry.words, small, Anchor::Start);
                }
                Shown::Bar => {
                    band(canvas, &[at(x + 3.0, middle), at(x + SAMPLE, middle)], Carries::Water, THIN);
                    canvas.line(&[at(x + 3.0, middle - 3.0), at(x + 3.0, middle + 3.0)], Pen::ink(1.2));
                    canvas.set(at(x + SAMPLE + 4.0, base), &entry.words, small, Anchor::Start);
                }
                Shown::Line => {
                    canvas.line(&[at(x + 1.0, middle - 4.5), at(x + 1.0, middle + 4.5)], Pen::ink(2.0));
                    canvas.set(at(x + 6.0, base), &entry.words, small, Anchor::Start);
                }
                Shown::Sign(kind) => {
                    sign(canvas, kind, at(x + 3.0, middle));
                    canvas.set(at(x + 9.0, base), &entry.words, small, Anchor::Start);
                }
                Shown::Words(style) => {
                    let mut start = x;
                    // The figure in its cut, the word for it upright.
                    let (figure, word) = entry.words.split_once(' ').unwrap_or((&entry.words, ""));
                    start += canvas.set(at(start, base), figure, Type::plain(7.5).style(style), Anchor::Start);
                    canvas.set(at(start + 2.5, base), word, small, Anchor::Start);
                }
            }
        }
    }
}

/// A value rounded to two figures.
fn two_figures(value: f64) -> f64 {
    let step = 10_f64.powf(value.log10().floor() - 1.0);
    (value / step).round() * step
}

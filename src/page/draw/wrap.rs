//! Breaking text into lines: at spaces, after hyphens and slashes, and inside a word only when it is wider than the line.

use crate::page::document::{Style, Text};
use crate::page::draw::Type;
use crate::page::fonts;

/// A stretch of a line in one cut.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// The words, as the fonts can show them.
    pub text: String,
    /// How they are set.
    pub kind: Type,
    /// The anchor they lead to.
    pub link: Option<String>,
    /// Their width in points.
    pub width: f32,
}

/// A line of text.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Line {
    /// Its stretches.
    pub pieces: Vec<Piece>,
    /// Its width in points.
    pub width: f32,
}

#[derive(Clone, Copy)]
struct Sign {
    c: char,
    run: usize,
    width: f32,
}

struct Unit {
    start: usize,
    end: usize,
    width: f32,
    spaced: bool,
}

fn style_in(base: Style, run: Style) -> Style {
    match run {
        Style::Plain => base,
        other => other,
    }
}

/// Breaks `text` into lines no wider than `room` points. Plain stretches take the cut of `base`. There is at least one
/// line, possibly empty.
pub fn wrap(text: &Text, base: Type, room: f32) -> Vec<Line> {
    let mut signs: Vec<Sign> = Vec::new();
    for (run, words) in text.runs.iter().enumerate() {
        let style = style_in(base.style, words.style);
        for c in fonts::clean(&words.text).chars() {
            signs.push(Sign { c, run, width: fonts::char_width(c, style, base.size) });
        }
    }
    let units = units(&signs, room.max(base.size));
    let mut lines = Vec::new();
    let mut current: Vec<(usize, usize)> = Vec::new();
    let mut used = 0.0;
    for unit in &units {
        let space = if unit.spaced && !current.is_empty() {
            signs.get(unit.start.saturating_sub(1)).map_or(0.0, |sign| sign.width)
        } else {
            0.0
        };
        if !current.is_empty() && used + space + unit.width > room + 0.01 {
            let mut full = line(&signs, &current, text, base);
            // The space at which it breaks is set, so that a reader or a copy does not run two words together.
            if unit.spaced
                && let Some(piece) = full.pieces.last_mut()
            {
                piece.text.push(' ');
            }
            lines.push(full);
            current.clear();
            used = 0.0;
            current.push((unit.start, unit.end));
            used += unit.width;
            continue;
        }
        let start = if space > 0.0 { unit.start - 1 } else { unit.start };
        current.push((start, unit.end));
        used += space + unit.width;
    }
    if !current.is_empty() || lines.is_empty() {
        lines.push(line(&signs, &current, text, base));
    }
    lines
}

/// The first `most` of the lines, the last of them ending in an ellipsis when more follow. For cells that are short unless
/// something is wrong; text that matters is never cut.
pub fn at_most(mut lines: Vec<Line>, most: usize) -> Vec<Line> {
    if lines.len() > most {
        lines.truncate(most.max(1));
        if let Some(line) = lines.last_mut()
            && let Some(piece) = line.pieces.last_mut()
        {
            let kept = crate::page::draw::fitted(&format!("{}……", piece.text), piece.kind, piece.width);
            line.width -= piece.width;
            piece.width = piece.kind.width(&kept);
            piece.text = kept;
            line.width += piece.width;
        }
    }
    lines
}

/// The smallest width in points into which `text` can be broken between words, and its width on one line.
pub fn extent(text: &Text, base: Type) -> (f32, f32) {
    let lines = wrap(text, base, f32::MAX / 4.0);
    let full = lines.first().map_or(0.0, |line| line.width);
    let mut least: f32 = 0.0;
    let mut signs = Vec::new();
    for (run, words) in text.runs.iter().enumerate() {
        let style = style_in(base.style, words.style);
        for c in fonts::clean(&words.text).chars() {
            signs.push(Sign { c, run, width: fonts::char_width(c, style, base.size) });
        }
    }
    for unit in units(&signs, f32::MAX / 4.0) {
        least = least.max(unit.width);
    }
    (least, full)
}

/// Cuts the signs into what stays together. Whatever is wider than `room` is cut between signs.
fn units(signs: &[Sign], room: f32) -> Vec<Unit> {
    let mut units: Vec<Unit> = Vec::new();
    let mut open: Option<Unit> = None;
    let mut spaced = false;
    for (i, sign) in signs.iter().enumerate() {
        if sign.c == ' ' || sign.c == '\u{2009}' {
            // A figure stays with the short word after it, as long as the two fit in a line.
            if let Some(unit) = open.as_mut()
                && let Some(tied) = tied_width(signs, i)
                && unit.width + tied <= room
            {
                unit.end = i + 1;
                unit.width += sign.width;
                continue;
            }
            if let Some(unit) = open.take() {
                units.push(unit);
            }
            spaced = true;
            continue;
        }
        let breaks_before = open.as_ref().is_some_and(|unit| unit.width + sign.width > room);
        if breaks_before && let Some(unit) = open.take() {
            units.push(unit);
            spaced = false;
        }
        let unit = open.get_or_insert(Unit { start: i, end: i, width: 0.0, spaced });
        unit.end = i + 1;
        unit.width += sign.width;
        spaced = false;
        let may_break = breaks_after(signs, i);
        if may_break && let Some(unit) = open.take() {
            units.push(unit);
        }
    }
    if let Some(unit) = open {
        units.push(unit);
    }
    units
}

/// The width of the space at `i` and of the word after it, if that word is short enough for a unit and a figure stands
/// before the space.
fn tied_width(signs: &[Sign], i: usize) -> Option<f32> {
    let before = i.checked_sub(1).and_then(|j| signs.get(j))?;
    if !before.c.is_ascii_digit() {
        return None;
    }
    let word: Vec<&Sign> = signs.get(i + 1..)?.iter().take_while(|sign| sign.c != ' ').take(9).collect();
    let first = word.first()?;
    let is_unit = first.c.is_alphabetic() || matches!(first.c, '%' | '°');
    (is_unit && word.len() <= 8).then(|| {
        let space = signs.get(i).map_or(0.0, |sign| sign.width);
        space + word.iter().map(|sign| sign.width).sum::<f32>()
    })
}

/// Whether a line may end after a hyphen, a slash or a low line: inside a long word or path, never inside `mg/L`.
fn breaks_after(signs: &[Sign], i: usize) -> bool {
    if !signs.get(i).is_some_and(|sign| matches!(sign.c, '-' | '/' | '_' | '\u{2010}')) {
        return false;
    }
    let long = |mut places: Box<dyn Iterator<Item = usize>>| {
        let mut count = 0;
        while let Some(sign) = places.next().and_then(|j| signs.get(j)) {
            if !sign.c.is_alphanumeric() {
                break;
            }
            count += 1;
            if count == 3 {
                return true;
            }
        }
        false
    };
    long(Box::new((0..i).rev())) && long(Box::new(i + 1..signs.len()))
}

fn line(signs: &[Sign], spans: &[(usize, usize)], text: &Text, base: Type) -> Line {
    let mut line = Line::default();
    let mut last_run = usize::MAX;
    for sign in spans.iter().flat_map(|(start, end)| signs.get(*start..*end).unwrap_or(&[])) {
        if sign.run != last_run {
            let (style, link) = text
                .runs
                .get(sign.run)
                .map_or((base.style, None), |run| (style_in(base.style, run.style), run.link.clone()));
            line.pieces.push(Piece { text: String::new(), kind: base.style(style), link, width: 0.0 });
            last_run = sign.run;
        }
        if let Some(piece) = line.pieces.last_mut() {
            piece.text.push(sign.c);
            piece.width += sign.width;
        }
        line.width += sign.width;
    }
    line
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_line_is_wider_than_its_room_even_with_one_endless_word() {
        let text = Text::from(format!("a short start {} and an end", "W".repeat(200)));
        let lines = wrap(&text, Type::plain(9.5), 100.0);
        assert!(lines.iter().all(|line| line.width <= 100.01));
        let back: String = lines.iter().flat_map(|line| line.pieces.iter().map(|piece| piece.text.clone())).collect();
        assert_eq!(back.replace(' ', "").len(), text.words().replace(' ', "").len());
    }

    #[test]
    fn a_figure_is_never_parted_from_its_unit() {
        let text = Text::from("washed with 16\u{202f}000\u{a0}gal each");
        for room in [60.0, 80.0, 100.0, 120.0] {
            for line in wrap(&text, Type::plain(9.5), room) {
                let words: String = line.pieces.iter().map(|p| p.text.as_str()).collect();
                assert_eq!(words.contains("16\u{202f}000"), words.contains("\u{a0}gal"), "{words}");
            }
        }
    }
}

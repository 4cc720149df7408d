//! Breaking text into lines: at spaces, after hyphens and slashes, at soft hyphens, and inside a word only when it is wider than
//! the line: then at a joint (a hyphen or slash, a capital within the word, the last part of a compound), else with a hyphen
//! before a consonant that a vowel follows, as most languages part their words, and never with one letter alone.

use crate::page::document::{Style, Text, figures};
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
    /// The width of a hyphen in its cut.
    hyphen: f32,
    /// Whether a soft hyphen is typed after it: the word may part there.
    soft: bool,
}

struct Unit {
    start: usize,
    end: usize,
    width: f32,
    spaced: bool,
    /// Width of the hyphen that a line takes which ends here; none where no word is parted.
    hyphen: f32,
}

fn style_in(base: Style, run: Style) -> Style {
    match run {
        Style::Plain => base,
        other => other,
    }
}

const SOFT_HYPHEN: char = '\u{ad}';

fn signs_of(text: &Text, base: Type) -> Vec<Sign> {
    let mut signs: Vec<Sign> = Vec::new();
    for (run, words) in text.runs.iter().enumerate() {
        let style = style_in(base.style, words.style);
        let hyphen = fonts::char_width('-', style, base.size);
        for (number, part) in words.text.split(SOFT_HYPHEN).enumerate() {
            if number > 0
                && let Some(sign) = signs.last_mut()
            {
                sign.soft = true;
            }
            for c in fonts::clean(part).chars() {
                signs.push(Sign { c, run, width: fonts::char_width(c, style, base.size), hyphen, soft: false });
            }
        }
    }
    signs
}

/// Breaks `text` into lines no wider than `room` points. Plain stretches take the cut of `base`. There is at least one
/// line, possibly empty.
pub fn wrap(text: &Text, base: Type, room: f32) -> Vec<Line> {
    let signs = signs_of(text, base);
    let units = units(&signs, room.max(base.size));
    let mut lines = Vec::new();
    let mut current: Vec<(usize, usize)> = Vec::new();
    let mut used = 0.0;
    let mut hyphen = 0.0;
    for unit in &units {
        let space = if unit.spaced && !current.is_empty() {
            signs.get(unit.start.saturating_sub(1)).map_or(0.0, |sign| sign.width)
        } else {
            0.0
        };
        if !current.is_empty() && used + space + unit.width + unit.hyphen > room + 0.01 {
            let mut full = line(&signs, &current, text, base);
            if hyphen > 0.0
                && let Some(piece) = full.pieces.last_mut()
            {
                piece.text.push('-');
                piece.width += hyphen;
                full.width += hyphen;
            }
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
            hyphen = unit.hyphen;
            continue;
        }
        let start = if space > 0.0 { unit.start - 1 } else { unit.start };
        current.push((start, unit.end));
        used += space + unit.width;
        hyphen = unit.hyphen;
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
    for unit in units(&signs_of(text, base), f32::MAX / 4.0) {
        least = least.max(unit.width + unit.hyphen);
    }
    (least, full)
}

/// The widest figure in groups of three in `text`, with what is tied to it: no column is narrower.
pub fn widest_figure(text: &Text, base: Type) -> f32 {
    let signs = signs_of(text, base);
    let grouped =
        |unit: &&Unit| signs.get(unit.start..unit.end).is_some_and(|of| of.iter().any(|sign| sign.c == figures::THIN));
    units(&signs, f32::MAX / 4.0).iter().filter(grouped).fold(0.0, |most, unit| most.max(unit.width))
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
        if breaks_before && let Some(mut unit) = open.take() {
            let mut rest = Unit { start: i, end: i, width: 0.0, spaced: false, hyphen: 0.0 };
            if let Some((at, hyphen)) = parted_at(signs, &unit, i, room) {
                rest.start = at;
                rest.end = i;
                rest.width = signs.get(at..i).unwrap_or(&[]).iter().map(|sign| sign.width).sum();
                unit.end = at;
                unit.width -= rest.width;
                unit.hyphen = hyphen;
            }
            units.push(unit);
            open = Some(rest);
        }
        let unit = open.get_or_insert(Unit { start: i, end: i, width: 0.0, spaced, hyphen: 0.0 });
        unit.end = i + 1;
        unit.width += sign.width;
        spaced = false;
        let soft = sign.soft && signs.get(i + 1).is_some_and(|next| next.c != ' ');
        if (soft || breaks_after(signs, i))
            && let Some(mut unit) = open.take()
        {
            unit.hyphen = if soft { sign.hyphen } else { 0.0 };
            units.push(unit);
        }
    }
    if let Some(unit) = open {
        units.push(unit);
    }
    units
}

/// Where a word that is wider than a line is parted, at or before `i`, and the width of the hyphen there; none where it is
/// no word but a path, a digest or a figure.
fn parted_at(signs: &[Sign], unit: &Unit, i: usize, room: f32) -> Option<(usize, f32)> {
    let vowel =
        |at: usize| signs.get(at).is_some_and(|sign| VOWELS.contains(sign.c.to_lowercase().next().unwrap_or(sign.c)));
    let is_end = |sign: &&Sign| sign.c == ' ' || sign.c == '-';
    let first = signs.get(..i)?.iter().rposition(|sign| is_end(&sign)).map_or(0, |at| at + 1);
    let end = signs.get(i..)?.iter().position(|sign| is_end(&sign)).map_or(signs.len(), |at| i + at);
    if !signs.get(first..end)?.iter().all(|sign| sign.c.is_alphabetic()) {
        // What is tied together comes apart at the tie before a figure does.
        let tie = signs.get(unit.start..i)?.iter().rposition(|sign| sign.c == figures::TIE);
        // A file's name comes apart before its ending, a path and a list of names at their joints.
        let letter = |at: usize| signs.get(at).is_some_and(|sign| sign.c.is_alphabetic());
        let is_joint = |at: &usize| {
            let sign = signs.get(*at).map_or(' ', |sign| sign.c);
            let two = *at > unit.start + 1;
            (sign == '.' && *at > unit.start && letter(at - 1) && letter(at + 1))
                || two && matches!(sign, '/' | '_' | '\\' | ',' | ';' | '+' | '&')
        };
        let at = tie.map(|tie| unit.start + tie).or_else(|| (unit.start..i).rev().find(is_joint));
        // Else anywhere, and no sign alone on the next line.
        let one_left = i + 1 == end && i > unit.start + 2;
        return at.map(|at| (at + 1, 0.0)).or_else(|| one_left.then_some((i - 1, 0.0)));
    }
    let hyphen = signs.get(i)?.hyphen;
    let from = unit.start.max(first) + 3;
    let width = |at: usize| unit.width - signs.get(at..i).unwrap_or(&[]).iter().map(|sign| sign.width).sum::<f32>();
    let fits = |at: &usize| width(*at) + hyphen <= room && end - at >= 3;
    let mut places = (from..=i).rev().filter(fits);
    // A capital within a word begins a part of it, and so does the last part of many a compound.
    let lower = |at: usize| signs.get(at).is_some_and(|sign| sign.c.is_lowercase());
    let joint = places.clone().find(|at| {
        let capital = signs.get(*at).is_some_and(|sign| sign.c.is_uppercase()) && lower(at - 1);
        capital || lower(at - 1) && ends_in_part(signs, *at, end)
    });
    if let Some(at) = joint.filter(|at| width(*at) >= LEAST_USED * room) {
        return Some((at, hyphen));
    }
    let good = places.clone().take(8).find(|at| {
        let begins = vowel(at + 1) || (is_pair(signs, *at, BEGIN_TOGETHER) && vowel(at + 2));
        let parts = is_pair(signs, at - 1, ONE_SOUND) || is_pair(signs, at - 1, BEGIN_TOGETHER);
        !vowel(*at) && begins && !parts
    });
    good.or_else(|| places.next()).map(|at| (at, hyphen))
}

/// The least share of a line that a joint in a word leaves filled; else the word parts between letters, further on.
const LEAST_USED: f32 = 0.3;

/// Last parts of names of places in compounds, in the languages that write them in one word.
const PARTS: &[&str] = &[
    "anlage",
    "anlagen",
    "becken",
    "behälter",
    "brunnen",
    "entwässerung",
    "feld",
    "filter",
    "filteranlage",
    "fläche",
    "flächen",
    "gehäuse",
    "graben",
    "halle",
    "kanal",
    "leitung",
    "pumpe",
    "rinne",
    "schacht",
    "schule",
    "speicher",
    "stellfläche",
    "teich",
    "wasser",
    "bekken",
    "leiding",
    "vijver",
    "damm",
    "dammen",
    "anlegg",
];

/// Whether the word from `at` to `end` is made up of those parts.
fn ends_in_part(signs: &[Sign], at: usize, end: usize) -> bool {
    let Some(rest) = signs.get(at..end) else { return false };
    let rest: String = rest.iter().flat_map(|sign| sign.c.to_lowercase()).collect();
    is_of_parts(&rest)
}

fn is_of_parts(word: &str) -> bool {
    PARTS.iter().filter_map(|part| word.strip_prefix(part)).any(|rest| rest.is_empty() || is_of_parts(rest))
}

/// Whether the letters at `at` and after it are one of these pairs.
fn is_pair(signs: &[Sign], at: usize, pairs: &[(char, char)]) -> bool {
    let letter = |at: usize| signs.get(at).and_then(|sign| sign.c.to_lowercase().next());
    letter(at).zip(letter(at + 1)).is_some_and(|pair| pairs.contains(&pair))
}

/// Letters that begin a syllable together: `stell-fläche`, and never `stellf-läche`.
const BEGIN_TOGETHER: &[(char, char)] = &[
    ('f', 'l'),
    ('f', 'r'),
    ('b', 'l'),
    ('b', 'r'),
    ('p', 'l'),
    ('p', 'r'),
    ('g', 'l'),
    ('g', 'r'),
    ('k', 'l'),
    ('k', 'r'),
    ('d', 'r'),
    ('t', 'r'),
];

/// Letters that stand for one sound together: `flä-chen`, and never `fläc-hen`.
const ONE_SOUND: &[(char, char)] = &[
    ('c', 'h'),
    ('c', 'k'),
    ('s', 'h'),
    ('p', 'h'),
    ('t', 'h'),
    ('g', 'h'),
    ('q', 'u'),
    ('s', 'z'),
    ('c', 'z'),
    ('r', 'z'),
    ('d', 'z'),
];

/// Vowels of the scripts that the fonts have.
const VOWELS: &str = "aeiouyàáâãäåæèéêëìíîïòóôõöøœùúûüýÿąęěőűůαεηιουωάέήίόύώаеёиіїоуыэюяє";

/// The width of the space at `i` and of the word after it, if that word is short enough for a unit and a figure stands
/// before the space.
fn tied_width(signs: &[Sign], i: usize) -> Option<f32> {
    let before = i.checked_sub(1).and_then(|j| signs.get(j))?;
    if !before.c.is_ascii_digit() {
        return year_width(signs, i);
    }
    let word: Vec<&Sign> = signs.get(i + 1..)?.iter().take_while(|sign| sign.c != ' ').take(9).collect();
    let first = word.first()?;
    let is_unit = first.c.is_alphabetic() || matches!(first.c, '%' | '°');
    (is_unit && word.len() <= 8).then(|| {
        let space = signs.get(i).map_or(0.0, |sign| sign.width);
        space + word.iter().map(|sign| sign.width).sum::<f32>()
    })
}

/// The width of the space at `i` and of the year after it, where a day and its month stand before it: a date is one thing.
fn year_width(signs: &[Sign], i: usize) -> Option<f32> {
    let month: String = signs.get(i.checked_sub(3)?..i)?.iter().map(|sign| sign.c).collect();
    let of_a_day = i.checked_sub(5).and_then(|j| signs.get(j)).is_some_and(|sign| sign.c.is_ascii_digit());
    let year = signs.get(i + 1..i + 5)?;
    let ends = !signs.get(i + 5).is_some_and(|sign| sign.c.is_alphanumeric());
    let is_date = MONTHS.contains(&month.as_str()) && of_a_day && ends && year.iter().all(|it| it.c.is_ascii_digit());
    is_date.then(|| signs.get(i).map_or(0.0, |sign| sign.width) + year.iter().map(|it| it.width).sum::<f32>())
}

const MONTHS: [&str; 12] = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

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
        let back = back.replace('-', "");
        assert_eq!(back.replace(' ', "").len(), text.words().replace(' ', "").len());
    }

    #[test]
    fn a_word_wider_than_its_line_is_parted_with_a_hyphen_and_a_path_is_not() {
        let words = |text: &str, room| -> Vec<String> {
            wrap(&Text::from(text), Type::plain(8.5), room)
                .iter()
                .map(|line| line.pieces.iter().map(|piece| piece.text.as_str()).collect())
                .collect()
        };
        assert_eq!(words("Regenwasserrückhaltebecken", 80.0), ["Regenwasserrück-", "haltebecken"]);
        assert_eq!(words("Containerstellflächenentwässerung", 86.0), ["Containerstell-", "flächen-", "entwässerung"]);
        assert_eq!(words("Rückspülwasserbecken", 84.0), ["Rückspülwasser-", "becken"]);
        assert_eq!(words("RainwaterStorage", 60.0), ["Rainwater-", "Storage"]);
        assert_eq!(words("Regen\u{ad}wasser\u{ad}speicher", 66.0), ["Regenwasser-", "speicher"]);
        assert_eq!(words("Regen\u{ad}wasser", 90.0), ["Regenwasser"]);
        assert_eq!(words("Containerstellfläche", 78.0), ["Containerstell-", "fläche"]);
        assert_eq!(words("Sandfilter", 80.0), ["Sandfilter"]);
        assert_eq!(words("clipboard.xlsx.map.yaml", 80.0), ["clipboard.xlsx.map.", "yaml"]);
        // No letter stands alone, however narrow the line.
        for word in ["Überflutungsfläche", "A1B2C3D4E5F6G7", "Schnellsandfilteranlage"] {
            for room in [30.0, 34.0, 38.0, 42.0, 46.0, 50.0, 54.0, 58.0] {
                let parted = words(word, room);
                let letters = |line: &String| line.chars().filter(|c| c.is_alphanumeric()).count();
                assert!(parted.iter().all(|line| letters(line) > 1), "{room}: {parted:?}");
                assert_eq!(parted.concat().replace('-', ""), word);
            }
        }
        let path = words("b3f1d0c4aa97e5d1b3f1d0c4aa97e5d1", 80.0);
        assert!(path.len() > 1 && path.iter().all(|line| !line.contains('-')), "{path:?}");
    }

    #[test]
    fn a_range_too_wide_for_its_column_is_parted_between_its_figures_and_never_in_one() {
        let text = Text::from("(\u{2212}29\u{202f}900\u{a0}to\u{a0}\u{2212}1\u{202f}300)");
        for room in [34.0, 38.0, 44.0, 50.0] {
            let lines: Vec<String> = wrap(&text, Type::plain(8.5), room)
                .iter()
                .map(|line| line.pieces.iter().map(|piece| piece.text.as_str()).collect())
                .collect();
            for figure in ["29\u{202f}900", "1\u{202f}300"] {
                assert!(lines.iter().any(|line| line.contains(figure)), "{room}: {lines:?}");
            }
        }
    }

    #[test]
    fn a_date_stands_on_one_line() {
        let text = Text::from("computed of 29 Jan 2023, and 30 Jan 2023 to 2 Feb 2023 in all");
        for room in [50.0, 60.0, 70.0, 80.0, 90.0, 100.0] {
            let lines: Vec<String> = wrap(&text, Type::plain(8.5), room)
                .iter()
                .map(|line| line.pieces.iter().map(|piece| piece.text.as_str()).collect())
                .collect();
            for date in ["29 Jan 2023", "30 Jan 2023", "2 Feb 2023"] {
                assert!(lines.iter().any(|line| line.contains(date)), "{room}: {lines:?}");
            }
        }
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

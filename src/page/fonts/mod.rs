//! The report's one typeface: bytes to embed, widths to measure with, and text made safe for it.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use crate::page::document::Style;

/// Noto Sans regular, a subset.
pub const REGULAR: &[u8] = include_bytes!("noto-sans-regular.ttf");
/// Noto Sans bold, a subset.
pub const BOLD: &[u8] = include_bytes!("noto-sans-bold.ttf");
/// Noto Sans italic, a subset.
pub const ITALIC: &[u8] = include_bytes!("noto-sans-italic.ttf");

/// What stands for a character the fonts lack.
pub const UNKNOWN: char = '\u{fffd}';

/// The font file of a cut.
pub fn bytes(style: Style) -> &'static [u8] {
    match style {
        Style::Plain => REGULAR,
        Style::Bold => BOLD,
        Style::Italic => ITALIC,
    }
}

/// Advances of one font, in ems.
struct Advances {
    /// Up to the end of Latin Extended-A, by code; most text is here.
    near: Vec<Option<f32>>,
    by_char: BTreeMap<char, f32>,
    unknown: f32,
}

impl Advances {
    fn of(&self, c: char) -> Option<f32> {
        match self.near.get(c as usize) {
            Some(found) => *found,
            None => self.by_char.get(&c).copied(),
        }
    }
}

fn read(bytes: &[u8]) -> Advances {
    let mut by_char = BTreeMap::new();
    if let Ok(face) = ttf_parser::Face::parse(bytes, 0) {
        let em = f32::from(face.units_per_em().max(1));
        if let Some(table) = face.tables().cmap {
            for subtable in table.subtables {
                if !subtable.is_unicode() {
                    continue;
                }
                subtable.codepoints(|code| {
                    if let Some(c) = char::from_u32(code)
                        && let Some(glyph) = subtable.glyph_index(code)
                    {
                        let advance = face.glyph_hor_advance(glyph).unwrap_or(0);
                        by_char.insert(c, f32::from(advance) / em);
                    }
                });
            }
        }
    }
    let unknown = by_char.get(&UNKNOWN).copied().unwrap_or(1.0);
    let near = (0..0x180).map(|code| char::from_u32(code).and_then(|c| by_char.get(&c).copied())).collect();
    Advances { near, by_char, unknown }
}

fn advances(style: Style) -> &'static Advances {
    static PLAIN: OnceLock<Advances> = OnceLock::new();
    static HEAVY: OnceLock<Advances> = OnceLock::new();
    static SLOPED: OnceLock<Advances> = OnceLock::new();
    match style {
        Style::Plain => PLAIN.get_or_init(|| read(REGULAR)),
        Style::Bold => HEAVY.get_or_init(|| read(BOLD)),
        Style::Italic => SLOPED.get_or_init(|| read(ITALIC)),
    }
}

/// Whether every cut has this character.
pub fn has(c: char) -> bool {
    advances(Style::Plain).of(c).is_some()
}

/// Whether a character is to be seen and no cut has it.
pub fn lacks(c: char) -> bool {
    !has(c) && clean(c.encode_utf8(&mut [0; 4])).starts_with(UNKNOWN)
}

/// The width of a character at `size` points, in points.
pub fn char_width(c: char, style: Style, size: f32) -> f32 {
    let advances = advances(style);
    advances.of(c).unwrap_or(advances.unknown) * size
}

/// The width of `text` at `size` points, in points. The text is taken as [`clean`] leaves it.
pub fn width(text: &str, style: Style, size: f32) -> f32 {
    text.chars().map(|c| char_width(c, style, size)).sum()
}

/// Text that the fonts can show: line ends and tabs become spaces, controls and invisible marks go, characters the fonts
/// lack become U+FFFD.
pub fn clean(text: &str) -> String {
    text.chars()
        .filter_map(|c| match c {
            '\n' | '\r' | '\t' | '\u{2028}' | '\u{2029}' => Some(' '),
            c if c.is_control() => None,
            // Soft hyphen, joiners, direction marks, variation selectors, byte order mark, tags: nothing to see.
            '\u{ad}'
            | '\u{200b}'..='\u{200f}'
            | '\u{202a}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}'
            | '\u{fe00}'..='\u{fe0f}'
            | '\u{feff}'
            | '\u{e0000}'..='\u{e01ef}' => None,
            c if has(c) => Some(c),
            _ => Some(UNKNOWN),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_cut_has_the_signs_that_figures_need() {
        for style in [Style::Plain, Style::Bold, Style::Italic] {
            for c in "−×÷±≤≥µ²³⁰⁴⁹⁻√Σ°→′“”‘’–—•ЖяёҐΆώ\u{202f}\u{a0}\u{fffd}äßøŁż".chars()
            {
                assert!(advances(style).by_char.contains_key(&c), "{style:?} lacks {c:?}");
            }
        }
    }

    fn lacking(text: &str) -> Vec<char> {
        let shown =
            |c: char| [Style::Plain, Style::Bold, Style::Italic].iter().all(|style| advances(*style).of(c).is_some());
        text.chars().filter(|c| !c.is_control() && !shown(*c)).collect()
    }

    #[test]
    fn a_method_written_with_a_sign_the_fonts_lack_would_print_a_broken_equation() {
        for method in crate::science::all() {
            let mut texts = vec![method.name, method.equation, method.valid_range, method.outside, method.source];
            for (symbol, meaning, unit) in method.symbols {
                texts.extend([*symbol, *meaning, *unit]);
            }
            for text in texts {
                assert_eq!(lacking(text), [], "`{}`: {text}", method.id);
            }
        }
    }

    /// What the project itself says is in its source; a user's own words may hold any sign, and are marked.
    #[test]
    fn a_sentence_written_with_a_sign_the_fonts_lack_would_print_a_mark_in_its_place() {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
        let (mut folders, mut files) = (vec![root], 0);
        while let Some(folder) = folders.pop() {
            for entry in std::fs::read_dir(folder).unwrap() {
                let path = entry.unwrap().path();
                let name = path.file_name().unwrap().to_string_lossy().into_owned();
                if path.is_dir() {
                    if name != "tests" {
                        folders.push(path);
                    }
                    continue;
                }
                if !name.ends_with(".rs") || name.contains("tests") {
                    continue;
                }
                files += 1;
                let source = std::fs::read_to_string(&path).unwrap();
                let said = source.split("#[cfg(test)]\nmod tests {").next().unwrap();
                for (number, line) in said.lines().enumerate() {
                    if !line.trim_start().starts_with("//") {
                        assert_eq!(lacking(line), [], "{}:{}", path.display(), number + 1);
                    }
                }
            }
        }
        assert!(files > 200, "only {files} files were read");
    }

    #[test]
    fn figures_are_tabular_so_columns_line_up() {
        for style in [Style::Plain, Style::Bold, Style::Italic] {
            let zero = char_width('0', style, 1.0);
            for c in "123456789−".chars() {
                assert!((char_width(c, style, 1.0) - zero).abs() < 1e-6, "{c} in {style:?}");
            }
        }
    }

    #[test]
    fn what_the_fonts_lack_is_marked_and_controls_go() {
        assert_eq!(clean("a\u{7}b\nc\u{200d}d"), "ab cd");
        assert_eq!(clean("🌱 水 مرحبا").chars().filter(|c| *c == UNKNOWN).count(), 7);
    }
}

//! The palette as data. Colour never stands alone: each series has a line pattern and a hatch as well.

use crate::page::document::Hue;
use crate::page::draw::Hatch;

/// A colour: red, green, blue, 0 to 255 each.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Colour(pub u8, pub u8, pub u8);

/// Text, rules, outcomes, diagram.
pub const INK: Colour = Colour(0x1B, 0x1D, 0x1C);
/// Second text.
pub const SLATE: Colour = Colour(0x5A, 0x61, 0x5F);
/// Marks and axes, not text.
pub const STONE: Colour = Colour(0x85, 0x8A, 0x88);
/// Hairlines that carry nothing.
pub const MIST: Colour = Colour(0xD9, 0xDC, 0xDA);
/// Rare ground.
pub const TINT: Colour = Colour(0xF4, 0xF5, 0xF3);
/// Paper.
pub const WHITE: Colour = Colour(0xFF, 0xFF, 0xFF);

/// A named colour with the contrast it must have on white.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Swatch {
    /// Its name.
    pub name: &'static str,
    /// The colour.
    pub colour: Colour,
    /// WCAG 2 contrast on white, as designed.
    pub on_white: f64,
    /// Whether words may be set in it (contrast 4.5 or more).
    pub for_text: bool,
}

const fn swatch(name: &'static str, colour: Colour, on_white: f64, for_text: bool) -> Swatch {
    Swatch { name, colour, on_white, for_text }
}

const LOAM: Colour = Colour(0x24, 0x1A, 0x15);
const DAMSON: Colour = Colour(0x52, 0x2A, 0x66);
const CLAY: Colour = Colour(0x8E, 0x45, 0x20);
const POOL: Colour = Colour(0x1A, 0x78, 0x94);
const STRAW: Colour = Colour(0xA0, 0x8A, 0x3C);

/// Every colour of the report.
pub const PALETTE: [Swatch; 10] = [
    swatch("ink", INK, 16.95, true),
    swatch("slate", SLATE, 6.34, true),
    swatch("stone", STONE, 3.51, false),
    swatch("mist", MIST, 1.38, false),
    swatch("tint", TINT, 1.09, false),
    swatch("loam", LOAM, 17.02, true),
    swatch("damson", DAMSON, 11.16, true),
    swatch("clay", CLAY, 6.95, true),
    swatch("pool", POOL, 5.05, true),
    swatch("straw", STRAW, 3.39, false),
];

/// The colour of a series.
pub fn hue(hue: Hue) -> Colour {
    match hue {
        Hue::Loam => LOAM,
        Hue::Damson => DAMSON,
        Hue::Clay => CLAY,
        Hue::Pool => POOL,
        Hue::Straw => STRAW,
    }
}

/// The line pattern of a series.
pub fn hue_dash(hue: Hue) -> &'static [f32] {
    match hue {
        Hue::Loam => &[],
        Hue::Damson => &[7.0, 2.5],
        Hue::Clay => &[2.0, 2.0],
        Hue::Pool => &[9.0, 2.0, 2.0, 2.0],
        Hue::Straw => &[4.0, 2.0, 1.0, 2.0, 1.0, 2.0],
    }
}

/// The line width of a series in points.
pub fn hue_width(hue: Hue) -> f32 {
    match hue {
        Hue::Straw => 1.8,
        _ => 1.4,
    }
}

/// The hatch of a series.
pub fn hue_hatch(hue: Hue) -> Hatch {
    match hue {
        Hue::Loam => Hatch::Solid,
        Hue::Damson => Hatch::Diagonal,
        Hue::Clay => Hatch::Level,
        Hue::Pool => Hatch::Upright,
        Hue::Straw => Hatch::Dots,
    }
}

/// Contrast of two colours by the WCAG 2 formula (W3C, Web Content Accessibility Guidelines 2.1, "contrast ratio"; from
/// memory, not checked against the text).
pub fn contrast(a: Colour, b: Colour) -> f64 {
    let (a, b) = (luminance(a), luminance(b));
    let (light, dark) = if a > b { (a, b) } else { (b, a) };
    (light + 0.05) / (dark + 0.05)
}

fn luminance(colour: Colour) -> f64 {
    let linear = |v: u8| {
        let v = f64::from(v) / 255.0;
        if v <= 0.040_45 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
    };
    0.2126 * linear(colour.0) + 0.7152 * linear(colour.1) + 0.0722 * linear(colour.2)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_colour_has_the_contrast_it_was_chosen_for() {
        for swatch in PALETTE {
            let found = contrast(swatch.colour, WHITE);
            assert!((found - swatch.on_white).abs() < 0.01, "{}: {found}, not {}", swatch.name, swatch.on_white);
            assert_eq!(swatch.for_text, found >= 4.5, "{}", swatch.name);
        }
    }

    #[test]
    fn black_on_white_is_twenty_one() {
        assert!((contrast(Colour(0, 0, 0), WHITE) - 21.0).abs() < 1e-9);
    }

    #[test]
    fn no_two_series_share_a_pattern_so_a_copy_without_colour_tells_them_apart() {
        for (i, a) in Hue::ALL.into_iter().enumerate() {
            for b in Hue::ALL.into_iter().skip(i + 1) {
                assert_ne!(hue_dash(a), hue_dash(b));
                assert_ne!(hue_hatch(a), hue_hatch(b));
            }
        }
    }
}

//! What stands in a cell of a log: a number, a limit of detection, a trace, "same", a word or nothing.

use super::units::named as unit_named;
use super::{Decimal, Dimension, Misread};

/// Which mark stands before the decimals.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum DecimalMark {
    /// `1,204.5`: groups by a comma or a space.
    #[default]
    Point,
    /// `1.204,5`: groups by a point or a space.
    Comma,
}

/// What stands before a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum CellSign {
    /// Nothing.
    #[default]
    None,
    /// `<`.
    Below,
    /// `>`.
    Above,
    /// `~`, `ca`, `est`, `E`.
    Estimated,
}

/// The meaning of a cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cell {
    /// Nothing was written. It is not zero.
    Blank,
    /// A number, with what stands before it and behind it.
    Number {
        /// The number.
        value: Decimal,
        /// What stands before it.
        sign: CellSign,
        /// What stands behind it: a unit, as written; often empty.
        behind: String,
    },
    /// `T`, `trace`: too little to measure.
    Trace,
    /// `same`, `ditto`, `"`: what stood there before.
    Same,
    /// `lost`, `void`, `n/a`, `-`: somebody says that there is no value.
    Missing(String),
    /// A word, lower case, trimmed: `off`, `dry`, `flowing`.
    Word(String),
}

/// The number that is meant where a letter stands among its figures (`71388O4`), from its value and what stands behind it.
pub(crate) fn letter_among_figures(value: &str, behind: &str) -> Option<String> {
    let figures = behind.trim_start_matches(['O', 'o', 'l', 'I']);
    let is_one = figures.len() < behind.len()
        && !figures.is_empty()
        && figures.chars().all(|c| c.is_ascii_digit() || matches!(c, 'O' | 'o' | 'l' | 'I'));
    is_one.then(|| format!("{value}{}", behind.replace(['O', 'o'], "0").replace(['l', 'I'], "1")))
}

/// Reads a cell. A number that could mean two things is refused with what to write; words are never refused here.
pub fn cell(text: &str, mark: DecimalMark) -> Result<Cell, Misread> {
    let text = text.trim_matches(is_blank);
    if text.is_empty() {
        return Ok(Cell::Blank);
    }
    let lower = text.to_lowercase();
    match lower.as_str() {
        "t" | "tr" | "trace" => return Ok(Cell::Trace),
        "same" | "ditto" | "do" | "do." | "\"" | "\u{201d}" | "\u{201e}" | "\u{201c}" | "\u{3003}" | "''" | "-\"-"
        | "as above" | "\u{2193}" | "|" => {
            return Ok(Cell::Same);
        }
        "lost" | "void" | "n/a" | "na" | "-" | "\u{2013}" | "\u{2014}" | "--" | "?" | "broken" | "no sample"
        | "not read" | "not taken" | "missed" => return Ok(Cell::Missing(lower)),
        _ if says_unchanged(&lower) => return Ok(Cell::Same),
        _ => {}
    }
    let (sign, rest) = not_detected(text).map_or_else(|| sign_of(text), |limit| (CellSign::Below, limit));
    let begins_number = rest.starts_with(|c: char| c.is_ascii_digit())
        || (rest.starts_with(['-', '\u{2212}', '.', ',']) && rest.chars().nth(1).is_some_and(|c| c.is_ascii_digit()));
    if !begins_number {
        return if sign == CellSign::None || sign == CellSign::Estimated {
            Ok(Cell::Word(lower))
        } else {
            Err(Misread::new(format!("`{text}` has a sign and no number behind it")).hint("write it like <5"))
        };
    }
    if let Some((value, behind)) = fraction(rest) {
        return Ok(Cell::Number { value, sign, behind: behind.to_string() });
    }
    let end = number_end(rest);
    let (digits, behind) = (rest.get(..end).unwrap_or_default(), rest.get(end..).unwrap_or_default());
    let behind = behind.trim_matches(is_blank);
    if behind.starts_with('/') {
        return Err(Misread::new(format!("`{text}` could be a date, a fraction or two numbers"))
            .hint("write one number in the cell"));
    }
    Ok(Cell::Number { value: grouped(digits.trim_matches(is_blank), mark)?, sign, behind: behind.to_string() })
}

/// The limit of `ND (50)`, `nd <50`, `not detected (50 ug/L)`.
fn not_detected(text: &str) -> Option<&str> {
    let rest = ["not detected", "nd", "bdl"].into_iter().find_map(|word| {
        let head = text.get(..word.len())?;
        text.get(word.len()..).filter(|_| head.eq_ignore_ascii_case(word))
    })?;
    let rest = rest.trim_matches(is_blank);
    let limit = rest.strip_prefix('(').and_then(|rest| rest.strip_suffix(')')).or_else(|| {
        // `ND 50` alone could be a number of the slip.
        rest.starts_with('<').then_some(rest)
    })?;
    let limit = limit.trim_matches(is_blank).trim_start_matches('<').trim_matches(is_blank);
    limit.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '.' | ',')).then_some(limit)
}

/// Whether a cell says that a dial shows what it showed before: `unchanged`, `off, no change`, `pump off - dial the same`.
fn says_unchanged(lower: &str) -> bool {
    const BESIDE: [&str; 10] = ["off", "pump", "dial", "meter", "is", "the", "still", "has", "reading", "well"];
    let words: Vec<&str> =
        lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty() && !BESIDE.contains(word)).collect();
    matches!(words.as_slice(), ["unchanged" | "same" | "ditto"] | ["no", "change"] | ["not" | "never", "moved"])
}

/// `2 1/4`, `2-1/4 ft`, `3/4 in`: a number with a fraction, and what stands behind it. A fraction alone could be a date;
/// one that is no decimal is left to be refused.
fn fraction(text: &str) -> Option<(Decimal, &str)> {
    const LONGEST: u32 = 6;
    let digits = |text: &str| text.len() - text.trim_start_matches(|c: char| c.is_ascii_digit()).len();
    let at = text.find('/')?;
    let head = text.get(..at)?;
    let (whole, above) = match head.rsplit_once(|c: char| is_blank(c) || c == '-') {
        Some((whole, above)) => (whole.trim_matches(is_blank), above),
        None => ("", head),
    };
    let below = text.get(at + 1..)?;
    let (below, behind) = below.split_at_checked(digits(below))?;
    let behind = behind.trim_matches(is_blank);
    let is_length = || unit_named(behind).is_some_and(|unit| unit.dimension == Dimension::Length);
    if behind.starts_with('/')
        || !(whole.bytes().all(|byte| byte.is_ascii_digit()))
        || (whole.is_empty() && !is_length())
    {
        return None;
    }
    let number =
        |text: &str| (text.len() <= 3 && digits(text) == text.len()).then(|| text.parse::<u64>().ok()).flatten();
    let (above, below) = (number(above)?, number(below)?);
    if above == 0 || above >= below {
        return None;
    }
    let places = (1..=LONGEST).find(|places| 10_u64.pow(*places).is_multiple_of(below))?;
    let part = above * (10_u64.pow(places) / below);
    let value = Decimal::parse(&format!("{whole}.{part:0width$}", width = places as usize))?;
    Some((value, behind))
}

/// A number with its groups taken apart: `1,204` is 1204 with a decimal point, 1.204 with a decimal comma.
fn grouped(text: &str, mark: DecimalMark) -> Result<Decimal, Misread> {
    let (point, comma) = match mark {
        DecimalMark::Point => ('.', ','),
        DecimalMark::Comma => (',', '.'),
    };
    let (whole, part) = match text.split_once(point) {
        Some((whole, part)) => (whole, Some(part)),
        None => (text, None),
    };
    if part.is_some_and(|part| !part.bytes().all(|byte| byte.is_ascii_digit())) {
        return Err(Misread::new(format!("`{text}` has more than one decimal mark, or groups behind it"))
            .hint("write one number, with one decimal mark"));
    }
    let signless = whole.trim_start_matches(['-', '\u{2212}']);
    let groups: Vec<&str> = signless.split(|c: char| c == comma || is_blank(c)).collect();
    let well_grouped = groups.len() == 1
        || (groups.first().is_some_and(|first| !first.is_empty() && first.len() <= 3)
            && groups.iter().skip(1).all(|group| group.len() == 3));
    if !well_grouped {
        let hint = match mark {
            DecimalMark::Point => "the decimal mark is a point here; groups have three digits: 1,204",
            DecimalMark::Comma => "the decimal mark is a comma here; groups have three digits: 1.204",
        };
        return Err(Misread::new(format!("`{text}` is not grouped in threes")).hint(hint));
    }
    let sign = if whole.starts_with(['-', '\u{2212}']) { "-" } else { "" };
    let plain = match part {
        Some(part) => format!("{sign}{}.{part}", groups.concat()),
        None => format!("{sign}{}", groups.concat()),
    };
    let plain = plain.strip_suffix('.').unwrap_or(&plain);
    Decimal::parse(plain).ok_or_else(|| {
        Misread::new(format!("`{text}` is not a number, or has more than 18 digits"))
            .hint("write digits with one decimal mark")
    })
}

fn number_end(text: &str) -> usize {
    let mut end = 0;
    let mut chars = text.char_indices().peekable();
    while let Some((at, c)) = chars.next() {
        let next_is_digit = chars.peek().is_some_and(|(_, next)| next.is_ascii_digit());
        let sign = at == 0 && matches!(c, '-' | '\u{2212}');
        let mark = matches!(c, '.' | ',') && (next_is_digit || at > 0);
        if c.is_ascii_digit() || sign || mark || (is_blank(c) && next_is_digit) {
            end = at + c.len_utf8();
        } else {
            break;
        }
    }
    end
}

fn sign_of(text: &str) -> (CellSign, &str) {
    let after = |prefix: &str| {
        text.get(..prefix.len())
            .filter(|head| head.eq_ignore_ascii_case(prefix))
            .and_then(|_| text.get(prefix.len()..))
            .map(|rest| rest.trim_start_matches(is_blank))
    };
    let signs = [
        ("<=", CellSign::Below),
        ("\u{2264}", CellSign::Below),
        ("<", CellSign::Below),
        (">=", CellSign::Above),
        ("\u{2265}", CellSign::Above),
        (">", CellSign::Above),
        ("~", CellSign::Estimated),
        ("approx.", CellSign::Estimated),
        ("approx", CellSign::Estimated),
        ("about", CellSign::Estimated),
        ("ca.", CellSign::Estimated),
        ("ca", CellSign::Estimated),
        ("est.", CellSign::Estimated),
        ("est", CellSign::Estimated),
        ("e", CellSign::Estimated),
    ];
    for (prefix, sign) in signs {
        if let Some(rest) = after(prefix) {
            let word = prefix.starts_with(|c: char| c.is_alphabetic());
            if !word || rest.starts_with(|c: char| c.is_ascii_digit()) {
                return (sign, rest);
            }
        }
    }
    (CellSign::None, text)
}

fn is_blank(c: char) -> bool {
    c.is_whitespace() || matches!(c, '\u{feff}' | '\u{200b}')
}

#[cfg(test)]
mod tests {
    use super::*;

    fn number(text: &str, mark: DecimalMark) -> (String, CellSign, String) {
        match cell(text, mark).unwrap() {
            Cell::Number { value, sign, behind } => (value.to_string(), sign, behind),
            other => panic!("{text}: {other:?}"),
        }
    }

    fn plain(text: &str) -> String {
        number(text, DecimalMark::Point).0
    }

    #[test]
    fn not_detected_with_its_limit_is_below_it() {
        for text in ["ND (50)", "nd(50)", "ND <50", "not detected ( <50 )"] {
            assert_eq!(number(text, DecimalMark::Point), ("50".into(), CellSign::Below, String::new()), "{text}");
        }
        assert_eq!(number("ND (0,05 mg/l)", DecimalMark::Comma), ("0.05".into(), CellSign::Below, "mg/l".into()));
        for text in ["ND", "ND 50", "nd (a)", "not detected"] {
            assert_eq!(cell(text, DecimalMark::Point).unwrap(), Cell::Word(text.to_lowercase()), "{text}");
        }
    }

    #[test]
    fn a_number_typed_as_text_with_groups_and_a_trailing_space_is_that_number() {
        assert_eq!(plain("1,204 "), "1204");
        assert_eq!(plain(" 412 880"), "412880");
        assert_eq!(plain("000130"), "130");
        assert_eq!(plain(".5"), "0.5");
        assert_eq!(number("1.204,5", DecimalMark::Comma).0, "1204.5");
        assert_eq!(number("1.204", DecimalMark::Comma).0, "1204");
        assert_eq!(number("0,8", DecimalMark::Comma).0, "0.8");
    }

    #[test]
    fn a_text_cell_below_a_limit_keeps_its_limit_and_is_not_skipped() {
        assert_eq!(number("<5", DecimalMark::Point), ("5".into(), CellSign::Below, String::new()));
        assert_eq!(number("< 0.10 mg/L", DecimalMark::Point), ("0.10".into(), CellSign::Below, "mg/L".into()));
        assert_eq!(number("E 12", DecimalMark::Point).1, CellSign::Estimated);
    }

    #[test]
    fn a_blank_cell_is_blank_and_not_zero() {
        for text in ["", "  ", "\u{a0}"] {
            assert_eq!(cell(text, DecimalMark::Point).unwrap(), Cell::Blank);
        }
    }

    #[test]
    fn words_of_a_clipboard_keep_their_meaning() {
        assert_eq!(cell("T", DecimalMark::Point).unwrap(), Cell::Trace);
        assert_eq!(cell("\"", DecimalMark::Point).unwrap(), Cell::Same);
        assert_eq!(cell("Off", DecimalMark::Point).unwrap(), Cell::Word("off".into()));
        assert_eq!(cell("n/a", DecimalMark::Point).unwrap(), Cell::Missing("n/a".into()));
    }

    #[test]
    fn a_tape_reads_in_fractions_and_a_dial_may_stand_still() {
        for (text, value, unit) in
            [("2 1/4", "2.25", ""), ("2 1/4 ft", "2.25", "ft"), ("2-3/8 in", "2.375", "in"), ("3/4 in.", "0.75", "in.")]
        {
            assert_eq!(number(text, DecimalMark::Point), (value.into(), CellSign::None, unit.into()), "{text}");
        }
        for text in ["unchanged", "off, no change", "pump off - dial unchanged", "Off (same)"] {
            assert_eq!(cell(text, DecimalMark::Point).unwrap(), Cell::Same, "{text}");
        }
        assert_eq!(cell("off", DecimalMark::Point).unwrap(), Cell::Word("off".into()));
        for text in ["2 1/3", "2 5/4", "6/7", "6/7/25"] {
            assert!(cell(text, DecimalMark::Point).is_err(), "{text}");
        }
    }

    #[test]
    fn a_cell_that_could_mean_two_things_is_refused() {
        for text in ["6/7", "1,5", "12,34", "1.2.3", "<"] {
            assert!(cell(text, DecimalMark::Point).is_err(), "{text}");
        }
    }
}

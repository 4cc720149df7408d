//! Numbers as people type them, kept exactly.

use super::Misread;

/// A number exactly as typed: a quotient of whole numbers. `0.15` is 15/100, `1/16` is 1/16.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Exact {
    /// Above the line; carries the sign.
    pub numerator: i128,
    /// Below the line, always above zero.
    pub denominator: i128,
}

impl Exact {
    /// A whole number.
    pub const fn whole(value: i128) -> Self {
        Self { numerator: value, denominator: 1 }
    }

    /// The nearest floating-point number: always finite.
    pub fn to_f64(self) -> f64 {
        self.numerator as f64 / self.denominator as f64
    }

    /// The product, or `None` where it does not fit.
    pub fn times(self, other: Self) -> Option<Self> {
        Some(Self {
            numerator: self.numerator.checked_mul(other.numerator)?,
            denominator: self.denominator.checked_mul(other.denominator)?,
        })
    }

    /// The sum, or `None` where it does not fit.
    pub fn plus(self, other: Self) -> Option<Self> {
        let (a, b) = (self.numerator.checked_mul(other.denominator)?, other.numerator.checked_mul(self.denominator)?);
        Some(Self { numerator: a.checked_add(b)?, denominator: self.denominator.checked_mul(other.denominator)? })
    }

    /// Whether it is below zero.
    pub const fn is_negative(self) -> bool {
        self.numerator < 0
    }

    /// The whole number it is, if it is one.
    pub const fn as_whole(self) -> Option<i128> {
        if self.numerator % self.denominator == 0 { Some(self.numerator / self.denominator) } else { None }
    }
}

/// Digits a number may have in all: more than any instrument gives, and small enough that unit factors keep it exact.
pub const MOST_DIGITS: usize = 18;

/// Whether a character is one of the spaces that may stand inside or between parts of a value.
pub(crate) fn is_space(c: char) -> bool {
    c.is_whitespace() || matches!(c, '\u{2009}' | '\u{202f}' | '\u{a0}' | '\u{2007}')
}

/// The number that a text begins with, and what follows it without the spaces between.
pub(crate) fn leading_number(text: &str) -> Result<(Exact, &str), Misread> {
    let text = text.trim_matches(is_space);
    let (negative, unsigned) = match text.strip_prefix(['-', '\u{2212}']) {
        Some(rest) => (true, rest.trim_start_matches(is_space)),
        None => (false, text),
    };
    let first = digits(unsigned);
    if first.is_empty() {
        return Err(not_a_number(unsigned));
    }
    let mut rest = skip(unsigned, first);
    if first == "0"
        && rest.starts_with(['x', 'X', 'b', 'B', 'o', 'O'])
        && rest.chars().nth(1).is_some_and(|c| c.is_ascii_hexdigit())
    {
        let multiple = rest.starts_with(['x', 'X']);
        if multiple || !digits(rest.get(1..).unwrap_or_default()).is_empty() {
            return Err(Misread::new("this is how programs write numbers").hint("write the number in plain digits"));
        }
    }
    let mut whole = String::from(first);
    let mut separator = None;
    while let Some(mark) = rest.chars().next().filter(|c| *c == ',' || is_space(*c)) {
        let after = rest.get(mark.len_utf8()..).unwrap_or_default();
        let group = digits(after);
        if group.is_empty() {
            break;
        }
        let fraction_follows = after.get(group.len()..).is_some_and(|r| r.starts_with('/'));
        if mark != ',' && fraction_follows {
            return mixed(&whole, group, skip(after, group), negative);
        }
        let grouped = group.len() == 3 && first.len() <= 3 && separator.is_none_or(|held| held == mark);
        if !grouped {
            return Err(if mark == ',' && separator.is_none() {
                Misread::new("a comma inside a number").hint(format!("the decimal mark is a point: {whole}.{group}"))
            } else {
                Misread::new("digits are grouped in threes, always with the same mark")
                    .hint("write 16000, 16 000 or 16,000")
            });
        }
        separator = Some(mark);
        whole.push_str(group);
        rest = skip(after, group);
    }
    if whole.len() > 1 && whole.starts_with('0') {
        let bare = whole.trim_start_matches('0');
        return Err(Misread::new(format!("`{whole}` begins with a zero"))
            .hint(format!("write {}", if bare.is_empty() { "0" } else { bare })));
    }
    let mut decimals = "";
    if let Some(after) = rest.strip_prefix('.') {
        decimals = digits(after);
        if decimals.is_empty() {
            return Err(Misread::new("a point with nothing behind it").hint(format!("write {whole} or {whole}.0")));
        }
        rest = skip(after, decimals);
        let mut following = rest.chars();
        if matches!(following.next(), Some('.' | ',')) && following.next().is_some_and(|c| c.is_ascii_digit()) {
            return Err(
                Misread::new("two marks in one number").hint("the decimal mark is a point, and there is one: 1000.5")
            );
        }
    }
    if rest.starts_with('_') {
        return Err(Misread::new("an underscore inside a number").hint("write 1000, 1 000 or 1,000"));
    }
    let mut below = "";
    if decimals.is_empty()
        && separator.is_none()
        && let Some(after) = rest.strip_prefix('/')
    {
        let under = digits(after);
        if !under.is_empty() {
            if under.starts_with('0') {
                return Err(Misread::new("a fraction with a zero below the line").hint("write it like 1/16"));
            }
            below = under;
            rest = skip(after, under);
        }
    }
    let mut after = rest.chars();
    if matches!(after.next(), Some('e' | 'E'))
        && after.next().is_some_and(|c| c.is_ascii_digit() || matches!(c, '+' | '-'))
    {
        return Err(Misread::new("a number with an exponent").hint("write it out: 1000, not 1e3"));
    }
    if whole.len() + decimals.len() > MOST_DIGITS || below.len() > MOST_DIGITS {
        return Err(
            Misread::new(format!("more than {MOST_DIGITS} digits")).hint("no instrument reads so finely; round it")
        );
    }
    let fits = |text: &str| text.parse::<i128>().map_err(|_| Misread::new("a number too large to keep"));
    let size = fits(&format!("{whole}{decimals}"))?;
    let denominator = if below.is_empty() { power_of_ten(decimals.len()) } else { fits(below)? };
    let number = Exact { numerator: if negative { -size } else { size }, denominator };
    Ok((number, rest.trim_start_matches(is_space)))
}

/// A whole number with a fraction behind it, `2 1/4`; `below` begins at the stroke. Gives what follows it too.
fn mixed<'a>(whole: &str, above: &str, below: &'a str, negative: bool) -> Result<(Exact, &'a str), Misread> {
    let below = below.strip_prefix('/').unwrap_or(below);
    let under = digits(below);
    let part = |text: &str| (text.len() <= 4 && !text.starts_with('0')).then(|| text.parse::<i128>().ok()).flatten();
    let (Some(above), Some(size)) = (part(above), part(under)) else {
        return Err(Misread::new("a fraction that can't be read").hint("write it like 2 1/4, or with a point: 2.25"));
    };
    if above >= size {
        return Err(Misread::new("the fraction behind a whole number is not below one")
            .hint("write it like 2 1/4, or with a point: 2.25"));
    }
    let rest = skip(below, under).trim_start_matches(is_space);
    let (sign, whole) = (if negative { -1 } else { 1 }, whole.parse::<i128>().unwrap_or(i128::MAX));
    whole
        .checked_mul(size)
        .and_then(|whole| whole.checked_add(above))
        .filter(|_| whole < 1_000_000)
        .map(|numerator| (Exact { numerator: sign * numerator, denominator: size }, rest))
        .ok_or_else(|| Misread::new("a number too large for a fraction behind it").hint("write it with a point"))
}

/// A number and nothing else.
pub fn number(text: &str) -> Result<Exact, Misread> {
    let (value, rest) = leading_number(text)?;
    if rest.is_empty() {
        return Ok(value);
    }
    Err(if let Some(refusal) = dash_between(rest) {
        refusal
    } else {
        Misread::new(format!("a plain number is expected here, and `{rest}` follows it")).hint("leave the unit out")
    })
}

/// A whole number without a unit, not below zero: `4`, `2 a day` has its own reader.
pub fn count(text: &str) -> Result<u64, Misread> {
    let value = number(text).map_err(|refusal| {
        if refusal.hint.as_deref() == Some("leave the unit out") {
            Misread::new("a count is a whole number without a unit").hint("write it like 4")
        } else {
            refusal
        }
    })?;
    match value.as_whole().and_then(|whole| u64::try_from(whole).ok()) {
        Some(whole) => Ok(whole),
        None => Err(Misread::new("a count is a whole number, not below zero").hint("write it like 4")),
    }
}

/// `3 to 1` or `3:1`: run to rise of a side slope. The quotient of the two, both above zero.
pub fn ratio(text: &str) -> Result<Exact, Misread> {
    let wrong =
        || Misread::new("a ratio is two numbers with `to` between them").hint("write it like 3 to 1 (run to rise)");
    let text = text.replacen(':', " to ", 1);
    let [left, right] = split_to(&text)[..] else {
        return Err(wrong());
    };
    let (run, rise) = (number(left)?, number(right)?);
    if run.numerator <= 0 || rise.numerator <= 0 {
        return Err(Misread::new("both parts of a ratio are above zero").hint("write it like 3 to 1 (run to rise)"));
    }
    run.times(Exact { numerator: rise.denominator, denominator: rise.numerator }).ok_or_else(wrong)
}

/// `1.05` or `1.0 to 1.1`: both ends of a plain number or a range of them, low first.
///
/// # Errors
/// When either is not a number, or the first is above the second.
pub fn ends_of_numbers(text: &str) -> Result<(Exact, Exact), Misread> {
    match split_to(text)[..] {
        [_] => number(text).map(|value| (value, value)),
        [left, right] => {
            let (low, high) = (number(left)?, number(right)?);
            if low.to_f64() > high.to_f64() {
                return Err(Misread::new(format!(
                    "the first end of the range, `{left}`, is above the second, `{right}`"
                ))
                .hint("write the lower end first"));
            }
            Ok((low, high))
        }
        _ => Err(Misread::new("more than one `to`").hint("a range has two ends")),
    }
}

/// The parts of a text between the words `to`.
pub(crate) fn split_to(text: &str) -> Vec<&str> {
    split_word(text, "to")
}

/// The parts of a text between whole words `word`, whatever the case.
pub(crate) fn split_word<'a>(text: &'a str, word: &str) -> Vec<&'a str> {
    let mut parts = Vec::new();
    let mut from = 0;
    let mut start = None;
    let ends = text.char_indices().chain(std::iter::once((text.len(), ' ')));
    for (at, c) in ends {
        if is_space(c) {
            if let Some(begun) = start.take()
                && text.get(begun..at).is_some_and(|token| token.eq_ignore_ascii_case(word))
            {
                parts.push(text.get(from..begun).unwrap_or_default().trim_matches(is_space));
                from = at;
            }
        } else if start.is_none() {
            start = Some(at);
        }
    }
    parts.push(text.get(from..).unwrap_or_default().trim_matches(is_space));
    parts
}

/// The refusal of `3 - 5` and `3–5`.
pub(crate) fn dash_between(rest: &str) -> Option<Misread> {
    let after = rest.trim_start_matches(is_space).strip_prefix(['-', '\u{2013}', '\u{2014}', '\u{2212}'])?;
    let after = after.trim_start_matches(is_space);
    after.starts_with(|c: char| c.is_ascii_digit()).then(|| {
        Misread::new("a dash between two numbers could be a minus").hint("write `to` between the two ends: 3 to 5")
    })
}

const fn power_of_ten(exponent: usize) -> i128 {
    let mut value = 1;
    let mut left = exponent;
    while left > 0 {
        value *= 10;
        left -= 1;
    }
    value
}

fn digits(text: &str) -> &str {
    let end = text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len());
    text.get(..end).unwrap_or_default()
}

fn skip<'a>(text: &'a str, part: &str) -> &'a str {
    text.get(part.len()..).unwrap_or_default()
}

fn not_a_number(text: &str) -> Misread {
    let lower = text.to_lowercase();
    if text.starts_with('.') && text.chars().nth(1).is_some_and(|c| c.is_ascii_digit()) {
        return Misread::new("a point with nothing before it").hint(format!("write 0{text}"));
    }
    if ["nan", "inf", ".nan", ".inf", "infinity"].iter().any(|word| lower.starts_with(word)) {
        return Misread::new(format!("`{text}` is not a number")).hint("write a number, or: not known");
    }
    if text.starts_with('+') {
        return Misread::new("a plus sign before a number").hint("leave the plus out");
    }
    if text.is_empty() {
        return Misread::new("nothing is written here").hint("write a number with its unit, or: not known");
    }
    Misread::new(format!("`{text}` does not begin with a number"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hint_of(text: &str) -> String {
        let refusal = number(text).unwrap_err();
        refusal.hint.unwrap_or_default()
    }

    #[test]
    fn numbers_are_kept_exactly_as_typed() {
        for (text, numerator, denominator) in [
            ("38", 38, 1),
            ("0.15", 15, 100),
            ("1/16", 1, 16),
            ("16 000", 16_000, 1),
            ("16,000", 16_000, 1),
            ("1,234,567.5", 12_345_675, 10),
            ("-3", -3, 1),
            ("\u{2212}3", -3, 1),
            ("884\u{2009}210", 884_210, 1),
            ("0", 0, 1),
            ("2 1/4", 9, 4),
            ("-1 1/16", -17, 16),
        ] {
            assert_eq!(number(text).unwrap(), Exact { numerator, denominator }, "{text}");
        }
    }

    #[test]
    fn spellings_that_could_mean_two_things_are_refused_with_what_to_write() {
        assert_eq!(hint_of("1,5"), "the decimal mark is a point: 1.5");
        assert_eq!(hint_of("1234,56"), "the decimal mark is a point: 1234.56");
        assert_eq!(hint_of("017"), "write 17");
        assert_eq!(hint_of(".5"), "write 0.5");
        assert_eq!(hint_of("5."), "write 5 or 5.0");
        assert_eq!(hint_of("1_000"), "write 1000, 1 000 or 1,000");
        assert_eq!(hint_of("1e3"), "write it out: 1000, not 1e3");
        assert_eq!(hint_of("3-5"), "write `to` between the two ends: 3 to 5");
        assert_eq!(hint_of("3 \u{2013} 5"), "write `to` between the two ends: 3 to 5");
        assert!(hint_of("1 3/2").contains("2 1/4"));
        for text in [
            "0x1F",
            "NaN",
            ".inf",
            "",
            "+5",
            "1/0",
            "16 00",
            "1,000 000",
            "1.000,5",
            "9999999999999999999",
            "1/",
            "abc",
            "-",
        ] {
            assert!(number(text).is_err(), "{text}");
        }
    }

    #[test]
    fn a_side_slope_is_run_over_rise() {
        assert_eq!(ratio("3 to 1").unwrap().to_f64(), 3.0);
        assert_eq!(ratio("1 to 2").unwrap().to_f64(), 0.5);
        assert_eq!(ratio("3:1").unwrap().to_f64(), 3.0);
        assert_eq!(ratio("2.5 : 1").unwrap().to_f64(), 2.5);
        assert!(ratio("3:1:2").is_err() && ratio("3:").is_err());
        assert!(ratio("0 to 1").is_err());
    }

    #[test]
    fn a_count_is_whole_and_bare() {
        assert_eq!(count("4").unwrap(), 4);
        assert!(count("4.5").is_err());
        assert!(count("-1").is_err());
        assert_eq!(count("4 vessels").unwrap_err().message, "a count is a whole number without a unit");
    }
}

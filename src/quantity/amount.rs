//! Amounts and ranges: a number with one of the units that a key allows.

use super::number::{Exact, dash_between, is_space, leading_number, split_to};
use super::unit::{Dimension, Unit, names};
use super::{Kind, Misread, Range, Stated, all_nearest, units};

/// An amount as typed: exact number and unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Amount {
    /// The number, exactly.
    pub number: Exact,
    /// The unit it was typed in.
    pub unit: Unit,
}

impl Amount {
    /// The SI value; finite.
    pub fn to_si(self) -> f64 {
        self.unit.to_si(self.number)
    }
}

/// What a key expects, without its type: for messages and for keys whose kind is known only when reading.
#[derive(Debug, Clone, Copy)]
pub struct Expected {
    /// `a flow`.
    pub what: &'static str,
    /// `38 gpm`.
    pub example: &'static str,
    /// The units allowed.
    pub units: &'static [Unit],
}

impl Expected {
    /// What the kind `K` expects.
    pub const fn of<K: Kind>() -> Self {
        Self { what: K::WHAT, example: K::EXAMPLE, units: K::UNITS }
    }
}

/// Reads `38 gpm`, `50 % to 70 %`, `1.03 to 1.10 times water` or `not known` as the kind `K`.
///
/// # Errors
/// When it is none of these, a unit is not among `K::UNITS`, the ends are in the wrong order, or a bound of `K` is
/// passed.
pub fn stated<K: Kind>(text: &str) -> Result<Stated<K::Value>, Misread> {
    if says_not_known(text) {
        return Ok(Stated::NotKnown);
    }
    not_thousands(text)?;
    range::<K>(text).map(Stated::Known)
}

/// Refuses `3.000 gal`: nobody writes three noughts behind a point unless the point parts thousands.
///
/// # Errors
/// With both ways to write it.
pub fn not_thousands(text: &str) -> Result<(), Misread> {
    let is_doubtful = |word: &&str| {
        let (whole, part) = word.split_once('.').unwrap_or_default();
        part == "000"
            && (1..=3).contains(&whole.len())
            && whole != "0"
            && whole.bytes().all(|byte| byte.is_ascii_digit())
    };
    match text.split(is_space).find(is_doubtful) {
        None => Ok(()),
        Some(word) => {
            let whole = word.trim_end_matches(".000");
            Err(Misread::new(format!("`{word}` may be {whole} or {whole} thousand"))
                .hint(format!("write {whole}, or {whole},000")))
        }
    }
}

/// Whether the text is `not known`.
pub fn says_not_known(text: &str) -> bool {
    let mut words = text.split(is_space).filter(|word| !word.is_empty());
    matches!((words.next(), words.next(), words.next()), (Some(a), Some(b), None) if a.eq_ignore_ascii_case("not") && b.eq_ignore_ascii_case("known"))
}

/// Reads an amount or a range as the kind `K`.
///
/// # Errors
/// As [`stated`].
pub fn range<K: Kind>(text: &str) -> Result<Range<K::Value>, Misread> {
    let (low, high) = bounded(text, &Expected::of::<K>(), K::LEAST, K::MOST)?;
    Ok(Range { low: K::from_si(low), high: K::from_si(high) })
}

/// Both ends in SI, in order and within bounds, each bound with its words.
fn bounded(
    text: &str,
    expected: &Expected,
    least: Option<(f64, &str)>,
    most: Option<(f64, &str)>,
) -> Result<(f64, f64), Misread> {
    let (low, high) = ends(text, expected)?;
    for end in [low, high] {
        let value = end.to_si();
        if let Some((least, said)) = least
            && value < least
        {
            return Err(Misread::new(format!("{} can't be below {said}", expected.what)).hint(like(expected)));
        }
        if let Some((most, said)) = most
            && value > most
        {
            return Err(Misread::new(format!("{} can't be above {said}", expected.what)).hint(like(expected)));
        }
    }
    if low.to_si() > high.to_si() {
        let mut parts = split_to(text).into_iter();
        let (first, second) = (parts.next().unwrap_or_default(), parts.next().unwrap_or_default());
        return Err(Misread::new(format!("the first end of the range, `{first}`, is above the second, `{second}`"))
            .hint("write the lower end first"));
    }
    Ok((low.to_si(), high.to_si()))
}

/// Both ends of an amount or range, exactly as typed.
///
/// # Errors
/// When the text is neither, or a unit is not allowed. The order of the ends is not judged.
pub fn ends(text: &str, expected: &Expected) -> Result<(Amount, Amount), Misread> {
    match split_to(text)[..] {
        [_] => amount(text, expected).map(|value| (value, value)),
        [left, right] => {
            let high = amount(right, expected)?;
            let (number, rest) = leading_number(left)?;
            let low = if rest.is_empty() { Amount { number, unit: high.unit } } else { amount(left, expected)? };
            Ok((low, high))
        }
        _ => Err(Misread::new("more than one `to`").hint(format!("a range has two ends: {} to …", expected.example))),
    }
}

/// Reads a single amount in one of the units allowed.
///
/// # Errors
/// When the number or the unit can't be read.
pub fn amount(text: &str, expected: &Expected) -> Result<Amount, Misread> {
    let (number, rest) = leading_number(text).map_err(|refusal| match refusal.hint {
        Some(_) => refusal,
        None => Misread {
            message: format!("{}; expected {}", refusal.message, expected.what),
            hint: Some(format!("{}, or: not known", like(expected))),
        },
    })?;
    if let Some(refusal) = dash_between(rest) {
        return Err(refusal);
    }
    if let Some(read) = feet_and_inches(number, rest, expected) {
        return read;
    }
    unit(rest, expected).map(|unit| Amount { number, unit })
}

/// `6 ft 3 in`, `6' 3"`, where both units are allowed: the inches in all. None where there is no second number.
fn feet_and_inches(feet: Exact, rest: &str, expected: &Expected) -> Option<Result<Amount, Misread>> {
    let allowed = |unit: &Unit| expected.units.contains(unit);
    let end = rest.find(|c: char| c.is_ascii_digit())?;
    let word = rest.get(..end)?.trim_end_matches(|c: char| is_space(c) || matches!(c, '-' | ','));
    if !(units::FT.is_named(word) && allowed(&units::FT) && allowed(&units::IN)) {
        return None;
    }
    let (inches, behind) = match leading_number(rest.get(end..)?) {
        Ok(read) => read,
        Err(refusal) => return Some(Err(refusal)),
    };
    if !units::IN.is_named(behind) {
        return None;
    }
    let in_all = feet.times(Exact::whole(12)).and_then(|feet| feet.plus(inches));
    Some(match in_all {
        Some(number) if inches.to_f64() < 12.0 && !feet.is_negative() => Ok(Amount { number, unit: units::IN }),
        _ => Err(Misread::new("a foot has 12 inches, so fewer stand behind the feet").hint("write it like 6 ft 3 in")),
    })
}

/// Reads a unit, of those allowed.
///
/// # Errors
/// When it is missing, unknown or measures something else; the message names the units allowed.
pub fn unit(text: &str, expected: &Expected) -> Result<Unit, Misread> {
    let allowed = names(expected.units);
    let typed = text.trim_matches(is_space);
    if typed.is_empty() {
        let hint = match expected.units {
            [only] if only.name == "%" => "write it with its sign, like 45 %; a half is 50 %".to_owned(),
            _ => format!("units allowed here: {allowed}"),
        };
        return Err(Misread::new(format!("a number without its unit; expected {}", expected.what)).hint(hint));
    }
    if let Some(unit) = expected.units.iter().find(|unit| unit.is_named(typed)) {
        return Ok(*unit);
    }
    let lower = typed.to_lowercase();
    if lower.contains("imp") && lower.contains("gal") || lower.contains("uk gal") {
        return Err(Misread::new("imperial gallons are not read").hint("`gal` is the US gallon; write L or m3 instead"));
    }
    if lower.contains("mesh") && expected.units.iter().any(|unit| unit.dimension == Dimension::Length) {
        return Err(Misread::new("mesh counts openings in an inch; wires differ, so it is not a size")
            .hint("write the clear opening in um, from the maker's sheet"));
    }
    if let Some(close) = expected.units.iter().find(|unit| unit.case_matters && lower == unit.name.to_lowercase()) {
        return Err(Misread::new(format!(
            "in `{typed}` capital letters change the meaning (m is a thousandth, M a million)"
        ))
        .hint(format!("write {}", close.name)));
    }
    if let Some(other) = units::named(typed) {
        return Err(Misread::new(format!(
            "`{}` measures {}; expected {}",
            other.name,
            measures(other.dimension),
            expected.what
        ))
        .hint(format!("units allowed here: {allowed}")));
    }
    let thousands =
        typed.strip_prefix(['\'', '\u{2019}']).map(|rest| rest.chars().take_while(char::is_ascii_digit).count());
    if thousands == Some(3) {
        return Err(Misread::new("an apostrophe inside a number").hint("write thousands like 16,000 or 16000"));
    }
    let meant = units_meant(typed, expected.units).map(|meant| format!("{meant} ")).unwrap_or_default();
    Err(Misread::new(format!("`{typed}` is not a unit for {}", expected.what))
        .hint(format!("{meant}units allowed here: {allowed}")))
}

/// Letters that make a unit larger or smaller a hundredfold or more.
const PREFIXES: [char; 9] = ['k', 'M', 'm', 'c', 'h', 'u', 'n', '\u{b5}', '\u{3bc}'];

/// `did you mean …?` with each of the units equally near to what was typed, so that no one of them is suggested where
/// another a hundred times as large may as well be meant. None for a known unit under a prefix of its own (`hL`).
pub fn units_meant(typed: &str, among: &[Unit]) -> Option<String> {
    let under_prefix = typed.strip_prefix(PREFIXES).is_some_and(|bare| among.iter().any(|unit| unit.is_named(bare)));
    // One letter is like nothing.
    if under_prefix || typed.chars().count() < 2 {
        return None;
    }
    // A milligram is nearly written like a million gallons.
    let spellings = among.iter().flat_map(|unit| std::iter::once(unit.name).chain(unit.also.iter().copied()));
    let spellings = spellings.filter(|name| *name != "MG");
    let mut meant: Vec<String> = Vec::new();
    for word in all_nearest(typed, spellings) {
        let unit = among.iter().find(|unit| unit.name == word || unit.also.contains(&word))?;
        let quoted = format!("`{}`", unit.name);
        if !meant.contains(&quoted) {
            meant.push(quoted);
        }
    }
    let last = meant.pop()?;
    Some(if meant.is_empty() {
        format!("did you mean {last}?")
    } else {
        format!("did you mean {} or {last}?", meant.join(", "))
    })
}

fn like(expected: &Expected) -> String {
    format!("write it like {}", expected.example)
}

/// What a dimension is called in a message.
pub(crate) fn measures(dimension: Dimension) -> &'static str {
    match dimension {
        Dimension::Length => "a length",
        Dimension::Area => "an area",
        Dimension::Volume => "a volume",
        Dimension::Mass => "a mass",
        Dimension::Time => "a length of time",
        Dimension::Flow => "a flow",
        Dimension::Speed => "a speed or a depth in a time",
        Dimension::MonthlyDepth => "a depth in a month",
        Dimension::MassDensity => "a mass in a volume",
        Dimension::Share => "a share",
        Dimension::Content => "a content of solids",
        Dimension::VolumeShare => "a volume in a volume",
        Dimension::ArealMass => "a mass on an area",
        Dimension::MassRate => "a mass in a time",
        Dimension::Temperature => "a temperature",
        Dimension::Radiation => "a radiation",
        Dimension::Power => "a power",
        Dimension::Energy => "an energy",
        Dimension::Conductivity => "an electrical conductivity",
        Dimension::Turbidity => "a turbidity",
        Dimension::Organisms => "a number of organisms",
        Dimension::PartOfDay => "part of a day",
        Dimension::Multiple => "a number of times",
        Dimension::Latitude => "a latitude",
    }
}

/// The unit that a meter counts in: a volume unit, with a multiplier before it or not (`gal`, `x10 gal`, `100 ft3`).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MeterUnit {
    /// How many of `unit` one step of the last digit is.
    pub multiplier: Exact,
    /// The volume unit.
    pub unit: Unit,
}

impl MeterUnit {
    /// Cubic metres in one count, exactly, where it fits; else rounded to what does.
    pub fn cubic_metres(&self) -> f64 {
        self.unit.to_si(self.multiplier)
    }
}

/// Reads the unit of a meter.
///
/// # Errors
/// When it is not a volume unit, or the multiplier is not above zero.
pub fn meter_unit(text: &str) -> Result<MeterUnit, Misread> {
    let expected = Expected {
        what: "what one count of a meter is",
        example: "gal, x10 gal or 100 ft3",
        ..Expected::of::<super::kind::Volume>()
    };
    let typed = text.trim_matches(is_space);
    let after_x = typed.strip_prefix(['x', 'X', '\u{d7}']).unwrap_or(typed).trim_start_matches(is_space);
    let (multiplier, rest) = if after_x.starts_with(|c: char| c.is_ascii_digit()) {
        leading_number(after_x)?
    } else {
        (Exact::whole(1), after_x)
    };
    if multiplier.numerator <= 0 {
        return Err(Misread::new("a meter counts in steps above zero").hint(like(&expected)));
    }
    unit(rest, &expected).map(|unit| MeterUnit { multiplier, unit })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::kind::*;
    use approx::assert_relative_eq;

    fn si<K: Kind>(text: &str) -> (f64, f64) {
        let range = range::<K>(text).unwrap_or_else(|e| panic!("{text}: {e:?}"));
        (K::to_si(range.low), K::to_si(range.high))
    }

    fn refusal<K: Kind>(text: &str) -> String {
        let refusal = stated::<K>(text).expect_err(text);
        format!("{} | {}", refusal.message, refusal.hint.unwrap_or_default())
    }

    #[test]
    fn a_point_before_three_noughts_is_asked_about_and_never_guessed() {
        assert_eq!(refusal::<Volume>("3.000 gal"), "`3.000` may be 3 or 3 thousand | write 3, or 3,000");
        assert!(refusal::<Volume>("2,000 gal to 9.000 gal").contains("9 thousand"));
        for text in ["3.00 gal", "3.001 gal", "3,000 gal", "0.000 gal"] {
            assert!(stated::<Volume>(text).is_ok(), "{text}");
        }
    }

    /// NIST SP 811, appendix B.8: a cubic foot is 2.831 685 E-02 m³ (exactly 0.3048 m cubed), a US gallon 231 in³.
    #[test]
    fn hundreds_of_cubic_feet_and_thousands_of_gallons_are_what_meters_count_in() {
        assert_relative_eq!(si::<Volume>("3 CCF").0, 300.0 * 0.3048_f64.powi(3), max_relative = 1e-15);
        assert_relative_eq!(si::<Volume>("12 kgal").0, 12_000.0 * 231.0 * 0.0254_f64.powi(3), max_relative = 1e-15);
    }

    #[test]
    fn the_examples_of_the_grammar_read_as_they_should() {
        assert_relative_eq!(si::<Flow>("38 gpm").0, 38.0 * 3.785_411_784e-3 / 60.0, max_relative = 1e-15);
        assert_relative_eq!(si::<Flow>("2.4 m3/h").0, 2.4 / 3600.0, max_relative = 1e-15);
        assert_relative_eq!(si::<Area>("1.5 acre").0, 1.5 * 4_046.856_422_4, max_relative = 1e-15);
        assert_relative_eq!(si::<DepthRate>("1/16 in/day").0, 0.0254 / 16.0 / 86_400.0, max_relative = 1e-15);
        assert_relative_eq!(si::<Size>("300 \u{b5}m").0, 3e-4, max_relative = 1e-15);
        assert_relative_eq!(si::<Size>("300 \u{3bc}m").0, 3e-4, max_relative = 1e-15);
        assert_relative_eq!(si::<Volume>("16 000 gal").0, 60.566_588_544, max_relative = 1e-15);
        assert_relative_eq!(si::<Volume>("16,000\u{a0}gal").0, 60.566_588_544, max_relative = 1e-15);
        assert_relative_eq!(si::<Temperature>("-3 C").0, 270.15, max_relative = 1e-15);
        assert_eq!(si::<Share>("50 to 70 %"), (0.5, 0.7));
        assert_eq!(si::<Share>("50 % to 70 %"), (0.5, 0.7));
        assert_eq!(si::<Density>("1.03 to 1.10 times water"), (1030.0, 1100.0));
        assert_eq!(si::<Density>("1.03 times water to 1.10 times water"), (1030.0, 1100.0));
        assert_eq!(si::<ArealMass>("30 g/m2"), (0.03, 0.03));
        assert_eq!(stated::<Share>("Not known").unwrap(), Stated::NotKnown);
        for area in ["48 ft2", "48 ft^2", "48 ft\u{b2}", "48 sq ft", "48 SQ FT"] {
            assert_relative_eq!(si::<Area>(area).0, 48.0 * 0.092_903_04, max_relative = 1e-15);
        }
        assert_relative_eq!(si::<DailyVolume>("600 gal per day").0, si::<DailyVolume>("600 gpd").0);
        assert_relative_eq!(si::<Latitude>("44.6 S").0, -44.6);
    }

    #[test]
    fn a_refusal_names_the_units_allowed_and_asks_about_the_near_one() {
        assert_eq!(
            refusal::<Area>("9.5"),
            "a number without its unit; expected an area | units allowed here: ft2, acre, m2 or ha"
        );
        assert!(refusal::<Flow>("38 gmp").contains("did you mean `gpm`?"));
        assert!(refusal::<Area>("38 gpm").contains("`gpm` measures a flow; expected an area"));
        assert!(refusal::<Concentration>("60 Mg/L").contains("write mg/L"));
        assert!(refusal::<Volume>("17 imperial gal").contains("US gallon"));
        assert!(refusal::<Size>("120 mesh").contains("clear opening"));
        assert!(refusal::<Share>("120 %").contains("can't be above 100 %"));
        assert_eq!(si::<Share>("100 %").0, 1.0, "what is at the end is allowed");
        assert_eq!(si::<Share>("0 %").0, 0.0);
        assert!(refusal::<Share>("0.5").contains("write it with its sign, like 45 %; a half is 50 %"));
        assert!(refusal::<Share>("70 % to 50 %").contains("`70 %`, is above the second, `50 %`"));
        assert!(refusal::<Share>("50-70 %").contains("write `to`"));
        assert!(refusal::<Volume>("-5 gal").contains("can't be below zero"));
        assert!(refusal::<Temperature>("-500 F").contains("absolute zero"));
        assert!(refusal::<Volume>("unknown").contains("not known"));
    }

    #[test]
    fn letters_of_any_case_name_a_unit_unless_case_changes_it() {
        assert_eq!(si::<Flow>("1 GPM"), si::<Flow>("1 gpm"));
        assert_eq!(si::<Concentration>("1 mg/l"), si::<Concentration>("1 mg/L"));
        assert!(stated::<Conductivity>("1 MS/cm").is_err());
    }

    #[test]
    fn every_unit_allowed_anywhere_can_be_typed_by_each_of_its_names() {
        for unit in units::ALL {
            for name in std::iter::once(&unit.name).chain(unit.also) {
                assert!(unit.is_named(name), "{name}");
            }
            let back = unit.from_si(unit.to_si(Exact { numerator: 7, denominator: 3 }));
            assert_relative_eq!(back, 7.0 / 3.0, max_relative = 1e-9);
        }
    }

    #[test]
    fn a_meter_may_count_in_tens_of_gallons_or_hundreds_of_cubic_feet() {
        assert_relative_eq!(meter_unit("x10 gal").unwrap().cubic_metres(), 3.785_411_784e-2, max_relative = 1e-15);
        assert_relative_eq!(meter_unit("100 ft3").unwrap().cubic_metres(), 2.831_684_659_2, max_relative = 1e-15);
        assert_relative_eq!(meter_unit("m3").unwrap().cubic_metres(), 1.0);
        assert!(meter_unit("gpm").is_err());
        assert!(meter_unit("x0 gal").is_err());
    }
}

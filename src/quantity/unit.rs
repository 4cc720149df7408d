//! Units of measure with exact factors, and how a typed unit is recognised.

use super::number::{Exact, is_space};

/// What a unit measures. Kinds of different meaning have different dimensions even where SI does not tell them apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Dimension {
    /// Metre.
    Length,
    /// Square metre.
    Area,
    /// Cubic metre.
    Volume,
    /// Kilogram.
    Mass,
    /// Second.
    Time,
    /// Cubic metre in a second.
    Flow,
    /// Metre in a second: depth of water in a time, flow over an area.
    Speed,
    /// Depth of water in a month of the calendar, whose days differ: metres in that month.
    MonthlyDepth,
    /// Kilogram in a cubic metre.
    MassDensity,
    /// Part of one: percent.
    Share,
    /// Mass in mass: kilogram in a kilogram.
    Content,
    /// Volume in volume.
    VolumeShare,
    /// Kilogram on a square metre.
    ArealMass,
    /// Kilogram in a second.
    MassRate,
    /// Kelvin.
    Temperature,
    /// Watt on a square metre: radiation.
    Radiation,
    /// Watt.
    Power,
    /// Joule.
    Energy,
    /// Siemens in a metre.
    Conductivity,
    /// Nephelometric turbidity unit: a scale of its own.
    Turbidity,
    /// Colonies or most probable number in a cubic metre.
    Organisms,
    /// Part of a day: hours in a day.
    PartOfDay,
    /// Times something named beside it.
    Multiple,
    /// Degree of latitude, north above zero.
    Latitude,
}

/// A unit: SI value = (typed number + `offset_hundredths`/100) × `numerator`/`denominator`, exactly.
///
/// Factors: NIST SP 811 (2008) appendix B and NIST HB 44 appendix C definitions: 1 in = 25.4 mm, 1 gal = 231 in³,
/// 1 lb = 0.45359237 kg, 1 acre = 43 560 ft² of the international foot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Unit {
    /// As it is printed.
    pub name: &'static str,
    /// Other spellings.
    pub also: &'static [&'static str],
    /// What it measures.
    pub dimension: Dimension,
    /// SI units in `denominator` of these.
    pub numerator: i128,
    /// Of how many of these `numerator` is the SI value.
    pub denominator: i128,
    /// What is added before the factor, in hundredths (temperatures only).
    pub offset_hundredths: i128,
    /// Whether letters must be typed as printed (`mg/L`: M is mega).
    pub case_matters: bool,
}

impl Unit {
    pub(crate) const fn new(
        name: &'static str,
        also: &'static [&'static str],
        dimension: Dimension,
        numerator: i128,
        denominator: i128,
    ) -> Self {
        Self { name, also, dimension, numerator, denominator, offset_hundredths: 0, case_matters: false }
    }

    pub(crate) const fn exact_case(mut self) -> Self {
        self.case_matters = true;
        self
    }

    pub(crate) const fn offset(mut self, hundredths: i128) -> Self {
        self.offset_hundredths = hundredths;
        self
    }

    /// The factor alone, exactly.
    pub const fn factor(&self) -> Exact {
        Exact { numerator: self.numerator, denominator: self.denominator }
    }

    /// A number of this unit in SI; always finite.
    pub fn to_si(&self, number: Exact) -> f64 {
        let exact = if self.offset_hundredths == 0 {
            number.times(self.factor())
        } else {
            self.shifted(number).and_then(|shifted| shifted.times(self.factor()))
        };
        exact.map_or_else(|| self.to_si_f64(number.to_f64()), Exact::to_f64)
    }

    fn shifted(&self, number: Exact) -> Option<Exact> {
        Some(Exact {
            numerator: number
                .numerator
                .checked_mul(100)?
                .checked_add(self.offset_hundredths.checked_mul(number.denominator)?)?,
            denominator: number.denominator.checked_mul(100)?,
        })
    }

    /// A number of this unit in SI, in floating point.
    pub fn to_si_f64(&self, number: f64) -> f64 {
        (number + self.offset_hundredths as f64 / 100.0) * (self.numerator as f64 / self.denominator as f64)
    }

    /// An SI value in this unit.
    pub fn from_si(&self, si: f64) -> f64 {
        si * (self.denominator as f64 / self.numerator as f64) - self.offset_hundredths as f64 / 100.0
    }

    /// Whether `typed` names this unit.
    pub fn is_named(&self, typed: &str) -> bool {
        let typed = normal(typed);
        std::iter::once(&self.name).chain(self.also).any(|name| same(&typed, &normal(name), self.case_matters))
    }
}

fn same(typed: &str, name: &str, case_matters: bool) -> bool {
    if name == "MG" {
        // A million gallons; `mg` is a milligram.
        typed == name
    } else if case_matters {
        // A litre is l or L; the letter before it says how large.
        typed.replace('l', "L") == name.replace('l', "L")
    } else {
        typed.eq_ignore_ascii_case(name)
    }
}

/// The spelling that units are compared in: no spaces, no points (`sq. ft.`), `µ` as u, `²` as 2, no `^`, `per` as `/`.
pub(crate) fn normal(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for token in text.split(is_space).filter(|token| !token.is_empty()) {
        if token.eq_ignore_ascii_case("per") || token.eq_ignore_ascii_case("a") && !out.is_empty() {
            out.push('/');
            continue;
        }
        for c in token.chars() {
            match c {
                '\u{b5}' | '\u{3bc}' => out.push('u'),
                '\u{b2}' => out.push('2'),
                '\u{b3}' => out.push('3'),
                '\u{b0}' | '^' => {}
                // `0.1 mm` keeps its point.
                '.' if !out.ends_with(|c: char| c.is_ascii_digit()) || out.ends_with(['2', '3']) => {}
                c => out.push(c),
            }
        }
    }
    for (square, plain) in [("sqft", "ft2"), ("cuft", "ft3"), ("sqm", "m2"), ("cum", "m3")] {
        if let Some(head) = out.get(..square.len())
            && head.eq_ignore_ascii_case(square)
            && !out.get(square.len()..).is_some_and(|rest| rest.starts_with(char::is_alphabetic))
        {
            out.replace_range(..square.len(), plain);
        }
    }
    out
}

/// Names listed in a message; those beyond are less usual.
const MOST_NAMES: usize = 9;

/// The names of units, for a message: `gpm, gph or L/s`. Of many only the usual ones, which stand first.
pub fn names(units: &[Unit]) -> String {
    let names: Vec<&str> = units.iter().map(|unit| unit.name).collect();
    match names.as_slice() {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [all @ .., last] if names.len() <= MOST_NAMES => format!("{} or {last}", all.join(", ")),
        all => format!("{} or another", all.get(..MOST_NAMES).unwrap_or(all).join(", ")),
    }
}

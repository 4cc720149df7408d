//! Results that count an element as a substance that holds it: nitrate as NO3 for nitrate-nitrogen.

use super::parameter_name;

/// Parameter, the substance that it may be counted as, and the molar masses of the element and of the substance, g/mol: N
/// 14.0067, O 15.9994, H 1.00794, P 30.973762 (IUPAC, Atomic weights of the elements 2005).
const SUBSTANCES: [(&str, &str, f64, f64); 5] = [
    ("nitrate-nitrogen", "NO3", 14.0067, 62.0049),
    ("nitrite-nitrogen", "NO2", 14.0067, 46.0055),
    ("ammonia-nitrogen", "NH4", 14.0067, 18.03846),
    ("ammonia-nitrogen", "NH3", 14.0067, 17.03052),
    ("total phosphorus", "PO4", 30.973762, 94.971362),
];

/// A unit that says what it counts: `mg/L as NO3`, `mg/l NO3`, `mg/L as N`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct CountedUnit {
    /// The unit alone.
    pub unit: String,
    /// What it counts, as it is usually written.
    pub substance: &'static str,
}

/// The unit and what it counts, where a text says both.
pub(crate) fn counted_unit(text: &str) -> Option<CountedUnit> {
    let (unit, last) = text.trim().rsplit_once(char::is_whitespace)?;
    let unit = unit.trim();
    let unit = unit.strip_suffix(" as").or_else(|| unit.strip_suffix(" AS")).unwrap_or(unit).trim();
    let last: String = last.chars().filter(|c| c.is_ascii_alphanumeric()).collect();
    let names = SUBSTANCES.iter().map(|(_, name, ..)| *name).chain(["N", "P"]);
    let substance = names.into_iter().find(|name| name.eq_ignore_ascii_case(&last))?;
    super::units::named(unit)?;
    Some(CountedUnit { unit: unit.to_owned(), substance })
}

/// The molar masses of a parameter's element and of the substance that a result counts; none where that is another matter. A
/// result that counts the element itself has two equal ones.
pub(crate) fn molar_masses(parameter: &str, substance: &str) -> Option<(f64, f64)> {
    let name = parameter_name(parameter);
    let is_element = substance == "N" && name.ends_with("nitrogen") || substance == "P" && name.ends_with("phosphorus");
    if is_element {
        return Some((1.0, 1.0));
    }
    let found = SUBSTANCES.iter().find(|(of, held, ..)| *of == name && *held == substance);
    found.map(|(_, _, element, whole)| (*element, *whole))
}

/// The parameter that counts the element of a substance: `nitrate-nitrogen` of `NO3`.
pub(crate) fn parameter_of(substance: &str) -> Option<&'static str> {
    SUBSTANCES.iter().find(|(_, held, ..)| *held == substance).map(|(of, ..)| *of)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_unit_says_what_it_counts() {
        for text in ["mg/L as NO3", "mg/l NO3", "mg/L as no3"] {
            let read = counted_unit(text).unwrap();
            assert_eq!((read.unit.to_lowercase().as_str(), read.substance), ("mg/l", "NO3"), "{text}");
        }
        assert_eq!(counted_unit("mg/l P").unwrap().substance, "P");
        for text in ["mg/L", "NO3", "mg/L as X", "gpm NO3x"] {
            assert_eq!(counted_unit(text), None, "{text}");
        }
        // 50 mg/L as nitrate is the 11.3 mg/L as nitrogen of drinking water.
        let (element, whole) = molar_masses("nitrate n", "NO3").unwrap();
        assert!((50.0 * element / whole - 11.2948).abs() < 1e-4);
        assert_eq!(molar_masses("nitrate", "NO3"), None);
        assert_eq!(molar_masses("Nitrate-N", "N"), Some((1.0, 1.0)));
    }
}

//! Names of what is measured in water: the usual writings of one parameter are one name.

/// Each parameter as the trade writes it, with its other usual writings as [`bare`] leaves them. Nitrate and
/// nitrate-nitrogen stay two: they differ more than fourfold.
const SAME: [(&str, &[&str]); 27] = [
    (
        "total suspended solids",
        &[
            "tss",
            "suspended solids",
            "total susp solids",
            "susp solids",
            "total suspended solid",
            "total suspended matter",
        ],
    ),
    ("settleable solids", &["settleable matter", "sett solids"]),
    ("total dissolved solids", &["tds", "dissolved solids"]),
    ("nitrate-nitrogen", &["nitrate n", "nitrate as n", "nitrate as nitrogen", "no3 n", "no3 as n", "n as nitrate"]),
    ("nitrite-nitrogen", &["nitrite n", "nitrite as n", "nitrite as nitrogen", "no2 n", "no2 as n"]),
    (
        "nitrate and nitrite nitrogen",
        &[
            "nitrate nitrite n",
            "nitrate nitrite nitrogen",
            "nitrate plus nitrite n",
            "nitrate plus nitrite nitrogen",
            "nitrate and nitrite n",
            "nitrate and nitrite as n",
        ],
    ),
    ("ammonia-nitrogen", &["ammonia n", "ammonia as n", "ammonia as nitrogen", "nh3 n", "nh3 as n"]),
    ("total kjeldahl nitrogen", &["tkn", "kjeldahl nitrogen"]),
    ("total nitrogen", &["total n", "tn", "nitrogen total", "total nitrogen as n"]),
    ("total phosphorus", &["total p", "tp", "phosphorus total", "total phosphorous", "total phosphorus as p"]),
    ("electrical conductivity", &["ec", "conductivity", "specific conductance"]),
    ("temperature", &["temp", "water temperature"]),
    ("biochemical oxygen demand", &["bod", "bod5", "bod 5", "5 day bod", "biological oxygen demand"]),
    ("chemical oxygen demand", &["cod"]),
    ("dissolved oxygen", &["do", "d o"]),
    ("total residual chlorine", &["trc", "total chlorine", "residual chlorine"]),
    ("free chlorine", &["free residual chlorine", "free available chlorine"]),
    ("oil and grease", &["o and g", "oil grease", "fog"]),
    ("E. coli", &["escherichia coli", "ecoli"]),
    ("fecal coliform", &["faecal coliform", "fecal coliforms", "faecal coliforms"]),
    ("sodium adsorption ratio", &["sar"]),
    ("pH", &["ph value", "p h", "acidity ph"]),
    ("turbidity", &["turb"]),
    ("sulfate", &["sulphate"]),
    ("zinc", &["zn"]),
    ("copper", &["cu"]),
    ("iron", &["fe"]),
];

/// Lower case, words parted by one space, marks left out: `Nitrate-N (as N)` is `nitrate n as n`.
fn bare(text: &str) -> String {
    let spaced: String = text
        .to_lowercase()
        .replace('&', " and ")
        .replace('+', " plus ")
        .chars()
        .map(|c| if c.is_alphanumeric() { c } else { ' ' })
        .collect();
    spaced.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The name of a parameter however it was written: a usual short form written out, and lower case but for what the trade
/// writes otherwise.
///
/// ```
/// use bywash::quantity::parameter_name;
///
/// assert_eq!(parameter_name(" TSS "), "total suspended solids");
/// assert_eq!(parameter_name("Nitrate-N"), parameter_name("nitrate nitrogen"));
/// assert_ne!(parameter_name("nitrate"), parameter_name("nitrate-nitrogen"));
/// assert_eq!(parameter_name("Iron,  dissolved"), "iron, dissolved");
/// assert_eq!(parameter_name("PH"), "pH");
/// ```
pub fn parameter_name(text: &str) -> String {
    known(text).map_or_else(|| parameter_as_written(&text.to_lowercase()), str::to_owned)
}

/// A parameter in the user's own words, for print: single spaces, and pH and E. coli as the trade writes them.
///
/// ```
/// use bywash::quantity::parameter_as_written;
///
/// assert_eq!(parameter_as_written("ph"), "pH");
/// assert_eq!(parameter_as_written("Ph,  field"), "pH, field");
/// assert_eq!(parameter_as_written("Escherichia coli"), "E. coli");
/// assert_eq!(parameter_as_written("TSS"), "TSS");
/// assert_eq!(parameter_as_written("nitrate-n"), "nitrate-N");
/// ```
pub fn parameter_as_written(text: &str) -> String {
    if let Some(name) = known(text).filter(|name| name.contains(char::is_uppercase)) {
        return name.to_owned();
    }
    let words = text.split_whitespace().map(|word| {
        let (letters, marks) = word.split_at(word.trim_end_matches([',', ';', ':']).len());
        let known = ["pH", "E.", "coli"].into_iter().find(|known| letters.eq_ignore_ascii_case(known));
        // As nitrogen, as phosphorus.
        let as_element = ["-n", "-p"].into_iter().find_map(|tail| letters.strip_suffix(tail).zip(Some(tail)));
        match as_element {
            Some((of, tail)) => format!("{of}{}{marks}", tail.to_uppercase()),
            _ => format!("{}{marks}", known.unwrap_or(letters)),
        }
    });
    words.collect::<Vec<_>>().join(" ")
}

/// The trade's name of a parameter, where a text is one of its usual writings.
pub(crate) fn known(text: &str) -> Option<&'static str> {
    let asked = bare(text);
    let known = SAME.iter().find(|(name, others)| bare(name) == asked || others.contains(&asked.as_str()));
    known.map(|(name, _)| *name)
}

#[cfg(test)]
mod tests {
    use super::{SAME, bare, parameter_name};
    use std::collections::BTreeSet;

    #[test]
    fn no_writing_stands_for_two_parameters() {
        let mut seen = BTreeSet::new();
        for (name, others) in SAME {
            assert!(seen.insert(bare(name)), "{name}");
            for other in others {
                assert_eq!(bare(other), *other, "as `bare` leaves it");
                assert!(seen.insert((*other).to_owned()), "{other}");
            }
        }
    }

    #[test]
    fn the_usual_writings_of_a_parameter_are_one() {
        for text in ["nitrate-N", "nitrate n", "Nitrate-Nitrogen", "Nitrate (as N)", "NO3-N"] {
            assert_eq!(parameter_name(text), "nitrate-nitrogen", "{text}");
        }
        for text in ["TSS", "Total  suspended-solids", "suspended solids"] {
            assert_eq!(parameter_name(text), "total suspended solids", "{text}");
        }
        assert_eq!(parameter_name("ph"), "pH");
        assert_eq!(parameter_name("field PH"), "field pH");
        assert_eq!(parameter_name("ECOLI"), "E. coli");
        assert_eq!(parameter_name("E. Coli, total"), "E. coli, total");
        assert_eq!(parameter_name("total suspnded solids"), "total suspnded solids");
    }
}

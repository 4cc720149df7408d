//! The words of a heading, its unit, and the parameters that are named by them.

use crate::quantity::{counted_unit, known_parameter, meter_unit, units};

pub(super) fn tokens(heading: &str) -> Vec<String> {
    heading
        .split(|c: char| !(c.is_alphanumeric() || c == '#'))
        .filter(|token| !token.is_empty())
        .map(str::to_lowercase)
        .collect()
}

/// The heading without its unit, and the unit: in brackets, or as its last words.
pub(super) fn without_unit(heading: &str) -> (String, Option<String>) {
    let is_unit = |text: &str| {
        !text.is_empty() && (units::named(text).is_some() || meter_unit(text).is_ok() || counted_unit(text).is_some())
    };
    for (open, close) in [('(', ')'), ('[', ']')] {
        if let Some(from) = heading.rfind(open)
            && let Some(length) = heading.get(from..).and_then(|rest| rest.find(close))
        {
            let inside = heading.get(from + 1..from + length).unwrap_or_default().trim();
            if is_unit(inside) {
                let outside = format!(
                    "{} {}",
                    heading.get(..from).unwrap_or_default(),
                    heading.get(from + length + 1..).unwrap_or_default()
                );
                return counting(outside.trim(), inside);
            }
        }
    }
    let words: Vec<&str> = heading.split_whitespace().collect();
    for count in [3, 2, 1] {
        let Some(from) = words.len().checked_sub(count).filter(|from| *from > 0) else {
            continue;
        };
        let tail = words.get(from..).unwrap_or_default().join(" ");
        // "water in" may be no inches; a depth or a level says so elsewhere.
        let depth_word = ["rain", "level", "depth", "freeboard", "rainfall", "weir", "notch", "head"]
            .iter()
            .any(|word| heading.to_lowercase().contains(word));
        let risky = matches!(
            tail.to_lowercase().as_str(),
            "in" | "in." | "m" | "g" | "l" | "h" | "s" | "day" | "min" | "meter" | "meters" | "metre" | "metres"
        );
        if is_unit(&tail) && (!risky || depth_word) {
            let head = words.get(..from).unwrap_or_default().join(" ");
            return counting(head.trim_end_matches([',', '-', ':']), &tail);
        }
    }
    (heading.to_string(), None)
}

/// A heading and its unit, where the unit may say what it counts: `Total P`, `mg/l P` is in `mg/l`; `Nitrate`, `mg/l N` is
/// `Nitrate as N`; `mg/l NO3` stays `mg/l as NO3`.
fn counting(heading: &str, unit: &str) -> (String, Option<String>) {
    let counted = counted_unit(unit).filter(|_| units::named(unit).is_none());
    let Some(counted) = counted else { return (heading.to_string(), Some(unit.to_string())) };
    if counted.substance.len() > 1 {
        return (heading.to_string(), Some(format!("{} as {}", counted.unit, counted.substance)));
    }
    let with = format!("{heading} as {}", counted.substance);
    let heading = if known_parameter(&with).is_some() { with } else { heading.to_string() };
    (heading, Some(counted.unit))
}

/// Whether a line such as `TSS (mg/L)` names a parameter and little else.
pub(super) fn names_a_parameter(line: &str) -> bool {
    const MOST_WORDS: usize = 5;
    let (bare, unit) = without_unit(line);
    let words = tokens(&bare);
    let by_a_word = words.iter().any(|word| PARAMETERS.iter().any(|(known, _)| known == word));
    words.len() <= MOST_WORDS && (known_parameter(&words.join(" ")).is_some() || by_a_word)
        || unit.is_some() && known_parameter(&bare).is_some()
}

/// Parameters by the words of a heading: a word that names one, and the parameter's own name where it is short for it.
pub(super) const PARAMETERS: [(&str, Option<&str>); 20] = [
    ("tss", Some("total suspended solids")),
    ("suspended", None),
    ("ph", Some("pH")),
    ("turbidity", None),
    ("settleable", None),
    ("nitrate", None),
    ("nitrogen", None),
    ("ammonia", None),
    ("phosphorus", None),
    ("phosphate", None),
    ("bod", None),
    ("cod", None),
    ("conductivity", None),
    ("ec", Some("electrical conductivity")),
    ("chlorine", None),
    ("temperature", None),
    ("coliform", None),
    ("coli", None),
    ("copper", None),
    ("oil", None),
];

//! What a pond one step smaller would fail.

use crate::report::basin::page::lacks;
use crate::report::basin::units::Units;
use crate::sizing::Answer;

pub(super) fn one_smaller(units: Units, answer: &Answer) -> String {
    // Ways that come out alike are told together.
    let mut told: Vec<(Vec<String>, String)> = Vec::new();
    for one in &answer.smaller {
        let way = format!("{} {}", fine_step(units, one.step_m), one.word);
        let comes_out = match &one.shape {
            None => ": the plot's own rules do not allow it".to_owned(),
            Some((_, checks)) => {
                let failing = checks.iter().filter(|check| !check.is_met());
                let fails: Vec<String> = failing
                    .map(|check| match lacks(units, check) {
                        Some(by) => format!("{} ({by})", check.duty.fails()),
                        None => check.duty.fails().to_owned(),
                    })
                    .collect();
                if fails.is_empty() {
                    " still does every duty, but what is to be least is not less".to_owned()
                } else {
                    format!(" it {}", fails.join(" and "))
                }
            }
        };
        match told.iter_mut().find(|(_, known)| *known == comes_out) {
            Some((ways, _)) => ways.push(way),
            None => told.push((vec![way], comes_out)),
        }
    }
    let parts: Vec<String> =
        told.iter().map(|(ways, comes_out)| format!("{}{comes_out}", one_or_other(ways))).collect();
    format!(". One step smaller: {}.", parts.join("; "))
}

/// `a`, `a or b`, `a, b or c`.
pub(super) fn one_or_other<T: AsRef<str>>(words: &[T]) -> String {
    match words {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [rest @ .., last] => {
            let rest: Vec<&str> = rest.iter().map(AsRef::as_ref).collect();
            format!("{} or {}", rest.join(", "), last.as_ref())
        }
    }
}

/// A step with the digits it is told in.
pub(super) fn fine_step(units: Units, step_m: f64) -> String {
    units.typed_m(step_m)
}

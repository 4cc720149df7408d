//! What one count of a dial stands for, by its heading and by its meter.

use std::collections::BTreeSet;

use crate::facility::model::Facility;
use crate::records::sheet::apply::column_name;
use crate::records::sheet::draft::{About, Draft, Question};
use crate::records::sheet::grid::letters;
use crate::records::sheet::mapping::Column;
use crate::records::sheet::meaning::inner;

/// Asks where a heading says that its dials count in tens or hundreds, and the meter is said to count otherwise.
pub(super) fn ask_factor(
    facility: &Facility,
    column: &Column,
    at: usize,
    heading: &str,
    (asked, draft): (&mut BTreeSet<String>, &mut Draft),
) {
    let Column::Values { place, what, unit: None, .. } = column else { return };
    let meter = facility.meters.iter().find(|meter| meter.name == *place);
    let (Some(meter), Some(said)) = (meter.filter(|_| what == "reading"), factor_said(heading)) else { return };
    let counts = factor_said(&meter.counts_in).unwrap_or(1);
    let later = meter.exchanged.iter().filter_map(|exchange| exchange.counts_in.as_ref());
    if later.into_iter().any(|(unit, _)| factor_said(unit).unwrap_or(1) == said) {
        return;
    }
    let name = if heading.is_empty() { letters(at) } else { heading.to_owned() };
    if said == counts || !asked.insert(format!("{name}, its factor")) {
        return;
    }
    let of = |unit: &str| {
        let mut column = column.clone();
        if let Column::Values { unit: held, .. } = &mut column {
            *held = Some(unit.to_owned());
        }
        inner(&column)
    };
    let bare = meter.counts_in.trim_start_matches(|c: char| c == 'x' || c.is_ascii_digit()).trim();
    let options = vec![of(&meter.counts_in), of(&format!("x{said} {bare}"))];
    draft.questions.push(Question {
        flag: format!("--column '{name}={}'", options.first().cloned().unwrap_or_default()),
        text: format!(
            "{}: the heading counts by {said}, and {} in {}: which is right?",
            column_name(at, heading),
            meter.name,
            meter.counts_in
        ),
        about: About::Column(name),
        options,
    });
}

/// What one count of a dial stands for, by the words of a heading or of a meter: `x100`, `(00)`, `100 ft3`.
fn factor_said(text: &str) -> Option<u64> {
    let lower = text.to_lowercase().replace('\u{d7}', "x");
    let words: Vec<&str> =
        lower.split(|c: char| c.is_whitespace() || "()[],".contains(c)).filter(|word| !word.is_empty()).collect();
    let power = |digits: &str| {
        let noughts = digits.strip_prefix('1')?;
        (!noughts.is_empty() && noughts.bytes().all(|byte| byte == b'0')).then(|| digits.parse().ok()).flatten()
    };
    words.iter().enumerate().find_map(|(at, word)| {
        let before = at.checked_sub(1).and_then(|before| words.get(before));
        if let Some(digits) = word.strip_prefix('x').or_else(|| word.strip_suffix('x')) {
            return power(digits);
        }
        let follows_x = before == Some(&"x") || at == 0;
        if follows_x && let Some(factor) = power(word) {
            return Some(factor);
        }
        let noughts = word.bytes().all(|byte| byte == b'0') && text.contains(&format!("({word})"));
        (noughts && word.len() <= 4).then(|| 10_u64.pow(u32::try_from(word.len()).unwrap_or(0)))
    })
}

#[cfg(test)]
mod tests {
    use super::factor_said;

    #[test]
    fn a_heading_says_what_one_count_stands_for() {
        for (text, factor) in [
            ("M1 (x100)", Some(100)),
            ("Well 1 x100 gal", Some(100)),
            ("Sewer x 10", Some(10)),
            ("001 (00)", Some(100)),
            ("100 ft3", Some(100)),
            ("x10 gal", Some(10)),
            ("001 meter", None),
            ("Outfall 100 mg/L", None),
            ("gal", None),
        ] {
            assert_eq!(factor_said(text), factor, "{text}");
        }
    }
}

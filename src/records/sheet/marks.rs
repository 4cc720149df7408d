//! The decimal mark of a sheet, by its texts.

use crate::facility::model::Facility;
use crate::quantity::{DecimalMark, System};
use crate::records::sheet::draft::{About, Answers, Draft, Question, data};
use crate::records::sheet::grid::{Grid, Tab};
use crate::records::sheet::layout::Layout;

/// The decimal mark, from texts that leave no choice.
pub(super) fn mark(
    facility: &Facility,
    grid: &Grid,
    found: &[(&Tab, Layout)],
    answers: &Answers,
    draft: &mut Draft,
) -> DecimalMark {
    if let Some(mark) = answers.mark {
        return mark;
    }
    let (mut comma, mut point, mut either) = (None, None, None);
    for (tab, layout) in found {
        for row in data(tab, layout) {
            for (at, text) in row.cells.iter().enumerate() {
                if at == layout.date || row.is_native(at) {
                    continue;
                }
                match shape(text) {
                    Some(Shape::Comma) => comma = comma.or(Some(text)),
                    Some(Shape::Point) => point = point.or(Some(text)),
                    Some(Shape::Either) => either = either.or(Some(text)),
                    None => {}
                }
            }
        }
    }
    let ask = |draft: &mut Draft, text: String| {
        draft.questions.push(Question {
            about: About::Mark,
            text,
            options: vec!["point".into(), "comma".into()],
            flag: "--decimal-mark point".into(),
        });
        DecimalMark::Point
    };
    match (comma, point, either) {
        (Some(comma), Some(point), _) => {
            ask(draft, format!("`{comma}` has a decimal comma and `{point}` a decimal point: which is right?"))
        }
        (Some(_), None, _) => DecimalMark::Comma,
        (None, None, Some(_)) if grid.delimiter == Some(b';') => DecimalMark::Comma,
        (None, None, Some(text)) if facility.system == System::Metric => {
            ask(draft, format!("`{text}` could be thousands or decimals: which mark stands before decimals?"))
        }
        _ => DecimalMark::Point,
    }
}

enum Shape {
    Comma,
    Point,
    Either,
}

/// What the marks of a number say of its decimals.
fn shape(text: &str) -> Option<Shape> {
    let number = text.trim_start_matches(['<', '>', '~', '=', ' ', '-', '\u{2212}']);
    let number: &str = number.split(|c: char| c.is_whitespace() || c.is_alphabetic()).next()?;
    if number.is_empty() || !number.chars().all(|c| c.is_ascii_digit() || c == '.' || c == ',') {
        return None;
    }
    let last = number.rfind(['.', ','])?;
    let mark = number.get(last..=last)?;
    let behind = number.len() - last - 1;
    let before = number.get(..last)?;
    let other = if mark == "," { '.' } else { ',' };
    let decimal = before.contains(other)
        || behind != 3
        || before == "0"
        || before.is_empty()
        || before.len() > 3 && !before.contains(mark);
    let repeated = before.contains(mark);
    if repeated {
        // Only groups repeat their mark, so the other one is the decimal mark.
        return Some(if mark == "," { Shape::Point } else { Shape::Comma });
    }
    Some(match (decimal, mark) {
        (true, ",") => Shape::Comma,
        (true, _) => Shape::Point,
        (false, _) => Shape::Either,
    })
}

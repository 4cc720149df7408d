//! The boxes that outcomes stand in. A closed box is measured, square brackets are computed; a photocopy keeps it.

use crate::page::document::{OutcomeForm, Style};
use crate::page::draw::{Anchor, Area, Canvas, INK, Pen, SLATE, Type, WHITE, at, fitted};

const DASHES: &[f32] = &[3.0, 2.0];

/// Draws an outcome in `area`, with the mark of a note after the word.
pub fn outcome_box(canvas: &mut dyn Canvas, area: Area, form: OutcomeForm, mark: Option<&str>) {
    let style = match form {
        OutcomeForm::Met | OutcomeForm::NoDischarge | OutcomeForm::NotInForce | OutcomeForm::NotEvaluable => {
            Style::Plain
        }
        OutcomeForm::Exceeded | OutcomeForm::BelowMinimum | OutcomeForm::OutsideRange | OutcomeForm::NotShown => {
            Style::Bold
        }
        OutcomeForm::PredictedWithin | OutcomeForm::PredictedOutside | OutcomeForm::Undecided => Style::Italic,
    };
    let mut kind = Type::plain(8.5).style(style);
    match form {
        OutcomeForm::Met => canvas.frame(area, Pen::ink(0.6)),
        OutcomeForm::Exceeded | OutcomeForm::BelowMinimum | OutcomeForm::OutsideRange => {
            canvas.block(area, INK);
            kind.colour = WHITE;
        }
        OutcomeForm::NotShown => canvas.frame(area, Pen::ink(1.0).dashed(DASHES)),
        OutcomeForm::NoDischarge => {
            for y in [area.y, area.bottom()] {
                canvas.line(&[at(area.x, y), at(area.right(), y)], Pen::ink(0.6));
            }
        }
        OutcomeForm::NotInForce | OutcomeForm::NotEvaluable => kind.colour = SLATE,
        OutcomeForm::PredictedWithin => brackets(canvas, area, Pen::ink(0.8)),
        OutcomeForm::PredictedOutside => brackets(canvas, area, Pen::ink(2.2)),
        OutcomeForm::Undecided => brackets(canvas, area, Pen::ink(0.8).dashed(DASHES)),
    }
    let words = match mark {
        Some(mark) => format!("{} ({mark})", form.words()),
        None => form.words().to_owned(),
    };
    // A long one is set smaller before it is cut.
    // Heavy brackets take room of their own.
    let room = area.width - if form == OutcomeForm::PredictedOutside { 11.0 } else { 6.0 };
    kind.size *= (room / kind.width(&words)).clamp(0.85, 1.0);
    let words = fitted(&words, kind, room);
    canvas.set(at(area.x + area.width / 2.0, area.y + area.height / 2.0 + 3.0), &words, kind, Anchor::Middle);
}

fn brackets(canvas: &mut dyn Canvas, area: Area, pen: Pen) {
    let foot = 5.0;
    let inset = pen.width / 2.0;
    let (left, right) = (area.x + inset, area.right() - inset);
    let (top, bottom) = (area.y + inset, area.bottom() - inset);
    canvas.line(&[at(left + foot, top), at(left, top), at(left, bottom), at(left + foot, bottom)], pen);
    canvas.line(&[at(right - foot, top), at(right, top), at(right, bottom), at(right - foot, bottom)], pen);
}

//! Calendars: a row for each month, a mark for each day, the key below.

use crate::page::document::{Calendar, DayMark};
use crate::page::draw::{Anchor, Area, Canvas, Hatch, INK, Pen, SLATE, STONE, Type, at, hatch_rect};

const ROW: f32 = 11.0;
const HEAD: f32 = 11.0;
const KEY: f32 = 15.0;
const NAMES: f32 = 46.0;
/// Room for what left in a month, and for on how many days.
const TOTALS: f32 = 74.0;
const DAYS: f32 = 24.0;
const SMALL: f32 = 7.5;
/// Side of a mark.
const MARK: f32 = 7.0;

/// The height of a calendar in points.
pub fn height(calendar: &Calendar) -> f32 {
    HEAD + calendar.months.len() as f32 * ROW + KEY
}

/// Draws a calendar `width` points wide with its top left corner at `left`, `top`.
pub fn draw(canvas: &mut dyn Canvas, calendar: &Calendar, (left, top): (f32, f32), width: f32) {
    let totals = if calendar.has_totals() { TOTALS + DAYS } else { 0.0 };
    let pitch = ((width - NAMES - totals) / 31.0).min(14.4);
    let end = left + NAMES + 31.0 * pitch + totals;
    let slate = Type::plain(SMALL).colour(SLATE);
    let middle = |day: usize| left + NAMES + (day as f32 + 0.5) * pitch;
    for day in 0..31 {
        canvas.set(at(middle(day), top + HEAD - 3.0), &(day + 1).to_string(), slate, Anchor::Middle);
    }
    if calendar.has_totals() {
        canvas.set(at(end - DAYS, top + HEAD - 3.0), &calendar.totals, slate, Anchor::End);
        canvas.set(at(end, top + HEAD - 3.0), "days", slate, Anchor::End);
    }
    for (row, month) in calendar.months.iter().enumerate() {
        let y = top + HEAD + row as f32 * ROW;
        if let Some(total) = &month.total {
            let kind = total.basis.map_or(Type::plain(SMALL), |basis| Type::plain(SMALL).style(basis.style()));
            canvas.set(at(end - DAYS, y + ROW - 2.5), &total.text(), kind, Anchor::End);
            canvas.set(at(end, y + ROW - 2.5), &month.days_with_water().to_string(), Type::plain(SMALL), Anchor::End);
        }
        canvas.set(at(left, y + ROW - 2.5), &month.name, Type::plain(SMALL), Anchor::Start);
        for (day, (mark, sample)) in month.days.iter().enumerate() {
            let area = Area { x: middle(day) - MARK / 2.0, y: y + 1.0, width: MARK, height: MARK };
            one(canvas, *mark, area);
            if *sample {
                sampled(canvas, area);
            }
        }
    }
    let y = top + height(calendar) - KEY + 4.0;
    let mut x = left + NAMES;
    let kind = Type::plain(SMALL);
    for mark in DayMark::KEY {
        one(canvas, mark, Area { x, y, width: MARK, height: MARK });
        x += MARK + 4.0;
        x += canvas.set(at(x, y + MARK - 0.5), mark.words(), kind, Anchor::Start) + 9.0;
    }
    let area = Area { x, y, width: MARK, height: MARK };
    sampled(canvas, area);
    canvas.set(at(x + MARK + 3.0, y + MARK - 0.5), "sampled", kind, Anchor::Start);
}

fn one(canvas: &mut dyn Canvas, mark: DayMark, area: Area) {
    match mark {
        DayMark::Outside => {}
        DayMark::NotSeen => {
            let (x, y) = (area.x + area.width / 2.0, area.y + area.height / 2.0);
            canvas.block(Area { x: x - 0.6, y: y - 0.6, width: 1.2, height: 1.2 }, STONE);
        }
        DayMark::Dry => canvas.frame(inner(area, 1.2), Pen::ink(0.6)),
        DayMark::ComputedOnly => {
            hatch_rect(canvas, area, Hatch::Diagonal, INK);
            canvas.frame(area, Pen::ink(0.4));
        }
        DayMark::Flowing => canvas.block(area, INK),
    }
}

/// A bar under the mark.
fn sampled(canvas: &mut dyn Canvas, area: Area) {
    canvas.block(Area { x: area.x - 1.0, y: area.bottom() + 0.9, width: area.width + 2.0, height: 1.2 }, INK);
}

fn inner(area: Area, by: f32) -> Area {
    Area { x: area.x + by, y: area.y + by, width: area.width - 2.0 * by, height: area.height - 2.0 * by }
}

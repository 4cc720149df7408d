//! Hatches, cut to the rectangle they fill. Their lines hang on the sheet, not on the rectangle, so that neighbouring bars
//! carry one pattern.

use crate::page::draw::{Area, Canvas, Colour, Pen, at};

/// A hatch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hatch {
    /// Filled.
    Solid,
    /// 45°, 0.9 pt every 3.
    Diagonal,
    /// Horizontal, 0.9 pt every 3.
    Level,
    /// Upright, 0.9 pt every 5.
    Upright,
    /// Dots of 1.5 pt every 4.
    Dots,
    /// Sparse cross-hatch, 0.5 pt every 6: missing data.
    Missing,
}

/// Fills `area` with a hatch in `colour`, without an outline.
pub fn hatch_rect(canvas: &mut dyn Canvas, area: Area, hatch: Hatch, colour: Colour) {
    if !(area.width > 0.0 && area.height > 0.0) {
        return;
    }
    match hatch {
        Hatch::Solid => canvas.block(area, colour),
        Hatch::Diagonal => slanted(canvas, area, 3.0, Pen::solid(colour, 0.9), true),
        Hatch::Level => {
            for y in steps(area.y, area.bottom(), 3.0) {
                canvas.line(&[at(area.x, y), at(area.right(), y)], Pen::solid(colour, 0.9));
            }
        }
        Hatch::Upright => {
            for x in steps(area.x, area.right(), 5.0) {
                canvas.line(&[at(x, area.y), at(x, area.bottom())], Pen::solid(colour, 0.9));
            }
        }
        Hatch::Dots => {
            for y in steps(area.y + 0.75, area.bottom() - 0.75, 4.0) {
                for x in steps(area.x + 0.75, area.right() - 0.75, 4.0) {
                    let dot = Area { x: x - 0.75, y: y - 0.75, width: 1.5, height: 1.5 };
                    canvas.block(dot, colour);
                }
            }
        }
        Hatch::Missing => {
            slanted(canvas, area, 6.0, Pen::solid(colour, 0.5), true);
            slanted(canvas, area, 6.0, Pen::solid(colour, 0.5), false);
        }
    }
}

/// The multiples of `step` between two ends.
fn steps(low: f32, high: f32, step: f32) -> Vec<f32> {
    let mut found = Vec::new();
    let mut k = (low / step).ceil();
    while k * step <= high && found.len() < 4000 {
        found.push(k * step);
        k += 1.0;
    }
    found
}

/// 45° lines, `step` points apart across the line. Rising ones satisfy x + y = c, falling ones x − y = c.
fn slanted(canvas: &mut dyn Canvas, area: Area, step: f32, pen: Pen, rising: bool) {
    let spread = step * std::f32::consts::SQRT_2;
    let (low, high) = if rising {
        (area.x + area.y, area.right() + area.bottom())
    } else {
        (area.x - area.bottom(), area.right() - area.y)
    };
    for c in steps(low, high, spread) {
        let (x0, x1) = if rising {
            (area.x.max(c - area.bottom()), area.right().min(c - area.y))
        } else {
            (area.x.max(c + area.y), area.right().min(c + area.bottom()))
        };
        if x1 - x0 > 0.2 {
            let y = |x: f32| if rising { c - x } else { x - c };
            canvas.line(&[at(x0, y(x0)), at(x1, y(x1))], pen);
        }
    }
}

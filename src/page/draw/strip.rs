//! The margin strip: how far the worst value stands from its limit.

use crate::page::document::Strip;
use crate::page::draw::{Area, Canvas, Hatch, INK, Pen, STONE, WHITE, at, hatch_rect};

/// Height of a strip in points.
const HEIGHT: f32 = 8.0;

/// Draws a strip with its top left corner at `corner`. The limit always stands two thirds along from the safe end; a strip
/// for a least value is mirrored. What lies off the scale gets an arrowhead.
pub fn margin_strip(canvas: &mut dyn Canvas, (x, y): (f32, f32), width: f32, strip: &Strip) {
    let height = HEIGHT;
    let area = Area { x, y, width, height };
    let tick = width * 2.0 / 3.0;
    // Distance along the strip from the safe end, in thirds of the span from nought to the limit: the limit is at two
    // thirds, nought at the start for a limit that is a most. For a least value, twice the limit is at the start.
    let along = |value: f64| -> f32 {
        let ratio = if strip.limit.abs() < f64::EPSILON {
            // A limit of nought: anything above it is beyond, by an amount that has no scale.
            if value <= 0.0 { 1.0 } else { 1.25 }
        } else if strip.is_minimum {
            2.0 - value / strip.limit
        } else {
            value / strip.limit
        };
        (ratio as f32) * tick
    };
    let place = |along: f32| {
        if strip.is_minimum { x + width - along } else { x + along }
    };
    let beyond = if strip.is_minimum {
        Area { width: width - tick, ..area }
    } else {
        Area { x: x + tick, width: width - tick, ..area }
    };
    hatch_rect(canvas, beyond, Hatch::Diagonal, STONE);
    canvas.frame(area, Pen::ink(0.25));
    let limit = place(tick);
    canvas.line(&[at(limit, y - 2.0), at(limit, y + height + 2.0)], Pen::ink(1.2));
    let middle = y + height / 2.0;
    let clamp = |v: f32| v.clamp(0.0, width);
    if let (Some(low), Some(high)) = (strip.low, strip.high)
        && low.is_finite()
        && !high.is_nan()
        && high > low
    {
        let a = place(clamp(along(low)));
        let b = place(clamp(along(high.min(1e300))));
        canvas.block(Area { x: a.min(b), y: middle - 1.0, width: (a - b).abs().max(0.5), height: 2.0 }, INK);
    }
    if !strip.worst.is_finite() {
        return;
    }
    let worst = along(strip.worst);
    if (0.0..=width).contains(&worst) {
        let square = Area { x: place(worst.clamp(2.5, width - 2.5)) - 2.5, y: middle - 2.5, width: 5.0, height: 5.0 };
        let halo = Area { x: square.x - 1.0, y: square.y - 1.0, width: 7.0, height: 7.0 };
        canvas.block(halo, WHITE);
        if strip.measured {
            canvas.block(square, INK);
        } else {
            canvas.block(square, WHITE);
            canvas.frame(Area { x: square.x + 0.4, y: square.y + 0.4, width: 4.2, height: 4.2 }, Pen::ink(0.8));
        }
    } else {
        // Off the scale: an arrowhead at the end it left by.
        let forward = (worst > width) != strip.is_minimum;
        let tip = if forward { x + width } else { x };
        let back = if forward { tip - 6.0 } else { tip + 6.0 };
        canvas.block(Area { x: tip.min(back), y: y + 0.4, width: 6.0, height: height - 0.8 }, WHITE);
        canvas.fill(&[at(tip, middle), at(back, middle - 3.0), at(back, middle + 3.0)], INK);
    }
}

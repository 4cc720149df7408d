//! Axes: round steps up the side, months or classes along the foot.

use chrono::{Datelike, Days, NaiveDate};

use crate::page::charts::{Frame, SMALL, SMALL_LINE};
use crate::page::document::{Axis, Text, figures};
use crate::page::draw::{Anchor, Canvas, INK, Pen, SLATE, Type, at, wrap};

/// The scale up the side.
#[derive(Debug, Clone, PartialEq)]
pub struct Scale {
    /// Value at the foot of the plot.
    pub low: f64,
    /// Value at its top.
    pub high: f64,
    /// Round values between, foot and top counted in; at most four.
    pub ticks: Vec<f64>,
    /// Digits after the decimal mark of the ticks.
    pub digits: u8,
}

impl Scale {
    /// The scale for values between two ends, from nought if asked.
    pub fn over(least: f64, most: f64, from_zero: bool) -> Self {
        let (mut least, mut most) =
            if least.is_finite() && most.is_finite() && least <= most { (least, most) } else { (0.0, 1.0) };
        if from_zero {
            least = least.min(0.0);
            most = most.max(0.0);
        }
        if most - least < 1e-12 * most.abs().max(1e-12) {
            let pad = if most.abs() > 0.0 { most.abs() * 0.5 } else { 1.0 };
            most += pad;
            if !from_zero {
                least -= pad;
            }
        }
        let span = most - least;
        let mut power = 10f64.powf((span / 3.0).log10().floor());
        if !(power.is_finite() && power > 0.0) {
            power = 1.0;
        }
        let mut chosen = (least, most, span);
        'found: for _ in 0..4 {
            for factor in [1.0, 2.0, 2.5, 5.0] {
                let step = power * factor;
                let low = (least / step + 1e-9).floor() * step;
                let high = (most / step - 1e-9).ceil() * step;
                if ((high - low) / step).round() <= 3.0 {
                    chosen = (low, high, step);
                    break 'found;
                }
            }
            power *= 10.0;
        }
        let (low, high, step) = chosen;
        let count = ((high - low) / step).round().clamp(1.0, 4.0) as usize;
        let ticks = (0..=count).map(|i| low + step * i as f64).collect();
        let mut digits = 0u8;
        while digits < 9 {
            let scaled = step * 10f64.powi(i32::from(digits));
            if (scaled - scaled.round()).abs() < 1e-6 * scaled.abs().max(1e-9) {
                break;
            }
            digits += 1;
        }
        Self { low, high, ticks, digits }
    }

    /// How far up the plot a value is, 0 to 1.
    pub fn share(&self, value: f64) -> f32 {
        let span = self.high - self.low;
        if span > 0.0 && value.is_finite() { (((value - self.low) / span) as f32).clamp(0.0, 1.0) } else { 0.0 }
    }

    /// Hairlines and figures of a plot between `top` and `bottom`.
    pub fn draw(&self, canvas: &mut dyn Canvas, frame: &Frame, top: f32, bottom: f32) {
        let kind = Type::plain(SMALL).colour(SLATE);
        for (i, tick) in self.ticks.iter().enumerate() {
            let y = bottom - self.share(*tick) * (bottom - top);
            if i > 0 {
                let mist = Pen::solid(crate::page::draw::MIST, 0.25);
                canvas.line(&[at(frame.left, y), at(frame.right, y)], mist);
            }
            let figure = figures::number(*tick, self.digits);
            canvas.set(at(frame.left - 4.0, y + 2.7), &figure, kind, Anchor::End);
        }
    }
}

fn class_lines(names: &[String], width: f32) -> usize {
    let kind = Type::plain(SMALL);
    names.iter().map(|name| wrap(&Text::from(name), kind, width).len()).max().unwrap_or(1).min(4)
}

/// Height of what stands below the lowest panel.
pub fn foot(axis: &Axis) -> f32 {
    match axis {
        Axis::Days { .. } => 14.0,
        Axis::Measured { .. } => 14.0 + SMALL_LINE,
        // The plot is at least 300 points wide wherever it is drawn.
        Axis::Classes(names) => {
            let slot = (300.0 / names.len().max(1) as f32 - 4.0).max(20.0);
            5.0 + class_lines(names, slot) as f32 * SMALL_LINE
        }
    }
}

/// Draws ticks and names along the foot.
pub fn draw_foot(canvas: &mut dyn Canvas, axis: &Axis, frame: &Frame, y: f32) {
    match axis {
        Axis::Days { first, count } => {
            let x_of = |day: i64| frame.left + day as f32 / (*count).max(1) as f32 * (frame.right - frame.left);
            let mut free = frame.left - 1.0;
            for (day, label) in day_ticks(*first, *count) {
                let x = x_of(day);
                canvas.line(&[at(x, y), at(x, y + 3.0)], Pen::ink(0.6));
                let kind = Type::plain(SMALL).colour(SLATE);
                let wide = kind.width(&label);
                if x > free && x + 1.0 + wide <= frame.right + 0.5 {
                    canvas.set(at(x + 1.5, y + 11.0), &label, kind, Anchor::Start);
                    free = x + wide + 5.0;
                }
            }
        }
        Axis::Measured { quantity, unit, places, .. } => {
            let scale = across(places);
            let kind = Type::plain(SMALL).colour(SLATE);
            for tick in &scale.ticks {
                let x = frame.left + scale.share(*tick) * (frame.right - frame.left);
                canvas.line(&[at(x, y), at(x, y + 3.0)], Pen::ink(0.6));
                canvas.set(at(x, y + 11.0), &figures::number(*tick, scale.digits), kind, Anchor::Middle);
            }
            let words = if unit.is_empty() { quantity.clone() } else { format!("{quantity}, {unit}") };
            let bold = Type::bold(SMALL);
            let words = crate::page::charts::fitted(&words, bold, frame.end - frame.left);
            canvas.set(at(frame.left, y + 11.0 + SMALL_LINE), &words, bold, Anchor::Start);
        }
        Axis::Classes(names) => {
            let slot = (frame.right - frame.left) / names.len().max(1) as f32;
            let kind = Type::plain(SMALL).colour(INK);
            // Where classes are many, every second, third, … is named: names stay readable.
            let step = (20.0 / slot.max(0.1)).ceil().max(1.0) as usize;
            let most = class_lines(names, slot * step as f32 - 4.0);
            for (i, name) in names.iter().enumerate().step_by(step) {
                let middle = frame.left + (i as f32 + 0.5) * slot;
                let room = slot * step as f32 - 4.0;
                let lines = wrap(&Text::from(name), kind, room);
                for (n, line) in lines.iter().take(most).enumerate() {
                    let mut words: String = line.pieces.iter().map(|p| p.text.as_str()).collect();
                    if n + 1 == most && lines.len() > most {
                        words = crate::page::charts::fitted(&format!("{words}…"), kind, room);
                    }
                    let wide = kind.width(&words);
                    let x = middle
                        .clamp(frame.left - 20.0 + wide / 2.0, (frame.end - wide / 2.0).max(frame.left + wide / 2.0));
                    let base = y + 10.0 + n as f32 * SMALL_LINE;
                    canvas.set(at(x, base), &words, kind, Anchor::Middle);
                }
            }
        }
    }
}

/// The scale along the foot of a chart of named things: nought is on it.
pub fn across(places: &[f64]) -> Scale {
    let known = || places.iter().copied().filter(|place| place.is_finite());
    Scale::over(known().fold(f64::INFINITY, f64::min), known().fold(f64::NEG_INFINITY, f64::max), true)
}

/// Days to tick, with their names: weeks, months, quarters or years, by how long the axis is.
fn day_ticks(first: NaiveDate, count: usize) -> Vec<(i64, String)> {
    let mut ticks = Vec::new();
    let Some(end) = first.checked_add_days(Days::new(count as u64)) else {
        return ticks;
    };
    let days = (end - first).num_days();
    if days <= 45 {
        let mut day = 0;
        while day < days {
            if let Some(date) = first.checked_add_days(Days::new(day as u64)) {
                ticks.push((day, date.format("%-d %b").to_string()));
            }
            day += 7;
        }
        return ticks;
    }
    let every = match days {
        ..=430 => 1,
        431..=1200 => 3,
        1201..=2600 => 6,
        2601..=9000 => 12,
        _ => 120,
    };
    let mut month = NaiveDate::from_ymd_opt(first.year(), first.month(), 1);
    let mut labelled_year = None;
    while let Some(date) = month {
        if date >= end {
            break;
        }
        let due =
            date.month0() % every.min(12) == 0 && (every < 120 || date.year() % 10 == 0 || labelled_year.is_none());
        if date >= first && due {
            let label = if every >= 12 {
                date.format("%Y").to_string()
            } else if labelled_year == Some(date.year()) {
                date.format("%b").to_string()
            } else {
                date.format("%b %Y").to_string()
            };
            labelled_year = Some(date.year());
            ticks.push(((date - first).num_days(), label));
        }
        month = date.checked_add_months(chrono::Months::new(1));
    }
    ticks
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_scale_has_round_steps_at_most_three_hairlines_and_holds_its_values() {
        for (least, most) in
            [(0.0, 1.0), (0.0, 38.0), (3.0, 1999.0), (-4.0, 9.0), (0.001, 0.0042), (7.0, 7.0), (1e9, 3.3e9), (0.0, 0.0)]
        {
            for from_zero in [true, false] {
                let scale = Scale::over(least, most, from_zero);
                assert!(scale.low <= least + 1e-9 && scale.high >= most - 1e-9, "{scale:?}");
                assert!(scale.ticks.len() <= 4 && scale.ticks.len() >= 2, "{scale:?}");
            }
        }
    }

    #[test]
    fn nonsense_ends_still_give_a_scale() {
        let scale = Scale::over(f64::NAN, f64::INFINITY, true);
        assert!(scale.high > scale.low);
    }

    #[test]
    fn a_year_is_ticked_by_month_with_the_year_said_once() {
        let first = NaiveDate::from_ymd_opt(2024, 11, 1).unwrap();
        let ticks = day_ticks(first, 365);
        assert_eq!(ticks.len(), 12);
        assert_eq!(ticks[0], (0, "Nov 2024".to_owned()));
        assert_eq!(ticks[2], (61, "Jan 2025".to_owned()));
        assert_eq!(ticks[3].1, "Feb");
    }
}

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
        Axis::Days { count, .. } if by_month(*count) => 14.0 + SMALL_LINE,
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
            let kind = Type::plain(SMALL).colour(SLATE);
            let ticks = day_ticks(*first, *count);
            for tick in &ticks {
                let x = x_of(tick.day);
                canvas.line(&[at(x, y), at(x, y + 3.0)], Pen::ink(0.6));
            }
            let pitch = ticks.windows(2).map(|two| match two {
                [a, b] => x_of(b.day) - x_of(a.day),
                _ => f32::INFINITY,
            });
            let (names, every) = names(&ticks, pitch.fold(f32::INFINITY, f32::min), |name| kind.width(name));
            let set = |canvas: &mut dyn Canvas, day: i64, words: &str, base: f32, free: &mut f32| {
                let (x, wide) = (x_of(day), kind.width(words));
                if x > *free && x + 1.0 + wide <= frame.right + 0.5 {
                    canvas.set(at(x + 1.5, base), words, kind, Anchor::Start);
                    *free = x + wide + 2.0;
                }
            };
            let (mut free, mut free_below) = (frame.left - 1.0, frame.left - 1.0);
            for (tick, name) in ticks.iter().zip(&names).step_by(every) {
                set(canvas, tick.day, name, y + 11.0, &mut free);
            }
            for tick in &ticks {
                if let Some(year) = &tick.year {
                    set(canvas, tick.day, year, y + 11.0 + SMALL_LINE, &mut free_below);
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

/// A day to tick.
#[derive(Debug, Clone, PartialEq)]
struct Tick {
    day: i64,
    name: String,
    /// Below the first tick of a year, where ticks are months.
    year: Option<String>,
}

/// Most days of an axis that is ticked by weeks.
const BY_WEEK: usize = 45;
/// Most days of an axis that is ticked by months or by some of them.
const BY_MONTH: usize = 2600;

/// Whether an axis of so many days is ticked by months: their years stand on a line of their own.
fn by_month(days: usize) -> bool {
    (BY_WEEK + 1..=BY_MONTH).contains(&days)
}

/// The names that fit between ticks so far apart, and of which ticks: all of them in full, else all by their first letter,
/// else every second, third, … of them, evenly.
fn names(ticks: &[Tick], pitch: f32, width: impl Fn(&str) -> f32) -> (Vec<String>, usize) {
    const APART: f32 = 2.5;
    let full: Vec<String> = ticks.iter().map(|tick| tick.name.clone()).collect();
    let widest = |names: &[String]| names.iter().map(|name| width(name)).fold(0.0_f32, f32::max);
    if widest(&full) + APART <= pitch {
        return (full, 1);
    }
    if ticks.iter().any(|tick| tick.year.is_some()) {
        let letters: Vec<String> = full.iter().map(|name| name.chars().take(1).collect()).collect();
        if widest(&letters) + APART <= pitch {
            return (letters, 1);
        }
    }
    let every = ((widest(&full) + APART) / pitch.max(0.1)).ceil().clamp(1.0, 1e4) as usize;
    (full, every)
}

/// Days to tick, with their names: weeks, months, quarters or years, by how long the axis is.
fn day_ticks(first: NaiveDate, count: usize) -> Vec<Tick> {
    let mut ticks = Vec::new();
    let Some(end) = first.checked_add_days(Days::new(count as u64)) else {
        return ticks;
    };
    if count <= BY_WEEK {
        for day in (0..count as u64).step_by(7) {
            if let Some(date) = first.checked_add_days(Days::new(day)) {
                ticks.push(Tick { day: day as i64, name: date.format("%-d %b").to_string(), year: None });
            }
        }
        return ticks;
    }
    let every = match count {
        ..=430 => 1,
        431..=1200 => 3,
        1201..=BY_MONTH => 6,
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
            let new_year = labelled_year != Some(date.year());
            let (name, year) = if every >= 12 {
                (date.format("%Y").to_string(), None)
            } else {
                (date.format("%b").to_string(), new_year.then(|| date.year().to_string()))
            };
            labelled_year = Some(date.year());
            ticks.push(Tick { day: (date - first).num_days(), name, year });
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
    fn a_year_is_ticked_by_month_with_each_year_said_once() {
        let first = NaiveDate::from_ymd_opt(2024, 11, 1).unwrap();
        let ticks = day_ticks(first, 365);
        assert_eq!(ticks.len(), 12);
        let tick = |day, name: &str, year: Option<&str>| Tick { day, name: name.into(), year: year.map(Into::into) };
        assert_eq!(ticks[0], tick(0, "Nov", Some("2024")));
        assert_eq!(ticks[1], tick(30, "Dec", None));
        assert_eq!(ticks[2], tick(61, "Jan", Some("2025")));
        assert_eq!(ticks.iter().filter(|tick| tick.year.is_some()).count(), 2);
    }

    /// A name is as wide here as it has letters.
    #[test]
    fn no_month_is_skipped_while_its_first_letter_has_room_and_then_they_are_skipped_evenly() {
        let ticks = day_ticks(NaiveDate::from_ymd_opt(2025, 1, 1).unwrap(), 365);
        let named = |pitch: f32| {
            let (names, every) = names(&ticks, pitch, |name| name.len() as f32);
            names.into_iter().step_by(every).collect::<Vec<_>>().join(" ")
        };
        assert_eq!(named(5.5), "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec");
        assert_eq!(named(4.0), "J F M A M J J A S O N D");
        assert_eq!(named(3.0), "Jan Mar May Jul Sep Nov");
        assert_eq!(named(1.9), "Jan Apr Jul Oct");
    }
}

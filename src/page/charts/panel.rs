//! One quantity: bars, lines, points, limit lines, missing days, names at the end.

use crate::page::charts::axis::{self, Scale};
use crate::page::charts::thin::{highest_of, thinned};
use crate::page::charts::{Frame, SMALL, SMALL_LINE};
use crate::page::document::{Axis, Basis, Hue, Mark, Panel, Series, Text};
use crate::page::draw::{
    Anchor, Area, Canvas, Hatch, INK, Pen, Point, SLATE, STONE, Type, WHITE, at, fitted, hatch_rect, hue, hue_dash,
    hue_hatch, hue_width, wrap,
};

struct Plot<'a> {
    frame: &'a Frame,
    top: f32,
    bottom: f32,
    count: usize,
    scale: Scale,
    /// Along the foot, where things lie by how much each has of a quantity.
    across: Option<(Scale, &'a [f64])>,
}

impl Plot<'_> {
    fn x(&self, place: f32) -> f32 {
        self.frame.left + place / self.count.max(1) as f32 * (self.frame.right - self.frame.left)
    }

    /// The middle of a place on the axis.
    fn middle(&self, place: usize) -> f32 {
        match &self.across {
            Some((scale, places)) => self.along(scale, places.get(place).copied().unwrap_or(scale.low)),
            None => self.x(place as f32 + 0.5),
        }
    }

    fn along(&self, scale: &Scale, value: f64) -> f32 {
        self.frame.left + scale.share(value) * (self.frame.right - self.frame.left)
    }

    fn y(&self, value: f64) -> f32 {
        self.bottom - self.scale.share(value) * (self.bottom - self.top)
    }

    fn slot(&self) -> f32 {
        (self.frame.right - self.frame.left) / self.count.max(1) as f32
    }

    /// How many places one bar stands for: more than one where each alone would be thinner than print can show.
    fn places_a_bar(&self) -> usize {
        const THINNEST: f32 = 0.4;
        const MERGED: f32 = 0.8;
        if self.slot() < THINNEST { (MERGED / self.slot()).ceil() as usize } else { 1 }
    }
}

/// Draws a panel with its title at `top`.
pub fn draw(canvas: &mut dyn Canvas, axis: &Axis, panel: &Panel, frame: &Frame, top: f32, title: f32) {
    let bottom = top + title + f32::from(panel.lines.clamp(3, 30)) * 13.0;
    let (across, named): (_, &[String]) = match axis {
        Axis::Measured { places, names, .. } => (Some((axis::across(places), places.as_slice())), names),
        Axis::Days { .. } | Axis::Classes(_) => (None, &[]),
    };
    let plot = Plot { frame, top: top + title, bottom, count: axis.len(), scale: scale(panel, axis.len()), across };
    let bold = Type::bold(SMALL);
    let name = fitted(&panel.quantity, bold, frame.end - frame.left);
    let used = canvas.set(at(frame.left, top + 9.0), &name, bold, Anchor::Start);
    let has_bars = panel.series.iter().any(|series| matches!(series.mark, Mark::Bars | Mark::Stacked));
    let highest = match plot.places_a_bar() {
        days @ 2.. if has_bars => format!(", each bar the highest of {days} days"),
        _ => String::new(),
    };
    let unit = if panel.unit.is_empty() { highest } else { format!(", {}{highest}", panel.unit) };
    if !unit.is_empty() {
        let kind = Type::plain(SMALL).colour(SLATE);
        let unit = fitted(&unit, kind, frame.end - frame.left - used);
        canvas.set(at(frame.left + used, top + 9.0), &unit, kind, Anchor::Start);
    }
    plot.scale.draw(canvas, frame, plot.top, bottom);
    if let Some((scale, _)) = &plot.across {
        for tick in &scale.ticks {
            let x = plot.along(scale, *tick);
            // Nought is a line of its own: what lies on either side of it differs in kind.
            let pen = if *tick == 0.0 { Pen::ink(0.6) } else { Pen::solid(crate::page::draw::MIST, 0.25) };
            canvas.line(&[at(x, plot.top), at(x, bottom)], pen);
        }
    }
    missing(canvas, panel, &plot);
    let mut heights = vec![0.0_f64; plot.count];
    let stacked = stacked_highest(panel, &plot);
    let beside = panel.series.iter().filter(|s| s.mark == Mark::Bars).count();
    let mut nth = 0;
    for series in &panel.series {
        match series.mark {
            Mark::Bars => {
                let highest = highest_of(plot.count, plot.places_a_bar(), |i| size_at(series, i));
                bars(canvas, series, &plot, panel, (nth, beside), &highest, None);
                nth += 1;
            }
            Mark::Stacked => bars(canvas, series, &plot, panel, (0, 1), &stacked, Some(&mut heights)),
            Mark::Line | Mark::Points => {}
        }
    }
    for series in &panel.series {
        match series.mark {
            Mark::Line => line(canvas, series, &plot),
            Mark::Points => points(canvas, series, &plot),
            Mark::Bars | Mark::Stacked => {}
        }
    }
    canvas.line(&[at(frame.left, plot.top), at(frame.left, bottom), at(frame.right, bottom)], Pen::ink(0.6));
    if plot.scale.low < 0.0 && plot.scale.high > 0.0 {
        let zero = plot.y(0.0);
        canvas.line(&[at(frame.left, zero), at(frame.right, zero)], Pen::ink(0.6));
    }
    let beside = limits(canvas, panel, &plot);
    labels(canvas, panel, &plot, named);
    names(canvas, panel, &plot, beside);
}

/// The name of each thing beside its point, where there is room: things that lie on one another are named together.
fn labels(canvas: &mut dyn Canvas, panel: &Panel, plot: &Plot<'_>, names: &[String]) {
    let kind = Type::plain(SMALL).colour(INK);
    let points: Vec<(usize, f32, f32)> = panel
        .series
        .iter()
        .flat_map(|series| series.values.iter().take(names.len()).enumerate())
        .filter_map(|(i, value)| Some((i, plot.middle(i), plot.y(value.filter(|v| v.is_finite())?))))
        .collect();
    let mut taken: Vec<Area> =
        points.iter().map(|(_, x, y)| Area { x: x - 2.4, y: y - 2.4, width: 4.8, height: 4.8 }).collect();
    let mut told: Vec<usize> = Vec::new();
    for (i, x, y) in &points {
        if told.contains(i) {
            continue;
        }
        let here = points.iter().filter(|(_, other_x, other_y)| (x - other_x).hypot(y - other_y) < 3.0);
        let here: Vec<usize> = here.map(|(other, ..)| *other).filter(|other| !told.contains(other)).collect();
        let words = here.iter().filter_map(|at| names.get(*at)).map(String::as_str).collect::<Vec<_>>().join(" ");
        let width = kind.width(&words) + 1.0;
        let spots =
            [(x + 4.0, y - 4.5), (x - 4.0 - width, y - 4.5), (x - width / 2.0, y - 12.5), (x - width / 2.0, y + 3.5)];
        let area = |(x, y): (f32, f32)| Area { x, y, width, height: 9.0 };
        let clear = spots.into_iter().map(area).find(|spot| {
            spot.x > plot.frame.left - 8.0
                && spot.right() < plot.frame.end
                && spot.bottom() < plot.bottom + 2.0
                && !taken.iter().any(|other| other.meets(spot))
        });
        // The table beside the chart names what finds no room.
        if let Some(spot) = clear {
            canvas.set(at(spot.x, spot.y + 7.2), &words, kind, Anchor::Start);
            taken.push(spot);
        }
        told.extend(here);
    }
}

fn scale(panel: &Panel, count: usize) -> Scale {
    let (mut least, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
    let mut take = |value: f64| {
        if value.is_finite() {
            least = least.min(value);
            most = most.max(value);
        }
    };
    let mut heights = vec![0.0_f64; count];
    let mut has_bars = false;
    for series in &panel.series {
        has_bars |= matches!(series.mark, Mark::Bars | Mark::Stacked);
        for (value, height) in series.values.iter().zip(&mut heights) {
            if let Some(value) = value.filter(|v| v.is_finite()) {
                if series.mark == Mark::Stacked {
                    *height += value.max(0.0);
                    take(*height);
                } else {
                    take(value);
                }
            }
        }
        for (low, high) in series.ranges.iter().flatten() {
            take(*low);
            take(*high);
        }
    }
    for limit in &panel.limits {
        take(limit.value);
    }
    Scale::over(least, most, panel.from_zero || has_bars)
}

/// How many kinds of bars a panel has. One that goes on under another basis has no name of its own.
fn barred(panel: &Panel) -> usize {
    let bars = panel.series.iter().filter(|series| matches!(series.mark, Mark::Bars | Mark::Stacked));
    bars.filter(|series| !series.name.is_empty()).count()
}

/// How a bar of a series is filled: measured solid where it is alone, else its hatch; computed its hatch; assumed nothing.
fn filling(series: &Series, panel: &Panel) -> Option<Hatch> {
    let alone = barred(panel) <= 1;
    match series.basis {
        Basis::Metered | Basis::Sampled if alone => Some(Hatch::Solid),
        Basis::Metered | Basis::Sampled => Some(hue_hatch(series.hue)),
        Basis::Computed => Some(match hue_hatch(series.hue) {
            Hatch::Solid => Hatch::Diagonal,
            other => other,
        }),
        Basis::Assumed => None,
    }
}

fn fill(canvas: &mut dyn Canvas, area: Area, series: &Series, panel: &Panel) {
    let colour = hue(series.hue);
    match filling(series, panel) {
        Some(hatch) => {
            hatch_rect(canvas, area, hatch, colour);
            if hatch != Hatch::Solid && area.width >= 3.0 {
                canvas.frame(area, Pen::solid(colour, 0.6));
            }
        }
        None if area.width >= 3.0 => {
            canvas.frame(area, Pen::solid(colour, 0.6).dashed(&[3.0, 2.0]));
        }
        None => {}
    }
}

/// How far from nought a series stands at a place.
fn size_at(series: &Series, place: usize) -> f64 {
    series.values.get(place).copied().flatten().filter(|v| v.is_finite()).map_or(0.0, f64::abs)
}

/// Of each bar's places the one that it shows: the highest of all that is stacked there.
fn stacked_highest(panel: &Panel, plot: &Plot<'_>) -> Vec<usize> {
    let stacked: Vec<&Series> = panel.series.iter().filter(|series| series.mark == Mark::Stacked).collect();
    highest_of(plot.count, plot.places_a_bar(), |i| stacked.iter().map(|series| size_at(series, i)).sum())
}

fn bars(
    canvas: &mut dyn Canvas,
    series: &Series,
    plot: &Plot<'_>,
    panel: &Panel,
    (nth, of): (usize, usize),
    shown: &[usize],
    mut heights: Option<&mut Vec<f64>>,
) {
    let days = plot.places_a_bar();
    let slot = plot.slot() * days as f32;
    let margin = if slot > 4.0 { slot * 0.15 } else { 0.0 };
    let each = (slot - 2.0 * margin) / of.max(1) as f32;
    let mut skyline: Vec<(usize, Area)> = Vec::new();
    for (bar, i) in shown.iter().copied().enumerate() {
        let Some(value) = series.values.get(i).copied().flatten().filter(|v| v.is_finite() && *v != 0.0) else {
            continue;
        };
        let from = match heights.as_mut().and_then(|h| h.get_mut(i)) {
            Some(height) => {
                let from = *height;
                *height += value.max(0.0);
                from
            }
            None => 0.0,
        };
        let (a, b) = (plot.y(from), plot.y(from + value));
        let area = Area {
            x: plot.x((bar * days) as f32) + margin + nth as f32 * each,
            y: a.min(b),
            width: each.max(0.4),
            height: (a - b).abs().max(0.3),
        };
        fill(canvas, area, series, panel);
        if let Some(Some((low, high))) = series.ranges.get(i) {
            whisker(canvas, plot, area.x + area.width / 2.0, *low, *high);
        }
        if area.width < 3.0 && filling(series, panel) != Some(Hatch::Solid) {
            skyline.push((bar, area));
        }
    }
    outline(canvas, &skyline, hue(series.hue), series.basis);
}

/// The outline of neighbouring bars too narrow for outlines of their own.
fn outline(canvas: &mut dyn Canvas, bars: &[(usize, Area)], colour: crate::page::draw::Colour, basis: Basis) {
    let mut pen = Pen::solid(colour, 0.6);
    if basis == Basis::Assumed {
        pen = pen.dashed(&[3.0, 2.0]);
    }
    let mut path: Vec<Point> = Vec::new();
    let mut last: Option<(usize, Area)> = None;
    for (i, bar) in bars {
        if let Some((before, area)) = last
            && before + 1 != *i
        {
            path.push(at(area.right(), area.bottom()));
            canvas.line(&path, pen);
            path.clear();
        }
        if path.is_empty() {
            path.push(at(bar.x, bar.bottom()));
        }
        path.push(at(bar.x, bar.y));
        path.push(at(bar.right(), bar.y));
        last = Some((*i, *bar));
    }
    if let Some((_, area)) = last {
        path.push(at(area.right(), area.bottom()));
        canvas.line(&path, pen);
    }
}

fn whisker(canvas: &mut dyn Canvas, plot: &Plot<'_>, x: f32, low: f64, high: f64) {
    let (a, b) = (plot.y(low), plot.y(high));
    if (a - b).abs() > 0.3 {
        canvas.line(&[at(x, a), at(x, b)], Pen::ink(0.6));
    }
}

fn line(canvas: &mut dyn Canvas, series: &Series, plot: &Plot<'_>) {
    let pen = Pen::solid(hue(series.hue), hue_width(series.hue)).dashed(hue_dash(series.hue));
    let mut run = Vec::new();
    for i in 0..=plot.count {
        let value = series.values.get(i).copied().flatten();
        match value.filter(|v| v.is_finite() && i < plot.count) {
            Some(value) => {
                let x = plot.x(i as f32 + 0.5);
                if let Some(Some((low, high))) = series.ranges.get(i) {
                    whisker(canvas, plot, x, *low, *high);
                }
                run.push(at(x, plot.y(value)));
            }
            None => {
                if run.len() > 1 {
                    canvas.line(&thinned(&run), pen);
                } else if let Some(point) = run.first() {
                    dot(canvas, point.x, point.y, 2.0, series.basis, hue(series.hue));
                }
                run.clear();
            }
        }
    }
}

fn dot(canvas: &mut dyn Canvas, x: f32, y: f32, half: f32, basis: Basis, colour: crate::page::draw::Colour) {
    let area = Area { x: x - half, y: y - half, width: half * 2.0, height: half * 2.0 };
    if basis.is_measured() {
        canvas.block(area, colour);
    } else {
        canvas.block(area, WHITE);
        canvas.frame(area, Pen::solid(colour, 0.8));
    }
}

/// Half the side of a point, and the least of it.
const POINT: f32 = 2.2;
const SMALL_POINT: f32 = 0.8;

/// Half the side of so many points over a width: smaller where they would run into a band that hides what lies below.
fn half_of_a_point(count: usize, width: f32) -> f32 {
    (width / count.max(1) as f32 / 2.0).clamp(SMALL_POINT, POINT)
}

fn points(canvas: &mut dyn Canvas, series: &Series, plot: &Plot<'_>) {
    let known = series.values.iter().take(plot.count).flatten().count();
    let half = half_of_a_point(known, plot.x(plot.count as f32) - plot.x(0.0));
    for (i, value) in series.values.iter().take(plot.count).enumerate() {
        let x = plot.middle(i);
        if let Some(Some((low, high))) = series.ranges.get(i) {
            whisker(canvas, plot, x, *low, *high);
        }
        if let Some(value) = value.filter(|v| v.is_finite()) {
            dot(canvas, x, plot.y(value), half, series.basis, hue(series.hue));
        }
    }
}

fn missing(canvas: &mut dyn Canvas, panel: &Panel, plot: &Plot<'_>) {
    if panel.missing.is_empty() {
        return;
    }
    let slot = plot.slot();
    for stretch in &panel.missing {
        let last = stretch.last.min(plot.count.saturating_sub(1));
        let first = stretch.first.min(last);
        let (a, b) = (plot.x(first as f32), plot.x(last as f32 + 1.0));
        if slot >= 2.0 {
            for day in first..=last {
                let x = plot.x(day as f32 + 0.5);
                canvas.line(&[at(x, plot.bottom + 2.0), at(x, plot.bottom + 6.0)], Pen::solid(STONE, 0.9));
            }
        } else {
            let area = Area { x: a, y: plot.bottom + 2.0, width: (b - a).max(0.9), height: 4.0 };
            canvas.block(area, STONE);
        }
        if b - a >= 14.0 {
            let area = Area { x: a, y: plot.top, width: b - a, height: plot.bottom - plot.top };
            hatch_rect(canvas, area, Hatch::Missing, STONE);
        }
    }
    let kind = Type::plain(SMALL).colour(SLATE);
    canvas.set(at(plot.frame.right + 6.0, plot.bottom + 7.0), "no record", kind, Anchor::Start);
}

/// Draws the limits, each with its words at its line where no data are; those that find no such room are given back, to
/// stand beside the plot.
fn limits(canvas: &mut dyn Canvas, panel: &Panel, plot: &Plot<'_>) -> Vec<(f32, String)> {
    let mut beside = Vec::new();
    let kind = Type::plain(SMALL).colour(INK);
    let mut taken: Vec<Area> = Vec::new();
    let marks = if panel.limits.is_empty() { Vec::new() } else { marks(panel, plot) };
    for limit in panel.limits.iter().filter(|limit| limit.value.is_finite()) {
        let y = plot.y(limit.value);
        taken.push(Area { x: plot.frame.left, y: y - 0.6, width: plot.frame.right - plot.frame.left, height: 1.2 });
    }
    for limit in panel.limits.iter().filter(|limit| limit.value.is_finite()) {
        let y = plot.y(limit.value);
        canvas.line(&[at(plot.frame.left, y), at(plot.frame.right, y)], Pen::ink(1.2));
    }
    for limit in panel.limits.iter().filter(|limit| limit.value.is_finite()) {
        let y = plot.y(limit.value);
        let words = fitted(&limit.words, kind, plot.frame.right - plot.frame.left - 12.0);
        let width = kind.width(&words) + 4.0;
        let left = plot.frame.left + 6.0;
        let slack = (plot.frame.right - 4.0 - width - left).max(0.0);
        // The first clear spot along the line, above it or below.
        let mut clear: Option<Area> = None;
        for share in [0.0_f32, 1.0, 0.5, 0.25, 0.75, 0.125, 0.375, 0.625, 0.875] {
            for spot_y in [y - 10.5, y + 1.5] {
                let area = Area { x: left + slack * share, y: spot_y, width, height: 9.0 };
                let inside = area.y >= plot.top - 1.0 && area.bottom() <= plot.bottom;
                if !inside || taken.iter().any(|other| other.meets(&area)) {
                    continue;
                }
                if clear.is_none() && !marks.iter().any(|mark| mark.meets(&area)) {
                    clear = Some(area);
                }
            }
        }
        let Some(area) = clear else {
            beside.push((y, limit.words.clone()));
            continue;
        };
        canvas.block(area, WHITE);
        canvas.set(at(area.x + 2.0, area.y + 7.3), &words, kind, Anchor::Start);
        taken.push(area);
    }
    beside
}

/// What the data of a panel cover.
fn marks(panel: &Panel, plot: &Plot<'_>) -> Vec<Area> {
    let mut marks = Vec::new();
    for series in &panel.series {
        let mut before: Option<(f32, f32)> = None;
        for (i, value) in series.values.iter().take(plot.count).enumerate() {
            let Some(value) = value.filter(|v| v.is_finite()) else {
                before = None;
                continue;
            };
            let (x, y) = (plot.middle(i), plot.y(value));
            if let Some(Some((low, high))) = series.ranges.get(i) {
                let (top, foot) = (plot.y(*high), plot.y(*low));
                marks.push(Area { x: x - 0.6, y: top.min(foot), width: 1.2, height: (foot - top).abs() });
            }
            let (x0, y0, x1, y1) = match series.mark {
                Mark::Bars | Mark::Stacked => {
                    let half = plot.slot() / 2.0;
                    (x - half, y, x + half, plot.bottom)
                }
                Mark::Points => (x - 2.5, y - 2.5, x + 2.5, y + 2.5),
                Mark::Line => {
                    let (px, py) = before.unwrap_or((x, y));
                    (px, py.min(y) - 0.8, x, py.max(y) + 0.8)
                }
            };
            before = Some((x, y));
            if y1 - y0 > 0.1 {
                marks.push(Area { x: x0, y: y0, width: (x1 - x0).max(0.2), height: y1 - y0 });
            }
        }
    }
    marks
}

fn names(canvas: &mut dyn Canvas, panel: &Panel, plot: &Plot<'_>, beside: Vec<(f32, String)>) {
    let barred = barred(panel) > 1;
    let x = plot.frame.right + 6.0;
    let mut stacked = 0.0;
    let named: Vec<(f32, Option<&Series>, String)> = panel
        .series
        .iter()
        .filter(|series| !series.name.is_empty())
        .map(|series| {
            let last = series.values.iter().rev().flatten().find(|v| v.is_finite());
            let value = last.copied().unwrap_or(plot.scale.low);
            let y = if series.mark == Mark::Stacked {
                stacked += value.max(0.0);
                plot.y(stacked - value / 2.0)
            } else {
                plot.y(value)
            };
            (y, Some(series), series.name.clone())
        })
        .collect();
    let mut wanted: Vec<(f32, Option<&Series>, String)> =
        named.into_iter().chain(beside.into_iter().map(|(y, words)| (y, None, words))).collect();
    wanted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let indent = if barred { 14.0 } else { 0.0 };
    let room = plot.frame.end - x - indent;
    let blocks: Vec<(f32, Option<&Series>, Vec<String>)> = wanted
        .into_iter()
        .map(|(y, series, words)| {
            let lines = wrap(&Text::from(&words), Type::plain(SMALL), room)
                .into_iter()
                .take(3)
                .map(|line| line.pieces.into_iter().map(|p| p.text).collect())
                .collect();
            (y, series, lines)
        })
        .collect();
    let total: f32 = blocks.iter().map(|b| b.2.len() as f32 * SMALL_LINE + 1.0).sum();
    let mut free = plot.top - 6.0;
    // The words "no record" stand just below the foot of the plot.
    let floor = if panel.missing.is_empty() { plot.bottom + 4.0 } else { plot.bottom - 2.0 };
    let mut left = total;
    for (y, series, lines) in &blocks {
        let height = lines.len() as f32 * SMALL_LINE + 1.0;
        let start = (y - height / 2.0).min(floor - left).max(free);
        // A limit is in ink, as its line is.
        let colour = series.map(|series| series.hue).filter(|of| *of != Hue::Straw).map_or(INK, hue);
        let kind = Type::plain(SMALL).colour(colour);
        if let Some(series) = series.filter(|series| barred && matches!(series.mark, Mark::Bars | Mark::Stacked)) {
            let sample = Area { x, y: start + 1.0, width: 10.0, height: 7.0 };
            fill(canvas, sample, series, panel);
        }
        for (i, words) in lines.iter().enumerate() {
            let base = start + 7.5 + i as f32 * SMALL_LINE;
            canvas.set(at(x + indent, base), words, kind, Anchor::Start);
        }
        free = start + height;
        left -= height;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::page::charts::{draw as draw_chart, height};
    use crate::page::document::Chart;
    use crate::page::draw::SvgCanvas;

    #[test]
    fn points_of_a_year_of_weeks_are_plain_and_those_of_decades_do_not_hide_the_line_below_them() {
        assert_eq!(half_of_a_point(53, 330.0), POINT);
        assert_eq!((half_of_a_point(627, 330.0), half_of_a_point(0, 330.0)), (SMALL_POINT, POINT));
        assert_eq!(half_of_a_point(110, 330.0), 1.5);
    }

    /// Height of the words of a limit at 5, beside a curve that runs just over it or just under.
    fn words_at(values: f64) -> f32 {
        let first = chrono::NaiveDate::from_ymd_opt(2025, 1, 1).unwrap();
        let series = Series::new("Pond", Mark::Line, Hue::Loam, Basis::Metered, vec![Some(values); 365]);
        let other =
            Series::new("", Mark::Line, Hue::Loam, Basis::Metered, [vec![Some(0.0)], vec![Some(10.0)]].concat());
        let panel = Panel::new("Level", "ft").series(series).series(other).limit(5.0, "at least 5 ft");
        let chart = Chart::over_days(first, 365).panel(panel);
        let mut svg = SvgCanvas::new(500.0, height(&chart), "level");
        draw_chart(&mut svg, &chart, &Frame::alone(500.0), 0.0);
        let svg = svg.finish();
        let words = svg.lines().find(|line| line.contains("at least 5 ft")).unwrap_or_else(|| panic!("{svg}"));
        words.split(" y=\"").nth(1).and_then(|rest| rest.split('"').next()).unwrap().parse().unwrap()
    }

    #[test]
    fn the_words_of_a_limit_stand_on_the_side_on_which_the_curve_is_not() {
        assert!(words_at(5.4) > words_at(4.6), "{} {}", words_at(5.4), words_at(4.6));
    }
}

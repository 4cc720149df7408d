//! Charts: small multiples on one axis. What they show is in the document; this is how.

mod axis;
mod panel;
mod thin;

use crate::page::document::Chart;
use crate::page::draw::{Anchor, Canvas, INK, Pen, SLATE, Type, at, fitted};

/// Where a chart stands across the page.
#[derive(Debug, Clone, Copy)]
pub struct Frame {
    /// Left end of the figures beside the axis.
    pub axis: f32,
    /// Left edge of the plot.
    pub left: f32,
    /// Right edge of the plot.
    pub right: f32,
    /// Right end of the names of series.
    pub end: f32,
}

impl Frame {
    /// The frame of a drawing on its own, `width` points wide.
    pub fn alone(width: f32) -> Self {
        Self { axis: 0.0, left: 60.0, right: width - 84.0, end: width }
    }

    fn width(&self) -> f32 {
        self.right - self.left
    }
}

/// Small type on charts.
pub(crate) const SMALL: f32 = 7.5;
pub(crate) const SMALL_LINE: f32 = 9.75;
const LINE: f32 = 13.0;
const TITLE: f32 = 15.0;
const STRIP: f32 = 7.0;
const BETWEEN: f32 = 9.0;

fn season_height(chart: &Chart) -> f32 {
    if chart.seasons.is_empty() { 0.0 } else { 17.0 }
}

fn panel_height(panel: &crate::page::document::Panel) -> f32 {
    let plot = f32::from(panel.lines.clamp(3, 30)) * LINE;
    let strip = if panel.missing.is_empty() { 0.0 } else { STRIP };
    TITLE + plot + strip
}

/// The height of a chart in points.
pub fn height(chart: &Chart) -> f32 {
    let panels: f32 = chart.panels.iter().map(panel_height).sum();
    let between = BETWEEN * chart.panels.len().saturating_sub(1) as f32;
    season_height(chart) + panels + between + axis::foot(&chart.axis) + 3.0
}

/// The chart with panels about two thirds as high.
pub fn lower(chart: &Chart) -> Chart {
    let mut low = chart.clone();
    for panel in &mut low.panels {
        panel.lines = (panel.lines * 2 / 3).clamp(3, panel.lines.max(3));
    }
    low
}

/// The chart in parts that are each no taller than `page`, panels kept whole.
pub fn split(chart: &Chart, page: f32) -> Vec<Chart> {
    let mut parts = Vec::new();
    let mut part = Chart { panels: Vec::new(), ..chart.clone() };
    for panel in &chart.panels {
        let mut tried = part.clone();
        tried.panels.push(panel.clone());
        if height(&tried) > page && !part.panels.is_empty() {
            parts.push(std::mem::replace(&mut part, Chart { panels: vec![panel.clone()], ..chart.clone() }));
        } else {
            part = tried;
        }
    }
    parts.push(part);
    parts
}

/// Draws a chart with its top at `top`.
pub fn draw(canvas: &mut dyn Canvas, chart: &Chart, frame: &Frame, top: f32) {
    let mut y = top;
    let count = chart.axis.len().max(1);
    let x_of = |place: f32| frame.left + place / count as f32 * frame.width();
    if !chart.seasons.is_empty() {
        let mut free = frame.left - 1.0;
        for season in &chart.seasons {
            let last = season.stretch.last.min(count.saturating_sub(1));
            let first = season.stretch.first.min(last);
            let (a, b) = (x_of(first as f32) + 0.8, x_of(last as f32 + 1.0) - 0.8);
            let line = y + 13.0;
            canvas.line(&[at(a, line + 3.0), at(a, line), at(b, line), at(b, line + 3.0)], Pen::ink(0.6));
            let kind = Type::plain(SMALL).colour(SLATE);
            let words = fitted(&season.name, kind, frame.width());
            let wide = kind.width(&words);
            let middle =
                ((a + b) / 2.0).clamp(frame.left + wide / 2.0, (frame.right - wide / 2.0).max(frame.left + wide / 2.0));
            // Names of narrow seasons that would touch are left to the text.
            if middle - wide / 2.0 > free {
                canvas.set(at(middle, line - 3.0), &words, kind, Anchor::Middle);
                free = middle + wide / 2.0 + 4.0;
            }
        }
        y += season_height(chart);
    }
    for (i, panel) in chart.panels.iter().enumerate() {
        if i > 0 {
            y += BETWEEN;
        }
        panel::draw(canvas, &chart.axis, panel, frame, y, TITLE);
        y += panel_height(panel);
    }
    if chart.panels.is_empty() {
        canvas.line(&[at(frame.left, y), at(frame.right, y)], Pen::ink(0.6));
        let kind = Type::plain(SMALL).colour(INK);
        canvas.set(at(frame.left, y + 9.0), "nothing to draw", kind, Anchor::Start);
        return;
    }
    axis::draw_foot(canvas, &chart.axis, frame, y);
}

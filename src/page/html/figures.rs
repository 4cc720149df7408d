//! Drawings with their words, and the table behind each.

use maud::{Markup, html};
use serde_json::{Value, json};

use crate::page::document::{Axis, Chart, Drawing, Figure};
use crate::page::html::blocks::Writer;
use crate::page::html::drawing;
use crate::page::{calendar, charts, diagram, pond};

/// Width of a drawing, and the height that a sheet of a picture may take.
const SHEET: (f32, f32) = (495.0, 585.0);

impl Writer<'_> {
    /// A drawing.
    pub fn figure(&mut self, figure: &Figure) -> Markup {
        let (width, most) = SHEET;
        let drawn = match &figure.drawing {
            Drawing::Chart(chart) => return self.chart(figure, chart),
            Drawing::Diagram(drawn) => {
                let sheets = diagram::sheets(drawn, width, most);
                let days = self.days.filter(|_| !self.is_alive && self.part == 0);
                let shown = html! {
                    @for (number, sheet) in sheets.iter().enumerate() {
                        @if let Some(title) = &sheet.title { p.small { strong { (title) } } }
                        div.scroll tabindex="0" role="region" aria-label="The site’s picture" {
                            @match days {
                                Some(days) => (drawing::alive(sheet, days, &figure.alt, number == 0)),
                                None => (drawing::svg(width, sheet.height, &figure.alt, |canvas| {
                                    diagram::draw(canvas, sheet, 0.0, 0.0);
                                })),
                            }
                        }
                        (self.notes(&sheet.notes))
                    }
                    (behind(&html! { (self.table(&drawn.to_table())) }))
                };
                let Some(days) = days else { return captioned(figure, &shown) };
                self.is_alive = true;
                return html! { (days.controls()) (captioned(figure, &shown)) (days.opened()) };
            }
            Drawing::Calendar(drawn) => drawing::svg(width, calendar::height(drawn), &figure.alt, |canvas| {
                calendar::draw(canvas, drawn, (0.0, 0.0), width);
            }),
            Drawing::Pond(drawn) => drawing::svg(width, pond::height(drawn, width), &figure.alt, |canvas| {
                pond::draw(canvas, drawn, crate::page::draw::at(0.0, 0.0), width);
            }),
        };
        let table = match &figure.drawing {
            Drawing::Calendar(drawn) => drawn.to_table(),
            Drawing::Pond(drawn) => drawn.to_table(),
            Drawing::Chart(drawn) => drawn.to_table(),
            Drawing::Diagram(drawn) => drawn.to_table(),
        };
        let scrolled = html! { div.scroll tabindex="0" role="region" aria-label=(name(figure)) { (drawn) } };
        captioned(figure, &html! { (scrolled) (behind(&self.table(&table))) })
    }

    fn chart(&mut self, figure: &Figure, chart: &Chart) -> Markup {
        let (width, _) = SHEET;
        let frame = charts::Frame::alone(width);
        let drawn = drawing::svg(width, charts::height(chart), &figure.alt, |canvas| {
            charts::draw(canvas, chart, &frame, 0.0);
        });
        if let Axis::Measured { .. } = chart.axis {
            // Points lie where they lie: each is named beside it, and there is no place that arrow keys could step to.
            let scrolled = html! { div.scroll tabindex="0" role="region" aria-label=(name(figure)) { (drawn) } };
            return captioned(figure, &html! { (scrolled) (behind(&self.table(&chart.to_table()))) });
        }
        let number = self.charts.len();
        self.charts.push(values(chart, frame));
        let help = "Left and right arrow keys tell the values";
        captioned(
            figure,
            &html! {
                div.scroll.chart data-chart=(number) tabindex="0" role="group" aria-label=(name(figure))
                    aria-description=(help) { (drawn) }
                p.readout.small role="status" {}
                details.behind data-chart=(number) { summary { "The table behind it" } }
            },
        )
    }
}

fn name(figure: &Figure) -> &str {
    if figure.caption.is_empty() { &figure.alt } else { &figure.caption }
}

fn behind(table: &Markup) -> Markup {
    html! { details.behind { summary { "The table behind it" } (table) } }
}

fn captioned(figure: &Figure, drawn: &Markup) -> Markup {
    html! {
        figure {
            (drawn)
            figcaption {
                (figure.caption)
                @if let Some(folio) = &figure.folio { " " span.folio { (folio) } }
            }
        }
    }
}

/// The values of a chart: the table behind it and what is told beside the pointer are made from them.
fn values(chart: &Chart, frame: charts::Frame) -> Value {
    let (first, names) = match &chart.axis {
        Axis::Days { first, .. } => (Some(first.to_string()), None),
        Axis::Classes(names) | Axis::Measured { names, .. } => (None, Some(names)),
    };
    let mut columns = Vec::new();
    for panel in &chart.panels {
        for series in &panel.series {
            let values: Vec<Value> = series.values.iter().map(|value| value.map_or(Value::Null, short)).collect();
            let ranges: Vec<Value> = series
                .ranges
                .iter()
                .map(|range| range.map_or(Value::Null, |(low, high)| json!([short(low), short(high)])))
                .collect();
            let name = format!("{}: {}", panel.quantity, series.name);
            columns.push(json!({
                "name": name, "unit": panel.unit, "basis": series.basis.word(), "values": values, "ranges": ranges
            }));
        }
    }
    json!({
        "first": first, "names": names, "count": chart.axis.len(),
        "left": frame.left, "right": frame.right, "columns": columns
    })
}

/// A figure with four digits, as the table of a chart prints it.
fn short(value: f64) -> Value {
    if !value.is_finite() || value == 0.0 {
        return if value == 0.0 { json!(0) } else { Value::Null };
    }
    let digits = (3 - value.abs().log10().floor() as i32).clamp(0, 6);
    let scale = 10_f64.powi(digits);
    let kept = (value * scale).round() / scale;
    if kept.fract() == 0.0 && kept.abs() < 1e15 { json!(kept as i64) } else { json!(kept) }
}

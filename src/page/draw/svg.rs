//! SVG, for drawings outside the report.

use std::fmt::Write;

use crate::page::document::Style;
use crate::page::draw::{Canvas, Colour, Pen, Point, Type};

/// A drawing that becomes an SVG file.
#[derive(Debug, Clone)]
pub struct SvgCanvas {
    width: f32,
    height: f32,
    title: String,
    body: String,
}

fn n(value: f32) -> f32 {
    let rounded = (value * 100.0).round() / 100.0;
    if rounded == 0.0 { 0.0 } else { rounded }
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

/// A colour as SVG and HTML write it.
pub(crate) fn hex(colour: Colour) -> String {
    format!("#{:02X}{:02X}{:02X}", colour.0, colour.1, colour.2)
}

fn path(points: &[Point]) -> String {
    points.iter().map(|p| format!("{},{}", n(p.x), n(p.y))).collect::<Vec<_>>().join(" ")
}

impl SvgCanvas {
    /// An empty drawing of a size in points; `title` is what a reader who cannot see it is told.
    pub fn new(width: f32, height: f32, title: &str) -> Self {
        Self { width, height, title: title.to_owned(), body: String::new() }
    }

    /// Markup among what is drawn: a group that opens or closes.
    pub(crate) fn markup(&mut self, markup: &str) {
        self.body.push_str(markup);
    }

    /// What is drawn, without the file around it.
    pub(crate) fn into_body(self) -> String {
        self.body
    }

    /// The file.
    pub fn finish(self) -> String {
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" width=\"{w}pt\" height=\"{h}pt\" \
             viewBox=\"0 0 {w} {h}\">\n<title>{}</title>\n{}</svg>\n",
            escaped(&self.title),
            self.body,
            w = n(self.width),
            h = n(self.height),
        )
    }
}

impl Canvas for SvgCanvas {
    fn line(&mut self, points: &[Point], pen: Pen) {
        let dash = if pen.dash.is_empty() {
            String::new()
        } else {
            let list: Vec<String> = pen.dash.iter().map(|d| n(*d).to_string()).collect();
            format!(" stroke-dasharray=\"{}\"", list.join(","))
        };
        let _ = writeln!(
            self.body,
            "<polyline points=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{}\"{dash}/>",
            path(points),
            hex(pen.colour),
            n(pen.width),
        );
    }

    fn fill(&mut self, points: &[Point], colour: Colour) {
        let _ = writeln!(self.body, "<polygon points=\"{}\" fill=\"{}\"/>", path(points), hex(colour));
    }

    fn words(&mut self, start: Point, words: &str, kind: Type) {
        let cut = match kind.style {
            Style::Plain => "",
            Style::Bold => " font-weight=\"700\"",
            Style::Italic => " font-style=\"italic\"",
        };
        let _ = writeln!(
            self.body,
            "<text x=\"{}\" y=\"{}\" font-family=\"Noto Sans, sans-serif\" font-size=\"{}\" fill=\"{}\"{cut}>{}</text>",
            n(start.x),
            n(start.y),
            n(kind.size),
            hex(kind.colour),
            escaped(words)
        );
    }
}

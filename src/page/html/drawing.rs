//! Drawings in the page: the code that draws them on paper, with the parts of the site's picture held apart.

use std::fmt::Write;

use maud::{Markup, PreEscaped, html};

use crate::page::diagram::{self, Sheet};
use crate::page::document::Strip;
use crate::page::draw::{Canvas, Colour, Part, Pen, Point, SvgCanvas, Type, hex, margin_strip};
use crate::page::html::days::{Named, WayKey};

/// A drawing of a size in points, as it stands in the page.
pub fn svg(width: f32, height: f32, words: &str, draw: impl FnOnce(&mut dyn Canvas)) -> Markup {
    let mut canvas = Joined { svg: SvgCanvas::new(width, height, ""), held: None };
    draw(&mut canvas);
    canvas.set_down();
    let view = format!("0 0 {width} {height}");
    html! {
        svg viewBox=(view) width=(width) height=(height) role="img" aria-label=(words) {
            (PreEscaped(canvas.svg.into_body()))
        }
    }
}

/// A drawing whose strokes and shapes of one kind in a row are one: a calendar of ten years has thousands of them.
struct Joined {
    svg: SvgCanvas,
    /// How the strokes or shapes held back are painted, and their path.
    held: Option<(String, String)>,
}

impl Joined {
    fn add(&mut self, paint: String, points: &[Point], end: &str) {
        if self.held.as_ref().is_some_and(|(known, _)| *known != paint) {
            self.set_down();
        }
        let (_, path) = self.held.get_or_insert_with(|| (paint, String::new()));
        for (at, point) in points.iter().enumerate() {
            let before = if at == 0 { "M" } else { " " };
            let _ = write!(path, "{before}{} {}", rounded(point.x), rounded(point.y));
        }
        path.push_str(end);
    }

    fn set_down(&mut self) {
        if let Some((paint, path)) = self.held.take() {
            self.svg.markup(&format!("<path d=\"{path}\"{paint}/>\n"));
        }
    }
}

impl Canvas for Joined {
    fn line(&mut self, points: &[Point], pen: Pen) {
        let dash: Vec<String> = pen.dash.iter().map(f32::to_string).collect();
        let dash = if dash.is_empty() { String::new() } else { format!(" stroke-dasharray=\"{}\"", dash.join(",")) };
        let paint = format!(" fill=\"none\" stroke=\"{}\" stroke-width=\"{}\"{dash}", hex(pen.colour), pen.width);
        self.add(paint, points, "");
    }

    fn fill(&mut self, points: &[Point], colour: Colour) {
        self.add(format!(" fill=\"{}\"", hex(colour)), points, "z");
    }

    fn words(&mut self, start: Point, words: &str, kind: Type) {
        self.set_down();
        self.svg.words(start, words, kind);
    }
}

/// A margin strip; its words stand beside it.
pub fn strip(strip: &Strip) -> Markup {
    let (width, height) = (72.0, 12.0);
    let mut canvas = Joined { svg: SvgCanvas::new(width, height, ""), held: None };
    margin_strip(&mut canvas, (0.0, 2.0), width, strip);
    canvas.set_down();
    let view = format!("0 0 {width} {height}");
    html! {
        svg.strip viewBox=(view) width=(width) height=(height) aria-hidden="true" {
            (PreEscaped(canvas.svg.into_body()))
        }
    }
}

/// Words inside an attribute of the drawing.
fn escaped(words: &str) -> String {
    words.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

/// A sheet of the site's picture whose ways and places can be opened and moved.
struct Alive<'a> {
    svg: SvgCanvas,
    sheet: &'a Sheet,
    days: &'a Named<'a>,
    /// What closes each part that is open.
    open: Vec<&'static str>,
    first: bool,
}

/// The sheet with its parts held apart.
pub fn alive(sheet: &Sheet, days: &Named<'_>, words: &str, first: bool) -> Markup {
    let mut canvas = Alive { svg: SvgCanvas::new(sheet.width, sheet.height, ""), sheet, days, open: Vec::new(), first };
    diagram::draw(&mut canvas, sheet, 0.0, 0.0);
    let view = format!("0 0 {} {}", sheet.width, sheet.height);
    html! {
        svg.site viewBox=(view) data-map=(sheet.map) width=(sheet.width) height=(sheet.height) role="group" aria-label=(words) {
            (PreEscaped(canvas.svg.into_body()))
        }
    }
}

impl Alive<'_> {
    /// What the end of a way is called in the document.
    fn end(&self, number: usize) -> Option<&str> {
        let places = self.sheet.places.len();
        match number.checked_sub(places) {
            None => self.sheet.places.get(number).map(|placed| placed.place.id.as_str()),
            Some(name) => self.sheet.names.get(name).map(|placed| placed.name.id.as_str()),
        }
    }

    fn key(&self, route: usize) -> Option<&WayKey> {
        let route = self.sheet.routes.get(route)?;
        self.days.band(self.end(route.ends.0)?, self.end(route.ends.1)?, route.carries)
    }

    fn way(&self, number: usize) -> Option<String> {
        let route = self.sheet.routes.get(number)?;
        let key = self.key(number)?;
        let mut path = String::new();
        for point in &route.points {
            let _ = write!(path, "{},{} ", rounded(point.x), rounded(point.y));
        }
        let id = if self.first { format!(" id=\"{}\"", key.name) } else { String::new() };
        Some(format!(
            "<a class=\"way {}\"{id} href=\"#{}\" data-way=\"{}\" data-path=\"{}\" aria-label=\"{}\"><g class=\"whole\">\n",
            key.class(),
            key.name,
            key.number,
            path.trim_end(),
            escaped(&key.words),
        ))
    }

    fn place(&self, number: usize) -> Option<String> {
        let placed = self.sheet.places.get(number)?;
        let (name, node) = self.days.place(&placed.place.id)?;
        let area = placed.area;
        let id = if self.first { format!(" id=\"{name}\"") } else { String::new() };
        Some(format!(
            "<a class=\"place\"{id} href=\"#{name}\" data-node=\"{node}\" data-area=\"{} {} {} {}\" aria-label=\"{}\">\n",
            rounded(area.x),
            rounded(area.y),
            rounded(area.width),
            rounded(area.height),
            escaped(&format!("{}, {}", placed.place.name, placed.place.kind)),
        ))
    }
}

fn rounded(value: f32) -> f32 {
    (value * 10.0).round() / 10.0
}

impl Canvas for Alive<'_> {
    fn begin(&mut self, part: Part) {
        let (opens, closes) = match part {
            Part::Way(number) => (self.way(number), "</g></a>\n"),
            Part::Place(number) => (self.place(number), "</a>\n"),
            Part::Label(number) => {
                let label = self.sheet.routes.get(number).and_then(|route| route.label.as_ref());
                let opens = self.key(number).zip(label).map(|(key, label)| {
                    let middle = label.area.x + label.area.width / 2.0;
                    let (x, y) = (rounded(middle), rounded(label.area.y + 6.5));
                    let way = key.number;
                    format!(
                        "<g class=\"label\" aria-hidden=\"true\" data-way=\"{way}\" data-x=\"{x}\" data-y=\"{y}\">\n"
                    )
                });
                (opens, "</g>\n")
            }
            Part::Name(number) => {
                let placed = self.sheet.names.get(number);
                let opens = placed.and_then(|placed| Some((placed, self.days.place(&placed.name.id)?)));
                let opens = opens.map(|(placed, (name, node))| {
                    let id = if self.first { format!(" id=\"{name}\"") } else { String::new() };
                    let words = escaped(&placed.name.name);
                    format!("<a class=\"place\"{id} href=\"#{name}\" data-node=\"{node}\" aria-label=\"{words}\">\n")
                });
                (opens, "</a>\n")
            }
            Part::Figure(_) => (Some("<g class=\"own\" aria-hidden=\"true\">\n".to_owned()), "</g>\n"),
            Part::Sign(place, which) => {
                let mark = self.sheet.places.get(place).and_then(|placed| placed.place.marks.get(which));
                let words = mark.map_or("", |mark| mark.words.as_str());
                (Some(format!("<g class=\"sign\" aria-hidden=\"true\" data-words=\"{}\">\n", escaped(words))), "</g>\n")
            }
            Part::Key => (Some("<g class=\"key whole\">\n".to_owned()), "</g>\n"),
        };
        match opens {
            Some(opens) => {
                self.svg.markup(&opens);
                self.open.push(closes);
            }
            None => self.open.push(""),
        }
    }

    fn end(&mut self) {
        let closes = self.open.pop().unwrap_or("");
        self.svg.markup(closes);
    }

    fn line(&mut self, points: &[Point], pen: Pen) {
        self.svg.line(points, pen);
    }

    fn fill(&mut self, points: &[Point], colour: Colour) {
        self.svg.fill(points, colour);
    }

    fn words(&mut self, start: Point, words: &str, kind: Type) {
        self.svg.words(start, words, kind);
    }
}

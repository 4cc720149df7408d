//! Drawing a sheet of the picture.

use crate::page::diagram::net::{BAND, HAIR, THIN};
use crate::page::diagram::sheet::{Edge, PlacedPlace, Routed, Sheet};
use crate::page::diagram::words::{INDENT, LINE, at_top, figure_type, mark_spots};
use crate::page::document::{Carries, Cue, Side, Sign};
use crate::page::draw::{Anchor, Area, Canvas, Colour, INK, MIST, Part, Pen, Point, SLATE, Type, WHITE, at};

/// White on each side of a way where it crosses another.
const GAP: f32 = 1.8;
const EDGE: f32 = 0.6;

/// Draws a sheet with its top left corner at `x`, `y`.
pub fn draw(canvas: &mut dyn Canvas, sheet: &Sheet, x: f32, y: f32) {
    // Thin ways first: a broad one that crosses them stays whole.
    let mut order: Vec<(usize, &Routed)> =
        sheet.routes.iter().enumerate().filter(|(_, route)| route.points.len() > 1).collect();
    order.sort_by(|a, b| a.1.width.total_cmp(&b.1.width));
    for (number, route) in order {
        canvas.begin(Part::Way(number));
        draw_way(canvas, route, x, y);
        canvas.end();
    }
    if let Some(line) = sheet.line {
        for (top, foot) in openings(sheet, line) {
            canvas.line(&[at(x + line, y + top), at(x + line, y + foot)], Pen::ink(2.0));
        }
    }
    for (number, place) in sheet.places.iter().enumerate() {
        canvas.begin(Part::Place(number));
        draw_place(canvas, number, place, x, y);
        canvas.end();
    }
    let kind = Type::plain(7.5);
    for (number, name) in sheet.names.iter().enumerate() {
        canvas.begin(Part::Name(number));
        let area = name.area();
        for (i, line) in name.lines.iter().enumerate() {
            let base = y + area.y + 7.0 + i as f32 * 9.0;
            let (edge, anchor) = match name.name.side {
                Side::Left => (name.at.x, Anchor::End),
                Side::Right => (name.at.x, Anchor::Start),
            };
            canvas.set(at(x + edge, base), line, kind, anchor);
        }
        canvas.end();
    }
    for (number, route) in sheet.routes.iter().enumerate() {
        let Some(label) = &route.label else { continue };
        canvas.begin(Part::Label(number));
        if label.inside {
            let area = label.area;
            let patch =
                Area { x: x + area.x - 1.5, y: y + area.y - 0.4, width: area.width + 3.0, height: area.height + 0.8 };
            canvas.block(patch, WHITE);
        }
        let mut start = x + label.area.x;
        for (words, style) in &route.words {
            start += canvas.set(at(start, y + label.area.y + 6.5), words, kind.style(*style), Anchor::Start);
        }
        canvas.end();
    }
    canvas.begin(Part::Key);
    sheet.key.draw(canvas, x, y + sheet.map);
    canvas.end();
}

/// The facility line in parts, open where a way goes through it.
fn openings(sheet: &Sheet, line: f32) -> Vec<(f32, f32)> {
    let mut through: Vec<(f32, f32)> = sheet
        .strokes()
        .into_iter()
        .filter(|(_, a, b)| (a.y - b.y).abs() < 0.1 && a.x.min(b.x) < line && a.x.max(b.x) > line)
        .map(|(way, a, _)| (a.y, sheet.routes[way].width / 2.0 + GAP))
        .collect();
    through.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut parts = Vec::new();
    let mut top = 2.0;
    for (y, half) in through {
        if y - half > top {
            parts.push((top, y - half));
        }
        top = y + half;
    }
    parts.push((top, (sheet.map - 2.0).max(top)));
    parts
}

/// The pattern of a line of something.
fn dash(carries: Carries) -> &'static [f32] {
    match carries {
        Carries::Water => &[],
        Carries::WashWater => &[7.0, 2.5],
        Carries::Solids => &[2.0, 2.0],
        Carries::Spill => &[9.0, 2.0, 2.0, 2.0],
    }
}

/// Draws a way through its points as a line, or as a band where it is wide: water filled, wash water with rungs, a spill
/// with broken edges, solids in blocks.
pub fn band(canvas: &mut dyn Canvas, points: &[Point], carries: Carries, width: f32) {
    if width < BAND {
        let colour = if width <= HAIR { SLATE } else { INK };
        canvas.line(points, Pen::solid(colour, width).dashed(dash(carries)));
        return;
    }
    let fill = |colour: Colour| Pen::solid(colour, width);
    canvas.line(points, fill(if carries == Carries::Water { MIST } else { WHITE }));
    let edge = match carries {
        Carries::WashWater => {
            canvas.line(points, fill(INK).dashed(&[0.8, 3.2]));
            Pen::ink(EDGE)
        }
        Carries::Spill => Pen::ink(EDGE).dashed(dash(carries)),
        Carries::Water | Carries::Solids => Pen::ink(EDGE),
    };
    for side in [-1.0, 1.0] {
        canvas.line(&beside(points, side * (width + EDGE) / 2.0), edge);
    }
}

/// The path at a distance beside another, to its right where the distance is positive.
fn beside(points: &[Point], off: f32) -> Vec<Point> {
    let mut path = Vec::new();
    for (i, point) in points.iter().enumerate() {
        let into = i.checked_sub(1).map(|j| unit(points[j], *point));
        let out = points.get(i + 1).map(|next| unit(*point, *next));
        let (dx, dy) = match (into, out) {
            (Some(a), Some(b)) => {
                let (x, y) = (a.0 + b.0, a.1 + b.1);
                let length = x.hypot(y).max(0.001);
                (x / length, y / length)
            }
            (Some(one), None) | (None, Some(one)) => one,
            (None, None) => (0.0, 0.0),
        };
        path.push(at(point.x - dy * off, point.y + dx * off));
    }
    path
}

fn draw_way(canvas: &mut dyn Canvas, route: &Routed, x: f32, y: f32) {
    let mut points: Vec<Point> = route.points.iter().map(|point| at(point.x + x, point.y + y)).collect();
    let count = points.len();
    let (before, tip) = (points[count - 2], points[count - 1]);
    let (dx, dy) = unit(before, tip);
    // The line stops at the foot of its arrowhead.
    let long = if route.width <= HAIR { 5.0 } else { 6.0 };
    let half = if route.width < BAND { 2.5 } else { route.width / 2.0 + 2.2 };
    points[count - 1] = at(tip.x - dx * (long - 0.5), tip.y - dy * (long - 0.5));
    let rounded = rounded(&points, 3.0_f32.max(route.width / 2.0 + 1.0));
    canvas.line(
        &inner(&rounded),
        Pen::solid(WHITE, route.width + 2.0 * GAP + if route.width < BAND { 0.0 } else { 2.0 * EDGE }),
    );
    band(canvas, &rounded, route.carries, route.width);
    let back = at(tip.x - dx * long, tip.y - dy * long);
    let wing = |side: f32| at(back.x - dy * half * side, back.y + dx * half * side);
    let colour = if route.width <= HAIR { SLATE } else { INK };
    canvas.fill(&[tip, wing(1.0), wing(-1.0)], colour);
    if route.draws {
        let (dx, dy) = unit(points[0], points[1]);
        let bar = at(points[0].x + dx * 2.4, points[0].y + dy * 2.4);
        let half = route.width.max(THIN) / 2.0 + 2.4;
        let side = |way: f32| at(bar.x - dy * half * way, bar.y + dx * half * way);
        canvas.line(&[side(1.0), side(-1.0)], Pen::ink(1.2));
    }
}

/// A path without its first points, so that the white beside it does not cut what it begins at.
fn inner(points: &[Point]) -> Vec<Point> {
    let mut inner = points.to_vec();
    if let [first, second, ..] = points {
        let (dx, dy) = unit(*first, *second);
        inner[0] = at(first.x + dx * 1.5, first.y + dy * 1.5);
    }
    inner
}

/// Rounded corners, each as a few short strokes.
fn rounded(points: &[Point], most: f32) -> Vec<Point> {
    let mut path = Vec::new();
    for (i, point) in points.iter().enumerate() {
        let (Some(before), Some(after)) = (i.checked_sub(1).and_then(|j| points.get(j)), points.get(i + 1)) else {
            path.push(*point);
            continue;
        };
        let (into, out) =
            ((point.x - before.x).hypot(point.y - before.y), (point.x - after.x).hypot(point.y - after.y));
        let radius = most.min(into / 2.0).min(out / 2.0);
        if radius < 0.3 {
            path.push(*point);
            continue;
        }
        let towards = |other: &Point, length: f32| {
            at(point.x + (other.x - point.x) / length * radius, point.y + (other.y - point.y) / length * radius)
        };
        let (start, end) = (towards(before, into), towards(after, out));
        for step in 0..=5 {
            let t = step as f32 / 5.0;
            let mix = |a: f32, b: f32, c: f32| (1.0 - t) * (1.0 - t) * a + 2.0 * t * (1.0 - t) * b + t * t * c;
            path.push(at(mix(start.x, point.x, end.x), mix(start.y, point.y, end.y)));
        }
    }
    path
}

fn unit(a: Point, b: Point) -> (f32, f32) {
    let length = (b.x - a.x).hypot(b.y - a.y).max(0.001);
    ((b.x - a.x) / length, (b.y - a.y) / length)
}

/// A sign with its middle on a point: a small arrow into a place, up and away, down and away, or that two sides differ.
pub fn sign(canvas: &mut dyn Canvas, sign: Sign, middle: Point) {
    let down = match sign {
        Sign::Rain | Sign::Down => 1.0,
        Sign::Up => -1.0,
        Sign::Unaccounted => {
            canvas.set(at(middle.x, middle.y + 2.7), "\u{2260}", Type::bold(7.5), Anchor::Middle);
            return;
        }
    };
    canvas.line(&[at(middle.x, middle.y - 4.5 * down), at(middle.x, middle.y + 1.0 * down)], Pen::ink(0.9));
    let tip = at(middle.x, middle.y + 4.5 * down);
    canvas.fill(&[tip, at(tip.x - 2.3, tip.y - 4.4 * down), at(tip.x + 2.3, tip.y - 4.4 * down)], INK);
}

fn draw_place(canvas: &mut dyn Canvas, number: usize, placed: &PlacedPlace, x: f32, y: f32) {
    let area = Area { x: placed.area.x + x, y: placed.area.y + y, ..placed.area };
    canvas.block(area, WHITE);
    let frame = if placed.place.change.is_some() { Pen::ink(1.2).dashed(&[4.0, 2.5]) } else { Pen::ink(0.6) };
    canvas.frame(area, frame);
    let bar = match (placed.place.cue, placed.inlet) {
        (Cue::Plain, _) => None,
        (Cue::Store, _) => Some(Area { y: area.bottom() - 2.5, height: 2.5, ..area }),
        (Cue::Filter, Some(Edge::Right)) => Some(Area { x: area.right() - 3.0, width: 3.0, ..area }),
        (Cue::Filter, Some(Edge::Top)) => Some(Area { height: 3.0, ..area }),
        (Cue::Filter, Some(Edge::Foot)) => Some(Area { y: area.bottom() - 3.0, height: 3.0, ..area }),
        (Cue::Filter, _) => Some(Area { width: 3.0, ..area }),
    };
    if let Some(bar) = bar {
        canvas.block(bar, INK);
    }
    let words = &placed.words;
    // Clear of a bar at the top.
    let under = if placed.place.cue == Cue::Filter && placed.inlet == Some(Edge::Top) { 2.2 } else { 0.0 };
    let first = area.y + 2.0 + under + LINE * 0.7 + if words.top_alone { LINE } else { 0.0 };
    // The figure of the place stands on the line of what leaves at the foot.
    let figures = words.lines.len() - words.figure;
    for (i, (text, kind)) in words.lines.iter().enumerate() {
        let base = if i < figures || words.foot_alone {
            first + i as f32 * LINE
        } else {
            area.bottom() - 5.5 - (words.lines.len() - 1 - i) as f32 * LINE
        };
        let is_figure = i >= figures && placed.place.figure.is_some();
        if is_figure {
            canvas.begin(Part::Figure(number));
        }
        canvas.set(at(area.x + INDENT, base), text, *kind, Anchor::Start);
        if is_figure {
            canvas.end();
        }
    }
    let foot = area.bottom() - 5.5;
    let marks = &placed.place.marks;
    for (which, (mark, (top, middle))) in marks.iter().zip(mark_spots(area, marks)).enumerate() {
        let (edge, base) = if at_top(mark.sign) { (area.y, area.y + 2.0 + LINE * 0.7) } else { (area.bottom(), foot) };
        let at_edge = if mark.sign == Sign::Unaccounted { at(middle, base - 2.7) } else { at(middle, edge) };
        debug_assert_eq!(top, at_top(mark.sign));
        if top || mark.sign != Sign::Unaccounted {
            // The heavy bottom edge is left open where something goes through it.
            canvas.block(Area { x: middle - 3.6, y: edge - 3.0, width: 7.2, height: 6.0 }, WHITE);
        }
        sign(canvas, mark.sign, at_edge);
        let words = mark.figure.basis.dress(&mark.figure.text);
        canvas.begin(Part::Sign(number, which));
        canvas.set(at(middle + 5.0, base), &words, figure_type(&mark.figure), Anchor::Start);
        canvas.end();
    }
}

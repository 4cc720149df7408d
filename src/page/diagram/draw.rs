//! Drawing a sheet of the diagram.

use crate::page::diagram::labels::name_area;
use crate::page::diagram::layout::{PlacedPlace, Sheet};
use crate::page::diagram::route::Routed;
use crate::page::document::{Carries, Cue, Side, Style};
use crate::page::draw::{Anchor, Area, Canvas, INK, Pen, Point, SLATE, Type, WHITE, at, fitted};

const DOTS: &[f32] = &[0.8, 2.2];
/// Room that a crossing leaves on each side.
const CROSSING: f32 = 2.6;

/// Draws a sheet with its top left corner at `x`, `y`.
pub fn draw(canvas: &mut dyn Canvas, sheet: &Sheet, x: f32, y: f32) {
    let shift = |point: Point| at(point.x + x, point.y + y);
    let level: Vec<(usize, Point, Point)> = sheet
        .routes
        .iter()
        .enumerate()
        .flat_map(|(i, route)| {
            route.points.windows(2).filter_map(move |pair| match pair {
                [a, b] if (a.y - b.y).abs() < 0.1 => Some((i, *a, *b)),
                _ => None,
            })
        })
        .collect();
    for (i, route) in sheet.routes.iter().enumerate() {
        for part in gapped(i, route, &level) {
            let rounded: Vec<Point> = rounded(&part).into_iter().map(shift).collect();
            canvas.line(&rounded, pen(route));
        }
        head(canvas, route, &shift);
    }
    if let Some((line, top, bottom)) = sheet.line {
        canvas.line(&[at(x + line, y + top), at(x + line, y + bottom)], Pen::ink(2.0));
    }
    for place in &sheet.places {
        draw_place(canvas, place, x, y);
    }
    let kind = Type::plain(7.5);
    for name in &sheet.names {
        let area = name_area(name);
        for (i, line) in name.lines.iter().enumerate() {
            let base = y + area.y + 7.0 + i as f32 * 9.0;
            match name.name.side {
                Side::Left => canvas.set(at(x + name.at.x - 2.0, base), line, kind, Anchor::End),
                Side::Right => canvas.set(at(x + name.at.x + 2.0, base), line, kind, Anchor::Start),
                Side::Top | Side::Foot => canvas.set(at(x + name.at.x, base), line, kind, Anchor::Middle),
            };
        }
    }
    for label in sheet.routes.iter().filter_map(|route| route.label.as_ref()) {
        let mut start = x + label.area.x;
        for (words, style) in &label.pieces {
            let kind = Type::plain(7.5).style(*style);
            start += canvas.set(at(start, y + label.area.y + 6.9), words, kind, Anchor::Start);
        }
    }
}

fn pen(route: &Routed) -> Pen {
    if route.dotted {
        return Pen::ink(1.2).dashed(DOTS);
    }
    let dash: &'static [f32] = match route.carries {
        Carries::Water => &[],
        Carries::WashWater => &[7.0, 2.5],
        Carries::Solids => &[2.0, 2.0],
        Carries::Spill => &[9.0, 2.0, 2.0, 2.0],
    };
    Pen::ink(1.2).dashed(dash)
}

/// The path in the parts that crossings leave: an upright stretch stops short of each level one of another way.
fn gapped(own: usize, route: &Routed, level: &[(usize, Point, Point)]) -> Vec<Vec<Point>> {
    let mut parts = Vec::new();
    let mut part: Vec<Point> = Vec::new();
    // The line stops at the foot of its arrowhead.
    let mut points = route.points.clone();
    let count = points.len();
    if count >= 2
        && let (Some(before), Some(last)) = (points.get(count - 2).copied(), points.last_mut())
    {
        let length = (last.x - before.x).hypot(last.y - before.y);
        if length > 5.0 {
            let share = (length - 5.0) / length;
            *last = at(before.x + (last.x - before.x) * share, before.y + (last.y - before.y) * share);
        }
    }
    for pair in points.windows(2) {
        let [a, b] = pair else {
            continue;
        };
        if part.is_empty() {
            part.push(*a);
        }
        if (a.x - b.x).abs() < 0.1 {
            let (low, high) = (a.y.min(b.y), a.y.max(b.y));
            let mut cuts: Vec<f32> = level
                .iter()
                .filter(|(other, p, q)| {
                    *other != own
                        && p.x.min(q.x) + 0.5 < a.x
                        && a.x < p.x.max(q.x) - 0.5
                        && low + CROSSING < p.y
                        && p.y < high - CROSSING
                })
                .map(|(_, p, _)| p.y)
                .collect();
            cuts.sort_by(f32::total_cmp);
            cuts.dedup_by(|p, q| (*p - *q).abs() < 2.0 * CROSSING);
            let down = b.y > a.y;
            if !down {
                cuts.reverse();
            }
            for cut in cuts {
                let (before, after) =
                    if down { (cut - CROSSING, cut + CROSSING) } else { (cut + CROSSING, cut - CROSSING) };
                part.push(at(a.x, before));
                parts.push(std::mem::take(&mut part));
                part.push(at(a.x, after));
            }
        }
        part.push(*b);
    }
    if part.len() > 1 {
        parts.push(part);
    }
    parts
}

/// Corners of 3 pt, each as a few short strokes.
fn rounded(points: &[Point]) -> Vec<Point> {
    let mut path = Vec::new();
    for (i, point) in points.iter().enumerate() {
        let before = i.checked_sub(1).and_then(|j| points.get(j));
        let after = points.get(i + 1);
        let (Some(before), Some(after)) = (before, after) else {
            path.push(*point);
            continue;
        };
        let (into, out) =
            ((point.x - before.x).hypot(point.y - before.y), (point.x - after.x).hypot(point.y - after.y));
        let radius = 3.0_f32.min(into / 2.0).min(out / 2.0);
        if radius < 0.3 {
            path.push(*point);
            continue;
        }
        let towards = |other: &Point, length: f32| {
            at(point.x + (other.x - point.x) / length * radius, point.y + (other.y - point.y) / length * radius)
        };
        let (start, end) = (towards(before, into), towards(after, out));
        for step in 0..=4 {
            let t = step as f32 / 4.0;
            let mix = |a: f32, b: f32, c: f32| (1.0 - t) * (1.0 - t) * a + 2.0 * t * (1.0 - t) * b + t * t * c;
            path.push(at(mix(start.x, point.x, end.x), mix(start.y, point.y, end.y)));
        }
    }
    path
}

fn head(canvas: &mut dyn Canvas, route: &Routed, shift: &dyn Fn(Point) -> Point) {
    let count = route.points.len();
    if count < 2 {
        return;
    }
    if let (Some(before), Some(tip)) = (route.points.get(count - 2), route.points.last()) {
        let (dx, dy) = unit(*before, *tip);
        let back = at(tip.x - dx * 6.0, tip.y - dy * 6.0);
        let wing = |side: f32| at(back.x - dy * 2.5 * side, back.y + dx * 2.5 * side);
        canvas.fill(&[shift(*tip), shift(wing(1.0)), shift(wing(-1.0))], INK);
    }
    if route.draws
        && let (Some(start), Some(next)) = (route.points.first(), route.points.get(1))
    {
        let (dx, dy) = unit(*start, *next);
        let bar = at(start.x + dx * 3.0, start.y + dy * 3.0);
        let side = |way: f32| at(bar.x - dy * 3.0 * way, bar.y + dx * 3.0 * way);
        canvas.line(&[shift(side(1.0)), shift(side(-1.0))], Pen::ink(1.2));
    }
}

fn unit(a: Point, b: Point) -> (f32, f32) {
    let length = (b.x - a.x).hypot(b.y - a.y).max(0.001);
    ((b.x - a.x) / length, (b.y - a.y) / length)
}

fn draw_place(canvas: &mut dyn Canvas, placed: &PlacedPlace, x: f32, y: f32) {
    let area = Area { x: placed.area.x + x, y: placed.area.y + y, ..placed.area };
    canvas.block(area, WHITE);
    canvas.frame(area, Pen::ink(0.6));
    match placed.place.cue {
        Cue::Plain => {}
        Cue::Filter => canvas.block(Area { width: 3.0, ..area }, INK),
        Cue::Store => canvas.block(Area { y: area.bottom() - 2.5, height: 2.5, ..area }, INK),
    }
    let left = area.x + 6.0;
    let room = area.width - 10.0;
    let small = Type::plain(7.5).colour(SLATE);
    let kind = fitted(&placed.place.kind, small, room);
    canvas.set(at(left, area.y + 9.5), &kind, small, Anchor::Start);
    // A long name is set smaller, never under 7.5; what still does not fit stands in full below the drawing.
    let size =
        [9.5, 8.5, 7.5].into_iter().find(|size| Type::bold(*size).width(&placed.place.name) <= room).unwrap_or(7.5);
    let bold = Type::bold(size);
    let name = fitted(&placed.place.name, bold, room);
    canvas.set(at(left, area.y + 21.0), &name, bold, Anchor::Start);
    if let Some(figure) = &placed.place.figure {
        let kind = Type::plain(7.5).style(match figure.basis.style() {
            Style::Bold => Style::Plain,
            other => other,
        });
        let words = fitted(&figure.basis.dress(&figure.text), kind, room);
        canvas.set(at(left, area.y + 32.5), &words, kind, Anchor::Start);
    }
}

//! Room for the figures and words of ways.

use crate::page::diagram::layout::{PLACE_WIDTH, PlacedName, Sheet, name_width};
use crate::page::diagram::route::{End, Label, Plan};
use crate::page::document::{Basis, Diagram, Side, Style, Text};
use crate::page::draw::{Area, Point, Type};
use crate::page::fonts;

/// Finds room for the figure and word of each way; what finds none stands below the drawing.
pub fn label(diagram: &Diagram, plans: &[Plan], sheet: &mut Sheet) {
    let mut blocked: Vec<Area> = sheet.places.iter().map(|place| place.area).collect();
    blocked.extend(sheet.names.iter().map(name_area));
    if let Some((x, top, bottom)) = sheet.line {
        blocked.push(Area { x: x - 1.5, y: top, width: 3.0, height: bottom - top });
    }
    let strokes: Vec<Area> = sheet.routes.iter().flat_map(|route| route.points.windows(2).filter_map(stroke)).collect();
    let name_of = |end: End| match end {
        End::Place(i) => diagram.places.get(i).map(|p| p.name.clone()),
        End::Name(i) => diagram.outside.get(i).map(|n| n.name.clone()),
    };
    for (number, plan) in plans.iter().enumerate() {
        let Some(way) = diagram.ways.get(plan.way) else {
            continue;
        };
        let mut pieces: Vec<(String, Style)> = Vec::new();
        if let Some(figure) = &way.figure {
            let basis: Basis = figure.basis;
            pieces.push((fonts::clean(&basis.dress(&figure.text)), basis.style()));
        }
        if let Some(word) = &way.word {
            let space = if pieces.is_empty() { "" } else { "  " };
            pieces.push((format!("{space}{}", fonts::clean(word)), Style::Plain));
        }
        if pieces.is_empty() {
            continue;
        }
        let width: f32 = pieces.iter().map(|(text, style)| fonts::width(text, *style, 7.5)).sum();
        let points = sheet.routes.get(number).map_or(&[][..], |route| &route.points);
        let spot = spots(points, width).into_iter().find(|area| {
            area.x >= 0.0
                && area.right() <= sheet.width
                && area.y >= 0.0
                && area.bottom() <= sheet.height
                && !blocked.iter().any(|other| other.meets(area))
                && !strokes.iter().any(|other| other.meets(area))
        });
        match spot {
            Some(area) => {
                blocked.push(area);
                if let Some(route) = sheet.routes.get_mut(number) {
                    route.label = Some(Label { pieces, area });
                }
            }
            None => {
                let mut note = Text::from(format!(
                    "{} to {}: ",
                    name_of(plan.from).unwrap_or_default(),
                    name_of(plan.to).unwrap_or_default()
                ));
                for (text, style) in pieces {
                    note = note.with(text, style);
                }
                sheet.notes.push(note);
            }
        }
    }
    for place in &sheet.places {
        if Type::bold(7.5).width(&fonts::clean(&place.place.name)) > PLACE_WIDTH - 10.0 {
            let kind = &place.place.kind;
            let name = &place.place.name;
            sheet.notes.push(Text::from(format!("In full: {name} ({kind})")));
        }
    }
}

/// The rectangle that a name's words take.
pub(crate) fn name_area(name: &PlacedName) -> Area {
    let (width, height) = (name_width(name), name.lines.len() as f32 * 9.0);
    let (x, y) = match name.name.side {
        Side::Left => (name.at.x - width - 2.0, name.at.y - height / 2.0),
        Side::Right => (name.at.x, name.at.y - height / 2.0),
        Side::Top => (name.at.x - width / 2.0, name.at.y - height),
        Side::Foot => (name.at.x - width / 2.0, name.at.y),
    };
    Area { x, y, width, height }
}

fn stroke(pair: &[Point]) -> Option<Area> {
    let (a, b) = (pair.first()?, pair.get(1)?);
    Some(Area {
        x: a.x.min(b.x) - 1.6,
        y: a.y.min(b.y) - 0.6,
        width: (a.x - b.x).abs() + 3.2,
        height: (a.y - b.y).abs() + 1.2,
    })
}

/// Where a label might stand: above or below the level stretches, longest first, then beside the upright ones.
fn spots(points: &[Point], width: f32) -> Vec<Area> {
    let mut level: Vec<(f32, Point, Point)> = Vec::new();
    let mut upright: Vec<(f32, Point, Point)> = Vec::new();
    for pair in points.windows(2) {
        if let [a, b] = pair {
            if (a.y - b.y).abs() < 0.1 {
                level.push(((a.x - b.x).abs(), *a, *b));
            } else {
                upright.push(((a.y - b.y).abs(), *a, *b));
            }
        }
    }
    level.sort_by(|a, b| b.0.total_cmp(&a.0));
    upright.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut spots = Vec::new();
    let height = 8.2;
    for (length, a, b) in &level {
        let slack = (length - width).max(0.0) / 2.0;
        let middle = (a.x + b.x) / 2.0;
        for shift in [0.0, -0.5, 0.5, -1.0, 1.0] {
            for y in [a.y - height - 0.9, a.y + 1.2] {
                spots.push(Area { x: middle - width / 2.0 + shift * slack, y, width, height });
            }
        }
    }
    for (length, a, b) in &upright {
        for share in [0.5, 0.3, 0.7] {
            let y = a.y.min(b.y) + length * share - height / 2.0;
            for x in [a.x + 2.5, a.x - width - 2.5] {
                spots.push(Area { x, y, width, height });
            }
        }
    }
    spots
}

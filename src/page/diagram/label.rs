//! Room for the figures of ways: beside a stretch of their own way, clear of everything else, or in its line.

use crate::page::diagram::sheet::{Label, Sheet};
use crate::page::document::{Side, Style, Way};
use crate::page::draw::{Area, Point, Type};

/// Height that a figure takes.
pub const HEIGHT: f32 = 7.6;
/// White between a figure and whatever is near.
const CLEAR: f32 = 1.2;

/// The figure and the word of a way, each in its cut.
pub fn words(way: &Way) -> Vec<(String, Style)> {
    let mut words = Vec::new();
    if let Some(figure) = &way.figure {
        let style = match figure.basis.style() {
            Style::Bold => Style::Plain,
            other => other,
        };
        words.push((figure.basis.dress(&figure.text), style));
    }
    if let Some(word) = &way.word {
        let gap = if words.is_empty() { "" } else { " " };
        words.push((format!("{gap}{word}"), Style::Plain));
    }
    words
}

/// Under the name where a way begins or ends, if no other way there has a figure.
fn at_name(sheet: &Sheet, way: usize, width: f32) -> Option<Label> {
    let (from, to) = sheet.routes[way].ends;
    let end = from.max(to);
    let name = sheet.names.get(end.checked_sub(sheet.places.len())?)?;
    let told = sheet.routes.iter().filter(|route| !route.words.is_empty());
    let alone = told.filter(|route| route.ends.0 == end || route.ends.1 == end).count() == 1;
    let area = name.area();
    let x = if name.name.side == Side::Left { area.right() - width } else { area.x };
    alone.then_some(Label { area: Area { x, y: area.bottom() + 0.2, width, height: HEIGHT }, inside: false })
}

fn width(words: &[(String, Style)]) -> f32 {
    words.iter().map(|(text, style)| Type::plain(7.5).style(*style).width(text)).sum()
}

/// Gives each figure its room, those with the least choice first.
pub fn place(sheet: &mut Sheet) {
    let fixed = obstacles(sheet);
    let strokes: Vec<(usize, Area)> = sheet
        .strokes()
        .into_iter()
        .map(|(way, a, b)| (way, stroke(a, b, sheet.routes[way].width / 2.0 + CLEAR)))
        .collect();
    let right = sheet.width;
    let clear = |way: usize, label: &Label| -> bool {
        let area = label.area;
        area.x >= 0.0
            && area.right() <= right
            && fixed.iter().all(|other| !other.meets(&area))
            && strokes.iter().all(|(other, stroke)| (label.inside && *other == way) || !stroke.meets(&area))
    };
    let roomy = |way: usize, label: &Label| {
        let area = grown(label.area, 3.0);
        strokes.iter().all(|(other, stroke)| *other == way || !stroke.meets(&area))
    };
    let mut choices: Vec<(usize, Vec<Label>)> = Vec::new();
    for (i, route) in sheet.routes.iter().enumerate() {
        if !route.words.is_empty() {
            let spots = spots(&route.points, route.width / 2.0, width(&route.words));
            let named = at_name(sheet, i, width(&route.words));
            choices.push((i, spots.into_iter().chain(named).filter(|label| clear(i, label)).collect()));
        }
    }
    choices.sort_by_key(|(i, spots)| (spots.len(), *i));
    let mut held: Vec<Area> = Vec::new();
    for (i, spots) in choices {
        let apart = |label: &&Label| held.iter().all(|other| !other.meets(&label.area));
        // Away from other ways, where there is such a spot.
        let alone = |label: &&Label| !label.inside && apart(label) && roomy(i, label);
        let free = spots.iter().find(alone).or_else(|| spots.iter().find(apart)).cloned();
        if let Some(label) = free {
            held.push(Area {
                x: label.area.x - 5.0,
                y: label.area.y - 0.8,
                width: label.area.width + 10.0,
                height: label.area.height + 1.6,
            });
            sheet.routes[i].label = Some(label);
        }
    }
}

/// Ways whose figure found no room.
pub fn missing(sheet: &Sheet) -> Vec<usize> {
    let lacks = |i: &usize| !sheet.routes[*i].words.is_empty() && sheet.routes[*i].label.is_none();
    (0..sheet.routes.len()).filter(lacks).collect()
}

/// Where each figure stands, or would if other ways made room: the spot that fewest of them run through.
pub fn wishes(sheet: &Sheet) -> Vec<(usize, Area)> {
    let fixed = obstacles(sheet);
    let mut held: Vec<(usize, Area)> = Vec::new();
    for (i, route) in sheet.routes.iter().enumerate() {
        held.extend(route.label.as_ref().map(|label| (i, label.area)));
    }
    for i in missing(sheet) {
        let route = &sheet.routes[i];
        let strokes: Vec<(usize, Area)> = sheet
            .strokes()
            .into_iter()
            .map(|(way, a, b)| (way, stroke(a, b, sheet.routes[way].width / 2.0 + CLEAR)))
            .collect();
        let through = |label: &Label| {
            strokes.iter().filter(|(way, stroke)| (*way != i || !label.inside) && stroke.meets(&label.area)).count()
        };
        let wish = spots(&route.points, route.width / 2.0, width(&route.words))
            .into_iter()
            .filter(|label| fixed.iter().chain(held.iter().map(|held| &held.1)).all(|other| !other.meets(&label.area)))
            .min_by_key(through);
        held.extend(wish.map(|label| (i, label.area)));
    }
    held
}

/// What no figure may touch, ways left out.
fn obstacles(sheet: &Sheet) -> Vec<Area> {
    let mut fixed: Vec<Area> = sheet
        .places
        .iter()
        .map(|placed| Area { y: placed.area.y - 5.5, height: placed.area.height + 11.0, ..placed.area })
        .chain(sheet.names.iter().map(|name| name.area()))
        .collect();
    if let Some(line) = sheet.line {
        fixed.push(Area { x: line - 2.0, y: 0.0, width: 4.0, height: sheet.map });
    }
    fixed
}

fn grown(area: Area, by: f32) -> Area {
    Area { x: area.x - by, y: area.y - by, width: area.width + 2.0 * by, height: area.height + 2.0 * by }
}

fn stroke(a: Point, b: Point, reach: f32) -> Area {
    Area {
        x: a.x.min(b.x) - reach,
        y: a.y.min(b.y) - reach,
        width: (a.x - b.x).abs() + 2.0 * reach,
        height: (a.y - b.y).abs() + 2.0 * reach,
    }
}

/// Where a figure might stand, best first: beside the longest stretches, then in the line itself.
fn spots(points: &[Point], half: f32, width: f32) -> Vec<Label> {
    let mut stretches: Vec<(f32, Point, Point)> = points
        .windows(2)
        .map(|pair| ((pair[0].x - pair[1].x).abs() + (pair[0].y - pair[1].y).abs(), pair[0], pair[1]))
        .collect();
    stretches.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut beside = Vec::new();
    let mut inside = Vec::new();
    let off = half + CLEAR + 0.6;
    for (length, a, b) in stretches {
        let level = (a.y - b.y).abs() < 0.1;
        let (x, y) = ((a.x + b.x) / 2.0, (a.y + b.y) / 2.0);
        let along = if level { width } else { HEIGHT };
        let slack = (length - along).max(0.0) / 2.0;
        let mut shift = 0.0;
        while shift <= slack {
            for shift in if shift == 0.0 { vec![0.0] } else { vec![-shift, shift] } {
                let area = |x: f32, y: f32| Label { area: Area { x, y, width, height: HEIGHT }, inside: false };
                if level {
                    beside.push(area(x + shift - width / 2.0, y - off - HEIGHT));
                    beside.push(area(x + shift - width / 2.0, y + off));
                    if length > width + 22.0 && slack - shift.abs() > 9.0 {
                        inside.push(Label { inside: true, ..area(x + shift - width / 2.0, y - HEIGHT / 2.0) });
                    }
                } else {
                    beside.push(area(x + off + 0.6, y + shift - HEIGHT / 2.0));
                    beside.push(area(x - off - 0.6 - width, y + shift - HEIGHT / 2.0));
                    if length > HEIGHT + 22.0 && slack - shift.abs() > 9.0 {
                        inside.push(Label { inside: true, ..area(x - width / 2.0, y + shift - HEIGHT / 2.0) });
                    }
                }
            }
            shift += 4.0;
        }
    }
    beside.extend(inside);
    beside
}

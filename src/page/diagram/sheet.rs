//! A sheet of the picture: rectangles and names on the page, and the best of several arrangements.

use rayon::prelude::*;

use crate::page::diagram::frame::{CAREFUL, Frame};
use crate::page::diagram::key::Key;
use crate::page::diagram::net::{Net, Scale};
use crate::page::diagram::place::{Hand, Spots, arrangements};
use crate::page::diagram::split;
use crate::page::diagram::words::BoxWords;
use crate::page::document::{Carries, Diagram, DiagramPlace, OutsideName, Side, Style, Text};
use crate::page::draw::{Area, Point, Type};

/// A place where it stands.
#[derive(Debug, Clone)]
pub struct PlacedPlace {
    /// The place.
    pub place: DiagramPlace,
    /// Its rectangle, from the sheet's own corner.
    pub area: Area,
    /// Row and column.
    pub cell: (usize, usize),
    pub(crate) words: BoxWords,
    /// The edge where most comes in.
    pub(crate) inlet: Option<Edge>,
}

/// An edge of a rectangle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Edge {
    Left,
    Right,
    Top,
    Foot,
}

/// A name outside, where it stands.
#[derive(Debug, Clone)]
pub struct PlacedName {
    /// The name.
    pub name: OutsideName,
    /// Its lines.
    pub lines: Vec<String>,
    /// The middle of its side towards the facility.
    pub at: Point,
}

/// A way on the sheet.
#[derive(Debug, Clone)]
pub struct Routed {
    /// Its corners, from the edge where it begins to the one where it ends.
    pub points: Vec<Point>,
    /// Its two ends by number: places first, then names.
    pub ends: (usize, usize),
    /// Its width.
    pub width: f32,
    /// What goes along it.
    pub carries: Carries,
    /// Whether the far end draws.
    pub draws: bool,
    pub(crate) onward: bool,
    /// Its figure and its word.
    pub(crate) words: Vec<(String, Style)>,
    /// Where they stand.
    pub label: Option<Label>,
}

/// The figure and word of a way where they stand.
#[derive(Debug, Clone)]
pub struct Label {
    /// The rectangle they take.
    pub area: Area,
    /// Whether they stand in the way's own line.
    pub inside: bool,
}

/// A sheet of the picture, ready to draw.
#[derive(Debug, Clone)]
pub struct Sheet {
    /// What it shows, where there is more than one.
    pub title: Option<String>,
    /// Its width.
    pub width: f32,
    /// Its height, the key included.
    pub height: f32,
    /// The places.
    pub places: Vec<PlacedPlace>,
    /// The names outside.
    pub names: Vec<PlacedName>,
    /// The ways.
    pub routes: Vec<Routed>,
    /// The facility line, from the left.
    pub line: Option<f32>,
    /// Height of the map above the key.
    pub map: f32,
    /// Full names that did not fit.
    pub notes: Vec<Text>,
    pub(crate) key: Key,
    /// How far it was moved up.
    pub(crate) up: f32,
}

/// Lays the picture out on one sheet, or on several where it has more places than one can show, or places so tall that fewer
/// fit.
pub fn sheets(diagram: &Diagram, width: f32, page: f32) -> Vec<Sheet> {
    let mut laid: Option<(Vec<Vec<usize>>, Vec<Sheet>)> = None;
    for groups in
        split::whole(diagram).into_iter().chain(split::OF_SEVERAL.iter().map(|most| split::groups(diagram, *most)))
    {
        // The same places on the same sheets are as tall as they were.
        if laid.as_ref().is_some_and(|(before, _)| *before == groups) {
            continue;
        }
        let sheets = laid_out(diagram, &groups, width, page);
        let fits = sheets.iter().all(|sheet| sheet.height <= page);
        laid = Some((groups, sheets));
        if fits {
            break;
        }
    }
    laid.map(|(_, sheets)| sheets).unwrap_or_default()
}

fn laid_out(diagram: &Diagram, groups: &[Vec<usize>], width: f32, page: f32) -> Vec<Sheet> {
    let scale = Scale::of(diagram);
    let parts = split::parts(diagram, groups);
    // A sheet of several has its title above it.
    let page = if parts.len() > 1 { page - 13.0 } else { page };
    parts.iter().map(|(title, part)| Sheet { title: title.clone(), ..best(part, scale, width, page) }).collect()
}

/// The best of several arrangements: as few ways on each other, figures without room, crossings, corners as can be.
fn best(part: &Diagram, scale: Scale, width: f32, page: f32) -> Sheet {
    let net = Net::of(part, scale);
    let hand = Hand::of(part);
    let columns: &[usize] = match net.places {
        _ if !hand.rows.is_empty() => &[3],
        0..=10 => &[3, 2],
        11..=16 => &[3],
        _ => &[3, 4],
    };
    let key = Key::of(part, scale, width);
    let room = page - key.height - 20.0;
    let mut tried: Vec<(f32, Frame)> = Vec::new();
    for &columns in columns {
        let frame = Frame::new(part, columns.max(hand.widest()), width);
        let laid = |spots: Spots| {
            let gap = frame.most_gap(spots.rows, room);
            let trial = frame.clone().stand(&net, &hand, spots, gap);
            (trial.sheet(part, &net, &key, 1).badness(room), trial)
        };
        let all = arrangements(&net, &hand, columns, frame.most_rows(room));
        tried.par_extend(all.into_par_iter().map(laid));
    }
    tried.sort_by(|a, b| a.0.total_cmp(&b.0));
    // The few that look best are looked at again with their rows closer together.
    let again: Vec<(&Frame, usize)> =
        tried.iter().take(4).flat_map(|(_, frame)| frame.gaps().into_iter().map(move |gap| (frame, gap))).collect();
    let scored: Vec<(f32, Frame)> = again
        .into_par_iter()
        .map(|(frame, gap)| {
            let trial = frame.clone().stand(&net, &hand, frame.spots.clone(), gap);
            (trial.sheet(part, &net, &key, 3).badness(room), trial)
        })
        .collect();
    // The first of those that are equally good, so that the choice does not turn on threads.
    let best = scored.into_iter().reduce(|held, next| if next.0 < held.0 { next } else { held });
    match best {
        Some((_, frame)) => frame.sheet(part, &net, &key, CAREFUL),
        None => Frame::new(part, 1, width).sheet(part, &net, &key, 0),
    }
}

impl Sheet {
    /// How often two ways cross, counted from what is drawn.
    pub fn crossings(&self) -> usize {
        let strokes = self.strokes();
        let mut count = 0;
        for (i, (way, a, b)) in strokes.iter().enumerate() {
            for (other, c, d) in &strokes[i + 1..] {
                count += usize::from(way != other && crosses((*a, *b), (*c, *d)));
            }
        }
        count
    }

    /// The strokes of all ways: way, from, to.
    pub(crate) fn strokes(&self) -> Vec<(usize, Point, Point)> {
        let strokes = |(i, route): (usize, &Routed)| {
            route.points.windows(2).map(|pair| (i, pair[0], pair[1])).collect::<Vec<_>>()
        };
        self.routes.iter().enumerate().flat_map(strokes).collect()
    }

    /// Pairs of strokes of two ways that lie too near side by side.
    pub(crate) fn clashes(&self) -> usize {
        let strokes = self.strokes();
        let mut count = 0;
        for (i, (way, a, b)) in strokes.iter().enumerate() {
            for (other, c, d) in &strokes[i + 1..] {
                let room = (self.routes[*way].width + self.routes[*other].width) / 2.0 + 1.0;
                count += usize::from(way != other && beside((*a, *b), (*c, *d), room));
            }
        }
        count
    }

    fn badness(&self, room: f32) -> f32 {
        let unlabelled = self.routes.iter().filter(|route| !route.words.is_empty() && route.label.is_none()).count();
        let inside = self.routes.iter().filter(|route| route.label.as_ref().is_some_and(|label| label.inside)).count();
        let lost = self.routes.iter().filter(|route| route.points.len() < 2).count();
        let corners: usize = self.routes.iter().map(|route| route.points.len().saturating_sub(2)).sum();
        let length: f32 = self.strokes().iter().map(|(_, a, b)| (a.x - b.x).abs() + (a.y - b.y).abs()).sum();
        let rises = |route: &&Routed| {
            let ends = route.points.first().zip(route.points.last());
            route.onward && ends.is_some_and(|(a, b)| b.y < a.y - 30.0)
        };
        let up: f32 = self.routes.iter().filter(rises).map(|route| 2.0 + 1.5 * route.width).sum();
        let over = (self.map - room).max(0.0);
        10_000.0 * lost as f32
            + 1000.0 * self.clashes() as f32
            + 50.0 * over
            + 60.0 * unlabelled as f32
            + 3.0 * inside as f32
            + 10.0 * self.crossings() as f32
            + up
            + 0.6 * corners as f32
            + length / 250.0
            + self.map / 60.0
    }
}

fn crosses(first: (Point, Point), second: (Point, Point)) -> bool {
    let upright = |(a, b): (Point, Point)| (a.x - b.x).abs() < 0.1;
    let (level, standing) = match (upright(first), upright(second)) {
        (false, true) => (first, second),
        (true, false) => (second, first),
        _ => return false,
    };
    let between = |v: f32, a: f32, b: f32| a.min(b) + 0.1 < v && v < a.max(b) - 0.1;
    between(standing.0.x, level.0.x, level.1.x) && between(level.0.y, standing.0.y, standing.1.y)
}

fn beside(first: (Point, Point), second: (Point, Point), room: f32) -> bool {
    let overlap = |a: f32, b: f32, c: f32, d: f32| a.min(b).max(c.min(d)) + 0.1 < a.max(b).min(c.max(d));
    let upright = |(a, b): (Point, Point)| (a.x - b.x).abs() < 0.1;
    let level = |(a, b): (Point, Point)| (a.y - b.y).abs() < 0.1;
    if upright(first) && upright(second) {
        (first.0.x - second.0.x).abs() < room && overlap(first.0.y, first.1.y, second.0.y, second.1.y)
    } else if level(first) && level(second) {
        (first.0.y - second.0.y).abs() < room && overlap(first.0.x, first.1.x, second.0.x, second.1.x)
    } else {
        false
    }
}

impl Edge {
    /// The edge of a rectangle that a point lies on.
    pub(crate) fn of(area: Area, point: Point) -> Self {
        let off = [
            (Self::Left, point.x - area.x),
            (Self::Right, point.x - area.right()),
            (Self::Top, point.y - area.y),
            (Self::Foot, point.y - area.bottom()),
        ];
        off.into_iter().min_by(|a, b| a.1.abs().total_cmp(&b.1.abs())).map_or(Self::Left, |(edge, _)| edge)
    }
}

impl Sheet {
    /// Moves everything up to the top of the sheet and gives the sheet its height.
    pub(crate) fn trim(&mut self) {
        let boxes = self.places.iter().map(|placed| (placed.area.y - 5.0, placed.area.bottom() + 5.0));
        let names = self.names.iter().map(|name| (name.area().y, name.area().bottom()));
        let ways = self.routes.iter().flat_map(|route| {
            route.points.iter().map(move |point| (point.y - route.width / 2.0 - 1.0, point.y + route.width / 2.0 + 1.0))
        });
        let mut ends = (f32::INFINITY, f32::NEG_INFINITY);
        for (low, high) in boxes.chain(names).chain(ways) {
            ends = (ends.0.min(low), ends.1.max(high));
        }
        if ends.0 > ends.1 {
            ends = (0.0, 0.0);
        }
        // A figure may stand above what is topmost.
        let up = ends.0 - 10.0;
        for placed in &mut self.places {
            placed.area.y -= up;
        }
        for name in &mut self.names {
            name.at.y -= up;
        }
        for point in self.routes.iter_mut().flat_map(|route| &mut route.points) {
            point.y -= up;
        }
        self.up = up;
        self.map = ends.1 - up + 8.0;
        self.height = self.map + self.key.height;
    }
}

impl PlacedName {
    /// The rectangle that its words take.
    pub fn area(&self) -> Area {
        let kind = Type::plain(7.5);
        let width = self.lines.iter().map(|line| kind.width(line)).fold(0.0, f32::max);
        let height = self.lines.len() as f32 * 9.0;
        let x = match self.name.side {
            Side::Left => self.at.x - width,
            Side::Right => self.at.x,
        };
        Area { x, y: self.at.y - height / 2.0, width, height }
    }
}

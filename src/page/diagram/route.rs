//! Ways as square paths through the channels between places.

use std::collections::BTreeMap;

use crate::page::diagram::labels;
use crate::page::diagram::layout::{PLACE_HEIGHT, PLACE_WIDTH, PlacedName, PlacedPlace, Sheet};
use crate::page::diagram::tracks::{corners, tracks};
use crate::page::document::{Carries, Diagram, Side, Style};
use crate::page::draw::{Area, Point};

/// The grid that ways run on.
#[derive(Debug, Clone, Copy)]
pub struct Grid {
    /// Columns of places.
    pub columns: usize,
    /// Rows of places.
    pub rows: usize,
    /// Left edge of the first column.
    pub first: f32,
    /// Width of the channels between columns.
    pub gap: f32,
    /// Width of the channels outside the first and last column.
    pub edge: f32,
    /// Right edge of the last column.
    pub right: f32,
    /// Width of the sheet.
    pub width: f32,
    /// Distance between ways that run side by side.
    pub pitch: f32,
}

impl Grid {
    /// Left edge and width of the upright channel left of column `k`.
    pub fn channel(&self, k: usize) -> (f32, f32) {
        if k == 0 {
            (self.first - self.edge, self.edge)
        } else if k >= self.columns {
            (self.right, self.edge)
        } else {
            let column = self.first + k as f32 * (PLACE_WIDTH + self.gap);
            (column - self.gap, self.gap)
        }
    }
}

/// A label on a way.
#[derive(Debug, Clone)]
pub struct Label {
    /// Its figure and word, with their cuts.
    pub pieces: Vec<(String, Style)>,
    /// Where it stands.
    pub area: Area,
}

/// A way as it is drawn.
#[derive(Debug, Clone)]
pub struct Routed {
    /// Its corners.
    pub points: Vec<Point>,
    /// What goes along it.
    pub carries: Carries,
    /// Whether it is dotted: unaccounted.
    pub dotted: bool,
    /// Whether it begins with a crossbar.
    pub draws: bool,
    /// Its label, if there was room for one.
    pub label: Option<Label>,
}

/// Where a way begins or ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum End {
    Place(usize),
    Name(usize),
}

/// A stretch of a path in a channel: upright channels by column, level ones by row.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Lane {
    Upright(usize),
    Level(usize),
}

#[derive(Debug, Clone)]
pub(crate) struct Plan {
    pub way: usize,
    pub from: End,
    pub to: End,
    /// Edge the way leaves by and arrives at, as the lanes need them.
    pub lanes: Vec<Lane>,
    pub tracks: Vec<usize>,
    /// Offset on the edge at the start and at the end: downwards for sides, rightwards for top and bottom.
    pub ports: (f32, f32),
    pub straight: bool,
}

struct Work<'a> {
    grid: &'a Grid,
    places: &'a [PlacedPlace],
    names: &'a [PlacedName],
}

const SIDE_OFFSETS: [f32; 9] = [20.0, 8.0, 32.0, 14.0, 26.0, 4.0, 36.0, 11.0, 29.0];
const EDGE_OFFSETS: [f32; 7] = [46.0, 30.0, 62.0, 18.0, 74.0, 38.0, 54.0];

impl Work<'_> {
    fn cell(&self, end: End) -> (usize, usize) {
        match end {
            End::Place(i) => self.places.get(i).map_or((0, 0), |p| (p.row, p.column)),
            End::Name(i) => self.names.get(i).map_or((0, 0), |n| (n.row, 0)),
        }
    }

    fn side(&self, end: End) -> Option<Side> {
        match end {
            End::Place(_) => None,
            End::Name(i) => self.names.get(i).map(|n| n.name.side),
        }
    }

    fn is_free(&self, row: usize, columns: std::ops::Range<usize>) -> bool {
        !self.places.iter().any(|place| place.row == row && columns.contains(&place.column))
    }

    fn column_free(&self, column: usize, mut rows: std::ops::Range<usize>) -> bool {
        !rows.any(|row| self.places.iter().any(|place| place.row == row && place.column == column))
    }

    /// The upright channel a way leaves into (`out`) or arrives from.
    fn channel_of(&self, end: End, out: bool) -> usize {
        match self.side(end) {
            None => self.cell(end).1 + usize::from(out),
            Some(Side::Left) => 0,
            Some(_) => self.grid.columns,
        }
    }

    /// Lanes of a way, and whether it is one straight line.
    fn lanes(&self, from: End, to: End) -> (Vec<Lane>, bool) {
        let rows = self.grid.rows;
        let level_of = |end: End| match self.side(end) {
            Some(Side::Top) => Some(0),
            Some(Side::Foot) => Some(rows),
            _ => None,
        };
        match (level_of(from), level_of(to)) {
            (Some(a), Some(b)) if a == b => return (vec![Lane::Level(a)], false),
            (Some(a), Some(b)) => {
                return (vec![Lane::Level(a), Lane::Upright(0), Lane::Level(b)], false);
            }
            (Some(level), None) => {
                if self.opens_to(to, level) {
                    return (vec![Lane::Level(level)], false);
                }
                return (vec![Lane::Level(level), Lane::Upright(self.channel_of(to, false))], false);
            }
            (None, Some(level)) => {
                if self.opens_to(from, level) {
                    return (vec![Lane::Level(level)], false);
                }
                return (vec![Lane::Upright(self.channel_of(from, true)), Lane::Level(level)], false);
            }
            (None, None) => {}
        }
        let (a, b) = (self.channel_of(from, true), self.channel_of(to, false));
        let (row_a, row_b) = (self.cell(from).0, self.cell(to).0);
        if row_a == row_b && a <= b && self.is_free(row_a, a..b) {
            return (Vec::new(), true);
        }
        if a == b {
            return (vec![Lane::Upright(a)], false);
        }
        let level = if row_b < row_a { row_a } else { row_a + 1 };
        // A way to a column further on, at the height of its target, need not come back to a level lane.
        if row_b != row_a && a < b && self.is_free(row_b, a..b) {
            return (vec![Lane::Upright(a)], false);
        }
        (vec![Lane::Upright(a), Lane::Level(level), Lane::Upright(b)], false)
    }

    /// Whether a place sees the top or the foot of the sheet straight above or below it.
    fn opens_to(&self, end: End, level: usize) -> bool {
        let End::Place(_) = end else {
            return false;
        };
        let (row, column) = self.cell(end);
        if level == 0 { self.column_free(column, 0..row) } else { self.column_free(column, row + 1..self.grid.rows) }
    }
}

fn resolve(diagram: &Diagram, id: &str) -> Option<End> {
    if let Some(i) = diagram.places.iter().position(|place| place.id == id) {
        return Some(End::Place(i));
    }
    diagram.outside.iter().position(|name| name.id == id).map(End::Name)
}

/// Routes every way and gives every place and name its height on the sheet.
pub fn route(diagram: &Diagram, mut places: Vec<PlacedPlace>, mut names: Vec<PlacedName>, grid: &Grid) -> Sheet {
    let mut plans: Vec<Plan> = Vec::new();
    {
        let work = Work { grid, places: &places, names: &names };
        for (number, way) in diagram.ways.iter().enumerate() {
            let (Some(from), Some(to)) = (resolve(diagram, &way.from), resolve(diagram, &way.to)) else {
                continue;
            };
            if from == to {
                continue;
            }
            let (lanes, straight) = work.lanes(from, to);
            plans.push(Plan {
                way: number,
                from,
                to,
                tracks: vec![0; lanes.len()],
                lanes,
                ports: (20.0, 20.0),
                straight,
            });
        }
        ports(&mut plans, &work);
    }
    let tracks = tracks(&mut plans, &places, &names, grid);
    // Heights: names of the top, then a level channel above each row.
    let name_height = |side: Side| {
        let rows = names.iter().filter(|name| name.name.side == side).map(|name| name.row + 1).max().unwrap_or(0);
        let lines = names.iter().filter(|name| name.name.side == side).map(|name| name.lines.len()).max().unwrap_or(0);
        (rows as f32 * (lines as f32 * 9.0 + 2.0), lines as f32 * 9.0 + 2.0)
    };
    let (top_zone, top_pitch) = name_height(Side::Top);
    let (foot_zone, foot_pitch) = name_height(Side::Foot);
    let mut y = top_zone;
    let mut levels = Vec::new();
    let mut row_tops = Vec::new();
    for row in 0..=grid.rows {
        let count = tracks.get(&(false, row)).copied().unwrap_or(0);
        let least = match row {
            0 if top_zone > 0.0 => 16.0,
            0 => 6.0,
            _ if row == grid.rows && foot_zone > 0.0 => 16.0,
            _ => 14.0,
        };
        let height = if count == 0 { least } else { (count as f32 * grid.pitch + grid.pitch.max(9.0)).max(least) };
        levels.push((y, height));
        y += height;
        if row < grid.rows {
            row_tops.push(y);
            y += PLACE_HEIGHT;
        }
    }
    let bottom = y;
    let height = bottom + foot_zone + 2.0;
    let row_top = |row: usize| row_tops.get(row).copied().unwrap_or(0.0);
    for place in &mut places {
        place.area.y = row_top(place.row);
    }
    side_names(&mut names, &plans, row_top);
    for name in &mut names {
        match name.name.side {
            Side::Top => name.at.y = (name.row + 1) as f32 * top_pitch,
            Side::Foot => name.at.y = bottom + name.row as f32 * foot_pitch,
            Side::Left | Side::Right => {}
        }
    }
    let mut routes = Vec::new();
    for plan in &plans {
        let Some(way) = diagram.ways.get(plan.way) else {
            continue;
        };
        let dotted = [plan.from, plan.to].iter().any(|end| match end {
            End::Name(i) => names.get(*i).is_some_and(|name| name.name.dotted),
            End::Place(_) => false,
        });
        routes.push(Routed {
            points: corners(plan, &places, &names, grid, &levels, &tracks),
            carries: way.carries,
            dotted,
            draws: way.draws,
            label: None,
        });
    }
    let line = diagram.outside.iter().any(|name| name.side == Side::Right).then_some((
        grid.right + grid.edge + 2.0,
        top_zone,
        bottom,
    ));
    let mut sheet = Sheet { title: None, width: grid.width, height, places, names, routes, line, notes: Vec::new() };
    labels::label(diagram, &plans, &mut sheet);
    sheet
}

/// Gives each end of each way its place on the edge, so that no two ways lie on each other.
fn ports(plans: &mut [Plan], work: &Work<'_>) {
    // What is taken, by row and upright channel, and by edge for tops and bottoms.
    let mut taken: BTreeMap<(usize, usize), Vec<f32>> = BTreeMap::new();
    let mut edges: BTreeMap<(usize, bool), Vec<f32>> = BTreeMap::new();
    let free = |taken: &BTreeMap<(usize, usize), Vec<f32>>, keys: &[(usize, usize)]| {
        let clear = |offset: &f32| {
            keys.iter().all(|key| taken.get(key).is_none_or(|held| held.iter().all(|h| (h - offset).abs() > 2.0)))
        };
        SIDE_OFFSETS.into_iter().find(clear).unwrap_or(20.0)
    };
    let name_x = |end: End| match end {
        End::Name(n) => work.names.get(n).map(|name| name.at.x),
        End::Place(_) => None,
    };
    // Names at the sides keep one height for all their ways.
    let mut name_port: BTreeMap<usize, f32> = BTreeMap::new();
    let order: Vec<usize> = {
        let mut order: Vec<usize> = (0..plans.len()).collect();
        order.sort_by_key(|i| plans.get(*i).is_none_or(|plan| !plan.straight));
        order
    };
    for i in order {
        let Some(plan) = plans.get_mut(i) else {
            continue;
        };
        let (from_row, to_row) = (work.cell(plan.from).0, work.cell(plan.to).0);
        if plan.straight {
            let (a, b) = (work.channel_of(plan.from, true), work.channel_of(plan.to, false));
            let keys: Vec<(usize, usize)> = (a..=b).map(|k| (from_row, k)).collect();
            let held = [plan.from, plan.to].iter().find_map(|end| match end {
                End::Name(n) => name_port.get(n).copied(),
                End::Place(_) => None,
            });
            let offset = held.unwrap_or_else(|| free(&taken, &keys));
            for key in keys {
                taken.entry(key).or_default().push(offset);
            }
            for end in [plan.from, plan.to] {
                if let End::Name(n) = end {
                    name_port.entry(n).or_insert(offset);
                }
            }
            plan.ports = (offset, offset);
            continue;
        }
        let mut port = |end: End, out: bool, lane: Option<&Lane>, row: usize, other: Option<f32>| -> f32 {
            match (end, work.side(end), lane) {
                (End::Place(p), _, Some(Lane::Level(level))) => {
                    // Straight below or above its name where that is within the edge, else wherever the edge is free.
                    let left = work.places.get(p).map_or(0.0, |place| place.area.x);
                    let held = edges.entry((p, *level > row)).or_default();
                    let wanted = other.map_or(46.0, |x| x - left);
                    let offset = std::iter::once(wanted)
                        .filter(|offset| (8.0..=84.0).contains(offset))
                        .chain(EDGE_OFFSETS)
                        .find(|offset| held.iter().all(|h: &f32| (h - offset).abs() > 6.0))
                        .unwrap_or(46.0);
                    held.push(offset);
                    offset
                }
                (_, Some(Side::Top | Side::Foot), _) => 0.0,
                (End::Name(n), _, _) => {
                    let keys = [(row, work.channel_of(end, out))];
                    *name_port.entry(n).or_insert_with(|| {
                        let offset = free(&taken, &keys);
                        taken.entry(keys[0]).or_default().push(offset);
                        offset
                    })
                }
                (End::Place(_), _, _) => {
                    let keys = [(row, work.channel_of(end, out))];
                    let offset = free(&taken, &keys);
                    taken.entry(keys[0]).or_default().push(offset);
                    offset
                }
            }
        };
        let start = port(plan.from, true, plan.lanes.first(), from_row, name_x(plan.to));
        let end = port(plan.to, false, plan.lanes.last(), to_row, name_x(plan.from));
        plan.ports = (start, end);
    }
}

/// Spaces names that share a row apart, by the ports of their ways.
fn side_names(names: &mut [PlacedName], plans: &[Plan], row_top: impl Fn(usize) -> f32) {
    for (i, name) in names.iter_mut().enumerate() {
        if !matches!(name.name.side, Side::Left | Side::Right) {
            continue;
        }
        let port = plans
            .iter()
            .find_map(|plan| {
                if plan.from == End::Name(i) {
                    Some(plan.ports.0)
                } else if plan.to == End::Name(i) {
                    Some(plan.ports.1)
                } else {
                    None
                }
            })
            .unwrap_or(20.0);
        name.at.y = row_top(name.row) + port;
    }
}

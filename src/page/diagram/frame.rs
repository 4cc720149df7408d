//! Where columns, rows and names lie on the grid of tracks, and the sheet that comes of it.

use crate::page::diagram::key::Key;
use crate::page::diagram::label;
use crate::page::diagram::net::{BAND, End, Net};
use crate::page::diagram::place::{Hand, Spots};
use crate::page::diagram::route::{Found, Gate, Ground, NO_CORNER, NO_LEVEL, NO_UPRIGHT, PITCH, SHUT, Wanted};
use crate::page::diagram::sheet::{Edge, PlacedName, PlacedPlace, Routed, Sheet};
use crate::page::diagram::words::{BoxWords, LINE, mark_spots, words};
use crate::page::document::{Diagram, PlaceMark, Side, Style, Text};
use crate::page::draw::{Area, Line, Point, Type, at, at_most, fitted, wrap};

/// Width kept for names at the left.
const LEFT_NAMES: f32 = 50.0;
/// Width kept for names beyond the facility line.
const RIGHT_NAMES: f32 = 60.0;
/// From so many rounds on the figures count as well.
pub const CAREFUL: usize = 6;
/// How far an arrow goes beyond the facility line.
const BEYOND: f32 = 10.0;

/// Where columns, rows and names lie on the grid of tracks.
#[derive(Debug, Clone)]
pub struct Frame {
    width: f32,
    /// Where the grid begins.
    left: f32,
    /// The facility line.
    line: Option<f32>,
    across: usize,
    columns: usize,
    /// Nodes that a place is wide and high.
    wide: usize,
    high: usize,
    words: Vec<BoxWords>,
    marks: Vec<Vec<PlaceMark>>,
    /// Nodes between rows.
    gap: usize,
    pub spots: Spots,
    /// The node of the middle of each name, and how far its way may be from it.
    names: Vec<(usize, usize)>,
    lines: Vec<Vec<String>>,
    sides: Vec<Side>,
    /// Nodes that each name takes above and below its middle, and that its ways may leave it by.
    halves: Vec<(usize, usize)>,
}

/// Nodes that a name takes above and below its middle.
fn half_height(lines: &[String]) -> usize {
    (lines.len() as f32 * 9.0 / PITCH / 2.0).ceil() as usize + 1
}

impl Frame {
    pub fn new(part: &Diagram, columns: usize, width: f32) -> Self {
        let has = |side: Side| part.outside.iter().any(|name| name.side == side);
        let left = if has(Side::Left) { LEFT_NAMES } else { 0.0 };
        let line = has(Side::Right).then_some(width - RIGHT_NAMES);
        let end = line.map_or(width, |line| line - 3.0);
        let across = ((end - left) / PITCH) as usize;
        let wide = match columns {
            0..=3 => 14,
            4 => 11,
            _ => (across.saturating_sub(4 * (columns + 1)) / columns).max(2),
        };
        let words = words(part, wide as f32 * PITCH);
        let marks = part.places.iter().map(|place| place.marks.clone()).collect();
        let most = words.iter().map(BoxWords::lines);
        let high = ((most.max().unwrap_or(3).max(3) as f32 * LINE + 6.0) / PITCH).ceil() as usize;
        let kind = Type::plain(7.5);
        let lines = part.outside.iter().map(|name| {
            let room = if name.side == Side::Left { LEFT_NAMES - 3.0 } else { RIGHT_NAMES - BEYOND - 3.0 };
            // The sheet where a way goes on stands on a line of its own.
            let (words, sheet) = match name.name.rsplit_once(", sheet ") {
                Some((words, number)) => (words, Some(format!("sheet {number}"))),
                None => (name.name.as_str(), None),
            };
            let lines = at_most(wrap(&Text::from(words), kind, room), 4);
            let words = |line: &Line| -> String { line.pieces.iter().map(|piece| piece.text.as_str()).collect() };
            lines.iter().map(words).chain(sheet.map(|sheet| fitted(&sheet, kind, room))).collect()
        });
        let spots = Spots { rows: 0, columns, cell: Vec::new() };
        let lines = lines.collect();
        let sides = part.outside.iter().map(|name| name.side).collect();
        Self {
            width,
            left,
            line,
            across,
            columns,
            wide,
            high,
            words,
            marks,
            gap: 4,
            spots,
            names: Vec::new(),
            lines,
            sides,
            halves: Vec::new(),
        }
    }

    /// How many rows a sheet of this height has room for.
    pub fn most_rows(&self, room: f32) -> usize {
        (((room / PITCH) as usize).saturating_sub(4) / (self.high + 4)).max(1)
    }

    /// The widest gap between rows that a sheet of this height has room for.
    pub fn most_gap(&self, rows: usize, room: f32) -> usize {
        let free = ((room / PITCH) as usize).saturating_sub(rows * self.high);
        (free / (rows + 1)).clamp(4, 9)
    }

    /// Gaps between rows worth a try.
    pub fn gaps(&self) -> Vec<usize> {
        if self.gap <= 6 { vec![self.gap] } else { vec![6, self.gap] }
    }

    fn down(&self) -> usize {
        let rows = self.spots.rows * self.high + (self.spots.rows + 1) * self.gap;
        let beside = |side: Side| -> usize {
            let names = self.halves.iter().zip(&self.sides).filter(|(_, other)| **other == side);
            names.map(|(half, _)| 2 * half.0).sum::<usize>() + 2
        };
        rows.max(beside(Side::Left)).max(beside(Side::Right))
    }

    fn first_x(&self, column: usize) -> usize {
        let free = self.across.saturating_sub(self.columns * self.wide);
        // The last channel is broader: most of what leaves goes through it, with its figures.
        column * self.wide + (2 * (column + 1) * free).div_ceil(2 * (self.columns + 1) + 1)
    }

    fn first_y(&self, row: usize) -> usize {
        row * self.high + (row + 1) * self.gap
    }

    fn x(&self, node: usize) -> f32 {
        self.left + PITCH / 2.0 + node as f32 * PITCH
    }

    fn y(&self, node: usize) -> f32 {
        PITCH / 2.0 + node as f32 * PITCH
    }

    fn area(&self, place: usize) -> Area {
        let (row, column) = self.spots.cell[place];
        Area {
            x: self.x(self.first_x(column)) - PITCH / 2.0,
            y: self.y(self.first_y(row)) - PITCH / 2.0,
            width: self.wide as f32 * PITCH,
            height: self.high as f32 * PITCH,
        }
    }

    /// Gives each name at a side its height: beside the place it belongs to, or in the channel beside that row.
    pub fn stand(mut self, net: &Net, hand: &Hand, spots: Spots, gap: usize) -> Self {
        (self.spots, self.gap) = (spots, gap);
        let room = |name: usize| -> usize {
            let own = net.links.iter().filter(|link| [link.from, link.to].contains(&End::Name(name)));
            own.map(|link| ((link.width + 4.0) / PITCH).ceil() as usize).sum()
        };
        let half = |name: usize| (half_height(&self.lines[name]).max(room(name) / 2 + 1), room(name) / 2);
        self.halves = (0..net.sides.len()).map(half).collect();
        let last = self.down().saturating_sub(1);
        let mut names = vec![(0, 0); net.sides.len()];
        for side in [Side::Left, Side::Right] {
            let mut wanted: Vec<(usize, usize, usize)> = Vec::new();
            for name in (0..net.sides.len()).filter(|name| net.sides[*name] == side) {
                let partner = net.links.iter().filter_map(|link| match (link.from, link.to) {
                    (End::Place(place), End::Name(other)) | (End::Name(other), End::Place(place)) if other == name => {
                        Some((place, link.weight))
                    }
                    _ => None,
                });
                let partner = partner.max_by(|a, b| a.1.total_cmp(&b.1)).map(|(place, _)| self.spots.cell[place]);
                let row = hand.names.get(&name).copied().or(partner.map(|cell| cell.0)).unwrap_or(0);
                let middle = self.first_y(row) + self.high / 2;
                let beside = |column: usize| if side == Side::Left { column == 0 } else { column + 1 == self.columns };
                let step = (self.high + self.gap) / 2;
                let y = match partner {
                    Some((at, column)) if at == row && !beside(column) => match side {
                        Side::Left => middle.saturating_sub(step),
                        Side::Right => middle + step,
                    },
                    _ => middle,
                };
                let half = self.halves[name].0;
                wanted.push((y.clamp(half, last.saturating_sub(half).max(half)), half, name));
            }
            wanted.sort();
            // Pushed apart downwards, then back up from the foot.
            for i in 1..wanted.len() {
                let least = wanted[i - 1].0 + wanted[i - 1].1 + wanted[i].1;
                wanted[i].0 = wanted[i].0.max(least);
            }
            let mut most = last;
            for one in wanted.iter_mut().rev() {
                one.0 = one.0.min(most.saturating_sub(one.1)).max(one.1.min(last));
                most = one.0.saturating_sub(one.1);
            }
            for (i, &(y, half, name)) in wanted.iter().enumerate() {
                let foot = |name: &(usize, usize, usize)| name.0 + name.1;
                let above = i.checked_sub(1).map_or(y, |j| y.saturating_sub(half + foot(&wanted[j])));
                let below =
                    wanted.get(i + 1).map_or(last.saturating_sub(y), |next| next.0.saturating_sub(next.1 + y + half));
                names[name] = (y, (above.min(below).min(4) / 2).max(self.halves[name].1));
            }
        }
        self.names = names;
        self
    }

    /// The grid with every place and sign on it.
    fn ground(&self) -> Ground {
        let mut ground = Ground::new(self.across, self.down().max(1));
        for (place, (row, column)) in self.spots.cell.iter().enumerate() {
            let (x, y) = (self.first_x(*column) as i64, self.first_y(*row) as i64);
            let (wide, high) = (self.wide as i64, self.high as i64);
            for v in -1..=high {
                for u in -1..=wide {
                    let (side, end) = (u == -1 || u == wide, v == -1 || v == high);
                    let bits = match (side, end) {
                        (false, true) => NO_LEVEL | NO_CORNER,
                        (true, false) => NO_UPRIGHT | NO_CORNER,
                        _ => SHUT,
                    };
                    ground.close(x + u, y + v, bits);
                }
            }
            let area = self.area(place);
            for (top, at) in mark_spots(area, &self.marks[place]) {
                let beyond = if top { [-1, -2] } else { [high, high + 1] };
                for u in 0..wide {
                    if (self.x((x + u) as usize) - at).abs() < PITCH {
                        ground.close(x + u, y + beyond[0], SHUT);
                        ground.close(x + u, y + beyond[1], NO_LEVEL | NO_CORNER);
                    }
                }
            }
        }
        ground
    }

    /// Where a way may leave or reach an end.
    fn gates(&self, ground: &Ground, end: End, sides: &[Side], reach: f32, leaving: bool) -> Vec<Gate> {
        let place = match end {
            End::Place(place) => place,
            End::Name(name) => {
                let (middle, slack) = self.names[name];
                let (column, x) = match sides[name] {
                    Side::Left => (0, self.left),
                    Side::Right => (self.across - 1, self.line.unwrap_or(self.width) + BEYOND),
                };
                let gate = |y: usize| Gate {
                    node: ground.node(column, y),
                    upright: false,
                    cost: y.abs_diff(middle) as u32,
                    edge: (x, self.y(y)),
                };
                return (middle.saturating_sub(slack)..=middle + slack)
                    .filter(|y| *y < ground.down)
                    .map(gate)
                    .collect();
            }
        };
        let (row, column) = self.spots.cell[place];
        let (x, y) = (self.first_x(column), self.first_y(row));
        let area = self.area(place);
        let mut gates = Vec::new();
        let mut add = |u: Option<usize>, v: Option<usize>, upright: bool, cost: u32, edge: (f32, f32)| {
            if let (Some(u), Some(v)) = (u, v)
                && u < ground.across
                && v < ground.down
                && ground.shut[ground.node(u, v)] & if upright { NO_UPRIGHT } else { NO_LEVEL } == 0
            {
                gates.push(Gate { node: ground.node(u, v), upright, cost, edge });
            }
        };
        // Water leaves at the foot or the right, and comes in at the top or the left, where that is as good.
        let (top, foot, left, right) = if leaving { (14, 0, 8, 0) } else { (0, 14, 0, 8) };
        for i in 0..self.wide {
            let at = self.x(x + i);
            if at - area.x >= reach + 2.5 && area.right() - at >= reach + 2.5 {
                let off = (2 * i + 1).abs_diff(self.wide) as u32 / 2;
                add(Some(x + i), y.checked_sub(1), true, top + off, (at, area.y));
                add(Some(x + i), Some(y + self.high), true, foot + off, (at, area.bottom()));
            }
        }
        for j in 0..self.high {
            let at = self.y(y + j);
            if at - area.y >= reach + 2.5 && area.bottom() - at >= reach + 2.5 {
                let off = (2 * j + 1).abs_diff(self.high) as u32 / 2;
                add(x.checked_sub(1), Some(y + j), false, left + off, (area.x, at));
                add(Some(x + self.wide), Some(y + j), false, right + off, (area.right(), at));
            }
        }
        gates
    }
    /// Finds the ways, and room for the figures.
    pub fn sheet(&self, part: &Diagram, net: &Net, key: &Key, rounds: usize) -> Sheet {
        let mut ground = self.ground();
        let wanted: Vec<Wanted> = net
            .links
            .iter()
            .map(|link| {
                let reach = link.width / 2.0 + if link.width >= BAND { 0.6 } else { 0.0 };
                let gates = |end, leaving| self.gates(&ground, end, &net.sides, reach, leaving);
                Wanted { from: gates(link.from, true), to: gates(link.to, false), reach }
            })
            .collect();
        let mut found = ground.all(&wanted, None, rounds);
        let mut sheet = self.drawn(part, net, key, &found);
        if rounds < CAREFUL {
            return sheet;
        }
        // Where a figure found no room, other ways are asked to leave it some.
        for _ in 0..3 {
            let missing = label::missing(&sheet);
            if missing.is_empty() {
                break;
            }
            ground.claimed.fill(None);
            for (way, area) in label::wishes(&sheet) {
                for node in self.under(area, &ground, sheet.up) {
                    ground.claimed[node] = Some(way);
                }
            }
            found = ground.all(&wanted, Some(found), rounds);
            let again = self.drawn(part, net, key, &found);
            let better = label::missing(&again).len() < missing.len();
            let sound = again.clashes() <= sheet.clashes() && again.crossings() <= sheet.crossings() + 2;
            if better && sound {
                sheet = again;
            } else {
                break;
            }
        }
        sheet
    }

    /// The nodes under a rectangle of the sheet, with those at its rim.
    fn under(&self, area: Area, ground: &Ground, up: f32) -> Vec<usize> {
        let mut nodes = Vec::new();
        for y in 0..ground.down {
            for x in 0..ground.across {
                let (u, v) = (self.x(x), self.y(y) - up);
                let level = u > area.x - 2.5 && u < area.right() + 2.5;
                if level && v > area.y - 2.5 && v < area.bottom() + 2.5 {
                    nodes.push(ground.node(x, y));
                }
            }
        }
        nodes
    }

    /// The sheet that found ways make, with what is empty above and below trimmed, and the figures that find room.
    fn drawn(&self, part: &Diagram, net: &Net, key: &Key, found: &[Found]) -> Sheet {
        let number = |end: End| match end {
            End::Place(place) => place,
            End::Name(name) => net.places + name,
        };
        let routes: Vec<Routed> = net
            .links
            .iter()
            .zip(found)
            .map(|(link, found)| {
                let way = &part.ways[link.way];
                Routed {
                    points: self.corners(found),
                    ends: (number(link.from), number(link.to)),
                    width: link.width,
                    carries: way.carries,
                    draws: way.draws && way.volume.is_some(),
                    words: label::words(way),
                    onward: link.onward,
                    label: None,
                }
            })
            .collect();
        let mut places: Vec<PlacedPlace> = Vec::new();
        for (i, place) in part.places.iter().enumerate() {
            let area = self.area(i);
            let inlet = net
                .links
                .iter()
                .zip(&routes)
                .filter(|(link, _)| link.to == End::Place(i))
                .max_by(|a, b| a.0.weight.total_cmp(&b.0.weight))
                .and_then(|(_, route)| route.points.last().map(|end| Edge::of(area, *end)));
            places.push(PlacedPlace {
                place: place.clone(),
                area,
                cell: self.spots.cell[i],
                words: self.words[i].clone(),
                inlet,
            });
        }
        let names = part.outside.iter().enumerate().map(|(i, name)| {
            let touched: Vec<f32> = routes
                .iter()
                .filter_map(|route| {
                    let point = if route.ends.0 == net.places + i { route.points.first() } else { route.points.last() };
                    (route.ends.0 == net.places + i || route.ends.1 == net.places + i).then_some(point?.y)
                })
                .collect();
            let y = if touched.is_empty() {
                self.y(self.names.get(i).map_or(0, |name| name.0))
            } else {
                touched.iter().sum::<f32>() / touched.len() as f32
            };
            let x = match name.side {
                Side::Left => self.left - 2.0,
                Side::Right => self.line.unwrap_or(self.width) + BEYOND + 2.0,
            };
            PlacedName { name: name.clone(), lines: self.lines[i].clone(), at: at(x, y) }
        });
        let names: Vec<PlacedName> = names.collect();
        // A name that is cut stands whole below, after the words as they stand in the picture.
        let whole = |short: &str, name: &str| Text::new().plain(format!("{short}: {name}"));
        let notes = places.iter().filter(|placed| placed.words.cut).map(|placed| {
            let bold = placed.words.lines.iter().filter(|line| line.1.style == Style::Bold);
            whole(&as_read(bold.map(|line| line.0.as_str())), &placed.place.name)
        });
        let outside = names.iter().filter_map(|placed| {
            let short = as_read(placed.lines.iter().map(String::as_str));
            short.ends_with('…').then(|| whole(&short, &placed.name.name))
        });
        let mut sheet = Sheet {
            title: None,
            width: self.width,
            height: 0.0,
            notes: notes.chain(outside).collect(),
            places,
            names,
            routes,
            line: self.line,
            map: 0.0,
            key: key.clone(),
            up: 0.0,
        };
        sheet.trim();
        label::place(&mut sheet);
        sheet
    }

    fn corners(&self, found: &Found) -> Vec<Point> {
        if found.nodes.is_empty() {
            return Vec::new();
        }
        let mut points = vec![at(found.start.0, found.start.1)];
        points.extend(found.nodes.iter().map(|node| at(self.x(node % self.across), self.y(node / self.across))));
        points.push(at(found.end.0, found.end.1));
        let mut kept: Vec<Point> = Vec::new();
        for point in points {
            if let [.., a, b] = kept.as_slice()
                && (((a.x - b.x).abs() < 0.1 && (b.x - point.x).abs() < 0.1)
                    || ((a.y - b.y).abs() < 0.1 && (b.y - point.y).abs() < 0.1))
            {
                kept.pop();
            }
            kept.push(point);
        }
        kept
    }
}

/// Lines as one reads them: a word that is parted with a hyphen is one word.
fn as_read<'a>(lines: impl Iterator<Item = &'a str>) -> String {
    lines.fold(String::new(), |mut all, line| {
        let parted = all.ends_with('-');
        if parted {
            all.pop();
        } else if !all.is_empty() {
            all.push(' ');
        }
        all.push_str(line.trim());
        all
    })
}

#[cfg(test)]
mod tests {
    use super::as_read;

    #[test]
    fn a_name_that_is_cut_is_listed_as_it_stands_in_the_picture() {
        assert_eq!(as_read(["Containerstell-", "fläche…"].into_iter()), "Containerstellfläche…");
        assert_eq!(as_read(["Szopa do", "przesadzan…"].into_iter()), "Szopa do przesadzan…");
    }
}

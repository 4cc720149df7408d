//! Where places stand: the layers of the stream folded into rows, then places exchanged while the picture becomes better.

use std::collections::BTreeMap;

use rayon::prelude::*;

use crate::page::diagram::net::{End, Link, Net};
use crate::page::diagram::stream;
use crate::page::document::{Diagram, Side};

/// The row and the column of each place.
#[derive(Debug, Clone, PartialEq)]
pub struct Spots {
    pub rows: usize,
    pub columns: usize,
    pub cell: Vec<(usize, usize)>,
}

/// What the user has laid out.
#[derive(Debug, Clone, Default)]
pub struct Hand {
    /// Places by row.
    pub rows: Vec<Vec<usize>>,
    /// The row of each name that stands in one.
    pub names: BTreeMap<usize, usize>,
}

impl Hand {
    /// The rows of a picture by number; a name that stands in a row without places goes to the row before it.
    pub fn of(diagram: &Diagram) -> Self {
        let mut hand = Self::default();
        for row in &diagram.rows {
            let place = |id: &String| diagram.places.iter().position(|place| place.id == *id);
            let places: Vec<usize> = row.iter().filter_map(place).collect();
            if !places.is_empty() {
                hand.rows.push(places);
            }
            let at = hand.rows.len().saturating_sub(1);
            for id in row {
                if let Some(name) = diagram.outside.iter().position(|name| name.id == *id) {
                    hand.names.insert(name, at);
                }
            }
        }
        hand
    }

    pub fn widest(&self) -> usize {
        self.rows.iter().map(Vec::len).max().unwrap_or(0)
    }
}

/// Arrangements worth a try with so many columns, each at most so many rows high where that can be.
pub fn arrangements(net: &Net, hand: &Hand, columns: usize, most_rows: usize) -> Vec<Spots> {
    let columns = columns.max(hand.widest()).max(1);
    if !hand.rows.is_empty() {
        return (0..TRIALS as u64 / 2).map(|seed| by_hand(net, hand, columns, seed)).collect();
    }
    let layer = stream::layers(net.places, &net.arcs());
    let mut folds = vec![strict(&layer, columns), folded(&layer, columns, 1), folded(&layer, columns, 0)];
    folds.retain(|rows| rows.len() <= most_rows);
    if folds.is_empty() {
        folds.push(packed(&layer, columns));
    }
    folds.dedup();
    let tried = |trial: usize| {
        let rows = &folds[trial % folds.len()];
        // Every other time with a row to spare, where there is room for it.
        let spare = usize::from(trial % 2 == 1 && rows.len() < most_rows);
        let mut search = Search::new(net, columns, rows.len() + spare);
        for (row, places) in rows.iter().enumerate() {
            let indent = (columns - places.len()) / 2;
            for (i, place) in places.iter().enumerate() {
                search.put(*place, row * columns + indent + i);
            }
        }
        search.improve(trial as u64);
        search.spots()
    };
    // Side by side, and in one order whatever the number of threads.
    let all: Vec<Spots> = (0..TRIALS).into_par_iter().map(tried).collect();
    let mut found: Vec<Spots> = Vec::new();
    for spots in all {
        if !found.contains(&spots) {
            found.push(spots);
        }
    }
    found
}

fn by_hand(net: &Net, hand: &Hand, columns: usize, seed: u64) -> Spots {
    let named: usize = hand.rows.iter().map(Vec::len).sum();
    let free: usize = hand.rows.len() * columns - named;
    let more = net.places.saturating_sub(named).saturating_sub(free).div_ceil(columns);
    let mut search = Search::new(net, columns, hand.rows.len() + more);
    let mut left: Vec<bool> = vec![true; net.places];
    for (row, places) in hand.rows.iter().enumerate() {
        for (i, place) in places.iter().enumerate() {
            search.put(*place, row * columns + i);
            search.home[*place] = Some((row, i));
            left[*place] = false;
        }
    }
    for place in (0..net.places).filter(|place| left[*place]) {
        if let Some(cell) = search.held.iter().rposition(Option::is_none) {
            search.put(place, cell);
        }
    }
    search.improve(seed);
    search.spots()
}

/// A row for each layer, or several where a layer is too long for one.
fn strict(layer: &[usize], columns: usize) -> Vec<Vec<usize>> {
    let layers = layer.iter().max().map_or(0, |most| most + 1);
    let members = |at: usize| -> Vec<usize> { (0..layer.len()).filter(|v| layer[*v] == at).collect() };
    (0..layers).flat_map(|at| members(at).chunks(columns).map(<[usize]>::to_vec).collect::<Vec<_>>()).collect()
}

/// Layers one after the other in rows that leave `spare` columns free where they can.
fn folded(layer: &[usize], columns: usize, spare: usize) -> Vec<Vec<usize>> {
    let room = columns.saturating_sub(spare).max(1);
    let mut rows: Vec<Vec<usize>> = Vec::new();
    for group in strict(layer, columns) {
        match rows.last_mut() {
            Some(row) if row.len() + group.len() <= room => row.extend(group),
            _ => rows.push(group),
        }
    }
    rows
}

/// Layers one after the other in full rows.
fn packed(layer: &[usize], columns: usize) -> Vec<Vec<usize>> {
    let mut order: Vec<usize> = (0..layer.len()).collect();
    order.sort_by_key(|place| (layer[*place], *place));
    order.chunks(columns).map(<[usize]>::to_vec).collect()
}

type Spot = (f32, f32);

/// Places in the cells of a grid, exchanged for the better.
struct Search<'a> {
    net: &'a Net,
    columns: usize,
    rows: usize,
    at: Vec<usize>,
    held: Vec<Option<usize>>,
    /// The row that the user gave a place, and where in it.
    home: Vec<Option<(usize, usize)>>,
    /// The links of each place.
    links: Vec<Vec<usize>>,
    /// The middle of each cell, a little off the grid so that no two lines lie on each other.
    middle: Vec<Spot>,
    /// Each link as a straight line.
    lines: Vec<(Spot, Spot)>,
    /// What one crossing costs, in distances between neighbours.
    crossing: f32,
}

/// What it costs to go round a place.
const ROUND: f32 = 1.3;
/// Arrangements tried.
const TRIALS: usize = 10;
/// Exchanges tried for each cell.
const STEPS: usize = 150;
/// How much worse an exchange may make it at first.
const WORSE: f32 = 12.0;

impl<'a> Search<'a> {
    fn new(net: &'a Net, columns: usize, rows: usize) -> Self {
        let mut links = vec![Vec::new(); net.places];
        for (i, link) in net.links.iter().enumerate() {
            for end in [link.from, link.to] {
                if let End::Place(place) = end {
                    links[place].push(i);
                }
            }
        }
        let cells = rows * columns;
        let middle = |cell: usize| {
            let (row, column) = (cell / columns, cell % columns);
            (column as f32 + 0.05 * (row % 3) as f32, row as f32 + 0.06 * (column % 2) as f32)
        };
        Self {
            net,
            columns,
            rows,
            at: vec![0; net.places],
            held: vec![None; cells],
            home: vec![None; net.places],
            links,
            middle: (0..cells).map(middle).collect(),
            lines: vec![((0.0, 0.0), (0.0, 0.0)); net.links.len()],
            crossing: 2.5,
        }
    }

    /// Draws the lines of a place anew.
    fn redraw(&mut self, place: usize) {
        for i in 0..self.links[place].len() {
            let link = self.links[place][i];
            self.lines[link] = self.line(&self.net.links[link]);
        }
    }

    fn put(&mut self, place: usize, cell: usize) {
        self.at[place] = cell;
        self.held[cell] = Some(place);
        self.redraw(place);
    }

    fn swap(&mut self, a: usize, b: usize) {
        let (p, q) = (self.held[a], self.held[b]);
        self.held[a] = q;
        self.held[b] = p;
        if let Some(p) = p {
            self.at[p] = b;
        }
        if let Some(q) = q {
            self.at[q] = a;
        }
        for place in [p, q].into_iter().flatten() {
            self.redraw(place);
        }
    }

    fn line(&self, link: &Link) -> (Spot, Spot) {
        let place = |end: End| match end {
            End::Place(place) => Some(self.middle[self.at[place]]),
            End::Name(_) => None,
        };
        let beside = |end: End, y: f32| match end {
            End::Name(name) if self.net.sides[name] == Side::Left => (-0.8, y),
            _ => (self.columns as f32 - 0.2, y),
        };
        match (place(link.from), place(link.to)) {
            (Some(a), Some(b)) => (a, b),
            (Some(a), None) => (a, beside(link.to, a.1)),
            (None, Some(b)) => (beside(link.from, b.1), b),
            (None, None) => ((0.0, 0.0), (0.0, 0.0)),
        }
    }

    fn own(&self, number: usize) -> f32 {
        let link = &self.net.links[number];
        let (a, b) = self.lines[number];
        let (dx, dy) = (b.0 - a.0, b.1 - a.1);
        let mut cost = 0.9 * dx.abs() + dy.abs();
        // The main stream goes down the page, or to the right.
        if link.onward {
            cost += if dy < -0.5 {
                5.0
            } else if dy < 0.5 && dx < 0.0 {
                0.5
            } else {
                0.0
            };
        }
        let ends = [link.from, link.to];
        let mut between = 0;
        for (held, middle) in self.held.iter().zip(&self.middle) {
            let Some(place) = held else { continue };
            between += u32::from(near(a, b, *middle) && !ends.contains(&End::Place(*place)));
        }
        cost * link.weight + ROUND * between as f32
    }

    fn cost_of(&self, links: &[usize]) -> f32 {
        let mut sum = 0.0;
        for &i in links {
            let link = &self.net.links[i];
            sum += self.own(i);
            let (a, b) = self.lines[i];
            for (j, &(c, d)) in self.lines.iter().enumerate() {
                // Two links that both move are met twice.
                if cross(a, b, c, d) && !(j <= i && links.contains(&j)) {
                    let other = &self.net.links[j];
                    let apart = [other.from, other.to].iter().all(|end| *end != link.from && *end != link.to);
                    sum += if apart { self.crossing } else { 0.0 };
                }
            }
        }
        sum
    }

    fn total(&self) -> f32 {
        self.cost_of(&(0..self.net.links.len()).collect::<Vec<_>>())
    }

    /// Exchanges two cells if that makes it worse by less than `most`; returns by how much it did.
    fn try_swap(&mut self, a: usize, b: usize, most: f32) -> Option<f32> {
        if a == b || (self.held[a].is_none() && self.held[b].is_none()) {
            return None;
        }
        let mut moved: Vec<usize> = Vec::new();
        for place in [self.held[a], self.held[b]].into_iter().flatten() {
            moved.extend(&self.links[place]);
        }
        moved.sort_unstable();
        moved.dedup();
        let before = self.cost_of(&moved);
        self.swap(a, b);
        let worse = self.cost_of(&moved) - before;
        if worse < most && self.keeps_rows(a) && self.keeps_rows(b) {
            return Some(worse);
        }
        self.swap(a, b);
        None
    }

    /// Whether what stands in the row of a cell stands there as the user laid it out.
    fn keeps_rows(&self, cell: usize) -> bool {
        let row = cell / self.columns;
        let mut before = None;
        for place in self.held[row * self.columns..(row + 1) * self.columns].iter().flatten() {
            if let Some((home, order)) = self.home[*place] {
                if home != row || before.is_some_and(|before| before > order) {
                    return false;
                }
                before = Some(order);
            }
        }
        true
    }

    /// Exchanges while anything becomes better.
    fn descend(&mut self) {
        let cells = self.held.len();
        for _ in 0..20 {
            let mut better = false;
            for a in 0..cells {
                for b in a + 1..cells {
                    better |= self.try_swap(a, b, -1e-3).is_some();
                }
            }
            if !better {
                break;
            }
        }
    }

    /// Takes exchanges that make it a little worse too, less and less so (threshold accepting, Dueck and Scheuer 1990), then
    /// only better ones.
    fn improve(&mut self, seed: u64) {
        self.crossing = if seed.is_multiple_of(3) { 2.5 } else { 5.0 };
        self.descend();
        let cells = self.held.len();
        let mut best = (self.total(), self.at.clone());
        let mut seed = (seed + 1).wrapping_mul(0x2545_F491_4F6C_DD1D);
        let mut draw = || {
            seed ^= seed << 13;
            seed ^= seed >> 7;
            seed ^= seed << 17;
            (seed % cells as u64) as usize
        };
        let steps = if cells < 3 { 0 } else { STEPS * cells };
        let mut total = best.0;
        for step in 0..steps {
            let left = 1.0 - step as f32 / steps as f32;
            if let Some(worse) = self.try_swap(draw(), draw(), WORSE * left * left) {
                total += worse;
                if total + 1e-3 < best.0 {
                    best = (total, self.at.clone());
                }
            }
        }
        self.restore(&best.1);
        self.descend();
    }

    fn restore(&mut self, at: &[usize]) {
        self.held.fill(None);
        for (place, cell) in at.iter().enumerate() {
            self.put(place, *cell);
        }
    }

    /// Where everything stands, empty rows taken out.
    fn spots(&self) -> Spots {
        let used: Vec<usize> = (0..self.rows)
            .filter(|row| self.held[row * self.columns..(row + 1) * self.columns].iter().any(Option::is_some))
            .collect();
        let row = |cell: usize| used.iter().position(|row| *row == cell / self.columns).unwrap_or(0);
        let cell = self.at.iter().map(|cell| (row(*cell), cell % self.columns)).collect();
        Spots { rows: used.len(), columns: self.columns, cell }
    }
}

/// Whether a line passes a place so closely that the way will have to go round it.
fn near(a: Spot, b: Spot, place: Spot) -> bool {
    const NEAR: f32 = 0.3;
    let outside = |v: f32, a: f32, b: f32| (v + NEAR < a && v + NEAR < b) || (v - NEAR > a && v - NEAR > b);
    if outside(place.0, a.0, b.0) || outside(place.1, a.1, b.1) {
        return false;
    }
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let length = dx * dx + dy * dy;
    if length < 0.01 {
        return false;
    }
    let along = ((place.0 - a.0) * dx + (place.1 - a.1) * dy) / length;
    if !(0.0..=1.0).contains(&along) {
        return false;
    }
    let (x, y) = (a.0 + along * dx - place.0, a.1 + along * dy - place.1);
    x * x + y * y < NEAR * NEAR
}

fn cross(a: Spot, b: Spot, c: Spot, d: Spot) -> bool {
    let apart =
        |a: f32, b: f32, c: f32, d: f32| (a < c && a < d && b < c && b < d) || (a > c && a > d && b > c && b > d);
    if apart(a.0, b.0, c.0, d.0) || apart(a.1, b.1, c.1, d.1) {
        return false;
    }
    let turn = |p: Spot, q: Spot, r: Spot| (q.0 - p.0) * (r.1 - p.1) - (q.1 - p.1) * (r.0 - p.0);
    turn(a, b, c) * turn(a, b, d) < 0.0 && turn(c, d, a) * turn(c, d, b) < 0.0
}

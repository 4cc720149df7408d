//! The ways over a grid of tracks: square, as short and with as few corners and crossings as can be found.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Distance between tracks, points.
pub const PITCH: f32 = 6.0;
/// White kept between two ways side by side.
const BETWEEN: f32 = 2.2;

// What a step, a corner, a crossing and lying on another way cost.
const STEP: u32 = 2;
const CORNER: u32 = 12;
const CROSSING: u32 = 70;
const CLASH: u32 = 300;
const CLAIMED: u32 = 90;

/// No level stretch, no upright stretch, no corner at a node.
pub const NO_LEVEL: u8 = 1;
/// See [`NO_LEVEL`].
pub const NO_UPRIGHT: u8 = 2;
/// See [`NO_LEVEL`].
pub const NO_CORNER: u8 = 4;
/// Nothing at all.
pub const SHUT: u8 = 7;

/// A node of the grid where a way may leave or reach one of its ends.
#[derive(Debug, Clone, Copy)]
pub struct Gate {
    pub node: usize,
    pub upright: bool,
    pub cost: u32,
    /// Where the way touches what it ends at.
    pub edge: (f32, f32),
}

/// A way to be found.
#[derive(Debug, Clone)]
pub struct Wanted {
    pub from: Vec<Gate>,
    pub to: Vec<Gate>,
    /// Half of its width.
    pub reach: f32,
}

/// A way found: its nodes from gate to gate.
#[derive(Debug, Clone, Default)]
pub struct Found {
    pub nodes: Vec<usize>,
    pub start: (f32, f32),
    pub end: (f32, f32),
    pub cost: u32,
    /// The part of the cost that its two gates make.
    gates: u32,
}

/// The grid.
#[derive(Debug, Clone)]
pub struct Ground {
    pub across: usize,
    pub down: usize,
    pub shut: Vec<u8>,
    /// The way whose figure wants to stand at a node.
    pub claimed: Vec<Option<usize>>,
}

/// What other ways make of a node.
#[derive(Debug, Clone, Copy, Default)]
struct Near {
    level: u8,
    upright: u8,
    /// Ways that run level, upright through just this node.
    on_level: u8,
    on_upright: u8,
}

impl Ground {
    pub fn new(across: usize, down: usize) -> Self {
        Self { across, down, shut: vec![0; across * down], claimed: vec![None; across * down] }
    }

    pub fn node(&self, x: usize, y: usize) -> usize {
        y * self.across + x
    }

    /// Shuts a node, if there is one there, to what `bits` say.
    pub fn close(&mut self, x: i64, y: i64, bits: u8) {
        let (Ok(x), Ok(y)) = (usize::try_from(x), usize::try_from(y)) else { return };
        if x < self.across && y < self.down {
            let node = self.node(x, y);
            self.shut[node] |= bits;
        }
    }

    /// Finds all ways: each once, the short ones first, then each again while any becomes better, at most `rounds` times.
    /// Ways that were found before stand until a better one is.
    pub fn all(&self, wanted: &[Wanted], before: Option<Vec<Found>>, rounds: usize) -> Vec<Found> {
        let mut order: Vec<usize> = (0..wanted.len()).collect();
        order.sort_by_key(|i| (self.span(&wanted[*i]), *i));
        let mut search = Search::new(self);
        let mut found: Vec<Option<Found>> = match before {
            Some(before) => before.into_iter().map(|way| (!way.nodes.is_empty()).then_some(way)).collect(),
            None => vec![None; wanted.len()],
        };
        for round in 0..=rounds {
            let mut better = false;
            for &i in &order {
                let before = found[i].take();
                search.surround(wanted, &found, i);
                let now = search.find(&wanted[i]);
                let held = before.map(|old| {
                    let cost = search.cost(&old);
                    Found { cost, ..old }
                });
                found[i] = match (held, now) {
                    (Some(old), Some(new)) if new.cost < old.cost => {
                        better = true;
                        Some(new)
                    }
                    (Some(old), _) => Some(old),
                    (None, new) => {
                        better |= new.is_some();
                        new
                    }
                };
            }
            if round > 0 && !better {
                break;
            }
        }
        found.into_iter().map(Option::unwrap_or_default).collect()
    }

    /// The least distance between the gates of a way.
    fn span(&self, wanted: &Wanted) -> usize {
        let place = |gate: &Gate| (gate.node % self.across, gate.node / self.across);
        let between = |a: &Gate| {
            let (x, y) = place(a);
            wanted.to.iter().map(place).map(|(u, v)| x.abs_diff(u) + y.abs_diff(v)).min()
        };
        wanted.from.iter().filter_map(between).min().unwrap_or(usize::MAX)
    }
}

/// How many tracks beside its own a way keeps another from.
fn kept(a: f32, b: f32) -> usize {
    ((a + b + BETWEEN) / PITCH).ceil().max(1.0) as usize - 1
}

fn gate_at(gates: &[Gate], state: usize) -> Option<&Gate> {
    let same = gates.iter().filter(|gate| gate.node * 2 + usize::from(gate.upright) == state);
    same.min_by_key(|gate| gate.cost)
}

struct Search<'a> {
    ground: &'a Ground,
    near: Vec<Near>,
    own: usize,
    best: Vec<u32>,
    came: Vec<u32>,
}

const FAR: u32 = u32::MAX;

impl<'a> Search<'a> {
    fn new(ground: &'a Ground) -> Self {
        let nodes = ground.shut.len();
        Self {
            ground,
            near: vec![Near::default(); nodes],
            own: 0,
            best: vec![FAR; nodes * 2],
            came: vec![FAR; nodes * 2],
        }
    }

    /// Notes what all other ways make of the ground for way `own`.
    fn surround(&mut self, wanted: &[Wanted], found: &[Option<Found>], own: usize) {
        self.near.fill(Near::default());
        self.own = own;
        let (across, down) = (self.ground.across, self.ground.down);
        for (other, way) in found.iter().enumerate() {
            let Some(way) = way.as_ref().filter(|_| other != own) else { continue };
            let keep = kept(wanted[own].reach, wanted[other].reach);
            let count = way.nodes.len();
            for (i, &node) in way.nodes.iter().enumerate() {
                let (x, y) = (node % across, node / across);
                let neighbours = [i.checked_sub(1).map(|j| way.nodes[j]), way.nodes.get(i + 1).copied()];
                let upright_at = |other: usize| other % across == x;
                let (mut level, mut upright) = (false, false);
                for other in neighbours.into_iter().flatten() {
                    upright |= upright_at(other);
                    level |= !upright_at(other);
                }
                // Nothing crosses where a way leaves or comes in.
                if i < 2 || i + 2 >= count {
                    (level, upright) = (true, true);
                }
                if level {
                    for v in y.saturating_sub(keep)..=(y + keep).min(down - 1) {
                        let near = &mut self.near[v * across + x].level;
                        *near = near.saturating_add(1);
                    }
                    self.near[node].on_level = self.near[node].on_level.saturating_add(1);
                }
                if upright {
                    for u in x.saturating_sub(keep)..=(x + keep).min(across - 1) {
                        let near = &mut self.near[y * across + u].upright;
                        *near = near.saturating_add(1);
                    }
                    self.near[node].on_upright = self.near[node].on_upright.saturating_add(1);
                }
            }
        }
    }

    /// What it costs to be at a node in a direction.
    fn run(&self, node: usize, upright: bool) -> u32 {
        let near = self.near[node];
        let (clash, crossed) = if upright { (near.upright, near.on_level) } else { (near.level, near.on_upright) };
        let claimed = self.ground.claimed[node].is_some_and(|way| way != self.own);
        CLAIMED * u32::from(claimed)
            + CLASH * u32::from(clash)
            + if clash == 0 { CROSSING * u32::from(crossed) } else { 0 }
    }

    fn corner(&self, node: usize) -> u32 {
        let near = self.near[node];
        CORNER + CLASH * (u32::from(near.level) + u32::from(near.upright))
    }

    /// What a way found earlier costs now.
    fn cost(&self, way: &Found) -> u32 {
        let across = self.ground.across;
        let mut cost = way.gates;
        let upright = |a: usize, b: usize| a % across == b % across;
        let mut before: Option<bool> = None;
        for pair in way.nodes.windows(2) {
            let direction = upright(pair[0], pair[1]);
            match before {
                None => cost += self.run(pair[0], direction),
                Some(other) if other != direction => cost += self.corner(pair[0]) + self.run(pair[0], direction),
                Some(_) => {}
            }
            cost += STEP + self.run(pair[1], direction);
            before = Some(direction);
        }
        cost
    }

    fn find(&mut self, wanted: &Wanted) -> Option<Found> {
        self.best.fill(FAR);
        let across = self.ground.across;
        let mut goal = vec![FAR; self.best.len()];
        let (mut x0, mut x1, mut y0, mut y1) = (usize::MAX, 0, usize::MAX, 0);
        for gate in &wanted.to {
            let state = gate.node * 2 + usize::from(gate.upright);
            goal[state] = goal[state].min(gate.cost);
            let (x, y) = (gate.node % across, gate.node / across);
            (x0, x1, y0, y1) = (x0.min(x), x1.max(x), y0.min(y), y1.max(y));
        }
        let left = |node: usize| -> u32 {
            let (x, y) = (node % across, node / across);
            let dx = x0.saturating_sub(x) + x.saturating_sub(x1);
            let dy = y0.saturating_sub(y) + y.saturating_sub(y1);
            STEP * (dx + dy) as u32
        };
        let mut open: BinaryHeap<Reverse<(u32, u32)>> = BinaryHeap::new();
        for gate in &wanted.from {
            let state = gate.node * 2 + usize::from(gate.upright);
            let cost = gate.cost + self.run(gate.node, gate.upright);
            if cost < self.best[state] {
                self.best[state] = cost;
                self.came[state] = FAR;
                open.push(Reverse((cost + left(gate.node), state as u32)));
            }
        }
        let mut end: Option<(u32, usize)> = None;
        while let Some(Reverse((sum, state))) = open.pop() {
            if end.is_some_and(|(cost, _)| cost <= sum) {
                break;
            }
            let state = state as usize;
            let (node, upright) = (state / 2, state % 2 == 1);
            let cost = self.best[state];
            if sum > cost + left(node) {
                continue;
            }
            if goal[state] != FAR {
                let whole = cost + goal[state];
                if end.is_none_or(|(best, _)| whole < best) {
                    end = Some((whole, state));
                }
            }
            let shut = self.ground.shut[node];
            let turned = if upright { NO_LEVEL } else { NO_UPRIGHT };
            if shut & (NO_CORNER | turned) == 0 {
                self.reach(state ^ 1, state, cost + self.corner(node) + self.run(node, !upright), &left, &mut open);
            }
            let (x, y) = (node % across, node / across);
            let steps = if upright {
                [(y > 0).then(|| node - across), (y + 1 < self.ground.down).then(|| node + across)]
            } else {
                [(x > 0).then(|| node - 1), (x + 1 < across).then(|| node + 1)]
            };
            let barred = if upright { NO_UPRIGHT } else { NO_LEVEL };
            for next in steps.into_iter().flatten().filter(|next| self.ground.shut[*next] & barred == 0) {
                let to = next * 2 + usize::from(upright);
                self.reach(to, state, cost + STEP + self.run(next, upright), &left, &mut open);
            }
        }
        let (cost, last) = end?;
        let mut nodes = Vec::new();
        let mut state = last;
        let first = loop {
            if nodes.last() != Some(&(state / 2)) {
                nodes.push(state / 2);
            }
            match self.came[state] {
                FAR => break state,
                before => state = before as usize,
            }
        };
        nodes.reverse();
        let (from, to) = (gate_at(&wanted.from, first)?, gate_at(&wanted.to, last)?);
        Some(Found { nodes, start: from.edge, end: to.edge, cost, gates: from.cost + to.cost })
    }

    fn reach(
        &mut self,
        to: usize,
        from: usize,
        cost: u32,
        left: &impl Fn(usize) -> u32,
        open: &mut BinaryHeap<Reverse<(u32, u32)>>,
    ) {
        if cost < self.best[to] {
            self.best[to] = cost;
            self.came[to] = from as u32;
            open.push(Reverse((cost + left(to / 2), to as u32)));
        }
    }
}

//! The least shape of a grid, by branch and bound.
//!
//! A box of shapes is left out as a whole where what no shape of it comes under is no less than the best shape found (mostly
//! that is its smallest corner; earth that is brought makes a larger pond cheaper, and is bounded by itself), where not even
//! its best corner does the duties that need no weather, or where its corners, run over the years, fail those that do.
//! What is left is cut in two, the box with the least smallest corner first, down to single shapes, and each shape that
//! comes out as the least was itself run.
//!
//! Of one floor plan, what passes over the years is what is deep enough: the deeper pond has the same rain, evaporation
//! and inflow at every distance below the spill level, and more room under it. A larger plan may be better or worse, since
//! it holds more, catches more rain and loses more water. So boxes are left out for what the years do only where their
//! plans are nearly equal and both the largest and the smallest fail at the greatest depth; that no plan between passes is
//! taken, and tests hold whole grids against it. Where a duty is known to be done better by every larger pond, boxes of
//! any plans are left out by their largest corner.

use std::cmp::Ordering;
use std::collections::{BinaryHeap, HashMap};

use super::columns::least_by_depth;
use super::{Basin, Grid};

/// What years of weather show of one shape.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Passed {
    /// It does the duties that a larger pond does no worse.
    pub larger_is_better: bool,
    /// It does those that a larger pond may do worse.
    pub other: bool,
}

impl Passed {
    /// It does none of them.
    const NOTHING: Self = Self { larger_is_better: false, other: false };

    /// Whether it does all of them.
    pub fn all(self) -> bool {
        self.larger_is_better && self.other
    }
}

/// Simulates several shapes.
pub type Passes<'a, E> = &'a mut dyn FnMut(&[Basin]) -> Result<Vec<Passed>, E>;

/// What an earlier search has shown of a shape.
pub type Before<'a> = &'a dyn Fn(&Basin) -> Option<Passed>;

/// Duties that turn on years of weather.
pub struct Weather<'a, E> {
    /// Simulates several shapes.
    pub passes: Passes<'a, E>,
    /// Knows of some shapes without a simulation.
    pub before: Option<Before<'a>>,
    /// Whether there is a duty that a larger pond may do worse.
    pub larger_may_be_worse: bool,
    /// Shapes simulated at the most to show that none is less than the best found.
    pub most: usize,
}

/// What no shape of a box comes under, of its smallest corner and the best ones.
pub type AtLeast<'a> = &'a dyn Fn(&Basin, &Corners) -> f64;

/// What is to be least.
#[derive(Clone, Copy)]
pub struct Aim<'a> {
    /// Of a shape.
    pub of: &'a dyn Fn(&Basin) -> f64,
    /// What no shape of a box comes under, of its smallest corner and the best ones; none where no larger shape is less,
    /// so that the smallest corner says it.
    pub at_least: Option<AtLeast<'a>>,
}

impl<'a> Aim<'a> {
    /// What no larger shape has less of.
    pub fn rising(of: &'a dyn Fn(&Basin) -> f64) -> Self {
        Self { of, at_least: None }
    }
}

/// Whether the duties that need no weather may be done by some shape between corners.
pub type Fixed<'a> = &'a dyn Fn(&Corners) -> bool;

/// Shapes simulated side by side.
pub const BATCH: usize = 16;

/// Plans are nearly equal where the larger is no longer and no wider than so many times the smaller.
const NEAR_PLANS: f64 = 1.15;

/// A first, coarse search has so many sizes of a kind.
const COARSE: usize = 12;
/// What is then looked for depth by depth has so many.
const COLUMNS: usize = 32;
/// And so many depths at the most.
const DEPTHS: usize = 8;
/// Sizes about the best found are those no further from its own than this share of them.
const ABOUT: f64 = 0.12;
/// The best found is bettered among the sizes about it so often at the most.
const TIMES_ABOUT: usize = 2;

/// The corners of a box of shapes, each the best of the box for one thing. Of a single shape all three are that shape.
#[derive(Debug, Clone, Copy)]
pub struct Corners {
    /// Asks for the least room: smallest plan, deepest.
    pub needs: Basin,
    /// Has the most room: largest plan, deepest.
    pub room: Basin,
    /// Has the most surface over the settled solids: largest plan, shallowest.
    pub surface: Basin,
}

impl Corners {
    /// Those of a single shape.
    pub fn of(basin: Basin) -> Self {
        Self { needs: basin, room: basin, surface: basin }
    }
}

/// The least shape, and how much was looked at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Found {
    /// The least shape.
    pub basin: Basin,
    /// Boxes of shapes looked at.
    pub boxes: usize,
    /// Shapes simulated.
    pub simulated: usize,
    /// Whether every smaller shape of the grid was ruled out.
    pub proved: bool,
}

pub(super) type Key = [f64; 5];

/// What orders shapes: what is to be least, then volume, ground, depth and length, so that no two are equal.
pub(super) fn key(basin: &Basin, objective: &dyn Fn(&Basin) -> f64) -> Key {
    [objective(basin), basin.capacity_m3(), basin.footprint_m2(), basin.depth_m, basin.length_m]
}

pub(super) fn compare(a: &Key, b: &Key) -> Ordering {
    a.iter().zip(b).map(|(a, b)| a.total_cmp(b)).find(|order| order.is_ne()).unwrap_or(Ordering::Equal)
}

/// A box of the grid: first and last size of depth, length and width, both in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Span {
    depth: (usize, usize),
    length: (usize, usize),
    width: (usize, usize),
}

/// A box with the key of its smallest corner.
struct Open {
    key: Key,
    span: Span,
}

impl Ord for Open {
    /// The greatest is the one to open next: the least smallest corner.
    fn cmp(&self, other: &Self) -> Ordering {
        compare(&other.key, &self.key).then_with(|| {
            let order = |span: &Span| [span.depth, span.length, span.width];
            order(&other.span).cmp(&order(&self.span))
        })
    }
}

impl PartialOrd for Open {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Open {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Open {}

/// A box in metres: its ends, and the corners that bound what is in it.
struct Ends {
    low: [f64; 3],
    high: [f64; 3],
    corners: Corners,
}

impl Ends {
    /// Whether the plans of the box are nearly equal.
    fn has_near_plans(&self) -> bool {
        let ([_, length, width], [_, longest, widest]) = (self.low, self.high);
        longest <= NEAR_PLANS * length && widest <= NEAR_PLANS * width
    }
}

impl Grid {
    fn whole(&self) -> Option<Span> {
        let all = |sizes: &[f64]| Some((0, sizes.len().checked_sub(1)?));
        Some(Span { depth: all(&self.depths_m)?, length: all(&self.lengths_m)?, width: all(&self.widths_m)? })
    }

    fn ends(&self, span: &Span) -> Option<Ends> {
        let of = |sizes: &[f64], ends: (usize, usize)| Some((*sizes.get(ends.0)?, *sizes.get(ends.1)?));
        let (depth, length, width) =
            (of(&self.depths_m, span.depth)?, of(&self.lengths_m, span.length)?, of(&self.widths_m, span.width)?);
        let shape = |depth_m: f64, length_m: f64, width_m: f64| {
            let depth_m = depth_m.min(self.deepest_m(length_m, width_m));
            Basin { depth_m, length_m, width_m, ..self.common }
        };
        // Not even the largest plan is wide enough for the least depth, or long enough for the least width.
        if depth.0 > self.deepest_m(length.1, width.1)
            || !self.is_wide_enough(depth.0, length.1, width.1)
            || !self.is_long_enough(length.1, width.0)
        {
            return None;
        }
        Some(Ends {
            low: [depth.0, length.0, width.0],
            high: [depth.1, length.1, width.1],
            corners: Corners {
                needs: shape(depth.1, length.0, width.0),
                room: shape(depth.1, length.1, width.1),
                surface: shape(depth.0, length.1, width.1),
            },
        })
    }

    /// The smallest corner, which may have too little floor or length for a shape of its own: a bound.
    fn smallest(&self, ends: &Ends) -> Basin {
        let [depth_m, length_m, width_m] = ends.low;
        Basin { depth_m: depth_m.min(self.deepest_m(length_m, width_m)), length_m, width_m, ..self.common }
    }
}

/// Cuts a box in two along the axis in which its ends are furthest apart by ratio; none for a single shape.
fn halves(span: &Span, ends: &Ends) -> Option<[Span; 2]> {
    let counts = [span.depth, span.length, span.width].map(|(from, to)| to - from);
    let axis = (0..3).filter(|axis| counts.get(*axis).is_some_and(|count| *count > 0)).max_by(|a, b| {
        let apart = |axis: usize| match (ends.low.get(axis), ends.high.get(axis)) {
            (Some(low), Some(high)) => high / low,
            _ => 0.0,
        };
        apart(*a).total_cmp(&apart(*b))
    })?;
    let cut = |(from, to): (usize, usize)| {
        let middle = from + (to - from) / 2;
        ((from, middle), (middle + 1, to))
    };
    let (mut first, mut second) = (*span, *span);
    match axis {
        0 => (first.depth, second.depth) = cut(span.depth),
        1 => (first.length, second.length) = cut(span.length),
        _ => (first.width, second.width) = cut(span.width),
    }
    Some([first, second])
}

/// What runs have shown: shapes that fail, and shapes that do not.
#[derive(Default)]
struct Known {
    fail: Vec<Basin>,
    pass: Vec<Basin>,
}

fn no_larger(a: &Basin, b: &Basin) -> bool {
    a.depth_m <= b.depth_m && a.length_m <= b.length_m && a.width_m <= b.width_m
}

impl Known {
    fn fails(&self, basin: &Basin) -> bool {
        self.fail.iter().any(|failed| no_larger(basin, failed))
    }

    fn passes(&self, basin: &Basin) -> bool {
        self.pass.iter().any(|passed| no_larger(passed, basin))
    }

    fn learn(&mut self, basin: Basin, passed: bool) {
        if passed {
            self.pass.retain(|held| !no_larger(&basin, held));
            self.pass.push(basin);
        } else {
            self.fail.retain(|held| !no_larger(held, &basin));
            self.fail.push(basin);
        }
    }
}

/// The least shape of a grid that does its duties; none when no shape does.
///
/// `fixed` says whether a shape does the duties that need no weather; `weather` simulates for the others, and is none
/// where no duty needs it.
///
/// # Errors
/// When a simulation fails.
pub fn least<E>(
    grid: &Grid,
    aim: Aim<'_>,
    fixed: Fixed<'_>,
    mut weather: Option<Weather<'_, E>>,
) -> Result<Option<Found>, E> {
    let mut search = Search {
        aim,
        fixed,
        weather: weather.is_some(),
        larger_may_be_worse: weather.as_ref().is_some_and(|weather| weather.larger_may_be_worse),
        known: Known::default(),
        ran: HashMap::new(),
        best: None,
        boxes: 0,
    };
    if let Some(weather) = &mut weather {
        // What does the other duties with the least is the least of all if it does the weather's too.
        let Some(without) = least::<E>(grid, aim, fixed, None)? else { return Ok(None) };
        let passed = (weather.passes)(&[without.basin])?;
        if passed.first().is_some_and(|passed| passed.all()) {
            return Ok(Some(Found { simulated: 1, ..without }));
        }
    }
    // A shape that does its duties spares the proof what is no less.
    if weather.is_some() {
        search.run(&grid.thin(COARSE), &mut weather)?;
        search.columns(grid, &mut weather)?;
    }
    let proved = search.run(grid, &mut weather)?;
    search.shallower(grid, &mut weather)?;
    let Search { best, boxes, ran, .. } = search;
    Ok(best.map(|(_, basin)| Found { basin, boxes, simulated: ran.len(), proved }))
}

/// A shape's sizes, to look it up by.
type Sizes = [u64; 3];

fn sizes(basin: &Basin) -> Sizes {
    [basin.depth_m, basin.length_m, basin.width_m].map(f64::to_bits)
}

/// What becomes of a box.
enum Step {
    Drop,
    Split([Span; 2]),
    /// A single shape that does all its duties.
    Take(Basin),
    /// What must be run before it can be said.
    Run(Vec<Basin>),
}

struct Search<'a> {
    aim: Aim<'a>,
    fixed: Fixed<'a>,
    weather: bool,
    larger_may_be_worse: bool,
    known: Known,
    ran: HashMap<Sizes, Passed>,
    best: Option<(Key, Basin)>,
    boxes: usize,
}

impl Search<'_> {
    fn is_less(&self, key: &Key) -> bool {
        self.best.as_ref().is_none_or(|(best, _)| compare(key, best).is_lt())
    }

    fn open(&self, grid: &Grid, span: Span, heap: &mut BinaryHeap<Open>) {
        if let Some(ends) = grid.ends(&span) {
            let smallest = grid.smallest(&ends);
            let single = span.depth.0 == span.depth.1 && span.length.0 == span.length.1 && span.width.0 == span.width.1;
            let key = match self.aim.at_least.filter(|_| !single) {
                Some(at_least) => key(&smallest, &|smallest| at_least(smallest, &ends.corners)),
                None => key(&smallest, self.aim.of),
            };
            if self.is_less(&key) {
                heap.push(Open { key, span });
            }
        }
    }

    /// Looks for less depth by depth, on a coarse grid and then among the sizes about the best: a shape found so is no proof,
    /// but it spares the proof most of what is no less, and is there where that is broken off.
    fn columns<E>(&mut self, grid: &Grid, weather: &mut Option<Weather<'_, E>>) -> Result<(), E> {
        let Some(weather) = weather else { return Ok(()) };
        let mut near = Grid { depths_m: grid.thin(DEPTHS).depths_m, ..grid.thin(COLUMNS) };
        for time in 0..=TIMES_ABOUT {
            let before = self.best.map(|(_, basin)| basin);
            let (of, fixed) = (self.aim.of, self.fixed);
            let mut passes = |basins: &[Basin]| {
                let unknown: Vec<Basin> =
                    basins.iter().filter(|basin| !self.ran.contains_key(&sizes(basin))).copied().collect();
                if !unknown.is_empty() {
                    for (basin, passed) in unknown.iter().zip((weather.passes)(&unknown)?) {
                        self.learn(basin, passed);
                    }
                }
                let ran = |basin: &Basin| self.ran.get(&sizes(basin)).copied();
                Ok(basins.iter().map(|basin| ran(basin).unwrap_or(Passed::NOTHING)).collect())
            };
            let found = least_by_depth(&near, DEPTHS, of, &|basin| fixed(&Corners::of(*basin)), &mut passes)?;
            for basin in found {
                let key = key(&basin, of);
                if self.is_less(&key) {
                    self.best = Some((key, basin));
                }
            }
            match self.best.map(|(_, best)| best) {
                Some(best) if time == 0 || before != Some(best) => near = grid.about(&best, ABOUT),
                _ => break,
            }
        }
        Ok(())
    }

    /// Runs every shallower shape of the best plan: over the years a deeper pond may fail where a shallower passes.
    fn shallower<E>(&mut self, grid: &Grid, weather: &mut Option<Weather<'_, E>>) -> Result<(), E> {
        let (Some(weather), Some((_, best))) = (weather, self.best) else { return Ok(()) };
        let shapes: Vec<Basin> = grid
            .depths_m
            .iter()
            .filter_map(|depth| grid.shape(*depth, best.length_m, best.width_m))
            .filter(|basin| self.is_less(&key(basin, self.aim.of)) && (self.fixed)(&Corners::of(*basin)))
            .collect();
        let unknown: Vec<Basin> =
            shapes.iter().filter(|basin| !self.ran.contains_key(&sizes(basin))).copied().collect();
        if !unknown.is_empty() {
            let passed = (weather.passes)(&unknown)?;
            self.ran.extend(unknown.iter().map(sizes).zip(passed));
        }
        for basin in shapes {
            let key = key(&basin, self.aim.of);
            if self.ran.get(&sizes(&basin)).is_some_and(|passed| passed.all()) && self.is_less(&key) {
                self.best = Some((key, basin));
            }
        }
        Ok(())
    }

    /// Looks through the grid for less than the best known; whether nothing less was left open.
    fn run<E>(&mut self, grid: &Grid, weather: &mut Option<Weather<'_, E>>) -> Result<bool, E> {
        let mut heap = BinaryHeap::new();
        if let Some(whole) = grid.whole() {
            self.open(grid, whole, &mut heap);
        }
        loop {
            let before = weather.as_ref().and_then(|weather| weather.before);
            let (waiting, asked) = self.look(grid, &mut heap, before);
            heap.extend(waiting);
            let Some(weather) = weather.as_mut().filter(|_| !asked.is_empty()) else {
                return Ok(true);
            };
            for (basin, passed) in asked.iter().zip((weather.passes)(&asked)?) {
                self.learn(basin, passed);
            }
            if self.ran.len() >= weather.most && self.best.is_some() {
                return Ok(false);
            }
        }
    }

    fn learn(&mut self, basin: &Basin, passed: Passed) {
        self.known.learn(*basin, passed.larger_is_better);
        self.ran.insert(sizes(basin), passed);
    }

    /// Opens boxes until enough shapes are to be run, or none is left: the boxes that wait for them, and the shapes.
    fn look(
        &mut self,
        grid: &Grid,
        heap: &mut BinaryHeap<Open>,
        before: Option<Before<'_>>,
    ) -> (Vec<Open>, Vec<Basin>) {
        let (mut waiting, mut asked): (Vec<Open>, Vec<Basin>) = (Vec::new(), Vec::new());
        while asked.len() < BATCH {
            let Some(open) = heap.pop().filter(|open| self.is_less(&open.key)) else { break };
            self.boxes += 1;
            match self.step(grid, &open.span) {
                Step::Drop => {}
                Step::Split(parts) => parts.into_iter().for_each(|part| self.open(grid, part, heap)),
                Step::Take(basin) => self.best = Some((open.key, basin)),
                Step::Run(mut shapes) => {
                    if let Some(before) = before {
                        shapes.retain(|shape| match before(shape) {
                            Some(passed) => {
                                self.learn(shape, passed);
                                false
                            }
                            None => true,
                        });
                    }
                    if shapes.is_empty() {
                        heap.push(open);
                        continue;
                    }
                    asked.extend(shapes.into_iter().filter(|shape| !asked.contains(shape)).collect::<Vec<_>>());
                    waiting.push(open);
                }
            }
        }
        (waiting, asked)
    }

    fn step(&self, grid: &Grid, span: &Span) -> Step {
        let Some(ends) = grid.ends(span) else { return Step::Drop };
        let parts = halves(span, &ends);
        let corners = if parts.is_some() { ends.corners } else { Corners::of(ends.corners.room) };
        let room = corners.room;
        if !(self.fixed)(&corners) || self.known.fails(&room) {
            return Step::Drop;
        }
        let ran = |basin: &Basin| self.ran.get(&sizes(basin)).copied();
        let Some(parts) = parts else {
            return match ran(&room) {
                _ if !self.weather => Step::Take(room),
                Some(passed) if passed.all() => Step::Take(room),
                Some(_) => Step::Drop,
                None => Step::Run(vec![room]),
            };
        };
        if !self.weather {
            return Step::Split(parts);
        }
        if self.larger_may_be_worse && ends.has_near_plans() {
            return match (ran(&room), ran(&corners.needs)) {
                (Some(large), Some(small)) if large.larger_is_better && (large.other || small.other) => {
                    Step::Split(parts)
                }
                (Some(_), Some(_)) => Step::Drop,
                (large, small) => {
                    let missing = [(large, room), (small, corners.needs)].into_iter();
                    Step::Run(missing.filter(|(known, _)| known.is_none()).map(|(_, shape)| shape).collect())
                }
            };
        }
        match ran(&room) {
            _ if self.known.passes(&room) => Step::Split(parts),
            Some(passed) if passed.larger_is_better => Step::Split(parts),
            Some(_) => Step::Drop,
            None => Step::Run(vec![room]),
        }
    }
}

#[cfg(test)]
#[path = "tests/search.rs"]
mod tests;

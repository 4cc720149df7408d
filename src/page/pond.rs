//! Ponds in plan and section. The plan is true; the section has the plan's scale along and its heights drawn larger by a
//! factor that is stated. Labels stand in columns beside the section, each on a leader, so that none lies on another.

use crate::page::document::figures::{number, with_unit};
use crate::page::document::{DrawnPond, Pattern, PondBerm, PondDrawing, PondPlan};
use crate::page::draw::{Anchor, Canvas, INK, Pen, Point, SLATE, STONE, Type, WHITE, at, fitted};

/// Points in a metre.
const METRE: f64 = 72.0 / 0.0254;
/// Scales that are drawn to: 1 to so many.
const SCALES: [u32; 28] = [
    20, 25, 40, 50, 75, 100, 125, 150, 200, 250, 300, 400, 500, 600, 750, 800, 1000, 1200, 1250, 1500, 2000, 2500,
    3000, 4000, 5000, 7500, 10_000, 20_000,
];
/// How many times larger heights may be drawn.
const TIMES: [u32; 14] = [1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40];
/// Size of small words, and of a line of them.
const SMALL: f32 = 7.5;
const LINE: f32 = 9.75;
/// A heading within the drawing.
const HEAD: f32 = 13.0;
/// Space for the length written above a plan.
const ABOVE: f32 = 15.0;
/// Space for the width written beside a plan.
const BESIDE: f32 = 48.0;
/// Space between two plans.
const BETWEEN: f32 = 12.0;
/// The tallest plan, and the tallest section.
const PLAN: f32 = 200.0;
const SECTION: f32 = 80.0;
/// Columns for the names of levels and of layers beside a section.
const LEVELS: f32 = 112.0;
const LAYERS: f32 = 164.0;
/// From the section to its names.
const LEADER: f32 = 12.0;

/// The scales of a drawing.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Scales {
    /// Plan and section along: 1 to so many.
    one_to: u32,
    /// Heights are drawn so many times larger.
    times: u32,
    /// Points for a unit of length.
    along: f32,
    /// Points for a unit of height.
    up: f32,
}

impl Scales {
    fn of(drawing: &PondDrawing, width: f32) -> Self {
        let plans: Vec<&PondPlan> = drawing.ponds.iter().filter_map(|pond| pond.plan.as_ref()).collect();
        let long: f64 = plans.iter().map(|plan| outer(plan).0).sum();
        let wide = plans.iter().map(|plan| outer(plan).1).fold(0.0, f64::max);
        let broad = drawing.ponds.iter().map(broadest).fold(0.0, f64::max);
        let count = plans.len().max(1) as f32;
        let room = width - count * BESIDE - (count - 1.0) * BETWEEN;
        let beside = width - LEVELS - LAYERS;
        let points = |one_to: u32| (drawing.metres * METRE / f64::from(one_to)) as f32;
        let fits = |one_to: &&u32| {
            let each = points(**one_to);
            long as f32 * each <= room && wide as f32 * each <= PLAN && broad as f32 * each <= beside
        };
        let one_to = SCALES.iter().find(fits).copied().unwrap_or(20_000);
        let along = points(one_to);
        let tall = drawing.ponds.iter().map(drawn_height).fold(0.0, f64::max) as f32 * along;
        let times = TIMES.iter().rev().find(|times| tall * **times as f32 <= SECTION).copied().unwrap_or(1);
        Self { one_to, times, along, up: along * times as f32 }
    }
}

/// Length and width of a plan's outermost rectangle.
fn outer(plan: &PondPlan) -> (f64, f64) {
    plan.over_banks.unwrap_or(plan.crest)
}

fn broadest(pond: &DrawnPond) -> f64 {
    let banks = pond.bank.map_or(0.0, |bank| 2.0 * (bank.top + bank.reach));
    pond.profile.iter().map(|(_, breadth)| *breadth).fold(0.0, f64::max) + banks
}

/// How far the ground lies under the floor of a pond that stands over it.
fn under(pond: &DrawnPond) -> f64 {
    pond.bank.map_or(0.0, |bank| (-bank.ground).max(0.0))
}

fn tallest(pond: &DrawnPond) -> f64 {
    pond.profile.last().map_or(0.0, |(level, _)| *level)
}

/// From the lowest to the highest that is drawn.
fn drawn_height(pond: &DrawnPond) -> f64 {
    tallest(pond) + under(pond)
}

/// Height of the tallest plan; none where no pond has one.
fn plans_height(drawing: &PondDrawing, scales: &Scales) -> Option<f32> {
    let tall =
        drawing.ponds.iter().filter_map(|pond| pond.plan.as_ref()).map(|plan| outer(plan).1 as f32 * scales.along);
    tall.reduce(f32::max)
}

fn words_height(drawing: &PondDrawing) -> f32 {
    let most = drawing.ponds.iter().map(|pond| pond.words.len()).max().unwrap_or(0);
    HEAD + most as f32 * LINE + 4.0
}

fn section_height(pond: &DrawnPond, scales: &Scales) -> f32 {
    let labels = pond.levels.len().max(pond.layers.len()) as f32 * LINE;
    HEAD + 5.0 + (drawn_height(pond) as f32 * scales.up).max(labels) + LINE
}

/// Height of the drawing at a width.
pub fn height(drawing: &PondDrawing, width: f32) -> f32 {
    let scales = Scales::of(drawing, width);
    let plans = plans_height(drawing, &scales).map_or(0.0, |tall| HEAD + ABOVE + tall + 4.0);
    let sections: f32 = drawing.ponds.iter().map(|pond| section_height(pond, &scales)).sum();
    plans + words_height(drawing) + HEAD + sections
}

/// Draws it with its top left corner at a point.
pub fn draw(canvas: &mut dyn Canvas, drawing: &PondDrawing, corner: Point, width: f32) {
    let scales = Scales::of(drawing, width);
    let mut y = corner.y;
    if let Some(tall) = plans_height(drawing, &scales) {
        let words = format!("Plan, 1 : {}", number(f64::from(scales.one_to), 0));
        canvas.set(at(corner.x, y + 9.0), &words, Type::bold(8.5), Anchor::Start);
        y += HEAD + ABOVE;
        let mut x = corner.x;
        for (pond, plan) in drawing.ponds.iter().filter_map(|pond| Some((pond, pond.plan.as_ref()?))) {
            draw_plan(canvas, drawing, (plan, pond.berm.as_ref()), &scales, at(x, y));
            if let Some(berm) = &pond.berm {
                draw_berm(canvas, plan, berm, &scales, at(x, y));
            }
            x += outer(plan).0 as f32 * scales.along + BESIDE + BETWEEN;
        }
        y += tall + 4.0;
    }
    let mut x = corner.x;
    for (i, pond) in drawing.ponds.iter().enumerate() {
        let long = pond.plan.as_ref().map_or(0.0, |plan| outer(plan).0 as f32 * scales.along + BESIDE);
        let ends = if i + 1 == drawing.ponds.len() { corner.x + width } else { x + long.max(width / 2.0 - BETWEEN) };
        canvas.set(at(x, y + 9.0), &fitted(&pond.name, Type::bold(8.5), ends - x), Type::bold(8.5), Anchor::Start);
        for (line, words) in pond.words.iter().enumerate() {
            let kind = Type::plain(SMALL);
            canvas.set(at(x, y + HEAD + 7.0 + line as f32 * LINE), &fitted(words, kind, ends - x), kind, Anchor::Start);
        }
        x = ends + BETWEEN;
    }
    y += words_height(drawing);
    let heights = match scales.times {
        1 => "heights true".to_owned(),
        times => format!("heights drawn {times} times larger"),
    };
    let words = format!("Section, 1 : {} along, {heights}", number(f64::from(scales.one_to), 0));
    canvas.set(at(corner.x, y + 9.0), &words, Type::bold(8.5), Anchor::Start);
    y += HEAD;
    for pond in &drawing.ponds {
        draw_section(canvas, drawing, pond, &scales, at(corner.x, y), width);
        y += section_height(pond, &scales);
    }
}

fn draw_plan(
    canvas: &mut dyn Canvas,
    drawing: &PondDrawing,
    (plan, berm): (&PondPlan, Option<&PondBerm>),
    scales: &Scales,
    corner: Point,
) {
    let (long, wide) = outer(plan);
    let middle = at(corner.x + 0.5 * long as f32 * scales.along, corner.y + 0.5 * wide as f32 * scales.along);
    let corners = |(length, width): (f64, f64)| {
        let (half_x, half_y) = (0.5 * length as f32 * scales.along, 0.5 * width as f32 * scales.along);
        [
            at(middle.x - half_x, middle.y - half_y),
            at(middle.x + half_x, middle.y - half_y),
            at(middle.x + half_x, middle.y + half_y),
            at(middle.x - half_x, middle.y + half_y),
        ]
    };
    let mut frame = |pair: (f64, f64), pen: Pen| {
        let [a, b, c, d] = corners(pair);
        canvas.line(&[a, b, c, d, a], pen);
    };
    if let Some(pair) = plan.over_banks {
        frame(pair, Pen::solid(STONE, 0.6));
    }
    frame(plan.crest, Pen::ink(0.6));
    frame(plan.water, Pen::ink(1.2));
    frame(plan.floor, Pen::ink(0.6).dashed(&[4.0, 2.0]));
    // The edges down the slopes.
    for (top, foot) in corners(plan.crest).into_iter().zip(corners(plan.floor)) {
        canvas.line(&[top, foot], Pen::solid(STONE, 0.6));
    }
    let kind = Type::plain(SMALL);
    let [a, b, c, _] = corners(plan.water);
    let above = corner.y - 5.0;
    for end in [a, b] {
        canvas.line(&[at(end.x, above - 3.0), at(end.x, above + 3.0)], Pen::ink(0.6));
    }
    canvas.line(&[at(a.x, above), at(b.x, above)], Pen::ink(0.6));
    canvas.set(
        at(middle.x, above - 3.0),
        &with_unit(plan.water.0, drawing.side_digits, &drawing.unit),
        kind,
        Anchor::Middle,
    );
    let beside = corner.x + long as f32 * scales.along + 5.0;
    for end in [b, c] {
        canvas.line(&[at(beside - 3.0, end.y), at(beside + 3.0, end.y)], Pen::ink(0.6));
    }
    canvas.line(&[at(beside, b.y), at(beside, c.y)], Pen::ink(0.6));
    canvas.set(
        at(beside + 5.0, middle.y + 2.5),
        &with_unit(plan.water.1, drawing.side_digits, &drawing.unit),
        kind,
        Anchor::Start,
    );
    let floor = format!(
        "floor {} by {}",
        number(plan.floor.0, drawing.side_digits),
        with_unit(plan.floor.1, drawing.side_digits, &drawing.unit)
    );
    // Beyond the berm where there is one.
    let half = 0.5 * plan.floor.0 as f32 * scales.along;
    let from = berm.map_or(middle.x - half, |berm| {
        let edge = middle.x - 0.5 * plan.crest.0 as f32 * scales.along;
        (edge + berm.from_edge as f32 * scales.along).max(middle.x - half)
    });
    let floor_room = (middle.x + half - from - 6.0, plan.floor.1 as f32 * scales.along - 4.0);
    if kind.width(&floor) < floor_room.0 && floor_room.1 > LINE {
        canvas.set(at(0.5 * (from + middle.x + half), middle.y + 2.5), &floor, kind.colour(SLATE), Anchor::Middle);
    }
}

/// The forebay's berm in plan, with its word where there is room.
fn draw_berm(canvas: &mut dyn Canvas, plan: &PondPlan, berm: &PondBerm, scales: &Scales, corner: Point) {
    let (long, wide) = outer(plan);
    let points = |metres: f64| metres as f32 * scales.along;
    let edge = corner.x + points(0.5 * (long - plan.crest.0));
    let middle = corner.y + points(0.5 * wide);
    let (x, half) = (edge + points(berm.from_edge), points(0.5 * berm.across));
    if berm.wide > 0.0 {
        let beyond = x + points(berm.wide);
        let corners =
            [at(x, middle - half), at(beyond, middle - half), at(beyond, middle + half), at(x, middle + half)];
        canvas.fill(&corners, WHITE);
        canvas.line(&[corners.as_slice(), &corners[..1]].concat(), Pen::ink(0.9));
    } else {
        canvas.line(&[at(x, middle - half), at(x, middle + half)], Pen::ink(1.6));
    }
    let kind = Type::plain(SMALL);
    let water = edge + points(0.5 * (plan.crest.0 - plan.water.0));
    // Beside the floor's end, on whichever side of it there is room, so that no line runs through the word.
    let floor = (edge + points(0.5 * (plan.crest.0 - plan.floor.0))).clamp(water, x.max(water));
    let (from, to) = if floor - water > x - floor { (water, floor) } else { (floor, x) };
    if kind.width("forebay") + 4.0 < to - from && half > LINE {
        canvas.set(at(0.5 * (from + to), middle + 2.5), "forebay", kind.colour(SLATE), Anchor::Middle);
    }
}

fn draw_section(
    canvas: &mut dyn Canvas,
    drawing: &PondDrawing,
    pond: &DrawnPond,
    scales: &Scales,
    corner: Point,
    width: f32,
) {
    canvas.set(at(corner.x, corner.y + 9.0), &pond.name, Type::plain(8.5), Anchor::Start);
    let top = corner.y + HEAD + 5.0;
    let foot = top + tallest(pond) as f32 * scales.up;
    let middle = corner.x + LEVELS + 0.5 * (width - LEVELS - LAYERS);
    let section = Section { pond, middle, foot, scales };
    for layer in &pond.layers {
        section.fill(canvas, layer.from, layer.to, layer.pattern);
        if layer.to < tallest(pond) {
            let half = section.half(layer.to);
            let y = section.y(layer.to);
            canvas.line(&[at(middle - half, y), at(middle + half, y)], Pen::ink(0.6));
        }
    }
    section.outline(canvas);
    if let Some(berm) = &pond.berm {
        let x = middle - section.half(tallest(pond)) + berm.from_edge as f32 * scales.along;
        section.berm(canvas, berm, x);
    }
    let kind = Type::plain(SMALL);
    let lowest = foot + under(pond) as f32 * scales.up;
    let most = lowest.max(top + pond.levels.len().max(pond.layers.len()) as f32 * LINE);
    let levels: Vec<f32> = pond.levels.iter().rev().map(|level| section.y(level.level)).collect();
    for ((level, y), label) in pond.levels.iter().rev().zip(&levels).zip(spread(&levels, top, most)) {
        let edge = middle - section.half(level.level);
        // Of a long name the figure behind it stays whole.
        let figure = format!(" {}", with_unit(level.level, drawing.digits, &drawing.unit));
        let room = LEVELS - LEADER - 2.0 - kind.width(&figure);
        let words = format!("{}{figure}", fitted(&level.name, kind, room));
        let end = corner.x + LEVELS - LEADER;
        canvas.set(at(end - 2.0, label + 2.5), &words, kind, Anchor::End);
        canvas.line(&[at(end, label), at(end + 6.0, *y), at(edge, *y)], Pen::solid(STONE, 0.5));
    }
    let layers: Vec<f32> = pond.layers.iter().rev().map(|layer| section.y(0.5 * (layer.from + layer.to))).collect();
    for ((layer, y), label) in pond.layers.iter().rev().zip(&layers).zip(spread(&layers, top, most)) {
        let edge = middle + section.half(0.5 * (layer.from + layer.to));
        let start = corner.x + width - LAYERS + LEADER;
        let volume = with_unit(layer.volume, 0, &drawing.volume_unit);
        let room = LAYERS - LEADER - 8.0 - kind.width(&volume);
        let words = format!("{}: {volume}", fitted(&layer.name, kind, room));
        canvas.line(&[at(edge, *y), at(start - 6.0, *y), at(start, label)], Pen::solid(STONE, 0.5));
        canvas.set(at(start + 2.0, label + 2.5), &words, kind, Anchor::Start);
    }
}

/// Labels, topmost first, no nearer to one another than a line, within the ends where they fit.
fn spread(wanted: &[f32], top: f32, foot: f32) -> Vec<f32> {
    let mut places: Vec<f32> = wanted.to_vec();
    let mut least = top;
    for place in &mut places {
        *place = place.max(least);
        least = *place + LINE;
    }
    let mut most = foot;
    for place in places.iter_mut().rev() {
        *place = place.min(most);
        most = *place - LINE;
    }
    places
}

/// Steps along a berm's face in which it is looked for where that meets the floor.
const FACE: u32 = 48;

/// One section on the sheet.
struct Section<'a> {
    pond: &'a DrawnPond,
    middle: f32,
    foot: f32,
    scales: &'a Scales,
}

impl Section<'_> {
    fn y(&self, level: f64) -> f32 {
        self.foot - level as f32 * self.scales.up
    }

    /// Half its breadth at a level, in points.
    fn half(&self, level: f64) -> f32 {
        let profile = &self.pond.profile;
        let above = profile.iter().position(|(at, _)| *at >= level).unwrap_or(profile.len().saturating_sub(1));
        let (Some(high), Some(low)) = (profile.get(above), profile.get(above.saturating_sub(1))) else {
            return 0.0;
        };
        let part = if high.0 > low.0 { ((level - low.0) / (high.0 - low.0)).clamp(0.0, 1.0) } else { 1.0 };
        0.5 * (low.1 + part * (high.1 - low.1)) as f32 * self.scales.along
    }

    /// The pond's bottom at a place along the section: the floor, or the slope on the left.
    fn floor_at(&self, x: f32) -> f32 {
        let ends = self.pond.profile.first().zip(self.pond.profile.last());
        let Some((low, high)) = ends else { return self.foot };
        let (from, to) = (self.middle - self.half(high.0), self.middle - self.half(low.0));
        let part = if to > from { ((x - from) / (to - from)).clamp(0.0, 1.0) } else { 1.0 };
        let level = high.0 + f64::from(part) * (low.0 - high.0);
        self.y(level)
    }

    /// A forebay's berm, the edge of its top on the inlet's side at `x`: its body, or a line where no sizes of it are known.
    fn berm(&self, canvas: &mut dyn Canvas, berm: &PondBerm, x: f32) {
        if berm.wide <= 0.0 {
            canvas.line(&[at(x, self.y(berm.top)), at(x, self.floor_at(x))], Pen::ink(1.6));
            return;
        }
        let along = |length: f64| length as f32 * self.scales.along;
        let beyond = x + along(berm.wide);
        // Each face goes down to the floor, or to the pond's own slope where that comes first.
        let foot = |from: f32, sign: f32| {
            let faces = (0..=FACE).map(|k| berm.top * f64::from(k) / f64::from(FACE));
            let mut points = faces.map(|down| at(from + sign * along(berm.side * down), self.y(berm.top - down)));
            let last = points.clone().next_back().unwrap_or(at(from, self.foot));
            points.find(|point| point.y >= self.floor_at(point.x)).unwrap_or(last)
        };
        let (inlet, pool) = (foot(x, -1.0), foot(beyond, 1.0));
        let top = self.y(berm.top);
        let body = [inlet, at(x, top), at(beyond, top), pool];
        canvas.fill(&body, WHITE);
        canvas.line(&body, Pen::ink(0.9));
    }

    fn outline(&self, canvas: &mut dyn Canvas) {
        let side = |sign: f32| {
            self.pond
                .profile
                .iter()
                .map(|(level, _)| at(self.middle + sign * self.half(*level), self.y(*level)))
                .collect::<Vec<Point>>()
        };
        let mut points: Vec<Point> = side(-1.0).into_iter().rev().collect();
        points.extend(side(1.0));
        let (Some(first), Some(last)) = (points.first().copied(), points.last().copied()) else { return };
        match self.pond.bank {
            // The banks with their outer sides, and the ground going on a little.
            Some(bank) => {
                let (top, reach) = (bank.top as f32 * self.scales.along, bank.reach as f32 * self.scales.along);
                let ground = self.y(bank.ground);
                for (edge, sign) in [(first, -1.0), (last, 1.0)] {
                    let foot = at(edge.x + sign * (top + reach), ground);
                    let mut more = vec![at(edge.x + sign * top, edge.y), foot, at(foot.x + sign * 8.0, ground)];
                    if sign < 0.0 {
                        more.reverse();
                        points.splice(0..0, more);
                    } else {
                        points.extend(more);
                    }
                    // The ground as it was, through the bank and down to the pond.
                    let inner =
                        if bank.ground > 0.0 { self.middle + sign * self.half(bank.ground) } else { self.middle };
                    canvas.line(&[foot, at(inner, ground)], Pen::solid(STONE, 0.6).dashed(&[4.0, 2.0]));
                }
            }
            // The banks go on a little, level.
            None => {
                points.insert(0, at(first.x - 8.0, first.y));
                points.push(at(last.x + 8.0, last.y));
            }
        }
        canvas.line(&points, Pen::ink(1.2));
    }

    /// Fills what lies between two levels, a slice of the profile at a time.
    fn fill(&self, canvas: &mut dyn Canvas, from: f64, to: f64, pattern: Pattern) {
        let mut levels = vec![from];
        levels.extend(self.pond.profile.iter().map(|(level, _)| *level).filter(|level| *level > from && *level < to));
        levels.push(to);
        for pair in levels.windows(2) {
            let [low, high] = [pair.first().copied().unwrap_or(from), pair.last().copied().unwrap_or(to)];
            let slice = Slice {
                middle: self.middle,
                top: self.y(high),
                foot: self.y(low),
                top_half: self.half(high),
                foot_half: self.half(low),
            };
            slice.fill(canvas, pattern);
        }
    }
}

/// A slice of a section: broader at its top than at its foot, or as broad.
struct Slice {
    middle: f32,
    top: f32,
    foot: f32,
    top_half: f32,
    foot_half: f32,
}

impl Slice {
    fn half(&self, y: f32) -> f32 {
        let tall = self.foot - self.top;
        let part = if tall > 0.0 { (self.foot - y) / tall } else { 1.0 };
        self.foot_half + part * (self.top_half - self.foot_half)
    }

    /// The part of the line x = x₀ + t dx, y = y₀ + t dy that lies in the slice. Its bounds are four half-planes.
    fn clip(&self, start: Point, (dx, dy): (f32, f32)) -> Option<[Point; 2]> {
        let lean = if self.foot > self.top { (self.top_half - self.foot_half) / (self.foot - self.top) } else { 0.0 };
        // Each bound as a·x + b·y ≤ c.
        let side = self.foot_half + lean * self.foot;
        let bounds = [
            (0.0, -1.0, -self.top),
            (0.0, 1.0, self.foot),
            (1.0, lean, self.middle + side),
            (-1.0, lean, side - self.middle),
        ];
        let (mut low, mut high) = (f32::NEG_INFINITY, f32::INFINITY);
        for (a, b, c) in bounds {
            let speed = a * dx + b * dy;
            let room = c - (a * start.x + b * start.y);
            if speed.abs() < 1e-6 {
                if room < 0.0 {
                    return None;
                }
            } else if speed > 0.0 {
                high = high.min(room / speed);
            } else {
                low = low.max(room / speed);
            }
        }
        let point = |t: f32| at(start.x + t * dx, start.y + t * dy);
        (high - low > 0.1 && high.is_finite() && low.is_finite()).then(|| [point(low), point(high)])
    }

    fn fill(&self, canvas: &mut dyn Canvas, pattern: Pattern) {
        let (left, right) = (self.middle - self.top_half, self.middle + self.top_half);
        let mut rule = |start: Point, way: (f32, f32), width: f32| {
            if let Some(ends) = self.clip(start, way) {
                canvas.line(&ends, Pen::ink(width));
            }
        };
        match pattern {
            Pattern::Plain => {}
            Pattern::Level => {
                for y in steps(self.top, self.foot, 3.0) {
                    rule(at(self.middle, y), (1.0, 0.0), 0.5);
                }
            }
            Pattern::Upright => {
                for x in steps(left, right, 6.0) {
                    rule(at(x, self.foot), (0.0, 1.0), 0.5);
                }
            }
            Pattern::Diagonal => {
                for c in steps(left + self.top, right + self.foot, 5.0) {
                    rule(at(c - self.foot, self.foot), (1.0, -1.0), 0.5);
                }
            }
            Pattern::Dots => {
                for y in steps(self.top + 0.5, self.foot - 0.5, 3.0) {
                    let half = self.half(y) - 0.5;
                    for x in steps(self.middle - half, self.middle + half, 4.0) {
                        canvas.fill(
                            &[at(x - 0.5, y - 0.5), at(x + 0.5, y - 0.5), at(x + 0.5, y + 0.5), at(x - 0.5, y + 0.5)],
                            INK,
                        );
                    }
                }
            }
        }
    }
}

/// The multiples of `step` between two ends: a pattern hangs on the sheet, so that slices join without a seam.
fn steps(low: f32, high: f32, step: f32) -> impl Iterator<Item = f32> {
    let first = (low / step).ceil();
    let count = if high >= low { ((high / step).floor() - first + 1.0).clamp(0.0, 4000.0) as usize } else { 0 };
    (0..count).map(move |k| (first + k as f32) * step)
}

#[cfg(test)]
mod tests;

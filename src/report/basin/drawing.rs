//! The pond found, drawn beside the one there is.

use uom::si::area::square_meter;
use uom::si::f64::Length;
use uom::si::length::meter;
use uom::si::volume::cubic_meter;

use crate::facility::model::{PlaceKind, Pond, PondShape};
use crate::files::Given;
use crate::page::document::figures::number;
use crate::page::document::{
    Document, DrawnPond, Pattern, PondBank, PondBerm, PondDrawing, PondLayer, PondLevel, PondPlan,
};
use crate::report::basin::levels::layer_name;
use crate::report::basin::standing::filled_m;
use crate::report::basin::units::Units;
use crate::report::basin::{BasinCase, over_banks_words, round, slope, to_type};
use crate::report::inspection::about::day;
use crate::report::picture::{caption, picture_of_change};
use crate::science::ponds::Shape;
use crate::sizing::{Answer, Basin, Held, Layer, LayerKind, Outcome, shape_of};

/// Slices of a section whose areas are typed level by level.
const SLICES: u32 = 24;
/// A layer of further room thinner than this is rounding, m.
const THIN_M: f64 = 0.02;

/// The pond that there is.
pub(super) struct Present<'a> {
    pond: &'a Pond,
    shape: Shape,
    freeboard_m: f64,
}

impl<'a> Present<'a> {
    /// None where the pond is not built, or its shape is not known.
    pub fn of(case: &BasinCase<'a>) -> Option<Self> {
        let place = case.facility.get(case.pond).filter(|_| !case.not_built)?;
        let PlaceKind::Pond(pond) = &place.kind else { return None };
        let freeboard_m = pond.freeboard_above_spill.as_ref().and_then(middle).unwrap_or(0.0);
        Some(Self { pond, shape: shape_of(pond)?, freeboard_m })
    }

    /// From its floor to its spill level, m.
    pub fn depth_m(&self) -> f64 {
        (self.shape.spill_level() - self.shape.lowest_level()).get::<meter>()
    }

    /// Volume under a level above its floor, m³; none above the bank top.
    pub fn volume_m3(&self, level_m: f64) -> Option<f64> {
        let inside = level_m <= self.depth_m() + self.freeboard_m + 1e-9;
        inside.then(|| self.shape.volume_at(self.at(level_m)).value.get::<cubic_meter>())
    }

    /// From its floor to its bank top, m.
    pub fn top_m(&self) -> f64 {
        self.depth_m() + self.freeboard_m
    }

    fn capacity_m3(&self) -> f64 {
        self.shape.capacity().get::<cubic_meter>()
    }

    /// A level above its floor as its shape counts levels.
    fn at(&self, level_m: f64) -> Length {
        self.shape.lowest_level() + Length::new::<meter>(level_m)
    }

    /// A level typed for it, above its floor, m.
    fn typed_m(&self, given: Option<&Given<Length>>) -> Option<f64> {
        let level = given.and_then(middle)? - self.shape.lowest_level().get::<meter>();
        (level > 0.0 && level < self.depth_m()).then_some(level)
    }
}

/// The middle of what is typed, m.
fn middle(given: &Given<Length>) -> Option<f64> {
    given.ends().map(|(low, high)| 0.5 * (low + high).get::<meter>())
}

/// What the pond that there is holds below its spill level, m³.
pub(super) fn present_m3(case: &BasinCase) -> Option<f64> {
    Present::of(case).map(|present| present.capacity_m3())
}

/// From floor to spill level of the pond that there is, m.
pub(super) fn present_depth_m(case: &BasinCase) -> Option<f64> {
    Present::of(case).map(|present| present.depth_m())
}

/// `2.2 times the present pond, which holds 1 834 000 gal`.
pub(super) fn times_present(case: &BasinCase, basin: &Basin) -> Option<String> {
    let holds = Present::of(case)?.capacity_m3();
    let which = format!("the present pond, which holds {}", case.units().m3(holds));
    let times = basin.capacity_m3() / holds;
    match times {
        _ if holds <= 0.0 => None,
        times if times < 0.095 => Some(format!("under a tenth of {which}")),
        times if (times - 1.0).abs() < 0.005 => Some(format!("as much as {which}")),
        times if times < 10.0 => Some(format!("{} times {which}", number(times, if times < 1.0 { 2 } else { 1 }))),
        times => Some(format!("{} times {which}", number(times, 0))),
    }
}

/// Writes the drawing.
pub(super) fn write(case: &BasinCase, answer: &Answer, doc: &mut Document) {
    let units = case.units();
    let this = matches!(case.study.outcome, Outcome::This(..));
    let present = Present::of(case).filter(|_| !this);
    let name = if this { "This pond" } else { "The pond found" };
    doc.heading(2, if present.is_some() { "The pond found, and the present one" } else { name });
    let mut ponds = vec![DrawnPond { name: name.to_owned(), ..found(case, &answer.held()) }];
    ponds.extend(present.as_ref().map(|present| as_it_stands(units, present)));
    let mut more = "";
    if present.is_some_and(|present| matches!(present.shape, Shape::Table(_))) {
        more = " The present pond is typed as areas by level: it has no plan, and its section is that of a square with those areas.";
    }
    drawn(units, ponds, more, doc);
}

/// Draws one of the sizes that were run; beside it, to one scale, the one that the document is about.
pub(super) fn drawn_beside(case: &BasinCase, itself: &str, held: &Held, other: Option<&Held>, doc: &mut Document) {
    let units = case.units();
    let name = if other.is_some() { "This size" } else { itself };
    let mut ponds = vec![DrawnPond { name: name.to_owned(), ..found(case, held) }];
    ponds.extend(other.map(|other| DrawnPond { name: itself.to_owned(), ..found(case, other) }));
    drawn(units, ponds, "", doc);
}

fn drawn(units: Units, ponds: Vec<DrawnPond>, more: &str, doc: &mut Document) {
    let alt: Vec<String> = ponds.iter().map(|pond| format!("{}: {}.", pond.name, pond.words.join("; "))).collect();
    let (unit, per, _) = units.length;
    let drawing = PondDrawing {
        unit: unit.to_owned(),
        digits: 2,
        side_digits: 1,
        metres: 1.0 / per,
        volume_unit: units.volume.0.to_owned(),
        ponds,
    };
    let caption = "Plan: heavy, the water at the spill level; about it the bank top; dashed, the floor. Section, lengthwise through \
                   the middle: levels above the floor on the left, layers with their volumes on the right.";
    doc.ponds(drawing, format!("Plan and section to scale. {}", alt.join(" ")), format!("{caption}{more}"));
}

fn level(units: Units, name: &str, m: f64) -> PondLevel {
    PondLevel { name: name.to_owned(), level: m * units.length.1 }
}

fn layer(units: Units, name: &str, (from_m, to_m): (f64, f64), m3: f64, pattern: Pattern) -> PondLayer {
    PondLayer {
        name: name.to_owned(),
        from: from_m * units.length.1,
        to: to_m * units.length.1,
        volume: round(m3 * units.volume.1),
        pattern,
    }
}

/// Whether anything draws from the pond down to the top of the settling pool.
fn is_pumped(case: &BasinCase) -> bool {
    let Some(PlaceKind::Pond(pond)) = case.facility.get(case.pond).map(|place| &place.kind) else { return false };
    // What a drawdown leaves stands higher: it goes by levels of its own.
    pond.lowest_pump_level.is_some() || pond.pumped_out.is_some() || !case.study.basics.uses.is_empty()
}

fn found(case: &BasinCase, held: &Held) -> DrawnPond {
    let units = case.units();
    let basin = &held.basin;
    let pair = |(a, b): (f64, f64)| (a * units.length.1, b * units.length.1);
    let typed = to_type(case, basin);
    let inward = 2.0 * typed.slope * typed.depth_m;
    let floor = (typed.length_m - inward, typed.width_m - inward);
    let top_m = basin.depth_m + basin.freeboard_m;
    let pattern = |kind| match kind {
        LayerKind::Sludge | LayerKind::SludgeAndBerm => Pattern::Dots,
        LayerKind::Pool => Pattern::Level,
        LayerKind::Wash | LayerKind::Reuse => Pattern::Upright,
        LayerKind::Storm => Pattern::Diagonal,
        LayerKind::Stays | LayerKind::Spare | LayerKind::BelowCrest | LayerKind::Freeboard => Pattern::Plain,
        LayerKind::OverCrest => Pattern::Level,
    };
    let thick =
        |one: &&Layer| !matches!(one.kind, LayerKind::Spare | LayerKind::Stays) || one.to_m - one.from_m > THIN_M;
    let layers = held
        .layers
        .iter()
        .filter(thick)
        .map(|one| layer(units, &layer_name(one), (one.from_m, one.to_m), one.volume_m3, pattern(one.kind)))
        .collect();
    let mut levels = vec![level(units, "floor", 0.0)];
    let fits = |level_m: f64| level_m < basin.depth_m;
    if held.stack.sludge_top_m > 0.0 && fits(held.stack.sludge_top_m) {
        levels.push(level(units, "sludge at clean-out", held.stack.sludge_top_m));
    }
    if held.stack.pool_top_m > held.stack.sludge_top_m && fits(held.stack.pool_top_m) {
        let name = if is_pumped(case) { "lowest pump level" } else { "top of settling pool" };
        levels.push(level(units, name, held.stack.pool_top_m));
    }
    if basin.depth_m - held.normal_m > THIN_M && held.normal_m > held.stack.pool_top_m + THIN_M {
        levels.push(level(units, "keep at or below", held.normal_m));
    }
    if let Some(filled_m) = filled_m(case, basin).filter(|to| fits(*to)) {
        levels.push(level(units, "filled up to", filled_m));
    }
    levels.push(level(units, "spill level", basin.depth_m));
    if let Some(over) = case.study.demands.duties.spillway.as_ref().map(|duty| duty.over(basin)) {
        levels.push(level(units, "spillway crest", over.crest_m));
        if over.left_m > 0.0 {
            levels.push(level(units, "water on it", over.water_m()));
        }
    }
    levels.push(level(units, "bank top", top_m));
    if let Some(ground_m) = basin.ground_m() {
        levels.push(level(units, "ground", ground_m));
    }
    levels.sort_by(|a, b| a.level.total_cmp(&b.level));
    let mut words = vec![
        format!("holds {} below the spill level", units.m3(basin.capacity_m3())),
        format!("sides {}, freeboard {}", slope(basin.slope), units.typed_m(basin.freeboard_m)),
    ];
    if basin.bank_m > 0.0 {
        let wide = units.typed_m(basin.bank_m);
        let top = if basin.lie.is_some() { "at the top" } else { "" };
        words.push(format!("{} over banks {wide} wide {top}", over_banks_words(case, basin)).trim_end().to_owned());
    }
    if let Some(held) = case.study.demands.forebay(basin) {
        words.push(format!("forebay {} long: {}", units.tape(held.length_m), units.m3(held.volume_m3)));
    }
    let duty_berm = case.study.demands.duties.forebay.as_ref().and_then(|duty| duty.berm.as_ref());
    DrawnPond {
        name: "The pond found".to_owned(),
        plan: Some(PondPlan {
            floor: pair(floor),
            water: pair((typed.length_m, typed.width_m)),
            crest: pair(basin.crest_m()),
            over_banks: (basin.bank_m > 0.0).then(|| pair(basin.over_banks_m())),
        }),
        profile: vec![pair((0.0, floor.0)), pair((top_m, basin.crest_m().0))],
        bank: basin.lie.zip(basin.ground_m()).map(|(lie, ground_m)| PondBank {
            top: basin.bank_m * units.length.1,
            reach: lie.reach_m() * units.length.1,
            ground: ground_m * units.length.1,
        }),
        berm: case.study.demands.forebay(basin).map(|held| PondBerm {
            from_edge: (basin.slope * (top_m - held.top_m) + held.length_m) * units.length.1,
            across: held.width_m * units.length.1,
            top: duty_berm.map_or(held.top_m, |berm| berm.high.si) * units.length.1,
            wide: duty_berm.map_or(0.0, |berm| berm.top.si) * units.length.1,
            side: duty_berm.map_or(0.0, |berm| berm.side.si),
        }),
        layers,
        levels,
        words,
    }
}

fn as_it_stands(units: Units, present: &Present) -> DrawnPond {
    let pond = present.pond;
    let per = units.length.1;
    let (depth_m, top_m) = (present.depth_m(), present.depth_m() + present.freeboard_m);
    let mut words = vec![format!("holds {} below the spill level", units.m3(present.capacity_m3()))];
    let freeboard = match pond.freeboard_above_spill.as_ref().and_then(middle) {
        Some(m) => format!("freeboard {}", units.typed_m(m)),
        None => "freeboard not typed".to_owned(),
    };
    let (plan, profile) = match &pond.shape {
        PondShape::Prismoid { length, width, side_slope, .. } => {
            let (long, wide) = (middle(length).unwrap_or(0.0), middle(width).unwrap_or(0.0));
            let run = side_slope.ends().map_or(0.0, |(low, high)| 0.5 * (low + high).value);
            words.push(format!("sides {}, {freeboard}", slope(run)));
            let at = |more: f64| ((long + more) * per, (wide + more) * per);
            let (floor, crest) = (at(-2.0 * run * depth_m), at(2.0 * run * present.freeboard_m));
            let plan = PondPlan { floor, water: at(0.0), crest, over_banks: None };
            (Some(plan), vec![(0.0, floor.0), (top_m * per, crest.0)])
        }
        PondShape::Table { .. } => {
            words.push(format!("typed as areas by level, {freeboard}"));
            let slice = |k: u32| {
                let level_m = top_m * f64::from(k) / f64::from(SLICES);
                let area = present.shape.area_at(present.at(level_m)).value.get::<square_meter>();
                (level_m * per, area.max(0.0).sqrt() * per)
            };
            (None, (0..=SLICES).map(slice).collect())
        }
    };
    let mut levels = vec![level(units, "floor", 0.0)];
    let mut layers = Vec::new();
    let mut from_m = 0.0;
    let volume = |level_m: f64| present.volume_m3(level_m).unwrap_or(0.0);
    let mut stack = |name: &str, to_m: f64, pattern| {
        if to_m > from_m + 1e-6 {
            layers.push(layer(units, name, (from_m, to_m), volume(to_m) - volume(from_m), pattern));
            from_m = to_m;
        }
    };
    if let Some(sludge) = &pond.sludge
        && let Some(deep_m) = middle(&sludge.depth).filter(|deep| *deep > 0.0 && *deep < depth_m)
    {
        let on = sludge.measured_on.map_or_else(String::new, |date| format!(", {}", day(date)));
        stack(&format!("Sludge{on}"), deep_m, Pattern::Dots);
    }
    let lowest_m = present.typed_m(pond.lowest_pump_level.as_ref());
    if let Some(lowest_m) = lowest_m {
        stack("Below the pumps", lowest_m, Pattern::Level);
        levels.push(level(units, "lowest pump level", lowest_m));
    }
    let filled_m = pond.filled_from.as_ref().and_then(|fill| present.typed_m(fill.up_to_level.as_ref()));
    if let Some(filled_m) = filled_m.filter(|filled| lowest_m.is_none_or(|lowest| *filled > lowest)) {
        levels.push(level(units, "filled up to", filled_m));
    }
    stack("Up to the spill level", depth_m, Pattern::Plain);
    levels.push(level(units, "spill level", depth_m));
    if present.freeboard_m > 0.0 {
        stack("Freeboard", top_m, Pattern::Plain);
        levels.push(level(units, "bank top", top_m));
    }
    DrawnPond { name: "The present pond".to_owned(), plan, profile, layers, bank: None, berm: None, levels, words }
}

/// The site as it stands, with the word at the pond that is sized.
pub(super) fn where_it_stands(case: &BasinCase, doc: &mut Document) {
    let Some(site) = case.present else { return };
    let drawing = picture_of_change(site, site, &[case.name().to_owned()]);
    let words = drawing.words();
    let caption = format!(
        "{} The site as it stands from {} to {}, computed: the pond marked “altered” is the one that is sized, and its figures are those of the present one.",
        caption(&drawing, case.facility.system),
        day(site.period.0),
        day(site.period.1)
    );
    doc.heading(2, "Where the pond stands");
    doc.diagram(drawing, words, caption);
}

//! Tanks and ponds.

mod sounding;

use uom::si::f64::{Length, Mass, MassDensity, Ratio};
use uom::si::length::meter;
use uom::si::mass::kilogram;
use uom::si::mass_density::kilogram_per_cubic_meter;
use uom::si::ratio::ratio;
use uom::si::volume::cubic_meter;

use crate::balance::plan::build::{Builder, DAY_S, problem_at};
use crate::balance::plan::pull::source_of;
use crate::balance::plan::records::telling;
use crate::balance::plan::{FillPlan, PumpPlan, StorePlan, TankerPlan};
use crate::balance::{Node, Purpose};
use crate::facility::model::{
    Facility, FillRule, PlaceId, PlaceKind, Pond, PondShape, PumpedOut, StartState, Tank, TankerRule,
};
use crate::records::LevelKind;
use crate::science::ponds::{DAY_STEP_SLICES, LevelTable, Prismoid, Shape, Sludge};
use sounding::sounding;

/// The kind that sludge is taken to be made of at the start: the first in the file that settles.
pub(crate) fn sludge_kind(facility: &Facility) -> Option<usize> {
    facility.solids.iter().position(|kind| !kind.floats && kind.density.is_some())
}

/// What a store's levels are measured on.
pub(crate) struct Levels {
    pub shape: Option<Shape>,
}

impl Levels {
    /// Volume below a level, m³.
    pub fn volume_m3(&self, level_m: f64) -> f64 {
        self.shape.as_ref().map_or(0.0, |s| s.volume_at(Length::new::<meter>(level_m)).value.get::<cubic_meter>())
    }
}

fn shape(b: &mut Builder<'_>, id: PlaceId, pond: &Pond) -> Option<Shape> {
    let made = match &pond.shape {
        PondShape::Prismoid { length, width, depth, side_slope } => Prismoid::new(
            b.sampler.quantity(length),
            b.sampler.quantity(width),
            b.sampler.quantity(depth),
            b.sampler.quantity(side_slope),
        )
        .map(Shape::Prismoid),
        PondShape::Table { rows, spill_level } => {
            let rows: Vec<_> =
                rows.iter().map(|row| (b.sampler.quantity(&row.level), b.sampler.quantity(&row.area))).collect();
            LevelTable::new(&rows, b.sampler.quantity(spill_level)).map(Shape::Table)
        }
    };
    match made {
        Ok(shape) => Some(shape),
        Err(error) => {
            problem_at(b, id, error.to_string());
            None
        }
    }
}

pub(crate) fn stores(b: &mut Builder<'_>) {
    for (index, place) in b.facility().places.iter().enumerate() {
        let id = PlaceId(index);
        let before = b.sampler.unknowns();
        match &place.kind {
            PlaceKind::Tank(tank) => store(b, id, tank),
            PlaceKind::Pond(pond) => {
                if let Some(shape) = shape(b, id, pond) {
                    pond_store(b, id, pond, shape);
                }
            }
            _ => continue,
        }
        // What it held at the start has a mark of its own, which a record takes away.
        let unknown = b.sampler.unknown_since(before, &["/ at the start"]);
        if let Some(plan) = b.plan.stores.iter_mut().find(|plan| plan.place == id) {
            plan.unknown_climate |= unknown;
        }
    }
}

struct Basics {
    cells: usize,
    full_m3: f64,
    lowest_m3: f64,
    /// Total volume at the start, sludge with it.
    start_m3: f64,
    unknown_start: bool,
    unknown_climate: bool,
}

fn store(b: &mut Builder<'_>, id: PlaceId, tank: &Tank) {
    let full = b.sampler.drawn(&tank.holds);
    let lowest = b.sampler.maybe(tank.lowest.as_ref()).unwrap_or(0.0);
    let start = tank.at_the_start.holding.as_ref().map(|g| b.sampler.drawn(g));
    let mut basics = Basics {
        cells: 1,
        full_m3: full.value,
        lowest_m3: lowest.clamp(0.0, full.value),
        start_m3: start.map_or(0.0, |d| d.value),
        unknown_start: start.is_some_and(|d| d.unknown) || full.unknown,
        unknown_climate: false,
    };
    if tank.at_the_start.holding.is_none() {
        let name = b.name(id);
        b.sampler.took(format!("tanks / {name} / at the start"), "nothing typed: taken as empty");
    }
    let levels = Levels { shape: None };
    first_record(b, id, &levels, None, 0.0, 0.0, &mut basics);
    finish(
        b,
        id,
        None,
        basics,
        &levels,
        &tank.at_the_start,
        Rules { fill: tank.filled_from.as_ref(), pump: tank.pumped_out.as_ref(), tanker: tank.emptied_by.as_ref() },
    );
}

/// The level a record stands for, m: a gauge level, or the bank's top less the freeboard.
pub(crate) fn level_of_record(
    kind: LevelKind,
    value: f64,
    spill_level_m: f64,
    freeboard_m: Option<f64>,
) -> Option<f64> {
    match kind {
        LevelKind::Level => Some(value),
        LevelKind::Freeboard => freeboard_m.map(|f| spill_level_m + f - value),
        LevelKind::SludgeDepth | LevelKind::Holding => None,
    }
}

/// A level record on the first day wins over the start typed.
fn first_record(
    b: &Builder<'_>,
    id: PlaceId,
    levels: &Levels,
    freeboard_m: Option<f64>,
    spill_level_m: f64,
    sludge_m3: f64,
    basics: &mut Basics,
) {
    for record in telling(&b.input.timeline.levels) {
        if record.at != id || record.day != b.input.first_day {
            continue;
        }
        let total = match record.kind {
            LevelKind::Holding => Some(record.value_si + sludge_m3),
            kind => level_of_record(kind, record.value_si, spill_level_m, freeboard_m)
                .filter(|_| levels.shape.is_some())
                .map(|level| levels.volume_m3(level)),
        };
        if let Some(total) = total {
            basics.start_m3 = total;
            basics.unknown_start = false;
            return;
        }
    }
}

struct Rules<'a> {
    fill: Option<&'a FillRule>,
    pump: Option<&'a PumpedOut>,
    tanker: Option<&'a TankerRule>,
}

struct PondParts {
    hinges: usize,
    a0_m4: f64,
    hinge_m3: Vec<f64>,
    hinge_slope: Vec<f64>,
    crest_m2: f64,
    seepage_m_d: f64,
    grains_m3_kg: Vec<f64>,
    pore_m3_kg: Vec<f64>,
    sludge: Vec<f64>,
    /// What a m³ of sludge is made of: kg by parcel, then m³ of water.
    made_of: Vec<f64>,
    /// Whether its depth may be sounded.
    has_sludge: bool,
    spill_level_m: f64,
    freeboard_m: Option<f64>,
}

fn pond_store(b: &mut Builder<'_>, id: PlaceId, pond: &Pond, shape: Shape) {
    let freeboard =
        pond.freeboard_above_spill.as_ref().map(|g| b.sampler.drawn(g)).filter(|d| !d.unknown).map(|d| d.value);
    let seepage = pond.seepage.as_ref().map(|g| b.sampler.drawn(g));
    if pond.seepage.is_none() {
        let name = b.name(id);
        b.sampler.took(format!("ponds / {name} / seepage"), "nothing typed: taken as none");
    }
    let crest_m2 = shape.crest_area(Length::new::<meter>(freeboard.unwrap_or(0.0))).value.value;
    let table = shape.hinges(DAY_STEP_SLICES);
    let spill_level_m = shape.spill_level().value;
    let full_m3 = shape.capacity().value;
    let parcels = b.plan.parcels.clone();
    let dry = pond.sludge.as_ref().map(|s| b.sampler.drawn(&s.dry_solids));
    // Without a dry share solids settle without pore water.
    let share = dry.filter(|d| !d.unknown && d.value > 0.0).map_or(1.0, |d| d.value.min(1.0));
    if pond.sludge.is_none() {
        let name = b.name(id);
        b.sampler.took(
            format!("ponds / {name} / sludge"),
            "nothing typed: none at the start, and what settles takes neither volume nor pore water",
        );
    }
    let (mut wet_m3_kg, mut pore_m3_kg) = (Vec::new(), Vec::new());
    let mut grains_m3_kg = Vec::new();
    for parcel in &parcels {
        let density = b.kinds[parcel.kind].density_kg_m3.max(1.0);
        let volume = Sludge {
            solids_share: Ratio::new::<ratio>(share),
            solids_density: MassDensity::new::<kilogram_per_cubic_meter>(density),
            water_density: MassDensity::new::<kilogram_per_cubic_meter>(1000.0),
        }
        .volume(Mass::new::<kilogram>(1.0))
        .value
        .value;
        let counts = pond.sludge.is_some() && volume.is_finite();
        let pore = (1.0 - share) / share / 1000.0;
        wet_m3_kg.push(if counts { volume } else { 0.0 });
        grains_m3_kg.push(if counts { (volume - pore).max(0.0) } else { 0.0 });
        pore_m3_kg.push(pore);
    }
    let levels = Levels { shape: Some(shape) };
    let mut depth = pond.sludge.as_ref().map_or(0.0, |s| b.sampler.value(&s.depth));
    // A sounding on the first day wins over the depth typed.
    if pond.sludge.is_some() {
        let first = b.input.first_day;
        let sounded = b
            .input
            .timeline
            .levels
            .iter()
            .find(|record| record.at == id && record.day == first && record.kind == LevelKind::SludgeDepth);
        if let Some(sounded) = sounded.filter(|record| record.value_si >= 0.0) {
            depth = sounded.value_si;
        }
    }
    let floor = levels.shape.as_ref().map_or(0.0, |s| s.lowest_level().value);
    let sludge_m3 = levels.volume_m3(floor + depth).min(full_m3);
    let mut made_of = vec![0.0; parcels.len() + 1];
    // Sludge of no kind that settles is water as far as the books go: it takes its room all the same.
    if let Some(last) = made_of.last_mut() {
        *last = 1.0;
    }
    if pond.sludge.is_some()
        && let Some(kind) = sludge_kind(b.facility())
    {
        let shares = &b.kinds[kind].shares;
        let per_kg = parcels.iter().zip(&wet_m3_kg).find(|(p, _)| p.kind == kind).map_or(0.0, |(_, w)| *w);
        if per_kg > 0.0 {
            let mut water = 0.0;
            for ((slot, parcel), pore) in made_of.iter_mut().zip(&parcels).zip(&pore_m3_kg) {
                if parcel.kind == kind {
                    *slot = shares[parcel.class] / per_kg;
                    water += *slot * pore;
                }
            }
            if let Some(last) = made_of.last_mut() {
                *last = water;
            }
        }
    }
    let sludge = made_of.iter().map(|of| of * sludge_m3).collect();
    let lowest = pond.lowest_pump_level.as_ref().map_or(0.0, |g| {
        let level = b.sampler.value(g);
        levels.volume_m3(level)
    });
    let start = &pond.at_the_start;
    let (start_total, unknown_start) = if let Some(level) = &start.level {
        let drawn = b.sampler.drawn(level);
        (levels.volume_m3(drawn.value), drawn.unknown)
    } else if let Some(volume) = &start.holding {
        let drawn = b.sampler.drawn(volume);
        (drawn.value + sludge_m3, drawn.unknown)
    } else {
        let name = b.name(id);
        b.sampler.took(format!("ponds / {name} / at the start"), "nothing typed: taken as empty");
        (sludge_m3, false)
    };
    let mut basics = Basics {
        cells: (pond.cells.max(1) as usize).min(crate::balance::step::MAX_CELLS),
        full_m3,
        lowest_m3: lowest.clamp(0.0, full_m3),
        start_m3: start_total,
        unknown_start,
        unknown_climate: seepage.is_some_and(|d| d.unknown),
    };
    first_record(b, id, &levels, freeboard, spill_level_m, sludge_m3, &mut basics);
    let parts = PondParts {
        hinges: table.hinges_m3_m().len(),
        a0_m4: table.bottom_area_squared_m4(),
        hinge_m3: table.hinges_m3_m().iter().map(|h| h.0).collect(),
        hinge_slope: table.hinges_m3_m().iter().map(|h| h.1).collect(),
        crest_m2,
        seepage_m_d: seepage.map_or(0.0, |d| d.value * DAY_S),
        grains_m3_kg,
        pore_m3_kg,
        sludge,
        made_of,
        has_sludge: pond.sludge.is_some(),
        spill_level_m,
        freeboard_m: freeboard,
    };
    finish(
        b,
        id,
        Some(parts),
        basics,
        &levels,
        start,
        Rules { fill: pond.filled_from.as_ref(), pump: pond.pumped_out.as_ref(), tanker: None },
    );
    if let Some(shape) = levels.shape {
        b.shapes.push((id, shape));
    }
}

fn finish(
    b: &mut Builder<'_>,
    id: PlaceId,
    pond: Option<PondParts>,
    basics: Basics,
    levels: &Levels,
    start: &StartState,
    rules: Rules<'_>,
) {
    let here = Node::Place(id);
    let parcels = b.plan.parcels.len();
    let (start_values, unknown_start_solids) = b.concentrations(&start.solids);
    let fill = rules.fill.map(|rule| {
        let set = volume_or_level(b, rule.up_to_volume.as_ref(), rule.up_to_level.as_ref(), levels);
        let when = rule.when.as_ref().map(|w| b.when(w));
        let mut direct = Vec::new();
        let mut ways = Vec::new();
        for from in &rule.from {
            let edge = b.edge(Node::Place(*from), here, Purpose::TopUp, true);
            ways.push(edge);
            direct.extend(source_of(b, *from).map(|source| (edge, source)));
        }
        FillPlan {
            set_m3: b.p(set.unwrap_or(0.0).min(basics.full_m3)),
            of_water: rule.up_to_volume.is_some(),
            when,
            direct,
            ways,
        }
    });
    let pump = rules.pump.map(|rule| {
        let rate = b.sampler.value(&rule.rate) * DAY_S;
        let on = volume_or_level(b, rule.starts_at_volume.as_ref(), rule.starts_at_level.as_ref(), levels);
        let off = volume_or_level(b, rule.stops_at_volume.as_ref(), rule.stops_at_level.as_ref(), levels);
        let when = rule.when.as_ref().map(|w| b.when(w));
        PumpPlan {
            rate_m3_d: b.p(rate),
            on_m3: b.p(on.unwrap_or(basics.full_m3)),
            on_of_water: rule.starts_at_volume.is_some(),
            off_m3: b.p(off.unwrap_or(basics.lowest_m3)),
            off_of_water: rule.stops_at_volume.is_some(),
            running_at_start: rule.running_at_the_start,
            when,
            outlet: b.outlet(id, &rule.to, Purpose::PumpedOut),
        }
    });
    let name = b.name(id);
    let tanker = rules.tanker.map(|rule| {
        let logged = b.input.timeline.acts.iter().any(|act| act.what == "hauled" && act.name == name);
        let when = b.sampler.maybe(rule.when_holding.as_ref()).unwrap_or(f64::MAX);
        let down = b.sampler.maybe(rule.down_to.as_ref()).unwrap_or(0.0);
        TankerPlan {
            edge: b.edge(here, Node::Place(rule.to), Purpose::Hauled, false),
            when_m3: b.p(when),
            down_m3: b.p(down),
            by_log: rule.by_log && logged,
        }
    });
    let spills_to = match b.facility().get(id).map(|p| &p.kind) {
        Some(PlaceKind::Tank(t)) => t.overflows_to.as_ref(),
        Some(PlaceKind::Pond(p)) => p.spills_to.as_ref(),
        _ => None,
    };
    let spill = match spills_to {
        Some(to) => b.outlet(id, to, Purpose::Spill),
        None => b.outlet_to(id, Node::Unaccounted, Purpose::Spill),
    };
    let is_pond = pond.is_some();
    let parts = pond.unwrap_or_else(|| PondParts {
        hinges: 0,
        a0_m4: 0.0,
        hinge_m3: Vec::new(),
        hinge_slope: Vec::new(),
        crest_m2: 0.0,
        seepage_m_d: 0.0,
        grains_m3_kg: vec![0.0; parcels],
        pore_m3_kg: vec![0.0; parcels],
        sludge: vec![0.0; parcels + 1],
        made_of: vec![0.0; parcels + 1],
        has_sludge: false,
        spill_level_m: 0.0,
        freeboard_m: None,
    });
    let sludge_m3: f64 =
        parts.sludge.iter().zip(&parts.grains_m3_kg).map(|(m, grains)| m * grains).sum::<f64>() + parts.sludge[parcels];
    let start_water = (basics.start_m3 - sludge_m3).clamp(0.0, (basics.full_m3 - sludge_m3).max(0.0));
    let (first, sludge) = (b.plan.masses, b.plan.sludges);
    b.plan.masses += basics.cells * b.plan.constituents;
    b.plan.sludges += if is_pond { parcels + 1 } else { 0 };
    let outside = |b: &mut Builder<'_>, node: Node, purpose: Purpose, out: bool| {
        is_pond.then(|| if out { b.edge(here, node, purpose, false) } else { b.edge(node, here, purpose, false) })
    };
    let rain = outside(b, Node::Rain, Purpose::Rain, false);
    let evaporation = outside(b, Node::Evaporation, Purpose::Evaporation, true);
    let seep = outside(b, Node::Seepage, Purpose::Seepage, true);
    let settled = outside(b, Node::Sludge(id), Purpose::Settled, true);
    let cleaned = b.input.timeline.acts.iter().any(|act| act.what == "clean-out" && act.name == name);
    let clean_out = (is_pond && cleaned).then(|| b.edge(Node::Sludge(id), Node::CleanedOut, Purpose::CleanOut, false));
    let sounding = sounding(b, id, &name, parts.has_sludge, parts.made_of);
    let plan = StorePlan {
        place: id,
        pond: is_pond,
        cells: basics.cells,
        first,
        sludge,
        full_m3: b.p(basics.full_m3),
        lowest_m3: b.p(basics.lowest_m3),
        hinges: parts.hinges,
        a0_m4: b.p(parts.a0_m4),
        hinge_m3: b.ps(parts.hinge_m3),
        hinge_slope: b.ps(parts.hinge_slope),
        crest_m2: b.p(parts.crest_m2),
        seepage_m_d: b.p(parts.seepage_m_d),
        grains_m3_kg: b.ps(parts.grains_m3_kg),
        pore_m3_kg: b.ps(parts.pore_m3_kg),
        spill_level_m: is_pond.then(|| b.p(parts.spill_level_m)),
        freeboard_m: parts.freeboard_m.map(|f| b.p(f)),
        start_m3: b.p(start_water),
        start_concentration: b.ps(start_values),
        start_sludge: b.ps(parts.sludge),
        fill,
        pump,
        tanker,
        spill,
        rain,
        evaporation,
        seep,
        settled,
        clean_out,
        sounding,
        unknown_climate: basics.unknown_climate,
        unknown_start: basics.unknown_start,
        unknown_start_solids,
    };
    b.plan.stores.push(plan);
}

fn volume_or_level(
    b: &mut Builder<'_>,
    volume: Option<&crate::files::Given<uom::si::f64::Volume>>,
    level: Option<&crate::files::Given<Length>>,
    levels: &Levels,
) -> Option<f64> {
    if let Some(volume) = volume {
        let drawn = b.sampler.drawn(volume);
        return (!drawn.unknown).then_some(drawn.value);
    }
    let drawn = b.sampler.drawn(level?);
    (!drawn.unknown && levels.shape.is_some()).then(|| levels.volume_m3(drawn.value))
}

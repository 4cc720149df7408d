//! What is carried from step to step.

use std::collections::BTreeMap;

use bywash::facility::kinds::{FilterKind, MovingMedia};
use bywash::facility::model::{PlaceId, PlaceKind, PumpedOut, StartState};

use super::filters::{self, FilterState};
use super::given;
use super::load::Load;
use super::records::{self, Reading};
use super::shape::Shape;
use super::site::Site;
use super::solids;
use super::stage;
use super::step::A_FLOW_M3;

/// A tank or a pond: a tank is a pond with one cell, no settling and no climate.
#[derive(Debug, Clone)]
pub struct Store {
    /// Water, m³.
    pub volume: f64,
    /// Solids, kg: by parcel, then by cell from the inlet.
    pub solids: Vec<Vec<f64>>,
    /// Dissolved, kg: by constituent, then by cell.
    pub dissolved: Vec<Vec<f64>>,
    /// Whether its level pump runs.
    pub pump_on: bool,
    /// Wet volume of sludge, m³.
    pub sludge_m3: f64,
    /// What the sludge is made of: its water and solids.
    pub sludge: Load,
    /// Volume up to the spill level or overflow, m³.
    pub spill_m3: f64,
    /// Volume under the lowest level at which something draws, m³ (of a pond: from the floor).
    pub lowest_m3: f64,
    /// The pond's shape.
    pub shape: Option<Shape>,
    /// Its turn is done.
    pub turn_done: bool,
}

impl Store {
    /// Room for water.
    pub fn capacity(&self) -> f64 {
        (self.spill_m3 - self.sludge_m3).max(0.0)
    }

    /// Water that no draw may take, m³.
    pub fn dead_m3(&self) -> f64 {
        (self.lowest_m3 - self.sludge_m3).max(0.0)
    }

    /// Water that a draw may take, m³; what rounding leaves is none.
    pub fn drawable_m3(&self) -> f64 {
        let there = self.volume - self.dead_m3();
        if there > A_FLOW_M3 { there } else { 0.0 }
    }

    /// Everything in it.
    pub fn content(&self) -> Load {
        Load {
            water: self.volume,
            solids: self.solids.iter().map(|cells| cells.iter().sum()).collect(),
            dissolved: self.dissolved.iter().map(|cells| cells.iter().sum()).collect(),
        }
    }

    /// What one cubic metre at the outlet end carries.
    pub fn at_outlet(&self) -> Load {
        let one = |cells: &Vec<f64>| {
            if self.volume > A_FLOW_M3 {
                cells.last().copied().unwrap_or(0.0) * cells.len() as f64 / self.volume
            } else {
                0.0
            }
        };
        Load {
            water: 1.0,
            solids: self.solids.iter().map(one).collect(),
            dissolved: self.dissolved.iter().map(one).collect(),
        }
    }

    /// Draws from the outlet end.
    pub fn draw(&mut self, water: f64) -> Load {
        let volume = self.volume;
        let drawn = Load {
            water,
            solids: self.solids.iter_mut().map(|cells| stage::draw(cells, volume, water)).collect(),
            dissolved: self.dissolved.iter_mut().map(|cells| stage::draw(cells, volume, water)).collect(),
        };
        self.volume = (self.volume - water).max(0.0);
        drawn
    }

    /// Takes a share of everything, evenly from all cells.
    pub fn take_mean(&mut self, water: f64) -> Load {
        let share = if self.volume > 0.0 { water / self.volume } else { 0.0 };
        let taken = self.content().times(share);
        for cell in self.solids.iter_mut().chain(&mut self.dissolved).flatten() {
            *cell *= 1.0 - share;
        }
        self.volume -= water;
        Load { water, ..taken }
    }
}

/// All of it.
#[derive(Debug, Clone)]
pub struct State {
    pub stores: BTreeMap<PlaceId, Store>,
    pub filters: BTreeMap<PlaceId, FilterState>,
}

impl State {
    pub fn at_start(site: &Site) -> Self {
        let mut state = Self { stores: BTreeMap::new(), filters: BTreeMap::new() };
        for id in site.ids() {
            match site.kind(id) {
                PlaceKind::Tank(tank) => {
                    let holds = given::m3(&tank.holds);
                    let lowest = tank.lowest.as_ref().map_or(0.0, given::m3);
                    let typed = tank.at_the_start.holding.as_ref().map_or(0.0, given::m3);
                    let volume = match records::opening(site, id) {
                        Some(Reading::Water(volume) | Reading::UnderSurface(volume)) => volume.min(holds),
                        None => typed,
                    };
                    let store = store(site, volume, 1, holds, lowest, &tank.at_the_start, tank.pumped_out.as_ref());
                    state.stores.insert(id, store);
                }
                PlaceKind::Pond(pond) => {
                    let shape = Shape::of(pond);
                    let spill = shape.volume_at_level(shape.spill_m);
                    let lowest = pond.lowest_pump_level.as_ref().map_or(0.0, |l| shape.volume_at_level(given::m(l)));
                    // A sounding on the first day wins over the depth typed.
                    let depth = pond
                        .sludge
                        .as_ref()
                        .map(|typed| records::sounded_first(site, id).unwrap_or(given::m(&typed.depth)));
                    let sludge = depth.map_or(0.0, |depth| shape.sludge_m3(depth));
                    let start = &pond.at_the_start;
                    let typed = match (&start.level, &start.holding) {
                        (Some(level), _) => (shape.volume_at_level(given::m(level)) - sludge).max(0.0),
                        (None, Some(holding)) => given::m3(holding),
                        (None, None) => 0.0,
                    };
                    let volume = match records::opening(site, id) {
                        Some(Reading::Water(volume)) => volume.min((spill - sludge).max(0.0)),
                        Some(Reading::UnderSurface(all)) => (all - sludge).clamp(0.0, (spill - sludge).max(0.0)),
                        None => typed,
                    };
                    let cells = pond.cells.max(1) as usize;
                    let mut store = store(site, volume, cells, spill, lowest, start, pond.pumped_out.as_ref());
                    store.sludge_m3 = sludge;
                    if let Some(typed) = &pond.sludge {
                        store.sludge = sludge_of(site, given::share(&typed.dry_solids), sludge);
                    }
                    store.shape = Some(shape);
                    state.stores.insert(id, store);
                }
                PlaceKind::Filter(filter) => {
                    let rule = filters::rule(filter, 24.0);
                    let mut one = FilterState { held: vec![0.0; site.parcels.len()], ..FilterState::default() };
                    one.progress.clocks = vec![0.0; rule.clocks_per_day.len()];
                    one.progress.throughputs = vec![0.0; rule.throughputs_m3.len()];
                    if let FilterKind::MovingMedia(MovingMedia { roll, .. }) = &filter.kind {
                        one.roll_left_m = given::m(&roll.length);
                    }
                    state.filters.insert(id, one);
                }
                _ => {}
            }
        }
        state
    }
}

/// Sludge of which nobody says what it is made of: the first kind that settles, at the dry share; else water.
pub fn sludge_of(site: &Site, dry: f64, volume_m3: f64) -> Load {
    let mut load = site.nothing();
    let kinds = &site.facility.solids;
    let Some(kind) = kinds.iter().position(|k| !k.floats && k.density.is_some()) else {
        load.water = volume_m3;
        return load;
    };
    let density = kinds[kind].density.as_ref().map_or(1000.0, given::kg_m3);
    let water_per_kg = (1.0 / dry - 1.0) / 1000.0;
    let kg = volume_m3 / (1.0 / density + water_per_kg);
    for (mass, (parcel, share)) in load.solids.iter_mut().zip(&site.parcels) {
        if parcel.kind == kind {
            *mass = kg * share;
        }
    }
    load.water = load.solids_kg() * water_per_kg;
    load
}

fn store(
    site: &Site,
    volume: f64,
    cells: usize,
    spill_m3: f64,
    lowest_m3: f64,
    start: &StartState,
    pump: Option<&PumpedOut>,
) -> Store {
    let (solids, dissolved) = solids::concentrations(site.facility, &site.parcels, &start.solids);
    let spread = |c: &f64| vec![c * volume / cells as f64; cells];
    Store {
        volume,
        solids: solids.iter().map(spread).collect(),
        dissolved: dissolved.iter().map(spread).collect(),
        pump_on: pump.is_some_and(|pump| pump.running_at_the_start),
        sludge_m3: 0.0,
        sludge: site.nothing(),
        spill_m3,
        lowest_m3,
        shape: None,
        turn_done: false,
    }
}

//! The builder that every part of the compile writes into, and the order of the compile.

use std::collections::BTreeMap;

use chrono::{Datelike, Days, NaiveDate};
use uom::si::f64::{Length, MassDensity, ThermodynamicTemperature};
use uom::si::length::meter;
use uom::si::mass_density::kilogram_per_cubic_meter;
use uom::si::thermodynamic_temperature::degree_celsius;

use crate::balance::at::{At, OutletAt, Param, Per, SupplyAt, WayAt, WhenAt};
use crate::balance::plan::{
    Assumption, Draw, Edge, NO_LIMIT, Op, Outlet, OutletItem, Plan, WhenPlan, draw::Sampler, filters, order, pull,
    records, records::DayRecords, stores, users,
};
use crate::balance::run::bound_riders;
use crate::balance::{BoundRider, Node, Parcel, Purpose, Way};
use crate::facility::model::{Concentrations, Facility, Outflow, PlaceId, PlaceKind, When};
use crate::records::Timeline;
use crate::science::particles::{SizeClasses, SizeSpread, SolidsKind};
use crate::science::ponds::Shape;
use crate::told::{Problem, Problems};

/// Seconds in a day: rates from SI to m³/day.
pub(crate) const DAY_S: f64 = 86_400.0;

/// What a compile reads.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Input<'a> {
    pub facility: &'a Facility,
    pub timeline: &'a Timeline,
    pub first_day: NaiveDate,
    pub days: usize,
    /// The single run's compile, for a member's: its shape is taken over, and only parameters are made anew.
    pub middle: Option<&'a Compiled>,
}

/// What it gives.
#[derive(Debug)]
pub(crate) struct Compiled {
    pub plan: Plan,
    pub assumptions: Vec<Assumption>,
    /// Notes for the report.
    pub notes: Vec<String>,
    /// Upper ends of the size classes, m.
    pub class_upper_m: Vec<f64>,
    /// Constituents bound to solids.
    pub bound: Vec<BoundRider>,
    /// Whether sizes or densities of a kind in use are not known.
    pub unknown_kinds: bool,
    /// Kinds of solids as drawn.
    pub kinds: Vec<DrawnKind>,
    /// Records by day.
    pub records: Vec<DayRecords>,
    /// Shapes of ponds, for levels.
    pub shapes: Vec<(PlaceId, Shape)>,
}

/// A kind of solids, drawn.
#[derive(Debug, Clone)]
pub(crate) struct DrawnKind {
    pub density_kg_m3: f64,
    pub floats: bool,
    pub unknown: bool,
    pub shares: Vec<f64>,
    pub spread: Option<SizeSpread>,
}

/// A place in the plan.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Listed {
    Supply(SupplyAt),
    /// With a turn in the order of a day.
    Turn(Op),
    /// A discharge point.
    Outside,
}

/// The state of a compile.
pub(crate) struct Builder<'a> {
    pub input: Input<'a>,
    pub sampler: Sampler,
    pub plan: Plan,
    pub ways: BTreeMap<Way, WayAt>,
    pub kinds: Vec<DrawnKind>,
    pub classes: SizeClasses,
    /// Where each place stands in the plan.
    pub listed: Per<PlaceId, Listed>,
    pub notes: Vec<String>,
    pub problems: Problems,
    /// Shapes of ponds.
    pub shapes: Vec<(PlaceId, Shape)>,
}

impl<'a> Builder<'a> {
    pub fn facility(&self) -> &'a Facility {
        self.input.facility
    }

    pub fn p(&mut self, value: f64) -> Param {
        self.plan.params.push(value)
    }

    pub fn ps(&mut self, values: impl IntoIterator<Item = f64>) -> Param {
        let first = Param::nth(self.plan.params.len());
        for value in values {
            self.plan.params.push(value);
        }
        first
    }

    /// An edge; its water is gathered at its end if that is a place with a turn of its own and `gathered` says so.
    pub fn edge(&mut self, from: Node, to: Node, purpose: Purpose, gathered: bool) -> WayAt {
        let way = Way { from, to, purpose };
        if let Some(edge) = self.ways.get(&way) {
            return *edge;
        }
        let inbox = match to {
            Node::Place(place) if gathered && self.has_turn(place) => Some(place),
            _ => None,
        };
        let edge = self.plan.edges.push(Edge { way, inbox });
        self.ways.insert(way, edge);
        edge
    }

    pub fn has_turn(&self, place: PlaceId) -> bool {
        matches!(self.listed[place], Listed::Turn(Op::User(_) | Op::Filter(_) | Op::Store(_)))
    }

    /// An outlet from a place.
    pub fn outlet(&mut self, from: PlaceId, to: &Outflow, purpose: Purpose) -> OutletAt {
        let one = self.p(1.0);
        let mut items = Vec::new();
        let (in_order, rest) = match to {
            Outflow::InOrder(steps) => {
                for step in steps {
                    let most = self.sampler.maybe(step.at_most.as_ref()).map_or(NO_LIMIT, |v| v * DAY_S);
                    items.push(OutletItem {
                        edge: self.edge(Node::Place(from), Node::Place(step.to), purpose, true),
                        share: one,
                        most_m3_d: self.p(most),
                    });
                }
                (true, steps.len().saturating_sub(1))
            }
            Outflow::Shares { shares, rest } => {
                for share in shares {
                    let part = self.sampler.maybe(share.share.as_ref()).unwrap_or(0.0);
                    let most = self.sampler.maybe(share.at_most.as_ref()).map_or(NO_LIMIT, |v| v * DAY_S);
                    items.push(OutletItem {
                        edge: self.edge(Node::Place(from), Node::Place(share.to), purpose, true),
                        share: self.p(part),
                        most_m3_d: self.p(most),
                    });
                }
                (false, (*rest).min(shares.len().saturating_sub(1)))
            }
        };
        if items.is_empty() {
            return self.outlet_to(from, Node::Unaccounted, purpose);
        }
        self.plan.outlets.push(Outlet { from, in_order, items, rest })
    }

    /// An outlet to one node without a limit.
    pub fn outlet_to(&mut self, from: PlaceId, to: Node, purpose: Purpose) -> OutletAt {
        let item = OutletItem {
            edge: self.edge(Node::Place(from), to, purpose, true),
            share: self.p(1.0),
            most_m3_d: self.p(NO_LIMIT),
        };
        self.plan.outlets.push(Outlet { from, in_order: true, items: vec![item], rest: 0 })
    }

    /// `when`, evaluated for each day.
    pub fn when(&mut self, when: &When) -> WhenAt {
        let season = when.season.as_ref().map(|(name, _)| self.facility().season(name).map(|s| s.days));
        // A member's days are the single run's.
        let days = if self.input.middle.is_some() { 0 } else { self.input.days };
        let on = (0..days)
            .map(|day| {
                let Some(date) = self.input.first_day.checked_add_days(Days::new(day as u64)) else {
                    return false;
                };
                season.as_ref().is_none_or(|span| span.is_some_and(|s| s.contains(date)))
                    && when.days_of_year.is_none_or(|span| span.contains(date))
                    && when.days.is_none_or(|days| days.contains(date.weekday()))
                    && when.dates.is_none_or(|(from, to)| from <= date && date <= to)
            })
            .collect();
        let rain_over_m = self.sampler.maybe(when.not_when_rain_over.as_ref()).map(|v| self.p(v));
        self.plan.whens.push(WhenPlan { on, rain_over_m })
    }

    /// Concentrations by constituent, kg/m³, and whether one of solids or of dissolved is not known.
    pub fn concentrations(&mut self, stated: &Concentrations) -> (Vec<f64>, bool) {
        let mut values = vec![0.0; self.plan.constituents];
        let mut unknown = false;
        let parcels = self.plan.parcels.clone();
        for (name, given) in stated {
            let drawn = self.sampler.drawn(given);
            unknown |= drawn.unknown;
            if let Some(kind) = self.facility().solids.iter().position(|k| k.name == *name) {
                for (slot, parcel) in values.iter_mut().zip(&parcels) {
                    if parcel.kind == kind {
                        *slot += drawn.value * self.kinds[kind].shares[parcel.class];
                    }
                }
            } else if let Some(c) = self.facility().dissolved.iter().position(|d| d.name == *name) {
                values[parcels.len() + c] += drawn.value;
            }
        }
        (values, unknown)
    }

    /// The edges between a place and `unaccounted`.
    pub fn unaccounted(&mut self, place: PlaceId) {
        if self.plan.unaccounted[place].is_some() {
            return;
        }
        let out = self.edge(Node::Place(place), Node::Unaccounted, Purpose::Unaccounted, false);
        let back = self.edge(Node::Unaccounted, Node::Place(place), Purpose::Unaccounted, false);
        self.plan.unaccounted[place] = Some((out, back));
    }

    pub fn name(&self, place: PlaceId) -> String {
        self.facility().get(place).map(|p| p.name.clone()).unwrap_or_default()
    }
}

fn draw_kinds(facility: &Facility, classes: &SizeClasses, sampler: &mut Sampler) -> Vec<DrawnKind> {
    facility
        .solids
        .iter()
        .map(|kind| {
            let density = kind.density.as_ref().map(|d| sampler.drawn(d));
            let half = sampler.drawn(&kind.half_finer);
            let nine = sampler.drawn(&kind.nine_tenths_finer);
            // Not known sizes: all in one class, marked.
            let spread = SizeSpread::lognormal(
                Length::new::<meter>(half.value),
                Length::new::<meter>(nine.value.max(half.value)),
            )
            .ok();
            let shares = match &spread {
                Some(spread) => classes.mass_shares(spread),
                None => {
                    let mut shares = vec![0.0; classes.count()];
                    if let Some(first) = shares.first_mut() {
                        *first = 1.0;
                    }
                    shares
                }
            };
            DrawnKind {
                density_kg_m3: density.map_or(1000.0, |d| if d.unknown { 1000.0 } else { d.value }),
                floats: kind.floats || density.is_none(),
                unknown: density.is_some_and(|d| d.unknown) || half.unknown || nine.unknown,
                shares,
                spread,
            }
        })
        .collect()
}

/// Kinds of solids that can occur: named by a supply, a catchment, a use, a store's start, or lying in sludge.
fn used_kinds(facility: &Facility) -> Vec<bool> {
    let mut used = vec![false; facility.solids.len()];
    let mut mark = |stated: &Concentrations| {
        for (name, _) in stated {
            if let Some(kind) = facility.solids.iter().position(|k| k.name == *name) {
                used[kind] = true;
            }
        }
    };
    let mut sludge = false;
    for place in &facility.places {
        match &place.kind {
            PlaceKind::Supply(s) => mark(&s.brings),
            PlaceKind::Catchment(c) => mark(&c.solids),
            PlaceKind::Use(u) => mark(&u.picks_up),
            PlaceKind::Tank(t) => mark(&t.at_the_start.solids),
            PlaceKind::Pond(p) => {
                mark(&p.at_the_start.solids);
                sludge |= p.sludge.is_some();
            }
            _ => {}
        }
    }
    if sludge && let Some(kind) = stores::sludge_kind(facility) {
        used[kind] = true;
    }
    used
}

/// A velocity that the single run has already: density and flotation are the same.
fn known(b: &Builder<'_>, kind: usize, degree: usize, parcel: usize) -> Option<f64> {
    let middle = b.input.middle?;
    let (ours, theirs) = (&b.kinds[kind], &middle.kinds[kind]);
    let same = ours.density_kg_m3.to_bits() == theirs.density_kg_m3.to_bits()
        && ours.floats == theirs.floats
        && ours.spread.is_some() == theirs.spread.is_some();
    same.then(|| middle.plan.params[middle.plan.settling + degree * b.plan.parcels.len() + parcel])
}

fn settling_table(b: &mut Builder<'_>) {
    let sizes = b.classes.representative_sizes();
    let mut table = Vec::with_capacity(41 * b.plan.parcels.len());
    for degree in 0..=40_u32 {
        let temperature = ThermodynamicTemperature::new::<degree_celsius>(f64::from(degree));
        for (p, parcel) in b.plan.parcels.iter().enumerate() {
            if let Some(known) = known(b, parcel.kind, degree as usize, p) {
                table.push(known);
                continue;
            }
            let kind = &b.kinds[parcel.kind];
            // Not known sizes: it stays where it is.
            let velocity = kind.spread.map_or(0.0, |spread| {
                let kind_of = SolidsKind {
                    density: MassDensity::new::<kilogram_per_cubic_meter>(kind.density_kg_m3),
                    floats: kind.floats,
                    spread,
                };
                kind_of.settling_velocity(sizes[parcel.class], temperature).value.value
            });
            // What is lighter than water does not settle.
            table.push(if velocity.is_finite() { velocity.max(0.0) * DAY_S } else { 0.0 });
        }
    }
    b.plan.settling = b.ps(table);
}

/// Days of the run that lie in the season called growing.
fn growing(input: &Input<'_>) -> Vec<bool> {
    let season = input.facility.season("growing");
    (0..input.days)
        .map(|day| {
            let date = input.first_day.checked_add_days(Days::new(day as u64));
            season.zip(date).is_some_and(|(season, date)| season.days.contains(date))
        })
        .collect()
}

/// Compiles a facility for a run of days and one draw.
///
/// # Errors
/// Problems that make a balance impossible: a flow that comes back to where it started within one day, or a way that
/// ends nowhere. The facility's own check finds them first; this is the second door.
pub(crate) fn compile(input: Input<'_>, draw: &Draw) -> Result<Compiled, Problems> {
    let facility = input.facility;
    let mut sampler = Sampler::new(*draw);
    let classes = SizeClasses::default();
    let kinds = draw_kinds(facility, &classes, &mut sampler);
    let used = used_kinds(facility);
    let parcels: Vec<Parcel> = (0..kinds.len())
        .filter(|&kind| used[kind])
        .flat_map(|kind| (0..classes.count()).map(move |class| Parcel { kind, class }))
        .collect();
    let constituents = parcels.len() + facility.dissolved.len();
    let plan = Plan {
        parcels,
        constituents,
        edges: Per::default(),
        inside: facility
            .places
            .iter()
            .map(|p| !matches!(p.kind, PlaceKind::Supply(_) | PlaceKind::DischargePoint(_)))
            .collect(),
        unaccounted: Per::filled(facility.places.len(), None),
        supplies: Per::default(),
        catchments: Per::default(),
        users: Per::default(),
        filters: Per::default(),
        stores: Per::default(),
        outlets: Per::default(),
        whens: Per::default(),
        growing: growing(&input),
        askers: Per::default(),
        slots: Per::default(),
        rounds: Vec::new(),
        draws: Vec::new(),
        order: Vec::new(),
        steps_per_day: 1,
        settling: Param::nth(0),
        masses: 0,
        sludges: 0,
        params: Per::default(),
    };
    let mut b = Builder {
        input,
        sampler,
        plan,
        ways: BTreeMap::new(),
        kinds,
        classes,
        listed: list_places(facility),
        notes: Vec::new(),
        problems: Problems::new(),
        shapes: Vec::new(),
    };
    settling_table(&mut b);
    users::supplies_and_catchments(&mut b);
    users::users(&mut b);
    filters::filters(&mut b);
    stores::stores(&mut b);
    // A pond without a shape is in no list: what follows would be about other stores.
    if b.plan.stores.len() < b.listed.iter().filter(|place| matches!(place, Listed::Turn(Op::Store(_)))).count() {
        return Err(b.problems);
    }
    pull::rounds(&mut b);
    let has_records = !input.timeline.meter_spans.is_empty()
        || !input.timeline.samples.is_empty()
        || !input.timeline.levels.is_empty();
    for (index, place) in facility.places.iter().enumerate() {
        let needs = match &place.kind {
            PlaceKind::Filter(_) => {
                has_records || b.plan.filters.iter().any(|f| f.place.0 == index && f.pull && f.spray.is_some())
            }
            PlaceKind::Supply(_) | PlaceKind::DischargePoint(_) => false,
            _ => has_records,
        };
        if needs {
            b.unaccounted(PlaceId(index));
        }
    }
    order::order(&mut b);
    order::steps_per_day(&mut b);
    if b.problems.has_errors() {
        return Err(b.problems);
    }
    let records = records::records(&mut b);
    let bound = bound_riders(facility, |given| {
        let drawn = b.sampler.drawn(given);
        (drawn.value, drawn.unknown)
    });
    let unknown_kinds = b.kinds.iter().zip(&used).any(|(kind, used)| kind.unknown && *used);
    let class_upper_m = b.classes.upper_ends().iter().map(|l| l.value).collect();
    Ok(Compiled {
        plan: b.plan,
        assumptions: b.sampler.assumptions(),
        notes: b.notes,
        class_upper_m,
        bound,
        unknown_kinds,
        kinds: b.kinds,
        records,
        shapes: b.shapes,
    })
}

/// Counts places within their lists, in file order.
fn list_places(facility: &Facility) -> Per<PlaceId, Listed> {
    fn next<I: At>(count: &mut usize) -> I {
        *count += 1;
        I::nth(*count - 1)
    }
    let (mut supplies, mut catchments, mut users, mut filters, mut stores) = (0, 0, 0, 0, 0);
    facility
        .places
        .iter()
        .map(|place| match &place.kind {
            PlaceKind::Supply(_) => Listed::Supply(next(&mut supplies)),
            PlaceKind::Catchment(_) => Listed::Turn(Op::Catchment(next(&mut catchments))),
            PlaceKind::Use(_) | PlaceKind::Transfer(_) => Listed::Turn(Op::User(next(&mut users))),
            PlaceKind::Filter(_) => Listed::Turn(Op::Filter(next(&mut filters))),
            PlaceKind::Tank(_) | PlaceKind::Pond(_) => Listed::Turn(Op::Store(next(&mut stores))),
            PlaceKind::DischargePoint(_) => Listed::Outside,
        })
        .collect()
}

/// A problem at a place of the facility.
pub(crate) fn problem_at(b: &Builder<'_>, place: PlaceId, words: String) {
    let at = b.facility().get(place).map_or_else(|| b.facility().place.clone(), |p| p.place.clone());
    b.problems.add(Problem::error(&at, words));
}

//! The basis of every entry of a day: which quantities are metered, sampled, computed or assumed, and what depends on
//! something that is not known.
//!
//! Derived = OR of the direct arguments of that day. Bits do not pass through stores, where everything depends on
//! everything; the mark *unknown* does. The same for all members of an ensemble, so it never looks at amounts.

use crate::balance::plan::{DayRecords, First, Op, Outlet, Plan, Sampled, Source};
use crate::balance::{Basis, Node, Purpose};
use crate::weather::DailyWeather;

/// Bases of one quantity set: water, solids, and each dissolved constituent.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct EdgeBasis {
    pub water: Basis,
    pub solids: Basis,
    pub dissolved: Vec<Basis>,
}

/// What is not known in each store and filter, carried from day to day.
#[derive(Debug, Clone)]
pub(crate) struct Unknowns {
    water: Vec<bool>,
    solids: Vec<bool>,
    filter: Vec<bool>,
}

impl Unknowns {
    /// At the start of a run.
    pub fn new(plan: &Plan) -> Self {
        Self {
            water: plan.stores.iter().map(|s| s.unknown_start).collect(),
            solids: plan.stores.iter().map(|s| s.unknown_start_solids || s.unknown_start).collect(),
            filter: plan.filters.iter().map(|f| f.unknown_eta).collect(),
        }
    }

    /// Whether what a store holds depends on something not known.
    pub fn store(&self, s: usize) -> bool {
        self.water.get(s).copied().unwrap_or(false)
    }

    /// Whether what a filter catches depends on something not known.
    pub fn filter(&self, f: usize) -> bool {
        self.filter.get(f).copied().unwrap_or(false)
    }
}

fn unknown(mark: bool) -> Basis {
    if mark { Basis::UNKNOWN } else { Basis::default() }
}

/// Weather's part in the basis of a day.
#[derive(Debug, Clone, Copy)]
pub(crate) struct WeatherBasis {
    pub rain: Basis,
    pub evaporation: Basis,
    /// The water's temperature is known on other days and not on this one: how fast solids settle is not.
    pub temperature_unknown: bool,
}

impl WeatherBasis {
    /// Of the day `index` of a weather series. Rain is a gauge's depth on typed areas: computed; an even split of a
    /// reading over days, assumed too; a gap, unknown.
    pub fn of(weather: &DailyWeather, index: Option<usize>, evaporates: bool) -> Self {
        let rain = index.and_then(|i| weather.rain.get(i));
        let rain = match rain {
            Some(day) if day.depth_mm.is_some() && day.measured => Basis::COMPUTED,
            Some(day) if day.depth_mm.is_some() => Basis::COMPUTED.or(Basis::ASSUMED),
            _ => Basis::COMPUTED.or(Basis::UNKNOWN),
        };
        let known = index.and_then(|i| weather.evaporation_m.get(i)).is_some_and(Option::is_some);
        Self {
            rain,
            evaporation: Basis::COMPUTED.or(unknown(!known && evaporates)),
            temperature_unknown: index.and_then(|i| weather.water_temperature_c.get(i)).is_some_and(Option::is_none)
                && weather.water_temperature_c.iter().any(Option::is_some),
        }
    }
}

struct Pass<'a> {
    plan: &'a Plan,
    records: &'a DayRecords,
    out: Vec<EdgeBasis>,
    inbox: Vec<EdgeBasis>,
    unknown_kinds: bool,
}

impl Pass<'_> {
    /// Books an edge: a meter or sample wins, else what is derived.
    fn book(&mut self, edge: usize, derived: &EdgeBasis) {
        let mut basis = derived.clone();
        if self.records.metered.get(edge).copied().unwrap_or(false) {
            let metered = self.records.metered_basis.get(edge).copied().unwrap_or_default();
            // Mass is metered flow × the flow's own concentration.
            basis.solids = basis.solids.or(metered);
            for of in &mut basis.dissolved {
                *of = of.or(metered);
            }
            basis.water = metered;
        }
        for sample in self.records.samples.iter().filter(|s| s.edge == edge) {
            let of = basis.water.or(sample.basis);
            match sample.of {
                Sampled::Solids => basis.solids = of,
                Sampled::Kind(_) => basis.solids = basis.solids.or(sample.basis),
                Sampled::Dissolved(c) => {
                    if let Some(slot) = basis.dissolved.get_mut(c) {
                        *slot = of;
                    }
                }
            }
        }
        let Some(slot) = self.out.get_mut(edge) else {
            return;
        };
        slot.water = slot.water.or(basis.water);
        slot.solids = slot.solids.or(basis.solids);
        for (to, from) in slot.dissolved.iter_mut().zip(&basis.dissolved) {
            *to = to.or(*from);
        }
        let inbox = self.plan.edges.get(edge).map(|e| e.inbox);
        if let Some(inbox) = inbox.and_then(|i| self.inbox.get_mut(i)) {
            inbox.water = inbox.water.or(basis.water);
            inbox.solids = inbox.solids.or(basis.solids);
            for (to, from) in inbox.dissolved.iter_mut().zip(&basis.dissolved) {
                *to = to.or(*from);
            }
        }
    }

    fn send(&mut self, outlet: usize, basis: &EdgeBasis) {
        let Some(Outlet { items, .. }) = self.plan.outlets.get(outlet) else {
            return;
        };
        for item in items {
            self.book(item.edge, basis);
        }
    }

    fn flat(&self, water: Basis, solids: Basis) -> EdgeBasis {
        EdgeBasis { water, solids, dissolved: vec![solids; self.dissolved()] }
    }

    fn dissolved(&self) -> usize {
        self.plan.constituents - self.plan.parcels.len()
    }

    fn arrived(&self, place: usize) -> EdgeBasis {
        self.inbox.get(place).cloned().unwrap_or_else(|| self.flat(Basis::default(), Basis::default()))
    }
}

fn derived(of: &EdgeBasis, more: Basis) -> EdgeBasis {
    EdgeBasis {
        water: of.water.or(more),
        solids: of.solids.or(more),
        dissolved: of.dissolved.iter().map(|d| d.or(more)).collect(),
    }
}

/// Bases of all edges of a day; carries the unknown marks on.
pub(crate) fn of_day(
    plan: &Plan,
    records: &DayRecords,
    weather: WeatherBasis,
    unknown_kinds: bool,
    marks: &mut Unknowns,
) -> Vec<EdgeBasis> {
    let dissolved = plan.constituents - plan.parcels.len();
    let none =
        EdgeBasis { water: Basis::default(), solids: Basis::default(), dissolved: vec![Basis::default(); dissolved] };
    let mut pass = Pass {
        plan,
        records,
        out: vec![none.clone(); plan.edges.len()],
        inbox: vec![none.clone(); plan.boxes],
        unknown_kinds,
    };
    let metered = |edge: usize| records.metered.get(edge).copied().unwrap_or(false);
    let unknown_pull = unknown_pulls(plan, &metered, marks);
    for (edge, source) in &plan.draws {
        let unknown_most = match source {
            Source::Supply(s) => plan.supplies.get(*s).is_some_and(|of| of.unknown_most),
            Source::Store(_) => false,
        };
        let pulled = unknown_pull.get(*edge).copied().unwrap_or(false);
        let water = Basis::COMPUTED.or(unknown(pulled || unknown_most));
        let mass = match source {
            Source::Supply(s) => {
                let sampled = records.supplies.iter().find(|of| of.0 == *s).map(|of| of.2);
                let typed = plan.supplies.get(*s).is_some_and(|of| of.unknown);
                sampled.unwrap_or(Basis::ASSUMED.or(unknown(typed)))
            }
            Source::Store(s) => Basis::COMPUTED.or(unknown(marks.solids.get(*s).copied().unwrap_or(false))),
        };
        let water = if metered(*edge) { Basis::default() } else { water };
        let basis = EdgeBasis { water, solids: mass.or(water), dissolved: vec![mass.or(water); dissolved] };
        pass.book(*edge, &basis);
    }
    for op in &plan.order {
        match *op {
            Op::Catchment(c) => {
                let Some(of) = plan.catchments.get(c) else {
                    continue;
                };
                let rain = weather.rain.or(unknown(of.unknown_water));
                let runoff = if of.by_share { rain.or(Basis::ASSUMED) } else { rain };
                let solids = runoff.or(Basis::ASSUMED).or(unknown(of.unknown_solids || pass.unknown_kinds));
                pass.book(of.rain, &pass.flat(rain, Basis::default()));
                pass.book(of.retained, &pass.flat(runoff, Basis::default()));
                pass.book(of.picked_up, &pass.flat(Basis::default(), solids));
                pass.send(of.outlet, &pass.flat(runoff, solids));
            }
            Op::User(u) => {
                let Some(of) = plan.users.get(u) else {
                    continue;
                };
                let arrived = pass.arrived(of.place.0);
                let mark = Basis::COMPUTED.or(unknown(of.unknown_water));
                if let Some(edge) = of.uptake {
                    pass.book(edge, &derived(&arrived, mark));
                }
                let mut back = if of.uptake.is_some() {
                    derived(&arrived, mark)
                } else {
                    derived(&arrived, unknown(of.unknown_water))
                };
                if let Some(edge) = of.picked_up {
                    let picked =
                        Basis::COMPUTED.or(Basis::ASSUMED).or(unknown(of.unknown_solids || pass.unknown_kinds));
                    pass.book(edge, &pass.flat(Basis::default(), picked));
                    back.solids = back.solids.or(picked);
                }
                if let Some(edge) = of.feed_edge {
                    let fed = Basis::COMPUTED.or(Basis::ASSUMED).or(unknown(of.unknown_solids));
                    pass.book(edge, &pass.flat(Basis::default(), fed));
                    for slot in &mut back.dissolved {
                        *slot = slot.or(fed);
                    }
                }
                if let Some(outlet) = of.outlet {
                    pass.send(outlet, &back);
                }
            }
            Op::Filter(f) => filter(&mut pass, f, marks),
            Op::Store(s) => store(&mut pass, s, weather, marks),
        }
    }
    for (edge, slot) in pass.out.iter_mut().enumerate() {
        if plan.edges.get(edge).is_some_and(|e| e.way.purpose == Purpose::Unaccounted) {
            *slot = EdgeBasis {
                water: Basis::COMPUTED,
                solids: Basis::COMPUTED,
                dissolved: vec![Basis::COMPUTED; dissolved],
            };
        }
    }
    pass.out
}

/// Pull edges whose water depends on a demand that is not known.
fn unknown_pulls(plan: &Plan, metered: &impl Fn(usize) -> bool, marks: &Unknowns) -> Vec<bool> {
    let mut unknown = vec![false; plan.edges.len()];
    for user in plan.users.iter().filter(|u| u.unknown_water) {
        for &edge in &user.inlets {
            if let Some(slot) = unknown.get_mut(edge) {
                *slot = !metered(edge);
            }
        }
    }
    for store in plan.stores.iter().filter(|store| store.unknown_climate) {
        let here = Node::Place(store.place);
        for (id, edge) in plan.edges.iter().enumerate() {
            if edge.way.to == here
                && edge.way.purpose == Purpose::TopUp
                && let Some(slot) = unknown.get_mut(id)
            {
                *slot = !metered(id);
            }
        }
    }
    // Children before parents: the turns in reverse.
    for op in plan.order.iter().rev() {
        let Op::Filter(f) = *op else { continue };
        let Some(filter) = plan.filters.get(f) else {
            continue;
        };
        let source_unknown = match filter.first {
            Some(First::Source(Source::Store(s))) => marks.solids.get(s).copied().unwrap_or(false),
            Some(First::Source(Source::Supply(s))) => plan.supplies.get(s).is_some_and(|of| of.unknown),
            Some(First::Filter(parent)) => marks.filter(parent),
            None => false,
        };
        let by_load = plan.params.get(filter.per_load).is_some_and(|l| *l > 0.0);
        let washes_unknown = filter.solids_with_waste
            && (filter.unknown_wash || by_load && (filter.unknown_eta || source_unknown || marks.filter(f)));
        let any = filter.children.iter().any(|e| unknown.get(*e).copied().unwrap_or(false)) || washes_unknown;
        if any {
            for &edge in &filter.inlets {
                if let Some(slot) = unknown.get_mut(edge) {
                    *slot = !metered(edge);
                }
            }
        }
    }
    unknown
}

fn filter(pass: &mut Pass<'_>, f: usize, marks: &mut Unknowns) {
    let Some(of) = pass.plan.filters.get(f) else {
        return;
    };
    let arrived = pass.arrived(of.place.0);
    let log = pass.records.washes.get(f).copied().flatten();
    let by_load = pass.plan.params.get(of.per_load).is_some_and(|l| *l > 0.0);
    let by_catch = pass.plan.params.get(of.water_per_kg).is_some_and(|w| *w > 0.0);
    let held_unknown = of.unknown_eta || arrived.solids.has(Basis::UNKNOWN) || marks.filter(f) || pass.unknown_kinds;
    let count = match log {
        Some(log) => log.basis.or(Basis::COMPUTED),
        None => Basis::COMPUTED.or(unknown(held_unknown && (by_load || by_catch))),
    }
    .or(unknown(of.unknown_wash));
    if let Some(slot) = marks.filter.get_mut(f) {
        *slot |= held_unknown;
    }
    let caught = Basis::COMPUTED.or(unknown(held_unknown));
    // What washes take, and what they carry.
    let waste = EdgeBasis {
        water: count,
        solids: caught.or(count),
        dissolved: arrived.dissolved.iter().map(|d| d.or(count)).collect(),
    };
    if let Some(outlet) = of.bypass {
        let over = derived(&arrived, Basis::COMPUTED);
        pass.send(outlet, &over);
    }
    if let Some((edge, _)) = of.clean
        && !of.pull
    {
        let clean = pass.flat(count, count.or(Basis::COMPUTED));
        pass.book(edge, &clean);
    }
    if let Some((edge, _, _)) = of.spray
        && !of.pull
    {
        let spray = pass.flat(Basis::COMPUTED, Basis::COMPUTED.or(Basis::ASSUMED));
        pass.book(edge, &spray);
    }
    match (of.waste, of.solids_to) {
        (Some(outlet), solids) => {
            pass.send(outlet, &waste);
            if let Some(edge) = solids.filter(|_| !of.solids_with_waste) {
                pass.book(edge, &waste);
            }
        }
        (None, Some(edge)) => pass.book(edge, &waste),
        (None, None) => {}
    }
    // Liquor of screenings, drip of spent media and drain-downs carry their own mark: what is not known of solids does
    // not make the flow past a filter unknown for their sake. Washes and rinses do.
    let keeps = of.waste.is_some() || of.solids_to.is_some();
    let washed = if of.solids_with_waste { count } else { Basis::COMPUTED };
    let net = EdgeBasis {
        water: if keeps { arrived.water.or(washed) } else { arrived.water },
        solids: arrived.solids.or(caught),
        dissolved: arrived.dissolved.clone(),
    };
    if of.pull {
        let children = of.children.clone();
        for edge in children {
            pass.book(edge, &net);
        }
    } else if let Some(outlet) = of.net {
        pass.send(outlet, &net);
    }
    if let Some((edge, outlet, _)) = of.hose {
        let hose = pass.out.get(edge).cloned().unwrap_or_else(|| pass.flat(Basis::COMPUTED, Basis::COMPUTED));
        pass.send(outlet, &hose);
    }
}

fn store(pass: &mut Pass<'_>, s: usize, weather: WeatherBasis, marks: &mut Unknowns) {
    let Some(of) = pass.plan.stores.get(s) else {
        return;
    };
    if let Some(fill) = &of.fill
        && let Some((edge, source)) = fill.direct
    {
        let mass = match source {
            Source::Supply(supply) => {
                let typed = pass.plan.supplies.get(supply).is_some_and(|p| p.unknown);
                pass.records.supplies.iter().find(|r| r.0 == supply).map_or(Basis::ASSUMED.or(unknown(typed)), |r| r.2)
            }
            Source::Store(t) => Basis::COMPUTED.or(unknown(marks.solids.get(t).copied().unwrap_or(false))),
        };
        let metered = pass.records.metered.get(edge).copied().unwrap_or(false);
        let unknown_most = match source {
            Source::Supply(supply) => pass.plan.supplies.get(supply).is_some_and(|p| p.unknown_most),
            Source::Store(_) => false,
        };
        let water = if metered {
            Basis::default()
        } else {
            Basis::COMPUTED.or(unknown(marks.store(s) || of.unknown_climate || unknown_most))
        };
        let basis = pass.flat(water, mass.or(water));
        pass.book(edge, &basis);
    }
    let arrived = pass.arrived(of.place.0);
    let drawn_unknown = pass.plan.draws.iter().any(|(edge, source)| {
        *source == Source::Store(s) && pass.out.get(*edge).is_some_and(|b| b.water.has(Basis::UNKNOWN))
    });
    let rain_unknown = of.pond && (weather.rain.has(Basis::UNKNOWN) || weather.evaporation.has(Basis::UNKNOWN));
    let water =
        marks.store(s) || arrived.water.has(Basis::UNKNOWN) || drawn_unknown || of.unknown_climate || rain_unknown;
    let solids = marks.solids.get(s).copied().unwrap_or(false)
        || arrived.solids.has(Basis::UNKNOWN)
        || (of.pond && (pass.unknown_kinds || weather.temperature_unknown))
        || water;
    let out = pass.flat(Basis::COMPUTED.or(unknown(water)), Basis::COMPUTED.or(unknown(solids)));
    if let Some(edge) = of.rain {
        pass.book(edge, &pass.flat(weather.rain, Basis::default()));
    }
    if let Some(edge) = of.evaporation {
        let basis = weather.evaporation.or(unknown(marks.store(s)));
        pass.book(edge, &pass.flat(basis, Basis::default()));
    }
    if let Some(edge) = of.seep {
        let basis = Basis::COMPUTED.or(Basis::ASSUMED).or(unknown(of.unknown_climate || marks.store(s)));
        pass.book(edge, &pass.flat(basis, basis));
    }
    for edge in [of.settled, of.clean_out].into_iter().flatten() {
        pass.book(edge, &out);
    }
    if let Some(pump) = &of.pump {
        pass.send(pump.outlet, &out);
    }
    if let Some(tanker) = &of.tanker {
        let logged = pass.records.hauled.get(s).copied().flatten();
        let basis = match logged {
            Some(Some(_)) => pass.flat(Basis::METERED, out.solids),
            _ => out.clone(),
        };
        pass.book(tanker.edge, &basis);
    }
    pass.send(of.spill, &out);
    let level = pass.records.levels.get(s).copied().flatten().is_some();
    if let Some(slot) = marks.water.get_mut(s) {
        *slot = water && !level;
    }
    if let Some(slot) = marks.solids.get_mut(s) {
        *slot = solids;
    }
}

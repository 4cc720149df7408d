//! The basis of every entry of a day: which quantities are metered, sampled, computed or assumed, and what depends on
//! something that is not known.
//!
//! Derived = OR of the direct arguments of that day. Bits do not pass through stores, where everything depends on
//! everything; the mark *unknown* does. The same for all members of an ensemble, so it looks at one amount
//! alone: whether a use ran short in the single run.

use crate::balance::at::{FilterAt, OutletAt, Per, StoreAt, UserAt, WayAt};
use crate::balance::plan::{DayRecords, First, Op, Plan, Sampled, Source, UserPlan};
use crate::balance::{Basis, Node, Purpose};
use crate::facility::model::PlaceId;
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
    water: Per<StoreAt, bool>,
    solids: Per<StoreAt, bool>,
    dissolved: Per<StoreAt, bool>,
    filter: Per<FilterAt, bool>,
}

impl Unknowns {
    /// At the start of a run.
    pub fn new(plan: &Plan) -> Self {
        Self {
            water: plan.stores.iter().map(|s| s.unknown_start).collect(),
            solids: plan.stores.iter().map(|s| s.unknown_start_solids || s.unknown_start).collect(),
            dissolved: Per::filled(plan.stores.len(), false),
            filter: plan.filters.iter().map(|f| f.unknown_eta).collect(),
        }
    }

    /// Whether what a store holds depends on something not known.
    pub fn store(&self, s: StoreAt) -> bool {
        self.water[s]
    }

    /// Whether what is dissolved in what a source gives depends on something not known beside its water and solids.
    fn dissolved_in(&self, source: Source) -> bool {
        match source {
            Source::Supply(_) => false,
            Source::Store(s) => self.dissolved[s],
        }
    }

    /// Whether what a filter catches depends on something not known.
    pub fn filter(&self, f: FilterAt) -> bool {
        self.filter[f]
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
    /// Of the day `index` of a weather series. Rain is a gauge's depth on typed areas: computed; a day's
    /// even share of a reading over days, shared out; a gap, unknown. Open water loses to the air whether or not it is told
    /// how much: without evaporation, what it lost is no nought.
    pub fn of(weather: &DailyWeather, index: Option<usize>) -> Self {
        let rain = index.and_then(|i| weather.rain.get(i));
        let rain = match rain {
            Some(day) if day.depth_mm.is_some() && day.measured => Basis::COMPUTED,
            Some(day) if day.depth_mm.is_some() => Basis::COMPUTED.or(Basis::SHARED_OUT),
            _ => Basis::COMPUTED.or(Basis::UNKNOWN),
        };
        let known = index.and_then(|i| weather.evaporation_m.get(i)).is_some_and(Option::is_some);
        Self {
            rain,
            evaporation: Basis::COMPUTED.or(unknown(!known)),
            temperature_unknown: index.and_then(|i| weather.water_temperature_c.get(i)).is_some_and(Option::is_none)
                && weather.water_temperature_c.iter().any(Option::is_some),
        }
    }
}

struct Pass<'a> {
    plan: &'a Plan,
    records: &'a DayRecords,
    out: Per<WayAt, EdgeBasis>,
    inbox: Per<PlaceId, EdgeBasis>,
    unknown_kinds: bool,
}

impl Pass<'_> {
    /// Books an edge: a meter or sample wins, else what is derived.
    fn book(&mut self, edge: WayAt, derived: &EdgeBasis) {
        let mut basis = derived.clone();
        if self.records.metered[edge] {
            let metered = self.records.metered_basis[edge];
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
                Sampled::Dissolved(c) => basis.dissolved[c] = of,
            }
        }
        let slot = &mut self.out[edge];
        slot.water = slot.water.or(basis.water);
        slot.solids = slot.solids.or(basis.solids);
        for (to, from) in slot.dissolved.iter_mut().zip(&basis.dissolved) {
            *to = to.or(*from);
        }
        if let Some(place) = self.plan.edges[edge].inbox {
            let inbox = &mut self.inbox[place];
            inbox.water = inbox.water.or(basis.water);
            inbox.solids = inbox.solids.or(basis.solids);
            for (to, from) in inbox.dissolved.iter_mut().zip(&basis.dissolved) {
                *to = to.or(*from);
            }
        }
    }

    fn send(&mut self, outlet: OutletAt, basis: &EdgeBasis) {
        for item in &self.plan.outlets[outlet].items {
            self.book(item.edge, basis);
        }
    }

    fn flat(&self, water: Basis, solids: Basis) -> EdgeBasis {
        EdgeBasis { water, solids, dissolved: vec![solids; self.dissolved()] }
    }

    fn dissolved(&self) -> usize {
        self.plan.constituents - self.plan.parcels.len()
    }

    fn arrived(&self, place: PlaceId) -> EdgeBasis {
        self.inbox[place].clone()
    }
}

fn derived(of: &EdgeBasis, more: Basis) -> EdgeBasis {
    EdgeBasis {
        water: of.water.or(more),
        solids: of.solids.or(more),
        dissolved: of.dissolved.iter().map(|d| d.or(more)).collect(),
    }
}

/// Bases of all edges of a day; carries the unknown marks on. `short` says whether a use asked for more than it got.
pub(crate) fn of_day(
    plan: &Plan,
    records: &DayRecords,
    weather: WeatherBasis,
    unknown_kinds: bool,
    marks: &mut Unknowns,
    short: &dyn Fn(UserAt) -> bool,
) -> Per<WayAt, EdgeBasis> {
    let dissolved = plan.constituents - plan.parcels.len();
    let none =
        EdgeBasis { water: Basis::default(), solids: Basis::default(), dissolved: vec![Basis::default(); dissolved] };
    let mut pass = Pass {
        plan,
        records,
        out: Per::filled(plan.edges.len(), none.clone()),
        inbox: Per::filled(plan.inside.len(), none),
        unknown_kinds,
    };
    let unknown_pull = unknown_pulls(plan, &records.metered, marks, short);
    for (edge, source) in &plan.draws {
        let unknown_most = match source {
            Source::Supply(s) => plan.supplies[*s].unknown_most,
            Source::Store(_) => false,
        };
        let water = Basis::COMPUTED.or(unknown(unknown_pull[*edge] || unknown_most));
        let mass = match source {
            Source::Supply(s) => {
                let sampled = records.supplies.iter().find(|of| of.0 == *s).map(|of| of.2);
                sampled.unwrap_or(Basis::ASSUMED.or(unknown(plan.supplies[*s].unknown)))
            }
            Source::Store(s) => Basis::COMPUTED.or(unknown(marks.solids[*s])),
        };
        let water = if records.metered[*edge] { Basis::default() } else { water };
        let of_dissolved = mass.or(water).or(unknown(marks.dissolved_in(*source)));
        let basis = EdgeBasis { water, solids: mass.or(water), dissolved: vec![of_dissolved; dissolved] };
        pass.book(*edge, &basis);
    }
    for op in &plan.order {
        match *op {
            Op::Catchment(c) => {
                let of = &plan.catchments[c];
                let rain = weather.rain.or(unknown(of.unknown_water));
                let runoff = if of.by_share { rain.or(Basis::ASSUMED) } else { rain };
                let solids = runoff.or(Basis::ASSUMED).or(unknown(of.unknown_solids || pass.unknown_kinds));
                pass.book(of.rain, &pass.flat(rain, Basis::default()));
                pass.book(of.retained, &pass.flat(runoff, Basis::default()));
                pass.book(of.picked_up, &pass.flat(Basis::default(), solids));
                pass.send(of.outlet, &pass.flat(runoff, solids));
            }
            Op::User(u) => {
                let of = &plan.users[u];
                let arrived = pass.arrived(of.place);
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
    for (edge, slot) in plan.edges.iter().zip(&mut pass.out) {
        if edge.way.purpose == Purpose::Unaccounted {
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
fn unknown_pulls(
    plan: &Plan,
    metered: &Per<WayAt, bool>,
    marks: &Unknowns,
    short: &dyn Fn(UserAt) -> bool,
) -> Per<WayAt, bool> {
    let mut unknown = Per::filled(plan.edges.len(), false);
    // Of a use that ran short where a store held nobody knows how much, nobody knows what it got.
    let a_store_is_unknown = marks.water.iter().any(|mark| *mark);
    let depends = |(at, user): &(UserAt, &UserPlan)| user.unknown_water || a_store_is_unknown && short(*at);
    for (_, user) in plan.users.each().filter(depends) {
        for &edge in &user.inlets {
            unknown[edge] = !metered[edge];
        }
    }
    for store in plan.stores.iter().filter(|store| store.unknown_climate) {
        let here = Node::Place(store.place);
        for (id, edge) in plan.edges.each() {
            if edge.way.to == here && edge.way.purpose == Purpose::TopUp {
                unknown[id] = !metered[id];
            }
        }
    }
    // Children before parents: the turns in reverse.
    for op in plan.order.iter().rev() {
        let Op::Filter(f) = *op else { continue };
        let filter = &plan.filters[f];
        let source_unknown = match filter.first {
            Some(First::Source(Source::Store(s))) => marks.solids[s],
            Some(First::Source(Source::Supply(s))) => plan.supplies[s].unknown,
            Some(First::Filter(parent)) => marks.filter(parent),
            None => false,
        };
        let by_load = plan.params[filter.per_load] > 0.0;
        let washes_unknown = filter.solids_with_waste
            && (filter.unknown_wash || by_load && (filter.unknown_eta || source_unknown || marks.filter(f)));
        let any = filter.children.iter().any(|e| unknown[*e]) || washes_unknown;
        if any {
            for &edge in &filter.inlets {
                unknown[edge] = !metered[edge];
            }
        }
    }
    unknown
}

fn filter(pass: &mut Pass<'_>, f: FilterAt, marks: &mut Unknowns) {
    let of = &pass.plan.filters[f];
    let arrived = pass.arrived(of.place);
    let log = pass.records.washes[f];
    let by_load = pass.plan.params[of.per_load] > 0.0;
    let by_catch = pass.plan.params[of.water_per_kg] > 0.0;
    let held_unknown = of.unknown_eta || arrived.solids.has(Basis::UNKNOWN) || marks.filter(f) || pass.unknown_kinds;
    let count = match log {
        Some(log) => log.basis.or(Basis::COMPUTED),
        None => Basis::COMPUTED.or(unknown(held_unknown && (by_load || by_catch))),
    }
    .or(unknown(of.unknown_wash));
    marks.filter[f] |= held_unknown;
    let caught = Basis::COMPUTED.or(unknown(held_unknown));
    let parted = unknown(of.reject.is_some_and(|reject| reject.unknown_dissolved));
    // What washes take, and what they carry.
    let waste = EdgeBasis {
        water: count,
        solids: caught.or(count),
        dissolved: arrived.dissolved.iter().map(|d| d.or(count).or(parted)).collect(),
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
        dissolved: arrived.dissolved.iter().map(|d| d.or(parted)).collect(),
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
        let hose = pass.out[edge].clone();
        pass.send(outlet, &hose);
    }
}

fn store(pass: &mut Pass<'_>, s: StoreAt, weather: WeatherBasis, marks: &mut Unknowns) {
    let of = &pass.plan.stores[s];
    for &(edge, source) in of.fill.iter().flat_map(|fill| &fill.direct) {
        let mass = match source {
            Source::Supply(supply) => {
                let typed = pass.plan.supplies[supply].unknown;
                pass.records.supplies.iter().find(|r| r.0 == supply).map_or(Basis::ASSUMED.or(unknown(typed)), |r| r.2)
            }
            Source::Store(t) => Basis::COMPUTED.or(unknown(marks.solids[t])),
        };
        let unknown_most = match source {
            Source::Supply(supply) => pass.plan.supplies[supply].unknown_most,
            Source::Store(_) => false,
        };
        let water = if pass.records.metered[edge] {
            Basis::default()
        } else {
            Basis::COMPUTED.or(unknown(marks.store(s) || of.unknown_climate || unknown_most))
        };
        let mut basis = pass.flat(water, mass.or(water));
        for slot in &mut basis.dissolved {
            *slot = slot.or(unknown(marks.dissolved_in(source)));
        }
        pass.book(edge, &basis);
    }
    let arrived = pass.arrived(of.place);
    let drawn_unknown = pass
        .plan
        .draws
        .iter()
        .any(|(edge, source)| *source == Source::Store(s) && pass.out[*edge].water.has(Basis::UNKNOWN));
    let rain_unknown = of.pond && (weather.rain.has(Basis::UNKNOWN) || weather.evaporation.has(Basis::UNKNOWN));
    let water =
        marks.store(s) || arrived.water.has(Basis::UNKNOWN) || drawn_unknown || of.unknown_climate || rain_unknown;
    let solids = marks.solids[s]
        || arrived.solids.has(Basis::UNKNOWN)
        || (of.pond && (pass.unknown_kinds || weather.temperature_unknown))
        || water;
    let dissolved = marks.dissolved[s] || arrived.dissolved.iter().any(|of| of.has(Basis::UNKNOWN));
    let mut out = pass.flat(Basis::COMPUTED.or(unknown(water)), Basis::COMPUTED.or(unknown(solids)));
    for slot in &mut out.dissolved {
        *slot = slot.or(unknown(dissolved));
    }
    if let Some(edge) = of.rain {
        pass.book(edge, &pass.flat(weather.rain, Basis::default()));
    }
    if let Some(edge) = of.evaporation {
        let basis = weather.evaporation.or(unknown(marks.store(s)));
        pass.book(edge, &pass.flat(basis, Basis::default()));
    }
    if let Some(edge) = of.seep {
        // A pond of which it is said that nothing seeps loses nothing, whatever it holds.
        let depends = pass.plan.params[of.seepage_m_d] > 0.0 && marks.store(s);
        let basis = Basis::COMPUTED.or(Basis::ASSUMED).or(unknown(of.unknown_climate || depends));
        pass.book(edge, &pass.flat(basis, basis));
    }
    for edge in [of.settled, of.clean_out].into_iter().flatten() {
        pass.book(edge, &out);
    }
    if let Some(pump) = &of.pump {
        pass.send(pump.outlet, &out);
    }
    if let Some(tanker) = &of.tanker {
        let basis = match pass.records.hauled[s] {
            Some(Some(_)) => pass.flat(Basis::METERED, out.solids),
            _ => out.clone(),
        };
        pass.book(tanker.edge, &basis);
    }
    pass.send(of.spill, &out);
    marks.water[s] = water && pass.records.levels[s].is_none();
    marks.solids[s] = solids;
    marks.dissolved[s] = dissolved;
}

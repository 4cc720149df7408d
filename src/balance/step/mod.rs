//! The day step: from plan, forcing, records and state to the day's entries. It touches arrays only, does not allocate,
//! and gives the same bits whatever the number of lanes.
//!
//! Order of a day: (A) records and settling velocities; (B) what sources hold; (C) what pull lines need, leaves first;
//! (D) grants, round by round; (E) draws; (F) every place in turn, its solids with its water; (G) level records.

/// A part of the step in its builds: for any machine, and for the wider vectors of machines that have them. All do the
/// same IEEE operations, so their bits are the same. The part's text is in the function named last.
macro_rules! built_for_each_width {
    ($visible:vis fn $name:ident, $avx2:ident, $avx512:ident = $body:ident($($arg:ident: $type:ty),*) $(-> $out:ty)?) => {
        $visible fn $name(&mut self, $($arg: $type),*) $(-> $out)? {
            #[cfg(target_arch = "x86_64")]
            if L > 1 {
                use crate::balance::step::Width;
                match self.width {
                    // SAFETY: `Width` says so only where the machine was found to have the feature.
                    Width::Avx512 => return unsafe { self.$avx512($($arg),*) },
                    // SAFETY: as above.
                    Width::Avx2 => return unsafe { self.$avx2($($arg),*) },
                    Width::Any => {}
                }
            }
            self.$body($($arg),*)
        }

        #[cfg(target_arch = "x86_64")]
        #[target_feature(enable = "avx2")]
        fn $avx2(&mut self, $($arg: $type),*) $(-> $out)? {
            self.$body($($arg),*)
        }

        #[cfg(target_arch = "x86_64")]
        #[target_feature(enable = "avx512f,avx512dq,avx512vl")]
        fn $avx512(&mut self, $($arg: $type),*) $(-> $out)? {
            self.$body($($arg),*)
        }
    };
}

mod filter;
mod flow;
mod pull;
mod stage;
mod store;
mod wash;

use crate::balance::at::{AskerAt, FilterAt, Param, Per, SlotAt, StoreAt, SupplyAt, UserAt, WayAt, WhenAt};
use crate::balance::lanes::{M, V};
use crate::balance::plan::{DayRecords, FilterPlan, First, Op, Plan, Source};
use crate::balance::rows::{Rows, RowsPer};
use crate::facility::model::PlaceId;

pub(crate) use stage::MAX_CELLS;
pub(crate) use wash::{BY_CLOCK, BY_LOG, BY_RUNNING, BY_SCHEDULE, BY_SOLIDS, BY_THROUGHPUT, PROGRESSES};
use wash::{SCHEDULE, Washed};

/// Weather of a day; the same for all members.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Forcing {
    /// Day of the run.
    pub day: usize,
    /// Month, 0 to 11.
    pub month: usize,
    pub rain_m: f64,
    /// Rain of the day just ended.
    pub rain_before_m: f64,
    /// Rain of the five days before; not a number where one of them is not known.
    pub rain_five_m: f64,
    pub evaporation_m: f64,
    /// Whole degrees and the rest, for the settling table.
    pub degree: usize,
    pub part_of_degree: f64,
}

/// What carries over from day to day.
#[derive(Debug, Clone)]
pub(crate) struct State<const L: usize> {
    /// Water of each store, m³.
    pub volume: RowsPer<StoreAt, L>,
    /// Masses of each store: by constituent, then cell, kg.
    pub mass: Rows<L>,
    /// Sludge of each pond: kg by parcel, then its water, m³.
    pub sludge: Rows<L>,
    /// Solids held by each filter, by parcel, kg.
    pub held: RowsPer<FilterAt, L>,
    pub progress: Per<FilterAt, [V<L>; PROGRESSES]>,
    /// Length of roll left, m.
    pub roll: RowsPer<FilterAt, L>,
    pub pump_on: RowsPer<StoreAt, L>,
}

/// What a filter did in a day.
#[derive(Debug, Clone, Copy)]
pub(crate) struct FilterDay<const L: usize> {
    pub events: V<L>,
    pub carried: V<L>,
    pub locked: V<L>,
    pub trigger: V<L>,
    pub minutes: V<L>,
    pub gross_m3: V<L>,
    pub net_m3: V<L>,
    pub bypassed_m3: V<L>,
    /// Part of the day in which water passed unfiltered.
    pub unfiltered: V<L>,
    /// Logged events left more than the load at the close.
    pub logged_too_few: V<L>,
}

impl<const L: usize> Default for FilterDay<L> {
    fn default() -> Self {
        Self {
            events: V::zero(),
            carried: V::zero(),
            locked: V::zero(),
            trigger: V::zero(),
            minutes: V::zero(),
            gross_m3: V::zero(),
            net_m3: V::zero(),
            bypassed_m3: V::zero(),
            unfiltered: V::zero(),
            logged_too_few: V::zero(),
        }
    }
}

/// The entries of a day.
#[derive(Debug, Clone)]
pub(crate) struct Day<const L: usize> {
    pub water: RowsPer<WayAt, L>,
    /// Constituents of the edges whose masses are kept, kg.
    mass: Rows<L>,
    /// Where an edge's masses start in `mass`.
    entry_at: Per<WayAt, usize>,
    /// The place in whose inbox an edge ends.
    inbox_at: Per<WayAt, Option<PlaceId>>,
    constituents: usize,
    /// What came to places that have their turn yet: water, m³, and constituents, kg.
    inbox_m3: RowsPer<PlaceId, L>,
    inbox_kg: RowsPer<PlaceId, L>,
    /// Asked for and not given, m³.
    pub shortfall: RowsPer<UserAt, L>,
    /// Metered draws that were not there, m³.
    pub lack: RowsPer<StoreAt, L>,
    pub filters: Per<FilterAt, FilterDay<L>>,
}

impl<const L: usize> Day<L> {
    /// The masses of an entry, kg by constituent; none where they are not kept.
    #[cfg_attr(not(debug_assertions), inline(always))]
    pub fn entry(&self, edge: WayAt) -> &[V<L>] {
        match self.entry_at[edge] {
            NO_ENTRY => &[],
            at => &self.mass[at..at + self.constituents],
        }
    }

    /// The same, to add to.
    #[cfg_attr(not(debug_assertions), inline(always))]
    fn entry_mut(&mut self, edge: WayAt) -> &mut [V<L>] {
        match self.entry_at[edge] {
            NO_ENTRY => &mut [],
            at => &mut self.mass[at..at + self.constituents],
        }
    }

    /// Adds to one constituent of an entry whose masses are kept.
    #[cfg_attr(not(debug_assertions), inline(always))]
    fn book_mass(&mut self, edge: WayAt, x: usize, mass: V<L>) {
        match self.entry_at[edge] {
            NO_ENTRY => {}
            at => self.mass[at + x] += mass,
        }
    }

    /// Adds to an entry, and to the inbox at its end: `share` of the masses.
    #[cfg_attr(not(debug_assertions), inline(always))]
    fn book(&mut self, edge: WayAt, water: V<L>, mass: &[V<L>], share: V<L>) {
        self.water[edge] += water;
        for (to, from) in self.entry_mut(edge).iter_mut().zip(mass) {
            *to += *from * share;
        }
        if let Some(place) = self.inbox_at[edge] {
            self.inbox_m3[place] += water;
            for (to, from) in self.inbox_kg.of_mut(place).iter_mut().zip(mass) {
                *to += *from * share;
            }
        }
    }

    /// Adds water alone to an entry without an inbox.
    #[cfg_attr(not(debug_assertions), inline(always))]
    fn book_water(&mut self, edge: WayAt, water: V<L>) {
        self.water[edge] += water;
    }

    /// Empties a place's inbox when its turn is over.
    #[cfg_attr(not(debug_assertions), inline(always))]
    fn empty_inbox(&mut self, place: PlaceId) {
        self.inbox_m3[place] = V::zero();
        self.inbox_kg.of_mut(place).fill(V::zero());
    }
}

/// An entry whose masses are not kept.
const NO_ENTRY: usize = usize::MAX;

/// The vectors that the machine has and the step uses.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Width {
    Any,
    #[cfg(target_arch = "x86_64")]
    Avx2,
    #[cfg(target_arch = "x86_64")]
    Avx512,
}

impl Width {
    /// The widths of this machine, the widest first.
    pub fn all() -> Vec<Self> {
        let mut widths = vec![Self::Any];
        #[cfg(target_arch = "x86_64")]
        {
            if std::arch::is_x86_feature_detected!("avx2") {
                widths.insert(0, Self::Avx2);
            }
            if std::arch::is_x86_feature_detected!("avx512f")
                && std::arch::is_x86_feature_detected!("avx512dq")
                && std::arch::is_x86_feature_detected!("avx512vl")
            {
                widths.insert(0, Self::Avx512);
            }
        }
        widths
    }

    fn widest() -> Self {
        Self::all().first().copied().unwrap_or(Self::Any)
    }
}

/// The step with all it works on.
pub(crate) struct Engine<'p, const L: usize> {
    pub plan: &'p Plan,
    /// Any of [`Width::all`], and no other.
    #[cfg_attr(not(target_arch = "x86_64"), expect(dead_code, reason = "only there is there more than one"))]
    pub width: Width,
    pub params: RowsPer<Param, L>,
    pub state: State<L>,
    pub day: Day<L>,
    // Scratch of a step.
    dt: f64,
    step: u32,
    grant: RowsPer<WayAt, L>,
    asked: RowsPer<SlotAt, L>,
    given: RowsPer<SlotAt, L>,
    unmet: RowsPer<AskerAt, L>,
    used_meter: Per<WayAt, bool>,
    room: RowsPer<StoreAt, L>,
    supply_left: RowsPer<SupplyAt, L>,
    supply_concentration: Per<SupplyAt, Param>,
    /// Concentration of what is drawn from each store, kg/m³.
    drawn_kg_m3: RowsPer<StoreAt, L>,
    /// Stores that something is drawn from in the rounds.
    is_source: Per<StoreAt, bool>,
    gamma: RowsPer<FilterAt, L>,
    filtrate_kg_m3: RowsPer<FilterAt, L>,
    net: RowsPer<FilterAt, L>,
    gross: RowsPer<FilterAt, L>,
    clean: RowsPer<FilterAt, L>,
    /// What a pull filter has to pass on, m³.
    available: RowsPer<FilterAt, L>,
    washed: Per<FilterAt, Washed<L>>,
    short: Per<FilterAt, M<L>>,
    /// Settling velocity by parcel, m/day.
    settling: Rows<L>,
    buffer: [Rows<L>; 6],
}

impl<'p, const L: usize> Engine<'p, L> {
    /// An engine at the start of the run, for a block of members: one set of parameters a lane.
    pub fn new(plan: &'p Plan, members: [&[f64]; L]) -> Self {
        Self::watching(plan, members, |_| true)
    }

    /// The same, with the masses of some entries only: of those that `watched` names. The others' water is booked, and
    /// their masses arrive where they go.
    pub fn watching(plan: &'p Plan, members: [&[f64]; L], watched: impl Fn(WayAt) -> bool) -> Self {
        let mut params = RowsPer::zeros(plan.params.len());
        for (lane, values) in members.into_iter().enumerate() {
            for (to, from) in params.iter_mut().zip(values) {
                to.0[lane] = *from;
            }
        }
        let x = plan.constituents;
        let mut entries = 0;
        let entry_at = plan
            .edges
            .indices()
            .map(|edge| {
                if !watched(edge) {
                    return NO_ENTRY;
                }
                entries += x;
                entries - x
            })
            .collect();
        let parcels = plan.parcels.len();
        let filters = plan.filters.len();
        let mut engine = Self {
            plan,
            width: Width::widest(),
            params,
            state: State {
                volume: RowsPer::zeros(plan.stores.len()),
                mass: Rows::zeros(plan.masses),
                sludge: Rows::zeros(plan.sludges),
                held: RowsPer::several(filters, parcels),
                progress: Per::filled(filters, [V::zero(); PROGRESSES]),
                roll: RowsPer::zeros(filters),
                pump_on: RowsPer::zeros(plan.stores.len()),
            },
            day: Day {
                water: RowsPer::zeros(plan.edges.len()),
                mass: Rows::zeros(entries),
                entry_at,
                inbox_at: plan.edges.iter().map(|edge| edge.inbox).collect(),
                constituents: x,
                inbox_m3: RowsPer::zeros(plan.inside.len()),
                inbox_kg: RowsPer::several(plan.inside.len(), x),
                shortfall: RowsPer::zeros(plan.users.len()),
                lack: RowsPer::zeros(plan.stores.len()),
                filters: Per::filled(filters, FilterDay::default()),
            },
            dt: 1.0 / f64::from(plan.steps_per_day.max(1)),
            step: 0,
            grant: RowsPer::zeros(plan.edges.len()),
            asked: RowsPer::zeros(plan.slots.len()),
            given: RowsPer::zeros(plan.slots.len()),
            unmet: RowsPer::zeros(plan.askers.len()),
            used_meter: Per::filled(plan.edges.len(), false),
            room: RowsPer::zeros(plan.stores.len()),
            supply_left: RowsPer::zeros(plan.supplies.len()),
            supply_concentration: plan.supplies.iter().map(|s| s.concentration).collect(),
            drawn_kg_m3: RowsPer::several(plan.stores.len(), x),
            is_source: plan
                .stores
                .indices()
                .map(|s| {
                    let store = Source::Store(s);
                    let first = |f: &FilterPlan| f.first == Some(First::Source(store));
                    plan.draws.iter().any(|(_, source)| *source == store) || plan.filters.iter().any(first)
                })
                .collect(),
            gamma: RowsPer::zeros(filters),
            filtrate_kg_m3: RowsPer::several(filters, x),
            net: RowsPer::zeros(filters),
            gross: RowsPer::zeros(filters),
            clean: RowsPer::zeros(filters),
            available: RowsPer::zeros(filters),
            washed: Per::filled(filters, Washed::default()),
            short: Per::filled(filters, M::all_or_none(false)),
            settling: Rows::zeros(parcels),
            buffer: std::array::from_fn(|_| Rows::zeros(x.max(parcels) + 1)),
        };
        engine.start();
        engine
    }

    fn start(&mut self) {
        let plan = self.plan;
        for (s, store) in plan.stores.each() {
            let volume = self.params[store.start_m3];
            self.state.volume[s] = volume;
            let cells = store.cells;
            for x in 0..plan.constituents {
                let mass = self.params[store.start_concentration + x] * volume;
                for cell in 0..cells {
                    self.state.mass[store.first + x * cells + cell] = mass * (1.0 / cells as f64);
                }
            }
            if store.pond {
                for i in 0..=plan.parcels.len() {
                    self.state.sludge[store.sludge + i] = self.params[store.start_sludge + i];
                }
            }
            if store.pump.as_ref().is_some_and(|p| p.running_at_start) {
                self.state.pump_on[s] = V::splat(1.0);
            }
        }
        for (f, filter) in plan.filters.each() {
            if let Some(roll) = &filter.roll {
                self.state.roll[f] = self.params[roll.length_m];
            }
        }
    }

    /// One day. The entries are in `self.day` afterwards.
    pub fn run_day(&mut self, forcing: &Forcing, records: &DayRecords) {
        let plan = self.plan;
        self.day.water.fill(V::zero());
        self.day.mass.fill(V::zero());
        self.day.shortfall.fill(V::zero());
        self.day.lack.fill(V::zero());
        self.day.filters.fill(FilterDay::default());
        self.settle_at(forcing);
        for (to, supply) in self.supply_concentration.iter_mut().zip(&plan.supplies) {
            *to = supply.concentration;
        }
        for (supply, param, _) in &records.supplies {
            self.supply_concentration[*supply] = *param;
        }
        for step in 0..plan.steps_per_day.max(1) {
            self.step = step;
            if step == 0 {
                self.start_of_day(records);
            }
            self.one_step(forcing, records);
        }
        for filter in &mut self.state.progress {
            filter[SCHEDULE] = filter[SCHEDULE] + 1.0;
        }
        self.soundings(records);
        self.level_records(records);
    }

    #[cfg_attr(not(debug_assertions), inline(always))]
    fn settle_at(&mut self, forcing: &Forcing) {
        let parcels = self.plan.parcels.len();
        let low = self.plan.settling + forcing.degree.min(39) * parcels;
        for p in 0..parcels {
            let a = self.params[low + p];
            let b = self.params[low + parcels + p];
            self.settling[p] = a + (b - a) * forcing.part_of_degree;
        }
    }

    fn start_of_day(&mut self, records: &DayRecords) {
        let plan = self.plan;
        let parcels = plan.parcels.len();
        for (s, store) in plan.stores.each() {
            if let Some(edge) = store.clean_out
                && records.cleaned[s]
            {
                let mut buffer = std::mem::take(&mut self.buffer[0]);
                buffer.fill(V::zero());
                let sludge = &mut self.state.sludge[store.sludge..store.sludge + parcels];
                for (to, from) in buffer.iter_mut().zip(sludge) {
                    *to = std::mem::take(from);
                }
                let water = self.state.sludge[store.sludge + parcels];
                self.state.sludge[store.sludge + parcels] = V::zero();
                self.day.book(edge, water, &buffer, V::splat(1.0));
                self.buffer[0] = buffer;
            }
        }
        for (f, filter) in plan.filters.each() {
            if let Some(roll) = &filter.roll {
                let length = self.params[roll.length_m];
                if roll.by_log {
                    if records.washes[f].is_some_and(|w| w.count > 0) {
                        self.state.roll[f] = length;
                    }
                } else {
                    // A roll that ran out was replaced when the day was over.
                    let out = self.state.roll[f].le(V::zero());
                    self.state.roll[f] = out.pick(length, self.state.roll[f]);
                }
            }
        }
    }

    fn one_step(&mut self, forcing: &Forcing, records: &DayRecords) {
        let plan = self.plan;
        self.pull_lines(forcing, records);
        self.draws();
        for op in &plan.order {
            match *op {
                Op::Catchment(c) => self.catchment(c, forcing, records),
                Op::User(u) => self.user(u, records),
                Op::Filter(f) => self.filter(f, forcing, records),
                Op::Store(s) => self.store(s, forcing, records),
            }
        }
    }

    /// Whether something happens today, as a mask over members.
    #[cfg_attr(not(debug_assertions), inline(always))]
    fn is_on(&self, when: Option<WhenAt>, forcing: &Forcing) -> M<L> {
        let Some(when) = when else {
            return M::all_or_none(true);
        };
        let when = &self.plan.whens[when];
        let on = M::all_or_none(when.on[forcing.day]);
        match when.rain_over_m {
            Some(limit) => on & V::splat(forcing.rain_before_m).le(self.params[limit]),
            None => on,
        }
    }

    /// What a meter says of an edge in this step.
    #[cfg_attr(not(debug_assertions), inline(always))]
    fn metered(&self, edge: WayAt, records: &DayRecords) -> Option<f64> {
        if records.metered[edge] { Some(records.metered_m3[edge] * self.dt) } else { None }
    }
}

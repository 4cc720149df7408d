//! A facility compiled to flat arrays: what the day step reads.
//!
//! `uom` ends here. The plan's shape (ways, order, slots) is the same for every member of an ensemble; what differs are
//! the parameters, a flat array of SI numbers that the shape points into. Units: m³, kg, m, m², day.

mod build;
mod draw;
mod filters;
mod order;
mod pull;
mod records;
mod stores;
mod users;

use crate::balance::at::{
    AskerAt, CatchmentAt, FilterAt, OutletAt, Param, Per, SlotAt, StoreAt, SupplyAt, UserAt, WayAt, WhenAt,
};
use crate::balance::{Parcel, Way};
use crate::facility::model::PlaceId;

pub(crate) use build::{Compiled, Input, compile};
pub use draw::{Assumption, Draw};
pub(crate) use records::{DayRecords, Sampled};

/// More than any flow or volume of a facility: no limit.
pub(crate) const NO_LIMIT: f64 = 1e30;

/// Where drawn water comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Source {
    Supply(SupplyAt),
    Store(StoreAt),
}

/// An edge: a way, and the place in whose inbox its water is gathered until that place's turn.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Edge {
    pub way: Way,
    pub inbox: Option<PlaceId>,
}

/// Where a flow goes.
#[derive(Debug, Clone)]
pub(crate) struct Outlet {
    /// The place it comes from, for `unaccounted`.
    pub from: PlaceId,
    /// A list tried in order, or shares.
    pub in_order: bool,
    pub items: Vec<OutletItem>,
    /// Which item takes the rest.
    pub rest: usize,
}

#[derive(Debug, Clone, Copy)]
pub(crate) struct OutletItem {
    pub edge: WayAt,
    /// Share, for shares.
    pub share: Param,
    /// Most, m³/day.
    pub most_m3_d: Param,
}

#[derive(Debug, Clone)]
pub(crate) struct SupplyPlan {
    pub most_m3_d: Param,
    /// Concentrations, kg/m³, one for each constituent.
    pub concentration: Param,
    pub when: Option<WhenAt>,
    /// Parts of its concentrations are not known.
    pub unknown: bool,
    /// What it gives at most is not known.
    pub unknown_most: bool,
}

#[derive(Debug, Clone)]
pub(crate) struct CatchmentPlan {
    pub parts: Vec<PartPlan>,
    pub concentration: Param,
    pub rain: WayAt,
    pub retained: WayAt,
    pub picked_up: WayAt,
    pub outlet: OutletAt,
    pub unknown_water: bool,
    pub unknown_solids: bool,
    /// Whether a typed share (and not a method) sets the runoff.
    pub by_share: bool,
}

#[derive(Debug, Clone, Copy)]
pub(crate) struct PartPlan {
    pub area_m2: Param,
    /// By curve number: then `first` is the retention S in m; else the share and the first rain soaked up, m.
    pub by_curve: bool,
    pub share: Param,
    pub first_m: Param,
    /// Whether `first_m` begins three retentions: of dry, average and wet ground.
    pub by_rain: bool,
}

/// A use or a transfer.
#[derive(Debug, Clone)]
pub(crate) struct UserPlan {
    pub place: PlaceId,
    pub demand_m3_d: Param,
    pub when: WhenAt,
    /// Share that comes back; 1 for a transfer.
    pub returns: Param,
    /// kg/m³ of the water that comes back.
    pub picks_up: Param,
    /// kg/m³ of the water used.
    pub feed: Param,
    pub uptake: Option<WayAt>,
    pub feed_edge: Option<WayAt>,
    pub picked_up: Option<WayAt>,
    pub outlet: Option<OutletAt>,
    pub unknown_water: bool,
    pub unknown_solids: bool,
    /// Edges that bring its water.
    pub inlets: Vec<WayAt>,
}

/// Continuous removal, or whole events.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Removal {
    Events,
    Continuous,
}

#[derive(Debug, Clone)]
pub(crate) struct FilterPlan {
    pub place: PlaceId,
    pub pull: bool,
    pub removal: Removal,
    /// Shares stopped by parcel, one set for each month.
    pub eta: [Param; 12],
    pub unknown_eta: bool,
    /// Something of its washes, changes or capacity is not known.
    pub unknown_wash: bool,
    /// Part of the day in which water flows.
    pub running: Param,
    /// Most it takes, m³/day (over its running hours).
    pub most_m3_d: Param,
    pub bypass: Option<OutletAt>,
    // Events.
    pub per_load: Param,
    pub keeps: Param,
    pub clears_all: bool,
    pub own_m3: Param,
    pub clean_m3: Param,
    pub clock_d: Param,
    pub running_d: Param,
    pub per_throughput: Param,
    pub schedule_days: Param,
    pub most_events_d: Param,
    /// Minutes one event takes.
    pub minutes: Param,
    /// Wash flow by a log's minutes, m³/min.
    pub m3_per_minute: Param,
    /// Whether logged minutes and meters mean the filter's own water.
    pub own_water: bool,
    pub changes: bool,
    // Continuous.
    pub water_per_kg: Param,
    pub least_m3_d: Param,
    pub greatest_m3_d: Param,
    /// A membrane's reject, in place of the three before.
    pub reject: Option<RejectPlan>,
    /// Where wash, rinse, drain or liquor water goes.
    pub waste: Option<OutletAt>,
    /// Whether what was caught goes with that water; else by `solids_to`.
    pub solids_with_waste: bool,
    /// Screenings or spent media; waste water goes with them where `waste` is none.
    pub solids_to: Option<WayAt>,
    pub roll: Option<RollPlan>,
    /// Filtered water, on a push line.
    pub net: Option<OutletAt>,
    /// Filtered water, on a pull line.
    pub children: Vec<WayAt>,
    /// Inlets, on a pull line.
    pub inlets: Vec<WayAt>,
    /// A spray that rejoins the filtered water.
    pub spray: Option<(WayAt, Param, Source)>,
    /// Hosing down: edge in, outlet, m³/day.
    pub hose: Option<(WayAt, OutletAt, Param)>,
    /// Clean water for washes: edge in; drawn at the filter's turn on a push line.
    pub clean: Option<(WayAt, Source)>,
    /// First source of a pull filter, for its concentration: a source, or another filter.
    pub first: Option<First>,
}

/// Whose water a pull filter counts washes by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum First {
    Source(Source),
    Filter(FilterAt),
}

/// What a membrane turns back.
#[derive(Debug, Clone, Copy)]
pub(crate) struct RejectPlan {
    /// Share of the feed.
    pub share: Param,
    /// Share of what is dissolved in what passes that goes with the reject instead.
    pub dissolved: Param,
    pub unknown_dissolved: bool,
}

#[derive(Debug, Clone, Copy)]
pub(crate) struct RollPlan {
    pub length_m: Param,
    pub m_per_kg: Param,
    pub least_m_d: Param,
    pub passes_unfiltered: bool,
    /// Whether rolls are put on as the log says.
    pub by_log: bool,
}

#[derive(Debug, Clone)]
pub(crate) struct StorePlan {
    pub place: PlaceId,
    pub pond: bool,
    pub cells: usize,
    /// Where its mass starts in the state: `mass[first + x·cells + cell]`.
    pub first: usize,
    /// Where its sludge starts in the state, for ponds: one mass for each parcel, then water.
    pub sludge: usize,
    pub full_m3: Param,
    pub lowest_m3: Param,
    /// A(V)² = a0 + Σ Δσ·max(0, V − V_i).
    pub hinges: usize,
    pub a0_m4: Param,
    pub hinge_m3: Param,
    pub hinge_slope: Param,
    pub crest_m2: Param,
    pub seepage_m_d: Param,
    /// m³ of grains in the sludge and of their pore water for each kg, by parcel.
    pub grains_m3_kg: Param,
    pub pore_m3_kg: Param,
    pub spill_level_m: Option<Param>,
    pub freeboard_m: Option<Param>,
    pub start_m3: Param,
    pub start_concentration: Param,
    /// Sludge at the start by parcel, then its water.
    pub start_sludge: Param,
    pub fill: Option<FillPlan>,
    pub pump: Option<PumpPlan>,
    pub tanker: Option<TankerPlan>,
    pub spill: OutletAt,
    pub rain: Option<WayAt>,
    pub evaporation: Option<WayAt>,
    pub seep: Option<WayAt>,
    pub settled: Option<WayAt>,
    pub clean_out: Option<WayAt>,
    /// Sludge that a sounding found more or less than computed.
    pub sounding: Option<SoundingPlan>,
    /// Its shape, its marks or what climate takes is not known.
    pub unknown_climate: bool,
    pub unknown_start: bool,
    pub unknown_start_solids: bool,
}

/// Edges from a pond's sludge to `unaccounted` and back, and what a m³ of sludge is made of where there was none: kg by
/// parcel, then m³ of water.
#[derive(Debug, Clone, Copy)]
pub(crate) struct SoundingPlan {
    pub out: WayAt,
    pub back: WayAt,
    pub made_of: Param,
}

#[derive(Debug, Clone)]
pub(crate) struct FillPlan {
    pub set_m3: Param,
    /// Whether it was typed as a volume of water and not as a level.
    pub of_water: bool,
    pub when: Option<WhenAt>,
    /// Edges and sources that fill at the store's turn, in order.
    pub direct: Vec<(WayAt, Source)>,
    /// Every way by which it is filled, those through filters too.
    pub ways: Vec<WayAt>,
}

#[derive(Debug, Clone)]
pub(crate) struct PumpPlan {
    pub rate_m3_d: Param,
    pub on_m3: Param,
    pub on_of_water: bool,
    pub off_m3: Param,
    pub off_of_water: bool,
    pub running_at_start: bool,
    pub when: Option<WhenAt>,
    pub outlet: OutletAt,
}

#[derive(Debug, Clone)]
pub(crate) struct TankerPlan {
    pub edge: WayAt,
    pub when_m3: Param,
    pub down_m3: Param,
    /// Records say when.
    pub by_log: bool,
}

/// When something happens, evaluated for each day at compile.
#[derive(Debug, Clone)]
pub(crate) struct WhenPlan {
    /// By day of the run.
    pub on: Vec<bool>,
    /// Not when the rain of the day just ended was over this, m.
    pub rain_over_m: Option<Param>,
}

/// Who asks for water.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Asker {
    User(UserAt),
    /// A float valve through a filter.
    Fill(StoreAt),
    Hose(FilterAt),
    Spray(FilterAt),
}

/// One asking in one round over one edge.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Slot {
    pub edge: WayAt,
    pub rank: u32,
}

/// Slots of one rank.
pub(crate) type RankGroup = Vec<SlotAt>;

#[derive(Debug, Clone)]
pub(crate) struct FilterAsk {
    pub filter: FilterAt,
    pub children: Vec<RankGroup>,
    pub slot: SlotAt,
    /// Slot of its clean wash water in this round.
    pub clean: Option<SlotAt>,
}

#[derive(Debug, Clone)]
pub(crate) struct Round {
    /// Asker and slot.
    pub leaves: Vec<(AskerAt, SlotAt)>,
    /// Leaves first.
    pub asks: Vec<FilterAsk>,
    pub grants: Vec<(Source, Vec<RankGroup>)>,
}

/// One turn in the order of a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Op {
    Catchment(CatchmentAt),
    User(UserAt),
    Filter(FilterAt),
    Store(StoreAt),
}

/// The compiled facility.
#[derive(Debug, Clone)]
pub(crate) struct Plan {
    pub parcels: Vec<Parcel>,
    /// Parcels and dissolved constituents: the constituents that move with water.
    pub constituents: usize,
    pub edges: Per<WayAt, Edge>,
    /// Whether a place lies inside the facility.
    pub inside: Per<PlaceId, bool>,
    /// `place → unaccounted` and back.
    pub unaccounted: Per<PlaceId, Option<(WayAt, WayAt)>>,
    pub supplies: Per<SupplyAt, SupplyPlan>,
    pub catchments: Per<CatchmentAt, CatchmentPlan>,
    pub users: Per<UserAt, UserPlan>,
    pub filters: Per<FilterAt, FilterPlan>,
    pub stores: Per<StoreAt, StorePlan>,
    pub outlets: Per<OutletAt, Outlet>,
    pub whens: Per<WhenAt, WhenPlan>,
    /// Whether things grow, by day of the run.
    pub growing: Vec<bool>,
    pub askers: Per<AskerAt, Asker>,
    pub slots: Per<SlotAt, Slot>,
    pub rounds: Vec<Round>,
    /// Edges drawn from sources in the rounds.
    pub draws: Vec<(WayAt, Source)>,
    pub order: Vec<Op>,
    pub steps_per_day: u32,
    /// Settling velocities, m/day: 41 whole degrees from 0 °C × parcels.
    pub settling: Param,
    /// Cells and constituents of all stores.
    pub masses: usize,
    pub sludges: usize,
    pub params: Per<Param, f64>,
}

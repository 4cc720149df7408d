//! What filters of all kinds have.

use chrono::NaiveTime;
use uom::si::f64::{ArealMassDensity, Length, Mass, Power, Ratio, Time, Velocity, Volume, VolumeRate};

use crate::facility::kinds::FilterKind;
use crate::facility::model::{Outflow, PlaceId};
use crate::files::Given;
use crate::quantity::ByMonth;

/// A filter. On a pull line it has `takes_from`; on a push line `goes_to`.
#[derive(Debug, Clone)]
pub struct Filter {
    /// Which kind, with what only that kind has.
    pub kind: FilterKind,
    /// Share stopped, by size; empty when `stops: not known`.
    pub stops: Capture,
    /// Opening, by month; a screen's or a medium's rating. None for media beds and decks.
    pub opening: Option<ByMonth<Given<Length>>>,
    /// The most it can take; what is over goes to `above_that`.
    pub handles_at_most: Option<Given<VolumeRate>>,
    /// Where the flow over its capacity goes.
    pub above_that: Option<Outflow>,
    /// Sources in order, on a pull line.
    pub takes_from: Vec<PlaceId>,
    /// Served after lower turns, on a pull line.
    pub turn: u32,
    /// Where filtered water goes, on a push line.
    pub goes_to: Option<Outflow>,
    /// Washes, for kinds that wash.
    pub wash: Option<Wash>,
    /// Changes of bags or cartridges.
    pub change: Option<Change>,
    /// Screenings that leave dry or wet.
    pub screenings: Option<Screenings>,
    /// Spent media (bags, cartridges, roll) go here.
    pub spent_media_to: Option<PlaceId>,
    /// How long service stands still at each wash or change.
    pub stands_still: Option<Given<Time>>,
    /// Motor power.
    pub motor: Option<Given<Power>>,
}

/// What a filter stops.
#[derive(Debug, Clone)]
pub enum Capture {
    /// `not known`: a share caught counts 0 and what depends on it is not shown.
    NotKnown,
    /// Bigger and smaller than the opening.
    AtOpening {
        /// Share of what is bigger.
        bigger: Given<Ratio>,
        /// Share of what is smaller; none means 0.
        smaller: Option<Given<Ratio>>,
    },
    /// The user's table of sizes, coarse or fine first, as typed.
    Table(Vec<CaptureRow>),
    /// One share for all solids: low confidence.
    AllSolids(Given<Ratio>),
}

/// A row of a capture table.
#[derive(Debug, Clone)]
pub struct CaptureRow {
    /// Size of the particle.
    pub size: Given<Length>,
    /// Share stopped at that size.
    pub share: Given<Ratio>,
}

/// What sets off a wash, a change, or counts as one.
#[derive(Debug, Clone)]
pub enum Trigger {
    /// A clock interval.
    Clock(Given<Time>),
    /// Hours with water flowing.
    RunningHours(Given<Time>),
    /// Solids held, whole filter.
    Solids(Given<Mass>),
    /// Throughput.
    Throughput(Given<Volume>),
}

/// When washes or changes happen: the log if there is one, else the earliest trigger.
#[derive(Debug, Clone, Default)]
pub struct Cadence {
    /// `by: log`.
    pub by_log: bool,
    /// Triggers, in file order.
    pub triggers: Vec<Trigger>,
    /// A scheduled time of day.
    pub at: Option<NaiveTime>,
    /// Clock hours in which it does not happen; may cross midnight.
    pub never_between: Option<(NaiveTime, NaiveTime)>,
}

/// Which water washes a filter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WashWater {
    /// Its own filtered water (or that of sister vessels).
    OwnFiltered,
    /// Drawn from a place: a supply, a tank or a pond.
    From(PlaceId),
}

/// A wash: whole events.
#[derive(Debug, Clone)]
pub struct Wash {
    /// When.
    pub cadence: Cadence,
    /// Rate of the wash, of one vessel or body.
    pub rate: Option<Given<VolumeRate>>,
    /// Or as a flux over the vessel's area.
    pub flux: Option<Given<Velocity>>,
    /// How long, for each vessel or body.
    pub lasts: Option<Given<Time>>,
    /// Vessels or bodies washed one after another in one event.
    pub vessels: u32,
    /// Or a measured volume for a whole event.
    pub volume: Option<Given<Volume>>,
    /// Rinse to waste, rate and time for each vessel.
    pub rinse: Option<(Given<VolumeRate>, Given<Time>)>,
    /// Drained at each event, whole filter.
    pub drained: Option<Given<Volume>>,
    /// Which water.
    pub with: WashWater,
    /// Where wash water goes.
    pub to: Outflow,
    /// Load of solids held before a wash, on the bed's area.
    pub holds_before: Option<Given<ArealMassDensity>>,
    /// Share of what is held that one wash removes; all when not typed.
    pub removes: Option<Given<Ratio>>,
}

/// A change of bags or cartridges.
#[derive(Debug, Clone)]
pub struct Change {
    /// When.
    pub cadence: Cadence,
    /// How long a change takes.
    pub lasts: Option<Given<Time>>,
    /// Water drained at a change.
    pub drains: Option<Given<Volume>>,
    /// Where it drains to.
    pub to: Option<Outflow>,
}

/// Screenings: what is scraped or shaken off.
#[derive(Debug, Clone)]
pub struct Screenings {
    /// Share of the wet mass that is dry solids.
    pub dry_solids: Given<Ratio>,
    /// Where they go.
    pub to: PlaceId,
    /// Where their liquor drains back to; with the screenings when not typed.
    pub drains_back_to: Option<PlaceId>,
}

//! Places and the ways out of them.

use chrono::NaiveDate;
use uom::si::f64::{Area, Length, Ratio, Time, Velocity, Volume, VolumeRate};

use crate::facility::model::{Concentrations, Filter, Pond, Tank};
use crate::files::Given;
use crate::quantity::{DaySpan, HowOften, Weekdays};
use crate::told::Place;

/// The number of a place: its index in `Facility::places`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PlaceId(pub usize);

/// A place of the facility.
#[derive(Debug, Clone)]
pub struct SitePlace {
    /// Its name, as typed.
    pub name: String,
    /// Where it was typed.
    pub place: Place,
    /// What it is.
    pub kind: PlaceKind,
}

/// What a place is.
#[derive(Debug, Clone)]
pub enum PlaceKind {
    /// Water comes from here.
    Supply(Supply),
    /// Rain falls here and runs off.
    Catchment(Catchment),
    /// Water is used here.
    Use(Use),
    /// Moves water and keeps none.
    Transfer(Transfer),
    /// A filter, of one of the kinds.
    Filter(Box<Filter>),
    /// A tank.
    Tank(Box<Tank>),
    /// A pond.
    Pond(Box<Pond>),
    /// Where water or solids leave for good.
    DischargePoint(DischargePoint),
}

/// Where a flow goes.
#[derive(Debug, Clone)]
pub enum Outflow {
    /// A list tried in order, each to its limit; the last has none.
    InOrder(Vec<Step>),
    /// Shared out; the excess over a limit goes to `rest`.
    Shares {
        /// The shares, in file order.
        shares: Vec<Share>,
        /// Index into `shares` of what takes the rest and every excess.
        rest: usize,
    },
}

impl Outflow {
    /// Every place named, in file order, with where it was named.
    pub fn named(&self) -> Vec<(PlaceId, &Place)> {
        match self {
            Self::InOrder(steps) => steps.iter().map(|step| (step.to, &step.place)).collect(),
            Self::Shares { shares, .. } => shares.iter().map(|share| (share.to, &share.place)).collect(),
        }
    }

    /// Every place named, in file order.
    pub fn targets(&self) -> Vec<PlaceId> {
        match self {
            Self::InOrder(steps) => steps.iter().map(|step| step.to).collect(),
            Self::Shares { shares, .. } => shares.iter().map(|share| share.to).collect(),
        }
    }
}

/// One place of a list tried in order.
#[derive(Debug, Clone)]
pub struct Step {
    /// The place.
    pub to: PlaceId,
    /// Where it was named.
    pub place: Place,
    /// The most it takes.
    pub at_most: Option<Given<VolumeRate>>,
}

/// One share of a flow.
#[derive(Debug, Clone)]
pub struct Share {
    /// The place.
    pub to: PlaceId,
    /// Where it was named.
    pub place: Place,
    /// Its share; none for `the rest`.
    pub share: Option<Given<Ratio>>,
    /// The most it takes.
    pub at_most: Option<Given<VolumeRate>>,
}

/// When something happens. All conditions that are given must hold.
#[derive(Debug, Clone, Default)]
pub struct When {
    /// Only in the season of this name.
    pub season: Option<(String, Place)>,
    /// Only in these days of the year.
    pub days_of_year: Option<DaySpan>,
    /// Only on these weekdays.
    pub days: Option<Weekdays>,
    /// Not when the rain of the day just ended was over this.
    pub not_when_rain_over: Option<Given<Length>>,
    /// Only from, to: both days belong.
    pub dates: Option<(NaiveDate, NaiveDate)>,
}

/// A source of water.
#[derive(Debug, Clone)]
pub struct Supply {
    /// The most it gives, round the clock.
    pub gives_at_most: Option<Given<VolumeRate>>,
    /// When it gives.
    pub when: Option<When>,
    /// Solids and dissolved constituents in its water.
    pub brings: Concentrations,
}

/// A surface on which rain falls.
#[derive(Debug, Clone)]
pub struct Catchment {
    /// Parts; one for a plain catchment.
    pub parts: Vec<Part>,
    /// Solids in its runoff.
    pub solids: Concentrations,
    /// Where its runoff goes.
    pub goes_to: Outflow,
}

/// A part of a catchment.
#[derive(Debug, Clone)]
pub struct Part {
    /// Its name; the catchment's for a plain one.
    pub name: String,
    /// Its area.
    pub area: Given<Area>,
    /// How much of the rain runs off.
    pub runoff: RunoffRule,
    /// For a curve number: how wet the ground is before the rain.
    pub ground: GroundBefore,
}

/// How wet the ground of a curve number is before the rain.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum GroundBefore {
    /// As the printed number means it.
    #[default]
    Average,
    /// Dry at all times.
    Dry,
    /// Wet at all times.
    Wet,
    /// As the rain of the five days before says.
    ByRain,
}

/// How much of the rain runs off.
#[derive(Debug, Clone)]
pub enum RunoffRule {
    /// A share of the rain left after the first.
    Share {
        /// The share.
        runs_off: Given<Ratio>,
        /// Rain soaked up each day before any runs off.
        first_soaked_up: Option<Given<Length>>,
    },
    /// A curve number (30 to 100).
    CurveNumber(Given<Ratio>),
}

/// A place where water is used.
#[derive(Debug, Clone)]
pub struct Use {
    /// What it is.
    pub kind: UseKind,
    /// How much it asks for in a day.
    pub amount: UseAmount,
    /// When it runs.
    pub when: When,
    /// The share that comes back.
    pub returns: Given<Ratio>,
    /// Solids picked up, in the water that comes back.
    pub picks_up: Concentrations,
    /// Dissolved feed added to what it uses.
    pub feed_added: Concentrations,
    /// Sources in order: the second gives what the first can't.
    pub takes_from: Vec<PlaceId>,
    /// Served after lower turns; equal turns share alike.
    pub turn: u32,
    /// How long the water flows each day; sets the rate through filters.
    pub runs: Option<Given<Time>>,
    /// Where what comes back goes; none when nothing comes back.
    pub goes_to: Option<Outflow>,
}

/// What a use is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UseKind {
    /// Overhead irrigation.
    Overhead,
    /// A flood floor.
    FloodFloor,
    /// Benches or trays.
    Bench,
    /// Drip.
    Drip,
    /// Mist over cuttings: a propagation house.
    Mist,
    /// Washing down.
    Washdown,
}

impl UseKind {
    /// The words of the file.
    pub fn words(self) -> &'static str {
        match self {
            Self::Overhead => "overhead",
            Self::FloodFloor => "flood floor",
            Self::Bench => "bench",
            Self::Drip => "drip",
            Self::Mist => "mist",
            Self::Washdown => "washdown",
        }
    }
}

/// How much a use asks for in a day.
#[derive(Debug, Clone)]
pub enum UseAmount {
    /// A volume a day.
    PerDay(Given<VolumeRate>),
    /// A depth a day on an area.
    DepthPerDay {
        /// The area.
        area: Given<Area>,
        /// The depth a day.
        depth: Given<Velocity>,
    },
    /// Floods: depth × area × times a day. With zones, each zone is an equal part of the area and is flooded in turn.
    Floods {
        /// The whole area.
        area: Given<Area>,
        /// Depth of one flood.
        depth: Given<Length>,
        /// Floods a day, of each zone.
        floods_a_day: Given<Ratio>,
        /// Zones.
        zones: u32,
    },
}

/// Moves water from one place to another and keeps none.
#[derive(Debug, Clone)]
pub struct Transfer {
    /// How much it asks for in a day.
    pub amount: UseAmount,
    /// When it runs.
    pub when: When,
    /// Sources in order.
    pub takes_from: Vec<PlaceId>,
    /// Served after lower turns.
    pub turn: u32,
    /// How long the water flows each day.
    pub runs: Option<Given<Time>>,
    /// Where it goes.
    pub goes_to: Outflow,
}

/// Where water or solids leave the facility for good.
#[derive(Debug, Clone)]
pub struct DischargePoint {
    /// What it is.
    pub kind: DischargeKind,
    /// The water it discharges into.
    pub into: Option<String>,
    /// How often somebody looks at it.
    pub looked_at: Option<HowOften>,
    /// The most a sewer takes (a rate, for findings).
    pub takes_at_most: Option<Given<VolumeRate>>,
    /// Area of a field.
    pub area: Option<Given<Area>>,
    /// A volume one load or bin holds, where it was typed.
    pub holds: Option<Given<Volume>>,
    /// A weir over which heads are read.
    pub weir: Option<Weir>,
}

/// A weir, and which equation turns a head over its crest into a flow.
#[derive(Debug, Clone)]
pub enum Weir {
    /// V-notch of 90 degrees.
    VNotch90,
    /// V-notch of 60 degrees.
    VNotch60,
    /// V-notch of 120 degrees.
    VNotch120,
    /// Rectangular and sharp-crested, with 0, 1 or 2 end contractions (Francis).
    Rectangular {
        /// Length of the crest.
        width: Given<Length>,
        /// Ends that do not reach the channel's walls.
        end_contractions: u8,
    },
    /// Broad-crested.
    BroadCrested {
        /// Length of the crest.
        width: Given<Length>,
        /// Share of the flow at critical depth that really passes; none where it was not typed.
        coefficient: Option<Given<Ratio>>,
    },
}

/// What a discharge point is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DischargeKind {
    /// A stream, ditch or lake.
    SurfaceWater,
    /// A sewer.
    Sewer,
    /// Land.
    Land,
    /// Hauled away: bin, tanker, landfill.
    HauledAway,
}

impl DischargeKind {
    /// The words of the file.
    pub fn words(self) -> &'static str {
        match self {
            Self::SurfaceWater => "surface water",
            Self::Sewer => "sewer",
            Self::Land => "land",
            Self::HauledAway => "hauled away",
        }
    }
}

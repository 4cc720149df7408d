//! The nine kinds of filter.

use chrono::NaiveTime;
use uom::si::f64::{Area, ArealMassDensity, Length, Mass, MassRate, Power, Ratio, Time, Velocity, Volume, VolumeRate};

use crate::facility::model::{Outflow, PlaceId};
use crate::files::Given;
use crate::quantity::ByMonth;

/// A filter. On a pull line it has `takes_from`; on a push line `goes_to`.
#[derive(Debug, Clone)]
pub struct Filter {
    /// Which of the nine kinds, with what only that kind has.
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

/// Which kind a filter is.
#[derive(Debug, Clone)]
pub enum FilterKind {
    /// Gravity screen, hosed down by hand.
    GravityScreen {
        /// Hosing down.
        hosed_down: Option<HoseDown>,
    },
    /// Vibrating screen with one or more decks.
    VibratingScreen {
        /// Decks in order; empty when `opening` and `stops` describe one.
        decks: Vec<Deck>,
        /// A spray that rejoins the filtered water.
        spray: Option<Spray>,
    },
    /// Pressure screen.
    PressureScreen {
        /// Bodies in line.
        in_line: u32,
        /// Whether it cleans itself.
        self_cleaning: bool,
    },
    /// Moving media: a roll of cloth.
    MovingMedia {
        /// The roll.
        roll: Roll,
        /// Where drip goes.
        drip_to: Option<Outflow>,
    },
    /// Microscreen drum.
    MicroscreenDrum {
        /// Mesh area.
        mesh_area: Option<Given<Area>>,
        /// The rinse.
        rinse: DrumRinse,
    },
    /// Bag filter.
    Bag {
        /// Housings.
        housings: u32,
        /// Housings that work at once.
        working_at_once: u32,
        /// Dry weight of one bag.
        bag_dry_weight: Option<Given<Mass>>,
    },
    /// Shallow media bed.
    ShallowMediaBed {
        /// Vessels.
        vessels: u32,
        /// Diameter of one.
        diameter: Given<Length>,
        /// Layers, top first.
        media: Vec<MediaLayer>,
    },
    /// Deep media bed.
    DeepMediaBed {
        /// Vessels.
        vessels: u32,
        /// Diameter of one.
        diameter: Given<Length>,
        /// Layers, top first.
        media: Vec<MediaLayer>,
        /// Air scour before a wash.
        air_scour: Option<Given<Time>>,
    },
    /// Cartridge filter.
    Cartridge {
        /// Elements changed together.
        elements: u32,
    },
}

impl FilterKind {
    /// Vessels, the diameter of one and the layers of a media bed, shallow or deep; none for the other kinds.
    pub fn media_bed(&self) -> Option<(u32, &Given<Length>, &[MediaLayer])> {
        match self {
            Self::ShallowMediaBed { vessels, diameter, media }
            | Self::DeepMediaBed { vessels, diameter, media, .. } => Some((*vessels, diameter, media)),
            _ => None,
        }
    }

    /// The words of the file, one per kind.
    pub const WORDS: [&'static str; 9] = [
        "gravity screen",
        "vibrating screen",
        "pressure screen",
        "moving media",
        "microscreen drum",
        "bag",
        "shallow media bed",
        "deep media bed",
        "cartridge",
    ];

    /// The words of the file for this kind.
    pub fn words(&self) -> &'static str {
        match self {
            Self::GravityScreen { .. } => "gravity screen",
            Self::VibratingScreen { .. } => "vibrating screen",
            Self::PressureScreen { .. } => "pressure screen",
            Self::MovingMedia { .. } => "moving media",
            Self::MicroscreenDrum { .. } => "microscreen drum",
            Self::Bag { .. } => "bag",
            Self::ShallowMediaBed { .. } => "shallow media bed",
            Self::DeepMediaBed { .. } => "deep media bed",
            Self::Cartridge { .. } => "cartridge",
        }
    }
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

/// A deck of a vibrating screen.
#[derive(Debug, Clone)]
pub struct Deck {
    /// Opening.
    pub opening: Given<Length>,
    /// What it stops.
    pub stops: Capture,
}

/// A layer of a media bed.
#[derive(Debug, Clone)]
pub struct MediaLayer {
    /// `silica sand`, `crushed glass`, `anthracite` or the user's word.
    pub kind: String,
    /// Depth.
    pub depth: Given<Length>,
    /// Grain size.
    pub grains: Option<Given<Length>>,
    /// Share of voids.
    pub voids: Option<Given<Ratio>>,
    /// Density of the grains, where typed.
    pub density: Option<Given<uom::si::f64::MassDensity>>,
    /// Against sand: load held, wash flow, share stopped (multipliers, 1 when not typed).
    pub load_held_times: Option<Given<Ratio>>,
    /// Multiplier of the wash flow against sand.
    pub wash_flow_times: Option<Given<Ratio>>,
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

/// Hosing a gravity screen down.
#[derive(Debug, Clone)]
pub struct HoseDown {
    /// Flow of the hose.
    pub flow: Given<VolumeRate>,
    /// How long each time.
    pub lasts: Given<Time>,
    /// Times a day.
    pub times_a_day: Given<Ratio>,
    /// Water from.
    pub with: PlaceId,
    /// Water goes to.
    pub to: Outflow,
}

/// A spray on a vibrating screen; it rejoins the filtered water.
#[derive(Debug, Clone)]
pub struct Spray {
    /// Flow while on.
    pub flow: Given<VolumeRate>,
    /// Part of the running time.
    pub part_of_the_time: Given<Ratio>,
    /// Water from.
    pub with: PlaceId,
}

/// Rinse of a drum.
#[derive(Debug, Clone)]
pub struct DrumRinse {
    /// Flow of all nozzles.
    pub flow: Given<VolumeRate>,
    /// Always on while it runs, or by level: then the solids rate at which it is always on.
    pub cake_at_full_time: Option<Given<MassRate>>,
    /// Or a fixed part of the running time.
    pub part_of_the_time: Option<Given<Ratio>>,
    /// Which water.
    pub with: WashWater,
    /// Where rinse water goes.
    pub to: Outflow,
}

/// A roll of moving media.
#[derive(Debug, Clone)]
pub struct Roll {
    /// Length of a new roll.
    pub length: Given<Length>,
    /// Width.
    pub width: Given<Length>,
    /// Dry weight of the cloth.
    pub dry_weight: Given<ArealMassDensity>,
    /// Solids it holds when it advances.
    pub holds: Given<ArealMassDensity>,
    /// Least advance in a day of running.
    pub at_least: Option<Given<Velocity>>,
    /// Wet weight of spent media over dry.
    pub wet_weight_times: Option<Given<Ratio>>,
    /// Whether water passes unfiltered when it runs out (else service stops and a new roll is put on at once).
    pub passes_unfiltered: bool,
}

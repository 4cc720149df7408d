//! What a kind of filter answers to the other rooms: ways of behaving, each of which several kinds may share. A new way is
//! a variant here; the compiler then stops at every place that has to know of it.

use std::fmt::Debug;

use uom::si::f64::{Area, ArealMassDensity, Length, Mass, MassDensity, MassRate, Ratio, Time, Velocity, VolumeRate};

use crate::facility::model::{Capture, Outflow, PlaceId, WashWater};
use crate::files::Given;

/// What holds for every filter of a kind, known before one is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Declared {
    /// The words of the file.
    pub words: &'static str,
    /// Whether it has an opening.
    pub opening: Opening,
    /// A key of its own that may stand in place of `opening` and `stops`.
    pub in_place_of_stops: Option<&'static str>,
    /// What is replaced when it is spent; its cost is that of what is used up.
    pub uses_up: Option<Pieces>,
    /// Whether a pump has to press water through it.
    pub needs_pump: bool,
}

/// Whether a kind has an opening.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Opening {
    /// It may be typed.
    Typed,
    /// It has none.
    None {
        /// What is told of one that is typed.
        told: &'static str,
        /// What to write in its place.
        hint: &'static str,
    },
}

/// Pieces that a kind uses up, in the words of bills, logs and sheets.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pieces {
    /// The word for one.
    pub one: &'static str,
    /// The word for several.
    pub many: &'static str,
    /// How they are counted.
    pub counted: Counted,
}

/// How pieces that are used up are counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Counted {
    /// Whole, at each change.
    AtChanges,
    /// By the length that was wound on.
    ByLength,
}

/// How a kind lets go of what it stops.
#[derive(Debug, Clone, Copy)]
pub enum Sheds<'a> {
    /// As screenings with their liquor, while water flows.
    Screenings,
    /// Into the water that rinses it, while water flows.
    Rinse(&'a DrumRinse),
    /// Into a fixed part of its feed that flows off while it runs.
    Reject(&'a Reject),
    /// On cloth that is wound on and carries it away wet.
    Roll {
        /// The cloth.
        roll: &'a Roll,
        /// Where its drip goes; with the spent cloth when not typed.
        drip_to: Option<&'a Outflow>,
    },
    /// Holds it until a whole wash, as the filter's `washes` say.
    Wash {
        /// Air scour before a wash: how long of one body, and how many bodies are scoured one after another.
        scour: Option<(&'a Given<Time>, u32)>,
    },
    /// Holds it until pieces are changed, as the filter's `changed` says.
    Change {
        /// Pieces changed together.
        pieces: u32,
        /// Dry weight of one.
        dry_weight: Option<&'a Given<Mass>>,
    },
}

/// What the flow spreads over.
#[derive(Debug, Clone, Copy)]
pub enum Through<'a> {
    /// Nothing is said of it.
    NotSaid,
    /// Mesh.
    Mesh(&'a Given<Area>),
    /// Pieces side by side.
    Pieces {
        /// The word for one.
        each: &'static str,
        /// What is added after the filter's name: ` at work`.
        which: &'static str,
        /// How many.
        number: u32,
    },
    /// Vessels with media.
    Bed(MediaBed<'a>),
}

/// Water that a kind takes beside what it filters and what washes it.
#[derive(Debug, Clone, Copy)]
pub enum Sprayed<'a> {
    /// None.
    Not,
    /// Hosed down by hand; the water carries on to where it is typed to go.
    ByHand(&'a HoseDown),
    /// Sprayed while water flows; the water rejoins what was filtered.
    InService(&'a Spray),
}

/// How a kind behaves. The other rooms ask this and never which kind it is.
pub trait Kind: Debug {
    /// How it lets go of what it stops.
    fn sheds(&self) -> Sheds<'_>;

    /// What the flow spreads over.
    fn through(&self) -> Through<'_>;

    /// Water that it takes beside what it filters and what washes it.
    fn sprayed(&self) -> Sprayed<'_> {
        Sprayed::Not
    }

    /// Decks in series, first to last; none where `opening` and `stops` say what it stops.
    fn decks(&self) -> &[Deck] {
        &[]
    }

    /// Makes what it uses up last so many times as long, but for the filter's `changed`.
    fn last_longer(&mut self, _times: f64) {}
}

impl dyn Kind {
    /// The vessels and layers of a media bed; none for other kinds.
    pub fn media_bed(&self) -> Option<MediaBed<'_>> {
        match self.through() {
            Through::Bed(bed) => Some(bed),
            Through::NotSaid | Through::Mesh(_) | Through::Pieces { .. } => None,
        }
    }

    /// The rinse that carries away what is stopped, for kinds that are rinsed.
    pub fn rinse(&self) -> Option<&DrumRinse> {
        match self.sheds() {
            Sheds::Rinse(rinse) => Some(rinse),
            Sheds::Screenings | Sheds::Reject(_) | Sheds::Roll { .. } | Sheds::Wash { .. } | Sheds::Change { .. } => {
                None
            }
        }
    }

    /// What is turned back, for kinds that part their feed.
    pub fn reject(&self) -> Option<&Reject> {
        match self.sheds() {
            Sheds::Reject(reject) => Some(reject),
            Sheds::Screenings | Sheds::Rinse(_) | Sheds::Roll { .. } | Sheds::Wash { .. } | Sheds::Change { .. } => {
                None
            }
        }
    }

    /// Where the flow goes that carries off what is stopped while water flows, for kinds that have one.
    pub fn flows_off_to(&self) -> Option<&Outflow> {
        match self.sheds() {
            Sheds::Rinse(rinse) => Some(&rinse.to),
            Sheds::Reject(reject) => Some(&reject.to),
            Sheds::Screenings | Sheds::Roll { .. } | Sheds::Wash { .. } | Sheds::Change { .. } => None,
        }
    }
}

/// Vessels of a media bed.
#[derive(Debug, Clone, Copy)]
pub struct MediaBed<'a> {
    /// Vessels.
    pub vessels: u32,
    /// Diameter of one.
    pub diameter: &'a Given<Length>,
    /// Layers, top first.
    pub media: &'a [MediaLayer],
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
    pub density: Option<Given<MassDensity>>,
    /// Against sand: load held, wash flow, share stopped (multipliers, 1 when not typed).
    pub load_held_times: Option<Given<Ratio>>,
    /// Multiplier of the wash flow against sand.
    pub wash_flow_times: Option<Given<Ratio>>,
}

/// A deck of a screen.
#[derive(Debug, Clone)]
pub struct Deck {
    /// Opening.
    pub opening: Given<Length>,
    /// What it stops.
    pub stops: Capture,
}

/// Hosing a screen down.
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

/// A spray on a screen; it rejoins the filtered water.
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

/// What a membrane turns back.
#[derive(Debug, Clone)]
pub struct Reject {
    /// How much of its feed it is.
    pub of_the_feed: OfTheFeed,
    /// Where it goes.
    pub to: Outflow,
    /// Share of what is dissolved that is kept out of the permeate; not known where not typed.
    pub dissolved_held_back: Option<Given<Ratio>>,
}

impl Reject {
    /// The least and most share of the feed that it may be; none where it is not known.
    pub fn share(&self) -> Option<(f64, f64)> {
        match &self.of_the_feed {
            OfTheFeed::Passes(share) => share.ends().map(|(least, most)| (1.0 - most.value, 1.0 - least.value)),
            OfTheFeed::Rejected(share) => share.ends().map(|(least, most)| (least.value, most.value)),
        }
    }
}

/// How a membrane parts its feed, as typed.
#[derive(Debug, Clone)]
pub enum OfTheFeed {
    /// The share that passes.
    Passes(Given<Ratio>),
    /// The share that is rejected.
    Rejected(Given<Ratio>),
}

/// A roll of cloth.
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

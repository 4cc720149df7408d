//! The words of a ledger entry: between which places, what for, on what basis.

use std::fmt;

use crate::facility::model::PlaceId;

/// One end of an entry: a place of the facility, its sludge, or what lies outside.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Node {
    /// A place of the facility (supplies and discharge points lie outside, but have names of their own).
    Place(PlaceId),
    /// The sludge on the floor of a pond.
    Sludge(PlaceId),
    /// Rain.
    Rain,
    /// Evaporation from open water.
    Evaporation,
    /// Seepage through beds.
    Seepage,
    /// Taken up by crops, dried off beds.
    Crop,
    /// Soaked into or dried off a catchment.
    Retained,
    /// Feed added to what a use takes.
    Feed,
    /// What is not conserved and was lost on the way.
    Reacted,
    /// Where solids come from that runoff and return water pick up.
    PickedUp,
    /// Where the sludge of a clean-out goes.
    CleanedOut,
    /// What a meter or a level shows against the balance.
    Unaccounted,
}

/// What an entry is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Purpose {
    /// Water drawn by a use, a filter or a transfer, or delivered to it.
    Water,
    /// A float valve's top-up.
    TopUp,
    /// Taken up by a crop.
    Uptake,
    /// What comes back from a use.
    Return,
    /// Runoff of a catchment.
    Runoff,
    /// Rain on a surface.
    Rain,
    /// Evaporation from open water.
    Evaporation,
    /// Seepage through a bed.
    Seepage,
    /// Water over a spill level or an overflow.
    Spill,
    /// Water pumped out on level.
    PumpedOut,
    /// Wash water of a filter, with its rinse to waste and what is drained at a wash.
    WashWater,
    /// Rinse water of a drum.
    RinseWater,
    /// Reject of a membrane.
    Reject,
    /// Water that washes a filter, drawn from elsewhere.
    WashSupply,
    /// Hosing down or a spray.
    Spray,
    /// Screenings with their liquor.
    Screenings,
    /// Liquor that drains back from screenings.
    Liquor,
    /// Drained at a change of bags or cartridges.
    DrainDown,
    /// Spent media with what they hold.
    SpentMedia,
    /// Flow over a filter's capacity, or past an empty roll.
    Bypass,
    /// Drip of moving media.
    Drip,
    /// Hauled by a tanker.
    Hauled,
    /// Solids that settled, with their pore water.
    Settled,
    /// Sludge cleaned out.
    CleanOut,
    /// Feed added.
    Feed,
    /// Solids picked up by runoff or by water that comes back.
    PickedUp,
    /// Not conserved.
    Reacted,
    /// Soaked into or dried off a catchment.
    Retained,
    /// What a meter or a level shows against the balance.
    Unaccounted,
}

impl Purpose {
    /// The words of the ledger's `purpose` column.
    pub fn words(self) -> &'static str {
        match self {
            Self::Water => "water",
            Self::TopUp => "top-up",
            Self::Uptake => "uptake",
            Self::Return => "return",
            Self::Runoff => "runoff",
            Self::Rain => "rain",
            Self::Evaporation => "evaporation",
            Self::Seepage => "seepage",
            Self::Spill => "spill",
            Self::PumpedOut => "pumped out",
            Self::WashWater => "wash water",
            Self::RinseWater => "rinse water",
            Self::Reject => "reject",
            Self::WashSupply => "wash supply",
            Self::Spray => "spray",
            Self::Screenings => "screenings",
            Self::Liquor => "liquor",
            Self::DrainDown => "drain-down",
            Self::SpentMedia => "spent media",
            Self::Bypass => "bypass",
            Self::Drip => "drip",
            Self::Hauled => "hauled",
            Self::Settled => "settled",
            Self::CleanOut => "clean-out",
            Self::Feed => "feed",
            Self::PickedUp => "picked up",
            Self::Reacted => "reacted",
            Self::Retained => "retained",
            Self::Unaccounted => "unaccounted",
        }
    }
}

/// Where a figure comes from: bits, combined by OR when a figure is derived from others.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Hash)]
pub struct Basis(pub u8);

impl Basis {
    /// A meter's reading.
    pub const METERED: Self = Self(1);
    /// A laboratory sample.
    pub const SAMPLED: Self = Self(2);
    /// Computed by a method.
    pub const COMPUTED: Self = Self(4);
    /// Assumed: typed without a record, or a split of a reading over days.
    pub const ASSUMED: Self = Self(8);
    /// Something it depends on is `not known`: the figure is not shown.
    pub const UNKNOWN: Self = Self(16);
    /// A day's even share of a total that was metered over several days. The share is assumed; the total is not.
    pub const SHARED_OUT: Self = Self(32);

    /// Both together.
    #[must_use]
    pub fn or(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// Whether all bits of `other` are set.
    pub fn has(self, other: Self) -> bool {
        self.0 & other.0 == other.0
    }

    /// Whether the figure is measured: metered or sampled, and nothing else.
    pub fn is_measured(self) -> bool {
        let weak = Self::COMPUTED.or(Self::ASSUMED).or(Self::UNKNOWN).or(Self::SHARED_OUT);
        self.0 != 0 && self.0 & weak.0 == 0
    }

    /// The basis of a total over so many days: over a month or more, days that share out metered totals add up to those
    /// totals again (but for the readings that straddle its ends), so that the sharing out no longer counts.
    #[must_use]
    pub fn of_total(self, days: usize) -> Self {
        if days >= 28 { Self(self.0 & !Self::SHARED_OUT.0) } else { self }
    }
}

impl fmt::Display for Basis {
    /// The weakest word: `unknown`, `assumed`, `computed`, `sampled`, `metered`, or `none` where there was no entry.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(if self.has(Self::UNKNOWN) {
            "unknown"
        } else if self.has(Self::ASSUMED) || self.has(Self::SHARED_OUT) {
            "assumed"
        } else if self.has(Self::COMPUTED) {
            "computed"
        } else if self.has(Self::SAMPLED) {
            "sampled"
        } else if self.has(Self::METERED) {
            "metered"
        } else {
            "none"
        })
    }
}

/// A way between two nodes for one purpose: a column of the ledger.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Way {
    /// Where it starts.
    pub from: Node,
    /// Where it ends.
    pub to: Node,
    /// What for.
    pub purpose: Purpose,
}

/// A parcel of solids: a kind and a size class.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Parcel {
    /// Index into `Facility::solids`.
    pub kind: usize,
    /// Size class, 0 the finest.
    pub class: usize,
}

//! The checked model of a facility: places, the ways between them, meters, seasons, solids.
//!
//! All names are resolved, every number carries its unit as a `uom` quantity, and each value knows the line it was
//! typed on. Nothing here computes.

mod filter;
mod place;
mod site;
mod store;

pub use filter::{Cadence, Capture, CaptureRow, Change, Filter, Screenings, Trigger, Wash, WashWater};
pub use place::{
    Catchment, DischargeKind, DischargePoint, GroundBefore, Outflow, Part, PlaceId, PlaceKind, RunoffRule, Share,
    SitePlace, Step, Supply, Transfer, Use, UseAmount, UseKind, Weir, When,
};
pub use site::{
    Concentrations, Dissolved, Evaporation, Facility, HeadStands, Meter, MeterExchange, MeterWeir, OpenWaterLoss,
    Paper, RainFile, Rating, ReadingBelongs, Season, SolidsKind, StationEquation, StepsPerDay, UnitSystem,
    WaterTemperature, Weather,
};
pub use store::{FillRule, LevelRow, Pond, PondShape, PumpedOut, SludgeState, StartState, Tank, TankerRule};

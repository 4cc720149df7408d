//! The least pond that meets its duties.
//!
//! [`read`] takes the duties file to [`Duties`]; [`Needs`] is what the site sends to the pond; [`Demands`] holds one
//! [`Basin`] against the duties; [`least`] searches a [`Grid`] of shapes. What turns on years of weather (spills,
//! shortage) is simulated with the day-step engine, each candidate in place of the pond in the same facility.
//!
//! Lengths in m, volumes in m³, flows in m³/s, speeds in m/s: plain numbers with the unit in their names, as in the day
//! step.

mod basin;
mod demands;
mod duties;
mod grid;
mod layers;
mod needs;
mod read;
mod search;
mod spills;

pub use basin::Basin;
pub use demands::{Check, Demands, Duty, Measure};
pub use duties::{
    CleanOutDuty, Duties, Figure, Hold, Objective, Plot, SettleDuty, ShortageDuty, SpillDuty,
    SpillsJudgedOn, Steps, StormDepth, StormDuty, StormFrom, UnitPrices,
};
pub use grid::Grid;
pub use layers::{Layer, LayerKind, Stack};
pub use needs::{Needs, SludgeInflow};
pub use read::{DUTIES_FILE, read};
pub use search::{Found, Neighbour, least, least_by_depth, neighbours};
pub use spills::{Simulated, SpillRecord};

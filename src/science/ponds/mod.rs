//! Shape of ponds and tanks, settling in a basin by closed form, trap efficiency, hand rules of size, sludge.
//!
//! The day's routing is the balance room's; what stands here is what it compiles from, and what the report prints
//! beside it.

mod hinges;
pub mod records;
mod removal;
mod shape;
mod sizing_rules;
mod sludge;
mod trap_efficiency;

pub use hinges::{DAY_STEP_SLICES, HingeTable};
pub use removal::{Basin, exponential, hazen, overflow_rate, quiescent, tanks_in_series};
pub use shape::{LevelTable, Prismoid, Shape, ShapeError};
pub use sizing_rules::{
    BASIN_RULE_FT3_PER_ACRE, DESIGN_TRAP_EFFICIENCY, SEDIMENT_RULE_FT3_PER_ACRE, STORAGE_MULTIPLIER, ScourTerms,
    area_by_rule, horizontal_velocity, scour_velocity, sediment_volume, volume_by_rule,
};
pub use sludge::{Sludge, detention_time, time_to_clean_out};
pub use trap_efficiency::{brown, brune_dendy, brune_gill, heinemann};

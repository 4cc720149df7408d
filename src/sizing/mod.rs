//! The least pond that meets its duties.
//!
//! [`read`] takes the duties file to [`Duties`]; [`Needs`] is what the site sends to the pond; [`Demands`] holds one
//! [`Basin`] against the duties; [`least`] searches a [`Grid`] of shapes. What turns on years of weather (spills,
//! shortage) is simulated with the day-step engine, each candidate in place of the pond in the same facility.
//!
//! Lengths in m, volumes in m³, flows in m³/s, speeds in m/s: plain numbers with the unit in their names, as in the day
//! step.

mod basin;
mod circulating;
mod columns;
mod cost;
mod demands;
mod drainage;
mod duties;
mod earth;
mod forebay;
mod grid;
mod hand_rules;
mod held;
mod inflow;
mod layers;
mod needs;
mod peak;
mod rates;
mod read;
mod search;
mod site;
mod spills;
mod spillway;
mod stays;
mod study;

pub use basin::Basin;
pub use columns::{Neighbour, least_by_depth, neighbours};
pub use cost::{CostPart, Quantity};
pub use demands::{Advice, Check, Comes, Demands, Duty, MOST_SPEED_M_S, Measure};
pub use drainage::{Drained, drained};
pub use duties::{
    CleanOutDuty, CurvePeak, DetentionDuty, Drawdown, Duties, Figure, Hold, Objective, OverflowDuty, Plot, PoolRange,
    SettleDuty, ShortageDuty, SpillDuty, SpillsJudgedOn, Steps, StormDepth, StormDuty, StormFrom, Terms, UnitPrices,
};
pub use earth::{Datum, Earth, Ground, Lie};
pub use forebay::{Berm, FULL_AT, Forebay, ForebayDuty, MOST_SHARE};
pub use grid::Grid;
pub use hand_rules::{Asks, Counted, HandRule, hand_rules};
pub use held::{Came, HoldRun};
pub use inflow::{DRY_DAY_MM, Greatest, Inflow};
pub use layers::{Layer, LayerKind, Stack};
pub use needs::{Needs, SludgeBin, SludgeInflow, share_settled};
pub use peak::{Peak, PeakPart};
pub use read::{DUTIES_FILE, read, schema};
pub use search::{Aim, BATCH, Corners, Fixed, Found, Passed, Passes, Weather, least};
pub use site::{
    DRAWDOWN_STARTS_OVER_M, SludgeStore, Version, records, shape_of, typed_fill_level_m, uses_of, with_basin,
};
pub use spills::{ANEW_DAYS, CONFIDENCE, LEAST_SPILL_M3, ONE_SPELL_DAYS, Simulated, SpillRecord, SpillRun};
pub use spillway::{Over, SpillwayDuty, USUAL_WEIR_US, us_for_metric};
pub use stays::{PumpStops, StaysUnder};
pub use study::{
    Amount, Answer, AsTyped, Basics, Case, Change, Held, Impossible, InTime, LESS_STORM, Listed, Outcome, Part, Site,
    Smaller, Spill, Standing, Study, Tried, WARM_UP_DAYS, Why, study, study_this,
};

#[cfg(test)]
#[path = "tests/laws.rs"]
mod laws;
#[cfg(test)]
#[path = "tests/levels.rs"]
mod levels;

//! A facility as it stands against proposals: the same weather, the same draws, the same service; ranges and money.
//!
//! [`Alternative`] is an option with its proposal applied; [`study`] computes all of them in the single run and in paired
//! members; [`Study`] gives totals, costs, differences and verdicts; [`break_evens`], [`drivers`], [`against_log`] and
//! [`fit`] say how far the answer can be believed.

mod alternative;
mod answer;
mod at_log;
mod at_prices;
mod bill;
mod break_even;
mod brought;
mod doubts;
mod drivers;
mod figures;
mod fit;
mod idle;
mod keys;
mod log;
mod looked;
pub mod money;
mod names;
mod not_judged;
mod on_file;
mod outcomes;
pub mod paid;
mod predicted;
pub mod prices;
pub mod proposal;
pub mod pumps;
mod quantity;
pub mod read_back;
mod repeated;
mod runs;
pub mod search;
mod season;
mod service;
mod study;
mod test_solids;
mod tried;
mod trust;
mod unchanged;
mod verdict;
mod wash_doubt;
mod wash_limits;
mod washes;
mod worse;

pub use alternative::{AS_IT_STANDS, Alternative, without_driving_records};
pub use answer::{Answer, PAYS_ONLY};
pub use at_log::{AtLog, at_log};
pub use bill::{Category, Part, Priced, rate, unused};
pub use break_even::{BreakEven, WIDEST, break_evens};
pub use doubts::Doubt;
pub use drivers::{Driver, LEAST as LEAST_FOR_RANKS, drivers};
pub use figures::{Cell, Paired, Spread, difference, quantile, three};
pub use fit::{Fit, FitAsked, Fitted, fit};
pub use idle::{fewer_logged, idle_washes, logged_by_vessel};
pub use log::{Against, LogPlan, Measure, against_log};
pub use looked::{Looked, MeterOff, looked};
pub use names::{tell_other_money, tell_unknown_names};
pub use on_file::{OnFile, Recorded, ask_for_a_log};
pub use outcomes::NOTHING_FLOWS;
pub use paid::rate_of_purchases;
pub use predicted::{Past, Predicted};
pub use proposal::Proposal;
pub use quantity::{Hauled, Kind, Quantities, Quantity, years, years_of_days};
pub use repeated::{Repeated, Thing, repeated};
pub use runs::{Shared, single};
pub use season::{Least, Seasons};
pub use service::{Line, Served, What, passed_unfiltered};
pub use study::{AGREED, Asked, Computed, HARDLY, LEAST_DRAWS, OUTCOME_DRAWS, SEED, Study, Tick, compute, study};
pub use tried::{AsSampled, Sampled, Tried};
pub use verdict::{COMPARED, Verdict};
pub use wash_limits::NotJudged;
pub use worse::Worse;

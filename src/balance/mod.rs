//! Plan, day step, ledger, residual, trace.

mod basis;
mod candidates;
mod ensemble;
mod entry;
mod findings;
mod lanes;
mod ledger;
mod plan;
mod run;
mod step;
#[cfg(test)]
mod tests;
mod totals;

pub use candidates::{CandidateRun, Candidates, Seen};
pub use ensemble::{Ensemble, ensemble, measure};
pub use entry::{Basis, Node, Parcel, Purpose, Way};
pub use findings::{FacilityFinding, FindingKind};
pub use ledger::{
    BoundRider, DailySeries, Entry, FilterSeries, GoverningTrigger, Held, Ledger, Memo, MemoKind,
    Quantity, Residual, ResidualError, Selector, Shape, StoreSeries, Trace, TraceLine, Watch,
};
pub use plan::{Assumption, Draw};
pub use run::{Run, run};
pub use totals::{Account, Amount, PlaceTotals};

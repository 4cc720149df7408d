//! Plan, day step, ledger, residual, trace.

mod entry;
mod lanes;
mod ledger;
mod step;
mod totals;

pub use entry::{Basis, Node, Parcel, Purpose, Way};
pub use ledger::{
    BoundRider, DailySeries, Entry, FilterSeries, GoverningTrigger, Held, Ledger, Memo, MemoKind,
    Quantity, Residual, ResidualError, Selector, Shape, StoreSeries, Trace, TraceLine, Watch,
};
pub use totals::{Account, Amount, PlaceTotals};

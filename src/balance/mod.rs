//! Plan, day step, ledger, residual, trace.

mod entry;
mod ledger;

pub use entry::{Basis, Node, Parcel, Purpose, Way};
pub use ledger::{
    BoundRider, DailySeries, Entry, FilterSeries, GoverningTrigger, Held, Ledger, Memo, MemoKind,
    Quantity, Residual, ResidualError, Selector, Shape, StoreSeries, Trace, TraceLine, Watch,
};

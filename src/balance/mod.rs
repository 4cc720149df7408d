//! Plan, day step, ledger, residual, trace.

mod entry;

pub use entry::{Basis, Node, Parcel, Purpose, Way};

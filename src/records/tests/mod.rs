//! Tests of the reading of records, on a small invented facility.

mod asked;
pub(crate) mod fixture;
mod heads;
mod meters;
#[cfg(feature = "xlsx")]
mod month_sheets;
mod properties;
mod reconcile;
mod rows;
#[cfg(feature = "xlsx")]
mod sheet_cells;
#[cfg(feature = "xlsx")]
mod sheet_habits;
#[cfg(feature = "xlsx")]
mod sheets;
mod unlikely;

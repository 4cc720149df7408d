//! Tests of the balance as a whole.

mod ensembles;
mod micro;
pub(crate) mod site;

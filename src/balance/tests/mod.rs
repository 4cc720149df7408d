//! Tests of the balance as a whole.

mod ensembles;
mod micro;
mod properties;
pub(crate) mod site;
mod soundings;

//! Tests of the balance as a whole.

mod depends;
mod ensembles;
mod ground;
mod membrane;
mod micro;
mod properties;
pub(crate) mod site;
mod soundings;

//! Tests of the balance as a whole.

mod micro;
pub(crate) mod site;

//! The day step: a pure function from state, plan and forcing to the day's entries.

mod stage;
mod wash;

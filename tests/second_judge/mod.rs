//! A second judge, slow and plain, for tests only: every window spelled out day by day, every answer tried.
//!
//! It was written from the rules of judging alone, without sight of the judge it checks.

pub mod clock;
pub mod days;
pub mod dry_only;
pub mod duty;
pub mod exact;
pub mod generate;
pub mod given;
pub mod judge;
pub mod limits;
pub mod many;
mod micro_cases;
pub mod outcome;
#[path = "../second_engine/random.rs"]
pub mod random;
pub mod seen;
pub mod shrink;
pub mod singly;
pub mod storm;
pub mod water;
pub mod weighted;
pub mod wide;
pub mod windows;
pub mod write;
pub mod write_rain;

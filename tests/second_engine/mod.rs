//! A second engine, slow and plain, for tests only: maps by place, one function for each rule, no lanes, no plan.
//!
//! It was written from the rules alone, without sight of the engine it checks. Ranges are taken at their middle.
//! What physics it needs (water, settling, size classes, runoff, shapes of ponds) it has of its own, from published
//! sources named at each function; of the library it uses only what says what a facility is and what a ledger holds
//! (`tests/rooms.rs` holds it to that).
//!
//! Where the rules are silent it reads them as the list in `src/balance/mod.rs` says.

pub mod build;
pub mod compare;
pub mod filter_maker;
pub mod filter_turn;
pub mod filters;
pub mod generator;
pub mod given;
pub mod grains;
pub mod happenings;
pub mod load;
mod micro_cases;
pub mod pull;
pub mod random;
pub mod records;
pub mod runoff;
pub mod samples;
pub mod shape;
pub mod site;
pub mod solids;
pub mod stage;
mod stage_checks;
pub mod state;
pub mod step;
pub mod store_turn;
pub mod wash;
pub mod water;

use bywash::facility::model::Facility;
use bywash::records::Timeline;
use bywash::weather::DailyWeather;
use chrono::{Days, NaiveDate};

use load::DayOut;
use site::Site;
use state::State;
use step::Step;

/// Temperature of the water where none is known, °C.
pub const DEFAULT_WATER_C: f64 = 15.0;

/// Whether pore water takes dissolved constituents into the sludge. The rules do not say; as pore water is water of the
/// pond it would, but the engine leaves them in the pond.
pub const PORE_WATER_CARRIES_DISSOLVED: bool = false;

/// Runs a stretch of days.
pub fn run(
    facility: &Facility,
    weather: &DailyWeather,
    timeline: &Timeline,
    first: NaiveDate,
    days: usize,
) -> Vec<DayOut> {
    let site = Site::new(facility, weather, timeline, first);
    let mut state = State::at_start(&site);
    (0..days)
        .map(|day| {
            let date = first.checked_add_days(Days::new(day as u64)).expect("a date");
            let mut out = DayOut::default();
            for step in 0..site.steps {
                Step::new(&site, &mut state, &mut out, date, step).run();
            }
            out
        })
        .collect()
}

impl random::Rng {
    /// Puts a list in another order.
    pub fn shuffle<T>(&mut self, list: &mut [T]) {
        for i in (1..list.len()).rev() {
            let j = self.whole(0, i);
            list.swap(i, j);
        }
    }
}

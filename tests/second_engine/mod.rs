//! A second engine, slow and plain, for tests only: maps by place, one function for each rule, no lanes, no plan.
//!
//! It was written from the rules alone, without sight of the engine it checks. Ranges are taken at their middle.
//!
//! # Read alike where the rules are silent
//! A prismoid's area by volume has 16 slices. Rinse to waste and what is drained at a wash are the filter's own water,
//! also where clean water washes it. Hoses and sprays ask with the clean wash water, before anything is drawn, and
//! every day whether water flows or not. What a float valve goes by takes its loss at the area after draws, in one
//! pass. Filters run as long as the longest of those that may use them; wash water says nothing of hours. Pore water
//! leaves dissolved constituents behind. Initial sludge holds the shape up to its depth. A metered flow where the
//! balance has none takes the concentration it would have had.
//!
//! # Not settled: what the engines still part on
//! * A meter's words for an overflow (`overflow`) and a drain-down (`drained`): the engine does not know them and
//!   leaves such a meter aside. This one takes it.
//! * Clean water granted for a wash that is then not made, because the line ran short: the engine draws it and sends
//!   it on as wash water of no event; only grants that are used are drawn.
//! * Water left over on a short line that washes less than it asked for: the engine sends it on as wash water; here
//!   it is not drawn.
//! * A metered draw from a second source: the engine draws the whole demand from the first source as well; here the
//!   first gives what the meter did not.
//! * Sprays are part of the running time; both take them round the clock, this one only to be compared.
//! * Metered wash water without a log: the engine takes the meter as the volume of washing; here it is a difference.

pub mod build;
pub mod compare;
pub mod filter_maker;
pub mod filter_turn;
pub mod filters;
pub mod generator;
pub mod given;
pub mod happenings;
pub mod load;
mod micro_cases;
pub mod physics;
pub mod pull;
pub mod random;
pub mod records;
pub mod shape;
pub mod site;
pub mod solids;
pub mod stage;
mod stage_checks;
pub mod state;
pub mod step;
pub mod store_turn;
pub mod wash;

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
    let site = Site::new(facility, weather, timeline);
    let mut state = State::at_start(&site);
    (0..days)
        .map(|day| {
            let date = first
                .checked_add_days(Days::new(day as u64))
                .expect("a date");
            let mut out = DayOut::default();
            for step in 0..site.steps {
                Step::new(&site, &mut state, &mut out, date, step).run();
            }
            out
        })
        .collect()
}

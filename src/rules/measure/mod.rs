//! What is known of a limit's values: what meters counted on each way, what looks saw, what slips say.

mod clock;
pub(crate) mod conditions;
pub(crate) mod convert;
mod counts;
mod flows;
mod hours;
mod loads;
mod log;
pub(crate) mod points;
mod rain;
mod rates;
pub(crate) mod readings;
mod samples;
pub(crate) mod storm;
pub(crate) mod typed_rate;
pub(crate) mod weirs;

pub(crate) use clock::{
    DAY, Moment, Stretch, day_at, day_number, day_of_number, days_touched, is_inside, meets, start_of, stretches_of,
    without,
};
pub(crate) use counts::{Amounts, Piece, Sum};
pub(crate) use flows::{DUST_M3, Flow, Flows, channels_text, is_off_a_weir, moment_in, span_evidence};
pub(crate) use hours::hours;
pub(crate) use loads::{LoadDay, load_days};
pub(crate) use log::wash_log;
pub(crate) use rain::{FAR, Rain, possible_windows, rain_of, rain_on, sure_windows};
pub(crate) use rates::rates;
pub(crate) use samples::{Refused, Sampled, by_day, levels, samples};

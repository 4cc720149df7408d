//! Typed quantities with exact US units: parse `38 gpm`, print with honest digits, named bounds.
//!
//! A [`Kind`] says what a key expects: which `uom` quantity, which units. [`stated`] reads a text as a kind:
//!
//! ```
//! use bywash::quantity::{kind, stated, show_stated, Kind, System};
//! use uom::si::volume_rate::cubic_meter_per_second;
//!
//! let flow = stated::<kind::Flow>("30 to 38 gpm")?.known().expect("it was typed");
//! assert!(flow.low.get::<cubic_meter_per_second>() < flow.high.get::<cubic_meter_per_second>());
//! let refusal = stated::<kind::Area>("9.5").unwrap_err();
//! assert_eq!(refusal.hint.as_deref(), Some("units allowed here: ft2, acre, m2 or ha"));
//! # Ok::<(), bywash::quantity::Misread>(())
//! ```

mod amount;
pub mod calendar;
mod cell;
mod counted_as;
mod decimal;
pub mod kind;
mod misread;
mod near;
mod number;
mod parameter;
mod range;
mod show;
mod unit;
pub mod units;

pub use crate::quantity::calendar::day_start::DayStart;
pub use crate::quantity::calendar::days::{
    ByMonth, DayOfYear, DaySpan, HowOften, MOST_DAYS, Stretch, Weekdays, days_of, too_long,
};
pub use crate::quantity::calendar::order::{Order, TwoNumbers, order_in_heading, order_of, two_numbers};
pub use crate::quantity::calendar::spans::{Deadline, Span, deadline, how_often, span, times_a_day, yes_or_no};
pub(crate) use crate::quantity::calendar::stamp::month_named;
pub use crate::quantity::calendar::stamp::{DateOrder, Stamp, day_count, stamp};
pub(crate) use crate::quantity::calendar::words::MONTH_NAMES;
pub use crate::quantity::calendar::words::{
    DateRange, Months, clock, clock_range, date, date_and_maybe_time, date_and_time, date_range, day_of_year, month,
    month_name, months, weekday, weekdays,
};
pub use amount::{
    Amount, Expected, MeterUnit, amount, ends, meter_unit, not_thousands, range, says_not_known, stated, unit,
    units_meant,
};
pub(crate) use cell::letter_among_figures;
pub use cell::{Cell, CellSign, DecimalMark, cell};
pub(crate) use counted_as::{counted_unit, molar_masses, parameter_of};
pub use decimal::Decimal;
pub use kind::Kind;
pub use misread::Misread;
pub use near::{all_nearest, nearest};
pub use number::{Exact, MOST_DIGITS, count, ends_of_numbers, number, ratio};
pub(crate) use parameter::known as known_parameter;
pub use parameter::{parameter_as_written, parameter_name};
pub use range::{Range, Stated};
pub use show::{System, USUAL_DIGITS, decimals, show, show_in, show_range, show_stated, significant, unit_for};
pub(crate) use unit::normal;
pub use unit::{Dimension, Unit, names};

#[cfg(test)]
mod check_values;
#[cfg(test)]
mod unit_laws;

//! The mean of water or counts over a window's days, as the permit divides.

use chrono::NaiveDate;

use crate::rules::judge::amounts::Water;
use crate::rules::judge::evaluate::Figured;
use crate::rules::judge::text;
use crate::rules::measure::{Flow, Sum, day_number};
use crate::rules::{Bound, Counted, Divisor, Interval, Missing, Number};

/// The unit of a sum over days: that of a day's amount without `a day`.
fn sum_bound(bound: &Bound) -> Bound {
    let unit = ["/day", "/d"].iter().find_map(|end| bound.unit_text.strip_suffix(end)).unwrap_or(&bound.unit_text);
    Bound { unit_text: unit.to_owned(), ..bound.clone() }
}

/// The mean, with what is missing for it.
pub(crate) fn average(
    water: &Water<'_>,
    counted: &Counted,
    days: &[NaiveDate],
    sum: &Sum<'_>,
    out: &mut Figured,
    missing: &mut Vec<Missing>,
) {
    let bound = &water.scene.limit.bound;
    let number = |day: &NaiveDate| day_number(*day);
    let (value, divisor) = match counted.divisor {
        Divisor::DaysSampled => {
            let covered: Vec<NaiveDate> =
                days.iter().copied().filter(|day| water.amounts.counted_on(day_number(*day))).collect();
            (water.over(&covered).value, Interval::exactly(Number::count(covered.len())))
        }
        Divisor::CalendarDays => (sum.value, Interval::exactly(Number::count(days.len()))),
        Divisor::DaysWithDischarge => {
            let flows = |day: i64| water.flow_on(day) == Flow::Flowing;
            let dry = |day: i64| water.flow_on(day) == Flow::Dry;
            let surely: Vec<i64> = days.iter().map(number).filter(|day| flows(*day)).collect();
            let most = days.iter().map(number).filter(|day| !dry(*day)).count();
            // What was counted at all was counted on some day.
            let least = surely.len().max(usize::from(!sum.value.low.is_zero()));
            (sum.value, Interval::between(Number::count(least), Number::count(most.max(least))))
        }
    };
    // Nothing in all of the window, not only on the days that were metered.
    let nothing = sum.value.high.is_zero();
    out.value = match value.over(divisor) {
        _ if nothing => Interval::exactly(Number::ZERO),
        Some(mean) => mean,
        // No day need have flowed, and then nothing did: the most is all of it on one day.
        None => Interval { low: value.low.over(divisor.high).unwrap_or(Number::ZERO), high: value.high, counted: None },
    };
    if divisor.high.is_zero() && !nothing {
        missing.push(Missing {
            of: None,
            paper: None,
            sentence: "No whole day was metered.".to_owned(),
            would_show: None,
        });
    }
    out.arithmetic.push(format!(
        "{} ÷ {} days = {}",
        text::figure(&value, &sum_bound(bound), false),
        text::count(&divisor),
        text::figure(&out.value, bound, false)
    ));
}

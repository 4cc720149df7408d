//! Two limits that claim the same thing on the same days with different bounds: an error that shows both.

use chrono::{Datelike, NaiveDate};

use crate::rules::Limit;
use crate::told::{Problem, Problems};

/// Tells every such pair.
pub(crate) fn tell(limits: &[Limit], problems: &Problems) {
    for (index, first) in limits.iter().enumerate() {
        for second in limits.iter().skip(index + 1) {
            if same_claim(first, second) && overlap(first, second) && differ(first, second) {
                problems.add(
                    Problem::error(
                        &second.place,
                        format!(
                            "`{}` ({}) and `{}` ({}) claim the same thing on the same days",
                            first.name, first.bound.text, second.name, second.bound.text
                        ),
                    )
                    .hint("keep one of them, or say on which days each holds (in force, in season, months, only when)")
                    .related(&first.place, format!("`{}`: {}", first.name, first.bound.text)),
                );
            }
        }
    }
}

fn same_claim(a: &Limit, b: &Limit) -> bool {
    a.at == b.at
        && a.subject == b.subject
        && a.statistic.words == b.statistic.words
        && a.days == b.days
        && a.only_when == b.only_when
}

/// Whether both say something of the same side, and not the same.
fn differ(a: &Limit, b: &Limit) -> bool {
    let both = |x: Option<(crate::rules::Number, bool)>, y: Option<(crate::rules::Number, bool)>| match (x, y) {
        (Some(x), Some(y)) => x != y || a.bound.unit != b.bound.unit,
        _ => false,
    };
    both(a.bound.upper(), b.bound.upper())
        || both(a.bound.lower(), b.bound.lower())
        || a.except != b.except
        || a.only_between != b.only_between
        || a.allowance != b.allowance
}

/// Whether both hold on some day: looked for over the days of a leap year around the dates of each version.
fn overlap(a: &Limit, b: &Limit) -> bool {
    let ends = |limit: &Limit| limit.holds.dates.unwrap_or((None, None));
    let (a_ends, b_ends) = (ends(a), ends(b));
    let from = [a_ends.0, b_ends.0].into_iter().flatten().max();
    let to = [a_ends.1, b_ends.1].into_iter().flatten().min();
    if let (Some(from), Some(to)) = (from, to)
        && from > to
    {
        return false;
    }
    let start = from
        .or_else(|| to.and_then(|to| NaiveDate::from_ymd_opt(to.year() - 4, to.month(), 1)))
        .or_else(|| NaiveDate::from_ymd_opt(2024, 1, 1));
    let Some(start) = start else { return false };
    start
        .iter_days()
        .take(4 * 366 + 31)
        .take_while(|day| to.is_none_or(|to| *day <= to))
        .any(|day| a.holds.on(day) && b.holds.on(day))
}

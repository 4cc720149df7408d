//! Limits that claim the same thing on the same days with different bounds: an error that shows all of them.

use std::collections::BTreeSet;

use chrono::{Datelike, NaiveDate};

use crate::rules::Limit;
use crate::told::{Problem, Problems};

/// Most limits of a group that are named with their bounds, and most places of it that are shown.
const MOST_NAMED: usize = 8;

/// Tells all that clash with one another at once: seven limits that do are one problem, not the twenty-one pairs of them.
pub(crate) fn tell(limits: &[Limit], problems: &Problems) {
    let clash = |a: &Limit, b: &Limit| same_claim(a, b) && overlap(a, b) && differ(a, b);
    let mut pairs: BTreeSet<(usize, usize)> = BTreeSet::new();
    for (index, first) in limits.iter().enumerate() {
        let later = limits.iter().enumerate().skip(index + 1);
        pairs.extend(later.filter(|(_, second)| clash(first, second)).map(|(other, _)| (index, other)));
    }
    let mut untold = pairs.clone();
    while let Some((first, second)) = untold.first().copied() {
        // All of a group clash with each other: limits of spring and of summer that both clash with one of the year do not.
        let mut group = vec![first, second];
        for other in second + 1..limits.len() {
            if group.iter().all(|one| pairs.contains(&(*one, other))) {
                group.push(other);
            }
        }
        untold.retain(|(a, b)| !(group.contains(a) && group.contains(b)));
        one(&group.iter().filter_map(|at| limits.get(*at)).collect::<Vec<_>>(), problems);
    }
}

fn one(group: &[&Limit], problems: &Problems) {
    let [first, second, ..] = group else { return };
    let mut names: Vec<String> = group.iter().map(|limit| format!("`{}` ({})", limit.name, limit.bound.text)).collect();
    let last = if names.len() > MOST_NAMED {
        let more = names.split_off(MOST_NAMED).len();
        format!("{more} more")
    } else {
        names.pop().unwrap_or_default()
    };
    let message = format!("{} and {last} claim the same thing on the same days", names.join(", "));
    let of = if group.len() == 2 { "keep one of them" } else { "keep one of these" };
    let mut problem = Problem::error(&second.place, message)
        .hint(format!("{of}, or say on which days each holds (in force, in season, months, only when)"));
    for limit in [first].into_iter().chain(group.iter().skip(2)).take(MOST_NAMED) {
        problem = problem.related(&limit.place, format!("`{}`: {}", limit.name, limit.bound.text));
    }
    problems.add(problem);
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

//! Dates that break the order of their sheet: a year, a month or a day may be mistyped.

use chrono::{Datelike, NaiveDate};

use crate::told::{Place, Problem, Problems};

/// Fewer rows have no order to speak of.
const LEAST_ROWS: usize = 6;

/// A sheet is kept in order of date if no more than one row in so many breaks it. Common practice, no source.
const ONE_IN: usize = 10;

/// Rows told one by one; of more only the count is told.
const MOST_TOLD: usize = 10;

/// The rows that break the order in which a sheet is kept, first to last or last to first. None where it is kept in no
/// order.
pub(crate) fn out_of_order(dates: &[NaiveDate]) -> Vec<usize> {
    if dates.len() < LEAST_ROWS {
        return Vec::new();
    }
    let upwards: Vec<i64> = dates.iter().map(|date| i64::from(date.num_days_from_ce())).collect();
    let downwards: Vec<i64> = upwards.iter().map(|day| -day).collect();
    let (up, down) = (beside_the_longest(&upwards), beside_the_longest(&downwards));
    let fewest = if up.len() <= down.len() { up } else { down };
    if fewest.len() <= (dates.len() / ONE_IN).max(1) { fewest } else { Vec::new() }
}

/// The places that do not belong to a longest run of values, in order, that never falls.
fn beside_the_longest(values: &[i64]) -> Vec<usize> {
    // The last place of the best run of each length, and what stands before each place in its best run.
    let mut ends: Vec<usize> = Vec::new();
    let mut before: Vec<Option<usize>> = Vec::with_capacity(values.len());
    for (at, value) in values.iter().enumerate() {
        let length = ends.partition_point(|end| values.get(*end).is_some_and(|held| held <= value));
        before.push(length.checked_sub(1).and_then(|shorter| ends.get(shorter).copied()));
        match ends.get_mut(length) {
            Some(end) => *end = at,
            None => ends.push(at),
        }
    }
    let mut in_it = vec![false; values.len()];
    let mut next = ends.last().copied();
    while let Some(at) = next {
        if let Some(held) = in_it.get_mut(at) {
            *held = true;
        }
        next = before.get(at).copied().flatten();
    }
    (0..values.len()).filter(|at| in_it.get(*at) == Some(&false)).collect()
}

/// Tells the rows of a sheet that break its order. `rows` stand in the order of the sheet.
pub(crate) fn tell_order(rows: &[(NaiveDate, Place)], problems: &Problems) -> Vec<Place> {
    let dates: Vec<NaiveDate> = rows.iter().map(|(date, _)| *date).collect();
    let odd = out_of_order(&dates);
    let in_order = |at: &usize| !odd.contains(at);
    for at in odd.iter().take(MOST_TOLD) {
        let Some((date, place)) = rows.get(*at) else {
            continue;
        };
        let earlier = (0..*at).rev().find(in_order).and_then(|at| dates.get(at).copied());
        let later = (at + 1..dates.len()).find(in_order).and_then(|at| dates.get(at).copied());
        let stands = match (earlier, later) {
            (Some(a), Some(b)) => format!("it stands between {a} and {b}"),
            (Some(a), None) => format!("it stands after {a}"),
            (None, Some(b)) => format!("it stands before {b}"),
            (None, None) => continue,
        };
        let hint = match meant(*date, earlier, later) {
            Some(date) => format!("was {date} meant?"),
            None => "look at the year, the month and the day again".to_owned(),
        };
        problems.add(Problem::warning(place, format!("{date} is out of the sheet's order: {stands}")).hint(hint));
    }
    if let Some((_, place)) = odd.get(MOST_TOLD).and_then(|at| rows.get(*at)) {
        let more = odd.len() - MOST_TOLD;
        problems.add(
            Problem::warning(place, format!("{more} more rows are out of the sheet's order"))
                .hint("sort the sheet by date, and those that remain are mistyped"),
        );
    }
    odd.iter().filter_map(|at| rows.get(*at)).map(|(_, place)| place.clone()).collect()
}

/// The date that a slip would explain: another year or month, or day and month swapped, between its neighbours.
fn meant(date: NaiveDate, earlier: Option<NaiveDate>, later: Option<NaiveDate>) -> Option<NaiveDate> {
    let (low, high) = match (earlier, later) {
        (Some(a), Some(b)) => (a.min(b), a.max(b)),
        (Some(a), None) | (None, Some(a)) => (a, a + chrono::Days::new(7)),
        (None, None) => return None,
    };
    let with_year = |year| NaiveDate::from_ymd_opt(year, date.month(), date.day());
    let swapped = NaiveDate::from_ymd_opt(date.year(), date.day(), date.month());
    let with_month = |month| NaiveDate::from_ymd_opt(date.year(), month, date.day());
    [with_year(low.year()), with_year(high.year()), swapped]
        .into_iter()
        .chain([with_month(low.month()), with_month(high.month())])
        .flatten()
        .find(|meant| (low..=high).contains(meant))
}

#[cfg(test)]
mod tests {
    use super::{meant, out_of_order};
    use chrono::NaiveDate;

    fn dates(texts: &[&str]) -> Vec<NaiveDate> {
        texts.iter().map(|text| text.parse().unwrap()).collect()
    }

    #[test]
    fn the_one_row_of_another_year_is_found_whichever_way_the_sheet_runs() {
        let mut rows =
            dates(&["2024-12-09", "2024-12-10", "2024-12-11", "2025-12-12", "2024-12-13", "2024-12-14", "2024-12-15"]);
        assert_eq!(out_of_order(&rows), [3]);
        rows.reverse();
        assert_eq!(out_of_order(&rows), [3]);
        let meant = meant(rows[3], Some(rows[2]), Some(rows[4]));
        assert_eq!(meant, Some("2024-12-12".parse().unwrap()));
    }

    #[test]
    fn a_sheet_that_is_kept_in_no_order_has_no_row_out_of_it() {
        let rows = dates(&["2025-03-01", "2025-01-01", "2025-02-01", "2025-01-15", "2025-03-04", "2025-02-02"]);
        assert_eq!(out_of_order(&rows), [0; 0]);
        assert_eq!(out_of_order(&rows[..2]), [0; 0]);
    }
}

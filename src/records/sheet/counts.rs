//! What a count or an amount of a sheet covers where days before it have no row.

use std::collections::BTreeSet;

use chrono::NaiveDate;

use crate::quantity::stamp;
use crate::records::row::{Row, SinceTheLast};
use crate::records::sheet::draft::{About, Answers, Draft, Question, data};
use crate::records::sheet::grid::{Grid, Tab};
use crate::records::sheet::layout::Layout;
use crate::records::sheet::mapping::{Column, Dates, Mapping, Table};
use crate::told::{Problem, Problems};

/// The words of what is counted.
const COUNTING: [&str; 3] = ["washes", "changed", "amount"];

pub(super) fn counts_something(column: &Column) -> bool {
    matches!(column, Column::Values { since: None, .. }) && counts_anything(column)
}

/// Whether a column holds counts or amounts, whatever is said of what they cover.
pub(super) fn counts_anything(column: &Column) -> bool {
    matches!(column, Column::Values { what, .. } if COUNTING.contains(&what.as_str()))
}

/// Whether the rows of a tab leave days out, so that a count could cover more than its day.
pub(super) fn skips_days(tab: &Tab, layout: &Layout, table: &Table) -> bool {
    let Dates::Order(order) = table.order else {
        return false;
    };
    let dates: Vec<NaiveDate> = data(tab, layout)
        .filter_map(|row| stamp(row.cell(layout.date), order, table.year.or(Some(2024))).ok())
        .map(|stamp| stamp.date)
        .collect();
    dates.windows(2).any(|pair| matches!(pair, [a, b] if (*b - *a).num_days() > 1))
}

/// What a count covers where rows leave days out.
pub(super) fn ask(answers: &Answers, draft: &mut Draft) {
    let Some(since) = answers.counts else {
        draft.questions.push(Question {
            about: About::Counts,
            text: "some days have no row: does a count (or an amount) cover its own day, or all since the last row?"
                .into(),
            options: vec!["since the last row".into(), "that day".into()],
            flag: "--counts \"since the last row\"".into(),
        });
        return;
    };
    for (_, column) in draft.mapping.tables.iter_mut().flat_map(|table| table.columns.iter_mut()) {
        if counts_something(column)
            && let Column::Values { since: held, .. } = column
        {
            *held = since;
        }
    }
}

/// Tells of counts behind days without a row where nobody said what they cover: the sheet had a row for every day when it was
/// mapped, or was never asked about.
pub(super) fn tell_unsaid(grid: &Grid, mapping: &Mapping, rows: &[Row], problems: &Problems) {
    if mapping.counts.is_some() {
        return;
    }
    let dates: BTreeSet<NaiveDate> = rows.iter().map(|row| row.stamp.date).collect();
    let counts = |what: &str| COUNTING.iter().any(|word| what.eq_ignore_ascii_case(word));
    let is_bare = |row: &&Row| {
        let day = row.stamp.date;
        let since = row.since_the_last.is_some() || row.note.as_deref().and_then(SinceTheLast::in_note).is_some();
        let before = dates.range(..day).next_back();
        counts(&row.what.text)
            && !since
            && row.covers.is_none()
            && before.is_some_and(|before| (day - *before).num_days() > 1)
    };
    let bare: Vec<&Row> = rows.iter().filter(is_bare).collect();
    let Some(first) = bare.first() else { return };
    let more = match bare.len() {
        1 => String::new(),
        many => format!(", and of {} more", many - 1),
    };
    problems.add(
        Problem::warning(
            &first.value.place,
            format!(
                "the days before the count of {}{more} have no row, and the mapping does not say what a count covers: each is \
                 taken for its own day alone",
                first.stamp.date
            ),
        )
        .hint(format!(
            "run `bywash sheet \"{}\"` again, which asks, or write `counts: that day` into {}",
            grid.file,
            Mapping::file_of(&grid.file)
        )),
    );
}

//! Records in long form: one observation a line, columns by their headings in any order.

use std::sync::Arc;

use chrono::NaiveDate;

use crate::files::{self, Sheet};
use crate::quantity::{DateOrder, DecimalMark, Misread, order_in_heading, stamp, two_numbers};
use crate::records::row::{Row, Text};
use crate::told::{Problem, Problems, nearest};

/// The headings of the long form.
pub(crate) const HEADINGS: [&str; 12] =
    ["date", "time", "place", "what", "parameter", "value", "unit", "qualifier", "paper", "received", "who", "note"];

/// The rows of a file in long form. What is wrong with any of them is told.
pub(crate) fn rows(source: &files::Source, problems: &Problems) -> Vec<Row> {
    let Some(sheet) = Sheet::read(source, b',', problems) else {
        return Vec::new();
    };
    sheet.tell_ragged(problems);
    for (at, heading) in sheet.headings.iter().enumerate() {
        let (heading, _) = order_in_heading(heading);
        let known = heading.is_empty() || HEADINGS.iter().any(|name| name.eq_ignore_ascii_case(heading));
        if !known {
            let open = HEADINGS.into_iter().filter(|name| sheet.column(name).is_none());
            let hint = match nearest(heading, open) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("the columns of records are: {}", HEADINGS.join(", ")),
            };
            problems.add(
                Problem::warning(&sheet.heading_place(at), format!("the column `{heading}` is not read")).hint(hint),
            );
        }
    }
    let column = |heading: &str| sheet.column_of_dates(heading);
    let needed = ["date", "place", "what", "value"].map(column);
    let [Some(date), Some(place), Some(what), Some(value)] = needed else {
        let missing: Vec<&str> =
            ["date", "place", "what", "value"].into_iter().filter(|heading| column(heading).is_none()).collect();
        let parted = [(';', "semicolons"), ('\t', "tabs"), ('|', "upright strokes")];
        let by = parted.iter().find(|(sign, _)| sheet.headings.iter().any(|heading| heading.contains(*sign)));
        if let Some((_, signs)) = by {
            problems.add(
                Problem::error(
                    &crate::told::Place::line(&source.name, sheet.heading.line),
                    format!("the columns of this table are parted by {signs}"),
                )
                .hint(format!("part them by commas, or read it as a sheet: bywash sheet \"{}\"", source.name)),
            );
            return Vec::new();
        }
        problems.add(
            Problem::error(
                &crate::told::Place::line(&source.name, sheet.heading.line),
                format!("this is not a table of records: there is no column `{}`", missing.join("`, `")),
            )
            .hint(format!("for a sheet kept another way: bywash sheet \"{}\"", source.name)),
        );
        return Vec::new();
    };
    let columns = Columns {
        date,
        place,
        what,
        value,
        time: sheet.column("time"),
        parameter: sheet.column("parameter"),
        unit: sheet.column("unit"),
        qualifier: sheet.column("qualifier"),
        paper: sheet.column("paper"),
        received: column("received"),
        who: sheet.column("who"),
        note: sheet.column("note"),
    };
    let orders =
        (sheet.order_of_dates(date, problems), columns.received.and_then(|at| sheet.order_of_dates(at, problems)));
    sheet.rows.iter().filter_map(|row| one(&sheet, row, &columns, orders, problems)).collect()
}

struct Columns {
    date: usize,
    place: usize,
    what: usize,
    value: usize,
    time: Option<usize>,
    parameter: Option<usize>,
    unit: Option<usize>,
    qualifier: Option<usize>,
    paper: Option<usize>,
    received: Option<usize>,
    who: Option<usize>,
    note: Option<usize>,
}

fn one(
    sheet: &Sheet,
    row: &files::Row,
    columns: &Columns,
    (order, order_received): (Option<DateOrder>, Option<DateOrder>),
    problems: &Problems,
) -> Option<Row> {
    let open = |order: Option<DateOrder>, text: &str| order.is_none() && two_numbers(text).is_some();
    let text = |column: usize| Text { text: row.cell(column).to_string(), place: sheet.place(row, column) };
    let maybe = |column: Option<usize>| column.map(text).filter(|text| !text.is_blank());
    let words = |column: Option<usize>| maybe(column).map(|text| text.text.trim().to_string());
    let date = text(columns.date);
    let time = maybe(columns.time);
    let written = match &time {
        Some(time) => format!("{} {}", date.text, time.text),
        None => date.text.clone(),
    };
    let stamp = match stamp(&written, order.unwrap_or_default(), None) {
        Ok(stamp) => Some(stamp),
        // Asked once for the column.
        Err(_) if open(order, &date.text) => None,
        Err(refusal) => {
            problems.add(Problem::misread(&date.place, refusal));
            None
        }
    };
    let read = |text: &str| received(text, order_received.or(order).unwrap_or_default());
    let received = match maybe(columns.received).map(|text| (read(&text.text), text)) {
        None => None,
        Some((Err(_), text)) if open(order_received, &text.text) => None,
        Some((Ok(date), _)) => Some(date),
        Some((Err(refusal), text)) => {
            problems.add(Problem::misread(&text.place, refusal));
            None
        }
    };
    Some(Row {
        origin: Arc::clone(&sheet.heading_place(0).file),
        stamp: stamp?,
        stamp_place: date.place,
        name: text(columns.place),
        what: text(columns.what),
        parameter: maybe(columns.parameter),
        value: text(columns.value),
        unit: maybe(columns.unit),
        qualifier: maybe(columns.qualifier),
        paper: words(columns.paper),
        received,
        who: words(columns.who),
        note: words(columns.note),
        mark: DecimalMark::Point,
        since_the_last: None,
        covers: None,
        written: Default::default(),
        gap_is_meant: false,
    })
}

fn received(text: &str, order: DateOrder) -> Result<NaiveDate, Misread> {
    stamp(text, order, None).map(|stamp| stamp.date)
}

//! A sheet read by its mapping: rows of records, rows left out and why, and a digest of every row.

use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Bound::{Excluded, Unbounded};
use std::sync::Arc;

use chrono::{Datelike, NaiveDate, NaiveTime};

use crate::files::sha256;
use crate::quantity::{Cell, DateOrder, DecimalMark, Misread, Stamp, cell, parameter_as_written};
use crate::records::feet::says_feet_and_inches;
use crate::records::heads::as_a_number;
use crate::records::row::{Row, SinceTheLast, Text};
use crate::records::sheet::cells::{says_flow, tell_blank_nowhere};
use crate::records::sheet::counts::tell_unsaid;
use crate::records::sheet::grid::{Grid, GridRow, Tab, letters};
use crate::records::sheet::habits::Habits;
use crate::records::sheet::letters::{is_of_letters, told as letter_of};
use crate::records::sheet::mapping::{Column, Dates, Mapping, Table};
use crate::records::sheet::said::{flag_meant, is_total};
use crate::records::sheet::sums::said_of_sum;
use crate::records::sheet::tab_dates::{
    Around, date_of, in_tab_year, is_of_another_year, other_weekday, span_of, stamp_of,
};
use crate::records::sheet::values::{BLANK, as_written, said_of};
use crate::records::words::flows;
use crate::told::{Place, Problem, Problems};

/// What a sheet holds when it is read by its mapping.
#[derive(Debug, Default)]
pub(crate) struct Applied {
    pub rows: Vec<Row>,
    /// Rows of the sheet that gave records, each with what it was understood as.
    pub understood: Vec<Understood>,
    /// Rows left out.
    pub skipped: Vec<Skipped>,
    /// Key (tab and date) and digest of every row that was read.
    pub digests: BTreeMap<String, String>,
}

/// A row of the sheet as it was understood.
#[derive(Debug, Clone)]
pub(crate) struct Understood {
    pub stamp: Stamp,
    pub text: String,
}

/// A row that was left out.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Skipped {
    pub place: Place,
    pub why: &'static str,
    pub text: String,
}

/// Reads a sheet by its mapping. What is wrong in it is told.
pub(crate) fn apply(grid: &Grid, mapping: &Mapping, problems: &Problems) -> Applied {
    let mut applied = Applied::default();
    let dates = all_dates(grid, mapping);
    let read = |tab: &Tab, table: &Table, applied: &mut Applied| {
        one_tab(grid, &part_of(tab, table, mapping), table, (mapping, &dates), applied, problems);
    };
    for table in &mapping.tables {
        if table.tabs.is_empty() {
            if let Some(tab) = grid.tabs.first() {
                read(tab, table, &mut applied);
            }
            continue;
        }
        for name in &table.tabs {
            // A blank behind a tab's name is easily lost.
            let exactly = grid.tabs.iter().find(|tab| tab.name == *name);
            match exactly.or_else(|| grid.tabs.iter().find(|tab| tab.name.trim() == name.trim())) {
                Some(tab) => read(tab, table, &mut applied),
                None => problems.add(
                    Problem::error(
                        &Place::file(&Mapping::file_of(&grid.file)),
                        format!("the sheet has no tab `{name}`"),
                    )
                    .hint(format!("run again: bywash sheet \"{}\"", grid.file)),
                ),
            }
        }
    }
    for row in &mut applied.rows {
        row.gap_is_meant = mapping.lost.is_some();
    }
    tell_blank_nowhere(mapping, &applied.rows, &grid.file, problems);
    tell_unsaid(grid, mapping, &applied.rows, problems);
    lost_rows(grid, mapping, &mut applied.rows);
    applied
}

/// A row of its own for each count since the last one, on the last day of each stretch whose rows are lost.
fn lost_rows(grid: &Grid, mapping: &Mapping, rows: &mut Vec<Row>) {
    let mut columns: Vec<&Column> = Vec::new();
    for (_, column) in mapping.tables.iter().flat_map(|table| &table.columns) {
        if matches!(column, Column::Values { since: Some(_), .. }) && !columns.contains(&column) {
            columns.push(column);
        }
    }
    let place = Place::file(&Mapping::file_of(&grid.file));
    for (_, last) in mapping.lost.iter().flatten() {
        for column in &columns {
            let Column::Values { place: name, what, .. } = column else { continue };
            let text = |text: &str| Text { text: text.to_string(), place: place.clone() };
            rows.push(Row {
                origin: Arc::clone(&grid.file),
                stamp: Stamp { date: *last, time: None },
                stamp_place: place.clone(),
                name: text(name),
                what: text(what),
                parameter: None,
                value: text("lost"),
                unit: None,
                qualifier: None,
                paper: None,
                received: None,
                who: None,
                note: None,
                mark: DecimalMark::Point,
                since_the_last: None,
                covers: None,
                written: Default::default(),
                gap_is_meant: true,
            });
        }
    }
}

/// The part of a tab that a table is of, where several stand side by side in it or below one another.
fn part_of<'a>(tab: &'a Tab, table: &Table, mapping: &Mapping) -> Cow<'a, Tab> {
    let shares = mapping.tables.iter().filter(|other| other.tabs == table.tabs).count() > 1;
    let mut part = if shares { Cow::Owned(columns_of(tab, table)) } else { Cow::Borrowed(tab) };
    if let Some(last) = table.last_row {
        part.to_mut().rows.retain(|row| row.number <= last);
    }
    part
}

fn columns_of(tab: &Tab, table: &Table) -> Tab {
    let columns = || table.columns.iter().map(|(at, _)| *at).chain([table.date]).chain(table.time_column);
    tab.part(columns().min().unwrap_or(0)..=columns().max().unwrap_or(usize::MAX))
}

/// Every date of a sheet that is no span, whatever tab it stands on.
fn all_dates(grid: &Grid, mapping: &Mapping) -> BTreeSet<NaiveDate> {
    let mut dates = BTreeSet::new();
    for table in &mapping.tables {
        let tabs = grid
            .tabs
            .iter()
            .filter(|tab| table.tabs.is_empty() || table.tabs.iter().any(|name| name.trim() == tab.name.trim()));
        for tab in tabs {
            let part = part_of(tab, table, mapping);
            dates.extend(dates_of(grid, &part, table, &mapping.habits).into_iter().flatten());
        }
    }
    dates
}

/// The date of each row of a tab below its headings; none where it has no date, or a span of them.
fn dates_of(grid: &Grid, tab: &Tab, table: &Table, habits: &Habits) -> Vec<Option<NaiveDate>> {
    let mut last = None;
    let below = tab.rows.iter().filter(|row| row.number > table.heading_row);
    below
        .map(|row| {
            let text = row.cell(table.date);
            if text.is_empty() || is_total(row) || span_of(text, table).is_some() {
                return None;
            }
            let stamp = stamp_of(text, table, &tab.name, last).ok()?;
            last = Some(in_tab_year(stamp, grid, &tab.name, habits).date);
            last
        })
        .collect()
}

fn one_tab(
    grid: &Grid,
    tab: &Tab,
    table: &Table,
    (mapping, dates): (&Mapping, &BTreeSet<NaiveDate>),
    applied: &mut Applied,
    problems: &Problems,
) {
    let habits = &mapping.habits;
    let headings: Vec<&GridRow> = tab.rows.iter().filter(|row| row.number <= table.heading_row).collect();
    let heading = headings.last().map(|row| row.cells.clone()).unwrap_or_default();
    let mut last = Last::default();
    let plain = dates_of(grid, tab, table, habits);
    let lengths = habits.told_by_the_level(tab, table);
    for (number, row) in tab.rows.iter().filter(|row| row.number > table.heading_row).enumerate() {
        let mut skip = |why: &'static str| {
            applied.skipped.push(Skipped {
                place: grid.place(tab, row, 0),
                why,
                text: row.cells.iter().filter(|cell| !cell.is_empty()).take(6).cloned().collect::<Vec<_>>().join(" | "),
            });
        };
        if row.is_blank() {
            continue;
        }
        if row.cells == heading {
            skip("headings again");
            continue;
        }
        if is_total(row) {
            skip("a total");
            continue;
        }
        let date_text = row.cell(table.date);
        let date_place = grid.place(tab, row, table.date);
        if date_text.is_empty() {
            if has_values(row, table) {
                problems.add(
                    Problem::error(&date_place, "values and no date")
                        .hint("write the date in the sheet, or a word like total before a row that sums up"),
                );
            }
            skip("no date");
            continue;
        }
        let next = plain.get(number + 1..).and_then(|later| later.iter().flatten().next().copied());
        let around = Around {
            last: last.date.or_else(|| dates.range(..next?).next_back().copied()),
            next: next.or_else(|| dates.range((Excluded(last.date?), Unbounded)).next().copied()),
        };
        let read = date_of(date_text, table, &tab.name, habits, around);
        let (stamp, covers) = match read {
            Ok(dated) => (in_tab_year(dated.stamp, grid, &tab.name, habits), dated.covers),
            Err(refusal) => {
                if has_values(row, table) {
                    problems.add(Problem::misread(&date_place, refusal));
                }
                skip("no date");
                continue;
            }
        };
        let warn = |why: String| problems.add(Problem::warning(&date_place, why).hint("look at the date again"));
        if let Some(why) = other_weekday(date_text, stamp.date) {
            warn(why);
        }
        if habits.tab_year.is_none() && is_of_another_year(stamp.date, grid, &tab.name) {
            warn(format!("a date in {} on the tab `{}`", stamp.date.year(), tab.name.trim()));
        }
        last.date = Some(stamp.date);
        let stamp = match with_time(stamp, row, table, &mut last) {
            Ok(stamp) => stamp,
            Err(refusal) => {
                let column = table.time_column.unwrap_or(table.date);
                problems.add(Problem::misread(&grid.place(tab, row, column), refusal));
                stamp
            }
        };
        let before = applied.rows.len();
        let when = When { stamp, covers, place: &date_place, lengths: &lengths };
        rows_of(grid, (tab, row), (table, mapping), &when, &mut last, &mut applied.rows, problems);
        let made = applied.rows.get(before..).unwrap_or_default();
        let key = key_of(&applied.digests, &tab.name, stamp.date);
        applied.digests.insert(key, digest(row));
        if made.is_empty() {
            applied.skipped.push(Skipped {
                place: grid.place(tab, row, 0),
                why: if is_of_letters(table) { "no call, letter or report of yours" } else { "nothing but a date" },
                text: row.cells.iter().filter(|cell| !cell.is_empty()).take(6).cloned().collect::<Vec<_>>().join(" | "),
            });
            continue;
        }
        applied.understood.push(Understood { stamp, text: made.iter().map(shown).collect::<Vec<_>>().join("; ") });
    }
}

/// What ditto marks repeat.
#[derive(Default)]
struct Last {
    date: Option<NaiveDate>,
    time: Option<NaiveTime>,
    who: Option<String>,
    paper: Option<String>,
    place: Option<String>,
    /// Whether the rain before is in the reading that follows.
    is_in_a_total: bool,
}

/// A text, or what stood above where it is a ditto mark.
fn or_above(text: Option<String>, above: &mut Option<String>) -> Option<String> {
    match text {
        Some(text) if cell(&text, DecimalMark::Point) == Ok(Cell::Same) => above.clone(),
        Some(text) => {
            *above = Some(text.clone());
            Some(text)
        }
        None => None,
    }
}

fn shown(row: &Row) -> String {
    let parameter = row.parameter.as_ref().map(|text| format!(" ({})", parameter_as_written(&text.text)));
    let parameter = parameter.unwrap_or_default();
    let mut unit = row.unit.as_ref().map(|text| format!(" {}", text.text)).unwrap_or_default();
    let name = if row.name.is_blank() { String::new() } else { format!("{} ", row.name.text) };
    if let Some(note) = row.note.as_ref().filter(|_| row.value.is_blank()) {
        return format!("{name}{}: {note}", row.what.text);
    }
    let head = (row.what.text == "head").then(|| as_a_number(&row.value.text)).flatten();
    let value = match cell(head.as_deref().unwrap_or(&row.value.text), row.mark) {
        Ok(Cell::Number { value, sign, behind }) => {
            let sign = match sign {
                crate::quantity::CellSign::Below => "<",
                crate::quantity::CellSign::Above => ">",
                crate::quantity::CellSign::Estimated => "about ",
                crate::quantity::CellSign::None => "",
            };
            if !behind.is_empty() && crate::quantity::units::named(&behind).is_some() {
                unit.clear();
            }
            let behind = if behind.is_empty() { String::new() } else { format!(" {behind}") };
            format!("{sign}{value}{behind}")
        }
        _ => format!("\"{}\"", row.value.text),
    };
    format!("{name}{}{parameter} {value}{unit}", row.what.text)
}

fn has_values(row: &GridRow, table: &Table) -> bool {
    table.columns.iter().any(|(at, column)| {
        matches!(column, Column::Values { .. })
            && matches!(cell(row.cell(*at), mark_of(row, *at, table)), Ok(Cell::Number { .. } | Cell::Trace))
    })
}

/// A number of the workbook itself has a point whatever the texts beside it have.
fn mark_of(row: &GridRow, column: usize, table: &Table) -> DecimalMark {
    if row.is_native(column) { DecimalMark::Point } else { table.mark }
}

fn with_time(stamp: Stamp, row: &GridRow, table: &Table, last: &mut Last) -> Result<Stamp, Misread> {
    if stamp.time.is_some() {
        return Ok(stamp);
    }
    let written = table.time_column.map(|column| row.cell(column)).filter(|text| !text.is_empty());
    let time = match written {
        None => table.time,
        Some(text) => match cell(text, DecimalMark::Point) {
            Ok(Cell::Same) => last.time,
            Ok(Cell::Missing(_)) => table.time,
            _ => {
                let whole = format!("{} {text}", stamp.date);
                let read = crate::quantity::stamp(&whole, DateOrder::YearFirst, None).ok().and_then(|read| read.time);
                last.time = read;
                Some(read.ok_or_else(|| {
                    Misread::new(format!("`{text}` is not a time of day")).hint("write it like 7:00 or 7 am")
                })?)
            }
        },
    };
    Ok(Stamp { time, ..stamp })
}

/// When a row is of.
struct When<'a> {
    stamp: Stamp,
    covers: Option<(NaiveDate, NaiveDate)>,
    place: &'a Place,
    /// Feet and inches that the row's other cells tell, by row and column.
    lengths: &'a BTreeMap<(u32, usize), String>,
}

fn rows_of(
    grid: &Grid,
    (tab, row): (&Tab, &GridRow),
    (table, mapping): (&Table, &Mapping),
    &When { stamp, covers, place: date_place, lengths }: &When<'_>,
    last: &mut Last,
    out: &mut Vec<Row>,
    problems: &Problems,
) {
    let habits = &mapping.habits;
    let said = |wanted: &Column| {
        table
            .columns
            .iter()
            .find(|(at, column)| column == wanted && !row.cell(*at).is_empty())
            .map(|(at, _)| (row.cell(*at).to_string(), *at))
    };
    let note = said(&Column::Note).map(|(text, _)| text);
    let who = or_above(said(&Column::Who).map(|(text, _)| text), &mut last.who);
    let paper = or_above(said(&Column::Paper).map(|(text, _)| text), &mut last.paper);
    let received = said(&Column::Received).and_then(|(text, at)| {
        let order = match table.order {
            Dates::Order(order) => order,
            Dates::DayOfMonth(_) => DateOrder::YearFirst,
        };
        match crate::quantity::stamp(&text, order, table.year) {
            Ok(stamp) => Some(stamp.date),
            Err(refusal) => {
                problems.add(Problem::misread(&grid.place(tab, row, at), refusal));
                None
            }
        }
    });
    // The row's own place: where its cell stands, and the name it stands for.
    let of_the_row = table.columns.iter().find_map(|(at, column)| match column {
        Column::Place(names) => {
            let said = Some(row.cell(*at).to_string()).filter(|said| !said.is_empty());
            let said = or_above(said, &mut last.place).unwrap_or_default();
            Some((grid.place(tab, row, *at), names.get(&said).cloned().unwrap_or(said)))
        }
        _ => None,
    });
    if let Some(told) = letter_of(row, table, stamp.date, &mapping.cells) {
        let text = |text: &str| Text { text: text.to_owned(), place: date_place.clone() };
        out.push(Row {
            origin: Arc::clone(&grid.file),
            stamp,
            stamp_place: date_place.clone(),
            name: text(""),
            what: text(told.what.words()),
            parameter: None,
            value: text(""),
            unit: None,
            qualifier: None,
            paper: paper.clone().or_else(|| Some(sheet_name(grid, tab, row))),
            received: None,
            who: who.clone(),
            note: Some(told.note),
            mark: table.mark,
            since_the_last: None,
            covers: None,
            written: Default::default(),
            gap_is_meant: false,
        });
    }
    for (at, column) in &table.columns {
        let Column::Values { place: name, what, parameter, unit, since } = column else {
            continue;
        };
        let told = || lengths.get(&(row.number, *at)).cloned().or_else(|| habits.length(row.cell(*at)));
        let changed = says_feet_and_inches(unit.as_deref()).then(told).flatten();
        let value = changed.as_deref().unwrap_or(row.cell(*at));
        // A blank cell of a wide sheet says nothing: no record, and no zero.
        let is_flagged_rain = what.eq_ignore_ascii_case("rain")
            && table.columns.iter().any(|(at, column)| matches!(column, Column::Flag(_)) && !row.cell(*at).is_empty());
        let name = of_the_row.as_ref().filter(|_| is_of_the_row(column)).map_or(name, |(_, name)| name);
        let says = || mapping.cells.look(BLANK, name).is_some_and(|says| flows(says).is_some());
        let value = if value.is_empty() && says_flow(what) && says() { BLANK } else { value };
        if value.is_empty() && !is_flagged_rain {
            continue;
        }
        let place = grid.place(tab, row, *at);
        let text = |text: &str| Text { text: text.to_string(), place: place.clone() };
        let flag = if what.eq_ignore_ascii_case("rain") { flag_of(grid, (tab, row), table, problems) } else { None };
        let (value, since) = match flag.as_deref() {
            Some("trace") => ("T", *since),
            Some("out") => ("out", *since),
            // It is in the total that follows.
            Some("in a later total") => continue,
            Some("total") => (value, Some(SinceTheLast::Entry)),
            _ => (value, *since),
        };
        let (value, since) = match mapping.cells.code(value).filter(|_| what.eq_ignore_ascii_case("rain")) {
            Some("in a later total") => {
                last.is_in_a_total = true;
                continue;
            }
            Some(_) => ("out", since),
            None => (value, since),
        };
        let since = match what.eq_ignore_ascii_case("rain") && std::mem::take(&mut last.is_in_a_total) {
            true => Some(SinceTheLast::Entry),
            false => since,
        };
        let slip_is_void = paper.as_deref().is_some_and(|slip| mapping.cells.is_void(slip));
        let mark = mark_of(row, *at, table);
        let (value, unit, note) = if what.eq_ignore_ascii_case("sample") && slip_is_void {
            ("void".to_owned(), unit.clone(), as_written(value, note.as_deref()))
        } else if let Some(said) = said_of_sum(value, mark, what, habits.sums) {
            (said, unit.clone(), as_written(value, note.as_deref()))
        } else {
            said_of((value, mark), (column, name), note.as_deref(), &mapping.cells)
        };
        out.push(Row {
            origin: Arc::clone(&grid.file),
            stamp,
            stamp_place: date_place.clone(),
            name: match &of_the_row {
                Some((place, _)) if is_of_the_row(column) => Text { text: name.clone(), place: place.clone() },
                _ => text(name),
            },
            what: text(what),
            parameter: parameter.as_deref().map(text),
            value: text(&value),
            unit: unit.as_deref().map(text),
            qualifier: None,
            paper: paper.clone().or_else(|| Some(sheet_name(grid, tab, row))),
            received,
            who: who.clone(),
            note,
            // What is written here and not in the sheet has a point.
            mark: if value != row.cell(*at) && !row.cell(*at).starts_with('<') { DecimalMark::Point } else { mark },
            since_the_last: since,
            covers: if what.eq_ignore_ascii_case("rain") {
                covers.filter(|(first, last)| first != last)
            } else {
                covers
            },
            written: if what.eq_ignore_ascii_case("reading") {
                habits.written(row.cell(*at), row.is_native(*at))
            } else {
                Default::default()
            },
            gap_is_meant: false,
        });
    }
}

/// What the flag of a row's rain means; one that nobody knows is told.
fn flag_of(grid: &Grid, (tab, row): (&Tab, &GridRow), table: &Table, problems: &Problems) -> Option<String> {
    for (at, column) in &table.columns {
        let Column::Flag(names) = column else { continue };
        let flag = row.cell(*at);
        if flag.is_empty() {
            continue;
        }
        match flag_meant(flag, names) {
            Some(meant) => return Some(meant.to_string()),
            None => problems.add(
                Problem::error(&grid.place(tab, row, *at), format!("the flag `{flag}` is not known")).hint(format!(
                    "say in the mapping file what it means: {}: {{flag of the row: {{\"{flag}\": out}}}}, or: total, trace, in a later total, as written",
                    letters(*at)
                )),
            ),
        }
    }
    None
}

/// Whether a column's values are of the place that the row names.
fn is_of_the_row(column: &Column) -> bool {
    matches!(column, Column::Values { place, what, .. } if place.is_empty() && !what.eq_ignore_ascii_case("rain"))
}

/// The sheet itself is the paper: its name, tab and row.
fn sheet_name(grid: &Grid, tab: &Tab, row: &GridRow) -> String {
    let file = grid.file.rsplit('/').next().unwrap_or(&grid.file);
    // A row of days across is no row of the paper.
    if !row.origins.is_empty() {
        return if tab.name.is_empty() { file.to_owned() } else { format!("{file}, {}", tab.name) };
    }
    if tab.name.is_empty() {
        format!("{file} row {}", row.number)
    } else {
        format!("{file}, {}, row {}", tab.name, row.number)
    }
}

fn key_of(held: &BTreeMap<String, String>, tab: &str, date: NaiveDate) -> String {
    let base = if tab.is_empty() { date.to_string() } else { format!("{tab} {date}") };
    let mut key = base.clone();
    let mut number = 1;
    while held.contains_key(&key) {
        number += 1;
        key = format!("{base} #{number}");
    }
    key
}

fn digest(row: &GridRow) -> String {
    let cells: Vec<&str> = row.cells.iter().map(String::as_str).collect();
    let text = cells.join("\t");
    sha256(text.trim_end_matches('\t').as_bytes()).chars().take(8).collect()
}

/// `columns C to F`, for a message.
pub(crate) fn column_name(at: usize, heading: &str) -> String {
    if heading.is_empty() { format!("column {}", letters(at)) } else { format!("column {} `{heading}`", letters(at)) }
}

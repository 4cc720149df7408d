//! A mapping drafted from a sheet: what is clear is taken, what is not is asked.

use std::borrow::Cow;
use std::collections::BTreeSet;

use chrono::{NaiveDate, NaiveTime};

use crate::facility::model::{Facility, PlaceKind};
use crate::quantity::{DateOrder, DecimalMark, Order, TwoNumbers, order_of};
use crate::records::lost::unusual;
use crate::records::row::SinceTheLast;
use crate::records::sheet::apply::column_name;
use crate::records::sheet::cells::{self, Cells};
use crate::records::sheet::counts::{ask as counts, counts_anything, counts_something, skips_days};
use crate::records::sheet::factor::ask_factor;
use crate::records::sheet::gaps::{ask_parameters, ask_places, ask_unit};
use crate::records::sheet::grid::{Grid, GridRow, Tab, column_of, letters};
use crate::records::sheet::habits::{Habit, Habits, look_for};
use crate::records::sheet::layout::{Layout, Look, layout, look, one_below_another, side_by_side};
use crate::records::sheet::letters::{ask as ask_letters, columns as letter_columns};
use crate::records::sheet::mapping::{Column, Dates, Mapping, Table, column_on_a_line};
use crate::records::sheet::marks;
use crate::records::sheet::meaning::{Guess, Seen, guess, inner, places_of_rows, with_unit_of};
use crate::records::sheet::said::is_total;
use crate::records::sheet::sums;
use crate::records::sheet::tab_dates::{month_in, stamp_of, year_named, year_of_tab};
use crate::records::words::What;

/// What the user said, by flag or on the terminal.
#[derive(Debug, Clone, Default)]
pub(crate) struct Answers {
    pub dates: Option<DateOrder>,
    pub year: Option<i32>,
    pub mark: Option<DecimalMark>,
    pub time: Option<NaiveTime>,
    pub counts: Option<Option<SinceTheLast>>,
    pub habits: Habits,
    pub cells: Cells,
    /// Days whose rows are lost; an empty list says that none is.
    pub lost: Option<Vec<(NaiveDate, NaiveDate)>>,
    /// By letter or heading.
    pub columns: Vec<(String, Column)>,
}

/// What a question is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum About {
    Dates,
    Year,
    Mark,
    Counts,
    Lost,
    /// A habit of the sheet's keeper.
    Habit(Habit),
    /// A code of a rain file.
    Missing,
    /// Words of a look.
    Look,
    /// A result that was not detected.
    NotDetected,
    /// What a call or letter is about.
    Letter,
    /// A column, by its heading (or letter).
    Column(String),
}

/// Something only the user knows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Question {
    pub about: About,
    pub text: String,
    pub options: Vec<String>,
    /// The flag that answers it, with the first option.
    pub flag: String,
}

/// A draft: the mapping as far as it is clear, the questions, and what was taken for granted.
#[derive(Debug, Clone, Default)]
pub(crate) struct Draft {
    /// The sheet's name from the facility's folder.
    file: String,
    pub mapping: Mapping,
    pub questions: Vec<Question>,
    pub told: Vec<String>,
    /// Columns of which nothing is known, and of which nobody said anything.
    pub unknown: Vec<String>,
}

/// Drafts the mapping of a sheet.
pub(crate) fn draft(facility: &Facility, grid: &Grid, sheet: &str, answers: &Answers) -> Draft {
    let mut draft = Draft::default();
    draft.mapping.sheet = sheet.to_string();
    draft.file = grid.file.to_string();
    let mut found: Vec<(&Tab, Layout)> = Vec::new();
    let parts: Vec<(Cow<'_, Tab>, Option<u32>)> =
        grid.tabs.iter().flat_map(side_by_side).flat_map(one_below_another).collect();
    let mut last_rows: Vec<Option<u32>> = Vec::new();
    for (tab, last_row) in parts.iter().map(|(tab, last_row)| (tab.as_ref(), *last_row)) {
        match layout(tab) {
            Some(layout) => {
                found.push((tab, layout));
                last_rows.push(last_row);
            }
            None if tab.rows.is_empty() => {}
            None => draft.told.push(format!("tab {} holds no dates and is not read", tab.name)),
        }
    }
    for tab in grid.tabs.iter().filter(|tab| tab.rows.iter().any(|row| !row.origins.is_empty())) {
        let name = if tab.name.is_empty() { "its".to_owned() } else { format!("tab {}: its", tab.name) };
        draft.told.push(format!("{name} days stand across: each is read as a row of its own"));
    }
    if found.is_empty() {
        draft.told.push("no column of dates was found".into());
        return draft;
    }
    let order = order(&found, answers, &mut draft);
    let mark = marks::mark(facility, grid, &found, answers, &mut draft);
    let mut year_asked = false;
    let mut asked: BTreeSet<String> = BTreeSet::new();
    let mut counting = false;
    for ((tab, layout), last_row) in found.iter().zip(last_rows) {
        let year = year_of(grid, tab, layout, answers);
        if year.is_none() && needs_year(tab, layout) && !year_asked {
            year_asked = true;
            draft.questions.push(Question {
                about: About::Year,
                text: "the dates carry no year, and neither a title nor a tab names one".into(),
                options: Vec::new(),
                flag: "--year 2025".into(),
            });
        }
        let dates = if layout.day_only {
            match month_in(&tab.name).or_else(|| month_in(&layout.title)).or_else(|| month_in(&grid.file)) {
                Some(month) => Dates::DayOfMonth(month),
                None => {
                    draft.told.push(format!(
                        "tab {}: its dates are only days, and neither its name nor a title names the month; not read",
                        tab.name
                    ));
                    continue;
                }
            }
        } else {
            Dates::Order(order)
        };
        let mut table = Table {
            tabs: if tab.name.is_empty() { Vec::new() } else { vec![tab.name.clone()] },
            heading_row: layout.heading_row,
            last_row,
            date: layout.date,
            order: dates,
            year,
            time_column: None,
            time: answers.time,
            mark,
            columns: Vec::new(),
        };
        counting |= columns(facility, &found, (tab, layout), answers, &mut table, (&mut asked, &mut draft));
        if table.columns.is_empty() && parts.len() > grid.tabs.len() {
            continue;
        }
        ask_places(&table, layout, &mut asked, &mut draft);
        ask_parameters(&table, layout, &mut asked, &mut draft);
        if table.columns.is_empty() {
            let of = if tab.name.is_empty() { String::new() } else { format!("tab {}: ", tab.name) };
            draft.told.push(format!("{of}nothing stands beside its dates; not read"));
            continue;
        }
        let same = draft.mapping.tables.iter_mut().find(|held| {
            let mut like = table.clone();
            like.tabs.clone_from(&held.tabs);
            **held == like
        });
        match same {
            Some(held) => held.tabs.extend(table.tabs),
            None => draft.mapping.tables.push(table),
        }
    }
    if counting {
        counts(answers, &mut draft);
    }
    // What was said of counts is kept where no column holds it yet.
    let mut columns = draft.mapping.tables.iter().flat_map(|table| &table.columns);
    let is_held = columns.any(|(_, column)| counts_anything(column));
    // A column says what it counts since, and nothing where it was said that it is of its own day.
    draft.mapping.counts = answers.counts.filter(|since| since.is_none() || !is_held);
    draft.mapping.habits = answers.habits;
    draft.mapping.cells.clone_from(&answers.cells);
    sums::ask(&found, &draft.mapping, &mut draft.questions);
    cells::look_for(&found, &draft.mapping, &mut draft.questions);
    ask_letters(&found, &draft.mapping, &mut draft.questions);
    look_for(grid, &found, facility.system, order, &mut draft.mapping, (&mut draft.questions, &mut draft.told));
    draft.mapping.lost.clone_from(&answers.lost);
    // In one round with what a count covers.
    let may_count_since = counting && answers.counts.is_none();
    if answers.lost.is_none() && (may_count_since || counts_since(&draft.mapping)) {
        ask_lost(&found, &mut draft);
    }
    draft
}

/// Whether a column counts since the row before.
fn counts_since(mapping: &Mapping) -> bool {
    let mut columns = mapping.tables.iter().flat_map(|table| &table.columns);
    columns.any(|(_, column)| matches!(column, Column::Values { since: Some(_), .. }))
}

/// Asks about stretches without a row that are far longer than usual: a count after one would cover it all.
fn ask_lost(found: &[(&Tab, Layout)], draft: &mut Draft) {
    let mut days: Vec<NaiveDate> = Vec::new();
    for table in &draft.mapping.tables {
        let of_table = |tab: &Tab| tab.name.is_empty() || table.tabs.contains(&tab.name);
        for (tab, layout) in found.iter().filter(|(tab, _)| of_table(tab)) {
            days.extend(
                data(tab, layout)
                    .filter_map(|row| stamp_of(row.cell(layout.date), table, &tab.name, None).ok())
                    .map(|s| s.date),
            );
        }
    }
    days.sort_unstable();
    days.dedup();
    let gaps: Vec<(NaiveDate, u32)> = days
        .windows(2)
        .filter_map(|pair| Some((*pair.first()?, u32::try_from((*pair.last()? - *pair.first()?).num_days()).ok()?)))
        .collect();
    let most = unusual(gaps.iter().map(|(_, days)| *days).collect());
    let holes: Vec<String> = gaps
        .iter()
        .filter(|(_, days)| *days > most)
        .filter_map(|(first, days)| {
            let last = first.checked_add_days(chrono::Days::new(u64::from(*days) - 1))?;
            Some(format!("{} to {last}", first.succ_opt()?))
        })
        .collect();
    if holes.is_empty() {
        return;
    }
    draft.questions.push(Question {
        about: About::Lost,
        text: format!(
            "no row stands for {}: are rows lost there, so that the count behind them is not of all those days?",
            holes.join(", and for ")
        ),
        options: vec![holes.join("; "), "nothing".into()],
        flag: format!("--lost \"{}\"", holes.join("; ")),
    });
}

/// The data rows of a tab.
pub(super) fn data<'a>(tab: &'a Tab, layout: &Layout) -> impl Iterator<Item = &'a GridRow> {
    let heading_row = layout.heading_row;
    tab.rows.iter().filter(move |row| row.number > heading_row && !row.is_blank() && !is_total(row))
}

fn looks(tab: &Tab, layout: &Layout) -> Vec<Look> {
    data(tab, layout).filter_map(|row| look(row.cell(layout.date))).collect()
}

fn needs_year(tab: &Tab, layout: &Layout) -> bool {
    looks(tab, layout).iter().any(|look| match look {
        Look::Clear { year } => !year,
        Look::Numbers(numbers) => numbers.year.is_none(),
        Look::Day(_) => layout.day_only,
    })
}

/// The order of day and month, as all tabs together say it; else it is asked.
fn order(found: &[(&Tab, Layout)], answers: &Answers, draft: &mut Draft) -> DateOrder {
    if let Some(order) = answers.dates {
        return order;
    }
    let numbers = |(tab, layout): &(&Tab, Layout)| -> Vec<TwoNumbers> {
        // On a tab of a month's days, the month says which of two numbers is the day.
        let of_month = layout.day_only.then(|| month_in(&tab.name)).flatten();
        let says = |n: &TwoNumbers| of_month.is_some_and(|month| n.first == month || n.second == month);
        let numbers = |look| if let Look::Numbers(numbers) = look { Some(numbers).filter(|n| !says(n)) } else { None };
        looks(tab, layout).into_iter().filter_map(numbers).collect()
    };
    let settled = order_of(&found.iter().map(numbers).collect::<Vec<_>>());
    match &settled {
        Order::ByRunningOn(order, example) => {
            draft.told.push(format!("{example} is read {}: only so do the dates run on from row to row", order.words()))
        }
        Order::Open(example) => ask_order(draft, &format!("`{example}` could mean two days")),
        Order::Mixed(..) => ask_order(draft, "some dates can only be day first and others only month first"),
        Order::NotNeeded | Order::ByNumbers(_) => {}
    }
    settled.known().unwrap_or(DateOrder::DayFirst)
}

fn ask_order(draft: &mut Draft, why: &str) {
    draft.questions.push(Question {
        about: About::Dates,
        text: format!("{why}: which comes first?"),
        options: vec!["day first".into(), "month first".into()],
        flag: "--dates \"day first\"".into(),
    });
}

/// The one year that a tab's name, the title or the file's name tells.
fn year_of(grid: &Grid, tab: &Tab, layout: &Layout, answers: &Answers) -> Option<i32> {
    let in_words = |text: &str| {
        let years: BTreeSet<i32> = text
            .split(|c: char| !c.is_ascii_digit())
            .filter(|run| run.len() == 4)
            .filter_map(|run| run.parse().ok())
            .filter(|year| (1980..=2100).contains(year))
            .collect();
        match years.len() {
            1 => years.into_iter().next(),
            _ => None,
        }
    };
    year_named(&tab.name)
        .or(answers.year)
        .or_else(|| in_words(&tab.name))
        .or_else(|| in_words(&layout.title))
        .or_else(|| year_of_tab(grid, &tab.name))
        .or_else(|| in_words(&grid.file))
}

/// Fills the table's columns. Gives whether one of them counts something.
fn columns(
    facility: &Facility,
    found: &[(&Tab, Layout)],
    (tab, layout): (&Tab, &Layout),
    answers: &Answers,
    table: &mut Table,
    (asked, draft): (&mut BTreeSet<String>, &mut Draft),
) -> bool {
    let mut counting = false;
    let row_place = place_column(facility, (tab, layout), answers, (asked, draft));
    let told = |at: usize, heading: &str| all_told_of(layout, answers, at, heading).collect();
    let of_letters = letter_columns(tab, layout, told, (asked, &mut draft.questions));
    for (at, heading) in layout.headings.iter().enumerate() {
        if at == layout.date {
            continue;
        }
        if let Some((_, column)) = row_place.iter().chain(&of_letters).find(|(column, _)| *column == at) {
            table.columns.push((at, column.clone()));
            continue;
        }
        // A column goes on from tab to tab under the same heading.
        let everywhere = found.iter().flat_map(|(tab, layout)| {
            let column = layout.headings.iter().position(|other| other == heading);
            column.into_iter().flat_map(|column| data(tab, layout).map(move |row| row.cell(column)))
        });
        let own = data(tab, layout).map(|row| row.cell(at));
        let values: Vec<&str> = if heading.is_empty() { own.collect() } else { everywhere.collect() };
        let values: Vec<&str> = values.into_iter().filter(|text| !text.is_empty()).collect();
        if values.is_empty() {
            continue;
        }
        let told = told_of(layout, answers, at, heading);
        let seen = Seen {
            heading,
            values,
            mark: table.mark,
            row_has_place: row_place.is_some(),
            in_rain_file: facility.weather.rain.as_ref().is_some_and(|rain| *rain.file == *draft.file),
        };
        if let Some(column) = told {
            let column = with_unit_of(column, heading);
            ask_factor(facility, &column, at, heading, (asked, draft));
            ask_unit(&column, at, &seen, (asked, draft));
            counting |= counts_something(&column);
            table.columns.push((at, column));
            continue;
        }
        match guess(facility, &seen) {
            Guess::Column(column) => {
                ask_factor(facility, &column, at, heading, (asked, draft));
                counting |= counts_something(&column);
                table.columns.push((at, column));
            }
            Guess::Time => table.time_column = Some(at),
            Guess::Unsure(why, options) => {
                let name = if heading.is_empty() { letters(at) } else { heading.clone() };
                // What hangs on the likeliest answer is asked in the same round; no draft with a question is used.
                if let Some(likely) = likeliest(&options) {
                    counting |= counts_something(&likely);
                    table.columns.push((at, likely));
                }
                // Under a group's heading on one tab and without it on another it is one column.
                if !asked.iter().any(|held| one_heading(held, &name)) && asked.insert(name.clone()) {
                    let first = options.first().cloned().unwrap_or_default();
                    draft.questions.push(Question {
                        flag: format!("--column '{name}={first}'"),
                        about: About::Column(name),
                        text: format!("{}: {why}", column_name(at, heading)),
                        options,
                    });
                }
            }
            Guess::Unknown => {
                let name = column_name(at, heading);
                if asked.insert(name.clone()) {
                    draft.told.push(format!(
                        "{name} is not read; to read it: --column '{}=place: …, what: …'",
                        if heading.is_empty() { letters(at) } else { heading.clone() }
                    ));
                }
                if !draft.unknown.contains(&name) {
                    draft.unknown.push(name);
                }
                table.columns.push((at, Column::NotRead));
            }
        }
    }
    one_received(layout, answers, table, draft);
    counting && skips_days(tab, layout, table)
}

/// The first of the answers to a column that is not clear; words in a column of looks are not asked before it is one.
fn likeliest(options: &[String]) -> Option<Column> {
    let column = column_on_a_line(options.first()?).ok()?;
    let is_look = matches!(&column, Column::Values { what, .. } if what == What::Look.words());
    (!is_look).then_some(column)
}

/// Of two columns of days on which results came in, the one on which they were reported; a laboratory's own `received` is of
/// the bottle. What the user said stays.
fn one_received(layout: &Layout, answers: &Answers, table: &mut Table, draft: &mut Draft) {
    let heading = |at: usize| layout.headings.get(at).map_or("", String::as_str);
    let guessed: Vec<usize> = table
        .columns
        .iter()
        .filter(|(at, column)| *column == Column::Received && told_of(layout, answers, *at, heading(*at)).is_none())
        .map(|(at, _)| *at)
        .collect();
    let Some(reported) = guessed.iter().find(|at| heading(**at).to_lowercase().contains("report")) else { return };
    for (at, column) in table.columns.iter_mut().filter(|(at, _)| guessed.contains(at) && at != reported) {
        *column = Column::NotRead;
        let line = format!(
            "{} is not read: results are known from {} on",
            column_name(*at, heading(*at)),
            column_name(*reported, heading(*reported))
        );
        if !draft.told.contains(&line) {
            draft.told.push(line);
        }
    }
}

/// What the user said of a column.
fn told_of<'a>(layout: &Layout, answers: &'a Answers, at: usize, heading: &str) -> Option<&'a Column> {
    all_told_of(layout, answers, at, heading).next()
}

/// All of it, the last said first.
fn all_told_of<'a>(
    layout: &Layout,
    answers: &'a Answers,
    at: usize,
    heading: &str,
) -> impl Iterator<Item = &'a Column> {
    let alone = |name: &str| layout.headings.iter().filter(|other| one_heading(other, name)).count() == 1;
    let told = answers.columns.iter().rev().filter(move |(name, _)| {
        name.trim().eq_ignore_ascii_case(heading)
            || !is_heading(layout, name) && (column_of(name) == Some(at) || one_heading(heading, name) && alone(name))
    });
    told.map(|(_, column)| column)
}

/// Whether of two headings one is the other with a group's words before it.
fn one_heading(one: &str, other: &str) -> bool {
    let (one, other) = (one.trim().to_lowercase(), other.trim().to_lowercase());
    let ends = |long: &str, short: &str| {
        !short.is_empty() && long.strip_suffix(short).is_some_and(|before| before.ends_with(' '))
    };
    ends(&one, &other) || ends(&other, &one)
}

/// The column that names the place of each row. A cell that stands for no place is asked about.
fn place_column(
    facility: &Facility,
    (tab, layout): (&Tab, &Layout),
    answers: &Answers,
    (asked, draft): (&mut BTreeSet<String>, &mut Draft),
) -> Option<(usize, Column)> {
    for (at, heading) in layout.headings.iter().enumerate().filter(|(at, _)| *at != layout.date) {
        let told = told_of(layout, answers, at, heading);
        let given = match told {
            // Each of several answers may say one cell.
            Some(Column::Place(_)) => all_told_of(layout, answers, at, heading)
                .filter_map(|column| if let Column::Place(names) = column { Some(names) } else { None })
                .fold(Default::default(), |mut all: std::collections::BTreeMap<_, _>, names| {
                    for (cell, place) in names {
                        all.entry(cell.clone()).or_insert_with(|| place.clone());
                    }
                    all
                }),
            Some(_) => continue,
            None => Default::default(),
        };
        let values: Vec<&str> = data(tab, layout)
            .map(|row| row.cell(at))
            .filter(|text| !text.is_empty() && !given.contains_key(*text))
            .collect();
        let (mut names, open) = match places_of_rows(facility, heading, &values) {
            Some((Column::Place(names), open)) => (names, open),
            _ if told.is_some() => (Default::default(), Vec::new()),
            _ => continue,
        };
        names.extend(given);
        let name = if heading.is_empty() { letters(at) } else { heading.clone() };
        for cell in open {
            if asked.insert(format!("{name} {cell}")) {
                let points = facility.places.iter().filter(|place| matches!(place.kind, PlaceKind::DischargePoint(_)));
                let options: Vec<String> = points
                    .map(|place| {
                        let mut all = names.clone();
                        all.insert(cell.clone(), place.name.clone());
                        inner(&Column::Place(all))
                    })
                    .chain(["not read".to_string()])
                    .collect();
                let first = options.first().cloned().unwrap_or_default();
                draft.questions.push(Question {
                    flag: format!("--column '{name}={first}'"),
                    about: About::Column(name.clone()),
                    text: format!("{}: which place is `{cell}`?", column_name(at, heading)),
                    options,
                });
            }
        }
        return Some((at, Column::Place(names)));
    }
    None
}

fn is_heading(layout: &Layout, name: &str) -> bool {
    layout.headings.iter().any(|heading| heading.eq_ignore_ascii_case(name.trim()))
}

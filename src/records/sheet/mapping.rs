//! The mapping file that says how a sheet is read: drafted by `bywash sheet`, editable by hand.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use chrono::{NaiveDate, NaiveTime};

use crate::files::{Field, Fields, Source, yaml};
use crate::quantity::{DateOrder, DecimalMark, Misread, count};
use crate::records::row::SinceTheLast;
use crate::records::sheet::cells::Cells;
use crate::records::sheet::grid::{column_of, letters};
use crate::records::sheet::habits::Habits;
use crate::records::sheet::letters::ACTS;
use crate::records::sheet::said::{FLAG_WORDS, lost_days};
use crate::records::words::What;
use crate::told::{Problem, Problems};

/// How a sheet is read.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Mapping {
    /// The sheet's own name, without its folder.
    pub sheet: String,
    /// Its tables: tabs of one layout each.
    pub tables: Vec<Table>,
    /// Days whose rows are lost, first and last; none where nobody said.
    pub lost: Option<Vec<(NaiveDate, NaiveDate)>>,
    /// What counts cover, where it was said and no column of the sheet holds any: a later one need not be asked about.
    pub counts: Option<Option<SinceTheLast>>,
    /// What its keeper said of his habits.
    pub habits: Habits,
    /// What some of its cells stand for.
    pub cells: Cells,
    /// The rows as they were when they were last looked at: key and digest.
    pub rows: BTreeMap<String, String>,
}

/// Tabs of one layout.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Table {
    /// The tabs; none for a CSV.
    pub tabs: Vec<String>,
    /// The last row of the headings: what is below it is read.
    pub heading_row: u32,
    /// The last row that is read; none where nothing else stands below.
    pub last_row: Option<u32>,
    /// The column of dates.
    pub date: usize,
    /// What the dates look like.
    pub order: Dates,
    /// The year of dates without one.
    pub year: Option<i32>,
    /// The column of times.
    pub time_column: Option<usize>,
    /// The time of all rows, where they have none of their own.
    pub time: Option<NaiveTime>,
    /// The mark before decimals.
    pub mark: DecimalMark,
    /// What the other columns hold, in order.
    pub columns: Vec<(usize, Column)>,
}

/// What dates look like.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Dates {
    /// Whole dates in this order.
    Order(DateOrder),
    /// Only the day of this month.
    DayOfMonth(u32),
}

impl Dates {
    /// How dates are read, in words.
    pub fn words(self, year: Option<i32>) -> String {
        let year = year.map(|year| format!(", of {year} where no year is written")).unwrap_or_default();
        match self {
            Self::Order(order) => format!("({}{year})", order.words()),
            Self::DayOfMonth(month) => format!("(days of month {month}{year})"),
        }
    }
}

/// What a column holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Column {
    /// The place that the row is of, by the names in its cells; what a cell's words stand for, where they are no name.
    Place(BTreeMap<String, String>),
    /// Values; without a place those of the row's.
    Values { place: String, what: String, parameter: Option<String>, unit: Option<String>, since: Option<SinceTheLast> },
    /// Flags of the row's rain, and what those mean that are not of the usual letters.
    Flag(BTreeMap<String, String>),
    /// How something was told; what a cell's words stand for, where they do not say call or letter.
    Act(BTreeMap<String, String>),
    /// What a call or letter is about.
    About,
    /// To whom it went.
    To,
    /// Whose hand it is.
    Who,
    /// Remarks.
    Note,
    /// The number of the paper.
    Paper,
    /// The day on which results were received.
    Received,
    /// Left out on purpose.
    NotRead,
}

impl Column {
    const WORDS: [(&'static str, Self); 7] = [
        ("about", Self::About),
        ("to whom", Self::To),
        ("who", Self::Who),
        ("note", Self::Note),
        ("paper", Self::Paper),
        ("received", Self::Received),
        ("not read", Self::NotRead),
    ];

    /// The column's meaning by a word of the mapping file.
    pub fn named(text: &str) -> Option<Self> {
        if text.trim().eq_ignore_ascii_case("place") {
            return Some(Self::Place(BTreeMap::new()));
        }
        if text.trim().eq_ignore_ascii_case("flag") {
            return Some(Self::Flag(BTreeMap::new()));
        }
        if text.trim().eq_ignore_ascii_case("act") {
            return Some(Self::Act(BTreeMap::new()));
        }
        Self::WORDS.into_iter().find(|(word, _)| word.eq_ignore_ascii_case(text.trim())).map(|(_, column)| column)
    }

    /// As it stands in the mapping file.
    pub fn text(&self) -> String {
        match self {
            Self::Values { place, what, parameter, unit, since } => {
                let mut parts = Vec::new();
                // A rain gauge needs no name, nor does what is of the row's place.
                if !place.is_empty() {
                    parts.push(format!("place: {}", quoted(place)));
                }
                parts.push(format!("what: {}", quoted(what)));
                parts.extend(parameter.as_ref().map(|text| format!("parameter: {}", quoted(text))));
                parts.extend(unit.as_ref().map(|text| format!("unit: {}", quoted(text))));
                parts.extend(since.map(|since| format!("counts: {}", since_words(since))));
                format!("{{{}}}", parts.join(", "))
            }
            Self::Place(names) => with_names("place", "place of the row", names),
            Self::Act(names) => with_names("act", "act of the row", names),
            Self::Flag(names) => with_names("flag", "flag of the row", names),
            other => {
                Self::WORDS.into_iter().find(|(_, column)| column == other).map_or("", |(word, _)| word).to_string()
            }
        }
    }
}

/// A column that is a word alone, or one whose cells stand for something else.
fn with_names(word: &str, key: &str, names: &BTreeMap<String, String>) -> String {
    if names.is_empty() {
        return word.to_string();
    }
    let names: Vec<String> =
        names.iter().map(|(cell, name)| format!("{}: {}", always_quoted(cell), quoted(name))).collect();
    format!("{{{key}: {{{}}}}}", names.join(", "))
}

const SINCE: [(&str, Option<SinceTheLast>); 3] = [
    ("that day", None),
    ("since the last row", Some(SinceTheLast::Entry)),
    ("since the last reading", Some(SinceTheLast::Reading)),
];

fn since_words(since: SinceTheLast) -> &'static str {
    SINCE.into_iter().find(|(_, held)| *held == Some(since)).map_or("", |(words, _)| words)
}

/// What the words `that day`, `since the last row`, `since the last reading` mean.
pub(crate) fn since_named(text: &str) -> Option<Option<SinceTheLast>> {
    SINCE.into_iter().find(|(words, _)| words.eq_ignore_ascii_case(text.trim())).map(|(_, since)| since)
}

/// Reads a column typed on one line, as after `--column B=`: a word, or `place: …, what: …`.
pub(crate) fn column_on_a_line(text: &str) -> Result<Column, String> {
    if let Some(column) = Column::named(text) {
        return Ok(column);
    }
    let inner = without_braces(text.trim());
    let problems = Problems::new();
    let source = Source::new("--column", &format!("column: {{{inner}}}\n"));
    let column = yaml::tree(&source, &problems).and_then(|tree| {
        let mut fields = Fields::of_file(&tree, &problems)?;
        let field = fields.may("column");
        let column = column(&field);
        fields.finish();
        column
    });
    match (column, problems.in_order().first()) {
        (Some(column), None) => Ok(column),
        (_, Some(problem)) => Err(match &problem.hint {
            Some(hint) => format!("{}; {hint}", problem.message),
            None => problem.message.clone(),
        }),
        (None, None) => Err("it is not a column".into()),
    }
}

/// A map in braces without them.
pub(crate) fn without_braces(text: &str) -> &str {
    text.strip_prefix('{').and_then(|text| text.strip_suffix('}')).unwrap_or(text)
}

impl Mapping {
    /// The name of the mapping file of a sheet.
    pub fn file_of(sheet: &str) -> String {
        crate::files::mapping_of(sheet)
    }

    /// Reads a mapping file. What is wrong is told.
    pub fn read(source: &Source, problems: &Problems) -> Option<Self> {
        let tree = yaml::tree(source, problems)?;
        let mut file = Fields::of_file(&tree, problems)?;
        let sheet = file.must("sheet", "wash sheet.xlsx").text();
        let tables: Vec<Option<Table>> = file
            .must("tables", "[{heading row: 3, date: {column: A, order: month first}, columns: {B: {place: M1 well, what: reading}}}]")
            .list()
            .iter()
            .map(table)
            .collect();
        let lost = lost(&file.may("lost"));
        let counts = file.may("counts").one_of(&SINCE).map(|said| said.value);
        let habits = Habits::read(&mut file);
        let cells = Cells::read(&mut file);
        let rows = file
            .may("rows")
            .named()
            .into_iter()
            .filter_map(|(key, field)| Some((key.value, field.text()?.value)))
            .collect();
        file.finish();
        Some(Self {
            sheet: sheet?.value,
            tables: tables.into_iter().collect::<Option<_>>()?,
            lost,
            counts,
            habits,
            cells,
            rows,
        })
    }

    /// The mapping file's text.
    pub fn to_yaml(&self) -> String {
        let mut out = String::new();
        let _ = writeln!(out, "# How bywash reads the sheet beside this file. The sheet itself is never changed.");
        let _ = writeln!(out, "# Made by `bywash sheet`; you may edit it. `not read` leaves a column out.");
        let _ = writeln!(out, "sheet: {}", quoted(&self.sheet));
        let _ = writeln!(out, "tables:");
        for table in &self.tables {
            let mut lead = "  - ";
            let mut line = |text: String| {
                let _ = writeln!(out, "{lead}{text}");
                lead = "    ";
            };
            if !table.tabs.is_empty() {
                let tabs: Vec<String> = table.tabs.iter().map(|tab| quoted(tab)).collect();
                line(format!("tabs: [{}]", tabs.join(", ")));
            }
            line(format!("heading row: {}", table.heading_row));
            if let Some(row) = table.last_row {
                line(format!("last row: {row}"));
            }
            let mut date = vec![format!("column: {}", letters(table.date))];
            match table.order {
                Dates::Order(order) => date.push(format!("order: {}", order.words())),
                Dates::DayOfMonth(month) => {
                    date.push("order: day of the month".into());
                    date.push(format!("month: {month}"));
                }
            }
            date.extend(table.year.map(|year| format!("year: {year}")));
            line(format!("date: {{{}}}", date.join(", ")));
            if let Some(column) = table.time_column {
                line(format!("time column: {}", letters(column)));
            }
            if let Some(time) = table.time {
                line(format!("time: \"{}\"", time.format("%H:%M")));
            }
            line(format!(
                "decimal mark: {}",
                match table.mark {
                    DecimalMark::Point => "point",
                    DecimalMark::Comma => "comma",
                }
            ));
            line("columns:".into());
            for (at, column) in &table.columns {
                line(format!("  {}: {}", letters(*at), column.text()));
            }
        }
        for line in self.habits.lines().into_iter().chain(self.cells.lines()) {
            let _ = writeln!(out, "{line}");
        }
        if let Some(since) = self.counts {
            let _ = writeln!(out, "counts: {}", since.map_or("that day", since_words));
        }
        if let Some(lost) = &self.lost {
            let days: Vec<String> = lost.iter().map(|(first, last)| format!("{first} to {last}")).collect();
            let _ = match days.as_slice() {
                [] => writeln!(out, "lost: nothing"),
                days => writeln!(out, "lost: [{}]", days.join(", ")),
            };
        }
        out.push_str(&self.rows_as_yaml());
        out
    }

    fn rows_as_yaml(&self) -> String {
        let mut out = String::new();
        if !self.rows.is_empty() {
            let _ = writeln!(out, "{ROWS_REMARK}\nrows:");
            for (key, digest) in &self.rows {
                let _ = writeln!(out, "  {}: \"{digest}\"", always_quoted(key));
            }
        }
        out
    }

    /// The mapping as its file over the file that stands there. Where nothing but the rows has changed, all else stays as
    /// the user left it; where more has, the user's remarks are kept at the end.
    pub fn to_yaml_over(&self, text: &str, before: &Self) -> String {
        let lines = |keep_rows: bool| {
            let mut in_rows = false;
            text.lines().filter(move |line| {
                in_rows = line.starts_with("rows:") || (in_rows && (line.starts_with(' ') || line.is_empty()));
                in_rows == keep_rows && *line != ROWS_REMARK
            })
        };
        let without_rows = |mapping: &Self| Self { rows: Default::default(), ..mapping.clone() }.to_yaml();
        if without_rows(self) == without_rows(before) {
            let kept: String = lines(false).map(|line| format!("{line}\n")).collect();
            return kept + &self.rows_as_yaml();
        }
        let mut out = self.to_yaml();
        let own = |line: &str| out.lines().any(|new| new == line);
        let remarks: Vec<String> = lines(false)
            .filter(|line| !own(line))
            .filter_map(|line| match line.trim_start() {
                whole if whole.starts_with('#') => Some(whole.to_owned()),
                said if said.contains(" #") => Some(format!("# {said}")),
                _ => None,
            })
            .filter(|line| !before.to_yaml().lines().any(|old| old == line))
            .collect();
        for remark in remarks {
            let _ = writeln!(out, "{remark}");
        }
        out
    }
}

/// Stands over the rows.
const ROWS_REMARK: &str = "# The rows as they were when `bywash sheet` last looked, to tell what is new or changed.";

fn lost(field: &Field) -> Option<Vec<(NaiveDate, NaiveDate)>> {
    if !field.is_there() {
        return None;
    }
    let items = field.one_or_more().into_iter();
    let days = items.map(|item| item.parse("days", "1 Feb 2025 to 28 Feb 2025", lost_days).map(|said| said.value));
    Some(days.collect::<Option<Vec<_>>>()?.into_iter().flatten().collect())
}

fn table(field: &Field) -> Option<Table> {
    let mut fields = field.fields()?;
    let tabs = fields.may("tabs").list().iter().filter_map(|tab| tab.text().map(|said| said.value)).collect();
    let heading_row = fields.must("heading row", "3").count(0, 1_000_000);
    let last_row = fields.may("last row").count(1, 1_000_000).and_then(|said| u32::try_from(said.value).ok());
    let date = fields.must("date", "{column: A, order: month first}").fields().and_then(|mut date| {
        let column = date.must("column", "A").parse("the letter of a column", "A", letter);
        let order = date.must("order", "month first").one_of(&[
            ("year first", Some(DateOrder::YearFirst)),
            ("day first", Some(DateOrder::DayFirst)),
            ("month first", Some(DateOrder::MonthFirst)),
            ("day of the month", None),
        ]);
        let month = date.may("month").count(1, 12);
        let year = date.may("year").count(1900, 2200);
        let place = date.place.clone();
        date.finish();
        let order = match order?.value {
            Some(order) => Dates::Order(order),
            None => match month {
                Some(month) => Dates::DayOfMonth(u32::try_from(month.value).ok()?),
                None => {
                    field.problems().add(
                        Problem::error(&place, "a date that is only the day of the month needs its month")
                            .hint("write it like month: 3"),
                    );
                    return None;
                }
            },
        };
        Some((column?.value, order, year.and_then(|said| i32::try_from(said.value).ok())))
    });
    let time_column = fields.may("time column").parse("the letter of a column", "B", letter).map(|said| said.value);
    let time = fields.may("time").clock().map(|said| said.value);
    let mark = fields
        .may("decimal mark")
        .one_of(&[("point", DecimalMark::Point), ("comma", DecimalMark::Comma)])
        .map_or(DecimalMark::Point, |said| said.value);
    let columns = fields
        .must("columns", "{B: {place: M1 well, what: reading}}")
        .named()
        .into_iter()
        .map(|(name, field)| match column_of(&name.value) {
            Some(at) => column(&field).map(|column| (at, column, field)),
            None => {
                field.problems().add(
                    Problem::error(&name.place, format!("`{}` is not the letter of a column", name.value))
                        .hint("write it like B"),
                );
                None
            }
        })
        .collect::<Option<Vec<_>>>();
    fields.finish();
    let columns = columns?;
    let rows_have_places = columns.iter().any(|(_, column, _)| matches!(column, Column::Place(_)));
    let columns = columns
        .into_iter()
        .map(|(at, column, field)| (rows_have_places || has_place(&field, &column)).then_some((at, column)))
        .collect::<Option<Vec<_>>>();
    let (date, order, year) = date?;
    Some(Table {
        tabs,
        heading_row: u32::try_from(heading_row?.value).ok()?,
        last_row,
        date,
        order,
        year,
        time_column,
        time,
        mark,
        columns: columns?,
    })
}

fn letter(text: &str) -> Result<usize, Misread> {
    column_of(text).ok_or_else(|| {
        let hint = match count(text) {
            Ok(number) if (1..=16_384).contains(&number) => {
                format!("write {}", letters(usize::try_from(number).unwrap_or(1).saturating_sub(1)))
            }
            _ => "write it like A".to_string(),
        };
        Misread::new(format!("`{text}` is not the letter of a column")).hint(hint)
    })
}

fn column(field: &Field) -> Option<Column> {
    if let Some(text) = field.plain_text() {
        let named = Column::named(text);
        if named.is_none() {
            field.refuse(
                format!("`{text}` does not say what the column holds"),
                "write {place: …, what: …}, or one of: place, flag, act, about, to whom, who, note, paper, received, not read",
            );
        }
        return named;
    }
    let mut fields = field.fields()?;
    let of_the_row = fields.may("place of the row");
    if of_the_row.is_there() {
        let names = of_the_row.named().into_iter();
        let names = names.map(|(cell, name)| Some((cell.value, name.name()?.value))).collect::<Option<_>>();
        fields.finish();
        return names.map(Column::Place);
    }
    let acts = fields.may("act of the row");
    if acts.is_there() {
        let named = acts.named().into_iter();
        let words = ACTS.map(|act| (act, act));
        let named =
            named.map(|(cell, act)| Some((cell.value, act.one_of(&words)?.value.to_owned()))).collect::<Option<_>>();
        fields.finish();
        return named.map(Column::Act);
    }
    let flags = fields.may("flag of the row");
    if flags.is_there() {
        let names = flags.named().into_iter();
        let names = names
            .map(|(cell, means)| Some((cell.value, means.one_of(&FLAG_WORDS)?.value.to_string())))
            .collect::<Option<_>>();
        fields.finish();
        return names.map(Column::Flag);
    }
    let field = fields.must("what", "reading");
    // Told once here, and not of every row.
    let what = field.text().filter(|said| {
        let is_word = What::named(&said.value).is_some();
        if !is_word {
            let (message, hint) = What::refusal(&said.value);
            field.refuse(message, hint);
        }
        is_word
    });
    let place = fields.may("place").text().map(|said| said.value).unwrap_or_default();
    let parameter = fields.may("parameter").text();
    let unit = fields.may("unit").text();
    let since = fields.may("counts").one_of(&SINCE);
    fields.finish();
    Some(Column::Values {
        place,
        what: what?.value,
        parameter: parameter.map(|said| said.value),
        unit: unit.map(|said| said.value),
        since: since.and_then(|said| said.value),
    })
}

/// Whether a column of values says of which place they are; told where it does not. A rain gauge needs no name.
fn has_place(field: &Field, column: &Column) -> bool {
    let lacks =
        matches!(column, Column::Values { place, what, .. } if place.is_empty() && !what.eq_ignore_ascii_case("rain"));
    if lacks {
        field.refuse(
            format!("`{}` has no `place`", field.last_key()),
            "write place: M1 well; or give a column that holds the names of places: `B: place`",
        );
    }
    !lacks
}

/// A text as YAML reads it back: plain where that is safe.
pub(crate) fn quoted(text: &str) -> String {
    let safe = !text.is_empty()
        && text.starts_with(|c: char| c.is_ascii_alphabetic())
        && text.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, ' ' | '.' | '-' | '_' | '/'))
        && text.trim() == text
        && !matches!(text.to_lowercase().as_str(), "yes" | "no" | "on" | "off" | "true" | "false" | "null" | "y" | "n");
    if safe { text.to_string() } else { always_quoted(text) }
}

pub(super) fn always_quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            c if c.is_control() => {
                let _ = write!(out, "\\x{:02x}", u32::from(c) & 0xff);
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

#[cfg(test)]
mod tests;

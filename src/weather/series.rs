//! Tables of dated values: rain, temperatures, a pan.

use std::sync::Arc;

use crate::files::{self, Sheet, Sources};
use crate::quantity::stamp;
use crate::quantity::{Cell, DecimalMark, Expected, Stamp, Unit, cell, two_numbers, unit, units};
use crate::told::{Place, Problem, Problems};

/// A value of one column on one row.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Dated {
    pub stamp: Stamp,
    pub cell: Cell,
    /// The unit, from the row or the heading.
    pub unit: Unit,
    pub place: Place,
}

impl Dated {
    /// The number in SI, if there is one.
    pub fn si(&self) -> Option<f64> {
        match &self.cell {
            Cell::Number { value, .. } => Some(self.unit.to_si_f64(value.to_f64())),
            _ => None,
        }
    }
}

/// A column to look for.
pub(crate) struct Wanted<'a> {
    /// What it is called in a message: `rain`.
    pub name: &'a str,
    /// Words one of which stands in its heading.
    pub words: &'a [&'a str],
    /// Words none of which stands in its heading.
    pub not: &'a [&'a str],
    /// What its values are.
    pub expected: Expected,
}

/// A table that was read, by column wanted.
pub(crate) struct Series {
    pub columns: Vec<Vec<Dated>>,
    /// Headings that name snow, with their places.
    pub snow: Vec<(String, Place)>,
}

/// Reads the columns wanted of a file. What is wrong is told, all of it; none when a column is missing.
pub(crate) fn series(
    file: &str,
    asked_at: &Place,
    wanted: &[Wanted],
    sources: &mut Sources,
    problems: &Problems,
) -> Option<Series> {
    let source: Arc<files::Source> = sources.text(file, Some(asked_at), problems)?;
    let sheet = Sheet::read(&source, b',', problems)?;
    let snow = sheet
        .headings
        .iter()
        .enumerate()
        .filter(|(_, heading)| tokens(heading).iter().any(|token| token.starts_with("snow")))
        .map(|(at, heading)| (heading.clone(), sheet.heading_place(at)))
        .collect();
    let date = date_column(&sheet, problems);
    let time = sheet.column("time");
    let unit_column = sheet.column("unit").or_else(|| sheet.column("units"));
    let found: Vec<Option<(usize, Option<Unit>)>> =
        wanted.iter().map(|wanted| column(&sheet, wanted, problems)).collect();
    let (Some(date), Some(found)) = (date, found.into_iter().collect::<Option<Vec<_>>>()) else {
        return None;
    };
    let order = sheet.order_of_dates(date, problems);
    let mut columns = vec![Vec::new(); wanted.len()];
    let mut unit_told = false;
    for row in &sheet.rows {
        let written = match time.filter(|time| *time != date).map(|time| row.cell(time)) {
            Some(time) if !time.is_empty() => format!("{} {time}", row.cell(date)),
            _ => row.cell(date).to_string(),
        };
        let stamp = match stamp(&written, order.unwrap_or_default(), None) {
            Ok(stamp) => stamp,
            // Asked once for the column.
            Err(_) if order.is_none() && two_numbers(row.cell(date)).is_some() => continue,
            Err(refusal) => {
                problems.add(Problem::misread(&sheet.place(row, date), refusal));
                continue;
            }
        };
        for ((wanted, (at, heading_unit)), out) in wanted.iter().zip(&found).zip(&mut columns) {
            let place = sheet.place(row, *at);
            let read = match cell(row.cell(*at), DecimalMark::Point) {
                Ok(read) => read,
                Err(refusal) => {
                    problems.add(Problem::misread(&place, refusal));
                    continue;
                }
            };
            let typed = match &read {
                Cell::Number { behind, .. } if !behind.is_empty() => Some((behind.clone(), place.clone())),
                _ => unit_column
                    .map(|column| (row.cell(column).to_string(), sheet.place(row, column)))
                    .filter(|(text, _)| !text.is_empty()),
            };
            let read_unit = match typed {
                Some((text, unit_place)) => match unit(&text, &wanted.expected) {
                    Ok(unit) => Some(unit),
                    Err(refusal) => {
                        problems.add(Problem::misread(&unit_place, refusal));
                        continue;
                    }
                },
                None => *heading_unit,
            };
            let is_number = matches!(read, Cell::Number { .. });
            let Some(read_unit) =
                read_unit.or_else(|| (!is_number).then(|| wanted.expected.units.first().copied()).flatten())
            else {
                if !unit_told {
                    let heading = sheet.headings.get(*at).cloned().unwrap_or_default();
                    problems.add(
                        Problem::error(
                            &sheet.heading_place(*at),
                            format!("the {} of this column has no unit", wanted.name),
                        )
                        .hint(format!(
                            "write it into the heading, like `{heading} ({})`",
                            example_unit(&wanted.expected)
                        )),
                    );
                    unit_told = true;
                }
                continue;
            };
            out.push(Dated { stamp, cell: read, unit: read_unit, place });
        }
    }
    for column in &mut columns {
        column.sort_by(|a, b| (a.stamp, &a.place).cmp(&(b.stamp, &b.place)));
    }
    Some(Series { columns, snow })
}

fn example_unit(expected: &Expected) -> &'static str {
    if expected.units.contains(&units::IN) { "in" } else { expected.units.first().map_or("", |unit| unit.name) }
}

fn tokens(heading: &str) -> Vec<String> {
    heading
        .split(|c: char| !(c.is_alphanumeric() || c == '\u{b0}'))
        .filter(|token| !token.is_empty())
        .map(str::to_lowercase)
        .collect()
}

fn date_column(sheet: &Sheet, problems: &Problems) -> Option<usize> {
    let named =
        ["date", "day", "date and time", "datetime", "timestamp"].iter().find_map(|name| sheet.column_of_dates(name));
    let by_word = || sheet.headings.iter().position(|heading| tokens(heading).iter().any(|token| token == "date"));
    let found = named.or_else(by_word);
    if found.is_none() {
        let place = Place::line(&sheet.heading_place(0).file, sheet.heading.line);
        problems.add(
            Problem::error(&place, "no column is called `date`")
                .hint(format!("call it so, or say once how the file is read: bywash sheet \"{}\"", place.file)),
        );
    }
    found
}

fn column(sheet: &Sheet, wanted: &Wanted, problems: &Problems) -> Option<(usize, Option<Unit>)> {
    let fits = |heading: &str| {
        let tokens = tokens(heading);
        let has = |words: &[&str]| tokens.iter().any(|token| words.contains(&token.as_str()));
        has(wanted.words) && !has(wanted.not)
    };
    let found: Vec<(usize, &String)> = sheet.headings.iter().enumerate().filter(|(_, heading)| fits(heading)).collect();
    match found.as_slice() {
        [(at, heading)] => {
            // In brackets, like `wind (m/s)`; else a word of its own.
            let bracketed = heading
                .rsplit_once('(')
                .and_then(|(_, rest)| rest.split_once(')'))
                .and_then(|(text, _)| unit(text.trim(), &wanted.expected).ok());
            let unit = bracketed.or_else(|| {
                tokens(heading)
                    .iter()
                    .filter(|token| !wanted.words.contains(&token.as_str()))
                    .find_map(|token| unit(token, &wanted.expected).ok())
            });
            Some((*at, unit))
        }
        [] => {
            let place = Place::line(&sheet.heading_place(0).file, sheet.heading.line);
            problems.add(Problem::error(&place, format!("no column holds the {}", wanted.name)).hint(format!(
                "call it one of: {}; or say once how the file is read: bywash sheet \"{}\"",
                wanted.words.join(", "),
                place.file
            )));
            None
        }
        [(first, one), (_, other), ..] => {
            problems.add(
                Problem::error(
                    &sheet.heading_place(*first),
                    format!("two columns could hold the {}: `{one}` and `{other}`", wanted.name),
                )
                .hint("rename the one that is not meant"),
            );
            None
        }
    }
}

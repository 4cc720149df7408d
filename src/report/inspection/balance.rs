//! The water balance by month, as a picture and a table, and by season.

use chrono::NaiveDate;

use crate::balance::{Basis, Node};
use crate::facility::model::PlaceKind;
use crate::page::document as page;
use crate::page::document::{Cell, Chart, Column, Document, Hue, Mark, Panel, Row, RowKind, Series, Table};
use crate::report::inspection::about::{Case, Steps, basis, day, month, with_key};
use crate::report::inspection::known::{Known, NOT_SHOWN, WaysOut};
use crate::report::inspection::water_year;

/// Most months that the picture has room for.
const MOST_BARS: usize = 18;

/// What ponds lose, in a word.
const AIR_AND_GROUND: &str = "air and ground";

/// What stands in a narrow column for what is not known.
const NOT_KNOWN: &str = "?";

/// What is known of an amount that lacks a part, short enough for its column.
fn at_least(cell: Cell) -> Cell {
    match cell.text() {
        words if words == NOT_SHOWN => Cell::words(NOT_KNOWN),
        words => Cell::words(words.replace("at least ", "≥\u{a0}")),
    }
}

/// Writes the section: a picture of the months, and the same as a table.
pub fn write(case: &Case, doc: &mut Document) {
    let steps = case.steps();
    doc.heading(2, format!("Water by {}", steps.word));
    if (2..=MOST_BARS).contains(&steps.rows.len()) {
        picture(case, &steps, doc);
    }
    doc.table(table(case, &format!("Water balance by {}", steps.word), steps.head, &steps.rows));
    doc.paragraph(water_year::what_balancing_shows(case));
}

/// The same by month, for the annex, where the report has years.
pub fn by_month(case: &Case, doc: &mut Document) {
    if !case.steps().are_years() {
        return;
    }
    doc.heading(2, "Water by month");
    let months: Vec<(String, NaiveDate, NaiveDate)> =
        case.months().into_iter().map(|(from, to)| (month(from), from, to)).collect();
    doc.table(table(case, "Water balance by month", "Month", &months));
}

/// The same by season, for the annex.
pub fn by_season(case: &Case, doc: &mut Document) {
    let seasons = seasons(case);
    if !seasons.is_empty() {
        doc.heading(2, "Water by season");
        doc.table(table(case, "Water balance by season", "Season", &seasons));
    }
}

/// A part of a stacked bar: its name, its hue, which figure of a line it is.
type Part<'a> = (&'a str, Hue, &'a dyn Fn(&Line) -> (f64, Basis));

/// What came in and what went out, one on top of the other.
fn picture(case: &Case, steps: &Steps, doc: &mut Document) {
    let (months, word) = (&steps.rows, steps.word);
    let unit = case.large_volume();
    let ways = WaysOut::of(case);
    let lines: Vec<Line> = months.iter().map(|(_, from, to)| line(case, &ways, *from, *to)).collect();
    let stack = |parts: &[Part]| -> Vec<Series> {
        parts
            .iter()
            .map(|(name, hue, of)| {
                let values = lines.iter().map(|line| Some(of(line)).filter(|(_, b)| !b.has(Basis::UNKNOWN)));
                let known = lines.iter().fold(Basis::default(), |all, line| all.or(of(line).1));
                Series::new(
                    *name,
                    Mark::Stacked,
                    *hue,
                    basis(known).unwrap_or(page::Basis::Computed),
                    values.map(|value| value.map(|(m3, _)| unit.of(m3))).collect(),
                )
            })
            .filter(|series| series.values.iter().any(|value| value.is_some_and(|v| v > 0.0)))
            .collect()
    };
    let came = stack(&[("rain", Hue::Pool, &|line| line.rain), ("supplies", Hue::Loam, &|line| line.supplies)]);
    let both = |(a, known): (f64, Basis), (b, also): (f64, Basis)| (a + b, known.or(also));
    let went = stack(&[
        // Of what left, what is known: the mark below says where a part lacks.
        ("left the site", Hue::Loam, &|line| {
            if line.left.lacks { (line.left.sum, line.left.of) } else { line.discharged }
        }),
        ("crops", Hue::Clay, &|line| line.crops),
        ("soaked in", Hue::Straw, &|line| line.soaked),
        (AIR_AND_GROUND, Hue::Damson, &|line| both(line.evaporated, line.seeped)),
    ]);
    let lost = went.iter().any(|series| series.name == AIR_AND_GROUND);
    // A bar that lacks a part is marked below: it would pass for the whole.
    let lacks = |line: &Line| {
        let all = [line.supplies, line.rain, line.crops, line.soaked, line.evaporated, line.seeped, line.discharged];
        line.left.lacks || all.iter().any(|(_, of)| of.has(Basis::UNKNOWN))
    };
    let (some_lack, all_lack) = (lines.iter().any(lacks), lines.iter().all(lacks));
    // Where each of them lacks something, one sentence says it.
    let marked = months.iter().zip(&lines).map(|((name, ..), line)| match lacks(line) && !all_lack {
        true => format!("{name} {NOT_KNOWN}"),
        false => name.clone(),
    });
    let names = marked.collect();
    let mut chart = Chart::over_classes(names);
    for (quantity, series) in [("Came in", came), ("Went out", went)] {
        if series.is_empty() {
            continue;
        }
        let mut panel = Panel::new(quantity, format!("{} a {word}", unit.name));
        panel.series = series;
        chart = chart.panel(panel);
    }
    if !chart.panels.is_empty() {
        let ponds = if lost { "; “air and ground” is what evaporated and seeped from ponds" } else { "" };
        let caption = format!("Water by {word}{ponds}");
        let lacking = match (all_lack, some_lack) {
            (true, _) => format!("; each bar lacks what is not known of its {word}"),
            (false, true) => format!("; under “?” the bar lacks what is not known of the {word}"),
            (false, false) => String::new(),
        };
        let caption = with_key(&format!("{caption}{lacking}"), &chart);
        doc.chart(
            chart,
            format!("What came in and what went out, by {word}; the table below has the figures."),
            caption,
        );
    }
}

/// Unbroken stretches of the period that lie in one season; a season cut by the period's ends comes in parts.
pub fn seasons(case: &Case) -> Vec<(String, NaiveDate, NaiveDate)> {
    let name = |date: NaiveDate| {
        case.facility.seasons.iter().find(|season| season.days.contains(date)).map(|season| season.name.clone())
    };
    let mut out: Vec<(String, NaiveDate, NaiveDate)> = Vec::new();
    for date in case.period.0.iter_days().take_while(|date| *date <= case.period.1) {
        let Some(season) = name(date) else { continue };
        match out.last_mut() {
            Some((last, _, to)) if *last == season && to.succ_opt() == Some(date) => *to = date,
            _ => out.push((season, date, date)),
        }
    }
    for (name, from, to) in &mut out {
        *name = format!("{name}, {} to {}", from.format("%-d %b"), day(*to));
    }
    out
}

#[derive(Default)]
struct Line {
    supplies: (f64, Basis),
    rain: (f64, Basis),
    crops: (f64, Basis),
    soaked: (f64, Basis),
    evaporated: (f64, Basis),
    seeped: (f64, Basis),
    discharged: (f64, Basis),
    /// What is known of what left.
    left: Known,
    gain: f64,
    /// Whether what stores held is known at both ends.
    gain_known: bool,
    /// None where no reading met a computed figure.
    unaccounted: Option<f64>,
}

/// What came in and went out between two days.
fn line(case: &Case, ways: &WaysOut, from: NaiveDate, to: NaiveDate) -> Line {
    let account = case.ledger.account(from, to);
    let mut line = Line {
        gain: account.stores_gain_m3,
        gain_known: water_year::gain_is_known(case, from, to),
        unaccounted: water_year::compares(&account).then(|| account.unaccounted_m3()),
        ..Line::default()
    };
    let add = |to: &mut (f64, Basis), amount: &crate::balance::Amount| {
        to.0 += amount.water_m3;
        to.1 = to.1.or(amount.water_basis);
    };
    for (node, amount) in &account.came_in {
        match node {
            Node::Rain => add(&mut line.rain, amount),
            _ => add(&mut line.supplies, amount),
        }
    }
    for (node, amount) in &account.went_out {
        match node {
            Node::Crop => add(&mut line.crops, amount),
            Node::Retained => add(&mut line.soaked, amount),
            Node::Evaporation => add(&mut line.evaporated, amount),
            Node::Seepage => add(&mut line.seeped, amount),
            Node::Place(id)
                if matches!(case.facility.get(*id).map(|place| &place.kind), Some(PlaceKind::DischargePoint(_))) =>
            {
                add(&mut line.discharged, amount);
            }
            _ => add(&mut line.discharged, amount),
        }
    }
    // Of an outfall that was seen flowing, or of which a day is not known, there is no sum of what left.
    let left = ways.between(from, to);
    line.left = left.known;
    if !left.in_part.is_empty() {
        line.discharged.1 = line.discharged.1.or(Basis::UNKNOWN);
    }
    if water_year::rain_is_not_known(case) {
        line.rain.1 = line.rain.1.or(Basis::UNKNOWN);
        line.soaked.1 = line.soaked.1.or(Basis::UNKNOWN);
    }
    line
}

/// The columns of the balance, what came in first.
const COLUMNS: [&str; 9] =
    ["Supplies", "Rain", "Crops", "Soaked in", "Evaporated", "Seeped", "Left the site", "Stores gain", "Unaccounted"];

fn table(case: &Case, caption: &str, head: &str, rows: &[(String, NaiveDate, NaiveDate)]) -> Table {
    let unit = case.large_volume();
    let ways = WaysOut::of(case);
    let whole = line(case, &ways, case.period.0, case.period.1);
    // What no place of the site has is no column.
    let is_there = |(m3, of): (f64, Basis)| m3 != 0.0 || basis(of).is_some() || of.has(Basis::UNKNOWN);
    let there = [
        is_there(whole.supplies),
        is_there(whole.rain),
        is_there(whole.crops),
        is_there(whole.soaked),
        is_there(whole.evaporated),
        is_there(whole.seeped),
        true,
        true,
        true,
    ];
    let kept: Vec<&str> = COLUMNS.iter().zip(there).filter(|(_, there)| *there).map(|(name, _)| *name).collect();
    let mut columns = vec![Column::words(head).wide(86.0)];
    columns.extend(kept.iter().map(|name| Column::figures(*name, "")));
    let mut table = Table::new(columns).caption(format!("{caption}, {}", unit.name)).wide();
    let cells = |name: &str, line: &Line| {
        let cell = |(m3, of): (f64, Basis)| {
            if of.has(Basis::UNKNOWN) {
                return Cell::words(NOT_KNOWN);
            }
            match basis(of) {
                Some(known) => Cell::figure(unit.of(m3), unit.digits, known),
                None => Cell::number(unit.of(m3), unit.digits),
            }
        };
        let computed = |m3: f64| Cell::figure(unit.of(m3), unit.digits, page::Basis::Computed);
        let figures = [
            cell(line.supplies),
            cell(line.rain),
            cell(line.crops),
            cell(line.soaked),
            cell(line.evaporated),
            cell(line.seeped),
            if line.left.lacks { at_least(line.left.cell(unit)) } else { cell(line.discharged) },
            if line.gain_known { computed(line.gain) } else { Cell::words(NOT_KNOWN) },
            line.unaccounted.map_or_else(Cell::nothing, computed),
        ];
        let figures = figures.into_iter().zip(there).filter(|(_, there)| *there).map(|(cell, _)| cell);
        std::iter::once(Cell::words(name)).chain(figures).collect::<Vec<Cell>>()
    };
    // Of one row the sum is that row.
    let alone = match rows {
        [(name, from, to)] if (*from, *to) == case.period => Some(name.as_str()),
        _ => None,
    };
    for (name, from, to) in rows.iter().filter(|_| alone.is_none()) {
        table.row(cells(name, &line(case, &ways, *from, *to)));
    }
    let sum = cells(alone.unwrap_or("In all"), &whole);
    let kind = match water_year::residual(case) {
        Some(residual) => RowKind::Closed { residual },
        None => RowKind::Sum,
    };
    table.rows.push(Row::new(sum).kind(kind));
    let (came, went): (Vec<&str>, Vec<&str>) =
        kept.iter().partition(|name| COLUMNS.iter().take(2).any(|of| of == *name));
    table.note(format!(
        "{} = {}, within rounding. “Left the site” is what went to outfalls, sewers, land and hauliers.",
        if came.is_empty() { "0".to_owned() } else { came.join(" + ").replace("+ Rain", "+ rain") },
        went.join(" + ").to_lowercase(),
    ));
    let unknown = |row: &Row| row.cells.iter().any(|cell| cell.text() == NOT_KNOWN);
    if table.rows.iter().any(unknown) {
        table.note(format!("“{NOT_KNOWN}”: depends on something that is not known."));
    }
    if let Some(lacking) = ways.between(case.period.0, case.period.1).lacking() {
        table.note(format!("What left the site is without {lacking}."));
    }
    table
}

//! The case's tables: what each option is, service, water, solids, filters, work, limits.

use crate::compare::{Kind, Predicted, What};
use crate::facility::kinds::{Counted, pieces};
use crate::facility::model::PlaceKind;
use crate::page::document::{Basis, Cell, Column, Document, Row, RowKind, Table, Text, figures};
use crate::report::case::limits as compare_limits;
use crate::report::case::page::{first_capital, gathered, percent};
use crate::report::case::{AS_IS, ComparedCase, digits, shown, spread, three, units};
use crate::report::units::Unit;
use crate::rules::Outcome;

/// What each option is.
pub fn options(case: &ComparedCase<'_>, doc: &mut Document) {
    doc.heading(2, "What is compared");
    doc.paragraph(
        "Every option is computed, the site as it stands too: no reading of a meter, no wash log and no sample drives any of \
         them, so that none is measured at its worst against another reckoned at its best. All see the same rain, and each \
         draw takes the same value for whatever is typed alike in two options.",
    );
    let mut rows = Vec::new();
    for (option, of) in study_options(case) {
        let of = &of.alternative;
        let mut words = Vec::new();
        match &of.file {
            None => words.push("facility.yaml as it is.".to_owned()),
            Some(file) => words.push(format!("{file}.")),
        }
        for (new, old) in &of.renamed {
            words.push(format!("{new} in place of {old}."));
        }
        let removed: Vec<&str> =
            of.gone.iter().filter(|name| !of.renamed.iter().any(|(_, old)| old == *name)).map(String::as_str).collect();
        if !removed.is_empty() {
            words.push(format!("Gone: {}.", removed.join(", ")));
        }
        for paid in &of.pays_once {
            words.push(format!(
                "Bought once: {}, {}, lasts {} years.",
                paid.what,
                paid.price.text,
                shown(paid.lasts_years)
            ));
        }
        if !of.limits_gone.is_empty() {
            words.push(format!(
                "Limits that apply no longer, as what they speak of is gone: {}.",
                of.limits_gone.join(", ")
            ));
        }
        rows.push((case.name(option).to_owned(), Text::from(words.join(" "))));
    }
    doc.definitions(rows);
}

fn study_options<'a>(case: &ComparedCase<'a>) -> impl Iterator<Item = (usize, &'a crate::compare::Computed)> + use<'a> {
    case.study.options.iter().enumerate()
}

/// A head for each option, after the first column's.
pub fn columns(case: &ComparedCase<'_>, first: &str) -> Vec<Column> {
    headed(case, vec![Column::words(first)], 0)
}

/// A head for each option but the site as it stands, after the first column's.
pub fn others(case: &ComparedCase<'_>, first: &str) -> Vec<Column> {
    headed(case, vec![Column::words(first)], 1)
}

fn headed(case: &ComparedCase<'_>, mut columns: Vec<Column>, from: usize) -> Vec<Column> {
    for option in case.options().skip(from) {
        columns.push(Column::words(case.short(option)).right());
    }
    columns
}

/// Equal service.
pub fn service(case: &ComparedCase<'_>, doc: &mut Document) {
    let rule = &case.study.prices.service;
    doc.heading(2, "Do all of them serve the uses alike?");
    doc.paragraph(format!(
        "A proposal that gives less is no saving. Taken as alike: the year's water to each use and its largest day within \
         {} %, in every draw{}. What differs more is told on page 1, and there is no verdict.",
        shown(rule.within * 100.0),
        match rule.target_m {
            Some(_) => format!(
                "; solids coarser than {} in that water within {} mg/L, in the middle of the ranges",
                rule.target_text,
                shown(rule.most_kg_m3 * 1000.0)
            ),
            None => String::new(),
        }
    ));
    let water = units(case).water;
    let columns = headed(case, vec![Column::words("Use"), Column::words("What")], 0);
    let mut table = Table::new(columns).caption("Service of each use").wide();
    let Some(first) = case.study.service.first() else {
        return;
    };
    for line in &first.lines {
        let (words, of): (String, Box<dyn Fn(f64) -> String>) = match line.what {
            What::Water => (format!("water a year, {}", water.name), Box::new(move |v| shown(water.of(v)))),
            What::Peak => (format!("largest day, {}", water.name), Box::new(move |v| shown(water.of(v)))),
            What::Coarse => {
                (format!("coarser than {}, mg/L", rule.target_text), Box::new(|v| figures::number(v * 1000.0, 2)))
            }
        };
        let mut cells = vec![Cell::words(line.name.clone()), Cell::words(words), Cell::words(of(line.before))];
        for served in &case.study.service {
            let other = served.lines.iter().find(|other| other.name == line.name && other.what == line.what);
            cells.push(Cell::words(match other {
                None => "not served".to_owned(),
                Some(other) if other.alike => of(other.after),
                Some(other) => format!("{}: not alike", of(other.after)),
            }));
        }
        table.row(cells);
    }
    doc.table(table);
}

/// Ids of a kind over all options, with the name under which they print.
fn ids(case: &ComparedCase<'_>, kind: Kind) -> Vec<(String, String)> {
    let mut out: Vec<(String, String)> = Vec::new();
    for of in &case.study.options {
        for quantity in of.quantities.list.iter().filter(|q| q.kind == kind) {
            if !out.iter().any(|(id, _)| *id == quantity.id) {
                out.push((quantity.id.clone(), quantity.name.clone()));
            }
        }
    }
    out
}

/// The single run's figure of an id in each option.
fn singles(case: &ComparedCase<'_>, kind: Kind, id: &str) -> Vec<Option<f64>> {
    case.options()
        .map(|option| {
            let paired = case.study.paired(option, kind);
            match paired.iter().find(|of| of.id == id) {
                None => Some(0.0),
                Some(of) if of.missing.is_some() => None,
                Some(of) => of.values.first().copied(),
            }
        })
        .collect()
}

fn figure(value: Option<f64>, unit: Unit) -> Cell {
    match value {
        None => Cell::words("not shown"),
        Some(value) => {
            let value = unit.of(value);
            Cell::figure(three(value), digits(three(value)).min(1), Basis::Computed)
        }
    }
}

fn number_columns(case: &ComparedCase<'_>, first: &str, unit: &str) -> Vec<Column> {
    let mut columns = vec![Column::words(first)];
    for option in case.options() {
        columns.push(Column::figures(case.short(option), unit));
    }
    columns
}

fn account(
    case: &ComparedCase<'_>,
    doc: &mut Document,
    what: &str,
    unit: Unit,
    kinds: (Kind, Kind, Kind),
    residual: Option<String>,
) {
    let mut table = Table::new(number_columns(case, "", unit.name))
        .caption(format!("{what} by where it comes from and ends, a year, one run in the middle of every range"))
        .wide();
    for (words, kind, sum_words) in
        [("Came in", kinds.0, "All that came in"), ("Went out or stayed", kinds.1, "All that went out or stayed")]
    {
        table.group(words);
        let mut totals = vec![Some(0.0); case.study.options.len()];
        let mut lines: Vec<(String, Vec<Option<f64>>)> =
            ids(case, kind).into_iter().map(|(id, name)| (name, singles(case, kind, &id))).collect();
        if kind == kinds.1 {
            for (id, name) in ids(case, kinds.2) {
                lines.push((name, singles(case, kinds.2, &id)));
            }
        }
        for (name, values) in lines {
            for (total, value) in totals.iter_mut().zip(&values) {
                *total = total.zip(*value).map(|(a, b)| a + b);
            }
            if values.iter().all(|v| *v == Some(0.0)) {
                continue;
            }
            let mut cells = vec![Cell::words(first_capital(&name))];
            cells.extend(values.into_iter().map(|value| figure(value, unit)));
            table.row(cells);
        }
        let mut cells = vec![Cell::words(sum_words)];
        cells.extend(totals.into_iter().map(|value| figure(value, unit)));
        match (&residual, kind == kinds.1) {
            (Some(residual), true) => {
                table.rows.push(Row::new(cells).kind(RowKind::Closed { residual: residual.clone() }));
            }
            _ => {
                table.sum(cells);
            }
        }
    }
    doc.table(table);
    let mut more = Table::new(others(case, "More than as it stands"))
        .caption(format!("{what}: differences, {} a year (median of the draws, and where nine in ten lie)", unit.name))
        .wide();
    for kind in [kinds.0, kinds.1, kinds.2] {
        for (id, name) in ids(case, kind) {
            let cells: Vec<crate::compare::Cell> = case
                .options()
                .skip(1)
                .map(|option| {
                    let only = |option: usize| {
                        case.study.paired(option, kind).into_iter().filter(|of| of.id == id).collect::<Vec<_>>()
                    };
                    crate::compare::difference(&only(option), &only(0), case.study.runs())
                })
                .collect();
            let words: Vec<String> = cells.iter().map(|cell| spread(cell, unit)).collect();
            // A tenth of a unit in every option is no difference a reader can use.
            let hardly = |cell: &crate::compare::Cell| {
                cell.spread().is_some_and(|of| unit.of(of.low).abs().max(unit.of(of.high).abs()) < 0.1)
            };
            if cells.iter().all(hardly) {
                continue;
            }
            let mut row = vec![Cell::words(first_capital(&name))];
            row.extend(words.into_iter().map(Cell::words));
            more.row(row);
        }
    }
    if more.rows.is_empty() {
        doc.paragraph("Nothing differs between the options.");
    } else {
        more.note("What is not listed does not differ by as much as prints.");
        doc.table(more);
    }
}

/// The largest residual over the options in words, if every ledger closed.
fn residual(case: &ComparedCase<'_>) -> Option<String> {
    let mut worst = 0.0_f64;
    for of in &case.study.options {
        of.run.ledger.check_residuals().ok()?;
        worst = worst.max(of.run.ledger.largest_water_residual().map_or(0.0, |residual| residual.amount.abs()));
    }
    let unit = crate::report::units::volume(case.system());
    Some(format!("largest residual {}", figures::with_unit(unit.of(worst), 1, unit.name)))
}

/// Water by where it ends.
pub fn water(case: &ComparedCase<'_>, doc: &mut Document) {
    doc.heading(2, "Water, by where it ends");
    account(case, doc, "Water", units(case).water, (Kind::CameIn, Kind::WentOut, Kind::Fuller), residual(case));
}

/// Solids by where they end.
pub fn solids(case: &ComparedCase<'_>, doc: &mut Document) {
    doc.heading(2, "Solids, by where they end");
    account(case, doc, "Dry solids", units(case).mass, (Kind::SolidsIn, Kind::SolidsOut, Kind::SolidsHeld), None);
}

/// What each filter does.
pub fn filters(case: &ComparedCase<'_>, doc: &mut Document) {
    doc.heading(2, "What each filter does, a year");
    let water = units(case).water;
    let mut table = Table::new(vec![
        Column::words("Filter"),
        Column::words("Option"),
        Column::figures("Washes", ""),
        Column::figures("Changes", ""),
        Column::figures("Used up", ""),
        Column::figures("Wash and drained water", water.name),
        Column::figures("In wash or change", "h"),
    ])
    .caption("What each filter does, a year, one run in the middle of every range")
    .wide();
    for place in &case.facility.places {
        if !matches!(place.kind, PlaceKind::Filter(_)) {
            continue;
        }
        let mut before: Option<Vec<Option<f64>>> = None;
        for (option, of) in study_options(case) {
            let name = of
                .alternative
                .facility
                .places
                .iter()
                .map(|p| p.name.as_str())
                .find(|name| of.alternative.old_name(name) == place.name);
            let Some(name) = name else { continue };
            let value = |kind: Kind| -> Option<f64> {
                let paired = case.study.paired(option, kind);
                let found = paired.iter().find(|of| of.id == place.name)?;
                match found.missing {
                    Some(_) => None,
                    None => found.values.first().copied(),
                }
            };
            let kinds = [Kind::Washes, Kind::Changes, Kind::UsedUp, Kind::WashWater, Kind::Downtime];
            let values: Vec<Option<f64>> = kinds.iter().map(|kind| value(*kind)).collect();
            if values.iter().all(Option::is_none) {
                continue;
            }
            // A filter that does the same in an option, as far as prints, is not listed again.
            let alike = before.as_ref().is_some_and(|before| {
                before.iter().zip(&values).all(|(a, b)| match (a, b) {
                    (Some(a), Some(b)) => three(*a) == three(*b),
                    (None, None) => true,
                    _ => false,
                })
            });
            if alike && name == place.name {
                continue;
            }
            if option == 0 {
                before = Some(values.clone());
            }
            let mut cells = vec![Cell::words(name.to_owned()), Cell::words(case.short(option))];
            for (kind, value) in kinds.iter().zip(values) {
                let unit = if *kind == Kind::WashWater { water } else { AS_IS };
                cells.push(match value {
                    None => Cell::nothing(),
                    some => figure(some, unit),
                });
            }
            table.row(cells);
        }
    }
    table.note(format!("A filter that does the same as it stands is not listed again. Used up: {}.", pieces_used_up()));
    doc.table(table);
}

/// All pieces that kinds of filter use up, and how they are counted: `bags, cartridges, or rolls by their length`.
fn pieces_used_up() -> String {
    let mut words: Vec<String> = pieces()
        .into_iter()
        .map(|pieces| match pieces.counted {
            Counted::AtChanges => pieces.many.to_owned(),
            Counted::ByLength => format!("{} by their length", pieces.many),
        })
        .collect();
    if let Some(last) = words.last_mut() {
        last.insert_str(0, "or ");
    }
    words.join(", ")
}

/// Waste, hours, energy.
pub fn work(case: &ComparedCase<'_>, doc: &mut Document) {
    doc.heading(2, "Waste, hours, energy");
    let mass = units(case).mass;
    let mut table = Table::new(columns(case, "A year")).caption("Waste, hours and energy, a year").wide();
    let mut reasons: Vec<String> = Vec::new();
    for (words, kind, unit) in [
        (format!("Wet waste hauled, {}", mass.name), Kind::WetWaste, mass),
        (format!("Wet sludge gathered, {}", mass.name), Kind::Sludge, mass),
        ("Labour, h".to_owned(), Kind::Labour, AS_IS),
        ("Filters in wash or change, h".to_owned(), Kind::Downtime, AS_IS),
        ("Motors and pumps, kWh".to_owned(), Kind::Energy, AS_IS),
    ] {
        let mut cells = vec![Cell::words(words.clone())];
        let mut more = vec![Cell::words("   more than as it stands")];
        for option in case.options() {
            let total = case.study.known_total(option, kind);
            for why in case.study.total(option, kind).missing {
                if !reasons.contains(&why) {
                    reasons.push(why);
                }
            }
            cells.push(Cell::words(spread(&total, unit)));
            more.push(if option == 0 {
                Cell::nothing()
            } else {
                Cell::words(spread(&case.study.more(option, 0, kind), unit))
            });
        }
        table.row(cells);
        table.row(more);
    }
    if !reasons.is_empty() {
        table.note(format!(
            "Left out, as it is the same in every option, or not compared where it is not: {}.",
            gathered(&reasons)
        ));
    }
    doc.table(table);
}

/// How the limits come out in each option.
pub fn outcomes(case: &ComparedCase<'_>, doc: &mut Document) {
    let Some(first) = case.study.options.first() else {
        return;
    };
    if first.limits.is_empty() {
        doc.heading(2, "Limits");
        doc.paragraph("There is no rules file, so no option was held against a limit.");
        return;
    }
    doc.heading(2, "How the permit’s limits would come out");
    doc.paragraph(
        "Computed for every option, the site as it stands too: “predicted within” and “predicted outside” mean that all draws \
         looked at agree; “undecided” gives the share outside. The inspection report says what the records show. Where the \
         solids or washes that a limit rests on are computed at under half or over double the log at its point, on average, the \
         computation decides nothing about it: it is undecided, and no gain or loss is claimed.",
    );
    let mut table =
        Table::new(columns(case, "Limit")).caption("Limits, as predicted, and the worst figure of the period").wide();
    let mut none: Vec<(String, String)> = Vec::new();
    for limit in &first.limits {
        let name = if limit.bound.is_empty() { limit.name.clone() } else { format!("{}: {}", limit.name, limit.bound) };
        let of: Vec<Option<&Predicted>> =
            case.study.options.iter().map(|of| of.limits.iter().find(|other| other.name == limit.name)).collect();
        if of.iter().flatten().all(|of| of.outcome.is_none()) {
            none.push((limit.name.clone(), limit.figure.clone()));
            continue;
        }
        let mut cells = vec![Cell::words(name)];
        for of in of {
            cells.push(Cell::words(match of {
                None => "applies no longer".to_owned(),
                Some(of) => match compare_limits::outcome(case, of) {
                    None => format!("not computed: {}", of.figure),
                    Some(Outcome::Undecided) if compare_limits::far_off(case, &of.name).is_some() => {
                        format!("undecided: computed far off the log; {}", of.figure)
                    }
                    Some(Outcome::Undecided) => match of.share_outside {
                        Some(share) if share > 0.0 => {
                            format!("undecided, outside in {} of the draws; {}", percent(share), of.figure)
                        }
                        // Rain that two readings do not decide, for one.
                        _ => format!("undecided: the records do not tell; {}", of.figure),
                    },
                    Some(outcome) => format!("{outcome}; {}", of.figure),
                },
            }));
        }
        table.row(cells);
    }
    table.note(
        "The worst figure in the middle of the ranges, and in brackets the least and the most of it over the draws.",
    );
    for (name, why) in none {
        table.note(format!("{name}: not computed for any option; {why}."));
    }
    doc.table(table);
}

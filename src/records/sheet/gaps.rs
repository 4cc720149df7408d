//! What was said of a column and leaves something open: its place, its parameter, its unit.

use std::collections::BTreeSet;

use crate::records::sheet::apply::column_name;
use crate::records::sheet::column_units::{needs_unit, units_seen, values_have_units};
use crate::records::sheet::draft::{About, Draft, Question};
use crate::records::sheet::grid::letters;
use crate::records::sheet::layout::Layout;
use crate::records::sheet::mapping::{Column, Table};
use crate::records::sheet::meaning::{Seen, inner};
use crate::records::words::What;

/// Asks for the place of a column that was said without one, where no column of the tab names the places of its rows.
pub(super) fn ask_places(table: &Table, layout: &Layout, asked: &mut BTreeSet<String>, draft: &mut Draft) {
    if table.columns.iter().any(|(_, column)| matches!(column, Column::Place(_))) {
        return;
    }
    for (at, column) in &table.columns {
        let Column::Values { place, what, .. } = column else { continue };
        let heading = layout.headings.get(*at).cloned().unwrap_or_default();
        let name = if heading.is_empty() { letters(*at) } else { heading.clone() };
        if place.is_empty() && !what.eq_ignore_ascii_case("rain") && asked.insert(format!("{name}, its place")) {
            draft.questions.push(Question {
                flag: format!("--column '{name}=place: Outfall 1, what: {what}'"),
                text: format!("{}: of which place or meter?", column_name(*at, &heading)),
                about: About::Column(name),
                options: Vec::new(),
            });
        }
    }
}

/// Asks what was measured, of a column of results that was said without its parameter.
pub(super) fn ask_parameters(table: &Table, layout: &Layout, asked: &mut BTreeSet<String>, draft: &mut Draft) {
    for (at, column) in &table.columns {
        let Column::Values { place, what, parameter: None, unit, since } = column else { continue };
        let heading = layout.headings.get(*at).cloned().unwrap_or_default();
        let name = if heading.is_empty() { letters(*at) } else { heading.clone() };
        if !what.eq_ignore_ascii_case("sample") || !asked.insert(format!("{name}, its parameter")) {
            continue;
        }
        let example = Column::Values {
            place: place.clone(),
            what: what.clone(),
            parameter: Some("total suspended solids".into()),
            unit: unit.clone().or_else(|| Some("mg/L".into())),
            since: *since,
        };
        draft.questions.push(Question {
            flag: format!("--column '{name}={}'", inner(&example)),
            text: format!("{}: results of what? Name the parameter and its unit", column_name(*at, &heading)),
            about: About::Column(name),
            options: Vec::new(),
        });
    }
}

/// Asks for the unit of a column that was said without one, where not every value has its own.
pub(super) fn ask_unit(column: &Column, at: usize, seen: &Seen, (asked, draft): (&mut BTreeSet<String>, &mut Draft)) {
    let Column::Values { place, what, parameter, unit: None, since } = column else { return };
    let Some(meant) = What::named(what) else { return };
    if meant == What::Sample && parameter.is_none()
        || !needs_unit(meant, parameter.as_deref())
        || values_have_units(meant, seen)
    {
        return;
    }
    let name = if seen.heading.is_empty() { letters(at) } else { seen.heading.to_owned() };
    if !asked.insert(format!("{name}, its unit")) {
        return;
    }
    let with = |unit: &str| {
        inner(&Column::Values {
            place: place.clone(),
            what: what.clone(),
            parameter: parameter.clone(),
            unit: Some(unit.to_owned()),
            since: *since,
        })
    };
    let options: Vec<String> = units_seen(meant, seen).into_iter().map(with).collect();
    draft.questions.push(Question {
        flag: format!("--column '{name}={}'", options.first().cloned().unwrap_or_default()),
        text: format!("{}: in which unit is it?", column_name(at, seen.heading)),
        about: About::Column(name),
        options,
    });
}

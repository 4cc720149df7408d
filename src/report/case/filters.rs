//! What each filter does in each option.

use crate::balance::{Node, Purpose, Selector, Watch};
use crate::compare::{Cell as PairedCell, Kind};
use crate::facility::kinds::{Counted, pieces};
use crate::facility::model::{PlaceId, PlaceKind};
use crate::page::document::{Cell, Column, Document, Table};
use crate::report::case::money::{typical, typical_words};
use crate::report::case::tables::{figure, study_options};
use crate::report::case::{AS_IS, ComparedCase, three, units};

/// What each filter does.
pub fn filters(case: &ComparedCase<'_>, doc: &mut Document) {
    let filters = case.facility.places.iter().filter(|place| matches!(place.kind, PlaceKind::Filter(_))).count();
    if filters == 0 {
        return;
    }
    doc.heading(2, "What each filter does, a year");
    let water = units(case).water;
    let mut table = Table::new(vec![
        Column::words("Filter"),
        Column::words("Option"),
        Column::figures("Washes", ""),
        Column::figures("Changes", ""),
        Column::figures("Used up", ""),
        Column::figures("Dry solids taken out", units(case).mass.name),
        Column::figures("Wash water, drained, drip", water.name),
        Column::figures("In wash or change", "h"),
    ])
    .caption(format!("What each filter does, a year, {}", typical_words(case.study)))
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
                let all = PairedCell { values: found.values.clone(), ..PairedCell::default() };
                typical(&case.study.counted(all)).filter(|_| found.missing.is_none())
            };
            let kinds = [Kind::Washes, Kind::Changes, Kind::UsedUp, Kind::TakenOut, Kind::WashWater, Kind::Downtime];
            let mut values: Vec<Option<f64>> = kinds.iter().map(|kind| value(*kind)).collect();
            if let Some(drip_m3) = drip(case, option, name)
                && let Some(water) = values.get_mut(4)
            {
                *water = Some(water.unwrap_or(0.0) + drip_m3);
            }
            // A change of which no length is typed takes no hours that anybody knows.
            if let Some(hours) = values.get_mut(5) {
                *hours = hours.filter(|hours| *hours > 0.0);
            }
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
                let unit = match kind {
                    Kind::WashWater => water,
                    Kind::TakenOut => units(case).mass,
                    _ => AS_IS,
                };
                cells.push(match value {
                    None => Cell::nothing(),
                    some => figure(some, unit),
                });
            }
            table.row(cells);
        }
    }
    if table.rows.is_empty() {
        doc.paragraph("Not compared: what the filters do is not known in any option.");
        return;
    }
    table.note(format!("A filter that does the same as it stands is not listed again. Used up: {}.", pieces_used_up()));
    doc.table(table);
}

/// Water that drips off a roll a year in an option's single run, m³; none where none is computed.
fn drip(case: &ComparedCase<'_>, option: usize, name: &str) -> Option<f64> {
    let of = case.study.options.get(option)?;
    let at = PlaceId(of.alternative.facility.places.iter().position(|place| place.name == name)?);
    let drip = Selector::from(Node::Place(at)).purpose(Purpose::Drip);
    let m3: f64 = of.run.ledger.series(&Watch::Water(drip)).values.iter().sum();
    (m3 > 0.0).then_some(m3 / case.study.years)
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

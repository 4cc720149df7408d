//! Page 1 for a pond that stands or is drawn: does it do its duties, by how much, and what would make it.

use crate::page::document::figures::number;
use crate::page::document::{Basis, Cell, Column, Document, Table, Text};
use crate::report::basin::page::{doubts, duties_table, who_decides};
use crate::report::basin::tried::uncounted;
use crate::report::basin::units::Units;
use crate::report::basin::{BasinCase, money, percent, sizes, slope, solids, standing};
use crate::report::case::page::first_capital;
use crate::sizing::{Amount, Answer, Change, Check, Comes, Duty};

/// Levels that are printed lie no further from where they are, m.
const PRINTED_M: f64 = 0.02;

/// Writes page 1.
pub(super) fn write(case: &BasinCase, answer: &Answer, changes: &[Change], doc: &mut Document) {
    let units = case.units();
    let basin = &answer.found.basin;
    doc.heading(2, "Does this pond do its duties?");
    // The spillway's freeboard is an illustration, and no duty that is counted.
    let counted = |check: &&Check| check.duty != Duty::Spillway;
    let comes = |comes: Comes| answer.checks.iter().filter(counted).filter(|check| check.comes == comes).count();
    let (not_done, not_kept, all) =
        (comes(Comes::NotDone), comes(Comes::NotKept), answer.checks.iter().filter(counted).count());
    let kept = |of: fn(Duty) -> bool| answer.checks.iter().any(|one| one.comes == Comes::NotKept && of(one.duty));
    let notes = match (kept(|duty| duty != Duty::Hold), kept(|duty| duty == Duty::Hold)) {
        (true, true) => "(a, c)",
        (false, true) => "(c)",
        _ => "(a)",
    };
    let spillway = answer.checks.iter().any(|check| check.duty == Duty::Spillway && check.comes == Comes::NotDone);
    let are = |n: usize| if n == 1 { "is" } else { "are" };
    let besides = uncounted(&answer.checks);
    let verdict = match (not_done, not_kept) {
        (0, 0) if comes(Comes::TooFewYears) > 0 => "Yes, as far as so few years show. ".to_owned(),
        (0, 0) => "Yes. ".to_owned(),
        (0, kept) => format!(
            "Not as it is run: {kept} of {all} duties{besides} {} not kept {notes}; it does the others. ",
            are(kept)
        ),
        (not, 0) => format!("No: {not} of {all} duties{besides} {} not done. ", are(not)),
        (not, kept) => {
            format!(
                "No: {not} of {all} duties{besides} {} not done, and {kept} more {} not kept {notes}. ",
                are(not),
                are(kept)
            )
        }
    };
    let verdict = if spillway {
        format!("{verdict}By the illustration, the emergency spillway leaves too little freeboard. ")
    } else {
        verdict
    };
    let text = Text::new().bold(verdict).plain(format!(
        "It is {}, with sides {} and {} of freeboard, and holds {} below the spill level. {} of weather with rain on file {} run.",
        sizes(case, basin),
        slope(basin.slope),
        units.typed_m(basin.freeboard_m),
        units.m3(basin.capacity_m3()),
        super::counted(case.years(), "year"),
        if case.years() == 1.0 { "was" } else { "were" }
    ));
    let text = match standing::let_out(case, answer) {
        Some(words) => text.bold(format!(" {words}")),
        None => text,
    };
    doc.paragraph(match solids::kept(case, answer) {
        Some(words) => text.plain(format!(" {words}")),
        None => text,
    });
    if let Some(words) = drawn_too_low(case, answer) {
        doc.paragraph(words);
    }
    doc.table(duties_table(case, &answer.checks, Some(&answer.held())));
    if not_done + not_kept > 0 || spillway {
        doc.heading(2, "What would make it");
        let (table, none_does) = changes_table(case, changes);
        if table.rows.is_empty() {
            doc.paragraph(none_does.unwrap_or_else(|| "Nothing that was tried does.".to_owned()));
        } else {
            doc.table(table);
        }
    }
    doc.heading(2, "How far to believe it");
    doc.definitions(doubts(case, answer));
    who_decides(doc);
}

/// Where its pumps may draw from the settling pool that is asked for.
fn drawn_too_low(case: &BasinCase, answer: &Answer) -> Option<String> {
    let (units, demands) = (case.units(), &case.study.demands);
    let (asked_m, pumps_m) = (answer.stack.pool_top_m, demands.needs.lowest_pump_m);
    // As they are printed a level may lie a step lower.
    let too_low = demands.duties.pool.is_some() && demands.needs.is_drawn && pumps_m < asked_m - PRINTED_M;
    too_low.then(|| {
        format!(
            "It was run as if nothing were drawn from it below {}, the top of the settling pool that is asked for; by the facility file \
             it may be drawn down to {}: type `lowest pump level: {}`.",
            units.m(asked_m),
            if pumps_m > 0.0 { units.m(pumps_m) } else { "its floor".to_owned() },
            units.m(asked_m)
        )
    })
}

/// The least of each change by itself, the cheapest first where it is priced; and which do not.
fn changes_table(case: &BasinCase, changes: &[Change]) -> (Table, Option<String>) {
    let units = case.units();
    let priced = case.study.demands.duties.prices.is_some();
    let mut columns =
        vec![Column::words("Change"), Column::words("The least that does it"), Column::words("Earth moved").right()];
    if priced {
        columns.push(Column::words("Cost").right());
    }
    let mut table = Table::new(columns).caption("What would make it do every duty").wide();
    let (mut does, does_not): (Vec<&Change>, Vec<&Change>) = changes.iter().partition(|change| change.amount.is_some());
    does.sort_by(|a, b| {
        let cost = |change: &Change| change.cost.unwrap_or(0.0);
        a.cost.is_none().cmp(&b.cost.is_none()).then(cost(a).total_cmp(&cost(b)))
    });
    for change in does {
        let earth = change.earth_m3.map(|m3| Cell::known(units.earth(m3), Basis::Computed));
        let mut cells = vec![
            Cell::words(match beside(units, change) {
                Some(words) => format!("{}, with {words}", first_capital(change.what.trim_end_matches(", of"))),
                None => first_capital(change.what),
            }),
            Cell::known(change.amount.map_or_else(String::new, |of| amount(units, of)), Basis::Computed),
            earth.unwrap_or_else(Cell::nothing),
        ];
        if priced {
            let cost = change.cost.and_then(|cost| money(case, cost));
            cells.push(cost.map_or_else(|| Cell::words("not priced"), |cost| Cell::known(cost, Basis::Computed)));
        }
        table.row(cells);
    }
    let none_does = (!does_not.is_empty()).then(|| {
        let names: Vec<String> = does_not
            .iter()
            .map(|change| change.what.trim_end_matches(" by").trim_end_matches(',').to_owned())
            .collect();
        format!("By itself none of these does it, as far as it was tried: {}.", names.join("; "))
    });
    if let Some(words) = &none_does {
        table.note(words.clone());
    }
    table.note(
        "Each that does it was run over the years with what the site then sends, in the figures that stand here; two together may need less of each. A raised bank is heaped on its present top, as wide as \
         that and outside as typed for the ground, else as steep as inside; the spill level rises with it. Earth that a change fills and does not cut is \
         priced as brought, or as dug where that has no price. What does not go on the plot is left out; whether ground and bank take it was not \
         looked at.",
    );
    (table, none_does)
}

/// `longer by 3.5 m, with the drawdown’s `rate:` at 8 m³/h`.
pub(super) fn in_words(units: Units, change: &Change) -> String {
    let first =
        change.amount.map_or_else(|| change.what.to_owned(), |of| format!("{} {}", change.what, amount(units, of)));
    match beside(units, change) {
        Some(words) => format!("{first}, with {words}"),
        None => first,
    }
}

/// What is changed beside it.
fn beside(units: Units, change: &Change) -> Option<String> {
    let words: Vec<String> =
        change.beside.iter().map(|part| format!("{} {}", part.what, amount(units, part.amount))).collect();
    (!words.is_empty()).then(|| words.join(", "))
}

/// How much of a change.
pub(super) fn amount(units: Units, of: Amount) -> String {
    match of {
        Amount::Length(m) => units.typed_m(m),
        Amount::Flow(m3_s) => units.flow(m3_s),
        Amount::Level(m) => units.typed_m(m),
        Amount::Typed(words) => format!("`{words}`"),
        Amount::Share(share) if share < 0.1 => format!("{} %", number(share * 100.0, 1)),
        Amount::Share(share) => percent(share),
    }
}

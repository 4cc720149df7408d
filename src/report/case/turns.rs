//! Where the answer of a case turns round: prices, lives, washes and solids at which an option costs the same.

use crate::compare::{BreakEven, WIDEST};
use crate::page::document::{Basis, Cell, Column, Document, Table, Text};
use crate::report::case::page::LowerFirst;
use crate::report::case::{ComparedCase, one_form, shown, three};

/// Where the answer turns round, and what does not turn it.
pub fn break_evens(case: &ComparedCase<'_>, doc: &mut Document) {
    doc.heading(2, "Where the answer turns round");
    if case.break_evens.iter().all(Vec::is_empty) {
        doc.paragraph("Not compared: no option’s money differs from the site’s as it stands by a sum that is known.");
        return;
    }
    let is_weighed = case.study.repeated.weights.is_some();
    let rest = if is_weighed { "as it is" } else { "in the middle of its range" };
    let moved = if is_weighed {
        " As typed, each stands at the median of the draws that count by how well they repeat what is on file, as the answer does: a price is \
         varied in all of those draws, all else in the middle run, from which that median is moved."
    } else {
        ""
    };
    let how = format!(
        "One thing is varied, from a tenth to {WIDEST} times what is typed, with everything else {rest}, \
         until the option costs the same as the site as it stands. Washes and changes are counted anew each time.{moved}"
    );
    let mut table = Table::new(vec![
        Column::words("Option"),
        Column::words("What is varied"),
        Column::words("As typed"),
        Column::words("Costs the same at"),
    ])
    .caption("Where an option costs the same as the site as it stands")
    .wide();
    let mut rest: Vec<(String, String)> = Vec::new();
    for (option, evens) in (1..).zip(case.break_evens) {
        let short = case.short(option);
        if evens.is_empty() {
            let nought = case.study.present_more(option, 0).is_nought();
            let why = if nought { "It costs the same in every draw." } else { "Not compared: its money is not known." };
            rest.push((short, why.to_owned()));
            continue;
        }
        let turns = |even: &&BreakEven| even.factor.is_some() && even.value.is_some();
        let (turning, not): (Vec<_>, Vec<_>) = evens.iter().partition(turns);
        for even in turning {
            table.row(vec![
                Cell::words(short.clone()),
                Cell::words(even.what.clone()),
                Cell::words(one_form(&even.typed)),
                Cell::known(one_form(&even.value.clone().unwrap_or_default()), Basis::Computed),
            ]);
        }
        let (moves, idle): (Vec<&BreakEven>, Vec<&BreakEven>) = not.into_iter().partition(|even| moves_it(even));
        let names =
            |list: &[&BreakEven]| list.iter().map(|even| even.what.to_lowercase_first()).collect::<Vec<_>>().join("; ");
        let mut words = Vec::new();
        if !moves.is_empty() {
            words.push(format!(
                "Not turned round, from a tenth to {WIDEST} times what is typed, by: {}.",
                names(&moves)
            ));
        }
        if !idle.is_empty() {
            words.push(format!("It does not depend on: {}.", names(&idle)));
        }
        if !words.is_empty() {
            rest.push((short, words.join(" ")));
        }
    }
    if table.rows.is_empty() {
        doc.paragraph(how);
    } else {
        table.note(how);
        doc.table(table);
    }
    let told = rest.into_iter().map(|(name, text)| Text::new().bold(format!("{name}: ")).plain(text));
    if told.len() > 0 {
        doc.list(told.collect());
    }
}

/// Whether the difference goes with what is varied, as far as prints.
fn moves_it(even: &BreakEven) -> bool {
    let [low, here, high] = even.at.map(shown);
    !(even.changes_nothing() || (low == here && here == high))
}

/// Every break-even with the difference at both ends.
pub fn every_break_even(case: &ComparedCase<'_>, doc: &mut Document) {
    if case.break_evens.iter().all(Vec::is_empty) {
        return;
    }
    let unit = &case.study.prices.money;
    doc.heading(2, "What the difference goes with");
    let mut table = Table::new(vec![
        Column::words("What is varied"),
        Column::words("As typed"),
        Column::words("Costs the same at"),
        Column::figures("At a tenth", unit.clone()),
        Column::figures("As typed", unit.clone()),
        Column::figures(format!("At {WIDEST} times"), unit.clone()),
    ])
    .caption(format!("How much more each option costs over the years compared, worth today, {unit}"))
    .wide();
    for (option, evens) in (1..).zip(case.break_evens) {
        if evens.iter().any(moves_it) {
            table.group(Text::new().bold(case.name(option)));
        }
        for even in evens.iter().filter(|even| moves_it(even)) {
            let value = even.value.as_ref().filter(|_| even.factor.is_some());
            let mut cells = vec![
                Cell::words(even.what.clone()),
                Cell::words(one_form(&even.typed)),
                value.map_or_else(Cell::nothing, |value| Cell::known(one_form(value), Basis::Computed)),
            ];
            cells.extend(
                even.at.iter().map(|at| {
                    if at.is_finite() { Cell::figure(three(*at), 0, Basis::Computed) } else { Cell::nothing() }
                }),
            );
            table.row(cells);
        }
    }
    let weighed = match case.study.repeated.weights {
        Some(_) => {
            " Prices are varied in all draws that count, all else in the middle run, from which their median is moved."
        }
        None => "",
    };
    table.note(format!(
        "A dash under “costs the same at”: nowhere from a tenth to {WIDEST} times what is typed.{weighed}"
    ));
    doc.table(table);
}

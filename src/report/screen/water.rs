//! What the lines of the year's water are made of: the ways of the ledger, or what places hold more, that add up to each.

use std::collections::BTreeMap;

use crate::balance::{Node, Way};
use crate::page::document::{Basis, Cell, Column, Table};
use crate::report::inspection::about::{Case, basis};
use crate::report::inspection::water_year;

/// A term of a line: its words, how much, m³, and how it is known.
type Term = (String, f64, Basis);

/// The terms behind each line that has an amount, by the line's words: those that add up to it.
pub fn breakdowns(case: &Case) -> BTreeMap<String, Table> {
    let (account, totals) = water_year::account(case);
    let unit = case.large_volume();
    let nodes = totals.came_in.iter().chain(&totals.went_out).map(|(node, _)| vec![*node]);
    let sets: Vec<Vec<Node>> = nodes.chain([vec![Node::Evaporation, Node::Seepage]]).collect();
    let mut found = BTreeMap::new();
    for (lines, sign) in [(&account.came_in, -1.0), (&account.went_out, 1.0)] {
        let end = |way: &Way| if sign > 0.0 { way.to } else { way.from };
        let mut candidates: Vec<Vec<Term>> = sets
            .iter()
            .filter_map(|nodes| along(case, &|way| if nodes.contains(&end(way)) { 1.0 } else { 0.0 }))
            .collect();
        candidates.push(gains(case, sign));
        let unaccounted = along(case, &|way| match (way.from, way.to) {
            (_, Node::Unaccounted) => sign,
            (Node::Unaccounted, _) => -sign,
            _ => 0.0,
        });
        candidates.extend(unaccounted);
        for line in lines.iter().filter(|line| line.known) {
            let adds_up = |terms: &&Vec<Term>| {
                let sum: f64 = terms.iter().map(|term| unit.of(term.1)).sum();
                !terms.is_empty() && (sum - line.amount).abs() <= 1e-9 * line.amount.abs().max(1.0)
            };
            if let Some(terms) = candidates.iter().find(adds_up) {
                found.insert(line.name.clone(), table(case, terms));
            }
        }
    }
    found
}

/// What went along the ways that have a sign; none where something of it is not known.
fn along(case: &Case, sign: &dyn Fn(&Way) -> f64) -> Option<Vec<Term>> {
    let mut terms = Vec::new();
    for way in case.ledger.ways().iter().filter(|way| sign(way) != 0.0) {
        let amount = case.ledger.amount(case.period.0, case.period.1, |other| other == way);
        if amount.water_m3 > 0.0 {
            let (from, to) = (case.ledger.label(way.from), case.ledger.label(way.to));
            let words = format!("{from} to {to}: {}", way.purpose.words());
            terms.push((words, sign(way) * amount.water_m3, basis(amount.water_basis)?));
        }
    }
    Some(terms)
}

/// What places hold more at the end than at the start.
fn gains(case: &Case, sign: f64) -> Vec<Term> {
    let days = case.ledger.days_between(case.period.0, case.period.1);
    let held = case.ledger.held().iter().map(|held| {
        let gain = held.water(days.end) - held.water(days.start);
        (format!("{}: held at the end, less at the start", case.ledger.label(held.node)), sign * gain, Basis::Computed)
    });
    held.filter(|term| term.1 != 0.0).collect()
}

fn table(case: &Case, terms: &[Term]) -> Table {
    let unit = case.large_volume();
    let mut table = Table::new(vec![Column::words("What adds up to it"), Column::figures("Water", unit.name)]);
    for (words, m3, known) in terms {
        table.row(vec![Cell::words(words.as_str()), Cell::figure(unit.of(*m3), unit.digits, *known)]);
    }
    let sum = terms.iter().map(|term| unit.of(term.1)).sum();
    table.sum(vec![Cell::words("Together"), Cell::number(sum, unit.digits)]);
    table
}

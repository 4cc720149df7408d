//! What the lines of the year's water are made of: the ways of the ledger that add up to each.

use std::collections::BTreeMap;

use crate::balance::{self, Amount, Node, Way};
use crate::page::document::{AccountLine, Basis, Cell, Column, Table};
use crate::report::inspection::about::{Case, basis};
use crate::report::inspection::water_year;
use crate::report::units;

/// The ways behind each line that has an amount, by the line's words.
pub fn breakdowns(case: &Case) -> BTreeMap<String, Table> {
    let (account, totals) = water_year::account(case);
    let mut found = BTreeMap::new();
    let nodes = |side: &[(Node, Amount)]| {
        side.iter().filter(|(_, amount)| amount.water_m3 > 0.0).map(|(node, _)| *node).collect::<Vec<_>>()
    };
    for (lines, nodes, inwards) in
        [(&account.came_in, nodes(&totals.came_in), true), (&account.went_out, nodes(&totals.went_out), false)]
    {
        // Each line is of one node, or of several together; the ways say which by adding up to it.
        for line in lines.iter().filter(|line| line.known && !line.unaccounted) {
            let of_one = nodes.iter().map(|node| vec![*node]);
            let ponds = vec![Node::Evaporation, Node::Seepage];
            let wanted = of_one.chain([ponds]).find_map(|nodes| table(case, line, &nodes, inwards));
            if let Some(table) = wanted {
                found.insert(line.name.clone(), table);
            }
        }
    }
    found
}

/// The ways from or to some nodes, if they add up to a line.
fn table(case: &Case, line: &AccountLine, nodes: &[Node], inwards: bool) -> Option<Table> {
    let unit = units::large_volume(case.facility.system);
    let end = |way: &Way| if inwards { way.from } else { way.to };
    let mut rows: Vec<(String, f64, Basis)> = Vec::new();
    let mut sum = 0.0;
    for way in case.ledger.ways().iter().filter(|way| nodes.contains(&end(way))) {
        let amount = case.ledger.amount(case.period.0, case.period.1, |other| other == way);
        if amount.water_m3 > 0.0 {
            let known = basis(amount.water_basis).filter(|_| !amount.water_basis.has(balance::Basis::UNKNOWN))?;
            let words =
                format!("{} to {}: {}", case.ledger.label(way.from), case.ledger.label(way.to), way.purpose.words());
            rows.push((words, unit.of(amount.water_m3), known));
            sum += unit.of(amount.water_m3);
        }
    }
    if rows.is_empty() || (sum - line.amount).abs() > 1e-9 * sum.max(1.0) {
        return None;
    }
    let mut table = Table::new(vec![Column::words("Way"), Column::figures("Water", unit.name)]);
    for (words, amount, known) in rows {
        table.row(vec![Cell::words(words), Cell::figure(amount, unit.digits, known)]);
    }
    table.sum(vec![Cell::words("Together"), Cell::number(sum, unit.digits)]);
    Some(table)
}

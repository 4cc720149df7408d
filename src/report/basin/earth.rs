//! Earth: what is cut below the ground, what is filled in the banks, what is left over or lacking.

use crate::page::document::figures::with_unit;
use crate::page::document::{Basis, Cell, Column, Document, Table};
use crate::report::basin::BasinCase;
use crate::report::case::page::first_capital;
use crate::sizing::{Basin, CostPart, Ground, Quantity};

/// `8 200 yd³ are cut, 3 100 yd³ stand in the banks, which take 3 500 yd³ as it lies in the ground, and 5 900 yd³ loose are
/// left over to haul away`.
pub(super) fn in_words(case: &BasinCase, basin: &Basin) -> Option<String> {
    let units = case.units();
    let earth = case.study.demands.earth(basin)?;
    let left = if earth.hauled_m3 > 0.0 {
        format!("{} loose are left over to haul away", units.earth(earth.hauled_m3))
    } else if earth.brought_m3 > 0.0 {
        format!("{} loose are lacking and brought", units.earth(earth.brought_m3))
    } else {
        "none is left over".to_owned()
    };
    let in_them = if demands_berm(case) { "banks and berm" } else { "banks" };
    Some(format!(
        "{} are cut, {} stand in the {in_them}, which take {} as it lies in the ground, and {left}",
        units.earth(earth.cut_m3),
        units.earth(earth.fill_m3),
        units.earth(earth.takes_m3)
    ))
}

/// Whether a berm's earth is among the fill.
fn demands_berm(case: &BasinCase) -> bool {
    case.study.demands.duties.forebay.as_ref().is_some_and(|duty| duty.berm.is_some())
}

/// `level ground 2 ft below the bank top`.
pub(super) fn ground_words(ground: &Ground) -> String {
    format!("level ground, {}", ground.text.trim())
}

/// Writes the section, where something was said of the ground.
pub(super) fn write(case: &BasinCase, basin: &Basin, doc: &mut Document) {
    let demands = &case.study.demands;
    let (Some(ground), Some(earth)) = (&demands.duties.ground, demands.earth(basin)) else { return };
    let units = case.units();
    doc.heading(2, "Earth");
    let mut table =
        Table::new(vec![Column::words("Earth"), Column::words("Comes to").right(), Column::words("Measured")])
            .caption("Cut and fill");
    let mut row = |what: &str, m3: f64, measured: &'static str| {
        table.row(vec![Cell::words(what), Cell::known(units.earth(m3), Basis::Computed), Cell::words(measured)]);
    };
    row("Cut below the ground", earth.cut_m3, "as it lies in the ground");
    let filled =
        if demands_berm(case) { "Filled in the banks and the forebay’s berm" } else { "Filled in the banks" };
    row(filled, earth.fill_m3, "as it stands in them");
    row("Cut that this takes", earth.takes_m3, "as it lies in the ground");
    if earth.brought_m3 > 0.0 {
        row("Lacking, brought", earth.brought_m3, "loose, on the truck");
    } else {
        row("Left over, hauled away", earth.hauled_m3, "loose, on the truck");
    }
    let factor = |figure: &Option<crate::sizing::Figure>, does: &str| match figure {
        Some(figure) => format!("{does} {}", figure.text),
        None => format!("nothing typed of what it {does}"),
    };
    table.note(format!(
        "Level ground, {}; banks {} wide at the top, inner sides {}, outer sides {}, corners mitred. {}, {}.",
        ground.text,
        units.typed_m(basin.bank_m),
        super::slope(basin.slope),
        ground.outer.text,
        first_capital(&factor(&ground.shrinks, "shrinks by")),
        factor(&ground.swells, "swells by"),
    ));
    if let Some(below_m) = ground.balanced_below_top_m(basin) {
        let top_m = basin.top_m();
        table.note(format!(
            "The cut would just make the banks of this shape, without a berm, with the ground {} below the bank top ({} above the floor). That \
             is a fact of its geometry, no advice.",
            units.m(below_m),
            units.m(top_m - below_m)
        ));
    }
    table.note("Not in it: topsoil stripped and put back, the trench under a bank, what a bank settles, ramp and spillway, ground that slopes.");
    doc.table(table);
}

/// What each price typed comes to, adding up; nothing where no price was typed.
pub(super) fn cost(case: &BasinCase, basin: &Basin, doc: &mut Document) {
    let (units, demands) = (case.units(), &case.study.demands);
    let parts = demands.cost_parts(basin);
    let Some(prices) = demands.duties.prices.as_ref().filter(|_| !parts.is_empty()) else { return };
    doc.heading(2, "What it costs");
    let mut table = Table::new(vec![
        Column::words("What"),
        Column::words("How much").right(),
        Column::words("Price"),
        Column::figures("Comes to", prices.money.as_str()),
    ])
    .caption("What it costs");
    let mut sum = 0.0;
    for part in &parts {
        let (what, many) = match part.quantity {
            Quantity::Earth(m3) => {
                let what = match part.what {
                    "dug" if demands.duties.ground.is_none() => "Dug, up to the bank top",
                    "dug" => "Cut below the ground",
                    "banked" => "Filled in the banks",
                    "hauled" => "Hauled away, loose",
                    _ => "Brought, loose",
                };
                (what, with_unit(m3 * units.earth.1, 1, units.earth.0))
            }
            Quantity::Area(m2) => ("Lined, up to the bank top", with_unit(m2 * units.area.1, 1, units.area.0)),
            Quantity::Length(m) => ("Fence round the banks", with_unit(m * units.length.1, 1, units.length.0)),
            Quantity::Whole => ("Ramp, gate and way", "all of it".to_owned()),
        };
        // Each to the whole unit, and the sum of these: it adds up as it is printed.
        let comes_to = part.comes_to.round();
        sum += comes_to;
        table.row(vec![
            Cell::words(what),
            Cell::known(many, Basis::Computed),
            Cell::words(signs(&part.price)),
            Cell::figure(comes_to, 0, Basis::Computed),
        ]);
    }
    table.sum(vec![Cell::words("Sum"), Cell::words(""), Cell::words(""), Cell::figure(sum, 0, Basis::Computed)]);
    table.note(format!(
        "Prices as typed{}. Figures have more digits here than they are good for, so that they can be checked.",
        prices.by.as_ref().map_or_else(String::new, |by| format!(" ({by})"))
    ));
    table.note(format!("Not in it: {}.", not_priced(case, &parts).join(", ")));
    doc.table(table);
}

/// What the sum leaves out.
fn not_priced(case: &BasinCase, parts: &[CostPart]) -> Vec<&'static str> {
    let has = |is: fn(&Quantity) -> bool| parts.iter().any(|part| is(&part.quantity));
    let mut lacking = vec!["design and permits", "pumps, pipes and power", "outlet and spillway"];
    if !has(|of| matches!(of, Quantity::Area(_))) {
        lacking.push("lining");
    }
    if !has(|of| matches!(of, Quantity::Length(_))) {
        lacking.push("fence");
    }
    if !has(|of| matches!(of, Quantity::Whole)) {
        lacking.push("ramp, gate and way");
    }
    if case.study.demands.duties.ground.is_none() {
        lacking.push("hauling what is dug");
    }
    if !case.not_built {
        lacking.push("emptying and filling the present pond");
    }
    lacking.push("clean-outs");
    lacking
}

/// A price with its unit as it is printed: `7.50 USD per yd³`.
pub(super) fn signs(typed: &str) -> String {
    ["yd", "ft", "m"].iter().fold(typed.to_owned(), |words, unit| {
        words.replace(&format!("{unit}2"), &format!("{unit}²")).replace(&format!("{unit}3"), &format!("{unit}³"))
    })
}

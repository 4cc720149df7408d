//! Earth: what is cut below the ground, what is filled in the banks, what is left over or lacking.

use crate::page::document::{Basis, Cell, Column, Document, Table};
use crate::report::basin::BasinCase;
use crate::report::case::page::first_capital;
use crate::sizing::{Basin, Ground};

/// `8 200 yd³ are cut, 3 100 yd³ stand in the banks and 4 600 yd³ are hauled away`.
pub(super) fn in_words(case: &BasinCase, basin: &Basin) -> Option<String> {
    let units = case.units();
    let earth = case.study.demands.earth(basin)?;
    let left = if earth.hauled_m3 > 0.0 {
        format!("{} are left over to haul away", units.earth(earth.hauled_m3))
    } else if earth.brought_m3 > 0.0 {
        format!("{} are lacking and brought", units.earth(earth.brought_m3))
    } else {
        "none is left over".to_owned()
    };
    let in_them = if demands_berm(case) { "banks and berm" } else { "banks" };
    Some(format!(
        "{} are cut, {} stand in the {in_them} and {left}",
        units.earth(earth.cut_m3),
        units.earth(earth.fill_m3)
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

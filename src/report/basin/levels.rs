//! The layers of the pond found, and what it holds level by level, beside the pond there is.

use crate::page::document::{Basis, Cell, Column, Document, Table};
use crate::report::basin::cells::NO_SIZE;
use crate::report::basin::drawing::Present;
use crate::report::basin::standing::storm_fits_nowhere;
use crate::report::basin::{BasinCase, round};
use crate::sizing::{Answer, Layer, LayerKind, Outcome};

/// Further room thinner than this is rounding, m.
const THIN_M: f64 = 0.02;
/// Levels of the table at most, beside the spill level and the bank top.
const MOST: f64 = 14.0;
/// A last step shorter than this part of a step is left out, since the spill level follows it.
const SHORT: f64 = 0.25;

/// Writes the section.
pub(super) fn write(case: &BasinCase, answer: &Answer, doc: &mut Document) {
    doc.heading(2, "Layers and levels");
    doc.table(layers(case, answer));
    doc.table(levels(case, answer));
}

fn layers(case: &BasinCase, answer: &Answer) -> Table {
    let units = case.units();
    let mut table = Table::new(vec![
        Column::words("Layer, top one first"),
        Column::figures("From", units.length.0),
        Column::figures("To", units.length.0),
        Column::figures("Depth", units.length.0),
        Column::figures("Volume", units.volume.0),
    ])
    .caption("Layers")
    .whole();
    let thick = |layer: &&Layer| {
        !matches!(layer.kind, LayerKind::Spare | LayerKind::Stays) || layer.to_m - layer.from_m > THIN_M
    };
    let volume = |m3: f64| Cell::figure(round(m3 * units.volume.1), 0, Basis::Computed);
    let mut printed = 0.0;
    for layer in answer.layers.iter().rev().filter(thick) {
        let length = |m: f64| Cell::figure(m * units.length.1, 2, Basis::Computed);
        if !layer.kind.is_over_spill() {
            printed += round(layer.volume_m3 * units.volume.1).round();
        }
        table.row(vec![
            Cell::words(layer_name(layer)),
            length(layer.from_m),
            length(layer.to_m),
            length(layer.to_m - layer.from_m),
            volume(layer.volume_m3),
        ]);
    }
    let whole = answer.found.basin.capacity_m3();
    let mut sum = vec![Cell::words("Below the spill level")];
    sum.extend([Cell::words(""), Cell::words(""), Cell::words("")]);
    sum.push(volume(whole));
    table.sum(sum);
    let adds_up = (printed - round(whole * units.volume.1).round()).abs() < 0.5;
    let fits = answer.layers.iter().all(|layer| layer.fits);
    let held = answer.held();
    let storm = case.study.demands.duties.storm.is_some();
    table.note(format!(
        "Levels are above the floor; {}{}{}",
        if storm && storm_fits_nowhere(&held) {
            format!("the run keeps {}, and the storm does not fit over it.", units.m(answer.normal_m))
        } else {
            kept_at(case, answer)
        },
        if fits { "" } else { " What does not fit ends at the spill level." },
        if adds_up { "" } else { " Volumes add up within rounding." }
    ));
    let demands = &case.study.demands;
    if let Some(held) = demands.forebay(&answer.found.basin) {
        table.note(format!(
            "Within the sludge store and the settling pool, the forebay takes {} along the inlet end: {} under the level of {}.",
            units.tape(held.length_m),
            units.m3(held.volume_m3),
            units.m(held.top_m)
        ));
    }
    if let Some(duty) = &demands.duties.spillway {
        table.note(format!(
            "The water on the emergency spillway is that of {} ({}). {NO_SIZE}",
            duty.flow.text, duty.flow_source
        ));
    }
    table
}

/// `to be kept at 5.85 ft or lower, but after a storm.`
fn kept_at(case: &BasinCase, answer: &Answer) -> String {
    let (demands, units) = (&case.study.demands, case.units());
    let foot = || units.m(demands.hold_foot_m(&answer.found.basin));
    match (&demands.duties.storm, &demands.duties.hold) {
        (Some(_), Some(_)) => format!(
            "to be kept at {} or lower, but after a storm, and at {} or lower when something to hold comes.",
            units.m(answer.normal_m),
            foot()
        ),
        (Some(_), None) => format!("to be kept at {} or lower, but after a storm.", units.m(answer.normal_m)),
        (None, Some(_)) => format!("to be kept at {} or lower when something to hold comes.", foot()),
        (None, None) => "no level was asked to be kept.".to_owned(),
    }
}

/// A layer's name, with a word where only a part of it fits.
pub(super) fn layer_name(layer: &Layer) -> String {
    let name = layer.kind.words();
    if layer.fits { name.to_owned() } else { format!("{name}, what fits") }
}

/// The even step of a table of levels, in the user's unit: the least of a few that gives few rows.
fn even_step(depth: f64, usual: &[f64]) -> f64 {
    let fits = usual.iter().copied().find(|step| depth / step <= MOST);
    fits.unwrap_or_else(|| (depth / MOST).ceil())
}

fn levels(case: &BasinCase, answer: &Answer) -> Table {
    let units = case.units();
    let basin = &answer.found.basin;
    let present = Present::of(case).filter(|_| !matches!(case.study.outcome, Outcome::This(..)));
    let (unit, per, _) = units.length;
    let mut columns = vec![
        Column::figures("Level", unit),
        Column::figures("Water surface", units.area.0),
        Column::figures("Volume below", units.volume.0),
    ];
    if present.is_some() {
        columns.push(Column::figures("Present pond", units.volume.0));
    }
    columns.push(Column::words(""));
    let mut table = Table::new(columns).caption("What it holds at each level");
    let mut dashed = false;
    let mut row = |level_m: f64, word: &str| {
        let mut cells = vec![
            Cell::number(level_m * per, 2),
            Cell::figure(round(basin.area_m2(level_m) * units.area.1), 0, Basis::Computed),
            Cell::figure(round(basin.volume_m3(level_m) * units.volume.1), 0, Basis::Computed),
        ];
        if let Some(present) = &present {
            let volume_m3 = present.volume_m3(level_m);
            dashed |= volume_m3.is_none();
            cells.push(
                volume_m3.map_or_else(Cell::nothing, |m3| Cell::figure(round(m3 * units.volume.1), 0, Basis::Computed)),
            );
        }
        cells.push(Cell::words(word));
        table.row(cells);
    };
    let depth = basin.depth_m * per;
    let step = even_step(depth, if unit == "ft" { &[0.5, 1.0, 2.0, 5.0] } else { &[0.1, 0.2, 0.25, 0.5, 1.0, 2.0] });
    row(0.0, "floor");
    let mut k = 1.0;
    while k * step < depth - SHORT * step {
        row(k * step / per, "");
        k += 1.0;
    }
    row(basin.depth_m, "spill level");
    row(basin.depth_m + basin.freeboard_m, "bank top");
    if present.is_some() {
        table.note(format!(
            "Each pond from its own floor{}.{}",
            if dashed { "; a dash: above the present pond’s bank top" } else { "" },
            present.map_or_else(String::new, |present| format!(
                " Spill level and bank top are those of the pond found; the present pond’s are {} and {}.",
                units.m(present.depth_m()),
                units.m(present.top_m())
            ))
        ));
    }
    table
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_of_levels_goes_in_even_steps_and_has_few_rows() {
        assert_eq!(even_step(6.5, &[0.5, 1.0, 2.0]), 0.5);
        assert_eq!(even_step(10.8, &[0.5, 1.0, 2.0]), 1.0);
        assert_eq!(even_step(3.3, &[0.1, 0.2, 0.25, 0.5]), 0.25);
        assert_eq!(even_step(100.0, &[0.5, 1.0, 2.0]), 8.0);
    }
}

//! A pond drawn to scale: its plan and a section through it.

use serde::Serialize;

use crate::page::document::{Basis, Cell, Column, Table};

/// How a layer of the section is filled.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Pattern {
    /// Left white.
    Plain,
    /// Dots.
    Dots,
    /// Level lines.
    Level,
    /// Upright lines.
    Upright,
    /// Lines at 45°.
    Diagonal,
}

/// A layer of the section.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PondLayer {
    /// What it is: `Storm`.
    pub name: String,
    /// Where it begins, above the floor.
    pub from: f64,
    /// Where it ends, above the floor.
    pub to: f64,
    /// Its volume, in the drawing's unit of volume.
    pub volume: f64,
    /// How it is filled.
    pub pattern: Pattern,
}

/// A level with its name: `spill level`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PondLevel {
    /// The name.
    pub name: String,
    /// Above the floor.
    pub level: f64,
}

/// A bank in section, alike on both sides.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PondBank {
    /// Width of its top.
    pub top: f64,
    /// How far its outer side reaches beyond that.
    pub reach: f64,
    /// The ground that it stands on, above the floor.
    pub ground: f64,
}

/// A berm across a pond, which parts off its inlet end.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PondBerm {
    /// From the bank top's inner edge at the inlet, on the left.
    pub from_edge: f64,
    /// How long it is across the pond, at its top.
    pub across: f64,
    /// Its top, above the floor.
    pub top: f64,
    /// How wide its top is; nothing where no sizes of it are known, and it is drawn as a line.
    pub wide: f64,
    /// Run over rise of its faces.
    pub side: f64,
}

/// A pond from above: rectangles about one middle, each length and width.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PondPlan {
    /// The floor.
    pub floor: (f64, f64),
    /// The water at the spill level; its two lengths are written beside it.
    pub water: (f64, f64),
    /// The bank top's inner edge.
    pub crest: (f64, f64),
    /// Over the banks, where they have a width.
    pub over_banks: Option<(f64, f64)>,
}

/// A pond of the drawing.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DrawnPond {
    /// What it is called: `The pond found`.
    pub name: String,
    /// Its plan; none where only its areas by level are known.
    pub plan: Option<PondPlan>,
    /// The section: levels above the floor, rising to the bank top, with the breadth at each.
    pub profile: Vec<(f64, f64)>,
    /// Its banks, where the ground is known.
    pub bank: Option<PondBank>,
    /// The berm of its forebay.
    pub berm: Option<PondBerm>,
    /// Its layers, lowest first.
    pub layers: Vec<PondLayer>,
    /// Its levels, lowest first.
    pub levels: Vec<PondLevel>,
    /// What is said under its plan, a line each.
    pub words: Vec<String>,
}

/// Ponds side by side, all to one scale.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PondDrawing {
    /// The unit of every length and level.
    pub unit: String,
    /// Digits after the mark of levels.
    pub digits: u8,
    /// Digits after the mark of a plan's sides.
    pub side_digits: u8,
    /// Metres in one of that unit: what the scale is reckoned from.
    pub metres: f64,
    /// The unit of every volume.
    pub volume_unit: String,
    /// The ponds.
    pub ponds: Vec<DrawnPond>,
}

impl PondDrawing {
    /// What is drawn as a plain table: lengths, levels and layers of each pond.
    pub fn to_table(&self) -> Table {
        let mut table = Table::new(vec![
            Column::words("Pond"),
            Column::words("What"),
            Column::figures("From or length", self.unit.clone()),
            Column::figures("To or width", self.unit.clone()),
            Column::figures("Volume", self.volume_unit.clone()),
        ]);
        let length = |value: f64| Cell::figure(value, self.digits + 1, Basis::Computed);
        for pond in &self.ponds {
            let mut row = |what: &str, pair: (f64, f64), volume: Option<f64>| {
                table.row(vec![
                    pond.name.as_str().into(),
                    what.into(),
                    length(pair.0),
                    length(pair.1),
                    volume.map_or_else(Cell::nothing, |volume| Cell::figure(volume, 0, Basis::Computed)),
                ]);
            };
            if let Some(plan) = &pond.plan {
                let rectangles = [
                    ("floor", Some(plan.floor)),
                    ("water at the spill level", Some(plan.water)),
                    ("bank top, inner edge", Some(plan.crest)),
                    ("over the banks", plan.over_banks),
                ];
                for (what, pair) in rectangles {
                    if let Some(pair) = pair {
                        row(what, pair, None);
                    }
                }
            }
            if let Some(berm) = &pond.berm {
                row("forebay’s berm: from the inlet’s bank top, and across", (berm.from_edge, berm.across), None);
            }
            for layer in &pond.layers {
                row(&layer.name, (layer.from, layer.to), Some(layer.volume));
            }
            for level in &pond.levels {
                row(&level.name, (level.level, level.level), None);
            }
        }
        table
    }
}

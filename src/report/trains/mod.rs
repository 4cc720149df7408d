//! Which train: what is not beaten among the trains that were tried, and in the annex every one of them.

mod annex;
pub mod json;
mod page;

pub use annex::annex;

use crate::compare::Cell;
use crate::compare::search::{Fate, Figures, Found, Measure, Search, Train};
use crate::page::document::Document;
use crate::report::case::{AS_IS, ComparedCase, begun, spread, units};
use crate::report::units::Unit;

/// Everything the document is made from.
#[derive(Debug, Clone, Copy)]
pub struct TrainsCase<'a> {
    /// The site as it stands, studied alone.
    pub case: ComparedCase<'a>,
    /// What was searched.
    pub search: &'a Search<'a>,
    /// What was found.
    pub found: &'a Found,
}

impl<'a> TrainsCase<'a> {
    /// The unit of a measure, as this document prints it.
    fn unit(&self, measure: Measure) -> Unit {
        let units = units(&self.case);
        match measure {
            Measure::Cost | Measure::Labour => AS_IS,
            Measure::WashWater => units.water,
            Measure::Landfill => units.mass,
        }
    }

    /// The unit of a measure in words.
    fn unit_words(&self, measure: Measure) -> String {
        match measure {
            Measure::Cost => self.case.study.prices.money.clone(),
            Measure::Labour => "h".to_owned(),
            Measure::WashWater | Measure::Landfill => self.unit(measure).name.to_owned(),
        }
    }

    /// A measure's head in a table.
    fn head(measure: Measure) -> &'static str {
        match measure {
            Measure::Cost => "Costs more than now",
            Measure::WashWater => "Wash water a year",
            Measure::Labour => "Labour a year",
            Measure::Landfill => "Wet waste a year",
        }
    }

    /// A figure with its range, as printed.
    fn shown(&self, of: &Figures, measure: Measure) -> String {
        self.printed(&of.cell(measure), measure)
    }

    fn printed(&self, cell: &Cell, measure: Measure) -> String {
        spread(cell, self.unit(measure)).replace('-', "−")
    }

    /// The trains that are not beaten, the best in the first measure first.
    fn unbeaten(&self) -> Vec<(&'a Train, &'a Figures)> {
        let by = self.found.measures.first().copied().unwrap_or(Measure::WashWater);
        let mut all: Vec<(&Train, &Figures)> = self
            .found
            .trains
            .iter()
            .filter_map(|train| match &train.fate {
                Fate::Unbeaten(of) => Some((train, of)),
                _ => None,
            })
            .collect();
        let at = |of: &Figures| of.cell(by).spread().map_or(f64::INFINITY, |of| of.median);
        all.sort_by(|a, b| at(a.1).total_cmp(&at(b.1)));
        all
    }

    /// What a train that is not beaten is called for short: its number among them.
    fn number(&self, train: &Train) -> Option<usize> {
        self.unbeaten().iter().position(|(known, _)| known.name == train.name).map(|at| at + 1)
    }
}

/// Names as printed: `Bags 25 µm`.
fn pretty(name: &str) -> String {
    name.replace(" um", " µm")
}

/// The document.
pub fn document(case: &TrainsCase<'_>) -> Document {
    let mut doc = begun(&case.case, "Which train");
    page::write(case, &mut doc);
    doc
}

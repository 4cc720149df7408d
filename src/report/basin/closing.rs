//! What was not checked, assumptions, methods, files, cautions.

use crate::page::document::{Basis, Cell, Column, Document, Table, Text};
use crate::report::basin::{BasinCase, few};
use crate::report::cautions;
use crate::report::inspection::closing;
use crate::science;
use crate::sizing::{Answer, Asks, Outcome};

/// What a licensed engineer looks at, and this program does not.
const NOT_CHECKED: &[(&str, &str)] = &[
    ("The ground", "Borings, soil strength, how it seeps, rock, fill, contamination, old pipes and cables."),
    (
        "Banks",
        "Stability of the slopes full, empty and drawn down fast; seepage through and under them; burrows and roots; settlement.",
    ),
    (
        "Spillway",
        "Its size, its erosion, and what happens in a storm larger than the one named. No outflow was routed.",
    ),
    ("Who is below", "Hazard class of the bank, and what a failure would flood."),
    ("Groundwater", "Uplift of a lining, springs, the season's highest table, wells nearby."),
    ("Lining", "Seams, anchor trenches, gas, wind, sun; a seepage test after building."),
    ("Storms within the day", "The run steps by days: a cloudburst of an hour enters only where a duty names it."),
    ("Snow and ice", "Snow is not kept and melted later, and ice takes up room."),
    (
        "Short-circuits and wind",
        "Inlet and outlet, baffles and wind stirring are taken into the number of cells, no further.",
    ),
    (
        "Drawdown",
        "How soon the room for the storm is free again; pumps and drains were taken as the facility file says.",
    ),
    ("Permits", "Dams, wetlands, water rights, zoning and groundwater have permits of their own."),
    ("Drowning", "Fence, ladder, buoy, gentle slopes: see the cautions."),
];

/// Methods that the figures rest on.
const METHODS: &[&str] = &[
    "pond-prismoid",
    "water-density",
    "water-viscosity",
    "settling-velocity",
    "settling-ferguson-church",
    "overflow-rate",
    "settling-tanks-in-series",
    "horizontal-velocity",
    "sludge-volume",
    "runoff-coefficient",
    "runoff-curve-number",
    "basin-area-rule",
    "basin-volume-rule",
    "poisson-interval",
];

/// Writes the closing chapters.
pub fn write(case: &BasinCase, doc: &mut Document) {
    doc.heading(2, "What was not checked");
    doc.definitions(NOT_CHECKED.iter().map(|(what, text)| (*what, Text::from(*text))));
    assumptions(case, doc);
    method_list(case, doc);
    files(case, doc);
    doc.heading(2, "Cautions");
    let mut text = vec![Text::from(
        "This is a computation to talk over with an engineer. It is not a design for construction: nothing may be dug, raised or lined from it.",
    )];
    text.extend(cautions::STANDING.text.iter().map(|text| Text::from(*text)));
    doc.caution(cautions::STANDING.head, text);
    for danger in cautions::DANGERS {
        doc.caution(danger.head, danger.text.iter().map(|text| Text::from(*text)).collect());
    }
}

fn assumptions(case: &BasinCase, doc: &mut Document) {
    let basics = &case.study.basics;
    doc.heading(2, "Assumptions");
    doc.paragraph(format!(
        "Values that are ranges, not known, or were taken because nothing was typed; all else stands as typed in the facility \
         file, and no record enters. A range stands at its middle in the run, and at the end that asks more of the pond in the \
         volumes. The site was stepped {} time{} a day.",
        basics.steps_per_day,
        if basics.steps_per_day == 1 { "" } else { "s" }
    ));
    let mut table = Table::new(vec![Column::words("What"), Column::words("Value"), Column::words("Source")])
        .caption("Assumptions")
        .wide();
    for one in basics.assumptions.iter().filter(|one| one.is_range || one.is_unknown || one.place.is_none()) {
        table.traced(
            vec![Cell::words(one.key.clone()), Cell::words(one.text.clone()), Cell::words(one.source)],
            one.place.as_ref().map(ToString::to_string).unwrap_or_else(|| "not typed".to_owned()),
        );
    }
    doc.table(table);
    for repair in &case.weather.repairs {
        doc.traced(repair.sentence.clone(), repair.place.to_string());
    }
}

fn method_list(case: &BasinCase, doc: &mut Document) {
    doc.heading(2, "Methods and sources");
    if let Outcome::Pond(_) = case.study.outcome {
        doc.paragraph(
            "The least shape: every shape of the grid is held against the duties that need no weather. For each floor plan, \
             either its least shape that does the others is found by running the site over the years, or its deepest shape that \
             would still beat the best found is shown to fail. One rule spares runs: of two ponds with the same surface, sides \
             and banks, the deeper spills on no more days, no more water and no longer, and runs short on no more days. That it \
             also spills no oftener is taken, though two spills with a dry day between could be one in a shallower pond.",
        );
    }
    for method in METHODS.iter().filter_map(|id| science::find(id)) {
        closing::method_record(method, doc);
    }
    if let Outcome::Pond(answer) = &case.study.outcome {
        rules_of_thumb(case, answer, doc);
    }
}

/// Rules of thumb of single jurisdictions, held beside the pond found.
fn rules_of_thumb(case: &BasinCase, answer: &Answer, doc: &mut Document) {
    let units = case.units();
    doc.heading(3, "Rules of thumb of single jurisdictions");
    doc.paragraph(
        "Rules of thumb from other places and purposes, held beside the pond found. They are not duties here; a pond far from \
         them is a question for the engineer.",
    );
    let mut table = Table::new(vec![
        Column::words("Rule"),
        Column::words("Comes to").right(),
        Column::words("This pond").right(),
        Column::words("Source"),
    ])
    .caption("Rules of thumb")
    .wide();
    for rule in &answer.rules {
        let (asks, has) = match rule.asks {
            Asks::Volume(m3) => (units.m3(m3), units.m3(rule.has)),
            Asks::Area(m2) => (units.m2(m2), units.m2(rule.has)),
            Asks::LengthToWidth(ratio) => (format!("{} to 1", few(ratio)), format!("{} to 1", few(rule.has))),
        };
        table.row(vec![
            Cell::words(rule.rule),
            Cell::known(asks, Basis::Computed),
            Cell::known(has, Basis::Computed),
            Cell::words(Text::from(format!("{} ({})", rule.source, rule.standing.words()))),
        ]);
    }
    doc.table(table);
}

fn files(case: &BasinCase, doc: &mut Document) {
    closing::files_table(case.files, case.digest, doc);
    if !case.warnings.is_empty() {
        doc.heading(3, "Told while reading");
        doc.list(case.warnings.iter().map(Text::from).collect());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_method_misspelt_in_the_list_would_be_left_out_unseen() {
        for id in METHODS {
            assert!(science::find(id).is_some(), "{id}");
        }
    }
}

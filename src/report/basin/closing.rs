//! What was not checked, and who may come to harm.

use crate::page::document::{Document, Text};

/// What a licensed engineer looks at, and this program does not.
const NOT_CHECKED: &[(&str, &str)] = &[
    ("The ground", "Borings, soil strength, how it seeps, rock, fill, contamination, old pipes and cables."),
    (
        "Banks",
        "Stability of the slopes full, empty and drawn down fast; seepage through and under them; burrows and roots; settlement.",
    ),
    (
        "Spillway",
        "Its size, its erosion, and what happens in a storm larger than the one named. Of a crest that was typed a level is told, no more; no outflow was routed.",
    ),
    ("Who is below", "Hazard class of the bank, and what a failure would flood."),
    ("Groundwater", "Uplift of a lining, springs, the season's highest table, wells nearby."),
    ("Lining", "Seams, anchor trenches, gas, wind, sun; a seepage test after building."),
    (
        "Storms within the day",
        "The run has the rain of whole days: a cloudburst of an hour enters only where a duty names it.",
    ),
    ("Snow and ice", "Snow is not kept and melted later, and ice takes up room."),
    (
        "Short-circuits and wind",
        "Inlet and outlet, baffles and wind stirring are taken into the number of cells, no further.",
    ),
    ("Drawdown", "Whether pumps and drains do what was typed of them: power, head, blockage, and who starts them."),
    ("Permits", "Dams, wetlands, water rights, zoning and groundwater have permits of their own."),
    ("Drowning", "Fence, ladder, buoy, gentle slopes: see below."),
];

/// Writes the last chapters.
pub(super) fn write(doc: &mut Document) {
    doc.heading(2, "What was not checked");
    doc.definitions(NOT_CHECKED.iter().map(|(what, text)| (*what, Text::from(*text))));
    doc.caution(
        "Whoever works at a pond",
        vec![Text::from(
            "Ponds drown people, children first: fence and lock them, keep a ladder or rope and a buoy at hand, and do not work alone. The \
             crust on settled sludge looks firm and is not: never walk on it. A bank that fails floods what lies below it: do not \
             build, raise, breach or line one from this.",
        )],
    );
}

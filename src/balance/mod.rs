//! Plan, day step, ledger, residual, trace.
//!
//! # Readings of the rules
//!
//! Where the rules of the balance leave a choice, this is what is done. The second engine in `tests/` must do the same.
//!
//! 1. A line with several sources is flattened to its paths, a filter's several sources counting each as a path. Round j
//!    (of at most four) asks over each asker's j-th path for what is still lacking; a filter's gross water is that of all
//!    its net water so far. Rank at a source is the turn of what takes from it directly; float valves, clean wash water,
//!    hoses and sprays have rank 0.
//! 2. A filter is counted anew where other water came than it asked for. What it has left goes to its children by rank,
//!    at most what they asked for: what it could spare is not drawn, and clean water is drawn for washes that are made.
//!    Only what a meter counted into a line goes on whole, the rest of it to the last rank; with nobody asking it is
//!    unaccounted. Where a later source makes a filter wash oftener, its last rank goes short first.
//! 3. A pull filter's capacity is a limit on what it asks for; a push filter's excess goes to its bypass.
//! 4. Water flows through a filter for the longest `runs` among what takes from it (pull) or flows to it (push); the
//!    whole day where one of these says nothing; float valves count only where nothing else does.
//! 5. Time for washes is that running time, or the hours in which washing is allowed if these are fewer; with several
//!    steps a day, one event always fits in a step. A wash log's count over several steps or days is split to whole
//!    counts. A wash that takes up as much as it clears (of solids, or of its own throughput) is due again at once: no
//!    more are counted than the water passed on could make, and one at least. A pull filter whose inlets are all metered
//!    is counted by what they say.
//! 6. `at` makes the clock interval a schedule in whole days (each day without one), counted from the last event or the
//!    start of the run; the event is the day's first.
//! 7. Wash water holds the wash, the rinse to waste and what is drained, in one entry; a measured volume of one wash is
//!    that of all three. A meter on it (or on what drains at changes) is its volume whether the count is logged or
//!    computed, and a pull line asks for that much more: no unaccounted arises. So does one on the clean water.
//! 8. Changes drain housings as a wash of the filter's own water; spent media carry the solids.
//! 9. Screenings' liquor, drip of spent media and drum rinse are continuous: clamp(a · caught, least, most).
//! 10. A roll with `passes unfiltered` lets the rest of that step by, with no more drip than it wound on; a new roll is
//!     on the next morning, or when a change is logged if the log has any. A pull line asks for no more drip than
//!     that.
//!     What media hold against sand multiplies a load typed on an area (layers weigh by depth), the flow they need
//!     multiplies a flux (the layer that needs most counts); a pump's rate and a measured volume stay as typed.
//! 11. A spray on a push line and clean water of a push filter are drawn at the filter's turn. A spray runs for its part
//!     of the running time, and only while water flows; less than 1e-6 m³ in a step is no flow. Hosing happens
//!     every day.
//! 12. Solids that runoff or returns pick up come from outside, `picked up`; a crop takes its share of solids as of water.
//! 13. Area and levels count sludge under the water; marks typed as levels are less the sludge, marks typed as volumes are
//!     water. Pore water carries nothing dissolved. Without `sludge` in the file what settles takes no volume and no
//!     pore water.
//! 14. Sludge at the start is made of the first kind in the file that settles; without one it takes its room as water.
//! 15. A float valve's projection uses the two passes without the fill; the fill acts before the level pump, the pump
//!     before the tanker, the tanker before the spill.
//! 16. Curve numbers and the first rain soaked up act on the whole day's rain whatever the steps.
//! 17. A level record on the first day is the opening. One written at the day's start is the close of the day before;
//!     any other, of its day. A volume held is water, a level or freeboard has sludge under it. A sounding of sludge
//!     is read by the same days, before a level of the same day: sludge grows or shrinks as it is made up, and the
//!     difference goes to or comes from `unaccounted`; where there was none, or less than a thousandth of what was
//!     sounded, it is made as at the start. The water
//!     stays. Soundings count only where `sludge` is typed, and up to the spill level.
//! 18. A metered draw is set aside before anybody is granted anything; the other inlets of who draws are asked for the
//!     rest. It may go below the lowest volume. What is not there comes from `unaccounted` at the store's mean
//!     concentration first.
//! 19. A meter that counted where nothing was computed to flow: a catchment's typed concentrations, a store's last cell
//!     at the close, else clean. One of several ways out has the concentration of the whole flow. A flow (or what a
//!     store holds) of less than 1e-6 m³, less than a thousandth of what a record says there is more of it, or with more
//!     solids than its own weight, has no concentration of its own; less than 1e-6 m³ over a mark or in a store is none.
//!     A load is hauled in the last step of its day.
//! 20. Limits of outlets hold round the clock. Mass without a flow goes to the first of them.
//! 21. Samples below or above a detection limit do not enter the ledger. A day's samples are averaged. One at a discharge
//!     point is of every flow to it but screenings and spent media; one at another place of what it returns, sheds,
//!     spills, pumps out or passes on, not of what is drawn from it. Of two that mean one flow the later counts. Where
//!     nothing was computed to split it by, the first kind's own spread stands in.
//! 22. Steps per day: uses and transfers over their first path, against what lies above the lowest volume when the store
//!     is full, or filled as far as its float valve fills it.
//! 23. What is not known of solids marks washes and rinses, and the flow past them; liquor, drip and drain-downs carry
//!     their own mark only. A level record clears the mark of a store's water.
//! 24. Evaporation or temperature that is not known: none and 15 °C; rain in a gap: none, marked not known.

mod at;
mod basis;
mod book;
mod candidates;
mod ensemble;
mod entry;
mod findings;
mod lanes;
mod ledger;
mod plan;
mod rows;
mod run;
mod step;
#[cfg(test)]
mod tests;
mod totals;

pub use at::{At, Per, WayAt};
pub use candidates::{CandidateRun, Candidates, Seen};
pub use ensemble::{Ensemble, Season, ensemble, measure};
pub use entry::{Basis, Node, Parcel, Purpose, Way};
pub use findings::{FacilityFinding, FindingKind};
pub(crate) use findings::{bed_of, wash_rate_m3_s};
pub use ledger::{
    BoundRider, DailySeries, Entry, FilterSeries, GoverningTrigger, Held, Ledger, Memo, MemoKind, Quantity, Residual,
    ResidualError, Residuals, Selector, Shape, StoreSeries, Trace, TraceLine, Watch,
};
pub use plan::{Assumption, Draw};
pub use run::{Run, run, run_since};
pub use totals::{Account, Amount, PlaceTotals};

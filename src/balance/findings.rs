//! What a run shows about the facility itself, as plain data.

mod beds;
mod hand_checks;
mod outlets;
mod said;
#[cfg(test)]
mod tests;

pub(crate) use crate::balance::findings::beds::{bed_of, wash_rate_m3_s};

use crate::balance::at::{FilterAt, Per};
use crate::balance::findings::said::Said;
use crate::balance::lanes::V;
use crate::balance::plan::Plan;
use crate::balance::step::Engine;
use crate::balance::{Ledger, MemoKind};
use crate::facility::model::{Facility, PlaceId};

/// What a finding is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum FindingKind {
    /// Washes or changes came due faster than there was time for them.
    CannotKeepUp,
    /// A wash takes up as much as it clears.
    WashLock,
    /// It washed for more than half of the time in which water flows.
    WashingMoreThanNot,
    /// Fewer washes were logged than the load asks for.
    LoggedTooFew,
    /// A meter's draw was more than the store's balance could give.
    DrawNotThere,
    /// Water was asked for and not given.
    Shortfall,
    /// More came to a filter than it handles.
    OverCapacity,
    /// Water passed an empty roll unfiltered.
    Unfiltered,
    /// A pond or tank that has no outlet ran over.
    NoOutlet,
    /// More flowed to a sewer than it takes.
    SewerRate,
    /// A wash or a pump runs to a discharge point at a rate above what it takes.
    SewerPeak,
    /// The wash flow is less than the bed's area needs.
    WashPumpTooSmall,
    /// The wash flux lies below what fluidises the bed at that temperature.
    BelowFluidisation,
    /// The flux on sister vessels while one washes.
    SisterFlux,
    /// What textbooks say by hand, beside the ledger.
    ByHand,
}

impl FindingKind {
    /// In a few words, for a heading.
    pub fn words(self) -> &'static str {
        match self {
            Self::CannotKeepUp => "cannot keep up",
            Self::WashLock => "locked in washing",
            Self::WashingMoreThanNot => "washes more than not",
            Self::LoggedTooFew => "fewer washes logged than the load asks for",
            Self::DrawNotThere => "metered draw that the balance could not give",
            Self::Shortfall => "water asked for and not given",
            Self::OverCapacity => "more than it handles",
            Self::Unfiltered => "water passed unfiltered",
            Self::NoOutlet => "ran over, and has no outlet",
            Self::SewerRate => "more than the sewer takes",
            Self::SewerPeak => "runs faster than the sewer takes",
            Self::WashPumpTooSmall => "wash flow too small for the bed",
            Self::BelowFluidisation => "wash flux below fluidisation",
            Self::SisterFlux => "flux while one vessel washes",
            Self::ByHand => "by hand",
        }
    }
}

/// A finding about a place.
#[derive(Debug, Clone, PartialEq)]
pub struct FacilityFinding {
    /// The place.
    pub place: PlaceId,
    /// What about.
    pub kind: FindingKind,
    /// One plain sentence, in the facility's system of units.
    pub sentence: String,
    /// The days it holds for, counted from 0; empty where it holds for the whole run.
    pub days: Vec<usize>,
    /// The amount it is about, in m³, m³/h, m/h, hours or days, largest over the days.
    pub amount: f64,
}

/// Gathers while a run goes on.
#[derive(Debug)]
pub(crate) struct Gather {
    over_capacity: Per<FilterAt, Vec<(usize, f64)>>,
}

impl Gather {
    pub fn new(plan: &Plan) -> Self {
        Self { over_capacity: Per::filled(plan.filters.len(), Vec::new()) }
    }

    pub fn day(&mut self, day: usize, plan: &Plan, engine: &Engine<'_, 1>) {
        for (f, filter) in plan.filters.each() {
            let did = &engine.day.filters[f];
            let over = lane(did.bypassed_m3).max(lane(did.gross_m3) - plan.params[filter.most_m3_d]);
            if over > 1e-9 {
                self.over_capacity[f].push((day, over));
            }
        }
    }

    /// Everything found; `water_c` is the temperature of the water by day, and what could not be judged goes to `notes`.
    pub fn finish(
        self,
        facility: &Facility,
        plan: &Plan,
        ledger: &Ledger,
        water_c: &[f64],
        notes: &mut Vec<String>,
    ) -> Vec<FacilityFinding> {
        let mut findings = Vec::new();
        let name = |place: PlaceId| facility.get(place).map(|p| p.name.clone()).unwrap_or_default();
        for (filter, list) in plan.filters.iter().zip(&self.over_capacity) {
            if !list.is_empty() {
                let most = list.iter().map(|(_, v)| *v).fold(0.0, f64::max);
                findings.push(FacilityFinding {
                    place: filter.place,
                    kind: FindingKind::OverCapacity,
                    sentence: format!(
                        "{} was given more than it handles on {} days; at most {} over",
                        name(filter.place),
                        list.len(),
                        Said(facility.system).volume(most)
                    ),
                    days: list.iter().map(|(d, _)| *d).collect(),
                    amount: most,
                });
            }
        }
        for (memo, kind, words) in [
            (
                MemoKind::CarriedOver,
                FindingKind::CannotKeepUp,
                "cannot keep up: washes or changes came due without time for them",
            ),
            (
                MemoKind::WashLock,
                FindingKind::WashLock,
                "is locked in washing: a wash takes up as much as it clears; no more washes are counted than the water it passes on could make",
            ),
            (MemoKind::LoggedTooFew, FindingKind::LoggedTooFew, "was logged with fewer washes than its load asks for"),
            (MemoKind::DrawNotThere, FindingKind::DrawNotThere, "did not hold what the meter says was drawn"),
            (MemoKind::Shortfall, FindingKind::Shortfall, "asked for more water than there was"),
        ] {
            for index in 0..facility.places.len() {
                let place = PlaceId(index);
                let of: Vec<_> = ledger.memos().iter().filter(|m| m.place == place && m.kind == memo).collect();
                if of.is_empty() {
                    continue;
                }
                let most = of.iter().map(|m| m.amount).fold(0.0, f64::max);
                findings.push(FacilityFinding {
                    place,
                    kind,
                    sentence: format!("{} {words}, on {} days", name(place), of.len()),
                    days: of.iter().map(|m| m.day).collect(),
                    amount: most,
                });
            }
        }
        for series in ledger.filters() {
            let busy: Vec<usize> = series
                .minutes
                .iter()
                .zip(&series.running_h)
                .enumerate()
                .filter(|(_, (minutes, hours))| **hours > 0.0 && **minutes > 30.0 * **hours)
                .map(|(day, _)| day)
                .collect();
            if !busy.is_empty() {
                findings.push(FacilityFinding {
                    place: series.place,
                    kind: FindingKind::WashingMoreThanNot,
                    sentence: format!(
                        "{} washed for more than half of its running time on {} days",
                        name(series.place),
                        busy.len()
                    ),
                    amount: busy.len() as f64,
                    days: busy,
                });
            }
            let open: Vec<usize> =
                series.unfiltered_h.iter().enumerate().filter(|(_, h)| **h > 0.0).map(|(day, _)| day).collect();
            if !open.is_empty() {
                let hours: f64 = series.unfiltered_h.iter().sum();
                findings.push(FacilityFinding {
                    place: series.place,
                    kind: FindingKind::Unfiltered,
                    sentence: format!(
                        "water passed {} unfiltered for {hours:.1} h on {} days: its roll had run out",
                        name(series.place),
                        open.len()
                    ),
                    days: open,
                    amount: hours,
                });
            }
        }
        beds::beds(facility, ledger, water_c, &mut findings, notes);
        outlets::outlets(facility, ledger, &mut findings);
        outlets::without(facility, ledger, &mut findings);
        hand_checks::hand_checks(facility, ledger, water_c, &mut findings);
        findings
    }
}

fn lane(v: V<1>) -> f64 {
    v.0[0]
}

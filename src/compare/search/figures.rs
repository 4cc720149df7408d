//! The figures by which trains are held against one another, and why a train is none of those compared.

use crate::compare::figures::Cell;
use crate::compare::quantity::Kind;
use crate::compare::verdict::COMPARED;
use crate::compare::{Hauled, Study, Worse, three};
use crate::rules::Outcome;

/// By what trains are held against one another: less is better.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    /// Cost over the years compared, worth today, more than that of the site as it stands.
    Cost,
    /// Wash, rinse and reject water a year, m³.
    WashWater,
    /// Labour a year, h.
    Labour,
    /// Wet waste hauled a year, kg.
    Landfill,
}

impl Measure {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Cost, Self::WashWater, Self::Labour, Self::Landfill];

    fn kind(self) -> Option<Kind> {
        match self {
            Self::Cost => None,
            Self::WashWater => Some(Kind::WashWater),
            Self::Labour => Some(Kind::Labour),
            Self::Landfill => Some(Kind::WetWaste),
        }
    }
}

/// A limit that a train is predicted outside of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Outside {
    /// The limit.
    pub name: String,
    /// The worst figure, with its range.
    pub figure: String,
    /// The bound.
    pub bound: String,
}

impl Outside {
    /// `predicted outside of Wash water (at most 8,000 gal): 9 100 gal`.
    pub fn words(&self) -> String {
        format!("predicted outside of {} ({}): {}", self.name, self.bound, self.figure)
    }
}

/// What of the samples lets nothing be told of a train.
fn of_the_samples(study: &Study, option: usize) -> Vec<String> {
    let mean = study.off_the_samples(option, 0);
    if mean.is_empty() { study.turned_by_samples(option) } else { mean }
}

/// What a train comes to over all draws.
#[derive(Debug, Clone, Default)]
pub struct Figures {
    /// By measure, in the order of [`Measure::ALL`].
    cells: Vec<Cell>,
    /// Of the site: what is not known of it, by measure. Of a train: what is not known of the site and not the same in the train.
    left_out: Vec<Vec<String>>,
    /// Why it serves the uses otherwise than the site as it stands; empty where alike.
    pub differences: Vec<String>,
    /// Why nobody knows whether it serves them alike; empty where that is known.
    pub service_unknown: Vec<String>,
    /// Limits that it is predicted outside of.
    pub outside: Vec<Outside>,
    /// Limits that it breaks and the site as it stands does not, or not so far.
    pub broken: Vec<Worse>,
    /// Of what limits it stays outside in every draw, as the site as it stands does; of the site, of which it is outside itself.
    pub stays: Vec<String>,
    /// Limits that leave it not decided whether it is an answer.
    pub open: Vec<Worse>,
    /// What of limits is not judged of it; that is told among `but` too.
    pub not_judged: Vec<String>,
    /// Limits that it is outside of, or may be, in so few draws that it may be an answer.
    pub but: Vec<String>,
    /// What it takes for granted that nobody has shown.
    pub only_if: Option<String>,
    /// Limits that are undecided.
    pub undecided: Vec<String>,
    /// Why its money is not compared; empty where it is.
    pub no_money: Vec<String>,
    /// What solids it is computed with that are far off the samples: then nothing of it can be told.
    pub off_the_samples: Vec<String>,
    /// How the waste of its spent pieces is counted.
    pub hauled: Hauled,
    /// Why the log lets nothing be told of it.
    pub off_the_log: Vec<String>,
}

impl Figures {
    /// The figures of an option of a study against its first.
    pub(super) fn of(study: &Study, option: usize) -> Self {
        let cells: Vec<Cell> = Measure::ALL
            .into_iter()
            .map(|measure| match measure.kind() {
                // What is not known and the same as on the site says nothing of which train is better.
                Some(kind) => study.known_total(option, kind),
                None => study.present_more(option, 0),
            })
            .collect();
        let of_all = |measure: Measure| {
            measure.kind().map_or_else(Vec::new, |kind| {
                if option == 0 { study.total(0, kind).missing } else { study.known_total(0, kind).missing }
            })
        };
        let mut no_money: Vec<String> = Vec::new();
        let money = cells.first().cloned().unwrap_or_default();
        let missing = COMPARED.into_iter().flat_map(|kind| study.more(option, 0, kind).missing);
        for why in missing.chain(money.missing.clone()).chain(study.too_little(&money)) {
            if !no_money.contains(&why) {
                no_money.push(why);
            }
        }
        let limits = study.options.get(option).map_or(&[][..], |of| &of.limits);
        let is_undecided = limits.iter().filter(|limit| study.believed(limit) == Some(Outcome::Undecided));
        let stays: Vec<String> = study.stays_outside(option, 0).into_iter().map(|of| of.name.clone()).collect();
        let outside = limits
            .iter()
            .filter(|of| study.believed(of) == Some(Outcome::PredictedOutside) || stays.contains(&of.name))
            .map(|limit| Outside { name: limit.name.clone(), figure: limit.figure.clone(), bound: limit.bound.clone() })
            .collect();
        let worse = if option == 0 { Vec::new() } else { study.worse_limits(option, 0) };
        let (broken, open) = worse.into_iter().partition(Worse::is_outside);
        Self {
            cells,
            left_out: Measure::ALL.into_iter().map(of_all).collect(),
            differences: study
                .service
                .iter()
                .filter(|served| served.option == option)
                .flat_map(|served| served.differences.clone())
                .collect(),
            service_unknown: study
                .service
                .iter()
                .filter(|served| served.option == option)
                .flat_map(|served| served.unknown.clone())
                .collect(),
            outside,
            broken,
            stays,
            open,
            not_judged: study.not_judged(option),
            but: study.nearly_kept(option, 0),
            only_if: if option == 0 { None } else { study.takes_for_granted(option) },
            undecided: is_undecided.map(|limit| limit.name.clone()).collect(),
            no_money,
            off_the_samples: if option == 0 { Vec::new() } else { of_the_samples(study, option) },
            hauled: study.hauled(option),
            off_the_log: if option == 0 { Vec::new() } else { study.off_the_log(option, 0) },
        }
    }

    /// A figure over all draws.
    pub fn cell(&self, measure: Measure) -> Cell {
        let at = Measure::ALL.iter().position(|known| *known == measure);
        at.and_then(|at| self.cells.get(at)).cloned().unwrap_or_default()
    }

    /// What the figures leave out, since it is not known and the same in every train that is compared.
    pub fn left_out(&self) -> Vec<String> {
        let mut out: Vec<String> = Vec::new();
        for why in self.left_out.iter().flatten() {
            if !out.contains(why) {
                out.push(why.clone());
            }
        }
        out
    }

    /// What is not known of the site is left out only where it is the same in each train that is compared; else that figure of
    /// the site is not compared.
    pub(super) fn compared_with(&mut self, trains: &[&Self]) {
        for (at, (cell, why)) in self.cells.iter_mut().zip(&self.left_out).enumerate() {
            let in_trains = trains.iter().filter_map(|of| of.left_out.get(at)).flatten();
            let lacks: Vec<String> = if trains.is_empty() { why.clone() } else { in_trains.cloned().collect() };
            for why in lacks {
                if !cell.missing.contains(&why) {
                    cell.missing.push(why);
                }
            }
        }
    }

    /// Why a figure of these is not compared; none where all are.
    pub fn lacks(&self, measures: &[Measure]) -> Option<String> {
        measures.iter().find_map(|measure| self.cell(*measure).missing.first().cloned())
    }

    /// Why figures other than money can't be told.
    pub(super) fn missing_but_money(&self) -> Vec<String> {
        let mut out: Vec<String> = Vec::new();
        for cell in self.cells.iter().skip(1) {
            for why in cell.missing.iter().filter(|why| !out.contains(*why)).collect::<Vec<_>>() {
                out.push(why.clone());
            }
        }
        out
    }

    /// What it is held by: the middle of the draws, to three digits, as is printed.
    pub(super) fn held_by(&self, measures: &[Measure]) -> Vec<f64> {
        measures
            .iter()
            .map(|measure| self.cell(*measure).spread().map_or(f64::INFINITY, |of| three(of.median)))
            .collect()
    }
}

//! How well each draw repeats the log, and how much it counts for that.
//!
//! A range says what was believed before anybody looked at the log. A draw counts by how well its washes, changes, wash
//! water and solids repeat what was logged, `exp(−½ Σ (ln(computed / logged) / σ)²)`, and not at all where one of them is
//! further off than 2 σ: weighted draws with limits of acceptability (Beven and Binley 1992, Hydrological Processes 6,
//! 279–298; from memory). What no draw repeats, the ranges can't explain. The last third of the logged time is kept out of the
//! weights and tells whether they hold there (split sample, Klemeš 1986; from memory).

use std::sync::Arc;

use chrono::{Days, NaiveDate};

use crate::compare::log::{Against, Measure};
use crate::compare::study::LEAST_DRAWS;
use crate::facility::model::PlaceId;

/// Twice the spread within which counts and volumes repeat the log, as a factor: a quarter more (common practice, no source).
const WITHIN: f64 = 1.25;

/// The same for solids, whose samples scatter: double or half (common practice, no source).
const WITHIN_SOLIDS: f64 = 2.0;

/// How much wider the band is in the period kept out (in ln): seasons differ.
const KEPT_OUT: f64 = 2.0;

/// The shortest logged time of which a third is kept out, days.
const LEAST_TO_SPLIT: i64 = 90;

/// What a period's figures are: logged and computed.
pub type Pair = (f64, f64);

/// One thing that was logged.
#[derive(Debug, Clone, PartialEq)]
pub struct Thing {
    /// What: `washes of Sand beds`.
    pub what: String,
    /// Where.
    pub at: PlaceId,
    /// Its measure.
    pub measure: Measure,
    /// Logged and computed over all the log, by run: the single run first. Sums; means of solids.
    pub whole: Vec<Pair>,
    /// The same over the period that weighs.
    pub weighed: Vec<Pair>,
    /// The same over the period kept out; empty where none is.
    pub kept_out: Vec<Pair>,
    /// How many draws repeat it.
    pub repeated_by: usize,
    /// Whether enough draws repeat it.
    pub explained: bool,
    /// Whether the draws that repeat the log still do in the period kept out.
    pub holds: bool,
    /// Whether all samples of it are below detection: whatever is below that too repeats them.
    pub below_alone: bool,
    tolerance: f64,
}

/// How well the draws repeat the log.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Repeated {
    /// What was logged: washes, changes, wash water, solids.
    pub things: Vec<Thing>,
    /// What each run counts, the single run first; none where all count alike.
    pub weights: Option<Arc<[f64]>>,
    /// How many draws repeat all that some draws repeat.
    pub repeating: usize,
    /// How many draws as good as equal ones these are: `(Σw)² / Σw²` (Kish 1965; from memory).
    pub effective: f64,
    /// The period that weighs, and the one kept out.
    pub split: Option<((NaiveDate, NaiveDate), (NaiveDate, NaiveDate))>,
    /// What each is held against is repeated by some draws, and by none together.
    pub apart: bool,
}

/// Whether a thing weighs draws: what the money of a filter turns on.
pub fn weighs(measure: Measure) -> bool {
    matches!(measure, Measure::Events | Measure::WashWater | Measure::Solids)
}

impl Repeated {
    /// What the draws are held against: `log`; `meters` or `samples` where nobody logged a wash or a change, or no draw repeats those.
    pub fn held_against(&self) -> &'static str {
        let held = |of: &Thing| of.explained && !of.below_alone;
        let any_held = self.things.iter().any(held);
        let any = |measure: Measure| self.things.iter().any(|of| of.measure == measure && (held(of) || !any_held));
        match (any(Measure::Events), any(Measure::WashWater)) {
            (true, _) => "log",
            (false, true) => "meters",
            (false, false) => "samples",
        }
    }
}

impl Thing {
    fn off(&self, pair: &Pair) -> f64 {
        off(self.measure, pair)
    }

    /// Whether a run repeats it over all of the log.
    pub fn repeats(&self, run: usize) -> bool {
        self.whole.get(run).is_some_and(|pair| self.off(pair).abs() <= self.tolerance)
    }
}

/// `ln(computed / logged)`; counts with one added, so that none logged is a figure too.
fn off(measure: Measure, (logged, computed): &Pair) -> f64 {
    let more = if measure == Measure::Events { 1.0 } else { 0.0 };
    ((computed + more) / (logged + more)).ln()
}

/// Logged and computed between two dates; none where nothing was logged there or, but for counts, nothing above nought.
fn figures(of: &Against, (from, to): (NaiveDate, NaiveDate)) -> Option<Pair> {
    let of = of.between(from, to);
    let n = of.pairs.len() as f64;
    let (logged, computed) = of.pairs.iter().fold((0.0, 0.0), |(l, c), pair| (l + pair.1, c + pair.2));
    let per = if of.measure == Measure::Solids { n } else { 1.0 };
    (n > 0.0 && (logged > 0.0 || of.measure == Measure::Events)).then_some((logged / per, computed / per))
}

/// How far off a figure may be and still repeat the log, in ln: the band, widened by what chance does to few figures.
fn tolerance(of: &Against, (logged, _): Pair) -> f64 {
    let (within, chance) = match of.measure {
        Measure::Events => (WITHIN, 1.0 / (logged + 1.0).sqrt()),
        Measure::Solids => {
            let n = of.pairs.len() as f64;
            (WITHIN_SOLIDS, of.scatter().map_or(0.0, |s| s / n.sqrt() / logged.max(1e-12)).min(0.5))
        }
        _ => (WITHIN, 0.0),
    };
    within.ln().hypot(2.0 * chance)
}

/// The period that weighs and the one kept out, of all that was logged, from first to last day or first day of a month; none where
/// that is too short.
fn split(of: &[Against]) -> Option<((NaiveDate, NaiveDate), (NaiveDate, NaiveDate))> {
    let days = || of.iter().flat_map(|of| of.pairs.iter().map(|pair| pair.0));
    let (first, last) = (days().min()?, days().max()?);
    let long = (last - first).num_days();
    let cut = first.checked_add_days(Days::new(u64::try_from(long * 2 / 3).ok()?))?;
    let (weighed, kept_out) = (days().filter(|day| *day <= cut).max()?, days().filter(|day| *day > cut).min()?);
    (long >= LEAST_TO_SPLIT).then_some(((first, weighed), (kept_out, last)))
}

/// Weighs runs by what was logged and computed in each, the single run first.
pub fn repeated(runs: &[Vec<Against>]) -> Repeated {
    let below_alone: Vec<String> =
        runs.iter().take(1).flatten().filter(|of| of.pairs.is_empty()).map(|of| of.what.clone()).collect();
    // A result below detection is repeated by whatever is below it too.
    let near = |run: &Vec<Against>| run.iter().map(Against::as_near_as_can_be).collect::<Vec<_>>();
    let runs = &runs.iter().map(near).collect::<Vec<_>>()[..];
    let Some(single) = runs.first().filter(|of| of.iter().any(|of| weighs(of.measure))) else {
        return Repeated::default();
    };
    let single: Vec<Against> = single.iter().filter(|of| weighs(of.measure)).cloned().collect();
    let always = (NaiveDate::MIN, NaiveDate::MAX);
    // Where nothing logged goes with a range, nothing is fitted and all of the log may speak.
    let alike = runs.iter().all(|run| run.iter().filter(|of| weighs(of.measure)).eq(single.iter()));
    let split = split(&single).filter(|_| !alike);
    let by_run = |what: &str, measure: Measure, period| -> Option<Vec<Pair>> {
        runs.iter()
            .map(|run| {
                let of = run.iter().find(|of| of.what == what && of.measure == measure)?;
                Some(figures(of, period).unwrap_or((f64::NAN, f64::NAN)))
            })
            .collect()
    };
    let mut things: Vec<Thing> = single
        .iter()
        .filter_map(|of| {
            let weighed_on = split.map_or(always, |split| split.0);
            let at = figures(of, weighed_on)?;
            let kept_out = split.map(|split| split.1).filter(|period| figures(of, *period).is_some());
            Some(Thing {
                what: of.what.clone(),
                at: of.at,
                measure: of.measure,
                whole: by_run(&of.what, of.measure, always)?,
                weighed: by_run(&of.what, of.measure, weighed_on)?,
                kept_out: kept_out.and_then(|period| by_run(&of.what, of.measure, period)).unwrap_or_default(),
                repeated_by: 0,
                explained: false,
                holds: true,
                below_alone: of.measure == Measure::Solids && below_alone.contains(&of.what),
                tolerance: tolerance(&of.between(weighed_on.0, weighed_on.1), at),
            })
        })
        .collect();
    // Without draws the single run stands for them.
    let members: Vec<usize> = if runs.len() > 1 { (1..runs.len()).collect() } else { vec![0] };
    let enough = LEAST_DRAWS.min(members.len());
    for thing in &mut things {
        let within =
            |run: &&usize| thing.weighed.get(**run).is_some_and(|p| off(thing.measure, p).abs() <= thing.tolerance);
        thing.repeated_by = members.iter().filter(within).count();
        thing.explained = thing.repeated_by >= enough;
    }
    let weight = |run: usize, things: &[Thing]| -> f64 {
        things.iter().filter(|thing| thing.explained).fold(1.0, |weight, thing| {
            let off = thing.weighed.get(run).map_or(f64::NAN, |pair| thing.off(pair));
            let sigmas = 2.0 * off / thing.tolerance;
            if off.abs() <= thing.tolerance { weight * (-0.5 * sigmas * sigmas).exp() } else { 0.0 }
        })
    };
    let mut weights: Vec<f64> = (0..runs.len()).map(|run| weight(run, &things)).collect();
    let of_members =
        |weights: &[f64]| members.iter().map(|run| weights.get(*run).copied().unwrap_or(0.0)).collect::<Vec<_>>();
    let effective = |weights: &[f64]| {
        let (sum, squares) = weights.iter().fold((0.0, 0.0), |(s, q), w| (s + w, q + w * w));
        if squares > 0.0 { sum * sum / squares } else { 0.0 }
    };
    let mut counted = of_members(&weights);
    let any = things.iter().any(|thing| thing.explained);
    let repeating = if any { counted.iter().filter(|w| **w > 0.0).count() } else { 0 };
    let apart = any && repeating < enough;
    if apart {
        things.iter_mut().for_each(|thing| thing.explained = false);
        weights = vec![1.0; runs.len()];
        counted = of_members(&weights);
    }
    let total: f64 = counted.iter().sum();
    for thing in things.iter_mut().filter(|thing| thing.explained && !thing.kept_out.is_empty()) {
        let mean = members
            .iter()
            .zip(&counted)
            .filter_map(|(run, w)| Some((*thing.kept_out.get(*run)?, w)))
            .filter(|(_, w)| **w > 0.0)
            .fold((0.0, 0.0), |(l, c), (pair, w)| (l + w * pair.0 / total, c + w * pair.1 / total));
        let chance = if thing.measure == Measure::Events { 2.0 / (mean.0 + 1.0).sqrt() } else { 0.0 };
        thing.holds = off(thing.measure, &mean).abs() <= (KEPT_OUT * thing.tolerance).hypot(chance);
    }
    let even = counted.iter().all(|w| Some(w) == counted.first());
    Repeated {
        things,
        effective: effective(&counted),
        weights: (!even).then(|| Arc::from(weights)),
        repeating,
        split,
        apart,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(month: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(2025, month, 1).unwrap()
    }

    /// A year of months with so many washes each, logged and computed.
    fn year(logged: f64, computed: f64) -> Vec<Against> {
        vec![Against {
            what: "washes of Beds".to_owned(),
            at: PlaceId(0),
            measure: Measure::Events,
            level: None,
            pairs: (1..=12).map(|month| (day(month), logged, computed)).collect(),
            below: Vec::new(),
            left_out: 0,
        }]
    }

    fn runs(logged: f64, computed: impl IntoIterator<Item = f64>) -> Vec<Vec<Against>> {
        let mut runs = vec![year(logged, logged)];
        runs.extend(computed.into_iter().map(|computed| year(logged, computed)));
        runs
    }

    /// Samples are held against each other by their mean, all else by its sum; what was logged as nought speaks only where it was counted.
    #[test]
    fn a_log_is_summed_and_samples_are_averaged() {
        let all = (day(1), day(12));
        let of = |measure: Measure, pairs: &[(u32, f64, f64)]| {
            let pairs = pairs.iter().map(|(month, logged, computed)| (day(*month), *logged, *computed)).collect();
            figures(&Against { measure, pairs, ..year(1.0, 1.0).remove(0) }, all)
        };
        let three = [(1, 2.0, 5.0), (2, 4.0, 6.0), (3, 9.0, 1.0)];
        assert_eq!(of(Measure::Solids, &three), Some((5.0, 4.0)));
        assert_eq!(of(Measure::WashWater, &three), Some((15.0, 12.0)));
        assert_eq!(of(Measure::Events, &three), Some((15.0, 12.0)));
        assert_eq!(of(Measure::Events, &[(1, 0.0, 3.0)]), Some((0.0, 3.0)));
        assert_eq!(of(Measure::WashWater, &[(1, 0.0, 3.0)]), None);
        assert_eq!(of(Measure::Events, &[]), None);
    }

    #[test]
    fn draws_that_repeat_the_log_equally_well_count_alike() {
        let of = repeated(&runs(20.0, vec![22.0; 100]));
        assert!(of.weights.is_none());
        assert_eq!(of.repeating, 100);
        assert!((of.effective - 100.0).abs() < 1e-9);
        assert!(of.things[0].explained && of.things[0].holds);
    }

    /// The weights against the same sum written out: eight of twelve months weigh, σ is half of √(ln² 1.25 + 4 / 161).
    #[test]
    fn a_draw_counts_by_how_far_it_is_from_the_log() {
        let computed: Vec<f64> = (0..200).map(|i| 15.0 + 0.05 * f64::from(i)).collect();
        let of = repeated(&runs(20.0, computed.clone()));
        let weights = of.weights.unwrap();
        let months = of.things[0].weighed[0].0 / 20.0;
        assert_eq!(months, 8.0);
        let within = (1.25_f64.ln().powi(2) + 4.0 / (160.0 + 1.0)).sqrt();
        for (weight, washes) in weights.iter().skip(1).zip(&computed) {
            let off = ((8.0 * washes + 1.0) / 161.0).ln();
            let expected = if off.abs() <= within { (-2.0 * (off / within).powi(2)).exp() } else { 0.0 };
            assert!((weight - expected).abs() < 1e-12, "{washes}: {weight} is not {expected}");
        }
    }

    #[test]
    fn a_log_that_no_draw_repeats_is_not_explained_whichever_side_it_lies_on() {
        for logged in [5.0, 60.0] {
            let of = repeated(&runs(logged, (0..100).map(|i| 18.0 + 0.04 * f64::from(i))));
            assert!(!of.things[0].explained, "{logged}");
            assert!(of.weights.is_none());
        }
    }

    /// Twenty a month in the months that weigh and none afterwards: draws that repeat the first do not hold.
    #[test]
    fn what_does_not_hold_in_the_period_kept_out_is_told() {
        let mut all = runs(20.0, (0..100).map(|i| 19.0 + 0.02 * f64::from(i)));
        assert!(repeated(&all).things.iter().all(|thing| thing.holds));
        for pair in all.iter_mut().flatten().flat_map(|of| &mut of.pairs).filter(|pair| pair.0 > day(9)) {
            pair.1 = 0.0;
        }
        assert!(!repeated(&all).things[0].holds);
    }
}

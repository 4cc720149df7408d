//! Whether anything turns on washes that nobody logged: the site and an option are computed again with half and with double of them. What
//! saves clearly more or less then turns on them too: with a log that far off it would bear no verdict.

use crate::compare::break_even::{Knob, changed};
use crate::compare::doubts::{Doubt, FAR_OFF, believed};
use crate::compare::predicted::{Past, Predicted};
use crate::compare::study::{AGREED, HARDLY};
use crate::compare::worse::{stands_behind, stays_outside, worse};
use crate::compare::{Alternative, Cell, Computed, Study, Worse};
use crate::facility::model::PlaceId;
use crate::rules::Outcome;
use crate::told::Problems;

/// An option, or the site, with so many times the washes of a filter, its rules kept; as it is where the filter is not in it.
fn washed(of: &Alternative, before: &Alternative, name: &str, times: f64) -> Alternative {
    let made = changed(&Knob::Washes(name.to_owned()), times, of, before);
    made.map_or_else(|| of.clone(), |made| Alternative { rules: of.rules.clone(), ..made })
}

/// A limit's prediction over the draws, moved as its single run moves; none where that can't be told.
fn moved(of: &Predicted, single: &Predicted) -> Option<Predicted> {
    const NOISE: f64 = 1e-9;
    let (was, is) = match (&of.past, &single.past) {
        (Some(was), Some(is)) => (was, is),
        (was, is) => return (was.is_none() && is.is_none()).then(|| of.clone()),
    };
    if (is.worst - was.worst).abs() <= NOISE * was.worst.abs() {
        return Some(of.clone());
    }
    if was.upper.is_none() && was.lower.is_none() {
        return None;
    }
    let is_times = was.upper.is_some() && was.worst > 0.0;
    let to = |figure: f64| if is_times { figure * is.worst / was.worst } else { figure + is.worst - was.worst };
    let draws: Vec<f64> = was.draws.iter().map(|figure| to(*figure)).collect();
    let windows = was.windows.iter().map(|all| all.iter().map(|(months, figure)| (*months, to(*figure))).collect());
    let past = Past { worst: is.worst, middle: to(was.middle), draws, windows: windows.collect(), ..was.clone() };
    let is_past =
        |figure: &&f64| past.upper.is_some_and(|of| **figure > of) || past.lower.is_some_and(|of| **figure < of);
    let (over, n) = (past.draws.iter().filter(is_past).count(), past.draws.len());
    let outcome = match over {
        0 => Outcome::PredictedWithin,
        all if all == n => Outcome::PredictedOutside,
        _ => Outcome::Undecided,
    };
    let share_outside = Some(over as f64 / n.max(1) as f64);
    Some(Predicted { outcome: of.outcome.map(|_| outcome), share_outside, past: Some(past), ..of.clone() })
}

/// What limits say of an option: what it is worse by, stays outside of, what stands behind a yes, and how each comes out.
type Said = (Vec<(String, bool)>, Vec<String>, Vec<String>, Vec<Option<Outcome>>);

fn said(of: &[Predicted], than: &[Predicted], doubts: &[Doubt], exceeded: &[String]) -> Said {
    let worse = worse(of, than, doubts).iter().map(|of: &Worse| (of.with.name.clone(), of.is_outside())).collect();
    let stays = stays_outside(of, than, doubts).into_iter().map(|of| of.name.clone()).collect();
    // In how many draws is no other answer.
    let behind = stands_behind(of, than, doubts, exceeded).into_iter();
    let behind = behind.map(|words| words.chars().filter(|letter| !letter.is_ascii_digit()).collect()).collect();
    let outcomes = of.iter().map(|of| believed(of, doubts.iter().find(|doubt| doubt.limit == of.name))).collect();
    (worse, stays, behind, outcomes)
}

/// By how much of what an option saves it is clearly another sum (common practice, no source).
const CLEARLY: f64 = 0.1;

/// What money says: whether it saves, costs, differs hardly, or is open.
fn of_money(cell: &Cell, anyhow: f64) -> (bool, bool, bool) {
    let share = cell.share_below_nought().unwrap_or(0.0);
    let is_small = cell.spread().is_some_and(|of| of.low.abs().max(of.high.abs()) < HARDLY * anyhow);
    (is_small, share >= AGREED, share <= 1.0 - AGREED)
}

impl Study {
    /// Filters whose washes hardly anybody logged and on whose number an option's answer or its sum turns, by `once`, which computes an option in the
    /// single run at its prices, and `more`, which tells what it then costs more.
    pub(super) fn turns_on_washes(
        &self,
        option: usize,
        once: &dyn Fn(&Alternative, usize) -> Result<Computed, Problems>,
        more: &dyn Fn(&Computed, &Computed) -> Option<f64>,
    ) -> Result<Vec<PlaceId>, Problems> {
        let (Some(first), Some(of)) = (self.options.first(), self.options.get(option)) else { return Ok(Vec::new()) };
        let differ = self.filters_that_differ(option, 0);
        let mut out = Vec::new();
        for (at, _) in self.on_file.hardly_logged.iter().filter(|(at, _)| differ.contains(at)) {
            let Some(name) = first.alternative.facility.get(*at).map(|place| &place.name) else { continue };
            for times in [1.0 / FAR_OFF, FAR_OFF] {
                let site = once(&washed(&first.alternative, &first.alternative, name, times), 0)?;
                let with = once(&washed(&of.alternative, &first.alternative, name, times), option)?;
                if self.is_another_answer(option, (&site, &with), more(&site, &with)) {
                    out.push(*at);
                    break;
                }
            }
        }
        Ok(out)
    }

    fn is_another_answer(&self, option: usize, (site, with): (&Computed, &Computed), more: Option<f64>) -> bool {
        let (Some(first), Some(of)) = (self.options.first(), self.options.get(option)) else { return false };
        let money = self.present_more(option, 0);
        let anyhow = self.known_present(0).spread().map_or(0.0, |of| of.median.abs());
        let (Some(was), Some(is)) = (money.single(), more) else { return true };
        if was < 0.0 && (is - was).abs() > CLEARLY * was.abs() {
            return true;
        }
        let values = money.values.iter().map(|value| value + is - was).collect();
        if of_money(&Cell { values, ..money.clone() }, anyhow) != of_money(&money, anyhow) {
            return true;
        }
        let all = |of: &[Predicted], single: &[Predicted]| -> Option<Vec<Predicted>> {
            of.iter().map(|of| moved(of, single.iter().find(|other| other.name == of.name)?)).collect()
        };
        let exceeded = &self.on_file.exceeded;
        match (all(&first.limits, &site.limits), all(&of.limits, &with.limits)) {
            (Some(site), Some(with)) => {
                said(&with, &site, &self.doubts, exceeded) != said(&of.limits, &first.limits, &self.doubts, exceeded)
            }
            _ => true,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn limit(draws: &[f64], upper: f64) -> Predicted {
        let past = Past {
            worst: draws[0],
            middle: draws[0],
            draws: draws.to_vec(),
            windows: Vec::new(),
            upper: Some(upper),
            lower: None,
            per_m3: None,
            is_removal: false,
            unit: "m3".to_owned(),
        };
        Predicted {
            name: "Sewer flow".to_owned(),
            bound: String::new(),
            outcome: Some(Outcome::PredictedWithin),
            share_outside: Some(0.0),
            figure: String::new(),
            past: Some(past),
        }
    }

    /// 9 to 10 m3 of at most 12: at double the single run's 9 they are 18 to 20, at a quarter more 11.25 to 12.5.
    #[test]
    fn draws_move_as_the_single_run_does() {
        let was = limit(&[9.0, 10.0], 12.0);
        let to = |single: f64| moved(&was, &limit(&[single], 12.0)).unwrap();
        assert_eq!(to(9.0), was);
        assert_eq!(to(18.0).outcome, Some(Outcome::PredictedOutside));
        assert_eq!((to(11.25).outcome, to(11.25).share_outside), (Some(Outcome::Undecided), Some(0.5)));
        // Of what has a figure in one of them alone nothing can be told.
        assert_eq!(moved(&was, &Predicted { past: None, ..was.clone() }), None);
    }
}

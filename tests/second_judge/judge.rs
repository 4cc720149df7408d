//! A limit's outcome: every answer to what the permit does not say is tried, and the worst stands.

use super::clock;
use super::dry_only;
use super::duty::{Kept, kept};
use super::given::{Belongs, Below, Divisor, Limit, Parameter, Said, Several, Site, Statistic, Weighting};
use super::outcome::{Judged, Outcome};
use super::seen::Seen;
use super::water::Water;
use super::windows::{chosen, in_force, in_season};
use super::{singly, wide};

#[derive(Clone, Debug)]
pub struct Verdict {
    pub outcome: Outcome,
    /// The windows under the first answer that comes to the outcome.
    pub windows: Vec<Judged>,
    /// How many combinations of answers were tried.
    pub answers: usize,
}

fn tried<T: Copy>(said: Option<T>, all: &[T]) -> Vec<T> {
    said.map_or_else(|| all.to_vec(), |one| vec![one])
}

fn answers(limit: &Limit, waters: &[Water]) -> Vec<Said> {
    let counting = &limit.counting;
    let water_or_load = matches!(limit.parameter, Parameter::Water | Parameter::Load);
    let divisors: &[Divisor] = if water_or_load {
        &[Divisor::Sampled, Divisor::Discharge, Divisor::Calendar]
    } else {
        &[Divisor::Sampled, Divisor::Discharge]
    };
    let flows = waters.iter().any(Water::has_flows);
    let weightings: &[Weighting] =
        if flows { &[Weighting::Arithmetic, Weighting::Flow] } else { &[Weighting::Arithmetic] };
    let mut out = Vec::new();
    for week_starts in tried(counting.week_starts, &[0, 1, 2, 3, 4, 5, 6]) {
        for belongs in tried(counting.belongs, &[Belongs::Starts, Belongs::Ends, Belongs::Most]) {
            for several in tried(counting.several, &[Several::Average, Several::Highest, Several::Lowest]) {
                for below in tried(counting.below, &[Below::Zero, Below::Half, Below::Limit]) {
                    for divisor in tried(counting.divisor, divisors) {
                        for weighting in tried(counting.weighting, weightings) {
                            out.push(Said { week_starts, belongs, several, below, divisor, weighting });
                        }
                    }
                }
            }
        }
    }
    out
}

fn windows(seen: &Seen) -> Vec<Judged> {
    match (&seen.limit.statistic, seen.limit.parameter) {
        (Statistic::NoDischarge, _) => dry_only::judged(seen),
        (Statistic::TimeOfDay(from, to), _) => clock::hours(seen, (*from, *to)),
        (Statistic::Rate, _) => clock::rate(seen),
        (statistic, _) if wide::is_wide(statistic) => wide::judged(seen),
        (_, Parameter::Water) => singly::water(seen),
        (_, Parameter::Load) => singly::load(seen),
        (_, Parameter::Freeboard) => singly::freeboard(seen),
        _ => singly::sampled(seen),
    }
}

fn outcome(site: &Site, limit: &Limit, windows: &[Judged]) -> Outcome {
    let (from, to) = site.period;
    let in_force = (from..=to).any(|day| in_force(site, limit, day) && in_season(limit, day) && chosen(limit, day));
    let worst = windows.iter().map(|window| window.outcome).max();
    worst.unwrap_or(if in_force { Outcome::NotShown } else { Outcome::NotInForce })
}

pub fn judge(site: &Site, limit: &Limit) -> Verdict {
    let water = |outfall: &usize| Water::of(site, limit, *outfall);
    let waters: Vec<Water> = limit.at.iter().map(water).collect();
    let answers = answers(limit, &waters);
    let mut worst: Option<Verdict> = None;
    for said in &answers {
        let windows = windows(&Seen::new(site, limit, &waters, *said));
        let outcome = outcome(site, limit, &windows);
        if worst.as_ref().is_none_or(|worst| outcome > worst.outcome) {
            worst = Some(Verdict { outcome, windows, answers: answers.len() });
        }
    }
    worst.expect("one answer at least")
}

/// What became of the sample duty of a limit at one of its places: the worst of all answers.
pub fn duty_kept(site: &Site, limit: &Limit, place: Option<usize>) -> Option<Kept> {
    let duty = limit.duty?;
    let water = |outfall: &usize| Water::of(site, limit, *outfall);
    let waters: Vec<Water> = limit.at.iter().map(water).collect();
    answers(limit, &waters).iter().map(|said| kept(&Seen::new(site, limit, &waters, *said), duty, place)).max()
}

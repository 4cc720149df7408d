//! What the results on file come to where too few of them are on file to show it, and where the rules file says how many do.

use crate::rules::judge::evaluate::{Judged, Judgement};
use crate::rules::judge::lacking::{Least, least};
use crate::rules::judge::text;
use crate::rules::window::decide::{Side, side};
use crate::rules::{Finding, Limit, Outcome, Rounding, Switch};
use crate::told::many;

/// Windows told one by one.
const MOST: usize = 3;

/// Tells of averages that are not shown for want of results: those that are over as they stand, and the line at which
/// `least data` is said where it is not.
pub(crate) fn tell(finding: &mut Finding, limit: &Limit, windows: &Judged) {
    if !limit.statistic.divides || finding.outcome.is_exceeded() {
        return;
    }
    let lacking: Vec<&Judgement> = windows
        .windows
        .iter()
        .filter(|window| window.finding.outcome == Outcome::NotShown && window.finding.n > 0)
        .filter(|window| !window.finding.missing.is_empty())
        .collect();
    let mut over = 0;
    for window in &lacking {
        let Some((value, words)) = outside(window, limit) else { continue };
        over += 1;
        if over > MOST {
            continue;
        }
        let results = many(window.finding.n, "result");
        finding.sentences.push(format!(
            "{}: the mean of the {results} on file is {value}, {words}; it is not shown because results are missing.",
            window.finding.label
        ));
    }
    if over > MOST {
        finding.sentences.push(format!("{} more are over likewise.", over - MOST));
    }
    if let (false, Switch::NotSaid, Some(place)) = (lacking.is_empty(), limit.counting.least_data, &limit.least_data_at)
    {
        let taken = match least(limit) {
            Least::Duty => "what the sample duty asks for",
            Least::EveryDischarge => "a result on every day with a discharge",
            Least::EveryDay => "a result on every day",
            Least::Count(_) => return,
        };
        finding.sentences.push(format!(
            "For want of results {} not shown: `least data` is not said ({place}), so {taken} is taken. If the permit says how \
             many results an average needs, type it there.",
            match lacking.len() {
                1 => "one average is".to_owned(),
                all => format!("{all} averages are"),
            },
        ));
    }
}

/// The figure of a window as it stands and on which side of the limit it is, where that is outside.
fn outside(window: &Judgement, limit: &Limit) -> Option<(String, String)> {
    let value = window.value?;
    let one = text::of_several(&value, limit);
    let words = match side(&one, &limit.bound, Rounding::Not, true) {
        Side::Over => format!("over the limit, {}", limit.bound.text),
        Side::Under => format!("under the limit, {}", limit.bound.text),
        Side::Within | Side::Open => return None,
    };
    Some((text::figure(&one, &limit.bound, false), words))
}

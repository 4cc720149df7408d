//! Fits named unknowns, within the ranges typed, to the log: monthly counts of washes, wash water and levels, each kind of
//! figure by its own scatter. Fitted on one period, tested on another.
//!
//! The misfit is that of independent normal errors whose scatter is not known beforehand: `Σ (n + ν) ln(SS + ν s²)` over the
//! things logged, with `SS` the sum of squares of each. `ν s²` stands for [`PRIOR`] figures off by a tenth of the mean
//! (levels: 5 cm; counts: one more), so that a few figures that happen to agree do not outweigh all others; common practice, no source. A value
//! is as good as the best while the misfit, the other values fitted anew, is not more than the 95 % point of chi-square worse
//! (profile likelihood).

mod search;

use chrono::NaiveDate;

use crate::compare::Alternative;
use crate::compare::log::{Against, Measure, against_log};
use crate::compare::runs::{self, Shared};
use crate::facility;
use crate::files::yaml::{Node, What};
use crate::records::Timeline;
use crate::told::Problems;

/// A value that is fitted.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitted {
    /// The keys that lead to it.
    pub key: String,
    /// The range as typed.
    pub typed: String,
    /// The value that fits best.
    pub value: String,
    /// The values with which the fit is not much worse (95 %, the others fitted anew for each); none where the data do not
    /// pin it.
    pub pinned: Option<(String, String)>,
    /// Whether it lies at an end of the range typed: the true value may lie outside.
    pub at_end: bool,
}

/// What a fit gave.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// The values.
    pub values: Vec<Fitted>,
    /// Figures the fit rests on.
    pub figures: usize,
    /// The period fitted on.
    pub fit_on: (NaiveDate, NaiveDate),
    /// The period tested on.
    pub test_on: (NaiveDate, NaiveDate),
    /// Root mean square error of the figures, each as a share of the mean logged: in the middle of the ranges and fitted.
    pub fitted_error: (f64, f64),
    /// The same on the test period.
    pub tested_error: (f64, f64),
    /// Logged against computed with the fitted values, on the test period.
    pub tested: Vec<Against>,
}

/// What a fit is asked for.
#[derive(Debug, Clone, Copy)]
pub struct FitAsked<'a> {
    /// Keys, with or without their section: `Sand beds / holds before a wash`.
    pub names: &'a [String],
    /// The period fitted on.
    pub fit_on: (NaiveDate, NaiveDate),
    /// The period tested on.
    pub test_on: (NaiveDate, NaiveDate),
}

/// 95 % point of chi-square with one degree of freedom.
const CHI_SQUARE: f64 = 3.841;

/// Figures that stand for what is believed of the scatter beforehand.
const PRIOR: f64 = 4.0;

/// Scatter believed beforehand: of counts and volumes as a share of their mean, of levels in m.
const SCATTER: (f64, f64) = (0.1, 0.05);

/// See the head of this file.
fn misfit(of: &[Against], period: (NaiveDate, NaiveDate)) -> f64 {
    of.iter()
        .filter_map(|of| {
            let of = of.between(period.0, period.1);
            // A month without a wash says little of how much a filter holds: it does not count as a figure.
            let is_level = of.measure == Measure::Level;
            let logged = of.pairs.iter().map(|(_, l, _)| l.abs());
            let logged: Vec<f64> = logged.filter(|l| is_level || *l > 0.0).collect();
            let n = logged.len() as f64;
            let of_mean = SCATTER.0 * logged.iter().sum::<f64>() / n.max(1.0);
            let scatter = match of.measure {
                // A wash falls into this month or the next.
                Measure::Events => of_mean.hypot(1.0),
                Measure::WashWater => of_mean.max(1e-9),
                Measure::Level => SCATTER.1,
                _ => return None,
            };
            let squares: f64 = of.pairs.iter().map(|(_, l, c)| (c - l) * (c - l)).sum();
            (n > 0.0).then(|| (n + PRIOR) * (squares / (scatter * scatter) + PRIOR).ln())
        })
        .sum()
}

struct Unknown {
    path: Vec<String>,
    typed: String,
}

/// Fits.
///
/// # Errors
/// In words: a name that leads to no value, a value that is no range, no records to fit to.
pub fn fit(
    site: &Alternative,
    records: &Timeline,
    shared: &Shared<'_>,
    asked: &FitAsked<'_>,
    tick: &(dyn Fn(u64) + Sync),
) -> Result<Fit, String> {
    let mut unknowns = Vec::new();
    for name in asked.names {
        unknowns.push(unknown(&site.tree, name)?);
    }
    if unknowns.is_empty() {
        return Err("--fit needs the name of a value".to_owned());
    }
    let check = |at: &[f64]| -> Result<Vec<Against>, String> {
        let mut tree = site.tree.clone();
        for (unknown, share) in unknowns.iter().zip(at) {
            let text = at_share(&unknown.typed, *share).ok_or_else(|| format!("`{}` is no range", unknown.typed))?;
            if let Some(node) = node_at(&mut tree, &unknown.path) {
                node.what = What::Text(text);
            }
        }
        let problems = Problems::new();
        let facility =
            facility::from_tree(&tree, &site.facility.directory, &problems).ok_or_else(|| first_words(&problems))?;
        let run = runs::single(&facility, shared).map_err(|problems| first_words(&problems))?;
        tick(1);
        Ok(against_log(&facility, records, &run.ledger, shared.period))
    };
    let errors = |of: &[Against], period: (NaiveDate, NaiveDate)| -> Vec<f64> {
        of.iter()
            .filter(|of| matches!(of.measure, Measure::Events | Measure::WashWater | Measure::Level))
            .map(|of| of.between(period.0, period.1))
            .flat_map(|of| {
                let scale = of.mean_logged().filter(|mean| mean.abs() > 0.0).unwrap_or(1.0);
                of.pairs.iter().map(|(_, l, c)| (c - l) / scale).collect::<Vec<_>>()
            })
            .collect()
    };
    let misfit = |at: &[f64]| -> Result<f64, String> { Ok(misfit(&check(at)?, asked.fit_on)) };
    let start = vec![0.5; unknowns.len()];
    let before = check(&start)?;
    let figures = errors(&before, asked.fit_on).len();
    if figures <= unknowns.len() {
        return Err(format!(
            "{figures} logged figures in the period to fit on are too few for {} unknowns",
            unknowns.len()
        ));
    }
    if errors(&before, asked.test_on).is_empty() {
        return Err("nothing was logged in the period to test on".to_owned());
    }
    let all: Vec<usize> = (0..unknowns.len()).collect();
    let (best, least) = search::coarse(&start, &misfit)?;
    let (mut best, mut least) = search::fine(&best, least, &all, &misfit)?;
    // Counts of washes are steps, so the walk outward below may come upon something better: then it begins anew.
    let mut ends = Vec::new();
    for _ in 0..3 {
        ends.clear();
        // 3.84: chi-square, 95 %, one value; more where the figures are few.
        let allowed = CHI_SQUARE * figures as f64 / (figures - unknowns.len()) as f64;
        let mut better = None;
        for i in 0..unknowns.len() {
            let end = search::ends(&best, least, i, allowed, &misfit)?;
            if let Some(found) = &end.better
                && better.as_ref().is_none_or(|(_, m)| found.1 < *m)
            {
                better = Some(found.clone());
            }
            ends.push((end.low, end.high));
        }
        match better {
            Some((at, now)) => (best, least) = search::fine(&at, now, &all, &misfit)?,
            None => break,
        }
    }
    let mut values = Vec::new();
    for ((unknown, here), (low, high)) in unknowns.iter().zip(&best).zip(ends) {
        let text = |share: f64| at_share(&unknown.typed, share).unwrap_or_default();
        values.push(Fitted {
            key: unknown.path.join(" / "),
            typed: unknown.typed.clone(),
            value: text(*here),
            // Most of the range is as good as the best: the data say nothing.
            pinned: (high - low < 0.8).then(|| (text(low), text(high))),
            at_end: *here < 0.01 || *here > 0.99,
        });
    }
    let after = check(&best)?;
    let root = |of: &[Against], period| {
        let errors = errors(of, period);
        (errors.iter().map(|e| e * e).sum::<f64>() / errors.len().max(1) as f64).sqrt()
    };
    Ok(Fit {
        values,
        figures,
        fit_on: asked.fit_on,
        test_on: asked.test_on,
        fitted_error: (root(&before, asked.fit_on), root(&after, asked.fit_on)),
        tested_error: (root(&before, asked.test_on), root(&after, asked.test_on)),
        tested: after
            .iter()
            .map(|of| of.between(asked.test_on.0, asked.test_on.1))
            .filter(|of| !of.pairs.is_empty())
            .collect(),
    })
}

fn first_words(problems: &Problems) -> String {
    problems.in_order().first().map_or_else(String::new, crate::told::Problem::to_string_line)
}

/// The value that a name leads to: from the top of the file, or below any one section.
fn unknown(tree: &Node, name: &str) -> Result<Unknown, String> {
    let words: Vec<String> = name.split('/').map(|word| word.trim().to_owned()).collect();
    let mut found: Vec<Vec<String>> = Vec::new();
    if text_at(tree, &words).is_some() {
        found.push(words.clone());
    }
    if let What::Map(top) = &tree.what {
        for section in top {
            let mut path = vec![section.key.clone()];
            path.extend(words.iter().cloned());
            if text_at(tree, &path).is_some() {
                found.push(path);
            }
        }
    }
    match found.as_slice() {
        [path] => {
            let typed = text_at(tree, path).unwrap_or_default().to_owned();
            if at_share(&typed, 0.5).is_none() {
                return Err(format!(
                    "`{name}` is `{typed}`: a value is fitted within its range, so type one, such as 0.2 lb/ft2 to 0.5 lb/ft2"
                ));
            }
            Ok(Unknown { path: path.clone(), typed })
        }
        [] => Err(format!(
            "`{name}` leads to no value of the facility file; write it like Sand beds / holds before a wash"
        )),
        _ => Err(format!("`{name}` leads to more than one value; write its section first")),
    }
}

fn text_at<'a>(tree: &'a Node, path: &[String]) -> Option<&'a str> {
    let mut node = tree;
    for key in path {
        let What::Map(entries) = &node.what else {
            return None;
        };
        node = &entries.iter().find(|entry| entry.key == *key)?.value;
    }
    match &node.what {
        What::Text(text) => Some(text),
        _ => None,
    }
}

fn node_at<'a>(tree: &'a mut Node, path: &[String]) -> Option<&'a mut Node> {
    let mut node = tree;
    for key in path {
        let What::Map(entries) = &mut node.what else {
            return None;
        };
        node = &mut entries.iter_mut().find(|entry| entry.key == *key)?.value;
    }
    Some(node)
}

/// The value at a share of a range as it is written: `50 % to 70 %` at 0.5 is `60 %`. None where it is no range of one
/// unit.
pub(crate) fn at_share(text: &str, share: f64) -> Option<String> {
    let (low, high) = text.split_once(" to ")?;
    let (low, low_unit) = number_and_unit(low)?;
    let (high, high_unit) = number_and_unit(high)?;
    // `0.4 lb to 2 lb of solids` names what it is of once.
    let once = high_unit.strip_prefix(low_unit).is_some_and(|rest| rest.starts_with(" of "));
    if !(low_unit.is_empty() || low_unit == high_unit || once) {
        return None;
    }
    let value = low + share * (high - low);
    // Six digits: more than any range is typed with.
    let rounded: f64 = format!("{value:.5e}").parse().ok()?;
    Some(format!("{rounded} {high_unit}").trim().to_owned())
}

fn number_and_unit(text: &str) -> Option<(f64, &str)> {
    let text = text.trim();
    let end = text.find(|c: char| !(c.is_ascii_digit() || c == '.')).unwrap_or(text.len());
    let (number, unit) = text.split_at(end);
    Some((number.parse().ok()?, unit.trim()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_value_within_a_typed_range_is_written_as_the_user_would() {
        assert_eq!(at_share("50 % to 70 %", 0.5).as_deref(), Some("60 %"));
        assert_eq!(at_share("0.2 lb/ft2 to 0.5 lb/ft2", 0.1).as_deref(), Some("0.23 lb/ft2"));
        assert_eq!(at_share("0.4 lb to 2 lb of solids", 0.5).as_deref(), Some("1.2 lb of solids"));
        assert_eq!(at_share("0.3 lb/ft2", 0.5), None);
        assert_eq!(at_share("1 in to 2 ft", 0.5), None);
    }
}

//! What drives the answer: rank correlation of the difference in money with each range that was drawn.

use std::collections::BTreeMap;

use crate::compare::Study;
use crate::compare::bill::Priced;
use crate::files::Given;

/// The least members for a rank correlation to be told.
pub const LEAST: usize = 50;

/// A range that was drawn and how the difference in money goes with it.
#[derive(Debug, Clone, PartialEq)]
pub struct Driver {
    /// What it is: its keys.
    pub key: String,
    /// As typed.
    pub text: String,
    /// Rank correlation (Spearman) with the difference in present value: above nought, more of it makes the option dearer.
    pub rank: f64,
}

/// Ranges that go with the difference in money between two options, strongest first; those that the number of draws
/// could show by chance (under 2/√n) are left out. Draws that do not repeat the log do not count.
pub fn drivers(study: &Study, option: usize, than: usize) -> Vec<Driver> {
    let money = study.present_more(option, than);
    let runs = study.runs_that_count();
    if !money.is_whole() || runs.len() < LEAST || money.is_nought() {
        return Vec::new();
    }
    let members: Vec<f64> = runs.iter().filter_map(|run| money.values.get(*run).copied()).collect();
    let ranks_of_money = ranks(&members);
    let mut out: Vec<Driver> = ranges(study, option, than)
        .into_iter()
        .map(|(key, text)| {
            let drawn: Vec<f64> =
                runs.iter().filter_map(|run| study.draws.get(*run)).map(|draw| draw.uniform(&key)).collect();
            Driver { rank: correlation(&ranks(&drawn), &ranks_of_money), key: shown(study, option, &key), text }
        })
        .filter(|driver| driver.rank.abs() >= 2.0 / (members.len() as f64).sqrt())
        .collect();
    out.sort_by(|a, b| b.rank.abs().total_cmp(&a.rank.abs()).then(a.key.cmp(&b.key)));
    out
}

impl Study {
    /// The members that count by what is on file.
    pub fn runs_that_count(&self) -> Vec<usize> {
        let weights = self.repeated.weights.as_ref();
        let counts = |run: &usize| weights.is_none_or(|of| of.get(*run).is_some_and(|w| *w > 0.0));
        (1..self.draws.len()).filter(counts).collect()
    }
}

/// Every range behind two options: values of the facility, prices, the discount rate.
fn ranges(study: &Study, option: usize, than: usize) -> BTreeMap<String, String> {
    let mut out = BTreeMap::new();
    for of in [option, than].into_iter().filter_map(|at| study.options.get(at)) {
        for assumption in &of.run.assumptions {
            if assumption.is_range {
                out.insert(assumption.key.clone(), assumption.text.clone());
            }
        }
        let prices = of
            .parts
            .iter()
            .filter_map(|part| match &part.priced {
                Priced::At(price, _) => Some(price),
                Priced::Missing(_) => None,
            })
            .chain(of.alternative.bought(&study.prices).map(|(paid, _)| &paid.price));
        for price in prices {
            if price.low < price.high {
                out.insert(price.key.clone(), price.text.clone());
            }
        }
        for pump in of.alternative.pumps.iter().chain(&study.prices.pumps) {
            put_range(&mut out, &pump.head);
            put_range(&mut out, &pump.efficiency);
        }
    }
    let (low, high) = study.prices.discount;
    if low < high {
        out.insert("discount rate".to_owned(), format!("{} % to {} %", low * 100.0, high * 100.0));
    }
    out
}

fn put_range<Q: Copy + PartialOrd>(out: &mut BTreeMap<String, String>, given: &Given<Q>) {
    if given.ends().is_some_and(|(low, high)| low < high) {
        out.insert(given.key.clone(), given.text.clone());
    }
}

/// A key with the new name of a place that replaces another, where the site as it stands has no such key.
fn shown(study: &Study, option: usize, key: &str) -> String {
    let known = study.options.first().is_some_and(|of| of.run.assumptions.iter().any(|a| a.key == key));
    let Some(of) = study.options.get(option).filter(|_| !known) else {
        return key.to_owned();
    };
    let mut words: Vec<&str> = key.split(" / ").collect();
    for word in &mut words {
        if let Some((new, _)) = of.alternative.renamed.iter().find(|(_, old)| old == word) {
            *word = new;
        }
    }
    words.join(" / ")
}

/// Ranks from 1, ties sharing their mean.
pub(super) fn ranks(values: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    let at = |i: usize| values.get(i).copied().unwrap_or(0.0);
    order.sort_by(|a, b| at(*a).total_cmp(&at(*b)));
    let mut out = vec![0.0; values.len()];
    let mut first = 0;
    while first < order.len() {
        let value = order.get(first).map_or(0.0, |i| at(*i));
        let mut last = first;
        while order.get(last + 1).is_some_and(|i| at(*i) == value) {
            last += 1;
        }
        let rank = 0.5 * (first + last) as f64 + 1.0;
        for i in order.get(first..=last).unwrap_or_default() {
            if let Some(slot) = out.get_mut(*i) {
                *slot = rank;
            }
        }
        first = last + 1;
    }
    out
}

pub(super) fn correlation(a: &[f64], b: &[f64]) -> f64 {
    let n = a.len().min(b.len()) as f64;
    let mean = |of: &[f64]| of.iter().sum::<f64>() / n;
    let (ma, mb) = (mean(a), mean(b));
    let (mut top, mut aa, mut bb) = (0.0, 0.0, 0.0);
    for (x, y) in a.iter().zip(b) {
        top += (x - ma) * (y - mb);
        aa += (x - ma) * (x - ma);
        bb += (y - mb) * (y - mb);
    }
    if aa > 0.0 && bb > 0.0 { top / (aa * bb).sqrt() } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// scipy.stats.spearmanr([1, 2, 3, 4, 5], [5, 6, 7, 8, 7]) = 0.8207826816681233 (the example of its documentation,
    /// from memory).
    #[test]
    fn rank_correlation_agrees_with_a_library_of_statistics() {
        let rho = correlation(&ranks(&[1.0, 2.0, 3.0, 4.0, 5.0]), &ranks(&[5.0, 6.0, 7.0, 8.0, 7.0]));
        assert!((rho - 0.820_782_681_668_123_3).abs() < 1e-12);
    }
}

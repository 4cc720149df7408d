//! Figures over many runs: the single run first, then each member; sums and differences that know what is missing.

use std::sync::Arc;

/// A figure that pairs with the figure of the same name in another option.
#[derive(Debug, Clone, PartialEq)]
pub struct Paired {
    /// What pairs it.
    pub id: String,
    /// One value for each run: the single run first, then the members.
    pub values: Vec<f64>,
    /// Why it can't be told; the values then stand for what is known of it.
    pub missing: Option<String>,
    /// Where it is missing in two options: by which share its amounts may differ and still drop out.
    pub alike_within: f64,
}

/// A figure of an option or a difference, over all runs.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Cell {
    /// One value for each run: the single run first, then the members.
    pub values: Vec<f64>,
    /// Why it is not compared; empty where it is.
    pub missing: Vec<String>,
    /// What each run counts; none where all count alike.
    pub weights: Option<Arc<[f64]>>,
}

/// Where most of the members lie.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// A twentieth of the members lie below, by what they count.
    pub low: f64,
    /// Half of the members lie below.
    pub median: f64,
    /// A twentieth of the members lie above.
    pub high: f64,
}

impl Cell {
    /// Whether every part of it is known.
    pub fn is_whole(&self) -> bool {
        self.missing.is_empty()
    }

    /// The single run's value, in the middle of every range; nothing where a part is missing.
    pub fn single(&self) -> Option<f64> {
        self.is_whole().then(|| self.values.first().copied().unwrap_or(0.0))
    }

    /// The members' values; the single run's where there are none.
    pub fn members(&self) -> &[f64] {
        match self.values.get(1..) {
            Some(members) if !members.is_empty() => members,
            _ => &self.values,
        }
    }

    /// The members' values with what each counts, those that count for nothing left out.
    fn counted(&self) -> Vec<(f64, f64)> {
        let first = self.values.len() - self.members().len();
        let weight = |run: usize| self.weights.as_ref().map_or(1.0, |of| of.get(run).copied().unwrap_or(0.0));
        (first..).zip(self.members()).map(|(run, value)| (*value, weight(run))).filter(|(_, w)| *w > 0.0).collect()
    }

    /// Where most of the members lie; nothing where a part is missing.
    pub fn spread(&self) -> Option<Spread> {
        if !self.is_whole() {
            return None;
        }
        let mut sorted = self.counted();
        sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
        let at = |share| weighted_quantile(&sorted, share);
        Some(Spread { low: at(0.05)?, median: at(0.5)?, high: at(0.95)? })
    }

    /// The share of members below nought; nothing where a part is missing.
    pub fn share_below_nought(&self) -> Option<f64> {
        let counted = self.counted();
        let all: f64 = counted.iter().map(|(_, w)| w).sum();
        let below: f64 = counted.iter().filter(|(value, _)| *value < 0.0).map(|(_, w)| w).sum();
        // A sum of nothing is −0.
        (self.is_whole() && all > 0.0).then(|| if below == all { 1.0 } else { (below / all).abs() })
    }

    /// What it is more than another, run by run.
    #[must_use]
    pub fn less(&self, other: &Self) -> Self {
        let values = self.values.iter().zip(&other.values).map(|(a, b)| a - b).collect();
        let more = other.missing.iter().filter(|why| !self.missing.contains(why)).cloned();
        Self { values, missing: self.missing.iter().cloned().chain(more).collect(), ..self.clone() }
    }

    /// The same with every run counting alike.
    #[must_use]
    pub fn unweighted(&self) -> Self {
        Self { weights: None, ..self.clone() }
    }

    /// Whether it is nought in every run.
    pub fn is_nought(&self) -> bool {
        self.is_whole() && self.values.iter().all(|value| *value == 0.0)
    }
}

/// A quantile of sorted values, between two neighbours in proportion.
pub fn quantile(sorted: &[f64], share: f64) -> Option<f64> {
    let last = sorted.len().checked_sub(1)?;
    let at = share.clamp(0.0, 1.0) * last as f64;
    let below = at.floor() as usize;
    let (low, high) = (sorted.get(below)?, sorted.get((below + 1).min(last))?);
    Some(low + (at - below as f64) * (high - low))
}

/// A quantile of sorted values that count differently, between two neighbours in proportion: value k of n stands at
/// `(k − 1) w_k + (n − 1) Σ_{j<k} w_j` of where the last stands, which for equal weights is [`quantile`].
fn weighted_quantile(sorted: &[(f64, f64)], share: f64) -> Option<f64> {
    let n = sorted.len() as f64;
    let mut before = 0.0;
    let at: Vec<f64> = sorted
        .iter()
        .enumerate()
        .map(|(k, (_, w))| {
            let at = k as f64 * w + (n - 1.0) * before;
            before += w;
            at
        })
        .collect();
    let wanted = share.clamp(0.0, 1.0) * at.last()?;
    let above = at.partition_point(|at| *at < wanted).min(sorted.len() - 1);
    let below = above.saturating_sub(1);
    let (low, high) = (sorted.get(below)?.0, sorted.get(above)?.0);
    let (from, to) = (at.get(below)?, at.get(above)?);
    Some(if to > from { low + (wanted - from) / (to - from) * (high - low) } else { high })
}

/// The sum of an option's figures.
pub fn sum<'a>(of: impl IntoIterator<Item = &'a Paired>, runs: usize) -> Cell {
    let mut cell = Cell { values: vec![0.0; runs], ..Cell::default() };
    for one in of {
        for (to, from) in cell.values.iter_mut().zip(&one.values) {
            *to += from;
        }
        if let Some(why) = &one.missing
            && !cell.missing.contains(why)
        {
            cell.missing.push(why.clone());
        }
    }
    cell
}

/// The sum of an option's figures without those that are missing in every option with the same amounts: they say nothing
/// of which option is better.
pub fn known_sum(all: &[Vec<Paired>], option: usize, runs: usize) -> Cell {
    let alike = |one: &Paired| {
        one.missing.is_some()
            && all.iter().all(|of| {
                of.iter().any(|other| {
                    other.id == one.id && other.missing.is_some() && alike(&other.values, &one.values, one.alike_within)
                })
            })
    };
    let ours = all.get(option).map_or(&[][..], Vec::as_slice);
    sum(ours.iter().filter(|one| !alike(one)), runs)
}

/// What one option's figures are more than another's, pair by pair. What is missing in both, with the same amounts in
/// every run (or near enough, where that is said), drops out; any other missing figure makes the difference missing.
pub fn difference(ours: &[Paired], theirs: &[Paired], runs: usize) -> Cell {
    let mut cell = Cell { values: vec![0.0; runs], ..Cell::default() };
    let mut tell = |why: &Option<String>| {
        if let Some(why) = why
            && !cell.missing.contains(why)
        {
            cell.missing.push(why.clone());
        }
    };
    for one in ours {
        let other = theirs.iter().find(|other| other.id == one.id);
        let cancels = other.is_some_and(|other| alike(&one.values, &other.values, one.alike_within));
        if cancels && one.missing.is_some() {
            continue;
        }
        if !cancels {
            tell(&one.missing);
            if let Some(other) = other {
                tell(&other.missing);
            }
        }
        for (run, to) in cell.values.iter_mut().enumerate() {
            let of = |paired: &Paired| paired.values.get(run).copied().unwrap_or(0.0);
            *to += of(one) - other.map_or(0.0, of);
        }
    }
    for other in theirs.iter().filter(|other| !ours.iter().any(|one| one.id == other.id)) {
        if other.values.iter().any(|v| *v != 0.0)
            && let Some(why) = &other.missing
            && !cell.missing.contains(why)
        {
            cell.missing.push(why.clone());
        }
        for (to, from) in cell.values.iter_mut().zip(&other.values) {
            *to -= from;
        }
    }
    cell
}

/// A figure rounded to three digits.
pub fn three(value: f64) -> f64 {
    if value == 0.0 || !value.is_finite() {
        return value;
    }
    let most = value.abs().log10().floor() as i32 - 2;
    if most >= 0 {
        let step = 10_f64.powi(most);
        (value / step).round() * step
    } else {
        let step = 10_f64.powi(-most);
        (value * step).round() / step
    }
}

/// A figure in a sentence: so many digits, a true minus, groups of three from five figures on.
pub(crate) fn plain(value: f64, digits: usize) -> String {
    let text = format!("{:.digits$}", value.abs());
    let whole = text.find('.').unwrap_or(text.len());
    let mut out = String::new();
    if value < 0.0 && text.chars().any(|c| c.is_ascii_digit() && c != '0') {
        out.push('−');
    }
    for (at, c) in text.chars().enumerate() {
        if whole > 4 && at > 0 && at < whole && (whole - at) % 3 == 0 {
            out.push('\u{202f}');
        }
        out.push(c);
    }
    out
}

fn alike(a: &[f64], b: &[f64], within: f64) -> bool {
    a.len() == b.len()
        && a.iter().zip(b).all(|(x, y)| x.to_bits() == y.to_bits() || (x - y).abs() < within * x.abs().max(y.abs()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn paired(id: &str, values: &[f64], missing: Option<&str>) -> Paired {
        Paired { id: id.to_owned(), values: values.to_vec(), missing: missing.map(str::to_owned), alike_within: 0.0 }
    }

    #[test]
    fn an_unknown_that_is_the_same_in_both_options_cancels_and_any_other_is_told() {
        let ours = [paired("drum", &[5.0, 6.0], Some("the motor is not known")), paired("bags", &[1.0, 2.0], None)];
        let same = [paired("drum", &[5.0, 6.0], Some("the motor is not known")), paired("beds", &[3.0, 3.0], None)];
        let cell = difference(&ours, &same, 2);
        assert!(cell.is_whole());
        assert_eq!(cell.values, vec![-2.0, -1.0]);
        let other = [paired("drum", &[5.0, 7.0], Some("the motor is not known"))];
        assert_eq!(difference(&ours, &other, 2).missing, vec!["the motor is not known"]);
    }

    /// numpy.quantile([1, 2, 3, 4], [0.05, 0.5, 0.95]) = 1.15, 2.5, 3.85 (its default method, from memory).
    #[test]
    fn quantiles_lie_between_neighbours_in_proportion() {
        let sorted = [1.0, 2.0, 3.0, 4.0];
        let close = |share, expected: f64| {
            assert!((quantile(&sorted, share).unwrap() - expected).abs() < 1e-12);
        };
        close(0.05, 1.15);
        close(0.5, 2.5);
        close(0.95, 3.85);
        assert_eq!(quantile(&[], 0.5), None);
    }

    /// Whole weights count a value so often: the ends and the middle lie where those of a list that repeats it do, within a step
    /// between neighbours, and the share below nought is the same; equal weights change nothing at all.
    #[test]
    fn a_value_counts_by_its_weight() {
        let values = vec![0.0, -3.0, 1.0, 4.0, 6.0, -8.0];
        let plain = Cell { values: values.clone(), ..Cell::default() };
        let even = Cell { weights: Some(Arc::from(vec![2.5; 6])), ..plain.clone() };
        let (one, other) = (plain.spread().unwrap(), even.spread().unwrap());
        for (a, b) in [(one.low, other.low), (one.median, other.median), (one.high, other.high)] {
            assert!((a - b).abs() < 1e-12, "{a} {b}");
        }
        // The first value stands for the single run and never counts.
        let all: Vec<(f64, u32)> = (0..300).map(|i| (f64::from((i * 7) % 300) - 100.0, 1 + i % 3)).collect();
        let with_first = |members: Vec<f64>| std::iter::once(0.0).chain(members).collect::<Vec<f64>>();
        let heavy = Cell {
            values: with_first(all.iter().map(|(value, _)| *value).collect()),
            weights: Some(Arc::from(with_first(all.iter().map(|(_, times)| f64::from(*times)).collect()))),
            ..Cell::default()
        };
        let often = all.iter().flat_map(|(value, times)| vec![*value; *times as usize]).collect();
        let times = Cell { values: with_first(often), ..Cell::default() };
        let (one, other) = (heavy.spread().unwrap(), times.spread().unwrap());
        for (a, b) in [(one.low, other.low), (one.median, other.median), (one.high, other.high)] {
            assert!((a - b).abs() <= 1.0, "{a} {b}");
        }
        let share = |cell: &Cell| cell.share_below_nought().unwrap();
        assert!((share(&heavy) - share(&times)).abs() < 1e-12);
        assert!(share(&heavy) > 0.3 && share(&heavy) < 0.4);
    }
}

//! What to find out next, ranked by the outcomes it could change; what changes nothing is said too.

use crate::balance::{Draw, Run};
use crate::cli::judged::{Members, SEED};
use crate::rules::{Finding, FindingKind, Outcome, TOO_LATE};

/// A correlation below this is not worth a line.
const WEAK: f64 = 0.3;
/// Most values named for one limit.
const MOST_VALUES: usize = 3;
/// Most missing records named for one finding.
const MOST_MISSING: usize = 3;

/// The worklist: what, and what it could change; most useful first.
pub fn worklist(run: &Run, findings: &[Finding], members: Option<&Members>) -> Vec<(String, String)> {
    let mut list = Vec::new();
    unknowns(run, findings, &mut list);
    missing(findings, &mut list);
    if let Some(members) = members {
        ranges(run, findings, members, &mut list);
    }
    list
}

fn is_open(finding: &Finding) -> bool {
    matches!(finding.outcome, Outcome::NotShown | Outcome::Undecided)
}

/// What is `not known`: first, what outcomes wait for it.
fn unknowns(run: &Run, findings: &[Finding], list: &mut Vec<(String, String)>) {
    let waiting: Vec<&str> = findings
        .iter()
        .filter(|finding| {
            finding.kind == FindingKind::Limit
                && is_open(finding)
                && finding.missing.iter().any(|missing| missing.sentence.contains("not known"))
        })
        .map(|finding| finding.name.as_str())
        .collect();
    for assumption in run.assumptions.iter().filter(|value| value.is_unknown) {
        let effect = if waiting.is_empty() {
            "not known. It changes no outcome of this permit; figures that depend on it are not shown.".to_owned()
        } else {
            format!("not known. Waiting for what is not known: {}.", waiting.join("; "))
        };
        list.push((assumption.key.clone(), effect));
    }
}

/// Records that would show what is not shown.
fn missing(findings: &[Finding], list: &mut Vec<(String, String)>) {
    for finding in findings.iter().filter(|finding| finding.kind == FindingKind::Limit && is_open(finding)) {
        let mut told: Vec<&str> = Vec::new();
        for one in &finding.missing {
            let Some(show) = one.would_show.as_deref() else {
                continue;
            };
            let lost = show == TOO_LATE;
            if lost || told.contains(&show) || told.len() == MOST_MISSING {
                continue;
            }
            told.push(show);
            list.push((finding.name.clone(), show.to_owned()));
        }
    }
}

/// Ranges that a predicted outcome turns on, by how closely its figure follows them over the draws.
fn ranges(run: &Run, findings: &[Finding], members: &Members, list: &mut Vec<(String, String)>) {
    let keys: Vec<(&str, &str)> = run
        .assumptions
        .iter()
        .filter(|value| value.is_range)
        .map(|value| (value.key.as_str(), value.text.as_str()))
        .collect();
    for finding in findings.iter().filter(|f| f.share_outside.is_some()) {
        let Some(figures) = members.figures(&finding.id) else {
            continue;
        };
        if finding.outcome != Outcome::Undecided {
            list.push((finding.name.clone(), settled_by_records(finding, figures.len())));
            continue;
        }
        let mut followed: Vec<(f64, &str, &str)> = keys
            .iter()
            .map(|(key, text)| {
                let drawn: Vec<f64> =
                    (0..figures.len() as u64).map(|member| Draw::member(SEED, member).uniform(key)).collect();
                (correlation(&drawn, &figures), *key, *text)
            })
            .filter(|(r, ..)| r.abs() >= WEAK)
            .collect();
        followed.sort_by(|a, b| b.0.abs().total_cmp(&a.0.abs()));
        for (r, key, text) in followed.into_iter().take(MOST_VALUES) {
            let way = if r > 0.0 { "rises" } else { "falls" };
            list.push((
                key.to_owned(),
                format!(
                    "typed as {text}: a narrower value could decide “{}”, whose figure {way} with it (correlation {r:.1} over {} draws).",
                    finding.name,
                    figures.len()
                ),
            ));
        }
    }
}

/// What would show a limit whose draws all agree: no narrower range, and a record of it.
fn settled_by_records(finding: &Finding, draws: usize) -> String {
    let record = match finding.how_many.as_str() {
        "no meter" => "A meter there, read every day, would show it",
        _ => "Samples would show it",
    };
    let counted = finding.sentences.iter().find(|it| it.starts_with("Computed outside"));
    let counted = counted.map_or_else(String::new, |it| format!(" {it}"));
    format!(
        "{record}; a narrower range would not, as it is {} in each of {draws} draws from all ranges typed.{counted}",
        finding.outcome
    )
}

/// Pearson's correlation; 0 where either does not vary.
fn correlation(x: &[f64], y: &[f64]) -> f64 {
    let n = x.len().min(y.len()) as f64;
    if n < 3.0 {
        return 0.0;
    }
    let (mean_x, mean_y) = (x.iter().sum::<f64>() / n, y.iter().sum::<f64>() / n);
    let (mut xy, mut xx, mut yy) = (0.0, 0.0, 0.0);
    for (a, b) in x.iter().zip(y) {
        let (dx, dy) = (a - mean_x, b - mean_y);
        xy += dx * dy;
        xx += dx * dx;
        yy += dy * dy;
    }
    if xx > 0.0 && yy > 0.0 { xy / (xx * yy).sqrt() } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_figure_that_follows_a_value_has_a_correlation_of_one_and_a_flat_one_none() {
        let x = [1.0, 2.0, 3.0, 4.0];
        assert!((correlation(&x, &[2.0, 4.0, 6.0, 8.0]) - 1.0).abs() < 1e-12);
        assert!((correlation(&x, &[8.0, 6.0, 4.0, 2.0]) + 1.0).abs() < 1e-12);
        assert_eq!(correlation(&x, &[5.0, 5.0, 5.0, 5.0]), 0.0);
    }
}

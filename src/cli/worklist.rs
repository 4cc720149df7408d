//! What to find out next, ranked by the outcomes it could change.

use crate::balance::Run;
use crate::cli::load::Site;
use crate::rules::{Finding, FindingKind, Outcome};

/// The worklist: what, and what it could change; most useful first.
pub fn worklist(site: &Site, run: &Run, findings: &[Finding]) -> Vec<(String, String)> {
    let mut rows: Vec<(usize, String, String)> = Vec::new();
    let undecided: Vec<&Finding> = findings
        .iter()
        .filter(|finding| {
            finding.kind == FindingKind::Limit
                && matches!(
                    finding.outcome,
                    Outcome::NotShown
                        | Outcome::Undecided
                        | Outcome::PredictedWithin
                        | Outcome::PredictedOutside
                )
        })
        .collect();
    for assumption in run
        .assumptions
        .iter()
        .filter(|assumption| assumption.is_unknown)
    {
        let turned: Vec<&str> = undecided
            .iter()
            .filter(|finding| {
                finding
                    .missing
                    .iter()
                    .any(|missing| missing.sentence.contains("not known"))
            })
            .map(|finding| finding.name.as_str())
            .collect();
        let effect = if turned.is_empty() {
            "is not known; it changes no outcome of this permit, only figures that are not shown"
                .to_owned()
        } else {
            format!(
                "is not known; until it is, these are not shown: {}",
                turned.join(", ")
            )
        };
        rows.push((turned.len(), assumption.key.clone(), effect));
    }
    for finding in &undecided {
        for missing in &finding.missing {
            if let Some(show) = &missing.would_show {
                rows.push((1, finding.name.clone(), show.clone()));
            }
        }
    }
    let _ = site;
    rows.sort_by(|a, b| b.0.cmp(&a.0));
    let mut list: Vec<(String, String)> = Vec::new();
    for (_, what, effect) in rows {
        let row = (what, effect);
        if !list.contains(&row) {
            list.push(row);
        }
    }
    list
}

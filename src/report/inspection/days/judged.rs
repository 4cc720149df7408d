//! What the limits of a discharge point say of its days.

use std::collections::BTreeSet;

use chrono::NaiveDate;

use crate::report::inspection::days::Outfall;
use crate::report::inspection::limit_rows::forbids;
use crate::rules::{Finding, FindingKind, Outcome, WindowFinding};

impl Outfall<'_> {
    /// The days that a limit here is not met on, or that are the worst of one.
    pub(super) fn judged_days(&self) -> BTreeSet<NaiveDate> {
        let here = |finding: &&Finding| finding.kind == FindingKind::Limit && finding.at == self.name();
        let tells = |finding: &Finding, window: &WindowFinding| {
            window.n > 0 && window.outcome.is_exceeded() || Some(&window.label) == finding.worst_when.as_ref()
        };
        let mut days = BTreeSet::new();
        for finding in self.case.findings.iter().filter(here) {
            for window in finding.windows.iter().filter(|window| tells(finding, window)) {
                let short = (window.to - window.from).num_days() < 7;
                days.extend(window.from.iter_days().take_while(|date| short && *date <= window.to));
            }
        }
        days
    }

    /// What limits that allow no discharge say of single days: excused by a storm, not shown, or broken.
    pub(super) fn storms(&self) -> Vec<(String, String)> {
        let here =
            |finding: &&Finding| finding.kind == FindingKind::Limit && finding.at == self.name() && forbids(finding);
        let mut out = Vec::new();
        for finding in self.case.findings.iter().filter(here) {
            for window in finding.windows.iter().filter(|window| window.n > 0) {
                let words = match window.outcome {
                    // Days on end of one outcome share a window.
                    exceeded if exceeded.is_exceeded() => exceeded.words(),
                    Outcome::NoDischarge => continue,
                    _ if window.from < window.to => continue,
                    Outcome::Met => "excused by the storm",
                    other => other.words(),
                };
                out.push((window.from, window.label.clone(), format!("{}: {words}", finding.name)));
            }
        }
        out.sort_by_key(|(from, ..)| *from);
        out.into_iter().map(|(_, label, words)| (label, words)).collect()
    }
}

//! Reports and notices that went late, for page 1.

use crate::page::document::Text;
use crate::report::inspection::about::Case;
use crate::rules::{Finding, FindingKind, Outcome};
use crate::told::many;

/// Most reports, and most notices, that are named.
const MOST: usize = 6;

/// `Monthly report for Jul 2025, 1 day; for Nov 2025, 11 days; notice of TSS, 4 Mar 2025.`; none where none went late.
pub fn told(case: &Case) -> Option<Text> {
    let is_done = |finding: &&Finding| finding.kind == FindingKind::Notice && finding.outcome == Outcome::Done;
    let is_report = |finding: &&Finding| is_done(finding) && finding.id.starts_with("report");
    let days_late = |finding: &Finding| -> Option<usize> {
        let sent = finding.evidence.iter().map(|shown| shown.day).max()?;
        usize::try_from((sent - finding.due?).num_days()).ok().filter(|days| *days > 0)
    };
    let late: Vec<(&str, usize)> = case
        .findings
        .iter()
        .filter(is_report)
        .filter_map(|finding| Some((finding.name.as_str(), days_late(finding)?)))
        .collect();
    let is_notice = |finding: &&Finding| is_done(finding) && finding.is_late && finding.about.is_some();
    let notices: Vec<&str> = case.findings.iter().filter(is_notice).map(|finding| finding.name.as_str()).collect();
    words(&late, &notices).map(Text::from)
}

fn words(late: &[(&str, usize)], notices: &[&str]) -> Option<String> {
    const NAME: &str = "Monthly report for ";
    let mut parts: Vec<String> = Vec::new();
    for (at, (name, days)) in late.iter().take(MOST).enumerate() {
        let name = if at == 0 { name } else { name.strip_prefix(NAME).unwrap_or(name) };
        parts.push(format!("{name}, {}", many(*days, "day")));
    }
    for (at, name) in notices.iter().take(MOST).enumerate() {
        let what = if at > 0 {
            ""
        } else if notices.len() == 1 {
            "notice of "
        } else {
            "notices of "
        };
        parts.push(format!("{what}{name}"));
    }
    let more = late.len().saturating_sub(MOST) + notices.len().saturating_sub(MOST);
    if more > 0 {
        parts.push(format!("{more} more under “Duties and notices”"));
    }
    (!parts.is_empty()).then(|| format!("{}.", parts.join("; ")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reports_that_went_late_stand_on_one_line_with_their_days() {
        let late = [("Monthly report for Jul 2025", 1), ("Monthly report for Nov 2025", 11)];
        assert_eq!(words(&late, &[]).unwrap(), "Monthly report for Jul 2025, 1 day; Nov 2025, 11 days.");
        assert_eq!(words(&[], &[]), None);
    }

    #[test]
    fn notices_that_went_late_stand_behind_the_reports() {
        let late = [("Monthly report for Jul 2025", 1)];
        let told = words(&late, &["pH, 5 Feb 2026", "Filter wash, 9 Jul 2025"]).unwrap();
        assert_eq!(told, "Monthly report for Jul 2025, 1 day; notices of pH, 5 Feb 2026; Filter wash, 9 Jul 2025.");
        assert_eq!(words(&[], &["a"; 8]).unwrap(), "notices of a; a; a; a; a; a; 2 more under “Duties and notices”.");
    }
}

//! Reports that went late, for page 1.

use crate::page::document::Text;
use crate::report::inspection::about::Case;
use crate::rules::{Finding, FindingKind, Outcome};
use crate::told::many;

/// Most reports named.
const MOST: usize = 6;

/// `Monthly report for Jul 2025, 1 day; for Nov 2025, 11 days.`; none where none went late.
pub fn reports(case: &Case) -> Option<Text> {
    let is_report = |finding: &&Finding| {
        finding.kind == FindingKind::Notice && finding.outcome == Outcome::Done && finding.id.starts_with("report")
    };
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
    words(&late).map(Text::from)
}

fn words(late: &[(&str, usize)]) -> Option<String> {
    const NAME: &str = "Monthly report for ";
    let mut parts: Vec<String> = Vec::new();
    for (at, (name, days)) in late.iter().take(MOST).enumerate() {
        let name = if at == 0 { name } else { name.strip_prefix(NAME).unwrap_or(name) };
        parts.push(format!("{name}, {}", many(*days, "day")));
    }
    let more = late.len().saturating_sub(MOST);
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
        assert_eq!(words(&late).unwrap(), "Monthly report for Jul 2025, 1 day; Nov 2025, 11 days.");
        assert_eq!(words(&[]), None);
    }
}

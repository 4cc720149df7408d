//! Reports that went late, for page 1.

use crate::page::document::Text;
use crate::report::inspection::about::Case;
use crate::rules::{Finding, FindingKind, Outcome};

/// Most reports named.
const MOST: usize = 6;

/// `Monthly report for Jul 2025, 1 day; for Nov 2025, 11 days.`; none where none went late.
pub fn reports(case: &Case) -> Option<Text> {
    let is_report = |finding: &&Finding| {
        finding.kind == FindingKind::Notice && finding.outcome == Outcome::Done && finding.id.starts_with("report")
    };
    let late: Vec<(&str, &str)> = case
        .findings
        .iter()
        .filter(is_report)
        .filter_map(|finding| Some((finding.name.as_str(), finding.sentences.iter().find_map(|it| by(it))?)))
        .collect();
    words(&late).map(Text::from)
}

/// By how much: `1 day` of `Due 28 Aug 2025, sent 29 Aug 2025, late by 1 day.`
fn by(sentence: &str) -> Option<&str> {
    Some(sentence.split_once(", late by ")?.1.trim_end_matches('.'))
}

fn words(late: &[(&str, &str)]) -> Option<String> {
    const NAME: &str = "Monthly report for ";
    let mut parts: Vec<String> = Vec::new();
    for (at, (name, by)) in late.iter().take(MOST).enumerate() {
        let name = if at == 0 { name } else { name.strip_prefix(NAME).unwrap_or(name) };
        parts.push(format!("{name}, {by}"));
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
        let jul = by("Due 28 Aug 2025, sent 29 Aug 2025, late by 1 day.").unwrap();
        let late = [("Monthly report for Jul 2025", jul), ("Monthly report for Nov 2025", "11 days")];
        assert_eq!(words(&late).unwrap(), "Monthly report for Jul 2025, 1 day; Nov 2025, 11 days.");
        assert_eq!(by("Due 28 Aug 2025, sent 20 Aug 2025."), None);
        assert_eq!(words(&[]), None);
    }
}

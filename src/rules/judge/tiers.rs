//! Tiers of severity: the share of measurements over a multiple of the limit in the last months of the period.

use chrono::Months;

use crate::rules::judge::case::Case;
use crate::rules::judge::evaluate::Judged;
use crate::rules::window::windows::{day_label, month_start};
use crate::rules::{Finding, Limit, Number};

/// Adds a sentence for each tier that applies to a limit with an upper bound.
pub(crate) fn sentences(finding: &mut Finding, limit: &Limit, case: &Case<'_>, windows: &Judged) {
    let Some((bound, _)) = limit.bound.upper() else {
        return;
    };
    for tier in &case.rules.notices.tiers {
        let to = case.period.1.min(case.as_of);
        let Some(from) = month_start(to).checked_sub_months(Months::new(tier.months.saturating_sub(1))) else {
            continue;
        };
        let values: Vec<Number> = windows
            .windows
            .iter()
            .filter(|window| window.finding.from >= from && window.finding.to <= to)
            .filter_map(|window| window.value)
            .map(|value| value.counted.unwrap_or(value.low))
            .collect();
        if values.is_empty() {
            continue;
        }
        let mark = bound.times(tier.times);
        let over = values
            .iter()
            .filter(|value| {
                let side = value.against(mark);
                side.is_gt() || (tier.or_equal && side.is_eq())
            })
            .count();
        let share = Number::count(over).over(Number::count(values.len())).unwrap_or(Number::ZERO);
        if over > 0 {
            let applies = share.against(tier.share).is_ge();
            finding.sentences.push(format!(
                "{}: {over} of {} measurements since {} are {} {} times the limit; the tier begins at {} %, so it {}.",
                tier.name,
                values.len(),
                day_label(from),
                if tier.or_equal { "at or over" } else { "over" },
                tier.times.honest(3),
                tier.share.times(Number::whole(100)).honest(1),
                if applies { "applies" } else { "does not apply" }
            ));
        }
    }
}

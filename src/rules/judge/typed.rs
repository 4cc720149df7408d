//! Amounts that were typed for days on which a meter was not read or not believed: they count, and the limit says so.

use crate::rules::judge::case::Case;
use crate::rules::measure::Flows;
use crate::rules::window::windows::{days_label, later};
use crate::rules::{Finding, Limit, Subject, Weighting};
use crate::told::many;

/// Most amounts named in a sentence.
const MOST: usize = 3;

/// Tells of the amounts of meters that are read otherwise.
pub(crate) fn tell(finding: &mut Finding, limit: &Limit, flows: &Flows, case: &Case<'_>) {
    // A concentration or a level rests on no meter.
    let weighed = limit.counting.weighting.is() == Some(Weighting::FlowWeighted);
    if matches!(limit.subject, Subject::Parameter(_) | Subject::Stage(_) | Subject::Removal(..)) && !weighed {
        return;
    }
    for index in &flows.meters {
        let spans = || case.timeline.meter_spans.iter().filter(|span| span.meter == *index);
        let inside = |span: &&crate::records::MeterSpan| {
            span.first_day <= case.period.1 && later(span.first_day, span.days.saturating_sub(1)) >= case.period.0
        };
        let is_read = spans().any(|span| span.is_read());
        let typed: Vec<String> = spans()
            .filter(inside)
            .filter(|span| is_read && !span.is_read())
            .map(|span| {
                let last = later(span.first_day, span.days.saturating_sub(1));
                format!("{} {} for {}", span.counts, span.unit, days_label(span.first_day, last))
            })
            .collect();
        let Some(meter) = case.facility.meters.get(*index).filter(|_| !typed.is_empty()) else { continue };
        let more = match typed.len().saturating_sub(MOST) {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        finding.sentences.push(format!(
            "{}: {} typed, and not read off it: {}{more}. They count as whoever wrote them says.",
            meter.name,
            many(typed.len(), "amount"),
            typed.iter().take(MOST).map(String::as_str).collect::<Vec<_>>().join(", ")
        ));
    }
}

//! Levels on file of a pond whose freeboard is limited: they are no readings of freeboard, and never make a limit met; but one
//! that leaves too little of it by the pond's own shape keeps the limit from being met.

use uom::si::length::meter;

use crate::facility::model::{PlaceKind, Pond, PondShape};
use crate::records::LevelKind;
use crate::rules::judge::case::Case;
use crate::rules::measure::points::places;
use crate::rules::window::windows::day_label;
use crate::rules::{Finding, Limit, Missing, Outcome, Subject};

/// Most days named in a sentence.
const MOST_DAYS: usize = 3;

/// The highest that a pond's bank top may stand above its floor, m, by what was typed.
fn bank_top_m(pond: &Pond) -> Option<f64> {
    let depth = match &pond.shape {
        PondShape::Prismoid { depth, .. } => depth,
        PondShape::Table { spill_level, .. } => spill_level,
    };
    let high = |(_, high): (uom::si::f64::Length, uom::si::f64::Length)| high.get::<meter>();
    Some(depth.ends().map(high)? + pond.freeboard_above_spill.as_ref()?.ends().map(high)?)
}

/// Tells of levels that leave less freeboard than the limit asks for, on days without a reading of freeboard.
pub(crate) fn tell(finding: &mut Finding, limit: &Limit, case: &Case<'_>) {
    let (Subject::Stage(LevelKind::Freeboard), Some((least, _))) = (&limit.subject, limit.bound.lower()) else {
        return;
    };
    let Some(least_m) = limit.bound.unit.as_ref().map(|unit| least.to_f64() * unit.factor().to_f64()) else { return };
    for place in places(&limit.at) {
        let Some(site) = case.facility.get(place) else { continue };
        let PlaceKind::Pond(pond) = &site.kind else { continue };
        let Some(top_m) = bank_top_m(pond) else { continue };
        let of_kind = |kind: LevelKind| {
            let (from, to) = (case.period.0, case.period.1.min(case.as_of));
            let levels = case.timeline.levels.iter();
            levels.filter(move |level| level.at == place && level.kind == kind && from <= level.day && level.day <= to)
        };
        let read = |day| of_kind(LevelKind::Freeboard).any(|other| other.day == day);
        let low: Vec<String> = of_kind(LevelKind::Level)
            .filter(|level| top_m - level.value_si < least_m - 1e-9 && !read(level.day))
            .map(|level| format!("{} ({} {})", day_label(level.day), level.value, level.unit))
            .collect();
        if low.is_empty() {
            continue;
        }
        let more = match low.len().saturating_sub(MOST_DAYS) {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        let sentence = format!(
            "The level of {} leaves less freeboard than that by the pond's own shape: {}{more}. A level is no reading of \
             freeboard, and is not judged.",
            site.name,
            low.iter().take(MOST_DAYS).map(String::as_str).collect::<Vec<_>>().join(", ")
        );
        if finding.outcome == Outcome::Met {
            finding.outcome = Outcome::NotShown;
        }
        finding.missing.push(Missing {
            of: None,
            paper: None,
            sentence: sentence.clone(),
            would_show: Some("A reading of the freeboard of those days, or the pond's shape put right.".to_owned()),
        });
        finding.sentences.push(sentence);
    }
}

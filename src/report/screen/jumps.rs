//! Days worth a jump: the worst of each limit, the wettest, those on which water began to leave, those of samples.

use std::collections::BTreeSet;

use chrono::NaiveDate;

use crate::balance::{Node, Selector, Watch};
use crate::facility::model::{DischargeKind, PlaceId, PlaceKind};
use crate::page::document::figures;
use crate::page::html::Jump;
use crate::report::inspection::about::{Case, basis, day};
use crate::report::units;
use crate::rules::FindingKind;

/// Most wet days offered.
const MOST_WET: usize = 10;
/// Most days of one other kind offered: a longer list helps nobody.
const MOST: usize = 400;

/// All of them, kind by kind.
pub fn jumps(case: &Case) -> Vec<Jump> {
    [worst(case), wet(case), left(case), samples(case)].concat()
}

fn index(case: &Case, date: NaiveDate) -> Option<usize> {
    let at = usize::try_from((date - case.period.0).num_days()).ok()?;
    (date <= case.period.1).then_some(at)
}

fn worst(case: &Case) -> Vec<Jump> {
    let limits = case.findings.iter().filter(|finding| finding.kind == FindingKind::Limit);
    limits
        .filter_map(|finding| {
            let when = finding.worst_when.as_ref()?;
            let window = finding.windows.iter().find(|window| window.label == *when)?;
            // A window that begins before the period opens on its first day.
            let first = window.from.max(case.period.0);
            Some(Jump {
                group: "Worst of a limit",
                words: format!("{}: {when}", finding.name),
                day: index(case, first)?,
            })
        })
        .collect()
}

fn wet(case: &Case) -> Vec<Jump> {
    let unit = units::rain(case.facility.system);
    let days = case.period.0.iter_days().take_while(|date| *date <= case.period.1);
    let mut wet: Vec<(f64, NaiveDate)> = days
        .filter_map(|date| Some((case.weather.rain_on(date)?.depth_mm?, date)))
        .filter(|(mm, _)| unit.of(*mm) >= 0.5 * 10_f64.powi(-i32::from(unit.digits)))
        .collect();
    wet.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    let told = wet.iter().take(MOST_WET);
    told.filter_map(|(mm, date)| {
        let depth = figures::with_unit(unit.of(*mm), unit.digits, unit.name);
        Some(Jump { group: "Wettest days", words: format!("{}: {depth}", day(*date)), day: index(case, *date)? })
    })
    .collect()
}

/// The places by which water leaves that no truck and no sewer takes.
pub fn outfalls(case: &Case) -> impl Iterator<Item = PlaceId> {
    points(case, |kind| !matches!(kind, DischargeKind::HauledAway | DischargeKind::Sewer))
}

/// The sewers.
pub fn sewers(case: &Case) -> impl Iterator<Item = PlaceId> {
    points(case, |kind| kind == DischargeKind::Sewer)
}

fn points(case: &Case, wanted: impl Fn(DischargeKind) -> bool) -> impl Iterator<Item = PlaceId> {
    let places = case.facility.places.iter().enumerate();
    places.filter_map(move |(at, place)| match &place.kind {
        PlaceKind::DischargePoint(point) if wanted(point.kind) => Some(PlaceId(at)),
        _ => None,
    })
}

/// Days on which water began to leave: by a metered flow, or by a computed one, and which.
fn left(case: &Case) -> Vec<Jump> {
    let mut jumps = Vec::new();
    for id in outfalls(case) {
        let series = case.ledger.series(&Watch::Water(Selector::to(Node::Place(id))));
        let mut flowed = false;
        for of_day in case.ledger.days_between(case.period.0, case.period.1) {
            let known = series.basis.get(of_day).copied().and_then(basis);
            let flows = known.filter(|_| series.values.get(of_day).is_some_and(|m3| *m3 > 0.0));
            if let Some(known) = flows.filter(|_| !flowed)
                && let Some(index) = index(case, case.ledger.date(of_day))
            {
                let words = format!("{}: {}, {}", day(case.ledger.date(of_day)), case.name(id), known.word());
                jumps.push(Jump { group: "Water begins to leave", words, day: index });
            }
            flowed = flows.is_some();
        }
    }
    jumps.sort_by_key(|jump| jump.day);
    jumps.truncate(MOST);
    jumps
}

fn samples(case: &Case) -> Vec<Jump> {
    let of = case.timeline.samples.iter().map(|sample| (sample.day, sample.at));
    let days: BTreeSet<(NaiveDate, PlaceId)> = of.collect();
    let told = days.iter().filter_map(|(date, at)| {
        let words = format!("{}: {}", day(*date), case.name(*at));
        (*date >= case.period.0).then_some(())?;
        Some(Jump { group: "Samples", words, day: index(case, *date)? })
    });
    told.take(MOST).collect()
}

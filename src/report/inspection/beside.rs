//! What stands beside the figure of a window: by how much it is over or what is left, the day on which it was read, and of days
//! on which nothing may leave what the meter and the look say of each.

use chrono::NaiveDate;

use crate::facility::model::{PlaceId, PlaceKind};
use crate::page::document::figures;
use crate::records::{LevelKind, MeterSpan, off_the_bank as off_the_bank_readings};
use crate::report::inspection::about::{Case, day, said};
use crate::report::inspection::limit_rows::forbids;
use crate::report::inspection::paper_trail::{dial_ends, dials};
use crate::report::units;
use crate::rules::{Finding, Outcome, Point, Subject, WindowFinding};

/// Most days of one window that are told one by one.
const MOST_DAYS: usize = 7;

/// What is told of a window beside its figure, in the order in which it stands.
pub fn told(case: &Case, finding: &Finding, window: &WindowFinding) -> Vec<String> {
    [difference(case, finding, window), read_on(case, window), each_day(case, finding, window)]
        .into_iter()
        .flatten()
        .collect()
}

/// By how much the worst of a limit is over, or what is left of a total that is met: `235.3 m3 over`, `0.054 ft too little`.
fn difference(case: &Case, finding: &Finding, window: &WindowFinding) -> Option<String> {
    if finding.worst_when.as_ref() != Some(&window.label) || forbids(finding) {
        return None;
    }
    let limit = case.limits.iter().find(|limit| Some(&limit.place) == finding.place.as_ref());
    let is_total = limit
        .is_some_and(|limit| matches!(limit.subject, Subject::Water | Subject::Load(_)) && !limit.statistic.is_each());
    let met = finding.outcome == Outcome::Met && is_total;
    if !(met || finding.outcome.is_exceeded() && window.outcome.is_exceeded()) {
        return None;
    }
    if let Some(words) = in_full(case, finding, window) {
        return Some(words);
    }
    in_words(finding)
}

/// A margin as it is said of one limit: what is below a minimum is too little, what is under a total is left of it; none of what
/// is inside a range or above a minimum.
fn in_words(finding: &Finding) -> Option<String> {
    let (limit, inside) = (finding.limit.as_ref()?, finding.margin_value? >= 0.0);
    let word = match (limit.at_least.is_some(), limit.at_most.is_some(), inside) {
        (false, true, false) => "over",
        (false, true, true) => "left",
        (true, false, false) => "too little",
        (true, true, false) => "outside",
        _ => return None,
    };
    Some(format!("{} {word}", said(finding.margin_size.as_ref()?)))
}

/// Of a total in millions of gallons that a dial counted, the gallons: `2 468 670 gal, 68 670 gal over`.
fn in_full(case: &Case, finding: &Finding, window: &WindowFinding) -> Option<String> {
    let (limit, figure) = (finding.limit.as_ref()?, window.figure.as_ref()?);
    let most = limit.at_most.filter(|_| limit.unit.contains("illion gal") && figure.low == figure.high)?;
    dials(case, &window.evidence)?;
    gallons(figure.high, most)
}

/// Millions of gallons in gallons, and by how many they are over or under so many millions.
fn gallons(millions: f64, most: f64) -> Option<String> {
    let (have, most) = ((millions * 1e6).round(), (most * 1e6).round());
    let word = match have - most {
        0.0 => return None,
        more if more > 0.0 => "over",
        _ => "left",
    };
    let of = |value: f64| figures::with_unit(value, 0, "gal");
    Some(format!("{}, {} {word}", of(have), of((have - most).abs())))
}

/// Of a single reading whose paper bears another date than its day, why: `read on 24 Feb 2025, before the day turned at 7:30`, or
/// `written down on 24 Feb 2025` with the note of whoever wrote it.
fn read_on(case: &Case, window: &WindowFinding) -> Option<String> {
    let [one] = window.evidence.as_slice() else { return None };
    if window.from != window.to {
        return None;
    }
    let place = one.place.as_ref()?;
    let seen = case.rows.seen_at(case.timeline, place)?;
    if seen.date == seen.day && seen.day == window.from && !seen.what.trim().eq_ignore_ascii_case("sample") {
        let known = seen.source.received.filter(|known| *known > seen.date)?;
        let note = seen.source.note.as_ref().map_or_else(String::new, |note| format!(": {note}"));
        return Some(format!("written down on {}{note}", day(known)));
    }
    // A dial is told with the times of both its readings.
    if seen.date == seen.day || seen.day != window.from || case.rows.span_closed_at(case.timeline, place).is_some() {
        return None;
    }
    let time = seen.time.map_or_else(String::new, |time| format!(", {}", time.format("%-H:%M")));
    let when = if seen.date > seen.day { "before" } else { "after" };
    Some(format!(
        "read on {}{time}, {when} the day turned at {}",
        day(seen.date),
        case.facility.day_starts.format("%-H:%M")
    ))
}

/// Of a run of days on which nothing may leave, what the meter counted and what was seen on each.
fn each_day(case: &Case, finding: &Finding, window: &WindowFinding) -> Option<String> {
    // Of days shown dry, and of those of which nothing is on file, nothing is to be told one by one.
    let left = window.n > 0 && window.outcome != Outcome::NoDischarge;
    if !forbids(finding) || !left || dials(case, &window.evidence).is_some() {
        return None;
    }
    let is_here = |kind: &PlaceKind| matches!(kind, PlaceKind::DischargePoint(_));
    let at =
        case.facility.places.iter().position(|place| place.name == finding.at && is_here(&place.kind)).map(PlaceId)?;
    let days = || window.from.iter_days().take_while(|date| *date <= window.to);
    let told: Vec<String> = days().take(MOST_DAYS).filter_map(|date| of_day(case, at, date)).collect();
    let more = days().count().saturating_sub(MOST_DAYS);
    let more = if more > 0 { format!("; {more} more days") } else { String::new() };
    (!told.is_empty()).then(|| format!("{}{more}", told.join("; ")))
}

/// `20 Oct 2025: 001 meter 219 to 219, 0.0 m³, looked at: flowing (look and meter differ)`; none where no meter tells of the day,
/// and look and slip do not differ.
fn of_day(case: &Case, at: PlaceId, date: NaiveDate) -> Option<String> {
    let spans = read_on_day(case, at, date);
    let looks: Vec<bool> =
        case.timeline.looks.iter().filter(|look| look.at == at && look.day == date).map(|look| look.flowing).collect();
    let seen = looks.iter().any(|flowing| *flowing);
    let (Some(first), Some(last)) = (spans.first(), spans.last()) else {
        let sampled = case.timeline.samples.iter().any(|sample| sample.at == at && sample.day == date);
        let differ = sampled && !looks.is_empty() && !seen;
        return differ.then(|| format!("{}: looked at: dry, but sampled (look and slip differ)", day(date)));
    };
    let meter = case.facility.meters.get(first.meter)?;
    let m3: f64 = spans.iter().map(|span| span.volume_m3).sum();
    let unit = units::volume(case.facility.system);
    let (value, digits) = case.figured(at).of(unit, m3);
    let dial = match &first.head {
        Some(head) => format!("{head} over the weir"),
        None => dial_ends(case, first, last)?,
    };
    let look = match (looks.is_empty(), seen, m3 > 0.0) {
        (true, ..) => "",
        (_, true, true) => ", looked at: flowing",
        (_, true, false) => ", looked at: flowing (look and meter differ)",
        (_, false, true) => ", looked at: dry (look and meter differ)",
        (_, false, false) => ", looked at: dry",
    };
    Some(format!("{}: {} {dial}, {}{look}", day(date), meter.name, figures::with_unit(value, digits, unit.name)))
}

/// What was read of one day by itself at the meter before an outfall.
fn read_on_day<'a>(case: &Case<'a>, at: PlaceId, date: NaiveDate) -> Vec<&'a MeterSpan> {
    let here = |meter: usize| case.facility.meters.get(meter).is_some_and(|meter| meter.to == at);
    let of_day = |span: &&MeterSpan| !span.carried && span.days == 1 && span.first_day == date && here(span.meter);
    case.timeline.meter_spans.iter().filter(of_day).collect()
}

/// The dial of the meter before an outfall on a day that it tells of by itself: `219 to 304`.
pub fn dial_of_day(case: &Case, at: PlaceId, date: NaiveDate) -> Option<String> {
    let spans = read_on_day(case, at, date);
    dial_ends(case, spans.first()?, spans.last()?)
}

/// Under a limit on a level or a freeboard, that the two read together do not make the bank's height.
pub fn off_the_bank(case: &Case, finding: &Finding) -> Option<String> {
    let limit = case.limits.iter().find(|limit| Some(&limit.place) == finding.place.as_ref())?;
    let is_level = matches!(limit.subject, Subject::Stage(LevelKind::Level | LevelKind::Freeboard));
    let Point::Places(ids) = &limit.at else { return None };
    let at = *ids.first().filter(|_| is_level)?;
    let (pairs, first, off, most_m) = off_the_bank_readings(case.facility, &case.timeline.levels, at, case.period)?;
    let unit = units::level(case.facility.system);
    Some(format!(
        "Level and freeboard read together do not make the height of the bank on {off} of {pairs} readings, first on {}, by up \
         to {}: one of the two, or the height as typed, is wrong.",
        day(first),
        figures::with_unit(unit.of(most_m), unit.digits, unit.name)
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::{FindingKind, Judged};

    #[test]
    fn a_margin_is_said_as_over_too_little_or_left() {
        let of = |ends: (Option<f64>, Option<f64>), margin: f64, size: Option<&str>| {
            let limit = Judged { at_least: ends.0, at_most: ends.1, unit: String::new(), text: String::new() };
            let kind = FindingKind::Limit;
            let finding = Finding::new("l".into(), kind, "Limit".into(), "Ditch".into(), Outcome::Exceeded);
            let size = size.map(str::to_owned);
            in_words(&Finding { limit: Some(limit), margin_value: Some(margin), margin_size: size, ..finding })
        };
        let (most, least) = ((None, Some(30.0)), (Some(2.0), None));
        assert_eq!(of(most, -235.3, Some("235.3 m3")).as_deref(), Some("235.3 m3 over"));
        assert_eq!(of(least, -0.054, Some("0.054 ft")).as_deref(), Some("0.054 ft too little"));
        assert_eq!(of(most, 86.1, Some("at least 86.1 m3")).as_deref(), Some("at least 86.1 m3 left"));
        assert_eq!(of((Some(6.0), Some(9.0)), -0.2, Some("0.2")).as_deref(), Some("0.2 outside"));
        assert_eq!(of((Some(6.0), Some(9.0)), 0.2, Some("0.2")), None);
        assert_eq!(of(most, 0.0, None), None);
    }

    #[test]
    fn millions_of_gallons_are_written_out_with_what_is_over_or_left() {
        let plain = |millions, most| gallons(millions, most).map(|words| words.replace(['\u{202f}', '\u{a0}'], " "));
        assert_eq!(plain(2.46867, 2.4).as_deref(), Some("2 468 670 gal, 68 670 gal over"));
        assert_eq!(plain(2.39, 2.4).as_deref(), Some("2 390 000 gal, 10 000 gal left"));
        assert_eq!(plain(2.4, 2.4), None);
    }
}

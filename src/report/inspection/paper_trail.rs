//! From a judged figure to its paper: the dials at both ends, the sheet, the slip.

use std::collections::HashMap;

use chrono::{NaiveDate, NaiveDateTime};

use crate::facility::model::MeterExchange;
use crate::page::document::figures::{self, THIN};
use crate::records::{MeterSpan, Source};
use crate::report::inspection::about::{Case, day, file_name, trace};
use crate::report::units;
use crate::rules::Evidence;
use crate::told::Place;

/// Most papers named for one figure; of more the first, the last and how many.
const MOST_PAPERS: usize = 6;

/// The papers behind evidence, each once, with file and line: `slip 25-031 (lab.csv 11)`.
/// Of what a meter counted, the paper of the opening reading comes first.
pub fn papers(case: &Case, evidence: &[Evidence]) -> String {
    let opening = evidence.first().and_then(|first| span_of(case, first)).and_then(|span| span.before.as_ref());
    let opening = opening.map(|source| (source.paper.as_deref(), Some(&source.place)));
    let all = evidence.iter().map(|one| (one.paper.as_deref(), one.place.as_ref()));
    // Each paper with the first and the last line copied from it.
    let mut found: Vec<(&str, Option<&Place>, Option<&Place>)> = Vec::new();
    let mut known: HashMap<&str, usize> = HashMap::new();
    for (paper, place) in opening.into_iter().chain(all) {
        let paper = paper.unwrap_or("no number on file");
        match known.get(paper).and_then(|at| found.get_mut(*at)) {
            Some((_, _, last)) => *last = place,
            None => {
                known.insert(paper, found.len());
                found.push((paper, place, None));
            }
        }
    }
    let named: Vec<String> = found
        .iter()
        .map(|(paper, first, last)| match (first, last.filter(|last| Some(*last) != *first)) {
            // Where the sheet itself is the paper, its row is named already.
            (Some(first), None) if is_itself(paper, first) => trace(first),
            (Some(first), Some(last)) if is_itself(paper, first) => {
                format!("{}, {}", trace(first), cell_beside(first, last))
            }
            (Some(first), Some(last)) if first.file == last.file && first.line != last.line => {
                format!("{paper} ({}, {})", trace(first), last.line)
            }
            (Some(first), _) => format!("{paper} ({})", trace(first)),
            (None, _) => (*paper).to_owned(),
        })
        .collect();
    // A tab's name may end with a blank, which is no part of a sentence.
    let named: Vec<String> = named.into_iter().map(|words| words.replace(" ,", ",")).collect();
    if named.len() > MOST_PAPERS
        && let (Some(first), Some(last)) = (named.first(), evidence.last())
    {
        let paper = last.paper.as_deref().unwrap_or("no number on file");
        let last = match &last.place {
            Some(place) if is_itself(paper, place) => trace(place),
            Some(place) => format!("{paper} ({})", trace(place)),
            None => paper.to_owned(),
        };
        return format!("{first} to {last}, {} papers", named.len()).replace(" ,", ",");
    }
    named.join(", ")
}

/// A place by what differs from one before it: `G19` after `clipboard.xlsx, tab Oct 25, cell F19`.
fn cell_beside(first: &Place, last: &Place) -> String {
    match (first.file.rsplit_once(", cell "), last.file.rsplit_once(", cell ")) {
        (Some((tab, _)), Some((other, cell))) if tab == other => cell.to_owned(),
        _ if first.file == last.file && last.line > 0 => last.line.to_string(),
        _ => trace(last),
    }
}

/// Whether a paper's name is that of the file from which it was read.
fn is_itself(paper: &str, place: &Place) -> bool {
    let file = file_name(&place.file);
    paper.starts_with(file.split(',').next().unwrap_or(file))
}

/// A meter's dial at both ends, in few words: `985 908 to 986 584`.
pub fn turned(case: &Case, evidence: &[Evidence]) -> Option<String> {
    let (_, before, after) = ends(case, evidence)?;
    Some(format!("{} to {}", before.0, after.0))
}

/// The dial where one span begins and where another ends: `219 to 304`.
pub fn dial_ends(case: &Case, first: &MeterSpan, last: &MeterSpan) -> Option<String> {
    Some(format!("{} to {}", dial(case, first.before.as_ref()?)?.0, dial(case, &last.after)?.0))
}

/// The unbroken spans of one meter behind evidence, with its dial at both ends.
type Ends<'a> = (Vec<&'a MeterSpan>, (String, f64), (String, f64));

fn ends<'a>(case: &Case<'a>, evidence: &[Evidence]) -> Option<Ends<'a>> {
    let spans: Vec<&MeterSpan> = evidence.iter().map(|one| span_of(case, one)).collect::<Option<_>>()?;
    let (first, last) = (spans.first()?, spans.last()?);
    let unbroken = spans.windows(2).all(|pair| match pair {
        [one, next] => one.meter == next.meter && one.to == next.from,
        _ => true,
    });
    if !unbroken {
        return None;
    }
    let (before, after) = (dial(case, first.before.as_ref()?)?, dial(case, &last.after)?);
    Some((spans, before, after))
}

/// What a meter's dial showed at both ends of what the evidence covers; none where it is not one meter's count.
pub fn dials(case: &Case, evidence: &[Evidence]) -> Option<String> {
    let (spans, before, after) = ends(case, evidence)?;
    let meter = case.facility.meters.get(spans.first()?.meter)?;
    let words = of_spans(case, &spans, before, after)?;
    // A meter that is called a dial is not called so twice.
    let says_dial = meter.name.to_lowercase().ends_with("dial");
    let words = if says_dial { words.strip_prefix(" dial").unwrap_or(&words) } else { &words };
    Some(format!("{}{words}", meter.name))
}

/// The dial of a meter at both ends of some days: the spans that it counted in them, and the dial after its name as in [`dials`].
pub fn over<'a>(
    case: &Case<'a>,
    meter: usize,
    (from, to): (NaiveDate, NaiveDate),
) -> Option<(Vec<&'a MeterSpan>, String)> {
    let of_meter = |span: &&MeterSpan| {
        span.meter == meter && span.head.is_none() && from <= span.first_day && span.first_day <= to
    };
    let mut spans: Vec<&MeterSpan> = case.timeline.meter_spans.iter().filter(of_meter).collect();
    spans.sort_by_key(|span| span.from);
    // What was written in words (“as above”) has no figure of its own: from the first that has one to the last.
    let first = spans.iter().position(|span| span.before.as_ref().and_then(|source| dial(case, source)).is_some())?;
    let last = spans.iter().rposition(|span| dial(case, &span.after).is_some())?;
    let spans = spans.get(first..=last)?.to_vec();
    let (before, after) = (dial(case, spans.first()?.before.as_ref()?)?, dial(case, &spans.last()?.after)?);
    let words = of_spans(case, &spans, before, after)?;
    Some((spans, words.trim_start_matches(" dial ").trim_start_matches(": ").to_owned()))
}

/// What a dial showed at both ends of spans, after its meter's name.
fn of_spans(case: &Case, spans: &[&MeterSpan], before: (String, f64), after: (String, f64)) -> Option<String> {
    let (first, last) = (spans.first()?, spans.last()?);
    let counted: f64 = spans.iter().filter_map(|span| span.counts.parse::<f64>().ok()).sum();
    let turned = after.1 - before.1;
    let alike = spans.iter().all(|span| span.unit == last.unit);
    let began_anew = !alike || (turned - counted).abs() > 1e-6 * counted.abs().max(1.0);
    if began_anew && let Some(words) = stretches(case, spans) {
        return Some(format!(": {words}"));
    }
    let register = case
        .facility
        .meters
        .get(first.meter)
        .map_or(f64::INFINITY, |meter| 10_f64.powi(i32::try_from(meter.digits).unwrap_or(0)));
    let through = if alike && began_anew && ((counted - turned) / register - 1.0).abs() < 1e-6 {
        "; past its last figure once, and on from 0".to_owned()
    } else if began_anew {
        format!(
            "; its dial was exchanged or set anew on the way, or is read otherwise than written, see “Every repair”{IN_THE_ANNEX}"
        )
    } else {
        String::new()
    };
    Some(format!(
        " dial {} on {}, {} on {}, counts {}{through}",
        before.0,
        at(first.from, first.hours_known.0),
        after.0,
        at(last.to, last.hours_known.1),
        last.unit
    ))
}

/// Where the repairs stand, for words that the report prints.
pub const IN_THE_ANNEX: &str = " in the annex";

/// Most stretches of a dial that are written out.
const MOST_STRETCHES: usize = 6;

/// A stretch of a dial: what it showed at both ends, none of what was typed; the unit of a count; how much, m³.
type Stretch<'a> = (Option<(String, String, f64)>, &'a str, f64);

/// A dial that began anew on the way, stretch by stretch: `418 772 to 462 375 (x0.1 m3), 4 360.3 m³; 243.6 m³ typed; together …`.
fn stretches(case: &Case, spans: &[&MeterSpan]) -> Option<String> {
    let unit = units::volume(case.facility.system);
    let volume = |m3: f64| figures::with_unit(unit.of(m3), unit.digits, unit.name);
    let mut all: Vec<Stretch> = Vec::new();
    for span in spans {
        let Some(before) = &span.before else {
            match all.last_mut() {
                Some((None, _, sum)) => *sum += span.volume_m3,
                _ => all.push((None, "", span.volume_m3)),
            }
            continue;
        };
        // A reading in words (“as above”, “out 4812”) has no figure of its own: the dial stands where the count leaves it.
        let counts: f64 = span.counts.parse().ok()?;
        let (from, to) = (dial(case, before), dial(case, &span.after));
        let ends_at = |start: f64| match &to {
            Some(to) if (to.1 - start - counts).abs() <= 1e-6 * counts.abs().max(1.0) => Some(to.clone()),
            // Closed by the first reading of a new dial: the old one was taken out at its last figure.
            Some(to) => exchange(case, span.meter, span.to.date())
                .filter(|of| of.new_read == to.1 && (of.old_read - start - counts).abs() < 1e-6 * counts.abs().max(1.0))
                .map(|of| (figures::number(of.old_read, 0), of.old_read)),
            None => Some((figures::number(start + counts, 0), start + counts)),
        };
        match all.last_mut() {
            Some((Some((_, last, value)), of, sum))
                if *of == span.unit && from.as_ref().is_none_or(|from| from.1 == *value) =>
            {
                (*last, *value) = ends_at(*value)?;
                *sum += span.volume_m3;
            }
            _ => {
                // A new dial begins at what it read when it was put in.
                let from = from.or_else(|| put_in(case, span))?;
                let to = ends_at(from.1)?;
                all.push((Some((from.0, to.0, to.1)), &span.unit, span.volume_m3));
            }
        }
    }
    if !(2..=MOST_STRETCHES).contains(&all.len()) {
        return None;
    }
    let words = all.iter().map(|(ends, of, sum)| match ends {
        Some((from, to, _)) => format!("{from} to {to} ({of}), {}", volume(*sum)),
        None => format!("{} typed", volume(*sum)),
    });
    let whole = spans.iter().map(|span| span.volume_m3).sum();
    Some(format!("{}; together {}", words.collect::<Vec<_>>().join("; "), volume(whole)))
}

/// The exchange of a meter on a day.
fn exchange<'a>(case: &Case<'a>, meter: usize, on: NaiveDate) -> Option<&'a MeterExchange> {
    case.facility.meters.get(meter)?.exchanged.iter().find(|exchange| exchange.on == on)
}

/// What a meter's new dial read when it was put in, where a span begins with the exchange.
fn put_in(case: &Case, span: &MeterSpan) -> Option<(String, f64)> {
    let read = exchange(case, span.meter, span.from.date())?.new_read;
    Some((figures::number(read, 0), read))
}

fn at(when: NaiveDateTime, hour_known: bool) -> String {
    if hour_known { format!("{}, {}", day(when.date()), when.format("%-H:%M")) } else { day(when.date()) }
}

fn span_of<'a>(case: &Case<'a>, evidence: &Evidence) -> Option<&'a MeterSpan> {
    let place = evidence.place.as_ref()?;
    case.rows.span_closed_at(case.timeline, place)
}

/// A dial as read, grouped, and as a number.
fn dial(case: &Case, source: &Source) -> Option<(String, f64)> {
    let seen = case.rows.seen_at(case.timeline, &source.place)?;
    let value: f64 = seen.digits.parse().ok()?;
    Some((grouped(&seen.digits), value))
}

/// Digits as written, in groups of three before the mark.
fn grouped(digits: &str) -> String {
    let whole = digits.find('.').unwrap_or(digits.len());
    let mut out = String::new();
    for (i, c) in digits.char_indices() {
        if i > 0 && i < whole && (whole - i).is_multiple_of(3) {
            out.push(THIN);
        }
        out.push(c);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn of_two_cells_of_one_tab_the_second_is_named_by_its_cell_alone() {
        let place = |file: &str, line| Place { line, ..Place::file(file) };
        let first = place("records/b.xlsx, tab Oct, cell F19", 0);
        assert_eq!(cell_beside(&first, &place("records/b.xlsx, tab Oct, cell I19", 0)), "I19");
        assert_eq!(cell_beside(&first, &place("records/b.xlsx, tab Nov, cell F4", 0)), "b.xlsx, tab Nov, cell F4");
        assert_eq!(cell_beside(&place("lab.csv", 4), &place("lab.csv", 9)), "9");
    }

    #[test]
    fn a_dial_keeps_its_noughts_and_is_grouped_before_the_mark() {
        assert_eq!(grouped("0096124"), "0\u{202f}096\u{202f}124");
        assert_eq!(grouped("4812.3456"), "4\u{202f}812.3456");
    }
}

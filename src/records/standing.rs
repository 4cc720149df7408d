//! Meters that stood while water was seen: what passed is not known, and is not the zero that they counted.

use std::collections::BTreeMap;

use chrono::{Duration, NaiveDate, NaiveDateTime, NaiveTime};

use crate::facility::model::{DischargeKind, Facility, PlaceId, PlaceKind};
use crate::facility::{Graph, Way};
use crate::quantity::DayStart;
use crate::records::meters::Metered;
use crate::records::unlikely::is_checked;
use crate::records::{Look, MeterSpan, Repair, Sample, Source};
use crate::told::{Problem, Problems, many};
use crate::weather::snapped;

/// Seconds of a day.
const A_DAY_S: i64 = 86_400;

/// From and to.
type Stretch = (NaiveDateTime, NaiveDateTime);

/// Water seen at a place: a look that saw it, or a sample of it.
struct Sight<'a> {
    at: PlaceId,
    /// One moment, or all of a day whose hour is not on file.
    when: Stretch,
    source: &'a Source,
    what: &'static str,
}

/// Leaves out the spans that counted nothing while water was seen at the place, where each way to it counted nothing all that
/// time; told once for each meter.
pub(crate) fn leave_out(
    facility: &Facility,
    metered: &mut Metered,
    looks: &[Look],
    samples: &[Sample],
    repairs: &mut Vec<Repair>,
    problems: &Problems,
) {
    let Metered { spans, beside, .. } = metered;
    let graph = Graph::of(facility);
    let sights = sights(facility, looks, samples);
    let mut by_meter: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (at, span) in spans.iter().enumerate() {
        by_meter.entry(span.meter).or_default().push(at);
    }
    // Spans that stood, each with what was seen first while it did.
    let mut stood: BTreeMap<usize, &Sight> = BTreeMap::new();
    for sight in &sights {
        let Some(meters) = meters_to(sight.at, facility, &graph) else { continue };
        let standing: Option<Vec<Vec<usize>>> =
            meters.iter().map(|meter| standing_at(sight.when, by_meter.get(meter)?, spans, facility.day())).collect();
        for span in standing.into_iter().flatten().flatten() {
            stood.entry(span).or_insert(sight);
        }
    }
    tell(facility, (spans, beside), &stood, repairs, problems);
    let mut at = 0;
    spans.retain(|_| {
        at += 1;
        !stood.contains_key(&(at - 1))
    });
}

fn sights<'a>(facility: &Facility, looks: &'a [Look], samples: &'a [Sample]) -> Vec<Sight<'a>> {
    let starts = facility.day();
    let when = |day: NaiveDate, time: Option<NaiveTime>| {
        let start = starts.start_of(day);
        let Some(time) = time else { return (start, start + Duration::days(1)) };
        let within = time.signed_duration_since(starts.time).num_seconds().rem_euclid(A_DAY_S);
        // What is seen as a day ends is of it where the day bears that date.
        let within = if within == 0 && starts.bears_its_end { A_DAY_S } else { within };
        let moment = start + Duration::seconds(within);
        (moment, moment)
    };
    let is_outfall = |at: PlaceId| {
        facility.get(at).is_some_and(
            |site| matches!(&site.kind, PlaceKind::DischargePoint(point) if point.kind == DischargeKind::SurfaceWater),
        )
    };
    // Somebody looked at the meter too: it counts, and what was seen is too little for it.
    let looked = looks.iter().filter(|look| look.flowing && !is_checked(&look.source)).map(|look| Sight {
        at: look.at,
        when: when(look.day, look.time),
        source: &look.source,
        what: "seen flowing",
    });
    let sampled = samples.iter().filter(|sample| sample.value.is_some() && is_outfall(sample.at)).map(|sample| Sight {
        at: sample.at,
        when: when(sample.day, sample.time),
        source: &sample.source,
        what: "sampled",
    });
    looked.chain(sampled).collect()
}

/// The meters of all ways of water to a place; none where a way has no meter, so that the water may have come by it.
fn meters_to(place: PlaceId, facility: &Facility, graph: &Graph) -> Option<Vec<usize>> {
    let all: Vec<usize> = (0..facility.meters.len())
        .filter(|at| facility.meters.get(*at).is_some_and(|meter| meter.to == place))
        .collect();
    let has_meter = |way: &Way| {
        all.iter().filter_map(|at| facility.meters.get(*at)).any(|meter| {
            let carries = way.carries.words();
            meter.from == way.from && meter.what.as_ref().is_none_or(|what| what.trim().eq_ignore_ascii_case(carries))
        })
    };
    let each = graph.ways_to(place).filter(|way| way.carries.is_metered()).all(has_meter);
    (each && !all.is_empty()).then_some(all)
}

/// The spans of a meter that counted nothing and may hold a moment, where such spans surely cover it without a break.
fn standing_at(when: Stretch, of_meter: &[usize], spans: &[MeterSpan], starts: DayStart) -> Option<Vec<usize>> {
    let mut covered: Option<Stretch> = None;
    let mut run: Vec<usize> = Vec::new();
    let mut last: Option<&MeterSpan> = None;
    let is_inside = |covered: Option<Stretch>| {
        covered.is_some_and(|(from, to)| {
            if when.0 == when.1 { from < when.0 && when.1 < to } else { from <= when.0 && when.1 <= to }
        })
    };
    // What ended days before is of no account: a span ends within a day of the time it is written for.
    let ended = |at: &usize| spans.get(*at).is_some_and(|span| span.to + Duration::days(2) < when.0);
    let first = of_meter.partition_point(ended);
    for at in of_meter.iter().skip(first) {
        let span = spans.get(*at)?;
        let (outer, inner) = time_of(span, starts);
        if when.1 + Duration::days(2) < outer.0 {
            break;
        }
        if span.volume_m3 > 0.0 || last.is_some_and(|last| last.to != span.from) {
            if is_inside(covered) {
                break;
            }
            covered = None;
            run.clear();
        }
        if span.volume_m3 <= 0.0 {
            covered = Some((covered.map_or(inner.0, |covered| covered.0), inner.1));
            if outer.0 <= when.1 && when.0 <= outer.1 {
                run.push(*at);
            }
        }
        last = Some(span);
    }
    is_inside(covered).then_some(run)
}

/// The time outside of which none of a span was, and that which it surely covers.
fn time_of(span: &MeterSpan, starts: DayStart) -> (Stretch, Stretch) {
    let end = |at: NaiveDateTime, is_known: bool| {
        if is_known {
            let at = snapped(at, starts.time).0;
            return (at, at);
        }
        // Some time of the day of that name; the moment stands at the hour that its date begins or ends it with.
        let start = starts.start_of(starts.day_of(at)) - Duration::days(i64::from(starts.bears_its_end));
        (start, start + Duration::days(1))
    };
    let (from, to) = (end(span.from, span.hours_known.0), end(span.to, span.hours_known.1));
    ((from.0, to.1), (from.1, to.0))
}

/// Whether amounts typed for its days stand for all of a span.
fn is_filled(span: &MeterSpan, beside: &[MeterSpan], starts: NaiveTime) -> bool {
    let mut from = snapped(span.from, starts).0;
    let mut of_it: Vec<Stretch> =
        beside.iter().filter(|amount| amount.meter == span.meter).map(|amount| (amount.from, amount.to)).collect();
    of_it.sort_unstable();
    for (first, last) in of_it {
        if first <= from {
            from = from.max(last);
        }
    }
    from >= snapped(span.to, starts).0
}

fn tell(
    facility: &Facility,
    (spans, beside): (&[MeterSpan], &[MeterSpan]),
    stood: &BTreeMap<usize, &Sight>,
    repairs: &mut Vec<Repair>,
    problems: &Problems,
) {
    let mut by_meter: BTreeMap<usize, Vec<(&MeterSpan, &Sight)>> = BTreeMap::new();
    for (at, sight) in stood {
        if let Some(span) = spans.get(*at).filter(|span| !is_filled(span, beside, facility.day().time)) {
            by_meter.entry(span.meter).or_default().push((span, sight));
        }
    }
    for (meter, all) in by_meter {
        let Some((first, sight)) = all.first() else { continue };
        let name = facility.meters.get(meter).map_or("", |meter| meter.name.as_str());
        let site = facility.get(sight.at).map_or("", |site| site.name.as_str());
        for (span, sight) in &all {
            repairs.push(Repair {
                place: span.after.place.clone(),
                sentence: format!(
                    "{name}: counted nothing from {} to {} while {site} was {} on {}; what passed is not known",
                    span.from.date(),
                    span.to.date(),
                    sight.what,
                    facility.day().day_of(sight.when.0)
                ),
            });
        }
        let more = match all.len() {
            1 => String::new(),
            spans => format!("; {} likewise", many(spans - 1, "more span")),
        };
        problems.add(
            Problem::warning(
                &sight.source.place,
                format!(
                    "{site} was {} on {}, and `{name}` counted nothing: what passed is taken as not known{more}",
                    sight.what,
                    facility.day().day_of(sight.when.0)
                ),
            )
            .related(&first.after.place, "the reading")
            .hint(format!(
                "look whether `{name}` counts; if it does and this was too little for it, write `checked` in the look's note"
            )),
        );
    }
}

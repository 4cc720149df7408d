//! Records that contradict one another: a sample of what flows from an outfall that was dry all that day, a count that
//! alone does not say since when.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{Days, NaiveDate};

use crate::facility::model::{DischargeKind, Facility, PlaceKind};
use crate::records::row::{Entry, Subject};
use crate::records::words::What;
use crate::records::{Look, MeterSpan, Sample};
use crate::told::{Place, Problem, Problems};

/// Tells samples of a discharge to surface water on a day on which every look says dry.
pub(crate) fn dry_samples(facility: &Facility, samples: &[Sample], looks: &[Look], problems: &Problems) {
    let mut told = BTreeSet::new();
    for sample in samples {
        let Some(site) = facility.get(sample.at) else {
            continue;
        };
        let is_outfall =
            matches!(&site.kind, PlaceKind::DischargePoint(point) if point.kind == DischargeKind::SurfaceWater);
        let mut of_day = looks.iter().filter(|look| look.at == sample.at && look.day == sample.day).peekable();
        let Some(first) = of_day.peek().copied() else {
            continue;
        };
        let dry = is_outfall && of_day.all(|look| !look.flowing);
        if dry && told.insert((sample.at.0, sample.day)) {
            problems.add(
                Problem::warning(
                    &sample.source.place,
                    format!("a sample of {} on {}, and the look of that day says dry", site.name, sample.day),
                )
                .related(&first.source.place, "the look")
                .hint("look at both dates and at the place; a sample of it says that it flowed"),
            );
        }
    }
}

/// Tells looks that saw water on days through which the meter of the place counted nothing, once for each meter.
pub(crate) fn standing_meters(facility: &Facility, spans: &[MeterSpan], looks: &[Look], problems: &Problems) {
    let mut stood: BTreeMap<(usize, usize), (&Look, &MeterSpan, BTreeSet<NaiveDate>)> = BTreeMap::new();
    for look in looks.iter().filter(|look| look.flowing) {
        let covers = |span: &&MeterSpan| {
            let to_it = facility.meters.get(span.meter).is_some_and(|meter| meter.to == look.at);
            let until = span.first_day.checked_add_days(Days::new(u64::from(span.days)));
            to_it && span.first_day <= look.day && until.is_some_and(|until| look.day < until)
        };
        let of_day: Vec<&MeterSpan> = spans.iter().filter(covers).collect();
        // Of several ways one may have stood, and the water come by another.
        if let Some(first) = of_day.first()
            && of_day.iter().all(|span| span.volume_m3 <= 0.0)
        {
            stood.entry((first.meter, look.at.0)).or_insert((look, first, BTreeSet::new())).2.insert(look.day);
        }
    }
    for ((meter, _), (look, span, days)) in stood {
        let name = facility.meters.get(meter).map_or("", |meter| meter.name.as_str());
        let site = facility.get(look.at).map_or("", |site| site.name.as_str());
        let more = match days.len() {
            0 | 1 => String::new(),
            many => format!(" and {} later", crate::told::many(many - 1, "day")),
        };
        problems.add(
            Problem::warning(
                &look.source.place,
                format!("{site} was seen flowing on {}{more}, and `{name}` counted nothing", look.day),
            )
            .related(&span.after.place, "the reading")
            .hint(format!(
                "if the meter stood still, write a row of that day for `{name}`: reading, `out`; what passed is then not known"
            )),
        );
    }
}

/// A log counts since its line before if so many in a hundred of its lines say so. Common practice, no source.
const MOST_SAY_SO: usize = 90;

/// Tells a count whose note does not say "since the last", where those of nearly all others of its kind do.
/// The places of those that were told.
pub(crate) fn counts_since(entries: &[Entry], problems: &Problems) -> Vec<Place> {
    let mut told = Vec::new();
    let mut series: BTreeMap<(Subject, What), Vec<&Entry>> = BTreeMap::new();
    for entry in entries.iter().filter(|entry| entry.says_something()) {
        if matches!(entry.what, What::Washes | What::Changed | What::Amount) {
            series.entry((entry.subject, entry.what)).or_default().push(entry);
        }
    }
    for all in series.into_values() {
        // The first has nothing before it.
        let later = all.get(1..).unwrap_or_default();
        let since = later.iter().filter(|entry| entry.since_the_last().is_some()).count();
        if since * 100 < later.len() * MOST_SAY_SO {
            continue;
        }
        for entry in later.iter().filter(|entry| entry.since_the_last().is_none()) {
            told.push(entry.place());
            problems.add(
                Problem::warning(
                    &entry.place(),
                    format!(
                        "{}, {}: this count is taken for its own day alone, and the others since the last line",
                        entry.row.name.text.trim(),
                        entry.row.stamp.date
                    ),
                )
                .hint("write `since the last line` in its note"),
            );
        }
    }
    told
}

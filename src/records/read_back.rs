//! What is on file, read back in sentences that a second person can hold against the sheets and slips.

use std::collections::BTreeMap;
use std::fmt::Display;

use chrono::{Datelike, Days, NaiveDate, NaiveTime, Weekday};

use crate::facility::model::{Facility, PlaceId, PlaceKind};
use crate::quantity::{Decimal, HowOften, Stretch, parameter_name};
use crate::records::{Level, LevelKind, MeterSpan, Qualifier, Sample, Timeline};
use crate::told::many;

/// Results listed one by one; of more the least and the largest.
const RESULTS_LISTED: usize = 24;

/// Levels, odd times and stretches of days listed one by one.
const LISTED: usize = 12;

/// One sentence for each thing that was observed, in order of its name.
pub fn read_back(facility: &Facility, timeline: &Timeline) -> Vec<String> {
    let mut out = Vec::new();
    results(facility, timeline, &mut out);
    meters(facility, timeline, &mut out);
    levels(facility, timeline, &mut out);
    looks(facility, timeline, &mut out);
    washes(facility, timeline, &mut out);
    acts(timeline, &mut out);
    out
}

fn name_of(facility: &Facility, at: PlaceId) -> &str {
    facility.get(at).map_or("?", |site| site.name.as_str())
}

/// The first few, and how many more there are.
fn listed(texts: &[String], most: usize) -> String {
    let shown = texts.get(..most.min(texts.len())).unwrap_or_default().join(", ");
    match texts.len().saturating_sub(most) {
        0 => shown,
        more => format!("{shown} and {more} more"),
    }
}

/// A result; its unit and its kind only where they do not stand for all of them.
fn result(sample: &Sample, with_unit: bool, with_kind: bool) -> String {
    let sign = match sample.qualifier {
        Qualifier::Below => "<",
        Qualifier::Above => ">",
        Qualifier::Estimated => "about ",
        Qualifier::None => "",
    };
    let unit = sample.unit.as_deref().filter(|_| with_unit);
    let unit = unit.map_or_else(String::new, |unit| format!(" {unit}"));
    let kind = sample.kind.as_deref().filter(|_| with_kind);
    let kind = kind.map_or_else(String::new, |kind| format!(" ({kind})"));
    match &sample.value {
        Some(value) => format!("{sign}{value}{unit}{kind} on {}", sample.day),
        None => format!("no result on {}", sample.day),
    }
}

fn results(facility: &Facility, timeline: &Timeline, out: &mut Vec<String>) {
    let mut series: BTreeMap<(&str, String), Vec<&Sample>> = BTreeMap::new();
    for sample in &timeline.samples {
        let key = (name_of(facility, sample.at), parameter_name(&sample.parameter));
        series.entry(key).or_default().push(sample);
    }
    for ((name, parameter), all) in series {
        let one_unit = all.windows(2).all(|pair| pair.first().map(|s| &s.unit) == pair.last().map(|s| &s.unit));
        let one_kind = all.windows(2).all(|pair| pair.first().map(|s| &s.kind) == pair.last().map(|s| &s.kind));
        let result = |sample: &Sample| result(sample, !one_unit, !one_kind);
        let first = all.first().copied();
        let head: Vec<&str> = [
            first.filter(|_| one_unit).and_then(|sample| sample.unit.as_deref()),
            first.filter(|_| one_kind).and_then(|sample| sample.kind.as_deref()),
        ]
        .into_iter()
        .flatten()
        .collect();
        let head = match head.is_empty() {
            true => String::new(),
            false => format!(" ({})", head.join(", ")),
        };
        let texts: Vec<String> = if all.len() <= RESULTS_LISTED {
            all.iter().map(|sample| result(sample)).collect()
        } else {
            let value = |sample: &&Sample| {
                let value = sample.value.as_deref().and_then(Decimal::parse);
                value.map_or(f64::NAN, Decimal::to_f64)
            };
            let valued = || all.iter().copied().filter(|sample| sample.value.is_some());
            let least = valued().min_by(|a, b| value(a).total_cmp(&value(b)));
            let most = valued().max_by(|a, b| value(a).total_cmp(&value(b)));
            let ends = [("the least", least), ("the largest", most)];
            let ends = ends.iter().filter_map(|(word, sample)| Some(format!("{word} {}", result((*sample)?))));
            std::iter::once(format!("{} results", all.len())).chain(ends).collect()
        };
        let came = all.iter().filter_map(|sample| Some((sample.source.received? - sample.day).num_days()));
        let came: Vec<i64> = came.collect();
        let slips = match (came.iter().min(), came.iter().max()) {
            (Some(least), Some(most)) if least == most => format!("; known {most} days after"),
            (Some(least), Some(most)) => format!("; known {least} to {most} days after"),
            _ => String::new(),
        };
        out.push(format!("{name}, {parameter}{head}: {}{slips}", texts.join(", ")));
    }
}

/// When readings were taken: the usual time and days of the week, and those at another.
fn times(of: impl Iterator<Item = (NaiveDate, Option<NaiveTime>)>) -> String {
    let mut at: BTreeMap<Option<NaiveTime>, Vec<NaiveDate>> = BTreeMap::new();
    let mut days: Vec<NaiveDate> = Vec::new();
    for (day, time) in of {
        at.entry(time).or_default().push(day);
        days.push(day);
    }
    let words = |time: Option<NaiveTime>| match time {
        Some(time) => format!("at {}", time.format("%H:%M")),
        None => "without a time".to_owned(),
    };
    let Some((usual, _)) = at.iter().max_by_key(|(_, days)| days.len()) else {
        return String::new();
    };
    let usual = *usual;
    let others: Vec<String> = at
        .iter()
        .filter(|(time, _)| **time != usual)
        .flat_map(|(time, days)| days.iter().map(|day| format!("{} on {day}", words(*time))))
        .collect();
    let others = match others.is_empty() {
        true => String::new(),
        false => format!(" ({})", listed(&others, LISTED)),
    };
    format!("; read {}{others}{}", words(usual), weekdays(&days))
}

/// Fewer days have no rhythm.
const RHYTHM_DAYS: usize = 8;

/// A day of the week belongs to the rhythm if so many in a hundred of the days fall on it.
const RHYTHM_SHARE: usize = 5;

/// The days of the week on which something is done, and the days that fall on another; nothing where it is done on any.
fn weekdays(days: &[NaiveDate]) -> String {
    const WEEK: [(Weekday, &str); 7] = [
        (Weekday::Mon, "Mon"),
        (Weekday::Tue, "Tue"),
        (Weekday::Wed, "Wed"),
        (Weekday::Thu, "Thu"),
        (Weekday::Fri, "Fri"),
        (Weekday::Sat, "Sat"),
        (Weekday::Sun, "Sun"),
    ];
    let on = |weekday: Weekday| days.iter().filter(|day| day.weekday() == weekday).count();
    let usual: Vec<(Weekday, &str)> =
        WEEK.into_iter().filter(|(weekday, _)| on(*weekday) * 100 > days.len() * RHYTHM_SHARE).collect();
    if days.len() < RHYTHM_DAYS || usual.len() == WEEK.len() {
        return String::new();
    }
    let names: Vec<&str> = usual.iter().map(|(_, name)| *name).collect();
    let mut odd: Vec<NaiveDate> =
        days.iter().copied().filter(|day| usual.iter().all(|(weekday, _)| *weekday != day.weekday())).collect();
    odd.dedup();
    let odd: Vec<String> = odd.iter().map(ToString::to_string).collect();
    match odd.is_empty() {
        true => format!(", on {}", names.join(", ")),
        false => format!(", on {} and {}", names.join(", "), listed(&odd, LISTED)),
    }
}

/// `372 counts of 100 ft3`, `5329 gal`.
fn counted(counts: &str, unit: &str) -> String {
    if unit.starts_with(|c: char| c.is_ascii_digit() || c == 'x') {
        format!("{counts} counts of {unit}")
    } else {
        format!("{counts} {unit}")
    }
}

/// A computed volume without the figures that nobody needs.
fn rounded(counts: &str) -> String {
    let value = counts.parse::<f64>().unwrap_or(f64::NAN);
    if value >= 100.0 { format!("{value:.0}") } else { format!("{value:.2}") }
}

fn meters(facility: &Facility, timeline: &Timeline, out: &mut Vec<String>) {
    for (index, meter) in facility.meters.iter().enumerate() {
        let spans: Vec<&MeterSpan> = timeline.meter_spans.iter().filter(|span| span.meter == index).collect();
        let (Some(first), Some(last)) = (spans.first(), spans.last()) else {
            continue;
        };
        let mut sums: BTreeMap<&str, Decimal> = BTreeMap::new();
        for span in &spans {
            let sum = sums.entry(&span.unit).or_insert(Decimal::ZERO);
            *sum = Decimal::parse(&span.counts).and_then(|counts| sum.plus(counts)).unwrap_or(*sum);
        }
        let is_computed = spans.iter().any(|span| span.head.is_some());
        let shown = |counts: &str| if is_computed { rounded(counts) } else { counts.to_owned() };
        let total: Vec<String> = sums.iter().map(|(unit, sum)| counted(&shown(&sum.to_string()), unit)).collect();
        let days = |span: &MeterSpan| ((span.to - span.from).num_minutes() as f64 / 1440.0).max(1.0);
        let rate = |span: &MeterSpan| span.volume_m3 / days(span);
        let most = spans.iter().max_by(|a, b| rate(a).total_cmp(&rate(b))).map_or_else(String::new, |most| {
            let counts = counted(&shown(&most.counts), &most.unit);
            let (from, to) = (most.from.date(), most.to.date());
            // Of a span of days only their mean is known.
            match days(most) {
                n if n > 1.5 => format!("; at the most {counts} in {n:.0} days, {from} to {to}"),
                _ => format!("; at the most a day {counts} from {from} to {to}"),
            }
        });
        let longest = spans.iter().max_by(|a, b| days(a).total_cmp(&days(b))).map_or_else(String::new, |span| {
            format!("; the longest without a reading {} to {}", span.from.date(), span.to.date())
        });
        let read = timeline
            .observations
            .iter()
            .filter(|seen| seen.name == meter.name && (seen.what == "reading" || seen.what == "head"))
            .map(|seen| (seen.date, seen.time));
        let heads = spans.iter().filter(|span| span.head.is_some()).count();
        let verb = match heads {
            0 => "counted".to_owned(),
            heads => format!("computed from the head of {}:", many(heads, "day")),
        };
        // One row by which a second person may work the rest.
        let example = spans.iter().filter(|span| span.volume_m3 > 0.0).find_map(|span| {
            let counts = counted(&rounded(&span.counts), &span.unit);
            Some(format!("; {} on {}: {counts}", span.head.as_ref()?, span.first_day))
        });
        let longest = if heads == 0 { longest } else { example.unwrap_or_default() };
        out.push(format!(
            "{}: {verb} {} from {} to {}{most}{longest}{}",
            meter.name,
            total.join(" and "),
            first.from.date(),
            last.to.date(),
            times(read)
        ));
    }
}

fn levels(facility: &Facility, timeline: &Timeline, out: &mut Vec<String>) {
    let word = |kind: LevelKind| match kind {
        LevelKind::Level => "level",
        LevelKind::Freeboard => "freeboard",
        LevelKind::SludgeDepth => "sludge depth",
        LevelKind::Holding => "holding",
    };
    let mut series: BTreeMap<(&str, &str), Vec<&Level>> = BTreeMap::new();
    for level in &timeline.levels {
        let key = (name_of(facility, level.at), word(level.kind));
        series.entry(key).or_default().push(level);
    }
    let shown = |level: &Level| format!("{} {} on {}", level.value, level.unit, level.day);
    for ((name, word), all) in series {
        let texts = if all.len() <= LISTED {
            all.iter().map(|level| shown(level)).collect::<Vec<_>>().join(", ")
        } else {
            let least = all.iter().min_by(|a, b| a.value_si.total_cmp(&b.value_si));
            let most = all.iter().max_by(|a, b| a.value_si.total_cmp(&b.value_si));
            let ends = [("least", least), ("most", most)];
            let ends = ends.iter().filter_map(|(word, level)| Some(format!("{word} {}", shown((*level)?))));
            ends.collect::<Vec<_>>().join(", ")
        };
        let read = times(all.iter().map(|level| (level.day, level.time)));
        out.push(format!("{name}, {word}: {texts}{read}"));
    }
}

/// Days as stretches: `2025-01-03 to 2025-01-09`.
fn stretches(days: &[NaiveDate], gap: u64) -> Vec<String> {
    let mut runs: Vec<(NaiveDate, NaiveDate)> = Vec::new();
    for day in days {
        match runs.last_mut() {
            Some((_, last)) if *day <= *last + Days::new(gap) => *last = *day,
            _ => runs.push((*day, *day)),
        }
    }
    let text = |(first, last): &(NaiveDate, NaiveDate)| match first == last {
        true => first.to_string(),
        false => format!("{first} to {last}"),
    };
    runs.iter().map(text).collect()
}

fn looks(facility: &Facility, timeline: &Timeline, out: &mut Vec<String>) {
    for (index, site) in facility.places.iter().enumerate() {
        let PlaceKind::DischargePoint(point) = &site.kind else {
            continue;
        };
        let of_it = || timeline.looks.iter().filter(|look| look.at == PlaceId(index));
        let mut seen: Vec<NaiveDate> = of_it().map(|look| look.day).collect();
        let (Some(first), Some(last)) = (seen.first().copied(), seen.last().copied()) else {
            continue;
        };
        seen.dedup();
        let mut flowing: Vec<NaiveDate> = of_it().filter(|look| look.flowing).map(|look| look.day).collect();
        flowing.dedup();
        let flowed = match flowing.is_empty() {
            true => "dry at every look".to_owned(),
            false => format!("flowing on {}", listed(&by_looks(&flowing, &seen), 2 * LISTED)),
        };
        let due = |day: NaiveDate| match point.looked_at {
            Some(HowOften::Times { times: 1, each: Stretch::Day, .. } | HowOften::Every { days: 1 }) => true,
            Some(HowOften::EveryWorkingDay) => !matches!(day.weekday(), Weekday::Sat | Weekday::Sun),
            _ => false,
        };
        let missed: Vec<NaiveDate> = first
            .iter_days()
            .take_while(|day| *day <= last)
            .filter(|day| due(*day) && seen.binary_search(day).is_err())
            .collect();
        let missed = match missed.is_empty() {
            true => String::new(),
            false => format!("; not looked at on {}", listed(&stretches(&missed, 1), LISTED)),
        };
        let read = times(of_it().map(|look| (look.day, look.time)));
        out.push(format!("{}, looks: {first} to {last}, {flowed}{missed}{read}", site.name));
    }
}

/// Days with a flow, in one stretch as long as no look between them was dry.
fn by_looks(flowing: &[NaiveDate], seen: &[NaiveDate]) -> Vec<String> {
    let mut runs: Vec<Vec<NaiveDate>> = Vec::new();
    let place = |day: &NaiveDate| seen.binary_search(day).unwrap_or(usize::MAX);
    for day in flowing {
        match runs.last_mut() {
            Some(run) if run.last().is_some_and(|last| place(last) + 1 == place(day)) => run.push(*day),
            _ => runs.push(vec![*day]),
        }
    }
    runs.iter()
        .filter_map(|run| match (run.first()?, run.last()?) {
            (first, last) if first == last => Some(first.to_string()),
            (first, last) => Some(format!("{first} to {last}")),
        })
        .collect()
}

fn washes(facility: &Facility, timeline: &Timeline, out: &mut Vec<String>) {
    let mut series: BTreeMap<(&str, bool), Vec<_>> = BTreeMap::new();
    for count in &timeline.washes {
        let key = (name_of(facility, count.filter), count.changes);
        series.entry(key).or_default().push(count);
    }
    for ((name, changes), all) in series {
        let total: u64 = all.iter().map(|count| u64::from(count.count)).sum();
        let a_day = |count: u32, days: u32| f64::from(count) / f64::from(days.max(1));
        let most = all.iter().max_by(|a, b| a_day(a.count, a.days).total_cmp(&a_day(b.count, b.days)));
        let longest = all.iter().max_by_key(|count| count.days).filter(|count| count.days > 1);
        let told = |word: &str, count: Option<&&crate::records::WashCount>| {
            count.map_or_else(String::new, |count| match count.days {
                0 | 1 => format!("; {word} {} on {}", count.count, count.first_day),
                days => format!("; {word} {} over {days} days from {}", count.count, count.first_day),
            })
        };
        out.push(format!(
            "{name}, {}: {total}{}{}",
            if changes { "changes" } else { "washes" },
            told("the most a day", most),
            told("the longest between two counts", longest)
                + &times(
                    timeline
                        .observations
                        .iter()
                        .filter(|seen| { seen.name == name && seen.what == if changes { "changed" } else { "washes" } })
                        .map(|seen| (seen.date, seen.time))
                )
        ));
    }
}

fn acts(timeline: &Timeline, out: &mut Vec<String>) {
    let mut series: BTreeMap<(&str, &str), Vec<String>> = BTreeMap::new();
    for act in &timeline.acts {
        let note = act.source.note.as_deref().filter(|_| act.what != "calibration");
        let amount = act.value.as_ref().map(|value| match &act.unit {
            Some(unit) => format!("{value} {unit}"),
            None => value.clone(),
        });
        let said: Vec<&dyn Display> = amount
            .iter()
            .map(|text| text as &dyn Display)
            .chain(note.iter().map(|text| text as &dyn Display))
            .collect();
        let said = match said.is_empty() {
            true => String::new(),
            false => {
                let said: Vec<String> = said.iter().map(ToString::to_string).collect();
                format!(" ({})", said.join("; "))
            }
        };
        let key = (act.what.as_str(), act.name.as_str());
        series.entry(key).or_default().push(format!("{}{said}", act.day));
    }
    for ((what, name), all) in series {
        let of = if name.is_empty() { String::new() } else { format!(", {name}") };
        out.push(format!("{what}{of}: {}", listed(&all, 4 * LISTED)));
    }
}

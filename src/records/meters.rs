//! Readings, amounts and exchanges of meters become spans with volumes.

use chrono::{Duration, NaiveDate, NaiveDateTime, NaiveTime};
use uom::si::volume_rate::cubic_meter_per_second;

use crate::facility::model::{Facility, Meter, PlaceKind};
use crate::quantity::{Cell, DayStart, Decimal, Dimension, Expected, amount, kind, letter_among_figures, units};
use crate::records::fronts;
use crate::records::lost;
use crate::records::lost::says_lost;
use crate::records::row::{Entry, SinceTheLast, Subject, Text, Written};
use crate::records::totaliser::{Dial, Exchange, Step, Trouble, steps};
use crate::records::words::What;
use crate::records::{MeterSpan, Repair};
use crate::told::{Problem, Problems, many};
use crate::weather::{NEAR_MINUTES, snapped};

/// The spans of all meters, in order of meter and time.
pub(crate) fn spans(
    facility: &Facility,
    entries: &[Entry],
    repairs: &mut Vec<Repair>,
    problems: &Problems,
) -> Vec<MeterSpan> {
    let mut spans = Vec::new();
    for (index, meter) in facility.meters.iter().enumerate() {
        let of_meter: Vec<&Entry> = entries.iter().filter(|entry| entry.subject == Subject::Meter(index)).collect();
        let read = from_readings(facility, index, meter, &of_meter, repairs, problems);
        let typed = from_amounts(facility, index, meter, &of_meter, repairs, problems);
        let overlaps = |amount: &MeterSpan| read.iter().find(|span| span.from < amount.to && amount.from < span.to);
        let (clashing, alone): (Vec<MeterSpan>, Vec<MeterSpan>) =
            typed.into_iter().partition(|amount| overlaps(amount).is_some());
        if let Some(first) = clashing.first() {
            repairs.push(Repair {
                place: first.after.place.clone(),
                sentence: format!(
                    "{}: two sources for one thing: {} typed for days that its readings cover too; the readings are used",
                    meter.name,
                    many(clashing.len(), "amount")
                ),
            });
        }
        let mut all: Vec<MeterSpan> = read.into_iter().chain(alone).collect();
        all.sort_by(|a, b| (a.from, a.to, &a.after.place).cmp(&(b.from, b.to, &b.after.place)));
        spans.extend(all);
    }
    spans
}

struct Reading<'a> {
    entry: &'a Entry,
    shows: Decimal,
}

fn from_readings(
    facility: &Facility,
    index: usize,
    meter: &Meter,
    entries: &[&Entry],
    repairs: &mut Vec<Repair>,
    problems: &Problems,
) -> Vec<MeterSpan> {
    let mut readings: Vec<Reading> = Vec::new();
    let mut tails: Vec<&Entry> = Vec::new();
    for entry in entries.iter().filter(|entry| entry.what == What::Reading) {
        let Some(shows) = dial_of(meter, entry, repairs, problems) else { continue };
        if entry.row.written != Written::Tail {
            readings.push(Reading { entry, shows });
            continue;
        }
        match readings.last().map(|last| fronts::with_front(last.shows, shows)) {
            Some(Some(shows)) => {
                tails.push(entry);
                readings.push(Reading { entry, shows });
            }
            Some(None) => problems.add(
                Problem::error(
                    &entry.place(),
                    format!("`{}` is below the tail of the reading above", entry.row.value.text.trim()),
                )
                .hint("the front has changed: write the whole dial"),
            ),
            None => problems.add(
                Problem::error(&entry.place(), "the tail of a dial, and no reading stands above it")
                    .hint("write the whole dial"),
            ),
        }
    }
    let dials: Vec<(&Entry, Decimal)> = readings.iter().map(|reading| (reading.entry, reading.shows)).collect();
    let thousands = fronts::of_thousands(&dials);
    for (at, shows) in &thousands {
        if let Some(reading) = readings.get_mut(*at) {
            reading.shows = *shows;
        }
    }
    let thousands: Vec<&Entry> = thousands.iter().filter_map(|(at, _)| Some(dials.get(*at)?.0)).collect();
    repairs.extend(fronts::told(meter, &tails, fronts::TAIL));
    repairs.extend(fronts::told(meter, &thousands, fronts::THOUSANDS));
    let dials: Vec<Dial> = readings.iter().map(|reading| Dial { at: reading.entry.at, shows: reading.shows }).collect();
    let exchanges = exchanges(meter, entries, problems);
    let plain_exchanges: Vec<Exchange> = exchanges.iter().map(|(exchange, _)| exchange.clone()).collect();
    let (steps, troubles) = steps(&dials, &plain_exchanges, meter.digits, most_per_day(facility, meter));
    for trouble in &troubles {
        tell(meter, trouble, &readings, &exchanges, problems);
    }
    tell_times(facility, meter, &readings, repairs);
    let most = lost::unusual(steps.iter().filter_map(|step| days_of_step(facility, step, &readings)).collect());
    let mut spans = Vec::new();
    for step in &steps {
        let (Some(before), Some(after)) = (readings.get(step.before), readings.get(step.after)) else {
            continue;
        };
        if let Some(out) = out_between(entries, before, after) {
            repairs.push(Repair {
                place: out.place(),
                sentence: format!(
                    "{}, {}: `{}`: what passed between the readings of {} and {} was not counted and is not known",
                    meter.name,
                    out.row.stamp.date,
                    out.row.value.text.trim(),
                    before.entry.row.stamp.date,
                    after.entry.row.stamp.date
                ),
            });
            continue;
        }
        tell_step(meter, step, (before, after), &plain_exchanges, repairs);
        let (from, from_snapped) = snapped(before.entry.at, facility.day_starts);
        let (to, to_snapped) = snapped(after.entry.at, facility.day_starts);
        let (first_day, days) = days_covered(from, to, facility.day());
        if days > most {
            repairs.push(Repair {
                place: after.entry.place(),
                sentence: format!(
                    "{}: no reading for {days} days from {first_day}: what it counted in all is metered, on which of those \
                     days is not known",
                    meter.name
                ),
            });
        }
        spans.push(MeterSpan {
            meter: index,
            from: before.entry.at,
            to: after.entry.at,
            hours_known: (before.entry.hour_is_known(meter), after.entry.hour_is_known(meter)),
            first_day,
            days,
            on_the_day: from_snapped && to_snapped,
            volume_m3: step.counts.to_f64() * meter.one_count_m3,
            counts: step.counts.to_string(),
            unit: meter.counts_in.clone(),
            before: Some(before.entry.source()),
            after: after.entry.source(),
        });
    }
    spans
}

/// Words for a meter that does not count while water may pass.
const OUT: [&str; 10] = [
    "out",
    "out of order",
    "not working",
    "not counting",
    "broken",
    "frozen",
    "iced",
    "stuck",
    "stood still",
    "faulty",
];

/// A row between two readings that says that the meter did not count.
fn out_between<'a>(entries: &[&'a Entry], before: &Reading, after: &Reading) -> Option<&'a Entry> {
    entries.iter().copied().find(|entry| {
        let is_out = matches!(&entry.cell, Cell::Word(word) | Cell::Missing(word) if OUT.contains(&word.as_str()));
        entry.what == What::Reading && is_out && before.entry.at < entry.at && entry.at <= after.entry.at
    })
}

/// How many days lie between the readings of a step.
fn days_of_step(facility: &Facility, step: &Step, readings: &[Reading]) -> Option<u32> {
    let at = |index: usize| Some(snapped(readings.get(index)?.entry.at, facility.day_starts).0);
    Some(days_covered(at(step.before)?, at(step.after)?, facility.day()).1)
}

/// The first facility day that a stretch covers, and how many. One that ends at the day's start closes the day before.
pub(crate) fn days_covered(from: NaiveDateTime, to: NaiveDateTime, day: DayStart) -> (NaiveDate, u32) {
    let first = day.day_of(from);
    let last = day.day_of((to - Duration::seconds(1)).max(from));
    let days = u32::try_from((last - first).num_days() + 1).unwrap_or(1);
    (first, days.max(1))
}

/// What a reading shows in the register's counts. None where nothing was read; that is told.
fn dial_of(meter: &Meter, entry: &Entry, repairs: &mut Vec<Repair>, problems: &Problems) -> Option<Decimal> {
    let place = entry.place();
    match &entry.cell {
        Cell::Number { value, .. } => {
            if let Some((unit, unit_place)) = entry.unit()
                && !same_unit(&unit, &meter.counts_in)
            {
                if let Some(meant) = letter_among_figures(&value.to_string(), &unit) {
                    problems.add(
                        Problem::error(&place, format!("`{value}{unit}` has a letter among its figures"))
                            .hint(format!("was {meant} meant?")),
                    );
                    return None;
                }
                problems.add(
                    Problem::error(&unit_place, format!("`{unit}` is not what {} counts in", meter.name))
                        .related(&meter.place, format!("it counts in {}", meter.counts_in))
                        .hint(format!(
                            "write what the dial shows, in {}, or say what the meter counts in",
                            meter.counts_in
                        )),
                );
                return None;
            }
            Some(*value)
        }
        Cell::Blank => {
            repairs.push(Repair {
                place,
                sentence: format!(
                    "{}, {}: the reading is blank; nothing was read, and it is not zero",
                    meter.name, entry.row.stamp.date
                ),
            });
            None
        }
        Cell::Word(word) | Cell::Missing(word) => {
            repairs.push(Repair {
                place,
                sentence: format!(
                    "{}, {}: `{word}` where a reading is due; no reading was taken from it",
                    meter.name, entry.row.stamp.date
                ),
            });
            None
        }
        Cell::Trace | Cell::Same => {
            problems.add(Problem::error(&place, "a meter's dial shows a number").hint("write what the dial shows"));
            None
        }
    }
}

/// Whether two units are spelled alike but for spaces and case.
pub(crate) fn same_unit(a: &str, b: &str) -> bool {
    let bare = |text: &str| {
        let text: String = text.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase).collect();
        let text = text.trim_start_matches(['x', '\u{d7}']);
        text.replace('\u{b3}', "3")
            .replace('^', "")
            .replace("cubicfeet", "ft3")
            .replace("gallons", "gal")
            .replace("gallon", "gal")
    };
    let (a, b) = (bare(a), bare(b));
    a == b
        || match (units::named(&a), units::named(&b)) {
            (Some(x), Some(y)) => x == y,
            _ => false,
        }
}

/// The most a meter can count in a day, where it sits behind a supply whose most is known.
fn most_per_day(facility: &Facility, meter: &Meter) -> Option<f64> {
    let site = facility.get(meter.from)?;
    let PlaceKind::Supply(supply) = &site.kind else {
        return None;
    };
    let (_, high) = supply.gives_at_most.as_ref()?.ends()?;
    Some(high.get::<cubic_meter_per_second>() * 86_400.0 / meter.one_count_m3)
}

/// The exchanges typed in the facility and those among the records, in order of date, with where each was typed.
fn exchanges(meter: &Meter, entries: &[&Entry], problems: &Problems) -> Vec<(Exchange, crate::told::Place)> {
    let mut all = Vec::new();
    let whole_day = |date: NaiveDate| {
        (date.and_time(NaiveTime::MIN), date.and_time(NaiveTime::MIN) + Duration::days(1) - Duration::seconds(1))
    };
    for exchange in &meter.exchanged {
        let read = |value: f64| Decimal::parse(&format!("{value}"));
        if let (Some(old_read), Some(new_read)) = (read(exchange.old_read), read(exchange.new_read)) {
            let (earliest, latest) = whole_day(exchange.on);
            all.push((Exchange { earliest, latest, old_read, new_read }, exchange.place.clone()));
        }
    }
    for entry in entries.iter().filter(|entry| entry.what == What::Exchanged) {
        // What stands behind the first dial is the second, so only a unit of its own column is one.
        let other = |unit: &&Text| !unit.is_blank() && !same_unit(unit.text.trim(), &meter.counts_in);
        if let Some(unit) = entry.row.unit.as_ref().filter(other) {
            problems.add(
                Problem::error(&unit.place, format!("`{}` is not what {} counts in", unit.text.trim(), meter.name))
                    .related(&meter.place, format!("it counts in {}", meter.counts_in))
                    .hint("a meter that counts otherwise is a meter of its own; amounts typed by day may stand in for one of the two"),
            );
            continue;
        }
        let parts: Vec<&str> = entry.row.value.text.split(" to ").collect();
        let number = |text: &str| match crate::quantity::cell(text, entry.row.mark) {
            Ok(Cell::Number { value, .. }) => Some(value),
            _ => None,
        };
        let ends = match parts.as_slice() {
            [old, new] => number(old).zip(number(new)),
            _ => None,
        };
        let Some((old_read, new_read)) = ends else {
            problems.add(
                Problem::error(&entry.place(), "an exchange tells what the old meter and the new one showed")
                    .hint("write it like `884210 to 12`"),
            );
            continue;
        };
        let (earliest, latest) = match entry.row.stamp.time {
            Some(_) => (entry.at, entry.at),
            None => whole_day(entry.row.stamp.date),
        };
        let known = all.iter().any(|(other, _): &(Exchange, crate::told::Place)| {
            other.old_read == old_read && other.new_read == new_read && other.earliest.date() == earliest.date()
        });
        if !known {
            all.push((Exchange { earliest, latest, old_read, new_read }, entry.place()));
        }
    }
    all.sort_by_key(|(exchange, _)| exchange.earliest);
    all
}

fn tell(
    meter: &Meter,
    trouble: &Trouble,
    readings: &[Reading],
    exchanges: &[(Exchange, crate::told::Place)],
    problems: &Problems,
) {
    match trouble {
        Trouble::TooLong { reading } => {
            if let Some(reading) = readings.get(*reading) {
                if reading.shows.to_string().starts_with(['-', '\u{2212}']) {
                    let shows = reading.shows;
                    problems.add(
                        Problem::error(&reading.entry.place(), format!("{} shows {shows}, below zero", meter.name))
                            .hint("a dial counts from zero up; correct the sign"),
                    );
                    return;
                }
                problems.add(
                    Problem::error(
                        &reading.entry.place(),
                        format!("{} does not fit {}, a register of {} digits", reading.shows, meter.name, meter.digits),
                    )
                    .related(&meter.place, "the meter")
                    .hint("strike the digit too many, or correct `digits`"),
                );
            }
        }
        Trouble::Backwards { before, after, rolled } => {
            if let (Some(before), Some(after)) = (readings.get(*before), readings.get(*after)) {
                problems.add(
                    Problem::error(
                        &after.entry.place(),
                        format!("{} goes back, from {} to {}", meter.name, before.shows, after.shows),
                    )
                    .related(&before.entry.place(), format!("{} on {}", before.shows, before.entry.row.stamp.date))
                    .hint(format!(
                        "a rollover would make it {rolled} counts, which is too much; correct the reading, or tell the \
                         exchange: {}, {}, exchanged, `{} to 0`",
                        after.entry.row.stamp.date, meter.name, before.shows
                    )),
                );
            }
        }
        Trouble::ExchangeDoesNotFit { exchange, before, after } => {
            if let (Some((_, place)), Some(before), Some(after)) =
                (exchanges.get(*exchange), readings.get(*before), readings.get(*after))
            {
                problems.add(
                    Problem::error(place, format!("this exchange of {} does not fit its readings", meter.name))
                        .related(&before.entry.place(), format!("{} before it", before.shows))
                        .related(&after.entry.place(), format!("{} after it", after.shows))
                        .hint("correct what the old or the new meter showed, or the date"),
                );
            }
        }
    }
}

/// What the dials showed when a meter was changed: `; the old one came out at 4706, the new one went in at 0`.
fn dials_of(exchanges: &[Exchange], step: &Step) -> String {
    let of = step.exchanges.iter().filter_map(|at| exchanges.get(*at));
    of.map(|of| format!("; the old one came out at {}, the new one went in at {}", of.old_read, of.new_read)).collect()
}

fn tell_step(
    meter: &Meter,
    step: &Step,
    (before, after): (&Reading, &Reading),
    exchanges: &[Exchange],
    repairs: &mut Vec<Repair>,
) {
    let told = if !step.exchanges.is_empty() {
        "was exchanged between"
    } else if step.rolled_over {
        "rolled over between"
    } else {
        return;
    };
    repairs.push(Repair {
        place: after.entry.place(),
        sentence: format!(
            "{} {told} {} ({}) and {} ({}){}: {} counts of {}",
            meter.name,
            before.shows,
            before.entry.row.stamp.date,
            after.shows,
            after.entry.row.stamp.date,
            dials_of(exchanges, step),
            step.counts,
            meter.counts_in
        ),
    });
}

/// Tells how many readings carry no time, and how many were moved to the day's start.
fn tell_times(facility: &Facility, meter: &Meter, readings: &[Reading], repairs: &mut Vec<Repair>) {
    let start = facility.day_starts.format("%H:%M");
    let untimed: Vec<&Reading> = readings.iter().filter(|r| r.entry.row.stamp.time.is_none()).collect();
    if let Some(first) = untimed.first() {
        repairs.push(Repair {
            place: first.entry.place(),
            sentence: match meter.read_at {
                Some(at) => format!(
                    "{}: {} without a time; read at {}, as the file says of this meter",
                    meter.name,
                    many(untimed.len(), "reading"),
                    at.format("%H:%M")
                ),
                None => format!(
                    "{}: {} without a time; the balance takes the day's start, {start}, and for a limit the hour is not \
                     known. If it is always read at one hour, write `read at: 7 am` under this meter",
                    meter.name,
                    many(untimed.len(), "reading")
                ),
            },
        });
    }
    let near: Vec<&Reading> = readings
        .iter()
        .filter(|r| {
            let (moved, on_it) = snapped(r.entry.at, facility.day_starts);
            on_it && moved != r.entry.at
        })
        .collect();
    if let Some(first) = near.first() {
        repairs.push(Repair {
            place: first.entry.place(),
            sentence: format!(
                "{}: {} taken within {NEAR_MINUTES} minutes of the day's start, {start}: counted as taken at it",
                meter.name,
                many(near.len(), "reading")
            ),
        });
    }
}

/// Amounts typed for a day or since the last one.
fn from_amounts(
    facility: &Facility,
    index: usize,
    meter: &Meter,
    entries: &[&Entry],
    repairs: &mut Vec<Repair>,
    problems: &Problems,
) -> Vec<MeterSpan> {
    let mut spans = Vec::new();
    let mut long: Vec<(&Entry, u32)> = Vec::new();
    for (position, entry) in entries.iter().enumerate() {
        if entry.what != What::Amount || says_lost(entry) {
            continue;
        }
        let Some((counts, unit, volume_m3)) = amount_of(meter, entry, repairs, problems) else {
            continue;
        };
        let since = entry.since_the_last();
        let earlier = entries.get(..position).unwrap_or_default();
        let (from, to, on_the_day, hours_known) = match since {
            None => {
                let (first, last) = entry.row.covers.unwrap_or((entry.day, entry.day));
                let day = |date: NaiveDate| facility.day().start_of(date);
                (day(first), day(last) + Duration::days(1), true, (true, true))
            }
            Some(since) => {
                let last = earlier.iter().rev().find(|other| {
                    (other.says_something() || says_lost(other))
                        && other.closes_at(facility.day()) < entry.at
                        && (other.what == What::Amount
                            || (since == SinceTheLast::Reading && other.what == What::Reading))
                });
                let Some(last) = last else {
                    repairs.push(Repair {
                        place: entry.place(),
                        sentence: format!(
                            "{}, {}: an amount since the last one, and none is on file before it; left out",
                            meter.name, entry.row.stamp.date
                        ),
                    });
                    continue;
                };
                let (from, from_snapped) = snapped(last.closes_at(facility.day()), facility.day_starts);
                let (to, to_snapped) = snapped(entry.at, facility.day_starts);
                let known = |of: &Entry| of.closes_at(facility.day()) != of.at || of.hour_is_known(meter);
                (from, to, from_snapped && to_snapped, (known(last), known(entry)))
            }
        };
        let (first_day, days) = days_covered(from, to, facility.day());
        if since.is_some() {
            long.push((*entry, days));
        }
        spans.push(MeterSpan {
            meter: index,
            from,
            to,
            hours_known,
            first_day,
            days,
            on_the_day,
            volume_m3,
            counts: counts.to_string(),
            unit,
            before: None,
            after: entry.source(),
        });
    }
    lost::tell(&long, problems);
    spans
}

fn amount_of(
    meter: &Meter,
    entry: &Entry,
    repairs: &mut Vec<Repair>,
    problems: &Problems,
) -> Option<(Decimal, String, f64)> {
    match &entry.cell {
        Cell::Number { value, .. } => {
            let Some((unit, place)) = entry.unit() else {
                problems.add(
                    Problem::error(&entry.place(), "an amount without its unit")
                        .hint(format!("write its unit, like {}", meter.counts_in)),
                );
                return None;
            };
            if value.is_negative() {
                problems.add(Problem::error(&entry.place(), "an amount below zero").hint("look at the sheet again"));
                return None;
            }
            if same_unit(&unit, &meter.counts_in) {
                return Some((*value, meter.counts_in.clone(), value.to_f64() * meter.one_count_m3));
            }
            let read = amount(&format!("{value} {unit}"), &Expected::of::<kind::Volume>());
            match read {
                Ok(amount) if amount.unit.dimension == Dimension::Volume => {
                    Some((*value, amount.unit.name.to_string(), amount.to_si()))
                }
                Ok(_) => None,
                Err(refusal) => {
                    problems.add(Problem::misread(&place, refusal));
                    None
                }
            }
        }
        Cell::Word(word) if matches!(word.as_str(), "off" | "none" | "nil" | "zero" | "not run" | "dry") => {
            Some((Decimal::ZERO, meter.counts_in.clone(), 0.0))
        }
        Cell::Trace | Cell::Same => {
            problems.add(Problem::error(&entry.place(), "an amount is a number with its unit").hint("write 15040 gal"));
            None
        }
        Cell::Blank | Cell::Missing(_) | Cell::Word(_) => {
            repairs.push(Repair {
                place: entry.place(),
                sentence: format!(
                    "{}, {}: no amount is written (`{}`); it is not zero",
                    meter.name,
                    entry.row.stamp.date,
                    entry.row.value.text.trim()
                ),
            });
            None
        }
    }
}

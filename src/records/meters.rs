//! Readings, amounts and exchanges of meters become spans with volumes.

use chrono::{Duration, NaiveDate, NaiveDateTime};
use uom::si::volume_rate::cubic_meter_per_second;

use crate::facility::model::{Facility, Meter, PlaceKind};
use crate::quantity::{Cell, DayStart, Decimal};
use crate::records::amounts::from_amounts;
use crate::records::dials::{Registers, Spoken, dial_of, dials_of, registers, spoken};
use crate::records::fronts;
use crate::records::heads;
use crate::records::lost;
use crate::records::row::{Entry, Subject, Written};
use crate::records::totaliser::{Dial, Step, Trouble, steps};
use crate::records::words::What;
use crate::records::{Look, MeterSpan, Repair};
use crate::told::{Problem, Problems, many};
use crate::weather::{NEAR_MINUTES, snapped};

/// What meters counted, and what was typed beside it.
pub(crate) struct Metered {
    /// Water that a head shows and whose amount it does not tell.
    pub seen: Vec<Look>,
    /// The spans of all meters, in order of meter and time: between readings, and amounts typed for days without one.
    pub spans: Vec<MeterSpan>,
    /// Amounts typed for days that readings cover too.
    pub beside: Vec<MeterSpan>,
}

/// What readings and amounts of all meters say.
pub(crate) fn spans(facility: &Facility, entries: &[Entry], repairs: &mut Vec<Repair>, problems: &Problems) -> Metered {
    let mut all = Metered { seen: Vec::new(), spans: Vec::new(), beside: Vec::new() };
    for (index, meter) in facility.meters.iter().enumerate() {
        let of_meter: Vec<&Entry> = entries.iter().filter(|entry| entry.subject == Subject::Meter(index)).collect();
        match &meter.weir {
            Some(weir) => heads::spans(facility, (index, meter, weir), &of_meter, &mut all, repairs, problems),
            None => all.spans.extend(from_readings(facility, index, meter, &of_meter, repairs, problems)),
        }
        all.beside.extend(from_amounts(facility, index, meter, &of_meter, repairs, problems));
    }
    take_in(facility, &mut all);
    all
}

/// Takes in amounts typed for days that no reading covers.
fn take_in(facility: &Facility, metered: &mut Metered) {
    let time = |span: &MeterSpan| (snapped(span.from, facility.day_starts).0, snapped(span.to, facility.day_starts).0);
    let overlaps = |amount: &MeterSpan, span: &MeterSpan| {
        let ((from, to), (first, last)) = (time(amount), time(span));
        span.meter == amount.meter && span.is_read() && first < to && from < last
    };
    let (beside, alone): (Vec<MeterSpan>, Vec<MeterSpan>) = std::mem::take(&mut metered.beside)
        .into_iter()
        .partition(|amount| metered.spans.iter().any(|span| overlaps(amount, span)));
    metered.beside = beside;
    metered.spans.extend(alone);
    metered.spans.sort_by(|a, b| (a.meter, a.from, a.to, &a.after.place).cmp(&(b.meter, b.from, b.to, &b.after.place)));
    metered.spans.shrink_to_fit();
}

/// Takes in amounts for days on which a meter counted nothing while water was seen, once those spans are left out; of those
/// that readings still cover, that they are not used.
pub(crate) fn amounts_beside(facility: &Facility, metered: &mut Metered, repairs: &mut Vec<Repair>) {
    let before = metered.beside.clone();
    take_in(facility, metered);
    for (index, meter) in facility.meters.iter().enumerate() {
        let of_meter = |all: &[MeterSpan]| all.iter().filter(|span| span.meter == index).cloned().collect::<Vec<_>>();
        let left = of_meter(&metered.beside);
        let used: Vec<MeterSpan> = of_meter(&before).into_iter().filter(|span| !left.contains(span)).collect();
        if let (Some(first), Some(last)) = (used.first(), used.last()) {
            repairs.push(Repair {
                place: first.after.place.clone(),
                sentence: format!(
                    "{}: {} typed for days from {} to {} on which it counted nothing while water was seen: used in its place",
                    meter.name,
                    many(used.len(), "amount"),
                    first.first_day,
                    later(last.first_day, last.days)
                ),
            });
        }
        if let Some(first) = left.first() {
            let mut bare = left.iter().filter_map(|amount| Some((amount, bare_from(amount, &metered.spans)?)));
            let rest = bare.next().map_or_else(String::new, |(amount, from)| {
                let (first, days) = days_covered(from, amount.to, facility.day());
                let which = if left.len() == 1 { "it" } else { "one of them" };
                format!(
                    " What {which} says of days that no reading covers ({first} to {}) is then not known: write it for these days \
                     alone.",
                    later(first, days)
                )
            });
            repairs.push(Repair {
                place: first.after.place.clone(),
                sentence: format!(
                    "{}: two sources for one thing: {} typed for days that its readings cover too; the readings are used.{rest} \
                     If it did not count then, write `out` for the reading that closes those days",
                    meter.name,
                    many(left.len(), "amount")
                ),
            });
        }
    }
}

/// From when readings no longer cover what an amount was typed for; none where they cover it all.
fn bare_from(amount: &MeterSpan, spans: &[MeterSpan]) -> Option<NaiveDateTime> {
    let mut until = amount.from;
    for span in spans.iter().filter(|span| span.meter == amount.meter && span.is_read()) {
        if span.from <= until {
            until = until.max(span.to);
        }
    }
    (until < amount.to).then_some(until)
}

/// The last of some days.
fn later(first: NaiveDate, days: u32) -> NaiveDate {
    first + Duration::days(i64::from(days) - 1)
}

struct Reading<'a> {
    entry: &'a Entry,
    shows: Decimal,
    /// The register that its unit says it is of.
    of: Option<usize>,
    /// Whether it is what the meter showed when it was taken out or stopped.
    is_last: bool,
}

/// The readings of a meter, in order, with what each shows.
fn readings<'a>(
    meter: &Meter,
    registers: &Registers,
    entries: &[&'a Entry],
    repairs: &mut Vec<Repair>,
    problems: &Problems,
) -> Vec<Reading<'a>> {
    let mut readings: Vec<Reading> = Vec::new();
    let mut tails: Vec<&Entry> = Vec::new();
    for &entry in entries.iter().filter(|entry| entry.what == What::Reading) {
        let said = spoken(&entry.row.value.text, entry.row.mark).filter(|_| matches!(entry.cell, Cell::Word(_)));
        if let Some(said) = said {
            let is_out = readings.last().is_some_and(|last| last.is_last)
                || entries.iter().any(|other| {
                    says_out(other)
                        && other.at < entry.at
                        && readings.last().is_none_or(|last| last.entry.at < other.at)
                });
            let taken = told_in_words(meter, registers, entry, (said, is_out), repairs, problems);
            readings.extend(taken.map(|(shows, is_last)| Reading { entry, shows, of: None, is_last }));
            continue;
        }
        let Some((shows, of)) = dial_of(meter, registers, entry, repairs, problems) else { continue };
        if entry.row.written != Written::Tail {
            readings.push(Reading { entry, shows, of, is_last: false });
            continue;
        }
        match readings.last().map(|last| fronts::with_front(last.shows, shows)) {
            Some(Some(shows)) => {
                tails.push(entry);
                readings.push(Reading { entry, shows, of, is_last: false });
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
    repairs.extend(fronts::told(meter, &tails, fronts::TAIL));
    let dials: Vec<(&Entry, Decimal)> = readings.iter().map(|reading| (reading.entry, reading.shows)).collect();
    let thousands = fronts::of_thousands(&dials);
    repairs.extend(fronts::told(meter, &entries_at(&dials, &thousands), fronts::THOUSANDS));
    put(&mut readings, &thousands);
    let dials: Vec<(&Entry, Decimal)> = readings.iter().map(|reading| (reading.entry, reading.shows)).collect();
    let points = fronts::points_lost(&dials.iter().map(|(_, shows)| *shows).collect::<Vec<_>>());
    let (put_back, asked): (Vec<_>, Vec<_>) = points
        .into_iter()
        .partition(|(at, _)| dials.get(*at).is_some_and(|(entry, _)| entry.row.written == Written::PointMayBeLost));
    repairs.extend(fronts::told(meter, &entries_at(&dials, &put_back), fronts::POINTS));
    fronts::ask_points(meter, &dials, &asked, problems);
    put(&mut readings, &put_back);
    readings
}

fn entries_at<'a>(dials: &[(&'a Entry, Decimal)], at: &[(usize, Decimal)]) -> Vec<&'a Entry> {
    at.iter().filter_map(|(at, _)| Some(dials.get(*at)?.0)).collect()
}

fn put(readings: &mut [Reading], shown: &[(usize, Decimal)]) {
    for (at, shows) in shown {
        if let Some(reading) = readings.get_mut(*at) {
            reading.shows = *shows;
        }
    }
}

/// What words with a dial's figures show, and whether the meter stopped there. `is_out`: nothing counted until then.
fn told_in_words(
    meter: &Meter,
    registers: &Registers,
    entry: &Entry,
    (said, is_out): (Spoken, bool),
    repairs: &mut Vec<Repair>,
    problems: &Problems,
) -> Option<(Decimal, bool)> {
    let (name, date, text) = (&meter.name, entry.row.stamp.date, entry.row.value.text.trim());
    let mut tell = |words: String| {
        repairs.push(Repair { place: entry.place(), sentence: format!("{name}, {date}: `{text}`: {words}") });
    };
    match said {
        Spoken::Out(shows) => {
            tell(format!("read as {shows}; what passed from there until the next reading was not counted"));
            Some((shows, true))
        }
        Spoken::Exchanged(old, new) => {
            tell(format!("read as an exchange, the old one at {old} and the new one at {new}"));
            None
        }
        Spoken::New(shows) => {
            let is_known = registers.exchanges.iter().any(|exchange| {
                exchange.new_read == shows && (exchange.earliest.date()..=exchange.latest.date()).contains(&date)
            });
            if !is_known {
                problems.add(
                    Problem::error(
                        &entry.place(),
                        format!("`{text}` says that {name} was exchanged, and no exchange of that day is told"),
                    )
                    .hint(format!(
                        "say it under the meter: exchanged: [{{on: {date}, old read: …, new read: {shows}}}], with \
                             `counts in` where the new one counts otherwise"
                    )),
                );
                return None;
            }
            // Where the old one hung there until then, what it counted that morning is in the exchange.
            let words = if is_out { "read as what the new one showed then" } else { "the exchange tells it" };
            tell(words.to_owned());
            is_out.then_some((shows, false))
        }
    }
}

fn from_readings(
    facility: &Facility,
    index: usize,
    meter: &Meter,
    entries: &[&Entry],
    repairs: &mut Vec<Repair>,
    problems: &Problems,
) -> Vec<MeterSpan> {
    let registers = registers(meter, entries, problems);
    let readings = readings(meter, &registers, entries, repairs, problems);
    let dials: Vec<Dial> =
        readings.iter().map(|reading| Dial { at: reading.entry.at, shows: reading.shows, of: reading.of }).collect();
    let (steps, troubles) =
        steps(&dials, &registers.exchanges, registers.first_of_steps(), most_per_day(facility, meter));
    for trouble in &troubles {
        tell(meter, trouble, &readings, &registers, problems);
    }
    tell_times(facility, meter, &readings, repairs);
    let most = lost::unusual(steps.iter().filter_map(|step| days_of_step(facility, step, &readings)).collect());
    let outs: Vec<&Entry> = entries.iter().copied().filter(|entry| says_out(entry)).collect();
    let mut spans = Vec::new();
    for step in &steps {
        let (Some(before), Some(after)) = (readings.get(step.before), readings.get(step.after)) else {
            continue;
        };
        if let Some(out) = out_between(&outs, before, after) {
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
        let Some((counts, unit, volume_m3)) = registers.counted(step) else { continue };
        tell_step(meter, step, (before, after), (&registers, &counts, &unit), repairs);
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
            volume_m3,
            counts,
            unit,
            before: Some(before.entry.source()),
            after: after.entry.source(),
            head: None,
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

/// A row between two readings that says that the meter did not count, of the rows that say so.
fn out_between<'a>(outs: &[&'a Entry], before: &Reading<'a>, after: &Reading) -> Option<&'a Entry> {
    if before.is_last {
        return Some(before.entry);
    }
    outs.iter().copied().find(|entry| before.entry.at < entry.at && entry.at <= after.entry.at)
}

fn says_out(entry: &Entry) -> bool {
    let is_out = matches!(&entry.cell, Cell::Word(word) | Cell::Missing(word) if OUT.contains(&word.as_str()));
    entry.what == What::Reading && is_out
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

/// The most a meter can count in a day, where it sits behind a supply whose most is known.
fn most_per_day(facility: &Facility, meter: &Meter) -> Option<f64> {
    let site = facility.get(meter.from)?;
    let PlaceKind::Supply(supply) = &site.kind else {
        return None;
    };
    let (_, high) = supply.gives_at_most.as_ref()?.ends()?;
    Some(high.get::<cubic_meter_per_second>() * 86_400.0 / meter.one_count_m3)
}

fn tell(meter: &Meter, trouble: &Trouble, readings: &[Reading], registers: &Registers, problems: &Problems) {
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
                        format!(
                            "{} does not fit {}, a register of {} digits",
                            reading.shows,
                            meter.name,
                            registers.digits_at(reading.entry)
                        ),
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
            if let (Some(place), Some(before), Some(after)) =
                (registers.places.get(*exchange), readings.get(*before), readings.get(*after))
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

fn tell_step(
    meter: &Meter,
    step: &Step,
    (before, after): (&Reading, &Reading),
    (registers, counts, unit): (&Registers, &str, &str),
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
            dials_of(registers, step),
            counts,
            unit
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

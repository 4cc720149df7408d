//! Heads over a weir become the volumes of days, computed by the weir's equation.

use std::collections::BTreeMap;

use chrono::{Datelike, Duration, NaiveDate};
use uom::si::f64::Length;
use uom::si::length::meter as metre;
use uom::si::volume_rate::cubic_meter_per_second;

use crate::facility::model::{Facility, HeadStands, Meter, MeterWeir, PlaceKind};
use crate::quantity::{Cell, Dimension, Expected, amount, kind};
use crate::records::meters::Metered;
use crate::records::row::Entry;
use crate::records::words::{What, flows};
use crate::records::{Look, MeterSpan, Qualifier, Repair};
use crate::told::{Place, Problem, Problems, many};

/// Seconds of a day.
const A_DAY_S: f64 = 86_400.0;

/// Figures of a computed volume that are kept: far finer than any weir.
const FIGURES: i32 = 9;

/// Days to which one reading is stretched at most, so that a weir nobody reads any more does not run on. Common practice, no source.
const MOST_DAYS: i64 = 31;

/// A fraction alone in a column of heads, as a number: `1/4`, `<1/4 in`, and `2023-01-04`, which a spreadsheet made of 1/4.
/// None of anything else.
pub(crate) fn as_a_number(text: &str) -> Option<String> {
    let text = text.trim();
    if let Ok(date) = NaiveDate::parse_from_str(text, "%Y-%m-%d") {
        // Of a rule's fractions only one order is less than a whole.
        let (a, b) = (date.month().min(date.day()), date.month().max(date.day()));
        return part(a, b);
    }
    let sign = ["<", ">", "~"].into_iter().find(|sign| text.starts_with(sign)).unwrap_or("");
    let rest = text.get(sign.len()..)?.trim();
    let (above, rest) = rest.split_once('/')?;
    let end = rest.find(|c: char| !c.is_ascii_digit()).unwrap_or(rest.len());
    let (below, unit) = rest.split_at_checked(end)?;
    let number = part(above.parse().ok()?, below.parse().ok()?)?;
    Some(format!("{sign}{number} {}", unit.trim()).trim_end().to_owned())
}

/// The parts of a rule: halves down to sixteenths.
fn part(above: u32, below: u32) -> Option<String> {
    (matches!(below, 2 | 4 | 8 | 16) && above < below).then(|| (f64::from(above) / f64::from(below)).to_string())
}

/// What a cell says of the head.
enum Read {
    /// So high, and as it is told.
    Head(Length, String),
    /// Nothing over the weir.
    Dry,
    /// Water, and nobody says how high.
    Flowing,
}

/// The volumes of a weir's days, and what was seen of those whose volume is not known.
pub(crate) fn spans(
    facility: &Facility,
    (index, meter, weir): (usize, &Meter, &MeterWeir),
    entries: &[&Entry],
    out: &mut Metered,
    repairs: &mut Vec<Repair>,
    problems: &Problems,
) {
    let mut days: BTreeMap<NaiveDate, (&Entry, Option<Read>)> = BTreeMap::new();
    let mut not_read: Vec<&Entry> = Vec::new();
    for &entry in entries.iter().filter(|entry| matches!(entry.what, What::Reading | What::Head)) {
        let day = match weir.stands {
            HeadStands::TheDayBefore => entry.day - Duration::days(1),
            HeadStands::ThatDay | HeadStands::UntilTheNext => entry.day,
        };
        let read = match &entry.cell {
            Cell::Blank | Cell::Missing(_) => {
                not_read.push(entry);
                continue;
            }
            cell => match read(cell, entry, problems) {
                Ok(read) => read,
                Err(()) => continue,
            },
        };
        if let Some((other, _)) = days.get(&day) {
            problems.add(
                Problem::error(&entry.place(), format!("two heads of {} for {day}", meter.name))
                    .related(&other.place(), "the other")
                    .hint("a reading stands for a whole day: keep one, or type the day's amount in place of both"),
            );
            continue;
        }
        days.insert(day, (entry, read));
    }
    tell_not_read(meter, &not_read, repairs);
    let mut stretched = 0;
    let mut outside: Vec<(NaiveDate, Place, String)> = Vec::new();
    let readings: Vec<(&NaiveDate, &(&Entry, Option<Read>))> = days.iter().collect();
    for (at, (first, (entry, read))) in readings.iter().enumerate() {
        let next = readings.get(at + 1).map(|(day, _)| **day);
        let last = match next.filter(|_| weir.stands == HeadStands::UntilTheNext) {
            Some(next) if (next - **first).num_days() <= MOST_DAYS => next - Duration::days(1),
            _ => **first,
        };
        let (head, text) = match read {
            Some(Read::Head(head, text)) => (*head, text.clone()),
            Some(Read::Dry) => (Length::new::<metre>(0.0), entry.row.value.text.trim().to_owned()),
            Some(Read::Flowing) => {
                see(facility, meter, entry, **first, out);
                continue;
            }
            None => continue,
        };
        let flow = match weir.rating.flow(head) {
            Ok(flow) => flow,
            Err(why) => {
                outside.push((**first, entry.place(), format!("{text} is {why}")));
                see(facility, meter, entry, **first, out);
                continue;
            }
        };
        stretched += (last - **first).num_days();
        let volume_m3 = flow.get::<cubic_meter_per_second>() * A_DAY_S;
        for day in first.iter_days().take_while(|day| *day <= last) {
            let from = facility.day().start_of(day);
            out.spans.push(MeterSpan {
                meter: index,
                from,
                to: from + Duration::days(1),
                hours_known: (true, true),
                first_day: day,
                days: 1,
                on_the_day: true,
                volume_m3,
                counts: figures(volume_m3 / meter.one_count_m3),
                unit: meter.counts_in.clone(),
                before: None,
                after: entry.source(),
                head: Some(text.clone()),
                carried: day != **first,
            });
        }
    }
    tell(meter, weir, (stretched, &outside), &readings, repairs);
}

/// A volume with the figures that are kept, as a decimal.
fn figures(value: f64) -> String {
    if value <= 0.0 || !value.is_finite() {
        return "0".to_owned();
    }
    let places = (FIGURES - 1 - value.log10().floor() as i32).clamp(0, 12);
    let text = format!("{value:.*}", usize::try_from(places).unwrap_or(0));
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

fn read(cell: &Cell, entry: &Entry, problems: &Problems) -> Result<Option<Read>, ()> {
    let refuse = |message: String, hint: &str| {
        problems.add(Problem::error(&entry.place(), message).hint(hint));
        Err(())
    };
    let written = entry.row.value.text.trim();
    match cell {
        Cell::Number { value, .. } => {
            let Some((unit, place)) = entry.unit() else {
                return refuse(
                    "a head without its unit".to_owned(),
                    "write its unit, like in or cm; of a sheet's column `what: head, unit: in`",
                );
            };
            if value.is_negative() {
                return refuse("a head below zero".to_owned(), "water below the notch is a head of 0, or `dry`");
            }
            match amount(&format!("{value} {unit}"), &Expected::of::<kind::Length>()) {
                Ok(read) if read.unit.dimension == Dimension::Length => match entry.qualifier {
                    Qualifier::Below | Qualifier::Above => Ok(None),
                    _ => {
                        Ok(Some(Read::Head(Length::new::<metre>(read.to_si()), format!("{value} {}", read.unit.name))))
                    }
                },
                Ok(_) => refuse(format!("`{unit}` is no length"), "write the head in in, ft or cm"),
                Err(refusal) => {
                    problems.add(Problem::misread(&place, refusal));
                    Err(())
                }
            }
        }
        Cell::Word(word) => match flows(word) {
            Some(false) => Ok(Some(Read::Dry)),
            Some(true) => Ok(Some(Read::Flowing)),
            None => Ok(None),
        },
        Cell::Trace => Ok(Some(Read::Flowing)),
        Cell::Same => refuse(format!("`{written}` is not a head"), "write the head with its unit, or `dry`"),
        Cell::Blank | Cell::Missing(_) => Ok(None),
    }
}

/// Water was seen that day where the meter's way ends.
fn see(facility: &Facility, meter: &Meter, entry: &Entry, day: NaiveDate, out: &mut Metered) {
    let is_point = matches!(facility.get(meter.to).map(|site| &site.kind), Some(PlaceKind::DischargePoint(_)));
    if is_point {
        out.seen.push(Look { at: meter.to, day, time: entry.row.stamp.time, flowing: true, source: entry.source() });
    }
}

fn tell_not_read(meter: &Meter, not_read: &[&Entry], repairs: &mut Vec<Repair>) {
    if let Some(first) = not_read.first() {
        repairs.push(Repair {
            place: first.place(),
            sentence: format!(
                "{}: {} without a head, the first of {}: not read, and not dry",
                meter.name,
                many(not_read.len(), "row"),
                first.row.stamp.date
            ),
        });
    }
}

/// Tells what the readings came to: the days beside them, the heads that tell no amount.
fn tell(
    meter: &Meter,
    weir: &MeterWeir,
    (stretched, outside): (i64, &[(NaiveDate, Place, String)]),
    readings: &[(&NaiveDate, &(&Entry, Option<Read>))],
    repairs: &mut Vec<Repair>,
) {
    let mut say = |place: Place, words: String| {
        repairs.push(Repair { place, sentence: format!("{}: {words}", meter.name) });
    };
    if let Some((day, place, why)) = outside.first() {
        let more = match outside.len() {
            1 => String::new(),
            all => format!(", and {} likewise", many(all - 1, "more day")),
        };
        say(place.clone(), format!("{day}: {why}: water passed, and how much is not known{more}"));
    }
    let open: Vec<&Entry> =
        readings.iter().filter(|(_, (_, read))| read.is_none()).map(|(_, (entry, _))| *entry).collect();
    if let Some(first) = open.first() {
        say(
            first.place(),
            format!(
                "{} whose cell tells no head, the first of {} (`{}`): what passed is not known",
                many(open.len(), "row"),
                first.row.stamp.date,
                first.row.value.text.trim()
            ),
        );
    }
    let first = readings.first().map(|(_, (entry, _))| entry.place());
    if let (Some(place), HeadStands::UntilTheNext, 1..) = (first, weir.stands, stretched) {
        let days = many(usize::try_from(stretched).unwrap_or(0), "day");
        say(place, format!("{days} without a reading of their own: the reading before stands for them"));
    }
}

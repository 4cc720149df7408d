//! Amounts typed for a day, for several, or since the last one.

use chrono::{Duration, NaiveDate};

use crate::facility::model::{Facility, Meter};
use crate::quantity::{Cell, Decimal, Dimension, Expected, amount, kind};
use crate::records::dials::same_unit;
use crate::records::lost::{self, says_lost};
use crate::records::meters::days_covered;
use crate::records::row::{Entry, SinceTheLast};
use crate::records::washes::no_day_between;
use crate::records::words::What;
use crate::records::{MeterSpan, Repair};
use crate::told::{Problem, Problems};
use crate::weather::snapped;

/// Amounts typed for a day or since the last one.
pub(crate) fn from_amounts(
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
                    let before =
                        earlier.iter().rev().find(|other| other.says_something() && other.what == What::Amount);
                    let sentence = before.map_or_else(
                        || {
                            let date = entry.row.stamp.date;
                            format!(
                                "{}, {date}: an amount since the last one, and none is on file before it; left out",
                                meter.name
                            )
                        },
                        |before| no_day_between(before, entry, facility.day()),
                    );
                    repairs.push(Repair { place: entry.place(), sentence });
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
            head: None,
            carried: false,
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
            let written = match entry.row.value.text.trim() {
                "" => String::new(),
                text => format!(" (`{text}`)"),
            };
            repairs.push(Repair {
                place: entry.place(),
                sentence: format!(
                    "{}, {}: no amount is written{written}; it is not zero",
                    meter.name, entry.row.stamp.date
                ),
            });
            None
        }
    }
}

//! Samples, levels, looks and acts.

use std::collections::BTreeMap;

use crate::facility::model::{Facility, PlaceId};
use crate::quantity::{
    Cell, Expected, amount, kind, parameter_as_written, parameter_name, unit as unit_of, units, units_meant,
};
use crate::records::counted_as::CountedAs;
use crate::records::gather::plain;
use crate::records::plausible::{self, Recorded};
use crate::records::row::{Entry, Subject};
use crate::records::words::{What, flows, says_not_detected};
use crate::records::{Act, Level, LevelKind, Look, Qualifier, Repair, Sample};
use crate::told::{Place, Problem, Problems, many};
use crate::weather::{Depth, LoggedRain, depth};

fn place_of(entry: &Entry) -> Option<PlaceId> {
    match entry.subject {
        Subject::Place(place) => Some(PlaceId(place)),
        _ => None,
    }
}

/// Parameters whose values carry no unit.
const WITHOUT_UNIT: [&str; 3] = ["pH", "sodium adsorption ratio", "sar"];

/// Laboratory results and field readings.
pub(crate) fn samples(entries: &[Entry], repairs: &mut Vec<Repair>, problems: &Problems) -> Vec<Sample> {
    let mut samples = Vec::new();
    let mut not_taken: BTreeMap<(String, String), Vec<&Entry>> = BTreeMap::new();
    // One for each slip: a row of a laboratory's sheet has many results.
    let mut counted = CountedAs::default();
    let mut noted_void: BTreeMap<Place, &Entry> = BTreeMap::new();
    for entry in entries.iter().filter(|entry| entry.what == What::Sample) {
        let Some(at) = place_of(entry) else { continue };
        let parameter = entry.row.parameter.as_ref().map(|text| parameter_as_written(&plain(&text.text)));
        let parameter = parameter.unwrap_or_default();
        if parameter.is_empty() {
            problems.add(
                Problem::error(&entry.place(), "a sample without the parameter that was measured")
                    .hint("write it in the column `parameter`, like total suspended solids"),
            );
            continue;
        }
        let value = match &entry.cell {
            Cell::Number { value, .. } => {
                if !plausible::believes_result(entry, &parameter, *value, problems) {
                    continue;
                }
                if says_void(entry) {
                    noted_void.entry(entry.row.stamp_place.clone()).or_insert(entry);
                }
                Some(value.to_string())
            }
            // Somebody says that there was a sample, and that its result is gone.
            Cell::Missing(word) if matches!(word.as_str(), "void" | "lost") => {
                repairs.push(Repair {
                    place: entry.place(),
                    sentence: format!(
                        "{}, {parameter}, {}: the result is {word}; it is not zero and counts for nothing",
                        entry.row.name.text.trim(),
                        entry.row.stamp.date
                    ),
                });
                None
            }
            Cell::Blank | Cell::Missing(_) => {
                let name = entry.row.name.text.trim().to_owned();
                not_taken.entry((name, parameter)).or_default().push(entry);
                continue;
            }
            Cell::Word(word) if says_not_detected(word) => {
                problems.add(
                    Problem::error(
                        &entry.place(),
                        format!("`{}` without the limit it is below", entry.row.value.text.trim()),
                    )
                    .hint(
                        "write the laboratory's limit with a sign, like <5, where the slip names it; for all of a sheet \
                         `bywash sheet FILE --nd-means \"nitrate-N <0.05 mg/L\"`",
                    ),
                );
                continue;
            }
            _ => {
                problems.add(
                    Problem::error(&entry.place(), format!("`{}` is not a result", entry.row.value.text.trim()))
                        .hint("write a number, <5, or `void` or `lost` for a sample without a result"),
                );
                continue;
            }
        };
        let (value, unit) = counted.turned(entry, &parameter, value);
        let without = WITHOUT_UNIT.contains(&parameter_name(&parameter).as_str());
        if value.is_some() && unit.is_none() && !without {
            problems.add(
                Problem::error(&entry.place(), format!("a result for {parameter} without its unit"))
                    .hint("write the unit of the slip, like mg/L: mg/L and ug/L differ a thousandfold"),
            );
            continue;
        }
        if let Some((unit, (_, place))) = unit.as_ref().zip(entry.unit()) {
            tell_unknown_unit(unit, &place, without, problems);
        }
        samples.push(Sample {
            at,
            day: entry.day,
            time: entry.row.stamp.time,
            parameter,
            value,
            unit,
            qualifier: entry.qualifier,
            kind: entry.row.note.as_deref().and_then(kind_in),
            source: entry.source(),
        });
    }
    for entry in noted_void.values() {
        problems.add(
            Problem::warning(
                &entry.place(),
                format!("the note says `{}`, and the result counts", entry.row.note.as_deref().unwrap_or("").trim()),
            )
            .hint("write `void` for each result of the slip that is void; if none is, write `checked` in the note"),
        );
    }
    counted.tell(repairs);
    for ((name, parameter), rows) in not_taken {
        if let Some(first) = rows.first() {
            repairs.push(Repair {
                place: first.place(),
                sentence: format!(
                    "{name}, {parameter}: {} without a value, the first of {}: no sample was taken; it is not zero",
                    many(rows.len(), "row"),
                    first.row.stamp.date
                ),
            });
        }
    }
    samples
}

/// Words for a number that has no unit, such as a pH.
const NO_UNIT: [&str; 5] = ["su", "s.u.", "ph", "standard units", "-"];

/// A unit that the program does not know can be held against no limit.
fn tell_unknown_unit(unit: &str, place: &Place, without: bool, problems: &Problems) {
    if NO_UNIT.iter().any(|none| none.eq_ignore_ascii_case(unit)) || units::named(unit).is_some() {
        return;
    }
    // `mg/L as NO3` is 4.4 times a number of mg/L as nitrogen: what it is counted as is never dropped.
    let counted_as = unit.to_lowercase().split_once(" as ").map(|(_, what)| what.trim().to_owned());
    let hint = match units_meant(unit, units::ALL) {
        _ if counted_as.is_some() => {
            "name the parameter as the permit counts it, like nitrate-nitrogen, and the result is turned into it; where the \
             permit counts it as the slip does, write its plain unit"
                .to_owned()
        }
        Some(meant) if !without => meant,
        _ if without => "this parameter carries no unit".to_owned(),
        _ => "write the unit of the slip, like mg/L".to_owned(),
    };
    problems.add(
        Problem::warning(place, format!("`{unit}` is not a unit that is known; the result is held against no limit"))
            .hint(hint),
    );
}

/// Whether a note speaks of something void, and nobody has checked it.
fn says_void(entry: &Entry) -> bool {
    let note = entry.row.note.as_deref().unwrap_or("").to_lowercase();
    let word = |word: &str| note.split(|c: char| !c.is_alphanumeric()).any(|one| one == word);
    (word("void") || word("voided")) && !word("checked")
}

/// How a note says a sample was taken.
fn kind_in(note: &str) -> Option<String> {
    let note = note.to_lowercase();
    ["composite", "grab", "field", "continuous"]
        .into_iter()
        .find(|word| note.split(|c: char| !c.is_alphabetic()).any(|part| part == *word))
        .map(str::to_string)
}

/// Levels, freeboards, depths of sludge, volumes held.
pub(crate) fn levels(
    facility: &Facility,
    entries: &[Entry],
    repairs: &mut Vec<Repair>,
    problems: &Problems,
) -> Vec<Level> {
    let mut levels = Vec::new();
    for entry in entries {
        let level = match entry.what {
            What::Level => LevelKind::Level,
            What::Freeboard => LevelKind::Freeboard,
            What::SludgeDepth => LevelKind::SludgeDepth,
            What::Holding => LevelKind::Holding,
            _ => continue,
        };
        let Some(at) = place_of(entry) else { continue };
        let value = match &entry.cell {
            Cell::Number { value, .. }
                if entry.qualifier == Qualifier::None || entry.qualifier == Qualifier::Estimated =>
            {
                *value
            }
            Cell::Number { .. } => {
                problems.add(
                    Problem::error(&entry.place(), format!("a {} is a number, not a limit", entry.what.words()))
                        .hint("write what the gauge showed"),
                );
                continue;
            }
            Cell::Blank | Cell::Missing(_) | Cell::Word(_) => {
                repairs.push(Repair {
                    place: entry.place(),
                    sentence: format!(
                        "{}, {}, {}: no value is written (`{}`); it was not read",
                        entry.row.name.text.trim(),
                        entry.what.words(),
                        entry.row.stamp.date,
                        entry.row.value.text.trim()
                    ),
                });
                continue;
            }
            Cell::Trace | Cell::Same => {
                problems.add(
                    Problem::error(&entry.place(), format!("`{}` is not a level", entry.row.value.text.trim()))
                        .hint("write what the gauge showed, with its unit"),
                );
                continue;
            }
        };
        let Some((unit, unit_place)) = entry.unit() else {
            problems.add(
                Problem::error(&entry.place(), format!("a {} without its unit", entry.what.words()))
                    .hint(if level == LevelKind::Holding { "write gal or m3" } else { "write ft or m" }),
            );
            continue;
        };
        let expected =
            if level == LevelKind::Holding { Expected::of::<kind::Volume>() } else { Expected::of::<kind::Length>() };
        match amount(&format!("{value} {unit}"), &expected) {
            Ok(read) => {
                let recorded = Recorded {
                    kind: level,
                    value,
                    unit: &unit,
                    si: read.to_si(),
                    one: amount(&format!("1 {unit}"), &expected).map_or(1.0, |one| one.to_si()),
                };
                if plausible::believes(facility, at, entry, &recorded, problems) {
                    levels.push(Level {
                        at,
                        day: entry.day,
                        time: entry.row.stamp.time,
                        kind: level,
                        value_si: read.to_si(),
                        value: value.to_string(),
                        unit,
                        source: entry.source(),
                    });
                }
            }
            Err(refusal) => problems.add(Problem::misread(&unit_place, refusal)),
        }
    }
    levels
}

/// Looks at discharge points.
pub(crate) fn looks(entries: &[Entry], repairs: &mut Vec<Repair>, problems: &Problems) -> Vec<Look> {
    let mut looks = Vec::new();
    for entry in entries.iter().filter(|entry| entry.what == What::Look) {
        let Some(at) = place_of(entry) else { continue };
        let flowing = match &entry.cell {
            Cell::Word(word) => flows(word),
            Cell::Number { value, .. } if value.is_zero() => Some(false),
            Cell::Blank | Cell::Missing(_) => {
                repairs.push(Repair {
                    place: entry.place(),
                    sentence: format!(
                        "{}, look, {}: nothing is written; nobody says that it was dry",
                        entry.row.name.text.trim(),
                        entry.row.stamp.date
                    ),
                });
                continue;
            }
            _ => None,
        };
        match flowing {
            Some(flowing) => {
                looks.push(Look { at, day: entry.day, time: entry.row.stamp.time, flowing, source: entry.source() })
            }
            None => problems.add(
                Problem::error(
                    &entry.place(),
                    format!("`{}` does not say whether it flowed", entry.row.value.text.trim()),
                )
                .hint("write flowing or dry; for all of a sheet `bywash sheet FILE --look \"only a puddle=dry\"`"),
            ),
        }
    }
    looks
}

/// Readings of a rain gauge.
pub(crate) fn rain(entries: &[Entry], repairs: &mut Vec<Repair>, problems: &Problems) -> Vec<LoggedRain> {
    let mut readings = Vec::new();
    for entry in entries.iter().filter(|entry| entry.what == What::Rain) {
        let metres = match (&entry.cell, entry.unit()) {
            (Cell::Number { value, .. }, Some((unit, place))) => {
                match unit_of(&unit, &Expected::of::<kind::RainDepth>()) {
                    Ok(unit) => Some(unit.to_si_f64(value.to_f64())),
                    Err(refusal) => {
                        problems.add(Problem::misread(&place, refusal));
                        continue;
                    }
                }
            }
            _ => None,
        };
        let (depth_mm, trace, out) = match depth(&entry.cell, metres) {
            Ok(Depth::Read { mm, trace }) => (mm, trace, false),
            Ok(Depth::Out) => (0.0, false, true),
            Ok(Depth::NotRead) => {
                repairs.push(Repair {
                    place: entry.place(),
                    sentence: format!(
                        "rain of {}: `{}` is no depth; the gauge was not read, and it is not zero",
                        entry.row.stamp.date,
                        entry.row.value.text.trim()
                    ),
                });
                continue;
            }
            Err(refusal) => {
                problems.add(Problem::misread(&entry.place(), refusal));
                continue;
            }
        };
        let days = entry.row.covers.filter(|(first, last)| first != last);
        let total = entry.row.since_the_last.is_some() || days.is_some();
        readings.push(LoggedRain { stamp: entry.row.stamp, depth_mm, trace, out, total, place: entry.place() });
    }
    readings
}

/// What was done.
pub(crate) fn acts(entries: &[Entry]) -> Vec<Act> {
    entries
        .iter()
        .filter(|entry| entry.what.is_act())
        .map(|entry| {
            let value = match &entry.cell {
                Cell::Number { value, .. } => Some(value.to_string()),
                Cell::Blank => None,
                _ => Some(entry.row.value.text.trim().to_string()),
            };
            // Whoever rings or writes goes by the calendar, and not by the day of the meters.
            let by_calendar = matches!(entry.what, What::Call | What::Letter | What::ReportSent);
            Act {
                what: entry.what.words().to_string(),
                name: entry.row.name.text.trim().to_string(),
                day: if by_calendar { entry.row.stamp.date } else { entry.day },
                time: entry.row.stamp.time,
                unit: value.as_ref().and_then(|_| entry.unit()).map(|(unit, _)| unit),
                value,
                source: entry.source(),
            }
        })
        .collect()
}

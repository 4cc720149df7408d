//! Rows become entries: words and names looked up, "same" filled in, duplicates kept once.

use std::collections::BTreeMap;
use std::sync::Arc;

use chrono::{Datelike, NaiveTime};

use crate::facility::kinds;
use crate::facility::model::{Facility, PlaceKind};
use crate::quantity::{Cell, CellSign, Decimal, cell, parameter_as_written, parameter_name};
use crate::records::dates;
use crate::records::feet::{
    in_column_of_feet_and_inches, inches, may_be_feet, one_number, says_cm_or_m, says_feet_and_inches,
};
use crate::records::heads;
use crate::records::row::{Entry, Row, Subject, Text, Written};
use crate::records::words::What;
use crate::records::{Qualifier, Repair};
use crate::told::{Place, Problem, Problems, many, nearest};

/// Years in which a record can lie; outside them the date is taken for mistyped.
const YEARS: std::ops::RangeInclusive<i32> = 1980..=2100;

/// The entries in order of time, then of file and line, with the repairs made on the way.
pub(crate) fn entries(
    facility: &Facility,
    rows: Vec<Row>,
    removed: &[String],
    problems: &Problems,
) -> (Vec<Entry>, Vec<Repair>) {
    let mut repairs = Vec::new();
    let mut left_out: BTreeMap<String, (usize, Repair)> = BTreeMap::new();
    let mut before: BTreeMap<(Arc<str>, What, Subject, String), Above> = BTreeMap::new();
    let mut either: BTreeMap<(String, String, &'static str), Either> = BTreeMap::new();
    let mut entries = Vec::new();
    for row in rows {
        if removed.iter().any(|name| name == row.name.text.trim()) {
            let name = row.name.text.trim().to_string();
            let repair = Repair { place: row.name.place.clone(), sentence: String::new() };
            left_out.entry(name).or_insert((0, repair)).0 += 1;
            continue;
        }
        let is_either = says_cm_or_m(row.unit.as_ref().map(|unit| unit.text.as_str()));
        let Some((mut entry, read_as_inches)) = understood(facility, row, problems) else {
            continue;
        };
        if let Some(inches) = read_as_inches {
            repairs.push(Repair {
                place: entry.place(),
                sentence: format!(
                    "{}, {}, {}: `{}` read as feet and inches, {inches} in",
                    entry.row.name.text.trim(),
                    entry.what.words(),
                    entry.row.stamp.date,
                    entry.row.value.text.trim()
                ),
            });
        }
        if is_either && matches!(entry.cell, Cell::Number { .. }) {
            let key = (entry.row.origin.to_string(), entry.row.name.text.trim().to_string(), entry.what.words());
            either
                .entry(key)
                .or_insert_with(|| Either { place: entry.place(), centimetres: 0, metres: 0 })
                .count(&entry);
        }
        let key = (Arc::clone(&entry.row.origin), entry.what, entry.subject, parameter_of(&entry.row));
        if entry.cell == Cell::Same {
            match before.get(&key) {
                Some(held) => {
                    entry.cell = held.cell.clone();
                    entry.row.unit.clone_from(&held.unit);
                    entry.row.written = held.written;
                    repairs.push(Repair {
                        place: entry.row.value.place.clone(),
                        sentence: format!(
                            "`{}` for {}, {}: taken as what stands above it, {}",
                            entry.row.value.text.trim(),
                            entry.row.name.text.trim(),
                            entry.what.words(),
                            said(&held.cell)
                        ),
                    });
                }
                None => {
                    problems.add(
                        Problem::error(
                            &entry.row.value.place,
                            format!("`{}` has nothing above it to repeat", entry.row.value.text.trim()),
                        )
                        .hint("write the value itself"),
                    );
                    continue;
                }
            }
        } else if entry.cell != Cell::Blank {
            let (cell, unit) = (entry.cell.clone(), entry.row.unit.clone());
            before.insert(key, Above { cell, unit, written: entry.row.written });
        }
        entries.push(entry);
    }
    for ((_, name, what), Either { place, centimetres, metres }) in either {
        let (cm, m) = (many(centimetres, "value"), many(metres, "value"));
        let sentence = format!("{name}, {what}: a number of 10 or more is read as cm ({cm}), a smaller one as m ({m})");
        repairs.push(Repair { place, sentence });
    }
    for (name, (count, mut repair)) in left_out {
        repair.sentence = format!("{name} is not there in this case: {} left out", many(count, "record"));
        repairs.push(repair);
    }
    entries.sort_by(|a, b| {
        (a.at, &a.row.stamp_place.file, a.row.stamp_place.line, a.row.value.place.column).cmp(&(
            b.at,
            &b.row.stamp_place.file,
            b.row.stamp_place.line,
            b.row.value.place.column,
        ))
    });
    let entries = without_duplicates(entries, &mut repairs, problems);
    dates::tell(&entries, problems);
    (entries, repairs)
}

/// What a ditto mark repeats.
struct Above {
    cell: Cell,
    unit: Option<Text>,
    written: Written,
}

/// How many values of a column of either unit were read as which.
struct Either {
    place: Place,
    centimetres: usize,
    metres: usize,
}

impl Either {
    fn count(&mut self, entry: &Entry) {
        match entry.row.unit.as_ref().map(|unit| unit.text.as_str()) {
            Some("cm") => self.centimetres += 1,
            Some("m") => self.metres += 1,
            _ => {}
        }
    }
}

fn said(cell: &Cell) -> String {
    match cell {
        Cell::Number { value, sign, behind } => {
            let sign = match sign {
                CellSign::None => "",
                CellSign::Below => "<",
                CellSign::Above => ">",
                CellSign::Estimated => "about ",
            };
            let behind = if behind.is_empty() { String::new() } else { format!(" {behind}") };
            format!("{sign}{value}{behind}")
        }
        Cell::Trace => "a trace".into(),
        Cell::Word(word) | Cell::Missing(word) => format!("`{word}`"),
        Cell::Blank => "nothing".into(),
        Cell::Same => "the same".into(),
    }
}

fn parameter_of(row: &Row) -> String {
    row.parameter.as_ref().map(|text| parameter_name(&text.text)).unwrap_or_default()
}

/// Trimmed, single spaces, lower case.
pub(crate) fn plain(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
}

/// A row understood; the inches that it was read as, where its column does not say that it holds feet and inches.
fn understood(facility: &Facility, mut row: Row, problems: &Problems) -> Option<(Entry, Option<Decimal>)> {
    let Some(what) = What::named(&row.what.text) else {
        let (not_a_word, hint) = What::refusal(&row.what.text);
        let message = if row.what.is_blank() { "nothing says what this is".to_owned() } else { not_a_word };
        problems.add(Problem::error(&row.what.place, message).hint(hint));
        return None;
    };
    if !YEARS.contains(&row.stamp.date.year()) {
        problems.add(
            Problem::error(&row.stamp_place, format!("{} is hardly the year of this record", row.stamp.date.year()))
                .hint("look at the date again"),
        );
        return None;
    }
    if let Some(received) = row.received
        && received < row.stamp.date
    {
        problems.add(
            Problem::error(
                &row.stamp_place,
                format!("received on {received}, before it was taken on {}", row.stamp.date),
            )
            .hint("one of the two dates is mistyped; day and month may be swapped"),
        );
    }
    let subject = subject(facility, what, &row, problems)?;
    let is_head = matches!(subject, Subject::Meter(at) if what != What::Amount && facility.meters.get(at).is_some_and(|of| of.weir.is_some()));
    let written = if is_head { heads::as_a_number(&row.value.text) } else { None };
    let cell = match cell(written.as_deref().unwrap_or(&row.value.text), row.mark) {
        Ok(cell) => cell,
        Err(_) if what.is_act() || what == What::Exchanged => Cell::Word(plain(&row.value.text)),
        Err(refusal) => {
            problems.add(Problem::misread(&row.value.place, refusal));
            return None;
        }
    };
    let is_depth = is_head || matches!(what, What::Level | What::Freeboard | What::SludgeDepth);
    if is_depth && says_cm_or_m(row.unit.as_ref().map(|unit| unit.text.as_str())) {
        in_either_unit(&mut row, &cell);
    }
    // A call's number or an exchange's two readings are kept as written.
    let kept_as_written = (what.is_act() && what != What::Hauled) || what == What::Exchanged;
    let unit = row.unit.as_ref().filter(|unit| !unit.is_blank());
    let unit = unit.map(|unit| unit.text.trim());
    if !kept_as_written && let Err(refusal) = one_number(&row.value.text, &cell, unit, is_depth) {
        problems.add(Problem::misread(&row.value.place, refusal));
        return None;
    }
    let qualifier = qualifier(&row, &cell, problems)?;
    let (cell, inches) = if is_depth { in_inches(&mut row, cell) } else { (cell, None) };
    // A time that was not written stands at the day's start for what closes a span; the day is then the date's own.
    let hour = match subject {
        Subject::Meter(index) if matches!(what, What::Reading | What::Head) => {
            facility.meters.get(index).and_then(|meter| meter.read_at)
        }
        _ => None,
    };
    let at = row.stamp.at(hour.unwrap_or(facility.day_starts));
    let day = match (row.stamp.time, hour) {
        (None, None) => row.stamp.date,
        _ => facility.day().day_seen(at),
    };
    Some((Entry { what, subject, day, at, cell, qualifier, row }, inches))
}

/// The unit of a number in a column of centimetres or metres: its own, else by its size.
fn in_either_unit(row: &mut Row, cell: &Cell) {
    let own = match cell {
        Cell::Number { value, behind, .. } if behind.is_empty() => {
            Some(if *value >= Decimal::whole(10) { "cm" } else { "m" })
        }
        _ => None,
    };
    match (own, &mut row.unit) {
        (Some(own), Some(unit)) => unit.text = own.to_owned(),
        (None, unit) => *unit = None,
        (Some(_), None) => {}
    }
}

/// A depth in feet and inches as inches, so that a ditto mark below it repeats all of it.
fn in_inches(row: &mut Row, cell: Cell) -> (Cell, Option<Decimal>) {
    let Cell::Number { sign, .. } = &cell else { return (cell, None) };
    let unit = row.unit.as_ref().map(|unit| unit.text.as_str());
    let says = says_feet_and_inches(unit);
    let read = if says {
        in_column_of_feet_and_inches(&row.value.text).ok()
    } else {
        inches(&row.value.text).filter(|_| may_be_feet(unit))
    };
    let Some(value) = read else { return (cell, None) };
    let cell = Cell::Number { value, sign: *sign, behind: "in".into() };
    row.unit = Some(Text { text: "in".into(), place: row.value.place.clone() });
    (cell, (!says).then_some(value))
}

fn qualifier(row: &Row, cell: &Cell, problems: &Problems) -> Option<Qualifier> {
    let in_cell = match cell {
        Cell::Number { sign, .. } => match sign {
            CellSign::None => Qualifier::None,
            CellSign::Below => Qualifier::Below,
            CellSign::Above => Qualifier::Above,
            CellSign::Estimated => Qualifier::Estimated,
        },
        _ => Qualifier::None,
    };
    let Some(typed) = row.qualifier.as_ref().filter(|text| !text.is_blank()) else {
        return Some(in_cell);
    };
    let in_column = match plain(&typed.text).as_str() {
        "<" | "below" | "less than" | "u" | "nd" => Qualifier::Below,
        ">" | "above" | "more than" => Qualifier::Above,
        "e" | "est" | "est." | "estimated" | "j" | "~" => Qualifier::Estimated,
        _ => {
            problems.add(
                Problem::error(&typed.place, format!("`{}` is not a qualifier", typed.text.trim()))
                    .hint("write < (below), > (above) or E (estimated), or leave it blank"),
            );
            return None;
        }
    };
    if in_cell != Qualifier::None && in_cell != in_column {
        problems.add(
            Problem::error(&typed.place, "the qualifier and the sign before the value say different things")
                .related(&row.value.place, "the value")
                .hint("write it once"),
        );
        return None;
    }
    Some(in_column)
}

fn subject(facility: &Facility, what: What, row: &Row, problems: &Problems) -> Option<Subject> {
    match subject_named(facility, what, row.name.text.trim()) {
        Ok(subject) => {
            if subject == Subject::Free {
                tell_nearly_named(facility, row, problems);
            }
            Some(subject)
        }
        Err((message, hint)) => {
            problems.add(Problem::error(&row.name.place, message).hint(hint));
            None
        }
    }
}

/// Whose name it is, for what is told of it; or what is wrong with it, and what would be right.
pub(crate) fn subject_named(facility: &Facility, what: What, name: &str) -> Result<Subject, (String, String)> {
    let meter = facility.meters.iter().position(|meter| meter.name == name);
    let place = facility.find(name);
    let free = matches!(what, What::Call | What::Letter | What::ReportSent | What::Calibration | What::Rain);
    if free {
        return Ok(match (meter, place) {
            (Some(index), _) => Subject::Meter(index),
            (None, Some(id)) => Subject::Place(id.0),
            (None, None) => Subject::Free,
        });
    }
    if matches!(what, What::Reading | What::Head | What::Amount | What::Exchanged) {
        if let Some(index) = meter {
            return Ok(Subject::Meter(index));
        }
        let names = facility.meters.iter().map(|meter| meter.name.as_str());
        return Err(unknown(name, what, "a meter", names, place.is_some()));
    }
    let fits = |kind: &PlaceKind| match what {
        What::Washes | What::WashMinutes => {
            matches!(kind, PlaceKind::Filter(filter) if filter.wash.is_some() || filter.change.is_none())
        }
        What::Changed => {
            matches!(kind, PlaceKind::Filter(filter) if filter.change.is_some() || filter.wash.is_none())
        }
        What::Level | What::Freeboard | What::SludgeDepth | What::Holding => {
            matches!(kind, PlaceKind::Pond(_) | PlaceKind::Tank(_))
        }
        What::Look => matches!(kind, PlaceKind::DischargePoint(_)),
        What::CleanOut => matches!(kind, PlaceKind::Pond(_) | PlaceKind::Tank(_) | PlaceKind::Filter(_)),
        _ => true,
    };
    if let Some(id) = place.filter(|id| facility.get(*id).is_some_and(|site| fits(&site.kind))) {
        return Ok(Subject::Place(id.0));
    }
    let expected = match what {
        What::Washes | What::WashMinutes => "a filter that is washed",
        What::Changed => &format!("a filter whose {} are changed", kinds::changed_pieces().join(" or ")),
        What::Level | What::Freeboard | What::SludgeDepth | What::Holding => "a pond or a tank",
        What::Look => "a discharge point",
        What::CleanOut => "a pond, a tank or a filter",
        _ => "a place",
    };
    let names = facility.places.iter().filter(|site| fits(&site.kind)).map(|site| site.name.as_str());
    Err(unknown(name, what, expected, names, place.is_some() || meter.is_some()))
}

/// A call, a letter or a report may name what is no place; a name that is nearly one is asked about.
fn tell_nearly_named(facility: &Facility, row: &Row, problems: &Problems) {
    const LETTERS: usize = 2;
    let name = row.name.text.trim();
    let places = facility.places.iter().map(|site| site.name.as_str());
    let meters = facility.meters.iter().map(|meter| meter.name.as_str());
    let near = nearest(name, places.chain(meters))
        .filter(|near| near.chars().count().abs_diff(name.chars().count()) <= LETTERS);
    if let Some(near) = near {
        problems.add(
            Problem::warning(&row.name.place, format!("there is no `{name}` in the facility"))
                .hint(format!("did you mean `{near}`?")),
        );
    }
}

fn unknown<'a>(
    name: &str,
    what: What,
    expected: &str,
    names: impl Iterator<Item = &'a str>,
    exists: bool,
) -> (String, String) {
    let names: Vec<&str> = names.collect();
    let message = if name.is_empty() {
        format!("nothing says of which place this is a {}", what.words())
    } else if exists {
        format!("`{name}` is not {expected}, and `{}` is told of {expected}", what.words())
    } else {
        format!("there is no `{name}` in the facility")
    };
    let listed = || {
        if names.is_empty() {
            format!("the facility has not {expected}")
        } else {
            format!("write one of: {}", names.join(", "))
        }
    };
    let hint = nearest(name, names.iter().copied()).map_or_else(listed, |near| format!("did you mean `{near}`?"));
    (message, hint)
}

/// Same thing, same moment, same value: kept once and told. Another value: a problem that shows both.
fn without_duplicates(entries: Vec<Entry>, repairs: &mut Vec<Repair>, problems: &Problems) -> Vec<Entry> {
    type Moment = (What, Subject, String, String, chrono::NaiveDate, Option<NaiveTime>);
    let mut seen: BTreeMap<Moment, Vec<usize>> = BTreeMap::new();
    let mut now = None;
    let mut kept: Vec<Entry> = Vec::new();
    for entry in entries {
        let name = if entry.subject == Subject::Free { plain(&entry.row.name.text) } else { String::new() };
        let key =
            (entry.what, entry.subject, name, parameter_of(&entry.row), entry.row.stamp.date, entry.row.stamp.time);
        // Entries stand in order of time, and those of one moment have one time.
        if now.replace(entry.at) != Some(entry.at) {
            seen.clear();
        }
        let others = seen.entry(key).or_default();
        let same = others.iter().copied().find(|index| kept.get(*index).is_some_and(|held| is_same(held, &entry)));
        if let Some(held) = same.and_then(|index| kept.get_mut(index)) {
            // What a later paper prints again was known with the first.
            if let Some((first, again)) = held.row.received.zip(entry.row.received) {
                held.row.received = Some(first.min(again));
            }
            // At the line that is kept, so that its source counts it.
            repairs.push(Repair {
                place: held.place(),
                sentence: format!(
                    "{}, {}, {}: typed twice with the same value ({} and {}); kept once",
                    shown_name(&entry),
                    entry.what.words(),
                    entry.row.stamp.date,
                    held.place(),
                    entry.place()
                ),
            });
            continue;
        }
        let clash = others.iter().filter_map(|index| kept.get(*index)).find(|held| contradicts(held, &entry));
        if let Some(held) = clash {
            // Of two papers one may not say its hour.
            let hint = if held.row.origin != entry.row.origin && held.row.stamp.time.is_none() {
                "strike the wrong one, or correct its date or time; the hour of a sheet's rows: `bywash sheet FILE --time 7:00`"
            } else {
                "strike the wrong one, or correct its date or time"
            };
            problems.add(
                Problem::error(
                    &entry.place(),
                    format!(
                        "two values for {}, {}, at one time: {} and {}",
                        shown_name(&entry),
                        entry.what.words(),
                        shown_value(held),
                        shown_value(&entry)
                    ),
                )
                .related(&held.place(), "the other")
                .hint(hint),
            );
            continue;
        }
        others.push(kept.len());
        kept.push(entry);
    }
    kept
}

fn shown_name(entry: &Entry) -> String {
    match &entry.row.parameter {
        Some(parameter) if !parameter.is_blank() => {
            format!("{} ({})", entry.row.name.text.trim(), parameter_as_written(&parameter.text))
        }
        _ => entry.row.name.text.trim().to_string(),
    }
}

fn shown_value(entry: &Entry) -> String {
    let text = entry.row.value.text.trim();
    match entry.row.unit.as_ref().filter(|unit| !unit.is_blank()) {
        Some(unit) => format!("{text} {}", unit.text.trim()),
        None => text.to_string(),
    }
}

fn is_same(a: &Entry, b: &Entry) -> bool {
    let units = |entry: &Entry| entry.unit().map(|(unit, _)| plain(&unit)).unwrap_or_default();
    let value = match (&a.cell, &b.cell) {
        (Cell::Number { value: x, .. }, Cell::Number { value: y, .. }) => x == y,
        (x, y) => x == y,
    };
    let papers_agree = match (&a.row.paper, &b.row.paper) {
        (Some(x), Some(y)) => x == y,
        _ => true,
    };
    // Two grabs of one day may well agree; without a time only the same slip makes them one.
    let papers_count = a.what.is_act() || (a.what == What::Sample && a.row.stamp.time.is_none());
    value
        && a.qualifier == b.qualifier
        && units(a) == units(b)
        && (!papers_count || (papers_agree && (a.what.is_act() || a.row.paper.is_some())))
}

/// Whether two entries of one thing at one moment can't both be right. Several samples a day without a time, several
/// acts and several rows of blanks can.
fn contradicts(a: &Entry, b: &Entry) -> bool {
    if a.what.is_act() || a.what == What::Exchanged {
        return false;
    }
    if a.what == What::Sample && a.row.stamp.time.is_none() {
        return false;
    }
    let empty = |entry: &Entry| matches!(entry.cell, Cell::Blank | Cell::Missing(_));
    !empty(a) && !empty(b)
}

//! What a meter's dial showed, and the registers that hung there one after another.

use chrono::{Duration, NaiveDate, NaiveTime};

use crate::facility::model::Meter;
use crate::quantity::{Cell, Decimal, DecimalMark, letter_among_figures, meter_unit, units};
use crate::records::Repair;
use crate::records::row::{Entry, Text};
use crate::records::totaliser::{self, Exchange, Step};
use crate::records::words::What;
use crate::told::{Place, Problem, Problems};

/// A register that hung there for a time.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Register {
    /// As typed.
    pub counts_in: String,
    pub one_count_m3: f64,
    pub digits: u32,
}

/// The registers of a meter in order of time, and the exchanges between them.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Registers {
    /// One more than there are exchanges.
    pub all: Vec<Register>,
    pub exchanges: Vec<Exchange>,
    /// Where each exchange was typed.
    pub places: Vec<Place>,
}

impl Registers {
    fn first(meter: &Meter) -> Register {
        Register { counts_in: meter.counts_in.clone(), one_count_m3: meter.one_count_m3, digits: meter.digits }
    }

    /// The first one, as the arithmetic of steps takes it.
    pub fn first_of_steps(&self) -> totaliser::Register {
        totaliser::Register { digits: self.all.first().map_or(0, |first| first.digits), one: 1.0 }
    }

    /// Those that may have been read at an entry's time: two on the day of an exchange.
    fn at(&self, entry: &Entry) -> std::ops::RangeInclusive<usize> {
        let first = self.exchanges.iter().filter(|exchange| exchange.latest < entry.at).count();
        let last = self.exchanges.iter().filter(|exchange| exchange.earliest <= entry.at).count();
        first..=last.max(first)
    }

    /// The digits that a reading may have.
    pub fn digits_at(&self, entry: &Entry) -> u32 {
        self.at(entry).filter_map(|at| self.all.get(at)).map(|register| register.digits).max().unwrap_or(0)
    }

    /// Whether all of them count alike.
    fn alike(&self) -> bool {
        self.all
            .windows(2)
            .all(|pair| pair.first().map(|one| one.one_count_m3) == pair.last().map(|one| one.one_count_m3))
    }

    /// What a step counted: a decimal, its unit, and m³. Counts of several registers are told in the last one's, where
    /// those of the others are a plain multiple of it, else in m³.
    pub fn counted(&self, step: &Step) -> Option<(String, String, f64)> {
        let last = self.all.get(step.register)?;
        let mut volume_m3 = step.counts.to_f64() * last.one_count_m3;
        let mut in_last = Some(step.counts);
        for (register, counts) in &step.earlier {
            let of = self.all.get(*register)?;
            volume_m3 += counts.to_f64() * of.one_count_m3;
            in_last =
                plain_ratio(of.one_count_m3 / last.one_count_m3).and_then(|ratio| in_last?.plus(counts.times(ratio)?));
        }
        Some(match in_last {
            Some(counts) => (counts.to_string(), last.counts_in.clone(), volume_m3),
            None => (format!("{volume_m3:.6}"), "m3".to_owned(), volume_m3),
        })
    }
}

/// A ratio of two units, where it is a short decimal.
fn plain_ratio(ratio: f64) -> Option<Decimal> {
    let text = format!("{ratio:.6}");
    let read = Decimal::parse(text.trim_end_matches('0').trim_end_matches('.'))?;
    ((read.to_f64() - ratio).abs() <= 1e-12 * ratio.abs()).then_some(read)
}

/// What words with a dial's figures in them say of a meter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Spoken {
    /// `out 462375`: it showed this when it was taken out or stopped.
    Out(Decimal),
    /// `new 00003`: the new one showed this when it was put in.
    New(Decimal),
    /// `old 3,091,933 out / new 12`: both.
    Exchanged(Decimal, Decimal),
}

/// What a cell's words say of a meter, where they are of this kind.
pub(crate) fn spoken(text: &str, mark: DecimalMark) -> Option<Spoken> {
    let lower = text.trim().to_lowercase();
    let number = |text: &str| match crate::quantity::cell(text.trim(), mark) {
        Ok(Cell::Number { value, behind, .. }) if behind.is_empty() => Some(value),
        _ => None,
    };
    let out = |text: &str| {
        let text = text.trim().trim_end_matches([',', ';', ':']).trim();
        let bare = ["old", "out", "removed", "taken out"]
            .into_iter()
            .find_map(|word| text.strip_prefix(word).filter(|rest| rest.starts_with([' ', ':'])))?;
        let bare = bare.trim_start_matches(':').trim();
        let bare = ["out", "removed"].into_iter().find_map(|word| bare.strip_suffix(word)).unwrap_or(bare);
        let bare = bare.trim().strip_prefix("at ").unwrap_or(bare);
        number(bare)
    };
    let new = |text: &str| {
        let bare = text.trim().strip_prefix("new").filter(|rest| rest.starts_with([' ', ':']))?;
        let bare = bare.trim_start_matches(':').trim();
        let bare = bare.strip_suffix(" in").unwrap_or(bare);
        number(bare.strip_prefix("at ").or_else(|| bare.strip_prefix("in ")).unwrap_or(bare))
    };
    if let Some(at) = lower.find("new").filter(|at| *at > 0) {
        let (before, after) = lower.split_at_checked(at)?;
        let before = before.trim().trim_end_matches(['/', ';', ',', '-', '\u{2013}']).trim();
        return Some(Spoken::Exchanged(out(before.strip_suffix("and").unwrap_or(before))?, new(after)?));
    }
    new(&lower).map(Spoken::New).or_else(|| out(&lower).map(Spoken::Out))
}

/// What a reading shows, and the register that its unit says it is of. None where nothing was read; that is told.
pub(crate) fn dial_of(
    meter: &Meter,
    registers: &Registers,
    entry: &Entry,
    repairs: &mut Vec<Repair>,
    problems: &Problems,
) -> Option<(Decimal, Option<usize>)> {
    let place = entry.place();
    match &entry.cell {
        Cell::Number { value, .. } => {
            let Some((unit, unit_place)) = entry.unit() else { return Some((*value, None)) };
            let mut may_be = registers.at(entry).filter_map(|at| Some((at, registers.all.get(at)?)));
            let counts_in = may_be.clone().next_back().map_or("", |(_, register)| register.counts_in.as_str());
            if let Some((at, _)) = may_be.find(|(_, register)| same_unit(&unit, &register.counts_in)) {
                return Some((*value, Some(at).filter(|_| !registers.alike())));
            }
            if let Some(meant) = letter_among_figures(&value.to_string(), &unit) {
                problems.add(
                    Problem::error(&place, format!("`{value}{unit}` has a letter among its figures"))
                        .hint(format!("was {meant} meant?")),
                );
                return None;
            }
            let then = if registers.alike() { String::new() } else { format!(" on {}", entry.row.stamp.date) };
            problems.add(
                Problem::error(&unit_place, format!("`{unit}` is not what {} counts in{then}", meter.name))
                    .related(&meter.place, format!("it counts in {counts_in}{then}"))
                    .hint(format!(
                        "write what the dial shows, in {counts_in}, or say what the meter counts in; where another took \
                         its place, `exchanged` says what that one `counts in`"
                    )),
            );
            None
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

/// What an exchange among the records says.
struct Typed {
    exchange: Exchange,
    place: Place,
    counts_in: Option<(String, f64)>,
    digits: Option<u32>,
}

/// The registers of a meter: exchanges typed in the facility and those among the records, in order of date.
pub(crate) fn registers(meter: &Meter, entries: &[&Entry], problems: &Problems) -> Registers {
    let mut all: Vec<Typed> = Vec::new();
    let whole_day = |date: NaiveDate| {
        (date.and_time(NaiveTime::MIN), date.and_time(NaiveTime::MIN) + Duration::days(1) - Duration::seconds(1))
    };
    let unset = totaliser::Register { digits: meter.digits, one: 1.0 };
    for exchange in &meter.exchanged {
        let read = |value: f64| Decimal::parse(&format!("{value}"));
        if let (Some(old_read), Some(new_read)) = (read(exchange.old_read), read(exchange.new_read)) {
            let (earliest, latest) = whole_day(exchange.on);
            all.push(Typed {
                exchange: Exchange { earliest, latest, old_read, new_read, register: unset },
                place: exchange.place.clone(),
                counts_in: exchange.counts_in.clone(),
                digits: exchange.digits,
            });
        }
    }
    for entry in entries {
        let Some((old_read, new_read, counts_in)) = exchange_of(meter, entry, problems) else { continue };
        let (earliest, latest) = match entry.row.stamp.time.filter(|_| entry.what == What::Exchanged) {
            Some(_) => (entry.at, entry.at),
            None => whole_day(entry.row.stamp.date),
        };
        let known = all.iter().any(|Typed { exchange: other, .. }| {
            other.old_read == old_read && other.new_read == new_read && other.earliest.date() == earliest.date()
        });
        if !known {
            let exchange = Exchange { earliest, latest, old_read, new_read, register: unset };
            all.push(Typed { exchange, place: entry.place(), counts_in, digits: None });
        }
    }
    all.sort_by_key(|typed| typed.exchange.earliest);
    let mut registers = Registers { all: vec![Registers::first(meter)], exchanges: Vec::new(), places: Vec::new() };
    for Typed { mut exchange, place, counts_in, digits } in all {
        let mut register = registers.all.last().cloned().unwrap_or_else(|| Registers::first(meter));
        if let Some((unit, one)) = counts_in {
            register.counts_in = unit;
            register.one_count_m3 = one;
        }
        register.digits = digits.unwrap_or(register.digits);
        exchange.register =
            totaliser::Register { digits: register.digits, one: register.one_count_m3 / meter.one_count_m3 };
        registers.all.push(register);
        registers.exchanges.push(exchange);
        registers.places.push(place);
    }
    registers
}

/// What the old one and the new one showed, and what the new one counts in where that is said.
type OldAndNew = (Decimal, Decimal, Option<(String, f64)>);

/// What the old meter and the new one showed, and what the new one counts in: of an `exchanged` row, or of a reading's cell
/// that tells both.
fn exchange_of(meter: &Meter, entry: &Entry, problems: &Problems) -> Option<OldAndNew> {
    if entry.what == What::Reading {
        return match (&entry.cell, spoken(&entry.row.value.text, entry.row.mark)) {
            (Cell::Word(_), Some(Spoken::Exchanged(old, new))) => Some((old, new, None)),
            _ => None,
        };
    }
    if entry.what != What::Exchanged {
        return None;
    }
    let text = entry.row.value.text.to_lowercase();
    let (dials, counts_in) = match text.find("counts in").and_then(|at| entry.row.value.text.split_at_checked(at)) {
        Some((dials, unit)) => {
            let unit = unit.get("counts in".len()..).unwrap_or_default().trim();
            match meter_unit(unit) {
                Ok(read) => (dials.trim().trim_end_matches([',', ';']), Some((unit.to_owned(), read.cubic_metres()))),
                Err(refusal) => {
                    problems.add(Problem::misread(&entry.place(), refusal));
                    return None;
                }
            }
        }
        None => (entry.row.value.text.as_str(), None),
    };
    // What stands behind the first dial is the second, so only a unit of its own column is one; of which of the two, nobody
    // says.
    let other = |unit: &&Text| {
        let unit_is = |held: &str| same_unit(unit.text.trim(), held);
        !unit.is_blank() && !unit_is(&meter.counts_in) && !counts_in.as_ref().is_some_and(|(held, _)| unit_is(held))
    };
    if let Some(unit) = entry.row.unit.as_ref().filter(other) {
        let unit_text = unit.text.trim();
        problems.add(
            Problem::error(&unit.place, format!("`{unit_text}` is not what {} counts in", meter.name))
                .related(&meter.place, format!("it counts in {}", meter.counts_in))
                .hint(format!(
                    "if the new meter counts in {unit_text}, write `{}, counts in {unit_text}` and leave the unit blank",
                    dials.trim()
                )),
        );
        return None;
    }
    let parts: Vec<&str> = dials.split(" to ").collect();
    let number = |text: &str| match crate::quantity::cell(text, entry.row.mark) {
        Ok(Cell::Number { value, .. }) => Some(value),
        _ => None,
    };
    let ends = match parts.as_slice() {
        [old, new] => number(old).zip(number(new)),
        _ => None,
    };
    if ends.is_none() {
        problems.add(
            Problem::error(&entry.place(), "an exchange tells what the old meter and the new one showed").hint(
                "write it like `884210 to 12`, or `884210 to 12, counts in m3` where the new one counts otherwise",
            ),
        );
    }
    ends.map(|(old, new)| (old, new, counts_in))
}

/// What the dials showed when a meter was changed: `; the old one came out at 4706, the new one went in at 0`.
pub(crate) fn dials_of(registers: &Registers, step: &Step) -> String {
    let of = step.exchanges.iter().filter_map(|at| Some((*at, registers.exchanges.get(*at)?)));
    of.map(|(at, of)| {
        let unit = |register: usize| {
            let unit = registers.all.get(register).map_or("", |register| register.counts_in.as_str());
            if step.earlier.is_empty() { String::new() } else { format!(", counting in {unit}") }
        };
        format!(
            "; the old one came out at {}{}, the new one went in at {}{}",
            of.old_read,
            unit(at),
            of.new_read,
            unit(at + 1)
        )
    })
    .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_with_a_dial_s_figures_say_what_happened_to_the_meter() {
        let number = |text: &str| Decimal::parse(text).unwrap();
        let said = |text: &str| spoken(text, DecimalMark::Point);
        assert_eq!(said("out 462375"), Some(Spoken::Out(number("462375"))));
        assert_eq!(said("new 00003"), Some(Spoken::New(number("3"))));
        let both = Some(Spoken::Exchanged(number("3091933"), number("12")));
        assert_eq!(said("old 3,091,933 out / new 12"), both);
        assert_eq!(said("Out 3091933, new in 12"), both);
        for text in ["out", "new", "out of order", "news 12", "outside 5", "new 12 or 13", "12", "old"] {
            assert_eq!(said(text), None, "{text}");
        }
    }
}

//! Figures that are hardly meant, judged by the others of their kind: a point or a unit is out, a digit is swapped.
//!
//! Each may be right, so each is a warning; the word `checked` in the row's note says that somebody looked.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use uom::si::volume_rate::cubic_meter_per_second;

use crate::facility::model::{Facility, PlaceId, PlaceKind, PondShape};
use crate::quantity::{Decimal, Unit, parameter_name, units};
use crate::records::{Level, LevelKind, MeterSpan, Qualifier, Sample, Source, WashCount};
use crate::told::{Place, Problem, Problems, many};

/// A result so many times larger or smaller than every other is asked about. Common practice, no source.
const RESULT_TIMES: f64 = 8.0;

/// A meter or a log that counts so many times more in a day than ever else is asked about. Common practice, no source.
const COUNT_TIMES: f64 = 3.0;

/// Others that are needed before they say what is usual.
const OTHERS: usize = 3;

/// Metres by which level and freeboard of one moment may miss the height of the bank. Common practice, no source.
const BANK_M: f64 = 0.08;

/// Metres within which any level may move between two readings. Common practice, no source.
const QUIET_M: f64 = 0.3;

/// A level that leaves both its neighbours by so many times the usual step is asked about. Common practice, no source.
const SPIKE_TIMES: f64 = 3.0;

const LOOK: &str = "look at the sheet again; if it is right, write `checked` in its note";

/// What somebody looked at already is not asked about.
pub(crate) fn is_checked(source: &Source) -> bool {
    source
        .note
        .as_deref()
        .is_some_and(|note| note.split(|c: char| !c.is_alphabetic()).any(|word| word.eq_ignore_ascii_case("checked")))
}

fn tell(source: &Source, message: String, hint: &str, problems: &Problems) {
    if !is_checked(source) {
        problems.add(Problem::warning(&source.place, message).hint(hint));
    }
}

fn name_of(facility: &Facility, at: PlaceId) -> &str {
    facility.get(at).map_or("?", |site| site.name.as_str())
}

/// A result with its value in SI and its unit.
type Measured<'a> = (&'a Sample, f64, Option<Unit>);

/// A result in SI, with its unit; pH and the like as they are.
fn measured(sample: &Sample) -> Option<(f64, Option<Unit>)> {
    let value = Decimal::parse(sample.value.as_deref()?)?.to_f64();
    match sample.unit.as_deref().map(units::named) {
        None => Some((value, None)),
        Some(Some(unit)) => Some((unit.to_si_f64(value), Some(unit))),
        Some(None) => None,
    }
}

fn shown(sample: &Sample) -> String {
    let unit = sample.unit.as_deref().map(|unit| format!(" {unit}"));
    format!("{}{}", sample.value.as_deref().unwrap_or_default(), unit.unwrap_or_default())
}

/// Results a power of ten from all others of the parameter at the place, or in a unit of another kind.
pub(crate) fn results(facility: &Facility, samples: &[Sample], problems: &Problems) {
    let mut series: BTreeMap<(usize, String), Vec<Measured<'_>>> = BTreeMap::new();
    for sample in samples {
        if let Some((si, unit)) = measured(sample) {
            let key = (sample.at.0, parameter_name(&sample.parameter));
            series.entry(key).or_default().push((sample, si, unit));
        }
    }
    for ((at, parameter), all) in &series {
        let place = name_of(facility, PlaceId(*at));
        let mut of_unit: BTreeMap<_, (usize, Vec<(usize, f64)>)> = BTreeMap::new();
        for (index, (sample, si, unit)) in all.iter().enumerate() {
            let (count, known) = of_unit.entry(unit.map(|unit| unit.dimension)).or_default();
            *count += 1;
            known.extend(Some((index, *si)).filter(|_| sample.qualifier != Qualifier::Below));
        }
        for (_, known) in of_unit.values_mut() {
            known.sort_by(|a, b| a.1.total_cmp(&b.1));
        }
        for (index, (sample, si, unit)) in all.iter().enumerate() {
            let Some((count, known)) = of_unit.get(&unit.map(|unit| unit.dimension)) else { continue };
            let alike = count.saturating_sub(1);
            if all.len() > OTHERS && alike == 0 {
                let usual =
                    all.iter().enumerate().find(|(other, _)| *other != index).map(|(_, (other, ..))| shown(other));
                tell(
                    &sample.source,
                    format!(
                        "{parameter} at {place}: {} is in a unit of another kind than every other result",
                        shown(sample)
                    ),
                    &format!("the others are like {}", usual.unwrap_or_default()),
                    problems,
                );
                continue;
            }
            if alike < OTHERS {
                continue;
            }
            let is_other = |(other, _): &&(usize, f64)| *other != index;
            let low = known.iter().find(is_other).map_or(f64::INFINITY, |(_, si)| *si);
            let high = known.iter().rev().find(is_other).map_or(0.0, |(_, si)| si.max(0.0));
            let is_far_over = *si > RESULT_TIMES * high && high > 0.0;
            let is_far_under = *si < low / RESULT_TIMES && low.is_finite() && sample.qualifier != Qualifier::Below;
            if is_far_over || is_far_under {
                let word = if is_far_over { "larger" } else { "smaller" };
                tell(
                    &sample.source,
                    format!(
                        "{parameter} at {place}: {} is {RESULT_TIMES} times {word} than every other result, or more so",
                        shown(sample)
                    ),
                    "look at the point and the unit of the slip; if it is right, write `checked` in its note",
                    problems,
                );
            }
        }
    }
}

/// Levels that their freeboard contradicts, or that leave both their neighbours.
pub(crate) fn levels(facility: &Facility, levels: &[Level], problems: &Problems) {
    let mut series: BTreeMap<(usize, u8), Vec<&Level>> = BTreeMap::new();
    for level in levels {
        let kind = match level.kind {
            LevelKind::Level => 0,
            LevelKind::Freeboard => 1,
            LevelKind::SludgeDepth => continue,
            LevelKind::Holding => continue,
        };
        series.entry((level.at.0, kind)).or_default().push(level);
    }
    for ((at, kind), all) in &series {
        let mut beside: BTreeMap<_, &Level> = BTreeMap::new();
        for level in series.get(&(*at, 1 - *kind)).into_iter().flatten() {
            beside.entry((level.day, level.time)).or_insert(level);
        }
        let steps = steps(all);
        let bank = bank_m(facility, PlaceId(*at));
        for (index, level) in all.iter().enumerate() {
            let same = beside.get(&(level.day, level.time));
            match (same, bank) {
                (Some(other), Some(bank)) => {
                    if *kind == 0 {
                        tell_bank(facility, level, other, bank, problems);
                    }
                }
                _ => tell_spike(facility, all, &steps, index, problems),
            }
        }
    }
}

/// The bank's top above the floor, where it is typed as one number.
fn bank_m(facility: &Facility, at: PlaceId) -> Option<f64> {
    let PlaceKind::Pond(pond) = &facility.get(at)?.kind else {
        return None;
    };
    let spill = match &pond.shape {
        PondShape::Prismoid { depth, .. } => depth.ends()?.1.value,
        PondShape::Table { spill_level, .. } => spill_level.ends()?.1.value,
    };
    Some(spill + pond.freeboard_above_spill.as_ref()?.ends()?.1.value)
}

/// Whether a level and a freeboard of one moment do not make the bank's height, and nobody wrote that they are right.
fn leaves_bank(level: &Level, board: &Level, bank: f64) -> bool {
    let sum = level.value_si + board.value_si;
    (sum - bank).abs() > BANK_M && !is_checked(&level.source) && !is_checked(&board.source)
}

/// The levels of a pond with a freeboard of the same moment: how many there are between two days, and of those that do not make
/// its bank's height with it the first day, how many, and the most that one is off by, m.
pub(crate) fn off_the_bank(
    facility: &Facility,
    levels: &[Level],
    at: PlaceId,
    (from, to): (NaiveDate, NaiveDate),
) -> Option<(usize, NaiveDate, usize, f64)> {
    let bank = bank_m(facility, at)?;
    let of = |kind: LevelKind| {
        levels.iter().filter(move |one| one.at == at && one.kind == kind && from <= one.day && one.day <= to)
    };
    let boards: BTreeMap<_, &Level> = of(LevelKind::Freeboard).map(|board| ((board.day, board.time), board)).collect();
    let pairs: Vec<(&Level, &Level)> =
        of(LevelKind::Level).filter_map(|level| Some((level, *boards.get(&(level.day, level.time))?))).collect();
    let off: Vec<(NaiveDate, f64)> = pairs
        .iter()
        .filter(|(level, board)| leaves_bank(level, board, bank))
        .map(|(level, board)| (level.day, (level.value_si + board.value_si - bank).abs()))
        .collect();
    let most = off.iter().map(|(_, m)| *m).max_by(f64::total_cmp)?;
    Some((pairs.len(), off.iter().map(|(day, _)| *day).min()?, off.len(), most))
}

fn tell_bank(facility: &Facility, level: &Level, board: &Level, bank: f64, problems: &Problems) {
    let sum = level.value_si + board.value_si;
    if !leaves_bank(level, board, bank) {
        return;
    }
    let one = units::named(&level.unit).map_or(1.0, |unit| unit.to_si_f64(1.0));
    let in_unit = |si: f64| format!("{} {}", (si / one * 100.0).round() / 100.0, level.unit);
    problems.add(
        Problem::warning(
            &level.source.place,
            format!(
                "{}, {}: a level of {} {} and a freeboard of {} {} make {}, and its bank ends at {}",
                name_of(facility, level.at),
                level.day,
                level.value,
                level.unit,
                board.value,
                board.unit,
                in_unit(sum),
                in_unit(bank)
            ),
        )
        .related(&board.source.place, "the freeboard")
        .hint("one of the two is mistyped, or the bank's height is; `checked` in a note says that both are right"),
    );
}

/// The steps from each reading to the next.
fn steps(all: &[&Level]) -> Beside {
    let step = |pair: &[&Level]| Some((pair.last()?.value_si - pair.first()?.value_si).abs());
    Beside::of(all.windows(2).filter_map(step).collect())
}

fn tell_spike(facility: &Facility, all: &[&Level], steps: &Beside, index: usize, problems: &Problems) {
    let Some(usual) = steps.most(|at| at + 1 != index && at != index) else { return };
    let allowed = (SPIKE_TIMES * usual).max(QUIET_M);
    let value = |at: Option<usize>| at.and_then(|at| all.get(at)).map(|level| level.value_si);
    let Some(level) = all.get(index) else { return };
    let gap = |other: Option<f64>| other.map(|other| level.value_si - other);
    let leaves = match (gap(value(index.checked_sub(1))), gap(value(index.checked_add(1)))) {
        (Some(a), Some(b)) => a.abs().min(b.abs()) > allowed && a.is_sign_positive() == b.is_sign_positive(),
        (Some(a), None) | (None, Some(a)) => a.abs() > allowed,
        (None, None) => false,
    };
    if leaves {
        tell(
            &level.source,
            format!(
                "{}, {}: a {} of {} {} leaves the readings beside it by more than {SPIKE_TIMES} times any other step",
                name_of(facility, level.at),
                level.day,
                match level.kind {
                    LevelKind::Freeboard => "freeboard",
                    _ => "level",
                },
                level.value,
                level.unit
            ),
            LOOK,
            problems,
        );
    }
}

/// Values with their places, the largest first: what each is held against.
struct Beside(Vec<(usize, f64)>);

impl Beside {
    fn of(values: Vec<f64>) -> Self {
        let mut placed: Vec<(usize, f64)> = values.into_iter().enumerate().collect();
        placed.sort_by(|a, b| b.1.total_cmp(&a.1));
        Self(placed)
    }

    /// The largest of those that count; none where they are too few.
    fn most(&self, counts: impl Fn(usize) -> bool) -> Option<f64> {
        let mut others = self.0.iter().filter(|(at, _)| counts(*at));
        let (_, most) = others.next()?;
        others.nth(OTHERS - 2).map(|_| most.max(0.0))
    }

    /// The largest but for the one at a place.
    fn most_but(&self, index: usize) -> Option<f64> {
        self.most(|at| at != index)
    }
}

/// Meters that counted far more in a day than ever else, or more than their supply gives.
pub(crate) fn meters(facility: &Facility, spans: &[MeterSpan], problems: &Problems) {
    // A head's flow goes with its power: what is far more than ever else is a storm.
    for (index, meter) in facility.meters.iter().enumerate().filter(|(_, meter)| meter.weir.is_none()) {
        let of_it: Vec<&MeterSpan> = spans.iter().filter(|span| span.meter == index).collect();
        let days = |span: &MeterSpan| ((span.to - span.from).num_minutes() as f64 / 1440.0).max(1.0);
        let rates: Vec<f64> = of_it.iter().map(|span| span.volume_m3 / days(span)).collect();
        let given = match facility.get(meter.from).map(|site| &site.kind) {
            Some(PlaceKind::Supply(supply)) => supply
                .gives_at_most
                .as_ref()
                .and_then(|most| most.ends())
                .map(|(_, most)| most.get::<cubic_meter_per_second>() * 86_400.0),
            _ => None,
        };
        let beside = Beside::of(rates.clone());
        for (at, (span, rate)) in of_it.iter().zip(&rates).enumerate() {
            let counted = || {
                let from = span.before.as_ref().map_or_else(String::new, |_| format!(" from {}", span.from.date()));
                format!("{} counted {} {}{from} to {}", meter.name, span.counts, span.unit, span.to.date())
            };
            if given.is_some_and(|most| *rate > most * 1.1) {
                tell(
                    &span.after,
                    format!("{}: more than {} can give", counted(), name_of(facility, meter.from)),
                    LOOK,
                    problems,
                );
            } else if beside.most_but(at).is_some_and(|most| most > 0.0 && *rate > COUNT_TIMES * most) {
                tell(
                    &span.after,
                    format!("{}: more than {COUNT_TIMES} times as much a day as ever else", counted()),
                    LOOK,
                    problems,
                );
            }
        }
    }
}

/// Washes or changes far more often than ever else, but for those told already.
pub(crate) fn washes(facility: &Facility, counts: &[WashCount], told: &[Place], problems: &Problems) {
    let mut series: BTreeMap<(usize, bool), Vec<&WashCount>> = BTreeMap::new();
    for count in counts {
        series.entry((count.filter.0, count.changes)).or_default().push(count);
    }
    for ((filter, changes), all) in series {
        let word = if changes { "changes" } else { "washes" };
        let rates: Vec<f64> = all.iter().map(|count| f64::from(count.count) / f64::from(count.days.max(1))).collect();
        let beside = Beside::of(rates.clone());
        for (at, (count, rate)) in all.iter().zip(&rates).enumerate() {
            if told.contains(&count.source.place) {
                continue;
            }
            // As many as another entry has of more days may all have been on few of them.
            let is_among_more = |other: &&WashCount| other.days > count.days && other.count >= count.count;
            if beside.most_but(at).is_some_and(|most| most > 0.0 && *rate > COUNT_TIMES * most)
                && !all.iter().any(is_among_more)
            {
                tell(
                    &count.source,
                    format!(
                        "{}: {} {word} over {} are more than {COUNT_TIMES} times as many a day as ever else",
                        name_of(facility, PlaceId(filter)),
                        count.count,
                        many(count.days as usize, "day")
                    ),
                    LOOK,
                    problems,
                );
            }
        }
    }
}

//! The rain gauge: what each reading covers, and what each facility day got.

use std::collections::BTreeMap;

use chrono::{Duration, NaiveDate, NaiveDateTime, NaiveTime};

use crate::facility::model::{Facility, RainFile, ReadingBelongs};
use crate::files::{Sources, mapping_of};
use crate::quantity::{Cell, CellSign, DayStart, Expected, Misread, Stamp, kind};
use crate::told::{Place, Problem, Problems};
use crate::weather::series::{Dated, Wanted, series};
use crate::weather::spread::snapped;
use crate::weather::{RainDay, RainReading, Repair, SourceSummary, Stretch, gaps, spread, tell_order};

/// A reading of a rain gauge that stands among the records.
#[derive(Debug, Clone, PartialEq)]
pub struct LoggedRain {
    /// When it was read.
    pub stamp: Stamp,
    /// Depth, mm; 0 for a trace.
    pub depth_mm: f64,
    /// A trace.
    pub trace: bool,
    /// The gauge was out: of the time since the reading before nothing is known.
    pub out: bool,
    /// The total of all days since the reading before, however many: a station's flag says so.
    pub total: bool,
    /// Where it was typed.
    pub place: Place,
}

/// The most days that one reading is taken to cover; behind a longer hole it covers one day, and the hole is a gap.
/// Common practice, no source: a gauge left longer has dried up or run over.
const MOST_DAYS_OF_ONE_READING: i64 = 10;

/// A reading of more days than a long weekend is asked about. Common practice, no source.
const MOST_DAYS_UNASKED: i64 = 4;

/// Rain of one day above which the unit is asked about. Common practice, no source: few places see 300 mm in a day.
const UNLIKELY_MM_A_DAY: f64 = 300.0;

/// Nothing on record comes near it (the world's wettest day had some 1,825 mm; from memory, not checked).
const IMPOSSIBLE_MM_A_DAY: f64 = 2000.0;

/// The gauge's rain: readings, days, and what is to be told.
pub(crate) struct Rain {
    pub days: Vec<RainDay>,
    pub readings: Vec<RainReading>,
    pub repairs: Vec<Repair>,
    pub source: Option<SourceSummary>,
}

/// Reads the gauge's file and joins what stands among the records.
pub(crate) fn rain(
    facility: &Facility,
    (first, days): (NaiveDate, usize),
    logged: &[LoggedRain],
    sources: &mut Sources,
    problems: &Problems,
) -> Rain {
    let mut repairs = Vec::new();
    let mut all: Vec<LoggedRain> = Vec::new();
    // With a mapping it is read among the records, as any sheet.
    if let Some(file) = &facility.weather.rain
        && !sources.exists(&mapping_of(&file.file))
    {
        all.extend(from_file(file, &mut repairs, sources, problems).unwrap_or_default());
    }
    all.extend(logged.iter().cloned());
    let habit = Habit::of(facility, logged, &mut repairs);
    all.sort_by(|a, b| (habit.at(a), &a.place).cmp(&(habit.at(b), &b.place)));
    let all = without_duplicates(all, &habit, &mut repairs, problems);
    tell_unlikely(&all, problems);
    let readings = habit.stretches(&all, &mut repairs, problems);
    let source = all.first().zip(all.last()).map(|(first, last)| {
        let dates: Vec<NaiveDate> =
            all.iter().filter(|reading| !reading.out).map(|reading| reading.stamp.date).collect();
        SourceSummary {
            name: "rain gauge".into(),
            first: first.stamp.date,
            last: last.stamp.date,
            count: all.len(),
            gaps: gaps(&dates),
            repairs: repairs.len(),
        }
    });
    Rain { days: by_day(&readings, first, days, facility.day()), readings, repairs, source }
}

fn from_file(
    file: &RainFile,
    repairs: &mut Vec<Repair>,
    sources: &mut Sources,
    problems: &Problems,
) -> Option<Vec<LoggedRain>> {
    let wanted = [Wanted {
        name: "rain",
        words: &["rain", "rainfall", "precipitation", "precip", "prcp", "depth"],
        not: &["snow", "snowfall"],
        expected: Expected::of::<kind::RainDepth>(),
    }];
    if file.file.to_lowercase().ends_with(".xlsx") {
        problems.add(
            Problem::error(&file.place, "this workbook has no mapping file, so it is not read")
                .hint(format!("run: bywash sheet \"{}\"", file.file)),
        );
        return None;
    }
    let table = series(&file.file, &file.place, &wanted, sources, problems)?;
    for (heading, place) in table.snow {
        repairs.push(Repair {
            place,
            sentence: format!("the column `{heading}` is left out: snow counts when it is melted and read as rain"),
        });
    }
    let mut readings = Vec::new();
    let dated: Vec<Dated> = table.columns.into_iter().flatten().collect();
    tell_odd_units(&dated, problems);
    for dated in dated {
        let (depth_mm, trace, out) = match depth(&dated.cell, dated.si()) {
            Ok(Depth::Read { mm, trace }) => (mm, trace, false),
            Ok(Depth::Out) => (0.0, false, true),
            // Not read: what it holds is in the next reading, or it is a gap.
            Ok(Depth::NotRead) => {
                if let Cell::Word(word) = &dated.cell {
                    repairs.push(Repair {
                        place: dated.place.clone(),
                        sentence: format!("{}: `{word}` is no depth of rain; not read that day", dated.stamp.date),
                    });
                }
                continue;
            }
            Err(refusal) => {
                problems.add(Problem::misread(&dated.place, refusal));
                continue;
            }
        };
        readings.push(LoggedRain { stamp: dated.stamp, depth_mm, trace, out, total: false, place: dated.place });
    }
    // The order of the file: by now the readings stand in order of time.
    let mut rows: Vec<(NaiveDate, Place)> =
        readings.iter().map(|reading| (reading.stamp.date, reading.place.clone())).collect();
    rows.sort_by_key(|(_, place)| place.line);
    tell_order(&rows, problems);
    Some(readings)
}

/// What a cell of a rain column says.
pub(crate) enum Depth {
    /// A depth; 0 for a trace.
    Read { mm: f64, trace: bool },
    /// The gauge did not work.
    Out,
    /// Nobody read it, and what fell is in the next reading.
    NotRead,
}

/// Codes by which station files say that nothing is known; no gauge shows them.
const CODES: [f64; 6] = [-9999.0, -999.9, -999.0, -99.99, -99.9, -99.0];

/// Whether a cell is one of those codes.
pub(crate) fn is_known_code(cell: &Cell) -> bool {
    matches!(cell, Cell::Number { value, .. } if CODES.contains(&value.to_f64()))
}

/// Reads a cell of a rain column, with its value in metres where it is a number with a unit.
///
/// # Errors
/// When it is no depth of rain.
pub(crate) fn depth(cell: &Cell, metres: Option<f64>) -> Result<Depth, Misread> {
    match cell {
        Cell::Trace => Ok(Depth::Read { mm: 0.0, trace: true }),
        code if is_known_code(code) => Ok(Depth::Out),
        Cell::Number { value, .. } if value.is_negative() => Err(Misread::new("a depth of rain below zero")
            .hint("a code for a missing value? write `out` for a gauge that did not work, blank if it was not read")),
        Cell::Number { sign: CellSign::Below | CellSign::Above | CellSign::Estimated, .. } => {
            Err(Misread::new("a depth of rain is read, or a trace").hint("write the depth, or T"))
        }
        Cell::Number { .. } => match metres {
            Some(metres) => Ok(Depth::Read { mm: metres * 1000.0, trace: false }),
            None => Err(Misread::new("a depth of rain without its unit").hint("write in or mm: they differ 25-fold")),
        },
        Cell::Word(word) if matches!(word.as_str(), "dry" | "none" | "nil" | "no rain" | "zero") => {
            Ok(Depth::Read { mm: 0.0, trace: false })
        }
        cell if says_out(cell) => Ok(Depth::Out),
        Cell::Blank | Cell::Missing(_) => Ok(Depth::NotRead),
        Cell::Word(word) if word.starts_with("snow") => Ok(Depth::NotRead),
        Cell::Same | Cell::Word(_) => {
            Err(Misread::new("a depth of rain is a number, T for a trace, blank if it was not read, or `out`")
                .hint("write 0 for a gauge that was read and dry, `out` for one that did not work"))
        }
    }
}

/// Whether a cell says that the gauge did not work, so that what fell is not in the next reading either.
fn says_out(cell: &Cell) -> bool {
    const WORDS: [&str; 8] = ["out", "gauge out", "out of order", "not known", "unknown", "m", "missing", "broken"];
    match cell {
        Cell::Word(word) | Cell::Missing(word) => WORDS.contains(&word.as_str()) || word.starts_with("gauge broken"),
        _ => false,
    }
}

/// Tells the few readings in another unit than nearly all.
fn tell_odd_units(dated: &[Dated], problems: &Problems) {
    const ONE_IN: usize = 10;
    let numbers = || dated.iter().filter(|dated| matches!(dated.cell, Cell::Number { .. }));
    let (all, mut by_unit) = (numbers().count(), BTreeMap::new());
    for dated in numbers() {
        by_unit.entry(dated.unit.name).or_insert_with(Vec::new).push(dated);
    }
    let usual = by_unit.iter().max_by_key(|(_, dated)| dated.len()).map(|(name, _)| *name);
    for (name, few) in by_unit.iter().filter(|(name, _)| Some(**name) != usual) {
        for dated in few.iter().filter(|_| few.len() <= (all / ONE_IN).max(1) && all >= ONE_IN) {
            problems.add(
                Problem::warning(
                    &dated.place,
                    format!("this reading is in {name}, and nearly all others in {}", usual.unwrap_or_default()),
                )
                .hint("in and mm differ 25-fold: write all of them in one unit"),
            );
        }
    }
}

/// A reading so many times any other is asked about, where there are enough of them to say what is usual.
const TIMES_ANY_OTHER: f64 = 2.5;
const OTHERS: usize = 30;

/// Tells a reading that is far larger than any other: a point may be lost.
fn tell_unlikely(all: &[LoggedRain], problems: &Problems) {
    let mut by_depth: Vec<&LoggedRain> = all.iter().collect();
    by_depth.sort_by(|a, b| b.depth_mm.total_cmp(&a.depth_mm));
    let [largest, next, ..] = by_depth.as_slice() else {
        return;
    };
    if all.len() > OTHERS && next.depth_mm > 0.0 && largest.depth_mm > TIMES_ANY_OTHER * next.depth_mm {
        problems.add(
            Problem::warning(
                &largest.place,
                format!(
                    "{:.1} mm ({:.2} in) of rain is more than {TIMES_ANY_OTHER} times any other reading",
                    largest.depth_mm,
                    largest.depth_mm / 25.4
                ),
            )
            .hint("is the point where it belongs, and the unit right?"),
        );
    }
}

/// When the gauge is read and what a reading belongs to.
struct Habit {
    read_at: NaiveTime,
    belongs: ReadingBelongs,
    several_days: bool,
}

impl Habit {
    fn of(facility: &Facility, logged: &[LoggedRain], repairs: &mut Vec<Repair>) -> Self {
        match &facility.weather.rain {
            Some(file) => {
                Self { read_at: file.read_at, belongs: file.belongs, several_days: file.may_cover_several_days }
            }
            None => {
                if let Some(first) = logged.first() {
                    repairs.push(Repair {
                        place: first.place.clone(),
                        sentence: format!(
                            "the facility does not say how its rain gauge is read: taken as read at {}, for the day that \
                             ended, over several days where some were left out",
                            facility.day_starts.format("%H:%M")
                        ),
                    });
                }
                Self { read_at: facility.day_starts, belongs: ReadingBelongs::DayThatEnded, several_days: true }
            }
        }
    }

    /// The moment that a reading is named by.
    fn at(&self, reading: &LoggedRain) -> NaiveDateTime {
        let at = reading.stamp.at(self.read_at);
        snapped(at, self.read_at).0
    }

    /// What each reading covers. Readings within the day (a logger) cover their usual step; daily ones a day, or all
    /// days since the last one if they may.
    fn stretches(&self, all: &[LoggedRain], repairs: &mut Vec<Repair>, problems: &Problems) -> Vec<RainReading> {
        let moments: Vec<NaiveDateTime> = all.iter().map(|reading| self.at(reading)).collect();
        let mut steps: Vec<Duration> =
            moments.windows(2).filter_map(|pair| Some(*pair.last()? - *pair.first()?)).collect();
        steps.sort_unstable();
        let usual = steps.get(steps.len() / 2).copied().unwrap_or(Duration::days(1));
        let within_the_day = usual < Duration::hours(12);
        let step = if within_the_day { usual } else { Duration::days(1) };
        let mut readings: Vec<RainReading> = Vec::new();
        let mut out_until: Option<NaiveDateTime> = None;
        for (reading, at) in all.iter().zip(moments) {
            if reading.out {
                out_until = Some(match self.belongs {
                    ReadingBelongs::DayThatEnded => at,
                    ReadingBelongs::ThatDay => at + step,
                });
                repairs.push(Repair {
                    place: reading.place.clone(),
                    sentence: format!(
                        "{}: the gauge was out; what fell since the reading before is not known",
                        reading.stamp.date
                    ),
                });
                continue;
            }
            let to = match self.belongs {
                ReadingBelongs::DayThatEnded => at,
                ReadingBelongs::ThatDay => at + step,
            };
            let mut from = to - step;
            if let Some(last) = readings.last() {
                let since = to - last.to;
                if since < step {
                    from = last.to;
                } else if since > step && !within_the_day {
                    // Half a day late is late, not a day left out.
                    let late = since < step + Duration::hours(12);
                    let several =
                        reading.total || self.several_days && since <= Duration::days(MOST_DAYS_OF_ONE_READING);
                    if out_until.is_some() {
                        // What fell before this reading's own day is not in it.
                    } else if late || several {
                        from = last.to;
                        if since > Duration::days(MOST_DAYS_UNASKED) && !reading.total {
                            problems.add(
                                Problem::warning(
                                    &reading.place,
                                    format!(
                                        "one reading is taken for the {} days since {}",
                                        since.num_days(),
                                        last.to.date()
                                    ),
                                )
                                .hint("if the gauge did not work in between, write `out` on those days"),
                            );
                        }
                    } else if self.several_days && !reading.trace && reading.depth_mm > 0.0 {
                        repairs.push(Repair {
                            place: reading.place.clone(),
                            sentence: format!(
                                "rain read on {} after {} days: taken for one day, and the days before it as not read",
                                reading.stamp.date,
                                since.num_days()
                            ),
                        });
                    }
                }
            }
            // What fell before the gauge worked again is not in it, on its own day either.
            from = out_until.take().map_or(from, |until| from.max(until).min(to));
            let days = ((to - from).num_minutes() as f64 / 1440.0).max(1.0);
            let a_day = reading.depth_mm / days;
            if a_day > IMPOSSIBLE_MM_A_DAY {
                problems.add(
                    Problem::error(&reading.place, format!("{a_day:.0} mm of rain in a day")).hint("look at the unit"),
                );
                continue;
            }
            if a_day > UNLIKELY_MM_A_DAY {
                problems.add(
                    Problem::warning(
                        &reading.place,
                        format!("{a_day:.0} mm ({:.1} in) of rain in a day is much", a_day / 25.4),
                    )
                    .hint("is the unit right? 25 mm read as 25 in is 635 mm"),
                );
            }
            readings.push(RainReading {
                from,
                to,
                depth_mm: reading.depth_mm,
                trace: reading.trace,
                place: reading.place.clone(),
            });
        }
        readings
    }
}

fn without_duplicates(
    all: Vec<LoggedRain>,
    habit: &Habit,
    repairs: &mut Vec<Repair>,
    problems: &Problems,
) -> Vec<LoggedRain> {
    let mut kept: Vec<LoggedRain> = Vec::new();
    for reading in all {
        match kept.last() {
            Some(held) if habit.at(held) == habit.at(&reading) => {
                // Typed in two units they agree to a hair, not to a bit.
                let same = (held.depth_mm - reading.depth_mm).abs() < 1e-6 && held.trace == reading.trace;
                if same {
                    repairs.push(Repair {
                        place: reading.place.clone(),
                        sentence: format!(
                            "rain of {}: typed twice with the same value ({} and {}); kept once",
                            reading.stamp.date, held.place, reading.place
                        ),
                    });
                } else {
                    problems.add(
                        Problem::error(
                            &reading.place,
                            format!(
                                "two readings of the gauge at one time: {:.2} mm and {:.2} mm",
                                held.depth_mm, reading.depth_mm
                            ),
                        )
                        .related(&held.place, "the other")
                        .hint("strike the wrong one; if there are two gauges, keep one of them"),
                    );
                }
            }
            _ => kept.push(reading),
        }
    }
    kept
}

fn by_day(readings: &[RainReading], first: NaiveDate, days: usize, day: DayStart) -> Vec<RainDay> {
    let stretches = |amount: fn(&RainReading) -> f64| -> Vec<Stretch> {
        readings
            .iter()
            .map(|reading| Stretch {
                from: snapped(reading.from, day.time).0,
                to: snapped(reading.to, day.time).0,
                amount: amount(reading),
            })
            .collect()
    };
    let read = spread(&stretches(|reading| reading.depth_mm), first, days, day);
    let most = spread(&stretches(RainReading::most_mm), first, days, day);
    read.iter()
        .zip(&most)
        .map(|(read, most)| RainDay {
            depth_mm: read.middle,
            low_mm: read.low,
            high_mm: most.high,
            measured: read.measured,
        })
        .collect()
}

//! One limit.

use chrono::{NaiveDate, NaiveTime};

use super::keys::{Counting as Counts, Limit as Keys, MonthWords, Sample, StatisticWords};
use crate::facility::model::{Facility, PlaceKind};
use crate::files::{Field, Fields, Keyed, Reads, Said};
use crate::quantity::{
    DateRange, Dimension, Misread, clock_range, date, nearest, parameter_as_written, parameter_name,
};
use crate::records::LevelKind;
use crate::rules::file::read::{at, bound, counting, exceptions, unused};
use crate::rules::measure::readings::area;
use crate::rules::predict::plan::matters;
use crate::rules::window::statistics;
use crate::rules::window::statistics::{Shape, Statistic};
use crate::rules::{Bound, Counting, Holds, Limit, MonthlyLoad, SampleDuty, Subject, Switch};
use crate::told::{Place, Problem};

/// Reads a limit; none where it can't be used (which is told).
pub(crate) fn read(
    name: &str,
    place: &Place,
    field: &Field<'_>,
    base: &Counting,
    facility: &Facility,
) -> Option<Limit> {
    let mut fields = field.map::<Keys>()?;
    let words = fields.read(&Keys::WORDS).map(|said| said.value);
    let point = at::read(&fields.get(&Keys::AT), facility);
    let parameter = fields.read(&Keys::PARAMETER).map(|said| parameter_as_written(&said.value));
    let statistic = statistic(&fields.get(&Keys::STATISTIC));
    let by_itself = statistic.is_some_and(|(of, _)| matches!(of.shape, Shape::ByItself));
    let bound = bound::read(&mut fields, parameter.as_deref(), !by_itself);
    let sample = sample(&fields.get(&Keys::SAMPLE));
    let estimate = fields.read(&Keys::ESTIMATE);
    let by_month = fields.read(&Keys::LOAD_OF_A_MONTH).is_some();
    let without_result = fields.read(&Keys::WITHOUT_RESULT).map(|said| said.value);
    let monthly_load = by_month.then_some(MonthlyLoad { without_result });
    let asks_for_notice = fields.read(&Keys::NOTICE).is_none_or(|said| said.value);
    let holds = holds(&mut fields, facility);
    let only_when = exceptions::conditions(&fields.get(&Keys::ONLY_WHEN), facility);
    let except_field = fields.get(&Keys::EXCEPT);
    let except = if except_field.is_there() { exceptions::except(&except_field, facility) } else { None };
    let allowance = allowance(&fields.get(&Keys::ALLOWANCE));
    let only_between = fields.read(&Keys::ONLY_BETWEEN).map(|said| said.value);
    let first_point = fields.get(&Keys::BETWEEN_HERE_AND);
    let from = first_point.is_there().then(|| at::place(&first_point, facility)).flatten();
    let level = |typed: Said<bound::Typed>| (typed.value.number, typed.value.unit);
    let quantitation = fields.read(&Keys::QUANTITATION).map(level);
    let detection = fields.read(&Keys::DETECTION).map(level);
    let counting = counting::read(&mut fields, *base, false);
    let (Some((statistic, days)), Some((at, at_text)), Some(bound)) = (statistic, point, bound) else {
        fields.finish();
        return None;
    };
    let problem = |message: String, hint: &str| {
        field.problems().add(Problem::error(place, message).hint(hint));
    };
    let subject = subject(statistic, parameter.as_deref(), &bound, from.map(|(id, _)| id))
        .map_err(|(message, hint)| problem(format!("`{name}`: {message}"), &hint));
    let Ok(subject) = subject else {
        fields.finish();
        return None;
    };
    if matches!(
        bound.unit.as_ref().map(|unit| unit.dimension),
        Some(Dimension::Length | Dimension::Speed | Dimension::ArealMass)
    ) && matches!(subject, Subject::Water | Subject::Load(_))
        && area(&at, facility).is_none()
    {
        problem(
            format!("`{name}`: a depth or a mass on an area needs the area of {at_text}"),
            "write `area` at that discharge point",
        );
    }
    if let Subject::Stage(_) = subject
        && !crate::rules::measure::points::places(&at).iter().all(|id| {
            matches!(facility.get(*id).map(|place| &place.kind), Some(PlaceKind::Pond(_) | PlaceKind::Tank(_)))
        })
    {
        problem(format!("`{name}`: {at_text} is no pond or tank, and has no level"), "write the pond's name at `at`");
    }
    if statistic.words == "percentile" && allowance.is_empty() {
        problem(
            format!("`{name}`: a percentile needs the permit's table of allowances"),
            "write it like allowance: {4 to 7: 1, 8 to 16: 2}",
        );
    }
    if statistic.words == "time of day" && only_between.is_none() {
        problem(format!("`{name}`: no clock hours"), "write it like only between: 10 pm to 6 am");
    }
    if subject == Subject::Parameter("pH".to_owned()) && (statistic.divides || statistic.is_geometric) {
        field.problems().add(
            Problem::warning(place, format!("`{name}`: pH is not averaged: 5.0 and 9.0 have a mean of 7.0"))
                .hint("look in the permit again; it is usually: every reading"),
        );
    }
    let limit = Limit {
        name: name.to_owned(),
        place: place.clone(),
        words,
        at,
        at_text,
        parameter,
        subject,
        statistic,
        days: days.unwrap_or(0),
        bound,
        sample,
        estimate_accepted: estimate.is_some_and(|said| said.value),
        monthly_load,
        asks_for_notice,
        holds,
        only_when,
        except,
        allowance,
        only_between,
        quantitation,
        detection,
        counting,
        least_data_at: fields.typed(Counts::LEAST_DATA).map(|field| field.key_place),
    };
    unused::tell(&limit, &fields);
    fields.finish();
    if let Some((message, hint)) = unused::mismatch(&limit) {
        problem(format!("`{name}`: {message}"), hint);
    }
    needs_a_week(&limit, field);
    Some(limit)
}

/// A weekly limit where the permit's week was left out altogether is told; `not said` is an answer.
fn needs_a_week(limit: &Limit, field: &Field<'_>) {
    if matters(limit).week && limit.counting.week_starts == Switch::NotSaid {
        field.problems().add(
            Problem::new(
                crate::told::Severity::Note,
                &limit.place,
                format!("`{}`: the permit does not say on which day its week starts", limit.name),
            )
            .hint("weeks from each day of the week are worked out, and the worst stands"),
        );
    }
}

/// A statistic by its words, and its number of days.
pub(super) fn statistic_named(text: &str) -> Result<(&'static Statistic, Option<u32>), Misread> {
    statistics::named(text).ok_or_else(|| {
        let known = statistics::ALL.iter().map(|statistic| statistic.words);
        let near = nearest(text, known);
        Misread::new(format!("`{text}` is not a statistic known here")).hint(match near {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!(
                "known here: {}",
                statistics::ALL.iter().map(|of| of.words.replace('N', "30")).collect::<Vec<_>>().join(", ")
            ),
        })
    })
}

fn statistic(field: &Keyed<'_, StatisticWords>) -> Option<(&'static Statistic, Option<u32>)> {
    let said = field.read()?;
    if said.value.1.is_some_and(|days| days > 3660) {
        field.refuse("a window of more than ten years", "write fewer days");
        return None;
    }
    Some(said.value)
}

type Refusal = (String, String);

/// What a limit judges, from its statistic, its parameter and the kind of its unit.
fn subject(
    statistic: &'static Statistic,
    parameter: Option<&str>,
    bound: &Bound,
    from: Option<crate::facility::model::PlaceId>,
) -> Result<Subject, Refusal> {
    let dimension = bound.unit.as_ref().map(|unit| unit.dimension);
    let refuse = |message: &str, hint: &str| Err((message.to_owned(), hint.to_owned()));
    match statistic.words {
        "no discharge" => return Ok(Subject::Discharge),
        "time of day" => return Ok(Subject::ClockWindow),
        "rate" => {
            return if dimension == Some(Dimension::Flow) {
                Ok(Subject::Rate)
            } else {
                refuse("a rate is a flow", "write it like at most: 60 gpm")
            };
        }
        "duration" => {
            return if matches!(dimension, Some(Dimension::Time | Dimension::PartOfDay)) {
                Ok(Subject::Hours)
            } else {
                refuse("a duration is a time in a day", "write it like at most: 4 h")
            };
        }
        _ => {}
    }
    let Some(parameter) = parameter.map(parameter_name) else {
        return refuse(
            "no parameter",
            "write it like parameter: total suspended solids, or parameter: water where it is the water that counts",
        );
    };
    if statistic.words == "percent removal" {
        return match (from, dimension) {
            (Some(from), Some(Dimension::Share)) => Ok(Subject::Removal(parameter, from)),
            (None, _) => refuse(
                "percent removal needs the first point",
                "write it like between here and: the place before treatment",
            ),
            _ => refuse("percent removal is a share", "write it like at least: 85 %"),
        };
    }
    let stage = match parameter.as_str() {
        "freeboard" => Some(LevelKind::Freeboard),
        "level" | "water level" => Some(LevelKind::Level),
        "sludge depth" | "depth of sludge" => Some(LevelKind::SludgeDepth),
        "holding" | "volume held" => Some(LevelKind::Holding),
        _ => None,
    };
    if let Some(kind) = stage {
        let right = if kind == LevelKind::Holding { Dimension::Volume } else { Dimension::Length };
        return if dimension == Some(right) {
            Ok(Subject::Stage(kind))
        } else {
            refuse(
                "the unit does not fit",
                "a level, freeboard or depth of sludge is a length: 2 ft; a volume held is a volume: 5000 gal",
            )
        };
    }
    if matches!(parameter.as_str(), "washes" | "changes") {
        return if dimension.is_none() {
            Ok(Subject::Events)
        } else {
            refuse("a count carries no unit", "write it like at most: 12")
        };
    }
    if matches!(parameter.as_str(), "water" | "flow" | "volume" | "discharge") {
        return match dimension {
            Some(Dimension::Flow) if statistic.instant => Ok(Subject::Rate),
            Some(Dimension::Volume | Dimension::Flow | Dimension::Length | Dimension::Speed) if statistic.instant => {
                refuse(
                    "a volume has no single moment",
                    "write statistic: daily total, or a flow such as 60 gpm with statistic: rate",
                )
            }
            Some(Dimension::Volume | Dimension::Flow | Dimension::Length | Dimension::Speed) => Ok(Subject::Water),
            _ => refuse(
                "water is a volume, a flow or a depth on an area",
                "write it like 250000 gal, 50000 gal/day or 2 in",
            ),
        };
    }
    Ok(match dimension {
        Some(Dimension::Mass | Dimension::MassRate | Dimension::ArealMass) => Subject::Load(parameter),
        Some(
            Dimension::Volume
            | Dimension::Flow
            | Dimension::Length
            | Dimension::Area
            | Dimension::Speed
            | Dimension::Time,
        ) => {
            return refuse(
                "the unit does not fit the parameter",
                "a concentration is like 30 mg/L, a load like 50 lb/day",
            );
        }
        _ => Subject::Parameter(parameter),
    })
}

fn sample(field: &Field<'_>) -> Option<SampleDuty> {
    if field.says_not_said() {
        return None;
    }
    let mut map = field.map::<Sample>()?;
    let kind = map.read(&Sample::KIND).map(|said| said.value);
    let how_often = map.read(&Sample::HOW_OFTEN);
    map.finish();
    let how_often = how_often?;
    Some(SampleDuty { kind, how_often: how_often.value, text: how_often.text, place: field.place() })
}

fn holds(fields: &mut Fields<'_>, facility: &Facility) -> Holds {
    let mut out = Holds::default();
    for field in fields.get(&Keys::IN_SEASON).one_or_more() {
        let Some(text) = field.text() else {
            continue;
        };
        if let Some(named) = facility.season(&text.value) {
            out.seasons.push(named.days);
            continue;
        }
        match field.date_range().map(|said| said.value) {
            Some(DateRange::Yearly(span)) => out.seasons.push(span),
            Some(DateRange::Dates { .. }) => {
                field.refuse("a season is of every year", "leave the years out, or write the dates at `in force`");
            }
            None => {}
        }
    }
    for field in fields.get(&Keys::MONTHS).one_or_more() {
        if let Some(said) = MonthWords::read(&field) {
            out.months.extend((1..=12u32).zip(said.value.has).filter(|(_, has)| *has).map(|(month, _)| month));
        }
    }
    out.months.sort_unstable();
    out.months.dedup();
    out.weekdays = fields.read(&Keys::DAYS).map(|said| said.value);
    out.dates = fields.read(&Keys::IN_FORCE).map(|said| said.value);
    out.stage = fields.read(&Keys::STAGE).map(|said| said.value.to_owned());
    out
}

/// From a date, until a date.
pub(super) type Dates = (Option<NaiveDate>, Option<NaiveDate>);

/// `from 1 Nov 2025`, `until 31 Oct 2025`, `1 Nov 2024 to 31 Oct 2025`.
pub(super) fn dates(text: &str) -> Result<Dates, Misread> {
    let lower = text.trim().to_lowercase();
    if let Some(rest) = lower.strip_prefix("from ")
        && !rest.contains(" to ")
    {
        return Ok((Some(date(rest)?), None));
    }
    if let Some(rest) = lower.strip_prefix("until ") {
        return Ok((None, Some(date(rest)?)));
    }
    match crate::quantity::date_range(text)? {
        DateRange::Dates { first, last } => Ok((Some(first), Some(last))),
        DateRange::Yearly(_) => {
            Err(Misread::new("the years are missing")
                .hint("write it like from 1 Nov 2025, or 1 Nov 2024 to 31 Oct 2025"))
        }
    }
}

/// `10 pm to 6 am`, `10 pm and 6 am`.
pub(super) fn clock_hours(text: &str) -> Result<(NaiveTime, NaiveTime), Misread> {
    clock_range(&text.replace(" and ", " to "))
}

/// `{4 to 7: 1, 8 to 16: 2}`: of so many samples so many may be over.
fn allowance(field: &Field<'_>) -> Vec<(u32, u32, u32)> {
    if !field.is_there() {
        return Vec::new();
    }
    let mut out: Vec<(u32, u32, u32)> = Vec::new();
    for (key, value) in field.named() {
        let ends = match key.value.split_once(" to ") {
            Some((from, to)) => from.trim().parse::<u32>().ok().zip(to.trim().parse::<u32>().ok()),
            None => key.value.trim().parse::<u32>().ok().map(|one| (one, one)),
        };
        let Some((from, to)) = ends.filter(|(from, to)| from <= to && *from > 0) else {
            value.refuse(format!("`{}` is no number of samples", key.value), "write it like 4 to 7: 1");
            continue;
        };
        if let Some(other) = out.iter().find(|(first, last, _)| from <= *last && *first <= to) {
            value.refuse(
                format!("{from} to {to} samples overlap with {} to {}", other.0, other.1),
                "let each number of samples stand once",
            );
            continue;
        }
        if let Some(count) = value.count(0, u64::from(to)) {
            out.push((from, to, u32::try_from(count.value).unwrap_or(0)));
        }
    }
    out
}

//! The facility as a whole: settings, seasons, weather, solids, meters.

use uom::si::f64::{Angle, Length, Time};

use super::flows::Context;
use crate::facility::model::{
    Dissolved, Evaporation, Meter, MeterExchange, OpenWaterLoss, Paper, RainFile, ReadingBelongs, Season, SolidsKind,
    StationEquation, StepsPerDay, UnitSystem, WaterTemperature, Weather,
};
use crate::files::{Field, Fields, Given};
use crate::quantity::{self as q, DateRange, MOST_DAYS, days_of, kind, too_long};
use crate::told::{Place, Problem, Problems};

/// Everything that is neither a place nor a meter.
pub(super) struct Settings {
    pub(super) name: Option<String>,
    pub(super) system: Option<UnitSystem>,
    pub(super) paper: Paper,
    pub(super) rules: Option<(String, Place)>,
    pub(super) records: Option<(String, Place)>,
    pub(super) day_starts: Option<chrono::NaiveTime>,
    pub(super) period: Option<(chrono::NaiveDate, chrono::NaiveDate)>,
    pub(super) steps_per_day: StepsPerDay,
    pub(super) seasons: Vec<Season>,
    pub(super) elevation: Option<Given<Length>>,
    pub(super) latitude: Option<Given<Angle>>,
    pub(super) weather: Weather,
    pub(super) weather_is_whole: bool,
    pub(super) solids: Vec<SolidsKind>,
    pub(super) dissolved: Vec<Dissolved>,
    pub(super) hold_sample_for: Option<Given<Time>>,
}

fn path(field: &Field<'_>) -> Option<(String, Place)> {
    field.text().map(|said| (said.value, said.place))
}

pub(super) fn settings(file: &mut Fields<'_>) -> Settings {
    let name = file.must("name", "Quillmere Growers").text().map(|said| said.value);
    let system = file
        .must("report in", "US units")
        .one_of(&[("US units", UnitSystem::Us), ("metric units", UnitSystem::Metric), ("metric", UnitSystem::Metric)])
        .map(|said| said.value);
    let usual_paper = if system == Some(UnitSystem::Metric) { Paper::A4 } else { Paper::Letter };
    let paper = file
        .may("paper")
        .one_of(&[("letter", Paper::Letter), ("A4", Paper::A4)])
        .map_or(usual_paper, |said| said.value);
    let period = file.may("period");
    let period = match period.date_range().map(|said| said.value) {
        Some(DateRange::Dates { first, last }) if days_of((first, last)) > MOST_DAYS => {
            period.refuse(too_long((first, last)), "take the years in parts");
            None
        }
        Some(DateRange::Dates { first, last }) => Some((first, last)),
        Some(DateRange::Yearly(_)) => {
            period.refuse("a period needs its years", "write it like 1 Nov 2024 to 31 Oct 2025");
            None
        }
        None => None,
    };
    let steps = [1, 2, 4, 8, 24].map(|r: u32| (r.to_string(), StepsPerDay::Exactly(r)));
    let mut words: Vec<(&str, StepsPerDay)> = vec![("as needed", StepsPerDay::AsNeeded)];
    words.extend(steps.iter().map(|(word, value)| (word.as_str(), *value)));
    let told = file.problems().errors();
    let weather = weather(&file.may("weather"));
    let latitude = file.may("latitude").quantity::<kind::Latitude>();
    let weather_is_whole = file.problems().errors() == told;
    Settings {
        name,
        system,
        paper,
        rules: path(&file.may("rules")),
        records: path(&file.may("records")),
        day_starts: file.must("day starts", "7 am").clock().map(|said| said.value),
        period,
        steps_per_day: file.may("steps per day").one_of(&words).map_or(StepsPerDay::AsNeeded, |said| said.value),
        seasons: seasons(&file.may("seasons")),
        elevation: file.may("elevation").quantity::<kind::Level>(),
        latitude,
        weather,
        weather_is_whole,
        solids: solids(&file.may("solids")),
        dissolved: dissolved(&file.may("dissolved")),
        hold_sample_for: check_with_records(&file.may("check with records")),
    }
}

fn seasons(field: &Field<'_>) -> Vec<Season> {
    let mut out = Vec::new();
    for (name, value) in field.named_at_most(100) {
        match value.date_range().map(|said| said.value) {
            Some(DateRange::Yearly(days)) => out.push(Season { name: name.value, days, place: name.place }),
            Some(DateRange::Dates { .. }) => {
                value.refuse("a season comes every year", "leave the years out: 15 Apr to 15 Oct")
            }
            None => {}
        }
    }
    out
}

fn check_with_records(field: &Field<'_>) -> Option<Given<Time>> {
    let mut map = field.fields()?;
    let hold = map.may("hold a sample for").quantity::<kind::Time>();
    map.finish();
    hold
}

fn weather(field: &Field<'_>) -> Weather {
    let mut out = Weather { rain: None, temperatures: None, evaporation: None, water_temperature: None };
    let Some(mut map) = field.fields() else {
        return out;
    };
    out.rain = rain(&map.may("rain"));
    if let Some(mut file) = map.may("temperatures").fields() {
        out.temperatures = path(&file.must("file", "temperatures.csv"));
        file.finish();
    }
    let evaporation_field = map.may("pond evaporation");
    out.evaporation = evaporation(&evaporation_field);
    if matches!(out.evaporation, Some(Evaporation::FromTemperatures { .. })) && !map.has("temperatures") {
        evaporation_field.refuse(
            "evaporation from temperatures, and no temperatures are given",
            "write `temperatures: {file: temperatures.csv}`",
        );
    }
    let water = map.may("water temperature");
    out.water_temperature = match water.fields_with("file") {
        Some(mut file) => {
            let found = path(&file.must("file", "water.csv"));
            file.finish();
            found.map(|(name, place)| WaterTemperature::File(name, place))
        }
        None => water
            .by_month(|value| value.quantity::<kind::Temperature>())
            .map(|months| WaterTemperature::Months(Box::new(months))),
    };
    map.finish();
    out
}

fn rain(field: &Field<'_>) -> Option<RainFile> {
    let mut map = field.fields()?;
    let file = path(&map.must("file", "rain.csv"));
    let read_at = map.must("read at", "7 am").clock();
    let belongs = map
        .must("belongs to", "the day that ended")
        .one_of(&[("the day that ended", ReadingBelongs::DayThatEnded), ("that day", ReadingBelongs::ThatDay)]);
    let several = map
        .may("a reading may cover")
        .one_of(&[("several days", true), ("one day", false)])
        .is_some_and(|said| said.value);
    map.finish();
    let (file, place) = file?;
    Some(RainFile { file, place, read_at: read_at?.value, belongs: belongs?.value, may_cover_several_days: several })
}

fn evaporation(field: &Field<'_>) -> Option<Evaporation> {
    if let Some(mut map) = field.fields_with("pan") {
        let pan = path(&map.must("pan", "pan.csv"));
        let times = map.must("times", "0.70").factor();
        map.finish();
        let (file, place) = pan?;
        return Some(Evaporation::Pan { file, place, times: times? });
    }
    if let Some(mut map) = field.fields_with("from") {
        let from = map.must("from", "temperatures").one_of(&[("temperatures", false), ("weather station", true)]);
        let from_station = from.as_ref().is_some_and(|said| said.value);
        if from_station {
            let file = path(&map.must("file", "station.csv"));
            let by = map.must("by", "Penman open water").one_of(&[
                ("Penman open water", StationEquation::PenmanOpenWater),
                ("Penman-Monteith", StationEquation::PenmanMonteith),
            ]);
            let times = map.must("times", "1").factor();
            map.finish();
            let (file, place) = file?;
            return Some(Evaporation::FromStation { file, place, by: by?.value, times: times? });
        }
        let times = map.must("times", "1.05").factor();
        map.finish();
        return Some(Evaporation::FromTemperatures { place: from?.place, times: times? });
    }
    field.by_month(loss).map(|months| Evaporation::Months(Box::new(months)))
}

/// `1.0 in/month` or `0.06 in/day`.
fn loss(field: &Field<'_>) -> Option<OpenWaterLoss> {
    let monthly = field.plain_text().is_some_and(|text| text.to_lowercase().contains("month"));
    if monthly {
        field.quantity::<kind::MonthlyDepth>().map(OpenWaterLoss::InAMonth)
    } else {
        field.quantity::<kind::WaterLoss>().map(OpenWaterLoss::InADay)
    }
}

fn solids(field: &Field<'_>) -> Vec<SolidsKind> {
    let mut out = Vec::new();
    for (name, value) in field.named_at_most(100) {
        let Some(mut map) = value.fields() else {
            continue;
        };
        let floats = map.may("floats").yes_or_no().is_some_and(|said| said.value);
        let density = if floats {
            map.may("density").quantity::<kind::Density>()
        } else {
            map.must("density", "2.65 times water").quantity::<kind::Density>()
        };
        let half = map.must("half finer than", "18 um").quantity::<kind::Size>();
        let tenths = map.must("nine tenths finer than", "90 um").quantity::<kind::Size>();
        let holds = map
            .may("holds")
            .named()
            .into_iter()
            .filter_map(|(what, content)| content.quantity::<kind::Content>().map(|given| (what.value, given)))
            .collect();
        let problems = map.problems();
        map.finish();
        let (Some(half_finer), Some(nine_tenths_finer)) = (half, tenths) else {
            continue;
        };
        if let (Some((low, _)), Some((_, high))) = (half_finer.ends(), nine_tenths_finer.ends())
            && low >= high
        {
            problems.add(
                Problem::error(
                    &nine_tenths_finer.place,
                    format!(
                        "nine tenths are finer than {}, yet half are finer than {}",
                        nine_tenths_finer.text, half_finer.text
                    ),
                )
                .hint("`nine tenths finer than` is the larger of the two sizes"),
            );
        }
        for size in [&half_finer, &nine_tenths_finer] {
            if size.ends().is_some_and(|(low, _)| low.value <= 0.0) {
                problems.add(Problem::error(&size.place, "a size of nothing").hint("write a size above zero"));
            }
        }
        if let Some(density) = &density
            && density.ends().is_some_and(|(low, _)| low.value < 1.0)
        {
            problems.add(Problem::error(&density.place, "a density of nothing").hint("write it like 2.65 times water"));
        }
        if !floats
            && let Some(density) = &density
            && density.ends().is_some_and(|(_, high)| high.value <= 1000.0)
        {
            problems.add(
                Problem::error(
                    &density.place,
                    format!("{} is no heavier than water, so it does not settle", density.text),
                )
                .hint("write `floats: yes` for it"),
            );
        }
        out.push(SolidsKind {
            name: name.value,
            place: name.place,
            density,
            floats,
            half_finer,
            nine_tenths_finer,
            holds,
        });
    }
    out
}

fn dissolved(field: &Field<'_>) -> Vec<Dissolved> {
    let mut out = Vec::new();
    for (name, value) in field.named_at_most(100) {
        let Some(mut map) = value.fields() else {
            continue;
        };
        let measured = map.may("measured as").one_of(&[("electrical conductivity", ())]);
        let one = if measured.is_some() {
            map.must("one mS/cm is", "640 mg/L").quantity::<kind::Concentration>()
        } else {
            map.may("one mS/cm is").quantity::<kind::Concentration>()
        };
        map.finish();
        out.push(Dissolved { name: name.value, place: name.place, one_ms_per_cm: one });
    }
    out
}

pub(super) fn meters<'a>(context: &Context<'a>, field: &Field<'a>, problems: &Problems) -> Vec<Meter> {
    let mut out = Vec::new();
    for (name, value) in field.named_at_most(100) {
        let Some(mut map) = value.fields() else {
            continue;
        };
        if let Some(place) = context.names.all.iter().find(|named| named.name == name.value) {
            problems.add(
                Problem::error(
                    &name.place,
                    format!("`{}` is a meter here and {} on line {}", name.value, place.section.a(), place.place.line),
                )
                .hint("give the meter a name of its own"),
            );
        }
        let from = context.names.resolve(&map.must("from", "Well"));
        let to = context.names.resolve(&map.must("to", "Storage pond"));
        let what = map.may("what").text().map(|said| said.value);
        let counts = map.must("counts in", "gal").parse(
            "what one count of a meter is",
            "gal, x10 gal or 100 ft3",
            q::meter_unit,
        );
        let digits = map.must("digits", "6").count(1, 12);
        let read_at = map.may("read at").clock().map(|said| said.value);
        let exchanged = map
            .may("exchanged")
            .list()
            .iter()
            .filter_map(|item| exchange(item, digits.as_ref().map(|said| said.value)))
            .collect();
        let off_by = super::places::above_zero(&map.may("off by"), |field| field.quantity::<kind::Share>());
        map.finish();
        let (Some(from), Some(to), Some(counts), Some(digits)) = (from, to, counts, digits) else {
            continue;
        };
        let mut meter = Meter {
            name: name.value,
            place: name.place,
            from,
            to,
            what,
            counts_in: counts.text.clone(),
            one_count_m3: counts.value.cubic_metres(),
            digits: u32::try_from(digits.value).unwrap_or(12),
            read_at,
            exchanged,
            off_by,
        };
        meter.exchanged.sort_by_key(|exchange| exchange.on);
        out.push(meter);
    }
    out
}

fn exchange(field: &Field<'_>, digits: Option<u64>) -> Option<MeterExchange> {
    let mut map = field.fields()?;
    let on = map.must("on", "2025-03-11").date();
    let old_field = map.must("old read", "884210");
    let new_field = map.must("new read", "12");
    let (old, new) = (old_field.number(), new_field.number());
    map.finish();
    for (field, read) in [(&old_field, &old), (&new_field, &new)] {
        let Some(read) = read else { continue };
        let most =
            digits.and_then(|digits| u32::try_from(digits).ok()).map(|digits| 10_f64.powi(digits.min(12) as i32));
        if read.value.is_negative() || most.is_some_and(|most| read.value.to_f64() >= most) {
            field.refuse(
                format!("a meter with {} digits can't read {}", digits.unwrap_or(0), read.text),
                "look at the reading and at `digits`",
            );
        }
    }
    let on = on?;
    Some(MeterExchange { on: on.value, old_read: old?.value.to_f64(), new_read: new?.value.to_f64(), place: on.place })
}

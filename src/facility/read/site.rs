//! The facility as a whole: settings, seasons, weather, solids, meters.

use uom::si::f64::{Angle, Length, Time};

use super::flows::Context;
use super::keys::{self, CheckWithRecords, Exchange, File, FromStation, FromTemperatures, Pan, Rain, Sections, Solids};
use super::names::{Names, Section};
use super::weirs;
use crate::facility::model::{
    Dissolved, Evaporation, Meter, MeterExchange, OpenWaterLoss, Paper, RainFile, Season, SolidsKind, StepsPerDay,
    UnitSystem, WaterTemperature, Weather,
};
use crate::files::shapes::{Monthly, Number, Quantity};
use crate::files::{Field, Fields, Given, Keyed, Reads, Said};
use crate::quantity::{DateRange, MOST_DAYS, days_of, kind, meter_unit, too_long};
use crate::told::{Place, Problem, Problems};

/// Everything that is neither a place nor a meter.
pub(super) struct Settings {
    pub(super) name: Option<String>,
    pub(super) system: Option<UnitSystem>,
    pub(super) paper: Paper,
    pub(super) rules: Option<(String, Place)>,
    pub(super) records: Option<(String, Place)>,
    pub(super) day_starts: Option<chrono::NaiveTime>,
    pub(super) day_bears_its_end: bool,
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

fn path(said: Said<String>) -> (String, Place) {
    (said.value, said.place)
}

/// Whether a day bears the date on which it ends. One from midnight to midnight lies on one date.
fn day_bears_its_end(file: &mut Fields<'_>) -> bool {
    let bears = file.get(&File::DAY_BEARS);
    let ends = bears.read().is_some_and(|said| said.value);
    let midnight = file.get(&File::DAY_STARTS).clock().is_some_and(|said| said.value == chrono::NaiveTime::MIN);
    if ends && midnight {
        bears.refuse("a day from midnight to midnight lies on one date", "take this line out, or correct `day starts`");
    }
    ends
}

pub(super) fn settings(file: &mut Fields<'_>) -> Settings {
    let name = file.read(&File::NAME).map(|said| said.value);
    let system = file.read(&File::REPORT_IN).map(|said| said.value);
    let usual_paper = if system == Some(UnitSystem::Metric) { Paper::A4 } else { Paper::Letter };
    let paper = file.read(&File::PAPER).map_or(usual_paper, |said| said.value);
    let period = file.get(&File::PERIOD);
    let period = match period.read().map(|said| said.value) {
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
    let told = file.problems().errors();
    let weather = weather(&file.get(&File::WEATHER));
    let latitude = file.read(&File::LATITUDE);
    let weather_is_whole = file.problems().errors() == told;
    Settings {
        name,
        system,
        paper,
        rules: file.read(&File::RULES).map(path),
        records: file.read(&File::RECORDS).map(path),
        day_starts: file.read(&File::DAY_STARTS).map(|said| said.value),
        day_bears_its_end: day_bears_its_end(file),
        period,
        steps_per_day: file.read(&File::STEPS).map_or(StepsPerDay::AsNeeded, |said| said.value),
        seasons: seasons(&file.get(&File::SEASONS)),
        elevation: file.read(&File::ELEVATION),
        latitude,
        weather,
        weather_is_whole,
        solids: solids(&file.get(&Sections::SOLIDS)),
        dissolved: dissolved(&file.get(&File::DISSOLVED)),
        hold_sample_for: check_with_records(&file.get(&File::CHECK)),
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
    let mut map = field.map::<CheckWithRecords>()?;
    let hold = map.read(&CheckWithRecords::HOLD);
    map.finish();
    hold
}

fn weather(field: &Field<'_>) -> Weather {
    let mut out = Weather { rain: None, temperatures: None, evaporation: None, water_temperature: None };
    let Some(mut map) = field.map::<keys::Weather>() else {
        return out;
    };
    out.rain = rain(&map.get(&keys::Weather::RAIN));
    if let Some(mut file) = map.get(&keys::Weather::TEMPERATURES).open() {
        out.temperatures = file.read(&keys::TemperatureFile::FILE).map(path);
        file.finish();
    }
    let evaporation_field = map.get(&keys::Weather::EVAPORATION);
    out.evaporation = evaporation(&evaporation_field);
    if matches!(out.evaporation, Some(Evaporation::FromTemperatures { .. })) && !map.has(keys::Weather::TEMPERATURES) {
        evaporation_field.refuse(
            "evaporation from temperatures, and no temperatures are given",
            "write `temperatures: {file: temperatures.csv}`",
        );
    }
    let water = map.get(&keys::Weather::WATER);
    out.water_temperature = match water.map_with::<keys::WaterFile>(keys::WaterFile::FILE) {
        Some(mut file) => {
            let found = file.read(&keys::WaterFile::FILE);
            file.finish();
            found.map(|said| WaterTemperature::File(said.value, said.place))
        }
        None => Monthly::<Quantity<kind::Temperature>>::read(&water)
            .map(|months| WaterTemperature::Months(Box::new(months))),
    };
    map.finish();
    out
}

fn rain(field: &Field<'_>) -> Option<RainFile> {
    let mut map = field.map::<Rain>()?;
    let file = map.read(&Rain::FILE).map(path);
    let read_at = map.read(&Rain::READ_AT);
    let belongs = map.read(&Rain::BELONGS);
    let several = map.read(&Rain::COVERS).is_some_and(|said| said.value);
    map.finish();
    let (file, place) = file?;
    Some(RainFile { file, place, read_at: read_at?.value, belongs: belongs?.value, may_cover_several_days: several })
}

fn evaporation(field: &Field<'_>) -> Option<Evaporation> {
    if let Some(mut map) = field.map_with::<Pan>(Pan::PAN) {
        let pan = map.read(&Pan::PAN).map(path);
        let times = map.read(&Pan::TIMES);
        map.finish();
        let (file, place) = pan?;
        return Some(Evaporation::Pan { file, place, times: times? });
    }
    let is_station =
        |map: &Fields<'_>| map.typed(FromStation::FROM).is_some_and(|from| from.says(keys::WEATHER_STATION));
    if let Some(mut map) = field.map_with::<FromStation>(FromStation::FROM).filter(is_station) {
        map.read(&FromStation::FROM);
        let file = map.read(&FromStation::FILE).map(path);
        let by = map.read(&FromStation::BY);
        let times = map.read(&FromStation::TIMES);
        map.finish();
        let (file, place) = file?;
        return Some(Evaporation::FromStation { file, place, by: by?.value, times: times? });
    }
    if let Some(mut map) = field.map_with::<FromTemperatures>(FromTemperatures::FROM) {
        let from = map.read(&FromTemperatures::FROM);
        let times = map.read(&FromTemperatures::TIMES);
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
        let Some(mut map) = value.map::<Solids>() else {
            continue;
        };
        let floats = map.read(&Solids::FLOATS).is_some_and(|said| said.value);
        let density = if floats { map.get(&Solids::DENSITY) } else { map.needs(&Solids::DENSITY) }.read();
        let half = map.read(&Solids::HALF);
        let tenths = map.read(&Solids::TENTHS);
        let holds = map
            .get(&Solids::HOLDS)
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
        let Some(mut map) = value.map::<keys::Dissolved>() else {
            continue;
        };
        let measured = map.read(&keys::Dissolved::MEASURED);
        let one = if measured.is_some() { map.needs(&keys::Dissolved::ONE) } else { map.get(&keys::Dissolved::ONE) };
        let one = one.read();
        map.finish();
        out.push(Dissolved { name: name.value, place: name.place, one_ms_per_cm: one });
    }
    out
}

/// The most places of a row of the picture; supplies and discharge points stand beside it.
const MOST_IN_A_ROW: usize = 4;

/// The rows of the site's picture: every name is a place, and none stands there twice.
pub(super) fn picture<'a>(names: &Names<'a>, field: &Field<'a>) -> Vec<Vec<String>> {
    let mut seen: Vec<Said<String>> = Vec::new();
    let mut rows = Vec::new();
    for row in field.list() {
        let (mut named, mut boxes) = (Vec::new(), 0);
        for item in row.list() {
            let Some(said) = item.name() else { continue };
            let Some(id) = names.find(&said.value, &said.place) else { continue };
            if let Some(earlier) = seen.iter().find(|earlier| earlier.value == said.value) {
                field.problems().add(
                    Problem::error(&said.place, format!("`{}` stands in the picture twice", said.value))
                        .hint("name each place once")
                        .related(&earlier.place, "the other one"),
                );
                continue;
            }
            boxes += usize::from(!matches!(names.section(id), Some(Section::Supply | Section::DischargePoint)));
            named.push(said.value.clone());
            seen.push(said);
        }
        if boxes > MOST_IN_A_ROW {
            row.refuse(
                format!("{boxes} places in a row of the picture"),
                format!("a row has room for {MOST_IN_A_ROW} places, supplies and discharge points not counted; make two rows of it"),
            );
        }
        if !named.is_empty() {
            rows.push(named);
        }
    }
    rows
}

pub(super) fn meters<'a>(
    context: &Context<'a>,
    field: &Field<'a>,
    system: Option<UnitSystem>,
    problems: &Problems,
) -> Vec<Meter> {
    let mut out = Vec::new();
    for (name, value) in field.named_at_most(100) {
        let Some(mut map) = value.map::<keys::Meter>() else {
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
        let from = context.names.resolve(&map.get(&keys::Meter::FROM));
        let to = context.names.resolve(&map.get(&keys::Meter::TO));
        map.if_missing(
            keys::Meter::TO.word,
            "write where the way that it counts ends, like `to: Benches`; where that water goes several ways, put a tank before \
             them and meter the way into it",
        );
        let what = map.read(&keys::Meter::WHAT).map(|said| said.value);
        let over = map.get(&keys::Meter::WEIR);
        let has_weir = over.is_there();
        let weir = weirs::of_meter(&over);
        for dial in [keys::Meter::COUNTS.word, keys::Meter::DIGITS.word, keys::Meter::EXCHANGED.word] {
            if let Some(field) = map.typed(dial).filter(|_| has_weir) {
                field.refuse(
                    format!("`{}` has a weir and `{dial}`", name.value),
                    format!("a head is no dial: strike `{dial}`, or `weir` where the meter counts"),
                );
            }
        }
        let (counts, digits) = if has_weir {
            (map.read(&keys::Meter::COUNTS), map.read(&keys::Meter::DIGITS))
        } else {
            (map.needs(&keys::Meter::COUNTS).read(), map.needs(&keys::Meter::DIGITS).read())
        };
        map.if_missing(
            keys::Meter::DIGITS.word,
            "write how many digits its dial shows, like `digits: 6`; one without a dial, whose amounts are written down day by \
             day, never rolls over: `digits: 12`",
        );
        let read_at = map.read(&keys::Meter::READ_AT).map(|said| said.value);
        let exchanged = exchanges(&map.get(&keys::Meter::EXCHANGED), digits.as_ref().map(|said| said.value));
        let off_by = super::places::positive(&map.get(&keys::Meter::OFF_BY));
        map.finish();
        // What heads come to is told in the report's unit.
        let computed_in = if system == Some(UnitSystem::Metric) { "m3" } else { "gal" };
        let dial = match (counts, digits) {
            (Some(counts), Some(digits)) => Some((counts.text, counts.value.cubic_metres(), digits.value)),
            _ => meter_unit(computed_in)
                .ok()
                .filter(|_| weir.is_some())
                .map(|unit| (computed_in.into(), unit.cubic_metres(), 12)),
        };
        let (Some(from), Some(to), Some((counts_in, one_count_m3, digits))) = (from, to, dial) else {
            continue;
        };
        out.push(Meter {
            name: name.value,
            place: name.place,
            from,
            to,
            what,
            counts_in,
            one_count_m3,
            digits: u32::try_from(digits).unwrap_or(12),
            read_at,
            exchanged,
            off_by,
            weir,
        });
    }
    out
}

/// The fields of what the old meter and the new one read.
type Dials<'a> = [Keyed<'a, Number>; 2];

/// The exchanges of a meter in order of date. What a dial can't show is told.
fn exchanges(field: &Field<'_>, digits: Option<u64>) -> Vec<MeterExchange> {
    let mut read: Vec<(MeterExchange, Dials<'_>)> = field.list().iter().filter_map(exchange).collect();
    read.sort_by_key(|(exchange, _)| exchange.on);
    let mut digits = digits.and_then(|digits| u32::try_from(digits).ok());
    for (exchange, [old, new]) in &read {
        let tell = |field: &Field<'_>, shows: f64, digits: Option<u32>| {
            let most = digits.map(|digits| 10_f64.powi(digits.min(12) as i32));
            if shows < 0.0 || most.is_some_and(|most| shows >= most) {
                field.refuse(
                    format!("a meter with {} digits can't read {shows}", digits.unwrap_or(0)),
                    "look at the reading and at `digits`",
                );
            }
        };
        tell(old, exchange.old_read, digits);
        digits = exchange.digits.or(digits);
        tell(new, exchange.new_read, digits);
    }
    read.into_iter().map(|(exchange, _)| exchange).collect()
}

fn exchange<'a>(field: &Field<'a>) -> Option<(MeterExchange, Dials<'a>)> {
    let mut map = field.map::<Exchange>()?;
    let on = map.read(&Exchange::ON);
    let (old_field, new_field) = (map.get(&Exchange::OLD), map.get(&Exchange::NEW));
    let (old, new) = (old_field.read(), new_field.read());
    let counts = map.read(&Exchange::COUNTS);
    let digits = map.read(&Exchange::DIGITS);
    map.finish();
    let on = on?;
    let exchange = MeterExchange {
        on: on.value,
        old_read: old?.value.to_f64(),
        new_read: new?.value.to_f64(),
        counts_in: counts.map(|said| (said.text.clone(), said.value.cubic_metres())),
        digits: digits.and_then(|said| u32::try_from(said.value).ok()),
        place: on.place,
    };
    Some((exchange, [old_field, new_field]))
}

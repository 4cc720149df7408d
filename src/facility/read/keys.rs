//! Every key of a facility file but those of filters, declared once: the readers read through these, and `schema`
//! prints them.

use serde_json::{Value as Json, json};

use super::filter_keys::FilterOfAKind;
pub(crate) use super::meter_keys::{Exchange, Meter, MeterWeir, Weir, WeirShape};
use crate::facility::model::{DischargeKind, GroundBefore, Paper, ReadingBelongs, StationEquation, StepsPerDay};
use crate::facility::model::{UnitSystem, UseKind};
use crate::files::schema::{Defs, any_case, any_of, list_of, named, needs, text_like};
use crate::files::shapes::{
    Clock, Count, Date, DateRange, Either, Factor, Known, ListOf, Monthly, Name, Named, Often, OneOrMore, Quantity,
    Ratio, Text, Weekdays, Words, YesOrNo,
};
use crate::files::{Of, Shape, WordList, declare, words};
use crate::quantity::kind;

declare! {
    /// A facility: what is on the site and where the water goes.
    File, "facility" with Sections;
    NAME = must "name": Text, "Quillmere Growers", "The site's name";
    REPORT_IN = must "report in": Words<Systems>, "US units", "The units of the report";
    PAPER = may "paper": Words<Papers>, "letter", "The paper of the report";
    PERIOD = may "period": DateRange, "1 Nov 2024 to 31 Oct 2025",
        "The days of the report, where the command line names none";
    WEATHER = may "weather": Of<Weather>, "{rain: {file: rain.csv, read at: 7 am, belongs to: the day that ended}}",
        "Rain, evaporation and the water's temperature";
    LATITUDE = may "latitude": Quantity<kind::Latitude>, "44.6 N", "The site's latitude";
    RULES = may "rules": Text, "rules.yaml", "The rules file, from this file's folder";
    RECORDS = may "records": Text, "records", "The folder of records, from this file's folder";
    DAY_STARTS = must "day starts": Clock, "7 am", "The hour at which a day begins";
    DAY_BEARS = may "a day bears": Words<DayBears>, "the date it ends on",
        "Which of its two dates a day bears: most days bear the date on which they start";
    STEPS = may "steps per day": Words<StepWords>, "as needed", "Steps of a day in the balance";
    SEASONS = may "seasons": Named<DateRange>, "{growing: 15 Apr to 15 Oct}", "Seasons, by names of your own";
    ELEVATION = may "elevation": Quantity<kind::Level>, "310 ft", "The site's height above the sea";
    DISSOLVED = may "dissolved": Named<Of<Dissolved>>,
        "{salt: {measured as: electrical conductivity, one mS/cm is: 640 mg/L}}",
        "What is dissolved, by names of your own";
    PICTURE = may "picture": ListOf<ListOf<Name>>, "[[Well, Storage pond], [Container yard]]",
        "How the site's picture is laid out: rows of names, as the places lie on the ground";
    CHECK = may "check with records": Of<CheckWithRecords>, "{hold a sample for: 2 days}",
        "How records are held against the balance";
}

declare! {
    /// The sections of places, meters and solids.
    Sections, "sections";
    SOLIDS = may "solids": Named<Of<Solids>>,
        "{yard silt: {density: 2.65 times water, half finer than: 6 um, nine tenths finer than: 50 um}}",
        "Kinds of solids, by names of your own";
    METERS = may "meters": Named<Of<Meter>>, "{M1 well: {from: Well, to: Storage pond, counts in: gal, digits: 7}}",
        "Meters, by names of your own";
    SUPPLIES = may "supplies": Named<Of<Supply>>, "{Well: {gives at most: 19 gpm}}", "Where water comes from";
    CATCHMENTS = may "rain falls on": Named<Of<Catchment>>,
        "{Yard: {area: 6.5 acre, runs off: 60 %, goes to: Settling pond}}", "What the rain falls on and runs off from";
    USES = may "uses": Named<Of<Use>>,
        "{Yard: {kind: overhead, amount: 600 gal/day, returns: 50 %, takes from: Pond, goes to: Pond}}",
        "What the water is used for";
    TRANSFERS = may "transfers": Named<Of<Transfer>>,
        "{Booster: {amount: 25 gpm, takes from: Return tank, goes to: Pond}}",
        "Water that is pumped from one place to another";
    FILTERS = may "filters": Named<FilterOfAKind>, "{Sand beds: {kind: shallow media bed, takes from: Pond}}",
        "Filters";
    TANKS = may "tanks": Named<Of<Tank>>, "{Return tank: {holds: 9000 gal, at the start: {holding: 6000 gal}}}",
        "Tanks, sumps and pits";
    PONDS = may "ponds": Named<Of<Pond>>, "{Storage pond: {freeboard above spill: 2 ft, spills to: Outfall 1}}",
        "Ponds";
    DISCHARGE_POINTS = may "discharge points": Named<Of<Discharge>>, "{Outfall 1: {kind: surface water}}",
        "Where water and solids leave the site";
}

declare! {
    /// Rain, evaporation and the water's temperature.
    Weather, "weather";
    RAIN = may "rain": Of<Rain>, "{file: rain.csv, read at: 7 am, belongs to: the day that ended}", "The rain file";
    TEMPERATURES = may "temperatures": Of<TemperatureFile>, "{file: temperatures.csv}", "The file of air temperatures";
    EVAPORATION = may "pond evaporation": Evaporated, "{Nov: 1.1 in/month, rest: 3.3 in/month}",
        "What open water loses: by month, from a pan, or computed";
    WATER = may "water temperature": Either<Of<WaterFile>, Monthly<Quantity<kind::Temperature>>>,
        "{Nov to Feb: 43 F, rest: 60 F}", "The water's temperature, by month or in a file";
}

declare! {
    /// A rain file.
    Rain, "rain";
    FILE = must "file": Text, "rain.csv", "The file";
    READ_AT = must "read at": Clock, "7 am", "The hour at which the gauge is read";
    BELONGS = must "belongs to": Words<BelongsWords>, "the day that ended", "The day that a reading is written under";
    COVERS = may "a reading may cover": Words<CoversWords>, "several days", "Whether a reading may be of several days";
}

declare! {
    /// A file of air temperatures.
    TemperatureFile, "temperatures";
    FILE = must "file": Text, "temperatures.csv", "The file";
}

declare! {
    /// A file of water temperatures.
    WaterFile, "water temperature";
    FILE = must "file": Text, "water.csv", "The file";
}

declare! {
    /// Evaporation from a pan.
    Pan, "pan";
    PAN = must "pan": Text, "pan.csv", "The file of readings";
    TIMES = must "times": Factor, "0.70", "What a pond loses against the pan";
}

declare! {
    /// Evaporation computed from air temperatures.
    FromTemperatures, "evaporation from temperatures" also from_temperatures;
    FROM = must "from": Words<EvaporationFrom>, "temperatures", "What it is computed from";
    TIMES = must "times": Factor, "1.05", "What a pond loses against what is computed";
}

declare! {
    /// Evaporation computed from a weather station.
    FromStation, "evaporation from a station" also from_a_station;
    FROM = must "from": Words<EvaporationFrom>, "weather station", "What it is computed from";
    FILE = must "file": Text, "station.csv", "The station's file";
    BY = must "by": Words<EquationWords>, "Penman open water", "The equation";
    TIMES = must "times": Factor, "1", "What a pond loses against what is computed";
}

declare! {
    /// A kind of solids.
    Solids, "solids" also sinks_or_floats;
    FLOATS = may "floats": YesOrNo, "no", "Whether it floats";
    DENSITY = may "density": Quantity<kind::Density>, "2.65 times water", "Its density";
    HALF = must "half finer than": Quantity<kind::Size>, "18 um", "The size that half of it is finer than";
    TENTHS = must "nine tenths finer than": Quantity<kind::Size>, "90 um",
        "The size that nine tenths of it are finer than";
    HOLDS = may "holds": Named<Quantity<kind::Content>>, "{phosphorus: 0.6 g/kg}",
        "What it holds, by names of your own";
}

declare! {
    /// Something dissolved.
    Dissolved, "dissolved";
    MEASURED = may "measured as": Words<ConductivityWord>, "electrical conductivity", "What is read in its place";
    ONE = may "one mS/cm is": Quantity<kind::Concentration>, "640 mg/L", "The concentration that one mS/cm stands for";
}

declare! {
    /// How records are held against the balance.
    CheckWithRecords, "check with records";
    HOLD = may "hold a sample for": Quantity<kind::Time>, "2 days", "How long a sample speaks for its place";
}

declare! {
    /// A supply.
    Supply, "supply";
    GIVES = may "gives at most": Quantity<kind::Flow>, "19 gpm", "The most that it gives";
    WHEN = may "when": Of<When>, "{season: growing}", "When it gives";
    BRINGS = may "brings": Concentrations, "{salt: 200 mg/L}", "What is in its water";
}

declare! {
    /// What the rain falls on.
    Catchment, "catchment" with Part also parts_or_area;
    PARTS = may "parts": Named<Of<OnePart>>, "{lanes: {area: 1.1 acre, curve number: 89}}",
        "Its parts, where they differ";
    SOLIDS = may "solids": Concentrations, "{yard silt: 60 mg/L to 300 mg/L}", "The solids that it brings";
    GOES_TO = must "goes to": Outflow, "Settling pond", "Where it runs to";
}

declare! {
    /// A part of what the rain falls on.
    OnePart, "part of a catchment" with Part also area_and_runoff;
}

declare! {
    /// How much of the rain runs off.
    Part, "runoff";
    AREA = may "area": Quantity<kind::Area>, "9.5 acre", "Its area";
    NUMBER = may "curve number": Factor, "89", "Its curve number, 30 to 100";
    SHARE = may "runs off": Quantity<kind::Share>, "50 % to 70 %", "The share of the rain that runs off";
    BEFORE = may "ground before": Words<GroundWords>, "average", "How wet the ground is before";
    FIRST = may "first rain soaked up": Quantity<kind::RainDepth>, "0.12 in",
        "The first rain of each day that soaks away";
}

declare! {
    /// In which turn a place draws.
    Drawn, "turn";
    TURN = may "turn": Count<1, 99>, "2", "The turn in which it draws, where several draw from one place";
}

declare! {
    /// A use.
    Use, "use" with Drawn;
    KIND = must "kind": Words<UseKinds>, "overhead", "The kind of use";
    RUNS = may "runs": Quantity<kind::PartOfDay>, "8 h/day", "How long it runs in a day";
    AMOUNT = may "amount": Quantity<kind::DailyVolume>, "600 gal/day", "The water of a day, or a flow while it runs";
    FLOODS = may "floods a day": Factor, "1", "How often it is flooded in a day";
    DEPTH = may "depth": Either<Quantity<kind::DepthRate>, Quantity<kind::RainDepth>>, "1.0 in",
        "The depth of a day, or of one flood";
    AREA = may "area": Quantity<kind::Area>, "9.5 acre", "Its area";
    ZONES = may "zones": Count<1, 1000>, "4", "Zones that are flooded in turn";
    WHEN = may "when": Of<When>, "{season: growing, not when rain over: 0.3 in}", "When it is used";
    RETURNS = must "returns": Quantity<kind::Share>, "40 % to 60 %", "The share that comes back";
    PICKS_UP = may "picks up": Concentrations, "{potting mix: 25 mg/L to 90 mg/L}", "What it carries with it";
    FEED = may "feed added": Concentrations, "{salt: 640 mg/L}", "What is added to its water";
    TAKES_FROM = must "takes from": OneOrMore<Name>, "Storage pond", "Where it draws, in order";
    GOES_TO = may "goes to": Outflow, "Settling pond", "Where it comes back to";
}

declare! {
    /// A transfer from one place to another.
    Transfer, "transfer" with Drawn;
    RUNS = may "runs": Quantity<kind::PartOfDay>, "20 h/day", "How long it runs in a day";
    AMOUNT = must "amount": Quantity<kind::DailyVolume>, "25 gpm", "The water of a day, or a flow while it runs";
    WHEN = may "when": Of<When>, "{days: Mon to Sat}", "When it runs";
    TAKES_FROM = must "takes from": OneOrMore<Name>, "Return tank", "Where it draws, in order";
    GOES_TO = must "goes to": Outflow, "Return tank", "Where it goes";
}

declare! {
    /// A discharge point.
    Discharge, "discharge point";
    KIND = must "kind": Words<DischargeKinds>, "surface water", "What it leads to";
    INTO = may "into": Text, "Mere Brook", "The name of what it leads to";
    LOOKED_AT = may "looked at": Often, "every working day", "How often somebody looks at it";
    TAKES = may "takes at most": Quantity<kind::Flow>, "60 gpm", "The most that it takes";
    AREA = may "area": Quantity<kind::Area>, "2 acre", "Its area, of land";
    HOLDS = may "holds": Quantity<kind::Volume>, "4000 gal", "What it holds before it is hauled";
    WEIR = may "weir": Of<Weir>, "{shape: V-notch of 90 degrees}", "A weir whose head is read";
}

declare! {
    /// A tank.
    Tank, "tank";
    HOLDS = must "holds": Quantity<kind::Volume>, "9000 gal", "What it holds";
    LOWEST = may "lowest": Quantity<kind::Volume>, "500 gal", "Below this nothing is drawn";
    START = must "at the start": Of<TankStart>, "{holding: 6000 gal}", "What is in it at the start";
    FILLED = may "filled from": Of<TankFill>, "{from: Well, up to: 6000 gal}", "What fills it by a float";
    PUMPED = may "pumped out": Of<TankPump>, "{to: Town sewer, rate: 60 gpm, starts at: 1800 gal, stops at: 400 gal}",
        "The pump that empties it";
    EMPTIED = may "emptied by": Of<Tanker>, "{kind: tanker, to: Hauled sludge, by: log}", "The tanker that empties it";
    OVERFLOW = may "overflows to": Outflow, "Settling pond", "Where it overflows to";
}

declare! {
    /// A pond.
    Pond, "pond" also shape_or_levels;
    SHAPE = may "shape": Of<Prismoid>,
        "{length: 140 ft, width: 45 ft, depth: 6 ft, side slope: 3 to 1, measured at: spill level}",
        "Its shape, where it is regular";
    LEVELS = may "levels": ListOf<Of<LevelRow>>, "[{level: 0 ft, area: 0.4 acre}, {level: 10 ft, area: 0.62 acre}]",
        "Its area at levels that were surveyed";
    SPILL_LEVEL = may "spill level": Known<kind::Length>, "10 ft",
        "The level at which it spills, with a table of levels";
    GAUGE = may "gauge reads zero at": Words<FloorWord>, "the floor", "Where the gauge reads zero";
    FREEBOARD = must "freeboard above spill": Quantity<kind::Length>, "1.5 ft", "Bank top above the spill level";
    LOWEST = may "lowest pump level": Quantity<kind::Length>, "1.5 ft", "Below this nothing is drawn";
    CELLS = may "cells": Count<1, 12>, "2", "Cells in a row: more of them let less pass straight through";
    SEEPAGE = may "seepage": Quantity<kind::DepthRate>, "0.04 in/day to 0.08 in/day", "What seeps away";
    SLUDGE = may "sludge": Of<Sludge>, "{depth: 0.8 ft, dry solids: 8 %}", "The sludge on its floor";
    START = must "at the start": Of<PondStart>, "{level: 5.6 ft}", "What is in it at the start";
    FILLED = may "filled from": Of<PondFill>, "{from: Well, up to: 8 ft}", "What fills it by a float";
    PUMPED = may "pumped out": Of<PondPump>, "{to: Town sewer, rate: 60 gpm, starts at: 9.5 ft, stops at: 9 ft}",
        "The pump that empties it";
    SPILLS = must "spills to": Outflow, "Outfall 1", "Where it spills to";
}

declare! {
    /// The shape of a regular pond.
    Prismoid, "shape of a pond";
    LENGTH = must "length": Known<kind::Length>, "140 ft", "Its length at the spill level";
    WIDTH = must "width": Known<kind::Length>, "45 ft", "Its width at the spill level";
    DEPTH = must "depth": Known<kind::Length>, "6 ft", "Its depth, floor to spill level";
    SLOPE = must "side slope": Ratio, "3 to 1", "The slope of its sides, run to rise";
    MEASURED = must "measured at": Words<SpillLevelWord>, "spill level", "Where length and width were measured";
}

declare! {
    /// A row of a table of levels.
    LevelRow, "level of a pond";
    LEVEL = must "level": Known<kind::Length>, "0 ft", "The level above the floor";
    AREA = must "area": Known<kind::Area>, "0.62 acre", "The area at that level";
}

declare! {
    /// Sludge on the floor of a pond.
    Sludge, "sludge";
    DEPTH = must "depth": Quantity<kind::Length>, "0.8 ft", "How deep it lies";
    MEASURED_ON = may "measured on": Date, "2024-10-16", "The day of the sounding";
    DRY = must "dry solids": Quantity<kind::Share>, "8 %", "Dry solids in it, by weight";
    CLEAN_OUT = may "clean out at": Quantity<kind::Length>, "2 ft", "The depth at which it is cleaned out";
}

declare! {
    /// What is in a tank at the start.
    TankStart, "start of a tank" with Start also a_volume;
}

declare! {
    /// What is in a pond at the start.
    PondStart, "start of a pond" with Start also a_volume_or_level;
    LEVEL = may "level": Quantity<kind::Length>, "5.6 ft", "The level above the floor";
}

declare! {
    /// What is in a place at the start.
    Start, "start";
    HOLDING = may "holding": Quantity<kind::Volume>, "6000 gal", "The water in it";
    SOLIDS = may "solids": Concentrations, "{yard silt: 20 mg/L}", "The solids in that water";
}

declare! {
    /// What fills a tank.
    TankFill, "fill of a tank" with Fill;
    UP_TO = must "up to": Quantity<kind::Volume>, "6000 gal", "What it is filled up to";
}

declare! {
    /// What fills a pond.
    PondFill, "fill of a pond" with Fill;
    UP_TO = must "up to": Quantity<kind::Length>, "8 ft", "The level that it is filled up to";
}

declare! {
    /// What fills a place.
    Fill, "fill";
    FROM = must "from": OneOrMore<Name>, "Well", "Where the water is from, in order";
    WHEN = may "when": Of<When>, "{season: growing}", "When it is filled";
}

declare! {
    /// The pump that empties a tank.
    TankPump, "pump of a tank" with PumpedOut;
    STARTS = must "starts at": Quantity<kind::Volume>, "1800 gal", "What it starts at";
    STOPS = must "stops at": Quantity<kind::Volume>, "400 gal", "What it stops at";
}

declare! {
    /// The pump that empties a pond.
    PondPump, "pump of a pond" with PumpedOut;
    STARTS = must "starts at": Quantity<kind::Length>, "9.5 ft", "The level at which it starts";
    STOPS = must "stops at": Quantity<kind::Length>, "9 ft", "The level at which it stops";
}

declare! {
    /// A pump that empties a place.
    PumpedOut, "pumped out";
    TO = must "to": Outflow, "Town sewer", "Where it pumps to";
    RATE = must "rate": Quantity<kind::Flow>, "60 gpm", "How fast it pumps";
    RUNNING = may "running at the start": YesOrNo, "no", "Whether it runs at the start";
    WHEN = may "when": Of<When>, "{days: Mon to Sat}", "When it may run";
}

declare! {
    /// A tanker that empties a tank.
    Tanker, "tanker" also comes_sometime;
    KIND = must "kind": Words<TankerWord>, "tanker", "The kind of emptying";
    TO = must "to": Name, "Hauled sludge", "Where it is hauled to";
    BY = may "by": Words<LogWord>, "log", "That it comes when the log says so";
    OR_WHEN = may "or when holding": Quantity<kind::Volume>, "1200 gal", "What it holds when the tanker comes";
    WHEN = may "when holding": Quantity<kind::Volume>, "1200 gal", "What it holds when the tanker comes";
    DOWN_TO = may "down to": Quantity<kind::Volume>, "100 gal", "What the tanker leaves";
}

declare! {
    /// When something happens.
    When, "when";
    SEASON = may "season": Name, "growing", "A season of this file";
    DAYS_OF_YEAR = may "days of the year": DateRange, "15 Apr to 15 Oct", "Days of each year";
    DATES = may "dates": DateRange, "1 Nov 2024 to 31 Oct 2025", "Dates";
    DAYS = may "days": Weekdays, "Mon to Sat", "Days of the week";
    RAIN = may "not when rain over": Known<kind::RainDepth>, "0.3 in", "Not after more rain than this";
}

declare! {
    /// A place that takes a flow up to a limit.
    Step, "step of a flow";
    TO = must "to": Name, "Storage pond", "The place";
    AT_MOST = may "at most": Quantity<kind::Flow>, "60 gpm", "The most that it takes";
}

declare! {
    /// A place's share of a flow.
    ShareOf, "share of a flow";
    SHARE = must "share": Either<Known<kind::Share>, Words<RestWords>>, "80 %", "Its share, or: the rest";
    AT_MOST = may "at most": Quantity<kind::Flow>, "60 gpm", "The most that it takes";
}

words! {
    /// The date that a day bears.
    DayBears: bool, "the date it starts on" => false, "the date it ends on" => true;
    /// The units of the report.
    Systems: UnitSystem, "US units" => UnitSystem::Us, "metric units" => UnitSystem::Metric, "metric" => UnitSystem::Metric;
    /// The paper of the report.
    Papers: Paper, "letter" => Paper::Letter, "A4" => Paper::A4;
    /// Steps of a day.
    StepWords: StepsPerDay, "as needed" => StepsPerDay::AsNeeded, "1" => StepsPerDay::Exactly(1), "2" => StepsPerDay::Exactly(2),
        "4" => StepsPerDay::Exactly(4), "8" => StepsPerDay::Exactly(8), "24" => StepsPerDay::Exactly(24);
    /// The day of a rain reading.
    BelongsWords: ReadingBelongs, "the day that ended" => ReadingBelongs::DayThatEnded, "that day" => ReadingBelongs::ThatDay;
    /// Whether a reading may be of several days.
    CoversWords: bool, "several days" => true, "one day" => false;
    /// What evaporation is computed from.
    EvaporationFrom: (), "temperatures" => (), WEATHER_STATION => ();
    /// The equation of evaporation.
    EquationWords: StationEquation, "Penman open water" => StationEquation::PenmanOpenWater,
        "Penman-Monteith" => StationEquation::PenmanMonteith;
    /// How salt is read.
    ConductivityWord: (), "electrical conductivity" => ();
    /// How wet the ground is before rain.
    GroundWords: GroundBefore, "average" => GroundBefore::Average, "dry" => GroundBefore::Dry, "wet" => GroundBefore::Wet,
        "by rain" => GroundBefore::ByRain;
    /// Where a gauge reads zero.
    FloorWord: (), "the floor" => ();
    /// Where a pond was measured.
    SpillLevelWord: (), "spill level" => ();
    /// What empties a tank.
    TankerWord: (), "tanker" => ();
    /// When the log says so.
    LogWord: (), "log" => ();
    /// What is left of a flow.
    RestWords: (), "the rest" => (), "rest" => ();
}

/// The word for evaporation from a station.
pub(super) const WEATHER_STATION: &str = "weather station";

/// The kinds of use.
#[derive(Debug, Clone, Copy)]
pub(crate) struct UseKinds;

impl WordList for UseKinds {
    type Out = UseKind;
    fn words() -> Vec<(&'static str, UseKind)> {
        let all =
            [UseKind::Overhead, UseKind::FloodFloor, UseKind::Bench, UseKind::Drip, UseKind::Mist, UseKind::Washdown];
        let more =
            [("mist house", UseKind::Mist), ("propagation", UseKind::Mist), ("propagation house", UseKind::Mist)];
        all.map(|kind| (kind.words(), kind)).into_iter().chain(more).collect()
    }
}

/// The kinds of discharge point.
#[derive(Debug, Clone, Copy)]
pub(crate) struct DischargeKinds;

impl WordList for DischargeKinds {
    type Out = DischargeKind;
    fn words() -> Vec<(&'static str, DischargeKind)> {
        let all = [DischargeKind::SurfaceWater, DischargeKind::Sewer, DischargeKind::Land, DischargeKind::HauledAway];
        all.map(|kind| (kind.words(), kind)).to_vec()
    }
}

/// Concentrations by the names of solids and of what is dissolved.
pub(crate) type Concentrations = Named<Quantity<kind::Concentration>>;

/// What open water loses: in a day or in a month.
pub(crate) type Loss = Either<Quantity<kind::MonthlyDepth>, Quantity<kind::WaterLoss>>;

/// Evaporation: by month, from a pan, or computed.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Evaporated;

impl Shape for Evaporated {
    fn schema(defs: &mut Defs) -> Json {
        any_of([
            Monthly::<Loss>::schema(defs),
            Of::<Pan>::schema(defs),
            Of::<FromTemperatures>::schema(defs),
            Of::<FromStation>::schema(defs),
        ])
    }
}

/// Where a flow goes: a name, a list tried in order, or a map of shares.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Outflow;

impl Shape for Outflow {
    fn schema(defs: &mut Defs) -> Json {
        let (name, step) = (Name::schema(defs), Of::<Step>::schema(defs));
        let share = Either::<Either<Known<kind::Share>, Words<RestWords>>, Of<ShareOf>>::schema(defs);
        let schema = any_of([name.clone(), list_of(any_of([name, step.clone()])), step, named(share)]);
        defs.part("where a flow goes", schema)
    }
}

pub(super) fn either<const N: usize>(words: [&str; N]) -> Json {
    any_of(words.map(|word| needs(word, &any_case(word))))
}

fn from_temperatures(_: &mut Defs) -> Json {
    json!({"patternProperties": {any_case(FromTemperatures::FROM.word): text_like("temperatures")}})
}

fn from_a_station(_: &mut Defs) -> Json {
    json!({"patternProperties": {any_case(FromStation::FROM.word): text_like(WEATHER_STATION)}})
}

/// What does not float says its density.
fn sinks_or_floats(_: &mut Defs) -> Json {
    let yes = json!({"patternProperties": {any_case(Solids::FLOATS.word): text_like("yes")}});
    let floats = json!({"allOf": [either([Solids::FLOATS.word]), yes]});
    any_of([either([Solids::DENSITY.word]), floats])
}

fn area_and_runoff(_: &mut Defs) -> Json {
    json!({"allOf": [either([Part::AREA.word]), either([Part::SHARE.word, Part::NUMBER.word])]})
}

fn parts_or_area(defs: &mut Defs) -> Json {
    any_of([either([Catchment::PARTS.word]), area_and_runoff(defs)])
}

fn shape_or_levels(_: &mut Defs) -> Json {
    let table = json!({"allOf": [either([Pond::LEVELS.word]), either([Pond::SPILL_LEVEL.word])]});
    any_of([either([Pond::SHAPE.word]), table])
}

fn a_volume(_: &mut Defs) -> Json {
    either([Start::HOLDING.word])
}

fn a_volume_or_level(_: &mut Defs) -> Json {
    either([PondStart::LEVEL.word, Start::HOLDING.word])
}

fn comes_sometime(_: &mut Defs) -> Json {
    either([Tanker::BY.word, Tanker::WHEN.word, Tanker::OR_WHEN.word])
}

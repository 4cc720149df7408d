//! Every key of a rules file, declared once: the readers beside this file read through these, and `schema` prints them.

use chrono::{NaiveTime, Weekday};
use serde_json::{Value as Json, json};

use crate::files::schema::{Defs, NUMBER, any_case, any_of, named, needs, text_like, text_or_number_like, units};
use crate::files::shapes::{
    DateRange, Due, Name, Named, Often, OneOrMore, OrNotSaid, Span, Text, Weekdays, Words, clock_template,
    day_template, days_template, months_template,
};
use crate::files::{Of, Shape, declare, parsed, words};
use crate::quantity::{DayOfYear, Dimension, Months, day_of_year, months, units as all_units, weekday};
use crate::rules::file::read::{at, bound, counting, limit, notices};
use crate::rules::window::statistics::{self, Statistic};
use crate::rules::{
    BetweenLevels, Carried, CountRule, Divisor, DryLook, LeastData, LoadFactor, Number, RoundingRule, Several,
    Straddling, Substitute, Weighting,
};

declare! {
    /// A rules file: what your permit says, typed by you.
    File, "rules";
    AUTHORITY = must "authority": Text, "authority: the board that issued the permit",
        "The authority that issued the permit";
    PERMIT = must "permit": Text, "permit: its number", "The number of the permit";
    HOLDER = may "holder": OrNotSaid<Text>, "Name of your nursery", "Who holds the permit";
    IN_FORCE = may "in force": OrNotSaid<DateRange>, "1 Nov 2024 to 31 Oct 2029",
        "The days on which the permit is in force";
    PERMIT_YEAR_STARTS = must "permit year starts": DayInYear, "permit year starts: 1 Nov",
        "The first day of the permit's year";
    TYPED_BY = may "typed by": OrNotSaid<Text>, "not said",
        "Who typed this, when, and who checked it against the paper";
    COUNTS = must "how this permit counts": Of<Counts>,
        "how this permit counts: {day: midnight to midnight, rounding: not said}",
        "How the permit counts, for all limits";
    LIMITS = must "limits": Named<Of<Limit>>, "limits: with a name for each limit and its lines below",
        "The limits, each by a name of yours";
    NOTICES = may "notices": Of<Notices>, "",
        "What is due when a limit is broken, monthly reports, and how long records are kept";
}

declare! {
    /// How the permit counts: for the whole file.
    Counts, "how the permit counts" with Counting;
    DAY = must "day": PermitDay, "day: 7 am to 7 am",
        "The permit's day; it starts at the same hour as `day starts` of the facility";
    WEEK_STARTS = may "week starts": OrNotSaid<FirstDay>, "Sunday", "The first day of the permit's week";
}

declare! {
    /// How the permit counts: for the whole file or at one limit.
    Counting, "counting";
    SEVERAL = may "several samples in a day": OrNotSaid<Words<SeveralWords>>, "average",
        "What several samples in one day count as";
    BELOW_DETECTION = may "below detection counts as": OrNotSaid<Substituted>, "zero",
        "What a result below detection counts as in averages and totals";
    BELOW_DETECTION_GEOMETRIC = may "below detection in a geometric mean counts as": OrNotSaid<Substituted>,
        "detection limit", "The same for a geometric mean, where the permit says so apart";
    BETWEEN_LEVELS = may "between detection and quantitation counts as": Words<BetweenWords>, "as measured",
        "What a result between detection and quantitation counts as";
    MONTHLY_DIVISOR = may "monthly average divides by": OrNotSaid<Words<DivisorWords>>, "days sampled",
        "What an average is divided by";
    DIVISOR = may "average divides by": OrNotSaid<Words<DivisorWords>>, "days sampled", "What an average is divided by";
    WEIGHTING = may "weighting": OrNotSaid<Words<WeightingWords>>, "arithmetic", "How the days of an average weigh";
    ROUNDING = may "rounding": OrNotSaid<Rounded>, "half up to 1 decimal",
        "How a figure is rounded before it is held against the limit";
    LEAST_DATA = may "least data": OrNotSaid<Least>, "3 samples", "The least data that a figure needs";
    DRY_LOOK = may "a dry look covers": OrNotSaid<Words<DryLookWords>>, "that day",
        "The days that a look without a discharge speaks for";
    STRADDLING = may "a week over the edge of a month belongs to": OrNotSaid<Words<StraddlingWords>>,
        "the month it starts in", "The month that a week over its edge belongs to";
    LOAD_FACTOR = may "load factor": Words<LoadFactorWords>, "exact", "The factor from mg/L and million gallons to lb";
    LEVEL_HOLDS = may "a level reading holds for": Span, "7 days", "For how many days a level reading speaks";
}

declare! {
    /// One limit.
    Limit, "limit" with Counting also needs_units;
    WORDS = may "words": OrNotSaid<Text>, "\"copy the permit's own words here, with page and line\"",
        "The permit's own words, with page and line";
    AT = must "at": Point, "at: Outfall 1",
        "Where the limit holds: a place, a list of places, or a way such as {wash water of: Sand beds}";
    PARAMETER = may "parameter": Text, "total suspended solids",
        "What is limited: as the slips call it, or water, freeboard, level, washes";
    STATISTIC = must "statistic": StatisticWords, "statistic: daily maximum",
        "The figure that is held against the limit";
    AT_LEAST = may "at least": BoundTyped, "2 ft", "The lower bound, itself allowed";
    ABOVE = may "above": BoundTyped, "2 ft", "The lower bound, itself not allowed";
    AT_MOST = may "at most": BoundTyped, "60 mg/L", "The upper bound, itself allowed";
    BELOW = may "below": BoundTyped, "60 mg/L", "The upper bound, itself not allowed";
    SAMPLE = may "sample": OrNotSaid<Of<Sample>>, "{kind: grab, how often: once a month}",
        "The sampling that the permit asks for";
    ESTIMATE = may "estimate": Words<EstimateWords>, "not accepted",
        "Whether the permit accepts an estimate in place of a reading";
    LOAD_OF_A_MONTH = may "load of a month": OrNotSaid<Words<MonthLoadWords>>, "the mean of its results times its flow",
        "For a load that the permit works out by months and adds up; else each day's result goes with that day's water";
    WITHOUT_RESULT = may "a month without a result": OrNotSaid<Words<CarriedWords>>, "the last result before it",
        "What stands for the concentration of a month that had water and no result, where the permit says so";
    NOTICE = may "call and letter": OrNotSaid<Words<NoticeWords>>, "not asked for",
        "Whether `over a limit` below is for this limit too; `not asked for` where the monthly report tells of it";
    IN_SEASON = may "in season": OneOrMore<Text>, "1 Jun to 30 Sep",
        "The season in which it holds: one of the facility file's, or days of the year";
    MONTHS = may "months": OneOrMore<MonthWords>, "Nov to Feb", "The months in which it holds";
    DAYS = may "days": Weekdays, "Mon to Fri", "The days of the week on which it holds";
    IN_FORCE = may "in force": DatesInForce, "from 1 Nov 2025", "The dates from, until or between which it holds";
    STAGE = may "stage": Words<StageWords>, "interim", "Whether it is an interim or a final limit";
    ONLY_WHEN = may "only when": Of<OnlyWhen>, "{rain: {at least: 0.5 in}}",
        "Conditions on flow, rain or level under which alone it holds";
    EXCEPT = may "except": Of<Except>, "{rain over: 2.4 in, in any: 24 h}", "The storm that excuses a discharge";
    ALLOWANCE = may "allowance": Allowance, "{4 to 7: 1, 8 to 16: 2}",
        "Of so many samples so many may be over, for `percentile`";
    ONLY_BETWEEN = may "only between": ClockHours, "10 pm to 6 am", "The clock hours between which alone it may flow";
    BETWEEN_HERE_AND = may "between here and": Name, "Settling pond",
        "The place before treatment, for `percent removal`";
    QUANTITATION = may "quantitation level": LevelTyped, "5 mg/L", "The quantitation level of the permit";
    DETECTION = may "detection limit": LevelTyped, "2 mg/L", "The detection limit of the permit";
}

declare! {
    /// How often a sample is due.
    Sample, "sample";
    KIND = may "kind": OrNotSaid<Text>, "grab", "The kind of sample, as the permit calls it";
    HOW_OFTEN = must "how often": Often, "how often: once a month", "How often it is due";
}

declare! {
    /// A way from one place to another.
    Way, "way of a limit";
    FROM = must "from": Name, "from: a place", "Where the way begins";
    TO = must "to": Name, "to: a place", "Where it ends";
}

declare! {
    /// The rain after which a discharge point is looked at.
    AfterRain, "look after rain";
    RAIN_AT_LEAST = must "rain at least": LengthTyped, "rain at least: 0.5 in", "So much rain within a day, or more";
    WITHIN = must "within": Span, "within: 24 h", "How soon after it";
}

declare! {
    /// The storm that excuses a discharge.
    Except, "except";
    RAIN_OVER = must "rain over": LengthTyped, "rain over: 2.4 in", "More rain than this";
    IN_ANY = must "in any": Span, "in any: 24 h", "in any stretch of so many hours";
    BEFORE_IT = may "and before it": OrNotSaid<LevelBefore>, "{Storage pond below: 7 ft}",
        "The level of a pond before the storm";
    AFTER_IT = may "and after it": OrNotSaid<Span>, "1 day", "How long after the storm a discharge is excused";
}

declare! {
    /// Conditions under which alone a limit holds.
    OnlyWhen, "only when";
    FLOW = may "flow": Of<FlowCondition>, "{at: Outfall 1, parameter: river flow, at least: 10 cfs}",
        "A flow that is read";
    RAIN = may "rain": Of<RainCondition>, "{at least: 0.5 in}", "The day's rain";
    LEVEL = may "level": Of<LevelCondition>, "{at: Storage pond, below: 7 ft}", "The level of a pond or tank";
}

declare! {
    /// A condition on a flow that is read.
    FlowCondition, "flow condition" with OfTheDay;
    AT = must "at": Name, "at: the place where it is read", "The place where it is read";
    PARAMETER = may "parameter": Text, "river flow", "What the readings call it";
    AT_LEAST = may "at least": FlowTyped, "10 cfs", "The least flow at which the limit holds";
    BELOW = may "below": FlowTyped, "50 cfs", "The flow below which the limit holds";
}

declare! {
    /// A condition on the day's rain.
    RainCondition, "rain condition" with OfTheDay;
    AT_LEAST = may "at least": LengthTyped, "0.5 in", "The least rain at which the limit holds";
    BELOW = may "below": LengthTyped, "0.5 in", "The rain below which the limit holds";
}

declare! {
    /// A condition on a level.
    LevelCondition, "level condition" with OfTheDay;
    AT = must "at": Name, "at: the place where it is read", "The pond or tank";
    AT_LEAST = may "at least": LengthTyped, "7 ft", "The least level at which the limit holds";
    BELOW = may "below": LengthTyped, "7 ft", "The level below which the limit holds";
}

declare! {
    /// The day that a condition speaks of.
    OfTheDay, "day of a condition";
    OF = may "of": Words<DayWords>, "the day before", "The day that is looked at";
}

declare! {
    /// Notices, the count of violations, tiers, the monthly report, and how long records are kept.
    Notices, "notices";
    OVER_A_LIMIT = may "over a limit": OrNotSaid<Of<OverALimit>>, "{call within: 24 h of knowing}",
        "What is due when a limit is broken";
    COUNT = may "count of violations": OrNotSaid<Words<CountWords>>, "one for every day", "How violations are counted";
    TIERS = may "severity tiers": OrNotSaid<Named<Of<Tier>>>,
        "{technical: {measurements over: 1 times the limit, share at least: 66 %, in: 6 months}}",
        "Tiers of severity, by name";
    MONTHLY_REPORT = may "monthly report due": ReportDue, "28th of the next month",
        "The day of the next month on which the report is due";
    WEEKEND = may "a report due on a weekend": OrNotSaid<Words<WeekendWords>>, "is due on Monday",
        "Whether a report's day that falls on a Saturday or Sunday moves to the Monday after it";
    CHECKED = may "checked once a permit year": OneOrMore<Text>, "[001 meter, Backflow preventer]",
        "Meters and instruments, by name, that are checked once in each permit year: a row `calibration` of the name answers it";
    AFTER_RAIN = may "looked at after rain": Named<Of<AfterRain>>, "{Outfall 1: {rain at least: 0.5 in, within: 24 h}}",
        "Discharge points, by name, that are looked at after so much rain within a day: a row `look` answers it";
    KEEP_RECORDS = may "keep records": OrNotSaid<Span>, "3 years", "How long records are kept";
}

declare! {
    /// What is due when a limit is broken.
    OverALimit, "over a limit";
    CALL = may "call within": OrNotSaid<Due>, "24 h of knowing", "The time within which somebody must call";
    WRITE = may "write within": OrNotSaid<Due>, "5 days of knowing",
        "The time within which somebody must write, of knowing or of the call";
}

declare! {
    /// A tier of severity.
    Tier, "severity tier" also either_mark;
    OVER = may "measurements over": TimesTheLimit, "measurements over: 1 times the limit",
        "More than so many times the limit";
    AT_OR_OVER = may "measurements at or over": TimesTheLimit, "1.4 times the limit",
        "So many times the limit, or more";
    SHARE = must "share at least": ShareTyped, "share at least: 66 %", "The share of measurements over it";
    IN = must "in": Span, "in: 6 months", "The months in which they are counted";
}

parsed! {
    /// A day of every year.
    DayInYear: DayOfYear, "a day of the year", "1 Nov", day_of_year, text_like(&day_template());
    /// The permit's day, by the hour at which it starts.
    PermitDay: NaiveTime, "the permit's day", "7 am to 7 am", counting::day_starts, {
        let clock = clock_template();
        text_like(&format!("calendar day|{clock}to{clock}"))
    };
    /// A weekday.
    FirstDay: Weekday, "a weekday", "Sunday", weekday, text_like(r"(?:mon|tue|wed|thu|fri|sat|sun)[a-zA-Z]*\.*");
    /// What a result below detection counts as.
    Substituted: Substitute, "what a result below detection counts as", "zero", counting::substitute,
        text_or_number_like(&format!(r"zero|half|half (?:of )?the detection limit|(?:the )?detection limit|\+?[\d.]+|{NUMBER}"));
    /// A rounding.
    Rounded: RoundingRule, "a rounding", "half up to 1 decimal", counting::rounding, text_like(
        r"none|not rounded|not at all|(?:half up|half even|cut off) to (?:the limit's (?:digits|decimals)|the digits of the limit|a whole number|whole numbers|\+?\d+ (?:decimals?|significant digits?|digits))"
    );
    /// The least data of a figure.
    Least: LeastData, "the least data", "3 samples, the sample duty, or every day with a discharge", counting::least,
        text_like(r"(?:the )?sample duty|every discharge|every day with a discharge|\+?\d+ (?:samples?|results?|readings?|days)");
    /// A statistic, and its number of days.
    StatisticWords: (&'static Statistic, Option<u32>), "a statistic", "daily maximum", limit::statistic_named, statistics_schema();
    /// A bound with its unit, if it carries one.
    BoundTyped: bound::Typed, "a limit", "30 mg/L", bound::typed, typed_schema();
    /// A level of detection or quantitation.
    LevelTyped: bound::Typed, "a level", "5 mg/L", bound::typed, typed_schema();
    /// Months of every year.
    MonthWords: Months, "months", "Nov to Feb", months, text_like(&months_template());
    /// The dates between which a limit holds.
    DatesInForce: limit::Dates, "days in force", "from 1 Nov 2025", limit::dates, {
        let day = day_template();
        text_or_number_like(&format!("(?:from|until) (?:{day})|{}", days_template()))
    };
    /// Two clock times.
    ClockHours: (NaiveTime, NaiveTime), "two clock times", "10 pm to 6 am",
        limit::clock_hours, { let clock = clock_template(); text_like(&format!("{clock}(?:to|and){clock}")) };
    /// A multiple of the limit.
    TimesTheLimit: Number, "a multiple of the limit", "1.4 times the limit", notices::times,
        text_or_number_like(&format!(r"{NUMBER}\s*(?:times)?\s*(?:the limit)?"));
    /// A share in percent.
    ShareTyped: Number, "a share", "66 %", notices::percent, text_like(&format!(r"{NUMBER}\s*%"));
}

words! {
    /// What several samples in one day count as.
    SeveralWords: Several, "average" => Several::Average, "highest" => Several::Highest, "lowest" => Several::Lowest;
    /// What a result between the levels counts as.
    BetweenWords: BetweenLevels, "as measured" => BetweenLevels::AsMeasured, "detection limit" => BetweenLevels::DetectionLimit,
        "the detection limit" => BetweenLevels::DetectionLimit, "zero" => BetweenLevels::Zero;
    /// What an average is divided by.
    DivisorWords: Divisor, "days sampled" => Divisor::DaysSampled, "days with a discharge" => Divisor::DaysWithDischarge,
        "calendar days" => Divisor::CalendarDays;
    /// How days weigh.
    WeightingWords: Weighting, "arithmetic" => Weighting::Arithmetic, "flow-weighted" => Weighting::FlowWeighted,
        "flow weighted" => Weighting::FlowWeighted, "geometric" => Weighting::Geometric;
    /// The days that a dry look speaks for.
    DryLookWords: DryLook, "that day" => DryLook::ThatDay, "the days since the last dry look" => DryLook::SinceTheLastDryLook,
        "since the last dry look" => DryLook::SinceTheLastDryLook;
    /// Who owns a week over an edge.
    StraddlingWords: Straddling, "the month it starts in" => Straddling::WhereItStarts,
        "the month it ends in" => Straddling::WhereItEnds, "the month with most of its days" => Straddling::WhereMostDaysAre;
    /// From concentration and flow to mass.
    LoadFactorWords: LoadFactor, "exact" => LoadFactor::Exact, "8.34" => LoadFactor::Rule834;
    /// Whether an estimate is accepted.
    EstimateWords: bool, "accepted" => true, "not accepted" => false, "not said" => false;
    /// How the load of a month is worked out.
    MonthLoadWords: (), "the mean of its results times its flow" => ();
    /// What stands for a month's concentration.
    CarriedWords: Carried, "the last result before it" => Carried::LastResult, "the mean of the last month before it" => Carried::LastMean;
    /// Whether calls and letters are asked for.
    NoticeWords: bool, "asked for" => true, "not asked for" => false;
    /// Where a report's day on a weekend goes.
    WeekendWords: bool, "is due on Monday" => true, "stays" => false;
    /// Interim or final.
    StageWords: &'static str, "interim" => "interim", "final" => "final";
    /// How many days before.
    DayWords: u32, "that day" => 0, "the day before" => 1;
    /// How violations are counted.
    CountWords: CountRule, "one for each average or reading" => CountRule::EachWindow, "each average or reading" => CountRule::EachWindow,
        "one for every day" => CountRule::EachDay, "every day" => CountRule::EachDay;
}

/// A number with its unit, or without where the parameter has none.
fn typed_schema() -> Json {
    text_or_number_like(&format!(r"{NUMBER}[\s\S]*"))
}

/// Every statistic by its words; those with a number of days take any.
fn statistics_schema() -> Json {
    let all = statistics::ALL.iter().flat_map(|of| std::iter::once(&of.words).chain(of.also));
    let offered: Vec<String> = all.clone().map(|words| words.replace('N', "30")).collect();
    let template = |words: &&str| {
        let words = words.replace('-', " ").replace("N days", "N days?").replace('N', r"\d+");
        words.split(' ').collect::<Vec<_>>().join(r"[\s\-]+")
    };
    let templates: Vec<String> = all.map(template).collect();
    any_of([json!({"enum": offered}), text_like(&templates.join("|"))])
}

/// The bounds of a limit carry a unit, except where the parameter is a pH, a ratio or a count.
fn needs_units(_: &mut Defs) -> Json {
    let parameter = r"\W*(?:acidity\W+)?p\W*h(?:\W+value)?\W*|[\s\S]*(?:wash|change|ratio|sar|toxic)[\s\S]*";
    let with_unit = text_like(&format!(r"{NUMBER}\s*[^\d\s.,][\s\S]*"));
    let bounds = [Limit::AT_LEAST, Limit::ABOVE, Limit::AT_MOST, Limit::BELOW];
    let bounds: serde_json::Map<String, Json> =
        bounds.iter().map(|key| (any_case(key.word), with_unit.clone())).collect();
    json!({
        "if": {"patternProperties": {any_case(Limit::PARAMETER.word): {"not": text_like(parameter)}}},
        "then": {"patternProperties": bounds},
    })
}

/// A tier says over what, in one of two ways.
fn either_mark(_: &mut Defs) -> Json {
    any_of([Tier::OVER, Tier::AT_OR_OVER].map(|key| needs(key.word, &any_case(key.word))))
}

/// Where a limit holds: a place, several, or a way named by what flows.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Point;

impl Shape for Point {
    fn schema(defs: &mut Defs) -> Json {
        let name = Name::schema(defs);
        let of: Vec<String> = at::words().collect();
        let purpose = json!({
            "type": "object",
            "propertyNames": {"pattern": any_case(&of.join("|"))},
            "additionalProperties": name,
            "minProperties": 1,
            "maxProperties": 1,
        });
        let names = json!({"type": "array", "items": name, "minItems": 1});
        any_of([name, names, Of::<Way>::schema(defs), purpose])
    }
}

/// `{4 to 7: 1, 8 to 16: 2}`.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Allowance;

impl Shape for Allowance {
    fn schema(defs: &mut Defs) -> Json {
        let count = crate::files::shapes::Count::<0, { u32::MAX as u64 }>::schema(defs);
        let numbers = any_case(r"\+?\d+(?: to \+?\d+)?");
        json!({"type": "object", "propertyNames": {"pattern": numbers}, "additionalProperties": count})
    }
}

/// `{Storage pond below: 7 ft}`.
#[derive(Debug, Clone, Copy)]
pub(crate) struct LevelBefore;

impl Shape for LevelBefore {
    fn schema(defs: &mut Defs) -> Json {
        let mut schema = named(LengthTyped::schema(defs));
        if let Some(schema) = schema.as_object_mut() {
            schema.insert("propertyNames".to_owned(), json!({"pattern": r" below\s*$"}));
        }
        schema
    }
}

/// The day on which the monthly report is due, or none.
#[derive(Debug, Clone, Copy)]
pub(crate) struct ReportDue;

impl Shape for ReportDue {
    fn schema(_: &mut Defs) -> Json {
        text_like(r"not said|none|\d+(?:st|nd|rd|th)? of the next month")
    }
}

/// An amount of one dimension.
fn amount_of(dimension: Dimension) -> Json {
    let of: Vec<_> = all_units::ALL.iter().filter(|unit| unit.dimension == dimension).copied().collect();
    text_like(&format!(r"{NUMBER}\s*(?:{})", units(&of)))
}

/// A length with its unit.
#[derive(Debug, Clone, Copy)]
pub(crate) struct LengthTyped;

impl Shape for LengthTyped {
    fn schema(defs: &mut Defs) -> Json {
        defs.part("length of a condition", amount_of(Dimension::Length))
    }
}

/// A flow with its unit.
#[derive(Debug, Clone, Copy)]
pub(crate) struct FlowTyped;

impl Shape for FlowTyped {
    fn schema(defs: &mut Defs) -> Json {
        defs.part("flow of a condition", amount_of(Dimension::Flow))
    }
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use crate::files::{Source, Sources, never_asked, yaml};
    use crate::told::Problems;

    /// A key that is declared and never read would be right to an editor and wrong to the program. Whether the values
    /// below are right does not matter: each map is opened.
    #[test]
    fn every_declared_key_is_read() {
        let text = "how this permit counts: {}\nlimits:\n  A:\n    at: {from: Well, to: Pond}\n    sample: {}\n    only when: {flow: {}, rain: {}, level: {}}\n    except: {}\nnotices:\n  over a limit: {}\n  severity tiers: {A: {}, B: {measurements at or over: 1}}\n  looked at after rain: {A: {}}\n";
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-facility");
        let facility = crate::facility::read(&folder, &mut Sources::new(&folder), &mut Problems::new()).unwrap();
        let problems = Problems::new();
        let tree = yaml::tree(&Source::new("rules.yaml", text), &problems).unwrap();
        super::super::from_tree(&tree, &facility, &problems);
        assert_eq!(never_asked::<File>(|_| false), Vec::<String>::new());
    }
}

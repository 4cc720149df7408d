//! The keys that filters of several kinds have: `schema` prints from these, and from those of each kind in its own file. Tests
//! of the kinds hold them against what the readers say they know.

use serde_json::{Value as Json, json};

use super::keys::{Drawn, LogWord, Outflow};
use crate::facility::kinds::{self, FilterKind};
use crate::files::schema::{Defs, NUMBER, any_case, any_of, list_of, needs, one_of_words, text_like};
use crate::files::shapes::{
    Clock, Count, Either, ListOf, Monthly, Name, OneOrMore, Quantity, Text, Words, amount_template, clock_template,
};
use crate::files::{Of, Shape, declare, words};
use crate::quantity::{Kind, kind};

declare! {
    /// What every filter may say.
    AnyFilter, "any filter" with Drawn;
    KIND = must "kind": FilterKinds, "vibrating screen", "The kind of filter";
    TAKES_FROM = may "takes from": OneOrMore<Name>, "Storage pond", "Where a filter draws that water is pumped through";
    GOES_TO = may "goes to": Outflow, "Return tank", "Where the water goes of a filter that it runs through";
    OPENING = may "opening": Monthly<Quantity<kind::Size>>, "120 um", "Its opening, or by month";
    STOPS = may "stops": Capture, "{bigger than the opening: 90 %}",
        "What it stops: shares, a table of sizes, or: not known";
    HANDLES = may "handles at most": Quantity<kind::Flow>, "300 gpm", "The most that it handles";
    ABOVE = may "above that goes to": Outflow, "Settling pond", "Where more than that goes";
    SCREENINGS = may "screenings": Of<Screenings>, "{dry solids: 15 %, to: Screenings bin}",
        "What is caught and carried away";
    SPENT_MEDIA = may "spent media to": Name, "Skip", "Where spent media go";
    STANDS_STILL = may "stands still for": Quantity<kind::Time>, "0 min",
        "How long it stands still at a wash or change";
    MOTOR = may "motor": Quantity<kind::Power>, "1.1 kW", "The power of its motor";
}

declare! {
    /// What beds of media have.
    Bed, "media bed" with Washed;
    VESSELS = must "vessels": Count<1, 1000>, "4", "How many vessels there are";
    DIAMETER = must "diameter": Quantity<kind::Length>, "48 in", "The diameter of one";
    MEDIA = must "media": ListOf<Of<Layer>>, "[{kind: silica sand, depth: 14 in}]", "Its layers, the upper one first";
}

declare! {
    /// What filters have that are washed.
    Washed, "washed filter" with AnyFilter;
    WASHES = must "washes": Of<Cadence>, "{by: log, or every: 24 h}", "When it is washed";
    ONE_WASH = must "one wash": Of<OneWash>, "{rate: 188 gpm, lasts: 2 min, each: vessel}", "What one wash takes";
    RINSE = may "rinse to waste": Of<RinseToWaste>, "{rate: 300 gpm, lasts: 5 min}",
        "What is run to waste after a wash";
    DRAINED = may "drained each wash": Quantity<kind::Volume>, "50 gal", "What is drained at each wash";
    WASHED_WITH = must "washed with": Name, "its own filtered water", "The water it is washed with";
    WASH_TO = must "wash water to": Outflow, "Settling pond", "Where the wash water goes";
    HOLDS = may "holds before a wash": Quantity<kind::ArealMass>, "0.3 lb/ft2", "What it holds before a wash";
    REMOVES = may "one wash removes": Quantity<kind::Share>, "90 %", "The share of that which one wash removes";
}

declare! {
    /// What filters have whose media are changed.
    Changed, "changed filter" with AnyFilter;
    CHANGED = must "changed": Of<Cadence>, "{by: log, or after: 2.2 lb of solids}", "When they are changed";
    ONE_CHANGE = may "one change": Of<OneChange>, "{lasts: 2 min, drains: 9 gal, to: Sewer sump}",
        "What one change takes";
}

declare! {
    /// What is caught and carried away.
    Screenings, "screenings";
    DRY = must "dry solids": Quantity<kind::Share>, "15 %", "Dry solids in it, by weight";
    TO = must "to": Name, "Screenings bin", "Where it is put";
    DRAINS = may "drains back to": Name, "Settling pond", "Where it drains to";
}

declare! {
    /// A layer of media.
    Layer, "layer of media";
    KIND = must "kind": Text, "silica sand", "What it is";
    DEPTH = must "depth": Quantity<kind::Length>, "14 in", "How deep it lies";
    GRAINS = may "grains": Quantity<kind::Size>, "0.9 mm", "The size of its grains";
    VOIDS = may "voids": Quantity<kind::Share>, "42 %", "The share of it that is voids";
    DENSITY = may "density": Quantity<kind::Density>, "2.65 times water", "The density of its grains";
    AGAINST_SAND = may "compared with sand": Of<AgainstSand>, "{load held: 1.1 times}", "How it compares with sand";
}

declare! {
    /// How a medium compares with sand.
    AgainstSand, "compared with sand";
    LOAD = may "load held": Quantity<kind::Multiple>, "1.1 times", "What it holds";
    FLOW = may "wash flow": Quantity<kind::Multiple>, "0.8 times", "What it takes to wash it";
}

declare! {
    /// When a wash or change is due.
    Cadence, "when due" also due_sometime;
    BY = may "by": Words<LogWord>, "log", "That it is done when the log says so";
    EVERY = may "every": OneOrMore<Interval>, "24 h", "Every so long, or so many running hours";
    OR_EVERY = may "or every": OneOrMore<Interval>, "24 h", "Every so long, or so many running hours";
    AFTER = may "after": OneOrMore<Load>, "1.2 lb of solids", "After so much solids, water or time";
    OR_AFTER = may "or after": OneOrMore<Load>, "1.2 lb of solids", "After so much solids, water or time";
    AT = may "at": Clock, "5 am", "The hour at which it is done";
    NEVER = may "never between": NeverBetween, "[\"22:00\", \"5:00\"]", "Hours in which it is not done";
}

declare! {
    /// What one wash takes.
    OneWash, "one wash";
    USES = may "uses": Quantity<kind::Volume>, "400 gal", "What it takes, where that was measured";
    RATE = may "rate": Either<Quantity<kind::Flow>, Quantity<kind::Flux>>, "188 gpm",
        "Its flow, or over the area of a vessel";
    LASTS = may "lasts": Quantity<kind::Time>, "2 min", "How long it lasts";
    EACH = may "each": Words<EachWords>, "vessel", "What the flow is of: each vessel or body, or the filter";
}

declare! {
    /// What is run to waste after a wash.
    RinseToWaste, "rinse to waste";
    RATE = must "rate": Quantity<kind::Flow>, "300 gpm", "Its flow";
    LASTS = must "lasts": Quantity<kind::Time>, "5 min", "How long it lasts";
    EACH = may "each": Words<EachWords>, "vessel", "What the flow is of";
}

declare! {
    /// What one change takes.
    OneChange, "one change";
    LASTS = may "lasts": Quantity<kind::Time>, "2 min", "How long it lasts";
    DRAINS = may "drains": Quantity<kind::Volume>, "9 gal", "What is drained";
    TO = may "to": Outflow, "Settling pond", "Where that goes";
}

words! {
    /// What a flow is of.
    EachWords: (), "vessel" => (), "body" => (), "filter" => ();
}

/// The words of the kinds.
#[derive(Debug, Clone, Copy)]
pub(crate) struct FilterKinds;

impl Shape for FilterKinds {
    fn schema(_: &mut Defs) -> Json {
        one_of_words(FilterKind::ALL.iter().map(|kind| kind.words))
    }
}

/// A filter with the keys of its own kind.
#[derive(Debug, Clone, Copy)]
pub(crate) struct FilterOfAKind;

impl Shape for FilterOfAKind {
    fn schema(defs: &mut Defs) -> Json {
        let key = AnyFilter::KIND.word;
        let kinds = FilterKinds::schema(defs);
        let mut all_of = vec![
            needs(key, &any_case(key)),
            json!({"patternProperties": {any_case(key): kinds}}),
            any_of([AnyFilter::TAKES_FROM.word, AnyFilter::GOES_TO.word].map(|word| needs(word, &any_case(word)))),
        ];
        for (words, map) in kinds::KEYS {
            let of_this_kind = json!({"patternProperties": {any_case(key): text_like(words)}});
            let then = defs.map(map);
            all_of.push(json!({"if": {"allOf": [needs(key, &any_case(key)), of_this_kind]}, "then": then}));
        }
        let kind = json!({"description": "The kind of filter", "examples": FilterKind::ALL.iter().map(|kind| kind.words).collect::<Vec<_>>()});
        defs.part("filter", json!({"type": "object", "properties": {key: kind}, "allOf": all_of}))
    }
}

/// What a filter stops: `not known`, shares at the opening, one share for all, or a table of sizes.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Capture;

impl Shape for Capture {
    fn schema(defs: &mut Defs) -> Json {
        let share = Quantity::<kind::Share>::schema(defs);
        let sizes = any_case(&amount_template(kind::Size::UNITS));
        let words = any_case("all solids|bigger than the opening|smaller");
        let map = json!({
            "type": "object",
            "properties": {"all solids": share, "bigger than the opening": share, "smaller": share},
            "patternProperties": {sizes: share, words: share},
            "additionalProperties": false,
            "minProperties": 1,
        });
        defs.part("what is stopped", any_of([map, one_of_words(std::iter::once("not known"))]))
    }
}

/// `2 a day`.
#[derive(Debug, Clone, Copy)]
pub(crate) struct TimesADay;

impl Shape for TimesADay {
    fn schema(_: &mut Defs) -> Json {
        text_like(r"every day|(?:once|twice|\d+(?: times?)?) (?:a|per|each) day")
    }
}

/// `24 h`, `6 running hours`, `1.2 lb of solids`.
fn interval_template() -> String {
    let clocked = amount_template(kind::Time::UNITS);
    let mass = amount_template(kind::Mass::UNITS);
    format!(
        r"(?:not known|{clocked})|(?:not known|{NUMBER}(?: to {NUMBER})?) running hours?|(?:not known|{mass}) of solids"
    )
}

/// How often something is due.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Interval;

impl Shape for Interval {
    fn schema(defs: &mut Defs) -> Json {
        defs.part("interval", text_like(&interval_template()))
    }
}

/// After how much something is due.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Load;

impl Shape for Load {
    fn schema(defs: &mut Defs) -> Json {
        let volume = amount_template(kind::Volume::UNITS);
        defs.part("load", text_like(&format!("{}|{volume}", interval_template())))
    }
}

/// `[22:00, 5:00]`, or `22:00 to 5:00`.
#[derive(Debug, Clone, Copy)]
pub(crate) struct NeverBetween;

impl Shape for NeverBetween {
    fn schema(defs: &mut Defs) -> Json {
        let clock = clock_template();
        any_of([list_of(Clock::schema(defs)), text_like(&format!("{clock}to{clock}"))])
    }
}

/// It says when.
fn due_sometime(_: &mut Defs) -> Json {
    let keys = [
        Cadence::BY.word,
        Cadence::EVERY.word,
        Cadence::OR_EVERY.word,
        Cadence::AFTER.word,
        Cadence::OR_AFTER.word,
        Cadence::AT.word,
    ];
    any_of(keys.map(|word| needs(word, &any_case(word))))
}

#[cfg(test)]
pub(super) fn is_of_filters(map: &str) -> bool {
    let mut defs = Defs::default();
    FilterOfAKind::schema(&mut defs);
    // Where a flow goes is told with filters too, and read through its declaration.
    !["step of a flow", "share of a flow"].contains(&map) && defs.maps().iter().any(|of| of.name == map)
}

//! The keys of filters, by kind, as `filters` and `washes` read them: `schema` prints from these, and a test beside
//! this file holds them against what the readers say they know.

use serde_json::{Value as Json, json};

use super::keys::{Drawn, LogWord, Outflow};
use crate::facility::model::FilterKind;
use crate::files::schema::{Defs, NUMBER, any_case, any_of, list_of, needs, one_of_words, text_like};
use crate::files::shapes::{
    Clock, Count, Either, ListOf, Monthly, Name, OneOrMore, Quantity, Text, Words, amount_template, clock_template,
};
use crate::files::{Declares, Map, Of, Shape, declare, words};
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
    /// A screen that water falls over.
    GravityScreen, "gravity screen" with AnyFilter;
    HOSED = may "hosed down": Of<Hose>,
        "{flow: 8 gpm, lasts: 5 min, times: 2 a day, with: Town water, goes to: Settling pond}", "How it is hosed down";
}

declare! {
    /// A screen that shakes.
    VibratingScreen, "vibrating screen" with AnyFilter;
    DECKS = may "decks": ListOf<Of<Deck>>, "[{opening: 300 um, stops: {bigger than the opening: 95 %}}]",
        "Its decks, the coarse one first";
    SPRAY = may "spray": Of<Spray>, "{flow: 2 gpm, part of the time: 25 %, with: Town water}",
        "The spray that keeps it clean";
}

declare! {
    /// A screen under pressure.
    PressureScreen, "pressure screen" with Washed;
    IN_LINE = may "in line": Count<1, 1000>, "1", "How many bodies there are";
    CLEANED = must "cleaned": Words<CleanedWords>, "by itself", "Who cleans it";
}

declare! {
    /// A roll of cloth that moves on.
    MovingMedia, "moving media" with AnyFilter;
    RUNS_OUT = must "when it runs out": Words<RunsOutWords>, "passes unfiltered",
        "What happens when the roll is used up";
    ROLL = must "roll": Of<Roll>, "{length: 1000 ft, width: 40 in, dry weight: 30 g/m2, holds: 80 g/m2}", "The roll";
    DRIP = may "drip to": Outflow, "Settling pond", "Where it drips to";
}

declare! {
    /// A drum with a fine mesh.
    MicroscreenDrum, "microscreen drum" with AnyFilter;
    MESH = may "mesh area": Quantity<kind::Area>, "40 ft2", "The area of its mesh";
    RINSE = must "rinse": Of<DrumRinse>, "{flow: 10 gpm, part of the time: always, with: its own filtered water}",
        "How it is rinsed";
    RINSE_TO = must "rinse water to": Outflow, "Settling pond", "Where the rinse water goes";
}

declare! {
    /// Bags.
    Bag, "bag" with Changed;
    HOUSINGS = must "housings": Count<1, 1000>, "2", "How many housings there are";
    WORKING = may "working at once": Count<1, 1000>, "1", "How many of them work at once";
    BAG = may "bag": Of<OneBag>, "{dry weight: 200 g}", "One bag";
}

declare! {
    /// Cartridges.
    Cartridge, "cartridge" with Changed;
    ELEMENTS = must "elements": Count<1, 1000>, "6", "How many elements there are";
}

declare! {
    /// A shallow bed of media.
    ShallowBed, "shallow media bed" with Bed;
}

declare! {
    /// A deep bed of media.
    DeepBed, "deep media bed" with Bed;
    AIR = may "air scour": Of<AirScour>, "{lasts: 3 min}", "Air before the wash";
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
    /// Hosing down.
    Hose, "hosed down";
    FLOW = must "flow": Quantity<kind::Flow>, "8 gpm", "The hose's flow";
    LASTS = must "lasts": Quantity<kind::Time>, "5 min", "How long it lasts";
    TIMES = must "times": TimesADay, "2 a day", "How often in a day";
    WITH = must "with": Name, "Town water", "The water";
    GOES_TO = must "goes to": Outflow, "Settling pond", "Where it goes";
}

declare! {
    /// A spray.
    Spray, "spray";
    FLOW = must "flow": Quantity<kind::Flow>, "2 gpm", "The spray's flow";
    PART = must "part of the time": Quantity<kind::Share>, "25 %", "The part of the time that it runs";
    WITH = must "with": Name, "Town water", "The water";
}

declare! {
    /// A deck of a screen.
    Deck, "deck";
    OPENING = must "opening": Quantity<kind::Size>, "300 um", "Its opening";
    STOPS = must "stops": Capture, "{bigger than the opening: 95 %}", "What it stops";
}

declare! {
    /// A roll of cloth.
    Roll, "roll";
    LENGTH = must "length": Quantity<kind::Length>, "1000 ft", "Its length";
    WIDTH = must "width": Quantity<kind::Length>, "40 in", "Its width";
    DRY = must "dry weight": Quantity<kind::ArealMass>, "30 g/m2", "Its weight when dry";
    HOLDS = must "holds": Quantity<kind::ArealMass>, "80 g/m2", "The solids that it holds";
    AT_LEAST = may "at least": Quantity<kind::DepthRate>, "6 ft/day", "How far it moves in a day at least";
    WET = may "wet weight": Quantity<kind::TimesDry>, "5 times dry", "Its weight when wet";
}

declare! {
    /// The rinse of a drum.
    DrumRinse, "rinse of a drum";
    FLOW = must "flow": Quantity<kind::Flow>, "10 gpm", "The rinse's flow";
    PART = must "part of the time": Either<Words<RinseWords>, Quantity<kind::Share>>, "always",
        "The part of the time that it runs, always, or by level";
    CAKE = may "cake at full time": Quantity<kind::MassRate>, "6 lb/h",
        "The solids at which a rinse by level runs all the time";
    WITH = must "with": Name, "its own filtered water", "The water";
}

declare! {
    /// One bag.
    OneBag, "one bag";
    DRY = may "dry weight": Quantity<kind::Mass>, "200 g", "Its weight when dry";
    PRICE = may "price": Text, "prices.yaml", "The file that tells its price";
}

declare! {
    /// Air before a wash.
    AirScour, "air scour";
    LASTS = must "lasts": Quantity<kind::Time>, "3 min", "How long it lasts";
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
    /// Who cleans a screen.
    CleanedWords: bool, "by itself" => true, "by hand" => false;
    /// What happens when a roll is used up.
    RunsOutWords: bool, "passes unfiltered" => true, "a new roll at once" => false;
    /// When a drum is rinsed.
    RinseWords: bool, "always" => false, "by level" => true;
    /// What a flow is of.
    EachWords: (), "vessel" => (), "body" => (), "filter" => ();
}

/// The kinds of filter, each with its keys.
const KINDS: [(&str, &Map); 9] = [
    ("gravity screen", GravityScreen::MAP),
    ("vibrating screen", VibratingScreen::MAP),
    ("pressure screen", PressureScreen::MAP),
    ("moving media", MovingMedia::MAP),
    ("microscreen drum", MicroscreenDrum::MAP),
    ("bag", Bag::MAP),
    ("cartridge", Cartridge::MAP),
    ("shallow media bed", ShallowBed::MAP),
    ("deep media bed", DeepBed::MAP),
];

/// The words of the kinds.
#[derive(Debug, Clone, Copy)]
pub(crate) struct FilterKinds;

impl Shape for FilterKinds {
    fn schema(_: &mut Defs) -> Json {
        one_of_words(FilterKind::WORDS.into_iter())
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
        for (words, map) in KINDS {
            let of_this_kind = json!({"patternProperties": {any_case(key): text_like(words)}});
            let then = defs.map(map);
            all_of.push(json!({"if": {"allOf": [needs(key, &any_case(key)), of_this_kind]}, "then": then}));
        }
        let kind = json!({"description": "The kind of filter", "examples": FilterKind::WORDS});
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

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;
    use crate::facility::read::from_tree;
    use crate::files::{Source, yaml};
    use crate::told::Problems;

    /// What a reader says it knows of the map that holds the key `zzzzzzzz`: the keys that it asked for.
    fn known(filter: &str) -> BTreeSet<String> {
        let text = format!("filters:\n  F: {filter}\n");
        let problems = Problems::new();
        let tree = yaml::tree(&Source::new("facility.yaml", &text), &problems).unwrap();
        from_tree(&tree, std::path::Path::new("."), &problems);
        let told = problems.in_order();
        let unknown = told.iter().find(|problem| problem.to_string_line().contains("`zzzzzzzz` is not known in"));
        let hint = unknown.and_then(|problem| problem.hint.clone()).unwrap_or_else(|| panic!("{text}"));
        let keys = hint.strip_prefix("known here: ").unwrap_or_else(|| panic!("{hint}"));
        keys.split(", ").map(|key| key.trim_matches('`').to_owned()).collect()
    }

    fn declared(maps: &[&'static Map]) -> BTreeSet<String> {
        maps.iter().flat_map(|map| map.all()).map(|key| key.word().to_owned()).collect()
    }

    /// The keys of each map of filters are those that its reader asks for.
    #[test]
    fn the_keys_of_filters_are_those_that_their_readers_know() {
        for (kind, map) in KINDS {
            assert_eq!(known(&format!("{{kind: {kind}, zzzzzzzz: 1}}")), declared(&[map]), "{kind}");
        }
        let inner: [(&str, &str, &'static Map); 13] = [
            ("bag", "screenings", Screenings::MAP),
            ("gravity screen", "hosed down", Hose::MAP),
            ("vibrating screen", "spray", Spray::MAP),
            ("moving media", "roll", Roll::MAP),
            ("microscreen drum", "rinse", DrumRinse::MAP),
            ("bag", "bag", OneBag::MAP),
            ("deep media bed", "air scour", AirScour::MAP),
            ("pressure screen", "washes", Cadence::MAP),
            ("pressure screen", "one wash", OneWash::MAP),
            ("shallow media bed", "rinse to waste", RinseToWaste::MAP),
            ("bag", "changed", Cadence::MAP),
            ("bag", "one change", OneChange::MAP),
            ("cartridge", "changed", Cadence::MAP),
        ];
        for (kind, key, map) in inner {
            assert_eq!(known(&format!("{{kind: {kind}, {key}: {{zzzzzzzz: 1}}}}")), declared(&[map]), "{key}");
        }
        assert_eq!(known("{kind: vibrating screen, decks: [{zzzzzzzz: 1}]}"), declared(&[Deck::MAP]));
        assert_eq!(known("{kind: deep media bed, media: [{zzzzzzzz: 1}]}"), declared(&[Layer::MAP]));
        let sand = "{kind: deep media bed, media: [{compared with sand: {zzzzzzzz: 1}}]}";
        assert_eq!(known(sand), declared(&[AgainstSand::MAP]));
    }
}

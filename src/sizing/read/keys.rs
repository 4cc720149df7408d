//! Every key of the duties file, declared once: the readers read through these, and `schema` prints them.

use serde_json::Value as Json;

use super::forebay::coefficient;
use super::ground::ground_level;
use super::unit_prices::{earth, fence, lined, lump};
use super::{days_a_year, often};
use crate::files::schema::{Defs, NUMBER, any_case, any_of, needs, text_like};
use crate::files::shapes::{Count, Either, Known, ListOf, Name, Ratio, Text, Words, amount_template, span_template};
use crate::files::{Of, Shape, declare, parsed, words};
use crate::quantity::{self as q, Kind, kind, span};
use crate::science::hydrology::RainfallType;
use crate::sizing::{Datum, Objective, SpillsJudgedOn};

declare! {
    /// What a pond must do, and the ground there is for it.
    File, "basin" also a_duty;
    POND = may "pond": Name, "Settling pond", "The pond's name in the facility file";
    PROPOSAL = may "with proposal": Name, "proposals/new-pond.yaml", "A proposal that adds a pond that is not built";
    PLOT = must "plot": Of<Plot>, "{longest: 200 ft, widest: 80 ft, deepest: 8 ft, steepest side: 3 to 1}",
        "The ground there is";
    FREEBOARD = must "freeboard": Known<kind::Length>, "1.5 ft", "Bank top above the spill level";
    GROUND = may "ground": Of<Ground>, "{level: 2 ft below the bank top, outer side: 3 to 1}",
        "How the ground lies; else as high as the bank top";
    POOL = may "settling pool": Known<kind::Length>, "1 ft",
        "Water that stays over the sludge; nothing is drawn from it. Of a range, such as 1 to 3 ft, the depth with the least pond is chosen";
    CELLS = may "cells": Count<1, 50>, "2", "Cells in a row: more of them let less pass straight through";
    SETTLE = may "settle": Of<Settle>,
        "{particle: 20 um, density: 2.65 times water, water temperature: 43 F, at least: 80 %, flow: the computed peak}",
        "What is to settle";
    OVERFLOW = may "overflow rate": Of<Overflow>, "{at most: 0.2 mm/s}", "Flow over the water surface, at most";
    DETENTION = may "detention": Of<Detention>, "{at least: 24 h, flow: 200 gpm}", "How long the water stays, at least";
    HOLD = may "hold": Of<Hold>, "{return water: 2 days}", "What it must hold";
    DEPTHS = may "storm depths": Of<Depths>,
        "{source: county sheet 4, depths: [{every: 25 years, lasting: 24 h, depth: 3.4 in}]}",
        "Depths of storms, copied by hand";
    STORM = may "storm": Of<Storm>, "{every: 25 years, lasting: 24 h, from: the normal level}",
        "The storm that it must take";
    SPILLS = may "spills": Of<Spills>, "{no oftener than: once in 5 years}", "How often it may spill";
    CLEAN_OUT = may "clean out": Of<CleanOut>, "{no oftener than every: 8 years}", "How often it may be cleaned out";
    FOREBAY = may "forebay": Of<Forebay>, "{share of the pool at least: 10 %, clean out no oftener than every: 1 year}",
        "A first cell for coarse solids, parted off by a berm";
    SPILLWAY = may "emergency spillway": Of<Spillway>,
        "{crest above the spill level: 0.5 ft, wide: 20 ft, flow: 12 ft3/s, flow from: county sheet, freeboard left at least: 1 ft}",
        "A crest, and what it must leave of the freeboard; nothing sizes it";
    SHORTAGE = may "shortage": Of<Shortage>, "{at most: 5 days a year}",
        "Days on which a use gets less than it asks for";
    LEAST = must "least": Words<LeastWords>, "volume", "What is to be the least";
    COST = may "cost": Of<Cost>, "{dug: 6 USD per m3, lined: 9 USD per m2}", "What digging and lining cost";
    STEPS = may "steps": Of<Steps>, "{depth: 0.5 ft, length: 10 ft, width: 5 ft}",
        "Steps of the search; else chosen to suit the plot";
}

declare! {
    /// The ground there is, measured over the banks.
    Plot, "plot";
    LONGEST = must "longest": Known<kind::Length>, "200 ft", "The longest it can be";
    WIDEST = must "widest": Known<kind::Length>, "80 ft", "The widest it can be";
    DEEPEST = must "deepest": Known<kind::Length>, "8 ft", "The deepest it can be, floor to spill level";
    STEEPEST = must "steepest side": Ratio, "3 to 1", "The steepest side that stands, run to rise";
    LENGTH_TO_WIDTH = may "length to width at least": Ratio, "2 to 1", "The least length against width";
    FLOOR = may "floor at least": Known<kind::Length>, "6 ft", "The narrowest floor that can be built and cleaned out";
    BANK = may "bank all round": Known<kind::Length>, "6 ft", "The bank's width all round";
}

declare! {
    /// Level ground about the pond, and the banks on it.
    Ground, "ground";
    LEVEL = must "level": GroundLevel, "2 ft below the bank top", "How high the ground lies, said from bank top or spill level";
    OUTER = must "outer side": Ratio, "3 to 1", "The banks' outer side, run to rise";
    SHRINKS = may "shrinks": Known<kind::Share>, "15 %", "What compacting in a bank takes of the earth cut";
    SWELLS = may "swells": Known<kind::Share>, "25 %", "What the earth cut gains on a truck";
}

declare! {
    /// What is to settle.
    Settle, "settle";
    PARTICLE = must "particle": Known<kind::Size>, "20 um", "The particle's size";
    DENSITY = must "density": Known<kind::Density>, "2.65 times water", "Its density";
    TEMPERATURE = must "water temperature": Known<kind::Temperature>, "43 F", "The coldest water: it settles slowest";
    SHARE = must "at least": Known<kind::Share>, "80 %", "The share that must settle, below 100 %";
    FLOW = must "flow": Either<Words<PeakWords>, Known<kind::Flow>>, "620 gpm",
        "The flow through it, or: the computed peak";
    FLOW_FROM = may "flow from": Text, "\"pump curve, both pumps on\"", "Where a typed flow is from";
    RAIN = may "rain at the peak": Known<kind::DepthRate>, "0.4 in/h", "The rain of a computed peak";
    SHARE_AT_PEAK = may "runs off at the peak": Known<kind::Share>, "45 %",
        "Of that rain, what runs off ground with a curve number: rational method";
    CONCENTRATION = may "time of concentration": Known<kind::Time>, "20 min",
        "From the furthest point of ground with a curve number: graphical method, with the storm of 24 h";
    RAINFALL = may "rainfall type": Words<RainfallWords>, "II", "The distribution of rain in the storm: graphical method";
}

declare! {
    /// Flow over the water surface.
    Overflow, "overflow rate";
    MOST = must "at most": Known<kind::Flux>, "0.2 mm/s", "The most that it may be";
    FLOW = may "flow": Known<kind::Flow>, "620 gpm", "The flow; else that of `settle`";
}

declare! {
    /// How long the water stays.
    Detention, "detention";
    LEAST = must "at least": Known<kind::Time>, "24 h", "The least time, with the sludge store full";
    FLOW = may "flow": Known<kind::Flow>, "620 gpm", "The flow; else that of `settle`";
}

declare! {
    /// What it must hold.
    Hold, "hold" also held;
    RETURN_WATER = may "return water": WholeDays, "2 days", "Days of return water";
    WASH_WATER = may "wash water": WholeDays, "1 day", "Days of wash water";
    FIRST_RAIN = may "first rain": Known<kind::RainDepth>, "0.5 in", "The first rain off the ground";
}

declare! {
    /// Depths of storms, and who made the table.
    Depths, "storm depths";
    SOURCE = must "source": Text, "\"county sheet 4, 2019\"", "The sheet or page that the depths are from";
    DEPTHS = must "depths": ListOf<Of<Row>>, "[{every: 25 years, lasting: 24 h, depth: 3.4 in}]",
        "The storms; depths between rows are not guessed";
}

declare! {
    /// The depth of a storm.
    Row, "depth of a storm";
    EVERY = must "every": WholeYears, "25 years", "How seldom it comes";
    LASTING = must "lasting": StormTime, "24 h", "How long it lasts";
    DEPTH = must "depth": Known<kind::RainDepth>, "3.4 in", "How deep it rains";
}

declare! {
    /// The storm that it must take.
    Storm, "storm";
    EVERY = must "every": WholeYears, "25 years", "How seldom it comes";
    LASTING = must "lasting": StormTime, "24 h", "How long it lasts";
    FROM = must "from": StormStart, "the normal level", "The level at which the storm finds the pond";
    ROOM_ON = may "room on at least": Known<kind::Share>, "95 %", "The share of days that close with the storm's room free";
    DRAWDOWN = may "drawdown": Of<Letting>, "{by: pump, within: 48 h, to: Ditch}",
        "What lets water out until the storm's room is free again; the run keeps it";
}

declare! {
    /// What lets water out before a storm.
    Letting, "drawdown";
    BY = must "by": Words<ByWords>, "pump", "A pump or an outlet";
    WITHIN = must "within": Known<kind::Time>, "48 h", "The time in which the storm's room is free again";
    TO = must "to": Name, "Ditch", "Where the water goes";
    RATE = may "rate": Known<kind::Flow>, "300 gpm", "Its rate; else what frees the room in time";
    DOWN_TO = may "down to": Words<DownToWords>, "the foot of what is held",
        "How far it goes on: else to the level from which the storm fits, so that it never empties the room of what is held";
}

declare! {
    /// How often it may spill.
    Spills, "spills";
    OFTENER = must "no oftener than": HowSeldom, "once in 5 years", "The most spills that are allowed";
    JUDGED_ON = may "judged on": Words<JudgedWords>, "the count",
        "Whether the count is held against it, or the upper end of its interval";
    APART = may "counted apart after": WholeDays, "1 day", "The days without a spill that part two";
    LONGEST = may "lasting at most": WholeDays, "14 days", "The most days that one may last";
}

declare! {
    /// How often it may be cleaned out.
    CleanOut, "clean out";
    EVERY = must "no oftener than every": CleanOutTime, "8 years", "The least time between two clean-outs";
    DRY_SOLIDS = may "dry solids": Known<kind::Share>, "8 %", "Dry solids in the settled sludge";
}

declare! {
    /// A first cell for coarse solids.
    Forebay, "forebay" also sized;
    SHARE = may "share of the pool at least": Known<kind::Share>, "10 %",
        "Of all under the top of the settling pool";
    RUNOFF = may "runoff at least": Known<kind::RainDepth>, "0.1 in", "A depth of water off all ground that drains to the pond";
    MOST = may "at most": Known<kind::Share>, "25 %", "The most of the pool that it may take; else half";
    EVERY = may "clean out no oftener than every": CleanOutTime, "1 year", "The least time between two clean-outs of it";
    FULL_AT = may "cleaned out when full to": Known<kind::Share>, "50 %", "How full it is then; else half";
    BERM = may "berm": Of<Berm>, "{high: 3 ft, top: 2 ft, side: 2 to 1}", "Its berm, where it is to take room in the pond";
}

declare! {
    /// The berm of a forebay.
    Berm, "berm";
    HIGH = must "high": Known<kind::Length>, "3 ft", "Its top above the floor";
    TOP = must "top": Known<kind::Length>, "2 ft", "Width of its top";
    SIDE = must "side": Ratio, "2 to 1", "Its sides, run to rise";
}

declare! {
    /// A crest that was typed, and what it must leave of the freeboard at a flow that was typed.
    Spillway, "emergency spillway";
    CREST = must "crest above the spill level": Known<kind::Length>, "0.5 ft", "How far its crest lies above the spill level";
    WIDE = must "wide": Known<kind::Length>, "20 ft", "Length of the crest across the flow";
    COEFFICIENT = may "coefficient": WeirCoefficient, "2.6 US", "Its weir coefficient: 2.6 US or 1.44 metric; else 2.6 US";
    FLOW = must "flow": Known<kind::Flow>, "12 ft3/s", "The flow over it";
    FLOW_FROM = must "flow from": Text, "\"county sheet, 100 years, 24 h\"", "Where that flow is from";
    LEAST = must "freeboard left at least": Known<kind::Length>, "1 ft", "Bank top above the water at that flow";
}

declare! {
    /// Days on which a use gets less than it asks for.
    Shortage, "shortage";
    MOST = must "at most": DaysAYear, "5 days a year", "The most such days";
}

declare! {
    /// What digging and lining cost.
    Cost, "cost";
    DUG = must "dug": EarthPrice, "6 USD per m3", "For digging, as the earth lies in the ground";
    BANKED = may "banked": EarthPrice, "4 USD per m3", "For filling the banks, as the earth stands in them";
    HAULED = may "hauled": EarthPrice, "9 USD per m3", "For hauling away what is left over, as it lies on the truck";
    BROUGHT = may "brought": EarthPrice, "20 USD per m3", "For bringing what is lacking, as it lies on the truck";
    LINED = must "lined": LinedPrice, "9 USD per m2", "For lining";
    FENCE = may "fence": FencePrice, "40 USD per m", "For a fence round the banks";
    ACCESS = may "access": LumpPrice, "5000 USD", "For the way to it, ramp and gate";
    BY = may "by": Text, "\"the builder\"", "Who said so";
}

declare! {
    /// Steps of the search.
    Steps, "steps";
    DEPTH = may "depth": Known<kind::Length>, "0.5 ft", "From one depth to the next";
    LENGTH = may "length": Known<kind::Length>, "10 ft", "From one length to the next";
    WIDTH = may "width": Known<kind::Length>, "5 ft", "From one width to the next";
}

parsed! {
    /// Whole days.
    WholeDays: q::Span, "whole days", "2 days", span, text_like(&span_template());
    /// Whole years.
    WholeYears: q::Span, "whole years", "25 years", span, text_like(&span_template());
    /// How long a storm lasts.
    StormTime: q::Span, "a length of time", "24 h", span, text_like(&span_template());
    /// The time between two clean-outs.
    CleanOutTime: q::Span, "a length of time", "8 years", span, text_like(&span_template());
    /// A weir coefficient.
    WeirCoefficient: f64, "a weir coefficient", "2.6 US", coefficient, text_like(&format!("{NUMBER} (?:US|metric|SI)"));
    /// How high the ground lies.
    GroundLevel: (f64, Datum), "a level of the ground", "2 ft below the bank top", ground_level, {
        let depth = amount_template(kind::Length::UNITS);
        text_like(&format!(r"(?:level with|{depth}\s*(?:below|above))(?: the)? (?:bank top|spill level)"))
    };
    /// Times a year.
    HowSeldom: f64, "how often", "once in 5 years", often, {
        let count = format!("(?:once|one|twice|never|no|{NUMBER})(?: times)?");
        text_like(&format!("never|{count} (?:(?:a|per) year|in {NUMBER} years?)"))
    };
    /// Days a year.
    DaysAYear: f64, "days a year", "5 days a year", days_a_year, text_like(&format!("{NUMBER} days?(?: (?:a|per) |/)year"));
    /// A price for moving earth.
    EarthPrice: (String, f64), "a price for moving earth", "6 USD per m3", earth, price_of("(?:m3|m\u{b3}|yd3|ft3)");
    /// A price for a fence.
    FencePrice: (String, f64), "a price for a fence", "40 USD per m", fence, price_of("(?:m|yd|ft)");
    /// A price for all of something.
    LumpPrice: (String, f64), "an amount of money", "5000 USD", lump, text_like(&format!(r"{NUMBER} [^\s\d]+"));
    /// A price for lining.
    LinedPrice: (String, f64), "a price for lining", "9 USD per m2", lined, price_of("(?:m2|m\u{b2}|yd2|ft2)");
}

words! {
    /// What is to be the least.
    LeastWords: Objective, "volume" => Objective::Volume, "footprint" => Objective::Footprint, "cost" => Objective::Cost;
    /// What spills are judged on.
    JudgedWords: SpillsJudgedOn, "the count" => SpillsJudgedOn::TheCount, "the upper end" => SpillsJudgedOn::TheUpperEnd;
    /// What lets water out.
    ByWords: &'static str, "pump" => "pump", "outlet" => "outlet";
    /// How far it is let out; whether what is held goes with it.
    DownToWords: bool, "the foot of what is held" => true, "the level of the storm" => false;
    /// A distribution of rain over 24 h.
    RainfallWords: RainfallType, "I" => RainfallType::I, "IA" => RainfallType::IA, "II" => RainfallType::II,
        "III" => RainfallType::III;
    /// A flow that is worked out.
    PeakWords: (), "the computed peak" => (), "computed peak" => ();
}

fn price_of(unit: &str) -> Json {
    text_like(&format!(r"{NUMBER} [^\s\d]+ per {unit}"))
}

/// The level at which a storm finds the pond.
#[derive(Debug, Clone, Copy)]
pub(crate) struct StormStart;

impl Shape for StormStart {
    fn schema(_: &mut Defs) -> Json {
        let depth = amount_template(kind::Length::UNITS);
        text_like(&format!(
            r"(?:the )?normal level|the run['\u2019]s own levels|{depth}\s*below(?: the)? spill(?: level)?"
        ))
    }
}

fn one_of<const N: usize>(keys: [&str; N]) -> Json {
    any_of(keys.map(|word| needs(word, &any_case(word))))
}

/// A pond without a duty would be any puddle.
fn a_duty(_: &mut Defs) -> Json {
    one_of(DUTIES)
}

/// The keys that give the pond a duty.
pub(super) const DUTIES: [&str; 10] = [
    File::SETTLE.word,
    File::OVERFLOW.word,
    File::DETENTION.word,
    File::HOLD.word,
    File::STORM.word,
    File::SPILLS.word,
    File::CLEAN_OUT.word,
    File::SHORTAGE.word,
    File::FOREBAY.word,
    File::SPILLWAY.word,
];

/// It has a size.
fn sized(_: &mut Defs) -> Json {
    one_of([Forebay::SHARE.word, Forebay::RUNOFF.word])
}

/// It holds something.
fn held(_: &mut Defs) -> Json {
    one_of(HELD)
}

/// The keys that say what is held.
pub(super) const HELD: [&str; 3] = [Hold::RETURN_WATER.word, Hold::WASH_WATER.word, Hold::FIRST_RAIN.word];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::{Source, never_asked, yaml};
    use crate::told::Problems;

    /// A key that is declared and never read would be right to an editor and wrong to the program. Whether the values
    /// below are right does not matter: each map is opened.
    #[test]
    fn every_declared_key_is_read() {
        let text = "plot: {}\nground: {}\nsettle: {}\nhold: {}\nstorm depths: {depths: [{}]}\noverflow rate: {}\ndetention: {}\nstorm: {drawdown: {}}\nspills: {}\nclean out: {}\nshortage: {}\nforebay: {berm: {}}\nemergency spillway: {}\ncost: {}\nsteps: {}\n";
        let problems = Problems::new();
        let tree = yaml::tree(&Source::new("basin.yaml", text), &problems).unwrap();
        super::super::read(&tree, &problems);
        assert_eq!(never_asked::<File>(|_| false), Vec::<String>::new());
    }
}

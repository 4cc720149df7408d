//! The keys of meters and weirs.

use serde_json::{Value as Json, json};

use super::keys::either;
use crate::facility::model::HeadStands;
use crate::files::schema::{Defs, NUMBER, any_case, any_of, text_like, units};
use crate::files::shapes::{Clock, Count, Date, Factor, ListOf, Name, Number, Quantity, Text, Words};
use crate::files::{Of, declare, parsed, words};
use crate::quantity::{self as q, Kind, kind};

declare! {
    /// A meter on a way from one place to another.
    Meter, "meter" also dial_or_weir;
    FROM = must "from": Name, "Well", "Where the way begins";
    TO = must "to": Name, "Storage pond", "Where it ends";
    WHAT = may "what": Text, "wash water", "What flows there, where two ways join the same places";
    COUNTS = may "counts in": MeterCounts, "gal", "What one count is";
    DIGITS = may "digits": Count<1, 12>, "6", "How many digits it shows";
    WEIR = may "weir": Of<MeterWeir>, "{shape: V-notch of 90 degrees, a reading stands for: that day}",
        "In place of a dial: the weir over which the head is written down";
    READ_AT = may "read at": Clock, "7 am", "The hour at which it is read";
    EXCHANGED = may "exchanged": ListOf<Of<Exchange>>, "[{on: 2025-05-12, old read: 4706, new read: 0}]",
        "When it was exchanged for a new one";
    OFF_BY = may "off by": Quantity<kind::Share>, "2 %", "How far it may be off";
}

declare! {
    /// A weir whose head is written down day by day.
    MeterWeir, "weir of a meter" also shape_or_figures;
    SHAPE = may "shape": Words<WeirWords>, "V-notch of 90 degrees", "Its shape, whose equation is taken";
    WIDTH = may "width": Quantity<kind::Length>, "3 ft", "The width of a rectangular one's crest";
    ENDS = may "end contractions": Count<0, 2>, "2", "Ends of the crest that are narrower than the channel";
    COEFFICIENT = may "coefficient": Number, "2.5", "The permit's own: flow = coefficient × head to the power of exponent";
    EXPONENT = may "exponent": Number, "2.5", "The permit's own exponent";
    FLOW_IN = may "flow in": Words<FlowUnits>, "cfs", "The unit of that flow";
    HEAD_IN = may "head in": Words<HeadUnits>, "ft", "The unit of that head";
    STANDS = must "a reading stands for": Words<StandsWords>, "that day", "Which days have the flow of a reading";
}

declare! {
    /// The exchange of a meter.
    Exchange, "exchange of a meter";
    ON = must "on": Date, "2025-03-11", "The day";
    OLD = must "old read": Number, "884210", "What the old one read last";
    NEW = must "new read": Number, "12", "What the new one read first";
    COUNTS = may "counts in": MeterCounts, "m3", "What one count of the new one is, where it is not what the old one's was";
    DIGITS = may "digits": Count<1, 12>, "6", "How many digits the new one shows, where they are others";
}

declare! {
    /// A weir.
    Weir, "weir" also width_of_a_crest;
    SHAPE = must "shape": Words<WeirWords>, "V-notch of 90 degrees", "Its shape";
    WIDTH = may "width": Quantity<kind::Length>, "3 ft", "The width of its crest";
    ENDS = may "end contractions": Count<0, 2>, "2", "Ends of the crest that are narrower than the channel";
    COEFFICIENT = may "coefficient": Factor, "0.85 to 0.95", "The share of the ideal flow that passes";
}

parsed! {
    /// What one count of a meter is.
    MeterCounts: q::MeterUnit, "what one count of a meter is", "gal, x10 gal or 100 ft3", q::meter_unit,
        text_like(&format!("(?:[xX\u{d7}]\\s*)?(?:{NUMBER}\\s*)?(?:{})", units(kind::Volume::UNITS)));
}

words! {
    /// The shape of a weir.
    WeirWords: WeirShape, "V-notch of 90 degrees" => WeirShape::VNotch90, "V-notch of 60 degrees" => WeirShape::VNotch60,
        "V-notch of 120 degrees" => WeirShape::VNotch120, "rectangular" => WeirShape::Rectangular, "broad crested" => WeirShape::BroadCrested;
    /// Units of a weir's flow.
    FlowUnits: &'static str, "cfs" => "cfs", "gpm" => "gpm", "MGD" => "MGD", "gal/day" => "gal/day", "m3/s" => "m3/s",
        "m3/h" => "m3/h", "m3/day" => "m3/day", "L/s" => "L/s", "L/min" => "L/min";
    /// Units of a head.
    HeadUnits: &'static str, "ft" => "ft", "in" => "in", "m" => "m", "cm" => "cm", "mm" => "mm";
    /// How long a head stands.
    StandsWords: HeadStands, "that day" => HeadStands::ThatDay, "the day before" => HeadStands::TheDayBefore,
        "until the next reading" => HeadStands::UntilTheNext;
}

/// The shapes of weirs, before their widths are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum WeirShape {
    VNotch90,
    VNotch60,
    VNotch120,
    Rectangular,
    BroadCrested,
}

/// A dial has its unit and its digits; a weir has neither.
fn dial_or_weir(_: &mut Defs) -> Json {
    any_of([json!({"allOf": [either([Meter::COUNTS.word]), either([Meter::DIGITS.word])]}), either([Meter::WEIR.word])])
}

fn shape_or_figures(_: &mut Defs) -> Json {
    either([MeterWeir::SHAPE.word, MeterWeir::COEFFICIENT.word, MeterWeir::EXPONENT.word])
}

/// Only a crest has a width, and only a broad one a coefficient.
fn width_of_a_crest(_: &mut Defs) -> Json {
    let shape = |template: &str| json!({"patternProperties": {any_case(Weir::SHAPE.word): text_like(template)}});
    let without = |words: &[&str]| {
        let none: serde_json::Map<String, Json> = words.iter().map(|word| (any_case(word), json!(false))).collect();
        json!({"patternProperties": none})
    };
    let width = either([Weir::WIDTH.word]);
    any_of([
        json!({"allOf": [shape("V-notch of (?:60|90|120) degrees"),
            without(&[Weir::WIDTH.word, Weir::ENDS.word, Weir::COEFFICIENT.word])]}),
        json!({"allOf": [shape("rectangular"), width, without(&[Weir::COEFFICIENT.word])]}),
        json!({"allOf": [shape("broad crested"), width, without(&[Weir::ENDS.word])]}),
    ])
}

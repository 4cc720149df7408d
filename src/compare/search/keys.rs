//! Every key of a file of stages, declared once: the reader reads through these, and `schema` prints them.

use serde_json::{Value as Json, json};

use crate::compare::keys::{Labour, Lift, PaidOnce, UsedUp};
use crate::files::schema::{Defs, any_case, any_of, list_of, text_like};
use crate::files::shapes::{Anything, Count, Known, Name, Named, OneOrMore, Text, amount_template};
use crate::files::{Of, Shape, declare};
use crate::quantity::{Kind as _, kind};

declare! {
    /// Which trains are tried, and in place of what.
    File, "stages";
    IN_PLACE_OF = must "in place of": OneOrMore<Name>, "Sand beds",
        "The filters that a train stands for, in the order in which the water passes them";
    KEEPS_BACK = may "keeps back": Of<KeepsBack>, "{size: 25 um, at least: 60 %}",
        "What a train must keep back; else what the site does of the target size in prices.yaml";
    MOST_STAGES = may "stages at most": Count<1, 3>, "3", "The most stages one after another";
    FINER = may "each finer by": Known<kind::Multiple>, "2 times", "How much finer each stage is than the one before";
    MOST_TRAINS = may "trains at most": Count<1, 2000>, "200", "The most trains that are run";
    WASTES_TO = may "wash water to": Name, "Settling pond",
        "Where wash, rinse and reject water of the stages goes that do not say so, or: nowhere";
    PUMP = may "pump": Of<Lift>, "{head: 140 ft, efficiency: 55 %}",
        "What brings the water to the first stage, without what any filter loses";
    STAGES = must "stages": Named<Of<Stage>>, "{Bags: {figures from: common practice, lines: {kind: bag}, sizes: [25 um]}}",
        "The kinds of stage that are allowed, by names of your own";
}

declare! {
    /// What a train must keep back.
    KeepsBack, "keeps back";
    SIZE = must "size": Known<kind::Size>, "25 um", "Solids of this size";
    SHARE = must "at least": Known<kind::Share>, "60 %", "The share of them, by what is typed of each stage";
}

declare! {
    /// A kind of stage that is allowed.
    Stage, "stage";
    FIGURES_FROM = must "figures from": Text, "\"common practice, no source\"", "Who says what it does";
    LIKE = may "like": Name, "Sand beds", "A filter of the site that may stay, as it stands there";
    LINES = may "lines": Anything, "{kind: bag, housings: 2}",
        "Its lines as in facility.yaml, without `takes from` and `goes to`";
    SIZES = must "sizes": Sizes, "[50 um, 25 um]", "How fine it comes; the lines of each that differ";
    SIDE_BY_SIDE = may "side by side": SideBySide, "{2: {housings: 4, working at once: 2}}",
        "How many may stand side by side, and the lines that this changes";
    TAKES = may "takes at most": Known<kind::Concentration>, "80 mg/L",
        "Solids in the water that it can take, as the year's mean";
    PAYS_ONCE = may "pays once": Of<PaidOnce>, "{price: 9000 USD, lasts: 15 years}", "What one of it costs to buy";
    USED_UP = may "used up": Of<UsedUp>, "{price: 9 USD each}", "What a change uses";
    LABOUR = may "labour minutes": Of<Labour>, "{a check: 3 min, how often: once a day}", "Minutes of work at one of it";
    LABOR = may "labor minutes": Of<Labour>, "{a check: 3 min, how often: once a day}", "Minutes of work at one of it";
    PUMP = may "pump": Of<Lift>, "{head: 15 ft, efficiency: 55 %}", "What it loses of the head";
}

declare! {
    /// What differs in one size.
    Size, "size of a stage";
    LINES = may "lines": Anything, "{changed: {after: 4 lb of solids}}", "Lines that differ in this size";
    PAYS_ONCE = may "pays once": Of<PaidOnce>, "{price: 9000 USD, lasts: 15 years}", "What one of it costs to buy";
    USED_UP = may "used up": Of<UsedUp>, "{price: 9 USD each}", "What a change uses";
    TAKES = may "takes at most": Known<kind::Concentration>, "80 mg/L", "Solids in the water that it can take";
}

/// A list of sizes, or a map of sizes to what differs.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Sizes;

impl Shape for Sizes {
    fn schema(defs: &mut Defs) -> Json {
        let size = amount_template(kind::Size::UNITS);
        let differs = any_of([defs.map(<Size as crate::files::Declares>::MAP), json!({"type": "null"})]);
        let map = json!({
            "type": "object",
            "patternProperties": {any_case(&size): differs},
            "additionalProperties": false,
            "minProperties": 1,
        });
        any_of([list_of(text_like(&size)), text_like(&size), map])
    }
}

/// Lines by how many stand side by side.
#[derive(Debug, Clone, Copy)]
pub(crate) struct SideBySide;

impl Shape for SideBySide {
    fn schema(_: &mut Defs) -> Json {
        json!({
            "type": "object",
            "patternProperties": {r"^\s*[1-4]\s*$": {"type": ["object", "null"]}},
            "additionalProperties": false,
            "minProperties": 1,
        })
    }
}

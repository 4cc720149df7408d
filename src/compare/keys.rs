//! Every key of a prices file and of a proposal, declared once: the readers read through these, and `schema` prints them.

use serde_json::{Value as Json, json};

use super::proposal::SECTIONS;
use super::{paid, prices};
use crate::facility::section_schema;
use crate::files::schema::{Defs, NUMBER, any_case, any_of, needs, text_like};
use crate::files::shapes::{Anything, Count, Date, Known, Name, Named, Often, OneOrMore, Span, Text, Words, YesOrNo};
use crate::files::{Of, Shape, declare, parsed, words};
use crate::quantity::kind;

declare! {
    /// A prices file: what things cost, by whom told and when.
    File, "prices" with Both;
    MONEY = must "money": Text, "USD", "The money, one for the whole file";
    YEARS = must "years compared": Span, "10 years", "The years over which options are compared";
    DISCOUNT = must "discount rate": Discount, "5 %", "The discount rate of a year, or a range of it";
    PRICES = may "prices": Named<Of<PriceLine>>, "{Town water: {price: 5.40 USD per 1000 gal}}",
        "Prices, by the place's name, or power, labour, pond sludge";
    TARIFFS = may "tariffs": Named<Of<Tariff>>, "{Town sewer: {base: 38 USD per month}}",
        "Tariffs of places that take water, by the place's name";
    RATE_IS = may "discount rate is": Words<RateWords>, "real", "Whether it leaves inflation out (real) or holds it (nominal)";
    RISES = may "prices rise": Of<Rise>, "{all: 2 %, power: 4 %}", "How prices rise in a year";
    RENEWS = may "renews": Named<Of<PaidOnce>>, "{Sand: {price: 3000 USD, first after: 2 years, lasts: 8 years, of: Media bed}}",
        "What the site as it stands buys anyhow";
    SERVICE = may "equal service": Of<Service>, "{target size: 50 um}", "What every option must give alike";
}

declare! {
    /// What a prices file and a proposal both hold.
    Both, "prices and proposals";
    USED_UP = may "used up": Named<Of<UsedUp>>, "{Pond bags: {price: 9 USD each}}",
        "What a change uses, by the filter's name";
    REGULARLY = may "pays regularly": Named<Of<Regular>>, "{Service contract: {price: 900 USD per year, of: Media bed}}",
        "What is paid each month or year";
    LABOUR = may "labour minutes": Named<Of<Labour>>, "{Media bed: {a check: 8 min, how often: once a day}}",
        "Minutes of work, by the filter's name";
    LABOR = may "labor minutes": Named<Of<Labour>>, "{Media bed: {a check: 8 min, how often: once a day}}",
        "Minutes of work, by the filter's name";
    PUMPS = may "pumps": Named<Of<Pump>>, "{Booster: {water to: Media bed, head: 150 ft, efficiency: 55 %}}",
        "Pumps, by names of your own";
}

declare! {
    /// Who told it and when.
    Told, "told by";
    BY = may "by": Text, "\"the water company\"", "Who told it";
    ON = may "on": Date, "2025-03-01", "When it was told";
}

declare! {
    /// A price.
    PriceLine, "price" with Told;
    PRICE = must "price": Priced, "5.40 USD per 1000 gal", "The price, or a range of it";
}

declare! {
    /// What a change uses.
    UsedUp, "used up" with Told;
    PRICE = must "price": Priced, "9 USD each", "The price of one, or a range of it";
    DRY = may "dry weight": Known<kind::Mass>, "300 g", "Of one piece without what it holds, where the filter's lines do not say";
    MOIST = may "water when hauled": Known<kind::Share>, "60 %", "Of the weight that is hauled";
}

declare! {
    /// What is paid once.
    PaidOnce, "paid once" with Told;
    PRICE = must "price": Priced, "11000 USD", "The price of all of it, or a range of it";
    LASTS = must "lasts": Span, "15 years", "How long until it has to be bought again";
    FIRST = may "first after": Span, "3 years", "When it is bought first; now when it is not typed";
    OF = may "of": Name, "Media bed", "The place without which it is not bought";
}

declare! {
    /// What is paid each month or year.
    Regular, "paid regularly" with Told;
    PRICE = must "price": Priced, "900 USD per year", "The price of a month or a year, or a range of it";
    OF = may "of": Name, "Media bed", "The place without which it is not paid";
}

declare! {
    /// How prices rise in a year.
    Rise, "price rises";
    ALL = may "all": Percent, "2 %", "All that has no line of its own, and what is bought";
    SUPPLY = may "water": Percent, "3 %", "Water bought and pumped";
    SEWER = may "sewer": Percent, "3 %", "The sewer";
    HAULING = may "hauling": Percent, "3 %", "Wet waste hauled";
    SLUDGE = may "sludge": Percent, "3 %", "Pond sludge";
    USED_UP = may "used up": Percent, "3 %", "Bags, cartridges, rolls";
    LABOUR = may "labour": Percent, "3 %", "Labour";
    POWER = may "power": Percent, "4 %", "Power";
    REGULARLY = may "paid regularly": Percent, "2 %", "What is paid each month or year";
}

declare! {
    /// A tariff of a place that takes water.
    Tariff, "tariff" with Told;
    BASE = may "base": Priced, "38 USD per month", "Paid each month or year, whatever flows";
    WATER = may "water": Priced, "6.80 USD per 1000 gal", "For the water";
    MONTH = may "month begins on the": Count<1, 28>, "15", "The day of the month on which the bill's month begins";
    SURCHARGE = may "surcharge": Of<Surcharge>,
        "{parameter: total suspended solids, over: 250 mg/L, price: 0.42 USD per lb}", "On what is stronger than usual";
}

declare! {
    /// A surcharge on what is stronger than usual.
    Surcharge, "surcharge";
    PARAMETER = must "parameter": Text, "total suspended solids", "What is measured";
    OVER = must "over": Known<kind::Concentration>, "250 mg/L", "The concentration above which it is paid";
    PRICE = must "price": Priced, "0.42 USD per lb", "The price of the mass above";
}

declare! {
    /// Minutes of work at a filter.
    Labour, "labour minutes";
    CHECK = may "a check": Span, "8 min", "What one check takes";
    OFTEN = may "how often": Often, "once a day", "How often it is checked";
    ROLL = may "a new roll": Span, "20 min", "What it takes to put on a new roll";
}

declare! {
    /// How high water is lifted, and how well.
    Lift, "lift" with Told;
    HEAD = must "head": Known<kind::Length>, "150 ft",
        "Lift, friction, pressure at the far end and what the filter loses, together";
    EFFICIENCY = must "efficiency": Known<kind::Share>, "55 %", "Of pump and motor together";
}

declare! {
    /// A pump.
    Pump, "pump" with Lift also lifts;
    WATER_TO = may "water to": OneOrMore<Name>, "Sand beds", "The places to which it brings all water";
    WASHES_OF = may "washes of": OneOrMore<Name>, "Sand beds", "The filters that it washes";
}

declare! {
    /// What every option must give alike.
    Service, "equal service";
    TARGET = may "target size": Known<kind::Size>, "50 um", "Coarser solids than this are to be kept from the uses";
    ALIKE = may "coarser solids alike within": Known<kind::Concentration>, "1 mg/L",
        "How much more of them is taken as the same";
    TEST = may "test solids": Known<kind::Concentration>, "5 mg/L",
        "Of each coarser size, in front of the filters: would they stop what may come?";
    WITHIN = may "water and peak alike within": Known<kind::Share>, "1 %",
        "How far the year's water and its largest day may differ";
}

declare! {
    /// A proposal: what changes at the site, and what is paid once.
    Proposal, "proposal" with Both;
    NAME = must "name": Text, "Bags in place of the sand beds", "What the proposal is called";
    TUNED = may "tuned": YesOrNo, "yes", "Whether it is the site as it stands, at its best";
    CHANGE = may "change": Named<Anything>, "{Sand beds: {washes: {every: 24 h}}}",
        "Lines of places that change, by the place's name";
    REPLACE = may "replace": Named<Replaced>, "{Sand beds: {by: Pond bags, kind: bag}}",
        "Places that are replaced, with the new one's name and lines";
    ADD = may "add": Added, "{tanks: {New tank: {holds: 9000 gal}}}", "New places, by the section of the facility file";
    REMOVE = may "remove": OneOrMore<Name>, "[M2 wash]", "Names that go";
    PAYS_ONCE = may "pays once": Named<Of<PaidOnce>>, "{Housings: {price: 11000 USD, lasts: 15 years}}",
        "What is bought once";
}

declare! {
    /// A place that replaces another: its name; the other lines are its own.
    Replacement, "replacement";
    BY = must "by": Name, "Pond bags", "The new place's name";
}

words! {
    /// Whether a rate leaves inflation out.
    RateWords: prices::RateIs, "real" => prices::RateIs::Real, "nominal" => prices::RateIs::Nominal;
}

parsed! {
    /// How much a price rises in a year.
    Percent: f64, "a share a year", "2 %", paid::rise, text_like(&format!(r"-?{NUMBER}\s*%"));
    /// A discount rate, or a range of it.
    Discount: (f64, f64), "a discount rate", "5 %", prices::percent_ends,
        text_like(&format!(r"{NUMBER}\s*%?(?: to {NUMBER})?\s*%+"));
}

/// `5.40 USD per 1000 gal`, `8.50 to 13 USD each`, `11000 USD`.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Priced;

impl Shape for Priced {
    fn schema(defs: &mut Defs) -> Json {
        let per = "gal|gallons?|m3|m\u{b3}|L|l|ft3|ft\u{b3}|yd3|yd\u{b3}|lb|kg|ton|tonne|t|kWh|h|hour|month|year";
        let money = r"[^\s\d.,/%$\u20ac\u00a3\u00a5]+";
        let pattern = format!(
            r"^\s*{NUMBER}(?:\s+to\s+{NUMBER})?\s*\s{money}(?:\s+each|\s+per\s+(?:{NUMBER}\s+)?(?:{per}))?\s*$"
        );
        let said = "write it like 5.40 USD per 1000 gal, 24 to 28 USD per h, 8.50 USD each, or 11000 USD";
        defs.part("money for something", json!({"type": "string", "pattern": pattern, "patternErrorMessage": said}))
    }
}

/// A pump lifts one of two things.
fn lifts(_: &mut Defs) -> Json {
    any_of([Pump::WATER_TO, Pump::WASHES_OF].map(|key| needs(key.word, &any_case(key.word))))
}

/// A new place with the name that it has, and the lines of its own kind.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Replaced;

impl Shape for Replaced {
    fn schema(defs: &mut Defs) -> Json {
        let by = Replacement::BY.word;
        json!({"type": "object", "properties": {by: Name::schema(defs)}, "required": [by]})
    }
}

/// New places by section.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Added;

impl Shape for Added {
    fn schema(defs: &mut Defs) -> Json {
        let sections: serde_json::Map<String, Json> = SECTIONS
            .iter()
            .filter_map(|section| Some(((*section).to_owned(), section_schema(section, defs)?)))
            .collect();
        json!({"type": "object", "properties": sections, "additionalProperties": false})
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::{Source, never_asked, yaml};
    use crate::told::Problems;

    /// A key that is declared and never read would be right to an editor and wrong to the program. Whether the values
    /// below are right does not matter: each map is opened. The sections of a facility are read elsewhere.
    #[test]
    fn every_declared_key_is_read() {
        let both = "used up: {A: {}}\npays regularly: {A: {}}\nlabour minutes: {A: {}}\npumps: {A: {}}\n";
        let prices =
            "prices: {A: {}}\ntariffs: {A: {surcharge: {}}}\nequal service: {}\nrenews: {A: {}}\nprices rise: {}\n";
        let proposal = "replace: {A: {}}\npays once: {A: {}}\n";
        let problems = Problems::new();
        let tree = |text: String| yaml::tree(&Source::new("t.yaml", &text), &problems).unwrap();
        prices::read(&tree(format!("{prices}{both}")), &problems);
        super::super::proposal::read(&tree(format!("{proposal}{both}")), &problems);
        assert_eq!(never_asked::<File>(|_| false), Vec::<String>::new());
        let mut own = vec!["proposal"];
        own.extend(["used up", "labour minutes", "pump", "paid once", "paid regularly"]);
        assert_eq!(never_asked::<Proposal>(|map| !own.contains(&map)), Vec::<String>::new());
    }
}

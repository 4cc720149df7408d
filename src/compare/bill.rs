//! What an option costs: each quantity with the price that is typed for it, in kinds of cost that options share.

use std::sync::LazyLock;

use crate::balance::Draw;
use crate::compare::Alternative;
use crate::compare::prices::{Per, Price, Prices};
use crate::compare::quantity::{self, Kind, Quantities};
use crate::facility::kinds;
use crate::facility::model::{DischargeKind, PlaceKind};

/// A kind of cost.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Category {
    /// Water bought and pumped from supplies.
    Supply,
    /// Sewer: base, water, surcharge.
    Sewer,
    /// Wet waste hauled.
    Hauling,
    /// Sludge that gathers, at the price of its clean-out.
    Sludge,
    /// Pieces that filters use up: bags, cartridges, rolls.
    UsedUp,
    /// Labour.
    Labour,
    /// Power of motors and pumps.
    Power,
    /// What is paid each month or year: contracts, leases.
    Regular,
}

impl Category {
    /// Every kind, in the order printed.
    pub const ALL: [Self; 8] = [
        Self::Supply,
        Self::Sewer,
        Self::Hauling,
        Self::Sludge,
        Self::UsedUp,
        Self::Labour,
        Self::Power,
        Self::Regular,
    ];

    /// The words printed.
    pub fn words(self) -> &'static str {
        match self {
            Self::Supply => "Water bought and pumped",
            Self::Sewer => "Sewer",
            Self::Hauling => "Wet waste hauled",
            Self::Sludge => "Pond sludge, for its clean-out",
            Self::UsedUp => used_up_words(),
            Self::Labour => "Labour",
            Self::Power => "Power of motors and pumps",
            Self::Regular => "Paid each month or year",
        }
    }
}

/// All pieces that some kind of filter uses up: `Bags, cartridges, rolls`.
fn used_up_words() -> &'static str {
    static WORDS: LazyLock<String> = LazyLock::new(|| {
        let words: Vec<&str> = kinds::pieces().into_iter().map(|pieces| pieces.many).collect();
        let mut words = words.join(", ");
        if let Some(first) = words.get_mut(..1) {
            first.make_ascii_uppercase();
        }
        words
    });
    &WORDS
}

/// How a part is priced.
#[derive(Debug, Clone, PartialEq)]
pub enum Priced {
    /// At a price for one unit of its quantity, after a factor (kg in a load, for one).
    At(Price, f64),
    /// No price is typed for it: why.
    Missing(String),
}

/// A part of the bill.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Its kind of cost.
    pub category: Category,
    /// What pairs it across options.
    pub id: String,
    /// What it is, as printed.
    pub name: String,
    /// The quantity: an index into the option's list; none for a fixed amount.
    pub quantity: Option<usize>,
    /// The fixed amount a year, where there is no quantity.
    pub fixed: f64,
    /// Its price.
    pub priced: Priced,
}

impl Part {
    /// What it costs a year in a run, with the amounts of that run. Without a price it is the amount itself.
    pub fn cost(&self, draw: &Draw, amounts: &[f64]) -> f64 {
        let amount = match self.quantity {
            Some(at) => amounts.get(at).copied().unwrap_or(0.0),
            None => self.fixed,
        };
        match &self.priced {
            Priced::At(price, factor) => amount * factor * price.of_one(price.drawn(draw)),
            Priced::Missing(_) => amount,
        }
    }
}

/// Sewers' base concentrations, kg/m³, over which a surcharge is paid.
pub fn bases(of: &Alternative, prices: &Prices) -> Vec<quantity::Base> {
    prices
        .tariffs
        .iter()
        .filter_map(|tariff| {
            let (_, over, _) = tariff.surcharge.as_ref()?;
            of.facility.find(&tariff.place)?;
            Some((tariff.place.clone(), over / 1000.0, tariff.month_begins))
        })
        .collect()
}

/// Adds the hours of labour that the prices file tells of: checks, and new rolls.
pub fn add_labour(q: &mut Quantities, of: &Alternative, before: &Alternative, prices: &Prices) {
    let lines = |of: &Alternative| -> Vec<(String, String, crate::compare::prices::Labour)> {
        of.facility
            .places
            .iter()
            .filter_map(|place| {
                let names = of.names_for_prices(&place.name);
                let line = names
                    .iter()
                    .find_map(|name| of.labour.iter().chain(&prices.labour).find(|line| line.place == **name))?;
                Some((of.old_name(&place.name).to_owned(), place.name.clone(), line.clone()))
            })
            .collect()
    };
    let ours = lines(of);
    for (old, name, line) in &ours {
        if let Some((minutes, times)) = line.checks {
            quantity::checks(q, old, name, minutes * times / 60.0);
        }
        if let Some(minutes) = line.new_roll {
            quantity::hours_by_pieces(q, old, name, minutes / 60.0);
        }
    }
    for (old, _, _) in lines(before) {
        let replaced = of.renamed.iter().find(|(_, was)| *was == old);
        if let Some((new, _)) = replaced
            && !ours.iter().any(|(known, _, _)| *known == old)
        {
            quantity::labour_not_told(q, &old, new);
        }
    }
}

/// The parts of an option's bill.
pub fn parts(of: &Alternative, q: &Quantities, prices: &Prices) -> Vec<Part> {
    let mut out = Vec::new();
    let index = |kind: Kind, id: &str| q.list.iter().position(|x| x.kind == kind && x.id == id);
    for place in &of.facility.places {
        let name = place.name.as_str();
        let id = of.old_name(name);
        let mut part = |category, words: String, id: String, quantity, fixed, priced| {
            out.push(Part { category, id, name: words, quantity, fixed, priced });
        };
        match &place.kind {
            PlaceKind::Supply(_) => {
                let priced = match place_price(of, prices, name, &["", " pumping"]) {
                    Some(price) if matches!(price.per, Per::Volume(_)) => Priced::At(price, 1.0),
                    Some(price) => {
                        Priced::Missing(format!("the price of {name} is not one of a volume: {}", price.text))
                    }
                    None => Priced::Missing(format!(
                        "prices.yaml has no price for water of {name} (`{name}` or `{name} pumping`)"
                    )),
                };
                let quantity = index(Kind::CameIn, id);
                part(Category::Supply, name.to_owned(), id.to_owned(), quantity, 0.0, priced);
            }
            PlaceKind::DischargePoint(point) => match point.kind {
                DischargeKind::Sewer => {
                    let tariff = prices.tariffs.iter().find(|t| t.place == name);
                    let water = index(Kind::WentOut, id);
                    let Some(tariff) = tariff else {
                        let priced = match place_price(of, prices, name, &[""]) {
                            Some(price) if matches!(price.per, Per::Volume(_)) => Priced::At(price, 1.0),
                            _ => Priced::Missing(format!("prices.yaml has neither a tariff nor a price for {name}")),
                        };
                        part(Category::Sewer, name.to_owned(), id.to_owned(), water, 0.0, priced);
                        continue;
                    };
                    if let Some(base) = &tariff.base {
                        let months = if base.per == Per::Year { 1.0 } else { 12.0 };
                        let priced = Priced::At(base.clone(), 1.0);
                        part(Category::Sewer, format!("{name}, base"), format!("{id}, base"), None, months, priced);
                    }
                    if let Some(price) = &tariff.water {
                        let priced = Priced::At(price.clone(), 1.0);
                        part(Category::Sewer, format!("{name}, water"), format!("{id}, water"), water, 0.0, priced);
                    }
                    if let Some((parameter, _, price)) = &tariff.surcharge {
                        let priced = if is_solids(parameter) {
                            Priced::At(price.clone(), 1.0)
                        } else {
                            Priced::Missing(format!(
                                "the surcharge of {name} is on {parameter}, which the ledger does not follow there"
                            ))
                        };
                        part(
                            Category::Sewer,
                            format!("{name}, surcharge"),
                            format!("{id}, surcharge"),
                            index(Kind::Strong, id),
                            0.0,
                            priced,
                        );
                    }
                }
                DischargeKind::HauledAway => {
                    let priced = match place_price(of, prices, name, &["", " hauling"]) {
                        Some(price) => match price.per {
                            Per::Mass(_) => Priced::At(price, 1.0),
                            // A litre of wet waste weighs a kilogram, near enough.
                            Per::Volume(_) => Priced::At(price, 0.001),
                            Per::Each => match point.holds.as_ref().and_then(|h| h.ends()) {
                                Some((low, high)) => {
                                    let load_kg = 500.0 * (low.value + high.value);
                                    Priced::At(price, 1.0 / load_kg)
                                }
                                None => Priced::Missing(format!(
                                    "a load of {name} has a price, but what it `holds` is not typed"
                                )),
                            },
                            _ => Priced::Missing(format!(
                                "the price of {name} is not one of a mass, a volume or a load: {}",
                                price.text
                            )),
                        },
                        None => Priced::Missing(format!("prices.yaml has no price for what is hauled from {name}")),
                    };
                    let of_id = |q: &quantity::Quantity| {
                        q.kind == Kind::WetWaste
                            && q.id.strip_prefix(id).is_some_and(|rest| rest.is_empty() || rest.starts_with(", "))
                    };
                    for (at, of) in q.list.iter().enumerate().filter(|(_, q)| of_id(q)) {
                        part(Category::Hauling, of.name.clone(), of.id.clone(), Some(at), 0.0, priced.clone());
                    }
                }
                DischargeKind::SurfaceWater | DischargeKind::Land => {}
            },
            PlaceKind::Pond(_) => {
                let price =
                    place_price(of, prices, name, &[" sludge"]).or_else(|| prices.price("pond sludge").cloned());
                let priced = match price {
                    Some(price) if matches!(price.per, Per::Mass(_)) => Priced::At(price, 1.0),
                    Some(price) if matches!(price.per, Per::Volume(_)) => Priced::At(price, 0.001),
                    _ => Priced::Missing("prices.yaml has no price for `pond sludge`".to_owned()),
                };
                part(Category::Sludge, name.to_owned(), id.to_owned(), index(Kind::Sludge, id), 0.0, priced);
            }
            PlaceKind::Filter(filter) => {
                if let Some(quantity) = index(Kind::UsedUp, id) {
                    let what = filter.kind.declared().uses_up.map_or("pieces", |pieces| pieces.many);
                    let found = of
                        .names_for_prices(name)
                        .into_iter()
                        .find_map(|name| of.used_up.iter().chain(&prices.used_up).find(|(known, _)| known == name));
                    let priced = match found {
                        Some((_, price)) if price.per == Per::Each => Priced::At(price.clone(), 1.0),
                        Some((_, price)) => {
                            Priced::Missing(format!("what {name} uses up is not priced each: {}", price.text))
                        }
                        None => Priced::Missing(format!("prices.yaml has no price under `used up` for {name}")),
                    };
                    part(Category::UsedUp, format!("{name}, {what}"), id.to_owned(), Some(quantity), 0.0, priced);
                }
            }
            _ => {}
        }
    }
    for (at, quantity) in q.list.iter().enumerate() {
        let (category, name) = match quantity.kind {
            Kind::Labour => (Category::Labour, "labour"),
            Kind::Energy => (Category::Power, "power"),
            _ => continue,
        };
        let priced = match prices.price(name) {
            Some(price)
                if matches!(
                    (category, price.per),
                    (Category::Labour, Per::Hour) | (Category::Power, Per::KilowattHour)
                ) =>
            {
                Priced::At(price.clone(), 1.0)
            }
            Some(price) => Priced::Missing(format!(
                "the price of {name} is not one {}: {}",
                if name == "labour" { "of an hour" } else { "of a kWh" },
                price.text
            )),
            None => Priced::Missing(format!("prices.yaml has no price of `{name}`")),
        };
        out.push(Part {
            category,
            id: quantity.id.clone(),
            name: quantity.name.clone(),
            quantity: Some(at),
            fixed: 0.0,
            priced,
        });
    }
    out.extend(of.regularly(prices).map(|paid| Part {
        category: Category::Regular,
        id: paid.what.clone(),
        name: paid.what.clone(),
        quantity: None,
        fixed: paid.times(),
        priced: Priced::At(paid.price.clone(), 1.0),
    }));
    out
}

fn is_solids(parameter: &str) -> bool {
    ["total suspended solids", "suspended solids", "tss"]
        .iter()
        .any(|known| known.eq_ignore_ascii_case(parameter.trim()))
}

fn place_price(of: &Alternative, prices: &Prices, name: &str, endings: &[&str]) -> Option<Price> {
    of.names_for_prices(name)
        .into_iter()
        .find_map(|name| endings.iter().find_map(|ending| prices.price(&format!("{name}{ending}"))).cloned())
}

/// Names of prices in the file that nothing in these options uses: likely a place misspelt.
pub fn unused<'a>(prices: &'a Prices, all: &[&[Part]]) -> Vec<&'a str> {
    let used = |key: &str| {
        all.iter()
            .flat_map(|parts| parts.iter())
            .any(|part| matches!(&part.priced, Priced::At(price, _) if price.key == key))
    };
    prices.prices.iter().filter(|(_, price)| !used(&price.key)).map(|(name, _)| name.as_str()).collect()
}

/// The discount rate of a run.
pub fn rate(prices: &Prices, draw: &Draw) -> f64 {
    let (low, high) = prices.discount;
    low + draw.uniform("discount rate") * (high - low)
}

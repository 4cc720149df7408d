//! What a pond costs, price by price.

use super::{Basin, Demands};

/// How much there is of what a price is for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Quantity {
    /// Earth, m³.
    Earth(f64),
    /// Lining, m².
    Area(f64),
    /// Fence, m.
    Length(f64),
    /// The price is for all of it.
    Whole,
}

/// What one of the prices typed comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct CostPart {
    /// What is paid for: `dug`.
    pub what: &'static str,
    /// How much of it there is.
    pub quantity: Quantity,
    /// The price, as typed.
    pub price: String,
    /// What it comes to.
    pub comes_to: f64,
}

impl Demands {
    /// What each price typed comes to for a shape; nothing for what there is none of. Together they are its cost.
    pub fn cost_parts(&self, basin: &Basin) -> Vec<CostPart> {
        let Some(prices) = &self.duties.prices else { return Vec::new() };
        let part = |what, quantity, text: &str, price: f64| {
            let many = match quantity {
                Quantity::Earth(many) | Quantity::Area(many) | Quantity::Length(many) => many,
                Quantity::Whole => 1.0,
            };
            (price > 0.0 && many > 0.0).then(|| CostPart {
                what,
                quantity,
                price: text.to_owned(),
                comes_to: price * many,
            })
        };
        let earth = self.earth(basin);
        let of_ground = |what, m3: fn(&super::Earth) -> f64, text: &str, price: Option<f64>| {
            earth.as_ref().and_then(|earth| part(what, Quantity::Earth(m3(earth)), text, price?))
        };
        let (long, wide) = basin.over_banks_m();
        [
            part("dug", Quantity::Earth(basin.cut_m3()), &prices.dug_text, prices.dug),
            of_ground("banked", |earth| earth.fill_m3, &prices.banked_text, prices.banked),
            of_ground("hauled", |earth| earth.hauled_m3, &prices.hauled_text, prices.hauled),
            of_ground("brought", |earth| earth.brought_m3, &prices.brought_text, prices.brought),
            part("lined", Quantity::Area(basin.lined_m2()), &prices.lined_text, prices.lined),
            part("of fence", Quantity::Length(2.0 * (long + wide)), &prices.fence_text, prices.fence),
            part("for the way to it", Quantity::Whole, &prices.access_text, prices.access),
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}

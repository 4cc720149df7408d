//! The prices file in sentences that a second person can hold against the bills.

use crate::compare::prices::{Price, Prices};
use crate::compare::pumps::{Lifts, Pump};
use crate::told::Place;

/// Every price and every pump in a sentence, each with its place, in the order of the file.
pub fn sentences(prices: &Prices) -> Vec<(Place, String)> {
    let price = |name: String, price: &Price| (price.place.clone(), format!("{name}: {}.", price.text));
    let mut out: Vec<(Place, String)> = Vec::new();
    out.extend(prices.prices.iter().map(|(name, of)| price(name.clone(), of)));
    out.extend(prices.pumps.iter().map(pump));
    for tariff in &prices.tariffs {
        let parts = [("a month", &tariff.base), ("water", &tariff.water)];
        let parts = parts.into_iter().filter_map(|(words, of)| Some((words.to_owned(), of.as_ref()?)));
        let strong = tariff.surcharge.iter().map(|(parameter, over, of)| (format!("{parameter} over {over} mg/L"), of));
        out.extend(parts.chain(strong).map(|(words, of)| price(format!("{}, {words}", tariff.place), of)));
    }
    out.extend(prices.used_up.iter().map(|(name, of)| price(format!("A piece of {name}"), of)));
    out.sort_by_key(|(place, _)| place.line);
    out
}

fn pump(of: &Pump) -> (Place, String) {
    let places: Vec<&str> = of.places.iter().map(|said| said.value.as_str()).collect();
    let (last, rest) = places.split_last().map_or(("", &[][..]), |(last, rest)| (*last, rest));
    let places = if rest.is_empty() { last.to_owned() } else { format!("{} and {last}", rest.join(", ")) };
    let lifts = match of.lifts {
        Lifts::WaterTo => "the water to",
        Lifts::WashesOf => "the wash water of",
    };
    let once = if of.lifts == Lifts::WaterTo && !rest.is_empty() {
        ", each of them; water that comes to one of them from another is lifted once"
    } else {
        ""
    };
    let (head, efficiency) = (&of.head.text, &of.efficiency.text);
    (
        of.head.place.clone(),
        format!("{} lifts {lifts} {places} by {head} at {efficiency} of efficiency{once}.", of.name),
    )
}

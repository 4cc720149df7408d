//! Whether the names and the money of the prices file, and of what proposals pay, fit the options.

use crate::compare::prices::{Price, Prices};
use crate::compare::{Alternative, pumps};
use crate::quantity::nearest;
use crate::told::{Place, Problem, Problems};

/// Prices that go with no place.
const GENERAL: [&str; 3] = ["labour", "power", "pond sludge"];

/// Words that may follow a place's name in the name of a price.
const ENDINGS: [&str; 3] = [" pumping", " hauling", " sludge"];

/// Tells prices in another money than the file's. One run adds up one money only.
pub fn tell_other_money(prices: &Prices, options: &[Alternative], problems: &Problems) {
    let mut tell = |price: &Price| {
        if price.money != prices.money {
            problems.add(
                Problem::error(
                    &price.place,
                    format!("`{}` is in {}, and prices.yaml counts in {}", price.text, price.money, prices.money),
                )
                .hint(format!("turn it into {}; nothing is exchanged here", prices.money)),
            );
        }
    };
    prices.prices.iter().for_each(|(_, price)| tell(price));
    prices.tariffs.iter().flat_map(|tariff| tariff.prices()).for_each(&mut tell);
    prices.used_up.iter().for_each(|(_, price)| tell(price));
    prices.renews.iter().for_each(|paid| tell(&paid.price));
    prices.pays_regularly.iter().for_each(|paid| tell(&paid.price));
    for of in options {
        of.used_up.iter().for_each(|(_, price)| tell(price));
        of.pays_once.iter().for_each(|paid| tell(&paid.price));
        of.pays_regularly.iter().for_each(|paid| tell(&paid.price));
    }
}

/// Warns of names that lead to no place of any option. Only sensible when every proposal is among the options: a price may
/// stand ready for one that is left out.
pub fn tell_unknown_names(prices: &Prices, options: &[Alternative], problems: &Problems) {
    let names: Vec<&str> =
        options.iter().flat_map(|of| of.facility.places.iter().map(|place| place.name.as_str())).collect();
    let warn = |place: &Place, name: &str, words: &str| {
        let near = nearest(name, names.iter().copied().chain(GENERAL));
        problems.add(
            Problem::warning(place, format!("{words} `{name}` goes with no place of any option, so it is not used"))
                .hint(match near {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => "a price goes with the name of a place in facility.yaml or in a proposal, or with labour, power, pond sludge".to_owned(),
                }),
        );
    };
    for (name, price) in &prices.prices {
        let known = GENERAL.iter().any(|known| known.eq_ignore_ascii_case(name))
            || names.iter().any(|place| {
                place.eq_ignore_ascii_case(name)
                    || ENDINGS.iter().any(|ending| format!("{place}{ending}").eq_ignore_ascii_case(name))
            });
        if !known {
            warn(&price.place, name, "the price of");
        }
    }
    let mut lines: Vec<(&Place, &str, &str)> = Vec::new();
    for tariff in &prices.tariffs {
        lines.push((&tariff.said_at, &tariff.place, "the tariff of"));
    }
    for (name, price) in &prices.used_up {
        lines.push((&price.place, name, "the price of what is used up by"));
    }
    for line in &prices.labour {
        lines.push((&line.said_at, &line.place, "the labour of"));
    }
    let once = options.iter().flat_map(|of| &of.pays_once).chain(&prices.renews).filter_map(|paid| paid.of.as_ref());
    let regularly = options.iter().flat_map(|of| &of.pays_regularly).chain(&prices.pays_regularly);
    for said in once.chain(regularly.filter_map(|paid| paid.of.as_ref())) {
        lines.push((&said.place, &said.value, "what is paid for"));
    }
    for (place, name, words) in lines {
        if !names.contains(&name) {
            warn(place, name, words);
        }
    }
    let pumps: Vec<&pumps::Pump> = options.iter().flat_map(|of| &of.pumps).chain(&prices.pumps).collect();
    for said in pumps.iter().flat_map(|pump| &pump.places) {
        if !names.contains(&said.value.as_str()) {
            warn(&said.place, &said.value, "the pump for");
        }
    }
}

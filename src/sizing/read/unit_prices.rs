//! Prices of digging and lining, and the steps of the search, as the duties file writes them.

use super::*;

/// A price for moving earth.
pub(super) fn earth(text: &str) -> Result<(String, f64), Misread> {
    unit_price(text, &[("m3", 1.0), ("m³", 1.0), ("yd3", 0.764_554_857_984), ("ft3", 0.028_316_846_592)])
}

/// A price for lining.
pub(super) fn lined(text: &str) -> Result<(String, f64), Misread> {
    unit_price(text, &[("m2", 1.0), ("m²", 1.0), ("yd2", 0.836_127_36), ("ft2", 0.092_903_04)])
}

/// A price for a fence.
pub(super) fn fence(text: &str) -> Result<(String, f64), Misread> {
    unit_price(text, &[("m", 1.0), ("yd", 0.9144), ("ft", 0.3048)])
}

/// `5000 USD`: the amount and its money.
pub(super) fn lump(text: &str) -> Result<(String, f64), Misread> {
    match text.split_whitespace().collect::<Vec<_>>()[..] {
        [amount, money] if money.chars().all(char::is_alphabetic) => {
            let amount = number(amount)?;
            if amount.is_negative() {
                return Err(Misread::new("a price can't be below zero").hint("write it like 5000 USD"));
            }
            Ok((money.to_owned(), amount.to_f64()))
        }
        _ => Err(Misread::new(format!("`{}` is not an amount of money", text.trim())).hint("write it like 5000 USD")),
    }
}

pub(super) fn prices(field: &Field<'_>, ground: bool) -> Option<UnitPrices> {
    let mut fields = field.map::<keys::Cost>()?;
    let dug = fields.read(&keys::Cost::DUG);
    let of_ground = [&keys::Cost::BANKED, &keys::Cost::HAULED, &keys::Cost::BROUGHT].map(|key| {
        let said = fields.read(key);
        if let Some(said) = said.as_ref().filter(|_| !ground) {
            fields.problems().add(
                Problem::error(
                    &said.place,
                    "nothing says how the ground lies, so no earth is banked, hauled or brought",
                )
                .hint("write `ground: {level: 2 ft below the bank top, outer side: 3 to 1}`, or take this line out"),
            );
        }
        said
    });
    let lined = fields.read(&keys::Cost::LINED);
    let fence = fields.read(&keys::Cost::FENCE);
    let access = fields.read(&keys::Cost::ACCESS);
    let by = fields.read(&keys::Cost::BY).map(|said| said.value);
    fields.finish();
    let (dug, lined) = (dug?, lined?);
    let others = [Some(&lined), fence.as_ref(), access.as_ref()];
    if others
        .into_iter()
        .chain(of_ground.iter().map(Option::as_ref))
        .flatten()
        .any(|other| other.value.0 != dug.value.0)
    {
        field.refuse("these are priced in different money", "use one money for all of them");
        return None;
    }
    let apart = |said: Option<Said<(String, f64)>>| match said {
        Some(said) => (Some(said.value.1), said.text),
        None => (None, String::new()),
    };
    let [(banked, banked_text), (hauled, hauled_text), (brought, brought_text)] = of_ground.map(apart);
    let ((fence, fence_text), (access, access_text)) = (apart(fence), apart(access));
    Some(UnitPrices {
        banked,
        banked_text,
        hauled,
        hauled_text,
        brought,
        brought_text,
        money: dug.value.0,
        dug: dug.value.1,
        dug_text: dug.text,
        lined: lined.value.1,
        lined_text: lined.text,
        fence: fence.unwrap_or(0.0),
        fence_text,
        access: access.unwrap_or(0.0),
        access_text,
        by,
    })
}

/// Warns of what the least cost would leave out.
pub(super) fn unpriced(prices: &UnitPrices, least: &Said<Objective>, problems: &Problems) {
    let all = [("banked", prices.banked), ("hauled", prices.hauled), ("brought", prices.brought)];
    let words: Vec<String> =
        all.iter().filter(|(_, price)| price.is_none()).map(|(word, _)| format!("`{word}`")).collect();
    if !words.is_empty() {
        problems.add(
            Problem::warning(
                &least.place,
                format!("the least cost leaves out earth that has no price: {}", words.join(", ")),
            )
            .hint(
                "write its price in `cost`: `{…, banked: 4 USD per m3, hauled: 9 USD per m3, brought: 20 USD per m3}`",
            ),
        );
    }
}

/// `6 USD per m3`: the money, and the price for one SI unit. The units' factors are exact (NIST Handbook 44, appendix C).
pub(super) fn unit_price(text: &str, units: &[(&str, f64)]) -> Result<(String, f64), Misread> {
    let known: Vec<&str> = units.iter().map(|(name, _)| *name).collect();
    let hint =
        format!("write it like 6 USD per {}; units allowed here: {}", known.first().unwrap_or(&""), known.join(", "));
    let words: Vec<&str> = text.split_whitespace().collect();
    match words[..] {
        [amount, money, "per", unit] if money.chars().all(char::is_alphabetic) => {
            let (_, size) = units
                .iter()
                .find(|(name, _)| *name == unit)
                .ok_or_else(|| Misread::new(format!("`{unit}` is not a unit for this price")).hint(hint.clone()))?;
            let amount = number(amount)?;
            if amount.is_negative() {
                return Err(Misread::new("a price can't be below zero").hint(hint));
            }
            Ok((money.to_owned(), amount.to_f64() / size))
        }
        _ => Err(Misread::new(format!("`{}` is not a price for so much", text.trim())).hint(hint)),
    }
}

pub(super) fn steps(field: &Field<'_>) -> Steps {
    let Some(mut fields) = field.map::<keys::Steps>() else {
        return Steps::default();
    };
    let steps = Steps {
        depth: above_zero(&fields.get(&keys::Steps::DEPTH)),
        length: above_zero(&fields.get(&keys::Steps::LENGTH)),
        width: above_zero(&fields.get(&keys::Steps::WIDTH)),
    };
    fields.finish();
    steps
}

//! The forebay and the emergency spillway, as the duties file writes them.

use super::*;
use crate::sizing::{Berm, ForebayDuty, MOST_SHARE, SpillwayDuty, USUAL_WEIR_US, us_for_metric};

/// Weir coefficients of broad crests, US units (from memory, as the record of the equation says).
const CRESTS_US: std::ops::RangeInclusive<f64> = 2.3..=3.1;

pub(super) fn forebay(field: &Field<'_>, pool: Option<&Figure>) -> Option<ForebayDuty> {
    let mut fields = field.map::<keys::Forebay>()?;
    let share = above_zero(&fields.get(&keys::Forebay::SHARE));
    let runoff = above_zero(&fields.get(&keys::Forebay::RUNOFF));
    let most = above_zero(&fields.get(&keys::Forebay::MOST));
    let every_field = fields.get(&keys::Forebay::EVERY);
    let every = every_field.read();
    let every = match every.map(|said| (years_of(said.value), said.text)) {
        Some((years, _)) if years <= 0.0 => {
            every_field.refuse("a forebay is not cleaned out all the time", "write it like 1 year");
            None
        }
        every => every,
    };
    let full_at = above_zero(&fields.get(&keys::Forebay::FULL_AT));
    let berm = berm(&fields.get(&keys::Forebay::BERM));
    let told = |place: &Place, text: String, hint: &str| {
        fields.problems().add(Problem::error(place, text).hint(hint));
    };
    if !fields.has(keys::Forebay::SHARE) && !fields.has(keys::Forebay::RUNOFF) {
        field.refuse(
            "nothing says how large the forebay is",
            "write `share of the pool at least: 10 %`, or `runoff at least: 0.1 in`: manuals size it by one of the two",
        );
        return None;
    }
    let most_share = most.as_ref().map_or(MOST_SHARE, |figure| figure.si);
    if let Some(most) = most.as_ref().filter(|most| most.si > MOST_SHARE) {
        let text = format!("{} of the pool is no forebay but most of the pond", most.text);
        told(&most.place, text, "write 50 % or less");
        return None;
    }
    if let Some(share) = share.as_ref().filter(|share| share.si > most_share) {
        let text = match &most {
            Some(most) => format!("at least {} and at most {} leave nothing between them", share.text, most.text),
            None => format!("a forebay of {} is more than half of the pool", share.text),
        };
        told(&share.place, text, "manuals ask for a tenth to a quarter of the pool");
        return None;
    }
    if let Some(none) = pool.filter(|pool| pool.si <= 0.0) {
        told(
            &none.place,
            "a forebay is parted off in the settling pool, and there is none".to_owned(),
            "write how deep it is: `settling pool: 3 ft`",
        );
        return None;
    }
    fields.finish();
    Some(ForebayDuty { share, runoff, most, every, full_at, berm, place: field.key_place.clone() })
}

fn berm(field: &Field<'_>) -> Option<Berm> {
    let mut fields = field.map::<keys::Berm>()?;
    let high = above_zero(&fields.get(&keys::Berm::HIGH));
    let top = above_zero(&fields.get(&keys::Berm::TOP));
    let side = ratio(&fields.get(&keys::Berm::SIDE), "sides rise higher than they run: earth does not stand so steep");
    fields.finish();
    Some(Berm { high: high?, top: top?, side: side? })
}

/// `2.7 US`, `1.5 metric`: a weir coefficient, in US units.
pub(super) fn coefficient(text: &str) -> Result<f64, Misread> {
    const HINT: &str = "write 2.6 US (feet and ft3/s) or 1.44 metric (m and m3/s)";
    let words: Vec<&str> = text.split_whitespace().collect();
    let (value, system) = match words[..] {
        [value, system] => (number(value)?.to_f64(), system.to_lowercase()),
        [value] if number(value).is_ok() => {
            return Err(
                Misread::new(format!("a coefficient of {value} is one thing in feet and another in metres")).hint(HINT)
            );
        }
        _ => return Err(Misread::new(format!("`{}` is not a weir coefficient", text.trim())).hint(HINT)),
    };
    match system.as_str() {
        "us" if value > 0.0 => Ok(value),
        "metric" | "si" if value > 0.0 => Ok(us_for_metric(value)),
        _ => Err(Misread::new(format!("`{}` is not a weir coefficient", text.trim())).hint(HINT)),
    }
}

pub(super) fn spillway(field: &Field<'_>, freeboard: Option<&Figure>) -> Option<SpillwayDuty> {
    let mut fields = field.map::<keys::Spillway>()?;
    let crest = figure(&fields.get(&keys::Spillway::CREST));
    let wide = above_zero(&fields.get(&keys::Spillway::WIDE));
    let coefficient = fields.read(&keys::Spillway::COEFFICIENT);
    let flow = above_zero(&fields.get(&keys::Spillway::FLOW));
    let flow_source = fields.read(&keys::Spillway::FLOW_FROM);
    let least = figure(&fields.get(&keys::Spillway::LEAST));
    if let Some(said) = coefficient.as_ref().filter(|said| !CRESTS_US.contains(&said.value)) {
        fields.problems().add(
            Problem::warning(&said.place, format!("a coefficient of {} is outside what broad crests have", said.text))
                .hint("2.3 to 3.1 US, which is 1.27 to 1.71 metric"),
        );
    }
    if let (Some(crest), Some(freeboard)) = (&crest, freeboard)
        && crest.si >= freeboard.si
    {
        fields.problems().add(
            Problem::error(
                &crest.place,
                format!("the crest lies {} over the spill level, and the bank top only {}", crest.text, freeboard.text),
            )
            .hint("water would run over the bank first: lower the crest, or raise `freeboard`"),
        );
        return None;
    }
    fields.finish();
    Some(SpillwayDuty {
        crest: crest?,
        wide: wide?,
        coefficient: coefficient.map_or((USUAL_WEIR_US, None), |said| (said.value, Some(said.text))),
        flow: flow?,
        flow_source: flow_source?.value,
        least: least?,
        place: field.key_place.clone(),
    })
}

//! The forebay and the emergency spillway in words.

use crate::page::document::figures::number;
use crate::report::basin::{BasinCase, counted, percent, round};
use crate::sizing::{Answer, Basin, Duties, SpillwayDuty, us_for_metric};

/// What is said wherever a spillway's figures stand.
pub(super) const NO_SIZE: &str =
    "An illustration of a level, never a size to build by: nothing here sizes a spillway, a licensed engineer does.";

/// How the forebay was worked out.
pub(super) fn forebay(case: &BasinCase, duties: &Duties, answer: Option<&Answer>) -> Option<String> {
    let duty = duties.forebay.as_ref()?;
    let units = case.units();
    let demands = &case.study.demands;
    let mut asks = Vec::new();
    if let Some(share) = &duty.share {
        asks.push(format!("at least {} of all under the top of the settling pool", share.text));
    }
    if let Some(depth) = &duty.runoff {
        asks.push(format!(
            "room for {} of water off the ground that drains to the pond, {}",
            units.rain(depth.si),
            units.m3(depth.si * demands.needs.drained_m2)
        ));
    }
    let mut words = format!("The inlet end of the pool, parted off by a berm across it: {}", asks.join("; "));
    words.push_str(&format!(", at most {} of the pool", percent(duty.most_share())));
    words.push_str(match duty.most {
        Some(_) => ". ",
        None => " (beyond half it would be the pond: common practice, no source). ",
    });
    if let Some(held) = answer.and_then(|answer| demands.forebay(&answer.found.basin)) {
        words.push_str(&format!(
            "It is {} long at the top of the pool, with {} of water surface, and holds {}, {} of it. ",
            units.tape(held.length_m),
            units.m2(held.area_m2()),
            units.m3(held.volume_m3),
            percent(held.share)
        ));
        words.push_str(&format!(
            "By one stirred tank, w A/Q ÷ (1 + w A/Q), at each day’s mean flow {} of wet sludge a year settles in it{}",
            units.m3(held.sludge_m3_a_year),
            held.kept.map_or_else(String::new, |kept| format!(", {} of the solids that come", percent(kept)))
        ));
        words.push_str(&held.settled.map_or_else(
            || ". ".to_owned(),
            |share| format!("; of the particle named {} at the design flow. ", percent(share)),
        ));
        if let Some(years) = held.years {
            words.push_str(&format!(
                "It is cleaned out when {} full{}: every {}{}. ",
                percent(duty.full_share()),
                if duty.full_at.is_some() { "" } else { " (half: UFC 3-220-10, for sediment ponds)" },
                interval(years),
                duty.every
                    .as_ref()
                    .map_or_else(String::new, |(_, text)| format!(", asked every {text} at the soonest"))
            ));
        }
    }
    match (&duty.berm, answer) {
        (Some(_), Some(answer)) => words.push_str(&format!(
            "Its berm takes {}, counted under the sludge, where it asks for the most room. ",
            units.m3(answer.stack.berm_m3)
        )),
        (None, _) => words.push_str("Its berm is taken to have no thickness, as nothing was typed of it. "),
        _ => {}
    }
    words.push_str(
        "No other duty counts on it: sludge store, pool and settling are as without it, so that a forebay left full does the \
         pond no harm.",
    );
    Some(words)
}

/// `1.4 years`, `5 months`.
pub(super) fn interval(years: f64) -> String {
    if years < 1.5 { counted(round(12.0 * years).round(), "month") } else { counted(round(years), "year") }
}

/// How the spillway was worked out.
pub(super) fn spillway(case: &BasinCase, duty: &SpillwayDuty, basin: Option<&Basin>) -> String {
    let units = case.units();
    let mut words = format!(
        "A crest {} above the spill level and {} wide, at {} ({}). Q = C L H^1.5 over a broad crest, with C {} US ({} metric){}",
        units.typed_m(duty.crest.si),
        units.typed_m(duty.wide.si),
        duty.flow.text,
        duty.flow_source,
        number(duty.coefficient.0, 2),
        number(duty.coefficient.0 / us_for_metric(1.0), 2),
        if duty.coefficient.1.is_some() { "" } else { ", the low end for earth (common practice, no source)" },
    );
    if let Some(basin) = basin {
        let over = duty.over(basin);
        words.push_str(&format!(
            ": the water stands {} over the crest, {} above the floor, and {}",
            units.m(over.head_m),
            units.m(over.water_m()),
            if over.left_m >= 0.0 {
                format!("{} of freeboard are left", units.m(over.left_m))
            } else {
                format!("{} over the bank top", units.m(-over.left_m))
            }
        ));
    }
    words.push_str(&format!(
        "; at least {} is asked. All of that flow is taken to go over this crest: no other outlet helps, and the pond holds none of it \
         back. {NO_SIZE}",
        units.typed_m(duty.least.si)
    ));
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_interval_is_told_in_months_while_it_is_short() {
        assert_eq!(interval(0.42), "5 months");
        assert_eq!(interval(1.0), "12 months");
        assert_eq!(interval(2.34), "2.34 years");
    }
}

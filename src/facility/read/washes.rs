//! Washes and changes: when, how, with which water, where to.

use uom::si::f64::Time;

use super::filters::rate;
use super::flows::Context;
use super::places::above_zero;
use crate::facility::model::{Cadence, Change, Trigger, Wash, WashWater};
use crate::files::{Field, Fields, Given};
use crate::quantity::{self as q, Misread, kind};
use crate::told::Problem;

/// `its own filtered water`, or a supply, tank or pond.
pub(super) fn wash_water<'a>(context: &Context<'a>, field: &Field<'a>) -> Option<WashWater> {
    field.node()?;
    if field.says("its own filtered water") {
        return Some(WashWater::OwnFiltered);
    }
    context.store_or_supply(field).map(WashWater::From)
}

/// What sets a wash or change off: `24 h`, `6 running hours`, `1.2 lb of solids`, `400 000 gal`.
fn trigger(field: &Field<'_>, after: bool) -> Option<Trigger> {
    let text = field.plain_text();
    let lower = text.unwrap_or_default().trim().to_lowercase();
    if let Some(hours) = lower.strip_suffix("running hours").or_else(|| lower.strip_suffix("running hour")) {
        let said = field.parse("running hours", "6 running hours", |text| {
            let _ = text;
            q::stated::<kind::Time>(&timed(hours))
        })?;
        return positive_time(field, said.into()).map(Trigger::RunningHours);
    }
    if let Some(mass) = lower.strip_suffix("of solids") {
        let said = field.parse("a mass of solids", "1.2 lb of solids", |_| q::stated::<kind::Mass>(mass))?;
        let given: Given<_> = said.into();
        if given.ends().is_some_and(|(low, _)| low.value <= 0.0) {
            field.refuse("a wash after no solids at all", "write a mass above zero");
            return None;
        }
        return Some(Trigger::Solids(given));
    }
    if after && q::range::<kind::Time>(&lower).is_err() && !q::says_not_known(&lower) {
        let said = field.parse(
            "a mass of solids, a volume or a time",
            "1.2 lb of solids, 400 000 gal or 60 days",
            |text| {
                q::stated::<kind::Volume>(text).map_err(|refusal| {
                    if q::range::<kind::Mass>(text).is_ok() {
                        Misread::new("a mass of what?").hint(format!("write `{text} of solids`"))
                    } else {
                        Misread {
                            hint: Some("write it like 1.2 lb of solids, 400 000 gal or 60 days".into()),
                            ..refusal
                        }
                    }
                })
            },
        )?;
        let given: Given<_> = said.into();
        if given.ends().is_some_and(|(low, _)| low.value <= 0.0) {
            field.refuse("a wash after no water at all", "write a volume above zero");
            return None;
        }
        return Some(Trigger::Throughput(given));
    }
    let given = field.quantity::<kind::Time>()?;
    positive_time(field, given).map(Trigger::Clock)
}

fn timed(hours: &str) -> String {
    if q::says_not_known(hours) { hours.to_string() } else { format!("{hours} h") }
}

fn positive_time(field: &Field<'_>, given: Given<Time>) -> Option<Given<Time>> {
    if given.ends().is_some_and(|(low, _)| low.value <= 0.0) {
        field.refuse("an interval of no time at all", "write it like 24 h");
        return None;
    }
    Some(given)
}

/// `{by: log, or every: 24 h, or after: 1.2 lb of solids, at: 5 am, never between: [22:00, 5:00]}`.
fn cadence(field: &Field<'_>) -> Option<Cadence> {
    let mut map = field.fields()?;
    let mut cadence = Cadence { by_log: map.may("by").one_of(&[("log", ())]).is_some(), ..Cadence::default() };
    let mut found: Vec<(u32, u32, Trigger)> = Vec::new();
    let mut whole = true;
    for (key, after) in [("every", false), ("or every", false), ("after", true), ("or after", true)] {
        let value = map.may(key);
        for item in value.one_or_more() {
            match trigger(&item, after) {
                Some(trigger) => found.push((item.place().line, item.place().column, trigger)),
                None => whole = false,
            }
        }
    }
    found.sort_by_key(|(line, column, _)| (*line, *column));
    cadence.triggers = found.into_iter().map(|(_, _, trigger)| trigger).collect();
    cadence.at = map.may("at").clock().map(|said| said.value);
    let never = map.may("never between");
    if never.is_there() {
        let ends: Vec<_> = if never.is_list() {
            never.list().iter().filter_map(|item| item.clock().map(|said| said.value)).collect()
        } else {
            never
                .parse("two times of day", "[22:00, 5:00]", q::clock_range)
                .map(|said| vec![said.value.0, said.value.1])
                .unwrap_or_default()
        };
        match ends[..] {
            [from, to] if from != to => cadence.never_between = Some((from, to)),
            [_, _] => never.refuse("these two times are the same", "write it like [22:00, 5:00]"),
            _ if never.is_list() && never.list().len() != 2 => {
                never.refuse("two times of day are expected", "write it like [22:00, 5:00]")
            }
            _ => {}
        }
    }
    if !cadence.by_log && cadence.triggers.is_empty() && cadence.at.is_none() && whole {
        field.refuse("it doesn't say when", "write `by: log`, `every: 24 h` or `after: 1.2 lb of solids`, or several");
        whole = false;
    }
    map.finish();
    whole.then_some(cadence)
}

pub(super) fn wash<'a>(context: &Context<'a>, map: &mut Fields<'a>, bodies: u32, bed: bool) -> Option<Wash> {
    let cadence = cadence(&map.must("washes", "{by: log, or every: 24 h}"));
    let each_word = if bed { "vessel" } else { "body" };
    let one = map.must("one wash", &format!("{{rate: 188 gpm, lasts: 2 min, each: {each_word}}}"));
    let mut vessels = 1;
    let (mut flow, mut flux, mut lasts, mut volume) = (None, None, None, None);
    if let Some(mut wash) = one.fields() {
        let measured = wash.may("uses");
        let rate_field = wash.may("rate");
        let lasts_field = wash.may("lasts");
        let each = wash.may("each");
        if measured.is_there() {
            volume = above_zero(&measured, |field| field.quantity::<kind::Volume>());
            for extra in [&rate_field, &lasts_field] {
                if extra.is_there() {
                    context.problems.add(
                        Problem::error(&extra.key_place, "the water of a wash is said twice")
                            .hint("keep `uses`, or `rate` with `lasts`"),
                    );
                }
            }
        } else {
            wash.must("rate", "188 gpm");
            wash.must("lasts", "2 min");
            (flow, flux) = rate(&rate_field);
            lasts = lasts_field.quantity::<kind::Time>();
            if each.is_there() {
                let each = each.one_of(&[(each_word, bodies), ("filter", 1)]);
                vessels = each.map_or(1, |said| said.value);
            } else {
                vessels = bodies;
                if bodies > 1 {
                    wash.must("each", each_word);
                }
            }
        }
        wash.finish();
    }
    let rinse = map.may("rinse to waste").fields().and_then(|mut rinse| {
        let rate = rinse.must("rate", "300 gpm").quantity::<kind::Flow>();
        let lasts = rinse.must("lasts", "5 min").quantity::<kind::Time>();
        rinse.may("each").one_of(&[(each_word, ()), ("filter", ())]);
        rinse.finish();
        rate.zip(lasts)
    });
    let drained = map.may("drained each wash").quantity::<kind::Volume>();
    let with = wash_water(context, &map.must("washed with", "its own filtered water"));
    let to = context.outflow(&map.must("wash water to", "Settling pond"));
    let holds_before = map.may("holds before a wash").quantity::<kind::ArealMass>();
    let removes = map.may("one wash removes").quantity::<kind::Share>();
    Some(Wash {
        cadence: cadence?,
        rate: flow,
        flux,
        lasts,
        vessels,
        volume,
        rinse,
        drained,
        with: with?,
        to: to?,
        holds_before,
        removes,
    })
}

pub(super) fn change<'a>(context: &Context<'a>, map: &mut Fields<'a>) -> Option<Change> {
    let cadence = cadence(&map.must("changed", "{by: log, or after: 2.2 lb of solids}"));
    let one = map.may("one change");
    let (mut lasts, mut drains, mut to) = (None, None, None);
    if let Some(mut change) = one.fields() {
        lasts = change.may("lasts").quantity::<kind::Time>();
        drains = change.may("drains").quantity::<kind::Volume>();
        let target = change.may("to");
        to = context.outflow(&target);
        if drains.as_ref().is_some_and(|given| given.ends().is_none_or(|(_, high)| high.value > 0.0))
            && !target.is_there()
        {
            one.refuse("the water drained at a change has nowhere to go", "write `to: Settling pond` beside `drains`");
        }
        change.finish();
    }
    Some(Change { cadence: cadence?, lasts, drains, to })
}

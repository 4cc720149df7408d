//! Supplies, catchments, uses, transfers and discharge points.

use super::flows::{Context, map_given};
use super::keys;
use super::weirs::weir;
use crate::facility::model::{
    Catchment, DischargePoint, GroundBefore, Part, RunoffRule, Supply, Transfer, Use, UseAmount,
};
use crate::files::{Field, Fields, Given, Keyed, Reads};
use crate::quantity::kind;
use crate::told::Problem;
use uom::si::f64::Ratio;

pub(super) fn supply<'a>(context: &Context<'a>, field: &Field<'a>) -> Option<Supply> {
    let mut map = field.map::<keys::Supply>()?;
    let supply = Supply {
        gives_at_most: map.read(&keys::Supply::GIVES),
        when: context.when(&map.get(&keys::Supply::WHEN)),
        brings: context.concentrations(&map.get(&keys::Supply::BRINGS), true, true),
    };
    map.finish();
    Some(supply)
}

pub(super) fn catchment<'a>(context: &Context<'a>, name: &str, field: &Field<'a>) -> Option<Catchment> {
    let mut map = field.map::<keys::Catchment>()?;
    let parts_field = map.get(&keys::Catchment::PARTS);
    let parts = if parts_field.is_there() {
        let named = parts_field.named();
        let count = named.len();
        if count == 0 && parts_field.is_map() {
            parts_field.refuse("no part is described", "write it like {lanes: {area: 1.1 acre, curve number: 89}}");
        }
        let parts: Vec<Part> = named
            .into_iter()
            .filter_map(|(name, value)| {
                let mut map = value.map::<keys::OnePart>()?;
                let part = part(name.value, &mut map);
                map.finish();
                part
            })
            .collect();
        let extras = [
            (keys::Part::AREA.word, map.get(&keys::Part::AREA).field()),
            (keys::Part::SHARE.word, map.get(&keys::Part::SHARE).field()),
            (keys::Part::NUMBER.word, map.get(&keys::Part::NUMBER).field()),
            (keys::Part::BEFORE.word, map.get(&keys::Part::BEFORE).field()),
            (keys::Part::FIRST.word, map.get(&keys::Part::FIRST).field()),
        ];
        for (key, extra) in extras {
            if extra.is_there() {
                context.problems.add(
                    Problem::error(&extra.key_place, format!("`{key}` beside `parts`"))
                        .hint("say it for each part, or take `parts` out"),
                );
            }
        }
        (count > 0 && parts.len() == count).then_some(parts)
    } else {
        part(name.to_string(), &mut map).map(|part| vec![part])
    };
    let solids = context.concentrations(&map.get(&keys::Catchment::SOLIDS), true, true);
    let goes_to = context.outflow(&map.get(&keys::Catchment::GOES_TO));
    map.finish();
    Some(Catchment { parts: parts?, solids, goes_to: goes_to? })
}

fn part(name: String, map: &mut Fields<'_>) -> Option<Part> {
    let area = positive(&map.needs(&keys::Part::AREA));
    let number = map.get(&keys::Part::NUMBER);
    let share = map.get(&keys::Part::SHARE);
    let before = map.get(&keys::Part::BEFORE);
    let ground = if before.is_there() {
        if !number.is_there() {
            before.refuse(
                "how wet the ground is before, without a curve number",
                "write `curve number: 89` beside it, or take it out",
            );
        }
        before.read().map(|said| said.value).unwrap_or_default()
    } else {
        GroundBefore::default()
    };
    let first = map.read(&keys::Part::FIRST);
    let runoff = match (number.is_there(), share.is_there()) {
        (true, true) => {
            number.refuse("both a curve number and a share that runs off", "keep the one you know better");
            None
        }
        (true, false) => number.read().and_then(|given| {
            let fits = given.ends().is_none_or(|(low, high)| low.value >= 30.0 && high.value <= 100.0);
            if !fits {
                number.refuse("a curve number is from 30 to 100", "look it up for the soil and its cover");
            }
            fits.then_some(RunoffRule::CurveNumber(given))
        }),
        (false, true) => share.read().map(|runs_off| RunoffRule::Share { runs_off, first_soaked_up: first }),
        (false, false) => {
            let whose = map.name();
            map.problems().add(
                Problem::error(&map.place, format!("{whose} doesn't say how much of the rain runs off"))
                    .hint("write `runs off: 50 % to 70 %` or `curve number: 89`"),
            );
            None
        }
    };
    Some(Part { name, area: area?, runoff: runoff?, ground })
}

/// Refuses a value that is zero from end to end.
pub(super) fn positive<V: Reads<Out = Given<Q>>, Q: Copy + Default + PartialOrd>(
    field: &Keyed<'_, V>,
) -> Option<Given<Q>> {
    above_zero(field, |field| V::read(field))
}

/// The same of a field that is not declared.
pub(in crate::facility) fn above_zero<'a, Q: Copy + Default + PartialOrd>(
    field: &Field<'a>,
    read: impl Fn(&Field<'a>) -> Option<Given<Q>>,
) -> Option<Given<Q>> {
    let given = read(field)?;
    if given.ends().is_some_and(|(low, _)| low <= Q::default()) {
        field.refuse("a value above zero is expected", "write the size it has, or: not known");
        return None;
    }
    Some(given)
}

pub(super) fn a_use<'a>(context: &Context<'a>, field: &Field<'a>) -> Option<Use> {
    let mut map = field.map::<keys::Use>()?;
    let kind = map.read(&keys::Use::KIND).map(|said| said.value);
    let runs = context.runs(&map.get(&keys::Use::RUNS));
    let amount = use_amount(context, &mut map, runs.as_ref());
    let when = context.when(&map.get(&keys::Use::WHEN)).unwrap_or_default();
    let returns = map.read(&keys::Use::RETURNS);
    let picks_up = context.concentrations(&map.get(&keys::Use::PICKS_UP), true, true);
    let feed_added = context.concentrations(&map.get(&keys::Use::FEED), false, true);
    let takes_from = context.sources(&map.get(&keys::Use::TAKES_FROM));
    let turn = context.turn(&mut map);
    let to = map.get(&keys::Use::GOES_TO);
    let goes_to = context.outflow(&to);
    let comes_back = returns.as_ref().is_some_and(|given| given.ends().is_none_or(|(_, high)| high.value > 0.0));
    // A `to` alone is told as the key that is not known.
    if comes_back && !to.is_there() && !map.has("to") {
        let whose = map.name();
        context.problems.add(
            Problem::error(&map.place, format!("what comes back from {whose} has nowhere to go"))
                .hint("write `goes to: Settling pond`, or `returns: 0 %`"),
        );
    }
    map.finish();
    if to.is_there() && goes_to.is_none() {
        return None;
    }
    Some(Use {
        kind: kind?,
        amount: amount?,
        when,
        returns: returns?,
        picks_up,
        feed_added,
        takes_from: takes_from?,
        turn,
        runs,
        goes_to,
    })
}

fn use_amount<'a>(
    context: &Context<'a>,
    map: &mut Fields<'a>,
    runs: Option<&Given<uom::si::f64::Time>>,
) -> Option<UseAmount> {
    let amount = map.get(&keys::Use::AMOUNT);
    let floods = map.get(&keys::Use::FLOODS);
    let (depth, area, zones) = (map.get(&keys::Use::DEPTH), map.get(&keys::Use::AREA), map.get(&keys::Use::ZONES));
    if amount.is_there() {
        for extra in [&*floods, &*depth, &*zones] {
            if extra.is_there() {
                context.problems.add(
                    Problem::error(&extra.key_place, "the amount is said twice")
                        .hint("keep `amount`, or take it out and keep `depth` with `area`"),
                );
            }
        }
        let _ = area.quantity::<kind::Area>();
        return context.daily_amount(&amount, runs);
    }
    if !depth.is_there() && !floods.is_there() {
        let whose = map.name();
        context.problems.add(Problem::error(&map.place, format!("{whose} doesn't say how much water it uses")).hint(
            "write `amount: 600 gal/day`, or `area` with `depth: 0.5 in/day`, or `depth: 1 in` with `floods a day: 2`",
        ));
        let _ = area.quantity::<kind::Area>();
        return None;
    }
    let area = positive(&map.needs(&keys::Use::AREA));
    if floods.is_there() {
        let depth = map.needs(&keys::Use::DEPTH).quantity::<kind::RainDepth>();
        let floods_a_day = floods.read();
        let zones = zones.read().map_or(1, |said| said.value);
        return Some(UseAmount::Floods {
            area: area?,
            depth: depth?,
            floods_a_day: floods_a_day?,
            zones: u32::try_from(zones).unwrap_or(1),
        });
    }
    if zones.is_there() {
        context.problems.add(
            Problem::error(&zones.key_place, "`zones` are flooded in turn, and `floods a day` is missing")
                .hint("write `floods a day: 2`, or take `zones` out"),
        );
    }
    let depth = depth.quantity::<kind::DepthRate>();
    Some(UseAmount::DepthPerDay { area: area?, depth: depth? })
}

pub(super) fn transfer<'a>(context: &Context<'a>, field: &Field<'a>) -> Option<Transfer> {
    let mut map = field.map::<keys::Transfer>()?;
    let runs = context.runs(&map.get(&keys::Transfer::RUNS));
    let amount = context.daily_amount(&map.get(&keys::Transfer::AMOUNT), runs.as_ref());
    let transfer = (
        context.when(&map.get(&keys::Transfer::WHEN)).unwrap_or_default(),
        context.sources(&map.get(&keys::Transfer::TAKES_FROM)),
        context.turn(&mut map),
        context.outflow(&map.get(&keys::Transfer::GOES_TO)),
    );
    map.finish();
    let (when, takes_from, turn, goes_to) = transfer;
    Some(Transfer { amount: amount?, when, takes_from: takes_from?, turn, runs, goes_to: goes_to? })
}

pub(super) fn discharge_point(field: &Field<'_>) -> Option<DischargePoint> {
    let mut map = field.map::<keys::Discharge>()?;
    let kind = map.read(&keys::Discharge::KIND);
    let point = (
        map.read(&keys::Discharge::INTO).map(|said| said.value),
        map.read(&keys::Discharge::LOOKED_AT).map(|said| said.value),
        map.read(&keys::Discharge::TAKES),
        map.read(&keys::Discharge::AREA),
        map.read(&keys::Discharge::HOLDS),
        weir(&map.get(&keys::Discharge::WEIR)),
    );
    map.finish();
    let (into, looked_at, takes_at_most, area, holds, weir) = point;
    Some(DischargePoint { kind: kind?.value, into, looked_at, takes_at_most, area, holds, weir })
}

/// `2 a day` as a number of times in a day.
pub(in crate::facility) fn times_a_day(field: &Field<'_>) -> Option<Given<Ratio>> {
    let said = field.parse("a number of times a day", "2 a day", crate::quantity::times_a_day)?;
    Some(map_given(
        Given {
            stated: crate::quantity::Stated::Known(crate::quantity::Range::exactly(said.value)),
            text: said.text,
            place: said.place,
            key: said.key,
        },
        |times: u32| Ratio::new::<uom::si::ratio::ratio>(f64::from(times)),
    ))
}

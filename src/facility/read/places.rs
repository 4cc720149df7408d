//! Supplies, catchments, uses, transfers and discharge points.

use super::flows::{Context, map_given};
use crate::facility::model::{
    Catchment, DischargeKind, DischargePoint, GroundBefore, Part, RunoffRule, Supply, Transfer, Use, UseAmount,
    UseKind, Weir,
};
use crate::files::{Field, Fields, Given};
use crate::quantity::kind;
use crate::told::Problem;
use uom::si::f64::Ratio;

pub(super) fn supply<'a>(context: &Context<'a>, field: &Field<'a>) -> Option<Supply> {
    let mut map = field.fields()?;
    let supply = Supply {
        gives_at_most: map.may("gives at most").quantity::<kind::Flow>(),
        when: context.when(&map.may("when")),
        brings: context.concentrations(&map.may("brings"), true, true),
    };
    map.finish();
    Some(supply)
}

pub(super) fn catchment<'a>(context: &Context<'a>, name: &str, field: &Field<'a>) -> Option<Catchment> {
    let mut map = field.fields()?;
    let parts_field = map.may("parts");
    let parts = if parts_field.is_there() {
        let named = parts_field.named();
        let count = named.len();
        if count == 0 && parts_field.is_map() {
            parts_field.refuse("no part is described", "write it like {lanes: {area: 1.1 acre, curve number: 89}}");
        }
        let parts: Vec<Part> = named
            .into_iter()
            .filter_map(|(name, value)| {
                let mut map = value.fields()?;
                let part = part(name.value, &mut map);
                map.finish();
                part
            })
            .collect();
        for key in ["area", "runs off", "curve number", "ground before", "first rain soaked up"] {
            let extra = map.may(key);
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
    let solids = context.concentrations(&map.may("solids"), true, true);
    let goes_to = context.outflow(&map.must("goes to", "Settling pond"));
    map.finish();
    Some(Catchment { parts: parts?, solids, goes_to: goes_to? })
}

fn part(name: String, map: &mut Fields<'_>) -> Option<Part> {
    let area = above_zero(&map.must("area", "9.5 acre"), |field| field.quantity::<kind::Area>());
    let number = map.may("curve number");
    let share = map.may("runs off");
    let before = map.may("ground before");
    let ground = if before.is_there() {
        if !number.is_there() {
            before.refuse(
                "how wet the ground is before, without a curve number",
                "write `curve number: 89` beside it, or take it out",
            );
        }
        before
            .one_of(&[
                ("average", GroundBefore::Average),
                ("dry", GroundBefore::Dry),
                ("wet", GroundBefore::Wet),
                ("by rain", GroundBefore::ByRain),
            ])
            .map(|said| said.value)
            .unwrap_or_default()
    } else {
        GroundBefore::default()
    };
    let first = map.may("first rain soaked up").quantity::<kind::RainDepth>();
    let runoff = match (number.is_there(), share.is_there()) {
        (true, true) => {
            number.refuse("both a curve number and a share that runs off", "keep the one you know better");
            None
        }
        (true, false) => number.factor().and_then(|given| {
            let fits = given.ends().is_none_or(|(low, high)| low.value >= 30.0 && high.value <= 100.0);
            if !fits {
                number.refuse("a curve number is from 30 to 100", "look it up for the soil and its cover");
            }
            fits.then_some(RunoffRule::CurveNumber(given))
        }),
        (false, true) => {
            share.quantity::<kind::Share>().map(|runs_off| RunoffRule::Share { runs_off, first_soaked_up: first })
        }
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
    let mut map = field.fields()?;
    let kinds = [UseKind::Overhead, UseKind::FloodFloor, UseKind::Bench, UseKind::Drip, UseKind::Washdown]
        .map(|kind| (kind.words(), kind));
    let kind = map.must("kind", "overhead").one_of(&kinds).map(|said| said.value);
    let runs = context.runs(&map.may("runs"));
    let amount = use_amount(context, &mut map, runs.as_ref());
    let when = context.when(&map.may("when")).unwrap_or_default();
    let returns = map.must("returns", "40 % to 60 %").quantity::<kind::Share>();
    let picks_up = context.concentrations(&map.may("picks up"), true, true);
    let feed_added = context.concentrations(&map.may("feed added"), false, true);
    let takes_from = context.sources(&map.must("takes from", "Storage pond"));
    let turn = context.turn(&mut map);
    let to = map.may("goes to");
    let goes_to = context.outflow(&to);
    let comes_back = returns.as_ref().is_some_and(|given| given.ends().is_none_or(|(_, high)| high.value > 0.0));
    if comes_back && !to.is_there() {
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
    let amount = map.may("amount");
    let floods = map.may("floods a day");
    let (depth, area, zones) = (map.may("depth"), map.may("area"), map.may("zones"));
    if amount.is_there() {
        for extra in [&floods, &depth, &zones] {
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
    let area = above_zero(&map.must("area", "9.5 acre"), |field| field.quantity::<kind::Area>());
    if floods.is_there() {
        let depth = map.must("depth", "1.0 in").quantity::<kind::RainDepth>();
        let floods_a_day = floods.factor();
        let zones = zones.count(1, 1000).map_or(1, |said| said.value);
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
    let mut map = field.fields()?;
    let runs = context.runs(&map.may("runs"));
    let amount = context.daily_amount(&map.must("amount", "25 gpm"), runs.as_ref());
    let transfer = (
        context.when(&map.may("when")).unwrap_or_default(),
        context.sources(&map.must("takes from", "Return tank")),
        context.turn(&mut map),
        context.outflow(&map.must("goes to", "Return tank")),
    );
    map.finish();
    let (when, takes_from, turn, goes_to) = transfer;
    Some(Transfer { amount: amount?, when, takes_from: takes_from?, turn, runs, goes_to: goes_to? })
}

pub(super) fn discharge_point(field: &Field<'_>) -> Option<DischargePoint> {
    let mut map = field.fields()?;
    let kinds = [DischargeKind::SurfaceWater, DischargeKind::Sewer, DischargeKind::Land, DischargeKind::HauledAway]
        .map(|kind| (kind.words(), kind));
    let kind = map.must("kind", "surface water").one_of(&kinds);
    let point = (
        map.may("into").text().map(|said| said.value),
        map.may("looked at").how_often().map(|said| said.value),
        map.may("takes at most").quantity::<kind::Flow>(),
        map.may("area").quantity::<kind::Area>(),
        map.may("holds").quantity::<kind::Volume>(),
        weir(&map.may("weir")),
    );
    map.finish();
    let (into, looked_at, takes_at_most, area, holds, weir) = point;
    Some(DischargePoint { kind: kind?.value, into, looked_at, takes_at_most, area, holds, weir })
}

/// `{shape: rectangular, width: 3 ft, end contractions: 2}`.
fn weir(field: &Field<'_>) -> Option<Weir> {
    let mut map = field.fields()?;
    let shape = map.must("shape", "V-notch of 90 degrees").one_of(&[
        ("V-notch of 90 degrees", 0_u8),
        ("V-notch of 60 degrees", 1),
        ("rectangular", 2),
        ("broad crested", 3),
    ]);
    let of = shape.map(|said| said.value);
    let weir = match of {
        Some(2 | 3) => {
            let width = above_zero(&map.must("width", "3 ft"), |field| field.quantity::<kind::Length>());
            if of == Some(2) {
                let ends = map.may("end contractions");
                let count = if ends.is_there() { ends.count(0, 2).map(|said| said.value) } else { Some(0) };
                width.zip(count).map(|(width, count)| Weir::Rectangular {
                    width,
                    end_contractions: u8::try_from(count).unwrap_or(0),
                })
            } else {
                let share = map.may("coefficient");
                let coefficient = if share.is_there() { share.ratio() } else { None };
                let possible = |(low, high): (Ratio, Ratio)| low.value > 0.0 && high.value <= 1.1;
                if coefficient.as_ref().and_then(Given::ends).is_some_and(|ends| !possible(ends)) {
                    share.refuse(
                        "the coefficient is the share of the ideal flow that really passes",
                        "write it like 0.9, or 0.85 to 0.95",
                    );
                }
                width.map(|width| Weir::BroadCrested { width, coefficient })
            }
        }
        Some(1) => Some(Weir::VNotch60),
        Some(_) => Some(Weir::VNotch90),
        None => None,
    };
    map.finish();
    weir
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

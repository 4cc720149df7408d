//! Tanks and ponds.

use uom::si::f64::{Length, Volume};

use super::flows::Context;
use super::names::Section;
use super::places::above_zero;
use crate::facility::model::{
    FillRule, LevelRow, Pond, PondShape, PumpedOut, SludgeState, StartState, Tank, TankerRule,
};
use crate::files::{Field, Fields, Given};
use crate::quantity::kind;
use crate::told::Problem;

/// Refuses `low` where it is certainly above `high`.
fn not_above<Q: Copy + PartialOrd>(
    field: &Field<'_>,
    low: Option<&Given<Q>>,
    high: Option<&Given<Q>>,
    message: &str,
    hint: &str,
) {
    if let (Some(low), Some(high)) = (low, high)
        && let (Some((least, _)), Some((_, most))) = (low.ends(), high.ends())
        && least > most
    {
        field.problems().add(
            Problem::error(&low.place, format!("{message}: {} against {}", low.text, high.text))
                .hint(hint)
                .related(&high.place, format!("`{}` is here", high.key.rsplit(" / ").next().unwrap_or_default())),
        );
    }
}

pub(super) fn tank<'a>(context: &Context<'a>, field: &Field<'a>) -> Option<Tank> {
    let mut map = field.fields()?;
    let holds = above_zero(&map.must("holds", "9000 gal"), |field| field.quantity::<kind::Volume>());
    let lowest = map.may("lowest").quantity::<kind::Volume>();
    let start = start(context, &map.must("at the start", "{holding: 6000 gal}"), true);
    let filled_from = fill(context, field, &map.may("filled from"), true);
    let pumped_out = pumped_out(context, &map.may("pumped out"), true);
    let emptied_by = tanker(context, &map.may("emptied by"));
    let overflow = map.may("overflows to");
    let overflows_to = context.outflow(&overflow);
    map.finish();

    let held = holds.as_ref();
    not_above(
        field,
        lowest.as_ref(),
        held,
        "the lowest volume is above what the tank holds",
        "look at `lowest` and `holds`",
    );
    not_above(
        field,
        start.as_ref().and_then(|s| s.holding.as_ref()),
        held,
        "at the start it holds more than it can",
        "look at `at the start` and `holds`",
    );
    not_above(
        field,
        filled_from.as_ref().and_then(|f| f.up_to_volume.as_ref()),
        held,
        "it is filled higher than it can hold",
        "look at `up to` and `holds`",
    );
    let pump = pumped_out.as_ref();
    not_above(
        field,
        pump.and_then(|p| p.starts_at_volume.as_ref()),
        held,
        "the pump starts above what the tank holds",
        "it would overflow first",
    );
    not_above(
        field,
        pump.and_then(|p| p.stops_at_volume.as_ref()),
        pump.and_then(|p| p.starts_at_volume.as_ref()),
        "the pump stops above where it starts",
        "a pump that empties stops lower than it starts",
    );
    let tanker = emptied_by.as_ref();
    not_above(
        field,
        tanker.and_then(|t| t.when_holding.as_ref()),
        held,
        "the tanker comes above what the tank holds",
        "it would overflow first",
    );
    not_above(
        field,
        tanker.and_then(|t| t.down_to.as_ref()),
        tanker.and_then(|t| t.when_holding.as_ref()),
        "the tanker leaves more than it comes for",
        "look at `down to`",
    );
    if overflow.is_there() && overflows_to.is_none() {
        return None;
    }
    Some(Tank { holds: holds?, lowest, at_the_start: start?, filled_from, pumped_out, emptied_by, overflows_to })
}

pub(super) fn pond<'a>(context: &Context<'a>, field: &Field<'a>) -> Option<Pond> {
    let mut map = field.fields()?;
    let shape = shape(&mut map);
    map.may("gauge reads zero at").one_of(&[("the floor", ())]);
    let freeboard_above_spill = map.must("freeboard above spill", "1.5 ft").quantity::<kind::Length>();
    let lowest_pump_level = map.may("lowest pump level").quantity::<kind::Length>();
    let cells = map.may("cells").count(1, 12).map_or(1, |said| said.value);
    let seepage = map.may("seepage").quantity::<kind::DepthRate>();
    let sludge = sludge(&map.may("sludge"));
    let start = start(context, &map.must("at the start", "{level: 5.6 ft}"), false);
    let filled_from = fill(context, field, &map.may("filled from"), false);
    let pumped_out = pumped_out(context, &map.may("pumped out"), false);
    let spills = map.must("spills to", "Outfall 1");
    let spills_to = context.outflow(&spills);
    map.finish();

    let spill = shape.as_ref().map(|shape| match shape {
        PondShape::Prismoid { depth, .. } => depth,
        PondShape::Table { spill_level, .. } => spill_level,
    });
    not_above(
        field,
        lowest_pump_level.as_ref(),
        spill,
        "the lowest pump level is above the spill level",
        "levels are measured from the floor",
    );
    not_above(
        field,
        start.as_ref().and_then(|s| s.level.as_ref()),
        spill,
        "at the start the pond stands above its spill level",
        "levels are measured from the floor",
    );
    not_above(
        field,
        filled_from.as_ref().and_then(|f| f.up_to_level.as_ref()),
        spill,
        "it is filled above its spill level",
        "look at `up to`",
    );
    not_above(
        field,
        sludge.as_ref().map(|s| &s.depth),
        spill,
        "the sludge is deeper than the pond",
        "look at the depth of the sludge",
    );
    not_above(
        field,
        sludge.as_ref().and_then(|s| s.clean_out_at.as_ref()),
        spill,
        "the clean-out depth is above the spill level",
        "look at `clean out at`",
    );
    let pump = pumped_out.as_ref();
    not_above(
        field,
        pump.and_then(|p| p.starts_at_level.as_ref()),
        spill,
        "the pump starts above the spill level",
        "it would spill first",
    );
    not_above(
        field,
        pump.and_then(|p| p.stops_at_level.as_ref()),
        pump.and_then(|p| p.starts_at_level.as_ref()),
        "the pump stops above where it starts",
        "a pump that empties stops lower than it starts",
    );
    Some(Pond {
        shape: shape?,
        freeboard_above_spill,
        lowest_pump_level,
        cells: u32::try_from(cells).unwrap_or(1),
        seepage,
        sludge,
        at_the_start: start?,
        filled_from,
        pumped_out,
        spills_to: Some(spills_to?),
    })
}

fn shape(map: &mut Fields<'_>) -> Option<PondShape> {
    let (built, table) = (map.may("shape"), map.may("levels"));
    let spill = map.may("spill level");
    match (built.is_there(), table.is_there()) {
        (true, true) => {
            table.refuse("both a shape and a table of levels", "keep the one that was surveyed");
            None
        }
        (false, false) => {
            let whose = map.name();
            map.problems().add(
                Problem::error(&map.place, format!("{whose} has no shape")).hint(
                    "write `shape: {length: 140 ft, width: 45 ft, depth: 6 ft, side slope: 3 to 1, measured at: spill level}` or a table of `levels`",
                ),
            );
            None
        }
        (true, false) => {
            if spill.is_there() {
                spill.refuse(
                    "`spill level` belongs to a table of `levels`",
                    "the depth of the shape is its spill level",
                );
            }
            prismoid(&built)
        }
        (false, true) => {
            let spill_level = map.must("spill level", "10 ft").known::<kind::Length>();
            level_table(&table, spill_level)
        }
    }
}

fn prismoid(field: &Field<'_>) -> Option<PondShape> {
    let mut map = field.fields()?;
    // A table of volumes can't be made of sides that nobody knows.
    let side = |field: &Field<'_>| above_zero(field, |field| field.known::<kind::Length>());
    let (length, width) = (side(&map.must("length", "140 ft")), side(&map.must("width", "45 ft")));
    let depth = side(&map.must("depth", "6 ft"));
    let slope_field = map.must("side slope", "3 to 1");
    let slope = slope_field.ratio().filter(|slope| {
        if slope.is_not_known() {
            slope_field.refuse("`side slope` must be known", "write it like 3 to 1: 3 across for each 1 down");
        }
        !slope.is_not_known()
    });
    let at = map.must("measured at", "spill level").one_of(&[("spill level", ())]);
    map.finish();
    let (length, width, depth, side_slope) = (length?, width?, depth?, slope?);
    at?;
    if let (Some((_, l)), Some((_, w)), Some((d, _)), Some((s, _))) =
        (length.ends(), width.ends(), depth.ends(), side_slope.ends())
    {
        let floor: Length = l.min(w) - 2.0 * s * d;
        if floor.value < 0.0 {
            slope_field.refuse(
                format!("sides of {} meet before they reach {} down", side_slope.text, depth.text),
                "look at the slope, the depth, and the length and width at the spill level",
            );
            return None;
        }
    }
    Some(PondShape::Prismoid { length, width, depth, side_slope })
}

fn level_table(field: &Field<'_>, spill_level: Option<Given<Length>>) -> Option<PondShape> {
    let mut rows: Vec<LevelRow> = Vec::new();
    let items = field.list();
    let count = items.len();
    for item in items {
        let Some(mut map) = item.fields() else {
            continue;
        };
        let level = map.must("level", "0 ft").known::<kind::Length>();
        let area = map.must("area", "0.62 acre").known::<kind::Area>();
        map.finish();
        let (Some(level), Some(area)) = (level, area) else {
            continue;
        };
        if let Some(last) = rows.last() {
            let rises = last.level.ends().zip(level.ends()).is_some_and(|(before, now)| now.0 > before.1);
            let widens = last.area.ends().zip(area.ends()).is_some_and(|(before, now)| now.0 >= before.1);
            if !rises {
                item.refuse("each level must be above the one before", "put the lowest level first");
                return None;
            }
            if !widens {
                item.refuse("a pond does not get narrower upwards", "look at the areas");
                return None;
            }
        }
        rows.push(LevelRow { level, area });
    }
    if rows.len() != count {
        return None;
    }
    if rows.len() < 2 {
        field.refuse("a table of levels has at least two rows", "give the floor and the spill level");
        return None;
    }
    let spill_level = spill_level?;
    let top = rows.last().and_then(|row| row.level.ends());
    let bottom = rows.first().and_then(|row| row.level.ends());
    if let (Some((spill, _)), Some((_, top)), Some((bottom, _))) = (spill_level.ends(), top, bottom)
        && (spill > top || spill <= bottom)
    {
        field.problems().add(
            Problem::error(&spill_level.place, "the spill level is not within the table of levels")
                .hint("the table reaches from the floor to the spill level or above"),
        );
        return None;
    }
    Some(PondShape::Table { rows, spill_level })
}

fn sludge(field: &Field<'_>) -> Option<SludgeState> {
    let mut map = field.fields()?;
    let depth = map.must("depth", "0.8 ft").quantity::<kind::Length>();
    let measured_on = map.may("measured on").date().map(|said| said.value);
    let dry_solids = above_zero(&map.must("dry solids", "8 %"), |field| field.quantity::<kind::Share>());
    let clean_out_at = map.may("clean out at").quantity::<kind::Length>();
    map.finish();
    Some(SludgeState { depth: depth?, measured_on, dry_solids: dry_solids?, clean_out_at })
}

fn start<'a>(context: &Context<'a>, field: &Field<'a>, is_tank: bool) -> Option<StartState> {
    let mut map = field.fields()?;
    let mut state = StartState {
        holding: map.may("holding").quantity::<kind::Volume>(),
        level: None,
        solids: context.concentrations(&map.may("solids"), true, true),
    };
    if !is_tank {
        state.level = map.may("level").quantity::<kind::Length>();
    }
    let (holding, level) = (map.has("holding"), !is_tank && map.has("level"));
    if holding == level {
        let key = if is_tank { "holding: 6000 gal" } else { "level: 5.6 ft" };
        let message =
            if holding { "both a volume and a level at the start" } else { "how full it is at the start is missing" };
        field.refuse(message, format!("write `{key}`"));
    }
    map.finish();
    Some(state)
}

fn fill<'a>(context: &Context<'a>, store: &Field<'a>, field: &Field<'a>, is_tank: bool) -> Option<FillRule> {
    let mut map = field.fields()?;
    let from_field = map.must("from", "Well");
    let from = context.source(&from_field).filter(|id| {
        let is_itself = context.names.get(*id).is_some_and(|named| named.name == store.last_key());
        if is_itself {
            from_field.refuse("it can't be filled from itself", "name the supply, the tank or the pond that fills it");
        }
        !is_itself
    });
    let (volume, level) = volume_or_level(&map.must("up to", if is_tank { "6000 gal" } else { "8 ft" }), is_tank);
    let when = context.when(&map.may("when"));
    let place = map.place.clone();
    map.finish();
    if volume.is_none() && level.is_none() {
        return None;
    }
    Some(FillRule { from: from?, up_to_volume: volume, up_to_level: level, place, when })
}

/// A tank's contents are told as a volume, a pond's as a level.
fn volume_or_level(field: &Field<'_>, is_tank: bool) -> (Option<Given<Volume>>, Option<Given<Length>>) {
    if is_tank { (field.quantity::<kind::Volume>(), None) } else { (None, field.quantity::<kind::Length>()) }
}

fn pumped_out<'a>(context: &Context<'a>, field: &Field<'a>, is_tank: bool) -> Option<PumpedOut> {
    let mut map = field.fields()?;
    let to = context.outflow(&map.must("to", "Town sewer"));
    let rate = above_zero(&map.must("rate", "60 gpm"), |field| field.quantity::<kind::Flow>());
    let (high, low) = if is_tank { ("1800 gal", "400 gal") } else { ("9.5 ft", "9 ft") };
    let (starts_at_volume, starts_at_level) = volume_or_level(&map.must("starts at", high), is_tank);
    let (stops_at_volume, stops_at_level) = volume_or_level(&map.must("stops at", low), is_tank);
    let running_at_the_start = map.may("running at the start").yes_or_no().is_some_and(|said| said.value);
    let when = context.when(&map.may("when"));
    let place = map.place.clone();
    map.finish();
    Some(PumpedOut {
        to: to?,
        rate: rate?,
        starts_at_volume,
        starts_at_level,
        stops_at_volume,
        stops_at_level,
        running_at_the_start,
        when,
        place,
    })
}

fn tanker<'a>(context: &Context<'a>, field: &Field<'a>) -> Option<TankerRule> {
    let mut map = field.fields()?;
    map.must("kind", "tanker").one_of(&[("tanker", ())]);
    let to_field = map.must("to", "Hauled sludge");
    let to = context.bin(&to_field).filter(|id| {
        let is_tank = context.names.section(*id) == Some(Section::Tank);
        if is_tank {
            to_field.refuse(
                "a tanker takes water off the site, and this is a tank",
                "name a discharge point of kind `hauled away`; between two tanks water is `pumped out`",
            );
        }
        !is_tank
    });
    let by_log = map.may("by").one_of(&[("log", ())]).is_some();
    let either = map.may("or when holding");
    let plain = map.may("when holding");
    let when_holding = if either.is_there() { either } else { plain }.quantity::<kind::Volume>();
    let down_to = map.may("down to").quantity::<kind::Volume>();
    let place = map.place.clone();
    if !by_log && when_holding.is_none() {
        field.refuse("it doesn't say when the tanker comes", "write `by: log`, or `when holding: 1200 gal`, or both");
    }
    map.finish();
    Some(TankerRule { to: to?, by_log, when_holding, down_to, place })
}

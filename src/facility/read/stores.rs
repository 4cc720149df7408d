//! Tanks and ponds.

use uom::si::area::{square_foot, square_meter};
use uom::si::f64::{Length, Volume};

use super::flows::Context;
use super::keys::{
    self, Fill, PondFill, PondPump, PondStart, Prismoid, PumpedOut as Pump, Sludge, Start, TankFill, TankPump,
    TankStart, Tanker,
};
use super::names::Section;
use super::places::positive;
use crate::facility::model::{
    FillRule, LevelRow, PlaceId, Pond, PondShape, PumpedOut, SludgeState, StartState, Tank, TankerRule,
};
use crate::files::shapes::Quantity;
use crate::files::{Field, Fields, Given, Key};
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
    let mut map = field.map::<keys::Tank>()?;
    let holds = positive(&map.get(&keys::Tank::HOLDS));
    let lowest = map.read(&keys::Tank::LOWEST);
    let start = start(context, &map.get(&keys::Tank::START), true);
    let filled_from = fill(context, field, &map.get(&keys::Tank::FILLED), true);
    let pumped_out = pumped_out(context, &map.get(&keys::Tank::PUMPED), true);
    let emptied_by = tanker(context, &map.get(&keys::Tank::EMPTIED));
    let overflow = map.get(&keys::Tank::OVERFLOW);
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
    let mut map = field.map::<keys::Pond>()?;
    let shape = shape(&mut map);
    map.read(&keys::Pond::GAUGE);
    let freeboard_above_spill = map.read(&keys::Pond::FREEBOARD);
    let lowest_pump_level = map.read(&keys::Pond::LOWEST);
    let cells = map.read(&keys::Pond::CELLS).map_or(1, |said| said.value);
    let seepage = map.read(&keys::Pond::SEEPAGE);
    let sludge = sludge(&map.get(&keys::Pond::SLUDGE));
    let start = start(context, &map.get(&keys::Pond::START), false);
    let filled_from = fill(context, field, &map.get(&keys::Pond::FILLED), false);
    let pumped_out = pumped_out(context, &map.get(&keys::Pond::PUMPED), false);
    let spills = map.get(&keys::Pond::SPILLS);
    let has_outlet = !["no outlet", "nowhere", "none"].iter().any(|words| spills.says(words));
    let spills_to = if has_outlet { Some(context.outflow(&spills)) } else { None };
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
        spills_to: match spills_to {
            Some(to) => Some(to?),
            None => None,
        },
    })
}

fn shape(map: &mut Fields<'_>) -> Option<PondShape> {
    let (built, table) = (map.get(&keys::Pond::SHAPE), map.get(&keys::Pond::LEVELS));
    let spill = map.get(&keys::Pond::SPILL_LEVEL);
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
            let spill_level = map.needs(&keys::Pond::SPILL_LEVEL).read();
            level_table(&table, spill_level)
        }
    }
}

/// `0 to 1`, `0:1`, `0`, `vertical`.
fn is_upright(slope: &str) -> bool {
    let run = slope.split(':').next().unwrap_or_default().split(" to ").next().unwrap_or_default().trim();
    run.parse::<f64>() == Ok(0.0)
        || ["vertical", "straight", "upright"].iter().any(|word| run.eq_ignore_ascii_case(word))
}

/// The table of levels that says what straight walls do.
fn straight_walls(
    length: Option<&Given<Length>>,
    width: Option<&Given<Length>>,
    depth: Option<&Given<Length>>,
) -> String {
    let one = |given: Option<&Given<Length>>| given.and_then(|given| given.ends()).map(|(low, _)| low);
    let in_feet = length.is_some_and(|length| !length.text.trim_end().ends_with('m'));
    let area = one(length).zip(one(width)).map(|(length, width)| match in_feet {
        true => format!("{:.0} ft2", (length * width).get::<square_foot>()),
        false => format!("{:.0} m2", (length * width).get::<square_meter>()),
    });
    let area = area.unwrap_or_else(|| "75600 ft2".to_owned());
    let depth = depth.map_or("12 ft", |depth| depth.text.as_str());
    let floor = if in_feet { "0 ft" } else { "0 m" };
    format!(
        "in place of `shape` write `levels: [{{level: {floor}, area: {area}}}, {{level: {depth}, area: {area}}}]` and `spill level: {depth}`"
    )
}

fn prismoid(field: &Field<'_>) -> Option<PondShape> {
    let mut map = field.map::<Prismoid>()?;
    let (length, width) = (positive(&map.get(&Prismoid::LENGTH)), positive(&map.get(&Prismoid::WIDTH)));
    let depth = positive(&map.get(&Prismoid::DEPTH));
    let slope_field = map.get(&Prismoid::SLOPE);
    if slope_field.plain_text().is_some_and(is_upright) {
        let hint = straight_walls(length.as_ref(), width.as_ref(), depth.as_ref());
        slope_field.refuse("straight walls have no side slope", hint);
        map.read(&Prismoid::MEASURED);
        map.finish();
        return None;
    }
    let slope = slope_field.read().filter(|slope| {
        if slope.is_not_known() {
            slope_field.refuse("`side slope` must be known", "write it like 3 to 1: 3 across for each 1 down");
        }
        !slope.is_not_known()
    });
    let at = map.read(&Prismoid::MEASURED);
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
        let Some(mut map) = item.map::<keys::LevelRow>() else {
            continue;
        };
        let level = map.read(&keys::LevelRow::LEVEL);
        let area = map.read(&keys::LevelRow::AREA);
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
    let mut map = field.map::<Sludge>()?;
    let depth = map.read(&Sludge::DEPTH);
    let measured_on = map.read(&Sludge::MEASURED_ON).map(|said| said.value);
    let dry_solids = positive(&map.get(&Sludge::DRY));
    let clean_out_at = map.read(&Sludge::CLEAN_OUT);
    map.finish();
    Some(SludgeState { depth: depth?, measured_on, dry_solids: dry_solids?, clean_out_at })
}

fn start<'a>(context: &Context<'a>, field: &Field<'a>, is_tank: bool) -> Option<StartState> {
    let mut map = if is_tank { field.map::<TankStart>()? } else { field.map::<PondStart>()? };
    let mut state = StartState {
        holding: map.read(&Start::HOLDING),
        level: None,
        solids: context.concentrations(&map.get(&Start::SOLIDS), true, true),
    };
    if !is_tank {
        state.level = map.read(&PondStart::LEVEL);
    }
    let (holding, level) = (map.has(Start::HOLDING), !is_tank && map.has(PondStart::LEVEL));
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
    if field.is_there() && !field.is_map() {
        let up_to = if is_tank { "6000 gal" } else { "8 ft" };
        let names: Vec<String> = field.one_or_more().iter().filter_map(|item| Some(item.name()?.value)).collect();
        let from = if let [one] = names.as_slice() { one.clone() } else { format!("[{}]", names.join(", ")) };
        let order = if let [first, second, ..] = names.as_slice() {
            format!(": {first} fills it first, {second} what that lacks")
        } else {
            String::new()
        };
        field.refuse("how far it is filled is missing", format!("write {{from: {from}, up to: {up_to}}}{order}"));
        return None;
    }
    let mut map = if is_tank { field.map::<TankFill>()? } else { field.map::<PondFill>()? };
    let from_field = map.get(&Fill::FROM).field();
    let from = context.sources(&from_field).filter(|ids| {
        let is_itself = |id: &PlaceId| context.names.get(*id).is_some_and(|named| named.name == store.last_key());
        let is_filter = |id: &PlaceId| context.names.section(*id) == Some(Section::Filter);
        if ids.iter().any(is_itself) {
            from_field.refuse("it can't be filled from itself", "name the supply, the tank or the pond that fills it");
            return false;
        }
        // Lines through filters are asked as the day begins, supplies and stores at the place's turn.
        let in_order = ids.is_sorted_by_key(|id| !is_filter(id));
        if !in_order {
            from_field.refuse(
                "what comes through a filter is asked for before what comes straight",
                "name the filters first",
            );
        }
        in_order
    });
    let (volume, level) = volume_or_level(&mut map, is_tank, &TankFill::UP_TO, &PondFill::UP_TO);
    let when = context.when(&map.get(&Fill::WHEN));
    let place = map.place.clone();
    map.finish();
    if volume.is_none() && level.is_none() {
        return None;
    }
    Some(FillRule { from: from?, up_to_volume: volume, up_to_level: level, place, when })
}

/// A tank's contents are told as a volume, a pond's as a level.
fn volume_or_level(
    map: &mut Fields<'_>,
    is_tank: bool,
    volume: &Key<Quantity<kind::Volume>>,
    level: &Key<Quantity<kind::Length>>,
) -> (Option<Given<Volume>>, Option<Given<Length>>) {
    if is_tank { (map.read(volume), None) } else { (None, map.read(level)) }
}

fn pumped_out<'a>(context: &Context<'a>, field: &Field<'a>, is_tank: bool) -> Option<PumpedOut> {
    let mut map = if is_tank { field.map::<TankPump>()? } else { field.map::<PondPump>()? };
    let to = context.outflow(&map.get(&Pump::TO));
    let rate = positive(&map.get(&Pump::RATE));
    let (starts_at_volume, starts_at_level) = volume_or_level(&mut map, is_tank, &TankPump::STARTS, &PondPump::STARTS);
    let (stops_at_volume, stops_at_level) = volume_or_level(&mut map, is_tank, &TankPump::STOPS, &PondPump::STOPS);
    let running_at_the_start = map.read(&Pump::RUNNING).is_some_and(|said| said.value);
    let when = context.when(&map.get(&Pump::WHEN));
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
    let mut map = field.map::<Tanker>()?;
    map.read(&Tanker::KIND);
    let to_field = map.get(&Tanker::TO);
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
    let by_log = map.read(&Tanker::BY).is_some();
    let either = map.get(&Tanker::OR_WHEN);
    let plain = map.get(&Tanker::WHEN);
    let when_holding = if either.is_there() { either } else { plain }.read();
    let down_to = map.read(&Tanker::DOWN_TO);
    let place = map.place.clone();
    if !by_log && when_holding.is_none() {
        field.refuse("it doesn't say when the tanker comes", "write `by: log`, or `when holding: 1200 gal`, or both");
    }
    map.finish();
    Some(TankerRule { to: to?, by_log, when_holding, down_to, place })
}

//! A candidate in place of the pond, in the facility that is simulated.

use chrono::{Datelike, NaiveDate};
use uom::si::f64::{Length, Ratio, Volume, VolumeRate};
use uom::si::length::meter;
use uom::si::ratio::ratio;
use uom::si::volume::cubic_meter;
use uom::si::volume_rate::cubic_meter_per_second;

use crate::facility::model::{
    Facility, FillRule, Outflow, PlaceId, PlaceKind, Pond, PondShape, PumpedOut, StartState, Step, UnitSystem,
};
use crate::files::Given;
use crate::quantity::{Range, Stated};
use crate::records::{Act, Source, Timeline};
use crate::science::ponds::{LevelTable, Prismoid, Shape};
use crate::told::Place;

use super::basin::{printed_below_m, printed_level_m};
use super::drainage::share_along;
use super::{Basin, Demands, PumpStops, Stack};

/// How full the sludge store is while the years run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SludgeStore {
    /// As full as on the day before a clean-out: what the pond is sized for.
    Full,
    /// Empty.
    Empty,
    /// Twice as full: one clean-out was left out.
    Twice,
}

impl SludgeStore {
    /// Top of the sludge, m above the floor. A sliver of water is left over it, so that there is a pond to run.
    pub fn top_m(self, basin: &Basin, stack: &Stack) -> f64 {
        let top = match self {
            Self::Full => stack.sludge_top_m,
            Self::Empty => basin.level_m(stack.berm_m3),
            Self::Twice => basin.level_m(2.0 * stack.sludge_m3 + stack.berm_m3),
        };
        top.min(0.99 * basin.depth_m)
    }

    /// Volume of the sludge, m³.
    pub fn m3(self, basin: &Basin, stack: &Stack) -> f64 {
        basin.volume_m3(self.top_m(basin, stack))
    }
}

/// What is put into the facility, for one run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Version {
    /// The shape.
    pub basin: Basin,
    /// Its sludge.
    pub sludge: SludgeStore,
    /// Multiplies its seepage.
    pub seepage_times: f64,
    /// Multiplies the areas that rain falls on, of what drains to it.
    pub catchment_times: f64,
    /// Rate of its drawdown, m³/s, where it is another than that of the demands.
    pub rate_m3_s: Option<f64>,
}

/// How far over the level it draws down to a drawdown starts, m: less than a gauge shows. A day that closes no higher has
/// the storm's room.
pub const DRAWDOWN_STARTS_OVER_M: f64 = 0.001;

impl Version {
    /// A shape as it is sized: sludge store full, seepage as typed.
    pub fn of(basin: Basin) -> Self {
        Self { basin, sludge: SludgeStore::Full, seepage_times: 1.0, catchment_times: 1.0, rate_m3_s: None }
    }
}

fn given<Q: Copy>(value: Q, key: String, place: &Place) -> Given<Q> {
    Given { stated: Stated::Known(Range::exactly(value)), text: "as sized".to_owned(), place: place.clone(), key }
}

/// The facility with a candidate in place of its pond.
///
/// The run sees the water above the sludge store: with plane sides that is a pond of the same surface, less deep. A float
/// valve keeps the volume over the settling pool that it keeps now, but none of the room of the storm or of what is held; levels at which a pump
/// works keep their distance below the spill level. Of a pond that stands, levels are as typed for it, above its floor.
pub fn with_basin(facility: &Facility, pond: PlaceId, demands: &Demands, version: &Version) -> Facility {
    let mut changed = facility.clone();
    if version.catchment_times != 1.0 {
        scale_catchments(&mut changed, pond, version.catchment_times);
    }
    let Some(place) = changed.places.get_mut(pond.0) else {
        return changed;
    };
    let at = place.place.clone();
    let key = |what: &str| format!("ponds / {} / {what}", place.name);
    let PlaceKind::Pond(held) = &mut place.kind else {
        return changed;
    };
    let basin = &version.basin;
    let stack = demands.stack(basin);
    let sludge_m = version.sludge.top_m(basin, &stack);
    let depth_m = basin.depth_m - sludge_m;
    let pool_m = demands.pool_over_m(sludge_m).min(depth_m);
    let normal_m = (demands.normal_m(basin) - sludge_m).clamp(0.0, depth_m);
    let old = OldLevels::of(held);
    let length = Length::new::<meter>;
    let level = |below_spill_m: f64| match old.spill_m().filter(|_| demands.terms.stands) {
        Some(spill_m) => (spill_m - below_spill_m - sludge_m).clamp(pool_m, depth_m),
        None => (depth_m - below_spill_m).clamp(pool_m, depth_m),
    };
    if let Some(fill) = &mut held.filled_from {
        // The rooms for the storm and for what is held are not filled up on purpose.
        let held_from = demands.duties.hold.as_ref().map(|_| demands.hold_foot_m(basin));
        let most = [demands.storm_from_m(basin), held_from].into_iter().flatten().map(|level| level - sludge_m);
        let most = most.fold(depth_m, f64::min);
        let over_sludge = Basin { depth_m, ..*basin };
        if demands.terms.stands {
            if let Some(m) = old.filled_to_m(fill, basin) {
                fill.up_to_volume = None;
                let level_m = (m - sludge_m).clamp(0.0, depth_m);
                fill.up_to_level = Some(given(length(level_m), "filled from / up to".to_owned(), &at));
            }
        } else if let Some(m3) = old.over_pool_m3(fill) {
            let filled = over_sludge.level_m(over_sludge.volume_m3(pool_m) + m3);
            fill.up_to_volume = None;
            fill.up_to_level =
                Some(given(length(filled.min(most).clamp(pool_m, depth_m)), "filled from / up to".to_owned(), &at));
        }
    }
    if let Some(pump) = &mut held.pumped_out {
        old.refit_pump(pump, &level, &at);
    }
    if let Some((rate, to)) =
        version.rate_m3_s.or_else(|| demands.drawdown_m3_s(basin)).zip(drawdown_to(facility, demands))
    {
        let stops = (demands.drawn_down_to_m(basin) - sludge_m).clamp(pool_m, depth_m);
        held.pumped_out = Some(PumpedOut {
            to: Outflow::InOrder(vec![Step { to, place: at.clone(), at_most: None }]),
            rate: given(VolumeRate::new::<cubic_meter_per_second>(rate), key("drawdown / rate"), &at),
            starts_at_volume: None,
            starts_at_level: Some(given(
                length((stops + DRAWDOWN_STARTS_OVER_M).min(depth_m)),
                key("drawdown / starts at"),
                &at,
            )),
            stops_at_volume: None,
            stops_at_level: Some(given(length(stops), key("drawdown / stops at"), &at)),
            running_at_the_start: false,
            when: None,
            place: at.clone(),
        });
    }
    held.shape = PondShape::Prismoid {
        length: given(length(basin.length_m), key("shape / length"), &at),
        width: given(length(basin.width_m), key("shape / width"), &at),
        depth: given(length(depth_m), key("shape / depth"), &at),
        side_slope: given(Ratio::new::<ratio>(basin.slope), key("shape / side slope"), &at),
    };
    held.freeboard_above_spill = Some(given(length(basin.freeboard_m), key("freeboard above spill"), &at));
    held.lowest_pump_level = Some(given(length(pool_m), key("lowest pump level"), &at));
    held.cells = demands.cells;
    held.sludge = None;
    held.at_the_start = StartState {
        holding: None,
        level: Some(given(length(normal_m), key("at the start / level"), &at)),
        solids: Vec::new(),
    };
    if let Some(seepage) = &mut held.seepage
        && let Some(range) = seepage.stated.known()
    {
        seepage.stated =
            Stated::Known(Range { low: range.low * version.seepage_times, high: range.high * version.seepage_times });
    }
    changed
}

/// The facility with a shape, as it is found and as it is printed, and the levels that go with it typed in as they are
/// printed.
pub(super) fn typed_in(
    facility: &Facility,
    pond: PlaceId,
    demands: &Demands,
    (basin, printed): (&Basin, &Basin),
    system: UnitSystem,
) -> Facility {
    let filled_m = typed_fill_level_m(facility, pond, demands, (basin, printed), system);
    let pool_m = printed_level_m(system, demands.stack(basin).pool_top_m);
    let old = facility.get(pond).and_then(|place| match &place.kind {
        PlaceKind::Pond(held) => Some(OldLevels::of(held)),
        _ => None,
    });
    let mut changed = facility.clone();
    let (Some(place), Some(old)) = (changed.places.get_mut(pond.0), old) else { return changed };
    let at = place.place.clone();
    let key = |what: &str| format!("ponds / {} / {what}", place.name);
    let PlaceKind::Pond(held) = &mut place.kind else { return changed };
    let length = Length::new::<meter>;
    held.shape = PondShape::Prismoid {
        length: given(length(printed.length_m), key("shape / length"), &at),
        width: given(length(printed.width_m), key("shape / width"), &at),
        depth: given(length(printed.depth_m), key("shape / depth"), &at),
        side_slope: given(Ratio::new::<ratio>(printed.slope), key("shape / side slope"), &at),
    };
    held.freeboard_above_spill = Some(given(length(printed.freeboard_m), key("freeboard above spill"), &at));
    if held.lowest_pump_level.is_some() && demands.duties.pool.is_some() {
        held.lowest_pump_level = Some(given(length(pool_m), key("lowest pump level"), &at));
    }
    if let (Some(fill), Some(m)) = (&mut held.filled_from, filled_m) {
        fill.up_to_volume = None;
        fill.up_to_level = Some(given(length(m), key("filled from / up to"), &at));
    }
    // A pump that works by its level keeps its distance below the spill level.
    if let Some(pump) = &mut held.pumped_out {
        let level = |below_m: f64| (printed.depth_m - below_m).clamp(0.0, printed.depth_m);
        old.refit_pump(pump, &level, &at);
    }
    changed
}

/// The level to type with a shape as that up to which it is filled, m above its floor: as it is printed, and no higher than
/// the foot of what is held in the shape that is printed. None where nothing fills it.
pub fn typed_fill_level_m(
    facility: &Facility,
    pond: PlaceId,
    demands: &Demands,
    (basin, printed): (&Basin, &Basin),
    system: UnitSystem,
) -> Option<f64> {
    let m = printed_level_m(system, filled_to_m(facility, pond, demands, basin)?);
    if demands.terms.stands || demands.duties.hold.is_none() {
        return Some(m);
    }
    // Never under the settling pool, where nothing can be drawn.
    let least_m = printed_level_m(system, demands.stack(basin).pool_top_m);
    let foot_m = [basin, printed].map(|of| demands.hold_foot_m(of)).into_iter().fold(f64::INFINITY, f64::min);
    Some(m.min(printed_below_m(system, foot_m)).max(least_m))
}

/// What to type as the level up to which the pond is filled, m above the floor of the pond as it is described, so that a
/// shape is filled no higher than a level of its own; none where nothing fills it, or that can't be typed.
pub(super) fn typed_fill_m(
    facility: &Facility,
    pond: PlaceId,
    demands: &Demands,
    basin: &Basin,
    most_m: f64,
) -> Option<f64> {
    let PlaceKind::Pond(held) = &facility.get(pond)?.kind else { return None };
    held.filled_from.as_ref()?;
    if demands.terms.stands {
        return Some(most_m);
    }
    let old = OldLevels::of(held);
    let shape = old.shape.as_ref()?;
    let pool_m = demands.stack(basin).pool_top_m;
    let m3 = (basin.volume_m3(most_m) - basin.volume_m3(pool_m)).max(0.0);
    let floor = shape.lowest_level();
    let pool_m3 = shape.volume_at(floor + Length::new::<meter>(old.pool_m)).value.value;
    let level = shape.level_at(Volume::new::<cubic_meter>(pool_m3 + m3)).value.min(shape.spill_level());
    Some((level - floor).value)
}

/// The facility with the pond filled up to a level that is typed so.
pub(super) fn with_fill(facility: &Facility, pond: PlaceId, level_m: f64) -> Facility {
    let mut changed = facility.clone();
    if let Some(place) = changed.places.get_mut(pond.0)
        && let PlaceKind::Pond(held) = &mut place.kind
    {
        let floor = shape_of(held).map_or(0.0, |shape| shape.lowest_level().value);
        if let Some(fill) = &mut held.filled_from {
            fill.up_to_volume = None;
            fill.up_to_level =
                Some(given(Length::new::<meter>(floor + level_m), "filled from / up to".to_owned(), &place.place));
        }
    }
    changed
}

/// The level up to which a candidate is filled on purpose, m above its floor; none where nothing fills it.
pub fn filled_to_m(facility: &Facility, pond: PlaceId, demands: &Demands, basin: &Basin) -> Option<f64> {
    let sized = with_basin(facility, pond, demands, &Version::of(*basin));
    Some(demands.stack(basin).sludge_top_m + filled_over_sludge_m(&sized, pond)?)
}

/// The level up to which a pond that is sized is filled on purpose, m above its sludge.
pub(super) fn filled_over_sludge_m(sized: &Facility, pond: PlaceId) -> Option<f64> {
    let PlaceKind::Pond(held) = &sized.get(pond)?.kind else { return None };
    let (low, high) = held.filled_from.as_ref()?.up_to_level.as_ref()?.ends()?;
    Some(0.5 * (low.value + high.value))
}

fn scale_catchments(facility: &mut Facility, pond: PlaceId, times: f64) {
    let all = facility.clone();
    for place in &mut facility.places {
        let PlaceKind::Catchment(catchment) = &mut place.kind else { continue };
        if share_along(&all, &catchment.goes_to, pond, 0) <= 0.0 {
            continue;
        }
        for part in &mut catchment.parts {
            if let Some(range) = part.area.stated.known() {
                part.area.stated = Stated::Known(Range { low: range.low * times, high: range.high * times });
            }
        }
    }
}

/// Where the pump of a pond that is pumped out on level stops; none where none is.
pub(super) fn pump_stops(pond: &Pond) -> Option<PumpStops> {
    let pump = pond.pumped_out.as_ref()?;
    let old = OldLevels::of(pond);
    let below_spill_m = old.below_spill_m(pump.stops_at_level.as_ref(), pump.stops_at_volume.as_ref())?;
    Some(PumpStops { below_spill_m, above_floor_m: (old.spill_m()? - below_spill_m).max(0.0) })
}

/// Where a drawdown leads to: none where there is none, or no such place.
pub fn drawdown_to(facility: &Facility, demands: &Demands) -> Option<PlaceId> {
    facility.find(&demands.duties.storm.as_ref()?.drawdown.as_ref()?.to.value)
}

/// Spill level and shape of the pond as it was described, by which its levels and volumes are refitted.
struct OldLevels {
    shape: Option<Shape>,
    /// Depth from which nothing is drawn, m.
    pool_m: f64,
}

impl OldLevels {
    fn of(pond: &Pond) -> Self {
        Self { shape: shape_of(pond), pool_m: pool_of(pond) }
    }

    /// How far below the spill level something stood, m.
    fn below_spill_m(&self, level: Option<&Given<Length>>, volume: Option<&Given<Volume>>) -> Option<f64> {
        let shape = self.shape.as_ref()?;
        let middle = match (level.and_then(Given::ends), volume.and_then(Given::ends)) {
            (Some((low, high)), _) => 0.5 * (low.value + high.value),
            (None, Some((low, high))) => {
                let volume = Volume::new::<cubic_meter>(0.5 * (low.value + high.value));
                shape.level_at(volume).value.value
            }
            _ => return None,
        };
        Some((shape.spill_level().value - middle).max(0.0))
    }

    /// Its spill level over its floor, m.
    fn spill_m(&self) -> Option<f64> {
        self.shape.as_ref().map(|shape| (shape.spill_level() - shape.lowest_level()).value)
    }

    /// The level that a float valve was typed to fill up to, m above the floor of a pond that stands; of a volume that was
    /// typed, the level at which a shape holds that.
    fn filled_to_m(&self, fill: &FillRule, basin: &Basin) -> Option<f64> {
        if let Some((low, high)) =
            fill.up_to_volume.as_ref().filter(|_| fill.up_to_level.is_none()).and_then(Given::ends)
        {
            return Some(basin.level_m(0.5 * (low.value + high.value)));
        }
        Some(self.spill_m()? - self.below_spill_m(fill.up_to_level.as_ref(), None)?)
    }

    /// What a float valve keeps over the level below which nothing is drawn, m³.
    fn over_pool_m3(&self, fill: &FillRule) -> Option<f64> {
        let shape = self.shape.as_ref()?;
        let below = self.below_spill_m(fill.up_to_level.as_ref(), fill.up_to_volume.as_ref())?;
        let volume = |level: Length| shape.volume_at(level).value.value;
        let kept = volume(shape.spill_level() - Length::new::<meter>(below));
        let pool = volume(shape.lowest_level() + Length::new::<meter>(self.pool_m));
        Some((kept - pool).max(0.0))
    }

    fn refit_pump(&self, pump: &mut PumpedOut, level: &dyn Fn(f64) -> f64, at: &Place) {
        let starts = self.below_spill_m(pump.starts_at_level.as_ref(), pump.starts_at_volume.as_ref());
        let stops = self.below_spill_m(pump.stops_at_level.as_ref(), pump.stops_at_volume.as_ref());
        if let Some(below) = starts {
            pump.starts_at_volume = None;
            pump.starts_at_level =
                Some(given(Length::new::<meter>(level(below)), "pumped out / starts at".to_owned(), at));
        }
        if let Some(below) = stops {
            pump.stops_at_volume = None;
            pump.stops_at_level =
                Some(given(Length::new::<meter>(level(below)), "pumped out / stops at".to_owned(), at));
        }
    }
}

/// The shape of a pond as described, at the middle of its ranges.
pub fn shape_of(pond: &Pond) -> Option<Shape> {
    let middle = |given: &Given<Length>| given.ends().map(|(low, high)| 0.5 * (low + high));
    match &pond.shape {
        PondShape::Prismoid { length, width, depth, side_slope } => {
            let slope = side_slope.ends().map(|(low, high)| 0.5 * (low + high))?;
            Prismoid::new(middle(length)?, middle(width)?, middle(depth)?, slope).ok().map(Shape::Prismoid)
        }
        PondShape::Table { rows, spill_level } => {
            let rows: Option<Vec<_>> = rows
                .iter()
                .map(|row| Some((middle(&row.level)?, row.area.ends().map(|(low, high)| 0.5 * (low + high))?)))
                .collect();
            LevelTable::new(&rows?, middle(spill_level)?).ok().map(Shape::Table)
        }
    }
}

/// Depth of the pond as described from which nothing is drawn, m.
pub fn pool_of(pond: &Pond) -> f64 {
    let floor = shape_of(pond).map_or(0.0, |shape| shape.lowest_level().value);
    pond.lowest_pump_level
        .as_ref()
        .and_then(Given::ends)
        .map_or(0.0, |(low, high)| (0.5 * (low.value + high.value) - floor).max(0.0))
}

/// Records for years of weather: none, but that every pond is cleaned out on the first of each month, so that sludge
/// does not pile up in the run. The sludge of the pond that is sized is in its shape.
pub fn records(facility: &Facility, period: (NaiveDate, NaiveDate)) -> Timeline {
    let mut timeline = Timeline::default();
    let place = Place::file("years of weather");
    let mut day = period.0;
    while day <= period.1 {
        for pond in facility.places.iter().filter(|place| matches!(place.kind, PlaceKind::Pond(_))) {
            timeline.acts.push(Act {
                what: "clean-out".to_owned(),
                name: pond.name.clone(),
                day,
                time: None,
                value: None,
                unit: None,
                source: Source { place: place.clone(), paper: None, received: None, who: None, note: None },
            });
        }
        let Some(next) = day.with_day(1).and_then(|first| first.checked_add_months(chrono::Months::new(1))) else {
            break;
        };
        day = next;
    }
    timeline
}

/// Uses that draw from a place, directly or through filters, in file order.
pub fn uses_of(facility: &Facility, pond: PlaceId) -> Vec<PlaceId> {
    fn draws(facility: &Facility, sources: &[PlaceId], pond: PlaceId, depth: usize) -> bool {
        depth <= facility.places.len()
            && sources.iter().any(|source| {
                *source == pond
                    || matches!(facility.get(*source).map(|place| &place.kind),
                        Some(PlaceKind::Filter(filter)) if draws(facility, &filter.takes_from, pond, depth + 1))
            })
    }
    facility
        .places
        .iter()
        .enumerate()
        .filter(|(_, place)| match &place.kind {
            PlaceKind::Use(one) => draws(facility, &one.takes_from, pond, 0),
            PlaceKind::Transfer(one) => draws(facility, &one.takes_from, pond, 0),
            _ => false,
        })
        .map(|(index, _)| PlaceId(index))
        .collect()
}

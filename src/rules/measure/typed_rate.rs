//! The rate at a point as the facility file states it: pumps and washes, alone and all at once. Typed, so never a proof.

use uom::si::f64::VolumeRate;
use uom::si::volume_rate::cubic_meter_per_second;

use crate::facility::model::{Facility, Filter, Outflow, PlaceId, PlaceKind};
use crate::files::Given;
use crate::filters::{Bed, wash_against_sand};
use crate::rules::measure::convert::factor;
use crate::rules::measure::points::places;
use crate::rules::{Bound, Interval, Limit, Number, Point};

/// A source: its name, its least and greatest rate, and how that was typed.
type Source = (String, Option<(VolumeRate, VolumeRate)>, String);

fn as_typed(name: String, rate: &Given<VolumeRate>) -> Source {
    (name, rate.ends(), format!("{} ({})", rate.text, rate.place))
}

/// A flux over one vessel of a bed, times what its media need against sand.
fn by_flux(filter: &Filter) -> Option<(VolumeRate, VolumeRate)> {
    let bed = filter.kind.media_bed()?;
    let (least, most) = filter.wash.as_ref()?.flux.as_ref()?.ends()?;
    let (narrow, wide) = bed.diameter.ends()?;
    let area = |diameter| Bed { vessels: bed.vessels, diameter }.area_of_one();
    let times = |high: bool| {
        wash_against_sand(bed.media.iter().map(|layer| {
            let (low, top) = layer.wash_flow_times.as_ref()?.ends()?;
            Some(if high { top.value } else { low.value })
        }))
    };
    Some((least * area(narrow) * times(false), most * area(wide) * times(true)))
}

/// What a filter sends where a limit holds, at the rate of its wash, of its rinse to waste, or of a drum's rinse.
fn of_filter(filter: &Filter, name: &str) -> Vec<Source> {
    let mut sources = Vec::new();
    if let Some(rinse) = filter.kind.rinse() {
        sources.push(as_typed(format!("the rinse of {name}"), &rinse.flow));
    }
    if let Some(reject) = filter.kind.reject() {
        let most = filter.handles_at_most.as_ref();
        let ends = most.and_then(|most| Some((most.ends()?.1, reject.share()?.1)));
        let words = most.map_or_else(String::new, |most| format!("of at most {} ({})", most.text, most.place));
        let rate = ends.map(|(most, share)| (most * 0.0, most * share));
        sources.push((format!("the reject of {name}"), rate, words));
    }
    let Some(wash) = &filter.wash else {
        return sources;
    };
    let washing = wash.rate.as_ref().map(|rate| as_typed(format!("a wash of {name}"), rate)).or_else(|| {
        let flux = wash.flux.as_ref()?;
        let words = format!("{} on one vessel ({})", flux.text, flux.place);
        Some((format!("a wash of {name}"), by_flux(filter), words))
    });
    let rinsing = wash.rinse.as_ref().map(|(rate, _)| as_typed(format!("the rinse of {name}"), rate));
    // One vessel is washed, then rinsed: never both at once.
    let greater = |rate: &Source| rate.1.map_or(f64::NAN, |(_, most)| most.value);
    match (washing, rinsing) {
        (Some(wash), Some(rinse)) if greater(&rinse) > greater(&wash) => sources.push(rinse),
        (wash, rinse) => sources.extend(wash.or(rinse)),
    }
    sources
}

/// The least that the largest single source alone reaches, and all of them at once, in the limit's unit, with a line for
/// each source. None where no rate is typed.
pub(crate) fn typed_rate(limit: &Limit, facility: &Facility) -> Option<(Interval, Vec<String>)> {
    let at = places(&limit.at);
    let mut sources: Vec<Source> = Vec::new();
    let reaches = |to: &Outflow| to.targets().iter().any(|target| at.contains(target));
    for (index, place) in facility.places.iter().enumerate() {
        let washes_only = match &limit.at {
            Point::Of(_, filter) => *filter == PlaceId(index),
            Point::Streams(streams) => streams.iter().any(|(_, filter)| *filter == PlaceId(index)),
            _ => false,
        };
        match &place.kind {
            PlaceKind::Filter(filter) => {
                let to = filter.kind.flows_off_to().or_else(|| filter.wash.as_ref().map(|wash| &wash.to));
                let here = !matches!(limit.at, Point::Of(..) | Point::Streams(_)) && to.is_some_and(reaches);
                if washes_only || here {
                    sources.extend(of_filter(filter, &place.name));
                }
            }
            PlaceKind::Tank(tank) => {
                if let Some(pump) = tank.pumped_out.as_ref().filter(|pump| reaches(&pump.to)) {
                    sources.push(as_typed(format!("the pump of {}", place.name), &pump.rate));
                }
            }
            PlaceKind::Pond(pond) => {
                if let Some(pump) = pond.pumped_out.as_ref().filter(|pump| reaches(&pump.to)) {
                    sources.push(as_typed(format!("the pump of {}", place.name), &pump.rate));
                }
            }
            _ => {}
        }
    }
    let unit = limit.bound.unit.as_ref()?;
    let in_unit = |rate: VolumeRate| Number::computed(rate.get::<cubic_meter_per_second>()).over(factor(unit));
    let mut low = Number::ZERO;
    let mut high = Number::ZERO;
    let mut lines = Vec::new();
    for (name, rate, typed) in &sources {
        let (least, most) = (*rate)?;
        low = low.or_more(in_unit(least)?);
        high = high.plus(in_unit(most)?);
        lines.push(format!("{name}: {typed}"));
    }
    (!sources.is_empty()).then(|| (Interval::between(low.settled(), high.settled()), lines))
}

/// The words of a typed rate: `188 gpm`, `60 to 248 gpm`.
pub(crate) fn rate_text(rate: &Interval, bound: &Bound) -> String {
    crate::rules::judge::text::figure(rate, bound, false)
}

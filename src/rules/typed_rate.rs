//! The rate at a point as the facility file states it: pumps and washes, alone and all at once. Typed, so never a proof.

use uom::si::f64::VolumeRate;
use uom::si::volume_rate::cubic_meter_per_second;

use crate::facility::model::{Facility, Outflow, PlaceId, PlaceKind};
use crate::files::Given;
use crate::rules::convert::factor;
use crate::rules::points::places;
use crate::rules::{Bound, Interval, Limit, Number, Point};

/// The least that the largest single source alone reaches, and all of them at once, in the limit's unit, with a line for
/// each source. None where no rate is typed.
pub(crate) fn typed_rate(limit: &Limit, facility: &Facility) -> Option<(Interval, Vec<String>)> {
    let at = places(&limit.at);
    let mut sources: Vec<(String, &Given<VolumeRate>)> = Vec::new();
    let reaches = |to: &Outflow| to.targets().iter().any(|target| at.contains(target));
    for (index, place) in facility.places.iter().enumerate() {
        let washes_only = matches!(&limit.at, Point::Of(_, filter) if *filter == PlaceId(index));
        match &place.kind {
            PlaceKind::Filter(filter) => {
                if let Some(wash) = &filter.wash
                    && (washes_only || (!matches!(limit.at, Point::Of(..)) && reaches(&wash.to)))
                    && let Some(rate) = &wash.rate
                {
                    sources.push((format!("a wash of {}", place.name), rate));
                }
            }
            PlaceKind::Tank(tank) => {
                if let Some(pump) = tank.pumped_out.as_ref().filter(|pump| reaches(&pump.to)) {
                    sources.push((format!("the pump of {}", place.name), &pump.rate));
                }
            }
            PlaceKind::Pond(pond) => {
                if let Some(pump) = pond.pumped_out.as_ref().filter(|pump| reaches(&pump.to)) {
                    sources.push((format!("the pump of {}", place.name), &pump.rate));
                }
            }
            _ => {}
        }
    }
    let unit = limit.bound.unit.as_ref()?;
    let in_unit = |rate: VolumeRate| {
        Number::computed(rate.get::<cubic_meter_per_second>()).over(factor(unit))
    };
    let mut low = Number::ZERO;
    let mut high = Number::ZERO;
    let mut lines = Vec::new();
    for (name, rate) in &sources {
        let (least, most) = rate.ends()?;
        low = low.or_more(in_unit(least)?);
        high = high.plus(in_unit(most)?);
        lines.push(format!("{name}: {} ({})", rate.text, rate.place));
    }
    (!sources.is_empty()).then(|| (Interval::between(low.settled(), high.settled()), lines))
}

/// The words of a typed rate: `188 gpm`, `60 to 248 gpm`.
pub(crate) fn rate_text(rate: &Interval, bound: &Bound) -> String {
    crate::rules::text::figure(rate, bound, false)
}

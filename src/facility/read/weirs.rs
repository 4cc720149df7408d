//! Weirs: of a discharge point, whose head is read as a flow at that moment, and of a meter, whose head is read day by day.

use uom::si::f64::Ratio;

use super::keys::{self, WeirShape};
use super::places::positive;
use crate::facility::model::{MeterWeir, Rating, Weir};
use crate::files::shapes::Number;
use crate::files::{Field, Fields, Given, Key};
use crate::quantity::units;

fn v_notch(shape: WeirShape) -> Option<Weir> {
    match shape {
        WeirShape::VNotch60 => Some(Weir::VNotch60),
        WeirShape::VNotch90 => Some(Weir::VNotch90),
        WeirShape::VNotch120 => Some(Weir::VNotch120),
        WeirShape::Rectangular | WeirShape::BroadCrested => None,
    }
}

/// `{shape: rectangular, width: 3 ft, end contractions: 2}`.
pub(super) fn weir(field: &Field<'_>) -> Option<Weir> {
    let mut map = field.map::<keys::Weir>()?;
    let shape = map.read(&keys::Weir::SHAPE).map(|said| said.value);
    let weir = match shape {
        Some(of @ (WeirShape::Rectangular | WeirShape::BroadCrested)) => {
            let width = positive(&map.needs(&keys::Weir::WIDTH));
            if of == WeirShape::Rectangular {
                let ends = map.get(&keys::Weir::ENDS);
                let count = if ends.is_there() { ends.read().map(|said| said.value) } else { Some(0) };
                width.zip(count).map(|(width, count)| Weir::Rectangular {
                    width,
                    end_contractions: u8::try_from(count).unwrap_or(0),
                })
            } else {
                let share = map.get(&keys::Weir::COEFFICIENT);
                let coefficient = share.read();
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
        Some(notch) => v_notch(notch),
        None => None,
    };
    map.finish();
    weir
}

/// `{shape: V-notch of 90 degrees, a reading stands for: that day}`, or the permit's own figures in place of the shape:
/// `{coefficient: 2.5, exponent: 2.5, flow in: cfs, head in: ft, …}`.
pub(super) fn of_meter(field: &Field<'_>) -> Option<MeterWeir> {
    let mut map = field.map::<keys::MeterWeir>()?;
    let rating = if map.has(keys::MeterWeir::COEFFICIENT) || map.has(keys::MeterWeir::EXPONENT) {
        typed(&mut map)
    } else {
        shaped(&mut map)
    };
    let stands = map.read(&keys::MeterWeir::STANDS).map(|said| said.value);
    map.finish();
    Some(MeterWeir { rating: rating?, stands: stands? })
}

fn typed(map: &mut Fields<'_>) -> Option<Rating> {
    let mut above_zero = |key: &Key<Number>| {
        let field = map.needs(key);
        let value = field.read()?.value.to_f64();
        if value <= 0.0 || value > 1e6 {
            field.refuse("a weir's figure is above zero", "write it as the permit has it, like 2.5");
            return None;
        }
        Some(value)
    };
    let coefficient = above_zero(&keys::MeterWeir::COEFFICIENT);
    let exponent = above_zero(&keys::MeterWeir::EXPONENT);
    let flow_in = map.needs(&keys::MeterWeir::FLOW_IN).read().and_then(|said| units::named(said.value));
    let head_in = map.needs(&keys::MeterWeir::HEAD_IN).read().and_then(|said| units::named(said.value));
    Some(Rating::Typed { coefficient: coefficient?, exponent: exponent?, flow_in: flow_in?, head_in: head_in? })
}

fn shaped(map: &mut Fields<'_>) -> Option<Rating> {
    let shape = map.needs(&keys::MeterWeir::SHAPE);
    match shape.read()?.value {
        WeirShape::Rectangular => {
            let width = positive(&map.needs(&keys::MeterWeir::WIDTH));
            let ends = map.get(&keys::MeterWeir::ENDS);
            let count = if ends.is_there() { ends.read().map(|said| said.value) } else { Some(0) };
            let end_contractions = u8::try_from(count?).unwrap_or(0);
            Some(Rating::Shape(Weir::Rectangular { width: width?, end_contractions }))
        }
        WeirShape::BroadCrested => {
            shape.refuse(
                "what a broad crest passes is known within a tenth at best, and no day's volume is computed from it",
                "type what the permit says: coefficient: 2.6, exponent: 1.5, flow in: cfs, head in: ft",
            );
            None
        }
        notch => v_notch(notch).map(Rating::Shape),
    }
}

//! Heads read over a weir as flows at that moment.

use chrono::NaiveDate;
use uom::si::f64::Length;
use uom::si::volume_rate::cubic_meter_per_second;

use crate::facility::model::{Facility, PlaceKind, Weir};
use crate::facility::weirs::flow;
use crate::quantity::{self, Unit, kind};
use crate::records::{Qualifier, Sample, Timeline};
use crate::rules::measure::convert::factor;
use crate::rules::measure::points::places;
use crate::rules::measure::readings::{Reading, evidence};
use crate::rules::window::windows::day_label;
use crate::rules::{Interval, Limit, Missing, Number, Tie};

/// Figures of an amount that was worked out from a head over a weir: a head is read to a part of an inch or some millimetres, and a
/// weir's equation holds within some percent. Common practice, no source.
pub const HEAD_FIGURES: u32 = 3;

/// The words of a sample that is a head.
const HEAD: [&str; 2] = ["head", "head over weir"];

/// The share of a weir's equation that really passes: as typed; of a broad crest without one from 0.85, the least that
/// real crests give, to all of it.
fn share(weir: &Weir) -> Option<(f64, f64)> {
    match weir {
        Weir::BroadCrested { coefficient: Some(typed), .. } => typed.ends().map(|(low, high)| (low.value, high.value)),
        Weir::BroadCrested { .. } => Some((0.85, 1.0)),
        _ => Some((1.0, 1.0)),
    }
}

fn head_of(sample: &Sample) -> Option<Length> {
    let unit = sample.unit.as_deref().unwrap_or("");
    let text = format!("{} {unit}", sample.value.as_ref()?);
    let range = quantity::stated::<kind::Length>(&text).ok()?.known()?;
    (sample.qualifier == Qualifier::None).then_some((range.low + range.high) * 0.5)
}

/// Flows by the heads read at a limit's discharge points by the end of a day, in the limit's unit.
pub(crate) fn heads(
    limit: &Limit,
    unit: &Unit,
    facility: &Facility,
    timeline: &Timeline,
    as_of: NaiveDate,
    out: &mut Vec<Reading>,
    refused: &mut Vec<Missing>,
) {
    let at = places(&limit.at);
    for sample in &timeline.samples {
        if !at.contains(&sample.at) || !HEAD.contains(&sample.parameter.as_str()) || sample.day > as_of {
            continue;
        }
        let Some(PlaceKind::DischargePoint(point)) = facility.get(sample.at).map(|p| &p.kind) else {
            continue;
        };
        let mut refuse = |why: &str| {
            refused.push(Missing {
                of: None,
                paper: None,
                sentence: format!("{}: {why} ({}).", day_label(sample.day), sample.source.place),
                would_show: Some("A head within the weir's range, or a reading of the flow.".to_owned()),
            });
        };
        let Some(weir) = &point.weir else {
            refuse("a head was read, and no weir is typed there");
            continue;
        };
        let Some(flow) = head_of(sample).and_then(|head| flow(weir, head)) else {
            refuse("the head is no length");
            continue;
        };
        if !flow.within {
            refuse("the head is outside what the weir's equation was tried for");
            continue;
        }
        let in_unit = |share: f64| {
            let rate = Number::computed(share * flow.value.get::<cubic_meter_per_second>());
            rate.over(factor(unit)).map(Number::settled)
        };
        let Some((low, high)) = share(weir) else {
            refuse("the weir's coefficient is not known");
            continue;
        };
        let (Some(low), Some(high)) = (in_unit(low), in_unit(high)) else {
            continue;
        };
        let shown = |rate: Number| rate.to_significant(3, Tie::HalfUp).honest(3);
        let text = format!(
            "{} {} over the weir: {} {}",
            sample.value.as_deref().unwrap_or(""),
            sample.unit.as_deref().unwrap_or(""),
            if low == high { shown(low) } else { format!("{} to {}", shown(low), shown(high)) },
            unit.name
        );
        out.push(Reading {
            first: sample.day,
            last: sample.day,
            value: Interval::between(low, high),
            text: text.clone(),
            evidence: vec![evidence(sample.day, text, &sample.source)],
            known_on: sample.day,
            censored: false,
            is_mean: false,
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use uom::si::length::foot;
    use uom::si::volume_rate::cubic_foot_per_second;

    /// By hand: 2.49·0.5^2.48 = 2.49·0.179244 = 0.44632 ft3/s.
    #[test]
    fn a_head_tells_a_flow_only_within_its_weir_s_range() {
        let notch = flow(&Weir::VNotch90, Length::new::<foot>(0.5)).unwrap();
        assert!(notch.within);
        assert!((notch.value.get::<cubic_foot_per_second>() - 0.446_32).abs() < 1e-4);
        let low = flow(&Weir::VNotch90, Length::new::<foot>(0.05)).unwrap();
        assert!(!low.within, "so little head clings to the notch");
    }
}

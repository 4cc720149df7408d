//! Flow over weirs and notches. Water below the crest flows nothing.

use crate::science::hydraulics::records;
use crate::science::{Method, Ranged};
use uom::si::acceleration::meter_per_second_squared;
use uom::si::angle::{degree, radian};
use uom::si::f64::{Acceleration, Angle, Length, Ratio, VolumeRate};
use uom::si::length::{foot, meter};
use uom::si::ratio::ratio;
use uom::si::volume_rate::cubic_meter_per_second;

/// One cubic foot, exact (the foot is 0.3048 m).
const CUBIC_FOOT_M3: f64 = 0.028_316_846_592;

/// A full-width or notched rectangular weir.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RectangularWeir {
    /// Length of the crest.
    pub crest: Length,
    /// Height of the crest above the channel's bed.
    pub height: Length,
}

fn cubic_feet(per_second: f64, method: &'static Method, within: bool) -> Ranged<VolumeRate> {
    cubic_metres(per_second * CUBIC_FOOT_M3, method, within)
}

fn cubic_metres(per_second: f64, method: &'static Method, within: bool) -> Ranged<VolumeRate> {
    Ranged::new(VolumeRate::new::<cubic_meter_per_second>(per_second), method, within)
}

/// The head, or nothing where the water stands below the crest. A head of no number stays none.
fn over(head: f64) -> f64 {
    if head < 0.0 { 0.0 } else { head }
}

/// Water at or below the crest is an answer (no flow), whatever the equation's least head.
fn heads(head: f64, least: f64, greatest: f64) -> bool {
    head <= 0.0 || (least..=greatest).contains(&head)
}

/// Rectangular sharp-crested weir by Francis, with 0, 1 or 2 end contractions. Record: [`records::FRANCIS`].
pub fn francis(crest: Length, end_contractions: u8, head: Length) -> Ranged<VolumeRate> {
    let (l, h) = (crest.get::<foot>(), over(head.get::<foot>()));
    let flow = 3.33 * (l - 0.1 * f64::from(end_contractions) * h) * h.powf(1.5);
    cubic_feet(flow, &records::FRANCIS, heads(head.get::<foot>(), 0.2 - 1e-9, l / 3.0 + 1e-9) && end_contractions <= 2)
}

/// V-notch of 90 degrees. Record: [`records::V_NOTCH_90`].
pub fn v_notch_90(head: Length) -> Ranged<VolumeRate> {
    let h = head.get::<foot>();
    cubic_feet(2.49 * over(h).powf(2.48), &records::V_NOTCH_90, heads(h, 0.2 - 1e-9, 1.25 + 1e-9))
}

/// V-notch of 60 degrees. Record: [`records::V_NOTCH_60`].
pub fn v_notch_60(head: Length) -> Ranged<VolumeRate> {
    let h = head.get::<foot>();
    cubic_feet(1.443 * over(h).powf(2.5), &records::V_NOTCH_60, heads(h, 0.2 - 1e-9, 2.0 + 1e-9))
}

/// V-notch of 120 degrees. Record: [`records::V_NOTCH_120`].
pub fn v_notch_120(head: Length) -> Ranged<VolumeRate> {
    let h = head.get::<foot>();
    cubic_feet(4.33 * over(h).powf(2.5), &records::V_NOTCH_120, heads(h, 0.2 - 1e-9, 2.0 + 1e-9))
}

/// V-notch of any angle by Kindsvater and Shen, with the standard's coefficient and head correction. Record:
/// [`records::KINDSVATER_SHEN`].
pub fn kindsvater_shen(
    head: Length,
    angle: Angle,
    coefficient: Ratio,
    head_correction: Length,
    gravity: Acceleration,
) -> Ranged<VolumeRate> {
    let h = head.get::<meter>();
    let effective = if h <= 0.0 { 0.0 } else { h + head_correction.get::<meter>() };
    let flow = 8.0 / 15.0
        * coefficient.get::<ratio>()
        * (0.5 * angle.get::<radian>()).tan()
        * (2.0 * gravity.get::<meter_per_second_squared>()).sqrt()
        * effective.powf(2.5);
    let angle = angle.get::<degree>();
    cubic_metres(
        flow,
        &records::KINDSVATER_SHEN,
        (25.0 - 1e-9..=100.0 + 1e-9).contains(&angle) && heads(h, 0.06, 0.382),
    )
}

/// Narrow rectangular notch. Record: [`records::KINDSVATER_CARTER`].
pub fn kindsvater_carter(weir: RectangularWeir, head: Length, gravity: Acceleration) -> Ranged<VolumeRate> {
    let (h, p, b) = (head.get::<meter>(), weir.height.get::<meter>(), weir.crest.get::<meter>());
    let flow = if h <= 0.0 {
        0.0
    } else {
        0.554
            * (1.0 - 0.0035 * h / p)
            * (b + 0.0025)
            * gravity.get::<meter_per_second_squared>().sqrt()
            * (h + 0.0001).powf(1.5)
    };
    cubic_metres(flow, &records::KINDSVATER_CARTER, h <= 0.0 || (h / p < 2.0 && p > 0.0))
}

/// Full-width rectangular weir by Rehbock. Record: [`records::REHBOCK`].
pub fn rehbock(weir: RectangularWeir, head: Length, gravity: Acceleration) -> Ranged<VolumeRate> {
    let (h, p, b) = (head.get::<meter>(), weir.height.get::<meter>(), weir.crest.get::<meter>());
    let flow = if h <= 0.0 {
        0.0
    } else {
        2.0 / 3.0
            * 2f64.sqrt()
            * (0.602 + 0.0832 * h / p)
            * b
            * gravity.get::<meter_per_second_squared>().sqrt()
            * (h + 0.001_25).powf(1.5)
    };
    cubic_metres(
        flow,
        &records::REHBOCK,
        h <= 0.0 || ((0.03..=0.75).contains(&h) && p >= 0.1 && b >= 0.3 && h / p <= 1.0),
    )
}

/// Full-width rectangular weir by Ackers. Record: [`records::ACKERS`].
pub fn ackers(weir: RectangularWeir, head: Length, gravity: Acceleration) -> Ranged<VolumeRate> {
    let (h, p, b) = (head.get::<meter>(), weir.height.get::<meter>(), weir.crest.get::<meter>());
    let flow = if h <= 0.0 {
        0.0
    } else {
        0.564 * (1.0 + 0.150 * h / p) * b * gravity.get::<meter_per_second_squared>().sqrt() * (h + 0.001).powf(1.5)
    };
    cubic_metres(flow, &records::ACKERS, h <= 0.0 || (h > 0.02 && p >= 0.15 && h / p <= 2.2))
}

/// Broad-crested weir at critical depth. Record: [`records::BROAD_CRESTED`]. Real crests give 0.85 to 0.95 of it.
pub fn broad_crested(crest: Length, total_head: Length, gravity: Acceleration) -> Ranged<VolumeRate> {
    let h = over(total_head.get::<meter>());
    let flow =
        (2f64 / 3.0).powf(1.5) * gravity.get::<meter_per_second_squared>().sqrt() * crest.get::<meter>() * h.powf(1.5);
    cubic_metres(flow, &records::BROAD_CRESTED, flow >= 0.0)
}

/// Broad-crested weir with a coefficient in US units (ft^0.5/s). Record: [`records::BROAD_CRESTED`].
pub fn broad_crested_us(coefficient: f64, crest: Length, head: Length) -> Ranged<VolumeRate> {
    let flow = coefficient * crest.get::<foot>() * over(head.get::<foot>()).powf(1.5);
    cubic_feet(flow, &records::BROAD_CRESTED, (2.3..=3.1).contains(&coefficient) && flow >= 0.0)
}

/// Total head at which so much flows over a broad-crested weir with a coefficient in US units (ft^0.5/s): the same equation
/// the other way round. Record: [`records::BROAD_CRESTED`].
pub fn broad_crested_head_us(coefficient: f64, crest: Length, flow: VolumeRate) -> Ranged<Length> {
    let cfs = flow.get::<cubic_meter_per_second>() / CUBIC_FOOT_M3;
    let head = (over(cfs) / (coefficient * crest.get::<foot>())).powf(2.0 / 3.0);
    Ranged::new(Length::new::<foot>(head), &records::BROAD_CRESTED, (2.3..=3.1).contains(&coefficient) && cfs >= 0.0)
}

/// Rectangular notch in a riser. Record: [`records::RISER_NOTCH`].
pub fn riser_notch(notch: RectangularWeir, head: Length) -> Ranged<VolumeRate> {
    let (l, p, h) = (notch.crest.get::<foot>(), notch.height.get::<foot>(), over(head.get::<foot>()));
    let flow = (3.27 + 0.40 * h / p) * (l - 0.2 * h) * h.powf(1.5);
    cubic_feet(if h == 0.0 { 0.0 } else { flow }, &records::RISER_NOTCH, p > 0.0 && h <= 0.5 * l)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::science::water::standard_gravity;

    fn feet(value: f64) -> Length {
        Length::new::<foot>(value)
    }

    #[test]
    fn water_below_the_crest_does_not_flow() {
        let weir = RectangularWeir { crest: feet(2.0), height: feet(1.0) };
        let low = feet(-0.3);
        let g = standard_gravity();
        for flow in [
            francis(feet(2.0), 2, low),
            v_notch_90(low),
            v_notch_60(low),
            v_notch_120(low),
            kindsvater_shen(low, Angle::new::<degree>(90.0), Ratio::new::<ratio>(0.5785), feet(0.003), g),
            kindsvater_carter(weir, low, g),
            rehbock(weir, low, g),
            ackers(weir, low, g),
            broad_crested(feet(2.0), low, g),
            broad_crested_us(3.0, feet(2.0), low),
            riser_notch(weir, low),
        ] {
            assert_eq!(flow.value.get::<cubic_meter_per_second>(), 0.0);
            assert!(flow.within);
        }
    }

    /// One form, C tan(α/2) H^2.5: what the seen table has at 60 degrees is 3 times as much at 120, tan 60° over tan 30°.
    #[test]
    fn a_notch_of_120_degrees_passes_three_times_what_one_of_60_does() {
        let times = v_notch_120(feet(0.7)).value / v_notch_60(feet(0.7)).value;
        assert!((times.get::<ratio>() - 3.0).abs() < 0.003);
    }

    #[test]
    fn a_head_outside_the_equations_range_is_marked_not_hidden() {
        assert!(v_notch_90(feet(3.0)).outside().is_some());
        assert!(v_notch_90(feet(0.05)).outside().is_some());
        assert!(francis(feet(1.0), 2, feet(0.9)).outside().is_some());
        assert!(v_notch_120(feet(0.1)).outside().is_some() && v_notch_120(feet(2.1)).outside().is_some());
        assert!(v_notch_60(feet(f64::NAN)).outside().is_some());
    }

    #[test]
    fn the_head_over_a_broad_crest_is_the_one_at_which_so_much_flows() {
        for (coefficient, crest, head) in [(2.6, 20.0, 0.5), (3.087, 10.0, 1.3), (2.3, 4.0, 0.05)] {
            let flow = broad_crested_us(coefficient, feet(crest), feet(head));
            let back = broad_crested_head_us(coefficient, feet(crest), flow.value);
            approx::assert_relative_eq!(back.value.get::<foot>(), head, max_relative = 1e-12);
            assert!(back.within);
        }
        assert!(!broad_crested_head_us(1.7, feet(10.0), VolumeRate::new::<cubic_meter_per_second>(1.0)).within);
    }

    #[test]
    fn three_equations_of_one_weir_agree_within_a_few_percent() {
        let weir = RectangularWeir { crest: Length::new::<meter>(1.2), height: Length::new::<meter>(0.5) };
        let head = Length::new::<meter>(0.15);
        let g = standard_gravity();
        let a = rehbock(weir, head, g).value;
        let b = ackers(weir, head, g).value;
        let c = francis(weir.crest, 0, head).value;
        assert!(((a / b).get::<ratio>() - 1.0).abs() < 0.02);
        assert!(((a / c).get::<ratio>() - 1.0).abs() < 0.05);
    }
}

//! Share of sediment that a pond keeps over years, by published curves. They stand beside the ledger's own settling,
//! never in its place.

use crate::science::ponds::records;
use crate::science::{Method, Ranged};
use uom::si::f64::{Length, Ratio, ReciprocalLength};
use uom::si::length::meter;
use uom::si::ratio::ratio;
use uom::si::reciprocal_length::reciprocal_meter;

/// One square mile per acre-foot in 1/m: 640 acres over one acre-foot is 640 per foot.
const SQUARE_MILE_PER_ACRE_FOOT: f64 = 640.0 / 0.3048;

fn share(value: f64, method: &'static Method, within: bool) -> Ranged<Ratio> {
    Ranged::new(Ratio::new::<ratio>(value), method, within)
}

/// Brune's median curve in Gill's form. Record: [`records::GILL`].
pub fn brune_gill(capacity_over_inflow: Ratio) -> Ranged<Ratio> {
    let x = capacity_over_inflow.get::<ratio>();
    share(x / (0.012 + 1.02 * x), &records::GILL, (0.002..=10.0).contains(&x)).and_within(x >= 0.0)
}

/// Brune's median curve in Dendy's form. Record: [`records::DENDY`].
pub fn brune_dendy(capacity_over_inflow: Ratio) -> Ranged<Ratio> {
    let x = capacity_over_inflow.get::<ratio>();
    share(0.97f64.powf(0.19f64.powf(x.log10())), &records::DENDY, (0.002..=10.0).contains(&x))
}

/// Small reservoirs by Heinemann. Record: [`records::HEINEMANN`]. Below about x = 0.0027 the equation turns negative;
/// zero is given there, and marked.
pub fn heinemann(capacity_over_inflow: Ratio) -> Ranged<Ratio> {
    let x = capacity_over_inflow.get::<ratio>();
    let value = -0.22 + 1.196 * x / (0.012 + 1.02 * x);
    share(if value < 0.0 { 0.0 } else { value }, &records::HEINEMANN, (0.003..=1.0).contains(&x))
}

/// By drained area, Brown. Record: [`records::BROWN`]. `constant` is 0.046 to 1.0 mi²/acre-ft, given as the reciprocal
/// length that it is; `capacity_over_area` is the pond's capacity over the area that drains to it.
pub fn brown(constant: ReciprocalLength, capacity_over_area: Length) -> Ranged<Ratio> {
    let k = constant.get::<reciprocal_meter>();
    let product = k * capacity_over_area.get::<meter>();
    let printed = k / SQUARE_MILE_PER_ACRE_FOOT;
    share(
        1.0 - 1.0 / (1.0 + product),
        &records::BROWN,
        (0.046 - 1e-9..=1.0 + 1e-9).contains(&printed) && product >= 0.0,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pond_far_too_small_keeps_nothing_rather_than_less_than_nothing() {
        let tiny = heinemann(Ratio::new::<ratio>(1e-4));
        assert_eq!(tiny.value.get::<ratio>(), 0.0);
        assert!(tiny.outside().is_some());
    }

    #[test]
    fn two_forms_of_one_curve_agree_within_reading() {
        for x in [0.01, 0.03, 0.1, 0.5] {
            let gill = brune_gill(Ratio::new::<ratio>(x)).value.get::<ratio>();
            let dendy = brune_dendy(Ratio::new::<ratio>(x)).value.get::<ratio>();
            assert!((gill - dendy).abs() < 0.06, "{x}: {gill} and {dendy}");
        }
    }
}

//! What a weir of the site passes at a head, by the equation of its shape or as typed.

use uom::si::f64::{Length, VolumeRate};
use uom::si::length::meter;
use uom::si::volume_rate::cubic_meter_per_second;

use crate::facility::model::{Rating, Weir};
use crate::files::Given;
use crate::science::Ranged;
use crate::science::hydraulics::{broad_crested, francis, v_notch_60, v_notch_90, v_notch_120};
use crate::science::water::standard_gravity;

/// The flow over a weir at a head; none where its width is not known.
pub fn flow(weir: &Weir, head: Length) -> Option<Ranged<VolumeRate>> {
    let middle = |given: &Given<Length>| given.ends().map(|(a, b)| (a + b) * 0.5);
    Some(match weir {
        Weir::VNotch90 => v_notch_90(head),
        Weir::VNotch60 => v_notch_60(head),
        Weir::VNotch120 => v_notch_120(head),
        Weir::Rectangular { width, end_contractions } => francis(middle(width)?, *end_contractions, head),
        Weir::BroadCrested { width, .. } => broad_crested(middle(width)?, head, standard_gravity()),
    })
}

impl Rating {
    /// The flow at a head, or why there is none. Water at or below the crest is no flow; what was typed has no range.
    ///
    /// # Errors
    /// When the head is outside what the shape's equation was tried for.
    pub fn flow(&self, head: Length) -> Result<VolumeRate, String> {
        match self {
            Self::Shape(weir) => {
                let flow = flow(weir, head).ok_or("the weir's width is not known")?;
                if flow.within {
                    Ok(flow.value)
                } else {
                    Err(format!("outside what its equation was tried for ({})", flow.method.valid_range))
                }
            }
            Self::Typed { coefficient, exponent, flow_in, head_in } => {
                let head = head_in.from_si(head.get::<meter>()).max(0.0);
                let flow = flow_in.to_si_f64(coefficient * head.powf(*exponent));
                Ok(VolumeRate::new::<cubic_meter_per_second>(if head > 0.0 { flow } else { 0.0 }))
            }
        }
    }

    /// Its equation with its units, and where it is from.
    pub fn words(&self) -> (String, &'static str) {
        match self {
            Self::Shape(weir) => {
                let method = flow(weir, Length::new::<meter>(0.1)).map(|flow| flow.method);
                method.map_or_else(Default::default, |method| (method.equation.to_owned(), method.source))
            }
            Self::Typed { coefficient, exponent, flow_in, head_in } => {
                (format!("Q = {coefficient} H^{exponent} ({}, {})", flow_in.name, head_in.name), "as typed")
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::units::named;
    use uom::si::length::inch;

    /// By hand: 3 in are 0.25 ft; 0.25^2.5 = 0.5^5 = 1/32; 2.5/32 = 0.078125 ft3/s, times 0.028316846592 m3.
    #[test]
    fn a_coefficient_and_an_exponent_are_taken_in_the_units_typed() {
        let typed = Rating::Typed {
            coefficient: 2.5,
            exponent: 2.5,
            flow_in: named("cfs").unwrap(),
            head_in: named("ft").unwrap(),
        };
        let flow = typed.flow(Length::new::<inch>(3.0)).unwrap().get::<cubic_meter_per_second>();
        assert!((flow - 0.078_125 * 0.028_316_846_592).abs() < 1e-15, "{flow}");
        assert_eq!(typed.flow(Length::new::<inch>(-1.0)).unwrap().get::<cubic_meter_per_second>(), 0.0);
        assert_eq!(typed.words().0, "Q = 2.5 H^2.5 (cfs, ft)");
    }

    #[test]
    fn a_shape_s_equation_answers_only_within_its_range() {
        let notch = Rating::Shape(Weir::VNotch90);
        assert!(notch.flow(Length::new::<inch>(1.0)).unwrap_err().contains("0.2 to 1.25 ft"));
        assert_eq!(notch.flow(Length::new::<inch>(0.0)).unwrap().get::<cubic_meter_per_second>(), 0.0);
    }
}

//! Peak discharge of a storm on ground with a curve number, by the graphical method.

use crate::science::Ranged;
use crate::science::hydrology::records;
use crate::science::hydrology::{CurveNumber, initial_abstraction, runoff_depth};
use uom::si::area::square_meter;
use uom::si::f64::{Area, Length, Ratio, Time, VolumeRate};
use uom::si::length::inch;
use uom::si::ratio::ratio;
use uom::si::time::hour;
use uom::si::volume_rate::cubic_meter_per_second;

/// A 24-hour rainfall distribution.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RainfallType {
    /// Type I.
    I,
    /// Type IA.
    IA,
    /// Type II.
    II,
    /// Type III.
    III,
}

impl RainfallType {
    /// As it is written: `type II`.
    pub fn words(self) -> &'static str {
        match self {
            Self::I => "type I",
            Self::IA => "type IA",
            Self::II => "type II",
            Self::III => "type III",
        }
    }

    /// Ia/P and C0, C1, C2 of TR-55, table F-1.
    fn table(self) -> &'static [[f64; 4]] {
        match self {
            Self::I => &[
                [0.10, 2.30550, -0.51429, -0.11750],
                [0.20, 2.23537, -0.50387, -0.08929],
                [0.25, 2.18219, -0.48488, -0.06589],
                [0.30, 2.10624, -0.45695, -0.02835],
                [0.35, 2.00303, -0.40769, 0.01983],
                [0.40, 1.87733, -0.32274, 0.05754],
                [0.45, 1.76312, -0.15644, 0.00453],
                [0.50, 1.67889, -0.06930, 0.0],
            ],
            Self::IA => &[
                [0.10, 2.03250, -0.31583, -0.13748],
                [0.20, 1.91978, -0.28215, -0.07020],
                [0.25, 1.83842, -0.25543, -0.02597],
                [0.30, 1.72657, -0.19826, 0.02633],
                [0.50, 1.63417, -0.09100, 0.0],
            ],
            Self::II => &[
                [0.10, 2.55323, -0.61512, -0.16403],
                [0.30, 2.46532, -0.62257, -0.11657],
                [0.35, 2.41896, -0.61594, -0.08820],
                [0.40, 2.36409, -0.59857, -0.05621],
                [0.45, 2.29238, -0.57005, -0.02281],
                [0.50, 2.20282, -0.51599, -0.01259],
            ],
            Self::III => &[
                [0.10, 2.47317, -0.51848, -0.17083],
                [0.30, 2.39628, -0.51202, -0.13245],
                [0.35, 2.35477, -0.49735, -0.11985],
                [0.40, 2.30726, -0.46541, -0.11094],
                [0.45, 2.24876, -0.41314, -0.11508],
                [0.50, 2.17772, -0.36803, -0.09525],
            ],
        }
    }
}

/// One ft³/s from a square mile for each inch of runoff, in 1/s: 0.3048³ m³/s over 1609.344² m² and 0.0254 m.
const CUBIC_FOOT_PER_SECOND_SQUARE_MILE_INCH: f64 = 0.028_316_846_592 / (2_589_988.110_336 * 0.0254);

/// Unit peak discharge, ft³/s per square mile and inch, at a ratio of initial abstraction to rain that is kept within the
/// table.
fn unit_peak(abstraction: f64, concentration_h: f64, rainfall: RainfallType) -> f64 {
    let log = concentration_h.log10();
    let of = |row: &[f64; 4]| 10f64.powf(row[1] + row[2] * log + row[3] * log * log);
    let table = rainfall.table();
    let above = table.partition_point(|row| row[0] <= abstraction);
    match (above.checked_sub(1).and_then(|at| table.get(at)), table.get(above)) {
        (Some(a), Some(b)) => {
            let part = (abstraction - a[0]) / (b[0] - a[0]);
            of(a) + part * (of(b) - of(a))
        }
        (Some(row), None) | (None, Some(row)) => of(row),
        (None, None) => f64::NAN,
    }
}

/// Peak discharge of a 24-hour storm. Record: [`records::GRAPHICAL_PEAK`]. Nothing up to the initial abstraction.
pub fn graphical_peak(
    rain_of_a_day: Length,
    curve_number: CurveNumber,
    area: Area,
    concentration: Time,
    rainfall: RainfallType,
) -> Ranged<VolumeRate> {
    let lambda = Ratio::new::<ratio>(0.2);
    let rain = rain_of_a_day.get::<inch>();
    let runoff = runoff_depth(rain_of_a_day, curve_number, lambda).value;
    let abstraction = initial_abstraction(curve_number, lambda).get::<inch>() / rain;
    let hours = concentration.get::<hour>();
    let unit = unit_peak(abstraction.clamp(0.1, 0.5), hours.clamp(0.1, 10.0), rainfall);
    let peak = unit * CUBIC_FOOT_PER_SECOND_SQUARE_MILE_INCH * area.get::<square_meter>() * runoff.value;
    Ranged::new(
        VolumeRate::new::<cubic_meter_per_second>(if runoff.value > 0.0 { peak } else { 0.0 }),
        &records::GRAPHICAL_PEAK,
        curve_number.get() >= 40.0 && (0.1..=10.0).contains(&hours) && (0.1..=0.5).contains(&abstraction),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use uom::si::area::acre;
    use uom::si::volume_rate::cubic_foot_per_second;

    /// TR-55 (1986), example 4-1: 250 acres, curve number 75, 6.0 in, type II, 1.53 h: Ia/P 0.11, 270 ft³/s per square
    /// mile and inch (read off the chart), 3.28 in of runoff, 345 ft³/s (from memory).
    #[test]
    fn the_worked_example_of_the_graphical_method_comes_out() {
        assert_relative_eq!(unit_peak(0.11, 1.53, RainfallType::II), 270.0, max_relative = 0.01);
        let peak = graphical_peak(
            Length::new::<inch>(6.0),
            CurveNumber::new(75.0).unwrap(),
            Area::new::<acre>(250.0),
            Time::new::<hour>(1.53),
            RainfallType::II,
        );
        assert_relative_eq!(peak.value.get::<cubic_foot_per_second>(), 345.0, max_relative = 0.01);
        assert!(peak.outside().is_none());
    }

    #[test]
    fn longer_ways_and_drier_ground_have_lower_peaks_and_no_type_passes_all_the_rain_of_its_worst_minutes() {
        let peak = |number: f64, hours: f64, kind| {
            let number = CurveNumber::new(number).unwrap();
            let (rain, area) = (Length::new::<inch>(4.0), Area::new::<square_meter>(10_000.0));
            graphical_peak(rain, number, area, Time::new::<hour>(hours), kind).value.value
        };
        for kind in [RainfallType::I, RainfallType::IA, RainfallType::II, RainfallType::III] {
            let mut before = f64::INFINITY;
            for hours in [0.1, 0.3, 1.0, 3.0, 10.0] {
                let now = peak(85.0, hours, kind);
                assert!(now < before && now > 0.0, "{kind:?} {hours}");
                before = now;
                assert!(peak(70.0, hours, kind) < now);
            }
        }
        // Rain that is soaked up whole has no peak.
        assert_eq!(peak(30.0, 1.0, RainfallType::II), 0.0);
    }
}

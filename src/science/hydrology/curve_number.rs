//! Storm runoff by curve number.

use crate::science::Ranged;
use crate::science::hydrology::records;
use uom::si::area::square_meter;
use uom::si::f64::{Area, Length, Ratio};
use uom::si::length::inch;
use uom::si::ratio::ratio;

/// A curve number: above 0, at most 100.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct CurveNumber(f64);

impl CurveNumber {
    /// The curve number, if the figure can be one.
    pub fn new(value: f64) -> Option<Self> {
        (value > 0.0 && value <= 100.0).then_some(Self(value))
    }

    /// The figure.
    pub fn get(self) -> f64 {
        self.0
    }

    fn usual(self) -> bool {
        self.0 >= 30.0
    }
}

/// The ground before the storm.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Antecedent {
    /// Condition I.
    Dry,
    /// Condition II: the printed curve number.
    Average,
    /// Condition III.
    Wet,
}

/// Whether a composite curve number is rounded before use.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rounding {
    /// To the nearest whole number, as TR-55 does before it computes the depth.
    NearestWhole,
    /// Not at all.
    None,
}

/// Greatest retention S = 1000/CN − 10 inches.
pub fn retention(curve_number: CurveNumber) -> Length {
    Length::new::<inch>(1000.0 / curve_number.0 - 10.0)
}

/// Initial abstraction λS: what falls before anything runs. λ is 0.2 in the printed tables.
pub fn initial_abstraction(curve_number: CurveNumber, lambda: Ratio) -> Length {
    retention(curve_number) * lambda
}

/// Runoff depth of a storm (in a daily balance: of a day's rain). Record: [`records::CURVE_NUMBER`]. Exactly zero up to
/// the initial abstraction.
pub fn runoff_depth(rain: Length, curve_number: CurveNumber, lambda: Ratio) -> Ranged<Length> {
    let s = retention(curve_number).get::<inch>();
    let fraction = lambda.get::<ratio>();
    let depth = depth_in(rain.get::<inch>(), s, fraction);
    Ranged::new(
        Length::new::<inch>(depth),
        &records::CURVE_NUMBER,
        curve_number.usual() && rain.get::<inch>() >= 0.0 && (0.0..=1.0).contains(&fraction),
    )
}

/// Runoff depth with initial abstraction 0.05 S and the retention that goes with it. Record:
/// [`records::CURVE_NUMBER_005`]. The curve number is the printed one (made for 0.2).
pub fn runoff_depth_lambda_005(rain: Length, curve_number: CurveNumber) -> Ranged<Length> {
    let s = 1.33 * retention(curve_number).get::<inch>().powf(1.15);
    Ranged::new(
        Length::new::<inch>(depth_in(rain.get::<inch>(), s, 0.05)),
        &records::CURVE_NUMBER_005,
        curve_number.usual() && rain.get::<inch>() >= 0.0,
    )
}

fn depth_in(rain: f64, s: f64, lambda: f64) -> f64 {
    let excess = rain - lambda * s;
    if excess <= 0.0 { 0.0 } else { excess * excess / (excess + s) }
}

/// Area-weighted curve number of several parts, to be used before the depth is computed. Record:
/// [`records::COMPOSITE_CURVE_NUMBER`]. Nothing without area.
pub fn composite(parts: &[(CurveNumber, Area)], rounding: Rounding) -> Option<CurveNumber> {
    if parts.iter().any(|(_, area)| area.get::<square_meter>() < 0.0) {
        return None;
    }
    let total: f64 = parts.iter().map(|(_, area)| area.get::<square_meter>()).sum();
    let weighted: f64 = parts.iter().map(|(cn, area)| cn.0 * area.get::<square_meter>()).sum();
    let mean = weighted / total;
    CurveNumber::new(match rounding {
        Rounding::NearestWhole => mean.round(),
        Rounding::None => mean,
    })
}

/// CN II, I, III.
const ANTECEDENT_ROWS: [(f64, f64, f64); 20] = [
    (5.0, 2.0, 13.0),
    (10.0, 4.0, 22.0),
    (15.0, 6.0, 30.0),
    (20.0, 9.0, 37.0),
    (25.0, 12.0, 43.0),
    (30.0, 15.0, 50.0),
    (35.0, 18.0, 55.0),
    (40.0, 22.0, 60.0),
    (45.0, 26.0, 65.0),
    (50.0, 31.0, 70.0),
    (55.0, 35.0, 74.0),
    (60.0, 40.0, 78.0),
    (65.0, 45.0, 82.0),
    (70.0, 51.0, 85.0),
    (75.0, 57.0, 88.0),
    (80.0, 63.0, 91.0),
    (85.0, 70.0, 94.0),
    (90.0, 78.0, 96.0),
    (95.0, 87.0, 98.0),
    (100.0, 100.0, 100.0),
];

/// Curve number for the ground before the storm, by table. Record: [`records::ANTECEDENT_TABLE`].
pub fn antecedent_by_table(average: CurveNumber, ground: Antecedent) -> Ranged<CurveNumber> {
    let cn = average.0;
    let column = |row: &(f64, f64, f64)| match ground {
        Antecedent::Dry => row.1,
        Antecedent::Average => row.0,
        Antecedent::Wet => row.2,
    };
    let after = ANTECEDENT_ROWS.partition_point(|row| row.0 < cn);
    let value = match (after.checked_sub(1).and_then(|row| ANTECEDENT_ROWS.get(row)), ANTECEDENT_ROWS.get(after)) {
        (Some(low), Some(high)) => column(low) + (column(high) - column(low)) * (cn - low.0) / (high.0 - low.0),
        (Some(end), None) | (None, Some(end)) => column(end),
        (None, None) => cn,
    };
    Ranged::new(CurveNumber(value), &records::ANTECEDENT_TABLE, cn >= 5.0)
}

/// Condition of the ground by the rain of the five days before. Record: [`records::ANTECEDENT_RAIN`].
pub fn antecedent_by_rain(five_days: Length, growing: bool) -> Antecedent {
    let (dry, wet) = if growing { (1.4, 2.1) } else { (0.5, 1.1) };
    let inches = five_days.get::<inch>();
    if inches < dry {
        Antecedent::Dry
    } else if inches > wet {
        Antecedent::Wet
    } else {
        Antecedent::Average
    }
}

/// Curve number for the ground before the storm, by formula. Record: [`records::ANTECEDENT_FORMULA`].
pub fn antecedent_by_formula(average: CurveNumber, ground: Antecedent) -> Ranged<CurveNumber> {
    let cn = average.0;
    let value = match ground {
        Antecedent::Dry => 4.2 * cn / (10.0 - 0.058 * cn),
        Antecedent::Average => cn,
        Antecedent::Wet => 23.0 * cn / (10.0 + 0.13 * cn),
    };
    Ranged::new(CurveNumber(value), &records::ANTECEDENT_FORMULA, average.usual())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_figure_that_is_no_curve_number_is_refused() {
        for figure in [0.0, -5.0, 100.5, f64::NAN] {
            assert_eq!(CurveNumber::new(figure), None);
        }
        assert_eq!(composite(&[], Rounding::None), None);
    }

    #[test]
    fn sealed_ground_runs_off_all_its_rain() {
        let sealed = CurveNumber::new(100.0).expect("in range");
        let rain = Length::new::<inch>(1.7);
        let runoff = runoff_depth(rain, sealed, Ratio::new::<ratio>(0.2));
        assert!((runoff.value.get::<inch>() - 1.7).abs() < 1e-12);
    }

    #[test]
    fn runoff_above_the_rain_would_make_water() {
        for cn in [30.0, 55.0, 80.0, 98.0] {
            for tenths in 0..200 {
                let rain = Length::new::<inch>(f64::from(tenths) / 10.0);
                let cn = CurveNumber::new(cn).expect("in range");
                let plain = runoff_depth(rain, cn, Ratio::new::<ratio>(0.2)).value;
                let other = runoff_depth_lambda_005(rain, cn).value;
                assert!(plain <= rain && other <= rain);
            }
        }
    }
}

//! Values that come from the rooms of physics: class shares, capture by table, settling, runoff.

use bywash::facility::model::{CaptureRow, GroundBefore, Part, RunoffRule, SolidsKind};
use bywash::hydrology::{Antecedent, CurveNumber, antecedent_by_table, runoff_depth};
use bywash::particles::{Capture, CaptureCurve, SizeClasses, SizeSpread, settling_velocity};
use uom::si::f64::{Length, MassDensity, Ratio, ThermodynamicTemperature};
use uom::si::length::{meter, micrometer};
use uom::si::mass_density::kilogram_per_cubic_meter;
use uom::si::ratio::ratio;
use uom::si::thermodynamic_temperature::degree_celsius;
use uom::si::velocity::meter_per_second;

use super::given;
use super::solids::size_um;

/// Share of a kind's mass in each class.
pub fn class_shares(kind: &SolidsKind) -> Vec<f64> {
    let half = Length::new::<meter>(given::m(&kind.half_finer));
    let most = Length::new::<meter>(given::m(&kind.nine_tenths_finer));
    SizeSpread::lognormal(half, most).map_or_else(
        |_| vec![0.0; 8],
        |spread| SizeClasses::default().mass_shares(&spread),
    )
}

/// Capture by a table, for each class.
pub fn table_capture(rows: &[CaptureRow], class: usize) -> f64 {
    let points = rows
        .iter()
        .map(|row| {
            (
                Length::new::<meter>(given::m(&row.size)),
                Ratio::new::<ratio>(given::share(&row.share)),
            )
        })
        .collect();
    Capture::by(CaptureCurve::Table(points))
        .by_class(&SizeClasses::default())
        .shares[class]
}

/// Settling velocity of a class of a kind, m/d, from a table of whole degrees between 0 and 40 °C.
pub fn settles_m_d(kind: &SolidsKind, class: usize, celsius: f64) -> f64 {
    let Some(density) = kind.density.as_ref().filter(|_| !kind.floats) else {
        return 0.0;
    };
    let at = |degree: f64| {
        settling_velocity(
            Length::new::<micrometer>(size_um(class)),
            MassDensity::new::<kilogram_per_cubic_meter>(given::kg_m3(density)),
            ThermodynamicTemperature::new::<degree_celsius>(degree),
        )
        .value
        .get::<meter_per_second>()
            * given::SECONDS
    };
    let celsius = celsius.clamp(0.0, 40.0);
    let below = celsius.floor();
    let part = celsius - below;
    if part == 0.0 {
        at(below)
    } else {
        at(below) * (1.0 - part) + at(below + 1.0) * part
    }
}

/// Runoff of a catchment, m³. Grounds with curve numbers run off by one composite number, for each wetness before.
pub fn catchment_runoff_m3(parts: &[Part], rain_m: f64, wet: Antecedent) -> f64 {
    let mut total = 0.0;
    for (i, part) in parts.iter().enumerate() {
        if let RunoffRule::Share {
            runs_off,
            first_soaked_up,
        } = &part.runoff
        {
            let soaked = first_soaked_up.as_ref().map_or(0.0, given::m);
            total += given::share(runs_off) * (rain_m - soaked).max(0.0) * given::m2(&part.area);
            continue;
        }
        let alike = |other: &&Part| {
            matches!(other.runoff, RunoffRule::CurveNumber(_)) && other.ground == part.ground
        };
        if parts.iter().take(i).any(|before| alike(&before)) {
            continue;
        }
        let group: Vec<&Part> = parts.iter().filter(alike).collect();
        let area: f64 = group.iter().map(|p| given::m2(&p.area)).sum();
        let number = |p: &Part| match &p.runoff {
            RunoffRule::CurveNumber(number) => given::share(number),
            RunoffRule::Share { .. } => 0.0,
        };
        let weighed: f64 = group.iter().map(|p| given::m2(&p.area) * number(p)).sum();
        let ground = match part.ground {
            GroundBefore::Average => Antecedent::Average,
            GroundBefore::Dry => Antecedent::Dry,
            GroundBefore::Wet => Antecedent::Wet,
            GroundBefore::ByRain => wet,
        };
        total += depth_m(weighed / area, ground, rain_m) * area;
    }
    total
}

/// Depth of runoff of a ground with a curve number, m.
fn depth_m(number: f64, ground: Antecedent, rain_m: f64) -> f64 {
    CurveNumber::new(number).map_or(0.0, |cn| {
        let cn = antecedent_by_table(cn, ground).value;
        runoff_depth(Length::new::<meter>(rain_m), cn, Ratio::new::<ratio>(0.2))
            .value
            .get::<meter>()
    })
}

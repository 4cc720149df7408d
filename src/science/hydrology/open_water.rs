//! Evaporation from open water: by Penman, from reference evapotranspiration, from a pan.

use crate::science::Ranged;
use crate::science::hydrology::evaporation::slope_in_kpa;
use crate::science::hydrology::evaporation_records as records;
use crate::science::hydrology::radiation::in_megajoules;
use crate::science::hydrology::reference::DayWeather;
use uom::si::f64::{Length, Ratio, Velocity};
use uom::si::length::{meter, millimeter};
use uom::si::pressure::kilopascal;
use uom::si::ratio::{percent, ratio};
use uom::si::velocity::meter_per_second;

/// Albedo of open water.
pub const WATER_ALBEDO: f64 = 0.08;

/// Which of Penman's wind functions.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PenmanWind {
    /// 2.626 + 1.381 u2, of 1948: small water.
    Of1948,
    /// 1.313 + 1.381 u2, of 1956: larger water; preferred by McMahon and others (2013).
    Of1956,
}

/// Evaporation from shallow open water in a day. Record: [`records::PENMAN_OPEN_WATER`]. Heat stored in the water from
/// day to day is left out; a deep pond evaporates less in spring and more in autumn than this says.
pub fn penman_open_water(weather: &DayWeather, wind: PenmanWind) -> Ranged<Length> {
    let parts = weather.parts();
    let net = weather.net_radiation(&parts, WATER_ALBEDO);
    let (slope, gamma) = (slope_in_kpa(parts.slope), slope_in_kpa(parts.psychrometric));
    let base = match wind {
        PenmanWind::Of1948 => 2.626,
        PenmanWind::Of1956 => 1.313,
    };
    let function = base + 1.381 * weather.wind_2m.get::<meter_per_second>();
    let deficit = (parts.saturation - parts.vapour).get::<kilopascal>();
    let depth =
        slope / (slope + gamma) * in_megajoules(net.value) / 2.45 + gamma / (slope + gamma) * function * deficit;
    Ranged::new(
        Length::new::<millimeter>(depth),
        &records::PENMAN_OPEN_WATER,
        parts.within && net.within && depth.is_finite(),
    )
}

/// Open-water evaporation from reference evapotranspiration. Record: [`records::OPEN_WATER_COEFFICIENT`].
pub fn open_water_from_reference(reference: Length, coefficient: Ratio) -> Ranged<Length> {
    Ranged::new(
        reference * coefficient,
        &records::OPEN_WATER_COEFFICIENT,
        (0.4..=1.5).contains(&coefficient.get::<ratio>()),
    )
}

/// Evaporation from a pan reading. Record: [`records::PAN`]. From pan to pond, 0.7 is common practice.
pub fn pan_evaporation(pan: Length, coefficient: Ratio) -> Ranged<Length> {
    Ranged::new(
        pan * coefficient,
        &records::PAN,
        (0.35..=1.1).contains(&coefficient.get::<ratio>()) && pan.get::<meter>() >= 0.0,
    )
}

/// What lies upwind of the pan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fetch {
    /// Short green crop.
    Green,
    /// Dry bare ground.
    Dry,
}

/// The pan's surroundings and the day's air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PanSite {
    /// What lies upwind.
    pub fetch: Fetch,
    /// How far it reaches.
    pub distance: Length,
    /// Wind at 2 m.
    pub wind_2m: Velocity,
    /// Mean relative humidity.
    pub humidity: Ratio,
}

/// Coefficient of a Class A pan by regression. Record: [`records::PAN_COEFFICIENT`].
pub fn pan_coefficient(site: &PanSite) -> Ranged<Ratio> {
    let u2 = site.wind_2m.get::<meter_per_second>();
    let rh = site.humidity.get::<percent>();
    let f = site.distance.get::<meter>();
    let (log_f, log_rh, log_run) = (f.ln(), rh.ln(), (86.4 * u2).ln());
    let value = match site.fetch {
        Fetch::Green => 0.108 - 0.0286 * u2 + 0.0422 * log_f + 0.1434 * log_rh - 0.000_631 * log_f * log_f * log_rh,
        Fetch::Dry => {
            0.61 + 0.003_41 * rh - 0.000_162 * u2 * rh - 0.000_009_59 * u2 * f + 0.003_27 * u2 * log_f
                - 0.002_89 * u2 * log_run
                - 0.0106 * log_run * log_f
                + 0.000_63 * log_f * log_f * log_run
        }
    };
    Ranged::new(
        Ratio::new::<ratio>(value),
        &records::PAN_COEFFICIENT,
        (1.0..=8.0).contains(&u2) && (30.0..=84.0).contains(&rh) && (1.0..=1_000.0).contains(&f),
    )
}

/// Table 5 of FAO-56 by wind (below 2, to 5, to 8, above 8 m/s), fetch (1, 10, 100, 1000 m) and humidity (below 40, to
/// 70, above 70 %), in hundredths.
const GREEN: [[[u8; 3]; 4]; 4] = [
    [[55, 65, 75], [65, 75, 85], [70, 80, 85], [75, 85, 85]],
    [[50, 60, 65], [60, 70, 75], [65, 75, 80], [70, 80, 80]],
    [[45, 50, 60], [55, 60, 65], [60, 65, 70], [65, 70, 75]],
    [[40, 45, 50], [45, 55, 60], [50, 60, 65], [55, 60, 65]],
];
const DRY: [[[u8; 3]; 4]; 4] = [
    [[70, 80, 85], [60, 70, 80], [55, 65, 75], [50, 60, 70]],
    [[65, 75, 80], [55, 65, 70], [50, 60, 65], [45, 55, 60]],
    [[60, 65, 70], [50, 55, 65], [45, 50, 60], [40, 45, 55]],
    [[50, 60, 65], [45, 50, 55], [40, 45, 50], [35, 40, 45]],
];

/// Coefficient of a Class A pan by table: the row of the nearest fetch below (1 m at least), the cell of wind and
/// humidity. Record: [`records::PAN_COEFFICIENT`].
pub fn pan_coefficient_table(site: &PanSite) -> Ranged<Ratio> {
    let u2 = site.wind_2m.get::<meter_per_second>();
    let rh = site.humidity.get::<percent>();
    let f = site.distance.get::<meter>();
    let wind = [2.0, 5.0, 8.0].iter().filter(|edge| u2 >= **edge).count();
    let far = [10.0, 100.0, 1_000.0].iter().filter(|edge| f >= **edge * (1.0 - 1e-9)).count();
    let damp = usize::from(rh >= 40.0) + usize::from(rh > 70.0);
    let table = match site.fetch {
        Fetch::Green => &GREEN,
        Fetch::Dry => &DRY,
    };
    let cell = table.get(wind).and_then(|row| row.get(far)).and_then(|row| row.get(damp));
    Ranged::new(
        Ratio::new::<ratio>(cell.map_or(f64::NAN, |hundredths| f64::from(*hundredths) / 100.0)),
        &records::PAN_COEFFICIENT,
        u2 >= 0.0 && (0.0..=100.0).contains(&rh) && f >= 1.0,
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::science::hydrology::{Humidity, penman_monteith_daily, to_radiation};
    use uom::si::angle::degree;
    use uom::si::f64::{Angle, ThermodynamicTemperature};
    use uom::si::thermodynamic_temperature::degree_celsius;

    fn summer_day() -> DayWeather {
        DayWeather {
            highest: ThermodynamicTemperature::new::<degree_celsius>(21.5),
            lowest: ThermodynamicTemperature::new::<degree_celsius>(12.3),
            humidity: Humidity::HighestAndLowest {
                highest: Ratio::new::<percent>(84.0),
                lowest: Ratio::new::<percent>(63.0),
            },
            wind_2m: Velocity::new::<meter_per_second>(2.078),
            solar: to_radiation(22.07),
            elevation: Length::new::<meter>(100.0),
            latitude: Angle::new::<degree>(50.8),
            day_of_year: 187,
        }
    }

    #[test]
    fn open_water_that_evaporates_less_than_grass_would_point_to_a_wrong_albedo() {
        let grass = penman_monteith_daily(&summer_day());
        for wind in [PenmanWind::Of1948, PenmanWind::Of1956] {
            let water = penman_open_water(&summer_day(), wind);
            assert!(water.within);
            let over = (water.value / grass.value).get::<ratio>();
            assert!((1.05..1.6).contains(&over), "{over}");
        }
    }

    #[test]
    fn a_day_without_humidity_gives_no_number_and_says_so() {
        let mut day = summer_day();
        day.humidity = Humidity::Mean(Ratio::new::<ratio>(f64::NAN));
        let water = penman_open_water(&day, PenmanWind::Of1956);
        assert!(water.value.get::<millimeter>().is_nan() && water.outside().is_some());
    }

    #[test]
    fn regression_and_table_of_the_pan_tell_the_same_story() {
        let site = PanSite {
            fetch: Fetch::Green,
            distance: Length::new::<meter>(100.0),
            wind_2m: Velocity::new::<meter_per_second>(1.5),
            humidity: Ratio::new::<percent>(55.0),
        };
        let by_table = pan_coefficient_table(&site).value.get::<ratio>();
        let by_equation = pan_coefficient(&site).value.get::<ratio>();
        assert!((by_table - by_equation).abs() < 0.05);
    }
}

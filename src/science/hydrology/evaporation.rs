//! The parts that the evaporation methods share: pressure, humidity, wind, soil heat.

use crate::science::Ranged;
use crate::science::hydrology::evaporation_records as records;
use crate::science::hydrology::radiation::to_radiation;
use uom::si::f64::{HeatFluxDensity, Length, Pressure, Ratio, TemperatureInterval, ThermodynamicTemperature, Velocity};
use uom::si::length::meter;
use uom::si::pressure::kilopascal;
use uom::si::ratio::ratio;
use uom::si::temperature_interval::kelvin;
use uom::si::thermodynamic_temperature::degree_celsius;
use uom::si::velocity::meter_per_second;
use uom::si::{ISQ, Quantity, SI};
use uom::typenum::{N1, N2, P1, Z0};

/// Pressure per degree: the unit of the psychrometric constant and of the slope of the vapour pressure curve. The
/// base unit is Pa/K.
pub type PressureSlope = Quantity<ISQ<N1, P1, N2, Z0, N1, Z0, Z0>, SI<f64>, f64>;

pub(crate) fn slope_from_kpa(kpa_per_degree: f64) -> PressureSlope {
    Pressure::new::<kilopascal>(kpa_per_degree) / TemperatureInterval::new::<kelvin>(1.0)
}

pub(crate) fn slope_in_kpa(slope: PressureSlope) -> f64 {
    (slope * TemperatureInterval::new::<kelvin>(1.0)).get::<kilopascal>()
}

fn ordinary(celsius: f64) -> bool {
    (-30.0..=60.0).contains(&celsius)
}

/// Air pressure by elevation. Record: [`records::ATMOSPHERIC_PRESSURE`].
pub fn atmospheric_pressure(elevation: Length) -> Ranged<Pressure> {
    let z = elevation.get::<meter>();
    let kpa = 101.3 * ((293.0 - 0.0065 * z) / 293.0).powf(5.26);
    Ranged::new(Pressure::new::<kilopascal>(kpa), &records::ATMOSPHERIC_PRESSURE, (-500.0..=9_000.0).contains(&z))
}

/// Psychrometric constant by air pressure. Record: [`records::PSYCHROMETRIC_CONSTANT`].
pub fn psychrometric_constant(pressure: Pressure) -> Ranged<PressureSlope> {
    let kpa = pressure.get::<kilopascal>();
    Ranged::new(slope_from_kpa(0.665e-3 * kpa), &records::PSYCHROMETRIC_CONSTANT, kpa > 0.0)
}

/// Saturation vapour pressure. Record: [`records::SATURATION_VAPOUR_PRESSURE`].
pub fn saturation_vapour_pressure(temperature: ThermodynamicTemperature) -> Ranged<Pressure> {
    let t = temperature.get::<degree_celsius>();
    Ranged::new(
        Pressure::new::<kilopascal>(0.6108 * (17.27 * t / (t + 237.3)).exp()),
        &records::SATURATION_VAPOUR_PRESSURE,
        ordinary(t),
    )
}

/// Slope of the saturation vapour pressure curve. Record: [`records::SLOPE_VAPOUR_PRESSURE`].
pub fn slope_vapour_pressure(temperature: ThermodynamicTemperature) -> Ranged<PressureSlope> {
    let t = temperature.get::<degree_celsius>();
    let e = saturation_vapour_pressure(temperature).value.get::<kilopascal>();
    Ranged::new(slope_from_kpa(4098.0 * e / ((t + 237.3) * (t + 237.3))), &records::SLOPE_VAPOUR_PRESSURE, ordinary(t))
}

/// What is known of the day's humidity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Humidity {
    /// Actual vapour pressure itself.
    VapourPressure(Pressure),
    /// Highest and lowest relative humidity of the day.
    HighestAndLowest {
        /// Highest relative humidity.
        highest: Ratio,
        /// Lowest relative humidity.
        lowest: Ratio,
    },
    /// Only the highest relative humidity.
    Highest(Ratio),
    /// Only the mean relative humidity.
    Mean(Ratio),
    /// Dew point; the day's lowest temperature may stand in for it where air is humid.
    DewPoint(ThermodynamicTemperature),
}

/// Actual vapour pressure of a day. Record: [`records::ACTUAL_VAPOUR_PRESSURE`].
pub fn actual_vapour_pressure(
    highest: ThermodynamicTemperature,
    lowest: ThermodynamicTemperature,
    humidity: Humidity,
) -> Ranged<Pressure> {
    let at_highest = saturation_vapour_pressure(highest);
    let at_lowest = saturation_vapour_pressure(lowest);
    let share = |humidity: Ratio| (0.0..=1.0).contains(&humidity.get::<ratio>());
    let (value, within) = match humidity {
        Humidity::VapourPressure(pressure) => (pressure, pressure.get::<kilopascal>() >= 0.0),
        Humidity::HighestAndLowest { highest, lowest } => (
            (at_lowest.value * highest + at_highest.value * lowest) * 0.5,
            share(highest) && share(lowest) && highest >= lowest,
        ),
        Humidity::Highest(highest) => (at_lowest.value * highest, share(highest)),
        Humidity::Mean(mean) => ((at_highest.value + at_lowest.value) * 0.5 * mean, share(mean)),
        Humidity::DewPoint(dew) => {
            let pressure = saturation_vapour_pressure(dew);
            (pressure.value, pressure.within)
        }
    };
    Ranged::new(
        value,
        &records::ACTUAL_VAPOUR_PRESSURE,
        within && at_highest.within && at_lowest.within && highest >= lowest,
    )
}

/// Wind at 2 m from wind at another height. Record: [`records::WIND_2M`].
pub fn wind_at_2m(wind: Velocity, height: Length) -> Ranged<Velocity> {
    let z = height.get::<meter>();
    Ranged::new(
        wind * (4.87 / (67.8 * z - 5.42).ln()),
        &records::WIND_2M,
        (0.5..=100.0).contains(&z) && wind.get::<meter_per_second>() >= 0.0,
    )
}

/// Soil heat flux of a month from the months before and after. Record: [`records::SOIL_HEAT`].
pub fn soil_heat_flux_month(
    previous: ThermodynamicTemperature,
    next: ThermodynamicTemperature,
) -> Ranged<HeatFluxDensity> {
    soil_heat(0.07, previous, next)
}

/// Soil heat flux of a month when the next one is not known. Record: [`records::SOIL_HEAT`].
pub fn soil_heat_flux_month_so_far(
    previous: ThermodynamicTemperature,
    this: ThermodynamicTemperature,
) -> Ranged<HeatFluxDensity> {
    soil_heat(0.14, previous, this)
}

fn soil_heat(
    factor: f64,
    before: ThermodynamicTemperature,
    after: ThermodynamicTemperature,
) -> Ranged<HeatFluxDensity> {
    let flux = factor * (after.get::<degree_celsius>() - before.get::<degree_celsius>());
    Ranged::new(to_radiation(flux), &records::SOIL_HEAT, flux.is_finite())
}

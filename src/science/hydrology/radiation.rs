//! Radiation: above the atmosphere, clear sky, solar, net.

use crate::science::Ranged;
use crate::science::hydrology::evaporation_records as records;
use std::f64::consts::PI;
use uom::si::angle::radian;
use uom::si::f64::{Angle, HeatFluxDensity, Length, Pressure, Ratio, ThermodynamicTemperature, Time};
use uom::si::heat_flux_density::watt_per_square_meter;
use uom::si::length::meter;
use uom::si::pressure::kilopascal;
use uom::si::ratio::ratio;
use uom::si::thermodynamic_temperature::{degree_celsius, kelvin};
use uom::si::time::hour;

const SECONDS_PER_DAY: f64 = 86_400.0;

/// A day's radiation from its figure in MJ/m²/d, the unit of the methods' texts.
pub fn to_radiation(megajoule_per_square_meter_day: f64) -> HeatFluxDensity {
    HeatFluxDensity::new::<watt_per_square_meter>(megajoule_per_square_meter_day * 1e6 / SECONDS_PER_DAY)
}

pub(crate) fn in_megajoules(radiation: HeatFluxDensity) -> f64 {
    radiation.get::<watt_per_square_meter>() * SECONDS_PER_DAY / 1e6
}

struct Sun {
    declination: f64,
    distance: f64,
    sunset: f64,
    real: bool,
}

fn sun(latitude: Angle, day_of_year: u32) -> Sun {
    let phi = latitude.get::<radian>();
    let year = 2.0 * PI * f64::from(day_of_year) / 365.0;
    let declination = 0.409 * (year - 1.39).sin();
    // Beyond the polar circles the cosine leaves −1…1: the sun does not set (π) or does not rise (0).
    let cosine = (-phi.tan() * declination.tan()).clamp(-1.0, 1.0);
    Sun {
        declination,
        distance: 1.0 + 0.033 * year.cos(),
        sunset: cosine.acos(),
        real: phi.abs() <= PI / 2.0 + 1e-12 && (1..=366).contains(&day_of_year),
    }
}

/// Radiation above the atmosphere. Record: [`records::EXTRATERRESTRIAL_RADIATION`]. The day of the year is 1 on
/// 1 January; 365 days a year also in leap years, as the source has it.
pub fn extraterrestrial_radiation(latitude: Angle, day_of_year: u32) -> Ranged<HeatFluxDensity> {
    let phi = latitude.get::<radian>();
    let sun = sun(latitude, day_of_year);
    let ra = 24.0 * 60.0 / PI
        * 0.0820
        * sun.distance
        * (sun.sunset * phi.sin() * sun.declination.sin() + phi.cos() * sun.declination.cos() * sun.sunset.sin());
    Ranged::new(to_radiation(ra.max(0.0)), &records::EXTRATERRESTRIAL_RADIATION, sun.real)
}

/// Time from sunrise to sunset. Record: [`records::DAYLIGHT`].
pub fn daylight(latitude: Angle, day_of_year: u32) -> Ranged<Time> {
    let sun = sun(latitude, day_of_year);
    Ranged::new(Time::new::<hour>(24.0 * sun.sunset / PI), &records::DAYLIGHT, sun.real)
}

/// Solar radiation from temperatures. Record: [`records::SOLAR_HARGREAVES`]. `coefficient` is 0.16 inland, 0.19 at the
/// coast; not a number if the temperatures are out of order.
pub fn solar_radiation_hargreaves(
    highest: ThermodynamicTemperature,
    lowest: ThermodynamicTemperature,
    above_atmosphere: HeatFluxDensity,
    coefficient: f64,
) -> Ranged<HeatFluxDensity> {
    let swing = highest.get::<degree_celsius>() - lowest.get::<degree_celsius>();
    Ranged::new(
        above_atmosphere * (coefficient * swing.sqrt()),
        &records::SOLAR_HARGREAVES,
        swing >= 0.0 && (0.1..=0.25).contains(&coefficient),
    )
}

/// The two constants of Angström's formula.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Angstrom {
    /// Share of the radiation above the atmosphere that arrives under an overcast sky.
    pub overcast: f64,
    /// What a cloudless sky adds to it.
    pub clear: f64,
}

/// Constants where none were fitted to the place: 0.25 and 0.50.
pub const ANGSTROM_DEFAULT: Angstrom = Angstrom { overcast: 0.25, clear: 0.50 };

/// Solar radiation from hours of sunshine. Record: [`records::SOLAR_SUNSHINE`].
pub fn solar_radiation_sunshine(
    sunshine: Time,
    daylight: Time,
    above_atmosphere: HeatFluxDensity,
    constants: Angstrom,
) -> Ranged<HeatFluxDensity> {
    let share = (sunshine / daylight).get::<ratio>();
    Ranged::new(
        above_atmosphere * (constants.overcast + constants.clear * share),
        &records::SOLAR_SUNSHINE,
        (0.0..=1.0).contains(&share) && (0.5..=0.9).contains(&(constants.overcast + constants.clear)),
    )
}

/// Clear-sky solar radiation. Record: [`records::CLEAR_SKY`].
pub fn clear_sky_radiation(elevation: Length, above_atmosphere: HeatFluxDensity) -> Ranged<HeatFluxDensity> {
    let z = elevation.get::<meter>();
    Ranged::new(above_atmosphere * (0.75 + 2e-5 * z), &records::CLEAR_SKY, (-500.0..=6_000.0).contains(&z))
}

/// Net short-wave radiation. Record: [`records::NET_RADIATION`].
pub fn net_shortwave(solar: HeatFluxDensity, albedo: Ratio) -> Ranged<HeatFluxDensity> {
    let reflected = albedo.get::<ratio>();
    Ranged::new(solar * (1.0 - reflected), &records::NET_RADIATION, (0.0..=1.0).contains(&reflected))
}

/// Net outgoing long-wave radiation. Record: [`records::NET_RADIATION`]. Solar above clear-sky radiation is marked.
pub fn net_longwave(
    highest: ThermodynamicTemperature,
    lowest: ThermodynamicTemperature,
    vapour_pressure: Pressure,
    solar: HeatFluxDensity,
    clear_sky: HeatFluxDensity,
) -> Ranged<HeatFluxDensity> {
    let share = cloudiness(solar, clear_sky);
    let value = longwave_mj(4.903e-9, highest, lowest, vapour_pressure, share.min(1.0));
    Ranged::new(to_radiation(value), &records::NET_RADIATION, (0.0..=1.0 + 1e-9).contains(&share))
}

/// Solar over clear-sky radiation; in the polar night, where both are nothing, a clear sky.
pub(crate) fn cloudiness(solar: HeatFluxDensity, clear_sky: HeatFluxDensity) -> f64 {
    if in_megajoules(clear_sky) == 0.0 && in_megajoules(solar) == 0.0 {
        return 1.0;
    }
    (solar / clear_sky).get::<ratio>()
}

pub(crate) fn longwave_mj(
    sigma: f64,
    highest: ThermodynamicTemperature,
    lowest: ThermodynamicTemperature,
    vapour_pressure: Pressure,
    cloudiness: f64,
) -> f64 {
    // The source adds 273.16 to degrees Celsius.
    let absolute = |t: ThermodynamicTemperature| t.get::<kelvin>() + 0.01;
    sigma
        * 0.5
        * (absolute(highest).powi(4) + absolute(lowest).powi(4))
        * (0.34 - 0.14 * vapour_pressure.get::<kilopascal>().sqrt())
        * (1.35 * cloudiness - 0.35)
}

#[cfg(test)]
mod tests {
    use super::*;
    use uom::si::angle::degree;

    #[test]
    fn polar_day_and_night_are_answers_not_errors() {
        let north = Angle::new::<degree>(80.0);
        assert_eq!(daylight(north, 355).value.get::<hour>(), 0.0);
        assert_eq!(daylight(north, 172).value.get::<hour>(), 24.0);
        assert!(in_megajoules(extraterrestrial_radiation(north, 355).value) == 0.0);
    }

    #[test]
    fn the_two_halves_of_the_globe_have_opposite_summers() {
        let south = extraterrestrial_radiation(Angle::new::<degree>(-45.0), 355).value;
        let north = extraterrestrial_radiation(Angle::new::<degree>(45.0), 355).value;
        assert!(south > north * 3.0);
        assert!(extraterrestrial_radiation(Angle::new::<degree>(45.0), 400).outside().is_some());
    }
}

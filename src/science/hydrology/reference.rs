//! Reference evapotranspiration.

use crate::science::Ranged;
use crate::science::hydrology::evaporation::{
    Humidity, PressureSlope, actual_vapour_pressure, atmospheric_pressure, psychrometric_constant,
    saturation_vapour_pressure, slope_from_kpa, slope_in_kpa, slope_vapour_pressure,
};
use crate::science::hydrology::evaporation_records as records;
use crate::science::hydrology::radiation::{
    clear_sky_radiation, cloudiness, extraterrestrial_radiation, in_megajoules, longwave_mj, net_longwave,
    net_shortwave, to_radiation,
};
use uom::si::f64::{Angle, HeatFluxDensity, Length, Pressure, Ratio, ThermodynamicTemperature, Velocity};
use uom::si::length::millimeter;
use uom::si::pressure::kilopascal;
use uom::si::ratio::ratio;
use uom::si::thermodynamic_temperature::degree_celsius;
use uom::si::velocity::meter_per_second;

/// Albedo of the reference grass.
pub const GRASS_ALBEDO: f64 = 0.23;

/// One day's weather and place, as the radiation methods need it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DayWeather {
    /// Highest air temperature.
    pub highest: ThermodynamicTemperature,
    /// Lowest air temperature.
    pub lowest: ThermodynamicTemperature,
    /// Humidity.
    pub humidity: Humidity,
    /// Mean wind at 2 m.
    pub wind_2m: Velocity,
    /// Solar radiation.
    pub solar: HeatFluxDensity,
    /// Elevation above sea level.
    pub elevation: Length,
    /// Latitude, south negative.
    pub latitude: Angle,
    /// Day of the year, 1 on 1 January.
    pub day_of_year: u32,
}

/// What the weather of a day comes to, shared by the three methods of this file and by open water.
pub(crate) struct Parts {
    pub mean: ThermodynamicTemperature,
    pub slope: PressureSlope,
    pub psychrometric: PressureSlope,
    pub saturation: Pressure,
    pub vapour: Pressure,
    pub clear_sky: HeatFluxDensity,
    pub within: bool,
}

impl DayWeather {
    pub(crate) fn parts(&self) -> Parts {
        let mean = mean_temperature(self.highest, self.lowest);
        let slope = slope_vapour_pressure(mean);
        let psychrometric = psychrometric_constant(atmospheric_pressure(self.elevation).value);
        let high = saturation_vapour_pressure(self.highest);
        let low = saturation_vapour_pressure(self.lowest);
        let vapour = actual_vapour_pressure(self.highest, self.lowest, self.humidity);
        let above = extraterrestrial_radiation(self.latitude, self.day_of_year);
        let clear_sky = clear_sky_radiation(self.elevation, above.value);
        let wind = self.wind_2m.get::<meter_per_second>();
        Parts {
            mean,
            slope: slope.value,
            psychrometric: psychrometric.value,
            saturation: (high.value + low.value) * 0.5,
            vapour: vapour.value,
            clear_sky: clear_sky.value,
            within: slope.within
                && psychrometric.within
                && vapour.within
                && above.within
                && clear_sky.within
                && (0.0..=15.0).contains(&wind),
        }
    }

    /// Net radiation by the FAO form, over a surface of this albedo.
    pub(crate) fn net_radiation(&self, parts: &Parts, albedo: f64) -> Ranged<HeatFluxDensity> {
        let short = net_shortwave(self.solar, Ratio::new::<ratio>(albedo));
        let long = net_longwave(self.highest, self.lowest, parts.vapour, self.solar, parts.clear_sky);
        Ranged::new(short.value - long.value, &records::NET_RADIATION, short.within && long.within)
    }
}

pub(crate) fn mean_temperature(
    highest: ThermodynamicTemperature,
    lowest: ThermodynamicTemperature,
) -> ThermodynamicTemperature {
    ThermodynamicTemperature::new::<degree_celsius>(
        0.5 * (highest.get::<degree_celsius>() + lowest.get::<degree_celsius>()),
    )
}

/// The terms of the FAO Penman-Monteith equation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PenmanMonteithTerms {
    /// Mean air temperature.
    pub temperature: ThermodynamicTemperature,
    /// Wind at 2 m.
    pub wind_2m: Velocity,
    /// Saturation vapour pressure.
    pub saturation: Pressure,
    /// Actual vapour pressure.
    pub vapour: Pressure,
    /// Slope of the vapour pressure curve.
    pub slope: PressureSlope,
    /// Psychrometric constant.
    pub psychrometric: PressureSlope,
    /// Net radiation.
    pub net_radiation: HeatFluxDensity,
    /// Soil heat flux.
    pub soil_heat: HeatFluxDensity,
}

/// Constants of a standardised reference surface.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReferenceSurface {
    /// Short, like clipped grass: 900 and 0.34.
    Short,
    /// Tall, like lucerne: 1600 and 0.38.
    Tall,
}

impl ReferenceSurface {
    fn constants(self) -> (f64, f64) {
        match self {
            Self::Short => (900.0, 0.34),
            Self::Tall => (1600.0, 0.38),
        }
    }
}

fn combination(terms: &PenmanMonteithTerms, surface: ReferenceSurface) -> Length {
    let (numerator, denominator) = surface.constants();
    let slope = slope_in_kpa(terms.slope);
    let gamma = slope_in_kpa(terms.psychrometric);
    let wind = terms.wind_2m.get::<meter_per_second>();
    let energy = in_megajoules(terms.net_radiation - terms.soil_heat);
    let deficit = (terms.saturation - terms.vapour).get::<kilopascal>();
    let celsius = terms.temperature.get::<degree_celsius>();
    let top = 0.408 * slope * energy + gamma * numerator / (celsius + 273.0) * wind * deficit;
    Length::new::<millimeter>(top / (slope + gamma * (1.0 + denominator * wind)))
}

/// Reference evapotranspiration of a day from the equation's terms. Record: [`records::PENMAN_MONTEITH`]. The depth is
/// that of one day.
pub fn penman_monteith_terms(terms: &PenmanMonteithTerms) -> Ranged<Length> {
    let depth = combination(terms, ReferenceSurface::Short);
    let wind = terms.wind_2m.get::<meter_per_second>();
    Ranged::new(depth, &records::PENMAN_MONTEITH, (0.0..=15.0).contains(&wind) && depth.get::<millimeter>().is_finite())
}

/// Reference evapotranspiration of a day from its weather; soil heat flux zero. Record: [`records::PENMAN_MONTEITH`].
pub fn penman_monteith_daily(weather: &DayWeather) -> Ranged<Length> {
    let parts = weather.parts();
    let net = weather.net_radiation(&parts, GRASS_ALBEDO);
    let terms = PenmanMonteithTerms {
        temperature: parts.mean,
        wind_2m: weather.wind_2m,
        saturation: parts.saturation,
        vapour: parts.vapour,
        slope: parts.slope,
        psychrometric: parts.psychrometric,
        net_radiation: net.value,
        soil_heat: to_radiation(0.0),
    };
    penman_monteith_terms(&terms).and_within(parts.within && net.within)
}

/// Reference evapotranspiration of a day from its temperatures alone. Record: [`records::HARGREAVES`]. Not a number if
/// the temperatures are out of order.
pub fn hargreaves(
    highest: ThermodynamicTemperature,
    lowest: ThermodynamicTemperature,
    latitude: Angle,
    day_of_year: u32,
) -> Ranged<Length> {
    let above = extraterrestrial_radiation(latitude, day_of_year);
    let swing = highest.get::<degree_celsius>() - lowest.get::<degree_celsius>();
    let mean = mean_temperature(highest, lowest).get::<degree_celsius>();
    let depth = 0.0023 * (mean + 17.8) * swing.sqrt() * 0.408 * in_megajoules(above.value);
    Ranged::new(
        Length::new::<millimeter>(depth),
        &records::HARGREAVES,
        above.within && swing >= 0.0 && (-17.8..=50.0).contains(&mean),
    )
}

/// Standardised reference evapotranspiration of a day, with the simple clear-sky form. Record:
/// [`records::ASCE_REFERENCE`].
pub fn asce_reference(weather: &DayWeather, surface: ReferenceSurface) -> Ranged<Length> {
    let parts = weather.parts();
    let mean = parts.mean.get::<degree_celsius>();
    // The standard's own rounding of constants: 2503 for 4098·0.6108, 4.92 MJ/m²/h for the solar constant (0.0820·60).
    let slope = slope_from_kpa(2503.0 * (17.27 * mean / (mean + 237.3)).exp() / ((mean + 237.3) * (mean + 237.3)));
    let share = cloudiness(weather.solar, parts.clear_sky);
    let long = longwave_mj(4.901e-9, weather.highest, weather.lowest, parts.vapour, share.clamp(0.3, 1.0));
    let short = net_shortwave(weather.solar, Ratio::new::<ratio>(GRASS_ALBEDO));
    let terms = PenmanMonteithTerms {
        temperature: parts.mean,
        wind_2m: weather.wind_2m,
        saturation: parts.saturation,
        vapour: parts.vapour,
        slope,
        psychrometric: parts.psychrometric,
        net_radiation: short.value - to_radiation(long),
        soil_heat: to_radiation(0.0),
    };
    let depth = combination(&terms, surface);
    Ranged::new(depth, &records::ASCE_REFERENCE, parts.within && share >= 0.0 && depth.get::<millimeter>().is_finite())
}

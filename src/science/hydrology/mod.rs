//! Runoff, evaporation, storms over a sliding window, leaching from containers.
//!
//! Rain is water that fell as rain. Snow is left out: a depth measured as snow neither runs off nor evaporates here
//! on the day it is read, and the user is asked for what melted.

mod curve_number;
mod evaporation;
pub mod evaporation_records;
mod leaching;
mod open_water;
mod peak;
mod radiation;
pub mod records;
mod reference;
mod runoff;
mod storms;

pub use curve_number::{
    Antecedent, CurveNumber, Rounding, antecedent_by_formula, antecedent_by_rain, antecedent_by_table, composite,
    initial_abstraction, retention, runoff_depth, runoff_depth_lambda_005,
};
pub use evaporation::{
    Humidity, PressureSlope, actual_vapour_pressure, atmospheric_pressure, psychrometric_constant,
    saturation_vapour_pressure, slope_vapour_pressure, soil_heat_flux_month, soil_heat_flux_month_so_far, wind_at_2m,
};
pub use leaching::{
    GREATEST_TARGET_LEACHING_FRACTION, irrigation_for_leaching_fraction, leaching_fraction,
    run_time_for_leaching_fraction,
};
pub use open_water::{
    Fetch, PanSite, PenmanWind, WATER_ALBEDO, open_water_from_reference, pan_coefficient, pan_coefficient_table,
    pan_evaporation, penman_open_water,
};
pub use peak::{RainfallType, graphical_peak};
pub use radiation::{
    ANGSTROM_DEFAULT, Angstrom, clear_sky_radiation, daylight, extraterrestrial_radiation, net_longwave, net_shortwave,
    solar_radiation_hargreaves, solar_radiation_sunshine, to_radiation,
};
pub use reference::{
    DayWeather, GRASS_ALBEDO, PenmanMonteithTerms, ReferenceSurface, asce_reference, hargreaves, penman_monteith_daily,
    penman_monteith_terms,
};
pub use runoff::{depth_from_volume, runoff_by_coefficient, runoff_ratio_rv, volume_from_depth, water_quality_volume};
pub use storms::{RainReading, StormDepth, StormError, largest_depth};

//! What a key can expect: a kind of value with its printed list of units.

use uom::si::f64 as si;
use uom::si::{
    angle, area, areal_mass_density, electrical_conductivity, energy, heat_flux_density, length, mass, mass_density,
    mass_rate, power, ratio, thermodynamic_temperature, time, velocity, volume, volume_rate, volumetric_number_density,
};

use super::unit::Unit;
use super::units as u;

/// A kind of value that a key expects.
pub trait Kind {
    /// The quantity it becomes.
    type Value: Copy + PartialEq + PartialOrd + std::fmt::Debug;
    /// How it is called in a message: `a flow`.
    const WHAT: &'static str;
    /// A value to show in a message: `38 gpm`.
    const EXAMPLE: &'static str;
    /// The units allowed, in the order they are printed.
    const UNITS: &'static [Unit];
    /// The least value allowed (SI) and how it is said.
    const LEAST: Option<(f64, &'static str)> = Some((0.0, "zero"));
    /// The greatest value allowed (SI) and how it is said.
    const MOST: Option<(f64, &'static str)> = None;
    /// For US readers, the units it is printed in: the first whose threshold (in that unit) is reached, else the last.
    const US: &'static [(Unit, f64)];
    /// The same for metric readers.
    const METRIC: &'static [(Unit, f64)];

    /// The quantity of an SI value.
    fn from_si(value: f64) -> Self::Value;
    /// The SI value of a quantity.
    fn to_si(value: Self::Value) -> f64;
}

macro_rules! kind {
    ($(#[$doc:meta])* $name:ident, $module:ident :: $unit:ident as $quantity:ident, $what:literal, $example:literal,
     [$($allowed:ident),*], [$(($us:ident, $us_from:expr)),*], [$(($metric:ident, $metric_from:expr)),*] $(, $const:ident = $bound:expr)*) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub struct $name;

        impl Kind for $name {
            type Value = si::$quantity;
            const WHAT: &'static str = $what;
            const EXAMPLE: &'static str = $example;
            const UNITS: &'static [Unit] = &[$(u::$allowed),*];
            const US: &'static [(Unit, f64)] = &[$((u::$us, $us_from)),*];
            const METRIC: &'static [(Unit, f64)] = &[$((u::$metric, $metric_from)),*];
            $(const $const: Option<(f64, &'static str)> = $bound;)*

            fn from_si(value: f64) -> Self::Value {
                si::$quantity::new::<$module::$unit>(value)
            }
            fn to_si(value: Self::Value) -> f64 {
                value.get::<$module::$unit>()
            }
        }
    };
}

kind!(
    /// A length of something built, or a depth or level of water.
    Length, length::meter as Length, "a length", "6 ft",
    [IN, FT, YD, MM, CM, M], [(FT, 1.0), (IN, 0.0)], [(M, 1.0), (MM, 0.0)],
    MOST = Some((1e5, "100 km"))
);
kind!(
    /// A level, which may stand below the zero of its gauge.
    Level, length::meter as Length, "a level", "6.4 ft",
    [FT, IN, M, CM, MM], [(FT, 0.0)], [(M, 0.0)], LEAST = None,
    MOST = Some((1e4, "10 km"))
);
kind!(
    /// A size of opening, grain or particle.
    Size, length::meter as Length, "a size of opening or grain", "120 um",
    [UM, MM, IN], [(UM, 0.0)], [(UM, 0.0)],
    MOST = Some((1.0, "1 m"))
);
kind!(
    /// A depth of rain or of applied water.
    RainDepth, length::meter as Length, "a depth of water", "0.4 in",
    [IN, MM, CM, FT, TENTH_MM, HUNDREDTH_IN], [(IN, 0.0)], [(MM, 0.0)],
    MOST = Some((10.0, "10 m"))
);
kind!(
    /// An area of ground, water or mesh.
    Area, area::square_meter as Area, "an area", "9.5 acre",
    [FT_2, ACRE_1, M_2, HA], [(ACRE_1, 0.1), (FT_2, 0.0)], [(HA, 0.1), (M_2, 0.0)],
    MOST = Some((1e10, "1,000,000 ha"))
);
kind!(
    /// A volume of water.
    Volume, volume::cubic_meter as Volume, "a volume", "9000 gal",
    [GAL_1, L, M_3, FT_3, ACRE_FT, ACRE_IN, MIL_GAL, KGAL, CCF, KCF, YD_3, ML, KL, MEGALITRE], [(GAL_1, 0.0)], [(M_3, 1.0), (L, 0.0)],
    MOST = Some((1e9, "1,000,000,000 m3"))
);
kind!(
    /// A volume of water in a time.
    Flow, volume_rate::cubic_meter_per_second as VolumeRate, "a flow", "38 gpm",
    [GPM, GPH, GAL_DAY, MGD, CFS, L_S, L_MIN, M3_H, M3_DAY, GPS, KGAL_DAY, CFM, CFH, FT3_DAY, CCF_DAY, L_H, L_DAY, M3_S, M3_MIN, ML_DAY,
     ACRE_FT_DAY, ACRE_IN_DAY, ACRE_IN_H],
    [(GPM, 1.0), (GAL_DAY, 0.0)], [(M3_H, 0.1), (L_DAY, 0.0)],
    MOST = Some((1e4, "10,000 m3/s"))
);
kind!(
    /// A volume of water over a day.
    DailyVolume, volume_rate::cubic_meter_per_second as VolumeRate, "an amount of water in a day", "600 gal/day",
    [GAL_DAY, L_DAY, M3_DAY, MGD, ACRE_FT_DAY, GPM, L_MIN, L_S, M3_H, KGAL_DAY, FT3_DAY, CCF_DAY, ACRE_IN_DAY, ML_DAY, GPH, GPS, L_H, M3_MIN,
     M3_S, CFS, CFM, CFH, ACRE_IN_H],
    [(GAL_DAY, 0.0)], [(M3_DAY, 1.0), (L_DAY, 0.0)],
    MOST = Some((1e4, "10,000 m3/s"))
);
kind!(
    /// A depth in a day: seepage, evaporation, application, advance of a roll.
    DepthRate, velocity::meter_per_second as Velocity, "a depth in a day", "0.06 in/day",
    [IN_DAY, FT_DAY, MM_DAY, CM_DAY, M_DAY, IN_H, MM_H], [(FT_DAY, 1.0), (IN_DAY, 0.0)], [(M_DAY, 1.0), (MM_DAY, 0.0)]
);
kind!(
    /// What open water loses in a day.
    WaterLoss, velocity::meter_per_second as Velocity, "a depth in a day or a month", "1.0 in/month or 0.06 in/day",
    [IN_DAY, MM_DAY, CM_DAY, FT_DAY], [(IN_DAY, 0.0)], [(MM_DAY, 0.0)]
);
kind!(
    /// A depth in a month of the calendar: the value is the depth in that month.
    MonthlyDepth, length::meter as Length, "a depth in a month", "1.0 in/month",
    [IN_MONTH, MM_MONTH, CM_MONTH], [(IN_MONTH, 0.0)], [(MM_MONTH, 0.0)]
);
kind!(
    /// A flow over an area (flux, filtration rate, wash rate).
    Flux, velocity::meter_per_second as Velocity, "a flow over an area", "15 gpm/ft2",
    [GPM_FT2, GPD_FT2, M_H, MM_S, CM_S, FT_H, L_S_M2, M3_M2_DAY], [(GPM_FT2, 0.0)], [(M_H, 0.0)]
);
kind!(
    /// A speed: settling, flow in a channel.
    Speed, velocity::meter_per_second as Velocity, "a speed", "0.5 ft/s",
    [FT_S, M_S, MM_S, CM_S, M_H, M_DAY, FT_H, FT_DAY], [(FT_S, 0.0)], [(M_S, 0.1), (MM_S, 0.0)]
);
kind!(
    /// Mass of something in a volume of water.
    Concentration, mass_density::kilogram_per_cubic_meter as MassDensity, "a concentration", "60 mg/L",
    [MG_L, UG_L, NG_L, G_M3, G_L, KG_M3, LB_GAL], [(MG_L, 0.1), (UG_L, 0.0)], [(MG_L, 0.1), (UG_L, 0.0)],
    MOST = Some((1000.0, "1,000,000 mg/L"))
);
kind!(
    /// Density of a solid.
    Density, mass_density::kilogram_per_cubic_meter as MassDensity, "a density", "2.65 times water",
    [TIMES_WATER, KG_M3, LB_FT3], [(TIMES_WATER, 0.0)], [(KG_M3, 0.0)],
    MOST = Some((25_000.0, "25 times water"))
);
kind!(
    /// A share of something, 0 % to 100 %.
    Share, ratio::ratio as Ratio, "a share in percent", "45 %",
    [PERCENT], [(PERCENT, 0.0)], [(PERCENT, 0.0)], MOST = Some((1.0, "100 %"))
);
kind!(
    /// A percentage that may lie outside 0 to 100.
    Percent, ratio::ratio as Ratio, "a percentage", "85 %",
    [PERCENT], [(PERCENT, 0.0)], [(PERCENT, 0.0)], LEAST = None
);
kind!(
    /// Mass of a constituent in the mass of solids that holds it.
    Content, ratio::ratio as Ratio, "a content of solids", "0.6 g/kg",
    [G_KG, MG_KG, LB_TON, PERCENT], [(G_KG, 0.0)], [(G_KG, 0.0)], MOST = Some((1.0, "1000 g/kg"))
);
kind!(
    /// Volume of settleable solids in a volume of water.
    Settleable, ratio::ratio as Ratio, "settleable solids", "0.2 mL/L",
    [ML_L], [(ML_L, 0.0)], [(ML_L, 0.0)], MOST = Some((1.0, "1000 mL/L"))
);
kind!(
    /// Mass on an area: what a filter holds, what a roll weighs.
    ArealMass, areal_mass_density::kilogram_per_square_meter as ArealMassDensity, "a mass on an area", "0.3 lb/ft2",
    [LB_FT2, G_M2, KG_M2, LB_ACRE, TON_ACRE, KG_HA, T_HA], [(LB_FT2, 0.0)], [(KG_M2, 0.1), (G_M2, 0.0)]
);
kind!(
    /// Mass in a time.
    MassRate, mass_rate::kilogram_per_second as MassRate, "a mass in a time", "6 lb/h",
    [LB_H, LB_DAY, TON_DAY, KG_H, KG_DAY, G_DAY], [(LB_DAY, 0.0)], [(KG_DAY, 0.0)]
);
kind!(
    /// A mass.
    Mass, mass::kilogram as Mass, "a mass", "2.2 lb",
    [LB_1, OZ, KG, G, TON, TONNE], [(LB_1, 0.0)], [(KG, 1.0), (G, 0.0)],
    MOST = Some((1e9, "1,000,000 tonnes"))
);
kind!(
    /// A temperature of water or air (differences are never asked).
    Temperature, thermodynamic_temperature::kelvin as ThermodynamicTemperature, "a temperature", "55 F",
    [F, C], [(F, f64::NEG_INFINITY)], [(C, f64::NEG_INFINITY)],
    LEAST = Some((0.0, "absolute zero")),
    MOST = Some((373.15, "100 C"))
);
kind!(
    /// A length of time in seconds to weeks; months and years are spans of the calendar.
    Time, time::second as Time, "a length of time", "2 min",
    [S, MIN, H, DAY_1, WEEK], [(DAY_1, 2.0), (H, 1.0), (MIN, 1.0), (S, 0.0)], [(DAY_1, 2.0), (H, 1.0), (MIN, 1.0), (S, 0.0)],
    MOST = Some((3.2e10, "1000 years"))
);
kind!(
    /// Radiation of the sun, mean over a day.
    Radiation, heat_flux_density::watt_per_square_meter as HeatFluxDensity, "radiation of the sun", "220 W/m2",
    [W_M2, MJ_M2_DAY], [(W_M2, 0.0)], [(W_M2, 0.0)], MOST = Some((600.0, "600 W/m2"))
);
kind!(
    /// Power of a motor.
    Power, power::watt as Power, "a power", "1.5 kW",
    [KW, W, HP], [(KW, 1.0), (W, 0.0)], [(KW, 1.0), (W, 0.0)]
);
kind!(
    /// Energy used.
    Energy, energy::joule as Energy, "an energy", "12 kWh",
    [KWH], [(KWH, 0.0)], [(KWH, 0.0)]
);
kind!(
    /// Electrical conductivity of water.
    Conductivity, electrical_conductivity::siemens_per_meter as ElectricalConductivity, "an electrical conductivity", "1.2 mS/cm",
    [MS_CM, US_CM], [(MS_CM, 0.0)], [(MS_CM, 0.0)]
);
kind!(
    /// Turbidity on its own scale.
    Turbidity, ratio::ratio as Ratio, "a turbidity", "25 NTU",
    [NTU], [(NTU, 0.0)], [(NTU, 0.0)]
);
kind!(
    /// Organisms in a volume of water.
    Organisms, volumetric_number_density::per_cubic_meter as VolumetricNumberDensity, "a number of organisms", "235 per 100 mL",
    [PER_100_ML], [(PER_100_ML, 0.0)], [(PER_100_ML, 0.0)]
);
kind!(
    /// Part of each day.
    PartOfDay, ratio::ratio as Ratio, "part of a day", "8 h/day",
    [H_DAY, MIN_DAY], [(H_DAY, 1.0), (MIN_DAY, 0.0)], [(H_DAY, 1.0), (MIN_DAY, 0.0)], MOST = Some((1.0, "24 h/day"))
);
kind!(
    /// Times something that the key names.
    Multiple, ratio::ratio as Ratio, "a number of times", "1.1 times",
    [TIMES], [(TIMES, 0.0)], [(TIMES, 0.0)]
);
kind!(
    /// Times the dry weight.
    TimesDry, ratio::ratio as Ratio, "a number of times the dry weight", "5 times dry",
    [TIMES_DRY], [(TIMES_DRY, 0.0)], [(TIMES_DRY, 0.0)], LEAST = Some((1.0, "1 times dry"))
);
kind!(
    /// Latitude, north above zero.
    Latitude, angle::degree as Angle, "a latitude", "44.6 N",
    [NORTH, SOUTH], [(NORTH, 0.0)], [(NORTH, 0.0)], LEAST = Some((-90.0, "90 S")), MOST = Some((90.0, "90 N"))
);

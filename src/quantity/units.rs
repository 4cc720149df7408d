//! Every unit there is a word for.

use super::unit::{Dimension, Unit};

const MILLION: i128 = 1_000_000;
const GAL: i128 = 3_785_411_784; // of 1e-12 m³: 231 in³ of 25.4 mm
const FT3: i128 = 28_316_846_592; // of 1e-12 m³
const FT2: i128 = 9_290_304; // of 1e-8 m²
const ACRE: i128 = 40_468_564_224; // of 1e-7 m²: 43 560 ft²
const LB: i128 = 45_359_237; // of 1e-8 kg
const TRILLION: i128 = MILLION * MILLION;
const HUNDRED_MILLION: i128 = 100 * MILLION;
const DAY: i128 = 86_400;

macro_rules! units {
    ($($id:ident = $name:literal $also:expr, $dimension:ident, $num:expr, $den:expr $(, $method:ident($($arg:expr)?))*;)*) => {
        $(
            #[doc = concat!("The unit `", $name, "`.")]
            pub const $id: Unit = Unit::new($name, &$also, Dimension::$dimension, $num, $den)$(.$method($($arg)?))*;
        )*
        /// All units, in the order of this file.
        pub const ALL: &[Unit] = &[$($id),*];
    };
}

units! {
    IN = "in" ["inch", "inches", "\""], Length, 254, 10_000;
    FT = "ft" ["foot", "feet", "'"], Length, 3048, 10_000;
    MM = "mm" ["millimeter", "millimeters", "millimetre", "millimetres"], Length, 1, 1000;
    YD = "yd" ["yard", "yards"], Length, 9144, 10_000;
    TENTH_MM = "tenths of mm" ["0.1 mm", "tenth of mm", "tenths mm", "tenths of a mm"], Length, 1, 10_000;
    HUNDREDTH_IN = "hundredths of in" ["0.01 in", "hundredths of inch", "hundredths of an inch", "hundredths of inches", "hundredths in"], Length, 254, 1_000_000;
    CM = "cm" ["centimeter", "centimeters", "centimetre", "centimetres"], Length, 1, 100;
    M = "m" ["meter", "meters", "metre", "metres"], Length, 1, 1;
    UM = "um" ["micron", "microns", "micrometer", "micrometers", "micrometre", "micrometres"], Length, 1, MILLION;

    FT_2 = "ft2" ["square feet", "square foot"], Area, FT2, HUNDRED_MILLION;
    ACRE_1 = "acre" ["acres", "ac"], Area, ACRE, 10 * MILLION;
    M_2 = "m2" ["square meters", "square metres"], Area, 1, 1;
    HA = "ha" ["hectare", "hectares"], Area, 10_000, 1;

    GAL_1 = "gal" ["gallon", "gallons", "US gal", "gal US", "US gallons"], Volume, GAL, TRILLION;
    ML = "mL" ["milliliter", "milliliters", "millilitre", "millilitres"], Volume, 1, MILLION, exact_case();
    L = "L" ["litre", "litres", "liter", "liters"], Volume, 1, 1000;
    M_3 = "m3" ["cubic meters", "cubic metres"], Volume, 1, 1;
    FT_3 = "ft3" ["cubic feet", "cf"], Volume, FT3, TRILLION;
    YD_3 = "yd3" ["cubic yards", "cubic yard"], Volume, FT3 * 27, TRILLION;
    KL = "kL" ["kiloliter", "kiloliters", "kilolitre", "kilolitres"], Volume, 1, 1;
    MEGALITRE = "ML" ["megalitre", "megalitres", "megaliter", "megaliters"], Volume, 1000, 1, exact_case();
    CCF = "CCF" ["HCF", "hundred cubic feet", "hundreds of cubic feet"], Volume, FT3 * 100, TRILLION;
    KCF = "kcf" ["thousand cubic feet"], Volume, FT3 * 1000, TRILLION;
    KGAL = "kgal" ["thousand gal", "thousand gallons", "thousands of gallons", "tgal"], Volume, GAL * 1000, TRILLION;
    ACRE_FT = "acre-ft" ["acre ft", "acre-feet", "acre feet", "acre-foot", "ac-ft", "ac ft", "acft", "acre-feet"], Volume, ACRE * 3048, 10 * MILLION * 10_000;
    ACRE_IN = "acre-in" ["acre in", "acre-inch", "acre-inches", "acre inches", "ac-in", "ac in", "acin"], Volume, ACRE * 254, 10 * MILLION * 10_000;
    MIL_GAL = "Mgal" ["million gal", "million gallons", "millions of gallons", "MG", "mil gal"], Volume, GAL, MILLION;

    LB_1 = "lb" ["lbs", "pound", "pounds"], Mass, LB, HUNDRED_MILLION;
    OZ = "oz" ["ounce", "ounces"], Mass, LB, HUNDRED_MILLION * 16;
    KG = "kg" ["kilogram", "kilograms"], Mass, 1, 1;
    G = "g" ["gram", "grams"], Mass, 1, 1000;
    TON = "ton" ["tons", "US ton", "US tons", "short ton", "short tons"], Mass, LB * 2000, HUNDRED_MILLION;
    TONNE = "tonne" ["tonnes", "metric ton", "metric tons"], Mass, 1000, 1;

    S = "s" ["sec", "second", "seconds"], Time, 1, 1;
    MIN = "min" ["minute", "minutes"], Time, 60, 1;
    H = "h" ["hour", "hours", "hr", "hrs"], Time, 3600, 1;
    DAY_1 = "day" ["days", "d"], Time, DAY, 1;
    WEEK = "week" ["weeks"], Time, 7 * DAY, 1;

    GPM = "gpm" ["gal/min", "gallons/minute", "gallons/min", "US gpm"], Flow, GAL, TRILLION * 60;
    GPS = "gal/s" ["gps", "gal/sec", "gallons/second"], Flow, GAL, TRILLION;
    GPH = "gph" ["gal/h", "gal/hour", "gal/hr", "gallons/hour"], Flow, GAL, TRILLION * 3600;
    GAL_DAY = "gal/day" ["gpd", "gal/d", "gallons/day"], Flow, GAL, TRILLION * DAY;
    KGAL_DAY = "kgal/day" ["kgal/d", "kgpd", "kgd", "thousand gal/day", "thousand gallons/day"], Flow, GAL * 1000, TRILLION * DAY;
    MGD = "MGD" ["Mgal/day", "Mgal/d", "MG/day", "million gal/day", "million gallons/day"], Flow, GAL, MILLION * DAY;
    CFM = "cfm" ["ft3/min", "ft3/minute"], Flow, FT3, TRILLION * 60;
    CFH = "ft3/h" ["cfh", "ft3/hr", "ft3/hour"], Flow, FT3, TRILLION * 3600;
    CCF_DAY = "CCF/day" ["CCF/d", "HCF/day"], Flow, FT3 * 100, TRILLION * DAY;
    CFS = "cfs" ["ft3/s", "ft3/sec", "ft3/second", "cusec", "cusecs"], Flow, FT3, TRILLION;
    FT3_DAY = "ft3/day" ["ft3/d", "cfd"], Flow, FT3, TRILLION * DAY;
    L_S = "L/s" ["l/sec", "lps"], Flow, 1, 1000;
    L_MIN = "L/min" ["lpm"], Flow, 1, 60_000;
    L_H = "L/h" ["l/hour", "lph"], Flow, 1, 3_600_000;
    L_DAY = "L/day" ["L/d"], Flow, 1, 1000 * DAY;
    M3_MIN = "m3/min" ["m3/minute"], Flow, 1, 60;
    ML_DAY = "ML/day" ["ML/d", "MLD"], Flow, 1000, DAY, exact_case();
    M3_S = "m3/s" ["m3/sec"], Flow, 1, 1;
    M3_H = "m3/h" ["m3/hour", "m3/hr"], Flow, 1, 3600;
    M3_DAY = "m3/day" ["m3/d"], Flow, 1, DAY;
    ACRE_FT_DAY = "acre-ft/day" ["acre ft/day", "ac-ft/day", "ac ft/day", "acre-feet/day", "acre-ft/d", "ac-ft/d"], Flow, ACRE * 3048, 10 * MILLION * 10_000 * DAY;

    ACRE_IN_DAY = "acre-in/day" ["acre in/day", "ac-in/day", "ac in/day", "acre-inches/day", "acre-in/d", "ac-in/d"], Flow, ACRE * 254, 10 * MILLION * 10_000 * DAY;
    ACRE_IN_H = "acre-in/h" ["acre in/h", "ac-in/h", "ac-in/hr", "acre-in/hr", "acre-in/hour", "acre-inches/hour"], Flow, ACRE * 254, 10 * MILLION * 10_000 * 3600;

    IN_DAY = "in/day" ["in/d", "inches/day"], Speed, 254, 10_000 * DAY;
    IN_H = "in/h" ["in/hr", "in/hour", "inches/hour"], Speed, 254, 10_000 * 3600;
    FT_DAY = "ft/day" ["ft/d", "feet/day"], Speed, 3048, 10_000 * DAY;
    FT_H = "ft/h" ["ft/hr", "ft/hour"], Speed, 3048, 10_000 * 3600;
    FT_S = "ft/s" ["fps", "ft/sec"], Speed, 3048, 10_000;
    MM_DAY = "mm/day" ["mm/d"], Speed, 1, 1000 * DAY;
    MM_H = "mm/h" ["mm/hr", "mm/hour"], Speed, 1, 1000 * 3600;
    MM_S = "mm/s" ["mm/sec"], Speed, 1, 1000;
    CM_S = "cm/s" ["cm/sec"], Speed, 1, 100;
    CM_DAY = "cm/day" ["cm/d"], Speed, 1, 100 * DAY;
    M_DAY = "m/day" ["m/d"], Speed, 1, DAY;
    M_H = "m/h" ["m/hr", "m/hour", "m3/m2/h", "m3/m2/hr"], Speed, 1, 3600;
    M_S = "m/s" ["m/sec"], Speed, 1, 1;
    GPM_FT2 = "gpm/ft2" ["gpm/sq ft", "gal/min/ft2"], Speed, GAL * HUNDRED_MILLION, TRILLION * 60 * FT2;
    L_S_M2 = "L/s/m2" ["lps/m2"], Speed, 1, 1000;
    M3_M2_DAY = "m3/m2/day" ["m3/m2/d"], Speed, 1, DAY;
    GPD_FT2 = "gpd/ft2" ["gal/day/ft2"], Speed, GAL * HUNDRED_MILLION, TRILLION * DAY * FT2;
    IN_MONTH = "in/month" ["inches/month"], MonthlyDepth, 254, 10_000;
    CM_MONTH = "cm/month" [], MonthlyDepth, 1, 100;
    MM_MONTH = "mm/month" [], MonthlyDepth, 1, 1000;

    MG_L = "mg/L" ["ppm"], MassDensity, 1, 1000, exact_case();
    UG_L = "ug/L" ["ppb"], MassDensity, 1, MILLION, exact_case();
    NG_L = "ng/L" [], MassDensity, 1, MILLION * 1000, exact_case();
    G_L = "g/L" [], MassDensity, 1, 1, exact_case();
    G_M3 = "g/m3" [], MassDensity, 1, 1000;
    KG_M3 = "kg/m3" [], MassDensity, 1, 1;
    LB_FT3 = "lb/ft3" [], MassDensity, LB * TRILLION, HUNDRED_MILLION * FT3;
    LB_GAL = "lb/gal" [], MassDensity, LB * TRILLION, HUNDRED_MILLION * GAL;
    TIMES_WATER = "times water" ["x water"], MassDensity, 1000, 1;

    PERCENT = "%" ["percent", "per cent"], Share, 1, 100;
    G_KG = "g/kg" [], Content, 1, 1000;
    MG_KG = "mg/kg" [], Content, 1, MILLION, exact_case();
    LB_TON = "lb/ton" [], Content, 1, 2000;
    ML_L = "mL/L" ["ml/l"], VolumeShare, 1, 1000, exact_case();

    LB_FT2 = "lb/ft2" [], ArealMass, LB, FT2;
    G_M2 = "g/m2" [], ArealMass, 1, 1000;
    KG_M2 = "kg/m2" [], ArealMass, 1, 1;
    KG_HA = "kg/ha" [], ArealMass, 1, 10_000;
    LB_ACRE = "lb/acre" ["lb/ac"], ArealMass, LB * 10 * MILLION, HUNDRED_MILLION * ACRE;

    T_HA = "t/ha" ["tonne/ha", "tonnes/ha"], ArealMass, 1, 10;
    TON_ACRE = "ton/acre" ["tons/acre", "ton/ac"], ArealMass, LB * 2000 * 10 * MILLION, HUNDRED_MILLION * ACRE;

    LB_H = "lb/h" ["lb/hr", "lb/hour"], MassRate, LB, HUNDRED_MILLION * 3600;
    LB_DAY = "lb/day" ["lb/d", "lbs/day"], MassRate, LB, HUNDRED_MILLION * DAY;
    TON_DAY = "ton/day" ["tons/day", "ton/d"], MassRate, LB * 2000, HUNDRED_MILLION * DAY;
    KG_H = "kg/h" ["kg/hr"], MassRate, 1, 3600;
    KG_DAY = "kg/day" ["kg/d"], MassRate, 1, DAY;
    G_DAY = "g/day" ["g/d"], MassRate, 1, 1000 * DAY;

    C = "C" ["deg C", "degC", "celsius"], Temperature, 1, 1, offset(27_315);
    F = "F" ["deg F", "degF", "fahrenheit"], Temperature, 5, 9, offset(45_967);

    W_M2 = "W/m2" ["watt/m2"], Radiation, 1, 1;
    MJ_M2_DAY = "MJ/m2/day" ["MJ/m2"], Radiation, MILLION, DAY;
    W = "W" ["watt", "watts"], Power, 1, 1;
    KW = "kW" ["kilowatt", "kilowatts"], Power, 1000, 1;
    HP = "hp" ["horsepower"], Power, 550 * 3048 * 44_482_216_152_605, 10_000 * 10 * TRILLION;
    KWH = "kWh" [], Energy, 3_600_000, 1;

    MS_CM = "mS/cm" ["dS/m", "mmho/cm"], Conductivity, 1, 10, exact_case();
    US_CM = "uS/cm" ["umho/cm"], Conductivity, 1, 10_000, exact_case();
    NTU = "NTU" ["FNU"], Turbidity, 1, 1;
    PER_100_ML = "per 100 mL" ["MPN/100 mL", "CFU/100 mL", "colonies/100 mL", "/100 mL"], Organisms, 10_000, 1;

    H_DAY = "h/day" ["hours/day", "h/d", "hr/day", "hrs/day"], PartOfDay, 1, 24;
    MIN_DAY = "min/day" ["minutes/day", "min/d"], PartOfDay, 1, 1440;

    TIMES = "times" ["x"], Multiple, 1, 1;
    TIMES_DRY = "times dry" [], Multiple, 1, 1;

    NORTH = "N" ["deg N", "north"], Latitude, 1, 1;
    SOUTH = "S" ["deg S", "south"], Latitude, -1, 1;
}

/// The unit that a text names, whatever it measures.
pub fn named(text: &str) -> Option<Unit> {
    // "S" is south only where a latitude is asked: the first match in the table is the common meaning.
    ALL.iter().copied().find(|unit| unit.is_named(text))
}

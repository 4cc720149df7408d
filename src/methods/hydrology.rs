//! Records of the hydrology room: runoff, evaporation, storms, leaching.

use super::{Method, Standing};

/// All records of this file.
pub static ALL: &[&Method] = &[
    &CURVE_NUMBER,
    &CURVE_NUMBER_005,
    &COMPOSITE_CURVE_NUMBER,
    &ANTECEDENT_TABLE,
    &ANTECEDENT_FORMULA,
    &RUNOFF_COEFFICIENT,
    &RUNOFF_RATIO_RV,
    &WATER_QUALITY_VOLUME,
    &DEPTH_ON_AREA,
    &STORM_BOUNDS,
    &ATMOSPHERIC_PRESSURE,
    &PSYCHROMETRIC_CONSTANT,
    &SATURATION_VAPOUR_PRESSURE,
    &SLOPE_VAPOUR_PRESSURE,
    &ACTUAL_VAPOUR_PRESSURE,
    &EXTRATERRESTRIAL_RADIATION,
    &DAYLIGHT,
    &SOLAR_HARGREAVES,
    &SOLAR_SUNSHINE,
    &CLEAR_SKY,
    &NET_RADIATION,
    &SOIL_HEAT,
    &WIND_2M,
    &PENMAN_MONTEITH,
    &HARGREAVES,
    &ASCE_REFERENCE,
    &PENMAN_OPEN_WATER,
    &OPEN_WATER_COEFFICIENT,
    &PAN,
    &PAN_COEFFICIENT,
    &LEACHING,
];

const FAO56: &str = "Allen and others (1998), FAO Irrigation and Drainage Paper 56, as quoted with example numbers in public test suites; FAO text not read";

/// Runoff by the curve number method.
pub static CURVE_NUMBER: Method = Method {
    id: "runoff-curve-number",
    name: "Storm runoff, curve number",
    equation: "Q = (P − λS)²/(P + (1 − λ)S) where P > λS, else 0; S = 1000/CN − 10 in = 25400/CN − 254 mm; λ = 0.2",
    symbols: &[
        ("Q", "runoff depth", "in or mm"),
        (
            "P",
            "rain depth of the storm (here: of the day)",
            "in or mm",
        ),
        ("S", "greatest retention", "in or mm"),
        ("CN", "curve number", "-"),
        ("λ", "initial abstraction over S", "-"),
    ],
    valid_range: "curve number 30 to 100; rain from 0 up; not for snowmelt or frozen ground",
    outside: "curve number below 30 or a negative rain depth: the runoff is the equation's own answer where it has one",
    source: "NRCS TR-55 (1986) eqs. 2-1 to 2-4, Table 2-1 (seen in a public data package)",
    standing: Standing::Seen,
};

/// The variant with a smaller initial abstraction.
pub static CURVE_NUMBER_005: Method = Method {
    id: "runoff-curve-number-lambda-005",
    name: "Storm runoff, curve number with initial abstraction 0.05",
    equation: "S₀.₀₅ = 1.33 S₀.₂^1.15 (inches); Q = (P − 0.05 S₀.₀₅)²/(P + 0.95 S₀.₀₅) where P > 0.05 S₀.₀₅, else 0",
    symbols: &[
        ("Q", "runoff depth", "in"),
        ("P", "rain depth", "in"),
        (
            "S₀.₂",
            "retention by the printed curve number, 1000/CN − 10",
            "in",
        ),
        ("S₀.₀₅", "retention that goes with 0.05", "in"),
    ],
    valid_range: "curve number 30 to 100; rain from 0 up",
    outside: "curve number below 30 or a negative rain depth: the runoff is the equation's own answer where it has one",
    source: "Hawkins and others (2002), as given on a public encyclopedia page",
    standing: Standing::Seen,
};

/// Weighted curve number.
pub static COMPOSITE_CURVE_NUMBER: Method = Method {
    id: "runoff-curve-number-composite",
    name: "Composite curve number",
    equation: "CN = Σ CNᵢ Aᵢ/Σ Aᵢ, before the runoff depth is computed; to the nearest whole number if asked",
    symbols: &[
        ("CNᵢ", "curve number of a part", "-"),
        ("Aᵢ", "area of the part", "any area"),
    ],
    valid_range: "parts whose curve numbers are not far apart; areas above zero",
    outside: "no area: no curve number",
    source: "NRCS TR-55 (1986) chapter 2, Example 2-1 (printed result from memory)",
    standing: Standing::FromMemory,
};

/// Curve numbers for dry and wet ground by table.
pub static ANTECEDENT_TABLE: Method = Method {
    id: "runoff-curve-number-antecedent-table",
    name: "Curve number for dry or wet ground before the storm (table)",
    equation: "table of CN I (dry) and CN III (wet) by CN II in steps of 5; straight line between",
    symbols: &[
        ("CN II", "curve number for average ground", "-"),
        (
            "CN I, CN III",
            "curve number for dry and for wet ground",
            "-",
        ),
    ],
    valid_range: "CN II 5 to 100",
    outside: "curve number outside 5 to 100: nearest row",
    source: "SCS National Engineering Handbook 4 (NEH 630 Table 10-1); rows at 40, 50, 60, 70, 80, 90 seen second-hand, the others from memory",
    standing: Standing::FromMemory,
};

/// Curve numbers for dry and wet ground by formula.
pub static ANTECEDENT_FORMULA: Method = Method {
    id: "runoff-curve-number-antecedent-formula",
    name: "Curve number for dry or wet ground before the storm (formula)",
    equation: "CN I = 4.2 CN/(10 − 0.058 CN); CN III = 23 CN/(10 + 0.13 CN)",
    symbols: &[("CN", "curve number for average ground", "-")],
    valid_range: "CN 30 to 100; differs from the table by up to about 1",
    outside: "curve number outside 30 to 100: the formula's own answer",
    source: "Chow, Maidment and Mays (1988); Hawkins (1985)",
    standing: Standing::FromMemory,
};

/// Runoff coefficient.
pub static RUNOFF_COEFFICIENT: Method = Method {
    id: "runoff-coefficient",
    name: "Runoff by coefficient with a first loss",
    equation: "Q = C · max(0, P − f)",
    symbols: &[
        ("Q", "runoff depth of the day", "mm"),
        ("C", "runoff coefficient", "-"),
        ("P", "rain of the day", "mm"),
        (
            "f",
            "first loss: what wets the surface before any runs",
            "mm",
        ),
    ],
    valid_range: "coefficient 0 to 1; rain and first loss from 0 up",
    outside: "coefficient outside 0 to 1, or a negative depth",
    source: "common practice for roofs and sealed ground (0.90 to 0.95; first 0.5 to 1 mm), no source",
    standing: Standing::CommonPractice,
};

/// Volumetric runoff coefficient by imperviousness.
pub static RUNOFF_RATIO_RV: Method = Method {
    id: "runoff-ratio-rv",
    name: "Volumetric runoff coefficient by imperviousness",
    equation: "Rv = 0.05 + 0.9 I",
    symbols: &[
        ("Rv", "storm runoff over storm rain", "-"),
        ("I", "impervious share of the drained area", "-"),
    ],
    valid_range: "impervious share 0 to 1",
    outside: "impervious share outside 0 to 1: the equation's own answer",
    source: "unified stormwater sizing criteria (slide of a watershed centre, seen); NH Env-Wq 1504.10 gives the same",
    standing: Standing::Seen,
};

/// Water quality volume.
pub static WATER_QUALITY_VOLUME: Method = Method {
    id: "water-quality-volume",
    name: "Water quality volume",
    equation: "V = P Rv A, at least 0.2 in on A where less than 15 % is impervious",
    symbols: &[
        ("V", "volume to be treated", "acre-ft or m³"),
        ("P", "rain depth of the rule", "in"),
        ("Rv", "volumetric runoff coefficient", "-"),
        ("A", "drained area", "acre or ha"),
    ],
    valid_range: "impervious share 0 to 1; depth and area from 0 up",
    outside: "impervious share outside 0 to 1, or a negative depth or area",
    source: "unified stormwater sizing criteria (slide of a watershed centre, seen)",
    standing: Standing::Seen,
};

/// Depth times area.
pub static DEPTH_ON_AREA: Method = Method {
    id: "depth-on-area",
    name: "Depth of water on an area",
    equation: "V = d A; d = V/A",
    symbols: &[
        ("V", "volume", "m³"),
        ("d", "depth", "m"),
        ("A", "area", "m²"),
    ],
    valid_range: "area above zero",
    outside: "area of zero or less: no depth",
    source: "arithmetic: one inch on one acre is 27,154.3 US gallons",
    standing: Standing::Computed,
};

/// Largest depth in a sliding window.
pub static STORM_BOUNDS: Method = Method {
    id: "storm-in-sliding-window",
    name: "Most rain in any N hours, from readings that span time",
    equation: "highest: greatest sum of readings that a window of N hours can touch; lowest: greatest (sum of neighbouring readings)/⌈their length/N⌉",
    symbols: &[
        ("N", "length of the window", "h"),
        (
            "reading",
            "rain between two times; how it fell inside is not known",
            "mm",
        ),
    ],
    valid_range: "rain readings in order of time that do not overlap; a missing reading makes the highest unlimited. Snow is left out: melt is not rain of the hour it is measured",
    outside: "readings overlap, or are not numbers: no bounds",
    source: "a bound by counting: readings whole or in part inside a window; no single reading settles more",
    standing: Standing::Computed,
};

/// Air pressure by elevation.
pub static ATMOSPHERIC_PRESSURE: Method = Method {
    id: "air-pressure",
    name: "Air pressure by elevation",
    equation: "P = 101.3 ((293 − 0.0065 z)/293)^5.26",
    symbols: &[
        ("P", "air pressure", "kPa"),
        ("z", "elevation above sea level", "m"),
    ],
    valid_range: "−500 to 9,000 m",
    outside: "elevation outside −500 to 9,000 m: the equation's own answer",
    source: FAO56,
    standing: Standing::Seen,
};

/// Psychrometric constant.
pub static PSYCHROMETRIC_CONSTANT: Method = Method {
    id: "psychrometric-constant",
    name: "Psychrometric constant",
    equation: "γ = 0.000665 P",
    symbols: &[
        ("γ", "psychrometric constant", "kPa/°C"),
        ("P", "air pressure", "kPa"),
    ],
    valid_range: "air pressure above zero",
    outside: "air pressure not above zero",
    source: FAO56,
    standing: Standing::Seen,
};

/// Saturation vapour pressure.
pub static SATURATION_VAPOUR_PRESSURE: Method = Method {
    id: "saturation-vapour-pressure",
    name: "Saturation vapour pressure",
    equation: "e = 0.6108 exp(17.27 T/(T + 237.3))",
    symbols: &[
        ("e", "saturation vapour pressure", "kPa"),
        ("T", "air temperature", "°C"),
    ],
    valid_range: "−30 to 60 °C",
    outside: "air temperature outside −30 to 60 °C: the equation's own answer",
    source: FAO56,
    standing: Standing::Seen,
};

/// Slope of the saturation curve.
pub static SLOPE_VAPOUR_PRESSURE: Method = Method {
    id: "slope-vapour-pressure",
    name: "Slope of the saturation vapour pressure curve",
    equation: "Δ = 4098 e(T)/(T + 237.3)²",
    symbols: &[("Δ", "slope", "kPa/°C"), ("T", "air temperature", "°C")],
    valid_range: "−30 to 60 °C",
    outside: "air temperature outside −30 to 60 °C: the equation's own answer",
    source: FAO56,
    standing: Standing::Seen,
};

/// Actual vapour pressure.
pub static ACTUAL_VAPOUR_PRESSURE: Method = Method {
    id: "actual-vapour-pressure",
    name: "Actual vapour pressure",
    equation: "(e(Tmin) RHmax + e(Tmax) RHmin)/2; or e(Tmin) RHmax; or RHmean (e(Tmax) + e(Tmin))/2; or e(Tdew)",
    symbols: &[
        ("e(T)", "saturation vapour pressure", "kPa"),
        (
            "Tmax, Tmin, Tdew",
            "highest and lowest air temperature of the day, dew point",
            "°C",
        ),
        ("RHmax, RHmin, RHmean", "relative humidity", "share"),
    ],
    valid_range: "humidity 0 to 1; temperatures −30 to 60 °C, highest not below lowest",
    outside: "humidity outside 0 to 1 or temperatures out of order or range: the equation's own answer",
    source: FAO56,
    standing: Standing::Seen,
};

/// Radiation above the atmosphere.
pub static EXTRATERRESTRIAL_RADIATION: Method = Method {
    id: "extraterrestrial-radiation",
    name: "Radiation above the atmosphere",
    equation: "Ra = (24·60/π) Gsc dr (ωs sin φ sin δ + cos φ cos δ sin ωs); dr = 1 + 0.033 cos(2πJ/365); δ = 0.409 sin(2πJ/365 − 1.39); ωs = arccos(−tan φ tan δ)",
    symbols: &[
        ("Ra", "radiation above the atmosphere", "MJ/m²/d"),
        ("Gsc", "solar constant 0.0820", "MJ/m²/min"),
        ("φ", "latitude, south negative", "rad"),
        ("J", "day of the year", "-"),
        (
            "ωs",
            "sunset hour angle; 0 in polar night, π in polar day",
            "rad",
        ),
    ],
    valid_range: "latitude −90 to 90°, day 1 to 366",
    outside: "latitude beyond the poles or day outside 1 to 366: the equation's own answer",
    source: FAO56,
    standing: Standing::Seen,
};

/// Hours of daylight.
pub static DAYLIGHT: Method = Method {
    id: "daylight-hours",
    name: "Hours of daylight",
    equation: "N = 24 ωs/π",
    symbols: &[("N", "daylight", "h"), ("ωs", "sunset hour angle", "rad")],
    valid_range: "latitude −90 to 90°, day 1 to 366",
    outside: "latitude beyond the poles or day outside 1 to 366: the equation's own answer",
    source: FAO56,
    standing: Standing::Seen,
};

/// Solar radiation from temperatures.
pub static SOLAR_HARGREAVES: Method = Method {
    id: "solar-radiation-hargreaves",
    name: "Solar radiation from temperatures, Hargreaves",
    equation: "Rs = k √(Tmax − Tmin) Ra",
    symbols: &[
        ("Rs", "solar radiation", "MJ/m²/d"),
        ("k", "0.16 inland, 0.19 at the coast", "°C^−0.5"),
        ("Tmax, Tmin", "highest and lowest air temperature", "°C"),
        ("Ra", "radiation above the atmosphere", "MJ/m²/d"),
    ],
    valid_range: "highest temperature not below lowest; k 0.1 to 0.25",
    outside: "temperatures out of order (no value) or k outside 0.1 to 0.25",
    source: FAO56,
    standing: Standing::Seen,
};

/// Solar radiation from sunshine hours.
pub static SOLAR_SUNSHINE: Method = Method {
    id: "solar-radiation-sunshine",
    name: "Solar radiation from sunshine hours, Angström",
    equation: "Rs = (a + b n/N) Ra; a 0.25, b 0.50 where not fitted to the place",
    symbols: &[
        ("Rs", "solar radiation", "MJ/m²/d"),
        ("n, N", "sunshine and daylight", "h"),
        (
            "a, b",
            "share of radiation under an overcast sky, and what a clear one adds",
            "-",
        ),
        ("Ra", "radiation above the atmosphere", "MJ/m²/d"),
    ],
    valid_range: "sunshine from 0 to daylight; a + b from 0.5 to 0.9",
    outside: "sunshine outside 0 to daylight, or a + b outside 0.5 to 0.9: the equation's own answer",
    source: "Allen and others (1998), FAO Irrigation and Drainage Paper 56, eq. 35; McMahon and others (2013), supplement eq. S19.30 with 0.23 and 0.50, as quoted in public code",
    standing: Standing::Seen,
};

/// Clear-sky radiation.
pub static CLEAR_SKY: Method = Method {
    id: "clear-sky-radiation",
    name: "Clear-sky solar radiation",
    equation: "Rso = (0.75 + 2e-5 z) Ra",
    symbols: &[
        ("Rso", "clear-sky radiation", "MJ/m²/d"),
        ("z", "elevation", "m"),
        ("Ra", "radiation above the atmosphere", "MJ/m²/d"),
    ],
    valid_range: "−500 to 6,000 m",
    outside: "elevation outside −500 to 6,000 m: the equation's own answer",
    source: FAO56,
    standing: Standing::Seen,
};

/// Net radiation.
pub static NET_RADIATION: Method = Method {
    id: "net-radiation",
    name: "Net radiation",
    equation: "Rn = (1 − α) Rs − σ (Tmax⁴ + Tmin⁴)/2 (0.34 − 0.14 √ea)(1.35 Rs/Rso − 0.35)",
    symbols: &[
        ("Rn", "net radiation", "MJ/m²/d"),
        ("α", "albedo: 0.23 reference grass, 0.08 open water", "-"),
        (
            "Rs, Rso",
            "solar and clear-sky radiation; their ratio taken as 1 at most",
            "MJ/m²/d",
        ),
        ("σ", "4.903e-9", "MJ/m²/d/K⁴"),
        ("Tmax, Tmin", "highest and lowest temperature", "K"),
        ("ea", "actual vapour pressure", "kPa"),
    ],
    valid_range: "albedo 0 to 1; Rs up to Rso",
    outside: "solar above clear-sky radiation: the ratio is taken as 1; or albedo outside 0 to 1",
    source: FAO56,
    standing: Standing::Seen,
};

/// Soil heat flux of a month.
pub static SOIL_HEAT: Method = Method {
    id: "soil-heat-flux-month",
    name: "Soil heat flux of a month",
    equation: "G = 0.07 (Tnext − Tprevious); G = 0.14 (Tthis − Tprevious) if the next month is not known",
    symbols: &[
        ("G", "soil heat flux", "MJ/m²/d"),
        ("T", "mean air temperature of the month", "°C"),
    ],
    valid_range: "monthly means; a day's flux is taken as zero",
    outside: "a temperature is not a number: no value",
    source: "Allen and others (1998), FAO Irrigation and Drainage Paper 56, eqs. 43 and 44, as quoted in public test suites",
    standing: Standing::Seen,
};

/// Wind at two metres.
pub static WIND_2M: Method = Method {
    id: "wind-at-2-m",
    name: "Wind at 2 m from wind at another height",
    equation: "u2 = uz 4.87/ln(67.8 z − 5.42)",
    symbols: &[
        ("u2, uz", "wind at 2 m and at z", "m/s"),
        ("z", "height of the instrument above short grass", "m"),
    ],
    valid_range: "heights 0.5 to 100 m",
    outside: "height outside 0.5 to 100 m: the equation's own answer where it has one",
    source: FAO56,
    standing: Standing::Seen,
};

/// Reference evapotranspiration by Penman and Monteith.
pub static PENMAN_MONTEITH: Method = Method {
    id: "reference-evapotranspiration-penman-monteith",
    name: "Reference evapotranspiration, FAO Penman-Monteith",
    equation: "ET0 = (0.408 Δ (Rn − G) + γ 900/(T + 273) u2 (es − ea))/(Δ + γ (1 + 0.34 u2))",
    symbols: &[
        ("ET0", "reference evapotranspiration", "mm/d"),
        ("Δ", "slope of the vapour pressure curve", "kPa/°C"),
        (
            "Rn, G",
            "net radiation, soil heat flux (0 for a day)",
            "MJ/m²/d",
        ),
        ("γ", "psychrometric constant", "kPa/°C"),
        ("T", "mean of highest and lowest air temperature", "°C"),
        ("u2", "wind at 2 m", "m/s"),
        ("es, ea", "saturation and actual vapour pressure", "kPa"),
    ],
    valid_range: "daily values; wind 0 to 15 m/s; the parts in their own ranges",
    outside: "a part of the equation lies outside its own range, or wind outside 0 to 15 m/s: the equation's own answer",
    source: FAO56,
    standing: Standing::Seen,
};

/// Reference evapotranspiration by Hargreaves.
pub static HARGREAVES: Method = Method {
    id: "reference-evapotranspiration-hargreaves",
    name: "Reference evapotranspiration from temperatures, Hargreaves",
    equation: "ET0 = 0.0023 (Tmean + 17.8) √(Tmax − Tmin) · 0.408 Ra",
    symbols: &[
        ("ET0", "reference evapotranspiration", "mm/d"),
        (
            "Tmax, Tmin, Tmean",
            "highest, lowest air temperature and their mean",
            "°C",
        ),
        ("Ra", "radiation above the atmosphere", "MJ/m²/d"),
    ],
    valid_range: "Tmean −17.8 to 50 °C; highest temperature not below lowest",
    outside: "mean temperature outside −17.8 to 50 °C, or temperatures out of order (no value)",
    source: "Allen and others (1998), FAO Irrigation and Drainage Paper 56, eq. 52; compared with a public library",
    standing: Standing::Seen,
};

/// Standardised reference evapotranspiration.
pub static ASCE_REFERENCE: Method = Method {
    id: "reference-evapotranspiration-asce",
    name: "Standardised reference evapotranspiration, daily (ASCE-EWRI)",
    equation: "ET = (0.408 Δ Rn + γ Cn/(T + 273) u2 (es − ea))/(Δ + γ (1 + Cd u2)); short: Cn 900, Cd 0.34; tall: Cn 1600, Cd 0.38; Rs/Rso held between 0.3 and 1",
    symbols: &[
        ("ET", "reference evapotranspiration", "mm/d"),
        (
            "Cn, Cd",
            "constants of the reference surface",
            "K mm s³/Mg/d, s/m",
        ),
        ("u2", "wind at 2 m", "m/s"),
        ("Δ, γ, Rn, es, ea, T", "as in FAO Penman-Monteith", "-"),
    ],
    valid_range: "daily values; wind 0 to 15 m/s; the parts in their own ranges",
    outside: "a part of the equation lies outside its own range, or wind outside 0 to 15 m/s: the equation's own answer",
    source: "ASCE-EWRI (2005), with the simple clear-sky form; compared with a public library's value",
    standing: Standing::FromMemory,
};

/// Open-water evaporation by Penman.
pub static PENMAN_OPEN_WATER: Method = Method {
    id: "open-water-penman",
    name: "Open-water evaporation, Penman",
    equation: "E = Δ/(Δ + γ) Rn/λ + γ/(Δ + γ) f(u) (es − ea); f(u) = 2.626 + 1.381 u2 (1948) or 1.313 + 1.381 u2 (1956)",
    symbols: &[
        ("E", "evaporation from shallow open water", "mm/d"),
        ("Rn", "net radiation over water, albedo 0.08", "MJ/m²/d"),
        ("λ", "latent heat 2.45", "MJ/kg"),
        ("f(u)", "wind function", "mm/d/kPa"),
        ("u2", "wind at 2 m", "m/s"),
        ("Δ, γ, es, ea", "as in FAO Penman-Monteith", "-"),
    ],
    valid_range: "water shallow enough to store little heat from day to day; wind 0 to 15 m/s",
    outside: "a part of the equation lies outside its own range, or wind outside 0 to 15 m/s: the equation's own answer",
    source: "Penman (1948, 1956) in the form of McMahon and others (2013), Hydrol. Earth Syst. Sci. 17:1331-1363, supplement eqs. S4.1-S4.3, S4.11 as quoted in public code; its worked example of Alice Springs is reproduced",
    standing: Standing::Seen,
};

/// Open water from reference evapotranspiration.
pub static OPEN_WATER_COEFFICIENT: Method = Method {
    id: "open-water-coefficient",
    name: "Open-water evaporation from reference evapotranspiration",
    equation: "E = Kc ET0; Kc = 1.05 for water less than 2 m deep or in a subhumid or tropical climate",
    symbols: &[
        ("E", "evaporation", "mm/d"),
        (
            "Kc",
            "coefficient: 1.05; deep water in a temperate climate 0.65 while it warms, 1.25 while it cools",
            "-",
        ),
        ("ET0", "reference evapotranspiration", "mm/d"),
    ],
    valid_range: "coefficient 0.4 to 1.5",
    outside: "coefficient outside 0.4 to 1.5",
    source: "Allen and others (1998), FAO Irrigation and Drainage Paper 56, Table 12",
    standing: Standing::FromMemory,
};

/// Pan evaporation.
pub static PAN: Method = Method {
    id: "pan-evaporation",
    name: "Evaporation from a pan reading",
    equation: "E = Kp Epan",
    symbols: &[
        (
            "E",
            "reference evapotranspiration or pond evaporation, as the coefficient was made for",
            "mm/d",
        ),
        ("Kp", "pan coefficient", "-"),
        ("Epan", "pan evaporation", "mm/d"),
    ],
    valid_range: "coefficient 0.35 to 1.1; pan reading from 0 up",
    outside: "coefficient outside 0.35 to 1.1, or a negative pan reading",
    source: "Allen and others (1998), FAO Irrigation and Drainage Paper 56, Example 21; pan to pond 0.7 is common practice",
    standing: Standing::FromMemory,
};

/// Pan coefficient.
pub static PAN_COEFFICIENT: Method = Method {
    id: "pan-coefficient",
    name: "Coefficient of a Class A pan",
    equation: "green fetch: 0.108 − 0.0286 u2 + 0.0422 ln F + 0.1434 ln RH − 0.000631 (ln F)² ln RH; dry fetch: 0.61 + 0.00341 RH − 0.000162 u2 RH − 0.00000959 u2 F + 0.00327 u2 ln F − 0.00289 u2 ln(86.4 u2) − 0.0106 ln(86.4 u2) ln F + 0.00063 (ln F)² ln(86.4 u2)",
    symbols: &[
        ("u2", "wind at 2 m", "m/s"),
        ("F", "fetch upwind of the pan", "m"),
        ("RH", "mean relative humidity", "%"),
    ],
    valid_range: "wind 1 to 8 m/s, humidity 30 to 84 %, fetch 1 to 1,000 m",
    outside: "wind outside 1 to 8 m/s, humidity outside 30 to 84 % or fetch outside 1 to 1,000 m: the equation's own answer",
    source: "Allen and others (1998), FAO Irrigation and Drainage Paper 56, Tables 5 and 7; regressions seen in public code, Table 5 from memory",
    standing: Standing::Seen,
};

/// Leaching fraction.
pub static LEACHING: Method = Method {
    id: "leaching-fraction",
    name: "Leaching fraction of containers",
    equation: "LF = leachate/(retained + leachate); applied = retained/(1 − LF); new minutes = minutes (1 − LF)/(1 − LF target)",
    symbols: &[
        (
            "LF",
            "leaching fraction: of the water that entered the container, not of what was applied to the bed",
            "-",
        ),
        (
            "retained, leachate",
            "water kept and water drained",
            "any volume",
        ),
    ],
    valid_range: "fractions from 0 to below 1; leachate not above what entered",
    outside: "fraction outside 0 to 1, or more drained than entered",
    source: "UF/IFAS EDIS ENH1268 (definition seen); the rest is algebra on it",
    standing: Standing::Seen,
};

//! Records of the hydrology room, second part: evaporation and what it is computed from.

use crate::science::{Method, Standing};

/// All records of this file.
pub static ALL: &[&Method] = &[
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
];

const FAO56: &str = "Allen and others (1998), FAO Irrigation and Drainage Paper 56, as quoted with example numbers in public test suites; FAO text not read";

/// Air pressure by elevation.
pub static ATMOSPHERIC_PRESSURE: Method = Method {
    id: "air-pressure",
    name: "Air pressure by elevation",
    equation: "P = 101.3 ((293 − 0.0065 z)/293)^5.26",
    symbols: &[("P", "air pressure", "kPa"), ("z", "elevation above sea level", "m")],
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
    symbols: &[("γ", "psychrometric constant", "kPa/°C"), ("P", "air pressure", "kPa")],
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
    symbols: &[("e", "saturation vapour pressure", "kPa"), ("T", "air temperature", "°C")],
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
        ("Tmax, Tmin, Tdew", "highest and lowest air temperature of the day, dew point", "°C"),
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
        ("ωs", "sunset hour angle; 0 in polar night, π in polar day", "rad"),
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
        ("a, b", "share of radiation under an overcast sky, and what a clear one adds", "-"),
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
        ("Rs, Rso", "solar and clear-sky radiation; their ratio taken as 1 at most", "MJ/m²/d"),
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
    symbols: &[("G", "soil heat flux", "MJ/m²/d"), ("T", "mean air temperature of the month", "°C")],
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
    symbols: &[("u2, uz", "wind at 2 m and at z", "m/s"), ("z", "height of the instrument above short grass", "m")],
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
        ("Rn, G", "net radiation, soil heat flux (0 for a day)", "MJ/m²/d"),
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
        ("Tmax, Tmin, Tmean", "highest, lowest air temperature and their mean", "°C"),
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
        ("Cn, Cd", "constants of the reference surface", "K mm s³/Mg/d, s/m"),
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
        ("Kc", "coefficient: 1.05; deep water in a temperate climate 0.65 while it warms, 1.25 while it cools", "-"),
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
        ("E", "reference evapotranspiration or pond evaporation, as the coefficient was made for", "mm/d"),
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
    standing: Standing::SeenElsewhere,
};

//! Records of the hydrology room, first part: runoff, storms, leaching.

use crate::science::{Method, Standing};

/// All records of this file.
pub static ALL: &[&Method] = &[
    &CURVE_NUMBER,
    &CURVE_NUMBER_005,
    &COMPOSITE_CURVE_NUMBER,
    &ANTECEDENT_TABLE,
    &ANTECEDENT_FORMULA,
    &ANTECEDENT_RAIN,
    &RUNOFF_COEFFICIENT,
    &RATIONAL_PEAK,
    &GRAPHICAL_PEAK,
    &RUNOFF_RATIO_RV,
    &WATER_QUALITY_VOLUME,
    &DEPTH_ON_AREA,
    &STORM_BOUNDS,
    &LEACHING,
];

/// Runoff by the curve number method.
pub static CURVE_NUMBER: Method = Method {
    id: "runoff-curve-number",
    name: "Storm runoff, curve number",
    equation: "Q = (P − λS)²/(P + (1 − λ)S) where P > λS, else 0; S = 1000/CN − 10 in = 25400/CN − 254 mm; λ = 0.2",
    symbols: &[
        ("Q", "runoff depth", "in or mm"),
        ("P", "rain depth of the storm (here: of the day)", "in or mm"),
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
    equation: "S(0.05) = 1.33 S(0.2)^1.15 (inches); Q = (P − 0.05 S(0.05))²/(P + 0.95 S(0.05)) where P > 0.05 S(0.05), else 0",
    symbols: &[
        ("Q", "runoff depth", "in"),
        ("P", "rain depth", "in"),
        ("S(0.2)", "retention by the printed curve number, 1000/CN − 10", "in"),
        ("S(0.05)", "retention that goes with 0.05", "in"),
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
    equation: "CN = Σ CN(i) A(i)/Σ A(i), before the runoff depth is computed; to the nearest whole number if asked",
    symbols: &[("CN(i)", "curve number of a part", "-"), ("A(i)", "area of the part", "any area")],
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
        ("CN I, CN III", "curve number for dry and for wet ground", "-"),
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

/// Condition of the ground by the rain before.
pub static ANTECEDENT_RAIN: Method = Method {
    id: "antecedent-condition-by-rain",
    name: "Condition of the ground by the rain of the five days before",
    equation: "growing season: I below 1.4 in, III above 2.1 in; dormant: I below 0.5 in, III above 1.1 in; else II",
    symbols: &[("I, II, III", "dry, average and wet ground", "-")],
    valid_range: "five days of known rain",
    outside: "rain not known on one of the five days: II",
    source: "SCS National Engineering Handbook 4 (1972), Table 4.2; later editions left it out",
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
        ("f", "first loss: what wets the surface before any runs", "mm"),
    ],
    valid_range: "coefficient 0 to 1; rain and first loss from 0 up",
    outside: "coefficient outside 0 to 1, or a negative depth",
    source: "common practice for roofs and sealed ground (0.90 to 0.95; first 0.5 to 1 mm), no source",
    standing: Standing::CommonPractice,
};

/// Peak by the rational method.
pub static RATIONAL_PEAK: Method = Method {
    id: "peak-rational",
    name: "Peak flow, rational method",
    equation: "q = C i A",
    symbols: &[
        ("q", "peak flow", "m³/s"),
        ("C", "share of the rain that runs off while it rains at the peak", "-"),
        ("i", "rain at the peak: over the time that water takes from the furthest point", "m/s"),
        ("A", "area", "m²"),
    ],
    valid_range: "small ground, some 80 ha at most; a steady rain over all of it",
    outside: "not told: the flow is the equation's own answer",
    source: "Kuichling (1889); FHWA HEC-22",
    standing: Standing::FromMemory,
};

/// Peak by the graphical method.
pub static GRAPHICAL_PEAK: Method = Method {
    id: "peak-graphical",
    name: "Peak flow of a 24-hour storm on ground with a curve number, graphical method",
    equation: "q = qu A Q; log qu = C0 + C1 log Tc + C2 (log Tc)², by Ia/P and rainfall type",
    symbols: &[
        ("q", "peak flow", "ft³/s"),
        ("qu", "unit peak flow", "ft³/s per mi² and in"),
        ("A, Q", "area; runoff depth by curve number", "mi²; in"),
        ("Tc", "time of concentration", "h"),
        ("Ia/P", "initial abstraction over the rain of 24 h", "-"),
        ("C0, C1, C2", "table F-1, straight between its rows", "-"),
    ],
    valid_range: "curve number 40 and over; Tc 0.1 to 10 h; Ia/P 0.1 to 0.5; no swamps or ponds on the way",
    outside: "Tc and Ia/P are taken at the nearest end of their range, and the flow is marked",
    source: "NRCS TR-55 (1986), eq. 4-1 and table F-1 (table seen in a public model's source)",
    standing: Standing::Seen,
};

/// Volumetric runoff coefficient by imperviousness.
pub static RUNOFF_RATIO_RV: Method = Method {
    id: "runoff-ratio-rv",
    name: "Volumetric runoff coefficient by imperviousness",
    equation: "Rv = 0.05 + 0.9 I",
    symbols: &[("Rv", "storm runoff over storm rain", "-"), ("I", "impervious share of the drained area", "-")],
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
    symbols: &[("V", "volume", "m³"), ("d", "depth", "m"), ("A", "area", "m²")],
    valid_range: "area above zero",
    outside: "area of zero or less: no depth",
    source: "arithmetic: one inch on one acre is 27,154.3 US gallons",
    standing: Standing::Computed,
};

/// Largest depth in a sliding window.
pub static STORM_BOUNDS: Method = Method {
    id: "storm-in-sliding-window",
    name: "Most rain in any N hours, from readings that span time",
    equation: "highest: greatest sum of readings that a window of N hours can touch; lowest: greatest (sum of neighbouring readings)/(their length/N, rounded up to a whole number)",
    symbols: &[
        ("N", "length of the window", "h"),
        ("reading", "rain between two times; how it fell inside is not known", "mm"),
    ],
    valid_range: "rain readings in order of time that do not overlap; a missing reading makes the highest unlimited. Snow is left out: melt is not rain of the hour it is measured",
    outside: "readings overlap, or are not numbers: no bounds",
    source: "a bound by counting: readings whole or in part inside a window; no single reading settles more",
    standing: Standing::Computed,
};

/// Leaching fraction.
pub static LEACHING: Method = Method {
    id: "leaching-fraction",
    name: "Leaching fraction of containers",
    equation: "LF = leachate/(retained + leachate); applied = retained/(1 − LF); new minutes = minutes (1 − LF)/(1 − LF target)",
    symbols: &[
        ("LF", "leaching fraction: of the water that entered the container, not of what was applied to the bed", "-"),
        ("retained, leachate", "water kept and water drained", "any volume"),
    ],
    valid_range: "fractions from 0 to below 1; leachate not above what entered",
    outside: "fraction outside 0 to 1, or more drained than entered",
    source: "UF/IFAS EDIS ENH1268 (definition seen); the rest is algebra on it",
    standing: Standing::Seen,
};

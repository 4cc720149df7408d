//! Records of the ponds room: shape, settling in a basin, trap efficiency, sizing rules, sludge.

use crate::science::{Method, Standing, Symbol};

/// All records of this file.
pub static ALL: &[&Method] = &[
    &PRISMOID,
    &LEVEL_TABLE,
    &HINGES,
    &OVERFLOW_RATE,
    &HAZEN,
    &TANKS_IN_SERIES,
    &EXPONENTIAL,
    &QUIESCENT,
    &GILL,
    &DENDY,
    &HEINEMANN,
    &BROWN,
    &AREA_SIZING,
    &VOLUME_RULE,
    &SEDIMENT_VOLUME,
    &SLUDGE,
    &DETENTION,
    &HORIZONTAL_VELOCITY,
    &SCOUR,
];

const REMOVED: Symbol = ("R", "share removed of particles of one settling velocity", "-");
const VELOCITY: Symbol = ("w", "settling velocity", "m/s");
const AREA: Symbol = ("A", "water area", "m²");
const FLOW: Symbol = ("Q", "flow through the basin", "m³/s");
const BASIN: &[Symbol] = &[REMOVED, VELOCITY, AREA, FLOW];
const BASIN_OF_TANKS: &[Symbol] =
    &[REMOVED, VELOCITY, AREA, FLOW, ("n", "number of stirred tanks: 1 poor, 3 good, 5 very good", "-")];

const BASIN_OUTSIDE: &str = "no flow, or a settling velocity, area or flow below zero: no share";

/// Prismoid.
pub static PRISMOID: Method = Method {
    id: "pond-prismoid",
    name: "Pond with a rectangular bottom and plane sides, measured at spill level",
    equation: "A(y) = (l + 2 z y)(w + 2 z y); V(y) = l w y + z (l + w) y² + 4/3 z² y³; l = L − 2 z H, w = W − 2 z H",
    symbols: &[
        ("A, V", "water area and volume", "m², m³"),
        ("y", "level above the bottom", "m"),
        ("L, W, H", "length, width at spill level; depth from bottom to spill level", "m"),
        ("l, w", "length, width of the bottom", "m"),
        ("z", "side slope, horizontal to one vertical", "-"),
    ],
    valid_range: "bottom to spill level; above it the sides are carried on to the crest",
    outside: "level or volume below the bottom (taken as the bottom), or more than the pond holds at spill level (sides carried on)",
    source: "geometry",
    standing: Standing::Computed,
};

/// Level-area table.
pub static LEVEL_TABLE: Method = Method {
    id: "pond-level-area-table",
    name: "Pond by a table of level and area",
    equation: "area straight between rows; V = Σ ½ (A₁ + A₂) Δy",
    symbols: &[("A, V", "water area and volume", "m², m³"), ("y", "level", "m")],
    valid_range: "first to last row of the table",
    outside: "level or volume outside the table: area of the nearest row",
    source: "geometry",
    standing: Standing::Computed,
};

/// Area by volume.
pub static HINGES: Method = Method {
    id: "pond-area-by-volume",
    name: "Water area by volume",
    equation: "A(V) = √(A₀² + Σ Δσ(i) max(0, V − V(i))); exact where area is straight in level",
    symbols: &[
        ("A, V", "water area and volume", "m², m³"),
        ("V(i)", "volume at hinge i", "m³"),
        ("Δσ(i)", "change at hinge i of the slope of A² against V", "m"),
    ],
    valid_range: "0 to the last hinge; the last slope is carried on above",
    outside: "volume below zero (taken as zero) or above the last hinge",
    source: "A dA = (dA/dy) dV; a prismoid is cut into slices, exact at their ends",
    standing: Standing::Computed,
};

/// Overflow rate.
pub static OVERFLOW_RATE: Method = Method {
    id: "overflow-rate",
    name: "Overflow (surface loading) rate",
    equation: "v = Q/A",
    symbols: &[("v", "overflow rate", "m/s"), ("Q", "flow", "m³/s"), ("A", "water area", "m²")],
    valid_range: "area above zero",
    outside: "area not above zero: no rate",
    source: "Hazen (1904)",
    standing: Standing::Computed,
};

/// Ideal basin.
pub static HAZEN: Method = Method {
    id: "settling-ideal-basin",
    name: "Ideal basin, Hazen and Camp",
    equation: "R = min(1, w A/Q)",
    symbols: BASIN,
    valid_range: "plug flow without stirring or scour: an upper bound for a pond",
    outside: BASIN_OUTSIDE,
    source: "Hazen (1904), Camp (1946)",
    standing: Standing::Computed,
};

/// Stirred tanks in series.
pub static TANKS_IN_SERIES: Method = Method {
    id: "settling-tanks-in-series",
    name: "Basin as stirred tanks in series",
    equation: "R = 1 − (1 + w A/(n Q))^(−n)",
    symbols: BASIN_OF_TANKS,
    valid_range: "steady flow; n 1 to 1,000",
    outside: BASIN_OUTSIDE,
    source: "Fair and Geyer (1954); EPA 440/5-87-001 (1986)",
    standing: Standing::FromMemory,
};

/// Exponential form.
pub static EXPONENTIAL: Method = Method {
    id: "settling-exponential",
    name: "Basin stirred over its depth",
    equation: "R = 1 − exp(−w A/Q)",
    symbols: BASIN,
    valid_range: "steady flow",
    outside: BASIN_OUTSIDE,
    source: "Vetter (1940)",
    standing: Standing::FromMemory,
};

/// Still water.
pub static QUIESCENT: Method = Method {
    id: "settling-quiescent",
    name: "Still water",
    equation: "R = min(1, w t/h)",
    symbols: &[
        ("R", "share removed", "-"),
        ("w", "settling velocity", "m/s"),
        ("t", "time without flow", "s"),
        ("h", "depth of water", "m"),
    ],
    valid_range: "no flow, no wind, depth above zero",
    outside: "depth not above zero, or a velocity or time below zero: no share",
    source: "settling column, arithmetic",
    standing: Standing::Computed,
};

const TRAP: &[Symbol] = &[
    ("TE", "share of incoming sediment kept over years", "-"),
    ("x", "capacity over yearly inflow, both volumes", "-"),
];

/// Brune's median curve by Gill.
pub static GILL: Method = Method {
    id: "trap-efficiency-brune-gill",
    name: "Trap efficiency, Brune's median curve in Gill's form",
    equation: "TE = x/(0.012 + 1.02 x)",
    symbols: TRAP,
    valid_range: "x 0.002 to 10; made for reservoirs, kind to small ponds",
    outside: "capacity over inflow outside 0.002 to 10: the equation's own answer",
    source: "Brune (1953), Gill (1979); compared with the NAVFAC DM-7.1 example, which reads 0.70 off the curve",
    standing: Standing::FromMemory,
};

/// Brune's median curve by Dendy.
pub static DENDY: Method = Method {
    id: "trap-efficiency-brune-dendy",
    name: "Trap efficiency, Brune's median curve in Dendy's form",
    equation: "TE = 0.97^(0.19^(log₁₀ x))",
    symbols: TRAP,
    valid_range: "x 0.002 to 10; made for reservoirs, kind to small ponds",
    outside: "capacity over inflow outside 0.002 to 10: the equation's own answer",
    source: "Dendy (1974)",
    standing: Standing::FromMemory,
};

/// Heinemann.
pub static HEINEMANN: Method = Method {
    id: "trap-efficiency-heinemann",
    name: "Trap efficiency of small reservoirs, Heinemann",
    equation: "TE = −0.22 + 1.196 x/(0.012 + 1.02 x)",
    symbols: TRAP,
    valid_range: "x 0.003 to 1",
    outside: "capacity over inflow outside 0.003 to 1: the equation's own answer, but not below zero",
    source: "Heinemann (1981)",
    standing: Standing::FromMemory,
};

/// Brown.
pub static BROWN: Method = Method {
    id: "trap-efficiency-brown",
    name: "Trap efficiency by drained area, Brown",
    equation: "TE = 1 − 1/(1 + K C/W)",
    symbols: &[
        ("TE", "share of incoming sediment kept over years", "-"),
        ("K", "0.046 to 1.0, mean 0.1", "mi²/acre-ft"),
        ("C/W", "capacity over drained area", "acre-ft/mi²"),
    ],
    valid_range: "K 0.046 to 1.0 mi²/acre-ft",
    outside: "K outside 0.046 to 1.0 mi²/acre-ft, or capacity over area below zero",
    source: "Brown (1943)",
    standing: Standing::FromMemory,
};

/// Area by overflow rate.
pub static AREA_SIZING: Method = Method {
    id: "basin-area-rule",
    name: "Basin area by flow and settling velocity",
    equation: "A = F Q/w",
    symbols: &[
        ("A", "water area", "m²"),
        ("F", "factor: 1.2 or 2 by agency", "-"),
        ("Q", "design flow", "m³/s"),
        ("w", "settling velocity of the particle named", "m/s"),
    ],
    valid_range: "factor from 1 up; velocity above zero",
    outside: "factor below 1, or velocity not above zero (no area)",
    source: "western United States sediment-trap rule (factor 2, 0.00096 ft/s gives 2,083 ft² per ft³/s)",
    standing: Standing::FromMemory,
};

/// Volume by drained area.
pub static VOLUME_RULE: Method = Method {
    id: "basin-volume-rule",
    name: "Basin volume by drained area",
    equation: "V = a A; a = 3,600 ft³/acre for the basin, 900 ft³/acre for sediment",
    symbols: &[("V", "volume", "ft³"), ("a", "rule", "ft³/acre"), ("A", "drained area", "acre")],
    valid_range: "area from 0 up",
    outside: "area below zero",
    source: "USDA NRCS practice standard 350; EPA construction general permit",
    standing: Standing::FromMemory,
};

/// Volume of a mass of sediment.
pub static SEDIMENT_VOLUME: Method = Method {
    id: "sediment-volume",
    name: "Volume of a mass of sediment",
    equation: "V = m/γ",
    symbols: &[
        ("V", "volume of settled sediment", "ft³ or m³"),
        ("m", "dry mass", "ton of 2,000 lb, or kg"),
        ("γ", "dry mass per volume of settled sediment: 50 to 85 lb/ft³", "lb/ft³"),
    ],
    valid_range: "unit weight above zero",
    outside: "unit weight not above zero: no volume",
    source: "NRCS code 350, Wisconsin supplement (23.5 ft³/ton); IN-ENG-38 table (seen)",
    standing: Standing::Seen,
};

/// Sludge.
pub static SLUDGE: Method = Method {
    id: "sludge-volume",
    name: "Volume of sludge and days to clean-out",
    equation: "ρ = 1/(s/ρs + (1 − s)/ρw); V = m/(s ρ); days = (V at clean-out − V)/(volume per day)",
    symbols: &[
        ("V", "volume of wet sludge", "m³"),
        ("m", "dry mass", "kg"),
        ("s", "solids share of sludge by mass", "-"),
        ("ρ, ρs, ρw", "density of sludge, of its solids, of water", "kg/m³"),
    ],
    valid_range: "solids share above 0 up to 1; consolidation with time is left out",
    outside: "solids share not above 0 or above 1, or a mass below zero: no volume",
    source: "mixture of solids and water; arithmetic",
    standing: Standing::Computed,
};

/// Detention time.
pub static DETENTION: Method = Method {
    id: "detention-time",
    name: "Detention time",
    equation: "t = (V − V sludge)/Q",
    symbols: &[
        ("t", "theoretical detention time", "s"),
        ("V, V sludge", "volume of the pond, of its sludge", "m³"),
        ("Q", "flow", "m³/s"),
    ],
    valid_range: "flow above zero; sludge no more than the pond",
    outside: "flow not above zero, or more sludge than pond (no time)",
    source: "arithmetic",
    standing: Standing::Computed,
};

/// Horizontal velocity.
pub static HORIZONTAL_VELOCITY: Method = Method {
    id: "horizontal-velocity",
    name: "Horizontal velocity in a basin",
    equation: "v = Q/(W h)",
    symbols: &[
        ("v", "mean velocity across the section", "m/s"),
        ("Q", "flow", "m³/s"),
        ("W, h", "width and depth of water above the sludge", "m"),
    ],
    valid_range: "width and depth above zero; 15 to 20 mm/s is taken as the most before solids stir",
    outside: "width or depth not above zero: no velocity",
    source: "arithmetic; the bound is common practice, no source",
    standing: Standing::CommonPractice,
};

/// Scour.
pub static SCOUR: Method = Method {
    id: "scour-velocity",
    name: "Velocity that scours settled particles, Camp",
    equation: "v = √(8 β (s − 1) g d/f)",
    symbols: &[
        ("v", "scouring velocity", "m/s"),
        ("β", "0.04 granular to 0.06 sticky", "-"),
        ("s", "density of the particle over that of water", "-"),
        ("d", "particle size", "m"),
        ("f", "Darcy-Weisbach friction factor, 0.02 to 0.03", "-"),
        ("g", "acceleration of free fall", "m/s²"),
    ],
    valid_range: "β 0.02 to 0.08, f 0.01 to 0.05, particles denser than water",
    outside: "β outside 0.02 to 0.08, f outside 0.01 to 0.05, or particles no denser than water",
    source: "Camp (1946), Trans. ASCE 111:895-936",
    standing: Standing::FromMemory,
};

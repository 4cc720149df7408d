//! Records of the particles room: size spread, capture by size, settling velocity.

use crate::science::{Method, Standing};

/// All records of this file.
pub static ALL: &[&Method] = &[
    &LOGNORMAL_SPREAD,
    &CLASS_SPLIT,
    &CAPTURE_BY_SIZE,
    &SETTLING_DEFAULT,
    &FERGUSON_CHURCH,
    &STOKES,
    &TERMINAL_VELOCITY,
    &SCHILLER_NAUMANN,
    &CLIFT,
    &CLIFT_GAUVIN,
    &BARATI,
    &HAIDER_LEVENSPIEL,
    &FAIR_GEYER_DRAG,
    &NEWTON_ONE_STEP,
];

/// Share of mass in a size class.
pub static LOGNORMAL_SPREAD: Method = Method {
    id: "size-spread-lognormal",
    name: "Lognormal spread of particle size through the median and d90",
    equation: "share finer than d = Φ(ln(d/d50)/σ), σ = ln(d90/d50)/1.28155",
    symbols: &[
        ("d", "particle size", "µm"),
        ("d50", "median size by mass", "µm"),
        ("d90", "size that 90 % of the mass is finer than", "µm"),
        ("Φ", "standard normal distribution", "-"),
    ],
    valid_range: "0 < d50 ≤ d90",
    outside: "the median is not above zero or d90 lies below it: no spread can be drawn",
    source: "definition of the lognormal distribution; that horticultural solids follow it is common practice",
    standing: Standing::CommonPractice,
};

/// How a class cut by an opening is split.
pub static CLASS_SPLIT: Method = Method {
    id: "size-class-split",
    name: "Splitting a size class at an opening",
    equation: "coarser share = ln(hi/opening)/ln(hi/lo)",
    symbols: &[
        ("lo, hi", "ends of the class (first class: a quarter of its upper end to its upper end)", "µm"),
        ("opening", "size at which the class is cut", "µm"),
    ],
    valid_range: "positive sizes; an opening outside the class takes all or nothing of it",
    outside: "the opening is not above zero",
    source: "even spread of mass over log size inside a class; no source",
    standing: Standing::CommonPractice,
};

/// Capture by size.
pub static CAPTURE_BY_SIZE: Method = Method {
    id: "capture-by-size",
    name: "Share of each size class that a filter takes out",
    equation: "η = mean over the class, in log size, of the curve given (a step at the opening, a table, or one share for all)",
    symbols: &[
        ("η", "share of the class's mass taken out", "-"),
        ("opening, share", "rated opening, share of coarser particles stopped", "µm, -"),
        ("table", "sizes and shares, straight lines between them in log size", "µm, -"),
    ],
    valid_range: "shares 0 to 1; sizes within the table",
    outside: "sizes outside the table are given the share of its nearest end",
    source: "a rated opening is nominal: fibres pass end-on; the share is the user's or a test's",
    standing: Standing::CommonPractice,
};

/// The default settling velocity.
pub static SETTLING_DEFAULT: Method = Method {
    id: "settling-velocity",
    name: "Settling velocity used by the ledger (Ferguson and Church, natural grains)",
    equation: "w = R g d²/(18 ν + √(0.75 R g d³)); particles no denser than water: w = 0",
    symbols: &[
        ("w", "settling velocity", "m/s"),
        ("R", "density of the particle over that of water, less one", "-"),
        ("g", "acceleration of free fall", "m/s²"),
        ("d", "particle size (sieve diameter)", "m"),
        ("ν", "kinematic viscosity of water at its temperature", "m²/s"),
    ],
    valid_range: "particles up to 5 mm in still water of 0 to 40 °C",
    outside: "particle above 5 mm, or water outside 0 to 40 °C: the velocity is the equation's own answer",
    source: "Ferguson and Church (2004), J. Sediment. Res. 74:933-937, constants 18 and 1.0; equation seen in public code",
    standing: Standing::SeenElsewhere,
};

/// Ferguson and Church with constants of choice.
pub static FERGUSON_CHURCH: Method = Method {
    id: "settling-ferguson-church",
    name: "Settling velocity, Ferguson and Church",
    equation: "w = R g d²/(C1 ν + √(0.75 C2 R g d³))",
    symbols: &[
        ("w", "settling velocity", "m/s"),
        ("R", "submerged specific gravity", "-"),
        ("d", "diameter", "m"),
        ("ν", "kinematic viscosity", "m²/s"),
        ("C1, C2", "18, 0.4 smooth spheres; 18, 1.0 natural grains by sieve; 20, 1.1 by nominal diameter", "-"),
    ],
    valid_range: "diameters up to 5 mm",
    outside: "particle above 5 mm or not denser than water: the velocity is the equation's own answer where it has one",
    source: "Ferguson and Church (2004), J. Sediment. Res. 74:933-937; equation seen in public code",
    standing: Standing::SeenElsewhere,
};

/// Stokes' law.
pub static STOKES: Method = Method {
    id: "settling-stokes",
    name: "Settling velocity, Stokes",
    equation: "w = g d² (ρp − ρ)/(18 µ)",
    symbols: &[
        ("w", "settling velocity (negative: rises)", "m/s"),
        ("d", "diameter", "m"),
        ("ρp, ρ", "density of particle and water", "kg/m³"),
        ("µ", "dynamic viscosity", "Pa·s"),
    ],
    valid_range: "Reynolds number up to 0.5",
    outside: "Reynolds number above 0.5: Stokes' law gives too high a velocity",
    source: "Stokes (1851); any hydraulics text",
    standing: Standing::Computed,
};

/// Terminal velocity by a drag law.
pub static TERMINAL_VELOCITY: Method = Method {
    id: "settling-drag-law",
    name: "Settling velocity of a sphere by a drag law",
    equation: "Cd(Re) Re² = 4 g d³ ρ |ρp − ρ|/(3 µ²); w = Re µ/(ρ d)",
    symbols: &[
        ("Cd", "drag coefficient by the law named", "-"),
        ("Re", "Reynolds number w d ρ/µ", "-"),
        ("d", "diameter", "m"),
        ("ρp, ρ", "density of particle and water", "kg/m³"),
        ("µ", "dynamic viscosity", "Pa·s"),
    ],
    valid_range: "the drag law's own range of Reynolds number",
    outside: "Reynolds number outside the drag law's range: the velocity is the law's own answer",
    source: "balance of weight and drag; solved by bisection on the logarithm of Re",
    standing: Standing::Computed,
};

/// Drag by Schiller and Naumann.
pub static SCHILLER_NAUMANN: Method = Method {
    id: "drag-schiller-naumann",
    name: "Drag of a sphere, Schiller and Naumann",
    equation: "Cd = 24/Re (1 + 0.15 Re^0.687)",
    symbols: &[("Cd", "drag coefficient", "-"), ("Re", "Reynolds number", "-")],
    valid_range: "Reynolds number up to 1,000",
    outside: "Reynolds number above 1,000: the drag is the equation's own answer, too low",
    source: "Schiller and Naumann (1933), general literature",
    standing: Standing::FromMemory,
};

/// Drag by Clift, Grace and Weber.
pub static CLIFT: Method = Method {
    id: "drag-clift",
    name: "Drag of a sphere, Clift, Grace and Weber",
    equation: "24/Re + 3/16 (Re<0.01); 24/Re (1 + 0.1315 Re^(0.82 − 0.05 L)) (<20); 24/Re (1 + 0.1935 Re^0.6305) (<260); then powers of ten of cubics in L = log₁₀ Re",
    symbols: &[("Cd", "drag coefficient", "-"), ("Re", "Reynolds number", "-")],
    valid_range: "Reynolds number up to 1,000,000",
    outside: "Reynolds number above 1,000,000: the drag is the last piece's own answer",
    source: "Clift, Grace and Weber (1978), Bubbles, Drops and Particles; compared with values of a public library",
    standing: Standing::FromMemory,
};

/// Drag by Clift and Gauvin.
pub static CLIFT_GAUVIN: Method = Method {
    id: "drag-clift-gauvin",
    name: "Drag of a sphere, Clift and Gauvin",
    equation: "Cd = 24/Re (1 + 0.152 Re^0.677) + 0.417/(1 + 5070 Re^(−0.94))",
    symbols: &[("Cd", "drag coefficient", "-"), ("Re", "Reynolds number", "-")],
    valid_range: "Reynolds number up to 200,000",
    outside: "Reynolds number above 200,000: the drag is the equation's own answer",
    source: "Clift and Gauvin (1970); compared with values of a public library",
    standing: Standing::FromMemory,
};

/// Drag by Barati and others.
pub static BARATI: Method = Method {
    id: "drag-barati",
    name: "Drag of a sphere, Barati and others",
    equation: "Cd = 5.4856e9 tanh(4.3774e-9/Re) + 0.0709 tanh(700.6574/Re) + 0.3894 tanh(74.1539/Re) − 0.1198 tanh(7429.0843/Re) + 1.7174 tanh(9.9851/(Re + 2.3384)) + 0.4744",
    symbols: &[("Cd", "drag coefficient", "-"), ("Re", "Reynolds number", "-")],
    valid_range: "Reynolds number up to 200,000",
    outside: "Reynolds number above 200,000: the drag is the equation's own answer",
    source: "Barati, Neyshabouri and Ahmadi (2014), Powder Technology 257:11-19; compared with values of a public library",
    standing: Standing::FromMemory,
};

/// Drag by Haider and Levenspiel.
pub static HAIDER_LEVENSPIEL: Method = Method {
    id: "drag-haider-levenspiel",
    name: "Drag of a sphere, Haider and Levenspiel",
    equation: "Cd = 24/Re (1 + 0.1806 Re^0.6459) + 0.4251/(1 + 6880.95/Re)",
    symbols: &[("Cd", "drag coefficient", "-"), ("Re", "Reynolds number", "-")],
    valid_range: "Reynolds number up to 260,000",
    outside: "Reynolds number above 260,000: the drag is the equation's own answer",
    source: "Haider and Levenspiel (1989), Powder Technology 58:63-70; compared with values of a public library",
    standing: Standing::FromMemory,
};

/// Drag of filter grains by Fair and Geyer.
pub static FAIR_GEYER_DRAG: Method = Method {
    id: "drag-fair-geyer",
    name: "Drag of a filter grain, Fair and Geyer",
    equation: "Cd = 24/Re + 3/√Re + 0.34; 24/Re below Re 0.5; Re = φ v d/ν",
    symbols: &[
        ("Cd", "drag coefficient", "-"),
        ("φ", "shape factor", "-"),
        ("v", "velocity past the grain", "m/s"),
        ("d", "diameter", "m"),
        ("ν", "kinematic viscosity", "m²/s"),
    ],
    valid_range: "Reynolds number up to 10,000",
    outside: "Reynolds number above 10,000: the drag is the equation's own answer",
    source: "Davis, Water and Wastewater Engineering, Examples 11-2 and 11-3 (tables seen)",
    standing: Standing::Seen,
};

/// One Newton step from an estimate of velocity.
pub static NEWTON_ONE_STEP: Method = Method {
    id: "settling-newton-one-step",
    name: "Settling velocity, one step from an estimate (textbook hand method)",
    equation: "w = √(4 g (ρp − ρ) d/(3 Cd ρ)), Cd by Fair and Geyer at the estimate",
    symbols: &[
        ("w", "settling velocity", "m/s"),
        ("Cd", "drag coefficient at the estimated velocity", "-"),
        ("d", "diameter", "m"),
        ("ρp, ρ", "density of grain and water", "kg/m³"),
    ],
    valid_range: "grains denser than water; Reynolds number up to 10,000",
    outside: "grain no denser than water, or Reynolds number above 10,000",
    source: "Davis, Water and Wastewater Engineering, Example 11-3 (table seen); one step is not converged",
    standing: Standing::Seen,
};

//! Records of the hydraulics room: bed head loss, fluidisation and expansion, weirs, orifices, membranes.

use crate::science::{Method, Standing, Symbol};

/// All records of this file.
pub static ALL: &[&Method] = &[
    &ERGUN,
    &CARMAN,
    &KOZENY_CARMAN,
    &ROSE,
    &WEN_YU,
    &RICHARDSON_ZAKI_INDEX,
    &RICHARDSON_ZAKI,
    &FAIR_GEYER_EXPANSION,
    &FAIR_GEYER_DEPTH,
    &BED_EXPANSION,
    &BACKWASH_VOLUME,
    &FRANCIS,
    &V_NOTCH_90,
    &V_NOTCH_60,
    &V_NOTCH_120,
    &KINDSVATER_SHEN,
    &KINDSVATER_CARTER,
    &REHBOCK,
    &ACKERS,
    &BROAD_CRESTED,
    &RISER_NOTCH,
    &ORIFICE,
    &MEMBRANE_RECOVERY,
];

const BED: &[Symbol] = &[
    ("Δp", "pressure lost through the clean bed", "Pa"),
    ("L", "depth of the bed", "m"),
    ("v", "filtration rate", "m/s"),
    ("d", "grain size", "m"),
    ("ε", "porosity of the packed bed", "-"),
    ("ρ, µ", "density and viscosity of water", "kg/m³, Pa·s"),
];

const WEIR: &[Symbol] = &[
    ("Q", "flow over the weir", "the unit of the equation"),
    ("H, h", "head over the crest or the notch's lowest point, measured upstream", "the unit of the equation"),
    ("L, b", "length of crest", "the unit of the equation"),
    ("P, h2", "height of the crest above the bed", "the unit of the equation"),
    ("g", "acceleration of free fall", "m/s²"),
];

const BLOCKED: &str =
    "porosity outside 0.25 to 0.6, or a size, depth or rate below zero: the equation's own answer where it has one";

/// Head loss by Ergun.
pub static ERGUN: Method = Method {
    id: "bed-head-loss-ergun",
    name: "Head loss of a clean bed, Ergun",
    equation: "Δp = L (150 µ v (1 − ε)²/(d² ε³) + 1.75 ρ v² (1 − ε)/(d ε³))",
    symbols: BED,
    valid_range: "porosity 0.25 to 0.6; laminar to turbulent flow",
    outside: BLOCKED,
    source: "Ergun (1952), Chem. Eng. Prog. 48:89-94; compared with values of a public library",
    standing: Standing::FromMemory,
};

/// Head loss by Carman.
pub static CARMAN: Method = Method {
    id: "bed-head-loss-carman",
    name: "Head loss of a clean bed, Carman",
    equation: "Δp = (180/Re + 2.871/Re^0.1) ρ v² L (1 − ε)/(d ε³), Re = d v ρ/(µ (1 − ε))",
    symbols: BED,
    valid_range: "porosity 0.25 to 0.6; Re up to 600",
    outside: "porosity outside 0.25 to 0.6, Re above 600, or a size, depth or rate below zero: the equation's own answer where it has one",
    source: "Carman (1937), Trans. Inst. Chem. Eng. 15:150-166, with the constant of a public library whose values were compared (2.871; often printed 2.87)",
    standing: Standing::FromMemory,
};

/// Head loss by Kozeny and Carman.
pub static KOZENY_CARMAN: Method = Method {
    id: "bed-head-loss-kozeny-carman",
    name: "Head loss of a clean bed, Kozeny-Carman",
    equation: "Δp = K µ v (1 − ε)² L/((φ d)² ε³); K must be said: 180 (Carman) and 150 (Ergun's first term) are both in use",
    symbols: &[
        ("Δp", "pressure lost through the clean bed", "Pa"),
        ("K", "constant, 150 or 180", "-"),
        ("φ", "shape factor of the grains", "-"),
        ("L, d, v, ε, µ", "depth, grain size, filtration rate, porosity, viscosity", "m, m, m/s, -, Pa·s"),
    ],
    valid_range: "laminar flow (Re up to 6 with the porosity in it); porosity 0.25 to 0.6; K 120 to 200",
    outside: "K outside 120 to 200, porosity outside 0.25 to 0.6, or a size, depth or rate below zero: the equation's own answer where it has one",
    source: "Kozeny (1927), Carman (1937); any filtration text",
    standing: Standing::FromMemory,
};

/// Head loss of a stratified bed by Rose.
pub static ROSE: Method = Method {
    id: "bed-head-loss-rose",
    name: "Head loss of a clean stratified bed, Rose",
    equation: "h = 1.067 v² L/(φ g ε⁴) Σ(Cd f/d)",
    symbols: &[
        ("h", "head lost", "m"),
        ("v, L, φ, ε", "filtration rate, depth, shape factor, porosity", "m/s, m, -, -"),
        ("Σ(Cd f/d)", "drag coefficient times share by mass over size, summed over the sieve fractions", "1/m"),
        ("g", "acceleration of free fall", "m/s²"),
    ],
    valid_range: "porosity 0.25 to 0.6",
    outside: BLOCKED,
    source: "Davis, Water and Wastewater Engineering, Example 11-2 (seen)",
    standing: Standing::Seen,
};

/// Least fluidising rate.
pub static WEN_YU: Method = Method {
    id: "fluidisation-wen-yu",
    name: "Least fluidising wash rate, Wen and Yu",
    equation: "Re = √(33.7² + 0.0408 Ga) − 33.7; Ga = d³ ρ (ρp − ρ) g/µ²; v = Re µ/(ρ d); a wash is often run at 1.3 v",
    symbols: &[
        ("v", "least fluidising rate", "m/s"),
        ("d", "grain size, d90 of the media", "m"),
        ("ρp, ρ, µ", "density of grain and water, viscosity of water", "kg/m³, kg/m³, Pa·s"),
        ("g", "acceleration of free fall", "m/s²"),
    ],
    valid_range: "grains denser than water, Re up to 4,000",
    outside: "grain no denser than water (no value), or Re above 4,000: the equation's own answer",
    source: "Hendricks, Fundamentals of Water Treatment Unit Processes, eqs. 12.56-12.58, Table 12.9 (seen)",
    standing: Standing::Seen,
};

/// Index of Richardson and Zaki.
pub static RICHARDSON_ZAKI_INDEX: Method = Method {
    id: "expansion-index-richardson-zaki",
    name: "Expansion index, Richardson and Zaki",
    equation: "n = 4.65 (Re < 0.2); 4.35 Re^(−0.03) (< 1); 4.45 Re^(−0.1) (< 500); 2.39 above; the wall term left out",
    symbols: &[("n", "index", "-"), ("Re", "Reynolds number of one grain falling", "-")],
    valid_range: "Reynolds number above 0",
    outside: "Reynolds number not above 0: no index",
    source: "Richardson and Zaki (1954), Trans. Inst. Chem. Eng. 32:35-53",
    standing: Standing::FromMemory,
};

/// Expansion by Richardson and Zaki.
pub static RICHARDSON_ZAKI: Method = Method {
    id: "expansion-richardson-zaki",
    name: "Porosity of an expanded bed, Richardson and Zaki",
    equation: "ε = (v/w)^(1/n)",
    symbols: &[
        ("ε", "porosity of the expanded bed", "-"),
        ("v", "wash rate", "m/s"),
        ("w", "settling velocity of one grain", "m/s"),
        ("n", "index", "-"),
    ],
    valid_range: "wash rate above 0 and below the settling velocity",
    outside: "wash rate at or above the settling velocity (media is carried off) or not above 0: the equation's own answer",
    source: "Richardson and Zaki (1954), Trans. Inst. Chem. Eng. 32:35-53",
    standing: Standing::FromMemory,
};

/// Expansion by Fair and Geyer.
pub static FAIR_GEYER_EXPANSION: Method = Method {
    id: "expansion-fair-geyer",
    name: "Porosity of an expanded sieve fraction, Fair and Geyer",
    equation: "ε = (v/w)^(0.2247 Re^0.1)",
    symbols: &[
        ("ε", "porosity of the expanded fraction", "-"),
        ("v", "wash rate", "m/s"),
        ("w", "settling velocity of one grain", "m/s"),
        ("Re", "Reynolds number of one grain falling", "-"),
    ],
    valid_range: "wash rate above 0 and below the settling velocity",
    outside: "wash rate at or above the settling velocity (media is carried off) or not above 0: the equation's own answer",
    source: "Davis, Water and Wastewater Engineering, Example 11-3 (table seen)",
    standing: Standing::Seen,
};

/// Depth of the expanded bed.
pub static FAIR_GEYER_DEPTH: Method = Method {
    id: "expanded-depth-fair-geyer",
    name: "Depth of an expanded stratified bed, Fair and Geyer",
    equation: "De = (1 − ε) D Σ f/(1 − εe)",
    symbols: &[
        ("De, D", "expanded and packed depth", "m"),
        ("ε", "packed porosity", "-"),
        ("f, εe", "share by mass and expanded porosity of a sieve fraction", "-"),
    ],
    valid_range: "shares that add up to one; expanded porosity below one",
    outside: "packed porosity outside 0.25 to 0.6, or a sum below 1: the equation's own answer",
    source: "Davis, Water and Wastewater Engineering, Example 11-3 (table seen; its shares add up to 0.966)",
    standing: Standing::Seen,
};

/// Bed expansion.
pub static BED_EXPANSION: Method = Method {
    id: "bed-expansion",
    name: "Bed expansion",
    equation: "expansion = (1 − ε0)/(1 − ε) − 1",
    symbols: &[("ε0, ε", "porosity packed and expanded", "-")],
    valid_range: "0 < ε0 ≤ ε < 1",
    outside: "expanded porosity below the packed one (the bed does not lift) or not below 1: the equation's own answer",
    source: "conservation of media",
    standing: Standing::Computed,
};

/// Wash volume.
pub static BACKWASH_VOLUME: Method = Method {
    id: "backwash-volume",
    name: "Water of a wash",
    equation: "V = q A t; flow = q A",
    symbols: &[
        ("V", "volume", "m³"),
        ("q", "wash rate", "m/h"),
        ("A", "area of the bed", "m²"),
        ("t", "duration", "h"),
    ],
    valid_range: "rate, area and duration from 0 up",
    outside: "rate, area or duration below zero",
    source: "arithmetic",
    standing: Standing::Computed,
};

/// Rectangular weir by Francis.
pub static FRANCIS: Method = Method {
    id: "weir-francis",
    name: "Rectangular sharp-crested weir, Francis",
    equation: "Q = 3.33 (L − 0.1 n H) H^1.5 (ft³/s, ft); n end contractions",
    symbols: WEIR,
    valid_range: "H from 0.2 ft up to L/3; free fall",
    outside: "head below 0.2 ft or above a third of the crest: the equation's own answer",
    source: "Francis formula, USBR Water Measurement Manual ch. 7",
    standing: Standing::FromMemory,
};

/// 90-degree notch.
pub static V_NOTCH_90: Method = Method {
    id: "weir-v-notch-90",
    name: "V-notch weir of 90 degrees",
    equation: "Q = 2.49 H^2.48 (ft³/s, ft)",
    symbols: WEIR,
    valid_range: "H 0.2 to 1.25 ft; free fall, full contraction",
    outside: "head outside 0.2 to 1.25 ft: the equation's own answer",
    source: "USBR Water Measurement Manual; other forms in use differ by 1 to 2 %",
    standing: Standing::FromMemory,
};

/// 60-degree notch.
pub static V_NOTCH_60: Method = Method {
    id: "weir-v-notch-60",
    name: "V-notch weir of 60 degrees",
    equation: "Q = 1.443 H^2.5 (ft³/s, ft)",
    symbols: WEIR,
    valid_range: "H 0.2 to 2 ft; free fall, full contraction",
    outside: "head outside 0.2 to 2 ft: the equation's own answer",
    source: "public discharge table for 60-degree notches (seen), which cites ASTM D5242",
    standing: Standing::Seen,
};

/// 120-degree notch.
pub static V_NOTCH_120: Method = Method {
    id: "weir-v-notch-120",
    name: "V-notch weir of 120 degrees",
    equation: "Q = 4.33 H^2.5 (ft³/s, ft)",
    symbols: WEIR,
    valid_range: "H 0.2 to 2 ft; free fall, full contraction",
    outside: "head outside 0.2 to 2 ft: the equation's own answer",
    source: "the form of the 60-degree table, C tan(α/2) H^2.5 with C = 2.5, as discharge tables print it; notches over 100° are \
             outside what Kindsvater and Shen tried",
    standing: Standing::FromMemory,
};

/// V-notch by Kindsvater and Shen.
pub static KINDSVATER_SHEN: Method = Method {
    id: "weir-v-notch-kindsvater-shen",
    name: "V-notch weir of any angle, Kindsvater and Shen",
    equation: "Q = 8/15 Ce tan(α/2) √(2g) (h + kh)^2.5 (m³/s, m); Ce and kh are read from the standard's charts",
    symbols: &[
        ("Q", "flow", "m³/s"),
        (
            "Ce, kh",
            "coefficient and head correction by angle: 0.5785 and 0.85 mm at 90°, 0.5766 and 1.2 mm at 60°",
            "-, m",
        ),
        ("α", "angle of the notch", "°"),
        ("h", "head", "m"),
        ("g", "acceleration of free fall", "m/s²"),
    ],
    valid_range: "fully contracted notches of 25 to 100°; head 0.06 to 0.38 m (0.2 to 1.25 ft); free fall",
    outside: "angle outside 25 to 100° or head outside 0.06 to 0.38 m: the equation's own answer",
    source: "ISO 1438; USBR Water Measurement Manual ch. 7 (range seen); Ce and kh read from memory of the chart",
    standing: Standing::FromMemory,
};

/// Narrow rectangular notch.
pub static KINDSVATER_CARTER: Method = Method {
    id: "weir-rectangular-kindsvater-carter",
    name: "Narrow rectangular notch, Kindsvater and Carter as given by Blevins",
    equation: "Q = 0.554 (1 − 0.0035 h/h2)(b + 0.0025) √g (h + 0.0001)^1.5 (m³/s, m)",
    symbols: WEIR,
    valid_range: "notch no wider than a fifth of the channel; h/h2 below 2; free fall",
    outside: "head twice the crest height or more, or not above zero: the equation's own answer",
    source: "Blevins (1984), Applied Fluid Dynamics Handbook, through a public library's values",
    standing: Standing::Computed,
};

/// Full-width weir by Rehbock.
pub static REHBOCK: Method = Method {
    id: "weir-rectangular-rehbock",
    name: "Full-width rectangular weir, Rehbock",
    equation: "Q = 2/3 √2 (0.602 + 0.0832 h/h2) b √g (h + 0.00125)^1.5 (m³/s, m)",
    symbols: WEIR,
    valid_range: "h 0.03 to 0.75 m, h2 from 0.1 m, b from 0.3 m, h/h2 up to 1",
    outside: "head outside 0.03 to 0.75 m, crest below 0.1 m, width below 0.3 m or h/h2 above 1: the equation's own answer",
    source: "Rehbock (1929) through a public library's values",
    standing: Standing::Computed,
};

/// Full-width weir by Ackers.
pub static ACKERS: Method = Method {
    id: "weir-rectangular-ackers",
    name: "Full-width rectangular weir, Ackers",
    equation: "Q = 0.564 (1 + 0.150 h/h2) b √g (h + 0.001)^1.5 (m³/s, m)",
    symbols: WEIR,
    valid_range: "h above 0.02 m, h2 from 0.15 m, h/h2 up to 2.2",
    outside: "head not above 0.02 m, crest below 0.15 m or h/h2 above 2.2: the equation's own answer",
    source: "Ackers and others (1978) through a public library's values",
    standing: Standing::Computed,
};

/// Broad-crested weir.
pub static BROAD_CRESTED: Method = Method {
    id: "weir-broad-crested",
    name: "Broad-crested weir",
    equation: "Q = (2/3)^1.5 √g b H^1.5 (m³/s, m); with a coefficient of choice Q = C L H^1.5 (ft³/s, ft)",
    symbols: &[
        ("Q", "flow", "m³/s or ft³/s"),
        ("H", "total head over the crest", "m or ft"),
        ("b, L", "length of crest", "m or ft"),
        ("C", "2.6 to 3.1 for earth spillways; 3.087 is the ideal", "ft^0.5/s"),
    ],
    valid_range: "critical flow on the crest, no tailwater; C 2.3 to 3.1",
    outside: "coefficient outside 2.3 to 3.1, or head below zero (no flow)",
    source: "critical depth; coefficients for earth from memory. An illustration, never for building a spillway",
    standing: Standing::Computed,
};

/// Notch in a riser.
pub static RISER_NOTCH: Method = Method {
    id: "weir-riser-notch",
    name: "Rectangular notch in a riser",
    equation: "Q = C (L − 0.2 H) H^1.5, C = 3.27 + 0.40 H/P (ft³/s, ft)",
    symbols: WEIR,
    valid_range: "H above 0 and up to L/3 or so; P above 0",
    outside: "head above a third of the notch's length, or no height below it: the equation's own answer",
    source: "stormwater manual vol. III (2014), fig. 3.2.13 eq. 6 (second-hand scan)",
    standing: Standing::Seen,
};

/// Orifice.
pub static ORIFICE: Method = Method {
    id: "orifice",
    name: "Orifice",
    equation: "Q = Cd A √(2 g h), A = π D²/4",
    symbols: &[
        ("Q", "flow", "m³/s"),
        ("Cd", "discharge coefficient, about 0.61 for a sharp edge", "-"),
        ("D", "diameter", "m"),
        ("h", "head to the centre", "m"),
        ("g", "acceleration of free fall", "m/s²"),
    ],
    valid_range: "head above the orifice's own radius; free outflow",
    outside: "head below the orifice's radius (it runs as a weir): the equation's own answer; head below zero: no flow",
    source: "Torricelli; any hydraulics text",
    standing: Standing::Computed,
};

/// How a membrane parts its feed.
pub static MEMBRANE_RECOVERY: Method = Method {
    id: "membrane-recovery",
    name: "Permeate and reject of a membrane",
    equation: "Q_f = Q_p/R; Q_r = Q_f − Q_p; M_r = Σ M_f (η + (1 − R)(1 − η)) for solids; M_p = R M_f (1 − D) for what is dissolved, the rest to the reject",
    symbols: &[
        ("Q_f, Q_p, Q_r", "feed, permeate and reject", "m³"),
        ("R", "recovery: the share of the feed that passes", "-"),
        ("M_f, M_p, M_r", "mass in the feed, the permeate and the reject", "kg"),
        ("η", "share of a size class of solids that the membrane stops", "-"),
        ("D", "share of what is dissolved that it holds back from the permeate, as typed", "-"),
    ],
    valid_range: "0 < R ≤ 1; D as typed: a wide pore (microfiltration, ultrafiltration) holds back nothing dissolved",
    outside: "a recovery of nothing: no feed makes permeate. Where no D is typed, what is dissolved in permeate and reject is not known and is \
              not shown",
    source: "definition of recovery, and conservation of mass; pore sizes after University of Guelph, Controlled Environment Systems: \
             Membrane filtration (microfiltration 1 to 0.1 µm, ultrafiltration 0.1 to 0.01 µm, reverse osmosis below 0.001 µm)",
    standing: Standing::Computed,
};

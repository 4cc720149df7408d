//! Records of what a comparison of costs rests on: energy of pumps, worth today, rank correlation.

use crate::science::{Method, Standing};

/// All records of this file.
pub static ALL: &[&Method] = &[&PUMP_ENERGY, &PRESENT_WORTH, &WEIGHTED_DRAWS, &RANK_CORRELATION];

/// Energy of a pump.
pub static PUMP_ENERGY: Method = Method {
    id: "pump-energy",
    name: "Energy of a pump",
    equation: "E = ρ g V H/η",
    symbols: &[
        ("E", "energy drawn by the motor", "J (3.6 MJ are 1 kWh)"),
        ("ρ", "density of water, taken as 1000", "kg/m³"),
        ("g", "acceleration of free fall, 9.80665", "m/s²"),
        ("V", "volume lifted", "m³"),
        ("H", "total head: lift, friction, pressure at the far end, what filters lose", "m"),
        ("η", "efficiency of pump and motor together", "-"),
    ],
    valid_range: "one head and one efficiency for the whole year; efficiency above 0",
    outside: "efficiency not above 0: refused",
    source: "arithmetic of hydraulics; agrees with 0.00314 kWh per 1,000 gal and foot of handbooks (from memory)",
    standing: Standing::Computed,
};

/// Worth today.
pub static PRESENT_WORTH: Method = Method {
    id: "present-worth",
    name: "Worth today",
    equation: "W = A (1 − (1 + i)^(−n))/i + Σ P (1 + i)^(−k L) − P r (1 + i)^(−n)",
    symbols: &[
        ("W", "worth today of all that is paid in the years compared", "money"),
        ("A", "paid at the end of each year, at today’s prices", "money"),
        ("i", "discount rate", "-"),
        ("n", "years compared", "years"),
        ("P", "price of something bought now and again each time its life is over", "money"),
        ("k, L", "how often it has been bought before, 0, 1, …; its life", "-, years"),
        ("r", "share of the last one’s life that is left after n years", "-"),
        ("g", "rise of a price a year, where one is typed: i is then (1 + i)/(1 + g) − 1", "-"),
    ],
    valid_range: "discount rate above −1; a rate of 0 gives n A",
    outside: "no life typed: refused",
    source: "engineering economy, any text; factors compared with printed tables (from memory) and a library of financial functions",
    standing: Standing::Computed,
};

/// Weighted draws.
pub static WEIGHTED_DRAWS: Method = Method {
    id: "weighted-draws",
    name: "Draws weighted by how well they repeat the log",
    equation: "w = exp(−½ Σ (ln(c/l)/σ)²), 0 where some |ln(c/l)| > 2σ; n = (Σ w)²/Σ w²",
    symbols: &[
        ("w", "what a draw counts", "-"),
        (
            "c, l",
            "computed in the draw and logged: washes (each with 1 added), wash water, mean of sampled solids",
            "-",
        ),
        ("2σ", "ln 1.25 (solids: ln 2), and twice what chance does to so few figures, by the root of squares", "-"),
        ("n", "how many equal draws they are as good as", "-"),
    ],
    valid_range: "20 draws or more repeat each figure, and 20 equal ones or more all of them",
    outside: "a figure that fewer repeat weighs nothing, and what turns on it has no verdict; where all draws repeat the log alike, all count alike",
    source: "Beven and Binley (1992), Hydrol. Processes 6:279-298; Kish (1965), Survey Sampling; the last third of the log kept out after Klemeš (1986), Hydrol. Sci. J. 31:13-24",
    standing: Standing::FromMemory,
};

/// Rank correlation.
pub static RANK_CORRELATION: Method = Method {
    id: "rank-correlation",
    name: "Rank correlation (Spearman)",
    equation: "ρ = cov(R(x), R(y))/(s(R(x)) s(R(y)))",
    symbols: &[
        ("x, y", "a range’s draw; the difference in money of that draw", "-"),
        ("R", "ranks, ties at their mean", "-"),
        ("cov, s", "covariance, standard deviation over the draws", "-"),
    ],
    valid_range: "50 draws or more",
    outside: "fewer draws, or a difference that is nought in each: none is told; under 2/√n it could be chance and is left out",
    source: "Spearman (1904), Am. J. Psychol. 15:72-101; compared with a library of statistics",
    standing: Standing::FromMemory,
};

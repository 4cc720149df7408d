//! Records of the statistics that limits and reconciled meters rest on.

use crate::science::{Method, Standing, Symbol};

/// All records of this file.
pub static ALL: &[&Method] = &[
    &LEAST_SQUARES,
    &LOGNORMAL_MULTIPLIERS,
    &REASONABLE_POTENTIAL,
    &WEEKLY_FROM_MONTHLY,
    &LOAD,
    &PERCENT_REMOVAL,
    &GEOMETRIC_MEAN,
    &SUBSTITUTION,
    &ORDER_STATISTICS,
    &KAPLAN_MEIER,
    &CENSORED_LIKELIHOOD,
    &POISSON_INTERVAL,
];

const CENSORED: &[Symbol] = &[
    ("x", "result, or its reporting limit where it is below that", "the result's unit"),
    ("n", "number of results", "-"),
];

/// Reconciliation of meters.
pub static LEAST_SQUARES: Method = Method {
    id: "reconciled-meters",
    name: "Meters reconciled by weighted least squares",
    equation: "x* = x − Σ A′ (A Σ A′)⁻¹ A x; χ² = (A x)′ (A Σ A′)⁻¹ A x; Σ* = Σ − Σ A′ (A Σ A′)⁻¹ A Σ; ′ transposes",
    symbols: &[
        ("x, x*", "flows as metered and as reconciled", "one unit"),
        ("Σ", "squares of the meters' standard deviations", "that unit squared"),
        ("A", "balances: +1 in, −1 out, one row each", "-"),
        ("χ²", "misfit of all balances together, against chi-square with one degree per balance", "-"),
    ],
    valid_range: "balances whose every term is metered and none of which follows from the others",
    outside: "balances that repeat one another or a meter without a standard deviation above zero: nothing is reconciled",
    source: "Narasimhan and Jordache (2000), Data Reconciliation and Gross Error Detection, ch. 1 example (printed values from memory)",
    standing: Standing::FromMemory,
};

/// Lognormal multipliers.
pub static LOGNORMAL_MULTIPLIERS: Method = Method {
    id: "lognormal-multipliers",
    name: "Multipliers between long-term average and limits, lognormal",
    equation: "σ(n)² = ln(1 + CV²/n); daily maximum over average exp(z σ(1) − σ(1)²/2); average of n samples exp(z σ(n) − σ(n)²/2); allowed average over acute allocation exp(σ(1)²/2 − z σ(1)), over four-day allocation with σ(4)",
    symbols: &[
        ("CV", "coefficient of variation of daily values", "-"),
        ("n", "samples in the averaging period", "-"),
        ("z", "standard normal value of the percentile", "-"),
    ],
    valid_range: "CV above 0, percentile between 0 and 1, n from 1",
    outside: "CV, percentile or number of samples that cannot be: no multiplier",
    source: "EPA/505/2-90-001 (1991), Tables 5-1 and 5-2 (printed values from memory)",
    standing: Standing::FromMemory,
};

/// Reasonable potential.
pub static REASONABLE_POTENTIAL: Method = Method {
    id: "reasonable-potential-multiplier",
    name: "Multiplier on the highest of n samples",
    equation: "exp(z(upper) σ − σ²/2)/exp(z(p) σ − σ²/2), p = (1 − confidence)^(1/n), σ² = ln(1 + CV²)",
    symbols: &[
        ("n", "number of samples", "-"),
        ("CV", "coefficient of variation", "-"),
        ("upper, confidence", "percentile projected, confidence wanted", "-"),
    ],
    valid_range: "CV above 0, percentiles between 0 and 1, n from 1",
    outside: "an input that cannot be: no multiplier",
    source: "Wisconsin Admin. Code NR 106.08(6) Table 4 (seen); EPA/505/2-90-001 Tables 3-1 and 3-2",
    standing: Standing::Seen,
};

/// Weekly from monthly.
pub static WEEKLY_FROM_MONTHLY: Method = Method {
    id: "weekly-from-monthly-multiplier",
    name: "Weekly limit from a monthly one",
    equation: "exp(z σ(1) − σ(1)²/2)/exp(z σ(n) − σ(n)²/2), z of 99 %, σ(n)² = ln(1 + CV²/n)",
    symbols: &[("CV", "coefficient of variation of daily values", "-"), ("n", "samples in a month", "-")],
    valid_range: "CV above 0, n from 1",
    outside: "an input that cannot be: no multiplier",
    source: "Wisconsin Admin. Code NR 106.07(3) Table 1 (seen); the equation is our reading of the table",
    standing: Standing::Seen,
};

/// Load.
pub static LOAD: Method = Method {
    id: "mass-load",
    name: "Mass load",
    equation: "load = concentration × flow of the same day; operators' form lb/d = mg/L × MGD × 8.34 (exact factor 8.345404)",
    symbols: &[
        ("load", "mass in a day", "lb/d or kg/d"),
        ("concentration", "of that day", "mg/L"),
        ("flow", "of that day", "MGD or m³/d"),
    ],
    valid_range: "concentration and flow of one day, from 0 up",
    outside: "concentration or flow below zero",
    source: "definition; the factor 8.34 is 0.065 % low, permits that print it mean it",
    standing: Standing::Computed,
};

/// Percent removal.
pub static PERCENT_REMOVAL: Method = Method {
    id: "percent-removal",
    name: "Percent removal",
    equation: "100 (1 − mean out/mean in), of averages over one window, not the mean of daily removals",
    symbols: &[("mean in, mean out", "averages over the window", "mg/L")],
    valid_range: "mean in above zero",
    outside: "nothing came in: undefined",
    source: "40 CFR 133.101(j), definition seen",
    standing: Standing::Seen,
};

/// Geometric mean.
pub static GEOMETRIC_MEAN: Method = Method {
    id: "geometric-mean",
    name: "Geometric mean",
    equation: "exp(Σ ln x/n); zero if any x is zero",
    symbols: &[("x", "result", "the result's unit"), ("n", "number of results", "-")],
    valid_range: "results from 0 up",
    outside: "no result, or one below zero: no mean",
    source: "definition",
    standing: Standing::Computed,
};

/// Substitution.
pub static SUBSTITUTION: Method = Method {
    id: "mean-with-substitution",
    name: "Mean with a share of the reporting limit for results below it",
    equation: "Σ (x or f × limit)/n",
    symbols: &[("x", "result", "the result's unit"), ("f", "share of the limit that the permit says: 0, ½ or 1", "-")],
    valid_range: "share 0 to 1, one result or more",
    outside: "no result: no mean",
    source: "permit conventions; the permit decides, never the program",
    standing: Standing::CommonPractice,
};

/// Regression on order statistics.
pub static ORDER_STATISTICS: Method = Method {
    id: "censored-order-statistics",
    name: "Results below a limit, regression on order statistics",
    equation: "ln x of detected results against normal values of their plotting positions (Hirsch and Stedinger); undetected ones read off the line; then mean, median, standard deviation of all",
    symbols: CENSORED,
    valid_range: "two different detected results or more, all above zero; a look at the data, never a permit's figure",
    outside: "fewer than two different detected results, or one not above zero: no answer",
    source: "Helsel and Cohn (1988); compared with the output printed for a public data set (Helsel 2005)",
    standing: Standing::Seen,
};

/// Kaplan and Meier.
pub static KAPLAN_MEIER: Method = Method {
    id: "censored-kaplan-meier",
    name: "Results below a limit, Kaplan-Meier mean",
    equation: "share below each detected result as product of (n(j) − d(j))/n(j) from the highest down; what is left is put at the lowest result or limit",
    symbols: &[
        ("n(j)", "results at or below the j-th detected one", "-"),
        ("d(j)", "detected results equal to it", "-"),
    ],
    valid_range: "one detected result or more; a look at the data, never a permit's figure",
    outside: "no detected result: no answer",
    source: "Kaplan and Meier (1958), turned about for low values as in Helsel (2005); compared with values computed from its data sets",
    standing: Standing::Computed,
};

/// Censored likelihood.
pub static CENSORED_LIKELIHOOD: Method = Method {
    id: "censored-lognormal-likelihood",
    name: "Results below a limit, greatest likelihood of a lognormal spread",
    equation: "maximise Σ ln φ((ln x − µ)/σ)/σ over detected + Σ ln Φ((ln x − µ)/σ) over undetected; mean = exp(µ + σ²/2)",
    symbols: CENSORED,
    valid_range: "two different detected results or more, all above zero; a look at the data, never a permit's figure",
    outside: "fewer than two different detected results, or one not above zero: no answer",
    source: "Cohen (1959); compared with the output printed for a public data set (Helsel 2005)",
    standing: Standing::Seen,
};

/// Poisson interval.
pub static POISSON_INTERVAL: Method = Method {
    id: "poisson-interval",
    name: "Interval of a yearly rate from a count of events",
    equation: "ends are the rates at which the count, or fewer or more, has half of what the confidence leaves; exact",
    symbols: &[("count", "events seen", "-"), ("confidence", "share, such as 0.95", "-")],
    valid_range: "events that do not depend on one another",
    outside: "confidence outside 0 to 1: no interval",
    source: "Garwood (1936)",
    standing: Standing::FromMemory,
};

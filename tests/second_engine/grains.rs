//! Grains by size: what share of a kind is in each class, what a table of sizes stops of it, how fast it settles.

use std::f64::consts::PI;

use bywash::facility::model::{CaptureRow, SolidsKind};

use super::given;
use super::solids::{EDGES_UM, ends_um, size_um};
use super::water::settling_velocity_m_s;

/// The standard normal deviate that nine tenths lie below (any table of the normal distribution; a test holds it).
const NINE_TENTHS: f64 = 1.281_551_565_544_600_5;

/// Share of a standard normal distribution above a deviate.
///
/// Abramowitz and Stegun, Handbook of Mathematical Functions (1964), chapter 26, from memory: near the middle the series
/// 26.2.11, Φ(x) = ½ + φ(x)·(x + x³/3 + x⁵/15 + …); in the tail the continued fraction 26.2.14,
/// 1 − Φ(x) = φ(x) / (x + 1/(x + 2/(x + 3/(x + …)))).
fn above(x: f64) -> f64 {
    if x < 0.0 {
        return 1.0 - above(-x);
    }
    let density = (-0.5 * x * x).exp() / (2.0 * PI).sqrt();
    if density == 0.0 {
        return 0.0;
    }
    if x > 3.0 {
        let fraction = (1..=200).rev().fold(x, |under, k| x + f64::from(k) / under);
        return density / fraction;
    }
    let (mut term, mut sum, mut odd) = (x, 0.0, 1.0);
    while term > 1e-18 * sum {
        sum += term;
        odd += 2.0;
        term *= x * x / odd;
    }
    0.5 - density * sum
}

/// Share of a standard normal distribution between two deviates, without losing the digits of a far tail.
fn between(low: f64, high: f64) -> f64 {
    if low > 0.0 {
        above(low) - above(high)
    } else if high < 0.0 {
        above(-high) - above(-low)
    } else {
        1.0 - above(-low) - above(high)
    }
}

/// Share of a kind's mass in each class.
///
/// The kind says what size half and what size nine tenths of the mass are finer than. Two points fix a lognormal spread,
/// which is how sizes of sediment are commonly described (Hatch and Choate 1929, from memory): median d₅₀ and
/// σ = ln(d₉₀/d₅₀)/z₀.₉. Classes by rule 1.3: the edges are upper ends, the first from 0, what is coarser goes in the last.
pub fn class_shares(kind: &SolidsKind) -> Vec<f64> {
    let half = given::m(&kind.half_finer) * 1e6;
    let spread = (given::m(&kind.nine_tenths_finer) * 1e6 / half).ln() / NINE_TENTHS;
    let last = EDGES_UM.len() - 1;
    (0..=last)
        .map(|class| {
            let (low, high) = ends_um(class);
            let high = if class == last { f64::INFINITY } else { high };
            if spread == 0.0 {
                return f64::from(u8::from(low < half && half <= high));
            }
            let deviate = |size: f64| (size / half).ln() / spread;
            between(deviate(low), deviate(high))
        })
        .collect()
}

/// Lower and upper end of a class by the logarithm of the size in µm; the first reaches as far below its own size as above.
fn log_ends(class: usize) -> (f64, f64) {
    let (low, high) = ends_um(class);
    let low = if class == 0 { size_um(0).powi(2) / high } else { low };
    (low.ln(), high.ln())
}

/// Share that a table of sizes stops of a class: the mean over the class of the table's curve.
///
/// Mass lies evenly over the logarithm of the size within a class (rule 1.3), and the curve runs straight in it between
/// two rows, beyond the ends as the row at that end. Neither has a source; both are what the report's list of methods
/// says of capture by size. The integral of straight pieces is that of trapezia.
pub fn table_capture(rows: &[CaptureRow], class: usize) -> f64 {
    let mut points: Vec<(f64, f64)> =
        rows.iter().map(|row| ((given::m(&row.size) * 1e6).ln(), given::share(&row.share))).collect();
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    let at = |size: f64| -> f64 {
        let Some(next) = points.iter().position(|(at, _)| *at >= size) else {
            return points.last().map_or(0.0, |(_, share)| *share);
        };
        let (high, above) = points[next];
        if next == 0 {
            return above;
        }
        let (low, below) = points[next - 1];
        below + (above - below) * (size - low) / (high - low)
    };
    let (low, high) = log_ends(class);
    let bends = points.iter().map(|(size, _)| *size);
    let stops: Vec<f64> =
        [low].into_iter().chain(bends.filter(|size| low < *size && *size < high)).chain([high]).collect();
    let area: f64 = stops.windows(2).map(|piece| 0.5 * (at(piece[0]) + at(piece[1])) * (piece[1] - piece[0])).sum();
    area / (high - low)
}

/// Settling velocity of a class of a kind, m/d, from a table of whole degrees between 0 and 40 °C (rule 2, A).
pub fn settles_m_d(kind: &SolidsKind, class: usize, celsius: f64) -> f64 {
    let Some(density) = kind.density.as_ref().filter(|_| !kind.floats) else {
        return 0.0;
    };
    let at = |degree: f64| settling_velocity_m_s(size_um(class) * 1e-6, given::kg_m3(density), degree) * given::SECONDS;
    let celsius = celsius.clamp(0.0, 40.0);
    let below = celsius.floor();
    let part = celsius - below;
    if part == 0.0 { at(below) } else { at(below) * (1.0 - part) + at(below + 1.0) * part }
}

/// Abramowitz and Stegun, table 26.1, from memory: Q(1) = 0.158655253931457, Q(2) = 0.022750131948179; both ways of
/// computing meet where one takes over from the other.
#[test]
fn the_normal_distribution_is_that_of_the_tables() {
    for (x, expected) in [(1.0, 0.158_655_253_931_457), (2.0, 0.022_750_131_948_179)] {
        assert!((above(x) - expected).abs() < 1e-15, "{x}: {}", above(x));
    }
    let (series, fraction) = (above(3.0), above(3.0_f64.next_up()));
    assert!((series / fraction - 1.0).abs() < 1e-12, "{series} {fraction}");
    assert!((above(NINE_TENTHS) - 0.1).abs() < 1e-15);
}

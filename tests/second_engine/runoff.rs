//! Runoff of a catchment: a share of the rain, or curve numbers by how wet the ground is.

use bywash::facility::model::{GroundBefore, Part, RunoffRule};

use super::given;

/// How wet the ground is before the rain.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wetness {
    Dry,
    Average,
    Wet,
}

const INCH_M: f64 = 0.0254;

/// How wet the ground is by the rain of the five days before.
///
/// Soil Conservation Service, National Engineering Handbook section 4 (1972), table 4.2, seen as public reports reprint
/// it: dry below 0.5 inch, wet above 1.1 inches; in the growing season below 1.4 and above 2.1.
pub fn wetness(five_days_m: f64, growing: bool) -> Wetness {
    let (dry_below, wet_above) = if growing { (1.4, 2.1) } else { (0.5, 1.1) };
    if five_days_m < dry_below * INCH_M {
        Wetness::Dry
    } else if five_days_m > wet_above * INCH_M {
        Wetness::Wet
    } else {
        Wetness::Average
    }
}

/// Curve numbers of average, dry and wet ground.
///
/// National Engineering Handbook part 630, chapter 10, table 10-1, every fifth row. The rows at whole tens were seen, as
/// a textbook reprints them (check values R045 to R057); the others are from memory.
const BY_WETNESS: [(f64, f64, f64); 15] = [
    (30.0, 15.0, 50.0),
    (35.0, 18.0, 54.0),
    (40.0, 22.0, 60.0),
    (45.0, 26.0, 65.0),
    (50.0, 31.0, 70.0),
    (55.0, 35.0, 74.0),
    (60.0, 40.0, 78.0),
    (65.0, 45.0, 82.0),
    (70.0, 51.0, 85.0),
    (75.0, 57.0, 88.0),
    (80.0, 63.0, 91.0),
    (85.0, 70.0, 94.0),
    (90.0, 78.0, 96.0),
    (95.0, 87.0, 98.0),
    (100.0, 100.0, 100.0),
];

/// The curve number of ground by its wetness: every fifth row of the table, straight between. The handbook prints a row
/// for each whole number; that every fifth is used is what the report's list of methods says of the number.
fn by_wetness(average: f64, ground: Wetness) -> f64 {
    let of = |row: &(f64, f64, f64)| match ground {
        Wetness::Dry => row.1,
        Wetness::Average => row.0,
        Wetness::Wet => row.2,
    };
    let next = BY_WETNESS.iter().position(|(at, ..)| *at >= average).unwrap_or(BY_WETNESS.len() - 1).max(1);
    let (low, high) = (&BY_WETNESS[next - 1], &BY_WETNESS[next]);
    of(low) + (of(high) - of(low)) * (average - low.0) / (high.0 - low.0)
}

/// Depth of runoff of a ground with a curve number, m.
///
/// Soil Conservation Service, TR-55 (1986), equations 2-1 to 2-4: Q = (P − Ia)²/(P − Ia + S), Ia = 0.2·S,
/// S = 1000/CN − 10 inches; nothing runs off up to Ia. The check values quote it (seen).
fn depth_m(number: f64, rain_m: f64) -> f64 {
    let most_kept = (1000.0 / number - 10.0) * INCH_M;
    let left = rain_m - 0.2 * most_kept;
    if left <= 0.0 {
        return 0.0;
    }
    left * left / (left + most_kept)
}

/// Runoff of a catchment of a day's rain, m³.
///
/// A share: of what the first rain soaked up leaves. Curve numbers: grounds of one catchment run off by one composite
/// number, weighed by area (TR-55, worksheet 2) and worked out before the depth, for each wetness before the rain
/// (DEVELOPERS.md, "The day").
pub fn catchment_m3(parts: &[Part], rain_m: f64, by_rain: Wetness) -> f64 {
    let mut total = 0.0;
    for part in parts {
        if let RunoffRule::Share { runs_off, first_soaked_up } = &part.runoff {
            let soaked = first_soaked_up.as_ref().map_or(0.0, given::m);
            total += given::share(runs_off) * (rain_m - soaked).max(0.0) * given::m2(&part.area);
        }
    }
    for ground in [GroundBefore::Average, GroundBefore::Dry, GroundBefore::Wet, GroundBefore::ByRain] {
        let (mut area, mut weighed) = (0.0, 0.0);
        for part in parts.iter().filter(|part| part.ground == ground) {
            if let RunoffRule::CurveNumber(number) = &part.runoff {
                area += given::m2(&part.area);
                weighed += given::m2(&part.area) * given::share(number);
            }
        }
        if area > 0.0 {
            let wetness = match ground {
                GroundBefore::Average => Wetness::Average,
                GroundBefore::Dry => Wetness::Dry,
                GroundBefore::Wet => Wetness::Wet,
                GroundBefore::ByRain => by_rain,
            };
            total += depth_m(by_wetness(weighed / area, wetness), rain_m) * area;
        }
    }
    total
}

/// TR-55, table 2-1 (check values R001 to R025), inches.
#[test]
fn runoff_is_that_of_the_published_table() {
    for (rain, number, expected) in
        [(1.0, 75.0, 0.03), (1.4, 85.0, 0.39), (2.5, 95.0, 1.96), (5.0, 45.0, 0.44), (12.0, 40.0, 3.38)]
    {
        let depth = depth_m(number, rain * INCH_M) / INCH_M;
        assert!((depth - expected).abs() <= 0.005 + 1e-9, "{rain} {number}: {depth}");
    }
}

/// Check values R045 to R057.
#[test]
fn dry_and_wet_numbers_are_those_of_the_published_table() {
    for (average, expected) in [(90.0, 96.0), (70.0, 85.0), (60.0, 78.0), (30.0, 50.0)] {
        assert_eq!(by_wetness(average, Wetness::Wet), expected);
    }
    for (average, expected) in [(80.0, 63.0), (70.0, 51.0), (50.0, 31.0), (40.0, 22.0)] {
        assert_eq!(by_wetness(average, Wetness::Dry), expected);
    }
}

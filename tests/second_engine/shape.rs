//! Level, volume and area of a pond: level and area in a table, or sloped sides on a rectangle.

use bywash::facility::model::{Pond, PondShape};

use super::given;

/// Straight pieces into which a prismoid's area by volume is cut (DEVELOPERS.md, "The day").
const PIECES: u32 = 16;

/// Levels between which a prismoid's area by volume is straight.
///
/// They lie closer together near the floor: piece i ends at (i/16)^1.5 of the depth (the same decision). The power was
/// not worked out from anything; it was measured from outside, at the volumes where the area given for a volume bends.
fn bends(depth: f64) -> impl Iterator<Item = f64> {
    (0..=PIECES).map(move |i| depth * (f64::from(i) / f64::from(PIECES)).powf(1.5))
}

/// Area by level, levels from the floor.
#[derive(Debug, Clone)]
enum Sides {
    /// Level and area, lowest first; the area runs straight between rows.
    Table(Vec<(f64, f64)>),
    /// A rectangle at the floor whose sides slope outwards.
    Prismoid { floor_length: f64, floor_width: f64, slope: f64 },
}

impl Sides {
    /// Area at a level, m²; beyond a table's ends that of the row at the end.
    fn area_m2(&self, level: f64) -> f64 {
        match self {
            Self::Table(rows) => {
                let Some(next) = rows.iter().position(|(at, _)| *at >= level) else {
                    return rows[rows.len() - 1].1;
                };
                let (high, above) = rows[next];
                if next == 0 {
                    return above;
                }
                let (low, below) = rows[next - 1];
                below + (above - below) * (level - low) / (high - low)
            }
            Self::Prismoid { floor_length, floor_width, slope } => {
                let wider = 2.0 * slope * level.max(0.0);
                (floor_length + wider) * (floor_width + wider)
            }
        }
    }

    /// Volume under a level, m³: the integral of the area.
    ///
    /// Between rows of a table the area is a straight line, so that the volume is the mean of two areas by the height. A
    /// prismoid's area is a square of the level; Simpson's (the prismoidal) rule, h/6·(A₀ + 4·A½ + A₁), is exact for it.
    fn volume_m3(&self, level: f64) -> f64 {
        match self {
            Self::Table(rows) => {
                let mut volume = 0.0;
                let mut low = rows[0].0;
                let tops = rows.iter().skip(1).map(|(at, _)| *at);
                for high in tops.chain([f64::INFINITY]) {
                    let high = high.min(level);
                    if high <= low {
                        break;
                    }
                    volume += 0.5 * (self.area_m2(low) + self.area_m2(high)) * (high - low);
                    low = high;
                }
                volume
            }
            Self::Prismoid { .. } => {
                let level = level.max(0.0);
                level / 6.0 * (self.area_m2(0.0) + 4.0 * self.area_m2(0.5 * level) + self.area_m2(level))
            }
        }
    }
}

/// A pond's shape, levels from the floor.
#[derive(Debug, Clone)]
pub struct Shape {
    sides: Sides,
    /// Volumes with the square of the area there, between which A² is straight in the volume (rule 7.1).
    squares: Vec<(f64, f64)>,
    /// Spill level, m.
    pub spill_m: f64,
    /// Area on which rain falls, m²: at the bank top.
    pub footprint_m2: f64,
}

impl Shape {
    pub fn of(pond: &Pond) -> Self {
        let (sides, spill_m) = match &pond.shape {
            PondShape::Table { rows, spill_level } => {
                let rows = rows.iter().map(|row| (given::m(&row.level), given::m2(&row.area))).collect();
                (Sides::Table(rows), given::m(spill_level))
            }
            PondShape::Prismoid { length, width, depth, side_slope } => {
                let depth = given::m(depth);
                let slope = given::share(side_slope);
                // Length and width are those at the spill level.
                let sides = Sides::Prismoid {
                    floor_length: given::m(length) - 2.0 * slope * depth,
                    floor_width: given::m(width) - 2.0 * slope * depth,
                    slope,
                };
                (sides, depth)
            }
        };
        // Where area is straight in level, A² is straight in volume: the rows of a table are enough.
        let levels: Vec<f64> = match &sides {
            Sides::Table(rows) => rows.iter().map(|(level, _)| *level).collect(),
            Sides::Prismoid { .. } => bends(spill_m).collect(),
        };
        let squares = levels.into_iter().map(|level| (sides.volume_m3(level), sides.area_m2(level).powi(2))).collect();
        let freeboard = pond.freeboard_above_spill.as_ref().map_or(0.0, given::m);
        Self { squares, spill_m, footprint_m2: sides.area_m2(spill_m + freeboard), sides }
    }

    /// Volume of sludge of a depth over the floor, m³; no more than lies under the spill level.
    pub fn sludge_m3(&self, depth: f64) -> f64 {
        let floor = match &self.sides {
            Sides::Table(rows) => rows[0].0,
            Sides::Prismoid { .. } => 0.0,
        };
        self.volume_at_level(floor + depth).min(self.volume_at_level(self.spill_m))
    }

    /// Volume under a level, m³.
    pub fn volume_at_level(&self, level: f64) -> f64 {
        self.sides.volume_m3(level)
    }

    /// Area of the water at a volume, m²: A² is piecewise straight in the volume; the last piece goes on.
    pub fn area_at_volume(&self, volume: f64) -> f64 {
        let last = self.squares.len() - 1;
        let next = self.squares.iter().position(|(at, _)| *at >= volume).unwrap_or(last).max(1);
        let (low, below) = self.squares[next - 1];
        let (high, above) = self.squares[next];
        let share = (volume - low).max(0.0) / (high - low);
        (below + (above - below) * share).sqrt()
    }
}

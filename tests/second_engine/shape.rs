//! Level, volume and area of a pond, from the room of ponds.

use bywash::facility::model::{Pond, PondShape};
use bywash::ponds::{DAY_STEP_SLICES, HingeTable, LevelTable, Prismoid, Shape as Curve};
use uom::si::area::square_meter;
use uom::si::f64::{Area, Length, Ratio, Volume};
use uom::si::length::meter;
use uom::si::ratio::ratio;
use uom::si::volume::cubic_meter;

use super::given;

/// A pond's shape, levels from the floor.
#[derive(Debug, Clone)]
pub struct Shape {
    curve: Curve,
    hinges: HingeTable,
    /// Spill level, m.
    pub spill_m: f64,
    /// Area on which rain falls, m².
    pub footprint_m2: f64,
}

impl Shape {
    pub fn of(pond: &Pond) -> Self {
        let length = Length::new::<meter>;
        let freeboard = pond.freeboard_above_spill.as_ref().map_or(0.0, given::m);
        let curve = match &pond.shape {
            PondShape::Table { rows, spill_level } => {
                let rows: Vec<(Length, Area)> = rows
                    .iter()
                    .map(|row| {
                        (
                            length(given::m(&row.level)),
                            Area::new::<square_meter>(given::m2(&row.area)),
                        )
                    })
                    .collect();
                Curve::Table(
                    LevelTable::new(&rows, length(given::m(spill_level))).expect("a shape"),
                )
            }
            PondShape::Prismoid {
                length: l,
                width,
                depth,
                side_slope,
            } => Curve::Prismoid(
                Prismoid::new(
                    length(given::m(l)),
                    length(given::m(width)),
                    length(given::m(depth)),
                    Ratio::new::<ratio>(given::share(side_slope)),
                )
                .expect("a shape"),
            ),
        };
        Self {
            hinges: curve.hinges(DAY_STEP_SLICES),
            spill_m: curve.spill_level().get::<meter>(),
            footprint_m2: curve
                .crest_area(length(freeboard))
                .value
                .get::<square_meter>(),
            curve,
        }
    }

    /// Volume of sludge of a depth over the floor, m³; no more than lies under the spill level.
    pub fn sludge_m3(&self, depth: f64) -> f64 {
        let floor = self.curve.lowest_level().get::<meter>();
        self.volume_at_level(floor + depth)
            .min(self.volume_at_level(self.spill_m))
    }

    /// Volume under a level, m³.
    pub fn volume_at_level(&self, level: f64) -> f64 {
        self.curve
            .volume_at(Length::new::<meter>(level))
            .value
            .get::<cubic_meter>()
    }

    /// Area of the water at a volume, m²: A² is piecewise straight in the volume.
    pub fn area_at_volume(&self, volume: f64) -> f64 {
        self.hinges
            .area_of(Volume::new::<cubic_meter>(volume))
            .value
            .get::<square_meter>()
    }
}

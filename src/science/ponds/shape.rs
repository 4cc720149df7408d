//! Level, area and volume of a pond or tank, both ways.

use crate::science::Ranged;
use crate::science::ponds::HingeTable;
use crate::science::ponds::records;
use thiserror::Error;
use uom::si::area::square_meter;
use uom::si::f64::{Area, Length, Ratio, Volume};
use uom::si::length::meter;
use uom::si::ratio::ratio;
use uom::si::volume::cubic_meter;

/// Why a shape cannot be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum ShapeError {
    /// A length, width or depth is not above zero, or the slope is below zero.
    #[error("length, width and depth must be above zero, and the side slope not below it")]
    NotPositive,
    /// The sides meet above the bottom.
    #[error("the sides meet before they reach the bottom: the slope is too flat for this depth")]
    SidesMeet,
    /// A level table has fewer than two rows.
    #[error("a level table needs two rows or more")]
    TooFewRows,
    /// Levels do not rise, areas shrink upwards or are negative, or the spill level lies outside the table.
    #[error("levels must rise, areas must not shrink upwards, and the spill level must lie within the table")]
    TableOrder,
}

/// A pond with a rectangular bottom and plane sides, measured at spill level. Levels are counted from its bottom.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prismoid {
    length: f64,
    width: f64,
    depth: f64,
    slope: f64,
}

impl Prismoid {
    /// Length and width of the water at spill level, depth from the lowest level to it, side slope as horizontal to one
    /// vertical. Record: [`records::PRISMOID`].
    pub fn new(length: Length, width: Length, depth: Length, slope: Ratio) -> Result<Self, ShapeError> {
        let shape = Self {
            length: length.get::<meter>(),
            width: width.get::<meter>(),
            depth: depth.get::<meter>(),
            slope: slope.get::<ratio>(),
        };
        let sizes = [shape.length, shape.width, shape.depth];
        let real = |size: &f64| size.is_finite() && *size > 0.0;
        if !(sizes.iter().all(real) && shape.slope.is_finite() && shape.slope >= 0.0) {
            return Err(ShapeError::NotPositive);
        }
        let (l, w) = shape.bottom();
        // A bottom that is a line or a point still is a pond; rounding of "just meets" is allowed.
        if l < -1e-9 * shape.length || w < -1e-9 * shape.width {
            return Err(ShapeError::SidesMeet);
        }
        Ok(shape)
    }

    fn bottom(&self) -> (f64, f64) {
        let narrowing = 2.0 * self.slope * self.depth;
        (self.length - narrowing, self.width - narrowing)
    }

    fn area(&self, y: f64) -> f64 {
        let (l, w) = self.bottom();
        ((l + 2.0 * self.slope * y) * (w + 2.0 * self.slope * y)).max(0.0)
    }

    fn volume(&self, y: f64) -> f64 {
        let (l, w) = self.bottom();
        let z = self.slope;
        y * (l * w + y * (z * (l + w) + y * (4.0 / 3.0 * z * z)))
    }

    fn level(&self, volume: f64) -> f64 {
        // The volume rises with level and is convex above the bottom, so Newton's steps from above come down to the level
        // and never pass it.
        let mut level = self.depth;
        for _ in 0..60 {
            if self.volume(level) >= volume {
                break;
            }
            level *= 2.0;
        }
        for _ in 0..200 {
            let next = level - (self.volume(level) - volume) / self.area(level);
            // Not below the last step: there, or a bottom without area.
            if next.is_nan() || next >= level {
                break;
            }
            level = next.max(0.0);
        }
        level
    }
}

/// Level, area, volume below the level: m, m², m³.
type TableRow = (f64, f64, f64);

/// A pond surveyed as levels and areas. Levels keep the survey's datum.
#[derive(Debug, Clone, PartialEq)]
pub struct LevelTable {
    rows: Vec<TableRow>,
    spill: f64,
}

impl LevelTable {
    /// Rising levels with their areas; the spill level may lie below the last row, which is then the crest. Record:
    /// [`records::LEVEL_TABLE`].
    pub fn new(rows: &[(Length, Area)], spill: Length) -> Result<Self, ShapeError> {
        if rows.len() < 2 {
            return Err(ShapeError::TooFewRows);
        }
        let mut table: Vec<TableRow> = Vec::with_capacity(rows.len());
        for (level, area) in rows {
            let (level, area) = (level.get::<meter>(), area.get::<square_meter>());
            let below = match table.last() {
                None if area >= 0.0 && level.is_finite() => 0.0,
                Some(&(y, a, v)) if level > y && area >= a && level.is_finite() => v + 0.5 * (a + area) * (level - y),
                _ => return Err(ShapeError::TableOrder),
            };
            if !area.is_finite() {
                return Err(ShapeError::TableOrder);
            }
            table.push((level, area, below));
        }
        let spill = spill.get::<meter>();
        match (table.first(), table.last()) {
            (Some(first), Some(last)) if spill > first.0 && spill <= last.0 && last.2 > 0.0 => {}
            _ => return Err(ShapeError::TableOrder),
        }
        Ok(Self { rows: table, spill })
    }

    fn lowest(&self) -> f64 {
        self.rows.first().map_or(0.0, |row| row.0)
    }

    fn top(&self) -> TableRow {
        self.rows.last().copied().unwrap_or((0.0, 0.0, 0.0))
    }

    /// The rows on either side of the level or volume that `key` picks.
    fn around(&self, value: f64, key: fn(&TableRow) -> f64) -> Option<(TableRow, TableRow)> {
        let after = self.rows.partition_point(|row| key(row) <= value);
        Some((*self.rows.get(after.checked_sub(1)?)?, *self.rows.get(after)?))
    }

    fn area(&self, level: f64) -> f64 {
        match self.around(level, |row| row.0) {
            Some((a, b)) => a.1 + (b.1 - a.1) * (level - a.0) / (b.0 - a.0),
            None if level < self.lowest() => self.rows.first().map_or(0.0, |row| row.1),
            None => self.top().1,
        }
    }

    fn volume(&self, level: f64) -> f64 {
        match self.around(level, |row| row.0) {
            Some((a, _)) => a.2 + 0.5 * (a.1 + self.area(level)) * (level - a.0),
            None if level < self.lowest() => 0.0,
            None => {
                let top = self.top();
                top.2 + top.1 * (level - top.0)
            }
        }
    }

    fn level(&self, volume: f64) -> f64 {
        match self.around(volume, |row| row.2) {
            Some((a, b)) => {
                // Volume in the slice: a.1·y + ½·g·y², solved in the form that stays exact as g goes to zero.
                let growth = (b.1 - a.1) / (b.0 - a.0);
                let more = volume - a.2;
                let root = (a.1 * a.1 + 2.0 * growth * more).sqrt();
                if a.1 + root > 0.0 { a.0 + 2.0 * more / (a.1 + root) } else { a.0 }
            }
            None if volume < 0.0 => self.lowest(),
            None => {
                let top = self.top();
                top.0 + (volume - top.2) / top.1
            }
        }
    }
}

/// The shape of a pond or tank.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// Rectangular bottom, plane sides.
    Prismoid(Prismoid),
    /// Surveyed levels and areas.
    Table(LevelTable),
}

impl Shape {
    /// A tank with upright walls: water area and depth to its overflow.
    pub fn upright(area: Area, depth: Length) -> Result<Self, ShapeError> {
        let (a, d) = (area.get::<square_meter>(), depth.get::<meter>());
        if !(a.is_finite() && a > 0.0 && d.is_finite() && d > 0.0) {
            return Err(ShapeError::NotPositive);
        }
        LevelTable::new(&[(Length::new::<meter>(0.0), area), (depth, area)], depth).map(Self::Table)
    }

    /// Lowest level: zero for a prismoid, the first row of a table.
    pub fn lowest_level(&self) -> Length {
        Length::new::<meter>(match self {
            Self::Prismoid(_) => 0.0,
            Self::Table(table) => table.lowest(),
        })
    }

    /// Spill level.
    pub fn spill_level(&self) -> Length {
        Length::new::<meter>(match self {
            Self::Prismoid(prismoid) => prismoid.depth,
            Self::Table(table) => table.spill,
        })
    }

    /// Volume at spill level.
    pub fn capacity(&self) -> Volume {
        self.volume_at(self.spill_level()).value
    }

    /// Water area at a level. Marked outside below the bottom and above the spill level (or the table's end).
    pub fn area_at(&self, level: Length) -> Ranged<Area> {
        let y = level.get::<meter>();
        match self {
            Self::Prismoid(prismoid) => {
                let area = prismoid.area(if y < 0.0 { 0.0 } else { y });
                Ranged::new(Area::new::<square_meter>(area), &records::PRISMOID, (0.0..=prismoid.depth).contains(&y))
            }
            Self::Table(table) => Ranged::new(
                Area::new::<square_meter>(table.area(y)),
                &records::LEVEL_TABLE,
                (table.lowest()..=table.top().0).contains(&y),
            ),
        }
    }

    /// Volume below a level. Marked as [`Shape::area_at`] is.
    pub fn volume_at(&self, level: Length) -> Ranged<Volume> {
        let y = level.get::<meter>();
        match self {
            Self::Prismoid(prismoid) => {
                let volume = prismoid.volume(if y < 0.0 { 0.0 } else { y });
                Ranged::new(Volume::new::<cubic_meter>(volume), &records::PRISMOID, (0.0..=prismoid.depth).contains(&y))
            }
            Self::Table(table) => Ranged::new(
                Volume::new::<cubic_meter>(table.volume(y)),
                &records::LEVEL_TABLE,
                (table.lowest()..=table.top().0).contains(&y),
            ),
        }
    }

    /// Level of a volume: the inverse of [`Shape::volume_at`]. Marked outside below nothing and above the capacity.
    pub fn level_at(&self, volume: Volume) -> Ranged<Length> {
        let v = volume.get::<cubic_meter>();
        let within = (0.0..=self.capacity().get::<cubic_meter>() * (1.0 + 1e-12)).contains(&v);
        let (level, method) = match self {
            Self::Prismoid(_) if v.is_nan() => (f64::NAN, &records::PRISMOID),
            Self::Prismoid(prismoid) => (prismoid.level(v.max(0.0)), &records::PRISMOID),
            Self::Table(table) => (table.level(v), &records::LEVEL_TABLE),
        };
        Ranged::new(Length::new::<meter>(level), method, within)
    }

    /// Water area of a volume.
    pub fn area_of(&self, volume: Volume) -> Ranged<Area> {
        let level = self.level_at(volume);
        let within = level.within;
        let mut area = self.area_at(level.value);
        area.within = within;
        area
    }

    /// Area within the crest, a freeboard above the spill level: what rain falls on. For a prismoid its sides are carried
    /// on; a table must reach the crest, else its last area stands in and the result is marked.
    pub fn crest_area(&self, freeboard: Length) -> Ranged<Area> {
        let crest = self.spill_level() + freeboard;
        let mut area = self.area_at(crest);
        if matches!(self, Self::Prismoid(_)) {
            area.within = freeboard.get::<meter>() >= 0.0;
        }
        area
    }

    /// Freeboard left at a level: height from the water to the crest. Negative when the bank is overtopped.
    pub fn freeboard_at(&self, level: Length, freeboard: Length) -> Length {
        self.spill_level() + freeboard - level
    }

    /// Volume between a level and the spill level: how much water the pond can still take. Nothing above it.
    pub fn room_at(&self, level: Length) -> Volume {
        let room = self.capacity() - self.volume_at(level).value;
        if room.get::<cubic_meter>() < 0.0 { Volume::new::<cubic_meter>(0.0) } else { room }
    }

    /// Area by volume as straight pieces of A² in V, for the day step; a prismoid is cut into `slices` (one at least).
    /// Record: [`records::HINGES`].
    pub fn hinges(&self, slices: usize) -> HingeTable {
        let points = match self {
            Self::Prismoid(prismoid) => {
                let slices = slices.max(1);
                (0..=slices)
                    .map(|slice| {
                        // Closer together near the floor, where the area changes most.
                        let part = slice as f64 / slices as f64;
                        let y = prismoid.depth * part * part.sqrt();
                        (prismoid.volume(y), prismoid.area(y))
                    })
                    .collect()
            }
            Self::Table(table) => {
                let mut points: Vec<(f64, f64)> =
                    table.rows.iter().filter(|row| row.0 < table.spill).map(|row| (row.2, row.1)).collect();
                points.push((table.volume(table.spill), table.area(table.spill)));
                points
            }
        };
        HingeTable::from_points(&points)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn m(value: f64) -> Length {
        Length::new::<meter>(value)
    }

    fn pond() -> Shape {
        Shape::Prismoid(Prismoid::new(m(40.0), m(20.0), m(2.5), Ratio::new::<ratio>(3.0)).expect("sides do not meet"))
    }

    #[test]
    fn volume_of_a_prismoid_is_simpsons_rule_on_its_areas() {
        // Simpson's rule is exact for a quadratic area: bottom 25 × 5, middle 32.5 × 12.5, top 40 × 20.
        let by_simpson = 2.5 / 6.0 * (25.0 * 5.0 + 4.0 * 32.5 * 12.5 + 40.0 * 20.0);
        assert!((pond().capacity().get::<cubic_meter>() - by_simpson).abs() < 1e-9);
        assert!((pond().area_at(m(2.5)).value.get::<square_meter>() - 800.0).abs() < 1e-9);
    }

    #[test]
    fn the_crest_lies_outside_the_water_at_spill_level() {
        let crest = pond().crest_area(m(0.5));
        assert!((crest.value.get::<square_meter>() - 43.0 * 23.0).abs() < 1e-9);
        assert!(crest.within);
        assert!((pond().freeboard_at(m(2.0), m(0.5)).get::<meter>() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn sides_that_meet_above_the_bottom_are_refused() {
        let steep = Prismoid::new(m(10.0), m(10.0), m(2.0), Ratio::new::<ratio>(3.0));
        assert_eq!(steep, Err(ShapeError::SidesMeet));
        let flat = Prismoid::new(m(0.0), m(10.0), m(2.0), Ratio::new::<ratio>(1.0));
        assert_eq!(flat, Err(ShapeError::NotPositive));
    }

    #[test]
    fn a_level_table_out_of_order_is_refused() {
        let area = |a: f64| Area::new::<square_meter>(a);
        let falling = [(m(1.0), area(10.0)), (m(0.5), area(20.0))];
        assert_eq!(LevelTable::new(&falling, m(1.0)), Err(ShapeError::TableOrder));
        let shrinking = [(m(0.0), area(20.0)), (m(1.0), area(10.0))];
        assert_eq!(LevelTable::new(&shrinking, m(1.0)), Err(ShapeError::TableOrder));
        let rows = [(m(0.0), area(10.0)), (m(1.0), area(20.0))];
        assert_eq!(LevelTable::new(&rows, m(1.5)), Err(ShapeError::TableOrder));
        assert_eq!(LevelTable::new(&rows[..1], m(0.5)), Err(ShapeError::TooFewRows));
    }

    #[test]
    fn rain_that_a_full_pond_can_still_take_is_nothing() {
        assert_eq!(pond().room_at(m(2.5)).get::<cubic_meter>(), 0.0);
        assert_eq!(pond().room_at(m(3.0)).get::<cubic_meter>(), 0.0);
        assert!((pond().room_at(m(0.0)) - pond().capacity()).get::<cubic_meter>().abs() < 1e-9);
    }

    proptest! {
        #[test]
        fn a_level_lost_on_the_way_to_volume_and_back_would_move_the_spill(
            length in 5.0..200.0f64, width in 5.0..100.0f64, depth in 0.3..5.0f64, lean in 0.0..1.0f64, part in 0.0..1.0f64,
        ) {
            let slope = lean * 0.5 * length.min(width) / depth;
            let prismoid = Prismoid::new(m(length), m(width), m(depth), Ratio::new::<ratio>(slope)).expect("fits");
            let shape = Shape::Prismoid(prismoid);
            let level = m(part * depth);
            let back = shape.level_at(shape.volume_at(level).value);
            prop_assert!((back.value - level).get::<meter>().abs() < 1e-6 * depth.max(1.0));
            let rows: Vec<(Length, Area)> = (0..=4)
                .map(|i| {
                    let y = m(100.0 + depth * f64::from(i) / 4.0);
                    (y, shape.area_at(y - m(100.0)).value)
                })
                .collect();
            let table = Shape::Table(LevelTable::new(&rows, m(100.0 + depth)).expect("rising"));
            let level = m(100.0) + level;
            let back = table.level_at(table.volume_at(level).value);
            prop_assert!((back.value - level).get::<meter>().abs() < 1e-6 * depth.max(1.0));
        }
    }
}

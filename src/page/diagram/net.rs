//! The picture by number: places, names, and the links between them.

use std::collections::BTreeMap;

use crate::page::diagram::stream;
use crate::page::document::{Carries, Diagram, Side, Way};

/// Width of the widest band.
pub const WIDEST: f32 = 10.0;
/// Width of a line that stands for little water.
pub const THIN: f32 = 1.2;
/// Width of a line on which nothing flowed.
pub const HAIR: f32 = 0.5;
/// From this width on a way is a band with two edges.
pub const BAND: f32 = 2.4;

/// Where a way ends: a place or a name outside, by its index.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum End {
    Place(usize),
    Name(usize),
}

/// A way whose two ends are in the picture.
#[derive(Debug, Clone)]
pub struct Link {
    /// Index of the way.
    pub way: usize,
    pub from: End,
    pub to: End,
    /// Width of its line or band.
    pub width: f32,
    /// How much it counts for when places are arranged.
    pub weight: f32,
    /// Whether it goes on with the main stream; else it closes a loop.
    pub onward: bool,
}

/// How wide a volume is drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    per_unit: f64,
}

impl Scale {
    /// The scale on which the largest volume takes the widest band.
    pub fn of(diagram: &Diagram) -> Self {
        let most = diagram.ways.iter().filter_map(|way| way.volume).fold(0.0_f64, f64::max);
        Self { per_unit: if most > 0.0 { f64::from(WIDEST) / most } else { 0.0 } }
    }

    /// The width of a way.
    pub fn width(self, way: &Way) -> f32 {
        match way.volume {
            Some(_) if way.carries == Carries::Solids => THIN,
            Some(volume) => ((volume * self.per_unit) as f32).clamp(THIN, WIDEST),
            None => HAIR,
        }
    }

    /// A round volume and its width, for the key; none where no way has a volume.
    pub fn sample(self) -> Option<(f64, f32)> {
        if self.per_unit <= 0.0 {
            return None;
        }
        let most = f64::from(WIDEST) / self.per_unit;
        let power = 10_f64.powf(most.log10().floor());
        let round = [5.0, 2.0, 1.0].into_iter().map(|step| step * power).find(|round| *round <= most).unwrap_or(power);
        Some((round, (round * self.per_unit) as f32))
    }

    /// The volume below which a way is a plain line.
    pub fn least(self) -> Option<f64> {
        (self.per_unit > 0.0).then(|| f64::from(THIN) / self.per_unit)
    }
}

/// The ways of a picture by number.
#[derive(Debug, Clone)]
pub struct Net {
    pub places: usize,
    /// The side of each name.
    pub sides: Vec<Side>,
    pub links: Vec<Link>,
}

impl Net {
    /// The picture by number; ways that lead nowhere or back to where they begin are left out.
    pub fn of(diagram: &Diagram, scale: Scale) -> Self {
        let mut ends: BTreeMap<&str, End> = BTreeMap::new();
        for (i, name) in diagram.outside.iter().enumerate() {
            ends.insert(&name.id, End::Name(i));
        }
        for (i, place) in diagram.places.iter().enumerate() {
            ends.insert(&place.id, End::Place(i));
        }
        let links = diagram.ways.iter().enumerate().filter_map(|(i, way)| {
            let (from, to) = (*ends.get(way.from.as_str())?, *ends.get(way.to.as_str())?);
            let inside = matches!(from, End::Place(_)) || matches!(to, End::Place(_));
            let width = scale.width(way);
            let weight = if way.volume.is_some() { 1.0 + width / 2.0 } else { 0.4 };
            (from != to && inside).then_some(Link { way: i, from, to, width, weight, onward: true })
        });
        let mut net = Self {
            places: diagram.places.len(),
            sides: diagram.outside.iter().map(|name| name.side).collect(),
            links: links.collect(),
        };
        let order = stream::order(net.places, &net.arcs());
        let rank = |place: usize| order.iter().position(|other| *other == place);
        for link in &mut net.links {
            if let (End::Place(a), End::Place(b)) = (link.from, link.to) {
                link.onward = rank(a) < rank(b);
            }
        }
        net
    }

    /// The links between places: from, to, and how much water makes it the main stream.
    pub fn arcs(&self) -> Vec<(usize, usize, f32)> {
        let arc = |link: &Link| match (link.from, link.to) {
            (End::Place(a), End::Place(b)) => Some((a, b, if link.width > HAIR { link.width } else { 0.1 })),
            _ => None,
        };
        self.links.iter().filter_map(arc).collect()
    }
}

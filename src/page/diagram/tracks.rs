//! Tracks in the channels, so that ways side by side do not lie on each other, and the corners they give.

use std::collections::BTreeMap;

use crate::page::diagram::layout::{PLACE_HEIGHT, PlacedName, PlacedPlace};
use crate::page::diagram::route::{End, Grid, Lane, Plan};
use crate::page::draw::{Point, at};

/// A stretch of a channel that a way wants: its two ends, the way's plan, the number of the lane.
type Span = (f32, f32, usize, usize);

/// Puts ways that share a channel on tracks of their own; returns how many tracks each channel has.
pub fn tracks(
    plans: &mut [Plan],
    places: &[PlacedPlace],
    names: &[PlacedName],
    grid: &Grid,
) -> BTreeMap<(bool, usize), usize> {
    let x_of = |lane: Option<&Lane>, end: End, port: f32| -> f32 {
        match lane {
            Some(Lane::Upright(k)) => {
                let (x, width) = grid.channel(*k);
                x + width / 2.0
            }
            _ => match end {
                End::Place(i) => places.get(i).map_or(0.0, |p| p.area.x + port),
                End::Name(i) => names.get(i).map_or(0.0, |n| n.at.x),
            },
        }
    };
    // Heights before heights are known: rows at odd numbers, level channels at even ones.
    let y_of = |lane: Option<&Lane>, end: End, port: f32| -> f32 {
        match lane {
            Some(Lane::Level(row)) => *row as f32 * 2.0,
            _ => {
                let row = match end {
                    End::Place(i) => places.get(i).map_or(0, |p| p.row),
                    End::Name(i) => names.get(i).map_or(0, |n| n.row),
                };
                row as f32 * 2.0 + 0.5 + port / PLACE_HEIGHT
            }
        }
    };
    let mut wanted: BTreeMap<(bool, usize), Vec<Span>> = BTreeMap::new();
    for (p, plan) in plans.iter().enumerate() {
        for (n, lane) in plan.lanes.iter().enumerate() {
            let before = n.checked_sub(1).and_then(|m| plan.lanes.get(m));
            let after = plan.lanes.get(n + 1);
            let (key, a, b) = match lane {
                Lane::Upright(k) => {
                    ((true, *k), y_of(before, plan.from, plan.ports.0), y_of(after, plan.to, plan.ports.1))
                }
                Lane::Level(row) => {
                    ((false, *row), x_of(before, plan.from, plan.ports.0), x_of(after, plan.to, plan.ports.1))
                }
            };
            wanted.entry(key).or_default().push((a.min(b), a.max(b), p, n));
        }
    }
    let mut counts = BTreeMap::new();
    for (key, mut spans) in wanted {
        spans.sort_by(|a, b| a.0.total_cmp(&b.0).then(b.1.total_cmp(&a.1)));
        let clearance = if key.0 { 0.05 } else { grid.gap.max(8.0) / 2.0 };
        let mut ends: Vec<f32> = Vec::new();
        for (low, high, p, n) in spans {
            let track = ends.iter().position(|end| *end + clearance < low);
            let track = track.unwrap_or_else(|| {
                ends.push(f32::MIN);
                ends.len() - 1
            });
            if let Some(end) = ends.get_mut(track) {
                *end = high;
            }
            if let Some(slot) = plans.get_mut(p).and_then(|plan| plan.tracks.get_mut(n)) {
                *slot = track;
            }
        }
        counts.insert(key, ends.len());
    }
    counts
}

/// The corners of a way, once every height is known.
pub fn corners(
    plan: &Plan,
    places: &[PlacedPlace],
    names: &[PlacedName],
    grid: &Grid,
    levels: &[(f32, f32)],
    tracks: &BTreeMap<(bool, usize), usize>,
) -> Vec<Point> {
    let end_point = |end: End, lane: Option<&Lane>, port: f32, out: bool| -> Point {
        match end {
            End::Place(i) => {
                let Some(place) = places.get(i) else {
                    return at(0.0, 0.0);
                };
                match lane {
                    Some(Lane::Level(row)) => {
                        let y = if *row > place.row { place.area.bottom() } else { place.area.y };
                        at(place.area.x + port, y)
                    }
                    _ if out => at(place.area.right(), place.area.y + port),
                    _ => at(place.area.x, place.area.y + port),
                }
            }
            End::Name(i) => names.get(i).map_or(at(0.0, 0.0), |name| name.at),
        }
    };
    let mut points = vec![end_point(plan.from, plan.lanes.first(), plan.ports.0, true)];
    let last = end_point(plan.to, plan.lanes.last(), plan.ports.1, false);
    for (n, lane) in plan.lanes.iter().enumerate() {
        let track = plan.tracks.get(n).copied().unwrap_or(0) as f32;
        let previous = points.last().copied().unwrap_or(last);
        match lane {
            Lane::Upright(k) => {
                let (x, width) = grid.channel(*k);
                let count = tracks.get(&(true, *k)).copied().unwrap_or(1) as f32;
                let x = x + width * (track + 1.0) / (count + 1.0);
                points.push(at(x, previous.y));
            }
            Lane::Level(row) => {
                let (y, height) = levels.get(*row).copied().unwrap_or((0.0, 0.0));
                let count = tracks.get(&(false, *row)).copied().unwrap_or(1) as f32;
                let y = y + height * (track + 1.0) / (count + 1.0);
                points.push(at(previous.x, y));
            }
        }
    }
    if let (Some(previous), Some(lane)) = (points.last().copied(), plan.lanes.last()) {
        match lane {
            Lane::Upright(_) => points.push(at(previous.x, last.y)),
            Lane::Level(_) => points.push(at(last.x, previous.y)),
        }
    }
    points.push(last);
    points.dedup_by(|a, b| (a.x - b.x).abs() < 0.05 && (a.y - b.y).abs() < 0.05);
    points
}

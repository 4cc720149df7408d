//! Capture by size: what share of each class a filter takes out.

use crate::science::particles::SizeClasses;
use uom::si::f64::{Length, Ratio};
use uom::si::length::micrometer;
use uom::si::ratio::ratio;

/// The curve of capture against size that a rating, a test or a user gives.
#[derive(Debug, Clone, PartialEq)]
pub enum CaptureCurve {
    /// A rated opening and the share of coarser particles stopped at it; finer ones pass.
    Opening {
        /// Rated opening.
        opening: Length,
        /// Share of what is coarser that is stopped.
        share: Ratio,
    },
    /// The user's table: size and share; straight lines in log size between rows, the nearest end beyond them.
    /// Rows that are not a size above zero and a number are passed over; order does not matter.
    Table(Vec<(Length, Ratio)>),
    /// One share of all solids whatever their size: only where nothing better is known.
    Lump(Ratio),
}

/// A capture curve with the least and the most that the user lets it claim.
#[derive(Debug, Clone, PartialEq)]
pub struct Capture {
    /// The curve.
    pub curve: CaptureCurve,
    /// Least share of any class.
    pub floor: Ratio,
    /// Greatest share of any class.
    pub cap: Ratio,
}

/// Capture by class, with what a reader must know about it.
#[derive(Debug, Clone, PartialEq)]
pub struct ClassCapture {
    /// Share of mass taken out of each class, finest first; each from 0 to 1.
    pub shares: Vec<f64>,
    /// Part of a class lies beyond the ends of the user's table (record
    /// [`crate::science::particles::records::CAPTURE_BY_SIZE`] says what was done).
    pub beyond_table: bool,
    /// One share stands for all sizes: low confidence.
    pub lump: bool,
    /// A share given was not between 0 and 1 and was cut to it.
    pub share_cut: bool,
}

impl Capture {
    /// A curve with no floor and no cap.
    pub fn by(curve: CaptureCurve) -> Self {
        Self { curve, floor: Ratio::new::<ratio>(0.0), cap: Ratio::new::<ratio>(1.0) }
    }

    /// Share taken out of each class: the mean of the curve over the class in log size, then floor and cap. Record:
    /// [`crate::science::particles::records::CAPTURE_BY_SIZE`].
    pub fn by_class(&self, classes: &SizeClasses) -> ClassCapture {
        let mut share_cut = false;
        let mut fraction = |share: Ratio| {
            let value = share.get::<ratio>();
            share_cut |= !(0.0..=1.0).contains(&value);
            if value.is_nan() { 0.0 } else { value.clamp(0.0, 1.0) }
        };
        let (floor, cap) = (fraction(self.floor), fraction(self.cap));
        let mut beyond_table = false;
        let raw: Vec<f64> = match &self.curve {
            CaptureCurve::Opening { opening, share } => {
                let share = fraction(*share);
                classes.coarser_than(*opening).iter().map(|coarser| coarser * share).collect()
            }
            CaptureCurve::Table(rows) => {
                let mut points: Vec<(f64, f64)> = rows
                    .iter()
                    .map(|&(size, share)| (size.get::<micrometer>().ln(), fraction(share)))
                    .filter(|(log_size, _)| log_size.is_finite())
                    .collect();
                points.sort_by(|a, b| a.0.total_cmp(&b.0));
                classes
                    .bounds()
                    .into_iter()
                    .map(|(lower, upper)| {
                        let (lower, upper) = (lower.get::<micrometer>().ln(), upper.get::<micrometer>().ln());
                        let (share, beyond) = mean_between(&points, lower, upper);
                        beyond_table |= beyond;
                        share
                    })
                    .collect()
            }
            CaptureCurve::Lump(share) => vec![fraction(*share); classes.count()],
        };
        ClassCapture {
            shares: raw.into_iter().map(|share| share.max(floor).min(cap.max(floor))).collect(),
            beyond_table,
            lump: matches!(self.curve, CaptureCurve::Lump(_)),
            share_cut,
        }
    }
}

/// Mean of the broken line through `points` (rising x) over `from..to`, and whether part lay beyond its ends.
fn mean_between(points: &[(f64, f64)], from: f64, to: f64) -> (f64, bool) {
    let (Some(first), Some(last)) = (points.first(), points.last()) else {
        return (0.0, true);
    };
    let beyond = from < first.0 || to > last.0;
    let mut stops: Vec<f64> = vec![from];
    stops.extend(points.iter().map(|p| p.0).filter(|x| *x > from && *x < to));
    stops.push(to);
    let area: f64 = stops
        .iter()
        .zip(stops.iter().skip(1))
        .map(|(a, b)| {
            // The middle of a straight piece is its mean; a jump (two rows of one size) sits between pieces.
            (b - a) * value_at(points, 0.5 * (a + b))
        })
        .sum();
    (area / (to - from), beyond)
}

fn value_at(points: &[(f64, f64)], x: f64) -> f64 {
    let after = points.partition_point(|p| p.0 <= x);
    match (after.checked_sub(1).and_then(|i| points.get(i)), points.get(after)) {
        (Some(a), Some(b)) => a.1 + (b.1 - a.1) * (x - a.0) / (b.0 - a.0),
        (Some(end), None) | (None, Some(end)) => end.1,
        (None, None) => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn um(value: f64) -> Length {
        Length::new::<micrometer>(value)
    }

    fn share(value: f64) -> Ratio {
        Ratio::new::<ratio>(value)
    }

    #[test]
    fn a_screen_takes_nothing_finer_than_its_opening() {
        let capture = Capture::by(CaptureCurve::Opening { opening: um(300.0), share: share(0.9) });
        let by_class = capture.by_class(&SizeClasses::default());
        assert_eq!(by_class.shares, vec![0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.9]);
        assert!(!by_class.lump && !by_class.beyond_table && !by_class.share_cut);
    }

    #[test]
    fn a_table_is_read_in_log_size_and_its_ends_are_held_and_said() {
        let rows = vec![(um(10.0), share(0.2)), (um(1000.0), share(1.0))];
        let by_class = Capture::by(CaptureCurve::Table(rows)).by_class(&SizeClasses::default());
        assert!(by_class.beyond_table);
        assert!((by_class.shares[0] - 0.2).abs() < 1e-12);
        // The line is straight in log size, so a class's mean is the value at its middle: 30 % and 80 % of the way.
        let middle = |lo: f64, hi: f64| 0.2 + 0.8 * ((lo * hi).sqrt() / 10.0).ln() / 100f64.ln();
        assert!((by_class.shares[4] - middle(20.0, 50.0)).abs() < 1e-12);
        assert!((by_class.shares[7] - middle(300.0, 1000.0)).abs() < 1e-12);
    }

    #[test]
    fn floor_and_cap_bound_every_class_and_a_share_above_one_is_reported() {
        let capture = Capture {
            curve: CaptureCurve::Opening { opening: um(50.0), share: share(1.4) },
            floor: share(0.05),
            cap: share(0.95),
        };
        let by_class = capture.by_class(&SizeClasses::default());
        assert!(by_class.share_cut);
        assert_eq!(by_class.shares[0], 0.05);
        assert_eq!(by_class.shares[7], 0.95);
        let lump = Capture::by(CaptureCurve::Lump(share(0.6))).by_class(&SizeClasses::default());
        assert!(lump.lump);
        assert_eq!(lump.shares, vec![0.6; 8]);
    }

    #[test]
    fn odd_tables_give_shares_between_nothing_and_all() {
        for rows in [
            vec![],
            vec![(um(0.0), share(0.5))],
            vec![(um(f64::NAN), share(f64::NAN))],
            vec![(um(50.0), share(0.0)), (um(50.0), share(1.0))],
        ] {
            let by_class = Capture::by(CaptureCurve::Table(rows)).by_class(&SizeClasses::default());
            assert!(by_class.shares.iter().all(|s| (0.0..=1.0).contains(s)), "{by_class:?}");
        }
    }
}

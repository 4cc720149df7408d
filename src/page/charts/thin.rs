//! Of years of days what print can show: many days in the width of a hair are one bar, or one stroke of a line.

use crate::page::draw::Point;

/// The place that is highest in every so many of them.
pub(super) fn highest_of(count: usize, each: usize, size: impl Fn(usize) -> f64) -> Vec<usize> {
    let places: Vec<usize> = (0..count).collect();
    let highest = |of: &[usize]| of.iter().copied().max_by(|a, b| size(*a).total_cmp(&size(*b)).then(b.cmp(a)));
    places.chunks(each.max(1)).filter_map(highest).collect()
}

/// A line without what lies between the ends, the highest and the lowest of its points in a column too narrow to tell them apart.
pub(super) fn thinned(line: &[Point]) -> Vec<Point> {
    const COLUMN: f32 = 0.25;
    let column = |point: &Point| (point.x / COLUMN).floor();
    let mut out: Vec<Point> = Vec::new();
    for of in line.chunk_by(|a, b| column(a) == column(b)) {
        let mut kept: Vec<usize> = (0..of.len()).collect();
        if of.len() > 4 {
            let by_height = |a: &usize, b: &usize| of[*a].y.total_cmp(&of[*b].y);
            let highest = kept.iter().copied().min_by(by_height).unwrap_or(0);
            let lowest = kept.iter().copied().max_by(by_height).unwrap_or(0);
            kept = vec![0, highest.min(lowest), highest.max(lowest), of.len() - 1];
            kept.dedup();
        }
        out.extend(kept.into_iter().map(|i| of[i]));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::page::draw::at;

    #[test]
    fn a_bar_of_many_days_is_the_highest_of_them() {
        let values = [1.0, 5.0, 2.0, 0.0, 0.0, 0.0, 3.0];
        assert_eq!(highest_of(values.len(), 3, |i| values[i]), [1, 3, 6]);
        assert_eq!(highest_of(values.len(), 1, |i| values[i]), [0, 1, 2, 3, 4, 5, 6]);
    }

    #[test]
    fn a_line_keeps_the_ends_the_highest_and_the_lowest_of_a_column() {
        let column: Vec<Point> = (0..100).map(|i| at(10.0 + 0.002 * i as f32, ((i * 37) % 100) as f32)).collect();
        let line: Vec<Point> = [vec![at(0.0, 50.0)], column.clone(), vec![at(20.0, 50.0)]].concat();
        let kept = thinned(&line);
        let heights: Vec<f32> = kept.iter().map(|point| point.y).collect();
        // 0 at the beginning is nearest the top, 37 × 27 = 999 gives the lowest, 37 × 99 = 3663 the last.
        assert_eq!(heights, [50.0, 0.0, 99.0, 63.0, 50.0]);
        // Points that print tells apart all stay.
        let wide: Vec<Point> = (0..100).map(|i| at(i as f32, (i % 7) as f32)).collect();
        assert_eq!(thinned(&wide), wide);
    }
}

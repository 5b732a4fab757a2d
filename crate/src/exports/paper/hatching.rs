//! Hatching: parallel lines over the inside of closed contours.

use glam::DVec2;

use crate::geometry::contour::Contour;
use crate::geometry::frame::unit;

/// Arcs are taken as chords that near, mm: less than a printed line is wide.
const CHORD: f64 = 0.02;
/// More lines than this are no hatching but a mistake.
const MOST_LINES: f64 = 5000.0;

/// Lines at `angle` radians, `spacing` mm apart, cut off by the contours' even-odd inside. Their places do not depend on
/// the contours, so that neighbouring areas of one body are hatched alike.
#[must_use]
pub fn hatching(contours: &[Contour], angle: f64, spacing: f64) -> Vec<(DVec2, DVec2)> {
    let along = unit(angle);
    // Turned so that the hatching lies level.
    let level = |point: DVec2| DVec2::new(along.dot(point), along.perp_dot(point));
    let loops: Vec<Vec<DVec2>> = contours
        .iter()
        .map(|contour| contour.flattened(CHORD).into_iter().map(level).collect())
        .collect();
    let heights = loops.iter().flatten().map(|point| point.y);
    let (low, high) =
        heights.fold((f64::INFINITY, f64::NEG_INFINITY), |sum, y| (sum.0.min(y), sum.1.max(y)));
    let mut lines = Vec::new();
    if !(spacing > 0.0 && low < high && (high - low) / spacing < MOST_LINES) {
        return lines;
    }
    let mut index = (low / spacing).ceil();
    while index * spacing < high {
        let height = index * spacing;
        let mut meets: Vec<f64> =
            loops.iter().flat_map(|points| crossings(points, height)).collect();
        meets.sort_by(f64::total_cmp);
        for pair in meets.chunks_exact(2) {
            let [from, to] = [pair[0], pair[1]].map(|x| along * x + along.perp() * height);
            lines.push((from, to));
        }
        index += 1.0;
    }
    lines
}

/// Where a closed line of points crosses a level; half-open, so that a corner counts once.
fn crossings(points: &[DVec2], height: f64) -> impl Iterator<Item = f64> + '_ {
    points.iter().zip(points.iter().cycle().skip(1)).filter_map(move |(a, b)| {
        let crosses = (a.y <= height) != (b.y <= height);
        crosses.then(|| a.x + (b.x - a.x) * (height - a.y) / (b.y - a.y))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Truth: lines `spacing` apart times their lengths make the area of a ring, and none lies in its hole.
    #[test]
    fn hatching_covers_a_ring_and_leaves_its_hole() {
        let middle = DVec2::new(7.0, 3.0);
        let ring = [Contour::circle(middle, 10.0), Contour::circle(middle, 4.0)];
        let lines = hatching(&ring, 0.7, 0.05);
        let covered: f64 = lines.iter().map(|(from, to)| from.distance(*to)).sum();
        let area = std::f64::consts::PI * (100.0 - 16.0);
        assert!((covered * 0.05 / area - 1.0).abs() < 2e-3, "{covered}");
        for (from, to) in lines {
            assert!((((from + to) / 2.0) - middle).length() > 3.9);
        }
        assert!(hatching(&ring, 0.7, 0.0).is_empty());
    }
}

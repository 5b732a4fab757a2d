//! Smooth edges between the straight ones of a plate part.

use glam::DVec2;

use crate::geometry::outline::{Node, Outline, Side};

/// Greatest distance of an edge laid beside a smooth line from its definition, mm.
const BESIDE: f64 = 5e-4;

/// A place a smooth line passes through, and its unit direction there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stand {
    pub point: DVec2,
    pub along: DVec2,
}

impl Stand {
    pub fn new(point: DVec2, along: DVec2) -> Self {
        Self { point, along }
    }

    /// The place `distance` to the left, same direction.
    pub fn beside(&self, distance: f64) -> Self {
        Self { point: self.point + self.along.perp() * distance, along: self.along }
    }
}

/// Angle from one direction to another, counter-clockwise positive, radians.
pub fn angle(from: DVec2, to: DVec2) -> f64 {
    libm::atan2(from.perp_dot(to), from.dot(to))
}

/// Cubic chain through the stands, one cubic between each two.
///
/// The parameter runs so that every derivative is the unit direction: between two stands it grows by
/// chord / cos²(turn / 4), for which a cubic between two tangents of a circle comes nearest to the circle.
pub fn chain(stands: &[Stand]) -> Vec<Node> {
    let mut t = 0.0;
    stands
        .iter()
        .enumerate()
        .map(|(index, stand)| {
            if let Some(before) = index.checked_sub(1).and_then(|i| stands.get(i)) {
                let turn = angle(before.along, stand.along);
                let cos = libm::cos(turn / 4.0);
                t += before.point.distance(stand.point) / (cos * cos);
            }
            Node { t, point: stand.point, slope: stand.along }
        })
        .collect()
}

/// The same chain run from its end to its start.
pub fn reversed(nodes: &[Node]) -> Vec<Node> {
    let end = nodes.last().map_or(0.0, |node| node.t);
    nodes
        .iter()
        .rev()
        .map(|node| Node { t: end - node.t, point: node.point, slope: -node.slope })
        .collect()
}

/// Point, first and second derivative of the cubic between two nodes, at `share` of the way.
fn cubic(from: &Node, to: &Node, share: f64) -> (DVec2, DVec2, DVec2) {
    let cubic = from.cubic_to(to);
    (cubic.value(share), cubic.slope(share), cubic.bend(share))
}

/// Points of a chain, `steps` to each cubic, both ends included.
pub fn sampled(nodes: &[Node], steps: u32) -> Vec<DVec2> {
    let inner = nodes.windows(2).flat_map(|pair| {
        (0..steps).map(move |i| cubic(&pair[0], &pair[1], f64::from(i) / f64::from(steps)).0)
    });
    inner.chain(nodes.last().map(|node| node.point)).collect()
}

/// The edge that runs `distance` to the left of a chain (negative: to the right).
///
/// It is a chain through places of the true offset, so many that it keeps to it within [`BESIDE`]. None where the
/// chain bends so sharply that the edge would turn back on itself.
pub fn beside(nodes: &[Node], distance: f64) -> Option<Vec<Node>> {
    let offset = |from: &Node, to: &Node, share: f64| {
        let (point, slope, bend) = cubic(from, to, share);
        let speed = slope.length();
        // Speed of the offset as a share of that of the chain: 1 - curvature × distance.
        let factor = 1.0 - distance * slope.perp_dot(bend) / (speed * speed * speed);
        (factor > 0.2).then(|| Stand::new(point, slope / speed).beside(distance))
    };
    let mut stands: Vec<Stand> = Vec::new();
    for pair in nodes.windows(2) {
        let mut count = 4_u32;
        let fine = loop {
            let fine: Option<Vec<Stand>> = (0..=2 * count)
                .map(|i| offset(&pair[0], &pair[1], f64::from(i) / f64::from(2 * count)))
                .collect();
            let fine = fine?;
            let miss = fine
                .windows(3)
                .step_by(2)
                .map(|three| match chain(&[three[0], three[2]]).as_slice() {
                    [a, b] => {
                        (cubic(a, b, 0.5).0 - three[1].point).dot(three[1].along.perp()).abs()
                    }
                    _ => 0.0,
                })
                .fold(0.0, f64::max);
            if miss <= BESIDE || count >= 64 {
                break fine;
            }
            count *= 2;
        };
        let known = usize::from(!stands.is_empty());
        stands.extend(fine.into_iter().step_by(2).skip(known));
    }
    Some(chain(&stands))
}

/// Points along an outline, near enough together to judge its shape by.
pub fn polyline(outline: &Outline) -> Vec<DVec2> {
    const STEPS: u32 = 8;
    outline
        .sides()
        .iter()
        .flat_map(|side| match side {
            Side::Line { from, .. } => vec![*from],
            Side::Arc { from, centre, sweep } => (0..STEPS)
                .map(|i| {
                    let angle = sweep * f64::from(i) / f64::from(STEPS);
                    *centre + crate::geometry::frame::unit(angle).rotate(*from - *centre)
                })
                .collect(),
            Side::Cubic { nodes, .. } => {
                let mut points = sampled(nodes, 16);
                points.pop();
                points
            }
        })
        .collect()
}

/// Whether two sides of a closed polyline cross; the place where, if they do.
pub fn crossing(points: &[DVec2]) -> Option<DVec2> {
    let count = points.len();
    let segment = |i: usize| (points[i], points[(i + 1) % count]);
    for i in 0..count {
        let (a, b) = segment(i);
        for j in i + 2..count {
            if i == 0 && j == count - 1 {
                continue;
            }
            let (c, d) = segment(j);
            let side = |from: DVec2, to: DVec2, point: DVec2| (to - from).perp_dot(point - from);
            if side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0 {
                return Some((a + b) / 2.0);
            }
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    fn quarter(radius: f64) -> Vec<Node> {
        chain(&[
            Stand::new(DVec2::new(radius, 0.0), DVec2::Y),
            Stand::new(DVec2::new(0.0, radius), DVec2::NEG_X),
        ])
    }

    /// Truth: the cubic of a quarter circle with these tangents leaves it by 2.7e-4 of the radius at most
    /// (a known property of the 4/3 tan(angle / 4) rule).
    #[test]
    fn a_chain_between_tangents_of_a_circle_is_the_circle() {
        for point in sampled(&quarter(10.0), 40) {
            assert!((point.length() - 10.0).abs() < 2.8e-3, "{point}");
        }
    }

    #[test]
    fn an_edge_beside_a_circle_is_a_circle() {
        for distance in [-3.0, 0.2, 3.0] {
            let edge = beside(&quarter(10.0), distance).unwrap_or_default();
            for point in sampled(&edge, 8) {
                assert!((point.length() - (10.0 - distance)).abs() < 5e-3, "{point}");
            }
        }
        assert_eq!(beside(&quarter(10.0), 9.0), None);
    }

    #[test]
    fn a_bow_tie_crosses_itself_and_a_square_does_not() {
        let corners =
            [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)].map(|(x, y)| DVec2::new(x, y));
        assert_eq!(crossing(&corners), None);
        assert!(crossing(&[corners[0], corners[2], corners[1], corners[3]]).is_some());
    }
}

//! Closed plane outlines of lines, arcs and smooth cubic chains.
//!
//! Turned parts use them as half-profiles (x along the axis, y the radius), plate parts as
//! their flat shape. An outline runs counter-clockwise: the metal lies to its left.

use std::f64::consts::PI;

use glam::DVec2;

use super::cubic::Cubic;

/// Chord error of the polylines that stand in for cubic chains in distances, mm.
const FLATTENING: f64 = 2e-4;

/// One node of a cubic chain: parameter, point, derivative with respect to the parameter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Node {
    pub t: f64,
    pub point: DVec2,
    pub slope: DVec2,
}

impl Node {
    /// The cubic from this node to the next; its derivatives are by the parameter.
    pub fn cubic_to(&self, next: &Self) -> Cubic<DVec2> {
        Cubic::between(self.point, self.slope, next.point, next.slope, next.t - self.t)
    }
}

/// One side of an outline, from its start to its end.
#[derive(Clone, Debug, PartialEq)]
pub enum Side {
    Line {
        from: DVec2,
        to: DVec2,
    },
    /// Arc about `centre` from `from`, turning by `sweep` radians (positive counter-clockwise,
    /// |sweep| at most pi).
    Arc {
        from: DVec2,
        centre: DVec2,
        sweep: f64,
    },
    /// C1 chain of cubics through its nodes.
    Cubic {
        nodes: Vec<Node>,
        flat: Vec<DVec2>,
    },
}

impl Side {
    pub fn line(from: DVec2, to: DVec2) -> Self {
        Self::Line { from, to }
    }

    /// C1 chain of cubics; needs two nodes or more.
    pub fn cubic(nodes: Vec<Node>) -> Self {
        let mut flat = Vec::new();
        for pair in nodes.windows(2) {
            flatten(&pair[0], &pair[1], &mut flat);
        }
        flat.extend(nodes.last().map(|node| node.point));
        Self::Cubic { nodes, flat }
    }

    pub fn start(&self) -> DVec2 {
        match self {
            Self::Line { from, .. } | Self::Arc { from, .. } => *from,
            Self::Cubic { nodes, .. } => nodes.first().map_or(DVec2::ZERO, |node| node.point),
        }
    }

    pub fn end(&self) -> DVec2 {
        match self {
            Self::Line { to, .. } => *to,
            Self::Arc { from, centre, sweep } => {
                *centre + super::frame::unit(*sweep).rotate(*from - *centre)
            }
            Self::Cubic { nodes, .. } => nodes.last().map_or(DVec2::ZERO, |node| node.point),
        }
    }

    /// Nearest point of this side to `point`.
    fn nearest(&self, point: DVec2) -> DVec2 {
        match self {
            Self::Line { from, to } => nearest_on_line(*from, *to, point),
            Self::Arc { from, centre, sweep } => {
                let radius = from.distance(*centre);
                let reach = point - *centre;
                if reach.length_squared() < 1e-24 {
                    return *from;
                }
                if arc_holds(*from - *centre, *sweep, reach) {
                    *centre + reach * (radius / reach.length())
                } else {
                    let end = self.end();
                    if point.distance_squared(*from) <= point.distance_squared(end) {
                        *from
                    } else {
                        end
                    }
                }
            }
            Self::Cubic { flat, .. } => {
                let mut best = (f64::INFINITY, self.start());
                for pair in flat.windows(2) {
                    let near = nearest_on_line(pair[0], pair[1], point);
                    let square = near.distance_squared(point);
                    if square < best.0 {
                        best = (square, near);
                    }
                }
                best.1
            }
        }
    }

    /// How often the ray from `point` towards +x crosses this side, signed: +1 upwards.
    fn crossings(&self, point: DVec2) -> i32 {
        match self {
            Self::Line { from, to } => line_crossing(*from, *to, point),
            Self::Arc { from, centre, sweep } => {
                // An arc crosses like its chord, corrected where the point lies between both.
                let end = self.end();
                let chord = line_crossing(*from, end, point);
                let radius = from.distance(*centre);
                if point.distance_squared(*centre) >= radius * radius {
                    return chord;
                }
                let side = (end - *from).perp_dot(point - *from);
                // Inside the circle and on the arc's side of the chord: one more turn round the point.
                if *sweep > 0.0 && side < 0.0 {
                    chord + 1
                } else if *sweep < 0.0 && side > 0.0 {
                    chord - 1
                } else {
                    chord
                }
            }
            Self::Cubic { flat, .. } => {
                flat.windows(2).map(|pair| line_crossing(pair[0], pair[1], point)).sum()
            }
        }
    }
}

/// A closed outline, counter-clockwise.
#[derive(Clone, Debug, PartialEq)]
pub struct Outline {
    sides: Vec<Side>,
    /// Box of each side, grown to hold its bulge: lets distances skip far sides.
    boxes: Vec<(DVec2, DVec2)>,
}

impl Outline {
    /// Outline of the given sides, each starting where the one before ends.
    pub fn new(sides: Vec<Side>) -> Self {
        let boxes = sides.iter().map(side_box).collect();
        Self { sides, boxes }
    }

    pub fn sides(&self) -> &[Side] {
        &self.sides
    }

    /// Signed distance from a point (negative inside) and the nearest point of the boundary.
    ///
    /// `counts` says which sides are real boundary: a half-profile's side on the axis is not.
    pub fn signed_distance(&self, point: DVec2, counts: impl Fn(&Side) -> bool) -> (f64, DVec2) {
        let mut best = (f64::INFINITY, point);
        for (side, bounds) in self.sides.iter().zip(&self.boxes) {
            let outside = (bounds.0 - point).max(point - bounds.1).max(DVec2::ZERO);
            if outside.length_squared() >= best.0 || !counts(side) {
                continue;
            }
            let near = side.nearest(point);
            let square = near.distance_squared(point);
            if square < best.0 {
                best = (square, near);
            }
        }
        let distance = best.0.sqrt();
        (if self.contains(point) { -distance } else { distance }, best.1)
    }

    /// Whether a point lies inside, by winding number.
    pub fn contains(&self, point: DVec2) -> bool {
        let winding: i32 = self
            .sides
            .iter()
            .zip(&self.boxes)
            // A side wholly above, below or left of the point is not crossed by the ray to +x.
            .filter(|(_, bounds)| {
                bounds.0.y <= point.y && point.y <= bounds.1.y && point.x <= bounds.1.x
            })
            .map(|(side, _)| side.crossings(point))
            .sum();
        winding != 0
    }
}

fn side_box(side: &Side) -> (DVec2, DVec2) {
    match side {
        Side::Line { from, to } => (from.min(*to), from.max(*to)),
        Side::Arc { from, centre, .. } => {
            // The whole circle: generous, never too small.
            let radius = DVec2::splat(from.distance(*centre));
            (*centre - radius, *centre + radius)
        }
        Side::Cubic { flat, .. } => flat
            .iter()
            .fold((DVec2::splat(f64::INFINITY), DVec2::splat(f64::NEG_INFINITY)), |sum, &point| {
                (sum.0.min(point), sum.1.max(point))
            }),
    }
}

/// Point of the line between two places that is nearest to `point`.
pub fn nearest_on_line(from: DVec2, to: DVec2, point: DVec2) -> DVec2 {
    let along = to - from;
    let square = along.length_squared();
    if square == 0.0 {
        return from;
    }
    from + along * ((point - from).dot(along) / square).clamp(0.0, 1.0)
}

/// Signed crossing of the ray to +x with a line: half-open in y so that corners count once.
fn line_crossing(from: DVec2, to: DVec2, point: DVec2) -> i32 {
    let side = (to - from).perp_dot(point - from);
    if from.y <= point.y && to.y > point.y && side > 0.0 {
        1
    } else if from.y > point.y && to.y <= point.y && side < 0.0 {
        -1
    } else {
        0
    }
}

/// Whether the direction `reach` lies within the arc that starts at `start` and turns by `sweep`.
fn arc_holds(start: DVec2, sweep: f64, reach: DVec2) -> bool {
    let mut angle = libm::atan2(start.perp_dot(reach), start.dot(reach)) * sweep.signum();
    if angle < 0.0 {
        angle += 2.0 * PI;
    }
    angle <= sweep.abs()
}

/// Appends the points of one cubic, its end left out, as a polyline within [`FLATTENING`].
fn flatten(from: &Node, to: &Node, flat: &mut Vec<DVec2>) {
    let span = to.t - from.t;
    let cubic = from.cubic_to(to);
    // A chord over a step leaves the curve by an eighth of the second derivative times the step squared.
    let bend = cubic.bend(0.0).length().max(cubic.bend(1.0).length()) * span * span;
    let count = (bend / (8.0 * FLATTENING)).sqrt().ceil().clamp(1.0, 512.0) as usize;
    flat.extend((0..count).map(|i| cubic.value(i as f64 / count as f64)));
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A stadium: two lines and two half circles; distance to it is closed form.
    fn stadium() -> Outline {
        let (left, right) = (DVec2::new(-2.0, 0.0), DVec2::new(2.0, 0.0));
        let up = DVec2::Y;
        Outline::new(vec![
            Side::line(left - up, right - up),
            Side::Arc { from: right - up, centre: right, sweep: PI },
            Side::line(right + up, left + up),
            Side::Arc { from: left + up, centre: left, sweep: PI },
        ])
    }

    #[test]
    fn stadium_distance_is_segment_distance_less_radius() {
        let outline = stadium();
        for i in -40..=40 {
            for j in -30..=30 {
                let point = DVec2::new(f64::from(i) * 0.1 + 0.003, f64::from(j) * 0.07 + 0.001);
                let spine = DVec2::new(point.x.clamp(-2.0, 2.0), 0.0);
                let expected = point.distance(spine) - 1.0;
                let (distance, near) = outline.signed_distance(point, |_| true);
                assert!((distance - expected).abs() < 1e-9, "{point} {distance} {expected}");
                assert!((near.distance(point) - distance.abs()).abs() < 1e-12);
            }
        }
    }

    #[test]
    fn notched_square_knows_the_notch() {
        // Square with a half-round notch in its top side (arc clockwise into the metal).
        let outline = Outline::new(vec![
            Side::line(DVec2::new(0.0, 0.0), DVec2::new(4.0, 0.0)),
            Side::line(DVec2::new(4.0, 0.0), DVec2::new(4.0, 4.0)),
            Side::line(DVec2::new(4.0, 4.0), DVec2::new(3.0, 4.0)),
            Side::Arc { from: DVec2::new(3.0, 4.0), centre: DVec2::new(2.0, 4.0), sweep: -PI },
            Side::line(DVec2::new(1.0, 4.0), DVec2::new(0.0, 4.0)),
            Side::line(DVec2::new(0.0, 4.0), DVec2::new(0.0, 0.0)),
        ]);
        for (point, expected) in [
            (DVec2::new(2.0, 3.5), 0.5),
            (DVec2::new(2.0, 2.8), -0.2),
            (DVec2::new(2.3, 3.6), 0.5),
            (DVec2::new(0.5, 3.9), -0.1),
            (DVec2::new(2.0, 5.0), (2.0f64).sqrt()),
        ] {
            let (distance, _) = outline.signed_distance(point, |_| true);
            assert!((distance - expected).abs() < 1e-9, "{point}: {distance} for {expected}");
        }
    }
}

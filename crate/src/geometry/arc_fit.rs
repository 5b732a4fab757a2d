//! Smooth curves as true arcs and lines: pairs of arcs that leave and reach each piece in its own direction, so that the
//! contour has no corner the curve does not have.
//!
//! Two arcs joined in a common tangent after Bolton, "Biarc curves", Computer-Aided Design 7 (1975), with both tangent
//! lengths equal (from memory; the formula is worked out below).

use glam::DVec2;

use super::contour::{Contour, Piece, Vertex};
use super::outline::{Outline, Side};

/// Departure under which a piece is drawn as a straight line, mm: an arc as flat as that has a radius so great that some
/// readers draw it anywhere.
pub const STRAIGHT: f64 = 1e-3;
/// Two arcs whose circles agree to this are one, mm.
const SAME_CIRCLE: f64 = 1e-6;
/// Places of the curve that are held against each pair of arcs.
const LOOKS: u32 = 32;
/// Halvings after which a piece is short enough whatever it is like.
const DEEPEST: u32 = 16;

/// Point and derivative of a curve at a parameter.
pub type Place = (DVec2, DVec2);

/// Vertices of the arcs along a curve from one parameter to another, the last point left out, and how far the curve was
/// found to be from them, mm. Every piece is halved until none of its places looked at lies farther off than
/// `tolerance`; between two of them the departure, which has four lobes at most, is greater by less than a tenth.
pub fn fitted(
    curve: &dyn Fn(f64) -> Place,
    from: f64,
    to: f64,
    tolerance: f64,
) -> (Vec<Vertex>, f64) {
    let mut vertices = Vec::new();
    let worst = halve(curve, (from, to), tolerance, 0, &mut vertices);
    (vertices, worst)
}

fn halve(
    curve: &dyn Fn(f64) -> Place,
    span: (f64, f64),
    tolerance: f64,
    depth: u32,
    vertices: &mut Vec<Vertex>,
) -> f64 {
    let (from, to) = span;
    let (start, end) = (curve(from), curve(to));
    let line = [Piece { from: start.0, to: end.0, bulge: 0.0 }];
    let off_line = departure(curve, span, &line);
    if off_line <= STRAIGHT.min(tolerance) {
        vertices.push(Vertex { at: start.0, bulge: 0.0 });
        return off_line;
    }
    let pieces = pair(start, end);
    let worst = departure(curve, span, &pieces);
    if worst <= tolerance || depth >= DEEPEST {
        vertices.extend(pieces.iter().map(|piece| Vertex { at: piece.from, bulge: piece.bulge }));
        return worst;
    }
    let middle = f64::midpoint(from, to);
    let first = halve(curve, (from, middle), tolerance, depth + 1, vertices);
    first.max(halve(curve, (middle, to), tolerance, depth + 1, vertices))
}

/// Greatest distance of the curve's places from the pieces.
fn departure(curve: &dyn Fn(f64) -> Place, span: (f64, f64), pieces: &[Piece]) -> f64 {
    (1..LOOKS)
        .map(|i| {
            let (point, _) = curve(span.0 + (span.1 - span.0) * f64::from(i) / f64::from(LOOKS));
            let off = |piece: &Piece| piece.nearest(point).distance(point);
            pieces.iter().map(off).fold(f64::INFINITY, f64::min)
        })
        .fold(0.0, f64::max)
}

/// Two arcs from one place to another that keep both directions.
///
/// With the way v, unit directions a and b and tangent lengths d at both ends, the arcs meet in the middle between
/// p + d a and q - d b, and the line between these is 2 d long: |v - d (a + b)| = 2 d, a square equation for d.
fn pair(start: Place, end: Place) -> Vec<Piece> {
    let ((p, a), (q, b)) = (start, end);
    let (a, b, way) = (a.normalize_or_zero(), b.normalize_or_zero(), q - p);
    let both = way.dot(a + b);
    let square = 2.0 * (1.0 - a.dot(b)).max(0.0);
    let length =
        way.length_squared() / (both + (both * both + square * way.length_squared()).sqrt());
    if !length.is_finite() || length <= 0.0 {
        return vec![Piece { from: p, to: q, bulge: 0.0 }];
    }
    let middle = (p + q + (a - b) * length) / 2.0;
    // An arc turns by twice the angle between its chord and its direction at either end.
    let bulge =
        |one: DVec2, next: DVec2| libm::tan(libm::atan2(one.perp_dot(next), one.dot(next)) / 2.0);
    let first = Piece { from: p, to: middle, bulge: bulge(a, middle - p) };
    let last = Piece { from: middle, to: q, bulge: bulge(q - middle, b) };
    match (first.arc(), last.arc()) {
        (Some(one), Some(two))
            if one.centre.distance(two.centre) < SAME_CIRCLE
                && (one.sweep + two.sweep).abs() <= std::f64::consts::PI =>
        {
            let bulge = libm::tan((one.sweep + two.sweep) / 4.0);
            vec![Piece { from: p, to: q, bulge }]
        }
        _ => vec![first, last],
    }
}

/// An outline of lines, arcs and smooth chains as lines and arcs alone, and the greatest departure that was found, mm.
pub fn contour_of(outline: &Outline, tolerance: f64) -> (Contour, f64) {
    let mut vertices = Vec::new();
    let mut worst: f64 = 0.0;
    for side in outline.sides() {
        match side {
            Side::Line { from, .. } => vertices.push(Vertex { at: *from, bulge: 0.0 }),
            Side::Arc { from, sweep, .. } => {
                vertices.push(Vertex { at: *from, bulge: libm::tan(sweep / 4.0) });
            }
            Side::Cubic { nodes, .. } => {
                for pair in nodes.windows(2) {
                    let cubic = pair[0].cubic_to(&pair[1]);
                    let curve = |share: f64| (cubic.value(share), cubic.slope(share));
                    let (more, off) = fitted(&curve, 0.0, 1.0, tolerance);
                    worst = worst.max(off);
                    vertices.extend(more);
                }
            }
        }
    }
    (Contour { vertices, closed: true }, worst)
}

#[cfg(test)]
mod tests {
    use std::f64::consts::{FRAC_PI_2, PI};

    use super::*;
    use crate::geometry::frame::unit;

    fn closed(vertices: Vec<Vertex>, end: DVec2) -> Contour {
        let last = Vertex { at: end, bulge: 0.0 };
        Contour { vertices: vertices.into_iter().chain([last]).collect(), closed: false }
    }

    #[test]
    fn a_quarter_circle_is_one_arc() {
        let curve = |t: f64| (unit(t) * 7.0, unit(t).perp() * 7.0);
        let (vertices, worst) = fitted(&curve, 0.2, 0.2 + FRAC_PI_2, 0.005);
        assert_eq!(vertices.len(), 1);
        assert!((vertices[0].bulge - libm::tan(PI / 8.0)).abs() < 1e-12);
        assert!(worst < 1e-12);
    }

    /// Truth: the ellipse itself, 2000 places of it, and its area of π a b.
    #[test]
    fn an_ellipse_is_followed_within_the_tolerance_without_corners() {
        let curve = |t: f64| {
            let (sin, cos) = libm::sincos(t);
            (DVec2::new(20.0 * cos, 6.0 * sin), DVec2::new(-20.0 * sin, 6.0 * cos))
        };
        for tolerance in [0.1, 0.005, 1e-4] {
            let mut vertices = Vec::new();
            let mut worst: f64 = 0.0;
            for quarter in 0..4_u32 {
                let from = f64::from(quarter) * FRAC_PI_2;
                let (more, off) = fitted(&curve, from, from + FRAC_PI_2, tolerance);
                vertices.extend(more);
                worst = worst.max(off);
            }
            let contour = Contour { vertices, closed: true };
            let most = (0..2000_u32)
                .map(|i| contour.nearest(curve(f64::from(i) * PI / 1000.0).0).0)
                .fold(0.0, f64::max);
            assert!(most <= 1.1 * tolerance && most > 0.1 * worst, "{most} of {tolerance}");
            assert!((contour.area() - PI * 120.0).abs() < tolerance * contour.length());
            let pieces: Vec<Piece> = contour.pieces().collect();
            for (one, two) in pieces.iter().zip(pieces.iter().cycle().skip(1)) {
                assert!(one.direction(true).perp_dot(two.direction(false)).abs() < 1e-6);
            }
            assert!(pieces.len() < 400, "{}", pieces.len());
        }
    }

    #[test]
    fn a_straight_run_is_one_line_and_a_turn_back_is_an_s() {
        let line = |t: f64| (DVec2::new(t, 2.0 * t), DVec2::new(1.0, 2.0));
        assert_eq!(fitted(&line, 0.0, 9.0, 0.005).0.len(), 1);
        // y = x³ turns the other way at the origin: two arcs of opposite bulge or more.
        let cubic = |t: f64| (DVec2::new(t, t * t * t), DVec2::new(1.0, 3.0 * t * t));
        let (vertices, _) = fitted(&cubic, -1.0, 1.0, 0.005);
        assert!(vertices.first().is_some_and(|vertex| vertex.bulge < 0.0));
        let contour = closed(vertices, DVec2::ONE);
        assert!(contour.pieces().last().is_some_and(|piece| piece.bulge > 0.0));
        for i in 0..=1000_u32 {
            let x = f64::from(i) / 500.0 - 1.0;
            assert!(contour.nearest(DVec2::new(x, x * x * x)).0 < 0.0055);
        }
    }
}

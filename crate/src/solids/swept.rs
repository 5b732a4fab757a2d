//! Surfaces and edges swept along the stations of the neck.
//!
//! A corner of a section traces a C1 chain of cubics; a straight link between two corners a
//! ruled surface; an arc about the centreline a rational surface, two quadratic arcs round the tube. Chains
//! take point and derivative from the definition at every node. Where the centreline's
//! curvature jumps the true sweep creases (by about the taper times the bend); there the chain
//! passes over a short span around the jump, see [`blend`].

use std::f64::consts::PI;
use std::sync::Arc;

use glam::{DVec2, DVec3, DVec4};

use crate::geometry::bspline::{Knots, SplineCurve, SplineSurface, chain_control};
use crate::geometry::cubic::Cubic;
use crate::geometry::curve::Curve;
use crate::geometry::frame::Frame;
use crate::geometry::neck::Neck;
use crate::geometry::shape::{Azimuth, Radius, SectionPoint};
use crate::geometry::surface::Surface;

use super::brep::{Edge, Vertex};
use super::construct::edge;
use super::error::SolidError;

/// Half the span by which a chain passes over a jump of curvature, mm, where [`blend`] does not ask for less.
const BLEND: f64 = 0.35;

/// Greatest distance by which a chain leaves the definition over a jump of curvature, mm.
const BLENDED: f64 = 7e-4;

/// Greatest distance of a chain from its definition between two nodes, mm.
const FIDELITY: f64 = 1e-4;

/// A point and derivative in a section plane, carried into space.
fn lift(neck: &Neck, station: f64, flat: DVec2, slope: DVec2) -> (DVec3, DVec3) {
    let at = neck.at(station);
    (
        at.centre + DVec3::Y * flat.x + at.up * flat.y,
        at.tangent * (1.0 + at.curvature * flat.y) + DVec3::Y * slope.x + at.up * slope.y,
    )
}

/// A corner's point and derivative by station.
pub fn trace(neck: &Neck, corner: &SectionPoint, station: f64) -> (DVec3, DVec3) {
    let (flat, slope) = corner.at(neck, station);
    lift(neck, station, flat, slope)
}

/// Homogeneous control values of an arc link at one station, and their derivatives: two
/// rational quadratic arcs end to end. The middle control point of each, times its weight w
/// (cos of half that arc's angle), is w centre + radius × (direction of its middle); see Piegl
/// & Tiller, section 7.3. A whole half turn in one span would be exact as well, but its speed
/// changes so much along it that readers' quadratures lose four digits.
struct ArcColumns {
    value: [DVec4; 5],
    slope: [DVec4; 5],
}

/// An arc about the centreline between two corners.
#[derive(Clone, Copy)]
pub struct ArcLink<'a> {
    pub from: &'a SectionPoint,
    pub to: &'a SectionPoint,
    /// Whether it runs towards growing azimuth.
    pub growing: bool,
}

impl ArcLink<'_> {
    /// Angles of both ends at a station, unwrapped so that their difference has the link's sign.
    fn angles(&self, neck: &Neck, station: f64) -> ((f64, f64), (f64, f64)) {
        let a = self.from.angle(neck, station);
        let b = self.to.angle(neck, station);
        let mut turn = b.value - a.value;
        turn -= 2.0 * PI * (turn / (2.0 * PI)).floor();
        if !self.growing {
            turn -= 2.0 * PI;
        }
        ((a.value, a.slope), (a.value + turn, b.slope))
    }

    fn columns(&self, neck: &Neck, station: f64) -> ArcColumns {
        let at = neck.at(station);
        let radius = self.from.radius.at(neck, station);
        let ((a, a_slope), (b, b_slope)) = self.angles(neck, station);
        let (turn, turn_slope) = (b - a, b_slope - a_slope);
        let (sin_part, cos_part) = libm::sincos(turn / 4.0);
        let mut columns = ArcColumns { value: [DVec4::ZERO; 5], slope: [DVec4::ZERO; 5] };
        for (k, (value, slope)) in columns.value.iter_mut().zip(&mut columns.slope).enumerate() {
            let share = k as f64 / 4.0;
            let (angle, angle_slope) = (a + turn * share, a_slope + turn_slope * share);
            let (weight, weight_slope) =
                if k % 2 == 0 { (1.0, 0.0) } else { (cos_part, -sin_part * turn_slope / 4.0) };
            let (sin, cos) = libm::sincos(angle);
            let out = DVec3::Y * sin + at.up * cos;
            let out_slope =
                (DVec3::Y * cos - at.up * sin) * angle_slope + at.tangent * (at.curvature * cos);
            *value = (out * radius.value + at.centre * weight).extend(weight);
            *slope = (out * radius.slope
                + out_slope * radius.value
                + at.centre * weight_slope
                + at.tangent * weight)
                .extend(weight_slope);
        }
        columns
    }

    /// The arc itself at one station, as an edge between two vertices.
    pub fn edge(
        &self,
        neck: &Neck,
        station: f64,
        from: &Vertex,
        to: &Vertex,
    ) -> Result<Edge, SolidError> {
        let at = neck.at(station);
        let ((a, _), (b, _)) = self.angles(neck, station);
        let x = DVec3::Y * libm::sin(a) + at.up * libm::cos(a);
        // Growing azimuth turns from up towards +Y, which is about -tangent.
        let z = if b > a { -at.tangent } else { at.tangent };
        let frame = Frame::from_zx(at.centre, z, x);
        let radius = self.from.radius.at(neck, station).value;
        edge(from, to, Curve::Circle { frame, radius, start: 0.0, sweep: (b - a).abs() })
    }

    /// The surface the arc sweeps: u round from the first corner to the second, v along the
    /// stations. Its normal points away from the axis where azimuth falls along u.
    pub fn surface(&self, neck: &Neck, stations: &[f64]) -> Surface {
        let sampled: Vec<ArcColumns> =
            stations.iter().map(|&station| self.columns(neck, station)).collect();
        let columns: Vec<Vec<DVec4>> = (0..5)
            .map(|column| {
                let nodes: Vec<_> = stations
                    .iter()
                    .zip(&sampled)
                    .map(|(&s, columns)| (s, columns.value[column], columns.slope[column]))
                    .collect();
                chain_control(&nodes)
            })
            .collect();
        Surface::Spline(Arc::new(SplineSurface {
            u_knots: Knots::two_arcs(),
            v_knots: Knots::cubic_chain(stations),
            control: columns.concat(),
        }))
    }
}

/// The ruled surface between the traces of two corners: u from the first to the second, v
/// along the stations; a plane where both corners keep to one plane y = const.
pub fn ruled(neck: &Neck, from: &SectionPoint, to: &SectionPoint, stations: &[f64]) -> Surface {
    if let Some(y) = level(from).filter(|y| level(to) == Some(*y)) {
        let start = stations.first().map_or(DVec3::ZERO, |&s| trace(neck, from, s).0);
        let side = stations.first().map_or(DVec3::X, |&s| neck.at(s).tangent);
        let a = stations.first().map_or(0.0, |&s| from.at(neck, s).0.y);
        let b = stations.first().map_or(0.0, |&s| to.at(neck, s).0.y);
        // Outward is (direction of the link) × tangent, here along ±y.
        let z = if b > a { DVec3::Y } else { DVec3::NEG_Y };
        let origin = DVec3::new(start.x, y, start.z);
        return Surface::Plane { frame: Frame::from_zx(origin, z, side) };
    }
    let chain = |corner: &SectionPoint| {
        let nodes: Vec<_> = stations
            .iter()
            .map(|&s| {
                let (point, slope) = trace(neck, corner, s);
                (s, point.extend(1.0), slope.extend(0.0))
            })
            .collect();
        chain_control(&nodes)
    };
    Surface::Spline(Arc::new(SplineSurface {
        u_knots: Knots::single_span(1),
        v_knots: Knots::cubic_chain(stations),
        control: [chain(from), chain(to)].concat(),
    }))
}

/// The y a corner keeps to at every station, if it does.
fn level(corner: &SectionPoint) -> Option<f64> {
    match corner.azimuth {
        Azimuth::Upright(y) | Azimuth::AtY(y) => Some(y),
        Azimuth::Fixed(angle) if angle == 0.0 || angle.abs() == PI => Some(0.0),
        _ => None,
    }
}

/// The trace of a corner as an edge.
pub fn trace_edge(
    neck: &Neck,
    corner: &SectionPoint,
    stations: &[f64],
    from: &Vertex,
    to: &Vertex,
) -> Result<Edge, SolidError> {
    let nodes: Vec<_> = stations
        .iter()
        .map(|&s| {
            let (point, slope) = trace(neck, corner, s);
            (s, point, slope)
        })
        .collect();
    edge(from, to, Curve::Spline(Arc::new(SplineCurve::through(&nodes))))
}

/// The swept surface at a radius about the centreline between two azimuths (growing), over
/// stations chosen here.
pub fn swept_arc(
    neck: &Neck,
    radius: &Radius,
    azimuths: (f64, f64),
    from: f64,
    to: f64,
) -> Surface {
    let corner = |angle| SectionPoint { azimuth: Azimuth::Fixed(angle), radius: radius.clone() };
    let (a, b) = (corner(azimuths.0), corner(azimuths.1));
    let (mut breaks, jumps) = neck.breaks(from, to);
    breaks.extend(radius.breaks().into_iter().filter(|s| *s > from && *s < to));
    breaks.sort_by(f64::total_cmp);
    let link = ArcLink { from: &a, to: &b, growing: true };
    let stations = stations(neck, &breaks, &jumps, &[], &[link]);
    link.surface(neck, &stations)
}

/// Stations of the nodes, so that the chains of all corners and arcs keep to their definition
/// within [`FIDELITY`] (but for the blends over jumps of curvature).
pub fn stations(
    neck: &Neck,
    breaks: &[f64],
    jumps: &[f64],
    corners: &[&SectionPoint],
    arcs: &[ArcLink<'_>],
) -> Vec<f64> {
    let (Some(&first), Some(&last)) = (breaks.first(), breaks.last()) else {
        return Vec::new();
    };
    let blends: Vec<(f64, f64)> =
        jumps.iter().map(|&jump| (jump, blend(neck, jump, corners, arcs))).collect();
    let near_jump = |s: f64| blends.iter().any(|(jump, half)| (s - jump).abs() < half * 1.5);
    let mut marks: Vec<f64> =
        breaks.iter().copied().filter(|&s| s == first || s == last || !near_jump(s)).collect();
    for (jump, half) in blends {
        for mark in [jump - half, jump + half] {
            if mark > first + half / 4.0 && mark < last - half / 4.0 {
                marks.push(mark);
            }
        }
    }
    marks.sort_by(f64::total_cmp);
    marks.dedup_by(|a, b| *a - *b < 1e-3);
    if let Some(end) = marks.last_mut() {
        *end = last;
    }
    let mut out = vec![first];
    for pair in marks.windows(2) {
        let over_jump = jumps.iter().any(|&jump| jump > pair[0] && jump < pair[1]);
        if over_jump {
            out.push(pair[1]);
        } else {
            refine(neck, pair[0], pair[1], corners, arcs, 0, &mut out);
        }
    }
    out
}

/// Half the span by which the chains pass over a jump of curvature.
///
/// There the derivative by station jumps along the tangent by (jump of curvature) × (height in the
/// section); its part square to the surface is that times the slope at which the surface rises. In
/// the middle the chain leaves the definition by a quarter of the half span times this part.
fn blend(neck: &Neck, jump: f64, corners: &[&SectionPoint], arcs: &[ArcLink<'_>]) -> f64 {
    let bend = (neck.at(jump + 1e-6).curvature - neck.at(jump - 1e-6).curvature).abs();
    let corner_leans = corners.iter().map(|corner| {
        let (flat, slope) = corner.at(neck, jump);
        flat.y.abs() * slope.length()
    });
    let arc_leans = arcs.iter().map(|arc| {
        let radius = arc.from.radius.at(neck, jump);
        (radius.value * radius.slope).abs()
    });
    let lean = corner_leans.chain(arc_leans).fold(0.0, f64::max);
    BLEND.min(4.0 * BLENDED / (bend * lean).max(1e-9))
}

/// Appends the nodes of `(a, b]`, halving it while a chain leaves its definition in the middle.
fn refine(
    neck: &Neck,
    a: f64,
    b: f64,
    corners: &[&SectionPoint],
    arcs: &[ArcLink<'_>],
    depth: usize,
    out: &mut Vec<f64>,
) {
    let middle = (a + b) / 2.0;
    let span = b - a;
    let half_way = |v0: DVec4, d0: DVec4, v1: DVec4, d1: DVec4| {
        Cubic::between(v0, d0, v1, d1, span).value(0.5)
    };
    let miss = |v: DVec4, chain: DVec4| {
        // A change of weight moves the point by about the reach of the arc times it.
        let weight = (v.w - chain.w).abs();
        (v.truncate() - v.truncate() * (weight / v.w.abs().max(0.1)) - chain.truncate()).length()
    };
    let corner_misses = corners.iter().map(|corner| {
        let node = |s| {
            let (point, slope) = trace(neck, corner, s);
            (point.extend(1.0), slope.extend(0.0))
        };
        let ((v0, d0), (v1, d1)) = (node(a), node(b));
        miss(node(middle).0, half_way(v0, d0, v1, d1))
    });
    let arc_misses = arcs.iter().map(|arc| {
        let (p, q, m) = (arc.columns(neck, a), arc.columns(neck, b), arc.columns(neck, middle));
        (0..5)
            .map(|k| miss(m.value[k], half_way(p.value[k], p.slope[k], q.value[k], q.slope[k])))
            .fold(0.0, f64::max)
    });
    let worst = corner_misses.chain(arc_misses).fold(0.0, f64::max);
    if worst > FIDELITY && depth < 10 {
        refine(neck, a, middle, corners, arcs, depth + 1, out);
        refine(neck, middle, b, corners, arcs, depth + 1, out);
    } else {
        out.push(b);
    }
}

//! Small steps every builder shares: edges, rings, faces, hole walls, the closing of a shell.

use std::f64::consts::PI;
use std::sync::Arc;

use glam::DVec3;

use crate::geometry::bspline::SplineCurve;
use crate::geometry::curve::Curve;
use crate::geometry::frame::Frame;
use crate::geometry::surface::Surface;

use super::brep::{Edge, Face, Shell, Solid, Vertex, Wire};
use super::error::SolidError;

/// Shortest edge a builder makes, mm: well above truck's own tolerance of 1e-6.
const SHORTEST: f64 = 1e-5;

pub fn vertex(point: DVec3) -> Result<Vertex, SolidError> {
    if point.is_finite() {
        Ok(Vertex::new(point))
    } else {
        Err(SolidError::new("vertex", "a coordinate is not a number"))
    }
}

pub fn edge(from: &Vertex, to: &Vertex, curve: Curve) -> Result<Edge, SolidError> {
    let (a, b) = (from.point(), to.point());
    if curve.point(0.0).distance(a) > 1e-6 || curve.point(1.0).distance(b) > 1e-6 {
        return Err(SolidError::new("edge", format!("the curve misses its ends {a} and {b}")));
    }
    if a.distance(b) < SHORTEST {
        return Err(SolidError::new("edge", format!("no length left at {a}")));
    }
    Edge::try_new(from, to, curve).map_err(|e| SolidError::new("edge", e))
}

pub fn line(from: &Vertex, to: &Vertex) -> Result<Edge, SolidError> {
    edge(from, to, Curve::Line { from: from.point(), to: to.point() })
}

pub fn spline(from: &Vertex, to: &Vertex, curve: SplineCurve) -> Result<Edge, SolidError> {
    edge(from, to, Curve::Spline(Arc::new(curve)))
}

/// Face whose wires run counter-clockwise seen against its outward normal (holes clockwise).
/// `same_sense` says that the outward normal is the surface's own.
pub fn face(wires: Vec<Wire>, surface: Surface, same_sense: bool) -> Result<Face, SolidError> {
    let wires = if same_sense { wires } else { wires.iter().map(Wire::inverse).collect() };
    let mut face = Face::try_new(wires, surface).map_err(|e| SolidError::new("face", e))?;
    if !same_sense {
        face.invert();
    }
    Ok(face)
}

/// One closed shell made a solid.
pub fn solid(faces: Vec<Face>) -> Result<Solid, SolidError> {
    Solid::try_new(vec![Shell::from(faces)]).map_err(|e| SolidError::new("shell", e))
}

/// A closed curve in two halves: vertex 0 at angle 0, vertex 1 at half a turn.
#[derive(Clone, Debug)]
pub struct Ring {
    pub vertices: [Vertex; 2],
    /// Edge 0 from vertex 0 to vertex 1, edge 1 back.
    pub edges: [Edge; 2],
}

impl Ring {
    /// Circle about the frame's z axis, starting on x and turning towards y.
    pub fn circle(frame: &Frame, radius: f64) -> Result<Self, SolidError> {
        let a = vertex(frame.origin + frame.x * radius)?;
        let b = vertex(frame.origin - frame.x * radius)?;
        let half = |start| Curve::Circle { frame: *frame, radius, start, sweep: PI };
        let edges = [edge(&a, &b, half(0.0))?, edge(&b, &a, half(PI))?];
        Ok(Self { vertices: [a, b], edges })
    }

    /// Closed free curve given by point and derivative at an angle (radians); each half is a
    /// chain of `spans` cubics.
    pub fn free(
        spans: usize,
        mut at: impl FnMut(f64) -> Result<(DVec3, DVec3), SolidError>,
    ) -> Result<Self, SolidError> {
        let mut nodes = Vec::with_capacity(2 * spans + 1);
        for i in 0..2 * spans {
            let angle = PI * i as f64 / spans as f64;
            let (point, slope) = at(angle)?;
            nodes.push((angle, point, slope));
        }
        if let Some(&(_, point, slope)) = nodes.first() {
            nodes.push((2.0 * PI, point, slope));
        }
        let (first, second) = (&nodes[..=spans], &nodes[spans..]);
        let a = vertex(first[0].1)?;
        let b = vertex(second[0].1)?;
        let edges = [
            spline(&a, &b, SplineCurve::through(first))?,
            spline(&b, &a, SplineCurve::through(second))?,
        ];
        Ok(Self { vertices: [a, b], edges })
    }

    /// The ring as a wire in its own sense.
    pub fn forward(&self) -> Wire {
        self.edges.iter().cloned().collect()
    }

    /// The ring as a wire against its own sense.
    pub fn backward(&self) -> Wire {
        self.forward().inverse()
    }

    /// Vertex at the start of half `k`.
    pub fn start(&self, k: usize) -> &Vertex {
        &self.vertices[k % 2]
    }
}

/// Frames of the two half cylinders or cones about an axis: x in the middle of each half, so
/// that a half face runs from -90 to +90 degrees and never crosses the seam of its angle.
pub fn half_frames(frame: &Frame) -> [Frame; 2] {
    [Frame { x: frame.y, y: -frame.x, ..*frame }, Frame { x: -frame.y, y: frame.x, ..*frame }]
}

/// The lines that join the vertices of two rings, from the first ring to the second.
pub fn ring_lines(from: &Ring, to: &Ring) -> Result<[Edge; 2], SolidError> {
    Ok([line(&from.vertices[0], &to.vertices[0])?, line(&from.vertices[1], &to.vertices[1])?])
}

/// Wire round half `k` of the wall between two rings whose angle turns about the direction
/// from `low` to `high`, counter-clockwise seen from outside the ring.
pub fn outside_half(low: &Ring, high: &Ring, joins: &[Edge; 2], k: usize) -> Wire {
    [low.edges[k].clone(), joins[(k + 1) % 2].clone(), high.edges[k].inverse(), joins[k].inverse()]
        .into_iter()
        .collect()
}

/// The wall of a round hole along -z of `frame`, from the ring `entry` (where the frame's z
/// points out of the metal) to the ring `bottom`; both turn about +z.
///
/// The face the hole enters takes `entry.backward()` as inner wire; a face it leaves through
/// takes `bottom.forward()`, as does the outer wire of a flat bottom.
pub fn hole_wall(
    frame: &Frame,
    radius: f64,
    entry: &Ring,
    bottom: &Ring,
) -> Result<[Face; 2], SolidError> {
    let joins = ring_lines(bottom, entry)?;
    let [first, second] = half_frames(frame);
    let half = |k: usize, frame: Frame| {
        let wire = outside_half(bottom, entry, &joins, k).inverse();
        face(vec![wire], Surface::Cylinder { frame, radius }, false)
    };
    Ok([half(0, first)?, half(1, second)?])
}

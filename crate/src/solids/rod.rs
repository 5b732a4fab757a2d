//! Bent round rod with pointed ends: cylinders, tori, and a cone at each end.

use glam::DVec3;

use crate::geometry::curve::Curve;
use crate::geometry::frame::Frame;
use crate::geometry::motion::turned;
use crate::geometry::shape::{Rod, RodPiece};
use crate::geometry::surface::Surface;

use super::brep::{Edge, Face, Solid};
use super::construct::{Ring, edge, face, half_frames, line, outside_half, solid};
use super::error::SolidError;

/// A cross-section: frame with z along the path, and radius.
#[derive(Clone, Copy)]
struct Cut {
    frame: Frame,
    radius: f64,
}

/// Builds the rod.
pub fn build(rod: &Rod) -> Result<Solid, SolidError> {
    let pieces = with_points(rod)?;
    let Some(first) = pieces.first() else {
        return Err(SolidError::new("rod", "has no path"));
    };
    let tangent = start_tangent(&first.piece);
    let x = tangent.any_orthonormal_vector();
    let mut cut =
        Cut { frame: Frame::from_zx(start(&first.piece), tangent, x), radius: first.radii.0 };
    let mut ring = Ring::circle(&cut.frame, cut.radius)?;
    let mut faces = vec![face(
        vec![ring.backward()],
        Surface::Plane { frame: Frame::from_zx(cut.frame.origin, -tangent, x) },
        true,
    )?];
    for piece in &pieces {
        let next = Cut { frame: carried(&cut.frame, &piece.piece), radius: piece.radii.1 };
        let next_ring = Ring::circle(&next.frame, next.radius)?;
        faces.extend(bend(&piece.piece, &cut, &next, &ring, &next_ring)?);
        cut = next;
        ring = next_ring;
    }
    faces.push(face(vec![ring.forward()], Surface::Plane { frame: cut.frame }, true)?);
    solid(faces)
}

/// A piece of path with the radius at its start and end.
struct Tapered {
    piece: RodPiece,
    radii: (f64, f64),
}

/// The path with its pointed ends cut off as pieces of their own.
fn with_points(rod: &Rod) -> Result<Vec<Tapered>, SolidError> {
    let full = (rod.radius, rod.radius);
    let mut pieces: Vec<Tapered> =
        rod.path.iter().map(|&piece| Tapered { piece, radii: full }).collect();
    let too_short = || SolidError::new("rod", "its straight end is shorter than its point");
    let count = pieces.len();
    if count < 2 {
        return Err(SolidError::new("rod", "needs a straight piece at each end"));
    }
    let RodPiece::Line { from, to } = pieces[0].piece else { return Err(too_short()) };
    if from.distance(to) <= rod.point_length {
        return Err(too_short());
    }
    let joint = from + (to - from).normalize() * rod.point_length;
    pieces[0].piece = RodPiece::Line { from: joint, to };
    let tip = RodPiece::Line { from, to: joint };
    let RodPiece::Line { from, to } = pieces[count - 1].piece else { return Err(too_short()) };
    if from.distance(to) <= rod.point_length {
        return Err(too_short());
    }
    let joint = to + (from - to).normalize() * rod.point_length;
    pieces[count - 1].piece = RodPiece::Line { from, to: joint };
    pieces.push(Tapered {
        piece: RodPiece::Line { from: joint, to },
        radii: (rod.radius, rod.tip_radius),
    });
    pieces.insert(0, Tapered { piece: tip, radii: (rod.tip_radius, rod.radius) });
    Ok(pieces)
}

fn start(piece: &RodPiece) -> DVec3 {
    match piece {
        RodPiece::Line { from, .. } | RodPiece::Arc { from, .. } => *from,
    }
}

fn start_tangent(piece: &RodPiece) -> DVec3 {
    match piece {
        RodPiece::Line { from, to } => (*to - *from).normalize_or_zero(),
        RodPiece::Arc { from, centre, axis, .. } => axis.cross(*from - *centre).normalize_or_zero(),
    }
}

/// The cut's frame carried to the end of a piece without twist.
fn carried(frame: &Frame, piece: &RodPiece) -> Frame {
    match piece {
        RodPiece::Line { to, .. } => frame.at(*to),
        RodPiece::Arc { from, centre, axis, sweep } => {
            let origin = *centre + turned(*from - *centre, *axis, *sweep);
            Frame::from_zx(origin, turned(frame.z, *axis, *sweep), turned(frame.x, *axis, *sweep))
        }
    }
}

/// The two half faces of one piece.
fn bend(
    piece: &RodPiece,
    cut: &Cut,
    next: &Cut,
    low: &Ring,
    high: &Ring,
) -> Result<[Face; 2], SolidError> {
    let joins = [join(piece, low, high, 0)?, join(piece, low, high, 1)?];
    let middles = half_frames(&cut.frame);
    let half = |k: usize| {
        let wire = outside_half(low, high, &joins, k);
        face(vec![wire], skin(piece, cut, next, &middles[k]), true)
    };
    Ok([half(0)?, half(1)?])
}

/// Edge along the piece between the vertices of its rings at angle 0 (`k` = 0) or half a turn.
fn join(piece: &RodPiece, low: &Ring, high: &Ring, k: usize) -> Result<Edge, SolidError> {
    let (a, b) = (low.start(k), high.start(k));
    match piece {
        RodPiece::Line { .. } => line(a, b),
        RodPiece::Arc { centre, axis, sweep, .. } => {
            let spoke = a.point() - *centre;
            let origin = *centre + *axis * axis.dot(spoke);
            let out = a.point() - origin;
            let radius = out.length();
            let frame = Frame::from_zx(origin, *axis, out / radius);
            edge(a, b, Curve::Circle { frame, radius, start: 0.0, sweep: *sweep })
        }
    }
}

/// Surface of the half of a piece whose middle is the frame's x at its start.
fn skin(piece: &RodPiece, cut: &Cut, next: &Cut, middle: &Frame) -> Surface {
    match piece {
        RodPiece::Line { from, to } if cut.radius != next.radius => {
            let length = from.distance(*to);
            let half_angle = libm::atan2((next.radius - cut.radius).abs(), length);
            if next.radius > cut.radius {
                Surface::Cone { frame: *middle, radius: cut.radius, half_angle }
            } else {
                let frame = Frame::from_zx(*to, -middle.z, middle.x);
                Surface::Cone { frame, radius: next.radius, half_angle }
            }
        }
        RodPiece::Line { .. } => Surface::Cylinder { frame: *middle, radius: cut.radius },
        RodPiece::Arc { from, centre, axis, sweep } => {
            let spoke = *from - *centre;
            let major = spoke.length();
            let x = turned(spoke / major, *axis, sweep / 2.0);
            Surface::Torus { frame: Frame::from_zx(*centre, *axis, x), major, minor: cut.radius }
        }
    }
}

//! Turned bodies: each side of the profile becomes a plane, or two half faces.

use std::f64::consts::FRAC_PI_4;
use std::sync::Arc;

use glam::{DVec2, DVec3, DVec4};

use crate::geometry::bspline::{Knots, SplineCurve, SplineSurface, chain_control};
use crate::geometry::curve::Curve;
use crate::geometry::frame::Frame;
use crate::geometry::outline::{Node, Side};
use crate::geometry::shape::Turned;
use crate::geometry::surface::Surface;

use super::brep::{Edge, Face, Solid};
use super::construct::{Ring, edge, face, half_frames, line, solid};
use super::error::SolidError;

/// Radii below this are the axis itself, mm.
const AXIS: f64 = 1e-9;

/// Builds a body of revolution; needs every side to run along the axis, square to it, or clear of it.
pub fn build(turned: &Turned) -> Result<Solid, SolidError> {
    let axis = &turned.axis;
    let sides = turned.profile.sides();
    let rings = sides
        .iter()
        .map(|side| {
            let start = side.start();
            let frame = axis.at(axis.point(DVec3::new(0.0, 0.0, start.x)));
            (start.y > AXIS).then(|| Ring::circle(&frame, start.y)).transpose()
        })
        .collect::<Result<Vec<_>, _>>()?;
    let mut faces = Vec::with_capacity(2 * sides.len());
    for (index, side) in sides.iter().enumerate() {
        let ends = (&rings[index], &rings[(index + 1) % sides.len()]);
        match ends {
            (None, None) => {}
            (Some(_), None) | (None, Some(_)) if !is_flat(side) => {
                return Err(SolidError::new("turned side", "runs slanting into the axis"));
            }
            (from, to) if is_flat(side) => {
                faces.push(disc(axis, side, from.as_ref(), to.as_ref())?)
            }
            (Some(from), Some(to)) => faces.extend(band(axis, side, from, to)?),
            (Some(_), None) | (None, Some(_)) => {
                return Err(SolidError::new("turned side", "runs into the axis"));
            }
        }
    }
    solid(faces)
}

fn is_flat(side: &Side) -> bool {
    matches!(side, Side::Line { from, to } if (from.x - to.x).abs() < AXIS)
}

/// A flat side: a disc, or an annulus between its two rings.
fn disc(
    axis: &Frame,
    side: &Side,
    from: Option<&Ring>,
    to: Option<&Ring>,
) -> Result<Face, SolidError> {
    let (start, end) = (side.start(), side.end());
    let at = axis.at(axis.point(DVec3::new(0.0, 0.0, start.x)));
    // The metal lies to the left of the profile: going outward, the face looks along +z.
    let outward = end.y > start.y;
    let (outer, inner) = if outward { (to, from) } else { (from, to) };
    let frame = if outward { at } else { Frame { y: -at.y, z: -at.z, ..at } };
    let mut wires = Vec::with_capacity(2);
    if let Some(ring) = outer {
        wires.push(if outward { ring.forward() } else { ring.backward() });
    }
    if let Some(ring) = inner {
        wires.push(if outward { ring.backward() } else { ring.forward() });
    }
    face(wires, Surface::Plane { frame }, true)
}

/// The two half faces of a side that is not flat.
fn band(axis: &Frame, side: &Side, from: &Ring, to: &Ring) -> Result<[Face; 2], SolidError> {
    let [first, second] = half_frames(axis);
    let joins = [generator(axis, side, from, to, 0)?, generator(axis, side, from, to, 1)?];
    let half = |k: usize, middle: Frame| {
        let wire = [
            joins[k].clone(),
            to.edges[k].clone(),
            joins[(k + 1) % 2].inverse(),
            from.edges[k].inverse(),
        ];
        let (surface, same_sense) = side_surface(&middle, side);
        face(vec![wire.into_iter().collect()], surface, same_sense)
    };
    Ok([half(0, first)?, half(1, second)?])
}

/// The side itself at angle 0 (`k` = 0) or half a turn.
fn generator(
    axis: &Frame,
    side: &Side,
    from: &Ring,
    to: &Ring,
    k: usize,
) -> Result<Edge, SolidError> {
    let out = if k == 0 { axis.x } else { -axis.x };
    let (a, b) = (from.start(k), to.start(k));
    match side {
        Side::Line { .. } => line(a, b),
        Side::Arc { from, centre, sweep } => {
            let radius = from.distance(*centre);
            let spoke = *from - *centre;
            let x = (axis.z * spoke.x + out * spoke.y) / radius;
            // Counter-clockwise in (axial, radial) is about z × out.
            let z = axis.z.cross(out) * sweep.signum();
            let origin = axis.origin + axis.z * centre.x + out * centre.y;
            let frame = Frame::from_zx(origin, z, x);
            edge(a, b, Curve::Circle { frame, radius, start: 0.0, sweep: sweep.abs() })
        }
        Side::Cubic { nodes, .. } => {
            let place = |p: DVec2| axis.z * p.x + out * p.y;
            let through: Vec<_> = nodes
                .iter()
                .map(|node| (node.t, axis.origin + place(node.point), place(node.slope)))
                .collect();
            edge(a, b, Curve::Spline(Arc::new(SplineCurve::through(&through))))
        }
    }
}

/// Surface of a side's half face whose middle is the frame's x, and whether its own normal
/// points out of the metal.
fn side_surface(middle: &Frame, side: &Side) -> (Surface, bool) {
    match side {
        Side::Line { from, to } => {
            let along = *to - *from;
            // The metal lies to the left: going back along the axis, the face looks outward.
            let outward = along.x < 0.0;
            if along.y.abs() < AXIS {
                let frame = middle.at(middle.origin + middle.z * from.x);
                return (Surface::Cylinder { frame, radius: from.y }, outward);
            }
            let narrow = if from.y < to.y { from } else { to };
            let grows_along = (along.y > 0.0) == (along.x > 0.0);
            let origin = middle.origin + middle.z * narrow.x;
            let frame = if grows_along {
                middle.at(origin)
            } else {
                Frame::from_zx(origin, -middle.z, middle.x)
            };
            let half_angle = libm::atan2(along.y.abs(), along.x.abs());
            (Surface::Cone { frame, radius: narrow.y, half_angle }, outward)
        }
        Side::Arc { from, centre, sweep } => {
            let frame = middle.at(middle.origin + middle.z * centre.x);
            let minor = from.distance(*centre);
            (Surface::Torus { frame, major: centre.y, minor }, *sweep > 0.0)
        }
        Side::Cubic { nodes, .. } => (revolved_chain(middle, nodes), true),
    }
}

/// Half a turn of a cubic chain: cubic along the profile, two rational quadratic quarters
/// round (Piegl & Tiller, *The NURBS Book*, section 7.3).
fn revolved_chain(middle: &Frame, nodes: &[Node]) -> Surface {
    let columns: [Vec<DVec4>; 5] = std::array::from_fn(|column| {
        // The half runs from -y of the middle frame over x to +y.
        let (sin, cos) = libm::sincos((column as f64 - 2.0) * FRAC_PI_4);
        let out = middle.x * cos + middle.y * sin;
        let weight = if column % 2 == 0 { 1.0 } else { libm::cos(FRAC_PI_4) };
        let through: Vec<(f64, DVec4, DVec4)> = nodes
            .iter()
            .map(|node| {
                let place = |p: DVec2| middle.z * (p.x * weight) + out * p.y;
                let point = (middle.origin * weight + place(node.point)).extend(weight);
                (node.t, point, place(node.slope).extend(0.0))
            })
            .collect();
        chain_control(&through)
    });
    let rows = columns[0].len();
    let control =
        (0..rows).flat_map(|i| columns.iter().filter_map(move |column| column.get(i).copied()));
    let breaks: Vec<f64> = nodes.iter().map(|node| node.t).collect();
    Surface::Spline(Arc::new(SplineSurface {
        u_knots: Knots::cubic_chain(&breaks),
        v_knots: Knots::two_arcs(),
        control: control.collect(),
    }))
}

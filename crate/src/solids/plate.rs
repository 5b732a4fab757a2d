//! Bodies cut from plate or strip.

use std::sync::Arc;

use glam::{DVec2, DVec3, DVec4};

use crate::geometry::bspline::{Knots, SplineCurve, SplineSurface, chain_control};
use crate::geometry::curve::Curve;
use crate::geometry::frame::Frame;
use crate::geometry::outline::{Node, Side};
use crate::geometry::shape::{EdgeHole, HoleEnd, Plate};
use crate::geometry::surface::Surface;

use super::brep::{Edge, Face, Solid, Vertex, Wire};
use super::construct::{Ring, edge, face, hole_wall, line, solid, vertex};
use super::error::SolidError;

/// Builds a plate: its two flats, a wall for each side of the outline, and its holes.
pub fn build(plate: &Plate) -> Result<Solid, SolidError> {
    let sides = plate.outline.sides();
    let count = sides.len();
    let (bottom, top) = (level(plate, -1.0)?, level(plate, 1.0)?);
    let uprights = bottom
        .vertices
        .iter()
        .zip(&top.vertices)
        .map(|(low, high)| line(low, high))
        .collect::<Result<Vec<_>, _>>()?;
    let mut walls: Vec<Vec<Wire>> = (0..count)
        .map(|i| {
            let wire = [
                bottom.edges[i].clone(),
                uprights[(i + 1) % count].clone(),
                top.edges[i].inverse(),
                uprights[i].inverse(),
            ];
            vec![wire.into_iter().collect()]
        })
        .collect();
    let mut faces = Vec::new();
    let mut top_wires = vec![top.edges.iter().cloned().collect::<Wire>()];
    let mut bottom_wires = vec![bottom.edges.iter().cloned().collect::<Wire>().inverse()];
    for hole in &plate.holes {
        let frame = plate.frame.at(place(plate, hole.centre, plate.half_thickness));
        let entry = Ring::circle(&frame, hole.radius)?;
        let low = plate.frame.at(place(plate, hole.centre, -plate.half_thickness));
        let exit = Ring::circle(&low, hole.radius)?;
        faces.extend(hole_wall(&frame, hole.radius, &entry, &exit)?);
        top_wires.push(entry.backward());
        bottom_wires.push(exit.forward());
    }
    for hole in &plate.edge_holes {
        faces.extend(edge_hole(plate, hole, &mut walls)?);
    }
    for (side, wires) in sides.iter().zip(walls) {
        let (surface, same_sense) = wall_surface(plate, side);
        faces.push(face(wires, surface, same_sense)?);
    }
    let flat = |sign: f64| {
        let origin = place(plate, DVec2::ZERO, sign * plate.half_thickness);
        Surface::Plane { frame: Frame::from_zx(origin, plate.frame.z * sign, plate.frame.x) }
    };
    faces.push(face(top_wires, flat(1.0), true)?);
    faces.push(face(bottom_wires, flat(-1.0), true)?);
    solid(faces)
}

/// The outline's vertices and edges on one flat.
struct Level {
    vertices: Vec<Vertex>,
    edges: Vec<Edge>,
}

fn place(plate: &Plate, flat: DVec2, height: f64) -> DVec3 {
    plate.frame.point(flat.extend(height))
}

fn level(plate: &Plate, sign: f64) -> Result<Level, SolidError> {
    let sides = plate.outline.sides();
    let height = sign * plate.half_thickness;
    let vertices = sides
        .iter()
        .map(|side| vertex(place(plate, side.start(), height)))
        .collect::<Result<Vec<_>, _>>()?;
    let edges = sides
        .iter()
        .enumerate()
        .map(|(i, side)| {
            let (a, b) = (&vertices[i], &vertices[(i + 1) % vertices.len()]);
            match side {
                Side::Line { .. } => line(a, b),
                Side::Arc { from, centre, sweep } => {
                    let spoke = *from - *centre;
                    let radius = spoke.length();
                    let x = plate.frame.direction((spoke / radius).extend(0.0));
                    let z = plate.frame.z * sweep.signum();
                    let frame = Frame::from_zx(place(plate, *centre, height), z, x);
                    edge(a, b, Curve::Circle { frame, radius, start: 0.0, sweep: sweep.abs() })
                }
                Side::Cubic { nodes, .. } => {
                    let nodes: Vec<_> = nodes
                        .iter()
                        .map(|node| {
                            let slope = plate.frame.direction(node.slope.extend(0.0));
                            (node.t, place(plate, node.point, height), slope)
                        })
                        .collect();
                    edge(a, b, Curve::Spline(Arc::new(SplineCurve::through(&nodes))))
                }
            }
        })
        .collect::<Result<Vec<_>, _>>()?;
    Ok(Level { vertices, edges })
}

/// Surface of the wall over one side, and whether its own normal points out of the metal.
fn wall_surface(plate: &Plate, side: &Side) -> (Surface, bool) {
    match side {
        Side::Line { from, to } => {
            let along = plate.frame.direction((*to - *from).normalize_or_zero().extend(0.0));
            let frame = Frame::from_zx(place(plate, *from, 0.0), along.cross(plate.frame.z), along);
            (Surface::Plane { frame }, true)
        }
        Side::Arc { from, centre, sweep } => {
            let middle = crate::geometry::frame::unit(sweep / 2.0).rotate(*from - *centre);
            let x = plate.frame.direction(middle.normalize_or_zero().extend(0.0));
            let frame = Frame::from_zx(place(plate, *centre, 0.0), plate.frame.z, x);
            (Surface::Cylinder { frame, radius: from.distance(*centre) }, *sweep > 0.0)
        }
        Side::Cubic { nodes, .. } => (extruded(plate, nodes), true),
    }
}

/// A cubic chain carried through the thickness: u along the chain, v up the plate.
fn extruded(plate: &Plate, nodes: &[Node]) -> Surface {
    let chain = |height: f64| {
        let through: Vec<(f64, DVec4, DVec4)> = nodes
            .iter()
            .map(|node| {
                let slope = plate.frame.direction(node.slope.extend(0.0));
                (node.t, place(plate, node.point, height).extend(1.0), slope.extend(0.0))
            })
            .collect();
        chain_control(&through)
    };
    let (low, high) = (chain(-plate.half_thickness), chain(plate.half_thickness));
    let breaks: Vec<f64> = nodes.iter().map(|node| node.t).collect();
    Surface::Spline(Arc::new(SplineSurface {
        u_knots: Knots::cubic_chain(&breaks),
        v_knots: Knots::single_span(1),
        control: low.into_iter().zip(high).flat_map(|(a, b)| [a, b]).collect(),
    }))
}

/// Drills a hole into an edge: adds its inner wires to the walls it enters and leaves, and
/// gives the faces of the hole itself.
fn edge_hole(
    plate: &Plate,
    hole: &EdgeHole,
    walls: &mut [Vec<Wire>],
) -> Result<Vec<Face>, SolidError> {
    let step = "hole in the plate's edge";
    let sides = plate.outline.sides();
    let Some(Side::Line { .. }) = sides.get(hole.side) else {
        return Err(SolidError::new(step, "enters a side that is not straight"));
    };
    if hole.radius >= plate.half_thickness {
        return Err(SolidError::new(step, "is wider than the plate is thick"));
    }
    let inward = plate.edge_hole_direction(hole);
    let depth = match hole.end {
        HoleEnd::Blind(depth) => depth,
        HoleEnd::Through(exit) => match sides.get(exit) {
            Some(Side::Line { from, .. }) => (*from - hole.entry).dot(inward),
            _ => return Err(SolidError::new(step, "leaves through a side that is not straight")),
        },
    };
    if depth <= 0.0 {
        return Err(SolidError::new(step, "has no depth"));
    }
    let out = plate.frame.direction((-inward).extend(0.0));
    let frame = Frame::from_zx(place(plate, hole.entry, 0.0), out, plate.frame.z);
    let entry = Ring::circle(&frame, hole.radius)?;
    let low = frame.at(frame.origin - out * depth);
    let bottom = Ring::circle(&low, hole.radius)?;
    let mut faces = Vec::from(hole_wall(&frame, hole.radius, &entry, &bottom)?);
    if let Some(wires) = walls.get_mut(hole.side) {
        wires.push(entry.backward());
    }
    match hole.end {
        HoleEnd::Blind(_) => {
            faces.push(face(vec![bottom.forward()], Surface::Plane { frame: low }, true)?);
        }
        HoleEnd::Through(exit) => {
            if let Some(wires) = walls.get_mut(exit) {
                wires.push(bottom.forward());
            }
        }
    }
    Ok(faces)
}

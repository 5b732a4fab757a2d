//! Bodies swept along the tube, and the tube itself.

use std::f64::consts::PI;

use crate::geometry::frame::Frame;
use crate::geometry::neck::Neck;
use crate::geometry::shape::{Azimuth, Link, Radius, SectionPoint, Sweep, Tube, TubeHole};
use crate::geometry::surface::Surface;

use super::brep::{Edge, Face, Solid, Vertex, Wire};
use super::construct::{Ring, face, hole_wall, line, solid, vertex};
use super::error::SolidError;
use super::rim::rim_on_surface;
use super::swept::{ArcLink, ruled, stations, trace, trace_edge};

/// One closed loop of a section: corners, and how each is joined to the next.
struct Loop {
    corners: Vec<SectionPoint>,
    joins: Vec<Link>,
}

/// Side faces of one loop, as surface and wire still open for a hole, and its wires at both ends.
struct Skirt {
    sides: Vec<(Surface, Wire)>,
    first: Wire,
    last: Wire,
}

/// Builds a swept body.
pub fn build(sweep: &Sweep) -> Result<Solid, SolidError> {
    let neck = &sweep.neck;
    let count = sweep.points.len();
    if count < 3 || sweep.links.len() != count {
        return Err(SolidError::new("section", "needs three corners and a link for each"));
    }
    let (breaks, jumps) = sweep.breaks();
    let section = Loop { corners: sweep.points.clone(), joins: sweep.links.clone() };
    let skirt = skirt(neck, &section, &breaks, &jumps)?;
    let mut faces = skirt
        .sides
        .into_iter()
        .map(|(surface, wire)| face(vec![wire], surface, true))
        .collect::<Result<Vec<_>, _>>()?;
    faces.extend(caps(neck, sweep.from, sweep.to, vec![(skirt.first, skirt.last)])?);
    solid(faces)
}

/// The side faces of a loop. Corners run counter-clockwise in (y, n) round the metal, so that
/// (link) × (tangent) points out of it.
fn skirt(neck: &Neck, section: &Loop, breaks: &[f64], jumps: &[f64]) -> Result<Skirt, SolidError> {
    let count = section.corners.len();
    let next = |i: usize| (i + 1) % count;
    let link = |i: usize, growing| ArcLink {
        from: &section.corners[i],
        to: &section.corners[next(i)],
        growing,
    };
    let arcs: Vec<ArcLink<'_>> = section
        .joins
        .iter()
        .enumerate()
        .filter_map(|(i, join)| match join {
            Link::Arc { growing } => Some(link(i, *growing)),
            Link::Straight => None,
        })
        .collect();
    let corners: Vec<&SectionPoint> = section.corners.iter().collect();
    let nodes = stations(neck, breaks, jumps, &corners, &arcs);
    let (Some(&from), Some(&to)) = (nodes.first(), nodes.last()) else {
        return Err(SolidError::new("section", "has no length"));
    };
    let at_end = |station: f64| -> Result<Vec<Vertex>, SolidError> {
        section.corners.iter().map(|corner| vertex(trace(neck, corner, station).0)).collect()
    };
    let (low, high) = (at_end(from)?, at_end(to)?);
    let end_links = |station: f64, vertices: &[Vertex]| -> Result<Vec<Edge>, SolidError> {
        (0..count)
            .map(|i| {
                let (a, b) = (&vertices[i], &vertices[next(i)]);
                match section.joins[i] {
                    Link::Straight => line(a, b),
                    Link::Arc { growing } => link(i, growing).edge(neck, station, a, b),
                }
            })
            .collect()
    };
    let (first, last) = (end_links(from, &low)?, end_links(to, &high)?);
    let traces = (0..count)
        .map(|i| trace_edge(neck, &section.corners[i], &nodes, &low[i], &high[i]))
        .collect::<Result<Vec<_>, _>>()?;
    let sides = (0..count)
        .map(|i| {
            let surface = match section.joins[i] {
                Link::Straight => {
                    ruled(neck, &section.corners[i], &section.corners[next(i)], &nodes)
                }
                Link::Arc { growing } => link(i, growing).surface(neck, &nodes),
            };
            let wire =
                [first[i].clone(), traces[next(i)].clone(), last[i].inverse(), traces[i].inverse()];
            (surface, wire.into_iter().collect())
        })
        .collect();
    Ok(Skirt { sides, first: first.into_iter().collect(), last: last.into_iter().collect() })
}

/// The two flat ends; of each loop the wire at the first and at the last station, the outer
/// loop first.
fn caps(
    neck: &Neck,
    from: f64,
    to: f64,
    loops: Vec<(Wire, Wire)>,
) -> Result<[Face; 2], SolidError> {
    let plane = |station: f64, sign: f64| {
        let at = neck.at(station);
        Surface::Plane { frame: Frame::from_zx(at.centre, at.tangent * sign, at.up) }
    };
    let (first, last): (Vec<Wire>, Vec<Wire>) =
        loops.into_iter().map(|(first, last)| (first.inverse(), last)).unzip();
    Ok([face(first, plane(from, -1.0), true)?, face(last, plane(to, 1.0), true)?])
}

/// Builds the tube: outside and bore in two half turns each, split at azimuth +/- 90 degrees
/// so that the vent's hole lies inside the top faces.
pub fn build_tube(tube: &Tube) -> Result<Solid, SolidError> {
    let neck = &tube.neck;
    let (breaks, jumps) = neck.breaks(tube.from, tube.to);
    let corner = |angle: f64, offset: f64| SectionPoint {
        azimuth: Azimuth::Fixed(angle),
        radius: Radius::Bore(offset),
    };
    let quarter = PI / 2.0;
    // The outside runs over the top from +y to -y, then under; the bore the other way round.
    let outside = Loop {
        corners: vec![corner(quarter, neck.wall), corner(-quarter, neck.wall)],
        joins: vec![Link::Arc { growing: false }; 2],
    };
    let bore = Loop {
        corners: vec![corner(-quarter, 0.0), corner(quarter, 0.0)],
        joins: vec![Link::Arc { growing: true }; 2],
    };
    let outside = skirt(neck, &outside, &breaks, &jumps)?;
    let bore = skirt(neck, &bore, &breaks, &jumps)?;
    let ends = vec![(outside.first, outside.last), (bore.first, bore.last)];
    let mut faces: Vec<Face> = caps(neck, tube.from, tube.to, ends)?.into();
    let mut tops = Vec::new();
    for sides in [outside.sides, bore.sides] {
        for (place, (surface, wire)) in sides.into_iter().enumerate() {
            if place == 0 {
                tops.push((surface, vec![wire]));
            } else {
                faces.push(face(vec![wire], surface, true)?);
            }
        }
    }
    if let (Some(hole), [(out_surface, out_wires), (in_surface, in_wires)]) =
        (&tube.hole, tops.as_mut_slice())
    {
        let (frame, outer, inner) = vent_rims(neck, hole, out_surface, in_surface)?;
        faces.extend(hole_wall(&frame, hole.radius, &outer, &inner)?);
        out_wires.push(outer.backward());
        in_wires.push(inner.forward());
    }
    for (surface, wires) in tops {
        faces.push(face(wires, surface, true)?);
    }
    solid(faces)
}

/// The rims of the vent's hole on the outside and in the bore, and its frame (z outward).
fn vent_rims(
    neck: &Neck,
    hole: &TubeHole,
    outside: &Surface,
    bore: &Surface,
) -> Result<(Frame, Ring, Ring), SolidError> {
    let at = neck.at(hole.station);
    let frame = Frame::from_zx(at.centre, at.up, at.tangent);
    let radius = neck.bore.radius(hole.station);
    if hole.radius >= radius {
        return Err(SolidError::new("vent hole", "is wider than the bore"));
    }
    let top = |height: f64| at.centre + at.up * height;
    let outer = rim_on_surface(outside, &frame, hole.radius, top(radius + neck.wall))?;
    let inner = rim_on_surface(bore, &frame, hole.radius, top(radius))?;
    Ok((frame, outer, inner))
}

//! Triangles of a solid at a chord tolerance.
//!
//! Edges are divided once and shared, so the triangles of neighbouring faces meet point for
//! point. Each face is triangulated in its own parameters, stretched so that one step of the
//! chord tolerance has length one in both directions, on a grid of its own inside the shared
//! boundary: a regular lattice where the boundary is a rectangle of parameters (none in one that is
//! a step wide: there the sides are tied to each other), constrained Delaunay elsewhere.

use std::ops::Range;

use glam::{DVec2, DVec3};

use crate::geometry::curve::Curve;
use crate::geometry::surface::Surface;

use super::brep::Solid;
use super::delaunay::{Spot, delaunay};
use super::error::SolidError;
use super::lattice::lattice;
use super::loops::{FaceLoops, Tracker, unpack};
use super::stretch::{Stretch, stretches};

/// Triangles of one face.
#[derive(Clone, Debug)]
pub struct FaceMesh {
    pub surface: Surface,
    /// Whether the surface's own normal points out of the metal.
    pub outward: bool,
    /// Points on the surface, mm; those on an edge are shared bit for bit with the neighbour.
    pub positions: Vec<DVec3>,
    /// The surface's parameters of each point.
    pub uvs: Vec<DVec2>,
    /// Counter-clockwise seen from outside the metal.
    pub triangles: Vec<[u32; 3]>,
    /// Boundary wires as indices into `positions`: the outer wire, then the holes,
    /// counter-clockwise and clockwise about the surface's own normal.
    pub loops: Vec<Vec<u32>>,
    /// For each loop, the piece of edge from each of its points to the next.
    pub pieces: Vec<Vec<EdgePiece>>,
}

/// The piece of an edge between two neighbouring points of a loop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EdgePiece {
    /// Index into the mesh's `edges`.
    pub edge: u32,
    /// Parameters of the edge's curve at the first and at the second point.
    pub range: [f64; 2],
}

/// Triangles of a solid.
#[derive(Clone, Debug)]
pub struct SolidMesh {
    pub faces: Vec<FaceMesh>,
    pub edges: Vec<Curve>,
    /// Greatest distance between the triangles and the true surfaces, mm.
    pub chord: f64,
}

impl SolidMesh {
    /// Points of all faces; those on an edge stand here once for each of its faces, equal bit for bit.
    pub fn positions(&self) -> impl Iterator<Item = DVec3> + '_ {
        self.faces.iter().flat_map(|face| face.positions.iter().copied())
    }

    /// Unit normal of the true surface at each of [`Self::positions`], out of the metal.
    pub fn normals(&self) -> impl Iterator<Item = DVec3> + '_ {
        self.faces.iter().flat_map(|face| {
            let sign = if face.outward { 1.0 } else { -1.0 };
            face.uvs.iter().map(move |uv| face.surface.normal(*uv) * sign)
        })
    }

    /// Triangles of all faces as indices into [`Self::positions`], counter-clockwise seen from outside.
    pub fn triangles(&self) -> impl Iterator<Item = [u32; 3]> + '_ {
        let mut next = 0;
        self.faces.iter().flat_map(move |face| {
            let base = next;
            next += face.positions.len() as u32;
            face.triangles.iter().map(move |corners| corners.map(|corner| base + corner))
        })
    }
}

/// Distance from the boundary, in steps, inside which no grid point is set.
const CLEAR_OF_BOUNDARY: f64 = 0.4;

/// Rounds in which points are added where triangles leave the surface.
const REFINEMENTS: usize = 4;

/// A triangle over a bent surface leaves it half as far again at the middle of its longest side
/// as at its own middle: this share of the chord is allowed there.
const MIDDLE_SHARE: f64 = 0.67;

/// Times the edges of a face are divided finer where, as divided, they cross each other.
const FINER: usize = 6;

/// Triangulates a solid so that triangles stay within `chord` millimetres of the surfaces.
///
/// Edges nearer together than the chord, as on a narrow ring, are divided finer: with chords
/// that cut the corner by more than that they would cross.
pub fn mesh(solid: &Solid, chord: f64) -> Result<SolidMesh, SolidError> {
    let body = unpack(solid);
    // Parts of the tolerance go to the edges and to the faces' own grid; the rest is slack
    // for triangles that join the two.
    let mut chords = vec![chord * 0.6; body.edges.len()];
    let mut round = 0;
    loop {
        let division: Vec<Division> = body
            .edges
            .iter()
            .zip(&body.ends)
            .zip(&chords)
            .map(|((curve, &(from, to)), &chord)| {
                divided(curve, [body.vertices[from], body.vertices[to]], chord)
            })
            .collect();
        let mut faces = Vec::with_capacity(body.faces.len());
        let mut crossed = None;
        for face in &body.faces {
            match face_mesh(face, &division, chord) {
                Ok(done) => faces.push(done),
                Err(error) => {
                    crossed = Some(error);
                    face.wires.iter().flatten().for_each(|side| chords[side.edge] /= 4.0);
                }
            }
        }
        match crossed {
            None => return Ok(SolidMesh { faces, edges: body.edges, chord }),
            Some(error) if round == FINER => return Err(error),
            Some(_) => round += 1,
        }
    }
}

/// Triangulates one face of a solid, its edges divided within chords of their own: by index of
/// the edge, as in [`SolidMesh::edges`]; finer where they would cross.
pub fn mesh_face(
    solid: &Solid,
    face: usize,
    chord: f64,
    edge_chord: impl Fn(u32) -> f64,
) -> Result<FaceMesh, SolidError> {
    let body = unpack(solid);
    let Some(loops) = body.faces.get(face) else {
        return Err(SolidError::new("triangles of a face", "there is no such face"));
    };
    let used = |index: usize| loops.wires.iter().flatten().any(|side| side.edge == index);
    let mut share = 1.0;
    let mut round = 0;
    loop {
        let division: Vec<Division> = body
            .edges
            .iter()
            .zip(&body.ends)
            .enumerate()
            .map(|(index, (curve, &(from, to)))| {
                if used(index) {
                    let ends = [body.vertices[from], body.vertices[to]];
                    divided(curve, ends, share * edge_chord(index as u32))
                } else {
                    Division::new()
                }
            })
            .collect();
        match face_mesh(loops, &division, chord) {
            Ok(done) => return Ok(done),
            Err(error) if round == FINER => return Err(error),
            Err(_) => {
                share /= 4.0;
                round += 1;
            }
        }
    }
}

/// Points along an edge with their parameters.
type Division = Vec<(f64, DVec3)>;

fn divided(curve: &Curve, ends: [DVec3; 2], chord: f64) -> Division {
    let mut points: Division =
        curve.chord_parameters(chord).iter().map(|&t| (t, curve.point(t))).collect();
    // Edges that meet share their vertex bit for bit.
    if let [first, .., last] = points.as_mut_slice() {
        (first.1, last.1) = (ends[0], ends[1]);
    }
    points
}

fn face_mesh(face: &FaceLoops, division: &[Division], chord: f64) -> Result<FaceMesh, SolidError> {
    let mut boundary = Boundary::default();
    for wire in &face.wires {
        let mut tracker = Tracker::new(&face.surface, boundary.uvs.first().copied());
        let start = boundary.positions.len() as u32;
        let mut pieces = Vec::new();
        for side in wire {
            let points = &division[side.edge];
            let last = points.len() - 1;
            for i in 0..last {
                let (here, next) = if side.forward {
                    (points[i], points[i + 1])
                } else {
                    (points[last - i], points[last - i - 1])
                };
                boundary.positions.push(here.1);
                boundary.uvs.push(tracker.parameters(here.1));
                pieces.push(EdgePiece { edge: side.edge as u32, range: [here.0, next.0] });
            }
        }
        boundary.pieces.push(pieces);
        boundary.loops.push((start..boundary.positions.len() as u32).collect());
    }
    let stretched = stretches(&face.surface, &boundary.uvs, chord * 0.45);
    let mut out = match lattice(face, &boundary, &stretched) {
        Some((mut laid, cells)) if !cells.is_empty() => {
            split_departing(&mut laid, &cells, chord);
            laid
        }
        // Without regular cells there is nothing that splitting spares: Delaunay does better where it leaves the surface.
        Some((laid, cells)) if departing(&laid, &cells, chord).is_empty() => laid,
        _ => refined(face, &boundary, &stretched, chord)?,
    };
    if !out.outward {
        for triangle in &mut out.triangles {
            triangle.swap(1, 2);
        }
    }
    Ok(out)
}

/// Delaunay triangles of a face, with points added where they leave the surface.
fn refined(
    face: &FaceLoops,
    boundary: &Boundary,
    stretched: &[Stretch; 2],
    chord: f64,
) -> Result<FaceMesh, SolidError> {
    let mut extra = Vec::new();
    let mut out = triangulate(face, boundary, stretched, &extra)?;
    for _ in 0..REFINEMENTS {
        let wide = departing(&out, &(0..0), chord);
        if wide.is_empty() {
            break;
        }
        extra.extend(wide.into_iter().map(|(_, uv)| uv));
        out = triangulate(face, boundary, stretched, &extra)?;
    }
    Ok(out)
}

/// Splits the triangles that leave the surface at their middle: on a lattice those are the few
/// that tie it to the boundary. The regular cells keep to the tolerance by their size.
fn split_departing(face: &mut FaceMesh, cells: &Range<usize>, chord: f64) {
    for _ in 0..REFINEMENTS {
        let wide = departing(face, cells, chord);
        if wide.is_empty() {
            break;
        }
        for (index, uv) in wide {
            let middle = face.positions.len() as u32;
            face.positions.push(face.surface.point(uv));
            face.uvs.push(uv);
            let [a, b, c] = face.triangles[index];
            face.triangles[index] = [a, b, middle];
            face.triangles.extend([[b, c, middle], [c, a, middle]]);
        }
    }
}

/// Boundary points of a face with their parameters.
#[derive(Default)]
pub(super) struct Boundary {
    pub positions: Vec<DVec3>,
    pub uvs: Vec<DVec2>,
    pub loops: Vec<Vec<u32>>,
    pub pieces: Vec<Vec<EdgePiece>>,
}

/// Triangles that leave the surface by more than the chord, seen along the normal at their
/// middle, with the middle's parameters, but for the `trusted` ones: the few that join a finely divided edge to the grid.
fn departing(face: &FaceMesh, trusted: &Range<usize>, chord: f64) -> Vec<(usize, DVec2)> {
    if matches!(face.surface, Surface::Plane { .. }) {
        return Vec::new();
    }
    face.triangles
        .iter()
        .enumerate()
        .filter(|(index, _)| !trusted.contains(index))
        .filter_map(|(index, triangle)| {
            let [a, b, c] = triangle.map(|i| i as usize);
            let uv = (face.uvs[a] + face.uvs[b] + face.uvs[c]) / 3.0;
            let middle = (face.positions[a] + face.positions[b] + face.positions[c]) / 3.0;
            let (point, su, sv) = face.surface.point_slopes(uv);
            let departure = (point - middle).dot(su.cross(sv).normalize_or_zero()).abs();
            (departure > MIDDLE_SHARE * chord).then_some((index, uv))
        })
        .collect()
}

fn triangulate(
    face: &FaceLoops,
    boundary: &Boundary,
    [u, v]: &[Stretch; 2],
    extra: &[DVec2],
) -> Result<FaceMesh, SolidError> {
    let stretched: Vec<DVec2> =
        boundary.uvs.iter().map(|uv| DVec2::new(u.step_at(uv.x), v.step_at(uv.y))).collect();
    let mut positions = boundary.positions.clone();
    let mut uvs = boundary.uvs.clone();
    let mut spots: Vec<Spot> = stretched
        .iter()
        .enumerate()
        .map(|(index, &place)| Spot::new(place, index as u32))
        .collect();
    let constraints: Vec<[usize; 2]> = boundary
        .loops
        .iter()
        .flat_map(|ring| ring.iter().zip(ring.iter().cycle().skip(1)))
        .map(|(&a, &b)| [a as usize, b as usize])
        .collect();
    if !matches!(face.surface, Surface::Plane { .. }) {
        let refined = extra.iter().map(|&uv| (DVec2::new(u.step_at(uv.x), v.step_at(uv.y)), uv));
        for (place, uv) in grid(u, v, &stretched, &constraints).into_iter().chain(refined) {
            spots.push(Spot::new(place, positions.len() as u32));
            positions.push(face.surface.point(uv));
            uvs.push(uv);
        }
    }
    let triangles = delaunay(spots, constraints)?;
    Ok(FaceMesh {
        surface: face.surface.clone(),
        outward: face.outward,
        positions,
        uvs,
        triangles,
        loops: boundary.loops.clone(),
        pieces: boundary.pieces.clone(),
    })
}

/// Grid points inside the boundary and clear of it, in steps and in parameters.
fn grid(
    u: &Stretch,
    v: &Stretch,
    stretched: &[DVec2],
    sides: &[[usize; 2]],
) -> Vec<(DVec2, DVec2)> {
    let columns = u.total().ceil().clamp(1.0, 4000.0) as usize;
    let rows = v.total().ceil().clamp(1.0, 4000.0) as usize;
    let cell = DVec2::new(u.total() / columns as f64, v.total() / rows as f64);
    let mut blocked = vec![false; (columns + 1) * (rows + 1)];
    for &[a, b] in sides {
        let (a, b) = (stretched[a] / cell, stretched[b] / cell);
        let low = (a.min(b) - CLEAR_OF_BOUNDARY).ceil().max(DVec2::ZERO);
        let high = (a.max(b) + CLEAR_OF_BOUNDARY).floor();
        for i in low.x as usize..=(high.x.max(-1.0) + 1.0) as usize {
            for j in low.y as usize..=(high.y.max(-1.0) + 1.0) as usize {
                if i > columns || j > rows {
                    continue;
                }
                let node = DVec2::new(i as f64, j as f64);
                let along = b - a;
                let t = ((node - a).dot(along) / along.length_squared().max(1e-24)).clamp(0.0, 1.0);
                if node.distance_squared(a + along * t) < CLEAR_OF_BOUNDARY * CLEAR_OF_BOUNDARY {
                    blocked[i * (rows + 1) + j] = true;
                }
            }
        }
    }
    let mut out = Vec::new();
    let mut crossings: Vec<f64> = Vec::new();
    for j in 1..rows {
        let level = j as f64 * cell.y;
        crossings.clear();
        for &[a, b] in sides {
            let (a, b) = (stretched[a], stretched[b]);
            if (a.y <= level) != (b.y <= level) {
                crossings.push(a.x + (b.x - a.x) * (level - a.y) / (b.y - a.y));
            }
        }
        crossings.sort_by(f64::total_cmp);
        for pair in crossings.chunks_exact(2) {
            let first = (pair[0] / cell.x).ceil().max(1.0) as usize;
            let last = (pair[1] / cell.x).floor().max(0.0) as usize;
            for i in first..=last.min(columns.saturating_sub(1)) {
                if !blocked[i * (rows + 1) + j] {
                    let place = DVec2::new(i as f64 * cell.x, level);
                    out.push((place, DVec2::new(u.parameter_at(place.x), v.parameter_at(place.y))));
                }
            }
        }
    }
    out
}

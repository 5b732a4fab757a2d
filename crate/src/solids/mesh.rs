//! Triangles of a solid at a chord tolerance.
//!
//! Edges are divided once and shared, so the triangles of neighbouring faces meet point for
//! point. Each face is triangulated in its own parameters, stretched so that one step of the
//! chord tolerance has length one in both directions, on a grid of its own inside the shared
//! boundary (constrained Delaunay, crate `spade`).

use glam::{DVec2, DVec3};
use spade::{ConstrainedDelaunayTriangulation, HasPosition, Point2, Triangulation};

use crate::geometry::curve::{Curve, arc_steps};
use crate::geometry::surface::Surface;

use super::brep::Solid;
use super::error::SolidError;
use super::loops::{FaceLoops, Tracker, unpack};

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

/// Distance from the boundary, in steps, inside which no grid point is set.
const CLEAR_OF_BOUNDARY: f64 = 0.4;

/// Rounds in which points are added where triangles leave the surface.
const REFINEMENTS: usize = 4;

/// Triangulates a solid so that triangles stay within `chord` millimetres of the surfaces.
pub fn mesh(solid: &Solid, chord: f64) -> Result<SolidMesh, SolidError> {
    let body = unpack(solid);
    // Parts of the tolerance go to the edges and to the faces' own grid; the rest is slack
    // for triangles that join the two.
    let division: Vec<Vec<(f64, DVec3)>> = body
        .edges
        .iter()
        .zip(&body.ends)
        .map(|(curve, &(from, to))| {
            let mut points: Vec<(f64, DVec3)> =
                curve.chord_parameters(chord * 0.6).iter().map(|&t| (t, curve.point(t))).collect();
            // Edges that meet share their vertex bit for bit.
            if let [first, .., last] = points.as_mut_slice() {
                (first.1, last.1) = (body.vertices[from], body.vertices[to]);
            }
            points
        })
        .collect();
    let faces = body
        .faces
        .iter()
        .map(|face| face_mesh(face, &division, chord))
        .collect::<Result<Vec<_>, _>>()?;
    Ok(SolidMesh { faces, edges: body.edges, chord })
}

fn face_mesh(
    face: &FaceLoops,
    division: &[Vec<(f64, DVec3)>],
    chord: f64,
) -> Result<FaceMesh, SolidError> {
    let mut boundary = Boundary::default();
    for wire in &face.wires {
        let mut tracker = Tracker::new(&face.surface, boundary.uvs.first().copied());
        let start = boundary.positions.len() as u32;
        let mut pieces = Vec::new();
        for side in wire {
            let points = &division[side.edge];
            let last = points.len() - 1;
            for i in 0..last {
                let (here, next) =
                    if side.forward { (points[i], points[i + 1]) } else { (points[last - i], points[last - i - 1]) };
                boundary.positions.push(here.1);
                boundary.uvs.push(tracker.parameters(here.1));
                pieces.push(EdgePiece { edge: side.edge as u32, range: [here.0, next.0] });
            }
        }
        boundary.pieces.push(pieces);
        boundary.loops.push((start..boundary.positions.len() as u32).collect());
    }
    let target = chord * 0.5;
    let mut extra = Vec::new();
    let mut out = triangulate(face, &boundary, target, &extra)?;
    for _ in 0..REFINEMENTS {
        let wide = departing(&out, chord);
        if wide.is_empty() {
            break;
        }
        extra.extend(wide);
        out = triangulate(face, &boundary, target, &extra)?;
    }
    if !out.outward {
        for triangle in &mut out.triangles {
            triangle.swap(1, 2);
        }
    }
    Ok(out)
}

/// Boundary points of a face with their parameters.
#[derive(Default)]
struct Boundary {
    positions: Vec<DVec3>,
    uvs: Vec<DVec2>,
    loops: Vec<Vec<u32>>,
    pieces: Vec<Vec<EdgePiece>>,
}

/// Parameters of the middles of triangles that leave the surface by more than the chord, seen
/// along the normal: the few that join a finely divided hole to the grid.
fn departing(face: &FaceMesh, chord: f64) -> Vec<DVec2> {
    if matches!(face.surface, Surface::Plane { .. }) {
        return Vec::new();
    }
    face.triangles
        .iter()
        .filter_map(|triangle| {
            let [a, b, c] = triangle.map(|i| i as usize);
            let uv = (face.uvs[a] + face.uvs[b] + face.uvs[c]) / 3.0;
            let middle = (face.positions[a] + face.positions[b] + face.positions[c]) / 3.0;
            let (point, su, sv) = face.surface.point_slopes(uv);
            let departure = (point - middle).dot(su.cross(sv).normalize_or_zero()).abs();
            (departure > chord).then_some(uv)
        })
        .collect()
}

/// How one parameter is stretched: knots of parameter against count of steps.
struct Stretch {
    parameters: Vec<f64>,
    steps: Vec<f64>,
}

impl Stretch {
    /// The same length everywhere between two parameters.
    fn even(low: f64, high: f64, steps: f64) -> Self {
        Self { parameters: vec![low, high.max(low + 1e-12)], steps: vec![0.0, steps.max(1.0)] }
    }

    fn total(&self) -> f64 {
        self.steps.last().copied().unwrap_or(1.0)
    }

    fn step_at(&self, parameter: f64) -> f64 {
        interpolate(&self.parameters, &self.steps, parameter)
    }

    fn parameter_at(&self, step: f64) -> f64 {
        interpolate(&self.steps, &self.parameters, step)
    }
}

/// Piecewise linear interpolation, straight on beyond the ends; `x` rises strictly.
fn interpolate(xs: &[f64], ys: &[f64], x: f64) -> f64 {
    let next = xs.partition_point(|&value| value <= x).clamp(1, xs.len() - 1);
    let (x0, x1) = (xs[next - 1], xs[next]);
    ys[next - 1] + (ys[next] - ys[next - 1]) * (x - x0) / (x1 - x0)
}

/// The stretch of both parameters over a face.
fn stretches(surface: &Surface, uvs: &[DVec2], chord: f64) -> [Stretch; 2] {
    let (low, high) = uvs.iter().fold(
        (DVec2::splat(f64::INFINITY), DVec2::splat(f64::NEG_INFINITY)),
        |(low, high), uv| (low.min(*uv), high.max(*uv)),
    );
    let turn = |radius: f64, range: f64| arc_steps(radius, range, chord) as f64;
    match surface {
        Surface::Plane { .. } => [Stretch::even(low.x, high.x, 1.0), Stretch::even(low.y, high.y, 1.0)],
        Surface::Cylinder { radius, .. } => [
            Stretch::even(low.x, high.x, turn(*radius, high.x - low.x)),
            Stretch::even(low.y, high.y, 1.0),
        ],
        Surface::Cone { radius, half_angle, .. } => {
            let widest = (radius + high.y * libm::tan(*half_angle)).abs().max(*radius);
            [
                Stretch::even(low.x, high.x, turn(widest, high.x - low.x)),
                Stretch::even(low.y, high.y, 1.0),
            ]
        }
        Surface::Torus { major, minor, .. } => [
            Stretch::even(low.x, high.x, turn(major + minor, high.x - low.x)),
            Stretch::even(low.y, high.y, turn(*minor, high.y - low.y)),
        ],
        Surface::Spline(spline) => {
            let along = |breaks: Vec<f64>, range: (f64, f64), point: &dyn Fn(f64, f64) -> DVec3| {
                let mut parameters = vec![range.0];
                let mut steps = vec![0.0];
                let pieces = if breaks.len() < 4 { 6 } else { 3 };
                let mut total = 0.0;
                for pair in breaks.windows(2) {
                    for k in 0..pieces {
                        let a = pair[0] + (pair[1] - pair[0]) * f64::from(k) / f64::from(pieces);
                        let b = pair[0] + (pair[1] - pair[0]) * f64::from(k + 1) / f64::from(pieces);
                        if b <= range.0 || a >= range.1 {
                            continue;
                        }
                        let (a, b) = (a.max(range.0), b.min(range.1));
                        let bend = [0.0, 0.5, 1.0]
                            .map(|side| {
                                let (p, q, r) = (point(a, side), point((a + b) / 2.0, side), point(b, side));
                                (p - q * 2.0 + r).length()
                            })
                            .into_iter()
                            .fold(0.0, f64::max);
                        // The second difference over half steps is h^2 |S''| / 4. A little is
                        // always added: the stretch must rise.
                        total += (bend / (2.0 * chord)).sqrt() + 0.02;
                        parameters.push(b);
                        steps.push(total);
                    }
                }
                Stretch { parameters, steps }
            };
            let u = along(spline.u_knots.breaks(), (low.x, high.x), &|t, side| {
                spline.point(DVec2::new(t, low.y + (high.y - low.y) * side))
            });
            let v = along(spline.v_knots.breaks(), (low.y, high.y), &|t, side| {
                spline.point(DVec2::new(low.x + (high.x - low.x) * side, t))
            });
            [u, v]
        }
    }
}

/// A vertex of the triangulation: its place in steps and its index in the face.
struct Spot {
    place: DVec2,
    index: u32,
}

impl HasPosition for Spot {
    type Scalar = f64;
    fn position(&self) -> Point2<f64> {
        Point2::new(self.place.x, self.place.y)
    }
}

fn triangulate(
    face: &FaceLoops,
    boundary: &Boundary,
    chord: f64,
    extra: &[DVec2],
) -> Result<FaceMesh, SolidError> {
    let [u, v] = stretches(&face.surface, &boundary.uvs, chord);
    let stretched: Vec<DVec2> =
        boundary.uvs.iter().map(|uv| DVec2::new(u.step_at(uv.x), v.step_at(uv.y))).collect();
    let mut positions = boundary.positions.clone();
    let mut uvs = boundary.uvs.clone();
    // Values too small for the exact predicates are zero for us.
    let tidy = |x: f64| if x.abs() < 1e-9 { 0.0 } else { x };
    let mut spots: Vec<Spot> = stretched
        .iter()
        .enumerate()
        .map(|(index, place)| Spot {
            place: DVec2::new(tidy(place.x), tidy(place.y)),
            index: index as u32,
        })
        .collect();
    let constraints: Vec<[usize; 2]> = boundary
        .loops
        .iter()
        .flat_map(|ring| ring.iter().zip(ring.iter().cycle().skip(1)))
        .map(|(&a, &b)| [a as usize, b as usize])
        .collect();
    if !matches!(face.surface, Surface::Plane { .. }) {
        let refined = extra.iter().map(|&uv| (DVec2::new(u.step_at(uv.x), v.step_at(uv.y)), uv));
        for (place, uv) in grid(&u, &v, &stretched, &constraints).into_iter().chain(refined) {
            spots.push(Spot { place, index: positions.len() as u32 });
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
fn grid(u: &Stretch, v: &Stretch, stretched: &[DVec2], sides: &[[usize; 2]]) -> Vec<(DVec2, DVec2)> {
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

/// Triangles inside the constraints, counter-clockwise.
fn delaunay(spots: Vec<Spot>, constraints: Vec<[usize; 2]>) -> Result<Vec<[u32; 3]>, SolidError> {
    let failed = |reason: &str| SolidError::new("triangles of a face", reason);
    let count = spots.len();
    let mut crossing = 0usize;
    let net = ConstrainedDelaunayTriangulation::<Spot>::try_bulk_load_cdt(spots, constraints, |_| {
        crossing += 1;
    })
    .map_err(|e| failed(&e.to_string()))?;
    if crossing > 0 {
        return Err(failed("its boundary crosses itself"));
    }
    if net.num_vertices() != count {
        return Err(failed("two points of its boundary fall together"));
    }
    // Inside is what lies an odd number of constraints away from the unbounded face.
    let mut inside: Vec<Option<bool>> = vec![None; net.num_all_faces()];
    let outer = net.outer_face().fix();
    inside[outer.index()] = Some(false);
    let mut queue = vec![outer];
    // The unbounded face has no ring of three; its neighbours come from the hull.
    for edge in net.convex_hull() {
        let twin = edge.rev();
        let (hull, inner) = if edge.face().is_outer() { (edge, twin) } else { (twin, edge) };
        let here = hull.as_undirected();
        let state = net.is_constraint_edge(here.fix());
        let face = inner.face().fix();
        if inside[face.index()].is_none() {
            inside[face.index()] = Some(state);
            queue.push(face);
        }
    }
    let mut triangles = Vec::new();
    while let Some(handle) = queue.pop() {
        let face = net.face(handle);
        let Some(face) = face.as_inner() else { continue };
        let state = inside[handle.index()].unwrap_or(false);
        for edge in face.adjacent_edges() {
            let neighbour = edge.rev().face();
            if neighbour.is_outer() || inside[neighbour.fix().index()].is_some() {
                continue;
            }
            let crossed = net.is_constraint_edge(edge.as_undirected().fix());
            inside[neighbour.fix().index()] = Some(state != crossed);
            queue.push(neighbour.fix());
        }
    }
    for face in net.inner_faces() {
        if inside[face.fix().index()] == Some(true) {
            triangles.push(face.vertices().map(|vertex| vertex.data().index));
        }
    }
    Ok(triangles)
}

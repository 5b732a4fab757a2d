//! Constrained Delaunay triangulation of a face in its stretched parameters (crate `spade`).

use glam::DVec2;
use spade::{ConstrainedDelaunayTriangulation, HasPosition, Point2, Triangulation};

use super::error::SolidError;

/// A vertex of the triangulation: its place in steps and its index in the face.
pub(super) struct Spot {
    place: DVec2,
    index: u32,
}

impl Spot {
    pub fn new(place: DVec2, index: u32) -> Self {
        // Values too small for the exact predicates are zero for us.
        let tidy = |x: f64| if x.abs() < 1e-9 { 0.0 } else { x };
        Self { place: DVec2::new(tidy(place.x), tidy(place.y)), index }
    }
}

impl HasPosition for Spot {
    type Scalar = f64;
    fn position(&self) -> Point2<f64> {
        Point2::new(self.place.x, self.place.y)
    }
}

/// Triangles inside the constraints, counter-clockwise.
pub(super) fn delaunay(
    spots: Vec<Spot>,
    constraints: Vec<[usize; 2]>,
) -> Result<Vec<[u32; 3]>, SolidError> {
    let failed = |reason: &str| SolidError::new("triangles of a face", reason);
    let count = spots.len();
    let mut crossing = 0usize;
    let net =
        ConstrainedDelaunayTriangulation::<Spot>::try_bulk_load_cdt(spots, constraints, |_| {
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

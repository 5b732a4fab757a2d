//! Triangles on a regular lattice, for faces bounded by a rectangle of parameters.
//!
//! The lattice fills the inside; a ring of triangles ties it to the boundary's own points, and
//! round each hole a patch of cells is left to the Delaunay triangulation. Many times quicker
//! than triangulating all of it, and the tube is most of a neck's triangles.

use std::ops::Range;

use glam::{DVec2, DVec3};

use crate::geometry::surface::Surface;

use super::delaunay::{Spot, delaunay};
use super::loops::FaceLoops;
use super::mesh::{Boundary, FaceMesh};
use super::stretch::Stretch;

/// Cells left free round a hole's box, so that the Delaunay patch has room to grade.
const ROOM: f64 = 1.2;

/// How near a hole's boundary, in cells, no lattice point of its patch may be.
const CLEAR_OF_HOLE: f64 = 0.4;

/// Distance from the rectangle's sides within which a boundary point counts as on them, steps.
const ON_SIDE: f64 = 1e-6;

/// A box of cells, from node `low` to node `high` in both directions.
#[derive(Clone, Copy)]
struct Patch {
    low: [usize; 2],
    high: [usize; 2],
    hole: usize,
}

impl Patch {
    fn holds_cell(&self, i: usize, j: usize) -> bool {
        (self.low[0]..self.high[0]).contains(&i) && (self.low[1]..self.high[1]).contains(&j)
    }

    fn overlaps(&self, other: &Self) -> bool {
        (0..2).all(|k| self.low[k] < other.high[k] && other.low[k] < self.high[k])
    }
}

/// Triangulates a face whose outer wire is a rectangle of parameters at least three steps wide
/// each way; `None` for any other face. The range tells the triangles of the regular cells.
pub(super) fn lattice(
    face: &FaceLoops,
    boundary: &Boundary,
    [u, v]: &[Stretch; 2],
) -> Option<(FaceMesh, Range<usize>)> {
    if matches!(face.surface, Surface::Plane { .. }) {
        return None;
    }
    let places: Vec<DVec2> =
        boundary.uvs.iter().map(|uv| DVec2::new(u.step_at(uv.x), v.step_at(uv.y))).collect();
    let (outer, holes) = boundary.loops.split_first()?;
    let size = DVec2::new(u.total(), v.total());
    let outer = round_the_rectangle(outer, &places, size)?;
    let net = Net::new(size)?;
    let patches = net.patches(holes, &places)?;
    let mut out = FaceMesh {
        surface: face.surface.clone(),
        outward: face.outward,
        positions: boundary.positions.clone(),
        uvs: boundary.uvs.clone(),
        triangles: Vec::new(),
        loops: boundary.loops.clone(),
        pieces: boundary.pieces.clone(),
    };
    let nodes = net.place_nodes(&patches, holes, &places, (u, v), &mut out);
    net.ring(&outer, &places, &nodes, &mut out.triangles)?;
    let first = out.triangles.len();
    net.cells(&patches, &nodes, &mut out.triangles)?;
    let cells = first..out.triangles.len();
    for patch in &patches {
        net.patch(patch, holes.get(patch.hole)?, &places, &nodes, &mut out.triangles)?;
    }
    Some((out, cells))
}

/// The outer wire's points round the rectangle from the corner (0, 0); `None` if a point is not
/// on the rectangle or the way round (0 to 4, a side each) ever goes back.
fn round_the_rectangle(wire: &[u32], places: &[DVec2], size: DVec2) -> Option<Vec<u32>> {
    let way = |p: DVec2| {
        if p.y.abs() < ON_SIDE && p.x < size.x - ON_SIDE {
            Some(p.x.max(0.0) / size.x)
        } else if (p.x - size.x).abs() < ON_SIDE && p.y < size.y - ON_SIDE {
            Some(1.0 + p.y / size.y)
        } else if (p.y - size.y).abs() < ON_SIDE && p.x > ON_SIDE {
            Some(2.0 + (size.x - p.x) / size.x)
        } else if p.x.abs() < ON_SIDE {
            Some(3.0 + (size.y - p.y) / size.y)
        } else {
            None
        }
    };
    let mut out = wire
        .iter()
        .map(|&index| Some((way(*places.get(index as usize)?)?, index)))
        .collect::<Option<Vec<_>>>()?;
    let first = (0..out.len()).min_by(|&a, &b| out[a].0.total_cmp(&out[b].0))?;
    out.rotate_left(first);
    let corners = [0.0, 1.0, 2.0, 3.0];
    let has_corners =
        corners.iter().all(|corner| out.iter().any(|point| (point.0 - corner).abs() < 1e-5));
    let rises = out.windows(2).all(|pair| pair[0].0 < pair[1].0);
    (has_corners && rises).then(|| out.into_iter().map(|(_, index)| index).collect())
}

/// The lattice: `columns` by `rows` cells of which the outermost belong to the ring.
struct Net {
    columns: usize,
    rows: usize,
    cell: DVec2,
}

/// Index of each lattice node in the face, where it has one.
type Nodes = Vec<Option<u32>>;

impl Net {
    fn new(size: DVec2) -> Option<Self> {
        let columns = size.x.ceil().min(4000.0) as usize;
        let rows = size.y.ceil().min(4000.0) as usize;
        let cell = DVec2::new(size.x / columns as f64, size.y / rows as f64);
        (columns >= 3 && rows >= 3).then_some(Self { columns, rows, cell })
    }

    fn at(&self, i: usize, j: usize) -> usize {
        i * (self.rows + 1) + j
    }

    fn inside(&self) -> impl Iterator<Item = (usize, usize)> {
        let rows = self.rows;
        (1..self.columns).flat_map(move |i| (1..rows).map(move |j| (i, j)))
    }

    /// A patch of cells round each hole; `None` if one reaches the ring or another.
    fn patches(&self, holes: &[Vec<u32>], places: &[DVec2]) -> Option<Vec<Patch>> {
        let mut out: Vec<Patch> = Vec::with_capacity(holes.len());
        for (hole, wire) in holes.iter().enumerate() {
            let mut low = DVec2::splat(f64::INFINITY);
            let mut high = DVec2::splat(f64::NEG_INFINITY);
            for &index in wire {
                let place = *places.get(index as usize)? / self.cell;
                (low, high) = (low.min(place), high.max(place));
            }
            let (low, high) = ((low - ROOM).floor(), (high + ROOM).ceil());
            let room = DVec2::new(self.columns as f64 - 1.0, self.rows as f64 - 1.0);
            if low.cmplt(DVec2::ONE).any() || high.cmpgt(room).any() {
                return None;
            }
            let patch = Patch {
                low: [low.x as usize, low.y as usize],
                high: [high.x as usize, high.y as usize],
                hole,
            };
            if out.iter().any(|other| other.overlaps(&patch)) {
                return None;
            }
            out.push(patch);
        }
        Some(out)
    }

    /// Puts the lattice's points on the surface, those in or too near a hole left out.
    fn place_nodes(
        &self,
        patches: &[Patch],
        holes: &[Vec<u32>],
        places: &[DVec2],
        (u, v): (&Stretch, &Stretch),
        out: &mut FaceMesh,
    ) -> Nodes {
        let mut nodes: Nodes = vec![None; (self.columns + 1) * (self.rows + 1)];
        for (i, j) in self.inside() {
            let node = DVec2::new(i as f64, j as f64);
            let taken = patches.iter().any(|patch| {
                let within = (0..2).all(|k| {
                    let n = [i, j][k];
                    patch.low[k] < n && n < patch.high[k]
                });
                within && holes.get(patch.hole).is_some_and(|wire| self.in_hole(node, wire, places))
            });
            if taken {
                continue;
            }
            let place = node * self.cell;
            let uv = DVec2::new(u.parameter_at(place.x), v.parameter_at(place.y));
            let index = self.at(i, j);
            nodes[index] = Some(out.positions.len() as u32);
            let position: DVec3 = out.surface.point(uv);
            out.positions.push(position);
            out.uvs.push(uv);
        }
        nodes
    }

    /// Whether a lattice node lies in a hole or too near its boundary.
    fn in_hole(&self, node: DVec2, wire: &[u32], places: &[DVec2]) -> bool {
        let point =
            |index: u32| places.get(index as usize).map_or(node, |&place| place / self.cell);
        let mut inside = false;
        for (&a, &b) in wire.iter().zip(wire.iter().cycle().skip(1)) {
            let (a, b) = (point(a), point(b));
            let along = b - a;
            let t = ((node - a).dot(along) / along.length_squared().max(1e-24)).clamp(0.0, 1.0);
            if node.distance_squared(a + along * t) < CLEAR_OF_HOLE * CLEAR_OF_HOLE {
                return true;
            }
            if (a.y <= node.y) != (b.y <= node.y)
                && node.x < a.x + along.x * (node.y - a.y) / along.y
            {
                inside = !inside;
            }
        }
        inside
    }

    /// The lattice's border from node (1, 1) counter-clockwise: place in cells, index.
    fn border(&self, nodes: &Nodes) -> Option<Vec<(DVec2, u32)>> {
        let (right, top) = (self.columns - 1, self.rows - 1);
        let bottom = (1..right).map(|i| (i, 1));
        let up = (1..top).map(|j| (right, j));
        let back = (2..=right).rev().map(|i| (i, top));
        let down = (2..=top).rev().map(|j| (1, j));
        bottom
            .chain(up)
            .chain(back)
            .chain(down)
            .map(|(i, j)| Some((DVec2::new(i as f64, j as f64), (*nodes.get(self.at(i, j))?)?)))
            .collect()
    }

    /// Triangles between the boundary and the lattice's border, both walked counter-clockwise
    /// side by side; each step takes the shorter of the two next ties.
    fn ring(
        &self,
        outer: &[u32],
        places: &[DVec2],
        nodes: &Nodes,
        triangles: &mut Vec<[u32; 3]>,
    ) -> Option<()> {
        let border = self.border(nodes)?;
        let outer = outer
            .iter()
            .map(|&index| Some((*places.get(index as usize)? / self.cell, index)))
            .collect::<Option<Vec<_>>>()?;
        let point = |list: &[(DVec2, u32)], k: usize| list.get(k % list.len()).copied();
        let (mut a, mut b) = (0, 0);
        while a < outer.len() || b < border.len() {
            let (from, to) = (point(&outer, a)?, point(&border, b)?);
            let (after, beside) = (point(&outer, a + 1)?, point(&border, b + 1)?);
            let shorter = after.0.distance_squared(to.0) <= from.0.distance_squared(beside.0);
            if b >= border.len() || (a < outer.len() && shorter) {
                triangles.push([from.1, after.1, to.1]);
                a += 1;
            } else {
                triangles.push([from.1, beside.1, to.1]);
                b += 1;
            }
        }
        Some(())
    }

    /// The regular cells outside the patches, each in two triangles.
    fn cells(&self, patches: &[Patch], nodes: &Nodes, triangles: &mut Vec<[u32; 3]>) -> Option<()> {
        for i in 1..self.columns - 1 {
            for j in 1..self.rows - 1 {
                if patches.iter().any(|patch| patch.holds_cell(i, j)) {
                    continue;
                }
                let node = |i, j| nodes.get(self.at(i, j)).copied().flatten();
                let (a, b) = (node(i, j)?, node(i + 1, j)?);
                let (c, d) = (node(i + 1, j + 1)?, node(i, j + 1)?);
                triangles.push([a, b, c]);
                triangles.push([a, c, d]);
            }
        }
        Some(())
    }

    /// The cells round a hole, by Delaunay between the patch's border and the hole's wire.
    fn patch(
        &self,
        patch: &Patch,
        wire: &[u32],
        places: &[DVec2],
        nodes: &Nodes,
        triangles: &mut Vec<[u32; 3]>,
    ) -> Option<()> {
        let mut spots = Vec::new();
        let mut constraints: Vec<[usize; 2]> = Vec::new();
        let ([left, low], [right, high]) = (patch.low, patch.high);
        let border: Vec<(usize, usize)> = (left..right)
            .map(|i| (i, low))
            .chain((low..high).map(|j| (right, j)))
            .chain((left + 1..=right).rev().map(|i| (i, high)))
            .chain((low + 1..=high).rev().map(|j| (left, j)))
            .collect();
        let mut close = |from: usize, count: usize| {
            constraints.extend((0..count).map(|k| [from + k, from + (k + 1) % count]));
        };
        close(0, border.len());
        close(border.len(), wire.len());
        let place = |i: usize, j: usize| DVec2::new(i as f64, j as f64) * self.cell;
        for &(i, j) in &border {
            spots.push(Spot::new(place(i, j), (*nodes.get(self.at(i, j))?)?));
        }
        for &index in wire {
            spots.push(Spot::new(*places.get(index as usize)?, index));
        }
        for i in left + 1..right {
            for j in low + 1..high {
                if let Some(index) = nodes.get(self.at(i, j)).copied().flatten() {
                    spots.push(Spot::new(place(i, j), index));
                }
            }
        }
        triangles.extend(delaunay(spots, constraints).ok()?);
        Some(())
    }
}

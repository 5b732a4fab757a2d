//! Triangles on a regular lattice, for faces bounded by a rectangle of parameters.
//!
//! The lattice fills the inside; a ring of triangles ties it to the boundary's own points, and
//! round each hole a patch of cells is left to the Delaunay triangulation. A face that is one cell
//! wide has no inside: the two sides along it are tied to each other. Many times quicker than
//! triangulating all of it, and the tube is most of a neck's triangles, while narrow bands are most
//! of its faces.

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

/// Triangulates a face whose outer wire is a rectangle of parameters; `None` for any other face, and for
/// one that is better left to the Delaunay triangulation. The range tells the triangles of the regular cells.
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
    let net = Net::new(size);
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
    if net.is_band() {
        net.band(&outer, &places, &mut out.triangles)?;
        return Some((out, 0..0));
    }
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

/// A point of a chain: its place in cells and its index in the face.
type Linked = (DVec2, u32);

/// Twice the area of a triangle, in cells, that is not taken for a line.
const LEAST_TURN: f64 = 1e-9;

/// Triangles between two chains walked side by side, the second on the left of the first; each step takes the shorter
/// of the two next ties that make a counter-clockwise triangle. Where all triangles are that and the walk comes to both
/// ends, they cover what lies between the chains once; `None` if it does not.
fn tied(right: &[Linked], left: &[Linked], triangles: &mut Vec<[u32; 3]>) -> Option<()> {
    let (mut a, mut b) = (0, 0);
    loop {
        let (from, to) = (right.get(a)?, left.get(b)?);
        let is_turned = |next: &&Linked| (next.0 - from.0).perp_dot(to.0 - from.0) > LEAST_TURN;
        let after = right.get(a + 1).filter(is_turned);
        let beside = left.get(b + 1).filter(is_turned);
        let shorter = |after: &Linked, beside: &Linked| {
            after.0.distance_squared(to.0) <= from.0.distance_squared(beside.0)
        };
        match (after, beside) {
            (Some(after), beside) if beside.is_none_or(|beside| shorter(after, beside)) => {
                triangles.push([from.1, after.1, to.1]);
                a += 1;
            }
            (_, Some(beside)) => {
                triangles.push([from.1, beside.1, to.1]);
                b += 1;
            }
            _ => return (a + 1 == right.len() && b + 1 == left.len()).then_some(()),
        }
    }
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
    fn new(size: DVec2) -> Self {
        let columns = size.x.ceil().clamp(1.0, 4000.0) as usize;
        let rows = size.y.ceil().clamp(1.0, 4000.0) as usize;
        let cell = DVec2::new(size.x / columns as f64, size.y / rows as f64);
        Self { columns, rows, cell }
    }

    /// Whether there is no node inside.
    fn is_band(&self) -> bool {
        self.columns == 1 || self.rows == 1
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

    /// The lattice's border from node (1, 1) counter-clockwise: place in cells, index. Where the lattice is a line of
    /// nodes that is the way along it and back, where it is a node that node.
    fn border(&self, nodes: &Nodes) -> Option<Vec<Linked>> {
        let (right, top) = (self.columns - 1, self.rows - 1);
        let alone = (right == 1 && top == 1).then_some((1, 1));
        let bottom = (1..right).map(|i| (i, 1));
        let up = (1..top).map(|j| (right, j));
        let back = (2..=right).rev().map(|i| (i, top));
        let down = (2..=top).rev().map(|j| (1, j));
        alone
            .into_iter()
            .chain(bottom)
            .chain(up)
            .chain(back)
            .chain(down)
            .map(|(i, j)| Some((DVec2::new(i as f64, j as f64), (*nodes.get(self.at(i, j))?)?)))
            .collect()
    }

    /// Triangles of a rectangle one cell wide, between the two sides along it; `None` if there are points on the two others
    /// too.
    fn band(&self, outer: &[u32], places: &[DVec2], triangles: &mut Vec<[u32; 3]>) -> Option<()> {
        let points = self.linked(outer, places)?;
        // The points of a side in their order away from the corner (0, 0).
        let side = |holds: &dyn Fn(DVec2) -> bool| {
            let mut side: Vec<Linked> = points.iter().filter(|p| holds(p.0)).copied().collect();
            side.sort_by(|a, b| a.0.element_sum().total_cmp(&b.0.element_sum()));
            side
        };
        let (far, near) = (DVec2::new(self.columns as f64, self.rows as f64) - ON_SIDE, ON_SIDE);
        let [left, right] = [side(&|p| p.x < near), side(&|p| p.x > far.x)];
        let [bottom, top] = [side(&|p| p.y < near), side(&|p| p.y > far.y)];
        if self.rows == 1 && left.len() == 2 && right.len() == 2 {
            tied(&bottom, &top, triangles)
        } else if self.columns == 1 && bottom.len() == 2 && top.len() == 2 {
            tied(&right, &left, triangles)
        } else {
            None
        }
    }

    /// Points of the face as links of a chain, placed in cells.
    fn linked(&self, wire: &[u32], places: &[DVec2]) -> Option<Vec<Linked>> {
        let link = |&index: &u32| Some((*places.get(index as usize)? / self.cell, index));
        wire.iter().map(link).collect()
    }

    /// Triangles between the boundary and the lattice's border, both walked once round
    /// counter-clockwise.
    fn ring(
        &self,
        outer: &[u32],
        places: &[DVec2],
        nodes: &Nodes,
        triangles: &mut Vec<[u32; 3]>,
    ) -> Option<()> {
        let mut border = self.border(nodes)?;
        let mut outer = self.linked(outer, places)?;
        outer.extend(outer.first().copied());
        // Round a single node there is no way to go.
        if border.len() > 1 {
            border.extend(border.first().copied());
        }
        tied(&outer, &border, triangles)
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::frame::Frame;
    use crate::solids::stretch::stretches;

    const CHORD: f64 = 0.2;
    const MINOR: f64 = 20.0;
    const MAJOR: f64 = 60.0;

    fn frame() -> Frame {
        Frame { origin: DVec3::ZERO, x: DVec3::X, y: DVec3::Y, z: DVec3::Z }
    }

    /// A rectangle of a torus, its sides cut into so many pieces: below, on the right, above, on the left.
    fn rectangle(size: DVec2, pieces: [usize; 4]) -> (FaceLoops, Boundary) {
        let surface = Surface::Torus { frame: frame(), major: MAJOR, minor: MINOR };
        let corners = [DVec2::ZERO, DVec2::new(size.x, 0.0), size, DVec2::new(0.0, size.y)];
        let mut boundary = Boundary::default();
        for (k, &count) in pieces.iter().enumerate() {
            let (from, to) = (corners[k], corners[(k + 1) % 4]);
            for i in 0..count {
                let uv = from + (to - from) * (i as f64 / count as f64);
                boundary.uvs.push(uv);
                boundary.positions.push(surface.point(uv));
            }
        }
        boundary.loops.push((0..boundary.uvs.len() as u32).collect());
        (FaceLoops { surface, outward: true, wires: Vec::new() }, boundary)
    }

    /// Twice the signed area of each triangle in parameters.
    fn areas(laid: &FaceMesh) -> Vec<f64> {
        let area = |[a, b, c]: [u32; 3]| {
            let [a, b, c] = [a, b, c].map(|corner| laid.uvs[corner as usize]);
            (b - a).perp_dot(c - a)
        };
        laid.triangles.iter().map(|&triangle| area(triangle)).collect()
    }

    /// Of one step to five each way: triangles cover the rectangle once, as many as Euler's formula asks for (boundary points
    /// and twice the inner ones, less two), with the boundary's points and no others on it.
    #[test]
    fn a_rectangle_of_any_width_is_covered_once() {
        // A step of each direction: what an arc of the chord takes, sagitta = r (1 - cos(a / 2)).
        let step = |radius: f64| 2.0 * libm::acos(1.0 - CHORD / radius);
        let (across, along) = (step(MINOR), step(MAJOR + MINOR));
        let (mut bands, mut declined) = (0, 0);
        for columns in 1..=5 {
            for rows in 1..=5 {
                for finer in [[1, 1, 1, 1], [1, 1, 3, 1], [2, 1, 2, 1], [1, 4, 1, 2], [3, 2, 1, 1]]
                {
                    let size =
                        DVec2::new(along * (columns as f64 - 0.1), across * (rows as f64 - 0.1));
                    let pieces = [0, 1, 2, 3].map(|k| finer[k] * [columns, rows][k % 2]);
                    let (face, boundary) = rectangle(size, pieces);
                    let stretched = stretches(&face.surface, &boundary.uvs, CHORD);
                    let told = format!("{columns} by {rows} cells, sides {pieces:?}");
                    let Some((laid, cells)) = lattice(&face, &boundary, &stretched) else {
                        // Points between the long sides of a band are left to the Delaunay triangulation.
                        let ends = if rows == 1 { [1, 3] } else { [0, 2] };
                        assert!(columns == 1 || rows == 1, "{told}");
                        assert!(ends.iter().any(|&k| pieces[k] > 1), "{told}");
                        declined += 1;
                        continue;
                    };
                    bands += usize::from(columns == 1 || rows == 1);
                    let inner = (columns - 1) * (rows - 1);
                    let round: usize = pieces.iter().sum();
                    assert_eq!(laid.uvs.len(), round + inner, "{told}");
                    assert_eq!(laid.triangles.len(), round + 2 * inner - 2, "{told}");
                    let areas = areas(&laid);
                    assert!(areas.iter().all(|&area| area > 0.0), "{told}: {areas:?}");
                    let whole: f64 = areas.iter().sum();
                    assert!(
                        (whole / (2.0 * size.x * size.y) - 1.0).abs() < 1e-12,
                        "{told}: {whole}"
                    );
                    let regular = columns.saturating_sub(2) * rows.saturating_sub(2);
                    assert_eq!(cells.len(), 2 * regular, "{told}");
                }
            }
        }
        assert!(bands > 10 && declined > 10, "{bands} {declined}");
    }
}

//! The true surface of a body, cut into small pieces under a tree of balls: what a search for
//! the nearest point walks over.

use std::collections::{BTreeMap, BTreeSet};

use glam::{DVec2, DVec3};

use crate::geometry::curve::Curve;
use crate::geometry::order::Order;
use crate::geometry::surface::Surface;
use crate::solids::SolidError;
use crate::solids::brep::Solid;
use crate::solids::mesh::{EdgePiece, FaceMesh, SolidMesh, mesh_face};

use super::mechanism::Pivot;

/// Triangles under one lowest ball.
const TRIANGLES_PER_LEAF: usize = 4;

/// A side whose edge leaves the surface's own line between its ends by less than this follows
/// that line, mm.
const ALONG: f64 = 2e-5;

/// Between a side and an edge that bulges into the triangle there is no face. Halving the other
/// sides stays on the face as long as the triangle's angles at that side are, in slope, this
/// many times the bulge's height for its length. (The edge leaves the side with four times
/// that; twice as much lets the other sides be halved before the bulge is.)
const CLEAR_OF_BULGE: f64 = 8.0;

/// With angles less steep than this many times the bulge's height for its length, the edge
/// leaves the triangle, and cutting cannot mend it.
const BEYOND_MENDING: f64 = 4.4;

/// An edge that bulges less than this does not matter, mm: no gap is wrong by more for it.
const HAIR: f64 = 4e-4;

/// How much finer an edge is divided that leaves its triangles, and how often to try.
const FINER: f64 = 0.1;
const FINER_MESHES: usize = 3;

/// Times a bulging side may be halved until it is clear: each halving leaves a quarter of the
/// bulge, so this takes a millimetre down to less than a hair.
const HALVINGS: usize = 12;

/// No point of a triangle is farther from its nearest corner than this share of its longest side (worst with all
/// sides alike).
pub(super) const FARTHEST_FROM_CORNERS: f64 = 0.577_351;

/// Levels of the tree whose boxes stand in for the body where it is far.
const BOX_LEVELS: usize = 4;

/// A point of a face.
#[derive(Clone, Copy, Debug)]
pub(super) struct Corner {
    pub position: DVec3,
    /// Derivatives of the surface by its parameters.
    pub slopes: [DVec3; 2],
    pub uv: DVec2,
    /// Corners of neighbouring faces at the same position share a site.
    pub site: u32,
}

/// A triangle of a face; its true shape follows the surface and, where a side lies on an
/// edge, that edge's curve.
#[derive(Clone, Copy, Debug)]
pub(super) struct Triangle {
    pub face: u32,
    pub corners: [u32; 3],
    /// `sides[i]` leads from `corners[i]` to the next. The edge it lies on, unless halving it
    /// in the surface's parameters stays on the edge anyway (lines, circles round a cylinder).
    pub sides: [Option<EdgePiece>; 3],
    /// No point of it is farther from its nearest corner than this, mm.
    pub cover: f64,
}

/// A ball round some of the surface.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ball {
    pub centre: DVec3,
    pub radius: f64,
    pub content: Content,
}

#[derive(Clone, Copy, Debug)]
pub(super) enum Content {
    /// Indices of two smaller balls.
    Balls([u32; 2]),
    /// A range of `SurfaceSamples::order`.
    Triangles(u32, u32),
}

/// The surface of one body, ready to be searched.
#[derive(Clone, Debug, Default)]
pub struct SurfaceSamples {
    pub(super) surfaces: Vec<Surface>,
    /// Whether each surface's own normal points out of the metal.
    pub(super) outward: Vec<bool>,
    pub(super) curves: Vec<Curve>,
    pub(super) corners: Vec<Corner>,
    pub(super) triangles: Vec<Triangle>,
    /// Triangles in the order of the tree.
    pub(super) order: Vec<u32>,
    pub(super) balls: Vec<Ball>,
    pub(super) sites: usize,
    /// Boxes that together hold the whole surface.
    pub(super) boxes: Vec<(DVec3, DVec3)>,
}

/// Distance of a point from the nearest of some boxes, 0 in them.
pub(super) fn apart_from(boxes: &[(DVec3, DVec3)], point: DVec3) -> f64 {
    let squares = boxes
        .iter()
        .map(|(low, high)| (*low - point).max(point - *high).max(DVec3::ZERO).length_squared());
    squares.fold(f64::INFINITY, f64::lesser).sqrt()
}

/// The corners of the box between two of them.
pub(super) fn corners_of((low, high): (DVec3, DVec3)) -> impl Iterator<Item = DVec3> {
    (0..8).map(move |pick| {
        let one = |axis: usize| if pick & (1 << axis) == 0 { low[axis] } else { high[axis] };
        DVec3::new(one(0), one(1), one(2))
    })
}

impl SurfaceSamples {
    /// Samples of a solid, from a first mesh of it. The mesh's chord does not limit what is
    /// found: pieces are cut further on the true surfaces and along the true edges. But where an
    /// edge leaves the triangles beside it, cutting goes astray; there it is divided finer.
    ///
    /// # Errors
    ///
    /// If a finer mesh is needed and cannot be made.
    pub fn new(solid: &Solid, first: &SolidMesh) -> Result<Self, SolidError> {
        let mut samples = Self {
            surfaces: first.faces.iter().map(|face| face.surface.clone()).collect(),
            outward: first.faces.iter().map(|face| face.outward).collect(),
            curves: first.edges.clone(),
            ..Self::default()
        };
        for (index, face) in first.faces.iter().enumerate() {
            let mut fine: BTreeMap<u32, f64> = BTreeMap::new();
            let mut wanting = samples.add_face(index as u32, face, false);
            for round in 1..=FINER_MESHES {
                if wanting.is_empty() {
                    break;
                }
                for edge in &wanting {
                    *fine.entry(*edge).or_insert(first.chord) *= FINER;
                }
                let chord = |edge: u32| fine.get(&edge).copied().unwrap_or(first.chord);
                let face = mesh_face(solid, index, first.chord, chord)?;
                // What the finest edges still leave their triangles by is a hair.
                wanting = samples.add_face(index as u32, &face, round == FINER_MESHES);
            }
        }
        samples.number_sites();
        samples.grow_tree();
        Ok(samples)
    }

    /// The smallest axis-parallel box round the whole surface.
    #[must_use]
    pub fn bounds(&self) -> (DVec3, DVec3) {
        self.boxes
            .iter()
            .fold((DVec3::splat(f64::INFINITY), DVec3::splat(f64::NEG_INFINITY)), |sum, own| {
                (sum.0.min(own.0), sum.1.max(own.1))
            })
    }

    /// No point of the surface is farther from a line than this, mm.
    #[must_use]
    pub(super) fn reach_from(&self, pivot: &Pivot) -> f64 {
        self.boxes
            .iter()
            .flat_map(|&ends| corners_of(ends))
            .map(|point| pivot.distance(point))
            .fold(0.0, f64::max)
    }

    /// Number of triangles: what walking over the whole surface would cost.
    #[must_use]
    pub fn size(&self) -> usize {
        self.order.len()
    }

    /// A point of the surface.
    pub(super) fn any_point(&self) -> Option<DVec3> {
        self.corners.first().map(|corner| corner.position)
    }

    /// Takes in the triangles of a face. If an edge leaves them (and `anyhow` is not said),
    /// nothing is taken, and the answer is which edges must be divided finer.
    fn add_face(&mut self, face: u32, mesh: &FaceMesh, anyhow: bool) -> BTreeSet<u32> {
        let base = self.corners.len() as u32;
        self.corners.extend(mesh.positions.iter().zip(&mesh.uvs).map(|(&position, &uv)| {
            let (_, su, sv) = mesh.surface.point_slopes(uv);
            Corner { position, slopes: [su, sv], uv, site: 0 }
        }));
        let bulging = self.bulging_edges(face, base, mesh);
        let mut on_edge: BTreeMap<(u32, u32), EdgePiece> = BTreeMap::new();
        for (ring, pieces) in mesh.loops.iter().zip(&mesh.pieces) {
            let ends = ring.iter().zip(ring.iter().cycle().skip(1));
            for ((&a, &b), piece) in ends.zip(pieces) {
                if bulging.contains(&piece.edge) {
                    on_edge.insert((base + a, base + b), *piece);
                    on_edge.insert((base + b, base + a), reversed(piece));
                }
            }
        }
        let mut triangles: Vec<Triangle> = mesh
            .triangles
            .iter()
            .map(|corners| {
                let corners = corners.map(|corner| base + corner);
                let side = |i: usize| on_edge.get(&(corners[i], corners[(i + 1) % 3])).copied();
                Triangle { face, corners, sides: [side(0), side(1), side(2)], cover: f64::INFINITY }
            })
            .collect();
        let mut wanting = BTreeSet::new();
        for triangle in &triangles {
            let side = self.shallow_side(self.places(triangle), &triangle.sides, BEYOND_MENDING);
            wanting.extend(side.and_then(|side| triangle.sides[side]).map(|piece| piece.edge));
        }
        if !wanting.is_empty() && !anyhow {
            self.corners.truncate(base as usize);
            return wanting;
        }
        let mut middles: BTreeMap<(u32, u32), u32> = BTreeMap::new();
        for _ in 0..HALVINGS {
            let mut next = Vec::with_capacity(triangles.len());
            for triangle in &triangles {
                self.cut(triangle, &mut middles, &mut next);
            }
            let done = next.len() == triangles.len();
            triangles = next;
            if done {
                break;
            }
        }
        self.triangles.extend(triangles);
        BTreeSet::new()
    }

    /// Edges of a face that leave the surface's own line between two points of its boundary.
    fn bulging_edges(&self, face: u32, base: u32, mesh: &FaceMesh) -> BTreeSet<u32> {
        let surface = &self.surfaces[face as usize];
        let mut bulging = BTreeSet::new();
        for (ring, pieces) in mesh.loops.iter().zip(&mesh.pieces) {
            let ends = ring.iter().zip(ring.iter().cycle().skip(1));
            for ((&a, &b), piece) in ends.zip(pieces) {
                let curve = self.curves.get(piece.edge as usize);
                if bulging.contains(&piece.edge) || matches!(curve, None | Some(Curve::Line { .. }))
                {
                    continue;
                }
                let uv = |corner: u32| self.corners[(base + corner) as usize].uv;
                if self.off_edge(surface.point((uv(a) + uv(b)) / 2.0), piece) > ALONG {
                    bulging.insert(piece.edge);
                }
            }
        }
        bulging
    }

    /// Distance of a point from an edge it lies beside, near the middle of a piece.
    fn off_edge(&self, point: DVec3, piece: &EdgePiece) -> f64 {
        let Some(curve) = self.curves.get(piece.edge as usize) else { return 0.0 };
        let mut t = (piece.range[0] + piece.range[1]) / 2.0;
        let mut off = DVec3::ZERO;
        for _ in 0..4 {
            let (place, slope) = curve.point_slope(t);
            off = point - place;
            t = (t + off.dot(slope) / slope.length_squared().max(1e-300)).clamp(0.0, 1.0);
        }
        off.length()
    }

    fn middle_of(&self, piece: &EdgePiece) -> DVec3 {
        let middle = (piece.range[0] + piece.range[1]) / 2.0;
        self.curves.get(piece.edge as usize).map_or(DVec3::ZERO, |curve| curve.point(middle))
    }

    /// From the middle of the chord between two points of an edge to the edge's own middle.
    fn bulge(&self, piece: &EdgePiece, a: DVec3, b: DVec3) -> DVec3 {
        self.middle_of(piece) - (a + b) / 2.0
    }

    /// The side of a triangle that must be cut before the others, if any: its edge bulges into
    /// the triangle, too far for the triangle's angles at it.
    pub(super) fn first_side(
        &self,
        places: [DVec3; 3],
        sides: &[Option<EdgePiece>; 3],
    ) -> Option<usize> {
        self.shallow_side(places, sides, CLEAR_OF_BULGE)
    }

    fn shallow_side(
        &self,
        places: [DVec3; 3],
        sides: &[Option<EdgePiece>; 3],
        clear: f64,
    ) -> Option<usize> {
        let mut worst = (HAIR, None);
        for (i, side) in sides.iter().enumerate() {
            let Some(piece) = side else { continue };
            let (a, b, apex) = (places[i], places[(i + 1) % 3], places[(i + 2) % 3]);
            let length = a.distance(b).max(1e-12);
            let along = (b - a) / length;
            let reach = apex - a;
            let up = reach - along * reach.dot(along);
            let height = up.length().max(1e-12);
            let bulge = self.bulge(piece, a, b).dot(up) / height;
            let flattest =
                height / reach.dot(along).abs().max((apex - b).dot(along).abs()).max(1e-12);
            if bulge / length * clear > flattest && bulge > worst.0 {
                worst = (bulge, Some(i));
            }
        }
        worst.1
    }

    fn places(&self, triangle: &Triangle) -> [DVec3; 3] {
        triangle.corners.map(|corner| self.corners[corner as usize].position)
    }

    /// Cuts a triangle at the middle of the side that must be cut first, if any.
    fn cut(
        &mut self,
        triangle: &Triangle,
        middles: &mut BTreeMap<(u32, u32), u32>,
        out: &mut Vec<Triangle>,
    ) {
        let Some(first) = self.first_side(self.places(triangle), &triangle.sides) else {
            out.push(*triangle);
            return;
        };
        // Turned so that the side to cut comes first.
        let turned = |i: usize| (i + first) % 3;
        let c = [0, 1, 2].map(|i| triangle.corners[turned(i)]);
        let s = [0, 1, 2].map(|i| triangle.sides[turned(i)]);
        let Triangle { face, cover, .. } = *triangle;
        let middle = self.middle(face, [c[0], c[1]], s[0], middles);
        let halves = s[0].map(|piece| split(&piece));
        let (near, far) = (halves.map(|h| h[0]), halves.map(|h| h[1]));
        out.push(Triangle { face, corners: [middle, c[1], c[2]], sides: [far, s[1], None], cover });
        out.push(Triangle {
            face,
            corners: [middle, c[2], c[0]],
            sides: [None, s[2], near],
            cover,
        });
    }

    /// The corner halfway between two corners, on the surface or on the edge between them.
    fn middle(
        &mut self,
        face: u32,
        ends: [u32; 2],
        side: Option<EdgePiece>,
        known: &mut BTreeMap<(u32, u32), u32>,
    ) -> u32 {
        let key = (ends[0].min(ends[1]), ends[0].max(ends[1]));
        if let Some(&corner) = known.get(&key) {
            return corner;
        }
        let [a, b] = ends.map(|end| self.corners[end as usize]);
        let corner = self.halfway(face, a.uv, b.uv, side);
        let index = self.corners.len() as u32;
        self.corners.push(corner);
        known.insert(key, index);
        index
    }

    /// The point halfway between two points of a face, on the surface or on an edge.
    pub(super) fn halfway(&self, face: u32, a: DVec2, b: DVec2, side: Option<EdgePiece>) -> Corner {
        let surface = &self.surfaces[face as usize];
        let mut uv = (a + b) / 2.0;
        let curve = side.and_then(|piece| Some((self.curves.get(piece.edge as usize)?, piece)));
        let on_curve = curve.map(|(curve, piece)| {
            let point = curve.point((piece.range[0] + piece.range[1]) / 2.0);
            uv = surface.parameters(point, Some(uv));
            point
        });
        let (place, su, sv) = surface.point_slopes(uv);
        Corner { position: on_curve.unwrap_or(place), slopes: [su, sv], uv, site: 0 }
    }

    /// Gives corners at the same position the same number.
    fn number_sites(&mut self) {
        let key = |corner: &Corner| corner.position.to_array().map(|x| (x + 0.0).to_bits());
        let mut order: Vec<usize> = (0..self.corners.len()).collect();
        order.sort_by_key(|&index| key(&self.corners[index]));
        let mut before = None;
        for index in order {
            let here = key(&self.corners[index]);
            if before.is_some_and(|before| before != here) {
                self.sites += 1;
            }
            before = Some(here);
            self.corners[index].site = self.sites as u32;
        }
        self.sites += 1;
    }

    fn grow_tree(&mut self) {
        let mut items: Vec<Item> =
            (0..self.triangles.len() as u32).map(|index| self.item(index)).collect();
        for item in &items {
            self.triangles[item.triangle as usize].cover = item.cover;
        }
        if !items.is_empty() {
            self.branch(&mut items, 0);
        }
        self.order = items.iter().map(|item| item.triangle).collect();
    }

    fn item(&self, index: u32) -> Item {
        let triangle = &self.triangles[index as usize];
        let corners = triangle.corners.map(|corner| &self.corners[corner as usize]);
        let (mut bulge, mut longest): (f64, f64) = (0.0, 0.0);
        for (i, side) in triangle.sides.iter().enumerate() {
            let (a, b) = (corners[i], corners[(i + 1) % 3]);
            longest = longest.max(a.position.distance_squared(b.position));
            bulge = bulge.max(sagitta(a, b));
            if let Some(piece) = side {
                bulge = bulge.max(1.5 * self.bulge(piece, a.position, b.position).length());
            }
        }
        let (low, high) = corners
            .iter()
            .fold((DVec3::splat(f64::INFINITY), DVec3::splat(f64::NEG_INFINITY)), |sum, corner| {
                (sum.0.min(corner.position), sum.1.max(corner.position))
            });
        let places = corners.map(|corner| corner.position);
        let cover = longest.sqrt() * FARTHEST_FROM_CORNERS + bulge;
        let (middle, low, high) = ((low + high) / 2.0, low - bulge, high + bulge);
        Item { triangle: index, places, bulge, cover, middle, low, high }
    }

    /// Adds the ball over `items`, which stand at `start` of the whole; gives its index.
    fn branch(&mut self, items: &mut [Item], start: u32) -> u32 {
        let (low, high) = items
            .iter()
            .fold((DVec3::splat(f64::INFINITY), DVec3::splat(f64::NEG_INFINITY)), |sum, item| {
                (sum.0.min(item.low), sum.1.max(item.high))
            });
        let centre = (low + high) / 2.0;
        let (square, bulge) = items.iter().fold((0.0, 0.0), |(square, bulge): (f64, f64), item| {
            let squares = item.places.map(|place| place.distance_squared(centre));
            let square = square.greater(squares[0]).greater(squares[1]).greater(squares[2]);
            (square, bulge.greater(item.bulge))
        });
        let radius = square.sqrt() + bulge;
        let index = self.balls.len() as u32;
        let end = start + items.len() as u32;
        self.balls.push(Ball { centre, radius, content: Content::Triangles(start, end) });
        if items.len() > TRIANGLES_PER_LEAF {
            let size = high - low;
            let axis = if size.x >= size.y && size.x >= size.z {
                DVec3::X
            } else if size.y >= size.z {
                DVec3::Y
            } else {
                DVec3::Z
            };
            let half = items.len() / 2;
            items.select_nth_unstable_by(half, |a, b| {
                a.middle.dot(axis).total_cmp(&b.middle.dot(axis)).then(a.triangle.cmp(&b.triangle))
            });
            let (left, right) = items.split_at_mut(half);
            let first = self.branch(left, start);
            let second = self.branch(right, start + half as u32);
            self.balls[index as usize].content = Content::Balls([first, second]);
        } else {
            // The halves above are the same on every machine, but not their inner order.
            items.sort_unstable_by_key(|item| item.triangle);
        }
        // The root is the last to come back, with all items in their final order.
        if index == 0 {
            self.boxes = boxes(items, BOX_LEVELS);
        }
        index
    }
}

/// A triangle on its way into the tree.
#[derive(Clone, Copy, Debug)]
struct Item {
    triangle: u32,
    places: [DVec3; 3],
    /// How far the surface leaves the flat triangle.
    bulge: f64,
    cover: f64,
    /// Of the box round its corners.
    middle: DVec3,
    low: DVec3,
    high: DVec3,
}

/// Boxes over equal shares of items that already stand in the order of the tree.
fn boxes(items: &[Item], levels: usize) -> Vec<(DVec3, DVec3)> {
    if levels > 0 && items.len() > TRIANGLES_PER_LEAF {
        let (left, right) = items.split_at(items.len() / 2);
        let mut all = boxes(left, levels - 1);
        all.extend(boxes(right, levels - 1));
        return all;
    }
    vec![
        items
            .iter()
            .fold((DVec3::splat(f64::INFINITY), DVec3::splat(f64::NEG_INFINITY)), |sum, item| {
                (sum.0.min(item.low), sum.1.max(item.high))
            }),
    ]
}

/// How far the surface's own line between two of its points can leave their chord: on a
/// parabola a quarter of how far the tangent does, and a fifth as much again for what is none.
fn sagitta(a: &Corner, b: &Corner) -> f64 {
    let chord = b.position - a.position;
    let step = b.uv - a.uv;
    let from_a = a.slopes[0] * step.x + a.slopes[1] * step.y - chord;
    let from_b = b.slopes[0] * step.x + b.slopes[1] * step.y - chord;
    0.3 * from_a.length().max(from_b.length())
}

fn reversed(piece: &EdgePiece) -> EdgePiece {
    EdgePiece { edge: piece.edge, range: [piece.range[1], piece.range[0]] }
}

/// Both halves of a piece.
pub(super) fn split(piece: &EdgePiece) -> [EdgePiece; 2] {
    let [from, to] = piece.range;
    let middle = (from + to) / 2.0;
    [
        EdgePiece { edge: piece.edge, range: [from, middle] },
        EdgePiece { edge: piece.edge, range: [middle, to] },
    ]
}

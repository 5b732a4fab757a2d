//! The true surface of a body, cut into small pieces under a tree of balls: what a search for
//! the nearest point walks over.

use std::collections::BTreeMap;

use glam::{DVec2, DVec3};

use crate::geometry::curve::Curve;
use crate::geometry::surface::Surface;
use crate::solids::mesh::{EdgePiece, FaceMesh, SolidMesh};

/// Longest side of a triangle to start from, mm. Neighbours share what is found at their
/// corners only as long as they are not cut further, so large faces are cut up beforehand.
const LONGEST_SIDE: f64 = 5.0;

/// Pieces under one lowest ball.
const PIECES_PER_LEAF: usize = 4;

/// Levels of the tree whose boxes stand in for the body where it is far.
const BOX_LEVELS: usize = 4;

/// A point of a face.
#[derive(Clone, Copy, Debug)]
pub(super) struct Corner {
    pub position: DVec3,
    /// Unit normal of the surface, either way; zero where the surface degenerates.
    pub normal: DVec3,
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
    /// `sides[i]` leads from `corners[i]` to the next.
    pub sides: [Option<EdgePiece>; 3],
}

/// A piece of a curved edge between two corners. (Straight edges are sides of triangles, and
/// those cover them wholly.)
#[derive(Clone, Copy, Debug)]
pub(super) struct Arc {
    pub piece: EdgePiece,
    pub corners: [u32; 2],
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
    Pieces(u32, u32),
}

/// The surface of one body, ready to be searched.
#[derive(Clone, Debug)]
pub struct SurfaceSamples {
    pub(super) surfaces: Vec<Surface>,
    pub(super) curves: Vec<Curve>,
    pub(super) corners: Vec<Corner>,
    pub(super) triangles: Vec<Triangle>,
    pub(super) arcs: Vec<Arc>,
    /// Pieces in the order of the tree: triangles by index, then arcs after the last triangle.
    pub(super) order: Vec<u32>,
    pub(super) balls: Vec<Ball>,
    pub(super) sites: usize,
    /// Boxes that together hold the whole surface.
    pub(super) boxes: Vec<(DVec3, DVec3)>,
}

impl SurfaceSamples {
    /// Samples of a solid's triangles. The chord of the triangles does not limit what is
    /// found (pieces are cut further on the true surfaces and edges); 0.1 mm is a good start.
    #[must_use]
    pub fn new(mesh: &SolidMesh) -> Self {
        let mut samples = Self {
            surfaces: mesh.faces.iter().map(|face| face.surface.clone()).collect(),
            curves: mesh.edges.clone(),
            corners: Vec::new(),
            triangles: Vec::new(),
            arcs: Vec::new(),
            order: Vec::new(),
            balls: Vec::new(),
            sites: 0,
            boxes: Vec::new(),
        };
        for (index, face) in mesh.faces.iter().enumerate() {
            samples.add_face(index as u32, face);
        }
        samples.add_arcs();
        samples.number_sites();
        samples.grow_tree();
        samples
    }

    /// The smallest axis-parallel box round the whole surface.
    #[must_use]
    pub fn bounds(&self) -> (DVec3, DVec3) {
        self.boxes.iter().fold(
            (DVec3::splat(f64::INFINITY), DVec3::splat(f64::NEG_INFINITY)),
            |sum, own| (sum.0.min(own.0), sum.1.max(own.1)),
        )
    }

    /// Number of pieces: what walking over the whole surface would cost.
    #[must_use]
    pub fn size(&self) -> usize {
        self.order.len()
    }

    /// A point of the surface.
    pub(super) fn any_point(&self) -> Option<DVec3> {
        self.corners.first().map(|corner| corner.position)
    }

    fn add_face(&mut self, face: u32, mesh: &FaceMesh) {
        let base = self.corners.len() as u32;
        self.corners.extend(mesh.positions.iter().zip(&mesh.uvs).map(|(&position, &uv)| Corner {
            position,
            normal: mesh.surface.normal(uv),
            uv,
            site: 0,
        }));
        let mut on_edge: BTreeMap<(u32, u32), EdgePiece> = BTreeMap::new();
        for (ring, pieces) in mesh.loops.iter().zip(&mesh.pieces) {
            let ends = ring.iter().zip(ring.iter().cycle().skip(1));
            for ((&a, &b), piece) in ends.zip(pieces) {
                on_edge.insert((base + a, base + b), *piece);
                on_edge.insert((base + b, base + a), reversed(piece));
            }
        }
        let mut triangles: Vec<Triangle> = mesh
            .triangles
            .iter()
            .map(|corners| {
                let corners = corners.map(|corner| base + corner);
                let side = |i: usize| on_edge.get(&(corners[i], corners[(i + 1) % 3])).copied();
                Triangle { face, corners, sides: [side(0), side(1), side(2)] }
            })
            .collect();
        // Each pass halves the longest sides; a side is halved alike in both its triangles.
        for _ in 0..12 {
            let mut middles: BTreeMap<(u32, u32), u32> = BTreeMap::new();
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
    }

    /// Cuts a triangle at the middles of its long sides.
    fn cut(
        &mut self,
        triangle: &Triangle,
        middles: &mut BTreeMap<(u32, u32), u32>,
        out: &mut Vec<Triangle>,
    ) {
        let longest = (0..3)
            .map(|i| (i, self.length(triangle.corners[i], triangle.corners[(i + 1) % 3])))
            .filter(|side| side.1 > LONGEST_SIDE)
            .max_by(|a, b| a.1.total_cmp(&b.1));
        let Some((longest, _)) = longest else {
            out.push(*triangle);
            return;
        };
        // Turned so that the longest side comes first.
        let turned = |i: usize| (i + longest) % 3;
        let c = [0, 1, 2].map(|i| triangle.corners[turned(i)]);
        let s = [0, 1, 2].map(|i| triangle.sides[turned(i)]);
        let face = triangle.face;
        let middle = self.middle(face, [c[0], c[1]], s[0], middles);
        let halves = s[0].map(|piece| split(&piece));
        let (near, far) = (halves.map(|h| h[0]), halves.map(|h| h[1]));
        // A long side left over is cut too, so that the neighbour finds the same corner.
        let first = Triangle { face, corners: [middle, c[1], c[2]], sides: [far, s[1], None] };
        let second = Triangle { face, corners: [middle, c[2], c[0]], sides: [None, s[2], near] };
        for half in [first, second] {
            if self.length(half.corners[1], half.corners[2]) > LONGEST_SIDE {
                let [a, b, d] = half.corners;
                let cut = self.middle(face, [b, d], half.sides[1], middles);
                let halves = half.sides[1].map(|piece| split(&piece));
                out.push(Triangle {
                    face,
                    corners: [a, b, cut],
                    sides: [half.sides[0], halves.map(|h| h[0]), None],
                });
                out.push(Triangle {
                    face,
                    corners: [a, cut, d],
                    sides: [None, halves.map(|h| h[1]), half.sides[2]],
                });
            } else {
                out.push(half);
            }
        }
    }

    fn length(&self, a: u32, b: u32) -> f64 {
        self.corners[a as usize].position.distance(self.corners[b as usize].position)
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
        let (position, normal, uv) = self.halfway(face, a.uv, b.uv, side);
        let index = self.corners.len() as u32;
        self.corners.push(Corner { position, normal, uv, site: 0 });
        known.insert(key, index);
        index
    }

    /// Position, normal and parameters halfway between two points of a face.
    pub(super) fn halfway(
        &self,
        face: u32,
        a: DVec2,
        b: DVec2,
        side: Option<EdgePiece>,
    ) -> (DVec3, DVec3, DVec2) {
        let surface = &self.surfaces[face as usize];
        let mut uv = (a + b) / 2.0;
        let curve = side.and_then(|piece| Some((self.curves.get(piece.edge as usize)?, piece)));
        let on_curve = curve.map(|(curve, piece)| {
            let point = curve.point((piece.range[0] + piece.range[1]) / 2.0);
            uv = surface.parameters(point, Some(uv));
            point
        });
        let (place, su, sv) = surface.point_slopes(uv);
        (on_curve.unwrap_or(place), su.cross(sv).normalize_or_zero(), uv)
    }

    /// Takes every piece of a curved edge once, from whichever face comes first.
    fn add_arcs(&mut self) {
        let mut found: BTreeMap<(u32, u64), Arc> = BTreeMap::new();
        for triangle in &self.triangles {
            for (i, side) in triangle.sides.iter().enumerate() {
                let Some(piece) = side else { continue };
                if matches!(self.curves.get(piece.edge as usize), None | Some(Curve::Line { .. })) {
                    continue;
                }
                let corners = [triangle.corners[i], triangle.corners[(i + 1) % 3]];
                let low = piece.range[0].min(piece.range[1]);
                found.entry((piece.edge, low.to_bits())).or_insert(Arc { piece: *piece, corners });
            }
        }
        self.arcs = found.into_values().collect();
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
        let count = self.triangles.len() + self.arcs.len();
        let mut items: Vec<Item> = (0..count as u32).map(|piece| self.item(piece)).collect();
        if !items.is_empty() {
            self.branch(&mut items, 0);
        }
        self.order = items.iter().map(|item| item.piece).collect();
    }

    fn item(&self, piece: u32) -> Item {
        let at = |corner: u32| &self.corners[corner as usize];
        let bulge;
        let corners: &[u32] = match self.triangles.get(piece as usize) {
            Some(triangle) => {
                let [a, b, c] = triangle.corners.map(at);
                bulge = sagitta(a, b).max(sagitta(b, c)).max(sagitta(c, a));
                &triangle.corners
            }
            None => {
                let arc = &self.arcs[piece as usize - self.triangles.len()];
                let [a, b] = arc.corners.map(at);
                let middle = (arc.piece.range[0] + arc.piece.range[1]) / 2.0;
                let top = self.curves[arc.piece.edge as usize].point(middle);
                bulge = 1.5 * top.distance((a.position + b.position) / 2.0);
                &arc.corners
            }
        };
        let (low, high) = corners.iter().fold(
            (DVec3::splat(f64::INFINITY), DVec3::splat(f64::NEG_INFINITY)),
            |sum, &corner| (sum.0.min(at(corner).position), sum.1.max(at(corner).position)),
        );
        let middle = (low + high) / 2.0;
        let reach = corners.iter().map(|&corner| at(corner).position.distance(middle));
        let radius = reach.fold(0.0, f64::max) + bulge;
        Item { piece, middle, radius, low: low - bulge, high: high + bulge }
    }

    /// Adds the ball over `items`, which stand at `start` of the whole; gives its index.
    fn branch(&mut self, items: &mut [Item], start: u32) -> u32 {
        let (low, high) = items.iter().fold(
            (DVec3::splat(f64::INFINITY), DVec3::splat(f64::NEG_INFINITY)),
            |sum, item| (sum.0.min(item.low), sum.1.max(item.high)),
        );
        let centre = (low + high) / 2.0;
        let radius = items
            .iter()
            .map(|item| item.middle.distance(centre) + item.radius)
            .fold(0.0, f64::max)
            .min((high - low).length() / 2.0);
        let index = self.balls.len() as u32;
        let end = start + items.len() as u32;
        self.balls.push(Ball { centre, radius, content: Content::Pieces(start, end) });
        if items.len() > PIECES_PER_LEAF {
            let size = high - low;
            let axis = if size.x >= size.y && size.x >= size.z {
                DVec3::X
            } else if size.y >= size.z {
                DVec3::Y
            } else {
                DVec3::Z
            };
            let half = items.len() / 2;
            items.sort_unstable_by(|a, b| {
                a.middle.dot(axis).total_cmp(&b.middle.dot(axis)).then(a.piece.cmp(&b.piece))
            });
            let (left, right) = items.split_at_mut(half);
            let first = self.branch(left, start);
            let second = self.branch(right, start + half as u32);
            self.balls[index as usize].content = Content::Balls([first, second]);
        }
        // The root is the last to come back, with all items in their final order.
        if index == 0 {
            self.boxes = boxes(items, BOX_LEVELS);
        }
        index
    }
}

/// A piece on its way into the tree.
#[derive(Clone, Copy, Debug)]
struct Item {
    piece: u32,
    middle: DVec3,
    radius: f64,
    low: DVec3,
    high: DVec3,
}

/// Boxes over equal shares of items that already stand in the order of the tree.
fn boxes(items: &[Item], levels: usize) -> Vec<(DVec3, DVec3)> {
    if levels > 0 && items.len() > PIECES_PER_LEAF {
        let (left, right) = items.split_at(items.len() / 2);
        let mut all = boxes(left, levels - 1);
        all.extend(boxes(right, levels - 1));
        return all;
    }
    vec![items.iter().fold(
        (DVec3::splat(f64::INFINITY), DVec3::splat(f64::NEG_INFINITY)),
        |sum, item| (sum.0.min(item.low), sum.1.max(item.high)),
    )]
}

/// How far the surface can leave the chord between two of its points: an eighth of chord times
/// turn of the normal on a circle, and half as much again for what is not one.
fn sagitta(a: &Corner, b: &Corner) -> f64 {
    let chord = a.position.distance(b.position);
    let turn = if a.normal == DVec3::ZERO || b.normal == DVec3::ZERO {
        1.0
    } else {
        a.normal.distance(b.normal)
    };
    chord * turn * (1.5 / 8.0)
}

pub(super) fn reversed(piece: &EdgePiece) -> EdgePiece {
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

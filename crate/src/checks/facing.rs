//! Where the surfaces of two bodies face each other across a small gap, and how wide it is there.
//!
//! The true surface of one body is cut into pieces, coarse where the gap hardly changes and fine
//! at the borders of what faces the other body; a piece the border runs through is cut along it.

use glam::{DVec2, DVec3};

use crate::geometry::distance::DistanceField;
use crate::solids::mesh::EdgePiece;

use super::surface_samples::{Content, Corner, SurfaceSamples, split};

/// Cosine of the greatest angle between the outward normal and the way to the other body at
/// which the two still face each other: 25 degrees (common practice, no source).
const COS_FACING: f64 = 0.906_307_787_036_65;

/// The same where the nearest point lies on an edge of the other body: 5 degrees. What looks at
/// an edge aslant lies beyond it.
const COS_EDGE: f64 = 0.996_194_698_091_745_5;

/// A piece of which all points looked at see one face or one edge of the other body, and see it
/// so far aside by the cosine, looks away throughout.
const COS_ASIDE: f64 = 0.5;

/// The same of a piece that looks back through its own metal, whatever it sees.
const COS_BACK: f64 = -0.5;

/// Nearer than this the way to the other body has no direction, mm.
const NO_WAY: f64 = 1e-7;

/// Halvings of a side to find where the border crosses it: a fine side down to 0.003 mm.
const CROSSING_STEPS: usize = 8;

/// A piece of which only the middle, or only the corners, face the other body is cut on until it
/// is this many times finer than fine.
const FINEST: f64 = 0.25;

/// How finely surfaces are cut. Millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cut {
    /// Longest side of a piece that faces the other body throughout, or looks away from it.
    pub coarse: f64,
    /// Longest side of a piece at a border.
    pub fine: f64,
    /// Greatest difference between the gap at a piece's middle and the mean of its corners'.
    pub bend: f64,
}

impl Cut {
    /// Keeps area and mean gap within 1 % (held by a test that halves all three).
    pub const LIST: Self = Self { coarse: 10.0, fine: 0.8, bend: 0.002 };
}

/// One point of a surface that faces another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Facing {
    pub place: DVec3,
    /// Nearest point of the other body.
    pub foot: DVec3,
    /// Negative where the bodies overlap, mm.
    pub gap: f64,
}

/// A piece of surface that faces another body.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FacingPiece {
    pub middle: Facing,
    pub corners: [Facing; 3],
    /// Unit normal at the middle, out of the metal.
    pub normal: DVec3,
    /// mm²
    pub area: f64,
}

/// All of a surface that faces a body across a gap of no more than `reach`.
///
/// The area is the true one of that surface; where a border crosses a side it is found to 0.003 mm.
#[must_use]
pub fn facing(
    surface: &SurfaceSamples,
    body: &DistanceField,
    reach: f64,
    cut: &Cut,
) -> Vec<FacingPiece> {
    let seen = vec![None; surface.corners.len()];
    let mut walk = Walk { surface, body, reach, cut: *cut, seen, found: Vec::new() };
    let mut balls = vec![0_u32];
    while let Some(ball) = balls.pop().and_then(|index| surface.balls.get(index as usize)) {
        // Distance changes no faster than the point moves.
        if body.near(ball.centre).distance.abs() > reach + ball.radius {
            continue;
        }
        match ball.content {
            Content::Balls(inner) => balls.extend(inner.iter().rev()),
            Content::Triangles(from, to) => {
                for index in from..to {
                    walk.triangle(surface.order[index as usize]);
                }
            }
        }
    }
    walk.found
}

struct Walk<'a> {
    surface: &'a SurfaceSamples,
    body: &'a DistanceField,
    reach: f64,
    cut: Cut,
    /// What was seen from the corners of the triangles.
    seen: Vec<Option<Seen>>,
    found: Vec<FacingPiece>,
}

/// A point of the surface and what it looks at.
#[derive(Clone, Copy)]
struct Seen {
    at: Corner,
    near: Facing,
    normal: DVec3,
    /// Face or edge of the other body that is nearest.
    seen: u32,
    /// Cosine between normal and way.
    cosine: f64,
    /// Whether it faces the other body.
    faces: bool,
}

#[derive(Clone, Copy)]
struct Piece {
    face: u32,
    corners: [Seen; 3],
    sides: [Option<EdgePiece>; 3],
}

impl Piece {
    fn places(&self) -> [DVec3; 3] {
        self.corners.map(|corner| corner.at.position)
    }

    fn middle_uv(&self) -> DVec2 {
        self.corners.iter().map(|corner| corner.at.uv).sum::<DVec2>() / 3.0
    }

    /// The longest side and its length.
    fn longest(&self) -> (usize, f64) {
        let places = self.places();
        let length = |i: usize| places[i].distance(places[(i + 1) % 3]);
        [1, 2].into_iter().fold((0, length(0)), |best, side| {
            if length(side) > best.1 { (side, length(side)) } else { best }
        })
    }
}

impl Walk<'_> {
    fn triangle(&mut self, index: u32) {
        let triangle = &self.surface.triangles[index as usize];
        let (face, sides) = (triangle.face, triangle.sides);
        let corners = triangle.corners.map(|corner| self.corner(face, corner));
        let mut pieces = vec![Piece { face, corners, sides }];
        while let Some(piece) = pieces.pop() {
            if let Some(halves) = self.piece(&piece) {
                pieces.extend(halves);
            }
        }
    }

    /// What a corner of the triangles sees; it is shared by several.
    fn corner(&mut self, face: u32, corner: u32) -> Seen {
        let known = self.seen[corner as usize];
        known.unwrap_or_else(|| {
            let seen = self.see(face, self.surface.corners[corner as usize]);
            self.seen[corner as usize] = Some(seen);
            seen
        })
    }

    /// Takes a piece, leaves it out, or halves it.
    fn piece(&mut self, piece: &Piece) -> Option<[Piece; 2]> {
        let middle = self.see_at(piece.face, piece.middle_uv());
        let (longest, length) = piece.longest();
        // No corner is farther from the middle than two thirds of the longest side; the rest is
        // for the bulge.
        if middle.near.gap.abs() > self.reach + length {
            return None;
        }
        let facing = piece.corners.iter().filter(|corner| corner.faces).count();
        let mean = piece.corners.iter().map(|corner| corner.near.gap).sum::<f64>() / 3.0;
        let Cut { coarse, fine, bend } = self.cut;
        match (facing, middle.faces) {
            (3, true) => {
                let curved = piece.sides.iter().any(Option::is_some);
                let plain = !curved && (middle.near.gap - mean).abs() <= bend && length <= coarse;
                let last = if curved { fine } else { fine * FINEST };
                if plain || length <= last {
                    self.take(piece.face, piece.corners);
                    return None;
                }
            }
            (0, false) => {
                let seen = || piece.corners.iter().chain([&middle]);
                let most = seen().fold(-1.0, |most: f64, point| most.max(point.cosine));
                let one = seen().all(|point| point.seen == middle.seen);
                let away = most < COS_BACK || (one && most < COS_ASIDE);
                if length <= fine || (away && length <= coarse) {
                    return None;
                }
            }
            (1 | 2, _) => {
                if length <= fine {
                    self.take_part(piece, facing);
                    return None;
                }
            }
            _ => {
                if length <= fine * FINEST {
                    if middle.faces {
                        self.take(piece.face, piece.corners);
                    }
                    return None;
                }
            }
        }
        let side = self.surface.first_side(piece.places(), &piece.sides).unwrap_or(longest);
        Some(self.halves(piece, side))
    }

    fn halves(&self, piece: &Piece, side: usize) -> [Piece; 2] {
        let turned = |i: usize| (i + side) % 3;
        let c = [0, 1, 2].map(|i| piece.corners[turned(i)]);
        let s = [0, 1, 2].map(|i| piece.sides[turned(i)]);
        let face = piece.face;
        let middle = self.see(face, self.surface.halfway(face, c[0].at.uv, c[1].at.uv, s[0]));
        let halves = s[0].map(|whole| split(&whole));
        let (near, far) = (halves.map(|h| h[0]), halves.map(|h| h[1]));
        [
            Piece { face, corners: [middle, c[1], c[2]], sides: [far, s[1], None] },
            Piece { face, corners: [middle, c[2], c[0]], sides: [None, s[2], near] },
        ]
    }

    /// Takes the part of a piece on the facing side of the border.
    fn take_part(&mut self, piece: &Piece, facing: usize) {
        // The corner that differs from the two others comes first.
        let differs = |corner: &Seen| corner.faces == (facing == 1);
        let first = piece.corners.iter().position(differs).unwrap_or(0);
        let [a, b, c] = [0, 1, 2].map(|i| piece.corners[(i + first) % 3]);
        let (to_b, to_c) = (self.crossing(piece.face, a, b), self.crossing(piece.face, a, c));
        if facing == 1 {
            self.take(piece.face, [a, to_b, to_c]);
        } else {
            self.take(piece.face, [to_b, b, c]);
            self.take(piece.face, [to_b, c, to_c]);
        }
    }

    /// The last point that faces the other body between one that does and one that does not.
    fn crossing(&self, face: u32, a: Seen, b: Seen) -> Seen {
        let (mut inside, mut outside) = if a.faces { (a, b.at.uv) } else { (b, a.at.uv) };
        for _ in 0..CROSSING_STEPS {
            let middle = self.see_at(face, (inside.at.uv + outside) / 2.0);
            if middle.faces {
                inside = middle;
            } else {
                outside = middle.at.uv;
            }
        }
        inside
    }

    fn take(&mut self, face: u32, corners: [Seen; 3]) {
        let [a, b, c] = corners.map(|corner| corner.at.uv);
        let middle = self.see_at(face, (a + b + c) / 3.0);
        // The surface at the middle, flat, over the triangle of parameters: exact to second order.
        let stretch = middle.at.slopes[0].cross(middle.at.slopes[1]).length();
        let area = stretch * (b - a).perp_dot(c - a).abs() / 2.0;
        if area > 0.0 {
            let corners = corners.map(|corner| corner.near);
            self.found.push(FacingPiece {
                middle: middle.near,
                corners,
                normal: middle.normal,
                area,
            });
        }
    }

    fn see_at(&self, face: u32, uv: DVec2) -> Seen {
        self.see(face, self.surface.halfway(face, uv, uv, None))
    }

    fn see(&self, face: u32, at: Corner) -> Seen {
        let near = self.body.near(at.position);
        let own = at.slopes[0].cross(at.slopes[1]).normalize_or_zero();
        let outward = self.surface.outward.get(face as usize).copied().unwrap_or(true);
        let normal = if outward { own } else { -own };
        let way = (near.foot - at.position).dot(normal);
        let touching = near.distance.abs() < NO_WAY;
        let cosine = if touching { 1.0 } else { way / near.distance };
        let least = if near.on_edge() { COS_EDGE } else { COS_FACING };
        let faces = near.distance.abs() <= self.reach && cosine >= least;
        let seen = near.face;
        let near = Facing { place: at.position, foot: near.foot, gap: near.distance };
        Seen { at, near, normal, seen, cosine, faces }
    }
}

//! Distance to bent round rod with pointed ends.

use glam::{DVec2, DVec3};

use crate::geometry::motion::turned;
use crate::geometry::order::Order;
use crate::geometry::shape::{Rod, RodPiece};

use super::{CarriedOn, EDGE, Faces, Near};

/// A rod: each piece's skin is a cylinder or a torus, each end a cone with a flat tip. Exact
/// inside and out for a rod that keeps clear of itself.
#[derive(Clone, Debug)]
pub struct RodField {
    pieces: Vec<Piece>,
}

#[derive(Clone, Debug)]
enum Piece {
    /// Cylinder from `from` along the unit `along`.
    Straight { from: DVec3, along: DVec3, length: f64, radius: f64 },
    /// Pointed end: its tip at `tip`, `along` leading into the rod. Reaches up to the first bend.
    Point { tip: DVec3, along: DVec3, profile: [DVec2; 4] },
    /// Torus about `centre`, from the unit spoke `start` to `end`, radius of the bend `major`.
    Bend { centre: DVec3, axis: DVec3, start: DVec3, end: DVec3, major: f64, radius: f64 },
}

/// Nearest point of one piece's skin.
struct Foot {
    distance: f64,
    point: DVec3,
    /// Whether the point asked about lies inside this piece.
    inside: bool,
    /// Whether the foot lies within a face, not on an edge.
    smooth: bool,
    /// Which face of the piece.
    face: u32,
}

/// Face numbers each piece takes.
const FACES_PER_PIECE: u32 = 4;

impl RodField {
    pub(super) fn new(rod: &Rod) -> Self {
        let last = rod.path.len().saturating_sub(1);
        let pieces = rod
            .path
            .iter()
            .enumerate()
            .map(|(index, piece)| match piece {
                RodPiece::Line { from, to } => {
                    let length = from.distance(*to);
                    let along = (*to - *from).normalize_or_zero();
                    let profile = [
                        DVec2::ZERO,
                        DVec2::new(0.0, rod.tip_radius),
                        DVec2::new(rod.point_length, rod.radius),
                        DVec2::new(length, rod.radius),
                    ];
                    if index == 0 {
                        Piece::Point { tip: *from, along, profile }
                    } else if index == last {
                        Piece::Point { tip: *to, along: -along, profile }
                    } else {
                        Piece::Straight { from: *from, along, length, radius: rod.radius }
                    }
                }
                RodPiece::Arc { from, centre, axis, sweep } => {
                    let spoke = *from - *centre;
                    let major = spoke.length();
                    let start = spoke / major;
                    let end = turned(start, *axis, *sweep);
                    Piece::Bend {
                        centre: *centre,
                        axis: *axis,
                        start,
                        end,
                        major,
                        radius: rod.radius,
                    }
                }
            })
            .collect();
        Self { pieces }
    }

    pub(super) fn near(&self, point: DVec3) -> Near {
        let mut best =
            Near { distance: f64::INFINITY, foot: point, face: 0, others: f64::INFINITY };
        let mut inside = false;
        let mut smooth = false;
        for (index, piece) in self.pieces.iter().enumerate() {
            let foot = piece.foot(point);
            inside |= foot.inside;
            if foot.distance < best.distance {
                best = Near {
                    distance: foot.distance,
                    foot: foot.point,
                    face: FACES_PER_PIECE * index as u32 + foot.face,
                    // A piece is convex; what may stand out before it is another piece.
                    others: best.distance.lesser(best.others),
                };
                smooth = foot.smooth;
            } else {
                best.others = best.others.lesser(foot.distance);
            }
        }
        if !smooth {
            best.face |= EDGE;
        }
        if inside {
            best.distance = -best.distance;
        }
        best
    }

    /// Edges are numbered as the face their foot was found on.
    pub(super) fn faces_at(&self, edge: u32) -> Faces {
        Faces::new(&[edge & !EDGE])
    }

    pub(super) fn carried_on(&self, face: u32, point: DVec3) -> Option<CarriedOn> {
        let piece = self.pieces.get((face / FACES_PER_PIECE) as usize)?;
        let (distance, slope) = piece.carried_on(face % FACES_PER_PIECE, point)?;
        Some(CarriedOn { distance, slope })
    }
}

impl Piece {
    /// Signed distance to a face of this piece carried on, and its slope.
    fn carried_on(&self, face: u32, point: DVec3) -> Option<(f64, DVec3)> {
        match self {
            Self::Straight { from, along, radius, .. } => {
                let (_, off, unit) = spoke(point, *from, *along);
                Some((off - radius, unit))
            }
            Self::Point { tip, along, profile } => {
                let (height, off, unit) = spoke(point, *tip, *along);
                let (from, to) = (profile.get(face as usize)?, profile.get(face as usize + 1)?);
                let side = (*to - *from).try_normalize()?;
                // The metal lies to the right.
                let out = side.perp();
                let distance = out.dot(DVec2::new(height, off) - *from);
                Some((distance, *along * out.x + unit * out.y))
            }
            Self::Bend { centre, axis, major, radius, .. } => {
                let reach = point - *centre;
                let flat = reach - *axis * reach.dot(*axis);
                let length = flat.length();
                if length < 1e-9 {
                    return None;
                }
                let off = reach - flat * (*major / length);
                let distance = off.length();
                (distance > 1e-9).then(|| (distance - radius, off / distance))
            }
        }
    }
}

/// Unit vector from the foot of `point` on the axis through `origin` along `axis`, with the
/// height of that foot and the distance from the axis.
fn spoke(point: DVec3, origin: DVec3, axis: DVec3) -> (f64, f64, DVec3) {
    let reach = point - origin;
    let height = reach.dot(axis);
    let off = reach - axis * height;
    let radius = off.length();
    let unit = if radius > 1e-12 { off / radius } else { axis.any_orthonormal_vector() };
    (height, radius, unit)
}

impl Piece {
    fn foot(&self, point: DVec3) -> Foot {
        match self {
            Self::Straight { from, along, length, radius } => {
                let (height, off, unit) = spoke(point, *from, *along);
                let at = height.clamp(0.0, *length);
                let foot = *from + *along * at + unit * *radius;
                Foot {
                    distance: foot.distance(point),
                    point: foot,
                    inside: at == height && off < *radius,
                    smooth: at == height,
                    face: 0,
                }
            }
            Self::Bend { centre, axis, start, end, major, radius } => {
                let reach = point - *centre;
                let height = reach.dot(*axis);
                let flat = reach - *axis * height;
                // Turned by less than half a turn: between both spokes.
                let within =
                    axis.dot(start.cross(flat)) >= 0.0 && axis.dot(flat.cross(*end)) >= 0.0;
                let length = flat.length();
                if within && length > 1e-12 {
                    let round = flat / length;
                    let circle = *centre + round * *major;
                    let off = point - circle;
                    let distance = off.length();
                    let unit = if distance > 1e-12 { off / distance } else { *axis };
                    return Foot {
                        distance: (distance - radius).abs(),
                        point: circle + unit * *radius,
                        inside: distance < *radius,
                        smooth: true,
                        face: 0,
                    };
                }
                let at_start = flat.dot(*start) >= flat.dot(*end);
                let round = if at_start { *start } else { *end };
                let circle = *centre + round * *major;
                let (_, _, unit) = spoke(point, circle, axis.cross(round));
                let foot = circle + unit * *radius;
                let distance = foot.distance(point);
                Foot { distance, point: foot, inside: false, smooth: false, face: 0 }
            }
            Self::Point { tip, along, profile } => {
                let (height, off, unit) = spoke(point, *tip, *along);
                let flat = DVec2::new(height, off);
                let mut best = (f64::INFINITY, flat, 0, false);
                // The metal lies to the right of the profile, which runs tip, cone, skin.
                let mut inside = height <= profile[3].x;
                for (face, pair) in profile.windows(2).enumerate() {
                    let side = pair[1] - pair[0];
                    let reach = flat - pair[0];
                    inside &= side.perp_dot(reach) <= 0.0;
                    let share = reach.dot(side) / side.length_squared().greater(1e-300);
                    let within = share.clamp(0.0, 1.0);
                    let foot = pair[0] + side * within;
                    let square = foot.distance_squared(flat);
                    if square < best.0 {
                        best = (square, foot, face as u32, within == share);
                    }
                }
                Foot {
                    distance: best.0.sqrt(),
                    point: *tip + *along * best.1.x + unit * best.1.y,
                    inside,
                    smooth: best.3,
                    face: best.2,
                }
            }
        }
    }
}

//! What is left of a clearance when both parts are soldered as far off their places as hands are.
//!
//! The gap of two points changes, to first order, by how fast each of them goes along the line
//! between them; so the worst placing is known by its signs, and the pair is measured once more
//! with both parts standing there.

use glam::DVec3;

use crate::parts::{Offset, Seating};

use super::clearance::{Aim, Body, Clearance, Posed, clearance};
use super::search::Scratch;
use super::surface_samples::corners_of;

/// Where a body is placed, and how far off hands place it to either side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placed {
    pub seating: Seating,
    /// Along the tube, round it, in height, mm.
    pub reach: Offset,
}

/// Signed distance at the worst placing of two bodies that are not placed as one, mm; of a pair of
/// which only a bound is known, a bound. `None` where no line between them is known because they
/// touch.
///
/// `room` is what hands can take of the gap at most: see [`greatest_way`].
pub(super) fn worst_by_hand(
    a: &Posed<'_>,
    b: &Posed<'_>,
    found: &Clearance,
    room: f64,
    scratch: &mut Scratch,
) -> Option<f64> {
    if found.at_least {
        return Some(found.bound - room);
    }
    let between = found.a_point - found.b_point;
    let apart = between.length() * found.distance.signum();
    if apart.abs() < 1e-6 {
        return None;
    }
    let away = between / apart;
    let moved = |posed: &Posed<'_>, point: DVec3, sign: f64| match posed.body.placed {
        None => posed.motion,
        Some(Placed { seating, reach }) => {
            let ways = seating.ways(point).map(|way| way.dot(away) * sign);
            let offset = [0, 1, 2].map(|k| if ways[k] > 0.0 { -reach[k] } else { reach[k] });
            let off = seating.motion(offset);
            Some(posed.motion.map_or(off, |motion| off.after(&motion)))
        }
    };
    let one = Posed { motion: moved(a, found.a_point, 1.0), ..*a };
    let other = Posed { motion: moved(b, found.b_point, -1.0), ..*b };
    let seeds = Some([a.back(found.a_point), b.back(found.b_point)]);
    let worst = clearance(&one, &other, &Aim { seeds, ..Aim::ROUGH }, scratch)?;
    let left = if worst.at_least { worst.bound } else { worst.distance };
    // A part may also stand just where it is drawn. (Depths here are rough: see `Aim::ROUGH`.)
    Some(left.min(found.distance))
}

/// Whether hands place two bodies as one, so that their gap stays what it is.
pub(super) fn placed_as_one(a: &Body<'_>, b: &Body<'_>) -> bool {
    let name = |body: &Body<'_>| body.placed.map(|placed| placed.seating.name);
    name(a) == name(b)
}

/// No point of a body in a box stands farther off its place than this, mm.
pub(super) fn greatest_way(body: &Body<'_>, room: (DVec3, DVec3)) -> f64 {
    let Some(Placed { seating, reach }) = body.placed else { return 0.0 };
    // Ways are linear in the point, so they are longest at a corner.
    corners_of(room)
        .map(|corner| {
            let ways = seating.ways(corner);
            ways.iter().zip(reach).map(|(way, reach)| way.length() * reach).sum::<f64>()
        })
        .fold(0.0, f64::max)
}

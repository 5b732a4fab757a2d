//! What is left of a clearance when both parts are soldered as far off their places as hands are.
//!
//! The gap of two points changes, to first order, by how fast each of them goes along the line
//! between them; so the worst placing is known by its signs, and the pair is measured once more
//! with both parts standing there, and again if other points are nearest then.

use glam::DVec3;

use crate::geometry::motion::Motion;
use crate::parts::{Offset, Seating};

use super::clearance::{Aim, Body, Clearance, Posed, clearance_again};
use super::search::Scratch;
use super::surface_samples::corners_of;

/// The worst placing is looked for again from the points that are nearest there, so often at most:
/// of two that are as near all round the first points say little.
const ROUNDS: usize = 3;

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
    let (mut points, mut distance) = ([found.a_point, found.b_point], found.distance);
    let seeds = Some([a.back(found.a_point), b.back(found.b_point)]);
    let aim = Aim { seeds, ..Aim::ROUGH };
    let mut left = None;
    let mut last = [[0.0; 3]; 2];
    for _ in 0..ROUNDS {
        let apart = points[0].distance(points[1]) * distance.signum();
        if apart.abs() < 1e-6 {
            break;
        }
        let away = (points[0] - points[1]) / apart;
        let offsets = [offset(a, points[0], away), offset(b, points[1], -away)];
        if offsets == last {
            break;
        }
        last = offsets;
        let [one, other] = [(a, offsets[0]), (b, offsets[1])].map(|(posed, off)| moved(posed, off));
        let worst = clearance_again(&one, &other, &aim, scratch)?;
        let now = if worst.at_least { worst.bound } else { worst.distance };
        // A part may also stand just where it is drawn. (Depths here are rough: see `Aim::ROUGH`.)
        left = Some(now.min(left.unwrap_or(found.distance)));
        if worst.at_least {
            break;
        }
        (points, distance) = ([worst.a_point, worst.b_point], worst.distance);
    }
    left
}

/// The placing of a body that takes most of a gap, for a nearest point of it and the unit direction
/// from the other body to it.
fn offset(posed: &Posed<'_>, point: DVec3, away: DVec3) -> Offset {
    let Some(Placed { seating, reach }) = posed.body.placed else { return [0.0; 3] };
    // What is soldered on the arm stands off on it, and its ways are turned with it.
    let ways = match posed.motion.filter(|_| seating.on_arm) {
        Some(motion) => seating.ways(posed.back(point)).map(|way| motion.direction(way)),
        None => seating.ways(point),
    };
    let ways = ways.map(|way| way.dot(away));
    [0, 1, 2].map(|k| if ways[k] > 0.0 { -reach[k] } else { reach[k] })
}

/// A body that stands off its place.
fn moved<'a>(posed: &Posed<'a>, offset: Offset) -> Posed<'a> {
    let Some(Placed { seating, .. }) = posed.body.placed else { return *posed };
    let off = seating.motion(offset);
    let both = |motion: Motion| {
        if seating.on_arm { motion.after(&off) } else { off.after(&motion) }
    };
    Posed { motion: Some(posed.motion.map_or(off, both)), ..*posed }
}

/// Whether hands place two bodies as one, so that their gap stays what it is.
pub(super) fn placed_as_one(a: &Body<'_>, b: &Body<'_>) -> bool {
    let name = |body: &Body<'_>| body.placed.map(|placed| placed.seating.name);
    name(a) == name(b)
}

/// No point of a body stands farther off its place than this, mm. `swept` is a box round all places the key takes the
/// body through, if hands are asked about in all of them.
pub(super) fn greatest_way(body: &Body<'_>, swept: Option<(DVec3, DVec3)>) -> f64 {
    let Some(Placed { seating, reach }) = body.placed else { return 0.0 };
    let room = swept.filter(|_| !seating.on_arm).unwrap_or_else(|| body.samples.bounds());
    // Lengths of ways are convex in the point, so they are greatest at a corner.
    corners_of(room).map(|corner| seating.farthest_off(corner, reach)).fold(0.0, f64::max)
}

//! Distance to all the places a cylinder goes through in a turn about an axis: the horn's octave
//! pin and clamp screw while the player turns the neck.

use glam::DVec3;

use crate::geometry::motion::Motion;
use crate::geometry::outline::Side;
use crate::geometry::shape::Turned;

use super::turned::TurnedField;
use super::{CarriedOn, Faces, Near};

/// Greatest miss of being parallel or square that counts as none.
const SQUARE: f64 = 1e-9;

/// Step by which is told whether distance falls along the turn, radians.
const AHEAD: f64 = 1e-4;

/// Share of a range that is left at each step of a search by the golden section.
const GOLDEN: f64 = 0.618_033_988_749_894_9;

/// Width to which such a search goes, radians: distance changes by less than its square times
/// the radius.
const NARROW: f64 = 1e-6;

/// A cylinder turned about an axis by up to an angle to either side. The distance is the least to
/// the cylinder in any of its places, negative where one of them has metal.
///
/// The cylinder lies along the axis or square to it, so it is its own mirror image in a plane
/// through the axis. A point and the turned cylinder are nearest where the point stands in
/// that plane, or else at one place on each side of it: a cylinder is convex, and a point led round
/// the axis away from the plane comes nearer first, if at all, and then only goes away.
#[derive(Clone, Debug)]
pub struct ThroughField {
    body: TurnedField,
    point: DVec3,
    axis: DVec3,
    /// Unit directions square to the axis: in the mirror plane, and out of it.
    ahead: DVec3,
    aside: DVec3,
    half_turn: f64,
    /// The cylinder lies along the axis: nearest in the plane.
    upright: bool,
}

impl ThroughField {
    /// `None` for anything but a full cylinder along the axis or square to it and beside it.
    pub(super) fn new(turned: &Turned, point: DVec3, axis: DVec3, half_turn: f64) -> Option<Self> {
        let sides = turned.profile.sides();
        let straight = sides.iter().all(|side| matches!(side, Side::Line { .. }));
        let along_axis = |side: &Side| side.start().x;
        let low = sides.iter().map(along_axis).fold(f64::INFINITY, f64::min);
        let high = sides.iter().map(along_axis).fold(f64::NEG_INFINITY, f64::max);
        let along = turned.axis.z;
        let middle = turned.axis.origin + along * ((low + high) / 2.0) - point;
        let out = middle - axis * middle.dot(axis);
        let (upright, crossing) =
            (along.cross(axis).length() < SQUARE, along.dot(axis).abs() < SQUARE);
        let tangent = along.dot(out).abs() < SQUARE * out.length().max(1.0);
        let fit = straight && sides.len() == 4 && (upright || crossing && tangent);
        if !fit || out.length() < SQUARE || !half_turn.is_finite() {
            return None;
        }
        let ahead = out.normalize();
        Some(Self {
            body: TurnedField::new(turned),
            point,
            axis,
            ahead,
            aside: axis.cross(ahead),
            half_turn: half_turn.clamp(0.0, std::f64::consts::FRAC_PI_2),
            upright,
        })
    }

    /// The turn of the cylinder at which it comes nearest to a point, radians by the right hand.
    #[must_use]
    pub fn turn_at(&self, point: DVec3) -> f64 {
        let way = point - self.point;
        let azimuth = libm::atan2(way.dot(self.aside), way.dot(self.ahead));
        let (low, high) = (azimuth - self.half_turn, azimuth + self.half_turn);
        // The azimuth the point can be given in the cylinder's own frame; 0 is in the plane.
        // (Not by `clamp`, which panics where a point is no number.)
        let first = low.max(high.min(0.0));
        if self.upright {
            return azimuth - first;
        }
        let distance = |beside: f64| self.body.near(self.back(azimuth - beside, point)).distance;
        let mut best = (distance(first), first);
        for end in [low, high] {
            // Only away from the plane.
            if (end - first) * first < 0.0 || (end - first).abs() < AHEAD {
                continue;
            }
            let step = AHEAD * (end - first).signum();
            if distance(first + step) < best.0 {
                let found = lowest(&distance, first, end);
                if found.0 < best.0 {
                    best = found;
                }
            }
        }
        azimuth - best.1
    }

    /// The point as the cylinder sees it after a turn.
    fn back(&self, turn: f64, point: DVec3) -> DVec3 {
        Motion::about(self.point, self.axis, -turn).point(point)
    }

    pub(super) fn near(&self, point: DVec3) -> Near {
        let turn = self.turn_at(point);
        let near = self.body.near(self.back(turn, point));
        let foot = Motion::about(self.point, self.axis, turn).point(near.foot);
        Near { foot, others: near.distance.abs(), ..near }
    }

    /// Upright, the cylinder in each of its places lies behind each of its faces carried on, and of
    /// these the nearest is the one turned towards the point: see [`DistanceField::cover`].
    ///
    /// [`DistanceField::cover`]: super::DistanceField::cover
    pub(super) fn cover(&self, face: u32) -> Option<Faces> {
        if self.upright { self.body.cover(face) } else { None }
    }

    pub(super) fn faces_at(&self, edge: u32) -> Faces {
        self.body.faces_at(edge)
    }

    pub(super) fn carried_on(&self, face: u32, point: DVec3) -> Option<CarriedOn> {
        let turn = self.turn_at(point);
        let carried = self.body.carried_on(face, self.back(turn, point))?;
        let slope = Motion::about(self.point, self.axis, turn).direction(carried.slope);
        Some(CarriedOn { slope, ..carried })
    }
}

/// Least of a function that falls first and then rises, by the golden section: value and place.
fn lowest(value: &impl Fn(f64) -> f64, from: f64, to: f64) -> (f64, f64) {
    let (mut from, mut to) = (from, to);
    let inner = |a: f64, b: f64| a + (b - a) * (1.0 - GOLDEN);
    let (mut near, mut far) = (inner(from, to), inner(to, from));
    let (mut at_near, mut at_far) = (value(near), value(far));
    while (to - from).abs() > NARROW {
        if at_near < at_far {
            (to, far, at_far) = (far, near, at_near);
            near = inner(from, to);
            at_near = value(near);
        } else {
            (from, near, at_near) = (near, far, at_far);
            far = inner(to, from);
            at_far = value(far);
        }
    }
    if at_near < at_far { (at_near, near) } else { (at_far, far) }
}

//! What moves against what: the key about its hinge, the horn about the tenon when the player
//! turns the neck.

use glam::DVec3;

use crate::geometry::motion::Motion;

use super::clearance::{Body, Posed};

/// What a body moves with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Group {
    /// Soldered to the neck, or pushed on it. At rest: everything is measured in its frame.
    Neck,
    /// The octave key.
    Key,
    /// The horn: receiver, clamp and octave pin.
    Horn,
}

/// A line to turn about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pivot {
    pub point: DVec3,
    /// Unit direction.
    pub axis: DVec3,
}

impl Pivot {
    /// Distance of a point from the line, mm.
    #[must_use]
    pub fn distance(&self, point: DVec3) -> f64 {
        (point - self.point).cross(self.axis).length()
    }

    /// The turn by an angle about it; none for no turn.
    pub(super) fn turned(&self, angle: f64) -> Option<Motion> {
        (angle != 0.0).then(|| Motion::about(self.point, self.axis, angle))
    }
}

/// The two turns, and how far they go.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mechanism {
    pub hinge: Pivot,
    /// Turn of the key from closed to open, radians.
    pub open_angle: f64,
    /// Axis of tenon and receiver.
    pub tenon: Pivot,
    /// How far the player turns the neck to either side, radians.
    pub neck_turn: f64,
}

/// Where key and horn stand, radians.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Turn {
    /// Turn of the key about its hinge, 0 closed.
    pub key: f64,
    /// Turn of the horn about the tenon, 0 with the neck straight.
    pub horn: f64,
}

impl Turn {
    /// Key closed, neck straight.
    pub const REST: Self = Self { key: 0.0, horn: 0.0 };
}

impl Mechanism {
    /// A body where it stands after a turn.
    #[must_use]
    pub fn posed<'a>(&self, body: &'a Body<'a>, turn: Turn) -> Posed<'a> {
        Posed { body, motion: self.motion(body.group, turn) }
    }

    /// Where a body of a group has moved from its place at rest.
    #[must_use]
    pub fn motion(&self, group: Group, turn: Turn) -> Option<Motion> {
        match group {
            Group::Neck => None,
            Group::Key => self.hinge.turned(turn.key),
            Group::Horn => self.tenon.turned(turn.horn),
        }
    }
}

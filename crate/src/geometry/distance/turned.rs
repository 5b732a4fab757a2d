//! Distance to bodies of revolution.

use glam::{DVec2, DVec3};

use crate::geometry::frame::Frame;
use crate::geometry::outline::Side;
use crate::geometry::shape::Turned;

use super::Near;
use super::flat::FlatField;

/// Radii below this are the axis itself, mm.
const AXIS: f64 = 1e-9;

/// A body of revolution: the nearest point lies in the half plane through the axis and the
/// point, so the distance is that to the profile. Exact inside and out.
#[derive(Clone, Debug)]
pub struct TurnedField {
    axis: Frame,
    profile: FlatField,
}

impl TurnedField {
    pub(super) fn new(turned: &Turned) -> Self {
        let on_axis =
            |side: &Side| matches!(side, Side::Line { from, to } if from.y < AXIS && to.y < AXIS);
        Self {
            axis: turned.axis,
            profile: FlatField::new(&turned.profile, |side| !on_axis(side)),
        }
    }

    pub(super) fn near(&self, point: DVec3) -> Near {
        let local = self.axis.local(point);
        let radius = (local.x * local.x + local.y * local.y).sqrt();
        let out = if radius > AXIS {
            (self.axis.x * local.x + self.axis.y * local.y) / radius
        } else {
            self.axis.x
        };
        let flat = self.profile.near(DVec2::new(local.z, radius));
        Near {
            distance: flat.distance,
            foot: self.axis.origin + self.axis.z * flat.foot.x + out * flat.foot.y,
            face: flat.side,
            others: flat.others,
        }
    }
}

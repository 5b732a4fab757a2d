//! Distance to bodies of revolution.

use glam::{DVec2, DVec3};

use crate::geometry::frame::Frame;
use crate::geometry::outline::Side;
use crate::geometry::shape::Turned;

use super::flat::FlatField;
use super::{CarriedOn, EDGE, Faces, Near};

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
        Self { axis: turned.axis, profile: FlatField::new(&turned.profile, |side| !on_axis(side)) }
    }

    /// The point in the half plane of the profile, with the unit spoke towards it.
    fn flatten(&self, point: DVec3) -> (DVec2, DVec3) {
        let local = self.axis.local(point);
        let radius = (local.x * local.x + local.y * local.y).sqrt();
        let out = if radius > AXIS {
            (self.axis.x * local.x + self.axis.y * local.y) / radius
        } else {
            self.axis.x
        };
        (DVec2::new(local.z, radius), out)
    }

    pub(super) fn near(&self, point: DVec3) -> Near {
        let (place, out) = self.flatten(point);
        let flat = self.profile.near(place);
        let edge = if flat.side < self.profile.corner_count() { 0 } else { EDGE };
        Near {
            distance: flat.distance,
            foot: self.axis.origin + self.axis.z * flat.foot.x + out * flat.foot.y,
            face: flat.side | edge,
            others: flat.others,
        }
    }

    pub(super) fn cover(&self, face: u32) -> Option<Faces> {
        self.profile.cover(face)
    }

    pub(super) fn faces_at(&self, edge: u32) -> Faces {
        self.profile.sides_at(edge & !EDGE)
    }

    pub(super) fn carried_on(&self, face: u32, point: DVec3) -> Option<CarriedOn> {
        let (place, out) = self.flatten(point);
        let (distance, slope) = self.profile.carried_on(face, place)?;
        Some(CarriedOn { distance, slope: self.axis.z * slope.x + out * slope.y })
    }
}

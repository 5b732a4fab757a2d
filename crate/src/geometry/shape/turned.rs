//! Turned bodies: a half-profile revolved about an axis.

use crate::geometry::frame::Frame;
use crate::geometry::outline::Outline;

/// A body of revolution about the frame's z axis.
///
/// The profile's x is the distance along the axis from the frame's origin, its y the radius
/// (never negative). Counter-clockwise, so for a solid cylinder: along the axis, out, back
/// along the outside, in. A side that lies on the axis (both ends at radius 0) is no surface.
#[derive(Clone, Debug, PartialEq)]
pub struct Turned {
    pub axis: Frame,
    pub profile: Outline,
}

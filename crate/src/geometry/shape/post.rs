//! Posts: turned, coped to the saddle's curve, with the hinge hole across.

use std::sync::Arc;

use crate::geometry::frame::Frame;
use crate::geometry::neck::Neck;

/// A round post standing along the frame's z axis (parallel to the in-plane normal at the
/// hinge station), x along the tube, y along the hinge axis.
///
/// It reaches from the coped foot, which follows the surface at bore radius plus
/// `foot_offset`, to z = `top`, with a chamfer there. The hinge hole runs along y through the
/// frame's origin.
#[derive(Clone, Debug, PartialEq)]
pub struct Post {
    pub frame: Frame,
    pub radius: f64,
    pub top: f64,
    /// Width and height of the 45 degree chamfer round the top.
    pub chamfer: f64,
    pub hole_radius: f64,
    pub neck: Arc<Neck>,
    pub foot_offset: f64,
}

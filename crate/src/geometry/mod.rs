//! Exact curves, surfaces and shapes; no topology. Millimetres and radians.

pub mod arc_fit;
pub mod bore;
pub mod bspline;
pub mod centreline;
pub mod clip;
pub mod contour;
pub mod cubic;
pub mod curve;
pub mod distance;
pub mod frame;
pub mod motion;
pub mod neck;
pub mod order;
pub mod outline;
pub mod shape;
pub mod surface;

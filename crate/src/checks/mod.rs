//! Questions put to finished solids: how far the parts of a neck are apart, and whether that
//! is as it should be.

mod clearance;
mod list;
mod relations;
mod search;
mod surface_samples;

pub use clearance::{Body, Clearance, EXACT_TO, State, TOUCHING, clearance};
pub use list::{ClearanceList, Pair, PairState, Pose, clearance_list, judge};
pub use relations::{Limits, Relation, Required, relation};
pub use search::Scratch;
pub use surface_samples::SurfaceSamples;

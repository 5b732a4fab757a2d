//! Questions put to finished solids: how far the parts of a neck are apart, and whether that
//! is as it should be.

mod clearance;
mod facing;
pub mod findings;
mod hand;
mod list;
mod mechanism;
mod pair;
mod pair_numbers;
mod relations;
mod search;
mod surface_samples;
mod swing;
mod undrilled;
mod ways_out;

pub use clearance::{Aim, Body, Clearance, EXACT_TO, Posed, State, TOUCHING, clearance};
pub use facing::{Cut, Facing, FacingPiece, facing};
pub use findings::joints::{JointFinding, finding as joint_finding};
pub use findings::{Access, Finding, Findings};
pub use hand::Placed;
pub use list::{ClearanceList, ListChanges, NeckTurned, Pair, PairState, Pose, TurnedPair};
pub use mechanism::{Group, Mechanism, Pivot, Turn};
pub use pair::{Asked, ByHand, PairMeasured, measure_pair};
pub use relations::{Limits, Relation, Required, relation};
pub use search::Scratch;
pub use surface_samples::SurfaceSamples;
pub use swing::SwingLeast;
pub use undrilled::Hole;
pub use ways_out::{ChangedField, PairOf, PairWaysOut, WayOut, WaysOut};

//! The parts of a neck: dimensions from the job, each placed on the neck, and the rules they must keep between them.

mod action;
mod assembly;
mod badge;
mod brace;
mod cork;
mod end_ring;
mod guide;
mod hinge;
mod keepouts;
mod key;
mod key_arm;
mod lathe;
mod pad;
mod part;
mod places;
mod placing;
mod posts;
mod rod_loop;
mod rules;
mod saddle;
mod smooth;
mod spring;
mod swing;
mod tenon;
mod tube;
mod unrolled;
mod vent;

pub use action::{Action, NoLift};
pub use assembly::{Assembly, HingeAxis, PlacedJob, build_from_text};
pub use hinge::engagement;
pub use keepouts::ToolPath;
pub use part::Part;
pub use placing::{Offset, Seating};
pub use posts::clear_hole;
pub use rules::rules;
pub use unrolled::{Along, Band, Footprint, Stands, Unrolled, unrolled};

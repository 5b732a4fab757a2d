//! Blanks on a sheet: as many as go on it, as few sheets as can be, or the shortest strip.

mod crowd;
mod field;
mod filling;
mod ground;
mod laying;
mod nests;
mod shape;

pub use crowd::{Place, Rules, Shapes, Turning, laid};
pub use ground::Ground;
pub use laying::{Aim, Lay, Laying};
pub use shape::{Shape, bounds, signed_distance};

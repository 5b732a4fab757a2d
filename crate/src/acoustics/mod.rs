//! What a neck's bore does to the resonances of the horn it stands on, beside another neck.
//!
//! Plane waves in a tube that is cut into short cones, with the friction and the loss of heat at its wall. The horn below is
//! measured, or a plain cone stands in for it. All of it is linear: neither reed nor player is in it, so it compares two
//! necks and predicts no player.
//!
//! Lengths come in millimetres; inside, everything is SI (metres, pascals, cubic metres a second), since that is what
//! impedances are told in.

pub mod aim;
pub mod air;
pub mod comparison;
pub mod contender;
pub mod disturbance;
pub mod duct;
pub mod files;
pub mod horn;
pub mod impedance;
mod least_squares;
pub mod losses;
pub mod missing_cone;
pub mod neck_on_horn;
pub mod notes;
pub mod profile;
pub mod radiation;
pub mod rows;
pub mod segment;
pub mod sensitivity;
pub mod sweep;
pub mod vent;

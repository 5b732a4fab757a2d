//! The neck's own tube: an annulus swept along the centreline, with the vent's hole.

use std::sync::Arc;

use crate::geometry::neck::Neck;

/// The wall between the bore and the outside, from station `from` to station `to`.
#[derive(Clone, Debug, PartialEq)]
pub struct Tube {
    pub neck: Arc<Neck>,
    pub from: f64,
    pub to: f64,
    /// Hole through the top wall only.
    pub hole: Option<TubeHole>,
}

/// A round hole drilled through the top wall along the in-plane normal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TubeHole {
    pub station: f64,
    pub radius: f64,
}

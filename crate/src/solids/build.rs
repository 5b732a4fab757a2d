//! From a part's body to its solid.

use crate::geometry::shape::Shape;

use super::brep::Solid;
use super::error::SolidError;
use super::{plate, post, rod, sweep, turned};

/// Builds the solid of a body: one closed shell, every face on a known surface.
pub fn build(shape: &Shape) -> Result<Solid, SolidError> {
    match shape {
        Shape::Tube(tube) => sweep::build_tube(tube),
        Shape::Turned(body) => turned::build(body),
        Shape::Sweep(body) => sweep::build(body),
        Shape::Plate(body) => plate::build(body),
        Shape::Rod(body) => rod::build(body),
        Shape::Post(body) => post::build(body),
    }
}

//! B-rep solids of the parts, by direct construction: no booleans. Topology is truck's.

pub mod brep;
mod build;
mod construct;
mod delaunay;
mod error;
mod lattice;
pub mod loops;
pub mod mesh;
mod plate;
mod post;
pub mod properties;
mod rim;
mod rod;
mod stretch;
mod sweep;
mod swept;
mod turned;

pub use build::build;
pub use error::SolidError;

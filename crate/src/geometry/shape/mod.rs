//! The kinds of body a neck's parts are made of. Each is defined by dimensions alone and can
//! say how far a point is from its surface; the B-rep of each is built from the same numbers.

mod plate;
mod post;
mod rod;
mod sweep;
mod tube;
mod turned;

use glam::DVec3;

pub use plate::{EdgeHole, HoleEnd, Plate, PlateHole};
pub use post::Post;
pub use rod::{Rod, RodPiece};
pub use sweep::{Azimuth, Link, Radius, Rate, SectionPoint, Sweep};
pub use tube::{Tube, TubeHole};
pub use turned::Turned;

/// The body of one part, placed in the frame of the neck.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    Tube(Tube),
    Turned(Turned),
    Sweep(Sweep),
    Plate(Plate),
    Rod(Rod),
    Post(Post),
}

impl Shape {
    /// Whether a turn about the line through `point` along the unit `axis` leaves the body as it
    /// is, to 1e-9 mm: nothing else is judged than a turned body's own axis.
    #[must_use]
    pub fn is_round_about(&self, point: DVec3, axis: DVec3) -> bool {
        let Self::Turned(turned) = self else { return false };
        let off = (turned.axis.origin - point).cross(axis).length();
        off < 1e-9 && turned.axis.z.cross(axis).length() < 1e-12
    }
}

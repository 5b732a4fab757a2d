//! A formed surface as the flattening sees it: how long small steps on it are.

use crate::geometry::neck::Neck;

/// A surface with two families of lines that cross at right angles. Millimetres.
pub trait Formed {
    /// Lengths on the surface for a step of one in the first and in the second parameter.
    fn lengths(&self, first: f64, second: f64) -> [f64; 2];
}

/// The middle of the wall of one half shell: stations along, and round it the angle up from its side line,
/// −π/2 (the seam at azimuth 180 degrees) to π/2 (the seam at the top).
///
/// Both halves are alike: the neck's centreline lies in the plane of the seams.
#[derive(Clone, Copy, Debug)]
pub struct MidWall<'a> {
    pub neck: &'a Neck,
}

impl MidWall<'_> {
    /// Radius of the middle of the wall, mm, and its slope along the centreline.
    #[must_use]
    pub fn radius_slope(&self, station: f64) -> (f64, f64) {
        let (bore, slope) = self.neck.bore.radius_slope(station);
        (bore + self.neck.wall / 2.0, slope)
    }
}

impl Formed for MidWall<'_> {
    /// A section stands normal to the centreline, so a step along turns about the centre of the bend:
    /// it is longer outside, by the curvature times the height over the centreline, and goes up with the
    /// taper. The lines cross at right angles because the section is a circle about the centreline.
    fn lengths(&self, station: f64, up: f64) -> [f64; 2] {
        let (radius, slope) = self.radius_slope(station);
        let along = 1.0 + self.neck.at(station).curvature * radius * libm::sin(up);
        [libm::hypot(along, slope), radius]
    }
}

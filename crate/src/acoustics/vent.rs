//! A hole in the side of the tube: the octave vent, or a tone hole of the horn.
//!
//! A branch of inertia at its inner end, a lossy tube, and an open or shut outer end, between two small inertias in line
//! that the main flow gains or loses in passing (negative). Lengths after C. J. Nederveen, J. K. M. Jansen & R. R. van
//! Hassel, Acustica 84 (1998) 957; V. Dubos and others, Acustica 85 (1999) 153; J.-P. Dalmont and others, Acta Acustica
//! united with Acustica 88 (2002) 567; A. Lefebvre & G. P. Scavone, J. Acoust. Soc. Am. 131 (2012) 3153; the inner length and
//! the matching length are from memory.

use num_complex::Complex64 as Complex;

use super::losses::Medium;
use super::radiation::open_end;
use super::segment::{Segment, State, Wave};

/// What stands at the outer end of a hole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Cover {
    /// Shut by its pad.
    Shut,
    /// Open, under a pad of this radius at this height; metres.
    UnderPad { radius: f64, height: f64 },
}

/// A hole in the side of the tube. Metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SideHole {
    /// Radius of the hole.
    pub radius: f64,
    /// Length of its tube, wall included.
    pub length: f64,
    /// Radius of the main bore at its place.
    pub bore: f64,
    pub cover: Cover,
}

impl SideHole {
    /// Length the air gains at the inner end, with the odd shape where the hole meets the bore, m.
    #[must_use]
    pub fn inner_length(&self) -> f64 {
        let (b, share) = (self.radius, self.radius / self.bore);
        let matching = b * share / 8.0 * (1.0 + 0.207 * share * share * share);
        matching + b * (0.82 - 1.4 * share * share + 0.75 * libm::pow(share, 2.7))
    }

    /// What the main flow gains in length in passing the hole, m; negative.
    ///
    /// P. Dickens, thesis, University of New South Wales (2007), equation 4.12, without a finger; for the open hole with the
    /// hyperbolic tangent for the cotangent, from memory.
    #[must_use]
    pub fn passing_length(&self) -> f64 {
        let (b, share) = (self.radius, self.radius / self.bore);
        let tanh = libm::tanh(1.84 * self.length / b);
        let height = if self.cover == Cover::Shut { 1.0 / tanh } else { tanh };
        -b * share * share / (1.78 * height + 0.940 + 0.540 * share + 0.285 * share * share)
    }

    /// Impedance of the branch, Pa·s/m³; nothing for a shut hole without length.
    #[must_use]
    pub fn branch(&self, medium: &Medium, wave: &Wave) -> Complex {
        let area = std::f64::consts::PI * self.radius * self.radius;
        let tube = Segment {
            length: self.length,
            inlet: self.radius,
            outlet: self.radius,
            inverse_radius: 1.0 / self.radius,
            bend: 1.0,
        };
        let outer = match self.cover {
            Cover::Shut => State::shut(),
            Cover::UnderPad { radius, height } => {
                // Benade & Murday (1967), as in the same thesis, equation 2.31: a length by the pad's size and height.
                let added = 0.61
                    * self.radius
                    * libm::pow(radius / self.radius, 0.18)
                    * libm::pow(self.radius / height, 0.39);
                let end = open_end(&medium.air, self.radius, wave.omega);
                State::load(end).before_series(Complex::new(0.0, wave.inertia * added / area))
            }
        };
        let tube = tube.matrix_with(wave, medium).apply(&outer).impedance();
        tube + Complex::new(0.0, wave.inertia * self.inner_length() / area)
    }

    /// The state in the bore before the hole, from that behind it.
    #[must_use]
    pub fn before(&self, medium: &Medium, wave: &Wave, behind: &State) -> State {
        let area = std::f64::consts::PI * self.bore * self.bore;
        let half = Complex::new(0.0, wave.inertia * self.passing_length() / area / 2.0);
        behind
            .before_series(half)
            .before_branch(self.branch(medium, wave).inv())
            .before_series(half)
    }
}

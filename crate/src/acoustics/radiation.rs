//! The open end: what the air outside is to the tube.

use num_complex::Complex64 as Complex;

use super::air::Air;

/// What surrounds the end of a tube.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rim {
    /// A thin wall with free air round it.
    Thin,
    /// A wide plane wall.
    Flange,
}

impl Rim {
    /// End correction at low frequency, in radii: 0.6133 (H. Levine & J. Schwinger, Phys. Rev. 73 (1948) 383) and 0.8216
    /// (Y. Nomura, I. Yamamura & S. Inawashiro, 1960), both as in J.-P. Dalmont, C. J. Nederveen & N. Joly, J. Sound Vib. 244
    /// (2001) 505-534.
    #[must_use]
    pub fn end_correction(self) -> f64 {
        match self {
            Self::Thin => 0.6133,
            Self::Flange => 0.8216,
        }
    }
}

/// Size of the reflection and end correction in radii, at the wave number times the radius.
///
/// Fits of Dalmont, Nederveen & Joly (2001), from memory; for the thin rim within 0.005 of Levine & Schwinger's integral in
/// the reflection up to ka = 2, and within 0.002 in the correction up to 1.5 (0.015 at 2); with a flange usable up to about ka = 1.5. Above ka = 3.5 the fits have no meaning, and the size is held at no
/// less than nothing.
#[must_use]
pub fn reflection(rim: Rim, ka: f64) -> (f64, f64) {
    let square = ka * ka;
    match rim {
        Rim::Thin => (
            ((1.0 + 0.2 * ka - 0.084 * square) / (1.0 + 0.2 * ka + 0.416 * square)).max(0.0),
            rim.end_correction()
                * ((1.0 + 0.044 * square) / (1.0 + 0.19 * square)
                    - 0.02 * libm::sin(2.0 * ka) * libm::sin(2.0 * ka)),
        ),
        Rim::Flange => (
            ((1.0 + 0.323 * ka - 0.077 * square) / (1.0 + 0.323 * ka + (1.0 - 0.077) * square))
                .max(0.0),
            rim.end_correction() / (1.0 + (0.77 * ka) * (0.77 * ka) / (1.0 + 0.77 * ka)),
        ),
    }
}

/// Impedance of an open end of this radius (m), Pa·s/m³: Z₀ (1 + R)/(1 − R) with R = −|R| e^{−2jkδ}.
#[must_use]
pub fn open_end(air: &Air, rim: Rim, radius: f64, omega: f64) -> Complex {
    let ka = air.wave_number(omega) * radius;
    let (size, correction) = reflection(rim, ka);
    let (sin, cos) = libm::sincos(-2.0 * ka * correction);
    let back = Complex::new(-size * cos, -size * sin);
    let one = Complex::new(1.0, 0.0);
    (one + back) / (one - back) * air.impedance(radius)
}

//! The open end: what the air outside is to the tube.

use num_complex::Complex64 as Complex;

use super::air::Air;

/// End correction of a thin-walled end at low frequency, in radii: H. Levine & J. Schwinger, Phys. Rev. 73 (1948) 383.
const END_CORRECTION: f64 = 0.6133;

/// Size of the reflection and end correction in radii, at the wave number times the radius, of an end with a thin wall and free
/// air round it.
///
/// Fits of J.-P. Dalmont, C. J. Nederveen & N. Joly, J. Sound Vib. 244 (2001) 505-534, from memory; within 0.005 of Levine &
/// Schwinger's integral in the reflection up to ka = 2, and within 0.002 in the correction up to 1.5 (0.015 at 2). Above
/// ka = 3.5 they have no meaning, and the size is held at no less than nothing.
#[must_use]
pub fn reflection(ka: f64) -> (f64, f64) {
    let square = ka * ka;
    let sin = libm::sin(2.0 * ka);
    (
        ((1.0 + 0.2 * ka - 0.084 * square) / (1.0 + 0.2 * ka + 0.416 * square)).max(0.0),
        END_CORRECTION * ((1.0 + 0.044 * square) / (1.0 + 0.19 * square) - 0.02 * sin * sin),
    )
}

/// Impedance of an open end of this radius (m), Pa·s/m³: Z₀ (1 + R)/(1 − R) with R = −|R| e^{−2jkδ}.
#[must_use]
pub fn open_end(air: &Air, radius: f64, omega: f64) -> Complex {
    let ka = air.wave_number(omega) * radius;
    let (size, correction) = reflection(ka);
    let (sin, cos) = libm::sincos(-2.0 * ka * correction);
    let back = Complex::new(-size * cos, -size * sin);
    let one = Complex::new(1.0, 0.0);
    (one + back) / (one - back) * air.impedance(radius)
}

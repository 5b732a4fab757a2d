//! Millimetres and radians inside; every other unit is turned into them here and nowhere else.

/// Millimetres in one inch, exact by definition (international yard and pound agreement, 1959).
pub const MM_PER_INCH: f64 = 25.4;

/// Inches to millimetres.
///
/// ```
/// assert_eq!(neckwright::units::mm_from_inch(0.5), 12.7);
/// ```
#[must_use]
pub fn mm_from_inch(inch: f64) -> f64 {
    inch * MM_PER_INCH
}

/// Degrees to radians.
#[must_use]
pub fn rad_from_deg(deg: f64) -> f64 {
    deg * (std::f64::consts::PI / 180.0)
}

/// Radians to degrees.
#[must_use]
pub fn deg_from_rad(rad: f64) -> f64 {
    rad * (180.0 / std::f64::consts::PI)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::{FRAC_PI_2, PI};

    /// Source: 1 in = 25.4 mm exactly; 2-56 major diameter 0.0860 in = 2.184 mm (ASME B1.1, three decimals).
    #[test]
    fn inches_are_exactly_25_4_mm() {
        assert_eq!(mm_from_inch(1.0), 25.4);
        assert!((mm_from_inch(0.0860) - 2.184).abs() < 5e-4);
    }

    #[test]
    fn a_half_turn_is_pi() {
        assert_eq!(rad_from_deg(180.0), PI);
        assert_eq!(rad_from_deg(90.0), FRAC_PI_2);
        assert_eq!(deg_from_rad(PI), 180.0);
    }
}

//! Where the neutral line lies in bent sheet, and so how long a blank must be.

use super::{Source, Status};

/// Where the share comes from.
pub const SOURCE: Source = Source {
    title: "DIN 6935: k = 0.65 + 0.5 lg(r / s), 1 from r / s = 5; the neutral line lies k s / 2 from the inside",
    status: Status::Memory,
};

/// Distance of the neutral line from the inside of a bend, as a share of the thickness (the K factor), by the inside
/// radius over the thickness. Never more than half: there lies the middle of the sheet, to which it moves as the bend
/// gets wide. Sharper bends than the standard's table, under a third of the thickness, keep that share.
#[must_use]
pub fn neutral_share(radius_over_thickness: f64) -> f64 {
    let ratio = radius_over_thickness.max(1.0 / 3.0);
    ((0.65 + 0.5 * libm::log10(ratio)) / 2.0).min(0.5)
}

#[cfg(test)]
mod tests {
    use std::f64::consts::FRAC_PI_2;

    use super::*;

    /// Truth: DIN 6935 worked for two legs of 50 mm outside, r = s = 3 mm, 90 degrees: 94.24 mm in all.
    #[test]
    fn a_right_angle_of_equal_radius_and_thickness() {
        let (radius, thickness) = (3.0, 3.0);
        let bend = FRAC_PI_2 * (radius + neutral_share(radius / thickness) * thickness);
        let flat = 2.0 * (50.0 - radius - thickness) + bend;
        assert!((flat - 94.24).abs() < 0.005, "{flat}");
    }

    /// Machinery's Handbook gives shares of 0.350 to 0.452 for right angles in copper alloys, soft to spring hard (from
    /// memory); at r / s = 2.5, a usual bend, the formula lies between them.
    #[test]
    fn the_share_lies_among_the_handbook_s_and_ends_in_the_middle() {
        assert!((0.350..=0.452).contains(&neutral_share(2.5)));
        assert_eq!(neutral_share(5.02), 0.5);
        assert_eq!(neutral_share(1000.0), 0.5);
        assert!(neutral_share(0.0) > 0.2);
    }
}

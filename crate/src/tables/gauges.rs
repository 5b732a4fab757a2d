//! Sheet gauge of copper alloys: ASTM B258, the same numbers as the American wire gauge (AWG).

use super::{Source, Status};
use crate::units::mm_from_inch;

/// Thickest gauge number a job may name (1.29 mm).
pub const THICKEST_GAUGE: u8 = 16;
/// Thinnest gauge number a job may name (0.40 mm).
pub const THINNEST_GAUGE: u8 = 26;

/// Where the thicknesses come from, to be shown beside them: ASTM B258 as quoted by a page that prints the formula and
/// its inch table.
pub const SOURCE: Source =
    Source { title: "ASTM B258 (AWG): t = 0.005 in * 92^((36 - n) / 39)", status: Status::Read };

/// Thickness in millimetres of sheet of gauge number `n`: `0.005 in * 92^((36 - n) / 39)`.
///
/// Exact to the formula for every `n`; a mill's sheet differs from it by the mill's own tolerance.
#[must_use]
pub fn thickness_mm(n: u8) -> f64 {
    mm_from_inch(0.005) * libm::pow(92.0, (36.0 - f64::from(n)) / 39.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::MM_PER_INCH;

    /// (gauge, inches by the formula, millimetres, inches in a printed table that cuts off after the fourth digit).
    /// First two: computed from the formula by another program. Last: "Comparison of gauges in decimal points of
    /// an inch", AWG column, read.
    const PRINTED: [(u8, f64, f64, f64); 11] = [
        (16, 0.05082, 1.2908, 0.0508),
        (17, 0.04526, 1.1495, 0.0452),
        (18, 0.04030, 1.0237, 0.0403),
        (19, 0.03589, 0.9116, 0.0358),
        (20, 0.03196, 0.8118, 0.0319),
        (21, 0.02846, 0.7229, 0.0284),
        (22, 0.02535, 0.6438, 0.0253),
        (23, 0.02257, 0.5733, 0.0225),
        (24, 0.02010, 0.5106, 0.0201),
        (25, 0.01790, 0.4547, 0.0179),
        (26, 0.01594, 0.4049, 0.0159),
    ];

    #[test]
    fn agrees_with_both_columns_and_the_printed_table() {
        for (n, inch, mm, printed) in PRINTED {
            let t = thickness_mm(n);
            assert!((t - mm).abs() <= 5.1e-5, "gauge {n}: {t} mm against {mm}");
            assert!(
                (t / MM_PER_INCH - inch).abs() <= 5.1e-6,
                "gauge {n}: {} in against {inch}",
                t / MM_PER_INCH
            );
            assert_eq!(
                (t / MM_PER_INCH * 1e4).floor() / 1e4,
                printed,
                "gauge {n} cut off after four digits"
            );
        }
    }

    /// Each number rolled takes off 10.95 %, six take off about half (ASTM B601 counts temper by them): read.
    #[test]
    fn six_numbers_halve_the_sheet() {
        assert!((1.0 - thickness_mm(17) / thickness_mm(16) - 0.1095).abs() < 5e-5);
        assert!((1.0 - thickness_mm(22) / thickness_mm(16) - 0.5013).abs() < 5e-5);
    }

    #[test]
    fn the_limits_are_the_ends_of_the_table() {
        assert_eq!((PRINTED[0].0, PRINTED[10].0), (THICKEST_GAUGE, THINNEST_GAUGE));
    }
}

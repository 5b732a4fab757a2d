//! The cone a neck belongs to, and what the mouthpiece must hold in place of its missing tip.
//!
//! A. H. Benade, *Fundamentals of Musical Acoustics* (1976), as G. P. Scavone reports it (Int. Comp. Music Conf. 2002): the
//! volume of the mouthpiece on its cork, with what the reed gives, stands for the volume of the tip, as long as the wave is
//! far longer than the tip.

use std::f64::consts::PI;

use serde::Serialize;

use crate::geometry::neck::Neck;

/// The tip that is missing from a neck's cone.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct MissingCone {
    /// Diameter at the cork end.
    pub entry_diameter_mm: f64,
    /// Mean half-angle from the cork end to the tenon's free end.
    pub half_angle_deg: f64,
    /// From the apex to the cork end.
    pub length_mm: f64,
    /// What the mouthpiece must hold beyond the end of the neck, reed and all, for the octaves to come true.
    pub volume_mm3: f64,
}

impl MissingCone {
    /// The tip missing from a neck; none where the bore does not widen.
    #[must_use]
    pub fn of(neck: &Neck) -> Option<Self> {
        let length = neck.centreline.length();
        let (entry, end) = (neck.bore.radius(0.0), neck.bore.radius(length));
        Self::from_cone(entry, (end - entry) / length)
    }

    /// The tip missing from a cone of this entry radius (mm) and slope; none where it does not widen.
    #[must_use]
    pub fn from_cone(entry_mm: f64, slope: f64) -> Option<Self> {
        // Flatter than this the apex lies metres away, and no mouthpiece stands for it.
        (slope > 1e-3 && entry_mm > 0.0).then(|| {
            let length_mm = entry_mm / slope;
            Self {
                entry_diameter_mm: 2.0 * entry_mm,
                half_angle_deg: crate::units::deg_from_rad(libm::atan(slope)),
                length_mm,
                volume_mm3: PI * entry_mm * entry_mm * length_mm / 3.0,
            }
        })
    }
}

/// Volume a mouthpiece gains for each millimetre it is pulled off the cork, mm³: that of its shank.
#[must_use]
pub fn volume_per_pull(shank_bore_mm: f64) -> f64 {
    PI * shank_bore_mm * shank_bore_mm / 4.0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// x₀ = r₁/tan α, V = π r₁² x₀/3, worked out by hand for usual altos and a tenor.
    #[test]
    fn the_tip_is_the_cone_that_is_not_there() {
        let rows = [
            (12.0, 1.50, 229.1, 8.64),
            (12.4, 1.60, 222.0, 8.93),
            (12.8, 1.75, 209.5, 8.98),
            (12.8, 1.52, 241.2, 10.35),
        ];
        for (entry, angle, length, volume) in rows {
            let slope = libm::tan(crate::units::rad_from_deg(angle));
            let cone = MissingCone::from_cone(entry / 2.0, slope).unwrap();
            assert!((cone.length_mm - length).abs() < 0.06);
            assert!((cone.volume_mm3 * 1e-3 - volume).abs() < 0.006);
            assert!((cone.half_angle_deg - angle).abs() < 1e-9);
        }
        assert!(MissingCone::from_cone(6.0, 0.0).is_none());
    }
}

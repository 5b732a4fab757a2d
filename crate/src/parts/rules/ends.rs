//! Rules of the tube's two ends: tenon and socket; end ring, cork and mouthpiece.

use crate::parts::{cork, end_ring};

use super::TUBE;
use super::book::Book;

/// Least flat left at the end of the tenon inside its chamfer, mm (common practice, no source).
const LEAST_FLAT: f64 = 0.05;

/// Least thickness of cork that can be glued and sanded, mm (common practice, no source).
const LEAST_CORK: f64 = 0.3;
/// Least wall left to the end ring over the tube, mm (common practice, no source).
const LEAST_RING: f64 = 0.1;

impl Book<'_> {
    pub(super) fn tenon(&mut self) {
        if !self.sound(TUBE) {
            return;
        }
        let given = &self.job.tenon;
        let (gap, wall) = (self.places.gap, self.places.neck.wall);
        let bottom = self.places.tube_end + gap;
        let own_bore = self.bore_between(bottom, self.places.length).0;
        let sizes = [
            "tenon.length_mm",
            "tenon.collar_length_mm",
            "tenon.socket_depth_mm",
            "limits.joint_gap_mm",
        ];
        let walls = [&sizes[..], &["tenon.least_wall_mm", "tenon.chamfer_mm"]].concat();
        self.at_least(
            "tenon.outer_diameter_mm",
            2.0 * (own_bore + given.least_wall_mm.max(given.chamfer_mm + LEAST_FLAT)),
            &walls,
            "The bore is so wide at its end that the tenon has no wall left: a smaller taper or entry, a shorter neck, or a larger tenon.",
        );
        let socket = self.bore_between(self.places.collar, bottom).0 + wall + gap;
        self.at_least(
            "tenon.collar_diameter_mm",
            2.0 * (socket + given.least_wall_mm + 0.1),
            &walls,
            "The socket for the tube leaves no wall in the collar.",
        );
        self.at_least(
            "tenon.collar_diameter_mm",
            given.outer_diameter_mm + 0.6,
            &["tenon.outer_diameter_mm"],
            "The collar must stand out from the sleeve to sit on the receiver.",
        );
        self.at_most(
            "tenon.socket_depth_mm",
            given.collar_length_mm - gap - 0.2,
            &["tenon.collar_length_mm", "limits.joint_gap_mm"],
            "The socket must end inside the collar, or it weakens the sleeve.",
        );
    }

    pub(super) fn cork_end(&mut self) {
        let job = self.job;
        let (gap, wall) = (self.places.gap, self.places.neck.wall);
        let ring = job.end_ring;
        self.at_least(
            "end_ring.length_mm",
            end_ring::least_length(job),
            &["end_ring.bead_radius_mm"],
            "The ring is too short to be rounded so much.",
        );
        if self.sound(TUBE) {
            let under = self.bore_between(0.0, ring.length_mm).0 + wall + gap;
            let ring_fields = ["end_ring.length_mm", "limits.joint_gap_mm"];
            self.at_least(
                "end_ring.bead_diameter_mm",
                2.0 * (under + LEAST_RING),
                &ring_fields,
                "The bead would lie under the tube: it must stand out from the tube's outside.",
            );
            let rounding = end_ring::rounding(job, self.places);
            if (0.0..ring.bead_radius_mm).contains(&rounding)
                && self.sound(&["end_ring.bead_radius_mm", "end_ring.bead_diameter_mm"])
            {
                self.warn(
                    "end_ring.bead_radius_mm",
                    format!("at most {:.2} mm", (rounding * 100.0).floor() / 100.0),
                    "The bead stands out from the tube by less than this: it is rounded as far as there is metal.",
                );
            }
            let under = self.bore_between(0.0, job.cork.to_station_mm).0 + wall + gap;
            self.at_least(
                "mouthpiece.shank_bore_mm",
                2.0 * (under + LEAST_CORK),
                &["cork.to_station_mm", "limits.joint_gap_mm"],
                "The tube grows so wide under the cork that no cork is left: a shorter cork, a smaller entry, or a wider shank.",
            );
            self.at_most(
                "cork.to_station_mm",
                self.places.collar - 1.0,
                &["tenon.length_mm", "tenon.collar_length_mm"],
                "The cork would run under the collar.",
            );
        }
        self.at_least(
            "cork.to_station_mm",
            cork::from_station(job) + 3.0,
            &["end_ring.length_mm", "limits"],
            "No cork is left behind the end ring.",
        );
        self.at_most(
            "mouthpiece.deepest_push_mm",
            job.cork.to_station_mm,
            &["cork.to_station_mm"],
            "The mouthpiece would be pushed past the end of the cork.",
        );
        self.at_least(
            "mouthpiece.shank_diameter_mm",
            job.mouthpiece.shank_bore_mm + 1.0,
            &["mouthpiece.shank_bore_mm"],
            "The shank has no wall.",
        );
    }
}

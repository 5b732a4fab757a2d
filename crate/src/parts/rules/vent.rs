//! Rules of the vent and the pad on it.

use crate::job::Job;

use super::TUBE;
use super::book::Book;

/// Greatest that the hole for the vent may be, and farthest that the vent may reach in, as shares of the bore's radius there.
const WIDEST_HOLE: f64 = 0.6;
const DEEPEST_REACH: f64 = 0.8;

/// Least radius of the bore at the vent that leaves it its room, mm.
#[must_use]
pub fn least_bore_at_vent(job: &Job) -> f64 {
    let hole = job.vent.outer_diameter_mm / 2.0 + job.limits.joint_gap_mm;
    (hole / WIDEST_HOLE).max(job.vent.reach_inside_mm / DEEPEST_REACH)
}

impl Book<'_> {
    pub(super) fn vent_and_pad(&mut self) {
        let job = self.job;
        let vent = &job.vent;
        let half = vent.outer_diameter_mm / 2.0;
        self.at_least(
            "vent.outer_diameter_mm",
            vent.bore_mm + 2.0 * (vent.chamfer_mm + 0.3),
            &["vent.bore_mm", "vent.chamfer_mm"],
            "Bore and chamfer leave no seat for the pad: a ring of 0.3 mm at least.",
        );
        self.at_least(
            "vent.stand_mm",
            vent.chamfer_mm + 0.2,
            &["vent.chamfer_mm"],
            "The chamfer would run down into the tube.",
        );
        let clear = job.limits.least_clearance_mm;
        self.at_least(
            "vent.station_mm",
            job.cork.to_station_mm.max(job.mouthpiece.deepest_push_mm) + half + clear,
            &[
                "cork.to_station_mm",
                "mouthpiece.deepest_push_mm",
                "vent.outer_diameter_mm",
                "limits.least_clearance_mm",
            ],
            "The vent would stand in the cork or under the mouthpiece.",
        );
        if self.sound(TUBE) {
            let bore = self.places.neck.bore.radius(vent.station_mm);
            let tenon = ["tenon.length_mm", "tenon.collar_length_mm"];
            self.at_most(
                "vent.station_mm",
                self.places.collar - half - clear,
                &[&tenon[..], &["vent.outer_diameter_mm"]].concat(),
                "The vent would stand in the collar.",
            );
            self.at_most(
                "vent.outer_diameter_mm",
                2.0 * (WIDEST_HOLE * bore - self.places.gap),
                &["vent.station_mm"],
                "The hole for the vent would take away too much of the tube's top.",
            );
            self.at_most(
                "vent.reach_inside_mm",
                DEEPEST_REACH * bore,
                &["vent.station_mm"],
                "The vent would reach past the middle of the bore to the other side.",
            );
        }
        self.at_least(
            "pad.diameter_mm",
            vent.outer_diameter_mm + 0.5,
            &["vent.outer_diameter_mm"],
            "The pad must cover the vent's seat with a margin.",
        );
        self.at_most(
            "pad.stand_out_mm",
            job.pad.thickness_mm - 0.4,
            &["pad.thickness_mm"],
            "The cup must hold the pad by 0.4 mm at least.",
        );
    }
}

//! Rules of the hinge: saddle, posts, hinge tube and screw.

use crate::parts::key_arm::LEAST_LAND;
use crate::parts::posts;
use crate::units::deg_from_rad;

use super::TUBE;
use super::book::Book;

impl Book<'_> {
    pub(super) fn saddle_and_posts(&mut self) {
        let job = self.job;
        let saddle = &job.saddle;
        let half = saddle.length_mm / 2.0;
        let clear = job.limits.least_clearance_mm;
        self.at_least(
            "saddle.station_mm",
            job.vent.station_mm + job.vent.outer_diameter_mm / 2.0 + half + clear,
            &[
                "vent.station_mm",
                "vent.outer_diameter_mm",
                "saddle.length_mm",
                "limits.least_clearance_mm",
            ],
            "The saddle would lie over the vent: the hinge stands between vent and tenon.",
        );
        self.at_least(
            "saddle.length_mm",
            job.posts.diameter_mm,
            &["posts.diameter_mm"],
            "The posts would stand over the saddle's ends.",
        );
        let hole = posts::clear_hole(job).max(posts::tapped_hole(job));
        self.at_least(
            "posts.diameter_mm",
            2.0 * (hole + LEAST_LAND),
            &["hinge.screw_diameter_mm", "hinge.radial_clearance_mm", "hinge.thread"],
            "The hole for the hinge screw leaves no wall in the post.",
        );
        self.at_least(
            "posts.top_above_axis_mm",
            hole + LEAST_LAND + job.posts.chamfer_mm,
            &[
                "hinge.screw_diameter_mm",
                "hinge.radial_clearance_mm",
                "hinge.thread",
                "posts.chamfer_mm",
            ],
            "The hole for the hinge screw would break out of the post's top.",
        );
        self.at_most(
            "posts.chamfer_mm",
            job.posts.diameter_mm / 2.0 - 0.3,
            &["posts.diameter_mm"],
            "The chamfer leaves no flat on the post's top.",
        );
        let gap = self.places.gap;
        let seat = gap + saddle.thickness_mm;
        let around = hole.max(job.hinge.tube_outer_diameter_mm / 2.0) + gap + LEAST_LAND;
        self.at_least(
            "posts.axis_height_mm",
            (seat + gap + around).max(seat + job.key.gap_at_hinge_mm + around),
            &[
                "saddle.thickness_mm",
                "hinge.tube_outer_diameter_mm",
                "hinge.screw_diameter_mm",
                "hinge.radial_clearance_mm",
                "hinge.thread",
                "key.gap_at_hinge_mm",
                "limits.joint_gap_mm",
            ],
            "The hinge tube would lie in the saddle, or no metal of the arm would be left under it.",
        );
        if !self.sound(TUBE) {
            return;
        }
        self.at_most(
            "saddle.station_mm",
            self.places.collar - half - clear,
            &[
                "tenon.length_mm",
                "tenon.collar_length_mm",
                "saddle.length_mm",
                "limits.least_clearance_mm",
            ],
            "The saddle would run under the collar or off the tube.",
        );
        let station = saddle.station_mm;
        let top = self.bore_between(station - half, station + half).1
            + self.places.neck.wall
            + gap
            + saddle.thickness_mm;
        let reach = posts::spread(job) + job.posts.diameter_mm / 2.0;
        let spread = ["hinge.end_play_mm", "posts.diameter_mm", "saddle", "limits.joint_gap_mm"];
        if reach > 0.95 * top {
            let most = 2.0 * (0.95 * top - job.hinge.end_play_mm - job.posts.diameter_mm);
            self.at_most(
                "hinge.tube_length_mm",
                most,
                &spread,
                "The posts would stand beyond the side of the tube: a shorter hinge tube, or thinner posts.",
            );
        } else {
            self.at_least(
                "saddle.half_wrap_deg",
                deg_from_rad(libm::asin(reach / top)),
                &["hinge.tube_length_mm", "hinge.end_play_mm", "posts.diameter_mm", "saddle", "limits.joint_gap_mm"],
                "The posts would stand off the saddle's sides: a wider saddle, a shorter hinge tube, or thinner posts.",
            );
        }
        if self.fills_bend(station - half, station + half, gap + saddle.thickness_mm, -1.0) {
            self.refuse(
                "saddle.station_mm",
                "a station where the neck does not turn up so sharply".to_owned(),
                "The saddle would reach the middle of the bend and wrinkle into itself.",
            );
        }
    }

    pub(super) fn hinge(&mut self) {
        let job = self.job;
        let given = &job.hinge;
        self.at_least(
            "hinge.screw_diameter_mm",
            given.thread.major_diameter_mm(),
            &["hinge.thread"],
            "The threaded end must pass through the clear post and the hinge tube.",
        );
        self.at_least(
            "hinge.tube_outer_diameter_mm",
            given.screw_diameter_mm + 2.0 * (given.radial_clearance_mm + 0.25),
            &["hinge.screw_diameter_mm", "hinge.radial_clearance_mm"],
            "The hinge tube has no wall left round its screw.",
        );
        self.at_least(
            "hinge.head_diameter_mm",
            2.0 * posts::clear_hole(job) + 0.3,
            &["hinge.screw_diameter_mm", "hinge.radial_clearance_mm"],
            "The screw's head would pass through the post.",
        );
        self.at_least(
            "hinge.tube_length_mm",
            job.key.arm_thickness_mm + 0.5,
            &["key.arm_thickness_mm"],
            "The posts would stand nearer together than the arm is thick.",
        );
    }
}

//! Rules of what is soldered along the tube beside the key: brace, guide and badge.

use crate::job::parameters::BraceForm;
use crate::parts::{brace, guide};
use crate::units::{deg_from_rad, rad_from_deg};

use super::TUBE;
use super::book::Book;

impl Book<'_> {
    pub(super) fn brace(&mut self) {
        let job = self.job;
        let given = &job.brace;
        let (from, to) = (given.from_station_mm, given.to_station_mm);
        let ends = ["brace.from_station_mm", "brace.to_station_mm"];
        let (least, why) = match given.form {
            BraceForm::Contact => {
                (5.0, "The brace must end behind its beginning, and be long enough to handle.")
            }
            BraceForm::Bridge => (
                2.0 * (given.foot_length_mm + brace::rise(job)) + 1.0,
                "The brace is too short for two feet and a bridge between them: shorter feet, or a lower bridge.",
            ),
        };
        let sizes = [
            "brace.from_station_mm",
            "brace.foot_length_mm",
            "brace.bridge_height_mm",
            "brace.thickness_mm",
        ];
        self.at_least("brace.to_station_mm", from + least, &sizes, why);
        let rise = match given.form {
            BraceForm::Contact => self.places.gap,
            BraceForm::Bridge => given.bridge_height_mm,
        };
        if given.form == BraceForm::Bridge {
            self.at_least(
                "brace.bridge_height_mm",
                self.places.gap + 0.1,
                &["limits.joint_gap_mm"],
                "The bridge must stand off the tube by more than its feet do.",
            );
        }
        if !self.sound(TUBE) {
            return;
        }
        self.at_most(
            "brace.to_station_mm",
            self.places.collar - job.limits.least_clearance_mm,
            &["tenon.length_mm", "tenon.collar_length_mm", "limits.least_clearance_mm"],
            "The brace would run under the collar or off the tube.",
        );
        let narrowest = self.bore_between(from, to).1 + self.places.neck.wall;
        self.at_most(
            "brace.width_mm",
            2.0 * narrowest,
            &ends,
            "A brace so wide would wrap more than a third of the tube.",
        );
        if self.sound(&["brace"]) && self.fills_bend(from, to, rise + given.thickness_mm, 1.0) {
            self.refuse(
                if given.form == BraceForm::Bridge {
                    "brace.bridge_height_mm"
                } else {
                    "brace.thickness_mm"
                },
                "less, or a wider bend".to_owned(),
                "The brace would reach the middle of the bend and wrinkle into itself.",
            );
        }
    }

    pub(super) fn guide(&mut self) {
        let job = self.job;
        let given = &job.guide;
        let clear = job.limits.least_clearance_mm;
        let half = given.length_mm / 2.0;
        self.at_least(
            "guide.station_mm",
            job.saddle.station_mm + job.saddle.length_mm / 2.0 + half + clear,
            &[
                "saddle.station_mm",
                "saddle.length_mm",
                "guide.length_mm",
                "limits.least_clearance_mm",
            ],
            "The guide would stand on the saddle: it stands between saddle and collar.",
        );
        if !self.sound(TUBE) {
            return;
        }
        self.at_most(
            "guide.station_mm",
            self.places.collar - half - clear,
            &[
                "tenon.length_mm",
                "tenon.collar_length_mm",
                "guide.length_mm",
                "limits.least_clearance_mm",
            ],
            "The guide would run into the collar: it stands between saddle and collar.",
        );
        let (from, to) = guide::stations(job);
        let foot = self.bore_between(from, to).1
            + self.places.neck.wall
            + self.places.gap
            + given.strip_thickness_mm;
        let share = (guide::prong(job).1 + 0.3) / foot;
        let across = [
            "key.arm_thickness_mm",
            "guide.side_clearance_mm",
            "guide.strip_thickness_mm",
            "guide.station_mm",
        ];
        if share > libm::sin(rad_from_deg(60.0)) {
            self.at_most(
                "guide.side_clearance_mm",
                given.side_clearance_mm - (share - libm::sin(rad_from_deg(60.0))) * foot,
                &across,
                "The prongs would stand beyond the side of the tube: a thinner arm or strip, or less clearance.",
            );
        } else {
            self.at_least(
                "guide.half_wrap_deg",
                deg_from_rad(libm::asin(share)),
                &across,
                "The prongs would stand off the guide's foot.",
            );
        }
    }

    pub(super) fn badge(&mut self) {
        let job = self.job;
        let Some(given) = &job.badge else { return };
        if !self.sound(TUBE) {
            return;
        }
        let half = given.length_mm / 2.0;
        let (from, to) = (given.station_mm - half, given.station_mm + half);
        let clear = job.limits.least_clearance_mm;
        self.at_least(
            "badge.station_mm",
            job.end_ring.length_mm + clear + half,
            &["badge.length_mm", "end_ring.length_mm", "limits.least_clearance_mm"],
            "The badge would run over the end ring or off the tube.",
        );
        self.at_most(
            "badge.station_mm",
            self.places.collar - clear - half,
            &[
                "badge.length_mm",
                "tenon.length_mm",
                "tenon.collar_length_mm",
                "limits.least_clearance_mm",
            ],
            "The badge would run into the collar or off the tube.",
        );
        let narrowest = self.bore_between(from, to).1 + self.places.neck.wall + self.places.gap;
        self.at_most(
            "badge.width_mm",
            2.8 * narrowest,
            &["badge.station_mm", "badge.length_mm"],
            "The badge would wrap more than half the tube.",
        );
        if self.sound(&["badge"])
            && self.fills_bend(from, to, self.places.gap + given.thickness_mm, 0.0)
        {
            self.refuse(
                "badge.station_mm",
                "a place where the neck does not bend so sharply".to_owned(),
                "The badge would reach the middle of the bend and wrinkle into itself.",
            );
        }
    }
}

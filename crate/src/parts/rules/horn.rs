//! Rules of what was measured on the horn, and of the limits.

use crate::parts::keepouts;

use super::book::Book;

impl Book<'_> {
    pub(super) fn horn(&mut self) {
        let horn = &self.job.horn;
        self.at_least(
            "horn.receiver_diameter_mm",
            horn.receiver_bore_mm + 1.0,
            &["horn.receiver_bore_mm"],
            "The receiver has no wall: one of its diameters is measured or written wrong.",
        );
        self.at_least(
            "horn.clamp.offset_mm",
            horn.receiver_diameter_mm / 2.0 + horn.clamp.screw_diameter_mm / 2.0,
            &["horn.receiver_diameter_mm", "horn.clamp.screw_diameter_mm"],
            "The clamp's screw would run through the receiver: one of these is measured or written wrong.",
        );
        self.at_least(
            "horn.pin.height_mm",
            keepouts::pin_foot(self.job) + 1.0,
            &["horn.rim_gap_mm"],
            "The pin does not come up over the receiver's rim.",
        );
    }

    pub(super) fn limits(&mut self) {
        let limits = &self.job.limits;
        for (path, least, with, what) in [
            (
                "limits.joint_gap_max_mm",
                limits.joint_gap_min_mm,
                "limits.joint_gap_min_mm",
                "of a soldered joint",
            ),
            (
                "limits.running_max_mm",
                limits.running_min_mm,
                "limits.running_min_mm",
                "of a running fit",
            ),
            (
                "limits.fit_max_mm",
                limits.fit_min_mm,
                "limits.fit_min_mm",
                "between tenon and receiver",
            ),
        ] {
            self.at_least(
                path,
                least,
                &[with],
                &format!("The greatest gap {what} is less than the least."),
            );
        }
    }
}

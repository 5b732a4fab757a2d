//! Rules of the key: rod loop, spring, and the key as a whole.

use crate::parts::key::Key;
use crate::parts::key_arm::LEAST_LAND;
use crate::parts::places::in_plane;
use crate::parts::rod_loop::Bend;
use crate::parts::spring;
use crate::units::rad_from_deg;

use super::TUBE;
use super::book::Book;

/// Least straight run between two bends of the rod, mm (common practice, no source).
const LEAST_FLAT: f64 = 0.05;

/// What the key's shape rests on.
const KEY: &[&str] = &[
    "centreline",
    "bore",
    "tube",
    "tenon.length_mm",
    "vent.station_mm",
    "vent.stand_mm",
    "pad",
    "pad_cup",
    "saddle",
    "posts.axis_height_mm",
    "hinge.tube_outer_diameter_mm",
    "key",
    "rod_loop",
    "spring",
    "spring_screw",
    "guide",
    "limits",
];

impl Book<'_> {
    pub(super) fn rod_loop(&mut self) {
        let job = self.job;
        let given = &job.rod_loop;
        let bend = Bend::of(job, self.places);
        let tightest = 0.75 * given.rod_diameter_mm;
        for path in ["rod_loop.bend_radius_mm", "rod_loop.corner_radius_mm"] {
            self.at_least(
                path,
                tightest,
                &["rod_loop.rod_diameter_mm"],
                "Rod bent so tightly kinks, even annealed.",
            );
        }
        let across = [
            "rod_loop.rod_diameter_mm",
            "rod_loop.tilt_deg",
            "limits.joint_gap_mm",
            "key.arm_thickness_mm",
        ];
        self.at_least(
            "rod_loop.reach_player_mm",
            (bend.beside_arm + bend.leave + bend.corner + LEAST_FLAT) * libm::cos(rad_from_deg(given.tilt_deg))
                - given.rod_diameter_mm / 2.0,
            &[&across[..], &["rod_loop.bend_radius_mm", "rod_loop.corner_radius_mm"]].concat(),
            "The loop is too narrow for its bends: smaller bend or corner radius, or more reach on the player's side, which is also half its width.",
        );
        self.at_most(
            "rod_loop.corner_radius_mm",
            bend.bell - LEAST_FLAT,
            &["rod_loop.reach_bell_mm", "rod_loop.rod_diameter_mm", "rod_loop.tilt_deg"],
            "The corners are rounder than the loop is deep on the bell's side.",
        );
        self.at_least(
            "rod_loop.lap_mm",
            given.point_length_mm + 0.5,
            &["rod_loop.point_length_mm"],
            "The rod's points are longer than the ends laid along the arm.",
        );
    }

    pub(super) fn spring(&mut self) {
        let job = self.job;
        let (given, screw) = (&job.spring, &job.spring_screw);
        let hole = spring::thread_room(job);
        self.at_least(
            "spring.width_mm",
            2.0 * (hole + spring::LEAST_SIDE),
            &["spring_screw.thread"],
            "The hole for its screw leaves no metal at the spring's sides: a wider spring, or a smaller screw.",
        );
        self.at_least(
            "spring.seat_length_mm",
            screw.head_diameter_mm.max(2.0 * (hole + spring::LEAST_SIDE)),
            &["spring_screw.head_diameter_mm", "spring_screw.thread"],
            "The screw's head needs the flat of the spring to bear on.",
        );
        self.at_least(
            "spring.reach_mm",
            given.seat_length_mm / 2.0 + 3.0,
            &["spring.seat_length_mm"],
            "No free length is left for the spring to bend.",
        );
        self.at_least(
            "spring_screw.head_diameter_mm",
            2.0 * hole + 0.2,
            &["spring_screw.thread"],
            "The screw's head would pass through the spring.",
        );
        let thread = screw.thread.row();
        self.at_least(
            "spring_screw.depth_mm",
            spring::least_depth(job),
            &["spring_screw.thread"],
            "The screw needs two turns of thread, and the hole half a millimetre more.",
        );
        self.at_most(
            "spring_screw.depth_mm",
            job.key.arm_height_mm - LEAST_LAND,
            &["key.arm_height_mm"],
            "The hole for the spring's screw would break out of the arm's upper edge.",
        );
        self.at_least(
            "key.arm_thickness_mm",
            thread.tap_drill_mm + 2.0 * LEAST_LAND,
            &["spring_screw.thread"],
            "The hole for the spring's screw leaves no wall in the arm: a thicker arm, or a smaller screw.",
        );
        if self.sound(TUBE) {
            let most = self.places.collar - 1.0 - (spring::tip_station(job) - given.reach_mm);
            self.at_most(
                "spring.reach_mm",
                most,
                &[
                    "saddle.station_mm",
                    "spring.seat_from_hinge_mm",
                    "tenon.length_mm",
                    "tenon.collar_length_mm",
                ],
                "The spring's tip would bear on the collar or beyond the tube.",
            );
        }
    }

    /// Shapes the key, and looks at what it does to the pin.
    pub(super) fn key(&mut self) -> Option<Key> {
        if !self.sound(KEY) {
            return None;
        }
        let key = match Key::new(self.job, self.places) {
            Ok(key) => key,
            Err(broken) => {
                self.found.extend(broken);
                return None;
            }
        };
        let pin = &self.job.horn.pin;
        let pin_fields = [
            "horn.pin.circle_radius_mm",
            "horn.pin.diameter_mm",
            "horn.pin.rest_gap_mm",
            "horn.pin.travel_mm",
        ];
        if self.sound(&pin_fields) {
            let wanted = pin.circle_radius_mm + pin.diameter_mm / 2.0 + pin.rest_gap_mm;
            if (self.job.rod_loop.reach_player_mm - wanted).abs() > 0.1 {
                self.warn(
                    "rod_loop.reach_player_mm",
                    format!("{wanted:.2} mm: pin circle, half the pin, and the rest gap"),
                    "At rest the loop does not stand off the octave pin by the rest gap.",
                );
            }
            let at_pin = in_plane(key.bend.middle - key.bend.to_bell * key.bend.player);
            let moved = (at_pin - key.swing.opened(at_pin)).dot(in_plane(self.places.tenon_axis.x));
            let available = pin.travel_mm - pin.rest_gap_mm;
            if moved <= 0.0 {
                self.warn(
                    "rod_loop.above_seat_mm",
                    "where the loop moves outward as the key opens".to_string(),
                    "Where the pin meets it, the loop moves inward as the key opens: the pin would shut the key.",
                );
            } else if moved > available + 0.02 {
                let most = (self.job.key.lift_mm * available / moved).max(0.0);
                self.warn(
                    "key.lift_mm",
                    format!("at most about {:.1} mm", (most * 10.0).floor() / 10.0),
                    "The pin's travel does not open the key so far: move the hinge away from the vent, or be content with less lift.",
                );
            }
        }
        Some(key)
    }
}

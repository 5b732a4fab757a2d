//! How soldered parts can stand off their drawn places: what is placed as one, and which way it
//! can go.

use glam::DVec3;

use crate::geometry::motion::Motion;
use crate::job::Job;
use crate::job::parameters::Placing;
use crate::units::rad_from_deg;

use super::places::Places;

/// Parts that are placed as one, where they stand on the tube.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seating {
    /// What is placed: parts of one name keep their places to each other.
    pub name: &'static str,
    /// On the centreline.
    centre: DVec3,
    tangent: DVec3,
    /// Away from the centreline, towards the part.
    outward: DVec3,
    /// Of the centreline, positive bending down; by it a part slid along the tube is turned.
    curvature: f64,
    /// Of the tube's outside.
    radius: f64,
    /// A sleeve goes on the tube as far as it will: it can only stand off along the tube.
    sleeve: bool,
    /// Soldered on the key's arm, key closed: where it stands off, it does so on the arm, and swings with it. All else
    /// stands off where it is: with the saddle goes the hinge, and the whole swing about it.
    pub on_arm: bool,
}

/// How far a part stands off, mm: along the tube, round it on its outside, and in height.
pub type Offset = [f64; 3];

impl Seating {
    /// How far hands place it off to either side.
    #[must_use]
    pub fn reach(&self, placing: &Placing) -> Offset {
        let along = placing.along_mm;
        if self.sleeve { [along, 0.0, 0.0] } else { [along, placing.round_mm, placing.height_mm] }
    }

    /// The motion of a part that stands off its place: slid along the bent tube, turned round it,
    /// and lifted.
    #[must_use]
    pub fn motion(&self, [along, round, height]: Offset) -> Motion {
        // A part slid along a bend follows it: it is turned about the bend's centre.
        let slid = if self.curvature.abs() < 1e-9 {
            Motion::shift(self.tangent * along)
        } else {
            let up = self.tangent.cross(DVec3::Y);
            let middle = self.centre - up / self.curvature;
            Motion::about(middle, DVec3::Y, along * self.curvature)
        };
        let turned = Motion::about(self.centre, self.tangent, -round / self.radius);
        slid.after(&Motion::shift(self.outward * height)).after(&turned)
    }

    /// How fast a point goes along each of the three ways.
    #[must_use]
    pub fn ways(&self, point: DVec3) -> [DVec3; 3] {
        let arm = point - self.centre;
        [
            self.tangent + DVec3::Y.cross(arm) * self.curvature,
            self.tangent.cross(arm) * (-1.0 / self.radius),
            self.outward,
        ]
    }

    /// A point stands no farther off its place than this, mm, however the part stands off by no more than `reach`.
    ///
    /// Turned and lifted, a point goes no farther than its arc and the height. That brings it by as much farther from
    /// the middle of the bend, about which it is then slid.
    #[must_use]
    pub fn farthest_off(&self, point: DVec3, [along, round, height]: Offset) -> f64 {
        let [slid, turned, _] = self.ways(point);
        let first = round * turned.length() + height;
        first + along * (slid.length() + self.curvature.abs() * first)
    }
}

/// What a part is placed with, and where; none for the tube itself and what sits on it without
/// being placed.
pub(super) fn seating(id: &str, job: &Job, places: &Places) -> Option<Seating> {
    let at = |name, station: f64, azimuth: f64, sleeve| {
        let at = places.neck.at(station);
        let (sin, cos) = libm::sincos(azimuth);
        Some(Seating {
            name,
            centre: at.centre,
            tangent: at.tangent,
            outward: at.up * cos + DVec3::Y * sin,
            curvature: at.curvature,
            radius: places.neck.outside(station),
            sleeve,
            on_arm: false,
        })
    };
    let on_arm = |seating: Seating| Seating { on_arm: true, ..seating };
    match id {
        "end_ring" => at("end_ring", 0.0, 0.0, true),
        // The horn comes with the tenon.
        "tenon" | "receiver" | "clamp_screw" | "octave_pin" => {
            at("tenon", places.collar, 0.0, true)
        }
        "vent" => at("vent", job.vent.station_mm, 0.0, false),
        "brace" => {
            let middle = f64::midpoint(job.brace.from_station_mm, job.brace.to_station_mm);
            at("brace", middle, std::f64::consts::PI, false)
        }
        // Posts, hinge and key come with the saddle.
        "saddle" | "post_left" | "post_right" | "hinge_tube" | "hinge_screw" | "key_arm"
        | "spring" | "spring_screw" | "screwdriver_path" => {
            at("saddle", job.saddle.station_mm, 0.0, false)
        }
        "pad_cup" | "pad" => at("pad_cup", job.vent.station_mm, 0.0, false).map(on_arm),
        "rod_loop" => at("rod_loop", places.collar, 0.0, false).map(on_arm),
        "guide" => at("guide", job.guide.station_mm, 0.0, false),
        "badge" => job.badge.and_then(|badge| {
            at("badge", badge.station_mm, rad_from_deg(badge.azimuth_deg), false)
        }),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use std::f64::consts::FRAC_PI_2;

    use super::*;

    /// On a bend of 20 mm, its middle at the origin.
    const BENT: Seating = Seating {
        name: "a part",
        centre: DVec3::new(0.0, 0.0, 20.0),
        tangent: DVec3::X,
        outward: DVec3::Z,
        curvature: 1.0 / 20.0,
        radius: 8.0,
        sleeve: false,
        on_arm: false,
    };

    /// 10 mm over the centreline in the plane of the bend. Turned round by 90 degrees of 8 mm it has gone √2 · 10; on the
    /// bend it is slid by the share of the radii, 30 for 20, and lifted as it is.
    #[test]
    fn a_part_is_slid_about_the_middle_of_its_bend_and_turned_about_its_tube() {
        let point = DVec3::new(0.0, 0.0, 30.0);
        let off = |offset| BENT.motion(offset).point(point);
        assert!((off([0.0, 0.0, 2.0]) - DVec3::Z * 32.0).length() < 1e-12);
        let (sin, cos) = libm::sincos(0.1);
        assert!((off([2.0, 0.0, 0.0]) - DVec3::new(sin, 0.0, cos) * 30.0).length() < 1e-12);
        let turned = off([0.0, 8.0 * FRAC_PI_2, 0.0]) - BENT.centre;
        assert!((turned.length() - 10.0).abs() < 1e-12 && turned.z.abs() < 1e-12, "{turned}");
    }

    /// First lifted by 3 and then slid about a middle 33 off, a point goes farther than 3 and the way of a point 30 off: the
    /// chord of the slide alone is 2 · 33 sin(0.15 / 2).
    #[test]
    fn no_placing_takes_a_point_farther_than_is_told() {
        let reach = [3.0, 2.0, 3.0];
        for point in [DVec3::Z * 30.0, DVec3::new(6.0, -12.0, 28.0), DVec3::new(-30.0, 9.0, 2.0)] {
            let told = BENT.farthest_off(point, reach);
            let mut most: f64 = 0.0;
            for step in 0..125 {
                let share = |k: i32| f64::from(step / k % 5) / 2.0 - 1.0;
                let offset = [reach[0] * share(1), reach[1] * share(5), reach[2] * share(25)];
                most = most.max(BENT.motion(offset).point(point).distance(point));
            }
            assert!(most <= told && told < 2.0 * most, "{most} for {told} of {point}");
        }
        let alone = BENT.farthest_off(DVec3::Z * 30.0, [3.0, 0.0, 3.0]);
        assert!((alone - (3.0 + 33.0 * 0.15)).abs() < 1e-12, "{alone}");
    }
}

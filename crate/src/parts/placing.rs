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
        })
    };
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
        "pad_cup" | "pad" => at("pad_cup", job.vent.station_mm, 0.0, false),
        "rod_loop" => at("rod_loop", places.collar, 0.0, false),
        "guide" => at("guide", job.guide.station_mm, 0.0, false),
        "badge" => job.badge.and_then(|badge| {
            at("badge", badge.station_mm, rad_from_deg(badge.azimuth_deg), false)
        }),
        _ => None,
    }
}

//! The rod loop: round rod bent round the tenon end, its two ends laid along the arm.

use glam::{DVec2, DVec3};

use crate::geometry::motion::turned;
use crate::geometry::shape::{Rod, RodPiece, Shape};
use crate::job::Job;
use crate::units::rad_from_deg;

use super::part::Part;
use super::places::{Places, in_plane};
use super::smooth::Stand;

/// Radius of the blunt end of each point, as a share of the rod's radius: a sharper point burns off under the torch
/// (common practice, no source).
const BLUNT: f64 = 0.25;

/// The plane of the loop and the measures it is bent to. Millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bend {
    /// Where the tenon's axis passes the plane of the loop.
    pub middle: DVec3,
    /// Unit direction in the plane of the loop from the middle to the bell.
    pub to_bell: DVec3,
    /// Unit direction square to the plane of the loop, towards the tenon.
    pub down: DVec3,
    /// Distance from the middle to the middle of the rod where it lies along the arm, on the bell's side.
    pub bell: f64,
    /// Distance from the middle to the middle of the rod on the player's side, and half the loop's width.
    pub player: f64,
    /// Distance of the middle of each rod end from the plane of the bend.
    pub beside_arm: f64,
    /// Radius the rod is bent with where it leaves the arm.
    pub leave: f64,
    /// Radius of the loop's corners.
    pub corner: f64,
    /// Length laid along the arm.
    pub lap: f64,
}

impl Bend {
    /// Measures from the job; whether rod can be bent to them is for the rules to say.
    ///
    /// Reaches are measured square to the tenon's axis, so that a tilted loop still clears the pin by its rest gap:
    /// in the plane of the loop they are longer by 1 / cos(tilt).
    pub fn of(job: &Job, places: &Places) -> Self {
        let given = &job.rod_loop;
        let axis = &places.tenon_axis;
        let radius = given.rod_diameter_mm / 2.0;
        let (sin, cos) = libm::sincos(rad_from_deg(given.tilt_deg));
        Self {
            middle: axis.origin - axis.z * given.above_seat_mm,
            to_bell: axis.x * cos - axis.z * sin,
            down: axis.z * cos + axis.x * sin,
            bell: (given.reach_bell_mm + radius) / cos,
            player: (given.reach_player_mm + radius) / cos,
            beside_arm: job.key.arm_thickness_mm / 2.0 + places.gap + radius,
            leave: given.bend_radius_mm,
            corner: given.corner_radius_mm,
            lap: given.lap_mm,
        }
    }

    /// Middle line of the arm where the rod is laid along it, from its start to where the rod leaves it: two places in
    /// the plane of the bend.
    pub fn lap_line(&self) -> [Stand; 2] {
        let along = in_plane(self.down);
        let place = |down: f64| -> DVec2 {
            in_plane(self.middle + self.to_bell * self.bell + self.down * down)
        };
        [-self.leave - self.lap, -self.leave].map(|down| Stand::new(place(down), along))
    }

    /// Point `down` towards the tenon from the plane of the loop, `left` of the plane of the bend, `bell` to the bell.
    fn place(&self, down: f64, left: f64, bell: f64) -> DVec3 {
        self.middle + self.down * down + DVec3::Y * left + self.to_bell * bell
    }

    /// Middle line of the rod from its left end round the player's side to its right end.
    fn path(&self) -> Vec<RodPiece> {
        let (left, bell, player) = (self.beside_arm, self.bell, self.player);
        // One half, from the left end to the player's side; `side` mirrors it.
        let half = |side: f64| {
            let at =
                |down: f64, across: f64, to_bell: f64| self.place(down, side * across, to_bell);
            let outward = DVec3::Y * side;
            let lap = (at(-self.leave - self.lap, left, bell), at(-self.leave, left, bell));
            let bar = (at(0.0, left + self.leave, bell), at(0.0, player - self.corner, bell));
            let flank = (at(0.0, player, bell - self.corner), at(0.0, player, 0.0));
            [
                RodPiece::Line { from: lap.0, to: lap.1 },
                arc(lap.1, at(-self.leave, left + self.leave, bell), self.down, bar.0),
                RodPiece::Line { from: bar.0, to: bar.1 },
                arc(bar.1, at(0.0, player - self.corner, bell - self.corner), outward, flank.0),
                RodPiece::Line { from: flank.0, to: flank.1 },
                arc(flank.1, self.middle, -self.to_bell, at(0.0, 0.0, -player)),
            ]
        };
        let back = half(-1.0).into_iter().rev().map(turned_round);
        half(1.0).into_iter().chain(back).collect()
    }
}

/// Quarter arc about `centre` that leaves `from` in the direction `along` and ends at `to`.
fn arc(from: DVec3, centre: DVec3, along: DVec3, to: DVec3) -> RodPiece {
    let spoke = from - centre;
    let axis = spoke.cross(along).normalize_or_zero();
    let end = to - centre;
    let sweep = libm::atan2(axis.dot(spoke.cross(end)), spoke.dot(end));
    RodPiece::Arc { from, centre, axis, sweep }
}

/// The same piece run from its end to its start.
fn turned_round(piece: RodPiece) -> RodPiece {
    match piece {
        RodPiece::Line { from, to } => RodPiece::Line { from: to, to: from },
        RodPiece::Arc { from, centre, axis, sweep } => {
            let spoke = from - centre;
            let end = centre + turned(spoke, axis, sweep);
            RodPiece::Arc { from: end, centre, axis: -axis, sweep }
        }
    }
}

/// The rod loop.
pub fn part(job: &Job, bend: &Bend) -> Part {
    let given = &job.rod_loop;
    let radius = given.rod_diameter_mm / 2.0;
    let rod = Rod {
        path: bend.path(),
        radius,
        point_length: given.point_length_mm,
        tip_radius: radius * BLUNT,
    };
    Part::moving(
        "rod_loop",
        "rod loop",
        given.metal,
        "bent from annealed rod, ends turned to points",
        Shape::Rod(rod),
    )
}

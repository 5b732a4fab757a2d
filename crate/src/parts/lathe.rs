//! Profiles of turned parts.

use glam::DVec2;

use crate::geometry::frame::Frame;
use crate::geometry::outline::{Outline, Side};
use crate::geometry::shape::{Shape, Turned};

/// Sides shorter than this are left out: a chamfer of nothing is a sharp edge, mm.
const NOTHING: f64 = 1e-4;

/// A corner of a half-profile: distance along the axis, radius.
pub fn at(along: f64, radius: f64) -> DVec2 {
    DVec2::new(along, radius)
}

/// Straight sides from corner to corner, those without length left out.
pub fn sides(corners: &[DVec2]) -> Vec<Side> {
    let mut kept: Vec<DVec2> = Vec::with_capacity(corners.len());
    for &corner in corners {
        match kept.last() {
            Some(last) if last.distance(corner) < NOTHING => {}
            _ => kept.push(corner),
        }
    }
    kept.windows(2).map(|pair| Side::line(pair[0], pair[1])).collect()
}

/// Body turned about the frame's z axis to the closed profile through the corners, which run counter-clockwise with
/// the axis as first coordinate: along the inside, out, back along the outside, in.
pub fn turned(axis: Frame, corners: &[DVec2]) -> Shape {
    let closed: Vec<DVec2> = corners.iter().chain(corners.first()).copied().collect();
    with_sides(axis, sides(&closed))
}

/// Body turned about the frame's z axis to the profile of the given sides.
pub fn with_sides(axis: Frame, sides: Vec<Side>) -> Shape {
    Shape::Turned(Turned { axis, profile: Outline::new(sides) })
}

/// Profile of a plain cylinder between two places on the axis.
pub fn cylinder(axis: Frame, from: f64, to: f64, radius: f64) -> Shape {
    turned(axis, &[at(from, 0.0), at(to, 0.0), at(to, radius), at(from, radius)])
}

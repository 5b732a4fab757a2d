//! The two posts that hold the hinge.

use crate::geometry::shape::{Post, Shape};
use crate::job::Job;
use crate::job::parameters::Side;

use super::part::Part;
use super::places::Places;

/// Least chamfer round a post's top, mm: an edge is never left sharp (common practice, no source).
const LEAST_CHAMFER: f64 = 0.05;

/// Distance of each post's axis from the plane of the bend.
pub fn spread(job: &Job) -> f64 {
    job.hinge.tube_length_mm / 2.0 + job.hinge.end_play_mm + job.posts.diameter_mm / 2.0
}

/// Offset of the coped foot from the bore: wall and saddle, with a joint gap under and over the saddle.
pub fn foot_offset(job: &Job, places: &Places) -> f64 {
    places.neck.wall + 2.0 * places.gap + job.saddle.thickness_mm
}

/// Radius of the cross hole on the screw head's side: the screw runs free in it.
pub fn clear_hole(job: &Job) -> f64 {
    job.hinge.screw_diameter_mm / 2.0 + job.hinge.radial_clearance_mm
}

/// Radius of the cross hole on the other side, as drilled for the tap.
pub fn tapped_hole(job: &Job) -> f64 {
    job.hinge.thread.tap_drill_mm() / 2.0
}

/// The left post (towards +Y), then the right one.
pub fn parts(job: &Job, places: &Places) -> [Part; 2] {
    let given = &job.posts;
    let post = |side: Side| {
        let y = match side {
            Side::Left => spread(job),
            Side::Right => -spread(job),
        };
        let hinge = &places.hinge;
        let clear = side == given.screw_head_side;
        let shape = Shape::Post(Post {
            frame: hinge.at(hinge.origin + hinge.y * y),
            radius: given.diameter_mm / 2.0,
            top: given.top_above_axis_mm,
            chamfer: given.chamfer_mm.max(LEAST_CHAMFER),
            hole_radius: if clear { clear_hole(job) } else { tapped_hole(job) },
            neck: places.neck.clone(),
            foot_offset: foot_offset(job, places),
        });
        let made_by =
            if clear { "turned, coped, drilled clear" } else { "turned, coped, drilled, tapped" };
        (shape, made_by)
    };
    let ((left, left_made), (right, right_made)) = (post(Side::Left), post(Side::Right));
    [
        Part::fixed("post_left", "left post", given.metal, left_made, left),
        Part::fixed("post_right", "right post", given.metal, right_made, right),
    ]
}

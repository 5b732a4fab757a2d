//! The hinge: tube of the key between the posts, and the screw it turns on.

use crate::geometry::frame::Frame;
use crate::job::Job;
use crate::job::parameters::Side;

use super::lathe::{at, turned};
use super::part::Part;
use super::places::Places;
use super::posts::tapped_hole;

/// Half the difference by which the threaded end is modelled under the tap drill, mm: a choice of the drawing, so that
/// thread is not overlap.
const UNDER_DRILL: f64 = 0.05;
/// How far the screw ends inside the tapped post's outer side, mm (common practice, no source).
const INSIDE_POST: f64 = 0.3;

/// The hinge axis from the screw's head to its end; origin in the plane of the bend.
pub fn axis(job: &Job, places: &Places) -> Frame {
    let hinge = &places.hinge;
    let towards_end = match job.posts.screw_head_side {
        Side::Left => -hinge.y,
        Side::Right => hinge.y,
    };
    Frame::from_zx(hinge.origin, towards_end, hinge.z)
}

/// Distance of the outer end of the screw's head from the plane of the bend. The head stands off its post by the
/// hinge tube's end play.
pub fn head_end(job: &Job) -> f64 {
    bearing(job) + job.hinge.head_length_mm
}

/// Distance of the head's inner face from the plane of the bend.
fn bearing(job: &Job) -> f64 {
    job.hinge.tube_length_mm / 2.0 + 2.0 * job.hinge.end_play_mm + job.posts.diameter_mm
}

/// The hinge tube. It is round about the axis it turns on, so it counts as fixed.
pub fn tube(job: &Job, places: &Places) -> Part {
    let given = &job.hinge;
    let half = given.tube_length_mm / 2.0;
    let (inside, outside) = (
        given.screw_diameter_mm / 2.0 + given.radial_clearance_mm,
        given.tube_outer_diameter_mm / 2.0,
    );
    let body = turned(
        axis(job, places),
        &[at(-half, inside), at(half, inside), at(half, outside), at(-half, outside)],
    );
    Part::fixed("hinge_tube", "hinge tube", given.tube_metal, "cut from hinge tubing", body)
}

/// Length of thread that is in the tapped post, its pointed end left out.
pub fn engagement(job: &Job) -> f64 {
    let point = (tapped_hole(job) - UNDER_DRILL) / 3.0;
    job.posts.diameter_mm - INSIDE_POST - point
}

/// Lengths of the hinge screw from under its head: the plain part, and all of it. Millimetres.
pub fn screw_lengths(job: &Job) -> (f64, f64) {
    let half = job.hinge.tube_length_mm / 2.0;
    let end = half + job.hinge.end_play_mm + job.posts.diameter_mm - INSIDE_POST;
    (bearing(job) + half, bearing(job) + end)
}

/// The hinge screw: plain up to the end of the hinge tube, then threaded into the tapped post.
pub fn screw(job: &Job, places: &Places) -> Part {
    let given = &job.hinge;
    let half = given.tube_length_mm / 2.0;
    let (head, plain) = (given.head_diameter_mm / 2.0, given.screw_diameter_mm / 2.0);
    let threaded = tapped_hole(job) - UNDER_DRILL;
    let end = half + given.end_play_mm + job.posts.diameter_mm - INSIDE_POST;
    let (edge, point) = ((given.head_length_mm / 4.0).min(0.2), threaded / 3.0);
    let body = turned(
        axis(job, places),
        &[
            at(-head_end(job), 0.0),
            at(end, 0.0),
            at(end, threaded - point),
            at(end - point, threaded),
            at(half, threaded),
            at(half, plain),
            at(-bearing(job), plain),
            at(-bearing(job), head),
            at(-head_end(job) + edge, head),
            at(-head_end(job), head - edge),
        ],
    );
    Part::fixed("hinge_screw", "hinge screw", given.screw_metal, "turned from rod, threaded", body)
}

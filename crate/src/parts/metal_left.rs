//! Measures of the posts' holes that checks ask for. Millimetres.

use crate::job::Job;

use super::{hinge, posts};

/// Radius of the clear hole, and of the thread's outside in the tapped one.
#[must_use]
pub fn post_hole_radii(job: &Job) -> (f64, f64) {
    (posts::clear_hole(job), job.hinge.thread.major_diameter_mm() / 2.0)
}

/// Length of thread that is in the tapped post.
#[must_use]
pub fn engagement(job: &Job) -> f64 {
    hinge::engagement(job)
}

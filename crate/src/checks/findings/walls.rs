//! Metal left beside holes, thread in the tapped post, and what stands into the bore.

use crate::job::Job;
use crate::parts::{clear_hole, engagement};

use super::Finding;

/// Least wall beside a hole that is drilled and reamed, mm (common practice, no source).
const LEAST_WALL: f64 = 0.5;

/// Thread in brass, bronze and nickel silver, in diameters of the screw (rule of thumb, from memory).
const ENGAGEMENT_DIAMETERS: f64 = 1.5;

/// Full threads that an engagement must have at least (rule of thumb, from memory).
const FULL_THREADS: f64 = 4.0;

pub(super) fn findings(job: &Job) -> Vec<Finding> {
    let vent = &job.vent;
    let thread = job.hinge.thread;
    let (clear, tapped) = (clear_hole(job), thread.major_diameter_mm() / 2.0);
    let engaged = engagement(job);
    let post = job.posts.diameter_mm / 2.0;
    vec![
        Finding::new(
            "vent_reach",
            "reach of the vent's tube into the bore",
            vent.reach_inside_mm,
            "mm",
            "Below the inside of the wall, along the vent's axis. It narrows the bore there: file it flush if the bore is to be plain.",
        ),
        Finding::new(
            "vent_wall",
            "wall of the vent beside its bore",
            (vent.outer_diameter_mm - vent.bore_mm) / 2.0,
            "mm",
            "Half of outside less bore. Least 0.5 mm: common practice, no source.",
        )
        .at_least(LEAST_WALL),
        Finding::new(
            "clear_post_wall",
            "wall of the clear post beside its hole",
            post - clear,
            "mm",
            "Radius of the post less that of the hole. Least 0.5 mm: common practice, no source.",
        )
        .at_least(LEAST_WALL),
        Finding::new(
            "tapped_post_wall",
            "wall of the tapped post beside its thread",
            post - tapped,
            "mm",
            "Radius of the post less half the thread's outside diameter. Least 0.5 mm: common practice, no source.",
        )
        .at_least(LEAST_WALL),
        Finding::new(
            "thread_engagement",
            "thread in the tapped post",
            engaged,
            "mm",
            "1.5 diameters of the screw in brass, bronze and nickel silver (rule of thumb, from memory).",
        )
        .at_least(ENGAGEMENT_DIAMETERS * thread.major_diameter_mm()),
        Finding::new(
            "full_threads",
            "turns of thread in the tapped post",
            engaged / thread.pitch_mm(),
            "turns",
            "Four full threads at least (rule of thumb, from memory).",
        )
        .at_least(FULL_THREADS),
    ]
}

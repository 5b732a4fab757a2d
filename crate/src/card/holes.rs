//! Holes and threads: what is drilled, reamed and tapped, how deep, and how much thread is left.

use serde::Serialize;

use crate::job::Job;
use crate::parts::{clear_hole, engagement, screw_lengths};
use crate::tables::threads::Thread;

use super::numbers::{Number, said_source};

/// Thread that brass, bronze and nickel silver ask for, in diameters of the screw (rule of thumb, from memory).
const ENGAGEMENT_DIAMETERS: f64 = 1.5;

/// A hole with what is done to it.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct HoleRow {
    pub id: &'static str,
    pub part: &'static str,
    pub what: String,
    pub drill: Number,
    pub depth: Number,
    /// None where it is not tapped.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub thread: Option<ThreadCut>,
    /// What to do, and when.
    pub step: &'static str,
}

/// A thread in a hole.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct ThreadCut {
    pub tap: &'static str,
    pub pitch: Number,
    /// Share of full depth that the drill leaves.
    pub share: Number,
    pub engagement: Number,
    pub engagement_asked: Number,
    pub turns: Number,
}

/// Holes of a neck, and its hinge screw.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(target_arch = "wasm32", derive(tsify::Tsify))]
pub struct Holes {
    pub holes: Vec<HoleRow>,
    /// Hinge screw from under its head.
    pub screw_plain: Number,
    pub screw_length: Number,
    pub screw_diameter: Number,
}

/// Share of full thread depth that a drill leaves, percent: (D - drill) / P / 0.01299 (Machinery's Handbook, 31st ed.).
#[must_use]
pub fn thread_share(thread: Thread) -> f64 {
    (thread.major_diameter_mm() - thread.tap_drill_mm()) / thread.pitch_mm() / 0.012_99
}

fn cut(thread: Thread, engaged: f64) -> ThreadCut {
    let asked = ENGAGEMENT_DIAMETERS * thread.major_diameter_mm();
    ThreadCut {
        tap: thread.name(),
        pitch: Number::exact(thread.pitch_mm(), "mm", said_source(&thread.source())),
        share: Number::within(
            thread_share(thread),
            5.0,
            "%",
            "(D - drill) / P / 0.01299, Machinery's Handbook, 31st ed.; a drill cuts a little wide",
        ),
        engagement: Number::within(
            engaged,
            0.2,
            "mm",
            "Thread of the screw that is in the metal, its point left out",
        ),
        engagement_asked: Number::exact(
            asked,
            "mm",
            "1.5 diameters of the screw in brass, bronze and nickel silver (rule of thumb, from memory)",
        ),
        turns: Number::within(
            engaged / thread.pitch_mm(),
            0.2 / thread.pitch_mm(),
            "turns",
            "Engagement over pitch; four full threads at least (rule of thumb, from memory)",
        ),
    }
}

/// The holes of a job.
#[must_use]
pub fn holes(job: &Job) -> Holes {
    let drawn = "Job, by the model";
    let drill = |thread: Thread| {
        Number::within(thread.tap_drill_mm(), 0.03, "mm", said_source(&thread.drill_source()))
    };
    let reamed = || {
        Number::between(
            2.0 * clear_hole(job),
            2.0 * clear_hole(job),
            2.0 * clear_hole(job) + 0.02,
            "mm",
            "Screw and twice hinge.radial_clearance_mm: drill 0.1 mm under, ream to size",
        )
    };
    let post = Number::within(job.posts.diameter_mm, 0.05, "mm", "Through the post");
    let (clear, tapped) = match job.posts.screw_head_side {
        crate::job::parameters::Side::Left => ("post_left", "post_right"),
        crate::job::parameters::Side::Right => ("post_right", "post_left"),
    };
    let gap = &job.limits;
    let vent = job.vent.outer_diameter_mm;
    let holes = vec![
        HoleRow {
            id: "vent_hole",
            part: "tube",
            what: format!(
                "hole for the octave vent, square to the tube's top at station {:.2} mm",
                job.vent.station_mm
            ),
            drill: Number::between(
                vent + 2.0 * gap.joint_gap_mm,
                vent + 2.0 * gap.joint_gap_min_mm,
                vent + 2.0 * gap.joint_gap_max_mm,
                "mm",
                "Outside of the vent and twice the joint's gap (limits.joint_gap_mm and its least and greatest)",
            ),
            depth: Number::within(job.tube.wall_mm(), 0.05, "mm", "Top wall only"),
            thread: None,
            step: "After the seam is soldered and the tube hammered: centre punch, drill 0.3 mm under on a close mandrel, ream, deburr inside",
        },
        HoleRow {
            id: "vent_bore",
            part: "vent",
            what: "bore of the octave vent".into(),
            drill: Number::within(job.vent.bore_mm, 0.02, "mm", drawn),
            depth: Number::within(
                job.vent.stand_mm + job.tube.wall_mm() + job.vent.reach_inside_mm,
                0.1,
                "mm",
                "Stand, wall and reach inside",
            ),
            thread: None,
            step: "In the lathe, before parting off",
        },
        HoleRow {
            id: "post_clear",
            part: clear,
            what: "hole on the hinge axis the screw runs in".into(),
            drill: reamed(),
            depth: post.clone(),
            thread: None,
            step: "Both posts drilled through together before soldering; ream again in line afterwards",
        },
        HoleRow {
            id: "post_tapped",
            part: tapped,
            what: format!("hole on the hinge axis, tapped {}", job.hinge.thread.name()),
            drill: drill(job.hinge.thread),
            depth: post,
            thread: Some(cut(job.hinge.thread, engagement(job))),
            step: "Drill before soldering, tap or chase after: heat scales and softens the thread",
        },
        HoleRow {
            id: "hinge_tube",
            part: "hinge_tube",
            what: "bore of the hinge tube".into(),
            drill: reamed(),
            depth: Number::within(job.hinge.tube_length_mm, 0.05, "mm", drawn),
            thread: None,
            step: "Ream after it is soldered into the arm; face its ends to the posts",
        },
        HoleRow {
            id: "spring_screw",
            part: "key_arm",
            what: format!("hole for the spring's screw, tapped {}", job.spring_screw.thread.name()),
            drill: drill(job.spring_screw.thread),
            depth: Number::within(job.spring_screw.depth_mm, 0.1, "mm", drawn),
            thread: Some(cut(
                job.spring_screw.thread,
                job.spring_screw.depth_mm - 2.0 * job.spring_screw.thread.pitch_mm(),
            )),
            step: "After the arm's joints are soldered and pickled",
        },
    ];
    let (plain, whole) = screw_lengths(job);
    let measured = "Posts, hinge tube and end play of the job; cut to the posts as they stand";
    Holes {
        holes,
        screw_plain: Number::within(plain, 0.05, "mm", measured),
        screw_length: Number::within(whole, 0.2, "mm", measured),
        screw_diameter: Number::between(
            job.hinge.screw_diameter_mm,
            job.hinge.screw_diameter_mm - 0.01,
            job.hinge.screw_diameter_mm,
            "mm",
            "Job, hinge.screw_diameter_mm",
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Voice, starting_job};

    /// Truth: Machinery's Handbook, 31st ed., p. 2155, Table 2: #50 for 2-56 leaves 69 %, #47 for 3-48 leaves 76 %.
    #[test]
    fn drills_leave_the_printed_share_of_thread() {
        assert_eq!(thread_share(Thread::No2x56).round(), 69.0);
        assert_eq!(thread_share(Thread::No3x48).round(), 76.0);
    }

    /// Truth: the alto's job: M2 from 1.6 mm, posts 4.2 mm, hinge tube 8 mm, end play 0.05: under the head 0.05 + 4.2 + 0.05 +
    /// 8 mm plain, and 0.05 + 4.2 - 0.3 mm more with thread.
    #[test]
    fn the_alto_s_hinge() {
        let found = holes(&starting_job(Voice::Alto).unwrap());
        let tapped = found.holes.iter().find(|hole| hole.id == "post_tapped").unwrap();
        assert!((tapped.drill.value.unwrap() - 1.6).abs() < 1e-9);
        assert_eq!(tapped.part, "post_right");
        assert!((found.screw_plain.value.unwrap() - 12.3).abs() < 1e-9);
        assert!((found.screw_length.value.unwrap() - 16.25).abs() < 1e-9);
        let vent = &found.holes[0].drill;
        assert_eq!(vent.limits(), Some((4.6, 4.76)));
    }
}

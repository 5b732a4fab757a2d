//! Every part of a neck in its place.

use std::sync::Arc;

use glam::DVec3;

use crate::geometry::frame::Frame;
use crate::geometry::neck::Neck;
use crate::job::{Job, Violation, read_job_leniently};

use super::action::Action;
use super::keepouts::ToolPath;
use super::key::Key;
use super::part::Part;
use super::places::Places;
use super::placing::{Seating, seating};
use super::rules::{examine, rules};
use super::{
    badge, brace, cork, end_ring, guide, hinge, keepouts, key_arm, pad, posts, rod_loop, saddle,
    spring, tenon, tube, vent,
};

/// The axis the octave key turns about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HingeAxis {
    pub point: DVec3,
    /// Unit direction; a positive turn about it opens the key.
    pub direction: DVec3,
}

/// A neck: its parts and keep-outs with the key closed, and how the key moves.
#[derive(Clone, Debug, PartialEq)]
pub struct Assembly {
    pub neck: Arc<Neck>,
    /// Parts that are made or bought, in the order of the list.
    pub parts: Vec<Part>,
    /// Rooms that must stay free.
    pub keepouts: Vec<Part>,
    /// Left and right half of the tube, for export only: the tube stands in `parts`.
    pub halves: [Part; 2],
    /// The tube before it is drilled for the vent: what keeps away from the hole is measured on it.
    pub undrilled: Part,
    pub hinge: HingeAxis,
    /// Turn about the hinge from closed to open, radians.
    pub open_angle: f64,
    /// What the key does.
    pub action: Action,
    /// Straight paths of the tools that must be free while they are used.
    pub tool_paths: [ToolPath; 3],
    /// Where each part and keep-out is placed, by its id; parts that are not placed are left out.
    pub seatings: Vec<(&'static str, Seating)>,
    /// Axis of tenon and receiver: origin in the plane of the collar's seat, z towards the tenon's free end, x to the
    /// bell. Receiver, clamp and pin turn about it when the player turns the neck.
    pub tenon_axis: Frame,
    /// What the maker should know though the neck can be built.
    pub warnings: Vec<Violation>,
}

impl Assembly {
    /// Puts every part of a job in its place.
    ///
    /// Parts may clash: that is a finding of the clearance list, not an error.
    ///
    /// # Errors
    ///
    /// Every rule between the job's numbers that is broken, warnings among them.
    pub fn build(job: &Job) -> Result<Self, Vec<Violation>> {
        let places = Places::of(job);
        let (found, key) = examine(job, &places, &[]);
        match key {
            Some(key) if !found.iter().any(Violation::is_error) => {
                Ok(Self::of(job, &places, &key, found))
            }
            _ => Err(found),
        }
    }

    fn of(job: &Job, places: &Places, key: &Key, warnings: Vec<Violation>) -> Self {
        let [post_left, post_right] = posts::parts(job, places);
        let mut parts = vec![
            tube::part(job, places),
            tenon::part(job, places),
            end_ring::part(job, places),
            cork::part(job, places),
            vent::part(job, places),
            brace::part(job, places),
            saddle::part(job, places),
            post_left,
            post_right,
            hinge::tube(job, places),
            hinge::screw(job, places),
            key_arm::part(job, &key.arm),
            pad::cup(job, places),
            pad::pad(job, places),
            rod_loop::part(job, &key.bend),
            spring::part(job, key.spring.clone()),
            spring::screw(job, places, &key.arm.spring_seat),
            guide::part(job, places, key.guide_top),
        ];
        parts.extend(badge::part(job, places));
        let keepouts = keepouts::parts(job, places);
        let seatings = parts
            .iter()
            .chain(&keepouts)
            .filter_map(|part| Some((part.id, seating(part.id, job, places)?)))
            .collect();
        Self {
            neck: places.neck.clone(),
            parts,
            keepouts,
            tool_paths: keepouts::tool_paths(job, places),
            seatings,
            halves: tube::halves(job, places),
            undrilled: tube::undrilled(job, places),
            hinge: HingeAxis { point: places.hinge.origin, direction: DVec3::Y },
            open_angle: key.swing.open_angle,
            action: Action::of(job, places, &key.swing, &key.bend),
            tenon_axis: places.tenon_axis,
            warnings,
        }
    }

    /// Where a part or keep-out is placed; none for what is not.
    pub fn seating(&self, id: &str) -> Option<Seating> {
        self.seatings.iter().find(|(name, _)| *name == id).map(|(_, seating)| *seating)
    }

    /// The part or keep-out of this id; the halves of the tube are found as well.
    pub fn part(&self, id: &str) -> Option<&Part> {
        self.parts.iter().chain(&self.keepouts).chain(&self.halves).find(|part| part.id == id)
    }
}

/// A job read from text, with its neck.
#[derive(Clone, Debug, PartialEq)]
pub struct PlacedJob {
    pub job: Job,
    pub assembly: Assembly,
    /// Warnings of the reader and of the rules.
    pub warnings: Vec<Violation>,
}

/// Reads a job file and builds its neck.
///
/// # Errors
///
/// Every violation at once: what is wrong with single fields, and every broken rule between fields that are right.
pub fn build_from_text(text: &str) -> Result<PlacedJob, Vec<Violation>> {
    let read = read_job_leniently(text);
    let mut found = read.violations;
    let Some(job) = read.job else { return Err(found) };
    if found.iter().any(Violation::is_error) {
        let more = rules(&job, &found);
        found.extend(more);
        return Err(found);
    }
    match Assembly::build(&job) {
        Ok(assembly) => {
            found.extend(assembly.warnings.iter().cloned());
            Ok(PlacedJob { job, assembly, warnings: found })
        }
        Err(broken) => {
            found.extend(broken);
            Err(found)
        }
    }
}

//! The measured pairs of a model, and the clearance list they make.

use std::sync::Arc;

use crate::checks::{
    Access, Aim, Body, ClearanceList, Group, Hole, Limits, Mechanism, PairMeasured, Pivot, Placed,
    Scratch, SurfaceSamples, Turn, clearance,
};
use crate::geometry::distance::DistanceField;
use crate::job::Job;
use crate::job::parameters::Side;
use crate::parts::{Assembly, ToolPath};
use crate::units::rad_from_deg;

use super::round::Round;
use super::{Built, FileError};

/// Parts of the horn: they turn against the neck when the player turns it.
const HORN: [&str; 3] = ["receiver", "clamp_screw", "octave_pin"];

/// A measured pair, with the bodies it was measured on.
#[derive(Debug)]
pub(super) struct Measured {
    pub a: Arc<Built>,
    pub b: Arc<Built>,
    /// Measured on the undrilled body of the one that is drilled.
    pub on_undrilled: bool,
    /// None only of a body without a surface: no model is made with one.
    pub found: Option<PairMeasured>,
}

/// All measured pairs, and the motion they were measured through.
#[derive(Debug)]
pub(super) struct Pairs {
    pub mechanism: Mechanism,
    /// Where the bodies are placed, in their order.
    pub placed: Vec<(&'static str, Option<Placed>)>,
    /// The tube before it is drilled.
    pub undrilled: Arc<Built>,
    pub rows: Vec<Measured>,
}

impl Pairs {
    /// Measures every unordered pair of bodies, in their order, in all their poses. `undrilled` is the
    /// tube before it is drilled.
    pub fn measure(
        bodies: &[Arc<Built>],
        undrilled: &Arc<Built>,
        assembly: &Assembly,
        job: &Job,
    ) -> Self {
        Round::new(bodies, undrilled, assembly, job, None).finish()
    }

    /// Where the body of this id was placed.
    pub(super) fn placed_as(&self, id: &str) -> Option<Placed> {
        self.placed.iter().find(|(name, _)| *name == id)?.1
    }

    /// The list with the key turned by `angle` radians: pairs that it moves against each other
    /// are measured there.
    ///
    /// # Errors
    ///
    /// A part whose own surface was not needed before, and cannot be divided.
    pub fn list_at(&self, angle: f64, job: &Job) -> Result<ClearanceList, FileError> {
        let mut scratch = Scratch::default();
        let turn = Turn { key: angle, horn: 0.0 };
        let mut rows = Vec::with_capacity(self.rows.len());
        for pair in &self.rows {
            let [a, b] = [&pair.a, &pair.b].map(|built| whole(built, &self.mechanism));
            for built in [&pair.a, &pair.b] {
                if let Some(error) = built.indivisible() {
                    let error = error.clone();
                    return Err(FileError::Solid { part: built.part.id, error });
                }
            }
            let found = if a.moves_with_key() == b.moves_with_key() {
                pair.found.map(|found| found.rest)
            } else {
                let posed = |body| self.mechanism.posed(body, turn);
                clearance(&posed(&a), &posed(&b), &Aim::LIST, &mut scratch)
            };
            rows.extend(found.map(|found| (a, b, found)));
        }
        Ok(ClearanceList::at(angle, rows, &limits(job), &self.mechanism))
    }

    /// The tools' paths with what stands beside them.
    pub fn access<'a>(
        &'a self,
        paths: &'a [Arc<Built>],
        bodies: &'a [Arc<Built>],
        assembly: &'a Assembly,
    ) -> Vec<Access<'a>> {
        let tools = assembly.tool_paths.iter().zip(paths);
        let access = |(tool, path): (&'a ToolPath, &'a Arc<Built>)| {
            let path = whole(path, &self.mechanism);
            let beside = |built: &'a Arc<Built>| {
                let seen = body(built, &self.undrilled, &self.mechanism);
                match far_hole(&seen, &path, &self.mechanism) {
                    Some(_) => on_undrilled(&seen, &self.undrilled),
                    None => whole(built, &self.mechanism),
                }
            };
            Access {
                id: tool.path.id,
                name: tool.path.name,
                path,
                beside: bodies
                    .iter()
                    .filter(|built| tool.beside.contains(&built.part.id))
                    .map(|built| (beside(built), built.part.name))
                    .collect(),
            }
        };
        tools.map(access).collect()
    }

    /// Judges the pairs by the limits of a job.
    pub fn list(&self, job: &Job) -> ClearanceList {
        let rows = self.rows.iter().filter_map(|pair| {
            let bodies =
                [&pair.a, &pair.b].map(|built| body(built, &self.undrilled, &self.mechanism));
            Some((bodies[0], bodies[1], pair.found?))
        });
        ClearanceList::new(rows, &limits(job), &self.mechanism)
    }
}

/// The hole of a drilled body, if another keeps so far from it that the undrilled body will do.
pub(super) fn far_hole(
    drilled: &Body<'_>,
    other: &Body<'_>,
    mechanism: &Mechanism,
) -> Option<Hole> {
    let (centre, radius) = drilled.field.hole()?;
    let hole = Hole { centre, radius };
    hole.is_far_from(other, mechanism).then_some(hole)
}

/// A drilled body as its undrilled form.
pub(super) fn on_undrilled<'a>(drilled: &Body<'a>, undrilled: &'a Built) -> Body<'a> {
    Body { field: &undrilled.field, undrilled: false, ..*drilled }
}

pub(super) fn mechanism(assembly: &Assembly, job: &Job) -> Mechanism {
    let tenon = &assembly.tenon_axis;
    Mechanism {
        hinge: Pivot { point: assembly.hinge.point, axis: assembly.hinge.direction },
        open_angle: assembly.open_angle,
        tenon: Pivot { point: tenon.origin, axis: tenon.z },
        neck_turn: rad_from_deg(job.horn.neck_turn_deg),
    }
}

/// Where a body is placed by hand, and how far off.
pub(super) fn placed(built: &Built, assembly: &Assembly, job: &Job) -> Option<Placed> {
    let seating = assembly.seating(built.part.id)?;
    Some(Placed { seating, reach: seating.reach(&job.placing) })
}

/// The field of all places a body of the horn goes through while the neck is turned.
pub(super) fn through(built: &Built, mechanism: &Mechanism) -> Option<DistanceField> {
    let Pivot { point, axis } = mechanism.tenon;
    HORN.contains(&built.part.id)
        .then(|| DistanceField::through(&built.part.shape, point, axis, mechanism.neck_turn))?
}

/// A body with its own surface.
fn whole<'a>(built: &'a Built, mechanism: &Mechanism) -> Body<'a> {
    with_samples(built, built.samples(), mechanism)
}

/// A body; one that is drilled has the surface of its undrilled form, so that its own need not be made.
pub(super) fn body<'a>(built: &'a Built, undrilled: &'a Built, mechanism: &Mechanism) -> Body<'a> {
    if built.part.id == undrilled.part.id {
        Body { undrilled: true, ..with_samples(built, undrilled.samples(), mechanism) }
    } else {
        whole(built, mechanism)
    }
}

fn with_samples<'a>(
    built: &'a Built,
    samples: &'a SurfaceSamples,
    mechanism: &Mechanism,
) -> Body<'a> {
    let round = |pivot: &Pivot| built.part.shape.is_round_about(pivot.point, pivot.axis);
    Body {
        id: built.part.id,
        field: &built.field,
        samples,
        undrilled: false,
        group: if built.part.moves_with_key {
            Group::Key
        } else if HORN.contains(&built.part.id) {
            Group::Horn
        } else {
            Group::Neck
        },
        keepout: built.part.keepout,
        round_about_hinge: round(&mechanism.hinge),
        round_about_tenon: round(&mechanism.tenon),
        through: None,
        placed: None,
    }
}

/// The limits of a job.
pub(super) fn limits(job: &Job) -> Limits {
    let limits = &job.limits;
    Limits {
        joint_gap_min_mm: limits.joint_gap_min_mm,
        joint_gap_max_mm: limits.joint_gap_max_mm,
        least_clearance_mm: limits.least_clearance_mm,
        running_min_mm: limits.running_min_mm,
        running_max_mm: limits.running_max_mm,
        fit_min_mm: limits.fit_min_mm,
        fit_max_mm: limits.fit_max_mm,
        left_post_is_tapped: job.posts.screw_head_side == Side::Right,
    }
}

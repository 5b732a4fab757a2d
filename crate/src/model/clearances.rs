//! The clearance list of a model; pairs of which neither body changed are not measured again.

use std::sync::Arc;

use crate::checks::{
    Access, Aim, Asked, Body, ClearanceList, Group, Limits, Mechanism, PairMeasured, Pivot, Placed,
    Relation, Scratch, Turn, clearance, measure_pair, relation,
};
use crate::geometry::distance::DistanceField;
use crate::job::Job;
use crate::job::parameters::Side;
use crate::parts::{Assembly, ToolPath};
use crate::units::rad_from_deg;

use super::Built;

/// Parts of the horn: they turn against the neck when the player turns it.
const HORN: [&str; 3] = ["receiver", "clamp_screw", "octave_pin"];

/// A measured pair, with the bodies it was measured on.
#[derive(Debug)]
pub(super) struct Measured {
    a: Arc<Built>,
    b: Arc<Built>,
    found: Option<PairMeasured>,
}

/// All measured pairs, and the motion they were measured through.
#[derive(Debug)]
pub(super) struct Pairs {
    mechanism: Mechanism,
    /// Where the bodies are placed, in their order.
    placed: Vec<(&'static str, Option<Placed>)>,
    rows: Vec<Measured>,
}

impl Pairs {
    /// Measures every unordered pair of bodies, in their order, in all their poses.
    pub fn measure(
        bodies: &[Arc<Built>],
        assembly: &Assembly,
        job: &Job,
        before: Option<&Self>,
    ) -> Self {
        let mechanism = mechanism(assembly, job);
        let moved = before.is_some_and(|pairs| pairs.mechanism != mechanism);
        let known = before.map_or(&[][..], |pairs| pairs.rows.as_slice());
        let placed: Vec<_> =
            bodies.iter().map(|built| (built.part.id, placed(built, assembly, job))).collect();
        let through: Vec<_> = bodies.iter().map(|body| through(body, &mechanism)).collect();
        let limits = limits(job);
        let mut scratch = Scratch::default();
        let mut rows = Vec::with_capacity(bodies.len() * bodies.len() / 2);
        // Both lists run in the same order of bodies, so the place after the last one found is
        // where the next is looked for first.
        let mut place = 0;
        let all: Vec<Body<'_>> = bodies
            .iter()
            .zip(placed.iter().zip(&through))
            .map(|(built, (&(_, placed), through))| Body {
                placed,
                through: through.as_ref(),
                ..body(built, &mechanism)
            })
            .collect();
        let placed_alike = |body: &Body<'_>| {
            // Bodies are few: looking the old place up by its id costs nothing.
            before.is_some_and(|pairs| pairs.placed_as(body.id) == body.placed)
        };
        let alike: Vec<bool> = all.iter().map(placed_alike).collect();
        for (i, (a, one)) in bodies.iter().zip(&all).enumerate() {
            for (j, (b, other)) in bodies.iter().zip(&all).enumerate().skip(i + 1) {
                let same = |pair: &&Measured| Arc::ptr_eq(&pair.a, a) && Arc::ptr_eq(&pair.b, b);
                let kept = known.get(place).filter(same).or_else(|| known.iter().find(same));
                // Pairs of which nothing moves do not feel a change of the motion.
                let found = match kept {
                    Some(pair) if (!moved || one.group == other.group) && alike[i] && alike[j] => {
                        pair.found
                    }
                    _ => {
                        let relation = relation(one.id, other.id, &limits);
                        let asked = Asked {
                            // Nobody asks what hands leave of joints, fits and seats.
                            by_hand: relation == Relation::Free && !(one.keepout && other.keepout),
                            // The spring is drawn stiff: how deep it would go says nothing.
                            depths: relation != Relation::Seat,
                        };
                        measure_pair(one, other, &mechanism, asked, &mut scratch)
                    }
                };
                place += 1;
                rows.push(Measured { a: a.clone(), b: b.clone(), found });
            }
        }
        Self { mechanism, placed, rows }
    }

    /// Where the body of this id was placed.
    fn placed_as(&self, id: &str) -> Option<Placed> {
        self.placed.iter().find(|(name, _)| *name == id)?.1
    }

    /// The list with the key turned by `angle` radians: pairs that it moves against each other
    /// are measured there.
    pub fn list_at(&self, angle: f64, job: &Job) -> ClearanceList {
        let mut scratch = Scratch::default();
        let turn = Turn { key: angle, horn: 0.0 };
        let mut rows = Vec::with_capacity(self.rows.len());
        for pair in &self.rows {
            let [a, b] = [&pair.a, &pair.b].map(|built| body(built, &self.mechanism));
            let found = if a.moves_with_key() == b.moves_with_key() {
                pair.found.map(|found| found.rest)
            } else {
                let posed = |body| self.mechanism.posed(body, turn);
                clearance(&posed(&a), &posed(&b), &Aim::LIST, &mut scratch)
            };
            rows.extend(found.map(|found| (a, b, found)));
        }
        ClearanceList::at(angle, rows, &limits(job), &self.mechanism)
    }

    /// The tools' paths with what stands beside them.
    pub fn access<'a>(
        &'a self,
        paths: &'a [Arc<Built>],
        bodies: &'a [Arc<Built>],
        assembly: &'a Assembly,
    ) -> Vec<Access<'a>> {
        let tools = assembly.tool_paths.iter().zip(paths);
        let access = |(tool, path): (&'a ToolPath, &'a Arc<Built>)| Access {
            id: tool.path.id,
            name: tool.path.name,
            path: body(path, &self.mechanism),
            beside: bodies
                .iter()
                .filter(|built| tool.beside.contains(&built.part.id))
                .map(|built| (body(built, &self.mechanism), built.part.name))
                .collect(),
        };
        tools.map(access).collect()
    }

    /// Judges the pairs by the limits of a job.
    pub fn list(&self, job: &Job) -> ClearanceList {
        let rows = self.rows.iter().filter_map(|pair| {
            let bodies = [&pair.a, &pair.b].map(|built| body(built, &self.mechanism));
            Some((bodies[0], bodies[1], pair.found?))
        });
        ClearanceList::new(rows, &limits(job), &self.mechanism)
    }
}

fn mechanism(assembly: &Assembly, job: &Job) -> Mechanism {
    let tenon = &assembly.tenon_axis;
    Mechanism {
        hinge: Pivot { point: assembly.hinge.point, axis: assembly.hinge.direction },
        open_angle: assembly.open_angle,
        tenon: Pivot { point: tenon.origin, axis: tenon.z },
        neck_turn: rad_from_deg(job.horn.neck_turn_deg),
    }
}

/// Where a body is placed by hand, and how far off.
fn placed(built: &Built, assembly: &Assembly, job: &Job) -> Option<Placed> {
    let seating = assembly.seating(built.part.id)?;
    Some(Placed { seating, reach: seating.reach(&job.placing) })
}

/// The field of all places a body of the horn goes through while the neck is turned.
fn through(built: &Built, mechanism: &Mechanism) -> Option<DistanceField> {
    let Pivot { point, axis } = mechanism.tenon;
    HORN.contains(&built.part.id)
        .then(|| DistanceField::through(&built.part.shape, point, axis, mechanism.neck_turn))?
}

fn body<'a>(built: &'a Built, mechanism: &Mechanism) -> Body<'a> {
    let round = |pivot: &Pivot| built.part.shape.is_round_about(pivot.point, pivot.axis);
    Body {
        id: built.part.id,
        field: &built.field,
        samples: &built.samples,
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

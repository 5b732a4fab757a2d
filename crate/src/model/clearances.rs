//! The clearance list of a model; pairs of which neither body changed are not measured again.

use std::sync::Arc;

use crate::checks::{
    Access, Aim, Asked, Body, ClearanceList, Group, Hole, Limits, Mechanism, PairMeasured, Pivot,
    Placed, Relation, Scratch, SurfaceSamples, Turn, clearance, measure_pair, relation,
};
use crate::geometry::distance::DistanceField;
use crate::job::Job;
use crate::job::parameters::Side;
use crate::parts::{Assembly, ToolPath};
use crate::units::rad_from_deg;

use super::{Built, FileError};

/// Parts of the horn: they turn against the neck when the player turns it.
const HORN: [&str; 3] = ["receiver", "clamp_screw", "octave_pin"];

/// A measured pair, with the bodies it was measured on.
#[derive(Debug)]
pub(super) struct Measured {
    a: Arc<Built>,
    b: Arc<Built>,
    /// Measured on the undrilled body of the one that is drilled.
    on_undrilled: bool,
    /// None only of a body without a surface: no model is made with one.
    found: Option<PairMeasured>,
}

/// All measured pairs, and the motion they were measured through.
#[derive(Debug)]
pub(super) struct Pairs {
    mechanism: Mechanism,
    /// Where the bodies are placed, in their order.
    placed: Vec<(&'static str, Option<Placed>)>,
    /// The tube before it is drilled.
    undrilled: Arc<Built>,
    rows: Vec<Measured>,
}

impl Pairs {
    /// Measures every unordered pair of bodies, in their order, in all their poses. `undrilled` is the
    /// tube before it is drilled.
    pub fn measure(
        bodies: &[Arc<Built>],
        undrilled: &Arc<Built>,
        assembly: &Assembly,
        job: &Job,
        before: Option<&Self>,
    ) -> Self {
        let mechanism = mechanism(assembly, job);
        let placed: Vec<_> =
            bodies.iter().map(|built| (built.part.id, placed(built, assembly, job))).collect();
        let through: Vec<_> = bodies.iter().map(|body| through(body, &mechanism)).collect();
        let seen: Vec<Body<'_>> = bodies
            .iter()
            .zip(placed.iter().zip(&through))
            .map(|(built, (&(_, placed), through))| Body {
                placed,
                through: through.as_ref(),
                ..body(built, undrilled, &mechanism)
            })
            .collect();
        let limits = limits(job);
        let mut round = Round {
            bodies,
            undrilled,
            mechanism: &mechanism,
            before: before.map(|pairs| Before::of(pairs, &mechanism, &seen)),
            scratch: Scratch::default(),
        };
        let mut rows = Vec::with_capacity(bodies.len() * bodies.len() / 2);
        for (i, one) in seen.iter().enumerate() {
            for (j, other) in seen.iter().enumerate().skip(i + 1) {
                let relation = relation(one.id, other.id, &limits);
                let asked = Asked {
                    // Nobody asks what hands leave of joints, fits and seats.
                    by_hand: relation == Relation::Free && !(one.keepout && other.keepout),
                    // The spring is drawn stiff: how deep it would go says nothing.
                    depths: relation != Relation::Seat,
                };
                let place = rows.len();
                rows.push(round.pair(place, [i, j], [one, other], asked));
            }
        }
        let undrilled = undrilled.clone();
        Self { mechanism, placed, undrilled, rows }
    }

    /// Where the body of this id was placed.
    fn placed_as(&self, id: &str) -> Option<Placed> {
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

/// What was measured before, and what of it may still stand.
struct Before<'a> {
    pairs: &'a Pairs,
    /// Whether key and horn turn as they did.
    key_alike: bool,
    horn_alike: bool,
    /// Of each body, whether it is placed as it was.
    placed_alike: Vec<bool>,
}

impl<'a> Before<'a> {
    fn of(pairs: &'a Pairs, mechanism: &Mechanism, seen: &[Body<'_>]) -> Self {
        let then = &pairs.mechanism;
        Self {
            pairs,
            key_alike: then.hinge == mechanism.hinge && then.open_angle == mechanism.open_angle,
            horn_alike: then.tenon == mechanism.tenon && then.neck_turn == mechanism.neck_turn,
            // Bodies are few: looking the old place up by its id costs nothing.
            placed_alike: seen.iter().map(|body| pairs.placed_as(body.id) == body.placed).collect(),
        }
    }

    /// Whether a pair is moved and placed as it was. Pairs of which nothing moves do not feel a
    /// change of the motion.
    fn stands(&self, places: [usize; 2], pair: [&Body<'_>; 2]) -> bool {
        let one_is = |group| (pair[0].group == group) != (pair[1].group == group);
        (self.key_alike || !one_is(Group::Key))
            && (self.horn_alike || !one_is(Group::Horn))
            && places.iter().all(|&place| self.placed_alike.get(place) == Some(&true))
    }
}

/// One measuring of all pairs.
struct Round<'a> {
    bodies: &'a [Arc<Built>],
    undrilled: &'a Arc<Built>,
    mechanism: &'a Mechanism,
    before: Option<Before<'a>>,
    scratch: Scratch,
}

impl Round<'_> {
    /// Measures a pair of bodies by their places, or takes over what was measured of it. `row` is
    /// its place in the list.
    fn pair(
        &mut self,
        row: usize,
        places: [usize; 2],
        pair: [&Body<'_>; 2],
        asked: Asked,
    ) -> Measured {
        let [a, b] = places.map(|place| &self.bodies[place]);
        let drilled = pair.iter().position(|body| body.undrilled);
        // Which of the two is asked depends on the job alone: whatever was measured before, the
        // same job gets the same answer.
        let far_hole = drilled.and_then(|drilled| {
            Some((drilled, far_hole(pair[drilled], pair[1 - drilled], self.mechanism)?))
        });
        if let Some((drilled, hole)) = far_hole {
            let found = self.kept(row, places, pair, true).unwrap_or_else(|| {
                let undrilled = on_undrilled(pair[drilled], self.undrilled);
                let mut pair = pair;
                pair[drilled] = &undrilled;
                measure_pair(pair[0], pair[1], self.mechanism, asked, &mut self.scratch)
            });
            if found.is_none_or(|found| hole.is_off(&found, drilled == 0)) {
                return Measured { a: a.clone(), b: b.clone(), on_undrilled: true, found };
            }
        }
        let found = self.kept(row, places, pair, false).unwrap_or_else(|| {
            self.scratch.walked_undrilled = false;
            let found = measure_pair(pair[0], pair[1], self.mechanism, asked, &mut self.scratch);
            match drilled {
                Some(drilled) if self.scratch.walked_undrilled => {
                    let own = self.bodies[places[drilled]].samples();
                    let whole = Body { samples: own, undrilled: false, ..*pair[drilled] };
                    let mut pair = pair;
                    pair[drilled] = &whole;
                    measure_pair(pair[0], pair[1], self.mechanism, asked, &mut self.scratch)
                }
                _ => found,
            }
        });
        Measured { a: a.clone(), b: b.clone(), on_undrilled: false, found }
    }

    /// What was measured of a pair, if it still stands.
    fn kept(
        &self,
        row: usize,
        places: [usize; 2],
        pair: [&Body<'_>; 2],
        on_undrilled: bool,
    ) -> Option<Option<PairMeasured>> {
        let before = self.before.as_ref().filter(|before| before.stands(places, pair))?;
        let undrilled_alike = Arc::ptr_eq(&before.pairs.undrilled, self.undrilled);
        let is = |then: &Arc<Built>, now: usize| {
            // On the undrilled body it does not matter how the body is drilled.
            if on_undrilled && pair[now].undrilled {
                undrilled_alike && then.part.id == pair[now].id
            } else {
                Arc::ptr_eq(then, &self.bodies[places[now]])
            }
        };
        let same = |kept: &&Measured| {
            kept.on_undrilled == on_undrilled && is(&kept.a, 0) && is(&kept.b, 1)
        };
        let rows = &before.pairs.rows;
        // Both lists mostly run in the same order of bodies.
        let kept = rows.get(row).filter(same).or_else(|| rows.iter().find(same))?;
        Some(kept.found)
    }
}

/// The hole of a drilled body, if another keeps so far from it that the undrilled body will do.
fn far_hole(drilled: &Body<'_>, other: &Body<'_>, mechanism: &Mechanism) -> Option<Hole> {
    let (centre, radius) = drilled.field.hole()?;
    let hole = Hole { centre, radius };
    hole.is_far_from(other, mechanism).then_some(hole)
}

/// A drilled body as its undrilled form.
fn on_undrilled<'a>(drilled: &Body<'a>, undrilled: &'a Built) -> Body<'a> {
    Body { field: &undrilled.field, undrilled: false, ..*drilled }
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

/// A body with its own surface.
fn whole<'a>(built: &'a Built, mechanism: &Mechanism) -> Body<'a> {
    with_samples(built, built.samples(), mechanism)
}

/// A body; one that is drilled has the surface of its undrilled form, so that its own need not be made.
fn body<'a>(built: &'a Built, undrilled: &'a Built, mechanism: &Mechanism) -> Body<'a> {
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

//! The clearance of two bodies: apart by a gap, touching, or one in the other by a depth.

use glam::DVec3;

use crate::geometry::distance::DistanceField;
use crate::geometry::motion::Motion;

use super::hand::Placed;
use super::mechanism::Group;
use super::search::{Least, Question, Scratch, Walk, least};
use super::surface_samples::SurfaceSamples;

/// Gaps up to this are exact; beyond, a guaranteed lower bound is enough, mm.
pub const EXACT_TO: f64 = 3.0;

/// Nearer than this, with no more overlap than this, is touching, mm.
pub const TOUCHING: f64 = 0.005;

/// A body of a part or keep-out as the checks see it, at rest: key closed, neck straight.
#[derive(Clone, Copy, Debug)]
pub struct Body<'a> {
    pub id: &'a str,
    pub field: &'a DistanceField,
    pub samples: &'a SurfaceSamples,
    /// The samples are those of the undrilled body the body is drilled from: they hold it, but walking
    /// over them is noted in the scratch (`walked_undrilled`) and says nothing of the body.
    pub undrilled: bool,
    pub group: Group,
    pub keepout: bool,
    /// The body is round about the hinge: the key's turn changes nothing between the two.
    pub round_about_hinge: bool,
    /// The same of the tenon's axis and the neck's turn.
    pub round_about_tenon: bool,
    /// Of a body of the horn: the field of all places it goes through while the neck is turned.
    pub through: Option<&'a DistanceField>,
    /// Where it is placed by hand; none for what is not.
    pub placed: Option<Placed>,
}

impl Body<'_> {
    /// Whether the body swings with the octave key.
    #[must_use]
    pub fn moves_with_key(&self) -> bool {
        self.group == Group::Key
    }
}

/// A body in its place.
#[derive(Clone, Copy, Debug)]
pub struct Posed<'a> {
    pub body: &'a Body<'a>,
    /// From the place at rest; none if it rests.
    pub motion: Option<Motion>,
}

impl<'a> Posed<'a> {
    /// A body at rest.
    #[must_use]
    pub fn at_rest(body: &'a Body<'a>) -> Self {
        Self { body, motion: None }
    }

    /// A point of the body at rest, where it is now.
    fn forth(&self, point: DVec3) -> DVec3 {
        self.motion.map_or(point, |motion| motion.point(point))
    }

    /// Where the body has a point at rest that is here now.
    pub(super) fn back(&self, point: DVec3) -> DVec3 {
        self.motion.map_or(point, |motion| motion.inverse().point(point))
    }
}

/// What is to be found of a pair.
#[derive(Clone, Copy, Debug)]
pub struct Aim {
    /// Gaps up to this are exact; beyond, a lower bound is enough, mm.
    pub exact_to: f64,
    /// By how much a gap may be over the least there is, mm.
    pub gap_to: f64,
    /// How far a depth of overlap may fall short of the true one, mm.
    pub depth_to: f64,
    /// Points of the two bodies, at rest, that may be near the nearest ones. Wrong ones cost
    /// time and nothing else, as long as they lie on the bodies' surfaces.
    pub seeds: Option<[DVec3; 2]>,
}

impl Aim {
    /// Exact as far as the list is.
    pub const LIST: Self = Self { exact_to: EXACT_TO, gap_to: 1e-5, depth_to: 1e-3, seeds: None };
    /// For what is only compared with each other, or told to a hundredth.
    pub const ROUGH: Self = Self { gap_to: 5e-4, depth_to: 0.01, ..Self::LIST };
}

/// How two bodies stand to each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    Clear,
    Touching,
    Overlapping,
}

impl State {
    /// Of a signed distance.
    pub(super) fn of(distance: f64) -> Self {
        if distance < -TOUCHING {
            Self::Overlapping
        } else if distance < TOUCHING {
            Self::Touching
        } else {
            Self::Clear
        }
    }
}

/// The clearance of two bodies. Millimetres, points in the frame of the neck.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Clearance {
    pub state: State,
    /// 0 unless clear.
    pub gap: f64,
    /// Greatest depth of a surface point of either in the other; 0 unless overlapping.
    pub overlap: f64,
    /// The gap is a lower bound, at least what had to be exact.
    pub at_least: bool,
    /// The two points that are `gap` apart; for an overlap the deepest surface point and the
    /// point of the other's surface nearest to it. For a lower bound, any two.
    pub a_point: DVec3,
    pub b_point: DVec3,
    /// Signed distance of the two points, negative for a depth.
    pub distance: f64,
    /// The pair is surely no nearer, or no deeper, than this signed distance.
    pub bound: f64,
}

/// Measures two bodies where they are.
///
/// The gap is the distance of two true points, one on the modelled surface of one body, the
/// other on the other body by its definition, and more than the least there is by no more than the
/// aim allows. Modelled surfaces keep to the definitions within 0.001 mm, mostly far better; how they
/// ripple within that is not searched for.
///
/// `None` only for a body without surface.
#[must_use]
pub fn clearance(
    a: &Posed<'_>,
    b: &Posed<'_>,
    aim: &Aim,
    scratch: &mut Scratch,
) -> Option<Clearance> {
    scratch.turn_to_other_bodies();
    clearance_again(a, b, aim, scratch)
}

/// Measures in another pose the two bodies the scratch was turned to, in the same order: what was learned of them
/// in the poses before spares most of the questions.
pub(super) fn clearance_again(
    a: &Posed<'_>,
    b: &Posed<'_>,
    aim: &Aim,
    scratch: &mut Scratch,
) -> Option<Clearance> {
    // Walk over the one whose surface is cheap to walk over and whose field is dear to ask.
    let cost =
        |asked: &Body<'_>, walked: &Body<'_>| asked.field.price() * walked.samples.size() as f64;
    let walk_b = cost(a.body, b.body) <= cost(b.body, a.body);
    let (asked, walked) = if walk_b { (a, b) } else { (b, a) };
    let seeds = aim.seeds.map(|[a, b]| if walk_b { [a, b] } else { [b, a] });
    let exact_to = aim.exact_to.max(TOUCHING);
    let (walk, back) =
        if walk_b { (Walk::Second, Walk::First) } else { (Walk::First, Walk::Second) };
    let limits = Limits {
        walk,
        ceiling: exact_to,
        touching: TOUCHING,
        gap_to: aim.gap_to,
        depth_to: aim.depth_to,
    };
    let first = search(asked, walked, seeds.map(|s| s[1]), &limits, scratch)?;
    let mut found = Found { distance: first.distance, walked: first.point, asked: first.foot };
    let mut state = State::Clear;
    let mut bound = first.bound;
    if first.distance < TOUCHING || holds(walked, asked) {
        // Crossing surfaces, or one body wholly inside the other: the deepest point can be on
        // either surface.
        let ceiling = found.distance.min(-TOUCHING);
        let limits = Limits { walk: back, ceiling, touching: 0.0, ..limits };
        let second = search(walked, asked, seeds.map(|s| s[0]), &limits, scratch)?;
        bound = first.bound.min(second.bound);
        if second.distance < found.distance {
            found = Found { distance: second.distance, walked: second.foot, asked: second.point };
        }
        state = State::of(found.distance);
    }
    // Just beyond the limit the bound may still lie below it; the distance found is exact there.
    let at_least = state == State::Clear && found.distance > exact_to && first.bound >= exact_to;
    let (a_point, b_point) =
        if walk_b { (found.asked, found.walked) } else { (found.walked, found.asked) };
    Some(Clearance {
        state,
        gap: match state {
            State::Clear if at_least => first.bound,
            State::Clear => found.distance,
            _ => 0.0,
        },
        overlap: if state == State::Overlapping { -found.distance } else { 0.0 },
        at_least,
        a_point,
        b_point,
        distance: found.distance,
        bound,
    })
}

/// A room without a surface of its own: a field, and boxes round it.
pub(super) struct Taken<'a> {
    pub field: &'a DistanceField,
    pub boxes: &'a [(DVec3, DVec3)],
}

/// Measures a body against a room: how near its surface comes to it, or how deep it goes into it.
/// The first point is the body's. The scratch is turned to the body and the one that takes the room.
pub(super) fn one_sided(
    body: &Posed<'_>,
    room: &Taken<'_>,
    exact_to: f64,
    seed: Option<DVec3>,
    scratch: &mut Scratch,
) -> Option<Clearance> {
    scratch.walked_undrilled |= body.body.undrilled;
    let question = Question {
        field: room.field,
        boxes: room.boxes,
        samples: body.body.samples,
        motion: body.motion.as_ref(),
        walk: Walk::Room,
        seed,
        ceiling: exact_to.max(TOUCHING),
        gap_to: Aim::ROUGH.gap_to,
        depth_to: Aim::ROUGH.depth_to,
        touching: TOUCHING,
    };
    let found = least(&question, scratch)?;
    let state = State::of(found.distance);
    let at_least = state == State::Clear && found.distance > exact_to && found.bound >= exact_to;
    Some(Clearance {
        state,
        gap: if state == State::Clear { found.distance } else { 0.0 },
        overlap: if state == State::Overlapping { -found.distance } else { 0.0 },
        at_least,
        a_point: found.point,
        b_point: found.foot,
        distance: found.distance,
        bound: found.bound,
    })
}

/// Which surface a search walks over, and what it may leave inexact: see [`Question`].
#[derive(Clone, Copy)]
struct Limits {
    walk: Walk,
    ceiling: f64,
    touching: f64,
    gap_to: f64,
    depth_to: f64,
}

/// The least found, with the points by the body they lie on, in the frame of the neck.
struct Found {
    distance: f64,
    walked: DVec3,
    asked: DVec3,
}

/// The least signed distance of the surface of `walked` to `asked`; points in the frame of
/// the neck.
fn search(
    asked: &Posed<'_>,
    walked: &Posed<'_>,
    seed: Option<DVec3>,
    limits: &Limits,
    scratch: &mut Scratch,
) -> Option<Least> {
    let motion = if asked.motion == walked.motion {
        // Both move alike: they keep their places to each other.
        None
    } else {
        match (asked.motion.map(|motion| motion.inverse()), walked.motion) {
            (Some(back), Some(forth)) => Some(back.after(&forth)),
            (back, forth) => back.or(forth),
        }
    };
    scratch.walked_undrilled |= walked.body.undrilled;
    // The walls of a hole may lie between the boxes of its undrilled body's surface, but not outside them.
    let whole = [asked.body.samples.bounds()];
    let question = Question {
        field: asked.body.field,
        boxes: if asked.body.undrilled { &whole } else { &asked.body.samples.boxes },
        samples: walked.body.samples,
        motion: motion.as_ref(),
        walk: limits.walk,
        seed,
        ceiling: limits.ceiling,
        gap_to: limits.gap_to,
        depth_to: limits.depth_to,
        touching: limits.touching,
    };
    let mut found = least(&question, scratch)?;
    found.point = asked.forth(found.point);
    found.foot = asked.forth(found.foot);
    Some(found)
}

/// Whether a point of the surface of `inner` lies inside `outer`: with surfaces that do not
/// cross, all of it does then.
fn holds(outer: &Posed<'_>, inner: &Posed<'_>) -> bool {
    let Some(point) = inner.body.samples.any_point() else { return false };
    let point = outer.back(inner.forth(point));
    let (low, high) = outer.body.samples.bounds();
    let boxed = point.cmpge(low).all() && point.cmple(high).all();
    boxed && outer.body.field.near(point).distance < 0.0
}

//! The clearance of two bodies: apart by a gap, touching, or one in the other by a depth.

use glam::DVec3;

use crate::geometry::distance::DistanceField;
use crate::geometry::motion::Motion;

use super::search::{Least, Question, Scratch, least};
use super::surface_samples::SurfaceSamples;

/// Gaps up to this are exact; beyond, a guaranteed lower bound is enough, mm.
pub const EXACT_TO: f64 = 3.0;

/// Nearer than this, with no more overlap than this, is touching, mm.
pub const TOUCHING: f64 = 0.005;

/// A body of a part or keep-out as the checks see it, key closed.
#[derive(Clone, Copy, Debug)]
pub struct Body<'a> {
    pub id: &'a str,
    pub field: &'a DistanceField,
    pub samples: &'a SurfaceSamples,
    pub moves_with_key: bool,
    pub keepout: bool,
}

/// How two bodies stand to each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    Clear,
    Touching,
    Overlapping,
}

/// The clearance of two bodies. Millimetres, points in the frame of the neck.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Clearance {
    pub state: State,
    /// 0 unless clear.
    pub gap: f64,
    /// Greatest depth of a surface point of either in the other; 0 unless overlapping.
    pub overlap: f64,
    /// The gap is a lower bound, at least [`EXACT_TO`].
    pub at_least: bool,
    /// The two points that are `gap` apart; for an overlap the deepest surface point and the
    /// point of the other's surface nearest to it. For a lower bound, any two.
    pub a_point: DVec3,
    pub b_point: DVec3,
}

/// Measures two bodies with the key turned by `key` (none: closed).
///
/// The gap is the distance of two true points, one on the modelled surface of one body, the
/// other on the other body by its definition, and at most 0.00001 mm more than the least there
/// is. Modelled surfaces keep to the definitions within 0.001 mm, mostly far better; how they
/// ripple within that is not searched for. Depths of overlap are found to 0.001 mm.
///
/// `None` only for a body without surface.
#[must_use]
pub fn clearance(
    a: &Body<'_>,
    b: &Body<'_>,
    key: Option<&Motion>,
    scratch: &mut Scratch,
) -> Option<Clearance> {
    // Walk over the one whose surface is cheap to walk over and whose field is dear to ask.
    let walk_b =
        a.field.price() * b.samples.size() as f64 <= b.field.price() * a.samples.size() as f64;
    let (asked, walked) = if walk_b { (a, b) } else { (b, a) };
    let first = search(asked, walked, key, (EXACT_TO, TOUCHING), scratch)?;
    let mut found = Found { distance: first.distance, walked: first.point, asked: first.foot };
    let mut state = State::Clear;
    if first.distance < TOUCHING || holds(walked, asked, key) {
        // Crossing surfaces, or one body wholly inside the other: the deepest point can be on
        // either surface.
        let second = search(walked, asked, key, (found.distance.min(-TOUCHING), 0.0), scratch)?;
        if second.distance < found.distance {
            found = Found { distance: second.distance, walked: second.foot, asked: second.point };
        }
        state = if found.distance < -TOUCHING {
            State::Overlapping
        } else if found.distance < TOUCHING {
            State::Touching
        } else {
            State::Clear
        };
    }
    // Just beyond the limit the bound may still lie below it; the distance found is exact there.
    let at_least = state == State::Clear && found.distance > EXACT_TO && first.bound >= EXACT_TO;
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
    })
}

/// The least found, with the points by the body they lie on, in the frame of the neck.
struct Found {
    distance: f64,
    walked: DVec3,
    asked: DVec3,
}

/// The motion of `body` with the key turned.
fn pose<'m>(body: &Body<'_>, key: Option<&'m Motion>) -> Option<&'m Motion> {
    key.filter(|_| body.moves_with_key)
}

/// The least signed distance of the surface of `walked` to `asked`; points in the frame of
/// the neck.
fn search(
    asked: &Body<'_>,
    walked: &Body<'_>,
    key: Option<&Motion>,
    (ceiling, touching): (f64, f64),
    scratch: &mut Scratch,
) -> Option<Least> {
    let back = pose(asked, key).map(Motion::inverse);
    let motion = match (pose(walked, key), &back) {
        // Both turn, or neither: they keep their places to each other.
        (Some(_), Some(_)) | (None, None) => None,
        (Some(forth), None) => Some(forth),
        (None, Some(back)) => Some(back),
    };
    let question = Question {
        field: asked.field,
        boxes: &asked.samples.boxes,
        samples: walked.samples,
        motion,
        ceiling,
        touching,
    };
    let mut found = least(&question, scratch)?;
    if let Some(turned) = pose(asked, key) {
        found.point = turned.point(found.point);
        found.foot = turned.point(found.foot);
    }
    Some(found)
}

/// Whether a point of the surface of `inner` lies inside `outer`: with surfaces that do not
/// cross, all of it does then.
fn holds(outer: &Body<'_>, inner: &Body<'_>, key: Option<&Motion>) -> bool {
    let Some(mut point) = inner.samples.any_point() else { return false };
    if let Some(motion) = pose(inner, key) {
        point = motion.point(point);
    }
    if let Some(motion) = pose(outer, key) {
        point = motion.inverse().point(point);
    }
    let (low, high) = outer.samples.bounds();
    let boxed = point.cmpge(low).all() && point.cmple(high).all();
    boxed && outer.field.near(point).distance < 0.0
}

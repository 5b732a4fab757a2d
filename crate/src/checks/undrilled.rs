//! A drilled body measured as the body it was before it was drilled.
//!
//! What keeps away from the hole does not see it. Gaps are exact up to some `e`: [`EXACT_TO`], and
//! where hands have not yet moved the body, as much more as they can. Let a body stay farther than
//! `e` from a ball round the hole's wall, and let `g` be its signed distance to the undrilled body.
//!
//! * With 0 <= g <= e, the undrilled body's nearest point lies within `g` of the body and so outside the
//!   ball: it is a point of the drilled body too. No point of that is nearer, since drilling adds
//!   none.
//! * Where the body goes into the undrilled body's metal, a point in it is farther from the hole than any
//!   wall is thick, so it is as deep as in the undrilled body; and no wall of the hole is in the body.
//! * With `g` greater, a lower bound for the undrilled body is one for the drilled body.
//!
//! So the undrilled body's answers are the drilled body's, and stay when the hole is moved.

use glam::DVec3;

use super::clearance::{Body, EXACT_TO};
use super::hand::greatest_way;
use super::mechanism::{Group, Mechanism};
use super::pair::{PairMeasured, swept_by_key};
use super::surface_samples::apart_from;

/// A ball round all that drilling took away, and the walls it left. Millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hole {
    pub centre: DVec3,
    pub radius: f64,
}

impl Hole {
    /// Whether a body stays away from the hole in every pose and placing it is measured in. The
    /// drilled body is soldered to the neck and not placed by hand.
    #[must_use]
    pub fn is_far_from(&self, body: &Body<'_>, mechanism: &Mechanism) -> bool {
        let at_rest = apart_from(&body.samples.boxes, self.centre) - self.radius;
        // Seen from the body the hole is turned the other way; no arc is shorter than its chord.
        let turned = match body.group {
            Group::Neck => 0.0,
            Group::Key => mechanism.hinge.distance(self.centre) * mechanism.open_angle.abs(),
            Group::Horn => mechanism.tenon.distance(self.centre) * mechanism.neck_turn.abs(),
        };
        let by_hand = greatest_way(body, Some(swept_by_key(body, mechanism)));
        at_rest - turned - by_hand > EXACT_TO
    }

    /// Whether none of the points found on the drilled body, the first or the second of the pair,
    /// may lie in the hole's mouth. Where only a bound is known no point was found, and the bound holds for both.
    #[must_use]
    pub fn is_off(&self, found: &PairMeasured, first: bool) -> bool {
        let swing = found.swing.iter().flat_map(|(open, least)| [*open, least.least]);
        let turned = found.turned.iter().map(|(least, _)| least.least);
        std::iter::once(found.rest).chain(swing).chain(turned).all(|clearance| {
            let point = if first { clearance.a_point } else { clearance.b_point };
            clearance.at_least || point.distance(self.centre) > self.radius
        })
    }
}

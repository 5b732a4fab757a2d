//! All that is measured of one pair: at rest, with the key open, through the key's swing, and
//! while the player turns the neck.

use glam::DVec3;

use crate::geometry::distance::DistanceField;

use super::clearance::{Aim, Body, Clearance, EXACT_TO, Posed, Taken, clearance_again, one_sided};
use super::hand::{greatest_way, placed_as_one, worst_by_hand};
use super::mechanism::{Group, Mechanism, Pivot, Turn};
use super::search::Scratch;
use super::surface_samples::corners_of;
use super::swing::{SwingLeast, Wanted, least_over};

/// Two bodies measured from both sides differ from one measured against the room of the other by less, mm.
const SURFACES: f64 = 0.01;

/// What was measured of a pair. Free of limits: they are laid on when rows are made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PairMeasured {
    /// Key closed, neck straight.
    pub rest: Clearance,
    /// Open, and the least over the whole swing; none if the key's swing does not move the two
    /// against each other.
    pub swing: Option<(Clearance, SwingLeast)>,
    /// What is left of each at the worst placing by hand.
    pub by_hand: ByHand,
    /// The least while the player turns the neck, through the whole swing of the key, with the
    /// turn of the horn; none if neither is a part of the horn.
    pub turned: Option<(SwingLeast, f64)>,
}

/// Signed distances at the worst placing by hand, mm; none where the two are placed as one.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ByHand {
    pub rest: Option<f64>,
    pub open: Option<f64>,
    /// The least of these two and of the angle of the least; what hands leave at angles between is
    /// not searched for.
    pub swing: Option<f64>,
}

/// What is asked of a pair beside its clearance at rest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Asked {
    /// What hands leave of it.
    pub by_hand: bool,
    /// How deep it overlaps at the worst angle of the swing, and not only at rest and open.
    pub depths: bool,
}

impl Asked {
    /// All of it.
    pub const ALL: Self = Self { by_hand: true, depths: true };
}

/// Measures a pair in all its poses; `None` only for a body without surface.
#[must_use]
pub fn measure_pair(
    a: &Body<'_>,
    b: &Body<'_>,
    mechanism: &Mechanism,
    asked: Asked,
    scratch: &mut Scratch,
) -> Option<PairMeasured> {
    let asked = Asked { by_hand: asked.by_hand && !placed_as_one(a, b), ..asked };
    // What hands can take of the gap: so much more has to be exact, for what is left to be. Where the key's swing moves
    // the two alike, they are asked about at rest alone, and what is told must not follow from the swing.
    let swings = one_is(a, b, Group::Key);
    let room = if asked.by_hand {
        let way = |body| greatest_way(body, swings.then(|| swept_by_key(body, mechanism)));
        [a, b].map(way).iter().sum()
    } else {
        0.0
    };
    let exact_to = EXACT_TO + room;
    let aim = Aim { exact_to, ..Aim::LIST };
    scratch.turn_to_other_bodies();
    let rest = clearance_again(&Posed::at_rest(a), &Posed::at_rest(b), &aim, scratch)?;
    let swing = if swings {
        let wanted = Wanted { exact_to, depths: asked.depths };
        Some(through_swing(a, b, mechanism, wanted, rest, scratch)?)
    } else {
        None
    };
    let part = if a.group == Group::Horn { b } else { a };
    let turned = if !one_is(a, b, Group::Horn) || part.keepout {
        // Two keep-outs ask nothing of each other.
        None
    } else if a.round_about_tenon || b.round_about_tenon {
        Some((swing.map_or(SwingLeast::unmoved(rest), |swing| swing.1), 0.0))
    } else {
        let horn = if a.group == Group::Horn { a } else { b };
        while_turned(a, b, part, horn, mechanism, scratch)
    };
    let by_hand = if asked.by_hand {
        by_hand(a, b, mechanism, &rest, swing.as_ref(), room, scratch)
    } else {
        ByHand::default()
    };
    Some(PairMeasured { rest, swing, by_hand, turned })
}

/// What hands leave of a pair in its poses.
fn by_hand(
    a: &Body<'_>,
    b: &Body<'_>,
    mechanism: &Mechanism,
    rest: &Clearance,
    swing: Option<&(Clearance, SwingLeast)>,
    room: f64,
    scratch: &mut Scratch,
) -> ByHand {
    let mut worst = |angle: f64, found: &Clearance| {
        let [a, b] = [a, b].map(|body| mechanism.posed(body, key_at(angle)));
        worst_by_hand(&a, &b, found, room, scratch)
    };
    let at_rest = worst(0.0, rest);
    let Some((open, least)) = swing else { return ByHand { rest: at_rest, ..ByHand::default() } };
    let at_open = worst(mechanism.open_angle, open);
    let at_least = if least.least.at_least || !least.settled {
        Some(least.bound - room)
    } else if least.angle == 0.0 {
        at_rest
    } else if least.angle == mechanism.open_angle {
        at_open
    } else {
        worst(least.angle, &least.least)
    };
    let all = [at_rest, at_open, at_least].into_iter().flatten();
    // Where they touch at the least nothing is known of it, nor of the whole.
    let swing = at_least.and_then(|_| all.min_by(f64::total_cmp));
    ByHand { rest: at_rest, open: at_open, swing }
}

/// A box round all places the key takes a body through.
pub(super) fn swept_by_key(body: &Body<'_>, mechanism: &Mechanism) -> (DVec3, DVec3) {
    let angles = if body.moves_with_key() { (0.0, mechanism.open_angle) } else { (0.0, 0.0) };
    swept(body, &mechanism.hinge, angles)
}

/// A box round all places a turn about a line takes a body through.
fn swept(body: &Body<'_>, about: &Pivot, (from, to): (f64, f64)) -> (DVec3, DVec3) {
    const STEPS: i32 = 8;
    let bounds = body.samples.bounds();
    if from == to {
        return bounds;
    }
    let step = (to - from) / f64::from(STEPS);
    let corners: Vec<DVec3> = corners_of(bounds).collect();
    let mut all = (DVec3::splat(f64::INFINITY), DVec3::splat(f64::NEG_INFINITY));
    for k in 0..=STEPS {
        let motion = about.turned(from + step * f64::from(k));
        for &corner in &corners {
            let place = motion.map_or(corner, |motion| motion.point(corner));
            all = (all.0.min(place), all.1.max(place));
        }
    }
    // Between steps corners bulge over the chord by this.
    let reach = corners.iter().map(|&corner| about.distance(corner)).fold(0.0, f64::max);
    let bulge = reach * (1.0 - libm::cos(step / 2.0));
    (all.0 - bulge, all.1 + bulge)
}

fn one_is(a: &Body<'_>, b: &Body<'_>, group: Group) -> bool {
    (a.group == group) != (b.group == group)
}

fn key_at(angle: f64) -> Turn {
    Turn { key: angle, horn: 0.0 }
}

/// Key open, and the least over its swing.
fn through_swing(
    a: &Body<'_>,
    b: &Body<'_>,
    mechanism: &Mechanism,
    wanted: Wanted,
    rest: Clearance,
    scratch: &mut Scratch,
) -> Option<(Clearance, SwingLeast)> {
    let end = mechanism.open_angle;
    let mut measure = |angle: f64, exact_to: f64, nearest: Option<(f64, Clearance)>| {
        // The nearest points of the nearest angle are good candidates here.
        let seeds = nearest.map(|(then, found)| {
            let back = |body, point| mechanism.posed(body, key_at(then)).back(point);
            [back(a, found.a_point), back(b, found.b_point)]
        });
        let [a, b] = [a, b].map(|body| mechanism.posed(body, key_at(angle)));
        // Depths between the ends are only compared.
        let usual = if angle == end { Aim::LIST } else { Aim::ROUGH };
        clearance_again(&a, &b, &Aim { exact_to, seeds, ..usual }, scratch)
    };
    let seed = (!rest.at_least).then_some((0.0, rest));
    let open = measure(end, wanted.exact_to, seed)?;
    // What is round about the hinge feels nothing of the swing.
    let end = if a.round_about_hinge || b.round_about_hinge { 0.0 } else { end };
    let reach = |body: &Body<'_>| body.samples.reach_from(&mechanism.hinge);
    let mut known = vec![(0.0, rest)];
    if end > 0.0 {
        known.push((end, open));
    }
    let least = least_over(end, reach(a).min(reach(b)), wanted, known, measure)?;
    Some((open, least))
}

/// The least over all turns of the neck, and over the key's swing if the part moves with it.
///
/// Pin and clamp screw are cylinders; the room each goes through has a distance in closed form,
/// so the neck's turn costs no steps. `None` for a body of the horn that is none.
fn while_turned(
    a: &Body<'_>,
    b: &Body<'_>,
    part: &Body<'_>,
    horn: &Body<'_>,
    mechanism: &Mechanism,
    scratch: &mut Scratch,
) -> Option<(SwingLeast, f64)> {
    let field = horn.through?;
    let turn = mechanism.neck_turn;
    let boxes = [swept(horn, &mechanism.tenon, (-turn, turn))];
    let room = Taken { field, boxes: &boxes };
    let wanted = Wanted { exact_to: EXACT_TO, depths: true };
    let end = if part.group == Group::Key { mechanism.open_angle } else { 0.0 };
    let reach = part.samples.reach_from(&mechanism.hinge);
    let rough = least_over(end, reach, wanted, Vec::new(), |angle, exact_to, nearest| {
        let seed =
            nearest.map(|(then, found)| mechanism.posed(part, key_at(then)).back(found.a_point));
        one_sided(&mechanism.posed(part, key_at(angle)), &room, exact_to, seed, scratch)
    })?;
    // Measured once more at that very turn, from both sides.
    let DistanceField::Through(through) = field else { return None };
    let turn = Turn { key: rough.angle, horn: through.turn_at(rough.least.a_point) };
    let [a, b] = [a, b].map(|body| mechanism.posed(body, turn));
    // What is no bound there is to be none here: a bound of the whole motion lies a little lower.
    let found = if rough.least.at_least { 0.0 } else { rough.least.distance + SURFACES };
    let aim = Aim { exact_to: EXACT_TO.max(found), ..Aim::LIST };
    let least = clearance_again(&a, &b, &aim, scratch)?;
    Some((SwingLeast { least, ..rough }, turn.horn))
}

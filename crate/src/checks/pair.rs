//! All that is measured of one pair: at rest, with the key open, through the key's swing, and
//! while the player turns the neck.

use glam::DVec3;

use crate::geometry::distance::DistanceField;

use super::clearance::{Aim, Body, Clearance, Posed, Taken, clearance, one_sided};
use super::hand::worst_by_hand;
use super::mechanism::{Group, Mechanism, Turn};
use super::search::Scratch;
use super::surface_samples::corners_of;
use super::swing::{SwingLeast, least_over};

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
    /// At the angle of the least.
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
    let rest = clearance(&Posed::at_rest(a), &Posed::at_rest(b), &Aim::LIST, scratch)?;
    let swing = if one_is(a, b, Group::Key) {
        Some(through_swing(a, b, mechanism, asked, rest, scratch)?)
    } else {
        None
    };
    let part = if a.group == Group::Horn { b } else { a };
    let turned = if !one_is(a, b, Group::Horn) || part.keepout {
        // Two keep-outs ask nothing of each other.
        None
    } else if a.round_about_tenon || b.round_about_tenon {
        let still = SwingLeast { least: rest, angle: 0.0, bound: rest.bound };
        Some((swing.map_or(still, |swing| swing.1), 0.0))
    } else {
        let horn = if a.group == Group::Horn { a } else { b };
        while_turned(a, b, part, horn, mechanism, scratch)
    };
    let mut worst = |turn: Turn, found: &Clearance| {
        if !asked.by_hand {
            return None;
        }
        let [a, b] = [a, b].map(|body| mechanism.posed(body, turn));
        worst_by_hand(&a, &b, found, scratch)
    };
    let mut left = ByHand { rest: worst(Turn::REST, &rest), ..ByHand::default() };
    if let Some((open, least)) = &swing {
        left.open = worst(key_at(mechanism.open_angle), open);
        left.swing = if least.angle == 0.0 {
            left.rest
        } else if least.angle == mechanism.open_angle {
            left.open
        } else {
            worst(key_at(least.angle), &least.least)
        };
    }
    Some(PairMeasured { rest, swing, by_hand: left, turned })
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
    asked: Asked,
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
        clearance(&a, &b, &Aim { exact_to, seeds, ..usual }, scratch)
    };
    let seed = (!rest.at_least).then_some((0.0, rest));
    let open = measure(end, Aim::LIST.exact_to, seed)?;
    // What is round about the hinge feels nothing of the swing.
    let end = if a.round_about_hinge || b.round_about_hinge { 0.0 } else { end };
    let reach = |body: &Body<'_>| body.samples.reach_from(&mechanism.hinge);
    let mut known = vec![(0.0, rest)];
    if end > 0.0 {
        known.push((end, open));
    }
    let least = least_over(end, reach(a).min(reach(b)), asked.depths, known, measure)?;
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
    let (field, boxes) = (horn.through?, through_boxes(horn, mechanism));
    let room = Taken { field, boxes: &boxes };
    let end = if part.group == Group::Key { mechanism.open_angle } else { 0.0 };
    let reach = part.samples.reach_from(&mechanism.hinge);
    let rough = least_over(end, reach, true, Vec::new(), |angle, exact_to, nearest| {
        let seed =
            nearest.map(|(then, found)| mechanism.posed(part, key_at(then)).back(found.a_point));
        one_sided(&mechanism.posed(part, key_at(angle)), &room, exact_to, seed, scratch)
    })?;
    // Measured once more at that very turn, from both sides.
    let DistanceField::Through(through) = field else { return None };
    let turn = Turn { key: rough.angle, horn: through.turn_at(rough.least.a_point) };
    let [a, b] = [a, b].map(|body| mechanism.posed(body, turn));
    let least = clearance(&a, &b, &Aim::LIST, scratch)?;
    Some((SwingLeast { least, ..rough }, turn.horn))
}

/// Boxes round all places a body of the horn goes through.
fn through_boxes(horn: &Body<'_>, mechanism: &Mechanism) -> Vec<(DVec3, DVec3)> {
    const STEPS: i32 = 4;
    let step = mechanism.neck_turn / f64::from(STEPS);
    // Between steps points bulge over the chord by this.
    let bulge = horn.samples.reach_from(&mechanism.tenon) * (1.0 - libm::cos(step / 2.0));
    let corners: Vec<DVec3> = corners_of(horn.samples.bounds()).collect();
    let mut all = (DVec3::splat(f64::INFINITY), DVec3::splat(f64::NEG_INFINITY));
    for k in -STEPS..=STEPS {
        let turn = Turn { key: 0.0, horn: step * f64::from(k) };
        let motion = mechanism.motion(Group::Horn, turn);
        for &corner in &corners {
            let place = motion.map_or(corner, |motion| motion.point(corner));
            all = (all.0.min(place), all.1.max(place));
        }
    }
    vec![(all.0 - bulge, all.1 + bulge)]
}

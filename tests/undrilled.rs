//! The tube's rows of the list, most of which are measured on the tube before it is drilled,
//! against the drilled tube itself.

#[path = "support/bodies.rs"]
mod bodies;
#[path = "support/measured.rs"]
mod measured;

use measured::Made;
use neckwright::checks::{
    Aim, Asked, Group, Mechanism, PairMeasured, PairState, Pivot, Placed, Pose, Scratch, State,
    Turn, clearance, measure_pair,
};
use neckwright::model::Model;
use neckwright::units::rad_from_deg;
use serde_json::Value;

/// Both are right to this, mm: what a search may leave and what a depth is rounded by.
const WITHIN: f64 = 2e-3;

const HORN: [&str; 3] = ["receiver", "clamp_screw", "octave_pin"];

/// Every body of a neck, the drilled tube first, and how they move.
fn bodies_of(model: &Model) -> (Vec<Made>, Mechanism) {
    let (job, neck) = (&model.job, &model.assembly);
    let mechanism = Mechanism {
        hinge: Pivot { point: neck.hinge.point, axis: neck.hinge.direction },
        open_angle: neck.open_angle,
        tenon: Pivot { point: neck.tenon_axis.origin, axis: neck.tenon_axis.z },
        neck_turn: rad_from_deg(job.horn.neck_turn_deg),
    };
    let made = neck
        .parts
        .iter()
        .chain(&neck.keepouts)
        .map(|part| {
            let group = match part.id {
                id if HORN.contains(&id) => Group::Horn,
                _ if part.moves_with_key => Group::Key,
                _ => Group::Neck,
            };
            let placed = neck
                .seating(part.id)
                .map(|seating| Placed { seating, reach: seating.reach(&job.placing) });
            Made { placed, ..Made::in_group(part.id, &part.shape, group, &mechanism) }
        })
        .collect();
    (made, mechanism)
}

/// The drilled tube against another body.
fn drilled(tube: &Made, other: &Made, mechanism: &Mechanism) -> PairMeasured {
    let scratch = &mut Scratch::default();
    measure_pair(&tube.body(), &other.body(), mechanism, Asked::ALL, scratch)
        .expect("has a surface")
}

/// The least the drilled tube is known to be from another body at a turn of the key, exact up to `exact_to`.
fn at(tube: &Made, other: &Made, mechanism: &Mechanism, key: f64, exact_to: f64) -> f64 {
    let (tube, other) = (tube.body(), other.body());
    let turn = Turn { key, horn: 0.0 };
    let posed = |body| mechanism.posed(body, turn);
    let aim = Aim { exact_to, ..Aim::LIST };
    let found = clearance(&posed(&tube), &posed(&other), &aim, &mut Scratch::default());
    let found = found.expect("has a surface");
    if found.at_least { found.bound } else { found.distance }
}

#[test]
fn what_keeps_away_from_the_hole_does_not_see_it() {
    let (mut exact, mut bounds) = (0, 0);
    for (text, station) in [
        (include_str!("../examples/jobs/alto.json"), 66.0),
        (include_str!("../examples/jobs/alto.json"), 59.0),
        // Under the key's arm, and near the saddle.
        (include_str!("../examples/jobs/alto.json"), 78.0),
        (include_str!("../examples/jobs/tenor.json"), 96.0),
        (include_str!("../examples/jobs/largest.json"), 118.0),
        (include_str!("../examples/jobs/alto_clash.json"), 66.0),
    ] {
        let mut job: Value = serde_json::from_str(text).expect("the example is JSON");
        job["vent"]["station_mm"] = station.into();
        let Ok(model) = Model::build(&job.to_string(), None) else {
            panic!("a vent at {station} keeps every rule");
        };
        let list = model.clearances();
        let (made, mechanism) = bodies_of(&model);
        let (tube, others) = made.split_first().expect("a neck has parts");
        assert_eq!(tube.id, "tube");
        for other in others {
            let id = other.id;
            let found = drilled(tube, other, &mechanism);
            for row in list.pairs.iter().filter(|row| row.a == "tube" && row.b == id) {
                let (there, by_hand) = match (row.pose, &found.swing) {
                    (Pose::Open, Some((open, _))) => (*open, found.by_hand.open),
                    (Pose::Swing, Some((_, least))) => (least.least, found.by_hand.swing),
                    _ => (found.rest, found.by_hand.rest),
                };
                if row.at_least == Some(true) {
                    // No nearer in any position the bound is told of, looked at as far as the bound goes.
                    let angles = match row.pose {
                        Pose::Static | Pose::Closed => vec![0.0],
                        Pose::Open => vec![mechanism.open_angle],
                        _ => (0..=4).map(|k| mechanism.open_angle * f64::from(k) / 4.0).collect(),
                    };
                    for angle in angles {
                        let least = at(tube, other, &mechanism, angle, row.gap_mm + 0.1);
                        assert!(least >= row.gap_mm - WITHIN, "{id}: {row:?} {least} at {angle}");
                    }
                    assert!(row.gap_mm >= 3.0, "{id}: {row:?}");
                    bounds += 1;
                    continue;
                }
                exact += 1;
                assert!((row.gap_mm - there.gap).abs() < WITHIN, "{id}: {row:?} {there:?}");
                assert!(
                    (row.state == PairState::Overlapping) == (there.state == State::Overlapping)
                );
                if there.state != State::Overlapping || row.pose != Pose::Swing {
                    let miss = (row.overlap_mm - there.overlap).abs();
                    assert!(miss < WITHIN, "{id}: {row:?} {there:?}");
                }
                if let (Some(listed), Some(by_hand)) = (row.by_hand_mm, by_hand)
                    && listed < 3.0
                {
                    // Depths at the worst placing are only found to a hundredth.
                    assert!((listed - by_hand).abs() < 0.011, "{id}: {row:?} {by_hand}");
                }
            }
        }
    }
    assert!(exact > 90, "only {exact} rows are exact at all");
    assert!(bounds > 60, "only {bounds} rows are bounds");
}

//! The tube's rows of the list, most of which are measured on the tube before it is drilled,
//! against the drilled tube itself.

#[path = "support/bodies.rs"]
mod bodies;
#[path = "support/measured.rs"]
mod measured;

use measured::Made;
use neckwright::checks::{
    Asked, Group, Mechanism, PairMeasured, PairState, Pivot, Placed, Pose, Scratch, State,
    measure_pair,
};
use neckwright::model::Model;
use neckwright::units::rad_from_deg;
use serde_json::Value;

/// Both are right to this, mm: what a search may leave and what a depth is rounded by.
const WITHIN: f64 = 2e-3;

const HORN: [&str; 3] = ["receiver", "clamp_screw", "octave_pin"];

/// The drilled tube against every other body.
fn drilled(model: &Model) -> Vec<(&'static str, PairMeasured)> {
    let (job, neck) = (&model.job, &model.assembly);
    let mechanism = Mechanism {
        hinge: Pivot { point: neck.hinge.point, axis: neck.hinge.direction },
        open_angle: neck.open_angle,
        tenon: Pivot { point: neck.tenon_axis.origin, axis: neck.tenon_axis.z },
        neck_turn: rad_from_deg(job.horn.neck_turn_deg),
    };
    let made: Vec<Made> = neck
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
    let tube = made[0].body();
    let measured = |other: &Made| {
        let all =
            measure_pair(&tube, &other.body(), &mechanism, Asked::ALL, &mut Scratch::default());
        (other.id, all.expect("has a surface"))
    };
    made[1..].iter().map(measured).collect()
}

#[test]
fn what_keeps_away_from_the_hole_does_not_see_it() {
    let mut exact = 0;
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
        for (id, found) in drilled(&model) {
            for row in list.pairs.iter().filter(|row| row.a == "tube" && row.b == id) {
                let (there, by_hand) = match (row.pose, &found.swing) {
                    (Pose::Open, Some((open, _))) => (*open, found.by_hand.open),
                    (Pose::Swing, Some((_, least))) => (least.least, found.by_hand.swing),
                    _ => (found.rest, found.by_hand.rest),
                };
                if row.at_least == Some(true) {
                    assert!(there.distance >= row.gap_mm, "{id}: {row:?} {there:?}");
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
}

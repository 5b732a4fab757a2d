//! What is left of a clearance when parts are soldered off their places: against hand
//! calculation, and against every corner of the placings of a whole neck.

#[path = "support/bodies.rs"]
mod bodies;
#[path = "support/measured.rs"]
mod measured;

use glam::DVec3;
use measured::Made;
use neckwright::checks::{
    Aim, Asked, Group, Mechanism, Pivot, Placed, Posed, Scratch, Turn, clearance, measure_pair,
};
use neckwright::parts::{Part, build_from_text};
use serde_json::{Value, json};

const ALTO: &str = include_str!("../examples/jobs/alto.json");

/// The parts of a job, and how its key turns.
fn neck(text: &str) -> (Vec<Made>, Mechanism) {
    let built = build_from_text(text).expect("builds");
    let (job, neck) = (built.job, built.assembly);
    let mechanism = Mechanism {
        hinge: Pivot { point: neck.hinge.point, axis: neck.hinge.direction },
        open_angle: neck.open_angle,
        tenon: Pivot { point: neck.tenon_axis.origin, axis: neck.tenon_axis.z },
        neck_turn: 0.0,
    };
    let made = |part: &Part| {
        let seating = neck.seating(part.id);
        let group = if part.moves_with_key { Group::Key } else { Group::Neck };
        Made {
            placed: seating.map(|seating| Placed { seating, reach: seating.reach(&job.placing) }),
            ..Made::in_group(part.id, &part.shape, group, &mechanism)
        }
    };
    (neck.parts.iter().map(made).collect(), mechanism)
}

/// The parts of a job that do not move with the key.
fn made(text: &str) -> Vec<Made> {
    neck(text).0.into_iter().filter(|made| made.group == Group::Neck).collect()
}

fn still() -> Mechanism {
    Mechanism {
        hinge: Pivot { point: DVec3::ZERO, axis: DVec3::Y },
        open_angle: 0.1,
        tenon: Pivot { point: DVec3::ZERO, axis: DVec3::Z },
        neck_turn: 0.0,
    }
}

fn worst(bodies: &[Made], a: &str, b: &str) -> (f64, Option<f64>) {
    let find = |id: &str| bodies.iter().find(|made| made.id == id).expect("a part").body();
    let scratch = &mut Scratch::default();
    let found =
        measure_pair(&find(a), &find(b), &still(), Asked::ALL, scratch).expect("has a surface");
    (found.rest.distance, found.by_hand.rest)
}

fn changed(fields: &[(&str, Value)]) -> String {
    let mut job: Value = serde_json::from_str(ALTO).expect("the example is JSON");
    for (path, value) in fields {
        *job.pointer_mut(path).expect("a field of the job") = value.clone();
    }
    job.to_string()
}

/// A badge and a vent on the straight first part of a tube, one behind the other: both go along the
/// tube, so the gap shrinks by both ways, and nothing else can shrink it by more than a hair.
#[test]
fn along_a_straight_tube_both_ways_come_off_the_gap() {
    let badge = json!({
        "station_mm": 62.0, "azimuth_deg": 180.0, "length_mm": 10.0, "width_mm": 6.0,
        "thickness_mm": 0.8, "metal": "C26000"
    });
    // The brace begins 1.1 mm behind the badge, and both lie under the tube. A straight line of
    // 90 mm comes first, so both are on it where they meet.
    let text = changed(&[
        ("/badge", badge),
        ("/centreline/pieces/0/straight_mm", json!(90.0)),
        ("/bore/half_angle_deg", json!(1.2)),
        ("/brace/from_station_mm", json!(68.1)),
        ("/brace/to_station_mm", json!(84.0)),
        ("/brace/form", json!("contact")),
        ("/placing", json!({"along_mm": 0.15, "round_mm": 0.0, "height_mm": 0.0})),
    ]);
    let bodies = made(&text);
    let (gap, left) = worst(&bodies, "brace", "badge");
    // Along the slanted bottom of a tube that opens by 1.2° stations are 1 / cos longer.
    let truth = 1.1 / libm::cos(1.2f64.to_radians());
    assert!((gap - truth).abs() < 2e-3, "{gap} for {truth}");
    let left = left.expect("placed apart");
    assert!((left - (truth - 0.3)).abs() < 3e-3, "{left} for {}", truth - 0.3);
}

#[test]
fn what_is_placed_as_one_keeps_its_gap() {
    let bodies = made(ALTO);
    assert_eq!(worst(&bodies, "saddle", "post_left").1, None);
    assert_eq!(worst(&bodies, "tube", "cork").1, None);
}

/// No corner of the placings of two parts brings them nearer than what is told, closed or open;
/// nor than the bound that is told of those that are far apart.
#[test]
fn no_corner_of_the_placings_is_worse() {
    let (bodies, mechanism) = neck(ALTO);
    let scratch = &mut Scratch::default();
    let (mut near, mut far, mut moving) = (0, 0, 0);
    for (i, a) in bodies.iter().enumerate() {
        for b in &bodies[i + 1..] {
            let (one, other) = (a.body(), b.body());
            let all = measure_pair(&one, &other, &mechanism, Asked::ALL, scratch);
            let all = all.expect("has a surface");
            let open = Turn { key: mechanism.open_angle, horn: 0.0 };
            let mut poses = vec![(Turn::REST, all.rest, all.by_hand.rest)];
            poses.extend(all.swing.map(|(found, _)| (open, found, all.by_hand.open)));
            for (turn, found, left) in poses {
                // Farther apart, no placing matters.
                let Some(left) = left.filter(|_| (0.3..4.5).contains(&found.bound)) else {
                    continue;
                };
                if found.at_least {
                    far += 1
                } else {
                    near += 1
                }
                moving += usize::from(turn == open);
                assert!(left <= found.distance + 1e-6, "{} {}: {left} of {found:?}", a.id, b.id);
                assert!(!found.at_least || left >= 3.0, "{} {}: {left} of {found:?}", a.id, b.id);
                for corner in 0..64 {
                    let posed = |body, made: &Made, bits| {
                        let turned = mechanism.motion(made.group, turn);
                        let off =
                            made.placed.map(|placed| placed.seating.motion(signs(&placed, bits)));
                        let both = turned.zip(off).map(|(turned, off)| off.after(&turned));
                        Posed { body, motion: both.or(off).or(turned) }
                    };
                    let (x, y) = (posed(&one, a, corner % 8), posed(&other, b, corner / 8));
                    let found = clearance(&x, &y, &Aim::LIST, scratch).expect("measured");
                    let lowest =
                        if found.at_least { found.bound.max(left) } else { found.distance };
                    let ids = (a.id, b.id);
                    assert!(lowest > left - 0.02, "{ids:?}: {lowest} for {left} at {turn:?}");
                }
            }
        }
    }
    assert!(near > 10 && far > 2 && moving > 4, "only {near}, {far}, {moving} looked at");
}

/// As far off as hands place it, to the side that each bit says.
fn signs(placed: &Placed, bits: usize) -> [f64; 3] {
    [0, 1, 2].map(|k| if bits & (1 << k) == 0 { placed.reach[k] } else { -placed.reach[k] })
}

/// What is left over the swing is no more than what is left at its ends.
#[test]
fn a_swing_leaves_no_more_than_its_ends() {
    let (bodies, mechanism) = neck(ALTO);
    let scratch = &mut Scratch::default();
    let mut looked = 0;
    for (i, a) in bodies.iter().enumerate() {
        for b in &bodies[i + 1..] {
            let all = measure_pair(&a.body(), &b.body(), &mechanism, Asked::ALL, scratch);
            let left = all.expect("has a surface").by_hand;
            let (Some(rest), Some(open), Some(swing)) = (left.rest, left.open, left.swing) else {
                continue;
            };
            looked += 1;
            assert!(swing <= rest.min(open) || swing >= 3.0, "{} {}: {left:?}", a.id, b.id);
        }
    }
    assert!(looked > 10, "only {looked} pairs swing");
}

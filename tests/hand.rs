//! What is left of a clearance when parts are soldered off their places: against hand
//! calculation, and against every corner of the placings of a whole neck.

#[path = "support/bodies.rs"]
mod bodies;
#[path = "support/measured.rs"]
mod measured;

use glam::DVec3;
use measured::Made;
use neckwright::checks::{
    Aim, Asked, Mechanism, Pivot, Placed, Posed, Scratch, clearance, measure_pair,
};
use neckwright::parts::build_from_text;
use serde_json::{Value, json};

const ALTO: &str = include_str!("../examples/jobs/alto.json");

/// The parts of a job that do not move with the key.
fn made(text: &str) -> Vec<Made> {
    let built = build_from_text(text).expect("builds");
    let (job, neck) = (built.job, built.assembly);
    neck.parts
        .iter()
        .filter(|part| !part.moves_with_key)
        .map(|part| {
            let seating = neck.seating(part.id);
            Made {
                id: part.id,
                placed: seating
                    .map(|seating| Placed { seating, reach: seating.reach(&job.placing) }),
                ..Made::new(&part.shape)
            }
        })
        .collect()
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

/// No corner of the placings of two parts brings them nearer than what is told.
#[test]
fn no_corner_of_the_placings_is_worse() {
    let bodies = made(ALTO);
    let scratch = &mut Scratch::default();
    let mut looked = 0;
    for (i, a) in bodies.iter().enumerate() {
        for b in &bodies[i + 1..] {
            let (gap, Some(left)) = worst(&bodies, a.id, b.id) else { continue };
            if !(0.3..3.0).contains(&gap) {
                continue;
            }
            looked += 1;
            assert!(left <= gap + 1e-6, "{} {}: {left} of {gap}", a.id, b.id);
            let (one, other) = (a.body(), b.body());
            for corner in 0..64 {
                let motion =
                    |made: &Made, bits: usize| {
                        made.placed.map(|Placed { seating, reach }| {
                            seating.motion(
                                [0, 1, 2].map(|k| {
                                    if bits & (1 << k) == 0 { reach[k] } else { -reach[k] }
                                }),
                            )
                        })
                    };
                let a = Posed { body: &one, motion: motion(a, corner % 8) };
                let b = Posed { body: &other, motion: motion(b, corner / 8) };
                let found = clearance(&a, &b, &Aim::LIST, scratch).expect("measured");
                assert!(
                    found.distance > left - 0.02,
                    "{} {}: {} for {left}",
                    one.id,
                    other.id,
                    found.distance
                );
            }
        }
    }
    assert!(looked > 2, "only {looked} pairs come near");
}

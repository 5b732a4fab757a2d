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

/// Soldered on the key's arm and not on the tube: they stand off their places on the arm.
const ON_ARM: [&str; 3] = ["pad_cup", "pad", "rod_loop"];

/// The least that two bodies are apart at any corner of their placings, and where both stand as drawn.
fn least_of_corners(pair: [&Made; 2], mechanism: &Mechanism, turn: Turn, exact_to: f64) -> f64 {
    let bodies = pair.map(Made::body);
    let scratch = &mut Scratch::default();
    let mut apart = |offsets: [Option<usize>; 2]| {
        let posed = [0, 1].map(|k| {
            let turned = mechanism.motion(pair[k].group, turn);
            let off = pair[k].placed.zip(offsets[k]);
            let off = off.map(|(placed, bits)| placed.seating.motion(signs(&placed, bits)));
            let both = turned.zip(off).map(|(turned, off)| {
                if ON_ARM.contains(&pair[k].id) { turned.after(&off) } else { off.after(&turned) }
            });
            Posed { body: &bodies[k], motion: both.or(off).or(turned) }
        });
        let aim = Aim { exact_to, ..Aim::LIST };
        let found = clearance(&posed[0], &posed[1], &aim, scratch).expect("has a surface");
        if found.at_least { found.bound } else { found.distance }
    };
    let corners = (0..64).map(|corner| [Some(corner % 8), Some(corner / 8)]);
    corners.chain([[None; 2]]).map(&mut apart).fold(f64::INFINITY, f64::min)
}

/// No corner of the placings of two parts brings them nearer than what is told, closed, open or where the swing is
/// least, and one brings them as near; nor nearer than the bound that is told of those that are far apart.
#[test]
fn no_corner_of_the_placings_is_worse() {
    let (bodies, mechanism) = neck(ALTO);
    let scratch = &mut Scratch::default();
    let (mut near, mut far, mut moving, mut on_arm) = (0, 0, 0, 0);
    for (i, a) in bodies.iter().enumerate() {
        for b in &bodies[i + 1..] {
            let ids = (a.id, b.id);
            let all = measure_pair(&a.body(), &b.body(), &mechanism, Asked::ALL, scratch);
            let all = all.expect("has a surface");
            let key = |angle| Turn { key: angle, horn: 0.0 };
            let mut poses = vec![(Turn::REST, all.rest, all.by_hand.rest)];
            if let Some((open, least)) = all.swing {
                poses.push((key(mechanism.open_angle), open, all.by_hand.open));
                poses.push((key(least.angle), least.least, all.by_hand.swing));
            }
            let mut least_of_all = f64::INFINITY;
            for (place, (turn, found, left)) in poses.into_iter().enumerate() {
                // Farther apart, no placing matters.
                let Some(left) = left.filter(|_| (0.3..4.5).contains(&found.bound)) else {
                    continue;
                };
                let swing = place == 2;
                if found.at_least {
                    far += 1
                } else {
                    near += 1
                }
                moving += usize::from(turn != Turn::REST);
                let soldered = [a, b].iter().any(|made| ON_ARM.contains(&made.id));
                on_arm += usize::from(turn != Turn::REST && soldered);
                assert!(left <= found.distance + 1e-6, "{ids:?}: {left} of {found:?}");
                assert!(!found.at_least || left >= 3.0, "{ids:?}: {left} of {found:?}");
                // So far that what is told cannot be met by what was not measured.
                let lowest = least_of_corners([a, b], &mechanism, turn, left + 1.0);
                assert!(lowest > left - 0.02, "{ids:?}: {lowest} for {left} at {turn:?}");
                least_of_all = least_of_all.min(lowest);
                // From 3 mm on a bound is told.
                if left < 3.0 {
                    let met = if swing { least_of_all } else { lowest };
                    assert!(met < left + 0.02, "{ids:?}: {met} for {left} at {turn:?}");
                }
            }
        }
    }
    assert!(near > 10 && far > 2 && moving > 4, "only {near}, {far}, {moving} looked at");
    assert!(on_arm > 1, "only {on_arm} of what is soldered on the arm looked at");
}

/// What a scratch remembers of a pair from pose to pose is not held to be true of the pair after it, whatever its place:
/// with one scratch every pair of the alto is told as with a fresh one, to the last bit.
#[test]
fn one_scratch_for_many_pairs_remembers_none_of_them() {
    let (bodies, mechanism) = neck(ALTO);
    let shared = &mut Scratch::default();
    let mut swinging = 0;
    for (i, a) in bodies.iter().enumerate() {
        for b in &bodies[i + 1..] {
            let again = measure_pair(&a.body(), &b.body(), &mechanism, Asked::ALL, shared);
            let alone = &mut Scratch::default();
            let fresh = measure_pair(&a.body(), &b.body(), &mechanism, Asked::ALL, alone);
            assert_eq!(again, fresh, "{} and {}", a.id, b.id);
            swinging += usize::from(fresh.is_some_and(|fresh| fresh.swing.is_some()));
        }
    }
    assert!(swinging > 50, "only {swinging} pairs swing");
}

/// A pair met again in another pose, after others, is as near as when it is met there first.
#[test]
fn what_is_remembered_of_a_pose_does_not_change_the_next() {
    let (bodies, mechanism) = neck(ALTO);
    let find = |id: &str| bodies.iter().find(|made| made.id == id).expect("in the alto");
    for (a, b) in [("tube", "key_arm"), ("saddle", "key_arm"), ("key_arm", "guide")] {
        let (a, b) = (find(a), find(b));
        let scratch = &mut Scratch::default();
        let found = measure_pair(&a.body(), &b.body(), &mechanism, Asked::ALL, scratch);
        let found = found.expect("has a surface");
        let (open, least) = found.swing.expect("swings");
        let key = |angle| Turn { key: angle, horn: 0.0 };
        for (turn, told) in [
            (Turn::REST, found.rest),
            (key(mechanism.open_angle), open),
            (key(least.angle), least.least),
        ] {
            let (one, other) = (a.body(), b.body());
            let posed = [(a, &one), (b, &other)]
                .map(|(made, body)| Posed { body, motion: mechanism.motion(made.group, turn) });
            let alone = clearance(&posed[0], &posed[1], &Aim::LIST, &mut Scratch::default());
            let alone = alone.expect("has a surface");
            assert!((told.distance - alone.distance).abs() < 1e-3, "{told:?} for {alone:?}");
            assert!(told.bound <= alone.distance + 1e-9, "{told:?} for {alone:?}");
        }
    }
}

/// As far off as hands place it, to the side that each bit says.
fn signs(placed: &Placed, bits: usize) -> [f64; 3] {
    [0, 1, 2].map(|k| if bits & (1 << k) == 0 { placed.reach[k] } else { -placed.reach[k] })
}

/// A pad soldered 0.2 mm off on the arm, key turned by an angle: it stands off along the arm as it lies then, and not
/// along the tube. Between a block on the arm and a wall square to it, by hand: the wall is met square at 30 degrees,
/// and all of the 0.2 mm comes off the gap; of what stood off along the tube only cos 30° of it would.
#[test]
fn what_is_soldered_on_the_arm_stands_off_along_the_arm() {
    let (sin, cos) = libm::sincos(30f64.to_radians());
    let mechanism = Mechanism { open_angle: 30f64.to_radians(), ..still() };
    let text = changed(&[
        ("/centreline/pieces/0/straight_mm", json!(90.0)),
        ("/bore/half_angle_deg", json!(1.2)),
        ("/placing", json!({"along_mm": 0.2, "round_mm": 0.0, "height_mm": 0.0})),
    ]);
    let placed = build_from_text(&text).expect("builds");
    let seating = placed.assembly.seating("pad").expect("is placed");
    let placed = Placed { seating, reach: seating.reach(&placed.job.placing) };
    // A turn about +Y leads from +X to -Z: at 30 degrees the block's end stands at 40 along (cos, -sin).
    let block_at = measured::block(DVec3::new(30.0, -1.0, -1.0), DVec3::new(40.0, 1.0, 1.0));
    let pad = Made { placed: Some(placed), ..Made::of_key(&block_at) };
    let wall = DVec3::new(cos, 0.0, -sin);
    let wall = Made::new(&measured::cylinder(wall * 41.5, wall, 8.0, 2.0));
    let scratch = &mut Scratch::default();
    let found = measure_pair(&pad.body(), &wall.body(), &mechanism, Asked::ALL, scratch);
    let found = found.expect("has a surface");
    let (open, _) = found.swing.expect("the key swings");
    assert!((open.gap - 1.5).abs() < 1e-4, "{open:?}");
    let left = found.by_hand.open.expect("placed apart");
    assert!((left - 1.3).abs() < 1e-3, "{left}");
}

//! Clearances of bodies made by hand against closed forms, and of whole necks against dense
//! samples of their surfaces.

use std::f64::consts::PI;

use glam::DVec3;
use neckwright::checks::{
    Aim, Asked, Body, Clearance, ClearanceList, Group, Limits, Mechanism, Pivot, Posed, Relation,
    Scratch, State, clearance, measure_pair, relation,
};
use neckwright::geometry::motion::Motion;
use neckwright::geometry::shape::{PlateHole, Rod, RodPiece, Shape, Tube, Turned};
use neckwright::model::Model;
use neckwright::solids::build;
use neckwright::solids::mesh::{FaceMesh, mesh};

#[path = "support/bodies.rs"]
mod bodies;
#[path = "support/measured.rs"]
mod made;

use bodies::{WORLD, alto, p, patch, polygon};
use made::{Made, ball, block, cylinder};

/// Measures a pair both ways round; both must agree, and the points must be where they say.
fn measured(a: &Made, b: &Made, key: Option<&Motion>) -> Clearance {
    let mut scratch = Scratch::default();
    let (one, other) = (a.body(), b.body());
    let one = Posed { body: &one, motion: key.copied().filter(|_| a.body().moves_with_key()) };
    let other = Posed { body: &other, motion: key.copied().filter(|_| b.body().moves_with_key()) };
    let found = clearance(&one, &other, &Aim::LIST, &mut scratch).expect("has a surface");
    let back = clearance(&other, &one, &Aim::LIST, &mut scratch).expect("has a surface");
    assert_eq!(found.state, back.state);
    if !found.at_least {
        assert!((found.gap - back.gap).abs() < 1e-4, "{} and {} back", found.gap, back.gap);
        assert!((found.overlap - back.overlap).abs() < 0.002, "{found:?} and {back:?} back");
    }
    let apart = found.a_point.distance(found.b_point);
    match found.state {
        State::Clear if !found.at_least => assert!((apart - found.gap).abs() < 1e-9),
        State::Overlapping => assert!((apart - found.overlap).abs() < 1e-9),
        _ => {}
    }
    for (made, point) in [(a, found.a_point), (b, found.b_point)] {
        let own = if made.body().moves_with_key() {
            key.map_or(point, |key| key.inverse().point(point))
        } else {
            point
        };
        assert!(made.field.near(own).distance.abs() < 1e-3, "{point} is not on its body");
    }
    found
}

#[track_caller]
fn clear_by(found: &Clearance, gap: f64, within: f64) {
    assert_eq!(found.state, State::Clear, "{found:?}");
    assert!(!found.at_least, "{found:?}");
    assert!((found.gap - gap).abs() <= within, "{} for {gap}", found.gap);
}

#[track_caller]
fn overlapping_by(found: &Clearance, depth: f64, within: f64) {
    assert_eq!(found.state, State::Overlapping, "{found:?}");
    assert!((found.overlap - depth).abs() <= within, "{} for {depth}", found.overlap);
    assert_eq!(found.gap, 0.0);
}

#[test]
fn balls_are_their_centres_distance_less_their_radii() {
    let a = Made::new(&ball(DVec3::ZERO, 2.0));
    for (x, y, z, radius) in [(3.0, 1.0, 0.4, 1.0), (2.0, -2.0, 1.0, 0.7), (-4.0, 1.5, -0.3, 1.3)] {
        let centre = DVec3::new(x, y, z);
        let b = Made::new(&ball(centre, radius));
        clear_by(&measured(&a, &b, None), centre.length() - 2.0 - radius, 1e-5);
    }
    // One into the other by 0.3: the deepest point lies on the line of centres.
    let b = Made::new(&ball(DVec3::new(2.7, 0.0, 0.2), 1.0));
    let depth = 3.0 - (2.7f64 * 2.7 + 0.04).sqrt();
    overlapping_by(&measured(&a, &b, None), depth, 0.002);
}

#[test]
fn crossing_cylinders_are_their_axes_distance_less_their_radii() {
    let a = Made::new(&cylinder(DVec3::new(-10.0, 0.0, 0.0), DVec3::X, 1.5, 20.0));
    for tilt in [0.1, 0.7, PI / 2.0] {
        let along = DVec3::new(libm::cos(tilt), libm::sin(tilt), 0.0);
        let b = Made::new(&cylinder(DVec3::new(0.0, 0.0, 3.1) - along * 8.0, along, 0.8, 16.0));
        clear_by(&measured(&a, &b, None), 3.1 - 1.5 - 0.8, 1e-5);
    }
    // Side by side: the same gap all along.
    let b = Made::new(&cylinder(DVec3::new(-3.0, 2.0, 1.6), DVec3::X, 0.8, 5.0));
    clear_by(&measured(&a, &b, None), (4.0f64 + 2.56).sqrt() - 2.3, 1e-5);
}

#[test]
fn cone_in_cone_is_the_gap_square_to_the_wall() {
    let slope = libm::tan(1.6f64.to_radians());
    let ring = |low: f64, high: f64, from: f64, to: f64| {
        Shape::Turned(Turned {
            axis: WORLD,
            profile: polygon(&[
                p(from, low + slope * from),
                p(to, low + slope * to),
                p(to, high + slope * to),
                p(from, high + slope * from),
            ]),
        })
    };
    let inner = Made::new(&ring(5.0, 6.0, 0.0, 30.0));
    let outer = Made::new(&ring(6.08, 7.0, 3.0, 12.0));
    let expected = 0.08 * libm::cos(1.6f64.to_radians());
    clear_by(&measured(&inner, &outer, None), expected, 1e-5);
}

#[test]
fn a_block_on_a_block() {
    let a = Made::new(&block(DVec3::ZERO, DVec3::new(10.0, 6.0, 2.0)));
    let over = |height: f64| {
        Made::new(&block(DVec3::new(2.0, 1.0, 2.0 + height), DVec3::new(14.0, 3.0, 5.0 + height)))
    };
    clear_by(&measured(&a, &over(0.31), None), 0.31, 1e-9);
    let touching = measured(&a, &over(0.0), None);
    assert_eq!((touching.state, touching.gap, touching.overlap), (State::Touching, 0.0, 0.0));
    assert_eq!(measured(&a, &over(0.004), None).state, State::Touching);
    assert_eq!(measured(&a, &over(-0.004), None).state, State::Touching);
    // Sunk in by 0.25: its lower corner is that deep.
    overlapping_by(&measured(&a, &over(-0.25), None), 0.25, 0.002);
    // Corner to corner across all three axes.
    let far = Made::new(&block(DVec3::new(11.0, 8.0, 4.0), DVec3::new(13.0, 9.0, 6.0)));
    clear_by(&measured(&a, &far, None), 3.0, 1e-9);
    let farther = Made::new(&block(DVec3::new(20.0, 8.0, 4.0), DVec3::new(23.0, 9.0, 6.0)));
    let found = measured(&a, &farther, None);
    let truth = (100.0f64 + 4.0 + 4.0).sqrt();
    assert!(found.at_least && found.gap >= 3.0 && found.gap <= truth, "{found:?}");
}

#[test]
fn a_body_inside_another_overlaps() {
    let outer = Made::new(&block(DVec3::splat(-5.0), DVec3::splat(5.0)));
    let inner = Made::new(&ball(DVec3::new(1.0, 0.0, 0.0), 1.0));
    // Farthest in: the ball's point at (0, 0, 0) is 5 deep, as is nothing else.
    overlapping_by(&measured(&outer, &inner, None), 5.0, 0.002);
    // In a hole it is not inside.
    let mut shape = block(DVec3::splat(-5.0), DVec3::splat(5.0));
    if let Shape::Plate(plate) = &mut shape {
        plate.holes.push(PlateHole { centre: p(1.0, 0.0), radius: 1.6 });
    }
    clear_by(&measured(&Made::new(&shape), &inner, None), 0.6, 1e-5);
}

#[test]
fn a_point_pressed_into_a_flat() {
    // A rod whose pointed end goes 0.2 into a block: the tip is the deepest.
    let tip = DVec3::new(0.0, 0.0, -0.2);
    let rod = Rod {
        path: vec![
            RodPiece::Line { from: tip, to: DVec3::new(0.0, 0.0, 8.0) },
            RodPiece::Arc {
                from: DVec3::new(0.0, 0.0, 8.0),
                centre: DVec3::new(4.0, 0.0, 8.0),
                axis: DVec3::Y,
                sweep: PI / 2.0,
            },
            RodPiece::Line { from: DVec3::new(4.0, 0.0, 12.0), to: DVec3::new(12.0, 0.0, 12.0) },
        ],
        radius: 1.4,
        point_length: 4.0,
        tip_radius: 0.2,
    };
    let block = Made::new(&block(DVec3::new(-6.0, -6.0, -3.0), DVec3::new(6.0, 6.0, 0.0)));
    overlapping_by(&measured(&Made::new(&Shape::Rod(rod)), &block, None), 0.2, 0.002);
}

#[test]
fn patch_on_a_bent_tube_is_as_exact_and_as_quick_as_the_rest() {
    let neck = alto();
    let tube = Shape::Tube(Tube { neck: neck.clone(), from: 0.0, to: 165.0, hole: None });
    let tube = Made::new(&tube);
    for (from, to) in [(20.0, 32.0), (96.0, 108.0), (64.0, 76.0), (70.0, 150.0)] {
        let patch = Made::new(&Shape::Sweep(patch(neck.clone(), (from, to), (0.78, 1.58))));
        let found = measured(&tube, &patch, None);
        // On the outside of the bend stations pass faster, so the taper leans less; between
        // both lies the straight tube. Modelled surfaces depart by up to 0.0007 over a crease.
        clear_by(&found, 0.08 * libm::cos(1.6f64.to_radians()), 8e-4);
        let mut scratch = Scratch::default();
        let (one, other) = (tube.body(), patch.body());
        let (one, other) = (Posed::at_rest(&one), Posed::at_rest(&other));
        let again = clearance(&one, &other, &Aim::LIST, &mut scratch);
        assert_eq!(again, Some(found), "the same question has the same answer");
        assert!(scratch.questions < 1500, "{} questions", scratch.questions);
    }
}

#[test]
fn a_turning_bar_by_its_lever() {
    // A bar from the hinge along +X, its lower side in the plane of the axis; a ball's top
    // below it. The gap is the ball's centre's distance from the turned plane less its radius.
    let bar = Made::of_key(&block(DVec3::new(-2.0, -1.0, 0.0), DVec3::new(40.0, 1.0, 3.0)));
    let centre = DVec3::new(30.0, 0.0, -4.0);
    let stop = Made::new(&ball(centre, 1.0));
    for degrees in [0.5f64, 2.0, 4.0, 5.0] {
        let angle = degrees.to_radians();
        let key = Motion::about(DVec3::ZERO, DVec3::Y, angle);
        let (sin, cos) = libm::sincos(angle);
        let gap = 4.0 * cos - 30.0 * sin - 1.0;
        if gap < 3.0 {
            clear_by(&measured(&bar, &stop, Some(&key)), gap, 1e-5);
        }
    }
    // Two bodies that both turn keep their gap.
    let rider = Made::of_key(&block(DVec3::new(5.0, -1.0, 3.4), DVec3::new(9.0, 1.0, 5.0)));
    let key = Motion::about(DVec3::ZERO, DVec3::Y, 0.3);
    clear_by(&measured(&bar, &rider, Some(&key)), 0.4, 1e-9);
}

fn limits() -> Limits {
    Limits {
        joint_gap_min_mm: 0.05,
        joint_gap_max_mm: 0.13,
        least_clearance_mm: 0.3,
        running_min_mm: 0.01,
        running_max_mm: 0.08,
        fit_min_mm: 0.005,
        fit_max_mm: 0.025,
        left_post_is_tapped: false,
    }
}

#[test]
fn relations_by_the_parts_names() {
    let limits = limits();
    for (a, b, expected) in [
        ("tube", "saddle", Relation::Joint),
        ("post_left", "saddle", Relation::Joint),
        ("pad", "pad_cup", Relation::Joint),
        ("vent", "pad", Relation::Seat),
        ("cork", "mouthpiece", Relation::Seat),
        ("hinge_tube", "post_right", Relation::Running),
        ("hinge_screw", "post_left", Relation::Running),
        ("hinge_screw", "post_right", Relation::Thread),
        ("spring_screw", "key_arm", Relation::Thread),
        ("receiver", "tenon", Relation::Fit),
        ("tube", "key_arm", Relation::Free),
        ("brace", "clamp_screw", Relation::Free),
    ] {
        assert_eq!(relation(a, b, &limits), expected, "{a} {b}");
        assert_eq!(relation(b, a, &limits), expected, "{b} {a}");
    }
    let other = Limits { left_post_is_tapped: true, ..limits };
    assert_eq!(relation("post_left", "hinge_screw", &other), Relation::Thread);
}

#[test]
fn the_list_says_what_other_programs_read() {
    let tube = Made { id: "tube", ..Made::new(&block(DVec3::ZERO, DVec3::new(10.0, 6.0, 2.0))) };
    let saddle = Made {
        id: "saddle",
        ..Made::new(&block(DVec3::new(0.0, 0.0, 2.08), DVec3::new(4.0, 4.0, 3.0)))
    };
    let arm = Made {
        id: "key_arm",
        ..Made::of_key(&block(DVec3::new(5.0, 0.0, 2.2), DVec3::new(9.0, 4.0, 3.0)))
    };
    let pin = Made {
        id: "octave_pin",
        keepout: true,
        ..Made::new(&block(DVec3::new(9.0, 5.0, 1.0), DVec3::new(12.0, 9.0, 4.0)))
    };
    let clamp = Made {
        id: "clamp_screw",
        keepout: true,
        ..Made::new(&block(DVec3::new(11.0, 5.0, 1.0), DVec3::new(14.0, 9.0, 4.0)))
    };
    let bodies: Vec<Body<'_>> = [&tube, &saddle, &arm, &pin, &clamp].map(Made::body).to_vec();
    // The hinge goes through the arm's corner nearest to the tube: opening takes that nowhere.
    let mechanism = Mechanism {
        hinge: Pivot { point: DVec3::new(9.0, 0.0, 2.2), axis: -DVec3::Y },
        open_angle: 0.1,
        tenon: Pivot { point: DVec3::new(40.0, 0.0, 0.0), axis: DVec3::X },
        neck_turn: 0.2,
    };
    let mut scratch = Scratch::default();
    let mut measured = Vec::new();
    for (index, &a) in bodies.iter().enumerate() {
        for &b in &bodies[index + 1..] {
            let found =
                measure_pair(&a, &b, &mechanism, Asked::ALL, &mut scratch).expect("has a surface");
            measured.push((a, b, found));
        }
    }
    let list = ClearanceList::new(measured, &limits(), &mechanism);
    // The arm moves against four others, three rows each; the other six pairs have one.
    assert_eq!(list.pairs.len(), 4 * 3 + 6);
    // Too near: arm over tube (0.2), the pin in the tube. The two keep-outs overlap, and may.
    let failing: Vec<(&str, &str)> = list
        .pairs
        .iter()
        .filter(|pair| !pair.ok)
        .map(|pair| (pair.a.as_str(), pair.b.as_str()))
        .collect();
    let arm = ("tube", "key_arm");
    assert_eq!(failing, [arm, arm, arm, ("tube", "octave_pin")]);
    assert_eq!(list.failed, 4);
    let json = serde_json::to_value(&list).expect("serialises");
    assert_eq!(json["format"], "neckwright-clearances/1");
    let row = |a: &str, b: &str| {
        json["pairs"]
            .as_array()
            .expect("rows")
            .iter()
            .find(|row| row["a"] == a && row["b"] == b)
            .expect("listed")
            .clone()
    };
    let joint = row("tube", "saddle");
    assert_eq!(joint["relation"], "joint");
    assert_eq!(joint["pose"], "static");
    assert_eq!(joint["key_angle_deg"], serde_json::Value::Null);
    assert_eq!(joint["state"], "clear");
    assert_eq!(joint["gap_mm"], 0.08);
    assert_eq!(joint["overlap_mm"], 0.0);
    assert_eq!(joint["required_min_mm"], 0.05);
    assert_eq!(joint["required_max_mm"], 0.13);
    assert_eq!(joint["ok"], true);
    assert_eq!(joint["a_point_mm"].as_array().map(Vec::len), Some(3));
    assert_eq!(joint["b_point_mm"].as_array().map(Vec::len), Some(3));
    assert!(joint.get("at_least").is_none());
    let swinging = row("tube", "key_arm");
    assert_eq!((&swinging["pose"], &swinging["key_angle_deg"]), (&"closed".into(), &0.0.into()));
    assert_eq!(swinging["required_max_mm"], serde_json::Value::Null);
    let outside = row("octave_pin", "clamp_screw");
    assert_eq!(outside["state"], "overlapping");
    assert_eq!(outside["ok"], true);
    assert_eq!(outside["required_min_mm"], serde_json::Value::Null);
}

/// Points all over a body's faces, on their true surfaces, no farther apart than `spacing`.
fn sampled(faces: &[FaceMesh], spacing: f64) -> Vec<DVec3> {
    let mut points = Vec::new();
    for face in faces {
        points.extend(&face.positions);
        for triangle in &face.triangles {
            let corners = triangle.map(|corner| corner as usize);
            let at = corners.map(|corner| face.positions[corner]);
            let longest =
                at[0].distance(at[1]).max(at[1].distance(at[2])).max(at[2].distance(at[0]));
            let count = (longest / spacing).ceil() as usize;
            // Sides may cut across a hole: inner points only.
            for i in 1..count {
                for j in 1..count - i {
                    let (u, v) = (i as f64 / count as f64, j as f64 / count as f64);
                    let uv = corners.map(|corner| face.uvs[corner]);
                    points.push(face.surface.point(uv[0] * (1.0 - u - v) + uv[1] * u + uv[2] * v));
                }
            }
        }
    }
    points
}

/// No sampled point of any body is nearer to another, or deeper in it, than the list says; and
/// what the list says is the distance of two points on both bodies (see `measured`).
#[test]
fn nothing_is_nearer_than_the_list_says() {
    let text = include_str!("../examples/jobs/alto_clash.json");
    let neck = neckwright::parts::build_from_text(text).expect("builds").assembly;
    let parts: Vec<_> = neck.parts.iter().chain(&neck.keepouts).collect();
    let made: Vec<Made> = parts
        .iter()
        .map(|part| Made {
            id: part.id,
            group: if part.moves_with_key { Group::Key } else { Group::Neck },
            ..Made::new(&part.shape)
        })
        .collect();
    let points: Vec<Vec<DVec3>> = parts
        .iter()
        .map(|part| {
            sampled(&mesh(&build(&part.shape).expect("builds"), 0.05).expect("meshes").faces, 0.8)
        })
        .collect();
    let mut near_pairs = 0;
    for (i, a) in made.iter().enumerate() {
        for (j, b) in made.iter().enumerate().skip(i + 1) {
            let found = measured(a, b, None);
            let mut least = f64::INFINITY;
            for (field, own, others) in [(&a.field, a, &points[j]), (&b.field, b, &points[i])] {
                let (low, high) = own.samples.bounds();
                for point in others {
                    let apart = (low - *point).max(*point - high).max(DVec3::ZERO).length();
                    if apart < least.min(3.2) {
                        least = least.min(field.near(*point).distance);
                    }
                }
            }
            let (said, slack) = match found.state {
                // A crease of the modelled surface may stand out by 0.0007.
                State::Clear => (found.gap, 8e-4),
                State::Touching => (0.0, 0.0051),
                State::Overlapping => (-found.overlap, 0.002),
            };
            assert!(said < least + slack, "{} {}: {said} said, {least} sampled", a.id, b.id);
            near_pairs += usize::from(!found.at_least);
        }
    }
    assert!(near_pairs > 40, "only {near_pairs} pairs are near at all");
}

/// No row of the turned neck is lost: every part stands to receiver, clamp screw and octave pin.
#[test]
fn every_part_has_its_rows_with_the_neck_turned() {
    for text in [
        include_str!("../examples/jobs/alto.json"),
        include_str!("../examples/jobs/tenor.json"),
        include_str!("../examples/jobs/smallest.json"),
        include_str!("../examples/jobs/largest.json"),
        include_str!("../examples/jobs/alto_clash.json"),
    ] {
        let model = Model::build(text, None).expect("builds");
        let turned = model.clearances().neck_turned.expect("the whole list has them").pairs;
        for part in model.parts() {
            for horn in ["receiver", "clamp_screw", "octave_pin"] {
                let of = turned.iter().filter(|row| {
                    let pair = (row.pair.a.as_str(), row.pair.b.as_str());
                    pair == (part.part.id, horn) || pair == (horn, part.part.id)
                });
                assert_eq!(of.count(), 1, "{} and {horn}", part.part.id);
            }
        }
        assert_eq!(turned.len(), 3 * model.parts().len());
    }
}

/// With the key at 0 the pad seats on the vent, and is asked to; once it is open it is not.
#[test]
fn a_closed_key_seats_its_pad_in_a_list_at_one_angle() {
    let model = Model::build(include_str!("../examples/jobs/alto.json"), None).expect("builds");
    let asked = |angle: f64| {
        let list = model.clearances_at(angle).expect("every part can be divided");
        let row = list
            .pairs
            .iter()
            .find(|row| row.a == "vent" && row.b == "pad" || row.a == "pad" && row.b == "vent");
        row.expect("a row of the list").required_max_mm
    };
    assert_eq!(asked(0.0), Some(0.005));
    assert_eq!(asked(0.05), None);
}

//! The least clearance through a motion: against closed forms, and against many turns measured
//! one by one.

#[path = "support/bodies.rs"]
mod bodies;
#[path = "support/measured.rs"]
mod measured;

use std::f64::consts::PI;

use glam::DVec3;
use measured::{Made, ball, block, cylinder};
use neckwright::checks::{
    Aim, Asked, Clearance, Group, Mechanism, PairMeasured, Pivot, Pose, Posed, Scratch, State,
    SwingLeast, Turn, clearance, measure_pair,
};
use neckwright::parts::build_from_text;

/// How far the reported least may lie over the true one, mm.
const TOLERANCE: f64 = 4e-3;

fn at(a: &Made, b: &Made, mechanism: &Mechanism, turn: Turn) -> Clearance {
    let (a, b) = (a.body(), b.body());
    let one = Posed { body: &a, motion: mechanism.motion(a.group, turn) };
    let other = Posed { body: &b, motion: mechanism.motion(b.group, turn) };
    clearance(&one, &other, &Aim::LIST, &mut Scratch::default()).expect("has a surface")
}

fn in_all_poses(a: &Made, b: &Made, mechanism: &Mechanism) -> PairMeasured {
    let scratch = &mut Scratch::default();
    measure_pair(&a.body(), &b.body(), mechanism, Asked::ALL, scratch).expect("has a surface")
}

fn least(a: &Made, b: &Made, mechanism: &Mechanism) -> SwingLeast {
    in_all_poses(a, b, mechanism).swing.expect("one of them swings").1
}

/// A bar's hinge at the origin, opening by 0.3 about +Y; the tenon far off along Z.
fn plain(open_angle: f64) -> Mechanism {
    Mechanism {
        hinge: Pivot { point: DVec3::ZERO, axis: DVec3::Y },
        open_angle,
        tenon: Pivot { point: DVec3::new(0.0, 0.0, 0.0), axis: DVec3::Z },
        neck_turn: PI / 12.0,
    }
}

/// A ball on the key passes a ball at rest: centres come nearest where both stand in one
/// direction from the hinge, and are then |R − r| apart.
#[test]
fn a_ball_passing_a_ball_is_nearest_in_one_line_with_the_hinge() {
    let mechanism = plain(0.3);
    for (passing, off) in [(0.11f64, 2.2), (0.19, 2.001), (0.0, 2.4), (0.3, 3.1)] {
        // +Y turns from +Z to +X, so from +X to −Z.
        let resting = 40.0 + off;
        let stop = DVec3::new(resting * libm::cos(passing), 0.0, -resting * libm::sin(passing));
        let rider = Made::in_group("rider", &ball(DVec3::X * 40.0, 1.0), Group::Key, &mechanism);
        let stop = Made::in_group("stop", &ball(stop, 1.0), Group::Neck, &mechanism);
        let found = least(&rider, &stop, &mechanism);
        let truth = off - 2.0;
        assert!((found.least.gap - truth).abs() < TOLERANCE, "{} for {truth}", found.least.gap);
        // Where they touch, 0.005 mm, depths of more than 0.05 mm and a tenth are ruled out.
        let known = if truth < 0.005 { -0.0555 } else { truth - 2.0 * TOLERANCE };
        assert!(found.bound <= truth + 1e-6 && found.bound >= known, "{found:?}");
        // Near the least distance hardly changes with the angle: 40 (1 − cos δ) < 0.001 for 0.008.
        assert!((found.angle - passing).abs() < 0.02, "{} for {passing}", found.angle);
        // Both ways round it is the same.
        let back = least(&stop, &rider, &mechanism);
        assert!((back.least.gap - truth).abs() < TOLERANCE);
    }
}

/// A bar's lower side comes down on a ball: the gap is the distance of the ball's centre from the
/// turned plane less its radius, least with the key open.
#[test]
fn a_closing_bar_is_nearest_at_the_end_of_its_swing() {
    let mechanism = plain(0.1);
    let bar = block(DVec3::new(-2.0, -1.0, 0.0), DVec3::new(40.0, 1.0, 3.0));
    let bar = Made::in_group("bar", &bar, Group::Key, &mechanism);
    let stop = ball(DVec3::new(30.0, 0.0, -4.5), 1.0);
    let stop = Made::in_group("stop", &stop, Group::Neck, &mechanism);
    let found = least(&bar, &stop, &mechanism);
    let truth = 4.5 * libm::cos(0.1) - 30.0 * libm::sin(0.1) - 1.0;
    assert!((found.least.gap - truth).abs() < 1e-5, "{} for {truth}", found.least.gap);
    assert_eq!(found.angle, 0.1);
    // A swing that goes on until they cross is told as an overlap of the depth at the end.
    let far = plain(0.15);
    let found = least(&bar, &stop, &far);
    let depth = 1.0 + 30.0 * libm::sin(0.15) - 4.5 * libm::cos(0.15);
    assert_eq!(found.least.state, State::Overlapping);
    assert!((found.least.overlap - depth).abs() < 0.1 * depth + 0.05, "{found:?} for {depth}");
}

/// What passes through another and is out of it at both ends of the swing is found all the same.
#[test]
fn a_clash_in_the_middle_of_the_swing_is_found() {
    let mechanism = plain(0.3);
    let rider = Made::in_group("rider", &ball(DVec3::X * 40.0, 0.4), Group::Key, &mechanism);
    for angle in [0.06f64, 0.15, 0.21] {
        let stop = DVec3::new(40.0 * libm::cos(angle), 0.1, -40.0 * libm::sin(angle));
        let stop = Made::in_group("stop", &ball(stop, 0.3), Group::Neck, &mechanism);
        assert_eq!(at(&rider, &stop, &mechanism, Turn::REST).state, State::Clear);
        let found = least(&rider, &stop, &mechanism);
        assert_eq!(found.least.state, State::Overlapping);
        // Deepest when the small ball's surface goes through the other's centre: 0.4, a hair
        // before and after they stand in one line.
        assert!((found.least.overlap - 0.4).abs() < 0.09, "{}", found.least.overlap);
    }
}

/// Key and horn turning at once: a ball on the key and an upright pin on the horn are nearest
/// where both stand in one line.
#[test]
fn two_turns_at_once_find_the_meeting_place() {
    let mechanism = plain(0.4);
    // The key's ball is on a circle of √(20² + 5²) about the hinge and is farthest out, level
    // with it, after a turn by atan(5 / 20). The horn brings its pin to y = 0 by a turn of −0.2.
    let rider = ball(DVec3::new(20.0, 0.0, 5.0), 0.5);
    let rider = Made::in_group("rider", &rider, Group::Key, &mechanism);
    let foot = DVec3::new(22.0 * libm::cos(0.2), 22.0 * libm::sin(0.2), -9.0);
    let pin = Made::in_group("pin", &cylinder(foot, DVec3::Z, 0.5, 18.0), Group::Horn, &mechanism);
    for (a, b) in [(&rider, &pin), (&pin, &rider)] {
        let found = in_all_poses(a, b, &mechanism);
        let (least, horn) = found.turned.expect("one of them turns with the horn");
        let truth = 22.0 - 425f64.sqrt() - 1.0;
        assert!((least.least.gap - truth).abs() < TOLERANCE, "{} for {truth}", least.least.gap);
        assert!((horn + 0.2).abs() < 0.01, "{horn}");
        assert!((least.angle - libm::atan2(5.0, 20.0)).abs() < 0.02, "{}", least.angle);
        // With the neck straight they are farther apart.
        let (_, straight) = found.swing.expect("one of them swings");
        assert!(straight.bound > truth + 0.5);
    }
}

/// Just beyond the gap up to which it is exact, a least over both turns is told as it is, or as a bound of no less.
#[test]
fn a_bound_over_two_turns_is_no_less_than_what_is_exact() {
    let mechanism = plain(0.4);
    let rider = ball(DVec3::new(20.0, 0.0, 5.0), 0.5);
    let rider = Made::in_group("rider", &rider, Group::Key, &mechanism);
    for gap in [2.999, 3.0005, 3.002, 3.0035, 3.0045] {
        // As above, the pin so much farther out.
        let out = 425f64.sqrt() + 1.0 + gap;
        let foot = DVec3::new(out * libm::cos(0.2), out * libm::sin(0.2), -9.0);
        let pin = cylinder(foot, DVec3::Z, 0.5, 18.0);
        let pin = Made::in_group("pin", &pin, Group::Horn, &mechanism);
        let found = in_all_poses(&rider, &pin, &mechanism).turned.expect("turns").0;
        let bound = found.bound >= 3.0 || !found.least.at_least;
        assert!(bound && found.bound <= gap + 1e-6, "{found:?} for {gap}");
        assert!(found.least.at_least || (found.least.gap - gap).abs() < TOLERANCE, "{found:?}");
    }
}

/// A clamp screw crosses the axis at a distance: turned towards a post it reaches it with its
/// side, and a post outside of it at two places of its turn.
#[test]
fn a_crossing_screw_reaches_to_both_sides() {
    let mechanism = plain(0.3);
    let screw = cylinder(DVec3::new(20.0, -12.0, 0.0), DVec3::Y, 1.5, 24.0);
    let screw = Made::in_group("screw", &screw, Group::Horn, &mechanism);
    let post = |radius: f64, azimuth: f64| {
        let foot = DVec3::new(radius * libm::cos(azimuth), radius * libm::sin(azimuth), -5.0);
        Made::in_group("post", &cylinder(foot, DVec3::Z, 1.0, 10.0), Group::Neck, &mechanism)
    };
    let turned = |post: &Made| in_all_poses(post, &screw, &mechanism).turned.expect("turns");
    // Inside: nearest with the screw square to the post's radius.
    let (found, horn) = turned(&post(16.0, 0.1));
    assert!((found.least.gap - (20.0 - 16.0 - 2.5)).abs() < 1e-3, "{found:?}");
    assert!((horn - 0.1).abs() < 0.01, "{horn}");
    // Out of reach of that turn: as near as the neck's turn lets it come.
    let (found, horn) = turned(&post(16.0, 0.5));
    let off = 0.5 - mechanism.neck_turn;
    assert!((found.least.gap - (20.0 - 16.0 * libm::cos(off) - 2.5)).abs() < 1e-3, "{found:?}");
    assert!((horn - mechanism.neck_turn).abs() < 1e-3, "{horn}");
    // Outside: the screw's side is led into the post.
    let (found, _) = turned(&post(20.9, 0.0));
    assert_eq!(found.least.state, State::Overlapping);
}

/// Of whole necks: no turn in between is ever nearer than what is reported, and what is reported
/// is there at the turn it is said for.
#[test]
fn no_turn_between_is_nearer_than_the_least() {
    for text in [
        include_str!("../examples/jobs/alto.json"),
        include_str!("../examples/jobs/tenor.json"),
        include_str!("../examples/jobs/smallest.json"),
    ] {
        let neck = build_from_text(text).expect("builds").assembly;
        let mechanism = Mechanism {
            hinge: Pivot { point: neck.hinge.point, axis: neck.hinge.direction },
            open_angle: neck.open_angle,
            tenon: Pivot { point: neck.tenon_axis.origin, axis: neck.tenon_axis.z },
            neck_turn: PI / 12.0,
        };
        let horn = ["receiver", "clamp_screw", "octave_pin"];
        let made: Vec<Made> = neck
            .parts
            .iter()
            .chain(&neck.keepouts)
            .map(|part| {
                let group = if part.moves_with_key {
                    Group::Key
                } else if horn.contains(&part.id) {
                    Group::Horn
                } else {
                    Group::Neck
                };
                Made::in_group(part.id, &part.shape, group, &mechanism)
            })
            .collect();
        let mut near = 0;
        for (i, a) in made.iter().enumerate() {
            for b in &made[i + 1..] {
                let one_is = |group| (a.group == group) != (b.group == group);
                let keepouts = neck.keepouts.iter().any(|part| part.id == a.id);
                if keepouts || !one_is(Group::Key) && !one_is(Group::Horn) {
                    continue;
                }
                let all = in_all_poses(a, b, &mechanism);
                let (found, horn) = match (all.turned, all.swing) {
                    (Some(turned), _) => turned,
                    (None, Some(swing)) => (swing.1, 0.0),
                    (None, None) => panic!("{} and {} move", a.id, b.id),
                };
                let with_horn = all.turned.is_some();
                let there = at(a, b, &mechanism, Turn { key: found.angle, horn });
                if !found.least.at_least {
                    assert!((there.distance - found.least.distance).abs() < 1e-3);
                    near += 1;
                }
                let slack = if found.least.state == State::Overlapping { 0.1 } else { TOLERANCE };
                for key in 0..=9 {
                    for horn in if with_horn { -2..=2 } else { 0..=0 } {
                        let turn = Turn {
                            key: mechanism.open_angle * f64::from(key) / 9.0,
                            horn: mechanism.neck_turn * f64::from(horn) / 2.0,
                        };
                        let between = at(a, b, &mechanism, turn);
                        let (a, b) = (&a.id, &b.id);
                        // A bound says nothing about how near a pair is, only that it is no nearer.
                        if !between.at_least {
                            assert!(
                                between.distance >= found.bound - 1e-5,
                                "{a}, {b}: {between:?} under the bound {} at {turn:?}",
                                found.bound
                            );
                            assert!(
                                between.distance >= found.least.distance - slack
                                    || found.least.at_least,
                                "{a}, {b}: {between:?} at {turn:?}, nearer than {found:?}"
                            );
                        }
                    }
                }
            }
        }
        assert!(near > 10, "only {near} pairs come near");
    }
}

/// Truth: the least of a motion is no more than what either of its ends has, within what the least is found to. So an end of
/// which only a bound is told is surely no nearer than the least is.
#[test]
fn what_is_told_of_an_end_is_no_less_than_the_least_of_the_swing() {
    let mut bounds = 0;
    for job in [
        include_str!("../examples/jobs/alto.json"),
        include_str!("../examples/jobs/tenor.json"),
        include_str!("../examples/jobs/smallest.json"),
        include_str!("../examples/jobs/largest.json"),
    ] {
        let model = neckwright::model::Model::build(job, None).expect("the job builds");
        let list = model.clearances();
        let value = |row: &neckwright::checks::Pair| row.gap_mm - row.overlap_mm;
        for row in
            list.pairs.iter().filter(|row| row.pose == Pose::Swing && row.at_least != Some(true))
        {
            let ends = list.pairs.iter().filter(|end| {
                (&end.a, &end.b) == (&row.a, &row.b)
                    && [Pose::Closed, Pose::Open].contains(&end.pose)
            });
            for end in ends {
                bounds += u32::from(end.at_least == Some(true));
                assert!(value(row) <= value(end) + 0.005, "{row:?} {end:?}");
            }
        }
    }
    assert!(bounds > 0, "no end of a near pair is told by a bound");
}

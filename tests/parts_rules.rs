//! Parts in their places, and the rules between parameters: each judged by its own definition, not by the code that
//! made it.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::disallowed_methods,
    clippy::disallowed_types,
    reason = "a test may stop at once, and judges by the standard library's functions"
)]

use std::f64::consts::PI;

use glam::{DVec2, DVec3};
use neckwright::geometry::distance::DistanceField;
use neckwright::geometry::neck::Neck;
use neckwright::geometry::outline::{Outline, Side};
use neckwright::geometry::shape::{HoleEnd, Plate, Rod, RodPiece, Shape, Turned};
use neckwright::job::{Severity, Violation, Voice, starting_text};
use neckwright::parts::{Assembly, NoLift, Part, PlacedJob, build_from_text, rules};
use serde_json::{Value, json};

const EXAMPLES: [(&str, &str); 5] = [
    ("alto", include_str!("../examples/jobs/alto.json")),
    ("tenor", include_str!("../examples/jobs/tenor.json")),
    ("smallest", include_str!("../examples/jobs/smallest.json")),
    ("largest", include_str!("../examples/jobs/largest.json")),
    ("alto_clash", include_str!("../examples/jobs/alto_clash.json")),
];

fn pointer(path: &str) -> String {
    path.split(['.', '[']).map(|step| format!("/{}", step.trim_end_matches(']'))).collect()
}

/// The alto with some fields changed.
fn alto(changes: &[(&str, Value)]) -> String {
    changed(starting_text(Voice::Alto).expect("there is an alto"), changes)
}

fn changed(text: &str, changes: &[(&str, Value)]) -> String {
    let mut job: Value = serde_json::from_str(text).expect("an example is JSON");
    for (path, value) in changes {
        *job.pointer_mut(&pointer(path)).unwrap_or_else(|| panic!("no field {path}")) =
            value.clone();
    }
    job.to_string()
}

fn built(text: &str) -> PlacedJob {
    build_from_text(text).unwrap_or_else(|found| panic!("{found:#?}"))
}

fn errors(text: &str) -> Vec<Violation> {
    match build_from_text(text) {
        Ok(_) => Vec::new(),
        Err(found) => found.into_iter().filter(Violation::is_error).collect(),
    }
}

fn part<'a>(neck: &'a Assembly, id: &str) -> &'a Part {
    neck.part(id).unwrap_or_else(|| panic!("no {id}"))
}

fn plate<'a>(neck: &'a Assembly, id: &str) -> &'a Plate {
    match &part(neck, id).shape {
        Shape::Plate(plate) => plate,
        other => panic!("{id} is {other:?}"),
    }
}

fn turned<'a>(neck: &'a Assembly, id: &str) -> &'a Turned {
    match &part(neck, id).shape {
        Shape::Turned(turned) => turned,
        other => panic!("{id} is {other:?}"),
    }
}

fn rod(neck: &Assembly) -> &Rod {
    match &part(neck, "rod_loop").shape {
        Shape::Rod(rod) => rod,
        other => panic!("the loop is {other:?}"),
    }
}

/// Corners of an outline; its arcs are divided into 32, its cubics as they are for distances.
fn corners(outline: &Outline) -> Vec<DVec2> {
    let mut corners = Vec::new();
    for side in outline.sides() {
        match side {
            Side::Line { from, .. } => corners.push(*from),
            Side::Arc { from, centre, sweep } => corners.extend((0..32).map(|i| {
                *centre + DVec2::from_angle(sweep * f64::from(i) / 32.0).rotate(*from - *centre)
            })),
            Side::Cubic { flat, .. } => corners.extend(&flat[..flat.len() - 1]),
        }
    }
    corners
}

/// Least and greatest coordinates of an outline's corners.
fn bounds(outline: &Outline) -> (DVec2, DVec2) {
    let corners = corners(outline);
    let first = corners.first().copied().unwrap_or_default();
    corners.iter().fold((first, first), |sum, &point| (sum.0.min(point), sum.1.max(point)))
}

/// Points along an outline, at most about 0.4 mm apart.
fn walk(outline: &Outline) -> Vec<DVec2> {
    let corners = corners(outline);
    let mut points = Vec::new();
    for (i, &a) in corners.iter().enumerate() {
        let b = corners[(i + 1) % corners.len()];
        let steps = (a.distance(b) / 0.4).ceil().max(1.0) as u32;
        points.extend((0..steps).map(|k| a.lerp(b, f64::from(k) / f64::from(steps))));
    }
    points
}

/// Distance of a point of the plane of the bend from the tube's outside: the least over stations of its distance from
/// the centre less the radius there, by trying stations, coarse then fine. No use is made of the crate's own search.
///
/// On a taper of slope k this falls short of the height over the tube by up to k² R / 2, here 0.007 mm.
fn above_tube(neck: &Neck, point: DVec2) -> f64 {
    let clear = |station: f64| {
        let centre = neck.at(station).centre;
        DVec2::new(centre.x, centre.z).distance(point) - neck.outside(station)
    };
    let length = neck.centreline.length();
    let coarse = (0..=150).map(|i| length * f64::from(i) / 150.0);
    let best = coarse.min_by(|a, b| clear(*a).total_cmp(&clear(*b))).unwrap_or(0.0);
    (-40..=40)
        .map(|i| clear(best + length / 150.0 * f64::from(i) / 40.0))
        .fold(f64::INFINITY, f64::min)
}

/// A point of the key after a turn about +Y by the right-hand rule, written out: x' = x cos + z sin, z' = z cos - x sin.
fn opened(neck: &Assembly, point: DVec2, angle: f64) -> DVec2 {
    let hinge = DVec2::new(neck.hinge.point.x, neck.hinge.point.z);
    let d = point - hinge;
    hinge + DVec2::new(d.x * angle.cos() + d.y * angle.sin(), d.y * angle.cos() - d.x * angle.sin())
}

#[test]
fn every_example_builds_and_lists_every_part() {
    let parts = [
        "tube",
        "tenon",
        "end_ring",
        "cork",
        "vent",
        "brace",
        "saddle",
        "post_left",
        "post_right",
        "hinge_tube",
        "hinge_screw",
        "key_arm",
        "pad_cup",
        "pad",
        "rod_loop",
        "spring",
        "spring_screw",
        "guide",
    ];
    for (name, text) in EXAMPLES {
        let PlacedJob { job, assembly, warnings } = built(text);
        assert_eq!(warnings, [], "{name}");
        let mut expected: Vec<&str> = parts.into();
        expected.extend(job.badge.map(|_| "badge"));
        assert_eq!(
            assembly.parts.iter().map(|part| part.id).collect::<Vec<_>>(),
            expected,
            "{name}"
        );
        assert_eq!(
            assembly.keepouts.iter().map(|part| part.id).collect::<Vec<_>>(),
            ["mouthpiece", "receiver", "clamp_screw", "octave_pin", "screwdriver_path"]
        );
        assert_eq!(assembly.halves.each_ref().map(|part| part.id), ["half_left", "half_right"]);
        assert!(assembly.parts.iter().all(|part| part.metal.is_some() && !part.keepout));
        assert!(assembly.keepouts.iter().all(|part| part.metal.is_none() && part.keepout));
        let moving: Vec<&str> =
            assembly.parts.iter().filter(|part| part.moves_with_key).map(|part| part.id).collect();
        assert_eq!(moving, ["key_arm", "pad_cup", "pad", "rod_loop", "spring", "spring_screw"]);
    }
}

#[test]
fn the_open_key_lifts_its_pad_by_the_lift() {
    for (name, text) in EXAMPLES {
        let PlacedJob { job, assembly, .. } = built(text);
        let at = assembly.neck.at(job.vent.station_mm);
        let seat =
            at.centre + at.up * (assembly.neck.outside(job.vent.station_mm) + job.vent.stand_mm);
        let flat = DVec2::new(seat.x, seat.z);
        let rise =
            (opened(&assembly, flat, assembly.open_angle) - flat).dot(DVec2::new(at.up.x, at.up.z));
        assert!((rise - job.key.lift_mm).abs() < 1e-9, "{name}: {rise}");
    }
}

/// Source: a plane sketch of the alto drawn before any of this was written gave 2.7, 1.5 and 1.2 mm of loop travel for
/// each millimetre of lift with the hinge at station 90, 102 and 110.
#[test]
fn the_loop_travels_as_the_sketch_of_the_alto_says() {
    for (station, expected) in [(90.0, 2.7), (102.0, 1.5), (110.0, 1.2)] {
        let PlacedJob { job, assembly, .. } =
            built(&alto(&[("saddle.station_mm", json!(station))]));
        let tenon = &assembly.tenon_axis;
        let middle = tenon.origin
            - tenon.z * job.rod_loop.above_seat_mm
            - tenon.x * job.rod_loop.reach_player_mm;
        let flat = DVec2::new(middle.x, middle.z);
        let travel = (flat - opened(&assembly, flat, assembly.open_angle))
            .dot(DVec2::new(tenon.x.x, tenon.x.z));
        let ratio = travel / job.key.lift_mm;
        assert!((ratio / expected - 1.0).abs() < 0.2, "station {station}: {ratio} for {expected}");
    }
}

/// A pin that moves by less than its rest gap never meets the loop: there is no lift, and no number is made up.
#[test]
fn a_pin_that_does_not_reach_the_loop_lifts_nothing() {
    let short = [("horn.pin.travel_mm", json!(0.6)), ("horn.pin.rest_gap_mm", json!(1.0))];
    let action = built(&alto(&short)).assembly.action;
    assert_eq!(action.available_lift, Err(NoLift::PinStaysShort));
    // What the loop does for the lift asked for does not depend on the pin's travel.
    let usual = built(&alto(&[])).assembly.action;
    assert!(usual.leverage.is_some_and(|leverage| leverage > 0.0));
    assert_eq!(action.leverage, usual.leverage);
    assert!(usual.available_lift.is_ok_and(|lift| lift > 0.0));
}

#[test]
fn the_arm_clears_the_tube_all_the_way_open() {
    for (name, text) in &EXAMPLES[..4] {
        let PlacedJob { job, assembly, .. } = built(text);
        let arm = walk(&plate(&assembly, "key_arm").outline);
        for step in 0..=4 {
            let angle = assembly.open_angle * f64::from(step) / 4.0;
            let least = arm
                .iter()
                .map(|&point| above_tube(&assembly.neck, opened(&assembly, point, angle)))
                .fold(f64::INFINITY, f64::min);
            assert!(least >= job.limits.least_clearance_mm, "{name}, turn {angle}: {least}");
        }
    }
}

#[test]
fn the_arm_clears_the_floor_of_the_guide_all_the_way_open() {
    // A low loop brings the arm down to the guide.
    let PlacedJob { job, assembly, .. } = built(&alto(&[("rod_loop.reach_bell_mm", json!(16.0))]));
    let neck = &assembly.neck;
    let floor = job.limits.joint_gap_mm + job.guide.strip_thickness_mm;
    for point in walk(&plate(&assembly, "key_arm").outline) {
        let open = opened(&assembly, point, assembly.open_angle);
        let station = neck.centreline.nearest_station(DVec3::new(open.x, 0.0, open.y));
        let over = (station - job.guide.station_mm).abs() < job.guide.length_mm / 2.0;
        if over {
            assert!(above_tube(neck, open) >= floor + job.limits.least_clearance_mm);
        }
    }
}

#[test]
fn the_arm_lies_a_joint_gap_over_the_cup_and_round_the_hinge_tube() {
    for (name, text) in EXAMPLES {
        let PlacedJob { job, assembly, .. } = built(text);
        let gap = job.limits.joint_gap_mm;
        let arm = plate(&assembly, "key_arm");
        let cup = turned(&assembly, "pad_cup");
        let roof =
            cup.axis.origin + cup.axis.z * (job.pad.thickness_mm + gap + job.pad_cup.roof_mm);
        let (over_cup, _) = arm.outline.signed_distance(DVec2::new(roof.x, roof.z), |_| true);
        assert!((over_cup - gap).abs() < 1e-9, "{name}: {over_cup}");
        let hole = arm.holes[0];
        assert!((hole.radius - job.hinge.tube_outer_diameter_mm / 2.0 - gap).abs() < 1e-12);
        assert!(
            hole.centre.distance(DVec2::new(assembly.hinge.point.x, assembly.hinge.point.z))
                < 1e-12
        );
        let (land, _) = arm.outline.signed_distance(hole.centre, |_| true);
        assert!(-land - hole.radius >= 0.4 - 1e-9, "{name}: {land}");
    }
}

/// End point and unit direction of a piece at its start and end.
fn ends(piece: &RodPiece) -> [(DVec3, DVec3); 2] {
    match *piece {
        RodPiece::Line { from, to } => [from, to].map(|point| (point, (to - from).normalize())),
        RodPiece::Arc { from, centre, axis, sweep } => {
            assert!(sweep > 0.0 && sweep < PI);
            [0.0, sweep].map(|angle| {
                let spoke = glam::DQuat::from_axis_angle(axis, angle) * (from - centre);
                (centre + spoke, axis.cross(spoke).normalize())
            })
        }
    }
}

#[test]
fn the_loop_is_one_smooth_bend_alike_on_both_sides() {
    let jobs = EXAMPLES.map(|(_, text)| text.to_owned());
    let tilted = [-20.0, 15.0].map(|tilt| alto(&[("rod_loop.tilt_deg", json!(tilt))]));
    for text in jobs.into_iter().chain(tilted) {
        let PlacedJob { job, assembly, .. } = built(&text);
        let rod = rod(&assembly);
        for pair in rod.path.windows(2) {
            let (end, start) = (ends(&pair[0])[1], ends(&pair[1])[0]);
            assert!(end.0.distance(start.0) < 1e-9);
            assert!(end.1.distance(start.1) < 1e-9);
        }
        let mirrored = |point: DVec3| DVec3::new(point.x, -point.y, point.z);
        for (piece, other) in rod.path.iter().zip(rod.path.iter().rev()) {
            assert!(mirrored(ends(piece)[0].0).distance(ends(other)[1].0) < 1e-9);
        }
        // Reaches, square to the tenon's axis whatever the tilt: the rod's inside on the player's side and at the bell.
        let tenon = &assembly.tenon_axis;
        let to_bell: Vec<f64> = rod
            .path
            .iter()
            .flat_map(ends)
            .filter(|(_, along)| along.y.abs() > 0.999)
            .map(|(point, _)| tenon.local(point).x)
            .collect();
        let (player, bell) = to_bell
            .iter()
            .fold((0.0, 0.0), |(low, high): (f64, f64), x| (low.min(*x), high.max(*x)));
        assert!((-player - rod.radius - job.rod_loop.reach_player_mm).abs() < 1e-9, "{player}");
        assert!((bell - rod.radius - job.rod_loop.reach_bell_mm).abs() < 1e-9, "{bell}");
    }
}

#[test]
fn the_loop_stands_off_the_pin_by_the_rest_gap() {
    for (name, text) in EXAMPLES {
        let PlacedJob { job, assembly, .. } = built(text);
        let pin = turned(&assembly, "octave_pin");
        let player = rod(&assembly)
            .path
            .iter()
            .flat_map(ends)
            .map(|(point, _)| assembly.tenon_axis.local(point))
            .fold(0.0, |least: f64, point| least.min(point.x));
        let pin_at = assembly.tenon_axis.local(pin.axis.origin).x;
        let gap = (pin_at - job.horn.pin.diameter_mm / 2.0) - (player + rod(&assembly).radius);
        assert!((gap - job.horn.pin.rest_gap_mm).abs() < 1e-9, "{name}: {gap}");
    }
}

#[test]
fn the_rod_is_laid_along_both_flats_of_the_arm() {
    let PlacedJob { job, assembly, .. } = built(&alto(&[]));
    let rod = rod(&assembly);
    let arm = plate(&assembly, "key_arm");
    for (piece, side) in [(&rod.path[0], 1.0), (&rod.path[rod.path.len() - 1], -1.0)] {
        for (point, _) in ends(piece) {
            let beside = side * point.y - rod.radius - arm.half_thickness;
            assert!((beside - job.limits.joint_gap_mm).abs() < 1e-12);
            let (inside, _) = arm.outline.signed_distance(DVec2::new(point.x, point.z), |_| true);
            assert!(inside < 1e-9, "the rod's end lies beside the arm, {inside} mm off it");
        }
    }
}

#[test]
fn the_spring_lies_under_its_seat_and_touches_the_tube_with_its_tip_alone() {
    for (name, text) in EXAMPLES {
        let PlacedJob { job, assembly, .. } = built(text);
        let spring = plate(&assembly, "spring");
        let arm = plate(&assembly, "key_arm");
        let tip_station =
            job.saddle.station_mm + job.spring.seat_from_hinge_mm + job.spring.reach_mm;
        let at = assembly.neck.at(tip_station);
        let top = at.centre + at.up * assembly.neck.outside(tip_station);
        let (touch, _) = spring.outline.signed_distance(DVec2::new(top.x, top.z), |_| true);
        assert!(touch.abs() < 1e-9, "{name}: {touch}");
        let least = walk(&spring.outline)
            .into_iter()
            .map(|point| above_tube(&assembly.neck, point))
            .fold(f64::INFINITY, f64::min);
        assert!(least > -0.007 && least < 1e-3, "{name}: {least}");
        let [Side::Line { from, to }, ..] = spring.outline.sides() else {
            panic!("the seat is straight")
        };
        assert!((from.distance(*to) - job.spring.seat_length_mm).abs() < 1e-9);
        let up = (*to - *from).perp().normalize() * job.spring.thickness_mm;
        for corner in [*from, *to] {
            let (gap, _) = arm.outline.signed_distance(corner + up, |_| true);
            // Measured to chords within 2e-4 mm of the arm's edge.
            assert!((gap - job.limits.joint_gap_mm).abs() < 3e-4, "{name}: {gap}");
        }
    }
}

#[test]
fn the_spring_is_of_one_thickness() {
    let PlacedJob { job, assembly, .. } = built(&alto(&[]));
    let outline = &plate(&assembly, "spring").outline;
    let [_, Side::Cubic { flat: lower, .. }, _, Side::Cubic { nodes: upper, flat: upper_flat }, ..] =
        outline.sides()
    else {
        panic!("two bent edges")
    };
    assert!(upper.len() > 2);
    for point in &lower[1..lower.len() - 1] {
        let across = upper_flat
            .windows(2)
            .map(|pair| {
                let along = pair[1] - pair[0];
                let t = ((*point - pair[0]).dot(along) / along.length_squared()).clamp(0.0, 1.0);
                (pair[0] + along * t).distance(*point)
            })
            .fold(f64::INFINITY, f64::min);
        assert!((across - job.spring.thickness_mm).abs() < 0.002, "{across}");
    }
}

#[test]
fn the_screws_fit_their_holes() {
    for (name, text) in EXAMPLES {
        let PlacedJob { job, assembly, .. } = built(text);
        let arm = plate(&assembly, "key_arm");
        let hole = arm.edge_holes[0];
        assert!((2.0 * hole.radius - job.spring_screw.thread.tap_drill_mm()).abs() < 1e-12);
        let HoleEnd::Blind(depth) = hole.end else {
            panic!("{name}: the hole in the arm goes through")
        };
        let screw = turned(&assembly, "spring_screw");
        let (low, high) = bounds(&screw.profile);
        assert!(
            high.x < depth && high.x > 0.3,
            "{name}: the screw ends {} in a hole {depth} deep",
            high.x
        );
        assert!((2.0 * high.y - job.spring_screw.head_diameter_mm).abs() < 1e-12 && low.y == 0.0);
        // The hinge screw ends inside the tapped post, 0.1 mm under its drill.
        let hinge = turned(&assembly, "hinge_screw");
        let (_, reach) = bounds(&hinge.profile);
        let outer = job.hinge.tube_length_mm / 2.0 + job.hinge.end_play_mm + job.posts.diameter_mm;
        assert!((outer - reach.x - 0.3).abs() < 1e-9, "{name}");
        let (at_end, _) = hinge
            .profile
            .signed_distance(DVec2::new(outer - 2.0, 0.0), |side| side.start().y > 0.0);
        assert!(
            (2.0 * -at_end - (job.hinge.thread.tap_drill_mm() - 0.1)).abs() < 1e-9,
            "{name}: {at_end}"
        );
        // The head is on the side the job says.
        let head = hinge.axis.z.y < 0.0;
        assert_eq!(head, job.posts.screw_head_side == neckwright::job::parameters::Side::Left);
    }
}

#[test]
fn joints_leave_their_gap() {
    for (name, text) in EXAMPLES {
        let PlacedJob { job, assembly, .. } = built(text);
        let neck = &assembly.neck;
        let gap = job.limits.joint_gap_mm;
        let tube = DistanceField::new(&part(&assembly, "tube").shape);
        // A point of each part's joint face, straight on the definition: at the tube's outside plus the gap.
        let on_tube = |station: f64, azimuth: f64| {
            let at = neck.at(station);
            at.centre
                + (at.up * azimuth.cos() + DVec3::Y * azimuth.sin()) * (neck.outside(station) + gap)
        };
        let tenon_begins =
            neck.centreline.length() - job.tenon.length_mm - job.tenon.collar_length_mm;
        for (id, point) in [
            ("saddle", on_tube(job.saddle.station_mm, 0.2)),
            ("brace", on_tube(job.brace.from_station_mm + 1.0, PI)),
            ("guide", on_tube(job.guide.station_mm, 0.0)),
            ("end_ring", on_tube(job.end_ring.length_mm / 2.0, 1.0)),
            ("cork", on_tube(job.cork.to_station_mm - 2.0, -2.0)),
            ("tenon", on_tube(tenon_begins + 1.0, 0.7)),
        ] {
            let own = DistanceField::new(&part(&assembly, id).shape).near(point).distance;
            assert!(own.abs() < 1e-6, "{name}: {id} misses its joint by {own}");
            let to_tube = tube.near(point).distance;
            // Measured in the section; the true distance is less by the cosine of the taper.
            assert!(
                to_tube <= gap + 1e-9 && to_tube > gap * 0.99,
                "{name}: {id} stands {to_tube} off the tube"
            );
        }
    }
}

#[test]
fn the_cork_is_as_wide_as_the_shank_and_clears_the_end_ring() {
    let PlacedJob { job, assembly, .. } = built(&alto(&[]));
    let (low, high) = bounds(&turned(&assembly, "cork").profile);
    assert_eq!(2.0 * high.y, job.mouthpiece.shank_bore_mm);
    assert!(low.x - job.end_ring.length_mm >= job.limits.least_clearance_mm);
}

#[test]
fn the_tenon_carries_the_bore_to_its_end() {
    for (name, text) in EXAMPLES {
        let PlacedJob { job, assembly, .. } = built(text);
        let tenon = turned(&assembly, "tenon");
        let (low, high) = bounds(&tenon.profile);
        assert!(
            (low.x + job.tenon.collar_length_mm).abs() < 1e-9
                && (high.x - job.tenon.length_mm).abs() < 1e-9
        );
        assert!((2.0 * high.y - job.tenon.collar_diameter_mm).abs() < 1e-9);
        let length = assembly.neck.centreline.length();
        for station in [length, length - 3.0, length - job.tenon.length_mm] {
            let point = DVec2::new(
                station - (length - job.tenon.length_mm),
                assembly.neck.bore.radius(station),
            );
            let (miss, _) = tenon.profile.signed_distance(point, |_| true);
            // A profile's distance stands on chords within 2e-4 mm of its curves.
            assert!(miss.abs() < 3e-4, "{name}: at {station} the bore misses by {miss}");
        }
    }
}

/// One rule broken by one or two changes to the alto, and where it must be reported.
#[test]
fn each_broken_rule_is_named_where_it_stands() {
    let piece = |index: usize, name: &str| format!("centreline.pieces[{index}].{name}");
    let cases: Vec<(Vec<(&str, Value)>, String)> = vec![
        (vec![("centreline.pieces[3].straight_mm", json!(20.0))], piece(3, "straight_mm")),
        (vec![("centreline.pieces[0].straight_mm", json!(30.0))], piece(0, "straight_mm")),
        (
            vec![
                ("centreline.pieces[2].radius_mm", json!(12.0)),
                ("centreline.pieces[3].straight_mm", json!(90.0)),
            ],
            piece(2, "radius_mm"),
        ),
        (vec![("bore.half_angle_deg", json!(1.9))], "tenon.outer_diameter_mm".into()),
        (vec![("tenon.outer_diameter_mm", json!(23.5))], "tenon.outer_diameter_mm".into()),
        (vec![("tenon.collar_diameter_mm", json!(24.0))], "tenon.collar_diameter_mm".into()),
        (vec![("tenon.socket_depth_mm", json!(7.0))], "tenon.socket_depth_mm".into()),
        (vec![("end_ring.bead_diameter_mm", json!(13.0))], "end_ring.bead_diameter_mm".into()),
        (
            vec![("end_ring.bead_radius_mm", json!(3.0)), ("end_ring.length_mm", json!(3.0))],
            "end_ring.length_mm".into(),
        ),
        (vec![("mouthpiece.shank_bore_mm", json!(16.0))], "mouthpiece.shank_bore_mm".into()),
        (vec![("cork.to_station_mm", json!(8.0))], "cork.to_station_mm".into()),
        (vec![("mouthpiece.deepest_push_mm", json!(45.0))], "mouthpiece.deepest_push_mm".into()),
        (vec![("vent.station_mm", json!(36.0))], "vent.station_mm".into()),
        (vec![("vent.bore_mm", json!(4.2))], "vent.outer_diameter_mm".into()),
        (vec![("vent.outer_diameter_mm", json!(10.0))], "vent.outer_diameter_mm".into()),
        (vec![("pad.diameter_mm", json!(4.5))], "pad.diameter_mm".into()),
        (vec![("pad.stand_out_mm", json!(2.9))], "pad.stand_out_mm".into()),
        (vec![("brace.to_station_mm", json!(170.0))], "brace.to_station_mm".into()),
        (vec![("brace.to_station_mm", json!(70.0))], "brace.to_station_mm".into()),
        (
            vec![("brace.form", json!("bridge")), ("brace.foot_length_mm", json!(40.0))],
            "brace.to_station_mm".into(),
        ),
        (vec![("brace.width_mm", json!(20.0))], "brace.width_mm".into()),
        (vec![("saddle.station_mm", json!(70.0))], "saddle.station_mm".into()),
        (vec![("saddle.station_mm", json!(164.0))], "saddle.station_mm".into()),
        (vec![("saddle.half_wrap_deg", json!(40.0))], "saddle.half_wrap_deg".into()),
        (vec![("saddle.length_mm", json!(4.0))], "saddle.length_mm".into()),
        (vec![("hinge.tube_length_mm", json!(14.0))], "hinge.tube_length_mm".into()),
        (
            vec![("key.arm_thickness_mm", json!(6.0)), ("hinge.tube_length_mm", json!(6.0))],
            "hinge.tube_length_mm".into(),
        ),
        (vec![("posts.axis_height_mm", json!(3.5))], "posts.axis_height_mm".into()),
        (vec![("posts.top_above_axis_mm", json!(1.0))], "posts.top_above_axis_mm".into()),
        (vec![("posts.diameter_mm", json!(2.5))], "posts.diameter_mm".into()),
        (vec![("hinge.screw_diameter_mm", json!(1.8))], "hinge.screw_diameter_mm".into()),
        (vec![("hinge.tube_outer_diameter_mm", json!(2.5))], "hinge.tube_outer_diameter_mm".into()),
        (vec![("hinge.head_diameter_mm", json!(2.3))], "hinge.head_diameter_mm".into()),
        (vec![("rod_loop.corner_radius_mm", json!(16.0))], "rod_loop.reach_player_mm".into()),
        (
            vec![
                ("rod_loop.reach_bell_mm", json!(8.0)),
                ("rod_loop.corner_radius_mm", json!(11.0)),
            ],
            "rod_loop.corner_radius_mm".into(),
        ),
        (vec![("rod_loop.bend_radius_mm", json!(1.5))], "rod_loop.bend_radius_mm".into()),
        (vec![("rod_loop.lap_mm", json!(3.0))], "rod_loop.lap_mm".into()),
        (vec![("rod_loop.lap_mm", json!(40.0))], "rod_loop.lap_mm".into()),
        (vec![("spring.width_mm", json!(2.0))], "spring.width_mm".into()),
        (vec![("spring.seat_length_mm", json!(2.0))], "spring.seat_length_mm".into()),
        (vec![("spring.seat_from_hinge_mm", json!(5.0))], "spring.seat_from_hinge_mm".into()),
        (vec![("spring.reach_mm", json!(4.0))], "spring.reach_mm".into()),
        (vec![("spring.reach_mm", json!(70.0))], "spring.reach_mm".into()),
        (vec![("spring_screw.depth_mm", json!(3.9))], "spring_screw.depth_mm".into()),
        (vec![("spring_screw.depth_mm", json!(0.8))], "spring_screw.depth_mm".into()),
        (
            vec![("spring_screw.head_diameter_mm", json!(1.5))],
            "spring_screw.head_diameter_mm".into(),
        ),
        (vec![("key.arm_thickness_mm", json!(2.0))], "key.arm_thickness_mm".into()),
        (vec![("guide.station_mm", json!(108.0))], "guide.station_mm".into()),
        (vec![("guide.station_mm", json!(166.0))], "guide.station_mm".into()),
        (vec![("guide.station_mm", json!(163.0))], "guide.station_mm".into()),
        (vec![("guide.half_wrap_deg", json!(8.0))], "guide.half_wrap_deg".into()),
        (
            vec![
                ("key.lift_mm", json!(6.0)),
                ("vent.station_mm", json!(70.0)),
                ("saddle.station_mm", json!(84.0)),
            ],
            "key.lift_mm".into(),
        ),
        (
            vec![
                ("key.boss_land_mm", json!(5.0)),
                ("saddle.length_mm", json!(5.0)),
                ("spring.seat_from_hinge_mm", json!(7.5)),
                ("spring.seat_length_mm", json!(4.0)),
            ],
            "key.boss_land_mm".into(),
        ),
        (
            vec![("mouthpiece.shank_diameter_mm", json!(17.5))],
            "mouthpiece.shank_diameter_mm".into(),
        ),
        (vec![("horn.receiver_diameter_mm", json!(24.6))], "horn.receiver_diameter_mm".into()),
        (vec![("horn.clamp.offset_mm", json!(14.0))], "horn.clamp.offset_mm".into()),
        (vec![("limits.joint_gap_max_mm", json!(0.03))], "limits.joint_gap_max_mm".into()),
        (vec![("limits.running_max_mm", json!(0.005))], "limits.running_max_mm".into()),
        (vec![("limits.fit_max_mm", json!(0.002))], "limits.fit_max_mm".into()),
    ];
    for (changes, path) in cases {
        let text = alto(&changes);
        let found = errors(&text);
        let Some(named) = found.iter().find(|violation| violation.path == path) else {
            panic!("{changes:?} should be refused at {path}: {found:#?}")
        };
        let written: Value = serde_json::from_str(&text).expect("JSON");
        assert_eq!(Some(&named.value), written.pointer(&pointer(&path)), "{path}");
        assert!(named.why.ends_with('.') && !named.allowed.is_empty());
    }
}

#[test]
fn a_badge_keeps_to_the_tube() {
    let badge = |station: f64, width: f64| json!({"station_mm": station, "azimuth_deg": 40.0, "length_mm": 12.0, "width_mm": width, "thickness_mm": 0.6, "metal": "C26000"});
    assert_eq!(errors(&alto(&[("badge", badge(130.0, 8.0))])), []);
    for (station, width, path) in [
        (10.0, 8.0, "badge.station_mm"),
        (165.0, 8.0, "badge.station_mm"),
        (130.0, 40.0, "badge.width_mm"),
    ] {
        let found = errors(&alto(&[("badge", badge(station, width))]));
        assert_eq!(
            found.iter().map(|violation| violation.path.as_str()).collect::<Vec<_>>(),
            [path]
        );
    }
}

/// What a rule says is allowed is allowed: at the limit it prints, it no longer complains.
#[test]
fn the_limit_a_rule_prints_is_kept_to() {
    for (path, value) in [
        ("tenon.outer_diameter_mm", 23.5),
        ("tenon.socket_depth_mm", 7.0),
        ("end_ring.bead_diameter_mm", 13.0),
        ("vent.station_mm", 36.0),
        ("brace.to_station_mm", 170.0),
        ("brace.width_mm", 20.0),
        ("saddle.station_mm", 70.0),
        ("saddle.half_wrap_deg", 40.0),
        ("posts.axis_height_mm", 3.5),
        ("posts.top_above_axis_mm", 1.0),
        ("hinge.screw_diameter_mm", 1.8),
        ("guide.half_wrap_deg", 8.0),
        ("guide.station_mm", 166.0),
        ("spring.width_mm", 2.0),
        ("spring_screw.depth_mm", 3.9),
        ("rod_loop.corner_radius_mm", 40.0),
    ] {
        let named = |value: f64| {
            errors(&alto(&[(path, json!(value))]))
                .into_iter()
                .find(|violation| violation.path == path)
        };
        let first = named(value).unwrap_or_else(|| panic!("{path} = {value} is not refused"));
        let same_rule = |violation: &Violation| violation.why == first.why;
        let limit: f64 = first
            .allowed
            .split_whitespace()
            .find_map(|word| word.parse().ok())
            .unwrap_or_else(|| panic!("no number in {:?}", first.allowed));
        assert_eq!(named(limit).filter(same_rule), None, "{path} at {limit}");
    }
}

#[test]
fn every_broken_rule_is_named_at_once_with_what_is_wrong_in_single_fields() {
    let text = alto(&[
        ("tube.metal", json!("tin")),
        ("tenon.outer_diameter_mm", json!(23.0)),
        ("vent.station_mm", json!(38.0)),
        ("hinge.screw_diameter_mm", json!(1.5)),
        ("rod_loop.lap_mm", json!(3.0)),
    ]);
    let paths: Vec<String> = errors(&text).into_iter().map(|violation| violation.path).collect();
    for path in ["tube.metal", "hinge.screw_diameter_mm", "rod_loop.lap_mm", "vent.station_mm"] {
        assert!(paths.iter().any(|found| found == path), "{path} is missing from {paths:?}");
    }
}

#[test]
fn a_rule_is_not_put_to_a_field_that_could_not_be_read() {
    // The tenon's size is out of its range, so nothing is said about its wall; the vent is judged all the same.
    let text = alto(&[("tenon.outer_diameter_mm", json!(500.0)), ("vent.bore_mm", json!(4.4))]);
    let found = errors(&text);
    let paths: Vec<&str> = found.iter().map(|violation| violation.path.as_str()).collect();
    assert_eq!(paths, ["tenon.outer_diameter_mm", "vent.outer_diameter_mm"]);
    assert_eq!(found[0].allowed, "12 to 45 mm");
}

#[test]
fn rules_alone_say_what_building_says() {
    let text = alto(&[("guide.station_mm", json!(166.0)), ("saddle.half_wrap_deg", json!(30.0))]);
    let job = neckwright::job::read_job(&text).expect("every field is in its range").job;
    assert_eq!(Assembly::build(&job).err(), Some(rules(&job, &[])));
}

#[test]
fn the_maker_is_warned_where_the_neck_can_still_be_built() {
    for (changes, path) in [
        (vec![("key.lift_mm", json!(3.0))], "key.lift_mm"),
        (vec![("rod_loop.reach_player_mm", json!(21.0))], "rod_loop.reach_player_mm"),
        (vec![("end_ring.bead_radius_mm", json!(0.9))], "end_ring.bead_radius_mm"),
        (
            vec![(
                "bore",
                json!({"table": [{"station_mm": 0.0, "diameter_mm": 12.3}, {"station_mm": 150.0, "diameter_mm": 20.6}]}),
            )],
            "bore.table[1].station_mm",
        ),
        (vec![("posts.metal", json!("C36000"))], "posts.metal"),
    ] {
        let warnings = built(&alto(&changes)).warnings;
        assert_eq!(
            warnings.iter().map(|warning| warning.path.as_str()).collect::<Vec<_>>(),
            [path]
        );
        assert!(warnings.iter().all(|warning| warning.severity == Severity::Warning));
    }
}

#[test]
fn a_clash_is_no_broken_rule() {
    // A loop that runs into pin and collar, a brace under the mouthpiece, a guide beside the rod's points: all can be
    // drawn, and the list of clearances shows what they do.
    for changes in [
        vec![("rod_loop.reach_player_mm", json!(16.5)), ("rod_loop.reach_bell_mm", json!(11.0))],
        vec![("brace.from_station_mm", json!(25.0))],
        vec![("guide.station_mm", json!(157.0))],
        vec![("limits.least_clearance_mm", json!(2.0))],
        vec![("key.lift_mm", json!(6.0))],
        vec![("key.lift_mm", json!(6.0)), ("vent.station_mm", json!(84.0))],
    ] {
        assert_eq!(errors(&alto(&changes)), [], "{changes:?}");
    }
}

#[test]
fn a_table_of_the_same_cone_gives_the_same_neck() {
    let slope = 2.0 * 1.6_f64.to_radians().tan();
    let rows: Vec<Value> = [0.0, 40.0, 110.0, 193.0]
        .iter()
        .map(|station| json!({"station_mm": station, "diameter_mm": 12.3 + slope * station}))
        .collect();
    let cone = built(&alto(&[]));
    let table = built(&alto(&[("bore", json!({ "table": rows }))]));
    for station in [0.0, 66.0, 150.0, 193.0] {
        let (a, b) =
            (cone.assembly.neck.bore.radius(station), table.assembly.neck.bore.radius(station));
        assert!((a - b).abs() < 1e-9);
    }
    assert_eq!(cone.assembly.open_angle, table.assembly.open_angle);
}

//! Every example job reads, is written back byte for byte, and adds up; every wrong job is answered, never with a panic.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use neckwright::job::parameters::{Bore, Centreline, Job, Piece, ValuesAre};
use neckwright::job::{
    Severity, Violation, Voice, job_schema, read_job, read_job_leniently, starting_job, write_job,
};
use proptest::prelude::*;
use serde_json::{Value, json};

const ALTO: &str = include_str!("../examples/jobs/alto.json");
const TENOR: &str = include_str!("../examples/jobs/tenor.json");
const SMALLEST: &str = include_str!("../examples/jobs/smallest.json");
const LARGEST: &str = include_str!("../examples/jobs/largest.json");

/// Name and text of every file in examples/jobs.
fn examples() -> BTreeMap<String, String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/jobs");
    fs::read_dir(folder)
        .expect("examples/jobs is there")
        .map(|entry| {
            let path = entry.expect("the folder can be listed").path();
            let name = path.file_stem().expect("a file has a name").to_string_lossy().into_owned();
            (name, fs::read_to_string(path).expect("the file can be read"))
        })
        .collect()
}

fn example_jobs() -> Vec<(String, Job)> {
    examples()
        .into_iter()
        .map(|(name, text)| match read_job(&text) {
            Ok(read) => (name, read.job),
            Err(violations) => panic!("{name}: {}", told(&violations)),
        })
        .collect()
}

fn told(violations: &[Violation]) -> String {
    violations.iter().map(|violation| format!("{violation}\n")).collect()
}

fn value(text: &str) -> Value {
    serde_json::from_str(text).expect("the example is JSON")
}

/// The alto with one thing changed, as text.
fn alto_with(pointer: &str, new: Value) -> String {
    let mut job = value(ALTO);
    *job.pointer_mut(pointer).expect("the alto has this field") = new;
    job.to_string()
}

fn paths_of(text: &str) -> Vec<String> {
    read_job_leniently(text).violations.into_iter().map(|violation| violation.path).collect()
}

// ---- The examples

#[test]
fn there_is_an_alto_a_tenor_a_smallest_a_largest_and_a_clash() {
    let names: Vec<String> = examples().into_keys().collect();
    for wanted in ["alto", "tenor", "smallest", "largest"] {
        assert!(names.iter().any(|name| name == wanted), "{wanted} is not among {names:?}");
    }
    assert!(names.iter().any(|name| name.contains("clash")));
}

#[test]
fn every_example_reads_without_a_warning_and_is_written_back_byte_for_byte() {
    for (name, text) in examples() {
        let read =
            read_job(&text).unwrap_or_else(|violations| panic!("{name}: {}", told(&violations)));
        assert_eq!(read.warnings, [], "{name}");
        assert_eq!(write_job(&read.job), text, "{name}");
    }
}

#[test]
fn every_example_says_that_its_values_are_invented() {
    for (name, job) in example_jobs() {
        assert_eq!(job.values_are, ValuesAre::StartingValues, "{name}");
        assert!(job.order.note.contains("invented"), "{name}");
        assert!(job.order.number.starts_with("DEMO-"), "{name}");
    }
}

/// Between them the examples take every way of writing a job down.
#[test]
fn the_examples_use_every_form() {
    let jobs: Vec<Job> = example_jobs().into_iter().map(|(_, job)| job).collect();
    let forms: Vec<Value> =
        jobs.iter().map(|job| serde_json::to_value(job).expect("a job is JSON")).collect();
    for pointer in [
        "/centreline/pieces",
        "/centreline/points",
        "/bore/entry_diameter_mm",
        "/bore/table",
        "/tube/wall_mm",
        "/tube/wall_gauge",
        "/badge/metal",
    ] {
        assert!(forms.iter().any(|form| form.pointer(pointer).is_some()), "{pointer}");
    }
    for (pointer, wanted) in [
        ("/brace/form", "contact"),
        ("/brace/form", "bridge"),
        ("/posts/screw_head_side", "left"),
        ("/posts/screw_head_side", "right"),
        ("/horn_voice", "soprano"),
        ("/horn_voice", "baritone"),
    ] {
        assert!(
            forms.iter().any(|form| form.pointer(pointer).is_some_and(|value| value == wanted)),
            "{pointer} {wanted}"
        );
    }
}

// ---- Sums the starting values must pass, each worked here from the definition and not by the program's own geometry

/// Length of the centreline: closed form for pieces; for points the sum of the chords, short of the curve by less than
/// half a millimetre in a neck with points 6 mm apart.
fn total_length_mm(job: &Job) -> f64 {
    match &job.centreline {
        Centreline::Pieces(line) => line
            .pieces
            .iter()
            .map(|piece| match piece {
                Piece::Straight(straight) => straight.straight_mm,
                Piece::Bend(bend) => bend.bend_deg.abs().to_radians() * bend.radius_mm,
            })
            .sum(),
        Centreline::Points(line) => {
            let start = (line.straight_start_mm, 0.0);
            let points: Vec<(f64, f64)> = std::iter::once(start)
                .chain(line.points.iter().map(|p| (p.x_mm, p.z_mm)))
                .collect();
            let chords: f64 = points
                .windows(2)
                .map(|pair| libm::hypot(pair[1].0 - pair[0].0, pair[1].1 - pair[0].1))
                .sum();
            line.straight_start_mm + chords + line.straight_end_mm
        }
    }
}

/// Straight run at the cork end and at the tenon end.
fn straight_ends_mm(job: &Job) -> (f64, f64) {
    match &job.centreline {
        Centreline::Points(line) => (line.straight_start_mm, line.straight_end_mm),
        Centreline::Pieces(line) => {
            let straight = |piece: Option<&Piece>| match piece {
                Some(Piece::Straight(straight)) => straight.straight_mm,
                _ => 0.0,
            };
            (straight(line.pieces.first()), straight(line.pieces.last()))
        }
    }
}

/// Inside diameter: the cone, or straight lines between the rows of the table (within 0.1 mm of a smooth bore here).
fn bore_diameter_mm(job: &Job, station_mm: f64) -> f64 {
    match &job.bore {
        Bore::Cone(cone) => {
            cone.entry_diameter_mm + 2.0 * station_mm * libm::tan(cone.half_angle_deg.to_radians())
        }
        Bore::Table(bore) => {
            let pair = bore
                .table
                .windows(2)
                .find(|pair| station_mm <= pair[1].station_mm)
                .expect("the table reaches the free end");
            let share =
                (station_mm - pair[0].station_mm) / (pair[1].station_mm - pair[0].station_mm);
            pair[0].diameter_mm + share * (pair[1].diameter_mm - pair[0].diameter_mm)
        }
    }
}

fn tube_diameter_mm(job: &Job, station_mm: f64) -> f64 {
    bore_diameter_mm(job, station_mm) + 2.0 * job.tube.wall_mm()
}

/// Lengths 193.2 and 259.9 mm, net bends 95 and 105 degrees: stated with the starting values they were chosen with.
#[test]
fn alto_and_tenor_have_the_stated_length_and_bend() {
    for (voice, length_mm, bend_deg) in [(Voice::Alto, 193.2, 95.0), (Voice::Tenor, 259.9, 105.0)] {
        let job = starting_job(voice).expect("there are starting values");
        assert!((total_length_mm(&job) - length_mm).abs() < 0.05);
        let Centreline::Pieces(line) = &job.centreline else { panic!("pieces are expected") };
        let bends = line
            .pieces
            .iter()
            .map(|piece| if let Piece::Bend(bend) = piece { bend.bend_deg } else { 0.0 });
        assert_eq!(bends.sum::<f64>(), bend_deg);
    }
}

#[test]
fn the_sleeve_keeps_its_least_wall_where_the_bore_is_widest() {
    for (name, job) in example_jobs() {
        let wall_mm =
            (job.tenon.outer_diameter_mm - bore_diameter_mm(&job, total_length_mm(&job))) / 2.0;
        assert!(wall_mm >= job.tenon.least_wall_mm, "{name}: {wall_mm}");
    }
}

#[test]
fn the_collar_goes_round_the_tube() {
    for (name, job) in example_jobs() {
        let end = total_length_mm(&job) - job.tenon.length_mm - job.tenon.collar_length_mm
            + job.tenon.socket_depth_mm;
        let wall_mm = (job.tenon.collar_diameter_mm - tube_diameter_mm(&job, end)) / 2.0
            - job.limits.joint_gap_mm;
        assert!(wall_mm > 1.0, "{name}: {wall_mm}");
        assert!(job.tenon.socket_depth_mm < job.tenon.collar_length_mm, "{name}");
        assert!(job.tenon.collar_diameter_mm > job.horn.receiver_bore_mm, "{name}");
    }
}

#[test]
fn the_bead_goes_round_the_tube_and_into_the_mouthpiece() {
    for (name, job) in example_jobs() {
        let wall_mm =
            (job.end_ring.bead_diameter_mm - tube_diameter_mm(&job, job.end_ring.length_mm)) / 2.0
                - job.limits.joint_gap_mm;
        assert!(wall_mm > 0.35, "{name}: {wall_mm}");
        assert!(
            job.mouthpiece.shank_bore_mm - job.end_ring.bead_diameter_mm
                > 2.0 * job.limits.least_clearance_mm,
            "{name}"
        );
    }
}

#[test]
fn half_a_millimetre_of_cork_is_left_at_its_thin_end() {
    for (name, job) in example_jobs() {
        let cork_mm =
            (job.mouthpiece.shank_bore_mm - tube_diameter_mm(&job, job.cork.to_station_mm)) / 2.0
                - job.limits.joint_gap_mm;
        assert!(cork_mm > 0.5, "{name}: {cork_mm}");
        assert!(job.mouthpiece.deepest_push_mm < job.cork.to_station_mm, "{name}");
    }
}

#[test]
fn the_neck_is_straight_under_the_cork_and_through_the_socket() {
    for (name, job) in example_jobs() {
        let (start, end) = straight_ends_mm(&job);
        assert!(start >= job.cork.to_station_mm, "{name}: {start}");
        assert!(end >= job.tenon.length_mm + job.tenon.collar_length_mm, "{name}: {end}");
    }
}

#[test]
fn the_posts_stand_on_the_saddle() {
    for (name, job) in example_jobs() {
        let spread_mm =
            job.hinge.tube_length_mm / 2.0 + job.hinge.end_play_mm + job.posts.diameter_mm;
        let saddle_radius_mm = tube_diameter_mm(&job, job.saddle.station_mm) / 2.0
            + job.limits.joint_gap_mm
            + job.saddle.thickness_mm;
        let reach_mm = saddle_radius_mm * libm::sin(job.saddle.half_wrap_deg.to_radians());
        assert!(spread_mm < reach_mm, "{name}: {spread_mm} on {reach_mm}");
        assert!(job.posts.diameter_mm < job.saddle.length_mm, "{name}");
    }
}

#[test]
fn the_hinge_leaves_metal_everywhere() {
    for (name, job) in example_jobs() {
        let hinge = &job.hinge;
        let tube_wall_mm = (hinge.tube_outer_diameter_mm - hinge.screw_diameter_mm) / 2.0
            - hinge.radial_clearance_mm;
        assert!(tube_wall_mm > 0.5, "{name}: {tube_wall_mm}");
        assert!((job.posts.diameter_mm - hinge.screw_diameter_mm) / 2.0 > 0.6, "{name}");
        assert!(hinge.thread.major_diameter_mm() <= hinge.screw_diameter_mm, "{name}");
        assert!(
            hinge.head_diameter_mm > hinge.screw_diameter_mm + 2.0 * hinge.radial_clearance_mm,
            "{name}"
        );
        assert!(job.spring_screw.thread.major_diameter_mm() < job.key.arm_thickness_mm, "{name}");
    }
}

#[test]
fn fits_and_gaps_lie_within_their_own_limits() {
    for (name, job) in example_jobs() {
        let limits = &job.limits;
        let fit_mm = (job.horn.receiver_bore_mm - job.tenon.outer_diameter_mm) / 2.0;
        assert!((limits.fit_min_mm..=limits.fit_max_mm).contains(&fit_mm), "{name}: {fit_mm}");
        assert!(
            (limits.joint_gap_min_mm..=limits.joint_gap_max_mm).contains(&limits.joint_gap_mm),
            "{name}"
        );
        for running_mm in [job.hinge.end_play_mm, job.hinge.radial_clearance_mm] {
            assert!(
                (limits.running_min_mm..=limits.running_max_mm).contains(&running_mm),
                "{name}: {running_mm}"
            );
        }
    }
}

/// The loop's inside reach on the player's side is the pin's circle, the pin's radius and the gap at rest.
#[test]
fn the_pin_stands_inside_the_loop_and_outside_the_receiver() {
    for (name, job) in example_jobs() {
        let pin = &job.horn.pin;
        let reach_mm = pin.circle_radius_mm + pin.diameter_mm / 2.0 + pin.rest_gap_mm;
        assert!((job.rod_loop.reach_player_mm - reach_mm).abs() < 1e-9, "{name}: {reach_mm}");
        assert!(
            pin.circle_radius_mm - pin.diameter_mm / 2.0 - job.horn.receiver_diameter_mm / 2.0
                > job.limits.least_clearance_mm,
            "{name}"
        );
        assert!(
            pin.height_mm > job.rod_loop.above_seat_mm + job.rod_loop.rod_diameter_mm / 2.0,
            "{name}"
        );
    }
}

#[test]
fn sheet_by_gauge_has_the_thickness_of_the_table() {
    let largest = read_job(LARGEST).expect("the example reads").job;
    assert!((largest.tube.wall_mm() - 0.8118).abs() < 5e-5, "gauge 20 is 0.8118 mm (ASTM B258)");
}

// ---- Wrong jobs

#[test]
fn every_violation_is_told_at_once_with_path_value_limits_and_reason() {
    let mut job = value(ALTO);
    job["tube"]["wall_mm"] = json!(9);
    job["vent"]["bore_mm"] = json!("2.2");
    job["brace"]["form"] = json!("brigde");
    job["saddle"]["widht_mm"] = json!(1);
    job["tenon"].as_object_mut().expect("a group").shift_remove("length_mm");
    job["centreline"]["pieces"][2]["radius_mm"] = json!(-48);
    let told: Vec<Value> = read_job(&job.to_string())
        .expect_err("six things are wrong")
        .into_iter()
        .map(|violation| serde_json::to_value(violation).expect("a violation is JSON"))
        .collect();
    assert_eq!(
        Value::from(told),
        json!([
            {"path": "centreline.pieces[2].radius_mm", "value": -48, "allowed": "12 to 1000 mm",
             "why": "Radius of the bend, to the middle of the bore.", "severity": "error"},
            {"path": "tube.wall_mm", "value": 9, "allowed": "0.3 to 2 mm",
             "why": "Thickness of the wall after forming.", "severity": "error"},
            {"path": "tenon.length_mm", "value": null, "allowed": "8 to 45 mm",
             "why": "It is missing. Length of that part, from the collar's seat to the free end.", "severity": "error"},
            {"path": "vent.bore_mm", "value": "2.2", "allowed": "0.8 to 5 mm",
             "why": "A number is written without quotes. Diameter of the hole through the vent.", "severity": "error"},
            {"path": "brace.form", "value": "brigde", "allowed": "contact, bridge",
             "why": "Did you mean bridge? Whether the strip lies on the tube along its whole length, or stands off it between two feet.",
             "severity": "error"},
            {"path": "saddle.widht_mm", "value": 1, "allowed": "station_mm, length_mm, half_wrap_deg, thickness_mm, metal",
             "why": "There is no such field.", "severity": "error"},
        ])
    );
}

#[test]
fn ways_that_exclude_each_other_are_all_named() {
    let cone = json!({"entry_diameter_mm": 12.3, "half_angle_deg": 1.6, "table": [{"station_mm": 0, "diameter_mm": 12.3}, {"station_mm": 200, "diameter_mm": 23.0}]});
    assert_eq!(
        paths_of(&alto_with("/bore", cone)),
        ["bore.entry_diameter_mm", "bore.half_angle_deg", "bore.table"]
    );
    assert_eq!(
        paths_of(&alto_with("/tube", json!({"wall_mm": 0.7, "wall_gauge": 21, "metal": "gold"}))),
        ["tube.wall_mm", "tube.wall_gauge", "tube.metal"]
    );
    assert_eq!(
        paths_of(&alto_with("/centreline/pieces/0", json!({"straight_mm": 50, "radius_mm": 40}))),
        ["centreline.pieces[0].straight_mm", "centreline.pieces[0].radius_mm"]
    );
}

#[test]
fn a_group_with_none_of_its_ways_is_named() {
    assert_eq!(paths_of(&alto_with("/bore", json!({}))), ["bore"]);
    assert_eq!(
        paths_of(&alto_with("/centreline/pieces/1", json!({"bent_deg": 20}))),
        ["centreline.pieces[1]", "centreline.pieces[1].bent_deg"]
    );
}

#[test]
fn another_version_is_refused_and_the_rest_still_read() {
    let mut job = value(ALTO);
    job["format"] = json!("neckwright-job/2");
    job["pad"]["diameter_mm"] = json!(900);
    let violations = read_job(&job.to_string()).expect_err("the version is unknown");
    assert_eq!(
        violations.iter().map(|v| v.path.as_str()).collect::<Vec<_>>(),
        ["format", "pad.diameter_mm"]
    );
    assert_eq!(violations[0].allowed, "neckwright-job/1");
}

#[test]
fn a_badge_may_be_null_or_left_out() {
    let mut job = value(ALTO);
    job.as_object_mut().expect("a group").shift_remove("badge");
    assert_eq!(read_job(&job.to_string()), read_job(ALTO));
    assert_eq!(paths_of(&alto_with("/badge", json!({"station_mm": 40}))).len(), 5);
}

#[test]
fn a_whole_number_may_be_written_with_a_point() {
    let job = read_job(&alto_with("/tube", json!({"wall_gauge": 21.0, "metal": "C26000"})))
        .expect("21.0 is 21")
        .job;
    assert!((job.tube.wall_mm() - 0.7229).abs() < 5e-5);
    assert_eq!(
        paths_of(
            &alto_with("/tube/wall_mm", json!(0.7))
                .replace("\"wall_mm\":0.7", "\"wall_gauge\":21.5")
        ),
        ["tube.wall_gauge"]
    );
}

#[test]
fn lead_is_warned_of_and_not_refused() {
    let read = read_job(&alto_with("/vent/metal", json!("C36000")))
        .expect("a warning keeps nothing from being built");
    assert_eq!(read.warnings.len(), 1);
    assert_eq!(
        (read.warnings[0].path.as_str(), read.warnings[0].severity),
        ("vent.metal", Severity::Warning)
    );
    assert!(read.warnings[0].why.contains("lead"));
}

#[test]
fn a_bore_that_shrinks_is_warned_of_and_not_refused() {
    let rows = json!([
        {"station_mm": 0.0, "diameter_mm": 12.5},
        {"station_mm": 20.0, "diameter_mm": 12.3},
        {"station_mm": 200.0, "diameter_mm": 23.0}
    ]);
    let read = read_job(&alto_with("/bore", json!({"table": rows})))
        .expect("a warning keeps nothing from being built");
    let Bore::Table(bore) = &read.job.bore else { panic!("the table is kept") };
    assert_eq!(bore.table[1].diameter_mm, 12.3, "what is only warned of is built as it stands");
    let told: Vec<_> =
        read.warnings.iter().map(|warning| (warning.path.as_str(), warning.severity)).collect();
    assert_eq!(told, [("bore.table[1].diameter_mm", Severity::Warning)]);
}

#[test]
fn a_list_of_rows_keeps_its_order() {
    let table = |rows: &[(f64, f64)]| {
        let rows: Vec<Value> =
            rows.iter().map(|(s, d)| json!({"station_mm": s, "diameter_mm": d})).collect();
        paths_of(&alto_with("/bore", json!({"table": rows})))
    };
    assert_eq!(table(&[(0.0, 12.0), (100.0, 18.0), (200.0, 23.0)]), Vec::<String>::new());
    assert_eq!(table(&[(0.0, 12.0), (100.0, 18.0), (100.0, 23.0)]), ["bore.table[2].station_mm"]);
    assert_eq!(
        table(&[(0.0, 12.0), (100.0, 18.0), (90.0, 17.9)]),
        ["bore.table[2].station_mm", "bore.table[2].diameter_mm"]
    );
    assert_eq!(table(&[(5.0, 12.0), (200.0, 23.0)]), ["bore.table[0].station_mm"]);
    assert_eq!(
        paths_of(&alto_with("/centreline/pieces/1/bend_deg", json!(0))),
        ["centreline.pieces[1].bend_deg"]
    );
    let point = json!({"x_mm": 60, "z_mm": -1});
    let line = json!({"straight_start_mm": 50, "points": [point, point, {"x_mm": 80, "z_mm": -9}], "straight_end_mm": 28});
    assert_eq!(paths_of(&alto_with("/centreline", line)), ["centreline.points[1]"]);
}

#[test]
fn a_list_with_too_many_rows_is_one_violation() {
    let rows = vec![json!({"station_mm": "x"}); 5000];
    let violations = read_job(&alto_with("/bore", json!({"table": rows}))).expect_err("5000 rows");
    assert_eq!(violations.len(), 1);
    assert_eq!(
        (violations[0].path.as_str(), &violations[0].value, violations[0].allowed.as_str()),
        ("bore.table", &json!("5000 rows"), "a list of 2 to 200 rows")
    );
}

#[test]
fn a_wrong_field_is_mended_from_the_starting_job_of_the_voice_and_the_rest_kept() {
    let mut job = value(TENOR);
    job["vent"]["station_mm"] = json!("ninety");
    job["pad"]["diameter_mm"] = json!(9.75);
    job["centreline"]["pieces"][1]["radius_mm"] = json!(5000);
    let read = read_job_leniently(&job.to_string());
    assert_eq!(read.violations.len(), 2);
    let mended = read.job.expect("a tenor can be made of it");
    assert_eq!((mended.vent.station_mm, mended.pad.diameter_mm), (96.0, 9.75));
    let Centreline::Pieces(line) = mended.centreline else { panic!("pieces stay pieces") };
    assert!(
        matches!(line.pieces[1], Piece::Bend(bend) if bend.radius_mm == 1000.0),
        "the nearest that is allowed"
    );
}

#[test]
fn what_is_no_group_of_fields_gives_no_job() {
    for text in ["", "[]", "3", "null", "\"alto\"", "{\"format\":"] {
        let read = read_job_leniently(text);
        assert_eq!((read.job, read.violations.len()), (None, 1), "{text}");
    }
}

#[test]
fn an_empty_job_names_every_group_that_is_missing() {
    let read = read_job_leniently("{}");
    let required = job_schema()["required"].as_array().map_or(0, Vec::len);
    assert_eq!(read.violations.len(), required);
    assert_eq!(read.job, starting_job(Voice::Alto));
}

// ---- Random damage

/// One field, group or row of a job: where it is, in our own words and as a JSON pointer.
#[derive(Clone, Debug)]
struct Place {
    path: String,
    pointer: String,
}

/// Every place in a value below the root, groups before what they hold.
fn places(value: &Value, at: &Place, found: &mut Vec<Place>) {
    let mut visit = |path: String, key: String, inner: &Value| {
        let place = Place { path, pointer: format!("{}/{key}", at.pointer) };
        found.push(place.clone());
        places(inner, &place, found);
    };
    match value {
        Value::Object(map) => {
            for (name, inner) in map {
                visit(
                    if at.path.is_empty() { name.clone() } else { format!("{}.{name}", at.path) },
                    name.clone(),
                    inner,
                );
            }
        }
        Value::Array(list) => {
            for (index, inner) in list.iter().enumerate() {
                visit(format!("{}[{index}]", at.path), index.to_string(), inner);
            }
        }
        _ => {}
    }
}

#[derive(Clone, Copy, Debug)]
enum Damage {
    Delete,
    Retype(u8),
    TooGreat,
    TooSmall,
    UnknownField,
    UnknownValue,
}

fn any_damage() -> impl Strategy<Value = Damage> {
    prop_oneof![
        Just(Damage::Delete),
        (0_u8..5).prop_map(Damage::Retype),
        Just(Damage::TooGreat),
        Just(Damage::TooSmall),
        Just(Damage::UnknownField),
        Just(Damage::UnknownValue),
    ]
}

/// Does the damage, if it makes sense here; gives the paths of which one must be named.
fn damage(job: &mut Value, place: &Place, damage: Damage) -> Option<Vec<String>> {
    let (group, name) = place.pointer.rsplit_once('/')?;
    let parent =
        place.path.rsplit_once(['.', '[']).map_or(String::new(), |(parent, _)| parent.to_owned());
    let target = job.pointer_mut(&place.pointer)?;
    let named = vec![place.path.clone()];
    match damage {
        // A job may do without a badge, and a list without a row.
        Damage::Delete if place.path == "badge" => None,
        Damage::Delete => {
            job.pointer_mut(group)?.as_object_mut()?.shift_remove(name)?;
            // Where a group can be written in several ways, what is missing may be the group's own.
            Some(vec![place.path.clone(), parent])
        }
        Damage::Retype(kind) => {
            let new = [json!(null), json!(true), json!("bent"), json!(1.5), json!([1])]
                [usize::from(kind)]
            .clone();
            let same = std::mem::discriminant(&new) == std::mem::discriminant(target);
            if same || (place.path == "badge" && new.is_null()) {
                return None;
            }
            *target = new;
            Some(named)
        }
        Damage::TooGreat | Damage::TooSmall => {
            target.as_f64()?;
            *target = json!(if matches!(damage, Damage::TooGreat) { 1e9 } else { -1e9 });
            Some(named)
        }
        Damage::UnknownField => {
            target.as_object_mut()?.insert("polish".to_owned(), json!(1));
            Some(vec![format!("{}.polish", place.path)])
        }
        Damage::UnknownValue => {
            if place.path.starts_with("order.") {
                return None;
            }
            target.as_str()?;
            *target = json!("unobtainable");
            Some(named)
        }
    }
}

fn overlap(a: &str, b: &str) -> bool {
    let within = |outer: &str, inner: &str| {
        inner.strip_prefix(outer).is_some_and(|rest| rest.is_empty() || rest.starts_with('/'))
    };
    within(a, b) || within(b, a)
}

fn any_value() -> impl Strategy<Value = Value> {
    let leaf = prop_oneof![
        Just(Value::Null),
        any::<bool>().prop_map(Value::from),
        any::<f64>().prop_map(Value::from),
        any::<u64>().prop_map(Value::from),
        "\\PC{0,12}".prop_map(Value::from),
    ];
    leaf.prop_recursive(4, 32, 6, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..6).prop_map(Value::from),
            prop::collection::vec(("[a-z_]{0,12}", inner), 0..6)
                .prop_map(|fields| Value::Object(fields.into_iter().collect())),
        ]
    })
}

fn any_example() -> impl Strategy<Value = &'static str> {
    prop::sample::select(vec![ALTO, TENOR, SMALLEST, LARGEST])
}

proptest! {
    /// Up to four places damaged at once: each is named, and a job to go on with is still there.
    #[test]
    fn every_damaged_place_is_named(
        text in any_example(),
        blows in prop::collection::vec((any::<prop::sample::Index>(), any_damage()), 1..5),
    ) {
        let mut job = value(text);
        let mut all = Vec::new();
        places(&job, &Place { path: String::new(), pointer: String::new() }, &mut all);
        let mut hit: Vec<String> = Vec::new();
        let mut expected = Vec::new();
        for (index, blow) in blows {
            let place = index.get(&all);
            if hit.iter().any(|earlier| overlap(earlier, &place.pointer)) {
                continue;
            }
            if let Some(paths) = damage(&mut job, place, blow) {
                hit.push(place.pointer.clone());
                expected.push(paths);
            }
        }
        let read = read_job_leniently(&job.to_string());
        for paths in &expected {
            prop_assert!(
                read.violations.iter().any(|violation| violation.is_error() && paths.contains(&violation.path)),
                "{paths:?} not named in\n{}", told(&read.violations)
            );
        }
        prop_assert!(read.job.is_some());
        prop_assert_eq!(read_job(&job.to_string()).is_ok(), expected.is_empty());
    }

    /// Anything at all in any place: an answer, and what is accepted can be written and read again.
    #[test]
    fn any_value_in_any_place_is_answered(text in any_example(), index in any::<prop::sample::Index>(), new in any_value()) {
        let mut job = value(text);
        let mut all = Vec::new();
        places(&job, &Place { path: String::new(), pointer: String::new() }, &mut all);
        if let Some(target) = job.pointer_mut(&index.get(&all).pointer) {
            *target = new;
        }
        match read_job(&job.to_string()) {
            Ok(read) => prop_assert_eq!(read_job(&write_job(&read.job)).map(|again| again.job), Ok(read.job)),
            Err(violations) => prop_assert!(violations.iter().any(Violation::is_error)),
        }
    }

    /// A piece of the text cut out or overwritten.
    #[test]
    fn damaged_text_is_answered(text in any_example(), at in any::<prop::sample::Index>(), cut in 0_usize..40, put in "\\PC{0,8}") {
        let mut letters: Vec<char> = text.chars().collect();
        let start = at.index(letters.len());
        let end = (start + cut).min(letters.len());
        letters.splice(start..end, put.chars());
        let _answered = read_job(&letters.into_iter().collect::<String>());
    }

    #[test]
    fn any_text_is_answered(text in "\\PC*") {
        prop_assert!(read_job(&text).is_err());
    }

    /// Numbers keep every bit through writing and reading.
    #[test]
    fn a_number_survives_to_the_last_bit(wall_mm in 0.3_f64..=2.0, bend_deg in 1e-2_f64..=150.0) {
        let mut job = starting_job(Voice::Alto).expect("there are starting values");
        job.tube = serde_json::from_value(json!({"wall_mm": wall_mm, "metal": "C26000"})).expect("a tube");
        if let Centreline::Pieces(line) = &mut job.centreline
            && let Some(Piece::Bend(bend)) = line.pieces.get_mut(1)
        {
            bend.bend_deg = bend_deg;
        }
        prop_assert_eq!(read_job(&write_job(&job)).map(|read| read.job), Ok(job));
    }
}

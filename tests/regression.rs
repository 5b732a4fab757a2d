//! One test for each fault that was found in finished work, named by it.

use std::sync::Arc;

use neckwright::geometry::distance::DistanceField;
use neckwright::geometry::shape::{Shape, Turned};
use neckwright::model::Model;
use neckwright::parts::build_from_text;
use neckwright::solids::build;
use neckwright::solids::mesh::mesh;
use serde_json::{Value, json};

#[path = "support/bodies.rs"]
mod bodies;

use bodies::{WORLD, p, polygon};

const ALTO: &str = include_str!("../examples/jobs/alto.json");
const TENOR: &str = include_str!("../examples/jobs/tenor.json");

/// An example with some of its fields changed.
fn changed(text: &str, fields: &[(&str, Value)]) -> String {
    let mut job: Value = serde_json::from_str(text).expect("the example is JSON");
    for (pointer, value) in fields {
        *job.pointer_mut(pointer).expect("the example has this field") = value.clone();
    }
    job.to_string()
}

/// The circles of a land of 0.05 mm, divided at chords wider than that, crossed each other.
#[test]
fn a_land_narrower_than_the_chord_is_triangulated() {
    let corners = [p(0.0, 7.0), p(5.0, 7.1), p(5.0, 7.6), p(0.5, 7.6), p(0.0, 7.05)];
    let solid =
        build(&Shape::Turned(Turned { axis: WORLD, profile: polygon(&corners) })).expect("builds");
    for chord in [1.0, 0.3, 0.1, 0.05, 0.01] {
        let done = mesh(&solid, chord).expect("has triangles");
        assert_eq!(done.chord, chord);
    }
}

/// Where a bridge rises steeply just where one bend follows another, the strip left its definition by 0.0022 mm.
#[test]
fn a_steep_bridge_over_a_change_of_bend_keeps_to_its_definition() {
    let text = changed(
        TENOR,
        &[("/brace/thickness_mm", json!(1.7)), ("/brace/bridge_height_mm", json!(6.4))],
    );
    let built = build_from_text(&text).expect("the job keeps every rule");
    let brace = built.assembly.part("brace").expect("there is a brace");
    let field = DistanceField::new(&brace.shape);
    let solid = build(&brace.shape).expect("builds");
    let points = mesh(&solid, 0.01)
        .expect("has triangles")
        .faces
        .into_iter()
        .flat_map(|face| face.positions);
    let worst = points.map(|point| field.near(point).distance.abs()).fold(0.0, f64::max);
    assert!(worst < 0.002, "{worst}");
}

/// Over a bore with waves a few millimetres long, steps from a straight run into a sharp bend left the tube by 1.2 of
/// the chord asked for.
#[test]
fn triangles_of_a_wavy_bore_keep_to_their_chord() {
    let rows: Vec<Value> = (0..60)
        .map(|row| {
            let station = f64::from(row / 2) * 6.0 + f64::from(row % 2);
            let diameter = (12.3 + 0.056 * station) * if row % 2 == 0 { 1.005 } else { 1.0 };
            json!({"station_mm": station, "diameter_mm": diameter})
        })
        .collect();
    let built = build_from_text(&changed(ALTO, &[("/bore", json!({"table": rows}))]))
        .expect("the job keeps every rule");
    let tube = built.assembly.part("tube").expect("there is a tube");
    let field = DistanceField::new(&tube.shape);
    let chord = 0.01;
    let done = mesh(&build(&tube.shape).expect("builds"), chord).expect("has triangles");
    let middles = done.faces.iter().flat_map(|face| {
        face.triangles.iter().flat_map(|triangle| {
            let [a, b, c] = triangle.map(|i| face.positions[i as usize]);
            [(a + b + c) / 3.0, (a + b) / 2.0, (b + c) / 2.0, (c + a) / 2.0]
        })
    });
    let worst = middles.map(|middle| field.near(middle).distance.abs()).fold(0.0, f64::max);
    assert!(worst < chord, "{worst}");
}

/// The halves were built only when a file of theirs was asked for, so that a job could be taken and fail late.
#[test]
fn halves_are_built_with_the_neck_and_kept_while_the_tube_is_the_same() {
    let before = Model::build(ALTO, None).expect("the job keeps every rule");
    assert_eq!(before.halves().len(), 2);
    let build = |fields: &[(&str, Value)]| {
        Model::build(&changed(ALTO, fields), Some(&before)).expect("the job keeps every rule")
    };
    let same = |after: &Model| {
        let mut pairs = before.halves().iter().zip(after.halves());
        pairs.all(|(old, new)| Arc::ptr_eq(old, new))
    };
    assert!(same(&build(&[("/brace/from_station_mm", json!(73.0))])));
    assert!(!same(&build(&[("/tube/wall_mm", json!(0.72))])));
}

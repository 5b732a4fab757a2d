//! Flat outlines against the exact outlines they stand for, on every example neck.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot go on says so by panicking"
)]

use neckwright::geometry::outline::Side;
use neckwright::geometry::shape::Shape;
use neckwright::model::Model;
use neckwright::shop::drawings::{DrawingStyle, drawing};
use neckwright::shop::flat::{CuttingLimits, FlatPart, Question, flat_part};
use neckwright::shop::heading::Heading;

const JOBS: [&str; 5] = ["alto", "tenor", "smallest", "largest", "alto_clash"];

fn neck(name: &str, change: impl FnOnce(&mut serde_json::Value)) -> Model {
    let path = format!("{}/examples/jobs/{name}.json", env!("CARGO_MANIFEST_DIR"));
    let mut job = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    change(&mut job);
    Model::build(&job.to_string(), None).unwrap_or_else(|found| panic!("{found:?}"))
}

fn flat(model: &Model, id: &str) -> FlatPart {
    flat_part(model, id, &CuttingLimits::default()).unwrap().unwrap()
}

/// Truth: places of the exact outline, 200 to each of its cubics, and the signed distance from it of places all along the
/// arcs that stand for it.
#[test]
fn arcs_keep_within_a_hundredth_of_the_arm() {
    for name in JOBS {
        let model = neck(name, |_| {});
        let Shape::Plate(plate) = &model.part("key_arm").unwrap().part.shape else { panic!() };
        let flat = flat(&model, "key_arm");
        let outline = &flat.outlines[0];
        // The sheet's origin is the outline's lower left corner; its first corner tells how far it was moved.
        let moved = outline.vertices[0].at - plate.outline.sides()[0].start();
        let mut worst: f64 = 0.0;
        for side in plate.outline.sides() {
            let Side::Cubic { nodes, .. } = side else { continue };
            for pair in nodes.windows(2) {
                let cubic = pair[0].cubic_to(&pair[1]);
                for i in 0..=200_u32 {
                    let point = cubic.value(f64::from(i) / 200.0) + moved;
                    worst = worst.max(outline.nearest(point).0);
                }
            }
        }
        for point in outline.flattened(1e-5) {
            worst = worst.max(plate.outline.signed_distance(point - moved, |_| true).0.abs());
        }
        assert!(worst > 1e-4 && worst < 0.01, "{name}: {worst} mm");
        assert!(worst < flat.fit_mm * 1.1 + 2.2e-4, "{name}: found {}, is {worst}", flat.fit_mm);
    }
}

/// Truth: what `made_by` says of each part.
#[test]
fn what_is_cut_from_sheet_lies_flat_and_what_is_turned_is_drawn() {
    for name in JOBS {
        let model = neck(name, |_| {});
        let heading = Heading::of(&model.job);
        for part in model.parts().iter().map(|built| &built.part) {
            let sheet = ["sheet,", "strip", "plate"].iter().any(|word| part.made_by.contains(word));
            let flat = flat_part(&model, part.id, &CuttingLimits::default());
            assert_eq!(flat.is_some(), sheet, "{name}: {}", part.id);
            let turned = part.made_by.starts_with("turned") || part.made_by.contains("tubing");
            let drawn = drawing(&model, part.id, &DrawingStyle::default(), &heading);
            assert_eq!(drawn.is_some(), turned, "{name}: {}", part.id);
            if let Some(drawn) = drawn {
                drawn.unwrap();
            }
            if let Some(flat) = flat {
                let flat = flat.unwrap();
                assert!(flat.outlines.iter().all(|outline| outline.closed && outline.area() > 0.0));
                let (low, _) = flat.outlines[0].bounds();
                assert!(low.length() < 1e-9 || flat.outlines.len() > 1, "{name}: {}", part.id);
            }
        }
    }
}

#[test]
fn a_hole_too_near_the_edge_of_the_arm_fails_and_says_where() {
    let model = neck("alto", |job| job["key"]["boss_land_mm"] = 0.5.into());
    let flat = flat(&model, "key_arm");
    let found = flat.findings.iter().find(|finding| finding.question == Question::ThinWeb).unwrap();
    assert!(found.fails && flat.fails());
    assert!((found.found_mm - 0.5).abs() < 1e-6, "{}", found.found_mm);
    // The place lies on the metal between the hole and the edge.
    let hole = flat.holes[0];
    let off = hole.centre.distance(glam::DVec2::from_array(found.place_mm));
    assert!(off < hole.diameter_mm / 2.0 + 0.5);
    let usual = neck("alto", |_| {});
    for part in usual.parts() {
        if let Some(flat) = flat_part(&usual, part.part.id, &CuttingLimits::default()) {
            assert!(!flat.unwrap().fails(), "{}", part.part.id);
        }
    }
}

#[test]
fn a_serial_number_too_long_for_the_brace_is_told() {
    let long = "A SERIAL NUMBER OF FORTY LETTERS, NO MORE";
    let model = neck("smallest", |job| job["order"]["serial"] = long[..40].into());
    let flat = flat(&model, "brace");
    assert!(
        flat.findings.iter().any(|finding| finding.question == Question::Letters && finding.fails)
    );
    let model = neck("alto", |job| job["order"]["serial"] = "".into());
    assert!(self::flat(&model, "brace").remarks.iter().any(|remark| remark.contains("No serial")));
}

/// Truth: the handbook's formula worked by hand on the arm's spring: the strip is bent to radii far over five thicknesses,
/// so its flat is as long as its middle, which is its profile's area by its thickness.
#[test]
fn the_spring_s_blank_is_as_long_as_its_middle() {
    for name in JOBS {
        let model = neck(name, |_| {});
        let spring = &model.part("spring").unwrap();
        let flat = flat(&model, "spring");
        assert_eq!(flat.neutral_share, Some(0.5), "{name}");
        let (thickness, width) = (flat.thickness_mm, model.job.spring.width_mm);
        let Shape::Plate(plate) = &spring.part.shape else { panic!() };
        let hole = std::f64::consts::PI * plate.edge_holes[0].radius * plate.edge_holes[0].radius;
        // The rounded tip holds half a disc; the blank is cut square to its end.
        let disc = std::f64::consts::PI * thickness * thickness / 8.0;
        let profile = (spring.properties().volume + hole * thickness) / width;
        let middle = (profile - disc) / thickness + thickness / 2.0;
        assert!((flat.size_mm().x - middle).abs() < 0.01, "{name}: {} {middle}", flat.size_mm().x);
    }
}

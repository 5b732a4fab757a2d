//! Every kind of body by itself: closed, of the right genus, its volume by closed form, its
//! triangles watertight and within the chord.

use std::collections::BTreeMap;
use std::f64::consts::PI;
use std::sync::Arc;

use glam::{DVec2, DVec3};
use neckwright::geometry::bore::Bore;
use neckwright::geometry::centreline::{Centreline, Course};
use neckwright::geometry::neck::Neck;
use neckwright::geometry::outline::{Node, Outline, Side};
use neckwright::geometry::shape::{
    EdgeHole, HoleEnd, Plate, PlateHole, Shape, Tube, TubeHole, Turned,
};
use neckwright::geometry::surface::Surface;
use neckwright::solids::loops::unpack;
use neckwright::solids::mesh::mesh;
use neckwright::solids::properties::{Properties, properties};

#[path = "support/bodies.rs"]
mod bodies;
#[path = "support/genus.rs"]
mod genus;

use bodies::{WORLD, alto, bridge, fork, half_shell, p, polygon, post, ring, rod, saddle, strip};
use genus::genus;

/// Builds a body and holds its solid, properties and triangles against each other.
fn check(shape: &Shape, holes: i64) -> Properties {
    let solid = neckwright::solids::build(shape).expect("builds");
    assert_eq!(genus(&unpack(&solid)), holes);
    let exact = properties(&solid);
    for chord in [0.1, 0.01] {
        let mesh = mesh(&solid, chord).expect("meshes");
        let mut sides: BTreeMap<([u64; 3], [u64; 3]), i32> = BTreeMap::new();
        let key = |p: DVec3| p.to_array().map(|x| (x + 0.0).to_bits());
        let mut volume = 0.0;
        for face in &mesh.faces {
            for triangle in &face.triangles {
                let [a, b, c] = triangle.map(|i| face.positions[i as usize]);
                volume += a.dot(b.cross(c)) / 6.0;
                for (p, q) in [(a, b), (b, c), (c, a)] {
                    *sides.entry((key(p), key(q))).or_default() += 1;
                    *sides.entry((key(q), key(p))).or_default() -= 1;
                }
            }
            for (position, uv) in face.positions.iter().zip(&face.uvs) {
                assert!(face.surface.point(*uv).distance(*position) < 1e-3);
            }
        }
        let gaps: Vec<_> = sides.iter().filter(|side| *side.1 != 0).collect();
        assert!(gaps.is_empty(), "the triangles leave a gap");
        let slack = exact.area * chord;
        assert!((volume - exact.volume).abs() < slack, "{volume} for {} at {chord}", exact.volume);
    }
    exact
}

fn close(value: f64, expected: f64, relative: f64) {
    assert!((value - expected).abs() <= relative * expected.abs(), "{value} for {expected}");
}

/// Volume between two radii offset from a linear bore, by Pappus: the bend does not matter.
fn shell_volume(neck: &Neck, from: f64, to: f64, low: f64, high: f64) -> f64 {
    let solid = |offset: f64| {
        let (a, b) = (neck.bore.radius(from) + offset, neck.bore.radius(to) + offset);
        PI / 3.0 * (to - from) * (a * a + a * b + b * b)
    };
    solid(high) - solid(low)
}

#[test]
fn turned_ring_with_every_kind_of_side() {
    let found = check(&Shape::Turned(ring()), 1);
    let frustum = |a: f64, b: f64, h: f64| PI / 3.0 * h * (a * a + a * b + b * b);
    // Quarter disc by Pappus: area pi/4, centroid 4/(3 pi) beyond 6.5; and the block below it.
    let round = 2.0 * PI * (6.5 + 4.0 / (3.0 * PI)) * (PI / 4.0) + PI * 6.5 * 6.5;
    let expected = round + PI * 7.5 * 7.5 * 4.5 + frustum(7.5, 7.0, 0.5) - frustum(5.0, 5.5, 6.0);
    close(found.volume, expected, 1e-9);
}

#[test]
fn turned_solid_reaches_the_axis() {
    let profile = polygon(&[p(0.0, 0.0), p(4.0, 0.0), p(4.0, 1.5), p(0.0, 2.0)]);
    let found = check(&Shape::Turned(Turned { axis: WORLD, profile }), 0);
    close(found.volume, PI / 3.0 * 4.0 * (1.5 * 1.5 + 1.5 * 2.0 + 4.0), 1e-9);
}

#[test]
fn turned_chain_of_a_straight_side_is_the_cone() {
    let node =
        |t: f64| Node { t, point: DVec2::new(t, 5.0 + 0.1 * t), slope: DVec2::new(1.0, 0.1) };
    let profile = Outline::new(vec![
        Side::cubic(vec![node(0.0), node(2.0), node(6.0)]),
        Side::line(p(6.0, 5.6), p(6.0, 8.0)),
        Side::line(p(6.0, 8.0), p(0.0, 8.0)),
        Side::line(p(0.0, 8.0), p(0.0, 5.0)),
    ]);
    let found = check(&Shape::Turned(Turned { axis: WORLD, profile }), 1);
    let bore = PI / 3.0 * 6.0 * (25.0 + 28.0 + 5.6 * 5.6);
    close(found.volume, PI * 64.0 * 6.0 - bore, 1e-9);
}

#[test]
fn bent_tube_has_the_wall_of_the_straight_one() {
    let neck = alto();
    let to = 172.0;
    let plain = Tube { neck: neck.clone(), from: 0.0, to, hole: None };
    let found = check(&Shape::Tube(plain.clone()), 1);
    close(found.volume, shell_volume(&neck, 0.0, to, 0.0, 0.7), 2e-5);
    let hole = Some(TubeHole { station: 66.0, radius: 2.33 });
    let drilled = check(&Shape::Tube(Tube { hole, ..plain }), 2);
    // The plug drilled out of a thin wall: its footprint times the wall, to a few per cent.
    close(found.volume - drilled.volume, PI * 2.33 * 2.33 * 0.7, 0.05);
}

#[test]
fn torus_piece_by_pappus() {
    // r constant: the tube is a torus piece; quarter torus of R 50, r 10.
    let neck = Arc::new(Neck {
        centreline: Centreline::new(&[Course::Bend { bend: PI / 2.0, radius: 50.0 }]),
        bore: Bore::Cone { entry_radius: 9.0, slope: 0.0 },
        wall: 1.0,
    });
    let tube = Tube { to: neck.centreline.length(), neck, from: 0.0, hole: None };
    let found = check(&Shape::Tube(tube), 1);
    close(found.volume, PI * 19.0 * (PI / 2.0 * 50.0), 1e-6);
    // Area by Pappus: 4 pi^2 R r / 4 for both skins, and the two annuli.
    close(found.area, PI * PI * 50.0 * 19.0 + 2.0 * PI * 19.0, 1e-6);
}

#[test]
fn half_shell_is_half_the_wall() {
    let neck = alto();
    let found = check(&Shape::Sweep(half_shell(neck.clone(), 172.0)), 0);
    close(found.volume, shell_volume(&neck, 0.0, 172.0, 0.0, 0.7) / 2.0, 2e-5);
    assert!(found.centroid.y > 3.0);
}

#[test]
fn saddle_patch_over_a_bend() {
    let neck = alto();
    let found = check(&Shape::Sweep(saddle(neck.clone())), 0);
    // Pappus: a third of the ring, its centroid lying n above the centreline, on the bend.
    let square = |offset: f64| {
        let mean = |s: f64| {
            let radius = neck.bore.radius(s) + offset;
            radius * radius
        };
        (mean(96.0) + 4.0 * mean(102.0) + mean(108.0)) / 6.0
    };
    let area = PI / 3.0 * (square(1.58) - square(0.78));
    let bend = midpoints(96.0, 108.0, |s| {
        let cube = |offset: f64| {
            let radius = neck.bore.radius(s) + offset;
            radius * radius * radius
        };
        neck.at(s).curvature * 2.0 * libm::sin(PI / 3.0) / 3.0 * (cube(1.58) - cube(0.78))
    });
    close(found.volume, area * 12.0 + bend, 1e-5);
}

/// Integral by many small steps: good enough where the curvature jumps.
fn midpoints(from: f64, to: f64, f: impl Fn(f64) -> f64) -> f64 {
    let steps = 20_000;
    let h = (to - from) / f64::from(steps);
    (0..steps).map(|i| f(from + (f64::from(i) + 0.5) * h) * h).sum()
}

#[test]
fn strip_of_constant_developed_width() {
    let found = check(&Shape::Sweep(strip(alto(), 10.0, 48.0)), 0);
    close(found.volume, 38.0 * 6.0 * 1.0, 1e-6);
}

#[test]
fn bridge_strip_rises_and_falls() {
    check(&Shape::Sweep(bridge(alto())), 0);
}

#[test]
fn fork_with_upright_prongs() {
    let fork = Shape::Sweep(fork(alto()));
    let solid = neckwright::solids::build(&fork).expect("builds");
    let planes = unpack(&solid)
        .faces
        .iter()
        .filter(|face| matches!(face.surface, Surface::Plane { .. }))
        .count();
    assert_eq!(planes, 6, "two ends and four prong sides");
    check(&fork, 0);
}

#[test]
fn plate_with_holes_through_and_from_the_edge() {
    let outline = Outline::new(vec![
        Side::line(p(0.0, 0.0), p(20.0, 0.0)),
        Side::Arc { from: p(20.0, 0.0), centre: p(20.0, 4.0), sweep: PI },
        Side::line(p(20.0, 8.0), p(12.0, 8.0)),
        Side::Arc { from: p(12.0, 8.0), centre: p(10.0, 8.0), sweep: -PI },
        Side::line(p(8.0, 8.0), p(0.0, 8.0)),
        Side::line(p(0.0, 8.0), p(0.0, 0.0)),
    ]);
    let plate = Plate {
        frame: WORLD,
        outline,
        half_thickness: 1.5,
        holes: vec![PlateHole { centre: p(20.0, 4.0), radius: 2.0 }],
        edge_holes: vec![
            EdgeHole { side: 0, entry: p(5.0, 0.0), radius: 0.6, end: HoleEnd::Blind(4.0) },
            EdgeHole { side: 0, entry: p(2.0, 0.0), radius: 0.7, end: HoleEnd::Through(4) },
        ],
    };
    let found = check(&Shape::Plate(plate), 2);
    let flat = 20.0 * 8.0 + PI * 16.0 / 2.0 - PI * 4.0 / 2.0 - PI * 4.0;
    close(found.volume, flat * 3.0 - PI * 0.36 * 4.0 - PI * 0.49 * 8.0, 1e-9);
}

#[test]
fn bent_rod_with_points() {
    let found = check(&Shape::Rod(rod()), 0);
    let point = PI / 3.0 * 4.0 * (0.04 + 0.2 * 1.4 + 1.96);
    let round = PI * 1.96;
    close(found.volume, 2.0 * point + round * (6.0 + 5.0 + PI / 2.0 * 11.0), 1e-9);
}

#[test]
fn coped_post_with_its_hole() {
    let neck = alto();
    let post = post(neck.clone());
    let frame = post.frame;
    let found = check(&Shape::Post(post.clone()), 1);
    // Cylinder down to the foot less the crossing hole, by a fine sum over the cross-section.
    let steps = 400;
    let mut expected = 0.0;
    for i in 0..steps {
        for j in 0..steps {
            let cell = 4.2 / f64::from(steps);
            let (x, y) = ((f64::from(i) + 0.5) * cell - 2.1, (f64::from(j) + 0.5) * cell - 2.1);
            if x * x + y * y > 2.1 * 2.1 {
                continue;
            }
            let hole = if x.abs() < 1.0 { 2.0 * (1.0 - x * x).sqrt() } else { 0.0 };
            // The foot under (x, y): near the hinge the tube is a cone on a gentle bend; take
            // the height where the distance from the centreline is right.
            let target = |h: f64| {
                let point = frame.point(DVec3::new(x, y, h));
                let s = neck.centreline.nearest_station(point);
                point.distance(neck.at(s).centre) - neck.bore.radius(s) - post.foot_offset
            };
            let (mut low, mut high) = (-20.0, 0.0);
            for _ in 0..40 {
                let middle = (low + high) / 2.0;
                if target(middle) > 0.0 { high = middle } else { low = middle }
            }
            expected += (3.0 - low - hole) * cell * cell;
        }
    }
    // The 45 degree chamfer takes the ring 2 pi * (R - c/3) * c^2 / 2.
    expected -= PI * (2.1 - 0.4 / 3.0) * 0.16;
    close(found.volume, expected, 2e-3);
}

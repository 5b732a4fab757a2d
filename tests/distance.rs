//! Distance fields against closed forms, and against the triangles of the solids, which are
//! built by other code from the same definitions.

use std::f64::consts::PI;
use std::sync::Arc;

use glam::DVec3;
use neckwright::geometry::bore::Bore;
use neckwright::geometry::centreline::{Centreline, Course};
use neckwright::geometry::distance::DistanceField;
use neckwright::geometry::neck::Neck;
use neckwright::geometry::shape::{Shape, Tube, TubeHole};
use neckwright::solids::build;
use neckwright::solids::mesh::{SolidMesh, mesh};

#[path = "support/bodies.rs"]
mod bodies;

use bodies::{alto, arm, bridge, fork, half_shell, measured, post, ring, rod, saddle, strip, tube};

/// Numbers in [0, 1) that are the same in every run (Park & Miller's generator).
struct Rolls(u64);

impl Rolls {
    fn next(&mut self) -> f64 {
        self.0 = self.0 * 16807 % 2_147_483_647;
        self.0 as f64 / 2_147_483_647.0
    }

    fn between(&mut self, low: DVec3, high: DVec3) -> DVec3 {
        low + (high - low) * DVec3::new(self.next(), self.next(), self.next())
    }
}

/// Nearest point of a triangle (Ericson, *Real-Time Collision Detection*, section 5.1.5).
fn on_triangle(q: DVec3, a: DVec3, b: DVec3, c: DVec3) -> DVec3 {
    let (ab, ac) = (b - a, c - a);
    let (d1, d2) = (ab.dot(q - a), ac.dot(q - a));
    if d1 <= 0.0 && d2 <= 0.0 {
        return a;
    }
    let (d3, d4) = (ab.dot(q - b), ac.dot(q - b));
    if d3 >= 0.0 && d4 <= d3 {
        return b;
    }
    let vc = d1 * d4 - d3 * d2;
    if vc <= 0.0 && d1 >= 0.0 && d3 <= 0.0 {
        return a + ab * (d1 / (d1 - d3));
    }
    let (d5, d6) = (ab.dot(q - c), ac.dot(q - c));
    if d6 >= 0.0 && d5 <= d6 {
        return c;
    }
    let vb = d5 * d2 - d1 * d6;
    if vb <= 0.0 && d2 >= 0.0 && d6 <= 0.0 {
        return a + ac * (d2 / (d2 - d6));
    }
    let va = d3 * d6 - d5 * d4;
    if va <= 0.0 && d4 - d3 >= 0.0 && d5 - d6 >= 0.0 {
        return b + (c - b) * ((d4 - d3) / ((d4 - d3) + (d5 - d6)));
    }
    let sum = va + vb + vc;
    a + ab * (vb / sum) + ac * (vc / sum)
}

/// Signed distance to triangles: the nearest of all, signed by the winding number (solid
/// angles after Van Oosterom & Strackee, 1983).
fn by_triangles(mesh: &SolidMesh, q: DVec3) -> f64 {
    let mut least = f64::INFINITY;
    let mut turns = 0.0;
    for face in &mesh.faces {
        for triangle in &face.triangles {
            let [a, b, c] = triangle.map(|i| face.positions[i as usize]);
            least = least.min(on_triangle(q, a, b, c).distance(q));
            let (a, b, c) = (a - q, b - q, c - q);
            let (la, lb, lc) = (a.length(), b.length(), c.length());
            let whole = la * lb * lc + a.dot(b) * lc + b.dot(c) * la + c.dot(a) * lb;
            turns += 2.0 * libm::atan2(a.dot(b.cross(c)), whole);
        }
    }
    if turns > 2.0 * PI { -least } else { least }
}

/// Holds a field against the triangles of its solid; `fidelity` is how far the modelled
/// surface may leave the definition.
fn check(shape: &Shape, fidelity: f64) {
    let solid = build(shape).expect("builds");
    let chord = 0.01;
    let mesh = mesh(&solid, chord).expect("meshes");
    let field = DistanceField::new(shape);
    let mut low = DVec3::splat(f64::INFINITY);
    let mut high = -low;
    let mut worst: f64 = 0.0;
    let mut corners = Vec::new();
    for point in mesh.faces.iter().flat_map(|face| &face.positions) {
        (low, high) = (low.min(*point), high.max(*point));
        let near = field.near(*point);
        worst = worst.max(near.distance.abs());
        corners.push((*point, near.face));
    }
    assert!(worst < fidelity, "a vertex lies {worst} off the definition");

    let mut rolls = Rolls(20_241);
    let margin = DVec3::splat(3.0);
    let mut off: f64 = 0.0;
    let count: usize = mesh.faces.iter().map(|face| face.triangles.len()).sum();
    for round in 0..(2_000_000 / count).clamp(60, 400) {
        // Half of the points in the box, half close to the surface.
        let q = if round % 2 == 0 {
            rolls.between(low - margin, high + margin)
        } else {
            let pick = (rolls.next() * corners.len() as f64) as usize;
            corners[pick].0 + rolls.between(DVec3::splat(-0.6), DVec3::splat(0.6))
        };
        let near = field.near(q);
        let truth = by_triangles(&mesh, q);
        let slack = chord + fidelity;
        assert!((near.distance - truth).abs() < slack, "{q}: {near:?} for {truth}");
        off = off.max((near.distance - truth).abs());
        assert!((near.foot.distance(q) - near.distance.abs()).abs() < 1e-9, "{q}: {near:?}");
        let at_foot = field.near(near.foot).distance;
        assert!(at_foot.abs() < 2e-6, "{q}: its foot is {at_foot} off");
        assert!(near.others >= near.distance.abs(), "{q}: {near:?}");
        // Metal before the face carried on must be declared. The face carried on is its plane
        // at the foot, but for its own curve (radii of holes are 0.6 and more).
        let out = (q - near.foot).normalize_or_zero() * near.distance.signum();
        for (corner, face) in &corners {
            let reach = *corner - near.foot;
            let before = reach.dot(out) - 0.9 * reach.length_squared();
            let fair = before < slack || corner.distance(q) > near.others - slack;
            assert!(fair, "{q}: {near:?}, but {corner} of face {face} stands out");
        }
        let step = rolls.between(DVec3::splat(-0.05), DVec3::splat(0.05));
        let moved = field.near(q + step).distance;
        assert!((moved - near.distance).abs() <= step.length() + 1e-6, "{q} by {step}");
    }
    println!("vertices within {worst:.2e}, points within {off:.2e}");
}

#[test]
fn turned_bodies() {
    check(&Shape::Turned(ring()), 1e-9);
}

#[test]
fn plates() {
    check(&Shape::Plate(arm()), 1e-6);
}

#[test]
fn rods() {
    check(&Shape::Rod(rod()), 1e-9);
}

#[test]
fn patches_strips_and_forks() {
    for neck in [alto(), measured()] {
        check(&Shape::Sweep(saddle(neck.clone())), 1.5e-3);
        check(&Shape::Sweep(strip(neck.clone(), 72.0, 148.0)), 1.5e-3);
        check(&Shape::Sweep(fork(neck)), 1.5e-3);
    }
}

#[test]
fn strips_on_a_bridge() {
    check(&Shape::Sweep(bridge(alto())), 2e-3);
}

#[test]
fn half_shells() {
    check(&Shape::Sweep(half_shell(alto(), 165.0)), 1.5e-3);
}

#[test]
fn tubes_with_and_without_their_hole() {
    check(&Shape::Tube(tube(measured(), None)), 1.5e-3);
    let hole = Some(TubeHole { station: 66.0, radius: 2.33 });
    check(&Shape::Tube(tube(alto(), hole)), 1.5e-3);
}

#[test]
fn posts() {
    check(&Shape::Post(post(alto())), 1.5e-3);
}

/// Frustum, torus and sphere by their closed forms.
#[test]
fn tube_of_constant_radius_is_cylinder_and_torus() {
    let neck = Arc::new(Neck {
        centreline: Centreline::new(&[
            Course::Straight { length: 30.0 },
            Course::Bend { bend: PI / 2.0, radius: 50.0 },
        ]),
        bore: Bore::Cone { entry_radius: 9.0, slope: 0.0 },
        wall: 1.0,
    });
    let to = neck.centreline.length();
    let field = DistanceField::new(&Shape::Tube(Tube { neck, from: 0.0, to, hole: None }));
    let mut rolls = Rolls(77);
    for _ in 0..2000 {
        let q = rolls.between(DVec3::new(2.0, -15.0, -15.0), DVec3::new(28.0, 15.0, 15.0));
        let radius = (q.y * q.y + q.z * q.z).sqrt();
        let ring = (radius - 10.0).max(9.0 - radius);
        // Away from the ends and the join nothing else can be nearer.
        let room = (q.x - 0.0).min(30.0 - q.x);
        if ring.abs() < room {
            assert!((field.near(q).distance - ring).abs() < 1e-9, "{q}");
        }
        // On the bend: centre of it at (30, -50).
        let angle = 0.2 + 1.1 * rolls.next();
        let (out, y) = (35.0 + 30.0 * rolls.next(), 30.0 * rolls.next() - 15.0);
        let q = DVec3::new(30.0 + out * libm::sin(angle), y, -50.0 + out * libm::cos(angle));
        let radius = ((out - 50.0) * (out - 50.0) + y * y).sqrt();
        let ring = (radius - 10.0).max(9.0 - radius);
        let room = out * libm::sin(0.2f64.min(angle).min(PI / 2.0 - angle));
        if ring.abs() < room {
            assert!((field.near(q).distance - ring).abs() < 1e-8, "{q} {ring}");
        }
    }
}

#[test]
fn straight_taper_is_a_cone() {
    let slope: f64 = 0.05;
    let neck = Arc::new(Neck {
        centreline: Centreline::new(&[Course::Straight { length: 60.0 }]),
        bore: Bore::Cone { entry_radius: 6.0, slope },
        wall: 0.8,
    });
    let field = DistanceField::new(&Shape::Tube(Tube { neck, from: 0.0, to: 60.0, hole: None }));
    let cosine = 1.0 / (1.0 + slope * slope).sqrt();
    let mut rolls = Rolls(5);
    for _ in 0..1000 {
        let q = rolls.between(DVec3::new(12.0, -12.0, -12.0), DVec3::new(48.0, 12.0, 12.0));
        let radius = (q.y * q.y + q.z * q.z).sqrt();
        let expected =
            ((radius - (6.8 + slope * q.x)) * cosine).max((6.0 + slope * q.x - radius) * cosine);
        if radius > 0.5 {
            assert!((field.near(q).distance - expected).abs() < 1e-9, "{q}");
        }
    }
}

//! Our swept solids handed to truck's own geometry and triangulated by truck: an independent
//! reading of the same faces. Swept bodies hold only planes and free surfaces, which truck's
//! enums hold too.

use glam::{DVec3, DVec4};
use neckwright::geometry::bspline::{Knots, SplineCurve, SplineSurface};
use neckwright::geometry::curve::Curve;
use neckwright::geometry::surface::Surface;
use neckwright::parts::build_from_text;
use neckwright::solids::brep::Solid;
use neckwright::solids::build;
use neckwright::solids::properties::properties;
use truck_meshalgo::prelude::*;
use truck_modeling::{
    BSplineCurve, BSplineSurface, KnotVec, NurbsCurve, NurbsSurface, Plane, Vector4,
};

const CHORD: f64 = 0.02;

fn point(p: DVec3) -> Point3 {
    Point3::new(p.x, p.y, p.z)
}

fn knots(knots: &Knots) -> KnotVec {
    let repeated = knots.multiplicities().into_iter();
    repeated.flat_map(|(knot, times)| std::iter::repeat_n(knot, times)).collect::<Vec<_>>().into()
}

fn control(c: DVec4) -> Vector4 {
    Vector4::new(c.x, c.y, c.z, c.w)
}

fn spline(curve: &SplineCurve) -> NurbsCurve<Vector4> {
    let points = curve.control.iter().copied().map(control).collect();
    NurbsCurve::new(BSplineCurve::new(knots(&curve.knots), points))
}

/// A circular arc as two rational quadratic arcs: the textbook form.
fn arc(
    frame: &neckwright::geometry::frame::Frame,
    radius: f64,
    start: f64,
    sweep: f64,
) -> NurbsCurve<Vector4> {
    let points = (0..5)
        .map(|k| {
            let angle = start + sweep * f64::from(k) / 4.0;
            let weight = if k % 2 == 0 { 1.0 } else { libm::cos(sweep / 4.0) };
            let out = (frame.x * libm::cos(angle) + frame.y * libm::sin(angle)) * radius;
            control((frame.origin * weight + out).extend(weight))
        })
        .collect();
    NurbsCurve::new(BSplineCurve::new(knots(&Knots::two_arcs()), points))
}

fn curve(curve: &Curve) -> truck_modeling::Curve {
    match curve {
        Curve::Line { from, to } => {
            truck_modeling::Curve::Line(truck_modeling::Line(point(*from), point(*to)))
        }
        Curve::Circle { frame, radius, start, sweep } => {
            truck_modeling::Curve::NurbsCurve(arc(frame, *radius, *start, *sweep))
        }
        Curve::Spline(curve) => truck_modeling::Curve::NurbsCurve(spline(curve)),
    }
}

fn free(surface: &SplineSurface) -> NurbsSurface<Vector4> {
    let columns = surface.v_knots.control_count();
    let rows =
        surface.control.chunks(columns).map(|row| row.iter().copied().map(control).collect());
    let grid =
        BSplineSurface::new((knots(&surface.u_knots), knots(&surface.v_knots)), rows.collect());
    NurbsSurface::new(grid)
}

fn surface(surface: &Surface) -> Option<truck_modeling::Surface> {
    match surface {
        Surface::Plane { frame } => Some(truck_modeling::Surface::Plane(Plane::new(
            point(frame.origin),
            point(frame.origin + frame.x),
            point(frame.origin + frame.y),
        ))),
        Surface::Spline(surface) => Some(truck_modeling::Surface::NurbsSurface(free(surface))),
        _ => None,
    }
}

fn handed_over(solid: &Solid) -> truck_modeling::Solid {
    solid
        .try_mapped(|p| Some(point(*p)), |c| Some(curve(c)), surface)
        .expect("only planes and free surfaces")
}

#[test]
fn truck_finds_the_same_volume_in_every_swept_part() {
    let read =
        build_from_text(include_str!("../examples/jobs/alto.json")).expect("the alto builds");
    for id in ["brace", "saddle", "half_left", "half_right"] {
        let part = read.assembly.part(id).expect("the part is there");
        let solid = build(&part.shape).expect("builds");
        let exact = properties(&solid);
        let mesh = handed_over(&solid).triangulation(CHORD).to_polygon();
        let slack = exact.area * CHORD;
        let volume = mesh.volume();
        assert!(
            (volume - exact.volume).abs() < slack,
            "{id}: truck {volume}, ours {}",
            exact.volume
        );
    }
}

//! Points, placements, curves and surfaces as ISO 10303-42 names them.

use glam::{DVec3, DVec4, Vec4Swizzles};

use crate::geometry::bspline::{Knots, SplineCurve, SplineSurface};
use crate::geometry::curve::Curve;
use crate::geometry::frame::Frame;
use crate::geometry::surface::Surface;

use super::error::Fault;
use super::part21::Value::{
    Integer, Integers, List, Logical, Real, Reals, Reference, References, Text, Word,
};
use super::part21::{DataSection, Id, Value};

/// A length to 1e-9 mm. Readers take points as the same within 1e-7 mm: rounded to that, vertices
/// leave their circles by more, and the readers complain and correct.
fn length(mm: f64) -> f64 {
    (mm * 1e9).round() / 1e9
}

/// A direction's component, an angle, a weight or a knot, to 1e-12.
fn ratio(value: f64) -> f64 {
    (value * 1e12).round() / 1e12
}

/// A length that the standard wants greater than zero.
fn positive(what: &'static str, mm: f64) -> Result<f64, Fault> {
    let value = length(mm);
    if value > 0.0 { Ok(value) } else { Err(Fault::NotPositive { what, value: mm }) }
}

pub fn point(data: &mut DataSection, name: &str, at: DVec3) -> Result<Id, Fault> {
    data.add("CARTESIAN_POINT", &[Text(name), Reals(&at.to_array().map(length))])
}

fn direction(data: &mut DataSection, along: DVec3) -> Result<Id, Fault> {
    let unit = along.try_normalize().ok_or(Fault::NoDirection)?;
    data.add("DIRECTION", &[Text(""), Reals(&unit.to_array().map(ratio))])
}

/// A frame as AXIS2_PLACEMENT_3D: origin, z, x.
pub fn placement(data: &mut DataSection, frame: &Frame) -> Result<Id, Fault> {
    let origin = point(data, "", frame.origin)?;
    let z = direction(data, frame.z)?;
    let x = direction(data, frame.x)?;
    data.add("AXIS2_PLACEMENT_3D", &[Text(""), Reference(origin), Reference(z), Reference(x)])
}

/// The curve under an edge. It runs in the edge's own sense: a circle's angle grows from its
/// x towards its y, a line from its first point to its second.
pub fn curve(data: &mut DataSection, curve: &Curve) -> Result<Id, Fault> {
    match curve {
        Curve::Line { from, to } => {
            let start = point(data, "", *from)?;
            let along = direction(data, *to - *from)?;
            let vector = data.add("VECTOR", &[Text(""), Reference(along), Real(1.0)])?;
            data.add("LINE", &[Text(""), Reference(start), Reference(vector)])
        }
        Curve::Circle { frame, radius, .. } => {
            let radius = positive("a circle's radius", *radius)?;
            let place = placement(data, frame)?;
            data.add("CIRCLE", &[Text(""), Reference(place), Real(radius)])
        }
        Curve::Spline(spline) => spline_curve(data, spline),
    }
}

/// The surface under a face, said to be what it is; its normal is the frame's own `S_u × S_v`.
pub fn surface(data: &mut DataSection, surface: &Surface) -> Result<Id, Fault> {
    match surface {
        Surface::Plane { frame } => {
            let place = placement(data, frame)?;
            data.add("PLANE", &[Text(""), Reference(place)])
        }
        Surface::Cylinder { frame, radius } => {
            let radius = positive("a cylinder's radius", *radius)?;
            let place = placement(data, frame)?;
            data.add("CYLINDRICAL_SURFACE", &[Text(""), Reference(place), Real(radius)])
        }
        Surface::Cone { frame, radius, half_angle } => {
            // A cone's radius at its origin may be zero, its angle may not.
            if length(*radius) < 0.0 {
                return Err(Fault::NotPositive { what: "a cone's radius", value: *radius });
            }
            if *half_angle <= 0.0 || *half_angle >= std::f64::consts::FRAC_PI_2 {
                return Err(Fault::ConeAngle { radians: *half_angle });
            }
            let place = placement(data, frame)?;
            let values =
                [Text(""), Reference(place), Real(length(*radius)), Real(ratio(*half_angle))];
            data.add("CONICAL_SURFACE", &values)
        }
        Surface::Torus { frame, major, minor } => {
            let (wide, narrow) =
                (positive("a torus's radius", *major)?, positive("a torus's tube radius", *minor)?);
            if wide <= narrow {
                return Err(Fault::SpindleTorus { major: *major, minor: *minor });
            }
            let place = placement(data, frame)?;
            data.add("TOROIDAL_SURFACE", &[Text(""), Reference(place), Real(wide), Real(narrow)])
        }
        Surface::Spline(spline) => spline_surface(data, spline),
    }
}

/// What a B-spline's control net becomes in the file.
struct ControlNet {
    points: Vec<Id>,
    /// Empty when every weight is one.
    weights: Vec<f64>,
}

impl ControlNet {
    /// Our control points are homogeneous, `(w x, w y, w z, w)`; the file wants point and weight apart.
    fn new(data: &mut DataSection, control: &[DVec4], wanted: usize) -> Result<Self, Fault> {
        if control.len() != wanted || wanted == 0 {
            return Err(Fault::ControlCount { found: control.len(), wanted });
        }
        if let Some(bad) = control.iter().find(|c| c.w.is_finite() && c.w <= 0.0) {
            return Err(Fault::Weight { weight: bad.w });
        }
        let points =
            control.iter().map(|c| point(data, "", c.xyz() / c.w)).collect::<Result<_, _>>()?;
        let weights: Vec<f64> = control.iter().map(|c| ratio(c.w)).collect();
        let rational = weights.iter().any(|&w| w != 1.0);
        Ok(Self { points, weights: if rational { weights } else { Vec::new() } })
    }
}

/// Multiplicities and values of a knot vector.
fn knots(knots: &Knots) -> (Vec<usize>, Vec<f64>) {
    knots.multiplicities().into_iter().map(|(value, count)| (count, ratio(value))).unzip()
}

fn spline_curve(data: &mut DataSection, spline: &SplineCurve) -> Result<Id, Fault> {
    let net = ControlNet::new(data, &spline.control, spline.knots.control_count())?;
    let (counts, values) = knots(&spline.knots);
    let shape: [Value<'_>; 5] = [
        Integer(spline.knots.degree()),
        References(&net.points),
        Word("UNSPECIFIED"),
        Logical(false),
        Logical(false),
    ];
    let knots: [Value<'_>; 3] = [Integers(&counts), Reals(&values), Word("UNSPECIFIED")];
    if net.weights.is_empty() {
        return data
            .add("B_SPLINE_CURVE_WITH_KNOTS", &[&[Text("")], &shape[..], &knots[..]].concat());
    }
    data.add_complex(&[
        ("BOUNDED_CURVE", &[]),
        ("B_SPLINE_CURVE", &shape),
        ("B_SPLINE_CURVE_WITH_KNOTS", &knots),
        ("CURVE", &[]),
        ("GEOMETRIC_REPRESENTATION_ITEM", &[]),
        ("RATIONAL_B_SPLINE_CURVE", &[Reals(&net.weights)]),
        ("REPRESENTATION_ITEM", &[Text("")]),
    ])
}

fn spline_surface(data: &mut DataSection, spline: &SplineSurface) -> Result<Id, Fault> {
    let columns = spline.v_knots.control_count();
    let net = ControlNet::new(data, &spline.control, spline.u_knots.control_count() * columns)?;
    let ((u_counts, u_values), (v_counts, v_values)) =
        (knots(&spline.u_knots), knots(&spline.v_knots));
    // The standard's rows run over u, as ours do.
    let rows: Vec<Value<'_>> = net.points.chunks(columns).map(References).collect();
    let shape: [Value<'_>; 7] = [
        Integer(spline.u_knots.degree()),
        Integer(spline.v_knots.degree()),
        List(&rows),
        Word("UNSPECIFIED"),
        Logical(false),
        Logical(false),
        Logical(false),
    ];
    let knots: [Value<'_>; 5] = [
        Integers(&u_counts),
        Integers(&v_counts),
        Reals(&u_values),
        Reals(&v_values),
        Word("UNSPECIFIED"),
    ];
    if net.weights.is_empty() {
        return data
            .add("B_SPLINE_SURFACE_WITH_KNOTS", &[&[Text("")], &shape[..], &knots[..]].concat());
    }
    let weights: Vec<Value<'_>> = net.weights.chunks(columns).map(Reals).collect();
    data.add_complex(&[
        ("BOUNDED_SURFACE", &[]),
        ("B_SPLINE_SURFACE", &shape),
        ("B_SPLINE_SURFACE_WITH_KNOTS", &knots),
        ("GEOMETRIC_REPRESENTATION_ITEM", &[]),
        ("RATIONAL_B_SPLINE_SURFACE", &[List(&weights)]),
        ("REPRESENTATION_ITEM", &[Text("")]),
        ("SURFACE", &[]),
    ])
}

//! Bodies with all that a clearance is measured by.

#![allow(dead_code, reason = "every test takes what it looks at")]

use glam::{DVec2, DVec3};
use neckwright::checks::{Body, Group, Mechanism, Pivot, Placed, SurfaceSamples};
use neckwright::geometry::distance::DistanceField;
use neckwright::geometry::frame::Frame;
use neckwright::geometry::outline::{Outline, Side};
use neckwright::geometry::shape::{Plate, Shape, Turned};
use neckwright::solids::build;
use neckwright::solids::mesh::mesh;

use crate::bodies::{WORLD, p, polygon};

/// A body at rest with its field and samples.
pub struct Made {
    pub id: &'static str,
    pub field: DistanceField,
    pub samples: SurfaceSamples,
    pub group: Group,
    pub keepout: bool,
    /// Round about the hinge, and about the tenon's axis.
    pub round: [bool; 2],
    pub through: Option<DistanceField>,
    pub placed: Option<Placed>,
}

impl Made {
    /// A body soldered to the neck.
    pub fn new(shape: &Shape) -> Self {
        let solid = build(shape).expect("builds");
        let first = mesh(&solid, 0.1).expect("meshes");
        Self {
            id: "body",
            field: DistanceField::new(shape),
            samples: SurfaceSamples::new(&solid, &first).expect("samples"),
            group: Group::Neck,
            keepout: false,
            round: [false; 2],
            through: None,
            placed: None,
        }
    }

    /// A body of the key.
    pub fn of_key(shape: &Shape) -> Self {
        Self { group: Group::Key, ..Self::new(shape) }
    }

    /// A body of a group of a mechanism.
    pub fn in_group(id: &'static str, shape: &Shape, group: Group, mechanism: &Mechanism) -> Self {
        let Pivot { point, axis } = mechanism.tenon;
        let through = (group == Group::Horn)
            .then(|| DistanceField::through(shape, point, axis, mechanism.neck_turn));
        Self {
            id,
            group,
            round: [mechanism.hinge, mechanism.tenon]
                .map(|pivot| shape.is_round_about(pivot.point, pivot.axis)),
            through: through.flatten(),
            ..Self::new(shape)
        }
    }

    pub fn body(&self) -> Body<'_> {
        Body {
            id: self.id,
            field: &self.field,
            samples: &self.samples,
            undrilled: false,
            group: self.group,
            keepout: self.keepout,
            round_about_hinge: self.round[0],
            round_about_tenon: self.round[1],
            through: self.through.as_ref(),
            placed: self.placed,
        }
    }
}

/// A block between two corners.
pub fn block(low: DVec3, high: DVec3) -> Shape {
    let (middle, half) = ((low + high) / 2.0, (high - low) / 2.0);
    Shape::Plate(Plate {
        frame: WORLD.at(middle),
        outline: polygon(&[
            p(-half.x, -half.y),
            p(half.x, -half.y),
            p(half.x, half.y),
            p(-half.x, half.y),
        ]),
        half_thickness: half.z,
        holes: Vec::new(),
        edge_holes: Vec::new(),
    })
}

/// A cylinder from `origin` along `along`.
pub fn cylinder(origin: DVec3, along: DVec3, radius: f64, length: f64) -> Shape {
    let z = along.normalize();
    let axis = Frame::from_zx(origin, z, z.any_orthonormal_vector());
    let profile: [DVec2; 4] = [p(0.0, 0.0), p(length, 0.0), p(length, radius), p(0.0, radius)];
    Shape::Turned(Turned { axis, profile: polygon(&profile) })
}

/// A ball, but for two small flats in the direction of y (no side of a turned body may run
/// slanting into its axis).
pub fn ball(centre: DVec3, radius: f64) -> Shape {
    let axis = Frame::from_zx(centre, DVec3::Y, DVec3::Z);
    let flat = radius / 50.0;
    let height = (radius * radius - flat * flat).sqrt();
    let quarter = std::f64::consts::PI / 2.0 - libm::asin(flat / radius);
    let profile = Outline::new(vec![
        Side::line(p(-height, 0.0), p(height, 0.0)),
        Side::line(p(height, 0.0), p(height, flat)),
        Side::Arc { from: p(height, flat), centre: DVec2::ZERO, sweep: quarter },
        Side::Arc { from: p(0.0, radius), centre: DVec2::ZERO, sweep: quarter },
        Side::line(p(-height, flat), p(-height, 0.0)),
    ]);
    Shape::Turned(Turned { axis, profile })
}

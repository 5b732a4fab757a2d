//! Face surfaces: plane, cylinder, cone, torus, B-spline.
//!
//! Each has the parametrisation ISO 10303-42 gives it, so that a face can be written to
//! STEP as what it is: cylinder `O + R (x cos u + y sin u) + v z`, cone
//! `O + (R + v tan a)(x cos u + y sin u) + v z`, torus
//! `O + (R + r cos v)(x cos u + y sin u) + r sin v z`. The normal is `S_u × S_v`.

use std::f64::consts::PI;
use std::sync::Arc;

use glam::{DVec2, DVec3};

use super::bspline::SplineSurface;
use super::frame::Frame;
use super::motion::Motion;

/// The surface under a face. Millimetres and radians.
#[derive(Clone, Debug, PartialEq)]
pub enum Surface {
    /// The frame's x-y plane; normal along z.
    Plane { frame: Frame },
    /// Axis along z; normal outward.
    Cylinder { frame: Frame, radius: f64 },
    /// Radius `radius` at the origin, growing along +z by `tan(half_angle)`; half_angle > 0; normal outward.
    Cone { frame: Frame, radius: f64, half_angle: f64 },
    /// Axis along z; normal away from the tube's centre circle.
    Torus { frame: Frame, major: f64, minor: f64 },
    /// Free surface.
    Spline(Arc<SplineSurface>),
}

impl Surface {
    /// Point at `(u, v)`.
    pub fn point(&self, uv: DVec2) -> DVec3 {
        self.point_slopes(uv).0
    }

    /// Point and both first derivatives.
    pub fn point_slopes(&self, uv: DVec2) -> (DVec3, DVec3, DVec3) {
        match self {
            Self::Plane { frame } => {
                (frame.origin + frame.x * uv.x + frame.y * uv.y, frame.x, frame.y)
            }
            Self::Cylinder { frame, radius } => {
                let (out, round) = spokes(frame, uv.x);
                (frame.origin + out * *radius + frame.z * uv.y, round * *radius, frame.z)
            }
            Self::Cone { frame, radius, half_angle } => {
                let (out, round) = spokes(frame, uv.x);
                let slope = libm::tan(*half_angle);
                let here = radius + uv.y * slope;
                (frame.origin + out * here + frame.z * uv.y, round * here, out * slope + frame.z)
            }
            Self::Torus { frame, major, minor } => {
                let (out, round) = spokes(frame, uv.x);
                let (sin, cos) = libm::sincos(uv.y);
                let here = major + minor * cos;
                (
                    frame.origin + out * here + frame.z * (minor * sin),
                    round * here,
                    (frame.z * cos - out * sin) * *minor,
                )
            }
            Self::Spline(surface) => surface.point_slopes(uv),
        }
    }

    /// The surface after a rigid motion.
    pub fn moved(&self, motion: &Motion) -> Self {
        match self {
            Self::Plane { frame } => Self::Plane { frame: motion.frame(frame) },
            Self::Cylinder { frame, radius } => {
                Self::Cylinder { frame: motion.frame(frame), radius: *radius }
            }
            Self::Cone { frame, radius, half_angle } => {
                Self::Cone { frame: motion.frame(frame), radius: *radius, half_angle: *half_angle }
            }
            Self::Torus { frame, major, minor } => {
                Self::Torus { frame: motion.frame(frame), major: *major, minor: *minor }
            }
            Self::Spline(spline) => Self::Spline(Arc::new(SplineSurface {
                u_knots: spline.u_knots.clone(),
                v_knots: spline.v_knots.clone(),
                control: spline.control.iter().map(|&c| motion.control(c)).collect(),
            })),
        }
    }

    /// Unit normal `S_u × S_v` at `(u, v)`; zero where the surface degenerates.
    pub fn normal(&self, uv: DVec2) -> DVec3 {
        let (_, su, sv) = self.point_slopes(uv);
        su.cross(sv).normalize_or_zero()
    }

    /// Parameters of the surface point nearest to `point`.
    ///
    /// `guess` picks the branch: angles come back within half a turn of it, and free
    /// surfaces start their Newton steps there (from a coarse grid without it).
    pub fn parameters(&self, point: DVec3, guess: Option<DVec2>) -> DVec2 {
        match self {
            Self::Plane { frame } => {
                let local = frame.local(point);
                DVec2::new(local.x, local.y)
            }
            Self::Cylinder { frame, .. } => {
                let local = frame.local(point);
                DVec2::new(near(libm::atan2(local.y, local.x), guess.map(|g| g.x)), local.z)
            }
            Self::Cone { frame, radius, half_angle } => {
                let local = frame.local(point);
                let slope = libm::tan(*half_angle);
                let out = (local.x * local.x + local.y * local.y).sqrt() - radius;
                DVec2::new(
                    near(libm::atan2(local.y, local.x), guess.map(|g| g.x)),
                    (local.z + out * slope) / (1.0 + slope * slope),
                )
            }
            Self::Torus { frame, major, .. } => {
                let local = frame.local(point);
                let out = (local.x * local.x + local.y * local.y).sqrt() - major;
                DVec2::new(
                    near(libm::atan2(local.y, local.x), guess.map(|g| g.x)),
                    near(libm::atan2(local.z, out), guess.map(|g| g.y)),
                )
            }
            Self::Spline(surface) => match guess {
                Some(guess) => surface.nearest(point, guess),
                None => surface.nearest_from_grid(point),
            },
        }
    }
}

/// Outward and tangential unit vectors at angle `u` about the frame's z.
fn spokes(frame: &Frame, u: f64) -> (DVec3, DVec3) {
    let (sin, cos) = libm::sincos(u);
    (frame.x * cos + frame.y * sin, frame.y * cos - frame.x * sin)
}

/// `angle` moved by whole turns to lie within half a turn of `target`.
fn near(angle: f64, target: Option<f64>) -> f64 {
    match target {
        Some(target) => angle - 2.0 * PI * ((angle - target) / (2.0 * PI)).round(),
        None => angle,
    }
}

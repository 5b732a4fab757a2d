//! Rims: where a round hole or a round post meets a free surface.

use glam::{DVec2, DVec3};

use crate::geometry::frame::Frame;
use crate::geometry::surface::Surface;

use super::construct::Ring;
use super::error::SolidError;

/// Cubics in each half of a rim. A cubic over angle d leaves a circle of radius r by about
/// r d^4 / 384: at 11.25 degrees and 3 mm, 0.00001 mm.
const SPANS: usize = 16;

/// The rim of the cylinder of `radius` about the frame's z axis on a surface, on the branch
/// through `start` (a point of the surface near the axis). Starts on the frame's x and turns
/// towards y. Points lie on both surfaces to 1e-9 mm, the curve between them to about 3e-5.
pub fn rim_on_surface(
    surface: &Surface,
    frame: &Frame,
    radius: f64,
    start: DVec3,
) -> Result<Ring, SolidError> {
    let mut guess = surface.parameters(start, None);
    Ring::free(SPANS, |angle| {
        let (sin, cos) = libm::sincos(angle);
        let spoke = DVec2::new(cos, sin) * radius;
        let uv = pierce(surface, frame, spoke, guess)?;
        guess = uv;
        let (point, su, sv) = surface.point_slopes(uv);
        let normal = su.cross(sv);
        let round = (frame.y * cos - frame.x * sin) * radius;
        let climb = normal.dot(frame.z);
        if climb.abs() < 1e-6 * normal.length() {
            return Err(SolidError::new("rim", "the surface stands along the hole"));
        }
        Ok((point, round - frame.z * (normal.dot(round) / climb)))
    })
}

/// Parameters at which the line along the frame's z through `spoke` (in x, y) meets the surface.
fn pierce(
    surface: &Surface,
    frame: &Frame,
    spoke: DVec2,
    guess: DVec2,
) -> Result<DVec2, SolidError> {
    let mut uv = guess;
    for _ in 0..50 {
        let (point, su, sv) = surface.point_slopes(uv);
        let local = frame.local(point);
        let miss = spoke - DVec2::new(local.x, local.y);
        if miss.length() < 1e-10 {
            return Ok(uv);
        }
        let a = DVec2::new(su.dot(frame.x), su.dot(frame.y));
        let b = DVec2::new(sv.dot(frame.x), sv.dot(frame.y));
        let determinant = a.perp_dot(b);
        if determinant.abs() < 1e-12 {
            break;
        }
        let mut step = DVec2::new(miss.perp_dot(b), a.perp_dot(miss)) / determinant;
        // Held to a fraction of a half turn so that a poor guess cannot jump to the far side.
        step.x = step.x.clamp(-0.25, 0.25);
        uv += step;
    }
    // One last look: rounding may keep the miss just above the aim.
    let local = frame.local(surface.point(uv));
    if spoke.distance(DVec2::new(local.x, local.y)) < 1e-7 {
        return Ok(uv);
    }
    Err(SolidError::new("rim", "the hole's wall does not meet the surface all round"))
}

//! Posts: a chamfered cylinder, coped to the saddle, with the hinge hole across.

use glam::DVec3;

use crate::geometry::frame::Frame;
use crate::geometry::shape::{Post, Radius};
use crate::geometry::surface::Surface;

use super::brep::{Edge, Solid, Wire};
use super::construct::{Ring, face, half_frames, hole_wall, outside_half, ring_lines, solid};
use super::error::SolidError;
use super::rim::rim_on_surface;
use super::swept::swept_arc;

/// Cubics in each half of the hinge hole's rim.
const SPANS: usize = 16;

/// Builds a post; its seams lie 90 degrees from the hinge hole.
pub fn build(post: &Post) -> Result<Solid, SolidError> {
    let frame = &post.frame;
    let (foot_surface, foot_start) = foot(post)?;
    let foot = rim_on_surface(&foot_surface, frame, post.radius, foot_start)?;
    let shoulder_at = frame.at(frame.origin + frame.z * (post.top - post.chamfer));
    let top_at = frame.at(frame.origin + frame.z * post.top);
    let shoulder = Ring::circle(&shoulder_at, post.radius)?;
    let top = Ring::circle(&top_at, post.radius - post.chamfer)?;
    let hole_frame = Frame::from_zx(frame.origin, frame.y, frame.z);
    let openings = [opening(post, &hole_frame, 1.0)?, opening(post, &hole_frame, -1.0)?];

    let middles = half_frames(frame);
    let barrel_joins = ring_lines(&foot, &shoulder)?;
    let chamfer_joins = ring_lines(&shoulder, &top)?;
    let mut faces = Vec::with_capacity(8);
    let inner: [Wire; 2] = [openings[0].backward(), openings[1].forward()];
    for (k, hole) in inner.into_iter().enumerate() {
        let half = |low: &Ring, high: &Ring, joins: &[Edge; 2]| outside_half(low, high, joins, k);
        let barrel = Surface::Cylinder { frame: middles[k], radius: post.radius };
        faces.push(face(vec![half(&foot, &shoulder, &barrel_joins), hole], barrel, true)?);
        let cone = Surface::Cone {
            frame: Frame::from_zx(top_at.origin, -frame.z, middles[k].x),
            radius: post.radius - post.chamfer,
            half_angle: std::f64::consts::FRAC_PI_4,
        };
        faces.push(face(vec![half(&shoulder, &top, &chamfer_joins)], cone, true)?);
    }
    faces.extend(hole_wall(&hole_frame, post.hole_radius, &openings[0], &openings[1])?);
    faces.push(face(vec![top.forward()], Surface::Plane { frame: top_at }, true)?);
    // Swept towards growing azimuth, the surface's own normal points down to the tube.
    faces.push(face(vec![foot.backward()], foot_surface, true)?);
    solid(faces)
}

/// The surface the foot follows, over the post's footprint with a margin, and a point of it
/// under the post's axis.
fn foot(post: &Post) -> Result<(Surface, DVec3), SolidError> {
    let neck = &post.neck;
    let frame = &post.frame;
    let station = neck.centreline.nearest_station(frame.origin);
    let radius = neck.bore.radius(station) + post.foot_offset;
    let side = frame.origin.y;
    let reach = side.abs() + post.radius;
    if reach >= 0.98 * radius {
        return Err(SolidError::new("post foot", "stands beyond the side of the tube"));
    }
    // The margin leaves the Newton steps of the rim room on both sides.
    let azimuth = |y: f64| libm::asin((y / radius).clamp(-0.995, 0.995));
    let margin = 0.15 * post.radius;
    let low = azimuth(side - post.radius - margin);
    let high = azimuth(side + post.radius + margin);
    let span = 1.6 * post.radius + 0.5;
    let surface = swept_arc(
        neck,
        &Radius::Bore(post.foot_offset),
        (low, high),
        station - span,
        station + span,
    );
    let at = neck.at(station);
    let start =
        at.centre + DVec3::Y * side + at.up * (radius * radius - side * side).max(0.0).sqrt();
    Ok((surface, start))
}

/// Rim of the hinge hole on the post's barrel, on the side of +y or -y. It turns about +y
/// from z towards x: a point of the hole is `r (cos a z + sin a x)`, and the barrel stands
/// there at `y = sqrt(R^2 - (r sin a)^2)`.
fn opening(post: &Post, hole: &Frame, sign: f64) -> Result<Ring, SolidError> {
    let (big, small) = (post.radius, post.hole_radius);
    if small >= 0.95 * big {
        return Err(SolidError::new("hinge hole", "leaves no wall in the post"));
    }
    Ring::free(SPANS, |angle| {
        let (sin, cos) = libm::sincos(angle);
        let depth = (big * big - small * small * sin * sin).sqrt();
        let point = hole.point(DVec3::new(small * cos, small * sin, sign * depth));
        let slope = hole.direction(DVec3::new(
            -small * sin,
            small * cos,
            -sign * small * small * sin * cos / depth,
        ));
        Ok((point, slope))
    })
}

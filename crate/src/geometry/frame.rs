//! Right-handed orthonormal frames: where a part stands and which way it looks.

use glam::{DVec2, DVec3};

/// Origin and three unit axes with `x × y = z`. Millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    pub origin: DVec3,
    pub x: DVec3,
    pub y: DVec3,
    pub z: DVec3,
}

impl Frame {
    /// Frame with the given unit `z` and the unit `x` normal to it; `y` completes it.
    pub fn from_zx(origin: DVec3, z: DVec3, x: DVec3) -> Self {
        Self { origin, x, y: z.cross(x), z }
    }

    /// Point given by its coordinates in this frame.
    pub fn point(&self, local: DVec3) -> DVec3 {
        self.origin + self.direction(local)
    }

    /// Direction given by its components in this frame.
    pub fn direction(&self, local: DVec3) -> DVec3 {
        self.x * local.x + self.y * local.y + self.z * local.z
    }

    /// Coordinates of a point in this frame.
    pub fn local(&self, point: DVec3) -> DVec3 {
        self.components(point - self.origin)
    }

    /// Components of a direction in this frame.
    pub fn components(&self, direction: DVec3) -> DVec3 {
        DVec3::new(direction.dot(self.x), direction.dot(self.y), direction.dot(self.z))
    }

    /// The same axes at another origin.
    pub fn at(&self, origin: DVec3) -> Self {
        Self { origin, ..*self }
    }
}

/// Unit vector at `angle` radians from the first axis of a plane.
pub fn unit(angle: f64) -> DVec2 {
    let (sin, cos) = libm::sincos(angle);
    DVec2::new(cos, sin)
}

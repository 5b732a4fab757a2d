//! Rigid motions: the key turned about its hinge, the neck turned in the receiver.

use glam::{DMat3, DVec3, DVec4, Vec4Swizzles};

use super::frame::Frame;

/// A rotation followed by a shift.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Motion {
    rotation: DMat3,
    shift: DVec3,
}

impl Motion {
    /// No motion.
    pub const NONE: Self = Self { rotation: DMat3::IDENTITY, shift: DVec3::ZERO };

    /// A turn by `angle` radians about the line through `point` along the unit `axis`, by the
    /// right-hand rule.
    pub fn about(point: DVec3, axis: DVec3, angle: f64) -> Self {
        let turn = |vector: DVec3| turned(vector, axis, angle);
        let rotation = DMat3::from_cols(turn(DVec3::X), turn(DVec3::Y), turn(DVec3::Z));
        Self { rotation, shift: point - rotation * point }
    }

    /// A shift.
    pub fn shift(by: DVec3) -> Self {
        Self { rotation: DMat3::IDENTITY, shift: by }
    }

    /// The motion that undoes this one.
    pub fn inverse(&self) -> Self {
        let rotation = self.rotation.transpose();
        Self { rotation, shift: -(rotation * self.shift) }
    }

    /// The motion that does `first` and then this one.
    pub fn after(&self, first: &Self) -> Self {
        Self {
            rotation: self.rotation * first.rotation,
            shift: self.rotation * first.shift + self.shift,
        }
    }

    pub fn point(&self, point: DVec3) -> DVec3 {
        self.rotation * point + self.shift
    }

    pub fn direction(&self, direction: DVec3) -> DVec3 {
        self.rotation * direction
    }

    pub fn frame(&self, frame: &Frame) -> Frame {
        Frame {
            origin: self.point(frame.origin),
            x: self.direction(frame.x),
            y: self.direction(frame.y),
            z: self.direction(frame.z),
        }
    }

    /// A control point `(w x, w y, w z, w)`.
    pub fn control(&self, control: DVec4) -> DVec4 {
        (self.rotation * control.xyz() + self.shift * control.w).extend(control.w)
    }
}

/// A vector turned by `angle` radians about the unit `axis`, by the right-hand rule (Rodrigues' formula).
pub fn turned(vector: DVec3, axis: DVec3, angle: f64) -> DVec3 {
    let (sin, cos) = libm::sincos(angle);
    vector * cos + axis.cross(vector) * sin + axis * (axis.dot(vector) * (1.0 - cos))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quarter_turn_about_a_hinge() {
        let hinge = DVec3::new(100.0, 0.0, 5.0);
        let motion = Motion::about(hinge, DVec3::Y, std::f64::consts::FRAC_PI_2);
        // By hand: +X from the hinge goes to -Z.
        let moved = motion.point(hinge + DVec3::new(3.0, 2.0, 0.0));
        assert!(moved.distance(hinge + DVec3::new(0.0, 2.0, -3.0)) < 1e-12);
        assert!(motion.inverse().point(moved).distance(hinge + DVec3::new(3.0, 2.0, 0.0)) < 1e-12);
    }
}

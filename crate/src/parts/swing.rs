//! The octave key's motion: how far it turns to lift the pad.

use glam::DVec2;

use crate::geometry::frame::unit;
use crate::job::{Job, Violation};

use super::places::{Places, in_plane};

/// Widest opening a key is built for, radians: beyond it the pad would rise in a circle, not along the vent (common
/// practice, no source).
const WIDEST: f64 = 0.35;

/// Axis and opening of the key, in the plane of the bend.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Swing {
    /// The hinge axis, world x and z.
    pub hinge: DVec2,
    /// Turn about +Y from closed to open, radians.
    pub open_angle: f64,
}

/// Way of a point for one radian of a turn about +Y, the point `arm` off the axis: Y × arm, in (x, z). The turn leads
/// from z to x.
fn speed(arm: DVec2) -> DVec2 {
    DVec2::new(arm.y, -arm.x)
}

/// Whether a turn about +Y begins to move a point `arm` off the axis along a direction.
pub fn leads_along(arm: DVec2, direction: DVec2) -> bool {
    speed(arm).dot(direction) > 0.0
}

/// The turn about +Y that moves a point `arm` off the axis by `way` along a unit direction u; none if it does not go so
/// far before it comes back, or begins the other way.
///
/// After a turn θ the way is (Y × arm)·u sin θ − arm·u (1 − cos θ), solved in closed form.
pub fn turn_for(arm: DVec2, direction: DVec2, way: f64) -> Option<f64> {
    let (across, along) = (speed(arm).dot(direction), arm.dot(direction));
    let sine = (way + along) / (across * across + along * along).sqrt();
    let reached = across > 0.0 && sine.abs() < 1.0;
    reached.then(|| libm::asin(sine) - libm::atan2(along, across))
}

impl Swing {
    /// The turn about the hinge by which the middle of the pad rises by the lift along the vent's axis.
    ///
    /// # Errors
    ///
    /// A violation if no turn up to 20 degrees lifts the pad so far.
    pub fn new(job: &Job, places: &Places) -> Result<Self, Box<Violation>> {
        let hinge = in_plane(places.hinge.origin);
        let up = in_plane(places.vent_seat.z);
        let reach = in_plane(places.vent_seat.origin) - hinge;
        let lift = job.key.lift_mm;
        let opens = |angle: &f64| *angle > 0.0 && *angle <= WIDEST;
        if let Some(open_angle) = turn_for(reach, up, lift).filter(opens) {
            Ok(Self { hinge, open_angle })
        } else {
            let most = speed(reach).dot(up).max(0.0) * libm::sin(WIDEST);
            Err(Box::new(Violation::error(
                "key.lift_mm",
                lift,
                format!(
                    "at most {:.2} mm with the hinge where it is",
                    (most * 100.0).floor() / 100.0
                ),
                "The hinge is too near the vent: the key would have to turn by more than 20 degrees.",
            )))
        }
    }

    /// A point of the key after a turn by `angle` towards open.
    pub fn turned(&self, point: DVec2, angle: f64) -> DVec2 {
        self.hinge + unit(-angle).rotate(point - self.hinge)
    }

    /// A point of the key, key open.
    pub fn opened(&self, point: DVec2) -> DVec2 {
        self.turned(point, self.open_angle)
    }
}

#[cfg(test)]
mod tests {
    use std::f64::consts::FRAC_PI_2;

    use super::*;

    /// A point 10 mm off the axis goes down by 10 sin θ from level with it, and no farther; from 6 mm above the axis by up to
    /// 16, the last of it past a quarter turn.
    #[test]
    fn a_turn_is_found_until_the_point_comes_back() {
        let down = DVec2::NEG_Y;
        let level = DVec2::new(10.0, 0.0);
        let turn = turn_for(level, down, 5.0).expect("goes so far");
        assert!((turn - 30f64.to_radians()).abs() < 1e-12, "{turn}");
        assert!(leads_along(level, down) && turn_for(level, down, 10.5).is_none());
        let above = DVec2::new(8.0, 6.0);
        let turn = turn_for(above, down, 15.0).expect("goes so far");
        assert!((turn - libm::asin(0.9) - libm::atan2(6.0, 8.0)).abs() < 1e-12 && turn > FRAC_PI_2);
        assert!(turn_for(above, down, 16.1).is_none());
        assert!(!leads_along(-level, down) && turn_for(-level, down, 5.0).is_none());
    }
}

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

impl Swing {
    /// The turn about the hinge by which the middle of the pad rises by the lift along the vent's axis.
    ///
    /// With d from the hinge to the vent, N along the vent and Y × d the velocity for one radian, a turn by θ raises
    /// the pad by (Y × d)·N sin θ − d·N (1 − cos θ); set equal to the lift, this is solved in closed form.
    ///
    /// # Errors
    ///
    /// A violation if no turn up to 20 degrees lifts the pad so far.
    pub fn new(job: &Job, places: &Places) -> Result<Self, Box<Violation>> {
        let hinge = in_plane(places.hinge.origin);
        let up = in_plane(places.vent_seat.z);
        let reach = in_plane(places.vent_seat.origin) - hinge;
        // Y × d, in (x, z): a turn about +Y leads from z to x.
        let rise = DVec2::new(reach.y, -reach.x).dot(up);
        let along = reach.dot(up);
        let size = (rise * rise + along * along).sqrt();
        let lift = job.key.lift_mm;
        let open_angle =
            libm::asin(((lift + along) / size).clamp(-1.0, 1.0)) - libm::atan2(along, rise);
        if rise > 0.0 && (lift + along) < size && open_angle > 0.0 && open_angle <= WIDEST {
            Ok(Self { hinge, open_angle })
        } else {
            let most = rise.max(0.0) * libm::sin(WIDEST);
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

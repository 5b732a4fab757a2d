//! The cork the mouthpiece is pushed on.

use glam::DVec2;

use crate::geometry::outline::Side;
use crate::job::Job;
use crate::tables::metals::Metal;

use super::lathe::{at, sides, with_sides};
use super::part::Part;
use super::places::Places;
use super::tenon::along_bore;

/// Station where the cork begins: behind the end ring by the least clearance and a joint gap, so that glue squeezed
/// out finds room and the cork does not lift on the ring.
pub fn from_station(job: &Job) -> f64 {
    job.end_ring.length_mm + job.limits.least_clearance_mm + job.limits.joint_gap_mm
}

/// The cork: glued to the tube, the joint gap being the glue, and sanded to the bore of the mouthpiece's shank.
pub fn part(job: &Job, places: &Places) -> Part {
    let (from, to) = (from_station(job), job.cork.to_station_mm);
    let outside = job.mouthpiece.shank_bore_mm / 2.0;
    let mut all = along_bore(places, 0.0, (from, to), places.neck.wall + places.gap);
    let (front, back) =
        (all.first().map_or(DVec2::ZERO, Side::start), all.last().map_or(DVec2::ZERO, Side::end));
    all.extend(sides(&[back, at(to, outside), at(from, outside), front]));
    Part::fixed(
        "cork",
        "cork",
        Metal::Cork,
        "cut from sheet cork, glued, sanded to size",
        with_sides(places.neck.along(0.0), all),
    )
}

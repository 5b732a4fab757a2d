//! The end ring: a rounded bead at the cork end.

use glam::DVec2;

use crate::geometry::outline::Side;
use crate::job::Job;

use super::lathe::{at, sides, with_sides};
use super::part::Part;
use super::places::Places;
use super::tenon::along_bore;

/// Chamfer at the ring's edge towards the cork, mm: it keeps the cork's end from lifting.
pub const BACK_EDGE: f64 = 0.2;

/// The ring, flush with the tube's end, its front edge rounded.
pub fn part(job: &Job, places: &Places) -> Part {
    let given = &job.end_ring;
    let (length, outside, round) = (given.length_mm, given.bead_diameter_mm / 2.0, given.bead_radius_mm);
    let mut all = along_bore(places, 0.0, (0.0, length), places.neck.wall + places.gap);
    let (front, back) = (all.first().map_or(DVec2::ZERO, Side::start), all.last().map_or(DVec2::ZERO, Side::end));
    all.extend(sides(&[
        back,
        at(length, outside - BACK_EDGE),
        at(length - BACK_EDGE, outside),
        at(round, outside),
    ]));
    all.push(Side::Arc { from: at(round, outside), centre: at(round, outside - round), sweep: std::f64::consts::FRAC_PI_2 });
    all.extend(sides(&[at(0.0, outside - round), front]));
    Part::fixed("end_ring", "end ring", given.metal, "turned", with_sides(places.neck.along(0.0), all))
}

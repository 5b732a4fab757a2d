//! The end ring: a rounded bead at the cork end.

use glam::DVec2;

use crate::geometry::outline::Side;
use crate::job::Job;

use super::lathe::{at, sides, with_sides};
use super::part::Part;
use super::places::Places;
use super::tenon::along_bore;

/// Chamfer at the ring's edge towards the cork where there is metal for it, mm: it keeps the cork's end from lifting
/// (common practice, no source).
const BACK_EDGE: f64 = 0.2;
/// Least flat left at the front between rounding and tube, mm (common practice, no source).
const LEAST_FLAT: f64 = 0.05;

/// Radius the front edge is rounded with: as asked, or what the bead's height over the tube leaves.
pub fn rounding(job: &Job, places: &Places) -> f64 {
    let height = job.end_ring.bead_diameter_mm / 2.0 - inside(places, 0.0);
    job.end_ring.bead_radius_mm.min(height - LEAST_FLAT)
}

/// Radius of the ring's inside at a station: the tube's outside and a joint gap.
pub fn inside(places: &Places, station: f64) -> f64 {
    places.neck.outside(station) + places.gap
}

/// Chamfer at the edge towards the cork.
fn back_edge(job: &Job, places: &Places) -> f64 {
    let height = job.end_ring.bead_diameter_mm / 2.0 - inside(places, job.end_ring.length_mm);
    BACK_EDGE.min(height / 2.0)
}

/// Least length of a ring rounded like this.
pub fn least_length(job: &Job) -> f64 {
    job.end_ring.bead_radius_mm + BACK_EDGE + LEAST_FLAT
}

/// The ring, flush with the tube's end, its front edge rounded.
pub fn part(job: &Job, places: &Places) -> Part {
    let given = &job.end_ring;
    let (length, outside, round) =
        (given.length_mm, given.bead_diameter_mm / 2.0, rounding(job, places));
    let edge = back_edge(job, places);
    let mut all = along_bore(places, 0.0, (0.0, length), places.neck.wall + places.gap);
    let (front, back) =
        (all.first().map_or(DVec2::ZERO, Side::start), all.last().map_or(DVec2::ZERO, Side::end));
    all.extend(sides(&[
        back,
        at(length, outside - edge),
        at(length - edge, outside),
        at(round, outside),
    ]));
    all.push(Side::Arc {
        from: at(round, outside),
        centre: at(round, outside - round),
        sweep: std::f64::consts::FRAC_PI_2,
    });
    all.extend(sides(&[at(0.0, outside - round), front]));
    Part::fixed(
        "end_ring",
        "end ring",
        given.metal,
        "turned",
        with_sides(places.neck.along(0.0), all),
    )
}

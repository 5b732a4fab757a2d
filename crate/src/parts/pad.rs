//! The pad and the cup that holds it.

use crate::job::Job;
use crate::tables::metals::Metal;

use super::lathe::{at, cylinder, turned};
use super::part::Part;
use super::places::Places;

/// Chamfer round the cup's roof, mm (common practice, no source).
const ROOF_EDGE: f64 = 0.3;

/// The pad, closed: it rests on the vent's seat.
pub fn pad(job: &Job, places: &Places) -> Part {
    let given = &job.pad;
    let body = cylinder(places.vent_seat, 0.0, given.thickness_mm, given.diameter_mm / 2.0);
    Part::moving("pad", "pad", Metal::Felt, "bought", body)
}

/// The cup: a joint gap round the pad and over it.
pub fn cup(job: &Job, places: &Places) -> Part {
    let given = &job.pad_cup;
    let inside = job.pad.diameter_mm / 2.0 + places.gap;
    let outside = inside + given.wall_mm;
    let (rim, ceiling) = (job.pad.stand_out_mm, job.pad.thickness_mm + places.gap);
    let roof = ceiling + given.roof_mm;
    let edge = ROOF_EDGE.min(given.wall_mm / 2.0).min(given.roof_mm / 2.0);
    let body = turned(
        places.vent_seat,
        &[
            at(ceiling, 0.0),
            at(roof, 0.0),
            at(roof, outside - edge),
            at(roof - edge, outside),
            at(rim, outside),
            at(rim, inside),
            at(ceiling, inside),
        ],
    );
    Part::moving("pad_cup", "pad cup", given.metal, "turned", body)
}

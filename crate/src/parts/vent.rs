//! The octave vent: a turned tube through the top of the wall.

use crate::job::Job;

use super::lathe::{at, turned};
use super::part::Part;
use super::places::Places;

/// The vent. Along its axis the origin is the outside of the tube's top.
pub fn part(job: &Job, places: &Places) -> Part {
    let given = &job.vent;
    let (inside, outside) = (given.bore_mm / 2.0, given.outer_diameter_mm / 2.0);
    let (low, high) = (-(places.neck.wall + given.reach_inside_mm), given.stand_mm);
    let edge = given.chamfer_mm;
    let body = turned(
        places.neck.standing(given.station_mm, 0.0),
        &[
            at(low, inside),
            at(high, inside),
            at(high, outside - edge),
            at(high - edge, outside),
            at(low, outside),
        ],
    );
    Part::fixed("vent", "octave vent", given.metal, "turned", body)
}

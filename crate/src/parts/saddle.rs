//! The saddle: a formed patch on top of the tube that carries the posts.

use crate::geometry::shape::Shape;
use crate::job::Job;
use crate::units::rad_from_deg;

use super::part::Part;
use super::places::Places;
use super::tube::patch;

/// The saddle.
pub fn part(job: &Job, places: &Places) -> Part {
    let given = &job.saddle;
    let (half, wrap) = (given.length_mm / 2.0, rad_from_deg(given.half_wrap_deg));
    let foot = places.neck.wall + places.gap;
    let body = patch(
        places,
        (given.station_mm - half, given.station_mm + half),
        (-wrap, wrap),
        (foot, foot + given.thickness_mm),
    );
    Part::fixed("saddle", "saddle", given.metal, "cut from sheet, formed", Shape::Sweep(body))
}

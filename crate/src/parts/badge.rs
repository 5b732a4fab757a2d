//! The badge: a thin plate on the tube, if there is one.

use crate::geometry::shape::{Azimuth, Radius, SectionPoint, Shape};
use crate::job::Job;
use crate::units::rad_from_deg;

use super::part::Part;
use super::places::Places;
use super::tube::box_section;

/// The badge; its width is measured along its inner face.
pub fn part(job: &Job, places: &Places) -> Option<Part> {
    let given = job.badge?;
    let foot = places.neck.wall + places.gap;
    let half = given.length_mm / 2.0;
    let corner = |side: f64, through: f64| SectionPoint {
        azimuth: Azimuth::Arc {
            centre: rad_from_deg(given.azimuth_deg),
            arc: side * given.width_mm / 2.0,
            at: Radius::Bore(foot),
        },
        radius: Radius::Bore(foot + through),
    };
    let body = box_section(
        places,
        (given.station_mm - half, given.station_mm + half),
        [
            corner(-1.0, 0.0),
            corner(1.0, 0.0),
            corner(1.0, given.thickness_mm),
            corner(-1.0, given.thickness_mm),
        ],
    );
    Some(Part::fixed("badge", "badge", given.metal, "cut from sheet, formed", Shape::Sweep(body)))
}
